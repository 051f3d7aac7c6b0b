"""What stands where runs end: boxes, other fittings, and closed curves that may be some.

What one says of ends goes by its symbol, its stated size and its own reach (`Box.holds_end`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import dist, inf

import numpy as np

from analyzer.geometry.segments import Arc, Floats, Vector
from analyzer.geometry.vectors import to_vector
from analyzer.importers.chaining.chains import Box
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.near_points import within_boxes
from analyzer.units import ft

__all__ = ["Standing", "loop_boxes"]

_FLAT_M = 1e-6
_LARGEST_M = ft(10)  # a closed curve across more is a room or a floor, no enclosure


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands in a drawing.

    Attributes
    ----------
    boxes : tuple of Box
        Fittings that conductors pass.
    stops : tuple of Box
        Fittings of any kind, panels and equipment too.
    loops : tuple of Box
        Closed curves that no fitting is known by, named by where they stand.
    symbols : tuple of Box
        What is drawn as a panel or equipment and may be raceway, named by what to say of one that
        stands in a gap.
    sources : tuple of Box
        Panels and equipment that conductors end at.
    """

    boxes: tuple[Box, ...]
    stops: tuple[Box, ...]
    loops: tuple[Box, ...]
    symbols: tuple[Box, ...] = ()
    sources: tuple[Box, ...] = ()

    def in_layout(self, name: str) -> Standing:
        """Return what stands in one layout; `name` is empty for model space."""

        def within(boxes: tuple[Box, ...]) -> tuple[Box, ...]:
            return tuple(box for box in boxes if box.layout in (None, name))

        every = (self.boxes, self.stops, self.loops, self.symbols, self.sources)
        return Standing(*map(within, every))

    def stop_at(self, place_m: Vector, snap_m: float) -> Box | None:
        """Return the nearest fitting of any kind that a place lies at, if any."""
        away = [(stop.away_m(place_m), stop.middle_away_m(place_m), stop) for stop in self.stops]
        near = [one for one in away if one[2].holds_end(place_m, snap_m)]
        return min(near, key=lambda one: one[:2])[2] if near else None

    def stops_at(self, places_m: Floats, snap_m: float) -> list[set[int]]:
        """Return for each of (n, 3) places which fittings of any kind it lies at."""
        held: list[set[int]] = [set() for _ in places_m]
        for index, stop in enumerate(self.stops):
            near = within_boxes(places_m, np.array(stop.low_m), np.array(stop.high_m), snap_m)
            for place in np.flatnonzero(near).tolist():
                if stop.holds_end(to_vector(places_m[place]), snap_m):
                    held[place].add(index)
        return held

    def keeps_apart(self, one_m: Vector, other_m: Vector, snap_m: float) -> bool:
        """Return whether two runs end there for a reason.

        One of them at a fitting, both in plan at one drawn flat, at whatever height, or each at a
        closed curve of its own.
        """
        for stop in self.stops:
            holds_one = stop.holds_end(one_m, snap_m) or stop.holds_end(other_m, snap_m)
            if holds_one or _in_plan_at(stop, one_m, other_m, snap_m):
                return True
        first = {loop for loop in self.loops if loop.holds_end(one_m, snap_m)}
        second = {loop for loop in self.loops if loop.holds_end(other_m, snap_m)}
        return bool(first - second) and bool(second - first)

    def loop_at(self, place_m: Vector, snap_m: float) -> bool:
        """Return whether a place lies at a closed curve that no fitting is known by."""
        return any(loop.holds_end(place_m, snap_m) for loop in self.loops)

    def symbol_at(self, one_m: Vector, other_m: Vector, join_m: float) -> str | None:
        """Return what to say of the smallest symbol that both places lie at, if any."""
        both = (s for s in self.symbols if max(s.away_m(one_m), s.away_m(other_m)) <= join_m)
        found = min(both, key=lambda symbol: dist(symbol.low_m, symbol.high_m), default=None)
        return None if found is None else found.name

    def between(self, one_m: Vector, other_m: Vector, snap_m: float) -> str | None:
        """Return the closed curve that both places lie at or that stands between them, if any."""
        middle = (
            (one_m[0] + other_m[0]) / 2.0,
            (one_m[1] + other_m[1]) / 2.0,
            (one_m[2] + other_m[2]) / 2.0,
        )
        for loop in self.loops:
            both = _holds_both(loop, one_m, other_m, snap_m)
            if both or loop.away_m(middle) <= 0.0:
                return loop.name
        return None


def _in_plan_at(stop: Box, one_m: Vector, other_m: Vector, snap_m: float) -> bool:
    """Whether a fitting drawn flat stands above, below or between two places."""
    height = stop.low_m[2]
    if stop.high_m[2] - height >= _FLAT_M:
        return False
    (a, b, _), (c, d, _) = one_m, other_m
    return _holds_both(stop, (a, b, height), (c, d, height), snap_m)


def _holds_both(box: Box, one_m: Vector, other_m: Vector, snap_m: float) -> bool:
    return box.holds_end(one_m, snap_m) and box.holds_end(other_m, snap_m)


def loop_boxes(loops: Sequence[Sequence[DrawnCurve]]) -> tuple[Box, ...]:
    """Return closed curves, of one piece or several, as boxes named by where they stand.

    One drawn flat in plan stands at every elevation; one across more than 10 ft is left out.
    """
    boxes = []
    for loop in loops:
        ends = [edge.segment.start_m for curve in loop for edge in curve.edges]
        ends += [
            to_vector(edge.segment.points_at([edge.segment.length_m / 2.0])[0])
            for curve in loop
            for edge in curve.edges
            if isinstance(edge.segment, Arc)
        ]
        low, high = zip(*((min(c), max(c)) for c in zip(*ends, strict=True)), strict=True)
        if dist(low, high) > _LARGEST_M:
            continue
        flat = high[2] - low[2] < _FLAT_M
        bottom, top = (-inf, inf) if flat else (low[2], high[2])
        corners = (low[0], low[1], bottom), (high[0], high[1], top)
        boxes.append(Box(loop[0].where, *corners, loop[0].layout))
    return tuple(boxes)
