"""Which points of a drawn path were measured, and which were drawn.

Measured points are dense, with small turns that no corner or arc explains. A path may hold both: a
designed part with long straights, then points along what was built.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians

import numpy as np

from analyzer.geometry.polyline import turns
from analyzer.geometry.segments import Floats

__all__ = ["SurveyedPart", "has_lone_vertex", "looks_fine", "looks_surveyed", "surveyed_parts"]

_COARSEST_MEASURED_M = 0.02
_FEWEST_SURVEY_POINTS = 12
_FEWEST_ODD = 4
_ODD_SHARE = 0.05
_LIKE_LEGS = 4.0
_LONG_LEGS = 8.0
_SMALL_TURN_RAD = radians(15.0)
_LARGE_TURN_RAD = radians(60.0)


@dataclass(frozen=True, slots=True)
class SurveyedPart:
    """Vertices of a stretch that look measured, while others were drawn.

    Attributes
    ----------
    first, last : int
        Its vertices, both included; they may be drawn ones.
    rounding_m : float
        Grid of its points where that is all that they are off by, otherwise 0. [m]
    """

    first: int
    last: int
    rounding_m: float


def looks_surveyed(points_m: Floats, corners: Sequence[int], rounding_m: float) -> bool:
    """Return whether points look measured: dense, with small turns that nothing explains.

    Dense: half the length or more in legs of like size, so that straights hold points too. The
    turns are all different, or too fine for the grid of the coordinates; a designer repeats few
    angles.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    rounding_m : float
        Grid of the coordinates. [m]
    """
    n = len(points_m)
    if n < _FEWEST_SURVEY_POINTS or len(corners) < max(_FEWEST_ODD, _ODD_SHARE * n):
        return False
    legs = np.linalg.norm(np.diff(points_m, axis=0), axis=1)
    if legs[legs <= _LIKE_LEGS * np.median(legs)].sum() < 0.5 * legs.sum():
        return False
    turn, _ = turns(points_m)
    marks = np.asarray(corners)
    left = turn[marks - 1]
    # where two points happen to stand close together, noise turns the way by any angle
    apart = np.minimum(legs[marks - 1], legs[marks]) > np.median(legs) / _LIKE_LEGS
    far = left[apart] if apart.sum() >= _FEWEST_ODD else left
    if np.median(far) > _SMALL_TURN_RAD or np.quantile(far, 0.9) > _LARGE_TURN_RAD:
        return False
    if rounding_m <= _COARSEST_MEASURED_M and looks_fine(points_m, corners, rounding_m):
        return True
    return bool(
        len(corners) >= _FEWEST_SURVEY_POINTS and np.mean(np.diff(np.sort(left)) > 1e-7) > 0.8
    )


def looks_fine(points_m: Floats, corners: Sequence[int], rounding_m: float) -> bool:
    """Return whether the turns at corners are mostly too small for the grid of the coordinates.

    Chord times half its turn is then below four times the grid: rounding alone makes such turns.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    rounding_m : float
        Grid of the coordinates. [m]
    """
    marks = np.asarray(corners)
    legs = np.linalg.norm(np.diff(points_m, axis=0), axis=1)
    turn, _ = turns(points_m)
    short = np.minimum(legs[marks - 1], legs[marks])
    return bool(np.median(short * turn[marks - 1] / 2.0) < 4.0 * rounding_m)


def has_lone_vertex(points_m: Floats, corners: Sequence[int]) -> bool:
    """Return whether a vertex stands alone, far from the dense points that make up the rest.

    Two long legs meet there, or one begins or ends the stretch: it was drawn, not measured.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    """
    dense = _dense_legs(points_m, np.asarray(corners, dtype=np.int64))
    if dense is None:
        return False
    beside = np.concatenate(([False], dense)) | np.concatenate((dense, [False]))
    return not bool(beside.all())


def surveyed_parts(
    points_m: Floats, corners: Sequence[int], rounding_m: float
) -> tuple[SurveyedPart, ...]:
    """Return the parts of a stretch whose points look measured, in order, never overlapping.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    rounding_m : float
        Grid of the coordinates. [m]
    """
    found: list[SurveyedPart] = []
    left = np.asarray(corners, dtype=np.int64)
    while (dense := _dense_legs(points_m, left)) is not None:
        more = [
            part
            for first, last in _stretches_of(dense)
            if (part := _part(points_m, left, first, last, rounding_m)) is not None
            and not any(part.first < one.last and one.first < part.last for one in found)
        ]
        if not more:
            break
        found += more
        for part in more:
            left = left[(left <= part.first) | (left >= part.last)]
    return tuple(sorted(found, key=lambda part: part.first))


def _dense_legs(points_m: Floats, corners: np.ndarray) -> np.ndarray | None:
    """Tell the legs that are like those between corners in a row; None where these are few."""
    between = corners[:-1][np.diff(corners) == 1]
    if between.size < _FEWEST_ODD:
        return None
    legs = np.linalg.norm(np.diff(points_m, axis=0), axis=1)
    dense: np.ndarray = legs <= _LONG_LEGS * np.median(legs[between])
    return dense


def _stretches_of(dense: np.ndarray) -> list[tuple[int, int]]:
    """First and last vertex of each stretch of legs in a row that are dense."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], dense, [False])).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _part(
    points_m: Floats, corners: np.ndarray, first: int, last: int, rounding_m: float
) -> SurveyedPart | None:
    inside = [int(v) - first for v in corners[(corners > first) & (corners < last)]]
    rows = points_m[first : last + 1]
    if not looks_surveyed(rows, inside, rounding_m):
        return None
    return SurveyedPart(first, last, rounding_m if looks_fine(rows, inside, rounding_m) else 0.0)
