"""How bends lie in space: attitude, and rotation from the bend before.

All traveling forward. Source of the definitions: the analysis file's own contract.
"""

from __future__ import annotations

from math import atan2, cos, pi, radians, sin

from analyzer.geometry.readings import Attitude
from analyzer.geometry.segments import Vector, cross, dot

__all__ = ["attitude_of", "rotation_between"]

_WITHIN_RAD = radians(1.0)
_LEVEL_TANGENT = 1e-6
_HALF_TURN_RAD = 1e-6


def attitude_of(
    axis: Vector, start_tangent: Vector, end_tangent: Vector, rise_m: float
) -> Attitude:
    """Return how a bend lies.

    Parameters
    ----------
    axis : (3,) float
        Unit normal of its plane.
    start_tangent, end_tangent : (3,) float
        Unit directions of travel at its ends.
    rise_m : float
        Height gained from its start to its end; for a sharp corner any number with the sign of
        the rise of its two directions together. [m]
    """
    if abs(axis[2]) >= cos(_WITHIN_RAD):
        return Attitude.LEVEL
    if abs(axis[2]) > sin(_WITHIN_RAD):
        return Attitude.TILTED
    entering, leaving = start_tangent[2], end_tangent[2]
    if entering > _LEVEL_TANGENT and leaving < -_LEVEL_TANGENT:
        return Attitude.CREST
    if entering < -_LEVEL_TANGENT and leaving > _LEVEL_TANGENT:
        return Attitude.SAG
    return Attitude.RISING if rise_m > 0.0 else Attitude.FALLING


def rotation_between(axis_before: Vector, axis: Vector, tangent: Vector) -> float:
    """Return the turn of the bend plane about the straight two bends share, in (-pi, pi]. [rad]

    Parameters
    ----------
    axis_before, axis : (3,) float
        Unit axes of the bend before and of this bend.
    tangent : (3,) float
        Unit direction of travel between them.
    """
    angle = atan2(dot(cross(axis_before, axis), tangent), dot(axis_before, axis))
    return pi if angle < -pi + _HALF_TURN_RAD else angle
