"""Whether equal legs between two straights are chords inside an arc, or a polygon round it.

Vertices at both tangent points turn half a step; a polygon round the outside turns its whole step
at each of them, and is as long with a radius (n + 1) / n times as great. So is an arc of which one
tangent point was not drawn. Where legs are short for the grid, single turns do not tell; all
vertices together do, by what each choice leaves of them, or they leave the radius open.

Assumes legs of one length for the polygon. Source: elementary circle geometry.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from math import sin, tan

import numpy as np

from analyzer.geometry.chords.arc_extents import extent_misfit
from analyzer.geometry.chords.measured_runs import ChordRun, anchors_of
from analyzer.geometry.chords.tangent_arcs import tangent_arc
from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.vectors import to_vector
from analyzer.units import show_short

__all__ = ["inside_or_outside", "open_radii", "with_open_radius"]

_MOST_CHORDS = 8
"""Chords up to which the two radii differ by an eighth and more."""

_CLEARLY, _LIKELIER = 10.83, 4.0
"""How much less the polygon leaves where it is read (chi-square, one degree of freedom, 0.1 %), and
where it is told: arcs are drawn in chords inside them some 2 ln 7 more often, an own estimate.
Where hardly any turn tells, what leaves no more than the latter above the chords is told too."""

_LIKE_GRIDS, _LIKE_SHARE = 2.0, 0.02
"""Grids, and share of their mean besides, by which equal chords may be off it. Own
choice."""

_FAR_LEGS = 8
"""Legs of a straight that tell its direction."""


def inside_or_outside(
    points_m: Floats, span: tuple[int, int], arc: ChordRun, grid_m: float
) -> ChordRun:
    """Return an arc as chords between tangent vertices, or as the polygon round its outside.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices. [m]
    span : (int, int)
        First and last vertex to explain: the straights beside the arc with it.
    arc : ChordRun
        The arc as read from chords inside it.
    grid_m : float
        Grid of the coordinates. [m]

    Returns
    -------
    ChordRun
        The arc, with a doubt where the polygon explains the vertices as well, or the polygon.
    """
    if arc.n_chords > _MOST_CHORDS or not _has_even_chords(points_m, arc, grid_m):
        return arc
    polygon = _round_outside(points_m, arc)
    less = extent_misfit(points_m, span, arc, grid_m)
    less -= extent_misfit(points_m, span, polygon, grid_m)
    return arc if less < _LIKELIER else _outside(arc, polygon, less, grid_m)


def with_open_radius(
    points_m: Floats, span: tuple[int, int], arc: ChordRun, grid_m: float
) -> ChordRun:
    """Return an arc as `inside_or_outside` does, with a doubt wherever its radius is open.

    The polygon round the outside, and chords of which one tangent point was not drawn, have to
    leave clearly more than chords between tangent points for these to be sure.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices. [m]
    span : (int, int)
        First and last vertex to explain: the straights beside the arc with it.
    arc : ChordRun
        The arc as read from chords inside it.
    grid_m : float
        Grid of the coordinates. [m]
    """
    if arc.n_chords > _MOST_CHORDS:
        return arc
    left = extent_misfit(points_m, span, arc, grid_m)
    count = arc.n_chords + 1
    longer = show_short(_mean_leg(points_m, arc) / (2.0 * sin(arc.angle_rad / (2.0 * count))))
    others = [
        (
            extent_misfit(points_m, span, arc, grid_m, missing),
            f"{count} chords of an arc of radius {longer} of which the {end} point was left out",
        )
        for missing, end in (((1, 0), "first"), ((0, 1), "last"))
    ]
    if _has_even_chords(points_m, arc, grid_m):
        polygon = _round_outside(points_m, arc)
        around = extent_misfit(points_m, span, polygon, grid_m)
        if left - around >= _LIKELIER:
            return _outside(arc, polygon, left - around, grid_m)
        others.append((around, _corners_outside(polygon)))
    least, what = min(others)
    return _with_rival(arc, what, grid_m) if least - left < _LIKELIER else arc


def open_radii(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], grid_m: float
) -> tuple[ChordRun, ...]:
    """Return the arcs between two straights of which rounding leaves the radius open, with why.

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
    anchors = sorted(anchors_of(points_m, corners, runs))
    found = []
    for run in runs:
        if run.doubt or run.outside or not run.first < run.last:
            continue
        at, to = bisect_left(anchors, run.first), bisect_left(anchors, run.last)
        if not run.is_between_straights or at == 0 or to + 1 == len(anchors):
            continue
        low, high = anchors[at - 1], anchors[to + 1]
        span = max(low, run.first - _FAR_LEGS), min(high, run.last + _FAR_LEGS)
        told = with_open_radius(points_m, span, run, grid_m)
        if told.outside:
            # chords were asked for, and stay: the polygon that fits better is only named
            told = _with_rival(run, _corners_outside(told), grid_m, "better")
        if told.doubt:
            found.append(replace(run, doubt=told.doubt))
    return tuple(found)


def _outside(arc: ChordRun, polygon: ChordRun, less: float, grid_m: float) -> ChordRun:
    """Return the polygon where it leaves clearly less than the arc, else the arc in doubt."""
    if less <= _CLEARLY:
        return _with_rival(arc, _corners_outside(polygon), grid_m)
    why = (
        f"its points, rounded to {show_short(grid_m)}, fit it as {polygon.n_chords} corners round "
        "its outside, so it could be separate corners; as chords inside it, its radius would be "
        f"{show_short(arc.radius_m)}"
    )
    return replace(polygon, doubt=why)


def _with_rival(
    arc: ChordRun, what: str, grid_m: float, how_well: str = "about as well"
) -> ChordRun:
    """Return an arc with the doubt that its points fit something else."""
    rounded = f"its points, rounded to {show_short(grid_m)}"
    return replace(arc, doubt=f"{rounded}, fit {what} {how_well}")


def _corners_outside(polygon: ChordRun) -> str:
    """Say what a polygon is."""
    radius = show_short(polygon.radius_m)
    return f"{polygon.n_chords} corners round the outside of an arc of radius {radius}"


def _has_even_chords(points_m: Floats, arc: ChordRun, grid_m: float) -> bool:
    """Whether the legs of an arc are of one length within rounding."""
    legs = leg_lengths(points_m[arc.first : arc.last + 1])
    most = 2.0 * (_LIKE_GRIDS * grid_m + _LIKE_SHARE * float(np.mean(legs)))
    return float(np.ptp(legs)) <= most


def _mean_leg(points_m: Floats, arc: ChordRun) -> float:
    """Mean length of the legs of an arc. [m]"""
    return float(np.mean(leg_lengths(points_m[arc.first : arc.last + 1])))


def _round_outside(points_m: Floats, arc: ChordRun) -> ChordRun:
    """Return the polygon of the same vertices, all of them turning alike."""
    count = arc.n_chords + 1
    radius = _mean_leg(points_m, arc) / (2.0 * tan(arc.angle_rad / (2.0 * count)))
    into, out = arc.start, arc.end
    between = tangent_arc(into.place_m, into.direction, out.place_m, out.direction, arc.angle_rad)
    center = to_vector(between.center_m(radius))
    return replace(arc, radius_m=radius, center_m=center, n_chords=count, outside=True)
