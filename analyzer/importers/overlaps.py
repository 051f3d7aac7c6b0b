"""Things drawn twice: duplicates, pieces lying on other pieces, ends that touch the middle of one.

Every pair that matters has an end of one curve on an edge of another, so ends are looked up
along the edges in a hash grid.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analyzer.findings import Finding, Severity
from analyzer.geometry.drawn import DrawnEdge
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, dot, norm
from analyzer.importers.chains import UnitText
from analyzer.importers.drawn_curves import DrawnCurve, distance_m
from analyzer.importers.edge_touches import EdgeArrays, along_arc, edge_arrays, edge_touches
from analyzer.importers.near_points import Integers

__all__ = ["listed", "without_duplicates", "without_overlaps"]

_SAME_M = 1e-6


def listed(places: Sequence[str], most: int = 10) -> str:
    """Return the first places of a list as text, and how many more there are."""
    text = "; ".join(places[:most])
    return text if len(places) <= most else f"{text}; and {len(places) - most} more"


def without_duplicates(curves: Sequence[DrawnCurve]) -> tuple[list[DrawnCurve], list[Finding]]:
    """Leave out curves drawn twice, whichever way round; the first of each stays."""
    kept: list[DrawnCurve] = []
    findings = []
    seen: dict[tuple[int, ...], list[DrawnCurve]] = defaultdict(list)
    for curve in curves:
        keys = _keys(curve)
        near = (c for key in keys if key in seen for c in seen[key])
        twin = next((c for c in near if _is_same(c, curve)), None)
        if twin is None:
            kept.append(curve)
            seen[keys[0]].append(curve)
        else:
            findings.append(
                Finding(
                    "duplicate-entity",
                    Severity.NOTE,
                    f"{curve.kind} {curve.handle} on layer {curve.layer} lies exactly on "
                    f"{twin.kind} {twin.handle} on layer {twin.layer} and was left out",
                    curve.where,
                )
            )
    return kept, _gathered(findings, "drawn twice")


def _gathered(findings: list[Finding], what: str, most: int = 20) -> list[Finding]:
    """Keep the first findings and add up the rest."""
    if len(findings) <= most:
        return findings
    rest = findings[most:]
    text = f"{len(rest)} more entities {what} were left out: {listed([f.where for f in rest])}"
    return [*findings[:most], Finding(rest[0].code, rest[0].severity, text, "")]


def _middle(curve: DrawnCurve) -> Vector:
    """Return a point of the curve that both ways of drawing it share."""
    if len(curve.edges) == 1:
        a, b = curve.start_m, curve.end_m
        return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0)
    x = y = z = 0.0
    ends = [edge.segment.start_m for edge in curve.edges[1:]] + [curve.end_m]
    for edge, b in zip(curve.edges, ends, strict=True):
        a, share = edge.segment.start_m, edge.segment.length_m
        x += share * (a[0] + b[0])
        y += share * (a[1] + b[1])
        z += share * (a[2] + b[2])
    total = 2.0 * curve.length_m
    return (x / total, y / total, z / total)


def _keys(curve: DrawnCurve) -> list[tuple[int, ...]]:
    """Cells of a millimeter that the middle lies in or next to; its own comes first."""
    middle = _middle(curve)
    choices = []
    for value in middle:
        cell = value / 1e-3 + 0.381966
        own = int(cell // 1)
        rest = cell - own
        choices.append([own] + ([own - 1] if rest < 0.01 else [own + 1] if rest > 0.99 else []))
    return [(a, b, c) for a in choices[0] for b in choices[1] for c in choices[2]]


def _is_same(a: DrawnCurve, b: DrawnCurve) -> bool:
    if abs(a.length_m - b.length_m) > _SAME_M or distance_m(_middle(a), _middle(b)) > _SAME_M:
        return False
    straight = distance_m(a.start_m, b.start_m) + distance_m(a.end_m, b.end_m)
    crossed = distance_m(a.start_m, b.end_m) + distance_m(a.end_m, b.start_m)
    if min(straight, crossed) > 2.0 * _SAME_M:
        return False
    if len(a.edges) != len(b.edges):
        return False
    others = b.edges if straight <= crossed else tuple(reversed(b.edges))
    return all(
        distance_m(_half_way(x.segment), _half_way(y.segment)) <= 2.0 * _SAME_M
        for x, y in zip(a.edges, others, strict=True)
    )


def _half_way(segment: Segment) -> Vector:
    if isinstance(segment, Straight):
        a, b = segment.start_m, segment.end_m
        return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0)
    row = segment.points_at([segment.length_m / 2.0])[0]
    return (float(row[0]), float(row[1]), float(row[2]))


def without_overlaps(
    curves: Sequence[DrawnCurve], text: UnitText
) -> tuple[list[DrawnCurve], list[Finding]]:
    """Leave out lines and arcs that lie on other curves, and the part of a line that does.

    Parameters
    ----------
    curves : sequence of DrawnCurve
        Without duplicates.
    text : UnitText
        How lengths are written.

    Returns
    -------
    list of DrawnCurve, list of Finding
        What is left, in the same order, and what was left out.
    """
    current: list[DrawnCurve | None] = list(curves)
    findings = []
    for a, edge_index, b, end in _overlap_candidates(curves):
        cover, lying = current[a], current[b]
        if cover is None or lying is None or edge_index >= len(cover.edges):
            continue
        segment = cover.edges[edge_index].segment
        interval = _interval(segment, lying)
        whole = interval is not None
        if interval is None:
            interval = _interval(segment, replace(lying, edges=(lying.edges[end],)))
        if interval is None:
            continue
        low, high, length = interval
        shared = min(high, length) - max(low, 0.0)
        if shared <= 10.0 * _SAME_M:
            continue
        if whole and low >= -_SAME_M and high <= length + _SAME_M:
            current[b] = None
            what = f"lies on {cover.kind} {cover.handle} on layer {cover.layer} and was left out"
        else:
            shorter = _trimmed(segment, lying, low, high, length) if whole else None
            if shorter is None:
                what = (
                    f"overlaps {cover.kind} {cover.handle} on layer {cover.layer} over "
                    f"{text.length(shared)}; nothing was changed, mend the drawing"
                )
            else:
                current[b] = shorter
                what = (
                    f"overlaps {cover.kind} {cover.handle} on layer {cover.layer} over "
                    f"{text.length(shared)}; the shared part was left out once"
                )
        message = f"{lying.kind} {lying.handle} on layer {lying.layer} {what}"
        findings.append(Finding("overlapping-entity", Severity.CAUTION, message, lying.where))
    kept = [curve for curve in current if curve is not None]
    return kept, _gathered(findings, "that overlap others")


def _overlap_candidates(curves: Sequence[DrawnCurve]) -> list[tuple[int, int, int, int]]:
    """Covering curve, its edge, lying curve, its end edge: for each end on an edge of another."""
    if not curves:
        return []
    counts = np.array([len(curve.edges) for curve in curves])
    firsts = np.cumsum(counts) - counts
    owner = np.repeat(np.arange(len(curves)), counts)
    edges = edge_arrays([edge.segment for curve in curves for edge in curve.edges])
    points = np.array([p for curve in curves for p in (curve.start_m, curve.end_m)])
    touches = edge_touches(edges, points, _SAME_M)
    if touches is None:
        return []
    touches = touches.only(owner[touches.edge] != touches.point // 2)
    lying, at_end = touches.point // 2, touches.point % 2
    end_edge = firsts[lying] + at_end * (counts[lying] - 1)
    alike = _may_overlap(edges, touches.edge, end_edge)
    cover = owner[touches.edge]
    rows = np.column_stack([cover, touches.edge - firsts[cover], lying, -at_end])[alike]
    found = dict.fromkeys((int(a), int(i), int(b), int(e)) for a, i, b, e in rows)
    # the longer edge is taken as the cover, so that the shorter one goes
    return sorted(
        found,
        key=lambda key: curves[key[2]].length_m - curves[key[0]].edges[key[1]].segment.length_m,
    )


def _may_overlap(edges: EdgeArrays, cover: Integers, lying: Integers) -> NDArray[np.bool_]:
    """Return whether edges that touch are of one sort: straights in line, or arcs of one circle."""
    result: NDArray[np.bool_] = edges.is_arc[cover] == edges.is_arc[lying]
    rows = np.flatnonzero(result & ~edges.is_arc[cover])
    a, b = cover[rows], lying[rows]
    size_a, size_b = edges.lengths[a], edges.lengths[b]
    across = np.cross(edges.chords[a] / size_a[:, None], edges.chords[b] / size_b[:, None])
    turn = np.linalg.norm(across, axis=1)
    result[rows] = turn * np.minimum(size_a, size_b) <= 4.0 * _SAME_M
    rows = np.flatnonzero(result & edges.is_arc[cover])
    a, b = cover[rows], lying[rows]
    apart = edges.starts[a] + edges.radii[a][:, None] * edges.normals[a]
    apart -= edges.starts[b] + edges.radii[b][:, None] * edges.normals[b]
    result[rows] = (np.linalg.norm(apart, axis=1) <= 10.0 * _SAME_M) & (
        np.abs(edges.radii[a] - edges.radii[b]) <= 10.0 * _SAME_M
    )
    return result


def _interval(cover: Segment, lying: DrawnCurve) -> tuple[float, float, float] | None:
    """Return where a curve of one edge lies along an edge, and the edge's length; else None."""
    if len(lying.edges) > 1 and not isinstance(cover, Arc):
        return None
    segments = [edge.segment for edge in lying.edges]
    if isinstance(cover, Straight):
        segment = segments[0]
        if not isinstance(segment, Straight):
            return None
        t, o = cover.start_tangent, cover.start_m
        spots = []
        for p in (segment.start_m, segment.end_m):
            v = (p[0] - o[0], p[1] - o[1], p[2] - o[2])
            along = dot(v, t)
            foot = (v[0] - along * t[0], v[1] - along * t[1], v[2] - along * t[2])
            inside = -_SAME_M <= along <= cover.length_m + _SAME_M
            if inside and norm(foot) > _SAME_M:
                return None
            spots.append(along)
        return min(spots), max(spots), cover.length_m
    places = []
    for segment in segments:
        if not isinstance(segment, Arc) or distance_m(segment.center_m, cover.center_m) > 1e-5:
            return None
        places += [segment.start_m, _half_way(segment), segment.end_m]
    along_each = []
    for p in places:
        along, away = along_arc(cover, p)
        if away > _SAME_M:
            return None
        along_each.append(along)
    return min(along_each), max(along_each), cover.length_m


def _trimmed(
    cover: Segment, lying: DrawnCurve, low: float, high: float, length: float
) -> DrawnCurve | None:
    """Return the part of a single line beyond the edge it overlaps; None where there are two."""
    if not isinstance(cover, Straight) or (low < -_SAME_M and high > length + _SAME_M):
        return None
    segment = lying.edges[0].segment
    at, beyond = (cover.end_m, high > length) if high > length else (cover.start_m, False)
    t, o = cover.start_tangent, cover.start_m
    along_start = sum((segment.start_m[i] - o[i]) * t[i] for i in range(3))
    start_goes = (along_start < length) if beyond else (along_start > 0.0)
    piece = Straight(at, segment.end_m) if start_goes else Straight(segment.start_m, at)
    edge = DrawnEdge(piece, lying.edges[0].drawn_as, lying.edges[0].curve)
    return replace(lying, edges=(edge,))
