"""Which ends of curves lie on which edges of others: what duplicates and overlaps are found by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.edge_touches import (
    EdgeArrays,
    EdgeTouches,
    edge_arrays,
    edge_touches,
)
from analyzer.importers.near_points import Integers

__all__ = ["CurveTouches", "curve_touches"]


@dataclass(frozen=True, slots=True)
class CurveTouches:
    """Ends of curves on edges of other curves.

    Attributes
    ----------
    edges : EdgeArrays
        The edges of all curves, one curve after the other.
    counts, firsts : (n,) int
        For each curve how many edges it has, and which of all edges is its first.
    owner : (m,) int
        The curve each edge is of.
    touches : EdgeTouches
        Point 2 i is the start of curve i, point 2 i + 1 its end. [m]
    """

    edges: EdgeArrays
    counts: Integers
    firsts: Integers
    owner: Integers
    touches: EdgeTouches


def curve_touches(curves: Sequence[DrawnCurve], *within_m: float) -> CurveTouches | None:
    """Return which ends lie on edges of other curves.

    Parameters
    ----------
    curves : sequence of DrawnCurve
        Any number.
    *within_m : float
        How near counts; where that finds too many at once, the next one. [m]

    Returns
    -------
    CurveTouches or None
        None where there is no curve, or everything is too dense.
    """
    if not curves:
        return None
    counts = np.array([len(curve.edges) for curve in curves])
    owner = np.repeat(np.arange(len(curves)), counts)
    edges = edge_arrays([edge.segment for curve in curves for edge in curve.edges])
    points = np.array([p for curve in curves for p in (curve.start_m, curve.end_m)])
    for radius_m in within_m:
        touches = edge_touches(edges, points, radius_m)
        if touches is not None:
            touches = touches.only(owner[touches.edge] != touches.point // 2)
            return CurveTouches(edges, counts, np.cumsum(counts) - counts, owner, touches)
    return None
