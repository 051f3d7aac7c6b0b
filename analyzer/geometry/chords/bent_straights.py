"""Straights as read whose vertices a coarse grid explains only if it did its worst.

Rounding moves a vertex by half a grid at most in each coordinate. Where the best line through the
vertices of a straight still passes one by nearly as much, the straight may as well be two with a
slight bend between: of straights of equal sticks one in some hundred is so by chance, of slight
bends left out in silence most are.

Assumes vertices in order, repeats dropped. Cost is near linear in vertices.
Source: elementary geometry; the share is an own estimate, measured on random routes of sticks.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import degrees, radians

import numpy as np

from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.grid_kinks import share_of_rounding
from analyzer.geometry.polyline import distances_to_line, turns
from analyzer.geometry.segments import Floats
from analyzer.units import show_short

__all__ = ["bent_straight_doubt"]

_TELLING = ((0.8, radians(0.5)), (0.7, radians(1.0)), (0.6, radians(2.0)))
"""Part of what rounding may do from which it explains a straight badly, and the turn of a bend
left out from which that is told. Slighter ones are straights not quite in line."""


def bent_straight_doubt(
    points_m: Floats, corners: Sequence[int], runs: Sequence[ChordRun], grid_m: float
) -> Doubt | None:
    """Return the doubt of straights that may hold a slight bend, None where there are none.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners.
    runs : sequence of ChordRun
        Arcs read: the straights beside end there.
    grid_m : float
        Coarse grid of the coordinates. [m]
    """
    inside = {vertex for run in runs for vertex in range(run.first, run.last + 1)}
    found = []
    for first, last in pairwise(sorted({0, len(points_m) - 1, *corners, *inside})):
        if last - first < 2:
            continue
        share = share_of_rounding(points_m[first : last + 1], grid_m)
        away = distances_to_line(points_m[first + 1 : last], points_m[first], points_m[last])
        vertex = first + 1 + int(np.argmax(away))
        turn = float(turns(points_m[[first, vertex, last]])[0][0])
        if any(share > most and turn > least for most, least in _TELLING):
            found.append((turn, vertex))
    if not found:
        return None
    turn, vertex = max(found)
    several = len(found) > 1
    what = f"{len(found)} straights hold vertices" if several else "a straight holds a vertex"
    by = f"up to {degrees(turn):.2g}°" if several else f"{degrees(turn):.2g}°"
    return Doubt(
        vertex,
        f"{what} that coordinates rounded to {show_short(grid_m)} hardly explain: read as "
        f"straight, and may be {'slight bends' if several else 'a slight bend'} of {by} or more. "
        "Export the drawing with more digits",
        True,
    )
