"""Margins of a set-up: the governing limit, the highest friction and the smallest radius.

Both are found on the analysis itself, with nothing else changed: the friction of the pulled state
rises until one of its limits is reached; the radius of the bend that presses most shrinks, or
grows, until the sidewall limit is reached there, pulled and held back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from analyzer.geometry.readings import Bend
from analyzer.job.settings import Friction, Job
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.limits import sidewall_limit
from analyzer.pulling.results import Share
from analyzer.route.run import Run
from analyzer.studies.call_outs import pulls_between
from analyzer.studies.changed_routes import with_radius
from analyzer.studies.feeding import SetUp, set_up_between

__all__ = [
    "GREATEST_FRICTION",
    "Margins",
    "bend_pressures_n_per_m",
    "highest_friction",
    "set_up_margins",
    "smallest_radius_m",
]

GREATEST_FRICTION = 2.0
"""The search for friction ends here, as the job file does."""

_LEAST_FRICTION = 0.001
_RADIUS_FACTORS = (1e-3, 1e3)
_BRAKED = ("tension-braked", "sidewall-braked")


@dataclass(frozen=True, slots=True)
class Margins:
    """How far a set-up is from its limits.

    Attributes
    ----------
    governing : Share or None
        The limit that comes nearest; None where nothing could be checked.
    highest_friction : float or None
        Highest friction at which every limit of the pulled state holds; None where none holds.
        `GREATEST_FRICTION` stands for that and more.
    bend : Bend or None
        The bend that presses most; None without bends.
    smallest_radius_m : float or None
        Smallest radius of that bend within the sidewall limit; None where none is found, or
        where nothing presses there. [m]
    """

    governing: Share | None
    highest_friction: float | None
    bend: Bend | None
    smallest_radius_m: float | None

    @property
    def spare(self) -> float | None:
        """Limit minus value of the governing limit, negative where it is passed. [N] or [N/m]"""
        return None if self.governing is None else self.governing.limit - self.governing.value


def set_up_margins(run: Run, job: Job, set_up: SetUp) -> Margins:
    """Return the margins of a set-up.

    Parameters
    ----------
    run : Run
        The run it belongs to.
    job : Job
        Conductors, friction and limits.
    set_up : SetUp
        One pull of it.
    """
    bend = _pressed_most(run, job, set_up)
    return Margins(
        governing=set_up.pull.governing,
        highest_friction=highest_friction(run, job, set_up),
        bend=bend,
        smallest_radius_m=None if bend is None else smallest_radius_m(run, job, set_up, bend),
    )


def highest_friction(run: Run, job: Job, set_up: SetUp) -> float | None:
    """Return the highest friction at which the pulled state holds every limit that is checked.

    None where not even next to no friction holds them; `GREATEST_FRICTION` where that and more
    does.
    """

    def over(friction: float) -> float:
        band = Friction(friction, friction, friction)
        changed = replace(job, pull=replace(job.pull, friction=band))
        pull = set_up_between(run, changed, set_up.feed, set_up.pull_to).pull
        return max((s.share for s in pull.shares if s.code not in _BRAKED), default=0.0) - 1.0

    if over(_LEAST_FRICTION) > 0.0:
        return None
    if over(GREATEST_FRICTION) <= 0.0:
        return GREATEST_FRICTION
    return _root(over, _LEAST_FRICTION, GREATEST_FRICTION)


def smallest_radius_m(run: Run, job: Job, set_up: SetUp, bend: Bend) -> float | None:
    """Return the smallest radius of a bend within the sidewall limit, all else as drawn. [m]

    None where no radius within a thousandth to a thousand times the drawn one reaches the limit:
    nothing presses there, or too much does.
    """
    limit = sidewall_limit(job).limit
    if limit is None or bend.radius_m is None:
        return None

    def over(factor: float) -> float:
        changed = with_radius(run, bend, factor)
        return max(bend_pressures_n_per_m(changed, job, set_up, bend.number)) / limit - 1.0

    least, most = _RADIUS_FACTORS
    if over(least) <= 0.0 or over(most) > 0.0:
        return None
    return bend.radius_m * _root(over, least, most)


def bend_pressures_n_per_m(run: Run, job: Job, set_up: SetUp, number: int) -> tuple[float, float]:
    """Return the greatest sidewall pressure in one bend: pulled at high friction, and held back.

    `number` is that of the bend; feed and pull end are found by name, so the run may be a changed
    one. [N/m]
    """
    bend = next(item for item in run.bends if item.number == number)
    named = {fitting.name: fitting for fitting in run.fittings}
    feed, pull_to = named[set_up.feed.name], named[set_up.pull_to.name]
    ends = (bend.station_m, bend.end_station_m)
    middle = (bend.station_m + bend.end_station_m) / 2.0
    for pull in pulls_between(run, job, feed, pull_to, ends):
        station = pull.high.max_sidewall_station_m
        low, high = sorted((pull.profile.station_m[0], pull.profile.station_m[-1]))
        if station is not None and low <= middle <= high:
            return pull.high.max_sidewall_n_per_m, pull.braked.max_sidewall_n_per_m
    return 0.0, 0.0


def _pressed_most(run: Run, job: Job, set_up: SetUp) -> Bend | None:
    """Return the bend with the greatest sidewall pressure, pulled or held back."""
    pull = set_up.pull
    station = pull.high.max_sidewall_station_m
    if pull.braked.max_sidewall_n_per_m > pull.high.max_sidewall_n_per_m:
        station = pull.braked.max_sidewall_station_m
    if station is None or conductor_group(job).sidewall.factor <= 0.0:
        return None
    near = [b for b in set_up.bends if b.station_m - 1e-6 <= station <= b.end_station_m + 1e-6]
    return near[0] if near else None


def _root(over: Callable[[float], float], low: float, high: float) -> float:
    from scipy.optimize import brentq

    return float(brentq(over, low, high, xtol=1e-9, rtol=1e-10))
