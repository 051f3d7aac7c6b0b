"""A last look at what was read: does the centerline pass the drawn points?

Corners are cut by their bends on purpose and measured points are passed by their scatter; every
other drawn point lies on the centerline, but for the rounding of the drawing, the gaps that were
bridged, and arcs turned to be tangent to their straights.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import tan

import numpy as np

from analyzer.findings import Finding, Severity
from analyzer.geometry.bend_chain import Asked, Drawing, is_line, place_of
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.grids import COARSE_GRID_M, COARSEST_GRID_M
from analyzer.units import show_short

__all__ = ["far_point_findings"]

_LEAST_M, _ROUNDINGS, _GAPS, _SHARE, _OUTSIDE = 1e-3, 2.0, 2.0, 0.02, 0.6
"""What may lie between a drawn point and the centerline: always, and times the rounding, times a
gap bridged beside it, as a share of the longer piece that ends there (an arc of up to 150 degrees
that is turned by half a degree), and as a share of what a polygon round the outside of an arc
stands off it, half a side times tan of a quarter of its turn. Own estimates."""

_SCATTERS = 10.0
"""Times the scatter of measured points about their fit that one may be off: those with errors of a
long tail stay in the fit. Own estimate."""

_GROSS = 5.0
"""Times what may lie between them that leaves no doubt."""


def far_point_findings(
    drawing: Drawing,
    asked: Asked,
    scatter_m: float,
    outside: Collection[int],
    away_m: Sequence[float],
    stations_m: Sequence[float],
) -> list[Finding]:
    """Return what to say where the centerline leaves drawn points by more than reading explains.

    A caution; an error where it leaves them by far.

    Parameters
    ----------
    drawing : Drawing
        The path.
    asked : Asked
        What was asked for.
    scatter_m : float
        Standard deviation of a coordinate about the fit where lines were read as measured points;
        0 where none were. [m]
    outside : collection of int
        Joints of polygons drawn round the outside of an arc.
    away_m, stations_m : sequence of float
        By joint: distance from the centerline, 0 where a corner is cut on purpose or the radius of
        a bend is none of the points', and the station nearest to it. [m]
    """
    allowed_m = [
        _allowed_m(drawing, joint, scatter_m, joint in outside) for joint in range(len(away_m))
    ]
    shares = np.array([away / allowed for away, allowed in zip(away_m, allowed_m, strict=True)])
    joint = int(np.argmax(shares))
    if shares[joint] <= 1.0:
        return []
    count = int(np.sum(shares > 1.0))
    return [
        Finding(
            "off-the-drawing",
            Severity.ERROR if shares[joint] > _GROSS else Severity.CAUTION,
            f"the run as read passes {count} drawn point{'s' if count > 1 else ''} by more than "
            f"reading its bends explains, this one by {show_short(away_m[joint])}: its bends, and "
            f"perhaps its length, are not those of the drawing; {_what_to_do(drawing, scatter_m)}",
            place_of(asked, stations_m[joint]),
        )
    ]


def _what_to_do(drawing: Drawing, scatter_m: float) -> str:
    if scatter_m:
        return "check the points there, and measure more of them"
    if COARSE_GRID_M < drawing.rounding_m <= COARSEST_GRID_M:
        # read as corners, every vertex that the grid moved off a straight would be a bend
        return (
            f"its coordinates are rounded to {show_short(drawing.rounding_m)}: write the drawing "
            "with more decimals, or draw the bend there as an arc"
        )
    return 'draw the bend there as an arc, or give the run read_as = "corners" in the job'


def _allowed_m(drawing: Drawing, joint: int, scatter_m: float, outside: bool) -> float:
    """How far the centerline may pass a drawn point. [m]"""
    beside = drawing.edges[max(joint - 1, 0) : joint + 1]
    lines = [is_line(edge) for edge in beside]
    lengths_m = [edge.segment.length_m for edge in beside]
    allowed = _LEAST_M
    if drawing.rounding_m <= COARSEST_GRID_M:
        allowed += _ROUNDINGS * drawing.rounding_m
    allowed += _GAPS * max(edge.bridged_m for edge in beside)
    if scatter_m or not all(lines):
        allowed += _SHARE * max(lengths_m)
    if any(lines):
        allowed += _SCATTERS * scatter_m
    if outside and len(beside) > 1 and all(lines):
        turn = angle_between(beside[0].segment.end_tangent, beside[1].segment.start_tangent)
        allowed += _OUTSIDE * min(lengths_m) * tan(turn / 4.0)
    return allowed
