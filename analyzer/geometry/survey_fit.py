"""Joint maximum-likelihood fit of a chain of straights and arcs to noisy points.

For isotropic noise and unknown stations along the path the likelihood depends on the orthogonal
distances only: in the plane of the bend and across it. Every point touches ten unknowns, so the
normal matrix is banded and one step costs a time proportional to points and bends. Touching bends
and the two halves of a return are held together by stiff springs.

Source: Levenberg-Marquardt on the derivatives of `survey_chain`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey_chain import (
    FREE,
    HALVES,
    LIKE,
    TOUCHING,
    Chain,
    Frames,
    Ints,
    State,
    angle_gradients,
    evaluate,
    jacobian,
    move_cuts,
)

__all__ = [
    "ChainFit",
    "end_gradient",
    "evaluate_chain",
    "fit_chain",
    "fit_line",
    "normal_band",
    "slack_gradients",
    "solve_band",
]

_BAND = 16
"""Rows of the band: overlapping tangents tie four nodes of four unknowns."""

_HELD = 1e9
_TIE = 0.03
_FIRM = 1e-4
_SLACK = 0.05
"""Give of the springs that hold ties while searching, in the last fit, and overlaps; ratios."""


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


def _columns(m: int) -> Ints:
    """Places of the ten unknowns of each bend among four unknowns a node."""
    columns: Ints = 4 * np.arange(m)[:, None] + np.array([1, 2, 3, 4, 5, 6, 7, 9, 10, 11])
    return columns


def _add_blocks(band: Floats, blocks: Floats, columns: Ints) -> None:
    """Add symmetric blocks (m, k, k) at columns (m, k) to a lower band."""
    i, j = np.tril_indices(columns.shape[1])
    rows, cols = columns[:, i], columns[:, j]
    np.add.at(band, (rows - cols, cols), blocks[:, i, j])


def _normal(state: State, jac: Floats, weights: Floats | None) -> tuple[Floats, Floats]:
    """Banded normal matrix and gradient of half the sum of squares."""
    m = state.chain.radii_m.size
    size = 4 * (m + 2)
    band, grad = np.zeros((_BAND, size)), np.zeros(size)
    res = state.residuals
    if weights is not None:
        root = np.sqrt(weights)
        jac, res = jac * root[:, None, None], res * root[:, None]
    columns = _columns(m)
    blocks, sides = np.empty((m, 10, 10)), np.empty((m, 10))
    cuts = state.chain.cuts
    for k in range(m):
        rows = jac[cuts[k] : cuts[k + 1]].reshape(-1, 10)
        blocks[k] = rows.T @ rows
        sides[k] = rows.T @ res[cuts[k] : cuts[k + 1]].ravel()
    _add_blocks(band, blocks, columns)
    np.add.at(grad, columns, sides)
    return band, grad


def _joints_held(chain: Chain, f: Frames) -> tuple[Floats, Ints]:
    """Straight left between neighboring bends; the joints where it is held or overlaps."""
    if chain.radii_m.size < 2:
        return np.empty(0), np.empty(0, dtype=np.intp)
    slack = f.l2[:-1] - f.tangent[:-1] - f.tangent[1:]
    if chain.gaps_m is not None:
        slack = slack - chain.gaps_m
    joints = chain.joints[:-1]
    return slack, np.flatnonzero((slack < 0.0) | (joints == TOUCHING) | (joints == HALVES))


def _extra_cost(chain: Chain, f: Frames, tie: float) -> float:
    """Sum of squares of the penalties, without their derivatives."""
    slack, held = _joints_held(chain, f)
    ends_held = chain.lead_m is not None or chain.tail_m is not None
    if ends_held or (chain.joints >= HALVES).any():
        extra = _penalties(chain, f, tie)[0]
        return float(extra @ extra)
    if held.size == 0:
        return 0.0
    give = np.where(chain.joints[held] == FREE, _SLACK, tie)
    return float(((slack[held] / give) ** 2).sum())


def _penalties(chain: Chain, f: Frames, tie: float) -> tuple[Floats, Floats, Ints]:
    """Overlap of neighboring tangents, straights that are held, and bends that are alike.

    Returns residuals (k,), gradients (k, 16) and first columns (k,), in units of length.
    """
    slack, held = _joints_held(chain, f)
    alike = np.flatnonzero(chain.joints >= HALVES)
    ends = [
        (end, asked) for end, asked in enumerate((chain.lead_m, chain.tail_m)) if asked is not None
    ]
    if held.size + alike.size + len(ends) == 0:
        return np.empty(0), np.empty((0, 16)), np.empty(0, dtype=np.intp)
    rows = slack_gradients(chain, f, held)
    joints = chain.joints[held]
    give = np.where((joints == FREE) | (joints == LIKE), _SLACK, tie)
    residuals, rows, first = slack[held] / give, rows / give[:, None], 4 * held
    if alike.size:
        d_angle = angle_gradients(f)
        ties = [(tied, int(k)) for k in alike for tied in _ties(chain, f, d_angle, int(k))]
        residuals = np.concatenate((residuals, [value / tie for (value, _), _ in ties]))
        rows = np.concatenate((rows, [gradient / tie for (_, gradient), _ in ties]))
        first = np.concatenate((first, [4 * k for _, k in ties]))
    lengths = (f.l1[0] - f.tangent[0], f.l2[-1] - f.tangent[-1])
    for end, asked in ends:
        gradient, column = end_gradient(chain, f, end)
        residuals = np.append(residuals, (lengths[end] - asked) / tie)
        rows = np.concatenate((rows, gradient[None] / tie))
        first = np.append(first, column)
    return residuals, rows, first.astype(np.intp)


def end_gradient(chain: Chain, f: Frames, end: int) -> tuple[Floats, int]:
    """Return the derivatives (16,) of the straight at the start (0) or end (1), and their column.

    Where there is one bend only the last four stand for nothing.
    """
    m = chain.radii_m.size
    k = 0 if end == 0 else m - 1
    column = 0 if end == 0 else 4 * max(m - 2, 0)
    half = np.tan(f.angle / 2.0)
    d_tangent = angle_gradients(f)[k] * (0.5 * chain.radii_m[k] * (1.0 + half[k] ** 2))
    row = np.zeros(16)
    own = 4 * k - column
    for node in range(3):
        row[own + 4 * node + 1 : own + 4 * node + 4] -= d_tangent[node]
    row[own + 4] -= half[k]
    near, far = (own + 5, own + 1) if end == 0 else (own + 5, own + 9)
    along = f.u1[0] if end == 0 else -f.u2[-1]
    row[near : near + 3] += along
    row[far : far + 3] -= along
    return row, column


def slack_gradients(chain: Chain, f: Frames, joints: Ints) -> Floats:
    """Return derivatives of the straights after some bends, (k, 16): by four nodes' unknowns."""
    half = np.tan(f.angle / 2.0)
    d_tangent = angle_gradients(f) * (0.5 * chain.radii_m * (1.0 + half**2))[:, None, None]
    rows = np.zeros((joints.size, 16))
    for offset in (0, 1):
        for node in range(3):
            at = 4 * (offset + node) + 1
            rows[:, at : at + 3] -= d_tangent[joints + offset, node]
        rows[:, 4 * (offset + 1)] -= half[joints + offset]
    rows[:, 5:8] -= f.u2[joints]
    rows[:, 9:12] += f.u2[joints]
    return rows


def _ties(chain: Chain, f: Frames, d_angle: Floats, k: int) -> list[tuple[float, Floats]]:
    """Equal radii, equal angles and one plane of the two halves of an arc."""
    radius = float(chain.radii_m[k])
    equal_r = np.zeros(16)
    equal_r[4], equal_r[8] = 1.0, -1.0
    equal_a = np.zeros(16)
    for node in range(3):
        equal_a[4 * node + 1 : 4 * node + 4] += radius * d_angle[k, node]
        equal_a[4 * node + 5 : 4 * node + 8] -= radius * d_angle[k + 1, node]
    # the last direction across the first plane, w·u3, with w = u1 x u2 / s
    u1, u2, u3 = f.u1[k], f.u2[k], f.u2[k + 1]
    s, w = f.sin[k], f.axis[k]
    value = float(w @ u3)
    in_w = (u3 - value * w) / s
    by_u1, by_u2 = np.cross(u2, in_w), np.cross(in_w, u1)
    g1 = (by_u1 - u1 * (u1 @ by_u1)) / f.l1[k]
    g2 = (by_u2 - u2 * (u2 @ by_u2)) / f.l2[k]
    g3 = (w - u3 * value) / f.l2[k + 1]
    plane = np.zeros(16)
    plane[1:4] -= radius * g1
    plane[5:8] += radius * (g1 - g2)
    plane[9:12] += radius * (g2 - g3)
    plane[13:16] += radius * g3
    difference = float(chain.radii_m[k] - chain.radii_m[k + 1])
    turn = radius * float(f.angle[k] - f.angle[k + 1])
    ties = [(difference, equal_r), (radius * value, plane)]
    return ties if chain.joints[k] == LIKE else [*ties, (turn, equal_a)]


def _pin(band: Floats, f: Frames, scale: float) -> None:
    """Hold the ends along their lines and the two radii that do not exist."""
    size = band.shape[1]
    for at, u in ((1, f.u1[0]), (size - 3, f.u2[-1])):
        for i in range(3):
            for j in range(i + 1):
                band[i - j, at + j] += scale * u[i] * u[j]
    band[0, 0] += scale
    band[0, size - 4] += scale


def solve_band(band: Floats, right: Floats) -> Floats | None:
    """Return the solution of a symmetric positive definite band, None where it is not."""
    from scipy.linalg import LinAlgError, solveh_banded

    try:
        solution: Floats = solveh_banded(band, right, lower=True, check_finite=False)
    except LinAlgError:
        return None
    return solution if np.isfinite(solution).all() else None


def _clipped(res: Floats, limit: float | None) -> tuple[float, Floats | None]:
    """Sum of squares, logarithmic beyond a limit; and the weights of the points."""
    squares = np.einsum("ij,ij->i", res, res)
    if limit is None:
        return float(squares.sum()), None
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
        Hold touching bends together to a nanometre instead of a fraction of sigma.
    held : int, optional
        Bend whose radius stays as it is.
    """
    tie = _FIRM if firm else _TIE
    limit = None if clip is None else clip * sigma
    state = evaluate(points, chain)
    moved = move_cuts(points, state)
    if not np.array_equal(moved, chain.cuts):
        state = evaluate(points, replace(chain, cuts=moved))
    damping = 1e-4
    cost, weights = _cost(state, limit, tie)
    converged = False
    fresh = True
    for step in range(steps):
        if fresh:
            band, grad = _system(points, state, weights, tie)
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
        trial = _step(state.chain, delta)
        ratio = trial.radii_m / state.chain.radii_m
        bad = bool((ratio <= 0.05).any() or (damping < 1.0 and (ratio < 0.3).any()))
        if not bad:
            new = evaluate(points, trial)
            moved = move_cuts(points, new)
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
    """Return a chain as it stands, with its residuals; points are cut anew."""
    state = evaluate(points, chain)
    moved = move_cuts(points, state)
    if not np.array_equal(moved, chain.cuts):
        state = evaluate(points, replace(chain, cuts=moved))
    cost = _clipped(state.residuals, None if clip is None else clip * sigma)[0]
    return ChainFit(state.chain, state.residuals, _side(state), cost / sigma**2, False)


def _cost(state: State, limit: float | None, tie: float) -> tuple[float, Floats | None]:
    cost, weights = _clipped(state.residuals, limit)
    return cost + _extra_cost(state.chain, state.frames, tie), weights


def _system(
    points: Floats, state: State, weights: Floats | None, tie: float
) -> tuple[Floats, Floats]:
    """Return normal matrix and gradient with penalties and pins."""
    band, grad = _normal(state, jacobian(points, state), weights)
    extra, rows, first = _penalties(state.chain, state.frames, tie)
    if extra.size:
        # one bend alone has fewer unknowns than a row: what is left over is zero
        columns = np.minimum(first[:, None] + np.arange(16), band.shape[1] - 1)
        _add_blocks(band, rows[:, :, None] * rows[:, None, :], columns)
        np.add.at(grad, columns, rows * extra[:, None])
    _pin(band, state.frames, max(float(band[0].max()), 1e-12))
    # a leg without points leaves a direction free: a touch of weight keeps the matrix regular
    band[0] += 1e-12 * float(band[0].max())
    return band, grad


def _step(chain: Chain, delta: Floats) -> Chain:
    moves = delta.reshape(-1, 4)
    nodes = chain.nodes_m + moves[:, 1:]
    return replace(chain, nodes_m=nodes, radii_m=chain.radii_m + moves[1:-1, 0])


def normal_band(points: Floats, chain: Chain, weights: Floats | None = None) -> Floats:
    """Return the banded normal matrix of a chain (unit variance), for its covariance."""
    state = evaluate(points, chain)
    return _system(points, state, weights, _FIRM)[0]


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
