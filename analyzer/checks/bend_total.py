"""Bend total: degrees of bend between two pull points."""

from __future__ import annotations

from math import sqrt

from analyzer.catalog.rules import bend_number_section
from analyzer.checks.check import Check
from analyzer.checks.loosened import Published, loosened_words, rules_words
from analyzer.checks.situation import (
    Situation,
    leg_words,
    rules_doubts,
    settled,
    station_words,
)
from analyzer.route.legs import Leg
from analyzer.units import show_degrees, show_number, to_deg

__all__ = ["check_bend_totals"]


def check_bend_totals(situation: Situation) -> tuple[Check, ...]:
    """Return one check for each leg: its bends added up against the degrees allowed.

    Sums are compared after rounding to 0.001°, so four drawn quarter bends are 360°. Corners
    inside fittings turn no raceway and are left out. Where angles were measured, the sum decides
    as it is read; a limit within two deviations of it is said, and a caution where it passes. A
    sum that only the job's own limit allows, above that of the rule set, is a caution.
    """
    job, limits = situation.job, situation.job.limits
    limit = limits.degrees_between_pull_points
    published = Published(situation.rules.degrees_between_pull_points, rules_words(situation))
    stated = limits.degrees_from == "job"
    of_rules = () if stated else rules_doubts(situation)
    checks = []
    for leg in situation.legs:
        open_sum = _left_open(leg, limit)
        total = round(to_deg(leg.bend_total_rad), 3)
        doubts = (*of_rules, open_sum) if open_sum else of_rules
        if stated:
            shown = show_degrees(published.limit)
            doubts += loosened_words(published, total, show_degrees(limit), shown)
        passes = total <= round(limit, 3)
        relation = "within" if passes else "above"
        message = (
            f"{leg_words(leg)}: bends add up to {show_degrees(total)}, {relation} the "
            f"{show_degrees(limit)} allowed between pull points."
        )
        if not passes:
            message += " Add a pull point, or take bends out."
            message += f" As measured, {open_sum}." if open_sum else ""
        elif doubts:
            message += f" Caution: {'; '.join(doubts)}."
        checks.append(
            Check(
                code="bend-total",
                leg=leg.name,
                direction=None,
                verdict=settled(passes, doubts),
                value=total,
                limit=limit,
                unit="deg",
                where=f"{leg_words(leg)}, from {station_words(leg.start.station_m, job)}",
                station_m=leg.start.station_m,
                source=_source(situation),
                message=message,
                doubts=doubts if passes else (),
            )
        )
    return tuple(checks)


def _left_open(leg: Leg, limit_deg: float) -> str:
    """Words where measured angles leave open on which side of the limit a sum lies; else empty.

    The deviations are added as if independent: neighboring bends share the error of the straight
    between them, which makes that of their sum smaller where they turn the same way in one plane,
    and greater where they turn opposite ways.
    """
    variance = sum((bend.angle_sd_rad or 0.0) ** 2 for bend in leg.bends)
    deviation = to_deg(sqrt(variance))
    if not abs(to_deg(leg.bend_total_rad) - limit_deg) <= 2.0 * deviation or deviation == 0.0:
        return ""
    shown = show_number(deviation, 2 if deviation < 1.0 else 1)
    return (
        f"the sum is known to about ± {shown}° (one standard deviation, errors of the bends taken "
        "as independent), so the points do not tell on which side of the limit it lies"
    )


def _source(situation: Situation) -> str:
    limits, rules = situation.job.limits, situation.rules
    if limits.degrees_from == "job":
        more = limits.degrees_between_pull_points > rules.degrees_between_pull_points
        of_rules = f"{rules.degrees_between_pull_points:g}° of {rules_words(situation)}"
        return f"job, above the {of_rules}" if more else "job"
    code = bend_number_section(rules, situation.job.raceway)
    return code if rules.name.startswith("nec-") else rules.source
