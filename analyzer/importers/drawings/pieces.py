"""Exact pieces of drawn curves, in drawing units.

A piece is a line, an elliptical arc (a circular one where its two half-axes are equal and
square to each other) or a spline.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, sin

from analyzer.geometry.segments import Vector, dot, norm

__all__ = ["EllipsePiece", "LinePiece", "Piece", "SplinePiece", "is_circular"]

_CIRCULAR = 1e-9  # relative difference of half-axes; a turned matrix keeps about 1e-15


@dataclass(frozen=True, slots=True)
class LinePiece:
    """A straight from start to end.

    `written` is what the file holds where that stands in other coordinates, such as those of a
    block, `scale` the largest factor by which these are stretched, and `frame` their name.
    """

    start: Vector
    end: Vector
    written: tuple[Vector, Vector] | None = None
    scale: float = 1.0
    frame: str = ""


@dataclass(frozen=True, slots=True)
class EllipsePiece:
    """Points ``center + u cos t + v sin t``, t from `start_rad` by `sweep_rad` (signed)."""

    center: Vector
    u: Vector
    v: Vector
    start_rad: float
    sweep_rad: float

    def point(self, t: float) -> Vector:
        """Return the point at a parameter."""
        c, s = cos(t), sin(t)
        return (
            self.center[0] + c * self.u[0] + s * self.v[0],
            self.center[1] + c * self.u[1] + s * self.v[1],
            self.center[2] + c * self.u[2] + s * self.v[2],
        )

    @property
    def start(self) -> Vector:
        """First point."""
        return self.point(self.start_rad)

    @property
    def end(self) -> Vector:
        """Last point."""
        return self.point(self.start_rad + self.sweep_rad)


@dataclass(frozen=True, slots=True)
class SplinePiece:
    """A rational B-spline; `weights` is empty where all are one."""

    degree: int
    knots: tuple[float, ...]
    control: tuple[Vector, ...]
    weights: tuple[float, ...] = ()


Piece = LinePiece | EllipsePiece | SplinePiece


def is_circular(piece: EllipsePiece) -> bool:
    """Return whether the half-axes are equal and square to each other."""
    a, b = norm(piece.u), norm(piece.v)
    largest = max(a, b)
    return (
        abs(a - b) <= _CIRCULAR * largest
        and abs(dot(piece.u, piece.v)) <= _CIRCULAR * largest * largest
    )
