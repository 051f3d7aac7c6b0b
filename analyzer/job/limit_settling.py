"""The limits of a job: a rule set, and single values that override it."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.catalog.rules import RuleSet, find_rules
from analyzer.errors import CatalogError
from analyzer.findings import Finding, Severity
from analyzer.job.faults import Faults
from analyzer.job.keys import LimitsTable
from analyzer.job.materials import sidewall_by_class
from analyzer.job.settings import ConductorLine, Limits
from analyzer.units import UnitSystem, show_degrees, show_length

__all__ = ["settle_limits"]


def settle_limits(
    table: LimitsTable | None,
    conductors: tuple[ConductorLine, ...],
    system: UnitSystem,
    faults: Faults,
    findings: list[Finding],
) -> Limits | None:
    """Return the limits of a job: those it states, otherwise those of its rule set.

    Parameters
    ----------
    table : LimitsTable or None
        As written; None where it is faulty.
    conductors : tuple of ConductorLine
        Those to be pulled, which may set the sidewall limit.
    system : UnitSystem
        Of the lengths in findings.
    faults : Faults
        What is wrong is added here.
    findings : list of Finding
        What a person should know is added here.
    """
    if table is None:
        return None
    default = Limits()
    try:
        rules = find_rules(table.rules or default.rules)
    except CatalogError as error:
        faults.add(("limits", "rules"), str(error))
        return None
    if not rules.confirmed:
        findings.append(
            Finding(
                "table-unconfirmed",
                Severity.CAUTION,
                f"rule set {rules.name} ({rules.title}) rests on one text only ({rules.source}): "
                "check it against the edition in force",
                "limits.rules",
            )
        )
    if rules.note and not rules.name.startswith("nec-"):
        findings.append(
            Finding(
                "rules-note", Severity.NOTE, f"rule set {rules.name}: {rules.note}", "limits.rules"
            )
        )
    degrees, degrees_from = rules.degrees_between_pull_points, "rule set"
    if table.degrees_between_pull_points is not None:
        degrees, degrees_from = table.degrees_between_pull_points, "job"
    length_m, length_from = rules.length_between_pull_points_m, "rule set"
    if table.length_between_pull_points is not None:
        length_m, length_from = table.length_between_pull_points, "job"
    findings += _looser_than_rules(rules, degrees, length_m, system)
    sidewall, sidewall_from = sidewall_by_class(conductors, findings, table.sidewall_pressure)
    stated_clearance = table.clearance is not None
    return Limits(
        rules=rules.name,
        degrees_between_pull_points=degrees,
        degrees_from=degrees_from,
        length_between_pull_points_m=length_m,
        length_from=length_from,
        sidewall_pressure_n_per_m=sidewall,
        sidewall_from=sidewall_from,
        clearance_m=table.clearance if table.clearance is not None else default.clearance_m,
        clearance_from="job" if stated_clearance else default.clearance_from,
    )


def _looser_than_rules(
    rules: RuleSet, degrees: float, length_m: float | None, system: UnitSystem
) -> Iterator[Finding]:
    """Yield a note on each limit between pull points that is looser than the rule set's.

    Limits that read alike are one limit, rounded, as 45.73 m for 150 ft.
    """
    whose = f"rule set {rules.name}: a leg above that is a caution, not a plain pass"
    if degrees > rules.degrees_between_pull_points:
        allowed = show_degrees(degrees)
        of_rules = show_degrees(rules.degrees_between_pull_points)
        text = f"the job allows {allowed} of bends between pull points, above the {of_rules} of "
        where = "limits.degrees_between_pull_points"
        if allowed != of_rules:
            yield Finding("limit-looser", Severity.NOTE, text + whose, where)
    longest_m = rules.length_between_pull_points_m
    if length_m is not None and longest_m is not None and length_m > longest_m:
        allowed, of_rules = (show_length(value, system) for value in (length_m, longest_m))
        text = f"the job allows {allowed} between pull points, above the {of_rules} of "
        where = "limits.length_between_pull_points"
        if allowed != of_rules:
            yield Finding("limit-looser", Severity.NOTE, text + whose, where)
