"""Facts of the plan beside the call-outs: conductors, line, lubricant, people, drops, advice.

A fact of the trade names the short kind of its source, or says that it is common practice.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.catalog.practice import find_practice
from analyzer.catalog.pull_lines import PullLine
from analyzer.checks.jam import JAM_BAND
from analyzer.checks.situation import at_most
from analyzer.job.settings import Attachment, FittingKind, Job, PlanSettings
from analyzer.pulling.results import Share
from analyzer.reports.content import Fact
from analyzer.reports.words import counted, joined
from analyzer.studies.plan import RunPlan
from analyzer.studies.plan_lubricant import lubricant_m3
from analyzer.studies.plan_next_size import NextSize, SizeFigures
from analyzer.units import (
    UnitSystem,
    ft,
    inches,
    lbf,
    rounded_volume,
    show_diameter,
    show_force,
    show_length,
    show_number,
    show_radius,
    show_share,
    show_volume,
)

__all__ = ["plan_facts"]

_NO_EASIER = 0.99
_MOST_NAMED = 3


def plan_facts(plan: RunPlan, job: Job) -> tuple[Fact, ...]:
    """Return the facts of one run's plan, in the order the crew needs them."""
    facts = [
        Fact("Conductors", _conductors(plan, job)),
        Fact("Head", f"{_head(job)} {_marks()}"),
        Fact("Line", _line(plan, job)),
        Fact("Puller", _puller(plan, job)),
        Fact("Lubricant", _lubricant(plan, job)),
        Fact("People", _people(plan, job)),
        Fact("Speed", _speed(plan, job)),
        Fact("Drops", _drops(plan, job)),
    ]
    if job.existing:
        facts.append(Fact("Pull-by", _pull_by(job)))
    facts.append(Fact("One size up", _next_size(plan, job)))
    return tuple(facts)


def _conductors(plan: RunPlan, job: Job) -> str:
    settings, default = job.plan, PlanSettings()
    system = job.units
    cuts = "; ".join(
        f"{item.line.count} × {item.line.conductor.full_name}: cut each to "
        f"{show_length(item.each_m, system)} ({show_length(item.total_m, system)} in all)"
        for item in plan.lengths
    )
    ends = show_length(settings.slack_each_end_m, system)
    text = (
        f"{cuts}. Rule: run {show_length(plan.analyzed.run.centerline.length_m, system)}, "
        f"{ends} slack at each end"
    )
    if settings.slack_per_box_m:
        text += f", {show_length(settings.slack_per_box_m, system)} at each box"
    text += f", {settings.slack_percent:g} % on top"
    is_default = (settings.slack_each_end_m, settings.slack_percent) == (
        default.slack_each_end_m,
        default.slack_percent,
    )
    text += f" ({find_practice('slack each end').source if is_default else 'job'})."
    holes = [
        fitting.name
        for fitting in plan.analyzed.run.fittings[1:-1]
        if fitting.kind in (FittingKind.MANHOLE, FittingKind.HANDHOLE)
    ]
    sized = [f.name for f in plan.analyzed.run.fittings[1:-1] if f.name in holes and f.size_m]
    if sized:
        text += f" Three quarters of the perimeter stays in {', '.join(sized)}."
    if unsized := [name for name in holes if name not in sized]:
        text += f" Loop in {', '.join(unsized)} not counted: state its size."
    return text + " Keep slack at the feed (common practice)."


def _marks() -> str:
    return (
        "Tape marks for each conductor and its group at both ends before the head is made up; "
        "labels after the pull (common practice)."
    )


def _head(job: Job) -> str:
    attachment = job.pull.attachment
    if attachment is Attachment.BASKET_GRIP:
        return (
            "Basket grip: tape its tail only, a grip taped all over can slip (published job-hazard "
            "sheet); after the pull cut off what was under it (government guide specification)."
        )
    if attachment is Attachment.PULLING_EYE:
        return "Pulling eye on the conductors' metal: no grip to check."
    return "Grip or eye not stated: grip not checked. Add attachment to [pull]."


def _line(plan: RunPlan, job: Job) -> str:
    line, system = plan.line, job.units
    tension = show_force(line.tension_n, system)
    if line.allowed_n is None:
        text = f"Working load not stated, not checked: it must carry {tension} at high friction."
    else:
        share = line.tension_n / line.allowed_n
        word = "carries" if at_most(line.tension_n, line.allowed_n) else "DOES NOT CARRY"
        allowed = show_force(line.allowed_n, system)
        if line.working_load_n is None and line.breaking_strength_n is not None:
            rule = find_practice("line working load")
            strength = show_force(line.breaking_strength_n, system)
            allowed = (
                f"not stated: {rule.value:g} % of its breaking strength of {strength} "
                f"({rule.source}), {allowed},"
            )
        text = f"Working load {allowed} {word} {tension} at high friction ({show_share(share)})."
    if line.breaking_strength_n is not None and not at_most(
        line.tension_n, line.breaking_strength_n
    ):
        text += " THE LINE BREAKS BELOW IT."
    habits = []
    if line.twine:
        habits.append("light pull twine will do in this trade size")
    if line.tape:
        habits.append("flat woven polyester tape in this trade size")
    if habits:
        text += f" {habits[0][0].upper()}{habits[0][1:]} (common practice)."
    listed = [item for item in (line.tape_line, line.rope_line) if item is not None]
    is_wanted = line.allowed_n is None or not at_most(line.tension_n, line.allowed_n)
    if is_wanted and not listed:
        text += " No listed tape or double-braided rope carries it."
    elif is_wanted:
        text += f" Lightest listed: {' or '.join(_listed(item, job) for item in listed)}."
    knot = find_practice("knot loss")
    return text + f" A knot can cost {knot.value:g} % ({knot.source})."


def _listed(item: PullLine, job: Job) -> str:
    name = f"{item.size} in {item.kind}" if item.size else item.kind
    if item.size_m is not None and job.units is UnitSystem.METRIC:
        name = f"{show_diameter(item.size_m, job.units)} ({item.size} in) {item.kind}"
    mark = "" if item.confirmed else "; not confirmed"
    return (
        f"{name} (breaking {show_force(item.breaking_strength_n, job.units)}, working "
        f"{show_force(item.working_load_n, job.units)}{mark})"
    )


def _puller(plan: RunPlan, job: Job) -> str:
    line, system = plan.line, job.units
    capacity, rule = job.pull.puller_capacity_n, find_practice("line to puller")
    if capacity is None or line.needed_strength_n is None:
        text = (
            "Capacity not stated, not checked. The line's breaking strength is "
            f"{rule.value:g} times the puller's capacity at least ({rule.source})."
        )
        if line.breaking_strength_n is not None:
            strength = show_force(line.breaking_strength_n, system)
            most = show_force(line.breaking_strength_n / rule.value, system)
            text += f" A line of {strength} suits a puller of {most} at most."
        return text
    needed = show_force(line.needed_strength_n, system)
    text = (
        f"Capacity {show_force(capacity, system)}. The line must break at {needed} or more, "
        f"{rule.value:g} times the capacity ({rule.source}): "
    )
    if line.breaking_strength_n is None:
        return text + "breaking strength not stated, not checked."
    word = "holds" if at_most(line.needed_strength_n, line.breaking_strength_n) else "TOO WEAK"
    return text + f"line of {show_force(line.breaking_strength_n, system)}, {word}."


def _lubricant(plan: RunPlan, job: Job) -> str:
    system = job.units
    rule, size = find_practice("lubricant quantity"), find_practice("lubricate from trade size")
    pairs = [(item.lubricant.low_m3, item.lubricant.high_m3) for item in plan.set_ups]
    low, high = (sum(value or 0.0 for value in values) for values in zip(*pairs, strict=True))
    if any(None in pair for pair in pairs):
        text = "Quantity not computed: no raceway given."
    else:
        formula = f"{rule.value:g} gal × length in ft × inside diameter in in"
        if system is UnitSystem.METRIC:
            per = lubricant_m3(1.0, 0.001) * 1000.0
            formula = f"{per:.3g} L × length in m × inside diameter in mm"
        # twice what is shown as once, so that the two read as they are said
        once = rounded_volume(low, system)
        high = once * high / low if once > 0.0 else high
        span = _span(show_volume(low, system), show_volume(high, system))
        text = f"{span} in all: {formula}, once to twice ({rule.source})."
    names = dict.fromkeys(f.name for item in plan.set_ups for f in item.lubricant.apply_at)
    text += f" Put on at {', '.join(names)}, on the line too."
    for item in plan.set_ups:
        if item.lubricant.ends_at_m is not None:
            station = show_length(item.lubricant.ends_at_m, system)
            text += f" Set-up {item.number}: gone at station {station} by the job, dry beyond it."
    if any(item.lubricant.is_needed for item in plan.set_ups):
        long = find_practice("lubricate from length")
        over = f"{long.value:g} ft"
        if system is UnitSystem.METRIC:
            over = f"{show_length(ft(long.value), system)} ({over} in the source)"
        text += f" Needed: over {over} or 90° ({long.source})"
        text += f"; from trade size {size.value:g} up ({size.source})."
    return text + " Most is gone by about half way (common practice)."


def _people(plan: RunPlan, job: Job) -> str:
    short, sustained = find_practice("hand force short"), find_practice("hand force sustained")
    worst = max(plan.set_ups, key=lambda item: item.crew.tension_n)
    crew = worst.crew
    return (
        f"Force screening, not what a crew can do: set-up {worst.number} at high friction, "
        f"{show_force(crew.tension_n, job.units)}, is {crew.short:,} people for a short pull "
        f"({show_force(lbf(short.value), job.units)} each; {short.source}), {crew.sustained:,} "
        f"sustained ({show_force(lbf(sustained.value), job.units)} each; {sustained.source}). "
        f"Posts: {max(item.crew.posts for item in plan.set_ups)}. Never fewer than two people "
        "(common practice), and never by hand above the stop value."
    )


def _speed(plan: RunPlan, job: Job) -> str:
    low, high = find_practice("speed low"), find_practice("speed high")
    times = ", ".join(
        f"set-up {item.number} "
        + _span(*map(_minutes, (item.crew.fast_min, item.crew.slow_min))).replace(" min to", " to")
        for item in plan.set_ups
    )
    speeds = f"{low.value:g} to {high.value:g} ft/min"
    if job.units is UnitSystem.METRIC:
        speeds = f"{show_number(ft(low.value), 1)} to {show_number(ft(high.value), 1)} m/min"
    return (
        f"{speeds} with power equipment ({low.source}): {times}. Take "
        "the slack out of the line first; do not stop part-way (IEEE 1185-1994)."
    )


def _minutes(value: float) -> str:
    shown = show_number(value, 0)
    return "under 1 min" if shown == "0" else f"{shown} min"


def _span(low: str, high: str) -> str:
    """Return two figures of one unit as a span; as one where they show alike or the low is none."""
    if low == high:
        return low if low.startswith("under ") else f"about {low}"
    if low.startswith("under "):
        return f"up to {high}"
    return f"{low} to {high}"


def _drops(plan: RunPlan, job: Job) -> str:
    system = job.units
    words = []
    for item in plan.set_ups:
        drop = item.drop
        if drop.hold_back_n > 0.0:
            words.append(
                f"Set-up {item.number} runs away: brake at {item.set_up.feed.name}, at least "
                f"{show_force(drop.hold_back_n, system)} at low friction."
            )
        if drop.run_back_n > 0.0:
            words.append(
                f"Set-up {item.number}, once in, runs back from {item.set_up.pull_to.name} if let "
                f"go: hold {show_force(drop.run_back_n, system)} there."
            )
    for hanging in plan.hanging:
        part = hanging.part
        words.append(
            f"{show_force(hanging.weight_n, system)} hangs between stations "
            f"{show_length(part.station_m, system)} and {show_length(part.end_station_m, system)}."
        )
    if any(item.drop.runs_away for item in plan.set_ups):
        words.append(
            "Set the brake and an independent hold before letting go; supports before the line is "
            "released. Guide specifications feed at the higher end; riser crews often pull up, "
            "because a failed brake lets the string go."
        )
    return " ".join(words) or "Nothing hangs and nothing runs by itself at low friction."


def _pull_by(job: Job) -> str:
    number = sum(line.count for line in job.existing)
    small, large = find_practice("pull-by line smallest"), find_practice("pull-by line largest")
    sizes = f"{small.value:g} to {large.value:g} in"
    if job.units is UnitSystem.METRIC:
        least, most = (show_diameter(inches(rule.value), job.units) for rule in (small, large))
        sizes = f"{least} to {most} ({sizes} in the source)"
    return (
        f"{counted(number, 'conductor')} already in the raceway. De-energize and lock out first; "
        "feel the way through with non-conducting rods; lubricate what is there; "
        f"{sizes} double-braided polyester line, never steel, no "
        "fish tape, no left-over rope, normally no swivel (IEEE 1185-1994). Taking all out and "
        "pulling one new group is usually kinder (common practice)."
    )


def _next_size(plan: RunPlan, job: Job) -> str:
    sizes = plan.next_size
    if sizes is None:
        return "No larger trade size of this type in the tables."
    now, larger = sizes.now, sizes.larger
    name = f"{larger.raceway.type} {larger.raceway.trade_size}"
    mark = "" if larger.raceway.confirmed else " (table row not confirmed)"
    words = [
        f"{name}{mark}{_pulled_in_next(sizes, job)}fill "
        f"{show_number(larger.fill_percent, 1)} % instead of {show_number(now.fill_percent, 1)} %, "
        f"{_jam(now, larger)}."
    ]
    if sizes.without_room:
        words.append(_not_computed(sizes, job))
    if sizes.smallest_radius_m is not None and sizes.too_tight:
        has = "has" if len(sizes.too_tight) == 1 else "have"
        words.append(
            f"Its bends need R {show_radius(sizes.smallest_radius_m, job.units)} at least; "
            f"{_bends(sizes.too_tight)} {has} less: as drawn they fail in it."
        )
    if larger.tension_n is not None and not _eases(now, larger):
        words.append(
            "It does not ease this pull by these rules, though it often does (common practice)."
        )
    elif larger.tension_n is not None and not sizes.too_tight:
        words.append("One size up makes a hard pull easier (common practice).")
    return " ".join(words)


def _pulled_in_next(sizes: NextSize, job: Job) -> str:
    """Return what the same set-ups are in the larger size; nothing where that is not known."""
    now, larger, radius = sizes.now, sizes.larger, sizes.smallest_radius_m
    if now.tension_n is None or larger.tension_n is None:
        return ": "
    bent = ""
    if sizes.redrawn and radius is not None:
        many = len(sizes.redrawn) > _MOST_NAMED
        which = counted(len(sizes.redrawn), "bend") if many else _bends(sizes.redrawn)
        bent = f", {which} at R {show_radius(radius, job.units)} by its table"
    return (
        f" on the same route{bent}: greatest tension {show_force(larger.tension_n, job.units)} "
        f"instead of {show_force(now.tension_n, job.units)} at high friction, "
        f"{_next_shares(now.governing, larger.governing)}, "
    )


def _not_computed(sizes: NextSize, job: Job) -> str:
    bends, radius = _bends(sizes.without_room), sizes.smallest_radius_m
    if radius is None:
        return f"Tension not computed: no table has the radius of {bends} in this size."
    has = "has" if len(sizes.without_room) == 1 else "have"
    needs = show_radius(radius, job.units)
    return f"Tension not computed: {bends} {has} no room for the R {needs} that its table asks for."


def _next_shares(now: Share | None, larger: Share | None) -> str:
    if now is None or larger is None:
        return "no limit checked"
    one, other = (show_share(share.share) for share in (now, larger))
    if now.name == larger.name:
        return f"greatest share of limit ({now.name}) {other} instead of {one}"
    return f"greatest share of limit {other} ({larger.name}) instead of {one} ({now.name})"


def _eases(now: SizeFigures, larger: SizeFigures) -> bool:
    """Whether the larger size brings the pull farther from its limits; of none, its tension."""
    if now.governing is not None and larger.governing is not None:
        return larger.governing.share < _NO_EASIER * now.governing.share
    return (larger.tension_n or 0.0) < _NO_EASIER * (now.tension_n or 0.0)


def _bends(numbers: Sequence[int]) -> str:
    return f"bend{'' if len(numbers) == 1 else 's'} {joined([str(number) for number in numbers])}"


def _jam(now: SizeFigures, larger: SizeFigures) -> str:
    one, other = now.group.jam_ratio, larger.group.jam_ratio
    if one is None or other is None:
        return f"jam ratio not checked ({larger.group.jam_reason or now.group.jam_reason})"
    words = f"jam ratio D/d {show_number(other, 2)} instead of {show_number(one, 2)}"
    if JAM_BAND[0] <= other <= JAM_BAND[1]:
        words += ", in the jam band"
    return words
