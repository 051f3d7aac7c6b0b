"""Arcs in chords of which rounding hides a vertex: some chords pass for legs of a straight.

A vertex within two roundings of the line of its neighbors is taken to stand on a straight. Where
chords are short, such a vertex turns as much as a bend does. Left out, the arc comes apart: into
corners, or into an arc that starts a chord too late and has another radius, or into both. So where
a vertex left out turns by as much as a bend, and beside an arc, all vertices are held against one
arc, tangent to the straights beside. It is read where all stand on it within rounding; an arc read
already is replaced only where its points refute it.

Assumes vertices in order, repeats dropped, and vertices at both tangent points. Cost is near linear
in vertices. Source: elementary circle geometry; likelihoods as in `arc_extents`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import cos, degrees, radians, sqrt

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.arc_extents import extent_misfit, likeliest_of
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun, anchors_of, run_between
from analyzer.geometry.chords.outside_rows import with_open_radius
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.chords.tangent_arcs import rounded_off
from analyzer.geometry.circle_fit import radius_from_chords
from analyzer.geometry.corners import LEAST_BEND_RAD
from analyzer.geometry.grid_kinks import share_of_rounding
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats, norm, unit
from analyzer.geometry.vectors import minus, to_vector
from analyzer.units import show_short

__all__ = ["WholeArc", "bends_left_out", "left_out_doubt", "whole_arc_doubt", "whole_arcs"]

_REACH = 4
"""Vertices beyond one left out, or beyond an arc, that may be of the same arc."""

_FEWEST_CHORDS = 2
"""Chords from which an arc is looked for. Own choice."""

_FEW_BESIDE, _ONE_PLANE = 2, cos(radians(30.0))
"""Vertices between two bends that are no row of points along a straight, and the cosine between the
axes of turns that go on in one plane."""

_LIKE_CHORDS = 4.0
"""Longest chord of an arc over its shortest one at most: uneven ones are drawn three to one."""

_STRAIGHT_CHORDS = 1.5
"""Straight beside an arc over its chords at least."""

_BESIDE_CHORDS = 2.0
"""Leg beyond an arc over its longest chord, up to which it may be one more."""

_FAR_LEGS = 8
"""Legs of a straight that tell its direction."""

_MOST_STEP_RAD, _MOST_RAD = radians(23.0), radians(150.0)
"""Largest turn from chord to chord, and of the whole arc. [rad] Own choice."""

_REFUTED_MISFIT, _SIGMAS = 10.83, 4.0
"""What an arc leaves more than another before it is out (chi-square, one degree of freedom, 0.1 %),
and how many standard deviations more than its degrees of freedom one may leave."""


@dataclass(frozen=True, slots=True)
class WholeArc:
    """An arc that takes the place of what was read from some of its vertices.

    Attributes
    ----------
    run : ChordRun
        The arc.
    corners : tuple of int
        Corners that it replaces.
    runs : tuple of ChordRun
        Arcs that it replaces.
    """

    run: ChordRun
    corners: tuple[int, ...]
    runs: tuple[ChordRun, ...]

    @property
    def is_read(self) -> bool:
        """Whether it is read unasked; one bend stays one where its points hardly tell its kind."""
        return len(self.corners) != 1 or bool(self.runs)


def bends_left_out(
    points_m: Floats,
    corners: Sequence[int],
    runs: Sequence[ChordRun],
    grid_m: float,
    locked: Collection[int],
) -> tuple[int, ...]:
    """Return the vertices taken to stand on a straight that turn as a bend does, rising.

    Those that rounding explains are none: all vertices from one bend to the next stand in one line
    as far as it tells. One or two beside a corner that turn on with it are told all the same.

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
    left_out = _left_out(points_m, corners, runs, locked)
    if not left_out:
        return ()
    anchors = sorted(anchors_of(points_m, corners, runs))
    marks = frozenset(corners)
    _, axes = turns(points_m)
    bent: set[int] = set()
    for first, last in pairwise(anchors):
        inside = left_out.intersection(range(first + 1, last))
        if inside and share_of_rounding(points_m[first : last + 1], grid_m) > 1.0:
            bent |= inside
        elif inside and last - first - 1 <= _FEW_BESIDE:
            beside = [axes[end - 1] for end in (first, last) if end in marks]
            bent |= {v for v in inside if any(axes[v - 1] @ axis > _ONE_PLANE for axis in beside)}
    return tuple(sorted(bent))


def whole_arcs(
    points_m: Floats,
    corners: Sequence[int],
    runs: Sequence[ChordRun],
    grid_m: float,
    locked: Collection[int],
) -> tuple[WholeArc, ...]:
    """Return the arcs that vertices make together with some left out, or beside an arc, in order.

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
        Vertices in fittings or with a radius of their own: no arc takes them.
    """
    place = _Place(points_m, leg_lengths(points_m), grid_m, frozenset(locked))
    found: list[WholeArc] = []
    taken: set[int] = set()
    marks = frozenset(corners)
    at: dict[int, list[int]] = {}
    for index, run in enumerate(runs):
        for vertex in range(run.first, run.last + 1):
            at.setdefault(vertex, []).append(index)
    seeds = [(vertex, vertex) for vertex in _left_out(points_m, corners, runs, locked)]
    seeds += [(run.first, run.last) for run in runs if _may_go_on(place, run)]
    for first, last in sorted(seeds):
        if not taken.isdisjoint(range(first, last + 1)):
            continue
        low, high = max(first - _REACH, 1), min(last + _REACH, len(points_m) - 2)
        beside = [
            runs[one] for one in sorted({k for v in range(low, high + 1) for k in at.get(v, ())})
        ]
        low = min([low, *(run.first for run in beside)])
        high = max([high, *(run.last for run in beside)])
        choices = [
            arc
            for a, b in _spans((low, first), (last, high), beside)
            if taken.isdisjoint(range(a, b + 1))
            and not _goes_on(place, (a, b), marks)
            and (arc := _arc_over(place, a, b)) is not None
        ]
        if not choices:
            continue
        best = _likeliest(place, choices, beside)
        if best is not None:
            inside = range(best.first, best.last + 1)
            taken.update(inside)
            # its straights are told by all vertices in line: corners among them are none
            whole = range(place.far_end(best.first, -1) + 1, place.far_end(best.last, 1))
            of_it = tuple(vertex for vertex in whole if vertex in marks)
            replaced = tuple(run for run in beside if run.first in inside)
            found.append(WholeArc(best, of_it, replaced))
    return tuple(sorted(found, key=lambda one: one.run.first))


def whole_arc_doubt(arc: WholeArc, grid_m: float) -> Doubt | None:
    """Return the doubt of an arc found among corners, None where it replaces an arc alone.

    Parameters
    ----------
    arc : WholeArc
        The arc.
    grid_m : float
        Grid of the coordinates. [m]
    """
    run = arc.run
    n = run.last - run.first
    if arc.runs and not arc.corners:
        return None
    what = f"one arc of {degrees(run.angle_rad):.4g}° and radius about {show_short(run.radius_m)}"
    but = f"; {run.doubt}" if run.doubt else ""
    rounded = f"coordinates rounded to {show_short(grid_m)} hardly tell"
    if arc.is_read:
        return Doubt(
            run.first,
            f"{n} chords are read as {what}, though {rounded} its points from corners"
            f'{but}: read_as = "corners" in the job reads corners, read_as = "chords" confirms the '
            "arc",
            True,
        )
    text = (
        f"{n + 1} points close together are read as one corner, for {rounded} some of "
        f"them from points of its straights; they may be {n} chords of {what}{but}"
    )
    return Doubt(
        arc.corners[0],
        f'{text}: read_as = "chords" in the job reads the arc, "corners" reads separate corners',
        True,
        (run.first, run.last, run.angle_rad),
        f"{text}: draw the bend as an arc, or export the drawing with more digits",
    )


def left_out_doubt(points_m: Floats, vertices: Sequence[int], grid_m: float) -> Doubt | None:
    """Return the doubt of vertices taken to stand on a straight that turn as a bend does.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    vertices : sequence of int
        Those left out, from `bends_left_out`.
    grid_m : float
        Grid of the coordinates. [m]
    """
    if not vertices:
        return None
    turn, _ = turns(points_m)
    place = max(vertices, key=lambda vertex: turn[vertex - 1])
    most = f"{degrees(turn[place - 1]):.2g}°"
    n = len(vertices)
    what = f"{n} vertices turn by up to {most}" if n > 1 else f"a vertex turns by {most}"
    each = "each is" if n > 1 else "it is"
    return Doubt(
        place,
        f"{what}, and no more off the line of the points beside than coordinates rounded to "
        f"{show_short(grid_m)} may be: {each} read as straight, and may be a bend or a point of "
        'an arc. read_as = "corners" in the job reads a bend there; for an arc export the drawing '
        "with more digits, or draw the bend as an arc",
        True,
    )


@dataclass(frozen=True, slots=True)
class _Place:
    """Vertices with their legs, the grid they lie on, and those that no arc crosses.

    What was asked of them before is kept: `far_ends` by vertex and step, `misfits` by span and arc.
    """

    points_m: Floats
    lengths_m: Floats
    grid_m: float
    locked: frozenset[int]
    far_ends: dict[tuple[int, int], int] = field(default_factory=dict)
    misfits: dict[tuple[tuple[int, int], ChordRun], float] = field(default_factory=dict)

    def far_end(self, vertex: int, step: int) -> int:
        """Return the far vertex of the straight that leaves a vertex one way."""
        if (vertex, step) not in self.far_ends:
            self.far_ends[vertex, step] = _far_end(self, vertex, step)
        return self.far_ends[vertex, step]

    def misfit(self, span: tuple[int, int], run: ChordRun) -> float:
        """Return what an arc and its straights leave of some vertices. [-]"""
        if (span, run) not in self.misfits:
            self.misfits[span, run] = extent_misfit(self.points_m, span, run, self.grid_m)
        return self.misfits[span, run]


def _left_out(
    points_m: Floats,
    corners: Sequence[int],
    runs: Sequence[ChordRun],
    locked: Collection[int],
) -> set[int]:
    """Vertices that turn as a bend does, and are in none."""
    if len(points_m) < 3:
        return set()
    turning = {int(row) + 1 for row in np.flatnonzero(turns(points_m)[0] > LEAST_BEND_RAD)}
    return turning - anchors_of(points_m, corners, runs) - set(locked)


def _is_between_straights(place: _Place, run: ChordRun) -> bool:
    """Whether an arc starts and ends at vertices on straights."""
    return (
        run.is_between_straights
        and not run.outside
        and run.first > 0
        and run.last < len(place.lengths_m)
    )


def _may_go_on(place: _Place, run: ChordRun) -> bool:
    """Whether a vertex stands near an arc, and that reading does not explain it."""
    if not _is_between_straights(place, run):
        return False
    legs, longest = place.lengths_m, float(place.lengths_m[run.first : run.last].max())
    before = run.first > 1 and legs[run.first - 1] <= _BESIDE_CHORDS * longest
    after = run.last + 1 < len(legs) and legs[run.last] <= _BESIDE_CHORDS * longest
    if not (before or after):
        return False
    span = run.first - 1 - int(before), run.last + 1 + int(after)
    return not _explains(place, span, run)


def _spans(
    starts: tuple[int, int], stops: tuple[int, int], runs: Sequence[ChordRun]
) -> Iterator[tuple[int, int]]:
    """First and last vertices to try; no arc read already is cut."""
    for first in range(starts[0], starts[1] + 1):
        for last in range(stops[0], stops[1] + 1):
            inside = (
                run.last <= first or last <= run.first or (first <= run.first and run.last <= last)
                for run in runs
            )
            if last - first >= _FEWEST_CHORDS and all(inside):
                yield first, last


def _goes_on(place: _Place, span: tuple[int, int], corners: Collection[int]) -> bool:
    """Whether a corner stands so near beyond the ends of an arc that it would be of it too."""
    (first, last), legs = span, place.lengths_m
    most = _LIKE_CHORDS * float(legs[first:last].min())
    ends = (first - 1, first - 1), (last + 1, last)
    return any(beyond in corners and legs[leg] <= most for beyond, leg in ends)


def _arc_over(place: _Place, first: int, last: int) -> ChordRun | None:
    """Return the arc in chords between two tangent vertices, None where it does not fit."""
    if not place.locked.isdisjoint(range(first, last + 1)):
        return None
    points, grid = place.points_m, place.grid_m
    chords = [float(length) for length in place.lengths_m[first:last]]
    if max(chords) > _LIKE_CHORDS * min(chords):
        return None
    # points that go on as close along the straights were taken along the route, not drawn
    if min(place.lengths_m[[first - 1, last]]) < _STRAIGHT_CHORDS * float(np.mean(chords)):
        return None
    before, after = place.far_end(first, -1), place.far_end(last, 1)
    start, end = to_vector(points[first]), to_vector(points[last])
    to_start = minus(start, to_vector(points[before]))
    from_end = minus(to_vector(points[after]), end)
    straights = norm(to_start), norm(from_end)
    into, out = unit(to_start), unit(from_end)
    angle = angle_between(into, out)
    if not LEAST_BEND_RAD < angle < _MOST_RAD or angle > _MOST_STEP_RAD * len(chords):
        return None
    radius = radius_from_chords(chords, angle)
    if 2.0 * radius * np.sin(_MOST_STEP_RAD / 2.0) < max(chords):
        return None
    meets = RunEnd(start, into, Tangency.STRAIGHT), RunEnd(end, out, Tangency.STRAIGHT)
    run, arc = run_between((first, last), *meets, angle, radius, len(chords))
    off = float(arc.off_m(points[first : last + 1], radius).max())
    if off > rounded_off(angle, radius, straights, grid):
        return None
    return run if _explains(place, (before, after), run) else None


def _far_end(place: _Place, vertex: int, step: int) -> int:
    """Return the far vertex of the straight that leaves a vertex one way."""
    far = vertex + step
    while far not in place.locked and 0 <= far + step < len(place.points_m):
        low, high = sorted((vertex, far + step))
        if abs(far - vertex) >= _FAR_LEGS or (
            share_of_rounding(place.points_m[low : high + 1], place.grid_m) > 1.0
        ):
            break
        far += step
    return far


def _explains(place: _Place, span: tuple[int, int], run: ChordRun) -> bool:
    """Whether an arc and its straights leave no more of some vertices than rounding does."""
    free = 2 * (span[1] - span[0] + 1) - 6
    most = free + _SIGMAS * sqrt(2.0 * free)
    return place.misfit(span, run) <= most


def _likeliest(
    place: _Place, choices: Sequence[ChordRun], beside: Sequence[ChordRun]
) -> ChordRun | None:
    """Return the arc that leaves the least; None where one read already leaves about as little."""
    low = min(place.far_end(arc.first, -1) for arc in choices)
    high = max(place.far_end(arc.last, 1) for arc in choices)
    span = low, high
    best = likeliest_of(choices, [place.misfit(span, arc) for arc in choices], place.grid_m)
    plain = replace(best, doubt="")
    if not _explains(place, span, plain):
        return None
    least = place.misfit(span, plain)
    for run in beside:
        if best.first <= run.first and run.last <= best.last:
            if not _is_between_straights(place, run):
                return None
            if place.misfit(span, run) - least < _REFUTED_MISFIT:
                return None
    if best.doubt:
        return best
    return with_open_radius(place.points_m, span, best, place.grid_m)
