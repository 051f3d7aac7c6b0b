"""Gaps between ends that do not meet: which are bridged, and what is said of them."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.findings import Finding, Severity
from analyzer.geometry.segments import Floats, Vector, dot
from analyzer.importers.chaining.chains import joining_reach
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.near_points import near_pairs
from analyzer.importers.told_places import UnitText, place_list

__all__ = ["find_gaps", "gap_findings"]

_SIDE_BY_SIDE = 0.5  # cosine between the ways out of two ends, above which they lie side by side


def find_gaps(
    curves: Sequence[DrawnCurve],
    nodes: list[int],
    members: dict[int, list[int]],
    points: Floats,
    join_m: float,
) -> list[tuple[int, int, float]]:
    """Return pairs of nodes to be joined although their ends do not meet, and how far apart.

    Free ends go together first, the nearest before others; then free ends to where others meet.

    Parameters
    ----------
    curves : sequence of DrawnCurve
        All curves.
    nodes : list of int
        Node of every end: start of curve i at 2 i, its end at 2 i + 1.
    members : dict
        Ends at every node.
    points : (n, 3) float
        Place of every end. [m]
    join_m : float
        How far apart ends may be. [m]
    """
    place = points[[members[n][0] for n in range(len(members))]]
    free = {n for n, ends in members.items() if len(ends) == 1}
    loose = [max(curves[end // 2].loose_m for end in members[n]) for n in range(len(members))]
    pairs = sorted(
        (d, a, b)
        for a, b, d in near_pairs(place, join_m + 2.0 * max(loose))
        if (a in free or b in free)
        and (d <= join_m or (d <= join_m + loose[a] + loose[b] and _face(curves, members, a, b)))
    )
    gaps = []
    used: set[int] = set()
    near: dict[int, set[int]] = {}
    for both_free in (True, False):
        for distance, a, b in pairs:
            if (a in free and b in free) != both_free:
                continue
            one, other = (a, b) if a in free else (b, a)
            if one in used or (both_free and other in used):
                continue
            if one not in near:
                near[one] = _neighbors(one, curves, nodes, members, 4.0 * join_m)
            if other not in near[one]:
                gaps.append((a, b, distance))
                used.update((one, other) if both_free else (one,))
    # a third free end beside two that were joined
    for distance, a, b in pairs:
        if a in free and b in free and (a in used) != (b in used):
            one, other = (b, a) if a in used else (a, b)
            if other not in near.setdefault(
                one, _neighbors(one, curves, nodes, members, 4.0 * join_m)
            ):
                gaps.append((a, b, distance))
                used.add(one)
    return gaps


def gap_findings(
    gaps: list[tuple[int, int, float]],
    members: dict[int, list[int]],
    ends: list[Vector],
    curves: Sequence[DrawnCurve],
    join_m: float,
    text: UnitText,
) -> list[Finding]:
    """Say which gaps were bridged, the widest first.

    Parameters
    ----------
    gaps : list of (int, int, float)
        What `find_gaps` returned: two nodes, and how far apart they are. [m]
    members : dict of int to list of int
        The ends at each node, two a curve.
    ends : list of (3,) float
        Where each end stands. [m]
    curves : sequence of DrawnCurve
        The curves they are ends of.
    join_m : float
        What is bridged as people are told. [m]
    text : UnitText
        How lengths and places are written.
    """
    if not gaps:
        return []
    widest = sorted(gaps, key=lambda gap: -gap[2])
    places = [
        f"{text.length(gap)} at {text.place(ends[members[a][0]])} between "
        f"{curves[members[a][0] // 2].where} and {curves[members[b][0] // 2].where}"
        for a, b, gap in widest
    ]
    more = (
        ", more where one of two copies was left out"
        if widest[0][2] > joining_reach(join_m)
        else ""
    )
    message = (
        f"{len(gaps)} gap{'s' if len(gaps) > 1 else ''} bridged, the widest "
        f"{text.length(widest[0][2])} (up to {text.length(join_m)} is bridged{more})"
    )
    return [Finding("gap-bridged", Severity.NOTE, message, place_list(places))]


def _face(
    curves: Sequence[DrawnCurve], members: dict[int, list[int]], one: int, other: int
) -> bool:
    """Whether curves that end at two nodes go on into each other, not side by side."""
    return any(
        dot(_way_out(curves, a), _way_out(curves, b)) < _SIDE_BY_SIDE
        for a in members[one]
        for b in members[other]
    )


def _way_out(curves: Sequence[DrawnCurve], end: int) -> Vector:
    """Direction in which a curve would go on past its start (even) or its end (odd)."""
    edges = curves[end // 2].edges
    if end % 2:
        return edges[-1].segment.end_tangent
    x, y, z = edges[0].segment.start_tangent
    return (-x, -y, -z)


def _neighbors(
    node: int,
    curves: Sequence[DrawnCurve],
    nodes: list[int],
    members: dict[int, list[int]],
    within_m: float,
) -> set[int]:
    """Nodes reached along the chain from a free end within a distance: no gaps lead there."""
    reached = {node}
    length, at = 0.0, node
    came = -1
    while length <= within_m:
        onward = [end for end in members[at] if end // 2 != came]
        if len(onward) != 1:
            break
        came = onward[0] // 2
        length += curves[came].length_m
        at = nodes[onward[0] ^ 1]
        if at in reached or length > within_m:
            break
        reached.add(at)
    return reached
