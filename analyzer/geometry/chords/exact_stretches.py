"""A stretch of drawn lines read exactly, with one tolerance: corners, and arcs drawn in chords.

Vertices on circles that are tangent to the straights beside them are arcs; what is left is corners.
Vertices of straights are left out first, and taken back where a first reading shows that they stand
out. `stretches` chooses the tolerance, and what the points are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import pi

from analyzer.geometry.chords.chord_runs import find_chord_runs
from analyzer.geometry.chords.corner_chords import outer_runs, single_chords
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.line_doubts import declined_doubt, run_doubt
from analyzer.geometry.chords.lone_chords import lone_chords
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.missed_vertices import short_end_chords, vertices_off_straights
from analyzer.geometry.chords.needed_corners import needed_corners
from analyzer.geometry.chords.outer_polygons import find_outer_polygons
from analyzer.geometry.chords.tangencies import Tangency
from analyzer.geometry.grid_kinks import grid_kinks
from analyzer.geometry.line_readings import LineReading, Wanted
from analyzer.geometry.polyline import (
    IN_LINE_ROUNDINGS,
    are_negligible,
    drop_straight_vertices,
    offsets_from_neighbors,
    turns,
    vertices_off_line,
)
from analyzer.geometry.segments import Floats

__all__ = ["read_around", "read_at", "read_corners"]


def read_corners(
    points_m: Floats, tolerance_m: float, grid_m: float, wanted: Wanted
) -> LineReading:
    """Return a stretch read as corners throughout: every vertex that is on no straight.

    Where rounding does not explain those on a straight that turn as a bend does, the fewest that
    explain the others stay; steps that rounding makes are no bends.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices in order, repeats dropped. [m]
    tolerance_m : float
        How far rounding takes points off. [m]
    grid_m : float
        Grid that the coordinates were rounded to; 0 for none. [m]
    wanted : Wanted
        Which vertices stay whatever they turn.
    """
    kept = drop_straight_vertices(points_m, tolerance_m, wanted.locked)
    fixed = frozenset(index for index, vertex in enumerate(kept) if vertex in wanted.locked)
    free = _free_vertices(points_m[kept], tolerance_m, (), fixed)
    kept = [kept[index] for index in (0, *free, len(kept) - 1)]
    off = [v for ends in pairwise(kept) for v in vertices_off_line(points_m, *ends, tolerance_m)]
    corners = sorted([*kept[1:-1], *off])
    if grid_m:
        return LineReading((), needed_corners(points_m, corners, grid_m, wanted.locked), (), False)
    return LineReading((), tuple(corners), (), False)


def read_around(
    points_m: Floats, arcs: Sequence[ChordRun], tolerance_m: float, kinks_m: float, wanted: Wanted
) -> LineReading:
    """Return what lies between arcs of rounded chords; each is a straight's end to it.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices in order, repeats dropped. [m]
    arcs : sequence of ChordRun
        Arcs read already, one or more in order; the reading has them too.
    tolerance_m, kinks_m : float
        As `read_at` takes them. [m]
    wanted : Wanted
        What is known of the stretch, and what was asked for.
    """
    runs: list[ChordRun] = []
    corners: list[int] = []
    doubts: list[Doubt] = []
    starts = [0, *(arc.last for arc in arcs)]
    stops = [*(arc.first for arc in arcs), len(points_m) - 1]
    entries = [wanted.entry, *(arc.end.direction for arc in arcs)]
    leaves = [*(arc.start.direction for arc in arcs), wanted.leave]
    for first, stop, into, out in zip(starts, stops, entries, leaves, strict=True):
        own = wanted.between(first, stop, into, out)
        part = read_at(points_m[first : stop + 1], tolerance_m, kinks_m, own)
        runs += [replace(r, first=r.first + first, last=r.last + first) for r in part.runs]
        corners += [vertex + first for vertex in part.corners]
        doubts += [one.moved(range(first, stop + 1)) for one in part.doubts]
    runs = sorted([*runs, *arcs], key=lambda run: run.first)
    return LineReading(tuple(runs), tuple(corners), tuple(doubts), False)


def read_at(points_m: Floats, tolerance_m: float, kinks_m: float, wanted: Wanted) -> LineReading:
    """Return a stretch read with one tolerance.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices in order, repeats dropped. [m]
    tolerance_m : float
        How far rounding takes points off. [m]
    kinks_m : float
        Coarse grid whose kinks of a straight stand in line as well; 0 for none. [m]
    wanted : Wanted
        What is known of the stretch, and what was asked for.
    """
    kept = drop_straight_vertices(points_m, tolerance_m, wanted.locked)
    if kinks_m:
        kinks = grid_kinks(points_m, kinks_m, wanted.locked)
        kept = [vertex for vertex in kept if vertex not in kinks]
    reading = _read_kept(points_m, kept, tolerance_m, wanted)
    short = short_end_chords(points_m, reading.runs)
    if not short <= set(kept):
        again = _read_kept(points_m, sorted({*kept, *short}), tolerance_m, wanted)
        if all(run.tangent_vertices for run in again.runs):
            return again
    if kinks_m:
        return reading
    off = vertices_off_straights(points_m, reading.corners, reading.runs, tolerance_m)
    if off:
        again = _read_kept(points_m, sorted({*kept, *off}), tolerance_m, wanted)
        places, before = ({(r.first, r.last) for r in one.runs} for one in (again, reading))
        # a few vertices more may lie on an arc by chance: they are corners, unless asked for
        if places == before or (wanted.wants_chords and places > before):
            return again
    return reading


def _read_kept(
    points_m: Floats, kept: Sequence[int], tolerance_m: float, wanted: Wanted
) -> LineReading:
    """Read a stretch from some of its vertices: those left out are taken to stand in line."""
    place = {vertex: index for index, vertex in enumerate(kept)}
    fixed = frozenset(place[vertex] for vertex in wanted.locked if vertex in place)
    left = points_m[kept]
    asked = wanted.corner_radius_m, wanted.wants_chords
    found = find_chord_runs(
        left,
        tolerance_m,
        locked=fixed,
        entry=wanted.entry,
        leave=wanted.leave,
        prefer_chords=wanted.wants_chords,
        corner_radius_m=wanted.corner_radius_m,
    )
    runs = _not_outside(left, tolerance_m, [run for run in found if run.accepted], fixed)
    free = _free_vertices(left, tolerance_m, runs, fixed)
    doubts = [run_doubt(run) for run in runs if run.doubt]
    declined = [run for run in found if not run.accepted]
    outer, notes = outer_runs(left, tolerance_m, [v for v in free if v not in fixed], *asked)
    runs += outer
    # one doubt a place: chords of an arc go before a polygon round its outside
    doubts += [
        declined_doubt(run)
        for run in declined
        if not any(one.first <= run.last and run.first <= one.last for one in outer)
    ]
    read = {run.first for run in outer}
    doubts += [
        note
        for note in notes
        if note.vertex in read or not any(r.first <= note.vertex <= r.last for r in declined)
    ]
    taken = {vertex for run in outer for vertex in range(run.first, run.last + 1)}
    free = [vertex for vertex in free if vertex not in taken]
    single, notes = single_chords(left, tolerance_m, [v for v in free if v not in fixed], *asked)
    runs += single
    # what may be inner chords of a longer arc is tangent to no straight as one chord
    doubts += [note for note in notes if not any(r.first <= note.vertex < r.last for r in declined)]
    taken = {vertex for run in single for vertex in range(run.first, run.last + 1)}
    free = [vertex for vertex in free if vertex not in taken]
    lone, notes = lone_chords(left, tolerance_m, [v for v in free if v not in fixed], *asked)
    runs += lone
    doubts += [note for note in notes if not any(r.first <= note.vertex < r.last for r in declined)]
    taken = {vertex for run in lone for vertex in (run.first, run.last)}
    corners = [vertex for vertex in free if vertex not in taken]
    return LineReading(
        tuple(sorted((_renumbered(run, kept) for run in runs), key=lambda run: run.first)),
        tuple(kept[vertex] for vertex in corners),
        tuple(one.moved(kept) for one in doubts),
        False,
    )


def _renumbered(run: ChordRun, kept: Sequence[int]) -> ChordRun:
    return replace(run, first=kept[run.first], last=kept[run.last])


def _free_vertices(
    points_m: Floats, tolerance_m: float, runs: Sequence[ChordRun], fixed: frozenset[int]
) -> list[int]:
    """Inner vertices that no run takes and that turn at all; locked ones at a run's end stay.

    Between two that turn, those a hair off their line are on a straight where no run needs them.
    """
    busy: set[int] = set()
    for run in runs:
        busy.update(range(run.first, run.last + 1))
        for vertex, end in ((run.first, run.start), (run.last, run.end)):
            if vertex in fixed and end.tangency is Tangency.FREE:
                busy.discard(vertex)
    free = [vertex for vertex in range(1, len(points_m) - 1) if vertex not in busy]
    if not free:
        return []
    turn, _ = turns(points_m)
    offset = offsets_from_neighbors(points_m, turn)
    turns_at_all = (offset >= IN_LINE_ROUNDINGS * tolerance_m) & ~are_negligible(turn, offset)
    turns_at_all |= turn > pi / 4
    return [vertex for vertex in free if vertex in fixed or turns_at_all[vertex - 1]]


def _not_outside(
    points_m: Floats, tolerance_m: float, runs: list[ChordRun], fixed: frozenset[int]
) -> list[ChordRun]:
    """Leave out runs whose vertices are better explained by a polygon round the outside."""
    if not any(Tangency.POINT in (run.start.tangency, run.end.tangency) for run in runs):
        return runs
    inner = [vertex for vertex in range(1, len(points_m) - 1) if vertex not in fixed]
    polygons = find_outer_polygons(points_m, tolerance_m, inner)
    return [
        run
        for run in runs
        if Tangency.POINT not in (run.start.tangency, run.end.tangency)
        or not any(one.first <= run.first and run.last <= one.last for one in polygons)
    ]
