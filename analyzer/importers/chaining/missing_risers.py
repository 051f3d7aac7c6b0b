"""Ends straight above each other, as if the riser between them had not been drawn.

In plan two such runs look like one. Ends agree in plan by chance so seldom that no difference in
height is too much: a riser may climb through several floors (common practice). Ends up to the snap
apart in plan count where no third one is as near, as on racks, and one of them at least is level:
the foot of a riser may have been drawn a little off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, radians, sin

import numpy as np

from analyzer.geometry.segments import Floats, Straight, Vector, dot
from analyzer.importers.chaining.chains import Chain, joining_reach
from analyzer.importers.near_points import coincident_groups

__all__ = ["MissingRisers", "ends_above", "lone_ends_above"]

_MOST_ABOVE = 16  # ends looked at above each: racks hold fewer levels (common practice)
_FOLDS = cos(radians(120.0))  # no bend turns a run back by more into a riser
_LEVEL = sin(radians(30.0))  # a run that rises less goes on into a riser by a bend
_ALIKE = cos(radians(60.0))  # runs that end less apart than this come side by side


def ends_above(tips_m: Floats, join_m: float) -> Iterator[tuple[int, int, float]]:
    """Yield the pairs of ends that agree in plan and differ in height, and by how much.

    Time is near linear in the number of ends: each is compared with the next 16 above it.

    Parameters
    ----------
    tips_m : (n, 3) float
        Ends of runs. [m]
    join_m : float
        Largest gap that is bridged: how far ends that agree may lie apart in plan. [m]
    """
    reach_m = joining_reach(join_m)
    heights = tips_m[:, 2]
    if not len(tips_m) or np.ptp(heights) <= reach_m:
        return
    plan = tips_m * (1.0, 1.0, 0.0)
    groups = coincident_groups(plan, reach_m)
    order = np.lexsort((heights, groups))
    for step in range(1, min(_MOST_ABOVE, len(order) - 1) + 1):
        low, high = order[:-step], order[step:]
        fits = (groups[low] == groups[high]) & (heights[high] - heights[low] > reach_m)
        low, high = low[fits], high[fits]
        near = np.linalg.norm(plan[high] - plan[low], axis=1) <= reach_m
        for i, j in zip(low[near].tolist(), high[near].tolist(), strict=True):
            yield min(i, j), max(i, j), float(np.linalg.norm(tips_m[j] - tips_m[i]))


def lone_ends_above(tips_m: Floats, join_m: float, snap_m: float) -> Iterator[tuple[int, int]]:
    """Yield the pairs of ends within the snap in plan, with no third one, that differ in height.

    Parameters
    ----------
    tips_m : (n, 3) float
        Ends of runs. [m]
    join_m : float
        Largest gap that is bridged. [m]
    snap_m : float
        How far apart in plan they may lie. [m]
    """
    if not len(tips_m) or np.ptp(tips_m[:, 2]) <= joining_reach(join_m):
        return
    groups = coincident_groups(tips_m * (1.0, 1.0, 0.0), max(snap_m, join_m))
    order = np.argsort(groups, kind="stable")
    ends = np.cumsum(np.bincount(groups))
    for last in ends[np.bincount(groups) == 2].tolist():
        i, j = sorted(order[last - 2 : last].tolist())
        if abs(tips_m[j, 2] - tips_m[i, 2]) > joining_reach(join_m):
            yield i, j


class MissingRisers:
    """Which ends of runs a missing riser would join, each with the nearest it may go on to.

    Attributes
    ----------
    pairs : dict of (int, int) to float
        Ends, two a chain, that stand above each other, and how far apart. [m]
    """

    def __init__(
        self,
        chains: Sequence[Chain],
        tips_m: Floats,
        ways: Sequence[Vector],
        join_m: float,
        snap_m: float,
    ) -> None:
        self.pairs = {(i, j): gap for i, j, gap in ends_above(tips_m, join_m)}
        for i, j in lone_ends_above(tips_m, join_m, snap_m):
            if min(abs(ways[i][2]), abs(ways[j][2])) <= _LEVEL:
                self.pairs.setdefault((i, j), float(np.linalg.norm(tips_m[j] - tips_m[i])))
        self._tips_m, self._ways, self._reach_m = tips_m, ways, joining_reach(join_m)
        self._drawn_m = _verticals(chains, self._reach_m) if self.pairs else np.empty((0, 4))
        self._joined: set[int] = set()

    def joins(self, i: int, j: int) -> bool:
        """Return whether a missing riser would join two ends; nearer ends are to be asked first.

        Not where both come the same way, as on racks above each other, where one would fold back,
        or where a riser is drawn. Nor where both have a nearer end to go on to.
        """
        if (i, j) not in self.pairs or {i, j} <= self._joined:
            return False
        u, v = self._ways[i], self._ways[j]
        up = 1.0 if self._tips_m[j, 2] > self._tips_m[i, 2] else -1.0
        if dot(u, v) > _ALIKE or up * u[2] < _FOLDS or -up * v[2] < _FOLDS or self._is_drawn(i, j):
            return False
        self._joined |= {i, j}
        return True

    def off_m(self, i: int, j: int) -> float:
        """Return how far apart in plan two ends lie. [m]"""
        return float(np.linalg.norm(self._tips_m[j, :2] - self._tips_m[i, :2]))

    def _is_drawn(self, i: int, j: int) -> bool:
        """Whether a drawn riser stands between two ends, or in part of the way."""
        p, q = self._tips_m[i], self._tips_m[j]
        off_m = self.off_m(i, j) + self._reach_m
        reach = [p[0] - off_m, p[0] + off_m]
        first, last = np.searchsorted(self._drawn_m[:, 0], reach)
        rows = self._drawn_m[first : last + 1]
        at = np.linalg.norm(rows[:, :2] - p[:2], axis=1) <= off_m
        low, high = min(p[2], q[2]), max(p[2], q[2])
        overlap_m = np.minimum(rows[:, 3], high) - np.maximum(rows[:, 2], low)
        return bool(np.any(at & (overlap_m > self._reach_m)))


def _verticals(chains: Sequence[Chain], reach_m: float) -> Floats:
    """Return x, y, lower and upper z of the vertical straights of runs, in order of x. [m]"""
    rows = []
    for chain in chains:
        for edge in chain.path.edges:
            if isinstance(edge.segment, Straight):
                (x, y, z), (a, b, c) = edge.segment.start_m, edge.segment.end_m
                if abs(a - x) <= reach_m and abs(b - y) <= reach_m:
                    rows.append((x, y, min(z, c), max(z, c)))
    return np.array(sorted(rows), dtype=float).reshape(-1, 4)
