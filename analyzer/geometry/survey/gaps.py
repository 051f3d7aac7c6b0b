"""What lies between two straights: one tangent arc, or shorter straights not yet found.

Long straights are found first; a gap closes as soon as one arc explains it, and only open gaps are
searched for shorter straights.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, HALVES, Chain
from analyzer.geometry.survey.fit import ChainFit, fit_chain, fit_line
from analyzer.geometry.survey.traces import explains
from analyzer.geometry.survey.windows import SHORTEST, best_windows, grow_straight

__all__ = [
    "RETURN",
    "Line",
    "Sketch",
    "Stretch",
    "arc_costs",
    "arc_offsets",
    "half_arcs",
    "line_chi2",
    "one_arc",
    "sketch_straights",
]

_SHARE = 150
"""Most points of a straight that a trial fit uses."""

RETURN = -0.94
"""Cosine of the turn (160°) beyond which a bend is read as two half arcs."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line: a point on it and its unit direction of travel."""

    point: Floats
    direction: Floats


@dataclass(frozen=True, slots=True)
class Stretch:
    """A straight stretch of points, start to stop (excluded), and its line."""

    start: int
    stop: int
    line: Line


@dataclass(frozen=True, slots=True)
class Sketch:
    """Straights found, and for each gap between two of them the arc that explains it, if any."""

    straights: tuple[Stretch, ...]
    arcs: tuple[ChainFit | None, ...]


def _corner_of(a: Line, b: Line) -> tuple[Floats, float, float, float] | None:
    """Return the middle of the closest approach of two lines, its places along both, the miss."""
    d = b.point - a.point
    c = float(a.direction @ b.direction)
    det = 1.0 - c * c
    if det < 1e-12:
        return None
    p, q = float(d @ a.direction), float(d @ b.direction)
    s, t = (p - c * q) / det, (c * p - q) / det
    on_a, on_b = a.point + s * a.direction, b.point + t * b.direction
    return (on_a + on_b) / 2.0, s, t, float(np.linalg.norm(on_a - on_b))


def arc_offsets(local: Floats, theta: float, radii: Floats) -> Floats:
    """Return the in-plane distance of points from a corner's curve, (radii, points). [m]

    Parameters
    ----------
    local : (k, 2) float
        In-plane coordinates from the corner, along the first leg and toward the center. [m]
    theta : float
        Turn of the corner. [rad]
    radii : (r,) float
        Radii to try. [m]
    """
    tangent = radii * np.tan(theta / 2.0)
    x, y = local[:, 0], local[:, 1]
    dx, dy = x + tangent[:, None], radii[:, None] - y
    psi = np.arctan2(dx, dy) - theta / 2.0
    psi = np.where(psi < -pi, psi + 2.0 * pi, psi)
    last = y * np.cos(theta) - x * np.sin(theta)
    arc = radii[:, None] - np.hypot(dx, dy)
    off = np.where(psi < -theta / 2.0, y, np.where(psi > theta / 2.0, last, arc))
    return np.asarray(off)


def arc_costs(local: Floats, theta: float, radii: Floats) -> Floats:
    """Return the mean squared in-plane distance of points for several radii, (r,). [m2]

    Takes what `arc_offsets` does.
    """
    return np.asarray((arc_offsets(local, theta, radii) ** 2).mean(axis=1))


def _start_radius(
    points: Floats, corner: Floats, u1: Floats, u2: Floats, reach: float
) -> tuple[float, float] | None:
    """Return a start radius and its mean squared distance, None where no angle shows."""
    c = float(u1 @ u2)
    normal = u2 - c * u1
    s = float(np.linalg.norm(normal))
    if s < 1e-7:
        return None
    theta = float(np.arctan2(s, c))
    d = points - corner
    local = np.stack((d @ u1, d @ (normal / s)), axis=1)
    most = max(reach / np.tan(theta / 2.0), 1e-9)
    height = float(np.linalg.norm(d, axis=1).min())
    bulge = 1.0 / np.cos(theta / 2.0) - 1.0
    span = float(np.linalg.norm(points[-1] - points[0]))
    guesses = np.append(
        most * np.geomspace(0.01, 1.0, 9), [height / max(bulge, 1e-9), span / theta]
    )
    guesses = np.clip(guesses, 1e-3 * most, most)
    costs = arc_costs(local, theta, guesses)
    for factor in (1.28, 1.13, 1.06, 1.03):
        best = guesses[int(np.argmin(costs))]
        guesses = np.array([best / factor, best, min(best * factor, most)])
        costs = arc_costs(local, theta, guesses)
    k = int(np.argmin(costs))
    return float(guesses[k]), float(costs[k])


def one_arc(
    points: Floats,
    a: Line,
    b: Line,
    gap: tuple[int, int],
    sigma: float,
    clip: float | None,
    *,
    chain: Chain | None = None,
) -> ChainFit | None:
    """Return the best single bend between two lines through points, None where none is near.

    Parameters
    ----------
    points : (n, 3) float
        The points of both straights and of the gap.
    a, b : Line
        The straights before and behind it.
    gap : (int, int)
        Range of the points between the straights.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    chain : Chain, optional
        The bends it would replace: their outer ends bound the legs, not the points, which may
        end on an arc.
    """
    found = _corner_of(a, b)
    if found is None:
        return None
    corner, _, _, _ = found
    near = max(gap[0] - 8, 0), min(gap[1] + 8, points.shape[0])
    pick = np.unique(np.linspace(near[0], near[1] - 1, min(near[1] - near[0], 60)).astype(int))
    ends = points if chain is None else chain.nodes_m
    before = float((corner - ends[0]) @ a.direction)
    after = float((ends[-1] - corner) @ b.direction)
    if before <= 0.0 or after <= 0.0:
        return None
    begun = _start_radius(points[pick], corner, a.direction, b.direction, min(before, after))
    if begun is None:
        return None
    radius, cost = begun
    half = float(np.arccos(np.clip(a.direction @ b.direction, -1.0, 1.0))) / 2.0
    bulge = radius * (1.0 / max(np.cos(half), 1e-3) - 1.0)
    allowed = (400.0 * sigma**2 + (0.02 * bulge) ** 2) * (1.0 + 0.3 * np.tan(half) ** 4)
    if cost > allowed:
        return None
    nodes = np.stack((corner - before * a.direction, corner, corner + after * b.direction))
    start = Chain(
        nodes,
        np.array([radius]),
        np.array([0, points.shape[0]], dtype=np.intp),
        np.zeros(1, dtype=np.intp),
    )
    freedom = 2.0 * points.shape[0]
    return fit_chain(
        points,
        start,
        sigma,
        clip=clip,
        steps=15,
        tolerance=0.1,
        hopeless=freedom + 40.0 * sqrt(2.0 * freedom) + 200.0,
    )


def half_arcs(
    points: Floats, a: Line, b: Line, gap: tuple[int, int], sigma: float, clip: float | None
) -> ChainFit | None:
    """Return the best return bend near 180 degrees, as two half arcs; None where none is near.

    The tangent at the middle of the arc gives the two corners; the plane comes from the points.

    Parameters
    ----------
    points : (n, 3) float
        The points of both straights and of the gap. [m]
    a, b : Line
        The straights before and behind it.
    gap : (int, int)
        First point between the straights, and the first behind them.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less; None where all count in full.
    """
    low, high = max(gap[0] - 8, 0), min(gap[1] + 8, points.shape[0])
    near = points[low:high]
    if near.shape[0] < 5:
        return None
    center = near.mean(axis=0)
    axis = np.linalg.eigh((near - center).T @ (near - center))[1][:, 0]
    ua = a.direction - (a.direction @ axis) * axis
    ub = b.direction - (b.direction @ axis) * axis
    ua, ub = ua / max(np.linalg.norm(ua), 1e-9), ub / max(np.linalg.norm(ub), 1e-9)
    if np.cross(ua, center - near[0]) @ axis < 0.0:
        axis = -axis
    turn = float(np.arctan2(np.cross(ua, ub) @ axis, ua @ ub)) % (2.0 * pi)
    if not 2.0 < turn < 5.0:
        return None
    along = ua * np.cos(turn / 2.0) + np.cross(axis, ua) * np.sin(turn / 2.0)
    inward = np.cross(axis, along)
    height = float((near @ inward).min())
    place = []
    for line, u in ((a, ua), (b, ub)):
        slope = float(u @ inward)
        t = (height - float(line.point @ inward)) / slope if abs(slope) > 1e-3 else 0.0
        place.append(line.point + t * line.direction)
    first, last = place
    width = float((last - first) @ along)
    radius = width / (2.0 * np.tan(turn / 4.0))
    before = float((first - points[0]) @ a.direction)
    after = float((points[-1] - last) @ b.direction)
    if radius <= 0.0 or before <= 0.0 or after <= 0.0:
        return None
    nodes = np.stack((first - before * a.direction, first, last, last + after * b.direction))
    middle = (first + last) / 2.0
    cut = gap[0] + int((((points[gap[0] : gap[1] + 1] - middle) @ along) < 0.0).sum())
    chain = Chain(
        nodes,
        np.array([radius, radius]),
        np.array([0, min(cut, points.shape[0]), points.shape[0]]),
        np.array([HALVES, FREE], dtype=np.intp),
    )
    freedom = 2.0 * points.shape[0]
    return fit_chain(
        points,
        chain,
        sigma,
        clip=clip,
        steps=25,
        tolerance=0.1,
        hopeless=30.0 * freedom + 1000.0,
    )


def sketch_straights(points: Floats, sigma: float, clip: float | None) -> Sketch:
    """Find straights from long to short until every gap is explained by one arc.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less; None where all count in full.
    """
    n = points.shape[0]
    search = _Search(points, sigma, clip)
    width = float(n)
    while True:
        size = max(round(width), SHORTEST)
        search.level(size)
        if size == SHORTEST:
            break
        width /= sqrt(2.0) if width > 8 else 1.0 + 1.0 / width
    return Sketch(tuple(search.straights), tuple(search.arcs))


class _Search:
    """Straights accepted so far, in order, and the arcs between them."""

    def __init__(self, points: Floats, sigma: float, clip: float | None) -> None:
        self.points, self.sigma, self.clip = points, sigma, clip
        self.straights: list[Stretch] = []
        self.arcs: list[ChainFit | None] = []

    def open_gaps(self) -> list[tuple[int, int]]:
        """Ranges of points not yet explained."""
        n = self.points.shape[0]
        if not self.straights:
            return [(0, n)]
        gaps = [(0, self.straights[0].start)]
        for before, after, arc in zip(self.straights, self.straights[1:], self.arcs, strict=False):
            if arc is None:
                gaps.append((before.stop, after.start))
        gaps.append((self.straights[-1].stop, n))
        return [gap for gap in gaps if gap[1] - gap[0] >= SHORTEST]

    def level(self, width: int) -> None:
        """Accept the straight windows of one width, best first."""
        gaps = self.open_gaps()
        for _, start in best_windows(self.points, gaps, width, self.sigma, self.clip):
            place = bisect_right([s.start for s in self.straights], start)
            low = self.straights[place - 1].stop if place else 0
            after = place < len(self.straights)
            high = self.straights[place].start if after else self.points.shape[0]
            if start < low or start + width > high:
                continue
            if 0 < place < len(self.straights) and self.arcs[place - 1] is not None:
                continue
            self._accept(place, start, start + width, low, high)

    def _accept(self, place: int, start: int, stop: int, low: int, high: int) -> None:
        start, stop = grow_straight(self.points, start, stop, low, high, self.sigma, self.clip)
        center, direction, _ = fit_line(self.points[start:stop])
        self.straights.insert(place, Stretch(start, stop, Line(center, direction)))
        if len(self.straights) > 1:
            self.arcs.insert(max(place - 1, 0), None)
        for gap in (place - 1, place):
            if 0 <= gap < len(self.straights) - 1:
                self.arcs[gap] = self._explain(gap)

    def _explain(self, gap: int) -> ChainFit | None:
        a, b = self.straights[gap], self.straights[gap + 1]
        low, high = max(a.start, a.stop - _SHARE), min(b.stop, b.start + _SHARE)
        local = (a.stop - low, b.start - low)
        bent = float(a.line.direction @ b.line.direction) < RETURN
        reader = half_arcs if bent else one_arc
        fit = reader(self.points[low:high], a.line, b.line, local, self.sigma, self.clip)
        if fit is None or not explains(fit, local, self.sigma, self.clip):
            return None
        return fit


def line_chi2(points: Floats, sigma: float, clip: float | None) -> float:
    """Return the chi-square of the best line through points; 0 where they are fewer than three.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less; None where all count in full.
    """
    if points.shape[0] < 3:
        return 0.0
    residual = fit_line(points)[2] / sigma
    squares = np.einsum("ij,ij->i", residual, residual)
    if clip is not None:
        ratio = np.maximum(squares / clip**2, 1.0)
        squares = np.where(ratio > 1.0, clip**2 * (1.0 + np.log(ratio)), squares)
    return float(squares.sum())
