"""The best places anywhere on the straights, not only at the stops tried first.

The rooms are divided into cells. A leg between two cells costs at least what it costs from the
upper end of the one to the lower end of the other, because a shorter leg never costs more; so a
path over cells bounds every placement in them from below. The cells of the path with the lowest
bound are divided further until the bound meets the best placement found.

Where conductors are fed with tension, a pull that starts later may cost more. On a straight its
tension still changes one way only along the feed place: then the bound takes the end of the cell
that gives the smaller figure. With a lubricant reach as well, that bound is an estimate.

Source: branch and bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.studies.boxes_choice import find_layers, useful_stops
from analyzer.studies.boxes_costs import DetailedCosts, LegPricing
from analyzer.studies.boxes_places import Room, Stop, stop_in

__all__ = ["Aim", "Found", "center_boxes", "refine"]

Indices = NDArray[np.int64]

_PARTS = 8
_ROUNDS = 60
_MOST_CELLS = 1500
_NARROW_M = 1e-10
_CLOSED = 1e-11


@dataclass(frozen=True, slots=True)
class Aim:
    """What a placement is to make small.

    Attributes
    ----------
    is_tension : bool
        Greatest tension; otherwise the greatest share of limit.
    is_within : bool
        Whether every leg has to keep degrees and length between pull points.
    most_share : float
        Greatest share of limit allowed.
    """

    is_tension: bool = False
    is_within: bool = False
    most_share: float = inf

    def costs(self, costs: DetailedCosts) -> Floats:
        """Return the cost of every leg, `inf` where it is not allowed."""
        value = costs.tension_n if self.is_tension else costs.share
        allowed = costs.share <= self.most_share
        allowed &= costs.share < inf
        if self.is_within:
            allowed &= costs.is_within
        return np.where(allowed, value, inf)


@dataclass(frozen=True, slots=True)
class Found:
    """A placement: its value, the lower bound proven, and its stops, ends included."""

    value: float
    bound: float
    stops: tuple[Stop, ...]


@dataclass(frozen=True, slots=True)
class _Cell:
    low: Stop
    high: Stop

    @property
    def width_m(self) -> float:
        return self.high.station_m - self.low.station_m


def refine(
    pricing: LegPricing,
    rooms: Sequence[Room],
    points: Sequence[Stop],
    count: int,
    aim: Aim,
    start: Found,
    goal: float | None = None,
) -> Found:
    """Return the best placement of exactly so many boxes.

    Parameters
    ----------
    pricing : LegPricing
        The run under its job.
    rooms : sequence of Room
        Where boxes may stand.
    points : sequence of Stop
        Other places for boxes, without play.
    count : int
        Number of boxes.
    aim : Aim
        What to make small.
    start : Found
        A placement known; one without stops where none is.
    goal : float, optional
        Stop as soon as it is clear whether this value can be had.

    Returns
    -------
    Found
        `value` is `inf` and `stops` empty where there is none.
    """
    cells = [_Cell(stop, stop) for stop in (*pricing.fixed, *points)]
    for index, room in enumerate(rooms):
        low = stop_in(rooms, index, room.low_m, pricing.job)
        cells.append(_Cell(low, stop_in(rooms, index, room.high_m, pricing.job)))
    best, bound = start, 0.0
    for _ in range(_ROUNDS):
        cells.sort(key=lambda cell: (cell.low.station_m, cell.high.station_m))
        stops = _stops_of(cells, best)
        costs = pricing.price_in_detail(stops)
        is_fixed = [stop.is_fixed for stop in stops]
        layers = find_layers(aim.costs(costs), is_fixed, count)
        if layers.best(count) < best.value:
            found = tuple(stops[i] for i in layers.path(count))
            best = Found(layers.best(count), bound, found)
        lower, path, useful = _bound(cells, stops, costs, count, aim, best.value, pricing)
        bound = max(bound, lower)
        if goal is not None and (best.value <= goal or bound > goal):
            break
        if bound >= best.value * (1.0 - _CLOSED) or bound == inf:
            break
        wide = {i for i in path if cells[i].width_m > _NARROW_M}
        if not wide or int(useful.sum()) > _MOST_CELLS:
            break
        cells = [
            part
            for i, cell in enumerate(cells)
            if useful[i]
            for part in (_divided(cell, rooms, pricing) if i in wide else [cell])
        ]
    return replace(best, bound=min(bound, best.value))


def center_boxes(
    pricing: LegPricing, rooms: Sequence[Room], stops: Sequence[Stop], aims: Sequence[Aim]
) -> tuple[Stop, ...]:
    """Move each box toward the middle of its straight as far as the limits of all aims allow.

    Parameters
    ----------
    pricing : LegPricing
        The run under its job.
    rooms : sequence of Room
        Where boxes may stand.
    stops : sequence of Stop
        A placement that keeps the aims, ends included.
    aims : sequence of Aim
        Whose limits to keep: `most_share`, and degrees and length where asked for.
    """
    placed = list(stops)
    for _ in range(2):
        for index in range(1, len(placed) - 1):
            if placed[index].room is not None:
                placed[index] = _centered(pricing, rooms, placed[index - 1 : index + 2], aims)
    return tuple(placed)


def _centered(
    pricing: LegPricing, rooms: Sequence[Room], three: Sequence[Stop], aims: Sequence[Aim]
) -> Stop:
    before, box, after = three
    assert box.room is not None
    room = rooms[box.room]
    goal = min(max(room.middle_m, room.low_m), room.high_m)
    near, far = box.station_m, goal
    for _ in range(10):
        if abs(far - near) <= _NARROW_M:
            break
        places = [near + (far - near) * i / _PARTS for i in range(1, _PARTS + 1)]
        tried = sorted(
            (stop_in(rooms, box.room, place, pricing.job) for place in places),
            key=lambda stop: stop.station_m,
        )
        costs = pricing.price_in_detail([before, *tried, after])
        allowed = np.ones(len(tried), dtype=bool)
        for aim in aims:
            cost = aim.costs(costs)
            allowed &= (cost[0, 1:-1] < inf) & (cost[1:-1, -1] < inf)
        good = [stop for stop, ok in zip(tried, allowed, strict=True) if ok]
        # the limits hold over one stretch of places: what is allowed nearest to the goal counts
        reached = min((stop.station_m for stop in good), key=lambda s: abs(s - far), default=near)
        if reached == far:
            return stop_in(rooms, box.room, far, pricing.job)
        far = reached + (far - near) / _PARTS
        near = reached
    return box if near == box.station_m else stop_in(rooms, box.room, near, pricing.job)


def _stops_of(cells: Sequence[_Cell], best: Found) -> tuple[Stop, ...]:
    """Ends of all cells and the best placement, in order of station, each place once."""
    found: dict[float, Stop] = {}
    for stop in (*(stop for cell in cells for stop in (cell.low, cell.high)), *best.stops):
        found.setdefault(stop.station_m, stop)
    return tuple(found[station] for station in sorted(found))


def _divided(cell: _Cell, rooms: Sequence[Room], pricing: LegPricing) -> list[_Cell]:
    assert cell.low.room is not None
    low, high = cell.low.station_m, cell.high.station_m
    places = [low + (high - low) * i / _PARTS for i in range(1, _PARTS)]
    inner = [stop_in(rooms, cell.low.room, place, pricing.job) for place in places]
    return [_Cell(a, b) for a, b in pairwise([cell.low, *inner, cell.high])]


def _bound(
    cells: Sequence[_Cell],
    stops: Sequence[Stop],
    costs: DetailedCosts,
    count: int,
    aim: Aim,
    best: float,
    pricing: LegPricing,
) -> tuple[float, tuple[int, ...], NDArray[np.bool_]]:
    """Lower bound, the cells of its path, and which cells can still hold something better."""
    number = {stop.station_m: i for i, stop in enumerate(stops)}
    low = np.array([number[cell.low.station_m] for cell in cells])
    high = np.array([number[cell.high.station_m] for cell in cells])
    lower = _lower_costs(costs, low, high, aim, is_monotone=pricing.is_monotone)
    is_fixed = [cell.low.is_fixed for cell in cells]
    forward = find_layers(lower, is_fixed, count)
    backward = find_layers(lower[::-1, ::-1].T, is_fixed[::-1], count)
    useful = useful_stops(forward, backward, count, best)
    return forward.best(count), forward.path(count), useful


def _lower_costs(
    costs: DetailedCosts, low: Indices, high: Indices, aim: Aim, *, is_monotone: bool
) -> Floats:
    """Least that a leg between two cells can cost."""
    nearest = np.ix_(high, low)
    if is_monotone:
        share, tension = costs.share[nearest], costs.least_tension_n[nearest]
    else:
        share, tension = _lower_with_feed(costs, low, high)
    order = np.arange(low.size)
    is_pair = order[:, None] <= order[None, :]
    touching = is_pair & (high[:, None] >= low[None, :])
    lower = tension if aim.is_tension else share
    allowed = (share <= aim.most_share) & (costs.share[nearest] < inf)
    if aim.is_within:
        allowed &= costs.is_within[nearest]
    lower = np.where(allowed & is_pair, lower, inf)
    # boxes in cells that touch may stand as near as one likes; a point holds one box only
    lower[touching] = 0.0
    points = np.flatnonzero(low == high)
    lower[points, points] = inf
    return lower


def _lower_with_feed(costs: DetailedCosts, low: Indices, high: Indices) -> tuple[Floats, Floats]:
    """Share and tension of a leg between cells where feed tension makes the far end count too."""
    ends = (np.ix_(high, low), np.ix_(low, low), np.ix_(high, high))
    nearest, feed_below, feed_above = ends
    (ahead, back), (held_ahead, held_back) = costs.pulled, costs.held
    shares, tensions = [], []
    for pulled, held, other in ((ahead, held_ahead, feed_below), (back, held_back, feed_above)):
        share = np.minimum(pulled.share[nearest], pulled.share[other])
        shares.append(np.maximum(share, held.share[nearest]))
        tension = np.minimum(pulled.greatest_n[nearest], pulled.greatest_n[other])
        tensions.append(np.maximum(tension, held.greatest_n[nearest]))
    return np.minimum(*shares), np.minimum(*tensions)


