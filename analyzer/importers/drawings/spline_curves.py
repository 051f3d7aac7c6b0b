"""Splines and elliptical arcs of a drawing: points, directions, and the arcs that follow them.

Rational B-splines by de Boor's algorithm in homogeneous coordinates, many parameters at once.
A knot repeated as often as the degree may be a corner: the curve is taken in parts there. Curves
are followed from an origin on or in them, since far away the digits of points do not reach.
Straight parts of control points written with few decimals stay straights (`flat_arcs`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import isfinite

import numpy as np

from analyzer.errors import InputError
from analyzer.geometry.curves import Along, arcs_along
from analyzer.geometry.drawing_cleanup import moved_segment
from analyzer.geometry.flat_arcs import straightened
from analyzer.geometry.roundings import rounding
from analyzer.geometry.segments import Floats, Segment, Vector
from analyzer.geometry.vectors import minus, times
from analyzer.importers.drawings.pieces import EllipsePiece, SplinePiece

__all__ = [
    "ellipse_segments",
    "nearest_on_spline",
    "spline_parts",
    "spline_points",
    "spline_segments",
]

_SAME_KNOT = 1e-12
_NUDGE = 1e-6
_SAMPLES, _STEPS = 32, 8  # samples a span, and steps of Gauss-Newton, to the nearest place


def spline_segments(spline: SplinePiece, factor: float) -> list[tuple[Segment, ...]]:
    """Return straights and arcs along a spline in meters, one group for each smooth part.

    Parameters
    ----------
    spline : SplinePiece
        In drawing units.
    factor : float
        Meters in one drawing unit.

    Raises
    ------
    InputError
        If its knots do not rise or a number is not finite.
    RouteError
        If it has no direction somewhere, or no length.
    """
    _check(spline)
    origin = spline.control[0]
    near = replace(spline, control=tuple(minus(place, origin) for place in spline.control))
    rounding_m = _rounding(spline.control) * factor
    grid_m = rounding(np.array(spline.control) * factor)
    groups = []
    for breaks in spline_parts(spline):

        def point_at(at: Floats, ends: tuple[float, ...] = breaks) -> Floats:
            return _evaluated(near, at, ends)[0] * factor

        def tangent_at(at: Floats, ends: tuple[float, ...] = breaks) -> Floats:
            return _directions(near, at, ends)

        found = arcs_along(point_at, tangent_at, breaks, rounding_m=rounding_m)
        groups.append(_moved(straightened(found, grid_m), times(origin, factor)))
    return groups


def _rounding(places: Iterable[Vector]) -> float:
    """Return how far doubles may be off at the farthest of some coordinates."""
    return float(np.spacing(max(abs(value) for place in places for value in place)))


def _moved(segments: Sequence[Segment], by: Vector) -> tuple[Segment, ...]:
    return tuple(moved_segment(segment, by, 1.0) for segment in segments)


def ellipse_segments(piece: EllipsePiece, factor: float) -> tuple[Segment, ...]:
    """Return arcs along an elliptical arc, in meters."""
    u, v = np.array(piece.u), np.array(piece.v)

    def angle(share: Floats) -> Floats:
        turned: Floats = (piece.start_rad + share * piece.sweep_rad)[:, None]
        return turned

    def point_at(share: Floats) -> Floats:
        t = angle(share)
        points: Floats = (u * np.cos(t) + v * np.sin(t)) * factor
        return points

    def tangent_at(share: Floats) -> Floats:
        t = angle(share)
        along: Floats = (v * np.cos(t) - u * np.sin(t)) * piece.sweep_rad
        return along

    ways: tuple[Along, Along] = (point_at, tangent_at)
    rounding_m = _rounding([piece.center, piece.u, piece.v]) * factor
    found = arcs_along(*ways, (0.0, 1.0), rounding_m=rounding_m)
    return _moved(found, times(piece.center, factor))


def spline_parts(spline: SplinePiece) -> list[tuple[float, ...]]:
    """Return the distinct knots of each part of a spline; parts end where a corner may be."""
    low, high = _domain(spline)
    step = _SAME_KNOT * max(abs(low), abs(high), high - low)
    knots: list[float] = []
    times: list[int] = []
    for knot in spline.knots:
        if not low - step <= knot <= high + step:
            continue
        if knots and knot - knots[-1] <= step:
            times[-1] += 1
        else:
            knots.append(min(max(knot, low), high))
            times.append(1)
    parts, part = [], [knots[0]]
    for knot, count in zip(knots[1:], times[1:], strict=True):
        part.append(knot)
        if count >= spline.degree or knot == knots[-1]:
            parts.append(tuple(part))
            part = [knot]
    return parts


def spline_points(spline: SplinePiece, count: int) -> Floats:
    """Return `count` + 1 points of a spline, evenly spaced in its parameter."""
    low, high = _domain(spline)
    return _evaluated(spline, np.linspace(low, high, count + 1), (low, high))[0]


def nearest_on_spline(spline: SplinePiece, points: Floats) -> tuple[Floats, Floats]:
    """Return where on a spline points are nearest, as parameters, and how far off they are.

    Meant for points that lie on it or nearly so: the nearest of many samples, then Gauss-Newton
    steps.

    Parameters
    ----------
    spline : SplinePiece
        In drawing units.
    points : (n, 3) float
        In drawing units.

    Returns
    -------
    (n,) float, (n,) float
        Parameters, and distances in drawing units.
    """
    low, high = _domain(spline)
    count = _SAMPLES * (len(spline.control) - spline.degree)
    grid = np.linspace(low, high, count + 1)
    samples = _evaluated(spline, grid, (low, high))[0]
    first = [int(np.argmin(np.sum((samples - point) ** 2, axis=1))) for point in points]
    at: Floats = grid[first]
    for _ in range(_STEPS):
        places, slopes = _evaluated(spline, at, (low, high))
        along = np.sum((points - places) * slopes, axis=1)
        at = np.clip(at + along / np.maximum(np.sum(slopes**2, axis=1), 1e-300), low, high)
    away: Floats = np.linalg.norm(_evaluated(spline, at, (low, high))[0] - points, axis=1)
    return at, away


def _domain(spline: SplinePiece) -> tuple[float, float]:
    return spline.knots[spline.degree], spline.knots[len(spline.control)]


def _check(spline: SplinePiece) -> None:
    if len(spline.knots) != len(spline.control) + spline.degree + 1:
        raise InputError("the knots of a spline do not fit its control points")
    numbers = [*spline.knots, *spline.weights, *(x for p in spline.control for x in p)]
    if not all(isfinite(value) for value in numbers):
        raise InputError("a coordinate is not a finite number")
    if any(b < a for a, b in zip(spline.knots, spline.knots[1:], strict=False)):
        raise InputError("the knots of a spline do not rise")
    low, high = _domain(spline)
    if not low < high:
        raise InputError("a spline whose knots leave it no length")
    if any(weight <= 0.0 for weight in spline.weights):
        raise InputError("a spline with a weight that is not positive")


def _evaluated(spline: SplinePiece, at: Floats, ends: tuple[float, ...]) -> tuple[Floats, Floats]:
    """Points and first derivatives, taken from inside the part that `ends` bound."""
    p, knots = spline.degree, np.asarray(spline.knots)
    control = np.asarray(spline.control)
    weights = np.asarray(spline.weights) if spline.weights else np.ones(len(control))
    poles = np.concatenate([control * weights[:, None], weights[:, None]], axis=1)
    u = np.clip(np.asarray(at, dtype=float), ends[0], ends[-1])
    middle_first = np.searchsorted(knots, ends[0], side="right") - 1
    middle_last = np.searchsorted(knots, ends[-1], side="left") - 1
    span = np.searchsorted(knots, u, side="right") - 1
    span = np.clip(np.clip(span, middle_first, middle_last), p, len(control) - 1)
    d = poles[span[:, None] + np.arange(-p, 1)]
    slope = np.zeros((len(u), 4))
    for r in range(1, p + 1):
        for j in range(p, r - 1, -1):
            a, b = knots[span - p + j], knots[span + 1 + j - r]
            width = np.where(b > a, b - a, 1.0)
            share = np.where(b > a, (u - a) / width, 0.0)[:, None]
            if r == p:
                slope = p * (d[:, j] - d[:, j - 1]) / width[:, None]
            d[:, j] = d[:, j - 1] + share * (d[:, j] - d[:, j - 1])
    w = d[:, p, 3:]
    points: Floats = d[:, p, :3] / w
    slopes: Floats = (slope[:, :3] - slope[:, 3:] * points) / w
    return points, slopes


def _directions(spline: SplinePiece, at: Floats, ends: tuple[float, ...]) -> Floats:
    """First derivatives; where one vanishes at an end, the direction just inside it."""
    _, slopes = _evaluated(spline, at, ends)
    size = np.linalg.norm(slopes, axis=1)
    extent = float(np.ptp(np.asarray(spline.control), axis=0).max())
    still = size * (ends[-1] - ends[0]) <= 1e-9 * extent
    if still.any():
        middle, span = 0.5 * (ends[0] + ends[-1]), ends[-1] - ends[0]
        inside = at + np.where(at < middle, 1.0, -1.0) * _NUDGE * span
        at_end = (np.abs(at - ends[0]) < 1e-9 * span) | (np.abs(at - ends[-1]) < 1e-9 * span)
        _, nearby = _evaluated(spline, inside, ends)
        slopes = np.where((still & at_end)[:, None], nearby, slopes)
    return slopes
