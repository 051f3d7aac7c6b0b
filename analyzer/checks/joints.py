"""Joints: boxes that conductors are pulled to from both sides, and what whole ones reach instead.

Whole conductors go in outward from one place, toward both ends or from one end to the other; where
they are taken out on the way they are fed again the same way. Two heads that meet at a box belong
to two sets of conductors: they are cut and joined there. Each leg's better direction may ask for
that, so a run that keeps its limits only with a joint says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyzer.checks.check import Check
from analyzer.checks.directions import counted_directions, heads_meet_at
from analyzer.checks.gentlest import Measure, gentlest
from analyzer.checks.pull_limits import fails_a_limit
from analyzer.checks.situation import ALLOWANCE, Situation, station_words
from analyzer.findings import Verdict
from analyzer.job.settings import Job, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Pull, Share, largest_share
from analyzer.route.legs import Leg
from analyzer.route.run import Run
from analyzer.units import show_force, show_pressure, show_share

__all__ = [
    "JointNeed",
    "WholePulling",
    "best_whole_pulling",
    "check_joints",
    "joint_message",
    "joint_need",
    "pull_figures",
]

_SOURCE = "conductors pulled whole (common practice)"


@dataclass(frozen=True, slots=True)
class WholePulling:
    """Conductors pulled in whole, outward from one place.

    Attributes
    ----------
    feed_at : str
        Where the reels stand.
    is_end : bool
        Whether that is an end of the run, so that all legs are pulled the same way.
    set_up_shares : tuple of float or None
        Largest share of limit of each pull from a feed to the next refeed or to an end, in order
        of station; None where nothing could be checked.
    pulls : tuple of Pull
        One for each leg in order of station; where the reels stand at a fitting that the job
        passes through, conductors start anew there.
    """

    feed_at: str
    is_end: bool
    set_up_shares: tuple[float | None, ...]
    pulls: tuple[Pull, ...]

    @property
    def set_ups(self) -> int:
        """Number of pulls from a feed to the next refeed or to an end."""
        return len(self.set_up_shares)

    @property
    def passes(self) -> bool:
        """Whether every limit that could be checked is kept."""
        return not any(fails_a_limit(pull) for pull in self.pulls)

    @property
    def governing(self) -> Share | None:
        """The largest share of limit, None where nothing could be checked."""
        found = (share for pull in self.pulls for share in pull.shares)
        return max(found, key=lambda share: share.share, default=None)

    @property
    def share_of_limit(self) -> float | None:
        """Largest share of limit; None where nothing could be checked."""
        return largest_share(self.set_up_shares)

    @property
    def max_tension_n(self) -> float:
        """Greatest tension at high friction. [N]"""
        return max(pull.high.max_tension_n for pull in self.pulls)


@dataclass(frozen=True, slots=True)
class JointNeed:
    """Where the legs, each pulled as it counts, need conductors cut and joined.

    Attributes
    ----------
    places : tuple of str
        Names of the boxes where heads meet, one or more.
    whole : WholePulling
        The best pulling without a joint.
    is_needed : bool
        Whether every limit is kept as counted, and not without the joints.
    is_gentler : bool
        Whether the largest share of limit is smaller with the joints.
    """

    places: tuple[str, ...]
    whole: WholePulling
    is_needed: bool
    is_gentler: bool


def joint_need(
    run: Run,
    legs: Sequence[Leg],
    forward: Sequence[Pull],
    reverse: Sequence[Pull],
    ways: Sequence[Direction],
    job: Job,
) -> JointNeed | None:
    """Return the joints that legs need in the directions they count in, None where none.

    Parameters
    ----------
    run : Run
        The run.
    legs : sequence of Leg
        Its legs in order of station.
    forward, reverse : sequence of Pull
        Each leg pulled both ways, in the order of `legs`.
    ways : sequence of Direction
        The direction that counts for each leg.
    job : Job
        Conductors, friction, limits.
    """
    counted = [
        ahead if way is Direction.FORWARD else back
        for ahead, back, way in zip(forward, reverse, ways, strict=True)
    ]
    places = heads_meet_at(counted)
    if not places:
        return None
    whole = best_whole_pulling(run, legs, forward, reverse, job)
    passes = not any(fails_a_limit(pull) for pull in counted)
    share = largest_share(pull.share_of_limit for pull in counted) or 0.0
    is_gentler = (whole.share_of_limit or 0.0) > share * (1.0 + ALLOWANCE)
    return JointNeed(places, whole, passes and not whole.passes, is_gentler)


def best_whole_pulling(
    run: Run,
    legs: Sequence[Leg],
    forward: Sequence[Pull],
    reverse: Sequence[Pull],
    job: Job,
) -> WholePulling:
    """Return the best pulling of whole conductors, from whichever pull point they are fed.

    Judged as `gentlest` does: largest share of limit, greatest tension, shares of the other
    set-ups, all at high friction, then fewer set-ups, then an end, then the first.

    Parameters
    ----------
    run : Run
        Placed.
    legs : sequence of Leg
        Its legs, in order of station.
    forward, reverse : sequence of Pull
        The pull of each leg in both directions.
    job : Job
        Settings, and the frictions and limits the pulls were made with.
    """
    choices = [_fed_at(index, run, legs, forward, reverse, job) for index in range(len(legs) + 1)]
    return choices[gentlest([Measure(c.set_up_shares, c.max_tension_n, c.is_end) for c in choices])]


def check_joints(situation: Situation) -> tuple[Check, ...]:
    """Return a caution where the run keeps its limits only with conductors cut and joined.

    Nothing where no heads meet in the directions that count, where a pulling of whole conductors
    keeps every limit too, and where a limit is passed anyway.
    """
    ways = counted_directions(situation.legs, situation.forward, situation.reverse)
    need = joint_need(
        situation.run,
        situation.legs,
        situation.forward,
        situation.reverse,
        ways,
        situation.job,
    )
    if need is None or not need.is_needed:
        return ()
    ends = {leg.end.name: leg.end.station_m for leg in situation.legs}
    first = ends[need.places[0]]
    names = ", ".join(need.places)
    return (
        Check(
            code="joint",
            leg=None,
            direction=None,
            verdict=Verdict.CAUTION,
            value=float(len(need.places)),
            limit=None,
            unit="count",
            where=f"{need.places[0]}, {station_words(first, situation.job)}",
            station_m=first,
            source=_SOURCE,
            message=joint_message(
                names,
                len(need.places),
                need.whole.feed_at,
                pull_figures(need.whole.governing, situation.job),
            ),
        ),
    )


def joint_message(
    names: str, count: int, feed_at: str, figures: str, otherwise: str = ", or add a box"
) -> str:
    """Return the sentences of a run that keeps its limits only with joints.

    Parameters
    ----------
    names : str
        The boxes where heads meet.
    count : int
        How many they are.
    feed_at, figures : str
        Where whole conductors are best fed, and what they reach, as `pull_figures` tells it.
    otherwise : str
        What does without the joints, as the end of a sentence; by default what a run is told of
        which no other places for boxes were looked for.
    """
    places, joints = ("there", "the joint") if count == 1 else ("at each of them", "the joints")
    return (
        f"The limits are kept only by pulling toward {names} from both sides, with the conductors "
        f"cut and joined {places}. Whole conductors, at best fed at {feed_at}, fail: {figures}. "
        f"Plan {joints}{otherwise}."
    )


def pull_figures(governing: Share | None, job: Job) -> str:
    """Return what a pull takes of the limit that governs it, as the middle of a sentence."""
    if governing is None:
        return "no limit could be checked"
    show = show_pressure if governing.code.startswith("sidewall") else show_force
    value, limit = show(governing.value, job.units), show(governing.limit, job.units)
    return f"{governing.name}, {value} of {limit} ({show_share(governing.share)})"


def _fed_at(
    index: int,
    run: Run,
    legs: Sequence[Leg],
    forward: Sequence[Pull],
    reverse: Sequence[Pull],
    job: Job,
) -> WholePulling:
    """Fed where leg number `index` starts, or at the last end, and pulled outward from there."""
    last = len(legs)
    feed = legs[index].start if index < last else legs[-1].end
    is_end = index in (0, last)
    pulls = (*reverse[:index], *forward[index:])
    if not is_end and feed.passage is Passage.THROUGH:
        pulls = _split_at(index, run, legs, forward, reverse, job)
    shares: list[float | None] = []
    for number, (leg, pull) in enumerate(zip(legs, pulls, strict=True)):
        if number in (0, index) or leg.start.passage is Passage.REFEED:
            shares.append(pull.share_of_limit)
        else:
            shares[-1] = largest_share((shares[-1], pull.share_of_limit))
    return WholePulling(feed.name, is_end, tuple(shares), pulls)


def _split_at(
    index: int,
    run: Run,
    legs: Sequence[Leg],
    forward: Sequence[Pull],
    reverse: Sequence[Pull],
    job: Job,
) -> tuple[Pull, ...]:
    """Return pulls outward from a fitting that the job passes through: they start anew there."""
    at = legs[index].start
    anew = replace(at, passage=Passage.REFEED)
    changed = replace(run, fittings=tuple(anew if f == at else f for f in run.fittings))
    below, above = list(legs[:index]), list(legs[index:])
    below[-1], above[0] = replace(below[-1], end=anew), replace(above[0], start=anew)
    low, high = _refed_below(legs, index), _refed_above(legs, index)
    return (
        *reverse[:low],
        *pull_legs(changed, below[low:], job, Direction.REVERSE),
        *pull_legs(changed, above[: high - index], job, Direction.FORWARD),
        *forward[high:],
    )


def _refed_below(legs: Sequence[Leg], index: int) -> int:
    """Return the number of the first leg of the stretch from refeed to refeed around a place."""
    while index > 0 and legs[index].start.passage is Passage.THROUGH:
        index -= 1
    return index


def _refed_above(legs: Sequence[Leg], index: int) -> int:
    """Return the number behind the last leg of that stretch."""
    while index < len(legs) and legs[index - 1].end.passage is Passage.THROUGH:
        index += 1
    return index
