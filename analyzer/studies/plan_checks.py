"""The checks of a run as the feeding of the plan has them.

A check of the run takes every fitting as the job states it. Where the reels stand nobody passes
through, and each half is pulled one way only: what would happen there otherwise is no problem of
the plan. Values of the legs stay those of the run; the set-ups have their own.
"""

from __future__ import annotations

from dataclasses import replace

from analyzer.analysis import RunAnalysis, analyze
from analyzer.checks.check import Check
from analyzer.checks.sidewall import is_of_corner
from analyzer.checks.unstated_passages import PASSAGE_NOT_STATED
from analyzer.job.settings import Job, Passage
from analyzer.pulling.results import Direction
from analyzer.route.run import Fitting

__all__ = ["checks_as_fed"]


def checks_as_fed(analyzed: RunAnalysis, feed: Fitting, job: Job) -> tuple[Check, ...]:
    """Return the checks of a run whose conductors come off the reels at one of its pull points.

    Those count that are made the way the conductors are pulled.

    Parameters
    ----------
    analyzed : RunAnalysis
        The run with the passages as the job states them.
    feed : Fitting
        Where the reels stand; conductors are pulled outward from there.
    job : Job
        Conductors, friction, limits.
    """
    fed = analyzed
    if feed in analyzed.run.fittings[1:-1]:
        refed = replace(feed, passage=Passage.REFEED, passage_stated=True)
        fittings = tuple(refed if item == feed else item for item in analyzed.run.fittings)
        (fed,) = analyze([replace(analyzed.run, fittings=fittings)], job).runs
    stations = {item.name: item.station_m for item in analyzed.run.fittings}
    ends = {item.leg.name: item.leg.end.station_m for item in analyzed.legs}

    def is_pulled(check: Check, end_m: float) -> bool:
        way = Direction.FORWARD if end_m > feed.station_m else Direction.REVERSE
        return check.direction in (None, way.value)

    passing = [check for check in fed.checks if _is_of_passage(check)]
    others = [check for check in analyzed.checks if not _is_of_passage(check)]
    return (
        *(c for c in passing if is_of_corner(c) or is_pulled(c, stations[c.fittings[0]])),
        *(replace(c, counts=is_pulled(c, ends[c.leg])) if c.leg is not None else c for c in others),
    )


def _is_of_passage(check: Check) -> bool:
    return is_of_corner(check) or check.source == PASSAGE_NOT_STATED
