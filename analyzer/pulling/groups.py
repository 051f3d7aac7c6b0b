"""How a group of conductors lies in a round raceway: weight factor, sidewall pressure, clearance.

With r = d / (D - d), D the inside diameter of the raceway and d that of one conductor, the weight
factor is what wedging raises friction by. The sidewall pressure on the worst conductor is
`sidewall_factor` times T/R, weight left out. Sources and status of each rule stand beside it;
"derived" means derived for this program from statics of round conductors without friction.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from analyzer.errors import JobError
from analyzer.findings import Finding, Severity
from analyzer.job.settings import ARRANGEMENT_COUNTS, Arrangement, Job
from analyzer.pulling.group_sources import (
    ARRANGEMENT_BANDS_SOURCE,
    SECONDARY_PAGE,
    TRANSMISSION_STANDARD,
    weight_factor_source,
)
from analyzer.pulling.sidewall import SidewallRule, sidewall_rule
from analyzer.units import show_radius

__all__ = [
    "BENT_DIAMETER",
    "BUNCHED_WEIGHT_FACTOR",
    "Clearance",
    "ConductorGroup",
    "conductor_group",
    "diamond_clearance_m",
    "weight_factor",
]

BENT_DIAMETER = 1.05
"""Inside diameter of a raceway where a bend has made it oval, per diameter of the straight raceway
(a cable distributor's tips); the jam ratio is taken with both."""

BUNCHED_WEIGHT_FACTOR = 1.4
"""Five or more conductors, or mixed sizes. cabledatasheet.com reference page (secondary)."""

TRIANGULAR_LEAST_RATIO = 1.0 + 2.0 / sqrt(3.0)
"""Smallest D/d that three like conductors fit in, 2.155. Geometry."""

DIAMOND_LEAST_RATIO = 1.0 + sqrt(2.0)
"""Smallest D/d that four like conductors fit in, 2.414. Geometry."""

DIAMOND_GREATEST_RATIO = 1.0 + 2.0 * sqrt(2.0)
"""Largest D/d at which a diamond stands, 3.83: beyond it a contact force would pull. Derived."""

UNCERTAIN_RATIOS = (2.5, 3.0)
"""D/d between which three like conductors may lie either way. From memory."""

_LIKE = 1e-6
_BUNDLE_RATIOS = {1: 1.0, 2: 2.0, 3: TRIANGULAR_LEAST_RATIO, 4: DIAMOND_LEAST_RATIO, 5: 2.7014}
"""Circle that just holds so many like circles, over the diameter of one. Geometry, rounded up."""
_LEAST_RATIOS = {
    Arrangement.SINGLE: 1.0,
    Arrangement.PAIR: 2.0,
    Arrangement.TRIANGULAR: TRIANGULAR_LEAST_RATIO,
    Arrangement.CRADLED: TRIANGULAR_LEAST_RATIO,
    Arrangement.DIAMOND: DIAMOND_LEAST_RATIO,
    Arrangement.BUNCHED: 1.0,
}


@dataclass(frozen=True, slots=True)
class Clearance:
    """Free height above the conductors: where it is measured, how much [m], and its source."""

    where: str
    clearance_m: float
    source: str


@dataclass(frozen=True, slots=True)
class ConductorGroup:
    """How the conductors lie, and what follows.

    Attributes
    ----------
    count : int
        Conductors pulled.
    arrangements : tuple of Arrangement
        Those considered; two where either may happen, the worse is taken of each figure.
    arrangement_stated : bool
        Whether the job names it.
    weight_factor : float
        Friction is multiplied by it.
    weight_factor_source, arrangement_source : str
        Where they come from, in short words for people.
    sidewall : SidewallRule
        Pressure on the worst conductor from T/R.
    is_mixed : bool
        Conductors of different diameters.
    inside_diameter_m : float or None
        Of the raceway; None without one. [m]
    diameter_ratio : float or None
        D/d of like conductors; None for mixed sizes or without a raceway.
    clearances : tuple of Clearance
        Free heights; empty where none could be computed.
    clearance_reason : str
        Why `clearances` is empty; otherwise empty.
    jam_reason : str
        Why the jam ratio does not apply; empty for three like conductors, existing ones counted.
    stacked_clearance : Clearance or None
        Beside existing conductors, the least free height there can be: `clearances` hold where the
        existing ones lie aside. None without existing conductors or without a raceway.
    side_by_side_ratios : tuple of float
        Beside existing conductors, D/d of every three like conductors that could wedge, at least
        one of them new; the rule for three alone does not say that they will.
    findings : tuple of Finding
        Which rule was taken and what it rests on.
    """

    count: int
    arrangements: tuple[Arrangement, ...]
    arrangement_stated: bool
    weight_factor: float
    sidewall: SidewallRule
    is_mixed: bool
    inside_diameter_m: float | None
    diameter_ratio: float | None
    clearances: tuple[Clearance, ...]
    clearance_reason: str
    jam_reason: str
    stacked_clearance: Clearance | None = None
    side_by_side_ratios: tuple[float, ...] = ()
    findings: tuple[Finding, ...] = ()
    weight_factor_source: str = ""
    arrangement_source: str = ""

    @property
    def description(self) -> str:
        """The arrangement in words: ``3 conductors, cradled``."""
        number = "1 conductor" if self.count == 1 else f"{self.count} conductors"
        if self.is_mixed:
            number += " of mixed sizes"
        kinds = " or ".join(item.value for item in self.arrangements)
        ratio = self.diameter_ratio
        if ratio is not None and any(_is_beyond(item, ratio) for item in self.arrangements):
            kinds += (
                f" by rule (it cannot stand here: weight factor {self.weight_factor:.3g}, and all "
                "the pressure of a bend, T/R, on one conductor)"
            )
        if self.arrangement_source == ARRANGEMENT_BANDS_SOURCE:
            kinds += f" ({ARRANGEMENT_BANDS_SOURCE})"
        stated = ", as stated" if self.arrangement_stated else ""
        worse = ", the worse of both" if len(self.arrangements) > 1 else ""
        return f"{number}, {kinds}{worse}{stated}"

    @property
    def jam_ratio(self) -> float | None:
        """D/d where the jam rule applies: three like conductors, existing ones counted."""
        return None if self.jam_reason else self.diameter_ratio


def conductor_group(job: Job) -> ConductorGroup:
    """Return how the conductors of a job lie in its raceway.

    Existing conductors are not pulled: they add no weight and leave the weight factor alone. They
    count in the jam ratio, and take room from the clearance: how much hangs on where they lie, so
    the least free height there can be stands beside the one with them aside.

    Raises
    ------
    JobError
        If several conductors have no raceway, they do not fit, or the stated arrangement cannot
        be with that many conductors of these sizes.

    References
    ----------
    Transmission Engineering Standard TES-P-104.05, 2007 (triangular weight factor and clearance);
    cabledatasheet.com reference pages (cradled, bunched; secondary); pair, diamond, cradled
    clearance derived.
    """
    diameters = [line.conductor.diameter_m for line in job.conductors for _ in range(line.count)]
    if not diameters:
        raise JobError("no conductors to pull: add a [[conductors]] entry")
    count, small, large = len(diameters), min(diameters), max(diameters)
    is_mixed = large - small > _LIKE * large
    inside = None if job.raceway is None else job.raceway.inside_diameter_m
    ratio = None if inside is None or is_mixed else inside / large
    stated = job.pull.arrangement
    if inside is None and count > 1:
        raise JobError(
            f"{count} conductors need a raceway: their weight factor depends on its inside "
            "diameter; add [raceway] type and trade_size"
        )
    if inside is not None and large >= inside:
        raise JobError(
            f"{job.at('raceway')}"
            f"a conductor of {show_radius(large, job.units)} does not fit in the raceway, inside "
            f"diameter {show_radius(inside, job.units)}"
        )
    arrangements = (
        _expected(count, is_mixed, ratio)
        if stated is None
        else (_allowed(stated, count, is_mixed),)
    )
    for arrangement in arrangements:
        _check_fit(arrangement, ratio, stated is not None)
    factors = [weight_factor(arrangement, ratio) for arrangement in arrangements]
    rules = [
        sidewall_rule(arrangement, factor, is_beyond_diamond=_is_beyond(arrangement, ratio))
        for arrangement, factor in zip(arrangements, factors, strict=True)
    ]
    heaviest = arrangements[factors.index(max(factors))]
    clearances, reason = _clearances(arrangements, inside, large, is_mixed)
    return ConductorGroup(
        count=count,
        arrangements=arrangements,
        arrangement_stated=stated is not None,
        weight_factor=max(factors),
        sidewall=max(rules, key=lambda rule: rule.factor),
        is_mixed=is_mixed,
        inside_diameter_m=inside,
        diameter_ratio=ratio,
        clearances=clearances,
        clearance_reason=reason,
        jam_reason=_jam_reason(job, count, is_mixed),
        stacked_clearance=_stacked_clearance(job, diameters, inside),
        side_by_side_ratios=_side_by_side_ratios(job, inside),
        findings=_findings(job, count, is_mixed, arrangements, factors, ratio),
        weight_factor_source=weight_factor_source(
            heaviest, is_beyond_diamond=_is_beyond(heaviest, ratio)
        ),
        arrangement_source=_arrangement_source(arrangements, stated is not None),
    )


def weight_factor(arrangement: Arrangement, diameter_ratio: float | None) -> float:
    """Return what wedging in a round raceway raises friction by.

    Parameters
    ----------
    arrangement : Arrangement
        How the conductors lie; it must be possible at this ratio.
    diameter_ratio : float or None
        D/d; not needed for a single conductor or a bunched group.

    Raises
    ------
    JobError
        If the ratio is missing, or the arrangement cannot lie at it.

    Examples
    --------
    >>> round(weight_factor(Arrangement.TRIANGULAR, 154 / 41.3), 4)
    1.0748
    """
    if arrangement is Arrangement.SINGLE:
        return 1.0
    if arrangement is Arrangement.BUNCHED:
        return BUNCHED_WEIGHT_FACTOR
    if diameter_ratio is None:
        raise JobError(f"the weight factor of a {arrangement.value} group needs D/d")
    r2 = 1.0 / (diameter_ratio - 1.0) ** 2
    if arrangement is Arrangement.CRADLED:
        return 1.0 + 4.0 / 3.0 * r2
    if arrangement is Arrangement.DIAMOND:
        diamond = 1.0 + 2.0 * r2
        beyond = diameter_ratio > DIAMOND_GREATEST_RATIO
        return max(diamond, BUNCHED_WEIGHT_FACTOR) if beyond else diamond
    if r2 >= 1.0:
        raise JobError(f"a {arrangement.value} group cannot lie in a raceway of D/d 2 or less")
    return 1.0 / sqrt(1.0 - r2)


def diamond_clearance_m(inside_diameter_m: float, diameter_m: float) -> float:
    """Return the free height above the upper conductor of a diamond: (D - d)(1 - 2 r²). [m]

    Derived; 0 at the smallest D/d that four conductors fit in.
    """
    play = inside_diameter_m - diameter_m
    return play * (1.0 - 2.0 * (diameter_m / play) ** 2)


def _is_beyond(arrangement: Arrangement, ratio: float | None) -> bool:
    return (
        arrangement is Arrangement.DIAMOND and ratio is not None and ratio > DIAMOND_GREATEST_RATIO
    )


def _expected(count: int, is_mixed: bool, ratio: float | None) -> tuple[Arrangement, ...]:
    if count == 1:
        return (Arrangement.SINGLE,)
    if is_mixed or count >= 5:
        return (Arrangement.BUNCHED,)
    if count == 2:
        return (Arrangement.PAIR,)
    if count == 4:
        return (Arrangement.DIAMOND,)
    low, high = UNCERTAIN_RATIOS
    if ratio is not None and ratio < low:
        return (Arrangement.TRIANGULAR,)
    if ratio is not None and ratio > high:
        return (Arrangement.CRADLED,)
    return (Arrangement.TRIANGULAR, Arrangement.CRADLED)


def _arrangement_source(arrangements: tuple[Arrangement, ...], is_stated: bool) -> str:
    if is_stated:
        return "the job"
    by_ratio = (Arrangement.TRIANGULAR, Arrangement.CRADLED)
    if any(item in by_ratio for item in arrangements):
        return ARRANGEMENT_BANDS_SOURCE
    return "number and sizes of the conductors"


def _allowed(stated: Arrangement, count: int, is_mixed: bool) -> Arrangement:
    counts = ARRANGEMENT_COUNTS[stated]
    if stated is Arrangement.BUNCHED:
        if count not in counts:
            raise JobError("arrangement 'bunched' is for two or more conductors: here is one")
        return stated
    if count not in counts:
        needed = counts.start
        raise JobError(
            f"arrangement {stated.value!r} is for {needed} "
            f"{'conductor' if needed == 1 else 'like conductors'}: here are {count}"
        )
    if is_mixed:
        raise JobError(
            f"arrangement {stated.value!r} is for like conductors: these differ in diameter; "
            "leave it out or write 'bunched'"
        )
    return stated


def _check_fit(arrangement: Arrangement, ratio: float | None, is_stated: bool) -> None:
    least = _LEAST_RATIOS[arrangement]
    if ratio is None or ratio >= least:
        return
    whose = "the stated" if is_stated else "a"
    raise JobError(
        f"{whose} {arrangement.value} arrangement needs D/d of at least {least:.4g}, inside "
        f"diameter of the raceway over conductor diameter: here it is {ratio:.4g}, they do not fit"
    )


def _clearances(
    arrangements: tuple[Arrangement, ...],
    inside: float | None,
    d: float,
    is_mixed: bool,
) -> tuple[tuple[Clearance, ...], str]:
    if inside is None:
        return (), "no raceway given"
    if is_mixed or Arrangement.BUNCHED in arrangements:
        return (), "no rule for a bunched group"
    found: list[Clearance] = []
    for arrangement in arrangements:
        found.extend(_clearances_of(arrangement, inside, d))
    return tuple(found), ""


def _stacked_clearance(job: Job, diameters: list[float], inside: float | None) -> Clearance | None:
    """Free height with the new conductors as one round bundle on top of the existing bundle."""
    if not job.existing or inside is None:
        return None
    old = [line.conductor.diameter_m for line in job.existing for _ in range(line.count)]
    height = _bundle_diameter_m(diameters) + _bundle_diameter_m(old)
    return Clearance(
        "with the new conductors bundled on top of the existing ones, the least there can be",
        max(inside - height, 0.0),
        "derived from geometry, two round bundles one above the other (own choice, the safe side)",
    )


def _bundle_diameter_m(diameters: list[float]) -> float:
    """Diameter of a circle that holds as many conductors of the largest diameter."""
    count = len(diameters)
    if count in _BUNDLE_RATIOS:
        return _BUNDLE_RATIOS[count] * max(diameters)
    rings = 0
    while 1 + 3 * rings * (rings + 1) < count:  # rings of a hexagon around the middle one
        rings += 1
    return (2 * rings + 1) * max(diameters)


def _clearances_of(arrangement: Arrangement, D: float, d: float) -> tuple[Clearance, ...]:
    play = D - d
    r2 = (d / play) ** 2
    transmission, derived = TRANSMISSION_STANDARD, "derived from geometry"
    if arrangement is Arrangement.SINGLE:
        return (Clearance("above the conductor", play, transmission),)
    if arrangement is Arrangement.PAIR:
        crown = play / 2.0 * (1.0 + sqrt(1.0 - r2))
        above = play * sqrt(1.0 - r2)
        return (
            Clearance("crown of the raceway above the pair", crown, derived),
            Clearance("straight above a conductor of the pair", above, derived),
        )
    if arrangement is Arrangement.TRIANGULAR:
        height = D / 2.0 - 1.366 * d + play / 2.0 * sqrt(1.0 - r2)
        return (Clearance("above the triangle", height, transmission),)
    if arrangement is Arrangement.CRADLED:
        return (
            Clearance("crown of the raceway above the cradle", play * (1.0 - r2), derived),
            Clearance("straight above a side conductor", play * (1.0 - 2.0 * r2), derived),
        )
    where = "above the diamond"
    if _is_beyond(arrangement, D / d):
        where = "above a diamond, which cannot stand here and would reach higher than they do"
    return (Clearance(where, diamond_clearance_m(D, d), derived),)


def _jam_reason(job: Job, count: int, is_mixed: bool) -> str:
    if job.raceway is None:
        return "no raceway given"
    total = count + sum(line.count for line in job.existing)
    sizes = [line.conductor.diameter_m for line in (*job.conductors, *job.existing)]
    if total != 3 or is_mixed or max(sizes) - min(sizes) > _LIKE * max(sizes):
        counted = ", those already in the raceway counted" if job.existing else ""
        return f"the rule is for three like conductors{counted}"
    return ""


def _side_by_side_ratios(job: Job, inside: float | None) -> tuple[float, ...]:
    if not job.existing or inside is None:
        return ()
    old = [line.conductor.diameter_m for line in job.existing for _ in range(line.count)]
    new = [line.conductor.diameter_m for line in job.conductors for _ in range(line.count)]
    ratios = []
    for d in sorted(set(new)):
        like = [other for other in (*new, *old) if abs(other - d) <= _LIKE * d]
        if len(like) >= 3:
            ratios.append(inside / d)
    return tuple(ratios)


def _findings(
    job: Job,
    count: int,
    is_mixed: bool,
    arrangements: tuple[Arrangement, ...],
    factors: list[float],
    ratio: float | None,
) -> tuple[Finding, ...]:
    found: list[Finding] = []

    def note(code: str, message: str) -> None:
        found.append(Finding(code, Severity.NOTE, message, "pull.arrangement"))

    if len(arrangements) > 1:
        note(
            "arrangement-uncertain",
            f"three conductors at D/d {ratio:.3f} may lie triangular or cradled (from "
            f"memory): the worse of each figure is taken, weight factor {max(factors):.3f}",
        )
    if job.pull.arrangement is None and Arrangement.BUNCHED in arrangements:
        why = "conductors of mixed sizes" if is_mixed else f"{count} conductors"
        note(
            "arrangement-bunched",
            f"{why} taken as bunched: weight factor {BUNCHED_WEIGHT_FACTOR}, {SECONDARY_PAGE}; "
            "all the pressure of a bend on one conductor, own choice, the safe side",
        )
    if any(_is_beyond(arrangement, ratio) for arrangement in arrangements):
        note(
            "diamond-cannot-stand",
            f"four conductors at D/d {ratio:.3f} cannot stand as a diamond (limit "
            f"{DIAMOND_GREATEST_RATIO:.2f}): weight factor {max(factors):.3f}, and all the "
            "pressure of a bend on one conductor, the safe side",
        )
    if job.existing:
        number = sum(line.count for line in job.existing)
        s, them = ("", "it") if number == 1 else ("s", "them")
        found.append(
            Finding(
                "pull-by",
                Severity.CAUTION,
                f"{number} existing conductor{s} in the raceway: a pull-by can damage {them} and "
                f"needs the consent of whoever answers for {them}; the figures are for the new "
                f"conductors alone, friction against the old one{s} may be higher",
                "existing_conductors",
            )
        )
    return tuple(found)
