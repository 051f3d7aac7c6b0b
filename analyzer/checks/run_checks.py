"""All checks of a run, and its verdict.

Each family is one module with one function of the same shape: a `Situation` in, checks out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from analyzer.checks.bend_radius import check_bend_radii
from analyzer.checks.bend_total import check_bend_totals
from analyzer.checks.check import Check
from analyzer.checks.clearance import check_clearance
from analyzer.checks.conductor_support import check_conductor_supports
from analyzer.checks.directions import counted_directions
from analyzer.checks.fill import check_fill
from analyzer.checks.jam import check_jam
from analyzer.checks.joints import check_joints
from analyzer.checks.leg_length import check_leg_lengths
from analyzer.checks.sidewall import check_sidewalls
from analyzer.checks.situation import Situation
from analyzer.checks.tension import check_tensions
from analyzer.checks.unstated_passages import check_unstated_passages
from analyzer.findings import Finding, Severity, Verdict
from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import Pull
from analyzer.route.legs import Leg
from analyzer.route.run import Run

__all__ = ["CHECK_FAMILIES", "count_not_checked", "needed_not_made", "run_checks", "verdict_of"]

CHECK_FAMILIES: tuple[Callable[[Situation], tuple[Check, ...]], ...] = (
    check_bend_totals,
    check_leg_lengths,
    check_bend_radii,
    check_tensions,
    check_sidewalls,
    check_joints,
    check_unstated_passages,
    check_fill,
    check_jam,
    check_clearance,
    check_conductor_supports,
)
"""Every check family, in the order people read them."""

_NEEDED = ("conductor-tension", "sidewall")
"""Codes of the checks without which there is no verdict, sidewall where conductors press."""


def run_checks(
    run: Run,
    legs: Sequence[Leg],
    forward: Sequence[Pull],
    reverse: Sequence[Pull],
    through: tuple[Pull, Pull],
    job: Job,
    group: ConductorGroup,
) -> tuple[Check, ...]:
    """Return all checks of a run.

    Checks that depend on direction are made in both, each with its literal verdict. Only those of
    the direction a leg is better pulled in count for the run's verdict (forward where both are
    equal), because it will be pulled that way; legs joined by a fitting passed through share one
    direction. In the others `counts` is False, and a failing one says to pull the other way.

    Parameters
    ----------
    run : Run
        The run.
    legs : sequence of Leg
        Its legs in order of station.
    forward, reverse : sequence of Pull
        Each leg pulled both ways, in the order of `legs`.
    through : (Pull, Pull)
        The whole run without refeeding, forward and reverse.
    job : Job
        Conductors, raceway, limits.
    group : ConductorGroup
        How the conductors lie.
    """
    situation = Situation(run, tuple(legs), tuple(forward), tuple(reverse), through, job, group)
    checks = [check for family in CHECK_FAMILIES for check in family(situation)]
    ways = dict(
        zip(
            (leg.name for leg in legs),
            (way.value for way in counted_directions(legs, forward, reverse)),
            strict=True,
        )
    )
    return tuple(
        replace(check, counts=False)
        if check.leg is not None
        and check.direction is not None
        and check.direction != ways[check.leg]
        else check
        for check in checks
    )


def verdict_of(checks: Sequence[Check], findings: Sequence[Finding], has_bends: bool) -> Verdict:
    """Return the verdict of a run.

    Fail where a check that counts fails or a finding is an error; else not checked where the
    conductor tension was not checked, or the sidewall pressure in a bend of the run or at a corner
    inside a fitting passed through; else caution where a check that counts or a finding cautions;
    else pass. Other checks not made never change the verdict: `count_not_checked` stands beside it.

    Parameters
    ----------
    checks : sequence of Check
        As `run_checks` returns them.
    findings : sequence of Finding
        All that stand on the run, those of its job included.
    has_bends : bool
        Whether the run has bends outside fittings.
    """
    counted = [check for check in checks if check.counts]
    severities = {finding.severity for finding in findings}
    verdicts = {check.verdict for check in counted}
    if Verdict.FAIL in verdicts or Severity.ERROR in severities:
        return Verdict.FAIL
    made = {check.code for check in counted if check.leg is not None}
    needed = _NEEDED if has_bends else _NEEDED[:1]
    if needed_not_made(counted) or not made.issuperset(needed):
        return Verdict.NOT_CHECKED
    if Verdict.CAUTION in verdicts or Severity.CAUTION in severities:
        return Verdict.CAUTION
    return Verdict.PASS


def count_not_checked(checks: Sequence[Check]) -> int:
    """Return how many checks were not made."""
    return sum(check.verdict is Verdict.NOT_CHECKED for check in checks)


def needed_not_made(checks: Sequence[Check]) -> tuple[Check, ...]:
    """Return the checks not made that leave a run without a verdict, unless something fails.

    Those that count of the conductor tension and of the sidewall pressure. Where the pressure is
    not known in one place, at a corner inside a fitting passed through, the rest of the run says
    nothing of it.
    """
    return tuple(
        check
        for check in checks
        if check.counts and check.code in _NEEDED and check.verdict is Verdict.NOT_CHECKED
    )
