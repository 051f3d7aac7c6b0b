"""One stretch of drawn lines read as corners, as arcs drawn in chords, or as survey points.

The kind is decided from the points themselves: vertices on circles that are tangent to the
straights beside them are arcs; what is left is corners; many small turns that nothing explains,
all different, are survey points. Few points never are. Corners in a row that are points at one
spacing along an arc are that arc. Every doubt becomes a finding that names the option that settles
it. Each of these readings is tried on what the others leave; `exact_stretches` does so with one
tolerance.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from math import degrees, sqrt

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.bent_straights import bent_straight_doubt
from analyzer.geometry.chords.broken_arcs import are_explained, broken_arcs
from analyzer.geometry.chords.circle_runs import perhaps_chords
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.even_samples import look_drawn_evenly, looks_sampled, stand_alone
from analyzer.geometry.chords.exact_stretches import read_around, read_at, read_corners
from analyzer.geometry.chords.line_doubts import (
    broken_doubt,
    extent_doubt,
    faint_doubt,
    gentle_doubts,
    hidden_chords_doubt,
    kinks_doubt,
    unmet_doubt,
)
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.open_angles import open_angles_doubt
from analyzer.geometry.chords.outside_rows import open_radii
from analyzer.geometry.chords.rounded_arcs import find_rounded_arcs
from analyzer.geometry.chords.sampled_arcs import (
    arcs_of_open_extent,
    sampled_arcs,
    sampled_doubt,
)
from analyzer.geometry.chords.shot_doubts import shots_doubt
from analyzer.geometry.chords.whole_arcs import (
    bends_left_out,
    left_out_doubt,
    whole_arc_doubt,
    whole_arcs,
)
from analyzer.geometry.corners import LEAST_BEND_RAD
from analyzer.geometry.grids import COARSE_GRID_M, COARSEST_GRID_M, COARSEST_MEASURED_M
from analyzer.geometry.line_readings import LineReading, Wanted
from analyzer.geometry.polyline import turns
from analyzer.geometry.readings import ReadAs
from analyzer.geometry.repeated_shots import many_fold_back, places_of_shots
from analyzer.geometry.segments import Floats
from analyzer.geometry.surveyed_stretches import (
    FINE_TURN_RAD,
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

__all__ = ["read_lines"]

_ROUNDINGS_M = (1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 3e-5, 1e-4, 3e-4)
"""Tolerances tried in turn where arcs come apart, as points may be less exact than their digits.
[m] Own choice."""


def read_lines(points_m: Floats, rounding_m: float, floor_m: float, wanted: Wanted) -> LineReading:
    """Return how a stretch of drawn lines is best read.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices in order, repeats dropped. [m]
    rounding_m, floor_m : float
        Grid of the coordinates, and the least rounding doubles allow. [m]
    wanted : Wanted
        What is known of the stretch beside its points, and what was asked for.
    """
    grid = _Grid(rounding_m, floor_m)
    again = _read_again_measured(points_m, grid, wanted)
    if again is not None:
        return again
    reading = _read_whole(points_m, grid, wanted)
    if wanted.read_as is ReadAs.CORNERS:
        return reading
    if any(doubt.arc for doubt in reading.doubts):
        as_chords = _read_whole(points_m, grid, replace(wanted, read_as=ReadAs.CHORDS))
        reading = _with_tried_advice(reading, as_chords)
    if wanted.wants_chords:
        as_open = _read_whole(points_m, grid, replace(wanted, read_as=None))
        reading = _with_open_radii(points_m, _with_unmet_doubts(reading, as_open), grid.rounded_m)
    parts: tuple[SurveyedPart, ...] = ()
    if wanted.is_open:
        if reading.surveyed and not has_lone_vertex(points_m, reading.corners):
            return reading
        parts = surveyed_parts(points_m, reading.corners, rounding_m)
        if reading.surveyed:
            return replace(reading, surveyed=False, parts=parts) if parts else reading
    doubt = _measured_doubt(points_m, rounding_m, replace(reading, parts=parts), wanted)
    doubts = (*reading.doubts, doubt) if doubt else reading.doubts
    return replace(reading, doubts=doubts, parts=parts)


@dataclass(frozen=True, slots=True)
class _Grid:
    """The grid that coordinates lie on, and what it is to whom.

    `rounding_m` is its spacing, `floor_m` the least rounding doubles allow. [m]
    """

    rounding_m: float
    floor_m: float

    @property
    def is_coarse(self) -> bool:
        """Whether it is too coarse a tolerance to read arcs with."""
        return self.rounding_m > COARSE_GRID_M

    @property
    def tolerance_m(self) -> float:
        """How far points may be off for rounding, as arcs are read. [m]"""
        return self.floor_m if self.is_coarse else self.rounding_m

    @property
    def rounded_m(self) -> float:
        """The grid where coordinates were rounded to it, 0 where places were meant. [m]"""
        return self.rounding_m if self.floor_m < self.rounding_m <= COARSEST_GRID_M else 0.0

    @property
    def measured_m(self) -> float:
        """The grid where measured points may have been rounded to it too, else 0. [m]"""
        return self.rounded_m if self.rounding_m <= COARSEST_MEASURED_M else 0.0

    @property
    def kinks_m(self) -> float:
        """The grid where it makes a straight's own vertices turn, else 0. [m]"""
        return self.rounded_m if self.is_coarse else 0.0


def _measured_doubt(
    points_m: Floats, rounding_m: float, reading: LineReading, wanted: Wanted
) -> Doubt | None:
    """Return the doubt of corners that may have been measured."""
    slight = slight_corners(points_m, reading.corners, reading.parts)
    if slight:
        turn, _ = turns(points_m)
        all_are = all(turn[vertex - 1] < LEAST_BEND_RAD for vertex in slight)
        most = degrees(LEAST_BEND_RAD if all_are else FINE_TURN_RAD)
        like = "as measured points do" if wanted.is_open else "and are chords of no one arc"
        accuracy = "" if wanted.accuracy_m else "[drawing] accuracy or "
        text = (
            f"{len(slight)} corners turn by less than {most:.0f}°, {like}: if they were measured, "
            f'state {accuracy}read_as = "survey" in the job; read_as = "corners" confirms them'
        )
        return Doubt(slight[0], text, True)
    if not wanted.is_open:
        return None
    if not reading.parts and stand_like_few_measured(points_m, reading.corners):
        text = (
            f"{len(points_m)} points stand about evenly and nearly all turn, each by another "
            f"angle, as measured points do: they are read as {len(reading.corners)} corners. If "
            'they were measured, state [drawing] accuracy or read_as = "survey" in the job; '
            'read_as = "corners" confirms them'
        )
        return Doubt(reading.corners[0], text, True)
    free = [vertex for vertex in reading.corners if vertex not in wanted.locked]
    return None if wanted.accuracy_m else shots_doubt(points_m, free, reading.runs, rounding_m)


def _with_tried_advice(reading: LineReading, as_chords: LineReading) -> LineReading:
    """Say that reading as chords gives an arc only where it does."""
    doubts = [
        replace(doubt, message=doubt.otherwise)
        if doubt.arc is not None and not _has_arc(as_chords, *doubt.arc)
        else doubt
        for doubt in reading.doubts
    ]
    return replace(reading, doubts=tuple(doubts))


def _with_unmet_doubts(as_chords: LineReading, as_open: LineReading) -> LineReading:
    """Keep the doubts that reading as chords was to settle, and has not settled."""
    told = {doubt.vertex for doubt in as_chords.doubts if doubt.serious}
    unmet = []
    for doubt in as_open.doubts:
        if doubt.arc is None or not doubt.serious or _has_arc(as_chords, *doubt.arc):
            continue
        first, last, angle = doubt.arc
        within_more = any(
            run.first <= first and last <= run.last and run.angle_rad > angle
            for run in as_chords.runs
        )
        if not within_more and told.isdisjoint(range(first, last + 1)):
            told.add(first)
            unmet.append(unmet_doubt(first, last, angle))
    return replace(as_chords, doubts=(*as_chords.doubts, *unmet))


def _with_open_radii(points_m: Floats, as_chords: LineReading, grid_m: float) -> LineReading:
    """Tell the arcs asked for of which rounding leaves the radius open."""
    if not grid_m:
        return as_chords
    doubted = {doubt.vertex for doubt in as_chords.doubts}
    loose = open_radii(points_m, as_chords.corners, as_chords.runs, grid_m)
    more = [extent_doubt(run) for run in loose if run.first not in doubted]
    return replace(as_chords, doubts=(*as_chords.doubts, *more))


def _has_arc(reading: LineReading, first: int, last: int, angle_rad: float) -> bool:
    """Whether a reading has an arc over some vertices, of an angle within a hundredth.

    It may have one vertex more or less at either end; moved on by one it is another.
    Arcs that share a vertex and no tangent there are laid with another angle.
    """
    return any(
        abs(run.first - first) <= 1
        and abs(run.last - last) <= 1
        and (run.first - first) * (run.last - last) <= 0
        and abs(run.angle_rad - angle_rad) <= 0.01 * angle_rad
        and not any(
            angle_between(before.end.direction, after.start.direction) > 0.01 * angle_rad
            for before, after in pairwise(reading.runs)
            if run in (before, after) and after.first - before.last <= 1
        )
        for run in reading.runs
    )


def _read_again_measured(points_m: Floats, grid: _Grid, wanted: Wanted) -> LineReading | None:
    """Read points that were measured, some places several times; None where they were not.

    Where many fold back they were, even if the means of their places look exact.
    """
    if not wanted.is_open:
        return None
    places, again = places_of_shots(points_m)
    fold_back = many_fold_back(points_m)
    if not again and not fold_back:
        return None
    if not fold_back:
        once = _read_whole(places, grid, replace(wanted, locked=(), entry=None, leave=None))
        if not once.surveyed or has_lone_vertex(places, once.corners):
            return None
    inner = tuple(range(1, len(points_m) - 1))
    return LineReading((), inner, (), True, measured_again=again)


def _read_whole(points_m: Floats, grid: _Grid, wanted: Wanted) -> LineReading:
    """Read a stretch as one, whether drawn or measured."""
    if wanted.read_as is ReadAs.CORNERS:
        rounded_m = 0.0 if grid.is_coarse else grid.rounded_m
        return read_corners(points_m, grid.tolerance_m, rounded_m, wanted)

    @cache
    def read(tolerance_m: float, kinks_m: float = 0.0) -> LineReading:
        return read_at(points_m, tolerance_m, kinks_m, wanted)

    def exact() -> tuple[int, ...]:
        return read(grid.floor_m).corners

    if _are_as_said(points_m, grid, wanted, exact):
        return LineReading((), exact(), (), True)
    arcs: tuple[ChordRun, ...] = ()
    if grid.measured_m:
        coarse = grid.is_coarse
        arcs = find_rounded_arcs(points_m, grid.measured_m, wanted.locked, coarser_too=coarse)
    best = (
        read_around(points_m, arcs, grid.tolerance_m, grid.kinks_m, wanted)
        if arcs
        else read(grid.tolerance_m, grid.kinks_m)
    )
    if wanted.is_open and _stand_at_one_spacing(points_m, grid.measured_m, best, exact):
        in_part = _with_sampled_arcs(points_m, best, grid.measured_m, wanted, in_samples=True)
        if not stand_alone(points_m, in_part.corners, in_part.runs):
            return LineReading((), exact(), (), True)
        best = in_part
    if not arcs:
        best = _loosened(points_m, best, grid, wanted, read)
    corners = best.corners
    coarse_m = grid.kinks_m
    if wanted.is_open and not coarse_m and has_faint_corner(points_m, corners, grid.measured_m):
        # what explains all but some slight turns is no rounding: the points are off by chance;
        # on a coarse grid three lines within it are no chance, and few slight turns are bends
        corners = max(corners, exact(), key=len)
    if wanted.is_open and looks_surveyed(points_m, corners, max(grid.rounding_m, grid.tolerance_m)):
        return LineReading((), corners, (), True)
    tolerance_m = max(grid.rounded_m, grid.tolerance_m)
    best = _with_sampled_arcs(points_m, best, tolerance_m, wanted)
    best = _with_whole_arcs(points_m, best, grid, wanted)
    return _with_doubts(points_m, best, arcs, grid, wanted)


def _are_as_said(
    points_m: Floats, grid: _Grid, wanted: Wanted, exact: Callable[[], tuple[int, ...]]
) -> bool:
    """Whether points look measured that were said to be, so that a grid excuses nothing."""
    if not wanted.accuracy_m or not wanted.is_open:
        return False
    if not wanted.locked and stand_like_few_measured(points_m, exact()):
        return True
    excused_m = sqrt(12.0) * wanted.accuracy_m
    return looks_surveyed(points_m, exact(), grid.rounding_m, excused_m=excused_m)


def _stand_at_one_spacing(
    points_m: Floats, grid_m: float, best: LineReading, exact: Callable[[], tuple[int, ...]]
) -> bool:
    """Whether points on a grid stand along straights and bends alike, and were not drawn so."""
    if not grid_m:
        return False
    evenly = stand_evenly(points_m, grid_m) and looks_measured_throughout(points_m, exact(), grid_m)
    if evenly:
        sure = not (best.runs and best.doubts)
        if not (sure and look_drawn_evenly(points_m, best.corners, best.runs, grid_m)):
            return True
    return looks_sampled(points_m, best.corners, best.runs, grid_m)


def _loosened(
    points_m: Floats,
    best: LineReading,
    grid: _Grid,
    wanted: Wanted,
    read: Callable[[float, float], LineReading],
) -> LineReading:
    """Read with looser tolerances too, where the points seem less exact than their digits."""
    for tolerance_m in (step for step in _ROUNDINGS_M if step > grid.tolerance_m):
        broken = broken_arcs(points_m, best.runs, best.corners, grid.tolerance_m)
        suspects = perhaps_chords(points_m, best.corners)
        measured = wanted.is_open and looks_measured_throughout(points_m, best.corners, 0.0)
        if measured or not (broken or _cut_short(best) or suspects):
            break
        looser = read(tolerance_m, grid.kinks_m)
        if are_explained(points_m, looser.runs, tolerance_m):
            best = min(_doubted(best, looser, suspects), looser, key=_count_of_pieces)
    return best


def _with_doubts(
    points_m: Floats, best: LineReading, arcs: Sequence[ChordRun], grid: _Grid, wanted: Wanted
) -> LineReading:
    """Add the doubts of arcs that seem to be pieces of fewer, and those that rounding leaves."""
    asked = wanted.wants_chords
    broken = broken_arcs(points_m, best.runs, best.corners, grid.tolerance_m, asked=asked)
    if broken:
        best = replace(best, doubts=(*best.doubts, broken_doubt(broken)))
    rounded_m, locked = grid.rounded_m, wanted.locked
    if not rounded_m:
        return best
    read = best.corners, best.runs, rounded_m
    first = faint_doubt(points_m, best.corners, rounded_m)
    extents = [extent_doubt(arc) for arc in arcs if arc.doubt and arc in best.runs]
    of_arcs = {v for one in best.doubts if one.arc for v in range(one.arc[0], one.arc[1] + 1)}
    gentle = [one for one in gentle_doubts(points_m, *read) if one.vertex not in of_arcs]
    if not grid.is_coarse:
        told = of_arcs.union(*(one.spoken_of for one in gentle))
        bent = [v for v in bends_left_out(points_m, *read, locked) if v not in told]
        first = first or left_out_doubt(points_m, bent, rounded_m)
    if grid.is_coarse:
        first = first or kinks_doubt(points_m, *read, locked)
        first = first or bent_straight_doubt(points_m, *read)
    if grid.is_coarse and wanted.is_open:
        first = first or hidden_chords_doubt(points_m, *read, locked)
        doubted = {doubt.vertex for doubt in (*best.doubts, *extents)}
        loose = arcs_of_open_extent(points_m, *read)
        extents += [extent_doubt(run) for run in loose if run.first not in doubted]
    more = (first, *gentle, open_angles_doubt(points_m, *read, locked))
    return replace(best, doubts=(*best.doubts, *extents, *(one for one in more if one)))


def _with_sampled_arcs(
    points_m: Floats,
    reading: LineReading,
    grid_m: float,
    wanted: Wanted,
    *,
    in_samples: bool = False,
) -> LineReading:
    """Read corners in a row as one arc where they are points at one spacing along it."""
    asked = wanted.wants_chords
    arcs, may_be = sampled_arcs(
        points_m,
        reading.corners,
        reading.runs,
        grid_m,
        wanted.locked,
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


def _with_whole_arcs(
    points_m: Floats, reading: LineReading, grid: _Grid, wanted: Wanted
) -> LineReading:
    """Read arcs whole where rounding hid some of their vertices."""
    grid_m = grid.rounded_m
    if not grid_m or grid.is_coarse:
        return reading
    found = whole_arcs(points_m, reading.corners, reading.runs, grid_m, wanted.locked)
    if not found:
        return reading
    read = [one for one in found if wanted.wants_chords or one.is_read]
    runs = [one.run for one in read]
    taken = {vertex for run in runs for vertex in range(run.first, run.last + 1)}
    taken |= {vertex for one in read for vertex in one.corners}
    replaced = {run for one in read for run in one.runs}
    kept = [run for run in reading.runs if run not in replaced]
    doubts = [one for one in reading.doubts if one.vertex not in taken]
    for one in found:
        told = whole_arc_doubt(one, grid_m) if wanted.is_open else None
        told = told or (extent_doubt(one.run) if one.run.doubt else None)
        doubts += [told] if told else []
    return replace(
        reading,
        runs=tuple(sorted([*kept, *runs], key=lambda run: run.first)),
        corners=tuple(vertex for vertex in reading.corners if vertex not in taken),
        doubts=tuple(doubts),
    )


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
