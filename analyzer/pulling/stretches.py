"""Tension through one straight or one arc, cut into stretches of one law each.

Within a stretch the conductors either run slack, or bear on one side of the raceway and follow
one formula: a line on a straight, a closed form on an arc in a level or vertical plane, a
Legendre series on any other arc. The places where the law changes are found exactly:

- slack can begin only where w t_z + k |w z_perp| < 0, that is where t_z < -k / sqrt(1 + k²),
  and there the tension passes zero at most once, so a sign at the end of that part decides;
- it ends where that part ends, which is known beforehand;
- in a vertical plane the bearing T - G cos(theta + x) passes zero at most once between two
  places where the tangent is level, because its rate there is 2 G sin(theta + x).

Symbols: k effective friction (negative for the string held back, going backwards), G = w R,
theta the phase of the arc, x the angle turned since its start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import asin, asinh, atan, ceil, cos, cosh, exp, expm1, floor, pi, sin, sinh, sqrt

import numpy as np

from analyzer.pulling.sign_change import root_between
from analyzer.pulling.tilted_arc import MAX_PANEL_RAD, Panel, integrate_tilted_arc

__all__ = [
    "ArcShape",
    "ClosedForm",
    "Form",
    "Line",
    "Slack",
    "Stretch",
    "trace_arc",
    "trace_straight",
]

_VERTICAL = 1e-10  # off-plane part below which an arc is vertical: the error is below 1e-15 w R
_LEVEL = 1e-15  # in-plane part below which an arc is level
_ROUNDING = 1e-15


@dataclass(frozen=True, slots=True)
class Slack:
    """The conductors run by themselves: no tension."""

    def tension_at(self, place: float) -> float:
        """Return 0. [N]"""
        return 0.0

    def turning_places(self) -> tuple[float, ...]:
        """Return nothing: slack has no extreme."""
        return ()

    def contact_places(self) -> tuple[float, ...]:
        """Return nothing: no contact changes inside."""
        return ()


@dataclass(frozen=True, slots=True)
class Line:
    """Tension that grows evenly: `start` [m], `tension_n` there, `rate` [N/m]."""

    start: float
    tension_n: float
    rate: float

    def tension_at(self, place: float) -> float:
        """Return the tension at a distance from the start of the straight. [N]"""
        return self.tension_n + self.rate * (place - self.start)

    def turning_places(self) -> tuple[float, ...]:
        """Return nothing: a line has no extreme inside."""
        return ()

    def contact_places(self) -> tuple[float, ...]:
        """Return nothing: no contact changes inside."""
        return ()


@dataclass(frozen=True, slots=True)
class ClosedForm:
    """Tension on an arc in a level or vertical plane while it bears on one side.

    Attributes
    ----------
    start, end : float
        Angles from the start of the arc. [rad]
    tension_n : float
        Tension at `start`. [N]
    k : float
        Effective friction; on the outer wall of a vertical arc its negative.
    pull_per_rad_n : float
        G = weight per length times radius. [N]
    phase_rad : float or None
        theta of the arc, in a vertical plane the inclination of the tangent at its start
        (bottom bends rise, top bends have it turned by pi); None in a level plane.
    """

    start: float
    end: float
    tension_n: float
    k: float
    pull_per_rad_n: float
    phase_rad: float | None

    def tension_at(self, place: float) -> float:
        """Return the tension at an angle from the start of the arc. [N]"""
        x, k, g, t0 = place - self.start, self.k, self.pull_per_rad_n, self.tension_n
        if self.phase_rad is None:
            if g == 0.0:
                return t0 * exp(k * x)
            return t0 * cosh(k * x) + sqrt(t0 * t0 + g * g) * sinh(k * x)
        theta = self.phase_rad + self.start
        # differences written as products: keeps the digits of flat arcs of large radius
        d_cos = -2.0 * sin(theta + 0.5 * x) * sin(0.5 * x)
        d_sin = 2.0 * cos(theta + 0.5 * x) * sin(0.5 * x)
        q = g / (1.0 + k * k)
        base = q * ((k * k - 1.0) * cos(theta) - 2.0 * k * sin(theta))
        gain = q * ((k * k - 1.0) * d_cos - 2.0 * k * d_sin)
        return t0 + (t0 - base) * expm1(k * x) + gain

    def turning_places(self) -> tuple[float, ...]:
        """Return the angles inside where the tension has an extreme. [rad]

        The slope s(x) of a vertical arc passes zero at most once between the angles where
        cos + k sin of the inclination is zero.
        """
        theta, k, g = self.phase_rad, self.k, self.pull_per_rad_n
        if theta is None or g == 0.0:
            return ()

        def slope(place: float) -> float:
            bearing = self.tension_at(place) - g * cos(theta + place)
            return g * sin(theta + place) + k * bearing

        zero = 0.5 * pi + atan(k)
        cuts = [self.start, *_repeats(zero, pi, theta, self.start, self.end), self.end]
        places = []
        for low, high in pairwise(cuts):
            a, b = slope(low), slope(high)
            if a * b < 0.0:
                places.append(root_between(slope, low, high))
            elif b == 0.0 and high < self.end:
                places.append(high)
        return tuple(places)

    def contact_places(self) -> tuple[float, ...]:
        """Return nothing: the arc is cut where the contact changes."""
        return ()


@dataclass(frozen=True, slots=True)
class _Series:
    """Tension on a tilted arc: part of a panel."""

    panel: Panel
    start: float
    end: float

    def tension_at(self, place: float) -> float:
        return self.panel.tension_at(place)

    def turning_places(self) -> tuple[float, ...]:
        return tuple(x for x in self.panel.turning_angles if self.start < x < self.end)

    def contact_places(self) -> tuple[float, ...]:
        return tuple(x for x in self.panel.contact_angles() if self.start < x < self.end)


Form = Slack | Line | ClosedForm | _Series


@dataclass(frozen=True, slots=True)
class Stretch:
    """Part of a straight or an arc with one law of tension.

    Attributes
    ----------
    start, end : float
        Places along it: distance on a straight [m], angle on an arc [rad], from where the
        conductors enter.
    entry_tension_n, exit_tension_n : float
        Tension at both. [N]
    form : Form
        The law between them.
    """

    start: float
    end: float
    entry_tension_n: float
    exit_tension_n: float
    form: Form


@dataclass(frozen=True, slots=True)
class ArcShape:
    """How an arc lies to gravity, in the direction of the pull.

    Attributes
    ----------
    angle_rad, radius_m : float
        Turn and radius. [rad] [m]
    phase_rad : float
        theta: the upward part of the tangent is in_plane * sin(theta + x). [rad]
    in_plane, off_plane : float
        Parts of the upward unit vector in the plane of the arc and normal to it.
    """

    angle_rad: float
    radius_m: float
    phase_rad: float
    in_plane: float
    off_plane: float

    @property
    def is_level(self) -> bool:
        """Whether its plane is level."""
        return self.in_plane < _LEVEL

    @property
    def is_vertical(self) -> bool:
        """Whether its plane is vertical."""
        return self.off_plane < _VERTICAL


def trace_straight(
    length_m: float, up: float, across: float, weight_n_per_m: float, tension_n: float, k: float
) -> tuple[Stretch, ...]:
    """Return the stretches of a straight.

    Parameters
    ----------
    length_m : float
        Its length. [m]
    up, across : float
        Vertical and horizontal part of the unit tangent.
    weight_n_per_m, tension_n, k : float
        Weight per length [N/m], tension at the start [N], effective friction.
    """
    rate = weight_n_per_m * (up + k * across)
    end_tension = tension_n + rate * length_m
    if end_tension >= 0.0:
        return (Stretch(0.0, length_m, tension_n, end_tension, Line(0.0, tension_n, rate)),)
    runs_from = min(tension_n / -rate, length_m)
    slack = Stretch(runs_from, length_m, 0.0, 0.0, Slack())
    if runs_from == 0.0:
        return (slack,)
    return (Stretch(0.0, runs_from, tension_n, 0.0, Line(0.0, tension_n, rate)), slack)


def trace_arc(
    arc: ArcShape,
    weight_n_per_m: float,
    tension_n: Sequence[float],
    friction: Sequence[float],
    max_panel_rad: float = MAX_PANEL_RAD,
) -> tuple[tuple[Stretch, ...], ...]:
    """Return the stretches of an arc for each friction value.

    Parameters
    ----------
    arc : ArcShape
        How it lies.
    weight_n_per_m : float
        Weight per length of all conductors. [N/m]
    tension_n, friction : sequence of float
        Tension at the start [N] and effective friction, one of each per result.
    max_panel_rad : float
        Longest panel on a tilted arc. [rad]
    """
    g = weight_n_per_m * arc.radius_m
    pairs = list(zip(tension_n, friction, strict=True))
    if g == 0.0 or arc.is_level:
        return tuple(_level(arc, g, t, k) for t, k in pairs)
    if arc.is_vertical:
        return tuple(_vertical(arc, g, t, k) for t, k in pairs)
    return _tilted(arc, g, pairs, max_panel_rad)


def _repeats(first: float, period: float, phase: float, low: float, high: float) -> list[float]:
    """Places strictly between low and high where phase + place is first plus whole periods."""
    n = ceil((phase + low - first) / period)
    places = []
    while (place := first + n * period - phase) < high:
        if place > low:
            places.append(place)
        n += 1
    return places


def _steep_parts(arc: ArcShape, k: float) -> list[tuple[float, float]]:
    """Parts of an arc where slack conductors stay slack: t_z below -k / sqrt(1 + k²)."""
    q = k / sqrt(1.0 + k * k)
    if q >= arc.in_plane:
        return []
    if q <= -arc.in_plane:
        return [(0.0, arc.angle_rad)]
    half = asin(q / arc.in_plane)
    n = floor((arc.phase_rad - 2.0 * pi + half) / (2.0 * pi))
    parts = []
    while (low := pi + half + 2.0 * pi * n - arc.phase_rad) < arc.angle_rad:
        high = low + pi - 2.0 * half
        low, high = max(low, 0.0), min(high, arc.angle_rad)
        if low < high:
            parts.append((low, high))
        n += 1
    return parts


def _cuts(arc: ArcShape, steep: list[tuple[float, float]]) -> list[tuple[float, float, bool]]:
    """Cut the arc at the ends of its steep parts: start, end, whether steep."""
    cuts, at = [], 0.0
    for low, high in steep:
        if low > at:
            cuts.append((at, low, False))
        cuts.append((low, high, True))
        at = high
    if at < arc.angle_rad:
        cuts.append((at, arc.angle_rad, False))
    return cuts


def _level(arc: ArcShape, g: float, tension: float, k: float) -> tuple[Stretch, ...]:
    angle = arc.angle_rad
    if g > 0.0 and k < 0.0 and tension <= g * sinh(-k * angle):
        runs_from = min(asinh(tension / g) / -k, angle)
        slack = Stretch(runs_from, angle, 0.0, 0.0, Slack())
        if runs_from == 0.0:
            return (slack,)
        form = ClosedForm(0.0, runs_from, tension, k, g, None)
        if runs_from == angle:
            return (Stretch(0.0, angle, tension, 0.0, form),)
        return (Stretch(0.0, runs_from, tension, 0.0, form), slack)
    form = ClosedForm(0.0, angle, tension, k, g, None)
    return (Stretch(0.0, angle, tension, max(form.tension_at(angle), 0.0), form),)


def _vertical(arc: ArcShape, g: float, tension: float, k: float) -> tuple[Stretch, ...]:
    done: list[Stretch] = []
    for start, end, is_steep in _cuts(arc, _steep_parts(arc, k)):
        places = [start, *_repeats(0.0, pi, arc.phase_rad, start, end), end]
        for low, high in pairwise(places):
            done += _vertical_part(arc, g, tension, k, low, high, is_steep)
            tension = done[-1].exit_tension_n
    return tuple(done)


def _vertical_part(
    arc: ArcShape, g: float, tension: float, k: float, low: float, high: float, is_steep: bool
) -> list[Stretch]:
    """Stretches of a part that is steep or not throughout, with no level tangent inside."""
    if is_steep and tension == 0.0:
        return [Stretch(low, high, 0.0, 0.0, Slack())]
    done: list[Stretch] = []
    for form in _bearing_forms(arc, g, tension, k, low, high):
        reached = form.tension_at(form.end)
        if is_steep and reached <= 0.0:
            return done + _falling_slack(form, tension, high)
        reached = max(reached, 0.0)
        done.append(Stretch(form.start, form.end, tension, reached, form))
        tension = reached
    return done


def _falling_slack(form: ClosedForm, tension: float, high: float) -> list[Stretch]:
    """Stretches of a steep part from where its tension falls to zero: taut, then slack."""
    zero = root_between(form.tension_at, form.start, form.end)
    done: list[Stretch] = []
    if zero > form.start:
        taut = replace(form, end=zero)  # no extreme beyond its end
        done.append(Stretch(form.start, zero, tension, 0.0, taut))
    if zero < high:
        done.append(Stretch(zero, high, 0.0, 0.0, Slack()))
    return done


def _bearing_forms(
    arc: ArcShape, g: float, tension: float, k: float, low: float, high: float
) -> tuple[ClosedForm, ...]:
    """One or two closed forms: the conductors change sides at most once between two cuts."""
    theta = arc.phase_rad
    settled = 1.0 if sin(theta + 0.5 * (low + high)) > 0.0 else -1.0

    def bearing(place: float) -> float:
        return first.tension_at(place) - g * cos(theta + place)

    after = ClosedForm(low, high, tension, settled * k, g, theta)
    now = tension - g * cos(theta + low)
    if now * settled >= -_ROUNDING * (tension + g):
        return (after,)
    first = ClosedForm(low, high, tension, -settled * k, g, theta)
    if bearing(high) * settled <= 0.0:
        return (first,)
    change = root_between(bearing, low, high)
    reached = first.tension_at(change)
    return (
        ClosedForm(low, change, tension, -settled * k, g, theta),
        ClosedForm(change, high, reached, settled * k, g, theta),
    )


def _tilted(
    arc: ArcShape, g: float, pairs: list[tuple[float, float]], max_panel_rad: float
) -> tuple[tuple[Stretch, ...], ...]:
    results: list[tuple[Stretch, ...]] = [()] * len(pairs)
    steep = [_steep_parts(arc, k) for _, k in pairs]
    # all that may stay taut go through together; those that fall slack again one by one
    together = [i for i, (t, _) in enumerate(pairs) if t > 0.0 or not steep[i]]
    if together:
        rows = _panels(arc, g, [pairs[i] for i in together], 0.0, arc.angle_rad, max_panel_rad)
        for i, panels in zip(together, rows, strict=True):
            if all(_tension_on(panels, high) > 0.0 for _, high in steep[i]):
                results[i] = _taut(panels)
    for i, (tension, k) in enumerate(pairs):
        if results[i]:
            continue
        done: list[Stretch] = []
        for low, high, is_steep in _cuts(arc, steep[i]):
            done.extend(_tilted_part(arc, g, tension, k, low, high, is_steep, max_panel_rad))
            tension = done[-1].exit_tension_n
        results[i] = tuple(done)
    return tuple(results)


def _tilted_part(
    arc: ArcShape,
    g: float,
    tension: float,
    k: float,
    low: float,
    high: float,
    is_steep: bool,
    max_panel_rad: float,
) -> tuple[Stretch, ...]:
    if is_steep and tension == 0.0:
        return (Stretch(low, high, 0.0, 0.0, Slack()),)
    taut = _taut(_panels(arc, g, [(tension, k)], low, high, max_panel_rad)[0])
    if not is_steep or taut[-1].exit_tension_n > 0.0:
        return taut
    done: list[Stretch] = []
    for stretch in taut:
        form = stretch.form
        if not isinstance(form, _Series):
            continue
        if form.tension_at(stretch.end) > 0.0:
            done.append(stretch)
            continue
        zero = stretch.start
        if form.tension_at(zero) > 0.0:
            zero = root_between(form.tension_at, stretch.start, stretch.end)
            cut = _Series(form.panel, stretch.start, zero)
            done.append(Stretch(stretch.start, zero, stretch.entry_tension_n, 0.0, cut))
        if zero < high:
            done.append(Stretch(zero, high, 0.0, 0.0, Slack()))
        break
    return tuple(done)


def _panels(
    arc: ArcShape,
    g: float,
    pairs: list[tuple[float, float]],
    low: float,
    high: float,
    max_panel_rad: float,
) -> tuple[tuple[Panel, ...], ...]:
    tensions = np.array([t for t, _ in pairs], dtype=float)
    frictions = np.array([k for _, k in pairs], dtype=float)
    return integrate_tilted_arc(
        low, high, tensions, frictions, g, arc.phase_rad, arc.in_plane, arc.off_plane,
        max_panel_rad,
    )  # fmt: skip


def _tension_on(panels: tuple[Panel, ...], place: float) -> float:
    for panel in panels:
        if place <= panel.end_rad:
            return panel.tension_at(place)
    return panels[-1].tension_at(panels[-1].end_rad)


def _taut(panels: tuple[Panel, ...]) -> tuple[Stretch, ...]:
    """Stretches of panels that stay taut; the exit is the entry of the next."""
    ends = [panel.start_tension_n for panel in panels[1:]]
    last = panels[-1]
    ends.append(last.start_tension_n + last.span_rad * last.slope[0])
    return tuple(
        Stretch(
            panel.start_rad,
            panel.end_rad,
            panel.start_tension_n,
            max(end, 0.0),
            _Series(panel, panel.start_rad, panel.end_rad),
        )
        for panel, end in zip(panels, ends, strict=True)
    )
