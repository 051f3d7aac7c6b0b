"""Ends that touch the middle of a run, and ends that point at one and just miss it."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians

import numpy as np

from analyzer.findings import EVERY_RUN, Concern, Finding, Severity
from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.chaining.chains import Box, Chain, chain_ends, joining_reach
from analyzer.importers.chaining.kept_overlaps import KeptOverlap
from analyzer.importers.chaining.overlaps import told_in_part
from analyzer.importers.edge_touches import (
    EdgeArrays,
    EdgeTouches,
    edge_arrays,
    edge_touches,
)
from analyzer.importers.near_points import Integers, sorted_once
from analyzer.importers.told_places import UnitText

__all__ = ["tee_findings"]

_END_ON = cos(radians(30.0))  # an end that points farther past a run lies beside it
_MOST_MISSES = 20  # ends that miss a run are told one by one


def tee_findings(
    chains: Sequence[Chain],
    overlaps: Sequence[KeptOverlap],
    distances_m: tuple[float, float],
    boxes: Sequence[Box],
    text: UnitText,
) -> list[Finding]:
    """List ends that touch a run between its ends, and ends that stop just short of one.

    Parameters
    ----------
    chains : sequence of Chain
        Runs.
    overlaps : sequence of KeptOverlap
        Curves that lie on each other in part: their ends are no branches.
    distances_m : two float
        How near an end touches, and how near one that points at a run may be meant to. [m]
    boxes : sequence of Box
        Fittings that conductors pass: an end at one stops there.
    text : UnitText
        How lengths and places are written.
    """
    if not chains:
        return []
    join_m, snap_m = distances_m
    owner = np.repeat(np.arange(len(chains)), [len(chain.path.edges) for chain in chains])
    edges = edge_arrays([edge.segment for chain in chains for edge in chain.path.edges])
    places = np.array([p for chain in chains for p in chain_ends(chain)])
    near = edge_touches(edges, places, max(snap_m, join_m))
    touches = near or edge_touches(edges, places, join_m)
    if touches is None:
        dense = "the drawing is so dense that ends touching the middle of a run were not looked for"
        return [Finding("tee-not-checked", Severity.CAUTION, dense, "", EVERY_RUN)]
    touching = touches.only(touches.away_m <= join_m)
    findings = _touching(chains, overlaps, owner, places, touching, distances_m, boxes, text)
    if near is None or snap_m <= join_m:
        return findings
    taken = sorted_once(touching.point[owner[touching.edge] != touching.point // 2])
    away = near.away_m > joining_reach(join_m)
    missing = near.only(away & (owner[near.edge] != near.point // 2) & ~np.isin(near.point, taken))
    return findings + _missing(chains, owner, edges, places, missing, distances_m, boxes, text)


def _touching(
    chains: Sequence[Chain],
    overlaps: Sequence[KeptOverlap],
    owner: Integers,
    places: Floats,
    touches: EdgeTouches,
    distances_m: tuple[float, float],
    boxes: Sequence[Box],
    text: UnitText,
) -> list[Finding]:
    """List ends that touch a run between its ends; at a box they are branches that end there."""
    join_m, snap_m = distances_m
    run_of = owner[touches.edge]
    ends = places.reshape(-1, 2, 3)[run_of]
    away = np.linalg.norm(ends - places[touches.point][:, None], axis=2).min(axis=1)
    inner = away > 2.0 * join_m
    findings = []
    pairs = zip(run_of[inner], touches.point[inner], strict=True)
    for run_index, point in dict.fromkeys((int(run), int(point)) for run, point in pairs):
        run, branch = chains[run_index], chains[point // 2]
        if any(overlap.explains(run.curves, branch.curves) for overlap in overlaps):
            continue
        itself = "the same run" if branch is run else run.told
        where = f"{branch.path.where}; touches {run.path.where}"
        place = _vector(places[point])
        at = text.place(place)
        box = next((box for box in boxes if box.holds_middle(place, snap_m)), None)
        if box is not None:
            message = (
                f"an end{_of(branch)} touches the middle of {itself} at {at}, at {box.name}: a "
                "branch that ends at that fitting"
            )
            findings.append(Finding("branch-tee", Severity.NOTE, message, where))
            continue
        message = (
            f"an end{_of(branch)} touches the middle of {itself} at "
            f"{at}: a branch. The run is read "
            "as going on past it; put a fitting there if conductors go both ways"
        )
        findings.append(Finding("branch-tee", Severity.CAUTION, message, where, _both(branch, run)))
    return findings


def _missing(
    chains: Sequence[Chain],
    owner: Integers,
    edges: EdgeArrays,
    places: Floats,
    near: EdgeTouches,
    distances_m: tuple[float, float],
    boxes: Sequence[Box],
    text: UnitText,
) -> list[Finding]:
    """List ends that point at a run between its ends and stop short of it, or go just past it."""
    join_m, snap_m = distances_m
    feet = edges.points(near.edge, near.along_m / edges.lengths[near.edge])
    ways = np.array([way for chain in chains for way in _ways_out(chain)])
    ahead = ((feet - places[near.point]) * ways[near.point]).sum(axis=1)
    ends = places.reshape(-1, 2, 3)[owner[near.edge]]
    from_ends = np.linalg.norm(ends - feet[:, None], axis=2).min(axis=1)
    kept = np.flatnonzero((np.abs(ahead) >= _END_ON * near.away_m) & (from_ends > snap_m))
    told: dict[int, int] = {}
    for row in kept[np.argsort(near.away_m[kept], kind="stable")].tolist():
        told.setdefault(int(near.point[row]), row)
    findings = []
    for point, row in told.items():
        tip, branch = _vector(places[point]), chains[point // 2]
        if any(box.holds_end(tip, snap_m) for box in boxes):
            continue
        run = chains[int(owner[near.edge[row]])]
        how = "short of" if ahead[row] > 0.0 else "past"
        message = (
            f"an end{_of(branch)} stops {text.length(float(near.away_m[row]))} {how} the middle "
            f"of {run.told} at {text.place(tip)}: more than the {text.length(join_m)} that is "
            "bridged. If it branches off there, draw it up to the run and put a fitting there"
        )
        where = f"{branch.path.where}; at {run.path.where}"
        findings.append(Finding("tee-missed", Severity.CAUTION, message, where, _both(branch, run)))
    left = len(findings) - _MOST_MISSES
    if left <= 0:
        return findings
    message = f"{left} more end{'s' if left > 1 else ''} nearly touch the middle of a run"
    return told_in_part(findings, _MOST_MISSES, message)


def _both(branch: Chain, run: Chain) -> Concern:
    return Concern(entities=(branch.curves[0].handle, run.curves[0].handle))


def _of(chain: Chain) -> str:
    return f" of {chain.name}" if chain.name else ""


def _ways_out(chain: Chain) -> tuple[Vector, Vector]:
    """Directions in which a run would go on past its start and past its end."""
    x, y, z = chain.path.edges[0].segment.start_tangent
    return (-x, -y, -z), chain.path.edges[-1].segment.end_tangent


def _vector(row: Floats) -> Vector:
    x, y, z = row.tolist()
    return (x, y, z)
