"""The pulling line of a job: what it may carry where its working load is not stated."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.practice import find_practice
from analyzer.findings import Finding, Severity
from analyzer.job.faults import Faults
from analyzer.job.settings import PlanSettings, PullSettings
from analyzer.units import UnitSystem, show_force

__all__ = ["AssumedLineLimit", "assumed_line_limit", "line_faults", "line_findings"]


@dataclass(frozen=True, slots=True)
class AssumedLineLimit:
    """A part of the breaking strength taken for the working load.

    Attributes
    ----------
    limit_n : float
        What the line may carry. [N]
    percent : float
        That part of the breaking strength. [%]
    source : str
        Where the part was read.
    caution : str
        What was taken and what to state instead, in one sentence.
    """

    limit_n: float
    percent: float
    source: str
    caution: str


def assumed_line_limit(
    pull: PullSettings, plan: PlanSettings, system: UnitSystem
) -> AssumedLineLimit | None:
    """Return the limit of a line of stated breaking strength and no working load, else None.

    Parameters
    ----------
    pull : PullSettings
        May state the working load.
    plan : PlanSettings
        May state the breaking strength.
    system : UnitSystem
        Of the forces in the caution.

    References
    ----------
    The rule ``line working load`` of the table ``practice`` names its source.
    """
    breaks_n = plan.line_breaking_strength_n
    if pull.line_working_load_n is not None or breaks_n is None:
        return None
    rule = find_practice("line working load")
    limit_n = rule.value / 100.0 * breaks_n
    caution = (
        f"line working load not stated, {rule.value:g} % of its breaking strength taken "
        f"({rule.source}): {show_force(limit_n, system)} of {show_force(breaks_n, system)}; state "
        "line_working_load in [pull]"
    )
    return AssumedLineLimit(limit_n, rule.value, rule.source, caution)


def line_findings(pull: PullSettings, plan: PlanSettings, system: UnitSystem) -> list[Finding]:
    """Return a caution where the limit of the line is assumed: it holds whatever the verdict.

    Parameters
    ----------
    pull : PullSettings
        With the working load of the line.
    plan : PlanSettings
        With its breaking strength.
    system : UnitSystem
        Units that people see first.
    """
    assumed = assumed_line_limit(pull, plan, system)
    if assumed is None:
        return []
    where = "plan.line_breaking_strength"
    return [Finding("line-limit-assumed", Severity.CAUTION, assumed.caution, where)]


def line_faults(pull: PullSettings, plan: PlanSettings, system: UnitSystem, faults: Faults) -> None:
    """Refuse a working load that is not below the breaking strength.

    Parameters
    ----------
    pull : PullSettings
        With the working load of the line.
    plan : PlanSettings
        With its breaking strength.
    system : UnitSystem
        Units that people see first.
    faults : Faults
        What is wrong is added here.
    """
    works, breaks = pull.line_working_load_n, plan.line_breaking_strength_n
    if works is not None and breaks is not None and breaks <= works:
        faults.add(
            ("plan", "line_breaking_strength"),
            f"{show_force(breaks, system)} is not above line_working_load, "
            f"{show_force(works, system)}: a line works at a part of the strength it breaks at; "
            "state both as its maker lists them",
        )
