"""Where in a file a fault of its route stands: file, place in the file's unit, row or entity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import degrees

from analyzer.errors import PlacedError, RouteError
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.corners import LARGEST_TURN_RAD
from analyzer.geometry.drawn import DrawnEdge
from analyzer.geometry.polyline import REPEAT_M
from analyzer.geometry.segments import Vector
from analyzer.importers.chaining.drawn_curves import distance_m
from analyzer.importers.near_points import COINCIDENT_M
from analyzer.importers.told_places import UnitText, place_list
from analyzer.units import LengthUnit

__all__ = ["FilePlaces", "Mark", "curve_marks", "out_and_back"]

_DECIMALS = 5

Mark = tuple[Vector, str]
"""A point of the file, in meters, and what stands there: a row, or layer and handle."""


@dataclass(frozen=True, slots=True)
class FilePlaces:
    """What one run of a file needs to tell where a fault stands.

    Attributes
    ----------
    file : str
        Name of the file.
    unit_name : str
        Its length unit; what is no single unit gives places in meters only.
    marks : tuple of Mark
        Points of the run. [m]
    """

    file: str
    unit_name: str
    marks: tuple[Mark, ...] = ()

    def told(self, error: RouteError) -> RouteError:
        """Return an error about the run with the file's name and, where it has one, its place."""
        if not isinstance(error, PlacedError) or error.place_m is None:
            return RouteError(f"{self.file}: {error}")
        return RouteError(f"{self.file}: {error.said_at(self.place(error.place_m))}")

    def place(self, place_m: Vector) -> str:
        """Return a place as text: in the file's unit, in meters, and what stands there. [m]"""
        x, y, z = (f"{round(value, _DECIMALS) + 0.0:.15g}" for value in place_m)
        meters = f"({x}, {y}, {z}) m"
        try:
            unit = LengthUnit(self.unit_name)
        except ValueError:
            unit = LengthUnit.METER
        text = (
            meters if unit is LengthUnit.METER else f"{UnitText(unit).place(place_m)} or {meters}"
        )
        marked = self._marked(place_m)
        return f"{text} ({marked})" if marked else text

    def _marked(self, place_m: Vector) -> str:
        if not self.marks:
            return ""
        away = [distance_m(point, place_m) for point, _ in self.marks]
        least = min(away)
        names = [
            name
            for far, (_, name) in zip(away, self.marks, strict=True)
            if far <= least + COINCIDENT_M
        ]
        near = "" if least <= COINCIDENT_M else "near "
        return near + place_list(list(dict.fromkeys(names)))


def curve_marks(edges: Sequence[DrawnEdge], where: str) -> list[Mark]:
    """Return the ends of edges as marks with one name."""
    ends = [edge.segment.start_m for edge in edges] + [edges[-1].segment.end_m]
    return [(end, where) for end in ends]


def out_and_back(edges: Sequence[DrawnEdge]) -> PlacedError | None:
    """Return what to say of edges that go somewhere and the same way back; else None.

    They end where they start, but are no loop.
    """
    kept = [edge for edge in edges if edge.segment.length_m > REPEAT_M]
    points = [edge.segment.start_m for edge in kept] + [edge.segment.end_m for edge in kept[-1:]]
    middle = len(kept) // 2
    if len(kept) < 2 or len(kept) % 2:
        return None
    if any(distance_m(a, b) > COINCIDENT_M for a, b in zip(points, reversed(points), strict=True)):
        return None
    before, after = next(pairwise(kept[middle - 1 :]))
    turn = angle_between(before.segment.end_tangent, after.segment.start_tangent)
    if turn <= LARGEST_TURN_RAD:
        return None
    return PlacedError(
        f"turns back on itself by {degrees(turn):.4g}°",
        points[middle],
        " and ends where it starts: no raceway bends so; leave out the way back",
    )
