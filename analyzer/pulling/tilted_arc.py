"""Tension through an arc whose plane is neither level nor vertical, by Legendre collocation.

No closed form is known there. With x the angle from the start of the arc, G = w R, and the
upward parts of tangent and inward normal rho sin(theta + x) and rho cos(theta + x), equation (1)
of the string model reads

    dT/dx = G rho sin(theta + x) + k sqrt((T - G rho cos(theta + x))² + (G b)²)

The right side is smooth but bends sharply where the bracket passes zero and b is small, so the
arc is cut into panels that shrink toward such a place. On each panel the equation is solved at
32 Gauss-Legendre points by Newton's method; the panel is kept when the last coefficients of the
right side have died away to rounding. All friction values go through together.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from itertools import pairwise
from math import cos, hypot, inf, sin, sqrt

import numpy as np
from numpy.polynomial import legendre

from analyzer.errors import SolverError
from analyzer.geometry.segments import Floats
from analyzer.pulling.sign_change import root_between

__all__ = ["MAX_PANEL_RAD", "Panel", "integrate_tilted_arc"]

MAX_PANEL_RAD = 4.0
"""Longest panel tried, more than any arc: lower it to halve the step. [rad]"""

_POINTS = 32
_TAIL = 1e-13  # of the right side: the integral is then good to about 1e-15
_NEWTON = 1e-14
_ROUNDING = 4e-16  # of g, what the tension itself carries
_LEAST = 1e-2  # of g: the tail then ends at 1e-15 of it
_ROUNDS = 14
_SHORTEST_RAD = 1e-14
_STEEP_TURN = 0.05  # b below which 32 points may miss the turn of the right side


@dataclass(frozen=True)
class Panel:
    """Part of a tilted arc with the tension as a Legendre series.

    Attributes
    ----------
    start_rad, span_rad : float
        Where it starts, from the start of the arc, and how far it reaches. [rad]
    start_tension_n : float
        Tension at its start. [N]
    phase_rad, inward_n : float
        theta and G rho of the arc. [rad] [N]
    slope : tuple of float
        Legendre coefficients of dT/dx over the panel. [N/rad]
    rise : tuple of float
        Legendre coefficients of the tension gained since the start. [N]
    """

    start_rad: float
    span_rad: float
    start_tension_n: float
    phase_rad: float
    inward_n: float
    slope: tuple[float, ...]
    rise: tuple[float, ...]

    @property
    def end_rad(self) -> float:
        """Where it ends. [rad]"""
        return self.start_rad + self.span_rad

    def tension_at(self, angle_rad: float) -> float:
        """Return the tension at an angle from the start of the arc. [N]"""
        y = 2.0 * (angle_rad - self.start_rad) / self.span_rad - 1.0
        return self.start_tension_n + _series(self.rise, y)

    def slope_at(self, angle_rad: float) -> float:
        """Return dT/dx at an angle from the start of the arc. [N/rad]"""
        return _series(self.slope, 2.0 * (angle_rad - self.start_rad) / self.span_rad - 1.0)

    def bearing_at(self, angle_rad: float) -> float:
        """Return what presses toward the center at an angle, negative on the outer wall. [N]"""
        return self.tension_at(angle_rad) - self.inward_n * cos(self.phase_rad + angle_rad)

    def contact_angles(self) -> tuple[float, ...]:
        """Return the angles where the conductors pass from one side of the wall to the other."""
        places = [self.start_rad + self.span_rad * i / 8.0 for i in range(9)]
        values = [self.bearing_at(place) for place in places]
        return tuple(
            root_between(self.bearing_at, low, high)
            for (low, a), (high, b) in pairwise(zip(places, values, strict=True))
            if a * b < 0.0
        )

    @cached_property
    def turning_angles(self) -> tuple[float, ...]:
        """Angles where dT/dx passes zero, in order. [rad]"""
        values = (_rule().values @ np.asarray(self.slope)).tolist()
        sizes = [abs(value) for value in values]
        places = [self.start_rad + (y + 1.0) / 2.0 * self.span_rad for y in _rule().places]
        least = 0.02 * max(sizes)
        for before, here, after in zip(sizes, sizes[1:], sizes[2:], strict=False):
            if here < least and here <= min(before, after):
                return self._all_turning_angles()
        return tuple(
            root_between(self.slope_at, low, high)
            for (low, a), (high, b) in pairwise(zip(places, values, strict=True))
            if a * b < 0.0
        )

    def _all_turning_angles(self) -> tuple[float, ...]:
        """Roots of the series: finds also two that lie close together."""
        roots = legendre.legroots(np.trim_zeros(np.asarray(self.slope), "b"))
        real = roots[np.abs(roots.imag) < 1e-9].real
        inside = np.sort(real[np.abs(real) < 1.0])
        return tuple(self.start_rad + (float(y) + 1.0) / 2.0 * self.span_rad for y in inside)


@dataclass(frozen=True, slots=True)
class _Rule:
    """Gauss-Legendre points on [-1, 1] with the matrices that integrate and expand."""

    points: Floats
    integral: Floats  # values at the points -> integral from -1 to each point
    expand: Floats  # values at the points -> Legendre coefficients
    values: Floats  # Legendre coefficients -> values at the points and both ends
    raise_degree: Floats  # coefficients -> coefficients of the integral from -1
    places: tuple[float, ...]  # points and both ends


@cache
def _rule() -> _Rule:
    points, weights = (np.asarray(a, dtype=np.float64) for a in legendre.leggauss(_POINTS))
    vander = _vander(points, _POINTS - 1)
    degrees = np.arange(_POINTS)
    expand = ((2 * degrees + 1) / 2.0)[:, None] * (vander * weights[:, None]).T
    raise_degree = np.zeros((_POINTS + 1, _POINTS))
    raise_degree[0, 0] = raise_degree[1, 0] = 1.0
    for n in range(1, _POINTS):
        raise_degree[n + 1, n] = 1.0 / (2 * n + 1)
        raise_degree[n - 1, n] = -1.0 / (2 * n + 1)
    integral = _vander(points, _POINTS) @ raise_degree @ expand
    ends = np.concatenate(([-1.0], points, [1.0]))
    values = _vander(ends, _POINTS - 1)
    return _Rule(points, integral, expand, values, raise_degree, tuple(ends.tolist()))


def _vander(points: Floats, degree: int) -> Floats:
    return np.asarray(legendre.legvander(points, degree), dtype=np.float64)


def integrate_tilted_arc(
    from_rad: float,
    to_rad: float,
    tension_n: Floats,
    friction: Floats,
    pull_per_rad_n: float,
    phase_rad: float,
    in_plane: float,
    off_plane: float,
    max_panel_rad: float,
) -> tuple[tuple[Panel, ...], ...]:
    """Return the panels of each friction value, the tension left free to go below zero.

    Parameters
    ----------
    from_rad, to_rad : float
        Part of the arc to go through, as angles from its start. [rad]
    tension_n, friction : (n,) float
        Tension at `from_rad` [N] and effective friction k, which may be negative.
    pull_per_rad_n : float
        G = weight per length times radius, above zero. [N]
    phase_rad, in_plane, off_plane : float
        theta, rho and b of the module's equation; b above zero.
    max_panel_rad : float
        Longest panel. [rad]

    Raises
    ------
    SolverError
        If a panel cannot be resolved.
    """
    inward = pull_per_rad_n * in_plane
    rows: list[list[Panel]] = [[] for _ in range(friction.size)]
    at, now = from_rad, np.asarray(tension_n, dtype=float)
    while at < to_rad:
        span = min(to_rad - at, max_panel_rad)
        span = min(
            span,
            min(
                _likely_span(t, k, pull_per_rad_n, phase_rad + at, in_plane, off_plane)
                for t, k in zip(now.tolist(), friction.tolist(), strict=True)
            ),
        )
        if to_rad - at - span < 0.02 * span:
            span = to_rad - at
        while True:
            solved = _panel(
                phase_rad + at, span, now, friction, pull_per_rad_n, in_plane, off_plane
            )
            if solved is not None:
                break
            span *= 0.5
            if span < _SHORTEST_RAD:
                raise SolverError(
                    f"the tension in a bend cannot be resolved near {at:.9g} rad of its turn"
                )
        slope, rise = solved
        for row, start, c, d in zip(rows, now.tolist(), slope.T, rise.T, strict=True):
            row.append(
                Panel(at, span, start, phase_rad, inward, tuple(c.tolist()), tuple(d.tolist()))
            )
        now = now + span * slope[0]
        at = to_rad if span == to_rad - at else at + span
    return tuple(tuple(row) for row in rows)


def _likely_span(
    tension: float, k: float, g: float, theta: float, in_plane: float, off_plane: float
) -> float:
    """Span that the nearest place with no bearing allows, as a first try.

    Ahead of it the panel stays short of it; behind it the panels grow with the distance. Where b
    is not small the series itself shows whether a panel is too long.
    """
    if off_plane > _STEEP_TURN:
        return inf
    v, across = tension - g * in_plane * cos(theta), g * off_plane
    r = hypot(v, across)
    rate = 2.0 * g * in_plane * sin(theta) + k * r
    bend = abs(2.0 * g * in_plane * cos(theta)) + abs(k * rate)
    away = 2.0 * r / (abs(rate) + sqrt(rate * rate + 2.0 * bend * r))
    return (0.8 if v * rate < 0.0 else 2.0) * away * (1.0 + across / r)


def _panel(
    theta: float, span: float, start: Floats, k: Floats, g: float, in_plane: float, off_plane: float
) -> tuple[Floats, Floats] | None:
    """Solve one panel by Newton's method; None where it is too long to be resolved."""
    rule, half = _rule(), span / 2.0
    angle = theta + half * (rule.points + 1.0)
    axial = (g * in_plane * np.sin(angle))[:, None]
    inward = (g * in_plane * np.cos(angle))[:, None]
    across = g * off_plane
    first = np.hypot(start - g * in_plane * cos(theta), across)
    tension = start + (k * first) * (half * (rule.points + 1.0))[:, None]
    tension = tension + (g * in_plane * cos(theta) - inward)
    for _ in range(_ROUNDS):
        bearing = tension - inward
        wall = np.hypot(bearing, across)
        slope = axial + k * wall
        gain = half * k * bearing / wall
        miss = start + half * (rule.integral @ slope) - tension
        growth = np.exp(rule.integral @ gain)
        change = miss + growth * (rule.integral @ (gain * miss / growth))
        tension = tension + change
        size = np.abs(tension).max(axis=0) + half * np.abs(slope).max(axis=0)
        if bool((np.abs(change).max(axis=0) <= _NEWTON * size + _ROUNDING * g).all()):
            break
    else:
        return None
    wall = np.hypot(tension - inward, across)
    slope = axial + k * wall
    coefficients = rule.expand @ slope
    # where tangent and wall force pass zero together, only the rounding of g is left to resolve
    scale = (np.abs(axial) + np.abs(k) * wall).max(axis=0) + _LEAST * g
    noise = _ROUNDING * np.abs(k) * (np.abs(tension).max(axis=0) + g)
    if not bool((np.abs(coefficients[-3:]).max(axis=0) <= _TAIL * scale + noise).all()):
        return None
    return coefficients, half * (rule.raise_degree @ coefficients)


def _series(coefficients: tuple[float, ...], y: float) -> float:
    """Sum a Legendre series by the three-term recurrence run backwards."""
    n = len(coefficients) - 1
    b1 = b2 = 0.0
    for j in range(n, 0, -1):
        b1, b2 = coefficients[j] + (2 * j + 1) / (j + 1) * y * b1 - (j + 1) / (j + 2) * b2, b1
    return coefficients[0] + y * b1 - 0.5 * b2
