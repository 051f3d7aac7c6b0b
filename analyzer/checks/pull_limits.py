"""One pull against one limit: what the tension and sidewall checks have in common."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from analyzer.catalog.frictions import find_friction
from analyzer.checks.check import Check
from analyzer.checks.loosened import Published, loosened_words, published_pull_limit
from analyzer.checks.situation import (
    Situation,
    at_most,
    hair,
    leg_words,
    pull_words,
    settled,
    station_words,
    table_doubts,
)
from analyzer.findings import Verdict
from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job
from analyzer.pulling.limits import PullLimit
from analyzer.pulling.results import Direction, Pull
from analyzer.route.legs import Leg
from analyzer.units import UnitSystem, show_share

__all__ = ["LimitedFigure", "check_pulls", "fails_a_limit"]


@dataclass(frozen=True)
class LimitedFigure:
    """What is compared with a limit.

    Attributes
    ----------
    words : str
        Begins the sentence: ``conductor tension``.
    unit : str
        ``N`` or ``N/m``.
    show : callable
        Writes a value for people.
    figure : callable
        Value and station of a pull, None where the leg has nothing to compare.
    is_braked : bool
        Held back at low friction; otherwise pulled at high friction.
    in_bend : callable or None
        Value of a pull in one bend, where each bend has one.
    """

    words: str
    unit: str
    show: Callable[[float, UnitSystem], str]
    figure: Callable[[Pull], tuple[float, float | None] | None]
    is_braked: bool
    in_bend: Callable[[Pull, Bend], float] | None = None


def check_pulls(
    situation: Situation, limit: PullLimit, measure: LimitedFigure
) -> tuple[Check, ...]:
    """Return the checks of one limit, for every leg in both directions.

    One check that is not made stands for all where the limit is not known. What passes only by the
    job's own limit, above a published one, is a caution.

    Parameters
    ----------
    situation : Situation
        The run, split and pulled.
    limit : PullLimit
        The limit, or why it is not known.
    measure : LimitedFigure
        What of a pull is held against it.
    """
    if limit.limit is None:
        return (_not_checked(limit, measure),)
    published = published_pull_limit(limit.code, situation.job, situation.group)
    checks = []
    for leg, pull in situation.pulls():
        figure = measure.figure(pull)
        if figure is not None:
            checks.append(
                _check(situation, leg, pull, limit, limit.limit, published, measure, *figure)
            )
    return tuple(checks)


def _not_checked(limit: PullLimit, measure: LimitedFigure) -> Check:
    """Return the check of a limit that is not known, with what to add."""
    words = measure.words[0].upper() + measure.words[1:]
    words += " when held back" if measure.is_braked else ""
    cause, colon, advice = limit.reason.partition(": ")
    reason = f" ({cause}): {advice}" if colon else f": {cause}"
    return Check(
        code=limit.code,
        leg=None,
        direction=None,
        verdict=Verdict.NOT_CHECKED,
        value=None,
        limit=None,
        unit=measure.unit,
        where="whole run",
        station_m=None,
        source=limit.source,
        message=f"{words} not checked{reason}.",
    )


def fails_a_limit(pull: Pull) -> bool:
    """Whether a pull is above any limit that could be checked."""
    return any(not at_most(share.value, share.limit) for share in pull.shares)


def _check(
    situation: Situation,
    leg: Leg,
    pull: Pull,
    limit: PullLimit,
    limit_value: float,
    published: Published | None,
    measure: LimitedFigure,
    value: float,
    station_m: float | None,
) -> Check:
    job = situation.job
    passes = at_most(value, limit_value)
    doubts = (*limit.cautions, *_friction_doubts(situation, leg, pull, measure, value))
    if value > 0.0:
        doubts += table_doubts(situation)
    if published is not None:
        stated, shown = (measure.show(at, job.units) for at in (limit_value, published.limit))
        doubts += loosened_words(published, value, stated, shown)
    verdict = settled(passes, doubts)
    figure = _figure_words(measure, pull, value, limit_value, job)
    message = f"{leg.name}, {pull_words(pull)}: {figure}"
    over = _bends_above(leg, pull, limit_value, measure)
    if over:
        named = ", ".join(f"{bend.number} ({measure.show(at, job.units)})" for bend, at in over)
        message += f" Above it: bend{'' if len(over) == 1 else 's'} {named}."
    others = situation.opposites(leg, pull)
    if not passes and not any(fails_a_limit(other) for other in others):
        message += (
            f" Pull it the other way: feed at {others[0].feed_at}, pull at {others[-1].pull_at}."
        )
    if verdict is Verdict.CAUTION:
        message += f" Caution: {'; '.join(dict.fromkeys(doubts))}."
    where = leg_words(leg)
    if station_m is not None:
        where += f", {station_words(station_m, job)}"
    return Check(
        code=limit.code,
        leg=leg.name,
        direction=pull.direction.value,
        verdict=verdict,
        value=value,
        limit=limit_value,
        unit=measure.unit,
        where=where,
        station_m=station_m,
        source=limit.source,
        message=message,
        bends=tuple(bend.number for bend, _ in over),
        doubts=tuple(dict.fromkeys(doubts)) if verdict is Verdict.CAUTION else (),
    )


def _bends_above(
    leg: Leg, pull: Pull, limit: float, measure: LimitedFigure
) -> list[tuple[Bend, float]]:
    """Bends above a limit with their values, the worst first."""
    if measure.in_bend is None:
        return []
    values = [(bend, measure.in_bend(pull, bend)) for bend in leg.bends]
    over = [(bend, value) for bend, value in values if not at_most(value, limit)]
    return sorted(over, key=lambda pair: -pair[1])


def _figure_words(measure: LimitedFigure, pull: Pull, value: float, limit: float, job: Job) -> str:
    """Value against limit as the middle of a sentence, full stop included."""
    allowed = measure.show(limit, job.units)
    if measure.is_braked and pull.braked.max_tension_n == 0.0:
        return f"the conductors do not run by themselves, nothing to hold back (limit {allowed})."
    figure = measure.show(value, job.units)
    relation = "within" if at_most(value, limit) else hair("above", figure, allowed)
    shown = f"{measure.words} {figure}"
    state = (
        f"held back at low friction, {shown}" if measure.is_braked else f"{shown} at high friction"
    )
    share = show_share(value / limit)
    return f"{state}, {relation} the limit of {allowed} ({share} of it)."


def _friction_doubts(
    situation: Situation, leg: Leg, pull: Pull, measure: LimitedFigure, value: float
) -> tuple[str, ...]:
    """Words for what the friction leaves open; nothing where it moves no figure."""
    friction = situation.job.pull.friction
    if not friction.stated:
        return ("friction assumed: state a band",) if value > 0.0 else ()
    if measure.is_braked and not friction.is_band and _can_run_away(situation, leg, pull):
        return (
            "one friction number on a drop, where less friction means more to hold back: give a "
            "band",
        )
    pressed = situation.job.pull.friction_by_sidewall
    if pressed is None or pressed.source or measure.is_braked:
        return ()
    if pull.high.max_sidewall_n_per_m > pressed.above_n_per_m:
        return ("friction in hard pressing bends from memory, no source shown",)
    return ()


def _can_run_away(situation: Situation, leg: Leg, pull: Pull) -> bool:
    """Whether conductors run by themselves, or would at the low end of the default band."""
    if pull.braked.hold_back_n > 0.0:
        return True
    sign = 1.0 if pull.direction is Direction.FORWARD else -1.0
    low = find_friction("default").low
    part = situation.run.centerline.part(leg.start.station_m, leg.end.station_m)
    for segment in part.segments:
        places = [0.0, segment.length_m / 2.0, segment.length_m]
        for x, y, z in segment.tangents_at(places):
            if -sign * z > low * float((x * x + y * y) ** 0.5):
                return True
    return False
