"""Bends without a straight of their own: two that touch, and one at an end of the points.

Both start from a small grid of shapes, scored on few points, and end in the joint fit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, Chain
from analyzer.geometry.survey.fit import ChainFit, fit_chain
from analyzer.geometry.survey.gaps import Line, arc_costs, arc_offsets

__all__ = ["end_arc", "two_arcs"]

_SPLITS = (0.15, 0.3, 0.5, 0.7, 0.85)
"""Shares of the leg between two corners that the tangent of the first may get. Own choice."""

_FILLS = (1.0, 0.75)
"""Shares of that leg that both tangents may take. Own choice."""

_PLACES = (0.04, 0.1, 0.17, 0.25, 0.34, 0.45, 0.6)
"""Where the two corners are tried, from either straight, over the length of the points between. Own
choice."""

_BEYOND_RAD = 0.05
"""How far before the first point the arc of an end starts. [rad]"""


@dataclass(frozen=True, slots=True)
class _Shape:
    """Two corners between two lines, and how the leg between them is shared and filled."""

    first: Floats
    last: Floats
    split: float
    fill: float

    def radii(self, a: Line, b: Line) -> Floats:
        """Radii of the two bends."""
        leg = self.last - self.first
        length = float(np.linalg.norm(leg))
        parts = np.array([self.split, 1.0 - self.split]) * (self.fill * length)
        return np.asarray(parts / _half_tangents(a, leg / length, b))


def _half_tangents(a: Line, middle: Floats, b: Line) -> Floats:
    """tan(angle / 2) of the corners between two lines and the leg that joins them."""
    cosines = np.clip([a.direction @ middle, middle @ b.direction], -1.0, 1.0)
    return np.asarray(np.tan(np.maximum(np.arccos(cosines) / 2.0, 1e-4)))


def two_arcs(
    points: Floats, a: Line, b: Line, gap: tuple[int, int], sigma: float, clip: float | None
) -> ChainFit | None:
    """Return the best two touching, or nearly touching, bends between two lines.

    Parameters
    ----------
    points : (n, 3) float
        The points of both straights and of the gap. [m]
    a, b : Line
        The straights.
    gap : (int, int)
        Range of the points between them.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    """
    low, high = max(gap[0] - 3, 0), min(gap[1] + 3, points.shape[0])
    if high - low < 5:
        return None
    best: ChainFit | None = None
    for shape in _starts(points, a, b, gap, low, high):
        fit = _fit_shape(points, a, b, shape, low, sigma, clip)
        if best is None or fit.chi2 < best.chi2:
            best = fit
    if best is None or best.converged:
        return best
    return fit_chain(points, best.chain, sigma, clip=clip, steps=25, tolerance=0.1)


def _starts(
    points: Floats, a: Line, b: Line, gap: tuple[int, int], low: int, high: int
) -> list[_Shape]:
    """Return the three best different shapes of the grid."""
    pick = np.unique(np.linspace(low, high - 1, min(high - low, 36)).round().astype(np.intp))
    near = points[pick]
    path = float(leg_lengths(points[low:high]).sum())
    start = points[max(gap[0] - 1, 0)]
    start = a.point + ((start - a.point) @ a.direction) * a.direction
    stop = points[min(gap[1], points.shape[0] - 1)]
    stop = b.point + ((stop - b.point) @ b.direction) * b.direction
    scored: list[tuple[float, _Shape]] = []
    for before in _PLACES:
        for after in _PLACES:
            first = start + before * path * a.direction
            last = stop - after * path * b.direction
            if np.linalg.norm(last - first) > 1e-3 * path:
                scored += _score(near, a, b, first, last)
    scored.sort(key=lambda pair: pair[0])
    kept: list[_Shape] = []
    for _, shape in scored:
        away = [
            np.linalg.norm(shape.first - k.first) + np.linalg.norm(shape.last - k.last)
            for k in kept
        ]
        if all(distance > 0.05 * path for distance in away):
            kept.append(shape)
        if len(kept) == 3:
            break
    return kept


def _score(
    near: Floats, a: Line, b: Line, first: Floats, last: Floats
) -> list[tuple[float, _Shape]]:
    """Return the two best splits and fills of one pair of corners, with their squared sums."""
    leg = last - first
    length = float(np.linalg.norm(leg))
    middle = leg / length
    half = _half_tangents(a, middle, b)
    split, fill = (grid.ravel() for grid in np.meshgrid(_SPLITS, _FILLS, indexing="ij"))
    before = (near - first) @ middle < split[:, None] * length
    total = np.zeros(split.size)
    for corner, u1, u2, rows, share, tangent in (
        (first, a.direction, middle, before, split, half[0]),
        (last, middle, b.direction, ~before, 1.0 - split, half[1]),
    ):
        local, out = _in_plane(near, corner, u1, u2)
        off = arc_offsets(local, 2.0 * float(np.arctan(tangent)), share * fill * length / tangent)
        total += ((off**2 + out) * rows).sum(axis=1)
    return [
        (float(total[i]), _Shape(first, last, float(split[i]), float(fill[i])))
        for i in np.argsort(total)[:2]
    ]


def _in_plane(near: Floats, corner: Floats, u1: Floats, u2: Floats) -> tuple[Floats, Floats]:
    """In-plane coordinates from a corner, and squared distances from its plane."""
    normal = u2 - (u1 @ u2) * u1
    normal = normal / max(float(np.linalg.norm(normal)), 1e-9)
    d = near - corner
    local = np.stack((d @ u1, d @ normal), axis=1)
    out = np.einsum("ij,ij->i", d, d) - np.einsum("ij,ij->i", local, local)
    return local, np.maximum(out, 0.0)


def _fit_shape(
    points: Floats,
    a: Line,
    b: Line,
    shape: _Shape,
    offset: int,
    sigma: float,
    clip: float | None,
) -> ChainFit:
    before = float((shape.first - points[0]) @ a.direction)
    after = float((points[-1] - shape.last) @ b.direction)
    size = float(np.linalg.norm(shape.last - shape.first))
    # where a straight has no points of its own the line may start anywhere before the bend
    before, after = max(before, size), max(after, size)
    nodes = np.stack(
        (
            shape.first - before * a.direction,
            shape.first,
            shape.last,
            shape.last + after * b.direction,
        )
    )
    middle = (shape.last - shape.first) / size
    beyond = (points[offset:] - shape.first) @ middle >= shape.split * size
    cut = offset + (int(beyond.argmax()) if beyond.any() else beyond.size)
    chain = Chain(
        nodes,
        shape.radii(a, b),
        np.array([0, cut, points.shape[0]], dtype=np.intp),
        np.array([FREE, FREE], dtype=np.intp),
    )
    return fit_chain(points, chain, sigma, clip=clip, steps=8, tolerance=0.1)


def end_arc(
    points: Floats, line: Line, first_straight: int, sigma: float, clip: float | None
) -> ChainFit | None:
    """Return the best arc that starts at the first point and runs into a straight.

    Parameters
    ----------
    points : (n, 3) float
        Points of the arc, then of the straight. [m]
    line : Line
        The straight.
    first_straight : int
        Where the straight starts, about.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    """
    u = line.direction
    best: tuple[float, Chain] | None = None
    for place in {int(first_straight * share) for share in (0.6, 0.8, 1.0, 1.2, 1.5)}:
        at = min(max(place, 2), points.shape[0] - 2)
        chain = _arc_into(points, line, line.point + ((points[at] - line.point) @ u) * u)
        if chain is None:
            continue
        leg = chain.nodes_m[1] - chain.nodes_m[0]
        leg = leg / np.linalg.norm(leg)
        local, out = _in_plane(points, chain.nodes_m[1], leg, u)
        angle = float(np.arccos(np.clip(leg @ u, -1.0, 1.0)))
        cost = float(arc_costs(local, angle, chain.radii_m)[0]) + float(out.mean())
        if best is None or cost < best[0]:
            best = (cost, chain)
    if best is None:
        return None
    return fit_chain(points, best[1], sigma, clip=clip, steps=25, tolerance=0.1)


def _arc_into(points: Floats, line: Line, tangent_point: Floats) -> Chain | None:
    """Return the arc from the first point that touches a line at a point, a little longer."""
    u = line.direction
    chord = points[0] - tangent_point
    along = float(chord @ u)
    side = chord - along * u
    width = float(np.linalg.norm(side))
    if width <= 0.0 or along >= 0.0:
        return None
    inward = side / width
    radius = float(chord @ chord) / (2.0 * width)
    angle = 2.0 * float(np.arctan2(width, -along)) + _BEYOND_RAD
    if not angle < 2.9:
        return None
    tangent = radius * np.tan(angle / 2.0)
    corner = tangent_point - tangent * u
    first = np.cos(angle) * u - np.sin(angle) * inward
    nodes = np.stack(
        (
            corner - (tangent + radius) * first,
            corner,
            corner + max(float((points[-1] - corner) @ u), 1.5 * tangent) * u,
        )
    )
    return Chain(
        nodes,
        np.array([radius]),
        np.array([0, points.shape[0]], dtype=np.intp),
        np.array([FREE], dtype=np.intp),
        bare_start=True,
    )
