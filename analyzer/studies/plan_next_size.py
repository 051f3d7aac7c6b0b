"""One trade size up: what it does to fill, clearance, jam ratio, tension and share of limit.

The route is what the larger size makes of the same drawing: sharp corners, whose radius comes from
the table, are bent to the table's radius of the larger size. Radii drawn or stated stay, and those
below its smallest are named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyzer.catalog.fill import fill_percent
from analyzer.catalog.raceways import Raceway, find_raceway, trade_sizes
from analyzer.checks.situation import at_least
from analyzer.geometry.readings import Bend, RadiusFrom
from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup, conductor_group
from analyzer.pulling.results import Share
from analyzer.route.run import Fitting, Run
from analyzer.studies.changed_routes import with_radius
from analyzer.studies.feeding import SetUp, set_up_between
from analyzer.studies.redrawn_bends import bend_to_redraw

__all__ = ["NextSize", "SizeFigures", "plan_next_size"]


@dataclass(frozen=True, slots=True)
class SizeFigures:
    """One raceway with the conductors of the job.

    Attributes
    ----------
    raceway : Raceway
        Type and trade size.
    fill_percent : float
        Conductors pulled and existing.
    group : ConductorGroup
        How the conductors lie: weight factor, jam ratio, clearance.
    tension_n : float or None
        Greatest tension of the same set-ups at high friction; None where bends have no room for
        the radius they need. [N]
    governing : Share or None
        The greatest share of limit of those set-ups, pulled or held back; None where no limit
        could be checked, or no tension is known.
    """

    raceway: Raceway
    fill_percent: float
    group: ConductorGroup
    tension_n: float | None
    governing: Share | None


@dataclass(frozen=True, slots=True)
class NextSize:
    """The raceway of the job beside the next trade size of its type.

    Attributes
    ----------
    now, larger : SizeFigures
        The two.
    smallest_radius_m : float or None
        Smallest bend radius of the larger size; None where the table has none. [m]
    redrawn : tuple of int
        Numbers of the bends whose radius comes from the table: pulled at `smallest_radius_m`.
    without_room : tuple of int
        Those of them that the radius does not fit at, or all where the table has none.
    too_tight : tuple of int
        Numbers of the bends whose own radius is below `smallest_radius_m`.
    """

    now: SizeFigures
    larger: SizeFigures
    smallest_radius_m: float | None
    redrawn: tuple[int, ...]
    without_room: tuple[int, ...]
    too_tight: tuple[int, ...]


def plan_next_size(run: Run, job: Job, set_ups: Sequence[SetUp]) -> NextSize | None:
    """Return the next trade size beside the one of the job; None where there is none larger.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    job : Job
        Conductors, frictions and limits.
    set_ups : sequence of SetUp
        Those of the plan, pulled again in the larger size.
    """
    if job.raceway is None:
        return None
    sizes = trade_sizes(job.raceway.type)
    if job.raceway.trade_size not in sizes:
        return None
    after = sizes.index(job.raceway.trade_size) + 1
    if after >= len(sizes):
        return None
    larger = replace(job, raceway=find_raceway(job.raceway.type, sizes[after]))
    if job.pull.arrangement is not None:
        larger = replace(larger, pull=replace(larger.pull, arrangement=None))
    radius, bends = larger.table_radius_m, [bend for bend in run.bends if not bend.in_fitting]
    redrawn = [bend.number for bend in bends if bend.radius_from is RadiusFrom.TABLE]
    bent, without_room = _bent(run, redrawn, radius)
    return NextSize(
        now=_figures(run, job, _moved(set_ups, run, run)),
        larger=_figures(None if without_room else bent, larger, _moved(set_ups, run, bent)),
        smallest_radius_m=radius,
        redrawn=tuple(redrawn),
        without_room=without_room,
        too_tight=tuple(
            bend.number for bend in bends if bend.number not in redrawn and _is_below(bend, radius)
        ),
    )


def _is_below(bend: Bend, radius_m: float | None) -> bool:
    """Whether a radius that is known is below the smallest, as the check of radii counts it."""
    if radius_m is None or bend.radius_m is None or bend.radius_determined is False:
        return False
    return not at_least(bend.radius_m, radius_m)


def _bent(run: Run, numbers: Sequence[int], radius_m: float | None) -> tuple[Run, tuple[int, ...]]:
    """Return the run with bends at another radius, and those that it has no room or none for."""
    if radius_m is None:
        return run, tuple(numbers)
    without_room = []
    for number in numbers:
        bend = next(bend for bend in run.bends if bend.number == number)
        factor = radius_m / (bend.radius_m or radius_m)
        drawn = bend_to_redraw(run, bend)
        if drawn is None or not drawn.fits(factor):
            without_room.append(number)
        elif factor != 1.0:
            run = with_radius(run, bend, factor)
    return run, tuple(without_room)


def _moved(set_ups: Sequence[SetUp], run: Run, changed: Run) -> list[tuple[Fitting, Fitting]]:
    """Return the feed and the pull end of set-ups where they stand on a changed run."""
    index = {fitting.station_m: number for number, fitting in enumerate(run.fittings)}
    places = [(index[item.feed.station_m], index[item.pull_to.station_m]) for item in set_ups]
    return [(changed.fittings[feed], changed.fittings[pull]) for feed, pull in places]


def _figures(run: Run | None, job: Job, ends: Sequence[tuple[Fitting, Fitting]]) -> SizeFigures:
    assert job.raceway is not None
    lines = (*job.conductors, *job.existing)
    area = sum(line.count * line.conductor.area_in2 for line in lines)
    pulled = [] if run is None else [set_up_between(run, job, *pair) for pair in ends]
    shares = [share for item in pulled for share in item.pull.shares]
    return SizeFigures(
        raceway=job.raceway,
        fill_percent=fill_percent(job.raceway, area),
        group=conductor_group(job),
        tension_n=max((item.greatest_tension_n for item in pulled), default=None),
        governing=max(shares, key=lambda share: share.share, default=None),
    )
