"""Clearance: free height between the conductors and the top of the raceway."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.loosened import LEAST_CLEARANCE, loosened_words
from analyzer.checks.situation import Situation, at_least, hair, settled, table_doubts
from analyzer.findings import Verdict
from analyzer.units import show_radius

__all__ = ["check_clearance"]


def check_clearance(situation: Situation) -> tuple[Check, ...]:
    """Return the clearance check: the smallest free height against the smallest allowed.

    Where the arrangement has several places to measure, or two arrangements may happen, all are
    named and the smallest is compared. Beside existing conductors the least height there can be
    is compared: it passes where that holds, fails where not even the height with the existing
    ones aside holds, and is a caution between the two, since nobody knows where they lie.
    """
    job, group = situation.job, situation.group
    minimum = job.limits.clearance_m
    source = "job" if job.limits.clearance_from == "job" else "cable distributor's tips, 1/4 in"
    stacked = group.stacked_clearance
    if not group.clearances and stacked is None:
        return (
            Check(
                code="clearance",
                leg=None,
                direction=None,
                verdict=Verdict.NOT_CHECKED,
                value=None,
                limit=minimum,
                unit="m",
                where="whole run",
                station_m=None,
                source=source,
                message=f"Clearance not checked: {group.clearance_reason}.",
            ),
        )
    worst_first = (*([stacked] if stacked else []), *group.clearances)
    least = min(worst_first, key=lambda item: item.clearance_m)
    doubts = table_doubts(situation, existing=True)
    holds = at_least(least.clearance_m, minimum)
    shown, allowed = (show_radius(v, job.units) for v in (least.clearance_m, minimum))
    relation = "not less than" if holds else hair("less than", shown, allowed)
    compared = f"{relation} the {allowed} that should be left"
    hangs = bool(stacked) and all(at_least(c.clearance_m, minimum) for c in group.clearances)
    if hangs and not holds:
        doubts = (
            *doubts,
            f"clearance can be as little as {shown}, {compared}: it hangs on where the existing "
            "conductors lie",
        )
    passes = holds or hangs
    if job.limits.clearance_from == "job":
        usual = show_radius(LEAST_CLEARANCE.limit, job.units)
        doubts += loosened_words(LEAST_CLEARANCE, least.clearance_m, allowed, usual)
    aside = ", existing conductors aside" if stacked else ""
    places = ", ".join(
        f"{show_radius(item.clearance_m, job.units)} {item.where}{'' if item is stacked else aside}"
        for item in worst_first
    )
    message = f"Clearance {places}: the smallest is {compared}."
    if passes and doubts:
        message += f" Caution: {'; '.join(doubts)}."
    return (
        Check(
            code="clearance",
            leg=None,
            direction=None,
            verdict=settled(passes, doubts),
            value=least.clearance_m,
            limit=minimum,
            unit="m",
            where="whole run",
            station_m=None,
            source=f"{source}; height: {least.source}",
            message=message,
            doubts=tuple(doubts) if passes else (),
        ),
    )
