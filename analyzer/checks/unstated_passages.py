"""Passages that are not stated: what if the conductors are not taken out at those fittings?

A box eases the pull only when the conductors are taken out and fed again, which is the default.
Where nobody stated it, the pull straight through is compared with the limits too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from analyzer.checks.check import Check
from analyzer.checks.pull_limits import fails_a_limit
from analyzer.checks.situation import Situation, hair, pull_words, station_words
from analyzer.findings import Verdict
from analyzer.job.settings import Job, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Pull, Share
from analyzer.route.run import Fitting
from analyzer.units import show_force, show_pressure, show_share

__all__ = ["PASSAGE_NOT_STATED", "check_unstated_passages"]

PASSAGE_NOT_STATED = "passage not stated"
"""Source of these checks, which tells them from those of the same code."""


def check_unstated_passages(situation: Situation) -> tuple[Check, ...]:
    """Return a caution for each stretch and direction that fails a limit when pulled through.

    A stretch lies between two places where the conductors are fed for certain: an end of the run
    or a fitting stated as refeed. Only fittings whose passage is not stated are passed through,
    and only stretches that hold one are looked at. The caution names those, with the feed and
    pull end of the stretch, and carries the code of the limit that is passed furthest.
    """
    stretches = [found for found in _stretches(situation) if found.unstated]
    if not stretches:
        return ()
    checks = []
    for direction in Direction:
        pulls = _pulls_through(situation, direction)
        for stretch in stretches:
            failing = [p for p in pulls[stretch.first : stretch.behind] if fails_a_limit(p)]
            if failing:
                worst = max(failing, key=lambda pull: pull.share_of_limit or 0.0)
                governing = worst.governing
                assert governing is not None
                checks.append(_caution(situation, stretch, direction, worst, governing))
    return tuple(checks)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Legs from index `first` up to `behind`, pulled in one go; `start` is at the lower station."""

    first: int
    behind: int
    start: Fitting
    end: Fitting
    unstated: tuple[Fitting, ...]


def _stretches(situation: Situation) -> list[_Stretch]:
    """Return the legs in stretches from one certain feed to the next, in order of station."""
    legs = situation.legs
    found, first = [], 0
    for behind, leg in enumerate(legs, start=1):
        if behind < len(legs) and not _is_refeed_stated(leg.end):
            continue
        inner = [one.end for one in legs[first : behind - 1]]
        unstated = tuple(fitting for fitting in inner if not fitting.passage_stated)
        found.append(_Stretch(first, behind, legs[first].start, leg.end, unstated))
        first = behind
    return found


def _is_refeed_stated(fitting: Fitting) -> bool:
    return fitting.passage_stated and fitting.passage is Passage.REFEED


def _pulls_through(situation: Situation, direction: Direction) -> tuple[Pull, ...]:
    """Return the pull of each leg with every unstated passage taken as through.

    Where no fitting on the way is refed for certain it is the one pull of the whole run.
    """
    inner = [leg.end for leg in situation.legs[:-1]]
    if not any(_is_refeed_stated(fitting) for fitting in inner):
        return (situation.through[0 if direction is Direction.FORWARD else 1],)

    def passed(fitting: Fitting) -> Fitting:
        is_open = fitting in inner and not fitting.passage_stated
        return replace(fitting, passage=Passage.THROUGH) if is_open else fitting

    run = replace(situation.run, fittings=tuple(passed(f) for f in situation.run.fittings))
    legs = [replace(leg, start=passed(leg.start), end=passed(leg.end)) for leg in situation.legs]
    return pull_legs(run, legs, situation.job, direction)


def _caution(
    situation: Situation,
    stretch: _Stretch,
    direction: Direction,
    pull: Pull,
    governing: Share,
) -> Check:
    job = situation.job
    names = ", ".join(fitting.name for fitting in stretch.unstated)
    feed, pulled = stretch.start, stretch.end
    way = "forward"
    if direction is Direction.REVERSE:
        feed, pulled, way = pulled, feed, "in reverse"
    ends = pull_words(replace(pull, feed_at=feed.name, pull_at=pulled.name))
    value, limit = _show(governing, job), _show(replace(governing, value=governing.limit), job)
    places = "there" if len(stretch.unstated) == 1 else "at each of them"
    is_whole = stretch.behind - stretch.first == len(situation.legs)
    where = "whole run" if is_whole else f"{stretch.start.name} to {stretch.end.name}"
    if governing.station_m is not None:
        where += f", {station_words(governing.station_m, job)}"
    way_words = (
        f"{way} ({ends}), {governing.name} would be {value}, {hair('above', value, limit)} the "
        f"limit of {limit} ({show_share(governing.share)} of it)"
    )
    return Check(
        code=governing.code,
        leg=None,
        direction=direction.value,
        verdict=Verdict.CAUTION,
        value=governing.value,
        limit=governing.limit,
        unit="N/m" if governing.code.startswith("sidewall") else "N",
        where=where,
        station_m=governing.station_m,
        source=PASSAGE_NOT_STATED,
        fittings=tuple(fitting.name for fitting in stretch.unstated),
        message=(
            f"Passage not stated at {names}: the legs count on conductors taken out and fed again "
            f"{places}. Pulled straight through {way_words}. State the passage."
        ),
        way_words=way_words,
    )


def _show(share: Share, job: Job) -> str:
    show = show_pressure if share.code.startswith("sidewall") else show_force
    return show(share.value, job.units)
