"""Curves left out by layer or visibility that go from the end of one run to that of another.

A stick of raceway on a frozen layer, or on one that no pattern names, makes two runs of one. What
is left out and joins two ends, alone or end to end with more of it, is told; where it branches
nobody knows which way a run would go on, as in walls and grids of a plan, and nothing is said.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.geometry.vectors import times
from analyzer.importers.chaining.chains import Box, Chain, chain_ends, joining_reach
from analyzer.importers.drawings.edges import piece_points
from analyzer.importers.drawings.entities import read_entity
from analyzer.importers.drawings.pieces import Piece
from analyzer.importers.drawings.placements import Placement
from analyzer.importers.drawings.whole_entities import is_place
from analyzer.importers.near_points import coincident_groups
from analyzer.importers.told_places import UnitText, place_list
from analyzer.units import LengthUnit

__all__ = ["INVISIBLE", "NOT_NAMED", "LeftOutCurve", "left_out_between", "left_out_curve"]

INVISIBLE = "set invisible"
"""Reason why an entity was left out that no layer setting brings back."""

NOT_NAMED = "on a layer no pattern names"
"""Reason why an entity was left out that the layer patterns of the job bring back."""


@dataclass(frozen=True, slots=True)
class LeftOutCurve:
    """An open curve that was left out, and why, in drawing units.

    `layout` is the paper space layout it stands in; empty in model space. `pieces` are what it
    draws.
    """

    kind: str
    layer: str
    handle: str
    reason: str
    start: Vector
    end: Vector
    layout: str = ""
    pieces: tuple[Piece, ...] = ()

    @property
    def where(self) -> str:
        """Layer, entity type and handle."""
        return f"layer {self.layer}, {self.kind} {self.handle}"


def left_out_curve(
    entity: Any, placement: Placement, layer: str, handle: str, reason: str, layout: str
) -> LeftOutCurve | None:
    """Return where an entity goes that was left out; None where it is closed or cannot be read.

    Parameters
    ----------
    entity : ezdxf entity
        Of a type in `CURVE_ENTITIES`.
    placement : Placement
        Of the block it stands in.
    layer, handle : str
        Layer it counts for, and what a message should point at.
    reason : str
        Why it was left out, as it follows on "1 entity".
    layout : str
        Paper space layout it stands in; empty in model space.
    """
    try:
        drawn = read_entity(entity, placement, layer, handle)
        if drawn is None or drawn.is_closed or not drawn.pieces:
            return None
        first, last = (piece_points(drawn.pieces[at], 1) for at in (0, -1))
    except Exception:  # what is left out may be damaged in any way: that stops nothing
        return None
    if not (is_place(first[0]) and is_place(last[-1])):
        return None
    return LeftOutCurve(
        drawn.kind, layer, handle, reason, first[0], last[-1], layout, tuple(drawn.pieces)
    )


def left_out_between(
    curves: Sequence[LeftOutCurve],
    chains: Sequence[Chain],
    fittings: Sequence[Box],
    join_m: float,
    snap_m: float,
    unit: LengthUnit,
) -> list[Finding]:
    """Return cautions on what was left out and joins the ends of two runs.

    Not where both ends are at fittings: there runs end for a reason. Nor where a run that was
    read joins the same two places already.

    Parameters
    ----------
    curves : sequence of LeftOutCurve
        In drawing units.
    chains : sequence of Chain
        The runs. [m]
    fittings : sequence of Box
        Fittings of any kind. [m]
    join_m, snap_m : float
        Largest gap that is bridged, and how near to a fitting an end belongs to it. [m]
    unit : LengthUnit
        Unit of the drawing.
    """
    factor, text = float(unit.factor), UnitText(unit)
    reach_m = joining_reach(join_m)
    by_layout: dict[str, list[LeftOutCurve]] = defaultdict(list)
    for curve in curves:
        by_layout[curve.layout].append(curve)
    findings = []
    for layout, left_out in by_layout.items():
        runs = [chain for chain in chains if chain.layout == layout]
        tips = [tip for run in runs for tip in chain_ends(run)]
        if len(runs) < 2:
            continue
        ends = [times(end, factor) for curve in left_out for end in (curve.start, curve.end)]
        nodes = coincident_groups(np.array([*tips, *ends]), reach_m).tolist()
        at_node: dict[int, list[int]] = defaultdict(list)
        for tip in range(len(tips)):
            at_node[nodes[tip]].append(tip)
        stops = [box for box in fittings if box.layout in (None, layout)]
        for first, last, path in _joining(nodes[len(tips) :], at_node):
            one, other = at_node[first], at_node[last]
            if {tip // 2 for tip in one} & {tip // 2 for tip in other}:
                continue
            places = tips[one[0]], tips[other[0]]
            if all(any(stop.holds_end(at, snap_m) for stop in stops) for at in places):
                continue
            message = (
                f"{_named([left_out[i] for i in path])}, between {_end_of(runs[one[0] // 2])} at "
                f"{text.place(places[0])} and {_end_of(runs[other[0] // 2])} at "
                f"{text.place(places[1])}. {_advice([left_out[i] for i in path])}"
            )
            concern = Concern(boxes_m=tuple((at, at) for at in places), reach_m=reach_m)
            where = place_list([left_out[i].where for i in path])
            findings.append(
                Finding("entity-may-be-route", Severity.CAUTION, message, where, concern)
            )
    return findings


def _joining(
    nodes: Sequence[int], at_node: dict[int, list[int]]
) -> Iterator[tuple[int, int, list[int]]]:
    """Yield which nodes with ends of runs are joined by curves, and by which, each once.

    Curve i goes from node 2 i to node 2 i + 1 of the list.
    """
    onward: dict[int, dict[int, int]] = defaultdict(dict)
    for index, (start, end) in enumerate(zip(nodes[::2], nodes[1::2], strict=True)):
        if start != end:
            onward[start].setdefault(end, index)
            onward[end].setdefault(start, index)
    for first in at_node:
        for node, index in onward.get(first, {}).items():
            before, at, path = first, node, [index]
            while at not in at_node and len(onward[at]) == 2:
                before, at = at, next(other for other in onward[at] if other != before)
                path.append(onward[before][at])
            if at in at_node and first < at:
                yield first, at, path


def _named(path: Sequence[LeftOutCurve]) -> str:
    """Name what was left out, and say why."""
    if len(path) == 1:
        curve = path[0]
        article = "an" if curve.kind[0] in "AE" else "a"
        return f"{article} {curve.kind} {curve.reason} ({curve.layer}) was left out"
    reasons: Counter[str] = Counter(f"{curve.reason} ({curve.layer})" for curve in path)
    return f"{len(path)} pieces end to end, {' and '.join(reasons)}, were left out"


def _end_of(run: Chain) -> str:
    return f"the end of {run.told}"


def _advice(path: Sequence[LeftOutCurve]) -> str:
    """Say what brings back what was left out."""
    one = len(path) == 1
    layers = list(dict.fromkeys(c.layer for c in path if c.reason != INVISIBLE))
    ways = []
    if any(curve.reason == INVISIBLE for curve in path):
        ways.append(f"make {'it' if one else 'what is invisible'} visible in the drawing program")
    if layers:
        ways.append(f"name {place_list(layers)} beside the other layers under [drawing] layers")
    return f"If {'it carries' if one else 'they carry'} the run on, {' and '.join(ways)}"
