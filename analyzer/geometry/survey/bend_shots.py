"""Bends told by few shots each: the start and the end of the arc, and some between.

So do people measure who know the raceway: few shots, each at a place that means something. The
straights then hold too few points to be found as such. Here every bend takes three shots in a row
or more, the first and the last of them its start and its end, and what lies between bends is
straight: the fewest bends whose shots lie on a circle and whose straights are straight within the
stated accuracy are found by dynamic programming, and one joint fit gives the values. The reading
stands only where all points agree with it, and where the start and end shots stand about where the
arc through the shots between begins and ends: corners do so by a rare chance only.

Source: own method; dynamic programming over break points (Bellman, Communications of the ACM 4,
1961).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import inf, sqrt, tan
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from analyzer.findings import Finding, Severity
from analyzer.geometry.circle_fit import fit_circle
from analyzer.geometry.corners import meeting_point
from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.answer import SurveyFit, answer_of
from analyzer.geometry.survey.chain import FREE, Chain, frames
from analyzer.geometry.survey.few_points import FEW, TOO_FEW
from analyzer.geometry.survey.fit import ChainFit, fit_chain, fit_line
from analyzer.geometry.survey.models import price_of_a_bend
from analyzer.geometry.survey.passes import Pass, unknowns_of
from analyzer.geometry.survey.windows import chi2_limit
from analyzer.geometry.vectors import to_vector

__all__ = ["fit_bend_shots"]

_FEWEST, _MOST = 7, 120
"""Points of a run that is read so: one bend with two shots on each straight, and many bends."""

_SURE = 3.3
"""Normal deviations that the fit and every straight of it may stand off."""

_LEAST_SHOTS, _MOST_SHOTS = 3, 12
"""Shots of one bend."""

_PLACED, _SURE_PLACE = 0.22, 4.0
"""How far the start or end of an arc may be off its first or last shot, over the way from there to
its corner, and in deviations of that: nobody measures to the inch where a bend begins. Where more
than three shots tell the arc, it may begin anywhere within their outer chords."""

_APART, _TOLD_RAD = 12.0, 0.05
"""Accuracies that three shots of one bend stand apart at least, and half the way over more of them;
and the largest deviation of an angle: closer together, the points of any curve could be taken for
shots on bends."""

_WIDEST, _WIDEST_MORE = 2.0 / 3.0, 0.6
"""Part of the way over the shots of a bend, three or more, that is free of shots at most."""

_LEAST_TURN_RAD, _LARGEST_TURN_RAD = 0.05, 2.6
"""Turns between which a bend told by few shots lies. [rad] Own choice."""

_FINE_M = 1e-7


class _Shots(NamedTuple):
    """First and last shot of one bend."""

    first: int
    last: int


def fit_bend_shots(
    points_m: ArrayLike, accuracy_m: float, *, station_m: float = 0.0
) -> SurveyFit | None:
    """Return points read with few shots on every bend; None where they do not bear that out.

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
    bends = _fewest_bends(local, accuracy_m)
    start = _chain_of(local, bends) if bends else None
    if start is None:
        return None
    fit = fit_chain(local, start, accuracy_m, tolerance=1e-4, firm=True)
    freedom = max(2.0 * points.shape[0] - unknowns_of(fit), 1.0)
    if not fit.chi2 <= chi2_limit(freedom, _SURE):
        return None
    bends = _shots_of_arcs(local, fit)
    if not _are_told(local, fit, bends, accuracy_m):
        return None
    best = Pass(np.arange(points.shape[0]), fit, fit.residuals_m, freedom, 1.0, False)
    found = answer_of(local, offset, best, accuracy_m, (accuracy_m, _FINE_M, 1.0), station_m)
    if any(not bend.angle_sd_rad < _TOLD_RAD for bend in found.bends):
        return None
    numbered = tuple(one for one in found.numbered if one.code not in (TOO_FEW, FEW))
    said = Finding(
        "survey-bend-shots",
        Severity.CAUTION,
        f"the points are too few to find the straights among them; {_counted(bends)} shots a bend "
        "explain them within the stated accuracy, the first and the last of them taken for its "
        "start and its end. That a bend is not two with a short straight between was not measured: "
        "shoot more points on it to be sure. Where every shot is a corner, read_as = "
        '"corners" in the job says so.',
    )
    return replace(found, of_points=(said, *found.of_points), numbered=numbered)


def _counted(bends: Sequence[_Shots]) -> str:
    counts = [bend.last - bend.first + 1 for bend in bends]
    least, most = min(counts), max(counts)
    return str(least) if least == most else f"{least} to {most}"


def _fewest_bends(points: Floats, sigma: float) -> list[_Shots]:
    """Return the shots of every bend; none where no bends leave straights between them."""
    n = points.shape[0]
    price = price_of_a_bend(n)
    arcs = _arc_costs(points, sigma)
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
            for stop in range(end + _LEAST_SHOTS - 1, min(end + _MOST_SHOTS, n - 1)):
                total = cost[begin] + off + price + arcs[stop - end, end]
                if total < cost[stop]:
                    cost[stop] = total
                    before[stop], came[stop] = end, begin
    found: list[_Shots] = []
    while last > 0:
        found.insert(0, _Shots(int(before[last]), last))
        last = int(came[last])
    return found


def _arc_costs(points: Floats, sigma: float) -> Floats:
    """Squares beside the best circle over the variance, by legs and first shot: (shots, n).

    Infinite where so many shots do not lie on one circle. Three always do.
    """
    n = points.shape[0]
    costs = np.full((_MOST_SHOTS, n), inf)
    costs[2, : n - 2] = 0.0
    for legs in range(_LEAST_SHOTS, _MOST_SHOTS):
        limit = chi2_limit(2.0 * (legs - 2), _SURE)
        for first in range(1, n - 1 - legs):
            if not costs[legs - 1, first] < inf:
                continue  # no more shots than lie on one circle
            circle = fit_circle(points[first : first + legs + 1])
            off = inf if circle is None else (legs + 1) * (circle.rms_m / sigma) ** 2
            costs[legs, first] = off if off <= limit else inf
    return costs


def _off_line(points: Floats, sigma: float) -> float:
    """Sum of squares beside the best line of some points, over the variance."""
    if points.shape[0] < 3:
        return 0.0
    return float((fit_line(points)[2] ** 2).sum()) / sigma**2


def _chain_of(points: Floats, bends: Sequence[_Shots]) -> Chain | None:
    """Return the chain of arcs through the shots between, tangent to the straights beside them."""
    n = points.shape[0]
    edges = [0, *(shot for bend in bends for shot in bend), n - 1]
    lines = [fit_line(points[a : b + 1])[:2] for a, b in zip(edges[::2], edges[1::2], strict=True)]
    ways = []
    for (_, way), a, b in zip(lines, edges[::2], edges[1::2], strict=True):
        ways.append(way if way @ (points[b] - points[a]) > 0.0 else -way)
    nodes, radii = [_foot(points[0], lines[0][0], ways[0])], []
    for k, (first, last) in enumerate(bends):
        turn = float(np.arccos(np.clip(ways[k] @ ways[k + 1], -1.0, 1.0)))
        if not _LEAST_TURN_RAD < turn < _LARGEST_TURN_RAD:
            return None
        beside = (lines[k][0], ways[k], lines[k + 1][0], ways[k + 1])
        corner = np.array(meeting_point(*(to_vector(row) for row in beside)))
        away = np.linalg.norm(points[first : last + 1] - corner, axis=1)
        reach = float(away[[0, -1]].mean())
        nodes.append(corner)
        by_middle = float(away[1:-1].min()) / (1.0 / np.cos(turn / 2.0) - 1.0)
        by_ends = reach / tan(turn / 2.0)
        radii.append(float(np.clip(by_middle, 0.5 * by_ends, 1.5 * by_ends)))
    nodes.append(_foot(points[-1], lines[-1][0], ways[-1]))
    middles = [(before.last + after.first) // 2 + 1 for before, after in pairwise(bends)]
    cuts = np.array([0, *middles, n])
    joints = np.full(len(bends), FREE)
    return Chain(np.array(nodes), np.array(radii), cuts, joints)


def _foot(point: Floats, center: Floats, way: Floats) -> Floats:
    return np.asarray(center + ((point - center) @ way) * way)


def _shots_of_arcs(points: Floats, fit: ChainFit) -> list[_Shots]:
    """Return the shots nearest to the start and the end of every arc."""
    f, nodes, cuts = frames(fit.chain), fit.chain.nodes_m[1:-1], fit.chain.cuts
    starts, ends = nodes - f.tangent[:, None] * f.u1, nodes + f.tangent[:, None] * f.u2
    found = []
    for start, end, low, high in zip(starts, ends, cuts[:-1], cuts[1:], strict=True):
        own = points[low:high]
        first, last = (np.linalg.norm(own - place, axis=1).argmin() for place in (start, end))
        found.append(_Shots(int(low + first), int(low + last)))
    return found


def _are_told(points: Floats, fit: ChainFit, bends: Sequence[_Shots], sigma: float) -> bool:
    """Whether every arc begins and ends about where its shots do, and they stand all along it."""
    f = frames(fit.chain)
    for k, (first, last) in enumerate(bends):
        if last - first + 1 < _LEAST_SHOTS:
            return False
        chords = leg_lengths(points[first : last + 1])
        three = len(chords) == _LEAST_SHOTS - 1
        if not 2.0 * _APART * sigma <= (2.0 * chords.min() if three else chords.sum()):
            return False
        if not chords.max() <= (_WIDEST if three else _WIDEST_MORE) * chords.sum():
            return False
        half = float(f.angle[k]) / 2.0
        spread = sigma * sqrt(1.5) / (1.0 / np.cos(half) - 1.0) * tan(half)
        reach = np.linalg.norm(points[[first, last]] - fit.chain.nodes_m[k + 1], axis=1)
        placed = _PLACED * reach if three else np.maximum(_PLACED * reach, chords[[0, -1]])
        if (np.abs(reach - f.tangent[k]) > placed + _SURE_PLACE * spread).any():
            return False
    return True
