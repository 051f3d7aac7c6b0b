"""Straights at the ends of a run that might be none, and arcs there that might have one.

Such a model explains the points nearly as well as the chosen one and moves angles and radii by far
more than their deviations within one model. Each is weighed by its penalized likelihood against
the chosen one, and what it would change adds to the deviations.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey_chain import FREE, HALVES, Chain, frames, turn_at
from analyzer.geometry.survey_fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey_models import piece_of, reversed_chain

__all__ = ["Doubts", "add_doubts_of_ends", "bare_ends", "no_doubts", "reported_angles"]

_END_POINTS = (2, 3, 4, 6, 9)
"""Points of a short straight that is tried before an arc at an end."""

_LEAST_TURN_RAD = 0.05
_MOST_TURN_RAD = 2.9
"""Turn left to an arc with a straight before it, and of one drawn out over a straight. [rad]"""

_PLAIN_RISE = 100.0
"""Rise of chi-square, by estimate, from which a straight at an end is not tried as none."""

_MOST_TIED = 3
"""Bends that may touch one another in a piece tried at an end."""

_STEPS = 100


@dataclass(frozen=True, slots=True)
class Doubts:
    """What other models add to the variances of a chain, by its corners.

    Attributes
    ----------
    angles_rad2, radii_m2 : (m,) float
        Added to the variance of every angle and radius. [rad2] [m2]
    open_m : (m, 2) float
        Where a bend is near the next: the shortest and the longest straight between them that
        the points do not rule out. [m]
    open_rad : (m,) float
        How far the angle of either bend moves with them. [rad]
    """

    angles_rad2: Floats
    radii_m2: Floats
    open_m: Floats
    open_rad: Floats


def bare_ends(fit: ChainFit) -> tuple[bool, bool]:
    """Return whether the first and the last bend have no points on their outer straight."""
    side, cuts = fit.side, fit.chain.cuts
    first, last = side[: cuts[1]], side[cuts[-2] :]
    return bool(first.size and not (first < 0).any()), bool(last.size and not (last > 0).any())


def reported_angles(points: Floats, fit: ChainFit) -> Floats:
    """Return the angle of every corner; at an end without a straight up to the end point's foot."""
    chain = fit.chain
    angles = frames(chain).angle.copy()
    whole = angles[-1]
    start, end = bare_ends(fit)
    if start:
        angles[0] -= turn_at(points[0], chain, 0)[0]
    if end:
        angles[-1] -= whole - turn_at(points[-1], chain, angles.size - 1)[0]
    return np.asarray(angles)


def no_doubts(bends: int) -> Doubts:
    """Return doubts that add nothing to so many corners."""
    return Doubts(np.zeros(bends), np.zeros(bends), np.zeros((bends, 2)), np.zeros(bends))


def add_doubts_of_ends(points: Floats, fit: ChainFit, sigma: float, doubts: Doubts) -> None:
    """Add what other ends would change that explain the points about as well.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The chosen chain, fitted.
    sigma : float
        Standard deviation of one coordinate. [m]
    doubts : Doubts
        Added to.
    """
    for corner in {0, fit.chain.radii_m.size - 1}:
        _at_end(points, fit, sigma, corner, doubts)


def _moves(points: Floats, now: ChainFit, other: ChainFit) -> tuple[Floats, Floats]:
    """Return the squares of how far another fit moves the angles and radii."""
    angles = reported_angles(points, other) - reported_angles(points, now)
    return angles**2, (other.chain.radii_m - now.chain.radii_m) ** 2


def _weight(now: ChainFit, other: ChainFit, price: float) -> float:
    """Return the weight of another fit against the first; price: of its unknowns over those."""
    rise = min(max(other.chi2 - now.chi2 + price, -50.0), 500.0)
    return 1.0 / (1.0 + exp(rise / 2.0))


def _fit(points: Floats, chain: Chain, sigma: float) -> ChainFit:
    return fit_chain(points, chain, sigma, tolerance=0.02, steps=_STEPS)


def _at_end(points: Floats, fit: ChainFit, sigma: float, corner: int, doubts: Doubts) -> None:
    """Add the doubts whether the run begins or ends in an arc, at its first or last corner."""
    m = fit.chain.radii_m.size
    way = 1 if corner == 0 else -1
    run, of_way = points, fit
    if way < 0:
        run = points[::-1]
        of_way = evaluate_chain(run, reversed_chain(fit.chain), sigma)
    joints = of_way.chain.joints
    if joints[0] == HALVES:
        return
    last = 0
    while joints[last] != FREE and last < _MOST_TIED:
        last += 1
    piece = piece_of(of_way, 0, last)
    local = run[piece.low : piece.high]
    now = _fit(local, piece.chain, sigma)
    others = _other_starts(local, now, sigma)
    if m == 1:
        others += _other_ends(local, now, sigma)
        others += [
            both
            for other in others
            if bare_ends(other)[0]
            for both in _other_ends(local, other, sigma)
            if bare_ends(both)[1]
        ]
    squares = np.zeros((2, last + 1))
    for other in others:
        fewer = sum(bare_ends(now)) - sum(bare_ends(other))
        weight = _weight(now, other, fewer * log(2.0 * points.shape[0]))
        squares = np.maximum(squares, weight * np.array(_moves(local, now, other)))
    doubts.angles_rad2[::way][: last + 1] += squares[0]
    doubts.radii_m2[::way][: last + 1] += squares[1]


def _other_ends(local: Floats, now: ChainFit, sigma: float) -> list[ChainFit]:
    """Return one bend with another end, as `_other_starts` of the bend traveled backward."""
    back = local[::-1]
    turned = evaluate_chain(back, reversed_chain(now.chain), sigma)
    return [
        evaluate_chain(local, reversed_chain(other.chain), sigma)
        for other in _other_starts(back, turned, sigma)
    ]


def _other_starts(local: Floats, now: ChainFit, sigma: float) -> list[ChainFit]:
    """Return a piece with a straight before it where it has none, or without one."""
    chain = now.chain
    f = frames(chain)
    radius, angle = float(chain.radii_m[0]), float(f.angle[0])
    if bare_ends(now)[0]:
        found = []
        for count in _END_POINTS:
            if count + 2 > int((now.side[: chain.cuts[1]] == 0).sum()):
                break
            turned = turn_at(local[count - 1], chain, 0)[0]
            if angle - turned < _LEAST_TURN_RAD:
                break
            start = replace(_turned(local, chain, angle - turned), bare_start=False)
            other = _fit(local, start, sigma)
            if (other.side[: other.chain.cuts[1]] < 0).any():
                found.append(other)
        return found
    before = float((chain.nodes_m[1] - local[0]) @ f.u1[0] - f.tangent[0])
    step = float(np.median(leg_lengths(local)))
    turn = angle + max(before, 0.0) / radius + 0.05
    rise = max(before, 0.0) ** 5 / (700.0 * radius**2 * step * sigma**2)
    if rise > _PLAIN_RISE or turn > _MOST_TURN_RAD:
        return []
    return [_fit(local, replace(_turned(local, chain, turn), bare_start=True), sigma)]


def _turned(local: Floats, chain: Chain, angle: float) -> Chain:
    """Return a chain whose first bend has another angle, its end as it is."""
    f = frames(chain)
    radius = float(chain.radii_m[0])
    less = float(f.angle[0]) - angle
    along = np.cos(less) * f.u1[0] + np.sin(less) * f.n1[0]
    end = chain.nodes_m[1] + f.tangent[0] * f.u2[0]
    corner = end - radius * np.tan(angle / 2.0) * f.u2[0]
    before = max(float((corner - local[0]) @ along), radius * np.tan(angle / 2.0))
    nodes = np.concatenate(((corner - before * along, corner), chain.nodes_m[2:]))
    return replace(chain, nodes_m=nodes)
