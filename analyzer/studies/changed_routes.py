"""Runs with one bend changed, for studies of what a radius or an angle does.

Nothing else changes: the radius keeps the bend's angle and every straight its length, so what
lies beyond moves along; more turning is a corner without weight at one end of the bend, where the
rest is turned about the vertical, so that every slope stays as it is. Where both ends are too
steep for that, half of it is turned out and half back again at one place: the slopes stay, and
the conductors still turn by so much more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import asin, cos, hypot, sin

from analyzer.errors import InputError
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, cross, unit
from analyzer.route.run import Fitting, Run

__all__ = ["with_more_turning", "with_radius"]

_SAME_PLACE_M = 1e-6
_LEAST_ACROSS = 0.2
_STEP_M = 1e-5


def with_radius(run: Run, bend: Bend, factor: float) -> Run:
    """Return the run with the radius of one bend multiplied by a factor.

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
        If the bend has no arc or the factor is not above zero.
    """
    if not factor > 0.0:
        raise InputError(f"a radius can be multiplied by more than zero only: got {factor}")
    segments: list[Segment] = []
    stations, moved = [0.0], (0.0, 0.0, 0.0)
    changed = False
    old = run.centerline.stations_m
    for index, segment in enumerate(run.centerline.segments):
        new = _shifted(segment, moved)
        # a bend with a pull point in it is two bends on one arc: the arc changes with either
        shared = min(old[index + 1], bend.end_station_m) - max(old[index], bend.station_m)
        if isinstance(new, Arc) and shared > _SAME_PLACE_M:
            arm = _minus(new.center_m, new.start_m)
            new = replace(new, center_m=_plus(new.start_m, arm, factor))
            moved = _plus(moved, _minus(new.end_m, _plus(segment.end_m, moved, 1.0)), 1.0)
            changed = True
        segments.append(new)
        stations.append(stations[-1] + new.length_m)
    if not changed:
        raise InputError(f"bend {bend.number} has no arc whose radius could change")
    return _rebuilt(
        run, Centerline(tuple(segments)), lambda s: _map(s, old, stations), bend, factor
    )


def with_more_turning(run: Run, bend: Bend, extra_rad: float) -> Run | None:
    """Return the run with more turning in one bend, all slopes and lengths as they are.

    Parameters
    ----------
    run : Run
        The run.
    bend : Bend
        The bend that turns more.
    extra_rad : float
        How much more, above zero. [rad]

    Returns
    -------
    Run or None
        None where no end of the bend is a joint to turn at: it is the whole run, or shares an arc.
    """
    ends = [
        (_across(run.centerline, station), station)
        for station in (bend.end_station_m, bend.station_m)
        if any(abs(station - j) <= _SAME_PLACE_M for j in run.centerline.stations_m[1:-1])
    ]
    if not ends:
        return None
    across, pivot_station = max(ends)
    if across < _LEAST_ACROSS:
        return _turned_out_and_back(run, bend, pivot_station, extra_rad)
    turn = 2.0 * asin(sin(extra_rad / 2.0) / across)
    x, y, z = (float(v) for v in run.centerline.points_at([pivot_station])[0])
    segments = [
        _turned(segment, turn, (x, y, z)) if start >= pivot_station - _SAME_PLACE_M else segment
        for start, segment in zip(run.centerline.stations_m, run.centerline.segments, strict=False)
    ]
    return _rebuilt(run, Centerline(tuple(segments)), lambda s: s, bend, 1.0)


def _turned_out_and_back(run: Run, bend: Bend, station_m: float, extra_rad: float) -> Run:
    """Return the run with a short straight between two corners at a joint, the rest moved along."""
    stations = run.centerline.stations_m
    joint = min(range(1, len(stations) - 1), key=lambda i: abs(stations[i] - station_m))
    before, after = run.centerline.segments[joint - 1], run.centerline.segments[joint]
    tangent = before.end_tangent
    aside = unit(cross(tangent, (1.0, 0.0, 0.0) if abs(tangent[0]) < 0.5 else (0.0, 1.0, 0.0)))
    along, across = cos(extra_rad / 2.0), sin(extra_rad / 2.0)
    heading = (
        along * tangent[0] + across * aside[0],
        along * tangent[1] + across * aside[1],
        along * tangent[2] + across * aside[2],
    )
    step = Straight(after.start_m, _plus(after.start_m, heading, _STEP_M))
    moved = _minus(step.end_m, step.start_m)
    segments = (
        *run.centerline.segments[:joint],
        step,
        *(_shifted(segment, moved) for segment in run.centerline.segments[joint:]),
    )
    return _rebuilt(
        run,
        Centerline(segments),
        lambda s: s if s <= station_m + _SAME_PLACE_M / 2.0 else s + _STEP_M,
        bend,
        1.0,
    )


def _rebuilt(
    run: Run, centerline: Centerline, station: Callable[[float], float], bend: Bend, factor: float
) -> Run:
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
            radius_m=item.radius_m * factor
            if item.number == bend.number and item.radius_m is not None
            else item.radius_m,
        )
        for item in run.bends
    )
    fittings = tuple(place(fitting) for fitting in run.fittings)
    return replace(run, centerline=centerline, bends=bends, fittings=fittings)


def _map(station: float, old: tuple[float, ...], new: list[float]) -> float:
    """Return the station on the changed line: the same part of the same segment."""
    for index in range(len(old) - 1):
        if station <= old[index + 1] or index == len(old) - 2:
            whole = old[index + 1] - old[index]
            part = min(max((station - old[index]) / whole, 0.0), 1.0)
            return new[index] + part * (new[index + 1] - new[index])
    return station


def _across(centerline: Centerline, station_m: float) -> float:
    x, y, _ = centerline.tangents_at([station_m])[0]
    return hypot(float(x), float(y))


def _shifted(segment: Segment, by: Vector) -> Segment:
    if isinstance(segment, Straight):
        return Straight(_plus(segment.start_m, by, 1.0), _plus(segment.end_m, by, 1.0))
    return replace(
        segment,
        start_m=_plus(segment.start_m, by, 1.0),
        center_m=_plus(segment.center_m, by, 1.0),
    )


def _turned(segment: Segment, turn: float, pivot: Vector) -> Segment:
    def about(point: Vector) -> Vector:
        x, y = point[0] - pivot[0], point[1] - pivot[1]
        c, s = cos(turn), sin(turn)
        return (pivot[0] + c * x - s * y, pivot[1] + s * x + c * y, point[2])

    if isinstance(segment, Straight):
        return Straight(about(segment.start_m), about(segment.end_m))
    c, s = cos(turn), sin(turn)
    x, y, z = segment.axis
    axis = (c * x - s * y, s * x + c * y, z)
    return Arc(about(segment.start_m), about(segment.center_m), axis, segment.angle_rad)


def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _plus(a: Vector, b: Vector, times: float) -> Vector:
    return (a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2])
