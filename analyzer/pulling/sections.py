"""Sections of a pull: stretches between pull points as the string meets them, and their strings.

A section begins behind the corner in the fitting at its feed: passed through, that corner
multiplies the tension before the section's own first piece; refed, it does nothing. Tension and
the reach of the lubricant carry on from section to section until one starts anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.errors import JobError
from analyzer.geometry.centerline import CORNER_TOLERANCE_RAD, Centerline, angle_between
from analyzer.geometry.segments import Floats
from analyzer.job.settings import Job, Passage
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.results import Direction
from analyzer.pulling.string_model import (
    ArcPiece,
    CornerPiece,
    Piece,
    PressedFriction,
    StraightPiece,
    StringPull,
    pieces_between,
    pull_string,
    reversed_pieces,
    split_piece,
)
from analyzer.route.legs import Leg
from analyzer.route.run import SAME_PLACE_M, Fitting, Run

__all__ = [
    "Section",
    "friction_along",
    "held_sections",
    "least_frictions",
    "leg_sections",
    "piece_frictions",
    "pull_pieces",
    "pulled_sections",
    "whole_section",
]


@dataclass(frozen=True, slots=True)
class Section:
    """The stretch between two pull points, in the direction of the pull.

    Attributes
    ----------
    feed, pull : Fitting
        Where it begins and ends.
    corner : tuple of CornerPiece
        The corner in the fitting at its feed, passed through before the first piece.
    pieces : tuple of Piece
        What the string meets.
    starts_anew : bool
        Whether the conductors are fed here: the run's end, or a refeed.
    """

    feed: Fitting
    pull: Fitting
    corner: tuple[CornerPiece, ...]
    pieces: tuple[Piece, ...]
    starts_anew: bool

    @property
    def length_m(self) -> float:
        """Its length. [m]"""
        return abs(self.pull.station_m - self.feed.station_m)


def leg_sections(run: Run, legs: Sequence[Leg], direction: Direction) -> tuple[Section, ...]:
    """Return the sections of legs given in order of station, in order of the pull.

    The first one starts anew; another where its feed is a refeed.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    legs : sequence of Leg
        Its legs, in order of station.
    direction : Direction
        Forward feeds at the lower station.
    """
    ordered = legs if direction is Direction.FORWARD else tuple(reversed(legs))
    sections = []
    for number, leg in enumerate(ordered):
        feed, pull = leg.start, leg.end
        if direction is Direction.REVERSE:
            feed, pull = pull, feed
        anew = number == 0 or feed.passage is Passage.REFEED
        sections.append(_section(run.centerline, feed, pull, direction, anew))
    return tuple(sections)


def whole_section(run: Run, direction: Direction) -> Section:
    """Return the whole run as one section, no refeeding on the way."""
    feed, pull = run.fittings[0], run.fittings[-1]
    if direction is Direction.REVERSE:
        feed, pull = pull, feed
    return _section(run.centerline, feed, pull, direction, True)


def pulled_sections(
    sections: Sequence[Section], job: Job, group: ConductorGroup, frictions: Sequence[float]
) -> Iterable[tuple[StringPull, ...]]:
    """Yield the strings of each section in order, one for each friction.

    Parameters
    ----------
    sections : sequence of Section
        In order of the pull.
    job, group : Job, ConductorGroup
        Weight, feed tension and how friction changes along the way.
    frictions : sequence of float
        Frictions without weight factor.

    Raises
    ------
    JobError
        If the lubricant reach is given without the dry friction.
    """
    count = len(frictions)
    weight = job.pulling_weight_n_per_m
    carried, gone = np.zeros(count), 0.0
    for section in sections:
        if section.starts_anew:
            own = section.feed.feed_tension_n
            carried = np.full(count, job.pull.feed_tension_n if own is None else own)
            gone = 0.0
        if section.corner:
            dry = _dry(section.corner, gone, job)
            k = _k(section.corner, frictions, group, job, dry)
            behind = pull_string(section.corner, weight, k, carried)
            carried = np.array([item.exit_tension_n for item in behind])
        strings = pull_pieces(section.pieces, job, group, frictions, carried, gone)
        yield strings
        carried = np.array([item.exit_tension_n for item in strings])
        gone += section.length_m


def pull_pieces(
    pieces: Sequence[Piece],
    job: Job,
    group: ConductorGroup,
    frictions: Sequence[float],
    feed_n: Floats,
    gone_m: float,
) -> tuple[StringPull, ...]:
    """Return the strings through pieces, one for each friction.

    Parameters
    ----------
    pieces : sequence of Piece
        In order of the pull.
    job, group : Job, ConductorGroup
        As for `pulled_sections`.
    frictions : sequence of float
        n frictions without weight factor.
    feed_n : (n,) float
        Tension at the first piece for each. [N]
    gone_m : float
        Way since the conductors were fed: the lubricant has come that far. [m]
    """
    cut, k, dry = friction_along(pieces, job, group, frictions, gone_m)
    pressed = None
    setting = job.pull.friction_by_sidewall
    if setting is not None and group.sidewall.factor > 0.0:
        lower = np.where(np.array(dry, dtype=bool)[:, None], k, k * setting.part)
        pressed = PressedFriction(lower, setting.above_n_per_m / group.sidewall.factor)
    return pull_string(cut, job.pulling_weight_n_per_m, k, feed_n, pressed=pressed)


def friction_along(
    pieces: Sequence[Piece],
    job: Job,
    group: ConductorGroup,
    frictions: Sequence[float],
    gone_m: float,
) -> tuple[tuple[Piece, ...], Floats, tuple[bool, ...]]:
    """Return the effective friction along pieces, which are cut where the lubricant ends.

    What falls in hard pressing bends is not in it.

    Parameters
    ----------
    pieces : sequence of Piece
        In order of the pull.
    job, group : Job, ConductorGroup
        As for `pulled_sections`.
    frictions : sequence of float
        n frictions without weight factor.
    gone_m : float
        Way since the conductors were fed: the lubricant has come that far. [m]

    Returns
    -------
    pieces : tuple of Piece
        m pieces, cut.
    k : (m, n) float
        Friction times weight factor of each, for each friction.
    dry : tuple of bool
        Which of them lie beyond the reach of the lubricant.

    Raises
    ------
    JobError
        If the lubricant reach is given without the dry friction.
    """
    cut = _cut_at_reach(pieces, gone_m, job)
    dry = _dry(cut, gone_m, job)
    return cut, _k(cut, frictions, group, job, dry), dry


def held_sections(sections: Sequence[Section], job: Job) -> tuple[StringPull, ...]:
    """Return the string of each section held back by a brake, going back from the last head.

    Each runs over the reversed pieces; its exit is the force at the section's own feed.
    """
    weight = job.pulling_weight_n_per_m
    strings: list[StringPull] = []
    tension = 0.0
    for section in reversed(sections):
        (held,) = pull_string(*_held_back(reversed_pieces(section.pieces), weight, job), tension)
        strings.append(held)
        (behind,) = pull_string(*_held_back(section.corner, weight, job), held.exit_tension_n)
        tension = 0.0 if section.starts_anew else behind.exit_tension_n
    return tuple(reversed(strings))


def piece_frictions(
    pieces: Sequence[Piece],
    frictions: Sequence[float],
    group: ConductorGroup,
    *,
    weight_factor_in_bends: bool,
    dry: Sequence[bool] | None,
    dry_friction: float | None,
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
    dry : sequence of bool or None
        Which pieces lie beyond the reach of the lubricant: there the larger of `dry_friction`
        and the friction counts.
    dry_friction : float or None
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


def least_frictions(pieces: Sequence[Piece], job: Job) -> tuple[float, ...]:
    """Return the least friction of every piece: low, without weight factor or dry friction.

    In bends and corners it is reduced as the job says for hard pressing bends, whatever presses.
    """
    low, pressed = job.pull.friction.low, job.pull.friction_by_sidewall
    part = 1.0 if pressed is None else pressed.part
    return tuple(low if isinstance(piece, StraightPiece) else low * part for piece in pieces)


def _section(
    centerline: Centerline, feed: Fitting, pull: Fitting, direction: Direction, anew: bool
) -> Section:
    low, high = sorted((feed.station_m, pull.station_m))
    pieces = pieces_between(centerline, low, high)
    if direction is Direction.REVERSE:
        pieces = reversed_pieces(pieces)
    corner = () if anew else _corner_at(centerline, feed.station_m)
    return Section(feed, pull, corner, pieces, anew)


def _corner_at(centerline: Centerline, station_m: float) -> tuple[CornerPiece, ...]:
    stations = centerline.stations_m
    for index in range(1, len(centerline.segments)):
        if abs(stations[index] - station_m) <= SAME_PLACE_M:
            before, after = centerline.segments[index - 1], centerline.segments[index]
            angle = angle_between(before.end_tangent, after.start_tangent)
            if angle > CORNER_TOLERANCE_RAD:
                return (CornerPiece(station_m, angle),)
    return ()


def _k(
    pieces: Sequence[Piece],
    frictions: Sequence[float],
    group: ConductorGroup,
    job: Job,
    dry: Sequence[bool],
) -> Floats:
    return piece_frictions(
        pieces,
        frictions,
        group,
        weight_factor_in_bends=job.pull.weight_factor_in_bends,
        dry=dry,
        dry_friction=job.pull.dry_friction,
    )


def _held_back(
    pieces: Sequence[Piece], weight: float, job: Job
) -> tuple[Sequence[Piece], float, Floats]:
    """Pieces on the way back from the head, weight, and friction, which helps the brake."""
    k = -np.array(least_frictions(pieces, job), dtype=float).reshape(-1, 1)
    return pieces, weight, k


def _end_of_lubricant(pieces: Sequence[Piece], gone_m: float, job: Job) -> tuple[float, float]:
    """Station where the lubricant ends, and the sign of the way there."""
    reach = job.pull.lubricant_reach_m or 0.0
    first = pieces[0].station_m
    sign = 1.0 if pieces[-1].end_station_m >= first else -1.0
    return first + sign * (reach - gone_m), sign


def _cut_at_reach(pieces: Sequence[Piece], gone_m: float, job: Job) -> tuple[Piece, ...]:
    """Pieces cut where the lubricant ends."""
    if job.pull.lubricant_reach_m is None or not pieces:
        return tuple(pieces)
    end, _ = _end_of_lubricant(pieces, gone_m, job)
    return tuple(part for piece in pieces for part in split_piece(piece, end))


def _dry(pieces: Sequence[Piece], gone_m: float, job: Job) -> tuple[bool, ...]:
    """Which pieces, cut where the lubricant ends, lie beyond it."""
    if job.pull.lubricant_reach_m is None:
        return (False,) * len(pieces)
    if job.pull.dry_friction is None:
        raise JobError(
            "lubricant_reach needs dry_friction beside it: the friction beyond the reach"
        )
    if not pieces:
        return ()
    end, sign = _end_of_lubricant(pieces, gone_m, job)
    dry = []
    for piece in pieces:
        away = sign * (0.5 * (piece.station_m + piece.end_station_m) - end)
        has_length = isinstance(piece, ArcPiece | StraightPiece)
        dry.append(away > (0.0 if has_length else SAME_PLACE_M))
    return tuple(dry)
