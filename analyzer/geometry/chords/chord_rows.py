"""Corners in a row, alike as far as rounding tells, that a few short chords of one arc draw too.

Where chords times half their turns are no more than a few roundings, the law of chords cannot be
seen in single turns: a, 2a, a and a, a, a are alike. What shows is the whole: the arc that is
tangent to the straights on either side has to pass every vertex within rounding.

Assumes vertices in order, repeats and vertices on straights dropped. Cost is linear in vertices.
Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import radians

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.circle_runs import MAX_CHORD_RAD
from analyzer.geometry.chords.laid_arcs import NO_TANGENT_VERTEX, fitting_radius_m
from analyzer.geometry.chords.measured_runs import ChordRun, run_between
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.circle_fit import radius_from_chords
from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats, unit
from analyzer.geometry.vectors import minus, to_vector

__all__ = ["arcs_in_rows"]

_FEWEST, _MOST = 3, 8
"""Vertices of a row that is tried as one arc: more are seen by their circle, or are too fine."""

_LEAST_RAD, _MOST_RAD = radians(0.5), radians(150.0)
"""Least and largest turn of an arc that is looked for. [rad] Own choice."""


def arcs_in_rows(
    points_m: Floats, eps: float, rows: Sequence[Sequence[int]]
) -> tuple[ChordRun, ...]:
    """Return arcs of two chords and more that pass vertices of rows within rounding, in order.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    eps : float
        Rounding of the coordinates. [m]
    rows : sequence of sequence of int
        Inner vertices that follow each other, alike as far as rounding tells.

    Returns
    -------
    tuple of ChordRun
        Of arcs that share a vertex, the one with more.
    """
    found: list[ChordRun] = []
    for row in rows:
        free = set(row)
        for count in range(min(len(row), _MOST), _FEWEST - 1, -1):
            for first in row:
                span = range(first, first + count)
                if not free.issuperset(span):
                    continue
                arc = _arc_over(points_m, eps, span[0], span[-1])
                if arc is not None:
                    found.append(arc)
                    free.difference_update(span)
    return tuple(sorted(found, key=lambda arc: arc.first))


def _arc_over(points_m: Floats, eps: float, first: int, last: int) -> ChordRun | None:
    """Return the arc tangent to the straights beside a row, None where it passes it."""
    rows = [to_vector(point) for point in points_m[first - 1 : last + 2]]
    legs = [float(leg) for leg in leg_lengths(points_m[first - 1 : last + 2])]
    into, out = unit(minus(rows[1], rows[0])), unit(minus(rows[-1], rows[-2]))
    chords = legs[1:-1]
    angle = angle_between(into, out)
    if not _LEAST_RAD < angle < min(_MOST_RAD, len(chords) * MAX_CHORD_RAD):
        return None
    start = RunEnd(rows[1], into, Tangency.STRAIGHT)
    end = RunEnd(rows[-2], out, Tangency.STRAIGHT)
    by_chords = radius_from_chords(chords, angle)
    inner = points_m[first : last + 1]
    radius = fitting_radius_m(inner, start, end, angle, by_chords, (legs[0], legs[-1]), eps)
    if radius is None:
        return None
    run, _ = run_between((first, last), start, end, angle, radius, len(chords))
    if radius == by_chords:
        return run
    return replace(run, doubt=NO_TANGENT_VERTEX, tangent_vertices=False)
