"""Why one end is better: which bends multiply what, in either direction.

A bend multiplies whatever arrives at it. Pulled from the better end, bends meet less. For each
bend of a set-up its arriving and leaving tension stand in both directions, at high friction, with
the height that the weight is lifted, so that the reason can be put in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job
from analyzer.pulling.groups import conductor_group
from analyzer.route.run import Run
from analyzer.studies.call_outs import head_tensions
from analyzer.studies.feeding import SetUp, set_up_between

__all__ = ["BendLoad", "DirectionReason", "direction_reason"]


@dataclass(frozen=True, slots=True)
class BendLoad:
    """Tension before and behind one bend, this way and the other way, at high friction. [N]"""

    bend: Bend
    arriving_n: float
    leaving_n: float
    other_arriving_n: float
    other_leaving_n: float

    @property
    def saved_n(self) -> float:
        """How much less the bend adds this way; negative where it adds more. [N]"""
        added = self.leaving_n - self.arriving_n
        return (self.other_leaving_n - self.other_arriving_n) - added


@dataclass(frozen=True, slots=True)
class DirectionReason:
    """What makes the difference between a set-up and the same pulled the other way.

    Attributes
    ----------
    set_up, other : SetUp
        This way, and the other way.
    bends : tuple of BendLoad
        Every bend, the one that saves most first.
    multiplier_per_rad : float
        Effective friction in bends at high friction: a bend multiplies by e to its angle times
        this.
    lifted_n : float
        Weight times the height gained this way; negative on the way down. [N]
    """

    set_up: SetUp
    other: SetUp
    bends: tuple[BendLoad, ...]
    multiplier_per_rad: float
    lifted_n: float

    def multiplier(self, bend: Bend) -> float:
        """Return what a bend multiplies an arriving tension by, weight in the bend left out."""
        return exp(self.multiplier_per_rad * bend.angle_rad)


def direction_reason(run: Run, job: Job, set_up: SetUp) -> DirectionReason:
    """Return what makes the difference between a set-up and the same pulled the other way.

    Parameters
    ----------
    run : Run
        The run.
    job : Job
        Conductors and friction.
    set_up : SetUp
        The set-up as planned.
    """
    other = set_up_between(run, job, set_up.pull_to, set_up.feed)
    here = _loads(run, job, set_up)
    there = _loads(run, job, other)
    loads = [BendLoad(bend, *here[bend.number], *there[bend.number]) for bend in set_up.bends]
    friction = job.pull.friction.high
    if job.pull.weight_factor_in_bends:
        friction *= conductor_group(job).weight_factor
    return DirectionReason(
        set_up=set_up,
        other=other,
        bends=tuple(sorted(loads, key=lambda load: -load.saved_n)),
        multiplier_per_rad=friction,
        lifted_n=job.pulling_weight_n_per_m * set_up.rise_m,
    )


def _loads(run: Run, job: Job, set_up: SetUp) -> dict[int, tuple[float, float]]:
    """Tension before and behind each bend, by its number."""
    stations = [s for bend in set_up.bends for s in (bend.station_m, bend.end_station_m)]
    if not stations:
        return {}
    is_forward = set_up.pull_to.station_m > set_up.feed.station_m
    tensions = head_tensions(run, job, set_up.feed, set_up.pull_to, stations)
    found = {}
    for index, bend in enumerate(set_up.bends):
        low, high = tensions[2 * index].high_n, tensions[2 * index + 1].high_n
        found[bend.number] = (low, high) if is_forward else (high, low)
    return found
