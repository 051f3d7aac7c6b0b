"""Things drawn twice: duplicates, pieces lying on other pieces, ends that touch the middle of one.

What can be mended has an end of one curve on an edge of another, so ends are looked up along the
edges in a hash grid. Curves that lie on each other between their ends only are found by
`inner_overlaps` and told.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Segment, Straight, Vector
from analyzer.importers.chaining.curve_touches import CurveTouches
from analyzer.importers.chaining.drawn_curves import DrawnCurve, distance_m
from analyzer.importers.chaining.inner_overlaps import inner_overlaps
from analyzer.importers.chaining.kept_overlaps import (
    KeptOverlap,
    kept_overlap,
    kept_overlap_finding,
)
from analyzer.importers.chaining.shared_stretches import (
    SAME_M,
    SharedStretch,
    may_overlap,
    rest_of,
    shared_stretch,
)
from analyzer.importers.told_places import UnitText, place_list

__all__ = ["gathered", "told_in_part", "without_duplicates", "without_overlaps"]

_MOST_TOLD = 20
_SHORTEST = 4.0  # times they are apart, that they must have in common
_LONGEST_STEP = 230.0  # times they are apart, that a line must be long to turn by a quarter degree

_Unchanged = tuple[Finding, DrawnCurve, DrawnCurve]
"""What to say of two curves that nothing was changed of, and both, the first in the file first."""


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
                    Concern(entities=(twin.handle, curve.handle)),
                )
            )
    return kept, gathered(findings, "drawn twice")


def gathered(findings: list[Finding], what: str) -> list[Finding]:
    """Keep the first findings and add up the rest."""
    if len(findings) <= _MOST_TOLD:
        return findings
    rest = findings[_MOST_TOLD:]
    text = f"{len(rest)} more entities {what} were left out: {place_list([f.where for f in rest])}"
    return told_in_part(findings, _MOST_TOLD, text)


def told_in_part(findings: list[Finding], most: int, message: str) -> list[Finding]:
    """Return the first findings and one for the rest, which concerns all that these do.

    Parameters
    ----------
    findings : list of Finding
        More than `most`.
    most : int
        How many are kept.
    message : str
        What to say of the rest.
    """
    rest = findings[most:]
    worst = next((f for f in rest if f.severity is not Severity.NOTE), rest[0])
    entities = tuple(dict.fromkeys(one for f in rest for one in f.concern.entities))
    summed = Finding(worst.code, worst.severity, message, "", Concern(entities=entities))
    return [*findings[:most], summed]


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
    if abs(a.length_m - b.length_m) > SAME_M or distance_m(_middle(a), _middle(b)) > SAME_M:
        return False
    straight = distance_m(a.start_m, b.start_m) + distance_m(a.end_m, b.end_m)
    crossed = distance_m(a.start_m, b.end_m) + distance_m(a.end_m, b.start_m)
    if min(straight, crossed) > 2.0 * SAME_M:
        return False
    if len(a.edges) != len(b.edges):
        return False
    others = b.edges if straight <= crossed else tuple(reversed(b.edges))
    return all(
        distance_m(_half_way(x.segment), _half_way(y.segment)) <= 2.0 * SAME_M
        for x, y in zip(a.edges, others, strict=True)
    )


def _half_way(segment: Segment) -> Vector:
    if isinstance(segment, Straight):
        a, b = segment.start_m, segment.end_m
        return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0)
    row = segment.points_at([segment.length_m / 2.0])[0]
    return (float(row[0]), float(row[1]), float(row[2]))


def without_overlaps(
    curves: Sequence[DrawnCurve], touching: CurveTouches | None, within_m: float, text: UnitText
) -> tuple[list[DrawnCurve], list[KeptOverlap], list[Finding]]:
    """Leave out lines and arcs that lie on other curves, and the part of one that does.

    Parameters
    ----------
    curves : sequence of DrawnCurve
        Without duplicates.
    touching : CurveTouches or None
        Their ends on edges of others; None finds nothing.
    within_m : float
        How far beside each other they may be drawn. [m]
    text : UnitText
        How lengths are written.

    Returns
    -------
    list of DrawnCurve, list of KeptOverlap, list of Finding
        What is left, in the same order; which of it still lies on each other in part; and what was
        left out.
    """
    if touching is None:
        return list(curves), [], []
    current: list[DrawnCurve | None] = list(curves)
    findings: list[Finding] = []
    unchanged: dict[tuple[int, int], _Unchanged] = {}
    for a, edge_index, b, end in _overlap_candidates(curves, touching, within_m):
        cover, lying = current[a], current[b]
        if cover is None or lying is None or edge_index >= len(cover.edges):
            continue
        settled = _settled(cover, edge_index, lying, end, within_m, text)
        if settled is None:
            continue
        left, told = settled
        if left is lying:
            pair = (told, cover, lying) if a < b else (told, lying, cover)
            unchanged.setdefault((min(a, b), max(a, b)), pair)
        else:
            current[b] = left
            findings.append(told)
    overlaps, kept_findings = _kept_in_part(unchanged, current, within_m, text)
    kept_findings += inner_overlaps(current, touching, set(unchanged), within_m, text)
    kept = [curve for curve in current if curve is not None]
    findings = gathered(findings, "that overlap others") + _gathered_kept(kept_findings)
    return kept, overlaps, findings


def _settled(
    cover: DrawnCurve,
    edge_index: int,
    lying: DrawnCurve,
    end: int,
    within_m: float,
    text: UnitText,
) -> tuple[DrawnCurve | None, Finding] | None:
    """Return what is left of a curve whose end lies on an edge of another, and what to say.

    All of it is left where nothing can be changed. None if they have too little in common.
    """
    segment = cover.edges[edge_index].segment
    stretch = shared_stretch(segment, lying.edges, within_m)
    is_all_of_it = stretch is not None
    if stretch is None:
        stretch = shared_stretch(segment, lying.edges[end:][:1], within_m)
    if stretch is None or stretch.length_m <= max(_SHORTEST * stretch.away_m, 10.0 * SAME_M):
        return None
    on = f"{cover.kind} {cover.handle} on layer {cover.layer}"
    off = "" if stretch.away_m <= SAME_M else f", {text.length(stretch.away_m)} beside it"
    what = f"overlaps {on} over {text.length(stretch.length_m)}{off}"
    left: DrawnCurve | None = lying
    if is_all_of_it and stretch.is_whole:
        left = None
        what = f"lies on {on}{off}{off and ','} and was left out"
    elif (
        is_all_of_it
        and _goes_on(cover, edge_index, lying, stretch)
        and (rest := rest_of(lying, segment, stretch)) is not None
        and _stays_straight(stretch, rest, segment)
    ):
        left = rest
        what += "; the shared part was left out once"
    else:
        what += "; nothing was changed, mend the drawing"
    message = f"{lying.kind} {lying.handle} on layer {lying.layer} {what}"
    concern = Concern(entities=(cover.handle, lying.handle))
    return left, Finding("overlapping-entity", Severity.CAUTION, message, lying.where, concern)


def _kept_in_part(
    unchanged: Mapping[tuple[int, int], _Unchanged],
    current: Sequence[DrawnCurve | None],
    within_m: float,
    text: UnitText,
) -> tuple[list[KeptOverlap], list[Finding]]:
    """Return the overlaps that are left in what is left of the curves, and what to say of them."""
    overlaps, findings = [], []
    for (a, b), (plain, *told_of) in unchanged.items():
        one, other = current[a], current[b]
        if one is None or other is None:
            continue
        overlap = kept_overlap(one, other, within_m)
        if overlap is None and not (one is told_of[0] and other is told_of[1]):
            # what they shared was cut off one of them since, which is told
            continue
        findings.append(plain if overlap is None else kept_overlap_finding(overlap, text))
        overlaps += [] if overlap is None else [overlap]
    return overlaps, findings


def _gathered_kept(findings: list[Finding]) -> list[Finding]:
    """Keep the first findings on curves that lie on each other in part, and add up the rest."""
    if len(findings) <= _MOST_TOLD:
        return findings
    rest = findings[_MOST_TOLD:]
    where = place_list([f.where for f in rest])
    text = f"{len(rest)} more pairs lie on each other in part; nothing was changed: {where}"
    return told_in_part(findings, _MOST_TOLD, text)


def _goes_on(cover: DrawnCurve, index: int, lying: DrawnCurve, stretch: SharedStretch) -> bool:
    """Whether a line or half arc goes on where another curve ends, and does not part from it."""
    last = len(cover.edges) - 1
    return len(lying.edges) == 1 and index == (last if stretch.is_past else 0)


def _stays_straight(stretch: SharedStretch, rest: DrawnCurve, cover: Segment) -> bool:
    """Whether joining what is left to the cover hardly turns either, though they lie apart."""
    if stretch.away_m <= SAME_M:
        return True
    return min(rest.length_m, cover.length_m) >= _LONGEST_STEP * stretch.away_m


def _overlap_candidates(
    curves: Sequence[DrawnCurve], touching: CurveTouches, within_m: float
) -> list[tuple[int, int, int, int]]:
    """Covering curve, its edge, lying curve, its end edge: for each end on an edge of another."""
    edges, firsts, touches = touching.edges, touching.firsts, touching.touches
    lying, at_end = touches.point // 2, touches.point % 2
    end_edge = firsts[lying] + at_end * (touching.counts[lying] - 1)
    alike = may_overlap(edges, touches.edge, end_edge, within_m)
    cover = touching.owner[touches.edge]
    rows = np.column_stack([cover, touches.edge - firsts[cover], lying, -at_end])[alike]
    found = dict.fromkeys((int(a), int(i), int(b), int(e)) for a, i, b, e in rows)
    # the longer edge is taken as the cover, so that the shorter one goes
    return sorted(
        found,
        key=lambda key: curves[key[2]].length_m - curves[key[0]].edges[key[1]].segment.length_m,
    )
