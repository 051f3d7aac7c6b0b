"""Bend radius: each bend of raceway against the smallest radius of the table."""

from __future__ import annotations

from math import cos, radians, sin, sqrt

from analyzer.catalog.rules import bend_radius_section
from analyzer.checks.check import Check
from analyzer.checks.situation import Situation, at_least, leg_words, settled, station_words
from analyzer.findings import Verdict
from analyzer.geometry.grids import COARSEST_OF_RADII_M
from analyzer.geometry.readings import Bend, RadiusFrom, ReadAs
from analyzer.units import UnitSystem, show_angle, show_deviation, show_radius, to_inches

__all__ = ["check_bend_radii"]

_WIDEST_RAD = radians(170.0)

_BENDER_WORDS = {
    "one-shot": "a one-shot or full-shoe bender",
    "other": "other bends",
    "table 354.24": "this raceway",
}


def check_bend_radii(situation: Situation) -> tuple[Check, ...]:
    """Return one check for each bend outside fittings: its centerline radius against the table.

    The column follows the bender of the job. One check that is not made stands for all bends
    where the raceway or its radius is not known.
    """
    bends = [bend for bend in situation.run.bends if not bend.in_fitting]
    if not bends:
        return ()
    reason = _reason_not_checked(situation)
    if reason:
        return (_not_checked(situation, reason, None),)
    return tuple(_check_bend(situation, bend) for bend in bends)


def _reason_not_checked(situation: Situation) -> str:
    raceway = situation.job.raceway
    if raceway is None:
        return "name the raceway type and trade size, which give the smallest radius"
    if situation.job.table_radius_m is None:
        return (
            f"the table has no smallest radius for {raceway.type} {raceway.trade_size}: compare "
            "the bends with the maker's radius"
        )
    return ""


def _check_bend(situation: Situation, bend: Bend) -> Check:
    job = situation.job
    minimum = job.table_radius_m
    raceway = job.raceway
    if bend.radius_determined is False or bend.radius_m is None:
        reason = (
            f"the points do not determine the radius of bend {bend.number}: give points closer "
            "together on the bend, or measure it"
        )
        return _not_checked(situation, reason, bend)
    assert minimum is not None and raceway is not None
    passes = at_least(bend.radius_m, minimum)
    radius, least = _apart(bend.radius_m, minimum, situation, passes)
    bender = _BENDER_WORDS.get(job.bender or raceway.default_bender, "this bender")
    needs = f"{raceway.type} {raceway.trade_size} needs at least with {bender}"
    relation = "not less than" if passes else "less than"
    message = (
        f"Bend {bend.number} ({show_angle(bend.angle_rad)}): radius {radius}, {relation} the "
        f"{least} that {needs}."
    )
    if bend.radius_sd_m is not None:
        sd = show_deviation(bend.radius_sd_m, job.units)
        message += f" Read from survey points, standard deviation {sd}."
    if not passes:
        message += _left_open(bend, minimum, situation)
    return Check(
        code="bend-radius",
        leg=_leg_name(situation, bend),
        direction=None,
        verdict=settled(passes, ()),
        value=bend.radius_m,
        limit=minimum,
        unit="m",
        where=_where(situation, bend),
        station_m=bend.station_m,
        source=bend_radius_section(situation.rules, raceway),
        message=message,
    )


def _apart(
    radius_m: float, minimum_m: float, situation: Situation, passes: bool
) -> tuple[str, str]:
    """Both radii for people, and by how much where rounding would hide that one is below."""
    system = situation.job.units
    radius, least = show_radius(radius_m, system), show_radius(minimum_m, system)
    if radius == least and not passes:
        return f"{radius} (short by {100.0 * (1.0 - radius_m / minimum_m):.2g} %)", least
    return radius, least


def _left_open(bend: Bend, minimum_m: float, situation: Situation) -> str:
    """Words where a radius is short by no more than its points or their rounding leave open."""
    rounding_m = situation.run.rounding_m
    rounding_m = rounding_m if rounding_m <= COARSEST_OF_RADII_M else 0.0
    open_m = _open_m(bend, situation.run.deviation_m, rounding_m)
    if bend.radius_m is None or minimum_m - bend.radius_m > open_m:
        return ""
    system = situation.job.units
    if bend.radius_from is RadiusFrom.FIT:
        return (
            f" The drawn points leave the radius open by about {_short(open_m, system)}, and it "
            "is short by no more: draw the bend as an arc, or measure it."
        )
    return (
        f" The file rounds coordinates to {_short(rounding_m, system)}, which leaves the radius "
        f"open by about {_short(open_m, system)}, and it is short by no more: write the drawing "
        "with more decimals, or measure the bend."
    )


def _open_m(bend: Bend, deviation_m: float, rounding_m: float) -> float:
    """How far off a radius may be for its points, or for a rounding of their coordinates. [m]

    Survey points: two standard deviations. A radius between fixed straights moves the middle of
    its bend by its own change times sec(a/2) - 1: for fitted points by their deviation, for a
    spline by the rounding of its control points. An arc follows from its chord, 2 R sin(a/2),
    which two ends rounded in plan leave open by sqrt(2) of their grid. Other radii are stated.
    """
    half = min(bend.angle_rad, _WIDEST_RAD) / 2.0
    across = 1.0 / cos(half) - 1.0
    if bend.radius_from is RadiusFrom.FIT:
        if bend.radius_sd_m is not None:
            return 2.0 * bend.radius_sd_m
        return max(deviation_m, rounding_m) / across
    if bend.radius_from is RadiusFrom.DRAWING and bend.read_as is ReadAs.SPLINE:
        return rounding_m / across
    if bend.radius_from is RadiusFrom.DRAWING and bend.read_as is ReadAs.ARCS:
        return rounding_m / (sqrt(2.0) * sin(half))
    return 0.0


def _short(length_m: float, system: UnitSystem) -> str:
    """Text of a length far below a radius, to two digits."""
    if system is UnitSystem.US:
        return f"{to_inches(length_m):.2g} in"
    return f"{length_m * 1000.0:.2g} mm"


def _not_checked(situation: Situation, reason: str, bend: Bend | None) -> Check:
    return Check(
        code="bend-radius",
        leg=None if bend is None else _leg_name(situation, bend),
        direction=None,
        verdict=Verdict.NOT_CHECKED,
        value=None,
        limit=situation.job.table_radius_m,
        unit="m",
        where="whole run" if bend is None else _where(situation, bend),
        station_m=None if bend is None else bend.station_m,
        source=""
        if situation.job.raceway is None
        else bend_radius_section(situation.rules, situation.job.raceway),
        message=f"Bend radius not checked: {reason}.",
    )


def _leg_name(situation: Situation, bend: Bend) -> str | None:
    leg = situation.leg_of(bend)
    return None if leg is None else leg.name


def _where(situation: Situation, bend: Bend) -> str:
    leg = situation.leg_of(bend)
    place = f"bend {bend.number} at {station_words(bend.station_m, situation.job)}"
    return place if leg is None else f"{leg_words(leg)}, {place}"
