"""What a run of vertices on a circle meets at its ends: a straight, another arc, or nothing.

A run is an arc only where something proves its tangent. Both ends are judged by the same rules: the
last vertex is looked at as the first of the route traveled the other way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import acos, asin, atan2, cos, radians, sin, sqrt

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.circle_runs import EXACT_RAD, MAX_CHORD_RAD, CircleRun, Stretch
from analyzer.geometry.circle_fit import CircleFit
from analyzer.geometry.segments import Vector, cross, dot, norm, unit
from analyzer.geometry.vectors import minus, negative, plus, times

__all__ = [
    "FREE_CHORD_RAD",
    "RunEnd",
    "Side",
    "Tangency",
    "angle_about",
    "common_tangent",
    "doubt_of_ends",
    "free_ends_fit",
    "lacks_a_vertex_only",
    "meet_line",
    "side_of",
    "tangent_at",
]

FREE_CHORD_RAD = radians(22.6)
"""Step of chords up to which a run may be an arc although a tangent is not proved. [rad]"""

_FREE_EXCESS = 1.6
"""Times the longest other one that a chord at a free end may turn: a longer one is a straight. Own
choice."""

_REGULAR_ROUNDINGS, _REGULAR_SHARE = 9.0, 0.1
"""How far off its place a vertex not drawn may be: roundings over the sagitta, in chords, and a
share of a chord at most."""


class Tangency(Enum):
    """What a run of chords meets at one end, from sure to unsure."""

    STRAIGHT = "straight"
    TOUCHING = "touching"
    LINE = "line"
    JOINED = "joined"
    POINT = "point"
    FREE = "free"


@dataclass(frozen=True, slots=True)
class RunEnd:
    """One end of a run of chords: a place on the straight it meets and the direction of travel.

    Attributes
    ----------
    place_m : (3,) float
        A place on the line that the arc is tangent to. [m]
    direction : (3,) float
        Unit direction of travel along that line.
    tangency : Tangency
        A vertex at the tangent point of a straight; shared with a touching arc; on a straight
        known from two more vertices; on the one line tangent to this arc and the next; on a
        straight known from one more vertex, the tangent point not drawn; or a free end.
    """

    place_m: Vector
    direction: Vector
    tangency: Tangency


def tangent_at(circle: CircleFit, place_m: Vector) -> Vector:
    """Return the unit direction of travel round a circle at a place on it."""
    return unit(cross(circle.axis, minus(place_m, circle.center_m)))


@dataclass(frozen=True, slots=True)
class Side:
    """One end of a run as seen traveling into it, whichever way that is."""

    vertex: int
    place: Vector
    tangent: Vector
    chord_m: float
    before: Vector | None
    before_m: float
    prior: Vector | None
    prior_locked: bool
    line: Vector | None
    prior_touching: Vector | None
    touching: Vector | None
    at_end: bool


def side_of(
    stretch: Stretch,
    one: CircleRun,
    starts: dict[int, CircleRun],
    ends: dict[int, CircleRun],
    *,
    forward: bool,
) -> Side:
    """Return what is known at the first vertex of a run, or at its last seen traveling backward.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    one : CircleRun
        Those of the run.
    starts, ends : dict of int to CircleRun
        Runs by their first and by their last vertex, among them those that may touch this one.
    forward : bool
        Whether its first vertex is asked for.
    """
    n = len(stretch.rows) - 1
    step = 1 if forward else -1
    vertex = one.first if forward else one.last
    place = stretch.rows[vertex]
    flip = (lambda v: v) if forward else negative

    def into(index: int) -> Vector | None:
        if not 0 <= index <= n:
            return None
        found = stretch.incoming(index) if forward else stretch.outgoing(index)
        return flip(found) if found is not None else None

    def leg(index: int) -> float:
        position = index - 1 if forward else index
        return stretch.legs[position] if 0 <= position < n else 1e3

    prior = vertex - step
    inside = 0 <= prior <= n
    partner = (ends if forward else starts).get(vertex)
    earlier = (ends if forward else starts).get(prior)
    return Side(
        vertex,
        place,
        flip(tangent_at(one.circle, place)),
        leg(vertex + step),
        into(vertex),
        leg(vertex),
        stretch.rows[prior] if inside else None,
        prior in stretch.locked,
        into(prior) if inside else None,
        flip(tangent_at(earlier.circle, stretch.rows[prior])) if earlier is not None else None,
        flip(tangent_at(partner.circle, place)) if partner is not None else None,
        not inside or vertex in stretch.locked,
    )


def meet_line(side: Side, circle: CircleFit, axis: Vector, rounding_m: float) -> RunEnd | None:
    """Return how one end of a run is held, or None where nothing holds it.

    Parameters
    ----------
    side : Side
        What `side_of` told of that end.
    circle : CircleFit
        The circle of the run.
    axis : (3,) float
        Its unit axis as the run travels into that end: for the last vertex, the opposite one.
    rounding_m : float
        Rounding of the coordinates. [m]

    Returns
    -------
    RunEnd or None
        With its direction as that side travels: for the last vertex, backward.
    """
    straight = EXACT_RAD + rounding_m * (3.0 / side.before_m + 9.0 / side.chord_m)
    if side.before is not None and angle_between(side.tangent, side.before) <= straight:
        return RunEnd(side.place, side.before, Tangency.STRAIGHT)
    if side.touching is not None:
        loose = EXACT_RAD + rounding_m * 18.0 / side.chord_m
        if angle_between(side.tangent, side.touching) <= loose:
            mean = unit(plus(side.tangent, side.touching, 1.0))
            return RunEnd(side.place, mean, Tangency.TOUCHING)
    if side.at_end or side.prior is None:
        return RunEnd(side.place, side.tangent, Tangency.FREE)
    return _meet_beyond(side, circle, axis, rounding_m)


def _meet_beyond(side: Side, circle: CircleFit, axis: Vector, rounding_m: float) -> RunEnd | None:
    """Return an end whose tangent point was not drawn: it lies on the edge before."""
    assert side.prior is not None
    touch = _touch_point(circle, axis, side.prior)
    if touch is None:
        return None
    place, reach = touch
    arm_out = abs(dot(minus(side.prior, circle.center_m), circle.axis))
    slack = 4.0 * rounding_m * (1.0 + reach / side.chord_m)
    beyond = _swing(circle, axis, place, side.place)
    step = 2.0 * asin(min(side.chord_m / (2.0 * circle.radius_m), 1.0))
    if arm_out > slack + EXACT_RAD * reach or not 0.0 < beyond <= min(1.2 * step, MAX_CHORD_RAD):
        return None
    direction = unit(minus(place, side.prior)) if reach > 0.0 else side.tangent
    allowed = EXACT_RAD + rounding_m * (9.0 / side.chord_m + 9.0 / max(reach, side.chord_m))
    for known in (side.line, side.prior_touching):
        if (
            known is not None
            and not side.prior_locked
            and angle_between(direction, known) <= allowed
        ):
            return RunEnd(side.prior, known, Tangency.LINE)
    return RunEnd(place, direction, Tangency.POINT)


def angle_about(axis: Vector, a: Vector, b: Vector) -> float:
    """Return the angle from one direction to another about an axis, in (-pi, pi]. [rad]"""
    return atan2(dot(cross(a, b), axis), dot(a, b))


def free_ends_fit(start: RunEnd, end: RunEnd, halves: Sequence[float]) -> bool:
    """Return whether a chord at a free end is like the others: a long one is a straight.

    Parameters
    ----------
    start, end : RunEnd
        The ends.
    halves : sequence of float
        Half the turn of each chord. [rad]
    """
    longest = max(halves[1:-1] or halves)
    return (start.tangency is not Tangency.FREE or halves[0] <= _FREE_EXCESS * longest) and (
        end.tangency is not Tangency.FREE or halves[-1] <= _FREE_EXCESS * longest
    )


def lacks_a_vertex_only(
    stretch: Stretch, one: CircleRun, start: RunEnd, end: RunEnd, halves: Sequence[float]
) -> bool:
    """Return whether equal chords go on to tangent points that stand one such chord on.

    A tangent vertex left out shows so. Corners have to obey the law of chords at the other end,
    between equal legs, and a turn no one states, to look alike.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    one : CircleRun
        Those on a circle.
    start, end : RunEnd
        The ends.
    halves : sequence of float
        Half the turn of each chord. [rad]
    """
    if {start.tangency, end.tangency} & {Tangency.FREE, Tangency.LINE}:
        return False
    circle = one.circle
    step, least = 2.0 * max(halves), 2.0 * min(halves)
    chord = min(stretch.legs[one.first : one.last])
    shaky = EXACT_RAD + _REGULAR_ROUNDINGS * stretch.rounding_m * step / (chord * halves[0])
    off = min(shaky, _REGULAR_SHARE * step)
    if step - least > off:
        return False
    first, last = stretch.rows[one.first], stretch.rows[one.last]
    beyond = (
        _swing(circle, circle.axis, start.place_m, first),
        _swing(circle, circle.axis, last, end.place_m),
    )
    # of a line shared with the next arc, one tangent point may have its vertex
    places = {Tangency.POINT: (step,), Tangency.JOINED: (0.0, step)}
    return all(
        held.tangency not in places
        or any(abs(swing - place) <= off for place in places[held.tangency])
        for held, swing in zip((start, end), beyond, strict=True)
    )


def doubt_of_ends(
    start: RunEnd,
    end: RunEnd,
    halves: Sequence[float],
    prefer_chords: bool,
    lacks_a_vertex_only: bool = False,
) -> str | None:
    """Return why a run might not be an arc, empty when it surely is, None when it is not accepted.

    Parameters
    ----------
    start, end : RunEnd
        The ends.
    halves : sequence of float
        Half the turn of each chord. [rad]
    prefer_chords : bool
        Whether ambiguous runs are wanted as arcs.
    lacks_a_vertex_only : bool
        Whether the chords are equal and what they lack is a tangent vertex one chord on.
    """
    unsure = {start.tangency, end.tangency} & {Tangency.FREE, Tangency.POINT}
    if not unsure:
        if len(halves) == 2:
            joined = Tangency.JOINED in (start.tangency, end.tangency)
            if joined and not lacks_a_vertex_only and not prefer_chords:
                return None
            return "it has only two chords, so it could be three corners"
        return ""
    enough = len(halves) >= 4 and 2.0 * max(halves) < FREE_CHORD_RAD
    if not enough and not lacks_a_vertex_only and not (prefer_chords and len(halves) >= 2):
        return None
    if Tangency.FREE in unsure:
        return "it reaches an end where no straight shows its tangent"
    return "its tangent point is not drawn"


def common_tangent(
    stretch: Stretch, one: CircleRun, other: CircleRun
) -> tuple[RunEnd, RunEnd] | None:
    """Return the straight between two runs that is tangent to both, as the end of each.

    In space, or where one of its tangent points has a vertex, it is a proof; in one plane two
    circles always have such a line, and it counts no more than a tangent from a point.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    one, other : CircleRun
        The runs, the first before the second.

    Returns
    -------
    (RunEnd, RunEnd) or None
        End of the first and start of the second; None where no line is tangent to both within
        rounding, or a tangent point lies inside its run or more than 1.2 chords beyond.
    """
    a, b = one.circle, other.circle
    leave, reach = stretch.rows[one.last], stretch.rows[other.first]
    back = negative(a.axis)
    for _ in range(100):
        here = _touch_point(a, back, reach)
        there = _touch_point(b, b.axis, here[0]) if here is not None else None
        if here is None or there is None:
            return None
        moved = norm(minus(here[0], leave)) + norm(minus(there[0], reach))
        leave, reach = here[0], there[0]
        if moved <= 1e-14 * a.radius_m:
            break
    if norm(minus(reach, leave)) < 1e-9:
        return None
    along = unit(minus(reach, leave))
    eps = stretch.rounding_m
    chord_a, chord_b = stretch.legs[one.last - 1], stretch.legs[other.first]
    shaky = 9.0 * eps * (1.0 / chord_a + 1.0 / chord_b)
    loose = EXACT_RAD + shaky
    if (
        max(angle_between(along, tangent_at(a, leave)), angle_between(along, tangent_at(b, reach)))
        > loose
    ):
        return None
    past = _swing(a, a.axis, stretch.rows[one.last], leave)
    ahead = _swing(b, b.axis, reach, stretch.rows[other.first])
    for swing, chord, circle in ((past, chord_a, a), (ahead, chord_b, b)):
        step = 2.0 * asin(min(chord / (2.0 * circle.radius_m), 1.0))
        if not -loose <= swing <= min(1.2 * step, MAX_CHORD_RAD):
            return None
    in_space = norm(cross(a.axis, b.axis)) > 10.0 * loose
    sure = in_space or min(past, ahead) <= loose
    tangency = Tangency.JOINED if sure else Tangency.POINT
    return RunEnd(leave, along, tangency), RunEnd(reach, along, tangency)


def _touch_point(circle: CircleFit, axis: Vector, place: Vector) -> tuple[Vector, float] | None:
    """Where the tangent from a place before the circle touches it, and how far that is."""
    arm = minus(place, circle.center_m)
    out = dot(arm, axis)
    flat = minus(arm, times(axis, out))
    away = norm(flat)
    if away < circle.radius_m:
        return None
    reach = sqrt(max(away * away - circle.radius_m**2, 0.0))
    angle = acos(min(circle.radius_m / away, 1.0))
    outward = times(flat, 1.0 / away)
    sideways = cross(axis, outward)
    spoke = plus(times(outward, cos(angle)), sideways, sin(angle))
    return plus(circle.center_m, spoke, circle.radius_m), reach


def _swing(circle: CircleFit, axis: Vector, start: Vector, end: Vector) -> float:
    """Angle traveled from one place on the circle to another, in (-pi, pi]."""
    a, b = minus(start, circle.center_m), minus(end, circle.center_m)
    return atan2(dot(cross(a, b), axis), dot(a, b))
