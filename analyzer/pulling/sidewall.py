"""Sidewall pressure: force per length between conductors and the inside of a bend.

Published as the pressure on the worst conductor, from the tension T where the bend presses most
and the radius R, with the weight left out, because the limits are stated so.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.errors import InputError
from analyzer.job.settings import Arrangement
from analyzer.pulling.group_sources import sidewall_source

__all__ = ["SidewallRule", "sidewall_pressure_n_per_m", "sidewall_rule"]


@dataclass(frozen=True, slots=True)
class SidewallRule:
    """Form of the pressure: its `name` as people see it, `factor` times T/R, and its `source`."""

    name: str
    factor: float
    source: str = ""


def sidewall_rule(
    arrangement: Arrangement, weight_factor: float, *, is_beyond_diamond: bool = False
) -> SidewallRule:
    """Return the form by arrangement, with wf the weight factor.

    Parameters
    ----------
    arrangement : Arrangement
        How the conductors lie.
    weight_factor : float
        wf of that arrangement.
    is_beyond_diamond : bool
        Four conductors where a diamond cannot stand: all on one conductor.

    Notes
    -----
    Single T/R. Pair and triangular wf T/(2R) (derived; triangular also from memory). Cradled
    (3 wf - 2) T/(3R). Diamond the larger of (wf - 1) T/R on the lowest and T/(2R) on the side
    conductors (derived). Bunched T/R on one conductor: the safe side.

    References
    ----------
    Transmission Engineering Standard TES-P-104.05, 2007: single. cabledatasheet.com, reference
    page on sidewall pressure (secondary): single, cradled.
    """
    name, factor = _form(arrangement, weight_factor, is_beyond_diamond)
    source = sidewall_source(arrangement, is_beyond_diamond=is_beyond_diamond)
    return SidewallRule(name, factor, source)


def _form(arrangement: Arrangement, wf: float, is_beyond_diamond: bool) -> tuple[str, float]:
    if arrangement is Arrangement.SINGLE:
        return "single: T/R", 1.0
    if arrangement in (Arrangement.PAIR, Arrangement.TRIANGULAR):
        return f"{arrangement.value}: wf T/(2R)", wf / 2.0
    if arrangement is Arrangement.CRADLED:
        return "cradled: (3wf - 2) T/(3R)", (3.0 * wf - 2.0) / 3.0
    if arrangement is Arrangement.DIAMOND and not is_beyond_diamond:
        if wf - 1.0 >= 0.5:
            return "diamond, lowest conductor: (wf - 1) T/R", wf - 1.0
        return "diamond, side conductors: T/(2R)", 0.5
    if arrangement is Arrangement.DIAMOND:
        return "four, no diamond stands: T/R on one conductor", 1.0
    return "bunched: T/R on one conductor", 1.0


def sidewall_pressure_n_per_m(tension_n: float, radius_m: float, rule: SidewallRule) -> float:
    """Return the pressure on the worst conductor in a bend. [N/m]

    Parameters
    ----------
    tension_n : float
        In the bend. [N]
    radius_m : float
        Of the bend. [m]
    rule : SidewallRule
        The form for this arrangement.

    Raises
    ------
    InputError
        If the radius is not above zero.

    Examples
    --------
    >>> sidewall_pressure_n_per_m(600.0, 2.0, SidewallRule("single: T/R", 1.0))
    300.0
    """
    if not radius_m > 0.0:
        raise InputError(f"sidewall pressure needs a radius above zero: got {radius_m}")
    return rule.factor * tension_n / radius_m
