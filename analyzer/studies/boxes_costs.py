"""What every leg between two stops costs: its share of limit, tension, degrees and length.

A leg here reaches from one refeed to the next. Where it holds pull points that conductors pass
through, it is judged as one pull, and its degrees and length as the parts between pull points.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analyzer.checks.situation import ALLOWANCE
from analyzer.geometry.segments import Floats
from analyzer.job.settings import Job
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.limits import PullLimit, braked_limit, sidewall_limit, tension_limits
from analyzer.pulling.string_model import (
    CornerPiece,
    Piece,
    pieces_between,
    reversed_pieces,
    split_piece,
)
from analyzer.route.placing import NEAR_M
from analyzer.route.run import SAME_PLACE_M, Run
from analyzer.studies.boxes_march import Note, Rubbing, march
from analyzer.studies.boxes_places import Stop, fixed_stops, through_points

__all__ = ["DetailedCosts", "LegCosts", "LegPricing", "Marched", "passing_share"]

Flags = NDArray[np.bool_]
Indices = NDArray[np.int64]

_SURE = 0.999  # of the allowance: rounding must not turn what passes here into a failed check


def passing_share() -> float:
    """Return the greatest share of limit that surely passes: one and nearly the allowance."""
    return 1.0 + _SURE * ALLOWANCE


@dataclass(frozen=True, slots=True)
class Marched:
    """Figures of all legs in one direction, rows the lower stop, columns the upper one.

    Attributes
    ----------
    greatest_n, bearing_n_per_m : (n, n) float
        Greatest tension, and greatest tension over radius in bends. [N] [N/m]
    share : (n, n) float
        Largest share of limit.
    """

    greatest_n: Floats
    bearing_n_per_m: Floats
    share: Floats


@dataclass(frozen=True)
class LegCosts:
    """Costs of all legs between n stops, rows the lower stop, columns the upper one.

    Entries that are no leg (not above the diagonal, or across a fixed stop) are `inf` in `share`,
    `False` in `is_within`, and mean nothing elsewhere.

    Attributes
    ----------
    stops : tuple of Stop
        In order of station.
    share : (n, n) float
        Largest share of limit in the direction where it is smaller, or in the direction the job
        fixes; 0 where nothing is limited.
    is_within : (n, n) bool
        Whether degrees and length between pull points are within the limits.
    bare_share, bare_within : (n, n) float, (n, n) bool
        The same before boxes too near to each other are struck out.
    """

    stops: tuple[Stop, ...]
    share: Floats
    is_within: Flags
    bare_share: Floats
    bare_within: Flags


@dataclass(frozen=True)
class DetailedCosts(LegCosts):
    """Costs with all that they are made of.

    Attributes
    ----------
    pulled, held : two Marched
        Forward and in reverse, pulled at high friction and held back at low.
    tension_n : (n, n) float
        Greatest tension, pulled or held back, in the direction the leg is pulled. [N]
    least_tension_n : (n, n) float
        The same in the direction where it is smaller. [N]
    """

    pulled: tuple[Marched, Marched]
    held: tuple[Marched, Marched]
    tension_n: Floats
    least_tension_n: Floats


class LegPricing:
    """A run under a job, ready to price the legs between any stops.

    Attributes
    ----------
    run, job : Run, Job
        What is studied.
    is_monotone : bool
        Whether a longer leg never costs less: so where nothing is fed with tension.
    """

    def __init__(self, run: Run, job: Job) -> None:
        self.run, self.job = run, job
        self.group = conductor_group(job)
        fixed = fixed_stops(run, job)
        self.fixed = fixed
        self.through = through_points(run)
        feeds = [job.pull.feed_tension_n, *(stop.feed_tension_n for stop in fixed)]
        self.is_monotone = not any(feeds)
        cuts = [stop.station_m for stop in fixed]
        pieces = pieces_between(run.centerline, 0.0, run.centerline.length_m)
        self._pieces = _cut(pieces, cuts)
        self._piece_stations = [piece.station_m for piece in self._pieces]
        band, factor = job.pull.friction, self.group.weight_factor
        in_bends = factor if job.pull.weight_factor_in_bends else 1.0
        dry = max(band.high, job.pull.dry_friction or 0.0)
        self._pulled = Rubbing(
            band.high * factor,
            band.high * in_bends,
            dry * factor,
            dry * in_bends,
            job.pull.lubricant_reach_m,
        )
        self._braked = Rubbing(-band.low, -band.low, -band.low, -band.low)
        self.limits = tension_limits(job, self.group)
        self._tension_limit = _least(self.limits)
        self._braked_limit = _least([braked_limit(job, self.group)])
        self._sidewall_limit = _least([sidewall_limit(job)])
        self._braked_sidewall_limit = _least([sidewall_limit(job, is_braked=True)])
        middles = [
            (0.5 * (b.station_m + b.end_station_m), b) for b in run.bends if not b.in_fitting
        ]
        self._bend_middles = np.array([middle for middle, _ in middles])
        self._turned = np.concatenate(([0.0], np.cumsum([b.angle_rad for _, b in middles])))

    def price(self, stops: Sequence[Stop]) -> LegCosts:
        """Return the costs of all legs between stops, in order of station, ends included."""
        stops = tuple(stops)
        ahead, back = self.price_ways(stops)
        share = self._of_ways(ahead, back)
        is_leg = self._legs(stops)
        share[~is_leg] = inf
        within = is_leg & self._within(stops)
        near = self._too_near(stops)
        return LegCosts(
            stops, _struck(share, near, inf), _struck(within, near, False), share, within
        )

    def price_ways(self, stops: Sequence[Stop]) -> tuple[Floats, Floats]:
        """Return the largest share of limit of all legs, forward and in reverse.

        Entries that are no leg mean nothing.
        """
        n = len(stops)
        shares = np.zeros((n, n)), np.zeros((n, n))
        self._march_all(tuple(stops), lambda way, held: self._share_note(shares[way], held))
        return shares

    def price_in_detail(self, stops: Sequence[Stop]) -> DetailedCosts:
        """Return the costs of all legs between stops, with all that they are made of.

        Parameters
        ----------
        stops : sequence of Stop
            In order of station; the first and the last are the ends, or any two stops between
            which legs are wanted.
        """
        stops = tuple(stops)
        n = len(stops)
        exits = (np.zeros((n, n)), np.zeros((n, n)))
        figures = {
            (way, held): (np.zeros((n, n)), np.zeros((n, n)))
            for way in (0, 1)
            for held in (False, True)
        }

        def noting(way: int, held: bool) -> Note:
            greatest_n, bearing_n = figures[way, held]

            def note(
                rows: slice, columns: slice, exit_n: Floats, greatest: Floats, bearing: Floats
            ) -> None:
                greatest_n[rows, columns] = greatest
                bearing_n[rows, columns] = bearing
                if not held:
                    exits[way][rows, columns] = exit_n

            return note

        self._march_all(stops, noting)
        pulled, held = (
            tuple(
                Marched(*figures[way, is_held], self._share(*figures[way, is_held], is_held))
                for way in (0, 1)
            )
            for is_held in (False, True)
        )
        ahead, back = (np.maximum(pulled[way].share, held[way].share) for way in (0, 1))
        is_reverse = self._is_reverse(ahead, back, *exits)
        share = self._of_ways(ahead, back)
        is_leg = self._legs(stops)
        within = is_leg & self._within(stops)
        share[~is_leg] = inf
        near = self._too_near(stops)
        tensions = [np.maximum(pulled[way].greatest_n, held[way].greatest_n) for way in (0, 1)]
        return DetailedCosts(
            stops,
            _struck(share, near, inf),
            _struck(within, near, False),
            share,
            within,
            (pulled[0], pulled[1]),
            (held[0], held[1]),
            np.where(is_reverse, tensions[1], tensions[0]),
            self._of_ways(*(tension.copy() for tension in tensions)),
        )

    def _march_all(self, stops: tuple[Stop, ...], noting: Callable[[int, bool], Note]) -> None:
        """March both ways, pulled and held back; `noting` is asked by way (0 forward), held."""
        pieces = self._between(stops[0], stops[-1])
        backward = tuple(stop.reversed() for stop in reversed(stops))
        back_pieces = reversed_pieces(pieces)
        feeds = [stop.feed_tension_n for stop in stops]
        nothing = [0.0] * len(stops)
        weight = self.job.pulling_weight_n_per_m
        n = len(stops)
        march(pieces, stops, weight, self._pulled, feeds, noting(0, False))
        march(back_pieces, backward, weight, self._pulled, feeds[::-1], _flip(noting(1, False), n))
        # the string held back is solved from its head: above for a forward pull
        march(back_pieces, backward, weight, self._braked, nothing, _flip(noting(0, True), n))
        march(pieces, stops, weight, self._braked, nothing, noting(1, True))

    def _share_note(self, out: Floats, held: bool) -> Note:
        def note(
            rows: slice, columns: slice, exit_n: Floats, greatest: Floats, bearing: Floats
        ) -> None:
            # no limit is on the exit tension by itself; a note is given it all the same
            if held and not greatest.any():
                return
            block = out[rows, columns]
            np.maximum(block, self._share(greatest, bearing, held), out=block)

        return note

    def _share(self, greatest: Floats, bearing: Floats, is_braked: bool) -> Floats:
        tension = self._braked_limit if is_braked else self._tension_limit
        wall = self._braked_sidewall_limit if is_braked else self._sidewall_limit
        share: Floats = greatest * (1.0 / tension)
        return np.maximum(share, bearing * (self.group.sidewall.factor / wall), out=share)

    def _of_ways(self, ahead: Floats, back: Floats) -> Floats:
        fixed = self.job.boxes.direction
        if fixed == "better":
            return np.minimum(ahead, back, out=ahead)
        return back if fixed == "reverse" else ahead

    def is_all_tension(self, tension_n: float, share: float) -> bool:
        """Whether a greatest tension makes up a greatest share of limit, which it then settles."""
        limit = self._tension_limit
        return limit < inf and abs(tension_n - share * limit) <= 1e-9 * tension_n

    def degrees(self, stops: Sequence[Stop]) -> Floats:
        """Return the greatest bend total between pull points on every leg. [deg]"""
        radians = self._parts(*self._turns(stops), stops)
        return np.asarray(np.round(np.rad2deg(radians), 3), dtype=np.float64)

    def lengths_m(self, stops: Sequence[Stop]) -> Floats:
        """Return the greatest length between pull points on every leg. [m]"""
        return self._parts(*self._marks(stops), stops, of_length=True)

    def _is_reverse(self, ahead: Floats, back: Floats, exit_f: Floats, exit_r: Floats) -> Flags:
        fixed = self.job.boxes.direction
        if fixed != "better":
            return np.full(ahead.shape, fixed == "reverse")
        apart = np.abs(ahead - back) > ALLOWANCE * np.maximum(ahead, back)
        exits_apart = np.abs(exit_f - exit_r) > ALLOWANCE * np.maximum(exit_f, exit_r)
        return np.where(apart, back < ahead, exits_apart & (exit_r < exit_f))

    def _legs(self, stops: Sequence[Stop]) -> Flags:
        """Which pairs of stops are ends of a leg."""
        n = len(stops)
        legs = np.triu(np.ones((n, n), dtype=bool), 1)
        for index, stop in enumerate(stops):
            if stop.is_fixed and 0 < index < n - 1:
                legs[:index, index + 1 :] = False
        return legs

    def _too_near(self, stops: Sequence[Stop]) -> list[tuple[Indices, Flags]]:
        """Pairs of boxes that stand too near to each other, by groups of neighboring stops.

        Boxes in one room keep the need of one from each other, all others an inch.
        """
        station = np.array([stop.station_m for stop in stops])
        rooms = np.array([-1 if stop.room is None else stop.room for stop in stops])
        need = max(self.job.boxes.need_m, NEAR_M)
        found = []
        for room in np.unique(rooms[rooms >= 0]):
            own = np.flatnonzero(rooms == room)
            apart = np.abs(station[own][None, :] - station[own][:, None])
            found.append((own, apart < need - SAME_PLACE_M))
        other = np.flatnonzero(
            (rooms[1:] != rooms[:-1]) & (np.diff(station) < NEAR_M - SAME_PLACE_M)
        )
        found += [(np.array([i, i + 1]), np.ones((2, 2), dtype=bool)) for i in other.tolist()]
        return found

    def _within(self, stops: Sequence[Stop]) -> Flags:
        limits = self.job.limits
        # sums are compared after rounding to 0.001 degree
        most = np.deg2rad(round(limits.degrees_between_pull_points, 3) + 0.0005 * _SURE)
        longest = limits.length_between_pull_points_m
        arrive_turn, leave_turn = self._turns(stops)
        arrive_m, leave_m = self._marks(stops)
        if self.through:
            within: Flags = self._parts(arrive_turn, leave_turn, stops) < most
        else:
            within = arrive_turn[None, :] < leave_turn[:, None] + most
        if longest is not None:
            longest *= 1.0 + _SURE * ALLOWANCE
            if self.through:
                within &= self._parts(arrive_m, leave_m, stops, of_length=True) <= longest
            else:
                within &= arrive_m[None, :] <= leave_m[:, None] + longest
        return within

    def _turns(self, stops: Sequence[Stop]) -> tuple[Floats, Floats]:
        """Bend turned since the start of the run where stops are arrived at and left. [rad]"""
        arrive = self._angle(np.array([stop.arrive_m for stop in stops]))
        return arrive, self._angle(np.array([stop.leave_m for stop in stops]))

    def _marks(self, stops: Sequence[Stop]) -> tuple[Floats, Floats]:
        """Length since the start of the run where the legs below end and those above begin. [m]"""
        arrive = np.array([stop.arrive_m + stop.way_in.length_m for stop in stops])
        return arrive, np.array([stop.leave_m - stop.way_out.length_m for stop in stops])

    def _angle(self, stations: Floats) -> Floats:
        """Bend turned since the start of the run, up to stations. [rad]"""
        return self._turned[np.searchsorted(self._bend_middles, stations, side="left")]

    def _parts(
        self, arrive: Floats, leave: Floats, stops: Sequence[Stop], *, of_length: bool = False
    ) -> Floats:
        """Greatest difference between neighboring pull points on every leg."""
        whole: Floats = arrive[None, :] - leave[:, None]
        if not self.through:
            return whole
        stations = np.array([stop.station_m for stop in stops])
        points = np.array(self.through)
        marks = points if of_length else self._angle(points)
        block = np.searchsorted(points, stations)
        count = len(points)
        longest = np.zeros((count + 1, count + 1))
        for low in range(count):
            for high in range(low + 2, count + 1):
                longest[low, high] = max(b - a for a, b in pairwise(marks[low:high]))
        next_mark = marks[np.minimum(block, count - 1)]
        last_mark = marks[np.maximum(block - 1, 0)]
        parts = np.maximum(
            np.maximum((next_mark - leave)[:, None], (arrive - last_mark)[None, :]),
            longest[block[:, None], block[None, :]],
        )
        return np.where(block[:, None] == block[None, :], whole, parts)

    def _between(self, first: Stop, last: Stop) -> tuple[Piece, ...]:
        """Pieces from where the first stop is left to where the last is arrived at."""
        low, high = first.leave_m, last.arrive_m
        if low <= SAME_PLACE_M and high >= self.run.centerline.length_m - SAME_PLACE_M:
            return self._pieces
        start = max(bisect_right(self._piece_stations, low + SAME_PLACE_M) - 1, 0)
        end = bisect_left(self._piece_stations, high - SAME_PLACE_M)
        kept = []
        for piece in _cut(self._pieces[start:end], (low, high)):
            if isinstance(piece, CornerPiece):
                inside = low + SAME_PLACE_M < piece.station_m < high - SAME_PLACE_M
            else:
                middle = 0.5 * (piece.station_m + piece.end_station_m)
                inside = low < middle < high
            if inside:
                kept.append(piece)
        return tuple(kept)


def _struck(values: Any, near: list[tuple[Indices, Flags]], nothing: float) -> Any:
    """Return a copy with the pairs that stand too near struck out."""
    if not near:
        return values
    values = values.copy()
    for own, pairs in near:
        part = slice(own[0], own[-1] + 1)
        if own[-1] - own[0] + 1 == own.size:
            values[part, part][pairs] = nothing
        else:
            block = values[np.ix_(own, own)]
            block[pairs] = nothing
            values[np.ix_(own, own)] = block
    return values


def _cut(pieces: Sequence[Piece], stations: Sequence[float]) -> tuple[Piece, ...]:
    done = list(pieces)
    for station in stations:
        done = [part for piece in done for part in split_piece(piece, station)]
    return tuple(done)


def _least(limits: Sequence[PullLimit]) -> float:
    """Smallest limit that can be checked; infinite where none can."""
    return min((x.limit for x in limits if x.limit is not None and x.limit > 0.0), default=inf)


def _flip(note: Note, count: int) -> Note:
    """Note of a march in reverse: rows and columns become upper and lower stop."""

    def flipped(some: slice) -> slice:
        return slice(count - some.stop, count - some.start)

    def turned(
        rows: slice, columns: slice, exit_n: Floats, greatest: Floats, bearing: Floats
    ) -> None:
        figures = (each[::-1, ::-1].T for each in (exit_n, greatest, bearing))
        note(flipped(columns), flipped(rows), *figures)

    return turned
