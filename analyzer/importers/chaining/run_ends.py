"""Where one run ends and another begins although their ends meet: at a panel or equipment.

Home runs are often drawn from the insertion point or the middle of their panel. Conductors end
there (common practice), so two ends that meet there belong to two runs. What only bends or is
drawn in pieces there is one run: an arc that goes on from the line beside it, and pieces that end
in the symbol. So is what meets elsewhere in it: raceway that passes or drops along a panel.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import cos, dist, radians

import numpy as np

from analyzer.findings import Finding, Severity
from analyzer.geometry.segments import Arc, Straight, Vector, dot
from analyzer.importers.chaining.chains import Box, joining_reach
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.told_places import UnitText

__all__ = ["met_run_ends", "run_end_finding"]

_TANGENT = cos(radians(5.0))  # what turns off less goes on from what is beside it


def met_run_ends(
    curves: Sequence[DrawnCurve],
    nodes: Sequence[int],
    sources: Sequence[Box],
    join_m: float,
    snap_m: float,
) -> dict[int, Box]:
    """Return the nodes at which two runs end, with the panel or equipment that stands there.

    Parameters
    ----------
    curves : sequence of DrawnCurve
        All curves.
    nodes : sequence of int
        Node of every end: start of curve i at 2 i, its end at 2 i + 1.
    sources : sequence of Box
        Panels and equipment. What touches the symbol of one is drawn up to it.
    join_m : float
        How near touches. [m]
    snap_m : float
        How near a free end must be to end there. [m]
    """
    if not curves or not sources:
        return {}
    members: dict[int, list[int]] = defaultdict(list)
    for end, node in enumerate(nodes):
        members[node].append(end)
    points = np.array([p for curve in curves for p in (curve.start_m, curve.end_m)])
    reach_m = joining_reach(join_m)
    widest_m = max(reach_m, snap_m)
    found: dict[int, Box] = {}
    for source in sources:
        low, high = np.array(source.low_m) - widest_m, np.array(source.high_m) + widest_m
        inside = np.flatnonzero(np.all((points >= low) & (points <= high), axis=1)).tolist()
        here = {
            nodes[end]
            for end in inside
            if source.away_m(_place(curves, end))
            <= (widest_m if len(members[nodes[end]]) == 1 else reach_m)
        }
        for stretch in _stretches(here, nodes, members):
            met = _passed_at(stretch, here, curves, nodes, members, source, reach_m)
            if met is not None:
                found.setdefault(met, source)
    return found


def _stretches(
    here: set[int], nodes: Sequence[int], members: Mapping[int, Sequence[int]]
) -> list[set[int]]:
    """Group the nodes at a source: those that curves wholly at it lead from one to another."""
    left, found = set(here), []
    while left:
        stretch, ahead = set(), [min(left)]
        while ahead:
            node = ahead.pop()
            if node in stretch:
                continue
            stretch.add(node)
            ahead += [far for end in members[node] if (far := nodes[end ^ 1]) in here]
        left -= stretch
        found.append(stretch)
    return found


def _passed_at(
    stretch: set[int],
    here: set[int],
    curves: Sequence[DrawnCurve],
    nodes: Sequence[int],
    members: Mapping[int, Sequence[int]],
    source: Box,
    reach_m: float,
) -> int | None:
    """Return where to end both runs that reach a source and meet there; None where one ends.

    Of several places it is the nearest to where the symbol is inserted, else to its middle.
    """
    if any(len(members[node]) != 2 for node in stretch):
        return None
    if not any(nodes[end ^ 1] not in here for node in stretch for end in members[node]):
        return None
    places = []
    for node in stretch:
        one, other = members[node]
        if not _goes_on(curves, one, other, source, reach_m):
            place, point = _place(curves, one), source.point_m
            away_m = source.middle_away_m(place) if point is None else dist(place, point)
            places.append((round(away_m, 9), node))
    return min(places)[1] if places else None


def _goes_on(
    curves: Sequence[DrawnCurve], one: int, other: int, source: Box, reach_m: float
) -> bool:
    """Whether two ends are the middle of one run: not at the point of a source, or an arc there."""
    place = _place(curves, one)
    is_at_point = source.point_m is not None and dist(place, source.point_m) <= reach_m
    if not is_at_point and source.middle_away_m(place) > reach_m:
        return True
    (way, is_arc), (other_way, is_other_arc) = _outward(curves, one), _outward(curves, other)
    return (is_arc or is_other_arc) and dot(way, other_way) < -_TANGENT


def _outward(curves: Sequence[DrawnCurve], end: int) -> tuple[Vector, bool]:
    """Direction in which a curve goes on past its start or end, and whether an arc ends there."""
    edges = curves[end // 2].edges
    segment: Straight | Arc = edges[-1 if end % 2 else 0].segment
    if end % 2:
        return segment.end_tangent, isinstance(segment, Arc)
    x, y, z = segment.start_tangent
    return (-x, -y, -z), isinstance(segment, Arc)


def _place(curves: Sequence[DrawnCurve], end: int) -> Vector:
    curve = curves[end // 2]
    return curve.end_m if end % 2 else curve.start_m


def run_end_finding(
    meeting: Sequence[int], curves: Sequence[DrawnCurve], source: Box, text: UnitText
) -> Finding:
    """Say that two runs end at a panel or equipment where they meet.

    Parameters
    ----------
    meeting : sequence of int
        The two ends that meet: start of curve i is 2 i, its end 2 i + 1.
    curves : sequence of DrawnCurve
        All curves.
    source : Box
        The panel or equipment.
    text : UnitText
        How the place is written.
    """
    message = (
        f"2 pieces meet at {text.place(_place(curves, meeting[0]))}, at {source.name}, where "
        "conductors end: each is a run of its own that ends there. If conductors go on there, "
        f'add a [[fittings]] with name = "{source.name}" and its passage, or with the kind of a box'
    )
    where = "; ".join(curves[end // 2].where for end in meeting)
    return Finding("branch", Severity.NOTE, message, where)
