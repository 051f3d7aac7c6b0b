"""Bend total: degrees of bend between two pull points."""

from __future__ import annotations

from analyzer.catalog.rules import bend_number_section
from analyzer.checks.check import Check
from analyzer.checks.situation import Situation, leg_words, settled, show_degrees, station_words
from analyzer.units import to_deg

__all__ = ["check_bend_totals"]

_UNCONFIRMED = "the rule set is not confirmed; check it against the edition in force"


def check_bend_totals(situation: Situation) -> tuple[Check, ...]:
    """Return one check for each leg: its bends added up against the degrees allowed.

    Sums are compared after rounding to 0.001°, so four drawn quarter bends are 360°. Corners
    inside fittings turn no raceway and are left out.
    """
    job, limits = situation.job, situation.job.limits
    limit = limits.degrees_between_pull_points
    stated = limits.degrees_from == "job"
    doubts = () if stated or situation.rules.confirmed else (_UNCONFIRMED,)
    checks = []
    for leg in situation.legs:
        total = round(to_deg(leg.bend_total_rad), 3)
        passes = total <= round(limit, 3)
        relation = "within" if passes else "above"
        message = (
            f"{leg_words(leg)}: bends add up to {show_degrees(total)}, {relation} the "
            f"{show_degrees(limit)} allowed between pull points."
        )
        if not passes:
            message += " Add a pull point, or take bends out."
        elif doubts:
            message += f" Caution: {doubts[0]}."
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


def _source(situation: Situation) -> str:
    limits, rules = situation.job.limits, situation.rules
    code = bend_number_section(rules, situation.job.raceway)
    if limits.degrees_from == "job":
        more = limits.degrees_between_pull_points > rules.degrees_between_pull_points
        return f"job, above the {rules.degrees_between_pull_points:g}° of {code}" if more else "job"
    return code if rules.name.startswith("nec-") else rules.source
