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
from analyzer.importers.told_places import UnitText, place_list
from analyzer.route.held_corners import OWN_REACH_M

__all__ = ["through_boxes"]

_MAX_TURN_IN_BOX = radians(100.0)  # beyond it two runs end side by side at the box


def through_boxes(
    paths: list[OpenPath], boxes: Sequence[Box], join_m: float, snap_m: float, text: UnitText
) -> tuple[list[OpenPath], list[Finding]]:
    """Join two paths that end at the two sides of a box."""
    findings: list[Finding] = []
    if not boxes or not paths:
        return paths, findings
    alive: dict[int, OpenPath] = dict(enumerate(paths))
    home = {(i, side): i for i in alive for side in (0, 1)}
    corners = np.array([[path.start_m, path.end_m] for path in paths])
    for box in boxes:
        low, high = np.array(box.low_m) - snap_m, np.array(box.high_m) + snap_m
        inside = np.all((corners >= low) & (corners <= high), axis=2)
        found = [(int(i), int(side)) for i, side in np.argwhere(inside)]
        found = [
            (i, side)
            for i, side in found
            if (i, side) in home and box.away_m(_tip(paths[i], side)) <= snap_m
        ]
        if len(found) != 2 or home[found[0]] == home[found[1]]:
            if len(found) > 2:
                tips = [_tip(paths[i], side) for i, side in found]
                if any(distance_m(tip, tips[0]) > join_m for tip in tips):
                    ends = tuple(paths[i].curves[-1 if side else 0].handle for i, side in found)
                    may_go_on = any(
                        home[one] != home[other]
                        and _turn_between(paths, one, other) <= _MAX_TURN_IN_BOX
                        for one, other in combinations(found, 2)
                    )
                    findings.append(_many_ends(box, tips, ends, may_go_on, text))
            continue
        tips = [_tip(paths[i], side) for i, side in found]
        one, other = alive[home[found[0]]], alive[home[found[1]]]
        before = one if _is_end(one, tips[0]) else turned(one)
        after = other if not _is_end(other, tips[1]) else turned(other)
        gap = distance_m(before.end_m, after.start_m)
        if gap <= join_m:
            continue
        turn = _turn_in_box(before, after)
        if turn > _MAX_TURN_IN_BOX:
            findings.append(
                Finding(
                    "ends-at-fitting",
                    Severity.NOTE,
                    f"two runs end side by side at {box.name}; they are kept as two. If they are "
                    "one, draw a line through the box",
                    f"{before.curves[-1].where}; {after.curves[0].where}",
                )
            )
            continue
        merged = OpenPath(
            [*before.groups, *_bridge(before, after), *after.groups],
            [*before.curves, *after.curves],
        )
        findings.append(_carried(box, before, after, (gap, turn), text))
        keep, gone = home[found[0]], home[found[1]]
        alive[keep] = merged
        del alive[gone]
        for key in found:
            del home[key]
        for key, value in home.items():
            if value == gone:
                home[key] = keep
    return [
        turned(path) if len(path.curves) > 1 and path.end_m < path.start_m else path
        for path in alive.values()
    ], findings


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


def _tip(path: OpenPath, side: int) -> Vector:
    return path.end_m if side else path.start_m


def _turn_in_box(before: OpenPath, after: OpenPath) -> float:
    u = before.groups[-1][-1].segment.end_tangent
    v = after.groups[0][0].segment.start_tangent
    return acos(min(1.0, max(-1.0, dot(u, v))))


def _turn_between(paths: Sequence[OpenPath], one: tuple[int, int], other: tuple[int, int]) -> float:
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
