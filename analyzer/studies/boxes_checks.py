"""Checks beside the search for boxes: what no box changes, and what the answer rests on."""

from __future__ import annotations

from dataclasses import replace

from analyzer.analysis import RunAnalysis, analyze
from analyzer.checks.check import Check
from analyzer.checks.joints import joint_message, pull_figures
from analyzer.checks.unstated_passages import PASSAGE_NOT_STATED
from analyzer.findings import Verdict
from analyzer.job.settings import Job
from analyzer.studies.boxes_placements import BOX_CHECKS, Placement
from analyzer.studies.boxes_whole import as_few_whole

__all__ = ["caution_checks", "other_checks", "unstated_boxes"]


def other_checks(analyzed: RunAnalysis) -> tuple[Check, ...]:
    """Return checks not passed that no box changes, and limits of the others that are not known."""
    return tuple(
        check
        for check in analyzed.checks
        if (check.code not in BOX_CHECKS and check.verdict is not Verdict.PASS)
        or check.verdict is Verdict.NOT_CHECKED
    )


def caution_checks(
    analyzed: RunAnalysis, best: Placement | None, whole: Placement | None, job: Job
) -> tuple[Check, ...]:
    """Return the cautions that count among the checks that a box can change.

    Those of the run with the boxes of the answer; of the run as it stands where there is none. One
    of a joint tells what the search found without it.

    Parameters
    ----------
    analyzed : RunAnalysis
        The run as it is.
    best, whole : Placement or None
        The answer, and the fewest boxes with which whole conductors pass where it takes a joint.
    job : Job
        Conductors, friction, limits.
    """
    if best is not None and best.count:
        analyzed = analyze([best.run], job).runs[0]
    return tuple(
        _with_choice(check, best, whole, job)
        for check in analyzed.checks
        if check.verdict is Verdict.CAUTION and check.counts and check.code in BOX_CHECKS
    )


def _with_choice(check: Check, best: Placement | None, whole: Placement | None, job: Job) -> Check:
    """Return a caution; that of a joint with what the search found to do without it."""
    need = None if best is None else best.joints
    if check.code != "joint" or best is None or need is None or not best.joint_count:
        return check
    figures = pull_figures(need.whole.governing, job)
    otherwise = _otherwise(best, whole, job)
    names, count = ", ".join(need.places), len(need.places)
    message = joint_message(names, count, need.whole.feed_at, figures, otherwise)
    return replace(check, message=message)


def _otherwise(best: Placement, whole: Placement | None, job: Job) -> str:
    if whole is None:
        return f": no placement tried of up to {_boxes(job.boxes.most)} does without"
    if as_few_whole(best, whole) is not None:
        return f", or place the {'box' if whole.count == 1 else 'boxes'} elsewhere"
    return f", or add {_boxes(whole.count)}{f' instead of {best.count}' if best.count else ''}"


def _boxes(count: int) -> str:
    return f"{count} {'box' if count == 1 else 'boxes'}"


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
    counted_on = {
        name for check in cautions if check.source == PASSAGE_NOT_STATED for name in check.fittings
    }
    return tuple(
        fitting.name
        for fitting in analyzed.run.fittings[1:-1]
        if fitting.pull_point and not fitting.passage_stated and fitting.name in counted_on
    )
