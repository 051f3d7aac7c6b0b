"""A circle through points in space, with how far they lie off it.

Best plane by principal axes, then the circle in that plane by least squares of the distances
(Gauss-Newton from the algebraic fit). Assumes points within one turn, in order of travel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, sqrt

import numpy as np

from analyzer.errors import InputError
from analyzer.geometry.segments import Floats, Vector

__all__ = ["CircleFit", "fit_circle", "radius_from_chords"]


@dataclass(frozen=True, slots=True)
class CircleFit:
    """A circle in space fitted to points.

    Attributes
    ----------
    center_m : (3,) float
        Center. [m]
    axis : (3,) float
        Unit normal of its plane; the points travel round it by the right-hand rule.
    radius_m : float
        Radius. [m]
    offset_m : float
        Greatest distance of a point from the circle. [m]
    rms_m : float
        Root mean square of those distances. [m]
    """

    center_m: Vector
    axis: Vector
    radius_m: float
    offset_m: float
    rms_m: float


def fit_circle(points_m: Floats) -> CircleFit | None:
    """Return the circle nearest to points in space, or None where they lie on one line.

    Parameters
    ----------
    points_m : (n, 3) float
        At least three points in order of travel. [m]

    Raises
    ------
    InputError
        If there are fewer than three points.
    """
    if len(points_m) < 3:
        raise InputError(f"a circle needs three points: got {len(points_m)}")
    middle = points_m.mean(axis=0)
    arms = points_m - middle
    _, frame = np.linalg.eigh(arms.T @ arms)
    x, y = arms @ frame[:, 2], arms @ frame[:, 1]
    out = arms @ frame[:, 0]
    size = float(np.abs(x).max())
    if size == 0.0:
        return None
    circle = _algebraic(x / size, y / size)
    if circle is None:
        return None
    a, b, radius = circle
    for _ in range(3):
        dx, dy = x / size - a, y / size - b
        rho = np.hypot(dx, dy)
        if not rho.all():
            return None
        slope = np.column_stack([-dx / rho, -dy / rho, -np.ones_like(rho)])
        step = _solve(slope, radius - rho)
        if step is None:
            break
        a, b, radius = a + step[0], b + step[1], radius + step[2]
        if not 0.0 < radius < 1e9:
            return None
        if max(abs(part) for part in step) < 1e-14 * radius:
            break
    radial = np.hypot(x / size - a, y / size - b) * size - radius * size
    away = np.hypot(radial, out)
    center = middle + size * (a * frame[:, 2] + b * frame[:, 1])
    axis = _axis_of_travel(points_m - center, frame[:, 0])
    return CircleFit(
        (float(center[0]), float(center[1]), float(center[2])),
        (float(axis[0]), float(axis[1]), float(axis[2])),
        float(radius * size),
        float(away.max()),
        float(np.sqrt(np.mean(away**2))),
    )


def radius_from_chords(chords_m: Sequence[float], angle_rad: float) -> float:
    """Return the radius of the arc that chords of given lengths span in a given angle. [m]

    Newton's method on the sum of 2 asin(l / 2R) = angle.

    Parameters
    ----------
    chords_m : sequence of float
        Lengths of the chords. [m]
    angle_rad : float
        Total angle of the arc. [rad]

    Examples
    --------
    >>> round(radius_from_chords([1.0, 1.0, 1.0], 1.5707963267948966), 6)
    1.931852
    """
    curvature = angle_rad / sum(chords_m)
    for _ in range(50):
        halves = [min(length * curvature / 2.0, 1.0 - 1e-12) for length in chords_m]
        value = 2.0 * sum(asin(half) for half in halves) - angle_rad
        slope = sum(
            length / sqrt(1.0 - half * half) for length, half in zip(chords_m, halves, strict=True)
        )
        step = value / slope
        curvature -= step
        if abs(step) < 1e-15 * curvature:
            break
    return 1.0 / curvature


def _algebraic(x: Floats, y: Floats) -> tuple[float, float, float] | None:
    """Circle x² + y² = 2 a x + 2 b y + c by linear least squares."""
    matrix = np.column_stack([2.0 * x, 2.0 * y, np.ones_like(x)])
    found = _solve(matrix, x * x + y * y)
    if found is None:
        return None
    a, b, c = found
    square = c + a * a + b * b
    return (a, b, float(np.sqrt(square))) if 0.0 < square < 1e18 else None


def _solve(matrix: Floats, right: Floats) -> tuple[float, float, float] | None:
    """Least squares through QR: keeps its digits on short arcs."""
    from scipy.linalg.lapack import dgels

    factors, found, failed = dgels(matrix, right[:, None])
    upper = np.abs(factors[[0, 1, 2, 0, 0, 1], [0, 1, 2, 1, 2, 2]])
    if failed or upper[:3].min() < 1e-14 * upper.max():
        return None
    return float(found[0, 0]), float(found[1, 0]), float(found[2, 0])


def _axis_of_travel(arms: Floats, normal: Floats) -> Floats:
    """Return the normal, turned so that the points travel round it right-handed."""
    sweep = np.cross(arms[:-1], arms[1:]).sum(axis=0)
    return normal if float(sweep @ normal) >= 0.0 else -normal
