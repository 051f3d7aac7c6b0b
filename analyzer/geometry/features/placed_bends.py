"""Bends placed in space: corner points and directions at their ends, between fittings.

The corner point is where the directions at the ends of a bend meet.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, pi, radians, sin

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Segment, Vector, cross, dot, norm
from analyzer.geometry.vectors import minus, times, to_vector

__all__ = ["NEARLY_BACK_RAD", "PlacedBend", "gain_of", "lies_in_plane", "place_bends"]

_ALIKE_RAD = radians(1.0)
"""Angle within which two directions are one. [rad] As everywhere."""

NEARLY_BACK_RAD = radians(5.0)
"""Turns within this of half a turn lead straight back, as far as figures of benders go. [rad]"""


@dataclass(frozen=True, slots=True)
class PlacedBend:
    """A bend with its corner point and what its ends are like.

    Attributes
    ----------
    bend : Bend
        The bend.
    into, out : (3,) float
        Unit directions of travel at its start and end.
    corner : (3,) float
        Where these meet; the start where they do not. [m]
    start, end : (3,) float
        Its first and last point. [m]
    """

    bend: Bend
    into: Vector
    out: Vector
    corner: Vector
    start: Vector
    end: Vector


def place_bends(bends: Sequence[Bend], centerline: Centerline) -> list[list[PlacedBend]]:
    """Return the bends between corners in fittings, each group with its corner points.

    Parameters
    ----------
    bends : sequence of Bend
        All bends of the run, in order.
    centerline : Centerline
        The run they belong to.
    """
    groups: list[list[PlacedBend]] = [[]]
    stations, segments = centerline.stations_m, centerline.segments
    for bend in bends:
        if bend.in_fitting:
            groups.append([])
            continue
        start, t1 = _place(segments, stations, bend.station_m, 5e-10)
        end, t2 = _place(segments, stations, bend.end_station_m, -5e-10)
        turned = atan2(norm(cross(t1, t2)), dot(t1, t2))
        corner = meeting_point(start, t1, end, t2) if 1e-6 < turned < pi - 1e-3 else start
        groups[-1].append(PlacedBend(bend, t1, t2, corner, start, end))
    return groups


def _place(
    segments: Sequence[Segment], stations: Sequence[float], station_m: float, inside_m: float
) -> tuple[Vector, Vector]:
    """Point and direction at an end of a bend, as its own arc has them.

    The arc is looked for half a nanometer inside, so that rounding of stations does not matter.
    """
    index = min(bisect_right(stations, station_m + inside_m) - 1, len(segments) - 1)
    segment = segments[index]
    local = station_m - stations[index]
    if abs(local) < 1e-9:
        return segment.start_m, segment.start_tangent
    if abs(local - segment.length_m) < 1e-9:
        return segment.end_m, segment.end_tangent
    return to_vector(segment.points_at([local])[0]), to_vector(segment.tangents_at([local])[0])


def gain_of(placed: PlacedBend) -> float | None:
    """Return the legs up to the corner point less the length of the bend. [m]

    For a circular bend this is R (2 tan(a/2) - a). None where there is no corner: where the legs
    pass each other by more than 1° of the shorter one, and from 5° short of half a turn on.
    """
    bend = placed.bend
    if pi - bend.angle_rad <= NEARLY_BACK_RAD:
        return None
    lengths, misses = [], []
    for way, along in (
        (minus(placed.corner, placed.start), placed.into),
        (minus(placed.end, placed.corner), placed.out),
    ):
        lengths.append(dot(way, along))
        misses.append(norm(minus(way, times(along, lengths[-1]))))
    if sum(misses) > sin(_ALIKE_RAD) * min(lengths):
        return None
    return sum(lengths) - (bend.end_station_m - bend.station_m)


def lies_in_plane(placed: PlacedBend) -> bool:
    """Return whether a bend lies in one plane: its whole turn is that from end to end, within 1°.

    Up to 5° short of half a turn its legs have to meet, too.
    """
    turn = placed.bend.angle_rad % (2.0 * pi)
    direct = atan2(norm(cross(placed.into, placed.out)), dot(placed.into, placed.out))
    if abs(min(turn, 2.0 * pi - turn) - direct) > _ALIKE_RAD:
        return False
    return pi - placed.bend.angle_rad <= NEARLY_BACK_RAD or gain_of(placed) is not None
