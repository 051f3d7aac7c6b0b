"""Lubricant: how much for a set-up, and where to put it on again."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.practice import find_practice
from analyzer.job.settings import Job
from analyzer.route.run import Fitting
from analyzer.studies.feeding import SetUp
from analyzer.units import deg, ft, gallons, to_ft, to_inches

__all__ = ["Lubricant", "lubricant_m3", "plan_lubricant"]


@dataclass(frozen=True, slots=True)
class Lubricant:
    """Lubricant of one set-up.

    Attributes
    ----------
    low_m3, high_m3 : float or None
        What the formula gives, and twice that; None without a raceway. [m³]
    apply_at : tuple of Fitting
        Feed and every fitting the head passes: put it on there.
    ends_at_m : float or None
        Station where the job says the lubricant is gone; None where it reaches the end. [m]
    is_needed : bool
        Longer than 5 ft or with 90 degrees of bends.
    """

    low_m3: float | None
    high_m3: float | None
    apply_at: tuple[Fitting, ...]
    ends_at_m: float | None
    is_needed: bool


def lubricant_m3(length_m: float, inside_diameter_m: float) -> float:
    """Return the lubricant that coats the inside wall of a raceway 0.009 in thick. [m³]

    Parameters
    ----------
    length_m, inside_diameter_m : float
        Of the raceway. [m]

    Notes
    -----
    Q = 0.0015 L D, Q in gallons, L in feet, D the inside diameter of the raceway in inches.

    References
    ----------
    Lubricant maker's newsletter for electrical engineers, vol. XVII.

    Examples
    --------
    >>> from analyzer.units import inches, to_gallons
    >>> round(to_gallons(lubricant_m3(ft(170.0), inches(4.0))), 2)
    1.02
    """
    per = find_practice("lubricant quantity").value
    return gallons(per * to_ft(length_m) * to_inches(inside_diameter_m))


def plan_lubricant(job: Job, set_up: SetUp) -> Lubricant:
    """Return the lubricant of a set-up: one to two times the formula."""
    low = high = None
    if job.raceway is not None:
        once = lubricant_m3(set_up.length_m, job.raceway.inside_diameter_m)
        low = once * find_practice("lubricant range low").value
        high = once * find_practice("lubricant range high").value
    reach, ends_at = job.pull.lubricant_reach_m, None
    if reach is not None and reach < set_up.length_m:
        way = 1.0 if set_up.pull_to.station_m > set_up.feed.station_m else -1.0
        ends_at = set_up.feed.station_m + way * reach
    total = sum(bend.angle_rad for bend in set_up.bends)
    needed = set_up.length_m > ft(find_practice("lubricate from length").value)
    needed = needed or total >= deg(find_practice("lubricate from bends").value)
    return Lubricant(low, high, (set_up.feed, *set_up.passed), ends_at, needed)
