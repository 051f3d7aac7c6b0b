"""Leg length: distance along the run between two pull points."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.loosened import Published, loosened_words, rules_words
from analyzer.checks.situation import (
    Situation,
    at_most,
    leg_words,
    rules_doubts,
    settled,
    station_words,
)
from analyzer.units import show_length

__all__ = ["check_leg_lengths"]


def check_leg_lengths(situation: Situation) -> tuple[Check, ...]:
    """Return one check for each leg; none where neither job nor rule set limits the length.

    A rule that does not exist is no check left undone, so nothing is listed then. A leg that only
    the job's own limit allows, longer than that of the rule set, is a caution.
    """
    job, rules = situation.job, situation.rules
    limit = job.limits.length_between_pull_points_m
    if limit is None:
        return ()
    from_rules = job.limits.length_from != "job"
    of_rules = rules_doubts(situation) if from_rules else ()
    checks = []
    for leg in situation.legs:
        doubts: tuple[str, ...] = of_rules
        if rules.length_between_pull_points_m is not None and not from_rules:
            published = Published(rules.length_between_pull_points_m, rules_words(situation))
            shown = [show_length(length, job.units) for length in (limit, published.limit)]
            doubts += loosened_words(published, leg.length_m, *shown)
        passes = at_most(leg.length_m, limit)
        relation = "within" if passes else "above"
        message = (
            f"{leg_words(leg)}: {show_length(leg.length_m, job.units)} long, {relation} the "
            f"{show_length(limit, job.units)} allowed between pull points."
        )
        if not passes:
            excess = show_length(leg.length_m - limit, job.units)
            is_hair = show_length(leg.length_m, job.units) == show_length(limit, job.units)
            by = "a hair" if is_hair else excess
            message += f" It is {by} too long: add a pull point."
        elif doubts:
            message += f" Caution: {'; '.join(doubts)}."
        checks.append(
            Check(
                code="leg-length",
                leg=leg.name,
                direction=None,
                verdict=settled(passes, doubts),
                value=leg.length_m,
                limit=limit,
                unit="m",
                where=f"{leg_words(leg)}, from {station_words(leg.start.station_m, job)}",
                station_m=leg.start.station_m,
                source=rules.source if from_rules else "job",
                message=message,
                doubts=doubts if passes else (),
            )
        )
    return tuple(checks)
