"""The words of a picture below its headline."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.analysis import LegAnalysis
from analyzer.checks.check import Check
from analyzer.findings import Severity, Verdict
from analyzer.job.settings import Passage
from analyzer.pulling.results import Direction, Pull, Share
from analyzer.reports.check_words import count_cautions, needed_words, verdict_text
from analyzer.reports.joint_words import run_joints
from analyzer.reports.words import check_name, counted
from analyzer.units import show_angle, show_force
from viewer.quantities import Quantity
from viewer.scene import Scene
from viewer.shown_values import limit_text, of_limit, short_name, shown_length, value_text

__all__ = [
    "CAUTION",
    "LISTED",
    "TENSION_CHECKS",
    "cautions_text",
    "failing",
    "failing_checks",
    "fails",
    "friction_of_code",
    "friction_text",
    "governing_beside",
    "governing_share",
    "governing_words",
    "joint_text",
    "left_out_text",
    "listed",
    "meeting_boxes",
    "not_checked_beside",
    "notes",
    "passage_text",
    "reached_limit",
    "size_text",
    "subline",
    "verdict_line",
    "wordiest",
]

CAUTION = (
    "Estimate for planning. The cable maker's values, local code and the authority having "
    "jurisdiction govern. De-energize and lock out; keep clear of loaded lines; brake on drops."
)
"""Short form of the cautions, at the foot of every picture."""

LISTED = "listed by raceway check"
"""Where the cautions on a run can be read; a picture tells how many there are."""

_MOST_NAMED = 3
TENSION_CHECKS = ("conductor-tension", "grip-tension", "line-tension", "puller-tension")
"""Codes of the checks that a picture of tension tells the share of."""
_TOLD = {
    Quantity.TENSION: TENSION_CHECKS,
    Quantity.SIDEWALL: ("sidewall",),
    Quantity.SHARE: (*TENSION_CHECKS, "sidewall"),
}
"""Checks whose share the words on a quantity tell already."""


def reached_limit(scene: Scene) -> str:
    """Return which of tension and sidewall the greatest share shown is of: ``sidewall``.

    That of the friction shown or, where it is larger, of high friction.
    """
    peak, high = scene.peak, max(scene.legs, key=lambda leg: leg.high_peak)
    share, tension_n = peak.peak, peak.max_tension_n
    if high.high_peak > share:
        share, tension_n = high.high_peak, high.high_max_tension_n
    limit_n = scene.scale.limit_n
    is_tension = limit_n is not None and tension_n / limit_n >= share
    return "tension" if is_tension else "sidewall"


def friction_text(scene: Scene) -> str:
    """Return which friction the colors show, such as ``expected friction 0.35``."""
    return f"{scene.friction_name} friction {scene.friction:g}"


def failing_checks(scene: Scene) -> list[Check]:
    """Return the checks that fail the way the legs are shown pulled."""
    ways = {leg.name: leg.direction.value for leg in scene.legs}
    return [
        check
        for check in scene.analysis.checks
        if check.verdict is Verdict.FAIL
        and (check.direction is None or check.direction == ways.get(check.leg or ""))
    ]


def failing(scene: Scene) -> list[str]:
    """Return the checks that fail the way the legs are shown pulled, in plain words."""
    names = [check.code.replace("-", " ") for check in failing_checks(scene)]
    errors = [f for f in scene.analysis.findings if f.severity is Severity.ERROR]
    names += [finding.code.replace("-", " ") for finding in errors]
    return list(dict.fromkeys(names))


def listed(names: list[str]) -> str:
    """Return names as a list in words, short where there are many."""
    if len(names) > 3:
        return f"{names[0]}, {names[1]} and {len(names) - 2} more"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def fails(names: list[str]) -> str:
    """Return the verb that goes with the names."""
    return "fails" if len(names) == 1 else "fail"


def governing_share(scene: Scene) -> Share | None:
    """Return the greatest share of limit the way the legs are shown pulled; None where none is.

    It is the greatest of all checks at high friction (braked: low).
    """
    found = [
        governing
        for leg, trace in zip(scene.analysis.legs, scene.legs, strict=True)
        if (governing := _shown_pull(leg, trace.direction).governing) is not None
    ]
    return max(found, key=lambda share: share.share, default=None)


def friction_of_code(scene: Scene, code: str) -> str:
    """Return the friction a check is made at, such as ``high friction 0.5``."""
    band = scene.job.pull.friction
    if not band.is_band:
        return f"friction {band.high:g}"
    low = code.endswith("-braked")
    return f"low friction {band.low:g}" if low else f"high friction {band.high:g}"


def governing_beside(scene: Scene) -> Share | None:
    """Return the share of limit that governs the run where the quantity shown does not tell it.

    None where it is one of those the words on the quantity tell already, or where nothing could
    be checked.
    """
    most = governing_share(scene)
    if most is None or most.code in _TOLD.get(scene.chart_scale.quantity, ()):
        return None
    return most


def not_checked_beside(scene: Scene) -> str:
    """Return what leaves the run without a verdict, to stand behind a figure; empty if nothing."""
    if scene.analysis.verdict is not Verdict.NOT_CHECKED:
        return ""
    words = needed_words(scene.analysis.checks)
    return f"; {words} not checked" if words else ""


def _shown_pull(leg: LegAnalysis, direction: Direction) -> Pull:
    return leg.forward if direction is Direction.FORWARD else leg.reverse


def governing_words(share: Share) -> str:
    """Return the share that governs in words: ``sidewall pressure governs, 38 % of limit``."""
    return f"{check_name(share.code)} governs, {of_limit(share.share)}"


def subline(scene: Scene, brief: bool = False) -> str:
    """Return the line below the headline: route and size; `brief` leaves the names out."""
    run = scene.analysis.run
    ends = [fitting.name for fitting in scene.fittings]
    first, last = (ends[0], ends[-1]) if scene.feed_left else (ends[-1], ends[0])
    title = scene.job.title or run.name
    if scene.run_count > 1:
        title = f"{run.name} (one of {scene.run_count} runs)"
    size = size_text(scene)
    if brief and scene.run_count > 1:
        return f"{title} · {size}"
    return size if brief else f"{title}, {first} to {last} · {size}"


def size_text(scene: Scene) -> str:
    """Return length and bends of a run: ``197 ft, 8 bends, 510°``."""
    count = len(scene.bends)
    total = sum(bend.angle_rad for bend in scene.analysis.run.bends if not bend.in_fitting)
    bends = f"{counted(count, 'bend')}, {show_angle(total)}" if count else "no bends"
    return f"{shown_length(scene.length_m, scene.units)}, {bends}"


def verdict_line(scene: Scene) -> str:
    """Return the worst value against its limit, and the run's verdict with what fails.

    The friction it stands at is named where the legend, of a place, names none.
    """
    scale, peak = scene.chart_scale, scene.peak.peak
    worst = value_text(peak, scale.quantity, scene.units)
    if not scene.quantity.has_curve:
        worst += f" at {friction_text(scene)}"
    high = max(leg.high_peak for leg in scene.legs)
    if high > peak:
        worst += f" ({value_text(high, scale.quantity, scene.units)} at high friction)"
    limit = f"limit {limit_text(scale, scene.units)}"
    if scale.limit is not None:
        share = scale.quantity is Quantity.SHARE
        limit += f" ({reached_limit(scene) if share else scale.limit_of})"
    governing = governing_beside(scene)
    if governing is not None:
        limit += f"; {governing_words(governing)}"
    failed = failing(scene)
    verdict = scene.analysis.verdict
    told = verdict_text(scene.analysis)
    if failed and verdict is Verdict.FAIL:
        told = told.replace(verdict.value, f"{verdict.value} ({listed(failed)})", 1)
    text = f"{_worst_word(scene)} {worst}, {limit} · verdict: {told}"
    cautions = cautions_text(scene)
    if cautions:
        text += f" · {cautions}"
    # the verdict is of the better way; this picture may show the other one
    if failed and verdict is not Verdict.FAIL:
        text += f" · pulled this way: {listed(failed)} {fails(failed)}"
    return text


def cautions_text(scene: Scene) -> str:
    """Return how many cautions the verdict counts: ``2 cautions``; empty without any."""
    number = count_cautions(scene.analysis, scene.job)
    return counted(number, "caution") if number else ""


def _worst_word(scene: Scene) -> str:
    return "Worst" if scene.chart_scale.over(np.array([scene.peak.peak])).any() else "Highest"


def _width_text(scene: Scene) -> str:
    raceway = scene.job.raceway
    if not scene.true_diameter or raceway is None:
        return "wider than true"
    if scene.too_thin:
        return "wider than true, to show its color"
    if raceway.outside_diameter_m is None:
        return "at its inside diameter (the outside is not known)"
    if not raceway.outside_confirmed:
        return "at its outside diameter (not confirmed)"
    return "at its true diameter"


def wordiest(scene: Scene) -> Scene:
    """Return the scene with the longest words on its width that a camera can settle.

    Room for the words is kept before the camera is known.
    """
    ways = [scene, replace(scene, true_diameter=True, too_thin=False)]
    if scene.true_diameter:
        ways.append(replace(scene, too_thin=True))
    return max(ways, key=lambda way: len(_width_text(way)))


def left_out_text(titles: Sequence[str]) -> str:
    """Return which labels found no room in a picture, empty where all did.

    Examples
    --------
    >>> left_out_text(["B3  90°", "Leg 2   47.3 lbf"])
    'No room for the labels B3 and Leg 2.'
    """
    names = [title.split("  ")[0] for title in titles]
    if not names:
        return ""
    return f"No room for the label{'s' if len(names) > 1 else ''} {listed(names)}."


def passage_text(scene: Scene) -> str:
    """Return how the conductors pass the boxes between the ends; empty where there is none.

    ``conductors taken out and fed again at Box A (assumed), cut and joined at Box B, passed through
    Box C``: assumed where the passage is not stated, joined where heads meet as shown.
    """
    meeting = meeting_boxes(scene)
    inner = [fitting for fitting in scene.analysis.run.fittings[1:-1] if fitting.pull_point]
    joined = [fitting for fitting in inner if fitting.name in meeting]
    refed = [f for f in inner if f.passage is Passage.REFEED and f.name not in meeting]
    groups = (
        ("taken out and fed again at", [f for f in refed if f.passage_stated], ""),
        ("taken out and fed again at", [f for f in refed if not f.passage_stated], " (assumed)"),
        ("cut and joined at", joined, ""),
        ("passed through", [f for f in inner if f.passage is Passage.THROUGH], ""),
    )
    parts = [
        f"{words} {_boxes_named([fitting.name for fitting in boxes])}{mark}"
        for words, boxes, mark in groups
        if boxes
    ]
    return f"conductors {', '.join(parts)}" if parts else ""


def meeting_boxes(scene: Scene) -> tuple[str, ...]:
    """Return the boxes between the ends that both legs beside them are pulled to as shown."""
    inner = [mark for mark in scene.fittings if mark.outward is None]
    return tuple(mark.name for mark in inner if mark.role == "pull")


def joint_text(scene: Scene) -> str:
    """Return the joints without which the limits are not kept, to stand behind a figure.

    ``; only with a joint at Box A``; empty where none is needed as shown.
    """
    if not meeting_boxes(scene):
        return ""
    need = run_joints(scene.analysis, scene.job)
    if need is None or not need.is_needed:
        return ""
    joints = "a joint" if len(need.places) == 1 else "joints"
    return f"; only with {joints} at {_boxes_named(list(need.places))}"


def _boxes_named(names: list[str]) -> str:
    few = len(names) <= _MOST_NAMED
    return listed([short_name(name) for name in names]) if few else f"{len(names)} boxes"


def notes(scene: Scene, judged: bool = True) -> str:
    """Return the small print of a picture: what is drawn untrue, and where limits are checked.

    `judged` adds what is this run's alone: how its boxes are passed, the tension at high friction,
    and where its cautions are listed.
    """
    band = scene.job.pull.friction
    passages = passage_text(scene)
    parts = [passages] if judged and passages else []
    if band.is_band and scene.friction_name != "high":
        high = show_force(max(leg.high_max_tension_n for leg in scene.legs), scene.units)
        text = f"limits are checked at high friction {band.high:g}"
        parts.append(f"{text}, where the pull takes {high}" if judged else text)
    parts.append(f"raceway drawn {_width_text(scene)}")
    if scene.floor_m != 0.0:
        parts.append(f"floor drawn at elevation {shown_length(scene.floor_m, scene.units)}")
    if judged and cautions_text(scene):
        parts.append(f"cautions are {LISTED}")
    return " ".join(f"{part[0].upper()}{part[1:]}." for part in parts)
