"""Arcs with points at one spacing along them, in stretches whose other corners were drawn.

Points taken along a part of a route leave, in every arc, three vertices or more that turn by odd
angles, none at the tangent points. Where the points beside stand at one spacing, the way along the
arc is a whole number of spacings too (`even_samples`), and that tells its radius: the vertices are
one bend. Two have nothing to spare and stay corners; that they may be one bend is said, and so it
is where rounding is too coarse to tell.

Assumes vertices in order, repeats dropped. Cost is linear in vertices where rows are short.
Source: elementary circle geometry.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Sequence
from dataclasses import replace
from math import degrees

import numpy as np

from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.even_samples import (
    LONGEST_ROW,
    SampledArc,
    arc_at_spacing,
    ends_of_arc,
    neighbors,
    spacing_slack,
)
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.vectors import to_vector
from analyzer.units import show_short

__all__ = ["arcs_of_open_extent", "sampled_arcs", "sampled_doubt"]

_FEWEST_LEGS = 3
"""Legs of one spacing beside a row that tell it."""

_RADIUS_SHARE = 0.01
"""How well a radius is known of which nothing is said."""

_LIKE_CHORDS = 0.8
"""Least chord of an arc with points at one spacing along it, as a part of that."""

_FEWEST_READ = 3
"""Vertices of an arc that is read; two are a doubt."""


def sampled_arcs(
    points_m: Floats,
    corners: Sequence[int],
    runs: Sequence[ChordRun],
    grid_m: float,
    locked: Collection[int] = (),
    *,
    prefer_chords: bool = False,
    prefer_samples: bool = False,
) -> tuple[tuple[ChordRun, ...], tuple[Doubt, ...]]:
    """Return arcs that corners in a row are points of, and doubts of those that may be.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading, rising.
    runs : sequence of ChordRun
        Arcs it found.
    grid_m : float
        Rounding of the coordinates. [m]
    locked : collection of int
        Vertices in fittings or with a radius of their own: no arc takes them.
    prefer_chords : bool
        Whether two vertices are wanted as an arc too.
    prefer_samples : bool
        Whether the stretch looks sampled, so that three do that rounding hardly tells from corners.
    """
    free = [vertex for vertex in corners if vertex not in locked]
    if len(free) < 2:
        return (), ()
    anchors = _anchors(points_m, [*corners, *locked], runs)
    arcs = []
    for row in neighbors(free):
        if 2 <= len(row) <= LONGEST_ROW:
            arcs += _arcs_of(points_m, row, anchors, grid_m)
    fewest = 2 if prefer_chords else _FEWEST_READ
    read = [
        (arc.sure or (prefer_samples and arc.is_told)) and arc.last - arc.first + 1 >= fewest
        for arc in arcs
    ]
    runs_read = [_run(points_m, arc) for arc, yes in zip(arcs, read, strict=True) if yes]
    doubts = [_may_be(arc, grid_m) for arc, yes in zip(arcs, read, strict=True) if not yes]
    return tuple(runs_read), tuple(doubts)


def arcs_of_open_extent(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], grid_m: float
) -> tuple[ChordRun, ...]:
    """Return the arcs with points at one spacing beside, with why their extent is open on a grid.

    Their first and last vertices may be tangent points only as far as a coarse grid tells.

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
    """
    anchors = _anchors(points_m, corners, runs)
    legs = leg_lengths(points_m)
    found = []
    for run in runs:
        spacing = _spacing_beside(points_m, (run.first, run.last), anchors, grid_m)
        chord = float(np.median(legs[run.first : run.last]))
        if spacing is not None and _LIKE_CHORDS * spacing <= chord <= spacing + grid_m:
            why = (
                "points stand on its straights about as close, as if they were taken along the "
                f"raceway, and coordinates rounded to {show_short(grid_m)} leave open where it "
                "starts and ends, and so its radius"
            )
            found.append(replace(run, doubt=why))
    return tuple(found)


def sampled_doubt(run: ChordRun) -> Doubt:
    """Return the doubt of an arc read from points at one spacing.

    Parameters
    ----------
    run : ChordRun
        The arc.
    """
    n = run.n_chords + 1
    but = f", {run.doubt}" if run.doubt else ""
    return Doubt(
        run.first,
        f"{n} points in a row stand at one spacing along the route, as points taken along an arc "
        f"do: they are read as one arc of {degrees(run.angle_rad):.4g}° and radius "
        f"{show_short(run.radius_m)}{but}, not as {n} corners. If they are corners, "
        'read_as = "corners" in the job reads them; read_as = "chords" confirms the arc',
        True,
    )


def _anchors(points_m: Floats, turning: Sequence[int], runs: Sequence[ChordRun]) -> list[int]:
    """Return the vertices that straights run between, rising: ends, corners, and those of arcs."""
    taken = {vertex for run in runs for vertex in (run.first, run.last)}
    return sorted({0, len(points_m) - 1, *turning, *taken})


def _may_be(arc: SampledArc, grid_m: float) -> Doubt:
    """Return the doubt of corners that may be points of an arc."""
    n = arc.last - arc.first + 1
    radius = f" and radius about {show_short(arc.radius_m)}" if arc.radius_m > arc.unsure_m else ""
    text = (
        f"{n} corners in a row stand at one spacing along one arc of "
        f"{degrees(arc.angle_rad):.3g}°{radius} too, as points taken along it do"
    )
    if arc.sure:
        text += (
            ": they are read as bends of their own. If they are that arc, "
            'read_as = "chords" in the job reads it; read_as = "corners" confirms the corners'
        )
    else:
        text += (
            f", as far as coordinates rounded to {show_short(grid_m)} tell: they are read as bends "
            "of their own. Export the drawing with more digits, or draw the bend as an arc; "
            'read_as = "corners" in the job confirms the corners'
        )
    return Doubt(arc.first, text, True)


def _run(points_m: Floats, arc: SampledArc) -> ChordRun:
    ends = [
        RunEnd(to_vector(points_m[vertex]), to_vector(along), Tangency.STRAIGHT)
        for vertex, along in ((arc.first, arc.into), (arc.last, arc.out))
    ]
    known = arc.unsure_m <= _RADIUS_SHARE * arc.radius_m
    return ChordRun(
        arc.first,
        arc.last,
        ends[0],
        ends[1],
        arc.angle_rad,
        arc.radius_m,
        to_vector(arc.axis),
        to_vector(arc.center_m),
        arc.last - arc.first,
        "" if known else f"which rounding leaves open by up to {show_short(arc.unsure_m)}",
        tangent_vertices=False,
    )


def _arcs_of(
    points_m: Floats, row: Sequence[int], anchors: Sequence[int], grid: float
) -> list[SampledArc]:
    """Return the arcs that neighbors in a row are points of, the longest first, none overlapping.

    Beside an arc its vertices stand on straights: those between the row and the next anchors.
    """
    spacing = _spacing_beside(points_m, row, anchors, grid)
    if spacing is None:
        return []
    found: list[SampledArc] = []
    most = spacing + spacing_slack(spacing, grid)
    fits = leg_lengths(points_m[row[0] : row[-1] + 1]) <= most
    for length in range(len(row), 1, -1):
        for start in range(len(row) - length + 1):
            part = row[start : start + length]
            if not fits[start : start + length - 1].all():
                continue
            if any(one.first <= part[-1] and part[0] <= one.last for one in found):
                continue
            arc = _arc_over(points_m, part, row, anchors, spacing, grid)
            if arc is not None:
                found.append(arc)
    return sorted(found, key=lambda arc: arc.first)


def _arc_over(
    points_m: Floats,
    part: Sequence[int],
    row: Sequence[int],
    anchors: Sequence[int],
    spacing: float,
    grid: float,
) -> SampledArc | None:
    """Return the arc over a part of a row, held against its straights as a whole."""
    for first, last in ends_of_arc(part, row):
        before = anchors[max(bisect_left(anchors, first) - 1, 0)]
        after = anchors[min(bisect_right(anchors, last), len(anchors) - 1)]
        if not before < first <= last < after:
            continue
        points = points_m[[before, *range(first, last + 1), after]]
        arc = arc_at_spacing(points, 1, last - first + 1, spacing, grid)
        if arc is not None:
            return replace(arc, first=first, last=last)
    return None


def _spacing_beside(
    points_m: Floats, row: Sequence[int], anchors: Sequence[int], grid: float
) -> float | None:
    """Return the one spacing of points on both straights beside a row, None for no one. [m]

    What is left of the way, where points began or ended, is no spacing.
    """
    legs = leg_lengths(points_m)
    before = anchors[max(bisect_left(anchors, row[0]) - 1, 0)]
    after = anchors[min(bisect_right(anchors, row[-1]), len(anchors) - 1)]
    inner = np.concatenate((legs[before + 1 : row[0]], legs[row[-1] : after - 1]))
    if len(inner) < _FEWEST_LEGS or before + 1 >= row[0] or row[-1] + 1 >= after:
        return None
    spacing = float(np.median(inner))
    alike = np.abs(inner - spacing) <= spacing_slack(spacing, grid)
    return spacing if alike.all() else None
