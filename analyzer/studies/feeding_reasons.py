"""Why one end is better: which bends multiply what, in either direction.

A bend multiplies whatever arrives at it. Pulled from the better end, bends meet less. For each
bend of a leg or set-up its arriving and leaving tension stand in both directions, at high
friction, with the height that the weight is lifted, so that the reason can be put in words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING

from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.results import Pull
from analyzer.route.run import Run
from analyzer.studies.ways import Way, bend_tensions_n, way_of_set_up

if TYPE_CHECKING:
    from analyzer.studies.feeding import SetUp

__all__ = ["BendLoad", "DirectionReason", "direction_reason", "set_up_reason"]


@dataclass(frozen=True, slots=True)
class BendLoad:
    """Tension before and behind one bend, this way and the other way, at high friction. [N]"""

    bend: Bend
    arriving_n: float
    leaving_n: float
    other_arriving_n: float
    other_leaving_n: float

    @property
    def added_n(self) -> float:
        """What the bend adds this way, weight in it included; negative where it helps. [N]"""
        return self.leaving_n - self.arriving_n

    @property
    def other_added_n(self) -> float:
        """What the bend adds the other way. [N]"""
        return self.other_leaving_n - self.other_arriving_n

    @property
    def saved_n(self) -> float:
        """How much less the bend adds this way; negative where it adds more. [N]"""
        return self.other_added_n - self.added_n

    @property
    def is_by_arrival(self) -> bool:
        """Whether less arrives at the bend the way that it adds less.

        Else the weight in the bend, lifted one way and let down the other, outweighs what arrives.
        """
        return (self.other_arriving_n - self.arriving_n) * self.saved_n > 0.0


@dataclass(frozen=True, slots=True)
class DirectionReason:
    """What makes the difference between a pull and the same pulled the other way.

    Attributes
    ----------
    pull, other : Pull
        This way, and the other way.
    bends : tuple of BendLoad
        Every bend, the one that saves most first.
    multiplier_per_rad : float or None
        Effective friction in bends at high friction: a bend multiplies by e to its angle times
        this. None where friction changes along the way.
    lifted_n : float
        Weight times the height gained this way; negative on the way down. [N]
    """

    pull: Pull
    other: Pull
    bends: tuple[BendLoad, ...]
    multiplier_per_rad: float | None
    lifted_n: float

    def multiplier(self, bend: Bend) -> float | None:
        """Return what a bend multiplies an arriving tension by, weight in the bend left out."""
        if self.multiplier_per_rad is None:
            return None
        return exp(self.multiplier_per_rad * bend.angle_rad)


def direction_reason(
    way: Way, pull: Pull, back: Way, other: Pull, bends: Sequence[Bend], rise_m: float
) -> DirectionReason:
    """Return what makes the difference between a pull and the same pulled the other way.

    Parameters
    ----------
    way, pull : Way, Pull
        This way.
    back, other : Way, Pull
        The other way.
    bends : sequence of Bend
        Bends between both ends.
    rise_m : float
        Height gained this way. [m]
    """
    job = way.job
    here, there = (item.strings([job.pull.friction.high])[0] for item in (way, back))
    loads = []
    for bend in bends:
        ours, theirs = bend_tensions_n(here, bend), bend_tensions_n(there, bend)
        if ours is not None and theirs is not None:
            loads.append(BendLoad(bend, *ours, *theirs))
    multiplier: float | None = job.pull.friction.high
    if job.pull.weight_factor_in_bends:
        multiplier = job.pull.friction.high * way.group.weight_factor
    if job.pull.friction_by_sidewall is not None or job.pull.lubricant_reach_m is not None:
        multiplier = None
    return DirectionReason(
        pull=pull,
        other=other,
        bends=tuple(sorted(loads, key=lambda load: -load.saved_n)),
        multiplier_per_rad=multiplier,
        lifted_n=job.pulling_weight_n_per_m * rise_m,
    )


def set_up_reason(run: Run, job: Job, set_up: SetUp) -> DirectionReason:
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
    from analyzer.studies.feeding import set_up_between

    group = conductor_group(job)
    other = set_up_between(run, job, set_up.pull_to, set_up.feed)
    return direction_reason(
        way_of_set_up(run, set_up, job, group),
        set_up.pull,
        way_of_set_up(run, other, job, group),
        other.pull,
        set_up.bends,
        set_up.rise_m,
    )
