"""Three bends between two straights, as of a saddle whose short straights hold hardly a point.

They start from a small grid of three corners, scored on few points, and end in the joint fit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, Chain
from analyzer.geometry.survey.fit import ChainFit, fit_chain
from analyzer.geometry.survey.gaps import Line, arc_offsets
from analyzer.geometry.survey.models import foot_on

__all__ = ["three_arcs"]

_PLACES = (0.0, 0.08, 0.16, 0.25, 0.35)
"""Outer corners, in parts of the path between the straights from its ends on."""

_BEYOND = (1.0, 1.2)
"""Height of the middle corner over that of a point: corners stand outside their arcs."""

_FILLS = (0.9, 0.5, 0.2)
"""Radius over the greatest that the legs leave room for."""

_TRIED, _UNLIKE = 4, 0.05
"""Starts that are fitted, and how far apart their corners stand at least, over the path."""

_MOST_MIDDLES, _MOST_SCORED = 8, 36
"""Points that place the middle corner, and that a start is scored on, at most."""

_STEPS, _MORE_STEPS = 12, 25
"""Steps of the fit of every start, and of the best once more where it did not end."""


@dataclass(frozen=True, slots=True)
class _Start:
    """Three corners, one radius, and the mean squared distance of the points."""

    corners: Floats
    radius: float
    cost: float


def three_arcs(
    points: Floats, a: Line, b: Line, gap: tuple[int, int], sigma: float, clip: float | None
) -> ChainFit | None:
    """Return the best three bends between two lines; None where too few points could tell them.

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
    n = points.shape[0]
    low, high = max(gap[0] - 3, 0), min(gap[1] + 3, n)
    if gap[1] - gap[0] < 3 or high - low < 8:
        return None
    best: ChainFit | None = None
    for start in _starts(points, a, b, gap, low, high):
        fit = fit_chain(
            points, _chain(points, a, b, start), sigma, clip=clip, steps=_STEPS, tolerance=0.1
        )
        if best is None or fit.chi2 < best.chi2:
            best = fit
    if best is None or best.converged:
        return best
    return fit_chain(points, best.chain, sigma, clip=clip, steps=_MORE_STEPS, tolerance=0.1)


def _starts(
    points: Floats, a: Line, b: Line, gap: tuple[int, int], low: int, high: int
) -> list[_Start]:
    """Return the best starts of the grid that differ."""
    pick = np.linspace(low, high - 1, min(high - low, _MOST_SCORED)).round().astype(np.intp)
    near = points[np.unique(pick)]
    path = float(leg_lengths(points[low:high]).sum())
    enter = foot_on(points[max(gap[0] - 1, 0)], a)
    leave = foot_on(points[min(gap[1], points.shape[0] - 1)], b)
    between = np.linspace(gap[0], gap[1] - 1, min(gap[1] - gap[0], _MOST_MIDDLES))
    middles = points[np.unique(between.round().astype(np.intp))]
    base = leave - enter
    base = base / max(float(np.linalg.norm(base)), 1e-300)
    feet = enter + ((middles - enter) @ base)[:, None] * base
    apexes = np.concatenate([feet + beyond * (middles - feet) for beyond in _BEYOND])
    found: list[_Start] = []
    for before in _PLACES:
        for after in _PLACES:
            first = enter + before * path * a.direction
            last = leave - after * path * b.direction
            for apex in apexes:
                start = _scored(near, a, b, np.stack((first, apex, last)))
                if start is not None:
                    found.append(start)
    found.sort(key=lambda start: start.cost)
    kept: list[_Start] = []
    for start in found:
        if all(np.abs(start.corners - k.corners).sum() > _UNLIKE * path for k in kept):
            kept.append(start)
        if len(kept) == _TRIED:
            break
    return kept


def _scored(near: Floats, a: Line, b: Line, corners: Floats) -> _Start | None:
    """Return three corners with the best of some radii; None where a leg is no leg."""
    legs = np.diff(corners, axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    if not (lengths > 0.0).all():
        return None
    u = np.stack((a.direction, *(legs / lengths[:, None]), b.direction))
    cosines = np.clip(np.vecdot(u[:-1], u[1:]), -1.0, 1.0)
    angles = np.maximum(np.arccos(cosines), 2e-4)
    if angles.max() > np.radians(150.0):
        return None
    half = np.tan(angles / 2.0)
    radii = np.array(_FILLS) * float((lengths / (half[:-1] + half[1:])).min())
    along = [(near - corners[k]) @ u[k + 1] < lengths[k] / 2.0 for k in (0, 1)]
    rows = (along[0], ~along[0] & along[1], ~along[0] & ~along[1])
    total = np.zeros(radii.size)
    for k, of in enumerate(rows):
        normal = u[k + 1] - cosines[k] * u[k]
        normal = normal / max(float(np.linalg.norm(normal)), 1e-9)
        d = near[of] - corners[k]
        local = np.stack((d @ u[k], d @ normal), axis=1)
        out = np.maximum(np.vecdot(d, d) - np.vecdot(local, local), 0.0)
        total += (arc_offsets(local, float(angles[k]), radii) ** 2 + out).sum(axis=1)
    best = int(np.argmin(total))
    return _Start(corners, float(radii[best]), float(total[best]))


def _chain(points: Floats, a: Line, b: Line, start: _Start) -> Chain:
    """Return a start as a chain."""
    first, middle, last = start.corners
    size = float(np.linalg.norm(last - first))
    # where a straight has no points of its own the line may start anywhere before the bend
    before = max(float((first - points[0]) @ a.direction), size)
    after = max(float((points[-1] - last) @ b.direction), size)
    nodes = np.stack(
        (first - before * a.direction, first, middle, last, last + after * b.direction)
    )
    cuts = [0]
    for here, there in ((first, middle), (middle, last)):
        beyond = (points - (here + there) / 2.0) @ (there - here) >= 0.0
        cuts.append(max(cuts[-1], int(beyond.argmax()) if beyond.any() else points.shape[0]))
    cuts.append(points.shape[0])
    return Chain(
        nodes,
        np.full(3, start.radius),
        np.array(cuts, dtype=np.intp),
        np.full(3, FREE, dtype=np.intp),
    )
