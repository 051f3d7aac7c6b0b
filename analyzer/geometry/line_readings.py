"""What a stretch of drawn lines was read as, and what was wanted of the reading, as data."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.readings import ReadAs
from analyzer.geometry.segments import Vector
from analyzer.geometry.surveyed_stretches import SurveyedPart

__all__ = ["LineReading", "Wanted"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is known of a stretch beside its points, and what was asked for.

    Attributes
    ----------
    locked : collection of int
        Vertices in fittings or with a radius of their own: no arc runs across them.
    entry, leave : (3,) float or None
        Direction of travel before and after the stretch, where an arc is drawn there.
    read_as : ReadAs or None
        CORNERS or CHORDS to force that reading.
    corner_radius_m : float or None
        Radius a corner would get; tells whether corners are plausible. [m]
    accuracy_m : float or None
        Accuracy that was stated: the points were said to be measured, and a rounded grid excuses
        nothing. [m]
    """

    locked: Collection[int]
    entry: Vector | None
    leave: Vector | None
    read_as: ReadAs | None
    corner_radius_m: float | None
    accuracy_m: float | None

    @property
    def is_open(self) -> bool:
        """Whether no reading was asked for."""
        return self.read_as is None

    @property
    def wants_chords(self) -> bool:
        """Whether arcs drawn in chords were asked for."""
        return self.read_as is ReadAs.CHORDS

    def between(self, first: int, last: int, entry: Vector | None, leave: Vector | None) -> Wanted:
        """Return what is wanted of the part from one vertex to another, its own first one 0.

        Parameters
        ----------
        first, last : int
            Vertices of the stretch, both in the part.
        entry, leave : (3,) float or None
            Direction of travel before and after the part.
        """
        locked = [vertex - first for vertex in self.locked if first <= vertex <= last]
        return replace(self, locked=locked, entry=entry, leave=leave)


@dataclass(frozen=True, slots=True)
class LineReading:
    """A stretch of lines read.

    Attributes
    ----------
    runs : tuple of ChordRun
        Arcs drawn in chords; vertices are those of the stretch as given.
    corners : tuple of int
        Vertices that are corners, rising.
    doubts : tuple of Doubt
        What could be read another way.
    surveyed : bool
        Whether the points look like survey points; corners are then what the exact reading made
        of them.
    parts : tuple of SurveyedPart
        Parts that look like survey points where others do not; read them apart.
    measured_again : int
        Places of survey points that were measured several times in a row.
    """

    runs: tuple[ChordRun, ...]
    corners: tuple[int, ...]
    doubts: tuple[Doubt, ...]
    surveyed: bool
    parts: tuple[SurveyedPart, ...] = ()
    measured_again: int = 0
