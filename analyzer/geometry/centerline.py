"""The centerline: segments joined end to end, with stations.

Tangent-continuous except at corners, which stand inside fittings and turn no arc.
Stations count from the first point, along the segments.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import accumulate, pairwise
from math import atan2, pi, sin

import numpy as np
from numpy.typing import ArrayLike

from analyzer.errors import InputError
from analyzer.geometry.segments import Arc, Floats, Segment, Vector, cross, dot, norm
from analyzer.geometry.vectors import distance, minus, plus, times

__all__ = [
    "CORNER_TOLERANCE_RAD",
    "JOINT_TOLERANCE_M",
    "Centerline",
    "Corner",
    "angle_between",
    "nearest_on",
]

JOINT_TOLERANCE_M = 1e-6
"""Largest gap between the end of one segment and the start of the next. [m]"""

CORNER_TOLERANCE_RAD = 1e-6
"""Turn between neighboring segments above which their joint is a corner. [rad]"""


@dataclass(frozen=True, slots=True)
class Corner:
    """A turn without an arc, inside a fitting: its station, angle and the axis it turns about."""

    station_m: float
    angle_rad: float
    axis: Vector


@dataclass(frozen=True, slots=True)
class Centerline:
    """Segments joined end to end.

    Attributes
    ----------
    segments : tuple of Segment
        In order of travel; each starts where the one before ends.
    stations_m : tuple of float
        Station of every joint: one more than segments, from 0 to the length. [m]

    Raises
    ------
    InputError
        If there is no segment, or two neighbors do not meet.
    """

    segments: tuple[Segment, ...]
    stations_m: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.segments:
            raise InputError("a centerline needs at least one segment")
        for index, (before, after) in enumerate(pairwise(self.segments)):
            gap = norm(minus(after.start_m, before.end_m))
            if gap > JOINT_TOLERANCE_M:
                raise InputError(f"segments {index} and {index + 1} are {gap:.3g} m apart")
        stations = (0.0, *accumulate(segment.length_m for segment in self.segments))
        object.__setattr__(self, "stations_m", stations)

    @property
    def length_m(self) -> float:
        """Length from the first to the last point. [m]"""
        return self.stations_m[-1]

    @property
    def start_m(self) -> Vector:
        """First point. [m]"""
        return self.segments[0].start_m

    @property
    def end_m(self) -> Vector:
        """Last point. [m]"""
        return self.segments[-1].end_m

    def corners(self) -> tuple[Corner, ...]:
        """Return the turns between neighboring segments that no arc makes."""
        found = []
        for station, (before, after) in zip(
            self.stations_m[1:], pairwise(self.segments), strict=False
        ):
            t1, t2 = before.end_tangent, after.start_tangent
            angle = angle_between(t1, t2)
            if angle > CORNER_TOLERANCE_RAD:
                axis = cross(t1, t2)
                size = norm(axis)
                if size == 0.0:
                    raise InputError(f"the centerline turns back on itself at {station:.6g} m")
                unit_axis = (axis[0] / size, axis[1] / size, axis[2] / size)
                found.append(Corner(station, angle, unit_axis))
        return tuple(found)

    def points_at(self, station_m: ArrayLike) -> Floats:
        """Return the points at stations, shape (n, 3). [m]

        Raises
        ------
        InputError
            If a station lies outside the centerline by more than a micrometer.
        """
        return self._sample(station_m, tangents=False)

    def tangents_at(self, station_m: ArrayLike) -> Floats:
        """Return the unit tangents at stations, shape (n, 3); at a corner, the one after it."""
        return self._sample(station_m, tangents=True)

    def _sample(self, station_m: ArrayLike, *, tangents: bool) -> Floats:
        stations = np.atleast_1d(np.asarray(station_m, dtype=float))
        joints = np.asarray(self.stations_m)
        if stations.size and (stations.min() < -1e-6 or stations.max() > joints[-1] + 1e-6):
            raise InputError(f"a station lies outside 0 to {joints[-1]:.6g} m")
        index = np.clip(np.searchsorted(joints, stations, side="right") - 1, 0, len(joints) - 2)
        result = np.empty((stations.size, 3))
        for i in np.unique(index):
            rows = index == i
            segment = self.segments[i]
            local = np.clip(stations[rows] - joints[i], 0.0, segment.length_m)
            result[rows] = segment.tangents_at(local) if tangents else segment.points_at(local)
        return result

    def reversed(self) -> Centerline:
        """Return the same centerline traveled the other way."""
        return Centerline(tuple(segment.reversed() for segment in reversed(self.segments)))

    def part(self, from_m: float, to_m: float) -> Centerline:
        """Return the part between two stations; pieces shorter than a nanometer are dropped. [m]

        Raises
        ------
        InputError
            If the part has no length.
        """
        if not to_m - from_m > 1e-9:
            raise InputError(f"no length between stations {from_m:.6g} m and {to_m:.6g} m")
        pieces: list[Segment] = []
        for start, segment in zip(self.stations_m, self.segments, strict=False):
            low, high = max(from_m - start, 0.0), min(to_m - start, segment.length_m)
            if high - low > 1e-9:
                whole = low == 0.0 and high == segment.length_m
                pieces.append(segment if whole else segment.part(low, high))
        return Centerline(tuple(pieces))

    def nearest_station(self, point_m: Vector) -> tuple[float, float]:
        """Return the station nearest to a point and how far away it is, both in meters."""
        return min(self.near_stations(point_m), key=lambda pair: pair[1])

    def near_stations(self, point_m: Vector) -> tuple[tuple[float, float], ...]:
        """Return station and distance of the nearest place on each segment, in order. [m]"""
        found = []
        for start, segment in zip(self.stations_m, self.segments, strict=False):
            local, away = nearest_on(segment, point_m)
            found.append((start + local, away))
        return tuple(found)


def angle_between(a: Vector, b: Vector) -> float:
    """Return the angle between two directions, exact also near 0 and pi. [rad]"""
    return atan2(norm(cross(a, b)), dot(a, b))


def nearest_on(segment: Segment, place_m: Vector) -> tuple[float, float]:
    """Return where on a segment the place nearest to another is, and how far away that is.

    In plain floats: it is asked for at every drawn point.

    Parameters
    ----------
    segment : Segment
        A straight or an arc.
    place_m : (3,) float
        The other place. [m]

    Returns
    -------
    along_m, away_m : float
        Distance along the segment from its start, and between the two places. [m]
    """
    offset = minus(place_m, segment.start_m)
    tangent = segment.start_tangent
    along = dot(offset, tangent)
    if not isinstance(segment, Arc):
        along = min(max(along, 0.0), segment.length_m)
        return along, distance(offset, times(tangent, along))
    normal, radius = segment.start_normal, segment.radius_m
    angle = atan2(along, radius - dot(offset, normal))
    if not 0.0 <= angle <= segment.angle_rad:
        # beside the arc: the end that is less far round the circle
        past = abs(angle - segment.angle_rad)
        angle = segment.angle_rad if min(past, 2.0 * pi - past) < abs(angle) else 0.0
    foot = plus(times(tangent, sin(angle)), normal, 2.0 * sin(angle / 2.0) ** 2)
    return angle * radius, distance(offset, times(foot, radius))
