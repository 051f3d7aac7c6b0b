"""Arcs read from chords that rather are pieces of one: coordinates less exact than they seem.

Nobody draws two arcs of one radius and plane a chord apart, or a corner a chord from an arc that
turns on its way by about one chord's step. Where the tolerance is too strict for the points, one
arc comes apart into such pieces. Two elbows with a nipple between, or one rolled against the other,
may look so too; but these are tangent to a straight, or to each other, at all their ends, their
points lie as their digits say, and neither lies on the circle of the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.tangencies import Tangency
from analyzer.geometry.chords.tangent_arcs import off_circle, tangent_arc
from analyzer.geometry.corners import ONE_NODE_RAD
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats, dot
from analyzer.geometry.vectors import to_vector

__all__ = ["are_explained", "broken_arcs"]

_LIKE_CHORD, _LEAST_STEP, _MOST_STEP = 0.25, 0.1, 1.5
"""By how much of it a leg differs from a chord that goes on an arc, and how many steps a corner
turns there."""

_NEAR_CHORDS, _MOST_OF_FEW, _FEW = 3.0, 3.5, 3
"""How many chords from an arc of a few chords that was asked for a corner stands at most that may
be its own vertex, as chords differ, and how many steps it turns: more where a tangent vertex is
left out."""

_ONE_RADIUS, _ONE_PLANE = 0.3, 0.9
"""Share by which radii of one arc differ, and the cosine between their axes."""

_MOST_TOLERANCES = 4.0
"""Tolerances by which an arc read with them may pass its points. Own choice."""

_MOST_GRIDS = 3.0
"""Grids that a point of an arc lies off it at most where its digits are to be believed."""

_CLEARLY_OTHER = 10.0
"""How many times that far the points of one arc lie off the circle of another at least."""


def broken_arcs(
    points_m: Floats,
    runs: Sequence[ChordRun],
    corners: Sequence[int],
    grid_m: float,
    *,
    asked: bool = False,
) -> tuple[int, ...]:
    """Return the vertices where an arc seems to go on as another one or as a corner, rising.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    runs : sequence of ChordRun
        Arcs read, in order.
    corners : sequence of int
        Vertices left as corners, rising.
    grid_m : float
        Rounding of the coordinates by their digits. [m]
    asked : bool
        Whether chords were asked for: an arc of a few may then lack vertices that are corners.
    """
    if not runs:
        return ()
    legs = leg_lengths(points_m)
    turn, axis = turns(points_m)
    found = {
        b.first
        for a, b in pairwise(runs)
        if _are_one(a, b, legs) and not _are_proved(points_m, a, b, grid_m)
    }
    marks = set(corners)
    for run in runs:
        step = run.angle_rad / run.n_chords
        sides = (run.first, run.first - 1, run.first), (run.last, run.last + 1, run.last - 1)
        chords = legs[run.first : run.last]
        few = asked and run.n_chords <= _FEW
        for end, beyond, chord in sides:
            if beyond not in marks:
                continue
            leg = legs[min(end, beyond)]
            near = few and leg <= _NEAR_CHORDS * legs[chord]
            if not near and not _is_like_one(leg, chords):
                continue
            along = dot(to_vector(axis[beyond - 1]), run.axis)
            most = _MOST_OF_FEW if near else _MOST_STEP
            if _LEAST_STEP <= turn[beyond - 1] / step <= most and along > _ONE_PLANE:
                found.add(beyond)
    return tuple(sorted(found))


def are_explained(points_m: Floats, runs: Sequence[ChordRun], tolerance_m: float) -> bool:
    """Return whether the points of arcs lie on them within a few times a tolerance.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    runs : sequence of ChordRun
        Arcs read; those drawn from outside are left out.
    tolerance_m : float
        With which they were read. [m]
    """
    return all(
        run.outside or _off_m(points_m, run, run) <= _MOST_TOLERANCES * tolerance_m for run in runs
    )


def _off_m(points_m: Floats, run: ChordRun, other: ChordRun) -> float:
    """How far points of another arc lie off the one that is tangent to the lines of a run. [m]"""
    center, axis = np.array(run.center_m), np.array(run.axis)
    if run.angle_rad <= ONE_NODE_RAD:
        into, out = run.start.direction, run.end.direction
        angle = angle_between(into, out)
        arc = tangent_arc(run.start.place_m, into, run.end.place_m, out, angle)
        center, axis = arc.center_m(run.radius_m), arc.axis
    points = points_m[other.first : other.last + 1]
    return float(off_circle(points, center, axis, run.radius_m).max())


def _are_one(a: ChordRun, b: ChordRun, legs_m: Floats) -> bool:
    """Whether two arcs turn alike with no straight between."""
    alike = abs(a.radius_m - b.radius_m) <= _ONE_RADIUS * min(a.radius_m, b.radius_m)
    if not alike or b.first - a.last > 1 or dot(a.axis, b.axis) <= _ONE_PLANE:
        return False
    before, *after = legs_m[a.last - 1 : b.first + 1]
    return all(_is_chord(leg, before) for leg in after)


def _are_proved(points_m: Floats, a: ChordRun, b: ChordRun, grid_m: float) -> bool:
    """Whether two arcs are tangent at vertices of all their ends and fit their own points only."""
    if a.outside or b.outside:
        return False
    ends = {a.start.tangency, a.end.tangency, b.start.tangency, b.end.tangency}
    own_m = max(_off_m(points_m, a, a), _off_m(points_m, b, b))
    other_m = min(_off_m(points_m, a, b), _off_m(points_m, b, a))
    return (
        ends <= {Tangency.STRAIGHT, Tangency.TOUCHING}
        and own_m <= _MOST_GRIDS * grid_m
        and other_m > _CLEARLY_OTHER * _MOST_GRIDS * grid_m
    )


def _is_like_one(leg_m: float, chords_m: Floats) -> bool:
    """Whether a leg is as long as the chords of an arc are, which may be uneven."""
    shortest, longest = float(chords_m.min()), float(chords_m.max())
    return (1.0 - _LIKE_CHORD) * shortest <= leg_m <= (1.0 + _LIKE_CHORD) * longest


def _is_chord(leg_m: float, chord_m: float) -> bool:
    return abs(leg_m - chord_m) <= _LIKE_CHORD * chord_m
