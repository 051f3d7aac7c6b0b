"""The stretch that two lines, or two arcs of one circle, have in common, and what is left of one.

Both may be drawn a little apart: how far counts as lying on each other is stated by the caller.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import atan2, hypot, pi

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.drawn import DrawnEdge
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, dot, norm
from analyzer.importers.chaining.drawn_curves import DrawnCurve, distance_m
from analyzer.importers.edge_touches import EdgeArrays
from analyzer.importers.near_points import Integers

__all__ = ["SAME_M", "SharedStretch", "may_overlap", "rest_of", "shared_stretch"]

SAME_M = 1e-6
"""Curves nearer than this lie exactly on each other. [m]"""


@dataclass(frozen=True, slots=True)
class SharedStretch:
    """Where a line or arc lies along an edge.

    Attributes
    ----------
    low_m, high_m : float
        Its ends, as distances along the edge; they may lie before its start or past its end. [m]
    size_m : float
        Length of the edge. [m]
    away_m : float
        How far beside the edge it was found. [m]
    start_is_low : bool
        Whether it runs the way of the edge.
    """

    low_m: float
    high_m: float
    size_m: float
    away_m: float
    start_is_low: bool

    @property
    def length_m(self) -> float:
        """Length that both have in common; zero or less where there is none. [m]"""
        return min(self.high_m, self.size_m) - max(self.low_m, 0.0)

    @property
    def is_whole(self) -> bool:
        """Whether it goes past neither end of the edge."""
        return not self.is_before and not self.is_past

    @property
    def is_before(self) -> bool:
        """Whether it reaches out before the start of the edge."""
        return self.low_m < -max(self.away_m, SAME_M)

    @property
    def is_past(self) -> bool:
        """Whether it goes on past the end of the edge."""
        return self.high_m > self.size_m + max(self.away_m, SAME_M)


def may_overlap(
    edges: EdgeArrays, cover: Integers, lying: Integers, within_m: float
) -> NDArray[np.bool_]:
    """Return whether edges that touch are of one sort: straights in line, or arcs of one circle.

    Parameters
    ----------
    edges : EdgeArrays
        All edges.
    cover, lying : (n,) int
        Which of them touch, pair by pair.
    within_m : float
        How far beside each other both may be drawn. [m]

    Returns
    -------
    (n,) bool
        False where they have no stretch in common; true where `shared_stretch` has to tell.
    """
    result: NDArray[np.bool_] = edges.is_arc[cover] == edges.is_arc[lying]
    rows = np.flatnonzero(result & ~edges.is_arc[cover])
    a, b = cover[rows], lying[rows]
    size_a, size_b = edges.lengths[a], edges.lengths[b]
    across = np.cross(edges.chords[a] / size_a[:, None], edges.chords[b] / size_b[:, None])
    turn = np.linalg.norm(across, axis=1)
    result[rows] = turn * np.minimum(size_a, size_b) <= 4.0 * within_m
    rows = np.flatnonzero(result & edges.is_arc[cover])
    a, b = cover[rows], lying[rows]
    apart = edges.starts[a] + edges.radii[a][:, None] * edges.normals[a]
    apart -= edges.starts[b] + edges.radii[b][:, None] * edges.normals[b]
    result[rows] = (np.linalg.norm(apart, axis=1) <= 10.0 * within_m) & (
        np.abs(edges.radii[a] - edges.radii[b]) <= 10.0 * within_m
    )
    return result


def shared_stretch(
    cover: Segment, edges: Sequence[DrawnEdge], within_m: float
) -> SharedStretch | None:
    """Return where a line or an arc lies along an edge; None where it does not.

    Parameters
    ----------
    cover : Straight or Arc
        The edge.
    edges : sequence of DrawnEdge
        One line, or the parts of one arc.
    within_m : float
        How far beside each other both may be drawn. [m]
    """
    if isinstance(cover, Arc):
        return _on_circle(cover, edges, within_m)
    segment = edges[0].segment
    if len(edges) > 1 or not isinstance(segment, Straight):
        return None
    return _in_line(cover, segment, within_m)


def _in_line(cover: Straight, lying: Straight, within_m: float) -> SharedStretch | None:
    t, o, size = cover.start_tangent, cover.start_m, cover.length_m
    spots, feet = [], []
    for p in (lying.start_m, lying.end_m):
        v = (p[0] - o[0], p[1] - o[1], p[2] - o[2])
        along = dot(v, t)
        spots.append(along)
        feet.append(norm((v[0] - along * t[0], v[1] - along * t[1], v[2] - along * t[2])))
    first, last = spots
    away = 0.0
    for along, foot in zip(spots, feet, strict=True):
        if -within_m <= along <= size + within_m:
            if foot > within_m:
                return None
            away = max(away, foot)
    for place in (0.0, size):  # an end of the edge beside the other line
        if min(spots) < place < max(spots):
            share = (place - first) / (last - first)
            away = max(away, abs(feet[0] + share * (feet[1] - feet[0])))
    if away > within_m:
        return None
    return SharedStretch(min(spots), max(spots), size, away, first <= last)


def _on_circle(cover: Arc, edges: Sequence[DrawnEdge], within_m: float) -> SharedStretch | None:
    turn, away, sign = 0.0, 0.0, 1.0
    axis, center, radius = cover.axis, cover.center_m, cover.radius_m
    off = max(10.0 * SAME_M, within_m)
    for edge in edges:
        arc = edge.segment
        if not isinstance(arc, Arc) or distance_m(arc.center_m, center) > off:
            return None
        for p in (arc.start_m, _vector(arc, 0.5), arc.end_m):
            v = (p[0] - center[0], p[1] - center[1], p[2] - center[2])
            height = dot(v, axis)
            flat = (v[0] - height * axis[0], v[1] - height * axis[1], v[2] - height * axis[2])
            away = max(away, hypot(norm(flat) - radius, height))
        sign = 1.0 if dot(arc.axis, axis) > 0.0 else -1.0
        turn += arc.angle_rad
    if away > within_m:
        return None
    first = _angle(cover, edges[0].segment.start_m)
    low, high = (first, first + turn) if sign > 0.0 else (first - turn, first)
    ways = [(low + k * 2.0 * pi, high + k * 2.0 * pi) for k in (-1, 0, 1)]
    low, high = max(ways, key=lambda way: min(way[1], cover.angle_rad) - max(way[0], 0.0))
    return SharedStretch(low * radius, high * radius, cover.length_m, away, sign > 0.0)


def _vector(arc: Arc, share: float) -> Vector:
    x, y, z = arc.points_at([share * arc.length_m])[0].tolist()
    return (x, y, z)


def _angle(arc: Arc, p: Vector) -> float:
    """Angle of a place on the circle of an arc, from the arc's start, -pi to pi."""
    start = arc.start_m
    offset = (p[0] - start[0], p[1] - start[1], p[2] - start[2])
    return atan2(dot(offset, arc.start_tangent), arc.radius_m - dot(offset, arc.start_normal))


def rest_of(lying: DrawnCurve, cover: Segment, stretch: SharedStretch) -> DrawnCurve | None:
    """Return what a line or arc goes on past an edge; None where it does at both its ends.

    Parameters
    ----------
    lying : DrawnCurve
        One line, or one arc.
    cover : Straight or Arc
        The edge it lies along.
    stretch : SharedStretch
        What `shared_stretch` returned.
    """
    is_past = stretch.is_past
    if is_past and stretch.is_before:
        return None
    at = stretch.size_m if is_past else 0.0
    whole = lying.length_m
    cut = at - stretch.low_m if stretch.start_is_low else stretch.high_m - at
    goes_first = stretch.start_is_low == is_past  # the shared part is its first
    pieces = _part(lying.edges, cut, whole) if goes_first else _part(lying.edges, 0.0, cut)
    if not pieces:
        return None
    meeting = cover.end_m if is_past else cover.start_m
    edge = pieces[0 if goes_first else -1]
    if isinstance(edge.segment, Straight) and stretch.away_m <= SAME_M:
        start, end = edge.segment.start_m, edge.segment.end_m
        joined = Straight(meeting, end) if goes_first else Straight(start, meeting)
        pieces = [edge.moved_to(joined)]
    return replace(lying, edges=tuple(pieces))


def _part(edges: Sequence[DrawnEdge], from_m: float, to_m: float) -> list[DrawnEdge]:
    """Edges between two distances along a curve."""
    kept, at = [], 0.0
    for edge in edges:
        size = edge.segment.length_m
        low, high = max(from_m - at, 0.0), min(to_m - at, size)
        at += size
        if high - low <= 1e-9:
            continue
        segment = edge.segment if high - low >= size else edge.segment.part(low, high)
        kept.append(edge if segment is edge.segment else edge.moved_to(segment))
    return kept
