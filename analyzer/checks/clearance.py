"""Clearance: free height between the conductors and the top of the raceway."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.situation import Situation, at_least, settled, table_doubts
from analyzer.findings import Verdict
from analyzer.units import show_radius

__all__ = ["check_clearance"]


def check_clearance(situation: Situation) -> tuple[Check, ...]:
    """Return the clearance check: the smallest free height against the smallest allowed.

    Where the arrangement has several places to measure, or two arrangements may happen, all are
    named and the smallest is compared.
    """
    job, group = situation.job, situation.group
    minimum = job.limits.clearance_m
    source = "job" if job.limits.clearance_from == "job" else "cable distributor's tips, 1/4 in"
    if not group.clearances:
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
    least = min(group.clearances, key=lambda item: item.clearance_m)
    doubts = table_doubts(situation)
    passes = at_least(least.clearance_m, minimum)
    relation = "not less than" if passes else "less than"
    places = ", ".join(
        f"{show_radius(item.clearance_m, job.units)} {item.where}" for item in group.clearances
    )
    message = (
        f"Clearance {places}: the smallest is {relation} the "
        f"{show_radius(minimum, job.units)} that should be left."
    )
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
