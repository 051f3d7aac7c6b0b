"""Arithmetic of vectors held as tuples: faster than arrays where there are only three numbers."""

from __future__ import annotations

from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.errors import InputError

__all__ = [
    "Floats",
    "Vector",
    "cross",
    "distance",
    "dot",
    "minus",
    "negative",
    "norm",
    "plus",
    "times",
    "to_vector",
    "unit",
]

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


def distance(a: Vector, b: Vector) -> float:
    """Return how far apart two places are."""
    return norm(minus(a, b))


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


def minus(a: Vector, b: Vector) -> Vector:
    """Return the vector from b to a."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def plus(a: Vector, along: Vector, length: float) -> Vector:
    """Return a place moved by a length along a direction."""
    return (a[0] + length * along[0], a[1] + length * along[1], a[2] + length * along[2])


def times(a: Vector, factor: float) -> Vector:
    """Return a vector scaled by a factor."""
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def negative(a: Vector) -> Vector:
    """Return the vector the other way."""
    return (-a[0], -a[1], -a[2])


def to_vector(row: Floats) -> Vector:
    """Return a row of three numbers as a tuple of plain floats."""
    return (float(row[0]), float(row[1]), float(row[2]))
