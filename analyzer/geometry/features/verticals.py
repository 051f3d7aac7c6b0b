"""Vertical drops and rises: where a run stands within 1° of the vertical, with elevations.

A vertical part is a straight, the place where a bend passes through the vertical, or both joined.
It counts with the bends at its ends, each up to where it is level, so that its elevations are
those of the level parts beside it. A corner in a fitting ends it there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import acos, atan2, cos, hypot, pi, radians

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.features.feature import Feature
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Arc, Segment, Straight

__all__ = ["find_verticals"]

_UPRIGHT = cos(radians(1.0))
"""Cosine to the vertical from which a way is vertical: within 1°, as everywhere."""

_SAME_PLACE_M = 1e-6
"""Stations closer than this are one. [m] Own choice."""


@dataclass(slots=True)
class _Upright:
    """A stretch within 1° of the vertical, and what of it is straight."""

    low_m: float
    high_m: float
    falling: bool
    straight_m: float


def find_verticals(bends: Sequence[Bend], centerline: Centerline) -> list[Feature]:
    """Return every vertical drop and rise of a run, forward.

    Parameters
    ----------
    bends : sequence of Bend
        All bends of the run, in order.
    centerline : Centerline
        The run they belong to.

    Notes
    -----
    Figures: ``top_elevation_m bottom_elevation_m rise_m straight_m``, the last zero where bends
    follow each other at once.
    """
    corners = [bend.station_m for bend in bends if bend.in_fitting]
    arcs = [bend for bend in bends if not bend.in_fitting]
    levels = _level_stations(centerline)
    return [_vertical(part, arcs, corners, levels, centerline) for part in _uprights(centerline)]


def _vertical(
    part: _Upright,
    arcs: Sequence[Bend],
    corners: Sequence[float],
    levels: Sequence[float],
    centerline: Centerline,
) -> Feature:
    low, high = part.low_m, part.high_m
    # past a corner in a fitting a bend is no longer part of it
    after = low + (_SAME_PLACE_M if _is_among(low, corners) else -_SAME_PLACE_M)
    before = high - (_SAME_PLACE_M if _is_among(high, corners) else -_SAME_PLACE_M)
    own = [b for b in arcs if b.end_station_m > after and b.station_m < before]
    if own:
        if own[0].station_m < low:
            low = max(own[0].station_m, *(s for s in levels if s <= low), 0.0)
        if own[-1].end_station_m > high:
            last = own[-1].end_station_m
            high = min(last, *(s for s in levels if s >= high), last)
    start, end = (float(z) for z in centerline.points_at([low, high])[:, 2])
    figures = (
        ("top_elevation_m", max(start, end)),
        ("bottom_elevation_m", min(start, end)),
        ("rise_m", end - start),
        ("straight_m", part.straight_m),
    )
    kind = "vertical drop" if part.falling else "vertical rise"
    return Feature(kind, tuple(bend.number for bend in own), low, high, figures)


def _is_among(station: float, places: Sequence[float]) -> bool:
    return any(abs(place - station) <= _SAME_PLACE_M for place in places)


def _uprights(centerline: Centerline) -> list[_Upright]:
    found: list[_Upright] = []
    joints = pairwise(centerline.stations_m)
    for segment, (station, _) in zip(centerline.segments, joints, strict=True):
        for low, high, falling in _upright_parts(segment):
            straight = high - low if isinstance(segment, Straight) else 0.0
            last = found[-1] if found else None
            joined = last is not None and station + low - last.high_m <= _SAME_PLACE_M
            if last is not None and joined and last.falling == falling:
                last.high_m = station + high
                last.straight_m += straight
            else:
                found.append(_Upright(station + low, station + high, falling, straight))
    return found


def _upright_parts(segment: Segment) -> list[tuple[float, float, bool]]:
    """Parts of a segment within 1° of the vertical: from, to, and whether it falls."""
    if isinstance(segment, Straight):
        slope = segment.start_tangent[2]
        return [(0.0, segment.length_m, slope < 0.0)] if abs(slope) >= _UPRIGHT else []
    steepest, at = _steepest(segment)
    if steepest < _UPRIGHT:
        return []
    half = acos(_UPRIGHT / steepest)
    parts = []
    for turns in (-1, 0, 1, 2):
        middle = at + turns * pi
        low, high = max(middle - half, 0.0), min(middle + half, segment.angle_rad)
        if high > low:
            radius = segment.radius_m
            parts.append((low * radius, high * radius, turns % 2 == 1))
    return parts


def _level_stations(centerline: Centerline) -> list[float]:
    """Stations in arcs that stand upright somewhere in their circle, where the run is level."""

    def found() -> Iterator[float]:
        joints = pairwise(centerline.stations_m)
        for segment, (station, _) in zip(centerline.segments, joints, strict=True):
            if not isinstance(segment, Arc):
                continue
            steepest, at = _steepest(segment)
            for turns in (-1.5, -0.5, 0.5, 1.5):
                angle = at + turns * pi
                if steepest >= _UPRIGHT and 0.0 <= angle <= segment.angle_rad:
                    yield station + angle * segment.radius_m

    return list(found())


def _steepest(arc: Arc) -> tuple[float, float]:
    """Greatest slope on the circle of an arc, and the angle from its start where it rises so."""
    along, inward = arc.start_tangent[2], arc.start_normal[2]
    return hypot(along, inward), atan2(inward, along)
