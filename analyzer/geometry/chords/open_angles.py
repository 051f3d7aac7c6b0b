"""Corners on straights so short that rounding leaves their angle open.

Rounding to a grid q moves each coordinate by q / sqrt(12), root mean square. A turn between legs a
and b then is off by s, with s^2 = q^2 / 12 (1 / a^2 + 1 / b^2 + (1 / a + 1 / b)^2), and by less
than 2 s in 19 of 20. Turns of exact multiples of 45° are those of legs along the axes and diagonals
of the grid: they were drawn on it. So, it may well be, was an offset between straights along the
axes: what its rounding leaves open is a note. Where the straights beside lie askew, a caution.

Source: variance of a sum; the bound from which it is said is an own one.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import degrees, radians

import numpy as np

from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.corners import LEAST_BEND_RAD
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats
from analyzer.units import show_short

__all__ = ["open_angles_doubt"]

_TOLD_RAD = radians(1.0)
"""What rounding leaves of an angle open from which it is said."""

_ON_GRID_RAD, _EXACT_RAD = radians(45.0), 1e-6
"""Turns that are multiples of the first within the second were drawn on the grid, and are not
told. [rad]"""

_ALONG = 1e-9
"""Part of its length that a leg along an axis goes aside at most."""


def open_angles_doubt(
    points_m: Floats,
    corners: Sequence[int],
    runs: Sequence[ChordRun],
    grid_m: float,
    locked: Collection[int],
) -> Doubt | None:
    """Return the doubt of corners whose angle rounding leaves open by a degree and more.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners.
    runs : sequence of ChordRun
        Arcs read: the straights beside a corner end there.
    grid_m : float
        Grid of the coordinates. [m]
    locked : collection of int
        Vertices in fittings: their angle is asked of nobody.
    """
    ends = {vertex for run in runs for vertex in (run.first, run.last)}
    anchors = np.array(sorted({0, len(points_m) - 1, *corners, *ends}))
    if len(anchors) < 3:
        return None
    straights = points_m[anchors]
    turn, _ = turns(straights)
    a, b = 1.0 / leg_lengths(straights)[:-1], 1.0 / leg_lengths(straights)[1:]
    unsure = 2.0 * grid_m * np.sqrt((a**2 + b**2 + (a + b) ** 2) / 12.0)
    off = np.abs(turn - _ON_GRID_RAD * np.round(turn / _ON_GRID_RAD))
    told = (unsure > _TOLD_RAD) & (turn > LEAST_BEND_RAD) & (off > _EXACT_RAD)
    free = set(corners) - ends - set(locked)
    told &= np.array([vertex in free for vertex in anchors[1:-1]])
    found = np.flatnonzero(told)
    if not found.size:
        return None
    worst = int(found[np.argmax(unsure[found])])
    n = found.size
    read, open_by = f"{degrees(turn[worst]):.3g}°", f"about {degrees(unsure[worst]):.2g}°"
    aside = np.sort(np.abs(np.diff(straights, axis=0)), axis=1)[:, 1] * (
        1.0 / leg_lengths(straights)
    )
    askew = aside > _ALONG
    what = (
        f"{n} corners may turn by over 1° more or less than read, most the one read as {read}, by "
        f"{open_by}"
        if n > 1
        else f"a corner read as {read} may turn by {open_by} more or less"
    )
    return Doubt(
        int(anchors[worst + 1]),
        f"{what}: the straights there are short for coordinates rounded to {show_short(grid_m)}. "
        'Give coordinates with more digits if another angle is meant; read_as = "corners" in the '
        "job confirms it",
        bool((askew[:-1] & askew[1:])[found].any()),
    )
