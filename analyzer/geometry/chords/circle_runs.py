"""Runs of vertices that lie on one circle, the raw material of arcs drawn in chords.

Assumes vertices in order, repeats and vertices on straights dropped. A run is grown while its
curvature stays, as far as rounding lets one tell, and proved by one circle fit. Cost is near linear
in vertices.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import radians, sin

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.circle_fit import CircleFit, fit_circle
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats, Vector, dot

__all__ = [
    "EXACT_RAD",
    "MAX_CHORD_RAD",
    "CircleRun",
    "Stretch",
    "bends_on",
    "circle_runs",
    "circle_through",
    "grow_run",
    "is_poor",
    "perhaps_chords",
    "stretch_of",
]

MAX_CHORD_RAD = radians(46.0)
"""Largest step of one chord: 45° and a little for rounding. [rad]"""

_ALIKE = 0.2
"""Curvatures of corners in a row differ by so much at most where they may be of one arc."""

_LAWFUL = 0.02
"""Turns of all corners of an arc are off the law of chords by so much of a half step at most; own
estimate, well above what full precision leaves and below what two legs share by chance."""

EXACT_RAD = 1e-7
"""Directions closer than this are one, before rounding is allowed for. [rad]"""

_ON_CIRCLE = 2.0
"""Roundings that vertices may stand off their circle. Own choice."""

_POOR_FIT = 0.9
"""Roundings off its circle from which a run fits worse than rounding alone would leave it. Own
choice."""

_SHORT_RUN = 4
"""Chords up to which a run may be an accident that hides a longer one. Own choice."""

_SHAKY_CURVATURE = 8.0
"""Rounding times this, over two neighboring legs multiplied, is what it may change of the curvature
there. Own choice."""

_FITS_KEPT = 32768
"""Circles kept for the next tolerance that asks for them: twice what 10,000 uneven chords on a grid
need. Own choice."""


@dataclass(frozen=True, slots=True)
class CircleRun:
    """Vertices from first to last on one circle."""

    first: int
    last: int
    circle: CircleFit


@dataclass(slots=True)
class Stretch:
    """Vertices between two places that no run may cross, with what their legs tell."""

    points_m: Floats
    rows: list[Vector]
    legs: list[float]
    directions: list[Vector]
    turn_rad: list[float]
    axis: list[Vector]
    curvature_per_m: list[float]
    rounding_m: float
    locked: frozenset[int]
    entry: Vector | None
    leave: Vector | None

    def incoming(self, vertex: int) -> Vector | None:
        """Return the direction of travel into a vertex, if it is known."""
        return self.directions[vertex - 1] if vertex > 0 else self.entry

    def outgoing(self, vertex: int) -> Vector | None:
        """Return the direction of travel out of a vertex, if it is known."""
        return self.directions[vertex] if vertex < len(self.directions) else self.leave


def stretch_of(
    points_m: Floats,
    rounding_m: float,
    locked: Collection[int],
    entry: Vector | None,
    leave: Vector | None,
) -> Stretch:
    """Return what the legs of a stretch tell.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, neighbors different. [m]
    rounding_m : float
        Rounding of the coordinates. [m]
    locked : collection of int
        Vertices that no run may cross.
    entry, leave : (3,) float or None
        Direction of travel before the first and after the last vertex, where an arc is drawn.
    """
    legs = np.diff(points_m, axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    turn, axis = turns(points_m)
    base = np.linalg.norm(points_m[2:] - points_m[:-2], axis=1)
    curvature = 2.0 * np.sin(turn) / np.where(base > 0.0, base, np.inf)
    return Stretch(
        points_m,
        _tuples(points_m),
        [float(value) for value in lengths],
        _tuples(legs / lengths[:, None]),
        [0.0, *(float(value) for value in turn), 0.0],
        [(0.0, 0.0, 0.0), *_tuples(axis), (0.0, 0.0, 0.0)],
        [0.0, *(float(value) for value in curvature), 0.0],
        rounding_m,
        frozenset(locked),
        entry,
        leave,
    )


def _tuples(rows: Floats) -> list[Vector]:
    return [(float(x), float(y), float(z)) for x, y, z in rows]


def circle_runs(stretch: Stretch) -> list[CircleRun]:
    """Return runs of four or more vertices on one circle, candidates for arcs, in order."""
    found: list[CircleRun] = []
    first, last_vertex = 0, len(stretch.rows) - 1
    while first + 3 <= last_vertex:
        grown = grow_run(stretch, first)
        found += grown
        # a poor fit may have taken in a vertex of the straight, and a short run may be an accident
        # that hides a longer one: try the next start too
        sure = bool(grown) and not is_poor(stretch, grown[0])
        sure = sure and grown[0].last - grown[0].first > _SHORT_RUN
        first = grown[0].last if sure else first + 1
    return found


def is_poor(stretch: Stretch, one: CircleRun) -> bool:
    """Return whether a run fits its circle worse than rounding alone would leave it."""
    return one.circle.offset_m > _POOR_FIT * stretch.rounding_m


def grow_run(stretch: Stretch, first: int) -> list[CircleRun]:
    """Longest run of four or more vertices on one circle from a first vertex on.

    Where its fit is poor, the longest shorter one with a good fit comes before it.
    """
    last = first + 2
    if not bends_on(stretch, first + 1):
        return []
    while last + 1 < len(stretch.rows) and _goes_on(stretch, last):
        last += 1
    if last < first + 3:
        return []
    circle = circle_through(stretch, first, last)
    if circle is None:
        return _grow_with_care(stretch, first, last)
    whole = CircleRun(first, last, circle)
    if last > first + 3 and is_poor(stretch, whole):
        return _grow_with_care(stretch, first, last)
    return [whole]


def _goes_on(stretch: Stretch, vertex: int) -> bool:
    """Whether a vertex turns with the curvature of the one before, as far as rounding tells."""
    if not (bends_on(stretch, vertex) and _same_sense(stretch, vertex)):
        return False
    a, b, c = stretch.legs[vertex - 2 : vertex + 1]
    before, here = stretch.curvature_per_m[vertex - 1], stretch.curvature_per_m[vertex]
    shaky = _SHAKY_CURVATURE * stretch.rounding_m * (1.0 / (a * b) + 1.0 / (b * c))
    return abs(here - before) <= shaky + EXACT_RAD * here


def _grow_with_care(stretch: Stretch, first: int, limit: int) -> list[CircleRun]:
    """Grow a run vertex by vertex (in steps once it is long) as far as one circle holds it."""
    last = first + 3
    circle = circle_through(stretch, first, last)
    if circle is None:
        return []
    good: CircleRun | None = None
    while last < limit:
        further = min(last + max((last - first) // 8, 1), limit)
        wider = circle_through(stretch, first, further)
        while wider is None and further > last + 1:
            further = (last + further) // 2
            wider = circle_through(stretch, first, further)
        if wider is None:
            break
        if circle.offset_m <= _POOR_FIT * stretch.rounding_m < wider.offset_m:
            good = CircleRun(first, last, circle)
        circle, last = wider, further
    whole = CircleRun(first, last, circle)
    return [good, whole] if good is not None and is_poor(stretch, whole) else [whole]


def bends_on(stretch: Stretch, vertex: int) -> bool:
    """Return whether a run may pass a vertex: it turns, by one chord's step at most."""
    turn = stretch.turn_rad[vertex]
    return vertex not in stretch.locked and 0.0 < turn <= MAX_CHORD_RAD


def _same_sense(stretch: Stretch, vertex: int) -> bool:
    """Whether a vertex turns the way the one before does, as far as rounding lets one tell."""
    shaky = 3.0 * stretch.rounding_m / min(stretch.legs[vertex - 2 : vertex + 1])
    small = min(stretch.turn_rad[vertex - 1], stretch.turn_rad[vertex])
    return dot(stretch.axis[vertex - 1], stretch.axis[vertex]) > 0.99 - min(shaky / small, 0.5)


def circle_through(stretch: Stretch, first: int, last: int) -> CircleFit | None:
    """Return the circle of some vertices, None where they are on none or a chord is too long."""
    circle = _fitted(stretch.points_m[first : last + 1].tobytes())
    if circle is None or circle.offset_m > _ON_CIRCLE * stretch.rounding_m:
        return None
    longest = max(stretch.legs[first:last])
    return circle if longest <= 2.0 * circle.radius_m * sin(MAX_CHORD_RAD / 2.0) else None


@lru_cache(maxsize=_FITS_KEPT)
def _fitted(points: bytes) -> CircleFit | None:
    """Fit a circle to points held as bytes: each tolerance that is tried asks for many again."""
    return fit_circle(np.frombuffer(points).reshape(-1, 3))


def perhaps_chords(points_m: Floats, corners: Sequence[int]) -> frozenset[int]:
    """Return corners in a row that may be chords of one arc that was not seen.

    Three turn with like curvature, as inside an arc; or all of three or four turn as two or three
    chords do, half a step at either end; or two or three do so on either side of a vertex where
    two such arcs touch.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners, rising.
    """
    if len(corners) < 3:
        return frozenset()
    turn, axis = turns(points_m)
    legs = leg_lengths(points_m)
    marks = np.asarray(corners)
    curvature = 2.0 * turn / (legs[:-1] + legs[1:])
    trio = _in_a_row(marks, 3, turn, axis)
    found = [trio[np.ptp(curvature[trio], axis=1) <= _ALIKE * curvature[trio].max(axis=1)]]
    for count in (3, 4):
        row = _in_a_row(marks, count, turn, axis)
        chords = legs[row[:, :-1] + 1]
        lawful = np.pad(chords, ((0, 0), (0, 1))) + np.pad(chords, ((0, 0), (1, 0)))
        found.append(row[_obey(turn[row], lawful, chords)])
    into, out_of = {}, {}
    for count in (2, 3):
        row = _in_a_row(marks, count, turn, axis)
        chords = legs[row + 1]
        lawful = chords + np.pad(chords, ((0, 0), (1, 0)))[:, :-1]
        into.update({int(r[-1]) + 1: r for r in row[_obey(turn[row], lawful, chords)]})
        chords = legs[row]
        lawful = chords + np.pad(chords, ((0, 0), (0, 1)))[:, 1:]
        out_of.update({int(r[0]) - 1: r for r in row[_obey(turn[row], lawful, chords)]})
    for touch in into.keys() & out_of.keys():
        at = [touch] if touch + 1 in corners else []
        found.append(np.concatenate([into[touch], at, out_of[touch]]))
    return frozenset(int(vertex) + 1 for row in found for vertex in row.ravel())


def _obey(turn: Floats, lawful: Floats, chords: Floats) -> NDArray[np.bool_]:
    """Whether corners turn as the chords beside them do together.

    `lawful` has those lengths for each: chords so small span half angles as their lengths are.
    """
    half_per_m = (turn.sum(axis=1) / lawful.sum(axis=1))[:, None]
    off = np.abs(turn - half_per_m * lawful).max(axis=1)
    obeys: NDArray[np.bool_] = off <= _LAWFUL * half_per_m[:, 0] * chords.min(axis=1)
    return obeys


def _in_a_row(marks: NDArray[np.int_], count: int, turn: Floats, axis: Floats) -> NDArray[np.int_]:
    """Return so many neighboring corners each, that turn one way by a chord's step at most.

    Numbered as turns are, which begin at the second vertex; (n, count) of them.
    """
    starts = marks[: len(marks) - count + 1]
    starts = starts[marks[count - 1 :] - starts == count - 1]
    row = starts[:, None] - 1 + np.arange(count)
    one_way = np.einsum("ijk,ijk->ij", axis[row[:, :-1]], axis[row[:, 1:]])
    chosen: NDArray[np.int_] = row[
        (turn[row] <= MAX_CHORD_RAD).all(axis=1) & (one_way > 0.9).all(axis=1)
    ]
    return chosen
