"""How bends lie in space: attitude, and rotation from the bend before.

All traveling forward. Source of the definitions: the analysis file's own contract. A bend lies in
one plane where it leaves the mean of its arcs, each weighted by its turn, by no more than 1°; an
arc that hardly turns so tells hardly anything of it, since rounding of the drawing decides how it
lies. A bend that leaves its plane has one at each end: that of the first degree it turns there.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from math import atan2, cos, pi, radians, sin

from analyzer.geometry.readings import Attitude
from analyzer.geometry.segments import Arc, Vector, cross, dot, unit
from analyzer.geometry.vectors import plus

__all__ = ["attitude_of", "axes_at_ends", "mean_axis", "rotation_between"]

_WITHIN_RAD = radians(1.0)
"""How far a bend may lie off level, off upright and off its plane and still count as in it, and the
turn at each end that tells the plane of one that leaves it. [rad] As everywhere."""

_LEVEL_TANGENT = sin(radians(0.25))
"""Rise over length up to which an end of a bend is level: the noise of measured points makes no
crest. Own choice."""

_HALF_TURN_RAD = 1e-6
"""How near -pi a rotation is half a turn, which is told as pi. [rad] Own choice."""

_QUARTER_RAD = pi / 2.0
"""A quarter turn: so far from its steepest place a bend is level. [rad]"""


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
    if _leaves_plane(axis, along):
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


def _leaves_plane(axis: Vector, along: Sequence[Vector]) -> bool:
    return any(abs(dot(tangent, axis)) > sin(_WITHIN_RAD) for tangent in along)


def mean_axis(arcs: Sequence[Arc]) -> Vector:
    """Return the unit mean axis of the arcs of one bend, each weighted by its turn.

    Parameters
    ----------
    arcs : sequence of Arc
        One or more, in order.
    """
    total: Vector = (0.0, 0.0, 0.0)
    for arc in arcs:
        total = plus(total, arc.axis, arc.angle_rad)
    return unit(total)


def axes_at_ends(arcs: Sequence[Arc]) -> tuple[Vector, Vector]:
    """Return the unit axes of the planes in which a bend starts and ends.

    Parameters
    ----------
    arcs : sequence of Arc
        Those of one bend in order, one or more, without short arcs that only join it to straights.
    """
    mean = mean_axis(arcs)
    if not _leaves_plane(mean, [arcs[0].start_tangent, *(arc.end_tangent for arc in arcs)]):
        return mean, mean
    return mean_axis(_first_turn(arcs)), mean_axis(_first_turn(arcs[::-1]))


def _first_turn(arcs: Sequence[Arc]) -> Sequence[Arc]:
    """Return the first arcs that together turn a degree: less tells no plane."""
    turned = accumulate(arc.angle_rad for arc in arcs)
    enough = (count for count, turn in enumerate(turned, 1) if turn >= _WITHIN_RAD)
    return arcs[: next(enough, len(arcs))]


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
