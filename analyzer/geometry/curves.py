"""Smooth curves (splines, ellipses) as straights and arcs tangent to each other.

Parts that are straight or lie on one circle come back as that straight or that arc. The rest is
followed by pairs of arcs (biarcs) through points of the curve with its own tangents there; each
pair is halved until halving changes neither its turning nor its length by more than a tenth of
what is allowed, and further where the curve bends more than before and after, for the smallest
radius of each bend to be true. Assumes a curve whose direction is continuous: its corners must be
breaks of a path, not inside one curve. Source: biarc construction with equal tangent lengths,
elementary geometry.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, ceil, cos, degrees, isfinite, pi, radians, sin, sqrt, tan

import numpy as np

from analyzer.errors import InputError, RouteError
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.segments import (
    Arc,
    Floats,
    Segment,
    Straight,
    Vector,
    cross,
    dot,
    norm,
    unit,
)
from analyzer.geometry.vectors import minus, plus, times, to_vector

__all__ = ["Along", "arcs_along", "smallest_radius"]

Along = Callable[[Floats], Floats]
"""A curve's points or directions at parameters: shape (n,) in, (n, 3) out."""

_ON_CIRCLE = 1e-8
"""Share of the radius, or of what is seen of the circle if that is less, that samples may lie off a
circle and its plane; directions a hundred times that. Own choice."""

_ON_LINE_RAD = 1e-8
"""How far samples may lie off a line over its length, and their directions turn. [rad] Own
choice."""

_LEAST_TURN_RAD = 1e-7
"""Turn of an arc up to which it is laid as a straight. [rad] Own choice."""

_RADIUS_STEP = 1.3
"""What this exceeds 1 by is the share of the greatest curvature by which neighboring arcs may
differ where no more halving is needed. Own choice."""

_RADIUS_TRUE = 0.02
"""Share by which curvature may differ among arcs where it is greatest, so that the smallest radius
comes out true to some tenths of a percent."""

_ROUNDED, _ROUNDED_SLOPE = 4.0, 40.0
"""How many times the rounding of coordinates samples may lie off a line, and how many times that
over its length their directions may be: control points stand closer than its ends."""

_LEAST_SHARE = 5e-4
"""Share of the allowed turning that every part may have: beside an inflection it turns no more."""

_SHORT_M, _EVALUATED_M = 1e-8, 1e-13
"""Parts shorter than this are rounding; what evaluating a curve near its origin loses. [m]"""

_CUSP_M, _CUSP_RAD = 1e-5, radians(0.5)
"""Radius below which arcs are no longer than the joints of a path are apart, and the turn on such
radii that is a cusp: less is rounding. [m] [rad]"""

_FINEST = 1e6
"""Times the rounding of coordinates that a part is long at least which is halved for its radius."""

_DEEPEST, _SHARPEST = 16, 8
"""How often parts are halved at most to follow a curve, and for its smallest radius. Own choice."""

_MOST_PARTS = 4000
"""Parts between two knots above which a curve is refused: to follow it would take minutes. Own
choice."""

_FIRST_PARTS = 4
"""Parts that the way between two knots is followed in before any is halved. Own choice."""

_SAMPLES = 13
"""Samples from one break to the next, both among them, that tell a straight or a circle. Own
choice."""


@dataclass(frozen=True, slots=True)
class _Node:
    """A place on the curve: parameter, point and unit direction."""

    at: float
    point: Vector
    tangent: Vector


@dataclass(frozen=True, slots=True)
class _Followed:
    """A part of the curve between two nodes, and the arcs that follow it."""

    start: _Node
    end: _Node
    segments: list[Segment]


@dataclass(frozen=True, slots=True)
class _Tolerance:
    """What is allowed of turning, as a share of length, and of coordinates."""

    turning_rad: float
    length_ratio: float
    rounding_m: float


@dataclass(frozen=True, slots=True)
class _Circle:
    center: Vector
    axis: Vector
    radius: float


def arcs_along(
    point_at: Along,
    tangent_at: Along,
    breaks: Sequence[float],
    *,
    turning_rad: float = radians(0.05),
    length_ratio: float = 1e-5,
    rounding_m: float = 0.0,
) -> tuple[Segment, ...]:
    """Return straights and arcs along a smooth curve, tangent to each other.

    Parameters
    ----------
    point_at, tangent_at : callable
        Points [m] and directions of travel (any length) at an array of parameters, (n, 3).
    breaks : sequence of float
        Parameters, rising, between which the curve is smooth to all orders: its two ends, and the
        knots of a spline.
    turning_rad : float
        Allowed error of the total turning. [rad]
    length_ratio : float
        Allowed relative error of the length.
    rounding_m : float
        How far the coordinates that the curve is made from may be off: what lies on a straight or a
        circle within that does. [m]

    Raises
    ------
    InputError
        If there are fewer than two breaks or they do not rise.
    RouteError
        If the curve has no direction somewhere (a cusp) or all but none, does not move at all, or
        is too crooked to be followed.

    Notes
    -----
    Far from the origin the digits of points do not reach: give points from an origin near by.
    """
    if len(breaks) < 2 or any(not a < b for a, b in pairwise(breaks)):
        raise InputError("a curve needs two or more rising parameters")
    try:
        return _segments_along(
            point_at, tangent_at, breaks, _Tolerance(turning_rad, length_ratio, rounding_m)
        )
    except (ArithmeticError, InputError) as error:
        raise RouteError(
            "a curve in the drawing has points too close together to tell its direction: draw it "
            "as lines and arcs"
        ) from error


def _segments_along(
    point_at: Along, tangent_at: Along, breaks: Sequence[float], allowed: _Tolerance
) -> tuple[Segment, ...]:
    segments: list[Segment] = []
    circle: _Circle | None = None
    start = end = _nodes(point_at, tangent_at, [breaks[0]])[0]
    swept = 0.0
    for low, high in pairwise(breaks):
        nodes = _nodes(point_at, tangent_at, list(np.linspace(low, high, _SAMPLES)))
        if norm(minus(nodes[0].point, nodes[_SAMPLES // 2].point)) < 1e-9 and (
            norm(minus(nodes[0].point, nodes[_SAMPLES // 3].point)) < 1e-9
        ):
            continue
        straight = _is_straight(nodes, allowed.rounding_m)
        here = None if straight else _circle_of(nodes, allowed.rounding_m)
        if here is not None and circle is not None and _same(here, circle):
            swept, end = swept + _swept(nodes, here), nodes[-1]
            continue
        if circle is not None:
            segments += _arcs_of(circle, start, end, swept)
            circle = None
        start, end = nodes[0], nodes[-1]
        if straight:
            _add_straight(segments, start.point, end.point, allowed.rounding_m)
        elif here is not None:
            circle, swept = here, _swept(nodes, here)
        else:
            segments += _follow(point_at, tangent_at, low, high, allowed)
    if circle is not None:
        segments += _arcs_of(circle, start, end, swept)
    if not segments:
        raise RouteError("a curve in the drawing has no length: remove it or draw it again")
    _refuse_cusp(segments)
    return tuple(segments)


def _refuse_cusp(segments: list[Segment]) -> None:
    """Stop where a curve turns on so small a radius that joints could not tell its arcs apart."""
    arcs = [s for s in segments if isinstance(s, Arc) and s.radius_m < _CUSP_M]
    # what is too short to have a direction of its own leaves the turn to its joint
    kinks = [angle_between(a.end_tangent, b.start_tangent) for a, b in pairwise(segments)]
    turned = sum(arc.angle_rad for arc in arcs) + max(kinks, default=0.0)
    if turned > _CUSP_RAD:
        raise RouteError(
            f"a curve in the drawing turns by {degrees(turned):.0f}° on a radius below "
            f"{_CUSP_M * 1000.0:g} mm (a cusp, or control points all but on one another): draw "
            "that part as lines and arcs"
        )


def smallest_radius(segments: Sequence[Segment]) -> float | None:
    """Return the smallest radius among segments, None where all are straight. [m]"""
    return min((s.radius_m for s in segments if isinstance(s, Arc)), default=None)


def _nodes(point_at: Along, tangent_at: Along, at: list[float]) -> list[_Node]:
    parameters = np.asarray(at, dtype=float)
    points = np.asarray(point_at(parameters), dtype=float)
    along = np.asarray(tangent_at(parameters), dtype=float)
    size = np.linalg.norm(along, axis=1)
    if not np.all(np.isfinite(points)) or not np.all(np.isfinite(along)) or not size.all():
        raise RouteError(
            "a curve in the drawing has no direction at one of its points (a cusp or a repeated "
            "control point): draw that part as lines and arcs"
        )
    along = along / size[:, None]
    return [
        _Node(float(t), to_vector(p), to_vector(d))
        for t, p, d in zip(parameters, points, along, strict=True)
    ]


# --- exact parts ------------------------------------------------------------------------------


def _is_straight(nodes: list[_Node], rounding_m: float) -> bool:
    """Whether samples and their directions lie on a line, but for the rounding of coordinates."""
    start = nodes[0].point
    size = max(norm(minus(node.point, start)) for node in nodes)
    if size <= 0.0:
        return False
    # the line of the farthest sample is known best
    along = unit(max((minus(node.point, start) for node in nodes), key=norm))
    slack = _ON_LINE_RAD * size + _ROUNDED * rounding_m
    turn = _ON_LINE_RAD + _ROUNDED_SLOPE * rounding_m / size
    return all(
        norm(cross(along, minus(node.point, start))) <= slack
        and norm(cross(along, node.tangent)) <= turn
        and dot(along, node.tangent) > 0.0
        for node in nodes
    )


def _circle_of(nodes: list[_Node], rounding_m: float) -> _Circle | None:
    """Return the circle that the samples and their directions lie on, if there is one."""
    a, b, c = (nodes[k].point for k in (0, _SAMPLES // 3, 2 * _SAMPLES // 3))
    u, v = minus(b, a), minus(c, a)
    normal = cross(u, v)
    square = dot(normal, normal)
    if square <= (1e-9 * norm(u) * norm(v)) ** 2:
        return None
    uu, vv = dot(u, u), dot(v, v)
    toward = cross(minus(times(v, uu), times(u, vv)), normal)
    center = plus(a, toward, -1.0 / (2.0 * square))
    if abs(norm(minus(b, center)) - norm(minus(a, center))) > 1e-6 * norm(minus(a, center)):
        center = plus(a, toward, 1.0 / (2.0 * square))
    axis = unit(cross(minus(a, center), nodes[0].tangent))
    radius = norm(minus(a, center))
    # on a circle far larger than what is seen of it, that must tell it apart from a straight
    seen = max(norm(minus(node.point, a)) for node in nodes)
    slack = _ON_CIRCLE * min(radius, seen) + rounding_m
    for node in nodes:
        arm = minus(node.point, center)
        if abs(norm(arm) - radius) > slack or abs(dot(arm, axis)) > slack:
            return None
        along = times(cross(axis, arm), 1.0 / radius)
        if norm(minus(along, node.tangent)) > 100.0 * _ON_CIRCLE + 4.0 * rounding_m / seen:
            return None
    return _Circle(center, axis, radius)


def _same(a: _Circle, b: _Circle) -> bool:
    near = norm(minus(a.center, b.center)) <= 1e-7 * a.radius
    return (
        near and dot(a.axis, b.axis) > 1.0 - 1e-12 and abs(a.radius - b.radius) <= 1e-7 * a.radius
    )


def _swept(nodes: list[_Node], circle: _Circle) -> float:
    """Angle that samples take about the center: on a large circle their places tell it best."""
    total = 0.0
    arms = [minus(node.point, circle.center) for node in nodes]
    for before, after in pairwise(arms):
        total += atan2(dot(cross(before, after), circle.axis), dot(before, after))
    return total


def _arcs_of(circle: _Circle, start: _Node, end: _Node, swept_rad: float) -> list[Segment]:
    """One arc, or equal ones where it turns more than half a turn; a straight if it turns none.

    They start and end where the curve does: over its radius the least angle is a long way.
    """
    if swept_rad <= _LEAST_TURN_RAD:
        return [Straight(start.point, end.point)]
    count = max(1, ceil(swept_rad / pi - 1e-9))
    part = min(swept_rad / count, pi)
    arm = minus(start.point, circle.center)
    side = cross(circle.axis, arm)
    turned = [part * k for k in range(1, count)]
    inner = [plus(plus(circle.center, arm, cos(t)), side, sin(t)) for t in turned]
    return [
        _arc_about(circle.axis, before, after, part)
        for before, after in pairwise([start.point, *inner, end.point])
    ]


def _arc_about(axis: Vector, start: Vector, end: Vector, turn_rad: float) -> Arc:
    """Return the arc from one place to another that turns so much about an axis across them."""
    half = times(minus(end, start), 0.5)
    # the axis is that of a plane through three samples: the ends may lie off it by rounding
    across = unit(minus(axis, times(half, dot(axis, half) / dot(half, half))))
    inward = times(cross(across, half), 1.0 / tan(turn_rad / 2.0))
    return Arc(start, plus(plus(start, half, 1.0), inward, 1.0), across, turn_rad)


def _add_straight(segments: list[Segment], start: Vector, end: Vector, rounding_m: float) -> None:
    """Add a straight, or lengthen the one before it goes on from."""
    before = segments[-1] if segments else None
    if isinstance(before, Straight):
        whole = minus(end, before.start_m)
        off = norm(cross(before.end_tangent, whole))
        if off <= 2.0 * _ON_LINE_RAD * norm(whole) + 2.0 * _ROUNDED * rounding_m:
            segments[-1] = Straight(before.start_m, end)
            return
    segments.append(Straight(start, end))


# --- biarcs -----------------------------------------------------------------------------------


def _follow(
    point_at: Along,
    tangent_at: Along,
    low: float,
    high: float,
    allowed: _Tolerance,
) -> list[Segment]:
    """Follow a curved part with biarcs, halved until nothing moves any more."""
    parts = list(np.linspace(low, high, _FIRST_PARTS + 1))
    spans = list(pairwise(_nodes(point_at, tangent_at, parts)))
    done: list[_Followed] = []
    for _ in range(_DEEPEST):
        if not spans:
            break
        middles = _nodes(point_at, tangent_at, [(a.at + b.at) / 2.0 for a, b in spans])
        later = []
        for (a, b), middle in zip(spans, middles, strict=True):
            if _is_short(a, middle, b):
                done.append(_Followed(a, b, [Straight(a.point, b.point)]))
                continue
            coarse, fine = _biarc(a, b), _biarc(a, middle) + _biarc(middle, b)
            if _settled(coarse, fine, allowed):
                done.append(_Followed(a, b, fine))
            else:
                later += [(a, middle), (middle, b)]
        spans = later
        if len(done) + len(spans) > _MOST_PARTS:
            raise RouteError(
                f"a curve in the drawing needs more than {_MOST_PARTS:,} arcs between two of its "
                "knots to be followed: draw it as lines and arcs"
            )
    done += [_Followed(a, b, _biarc(a, b)) for a, b in spans]
    return [s for part in _sharpened(point_at, tangent_at, done, allowed) for s in part.segments]


def _sharpened(
    point_at: Along, tangent_at: Along, done: list[_Followed], allowed: _Tolerance
) -> list[_Followed]:
    """Halve the parts that bend more than those beside them until their radius is true."""
    parts = sorted(done, key=lambda part: part.start.at)
    for _ in range(_SHARPEST):
        bends = [_curvatures(part.segments) for part in parts]
        most = [0.0, *(max(one) for one in bends), 0.0]
        finer: list[_Followed] = []
        for part, one, before, after in zip(parts, bends, most, most[2:], strict=False):
            is_most = max(one) >= (1.0 - _RADIUS_TRUE) * max(before, after)
            is_rough = is_most and max(one) - min(one) > _RADIUS_TRUE * max(one)
            is_long = _length(part.segments) > _FINEST * allowed.rounding_m
            finer += _halved(point_at, tangent_at, part) if is_rough and is_long else [part]
        if len(finer) == len(parts):
            break
        parts = finer
    return parts


def _halved(point_at: Along, tangent_at: Along, part: _Followed) -> list[_Followed]:
    at = np.linspace(part.start.at, part.end.at, 5)[1:4]
    one, middle, two = _nodes(point_at, tangent_at, [float(t) for t in at])
    return [
        _Followed(part.start, middle, _biarc(part.start, one) + _biarc(one, middle)),
        _Followed(middle, part.end, _biarc(middle, two) + _biarc(two, part.end)),
    ]


def _curvatures(segments: list[Segment]) -> list[float]:
    return [1.0 / s.radius_m if isinstance(s, Arc) else 0.0 for s in segments]


def _is_short(a: _Node, middle: _Node, b: _Node) -> bool:
    """Whether a part is too short for its own points to tell a direction, and leads ahead."""
    chord = minus(b.point, a.point)
    longest = max(norm(minus(middle.point, a.point)), norm(minus(b.point, middle.point)))
    return longest <= _SHORT_M and dot(chord, a.tangent) > 0.0 and dot(chord, b.tangent) > 0.0


def _settled(coarse: list[Segment], fine: list[Segment], allowed: _Tolerance) -> bool:
    turned, turned_fine = _turning(coarse), _turning(fine)
    length, length_fine = _length(coarse), _length(fine)
    # points are rounded: what they say of turning is the less, the shorter the part
    noise = _LEAST_SHARE * allowed.turning_rad + max(allowed.rounding_m, _EVALUATED_M) / length_fine
    if abs(turned - turned_fine) > 0.05 * allowed.turning_rad * turned_fine + noise:
        return False
    if abs(length - length_fine) > 0.1 * allowed.length_ratio * length_fine + _EVALUATED_M:
        return False
    bends = _curvatures(fine)
    flat = turned_fine <= 1e-3 * allowed.turning_rad + noise
    return flat or max(bends) * length_fine <= 0.02 or _even(bends)


def _even(bends: list[float]) -> bool:
    """Whether curvature changes so little from arc to arc that the smallest radius is true."""
    greatest = max(bends)
    return all(abs(a - b) <= (_RADIUS_STEP - 1.0) * greatest for a, b in pairwise(bends))


def _turning(segments: list[Segment]) -> float:
    return sum(s.angle_rad for s in segments if isinstance(s, Arc))


def _length(segments: list[Segment]) -> float:
    return sum(s.length_m for s in segments)


def _biarc(a: _Node, b: _Node) -> list[Segment]:
    """Two arcs from one node to the next, tangent to both and to each other."""
    chord = minus(b.point, a.point)
    both = plus(a.tangent, b.tangent, 1.0)
    square, along = dot(chord, chord), dot(chord, both)
    change = minus(b.tangent, a.tangent)
    spread = dot(change, change)
    # reach solves spread d² + 2 along d - square = 0, written to keep its digits
    root = sqrt(along * along + spread * square)
    reach = square / (along + root) if along + root > 0.0 else float("inf")
    if not isfinite(reach) or reach > 1e3 * sqrt(square):
        raise RouteError(
            "a curve in the drawing turns back on itself: draw that part as lines and arcs"
        )
    first, last = plus(a.point, a.tangent, reach), plus(b.point, b.tangent, -reach)
    joint = times(plus(first, last, 1.0), 0.5)
    middle = unit(minus(last, first))
    return [_arc_between(a.point, a.tangent, joint), _arc_between(joint, middle, b.point)]


def _arc_between(start: Vector, tangent: Vector, end: Vector) -> Segment:
    chord = minus(end, start)
    normal = cross(tangent, chord)
    half = atan2(norm(normal), dot(tangent, chord))
    if 2.0 * half <= _LEAST_TURN_RAD:
        return Straight(start, end)
    axis = unit(normal)
    radius = norm(chord) / (2.0 * sin(half))
    return Arc(start, plus(start, unit(cross(axis, tangent)), radius), axis, min(2.0 * half, pi))
