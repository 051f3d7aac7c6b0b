"""One stretch of drawn lines read as corners, as arcs drawn in chords, or as survey points.

The kind is decided from the points themselves: vertices on circles that are tangent to the
straights beside them are arcs; what is left is corners; many small turns that nothing explains,
all different, are survey points. Few points never are. Corners in a row that are points at one
spacing along an arc are that arc. Every doubt becomes a finding that names the option that settles
it. Over 500 lines, for each of these readings is tried on what the others leave.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from math import radians, sqrt

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.broken_arcs import are_explained, broken_arcs
from analyzer.geometry.chords.chord_runs import ChordRun, find_chord_runs
from analyzer.geometry.chords.circle_runs import perhaps_chords
from analyzer.geometry.chords.corner_chords import outer_runs, single_chords
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.even_samples import look_drawn_evenly, looks_sampled, stand_alone
from analyzer.geometry.chords.line_doubts import (
    broken_doubt,
    declined_doubt,
    extent_doubt,
    faint_doubt,
    gentle_doubts,
    hidden_chords_doubt,
    kinks_doubt,
    run_doubt,
)
from analyzer.geometry.chords.missed_vertices import short_end_chords, vertices_off_straights
from analyzer.geometry.chords.open_angles import open_angles_doubt
from analyzer.geometry.chords.outer_polygons import find_outer_polygons
from analyzer.geometry.chords.rounded_arcs import find_rounded_arcs
from analyzer.geometry.chords.sampled_arcs import (
    arcs_of_open_extent,
    sampled_arcs,
    sampled_doubt,
)
from analyzer.geometry.chords.shot_doubts import shots_doubt
from analyzer.geometry.chords.tangencies import Tangency
from analyzer.geometry.grid_kinks import grid_kinks
from analyzer.geometry.grids import COARSE_GRID_M, COARSEST_GRID_M, COARSEST_MEASURED_M
from analyzer.geometry.polyline import (
    drop_straight_vertices,
    leg_lengths,
    turns,
    vertices_off_line,
)
from analyzer.geometry.readings import ReadAs
from analyzer.geometry.repeated_shots import many_fold_back, places_of_shots
from analyzer.geometry.segments import Floats, Vector
from analyzer.geometry.surveyed_stretches import (
    SurveyedPart,
    has_faint_corner,
    has_lone_vertex,
    looks_measured_throughout,
    looks_surveyed,
    slight_corners,
    stand_evenly,
    stand_like_few_measured,
    surveyed_parts,
)

__all__ = ["LineReading", "read_lines"]

_ROUNDINGS_M = (1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 3e-5, 1e-4, 3e-4)


@dataclass(frozen=True, slots=True)
class LineReading:
    """A stretch of lines read.

    Attributes
    ----------
    runs : tuple of ChordRun
        Arcs drawn in chords; vertices are those of the stretch as given.
    corners : tuple of int
        Vertices that are corners, rising.
    doubts : tuple of Doubt
        What could be read another way.
    surveyed : bool
        Whether the points look like survey points; corners are then what the exact reading made
        of them.
    parts : tuple of SurveyedPart
        Parts that look like survey points where others do not; read them apart.
    measured_again : int
        Places of survey points that were measured several times in a row.
    """

    runs: tuple[ChordRun, ...]
    corners: tuple[int, ...]
    doubts: tuple[Doubt, ...]
    surveyed: bool
    parts: tuple[SurveyedPart, ...] = ()
    measured_again: int = 0


def read_lines(
    points_m: Floats,
    rounding_m: float,
    floor_m: float,
    *,
    locked: Collection[int] = (),
    entry: Vector | None = None,
    leave: Vector | None = None,
    read_as: ReadAs | None = None,
    corner_radius_m: float | None = None,
    accuracy_m: float | None = None,
) -> LineReading:
    """Return how a stretch of drawn lines is best read.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices in order, repeats dropped. [m]
    rounding_m, floor_m : float
        Grid of the coordinates, and the least rounding doubles allow. [m]
    locked : collection of int
        Vertices in fittings or with a radius of their own: no arc runs across them.
    entry, leave : (3,) float, optional
        Direction of travel before and after the stretch, where an arc is drawn there.
    read_as : ReadAs, optional
        CORNERS or CHORDS to force that reading.
    corner_radius_m : float, optional
        Radius a corner would get; tells whether corners are plausible. [m]
    accuracy_m : float, optional
        Accuracy that was stated: the points were said to be measured, and a rounded grid excuses
        nothing. [m]
    """
    drawn, asked = (points_m, rounding_m, floor_m), (read_as, corner_radius_m, accuracy_m)
    again = _read_again_measured(*drawn, *asked)
    if again is not None:
        return again
    reading = _read_whole(*drawn, locked, entry, leave, *asked)
    if read_as is ReadAs.CORNERS:
        return reading
    if any(doubt.arc for doubt in reading.doubts):
        forced = (ReadAs.CHORDS, corner_radius_m, accuracy_m)
        reading = _with_tried_advice(reading, _read_whole(*drawn, locked, entry, leave, *forced))
    parts: tuple[SurveyedPart, ...] = ()
    if read_as is None:
        if reading.surveyed and not has_lone_vertex(points_m, reading.corners):
            return reading
        parts = surveyed_parts(points_m, reading.corners, rounding_m)
        if reading.surveyed:
            return replace(reading, surveyed=False, parts=parts) if parts else reading
    slight = slight_corners(points_m, reading.corners, parts)
    if slight:
        turn, _ = turns(points_m)
        most = 5 if all(turn[vertex - 1] < radians(5.0) for vertex in slight) else 12
        like = "as measured points do" if read_as is None else "and are chords of no one arc"
        text = (
            f"{len(slight)} corners turn by less than {most}°, {like}: if they were measured, "
            f'state {"" if accuracy_m else "[drawing] accuracy or "}read_as = "survey" in the '
            'job; read_as = "corners" confirms them'
        )
        doubt = Doubt(slight[0], text, True)
    elif read_as is None and not parts and stand_like_few_measured(points_m, reading.corners):
        text = (
            f"{len(points_m)} points stand about evenly and nearly all turn, each by another "
            f"angle, as measured points do: they are read as {len(reading.corners)} corners. If "
            'they were measured, state [drawing] accuracy or read_as = "survey" in the job; '
            'read_as = "corners" confirms them'
        )
        doubt = Doubt(reading.corners[0], text, True)
    else:
        free = [vertex for vertex in reading.corners if vertex not in locked]
        asked_none = read_as is None and not accuracy_m
        shots = shots_doubt(points_m, free, reading.runs, rounding_m) if asked_none else None
        if shots is None:
            return replace(reading, parts=parts)
        doubt = shots
    return replace(reading, doubts=(*reading.doubts, doubt), parts=parts)


def _with_tried_advice(reading: LineReading, as_chords: LineReading) -> LineReading:
    """Say that reading as chords gives an arc only where it does."""
    doubts = [
        replace(doubt, message=doubt.otherwise)
        if doubt.arc is not None and not _has_arc(as_chords, *doubt.arc)
        else doubt
        for doubt in reading.doubts
    ]
    return replace(reading, doubts=tuple(doubts))


def _has_arc(reading: LineReading, first: int, last: int, angle_rad: float) -> bool:
    """Whether a reading has an arc over some vertices, of an angle within a hundredth.

    Arcs that share a vertex and no tangent there are laid with another angle.
    """
    return any(
        abs(run.first - first) <= 1
        and abs(run.last - last) <= 1
        and abs(run.angle_rad - angle_rad) <= 0.01 * angle_rad
        and not any(
            angle_between(before.end.direction, after.start.direction) > 0.01 * angle_rad
            for before, after in pairwise(reading.runs)
            if run in (before, after) and after.first - before.last <= 1
        )
        for run in reading.runs
    )


def _read_again_measured(
    points_m: Floats,
    rounding_m: float,
    floor_m: float,
    read_as: ReadAs | None,
    corner_radius_m: float | None,
    accuracy_m: float | None,
) -> LineReading | None:
    """Read points that were measured, some places several times; None where they were not.

    Where many fold back they were, even if the means of their places look exact.
    """
    if read_as is not None:
        return None
    places, again = places_of_shots(points_m)
    fold_back = many_fold_back(points_m)
    if not again and not fold_back:
        return None
    if not fold_back:
        once = _read_whole(
            places, rounding_m, floor_m, (), None, None, None, corner_radius_m, accuracy_m
        )
        if not once.surveyed or has_lone_vertex(places, once.corners):
            return None
    inner = tuple(range(1, len(points_m) - 1))
    return LineReading((), inner, (), True, measured_again=again)


def _read_whole(
    points_m: Floats,
    rounding_m: float,
    floor_m: float,
    locked: Collection[int],
    entry: Vector | None,
    leave: Vector | None,
    read_as: ReadAs | None,
    corner_radius_m: float | None,
    accuracy_m: float | None,
) -> LineReading:
    """Read a stretch as one, whether drawn or measured."""
    coarse = rounding_m > COARSE_GRID_M
    eps = floor_m if coarse else rounding_m
    rounded = rounding_m if floor_m < rounding_m <= COARSEST_GRID_M else 0.0
    grid = rounded if rounding_m <= COARSEST_MEASURED_M else 0.0
    kink_grid = rounded if coarse else 0.0
    if read_as is ReadAs.CORNERS:
        kept = drop_straight_vertices(points_m, eps, locked)
        off = [v for ends in pairwise(kept) for v in vertices_off_line(points_m, *ends, eps)]
        return LineReading((), tuple(sorted([*kept[1:-1], *off])), (), False)

    @cache
    def read(tolerance_m: float, kinks_of_m: float = 0.0) -> LineReading:
        asked = (read_as, corner_radius_m)
        return _read_at(points_m, tolerance_m, locked, entry, leave, *asked, kinks_of_m)

    if accuracy_m and read_as is None:
        exact = read(floor_m)
        few = not locked and stand_like_few_measured(points_m, exact.corners)
        excused = sqrt(12.0) * accuracy_m
        if few or looks_surveyed(points_m, exact.corners, rounding_m, excused_m=excused):
            return LineReading((), exact.corners, (), True)
    arcs = find_rounded_arcs(points_m, grid, locked, coarser_too=coarse) if grid else ()
    if arcs:
        asked = (read_as, corner_radius_m, kink_grid)
        best = _read_around(points_m, arcs, eps, locked, entry, leave, *asked)
    else:
        best = read(eps, kink_grid)
    free = bool(grid) and read_as is None
    evenly = (
        free
        and stand_evenly(points_m, grid)
        and looks_measured_throughout(points_m, read(floor_m).corners, grid)
    )
    sure = not (best.runs and best.doubts)
    drawn = evenly and sure and look_drawn_evenly(points_m, best.corners, best.runs, grid)
    if (evenly and not drawn) or (free and looks_sampled(points_m, best.corners, best.runs, grid)):
        in_part = _with_sampled_arcs(points_m, best, grid, locked, read_as, in_samples=True)
        if not stand_alone(points_m, in_part.corners, in_part.runs):
            return LineReading((), read(floor_m).corners, (), True)
        best = in_part
    if not arcs:
        for tolerance in (step for step in _ROUNDINGS_M if step > eps):
            broken = broken_arcs(points_m, best.runs, best.corners, eps)
            suspects = perhaps_chords(points_m, best.corners)
            unclear = broken or _cut_short(best) or suspects
            measured = read_as is None and looks_measured_throughout(points_m, best.corners, 0.0)
            if measured or not unclear:
                break
            looser = read(tolerance, kink_grid)
            if are_explained(points_m, looser.runs, tolerance):
                best = min(_doubted(best, looser, suspects), looser, key=_count_of_pieces)
    corners = best.corners
    if read_as is None and has_faint_corner(points_m, corners, grid):
        # what explains all but some slight turns is no rounding: the points are off by chance
        corners = max(corners, read(floor_m).corners, key=len)
    if read_as is None and looks_surveyed(points_m, corners, max(rounding_m, eps)):
        return LineReading((), corners, (), True)
    best = _with_sampled_arcs(points_m, best, max(rounded, eps), locked, read_as)
    broken = broken_arcs(points_m, best.runs, best.corners, eps)
    if broken and read_as is None:
        best = replace(best, doubts=(*best.doubts, broken_doubt(broken)))
    if not rounded:
        return best
    faint = faint_doubt(points_m, best.corners, rounded)
    slight = kinks_doubt(points_m, best.corners, best.runs, rounded, locked) if coarse else None
    first = faint or slight
    if first is None and coarse and read_as is None:
        first = hidden_chords_doubt(points_m, best.corners, best.runs, rounded, locked)
    gentle = gentle_doubts(points_m, best.corners, best.runs, rounded)
    more = (first, *gentle) if first else gentle
    extents = [extent_doubt(arc) for arc in arcs if arc.doubt]
    if coarse and read_as is None:
        doubted = {doubt.vertex for doubt in (*best.doubts, *extents)}
        loose = arcs_of_open_extent(points_m, best.corners, best.runs, rounded)
        extents += [extent_doubt(run) for run in loose if run.first not in doubted]
    angles = open_angles_doubt(points_m, best.corners, best.runs, rounded, locked)
    more = (*more, angles) if angles else more
    return replace(best, doubts=(*best.doubts, *extents, *more))


def _with_sampled_arcs(
    points_m: Floats,
    reading: LineReading,
    grid_m: float,
    locked: Collection[int],
    read_as: ReadAs | None,
    *,
    in_samples: bool = False,
) -> LineReading:
    """Read corners in a row as one arc where they are points at one spacing along it."""
    asked = read_as is ReadAs.CHORDS
    arcs, may_be = sampled_arcs(
        points_m,
        reading.corners,
        reading.runs,
        grid_m,
        locked,
        prefer_chords=asked,
        prefer_samples=in_samples,
    )
    if not arcs and not may_be:
        return reading
    taken = {vertex for arc in arcs for vertex in range(arc.first, arc.last + 1)}
    doubts = [one for one in reading.doubts if one.vertex not in taken]
    doubts += [] if asked else [sampled_doubt(arc) for arc in arcs]
    return replace(
        reading,
        runs=tuple(sorted([*reading.runs, *arcs], key=lambda run: run.first)),
        corners=tuple(vertex for vertex in reading.corners if vertex not in taken),
        doubts=(*doubts, *may_be),
    )


def _read_around(
    points_m: Floats,
    arcs: Sequence[ChordRun],
    eps: float,
    locked: Collection[int],
    entry: Vector | None,
    leave: Vector | None,
    read_as: ReadAs | None,
    corner_radius_m: float | None,
    kink_grid_m: float,
) -> LineReading:
    """Read what lies between arcs of rounded chords; each is a straight's end to it."""
    runs: list[ChordRun] = []
    corners: list[int] = []
    doubts: list[Doubt] = []
    starts = [0, *(arc.last for arc in arcs)]
    stops = [*(arc.first for arc in arcs), len(points_m) - 1]
    entries = [entry, *(arc.end.direction for arc in arcs)]
    leaves = [*(arc.start.direction for arc in arcs), leave]
    for first, stop, into, out in zip(starts, stops, entries, leaves, strict=True):
        part = _read_at(
            points_m[first : stop + 1],
            eps,
            [vertex - first for vertex in locked if first <= vertex <= stop],
            into,
            out,
            read_as,
            corner_radius_m,
            kink_grid_m,
        )
        runs += [replace(r, first=r.first + first, last=r.last + first) for r in part.runs]
        corners += [vertex + first for vertex in part.corners]
        doubts += [one.moved(range(first, stop + 1)) for one in part.doubts]
    runs = sorted([*runs, *arcs], key=lambda run: run.first)
    return LineReading(tuple(runs), tuple(corners), tuple(doubts), False)


def _read_at(
    points_m: Floats,
    eps: float,
    locked: Collection[int],
    entry: Vector | None,
    leave: Vector | None,
    read_as: ReadAs | None,
    corner_radius_m: float | None,
    kink_grid_m: float,
) -> LineReading:
    """Read a stretch; kinks that a coarse grid makes of a straight stand in line as well."""
    kept = drop_straight_vertices(points_m, eps, locked)
    if kink_grid_m:
        kinks = grid_kinks(points_m, kink_grid_m, locked)
        kept = [vertex for vertex in kept if vertex not in kinks]
    asked = (locked, entry, leave, read_as, corner_radius_m)
    reading = _read_kept(points_m, kept, eps, *asked)
    short = short_end_chords(points_m, reading.runs)
    if not short <= set(kept):
        again = _read_kept(points_m, sorted({*kept, *short}), eps, *asked)
        if all(run.tangent_vertices for run in again.runs):
            return again
    off = (
        set()
        if kink_grid_m
        else vertices_off_straights(points_m, reading.corners, reading.runs, eps)
    )
    if off:
        again = _read_kept(points_m, sorted({*kept, *off}), eps, *asked)
        places, before = ({(r.first, r.last) for r in one.runs} for one in (again, reading))
        # a few vertices more may lie on an arc by chance: they are corners, unless asked for
        if places == before or (read_as is ReadAs.CHORDS and places > before):
            return again
    return reading


def _read_kept(
    points_m: Floats,
    kept: Sequence[int],
    eps: float,
    locked: Collection[int],
    entry: Vector | None,
    leave: Vector | None,
    read_as: ReadAs | None,
    corner_radius_m: float | None,
) -> LineReading:
    """Read a stretch from some of its vertices: those left out are taken to stand in line."""
    place = {vertex: index for index, vertex in enumerate(kept)}
    fixed = frozenset(place[vertex] for vertex in locked if vertex in place)
    left = points_m[kept]
    forced = read_as is ReadAs.CHORDS
    found = find_chord_runs(
        left,
        eps,
        locked=fixed,
        entry=entry,
        leave=leave,
        prefer_chords=forced,
        corner_radius_m=corner_radius_m,
    )
    runs = _not_outside(left, eps, [run for run in found if run.accepted], fixed)
    free = _free_vertices(left, eps, runs, fixed)
    doubts = [run_doubt(run) for run in runs if run.doubt]
    declined = [run for run in found if not run.accepted]
    outer, notes = outer_runs(
        left, eps, [v for v in free if v not in fixed], corner_radius_m, forced
    )
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
    single, notes = single_chords(
        left, eps, [v for v in free if v not in fixed], corner_radius_m, forced
    )
    runs += single
    doubts += notes
    taken = {vertex for run in single for vertex in (run.first, run.last)}
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
    points_m: Floats, eps: float, runs: Sequence[ChordRun], fixed: frozenset[int]
) -> list[int]:
    """Inner vertices that no run takes and that turn at all; locked ones at a run's end stay."""
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
    legs = leg_lengths(points_m)
    offset = turn * legs[:-1] * legs[1:] / (legs[:-1] + legs[1:])
    return [
        vertex
        for vertex in free
        if vertex in fixed or offset[vertex - 1] >= 2.0 * eps or turn[vertex - 1] > np.pi / 4
    ]


def _not_outside(
    points_m: Floats, eps: float, runs: list[ChordRun], fixed: frozenset[int]
) -> list[ChordRun]:
    """Leave out runs whose vertices are better explained by a polygon round the outside."""
    if not any(Tangency.POINT in (run.start.tangency, run.end.tangency) for run in runs):
        return runs
    inner = [vertex for vertex in range(1, len(points_m) - 1) if vertex not in fixed]
    polygons = find_outer_polygons(points_m, eps, inner)
    return [
        run
        for run in runs
        if Tangency.POINT not in (run.start.tangency, run.end.tangency)
        or not any(one.first <= run.first and run.last <= one.last for one in polygons)
    ]


def _count_of_pieces(reading: LineReading) -> tuple[int, int]:
    """How many arcs, corners and doubts a reading is made of; of equals, with more doubts."""
    pieces = len(reading.runs) + len(reading.corners)
    return pieces + len(reading.doubts), pieces


def _doubted(best: LineReading, looser: LineReading, suspects: Collection[int]) -> LineReading:
    """Return a reading with what one as good says of corners that may be chords."""
    if looser.runs != best.runs or looser.corners != best.corners:
        return best
    known = {doubt.vertex for doubt in best.doubts if doubt.serious}
    more = [
        one
        for one in looser.doubts
        if one.serious and one.vertex in suspects and one.vertex not in known
    ]
    vertices = {doubt.vertex for doubt in more}
    kept = [doubt for doubt in best.doubts if doubt.vertex not in vertices]
    return replace(best, doubts=(*kept, *more))


def _cut_short(reading: LineReading) -> bool:
    """Whether corners stand next to a polygon round the outside: rather chords of one arc."""
    marks = set(reading.corners)
    return any(run.outside and {run.first - 1, run.last + 1} & marks for run in reading.runs)
