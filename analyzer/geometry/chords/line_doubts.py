"""What of a stretch of drawn lines could be read another way, and the option that settles it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import pairwise
from math import cos, degrees, radians

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.chord_runs import find_chord_runs
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun, anchors_of
from analyzer.geometry.chords.tangencies import Tangency
from analyzer.geometry.grid_kinks import explained_by_grid
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats
from analyzer.geometry.surveyed_stretches import FINE_TURN_RAD, faint_corners
from analyzer.geometry.vectors import to_vector
from analyzer.units import show_short

__all__ = [
    "SURE_CHORDS",
    "broken_doubt",
    "declined_doubt",
    "extent_doubt",
    "faint_doubt",
    "gentle_doubts",
    "hidden_chords_doubt",
    "kinks_doubt",
    "run_doubt",
    "unmet_doubt",
]

SURE_CHORDS = 5
"""Chords from which an arc is sure."""

_FINE_GRIDS = 16.0
"""Legs below so many grids are too short for corners that were meant."""


_SHORT_LEG, _FEWEST_CHORDS, _OFF_GRIDS, _HIDDEN_GRIDS = 0.25, 3, 0.3, 4.0
"""Legs of chords over the straight beside them, fewest of them, how far off the lines of a corner
their points stand, and the most that the arc cuts of it, both in grids."""


_LEAST_TURN_RAD = radians(0.5)
"""Turn from one straight to the next below which no arc between them is named."""

_TELLING_KINK_RAD, _FEW_BEND_RAD = radians(3.0), radians(15.0)
"""Turn from which a kink left out may have been meant, and up to which one left may be none."""


def run_doubt(run: ChordRun) -> Doubt:
    """Return the doubt of an arc read from chords.

    Parameters
    ----------
    run : ChordRun
        The arc.
    """
    held = {run.start.tangency, run.end.tangency} <= {Tangency.STRAIGHT, Tangency.TOUCHING}
    proved = held and run.n_chords > 2
    few = run.n_chords < SURE_CHORDS
    return Doubt(
        run.first,
        f"{run.n_chords} chords are read as one arc of {degrees(run.angle_rad):.4g}° and radius "
        f'{show_short(run.radius_m)}, but {run.doubt}: read_as = "corners" in the job reads '
        f'corners, read_as = "chords" confirms the arc',
        not run.tangent_vertices
        or (not proved and (few or run.angle_rad / run.n_chords > FINE_TURN_RAD)),
    )


def extent_doubt(run: ChordRun) -> Doubt:
    """Return the doubt of an arc whose first or last chord may be a leg of the straight beside it.

    Parameters
    ----------
    run : ChordRun
        The arc.
    """
    return Doubt(
        run.first,
        f"{run.n_chords} chords are read as one arc of {degrees(run.angle_rad):.4g}° and radius "
        f"{show_short(run.radius_m)}, but {run.doubt}: export the drawing with more digits, or "
        "draw the bend as an arc",
        True,
    )


def broken_doubt(vertices: Sequence[int]) -> Doubt:
    """Return the doubt of arcs that seem to be pieces of fewer.

    Parameters
    ----------
    vertices : sequence of int
        Where an arc seems to go on as another one or as a corner.
    """
    n = len(vertices)
    return Doubt(
        vertices[0],
        f"{n} place{'s' if n > 1 else ''} where an arc read from chords seems to go on as another "
        "arc or as a corner: the points lie less exactly on their arcs than their digits say, so "
        "these bends may be wrong in number, angle and radius. Draw the bends as arcs, or export "
        "the drawing anew with all its digits",
        True,
    )


def unmet_doubt(first: int, last: int, angle_rad: float) -> Doubt:
    """Return the doubt of points that could be one arc and were not read so although it was asked.

    Parameters
    ----------
    first, last : int
        The points.
    angle_rad : float
        Angle of the arc they could be. [rad]
    """
    return Doubt(
        first,
        f"{last - first + 1} points could be chords of one arc of {degrees(angle_rad):.4g}°, but "
        'read_as = "chords" reads other bends there, which may be wrong in number, angle and '
        "radius. Draw the bend as an arc, or export the drawing anew with all its digits",
        True,
    )


def declined_doubt(run: ChordRun) -> Doubt:
    """Return the doubt of points read as corners that could be chords of an arc.

    Parameters
    ----------
    run : ChordRun
        The arc they could be.
    """
    text = (
        f"{run.n_chords + 1} points are read as corners; they could be {run.n_chords} chords of "
        f"one arc of {degrees(run.angle_rad):.4g}° and radius {show_short(run.radius_m)}, though "
        f"{run.doubt}"
    )
    return Doubt(
        run.first,
        f'{text}: read_as = "chords" in the job reads the arc, "corners" confirms the corners',
        True,
        (run.first, run.last, run.angle_rad),
        f'{text}: read_as = "corners" in the job confirms the corners; to have the arc, draw it as '
        'an arc, for read_as = "chords" reads other arcs there',
    )


def faint_doubt(points_m: Floats, corners: Sequence[int], grid_m: float) -> Doubt | None:
    """Return the doubt of neighboring corners that turn no more than the grid could make them.

    Three in a row, or two with vertices between that turn nothing, which nobody draws on purpose.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners.
    grid_m : float
        Grid of the coordinates. [m]
    """
    marks = np.asarray(corners, dtype=np.int64)
    if marks.size < 2:
        return None
    faint = faint_corners(points_m, corners, grid_m)
    legs = leg_lengths(points_m)
    longest = np.array([legs[a:b].max() for a, b in pairwise(marks)])
    fine = longest < _FINE_GRIDS * grid_m
    step = np.diff(marks)
    near = faint[:-1] & faint[1:] & ((step <= 2) | fine)
    apart = np.flatnonzero(near & fine & (step > 1))
    rows = np.flatnonzero(near[:-1] & near[1:])
    found = np.unique(np.concatenate((rows, rows + 1, rows + 2, apart, apart + 1)))
    if not found.size:
        return None
    return Doubt(
        int(marks[found[0]]),
        f"{found.size} corners turn so little that coordinates rounded to {show_short(grid_m)} "
        "could make them: they may be chords of arcs; export the drawing with more digits, or draw "
        "the bends as arcs",
        True,
    )


def kinks_doubt(
    points_m: Floats,
    corners: Sequence[int],
    runs: Sequence[ChordRun],
    grid_m: float,
    locked: Collection[int],
) -> Doubt | None:
    """Return the doubt of vertices that turn by as much as some bend, and by no more than the grid.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners.
    runs : sequence of ChordRun
        Arcs read.
    grid_m : float
        Grid of the coordinates. [m]
    locked : collection of int
        Vertices in fittings or with a radius of their own: nothing is asked of them.
    """
    if len(points_m) < 3:
        return None
    turn, _ = turns(points_m)
    some = explained_by_grid(points_m, grid_m)
    some &= (turn > _TELLING_KINK_RAD) & (turn < _FEW_BEND_RAD)
    some[[vertex - 1 for vertex in locked if 0 < vertex < len(points_m) - 1]] = False
    for run in runs:
        some[max(run.first - 1, 0) : run.last] = False
    found = np.flatnonzero(some)
    if not found.size:
        return None
    read = frozenset(corners)
    left = [int(at) for at in found if at + 1 in read]
    told = left or [int(at) for at in found]
    place = max(told, key=lambda at: turn[at])
    most = f"{degrees(turn[place]):.2g}°"
    several = len(told) > 1
    what = f"{len(told)} vertices turn" if several else "a vertex turns"
    by = f"by up to {most}" if several else f"by {most}"
    bends = "bends" if several else "a bend"
    read_as = f"{bends}, and may be none" if left else f"straight, and may be {bends}"
    return Doubt(
        place + 1,
        f"{what} {by}, no more than coordinates rounded to {show_short(grid_m)} can make of a "
        f"straight: read as {read_as}. Export the drawing with more digits",
        True,
    )


def hidden_chords_doubt(
    points_m: Floats,
    corners: Sequence[int],
    runs: Sequence[ChordRun],
    grid_m: float,
    locked: Collection[int],
) -> Doubt | None:
    """Return the doubt of corners in a row that obey the chord law as well as a coarse grid tells.

    Such a grid is no tolerance to read arcs with: corners obey the law so loosely by chance.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners.
    runs : sequence of ChordRun
        Arcs read.
    grid_m : float
        Grid of the coordinates. [m]
    locked : collection of int
        Vertices in fittings or with a radius of their own.
    """
    taken = {vertex for run in runs for vertex in range(run.first, run.last + 1)}
    kept = sorted(anchors_of(points_m, corners, runs))
    fixed = [index for index, vertex in enumerate(kept) if vertex in locked or vertex in taken]
    read = set(corners)
    for run in find_chord_runs(points_m[kept], grid_m, locked=fixed):
        if run.is_between_straights and read.issuperset(kept[run.first : run.last + 1]):
            why = f"coordinates rounded to {show_short(grid_m)} leave that open"
            return declined_doubt(replace(run, doubt=why)).moved(kept)
    return None


def gentle_doubts(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], grid_m: float
) -> tuple[Doubt, ...]:
    """Return the doubts of corners with points close by that may be chords of a gentle arc.

    The points stand off the lines of the corner by about the grid: too little to read the arc.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners.
    runs : sequence of ChordRun
        Arcs read: the straights beside a corner end there.
    grid_m : float
        Grid of the coordinates. [m]
    """
    ends = {vertex for run in runs for vertex in (run.first, run.last)}
    anchors = sorted({0, *corners, *ends, len(points_m) - 1})
    legs = leg_lengths(points_m)
    found = []
    for before, corner, after in zip(anchors, anchors[1:], anchors[2:], strict=False):
        if corner in ends:
            continue
        straights = np.linalg.norm(points_m[[before, after]] - points_m[corner], axis=1)
        first = last = corner
        while first - 1 > before and legs[first - 1] < _SHORT_LEG * straights[0]:
            first -= 1
        while last + 1 < after and legs[last] < _SHORT_LEG * straights[1]:
            last += 1
        if last - first < _FEWEST_CHORDS:
            continue
        off = max(
            _farthest_off(points_m[before : corner + 1], first - before),
            _farthest_off(points_m[corner : after + 1][::-1], after - last),
        )
        into, out = points_m[first] - points_m[before], points_m[after] - points_m[last]
        turn = angle_between(to_vector(into), to_vector(out))
        if off <= _OFF_GRIDS * grid_m or turn <= 0.0:
            continue
        radius = float(legs[first:last].sum()) / turn
        if radius * (1.0 / cos(turn / 2.0) - 1.0) > _HIDDEN_GRIDS * grid_m:
            continue  # such an arc would pass the corner by more than rounding hides
        count, rounded = last - first + 1, show_short(grid_m)
        if turn < _LEAST_TURN_RAD:
            into, out = np.diff(points_m[[before, corner, after]], axis=0)
            read = degrees(angle_between(to_vector(into), to_vector(out)))
            text = (
                f"{count} points close together are read as one corner of {read:.3g}°, though the "
                f"straights beside them run one way as far as coordinates rounded to {rounded} "
                "tell: it may be one straight, or an offset. Export more digits"
            )
        else:
            text = (
                f"{count} points close together are read as one corner of {degrees(turn):.3g}°, "
                f"for they stand off its lines by no more than the rounding to {rounded} lets one "
                f"tell: they may be chords of an arc of radius about {show_short(radius)}. Export "
                "more digits, or draw the bend as an arc"
            )
        found.append(Doubt(corner, text, True, covers=(first, last)))
    return tuple(found)


def _farthest_off(points_m: Floats, first: int) -> float:
    """How far points from the first named on stand off the line from end to end. [m]"""
    along = points_m[-1] - points_m[0]
    offsets = points_m[first:-1] - points_m[0]
    if not len(offsets):
        return 0.0
    across = np.cross(offsets, along / np.linalg.norm(along))
    return float(np.linalg.norm(across, axis=1).max())
