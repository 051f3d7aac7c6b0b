"""What every check looks at, and the words all of them use for places and directions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from analyzer.catalog.rules import RuleSet, find_rules
from analyzer.findings import Verdict
from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job, Passage
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import Direction, Pull
from analyzer.route.legs import Leg
from analyzer.route.run import Run
from analyzer.units import show_length

__all__ = [
    "ALLOWANCE",
    "Situation",
    "at_least",
    "at_most",
    "hair",
    "leg_words",
    "pull_words",
    "rules_doubts",
    "settled",
    "station_words",
    "table_doubts",
]

ALLOWANCE = 1e-6
"""Relative allowance with which lengths, radii and forces are compared to their limit."""


@dataclass(frozen=True)
class Situation:
    """One run under one job, split and pulled: all that a check may look at.

    Attributes
    ----------
    run : Run
        Placed.
    legs : tuple of Leg
        In order of station.
    forward, reverse : tuple of Pull
        The pull of each leg in both directions.
    through : (Pull, Pull)
        The whole run without refeeding, forward and reverse.
    job : Job
        What it was pulled with.
    group : ConductorGroup
        How its conductors lie.
    """

    run: Run
    legs: tuple[Leg, ...]
    forward: tuple[Pull, ...]
    reverse: tuple[Pull, ...]
    through: tuple[Pull, Pull]
    job: Job
    group: ConductorGroup

    @cached_property
    def rules(self) -> RuleSet:
        """The rule set of the job, by which sections are cited."""
        return find_rules(self.job.limits.rules)

    def pulls(self) -> Iterator[tuple[Leg, Pull]]:
        """Yield every leg in both directions, forward first."""
        for leg, forward, reverse in zip(self.legs, self.forward, self.reverse, strict=True):
            yield leg, forward
            yield leg, reverse

    def opposites(self, leg: Leg, pull: Pull) -> tuple[Pull, ...]:
        """Return the other direction of all legs pulled in one go with a leg, in its order."""
        first = last = self.legs.index(leg)
        while first > 0 and self.legs[first].start.passage is Passage.THROUGH:
            first -= 1
        while last + 1 < len(self.legs) and self.legs[last].end.passage is Passage.THROUGH:
            last += 1
        if pull.direction is Direction.FORWARD:
            return tuple(reversed(self.reverse[first : last + 1]))
        return self.forward[first : last + 1]

    def leg_of(self, bend: Bend) -> Leg | None:
        """Return the leg that holds a bend, None for one in no leg."""
        return next((leg for leg in self.legs if bend in leg.bends), None)


def table_doubts(situation: Situation, *, existing: bool = False) -> tuple[str, ...]:
    """Return which table values that the figures rest on are not confirmed, in words."""
    job = situation.job
    doubts = []
    if job.raceway is not None and not job.raceway.confirmed:
        name = f"{job.raceway.type} {job.raceway.trade_size}"
        doubts.append(f"the table row of {name} is not confirmed")
    doubts += [
        f"a table value of {line.conductor.full_name} is not confirmed"
        for line in (*job.conductors, *(job.existing if existing else ()))
        if not line.conductor.confirmed
    ]
    return tuple(dict.fromkeys(doubts))


def rules_doubts(situation: Situation) -> tuple[str, ...]:
    """Return in words that the rule set of the job is not confirmed; empty where it is."""
    if situation.rules.confirmed:
        return ()
    return ("the rule set is not confirmed; check it against the edition in force",)


def at_most(value: float, limit: float) -> bool:
    """Whether a value is at or below a limit, within the allowance."""
    return value <= limit * (1.0 + ALLOWANCE)


def at_least(value: float, limit: float) -> bool:
    """Whether a value is at or above a limit, within the allowance."""
    return value >= limit * (1.0 - ALLOWANCE)


def hair(relation: str, shown: str, limit: str) -> str:
    """Return what a value is to its limit, by a hair where both read alike: ``a hair above``.

    Parameters
    ----------
    relation : str
        Such as ``above``, ``more than`` or ``less than``.
    shown, limit : str
        The two as people read them.
    """
    return f"a hair {relation}" if shown == limit else relation


def settled(passes: bool, doubts: tuple[str, ...]) -> Verdict:
    """Fail where the limit is not held; else caution where something assumed could turn it."""
    if not passes:
        return Verdict.FAIL
    return Verdict.CAUTION if doubts else Verdict.PASS


def leg_words(leg: Leg) -> str:
    """Return a leg with its end names: ``Leg 1, Panel P1 to Box A``."""
    return f"{leg.name}, {leg.start.name} to {leg.end.name}"


def pull_words(pull: Pull) -> str:
    """Return a direction by its end names: ``feed at Panel P1, pull at Box A``."""
    return f"feed at {pull.feed_at}, pull at {pull.pull_at}"


def station_words(station_m: float, job: Job) -> str:
    """Return a place along the run: ``station 97.2 ft``."""
    return f"station {show_length(station_m, job.units)}"
