"""Bends split at a fitting that stands inside them, and joined again where it is gone."""

from __future__ import annotations

from dataclasses import replace

from analyzer.errors import InputError
from analyzer.geometry.attitudes import attitude_of
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Attitude, Bend
from analyzer.geometry.segments import cross, unit
from analyzer.geometry.vectors import to_vector

__all__ = ["join_bends", "split_bend"]


def split_bend(bend: Bend, station_m: float, centerline: Centerline) -> tuple[Bend, Bend]:
    """Return the two parts of a bend that a fitting stands in the middle of.

    Angles are shared in proportion to length; both parts keep the number, which the caller sets
    anew. The second part has rotation 0: it lies in the plane of the first. A crest split at its
    top is a rising and a falling part.

    Raises
    ------
    InputError
        If the station is not inside the bend.
    """
    length = bend.end_station_m - bend.station_m
    if not bend.station_m < station_m < bend.end_station_m:
        raise InputError(
            f"station {station_m:.6g} m is not inside bend {bend.number}, "
            f"{bend.station_m:.6g} to {bend.end_station_m:.6g} m"
        )
    share = (station_m - bend.station_m) / length
    first = replace(bend, end_station_m=station_m, angle_rad=bend.angle_rad * share)
    second = replace(
        bend, station_m=station_m, angle_rad=bend.angle_rad * (1.0 - share), rotation_rad=0.0
    )
    return _with_attitude(first, centerline), _with_attitude(second, centerline)


def join_bends(first: Bend, second: Bend, centerline: Centerline) -> Bend:
    """Return the bend whose two parts `split_bend` returned; it keeps the number of the first.

    Raises
    ------
    InputError
        If the second part does not begin where the first one ends.
    """
    if second.station_m != first.end_station_m:
        raise InputError(f"bend {second.number} does not begin where bend {first.number} ends")
    angle = first.angle_rad + second.angle_rad
    whole = replace(first, end_station_m=second.end_station_m, angle_rad=angle)
    return _with_attitude(whole, centerline)


def _with_attitude(part: Bend, centerline: Centerline) -> Bend:
    """Return a vertical bend, or a part of one, with the attitude of its own two ends."""
    if part.attitude in (Attitude.LEVEL, Attitude.TILTED):
        return part
    # within a quarter of a turn the two directions tell the plane
    ahead = part.station_m + (part.end_station_m - part.station_m) / 4.0
    places = [part.station_m, ahead, part.end_station_m]
    into, near, out = (to_vector(row) for row in centerline.tangents_at(places))
    start, _, end = centerline.points_at(places)
    rise = float(end[2] - start[2])
    axis = unit(cross(into, near))
    return replace(part, attitude=attitude_of(axis, into, out, part.angle_rad, rise))
