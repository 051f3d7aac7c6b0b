"""What is compared: cases of one route in one color scale, and what they show in words."""

from __future__ import annotations

from dataclasses import dataclass, replace

from analyzer.analysis import Analysis, RunAnalysis, analyze
from analyzer.checks.run_checks import count_not_checked, needed_not_made
from analyzer.errors import InputError
from analyzer.reports.check_words import needed_words, verdict_text
from analyzer.route.run import Fitting, Run
from viewer.cases import scene_at
from viewer.options import ViewOptions
from viewer.quantities import Quantity
from viewer.scene import Scene, run_named
from viewer.shown_values import of_limit, short_name, value_text
from viewer.traces import TensionScale
from viewer.wording import (
    cautions_text,
    failing,
    fails,
    governing_beside,
    governing_words,
    joint_text,
    listed,
)

__all__ = [
    "Case",
    "box_cases",
    "cases_of",
    "compare_headline",
    "conclusion",
    "direction_cases",
    "one_scale",
]

_CORNER_REACH_M = 0.01
_COUNTS = ("no", "one", "two", "three", "four", "five", "six")


@dataclass(frozen=True, slots=True)
class Case:
    """One of the cases compared: its title and its scene."""

    title: str
    scene: Scene


def box_cases(
    analysis: Analysis,
    run: RunAnalysis,
    direction: str = "better",
    friction: str | float = "expected",
    quantity: Quantity = Quantity.TENSION,
) -> tuple[Case, Case]:
    """Return the run pulled through without its boxes, and refed at them.

    Parameters
    ----------
    analysis : Analysis
        Where job and count of runs are taken from.
    run : RunAnalysis
        The run.
    direction : str
        ``forward``, ``reverse`` or ``better``.
    friction : str or float
        A word of the band, or a number within it.
    quantity : Quantity
        What the colors show.

    Raises
    ------
    InputError
        If there is no box between the ends.
    """
    inner = [fitting.name for fitting in run.run.fittings[1:-1] if fitting.pull_point]
    if not inner:
        raise InputError(f"run {run.run.name!r} has no box between its ends to compare with")
    bare = replace(run.run, fittings=_without_boxes(run.run))
    without = analyze([bare], analysis.job).runs[0]
    count = _COUNTS[len(inner)] if len(inner) < len(_COUNTS) else str(len(inner))
    words = f"{count} box" if len(inner) == 1 else f"{count} boxes"
    return (
        Case("Pulled without boxes", scene_at(analysis, without, direction, friction, quantity)),
        Case(f"With {words}", scene_at(analysis, run, direction, friction, quantity)),
    )


def _without_boxes(run: Run) -> tuple[Fitting, ...]:
    """Fittings of the run with no box between its ends; one that holds a corner stays, closed."""
    corners = [bend.station_m for bend in run.bends if bend.in_fitting]
    kept = []
    for index, fitting in enumerate(run.fittings):
        end = index in (0, len(run.fittings) - 1)
        holds = any(abs(fitting.station_m - corner) < _CORNER_REACH_M for corner in corners)
        if end or not fitting.pull_point:
            kept.append(fitting)
        elif holds:
            kept.append(replace(fitting, pull_point=False))
    return tuple(kept)


def direction_cases(
    analysis: Analysis,
    run: RunAnalysis,
    friction: str | float = "expected",
    quantity: Quantity = Quantity.TENSION,
) -> tuple[Case, Case]:
    """Return the run pulled forward and in reverse.

    Parameters
    ----------
    analysis : Analysis
        Where job and count of runs are taken from.
    run : RunAnalysis
        The run.
    friction : str or float
        A word of the band, or a number within it.
    quantity : Quantity
        What the colors show.
    """
    forward = scene_at(analysis, run, "forward", friction, quantity)
    reverse = scene_at(analysis, run, "reverse", friction, quantity)
    first, last = run.run.fittings[0].name, run.run.fittings[-1].name
    return (
        Case(f"Fed at {short_name(first)}", forward),
        Case(f"Fed at {short_name(last)}", reverse),
    )


def cases_of(analysis: Analysis, options: ViewOptions, kind: str) -> tuple[Case, ...]:
    """Return the cases that the command line asks for.

    ``boxes``: pulled without them and with them; ``directions``: the run fed at either end;
    ``all``: without boxes fed at either end, then with them.
    """
    run = run_named(analysis, options.run)
    quantity = Quantity(options.quantity)
    if kind == "boxes":
        return box_cases(analysis, run, options.direction, options.friction, quantity)
    if kind == "all":
        bare, refed = box_cases(analysis, run, options.direction, options.friction, quantity)
        ways = direction_cases(analysis, bare.scene.analysis, options.friction, quantity)
        return (*(Case(f"{way.title}, no boxes", way.scene) for way in ways), refed)
    return direction_cases(analysis, run, options.friction, quantity)


def one_scale(cases: tuple[Case, ...]) -> tuple[Case, ...]:
    """Return the cases in one color scale: the smaller limit, or one range without a limit."""
    scales = [case.scene.scale for case in cases]
    known = [scale for scale in scales if scale.limit_n is not None]
    top = max(scale.top_n for scale in scales)
    if len(known) == len(scales):
        shared = replace(min(known, key=lambda scale: scale.limit_n or 0.0), top_n=top)
    else:
        shared = TensionScale(None, "", top)
    color = [case.scene.other_scale for case in cases if case.scene.other_scale is not None]
    other = None
    if len(color) == len(cases):
        limits = [scale.limit for scale in color if scale.limit is not None]
        other = replace(
            color[0],
            limit=min(limits) if len(limits) == len(color) else None,
            low=min(scale.low for scale in color),
            top=max(scale.top for scale in color),
        )
    return tuple(Case(case.title, case.scene.with_scale(shared, other)) for case in cases)


def compare_headline(cases: tuple[Case, ...]) -> str:
    """Return what the comparison shows, in one sentence; of three, the last against the better.

    With it, what the case it speaks for still fails, and what was not checked in which case. Where
    that leaves the greatest value of a case open, nothing is compared.
    """
    scale, units = cases[0].scene.chart_scale, cases[0].scene.units
    noun = {Quantity.TENSION: "pull", Quantity.SIDEWALL: "sidewall pressure"}.get(
        scale.quantity, "share of limit"
    )
    unmade = _unmade(cases)
    known = [case for case in cases if not _is_open(case.scene)]
    if len(known) < len(cases):
        return f"{_alone(known, noun)}{unmade}"
    if len(cases) > 2:
        *others, last = cases
        cases = (min(others, key=lambda case: case.scene.peak.peak), last)
    first, second = (case.scene.peak.peak for case in cases)
    low, high = (value_text(value, scale.quantity, units) for value in (second, first))
    if cases[1].title.startswith("With "):
        boxes = cases[1].title.removeprefix("With ").capitalize()
        one = boxes.startswith("One")
        rest = f"{_still(cases[1].scene)}{unmade}"
        if low == high:
            return f"{boxes} {'leaves' if one else 'leave'} the {noun} at {low}{rest}"
        if second < first:
            return f"{boxes} {'cuts' if one else 'cut'} the {noun} from {high} to {low}{rest}"
        eases = "does" if one else "do"
        return f"{boxes} {eases} not ease the {noun}: {high} without, {low} with{rest}"
    easier = cases[0] if first < second else cases[1]
    rest = f"{_still(easier.scene)}{unmade}"
    if low == high:
        return f"Either way the {noun} is {low}{rest}"
    small, large = sorted((first, second))
    return (
        f"{easier.title} the {noun} is {value_text(small, scale.quantity, units)}, the other way "
        f"{value_text(large, scale.quantity, units)}{rest}"
    )


def _is_open(scene: Scene) -> bool:
    """Whether a check not made leaves the greatest value of the quantity shown unknown.

    Tension is known where its limit is not; sidewall pressure at a corner passed through is not.
    """
    missing = {check.code for check in needed_not_made(scene.analysis.checks)}
    if scene.chart_scale.quantity is Quantity.SIDEWALL:
        return "sidewall" in missing
    return scene.chart_scale.quantity is Quantity.SHARE and bool(missing)


def _alone(known: list[Case], noun: str) -> str:
    """Return what is known where a case is open: the value of the easiest of the others."""
    if not known:
        return f"The {noun} cannot be compared"
    case = min(known, key=lambda case: case.scene.peak.peak)
    scene = case.scene
    value = value_text(scene.peak.peak, scene.chart_scale.quantity, scene.units)
    return f"{case.title} the {noun} is {value}, which cannot be compared{_still(scene)}"


def _unmade(cases: tuple[Case, ...]) -> str:
    """Return what of the checks that a verdict needs was not made, and in which cases."""
    titles: dict[str, list[str]] = {}
    for case in cases:
        words = needed_words(case.scene.analysis.checks)
        if words:
            titles.setdefault(words, []).append(f"{case.title[0].lower()}{case.title[1:]}")
    return "".join(
        f"; {words} not checked"
        if len(named) == len(cases)
        else f"; {', and '.join(named)}: {words} not checked"
        for words, named in titles.items()
    )


def _still(scene: Scene) -> str:
    """Return what still stands against a case: its limit passed, checks it fails, joints."""
    limit = scene.chart_scale.limit
    if limit is not None and scene.peak.peak > limit:
        return "; still above its limit"
    if limit is not None and max(leg.high_peak for leg in scene.legs) > limit:
        return f"; still above its limit at high friction {scene.job.pull.friction.high:g}"
    failed = failing(scene)
    if failed:
        return f"; {listed(failed)} still {fails(failed)}"
    return joint_text(scene)


def conclusion(case: Case) -> str:
    """Return one sentence on a case: its worst value against the limit, and what fails.

    Where a check not made leaves that value open, it is the highest known, and what is missing is
    named.
    """
    scene = case.scene
    scale, peak = scene.chart_scale, scene.peak.peak
    worst = "Highest known" if _is_open(scene) else "Highest"
    text = f"{worst} {value_text(peak, scale.quantity, scene.units)}"
    failed = failing(scene)
    if scale.limit is None:
        text += ", limit not known"
    elif scale.quantity is not Quantity.SHARE:
        text += f", {of_limit(peak / scale.limit)}"
    high = max(leg.high_peak for leg in scene.legs)
    if high > peak:
        text += f" ({value_text(high, scale.quantity, scene.units)} at high friction)"
    governing = governing_beside(scene)
    if governing is not None:
        text += f"; {governing_words(governing)}"
    text += _unmade((case,)) if _is_open(scene) else ""
    if failed:
        text += f"; fails: {', '.join(failed)}"
        missing = count_not_checked(scene.analysis.checks)
        text += f"; {missing} not checked" if missing else ""
    else:
        text += f"; verdict: {verdict_text(scene.analysis)}"
    cautions = cautions_text(scene)
    return f"{text}; {cautions}." if cautions else f"{text}."
