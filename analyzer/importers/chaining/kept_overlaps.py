"""Curves that lie on each other in part and are both kept: the whole shared stretch, told once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.chaining.shared_stretches import SAME_M, shared_stretch
from analyzer.importers.edge_touches import edge_arrays
from analyzer.importers.told_places import UnitText

__all__ = ["KeptOverlap", "kept_overlap", "kept_overlap_finding"]

_SHORTEST = 4.0  # times they are apart, that edges must have in common
_MOST_PAIRS = 100_000  # of edges that are near each other; more are not looked through


@dataclass(frozen=True, slots=True)
class KeptOverlap:
    """Two curves that lie on each other in part.

    Attributes
    ----------
    one, other : DrawnCurve
        As kept.
    start_m, end_m : (3,) float
        Where the shared stretch starts and ends along `one`. [m]
    length_m, away_m : float
        Length they have in common, and how far beside each other they lie. [m]
    """

    one: DrawnCurve
    other: DrawnCurve
    start_m: Vector
    end_m: Vector
    length_m: float
    away_m: float

    def explains(self, curves: Iterable[DrawnCurve], more: Iterable[DrawnCurve]) -> bool:
        """Return whether two runs, given by their curves, touch because of it."""
        first, second = {id(c) for c in curves}, {id(c) for c in more}
        a, b = id(self.one), id(self.other)
        return (a in first and b in second) or (b in first and a in second)


def kept_overlap(one: DrawnCurve, other: DrawnCurve, within_m: float) -> KeptOverlap | None:
    """Return all that two curves have in common; None where it is too much to look through.

    Parameters
    ----------
    one, other : DrawnCurve
        Curves that lie on each other somewhere.
    within_m : float
        How far beside each other they may be drawn. [m]
    """
    parts: list[tuple[float, float]] = []
    away, before = 0.0, 0.0
    near = _near_edges(one, other, within_m)
    if near is None:
        return None
    for index, edge in enumerate(one.edges):
        size = edge.segment.length_m
        for k in near[index]:
            stretch = shared_stretch(edge.segment, [other.edges[k]], within_m)
            if stretch is None or stretch.length_m <= max(_SHORTEST * stretch.away_m, SAME_M):
                continue
            away = max(away, stretch.away_m)
            parts.append((before + max(stretch.low_m, 0.0), before + min(stretch.high_m, size)))
        before += size
    if not parts:
        return None
    length, reached = 0.0, 0.0
    for low, high in sorted(parts):
        length += max(high - max(low, reached), 0.0)
        reached = max(reached, high)
    start, end = min(low for low, _ in parts), max(high for _, high in parts)
    return KeptOverlap(one, other, _place(one, start), _place(one, end), length, away)


def _near_edges(one: DrawnCurve, other: DrawnCurve, within_m: float) -> list[Sequence[int]] | None:
    """For each edge of a curve the edges of another whose boxes touch its own."""
    boxes = edge_arrays([edge.segment for edge in one.edges]).boxes()
    low, high = edge_arrays([edge.segment for edge in other.edges]).boxes()
    found, count = [], 0
    for bottom, top in zip(*boxes, strict=True):
        meets = np.all((low <= top + within_m) & (high >= bottom - within_m), axis=1)
        rows: list[int] = np.flatnonzero(meets).tolist()
        found.append(rows)
        count += len(rows)
        if count > _MOST_PAIRS:
            return None
    return list(found)


def _place(curve: DrawnCurve, along_m: float) -> Vector:
    """Point at a distance along a curve. [m]"""
    at = along_m
    for edge in curve.edges:
        size = edge.segment.length_m
        if at <= size or edge is curve.edges[-1]:
            x, y, z = edge.segment.points_at([min(max(at, 0.0), size)])[0].tolist()
            return (x, y, z)
        at -= size
    return curve.end_m


def kept_overlap_finding(overlap: KeptOverlap, text: UnitText) -> Finding:
    """Say what two curves have in common and what to do.

    Parameters
    ----------
    overlap : KeptOverlap
        What they have in common.
    text : UnitText
        How lengths and places are written.
    """
    one, other = overlap.one, overlap.other
    off = "" if overlap.away_m <= SAME_M else f", at most {text.length(overlap.away_m)} apart"
    message = (
        f"{one.kind} {one.handle} on layer {one.layer} and {other.kind} {other.handle} on layer "
        f"{other.layer} lie on each other over {text.length(overlap.length_m)}{off}, from "
        f"{text.place(overlap.start_m)} to {text.place(overlap.end_m)}; both are read whole, so "
        "each counts that stretch. If they are one run, cut one back to where the other ends; if "
        "they are two raceways, draw them beside each other"
    )
    where = f"{one.where}; {other.where}"
    concern = Concern(entities=(one.handle, other.handle))
    return Finding("overlapping-entity", Severity.CAUTION, message, where, concern)
