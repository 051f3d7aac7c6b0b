"""Cut lengths of the conductors: the run, slack at both ends and at boxes, and a percentage.

Conductors are whole from end to end. At a manhole or handhole of stated size, three quarters of
its perimeter stays in it; at other boxes what the job states.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.job.settings import ConductorLine, FittingKind, Job, PlanSettings
from analyzer.route.run import Fitting, Run

__all__ = ["CutLength", "cut_length_m", "cut_lengths", "slack_at_box_m"]

_PERIMETER_PART = 0.75
_HOLES = (FittingKind.MANHOLE, FittingKind.HANDHOLE)


@dataclass(frozen=True, slots=True)
class CutLength:
    """Length to cut one kind of conductor to: of each, and of all of them. [m]"""

    line: ConductorLine
    each_m: float

    @property
    def total_m(self) -> float:
        """Length of all of them. [m]"""
        return self.each_m * self.line.count


def cut_length_m(run_length_m: float, boxes: Sequence[Fitting], settings: PlanSettings) -> float:
    """Return the length to cut each conductor to. [m]

    Parameters
    ----------
    run_length_m : float
        Length of the raceway from end to end. [m]
    boxes : sequence of Fitting
        Pull points between the ends.
    settings : PlanSettings
        Slack at ends and boxes, and the percentage on top.

    References
    ----------
    MIL-HDBK-1012/3, 1996: 10 ft at each end, three quarters of the perimeter of each manhole,
    10 percent on the total.

    Examples
    --------
    >>> from analyzer.units import ft, to_ft
    >>> round(to_ft(cut_length_m(ft(200.0), (), PlanSettings())), 6)
    242.0
    """
    slack = 2.0 * settings.slack_each_end_m + sum(slack_at_box_m(b, settings) for b in boxes)
    return (run_length_m + slack) * (1.0 + settings.slack_percent / 100.0)


def slack_at_box_m(box: Fitting, settings: PlanSettings) -> float:
    """Return the conductor left at a box: three quarters of a manhole's perimeter. [m]"""
    if box.kind in _HOLES and box.size_m is not None and len(box.size_m) >= 2:
        around = _PERIMETER_PART * 2.0 * (box.size_m[0] + box.size_m[1])
        return max(settings.slack_per_box_m, around)
    return settings.slack_per_box_m


def cut_lengths(run: Run, job: Job) -> tuple[CutLength, ...]:
    """Return the length of each kind of conductor to be pulled through a run."""
    boxes = [fitting for fitting in run.fittings[1:-1] if fitting.pull_point]
    length = cut_length_m(run.centerline.length_m, boxes, job.plan)
    return tuple(CutLength(line, length) for line in job.conductors)
