"""Raw points of a polyline made ready for reading: repeats, vertices on a straight.

Assumes points in order of travel.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import pairwise
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats

__all__ = [
    "IN_LINE_ROUNDINGS",
    "MOST_OFF_ROUNDINGS",
    "REPEAT_M",
    "are_negligible",
    "cross_rows",
    "distances_to_line",
    "drop_straight_vertices",
    "leg_lengths",
    "offsets_from_neighbors",
    "turns",
    "vertices_off_line",
]

REPEAT_M = 1e-6
"""Points closer than this are one point. [m]"""

IN_LINE_ROUNDINGS = 2.0
"""A vertex this near to the line of its neighbors, in roundings, may be one of a straight: what
rounding makes at most, and a little more."""

MOST_OFF_ROUNDINGS = sqrt(3.0)
"""Most that rounding moves a vertex of a straight off the line through two others, in roundings:
half of one in each coordinate, of the vertex and of the line. Elementary geometry."""

_DRIFT_ROUNDINGS = 4.0
"""Roundings off a straight from which one of its vertices is kept. Own choice."""

_STRAIGHT_TURN_RAD = 1e-4
"""Turn below which a vertex that hardly stands off is no bend. [rad] Own choice."""

_STRAIGHT_OFFSET_M = 1e-4
"""How far off the line of its neighbors such a vertex may stand. [m] Own choice."""


def leg_lengths(points_m: Floats) -> Floats:
    """Return the lengths between neighboring points, shape (n - 1,). [m]"""
    return np.asarray(np.linalg.norm(np.diff(points_m, axis=0), axis=1))


def distances_to_line(points_m: Floats, start_m: Floats, end_m: Floats) -> Floats:
    """Return how far points lie from the line through two places, shape (n,). [m]"""
    along = end_m - start_m
    along = along / np.linalg.norm(along)
    arms = points_m - start_m
    return np.asarray(np.linalg.norm(arms - np.outer(arms @ along, along), axis=1))


def turns(points_m: Floats) -> tuple[Floats, Floats]:
    """Return the turn at each inner vertex and the unit axis it turns about.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different. [m]

    Returns
    -------
    turn_rad : (n - 2,) float
        From 0 to pi. [rad]
    axis : (n - 2, 3) float
        Zero where nothing turns.
    """
    legs = np.diff(points_m, axis=0)
    legs = legs / np.linalg.norm(legs, axis=1)[:, None]
    normal = cross_rows(legs[:-1], legs[1:])
    sine = np.linalg.norm(normal, axis=1)
    cosine = np.einsum("ij,ij->i", legs[:-1], legs[1:])
    axis = normal / np.where(sine > 0.0, sine, 1.0)[:, None]
    return np.arctan2(sine, cosine), axis


def offsets_from_neighbors(points_m: Floats, turn_rad: Floats) -> Floats:
    """Return how far each inner vertex stands off the line through its two neighbors. [m]

    Exact for slight turns; larger ones are said to stand off farther than they do.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different. [m]
    turn_rad : (n - 2,) float
        Their turns, from `turns`. [rad]
    """
    legs = leg_lengths(points_m)
    offsets: Floats = turn_rad * legs[:-1] * legs[1:] / (legs[:-1] + legs[1:])
    return offsets


def are_negligible(turn_rad: Floats, offset_m: Floats) -> NDArray[np.bool_]:
    """Tell the vertices that turn, and stand off the line of their neighbors, by next to nothing.

    They belong to a straight however exact the coordinates are.

    Parameters
    ----------
    turn_rad, offset_m : (n,) float
        From `turns` and `offsets_from_neighbors`. [rad] [m]
    """
    slight: NDArray[np.bool_] = (turn_rad < _STRAIGHT_TURN_RAD) & (offset_m < _STRAIGHT_OFFSET_M)
    return slight


def cross_rows(a: Floats, b: Floats) -> Floats:
    """Vector products row by row: what `numpy.cross` gives, without its cost on few rows."""
    return np.stack(
        (
            a[:, 1] * b[:, 2] - a[:, 2] * b[:, 1],
            a[:, 2] * b[:, 0] - a[:, 0] * b[:, 2],
            a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0],
        ),
        axis=1,
    )


def drop_straight_vertices(
    points_m: Floats, rounding_m: float, locked: Collection[int] = ()
) -> list[int]:
    """Return the indices of vertices left once those on a straight are dropped.

    A vertex between two turning ones stays even where it turns nothing: two reverse arcs that
    touch have no turn at the tangent point they share. What is dropped may still stand off by up
    to four roundings, so that chords as fine as the rounding leave no odd few of their vertices;
    `vertices_off_line` tells those that rounding does not explain.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different. [m]
    rounding_m : float
        Rounding of the coordinates. [m]
    locked : collection of int
        Vertices that stay whatever they turn.
    """
    n = len(points_m)
    if n < 3:
        return list(range(n))
    turn, _ = turns(points_m)
    offset = offsets_from_neighbors(points_m, turn)
    rounded = offset < IN_LINE_ROUNDINGS * rounding_m
    flat = (turn < np.pi / 4) & (rounded | are_negligible(turn, offset))
    straight = np.concatenate([[False], flat, [False]])
    turning = ~straight
    straight[list(locked)] = False
    lone = straight[1:-1] & turning[:-2] & turning[2:]
    lone[0] = lone[-1] = False
    straight[1:-1] &= ~lone
    kept = np.flatnonzero(~straight)
    bound = max(_DRIFT_ROUNDINGS * rounding_m, 2.0 * _STRAIGHT_OFFSET_M)
    left: list[int] = [int(kept[0])]
    for start, end in pairwise(kept):
        left.extend(_bulging(points_m, int(start), int(end), bound))
        left.append(int(end))
    return left


def vertices_off_line(points_m: Floats, start: int, end: int, rounding_m: float) -> list[int]:
    """Return vertices between two that stand off the straight there by more than rounding explains.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different. [m]
    start, end : int
        The two vertices.
    rounding_m : float
        Rounding of the coordinates. [m]
    """
    bound = max(MOST_OFF_ROUNDINGS * rounding_m, 2.0 * _STRAIGHT_OFFSET_M)
    return _bulging(points_m, start, end, bound)


def _bulging(points_m: Floats, start: int, end: int, bound_m: float) -> list[int]:
    """Vertices between two that a straight between them would miss: slow drift is no straight."""
    stack, found = [(start, end)], []
    while stack:
        low, high = stack.pop()
        if high - low < 2:
            continue
        away = distances_to_line(points_m[low + 1 : high], points_m[low], points_m[high])
        worst = int(np.argmax(away))
        if away[worst] > bound_m:
            middle = low + 1 + worst
            found.append(middle)
            stack += [(low, middle), (middle, high)]
    return sorted(found)
