"""One arc gone through from many starting tensions at once.

The laws are those of `pulling.stretches`. Tensions that keep to one side of the raceway, never
fall slack and have no extreme inside a part go through together by the closed forms; the few
others (low tensions, where conductors change sides or run by themselves) go through the solver
one by one. Tilted arcs go through the solver's integrator, which takes all tensions together.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import asin, atan, ceil, cos, cosh, exp, expm1, pi, sin, sinh, sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.pulling.stretches import ArcShape, Stretch, trace_arc

__all__ = ["pull_around"]

Flags = NDArray[np.bool_]

_SAME = 1e-13
_TOGETHER = 64
_FAR = 1.001
_MARGIN = 1.01
_NODES = np.cos((np.arange(24) + 0.5) * pi / 24.0)


def pull_around(
    shape: ArcShape, weight_n_per_m: float, tension_n: Floats, friction: float
) -> tuple[Floats, Floats]:
    """Return exit tension and greatest tension of an arc, for each starting tension.

    Parameters
    ----------
    shape : ArcShape
        How the arc lies, in the direction of travel.
    weight_n_per_m : float
        Weight per length of all conductors. [N/m]
    tension_n : (n,) float
        Tension at its start, zero or more. [N]
    friction : float
        Effective friction; negative for conductors held back, gone through backwards.

    Returns
    -------
    ((n,) float, (n,) float)
        Exit tension and greatest tension anywhere on the arc, its start included. [N]
    """
    g, k = weight_n_per_m * shape.radius_m, friction
    if g == 0.0:
        out = tension_n * exp(k * shape.angle_rad)
        return out, np.maximum(tension_n, out)
    if shape.is_level:
        turn = k * shape.angle_rad
        out = tension_n * cosh(turn) + np.sqrt(tension_n * tension_n + g * g) * sinh(turn)
        np.maximum(out, 0.0, out=out)
        return out, np.maximum(tension_n, out)
    if shape.is_vertical:
        out, greatest, plain = _vertical(shape, g, tension_n, k)
        rest = np.flatnonzero(~plain)
    else:
        out, greatest, plain = _tilted(shape, weight_n_per_m, tension_n, k)
        rest = np.flatnonzero(~plain)
    if rest.size:
        some, back = np.unique(tension_n[rest], return_inverse=True)
        ends = _solved(shape, weight_n_per_m, some, k)
        out[rest], greatest[rest] = ends[0][back], ends[1][back]
    return out, greatest


def _solved(shape: ArcShape, weight: float, tension: Floats, k: float) -> tuple[Floats, Floats]:
    """Exit and greatest tension by the solver."""
    ends = [_ends_of(one) for one in _traced(shape, weight, tension, k)]
    pairs = np.asarray(ends, dtype=float).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def _exits(shape: ArcShape, weight: float, tension: Floats, k: float) -> Floats:
    """Exit tension by the solver."""
    return np.array([one[-1].exit_tension_n for one in _traced(shape, weight, tension, k)])


def _traced(
    shape: ArcShape, weight: float, tension: Floats, k: float
) -> Iterator[tuple[Stretch, ...]]:
    for low in range(0, tension.size, _TOGETHER):
        some = tension[low : low + _TOGETHER].tolist()
        yield from trace_arc(shape, weight, some, [k] * len(some))


def _ends_of(stretches: tuple[Stretch, ...]) -> tuple[float, float]:
    greatest = stretches[0].entry_tension_n
    for stretch in stretches:
        greatest = max(greatest, stretch.exit_tension_n)
        for place in stretch.form.turning_places():
            greatest = max(greatest, stretch.form.tension_at(place))
    return stretches[-1].exit_tension_n, greatest


def _vertical(shape: ArcShape, g: float, tension: Floats, k: float) -> tuple[Floats, Floats, Flags]:
    """Go by the closed forms for conductors on the inner wall, and for which tensions they hold."""
    now, greatest = tension, tension
    plain = np.ones(tension.size, dtype=bool)
    for start, end in pairwise(_cuts(shape, k)):
        theta, turned = shape.phase_rad + start, shape.phase_rad + end
        bearing = now - g * cos(theta)
        reached = _closed_form(now, k, g, theta, end - start)
        bearing_after = reached - g * cos(turned)
        rises = g * sin(theta) + k * bearing > 0.0
        falls_after = g * sin(turned) + k * bearing_after < 0.0
        plain &= (bearing >= 0.0) & (bearing_after >= 0.0) & (reached > _SAME * (now + g))
        plain &= ~(rises & falls_after)
        now = reached
        greatest = np.maximum(greatest, now)
    return now.copy(), greatest.copy(), plain


def _tilted(
    shape: ArcShape, weight: float, tension: Floats, k: float
) -> tuple[Floats, Floats, Flags]:
    """High tensions by a polynomial through solved ones, checked against others solved too.

    Far above w R the exit tension is e^(k a) T plus a smooth function of 1/T, and the tension
    runs up (or down) all the way, so that its greatest value stands at an end.
    """
    none = np.zeros(tension.size, dtype=bool)
    g = weight * shape.radius_m
    least = _FAR * g * (1.0 + 1.0 / abs(k)) if k else np.inf
    high = float(tension.max(initial=0.0))
    if not high > 2.0 * least or tension.size < _TOGETHER:
        return tension.copy(), tension.copy(), none
    low_x, high_x = 1.0 / (high * _MARGIN + g), 1.0 / (least / _MARGIN + g)
    x = 0.5 * (low_x + high_x) + 0.5 * (high_x - low_x) * _NODES
    samples = 1.0 / x - g
    solved = _exits(shape, weight, samples, k)
    growth = exp(k * shape.angle_rad)
    rest = solved - growth * samples
    values = np.polynomial.chebyshev.chebfit(_NODES, rest, _NODES.size - 1)

    def through(t: Floats) -> Floats:
        y = (2.0 / (t + g) - low_x - high_x) / (high_x - low_x)
        out: Floats = growth * t + np.polynomial.chebyshev.chebval(y, values)
        return out

    tests = np.geomspace(least, high, 5)
    truth = _exits(shape, weight, tests, k)
    if not bool(np.all(np.abs(through(tests) - truth) <= 4.0 * _SAME * (tests + truth))):
        return tension.copy(), tension.copy(), none
    plain = tension >= least
    out = tension.copy()
    out[plain] = through(tension[plain])
    plain &= out >= least
    return out, np.maximum(tension, out), plain


def _closed_form(t0: Floats, k: float, g: float, theta: float, x: float) -> Floats:
    d_cos = -2.0 * sin(theta + 0.5 * x) * sin(0.5 * x)
    d_sin = 2.0 * cos(theta + 0.5 * x) * sin(0.5 * x)
    q = g / (1.0 + k * k)
    base = q * ((k * k - 1.0) * cos(theta) - 2.0 * k * sin(theta))
    gain = q * ((k * k - 1.0) * d_cos - 2.0 * k * d_sin)
    out: Floats = t0 + (t0 - base) * expm1(k * x) + gain
    return out


def _cuts(shape: ArcShape, k: float) -> list[float]:
    """Angles of the arc where its law may change, both ends included."""
    phase, angle = shape.phase_rad, shape.angle_rad
    inside = _repeats(0.0, pi, phase, angle) + _repeats(0.5 * pi + atan(k), pi, phase, angle)
    q = k / sqrt(1.0 + k * k)
    if abs(q) < shape.in_plane:
        half = asin(q / shape.in_plane)
        inside += _repeats(pi + half, 2.0 * pi, phase, angle)
        inside += _repeats(2.0 * pi - half, 2.0 * pi, phase, angle)
    return [0.0, *sorted(inside), angle]


def _repeats(first: float, period: float, phase: float, angle: float) -> list[float]:
    """Places strictly inside the arc where phase + place is first plus whole periods."""
    n = ceil((phase - first) / period)
    places = []
    while (place := first + n * period - phase) < angle:
        if place > 0.0:
            places.append(place)
        n += 1
    return places
