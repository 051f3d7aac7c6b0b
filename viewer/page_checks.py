"""What the checks say, in parts that the page puts together for any choice of boxes.

A check of a leg hangs on that leg alone, a check of the run on none; only the names of legs follow
from the choice. So sentences are made once, with a sign where the leg's name goes, and the page
lists those of the legs in use. Its verdict follows the rule of `verdict_of`: the tests hold both
equal for every choice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from analyzer.analysis import Analysis, RunAnalysis, analyze
from analyzer.checks.bend_total import check_bend_totals
from analyzer.checks.check import Check
from analyzer.checks.joints import joint_message, pull_figures
from analyzer.checks.leg_length import check_leg_lengths
from analyzer.checks.pull_limits import fails_a_limit
from analyzer.checks.sidewall import check_sidewalls, is_of_corner
from analyzer.checks.situation import Situation
from analyzer.checks.tension import check_tensions
from analyzer.checks.unstated_passages import check_unstated_passages
from analyzer.findings import Verdict
from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import Direction, Pull
from analyzer.reports.content import content_of
from analyzer.reports.words import CHECK_NAMES, check_name
from analyzer.route.legs import Leg
from analyzer.route.run import Fitting, Run

__all__ = [
    "NAME_SIGN",
    "CheckWords",
    "joint_words",
    "leg_checks",
    "passage_caution",
    "standing_values",
    "whole_values",
]

NAME_SIGN = "\ue000"
"""Stands in a sentence where the page writes a leg's or a fitting's name."""

_CODES = list(CHECK_NAMES)
_LEG_FAMILIES = (check_bend_totals, check_leg_lengths, check_tensions, check_sidewalls)
_UNSTATED = "passage not stated"


class CheckWords:
    """Sentences under their number, each held once, in the order they were first seen."""

    __slots__ = ("_numbers",)

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def add(self, text: str) -> int:
        """Return the number of a sentence, which is kept if it is new."""
        return self._numbers.setdefault(text, len(self._numbers))

    def texts(self) -> list[str]:
        """Return all sentences."""
        return list(self._numbers)


def leg_checks(
    run: Run,
    legs: Sequence[Leg],
    pulls: Mapping[Direction, Sequence[Pull]],
    wanted: int,
    job: Job,
    group: ConductorGroup,
    words: CheckWords,
) -> tuple[list[list[Any]], dict[Direction, list[str]]]:
    """Return the checks of one leg that say something, and which fail in each direction.

    Parameters
    ----------
    run : Run
        The run it is of.
    legs, pulls : sequence of Leg, mapping of Direction to Pulls
        The legs pulled in one go with it, and their pulls each way.
    wanted : int
        Which of these legs it is.
    job, group : Job, ConductorGroup
        Conductors and limits.
    words : CheckWords
        Takes the sentences.

    Returns
    -------
    list of [rank, direction, verdict, sentence, doubts], dict of Direction to names
    """
    named = tuple(
        replace(leg, name=NAME_SIGN if index == wanted else f"other {index}")
        for index, leg in enumerate(legs)
    )
    forward, reverse = tuple(pulls[Direction.FORWARD]), tuple(pulls[Direction.REVERSE])
    through = (forward[wanted], reverse[wanted])
    situation = Situation(run, named, forward, reverse, through, job, group)
    checks = [
        check
        for family in _LEG_FAMILIES
        for check in family(situation)
        if check.leg == NAME_SIGN and check.verdict is not Verdict.PASS
    ]
    fails = {
        way: list(
            dict.fromkeys(
                check_name(check.code)
                for check in checks
                if check.verdict is Verdict.FAIL and check.direction in (None, way.value)
            )
        )
        for way in Direction
    }
    return [_check_values(check, words) for check in checks], fails


def _check_values(check: Check, words: CheckWords) -> list[Any]:
    doubts = check.doubts if check.verdict is Verdict.CAUTION else ()
    return [
        float(_CODES.index(check.code)),
        check.direction,
        check.verdict.value,
        None if doubts else words.add(check.message),
        [words.add(doubt) for doubt in doubts],
    ]


def standing_values(
    analysis: Analysis, judged: RunAnalysis, stops: Sequence[Fitting], words: CheckWords
) -> dict[str, Any]:
    """Return what holds for every choice of boxes: checks of the run, findings, corners passed.

    Parameters
    ----------
    analysis : Analysis
        The analysis the run is of.
    judged : RunAnalysis
        The run as drawn.
    stops : sequence of Fitting
        Its pull points.
    words : CheckWords
        Takes the sentences.
    """
    bare = replace(judged, checks=(), findings=judged.run.findings)
    told = content_of(replace(analysis, runs=(bare,))).runs[0]
    severities = {
        finding.severity.value
        for finding in (*bare.findings, *analysis.job.findings, *analysis.group.findings)
    }
    standing = [
        check
        for check in judged.checks
        if (check.leg is None or check.code == "bend-radius")
        and check.source != _UNSTATED
        and check.code != "joint"
        and not is_of_corner(check)
        and check.verdict is not Verdict.PASS
    ]
    return {
        "checks": [_check_values(check, words) for check in standing],
        "severities": sorted(severities),
        "needed": _is_needed_checked(judged),
        "errors": list(told.failing),
        "cautions": list(told.cautions),
        "notes": list(told.notes),
        "corners": _corners(analysis, judged.run, stops, words),
        "passages": _passages(analysis, judged, stops),
    }


def _is_needed_checked(judged: RunAnalysis) -> bool:
    """Whether what a verdict needs was checked: conductor tension, and sidewall in bends.

    Corners inside fittings passed through are asked for apart: they follow the choice of boxes.
    """
    has_bends = any(not bend.in_fitting for bend in judged.run.bends)
    codes = {
        check.code
        for check in judged.checks
        if check.leg is not None and check.verdict is not Verdict.NOT_CHECKED
    }
    return "conductor-tension" in codes and (not has_bends or "sidewall" in codes)


def _corners(
    analysis: Analysis, run: Run, stops: Sequence[Fitting], words: CheckWords
) -> list[dict[str, Any]]:
    """Return note and check of turns inside fittings, for while conductors pass the fitting."""
    turning = [f for f in run.fittings[1:-1] if run.turned_inside_rad(f) > 0.0]
    if not turning:
        return []
    inner = (replace(fitting, pull_point=False) for fitting in run.fittings[1:-1])
    passed = replace(run, fittings=(run.fittings[0], *inner, run.fittings[-1]))
    found = analyze([passed], analysis.job).runs[0]
    bare = replace(found, checks=(), findings=found.findings[len(run.findings) :])
    notes = content_of(replace(analysis, runs=(bare,))).runs[0].notes
    checks = [check for check in found.checks if is_of_corner(check)]
    return [
        {
            "stop": stops.index(fitting) if fitting in stops else None,
            "name": fitting.name,
            "text": text,
            "check": _check_values(check, words),
        }
        for fitting, text, check in zip(turning, notes, checks, strict=True)
    ]


def _passages(
    analysis: Analysis, judged: RunAnalysis, stops: Sequence[Fitting]
) -> dict[str, list[str]]:
    """Cautions on the whole run pulled straight through, where nobody stated the passages."""
    through = (judged.through_forward, judged.through_reverse)
    return passage_caution(judged, stops, through, analysis.job, analysis.group)


def passage_caution(
    judged: RunAnalysis,
    stops: Sequence[Fitting],
    through: tuple[Pull, Pull],
    job: Job,
    group: ConductorGroup,
) -> dict[str, list[str]]:
    """Return what is said of pulls that would pass fittings whose passage is not stated.

    Parameters
    ----------
    judged : RunAnalysis
        The run.
    stops : sequence of Fitting
        Pull points of the stretch that is tried, its feed and pull end included.
    through : (Pull, Pull)
        The pull that is tried, forward and reverse.
    job, group : Job, ConductorGroup
        Conductors and limits.

    Returns
    -------
    dict of direction to [words before the fittings' names, words behind, way]
        The way is what of the words behind hangs on the direction. Only directions in which the
        pull is above a limit.
    """
    unstated = next((stop for stop in stops[1:-1] if not stop.passage_stated), None)
    if unstated is None or not any(fails_a_limit(pull) for pull in through):
        return {}
    middle = replace(unstated, name=NAME_SIGN)
    bare = Leg("", stops[0], stops[-1], 0.0, 0.0, ())
    legs = (replace(bare, end=middle), replace(bare, start=middle))
    situation = Situation(judged.run, legs, through, through, through, job, group)
    return {
        str(check.direction): [*check.message.split(NAME_SIGN, 1), check.way_words]
        for check in check_unstated_passages(situation)
    }


def joint_words() -> dict[str, str]:
    """Return what is said of runs that keep their limits only with joints, at one box or several.

    The page writes the boxes, the feed and the figures where the signs stand.
    """
    return {
        number: joint_message("{boxes}", count, "{feed}", "{figures}")
        for number, count in (("one", 1), ("several", 2))
    }


def whole_values(pull: Pull, job: Job, words: CheckWords) -> list[Any]:
    """Return what a pull between two feeds is to the joints of a run.

    Returns
    -------
    list of [share of limit, greatest tension, whether a limit is passed, sentence]
        Tension at high friction. [N]
    """
    return [
        pull.share_of_limit or 0.0,
        pull.high.max_tension_n,
        fails_a_limit(pull),
        words.add(pull_figures(pull.governing, job)),
    ]
