"""Reading the routes of a command line and analyzing them."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import RouteError

if TYPE_CHECKING:
    from analyzer.analysis import Analysis
    from analyzer.findings import Finding
    from analyzer.job.settings import Job
    from analyzer.route.run import Run

__all__ = ["Loaded", "load"]


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
    from analyzer.cli.named_files import check_route
    from analyzer.cli.options import job_for

    named = tuple(Path(route) for route in args.routes)
    failed = []
    for path in named:
        try:
            check_route(path)
        except RouteError as error:
            failed.append(error)
    if len(failed) == len(named):
        raise failed[0]
    routes = tuple(path for path in named if path.is_file())
    job, job_from = job_for(args, named)
    from analyzer.analysis import analyze
    from analyzer.importers.reading import open_route

    runs: list[Run] = []
    findings: list[Finding] = []
    for path in routes:
        try:
            route = open_route(path, job)
        except RouteError as error:
            failed.append(error)
            continue
        failed += [
            RouteError(f"{path.name}: {item.message}")
            for item in route.findings
            if item.code == "run-unread"
        ]
        runs.extend(route.runs)
        findings.extend(route.findings)
    analysis = analyze(_distinct(runs), job, findings) if runs else None
    return Loaded(analysis, job, job_from, tuple(failed))


def _distinct(runs: list[Run]) -> list[Run]:
    """Return the runs with equal names made different by their file."""
    from dataclasses import replace

    names = [run.name for run in runs]
    return [
        replace(run, name=f"{Path(run.input.file).stem}: {run.name}")
        if names.count(run.name) > 1
        else run
        for run in runs
    ]
