"""Many runs at a glance: one row a run, worst first."""

from __future__ import annotations

from math import inf

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.checks.run_checks import count_not_checked
from analyzer.findings import Severity, Verdict
from analyzer.reports.grid import Column, Table
from analyzer.reports.words import check_name
from analyzer.units import UnitSystem, show_angle, show_length, show_share

__all__ = ["overview_table", "overview_text", "worst_first"]

_COLUMNS = (
    Column("Run"),
    Column("Verdict"),
    Column("Of limit", True),
    Column("Governed by"),
    Column("Length", True),
    Column("Bends", True),
    Column("Fails"),
)


def worst_first(analysis: Analysis) -> tuple[RunAnalysis, ...]:
    """Return the runs of an analysis, worst first.

    Worst is a verdict of fail, then runs of which no share of a limit is known, then the larger
    share, every leg pulled its better way; of equals the first in the route.
    """
    return tuple(sorted(analysis.runs, key=_badness))


def overview_table(analysis: Analysis) -> Table:
    """Return one row a run, worst first; the share is that of the better way at high friction."""
    system = analysis.job.units
    return Table(
        "Runs, worst first: share of limit at high friction, each leg pulled its better way",
        _COLUMNS,
        tuple(_row(analysed, system) for analysed in worst_first(analysis)),
    )


def overview_text(analysis: Analysis) -> str:
    """Return in one sentence how many runs there are and how many of them fail."""
    verdicts = [analysed.verdict for analysed in analysis.runs]
    words = [
        f"{verdicts.count(verdict)} {word}"
        for verdict, word in (
            (Verdict.FAIL, "fail"),
            (Verdict.NOT_CHECKED, "not checked"),
            (Verdict.CAUTION, "with cautions"),
            (Verdict.PASS, "pass"),
        )
        if verdict in verdicts
    ]
    return f"{len(verdicts)} runs: {', '.join(words)}"


def _badness(analysed: RunAnalysis) -> tuple[bool, bool, float]:
    share = _worst_share(analysed)[0]
    return (
        analysed.verdict is not Verdict.FAIL,
        share is not None,
        -(inf if share is None else share),
    )


def _worst_share(analysed: RunAnalysis) -> tuple[float | None, str]:
    """Largest share of a limit over the legs, each pulled its better way, and the limit's name."""
    found = [g for leg in analysed.legs if (g := leg.best.governing) is not None]
    if not found:
        return None, ""
    worst = max(found, key=lambda governing: governing.share)
    return worst.share, check_name(worst.code)


def _row(analysed: RunAnalysis, system: UnitSystem) -> tuple[str, ...]:
    share, governs = _worst_share(analysed)
    bends = sum(not bend.in_fitting for bend in analysed.run.bends)
    degrees = show_angle(sum(item.leg.bend_total_rad for item in analysed.legs))
    return (
        analysed.run.name,
        _verdict(analysed),
        "not checked" if share is None else show_share(share),
        governs,
        show_length(analysed.run.centerline.length_m, system),
        f"{bends}, {degrees}",
        _fails(analysed),
    )


def _verdict(analysed: RunAnalysis) -> str:
    """Verdict with the number of checks not made, as everywhere."""
    number = count_not_checked(analysed.checks)
    return f"{analysed.verdict.value}, {number} not checked" if number else analysed.verdict.value


def _fails(analysed: RunAnalysis) -> str:
    """Name what fails: the first check that counts, or the reading, and how many more."""
    failing: list[Check] = [c for c in analysed.checks if c.verdict is Verdict.FAIL and c.counts]
    names = [check_name(check.code) for check in failing]
    if any(finding.severity is Severity.ERROR for finding in analysed.findings):
        names.append("reading")
    first, *others = dict.fromkeys(names) or [""]
    return f"{first}, {len(others)} more" if others else first
