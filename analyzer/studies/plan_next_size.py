"""One trade size up: what it does to fill, clearance, jam ratio and tension.

The route stays as drawn, bend radii included.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyzer.catalog.fill import fill_percent
from analyzer.catalog.raceways import Raceway, find_raceway, trade_sizes
from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup, conductor_group
from analyzer.route.run import Run
from analyzer.studies.feeding import SetUp, set_up_between

__all__ = ["NextSize", "SizeFigures", "plan_next_size"]


@dataclass(frozen=True, slots=True)
class SizeFigures:
    """One raceway with the conductors of the job.

    Attributes
    ----------
    raceway : Raceway
        Type and trade size.
    fill_percent : float
        Conductors pulled and existing.
    group : ConductorGroup
        How the conductors lie: weight factor, jam ratio, clearance.
    tension_n : float
        Greatest tension of the same set-ups at high friction. [N]
    """

    raceway: Raceway
    fill_percent: float
    group: ConductorGroup
    tension_n: float


@dataclass(frozen=True, slots=True)
class NextSize:
    """The raceway of the job beside the next trade size of its type."""

    now: SizeFigures
    larger: SizeFigures


def plan_next_size(run: Run, job: Job, set_ups: Sequence[SetUp]) -> NextSize | None:
    """Return the next trade size beside the one of the job; None where there is none larger.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    job : Job
        Conductors, frictions and limits.
    set_ups : sequence of SetUp
        Those of the plan, pulled again in the larger size.
    """
    if job.raceway is None:
        return None
    sizes = trade_sizes(job.raceway.type)
    if job.raceway.trade_size not in sizes:
        return None
    after = sizes.index(job.raceway.trade_size) + 1
    if after >= len(sizes):
        return None
    larger = replace(job, raceway=find_raceway(job.raceway.type, sizes[after]))
    if job.pull.arrangement is not None:
        larger = replace(larger, pull=replace(larger.pull, arrangement=None))
    return NextSize(_figures(run, job, set_ups), _figures(run, larger, set_ups))


def _figures(run: Run, job: Job, set_ups: Sequence[SetUp]) -> SizeFigures:
    assert job.raceway is not None
    lines = (*job.conductors, *job.existing)
    area = sum(line.count * line.conductor.area_in2 for line in lines)
    tension = max(
        set_up_between(run, job, item.feed, item.pull_to).greatest_tension_n for item in set_ups
    )
    return SizeFigures(job.raceway, fill_percent(job.raceway, area), conductor_group(job), tension)
