"""Runs that stop on both sides of a box and go on behind it: boxes are often drawn as gaps."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import acos, degrees, radians

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.drawn import NOT_WRITTEN, DrawnEdge
from analyzer.geometry.segments import Straight, Vector, dot
from analyzer.importers.chaining.chains import Box, OpenPath, turned
from analyzer.importers.chaining.drawn_curves import distance_m
from analyzer.importers.chaining.joints import midpoint
from analyzer.importers.near_points import within_boxes
from analyzer.importers.told_places import UnitText, place_list
from analyzer.route.held_corners import OWN_REACH_M

__all__ = ["through_boxes"]

_MAX_TURN_IN_BOX = radians(100.0)  # beyond it two runs end side by side at the box


_End = tuple[int, int]
"""Index of a path as drawn, and its side: 0 where it starts, 1 where it ends."""


def through_boxes(
    paths: list[OpenPath], boxes: Sequence[Box], join_m: float, snap_m: float, text: UnitText
) -> tuple[list[OpenPath], list[Finding]]:
    """Join two paths that end at the two sides of a box.

    Parameters
    ----------
    paths : list of OpenPath
        All of one layout, joined where their ends meet.
    boxes : sequence of Box
        Fittings of that layout, asked one after the other.
    join_m : float
        How far apart ends may be to be one place. [m]
    snap_m : float
        How far from the symbol of a box an end may be to be at it. [m]
    text : UnitText
        How lengths and places are written.

    Returns
    -------
    list of OpenPath, list of Finding
        The paths, and a finding for each box that was passed or at which ends stay loose.
    """
    findings: list[Finding] = []
    if not boxes or not paths:
        return paths, findings
    joining = _Joining(paths, join_m, snap_m, text)
    for box in boxes:
        ends = joining.ends_at(box)
        if len(ends) > 2:
            findings += joining.told_of_many(box, ends)
        elif len(ends) == 2:
            findings += joining.told_of_two(box, ends[0], ends[1])
    return [
        turned(path) if len(path.curves) > 1 and path.end_m < path.start_m else path
        for path in joining.alive.values()
    ], findings


class _Joining:
    """Paths as drawn, and what they are joined to so far.

    `home` tells for each end that is not joined yet which path in `alive` it belongs to now.
    """

    def __init__(
        self, paths: Sequence[OpenPath], join_m: float, snap_m: float, text: UnitText
    ) -> None:
        self.paths, self.join_m, self.snap_m, self.text = paths, join_m, snap_m, text
        self.alive = dict(enumerate(paths))
        self.home: dict[_End, int] = {(i, side): i for i in self.alive for side in (0, 1)}
        self.tips_m = np.array([[path.start_m, path.end_m] for path in paths])  # (n, 2, 3)

    def ends_at(self, box: Box) -> list[_End]:
        """Return the ends at a box that are not joined yet."""
        is_near = within_boxes(self.tips_m, np.array(box.low_m), np.array(box.high_m), self.snap_m)
        near = ((int(i), int(side)) for i, side in np.argwhere(is_near))
        return [
            end for end in near if end in self.home and box.away_m(self._tip(end)) <= self.snap_m
        ]

    def told_of_many(self, box: Box, ends: Sequence[_End]) -> list[Finding]:
        """Say that more than two ends are at a box, unless they meet at one place."""
        tips = [self._tip(end) for end in ends]
        if all(distance_m(tip, tips[0]) <= self.join_m for tip in tips):
            return []
        handles = tuple(self.paths[i].curves[-1 if side else 0].handle for i, side in ends)
        may_go_on = any(
            self.home[one] != self.home[other]
            and _turn_between(self.paths, one, other) <= _MAX_TURN_IN_BOX
            for one, other in combinations(ends, 2)
        )
        return [_many_ends(box, tips, handles, may_go_on, self.text)]

    def told_of_two(self, box: Box, one: _End, other: _End) -> list[Finding]:
        """Join the paths of two ends where one run goes on through the box; say what was done."""
        if self.home[one] == self.home[other]:
            return []
        before, after = self._from_end(one), self._to_start(other)
        gap = distance_m(before.end_m, after.start_m)
        if gap <= self.join_m:
            return []
        turn = _turn_in_box(before, after)
        if turn > _MAX_TURN_IN_BOX:
            return [_side_by_side(box, before, after)]
        self._merge(one, other, before, after)
        return [_carried(box, before, after, (gap, turn), self.text)]

    def _merge(self, one: _End, other: _End, before: OpenPath, after: OpenPath) -> None:
        """Put the path that carries on through a box in the place of its two parts."""
        keep, gone = self.home.pop(one), self.home.pop(other)
        self.alive[keep] = OpenPath(
            [*before.groups, *_bridge(before, after), *after.groups],
            [*before.curves, *after.curves],
        )
        del self.alive[gone]
        self.home = {end: keep if now == gone else now for end, now in self.home.items()}

    def _tip(self, end: _End) -> Vector:
        path, side = self.paths[end[0]], end[1]
        return path.end_m if side else path.start_m

    def _from_end(self, end: _End) -> OpenPath:
        """Return the path that an end belongs to, traveled so that it comes last."""
        path = self.alive[self.home[end]]
        return path if _is_end(path, self._tip(end)) else turned(path)

    def _to_start(self, end: _End) -> OpenPath:
        """Return the path that an end belongs to, traveled so that it comes first."""
        path = self.alive[self.home[end]]
        return turned(path) if _is_end(path, self._tip(end)) else path


def _side_by_side(box: Box, before: OpenPath, after: OpenPath) -> Finding:
    message = (
        f"two runs end side by side at {box.name}; they are kept as two. If they are one, draw a "
        "line through the box"
    )
    where = f"{before.curves[-1].where}; {after.curves[0].where}"
    return Finding("ends-at-fitting", Severity.NOTE, message, where)


def _carried(
    box: Box, before: OpenPath, after: OpenPath, gap_and_turn: tuple[float, float], text: UnitText
) -> Finding:
    """Say that a run goes on through a box, with a caution where it stops short of that."""
    gap, turn = gap_and_turn
    what = (
        f"the run stops on both sides of {box.name}, {text.length(gap)} apart; "
        f"it was carried through the box (turn {degrees(turn):.3g}°)"
    )
    where = f"{before.curves[-1].where}; {after.curves[0].where}"
    short = max(box.short_m(before.end_m), box.short_m(after.start_m))
    if short <= OWN_REACH_M:
        return Finding("gap-at-fitting", Severity.NOTE, what, where)
    what += (
        f". It stops {text.length(short)} short of the box, which only a wide snap under [drawing] "
        "allows: what lies between is not drawn. Draw it, or take a smaller snap"
    )
    concern = Concern(entities=(before.curves[-1].handle, after.curves[0].handle))
    return Finding("gap-at-fitting", Severity.CAUTION, what, where, concern)


def _many_ends(
    box: Box, tips: list[Vector], handles: tuple[str, ...], may_go_on: bool, text: UnitText
) -> Finding:
    """Say that several runs end at a box, with a caution where two of them may be one."""
    where = place_list([text.place(tip) for tip in tips])
    if not may_go_on:
        message = (
            f"{len(tips)} ends stop side by side at {box.name}: each run ends there. If two of "
            "them are one run, draw a line through the box"
        )
        return Finding("ends-at-fitting", Severity.NOTE, message, where)
    message = (
        f"{len(tips)} ends stop at {box.name}: which of them belong together is not drawn, so each "
        "run ends there. Draw a line through the box for each run that goes on"
    )
    return Finding("ends-at-fitting", Severity.CAUTION, message, where, Concern(entities=handles))


def _turn_in_box(before: OpenPath, after: OpenPath) -> float:
    u = before.groups[-1][-1].segment.end_tangent
    v = after.groups[0][0].segment.start_tangent
    return acos(min(1.0, max(-1.0, dot(u, v))))


def _turn_between(paths: Sequence[OpenPath], one: _End, other: _End) -> float:
    """Turn of a run that came out of one path's end and went on into another's. [rad]"""
    (i, side), (j, other_side) = one, other
    before = paths[i] if side else turned(paths[i])
    after = turned(paths[j]) if other_side else paths[j]
    return _turn_in_box(before, after)


def _bridge(before: OpenPath, after: OpenPath) -> list[list[DrawnEdge]]:
    """Edges through a box: to where both sides meet when carried on, else straight across."""
    a, b = before.end_m, after.start_m
    gap = distance_m(a, b)
    u = before.groups[-1][-1].segment.end_tangent
    v = after.groups[0][0].segment.start_tangent
    w = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    c = dot(u, v)
    if 1.0 - c * c > 1e-3:
        s = (dot(w, u) - c * dot(w, v)) / (1.0 - c * c)
        t = (c * dot(w, u) - dot(w, v)) / (1.0 - c * c)
        p = (a[0] + s * u[0], a[1] + s * u[1], a[2] + s * u[2])
        q = (b[0] + t * v[0], b[1] + t * v[1], b[2] + t * v[2])
        ahead = 0.0 < s < gap and -gap < t < 0.0
        if ahead and distance_m(p, q) <= 1e-3 * gap:
            corner = midpoint(p, q)
            return [[_bridging(a, corner)], [_bridging(corner, b)]]
    return [[_bridging(a, b)]]


def _bridging(a: Vector, b: Vector) -> DrawnEdge:
    """Return a line that the file does not hold."""
    return DrawnEdge(Straight(a, b), written=NOT_WRITTEN)


def _is_end(path: OpenPath, tip: Vector) -> bool:
    """Return whether a tip is the end of a path, not its start."""
    return distance_m(tip, path.end_m) <= distance_m(tip, path.start_m)
