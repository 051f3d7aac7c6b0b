"""Arcs tangent to the straights beside a run of chords, held against the vertices of the run.

The angle of an arc comes from its straights and its radius from its chords, so nothing makes the
arc pass the vertices between: where the first or the last chord starts short of the tangent point,
it passes them by several grids. The radius of the arc that passes them best then comes from the
vertices themselves: one unknown, for the center lies on the bisector of the two straights.

Assumes a turn clear of zero and of half a turn. Source: elementary circle geometry; Gauss-Newton
steps of least squares.
"""

from __future__ import annotations

from math import radians

import numpy as np

from analyzer.geometry.chords.tangencies import RunEnd
from analyzer.geometry.chords.tangent_arcs import TangentArc, rounded_off, tangent_arc
from analyzer.geometry.segments import Floats

__all__ = ["NO_TANGENT_VERTEX", "fitting_radius_m"]

NO_TANGENT_VERTEX = (
    "no point stands where it meets its straights, as if points were taken along the raceway: if "
    'they were, read_as = "survey" in the job fits them'
)
"""Why an arc whose radius is from its vertices is in doubt."""

_LEAST_RAD, _MOST_RAD = radians(0.5), radians(150.0)
"""Least and largest turn of an arc whose radius is taken from its vertices. [rad] Own choice."""

_EXACT = 1e-6
"""How far off a vertex that is exact may lie, as a share of the radius."""

_STEPS = 12
"""Steps of least squares at most. Own choice."""


def fitting_radius_m(
    points_m: Floats,
    start: RunEnd,
    end: RunEnd,
    angle_rad: float,
    radius_m: float,
    straights_m: tuple[float, float],
    rounding_m: float,
) -> float | None:
    """Return the radius of the arc between two straights that passes vertices within rounding. [m]

    The radius given where that does, the one that passes them best where only that does, and None
    where none does. Beyond the turns that one corner can hold, the radius given.

    Parameters
    ----------
    points_m : (n, 3) float
        The vertices. [m]
    start, end : RunEnd
        The straights.
    angle_rad, radius_m : float
        Turn from one to the other, and radius as the chords tell it. [rad] [m]
    straights_m : (float, float)
        Lengths that tell the directions of the straights. [m]
    rounding_m : float
        Rounding of the coordinates. [m]
    """
    if not _LEAST_RAD < angle_rad < _MOST_RAD:
        return radius_m
    arc = tangent_arc(start.place_m, start.direction, end.place_m, end.direction, angle_rad)

    def passes(radius: float) -> bool:
        most = rounded_off(angle_rad, radius, straights_m, rounding_m) + _EXACT * radius
        return float(arc.off_m(points_m, radius).max()) <= most

    if passes(radius_m):
        return radius_m
    radius = _passing_radius_m(points_m, arc, radius_m)
    return radius if passes(radius) else None


def _passing_radius_m(points_m: Floats, arc: TangentArc, radius_m: float) -> float:
    """Radius of the arc that passes vertices best, from one first estimated. [m]"""
    radius = radius_m
    for _ in range(_STEPS):
        arms = points_m - arc.center_m(radius)
        level = arms - np.outer(arms @ arc.axis, arc.axis)
        away = np.linalg.norm(level, axis=1)
        slope = -(level @ arc.toward) / away - 1.0
        step = float(slope @ (away - radius)) / float(slope @ slope)
        radius = min(max(radius - step, 0.5 * radius), 2.0 * radius)
        if abs(step) < 1e-12 * radius:
            break
    return radius
