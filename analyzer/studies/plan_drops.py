"""Drops: hold-back, running away, and what hangs after the pull.

All at low friction without weight factor: the brake must hold the string when it slides best.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.checks.conductor_support import VerticalPart, vertical_parts
from analyzer.job.settings import Job
from analyzer.route.run import Run
from analyzer.studies.feeding import SetUp, set_up_between

__all__ = ["DropPlan", "HangingPart", "hanging_parts", "plan_drop"]


@dataclass(frozen=True, slots=True)
class DropPlan:
    """What a set-up needs by way of brakes. [N]

    Attributes
    ----------
    hold_back_n : float
        Brake force at the feed; 0 where the string never runs toward the head.
    run_back_n : float
        Force at the head that keeps the string from running back to the feed once it is in;
        0 where it lies still.
    """

    hold_back_n: float
    run_back_n: float

    @property
    def runs_away(self) -> bool:
        """Whether the string would run by itself, either way, if nothing held it."""
        return self.hold_back_n > 0.0 or self.run_back_n > 0.0


@dataclass(frozen=True, slots=True)
class HangingPart:
    """A vertical part and the weight of all conductors that hangs in it after the pull. [N]"""

    part: VerticalPart
    weight_n: float


def plan_drop(run: Run, job: Job, set_up: SetUp) -> DropPlan:
    """Return hold-back at the feed, and what would run back from the head.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    job : Job
        Conductors, frictions and limits.
    set_up : SetUp
        One pull from one feed place.
    """
    other = set_up_between(run, job, set_up.pull_to, set_up.feed)
    return DropPlan(set_up.pull.braked.hold_back_n, other.pull.braked.hold_back_n)


def hanging_parts(run: Run, job: Job) -> tuple[HangingPart, ...]:
    """Return the vertical parts of a run with the weight that hangs in each, in order.

    The whole weight is counted, friction left out: supports carry it for good.
    """
    weight = job.pulling_weight_n_per_m
    return tuple(
        HangingPart(part, weight * abs(part.rise_m)) for part in vertical_parts(run.centerline)
    )
