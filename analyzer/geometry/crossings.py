"""Places where a centerline comes back to itself, and routes that never leave one elevation."""

from __future__ import annotations

from math import ceil, radians

import numpy as np

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Floats
from analyzer.units import inches

__all__ = ["CROSSING_M", "crossing_places", "is_all_level"]

CROSSING_M = inches(0.5)
"""Two places of a run closer than this cross: less than the smallest raceway is thick. [m]"""

_APART = 6.0
"""Times the distance of a crossing that its two places lie apart along the run at least. Own
choice."""

_FEW_PIECES = 128
"""Pieces up to which every pair is looked at. Own choice."""

_STEP_RAD = radians(15.0)
"""Largest turn of a piece that an arc is cut into. [rad] Own choice."""


def crossing_places(centerline: Centerline) -> tuple[tuple[float, float], ...]:
    """Return pairs of stations where a centerline passes within half an inch of itself. [m]

    Neighboring places, less than six times that apart along the run, do not count. One pair for
    every two segments that cross; a crossing where segments meet, found of each of them, is one.
    A short run compares all pieces at once, a long one sweeps along the longest side of its
    extents.
    """
    points, stations, owner = _pieces(centerline)
    a, b = points[:-1], points[1:]
    low, high = np.minimum(a, b) - CROSSING_M / 2.0, np.maximum(a, b) + CROSSING_M / 2.0
    pairs = _all_pairs(low, high) if len(a) <= _FEW_PIECES else _swept_pairs(low, high)
    found: dict[tuple[int, int], tuple[float, float]] = {}
    for first, second in pairs:
        s, t, gap = _closest(a[first], b[first], a[second], b[second])
        at = stations[first] + s * (stations[first + 1] - stations[first])
        again = stations[second] + t * (stations[second + 1] - stations[second])
        if gap < CROSSING_M and again - at > _APART * CROSSING_M:
            found.setdefault((owner[first], owner[second]), (at, again))
    places: list[tuple[float, float]] = []
    for place in sorted(found.values()):
        if not _is_told(place, places):
            places.append(place)
    return tuple(places)


def _is_told(place: tuple[float, float], places: list[tuple[float, float]]) -> bool:
    """Return whether a crossing within half an inch along the run stands among sorted ones."""
    for at, again in reversed(places):
        if place[0] - at >= CROSSING_M:
            return False
        if abs(place[1] - again) < CROSSING_M:
            return True
    return False


def _all_pairs(low: Floats, high: Floats) -> list[tuple[int, int]]:
    """Pairs of pieces, not neighbors, whose extents meet: every piece against every other."""
    meet = np.all((low[:, None] <= high[None]) & (high[:, None] >= low[None]), axis=2)
    return [(int(i), int(j)) for i, j in np.argwhere(np.triu(meet, 2))]


def _swept_pairs(low: Floats, high: Floats) -> list[tuple[int, int]]:
    """Return the same pairs in the same order by a sweep, for runs of many pieces."""
    side = int(np.argmax(high.max(axis=0) - low.min(axis=0)))
    order = np.argsort(low[:, side], kind="stable")
    sorted_low = low[order, side]
    pairs: list[tuple[int, int]] = []
    for rank, i in enumerate(order):
        stop = int(np.searchsorted(sorted_low, high[i, side], side="right"))
        rivals = order[rank + 1 : stop]
        if not rivals.size:
            continue
        touch = np.all((low[rivals] <= high[i]) & (high[rivals] >= low[i]), axis=1)
        rivals = rivals[touch & (np.abs(rivals - i) > 1)]
        pairs += [(min(int(i), int(j)), max(int(i), int(j))) for j in rivals]
    return sorted(pairs)


def _pieces(centerline: Centerline) -> tuple[Floats, list[float], list[int]]:
    """Vertices of the centerline with arcs in chords of at most 15°, stations, and segments."""
    rows, stations, owner = [np.array([centerline.start_m])], [0.0], []
    for index, (start, segment) in enumerate(
        zip(centerline.stations_m, centerline.segments, strict=False)
    ):
        count = ceil(segment.angle_rad / _STEP_RAD) if isinstance(segment, Arc) else 1
        local = segment.length_m * np.arange(1, count + 1) / count
        rows.append(segment.points_at(local))
        stations += [start + float(value) for value in local]
        owner += [index] * count
    return np.concatenate(rows), stations, owner


def _closest(p: Floats, q: Floats, r: Floats, s: Floats) -> tuple[float, float, float]:
    """Fractions along two line pieces where they are nearest, and how far apart they are."""
    u, v, w = q - p, s - r, p - r
    uu, uv, vv = float(u @ u), float(u @ v), float(v @ v)
    uw, vw = float(u @ w), float(v @ w)
    determinant = uu * vv - uv * uv
    along = 0.0
    if determinant > 1e-12 * uu * vv:
        along = min(max((uv * vw - vv * uw) / determinant, 0.0), 1.0)
    across = (uv * along + vw) / vv if vv > 0.0 else 0.0
    if across < 0.0 or across > 1.0:
        across = min(max(across, 0.0), 1.0)
        along = min(max((uv * across - uw) / uu, 0.0), 1.0) if uu > 0.0 else 0.0
    gap = float(np.linalg.norm(w + along * u - across * v))
    return along, across, gap


def is_all_level(points_m: Floats) -> bool:
    """Return whether all points lie at one elevation, within a tenth of a millimeter.

    Parameters
    ----------
    points_m : (n, 3) float
        Points. [m]
    """
    return bool(np.ptp(points_m[:, 2]) <= 1e-4)
