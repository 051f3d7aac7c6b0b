"""Arithmetic of vectors held as tuples: faster than arrays where there are only three numbers."""

from __future__ import annotations

from analyzer.geometry.segments import Floats, Vector, norm

__all__ = ["distance", "minus", "negative", "plus", "times", "to_vector"]


def minus(a: Vector, b: Vector) -> Vector:
    """Return the vector from b to a."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def distance(a: Vector, b: Vector) -> float:
    """Return how far apart two places are."""
    return norm(minus(a, b))


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
