"""Arcs of two chords that touch other arcs: each end is proved by a straight or by a neighbor.

Any three vertices lie on a circle, so two chords are an arc only by what they meet: turns a, 2a, a.
Where two such arcs touch, neither has a straight there, and their half turns add up to one vertex,
or cancel where the arcs turn to opposite sides. So each proves the other, as long as a chain of
them ends at straights or at longer runs.

Assumes vertices in order, repeats and vertices on straights dropped. Cost is near linear in
vertices. Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import asin, cos, sin

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.circle_runs import CircleRun, Stretch, bends_on, circle_through
from analyzer.geometry.chords.tangencies import Tangency, meet_line, side_of, tangent_at
from analyzer.geometry.circle_fit import CircleFit
from analyzer.geometry.segments import cross
from analyzer.geometry.vectors import negative, plus, times

__all__ = ["facing_two_chords", "half_turn_fits", "missed_turn_fits", "touching_two_chords"]

_HALF_OFF = 0.5
"""A half turn, or a shared tangent, may be off by this share of the half turn however coarse the
rounding: beyond it nothing is proved."""


def half_turn_fits(stretch: Stretch, vertex: int, edge: int, curvature_per_m: float) -> bool:
    """Return whether a vertex turns about half the angle of a chord beside it.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    vertex, edge : int
        The vertex where an arc would meet its straight, and its first or last chord.
    curvature_per_m : float
        Curvature of the arc. [1/m]
    """
    half = _half_turn(stretch, edge, curvature_per_m)
    return (1.0 - _HALF_OFF) * half < stretch.turn_rad[vertex] < (1.0 + _HALF_OFF) * half


def missed_turn_fits(stretch: Stretch, vertex: int, edge: int, curvature_per_m: float) -> bool:
    """Return whether a vertex turns as one chord inside an arc does whose tangent vertex lacks.

    Between two and three half turns, by how long the straight is.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    vertex, edge : int
        The vertex that the straight is drawn to, and the first or last chord drawn.
    curvature_per_m : float
        Curvature of the arc. [1/m]
    """
    half = _half_turn(stretch, edge, curvature_per_m)
    return (2.0 - _HALF_OFF) * half < stretch.turn_rad[vertex] < (3.0 + _HALF_OFF) * half


def touching_two_chords(
    stretch: Stretch, longer: Sequence[CircleRun], taken: Collection[int]
) -> list[CircleRun]:
    """Return runs of two chords that are tangent at both ends and touch another run at one.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    longer : sequence of CircleRun
        Longer runs that may be arcs.
    taken : collection of int
        Edges that are chords of arcs already.
    """
    n = len(stretch.rows) - 1
    alive: dict[int, CircleRun] = {}
    for first in range(n - 1):
        if first not in taken and first + 1 not in taken and bends_on(stretch, first + 1):
            alive[first] = CircleRun(first, first + 2, _circle_of_two(stretch, first))
    starts, ends = {one.first: one for one in longer}, {one.last: one for one in longer}

    def is_held(one: CircleRun) -> bool:
        before = ends.get(one.first), alive.get(one.first - 2)
        after = starts.get(one.last), alive.get(one.last)
        return all(
            _meets_straight(stretch, one, taken, forward=way)
            or any(_touches(stretch, one, other, forward=way) for other in others)
            for way, others in ((True, before), (False, after))
        )

    doubtful = list(alive)
    while doubtful:
        first = doubtful.pop()
        if first in alive and not is_held(alive[first]):
            del alive[first]
            doubtful += [first - 2, first + 2]
    return [
        one
        for one in alive.values()
        if not all(_meets_straight(stretch, one, taken, forward=way) for way in (True, False))
        and circle_through(stretch, one.first, one.last) is not None
    ]


def facing_two_chords(
    stretch: Stretch, longer: Sequence[CircleRun], taken: Collection[int]
) -> list[tuple[CircleRun, CircleRun]]:
    """Return neighboring runs, one straight apart, one or both of two equal chords.

    Where one lacks the tangent vertex on that straight, its other end shows no tangent either: only
    a line tangent to both can be the straight.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    longer : sequence of CircleRun
        Longer runs that are arcs.
    taken : collection of int
        Edges that are no chords of two.
    """
    pairs: list[CircleRun] = []
    for first in range(1, len(stretch.rows) - 3):
        if first in taken or first + 1 in taken or not bends_on(stretch, first + 1):
            continue
        curvature = stretch.curvature_per_m[first + 1]
        a, b = stretch.legs[first : first + 2]
        if abs(a - b) <= _HALF_OFF * min(a, b) and all(
            half_turn_fits(stretch, vertex, first, curvature)
            or missed_turn_fits(stretch, vertex, first, curvature)
            for vertex in (first, first + 2)
        ):
            pairs.append(CircleRun(first, first + 2, _circle_of_two(stretch, first)))
    found = []
    for ones, others in ((pairs, pairs), (pairs, longer), (longer, pairs)):
        starts = {other.first: other for other in others}
        found += [
            (one, starts[one.last + 1])
            for one in ones
            if one.last + 1 in starts and not {one.last, one.last + 1} & stretch.locked
        ]
    return found


def _half_turn(stretch: Stretch, edge: int, curvature_per_m: float) -> float:
    return asin(min(stretch.legs[edge] * curvature_per_m / 2.0, 1.0))


def _circle_of_two(stretch: Stretch, first: int) -> CircleFit:
    """Circle through three vertices; the middle one turns."""
    axis, curvature = stretch.axis[first + 1], stretch.curvature_per_m[first + 1]
    along, half = stretch.directions[first], _half_turn(stretch, first, curvature)
    inward = plus(times(cross(axis, along), cos(half)), along, sin(half))
    center = plus(stretch.rows[first], inward, 1.0 / curvature)
    return CircleFit(center, axis, 1.0 / curvature, 0.0, 0.0)


def _meets_straight(
    stretch: Stretch, one: CircleRun, taken: Collection[int], *, forward: bool
) -> bool:
    vertex, chord = (one.first, one.first) if forward else (one.last, one.last - 1)
    beside = one.first - 1 if forward else one.last
    inner = 0 < vertex < len(stretch.rows) - 1
    if beside in taken or (
        inner and not half_turn_fits(stretch, vertex, chord, 1.0 / one.circle.radius_m)
    ):
        return False
    side = side_of(stretch, one, {}, {}, forward=forward)
    axis = one.circle.axis if forward else negative(one.circle.axis)
    end = meet_line(side, one.circle, axis, stretch.rounding_m)
    return end is not None and end.tangency is Tangency.STRAIGHT


def _touches(stretch: Stretch, one: CircleRun, other: CircleRun | None, *, forward: bool) -> bool:
    """Whether a run goes on from another of another circle, or into it."""
    if other is None:
        return False
    starts, ends = ({}, {one.first: other}) if forward else ({one.last: other}, {})
    side = side_of(stretch, one, starts, ends, forward=forward)
    axis = one.circle.axis if forward else negative(one.circle.axis)
    end = meet_line(side, one.circle, axis, stretch.rounding_m)
    if end is None or end.tangency is not Tangency.TOUCHING:
        return False
    vertex = one.first if forward else one.last
    tangents = [tangent_at(run.circle, stretch.rows[vertex]) for run in (one, other)]
    half = _half_turn(stretch, vertex if forward else vertex - 1, 1.0 / one.circle.radius_m)
    if angle_between(*tangents) > _HALF_OFF * half:
        return False
    first, last = min(one.first, other.first), max(one.last, other.last)
    return circle_through(stretch, first, last) is None
