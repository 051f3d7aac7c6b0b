"""Sentences of the plan: why an end, what the margin is, what runs by itself."""

from __future__ import annotations

from analyzer.checks.situation import ALLOWANCE, at_most
from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.limits import PullLimit, sidewall_limit, tension_limits
from analyzer.pulling.results import Pull, Share
from analyzer.reports.words import counted
from analyzer.studies.call_outs import CallOut, PlaceKind
from analyzer.studies.feeding import SetUp
from analyzer.studies.feeding_reasons import BendLoad, DirectionReason
from analyzer.studies.margins import GREATEST_FRICTION, Margins
from analyzer.studies.plan import PlannedSetUp, RunPlan
from analyzer.units import (
    UnitSystem,
    show_angle,
    show_force,
    show_length,
    show_number,
    show_pressure,
    show_radius,
    show_share,
)

__all__ = [
    "bounds_words",
    "limit_share_words",
    "limits_words",
    "margin_words",
    "place_words",
    "reason_words",
    "set_up_title",
    "share_words",
    "stop_words",
]

_NOTABLE = 0.05
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
    """Return the stop value of a set-up and the limit that sets it."""
    stop = planned.stop
    if stop.stop_n is None:
        return "No stop value: no limit of this pull is known."
    if stop.stop_n <= 0.0:
        return f"NO STOP VALUE HELPS: {stop.name} can be passed above while the head feels nothing"
    text = f"STOP above {show_force(stop.stop_n, job.units)} ({stop.name}"
    place = stop.limit_station_m
    if place is not None:
        at = f"station {show_length(place, job.units)}"
        for bend in planned.set_up.bends:
            if bend.station_m - _NEAR_M <= place <= bend.end_station_m + _NEAR_M:
                at = f"bend {bend.number}"
        text += f", {at}"
    if stop.is_carried:
        text += ", less the weight below it"
    return text + ")"


def limits_words(plan: RunPlan, job: Job, group: ConductorGroup) -> str:
    """Return which limits the stop values are the smallest of, and which are not checked."""
    limits = list(tension_limits(job, group))
    if any(item.set_up.bends for item in plan.set_ups):
        limits.append(sidewall_limit(job))
    known = [limit.name for limit in limits if limit.limit is not None]
    unknown = [f"{limit.name} ({_short_reason(limit)})" for limit in limits if limit.limit is None]
    text = f"A stop value is the smallest of {', '.join(known) or 'no known limit'}."
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
    if row.kind is PlaceKind.STATION:
        return "on the straight"
    name = {
        PlaceKind.FEED: f"feed, {row.name}",
        PlaceKind.PULL_END: f"pull end, {row.name}",
    }.get(row.kind, row.name)
    return f"{name}, {bend}" if bend else name


def reason_words(reason: DirectionReason, job: Job) -> str:
    """Return why this end, in words: which bends multiply what."""
    here, there = reason.set_up, reason.other
    order = _compare(here, there)
    ours, theirs = (
        f"{show_force(item.greatest_tension_n, job.units)} ({limit_share_words(item.pull)})"
        for item in (here, there)
    )
    both = f"at high friction {ours} this way, {theirs} from {there.feed.name}"
    if order == 0:
        return f"Either end is as good: {both}."
    if order < 0:
        start = f"This end is better: {both}."
        loads = [load for load in reason.bends if load.saved_n > 0.0]
    else:
        start = (
            f"The other end alone would be easier, {both}; but the conductors come off the reels "
            "on this side."
        )
        loads = [load for load in reversed(reason.bends) if load.saved_n < 0.0]
    notable = [load for load in loads[:2] if abs(load.saved_n) > _NOTABLE * here.greatest_tension_n]
    words = [start, *(_load_words(load, reason, job) for load in notable)]
    lifted = reason.lifted_n
    if abs(lifted) > _NOTABLE * max(here.greatest_tension_n, there.greatest_tension_n):
        force = show_force(abs(lifted), job.units)
        words.append(
            f"The conductors are lifted: {force} of weight."
            if lifted > 0.0
            else f"The way goes down: {force} of weight helps this way, and must be held back."
        )
    return " ".join(words)


def margin_words(margins: Margins, job: Job) -> str:
    """Return the governing limit, what is to spare, and what would still pass."""
    governing = margins.governing
    if governing is None:
        return "No tension or sidewall limit could be checked."
    words = [share_words(governing, job.units)]
    highest = margins.highest_friction
    if highest is None:
        words.append("Pulled, it passes at no friction.")
    elif highest >= GREATEST_FRICTION:
        words.append(f"Pulled, it would still pass at friction {GREATEST_FRICTION:g}.")
    else:
        still = "would still pass" if highest >= job.pull.friction.high else "passes only"
        words.append(f"Pulled, it {still} up to friction {show_number(highest, 2)}.")
    bend, radius = margins.bend, margins.smallest_radius_m
    if bend is not None and bend.radius_m is not None and radius is not None:
        drawn = show_radius(bend.radius_m, job.units)
        needs = show_radius(radius, job.units)
        words.append(
            f"Bend {bend.number}, which presses most, could have R {needs} by sidewall pressure "
            f"(drawn {drawn}; the code's own minimum stands)."
            if radius <= bend.radius_m
            else f"Bend {bend.number} needs R {needs} for its sidewall pressure (drawn {drawn})."
        )
    return " ".join(words)


def share_words(share: Share, system: UnitSystem) -> str:
    """Return a limit with its value, and what is to spare or over."""
    is_pressure = share.code.startswith("sidewall")
    show = show_pressure if is_pressure else show_force
    value, limit = show(share.value, system), show(share.limit, system)
    spare = show(abs(share.limit - share.value), system)
    state = "held back at low friction" if share.code.endswith("braked") else "at high friction"
    what = "to spare" if at_most(share.value, share.limit) else "OVER"
    return (
        f"Governs: {share.name}, {value} of {limit} {state} ({show_share(share.share)}), "
        f"{spare} {what}."
    )


def limit_share_words(pull: Pull) -> str:
    """Return the largest share of limit of a pull, or that nothing could be checked."""
    share = pull.share_of_limit
    return "no limit checked" if share is None else f"{show_share(share)} of limit"


def bounds_words(planned: PlannedSetUp, system: UnitSystem) -> str:
    """Return the independent bounds of a level set-up at high friction; empty where none hold."""
    if not planned.bounds:
        return ""
    bound = planned.bounds[-1]
    low, value, high = (
        show_force(force, system) for force in (bound.lower_n, bound.exit_n, bound.upper_n)
    )
    verdict = "lies" if bound.hold else "DOES NOT LIE"
    return (
        f"Independent bounds of this level pull at high friction: {value} {verdict} between {low} "
        f"(all bends at the feed) and {high} (all bends at the pull end; IEEE 1185-2019, annex C)."
    )


def _compare(here: SetUp, there: SetUp) -> int:
    pairs = (
        (here.share_of_limit, there.share_of_limit),
        (here.pull.high.exit_tension_n, there.pull.high.exit_tension_n),
    )
    for ours, theirs in pairs:
        if abs(ours - theirs) > ALLOWANCE * max(abs(ours), abs(theirs)):
            return -1 if ours < theirs else 1
    return 0


def _load_words(load: BendLoad, reason: DirectionReason, job: Job) -> str:
    times = show_number(reason.multiplier(load.bend), 2)
    ours = show_force(load.arriving_n, job.units)
    theirs = show_force(load.other_arriving_n, job.units)
    return (
        f"{_bend_words(load.bend).capitalize()} multiplies what arrives by about {times}: "
        f"{ours} this way, {theirs} the other."
    )


def _bend_words(bend: Bend) -> str:
    return f"bend {bend.number} ({show_angle(bend.angle_rad)})"
