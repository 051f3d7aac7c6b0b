"""What boxes and set-ups cost: the cheapest placement that passes.

A set-up is one pull, from a feed to the next refeed or to an end. A box where conductors are
taken out and fed again costs a box and a set-up; a box they pass through costs a box alone, and
ends only the count of degrees and length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.studies.boxes_costs import LegCosts, LegPricing, passing_share
from analyzer.studies.boxes_places import Stop

Indices = NDArray[np.int64]

__all__ = ["Cheapest", "cost_of", "find_cheapest"]


@dataclass(frozen=True, slots=True)
class Cheapest:
    """The cheapest passing placement, to the nearest place tried.

    Attributes
    ----------
    cost : float
        Boxes added and set-ups, in the job's currency.
    setups : int
        Pulls, those between existing pull points included.
    refed_m, passed_m : tuple of float
        Stations of the added boxes that are refed, and of those passed through. [m]
    joints : int
        Places where it passes only with conductors cut and joined; no part of the cost.
    """

    cost: float
    setups: int
    refed_m: tuple[float, ...]
    passed_m: tuple[float, ...]
    joints: int = 0

    @property
    def count(self) -> int:
        """Number of boxes added."""
        return len(self.refed_m) + len(self.passed_m)


def cost_of(pricing: LegPricing, count: int) -> float | None:
    """Return the cost of so many refed boxes and all set-ups; None where the job has no costs."""
    boxes = pricing.job.boxes
    if boxes.cost_per_box is None or boxes.cost_per_setup is None:
        return None
    return count * boxes.cost_per_box + (count + len(pricing.fixed) - 1) * boxes.cost_per_setup


def find_cheapest(pricing: LegPricing, stops: Sequence[Stop], costs: LegCosts) -> Cheapest | None:
    """Return the cheapest passing placement; None without costs in the job, or without one.

    Of equally cheap ones, that with the least greatest share of limit. No more boxes are added
    than the job allows.

    Parameters
    ----------
    pricing : LegPricing
        The run under its job.
    stops : sequence of Stop
        Places to choose from, ends included.
    costs : LegCosts
        Of the legs between them.
    """
    boxes = pricing.job.boxes
    if boxes.cost_per_box is None or boxes.cost_per_setup is None:
        return None
    hops = _farthest(costs)
    passed = _boxes_passed(costs, hops)
    is_box = np.array([not stop.is_fixed for stop in stops])
    cost = boxes.cost_per_setup + boxes.cost_per_box * (passed + is_box[None, :])
    cost = np.where(costs.share <= passing_share(), cost, inf)
    to_here = _cheapest_to(cost)
    if to_here[-1] == inf:
        return None
    from_here = _cheapest_to(cost[::-1, ::-1].T)[::-1]
    whole = to_here[:, None] + cost + from_here[None, :]
    is_cheapest = whole <= to_here[-1] * (1.0 + 1e-12)
    path = _least_share_path(np.where(is_cheapest, costs.share, inf))
    added = passed + is_box[None, :]
    if sum(added[low, high] for low, high in pairwise(path)) > boxes.most:
        found = _cheapest_with_few(cost, added, boxes.most)
        if found is None:
            return None
        path = found
    through: list[int] = []
    for low, high in pairwise(path):
        at = low
        while not costs.is_within[at, high]:
            at = int(hops[at])
            through.append(at)
    return Cheapest(
        cost=float(sum(cost[low, high] for low, high in pairwise(path))),
        setups=len(path) - 1,
        refed_m=tuple(stops[i].station_m for i in path if is_box[i]),
        passed_m=tuple(stops[i].station_m for i in through),
    )


def _farthest(costs: LegCosts) -> Indices:
    """For each stop the farthest box in a straight within degrees and length, or itself."""
    n = len(costs.stops)
    index = np.arange(n)
    in_straight = np.array([s.way_in.length_m == 0.0 and not s.is_fixed for s in costs.stops])
    allowed = costs.is_within & in_straight[None, :]
    farthest: Indices = np.where(allowed, index[None, :], index[:, None]).max(axis=1)
    return farthest


def _boxes_passed(costs: LegCosts, hops: Indices) -> Floats:
    """Boxes that conductors pass through, needed on each leg for degrees and length."""
    n = hops.size
    needed = np.full((n, n), inf)
    at, count = np.arange(n), 0
    while True:
        needed[np.isinf(needed) & costs.is_within[at]] = count
        further = hops[at]
        if bool((further == at).all()):
            return needed
        at, count = further, count + 1


def _cheapest_to(cost: Floats) -> Floats:
    n = cost.shape[0]
    best = np.full(n, inf)
    best[0] = 0.0
    for stop in range(1, n):
        best[stop] = (best[:stop] + cost[:stop, stop]).min()
    return best


def _cheapest_with_few(cost: Floats, added: Floats, most: int) -> list[int] | None:
    """Return the cheapest path that adds at most so many boxes, by stop and boxes so far."""
    n = cost.shape[0]
    best = np.full((n, most + 1), inf)
    best[0] = 0.0
    before = np.zeros((n, most + 1), dtype=int)
    for stop in range(1, n):
        for count in range(most + 1):
            may = np.flatnonzero((added[:stop, stop] == count) & (cost[:stop, stop] < inf))
            if not may.size:
                continue
            through = best[may, : most + 1 - count] + cost[may, stop, None]
            least = through.argmin(axis=0)
            value = through[least, np.arange(through.shape[1])]
            is_less = value < best[stop, count:]
            best[stop, count:][is_less] = value[is_less]
            before[stop, count:][is_less] = may[least][is_less]
    used = int(np.argmin(best[-1]))
    if best[-1, used] == inf:
        return None
    path = [n - 1]
    while path[-1] > 0:
        stop = path[-1]
        path.append(int(before[stop, used]))
        used -= int(added[path[-1], stop])
    return path[::-1]


def _least_share_path(share: Floats) -> list[int]:
    n = share.shape[0]
    best, before = np.full(n, inf), np.zeros(n, dtype=int)
    best[0] = 0.0
    for stop in range(1, n):
        worst = np.maximum(best[:stop], share[:stop, stop])
        before[stop] = int(np.argmin(worst))
        best[stop] = worst[before[stop]]
    path = [n - 1]
    while path[-1] > 0:
        path.append(int(before[path[-1]]))
    return path[::-1]
