"""Arcs drawn in equal chords too fine for the grid of the coordinates, or on too coarse a grid.

Where chord times half its turn is only a few times the grid, single turns are noise and prove
nothing. What still shows is the whole: a row of equal chords between two straights, all vertices
within rounding of the one arc that is tangent to both straights and as long as its chords. Corners
would have to lie so by chance, each a kick of a few grid steps, so no doubt is left.

Assumes vertices at both tangent points and a straight beside each. Cost is linear in vertices.
"""

from __future__ import annotations

from collections.abc import Collection
from math import inf, radians, sin, tan

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.chord_runs import ChordRun
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.circle_fit import radius_from_chords
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats, cross, unit
from analyzer.geometry.vectors import minus, to_vector

__all__ = ["find_rounded_arcs"]

_FEWEST_CHORDS = 3
_FINE_GRIDS = 8.0
_LIKE_GRIDS = 2.0
_LIKE_SHARE = 0.02
_STRAIGHT_CHORDS, _SHORT_CHORDS = 1.5, 0.5
_CORNER_RAD = radians(45.0)
_MOST_STEP_RAD = radians(15.0)
_COARSEST_STEP_RAD = radians(23.0)
_LEAST_RAD = radians(3.0)
_MOST_RAD = radians(150.0)
_OFF_GRIDS = 1.75
_LEAST_RISE_GRIDS = 2.5


def find_rounded_arcs(
    points_m: Floats, grid_m: float, locked: Collection[int] = (), *, coarser_too: bool = False
) -> tuple[ChordRun, ...]:
    """Return rows of equal chords that lie on one tangent arc within rounding, in order.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices as drawn, repeats dropped. [m]
    grid_m : float
        Grid that the coordinates lie on. [m]
    locked : collection of int
        Vertices that no arc may cross or end at.
    coarser_too : bool
        Whether chords whose single turns stand clear of the grid are wanted as well: where the
        grid is too coarse to be a tolerance, no other reader finds them.
    """
    if len(points_m) < _FEWEST_CHORDS + 3:
        return ()
    lengths = leg_lengths(points_m)
    turn, _ = turns(points_m)
    rows = _equal_rows(lengths, turn, grid_m)
    chords = {edge for first, stop in rows for edge in range(first, stop)}
    fixed = set(locked)
    found: list[ChordRun] = []
    for first, stop in rows:
        for head, tail in ((0, 0), (1, 0), (0, 1), (1, 1)):
            a, b = first + head, stop - tail
            if b - a < _FEWEST_CHORDS or not 0 < a < b < len(lengths):
                continue
            straights = {edge for edge in (a - 1, b) if not first <= edge < stop}
            if straights & chords or fixed.intersection(range(a, b + 1)):
                continue
            arc = _arc_between(points_m, lengths, a, b, grid_m, inf if coarser_too else _FINE_GRIDS)
            if arc is not None:
                found.append(arc)
                break
    return tuple(found)


def _equal_rows(lengths_m: Floats, turn_rad: Floats, grid_m: float) -> list[tuple[int, int]]:
    """First and stop edge of each row of edges of one length, three or more, without a corner."""
    rows: list[tuple[int, int]] = []
    first, n = 0, len(lengths_m)
    lengths = [float(length) for length in lengths_m]
    while first < n:
        stop, total = first + 1, lengths[first]
        while stop < n:
            mean = total / (stop - first)
            unlike = abs(lengths[stop] - mean) > _LIKE_GRIDS * grid_m + _LIKE_SHARE * mean
            if unlike or turn_rad[stop - 1] > _CORNER_RAD:
                break
            total += lengths[stop]
            stop += 1
        if stop - first >= _FEWEST_CHORDS:
            rows.append((first, stop))
        first = stop
    return rows


def _arc_between(
    points_m: Floats,
    lengths_m: Floats,
    first: int,
    last: int,
    grid_m: float,
    most_grids: float,
) -> ChordRun | None:
    """Return the arc tangent to the straights before and after some chords, if it fits them."""
    chords = [float(length) for length in lengths_m[first:last]]
    chord = sum(chords) / len(chords)
    before, after = float(lengths_m[first - 1]), float(lengths_m[last])
    coarse = most_grids == inf
    if min(before, after) < (_SHORT_CHORDS if coarse else _STRAIGHT_CHORDS) * chord:
        return None
    start, end = to_vector(points_m[first]), to_vector(points_m[last])
    into = unit(minus(start, to_vector(points_m[first - 1])))
    out = unit(minus(to_vector(points_m[last + 1]), end))
    angle = angle_between(into, out)
    step = angle / len(chords)
    most_step = _COARSEST_STEP_RAD if coarse else _MOST_STEP_RAD
    if not (_LEAST_RAD < angle < _MOST_RAD and step < most_step):
        return None
    if not chord * step / 2.0 < most_grids * grid_m:
        return None
    radius = radius_from_chords(chords, angle)
    if radius * angle**2 / 8.0 < _LEAST_RISE_GRIDS * grid_m:
        return None
    corner = np.array(meeting_point(start, into, end, out))
    axis = np.array(unit(cross(into, out)))
    center = corner + (radius / sin(angle)) * (np.array(out) - np.array(into))
    arms = points_m[first : last + 1] - center
    out_of_plane = arms @ axis
    off = np.hypot(
        np.linalg.norm(arms - np.outer(out_of_plane, axis), axis=1) - radius, out_of_plane
    )
    reach = radius * tan(angle / 2.0)
    if float(off.max()) > grid_m * (_OFF_GRIDS + 2.0 * reach / before + 2.0 * reach / after):
        return None
    return ChordRun(
        first,
        last,
        RunEnd(start, into, Tangency.STRAIGHT),
        RunEnd(end, out, Tangency.STRAIGHT),
        angle,
        radius,
        to_vector(axis),
        to_vector(center),
        len(chords),
    )
