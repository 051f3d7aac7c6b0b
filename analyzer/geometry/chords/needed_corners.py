"""Vertices that a stretch read as corners needs so that its straights stand within rounding.

On short chords coordinates rounded to a grid make a staircase: its steps turn by tens of degrees,
and none is a bend. What they follow may still turn. So of the vertices on a straight that rounding
does not explain only the fewest are put back, the farthest off first, until each piece stands in
one line as far as rounding tells: the pieces turn by what was drawn, the steps stay out. A corner
read already may be a step too: of several ways the one that turns least, all told, is taken.

Assumes vertices in order, repeats dropped. Cost is near linear in vertices, quadratic at worst.
Source: splitting a line at its farthest point (Ramer 1972; Douglas and Peucker 1973).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Sequence
from itertools import pairwise
from math import radians

import numpy as np

from analyzer.geometry.chords.whole_arcs import bends_left_out
from analyzer.geometry.grid_kinks import share_of_rounding
from analyzer.geometry.polyline import distances_to_line, turns
from analyzer.geometry.segments import Floats

__all__ = ["needed_corners"]

_SAME_RAD = radians(0.5)
"""Sum of turns by which corners of one place may differ and turn by the same all told."""


def needed_corners(
    points_m: Floats, corners: Sequence[int], grid_m: float, locked: Collection[int]
) -> tuple[int, ...]:
    """Return the corners with the vertices between them that are to be corners too, rising.

    A corner beside a straight that rounding does not explain may be a step itself: it stays where
    the others turn less with it. One or two vertices beside a corner that turn on with it are
    corners though rounding may explain them, unless they add a turn.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners, rising.
    grid_m : float
        Grid of the coordinates. [m]
    locked : collection of int
        Vertices in fittings or with a radius of their own: nothing is asked of them.
    """
    bent = bends_left_out(points_m, corners, (), grid_m, locked)
    if not bent:
        return tuple(corners)
    anchors = sorted({0, len(points_m) - 1, *corners})
    loose: set[int] = set()
    for vertex in bent:
        after = bisect_left(anchors, vertex)
        loose.update(anchors[after - 1 : after + 1])
    loose -= {0, len(points_m) - 1, *locked}
    firm = [index for index, vertex in enumerate(anchors) if vertex not in loose]
    read = [0]
    for start, stop in pairwise(firm):
        own = anchors[start : stop + 1]
        inside = bent[bisect_left(bent, own[0]) : bisect_left(bent, own[-1])]
        if inside:
            outside = read[-2:-1], anchors[stop + 1 : stop + 2]
            own = _least_turning(points_m, own, inside, grid_m, outside)
        read += own[1:]
    return tuple(read[1:-1])


def _least_turning(
    points_m: Floats,
    own: Sequence[int],
    bent: Sequence[int],
    grid_m: float,
    outside: tuple[Sequence[int], Sequence[int]],
) -> list[int]:
    """Return the corners of a part, its ends too, that explain it and turn least, all told.

    `own` are those read, `bent` the vertices left out that are told, `outside` the corner before
    the part and the one after, if any.
    """
    needed: list[int] = []
    beside: list[int] = []
    for first, last in pairwise(own):
        split = _split(points_m, first, last, grid_m)
        needed += split
        beside += [] if split else [vertex for vertex in bent if first < vertex < last]
    choices = (
        sorted([*own, *needed, *beside]),
        sorted([*own, *needed]),
        [own[0], *_split(points_m, own[0], own[-1], grid_m), own[-1]],
    )
    totals = []
    for one in choices:
        chain = points_m[[*outside[0], *one, *outside[1]]]
        totals.append(float(turns(chain)[0].sum()) if len(chain) > 2 else 0.0)
    most = min(totals) + _SAME_RAD
    return next(one for one, total in zip(choices, totals, strict=True) if total <= most)


def _split(points_m: Floats, first: int, last: int, grid_m: float) -> list[int]:
    """Return the fewest vertices found between two that leave pieces within rounding of a line."""
    found: list[int] = []
    pieces = [(first, last)]
    while pieces:
        start, stop = pieces.pop()
        if share_of_rounding(points_m[start : stop + 1], grid_m) <= 1.0:
            continue
        away = distances_to_line(points_m[start + 1 : stop], points_m[start], points_m[stop])
        far = start + 1 + int(np.argmax(away))
        found.append(far)
        pieces += [(start, far), (far, stop)]
    kept = [first, *sorted(found), last]
    # what was split off first may need no corner once others stand beside it
    at = 1
    while at < len(kept) - 1:
        joined = points_m[kept[at - 1] : kept[at + 1] + 1]
        if share_of_rounding(joined, grid_m) <= 1.0:
            del kept[at]
        else:
            at += 1
    return kept[1:-1]
