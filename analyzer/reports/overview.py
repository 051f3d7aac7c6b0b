"""Many runs at a glance: one row a run, worst first."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.checks.run_checks import count_not_checked
from analyzer.findings import Severity, Verdict
from analyzer.job.settings import Passage
from analyzer.reports.grid import Column, Table
from analyzer.reports.words import check_name
from analyzer.route.run import Run
from analyzer.units import UnitSystem, show_angle, show_length, show_share

__all__ = [
    "lost_files",
    "lost_runs",
    "overview_table",
    "overview_text",
    "passage_words",
    "worst_first",
]

_COLUMNS = (
    Column("Run"),
    Column("Verdict"),
    Column("Of limit", True),
    Column("Governed by"),
    Column("Length", True),
    Column("Bends", True),
    Column("Boxes"),
    Column("Fails"),
)
_BOXES = [column.header for column in _COLUMNS].index("Boxes")


def worst_first(analysis: Analysis) -> tuple[RunAnalysis, ...]:
    """Return the runs of an analysis, worst first.

    Worst is a verdict of fail, then runs of which no share of a limit is known, then the larger
    share, every leg pulled its better way; of equals the first in the route.
    """
    return tuple(sorted(analysis.runs, key=_badness))


def lost_runs(analysis: Analysis) -> tuple[str, ...]:
    """Return the names of runs that the files hold and that could not be read."""
    return tuple(one.where for one in analysis.findings if one.code == "run-unread")


def lost_files(analysis: Analysis) -> tuple[str, ...]:
    """Return the names of files that could not be read, of however many runs."""
    return tuple(one.where for one in analysis.findings if one.code == "file-unread")


def overview_table(analysis: Analysis) -> Table:
    """Return one row a run, worst first; the share is that of the better way at high friction.

    Files and runs that could not be read come before all others. How conductors pass the boxes
    stands in a column of its own, where any run has a box to be passed.
    """
    system = analysis.job.units
    lost = (*lost_files(analysis), *lost_runs(analysis))
    rows: list[tuple[str, ...]] = [(name, "not read", *[""] * (len(_COLUMNS) - 2)) for name in lost]
    rows += [_row(analyzed, system) for analyzed in worst_first(analysis)]
    kept = [index for index in range(len(_COLUMNS)) if index != _BOXES or _any(rows, index)]
    return Table(
        "Runs, worst first: share of limit at high friction, each leg pulled its better way",
        tuple(_COLUMNS[index] for index in kept),
        tuple(tuple(row[index] for index in kept) for row in rows),
    )


def passage_words(run: Run) -> str:
    """Return how conductors pass the pull points between the ends: ``2 refed, 1 through``.

    Empty where there is none. Refed may be taken because nobody said so: where that could make a
    run pass, its verdict is a caution.
    """
    inner = [fitting.passage for fitting in run.fittings[1:-1] if fitting.pull_point]
    ways = ((Passage.REFEED, "refed"), (Passage.THROUGH, "through"))
    return ", ".join(f"{inner.count(way)} {word}" for way, word in ways if way in inner)


def _any(rows: Sequence[tuple[str, ...]], index: int) -> bool:
    return any(row[index] for row in rows)


def overview_text(analysis: Analysis) -> str:
    """Return how many runs there are, not read ones too, how many fail, and how many files lack."""
    lost = len(lost_runs(analysis))
    verdicts = [analyzed.verdict for analyzed in analysis.runs]
    words = [f"{lost} not read"] if lost else []
    words += [
        f"{verdicts.count(verdict)} {word}"
        for verdict, word in (
            (Verdict.FAIL, "fail"),
            (Verdict.NOT_CHECKED, "not checked"),
            (Verdict.CAUTION, "with cautions"),
            (Verdict.PASS, "pass"),
        )
        if verdict in verdicts
    ]
    runs = f"{_counted(len(verdicts) + lost, 'run')}: {', '.join(words)}"
    files = len(lost_files(analysis))
    return f"{_counted(files, 'file')} not read; {runs}" if files else runs


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _badness(analyzed: RunAnalysis) -> tuple[bool, bool, float]:
    share = _worst_share(analyzed)[0]
    return (
        analyzed.verdict is not Verdict.FAIL,
        share is not None,
        -(inf if share is None else share),
    )


def _worst_share(analyzed: RunAnalysis) -> tuple[float | None, str]:
    """Largest share of a limit over the legs, each pulled its better way, and the limit's name."""
    found = [g for leg in analyzed.legs if (g := leg.best.governing) is not None]
    if not found:
        return None, ""
    worst = max(found, key=lambda governing: governing.share)
    return worst.share, check_name(worst.code)


def _row(analyzed: RunAnalysis, system: UnitSystem) -> tuple[str, ...]:
    share, governs = _worst_share(analyzed)
    bends = sum(not bend.in_fitting for bend in analyzed.run.bends)
    degrees = show_angle(sum(item.leg.bend_total_rad for item in analyzed.legs))
    return (
        analyzed.run.name,
        _verdict(analyzed),
        "not checked" if share is None else show_share(share),
        governs,
        show_length(analyzed.run.centerline.length_m, system),
        f"{bends}, {degrees}",
        passage_words(analyzed.run),
        _fails(analyzed),
    )


def _verdict(analyzed: RunAnalysis) -> str:
    """Verdict with the number of checks not made, as everywhere."""
    number = count_not_checked(analyzed.checks)
    return f"{analyzed.verdict.value}, {number} not checked" if number else analyzed.verdict.value


def _fails(analyzed: RunAnalysis) -> str:
    """Name what fails: the first check that counts, or the reading, and how many more."""
    failing: list[Check] = [c for c in analyzed.checks if c.verdict is Verdict.FAIL and c.counts]
    names = [check_name(check.code) for check in failing]
    if any(finding.severity is Severity.ERROR for finding in analyzed.findings):
        names.append("reading")
    first, *others = dict.fromkeys(names) or [""]
    return f"{first}, {len(others)} more" if others else first
