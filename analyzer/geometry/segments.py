"""Straights and arcs: the two segments of every centerline.

A segment knows its length, and its point, tangent and curvature at any distance from its start.
Positions are tuples in meters, z up. Arcs turn by the right-hand rule about a unit `axis`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, isfinite, pi, sin, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analyzer.errors import InputError

__all__ = ["Arc", "Floats", "Segment", "Straight", "Vector", "cross", "dot", "norm", "unit"]

_EPSILON = float(np.finfo(float).eps)

Vector = tuple[float, float, float]
Floats = NDArray[np.float64]


def dot(a: Vector, b: Vector) -> float:
    """Return the scalar product of two vectors."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Return the vector product of two vectors."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def norm(a: Vector) -> float:
    """Return the length of a vector."""
    return sqrt(dot(a, a))


def unit(a: Vector) -> Vector:
    """Return the vector scaled to length one.

    Raises
    ------
    InputError
        If its length is zero or not finite.
    """
    length = norm(a)
    if not isfinite(length) or length == 0.0:
        raise InputError(f"a direction needs a length: got {a}")
    return (a[0] / length, a[1] / length, a[2] / length)


def _finite(*vectors: Vector) -> bool:
    return all(isfinite(value) for vector in vectors for value in vector)


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight segment.

    Attributes
    ----------
    start_m, end_m : (3,) float
        Its two ends, in meters; they differ.
    """

    start_m: Vector
    end_m: Vector

    def __post_init__(self) -> None:
        if not _finite(self.start_m, self.end_m):
            raise InputError(f"a straight needs finite ends: {self.start_m} to {self.end_m}")
        if self.start_m == self.end_m:
            raise InputError(f"a straight needs two different ends: both are {self.start_m}")

    @property
    def length_m(self) -> float:
        """Length. [m]"""
        return norm(_minus(self.end_m, self.start_m))

    @property
    def start_tangent(self) -> Vector:
        """Unit direction of travel at the start."""
        return unit(_minus(self.end_m, self.start_m))

    @property
    def end_tangent(self) -> Vector:
        """Unit direction of travel at the end."""
        return self.start_tangent

    def points_at(self, distance_m: ArrayLike) -> Floats:
        """Return the points at distances from the start.

        Parameters
        ----------
        distance_m : (n,) float
            Distances along the segment. [m]

        Returns
        -------
        (n, 3) float
            Points. [m]
        """
        s = np.atleast_1d(np.asarray(distance_m, dtype=float))
        fraction = (s / self.length_m)[:, None]
        start, end = np.asarray(self.start_m), np.asarray(self.end_m)
        points: Floats = start * (1.0 - fraction) + end * fraction
        return points

    def tangents_at(self, distance_m: ArrayLike) -> Floats:
        """Return the unit tangents at distances from the start, shape (n, 3)."""
        s = np.atleast_1d(np.asarray(distance_m, dtype=float))
        return np.tile(np.asarray(self.start_tangent), (s.size, 1))

    def reversed(self) -> Straight:
        """Return the same segment traveled the other way."""
        return Straight(self.end_m, self.start_m)

    def part(self, from_m: float, to_m: float) -> Straight:
        """Return the part between two distances from the start. [m]"""
        ends = self.points_at([from_m, to_m])
        start = self.start_m if from_m <= 0.0 else _vector(ends[0])
        end = self.end_m if to_m >= self.length_m else _vector(ends[1])
        return Straight(start, end)


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc.

    Attributes
    ----------
    start_m, center_m : (3,) float
        First point and center of the circle. [m]
    axis : (3,) float
        Unit vector normal to the plane; by the right-hand rule it turns the start tangent into
        the end tangent.
    angle_rad : float
        Turn, more than 0 and at most pi: longer arcs are split by whoever makes them. [rad]
    """

    start_m: Vector
    center_m: Vector
    axis: Vector
    angle_rad: float

    def __post_init__(self) -> None:
        if not _finite(self.start_m, self.center_m, self.axis) or not isfinite(self.angle_rad):
            raise InputError("an arc needs finite numbers")
        if not 0.0 < self.angle_rad <= pi * (1 + 1e-12):
            raise InputError(f"an arc turns more than 0 and at most pi rad: got {self.angle_rad}")
        if abs(norm(self.axis) - 1.0) > 1e-9:
            raise InputError(f"the axis of an arc is a unit vector: got {self.axis}")
        arm = _minus(self.start_m, self.center_m)
        radius = norm(arm)
        rounded = 4.0 * _EPSILON * norm(self.center_m)
        if radius == 0.0 or abs(dot(arm, self.axis)) > 1e-7 * radius + rounded:
            raise InputError("the start of an arc lies in its plane, off its center")

    @property
    def radius_m(self) -> float:
        """Radius of the centerline. [m]"""
        return norm(_minus(self.start_m, self.center_m))

    @property
    def length_m(self) -> float:
        """Length along the arc. [m]"""
        return self.radius_m * self.angle_rad

    @property
    def end_m(self) -> Vector:
        """Last point. [m]"""
        start, t, n = self.start_m, self.start_tangent, self.start_normal
        # as `points_at`, in plain floats: joints are asked for far more often than inner points
        along = self.radius_m * sin(self.angle_rad)
        inward = self.radius_m * (2.0 * sin(self.angle_rad / 2.0) ** 2)
        return (
            start[0] + along * t[0] + inward * n[0],
            start[1] + along * t[1] + inward * n[1],
            start[2] + along * t[2] + inward * n[2],
        )

    @property
    def start_tangent(self) -> Vector:
        """Unit direction of travel at the start."""
        return unit(cross(self.axis, _minus(self.start_m, self.center_m)))

    @property
    def end_tangent(self) -> Vector:
        """Unit direction of travel at the end."""
        t, n = self.start_tangent, self.start_normal
        c, s = cos(self.angle_rad), sin(self.angle_rad)
        return (c * t[0] + s * n[0], c * t[1] + s * n[1], c * t[2] + s * n[2])

    @property
    def start_normal(self) -> Vector:
        """Unit vector from the first point to the center."""
        return unit(_minus(self.center_m, self.start_m))

    def points_at(self, distance_m: ArrayLike) -> Floats:
        """Return the points at distances from the start, shape (n, 3). [m]"""
        angle = (np.atleast_1d(np.asarray(distance_m, dtype=float)) / self.radius_m)[:, None]
        start = np.asarray(self.start_m)
        t, n = np.asarray(self.start_tangent), np.asarray(self.start_normal)
        # 1 - cos as 2 sin²(a/2): keeps its digits on flat arcs of large radius
        points: Floats = start + self.radius_m * (
            np.sin(angle) * t + 2.0 * np.sin(angle / 2.0) ** 2 * n
        )
        return points

    def tangents_at(self, distance_m: ArrayLike) -> Floats:
        """Return the unit tangents at distances from the start, shape (n, 3)."""
        angle = (np.atleast_1d(np.asarray(distance_m, dtype=float)) / self.radius_m)[:, None]
        t, n = np.asarray(self.start_tangent), np.asarray(self.start_normal)
        tangents: Floats = np.cos(angle) * t + np.sin(angle) * n
        return tangents

    def reversed(self) -> Arc:
        """Return the same segment traveled the other way."""
        axis = (-self.axis[0], -self.axis[1], -self.axis[2])
        return Arc(self.end_m, self.center_m, axis, self.angle_rad)

    def part(self, from_m: float, to_m: float) -> Arc:
        """Return the part between two distances from the start. [m]"""
        start = self.start_m if from_m <= 0.0 else _vector(self.points_at([from_m])[0])
        to_m, from_m = min(to_m, self.length_m), max(from_m, 0.0)
        return Arc(start, self.center_m, self.axis, (to_m - from_m) / self.radius_m)


Segment = Straight | Arc


def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _vector(row: Floats) -> Vector:
    return (float(row[0]), float(row[1]), float(row[2]))
