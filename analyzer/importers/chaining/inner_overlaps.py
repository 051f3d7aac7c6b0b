"""Curves that lie on each other between their ends: two polylines with a stretch in common.

Neither has an end there, but whatever they share begins and stops at a vertex of one of them. So
the inner vertices are looked up along the edges of the others. Such curves are told, and both kept.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from analyzer.findings import Finding
from analyzer.importers.chaining.curve_touches import CurveTouches
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.chaining.kept_overlaps import kept_overlap, kept_overlap_finding
from analyzer.importers.chaining.shared_stretches import SAME_M, may_overlap, shared_stretch
from analyzer.importers.edge_touches import edge_touches
from analyzer.importers.near_points import Integers
from analyzer.importers.told_places import UnitText

__all__ = ["inner_overlaps"]

_SHORTEST = 4.0
"""Times they are apart that edges must have in common, and times the reach that curves must."""


def inner_overlaps(
    current: Sequence[DrawnCurve | None],
    touching: CurveTouches,
    told: Collection[tuple[int, int]],
    within_m: float,
    text: UnitText,
) -> list[Finding]:
    """Return a caution for each pair of curves that share a stretch between their ends.

    Parameters
    ----------
    current : sequence of DrawnCurve or None
        The curves `touching` is of, as they are now; None for one that was left out.
    touching : CurveTouches
        All their edges.
    told : collection of (int, int)
        Pairs, lower place first, of which it is told already.
    within_m : float
        How far beside each other they may be drawn. [m]
    text : UnitText
        How lengths and places are written.
    """
    done = set(told)
    findings = []
    for a, cover_edge, b, lying_edge in _candidates(touching, within_m):
        pair = (min(a, b), max(a, b))
        one, other = current[pair[0]], current[pair[1]]
        if pair in done or one is None or other is None:
            continue
        cover, lying = (one, other) if a == pair[0] else (other, one)
        if cover_edge >= len(cover.edges):
            continue
        segment = cover.edges[cover_edge].segment
        stretch = shared_stretch(segment, [lying.edges[lying_edge]], within_m)
        if stretch is None or stretch.length_m <= max(_SHORTEST * stretch.away_m, 10.0 * SAME_M):
            continue
        done.add(pair)
        overlap = kept_overlap(one, other, within_m)
        # short chords of curves that cross lie along each other for a moment
        if overlap is not None and (
            overlap.away_m <= SAME_M or overlap.length_m > _SHORTEST * within_m
        ):
            findings.append(kept_overlap_finding(overlap, text))
    return findings


def _candidates(touching: CurveTouches, within_m: float) -> list[tuple[int, int, int, int]]:
    """Covering curve, its edge, lying curve, its edge: for each inner vertex on another's edge."""
    edges, firsts, owner = touching.edges, touching.firsts, touching.owner
    is_first = np.zeros(len(owner), dtype=bool)
    is_first[firsts] = True
    after = np.flatnonzero(~is_first)
    if not len(after):
        return []
    for radius_m in (within_m, SAME_M):
        touches = edge_touches(edges, edges.starts[after], radius_m)
        if touches is not None:
            break
    else:
        return []
    touches = touches.only(owner[touches.edge] != owner[after[touches.point]])
    cover: Integers = np.tile(touches.edge, 2)
    lying: Integers = np.concatenate([after[touches.point], after[touches.point] - 1])
    alike = may_overlap(edges, cover, lying, within_m)
    cover, lying = cover[alike], lying[alike]
    a, b = owner[cover], owner[lying]
    rows = np.column_stack([a, cover - firsts[a], b, lying - firsts[b]])
    return [(int(i), int(j), int(k), int(m)) for i, j, k, m in rows]
