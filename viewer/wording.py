"""The words of a picture: headline, line below it, notes; every number written in one way."""

from __future__ import annotations

from math import ceil, floor

from analyzer.findings import Severity, Verdict
from analyzer.units import (
    UnitSystem,
    show_angle,
    show_force,
    show_length,
    show_number,
    to_lbf,
)
from viewer.scene import Scene
from viewer.traces import LegTrace

__all__ = [
    "CAUTION",
    "failing",
    "force_number",
    "force_unit",
    "friction_text",
    "headline",
    "notes",
    "of_limit",
    "shown_length",
    "subline",
    "verdict_line",
]

CAUTION = (
    "Estimate for planning. The cable maker's values, local code and the authority having "
    "jurisdiction govern. De-energize and lock out; keep clear of loaded lines; brake on drops."
)
"""Short form of the cautions, at the foot of every picture."""


def force_unit(units: UnitSystem) -> str:
    """Return the unit tensions are drawn in."""
    return "lbf" if units is UnitSystem.US else "kN"


def force_number(force_n: float, units: UnitSystem) -> str:
    """Return a tension without its unit, in the unit of `force_unit`, for scales and ticks."""
    if units is UnitSystem.US:
        value = to_lbf(force_n)
        return show_number(value, 0 if abs(value) >= 9.95 or value == 0 else 1)
    text = show_number(force_n / 1000, 2)
    return text.rstrip("0").rstrip(".") if "." in text else text


def shown_length(length_m: float, units: UnitSystem) -> str:
    """Return a length along the run."""
    return show_length(length_m, units)


def of_limit(share: float) -> str:
    """Return value over limit in words, never rounded across the limit.

    Examples
    --------
    >>> of_limit(0.346)
    '35 % of limit'
    >>> of_limit(2.528)
    '2.5 × limit'
    >>> of_limit(1.0004)
    '1.0004 × limit'
    """
    if share <= 1.0:
        return f"{_percent(share)} of limit"
    return f"{_times(share)} × limit"


def _percent(share: float) -> str:
    value = share * 100
    if 0 < value < 9.95:
        return f"{value:.1f} %" if value >= 0.05 else "under 0.1 %"
    if value < 100 and round(value) >= 100:
        return f"{floor(value * 10) / 10:.1f} %"
    return f"{value:.0f} %"


def _times(share: float) -> str:
    for decimals in (1, 2, 3, 4, 5, 6):
        text = f"{share:.{decimals}f}"
        if float(text) > 1.0 and (share >= 1.95 or decimals > 1):
            return text
    return "just over 1"


def friction_text(scene: Scene) -> str:
    """Return which friction the colors show, such as ``expected friction 0.35``."""
    return f"{scene.friction_name} friction {scene.friction:g}"


def failing(scene: Scene) -> list[str]:
    """Return the checks that fail the way the legs are shown pulled, in plain words."""
    ways = {leg.name: leg.direction.value for leg in scene.legs}
    names = [
        check.code.replace("-", " ")
        for check in scene.analysis.checks
        if check.verdict is Verdict.FAIL
        and (check.direction is None or check.direction == ways.get(check.leg or ""))
    ]
    errors = [f for f in scene.analysis.findings if f.severity is Severity.ERROR]
    names += [finding.code.replace("-", " ") for finding in errors]
    return list(dict.fromkeys(names))


def headline(scene: Scene) -> str:
    """Return the finding in one sentence."""
    scale, worst = scene.scale, scene.worst
    failed = failing(scene)
    if scale.limit_n is None:
        force = show_force(worst.max_tension_n, scene.units)
        base = f"The pull needs {force}; no tension limit is known"
        return base if not failed else f"{base}, and {_listed(failed)} {_fails(failed)}"
    share = worst.max_tension_n / scale.limit_n
    if share > 1.0:
        return _over_headline(scene, worst, share)
    high = max(leg.high_max_tension_n for leg in scene.legs)
    if high > scale.limit_n:
        top = scene.job.pull.friction.high
        return (
            f"At high friction {top:g} the pull takes {show_force(high, scene.units)}, over its "
            f"limit of {show_force(scale.limit_n, scene.units)}"
        )
    # high friction governs the checks, so the share told is never the flattering one
    even = ", even at high friction" if high > worst.max_tension_n else ""
    most = _ceiling(max(share, high / scale.limit_n))
    if failed:
        held = f"Tension stays within {most} of its limit{even}"
        return f"{held}, but {_listed(failed)} {_fails(failed)}"
    refed = _boxes(scene)
    if len(scene.legs) > 1:
        lead = f"With {refed} no" if refed else "No"
        return f"{lead} leg passes {most} of the tension limit{even}"
    return f"The pull takes no more than {most} of its tension limit{even}"


def _over_headline(scene: Scene, worst: LegTrace, share: float) -> str:
    who = "The pull" if len(scene.legs) == 1 else f"The pull of {worst.name}"
    exit_m = worst.end_m if worst.direction.value == "forward" else worst.start_m
    if abs(worst.max_station_m - exit_m) < 0.01:
        return f"{who} ends at {_times(share)} times its limit"
    bend = next(
        (
            bend.name
            for bend in scene.bends
            if bend.station_m - 0.01 <= worst.max_station_m <= bend.end_station_m + 0.01
        ),
        None,
    )
    place = f"at {bend}" if bend else f"at {shown_length(worst.max_station_m, scene.units)}"
    return f"{who} reaches {_times(share)} times its limit {place}"


def _ceiling(share: float) -> str:
    """Percent rounded up, so that 'no more than' is true."""
    value = share * 100
    if value < 9.95:
        return f"{max(ceil(value * 10 - 1e-9) / 10, 0.1):.1f} %"
    return f"{ceil(value - 1e-9)} %"


def _boxes(scene: Scene) -> str:
    count = len(scene.legs) - 1
    words = ("", "one box", "two boxes", "three boxes", "four boxes", "five boxes", "six boxes")
    return words[count] if count < len(words) else f"{count} boxes"


def _listed(names: list[str]) -> str:
    if len(names) > 3:
        return f"{names[0]}, {names[1]} and {len(names) - 2} more"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _fails(names: list[str]) -> str:
    return "fails" if len(names) == 1 else "fail"


def subline(scene: Scene, brief: bool = False) -> str:
    """Return the line below the headline: route and size; `brief` leaves the names out."""
    run = scene.analysis.run
    ends = [fitting.name for fitting in scene.fittings]
    first, last = (ends[0], ends[-1]) if scene.feed_left else (ends[-1], ends[0])
    title = scene.job.title or run.name
    if scene.run_count > 1:
        title = f"{run.name} (one of {scene.run_count} runs)"
    total = show_angle(sum(bend.angle_rad for bend in run.bends if not bend.in_fitting))
    count = len(scene.bends)
    bends = f"{count} bend{'' if count == 1 else 's'}, {total}" if count else "no bends"
    size = f"{shown_length(scene.length_m, scene.units)}, {bends}"
    if brief and scene.run_count > 1:
        return f"{title} · {size}"
    return size if brief else f"{title}, {first} to {last} · {size}"


def verdict_line(scene: Scene) -> str:
    """Return the worst tension against its limit, and the run's verdict with what fails."""
    worst = show_force(scene.worst.max_tension_n, scene.units)
    limit = (
        f"limit {show_force(scene.scale.limit_n, scene.units)} ({scene.scale.limit_of})"
        if scene.scale.limit_n is not None
        else "limit not known"
    )
    failed = failing(scene)
    missing = sum(check.verdict is Verdict.NOT_CHECKED for check in scene.analysis.checks)
    verdict = scene.analysis.verdict
    text = f"{_worst_word(scene)} {worst}, {limit} · verdict: {verdict.value}"
    if failed and verdict is Verdict.FAIL:
        text += f" ({_listed(failed)})"
    if missing:
        text += f", {missing} not checked"
    # the verdict is of the better way; this picture may show the other one
    if failed and verdict is not Verdict.FAIL:
        text += f" · pulled this way: {_listed(failed)} {_fails(failed)}"
    return text


def _worst_word(scene: Scene) -> str:
    limit = scene.scale.limit_n
    return "Worst" if limit is not None and scene.worst.max_tension_n > limit else "Highest"


def notes(scene: Scene, judged: bool = True) -> str:
    """Return the small print of a picture: what is drawn untrue, and where limits are checked.

    `judged` adds the tension at high friction, which is this run's alone.
    """
    band = scene.job.pull.friction
    parts = []
    if band.is_band and scene.friction_name != "high":
        high = show_force(max(leg.high_max_tension_n for leg in scene.legs), scene.units)
        text = f"limits are checked at high friction {band.high:g}"
        parts.append(f"{text}, where it takes {high}" if judged else text)
    width = "at its true diameter" if scene.true_diameter else "wider than true"
    parts.append(f"raceway drawn {width}")
    if scene.floor_m != 0.0:
        parts.append(f"floor drawn at elevation {shown_length(scene.floor_m, scene.units)}")
    return " ".join(f"{part[0].upper()}{part[1:]}." for part in parts)
