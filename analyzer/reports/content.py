"""What is said about an analysis, in which order and words; writers only format it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.findings import Finding, Severity, Verdict
from analyzer.job.settings import Job
from analyzer.pulling.results import Pull
from analyzer.reports.cautions import CAUTIONS, METHOD_LIMITS
from analyzer.reports.check_words import (
    check_cautions,
    needed_words,
    not_checked,
    not_told_by_checks,
    verdict_text,
)
from analyzer.reports.grid import Table
from analyzer.reports.joint_words import joined_words, run_joints
from analyzer.reports.leg_words import (
    about_equal,
    better_end_words,
    greatest_words,
    level_words,
    loaded_words,
    passing_words,
)
from analyzer.reports.overview import (
    lost_files,
    lost_runs,
    overview_table,
    overview_text,
)
from analyzer.reports.tables import (
    bend_table,
    check_table,
    feature_table,
    fitting_table,
    leg_table,
    pull_table,
    refed_table,
    segment_table,
    through_table,
)
from analyzer.reports.words import (
    check_name,
    conductor_lines,
    counted,
    feed_tension_text,
    friction_text,
    raceway_text,
)
from analyzer.studies.leg_study import leg_reason, study_leg, through_reason
from analyzer.units import (
    UnitSystem,
    show_angle,
    show_length,
    show_number,
    show_share,
    show_weight,
    to_inches,
)

__all__ = ["Content", "Fact", "LegNotes", "RunContent", "content_of", "headline"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One named fact in words."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class LegNotes:
    """Sentences beside one leg; `passing` and `bounds` are empty where there is nothing to say.

    `better` is the better end and which bends multiply what, `passing` the highest friction and
    smallest radius that would still pass from there, `bounds` the independent bounds.
    """

    name: str
    better: str
    passing: str
    bounds: str


@dataclass(frozen=True, slots=True)
class RunContent:
    """What is said about one run, most important first.

    `failing`, `cautions`, `not_checked` and `notes` are sentences; `legs` are the pulls with the
    passages as they stand, `leg_notes` what is said beside each, `run_better` from which end of the
    run all of them are better pulled, empty for one leg. `refed` has the legs fed again at
    every pull point, where that differs, `through` the whole run passed through, and
    `through_better` its better end and why.
    """

    name: str
    verdict: Verdict
    verdict_text: str
    headline: str
    facts: tuple[Fact, ...]
    legs: Table
    pulls: Table
    leg_notes: tuple[LegNotes, ...]
    run_better: str
    refed: Table | None
    through: Table
    through_better: str
    checks: Table
    geometry: tuple[Table, ...]
    failing: tuple[str, ...]
    cautions: tuple[str, ...]
    not_checked: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Content:
    """Everything that is said about an analysis.

    `errors`, `cautions` and `notes` are those on the job and the files; errors go before all else.
    `overview` and its sentence are for several runs, worst first, those that could not be read
    among them; None and empty for one.
    """

    title: str
    inputs: tuple[Fact, ...]
    assumptions: tuple[Fact, ...]
    runs: tuple[RunContent, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    method_limits: tuple[str, ...]
    safety: tuple[str, ...]
    overview: Table | None = None
    overview_text: str = ""
    errors: tuple[str, ...] = ()


def content_of(analysis: Analysis) -> Content:
    """Return what is to be said about an analysis.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.

    Returns
    -------
    Content
        Words and tables, in the unit system of the job.
    """
    checks = [analyzed.checks for analyzed in analysis.runs]
    lost = (*lost_files(analysis), *lost_runs(analysis))
    several = len(analysis.runs) + len(lost) > 1
    return Content(
        title=analysis.job.title or "Raceway pull",
        inputs=_inputs(analysis),
        assumptions=_assumptions(analysis),
        runs=tuple(_run(analyzed, analysis) for analyzed in analysis.runs),
        errors=_of(analysis.findings, Severity.ERROR),
        cautions=_of(not_told_by_checks(analysis.findings, checks), Severity.CAUTION),
        notes=_of(analysis.findings, Severity.NOTE),
        method_limits=METHOD_LIMITS,
        safety=CAUTIONS,
        overview=overview_table(analysis) if several else None,
        overview_text=overview_text(analysis) if several else "",
    )


def headline(analyzed: RunAnalysis, analysis: Analysis) -> str:
    """Return the finding in one sentence: what fails and where, or how near the limit it comes."""
    system = analysis.job.units
    failing = _counted_failing(analyzed)
    errors = [f for f in analyzed.findings if f.severity is Severity.ERROR]
    if errors and not failing:
        return errors[0].message
    if failing:
        return max(failing, key=_overshoot).message
    worst = max(
        (leg.best for leg in analyzed.legs),
        key=lambda pull: pull.share_of_limit or 0.0,
    )
    governing = worst.governing
    if governing is None:
        return "No tension or sidewall limit could be checked."
    joints = run_joints(analyzed, analysis.job)
    only = ""
    if joints is not None and joints.is_needed:
        only = f"Only with {joined_words(joints.places)}. "
    lead = "Highest"
    if analyzed.verdict is Verdict.NOT_CHECKED and (missing := needed_words(analyzed.checks)):
        lead = f"{missing[:1].upper()}{missing[1:]} not checked. Of what was checked, highest"
    return (
        f"{only}{lead} {show_share(governing.share)} of limit ({check_name(governing.code)}), "
        f"feeding at {worst.feed_at}, pulling at {worst.pull_at}; {_there(worst, system)}."
    )


def _there(pull: Pull, system: UnitSystem) -> str:
    words = greatest_words([pull], system)
    return words.replace("greatest tension", "greatest tension there", 1)


def _counted_failing(analyzed: RunAnalysis) -> list[Check]:
    """Failing checks that count: of a leg's two directions, only the better one."""
    return [c for c in analyzed.checks if c.verdict is Verdict.FAIL and c.counts]


def _overshoot(check: Check) -> float:
    if not check.value or not check.limit:
        return 0.0
    return max(check.value / check.limit, check.limit / check.value)


def _of(findings: Sequence[Finding], severity: Severity) -> tuple[str, ...]:
    return tuple(_sentence(finding) for finding in findings if finding.severity is severity)


def _own(analyzed: RunAnalysis, analysis: Analysis) -> list[Finding]:
    """Return the findings on a run, but for those told of its file, which hold for all its runs."""
    told = set(analysis.findings)
    return [finding for finding in analyzed.findings if finding not in told]


def _shared_cautions(analyzed: RunAnalysis, analysis: Analysis) -> list[str]:
    """Say that cautions or errors told of the file count here too."""
    own = set(_own(analyzed, analysis))
    shared = [f for f in analyzed.findings if f not in own and f.severity is not Severity.NOTE]
    if not shared:
        return []
    codes = ", ".join(dict.fromkeys(finding.code.replace("-", " ") for finding in shared))
    return [f"What is said of the file {analyzed.run.input.file} counts for this run too: {codes}"]


def _sentence(finding: Finding) -> str:
    return f"{finding.message} ({finding.where})" if finding.where else finding.message


def _inputs(analysis: Analysis) -> tuple[Fact, ...]:
    facts = []
    for item in dict.fromkeys(run.run.input for run in analysis.runs):
        low, high = item.extents_m
        size = " × ".join(
            show_length(b - a, analysis.job.units) for a, b in zip(low, high, strict=True)
        )
        facts.append(
            Fact(
                "Route",
                f"{item.file}, unit {item.length_unit} (named by the {item.length_unit_from}), "
                f"extents {size}, sha256 {item.sha256[:12]}…",
            )
        )
    facts.append(Fact("Job", analysis.job.source or "options of the command line"))
    return tuple(facts)


def _assumptions(analysis: Analysis) -> tuple[Fact, ...]:
    job, group = analysis.job, analysis.group
    system = job.units
    weight = show_weight(job.pulling_weight_n_per_m, system)
    facts = [
        Fact("Raceway", raceway_text(job)),
        *(Fact("Conductors", line) for line in conductor_lines(job)),
        Fact("Weight pulled", f"{weight} in all, allowances included"),
        Fact("Arrangement", group.description),
        Fact(
            "Weight factor",
            f"{group.weight_factor:.3f}{_in_bends(analysis)}; source: {group.weight_factor_source}",
        ),
        Fact("Sidewall form", f"{group.sidewall.name}; source: {group.sidewall.source}"),
        Fact("Friction", friction_text(job)),
        Fact("Feed tension", feed_tension_text(job, [item.run for item in analysis.runs])),
        *_lubricant(analysis),
        Fact("Attachment", job.pull.attachment.value if job.pull.attachment else "not stated"),
        Fact("Rule set", job.limits.rules),
    ]
    return tuple(facts)


def _lubricant(analysis: Analysis) -> tuple[Fact, ...]:
    pull = analysis.job.pull
    if pull.lubricant_reach_m is None or pull.dry_friction is None:
        return ()
    reach = show_length(pull.lubricant_reach_m, analysis.job.units)
    text = (
        f"{reach} from each feed; beyond it friction {pull.dry_friction:.2f}, or the band's where "
        "that is higher; never for hold-back"
    )
    return (Fact("Lubricant reach", text),)


def _in_bends(analysis: Analysis) -> str:
    if analysis.job.pull.weight_factor_in_bends:
        return ", in straights and in bends (sources differ on bends)"
    return ", in straights only, by the job (sources differ on bends)"


def _run(analyzed: RunAnalysis, analysis: Analysis) -> RunContent:
    job = analysis.job
    run = analyzed.run
    bends = [bend for bend in run.bends if not bend.in_fitting]
    degrees = sum(leg.leg.bend_total_rad for leg in analyzed.legs)
    facts = (
        Fact(
            "Run",
            f"{show_length(run.centerline.length_m, job.units)}, {counted(len(bends), 'bend')}, "
            f"{show_angle(degrees)}, {counted(len(analyzed.legs), 'leg')}",
        ),
        Fact(
            "Read as",
            f"{run.read_as.value}, centerline within "
            f"{_deviation(run.deviation_m, analysis)} of the drawn points",
        ),
        Fact("Drawn in", f"{run.input.length_unit}, named by the {run.input.length_unit_from}"),
    )
    own = _own(analyzed, analysis)
    failing = tuple(dict.fromkeys(check.message for check in _counted_failing(analyzed)))
    cautions = tuple(
        dict.fromkeys(
            check_cautions(analyzed.checks)
            + list(_of(own, Severity.CAUTION))
            + _shared_cautions(analyzed, analysis)
        )
    )
    return RunContent(
        name=run.name,
        verdict=analyzed.verdict,
        verdict_text=verdict_text(analyzed),
        headline=headline(analyzed, analysis),
        facts=facts,
        legs=leg_table(analyzed, job),
        pulls=pull_table(analyzed, job),
        leg_notes=tuple(_leg_notes(analyzed, item, analysis) for item in analyzed.legs),
        run_better=_run_better(analyzed, job),
        refed=refed_table(analyzed, analysis),
        through=through_table(analyzed, job),
        through_better=better_end_words(through_reason(analyzed, analysis), job),
        checks=check_table(analyzed, job),
        geometry=(
            bend_table(analyzed, job),
            feature_table(analyzed, job),
            fitting_table(analyzed, job),
            segment_table(analyzed, job),
        ),
        failing=(*_of(own, Severity.ERROR), *failing),
        cautions=cautions,
        not_checked=tuple(not_checked(analyzed.checks)),
        notes=_of(own, Severity.NOTE),
    )


def _leg_notes(analyzed: RunAnalysis, item: LegAnalysis, analysis: Analysis) -> LegNotes:
    job = analysis.job
    study = study_leg(analyzed, item, item.best.direction, analysis)
    is_known = study.margins.governing is not None
    return LegNotes(
        name=item.leg.name,
        better=better_end_words(leg_reason(analyzed, item, analysis), job),
        passing=passing_words(study.margins, job) if is_known else "",
        bounds=level_words(study.bounds, job.units),
    )


def _load_of(pulls: Sequence[Pull]) -> tuple[float, float, Pull]:
    """Largest share of limit and greatest tension of pulls, at high friction; the worst pull."""
    worst = max(pulls, key=lambda pull: pull.share_of_limit or 0.0)
    return worst.share_of_limit or 0.0, max(pull.high.max_tension_n for pull in pulls), worst


def _run_better(analyzed: RunAnalysis, job: Job) -> str:
    """All legs pulled the same way from one end or the other, and each at its better end."""
    legs = analyzed.legs
    if len(legs) == 1:
        return ""
    ends = (legs[0].leg.start.name, legs[-1].leg.end.name)
    ways = [[leg.forward for leg in legs], [leg.reverse for leg in legs]]
    loads = [_load_of(pulls) for pulls in ways]
    words = [
        loaded_words(tension, worst, job.units)
        for _, tension, worst in (*loads, _load_of([leg.best for leg in legs]))
    ]
    first = 0 if loads[0][:2] <= loads[1][:2] else 1
    is_near = about_equal(loads[0][:2], loads[1][:2], job.units)
    start = f"either end, about equal; from {ends[first]}" if is_near else ends[first]
    joints = run_joints(analyzed, job)
    joined = "" if joints is None else f", with {joined_words(joints.places)}"
    whole = ""
    if joints is not None and not joints.whole.is_end:
        _, tension, worst = _load_of(joints.whole.pulls)
        whole = (
            f"Whole conductors are best fed at {joints.whole.feed_at}, both halves pulled from "
            f"there: {loaded_words(tension, worst, job.units)}. "
        )
    return (
        f"{start}, all legs pulled the same way: at high friction {words[first]} at most, "
        f"from {ends[1 - first]} {words[1 - first]}; each leg from its own better end {words[2]}"
        f"{joined}. {whole}"
        "Feeding places on the way, both halves pulled from there: raceway plan."
    )


def _deviation(length_m: float, analysis: Analysis) -> str:
    if analysis.job.units is UnitSystem.US:
        value = to_inches(length_m)
        return "0.001 in" if value <= 0.001 else f"{_three_digits(value)} in"
    return "0.03 mm" if length_m <= 0.00003 else f"{_three_digits(length_m * 1000)} mm"


def _three_digits(value: float) -> str:
    """Return three digits, or all before the point."""
    return f"{value:.3g}" if value < 999.5 else show_number(value, 0)
