"""Vertices that were taken to stand in line, and that a first reading shows to stand out.

Assumes vertices in order, repeats dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from analyzer.geometry.chords.line_doubts import gentle_doubts
from analyzer.geometry.chords.measured_runs import ChordRun, anchors_of
from analyzer.geometry.polyline import leg_lengths, vertices_off_line
from analyzer.geometry.segments import Floats

__all__ = ["short_end_chords", "vertices_off_straights"]

_SHORT_CHORD = 0.9
"""First and last chords of an arc that are shorter than the others, as a share of the next one."""


def short_end_chords(points_m: Floats, runs: Sequence[ChordRun]) -> set[int]:
    """Return the vertices next to runs that lack their tangent points, nearer than a chord.

    The first and the last chord of an arc may be so short that their ends seem to lie in line.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    runs : sequence of ChordRun
        Arcs read.
    """
    legs = leg_lengths(points_m)
    found: set[int] = set()
    for run in runs:
        if not run.tangent_vertices:
            if run.first > 0 and legs[run.first - 1] < _SHORT_CHORD * legs[run.first]:
                found.add(run.first - 1)
            if run.last < len(legs) and legs[run.last] < _SHORT_CHORD * legs[run.last - 1]:
                found.add(run.last + 1)
    return found


def vertices_off_straights(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], rounding_m: float
) -> set[int]:
    """Return vertices of straights as read that stand off them by more than rounding explains.

    Beside a corner whose points close by are told to be chords, perhaps, they are told with it.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners.
    runs : sequence of ChordRun
        Arcs read.
    rounding_m : float
        Rounding of the coordinates. [m]
    """
    told = {one.vertex for one in gentle_doubts(points_m, corners, runs, rounding_m)}
    tangent = {v for run in runs if run.tangent_vertices for v in (run.first, run.last)}
    ends = {0, len(points_m) - 1}
    firm = {*ends, *corners, *tangent} - told
    return {
        vertex
        for a, b in pairwise(sorted(anchors_of(points_m, corners, runs)))
        if b - a > 1 and a in firm and b in firm
        for vertex in vertices_off_line(points_m, a, b, rounding_m)
    }
