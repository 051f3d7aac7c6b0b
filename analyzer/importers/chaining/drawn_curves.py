"""A drawn curve: one entity of a drawing as edges in meters, and how its ends are moved."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import sqrt

from analyzer.geometry.drawn import DrawnEdge
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, cross, dot, norm
from analyzer.geometry.vectors import minus

__all__ = ["DrawnCurve", "distance_m", "fitted_between", "reversed_edges"]


@dataclass(frozen=True, slots=True)
class DrawnCurve:
    """One entity as edges in drawing order.

    Attributes
    ----------
    edges : tuple of DrawnEdge
        Joined end to end; at least one. [m]
    kind, layer, handle : str
        Entity type and where it stands.
    is_closed : bool
        Drawn closed, or ending where it starts.
    loose_m : float
        How far beside it what was left out for it lay: its ends are known no better. [m]
    layout : str
        Paper space layout it stands in; empty in model space.
    start_m, end_m, length_m
        First point, last point and length; kept, because chaining asks for them often. [m]
    """

    edges: tuple[DrawnEdge, ...]
    kind: str
    layer: str
    handle: str
    is_closed: bool = False
    loose_m: float = 0.0
    layout: str = ""
    start_m: Vector = field(init=False)
    end_m: Vector = field(init=False)
    length_m: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "start_m", self.edges[0].segment.start_m)
        object.__setattr__(self, "end_m", self.edges[-1].segment.end_m)
        object.__setattr__(self, "length_m", sum(edge.segment.length_m for edge in self.edges))

    @property
    def where(self) -> str:
        """Layer, entity type and handle, for messages."""
        return f"layer {self.layer}, {self.kind} {self.handle}"


def distance_m(a: Vector, b: Vector) -> float:
    """Return the distance between two points. [m]"""
    return norm((a[0] - b[0], a[1] - b[1], a[2] - b[2]))


def reversed_edges(edges: tuple[DrawnEdge, ...]) -> tuple[DrawnEdge, ...]:
    """Return edges traveled the other way."""
    return tuple(edge.reversed() for edge in reversed(edges))


def fitted_between(edges: tuple[DrawnEdge, ...], start: Vector, end: Vector) -> list[DrawnEdge]:
    """Return edges turned, scaled and moved as one piece so that they span two given points.

    The least turn that does it; for ends moved by a little, a little turn. Lines are put
    between the points; arcs stay arcs.

    Parameters
    ----------
    edges : tuple of DrawnEdge
        One line, or the arcs of one entity.
    start, end : (3,) float
        Where they shall start and end. [m]
    """
    first, last = edges[0].segment.start_m, edges[-1].segment.end_m
    if (first, last) == (start, end):
        return list(edges)
    if len(edges) == 1 and isinstance(edges[0].segment, Straight):
        return [edges[0].moved_to(Straight(start, end))]
    turn = _Turn(minus(last, first), minus(end, start))
    fitted = []
    at = start
    for index, edge in enumerate(edges):
        stop = end if index == len(edges) - 1 else turn.moved(edge.segment.end_m, first, start)
        fitted.append(edge.moved_to(turn.segment(edge.segment, at, stop)))
        at = stop
    return fitted


class _Turn:
    """Least rotation with scale that takes one vector to another."""

    def __init__(self, old: Vector, new: Vector) -> None:
        old_size, new_size = norm(old), norm(new)
        self.scale = new_size / old_size
        a = (old[0] / old_size, old[1] / old_size, old[2] / old_size)
        b = (new[0] / new_size, new[1] / new_size, new[2] / new_size)
        self.axis = cross(a, b)
        self.cosine = dot(a, b)

    def direction(self, v: Vector) -> Vector:
        k, c = self.axis, self.cosine
        kv, kd = cross(k, v), dot(k, v) / (1.0 + c)
        return (
            c * v[0] + kv[0] + kd * k[0],
            c * v[1] + kv[1] + kd * k[1],
            c * v[2] + kv[2] + kd * k[2],
        )

    def moved(self, p: Vector, old_origin: Vector, new_origin: Vector) -> Vector:
        d = self.direction(minus(p, old_origin))
        s, o = self.scale, new_origin
        return (o[0] + s * d[0], o[1] + s * d[1], o[2] + s * d[2])

    def segment(self, segment: Segment, start: Vector, end: Vector) -> Segment:
        if isinstance(segment, Straight):
            return Straight(start, end)
        old_arm = minus(segment.center_m, segment.start_m)
        arm = self.direction(old_arm)
        center = tuple(start[i] + self.scale * arm[i] for i in range(3))
        axis = self.direction(segment.axis)
        size = sqrt(dot(axis, axis))
        unit_axis = (axis[0] / size, axis[1] / size, axis[2] / size)
        return Arc(start, (center[0], center[1], center[2]), unit_axis, segment.angle_rad)
