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
from math import degrees, sqrt

import numpy as np

from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.polyline import cross_rows
from analyzer.geometry.segments import Floats
from analyzer.units import show_short

__all__ = ["extent_misfit", "likeliest_extent", "likeliest_of"]

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
    return likeliest_of(arcs, [extent_misfit(points_m, span, arc, grid_m) for arc in arcs], grid_m)


def likeliest_of(arcs: Sequence[ChordRun], misfits: Sequence[float], grid_m: float) -> ChordRun:
    """Return the arc that leaves the least, as `likeliest_extent` does.

    Parameters
    ----------
    arcs : sequence of ChordRun
        The choices, one or more.
    misfits : sequence of float
        What each leaves of the same vertices, from `extent_misfit`. [-]
    grid_m : float
        Grid of the coordinates. [m]
    """
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


def extent_misfit(
    points_m: Floats,
    span: tuple[int, int],
    run: ChordRun,
    grid_m: float,
    missing: tuple[int, int] = (0, 0),
) -> float:
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
    missing : (int, int)
        Vertices at its start and end that were not drawn: its first or last vertex stands so many
        equal steps from the tangent point. Only for chords inside it.

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
    aside = cross_rows(axis[None], into[None])[0], cross_rows(axis[None], out[None])[0]
    steps = run.n_chords + sum(missing)

    def residuals(changes: Floats) -> Floats:
        """Distances for each of some changes, a row each."""
        moved = points - run.radius_m * changes[:, None, :3]
        before = into + changes[:, 3:4] * aside[0] + changes[:, 4:5] * axis
        after = out + changes[:, 5:6] * aside[1] + changes[:, 6:7] * axis
        before, after = before / _norms(before), after / _norms(after)
        normal = cross_rows(before, after)
        sine = _norms(normal)
        normal = normal / sine
        half = np.arctan2(sine[:, 0], _dots(before, after)) / 2.0
        radius = run.radius_m * (1.0 + changes[:, 7])
        # round the outside, vertices stand at the corners of equal steps
        part = half / run.n_chords if run.outside else np.zeros_like(half)
        reach = radius * (np.tan(half) - np.tan(part))
        inside = [radius * np.sin(count * 2.0 * half / steps) for count in missing]
        up = (moved @ normal[:, :, None])[:, :, 0]
        arms = moved[:, first : last + 1] - (radius[:, None] / sine * (after - before))[:, None]
        level = np.sqrt(np.einsum("kij,kij->ki", arms, arms) - up[:, first : last + 1] ** 2)
        sides = cross_rows(normal, before), cross_rows(normal, after)
        off = np.concatenate(
            [
                up,
                (moved[:, :first] @ sides[0][:, :, None])[:, :, 0],
                (radius / np.cos(part))[:, None] - level,
                (moved[:, last + 1 :] @ sides[1][:, :, None])[:, :, 0],
                (_dots(moved[:, first], before) + reach - inside[0])[:, None],
                (_dots(moved[:, last], after) - reach + inside[1])[:, None],
            ],
            axis=1,
        )
        return off * (sqrt(12.0) / grid_m)

    change = np.zeros(8)
    nudges = np.vstack([np.zeros(8), _NUDGE * np.eye(8)])
    for _ in range(_STEPS):
        off, *nudged = residuals(change + nudges)
        slopes = (np.array(nudged) - off).T / _NUDGE
        change = change - np.linalg.lstsq(slopes, off, rcond=None)[0]
    (off,) = residuals(change[None])
    return float(off @ off)


def _norms(rows: Floats) -> Floats:
    """Lengths of rows of three numbers, a column."""
    return np.asarray(np.sqrt(_dots(rows, rows))[:, None])


def _dots(a: Floats, b: Floats) -> Floats:
    """Scalar products row by row."""
    return np.asarray(np.einsum("ij,ij->i", a, b))
