"""Paths of a file as read, and how far a fitting stands from them."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import radians, tan
from typing import Protocol

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.readings import ReadAs, Reading
from analyzer.geometry.segments import Arc, Floats, Segment, Vector, norm
from analyzer.geometry.vectors import distance, to_vector
from analyzer.job.settings import FittingKind
from analyzer.route.run import SAME_PLACE_M
from analyzer.units import inches

__all__ = [
    "Extents",
    "FoundFitting",
    "PathToPlace",
    "Reach",
    "extents_distance",
    "sharp_corners",
    "surveyed_corners",
]

Extents = tuple[Vector, Vector]
"""Lower and upper corner of a drawn symbol. [m]"""

_SHARP_RAD = radians(150.0)
_WHOLE_M = inches(6)
_TURN_RAD = 1e-6


class FoundFitting(Protocol):
    """A fitting as a file shows it; `path` and `vertex` where the file says where it belongs."""

    @property
    def name(self) -> str:
        """Its label."""

    @property
    def kind(self) -> FittingKind:
        """Its kind."""

    @property
    def position_m(self) -> Vector:
        """Where it stands. [m]"""

    @property
    def where(self) -> str:
        """Layer and handle, or row."""

    @property
    def path(self) -> int | None:
        """Index of its path, or None."""

    @property
    def vertex(self) -> int | None:
        """Index of its vertex on that path, or None."""

    @property
    def extents_m(self) -> Extents | None:
        """Corners of its drawn symbol, or None. [m]"""

    @property
    def layout(self) -> str:
        """Layout of the drawing it stands in: it stands on runs of that only."""

    @property
    def numbered(self) -> str:
        """What it shares with others where its name is that and a number; else empty."""


@dataclass(frozen=True, slots=True)
class PathToPlace:
    """A drawn path with its run name, and how it is read.

    Attributes
    ----------
    name : str
        Name of the run.
    path : DrawnPath
        What was drawn, in travel order.
    read : callable
        Gives the reading with a set of vertices kept as corners.
    layout : str
        Layout of the drawing it is drawn in, empty for model space and for points.
    """

    name: str
    path: DrawnPath
    read: Callable[[frozenset[int]], Reading]
    layout: str = ""


class Reach:
    """How far points stand from one path as read: its centerline and its sharp corners.

    Distances count to a drawn corner too, because a bend cuts its corner on purpose. `box_m` holds
    the lowest and the highest corner of a box that no part of it is outside of, (3,) each. [m]
    """

    def __init__(self, path: DrawnPath, reading: Reading) -> None:
        vertices = path.vertices_m
        self.centerline = reading.centerline
        self.corners = [to_vector(vertices[v]) for v in sorted(sharp_corners(path, reading))]
        self.corners += [corner for _, corner in surveyed_corners(path, reading).values()]
        segments = reading.centerline.segments
        ends = [segments[0].start_m, *(segment.end_m for segment in segments), *self.corners]
        # an arc of at most half a turn bulges by no more than its radius
        bulge = max((s.radius_m for s in segments if isinstance(s, Arc)), default=0.0)
        self.box_m = np.min(ends, axis=0) - bulge, np.max(ends, axis=0) + bulge

    def distance_m(self, point_m: Vector) -> float:
        """Return the distance from a point to the centerline or to a sharp corner. [m]"""
        line = self.centerline.nearest_station(point_m)[1]
        return min([line, *(distance(point_m, corner) for corner in self.corners)])

    def symbol_distance_m(self, extents_m: Extents) -> float:
        """Return the distance from a drawn symbol to the centerline or to a sharp corner. [m]"""
        low, high = np.asarray(extents_m[0]), np.asarray(extents_m[1])
        best = min(
            (extents_distance(corner, extents_m) for corner in self.corners), default=float("inf")
        )
        reach = float(np.linalg.norm(high - low)) / 2.0
        middle = (low + high) / 2.0
        for segment in self.centerline.segments:
            # no point of a segment is farther from its start than its length
            far = float(np.linalg.norm(np.asarray(segment.start_m) - middle))
            if far - segment.length_m - reach < best:
                best = min(best, _to_segment_m(segment, low, high))
        return best


def _to_segment_m(segment: Segment, low: Floats, high: Floats) -> float:
    """Distance from a box to a segment: sampled, then refined where it is nearest."""
    start, stop = 0.0, segment.length_m
    best = float("inf")
    while True:
        stations = np.linspace(start, stop, 33)
        places = segment.points_at(stations)
        away = np.linalg.norm(np.maximum(np.maximum(low - places, places - high), 0.0), axis=1)
        nearest = int(np.argmin(away))
        best = min(best, float(away[nearest]))
        if best == 0.0 or stop - start < SAME_PLACE_M:
            return best
        start = float(stations[max(nearest - 1, 0)])
        stop = float(stations[min(nearest + 1, 32)])


def extents_distance(point_m: Vector, extents_m: Extents) -> float:
    """Return the distance from a point to a drawn symbol; 0 inside it. [m]"""
    low, high = extents_m
    return norm(
        (
            max(low[0] - point_m[0], 0.0, point_m[0] - high[0]),
            max(low[1] - point_m[1], 0.0, point_m[1] - high[1]),
            max(low[2] - point_m[2], 0.0, point_m[2] - high[2]),
        )
    )


def sharp_corners(path: DrawnPath, reading: Reading) -> frozenset[int]:
    """Return the vertices read as sharp corners, those kept as corners included."""
    sharp = [b for b in reading.bends if b.in_fitting or b.read_as is ReadAs.CORNERS]
    if not sharp:
        return frozenset()
    found = []
    ends_m = [bend.end_station_m for bend in sharp]
    for index, (before, after) in enumerate(pairwise(path.edges), start=1):
        if angle_between(before.segment.end_tangent, after.segment.start_tangent) <= _TURN_RAD:
            continue
        station = reading.vertex_station_m[index]
        # bends stand in order: of those that end no earlier the first begins first
        at = bisect_left(ends_m, station - SAME_PLACE_M)
        if at < len(sharp) and sharp[at].station_m - SAME_PLACE_M <= station:
            found.append(index)
    return frozenset(found)


def surveyed_corners(path: DrawnPath, reading: Reading) -> dict[int, tuple[int, Vector]]:
    """Return, by index of the bend, the corner of each sharp survey bend and the vertex nearest.

    The corner is where the straights beside the bend meet; points may stand on it or beside it.
    Sharp for all one knows: the points do not tell its radius, or it turns within six inches of
    its corner. In a fitting such a bend is the fitting's corner.
    """
    found: dict[int, tuple[int, Vector]] = {}
    for index, bend in enumerate(reading.bends):
        if bend.radius_determined is None or bend.in_fitting or bend.angle_rad > _SHARP_RAD:
            continue
        reach = (bend.radius_m or 0.0) * tan(bend.angle_rad / 2.0)
        if bend.radius_determined and reach > _WHOLE_M:
            continue
        here = reading.centerline.points_at([bend.station_m, bend.end_station_m])
        into, out = reading.centerline.tangents_at([bend.station_m, bend.end_station_m])
        if np.linalg.norm(np.cross(into, out)) < _TURN_RAD:
            continue
        corner = meeting_point(*(to_vector(row) for row in (here[0], into, here[1], out)))
        away = np.linalg.norm(path.vertices_m - np.array(corner), axis=1)
        vertex = int(np.argmin(away))
        if 0 < vertex < len(path.edges):
            found[index] = (vertex, corner)
    return found
