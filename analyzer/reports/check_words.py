"""What the checks of a run say together: its verdict, its cautions, what was not checked."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.analysis import RunAnalysis
from analyzer.checks.check import Check
from analyzer.checks.run_checks import count_not_checked, needed_not_made
from analyzer.checks.sidewall import is_of_corner
from analyzer.findings import Finding, Severity, Verdict
from analyzer.job.settings import Job
from analyzer.pulling.groups import conductor_group
from analyzer.reports.words import check_name, joined

__all__ = [
    "check_cautions",
    "count_cautions",
    "needed_words",
    "not_checked",
    "not_told_by_checks",
    "verdict_text",
]

_MOST_NAMED = 3


def verdict_text(analyzed: RunAnalysis) -> str:
    """Return the verdict with the number of checks not made: ``pass, 3 not checked``."""
    open_checks = count_not_checked(analyzed.checks)
    word = analyzed.verdict.value
    return f"{word}, {open_checks} not checked" if open_checks else word


def check_cautions(checks: Sequence[Check]) -> list[str]:
    """Return the cautions of checks that count, one sentence an assumption with what it touches.

    Cautions on a value go before those on assumptions; those alike but for the direction are one.

    Parameters
    ----------
    checks : sequence of Check
        Of one run.
    """
    lines: dict[tuple[str, str], list[str]] = {}
    ways: dict[tuple[str, str], list[str]] = {}
    for check in checks:
        if check.verdict is not Verdict.CAUTION or not check.counts:
            continue
        for doubt in check.doubts:
            lines.setdefault((doubt, ""), []).append(check_name(check.code))
        if not check.doubts:
            parts = _around_way(check)
            lines.setdefault(parts, [])
            ways.setdefault(parts, []).append(check.way_words)
    found = []
    for parts, names in sorted(lines.items(), key=lambda item: bool(item[1])):
        text = "; ".join(dict.fromkeys(ways.get(parts, []))).join(parts)
        touched = f" (touches {', '.join(dict.fromkeys(names))})"
        found.append(f"{text[:1].upper()}{text[1:]}{touched}" if names else text)
    return found


def _around_way(check: Check) -> tuple[str, str]:
    """Return what a check says before and behind what hangs on its direction."""
    if not check.way_words:
        return check.message, ""
    before, _, behind = check.message.partition(check.way_words)
    return before, behind


def not_told_by_checks(
    findings: Sequence[Finding], checks: Sequence[Sequence[Check]]
) -> list[Finding]:
    """Return the findings on job and files but for assumptions that checks of every run name.

    Parameters
    ----------
    findings : sequence of Finding
        On the job and the files.
    checks : sequence of sequences of Check
        Those of each run, as told.
    """
    named = [
        {doubt for check in of_run if check.counts for doubt in check.doubts} for of_run in checks
    ]
    told = set.intersection(*named) if named else set()
    return [finding for finding in findings if finding.message not in told]


def count_cautions(analyzed: RunAnalysis, job: Job) -> int:
    """Return how many cautions stand on a run: those that its verdict counts, each once.

    Those of checks, of the reading, of the job and of how the conductors lie; an assumption that
    a check names is one with it.
    """
    doubts = {doubt for check in analyzed.checks if check.counts for doubt in check.doubts}
    standing = (*analyzed.findings, *job.findings, *conductor_group(job).findings)
    found = {item.message for item in standing if item.severity is Severity.CAUTION} - doubts
    return len(check_cautions(analyzed.checks)) + len(found)


def needed_words(checks: Sequence[Check]) -> str:
    """Return what leaves a run without a verdict: ``sidewall pressure inside LB``; empty if none.

    Parameters
    ----------
    checks : sequence of Check
        Of one run.
    """
    unmade = needed_not_made(checks)
    words = list(dict.fromkeys(check_name(c.code) for c in unmade if not is_of_corner(c)))
    corners = [check.where for check in unmade if is_of_corner(check)]
    if corners:
        if len(corners) > _MOST_NAMED:
            corners = [*corners[: _MOST_NAMED - 1], f"{len(corners) - _MOST_NAMED + 1} more"]
        words.append(f"sidewall pressure inside {joined(corners)}")
    return joined(words) if words else ""


def not_checked(checks: Sequence[Check]) -> list[str]:
    """Return what was not checked and what to add for it, each once."""
    return list(
        dict.fromkeys(check.message for check in checks if check.verdict is Verdict.NOT_CHECKED)
    )
