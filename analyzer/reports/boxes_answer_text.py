"""The answer of a study of boxes: how many, where, and on what conditions."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.findings import Verdict
from analyzer.pulling.results import Direction
from analyzer.reports.boxes_words import box_words, placed_whole_share
from analyzer.reports.check_words import needed_words
from analyzer.reports.folding import hung
from analyzer.reports.joint_words import fed_words, whole_share
from analyzer.reports.words import check_name, counted
from analyzer.studies.boxes import BoxStudy
from analyzer.studies.boxes_checks import unstated_boxes
from analyzer.studies.boxes_placements import Placement
from analyzer.studies.boxes_whole import as_few_whole
from analyzer.units import show_share

__all__ = ["answer_text"]

_MOST_NAMED = 3


def answer_text(study: BoxStudy, width: int) -> str:
    """Return the answer: a headline, and below it what is to be known with it.

    Parameters
    ----------
    study : BoxStudy
        What `find_boxes` returned.
    width : int
        Columns to stay within.
    """
    run, job, best = study.analyzed.run, study.job, study.best
    if best is None:
        head, text = _none(study)
    else:
        head, text = _no_box(study) if best.count == 0 else _fewest(study, best)
        if best.governing is not None:
            text += (
                f" Greatest share of limit {show_share(best.governing.share)} "
                f"({check_name(best.governing.code)})."
            )
    if _joined_at(study):
        text += f" {_whole_words(study)}"
    unchecked = needed_words(study.other_checks)
    if unchecked:
        text += f" Not checked: {unchecked}."
    failing = [check for check in study.other_checks if check.verdict is Verdict.FAIL]
    if failing:
        text += (
            f" The run still fails {counted(len(failing), 'check')} that no box changes, listed "
            "below."
        )
    head += f"  {job.title}: {run.name}" if job.title else f"  {run.name}"
    return "\n".join([*hung("", head, width), *hung("  ", text, width)])


def _none(study: BoxStudy) -> tuple[str, str]:
    """Return headline and text where no placement passes."""
    if study.needed is not None:
        text = (
            f"No placement of up to {_count_words(study.job.boxes.most, study)} passes; "
            f"{study.needed} boxes would. Raise most in [boxes], or use a larger raceway, larger "
            "bends or fewer conductors."
        )
    else:
        text = "No placement passes, however many boxes."
        if study.blocked:
            text += " See below for what stands in the way."
    return "NO PLACEMENT", text


def _no_box(study: BoxStudy) -> tuple[str, str]:
    """Return headline and text where the run passes as it stands."""
    head, made = "NO BOX NEEDED", ""
    if needed_words(study.other_checks):
        head, made = "NO BOX NEEDED BY WHAT WAS CHECKED", " and that was made"
    text = f"Every check that a box can change{made} passes as the run stands{_as_long_as(study)}."
    fed_again, joined = _fed_again_at(study), _joined_at(study)
    provisos = []
    if fed_again:
        names = ", ".join(fed_again)
        places = names if len(fed_again) <= _MOST_NAMED else f"{len(fed_again)} BOXES"
        provisos.append(f"TAKEN OUT AT {places}")
    if joined:
        provisos.append(f"JOINED AT {', '.join(joined)}{_or_whole(study)}")
    head += f" IF {' AND '.join(provisos)}" if provisos else ""
    return head, text


def _fewest(study: BoxStudy, best: Placement) -> tuple[str, str]:
    """Return headline and text where some boxes make the run pass."""
    head = _count_words(best.count, study).upper()
    joined = _joined_at(study)
    if joined:
        head += f" AND {counted(len(joined), 'joint').upper()}" + _or_whole(study)
    made = " and that was made" if needed_words(study.other_checks) else ""
    text = (
        f"The fewest: with {'it' if best.count == 1 else 'them'} every check that a box can "
        f"change{made} passes{_as_long_as(study)}. Place: {box_words(best.boxes, study.job)}."
    )
    return head + _beside(study), text


def _as_long_as(study: BoxStudy) -> str:
    """Return what the conductors must be given for the answer to hold."""
    fed_again, joined = _fed_again_at(study), _joined_at(study)
    conditions = [f"taken out and fed again at {', '.join(fed_again)}"] if fed_again else []
    conditions += [f"cut and joined at {', '.join(joined)}"] if joined else []
    return f", as long as conductors are {' and '.join(conditions)}" if conditions else ""


def _fed_again_at(study: BoxStudy) -> Sequence[str]:
    """Names of the boxes that are taken to be refed though the job does not say so."""
    return unstated_boxes(study.analyzed, study.caution_checks)


def _joined_at(study: BoxStudy) -> Sequence[str]:
    """Places where the answer joins conductors."""
    best = study.best
    return best.joints.places if best is not None and best.joints and best.joint_count else ()


def _inner(study: BoxStudy) -> list[str]:
    """Names of the pull points that the run has already between its ends."""
    return [item.name for item in study.analyzed.run.fittings[1:-1] if item.pull_point]


def _count_words(count: int, study: BoxStudy) -> str:
    """Return a number of boxes to add: ``1 box``, or ``2 boxes more`` where some stand already."""
    noun = "box" if count == 1 else "boxes"
    return f"{count} {noun}{' more' if _inner(study) else ''}"


def _beside(study: BoxStudy) -> str:
    names = _inner(study)
    if not names:
        return ""
    return f" (beside {', '.join(names) if len(names) <= _MOST_NAMED else f'{len(names)} boxes'})"


def _or_whole(study: BoxStudy) -> str:
    """Return what would do without a joint, for the headline."""
    best, whole = study.best, study.whole
    if best is None or whole is None:
        return ""
    elsewhere = "" if as_few_whole(best, whole) is None else " ELSEWHERE"
    return f", OR {_count_words(whole.count, study).upper()}{elsewhere}"


def _whole_words(study: BoxStudy) -> str:
    """Say what whole conductors reach with the answer's boxes, and how many they need."""
    best, whole, job = study.best, study.whole, study.job
    assert best is not None and best.joints is not None
    reached = best.joints.whole
    text = (
        f"Without a joint it reaches {whole_share(reached)} of limit at best, {fed_words(reached)}"
    )
    if whole is None:
        return (
            f"{text}, and no placement tried of up to {_count_words(job.boxes.most, study)} passes."
        )
    feed = _one_way(whole) if whole.joints is None else fed_words(whole.joints.whole)
    passes = "passes" if whole.count == 1 else "pass"
    return (
        f"{text}; {_count_words(whole.count, study)}, to the nearest place tried, {passes} without "
        f"one: {box_words(whole.boxes, job)}, {feed} ({placed_whole_share(whole)} of limit)."
    )


def _one_way(placement: Placement) -> str:
    """Return where conductors are fed, of a placement in which no heads meet."""
    ahead = [item.pull for item in placement.legs if item.pull.direction is Direction.FORWARD]
    if not ahead:
        return f"fed at {placement.legs[-1].pull.feed_at}"
    is_end = len(ahead) == len(placement.legs)
    return f"fed at {ahead[0].feed_at}{'' if is_end else ' both ways'}"
