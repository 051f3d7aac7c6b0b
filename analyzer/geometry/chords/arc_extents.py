"""Where an arc starts and ends among vertices close together that a grid has moved.

It is told by all vertices at once: for each choice the straight, arc and straight of least squares,
and the sum of squared distances from it in units of what rounding does to one coordinate, grid /
sqrt(12). Every choice leaves as many degrees of freedom: each vertex stands off the curve in two
directions, and the two vertices chosen stand at the tangent points. So the difference of two sums
is twice the logarithm of the ratio of their likelihoods.

Assumes a turn clear of zero and of half a turn. Cost is linear in vertices. Sources: Gauss-Newton
steps of least squares; standard deviation of a uniform distribution; Abramowitz and Stegun,
Handbook of Mathematical Functions, table 26.8 (chi-square, one degree of freedom, 0.1 %: 10.83).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import cos, degrees, sqrt, tan

import numpy as np

from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.segments import Floats
from analyzer.units import show_short

__all__ = ["extent_misfit", "likeliest_extent"]

_STEPS, _NUDGE = 2, 1e-6
"""Steps of least squares, and the change by which derivatives are taken. Own choice."""

_UNSURE_MISFIT, _UNSURE_SHARE = 10.83, 0.03
"""What another choice may leave more before it is out, and how far its radius has to differ."""


def likeliest_extent(
    points_m: Floats, span: tuple[int, int], arcs: Sequence[ChordRun], grid_m: float
) -> ChordRun:
    """Return the arc that leaves the least, with a doubt where one of another radius is as likely.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices. [m]
    span : (int, int)
        First and last vertex to explain: the straights beside the arc with it.
    arcs : sequence of ChordRun
        The choices, one or more.
    grid_m : float
        Grid of the coordinates. [m]
    """
    misfits = [extent_misfit(points_m, span, arc, grid_m) for arc in arcs]
    least = min(misfits)
    best = arcs[misfits.index(least)]
    rivals = [
        (misfit, index)
        for index, misfit in enumerate(misfits)
        if misfit - least < _UNSURE_MISFIT
        and abs(arcs[index].radius_m - best.radius_m) > _UNSURE_SHARE * best.radius_m
    ]
    if not rivals:
        return best
    other = arcs[min(rivals)[1]]
    return replace(
        best,
        doubt=f"the points, rounded to {show_short(grid_m)}, fit {other.n_chords} chords of "
        f"{degrees(other.angle_rad):.4g}° and radius {show_short(other.radius_m)} about as well",
    )


def extent_misfit(points_m: Floats, span: tuple[int, int], run: ChordRun, grid_m: float) -> float:
    """Return the sum of squares that the best arc between two tangent vertices leaves.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices. [m]
    span : (int, int)
        First and last vertex to explain: the straights beside the arc with it.
    run : ChordRun
        The arc as first estimated; it starts and ends at its first and last vertex, or at the
        tangent points of the edges round its outside, one vertex a step.
    grid_m : float
        Grid of the coordinates. [m]

    Returns
    -------
    float
        Distances squared in units of grid² / 12, about the vertices twice less six. [-]
    """
    start, stop = span
    first, last = run.first - start, run.last - start
    into, out = np.array(run.start.direction), np.array(run.end.direction)
    corner = np.array(
        meeting_point(run.start.place_m, run.start.direction, run.end.place_m, run.end.direction)
    )
    points = points_m[start : stop + 1] - corner
    axis = np.array(run.axis)
    aside = np.cross(axis, into), np.cross(axis, out)

    def residuals(change: Floats) -> Floats:
        moved = points - run.radius_m * change[:3]
        before = into + change[3] * aside[0] + change[4] * axis
        after = out + change[5] * aside[1] + change[6] * axis
        before, after = before / np.linalg.norm(before), after / np.linalg.norm(after)
        normal = np.cross(before, after)
        sine = float(np.linalg.norm(normal))
        normal /= sine
        radius = run.radius_m * (1.0 + change[7])
        half = np.arctan2(sine, float(before @ after)) / 2.0
        # round the outside, vertices stand at the corners of equal steps
        part = half / run.n_chords if run.outside else 0.0
        reach = radius * (tan(half) - tan(part))
        up = moved @ normal
        arms = moved[first : last + 1] - radius / sine * (after - before)
        arms = arms - np.outer(up[first : last + 1], normal)
        off = np.concatenate(
            [
                up,
                moved[:first] @ np.cross(normal, before),
                radius / cos(part) - np.sqrt(np.einsum("ij,ij->i", arms, arms)),
                moved[last + 1 :] @ np.cross(normal, after),
                [moved[first] @ before + reach, moved[last] @ after - reach],
            ]
        )
        return off * (sqrt(12.0) / grid_m)

    change = np.zeros(8)
    for _ in range(_STEPS):
        off = residuals(change)
        slopes = np.column_stack(
            [(residuals(change + nudge) - off) / _NUDGE for nudge in _NUDGE * np.eye(8)]
        )
        change = change - np.linalg.lstsq(slopes, off, rcond=None)[0]
    off = residuals(change)
    return float(off @ off)
