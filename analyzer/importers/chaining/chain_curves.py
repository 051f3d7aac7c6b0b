"""Loose curves joined end to end: paths, gaps, branches, loops and stray bits.

Ends within a micrometer are one end. Free ends within the joining distance (and as much more as
a copy lay off that was left out for them) are joined and
reported: a line's end is moved, or two lines are carried on to where they meet; an arc is kept
as drawn unless arcs meet arcs. Three ends at one place split the run, because nobody but the
designer knows which way the conductors go. Ends at the two sides of a box are joined through it;
two ends that meet at a panel or equipment stay two runs.
"""

from __future__ import annotations

import gc
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence, Set
from contextlib import contextmanager
from dataclasses import dataclass, replace

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.linked_groups import root_of
from analyzer.geometry.segments import Vector
from analyzer.importers.chaining.box_gaps import through_boxes
from analyzer.importers.chaining.bridged_gaps import find_gaps, gap_findings
from analyzer.importers.chaining.chains import Box, Chain, Chains, joining_reach
from analyzer.importers.chaining.closed_loops import loop_findings
from analyzer.importers.chaining.curve_touches import curve_touches
from analyzer.importers.chaining.drawn_curves import DrawnCurve, distance_m
from analyzer.importers.chaining.joints import closed_chain, open_path
from analyzer.importers.chaining.kept_overlaps import KeptOverlap
from analyzer.importers.chaining.loose_ends import near_miss_findings, without_strays
from analyzer.importers.chaining.overlaps import (
    without_duplicates,
    without_overlaps,
)
from analyzer.importers.chaining.run_ends import met_run_ends, run_end_finding
from analyzer.importers.chaining.shared_stretches import SAME_M
from analyzer.importers.chaining.standing import Standing, loop_boxes
from analyzer.importers.chaining.tees import tee_findings
from analyzer.importers.chaining.twins import twin_reach, without_twins
from analyzer.importers.near_points import COINCIDENT_M, coincident_groups
from analyzer.importers.told_places import UnitText
from analyzer.units import LengthUnit

__all__ = ["chain_curves", "duplicate_findings"]


def chain_curves(
    curves: Sequence[DrawnCurve],
    join_m: float,
    snap_m: float,
    boxes: Sequence[Box] = (),
    unit: LengthUnit = LengthUnit.METER,
    *,
    stops: Sequence[Box] = (),
    sources: Sequence[Box] = (),
    symbols: Sequence[Box] = (),
    names_of: Callable[[Sequence[Chain]], Sequence[str]] | None = None,
) -> Chains:
    """Join curves end to end.

    Parameters
    ----------
    curves : sequence of DrawnCurve
        In file order.
    join_m : float
        Largest gap that is bridged. [m]
    snap_m : float
        How near an end must be to a box to belong to it. [m]
    boxes : sequence of Box
        Fittings that conductors pass.
    unit : LengthUnit
        Unit of the drawing, for lengths and places in messages.
    stops : sequence of Box
        Fittings of any kind, panels and equipment too, where runs may end.
    sources : sequence of Box
        Panels and equipment that conductors end at: two ends that meet there are not joined.
    symbols : sequence of Box
        What is drawn as a fitting; the name is what to say of one that stands in a gap.
    names_of : callable, optional
        Gives the names of the runs, for messages about their ends.

    Returns
    -------
    Chains
        Time grows about in step with the number of curves.
    """
    with _collection_paused():
        standing = Standing(tuple(boxes), (*boxes, *stops), (), tuple(symbols), tuple(sources))
        return _chained(curves, join_m, snap_m, standing, UnitText(unit), names_of)


@contextmanager
def _collection_paused() -> Iterator[None]:
    """Leave garbage for later: what is made here stays, and looking it through takes long."""
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


@dataclass(frozen=True, slots=True)
class _Joined:
    """What one layout holds once its curves are joined, and what stands there."""

    chains: list[Chain]
    loops: list[tuple[DrawnCurve, ...]]
    strays: list[Chain]
    overlaps: list[KeptOverlap]
    standing: Standing
    findings: list[Finding]


def _chained(
    curves: Sequence[DrawnCurve],
    join_m: float,
    snap_m: float,
    standing: Standing,
    text: UnitText,
    names_of: Callable[[Sequence[Chain]], Sequence[str]] | None,
) -> Chains:
    """Chain each layout by itself: coordinates of two of them have nothing in common."""
    by_layout = _by_layout(curves)
    layouts = [
        _joined(drawn, join_m, snap_m, standing.in_layout(name), text)
        for name, drawn in by_layout.items()
    ]
    kept = [chain for one in layouts for chain in one.chains]
    findings = [finding for one in layouts for finding in one.findings]
    if names_of is not None:
        names = names_of(kept)
        kept = [replace(chain, name=name) for chain, name in zip(kept, names, strict=True)]
    for name, one in zip(by_layout, layouts, strict=True):
        chains = [chain for chain in kept if chain.layout == name]
        boxes = one.standing.boxes
        findings += loop_findings(one.loops, chains, join_m, snap_m, boxes, text)
        findings += tee_findings(chains, one.overlaps, (join_m, snap_m), boxes, text)
        findings += near_miss_findings(chains, join_m, snap_m, one.standing, text)
    return Chains(
        tuple(kept),
        tuple(loop for one in layouts for loop in one.loops),
        tuple(stray for one in layouts for stray in one.strays),
        tuple(findings),
    )


def _joined(
    curves: Sequence[DrawnCurve], join_m: float, snap_m: float, standing: Standing, text: UnitText
) -> _Joined:
    boxes = standing.boxes
    findings: list[Finding] = []
    loops: list[tuple[DrawnCurve, ...]] = [(c,) for c in curves if _closes(c)]
    loose, more = without_duplicates([c for c in curves if not _closes(c)])
    findings += more
    reach_m = twin_reach(join_m)
    touching = curve_touches(loose, reach_m, SAME_M)
    single, more = without_twins(loose, touching, reach_m, text)
    findings += more
    if more:
        touching = curve_touches(single, reach_m, SAME_M)
    loose, overlaps, more = without_overlaps(single, touching, reach_m, text)
    findings += more
    nodes, ends, more = _nodes(loose, join_m, standing, snap_m, text)
    findings += more
    paths, rings = _walk(loose, nodes, ends)
    loops += [tuple(loose[i] for i in ring) for ring in rings]
    opened = [open_path(loose, path) for path in paths]
    opened, more = through_boxes(opened, boxes, join_m, snap_m, text)
    findings += more
    widest_m = join_m + 2.0 * max((curve.loose_m for curve in loose), default=0.0)
    closed = [closed_chain(path, widest_m, text) for path in opened]
    chains = [chain for chain, _ in closed]
    findings += [one for _, more in closed for one in more]
    kept, strays, more = without_strays(chains, snap_m, text)
    findings += more
    standing = replace(standing, loops=loop_boxes(loops))
    return _Joined(kept, loops, strays, overlaps, standing, findings)


def duplicate_findings(curves: Sequence[DrawnCurve]) -> list[Finding]:
    """List the curves that lie exactly on others and would be left out."""
    loose = [curve for curve in curves if not _closes(curve)]
    found = [without_duplicates(drawn)[1] for drawn in _by_layout(loose).values()]
    return [finding for findings in found for finding in findings]


def _by_layout(curves: Sequence[DrawnCurve]) -> dict[str, list[DrawnCurve]]:
    by_layout: dict[str, list[DrawnCurve]] = defaultdict(list)
    for curve in curves:
        by_layout[curve.layout].append(curve)
    return by_layout


def _closes(curve: DrawnCurve) -> bool:
    return curve.is_closed or distance_m(curve.start_m, curve.end_m) <= COINCIDENT_M


def _nodes(
    curves: Sequence[DrawnCurve], join_m: float, standing: Standing, snap_m: float, text: UnitText
) -> tuple[list[int], frozenset[int], list[Finding]]:
    """Give every end a node: start of curve i at 2 i, its end at 2 i + 1.

    Returned too are the nodes where two runs end, at a panel or equipment.
    """
    if not curves:
        return [], frozenset(), []
    ends: list[Vector] = [p for curve in curves for p in (curve.start_m, curve.end_m)]
    points = np.array(ends)
    nodes = [int(n) for n in coincident_groups(points, COINCIDENT_M)]
    members: dict[int, list[int]] = defaultdict(list)
    for end, node in enumerate(nodes):
        members[node].append(end)
    gaps = find_gaps(curves, nodes, members, points, joining_reach(join_m))
    parent = list(range(len(members)))
    for a, b, _ in gaps:
        parent[root_of(max(a, b), parent)] = root_of(min(a, b), parent)
    nodes = [root_of(node, parent) for node in nodes]
    joined: dict[int, list[int]] = defaultdict(list)
    for end, node in enumerate(nodes):
        joined[node].append(end)
    met = met_run_ends(curves, nodes, standing.sources, join_m, snap_m)
    gaps = [gap for gap in gaps if root_of(gap[0], parent) not in met]
    findings = gap_findings(gaps, members, ends, curves, join_m, text)
    for node, meeting in joined.items():
        if node in met:
            findings.append(run_end_finding(meeting, curves, met[node], text))
        elif len(meeting) > 2:
            findings.append(_branch(meeting, ends, curves, standing, snap_m, text))
    return nodes, frozenset(met), findings


def _branch(
    meeting: list[int],
    ends: list[Vector],
    curves: Sequence[DrawnCurve],
    standing: Standing,
    snap_m: float,
    text: UnitText,
) -> Finding:
    at = ends[meeting[0]]
    where = "; ".join(curves[end // 2].where for end in meeting[:6])
    stop = standing.stop_at(at, snap_m)
    start = f"{len(meeting)} pieces meet at {text.place(at)}"
    if stop is not None:
        message = f"{start}, at {stop.name}: each is a run of its own that ends there"
        return Finding("branch", Severity.NOTE, message, where)
    message = (
        f"{start}: the run is split there, because the drawing does not say which way the "
        "conductors go. Put a fitting there, or draw the branch on another layer"
    )
    concern = Concern(entities=tuple(curves[end // 2].handle for end in meeting))
    return Finding("branch", Severity.CAUTION, message, where, concern)


def _walk(
    curves: Sequence[DrawnCurve], nodes: list[int], ends: Set[int]
) -> tuple[list[list[tuple[int, bool]]], list[list[int]]]:
    """Return paths as (curve, traveled forward), and rings as curves.

    Nothing goes on past a node where runs end.
    """
    members: dict[int, list[int]] = defaultdict(list)
    for end, node in enumerate(nodes):
        members[node].append(end)
    done = [False] * len(curves)
    paths, rings = [], []
    for index in range(len(curves)):
        if done[index]:
            continue
        done[index] = True
        forward = _follow(2 * index + 1, nodes, members, ends, done)
        last = forward[-1] if forward else 2 * index
        closes = nodes[last ^ 1] == nodes[2 * index] and len(members[nodes[2 * index]]) == 2
        if closes:
            rings.append([index, *(end // 2 for end in forward)])
            continue
        backward = _follow(2 * index, nodes, members, ends, done)
        path = [(end // 2, end % 2 == 1) for end in reversed(backward)]
        path.append((index, True))
        path += [(end // 2, end % 2 == 0) for end in forward]
        (first, way_in), (final, way_out) = path[0], path[-1]
        if nodes[2 * first + (not way_in)] == nodes[2 * final + way_out]:
            rings.append([step[0] for step in path])  # a loop that hangs on a branch
        else:
            paths.append(path)
    return paths, rings


def _follow(
    end: int, nodes: list[int], members: dict[int, list[int]], ends: Set[int], done: list[bool]
) -> list[int]:
    """Return the ends by which further curves are entered, from the given end on."""
    entered = []
    while nodes[end] not in ends and len(meeting := members[nodes[end]]) == 2:
        onward = meeting[0] if meeting[1] == end else meeting[1]
        if done[onward // 2]:
            break
        done[onward // 2] = True
        entered.append(onward)
        end = onward ^ 1
    return entered
