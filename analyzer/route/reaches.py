"""Which runs of a file are near a fitting: the nearest ones, and those within the snap.

A box around each run tells how near it is at best; all of them stand in one array, so that
a fitting is measured to the few runs only whose boxes are near it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.readings import Reading
from analyzer.geometry.segments import Floats, Vector
from analyzer.geometry.vectors import distance
from analyzer.route.claims import TOUCHING_M
from analyzer.route.paths import Extents, FoundFitting, PathToPlace, Reach

__all__ = ["Integers", "Reaches"]

Integers = NDArray[np.int64]
"""Indices of runs."""

_ABOUT_AS_NEAR = 1.5  # between two runs, the middle fifth of the space: the eye sees the middle


class Reaches:
    """How far fittings stand from the runs of one file.

    Attributes
    ----------
    of_run : list of Reach
        The reach of each run.
    """

    def __init__(self, paths: Sequence[PathToPlace], readings: Sequence[Reading]) -> None:
        self.of_run = [
            Reach(path.path, reading) for path, reading in zip(paths, readings, strict=True)
        ]
        boxes = np.array([reach.box_m for reach in self.of_run]).reshape(-1, 2, 3)
        self._low_m, self._high_m = boxes[:, 0], boxes[:, 1]
        in_layout: dict[str, list[int]] = {}
        for run, path in enumerate(paths):
            in_layout.setdefault(path.layout, []).append(run)
        self._in_layout = {name: np.array(runs) for name, runs in in_layout.items()}

    def beside(self, fitting: FoundFitting) -> Integers:
        """Return the runs drawn in the same layout as a fitting."""
        return self._in_layout.get(fitting.layout, np.empty(0, dtype=np.int64))

    def nearest(self, point_m: Vector, runs: Sequence[int] | Integers) -> list[tuple[int, float]]:
        """Return the runs about as near to a point as the nearest, and how far away; it first.

        Parameters
        ----------
        point_m : (3,) float
            Where a fitting stands. [m]
        runs : sequence of int
            Indices of the runs asked about, one or more.
        """
        of = np.asarray(runs)
        bounds = self._at_least_m(point_m, of)
        first = int(np.argmin(bounds))
        limit = _about(self.of_run[int(of[first])].distance_m(point_m))
        near = np.flatnonzero(bounds <= limit)
        found: list[tuple[float, int]] = []
        for at in near[np.argsort(bounds[near], kind="stable")].tolist():
            if found and bounds[at] > _about(min(found)[0]):
                break
            run = int(of[at])
            found.append((self.of_run[run].distance_m(point_m), run))
        limit = _about(min(found)[0])
        return [(run, away) for away, run in sorted(found) if away <= limit]

    def nearest_to_symbol(
        self, extents_m: Extents, runs: Sequence[int] | Integers, snap_m: float
    ) -> tuple[float, list[tuple[int, float]]]:
        """Return how far the run nearest to a symbol is, and the runs about as near.

        These stand with how far off the middle of the symbol they are, the nearest first; none
        where no run is within the snap. [m]
        """
        low, high = extents_m
        middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2)
        of = np.asarray(runs)
        near = of[self._at_least_m(middle, of) <= distance(low, high) / 2.0 + snap_m]
        edges = [
            (
                max(self.of_run[run].symbol_distance_m(extents_m), TOUCHING_M),
                self.of_run[run].distance_m(middle),
                run,
            )
            for run in near.tolist()
        ]
        if not edges:
            return float("inf"), []
        edge = min(edges)[0]
        by_middle = sorted(
            (away, run) for edge_m, away, run in edges if edge_m <= max(edge, TOUCHING_M)
        )
        limit = _about(by_middle[0][0])
        return edge, [(run, away) for away, run in by_middle if away <= limit]

    def within(self, fitting: FoundFitting, snap_m: float) -> list[tuple[int, float, bool]]:
        """Return the runs near a fitting, how far off they are, and whether by its symbol only."""
        point, extents_m = fitting.position_m, fitting.extents_m
        half = distance(*extents_m) if extents_m is not None else 0.0
        of = self.beside(fitting)
        near: list[tuple[int, float, bool]] = []
        for run in of[self._at_least_m(point, of) <= snap_m + half].tolist():
            away = self.of_run[run].distance_m(point)
            if away <= snap_m:
                near.append((run, away, False))
            elif extents_m is not None:
                edge = self.of_run[run].symbol_distance_m(extents_m)
                if edge <= snap_m:
                    near.append((run, edge, True))
        return near

    def _at_least_m(self, point_m: Vector, runs: Integers) -> Floats:
        """Distances that a point is not nearer to some runs than, (n,) quickly. [m]"""
        point = np.asarray(point_m)
        low, high = self._low_m[runs], self._high_m[runs]
        outside = np.maximum(np.maximum(low - point, point - high), 0.0)
        bounds: Floats = np.sqrt(np.einsum("ij,ij->i", outside, outside))
        return bounds


def _about(away_m: float) -> float:
    """Return up to which distance another run is about as near. [m]"""
    return max(_ABOUT_AS_NEAR * away_m, away_m + TOUCHING_M)
