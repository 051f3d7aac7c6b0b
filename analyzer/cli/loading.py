"""Reading the routes of a command line and analyzing them."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import ElsewhereError, RouteError

if TYPE_CHECKING:
    from analyzer.analysis import Analysis
    from analyzer.findings import Finding
    from analyzer.job.settings import Job
    from analyzer.route.run import Route, Run

__all__ = ["Loaded", "load", "said_of_routes"]

_MOST_SAID = 20
_TOLD = ("run-unread", "file-unread")  # what a person was told when it was lost


@dataclass(frozen=True, slots=True)
class Loaded:
    """An analysis, the job behind it, where the job came from, and routes that failed."""

    analysis: Analysis | None
    job: Job
    job_from: str
    failed: tuple[RouteError, ...]


def load(args: argparse.Namespace) -> Loaded:
    """Read and analyze the routes of a command line.

    Routes that cannot be read are collected, the others are done.

    Raises
    ------
    RouteError
        If none of the routes can be read.
    JobError
        If the job cannot be used.
    """
    from analyzer.cli.named_files import check_route, is_file
    from analyzer.cli.options import job_for
    from analyzer.findings import Finding, Severity

    named = tuple(Path(route) for route in args.routes)
    failed: list[RouteError] = []
    findings: list[Finding] = []

    def lose(path: Path, error: RouteError) -> None:
        failed.append(error)
        findings.append(Finding("file-unread", Severity.ERROR, str(error), path.name))

    for path in named:
        try:
            check_route(path)
        except RouteError as error:
            lose(path, error)
    if len(failed) == len(named):
        raise failed[0]
    routes = tuple(path for path in named if is_file(path))
    job, job_from = job_for(args, named)
    from analyzer.analysis import analyze

    runs: list[Run] = []
    elsewhere: list[list[ElsewhereError]] = []
    for path in routes:
        try:
            route, missing = _open(path, job, len(named) > 1)
        except RouteError as error:
            lose(path, error)
            continue
        elsewhere.append(missing)
        failed += [RouteError(item.message) for item in route.findings if item.code == "run-unread"]
        runs.extend(route.runs)
        findings.extend(route.findings)
    _refuse_nowhere(elsewhere)
    analysis = analyze(_distinct(runs), job, findings) if runs else None
    return Loaded(analysis, job, job_from, tuple(failed))


def said_of_routes(analysis: Analysis) -> list[str]:
    """Return the errors and cautions on files and runs, for commands that show no list of them.

    Parameters
    ----------
    analysis : Analysis
        Runs and files that could not be read are told already and are left out.
    """
    from analyzer.findings import Severity

    told = {*analysis.job.findings, *analysis.group.findings}
    of_files = [finding for finding in analysis.findings if finding not in told]
    lines = [("", finding) for finding in of_files if finding.code not in _TOLD]
    lines += [
        (f" on run {item.run.name}", finding)
        for item in analysis.runs
        for finding in item.run.findings
        if finding not in of_files
    ]
    texts = [
        f"{finding.severity.value}{on}: {finding.message}"
        for severity in (Severity.ERROR, Severity.CAUTION)
        for on, finding in lines
        if finding.severity is severity
    ]
    texts = list(dict.fromkeys(texts))
    left = len(texts) - _MOST_SAID
    more = [f"{left} more cautions: raceway check tells them"] if left > 0 else []
    return [*texts[:_MOST_SAID], *more]


def _open(path: Path, job: Job, is_one_of_several: bool) -> tuple[Route, list[ElsewhereError]]:
    """Read a route; of several, leave out what the job names in another, and return that."""
    from analyzer.importers.reading import open_route

    missing: list[ElsewhereError] = []
    while True:
        try:
            return open_route(path, job), missing
        except ElsewhereError as error:
            if not is_one_of_several:
                raise
            missing.append(error)
            if error.what == job.drawing.start:
                job = replace(job, drawing=replace(job.drawing, start=None))
            else:
                kept = tuple(entry for entry in job.fittings if entry != error.what)
                job = replace(job, fittings=kept)


def _refuse_nowhere(elsewhere: list[list[ElsewhereError]]) -> None:
    """Raise what no route holds of all that the job names."""
    if not elsewhere:
        return
    for error in elsewhere[0]:
        if all(any(error.what == other.what for other in missing) for missing in elsewhere):
            raise error


def _distinct(runs: list[Run]) -> list[Run]:
    """Return the runs with equal names made different by their file."""
    names = [run.name for run in runs]
    return [
        replace(run, name=f"{Path(run.input.file).stem}: {run.name}")
        if names.count(run.name) > 1
        else run
        for run in runs
    ]
