"""Joint maximum-likelihood fit of a chain of straights and arcs to noisy points.

For isotropic noise and unknown stations along the path the likelihood depends on the orthogonal
distances only: in the plane of the bend and across it. Every point touches ten unknowns, so the
normal matrix is banded and one step costs a time proportional to points and bends. Touching bends
and the two halves of a return are held together by stiff springs.

Source: Levenberg-Marquardt on the derivatives of `survey_chain`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from math import inf

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import (
    Chain,
    Frames,
    Ints,
    State,
    evaluate,
    jacobian,
    move_cuts,
)
from analyzer.geometry.survey.springs import penalties, penalty_cost

__all__ = [
    "UNKNOWNS",
    "ChainFit",
    "deviation_of",
    "evaluate_chain",
    "fit_chain",
    "fit_line",
    "normal_band",
    "solve_band",
]

_BAND = 16
"""Rows of the band: overlapping tangents tie four nodes of four unknowns."""

UNKNOWNS = np.array([1, 2, 3, 4, 5, 6, 7, 9, 10, 11])
"""Places of a bend's ten unknowns among the four of each of its three nodes."""

_SHRINK = 0.3
"""Part of itself that a radius keeps in a step at least: beyond lies the valley of corners."""

_UNSEEN = 0.1
"""Tangent of a corner, over sigma, from which its radius shrinks no further."""

_HELD = 1e9
"""Times the largest weight there is that holds a radius as it is. Own choice."""

_TIE = 0.03
_FIRM = 1e-4
_COVARIANCE = 1e-2
"""Give of the springs that hold ties while searching, in the last fit, and for the covariance.

The last is a hundredth of a deviation: firmer, the digits of what the points say would be lost.
"""


@dataclass(frozen=True, slots=True)
class ChainFit:
    """A fitted chain.

    Attributes
    ----------
    chain : Chain
        The best chain.
    residuals_m : (n, 2) float
        Distance of each point in its bend's plane (toward the center) and across it. [m]
    side : (n,) int
        -1 for the points before their bend's arc, 0 on it, 1 after it.
    chi2 : float
        Sum of squares over the variance; clipped where a clip was asked for.
    converged : bool
        False where the step limit was reached first.
    """

    chain: Chain
    residuals_m: Floats
    side: Ints
    chi2: float
    converged: bool


@cache
def _lower(k: int) -> tuple[Ints, Ints]:
    """Rows and columns of the lower half of a square."""
    rows, columns = np.tril_indices(k)
    return rows, columns


def _add_blocks(band: Floats, blocks: Floats, columns: Ints) -> None:
    """Add symmetric blocks (m, k, k) at columns (m, k) to a lower band."""
    i, j = _lower(columns.shape[1])
    cols = columns[:, j]
    places = (columns[:, i] - cols) * band.shape[1] + cols
    band += np.bincount(places.ravel(), blocks[:, i, j].ravel(), band.size).reshape(band.shape)


def _normal(state: State, jac: Floats, weights: Floats | None) -> tuple[Floats, Floats]:
    """Banded normal matrix and gradient of half the sum of squares."""
    m = state.chain.radii_m.size
    size = 4 * (m + 2)
    res = state.residuals
    if weights is not None:
        root = np.sqrt(weights)
        jac, res = jac * root[:, None, None], res * root[:, None]
    columns = 4 * np.arange(m)[:, None] + UNKNOWNS
    blocks, sides = np.empty((m, 10, 10)), np.empty((m, 10))
    cuts = 2 * state.chain.cuts
    slopes, left = jac.reshape(-1, 10), res.ravel()
    for k, (low, high) in enumerate(pairwise(cuts.tolist())):
        rows = slopes[low:high]
        blocks[k] = rows.T @ rows
        sides[k] = left[low:high] @ rows
    band = np.zeros((_BAND, size))
    _add_blocks(band, blocks, columns)
    grad = np.asarray(np.bincount(columns.ravel(), sides.ravel(), size), dtype=float)
    return band, grad


def _pin(band: Floats, f: Frames, scale: float) -> None:
    """Hold the ends along their lines and the two radii that do not exist."""
    size = band.shape[1]
    i, j = _lower(3)
    for at, u in ((1, f.u1[0]), (size - 3, f.u2[-1])):
        band[i - j, at + j] += scale * u[i] * u[j]
    band[0, 0] += scale
    band[0, size - 4] += scale


def solve_band(band: Floats, right: Floats) -> Floats | None:
    """Return the solution of a symmetric positive definite band, None where it is not."""
    from scipy.linalg.lapack import dpbsv

    _, solution, info = dpbsv(band, right, lower=1)
    return solution if info == 0 and np.isfinite(solution).all() else None


def _clipped(res: Floats, limit: float | None) -> tuple[float, Floats | None]:
    """Sum of squares, logarithmic beyond a limit; and the weights of the points."""
    if limit is None:
        return float(np.square(res).sum()), None
    squares = np.vecdot(res, res)
    ratio = np.maximum(squares / limit**2, 1.0)
    cost = np.where(ratio > 1.0, limit**2 * (1.0 + np.log(ratio)), squares)
    return float(cost.sum()), 1.0 / ratio


def fit_chain(
    points: Floats,
    chain: Chain,
    sigma: float,
    *,
    clip: float | None = None,
    steps: int = 30,
    tolerance: float = 1e-2,
    hopeless: float = inf,
    firm: bool = False,
    held: int | None = None,
) -> ChainFit:
    """Return the maximum-likelihood chain from a start (Levenberg-Marquardt).

    Parameters
    ----------
    points : (n, 3) float
        Points in order, near the origin. [m]
    chain : Chain
        The start.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float, optional
        Residuals beyond so many sigma weigh less; none by default.
    steps : int
        Greatest number of steps.
    tolerance : float
        Stop when a full step promises a fall of chi-square below this.
    hopeless : float
        Stop after four steps when chi-square is still above this.
    firm : bool
        Hold touching bends together to a nanometer instead of a fraction of sigma.
    held : int, optional
        Bend whose radius stays as it is.
    """
    tie = _FIRM if firm else _TIE
    limit = None if clip is None else clip * sigma
    state = evaluate(points, chain)
    moved = move_cuts(state)
    if not np.array_equal(moved, chain.cuts):
        state = evaluate(points, replace(chain, cuts=moved))
    damping = 1e-4
    cost, weights = _cost(state, limit, tie)
    converged = False
    fresh = True
    for step in range(steps):
        if fresh:
            band, grad = _system(state, weights, tie)
            if held is not None:
                band[0, 4 * (held + 1)] += _HELD * float(band[0].max())
                grad[4 * (held + 1)] = 0.0
            fresh = False
        damped = band.copy()
        damped[0] *= 1.0 + damping
        delta = solve_band(damped, -grad)
        if delta is None:
            damping = max(damping * 10.0, 1e-3)
            continue
        promise = -float(grad @ delta) / sigma**2
        if promise < tolerance and damping < 0.1:
            converged = True
            break
        trial = _step(state, delta, sigma)
        ratio = trial.radii_m / state.chain.radii_m
        bad = bool((ratio <= 0.05).any() or (damping < 1.0 and (ratio < _SHRINK).any()))
        if not bad:
            new = evaluate(points, trial)
            moved = move_cuts(new)
            if not np.array_equal(moved, trial.cuts):
                new = evaluate(points, replace(trial, cuts=moved))
            new_cost, new_weights = _cost(new, limit, tie)
            bad = not new_cost < cost
        if bad:
            damping *= 10.0
            if damping > 1e8:
                break
            continue
        state, cost, weights, fresh = new, new_cost, new_weights, True
        damping = max(damping / 10.0, 1e-9)
        if step >= 4 and cost > hopeless * sigma**2:
            break
    data_cost = _clipped(state.residuals, limit)[0]
    return ChainFit(state.chain, state.residuals, _side(state), data_cost / sigma**2, converged)


def _side(state: State) -> Ints:
    return state.last.astype(np.intp) - state.first.astype(np.intp)


def evaluate_chain(
    points: Floats, chain: Chain, sigma: float, clip: float | None = None
) -> ChainFit:
    """Return a chain as it stands, with its residuals; points are cut anew.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    chain : Chain
        The chain; no bend of it is moved.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less in its chi-square; None where all count in full.
    """
    state = evaluate(points, chain)
    moved = move_cuts(state)
    if not np.array_equal(moved, chain.cuts):
        state = evaluate(points, replace(chain, cuts=moved))
    cost = _clipped(state.residuals, None if clip is None else clip * sigma)[0]
    return ChainFit(state.chain, state.residuals, _side(state), cost / sigma**2, False)


def _cost(state: State, limit: float | None, tie: float) -> tuple[float, Floats | None]:
    cost, weights = _clipped(state.residuals, limit)
    return cost + penalty_cost(state.chain, state.frames, tie), weights


def _system(state: State, weights: Floats | None, tie: float) -> tuple[Floats, Floats]:
    """Return normal matrix and gradient with penalties and pins."""
    band, grad = _normal(state, jacobian(state), weights)
    # of what the points say, not of the springs: those would make a radius look known
    touch = 1e-12 * float(band[0].max())
    extra, rows, first = penalties(state.chain, state.frames, tie)
    if extra.size:
        # one bend alone has fewer unknowns than a row: what is left over is zero
        columns = np.minimum(first[:, None] + np.arange(16), band.shape[1] - 1)
        _add_blocks(band, rows[:, :, None] * rows[:, None, :], columns)
        np.add.at(grad, columns, rows * extra[:, None])
    _pin(band, state.frames, max(float(band[0].max()), 1e-12))
    # a leg without points leaves a direction free: a touch of weight keeps the matrix regular
    band[0] += touch
    return band, grad


def _step(state: State, delta: Floats, sigma: float) -> Chain:
    """Return the chain after a step; a radius too small to show does not hold the others up."""
    chain, moves = state.chain, delta.reshape(-1, 4)
    radii = chain.radii_m + moves[1:-1, 0]
    sharp = state.frames.tangent < _UNSEEN * sigma
    if sharp.any():
        radii = np.where(sharp, np.maximum(radii, chain.radii_m), radii)
    return replace(chain, nodes_m=chain.nodes_m + moves[:, 1:], radii_m=radii)


def normal_band(points: Floats, chain: Chain, weights: Floats | None = None) -> Floats:
    """Return the banded normal matrix of a chain (unit variance), for its covariance.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    chain : Chain
        The chain of m bends.
    weights : (n,) float or None
        Weight of each point; None where all count in full.

    Returns
    -------
    (16, 4 (m + 2)) float
        Diagonal and lower bands; four unknowns a node, the radius first.
    """
    state = evaluate(points, chain)
    return _system(state, weights, _COVARIANCE)[0]


def deviation_of(points: Floats, chain: Chain, gradient: Floats, sigma: float) -> float:
    """Return the deviation of a value of a chain from the curvature of the likelihood.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    chain : Chain
        The fitted chain of m bends.
    gradient : (4 (m + 2),) float
        Derivatives of the value by all unknowns.
    sigma : float
        Standard deviation of one coordinate. [m]

    Returns
    -------
    float
        In the unit of the value; infinite where the points do not tell it.
    """
    solved = solve_band(normal_band(points, chain), gradient)
    variance = 0.0 if solved is None else float(gradient @ solved)
    return sigma * float(np.sqrt(variance)) if variance > 0.0 else inf


def fit_line(points: Floats) -> tuple[Floats, Floats, Floats]:
    """Return center, unit direction of travel and residuals (n, 2) of the best line.

    Residuals are the two components across the line, in meters.
    """
    center = points.mean(axis=0)
    d = points - center
    _, vectors = np.linalg.eigh(d.T @ d)
    direction = vectors[:, 2]
    if direction @ (points[-1] - points[0]) < 0.0:
        direction = -direction
    return center, direction, d @ vectors[:, :2]
