"""One leg or set-up in one direction, ready to be pulled again at any friction.

What a leg takes hangs on its whole stretch from one refeed to the next: the pull carries in from
the feed, and what is held back carries in from the farthest head. Strings are those of the
solver; only what is asked for is worked out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job, Passage
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import Direction
from analyzer.pulling.sections import Section, held_sections, leg_sections, pulled_sections
from analyzer.pulling.string_model import StringPull
from analyzer.route.legs import Leg
from analyzer.route.run import Run

if TYPE_CHECKING:
    from analyzer.studies.feeding import SetUp

__all__ = ["Way", "bend_tensions_n", "way_of_leg", "way_of_set_up"]


@dataclass(frozen=True, slots=True)
class Way:
    """Sections of one stretch in order of the pull, and which of them is meant.

    Attributes
    ----------
    sections : tuple of Section
        From one refeed to the next.
    number : int
        Index of the section meant.
    job, group : Job, ConductorGroup
        Conductors, friction and limits.
    run : Run
        The run they lie on.
    """

    sections: tuple[Section, ...]
    number: int
    job: Job
    group: ConductorGroup
    run: Run

    @property
    def section(self) -> Section:
        """The section meant."""
        return self.sections[self.number]

    @property
    def gone_m(self) -> float:
        """Way from where the conductors are fed to the section. [m]"""
        return sum(section.length_m for section in self.sections[: self.number])

    def strings(self, frictions: Sequence[float]) -> tuple[StringPull, ...]:
        """Return the strings of the section pulled, one for each friction."""
        pulled = pulled_sections(self.sections[: self.number + 1], self.job, self.group, frictions)
        return next(islice(pulled, self.number, None))

    def held(self) -> StringPull:
        """Return the string of the section held back, over its reversed pieces."""
        return held_sections(self.sections, self.job)[self.number]


def way_of_leg(
    run: Run, legs: Sequence[Leg], leg: Leg, direction: Direction, job: Job, group: ConductorGroup
) -> Way:
    """Return a leg of a run in one direction, with the passages as they stand.

    Parameters
    ----------
    run : Run
        The run.
    legs : sequence of Leg
        All its legs in order of station.
    leg : Leg
        One of them.
    direction : Direction
        Forward feeds at the lower station.
    job, group : Job, ConductorGroup
        Conductors, friction and limits.
    """
    first = last = legs.index(leg)
    while first > 0 and legs[first].start.passage is Passage.THROUGH:
        first -= 1
    while last < len(legs) - 1 and legs[last].end.passage is Passage.THROUGH:
        last += 1
    at = legs.index(leg)
    number = at - first if direction is Direction.FORWARD else last - at
    return Way(leg_sections(run, legs[first : last + 1], direction), number, job, group, run)


def way_of_set_up(run: Run, set_up: SetUp, job: Job, group: ConductorGroup) -> Way:
    """Return a set-up as one stretch of its own, all between passed through.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    set_up : SetUp
        One pull from one feed place.
    job : Job
        Conductors, frictions and limits.
    group : ConductorGroup
        How the conductors lie.
    """
    direction = set_up.pull.direction
    start, end = set_up.feed, set_up.pull_to
    if direction is Direction.REVERSE:
        start, end = end, start
    leg = Leg("", start, end, set_up.length_m, abs(set_up.rise_m), set_up.bends)
    return Way(leg_sections(run, [leg], direction), 0, job, group, run)


def bend_tensions_n(string: StringPull, bend: Bend) -> tuple[float, float] | None:
    """Return the tension before and behind a bend, in the direction of a string. [N]

    None where no part of the bend lies on the string.
    """
    inside = []
    for index, stretch in string.stretches:
        piece = string.pieces[index]
        middle = 0.5 * (piece.station_m + piece.end_station_m)
        if bend.station_m <= middle <= bend.end_station_m:
            inside.append(stretch)
    return (inside[0].entry_tension_n, inside[-1].exit_tension_n) if inside else None
