"""Straights beside bends that might be none, and bends that might have a straight between them.

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
from analyzer.geometry.survey_chain import FREE, HALVES, TOUCHING, Chain, frames, turn_at
from analyzer.geometry.survey_fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey_models import piece_of, reversed_chain

__all__ = ["Doubts", "bare_ends", "find_doubts", "no_doubts", "reported_angles"]

_SHORT = 0.7
"""Straight between two bends, over a radius of theirs, that might be none."""

_END_POINTS = (2, 3, 4, 6, 9)
"""Points of a short straight that is tried before an arc at an end."""

_LEAST_TURN_RAD = 0.05
_MOST_TURN_RAD = 2.9
"""Turn left to an arc with a straight before it, and of one drawn out over a straight. [rad]"""

_PLAIN_RISE = 100.0
"""Rise of chi-square, by estimate, from which a straight at an end is not tried as none."""

_GAPS = (0.03, 0.06, 0.1, 0.15, 0.2, 0.3, 0.45, 0.7, 1.0)
"""Straights tried between touching bends, over the longest that might be none."""

_OVER = 10.0
"""Rise of chi-square that ends the trial of longer ones."""

_OPEN = 4.0
"""Rise of chi-square up to which a straight is not ruled out (two deviations)."""

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
    open_m, open_rad : (m,) float
        Where a bend touches the next: the longest straight there that the points do not rule
        out, and how far the angle of either bend moves with it. [m] [rad]
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
    return Doubts(*np.zeros((4, bends)))


def find_doubts(points: Floats, fit: ChainFit, sigma: float) -> Doubts:
    """Return what the models add that explain the points about as well as the chosen one.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The chosen chain, fitted.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    m = fit.chain.radii_m.size
    doubts = no_doubts(m)
    _between(points, fit, sigma, doubts)
    for corner in {0, m - 1}:
        _at_end(points, fit, sigma, corner, doubts)
    return doubts


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


def _between(points: Floats, fit: ChainFit, sigma: float, doubts: Doubts) -> None:
    """Add the doubts whether bends touch."""
    chain = fit.chain
    joints = chain.joints
    f = frames(chain)
    slack = f.l2[:-1] - f.tangent[:-1] - f.tangent[1:]
    price = -log(2.0 * points.shape[0])
    for k in range(joints.size - 1):
        limit = _SHORT * float(chain.radii_m[k : k + 2].max())
        if joints[k] == HALVES or (joints[k] == FREE and slack[k] > limit):
            continue
        first = k - 1 if k > 0 and joints[k - 1] != FREE else k
        last = k + 2 if joints[k + 1] != FREE else k + 1
        piece = piece_of(fit, first, last)
        local = points[piece.low : piece.high]
        now = _fit(local, piece.chain, sigma)
        if joints[k] == TOUCHING:
            angles, radii, open_m, open_rad = _opened(local, now, k - first, sigma)
            doubts.open_m[k], doubts.open_rad[k] = open_m, open_rad
        else:
            other = _fit(local, _closed(piece.chain, k - first), sigma)
            weight = _weight(now, other, price)
            angles, radii = (weight * square for square in _moves(local, now, other))
        doubts.angles_rad2[first : last + 1] += angles
        doubts.radii_m2[first : last + 1] += radii


def _closed(chain: Chain, k: int) -> Chain:
    """Return a chain with bends k and k + 1 touching; the smaller radius grows to that."""
    joints, radii = chain.joints.copy(), chain.radii_m.copy()
    f = frames(chain)
    small = k if radii[k] < radii[k + 1] else k + 1
    joints[k] = TOUCHING
    free = float(f.l2[k] - f.tangent[k] - f.tangent[k + 1])
    radii[small] += max(free, 0.0) / np.tan(f.angle[small] / 2.0)
    return replace(chain, joints=joints, radii_m=radii)


def _opened(
    local: Floats, now: ChainFit, k: int, sigma: float
) -> tuple[Floats, Floats, float, float]:
    """Return what straights of all lengths between touching bends k and k + 1 add.

    Before the points are seen, touching counts as much as all lengths up to `_SHORT` together.
    The last two values are the longest straight that is not ruled out and what it moves.
    """
    limit = _SHORT * float(now.chain.radii_m[k : k + 2].min())
    lengths, rises = [0.0], [0.0]
    moves = [_moves(local, now, now)]
    gaps = np.zeros(now.chain.radii_m.size - 1)
    start = now.chain
    for part in _GAPS:
        gaps[k] = part * limit
        other = _fit(local, replace(start, gaps_m=gaps.copy()), sigma)
        lengths.append(part)
        rises.append(other.chi2 - now.chi2)
        moves.append(_moves(local, now, other))
        if rises[-1] > _OVER:
            break
        start = other.chain
    weights = np.exp(-0.5 * np.maximum(rises, -50.0))
    weights /= 1.0 + float(np.trapezoid(weights, lengths))
    angles, radii = (np.array(squares) for squares in zip(*moves, strict=True))
    last = max(i for i, rise in enumerate(rises) if rise <= _OPEN)
    return (
        np.trapezoid(weights[:, None] * angles, lengths, axis=0),
        np.trapezoid(weights[:, None] * radii, lengths, axis=0),
        lengths[last] * limit,
        float(np.sqrt(angles[last][k : k + 2].max())),
    )


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
