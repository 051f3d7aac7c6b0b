"""What stands beside each leg: margins, the reason for its better end, independent bounds."""

from __future__ import annotations

from dataclasses import dataclass, replace

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.geometry.readings import Bend
from analyzer.job.settings import Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Pull, pressure_between
from analyzer.pulling.sections import whole_section
from analyzer.route.run import Fitting
from analyzer.studies.feeding_reasons import DirectionReason, direction_reason
from analyzer.studies.level_bounds import LevelBounds, level_bounds
from analyzer.studies.margins import Margins, margins_of
from analyzer.studies.ways import Way, bend_tensions_n, way_of_leg

__all__ = ["BendTension", "LegStudy", "leg_reason", "refed_pulls", "study_leg", "through_reason"]


@dataclass(frozen=True, slots=True)
class BendTension:
    """Tension arriving at a bend and leaving it, and sidewall pressure in it, at high friction.

    `braked_sidewall_n_per_m` is that of the conductors held back at low friction. [N] [N/m]
    """

    bend: Bend
    arriving_n: float
    leaving_n: float
    sidewall_n_per_m: float
    braked_sidewall_n_per_m: float


@dataclass(frozen=True, slots=True)
class LegStudy:
    """One leg in one direction.

    Attributes
    ----------
    pull : Pull
        Its figures.
    margins : Margins
        How far it is from its limits.
    bounds : tuple of LevelBounds
        Independent bounds of a level leg at low, expected and high friction; else empty.
    bends : tuple of BendTension
        In order of travel.
    """

    pull: Pull
    margins: Margins
    bounds: tuple[LevelBounds, ...]
    bends: tuple[BendTension, ...]


def study_leg(
    analyzed: RunAnalysis, item: LegAnalysis, direction: Direction, analysis: Analysis
) -> LegStudy:
    """Return what stands beside a leg in one direction.

    Parameters
    ----------
    analyzed : RunAnalysis
        The run.
    item : LegAnalysis
        One of its legs.
    direction : Direction
        Forward feeds at the lower station.
    analysis : Analysis
        What `analyze` returned.
    """
    way = _way(analyzed, item, direction, analysis)
    pull = item.forward if direction is Direction.FORWARD else item.reverse
    (string,) = way.strings([analysis.job.pull.friction.high])
    ordered = item.leg.bends if direction is Direction.FORWARD else reversed(item.leg.bends)
    met = [(bend, bend_tensions_n(string, bend)) for bend in ordered]
    return LegStudy(
        pull=pull,
        margins=margins_of(way, pull, item.leg.bends),
        bounds=level_bounds(way, pull),
        bends=tuple(
            BendTension(
                bend,
                *found,
                pressure_between(pull.high.arcs, bend.station_m, bend.end_station_m),
                pressure_between(pull.braked.arcs, bend.station_m, bend.end_station_m),
            )
            for bend, found in met
            if found is not None
        ),
    )


def leg_reason(analyzed: RunAnalysis, item: LegAnalysis, analysis: Analysis) -> DirectionReason:
    """Return what makes the difference between a leg's better direction and its other one.

    Parameters
    ----------
    analyzed : RunAnalysis
        The run of the leg.
    item : LegAnalysis
        The leg.
    analysis : Analysis
        All that was analyzed with it.
    """
    here = item.best.direction
    there = Direction.REVERSE if here is Direction.FORWARD else Direction.FORWARD
    rise = item.leg.rise_m if here is Direction.FORWARD else -item.leg.rise_m
    return direction_reason(
        _way(analyzed, item, here, analysis),
        item.best,
        _way(analyzed, item, there, analysis),
        item.reverse if here is Direction.FORWARD else item.forward,
        item.leg.bends,
        rise,
    )


def through_reason(analyzed: RunAnalysis, analysis: Analysis) -> DirectionReason:
    """Return the difference of the whole run's directions, passed through; the easier is `pull`."""
    run = analyzed.run
    ahead, back = (
        Way((whole_section(run, direction),), 0, analysis.job, analysis.group, run)
        for direction in (Direction.FORWARD, Direction.REVERSE)
    )
    bends = [bend for bend in run.bends if not bend.in_fitting]
    rise = run.centerline.end_m[2] - run.centerline.start_m[2]
    forward, reverse = analyzed.through_forward, analyzed.through_reverse
    if _load(forward) <= _load(reverse):
        return direction_reason(ahead, forward, back, reverse, bends, rise)
    return direction_reason(back, reverse, ahead, forward, bends, -rise)


def refed_pulls(
    analyzed: RunAnalysis, analysis: Analysis
) -> tuple[tuple[Pull, ...], tuple[Pull, ...]] | None:
    """Return every leg pulled forward and in reverse, fed again at every pull point.

    None where the analysis has it so already: no pull point is passed through.
    """
    run = analyzed.run
    if not any(item.pull_point and item.passage is Passage.THROUGH for item in run.fittings):
        return None
    legs = [item.leg for item in analyzed.legs]
    fed = [replace(leg, start=_refed(leg.start), end=_refed(leg.end)) for leg in legs]
    forward, reverse = (
        pull_legs(run, fed, analysis.job, direction)
        for direction in (Direction.FORWARD, Direction.REVERSE)
    )
    return forward, reverse


def _refed(fitting: Fitting) -> Fitting:
    return replace(fitting, passage=Passage.REFEED)


def _load(pull: Pull) -> tuple[float, float]:
    return (pull.share_of_limit or 0.0, pull.high.exit_tension_n)


def _way(analyzed: RunAnalysis, item: LegAnalysis, direction: Direction, analysis: Analysis) -> Way:
    legs = [leg.leg for leg in analyzed.legs]
    return way_of_leg(analyzed.run, legs, item.leg, direction, analysis.job, analysis.group)
