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
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.errors import JobError
from analyzer.geometry.centerline import CORNER_TOLERANCE_RAD, Centerline, angle_between
from analyzer.geometry.segments import Floats
from analyzer.job.settings import Job, Passage
from analyzer.pulling.groups import ConductorGroup, conductor_group
from analyzer.pulling.limits import shares
from analyzer.pulling.results import BrakedState, Direction, Profile, Pull, PullFigures
from analyzer.pulling.string_model import (
    ArcPiece,
    CornerPiece,
    Piece,
    StraightPiece,
    StringPull,
    pieces_between,
    pull_string,
    reversed_pieces,
    split_piece,
)
from analyzer.route.legs import Leg
from analyzer.route.run import Fitting, Run

__all__ = ["piece_frictions", "pull_legs", "pull_through"]

_SAME_PLACE_M = 1e-6


@dataclass(frozen=True, slots=True)
class _Section:
    """What one Pull is made of: the stretch between two pull points, in the pull's direction."""

    feed: Fitting
    pull: Fitting
    corner: tuple[CornerPiece, ...]  # at the feed, passed through before the first piece
    pieces: tuple[Piece, ...]
    starts_anew: bool


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
    ordered = legs if direction is Direction.FORWARD else tuple(reversed(legs))
    sections = []
    for number, leg in enumerate(ordered):
        feed, pull = leg.start, leg.end
        if direction is Direction.REVERSE:
            feed, pull = pull, feed
        anew = number == 0 or feed.passage is Passage.REFEED
        sections.append(_section(run.centerline, feed, pull, direction, anew))
    pulls = _pull_sections(sections, job, direction)
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
    feed, pull = run.fittings[0], run.fittings[-1]
    if direction is Direction.REVERSE:
        feed, pull = pull, feed
    section = _section(run.centerline, feed, pull, direction, True)
    return _pull_sections([section], job, direction)[0]


def piece_frictions(
    pieces: Sequence[Piece],
    frictions: Sequence[float],
    group: ConductorGroup,
    *,
    weight_factor_in_bends: bool,
    dry: Sequence[bool] | None = None,
    dry_friction: float | None = None,
) -> Floats:
    """Return the effective friction k of every piece.

    Parameters
    ----------
    pieces : sequence of Piece
        n pieces.
    frictions : sequence of float
        m frictions.
    group : ConductorGroup
        For its weight factor.
    weight_factor_in_bends : bool
        False: plain friction in arcs and corners.
    dry : sequence of bool, optional
        Which pieces lie beyond the reach of the lubricant: there the larger of `dry_friction`
        and the friction counts.
    dry_friction : float, optional
        Friction without lubricant.

    Returns
    -------
    (n, m) float
        Friction times weight factor.
    """
    plain = np.asarray(frictions, dtype=float)
    k = np.empty((len(pieces), plain.size))
    for index, piece in enumerate(pieces):
        has_factor = weight_factor_in_bends or isinstance(piece, StraightPiece)
        used = plain
        if dry is not None and dry[index] and dry_friction is not None:
            used = np.maximum(plain, dry_friction)
        k[index] = used * (group.weight_factor if has_factor else 1.0)
    return k


def _section(
    centerline: Centerline, feed: Fitting, pull: Fitting, direction: Direction, anew: bool
) -> _Section:
    low, high = sorted((feed.station_m, pull.station_m))
    pieces = pieces_between(centerline, low, high)
    if direction is Direction.REVERSE:
        pieces = reversed_pieces(pieces)
    corner = () if anew else _corner_at(centerline, feed.station_m)
    return _Section(feed, pull, corner, pieces, anew)


def _corner_at(centerline: Centerline, station_m: float) -> tuple[CornerPiece, ...]:
    stations = centerline.stations_m
    for index in range(1, len(centerline.segments)):
        if abs(stations[index] - station_m) <= _SAME_PLACE_M:
            before, after = centerline.segments[index - 1], centerline.segments[index]
            angle = angle_between(before.end_tangent, after.start_tangent)
            if angle > CORNER_TOLERANCE_RAD:
                return (CornerPiece(station_m, angle),)
    return ()


def _pull_sections(
    sections: Sequence[_Section], job: Job, direction: Direction
) -> tuple[Pull, ...]:
    group = conductor_group(job)
    braked = _brake_sections(sections, job, group)
    weight = job.pulling_weight_n_per_m
    band = job.pull.friction
    frictions = (band.low, band.expected, band.high)
    carried, gone = np.zeros(3), 0.0
    pulls = []
    for section, held in zip(sections, braked, strict=True):
        if section.starts_anew:
            own = section.feed.feed_tension_n
            carried = np.full(3, job.pull.feed_tension_n if own is None else own)
            gone = 0.0
        corner, pieces = section.corner, section.pieces
        cut, dry = _split_at_reach((*corner, *pieces), gone, job)
        k = piece_frictions(
            cut,
            frictions,
            group,
            weight_factor_in_bends=job.pull.weight_factor_in_bends,
            dry=dry,
            dry_friction=job.pull.dry_friction,
        )
        behind = pull_string(cut[: len(corner)], weight, k[: len(corner)], carried)
        feed = np.array([item.exit_tension_n for item in behind])
        solved = pull_string(cut[len(corner) :], weight, k[len(corner) :], feed)
        carried = np.array([item.exit_tension_n for item in solved])
        gone += abs(section.pull.station_m - section.feed.station_m)
        pulls.append(_pull(section, solved, frictions, held, job, group, direction))
    return tuple(pulls)


def _pull(
    section: _Section,
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
    solved: StringPull, friction: float, section: _Section, sidewall_factor: float
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
    )


def _profile(solved: StringPull, section: _Section, sidewall_factor: float) -> Profile:
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


def _brake_sections(
    sections: Sequence[_Section], job: Job, group: ConductorGroup
) -> tuple[BrakedState, ...]:
    """Braked state of every section, from the last head position of each refeed backwards."""
    friction = -job.pull.friction.low
    weight = job.pulling_weight_n_per_m
    states: list[BrakedState] = []
    tension = 0.0
    for section in reversed(sections):
        (held,) = pull_string(reversed_pieces(section.pieces), weight, [friction], tension)
        (behind,) = pull_string(section.corner, weight, [friction], held.exit_tension_n)
        tension = 0.0 if section.starts_anew else behind.exit_tension_n
        greatest, station = held.greatest(prefer_last=True)
        bearing = held.greatest_bearing(prefer_last=True)
        states.append(
            BrakedState(
                hold_back_n=held.exit_tension_n,
                max_tension_n=greatest,
                max_tension_station_m=station if held.pieces else section.feed.station_m,
                max_sidewall_n_per_m=0.0 if bearing is None else group.sidewall.factor * bearing[0],
                max_sidewall_station_m=None if bearing is None else bearing[1],
            )
        )
    return tuple(reversed(states))


def _split_at_reach(
    pieces: Sequence[Piece], gone_m: float, job: Job
) -> tuple[tuple[Piece, ...], tuple[bool, ...]]:
    """Pieces cut where the lubricant ends, and which of them lie beyond it."""
    reach = job.pull.lubricant_reach_m
    if reach is None:
        return tuple(pieces), (False,) * len(pieces)
    if job.pull.dry_friction is None:
        raise JobError(
            "lubricant_reach needs dry_friction beside it: the friction beyond the reach"
        )
    if not pieces:
        return (), ()
    left = reach - gone_m
    first = pieces[0].station_m
    sign = 1.0 if pieces[-1].end_station_m >= first else -1.0
    end = first + sign * left
    cut = [part for piece in pieces for part in split_piece(piece, end)]
    dry = []
    for piece in cut:
        middle = 0.5 * (piece.station_m + piece.end_station_m)
        away = sign * (middle - first)
        is_bend = isinstance(piece, ArcPiece | StraightPiece)
        dry.append(away > left if is_bend else away > left + _SAME_PLACE_M)
    return tuple(cut), tuple(dry)
