"""Placing labels in the picture plane: near what they name, off the run, never on one another.

Each label is tried at 24 directions and 15 distances from its anchor. Costs weigh the length of
the leader, what the label and leader would cover, crossings, and the bend's outer side; the best
set is sought by improving one label at a time from several starts, as far as the comparisons made
reach, not a clock. A label for which no free place exists is left out rather than laid over another
one, least important first.

Criteria (short leaders, no crossings, labels off the picture): Bekos, Niedermann and Noellenburg,
*External labeling techniques*, 2019.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LabelRequest", "Obstacles", "Placement", "Rect", "place_labels"]

Floats = NDArray[np.float64]
Rect = tuple[float, float, float, float]
"""Left, top, right, bottom in pixels."""

_DIRECTIONS = 24
_DISTANCES = 15
_KEPT = 160
_OVERLAP = 3000.0
_COMPARISONS = 5e6
_AIR = 3.0  # units between a leader and the chip of another label
_SEED = 1  # of the shuffling of later starts


@dataclass(frozen=True, slots=True)
class LabelRequest:
    """One label to place.

    Attributes
    ----------
    key : str
        Name by which the placement is found again.
    anchor : (2,) float
        Picture point it names. [px]
    size : (2,) float
        Width and height of its chip. [px]
    away : (2,) float or None
        Direction it should rather stand in, such as the outer side of a bend.
    priority : int
        Small numbers are placed first and given up last.
    reach : float
        Longest leader. [unit]
    near : float
        Shortest distance from anchor to chip. [unit]
    own : float
        Size of the named thing itself: the first part of a leader that covers nothing else. [unit]
    """

    key: str
    anchor: tuple[float, float]
    size: tuple[float, float]
    away: tuple[float, float] | None = None
    priority: int = 2
    reach: float = 230.0
    near: float = 26.0
    own: float = 12.0


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a label stands: its chip, and the leader from the anchor to the chip's edge. [px]"""

    key: str
    rect: Rect
    anchor: tuple[float, float]
    foot: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Obstacles:
    """What labels keep off.

    Attributes
    ----------
    tube : (height, width) bool
        Pixels of the run, boxes and equipment, grown a little.
    lines : (height, width) bool
        Pixels of drop lines.
    forbidden : tuple of Rect
        Places no chip may touch: scale, triad, legend.
    points : tuple of (float, float)
        Points no chip should cover besides the labels' own anchors.
    """

    tube: NDArray[np.bool_]
    lines: NDArray[np.bool_]
    forbidden: tuple[Rect, ...] = ()
    points: tuple[tuple[float, float], ...] = ()


@dataclass(slots=True)
class _Candidates:
    rects: Floats
    feet: Floats
    anchor: Floats
    costs: Floats


def place_labels(
    requests: tuple[LabelRequest, ...],
    obstacles: Obstacles,
    unit_px: float,
    effort: float = 2.0,
    restarts: int = 6,
) -> tuple[Placement, ...]:
    """Return a place for every label that finds one; chips never overlap.

    Parameters
    ----------
    requests : tuple of LabelRequest
        Labels to place.
    obstacles : Obstacles
        What to keep off; its arrays give the size of the picture.
    unit_px : float
        Pixels of one drawing unit; all distances and costs scale with it.
    effort : float
        How long to seek: no new round is made after so many times five million comparisons of a
        place with a label, about as many as a second takes. No clock is asked, so that equal
        input gives equal places on a busy computer too.
    restarts : int
        Number of starts.

    Returns
    -------
    tuple of Placement
        In the order of the requests; those without a free place are missing.
    """
    ordered = sorted(requests, key=lambda request: request.priority)
    tables = _Tables(obstacles, unit_px, ordered)
    found = [_candidates(request, tables) for request in ordered]
    usable = [index for index, item in enumerate(found) if len(item.costs)]
    items = [found[index] for index in usable]
    if not items:
        return ()
    choice = _search(items, unit_px, effort * _COMPARISONS, restarts)
    kept = _without_overlap(items, choice, unit_px)
    placed: dict[str, Placement] = {}
    for position in kept:
        item, pick = items[position], choice[position]
        left, top, right, bottom = (float(value) for value in item.rects[pick])
        request = ordered[usable[position]]
        foot = (float(item.feet[pick, 0]), float(item.feet[pick, 1]))
        placed[request.key] = Placement(
            request.key, (left, top, right, bottom), request.anchor, foot
        )
    return tuple(placed[request.key] for request in requests if request.key in placed)


class _Tables:
    """Sums over the obstacle masks, so that what a rectangle covers is four look-ups."""

    def __init__(self, obstacles: Obstacles, unit_px: float, requests: list[LabelRequest]) -> None:
        self.tube = obstacles.tube
        self.height, self.width = obstacles.tube.shape
        self.tube_sums = _sums(obstacles.tube)
        self.line_sums = _sums(obstacles.lines)
        self.forbidden = np.array(obstacles.forbidden, dtype=float).reshape(-1, 4)
        points = [request.anchor for request in requests] + list(obstacles.points)
        self.points = np.array(points, dtype=float).reshape(-1, 2)
        self.unit = unit_px


def _sums(mask: NDArray[np.bool_]) -> NDArray[np.int64]:
    table = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), dtype=np.int64)
    table[1:, 1:] = mask.astype(np.int64).cumsum(axis=0).cumsum(axis=1)
    return table


def _covered(sums: NDArray[np.int64], rects: Floats) -> Floats:
    height, width = sums.shape[0] - 1, sums.shape[1] - 1
    x = np.clip(np.round(rects[:, [0, 2]]).astype(int), 0, width)
    y = np.clip(np.round(rects[:, [1, 3]]).astype(int), 0, height)
    total = (
        sums[y[:, 1], x[:, 1]]
        - sums[y[:, 0], x[:, 1]]
        - sums[y[:, 1], x[:, 0]]
        + sums[y[:, 0], x[:, 0]]
    )
    return np.asarray(total, dtype=float)


def _candidates(request: LabelRequest, tables: _Tables) -> _Candidates:
    """All places of one label inside the frame with their own cost, cheapest first."""
    u = tables.unit
    angles = np.arange(_DIRECTIONS) * (2 * np.pi / _DIRECTIONS)
    directions = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    distances = np.geomspace(request.near, max(request.reach, request.near + 1), _DISTANCES) * u
    half = np.array(request.size) / 2
    anchor = np.array(request.anchor)
    steps = distances[None, :, None] * directions[:, None, :]
    centers = (anchor + steps + (directions * half)[:, None, :]).reshape(-1, 2)
    rects = np.concatenate([centers - half, centers + half], axis=1)
    edge = 4 * u
    inside = (
        (rects[:, 0] >= edge)
        & (rects[:, 1] >= edge)
        & (rects[:, 2] <= tables.width - edge)
        & (rects[:, 3] <= tables.height - edge)
    )
    for block in tables.forbidden:
        inside &= ~_overlap(rects, block, 2 * u)
    rects, centers = rects[inside], centers[inside]
    feet = _feet(rects, anchor)
    costs = _own_costs(request, tables, rects, centers, feet)
    order = np.argsort(costs, kind="stable")[:_KEPT]
    return _Candidates(rects[order], feet[order], anchor, costs[order])


def _own_costs(
    request: LabelRequest, tables: _Tables, rects: Floats, centers: Floats, feet: Floats
) -> Floats:
    u = tables.unit
    anchor = np.array(request.anchor)
    length = np.linalg.norm(feet - anchor, axis=1)
    costs = 0.9 * length / u
    costs += 0.30 * _covered(tables.tube_sums, rects) / u**2
    costs += 0.012 * _covered(tables.line_sums, rects) / u**2 * 8
    costs += 9.0 * _over_tube(tables, anchor, feet, request.own)
    for block in tables.forbidden:
        costs += 400.0 * _cut_by(anchor, feet, block)
    if request.away is not None:
        offset = centers - anchor
        size = np.linalg.norm(offset, axis=1) * np.linalg.norm(request.away)
        cosine = offset @ np.array(request.away) / np.where(size > 0, size, 1.0)
        costs += 26.0 * (1.0 - cosine)
    pad = 3 * u
    for point in tables.points:
        inside = (
            (rects[:, 0] - pad < point[0])
            & (point[0] < rects[:, 2] + pad)
            & (rects[:, 1] - pad < point[1])
            & (point[1] < rects[:, 3] + pad)
        )
        costs += 800.0 * inside
    return np.asarray(costs)


def _over_tube(tables: _Tables, anchor: Floats, feet: Floats, own: float) -> Floats:
    """Count the 2-unit steps of each leader that run over the tube, beyond its first part."""
    u = tables.unit
    offset = feet - anchor
    length = np.linalg.norm(offset, axis=1)
    direction = offset / np.where(length > 0, length, 1.0)[:, None]
    count = np.zeros(len(feet))
    for step in np.arange(own * u, float(length.max(initial=0.0)), 2 * u):
        at = anchor + direction * step
        x = np.clip(at[:, 0].astype(int), 0, tables.width - 1)
        y = np.clip(at[:, 1].astype(int), 0, tables.height - 1)
        count += tables.tube[y, x] & (step < length)
    return np.asarray(count)


def _feet(rects: Floats, anchor: Floats) -> Floats:
    """Nearest to the anchor of the 8 points on each chip's edge."""
    x = np.stack([rects[:, 0], (rects[:, 0] + rects[:, 2]) / 2, rects[:, 2]], axis=1)
    y = np.stack([rects[:, 1], (rects[:, 1] + rects[:, 3]) / 2, rects[:, 3]], axis=1)
    pairs = [(0, 0), (1, 0), (2, 0), (0, 1), (2, 1), (0, 2), (1, 2), (2, 2)]
    points = np.stack([np.stack([x[:, i], y[:, j]], axis=-1) for i, j in pairs], axis=1)
    nearest = np.argmin(np.linalg.norm(points - anchor, axis=2), axis=1)
    return np.asarray(points[np.arange(len(rects)), nearest])


def _overlap(rects: Floats, block: Floats, gap: float) -> NDArray[np.bool_]:
    return np.asarray(
        (rects[:, 0] < block[2] + gap)
        & (block[0] < rects[:, 2] + gap)
        & (rects[:, 1] < block[3] + gap)
        & (block[1] < rects[:, 3] + gap)
    )


def _crosses(a1: Floats, a2: Floats, b1: Floats, b2: Floats) -> NDArray[np.bool_]:
    """Whether segments a1-a2 (a2 an array of ends) cross the segment b1-b2."""

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        return (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (
            r[..., 0] - p[..., 0]
        )

    return np.asarray(
        (side(a1, a2, b1) * side(a1, a2, b2) < 0) & (side(b1, b2, a1) * side(b1, b2, a2) < 0)
    )


def _cut_by(starts: Floats, ends: Floats, rects: Floats) -> NDArray[np.bool_]:
    """Whether segments pass through rectangles; arrays broadcast against each other."""
    origin, offset = starts, ends - starts
    safe = np.where(np.abs(offset) < 1e-9, 1e-9, offset)
    t1, t2 = (rects[..., :2] - origin) / safe, (rects[..., 2:] - origin) / safe
    enter = np.minimum(t1, t2).max(axis=-1)
    leave = np.maximum(t1, t2).min(axis=-1)
    return np.asarray((enter < leave) & (leave > 1e-6) & (enter < 1 - 1e-6))


def _mutual(
    item: _Candidates, rects: Floats, anchors: Floats, feet: Floats, unit_px: float
) -> Floats:
    """Cost of every candidate of one label against the chosen places of others, summed."""
    mine, own_feet = item.rects[:, None, :], item.feet[:, None, :]
    others = rects[None, :, :]
    wide = np.minimum(mine[..., 2], others[..., 2]) - np.maximum(mine[..., 0], others[..., 0])
    high = np.minimum(mine[..., 3], others[..., 3]) - np.maximum(mine[..., 1], others[..., 1])
    gap = 4 * unit_px
    area = np.clip(wide, 0, None) * np.clip(high, 0, None) / unit_px**2
    cost = np.where((wide > -gap) & (high > -gap), _OVERLAP + area, 0.0)
    cost += 600.0 * _crosses(item.anchor, own_feet, anchors[None, :, :], feet[None, :, :])
    air = _AIR * unit_px * np.array([-1.0, -1.0, 1.0, 1.0])
    cost += 800.0 * _cut_by(item.anchor[None, None, :], own_feet, others + air)
    cost += 800.0 * _cut_by(anchors[None, :, :], feet[None, :, :], mine + air)
    return np.asarray(cost.sum(axis=1))


def _search(items: list[_Candidates], unit_px: float, most: float, restarts: int) -> list[int]:
    """Improve one label at a time from several starts; returns the cheapest choice met.

    No new round or start is made after `most` comparisons of a place with a label.
    """
    random = np.random.default_rng(_SEED)
    best: list[int] = []
    best_cost = np.inf
    made = 0
    for start in range(restarts):
        order = list(range(len(items)))
        if start:
            random.shuffle(order)
        choice: list[int | None] = [None] * len(items)
        cost = np.inf
        for _ in range(8):
            total = 0.0
            for index in order:
                item = items[index]
                costs = item.costs
                others = [
                    (items[other], pick)
                    for other, pick in enumerate(choice)
                    if pick is not None and other != index
                ]
                if others:
                    made += len(costs) * len(others)
                    costs = costs + _mutual(
                        item,
                        np.array([other.rects[pick] for other, pick in others]),
                        np.array([other.anchor for other, _ in others]),
                        np.array([other.feet[pick] for other, pick in others]),
                        unit_px,
                    )
                choice[index] = int(np.argmin(costs))
                total += float(costs.min())
            if total >= cost - 1e-9:
                break
            cost = total
            if made > most:
                break
        if cost < best_cost:
            best, best_cost = [pick or 0 for pick in choice], cost
        if made > most:
            break
    return best


def _without_overlap(items: list[_Candidates], choice: list[int], unit_px: float) -> list[int]:
    """Positions of the labels that stay, by priority; one that would overlap is left out."""
    kept: list[int] = []
    for index, item in enumerate(items):
        rect = item.rects[choice[index]][None, :]
        if not any(_overlap(rect, items[other].rects[choice[other]], unit_px)[0] for other in kept):
            kept.append(index)
    return kept
