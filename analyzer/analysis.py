"""The one public door: analyse runs under a job.

An `Analysis` carries its inputs: everything downstream needs nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.checks.check import Check
from analyzer.findings import Finding, Verdict
from analyzer.geometry.features import Feature
from analyzer.job.settings import Job
from analyzer.pulling.results import Pull
from analyzer.route.legs import Leg
from analyzer.route.run import Run

__all__ = ["Analysis", "LegAnalysis", "RunAnalysis"]


@dataclass(frozen=True, slots=True)
class LegAnalysis:
    """One leg pulled both ways; `better` is ``forward``, ``reverse`` or ``equal``."""

    leg: Leg
    forward: Pull
    reverse: Pull
    better: str


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
    """All runs analysed under one job; `findings` are those that belong to no run."""

    job: Job
    runs: tuple[RunAnalysis, ...]
    findings: tuple[Finding, ...]
