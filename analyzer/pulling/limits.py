"""Limits of a pull: what conductors, grip, line, puller and bend wall may bear.

Published values come from the table of pulling limits in the catalog; values stated in the job
override them. A limit that is not known is None with the reason, and is not checked.
The cable maker's value governs wherever it is lower or different.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.conductors import Conductor
from analyzer.catalog.tables import Row, find_row
from analyzer.job.line_settling import assumed_line_limit
from analyzer.job.materials import sidewall_class_caution
from analyzer.job.settings import Attachment, Job
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import BrakedState, PullFigures, Share
from analyzer.units import lbf, lbf_per_ft, show_force

__all__ = [
    "PullLimit",
    "braked_limit",
    "conductor_limit_n",
    "friction_level",
    "line_limit",
    "shares",
    "sharing_fraction",
    "sidewall_limit",
    "tension_limits",
]

NAMES = {
    "conductor-tension": "conductor tension",
    "grip-tension": "grip",
    "line-tension": "line working load",
    "puller-tension": "puller capacity",
    "tension-braked": "conductor tension, held back",
    "sidewall": "sidewall pressure",
    "sidewall-braked": "sidewall pressure, held back",
}
"""Limits as people see them, by check code."""

_SOURCES = {
    "L1": "cable maker's guide to pulling tensions",
    "L2": "cable maker's technical guide, 2014",
    "L3": "transmission engineering standard, 2007",
    "L4": "government airfield lighting criteria, 2005",
    "L5": "cable maker's sheet on pulling tensions",
    "L6": "cable maker's technical guide",
    "L7": "cable maker's paper on sidewall pressure, 2011",
}
_BUILDING_WIRE_TEMPER = "AA-8000"


@dataclass(frozen=True, slots=True)
class PullLimit:
    """One limit.

    Attributes
    ----------
    code : str
        Check it belongs to, such as ``grip-tension``.
    name : str
        As people see it.
    limit : float or None
        In N, or N/m for sidewall pressure; None where it is not checked.
    reason : str
        Why it is not checked and what to add; empty where it is.
    source : str
        Where the limit comes from and by which rule.
    cautions : tuple of str
        Assumptions and unconfirmed values the limit rests on, one sentence each.
    """

    code: str
    name: str
    limit: float | None
    reason: str
    source: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Strength:
    """Limit of one conductor, or why there is none."""

    limit_n: float | None
    source: str = ""
    reason: str = ""
    caution: str = ""


def tension_limits(job: Job, group: ConductorGroup) -> tuple[PullLimit, ...]:
    """Return the limits of conductors, grip, line and puller, in that order.

    Parameters
    ----------
    job : Job
        Conductors, attachment, line and puller.
    group : ConductorGroup
        How the conductors lie; only the count is used.

    References
    ----------
    The table ``pull_limits`` of the catalog names its sources.
    """
    pull = job.pull
    return (
        _conductor(job, group.count),
        _grip(pull.attachment),
        line_limit(job),
        _stated("puller-tension", pull.puller_capacity_n, "puller_capacity"),
    )


def line_limit(job: Job) -> PullLimit:
    """Return the limit of the pulling line: its working load. [N]

    Where only the breaking strength is stated, the part of it that the trade takes for the working
    load, with a caution.

    References
    ----------
    The rule ``line working load`` of the table ``practice`` names its source.
    """
    code = "line-tension"
    assumed = assumed_line_limit(job.pull, job.plan, job.units)
    if assumed is None:
        return _stated(code, job.pull.line_working_load_n, "line_working_load")
    part = f"{assumed.percent:g} %"
    return PullLimit(
        code=code,
        name=f"{part} of the line's breaking strength",
        limit=assumed.limit_n,
        reason="",
        source=f"{assumed.source}: {part} of line_breaking_strength",
        cautions=(assumed.caution,),
    )


def braked_limit(job: Job, group: ConductorGroup) -> PullLimit:
    """Return the limit of the tension while the conductors are held back.

    It is the conductors' own. The head has no pull in the braked state, so grip, line and puller
    carry nothing of it: the brake holds the string by its conductors.
    """
    limit = _conductor(job, group.count)
    code = "tension-braked"
    return PullLimit(code, NAMES[code], limit.limit, limit.reason, limit.source, limit.cautions)


def sidewall_limit(job: Job, *, is_braked: bool = False) -> PullLimit:
    """Return the limit of sidewall pressure. [N/m]"""
    code = "sidewall-braked" if is_braked else "sidewall"
    origin = job.limits.sidewall_from
    cautions: tuple[str, ...] = ()
    if origin == "job":
        source = "job: sidewall_pressure"
    elif origin == "insulation class":
        rows = _sidewall_rows(job)
        source = f"{_short_sources(*(row['source'] for row in rows))}, by insulation class"
        cautions = tuple(
            sidewall_class_caution(row["applies_to"]) for row in rows if row["confirmed"] != "yes"
        )
    else:
        row = _row("sidewall pressure", "older general rule")
        source = f"{_short_sources(row['source'])}: older general rule, assumed"
        cautions = ("sidewall pressure limit assumed: state sidewall_pressure in [limits]",)
    value = job.limits.sidewall_pressure_n_per_m
    return PullLimit(code, NAMES[code], value, "", source, cautions)


def shares(
    job: Job, group: ConductorGroup, figures: PullFigures, braked: BrakedState
) -> tuple[Share, ...]:
    """Return calculated over allowed for every limit that can be checked.

    Parameters
    ----------
    job : Job
        Settings that name the limits.
    group : ConductorGroup
        How the conductors lie.
    figures : PullFigures
        At high friction.
    braked : BrakedState
        At low friction.
    """
    found: list[Share] = []
    tension, where = figures.max_tension_n, figures.max_tension_station_m
    for limit in tension_limits(job, group):
        _add(found, limit, tension, where)
    _add(found, braked_limit(job, group), braked.max_tension_n, braked.max_tension_station_m)
    if figures.max_sidewall_station_m is not None:
        pressed = figures.max_sidewall_n_per_m
        _add(found, sidewall_limit(job), pressed, figures.max_sidewall_station_m)
    if braked.max_sidewall_station_m is not None:
        _add(
            found,
            sidewall_limit(job, is_braked=True),
            braked.max_sidewall_n_per_m,
            braked.max_sidewall_station_m,
        )
    return tuple(found)


def friction_level(code: str) -> str | None:
    """Return the friction a limit is compared at: ``high``, held back ``low``.

    None where the code is no limit of a pull.
    """
    if code not in NAMES:
        return None
    return "low" if code.endswith("-braked") else "high"


def conductor_limit_n(conductor: Conductor) -> float | None:
    """Return the limit of one conductor; None where metal, area or temper is missing. [N]

    The stated limit, otherwise stress times metal area: copper 0.008 lbf per circular mil,
    aluminum by temper; aluminum of the catalog without a temper counts as AA-8000.
    """
    return _strength(conductor).limit_n


def sharing_fraction(count: int) -> float:
    """Return the part of the summed limits that may be used: all up to three, else 80 %."""
    row = "up to three conductors" if count <= 3 else "more than three conductors"
    return float(_row("sharing", row)["value"])


def _conductor(job: Job, count: int) -> PullLimit:
    code = "conductor-tension"
    strengths = [(line.conductor, _strength(line.conductor)) for line in job.conductors]
    missing = [f"{item.name}: {found.reason}" for item, found in strengths if found.reason]
    if missing:
        return PullLimit(code, NAMES[code], None, "; ".join(dict.fromkeys(missing)), "")
    singles = [found.limit_n for _, found in strengths if found.limit_n is not None]
    smallest = min(singles)
    fraction = sharing_fraction(count)
    source = "; ".join(dict.fromkeys(found.source for _, found in strengths))
    if count > 1:
        differ = max(singles) - smallest > 1e-9 * smallest
        each = "the weakest conductor times their number" if differ else f"{count} conductors"
        source += f"; {each}" if fraction == 1.0 else f"; {fraction:.0%} of {each}"
    cautions = [found.caution for _, found in strengths if found.caution]
    limit = smallest * count * fraction
    cap = _row("overall cap", "any pull")
    cap_n = lbf(float(cap["value"]))
    if limit > cap_n:
        limit = cap_n
        source = f"{_short_sources(cap['source'])}: overall cap of {show_force(cap_n, job.units)}"
        if cap["confirmed"] != "yes":
            cautions.append("the overall cap on any pull rests on one text only")
    return PullLimit(code, NAMES[code], limit, "", source, tuple(dict.fromkeys(cautions)))


def _strength(conductor: Conductor) -> _Strength:
    if conductor.max_tension_n is not None:
        return _Strength(conductor.max_tension_n, "job: max_tension")
    if conductor.metal is None or conductor.metal_area_cmil is None:
        return _Strength(None, reason="no metal area known, state max_tension")
    metal, caution = conductor.metal, ""
    if metal == "aluminum":
        temper = conductor.temper
        if temper is None and conductor.insulation is None:
            return _Strength(
                None, reason="aluminum of no stated temper, state temper or max_tension"
            )
        if temper is None:
            temper = _BUILDING_WIRE_TEMPER
            caution = (
                f"{conductor.full_name}: no temper given, {temper} assumed for its tension limit"
            )
        metal = f"aluminum {temper}"
    row = _row("conductor stress", metal)
    if row["confirmed"] != "yes":
        text = f"the tension limit of {metal} rests on one text only"
        caution = f"{caution}; {text}" if caution else text
    value = float(row["value"])
    source = f"{_short_sources(row['source'])}: {metal}, {row['value']} lbf per circular mil"
    return _Strength(lbf(value * conductor.metal_area_cmil), source, caution=caution)


def _grip(attachment: Attachment | None) -> PullLimit:
    code = "grip-tension"
    if attachment is None:
        reason = "no attachment stated: add attachment to [pull]"
        return PullLimit(code, NAMES[code], None, reason, "")
    if attachment is Attachment.PULLING_EYE:
        reason = "pulled by an eye on the conductors: no grip to check"
        return PullLimit(code, NAMES[code], None, reason, "")
    row = _row("basket grip", "each grip")
    source = f"{_short_sources(row['source'])}: one basket grip"
    return PullLimit(code, NAMES[code], lbf(float(row["value"])), "", source)


def _stated(code: str, limit_n: float | None, key: str) -> PullLimit:
    if limit_n is None:
        return PullLimit(code, NAMES[code], None, f"not stated: add {key} to [pull]", "")
    return PullLimit(code, NAMES[code], limit_n, "", f"job: {key}")


def _add(found: list[Share], limit: PullLimit, value: float, station_m: float | None) -> None:
    if limit.limit is not None and limit.limit > 0.0:
        found.append(Share(limit.code, limit.name, value, limit.limit, station_m))


def _sidewall_rows(job: Job) -> list[Row]:
    """Rows of the insulation classes whose limit is the one the job settled on."""
    classes = {line.conductor.insulation_class for line in job.conductors}
    rows = [_row("sidewall pressure", name) for name in sorted(c for c in classes if c)]
    least = job.limits.sidewall_pressure_n_per_m
    return [row for row in rows if abs(lbf_per_ft(float(row["value"])) - least) < 1e-9 * least]


def _row(limit: str, applies_to: str) -> Row:
    return find_row("pull_limits", limit=limit, applies_to=applies_to)


def _short_sources(*codes: str) -> str:
    names = [code.strip() for text in codes for code in text.split(",")]
    return ", ".join(dict.fromkeys(_SOURCES[name] for name in names))
