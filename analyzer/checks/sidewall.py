"""Sidewall pressure at every bend, when pulled and when held back."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.checks.check import Check
from analyzer.checks.pull_limits import LimitedFigure, check_pulls
from analyzer.checks.situation import Situation
from analyzer.findings import Verdict
from analyzer.geometry.readings import Bend
from analyzer.pulling.limits import sidewall_limit
from analyzer.pulling.results import Pull, pressure_between
from analyzer.units import show_angle, show_pressure

__all__ = ["check_sidewalls", "is_of_corner"]


def check_sidewalls(situation: Situation) -> tuple[Check, ...]:
    """Return the sidewall checks of every leg with bends, both directions, pulled and held back.

    The pressure is the published one on the worst conductor, at the worst bend of the leg; every
    bend above the limit is named. A leg
    without bends has none. A corner inside a fitting that conductors are passed through is named
    as not checked, since no inside radius is known: the run then has no verdict.
    """
    pulled = LimitedFigure("sidewall pressure", "N/m", show_pressure, _pulled, False, _pulled_in)
    held = LimitedFigure("sidewall pressure", "N/m", show_pressure, _held_back, True, _held_back_in)
    job = situation.job
    return (
        *check_pulls(situation, sidewall_limit(job), pulled),
        *check_pulls(situation, sidewall_limit(job, is_braked=True), held),
        *_corners_passed(situation),
    )


def is_of_corner(check: Check) -> bool:
    """Whether a check is of a turn inside a fitting that conductors are passed through."""
    is_of_place = check.leg is None and check.direction is None and check.station_m is not None
    return check.code == "sidewall" and is_of_place


def _corners_passed(situation: Situation) -> Iterator[Check]:
    """Yield one check not made for each fitting that conductors are passed through on a corner."""
    for fitting, turned in situation.run.corners_passed():
        yield Check(
            code="sidewall",
            leg=None,
            direction=None,
            verdict=Verdict.NOT_CHECKED,
            value=None,
            limit=None,
            unit="N/m",
            where=fitting.name,
            station_m=fitting.station_m,
            source="no inside radius known",
            message=f"Sidewall pressure inside {fitting.name} not checked (conductors passed "
            f"through it turn {show_angle(turned)} on its inside edge, no inside radius known): "
            'have them taken out and fed again there (a pull point with passage = "refeed"), or '
            "compare by hand the tension there, over the inside radius its maker states, with the "
            "limit.",
        )


def _pulled(pull: Pull) -> tuple[float, float | None] | None:
    station = pull.high.max_sidewall_station_m
    return None if station is None else (pull.high.max_sidewall_n_per_m, station)


def _pulled_in(pull: Pull, bend: Bend) -> float:
    return pressure_between(pull.high.arcs, bend.station_m, bend.end_station_m)


def _held_back_in(pull: Pull, bend: Bend) -> float:
    return pressure_between(pull.braked.arcs, bend.station_m, bend.end_station_m)


def _held_back(pull: Pull) -> tuple[float, float | None] | None:
    station = pull.braked.max_sidewall_station_m
    return None if station is None else (pull.braked.max_sidewall_n_per_m, station)
