"""Sentences beside a leg or set-up: why an end is better, what is to spare, independent bounds."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor

from analyzer.checks.situation import ALLOWANCE, at_most
from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job
from analyzer.pulling.limits import friction_level
from analyzer.pulling.results import Pull, Share
from analyzer.studies.bend_radii import BendRadius
from analyzer.studies.feeding_reasons import BendLoad, DirectionReason
from analyzer.studies.level_bounds import LevelBounds
from analyzer.studies.margins import GREATEST_FRICTION, BendOver, Margins
from analyzer.units import (
    UnitSystem,
    inches,
    show_angle,
    show_force,
    show_length,
    show_number,
    show_pressure,
    show_radius,
    show_share,
    to_inches,
)

__all__ = [
    "about_equal",
    "better_end_words",
    "expected_level_words",
    "greatest_words",
    "is_braked",
    "level_words",
    "loaded_words",
    "margin_words",
    "passing_words",
    "reason_words",
    "share_words",
    "spare_words",
]

_NOTABLE = 0.05


def better_end_words(reason: DirectionReason, job: Job) -> str:
    """Return the better end of a leg, and why: which bends multiply what."""
    here, there = reason.pull, reason.other
    ours, theirs = _both(reason, job)
    order = _compare(here, there)
    is_near = _is_about_equal(here, there, job.units)
    if order == 0 or (order < 0 and is_near):
        either = "either end, about equal" if is_near else "either end"
        return (
            f"{either}; at high friction feeding at {here.feed_at} {ours}, at {there.feed_at} "
            f"{theirs}."
        )
    if order > 0:
        return (
            f"feed at {here.feed_at}, for all the legs pulled in one go; at high friction {ours} "
            f"on this leg, {theirs} from {there.feed_at}."
        )
    words = [
        f"feed at {here.feed_at}; at high friction {ours} instead of {theirs} from {there.feed_at}."
    ]
    loads = [load for load in reason.bends if load.saved_n > 0.0]
    return " ".join([*words, *_reasons(loads, reason, job)])


def reason_words(reason: DirectionReason, job: Job) -> str:
    """Return why a set-up is fed at its end, in words: which bends multiply what."""
    order = _compare(reason.pull, reason.other)
    ours, theirs = _both(reason, job)
    both = f"at high friction {ours} this way, {theirs} from {reason.other.feed_at}"
    if order == 0:
        return f"Either end is as good: {both}."
    if _is_about_equal(reason.pull, reason.other, job.units):
        return f"Both ends are about equal: {both}."
    if order < 0:
        start = f"This end is better: {both}."
        loads = [load for load in reason.bends if load.saved_n > 0.0]
    else:
        start = (
            f"The other end alone would be easier, {both}; but the conductors come off the reels "
            "on this side."
        )
        loads = [load for load in reversed(reason.bends) if load.saved_n < 0.0]
    return " ".join([start, *_reasons(loads, reason, job)])


def margin_words(margins: Margins, job: Job) -> str:
    """Return the governing limit, what is to spare, and what would still pass."""
    if margins.governing is None:
        return "No tension or sidewall limit could be checked."
    return f"{share_words(margins.governing, job.units)} {passing_words(margins, job)}"


def about_equal(one: tuple[float, float], other: tuple[float, float], system: UnitSystem) -> bool:
    """Whether nothing shown tells which of two pulls is the better: their shares agree as shown.

    Where the one of less share needs less tension too, as shown, that tells it.

    Parameters
    ----------
    one, other : tuple of (share of limit, tension)
        [N]
    system : UnitSystem
        Units to show in.
    """
    less, more = sorted((one, other))
    if less[0] == more[0] or show_share(less[0]) != show_share(more[0]):
        return False
    return less[1] >= more[1] or show_force(less[1], system) == show_force(more[1], system)


def greatest_words(pulls: Sequence[Pull], system: UnitSystem) -> str:
    """Return the greatest tension of pulls, that of the state whose limit governs first.

    ``greatest tension 138 lbf at high friction``; where the conductors held back come nearest to
    a limit, what the brake and they carry at low friction.
    """
    pulled = show_force(max(pull.high.max_tension_n for pull in pulls), system)
    worst = max(pulls, key=lambda pull: pull.share_of_limit or 0.0)
    if not is_braked(worst):
        return f"greatest tension {pulled} at high friction"
    held = show_force(worst.braked.max_tension_n, system)
    brake = show_force(worst.brake.force_n, system)
    place = "the feed" if worst.braked.carried_from is None else worst.brake.at
    return (
        f"held back at low friction, greatest tension {held}, brake at {place} {brake}; pulled, "
        f"{pulled} at high friction"
    )


def is_braked(pull: Pull) -> bool:
    """Whether the limit that comes nearest is one of the conductors held back."""
    governing = pull.governing
    return governing is not None and friction_level(governing.code) == "low"


def loaded_words(tension_n: float, worst: Pull, system: UnitSystem) -> str:
    """Return a greatest tension at high friction with the share of limit of the worst pull.

    ``138 lbf (38 % of limit)``; where the worst is held back, ``2.2 lbf (held back 122 lbf, 14 %
    of limit)``.

    Parameters
    ----------
    tension_n : float
        At high friction. [N]
    worst : Pull
        The pull with the largest share of limit.
    system : UnitSystem
        Units that people see first.
    """
    share = _limit_share(worst)
    if is_braked(worst):
        share = f"held back {show_force(worst.braked.max_tension_n, system)}, {share}"
    return f"{show_force(tension_n, system)} ({share})"


def passing_words(margins: Margins, job: Job) -> str:
    """Return the highest friction and smallest radius that would still pass; bends that do not.

    Shown friction is rounded down and the radius up, so that what is read holds: a radius entered
    at the bend's corner, the straights beside it giving or taking the difference.
    """
    highest = margins.highest_friction
    if highest is None:
        reach = job.pull.lubricant_reach_m
        within = "" if reach is None else " within the lubricant's reach"
        words = [f"Pulled, it fails at any friction{within}, however low."]
    elif highest >= GREATEST_FRICTION:
        words = [f"Pulled, it would still pass at friction {GREATEST_FRICTION:g}."]
    else:
        still = "would still pass" if highest >= job.pull.friction.high else "passes only"
        shown = floor(highest * 1000.0 + 1e-9) / 1000.0
        words = [f"Pulled, it {still} up to friction {show_number(shown, 3)}."]
    bend, radius = margins.bend, _shown_radius_m(margins.bend, margins.radius, job.units)
    if bend is not None and bend.radius_m is not None and radius is not None:
        now = show_radius(bend.radius_m, job.units)
        needs = show_radius(radius, job.units)
        how = "its straights as long as drawn" if margins.radius.keeps_straights else "same corner"
        how += ", the other bends as they are" if margins.has_other_bends else ""
        words.append(
            f"Bend {bend.number}, which presses most, could have R {needs} by sidewall pressure "
            f"(now {now}, {how}; the code's own minimum stands)."
            if (margins.smallest_radius_m or 0.0) <= bend.radius_m
            else f"Bend {bend.number} needs R {needs} for its sidewall pressure (now {now}, {how})."
        )
    told = bend.number if bend is not None and radius is not None else None
    others = [_over_words(item, job) for item in margins.over if item.bend.number != told]
    if others:
        start = "Above the sidewall limit" if told is None else "Above it too"
        words.append(f"{start}, each by itself: {'; '.join(others)}.")
    return " ".join(words)


def _over_words(over: BendOver, job: Job) -> str:
    """Return a bend above the sidewall limit, and the radius it would need."""
    system = job.units
    state = " held back" if over.is_braked else ""
    words = f"bend {over.bend.number}, {show_pressure(over.n_per_m, system)}{state}, "
    radius = _shown_radius_m(over.bend, over.radius, system)
    if radius is not None:
        return words + f"needs R {show_radius(radius, system)}"
    largest = over.radius.largest_m
    if largest is None:
        return words + "no radius found that passes"
    fits = show_radius(_rounded_down(largest, system), system)
    return words + f"no radius that fits at its corner passes (R {fits} at most)"


def _shown_radius_m(bend: Bend | None, radius: BendRadius, system: UnitSystem) -> float | None:
    """Return the smallest radius rounded up; None where there is none, or it does not fit then."""
    if bend is None or bend.radius_m is None or radius.smallest_m is None:
        return None
    shown, largest = _rounded_up(radius.smallest_m, system), radius.largest_m
    is_wider = radius.smallest_m > bend.radius_m
    return None if is_wider and largest is not None and shown > largest + 1e-9 else shown


def share_words(share: Share, system: UnitSystem) -> str:
    """Return a limit with its value, and what is to spare or over."""
    is_pressure = share.code.startswith("sidewall")
    show = show_pressure if is_pressure else show_force
    value, limit = show(share.value, system), show(share.limit, system)
    state = "held back at low friction" if share.code.endswith("braked") else "at high friction"
    return (
        f"Governs: {share.name}, {value} of {limit} {state} ({show_share(share.share)}), "
        f"{spare_words(share, system, over='OVER')}."
    )


def spare_words(share: Share, system: UnitSystem, over: str = "over") -> str:
    """Return what is left to a limit, or by how much it is passed: ``111 lbf to spare``.

    By ``a hair`` where the amount would read as none.

    Parameters
    ----------
    share : Share
        Value and limit.
    system : UnitSystem
        Units to show in.
    over : str
        Word for a limit that is passed.
    """
    show = show_pressure if share.code.startswith("sidewall") else show_force
    amount = show(abs(share.limit - share.value), system)
    if at_most(share.value, share.limit):
        return f"{amount} to spare"
    return f"{'a hair' if amount == show(0.0, system) else amount} {over}"


def _limit_share(pull: Pull) -> str:
    share = pull.share_of_limit
    return "no limit checked" if share is None else f"{show_share(share)} of limit"


def level_words(bounds: Sequence[LevelBounds], system: UnitSystem) -> str:
    """Return the independent bounds of a level pull at high friction; empty where none hold."""
    return _bound_words(bounds[-1], "high", system) if bounds else ""


def expected_level_words(bounds: Sequence[LevelBounds], system: UnitSystem) -> str:
    """Return the independent bounds of a level pull at expected friction; empty where none hold.

    Parameters
    ----------
    bounds : sequence of LevelBounds
        At low, expected and high friction, or empty.
    system : UnitSystem
        Units to write in.
    """
    return _bound_words(bounds[1], "expected", system) if bounds else ""


def _bound_words(bound: LevelBounds, friction: str, system: UnitSystem) -> str:
    low, value, high = (
        show_force(force, system) for force in (bound.lower_n, bound.exit_n, bound.upper_n)
    )
    verdict = "lies" if bound.hold else "DOES NOT LIE"
    fed = ", the feed tension added" if bound.is_fed else ""
    return (
        f"Independent bounds of this level pull at {friction} friction: {value} {verdict} between "
        f"{low} (all bends at the feed end, by the capstan equation) and {high} (all bends at the "
        f"pull end, chart equation of IEEE 1185-2019, annex C{fed})."
    )


def _both(reason: DirectionReason, job: Job) -> tuple[str, str]:
    ours, theirs = (
        loaded_words(pull.high.max_tension_n, pull, job.units)
        for pull in (reason.pull, reason.other)
    )
    return ours, theirs


def _reasons(loads: Sequence[BendLoad], reason: DirectionReason, job: Job) -> list[str]:
    """Sentences on the two bends that differ most, and on the weight lifted or let down."""
    here, there = reason.pull.high.max_tension_n, reason.other.high.max_tension_n
    notable = [load for load in loads[:2] if abs(load.saved_n) > _NOTABLE * here]
    words = [told for load in notable if (told := _load_words(load, reason, job))]
    lifted = reason.lifted_n
    if abs(lifted) > _NOTABLE * max(here, there):
        force = show_force(abs(lifted), job.units)
        words.append(
            f"The conductors are lifted: {force} of weight."
            if lifted > 0.0
            else f"The way goes down: {force} of weight helps this way{_held_words(reason, job)}."
        )
    return words


def _held_words(reason: DirectionReason, job: Job) -> str:
    """Return what holds the weight that helps: a brake where the pull starts, or friction."""
    held = reason.pull.braked.hold_back_n
    if held <= 0.0:
        return "; friction holds it, at low friction too"
    brake, carried = reason.pull.brake, reason.pull.braked.carried_from
    arrives = f"{show_force(held, job.units)} arrives at {reason.pull.feed_at}"
    if brake.force_n <= 0.0:
        return f"; {arrives}, friction before it holds that: no brake is needed at {brake.at}"
    along = "" if carried is None else f" ({arrives})"
    force = show_force(brake.force_n, job.units)
    return f", and must be held back: {force} at {brake.at}{along}, at low friction"


def _compare(here: Pull, there: Pull) -> int:
    pairs = (
        (here.share_of_limit or 0.0, there.share_of_limit or 0.0),
        (here.high.exit_tension_n, there.high.exit_tension_n),
    )
    for ours, theirs in pairs:
        if abs(ours - theirs) > ALLOWANCE * max(abs(ours), abs(theirs)):
            return -1 if ours < theirs else 1
    return 0


def _is_about_equal(here: Pull, there: Pull, system: UnitSystem) -> bool:
    """Whether shares that differ agree as shown, and the end of the less needs more tension."""
    return about_equal(
        (here.share_of_limit or 0.0, here.high.max_tension_n),
        (there.share_of_limit or 0.0, there.high.max_tension_n),
        system,
    )


def _load_words(load: BendLoad, reason: DirectionReason, job: Job) -> str:
    """Say what a bend does either way; empty where both read alike.

    By what arrives at it, which it multiplies, where that tells which way is easier; else by what
    it adds, weight in it included.
    """
    bend = load.bend
    place = show_length(bend.station_m, job.units)
    start = f"Bend {bend.number} ({show_angle(bend.angle_rad)}, station {place})"
    ours, theirs = (
        show_force(force, job.units) for force in (load.arriving_n, load.other_arriving_n)
    )
    if load.is_by_arrival and ours != theirs:
        times = reason.multiplier(bend)
        by = "" if times is None else f", by about {show_number(times, 2)}"
        return f"{start} multiplies {ours} instead of {theirs}{by}."
    told = _added_words(load.added_n, load.other_added_n, job.units)
    return f"{start} {told}, the weight in it included." if told else ""


def _added_words(ours_n: float, theirs_n: float, system: UnitSystem) -> str:
    """Say what a bend adds, or takes off where the weight in it helps; empty where alike."""
    ours, theirs = (show_force(abs(force), system) for force in (ours_n, theirs_n))
    if (ours_n < 0.0) is (theirs_n < 0.0):
        told = f"takes {ours} off instead of {theirs}" if ours_n < 0.0 else ""
        return "" if ours == theirs else told or f"adds {ours} instead of {theirs}"
    if ours_n < 0.0:
        return f"takes {ours} off instead of adding {theirs}"
    return f"adds {ours} instead of taking {theirs} off"


def _rounded_down(radius_m: float, system: UnitSystem) -> float:
    """Radius at the step before, as it is shown."""
    if system is UnitSystem.US:
        return inches(floor(to_inches(radius_m) * 100.0 + 1e-6) / 100.0)
    return floor(radius_m * 1e3 + 1e-6) / 1e3


def _rounded_up(radius_m: float, system: UnitSystem) -> float:
    """Radius at the next step that is shown."""
    if system is UnitSystem.US:
        return inches(ceil(to_inches(radius_m) * 100.0 - 1e-6) / 100.0)
    return ceil(radius_m * 1e3 - 1e-6) / 1e3
