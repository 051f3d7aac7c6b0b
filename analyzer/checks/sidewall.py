"""Sidewall pressure at every bend, when pulled and when held back."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.pull_limits import Measure, check_pulls
from analyzer.checks.situation import Situation
from analyzer.pulling.limits import sidewall_limit
from analyzer.pulling.results import Pull
from analyzer.units import show_pressure

__all__ = ["check_sidewalls"]


def check_sidewalls(situation: Situation) -> tuple[Check, ...]:
    """Return the sidewall checks of every leg with bends, both directions, pulled and held back.

    The pressure is the published one on the worst conductor, at the worst bend of the leg. A leg
    without bends has none, and corners inside fittings are not checked.
    """
    pulled = Measure("sidewall pressure", "N/m", show_pressure, _pulled, is_braked=False)
    held = Measure("sidewall pressure", "N/m", show_pressure, _held_back, is_braked=True)
    job = situation.job
    return (
        *check_pulls(situation, sidewall_limit(job), pulled),
        *check_pulls(situation, sidewall_limit(job, is_braked=True), held),
    )


def _pulled(pull: Pull) -> tuple[float, float | None] | None:
    station = pull.high.max_sidewall_station_m
    return None if station is None else (pull.high.max_sidewall_n_per_m, station)


def _held_back(pull: Pull) -> tuple[float, float | None] | None:
    station = pull.braked.max_sidewall_station_m
    return None if station is None else (pull.braked.max_sidewall_n_per_m, station)
