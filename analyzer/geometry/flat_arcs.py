"""Arcs along a spline that only the rounding of its coordinates bends, laid as straights.

Control points written with few decimals do not lie on one line where a straight was drawn: the arcs
that follow it have radii of kilometers. A row of arcs is a straight where it turns slightly in all
and stands off its chord by no more than the rounding makes, while the arcs beside it are clearly
curves: the row is longer than their radii. An even sweep never has such a row, however wide.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import radians

from analyzer.geometry.grids import COARSEST_CONTROL_POINTS_M
from analyzer.geometry.segments import Arc, Segment, Straight

__all__ = ["LEAST_TURN_RAD", "straightened"]

LEAST_TURN_RAD = radians(0.05)
"""An arc of a spline that turns less tells no way of its own. [rad]"""

_MOST_TURN_RAD = radians(0.2)
"""Turn of a row of arcs up to which rounding may have made it. [rad] Own choice."""

_GRIDS_OFF = 2.0
"""Grids that a rounded straight stands off its chord at most: each point is off by at most half a
grid in each of three coordinates, and so are the two ends."""


def straightened(segments: Sequence[Segment], grid_m: float) -> tuple[Segment, ...]:
    """Return segments along a smooth curve with the rows of arcs that are straights made so.

    Parameters
    ----------
    segments : sequence of Segment
        Joined end to end.
    grid_m : float
        Rounding of the coordinates that the curve is made from; 0 or one above
        `COARSEST_CONTROL_POINTS_M` changes nothing. [m]
    """
    if not 0.0 < grid_m <= COARSEST_CONTROL_POINTS_M:
        return tuple(segments)
    rows = [list(row) for _, row in groupby(segments, key=_is_slight)]
    laid: list[Segment] = []
    for index, row in enumerate(rows):
        beside = [
            *(rows[index - 1][-1:] if index else ()),
            *(one[0] for one in rows[index + 1 :][:1]),
        ]
        straight = _is_slight(row[0]) and _is_straight(row, beside, grid_m)
        laid += [Straight(row[0].start_m, row[-1].end_m)] if straight else row
    return tuple(laid)


def _is_slight(segment: Segment) -> bool:
    return not isinstance(segment, Arc) or segment.angle_rad < LEAST_TURN_RAD


def _is_straight(row: Sequence[Segment], beside: Sequence[Segment], grid_m: float) -> bool:
    """Whether rounding alone bends a row between two clear curves."""
    length = sum(one.length_m for one in row)
    turn = sum(one.angle_rad for one in row if isinstance(one, Arc))
    if turn > _MOST_TURN_RAD or turn * length / 8.0 > _GRIDS_OFF * grid_m:
        return False
    return all(length > one.radius_m for one in beside if isinstance(one, Arc))
