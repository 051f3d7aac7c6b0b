"""Kinks that a coarse grid makes of a straight with vertices, as at the joints of equal sticks.

Rounding moves every vertex by half a grid at most in each coordinate, so a vertex of a straight
stands off the line between two others by no more than sqrt(3) grids. One that does, and turns less
than anybody bends, is no bend, provided that one line passes all vertices from one real corner to
the next within half a grid, or two lines do that meet at a vertex, or three that jog: a jog of some
grids was meant, and several slight turns one way are a gentle curve.

Assumes vertices in order, repeats dropped. Cost is near linear in vertices.
Source: elementary geometry: the line of least greatest error is parallel to a side of the convex
hull. The least turn that is bent on purpose is common practice.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import pairwise
from math import radians

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.corners import LEAST_BEND_RAD
from analyzer.geometry.polyline import (
    MOST_OFF_ROUNDINGS,
    distances_to_line,
    offsets_from_neighbors,
    turns,
)
from analyzer.geometry.segments import Floats

__all__ = ["end_straights", "explained_by_grid", "grid_kinks", "share_of_rounding"]

_MOST_RAD = (LEAST_BEND_RAD, radians(0.5))
"""Turns that a grid may have made: first all that are less than anybody bends, and where these do
not stand in line, those so slight that nothing else makes them."""

_ALIGNED, _SLACK = 1e-3, 1e-6
"""Grids that coordinates may be off the lines of the grid; half grids for their last digits."""

_BESIDE = 2
"""Vertices on either side of the farthest one that may be the only real corner among them."""


def explained_by_grid(points_m: Floats, grid_m: float) -> NDArray[np.bool_]:
    """Tell the inner vertices that rounding alone may have moved off the line of their neighbors.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different, three or more. [m]
    grid_m : float
        Grid of the coordinates. [m]

    Returns
    -------
    (n - 2,) bool
    """
    turn, _ = turns(points_m)
    offset = offsets_from_neighbors(points_m, turn)
    explained: NDArray[np.bool_] = (offset <= MOST_OFF_ROUNDINGS * grid_m) & (turn < np.pi / 4.0)
    return explained


def grid_kinks(points_m: Floats, grid_m: float, locked: Collection[int] = ()) -> frozenset[int]:
    """Return the vertices of straights that a coarse grid alone made turn.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different. [m]
    grid_m : float
        Grid of the coordinates. [m]
    locked : collection of int
        Vertices that stay whatever they turn.
    """
    if len(points_m) < 3:
        return frozenset()
    turn = np.concatenate(([np.inf], turns(points_m)[0], [np.inf]))
    turn[1:-1][~explained_by_grid(points_m, grid_m)] = np.inf
    turn[list(locked)] = np.inf
    return frozenset(_kinks_between(points_m, grid_m, turn, 0, len(points_m) - 1, _MOST_RAD))


def end_straights(points_m: Floats, grid_m: float, locked: Collection[int] = ()) -> tuple[int, int]:
    """Return the vertices where the first straight of a stretch ends and the last one starts.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different, two or more. [m]
    grid_m : float
        Grid of the coordinates. [m]
    locked : collection of int
        Vertices that stay whatever they turn.
    """
    kinks = grid_kinks(points_m, grid_m, locked)
    stay = [vertex for vertex in range(1, len(points_m)) if vertex not in kinks]
    return stay[0], (stay[-2] if len(stay) > 1 else 0)


def _kinks_between(
    points_m: Floats, grid_m: float, turn: Floats, first: int, last: int, most: tuple[float, ...]
) -> set[int]:
    """Return the kinks between two vertices, with the largest turn that fits them in line."""
    if not most:
        return set()
    found: set[int] = set()
    fixed = [v for v in range(first, last + 1) if v in (first, last) or turn[v] > most[0]]
    for before, after in pairwise(fixed):
        if after - before < 2:
            continue
        stays = _left_over(points_m, before, after, grid_m)
        if stays is None:
            found |= _kinks_between(points_m, grid_m, turn, before, after, most[1:])
        else:
            found |= set(range(before + 1, after)) - stays
    return found


def _left_over(points_m: Floats, first: int, last: int, grid_m: float) -> set[int] | None:
    """Return the vertices between two that have to stay for the others to stand in line, if any.

    Empty where all stand in one line, None where neither one corner nor two, a jog, are enough.
    """
    if _in_one_line(points_m[first : last + 1], grid_m):
        return set()
    away = distances_to_line(points_m[first + 1 : last], points_m[first], points_m[last])
    worst = first + 1 + int(np.argmax(away))
    beside = range(max(worst - _BESIDE, first + 1), min(worst + _BESIDE, last - 1) + 1)
    for vertex in sorted(beside, key=lambda one: -away[one - first - 1]):
        if _in_one_line(points_m[first : vertex + 1], grid_m) and _in_one_line(
            points_m[vertex : last + 1], grid_m
        ):
            return {vertex}
    return _jog(points_m, first, last, grid_m)


def _jog(points_m: Floats, first: int, last: int, grid_m: float) -> set[int] | None:
    """Return the two corners of a jog between vertices that leave the best three straights, if any.

    They turn opposite ways: two that turn one way are no jog, but as few as the vertices of a
    gentle curve come down to.
    """
    part = points_m[first : last + 1]
    start = _most_in_line(part, grid_m)
    stop = len(part) - 1 - _most_in_line(part[::-1], grid_m)
    best = 1.0 + _SLACK
    found: tuple[int, int] | None = None
    for a in range(max(start - _BESIDE, 1), start + 1):
        for b in range(max(stop, a + 1), min(stop + _BESIDE, len(part) - 2) + 1):
            pieces = part[: a + 1], part[a : b + 1], part[b:]
            share = max(share_of_rounding(piece, grid_m) for piece in pieces)
            if share <= best:
                best, found = share, (first + a, first + b)
    if found is None or _turn_one_way(points_m[[first, *found, last]]):
        return None
    return set(found)


def _turn_one_way(points_m: Floats) -> bool:
    """Whether the two inner ones of four points turn the same way."""
    _, axes = turns(points_m)
    return bool(axes[0] @ axes[1] > 0.0)


def _most_in_line(points_m: Floats, grid_m: float) -> int:
    """Return the last vertex up to which all from the first on stand in one line."""
    low, high = 1, len(points_m) - 1
    while low < high:
        middle = (low + high + 1) // 2
        if _in_one_line(points_m[: middle + 1], grid_m):
            low = middle
        else:
            high = middle - 1
    return low


def _in_one_line(points_m: Floats, grid_m: float) -> bool:
    """Whether rounding alone may have moved points off one line."""
    return share_of_rounding(points_m, grid_m) <= 1.0 + _SLACK


def share_of_rounding(points_m: Floats, grid_m: float) -> float:
    """Return how far the best line passes points, as a part of what rounding explains.

    Rounding moves them by half a grid in each coordinate; in any direction where the grid was
    turned since.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different, two or more. [m]
    grid_m : float
        Grid of the coordinates. [m]
    """
    if len(points_m) < 3:
        return 0.0
    grids = (points_m - points_m[0]) / grid_m
    is_aligned = bool(np.abs(grids - np.round(grids)).max() <= _ALIGNED)
    half = 0.5 if is_aligned else MOST_OFF_ROUNDINGS / 2.0
    main = int(np.argmax(np.abs(grids[-1])))
    share = 0.0
    for axis in range(3):
        if axis != main:
            error, slope = _least_error(grids[:, main], grids[:, axis])
            share = max(share, error / (half * (1.0 + abs(slope))))
    return share


def _least_error(x: Floats, y: Floats) -> tuple[float, float]:
    """Return the least greatest error of a line through points, and its slope."""
    order = np.lexsort((y, x))
    x, y = x[order], y[order]
    best = (float("inf"), 0.0)
    for sign in (1.0, -1.0):
        hull: list[int] = []
        for k in range(len(x)):
            while len(hull) > 1 and _is_below(x, sign * y, hull[-2], hull[-1], k):
                hull.pop()
            hull.append(k)
        for a, b in pairwise(hull):
            if x[b] > x[a]:
                slope = float((y[b] - y[a]) / (x[b] - x[a]))
                best = min(best, (float(np.ptp(y - slope * x)) / 2.0, slope))
    return best


def _is_below(x: Floats, y: Floats, a: int, b: int, c: int) -> bool:
    """Whether the middle one of three points, left to right, is no corner of the lower hull."""
    return bool((x[b] - x[a]) * (y[c] - y[a]) <= (y[b] - y[a]) * (x[c] - x[a]))
