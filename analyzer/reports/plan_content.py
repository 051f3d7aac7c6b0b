"""What the plan for the crew says, in which order and words; writers only format it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.analysis import Analysis
from analyzer.checks.check import Check
from analyzer.checks.run_checks import needed_not_made
from analyzer.checks.situation import at_most
from analyzer.findings import Severity, Verdict
from analyzer.job.settings import Job
from analyzer.pulling.results import Direction
from analyzer.reports.cautions import CAUTIONS, METHOD_LIMITS
from analyzer.reports.check_words import check_cautions, not_told_by_checks
from analyzer.reports.content import Fact
from analyzer.reports.grid import Column, Table
from analyzer.reports.leg_words import greatest_words, margin_words, reason_words, share_words
from analyzer.reports.plan_facts import plan_facts
from analyzer.reports.plan_words import (
    bounds_words,
    limits_words,
    passed_stop_words,
    place_words,
    set_up_title,
    stop_words,
)
from analyzer.reports.words import (
    counted,
    feed_tension_text,
    friction_text,
    joined,
    raceway_text,
    unchecked_edges_text,
)
from analyzer.studies.call_outs import CallOut
from analyzer.studies.feeding import FeedingChoice, SetUp
from analyzer.studies.plan import PlannedSetUp, PullPlan, RunPlan
from analyzer.studies.sensitivity import (
    FEED_CHANGE_N,
    PART_CHANGE,
    TURNING_CHANGE_RAD,
    Quantity,
    Sensitivity,
)
from analyzer.units import (
    UnitSystem,
    lbf,
    show_angle,
    show_force,
    show_length,
    show_number,
    show_radius,
    show_share,
    show_stop,
    show_weight,
)

__all__ = ["PlanContent", "RunPlanContent", "SetUpContent", "plan_content"]

_DIRECTION_CHECKS = (
    "conductor-tension",
    "grip-tension",
    "line-tension",
    "puller-tension",
    "tension-braked",
    "sidewall",
    "sidewall-braked",
)
_SHOWN_N, _SHOWN_SHARE = lbf(0.05), 0.0005
CALL_OUT_NOTE = (
    "Tension of the head when it leaves each place, at low, expected and high friction. Stop above "
    "the value of a place while the head is there: a limit at it or behind it may then be reached. "
    "Lowest stop marks where the value is lower than at the places before and after. The drag of "
    "the line itself in bends still ahead is not in it: the gauge at the puller reads more until "
    "the head is out. ! marks a place where high friction exceeds the stop value."
)
"""What the figures of a call-out table are."""


@dataclass(frozen=True, slots=True)
class SetUpContent:
    """One set-up: heading, why this end, call-outs, stop value, margins and bounds in words."""

    title: str
    why: str
    stop: str
    call_outs: Table
    margin: str
    bounds: str


@dataclass(frozen=True, slots=True)
class RunPlanContent:
    """The plan of one run: headline, what is wrong, order of work, facts, where from.

    `verdict` is that of the set-ups planned, with what else stands on the run and the job.
    """

    name: str
    headline: str
    is_over: bool
    verdict: Verdict
    problems: tuple[str, ...]
    given: tuple[Fact, ...]
    limits: str
    set_ups: tuple[SetUpContent, ...]
    facts: tuple[Fact, ...]
    places: Table
    places_note: str
    sensitivity: Table


@dataclass(frozen=True, slots=True)
class PlanContent:
    """Everything the plan says; `errors` and `cautions` are those on the job and the files."""

    title: str
    units: UnitSystem
    runs: tuple[RunPlanContent, ...]
    note: str
    errors: tuple[str, ...]
    cautions: tuple[str, ...]
    safety: tuple[str, ...]
    method_limits: tuple[str, ...]


def plan_content(plan: PullPlan) -> PlanContent:
    """Return what the plan says, in the unit system of the job.

    Parameters
    ----------
    plan : PullPlan
        What `plan_pull` returned.
    """
    analysis = plan.analysis
    standing = not_told_by_checks(analysis.findings, [run.checks for run in plan.runs])
    errors, cautions = (
        tuple(dict.fromkeys(one.message for one in standing if one.severity is severity))
        for severity in (Severity.ERROR, Severity.CAUTION)
    )
    return PlanContent(
        title=analysis.job.title or "Raceway pull",
        units=analysis.job.units,
        runs=tuple(_run(run, plan) for run in plan.runs),
        note=CALL_OUT_NOTE,
        errors=errors,
        cautions=cautions,
        safety=CAUTIONS,
        method_limits=METHOD_LIMITS,
    )


def _run(run: RunPlan, plan: PullPlan) -> RunPlanContent:
    job = plan.analysis.job
    over = [item for item in run.set_ups if not _holds(item)]
    line = run.analyzed.run
    given = (
        Fact(
            "Run",
            f"{line.name}, {line.input.file}, {show_length(line.centerline.length_m, job.units)}",
        ),
        Fact("Raceway", raceway_text(job)),
        Fact(
            "Friction",
            f"{friction_text(job)}; weight {show_weight(job.pulling_weight_n_per_m, job.units)}; "
            f"feed tension {feed_tension_text(job, [line])}",
        ),
        Fact("Arrangement", plan.analysis.group.description),
    )
    problems = _problems(run, over, plan.analysis)
    return RunPlanContent(
        name=line.name,
        headline=_headline(run, over, job),
        is_over=bool(over),
        verdict=_verdict(run, bool(over), problems, plan.analysis),
        problems=problems,
        given=given,
        limits=limits_words(run, job, plan.analysis.group),
        set_ups=tuple(_set_up(item, plan) for item in run.set_ups),
        facts=plan_facts(run, job),
        places=_places(run, job),
        places_note=_places_note(run, job),
        sensitivity=_sensitivity(run, job),
    )


def _holds(item: PlannedSetUp) -> bool:
    return all(at_most(share.value, share.limit) for share in item.set_up.pull.shares)


def _headline(run: RunPlan, over: list[PlannedSetUp], job: Job) -> str:
    choice = run.choice
    ends = list(dict.fromkeys(_last_of_half(choice)))
    toward = f"pull toward {' then toward '.join(ends)}"
    why = "the best of all pull points"
    if run.feed_stated:
        why = "as the job says"
    elif run.feeding.as_good_as_best:
        why = f"as good as {joined(run.feeding.as_good_as_best)}, none is better"
    greatest = greatest_words([item.pull for item in choice.set_ups], job.units)
    text = (
        f"Reels at {choice.feed.name} ({why}), {toward}, {counted(len(choice.set_ups), 'set-up')}; "
        f"{greatest}."
    )
    if over:
        numbers = joined([str(item.number) for item in over])
        which = f"set-up {numbers} exceeds" if len(over) == 1 else f"set-ups {numbers} exceed"
        return f"DO NOT PULL AS PLANNED: {which} a limit. {text}"
    return text


def _last_of_half(choice: FeedingChoice) -> list[str]:
    """Names of the ends of the run that the set-ups lead to, in order of work."""
    ends = []
    items = choice.set_ups
    for index, item in enumerate(items):
        is_last = index + 1 == len(items) or items[index + 1].feed.name != item.pull_to.name
        if is_last:
            ends.append(item.pull_to.name)
    return ends


def _problems(run: RunPlan, over: list[PlannedSetUp], analysis: Analysis) -> tuple[str, ...]:
    """Tell what fails, what was not checked, doubts of pull and route, cautions of the checks."""
    job = analysis.job
    found = []
    for item in over:
        for share in item.set_up.pull.shares:
            if not at_most(share.value, share.limit):
                words = share_words(share, job.units).removeprefix("Governs: ")
                found.append(f"Set-up {item.number}: {words}")
    own = [finding for finding in run.analyzed.findings if finding not in analysis.findings]
    found += [finding.message for finding in own if finding.severity is Severity.ERROR]
    found += [check.message for check in _failing_besides(run)]
    found += [check.message for check in needed_not_made(run.checks)]
    for item in run.set_ups:
        if item not in over and item.passed_stops:
            found.append(passed_stop_words(item, job))
    line = run.line
    if line.breaking_strength_n is not None and line.needed_strength_n is not None:
        has, needs = line.breaking_strength_n, line.needed_strength_n
        if not at_most(needs, has):
            found.append(
                f"Line too weak for the puller: it breaks at {show_force(has, job.units)}, the "
                f"puller asks for {show_force(needs, job.units)}."
            )
    found += [finding.message for finding in own if finding.severity is Severity.CAUTION]
    found += check_cautions(run.checks)
    return tuple(dict.fromkeys(found))


def _failing_besides(run: RunPlan) -> list[Check]:
    """Failing checks of the route; those of a pull are told by the set-ups' own figures."""
    failing = [check for check in run.checks if check.verdict is Verdict.FAIL]
    return [check for check in failing if check.code not in _DIRECTION_CHECKS]


def _verdict(run: RunPlan, is_over: bool, problems: tuple[str, ...], analysis: Analysis) -> Verdict:
    """By the rule of `verdict_of`, with the set-ups planned instead of the legs."""
    standing = (*run.analyzed.findings, *analysis.job.findings, *analysis.group.findings)
    severities = {finding.severity for finding in standing}
    if is_over or _failing_besides(run) or Severity.ERROR in severities:
        return Verdict.FAIL
    if needed_not_made(run.checks):
        return Verdict.NOT_CHECKED
    is_doubtful = bool(problems) or Severity.CAUTION in severities
    return Verdict.CAUTION if is_doubtful else Verdict.PASS


def _set_up(item: PlannedSetUp, plan: PullPlan) -> SetUpContent:
    job = plan.analysis.job
    return SetUpContent(
        title=set_up_title(item, job),
        why=reason_words(item.reason, job),
        stop=stop_words(item, job),
        call_outs=Table(
            "",
            (
                Column("head at"),
                Column("way", is_number=True),
                Column("station", is_number=True),
                Column("low", is_number=True),
                Column("expected", is_number=True),
                Column("high", is_number=True),
                Column("stop above", is_number=True),
            ),
            tuple(_call_out(row, job) for row in item.call_outs),
        ),
        margin=margin_words(item.margins, job),
        bounds=bounds_words(item, job.units),
    )


def _call_out(row: CallOut, job: Job) -> tuple[str, ...]:
    system = job.units
    stop = row.stop.stop_n
    return (
        place_words(row),
        show_length(row.away_m, system),
        show_length(row.station_m, system),
        show_force(row.tension.low_n, system),
        show_force(row.tension.expected_n, system),
        show_force(row.tension.high_n, system) + (" !" if row.exceeds_stop else ""),
        "not checked" if stop is None else show_stop(stop, system) if stop else "none helps",
    )


def _places(run: RunPlan, job: Job) -> Table:
    first, last = run.analyzed.run.fittings[0], run.analyzed.run.fittings[-1]
    rows = [_place_row(choice, run, job, "as stated") for choice in run.feeding.places]
    gentlest = float("inf")
    for choice in run.feeding.fewest:
        if choice.greatest_tension_n >= gentlest:
            continue  # more set-ups for no less tension
        gentlest = choice.greatest_tension_n
        if any(_same_pulls(choice, other) for other in run.feeding.places):
            continue
        again = [
            item.pull_to.name
            for item in choice.set_ups
            if item.pull_to.name not in (first.name, last.name)
        ]
        how = f"refed at {', '.join(again)}" if again else "all passed through"
        rows.append(_place_row(choice, run, job, f"best of {len(choice.set_ups)}: {how}"))
    return Table(
        "Where from",
        (
            Column("reels at"),
            Column("boxes"),
            Column(f"to {first.name}", is_number=True),
            Column(f"to {last.name}", is_number=True),
            Column("set-ups", is_number=True),
            Column("greatest", is_number=True),
            Column("of limit", is_number=True),
            Column("brake", is_number=True),
        ),
        tuple(rows),
    )


def _same_pulls(one: FeedingChoice, other: FeedingChoice) -> bool:
    ends = [[(i.feed.name, i.pull_to.name) for i in item.set_ups] for item in (one, other)]
    return ends[0] == ends[1]


def _place_row(choice: FeedingChoice, run: RunPlan, job: Job, how: str) -> tuple[str, ...]:
    system = job.units
    back, ahead = choice.lengths_m
    mark = "* " if how == "as stated" and choice.feed.name == run.choice.feed.name else ""
    return (
        f"{mark}{choice.feed.name}",
        how,
        show_length(back, system),
        show_length(ahead, system),
        str(len(choice.set_ups)),
        show_force(choice.greatest_tension_n, system),
        _share(choice.share_of_limit),
        show_force(choice.hold_back_n, system),
    )


def _places_note(run: RunPlan, job: Job) -> str:
    text = (
        "* is this plan. Greatest tension at high friction, brake at low. All feeding places are "
        "compared, and for each number of set-ups all passages the job leaves open (refeed where "
        "it says nothing)."
    )
    if len(run.feeding.places) > 2:
        through = (run.analyzed.through_forward, run.analyzed.through_reverse)
        pull = min(through, key=lambda item: item.high.max_tension_n)
        tension = show_force(pull.high.max_tension_n, job.units)
        text += f" Straight through all boxes from {pull.feed_at} it would be {tension}"
        unchecked = unchecked_edges_text(run.analyzed.run)
        text += f"; {unchecked}." if unchecked else "."
    better = run.feeding.each_better
    planned = {(item.feed.name, item.pull_to.name) for item in run.choice.set_ups}
    if any((item.feed.name, item.pull_to.name) not in planned for item in better):
        tension = show_force(max(item.greatest_tension_n for item in better), job.units)
        where = ", ".join(run.feeding.joints)
        text += (
            f" Each stretch pulled from its own better end, as the check counts it, would need "
            f"{tension}"
        )
        text += (
            f", with conductors cut and joined at {where}."
            if where
            else f": reels at {_meeting_feed(better)}."
        )
    return text


def _meeting_feed(better: Sequence[SetUp]) -> str:
    """Return the one place that set-ups without a joint are fed from."""
    ahead = [item.feed.name for item in better if item.pull.direction is Direction.FORWARD]
    return ahead[0] if ahead else better[-1].feed.name


def _sensitivity(run: RunPlan, job: Job) -> Table:
    moving = [row for row in run.sensitivity if _moves(row)]
    number = len(run.sensitivity) - len(moving)
    rest = [(f"{counted(number, 'other change')} of a radius or angle", "", "none", "", "none")]
    rest = rest if number else []
    return Table(
        "What moves the answer most (another radius: same corner; more angle: the arc grows at its "
        "radius, and the shorter part of the run, before or behind the bend, turns with it, its "
        "slopes too)",
        (
            Column("change"),
            Column("greatest tension", is_number=True),
            Column("change in it", is_number=True),
            Column("share of limit", is_number=True),
            Column("change in it", is_number=True),
        ),
        (*(_sensitivity_row(row, job) for row in moving), *rest),
    )


def _moves(row: Sensitivity) -> bool:
    """Whether a change shows in the figures; friction, weight and feed tension always stand."""
    is_shown = abs(row.tension_change_n) > _SHOWN_N or abs(row.share_change or 0.0) > _SHOWN_SHARE
    return row.bend is None or is_shown


def _sensitivity_row(row: Sensitivity, job: Job) -> tuple[str, ...]:
    system, percent = job.units, f"{100 * PART_CHANGE:g} %"
    if row.quantity is Quantity.FEED_TENSION:
        change = f"feed tension + {show_force(FEED_CHANGE_N, system)}"
    elif row.quantity is Quantity.RADIUS and row.bend is not None:
        radius = show_radius(row.bend.radius_m or 0.0, system)
        change = f"radius of bend {row.bend.number} ({radius}) - {percent}"
        if row.keeps_straights:
            change += ", its straights as long as drawn"
    elif row.quantity is Quantity.TURNING and row.bend is not None:
        angle = show_angle(row.bend.angle_rad)
        more = show_angle(TURNING_CHANGE_RAD)
        change = f"angle of bend {row.bend.number} ({angle}) + {more}"
    else:
        change = f"{row.quantity.value} + {percent}"
    tension = show_force(row.tension_change_n, system)
    points = "not checked"
    if row.share_change is not None:
        points = _signed(f"{show_number(100.0 * row.share_change, 1)} points")
    return (
        change,
        show_force(row.tension_n, system),
        _signed(tension),
        _share(row.share_of_limit),
        points,
    )


def _share(share: float | None) -> str:
    return "not checked" if share is None else show_share(share)


def _signed(shown: str) -> str:
    """Return a change with the sign of what is shown: a rounded zero has no minus."""
    return shown if shown.startswith("-") else f"+{shown}"
