"""The hand check: each leg in its better direction, segment by segment, by published equations.

Every row starts from the tension that the analysis carries into the segment at expected
friction, so that one row can be redone with a pocket calculator. Where no published equation
holds (tilted bends, bends on the outer wall, slack), the row says so instead of forcing one.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, pi

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.errors import InputError
from analyzer.geometry.segments import Arc, Segment, Straight, cross
from analyzer.job.settings import Job
from analyzer.pulling.closed_forms import (
    level_bend_tension_n,
    straight_tension_n,
    vertical_arc_tension_n,
)
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import Direction, Profile
from analyzer.reports.grid import Column, Table
from analyzer.reports.leg_words import expected_level_words
from analyzer.studies.level_bounds import level_bounds
from analyzer.studies.ways import way_of_leg
from analyzer.units import show_angle, show_force, show_length, show_radius, show_weight

__all__ = ["HandCheck", "hand_checks"]

_FLAT = 1e-9
_COLUMNS = (
    Column("Segment"),
    Column("Size", True),
    Column("Equation"),
    Column("T1 in", True),
    Column("T2 by equation", True),
    Column("T2 in the analysis", True),
)


@dataclass(frozen=True, slots=True)
class HandCheck:
    """One leg redone by published equations, with a note on what it shows."""

    table: Table
    note: str


def hand_checks(analyzed: RunAnalysis, analysis: Analysis) -> tuple[HandCheck, ...]:
    """Return the hand check of every leg, in its better direction at expected friction.

    None where the lubricant reaches only part of a leg, or friction falls in hard pressing bends:
    friction then changes along it, and one k no longer tells a row.

    Parameters
    ----------
    analyzed : RunAnalysis
        One run of the analysis.
    analysis : Analysis
        What `analyze` returned.
    """
    pull = analysis.job.pull
    if pull.lubricant_reach_m is not None or pull.friction_by_sidewall is not None:
        return ()
    line = analyzed.run.centerline
    return tuple(
        _hand_check(
            item,
            line.part(item.leg.start.station_m, item.leg.end.station_m).segments,
            analyzed,
            analysis,
        )
        for item in analyzed.legs
    )


def _hand_check(
    analyzed: LegAnalysis, segments: tuple[Segment, ...], run: RunAnalysis, analysis: Analysis
) -> HandCheck:
    job, group = analysis.job, analysis.group
    pull = analyzed.best
    k, k_bend = _frictions(job, group)
    station = analyzed.leg.start.station_m
    placed: list[tuple[float, Segment]] = []
    for segment in segments:
        placed.append((station, segment))
        station += segment.length_m
    if pull.direction is Direction.REVERSE:
        placed = [(at + piece.length_m, piece.reversed()) for at, piece in reversed(placed)]
    sign = -1.0 if pull.direction is Direction.REVERSE else 1.0
    rows = []
    weight = job.pulling_weight_n_per_m
    for at, piece in placed:
        entry = _tension_at(pull.profile, at, last=True)
        exit_tension = _tension_at(pull.profile, at + sign * piece.length_m, last=False)
        name, by_equation = _by_equation(piece, entry, weight, k, k_bend)
        rows.append(
            (
                "straight" if isinstance(piece, Straight) else "bend",
                _size(piece, job),
                name,
                show_force(entry, job.units),
                "" if by_equation is None else show_force(by_equation, job.units),
                show_force(exit_tension, job.units),
            )
        )
    title = (
        f"Hand check of {analyzed.leg.name}, feeding at {pull.feed_at}, k {k:.4f}"
        + ("" if k == k_bend else f" in straights, {k_bend:.4f} in bends")
        + f", w {show_weight(weight, job.units)}"
    )
    return HandCheck(Table(title, _COLUMNS, tuple(rows)), _note(analyzed, run, analysis))


def _frictions(job: Job, group: ConductorGroup) -> tuple[float, float]:
    friction = job.pull.friction.expected
    k = friction * group.weight_factor
    return k, (k if job.pull.weight_factor_in_bends else friction)


def _size(piece: Segment, job: Job) -> str:
    if isinstance(piece, Straight):
        return show_length(piece.length_m, job.units)
    return f"{show_angle(piece.angle_rad)}, R {show_radius(piece.radius_m, job.units)}"


def _by_equation(
    piece: Segment, entry_n: float, weight: float, k: float, k_bend: float
) -> tuple[str, float | None]:
    """Name of the equation that holds for a segment, and what it gives; None where none holds."""
    slope_in = asin(max(-1.0, min(1.0, piece.start_tangent[2])))
    if isinstance(piece, Straight):
        try:
            return "T1 + wL(sin p + k cos p)", straight_tension_n(
                entry_n, weight, piece.length_m, slope_in, k
            )
        except InputError:
            return "none: the conductors run by themselves", None
    upward = abs(cross(piece.start_tangent, piece.start_normal)[2])
    if upward > 1.0 - _FLAT:
        return "T1 cosh ka + √(T1² + (wR)²) sinh ka", level_bend_tension_n(
            entry_n, weight, piece.radius_m, piece.angle_rad, k_bend
        )
    if upward > _FLAT:
        return "none: bend in a tilted plane, integrated", None
    return _vertical(piece, entry_n, weight, k_bend, slope_in)


def _vertical(
    piece: Arc, entry_n: float, weight: float, k: float, slope_in: float
) -> tuple[str, float | None]:
    """Equation of a bend in a vertical plane, where the conductors bear on its inner wall."""
    sag = piece.start_normal[2] > 0.0 or (
        abs(piece.start_normal[2]) <= _FLAT and piece.end_tangent[2] > piece.start_tangent[2]
    )
    slope_out = slope_in + (piece.angle_rad if sag else -piece.angle_rad)
    if abs(slope_out) > pi / 2 + _FLAT:
        return "none: bend past the vertical, integrated", None
    exit_n = vertical_arc_tension_n(entry_n, weight, piece.radius_m, slope_in, slope_out, k)
    heavy = weight * piece.radius_m
    if sag and (entry_n < heavy or exit_n < heavy):
        return "none: conductors on the outer wall, solved exactly", None
    if exit_n < 0.0:
        return "none: the conductors run by themselves", None
    return ("bottom bend" if sag else "top bend") + ", vertical arc form", exit_n


def _tension_at(profile: Profile, station_m: float, *, last: bool) -> float:
    """Tension at a joint: the last entry there going in, the first coming out."""
    near = [
        tension
        for station, tension in zip(profile.station_m, profile.tension_n, strict=True)
        if abs(station - station_m) < 1e-6
    ]
    return near[-1] if last else near[0]


def _note(analyzed: LegAnalysis, run: RunAnalysis, analysis: Analysis) -> str:
    """Independent bounds for a level leg, or why there are none."""
    pull, legs = analyzed.best, [item.leg for item in run.legs]
    way = way_of_leg(run.run, legs, analyzed.leg, pull.direction, analysis.job, analysis.group)
    return expected_level_words(level_bounds(way, pull), analysis.job.units) or (
        "Bounds for all bends first and all bends last hold for level legs only: not given here."
    )
