"""Passages that are not stated: what if the conductors are not taken out at those fittings?

A box eases the pull only when the conductors are taken out and fed again, which is the default.
Where nobody stated it, the pull straight through is compared with the limits too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from analyzer.checks.check import Check
from analyzer.checks.pull_limits import fails_a_limit
from analyzer.checks.situation import Situation, pull_words, station_words
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
    """Return a caution for each direction that fails a limit when pulled through.

    Only fittings whose passage is not stated are passed through; those stated as refeed stay so.
    The caution carries the code of the limit that is passed furthest.
    """
    unstated = [f for f in _inner_pull_points(situation) if not f.passage_stated]
    if not unstated:
        return ()
    checks = []
    for direction in Direction:
        failing = [p for p in _pulls_through(situation, unstated, direction) if fails_a_limit(p)]
        if failing:
            worst = max(failing, key=lambda pull: pull.share_of_limit or 0.0)
            governing = worst.governing
            assert governing is not None
            checks.append(_caution(situation, unstated, direction, worst, governing))
    return tuple(checks)


def _inner_pull_points(situation: Situation) -> list[Fitting]:
    return [leg.end for leg in situation.legs[:-1]]


def _pulls_through(
    situation: Situation, unstated: list[Fitting], direction: Direction
) -> Iterator[Pull]:
    """Yield the pulls with every unstated passage taken as through."""
    stays = [
        f for f in _inner_pull_points(situation) if f.passage_stated and f.passage is Passage.REFEED
    ]
    if not stays:
        yield situation.through[0 if direction is Direction.FORWARD else 1]
        return

    def passed(fitting: Fitting) -> Fitting:
        return replace(fitting, passage=Passage.THROUGH) if fitting in unstated else fitting

    run = replace(situation.run, fittings=tuple(passed(f) for f in situation.run.fittings))
    legs = [replace(leg, start=passed(leg.start), end=passed(leg.end)) for leg in situation.legs]
    yield from pull_legs(run, legs, situation.job, direction)


def _caution(
    situation: Situation,
    unstated: list[Fitting],
    direction: Direction,
    pull: Pull,
    governing: Share,
) -> Check:
    job = situation.job
    names = ", ".join(fitting.name for fitting in unstated)
    way = "forward" if direction is Direction.FORWARD else "in reverse"
    value, limit = _show(governing, job), _show(replace(governing, value=governing.limit), job)
    places = "there" if len(unstated) == 1 else "at each of them"
    where = "whole run"
    if governing.station_m is not None:
        where += f", {station_words(governing.station_m, job)}"
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
        message=(
            f"Passage not stated at {names}: the legs count on conductors taken out and fed again "
            f"{places}. Pulled straight through {way} ({pull_words(pull)}), {governing.name} "
            f"would be {value}, above the limit of {limit} "
            f"({show_share(governing.share)} of it). State the passage."
        ),
    )


def _show(share: Share, job: Job) -> str:
    show = show_pressure if share.code.startswith("sidewall") else show_force
    return show(share.value, job.units)
