"""Whether equal legs between two straights are chords inside an arc, or a polygon round it.

Vertices at both tangent points turn half a step; a polygon round the outside turns its whole step
at each of them, and is as long with a radius (n + 1) / n times as great. Where legs are short for
the grid, single turns do not tell; all vertices together do, by what each choice leaves of them.

Assumes legs of one length. Source: elementary circle geometry.
"""

from __future__ import annotations

from dataclasses import replace
from math import tan

import numpy as np

from analyzer.geometry.chords.arc_extents import extent_misfit
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.tangent_arcs import tangent_arc
from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.vectors import to_vector
from analyzer.units import show_short

__all__ = ["inside_or_outside"]

_MOST_CHORDS = 8
"""Chords up to which the two radii differ by an eighth and more."""

_CLEARLY, _LIKELIER = 10.83, 4.0
"""How much less the polygon leaves where it is read (chi-square, one degree of freedom, 0.1 %), and
where it is told: arcs are drawn in chords inside them some 2 ln 7 more often, an own estimate."""

_LIKE_GRIDS, _LIKE_SHARE = 2.0, 0.02
"""Grids, and share of their mean besides, by which equal chords may be off it. Own
choice."""


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
    legs = leg_lengths(points_m[arc.first : arc.last + 1])
    mean = float(np.mean(legs))
    if arc.n_chords > _MOST_CHORDS or np.ptp(legs) > 2.0 * (
        _LIKE_GRIDS * grid_m + _LIKE_SHARE * mean
    ):
        return arc
    polygon = _round_outside(arc, mean)
    less = extent_misfit(points_m, span, arc, grid_m)
    less -= extent_misfit(points_m, span, polygon, grid_m)
    if less < _LIKELIER:
        return arc
    inside, outside = show_short(arc.radius_m), show_short(polygon.radius_m)
    rounded = f"its points, rounded to {show_short(grid_m)}, fit"
    if less > _CLEARLY:
        why = (
            f"{rounded} it as {polygon.n_chords} corners round its outside, so it could be "
            f"separate corners; as chords inside it, its radius would be {inside}"
        )
        return replace(polygon, doubt=why)
    corners = f"{polygon.n_chords} corners round the outside of an arc of radius {outside}"
    return replace(arc, doubt=f"{rounded} {corners} about as well")


def _round_outside(arc: ChordRun, leg_m: float) -> ChordRun:
    """Return the polygon of the same vertices, all of them turning alike."""
    count = arc.n_chords + 1
    radius = leg_m / (2.0 * tan(arc.angle_rad / (2.0 * count)))
    into, out = arc.start, arc.end
    between = tangent_arc(into.place_m, into.direction, out.place_m, out.direction, arc.angle_rad)
    center = to_vector(between.center_m(radius))
    return replace(arc, radius_m=radius, center_m=center, n_chords=count, outside=True)
