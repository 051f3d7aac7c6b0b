"""Jam ratio: whether three conductors can wedge side by side in a bend."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.situation import Situation
from analyzer.findings import Verdict
from analyzer.pulling.groups import BENT_DIAMETER

__all__ = ["JAM_BAND", "check_jam"]

JAM_BAND = (2.8 / BENT_DIAMETER, 3.2)
"""Ratios D/d at which a jam is possible: from 2.8 by 1.05 D/d (a cable distributor's rule) to the
3.2 of the NEC note by D/d, the union of both rules."""


def check_jam(situation: Situation) -> tuple[Check, ...]:
    """Return the jam check: a caution where three like conductors can wedge.

    D is the inside diameter of the raceway, d the diameter of one conductor. Bends flatten a
    raceway, so some rules take 1.05 D. The ratio is informational: it never fails. Beside existing
    conductors any three like ones may wedge, new and existing counted: a caution where their ratio
    lies in the band, otherwise not checked, since the rule is for three alone.
    """
    group = situation.group
    source = (
        f"NEC {situation.rules.edition} Chapter 9 Table 1, informational note 2 (D/d 2.8 to 3.2); "
        "a cable distributor's tips (1.05 D/d 2.8 to 3.0)"
    )
    ratio = group.jam_ratio
    low, high = JAM_BAND
    if ratio is None:
        ratio = next((r for r in group.side_by_side_ratios if low <= r <= high), None)
    if ratio is None:
        return (
            Check(
                code="jam",
                leg=None,
                direction=None,
                verdict=Verdict.NOT_CHECKED,
                value=None,
                limit=None,
                unit="ratio",
                where="whole run",
                station_m=None,
                source=source,
                message=f"Jam ratio not checked: {group.jam_reason}.",
            ),
        )
    in_band = low <= ratio <= high
    message = (
        f"Jam ratio: D/d {ratio:.2f}, 1.05 D/d {BENT_DIAMETER * ratio:.2f}; the rules see a jam of "
        f"three conductors between D/d {low:.2f} and {high:.1f}."
    )
    if in_band and group.jam_ratio is None:
        message += " Existing conductors counted, three like ones can wedge side by side in a bend."
    elif in_band:
        message += " They can wedge side by side in a bend: choose another trade size."
    return (
        Check(
            code="jam",
            leg=None,
            direction=None,
            verdict=Verdict.CAUTION if in_band else Verdict.PASS,
            value=ratio,
            limit=None,
            unit="ratio",
            where="whole run",
            station_m=None,
            source=source,
            message=message,
        ),
    )
