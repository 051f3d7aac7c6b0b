"""The kinds of features: which bends make one, and a bender's figures for it.

Angles count as equal, and planes as one, within 1°. Figures are exact; rounded trade multipliers
are added where a chart has the angle.

Source: plane trigonometry of straight lines between corner points: an offset of depth h and angle
a needs h / sin a between its bend centers and shrinks the run by h tan(a/2).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, pi, radians, sin, tan

from analyzer.geometry.features.feature import Feature, TradeFigures
from analyzer.geometry.features.placed_bends import (
    NEARLY_BACK_RAD,
    PlacedBend,
    gain_of,
    lies_in_plane,
)
from analyzer.geometry.segments import Vector, cross, dot, norm, unit
from analyzer.geometry.vectors import minus, times
from analyzer.units import inches

__all__ = ["FEATURE_MAKERS", "Charts", "FeatureMaker"]

_ALIKE_RAD = radians(1.0)
"""How far two angles, or two planes, may differ and still count as one. [rad] As everywhere."""

_QUARTER_RAD = pi / 2.0
"""Turn of a quarter bend. [rad]"""

_BELOW_QUARTER_RAD = radians(89.0)
"""Largest turn of a bend of an offset, four-bend saddle, dog-leg or opposite kicks: what is within
1° of a quarter is a quarter bend. [rad]"""

_TABLE_DEG = 0.25
"""How far an angle may be off that of a chart to get its rounded figures. [deg] Own choice."""

_TOUCHING = 0.1
"""Radii of straight between two quarter bends up to which they are a U. Own choice."""

_LIKE_DEPTH, _LEAST_M = 0.02, 1e-4
"""Share of the depth, and length besides [m], by which a saddle may miss the line it left. Own
choice."""

_LEAST_RISE_M = inches(1.0) / 16.0  # the finest mark of a tape (common practice)


@dataclass(frozen=True, slots=True)
class Charts:
    """Rounded trade figures by angle in degrees: of offsets, and of saddles by outer angle."""

    offset: Mapping[float, TradeFigures]
    saddle: Mapping[float, TradeFigures]


def _alike(a: float, b: float) -> bool:
    return abs(a - b) <= _ALIKE_RAD


def _rotation(placed: PlacedBend) -> float:
    """Turn of the plane from the bend before, without sign."""
    return abs(placed.bend.rotation_rad or 0.0)


def _across(direction: Vector, start: Vector, end: Vector) -> Vector:
    """Part of the way between two places across a direction."""
    way = minus(end, start)
    along = dot(way, direction)
    return minus(way, times(direction, along))


def _middle(placed: PlacedBend) -> float:
    return (placed.bend.station_m + placed.bend.end_station_m) / 2.0


def _between(a: PlacedBend, b: PlacedBend) -> float:
    """Angle between the straights before the first and after the last of two bends."""
    return atan2(norm(cross(a.into, b.out)), dot(a.into, b.out))


def _feature(
    kind: str, part: Sequence[PlacedBend], figures: Sequence[tuple[str, float]]
) -> Feature:
    numbers = tuple(placed.bend.number for placed in part)
    first, last = part[0], part[-1]
    told = [*figures]
    if abs(last.end[2] - first.start[2]) >= _LEAST_RISE_M:
        told += [figure for figure in _elevations(part) if figure not in told]
    stations = first.bend.station_m, last.bend.end_station_m
    return Feature(kind, numbers, *stations, tuple(told))


def _elevations(part: Sequence[PlacedBend]) -> list[tuple[str, float]]:
    return [("start_elevation_m", part[0].start[2]), ("end_elevation_m", part[-1].end[2])]


def _shift_figures(
    part: Sequence[PlacedBend], depth_m: float, chart: Mapping[float, TradeFigures]
) -> list[tuple[str, float]]:
    """Figures of two bends that shift a run by a depth, exact and by the chart."""
    angle = part[0].bend.angle_rad
    figures = [
        ("angle_deg", degrees(angle)),
        ("depth_m", depth_m),
        ("spacing_m", norm(minus(part[1].corner, part[0].corner))),
        ("multiplier", 1.0 / sin(angle)),
        ("shrink_m", depth_m * tan(angle / 2.0)),
        ("center_to_center_m", _middle(part[1]) - _middle(part[0])),
        *_elevations(part),
    ]
    for table_deg, trade in chart.items():
        if abs(table_deg - degrees(angle)) <= _TABLE_DEG:
            figures += [
                ("trade_multiplier", trade.multiplier),
                ("trade_spacing_m", depth_m * trade.multiplier),
                ("trade_shrink_m", depth_m * trade.shrink),
            ]
    return figures


def _four_bend_saddle(part: Sequence[PlacedBend], charts: Charts) -> Feature | None:
    a, b, c, d = part
    angles = [placed.bend.angle_rad for placed in part]
    if not all(_alike(angle, angles[0]) for angle in angles) or angles[0] > _BELOW_QUARTER_RAD:
        return None
    folds = zip((b, c, d), (pi, 0.0, pi), strict=True)
    if not all(_alike(_rotation(placed), wanted) for placed, wanted in folds):
        return None
    depth = norm(_across(a.into, a.corner, b.corner))
    back = norm(_across(a.into, c.corner, d.corner))
    if abs(depth - back) > _LIKE_DEPTH * depth + _LEAST_M:
        return None
    figures = _shift_figures(part, depth, charts.offset)
    figures.append(("top_m", norm(minus(c.corner, b.corner))))
    return _feature("four-bend saddle", part, figures)


def _three_bend_saddle(part: Sequence[PlacedBend], charts: Charts) -> Feature | None:
    a, b, c = part
    outer = a.bend.angle_rad
    fits = _alike(c.bend.angle_rad, outer) and _alike(b.bend.angle_rad, 2.0 * outer)
    folded = _alike(_rotation(b), pi) and _alike(_rotation(c), pi)
    if not (fits and folded):
        return None
    depth = norm(_across(a.into, a.corner, b.corner))
    away = norm(_across(a.into, a.corner, c.corner))
    if away > _LIKE_DEPTH * depth + _LEAST_M:
        return None
    figures = _shift_figures(part, depth, charts.saddle)
    return _feature("three-bend saddle", part, figures)


def _offset(part: Sequence[PlacedBend], charts: Charts) -> Feature | None:
    a, b = part
    if not _alike(a.bend.angle_rad, b.bend.angle_rad):
        return None
    if not _ALIKE_RAD < a.bend.angle_rad <= _BELOW_QUARTER_RAD:
        return None
    if not _alike(_rotation(b), pi) or _between(a, b) > _ALIKE_RAD:
        return None
    shift = _across(a.into, a.corner, b.corner)
    depth = norm(shift)
    figures = _shift_figures(part, depth, charts.offset)
    if abs(a.into[2]) >= cos(_ALIKE_RAD):
        return _feature("offset", part, figures)
    right = unit(cross(a.into, (0.0, 0.0, 1.0)))
    up = cross(right, a.into)
    rise, roll = dot(shift, up), dot(shift, right)
    slant = atan2(abs(roll), abs(rise))
    if not _ALIKE_RAD < slant < _QUARTER_RAD - _ALIKE_RAD:
        return _feature("offset", part, figures)
    figures += [
        ("rise_m", rise),
        ("roll_m", roll),
        ("true_offset_m", hypot(rise, roll)),
        ("roll_deg", degrees(slant)),
    ]
    return _feature("rolling offset", part, figures)


def _back_to_back(part: Sequence[PlacedBend], _charts: Charts) -> Feature | None:
    a, b = part
    quarters = all(_alike(placed.bend.angle_rad, _QUARTER_RAD) for placed in part)
    if not quarters or not _alike(_rotation(b), 0.0):
        return None
    straight = b.bend.station_m - a.bend.end_station_m
    radius = min(a.bend.radius_m or 0.0, b.bend.radius_m or 0.0)
    kind = "U" if straight <= _TOUCHING * radius else "back-to-back"
    depth = norm(_across(a.into, a.corner, b.corner))
    total = a.bend.angle_rad + b.bend.angle_rad
    figures = (("angle_deg", degrees(total)), ("depth_m", depth))
    return _feature(kind, part, figures)


def _are_paired(a: PlacedBend, b: PlacedBend) -> bool:
    """Whether two bends turn enough for the plane of each to tell, and less than a quarter."""
    angles = (a.bend.angle_rad, b.bend.angle_rad)
    return min(angles) > _ALIKE_RAD and max(angles) <= _BELOW_QUARTER_RAD


def _dog_leg(part: Sequence[PlacedBend], _charts: Charts) -> Feature | None:
    a, b = part
    rotation = _rotation(b)
    if not _are_paired(a, b) or _alike(rotation, 0.0) or _alike(rotation, pi):
        return None
    figures = [
        *_two_angles(a, b),
        ("rotation_deg", degrees(b.bend.rotation_rad or 0.0)),
        ("spacing_m", norm(minus(b.corner, a.corner))),
    ]
    return _feature("dog-leg", part, figures)


def _even_dog_leg(part: Sequence[PlacedBend], charts: Charts) -> Feature | None:
    alike = _alike(part[0].bend.angle_rad, part[1].bend.angle_rad)
    return _dog_leg(part, charts) if alike else None


def _opposite_kicks(part: Sequence[PlacedBend], _charts: Charts) -> Feature | None:
    a, b = part
    if not _are_paired(a, b) or not _alike(_rotation(b), pi):
        return None
    small, large = sorted((a.bend.angle_rad, b.bend.angle_rad))
    if not _alike(_between(a, b), large - small):
        return None
    if large > 2.0 * small and not _alike(large, 2.0 * small):
        return None
    figures = [
        *_two_angles(a, b),
        ("net_angle_deg", degrees(_between(a, b))),
        ("depth_m", norm(_across(a.into, a.corner, b.corner))),
        ("spacing_m", norm(minus(b.corner, a.corner))),
        ("center_to_center_m", _middle(b) - _middle(a)),
    ]
    return _feature("opposite kicks", part, figures)


def _two_angles(a: PlacedBend, b: PlacedBend) -> list[tuple[str, float]]:
    angles = [("angle_deg", degrees(a.bend.angle_rad))]
    if not _alike(a.bend.angle_rad, b.bend.angle_rad):
        angles.append(("second_angle_deg", degrees(b.bend.angle_rad)))
    return angles


def _single(part: Sequence[PlacedBend], _charts: Charts) -> Feature | None:
    (placed,) = part
    turn = placed.bend.angle_rad
    figures = [("angle_deg", degrees(turn))]
    if not lies_in_plane(placed):
        return _feature(
            "twisted bend", part, [*figures, ("net_angle_deg", degrees(_between(placed, placed)))]
        )
    gain = gain_of(placed)
    if gain is not None:
        figures.append(("gain_m", gain))
    elif turn - pi <= NEARLY_BACK_RAD:
        figures.append(("depth_m", norm(_across(placed.into, placed.start, placed.end))))
    return _feature(_single_kind(turn), part, figures)


def _single_kind(turn_rad: float) -> str:
    if _alike(turn_rad, pi):
        return "U"
    if _alike(turn_rad, _QUARTER_RAD):
        return "quarter bend"
    return "kick" if turn_rad < _QUARTER_RAD else "large bend"


FeatureMaker = Callable[[Sequence[PlacedBend], Charts], "Feature | None"]
# number of bends, what the feature explains beside others, and how it is told; more than one
# bend only where each lies in one plane. A pair in one plane explains more than one out of it, as
# almost any pair is one.
FEATURE_MAKERS: tuple[tuple[int, float, FeatureMaker], ...] = (
    (4, 8.0, _four_bend_saddle),
    (3, 5.5, _three_bend_saddle),
    (2, 3.0, _offset),
    (2, 3.0, _back_to_back),
    (2, 1.0, _even_dog_leg),
    (2, 0.6, _opposite_kicks),
    (2, 0.5, _dog_leg),
    (1, 0.1, _single),
)
