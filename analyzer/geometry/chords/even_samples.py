"""Points taken at one spacing along a centerline, with no vertex at the tangent points.

Such points turn at two neighboring vertices or more in every bend, where corners would turn. What
tells them from corners is the way: from one vertex of the row to another it is a whole number of
spacings when measured along the straights and the arc, not along the legs. That gives the radius
of the arc, which then has to leave room for its straights, to pass every vertex between, and to
shorten the legs as its chords. Equal sticks between corners fail: their legs are a whole spacing,
and the arc would need more room.

Assumes vertices in order, repeats dropped. Cost is linear in vertices where bends take few.
Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from math import cos, radians, sin, tan

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.corners import LEAST_BEND_RAD
from analyzer.geometry.polyline import IN_LINE_ROUNDINGS, leg_lengths, offsets_from_neighbors, turns
from analyzer.geometry.segments import Floats
from analyzer.geometry.surveyed_stretches import has_faint_corner
from analyzer.geometry.vectors import to_vector

__all__ = [
    "LONGEST_ROW",
    "SampledArc",
    "arc_at_spacing",
    "ends_of_arc",
    "look_drawn_evenly",
    "looks_sampled",
    "neighbors",
    "spacing_slack",
    "stand_alone",
]

_ALIKE_GRIDS, _ALIKE_SHARE, _MOST_SHARE = 2.0, 0.01, 0.9
"""How far legs of one spacing differ, in grids and as a share, and how many of a straight's do."""

_FEWEST_LEGS = 4
"""Legs of straights that tell the spacing."""

_SHORTEST_LEG = 0.6
"""Least length of a leg in a bend, in spacings: half a turn within one leaves two over pi."""

_LIKE_SHARE, _LEAST_RISE_GRIDS = 0.02, 2.5
"""How far equal chords differ, as a share of one; and how far an arc rises at least over its ends,
in grids."""

_LEAST_RAD, _MOST_RAD = radians(1.0), radians(150.0)
"""Least and largest turn of an arc that is looked for. [rad] Own choice."""

LONGEST_ROW = 60
"""Corners in a row up to which an arc is sought among them: the cost grows with their square."""

_FAR = 1.6
"""How far a corner that was drawn stands from the next one, in chords of arcs."""

_ROOM_SHARE = 0.1
"""How well the room an arc needs has to be known to tell it from two corners, in spacings."""

_WAY_GRIDS, _OFF_GRIDS, _TILT_GRIDS = 3.0, 2.0, 2.0
"""What rounding does to the way along a row, to a vertex, and to the far end of a leg."""

_LEAST_SHARE = 0.5
"""Least radius that legs are held against where rounding leaves it open, as a share."""


@dataclass(frozen=True, slots=True)
class SampledArc:
    """An arc with points at one spacing along it and along the straights beside it.

    Attributes
    ----------
    first, last : int
        Its vertices; both stand on the straights.
    into, out : (3,) float
        Unit directions of travel along the straights.
    axis, center_m : (3,) float
        Unit axis of the turn, and center of the circle. [m]
    angle_rad, radius_m : float
        Turn and radius. [rad] [m]
    unsure_m : float
        How far rounding may have taken the radius off. [m]
    sure : bool
        Whether rounding lets one tell the room it takes of its straights. Two vertices with less
        have not been held against the arc.
    """

    first: int
    last: int
    into: Floats
    out: Floats
    axis: Floats
    center_m: Floats
    angle_rad: float
    radius_m: float
    unsure_m: float
    sure: bool

    @property
    def is_told(self) -> bool:
        """Whether its vertices tell it; two do only where they tell its room."""
        return self.sure or self.last > self.first + 1


def looks_sampled(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], grid_m: float
) -> bool:
    """Return whether neighboring corners are points taken at one spacing along an arc.

    So they are where an arc read beside has no vertex at its tangent points, and where they explain
    a row of three corners or more. Pairs have nothing to spare: where rows have no more, all pairs
    have to be explained, and no corner may stand alone.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading, rising.
    runs : sequence of ChordRun
        Arcs it found.
    grid_m : float
        Grid of the coordinates. [m]
    """
    spacing = _spacing(points_m, grid_m)
    if spacing is None:
        return False
    if any(not run.tangent_vertices for run in runs):
        return True
    if len(corners) < 2:
        return False
    rows = neighbors(corners)
    turn, _ = turns(points_m)
    lone = any(len(row) == 1 and turn[row[0] - 1] > LEAST_BEND_RAD for row in rows)
    longest = [_longest_bend(points_m, row, spacing, grid_m) for row in rows if len(row) > 1]
    if max(longest, default=0) > 2:
        return True
    return bool(longest) and min(longest) == 2 and not lone


def look_drawn_evenly(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], grid_m: float
) -> bool:
    """Return whether arcs of equal chords, and corners that were meant, leave no vertex over.

    Measured points stand at one spacing or at any; another one from a tangent point on was drawn.
    Without arcs, the corners have to stand apart: measured bends turn at several points in a row.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch, which stand about evenly. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading, rising.
    runs : sequence of ChordRun
        Arcs it found.
    grid_m : float
        Grid of the coordinates. [m]
    """
    if has_faint_corner(points_m, corners, grid_m):
        return False
    turn, _ = turns(points_m)
    if any(turn[vertex - 1] < LEAST_BEND_RAD for vertex in corners):
        return False
    if not runs:
        return _stand_apart(points_m, corners, grid_m)
    if any(run.radius_m * run.angle_rad**2 / 8.0 < _LEAST_RISE_GRIDS * grid_m for run in runs):
        return False
    legs = leg_lengths(points_m)
    alike = [
        np.abs(legs[max(run.first - 1, 0) : run.last + 1] - np.mean(legs[run.first : run.last]))
        <= 2.0 * grid_m + _LIKE_SHARE * legs[run.first]
        for run in runs
    ]
    changes = [not (one[0] or one[-1]) for one in alike]
    return all(one[1:-1].all() for one in alike) and 2 * sum(changes) >= len(changes)


def _stand_apart(points_m: Floats, corners: Sequence[int], grid: float) -> bool:
    """Whether corners stand alone or in pairs that no arc at one spacing explains."""
    if not corners:
        return False
    rows = [row for row in neighbors(corners) if len(row) > 1]
    if any(len(row) > 2 for row in rows):
        return False
    spacing = _spacing(points_m, grid)
    return not rows or (
        spacing is not None
        and all(arc_at_spacing(points_m, a, b, spacing, grid) is None for a, b in rows)
    )


def _spacing(points_m: Floats, grid_m: float) -> float | None:
    """Return the one spacing of the points along the straights, None where there is none. [m]"""
    legs = leg_lengths(points_m)
    turn, _ = turns(points_m)
    in_line = offsets_from_neighbors(points_m, turn) <= IN_LINE_ROUNDINGS * grid_m
    flat = np.concatenate(([True], in_line, [True]))
    straight = flat[:-1] & flat[1:]
    spacing = float(np.median(legs[straight])) if straight.any() else 0.0
    alike = np.abs(legs - spacing) <= spacing_slack(spacing, grid_m)
    enough = np.count_nonzero(straight & alike) >= _FEWEST_LEGS
    straight[[0, -1]] = False  # what is left of the way at the ends
    return spacing if enough and np.mean(alike[straight]) >= _MOST_SHARE else None


def spacing_slack(spacing_m: float, grid_m: float) -> float:
    """Return how far legs between points at one spacing differ from it. [m]

    Parameters
    ----------
    spacing_m : float
        The spacing. [m]
    grid_m : float
        Rounding of the coordinates. [m]
    """
    return _ALIKE_GRIDS * grid_m + _ALIKE_SHARE * spacing_m


def ends_of_arc(part: Sequence[int], row: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Return first and last vertices that an arc over a part of a row of corners may have.

    Where it starts or ends a hair beyond the row, the next vertex has too slight a turn for a
    corner.

    Parameters
    ----------
    part, row : sequence of int
        Vertices, rising; those of the part stand in the row.
    """
    firsts = (part[0], part[0] - 1) if part[0] == row[0] else (part[0],)
    lasts = (part[-1], part[-1] + 1) if part[-1] == row[-1] else (part[-1],)
    return product(firsts, lasts)


def neighbors(corners: Sequence[int]) -> list[list[int]]:
    """Return rising vertices in rows of neighbors.

    Parameters
    ----------
    corners : sequence of int
        One vertex or more, rising.
    """
    rows = [[corners[0]]]
    for before, after in pairwise(corners):
        if after == before + 1:
            rows[-1].append(after)
        else:
            rows.append([after])
    return rows


def stand_alone(points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun]) -> bool:
    """Return whether corners beside arcs were drawn: they turn, far from other vertices that do.

    Points taken along an arc that is not read as one turn at neighbors about a chord apart.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners, rising.
    runs : sequence of ChordRun
        Arcs read; without them, and without corners, nothing was drawn beside.
    """
    if not corners or not runs:
        return False
    turn, _ = turns(points_m)
    legs = leg_lengths(points_m)
    far = _FAR * max(float(legs[run.first : run.last].max()) for run in runs)
    apart = all(legs[a] > far for a, b in pairwise(corners) if b == a + 1)
    return apart and all(turn[vertex - 1] > LEAST_BEND_RAD for vertex in corners)


def _longest_bend(points_m: Floats, row: Sequence[int], spacing: float, grid: float) -> int:
    """Most vertices of one bend where bends at one spacing explain a whole row, else 0."""
    n = len(row)
    if n > LONGEST_ROW:
        return 0
    legs = leg_lengths(points_m)
    around = legs[row[0] : row[-1]]
    most = spacing + spacing_slack(spacing, grid)
    if around.max() > most or around.min() < _SHORTEST_LEG * spacing:
        return 0
    best = [2, *([0] * n)]  # of the row up to each vertex; a bend has two or more
    for stop in range(2, n + 1):
        for start in range(stop - 1):
            if not best[start]:
                continue
            arcs = (
                arc_at_spacing(points_m, first, last, spacing, grid)
                for first, last in ends_of_arc(row[start:stop], row)
                if first > 0 and last + 1 < len(points_m)
            )
            if any(arc is not None and arc.is_told for arc in arcs):
                best[stop] = max(best[stop], best[start], stop - start)
    return best[n]


def arc_at_spacing(
    points_m: Floats, first: int, last: int, spacing_m: float, grid_m: float
) -> SampledArc | None:
    """Return the arc tangent to the legs beside vertices at one spacing along it, None for no arc.

    Their legs then are as long as such points leave them, and the vertices lie on the arc.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices in order. [m]
    first, last : int
        Those of the arc: the first and the last stand on the straights beside it.
    spacing_m : float
        The one spacing. [m]
    grid_m : float
        Grid of the coordinates. [m]
    """
    start, end = points_m[first], points_m[last]
    into, out = start - points_m[first - 1], points_m[last + 1] - end
    sides = float(np.linalg.norm(into)), float(np.linalg.norm(out))
    into, out = into / sides[0], out / sides[1]
    angle = angle_between(to_vector(into), to_vector(out))
    if not _LEAST_RAD < angle < _MOST_RAD or min(sides) < 0.5 * spacing_m:
        return None
    axis = np.cross(into, out) / sin(angle)
    # the legs beside, prolonged, meet so far from the first and the last vertex
    across = end - start
    before = float(np.cross(across, out) @ axis) / sin(angle)
    after = float(np.cross(into, across) @ axis) / sin(angle)
    more = 2.0 * tan(angle / 2.0) - angle
    radius = (before + after - (last - first) * spacing_m) / more
    reach = radius * tan(angle / 2.0)
    tilt = _TILT_GRIDS * (before + after) / min(sides)
    unsure = grid_m * (_WAY_GRIDS + tilt) / more
    room = grid_m * (_OFF_GRIDS + tilt) + unsure * tan(angle / 2.0)
    sure = room <= _ROOM_SHARE * spacing_m
    center = start + before * into + radius / sin(angle) * (out - into)
    arc = SampledArc(first, last, into, out, axis, center, angle, radius, unsure, sure)
    if radius + unsure <= 0.0:
        return None  # the vertices stand too close to where the straights meet for any arc
    if last == first + 1 and not sure:
        return arc
    if reach <= 0.0 or reach > min(before, after) + room:
        return None
    laid = before, angle, radius, unsure
    if not _legs_as_laid(points_m[first : last + 1], spacing_m, grid_m, laid):
        return None
    arms = points_m[first : last + 1] - center
    up = arms @ axis
    level = arms - np.outer(up, axis)
    off = np.abs(np.linalg.norm(level, axis=1) - radius)
    off[[0, -1]] = 0.0  # on a straight
    apex = unsure * (1.0 / np.cos(angle / 2.0) - 1.0)
    passes = max(off.max(), np.abs(up).max()) <= grid_m * (_OFF_GRIDS + tilt) + apex
    return arc if passes else None


def _legs_as_laid(
    points_m: Floats, spacing: float, grid: float, arc: tuple[float, float, float, float]
) -> bool:
    """Whether legs are as long as points at one spacing leave them: those in the arc are shorter.

    The arc is given by the way from the first point to where its straights meet, its angle and
    radius, and how far the radius may be off.
    """
    before, angle, radius, unsure = arc
    seen = leg_lengths(points_m)
    laid = _laid_legs(len(seen), spacing, before, angle, radius)
    least = max(radius - unsure, _LEAST_SHARE * radius)
    tighter = _laid_legs(len(seen), spacing, before, angle, least)
    return bool((np.abs(seen - laid) <= _ALIKE_GRIDS * grid + np.abs(tighter - laid)).all())


def _laid_legs(count: int, spacing: float, before: float, angle: float, radius: float) -> Floats:
    """Legs between points at one spacing along a straight, an arc and the next straight. [m]"""
    at = np.arange(count + 1) * spacing - (before - radius * tan(angle / 2.0))
    turn = np.clip(at / radius, 0.0, angle)
    beyond = np.maximum(at - radius * angle, 0.0)
    along = np.minimum(at, 0.0) + radius * np.sin(turn) + beyond * cos(angle)
    across = radius * (1.0 - np.cos(turn)) + beyond * sin(angle)
    legs: Floats = np.hypot(np.diff(along), np.diff(across))
    return legs
