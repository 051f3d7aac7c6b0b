"""Sensitivity: what moves the answer most.

Each quantity is changed by a stated amount, one at a time, and the set-ups of the plan are pulled
again: friction, weight, feed tension, the radius of each bend, and the turning of each bend. A
radius is changed as whoever enters another one would: the corner stays (see `redrawn_bends`). The
answer is the greatest tension of all set-ups and their largest share of limit, at high friction.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from analyzer.geometry.readings import Bend
from analyzer.job.settings import ConductorLine, Friction, Job
from analyzer.pulling.results import largest_share
from analyzer.route.run import Run
from analyzer.studies.changed_routes import with_more_turning, with_radius
from analyzer.studies.feeding import SetUp, set_up_between
from analyzer.studies.redrawn_bends import bend_to_redraw
from analyzer.units import deg, lbf

__all__ = [
    "FEED_CHANGE_N",
    "PART_CHANGE",
    "TURNING_CHANGE_RAD",
    "Quantity",
    "Sensitivity",
    "study_sensitivity",
]

PART_CHANGE = 0.10
"""Friction and weight rise by this part, radii shrink by it."""

FEED_CHANGE_N = lbf(50.0)
"""Feed tension rises by this at every feed. [N]"""

TURNING_CHANGE_RAD = deg(5.0)
"""Each bend turns by this more. [rad]"""


class Quantity(Enum):
    """What is changed."""

    FRICTION = "friction"
    WEIGHT = "weight"
    FEED_TENSION = "feed tension"
    RADIUS = "radius"
    TURNING = "angle"


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What one change does.

    Attributes
    ----------
    quantity : Quantity
        What is changed; by how much is fixed for each.
    bend : Bend or None
        The bend it belongs to.
    tension_n : float
        Greatest tension with the change. [N]
    share_of_limit : float or None
        Largest share of limit with the change; None where nothing could be checked.
    tension_change_n : float
        What the change adds to the greatest tension. [N]
    share_change : float or None
        What it adds to the share; None where that is not known with and without the change.
    keeps_straights : bool
        Whether a radius is changed with the straights beside it as long as drawn: the bend has no
        corner.
    """

    quantity: Quantity
    bend: Bend | None
    tension_n: float
    share_of_limit: float | None
    tension_change_n: float
    share_change: float | None
    keeps_straights: bool = False


def study_sensitivity(run: Run, job: Job, set_ups: Sequence[SetUp]) -> tuple[Sensitivity, ...]:
    """Return what each change does, the one that moves the answer most first.

    Parameters
    ----------
    run : Run
        The run.
    job : Job
        Conductors, friction and limits.
    set_ups : sequence of SetUp
        The pulls of the plan; their ends and order stay as they are.

    Returns
    -------
    tuple of Sensitivity
        Ranked by the change in share of limit, then by that in greatest tension.
    """
    base_n, base_share = _answer(set_ups)
    rows = []
    for quantity, bend, changed_run, changed_job in _changes(run, job, set_ups):
        named = {fitting.name: fitting for fitting in changed_run.fittings}
        pulled = [
            set_up_between(changed_run, changed_job, named[s.feed.name], named[s.pull_to.name])
            for s in set_ups
        ]
        tension, share = _answer(pulled)
        more = None if share is None or base_share is None else share - base_share
        changes = (tension - base_n, more)
        keeps = quantity is Quantity.RADIUS and bend is not None and not _has_corner(run, bend)
        rows.append(Sensitivity(quantity, bend, tension, share, *changes, keeps))
    return tuple(sorted(rows, key=_rank))


def _rank(row: Sensitivity) -> tuple[float, float]:
    return -abs(row.share_change or 0.0), -abs(row.tension_change_n)


def _answer(set_ups: Sequence[SetUp]) -> tuple[float, float | None]:
    return (
        max(item.greatest_tension_n for item in set_ups),
        largest_share(item.share_of_limit for item in set_ups),
    )


def _has_corner(run: Run, bend: Bend) -> bool:
    drawn = bend_to_redraw(run, bend)
    return drawn is not None and drawn.has_corner


def _changes(
    run: Run, job: Job, set_ups: Sequence[SetUp]
) -> Iterable[tuple[Quantity, Bend | None, Run, Job]]:
    yield Quantity.FRICTION, None, run, _with_friction(job)
    yield Quantity.WEIGHT, None, run, _with_weight(job)
    raised = replace(job.pull, feed_tension_n=job.pull.feed_tension_n + FEED_CHANGE_N)
    yield Quantity.FEED_TENSION, None, _with_own_feeds(run), replace(job, pull=raised)
    bends = sorted(
        {bend.number: bend for item in set_ups for bend in item.bends}.values(),
        key=lambda bend: bend.number,
    )
    for bend in bends:
        yield Quantity.RADIUS, bend, with_radius(run, bend, 1.0 - PART_CHANGE), job
        yield Quantity.TURNING, bend, with_more_turning(run, bend, TURNING_CHANGE_RAD), job


def _with_friction(job: Job) -> Job:
    band, times = job.pull.friction, 1.0 + PART_CHANGE
    raised = Friction(band.low * times, band.expected * times, band.high * times, band.stated)
    dry = job.pull.dry_friction
    pull = replace(job.pull, friction=raised, dry_friction=None if dry is None else dry * times)
    return replace(job, pull=pull)


def _with_weight(job: Job) -> Job:
    lines = tuple(
        ConductorLine(
            line.count,
            replace(
                line.conductor,
                weight_n_per_m=line.conductor.weight_n_per_m * (1.0 + PART_CHANGE),
            ),
        )
        for line in job.conductors
    )
    return replace(job, conductors=lines)


def _with_own_feeds(run: Run) -> Run:
    fittings = tuple(
        fitting
        if fitting.feed_tension_n is None
        else replace(fitting, feed_tension_n=fitting.feed_tension_n + FEED_CHANGE_N)
        for fitting in run.fittings
    )
    return replace(run, fittings=fittings)
