"""Polygons drawn round the outside of an arc: every edge touches one circle.

Such an edge is R (tan a/2 + tan b/2) long between turns a and b. Separate corners could draw the
same, so whoever calls decides and says so. Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import tan

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.circle_runs import EXACT_RAD, Stretch, bends_on, stretch_of
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.segments import Floats, cross
from analyzer.geometry.vectors import minus, plus, times

__all__ = ["find_outer_polygons"]

_TELLING = 0.1
"""Share of a turn that rounding may make of it where its axis still tells. Own choice."""

_OFF_PLANE = 4.0
"""Roundings that a vertex may stand off the plane of the others."""


def find_outer_polygons(
    points_m: Floats, rounding_m: float, vertices: Sequence[int], least: int = 3
) -> tuple[ChordRun, ...]:
    """Return runs of vertices whose edges all touch one circle from outside.

    They could as well be separate corners: whoever calls decides, and says so.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, repeats and vertices on straights dropped. [m]
    rounding_m : float
        Rounding of the coordinates. [m]
    vertices : sequence of int
        Vertices that may take part, rising; neighbors in the sequence and in the polyline.
    least : int
        Fewest vertices of a run.
    """
    stretch = stretch_of(points_m, rounding_m, (), None, None)
    allowed = set(vertices)
    found: list[ChordRun] = []
    vertex = 1
    n = len(stretch.rows) - 1
    while vertex < n:
        last = _outer_end(stretch, vertex, allowed)
        if last - vertex + 1 >= least and _is_flat(stretch, vertex, last):
            found.append(_outer_run(stretch, vertex, last))
            vertex = last + 1
        else:
            vertex += 1
    return tuple(found)


def _outer_radius(stretch: Stretch, edge: int) -> float:
    a, b = stretch.turn_rad[edge], stretch.turn_rad[edge + 1]
    return stretch.legs[edge] / (tan(a / 2.0) + tan(b / 2.0))


def _outer_end(stretch: Stretch, first: int, allowed: set[int]) -> int:
    """Last vertex of the polygon that starts at a vertex."""
    last = first
    radius = 0.0
    n = len(stretch.rows) - 1
    while last in allowed and last + 1 in allowed and last + 1 < n:
        if not (bends_on(stretch, last) and bends_on(stretch, last + 1)):
            break
        leg = stretch.legs[last]
        shaky = EXACT_RAD + 9.0 * stretch.rounding_m / leg
        small = min(stretch.turn_rad[last], stretch.turn_rad[last + 1])
        if shaky > _TELLING * small:
            break
        if angle_between(stretch.axis[last], stretch.axis[last + 1]) > shaky / small:
            break
        here = _outer_radius(stretch, last)
        if last > first and abs(here - radius) > radius * 2.0 * shaky / small:
            break
        radius = here if last == first else radius
        last += 1
    return last


def _is_flat(stretch: Stretch, first: int, last: int) -> bool:
    """Whether vertices keep to one plane as well as their rounding lets them."""
    rows = np.array(stretch.rows[first : last + 1])
    local = rows - rows.mean(axis=0)
    normal = np.linalg.svd(local, full_matrices=False)[2][2]
    return bool(np.abs(local @ normal).max() <= _OFF_PLANE * stretch.rounding_m + EXACT_RAD)


def _outer_run(stretch: Stretch, first: int, last: int) -> ChordRun:
    inner = range(first, last)
    spread = sum(stretch.turn_rad[e] + stretch.turn_rad[e + 1] for e in inner)
    radius = (
        sum(
            _outer_radius(stretch, e) * (stretch.turn_rad[e] + stretch.turn_rad[e + 1])
            for e in inner
        )
        / spread
    )
    axis = stretch.axis[first]
    angle = sum(stretch.turn_rad[first : last + 1])
    direction, after = stretch.directions[first - 1], stretch.directions[last]
    reach = radius * tan(stretch.turn_rad[first] / 2.0)
    touch = minus(stretch.rows[first], times(direction, reach))
    center = plus(touch, cross(axis, direction), radius)
    return ChordRun(
        first,
        last,
        RunEnd(stretch.rows[first], direction, Tangency.STRAIGHT),
        RunEnd(stretch.rows[last], after, Tangency.STRAIGHT),
        angle,
        radius,
        axis,
        center,
        last - first + 1,
        "its edges touch one circle from outside, so it could be separate corners",
        outside=True,
    )
