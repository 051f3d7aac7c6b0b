"""Tension through an arc where friction falls once the conductors press harder than a threshold.

The friction at each place follows the sidewall pressure at that same place: the ordinary value up
to the threshold, the smaller one above it. At a given radius the threshold is a tension, so the
arc is cut where the tension passes it, and each part has one friction. Where the ordinary value
would raise the tension at the threshold and the smaller one would let it fall, as on an arc that
goes down, the tension stays at the threshold until one of the two wins. This is the one solution
in which friction follows pressure, and a larger tension going in never gives a smaller one coming
out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import cos, radians, sin, sqrt

from analyzer.pulling.sign_change import root_between
from analyzer.pulling.stretches import ArcShape, Line, Stretch, trace_arc
from analyzer.pulling.tilted_arc import MAX_PANEL_RAD

__all__ = ["PressedPart", "trace_pressed_arc"]

PressedPart = tuple[float, float, tuple[Stretch, ...]]
"""Part of an arc with one friction: its ends as angles of the whole arc, and its stretches, whose
places count from the start of the part."""

_TOLERANCE = 1e-12
_STEP_RAD = radians(0.25)
_MOST_PARTS = 32


def trace_pressed_arc(
    arc: ArcShape,
    weight_n_per_m: float,
    tension_n: float,
    friction: float,
    pressed_friction: float,
    threshold_n: float,
    max_panel_rad: float = MAX_PANEL_RAD,
) -> tuple[PressedPart, ...]:
    """Return the parts of an arc, each with one friction.

    Parameters
    ----------
    arc : ArcShape
        How it lies.
    weight_n_per_m, tension_n : float
        Weight per length [N/m], tension at the start [N].
    friction, pressed_friction : float
        Effective friction up to the threshold, and above it: the second is not the larger.
    threshold_n : float
        Tension at which the conductors press as hard as the threshold says. [N]
    max_panel_rad : float
        Longest panel on a tilted arc. [rad]
    """
    g = weight_n_per_m * arc.radius_m
    parts: list[PressedPart] = []
    at, tension = 0.0, tension_n
    while at < arc.angle_rad:
        rest = _from(arc, at)
        is_last = len(parts) >= _MOST_PARTS
        pressed = tension > threshold_n
        if tension == threshold_n and not is_last:
            rising = _slope(arc, g, threshold_n, pressed_friction, at) >= 0.0
            if not rising and _slope(arc, g, threshold_n, friction, at) > 0.0:
                end = _held_until(arc, g, threshold_n, friction, pressed_friction, at)
                held = Stretch(0.0, end - at, tension, tension, Line(0.0, tension, 0.0))
                parts.append((at, end, (held,)))
                at = end
                continue
            pressed = rising
        k = pressed_friction if pressed and not is_last else friction
        (found,) = trace_arc(rest, weight_n_per_m, [tension], [k], max_panel_rad)
        place = None if is_last else _first_beyond(found, threshold_n, pressed)
        if place is None or at + place >= arc.angle_rad:
            parts.append((at, arc.angle_rad, found))
            break
        if place > 0.0:
            short = replace(rest, angle_rad=place)
            (found,) = trace_arc(short, weight_n_per_m, [tension], [k], max_panel_rad)
            last = replace(found[-1], exit_tension_n=threshold_n)
            parts.append((at, at + place, (*found[:-1], last)))
        else:
            parts.append((at, at, ()))
        at, tension = at + place, threshold_n
    return tuple(part for part in parts if part[2])


def _from(arc: ArcShape, at: float) -> ArcShape:
    if at == 0.0:
        return arc
    return replace(arc, angle_rad=arc.angle_rad - at, phase_rad=arc.phase_rad + at)


def _slope(arc: ArcShape, g: float, tension: float, k: float, place: float) -> float:
    """Change of tension per angle at a place of the arc. [N]"""
    theta = arc.phase_rad + place
    along, inward = arc.in_plane * sin(theta), arc.in_plane * cos(theta)
    bearing = sqrt((tension - g * inward) ** 2 + (g * arc.off_plane) ** 2)
    return g * along + k * bearing


def _held_until(
    arc: ArcShape, g: float, threshold: float, k: float, pressed_k: float, at: float
) -> float:
    """Return where the tension leaves the threshold, on which it is held from a place."""

    def falls(place: float) -> float:
        return _slope(arc, g, threshold, k, place)

    def rises(place: float) -> float:
        return _slope(arc, g, threshold, pressed_k, place)

    low = at
    while low < arc.angle_rad:
        high = min(low + _STEP_RAD, arc.angle_rad)
        ends = []
        if falls(high) <= 0.0:
            ends.append(root_between(falls, low, high))
        if rises(high) >= 0.0:
            ends.append(root_between(rises, low, high))
        if ends:
            return max(min(ends), at + 1e-12)
        low = high
    return arc.angle_rad


def _first_beyond(stretches: Sequence[Stretch], threshold: float, pressed: bool) -> float | None:
    """Return where the tension first leaves the side of the threshold it started on."""
    sign = -1.0 if pressed else 1.0
    room = _TOLERANCE * threshold
    for stretch in stretches:
        places = [stretch.start, *stretch.form.turning_places(), stretch.end]
        values = [stretch.entry_tension_n]
        values += [stretch.form.tension_at(place) for place in places[1:-1]]
        values.append(stretch.exit_tension_n)
        for (low, before), (high, after) in pairwise(zip(places, values, strict=True)):
            if sign * (after - threshold) <= room:
                continue
            if sign * (before - threshold) >= 0.0:
                return low
            form = stretch.form
            return root_between(lambda x, form=form: form.tension_at(x) - threshold, low, high)  # type: ignore[misc]
    return None
