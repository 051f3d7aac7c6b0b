"""The arc between two straights, tangent to both, and how far vertices lie off it.

Its center lies on the bisector of the straights, so that only the radius is open. Rounding moves a
vertex, and each straight at both its ends: where a straight is prolonged to the corner, it stands
off in proportion.

Assumes a turn clear of zero and of half a turn. Source: elementary circle geometry.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sin, tan

import numpy as np

from analyzer.geometry.corners import meeting_point
from analyzer.geometry.segments import Floats, Vector, cross, unit

__all__ = ["TangentArc", "off_circle", "rounded_off", "tangent_arc"]

_OFF_GRIDS, _TILT_GRIDS = 1.75, 2.0
"""How far off rounding leaves a vertex and the line of a straight, and how much one end of a
straight moves its other one, both in grids."""


@dataclass(frozen=True, slots=True)
class TangentArc:
    """The arcs of all radii between two straights.

    Attributes
    ----------
    corner_m : (3,) float
        Where the straights meet. [m]
    axis : (3,) float
        Unit axis of the turn.
    toward : (3,) float
        How far the center moves as the radius grows.
    """

    corner_m: Floats
    axis: Floats
    toward: Floats

    def center_m(self, radius_m: float) -> Floats:
        """Return the center of the arc of a radius. [m]"""
        center: Floats = self.corner_m + radius_m * self.toward
        return center

    def off_m(self, points_m: Floats, radius_m: float) -> Floats:
        """Return how far vertices lie off the circle of a radius, shape (n,). [m]"""
        return off_circle(points_m, self.center_m(radius_m), self.axis, radius_m)


def tangent_arc(
    start_m: Vector, into: Vector, end_m: Vector, out: Vector, angle_rad: float
) -> TangentArc:
    """Return the arcs between two straights.

    Parameters
    ----------
    start_m, end_m : (3,) float
        A place on each straight. [m]
    into, out : (3,) float
        Unit directions of travel along them.
    angle_rad : float
        Turn from one to the other. [rad]
    """
    corner = np.array(meeting_point(start_m, into, end_m, out))
    toward = (np.array(out) - np.array(into)) / sin(angle_rad)
    return TangentArc(corner, np.array(unit(cross(into, out))), toward)


def off_circle(points_m: Floats, center_m: Floats, axis: Floats, radius_m: float) -> Floats:
    """Return how far points lie off a circle, shape (n,). [m]

    Parameters
    ----------
    points_m : (n, 3) float
        The points. [m]
    center_m, axis : (3,) float
        Center of the circle [m] and unit normal of its plane.
    radius_m : float
        Its radius. [m]
    """
    arms = points_m - center_m
    up = arms @ axis
    level = np.linalg.norm(arms - np.outer(up, axis), axis=1)
    return np.asarray(np.hypot(level - radius_m, up))


def rounded_off(
    angle_rad: float, radius_m: float, straights_m: tuple[float, float], rounding_m: float
) -> float:
    """Return how far rounding may take the vertices of an arc off it as laid. [m]

    Parameters
    ----------
    angle_rad, radius_m : float
        Turn and radius. [rad] [m]
    straights_m : (float, float)
        Lengths that tell the directions of the straights. [m]
    rounding_m : float
        Rounding of the coordinates. [m]
    """
    reach = radius_m * tan(angle_rad / 2.0)
    tilt = sum(_TILT_GRIDS * reach / straight for straight in straights_m)
    return rounding_m * (_OFF_GRIDS + tilt)
