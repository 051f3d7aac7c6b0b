"""Tension: conductors, grip, line and puller when pulled, and conductors when held back."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.pull_limits import LimitedFigure, check_pulls
from analyzer.checks.situation import Situation
from analyzer.job.settings import Attachment
from analyzer.pulling.limits import braked_limit, tension_limits
from analyzer.pulling.results import Pull
from analyzer.units import show_force

__all__ = ["check_tensions"]

_WORDS = {
    "conductor-tension": "conductor tension",
    "grip-tension": "tension on the grip",
    "line-tension": "tension on the pulling line",
    "puller-tension": "tension on the puller",
}


def check_tensions(situation: Situation) -> tuple[Check, ...]:
    """Return the tension checks of every leg in both directions, and of the braked state.

    The greatest tension anywhere on the leg at high friction counts; held back, the greatest over
    all head positions at low friction. Conductors pulled by an eye have no grip: nothing is
    listed for it then.
    """
    job, group = situation.job, situation.group
    checks: list[Check] = []
    for limit in tension_limits(job, group):
        if limit.code == "grip-tension" and job.pull.attachment is Attachment.PULLING_EYE:
            continue
        measure = LimitedFigure(_WORDS[limit.code], "N", show_force, _pulled, is_braked=False)
        checks += check_pulls(situation, limit, measure)
    measure = LimitedFigure("conductor tension", "N", show_force, _held_back, is_braked=True)
    checks += check_pulls(situation, braked_limit(job, group), measure)
    return tuple(checks)


def _pulled(pull: Pull) -> tuple[float, float | None]:
    return pull.high.max_tension_n, pull.high.max_tension_station_m


def _held_back(pull: Pull) -> tuple[float, float | None]:
    return pull.braked.max_tension_n, pull.braked.max_tension_station_m
