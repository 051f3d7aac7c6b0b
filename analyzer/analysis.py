"""The one public door: analyze runs under a job.

An `Analysis` carries its inputs: everything downstream needs nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from analyzer.catalog.offset_charts import offset_chart, saddle_chart
from analyzer.checks.check import Check
from analyzer.checks.directions import better_way, counted_directions
from analyzer.checks.run_checks import run_checks, verdict_of
from analyzer.findings import Finding, Severity, Verdict
from analyzer.geometry.features.feature import Feature, TradeFigures
from analyzer.geometry.features.finder import find_features
from analyzer.job.settings import Job, Passage
from analyzer.pulling.groups import ConductorGroup, conductor_group
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import Direction, Pull
from analyzer.route.legs import Leg, split_into_legs
from analyzer.route.run import Run
from analyzer.units import show_angle

__all__ = [
    "Analysis",
    "LegAnalysis",
    "RunAnalysis",
    "analyze",
    "better_direction",
]


@dataclass(frozen=True, slots=True)
class LegAnalysis:
    """One leg pulled both ways.

    Attributes
    ----------
    leg : Leg
        The leg.
    forward, reverse : Pull
        Pulled each way.
    better : str
        ``forward``, ``reverse`` or ``equal``, the leg looked at by itself.
    pulled : Direction or None
        Better way of all legs that are pulled in one go with this one, since conductors are passed
        through the fittings between them; None where nothing else is pulled with it.
    """

    leg: Leg
    forward: Pull
    reverse: Pull
    better: str
    pulled: Direction | None = None

    @property
    def best(self) -> Pull:
        """The pull in the direction a crew would take (forward where both are equal)."""
        if self.pulled is not None:
            return self.forward if self.pulled is Direction.FORWARD else self.reverse
        return self.reverse if self.better == Direction.REVERSE.value else self.forward


@dataclass(frozen=True, slots=True)
class RunAnalysis:
    """One run: its legs both ways, the whole run passed through both ways, checks, verdict."""

    run: Run
    legs: tuple[LegAnalysis, ...]
    through_forward: Pull
    through_reverse: Pull
    features: tuple[Feature, ...]
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Analysis:
    """All runs analyzed under one job.

    Attributes
    ----------
    job : Job
        Everything besides the routes.
    group : ConductorGroup
        How the conductors lie in the raceway.
    runs : tuple of RunAnalysis
        In the order given.
    findings : tuple of Finding
        Those that belong to no run: of the job, the group and the files.
    """

    job: Job
    group: ConductorGroup
    runs: tuple[RunAnalysis, ...]
    findings: tuple[Finding, ...]


def analyze(runs: Sequence[Run], job: Job, findings: Sequence[Finding] = ()) -> Analysis:
    """Return the analysis of runs under a job.

    Parameters
    ----------
    runs : sequence of Run
        Runs as `open_route` reads them.
    job : Job
        Conductors, raceway, pull and limits.
    findings : sequence of Finding, optional
        Findings of the files that belong to no run; passed on.

    Returns
    -------
    Analysis
        Legs both ways, checks and verdicts.

    Raises
    ------
    JobError
        If the conductors cannot lie in the raceway as the job says.
    """
    group = conductor_group(job)
    analyzed = tuple(_analyze_run(run, job, group) for run in runs)
    return Analysis(job, group, analyzed, (*job.findings, *group.findings, *findings))


def better_direction(forward: Pull, reverse: Pull) -> str:
    """Return ``forward``, ``reverse`` or ``equal`` for one leg, by the rule of `better_way`."""
    way = better_way([forward], [reverse])
    return "equal" if way is None else way.value


@cache
def _trade_figures() -> tuple[Mapping[float, TradeFigures], Mapping[float, TradeFigures]]:
    """Return rounded figures of offsets and three-bend saddles by angle, from the catalog."""
    return (
        {angle: TradeFigures(*row) for angle, row in offset_chart().items()},
        {angle: TradeFigures(*row) for angle, row in saddle_chart().items()},
    )


def _analyze_run(run: Run, job: Job, group: ConductorGroup) -> RunAnalysis:
    legs = split_into_legs(run)
    forward = pull_legs(run, legs, job, Direction.FORWARD)
    reverse = pull_legs(run, legs, job, Direction.REVERSE)
    # one leg alone is the whole run: the same pull, not computed twice
    through = (
        (forward[0], reverse[0])
        if len(legs) == 1
        else (
            pull_through(run, job, Direction.FORWARD),
            pull_through(run, job, Direction.REVERSE),
        )
    )
    ways = counted_directions(legs, forward, reverse)
    joined = _joined(legs)
    checks = run_checks(run, legs, forward, reverse, through, job, group)
    offsets, saddles = _trade_figures()
    has_bends = any(not bend.in_fitting for bend in run.bends)
    found = (*run.findings, *_corner_findings(run))
    standing = (*found, *job.findings, *group.findings)
    return RunAnalysis(
        run=run,
        legs=tuple(
            LegAnalysis(
                leg, ahead, back, better_direction(ahead, back), way if index in joined else None
            )
            for index, (leg, ahead, back, way) in enumerate(
                zip(legs, forward, reverse, ways, strict=True)
            )
        ),
        through_forward=through[0],
        through_reverse=through[1],
        features=find_features(
            run.bends, run.centerline, offset_chart=offsets, saddle_chart=saddles
        ),
        checks=checks,
        findings=found,
        verdict=verdict_of(checks, standing, has_bends=has_bends),
    )


def _joined(legs: Sequence[Leg]) -> set[int]:
    """Return the indices of legs pulled in one go with another, through the fitting between."""
    return {
        side
        for index, leg in enumerate(legs[:-1])
        if leg.end.passage is Passage.THROUGH
        for side in (index, index + 1)
    }


def _corner_findings(run: Run) -> tuple[Finding, ...]:
    """Return a note for every turn that conductors make inside a fitting they pass through."""
    return tuple(
        Finding(
            "fitting-corner",
            Severity.NOTE,
            f"Conductors passed through {fitting.name} turn {show_angle(turned)} inside it: the "
            "turn multiplies their tension, and the sidewall pressure on its inside edge is not "
            "checked, since no inside radius is known",
            f"run {run.name}",
        )
        for fitting, turned in run.corners_passed()
    )
