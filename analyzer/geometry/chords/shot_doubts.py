"""Corners in a row that look like shots measured on a bend, where nobody said they were measured.

Who measures few shots on a bend leaves corners that turn one way in one plane, each by an odd angle
of its own. A designer turns by round angles, and repeats them; along a bent corridor by odd ones,
at points that no circle passes: of four shots and more, some four neighbors lie on one. Three shots
a bend leave three such corners only: there the outer ones turn besides as the circle through all
three does. Only its start and its end leave two that turn about alike, and all such pairs are
chords of one radius.

Source: own rule; the chord c of a circle of radius R leaves its tangent by asin(c / 2R).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import asin, cos, degrees, inf, radians

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.circle_fit import fit_circle
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats
from analyzer.geometry.surveyed_stretches import are_odd, turned_by_grid
from analyzer.units import show_short

__all__ = ["shots_doubt"]

Flags = NDArray[np.bool_]

_FEWEST = 3
"""Corners in a row."""

_LEAST_RAD, _MOST_RAD = radians(1.0), radians(95.0)
"""Turn of a corner in a row: shots on straights turn less; the middle of three on half a turn turns
by a right angle."""

_ONE_PLANE = cos(radians(30.0))
"""Cosine of the angle between the axes that neighbors turn about, in one plane and one way."""

_COARSE_RAD, _COARSE_OFF_RAD = radians(2.5), radians(0.5)
"""Round angles as most are drawn, and the most that rounded coordinates may be off them."""

_FEWEST_ODD, _ODD_SHARE = 2, 0.3
"""Corners of a row of four and more that turn by odd angles at least, and as a part of it."""

_CIRCLE_OF = 4
"""Neighbors of a row of so many and more that have to lie on one circle: three always do."""

_OFF_M, _OFF_GRIDS, _OFF_SHARE = 0.006, 2.0, 0.05
"""How far shots stand off their circle, root mean square: what measuring leaves [m], and rounding
in grids; and less than a part of their chords, where it would be no shape of theirs."""

_LONG = 2.0
"""Leg between an arc and a corner that goes on with it, over the longest chord."""

_TANGENT, _TANGENT_RAD = 0.3, radians(1.0)
"""How far an outer one of three corners may be off the turn of the circle: a part, and more."""

_FEWEST_PAIRS, _ONE_RADIUS = 2, 0.05
"""Pairs of corners that are chords of one radius, and by what part that may be off its mean."""

_UNLIKE_M, _UNLIKE_GRIDS, _UNLIKE = 0.04, 3.0, 0.5
"""How far two corners that start and end a bend turn apart at most: over the chord between them,
what measuring [m] and rounding [grids] leave; and a part of their turn."""

_SHOWN = 5
"""Turns of a row that a message names at most. Own choice."""


def shots_doubt(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], grid_m: float
) -> Doubt | None:
    """Return the doubt of corners in a row, or beside an arc, that look like shots on one bend.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading, rising.
    runs : sequence of ChordRun
        Arcs that it read from chords: noise may leave some shots of a bend on one.
    grid_m : float
        Grid of the coordinates. [m]
    """
    turn, _ = turns(points_m)
    found = [
        row
        for row in _rows(points_m, turn, corners, runs)
        if _looks_shot(points_m, turn, row, frozenset(corners), grid_m)
    ]
    if not found:
        return None if runs else _pairs_doubt(points_m, turn, corners, grid_m)
    row = found[0]
    first = next(vertex for vertex in row if vertex in corners)
    arcs = sum(run.first in row or run.last in row for run in runs)
    n_corners = sum(vertex in corners for vertex in row)
    read = "bends of their own"
    if arcs:
        read = f"{_count(arcs, 'arc')} in chords and {_count(n_corners, 'corner')} beside"
    shown = ", ".join(f"{degrees(turn[vertex - 1]):.1f}°" for vertex in row[:_SHOWN])
    more = ", ..." if len(row) > _SHOWN else ""
    others = f"{len(found) - 1} more row{'s' if len(found) > 2 else ''}"
    again = f", and so do those of {others}" if len(found) > 1 else ""
    text = (
        f"{len(row)} points in a row turn one way in one plane, by odd angles ({shown}{more}), as "
        f"shots measured on one bend do{again}: they are read as {read}. If they were "
        'measured, state [drawing] accuracy or read_as = "survey" in the job; read_as = "corners" '
        "confirms corners"
    )
    return Doubt(first, text, True)


def _count(n: int, what: str) -> str:
    return f"{n} {what}s" if n > 1 else f"one {what}"


def _pairs_doubt(
    points_m: Floats, turn_rad: Floats, corners: Sequence[int], grid_m: float
) -> Doubt | None:
    """Return the doubt of corners that all go in pairs, as the start and the end of bends do."""
    if len(corners) < 2 * _FEWEST_PAIRS or len(corners) % 2:
        return None
    firsts, seconds = np.array(corners[::2]), np.array(corners[1::2])
    if (seconds != firsts + 1).any():
        return None
    ways = np.diff(points_m, axis=0)
    legs = leg_lengths(points_m)
    chords = legs[firsts]
    a, b = turn_rad[firsts - 1], turn_rad[seconds - 1]
    axes = np.cross(ways[:-1], ways[1:])
    axes /= np.maximum(np.linalg.norm(axes, axis=1, keepdims=True), 1e-300)
    planes = np.sum(axes[firsts - 1] * axes[seconds - 1], axis=1)
    radii = chords / (2.0 * np.sin((a + b) / 2.0))
    apart = _UNLIKE_M + _UNLIKE_GRIDS * grid_m
    if not (
        (np.maximum(a, b) <= _MOST_RAD).all()
        and (np.abs(a - b) <= np.minimum(apart / chords, _UNLIKE * (a + b) / 2.0)).all()
        and (planes > _ONE_PLANE).all()
        and (np.abs(radii / radii.mean() - 1.0) <= _ONE_RADIUS).all()
        and _are_odd(turn_rad, legs, np.asarray(corners), grid_m)[1].any()
    ):
        return None
    text = (
        f"{len(corners)} corners go in pairs that turn about alike, as the start and the end of "
        f"{len(firsts)} bends with a radius of about {show_short(float(radii.mean()))} do: each is "
        "read as a bend of its own. If they were measured, state [drawing] accuracy and measure "
        'the middle of every bend as well; read_as = "corners" confirms corners'
    )
    return Doubt(int(firsts[0]), text, True)


def _are_odd(
    turn_rad: Floats, legs_m: Floats, marks: NDArray[np.int64], grid_m: float
) -> tuple[Flags, Flags, Floats]:
    """Tell the corners that turn by no round angle, fine and coarse, as far as the grid tells.

    Also what the grid lets a turn be off a coarse one. [rad]
    """
    turn, by_grid = turn_rad[marks - 1], turned_by_grid(legs_m, marks, grid_m)
    fine = are_odd(turn, by_grid)
    odd = fine & are_odd(turn, by_grid, _COARSE_RAD, _COARSE_OFF_RAD)
    return fine, odd, np.clip(by_grid, 1e-6, _COARSE_OFF_RAD)


def _rows(
    points_m: Floats, turn_rad: Floats, corners: Sequence[int], runs: Sequence[ChordRun]
) -> list[list[int]]:
    """Return neighboring corners that turn one way in one plane, with arcs among them."""
    legs = np.diff(points_m, axis=0)
    sizes = leg_lengths(points_m)
    axes = np.cross(legs[:-1], legs[1:])
    axes /= np.maximum(np.linalg.norm(axes, axis=1, keepdims=True), 1e-300)
    longest = {
        vertex: _LONG * float(sizes[run.first : run.last].max())
        for run in runs
        for vertex in range(max(run.first, 1), min(run.last, len(points_m) - 2) + 1)
    }
    marks = {v for v in corners if _LEAST_RAD <= turn_rad[v - 1] <= _MOST_RAD}
    rows: list[list[int]] = []
    for vertex in sorted(marks | longest.keys()):
        last = rows[-1][-1] if rows else -1
        far = min(longest.get(vertex, inf), longest.get(last, inf))
        if (
            vertex == last + 1
            and sizes[last] <= far
            and axes[vertex - 1] @ axes[last - 1] > _ONE_PLANE
        ):
            rows[-1].append(vertex)
        else:
            rows.append([vertex])
    return [row for row in rows if len(row) >= _FEWEST and marks & set(row)]


def _looks_shot(
    points_m: Floats,
    turn_rad: Floats,
    row: Sequence[int],
    corners: frozenset[int],
    grid_m: float,
) -> bool:
    """Whether corners turn by odd angles, no two alike, and lie or turn as points of a circle."""
    legs = leg_lengths(points_m)
    marks = np.array([vertex for vertex in row if vertex in corners])
    turn = turn_rad[marks - 1]
    fine, odd, coarse = _are_odd(turn_rad, legs, marks, grid_m)
    if marks.size < len(row):
        return bool(fine.any())
    if len(row) == _FEWEST:
        return bool(odd.any()) and _turn_as_circle(points_m, row, turn)
    apart = np.abs(turn[:, None] - turn) + np.eye(marks.size)
    odd &= (apart > coarse[:, None]).all(axis=1)
    enough = odd.sum() >= max(_FEWEST_ODD, _ODD_SHARE * marks.size)
    return bool(enough) and _on_circle(points_m, row, grid_m)


def _on_circle(points_m: Floats, row: Sequence[int], grid_m: float) -> bool:
    """Whether some neighbors of a row lie on one circle as well as measured points do."""
    for first in range(row[0], row[-1] + 2 - _CIRCLE_OF):
        points = points_m[first : first + _CIRCLE_OF]
        circle = fit_circle(points)
        most = min(_OFF_M + _OFF_GRIDS * grid_m, _OFF_SHARE * float(np.mean(leg_lengths(points))))
        if circle is not None and circle.rms_m <= most:
            return True
    return False


def _turn_as_circle(points_m: Floats, row: Sequence[int], turn: Floats) -> bool:
    """Whether the way meets and leaves the circle through three corners about along its tangent."""
    circle = fit_circle(points_m[row[0] : row[-1] + 1])
    if circle is None:
        return False
    chords = leg_lengths(points_m[row[0] : row[-1] + 1])
    for chord, outer in ((chords[0], turn[0]), (chords[-1], turn[-1])):
        along = asin(min(float(chord) / (2.0 * circle.radius_m), 1.0))
        if not abs(outer - along) <= _TANGENT * along + _TANGENT_RAD:
            return False
    return True
