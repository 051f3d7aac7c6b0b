"""One leg, or a whole run, pulled in one direction: figures, profile, braked state, shares.

Tension carries on through fittings passed through and starts anew at every refeed. A leg's exit
tension is taken at its last point, before a corner in the fitting there; passed through, that
corner multiplies it by e^(k a) before the next leg's feed tension is read, so the next leg
starts behind the corner. Refed, a corner at a pull point does nothing.

The braked state is (1) of the string model gone backwards from a head without pull. Where the
tension is kept from falling below zero, solutions of (1) do not cross, so starting from the
farthest head gives at every place the greatest over all head positions: a nearer head starts at
zero where the farther one's solution is zero or more. One backward pass over the stretch from
refeed to refeed gives hold-back and the greatest tension everywhere.

Where the job has friction fall with sidewall pressure, the pulled state takes in every place of a
bend the friction of the pressure there (see `pressed_arc`); straights and corners keep the
ordinary one, and so does what lies beyond the reach of the lubricant. The braked state takes the
smaller friction in all bends and corners: less friction holds less, so that is the safe side.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup, conductor_group
from analyzer.pulling.limits import shares
from analyzer.pulling.results import (
    ArcLoad,
    Brake,
    BrakedState,
    Direction,
    Profile,
    Pull,
    PullFigures,
)
from analyzer.pulling.sections import (
    Section,
    held_sections,
    leg_sections,
    pulled_sections,
    whole_section,
)
from analyzer.pulling.string_model import StringPull
from analyzer.route.legs import Leg
from analyzer.route.run import Run

__all__ = ["pull_legs", "pull_through"]


def pull_legs(run: Run, legs: Sequence[Leg], job: Job, direction: Direction) -> tuple[Pull, ...]:
    """Pull the conductors through every leg, as the passages of its fittings say.

    Parameters
    ----------
    run : Run
        The run.
    legs : sequence of Leg
        Its legs in order of station.
    job : Job
        Conductors, friction, limits.
    direction : Direction
        Forward feeds at the lower station.

    Returns
    -------
    tuple of Pull
        One for each leg, in the order of `legs` whatever the direction.

    Raises
    ------
    JobError
        If the conductors cannot lie in the raceway as the job says, or the lubricant reach is
        given without the dry friction.
    """
    pulls = _pull_sections(leg_sections(run, legs, direction), job, direction)
    return pulls if direction is Direction.FORWARD else tuple(reversed(pulls))


def pull_through(run: Run, job: Job, direction: Direction) -> Pull:
    """Pull the conductors through the whole run with no refeeding on the way.

    Parameters
    ----------
    run : Run
        The run.
    job : Job
        Conductors, friction, limits.
    direction : Direction
        Forward feeds at the run's first point.

    Raises
    ------
    JobError
        As `pull_legs`.
    """
    return _pull_sections([whole_section(run, direction)], job, direction)[0]


def _pull_sections(sections: Sequence[Section], job: Job, direction: Direction) -> tuple[Pull, ...]:
    group = conductor_group(job)
    band = job.pull.friction
    frictions = (band.low, band.expected, band.high)
    braked: list[BrakedState] = []
    brake = None
    for section, held in zip(sections, held_sections(sections, job), strict=True):
        carried = None if section.starts_anew else brake
        braked.append(_braked(section, held, group.sidewall.factor, carried))
        brake = carried or Brake(section.feed.name, held.exit_tension_n)
    strings = pulled_sections(sections, job, group, frictions)
    return tuple(
        _pull(section, solved, frictions, held, job, group, direction)
        for section, solved, held in zip(sections, strings, braked, strict=True)
    )


def _pull(
    section: Section,
    solved: Sequence[StringPull],
    frictions: Sequence[float],
    braked: BrakedState,
    job: Job,
    group: ConductorGroup,
    direction: Direction,
) -> Pull:
    low, expected, high = (
        _figures(item, friction, section, group.sidewall.factor)
        for item, friction in zip(solved, frictions, strict=True)
    )
    middle = solved[1]
    return Pull(
        direction=direction,
        feed_at=section.feed.name,
        pull_at=section.pull.name,
        feed_tension_n=middle.feed_tension_n,
        low=low,
        expected=expected,
        high=high,
        sidewall_rule=group.sidewall.name,
        slack=middle.slack(),
        braked=braked,
        shares=shares(job, group, high, braked),
        profile=_profile(middle, section, group.sidewall.factor),
    )


def _figures(
    solved: StringPull, friction: float, section: Section, sidewall_factor: float
) -> PullFigures:
    tension, station = solved.greatest()
    bearing = solved.greatest_bearing()
    return PullFigures(
        friction=friction,
        exit_tension_n=solved.exit_tension_n,
        max_tension_n=tension,
        max_tension_station_m=station if solved.pieces else section.feed.station_m,
        max_sidewall_n_per_m=0.0 if bearing is None else sidewall_factor * bearing[0],
        max_sidewall_station_m=None if bearing is None else bearing[1],
        arcs=_arcs(solved, sidewall_factor),
    )


def _profile(solved: StringPull, section: Section, sidewall_factor: float) -> Profile:
    points = solved.profile()
    if not points:
        return Profile((section.feed.station_m,), (solved.feed_tension_n,), (0.0,))
    return Profile(
        tuple(point.station_m for point in points),
        tuple(point.tension_n for point in points),
        tuple(
            0.0 if point.radius_m is None else sidewall_factor * point.tension_n / point.radius_m
            for point in points
        ),
    )


def _braked(
    section: Section, held: StringPull, sidewall_factor: float, carried: Brake | None
) -> BrakedState:
    greatest, station = held.greatest(prefer_last=True)
    bearing = held.greatest_bearing(prefer_last=True)
    return BrakedState(
        hold_back_n=held.exit_tension_n,
        max_tension_n=greatest,
        max_tension_station_m=station if held.pieces else section.feed.station_m,
        max_sidewall_n_per_m=0.0 if bearing is None else sidewall_factor * bearing[0],
        max_sidewall_station_m=None if bearing is None else bearing[1],
        arcs=_arcs(held, sidewall_factor),
        carried_from=carried,
    )


def _arcs(string: StringPull, sidewall_factor: float) -> tuple[ArcLoad, ...]:
    return tuple(
        ArcLoad(
            arc.middle_m,
            arc.station_m,
            arc.tension_n,
            sidewall_factor * arc.tension_n / arc.radius_m,
        )
        for arc in string.arc_tensions()
    )
