"""Lines joined over gaps, put in one line where nothing but the gaps makes them turn.

Where ends did not meet, their place is known only to the width of the gap. Of all lines within
that width the fewest are what was meant: a vertex goes where the lines beside it were drawn the
same way and one straight passes it, and both its own ends, within the gaps bridged there.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, radians

from analyzer.findings import Finding, Severity
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.segments import Straight, Vector, cross, dot, norm
from analyzer.geometry.vectors import minus
from analyzer.importers.told_places import UnitText, place_list

__all__ = ["JoinedGroup", "LeftVertex", "straightened", "straightened_finding"]

_ONE_WAY_RAD = radians(1.0)
"""Lines that were drawn turning more than this were meant to turn."""

_SLIGHT_RAD = radians(0.5)
"""An end that meets its neighbor turns no more than this where both are one line."""

_LONG = 10.0  # times the widest gap in it, that a line put straight is long at least
_FARTHEST = 200  # vertices ahead that are tried where the whole stretch is not straight


@dataclass(frozen=True, slots=True)
class JoinedGroup:
    """Edges that move as one, joined to those before them.

    Attributes
    ----------
    edges : list of DrawnEdge
        With their ends moved. [m]
    way : (3,) float or None
        Direction in which a line was drawn; None for what is no line, or only bridges a gap.
    gap_m : float
        Width of the gap bridged at its start; 0 where the ends met. [m]
    """

    edges: list[DrawnEdge]
    way: Vector | None
    gap_m: float


@dataclass(frozen=True, slots=True)
class LeftVertex:
    """A vertex left out: its place, how far the line passes it, the turn there. [m] [rad]"""

    place_m: Vector
    away_m: float
    turn_rad: float


def straightened(groups: Sequence[JoinedGroup]) -> tuple[list[JoinedGroup], list[LeftVertex]]:
    """Return the groups with lines in one where only gaps make them turn, and what was left out.

    Parameters
    ----------
    groups : sequence of JoinedGroup
        A path, joined end to end.
    """
    kept: list[JoinedGroup] = []
    left: list[LeftVertex] = []
    gaps = [k for k, group in enumerate(groups) if group.gap_m > 0.0]
    first = stop = 0
    while first < len(groups):
        if first == stop:
            stop += 1
            while stop < len(groups) and _is_line(groups[stop - 1]) and _is_line(groups[stop]):
                stop += 1
        ahead = bisect_right(gaps, first)
        is_bridged = ahead < len(gaps) and gaps[ahead] < stop
        last = _last_in_line(groups, first, stop) if is_bridged else first
        if last > first:
            start, end = _start(groups[first]), _end(groups[last])
            widest = max(group.gap_m for group in groups[first : last + 1])
            written = (
                groups[first].edges[0].written_ends[0],
                groups[last].edges[-1].written_ends[1],
            )
            edge = DrawnEdge(Straight(start, end), bridged_m=widest, written=written)
            kept.append(JoinedGroup([edge], edge.segment.start_tangent, groups[first].gap_m))
            left += [
                LeftVertex(_start(groups[k]), _away(groups, k, start, end), _turn(groups, k))
                for k in range(first + 1, last + 1)
            ]
        else:
            kept.append(groups[first])
        first = last + 1
    return kept, left


def straightened_finding(left: Sequence[LeftVertex], text: UnitText) -> list[Finding]:
    """Say what was put straight.

    Parameters
    ----------
    left : sequence of LeftVertex
        Of one path.
    text : UnitText
        How lengths and places are written.
    """
    turning = [one for one in left if one.away_m > 1e-9]
    if not turning:
        return []
    most = max(turning, key=lambda one: one.turn_rad)
    farthest = max(one.away_m for one in turning)
    message = (
        f"lines on both sides of {len(turning)} bridged gap{'s' if len(turning) > 1 else ''} are "
        "read as one straight, since nothing but the gap makes them turn (by up to "
        f"{degrees(most.turn_rad):.2g}°); it passes their ends by at most {text.length(farthest)}"
    )
    where = place_list([text.place(one.place_m) for one in turning], 6)
    return [Finding("gap-straightened", Severity.NOTE, message, where)]


def _is_line(group: JoinedGroup) -> bool:
    edge = group.edges[0]
    is_single = len(group.edges) == 1 and edge.curve < 0
    return is_single and edge.drawn_as is DrawnAs.LINE and isinstance(edge.segment, Straight)


def _start(group: JoinedGroup) -> Vector:
    return group.edges[0].segment.start_m


def _end(group: JoinedGroup) -> Vector:
    return group.edges[-1].segment.end_m


def _last_in_line(groups: Sequence[JoinedGroup], first: int, stop: int) -> int:
    """Last of the lines from the first on that are one; the first where it goes on alone.

    A gap is bridged somewhere among them.
    """
    way = next((groups[k].way for k in range(first, stop) if groups[k].way is not None), None)
    if way is None:
        return first
    end = first + 1
    while end < stop and _may_go(groups, end, way):
        end += 1
    tried: list[int] = [end - 1, *range(min(end - 2, first + _FARTHEST), first, -1)]
    for last in tried:
        if last > first and _is_one_line(groups, first, last):
            return last
    return first


def _may_go(groups: Sequence[JoinedGroup], index: int, way: Vector) -> bool:
    """Whether a line goes on the way of those before it, over a gap or hardly turning."""
    group, before = groups[index], groups[index - 1]
    if group.way is not None and angle_between(group.way, way) > _ONE_WAY_RAD:
        return False
    if group.gap_m > 0.0:
        return True
    if before.way is None or group.way is None:
        return False
    return angle_between(before.way, group.way) <= _SLIGHT_RAD


def _is_one_line(groups: Sequence[JoinedGroup], first: int, last: int) -> bool:
    """Whether a straight passes every vertex, its two ends too, within the gap bridged there."""
    start, end = _start(groups[first]), _end(groups[last])
    inner = range(first + 1, last + 1)
    widest = max(groups[k].gap_m for k in inner)
    size = norm(minus(end, start))
    if widest <= 0.0 or size < _LONG * widest:
        return False
    at_start = groups[first].gap_m
    at_end = groups[last + 1].gap_m if last + 1 < len(groups) else 0.0
    for k in inner:
        share = norm(minus(_start(groups[k]), start)) / size
        ends = (1.0 - share) * at_start + share * at_end
        if _away(groups, k, start, end) > (groups[k].gap_m or widest) + max(ends, 0.0):
            return False
    return True


def _away(groups: Sequence[JoinedGroup], index: int, start: Vector, end: Vector) -> float:
    """How far the straight between two places passes the vertex before a group. [m]"""
    along, arm = minus(end, start), minus(_start(groups[index]), start)
    if not 0.0 <= dot(along, arm) <= dot(along, along):
        return float("inf")
    return norm(cross(along, arm)) / norm(along)


def _turn(groups: Sequence[JoinedGroup], index: int) -> float:
    before, after = groups[index - 1].edges[-1].segment, groups[index].edges[0].segment
    return angle_between(before.end_tangent, after.start_tangent)
