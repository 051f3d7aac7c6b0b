"""A bend redrawn with another radius at the same corner, together with the straights beside it.

Whoever enters another radius keeps the corner: a bend of the turn a and the radius R takes up
R tan(a/2) of the straights on both its sides, and they give or take the difference. That ends
where a straight does: at a neighboring bend, a fitting or the end of the run. A curve of several
arcs grows and shrinks as a whole about the corner of its ends.

A U and a curve that leaves its plane have no corner: their straights stay as long as drawn, and
what lies beyond moves along.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import radians

from analyzer.geometry.centerline import CORNER_TOLERANCE_RAD, Centerline, angle_between
from analyzer.geometry.corners import LARGEST_TURN_RAD, meeting_point
from analyzer.geometry.readings import Bend, ReadAs
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, dot, norm
from analyzer.geometry.vectors import minus, plus
from analyzer.route.run import SAME_PLACE_M, Run

__all__ = ["RedrawnBend", "bend_to_redraw"]

_SHORTEST_M = 1e-9
_U_RAD = radians(175.0)
_OUT_OF_PLANE = 0.02
"""Gap between the lines of a bend over its tangent lengths above which they have no corner:
about the tangent of 1°, which makes a curve a twisted bend."""


@dataclass(frozen=True)
class RedrawnBend:
    """A bend that can be redrawn, with the straights beside it.

    Attributes
    ----------
    inside : tuple of Segment
        The bend from its first arc to its last.
    start_m, end_m : float
        Stations of its ends; of all of an arc that a pull point divides. [m]
    from_m, to_m : float
        Stations where the straights beside it end: at a neighboring bend, a fitting or an end of
        the run. [m]
    before_m, after_m : float
        Tangent lengths from its ends to its corner, 0 without one. [m]
    """

    inside: tuple[Segment, ...]
    start_m: float
    end_m: float
    from_m: float
    to_m: float
    before_m: float
    after_m: float

    @property
    def has_corner(self) -> bool:
        """Whether a corner stays where it is, and the straights change."""
        return self.before_m > 0.0

    @cached_property
    def largest_factor(self) -> float | None:
        """Largest factor on the radius that fits between its neighbors; None where any does."""
        if not self.has_corner:
            return None
        rooms = (self.start_m - self.from_m, self.to_m - self.end_m)
        needs = (self.before_m, self.after_m)
        return 1.0 + max(min(r / n for r, n in zip(rooms, needs, strict=True)), 0.0)

    def fits(self, factor: float) -> bool:
        """Whether the bend fits between its neighbors with its radius multiplied by a factor."""
        largest = self.largest_factor
        return largest is None or factor <= largest + _SHORTEST_M

    def line(self, factor: float) -> Centerline:
        """Return the bend with its radius multiplied by a factor, and the straights beside it."""
        first = self.inside[0]
        place = plus(first.start_m, first.start_tangent, self._gives(factor, self.before_m))
        before = self.start_on_line_m(factor)
        after = self.to_m - self.end_m + self._gives(factor, self.after_m)
        segments: list[Segment] = []
        if before > _SHORTEST_M:
            segments.append(Straight(plus(place, first.start_tangent, -before), place))
        for segment in self.inside:
            segments.append(_scaled(segment, place, factor))
            place = segments[-1].end_m
        if after > _SHORTEST_M:
            segments.append(Straight(place, plus(place, self.inside[-1].end_tangent, after)))
        return Centerline(tuple(segments))

    def start_on_line_m(self, factor: float) -> float:
        """Return where the bend itself begins on the line of a factor. [m]"""
        return self.start_m - self.from_m + self._gives(factor, self.before_m)

    def place(self, station_m: float, factor: float) -> float:
        """Return where a station between `from_m` and `to_m` lies on the line of a factor. [m]

        On a straight at its distance from the straight's far end, in the bend at the same part.
        """
        start = self.start_on_line_m(factor)
        if station_m <= self.start_m:
            return min(station_m - self.from_m, start)
        end = start + factor * (self.end_m - self.start_m)
        if station_m < self.end_m:
            return start + factor * (station_m - self.start_m)
        return max(end, end + self._gives(factor, self.after_m) + station_m - self.end_m)

    @staticmethod
    def _gives(factor: float, tangent_m: float) -> float:
        return (1.0 - factor) * tangent_m


def bend_to_redraw(run: Run, bend: Bend) -> RedrawnBend | None:
    """Return a bend of a run ready to be redrawn; None where it has no arc.

    Parameters
    ----------
    run : Run
        The run.
    bend : Bend
        One of its bends.
    """
    stations, segments = run.centerline.stations_m, run.centerline.segments
    arcs = [
        index
        for index, segment in enumerate(segments)
        if isinstance(segment, Arc)
        and min(stations[index + 1], bend.end_station_m) - max(stations[index], bend.station_m)
        > SAME_PLACE_M
    ]
    if not arcs or bend.in_fitting:
        return None
    first, last = arcs[0], arcs[-1]
    inside = segments[first : last + 1]
    start, end = stations[first], stations[last + 1]
    before, after = _tangent_lengths_m(inside, bend)
    from_m, to_m = _room(run.centerline, first, last)
    placed = [fitting.station_m for fitting in run.fittings]
    from_m = max([from_m, *(at for at in placed if at <= start + SAME_PLACE_M)])
    to_m = min([to_m, *(at for at in placed if at >= end - SAME_PLACE_M)])
    return RedrawnBend(inside, start, end, min(from_m, start), max(to_m, end), before, after)


def _tangent_lengths_m(inside: tuple[Segment, ...], bend: Bend) -> tuple[float, float]:
    """Return the lengths from the ends of a bend to its corner, twice 0 where it has none. [m]"""
    turned = sum(segment.angle_rad for segment in inside if isinstance(segment, Arc))
    most = LARGEST_TURN_RAD if bend.read_as is ReadAs.CORNERS else _U_RAD
    into, out = inside[0].start_tangent, inside[-1].end_tangent
    if turned > most + 1e-9 or angle_between(into, out) <= CORNER_TOLERANCE_RAD:
        return 0.0, 0.0
    start, end = inside[0].start_m, inside[-1].end_m
    corner = meeting_point(start, into, end, out)
    before, after = dot(minus(corner, start), into), dot(minus(end, corner), out)
    aside = norm(minus(plus(start, into, before), plus(end, out, -after)))
    if min(before, after) <= 0.0 or aside > _OUT_OF_PLANE * (before + after):
        return 0.0, 0.0
    return before, after


def _room(line: Centerline, first: int, last: int) -> tuple[float, float]:
    """Return the stations where the straights before and behind a row of segments end. [m]"""
    segments = line.segments

    def goes_on(index: int, along: Vector) -> bool:
        if not 0 <= index < len(segments) or not isinstance(segments[index], Straight):
            return False
        return angle_between(segments[index].start_tangent, along) <= CORNER_TOLERANCE_RAD

    low, high = first, last
    while goes_on(low - 1, segments[first].start_tangent):
        low -= 1
    while goes_on(high + 1, segments[last].end_tangent):
        high += 1
    return line.stations_m[low], line.stations_m[high + 1]


def _scaled(segment: Segment, start: Vector, factor: float) -> Segment:
    """Return a segment of another size that starts at a place."""
    if isinstance(segment, Straight):
        return Straight(start, plus(start, minus(segment.end_m, segment.start_m), factor))
    arm = minus(segment.center_m, segment.start_m)
    return replace(segment, start_m=start, center_m=plus(start, arm, factor))
