"""Fittings as boxes: sized by the drawn tube, smaller where they would hide the run or each other.

A box drawn wider than true may reach round a short run or into its neighbor. It then shrinks
until it clears both, but never below the size stated for it nor to less than the tube's width.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from analyzer.job.settings import FittingKind
from viewer.scene import FittingMark, Scene

__all__ = ["Box", "boxes_of"]

Floats = NDArray[np.float64]

_SIZES = {
    FittingKind.PANEL: (5.4, 5.4, 11.0),
    FittingKind.EQUIPMENT: (12.0, 10.5, 9.5),
    FittingKind.CONDUIT_BODY: (6.0, 3.4, 3.4),
}
_SIZE = (8.0, 5.2, 5.2)
_SMALLEST_SIDE = 2.1  # radii of the tube: a little wider than it
_STEP = 0.85
_MOST_SAMPLES = 1500


@dataclass(frozen=True, slots=True)
class Box:
    """A fitting as drawn: middle, unit axes (rows) and size along them. [m]"""

    name: str
    center_m: Floats
    axes: Floats
    size_m: Floats


def boxes_of(scene: Scene, radius_m: float) -> tuple[Box, ...]:
    """Return the fittings as boxes sized by the drawn tube, or larger where a size is stated.

    Each is as large as clears the run beyond its own straight, and the other boxes.
    """
    marks = [mark for mark in scene.fittings if mark.kind is not FittingKind.END]
    if not marks:
        return ()
    stations, points = _samples(scene, radius_m)
    boxes, shares = [], []
    for mark in marks:
        low, high = _own_straight(scene, mark)
        others = points[(stations < low) | (stations > high)]
        share, box = 1.0, _box(mark, radius_m, scene.floor_m, 1.0)
        while _holds(box, others, radius_m) and share > _least(mark):
            share = max(_STEP * share, _least(mark))
            box = _box(mark, radius_m, scene.floor_m, share)
        boxes.append(box)
        shares.append(share)
    for one, other in combinations(range(len(marks)), 2):
        while _overlap(boxes[one], boxes[other]):
            # the larger gives way first
            open_ones = [at for at in (one, other) if shares[at] > _least(marks[at])]
            if not open_ones:
                break
            at = max(open_ones, key=lambda place: float(np.max(boxes[place].size_m)))
            shares[at] = max(_STEP * shares[at], _least(marks[at]))
            boxes[at] = _box(marks[at], radius_m, scene.floor_m, shares[at])
    return tuple(boxes)


def _least(mark: FittingMark) -> float:
    """Return how small a box may get, as a share of its full size."""
    return min(1.0, _SMALLEST_SIDE / min(_SIZES.get(mark.kind, _SIZE)))


def _box(mark: FittingMark, radius_m: float, floor_m: float, share: float) -> Box:
    level = np.array([mark.tangent[0], mark.tangent[1], 0.0])
    upright = float(np.linalg.norm(level)) < 0.35
    east = np.array([1.0, 0.0, 0.0]) if upright else level / np.linalg.norm(level)
    axes = np.array([east, np.cross([0.0, 0.0, 1.0], east), [0.0, 0.0, 1.0]])
    size = np.array(_SIZES.get(mark.kind, _SIZE)) * radius_m * share
    if upright and mark.outward is None:
        size = size[[2, 1, 0]]
    if mark.size_m is not None and len(mark.size_m) == 3:
        size = np.maximum(size, np.asarray(mark.size_m))
    center = mark.point_m.copy()
    if mark.outward is not None:
        room = center[2] - floor_m
        if upright and mark.outward[2] < 0 and room > 2 * radius_m:
            size[2] = min(size[2], room)
        half = size[2] / 2 if upright else size[0] / 2
        center = center + mark.outward * half
        if not upright and center[2] - size[2] / 2 < floor_m <= mark.point_m[2]:
            center[2] = floor_m + size[2] / 2
    return Box(mark.name, center, axes, size)


def _samples(scene: Scene, radius_m: float) -> tuple[Floats, Floats]:
    """Return stations and places along the run, about a radius apart. [m]"""
    stations, points = [], []
    for leg in scene.legs:
        count = int(min((leg.end_m - leg.start_m) / max(radius_m, 1e-6) + 2, _MOST_SAMPLES))
        at = np.linspace(leg.start_m, leg.end_m, count)
        stations.append(at)
        columns = [np.interp(at, leg.station_m, column) for column in leg.points_m.T]
        points.append(np.stack(columns, axis=-1))
    return np.concatenate(stations), np.concatenate(points)


def _own_straight(scene: Scene, mark: FittingMark) -> tuple[float, float]:
    """Return the stations between which the run belongs to a fitting: from bend to bend. [m]"""
    before = [b.end_station_m for b in scene.bends if b.end_station_m <= mark.station_m + 1e-6]
    after = [b.station_m for b in scene.bends if b.station_m >= mark.station_m - 1e-6]
    return max(before, default=-np.inf), min(after, default=np.inf)


def _holds(box: Box, points: Floats, radius_m: float) -> bool:
    """Return whether the tube through some points reaches into a box."""
    off = np.abs((points - box.center_m) @ box.axes.T)
    return bool((off < box.size_m / 2 + radius_m).all(axis=1).any())


def _overlap(one: Box, other: Box) -> bool:
    """Return whether two upright boxes overlap: no face of either stands between them."""
    apart = other.center_m - one.center_m
    for axis in (*one.axes, *other.axes):
        reach = sum(float(np.abs(box.axes @ axis) @ box.size_m) / 2 for box in (one, other))
        if abs(float(apart @ axis)) >= reach - 1e-9:
            return False
    return True
