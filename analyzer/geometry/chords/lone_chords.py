"""Arcs of two chords that lack a tangent vertex: one chord is left, between two corners.

An arc of two chords turns a, 2a, a. Where the first vertex is left out, the straight runs to the
middle one, and two corners are left: some 3a, and a. Two corners draw that too, but only where the
second chord, laid back from the middle vertex, ends on the very line that is tangent to the circle.
How near it ends is held against what rounding moves it, found by moving each of the four vertices.

Assumes vertices in order, repeats and vertices on straights dropped. Cost is linear in vertices.
Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, degrees, inf, pi, sin, sqrt, tan

import numpy as np

from analyzer.geometry.chords.chord_runs import FREE_CORNER_RAD, ROOMY
from analyzer.geometry.chords.circle_runs import MAX_CHORD_RAD
from analyzer.geometry.chords.corner_chords import HAND_APART
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.polyline import turns
from analyzer.geometry.segments import Floats
from analyzer.geometry.vectors import negative, to_vector
from analyzer.units import show_short

__all__ = ["lone_chords"]

_LEAST_RATIO, _MOST_RATIO = 2.0, 3.2
"""Turn at the middle vertex over a half turn: 3 where the straight is long, about 3 - 1 / (k + 1)
where it is k chords long."""

_STRAIGHT_CHORDS, _STRAIGHT_FROM_CORNER = 1.5, 3.0
"""Chords of straight before the arc at least, and where it comes from another corner.

Without any the tangent point falls on the vertex before: none was left out, and any two corners of
turns 2a and a with equal legs draw that. The shorter it is, the more the arc turns beyond the
corners drawn, and the more turns of corners fall into place by chance.
"""

_UNTOLD = 0.25
"""Share of the chord from which rounding alone lets the missing vertex fall into place."""

_SHARP = 0.005
"""Share of the chord below which corners do not fall into place by chance."""


@dataclass(frozen=True, slots=True)
class _Arc:
    """The arc that a chord and the line after it tell, and the line tangent to it from before.

    `excess_m` is how much longer its missing chord is than the one drawn, `aside_m` how far the
    point before stands off its plane, `straight_m` how far before the arc.
    """

    tangent_m: Floats
    before: Floats
    after: Floats
    center_m: Floats
    axis: Floats
    radius_m: float
    half_rad: float
    angle_rad: float
    excess_m: float
    aside_m: float
    straight_m: float


def lone_chords(
    points_m: Floats,
    eps: float,
    free: Sequence[int],
    corner_radius_m: float | None,
    forced: bool,
) -> tuple[list[ChordRun], list[Doubt]]:
    """Return arcs of two chords of which one is drawn whole, since a tangent vertex is left out.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    eps : float
        Rounding of the coordinates. [m]
    free : sequence of int
        Vertices that no arc takes.
    corner_radius_m : float or None
        Radius a corner would get. [m]
    forced : bool
        Whether chords were asked for.

    Returns
    -------
    list of ChordRun, list of Doubt
        The arcs read, and what could be read another way: without being asked for, an arc is read
        only where rounding leaves no chance, and where corners have no ample room. One that was
        asked for is told where its corners stand far apart for their radius.
    """
    runs: list[ChordRun] = []
    doubts: list[Doubt] = []
    if len(free) < 2:
        return runs, doubts
    turn, _ = turns(points_m)
    corners = frozenset(free)
    for first, second in pairwise(free):
        if second != first + 1 or (runs and runs[-1].last >= first):
            continue
        a, b = float(turn[first - 1]), float(turn[second - 1])
        if not _LEAST_RATIO * min(a, b) < max(a, b) < _MOST_RATIO * min(a, b):
            continue
        four = points_m[first - 1 : second + 2]
        backward = b > a
        four = four[::-1] if backward else four
        arc = _arc_of(four)
        # the tangent point may be the other end of the chord: then nothing turns
        if arc is None or abs(arc.angle_rad - 4.0 * arc.half_rad) > arc.half_rad:
            continue
        if 2.0 * arc.half_rad >= MAX_CHORD_RAD:
            continue
        leg = float(np.linalg.norm(four[2] - four[1]))
        from_corner = (second + 1 if backward else first - 1) in corners
        if arc.straight_m < (_STRAIGHT_FROM_CORNER if from_corner else _STRAIGHT_CHORDS) * leg:
            continue
        excess, aside = _moved_by(four, arc, eps)
        loose = 1e-6 * leg + excess
        if loose > _UNTOLD * leg or abs(arc.excess_m) > loose:
            continue
        if abs(arc.aside_m) > 1e-6 * leg + aside:
            continue
        run = _run_of(arc, four, first, backward=backward)
        roomy = (
            corner_radius_m is not None
            and leg >= ROOMY * corner_radius_m * (tan(a / 2.0) + tan(b / 2.0))
            and 2.0 * arc.half_rad >= FREE_CORNER_RAD
        )
        sharp = loose <= _SHARP * leg
        reads = forced or (sharp and not roomy)
        if reads:
            runs.append(run)
        natural = corner_radius_m is None or leg < HAND_APART * corner_radius_m
        if not forced:
            doubts.append(_doubt(run, (a, b), leg, reads=reads, natural=sharp or natural))
        elif not natural:
            doubts.append(_far_apart(run, (a, b), leg))
    return runs, doubts


def _arc_of(four: Floats) -> _Arc | None:
    """Return the arc through the two middle points that is tangent to the line after them."""
    before, one, two, after = four
    chord, leave = two - one, after - two
    length = float(np.linalg.norm(chord))
    leave = leave / np.linalg.norm(leave)
    axis = np.cross(chord, leave)
    size = float(np.linalg.norm(axis))
    if size < 1e-9 * length:
        return None
    axis = axis / size
    half = atan2(size, float(chord @ leave))
    radius = length / (2.0 * sin(half))
    center = two + radius * np.cross(axis, leave)
    out = before - center
    out = out - (out @ axis) * axis
    off = float(np.linalg.norm(out))
    if off <= radius:
        return None
    # the tangent point stands where the radius meets the line from before at a right angle
    toward = out / off
    share = radius / off
    onward = np.cross(axis, toward)
    spoke = share * toward + np.sqrt(1.0 - share**2) * onward
    tangent = center + radius * spoke
    into = np.cross(axis, spoke)
    missing = float(np.linalg.norm(one - tangent))
    angle = atan2(float(axis @ np.cross(into, leave)), float(into @ leave)) % (2.0 * pi)
    aside = float((before - one) @ axis)
    straight = float((tangent - before) @ into)
    excess = missing - length
    return _Arc(tangent, into, leave, center, axis, radius, half, angle, excess, aside, straight)


def _moved_by(four: Floats, was: _Arc, eps: float) -> tuple[float, float]:
    """How far rounding of the four points moves the excess of the chord, and the first point."""
    excess = aside = 0.0
    step = 0.1 * max(eps, 1e-9)
    for row in range(4):
        for axis in range(3):
            moved = four.copy()
            moved[row, axis] += step
            arc = _arc_of(moved)
            if arc is None:
                return inf, inf
            excess += ((arc.excess_m - was.excess_m) / step) ** 2
            aside += ((arc.aside_m - was.aside_m) / step) ** 2
    return eps * sqrt(excess), eps * sqrt(aside)


def _run_of(arc: _Arc, four: Floats, first: int, *, backward: bool) -> ChordRun:
    """Return the arc as a run of one chord, the way the points go."""
    tangent = RunEnd(to_vector(arc.tangent_m), to_vector(arc.before), Tangency.POINT)
    vertex = RunEnd(to_vector(four[2]), to_vector(arc.after), Tangency.STRAIGHT)
    axis = to_vector(arc.axis)
    start, end = tangent, vertex
    if backward:
        axis = negative(axis)
        start, end = (replace(one, direction=negative(one.direction)) for one in (vertex, tangent))
    center = to_vector(arc.center_m)
    return ChordRun(first, first + 1, start, end, arc.angle_rad, arc.radius_m, axis, center, 1)


def _doubt(
    run: ChordRun, turns_rad: tuple[float, float], leg_m: float, *, reads: bool, natural: bool
) -> Doubt:
    corners, lacks, arc = _in_words(run, turns_rad, leg_m)
    if reads:
        text = (
            f"{corners}, are {lacks} and are read as one arc of {arc}: "
            'read_as = "corners" in the job reads two bends, read_as = "chords" confirms the arc'
        )
    else:
        text = (
            f"{corners}, are read as two bends; an arc of {arc} in {lacks} draws the same: "
            'read_as = "chords" in the job reads one arc, "corners" confirms two bends'
        )
    return Doubt(run.first, text, reads or natural)


def _far_apart(run: ChordRun, turns_rad: tuple[float, float], leg_m: float) -> Doubt:
    """Return the doubt of an arc that was asked for, where corners have ample room."""
    corners, lacks, arc = _in_words(run, turns_rad, leg_m)
    drawn = f"{degrees(sum(turns_rad)):.4g}°"
    text = (
        f"{corners}, are {lacks} and are read as one arc of {arc}, since the job says read_as = "
        f'"chords". If they are two bends, which turn by {drawn}, that is wrong: draw the arcs of '
        'the run as arcs and give it read_as = "corners"'
    )
    return Doubt(run.first, text, True)


def _in_words(run: ChordRun, turns_rad: tuple[float, float], leg_m: float) -> tuple[str, str, str]:
    """Return the two corners, what they lack, and the arc they may be, as messages name them."""
    a, b = (f"{degrees(turn):.4g}°" for turn in turns_rad)
    arc = f"{degrees(run.angle_rad):.4g}° and radius {show_short(run.radius_m)}"
    corners = f"corners of {a} and {b}, {show_short(leg_m)} apart"
    return corners, "two chords whose tangent vertex is left out", arc
