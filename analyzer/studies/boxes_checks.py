"""Checks beside the search for boxes: what no box changes, and what the answer rests on."""

from __future__ import annotations

from analyzer.analysis import RunAnalysis, analyze
from analyzer.checks.check import Check
from analyzer.checks.unstated_passages import PASSAGE_NOT_STATED
from analyzer.findings import Verdict
from analyzer.job.settings import Job
from analyzer.studies.boxes_placements import BOX_CHECKS, Placement

__all__ = ["caution_checks", "other_checks", "unstated_boxes"]


def other_checks(analyzed: RunAnalysis) -> tuple[Check, ...]:
    """Return checks not passed that no box changes, and limits of the others that are not known."""
    return tuple(
        check
        for check in analyzed.checks
        if (check.code not in BOX_CHECKS and check.verdict is not Verdict.PASS)
        or check.verdict is Verdict.NOT_CHECKED
    )


def caution_checks(analyzed: RunAnalysis, best: Placement | None, job: Job) -> tuple[Check, ...]:
    """Return the cautions that count among the checks that a box can change.

    Those of the run with the boxes of the answer; of the run as it stands where there is none.
    """
    if best is not None and best.count:
        analyzed = analyze([best.run], job).runs[0]
    return tuple(
        check
        for check in analyzed.checks
        if check.verdict is Verdict.CAUTION and check.counts and check.code in BOX_CHECKS
    )


def unstated_boxes(analyzed: RunAnalysis, cautions: tuple[Check, ...]) -> tuple[str, ...]:
    """Return the boxes that an answer counts on though their passage is not stated.

    None where the conductors, pulled straight through them, would keep every limit too.

    Parameters
    ----------
    analyzed : RunAnalysis
        The run as it is.
    cautions : tuple of Check
        As `caution_checks` returns them.
    """
    if not any(check.source == PASSAGE_NOT_STATED for check in cautions):
        return ()
    return tuple(
        fitting.name
        for fitting in analyzed.run.fittings[1:-1]
        if fitting.pull_point and not fitting.passage_stated
    )
