"""Joints of a path: gaps between its pieces closed, arcs kept as drawn wherever that can be.

The end of a line is moved, or two lines are carried on to where they meet. Only where an arc
meets an arc does one of them turn a little about its far end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyzer.findings import Finding
from analyzer.geometry.drawn import NOT_WRITTEN, DrawnEdge, DrawnPath
from analyzer.geometry.segments import Arc, Straight, Vector, dot
from analyzer.importers.chaining.bridged_lines import (
    JoinedGroup,
    straightened,
    straightened_finding,
)
from analyzer.importers.chaining.chains import Chain, OpenPath
from analyzer.importers.chaining.drawn_curves import (
    DrawnCurve,
    distance_m,
    fitted_between,
    reversed_edges,
)
from analyzer.importers.near_points import COINCIDENT_M
from analyzer.importers.told_places import UnitText, place_list

__all__ = ["closed_chain", "edge_groups", "gap_closed", "midpoint", "open_path"]

_JUST = 1.0001  # times the distance that is bridged, that a gap may be wide: just that is bridged


def open_path(curves: Sequence[DrawnCurve], path: list[tuple[int, bool]]) -> OpenPath:
    """Return the groups of edges along a path, gaps still open.

    A chain of several curves starts at the end with the smaller (x, y, z).

    Parameters
    ----------
    curves : sequence of DrawnCurve
        All curves.
    path : list of (int, bool)
        Index of each curve in order, and whether it is traveled as drawn.
    """
    if len(path) > 1:
        first, last = path[0], path[-1]
        start = curves[first[0]].start_m if first[1] else curves[first[0]].end_m
        end = curves[last[0]].end_m if last[1] else curves[last[0]].start_m
        if end < start:
            path = [(index, not forward) for index, forward in reversed(path)]
    groups: list[list[DrawnEdge]] = []
    for index, forward in path:
        edges = curves[index].edges
        groups += edge_groups(edges if forward else reversed_edges(edges))
    return OpenPath(groups, [curves[index] for index, _ in path])


def edge_groups(edges: Sequence[DrawnEdge]) -> list[list[DrawnEdge]]:
    """Edges that move as one: the halves of an arc, the arcs of a spline."""
    groups: list[list[DrawnEdge]] = []
    for edge in edges:
        if groups and _belongs(groups[-1][-1], edge):
            groups[-1].append(edge)
        else:
            groups.append([edge])
    return groups


def _belongs(before: DrawnEdge, edge: DrawnEdge) -> bool:
    if edge.curve >= 0 or before.curve >= 0:
        return edge.curve == before.curve
    a, b = before.segment, edge.segment
    return (
        isinstance(a, Arc)
        and isinstance(b, Arc)
        and distance_m(a.center_m, b.center_m) <= COINCIDENT_M
        and dot(a.axis, b.axis) > 0.5
    )


def closed_chain(path: OpenPath, join_m: float, text: UnitText) -> tuple[Chain, list[Finding]]:
    """Return the path as a chain, every gap closed, and what that put straight.

    Parameters
    ----------
    path : OpenPath
        Gaps still open.
    join_m : float
        Gaps up to this are closed by moving ends. [m]
    text : UnitText
        How lengths and places are written.
    """
    joined = [JoinedGroup(path.groups[0], _way(path.groups[0]), 0.0)]
    for group in path.groups[1:]:
        before, way = joined[-1], _way(group)
        gap = distance_m(before.edges[-1].segment.end_m, group[0].segment.start_m)
        if gap <= COINCIDENT_M:
            joined.append(JoinedGroup(group, way, 0.0))
            continue
        first, *bridge, last = gap_closed(before.edges, group, join_m)
        bridged_m = gap if gap <= join_m * _JUST else 0.0
        joined[-1] = replace(before, edges=first)
        joined += [JoinedGroup(edges, None, bridged_m) for edges in bridge]
        joined.append(JoinedGroup(last, way, bridged_m))
    joined, left = straightened(joined)
    gaps = [*(group.gap_m for group in joined[1:]), 0.0]
    edges = tuple(
        replace(edge, bridged_m=max(edge.bridged_m, group.gap_m, gap))
        for group, gap in zip(joined, gaps, strict=True)
        for edge in group.edges
    )
    places = [curve.where for curve in path.curves]
    single = path.curves[0] if len(path.curves) == 1 else None
    ordered = single is not None and single.kind in ("LWPOLYLINE", "POLYLINE", "SPLINE", "HELIX")
    chain = Chain(DrawnPath(edges, where=place_list(places, 6)), tuple(path.curves), ordered)
    return chain, straightened_finding(left, text)


def _way(group: list[DrawnEdge]) -> Vector | None:
    """Direction of a line as drawn; None for what is no line."""
    segment = group[0].segment
    return segment.start_tangent if len(group) == 1 and isinstance(segment, Straight) else None


def gap_closed(
    before: list[DrawnEdge], after: list[DrawnEdge], join_m: float
) -> list[list[DrawnEdge]]:
    """Close the gap between two groups."""
    a, b = before[-1].segment.end_m, after[0].segment.start_m
    start, end = before[0].segment.start_m, after[-1].segment.end_m
    gap = distance_m(a, b)
    if gap > join_m * _JUST:
        return [before, [DrawnEdge(Straight(a, b), written=NOT_WRITTEN)], after]
    chords = (distance_m(start, a), distance_m(b, end))
    line_before = isinstance(before[0].segment, Straight) and len(before) == 1
    line_after = isinstance(after[0].segment, Straight) and len(after) == 1
    if line_before and line_after:
        at = _meeting(before[0].segment, after[0].segment, gap) or midpoint(a, b)
    elif line_before or (not line_after and chords[0] >= chords[1]):
        at = b
    else:
        at = a
    if (at != a and chords[0] < 5.0 * gap) or (at != b and chords[1] < 5.0 * gap):
        return [before, [DrawnEdge(Straight(a, b), written=NOT_WRITTEN)], after]
    moved_before = before if at == a else fitted_between(tuple(before), start, at)
    moved_after = after if at == b else fitted_between(tuple(after), at, end)
    return [moved_before, moved_after]


def midpoint(a: Vector, b: Vector) -> Vector:
    """Return the point halfway between two."""
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0)


def _meeting(one: Straight | Arc, other: Straight | Arc, gap: float) -> Vector | None:
    """Where two lines meet, carried on or cut back by no more than three times the gap."""
    p, q = one.end_m, other.start_m
    u, v = one.end_tangent, other.start_tangent
    w = (q[0] - p[0], q[1] - p[1], q[2] - p[2])
    c = dot(u, v)
    square = 1.0 - c * c
    if square < 1e-4:
        return None
    s = (dot(w, u) - c * dot(w, v)) / square
    t = (c * dot(w, u) - dot(w, v)) / square
    if max(abs(s), abs(t)) > 3.0 * gap:
        return None
    a = (p[0] + s * u[0], p[1] + s * u[1], p[2] + s * u[2])
    b = (q[0] + t * v[0], q[1] + t * v[1], q[2] + t * v[2])
    return midpoint(a, b)
