"""The hand check: each leg in its better direction, segment by segment, by closed forms.

Every row starts from the tension that the analysis carries into the segment at expected
friction, so that one row can be redone with a pocket calculator. Every row says whether its form
is published or derived here. Where none holds (tilted bends, bends on the outer wall, slack), the
row says so instead of forcing one. Where the lubricant ends on the way, the segment is cut there.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import asin, pi

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.errors import InputError
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Segment, Straight, cross
from analyzer.job.settings import Job
from analyzer.pulling.closed_forms import (
    level_bend_tension_n,
    straight_tension_n,
    vertical_arc_tension_n,
)
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import Direction, Profile, Pull
from analyzer.pulling.sections import friction_along
from analyzer.pulling.string_model import CornerPiece, Piece
from analyzer.reports.grid import Column, Table
from analyzer.reports.leg_words import expected_level_words
from analyzer.route.run import SAME_PLACE_M
from analyzer.studies.level_bounds import level_bounds
from analyzer.studies.ways import Way, way_of_leg
from analyzer.units import show_angle, show_force, show_length, show_radius, show_weight

__all__ = ["HandCheck", "hand_checks"]

_FLAT = 1e-9
_PUBLISHED, _DERIVED = "published", "from memory, derived here"
_COLUMNS = (
    Column("Segment"),
    Column("Size", True),
    Column("Closed form"),
    Column("Form from"),
    Column("T1 in", True),
    Column("T2 by closed form", True),
    Column("T2 in the analysis", True),
)


@dataclass(frozen=True, slots=True)
class HandCheck:
    """One leg redone by closed forms, published or derived here, with a note on what it shows."""

    table: Table
    note: str


@dataclass(frozen=True, slots=True)
class _ClosedForm:
    """A form in words, where it comes from, and the exit tension; none where no form holds."""

    words: str
    origin: str = ""
    exit_n: float | None = None


def hand_checks(analyzed: RunAnalysis, analysis: Analysis) -> tuple[HandCheck, ...]:
    """Return the hand check of every leg, in its better direction at expected friction.

    None where friction falls in hard pressing bends: it then changes along a bend, and one k no
    longer tells a row.

    Parameters
    ----------
    analyzed : RunAnalysis
        One run of the analysis.
    analysis : Analysis
        What `analyze` returned.
    """
    if analysis.job.pull.friction_by_sidewall is not None:
        return ()
    return tuple(_hand_check(item, analyzed, analysis) for item in analyzed.legs)


def _hand_check(analyzed: LegAnalysis, run: RunAnalysis, analysis: Analysis) -> HandCheck:
    job, pull, line = analysis.job, analyzed.best, run.run.centerline
    legs = [item.leg for item in run.legs]
    way = way_of_leg(run.run, legs, analyzed.leg, pull.direction, job, analysis.group)
    expected = [job.pull.friction.expected]
    pieces, k, dry = friction_along(way.section.pieces, job, analysis.group, expected, way.gone_m)
    rows = []
    weight = job.pulling_weight_n_per_m
    for place, friction, is_dry in zip(pieces, k[:, 0].tolist(), dry, strict=True):
        if isinstance(place, CornerPiece):
            continue
        piece = _segment(line, place)
        if pull.direction is Direction.REVERSE:
            piece = piece.reversed()
        entry = _tension_at(pull.profile, place.station_m, last=True)
        exit_tension = _tension_at(pull.profile, place.end_station_m, last=False)
        form = _closed_form(piece, entry, weight, friction)
        rows.append(
            (
                ("straight" if isinstance(piece, Straight) else "bend") + (", dry" * is_dry),
                _size(piece, job),
                form.words,
                form.origin,
                show_force(entry, job.units),
                "" if form.exit_n is None else show_force(form.exit_n, job.units),
                show_force(exit_tension, job.units),
            )
        )
    title = (
        f"Hand check of {analyzed.leg.name}, feeding at {pull.feed_at}, {_k_words(job, analysis)}, "
        f"w {show_weight(weight, job.units)}"
    )
    return HandCheck(Table(title, _COLUMNS, tuple(rows)), _note(way, pull, analysis))


def _segment(line: Centerline, place: Piece) -> Segment:
    """Return the segment, or the part of it, that a piece lies on, traveling forward."""
    low, high = sorted((place.station_m, place.end_station_m))
    index = bisect_right(line.stations_m, 0.5 * (low + high)) - 1
    whole, start = line.segments[index], line.stations_m[index]
    low, high = max(low - start, 0.0), min(high - start, whole.length_m)
    return whole if low == 0.0 and high == whole.length_m else whole.part(low, high)


def _k_words(job: Job, analysis: Analysis) -> str:
    """Return what k is, and what beyond the reach of the lubricant."""
    plain, dry = job.pull.friction.expected, job.pull.dry_friction
    words = _both_k(plain, job, analysis.group)
    if job.pull.lubricant_reach_m is None or dry is None:
        return words
    reach = show_length(job.pull.lubricant_reach_m, job.units)
    beyond = _both_k(max(plain, dry), job, analysis.group)
    return f"{words}; {beyond} where dry, beyond {reach} from the feed"


def _both_k(friction: float, job: Job, group: ConductorGroup) -> str:
    k = friction * group.weight_factor
    if job.pull.weight_factor_in_bends or k == friction:
        return f"k {k:.4f}"
    return f"k {k:.4f} in straights, {friction:.4f} in bends"


def _size(piece: Segment, job: Job) -> str:
    if isinstance(piece, Straight):
        return show_length(piece.length_m, job.units)
    return f"{show_angle(piece.angle_rad)}, R {show_radius(piece.radius_m, job.units)}"


def _closed_form(piece: Segment, entry_n: float, weight: float, k: float) -> _ClosedForm:
    """Return the closed form that holds for a segment, where it comes from, and what it gives."""
    slope_in = asin(max(-1.0, min(1.0, piece.start_tangent[2])))
    if isinstance(piece, Straight):
        is_level = abs(slope_in) <= _FLAT
        words, origin = (
            ("T1 + kwL", _PUBLISHED) if is_level else ("T1 + wL(sin p + k cos p)", _DERIVED)
        )
        try:
            exit_n = straight_tension_n(entry_n, weight, piece.length_m, slope_in, k)
        except InputError:
            return _ClosedForm("none: the conductors run by themselves")
        return _ClosedForm(words, origin, exit_n)
    upward = abs(cross(piece.start_tangent, piece.start_normal)[2])
    if upward > 1.0 - _FLAT:
        exit_n = level_bend_tension_n(entry_n, weight, piece.radius_m, piece.angle_rad, k)
        return _ClosedForm("T1 cosh ka + √(T1² + (wR)²) sinh ka", _PUBLISHED, exit_n)
    if upward > _FLAT:
        return _ClosedForm("none: bend in a tilted plane, integrated")
    return _vertical(piece, entry_n, weight, k, slope_in)


def _vertical(piece: Arc, entry_n: float, weight: float, k: float, slope_in: float) -> _ClosedForm:
    """Return the form of a bend in a vertical plane: the conductors bear on its inner wall."""
    sag = piece.start_normal[2] > 0.0 or (
        abs(piece.start_normal[2]) <= _FLAT and piece.end_tangent[2] > piece.start_tangent[2]
    )
    slope_out = slope_in + (piece.angle_rad if sag else -piece.angle_rad)
    if abs(slope_out) > pi / 2 + _FLAT:
        return _ClosedForm("none: bend past the vertical, integrated")
    exit_n = vertical_arc_tension_n(entry_n, weight, piece.radius_m, slope_in, slope_out, k)
    heavy = weight * piece.radius_m
    if sag and (entry_n < heavy or exit_n < heavy):
        return _ClosedForm("none: conductors on the outer wall, solved exactly")
    if exit_n < 0.0:
        return _ClosedForm("none: the conductors run by themselves")
    words = ("bottom bend" if sag else "top bend") + ", vertical arc form"
    return _ClosedForm(words, _DERIVED, exit_n)


def _tension_at(profile: Profile, station_m: float, *, last: bool) -> float:
    """Tension at a joint: the last entry there going in, the first coming out."""
    near = [
        tension
        for station, tension in zip(profile.station_m, profile.tension_n, strict=True)
        if abs(station - station_m) < SAME_PLACE_M
    ]
    return near[-1] if last else near[0]


def _note(way: Way, pull: Pull, analysis: Analysis) -> str:
    """Independent bounds for a level leg, or why there are none."""
    return expected_level_words(level_bounds(way, pull), analysis.job.units) or (
        "Bounds for all bends first and all bends last hold for level legs of one friction only: "
        "not given here."
    )
