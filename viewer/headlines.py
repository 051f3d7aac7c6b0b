"""The headline of a picture: its finding in one sentence, never the flattering one.

High friction governs the checks: whatever the colors show, the share told is that at high
friction where it is larger.
"""

from __future__ import annotations

from analyzer.checks.situation import hair
from analyzer.reports.words import check_name
from analyzer.units import show_force
from viewer.quantities import Quantity
from viewer.scene import Scene
from viewer.shown_values import limit_text, percent_text, shown_length, times, value_text
from viewer.traces import LegTrace
from viewer.wording import (
    failing,
    fails,
    governing_beside,
    governing_words,
    joint_text,
    listed,
    not_checked_beside,
    reached_limit,
)

__all__ = ["headline"]


def headline(scene: Scene) -> str:
    """Return the finding in one sentence; with it the joints it rests on."""
    if scene.quantity is Quantity.SIDEWALL and not _presses(scene):
        text = f"No bends, so no sidewall pressure{_rest(scene, 0.0)}"
    elif scene.quantity is Quantity.SIDEWALL:
        text = _curve_headline(scene, "sidewall pressure", "its limit")
    elif scene.quantity is Quantity.SHARE:
        text = _curve_headline(scene, "the pull", f"its {reached_limit(scene)} limit")
    else:
        text = _tension_headline(scene)
    # what fails anyway is told instead
    return text if failing(scene) else f"{text}{joint_text(scene)}"


def _curve_headline(scene: Scene, what: str, limits: str) -> str:
    """Return the finding on a quantity other than tension."""
    scale, peak = scene.chart_scale, scene.peak.peak
    high = max(leg.high_peak for leg in scene.legs)
    whole = f"{what[0].upper()}{what[1:]}"
    if scale.limit is None:
        value = value_text(peak, scale.quantity, scene.units)
        return f"{whole} reaches {value}; no limit for it is known"
    if peak > scale.limit:
        place = _place(scene, scene.peak.peak_station_m)
        base = f"{whole} reaches {times(peak / scale.limit)} times its limit {place}"
        return f"{base}{_worse(scene)}"
    if high > scale.limit:
        top = f"At high friction {scene.job.pull.friction.high:g} {what}"
        if scale.quantity is Quantity.SHARE:
            return f"{top} reaches {times(high)} times its limit{_beside(scene)}"
        value = value_text(high, scale.quantity, scene.units)
        limit = limit_text(scale, scene.units)
        over = hair("over", value, limit)
        return f"{top} takes {value}, {over} its limit of {limit}{_beside(scene)}"
    at = " at high friction" if high > peak else ""
    told = max(peak, high) / scale.limit
    return f"{whole} reaches {percent_text(told)} of {limits}{at}{_rest(scene, told)}"


def _presses(scene: Scene) -> bool:
    """Whether conductors press anywhere: in a bend, or in a fitting they pass on a corner."""
    return bool(scene.bends or scene.analysis.run.corners_passed())


def _rest(scene: Scene, told: float) -> str:
    """Return what fails beside a share told, else what governs beyond it and is not checked."""
    failed = failing(scene)
    if failed:
        return f", but {listed(failed)} {fails(failed)}"
    governing = governing_beside(scene)
    rest = ""
    if governing is not None and governing.share > told:
        rest = f"; {governing_words(governing)}"
    return f"{rest}{not_checked_beside(scene)}"


def _tension_headline(scene: Scene) -> str:
    """Return the finding on tension."""
    scale, worst = scene.scale, scene.worst
    failed = failing(scene)
    if scale.limit_n is None:
        force = show_force(worst.max_tension_n, scene.units)
        base = f"The pull needs {force}; no tension limit is known"
        return base if not failed else f"{base}, and {listed(failed)} {fails(failed)}"
    share = worst.max_tension_n / scale.limit_n
    if share > 1.0:
        return _over_headline(scene, worst, share)
    high = max(leg.high_max_tension_n for leg in scene.legs)
    if high > scale.limit_n:
        top = scene.job.pull.friction.high
        takes, limit = (show_force(force, scene.units) for force in (high, scale.limit_n))
        return (
            f"At high friction {top:g} the pull takes {takes}, {hair('over', takes, limit)} its "
            f"limit of {limit}{_beside(scene)}"
        )
    # high friction governs the checks, so the share told is never the flattering one
    at = " at high friction" if high > worst.max_tension_n else ""
    told = max(share, high / scale.limit_n)
    most = percent_text(told)
    if failed:
        return f"Tension stays within its limit ({most}{at}), but {listed(failed)} {fails(failed)}"
    governing = governing_beside(scene)
    beside = governing if governing is not None and governing.share > told else None
    what = not_checked_beside(scene).removeprefix("; ")
    if what:
        if beside is not None:
            most, at = percent_text(beside.share), ""
        return f"{what[0].upper()}{what[1:]}; the pull reaches {most} of the limits known{at}"
    alone = len(scene.legs) == 1
    whole = "The pull reaches" if alone else f"With {_boxes(scene)} the pull reaches"
    limit = "its tension limit" if alone else "the tension limit"
    if beside is None:
        return f"{whole} {most} of {limit}{at}"
    kind = beside.code.removesuffix("-braked")
    harder = f"{percent_text(beside.share)} of {'its' if alone else 'the'} {kind} limit"
    if beside.code.endswith("-braked"):  # at low friction
        return f"{whole} {harder} braked, {most} of {limit} pulled"
    return f"{whole} {harder}, {most} of {limit}{at}"


def _over_headline(scene: Scene, worst: LegTrace, share: float) -> str:
    who = "The pull" if len(scene.legs) == 1 else f"The pull of {worst.name}"
    exit_m = worst.end_m if worst.direction.value == "forward" else worst.start_m
    if abs(worst.max_station_m - exit_m) < 0.01:
        return f"{who} ends at {times(share)} times its limit{_worse(scene)}"
    place = _place(scene, worst.max_station_m)
    return f"{who} reaches {times(share)} times its limit {place}{_worse(scene)}"


def _worse(scene: Scene) -> str:
    """Return what high friction makes of a value over its limit, and the limit that governs."""
    limit = scene.chart_scale.limit
    worst = max(scene.legs, key=lambda leg: leg.high_peak)
    if limit is None or worst.high_peak <= scene.peak.peak:
        return _beside(scene)
    who = f"that of {worst.name} " if worst.name != scene.peak.name else ""
    return f", {who}{times(worst.high_peak / limit)} times at high friction{_beside(scene)}"


def _beside(scene: Scene) -> str:
    """Return the limit passed by more than the one told, where the quantity does not tell it."""
    most = governing_beside(scene)
    if most is None or most.share <= 1.0:
        return ""
    return f"; {check_name(most.code)} {times(most.share)} times its limit"


def _place(scene: Scene, station_m: float) -> str:
    """Return a place in words: its bend, else its station."""
    for bend in scene.bends:
        if bend.station_m - 0.01 <= station_m <= bend.end_station_m + 0.01:
            return f"at {bend.name}"
    return f"at {shown_length(station_m, scene.units)}"


def _boxes(scene: Scene) -> str:
    count = len(scene.legs) - 1
    words = ("", "one box", "two boxes", "three boxes", "four boxes", "five boxes", "six boxes")
    return words[count] if count < len(words) else f"{count} boxes"
