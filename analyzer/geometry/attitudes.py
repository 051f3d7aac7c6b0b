"""How bends lie in space: attitude, and rotation from the bend before.

All traveling forward. Source of the definitions: the analysis file's own contract.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, pi, radians, sin

from analyzer.geometry.readings import Attitude
from analyzer.geometry.segments import Vector, cross, dot

__all__ = ["attitude_of", "rotation_between"]

_WITHIN_RAD = radians(1.0)
_LEVEL_TANGENT = sin(radians(0.25))
_HALF_TURN_RAD = 1e-6
_QUARTER_RAD = pi / 2.0


def attitude_of(
    axis: Vector,
    start_tangent: Vector,
    end_tangent: Vector,
    angle_rad: float,
    rise_m: float,
    along: Sequence[Vector] = (),
) -> Attitude:
    """Return how a bend lies.

    A bend that goes over a top is a crest and one through a bottom a sag, whatever its height at
    the ends; more than half a turn may do both, and what comes first names it. An end within a
    quarter degree of level is level: the noise of measured points makes no crest. A curve that
    leaves its plane by more than 1°, such as a helix, is tilted.

    Parameters
    ----------
    axis : (3,) float
        Unit normal of its plane, of a curve through space the mean.
    start_tangent, end_tangent : (3,) float
        Unit directions of travel at its ends.
    angle_rad : float
        Its whole turn. [rad]
    rise_m : float
        Height gained from its start to its end; for a sharp corner any number with the sign of
        the rise of its two directions together. [m]
    along : sequence of (3,) float, optional
        Unit directions of travel along it, where it may leave its plane.
    """
    if any(abs(dot(tangent, axis)) > sin(_WITHIN_RAD) for tangent in along):
        return Attitude.TILTED
    if abs(axis[2]) >= cos(_WITHIN_RAD):
        return Attitude.LEVEL
    if abs(axis[2]) > sin(_WITHIN_RAD):
        return Attitude.TILTED
    inward = cross(axis, start_tangent)
    # the slope along the bend is a cosine of the angle turned; it is level a quarter before and
    # after its greatest value, there and at every half turn on
    steepest = atan2(inward[2], start_tangent[2])
    low = _QUARTER_RAD if abs(start_tangent[2]) <= _LEVEL_TANGENT else 0.0
    high = angle_rad - (_QUARTER_RAD if abs(end_tangent[2]) <= _LEVEL_TANGENT else 0.0)
    for quarters in (-1, 1, 3, 5):
        if low < steepest + quarters * _QUARTER_RAD < high:
            return Attitude.CREST if quarters in (1, 5) else Attitude.SAG
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
