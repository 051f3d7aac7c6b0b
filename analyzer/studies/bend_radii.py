"""The smallest radius of one bend within the sidewall limit, pulled and held back.

The bend is redrawn at its corner (see `redrawn_bends`), and pulled again together with the
straights beside it: the tension that arrives there stays, and so does what is held back behind.
Beyond them the tension changes by no more than the weight of the length gained or lost does.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import exp, log

import numpy as np

from analyzer.geometry.readings import Bend
from analyzer.pulling.limits import sidewall_limit
from analyzer.pulling.sections import held_sections, least_frictions, pull_pieces, pulled_sections
from analyzer.pulling.sign_change import root_between
from analyzer.pulling.string_model import (
    CornerPiece,
    Piece,
    StringPull,
    pieces_between,
    pull_string,
    reversed_pieces,
    split_piece,
)
from analyzer.route.run import SAME_PLACE_M
from analyzer.studies.redrawn_bends import RedrawnBend, bend_to_redraw
from analyzer.studies.ways import Way

__all__ = ["BendRadii", "BendRadius"]

_FACTORS = (1e-3, 1e3)
_NOTHING = 1e-300


@dataclass(frozen=True, slots=True)
class BendRadius:
    """What radius a bend needs, and what radius it can have.

    Attributes
    ----------
    smallest_m : float or None
        Smallest radius within the sidewall limit. None where nothing presses there, or no radius
        from a thousandth of the drawn one to `largest_m` passes. [m]
    largest_m : float or None
        Largest radius that fits at its corner, between its neighbors; None without a corner. [m]
    keeps_straights : bool
        Whether it has no corner, so that the straights beside it count as long as drawn.
    """

    smallest_m: float | None = None
    largest_m: float | None = None
    keeps_straights: bool = False


@dataclass(frozen=True)
class BendRadii:
    """The radii of the bends on a way: its strings are pulled once for all of them."""

    way: Way

    def of(self, bend: Bend) -> BendRadius:
        """Return the smallest radius of a bend of the way within the sidewall limit."""
        limit = sidewall_limit(self.way.job).limit
        drawn = bend_to_redraw(self.way.run, bend)
        factor = self.way.group.sidewall.factor
        if limit is None or drawn is None or bend.radius_m is None or factor <= 0.0:
            return BendRadius()
        part = self._part(drawn, bend)
        if part is None:
            return BendRadius()
        found = _least_factor(drawn, lambda scale: part.bearing(scale) * factor / limit)
        largest = drawn.largest_factor
        return BendRadius(
            None if found is None else found * bend.radius_m,
            None if largest is None else largest * bend.radius_m,
            not drawn.has_corner,
        )

    @cached_property
    def _pulled(self) -> tuple[StringPull, ...]:
        """Strings at high friction of the sections up to the one meant."""
        way = self.way
        ahead = way.sections[: way.number + 1]
        high = [way.job.pull.friction.high]
        return tuple(string for (string,) in pulled_sections(ahead, way.job, way.group, high))

    @cached_property
    def _held(self) -> tuple[StringPull, ...]:
        return held_sections(self.way.sections, self.way.job)

    def _part(self, drawn: RedrawnBend, bend: Bend) -> _Part | None:
        """Return the part of the way that a bend changes; None where it lies elsewhere."""
        way = self.way
        ends = [s.station_m for item in way.sections for s in (item.feed, item.pull)]
        from_m, to_m = max(drawn.from_m, min(ends)), min(drawn.to_m, max(ends))
        forward = way.section.pull.station_m > way.section.feed.station_m
        first, last = (from_m, to_m) if forward else (to_m, from_m)
        arriving = _tension(self._pulled[::-1], first)
        behind = _tension(self._held[way.number :], last)
        if to_m - from_m <= SAME_PLACE_M or arriving is None or behind is None:
            return None
        gone = way.gone_m + (first - way.section.feed.station_m) * (1.0 if forward else -1.0)
        return _Part(way, drawn, bend, from_m, to_m, forward, arriving, behind, gone)


@dataclass(frozen=True, slots=True)
class _Part:
    """A bend with the straights beside it on a way, from one station to another.

    `arriving_n` is the tension where the pull enters, `behind_n` where what is held back does.
    """

    way: Way
    drawn: RedrawnBend
    bend: Bend
    from_m: float
    to_m: float
    forward: bool
    arriving_n: float
    behind_n: float
    gone_m: float

    def bearing(self, scale: float) -> float:
        """Return the greatest T/R in the bend at a radius, pulled or held back. [N/m]"""
        job, group = self.way.job, self.way.group
        pieces, low, high = self._pieces(scale)
        entry = np.array([self.arriving_n])
        (pulled,) = pull_pieces(pieces, job, group, [job.pull.friction.high], entry, self.gone_m)
        back = reversed_pieces(pieces)
        k = -np.array(least_frictions(back, job), dtype=float).reshape(-1, 1)
        (held,) = pull_string(back, job.pulling_weight_n_per_m, k, self.behind_n)
        arcs = (*pulled.arc_tensions(), *held.arc_tensions())
        inside = [arc.tension_n / arc.radius_m for arc in arcs if low < arc.middle_m < high]
        return max(inside, default=0.0)

    def _pieces(self, scale: float) -> tuple[list[Piece], float, float]:
        """Return the part redrawn, in the direction of the pull, and the stations of the bend."""
        start, end, low, high = (
            self.drawn.place(station, scale)
            for station in (self.from_m, self.to_m, self.bend.station_m, self.bend.end_station_m)
        )
        pieces: Sequence[Piece] = pieces_between(self.drawn.line(scale), start, end)
        for cut in (low, high):
            pieces = [part for piece in pieces for part in split_piece(piece, cut)]
        if not self.forward:
            pieces = reversed_pieces(pieces)
        by = self.from_m - start
        return [_moved(piece, by) for piece in pieces], low + by, high + by


def _least_factor(drawn: RedrawnBend, share: Callable[[float], float]) -> float | None:
    """Return the factor on the radius at which the share of the limit comes to one."""

    def over(power: float) -> float:
        return log(max(share(exp(power)), _NOTHING))

    least, most = _FACTORS
    largest = drawn.largest_factor
    low, high = log(least), 0.0
    if over(0.0) > 0.0:
        low, high = 0.0, log(most if largest is None else min(most, largest))
    if over(low) <= 0.0 or over(high) > 0.0:
        return None
    return exp(root_between(over, low, high))


def _tension(strings: Sequence[StringPull], station_m: float) -> float | None:
    """Return the tension at a station on the first string that holds it. [N]"""
    for string in strings:
        if not string.pieces:
            continue
        low, high = sorted((string.pieces[0].station_m, string.pieces[-1].end_station_m))
        if low - SAME_PLACE_M <= station_m <= high + SAME_PLACE_M:
            return string.tensions_at([station_m])[0]
    return None


def _moved(piece: Piece, by_m: float) -> Piece:
    """Return a straight or an arc at other stations."""
    assert not isinstance(piece, CornerPiece)
    return replace(
        piece, station_m=piece.station_m + by_m, end_station_m=piece.end_station_m + by_m
    )
