"""The plan for the crew: where the reels stand, which pulls in which order, and what they need.

Everything in it is computed from the analysis of the run as drawn. The feeding place is the one
the job names, otherwise the best over all pull points with the passages as they stand. The
conductors are whole: they come off the reels at one place.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.errors import JobError
from analyzer.studies.call_outs import CallOut, StopValue, call_outs
from analyzer.studies.feeding import FeedingChoice, FeedingStudy, SetUp, choice_from, study_feeding
from analyzer.studies.feeding_reasons import DirectionReason, set_up_reason
from analyzer.studies.level_bounds import LevelBounds, level_bounds
from analyzer.studies.margins import Margins, margins_of
from analyzer.studies.plan_checks import checks_as_fed
from analyzer.studies.plan_crew import Crew, plan_crew
from analyzer.studies.plan_drops import DropPlan, HangingPart, hanging_parts, plan_drop
from analyzer.studies.plan_lengths import CutLength, cut_lengths
from analyzer.studies.plan_lines import LinePlan, plan_line
from analyzer.studies.plan_lubricant import Lubricant, plan_lubricant
from analyzer.studies.plan_next_size import NextSize, plan_next_size
from analyzer.studies.sensitivity import Sensitivity, study_sensitivity
from analyzer.studies.ways import way_of_set_up

__all__ = ["PlannedSetUp", "PullPlan", "RunPlan", "plan_pull"]

_SAME_SHARE = 1e-9


@dataclass(frozen=True, slots=True)
class PlannedSetUp:
    """One set-up with all the crew needs for it; `number` counts from 1 in order of work."""

    number: int
    set_up: SetUp
    reason: DirectionReason
    call_outs: tuple[CallOut, ...]
    margins: Margins
    bounds: tuple[LevelBounds, ...]
    lubricant: Lubricant
    crew: Crew
    drop: DropPlan

    @property
    def stop(self) -> StopValue:
        """The smallest stop value of all call-outs, the last of equals; unknown if all are."""
        known = [row.stop for row in self.call_outs if row.stop.stop_n is not None]
        least = min((stop.stop_n or 0.0 for stop in known), default=0.0)
        near = [stop for stop in known if (stop.stop_n or 0.0) <= least * (1.0 + _SAME_SHARE)]
        return near[-1] if near else self.call_outs[-1].stop

    @property
    def passed_stops(self) -> tuple[CallOut, ...]:
        """Call-outs where the head exceeds the stop value at high friction."""
        return tuple(row for row in self.call_outs if row.exceeds_stop)

    @property
    def one_stop_holds(self) -> bool:
        """Whether the smallest stop value stops no head that is below the one of its place."""
        least = self.stop.stop_n
        return least is None or not any(
            row.tension.high_n > least * (1.0 + 1e-6) and not row.exceeds_stop
            for row in self.call_outs
        )


@dataclass(frozen=True, slots=True)
class RunPlan:
    """The plan of one run.

    Attributes
    ----------
    analyzed : RunAnalysis
        The run analyzed.
    feeding : FeedingStudy
        Every feeding place, and the best for each number of set-ups.
    choice : FeedingChoice
        The one planned.
    feed_stated : bool
        Whether the job names the feeding place.
    set_ups : tuple of PlannedSetUp
        In order of work.
    lengths : tuple of CutLength
        One for each kind of conductor.
    line : LinePlan
        What the pulling line must bear.
    hanging : tuple of HangingPart
        What hangs in vertical parts after the pull.
    next_size : NextSize or None
        One trade size up.
    sensitivity : tuple of Sensitivity
        What moves the answer, most first.
    checks : tuple of Check
        Those of the run, what hangs on passages as this feeding has it.
    """

    analyzed: RunAnalysis
    feeding: FeedingStudy
    choice: FeedingChoice
    feed_stated: bool
    set_ups: tuple[PlannedSetUp, ...]
    lengths: tuple[CutLength, ...]
    line: LinePlan
    hanging: tuple[HangingPart, ...]
    next_size: NextSize | None
    sensitivity: tuple[Sensitivity, ...]
    checks: tuple[Check, ...]


@dataclass(frozen=True, slots=True)
class PullPlan:
    """The plans of all runs of an analysis."""

    analysis: Analysis
    runs: tuple[RunPlan, ...]


def plan_pull(analysis: Analysis) -> PullPlan:
    """Return the plan for the crew of every run.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.

    Raises
    ------
    JobError
        If the job names a feeding place that no run has.
    """
    wanted = analysis.job.plan.feed_at
    names = [_pull_points(run) for run in analysis.runs]
    if wanted is not None and not any(wanted in group for group in names):
        known = ", ".join(dict.fromkeys(name for group in names for name in group))
        raise JobError(
            f"{analysis.job.at('plan', 'feed_at')}"
            f'feed_at in [plan]: there is no pull point "{wanted}"; the pull points are {known}'
        )
    return PullPlan(analysis, tuple(_plan_run(run, analysis) for run in analysis.runs))


def _pull_points(analyzed: RunAnalysis) -> list[str]:
    return [fitting.name for fitting in analyzed.run.fittings if fitting.pull_point]


def _plan_run(analyzed: RunAnalysis, analysis: Analysis) -> RunPlan:
    run, job = analyzed.run, analysis.job
    feeding = study_feeding(run, job)
    wanted = job.plan.feed_at
    stated = wanted is not None and wanted in _pull_points(analyzed)
    choice = choice_from(run, job, wanted) if stated and wanted else feeding.best
    set_ups = choice.set_ups
    return RunPlan(
        analyzed=analyzed,
        feeding=feeding,
        choice=choice,
        feed_stated=stated,
        set_ups=tuple(
            _plan_set_up(number, item, analyzed, analysis)
            for number, item in enumerate(set_ups, start=1)
        ),
        lengths=cut_lengths(run, job),
        line=plan_line(job, choice.greatest_tension_n),
        hanging=hanging_parts(run, job),
        next_size=plan_next_size(run, job, set_ups),
        sensitivity=study_sensitivity(run, job, set_ups),
        checks=checks_as_fed(analyzed, choice.feed, job),
    )


def _plan_set_up(
    number: int, set_up: SetUp, analyzed: RunAnalysis, analysis: Analysis
) -> PlannedSetUp:
    run, job = analyzed.run, analysis.job
    way = way_of_set_up(run, set_up, job, analysis.group)
    return PlannedSetUp(
        number=number,
        set_up=set_up,
        reason=set_up_reason(run, job, set_up),
        call_outs=call_outs(
            run,
            job,
            analysis.group,
            set_up.feed,
            set_up.pull_to,
            set_up.bends,
            set_up.pull.high.max_tension_station_m,
        ),
        margins=margins_of(way, set_up.pull, set_up.bends),
        bounds=level_bounds(way, set_up.pull),
        lubricant=plan_lubricant(job, set_up),
        crew=plan_crew(set_up.greatest_tension_n, set_up.length_m, len(set_up.passed)),
        drop=plan_drop(run, job, set_up),
    )
