"""Runs with one bend changed, for studies of what a radius or an angle does.

Nothing else changes: another radius keeps the bend's angle and its corner (see `redrawn_bends`);
more angle makes the arc longer at its radius, and the shorter part of the run, before or behind
the bend, turns with it about the axis of the bend. The longer part keeps its slopes: a stub leans
sooner than a whole run.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import cos, sin

from analyzer.errors import InputError
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, cross, dot
from analyzer.geometry.vectors import minus, plus
from analyzer.route.run import SAME_PLACE_M, Fitting, Run
from analyzer.studies.redrawn_bends import bend_to_redraw

__all__ = ["with_more_turning", "with_radius"]

_SHORTEST_M = 1e-9


def with_radius(run: Run, bend: Bend, factor: float) -> Run:
    """Return the run with the radius of one bend multiplied by a factor, as `redrawn_bends` does.

    The corner stays, and the straights beside the bend give or take the difference; a bend
    without a corner keeps them, and what lies beyond moves along. Fittings stay where they are on
    a straight, and at the same part of a bend. An arc that a pull point divides changes as one.

    Parameters
    ----------
    run : Run
        The run; its files, findings and reading stay as they are.
    bend : Bend
        One of its bends with a radius; every arc of it is scaled.
    factor : float
        More than zero.

    Raises
    ------
    InputError
        If the bend has no arc, the factor is not above zero, or the bend does not fit between its
        neighbors then.
    """
    if not factor > 0.0:
        raise InputError(f"a radius can be multiplied by more than zero only: got {factor}")
    drawn = bend_to_redraw(run, bend)
    if drawn is None:
        raise InputError(f"bend {bend.number} has no arc whose radius could change")
    if not drawn.fits(factor):
        raise InputError(
            f"bend {bend.number} has no room for a radius {factor:.4g} times its own between the "
            "bends, fittings and ends beside it"
        )
    line, whole = drawn.line(factor), run.centerline
    longer = line.length_m - (drawn.to_m - drawn.from_m)
    parts = [list(line.segments)]
    if drawn.from_m > _SHORTEST_M:
        parts.insert(0, list(whole.part(0.0, drawn.from_m).segments))
    if whole.length_m - drawn.to_m > _SHORTEST_M:
        parts.append(list(whole.part(drawn.to_m, whole.length_m).segments))
    segments = parts[0]
    for part in parts[1:]:
        moved = minus(segments[-1].end_m, part[0].start_m)
        segments += [_shifted(segment, moved) for segment in part]

    def place(station_m: float) -> float:
        if station_m <= drawn.from_m:
            return station_m
        if station_m >= drawn.to_m:
            return station_m + longer
        return drawn.from_m + drawn.place(station_m, factor)

    changed = _rebuilt(run, Centerline(tuple(segments)), place)
    start = drawn.from_m + drawn.start_on_line_m(factor)
    bends = list(changed.bends)
    for index, item in enumerate(run.bends):
        low, high = item.station_m - drawn.start_m, item.end_station_m - drawn.start_m
        if (
            item.radius_m is None
            or low < -SAME_PLACE_M
            or item.end_station_m > drawn.end_m + SAME_PLACE_M
        ):
            continue
        bends[index] = replace(
            item,
            station_m=start + factor * low,
            end_station_m=start + factor * high,
            radius_m=factor * item.radius_m,
        )
    return replace(changed, bends=tuple(bends))


def with_more_turning(run: Run, bend: Bend, extra_rad: float) -> Run:
    """Return the run with one bend turned further at its radius.

    The part of the run that turns with it is the shorter one, before or behind the bend. A curve
    of several radii grows where it turns most.

    Parameters
    ----------
    run : Run
        The run.
    bend : Bend
        The bend that turns more.
    extra_rad : float
        How much more, above zero and at most pi. [rad]

    Raises
    ------
    InputError
        If the bend has no arc.
    """
    index, place_m = _place_to_grow(run.centerline, bend)
    arc = run.centerline.segments[index]
    assert isinstance(arc, Arc)
    start_m = run.centerline.stations_m[index]
    before = list(run.centerline.segments[:index])
    after = list(run.centerline.segments[index + 1 :])
    before.append(arc.part(0.0, place_m - start_m))
    if arc.length_m - (place_m - start_m) > SAME_PLACE_M:
        after.insert(0, arc.part(place_m - start_m, arc.length_m))
    joint_m = before[-1].end_m
    if run.centerline.length_m - place_m <= bend.station_m:
        after = [_turned(item, arc.axis, extra_rad, arc.center_m) for item in after]
    else:
        before = [_turned(item, arc.axis, -extra_rad, arc.center_m) for item in before]
        joint_m = before[-1].end_m
    grown = Arc(joint_m, arc.center_m, arc.axis, extra_rad)
    added_m = grown.length_m
    turned = _rebuilt(
        run,
        Centerline((*before, grown, *after)),
        lambda s: s if s < place_m - SAME_PLACE_M else s + added_m,
    )
    bends = tuple(
        replace(item, angle_rad=item.angle_rad + extra_rad) if item.number == bend.number else item
        for item in turned.bends
    )
    return replace(turned, bends=bends)


def _place_to_grow(centerline: Centerline, bend: Bend) -> tuple[int, float]:
    """Return the arc of a bend that turns most in it, and the station where its part ends."""
    found = []
    stations = centerline.stations_m
    for index, segment in enumerate(centerline.segments):
        low = max(stations[index], bend.station_m)
        high = min(stations[index + 1], bend.end_station_m)
        if isinstance(segment, Arc) and high - low > SAME_PLACE_M:
            found.append(((high - low) / segment.radius_m, index, high))
    if not found:
        raise InputError(f"bend {bend.number} has no arc that could turn more")
    most = max(turned for turned, _, _ in found)
    # the last of those that turn as far, so that a bend of one radius grows at its end
    _, index, place_m = [item for item in found if item[0] >= most - 1e-9][-1]
    return index, place_m


def _rebuilt(run: Run, centerline: Centerline, station: Callable[[float], float]) -> Run:
    """Return the run on another centerline, its bends and fittings at their new stations."""

    def place(fitting: Fitting) -> Fitting:
        at = min(station(fitting.station_m), centerline.length_m)
        x, y, z = (float(v) for v in centerline.points_at([at])[0])
        return replace(fitting, station_m=at, position_m=(x, y, z))

    bends = tuple(
        replace(
            item,
            station_m=station(item.station_m),
            end_station_m=station(item.end_station_m),
        )
        for item in run.bends
    )
    fittings = tuple(place(fitting) for fitting in run.fittings)
    return replace(run, centerline=centerline, bends=bends, fittings=fittings)


def _shifted(segment: Segment, by: Vector) -> Segment:
    if isinstance(segment, Straight):
        return Straight(plus(segment.start_m, by, 1.0), plus(segment.end_m, by, 1.0))
    return replace(
        segment,
        start_m=plus(segment.start_m, by, 1.0),
        center_m=plus(segment.center_m, by, 1.0),
    )


def _turned(segment: Segment, axis: Vector, turn_rad: float, pivot: Vector) -> Segment:
    """Return a segment turned by the right-hand rule about an axis through a point."""
    c, s = cos(turn_rad), sin(turn_rad)

    def direction(v: Vector) -> Vector:
        w, along = cross(axis, v), (1.0 - c) * dot(axis, v)
        return (
            c * v[0] + s * w[0] + along * axis[0],
            c * v[1] + s * w[1] + along * axis[1],
            c * v[2] + s * w[2] + along * axis[2],
        )

    def about(point: Vector) -> Vector:
        return plus(pivot, direction(minus(point, pivot)), 1.0)

    if isinstance(segment, Straight):
        return Straight(about(segment.start_m), about(segment.end_m))
    return Arc(
        about(segment.start_m), about(segment.center_m), direction(segment.axis), segment.angle_rad
    )
