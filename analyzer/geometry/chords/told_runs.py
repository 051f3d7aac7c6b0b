"""What a run of vertices on a circle tells with the runs beside it: its ends, and the arc between.

Runs are judged over and over, while others are found to be arcs or none. What one tells stays as
long as the same runs stand beside it, so it is kept.

Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import asin

from analyzer.geometry.chords.circle_runs import CircleRun, Stretch
from analyzer.geometry.chords.measured_runs import ChordRun, measured_run
from analyzer.geometry.chords.tangencies import (
    RunEnd,
    Tangency,
    common_tangent,
    doubt_of_ends,
    free_ends_fit,
    lacks_a_vertex_only,
    meet_line,
    side_of,
)
from analyzer.geometry.vectors import negative

__all__ = ["Known", "Neighbors", "ToldRun"]

_NOISY_FACTOR = 3.6
"""Chord times half its turn, in roundings and on average, below which single turns are noise. Own
choice."""


@dataclass(frozen=True, slots=True)
class ToldRun:
    """What a run tells whose ends are held.

    Attributes
    ----------
    start, end : RunEnd
        The lines it meets.
    halves_rad : tuple of float
        Half the turn of each chord. [rad]
    doubt : str
        Why its ends might not be those of an arc; empty when they surely are.
    arc : ChordRun or None
        The arc between them, None where they do not turn as its chords do.
    """

    start: RunEnd
    end: RunEnd
    halves_rad: tuple[float, ...]
    doubt: str
    arc: ChordRun | None


_Beside = tuple[CircleRun | None, ...]
_Lines = tuple[RunEnd | None, RunEnd | None]


@dataclass(frozen=True, slots=True)
class Known:
    """What was told of a stretch before, whatever else stands in it.

    `lines` by the two runs they join; `runs` by themselves and by what stands beside them.
    """

    lines: dict[tuple[CircleRun, CircleRun], tuple[RunEnd, RunEnd] | None] = field(
        default_factory=dict
    )
    runs: dict[tuple[CircleRun, _Beside, _Lines], ToldRun | None] = field(default_factory=dict)


class Neighbors:
    """Runs of a stretch by their ends, and the lines tangent to two of them.

    Attributes
    ----------
    starts, ends : dict of int to CircleRun
        Runs by their first and by their last vertex.
    """

    def __init__(
        self, stretch: Stretch, runs: Sequence[CircleRun], prefer_chords: bool, known: Known
    ) -> None:
        """Take runs, of those at one vertex the last one; `known` is of the same stretch."""
        self.starts = {one.first: one for one in runs}
        self.ends = {one.last: one for one in runs}
        self._stretch = stretch
        self._prefer_chords = prefer_chords
        self._known = known
        self._joined_starts: dict[int, RunEnd] = {}
        self._joined_ends: dict[int, RunEnd] = {}

    def add(self, one: CircleRun) -> None:
        """Put a run in the place of those that start or end where it does."""
        self.starts[one.first] = self.ends[one.last] = one

    def join(self, one: CircleRun, other: CircleRun) -> None:
        """Find the line tangent to two neighboring runs, if there is one."""
        lines = self._known.lines
        if (one, other) not in lines:
            lines[one, other] = common_tangent(self._stretch, one, other)
        line = lines[one, other]
        if line is not None:
            self._joined_ends[one.last], self._joined_starts[other.first] = line

    def told(self, one: CircleRun) -> ToldRun | None:
        """Return what a run tells, None where it is noise or an end is not held."""
        beside = (
            self.ends.get(one.first - 1),
            self.ends.get(one.first),
            self.starts.get(one.last),
            self.starts.get(one.last + 1),
        )
        lines = self._joined_starts.get(one.first), self._joined_ends.get(one.last)
        asked = one, beside, lines
        runs = self._known.runs
        if asked not in runs:
            runs[asked] = self._told(one, lines)
        return runs[asked]

    def _told(self, one: CircleRun, lines: _Lines) -> ToldRun | None:
        stretch, circle = self._stretch, one.circle
        chords = stretch.legs[one.first : one.last]
        halves = [asin(min(length / (2.0 * circle.radius_m), 1.0)) for length in chords]
        sagitta = sum(length * half for length, half in zip(chords, halves, strict=True))
        if sagitta < _NOISY_FACTOR * stretch.rounding_m * len(chords):
            return None
        forward = side_of(stretch, one, self.starts, self.ends, forward=True)
        backward = side_of(stretch, one, self.starts, self.ends, forward=False)
        start = meet_line(forward, circle, circle.axis, stretch.rounding_m)
        tail = meet_line(backward, circle, negative(circle.axis), stretch.rounding_m)
        end = replace(tail, direction=negative(tail.direction)) if tail is not None else None
        start, end = _or_joined(start, lines[0]), _or_joined(end, lines[1])
        if start is None or end is None:
            return None
        regular = lacks_a_vertex_only(stretch, one, start, end, halves)
        doubt = doubt_of_ends(start, end, halves, self._prefer_chords, regular)
        if doubt is None or not free_ends_fit(start, end, halves):
            return None
        first = one.first - (start.tangency is Tangency.LINE)
        last = one.last + (end.tangency is Tangency.LINE)
        arc = measured_run(stretch, one, (first, last), start, end, halves, doubt)
        return ToldRun(start, end, tuple(halves), doubt, arc)


def _or_joined(end: RunEnd | None, joined: RunEnd | None) -> RunEnd | None:
    """Prefer the line shared with the next arc to what its nearest vertices tell."""
    if joined is None:
        return end
    weak = (Tangency.POINT, Tangency.LINE) if joined.tangency is Tangency.JOINED else ()
    return joined if end is None or end.tangency in (Tangency.POINT, *weak) else end
