"""Straights as read whose vertices a coarse grid explains only if it did its worst.

Rounding moves a vertex by half a grid at most in each coordinate. Where the best line through the
vertices of a straight still passes one by nearly as much, the straight may as well be two with a
slight bend between. The more vertices, the nearer to all of it one comes by chance, so how near is
telling goes by their number. Told by chance is fewer than one straight in a hundred of equal
sticks; of unlike ones one in fifty, and up to one in fourteen in space where these are shorter than
a hundred grids. Of bends of 1 to 4 degrees that a grid lets pass for straights, a fifth to a half
are told.

Assumes vertices in order, repeats dropped. Cost is near linear in vertices.
Source: elementary geometry; shares and rates are an own simulation of random straights of 3 to 10
vertices, equal sticks and unlike ones from 8 to 240 grids long, level and in space.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import degrees, radians

import numpy as np

from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun, anchors_of
from analyzer.geometry.grid_kinks import share_of_rounding
from analyzer.geometry.polyline import distances_to_line, turns
from analyzer.geometry.segments import Floats
from analyzer.units import show_short

__all__ = ["bent_straight_doubt"]

_TELLING = ((0.86, radians(0.5)), (1.25, radians(2.0)))
"""What is left of all that rounding may do, times the number of vertices, and the turn of a bend
left out from which that is told. About one straight in a hundred leaves less than the first by
chance, one in twenty less than the second: worth it only for a bend that one would see. Slighter
ones are straights not quite in line."""


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
    found = []
    for first, last in pairwise(sorted(anchors_of(points_m, corners, runs))):
        if last - first < 2:
            continue
        share = share_of_rounding(points_m[first : last + 1], grid_m)
        away = distances_to_line(points_m[first + 1 : last], points_m[first], points_m[last])
        vertex = first + 1 + int(np.argmax(away))
        turn = float(turns(points_m[[first, vertex, last]])[0][0])
        left = (1.0 - share) * (last - first + 1)
        if any(left < most and turn > least for most, least in _TELLING):
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
