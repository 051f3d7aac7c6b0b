"""Drawn arcs, and the arcs of splines, as corner points of the chain that a path is read into.

An arc between two straights is laid tangent to them with its drawn radius where it misses tangency
by rounding. Every other arc has neighbors that leave it no room: it is laid as drawn, and where a
straight beside it is off its tangent, a short arc on the straight (a lead) makes that turn with
the curve's own radius, so that neither turning nor radius is lost. Arcs that go on from each other
on one circle are one bend, in whatever way each is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, cos, radians, tan

from analyzer.geometry.bend_chain import (
    ROUNDED_RAD,
    TANGENT_RAD,
    BendChain,
    BendSpec,
    Drawing,
    OffTangent,
    arc_node,
)
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.corners import ONE_NODE_RAD, Node, meeting_point
from analyzer.geometry.drawn import DrawnAs
from analyzer.geometry.flat_arcs import LEAST_TURN_RAD
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc, Straight, Vector, cross, dot, norm, unit
from analyzer.geometry.vectors import minus, plus, to_vector

__all__ = ["gather_curve", "goes_on", "joint_turn", "leads", "missed", "tangent_within"]

OFF_TANGENT_RAD = radians(5.0) + TANGENT_RAD
"""A straight that a drawn arc or spline leaves at no more than this was meant tangent. [rad]"""

_SAME_CIRCLE = 1e-3
"""Share by which radii of arcs that go on tangent may differ and be one bend. Own choice."""

_SPLINE_PLANE = cos(radians(30.0))
"""Cosine between the axes of arcs of splines above which they may be one bend. Own choice."""

_LEAD_SHARE, _LEAD_RADIUS, _LEAD_REACH = 0.4, 1.05, 0.01
"""Share of a straight that the tangent lengths of its leads may come to: each lead takes twice its
own, once to its corner point and once from there. Radius of a lead over the curve's smallest at
least, so that it never governs. Its tangent length over that radius, where there is room: shorter,
rounding would tell its radius."""

_LEAD_EXTRA_RAD, _LEAD_ROUNDS = radians(0.25), 12
"""What a lead may turn more than is drawn, for standing off the straight: that is too little to
tell in a tension. A straight too short for that has no room for a lead. Rounds that find a lead:
each closes in by the share it may take or more."""

_AGAINST = -0.5
"""Cosine between the axes of two turns that go against each other."""

_LOOSE, _LOOSEST_RAD = 1.05, radians(1.0)
"""Times the width of a bridged gap over the length beside it, that a turn at an arc is no corner,
and the largest turn that is none."""


def joint_turn(drawing: Drawing, joint: int) -> float:
    """Return the turn between the edges that meet in an inner joint, straights whole. [rad]"""
    return angle_between(*_ways(drawing, joint))


def _ways(drawing: Drawing, joint: int) -> tuple[Vector, Vector]:
    """Directions of travel into and out of a joint."""
    into = _along(drawing, joint - 1) or drawing.edges[joint - 1].segment.end_tangent
    out = _along(drawing, joint) or drawing.edges[joint].segment.start_tangent
    return into, out


def _along(drawing: Drawing, index: int) -> Vector | None:
    """Direction of the straight that an edge is a part of, None where it is whole."""
    if index not in drawing.straights:
        return None
    first, last = drawing.straights[index]
    return unit(to_vector(drawing.points_m[last] - drawing.points_m[first]))


def _straight_joints(drawing: Drawing, index: int) -> tuple[int, int]:
    """First and last joint of the straight that an edge is, or is a part of."""
    return drawing.straights.get(index, (index, index + 1))


def tangent_within(drawing: Drawing, joint: int) -> float:
    """Return the largest turn at a joint that is no corner. [rad]

    At an arc, what rounding makes; between straights, none. Where a gap was bridged at an end of a
    piece, its direction is known only to the gap's width over its length.
    """
    loose = 0.0
    beside = drawing.edges[joint - 1 : joint + 1]
    for edge in beside:
        if edge.bridged_m > 0.0:
            size = norm(minus(edge.segment.end_m, edge.segment.start_m))
            loose += _LOOSE * edge.bridged_m / size
    curved = any(isinstance(edge.segment, Arc) for edge in beside)
    return min(max(ROUNDED_RAD if curved else TANGENT_RAD, loose), _LOOSEST_RAD)


def leads(drawing: Drawing, joint: int) -> bool:
    """Whether a straight and a drawn arc meet in a joint so nearly tangent that a lead joins them.

    The straight must have room for it; a corner in a fitting, or with a radius of its own, is one.
    """
    if _stays_corner(drawing, joint):
        return False
    sides = [index for index in (joint - 1, joint) if _is_arc(drawing, index)]
    if len(sides) != 1 or joint_turn(drawing, joint) > OFF_TANGENT_RAD:
        return False
    lead = _laid_lead(drawing, joint)
    return lead.fits and lead.turn_rad - joint_turn(drawing, joint) <= _LEAD_EXTRA_RAD


def _stays_corner(drawing: Drawing, joint: int) -> bool:
    return joint in drawing.kept or drawing.radii_m[joint] is not None


def _is_arc(drawing: Drawing, index: int) -> bool:
    return 0 <= index < len(drawing.edges) and isinstance(drawing.edges[index].segment, Arc)


def _is_straight(drawing: Drawing, index: int) -> bool:
    return 0 <= index < len(drawing.edges) and isinstance(drawing.edges[index].segment, Straight)


def _straight_length_m(drawing: Drawing, index: int) -> float:
    first, last = _straight_joints(drawing, index)
    return norm(to_vector(drawing.points_m[last] - drawing.points_m[first]))


@dataclass(frozen=True, slots=True)
class _Lead:
    """A lead as laid: tangent length [m], turn, how far the straight swings [rad], if it fits."""

    reach_m: float
    turn_rad: float
    swing_rad: float
    fits: bool


def _laid_lead(drawing: Drawing, joint: int) -> _Lead:
    """Return the lead at a joint, found together with one at the other end of its straight.

    Its corner point stands on the tangent of the curve, so the straight turns a little more from
    there than where it was drawn; the more, the longer the lead, and the more where another curve
    is off the straight at its other end. Both leads are found together, until they hold.
    """
    ahead = _is_arc(drawing, joint - 1)
    straight = joint if ahead else joint - 1
    ends = _straight_joints(drawing, straight)
    curves = [
        _curve_off(drawing, end, index, end == joint)
        for end, index in zip(ends, (ends[0] - 1, ends[1]), strict=True)
    ]
    places = [to_vector(drawing.points_m[end]) for end in ends]
    room = _LEAD_SHARE * _straight_length_m(drawing, straight)
    reaches, turns, least = [0.0, 0.0], [0.0, 0.0], [0.0, 0.0]
    for _ in range(_LEAD_ROUNDS):
        corners = [
            place if curve is None else plus(place, curve[0], min(reach, room) * side)
            for place, curve, reach, side in zip(places, curves, reaches, (1.0, -1.0), strict=True)
        ]
        way = minus(corners[1], corners[0])
        wanted = [0.0, 0.0]
        for k, curve in enumerate(curves):
            if curve is not None:
                turns[k] = angle_between(curve[0], way)
                least[k] = _LEAD_RADIUS * curve[1] * tan(turns[k] / 2.0)
                wanted[k] = max(least[k], _LEAD_REACH * curve[1])
        reaches = _shared_reaches(least, wanted, room)
    mine = 0 if ahead else 1
    drawn = _along(drawing, straight) or drawing.edges[straight].segment.start_tangent
    swing = angle_between(drawn, way)
    return _Lead(reaches[mine], turns[mine], swing, _has_room(least, mine, room))


def _shared_reaches(least: Sequence[float], wanted: Sequence[float], room: float) -> list[float]:
    """Return the tangent lengths at both ends of a straight, cut to what it has room for. [m]

    Each is what it needs, and the same share of what it wants above that.
    """
    fits = [_has_room(least, end, room) for end in (0, 1)]
    spare = room - sum(need for need, ok in zip(least, fits, strict=True) if ok)
    more = [want - need if ok else 0.0 for want, need, ok in zip(wanted, least, fits, strict=True)]
    share = min(spare / sum(more), 1.0) if sum(more) > 0.0 else 0.0
    return [need + share * extra for need, extra in zip(least, more, strict=True)]


def _has_room(least: Sequence[float], end: int, room: float) -> bool:
    """Whether a straight has room for the lead at one end: what needs less is laid first."""
    return sum(need for need in least if need <= least[end]) <= room


def _curve_off(
    drawing: Drawing, joint: int, index: int, leads_here: bool
) -> tuple[Vector, float] | None:
    """Direction of the curve off a straight at one of its ends, and its smallest radius [m].

    None where no curve is there, or where it needs no lead or is a corner.
    """
    if not _is_arc(drawing, index) or _stays_corner(drawing, joint):
        return None
    if not leads_here and not TANGENT_RAD < joint_turn(drawing, joint) <= OFF_TANGENT_RAD:
        return None
    arc = drawing.edges[index].segment
    along = arc.start_tangent if index == joint else arc.end_tangent
    return along, _smallest_radius(drawing, index)


def _smallest_radius(drawing: Drawing, index: int) -> float:
    """Smallest radius of the curve that an arc belongs to. [m]"""
    edges = drawing.edges
    low = high = index
    while low > 0 and _one_curve(drawing, low):
        low -= 1
    while high + 1 < len(edges) and _one_curve(drawing, high + 1):
        high += 1
    arcs = (edge.segment for edge in edges[low : high + 1])
    return min(arc.radius_m for arc in arcs if isinstance(arc, Arc))


def _one_curve(drawing: Drawing, joint: int) -> bool:
    before, after = drawing.edges[joint - 1], drawing.edges[joint]
    return before.curve == after.curve >= 0


def missed(drawing: Drawing, joint: int) -> float:
    """Return by how much a joint of an arc that is no corner misses tangency; 0 for none. [rad]"""
    if not 0 < joint < len(drawing.edges):
        return 0.0
    turn = joint_turn(drawing, joint)
    if turn <= TANGENT_RAD:
        return 0.0
    return turn if turn <= tangent_within(drawing, joint) or leads(drawing, joint) else 0.0


def gather_curve(
    drawing: Drawing, chain: BendChain, index: int, before_rad: float, after_rad: float
) -> None:
    """Add the arc of one edge that is no drawn line; nothing where that is straight.

    Parameters
    ----------
    drawing : Drawing
        The path.
    chain : BendChain
        What was gathered up to the edge.
    index : int
        The edge.
    before_rad, after_rad : float
        By how much it misses tangency at its ends, from `missed`; 0 beside chords or points that
        are tangent to it as a whole, since the direction of their nearest leg means nothing. [rad]
    """
    edge = drawing.edges[index]
    arc = edge.segment
    if not isinstance(arc, Arc):
        return
    slides = (
        _is_straight(drawing, index - 1)
        and _is_straight(drawing, index + 1)
        and ROUNDED_RAD < arc.angle_rad <= ONE_NODE_RAD
    )
    nodes = [arc_node(piece, hemmed=not slides) for piece in _pieces(arc)]
    rounded = all(
        turn <= tangent_within(drawing, joint)
        for turn, joint in ((before_rad, index), (after_rad, index + 1))
        if turn > 0.0
    )
    if slides and rounded and before_rad + after_rad > 0.0:
        nodes = [_laid_tangent(drawing, index, arc, before_rad > 0.0, after_rad > 0.0)]
        before, after = [], []
    else:
        before = _lead(drawing, index, index) if before_rad > 0.0 else []
        after = _lead(drawing, index + 1, index) if after_rad > 0.0 else []
    spec = BendSpec(
        ReadAs.SPLINE if edge.drawn_as is DrawnAs.SPLINE else ReadAs.ARCS, RadiusFrom.DRAWING
    )
    lead_before = lead_after = None
    if before and _turns_away(drawing, index, index):
        lead_before = len(chain.specs)
        chain.add(replace(spec), before, index)
        before = []
    number = _same_bend(drawing, chain, index)
    if number is None:
        chain.add(spec, [*before, *nodes], index)
    else:
        chain.extend(number, nodes, index)
    own = chain.nodes[-1].bend
    if after and _turns_away(drawing, index + 1, index):
        lead_after = len(chain.specs)
        chain.add(replace(spec), after, index + 1)
    elif after:
        chain.extend(own, after, index + 1)
    _note_missed(drawing, chain, before_rad, index, own, lead_before)
    if not _is_arc(drawing, index + 1):
        _note_missed(drawing, chain, after_rad, index + 1, own, lead_after)


def _pieces(arc: Arc) -> list[Arc]:
    count = ceil(arc.angle_rad / ONE_NODE_RAD)
    part = arc.length_m / count
    return [arc] if count == 1 else [arc.part(k * part, (k + 1) * part) for k in range(count)]


def _laid_tangent(
    drawing: Drawing, index: int, arc: Arc, off_before: bool, off_after: bool
) -> Node:
    """Corner point of an arc with its radius, on the straights it was drawn off."""
    into = _ways(drawing, index)[0] if off_before else arc.start_tangent
    out = _ways(drawing, index + 1)[1] if off_after else arc.end_tangent
    return Node(meeting_point(arc.start_m, into, arc.end_m, out), arc.radius_m)


def _lead(drawing: Drawing, joint: int, index: int) -> list[Node]:
    """Corner point of the lead at a joint of an arc; none where no straight has room for it."""
    if not leads(drawing, joint):
        return []
    arc = drawing.edges[index].segment
    radius = _smallest_radius(drawing, index)
    reach = _laid_lead(drawing, joint).reach_m
    at_start = joint == index
    place = (
        plus(arc.start_m, arc.start_tangent, -reach)
        if at_start
        else plus(arc.end_m, arc.end_tangent, reach)
    )
    return [Node(place, radius, reach_m=reach)]


def _turns_away(drawing: Drawing, joint: int, index: int) -> bool:
    """Whether a straight is off its arc by more than rounding, against the turn of the arc."""
    arc = drawing.edges[index].segment
    normal = cross(*_ways(drawing, joint))
    size = norm(normal)
    against = isinstance(arc, Arc) and dot(normal, arc.axis) <= _AGAINST * size
    return against and joint_turn(drawing, joint) > ROUNDED_RAD


def _note_missed(
    drawing: Drawing, chain: BendChain, turn_rad: float, joint: int, curve: int, lead: int | None
) -> None:
    """Note a joint that misses tangency, with its bends where that is more than rounding."""
    if turn_rad <= 0.0:
        return
    if turn_rad <= tangent_within(drawing, joint):
        chain.missed_rad.append(turn_rad)
        return
    swing = _laid_lead(drawing, joint).swing_rad
    own = curve if lead is None else lead
    chain.off_tangent.append(OffTangent(turn_rad, swing, joint, curve, own))


def _same_bend(drawing: Drawing, chain: BendChain, index: int) -> int | None:
    """Return the bend an arc goes on with: the same circle, or the same way on a spline."""
    if index == 0 or index in drawing.kept:
        return None
    edge, before = drawing.edges[index], drawing.edges[index - 1]
    a, b = before.segment, edge.segment
    number = chain.nodes[-1].bend
    if chain.last_run is not None and chain.last_run[:2] == (number, index):
        run = chain.last_run[2]
        return number if isinstance(b, Arc) and _on_one_circle(run, b) else None
    if not isinstance(a, Arc) or not isinstance(b, Arc):
        return None
    if angle_between(a.end_tangent, b.start_tangent) > ROUNDED_RAD:
        return None
    if edge.drawn_as is before.drawn_as is DrawnAs.SPLINE and edge.curve == before.curve:
        small, other = sorted((a, b), key=lambda arc: arc.angle_rad)
        if small.angle_rad < LEAST_TURN_RAD:
            # a long slight arc beside a curve is a straight: bends on its two sides are two
            near = small.length_m <= other.radius_m
            return number if near and dot(a.axis, b.axis) > _AGAINST else None
        return number if dot(a.axis, b.axis) > _SPLINE_PLANE else None
    return number if _on_one_circle(a, b) else None


def goes_on(drawing: Drawing, joint: int, run: ChordRun) -> bool:
    """Whether chords from a joint on go on along the circle of the arc before."""
    if not _is_arc(drawing, joint - 1) or joint in drawing.kept:
        return False
    arc = drawing.edges[joint - 1].segment
    return isinstance(arc, Arc) and _on_one_circle(arc, run)


def _on_one_circle(a: Arc | ChordRun, b: Arc | ChordRun) -> bool:
    """Whether arcs that meet tangent, but for rounding, lie on one circle."""
    alike = abs(a.radius_m - b.radius_m) <= _SAME_CIRCLE * min(a.radius_m, b.radius_m)
    return alike and dot(a.axis, b.axis) > cos(ROUNDED_RAD)
