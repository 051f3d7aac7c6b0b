"""Old-style polylines smoothed to a spline: the curve itself, where the file holds its frame.

A drawing program keeps the control points as a frame (vertex flag 16) beside the points it draws
the curve through (flag 8). The curve is the clamped uniform B-spline of the frame, quadratic
(smooth type 5) or cubic (6) (DXF reference, POLYLINE). It is taken only where the drawn points
prove it: they lie on it within what their digits leave, in order, from end to end.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np

from analyzer.geometry.roundings import rounding
from analyzer.geometry.segments import Vector
from analyzer.importers.drawings.pieces import SplinePiece
from analyzer.importers.drawings.spline_curves import nearest_on_spline

__all__ = ["frame_spline"]

_DEGREES = {5: 2, 6: 3}
_NAMES = {2: "quadratic", 3: "cubic"}
_DIGITS = 2.0 * sqrt(3.0)
"""Roundings that a drawn point may stand off the curve: half of one in each of three coordinates,
for itself and for the control points, and as much again for a margin."""

_LARGEST_SHARE = 1e-4
"""Share of the size of the curve that no rounding excuses."""


def frame_spline(
    control: Sequence[Vector], drawn: Sequence[Vector], smooth_type: int, has_arcs: bool
) -> tuple[SplinePiece | None, tuple[str, str]]:
    """Return the spline that a smoothed open polyline draws, and a remark (code, text) on it.

    None where the drawn points do not prove it: they are then read as they are drawn.

    Parameters
    ----------
    control : sequence of (3,) float
        Its frame; empty where the file holds none.
    drawn : sequence of (3,) float
        The points it is drawn through.
    smooth_type : int
        5 for a quadratic, 6 for a cubic spline (group 75).
    has_arcs : bool
        Whether arcs join the drawn points.
    """
    degree = _DEGREES.get(smooth_type)
    spline = None
    if not control:
        why = "the file does not hold its control points"
    elif degree is None:
        why = f"its smooth type {smooth_type} names no quadratic or cubic spline"
    elif has_arcs:
        why = "arcs join its points"
    else:
        spline = _proven(control, drawn, degree)
        why = f"its points do not lie on the {_NAMES[degree]} spline of its control points"
    if spline is not None:
        text = (
            f"a polyline smoothed to a {_NAMES[spline.degree]} spline of {len(control)} control "
            f"points: read as that spline, on which its {len(drawn)} drawn points lie"
        )
        return spline, ("spline-frame-read", text)
    text = (
        f"a polyline smoothed to a curve, read as its {len(drawn)} points are joined, since {why}: "
        "bends found from them may differ from those of the curve. Draw it anew with arcs, or as "
        "a SPLINE"
    )
    return None, ("smoothed-polyline", text)


def _proven(control: Sequence[Vector], drawn: Sequence[Vector], degree: int) -> SplinePiece | None:
    """Return the spline of a frame if the drawn points lie along all of it."""
    degree = min(degree, len(control) - 1)
    if degree < 2 or len(drawn) < len(control):
        return None
    spans = len(control) - degree
    inner = [float(k) for k in range(spans + 1)]
    knots = (*([0.0] * degree), *inner, *([float(spans)] * degree))
    spline = SplinePiece(degree, knots, tuple(control))
    points = np.array(drawn)
    if not np.isfinite(points).all() or not np.isfinite(np.array(control)).all():
        return None
    size = float(np.ptp(points, axis=0).max())
    allowed = min(_DIGITS * rounding(points), _LARGEST_SHARE * size)
    at, away = nearest_on_spline(spline, points)
    ends = np.linalg.norm(points[[0, -1]] - np.array([control[0], control[-1]]), axis=1)
    gaps = np.diff(at)
    if max(away.max(), ends.max()) > allowed or gaps.min() < -1e-6 or gaps.max() > 1.0 + 1e-6:
        return None
    return None if _stands_still(control, degree) else spline


def _stands_still(control: Sequence[Vector], degree: int) -> bool:
    """Whether so many control points coincide that the curve has no direction there: a cusp."""
    rows = [control[first : first + degree] for first in range(len(control) - degree + 1)]
    return any(all(point == row[0] for point in row) for row in rows)
