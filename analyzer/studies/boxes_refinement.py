"""The best places anywhere on the straights, not only at the stops tried first.

The rooms are divided into cells. A leg between two cells costs at least what it costs from the
upper end of the one to the lower end of the other, because a shorter leg never costs more; so a
path over cells bounds every placement in them from below. The cells of the path with the lowest
bound are divided further until the bound meets the best placement found, or the work is no longer
worth it: then the bound says how much better another placement could still be at most.

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
from analyzer.studies.boxes_costs import DetailedCosts, LegCosts, LegPricing
from analyzer.studies.boxes_places import Room, Stop, stop_in

__all__ = ["MOST_CELLS", "Aim", "Cell", "Found", "center_boxes", "lower_costs", "refine"]

Indices = NDArray[np.int64]

MOST_CELLS = 500
"""Cells above which the search for a proof stops."""

_PARTS = 8
_ROUNDS = 24
_SIDE = 4
_SHRINK = 0.25
_NARROW_M = 1e-10
_ZOOMED_M = 1e-9
_CLOSED = 1e-9
_CENTERED_M = 1e-7
_TRIED = 40


@dataclass(frozen=True, slots=True)
class Aim:
    """What a placement is to make small.

    Attributes
    ----------
    is_tension : bool
        Greatest tension; otherwise the greatest share of limit.
    is_within : bool
        Whether every leg has to keep degrees and length between pull points.
    most_share, most_tension_n : float
        Greatest share of limit and greatest tension allowed. [N]
    """

    is_tension: bool = False
    is_within: bool = False
    most_share: float = inf
    most_tension_n: float = inf

    @property
    def needs_detail(self) -> bool:
        """Whether tensions have to be known."""
        return self.is_tension or self.most_tension_n < inf

    def costs(self, costs: LegCosts) -> Floats:
        """Return the cost of every leg, `inf` where it is not allowed."""
        value, allowed = costs.share, (costs.share <= self.most_share) & (costs.share < inf)
        if self.needs_detail:
            assert isinstance(costs, DetailedCosts)
            value = costs.tension_n if self.is_tension else value
            allowed &= costs.tension_n <= self.most_tension_n
        if self.is_within:
            allowed &= costs.is_within
        return np.where(allowed, value, inf)


@dataclass(frozen=True, slots=True)
class Cell:
    """Part of a room, or a single place where both ends are one."""

    low: Stop
    high: Stop

    @property
    def width_m(self) -> float:
        """Distance between its ends. [m]"""
        return self.high.station_m - self.low.station_m


@dataclass(frozen=True, slots=True)
class Found:
    """A placement: value, lower bound proven, stops (ends included), and cells to look in."""

    value: float
    bound: float
    stops: tuple[Stop, ...]
    cells: tuple[Cell, ...] = ()


def refine(
    pricing: LegPricing,
    rooms: Sequence[Room],
    points: Sequence[Stop],
    count: int,
    aim: Aim,
    start: Found,
    goal: float | None = None,
    most_cells: int = MOST_CELLS,
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
        A placement known, one without stops where none is; its cells are gone on with.
    goal : float, optional
        Stop as soon as it is clear whether this value can be had.
    most_cells : int
        Stop dividing where more cells than these may hold something better.

    Returns
    -------
    Found
        `value` is `inf` and `stops` empty where there is none.
    """
    cells = list(start.cells)
    if not cells:
        cells = [Cell(stop, stop) for stop in (*pricing.fixed, *points)]
        for index, room in enumerate(rooms):
            low = stop_in(rooms, index, room.low_m, pricing.job)
            cells.append(Cell(low, stop_in(rooms, index, room.high_m, pricing.job)))
    best, bound = _zoom(pricing, rooms, count, aim, start), start.bound
    for _ in range(_ROUNDS):
        cells.sort(key=lambda cell: (cell.low.station_m, cell.high.station_m))
        stops = _stops_of(cells, best)
        costs = _price(pricing, stops, aim)
        better = _best_of(stops, costs, count, aim)
        if better.value < best.value * (1.0 - _CLOSED):
            best = _zoom(pricing, rooms, count, aim, better)
        lower, path, useful = _bound(cells, stops, costs, count, aim, best.value, pricing)
        bound = max(bound, lower)
        if goal is not None and (best.value <= goal or bound > goal):
            break
        if bound >= best.value * (1.0 - _CLOSED) or bound == inf:
            break
        wide = _to_divide(cells, path, stops, aim.costs(costs), bound)
        if not wide or (best.value < inf and int(useful.sum()) > most_cells):
            break
        cells = [
            part
            for i, cell in enumerate(cells)
            if useful[i]
            for part in (_divided(cell, rooms, pricing) if i in wide else [cell])
        ]
    return replace(best, bound=min(bound, best.value), cells=start.cells)


def center_boxes(
    pricing: LegPricing, rooms: Sequence[Room], stops: Sequence[Stop], aim: Aim
) -> tuple[Stop, ...]:
    """Move each box toward the middle of its straight as far as the limits of an aim allow.

    Parameters
    ----------
    pricing : LegPricing
        The run under its job.
    rooms : sequence of Room
        Where boxes may stand.
    stops : sequence of Stop
        A placement that keeps the limits, ends included.
    aim : Aim
        Share, tension, degrees and length to keep.
    """
    placed = list(stops)
    for index in range(1, len(placed) - 1):
        if placed[index].room is not None:
            placed[index] = _centered(pricing, rooms, placed[index - 1 : index + 2], aim)
    return tuple(placed)


def _centered(pricing: LegPricing, rooms: Sequence[Room], three: Sequence[Stop], aim: Aim) -> Stop:
    before, box, after = three
    assert box.room is not None
    room = rooms[box.room]
    # neighbors in the same room are not to be overtaken
    low = max(room.low_m, min(before.leave_m, box.station_m))
    high = min(room.high_m, max(after.arrive_m, box.station_m))
    near, far = box.station_m, min(max(room.middle_m, low), high)
    for _ in range(12):
        if abs(far - near) <= _CENTERED_M:
            break
        step = (far - near) / _TRIED
        places = [near + step * i for i in range(1, _TRIED)] + [far]
        tried = [
            stop_in(rooms, box.room, place, pricing.job)
            for place in sorted(places)
            if before.leave_m < place < after.arrive_m
        ]
        cost = aim.costs(pricing.price_in_detail([before, *tried, after]))
        good = (cost[0, 1:-1] < inf) & (cost[1:-1, -1] < inf)
        reached = [stop.station_m for stop, ok in zip(tried, good, strict=True) if ok]
        near = min(reached, key=lambda s: abs(s - far), default=near)
        far = far if near == far else near + step
    return box if near == box.station_m else stop_in(rooms, box.room, near, pricing.job)


def _zoom(pricing: LegPricing, rooms: Sequence[Room], count: int, aim: Aim, start: Found) -> Found:
    """Search all boxes of a placement together, in windows around them that grow ever narrower."""
    best, step = start, pricing.job.boxes.spacing_m
    if not any(stop.room is not None for stop in start.stops):
        return best
    while step > _ZOOMED_M:
        tried: dict[float, Stop] = {stop.station_m: stop for stop in best.stops}
        for stop in best.stops:
            if stop.room is None:
                continue
            room = rooms[stop.room]
            for part in range(-_SIDE, _SIDE + 1):
                place = min(max(stop.station_m + step * part / _SIDE, room.low_m), room.high_m)
                tried.setdefault(place, stop_in(rooms, stop.room, place, pricing.job))
        stops = tuple(tried[station] for station in sorted(tried))
        found = _best_of(stops, _price(pricing, stops, aim), count, aim)
        if found.value < best.value:
            best = replace(best, value=found.value, stops=found.stops)
        step *= _SHRINK
    return best


def _price(pricing: LegPricing, stops: Sequence[Stop], aim: Aim) -> LegCosts:
    if aim.needs_detail or not pricing.is_monotone:
        return pricing.price_in_detail(stops)
    return pricing.price(stops)


def _best_of(stops: Sequence[Stop], costs: LegCosts, count: int, aim: Aim) -> Found:
    layers = find_layers(aim.costs(costs), [stop.is_fixed for stop in stops], count)
    return Found(layers.best(count), 0.0, tuple(stops[i] for i in layers.path(count)))


def _stops_of(cells: Sequence[Cell], best: Found) -> tuple[Stop, ...]:
    """Return ends of all cells and the best placement, in order of station, each place once."""
    found: dict[float, Stop] = {}
    for stop in (*(stop for cell in cells for stop in (cell.low, cell.high)), *best.stops):
        found.setdefault(stop.station_m, stop)
    return tuple(found[station] for station in sorted(found))


def _divided(cell: Cell, rooms: Sequence[Room], pricing: LegPricing) -> list[Cell]:
    assert cell.low.room is not None
    low, high = cell.low.station_m, cell.high.station_m
    places = [low + (high - low) * i / _PARTS for i in range(1, _PARTS)]
    inner = [stop_in(rooms, cell.low.room, place, pricing.job) for place in places]
    return [Cell(a, b) for a, b in pairwise([cell.low, *inner, cell.high])]


def _bound(
    cells: Sequence[Cell],
    stops: Sequence[Stop],
    costs: LegCosts,
    count: int,
    aim: Aim,
    best: float,
    pricing: LegPricing,
) -> tuple[float, tuple[int, ...], NDArray[np.bool_]]:
    """Lower bound, the cells of its path, and which cells can still hold something better."""
    number = {stop.station_m: i for i, stop in enumerate(stops)}
    low = np.array([number[cell.low.station_m] for cell in cells])
    high = np.array([number[cell.high.station_m] for cell in cells])
    lower = lower_costs(costs, low, high, aim, is_monotone=pricing.is_monotone)
    is_fixed = [cell.low.is_fixed for cell in cells]
    forward = find_layers(lower, is_fixed, count)
    backward = find_layers(lower[::-1, ::-1].T, is_fixed[::-1], count)
    useful = useful_stops(forward, backward, count, best * (1.0 - _CLOSED))
    return forward.best(count), forward.path(count), useful


def lower_costs(
    costs: LegCosts, low: Indices, high: Indices, aim: Aim, *, is_monotone: bool = True
) -> Floats:
    """Return the least that a leg between two cells can cost.

    Parameters
    ----------
    costs : LegCosts
        Of the legs between the ends of the cells.
    low, high : (m,) int
        Stops at the lower and the upper end of each cell, in order; one stop for single places.
    aim : Aim
        What counts.
    is_monotone : bool
        Whether a longer leg never costs less.
    """
    share: Floats = costs.bare_share[high][:, low]
    allowed = share < inf
    if aim.is_within:
        allowed &= costs.bare_within[high][:, low]
    tension = share
    if not is_monotone:
        assert isinstance(costs, DetailedCosts)
        share, tension = _lower_with_feed(costs, low, high)
    elif aim.needs_detail:
        assert isinstance(costs, DetailedCosts)
        tension = costs.least_tension_n[high][:, low]
    if aim.most_share < inf:
        allowed &= share <= aim.most_share
    lower = np.where(allowed, tension if aim.is_tension else share, inf)
    # boxes in cells that touch may stand as near as one likes; a point holds one box only
    for cell in range(low.size):
        touching = np.searchsorted(low, high[cell], side="right")
        lower[cell, :cell] = inf
        lower[cell, cell:touching] = 0.0
        if low[cell] == high[cell]:
            lower[cell, cell] = inf
    return lower


def _to_divide(
    cells: Sequence[Cell],
    path: Sequence[int],
    stops: Sequence[Stop],
    cost: Floats,
    bound: float,
) -> set[int]:
    """Cells of a path next to a leg that can cost more than the bound; the others can wait."""
    number = {stop.station_m: i for i, stop in enumerate(stops)}
    wide = {i for i in path if cells[i].width_m > _NARROW_M}
    chosen: set[int] = set()
    for below, above in pairwise(path):
        longest = cost[number[cells[below].low.station_m], number[cells[above].high.station_m]]
        if longest > bound * (1.0 + _CLOSED):
            chosen |= wide & {below, above}
    return chosen or wide


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
