"""Loose ends: loops, stray bits, ends that touch the middle of a run, gaps too wide to bridge."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from analyzer.findings import Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.importers.chains import Chain, UnitText, chain_ends
from analyzer.importers.drawn_curves import DrawnCurve, distance_m
from analyzer.importers.edge_touches import edge_touches
from analyzer.importers.near_points import near_pairs
from analyzer.importers.overlaps import listed

__all__ = ["loop_findings", "near_miss_findings", "tee_findings", "without_strays"]

STRAY_SHARE = 0.01
"""A separate bit is stray if shorter than this share of the longest path, and than the snap."""


def without_strays(
    chains: list[Chain], snap_m: float, text: UnitText
) -> tuple[list[Chain], list[Chain], list[Finding]]:
    """Set aside separate bits far shorter than the longest path."""
    if not chains:
        return [], [], []
    longest = max(chain.length_m for chain in chains)
    limit = min(snap_m, STRAY_SHARE * longest)
    kept = [chain for chain in chains if chain.length_m >= limit]
    strays = [chain for chain in chains if chain.length_m < limit]
    if not strays:
        return kept, strays, []
    places = [f"{c.path.where} ({text.length(c.length_m)} long)" for c in strays]
    message = (
        f"{len(strays)} stray bit{'s' if len(strays) > 1 else ''} shorter than "
        f"{text.length(limit)} left out; join or delete them"
    )
    return kept, strays, [Finding("stray-bit", Severity.CAUTION, message, listed(places))]


def loop_findings(loops: Sequence[tuple[DrawnCurve, ...]], text: UnitText) -> list[Finding]:
    """List closed curves and closed chains, which have no ends to pull from."""
    findings = []
    drawn: dict[str, list[DrawnCurve]] = defaultdict(list)
    for loop in loops:
        if len(loop) == 1:
            drawn[loop[0].layer].append(loop[0])
            continue
        length = sum(curve.length_m for curve in loop)
        message = (
            f"{len(loop)} pieces close on themselves ({text.length(length)} around): "
            "a loop has no ends and is no run. Open it where the pull starts"
        )
        where = listed([curve.where for curve in loop], 6)
        findings.append(Finding("closed-loop", Severity.CAUTION, message, where))
    for layer, curves in drawn.items():
        message = (
            f"{len(curves)} closed curve{'s' if len(curves) > 1 else ''} on layer {layer} "
            "left out: a loop has no ends and is no run"
        )
        where = listed([curve.where for curve in curves])
        findings.append(Finding("closed-loop", Severity.NOTE, message, where))
    return findings


def tee_findings(chains: Sequence[Chain], join_m: float, text: UnitText) -> list[Finding]:
    """List ends that touch a run between its ends."""
    segments, owner = [], []
    for i, chain in enumerate(chains):
        for edge in chain.path.edges:
            segments.append(edge.segment)
            owner.append(i)
    tips = [p for chain in chains for p in chain_ends(chain)]
    touches = edge_touches(segments, np.array(tips), join_m) if tips else []
    if touches is None:
        dense = "the drawing is so dense that ends touching the middle of a run were not looked for"
        return [Finding("tee-not-checked", Severity.CAUTION, dense, "")]
    findings = []
    seen: set[tuple[int, int]] = set()
    for touch in touches:
        run, tip = chains[owner[touch.edge]], tips[touch.point]
        if (owner[touch.edge], touch.point) in seen:
            continue
        if min(distance_m(tip, end) for end in chain_ends(run)) <= 2.0 * join_m:
            continue
        seen.add((owner[touch.edge], touch.point))
        branch = chains[touch.point // 2]
        itself = "the same run" if branch is run else "a run"
        message = (
            f"an end touches the middle of {itself} at {text.place(tip)}: a branch. "
            "The run is read as going on past it; put a fitting there if conductors go both ways"
        )
        where = f"{branch.path.where}; touches {run.path.where}"
        findings.append(Finding("branch-tee", Severity.CAUTION, message, where))
    return findings


def near_miss_findings(
    chains: Sequence[Chain], join_m: float, snap_m: float, text: UnitText
) -> list[Finding]:
    """List ends that face each other across a gap too wide to bridge."""
    if len(chains) < 2 or snap_m <= join_m:
        return []
    tips = np.array([p for chain in chains for p in chain_ends(chain)])
    ways: list[Vector] = []
    for chain in chains:
        t = chain.path.edges[0].segment.start_tangent
        ways += [(-t[0], -t[1], -t[2]), chain.path.edges[-1].segment.end_tangent]
    findings = []
    for i, j, gap in near_pairs(tips, snap_m):
        if i // 2 == j // 2 or gap <= join_m:
            continue
        d = (tips[j] - tips[i]) / gap
        facing = float(np.dot(d, ways[i])) > 0.7 and float(np.dot(d, ways[j])) < -0.7
        if facing:
            at = text.place((float(tips[i][0]), float(tips[i][1]), float(tips[i][2])))
            message = (
                f"two runs end {text.length(gap)} apart, facing each other, at {at}: "
                f"more than the {text.length(join_m)} that is bridged. If they are one run, draw "
                "the missing piece or a box"
            )
            where = f"{chains[i // 2].path.where}; {chains[j // 2].path.where}"
            findings.append(Finding("gap-not-bridged", Severity.CAUTION, message, where))
    return findings[:20]
