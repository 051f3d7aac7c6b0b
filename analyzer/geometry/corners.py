"""Corners with a bend radius turned into tangent arcs, for a whole chain at once.

A chain is a row of corner points joined by straight lines. A corner with radius R and turn a takes
up the tangent length R tan(a/2) of both its lines. Where a line is shorter than the tangent lengths
it must hold, the radii of all bends linked by such lines are reduced by one common factor, the
largest with which every line of the group fits.

Assumes turns below 180°: larger bends are written as several corners of one bend.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, cos, pi, radians, sin, tan

from analyzer.errors import RouteError
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.linked_groups import root_of
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, cross, dot, norm, unit
from analyzer.geometry.vectors import distance, minus, plus

__all__ = [
    "LARGEST_TURN_RAD",
    "LEAST_BEND_RAD",
    "LEAST_STRAIGHT_M",
    "ONE_NODE_RAD",
    "Laid",
    "Node",
    "Shortage",
    "arc_nodes",
    "fit_radii",
    "lay_chain",
    "meeting_point",
]

LARGEST_TURN_RAD = radians(179.0)
"""A corner that turns more is a turn-back: no raceway bends round it. [rad]"""

LEAST_BEND_RAD = radians(5.0)
"""Least turn that anybody bends on purpose; slighter ones were not meant. Common practice. [rad]"""

LEAST_STRAIGHT_M = 5e-7
"""Straights shorter than this are rounding and are left out. [m]"""

ONE_NODE_RAD = radians(150.0)
"""An arc that turns no more than this is written as one corner point. [rad]"""

_TANGENT_RAD = 5e-7
"""Turn between an arc and a line up to which the arc stays as drawn. [rad] Own choice."""

_OVERLAP_M = 1e-8
"""Length that tangent lengths may exceed a line by, besides a billionth of them. [m] Own choice."""

_ASIDE_M = LEAST_STRAIGHT_M / 2.0
"""How far a drawn arc may end beside the lines of the chain, on which its neighbors end. [m]"""


@dataclass(frozen=True, slots=True)
class Node:
    """A corner point of a chain; the first and last are its ends.

    Attributes
    ----------
    place_m : (3,) float
        Where the two lines beside it meet. [m]
    radius_m : float
        Radius asked for; 0 for an end or a corner that stays sharp. [m]
    bend : int
        Number of the bend it belongs to; -1 for an end.
    arc : Arc or None
        The drawn arc, used as it is where the lines beside it are tangent to it.
    reach_m : float or None
        Tangent length where its neighbors leave it no more: kept whatever turn the corner points
        show, and the radius is what that turn makes of it. None where the radius is kept. [m]
    """

    place_m: Vector
    radius_m: float = 0.0
    bend: int = -1
    arc: Arc | None = None
    reach_m: float | None = None

    @property
    def is_lead(self) -> bool:
        """Whether it only joins a drawn curve to a straight that is off its tangent."""
        return self.arc is None and self.reach_m is not None


@dataclass(frozen=True, slots=True)
class Shortage:
    """A line too short for the bends beside it.

    Attributes
    ----------
    line : int
        Line between node `line` and the next.
    needed_m, drawn_m : float
        Tangent lengths it must hold, and its own length. [m]
    factor : float
        Factor that the radii of its group were reduced by.
    """

    line: int
    needed_m: float
    drawn_m: float
    factor: float


@dataclass(frozen=True, slots=True)
class Laid:
    """A chain laid out.

    Attributes
    ----------
    segments : tuple of Segment
        Straights and arcs in order.
    node_of_segment : tuple of int
        For an arc its node, for a straight the node before it.
    """

    segments: tuple[Segment, ...]
    node_of_segment: tuple[int, ...]


def meeting_point(place_1: Vector, along_1: Vector, place_2: Vector, along_2: Vector) -> Vector:
    """Return the middle of the closest approach of two lines that are not parallel. [m]

    Parameters
    ----------
    place_1, place_2 : (3,) float
        A place on each line. [m]
    along_1, along_2 : (3,) float
        Unit directions.
    """
    gap = minus(place_2, place_1)
    normal = cross(along_1, along_2)
    square = dot(normal, normal)
    s = dot(cross(gap, along_2), normal) / square
    t = dot(cross(gap, along_1), normal) / square
    a, b = plus(place_1, along_1, s), plus(place_2, along_2, t)
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0)


def arc_nodes(
    start_m: Vector, tangent: Vector, axis: Vector, radius_m: float, angle_rad: float, bend: int
) -> list[Node]:
    """Return the corner points of an arc: one up to 150°, several equal ones above.

    Parameters
    ----------
    start_m : (3,) float
        First point. [m]
    tangent, axis : (3,) float
        Unit direction of travel there, and unit axis of the turn.
    radius_m, angle_rad : float
        Radius and total turn. [m] [rad]
    bend : int
        Number of the bend.
    """
    count = ceil(angle_rad / ONE_NODE_RAD)
    part = angle_rad / count
    normal = cross(axis, tangent)
    reach = radius_m / cos(part / 2.0)
    nodes = []
    for index in range(count):
        angle = (index + 0.5) * part
        place = plus(start_m, normal, radius_m)
        place = plus(place, normal, -reach * cos(angle))
        place = plus(place, tangent, reach * sin(angle))
        nodes.append(Node(place, radius_m, bend))
    return nodes


@dataclass(frozen=True, slots=True)
class _Lines:
    lengths: list[float]
    directions: list[Vector]
    turns: list[float]
    reach: list[float]


def _lines(nodes: list[Node]) -> _Lines:
    legs = [minus(b.place_m, a.place_m) for a, b in pairwise(nodes)]
    directions = [unit(leg) for leg in legs]
    turns = [0.0, *(angle_between(a, b) for a, b in pairwise(directions)), 0.0]
    for node, turn in zip(nodes, turns, strict=True):
        if turn > LARGEST_TURN_RAD:
            x, y, z = node.place_m
            raise RouteError(f"the route turns back on itself at ({x:.6g}, {y:.6g}, {z:.6g}) m")
    reach = [_reach(node, turn) for node, turn in zip(nodes, turns, strict=True)]
    return _Lines([norm(leg) for leg in legs], directions, turns, reach)


def _reach(node: Node, turn: float) -> float:
    """Return the tangent length of a node: its own, or that of its arc where drawn tangent."""
    if node.reach_m is not None:
        return node.reach_m
    if node.arc is not None and abs(turn - node.arc.angle_rad) <= 2.0 * _TANGENT_RAD:
        turn = node.arc.angle_rad
    return node.radius_m * tan(turn / 2.0)


def fit_radii(nodes: list[Node]) -> tuple[list[float], tuple[Shortage, ...]]:
    """Return the factor on each node's radius with which all bends fit, and what was too short.

    Bends linked by lines that are too short form a group with one factor, the least of drawn
    over needed length among its lines; all others keep factor 1. The corner points of one bend
    are always in one group.

    Raises
    ------
    RouteError
        If a corner turns back on itself.
    """
    lines = _lines(nodes)
    group = list(range(len(nodes)))

    short: list[int] = []
    for line, drawn in enumerate(lines.lengths):
        same = nodes[line].bend >= 0 and nodes[line].bend == nodes[line + 1].bend
        needed = lines.reach[line] + lines.reach[line + 1]
        tight = needed - drawn > _OVERLAP_M + 1e-9 * needed
        if tight:
            short.append(line)
        if same or tight:
            group[root_of(line, group)] = root_of(line + 1, group)
    least: dict[int, float] = {}
    for line in short:
        ratio = lines.lengths[line] / (lines.reach[line] + lines.reach[line + 1])
        root = root_of(line, group)
        least[root] = min(least.get(root, 1.0), ratio)
    factors = [least.get(root_of(index, group), 1.0) for index in range(len(nodes))]
    shortages = tuple(
        Shortage(
            line,
            lines.reach[line] + lines.reach[line + 1],
            lines.lengths[line],
            factors[line],
        )
        for line in short
    )
    return factors, shortages


def lay_chain(nodes: list[Node], factors: list[float]) -> Laid:
    """Return straights and arcs through a chain, tangent to each other but at sharp corners.

    Parameters
    ----------
    nodes : list of Node
        At least two; neighbors at different places.
    factors : list of float
        Factor on each radius, from `fit_radii`.

    Raises
    ------
    RouteError
        If a corner turns back on itself, or the factors leave arcs that overlap.
    """
    lines = _lines(nodes)
    segments: list[Segment] = []
    owner: list[int] = []
    here = nodes[0].place_m
    for index in range(1, len(nodes)):
        node, turn = nodes[index], lines.turns[index]
        arc = None
        if node.radius_m > 0.0 and turn > 0.0 and index < len(nodes) - 1:
            into, out = lines.directions[index - 1], lines.directions[index]
            arc = _fillet(node, into, out, lines.reach[index], factors[index])
        goal = arc.start_m if arc is not None else node.place_m
        if distance(here, goal) > LEAST_STRAIGHT_M:
            _refuse_backward(here, goal, lines.directions[index - 1])
            segments.append(Straight(here, goal))
            owner.append(index - 1)
        if arc is not None:
            segments.append(arc)
            owner.append(index)
            here = arc.end_m
        elif distance(here, goal) > LEAST_STRAIGHT_M or node.radius_m == 0.0:
            here = goal
    return _joined(segments, owner, nodes)


def _joined(segments: list[Segment], owner: list[int], nodes: list[Node]) -> Laid:
    """Join arcs of one bend that lie on one circle, up to half a turn."""
    kept: list[Segment] = []
    owners: list[int] = []
    for segment, node in zip(segments, owner, strict=True):
        before = kept[-1] if kept else None
        if (
            isinstance(segment, Arc)
            and isinstance(before, Arc)
            and nodes[node].bend == nodes[owners[-1]].bend
            and before.angle_rad + segment.angle_rad <= pi
            and distance(before.center_m, segment.center_m) <= 1e-9 * before.radius_m
            and dot(before.axis, segment.axis) > 1.0 - 1e-12
        ):
            angle = before.angle_rad + segment.angle_rad
            kept[-1] = Arc(before.start_m, before.center_m, before.axis, angle)
        else:
            kept.append(segment)
            owners.append(node)
    return Laid(tuple(kept), tuple(owners))


def _refuse_backward(here: Vector, goal: Vector, along: Vector) -> None:
    """Stop where a straight would lead against its own line: the arcs beside it overlap."""
    if dot(minus(goal, here), along) >= 0.0:
        return
    x, y, z = here
    raise RouteError(
        f"internal error: bends laid out overlap by {distance(here, goal):.3g} m at "
        f"({x:.6g}, {y:.6g}, {z:.6g}) m, so no length would be true; please report it with the "
        "drawing"
    )


def _fillet(node: Node, into: Vector, out: Vector, reach_m: float, factor: float) -> Arc:
    """Return the arc at a corner point, with the tangent length that its radius was fitted with."""
    drawn = node.arc
    if drawn is not None and factor > 1.0 - 1e-9:
        entry, leave = (
            angle_between(into, drawn.start_tangent),
            angle_between(out, drawn.end_tangent),
        )
        off = max(entry, leave)
        if off <= _TANGENT_RAD and off * reach_m <= _ASIDE_M:
            return drawn
    turn = angle_between(into, out)
    axis = unit(cross(into, out))
    reach = reach_m * factor
    keeps_radius = drawn is None and node.reach_m is None
    radius = node.radius_m * factor if keeps_radius else reach / tan(turn / 2.0)
    start = plus(node.place_m, into, -reach)
    return Arc(start, plus(start, cross(axis, into), radius), axis, min(turn, pi))
