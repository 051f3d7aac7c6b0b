"""Bends told by three shots each: the start, the middle and the end of the arc.

So do people measure who know the raceway: few shots, each at a place that means something. The
straights then hold too few points to be found as such. Here every bend takes three shots in a row,
and what lies between is straight: the fewest bends whose straights are straight within the stated
accuracy are found by dynamic programming, and one joint fit gives the values. The reading stands
only where all points agree with it, and where the start and end shots stand about where the arc
through the middle shot begins and ends: corners do so by a rare chance only.

Source: own method; dynamic programming over break points (Bellman, Communications of the ACM 4,
1961).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import inf, sqrt, tan

import numpy as np
from numpy.typing import ArrayLike

from analyzer.findings import Finding, Severity
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.answer import SurveyFit, answer_of
from analyzer.geometry.survey.chain import FREE, Chain, frames
from analyzer.geometry.survey.few_points import FEW, TOO_FEW
from analyzer.geometry.survey.fit import ChainFit, fit_chain, fit_line
from analyzer.geometry.survey.models import price_of_a_bend
from analyzer.geometry.survey.passes import Pass, unknowns_of
from analyzer.geometry.survey.windows import chi2_limit

__all__ = ["fit_three_shots"]

_FEWEST, _MOST = 7, 120
"""Points of a run that is read so: one bend with two shots on each straight, and many bends."""

_SURE = 3.3
"""Normal deviations that the fit and every straight of it may stand off."""

_PLACED, _SURE_RADIUS = 0.22, 4.0
"""How far the radius that the start or end shot tells by its place may be off, over the radius,
and in deviations of it: nobody measures to the inch where a bend begins."""

_APART, _TOLD_RAD = 12.0, 0.05
"""Accuracies that shots of one bend stand apart at least, and the largest deviation of an angle:
closer together, the points of any curve could be taken for three shots a bend."""

_EVEN = 2.0
"""Ratio of the two chords of a bend up to which the middle shot stands in the middle."""

_LEAST_TURN_RAD, _LARGEST_TURN_RAD = 0.05, 2.6
_FINE_M = 1e-7


def fit_three_shots(
    points_m: ArrayLike, accuracy_m: float, *, station_m: float = 0.0
) -> SurveyFit | None:
    """Return points read with three shots a bend; None where they do not bear that out.

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order. [m]
    accuracy_m : float
        Stated standard deviation of one coordinate. [m]
    station_m : float
        Station of the first point, for the places that findings name. [m]
    """
    points = np.asarray(points_m, dtype=float)
    if not _FEWEST <= points.shape[0] <= _MOST:
        return None
    offset = points.mean(axis=0)
    local = points - offset
    starts = _fewest_bends(local, accuracy_m)
    start = _chain_of(local, starts) if starts else None
    if start is None:
        return None
    fit = fit_chain(local, start, accuracy_m, tolerance=1e-4, firm=True)
    freedom = max(2.0 * points.shape[0] - unknowns_of(fit), 1.0)
    if not fit.chi2 <= chi2_limit(freedom, _SURE) or not _is_told(local, fit, starts, accuracy_m):
        return None
    best = Pass(np.arange(points.shape[0]), fit, fit.residuals_m, freedom, 1.0, False)
    found = answer_of(local, offset, best, accuracy_m, (accuracy_m, _FINE_M, 1.0), station_m)
    if any(not bend.angle_sd_rad < _TOLD_RAD for bend in found.bends):
        return None
    numbered = tuple(one for one in found.numbered if one.code not in (TOO_FEW, FEW))
    said = Finding(
        "survey-three-shots",
        Severity.CAUTION,
        "the points are too few to find the straights among them; three shots a bend explain them "
        "within the stated accuracy and are taken for its start, its middle and its end. That a "
        "bend is not two with a short straight between was not measured: shoot more points on it "
        'to be sure. Where every shot is a corner, read_as = "corners" in the job says so.',
    )
    return replace(found, of_points=(said, *found.of_points), numbered=numbered)


def _fewest_bends(points: Floats, sigma: float) -> list[int]:
    """Return the first shot of every bend; empty where no bends leave straights between them."""
    n = points.shape[0]
    price = price_of_a_bend(n)
    # by the shot that a straight begins at: least cost of all before, and the bend that ends there
    cost = np.full(n, inf)
    before = np.full(n, -1)
    came = np.full(n, -1)
    cost[0] = 0.0
    best, last = inf, -1
    for begin in range(n - 1):
        if not cost[begin] < inf:
            continue
        for end in range(begin + 1, n):
            off = _off_line(points[begin : end + 1], sigma)
            count = end - begin - 1
            if count and off > chi2_limit(2.0 * count, _SURE):
                break
            if end == n - 1 and cost[begin] + off < best:
                best, last = cost[begin] + off, begin
            if end + 2 < n - 1 and cost[begin] + off + price < cost[end + 2]:
                cost[end + 2] = cost[begin] + off + price
                before[end + 2], came[end + 2] = end, begin
    found: list[int] = []
    while last > 0:
        found.insert(0, int(before[last]))
        last = int(came[last])
    return found


def _off_line(points: Floats, sigma: float) -> float:
    """Sum of squares beside the best line of some points, over the variance."""
    if points.shape[0] < 3:
        return 0.0
    return float((fit_line(points)[2] ** 2).sum()) / sigma**2


def _chain_of(points: Floats, starts: list[int]) -> Chain | None:
    """Return the chain of arcs through the middle shots, tangent to the straights beside them."""
    n = points.shape[0]
    edges = [0, *(v for s in starts for v in (s, s + 2)), n - 1]
    lines = [fit_line(points[a : b + 1])[:2] for a, b in zip(edges[::2], edges[1::2], strict=True)]
    ways = []
    for (_, way), a, b in zip(lines, edges[::2], edges[1::2], strict=True):
        ways.append(way if way @ (points[b] - points[a]) > 0.0 else -way)
    nodes, radii = [_foot(points[0], lines[0][0], ways[0])], []
    for k, start in enumerate(starts):
        turn = float(np.arccos(np.clip(ways[k] @ ways[k + 1], -1.0, 1.0)))
        if not _LEAST_TURN_RAD < turn < _LARGEST_TURN_RAD:
            return None
        corner = _nearest_place(lines[k][0], ways[k], lines[k + 1][0], ways[k + 1])
        away = float(np.linalg.norm(points[start + 1] - corner))
        reach = float(np.linalg.norm(points[[start, start + 2]] - corner, axis=1).mean())
        nodes.append(corner)
        by_middle = away / (1.0 / np.cos(turn / 2.0) - 1.0)
        by_ends = reach / tan(turn / 2.0)
        radii.append(float(np.clip(by_middle, 0.5 * by_ends, 1.5 * by_ends)))
    nodes.append(_foot(points[-1], lines[-1][0], ways[-1]))
    middles = [(a + 2 + b) // 2 + 1 for a, b in pairwise(starts)]
    cuts = np.array([0, *middles, n])
    joints = np.full(len(starts), FREE)
    return Chain(np.array(nodes), np.array(radii), cuts, joints)


def _foot(point: Floats, center: Floats, way: Floats) -> Floats:
    return np.asarray(center + ((point - center) @ way) * way)


def _nearest_place(a: Floats, u: Floats, b: Floats, v: Floats) -> Floats:
    """Return the place halfway between two lines where they come nearest."""
    across = float(u @ v)
    gap = b - a
    share = max(1.0 - across**2, 1e-12)
    s = float(gap @ u - across * (gap @ v)) / share
    t = float(across * (gap @ u) - gap @ v) / share
    return np.asarray((a + s * u + b + t * v) / 2.0)


def _is_told(points: Floats, fit: ChainFit, starts: list[int], sigma: float) -> bool:
    """Whether the start and end shots of every bend stand about where its arc begins and ends."""
    f = frames(fit.chain)
    for k, start in enumerate(starts):
        one, middle, two = points[start : start + 3]
        chords = sorted((float(np.linalg.norm(middle - one)), float(np.linalg.norm(two - middle))))
        if not _APART * sigma <= chords[0] or not chords[1] <= _EVEN * chords[0]:
            return False
        radius, half = float(fit.chain.radii_m[k]), float(f.angle[k]) / 2.0
        spread = sigma * sqrt(1.5) / (1.0 / np.cos(half) - 1.0)
        reach = np.linalg.norm(np.array([one, two]) - fit.chain.nodes_m[k + 1], axis=1)
        told = reach / tan(half)
        if (np.abs(told - radius) > _PLACED * told + _SURE_RADIUS * spread).any():
            return False
    return True
