"""Closed curves and closed chains: they have no ends to pull from and are no runs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.chaining.chains import Box, Chain, chain_ends, joining_reach
from analyzer.importers.chaining.doubled_loops import said_of_doubled
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.places import out_and_back
from analyzer.importers.told_places import UnitText, place_list

__all__ = ["loop_findings"]

_DRAWN_BY_POINTS = ("LWPOLYLINE", "POLYLINE", "SPLINE", "HELIX")
"""A circle or an ellipse is no run closed by mistake."""


def loop_findings(
    loops: Sequence[tuple[DrawnCurve, ...]],
    chains: Sequence[Chain],
    join_m: float,
    snap_m: float,
    boxes: Sequence[Box],
    text: UnitText,
) -> list[Finding]:
    """List closed curves and closed chains, which have no ends to pull from.

    One that has a corner at the end of a run may be the rest of it, closed by mistake; where a
    box stands, it may be the outline of the box.

    Parameters
    ----------
    loops : sequence of tuple of DrawnCurve
        Closed curves, one each, and the curves of closed chains.
    chains : sequence of Chain
        The open paths beside them.
    join_m : float
        Up to which gap a corner is at the end of a run. [m]
    snap_m : float
        How near a box must be to hold that end. [m]
    boxes : sequence of Box
        Fittings of the drawing.
    text : UnitText
        How lengths and places are written.
    """
    findings = []
    reach_m = joining_reach(join_m)
    tips = np.array([p for chain in chains for p in chain_ends(chain)]).reshape(-1, 3)
    of_layers: dict[str, list[DrawnCurve]] = defaultdict(list)
    for loop in loops:
        if len(loop) > 1:
            findings.append(_chained_loop(loop, reach_m, text))
            continue
        curve = loop[0]
        told = _folded_loop(curve, reach_m, text)
        at = None if told is not None else _end_at(curve, tips, reach_m)
        if at is not None and not any(box.holds_end(at, snap_m) for box in boxes):
            told = _loop_at_end(curve, at, reach_m, text)
        if told is None:
            of_layers[curve.layer].append(curve)
        else:
            findings.append(told)
    return findings + [_loops_of_layer(layer, curves) for layer, curves in of_layers.items()]


def _chained_loop(loop: Sequence[DrawnCurve], reach_m: float, text: UnitText) -> Finding:
    length = sum(curve.length_m for curve in loop)
    message = (
        f"{len(loop)} pieces close on themselves ({text.length(length)} around): "
        "a loop has no ends and is no run. Open it where the pull starts"
    )
    doubled = said_of_doubled(loop, text)
    if doubled is not None:
        message = f"{len(loop)} {doubled}; they are left out"
    where = place_list([curve.where for curve in loop], 6)
    concern = Concern(boxes_m=_corners(loop), reach_m=reach_m)
    return Finding("closed-loop", Severity.CAUTION, message, where, concern)


def _folded_loop(curve: DrawnCurve, reach_m: float, text: UnitText) -> Finding | None:
    """Tell of a closed curve that goes out and comes back on itself; None of any other."""
    folded = out_and_back(curve.edges)
    if folded is None or folded.place_m is None:
        return None
    message = f"a path {folded.said_at(text.place(folded.place_m))}; it is left out"
    concern = Concern(boxes_m=_corners([curve]), reach_m=reach_m)
    return Finding("turned-back", Severity.CAUTION, message, curve.where, concern)


def _loop_at_end(curve: DrawnCurve, at: Vector, reach_m: float, text: UnitText) -> Finding:
    message = (
        f"a closed {curve.kind} has a corner at the end of a run, {text.place(at)}; a loop has no "
        "ends and is left out. If it carries the run on, open it"
    )
    concern = Concern(boxes_m=((at, at),), reach_m=reach_m)
    return Finding("closed-curve-at-end", Severity.CAUTION, message, curve.where, concern)


def _loops_of_layer(layer: str, curves: Sequence[DrawnCurve]) -> Finding:
    message = (
        f"{len(curves)} closed curve{'s' if len(curves) > 1 else ''} on layer {layer} "
        "left out: a loop has no ends and is no run"
    )
    where = place_list([curve.where for curve in curves])
    return Finding("closed-loop", Severity.NOTE, message, where)


def _corners(loop: Sequence[DrawnCurve]) -> tuple[tuple[Vector, Vector], ...]:
    """Return the ends of the edges of closed curves, as boxes of no size. [m]"""
    points = (edge.segment.start_m for curve in loop for edge in curve.edges)
    return tuple((point, point) for point in points)


def _end_at(curve: DrawnCurve, tips: Floats, reach_m: float) -> Vector | None:
    """Return the end of a run that a closed polyline or spline has a corner at; else None. [m]"""
    if curve.kind not in _DRAWN_BY_POINTS or not len(tips):
        return None
    corners = np.array([edge.segment.start_m for edge in curve.edges])
    low, high = corners.min(axis=0) - reach_m, corners.max(axis=0) + reach_m
    for tip in tips[np.all((tips >= low) & (tips <= high), axis=1)]:
        if np.linalg.norm(corners - tip, axis=1).min() <= reach_m:
            x, y, z = tip.tolist()
            return (x, y, z)
    return None
