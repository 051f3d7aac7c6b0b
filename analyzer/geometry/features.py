"""Features: bends that belong together, such as offsets and saddles, with a bender's figures.

Angles count as equal, and planes as one, within 1°. Corners in fittings belong to no feature and
part the bends on both sides. Figures are exact; rounded trade multipliers are added where the
caller hands them in for the angle. A vertical drop or rise is listed beside the feature that its
bends make otherwise.

Source: plane trigonometry of straight lines between corner points: an offset of depth h and angle
a needs h / sin a between its bend centers and shrinks the run by h tan(a/2).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import atan2, cos, degrees, hypot, pi, radians, sin, tan

import numpy as np

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Segment, Straight, Vector, cross, dot, norm, unit
from analyzer.geometry.vectors import minus, times, to_vector

__all__ = ["Feature", "TradeFigures", "find_features"]

_ALIKE_RAD = radians(1.0)
_QUARTER_RAD = pi / 2.0
_TABLE_DEG = 0.25
_TOUCHING = 0.1
_LEAST_M = 1e-4


@dataclass(frozen=True, slots=True)
class Feature:
    """Bends that belong together.

    Attributes
    ----------
    kind : str
        ``kick``, ``offset``, ``rolling offset``, ``three-bend saddle``, ``four-bend saddle``,
        ``back-to-back``, ``U``, ``quarter bend``, ``vertical drop``, ``vertical rise``,
        ``dog-leg``.
    bends : tuple of int
        Numbers of its bends.
    figures : tuple of (str, float)
        Named figures with their unit in the name, such as ``("depth_m", 0.3)``.
    """

    kind: str
    bends: tuple[int, ...]
    figures: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class TradeFigures:
    """Rounded figures a bender's chart prints for one angle.

    Attributes
    ----------
    multiplier : float
        Spacing between bend centers over depth.
    shrink : float
        Shrink over depth.
    """

    multiplier: float
    shrink: float


@dataclass(frozen=True, slots=True)
class _Placed:
    """A bend with its corner point and the directions at its ends."""

    bend: Bend
    into: Vector
    out: Vector
    corner: Vector
    start: Vector
    end: Vector


@dataclass(slots=True)
class _Charts:
    offset: Mapping[float, TradeFigures] = field(default_factory=dict)
    saddle: Mapping[float, TradeFigures] = field(default_factory=dict)


def find_features(
    bends: Sequence[Bend],
    centerline: Centerline,
    *,
    offset_chart: Mapping[float, TradeFigures] | None = None,
    saddle_chart: Mapping[float, TradeFigures] | None = None,
) -> tuple[Feature, ...]:
    """Return the features that the bends of a run make, in order of their first bend.

    Parameters
    ----------
    bends : sequence of Bend
        All bends of the run, in order.
    centerline : Centerline
        The run they belong to.
    offset_chart, saddle_chart : mapping of float to TradeFigures, optional
        Rounded trade figures by angle of an offset, and by outer angle of a three-bend saddle,
        in degrees.

    Notes
    -----
    Figures by kind:

    - offset, rolling offset: ``angle_deg depth_m spacing_m multiplier shrink_m
      center_to_center_m start_elevation_m end_elevation_m``, with ``trade_multiplier
      trade_spacing_m trade_shrink_m`` where the chart has the angle; ``spacing_m`` is between the
      corner points, ``center_to_center_m`` along the centerline between the middles of the bends;
      rolling also ``rise_m roll_m true_offset_m roll_deg``: rise up, roll to the right of travel,
      roll angle from the rise.
    - saddles: the same, with the depth of the obstacle cleared; ``shrink_m`` of a three-bend
      saddle is how far its center mark moves; a four-bend saddle has ``top_m`` between its inner
      corner points.
    - back-to-back, U: ``angle_deg depth_m``, the distance between the two legs.
    - kick, quarter bend: ``angle_deg gain_m`` with gain R (2 tan(a/2) - a).
    - dog-leg: ``angle_deg rotation_deg spacing_m``.
    - vertical drop, vertical rise: ``top_elevation_m bottom_elevation_m rise_m straight_m``.
    """
    charts = _Charts(offset_chart or {}, saddle_chart or {})
    found: list[Feature] = []
    for group in _groups(bends, centerline):
        found += _shared_out(group, charts)
    found += _verticals(bends, centerline)
    return tuple(sorted(found, key=lambda one: (one.bends[0], one.kind.startswith("vertical"))))


def _shared_out(group: Sequence[_Placed], charts: _Charts) -> list[Feature]:
    """Share bends out among features so that together they explain most; each bend belongs to one.

    Taken one after the other from the start, a bend before an offset could rob it of its first.
    """
    worth = [0.0] * (len(group) + 1)
    choice: list[tuple[Feature | None, int]] = [(None, 1)] * len(group)
    for index in reversed(range(len(group))):
        worth[index] = worth[index + 1]
        for size, value, maker in _MAKERS:
            part = group[index : index + size]
            feature = maker(part, charts) if len(part) == size else None
            if feature is not None and value + worth[index + size] > worth[index]:
                worth[index] = value + worth[index + size]
                choice[index] = (feature, size)
    found, index = [], 0
    while index < len(group):
        feature, size = choice[index]
        if feature is not None:
            found.append(feature)
        index += size
    return found


def _groups(bends: Sequence[Bend], centerline: Centerline) -> list[list[_Placed]]:
    """Bends between corners in fittings, with their corner points."""
    groups: list[list[_Placed]] = [[]]
    stations, segments = centerline.stations_m, centerline.segments
    for bend in bends:
        if bend.in_fitting:
            groups.append([])
            continue
        start, t1 = _place(segments, stations, bend.station_m, 5e-10)
        end, t2 = _place(segments, stations, bend.end_station_m, -5e-10)
        turned = atan2(norm(cross(t1, t2)), dot(t1, t2))
        corner = meeting_point(start, t1, end, t2) if 1e-6 < turned < pi - 1e-3 else start
        groups[-1].append(_Placed(bend, t1, t2, corner, start, end))
    return groups


def _place(
    segments: Sequence[Segment], stations: Sequence[float], station_m: float, inside_m: float
) -> tuple[Vector, Vector]:
    """Point and direction at an end of a bend, as its own arc has them.

    The arc is looked for half a nanometre inside, so that rounding of stations does not matter.
    """
    index = min(bisect_right(stations, station_m + inside_m) - 1, len(segments) - 1)
    segment = segments[index]
    local = station_m - stations[index]
    if abs(local) < 1e-9:
        return segment.start_m, segment.start_tangent
    if abs(local - segment.length_m) < 1e-9:
        return segment.end_m, segment.end_tangent
    return to_vector(segment.points_at([local])[0]), to_vector(segment.tangents_at([local])[0])


def _alike(a: float, b: float) -> bool:
    return abs(a - b) <= _ALIKE_RAD


def _rotation(placed: _Placed) -> float:
    """Turn of the plane from the bend before, without sign."""
    return abs(placed.bend.rotation_rad or 0.0)


def _across(direction: Vector, start: Vector, end: Vector) -> Vector:
    """Part of the way between two places across a direction."""
    way = minus(end, start)
    along = dot(way, direction)
    return minus(way, times(direction, along))


def _middle(placed: _Placed) -> float:
    return (placed.bend.station_m + placed.bend.end_station_m) / 2.0


def _parallel(a: _Placed, b: _Placed) -> bool:
    return atan2(norm(cross(a.into, b.out)), dot(a.into, b.out)) <= _ALIKE_RAD


def _numbers(part: Sequence[_Placed]) -> tuple[int, ...]:
    return tuple(placed.bend.number for placed in part)


def _shift_figures(
    part: Sequence[_Placed], depth_m: float, chart: Mapping[float, TradeFigures]
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
        ("start_elevation_m", part[0].start[2]),
        ("end_elevation_m", part[-1].end[2]),
    ]
    for table_deg, trade in chart.items():
        if abs(table_deg - degrees(angle)) <= _TABLE_DEG:
            figures += [
                ("trade_multiplier", trade.multiplier),
                ("trade_spacing_m", depth_m * trade.multiplier),
                ("trade_shrink_m", depth_m * trade.shrink),
            ]
    return figures


def _four_bend_saddle(part: Sequence[_Placed], charts: _Charts) -> Feature | None:
    a, b, c, d = part
    angles = [placed.bend.angle_rad for placed in part]
    if not all(_alike(angle, angles[0]) for angle in angles) or angles[0] > radians(89.0):
        return None
    folds = zip((b, c, d), (pi, 0.0, pi), strict=True)
    if not all(_alike(_rotation(placed), wanted) for placed, wanted in folds):
        return None
    depth = norm(_across(a.into, a.corner, b.corner))
    back = norm(_across(a.into, c.corner, d.corner))
    if abs(depth - back) > 0.02 * depth + _LEAST_M:
        return None
    figures = _shift_figures(part, depth, charts.offset)
    figures.append(("top_m", norm(minus(c.corner, b.corner))))
    return Feature("four-bend saddle", _numbers(part), tuple(figures))


def _three_bend_saddle(part: Sequence[_Placed], charts: _Charts) -> Feature | None:
    a, b, c = part
    outer = a.bend.angle_rad
    fits = _alike(c.bend.angle_rad, outer) and _alike(b.bend.angle_rad, 2.0 * outer)
    folded = _alike(_rotation(b), pi) and _alike(_rotation(c), pi)
    if not (fits and folded):
        return None
    depth = norm(_across(a.into, a.corner, b.corner))
    away = norm(_across(a.into, a.corner, c.corner))
    if away > 0.02 * depth + _LEAST_M:
        return None
    figures = _shift_figures(part, depth, charts.saddle)
    return Feature("three-bend saddle", _numbers(part), tuple(figures))


def _offset(part: Sequence[_Placed], charts: _Charts) -> Feature | None:
    a, b = part
    if not _alike(a.bend.angle_rad, b.bend.angle_rad) or a.bend.angle_rad > radians(89.0):
        return None
    if not _alike(_rotation(b), pi) or not _parallel(a, b):
        return None
    shift = _across(a.into, a.corner, b.corner)
    depth = norm(shift)
    figures = _shift_figures(part, depth, charts.offset)
    if abs(a.into[2]) >= cos(_ALIKE_RAD):
        return Feature("offset", _numbers(part), tuple(figures))
    right = unit(cross(a.into, (0.0, 0.0, 1.0)))
    up = cross(right, a.into)
    rise, roll = dot(shift, up), dot(shift, right)
    slant = atan2(abs(roll), abs(rise))
    if not _ALIKE_RAD < slant < _QUARTER_RAD - _ALIKE_RAD:
        return Feature("offset", _numbers(part), tuple(figures))
    figures += [
        ("rise_m", rise),
        ("roll_m", roll),
        ("true_offset_m", hypot(rise, roll)),
        ("roll_deg", degrees(slant)),
    ]
    return Feature("rolling offset", _numbers(part), tuple(figures))


def _back_to_back(part: Sequence[_Placed], _charts: _Charts) -> Feature | None:
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
    return Feature(kind, _numbers(part), figures)


def _dog_leg(part: Sequence[_Placed], _charts: _Charts) -> Feature | None:
    a, b = part
    if not _alike(a.bend.angle_rad, b.bend.angle_rad) or a.bend.angle_rad > radians(89.0):
        return None
    rotation = _rotation(b)
    if _alike(rotation, 0.0) or _alike(rotation, pi):
        return None
    figures = (
        ("angle_deg", degrees(a.bend.angle_rad)),
        ("rotation_deg", degrees(b.bend.rotation_rad or 0.0)),
        ("spacing_m", norm(minus(b.corner, a.corner))),
    )
    return Feature("dog-leg", _numbers(part), figures)


def _single(part: Sequence[_Placed], _charts: _Charts) -> Feature | None:
    (placed,) = part
    bend = placed.bend
    if _alike(bend.angle_rad, pi):
        depth = norm(_across(placed.into, placed.start, placed.end))
        figures = (("angle_deg", degrees(bend.angle_rad)), ("depth_m", depth))
        return Feature("U", _numbers(part), figures)
    if bend.angle_rad > _QUARTER_RAD + _ALIKE_RAD:
        return None
    kind = "quarter bend" if _alike(bend.angle_rad, _QUARTER_RAD) else "kick"
    gain = (bend.radius_m or 0.0) * (2.0 * tan(bend.angle_rad / 2.0) - bend.angle_rad)
    figures = (("angle_deg", degrees(bend.angle_rad)), ("gain_m", gain))
    return Feature(kind, _numbers(part), figures)


_Maker = Callable[[Sequence[_Placed], _Charts], "Feature | None"]
# number of bends, what the feature explains beside others, and how it is told
_MAKERS: tuple[tuple[int, float, _Maker], ...] = (
    (4, 8.0, _four_bend_saddle),
    (3, 5.5, _three_bend_saddle),
    (2, 3.0, _offset),
    (2, 3.0, _back_to_back),
    (2, 1.0, _dog_leg),
    (1, 0.1, _single),
)


def _verticals(bends: Sequence[Bend], centerline: Centerline) -> list[Feature]:
    """Vertical straights with the bends at their ends: from the top of one to the other."""
    arcs = [bend for bend in bends if not bend.in_fitting]
    stations = np.asarray(centerline.stations_m)
    found = []
    for segment, low, high in zip(centerline.segments, stations[:-1], stations[1:], strict=True):
        if not isinstance(segment, Straight) or abs(segment.start_tangent[2]) < cos(_ALIKE_RAD):
            continue
        before = [b for b in arcs if abs(b.end_station_m - low) <= 1e-6]
        after = [b for b in arcs if abs(b.station_m - high) <= 1e-6]
        if not before and not after:
            continue
        first = before[0].station_m if before else float(low)
        last = after[0].end_station_m if after else float(high)
        start, end = (float(z) for z in centerline.points_at([first, last])[:, 2])
        falling = segment.start_tangent[2] < 0.0
        figures = (
            ("top_elevation_m", max(start, end)),
            ("bottom_elevation_m", min(start, end)),
            ("rise_m", end - start),
            ("straight_m", segment.length_m),
        )
        kind = "vertical drop" if falling else "vertical rise"
        numbers = tuple(bend.number for bend in (*before, *after))
        found.append(Feature(kind, numbers, figures))
    return found
