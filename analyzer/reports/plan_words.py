"""Sentences of the plan: why an end, what the margin is, what runs by itself."""

from __future__ import annotations

from analyzer.checks.situation import hair
from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.limits import PullLimit, sidewall_limit, tension_limits
from analyzer.reports.leg_words import level_words
from analyzer.reports.words import counted
from analyzer.studies.call_outs import CallOut, PlaceKind, StopValue
from analyzer.studies.plan import PlannedSetUp, RunPlan
from analyzer.units import (
    UnitSystem,
    show_angle,
    show_force,
    show_length,
    show_stop,
)

__all__ = [
    "bounds_words",
    "limits_words",
    "passed_stop_words",
    "place_words",
    "set_up_title",
    "stop_words",
]

_NEAR_M = 1e-3


def set_up_title(planned: PlannedSetUp, job: Job) -> str:
    """Return the heading of a set-up: ends, length, bends, what it passes."""
    item = planned.set_up
    total = sum(bend.angle_rad for bend in item.bends)
    text = (
        f"{planned.number}. Feed at {item.feed.name}, pull at {item.pull_to.name}: "
        f"{show_length(item.length_m, job.units)}, {counted(len(item.bends), 'bend')}, "
        f"{show_angle(total)}"
    )
    if item.passed:
        text += f", passed through {', '.join(f.name for f in item.passed)}"
    return text


def stop_words(planned: PlannedSetUp, job: Job) -> str:
    """Return the stop value of a set-up and the limit that sets it.

    One value, the smallest, wherever it stops no head that is below the stop value of its place at
    high friction; otherwise that the values of the places count, the smallest and the last.
    """
    stop = planned.stop
    if stop.stop_n is None:
        return "No stop value: no limit of this pull is known."
    if stop.stop_n <= 0.0:
        return f"NO STOP VALUE HELPS: {stop.name} can be passed above while the head feels nothing"
    if planned.one_stop_holds:
        return f"STOP above {_stop_value_words(stop, planned, job)}"
    last = planned.call_outs[-1]
    text = (
        f"STOP above the value at each place: "
        f"{_stop_value_words(stop, planned, job, ' at the least')}"
    )
    return f"{text}, {_stop_value_words(last.stop, planned, job, f' at {last.name}')}"


def passed_stop_words(planned: PlannedSetUp, job: Job) -> str:
    """Return that high friction exceeds stop values though no limit is passed, and where most."""
    row = max(planned.passed_stops, key=lambda one: one.tension.high_n / (one.stop.stop_n or 1.0))
    others = len(planned.passed_stops) - 1
    also = f" (and at {counted(others, 'other place')})" if others else ""
    limit = row.stop.name
    place = _limit_place(row.stop, planned, job)
    where = f" in {place}" if place.startswith("bend") else f" at {place}" if place else ""
    feels = show_force(row.tension.high_n, job.units)
    stop = show_stop(row.stop.stop_n or 0.0, job.units)
    return (
        f"Set-up {planned.number}: at high friction the head feels {feels} {_at_words(row)}{also}, "
        f"{hair('above', feels, stop)} the stop value of {stop} there, though no limit is "
        f"passed. At low friction that much would mean {limit} above its limit{where}: the crew "
        "has to stop there all the same."
    )


def _at_words(row: CallOut) -> str:
    """Where the head is, as the end of a sentence."""
    if row.kind is PlaceKind.PULL_END:
        return f"at {row.name}"
    return (
        place_words(row)
        if row.kind in (PlaceKind.BEND, PlaceKind.STATION)
        else (f"at {place_words(row)}")
    )


def _stop_value_words(stop: StopValue, planned: PlannedSetUp, job: Job, where: str = "") -> str:
    """Return a stop value, where it holds, and the limit that sets it."""
    text = f"{show_stop(stop.stop_n or 0.0, job.units)}{where} ({stop.name}"
    place = _limit_place(stop, planned, job)
    if place:
        text += f", {place}"
    if stop.is_lowered:
        text += ", less the weight below it"
    if stop.is_raised:
        text += ", and what the way behind it adds"
    return text + ")"


def _limit_place(stop: StopValue, planned: PlannedSetUp, job: Job) -> str:
    """Return the bend where a limit stands, otherwise its station; empty at the head."""
    place = stop.limit_station_m
    if place is None:
        return ""
    for bend in planned.set_up.bends:
        if bend.station_m - _NEAR_M <= place <= bend.end_station_m + _NEAR_M:
            return f"bend {bend.number}"
    return f"station {show_length(place, job.units)}"


def limits_words(plan: RunPlan, job: Job, group: ConductorGroup) -> str:
    """Return which limits the stop values are the smallest of, and which are not checked.

    Parameters
    ----------
    plan : RunPlan
        What is planned for one run.
    job : Job
        Conductors, frictions and limits.
    group : ConductorGroup
        How the conductors lie.
    """
    limits = list(tension_limits(job, group))
    if any(item.set_up.bends for item in plan.set_ups):
        limits.append(sidewall_limit(job))
    known = [limit.name for limit in limits if limit.limit is not None]
    unknown = [f"{limit.name} ({_short_reason(limit)})" for limit in limits if limit.limit is None]
    text = f"A stop value is the smallest of {', '.join(known)}."
    if len(known) < 2:
        text = f"A stop value follows from {known[0]} alone." if known else "No limit is known."
    if unknown:
        text += f" Not checked: {', '.join(unknown)}."
    return text


def _short_reason(limit: PullLimit) -> str:
    """Why a limit is not checked; of conductors the whole of it, they differ."""
    if limit.code == "conductor-tension":
        return limit.reason
    return limit.reason.partition(":")[0]


def place_words(row: CallOut) -> str:
    """Return the place of a call-out: fitting, bend, or the straight between."""
    bend = f"out of {_bend_words(row.bend)}" if row.bend is not None else ""
    if row.kind is PlaceKind.BEND:
        return bend
    if row.kind is PlaceKind.GREATEST:
        return f"greatest, in {_bend_words(row.bend)}" if row.bend is not None else "greatest"
    if row.kind is PlaceKind.LOW_STOP:
        return f"lowest stop, at {_bend_words(row.bend)}" if row.bend is not None else "lowest stop"
    if row.kind is PlaceKind.STATION:
        return "on the straight"
    name = {
        PlaceKind.FEED: f"feed, {row.name}",
        PlaceKind.PULL_END: f"pull end, {row.name}",
    }.get(row.kind, row.name)
    return f"{name}, {bend}" if bend else name


def bounds_words(planned: PlannedSetUp, system: UnitSystem) -> str:
    """Return the independent bounds of a level set-up at high friction; empty where none hold."""
    return level_words(planned.bounds, system)


def _bend_words(bend: Bend) -> str:
    return f"bend {bend.number} ({show_angle(bend.angle_rad)})"
