"""The best places out of many: dynamic programming over stops, and refinement between them.

A placement is a path from the first stop to the last over legs; fixed stops cannot be skipped.
With exactly so many boxes, the layers hold for every stop the best value of a path that arrives
there. Two values are used: the largest cost of a leg on the path (the worst leg governs), and
the sum of costs.

Source: shortest paths with a bottleneck objective, textbook dynamic programming.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats

__all__ = ["Layers", "find_layers", "least_counts", "useful_stops"]

_BLOCK = 64

Combine = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True)
class Layers:
    """Best values of paths, by number of boxes.

    Attributes
    ----------
    values : tuple of (n,) float
        For each number of boxes, the best value of a path that arrives at each stop with exactly
        that many boxes, its own included; `inf` where there is none.
    cost : (n, n) float
        Cost of legs, `inf` where there is none.
    is_fixed : tuple of bool
        Which stops every path visits.
    sums : bool
        Whether costs add up; otherwise the largest counts.
    """

    values: tuple[Floats, ...]
    cost: Floats
    is_fixed: tuple[bool, ...]
    sums: bool

    def best(self, count: int) -> float:
        """Return the best value of a whole path with exactly so many boxes."""
        return float(self.values[count][-1]) if count < len(self.values) else inf

    def path(self, count: int) -> tuple[int, ...]:
        """Return the stops of a best path, first and last included; empty where there is none."""
        if self.best(count) == inf:
            return ()
        combine = _combine(self.sums)
        at, path = len(self.is_fixed) - 1, [len(self.is_fixed) - 1]
        while at > 0:
            layer = count if self.is_fixed[at] else count - 1
            at_values = combine(self.values[layer][: at + 1], self.cost[: at + 1, at])
            count, at = layer, int(np.argmin(at_values))
            path.append(at)
        return tuple(reversed(path))


def find_layers(cost: Floats, is_fixed: Sequence[bool], most: int, *, sums: bool = False) -> Layers:
    """Return the best values of paths with 0 to `most` boxes.

    Parameters
    ----------
    cost : (n, n) float
        Cost of the leg from a lower stop (row) to an upper one (column), zero or more; `inf`
        where there is none, always below the diagonal.
    is_fixed : (n,) bool
        Which stops cannot be left out; the first and the last are.
    most : int
        Greatest number of boxes.
    sums : bool
        Whether costs add up; otherwise the largest counts.
    """
    combine = _combine(sums)
    fixed = np.flatnonzero(np.asarray(is_fixed))
    values: list[Floats] = []
    for count in range(most + 1):
        if count == 0:
            now = np.full(len(is_fixed), inf)
            now[0] = 0.0
        else:
            now = _arrivals(values[-1], cost, combine)
            now[fixed] = inf
        for stop in fixed[1:]:
            below = combine(now[:stop], cost[:stop, stop])
            now[stop] = below.min()
        values.append(now)
    return Layers(tuple(values), cost, tuple(bool(x) for x in is_fixed), sums)


def useful_stops(forward: Layers, backward: Layers, count: int, limit: float) -> NDArray[np.bool_]:
    """Return which stops lie on a path of so many boxes whose value is at most a limit.

    Parameters
    ----------
    forward, backward : Layers
        Of the same problem, and of the same problem met from the other end.
    count : int
        Number of boxes.
    limit : float
        Greatest value allowed.
    """
    combine = _combine(forward.sums)
    is_fixed = np.asarray(forward.is_fixed)
    found = np.zeros(is_fixed.size, dtype=bool)
    for own, layer in enumerate(forward.values[: count + 1]):
        for other in (count - own, count - own + 1):
            # a box that may be left out is counted by both
            if 0 <= other < len(backward.values):
                whole = combine(layer, backward.values[other][::-1])
                found |= (whole <= limit) & (is_fixed if other == count - own else ~is_fixed)
    return found


def least_counts(is_allowed: NDArray[np.bool_], is_fixed: Sequence[bool]) -> NDArray[np.int64]:
    """Return the fewest boxes with which each stop is reached over allowed legs; -1 where none.

    Parameters
    ----------
    is_allowed : (n, n) bool
        Which legs may be used.
    is_fixed : (n,) bool
        Which stops count as no box.
    """
    n = len(is_fixed)
    counts = np.full(n, -1, dtype=np.int64)
    counts[0] = 0
    for stop in range(1, n):
        below = counts[:stop][is_allowed[:stop, stop] & (counts[:stop] >= 0)]
        if below.size:
            counts[stop] = below.min() + (0 if is_fixed[stop] else 1)
    return counts


def _combine(sums: bool) -> Combine:
    def added(a: Floats, b: Floats) -> Floats:
        return a + b

    def larger(a: Floats, b: Floats) -> Floats:
        return np.maximum(a, b)

    return added if sums else larger


def _arrivals(before: Floats, cost: Floats, combine: Combine) -> Floats:
    """Best value of one leg more, for every stop; block by block to stay in fast memory."""
    n = before.size
    reached = np.flatnonzero(before < inf)
    out = np.full(n, inf)
    if not reached.size:
        return out
    first = int(reached[0])
    column = before[:, None]
    for low in range(first, n, _BLOCK):
        high = min(low + _BLOCK, n)
        out[low:high] = combine(column[first:high], cost[first:high, low:high]).min(axis=0)
    return out
