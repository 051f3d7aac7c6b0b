"""Arcs tangent to the straights beside a run of chords, held against the vertices of the run.

The angle of an arc comes from its straights and its radius from its chords, so nothing makes the
arc pass the vertices between: where the first or the last chord starts short of the tangent point,
it passes them by several grids. The radius of the arc that passes them best then comes from the
vertices themselves: one unknown, for the center lies on the bisector of the two straights.

Assumes a turn clear of zero and of half a turn. Source: elementary circle geometry; Gauss-Newton
steps of least squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sin, tan

import numpy as np

from analyzer.geometry.chords.tangencies import RunEnd
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.segments import Floats, cross, unit

__all__ = ["NO_TANGENT_VERTEX", "fitting_radius_m"]

NO_TANGENT_VERTEX = (
    "no point stands where it meets its straights, as if points were taken along the raceway: if "
    'they were, read_as = "survey" in the job fits them'
)
"""Why an arc whose radius is from its vertices is in doubt."""

_LEAST_RAD, _MOST_RAD = radians(0.5), radians(150.0)
_OFF_GRIDS, _TILT_GRIDS, _EXACT = 1.75, 2.0, 1e-6
"""How far off rounding leaves a vertex and the line of a straight, how much one end of a straight
moves its other one, both in grids; and what is exact, as a share of the radius."""

_STEPS = 12


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
    frame = _frame(start, end, angle_rad)
    if frame is None:
        return radius_m
    for radius in (radius_m, _passing_radius_m(points_m, frame, radius_m)):
        level, up = _arms(points_m, frame, radius)
        off = np.hypot(np.linalg.norm(level, axis=1) - radius, up)
        if float(off.max()) <= _most_off_m(angle_rad, radius, straights_m, rounding_m):
            return radius
    return None


def _most_off_m(
    angle_rad: float, radius_m: float, straights_m: tuple[float, float], rounding_m: float
) -> float:
    """How far rounding may take the vertices of an arc off it as laid. [m]

    Rounding moves a vertex, and each straight at both its ends: where the straight is prolonged
    to the corner, it stands off in proportion.
    """
    reach = radius_m * tan(angle_rad / 2.0)
    tilt = sum(_TILT_GRIDS * reach / straight for straight in straights_m)
    return rounding_m * (_OFF_GRIDS + tilt) + _EXACT * radius_m


def _passing_radius_m(points_m: Floats, frame: _Frame, radius_m: float) -> float:
    """Radius of the arc that passes vertices best, from one first estimated. [m]"""
    radius = radius_m
    for _ in range(_STEPS):
        level, _ = _arms(points_m, frame, radius)
        away = np.linalg.norm(level, axis=1)
        slope = -(level @ frame.toward) / away - 1.0
        step = float(slope @ (away - radius)) / float(slope @ slope)
        radius = min(max(radius - step, 0.5 * radius), 2.0 * radius)
        if abs(step) < 1e-12 * radius:
            break
    return radius


@dataclass(frozen=True, slots=True)
class _Frame:
    """Corner of two straights, axis of the turn, and how the center moves as the radius grows."""

    corner: Floats
    axis: Floats
    toward: Floats


def _frame(start: RunEnd, end: RunEnd, angle_rad: float) -> _Frame | None:
    if not _LEAST_RAD < angle_rad < _MOST_RAD:
        return None
    into, out = start.direction, end.direction
    corner = np.array(meeting_point(start.place_m, into, end.place_m, out))
    toward = (np.array(out) - np.array(into)) / sin(angle_rad)
    return _Frame(corner, np.array(unit(cross(into, out))), toward)


def _arms(points_m: Floats, frame: _Frame, radius_m: float) -> tuple[Floats, Floats]:
    """Vertices from the center in the plane of the arc, and how far they stand off the plane."""
    arms = points_m - (frame.corner + radius_m * frame.toward)
    up = arms @ frame.axis
    return arms - np.outer(up, frame.axis), up
