"""Two bends of one radius and plane with a short straight between, in place of one bend.

Chance imitates them as rarely as it does a bend at half the price, because two unknowns fall away.
To first order the residuals of the one bend tell how long a straight they ask for, how far
chi-square would fall, and how long a straight could hide.

Source: own derivation.
"""

from __future__ import annotations

from math import sqrt

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, LIKE, Chain, State, evaluate, frames, jacobian
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain

__all__ = ["hidden_straight", "like_arcs"]

_SHARES = (0.2, 0.35, 0.5, 0.65, 0.8)
"""Parts of the turn that the first of two like bends is tried with."""

_SHORT, _LONGEST = 0.1, 0.6
"""Straight between two like bends that tells the slope, and the longest to start from; in radii."""

_CHANCE = 2.0
"""Deviations by which chance may hide more of a straight than it does on the average."""

_TINY = 0.005
"""Straight that tells the slope where none is there; in radii."""

_TRACE = 4.0
"""Fall of chi-square that a straight must promise, to first order, to be tried."""

_RADIUS = 3
"""Place of the radius among the ten unknowns of a bend."""


def like_arcs(points: Floats, one: ChainFit, sigma: float, clip: float | None) -> ChainFit | None:
    """Return the best two bends of one radius and plane, a straight between, in place of one.

    None where the residuals of the one bend show no trace of such a straight.

    Parameters
    ----------
    points : (n, 3) float
        The points of the bend and of both straights. [m]
    one : ChainFit
        The one bend, fitted.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    """
    state = evaluate(points, one.chain)
    size = np.linalg.norm(state.residuals, axis=1, keepdims=True)
    limit = np.inf if clip is None else clip * sigma
    errors = (state.residuals * np.minimum(1.0, limit / np.maximum(size, 1e-300))).ravel()
    radius = float(one.chain.radii_m[0])
    ways = _ways(points, state)
    found: list[tuple[float, float, float]] = []
    for share in _SHARES:
        alone, _ = _traces(points, one, state, ways, share, _SHORT)
        length = -float(alone @ errors) / max(float(alone @ alone), 1e-300)
        gain = float(alone @ alone) * length**2 / sigma**2
        if length > 0.0 and gain > _TRACE:
            found.append((gain, share, length))
    best: ChainFit | None = None
    for _, share, length in sorted(found, reverse=True)[:2]:
        straight = min(length / radius, _LONGEST)
        parts = (1.0 - 0.3 * straight, 1.0 - 0.6 * straight, 1.0 - straight)
        tried = [_like_start(points, one, share, straight, part) for part in parts]
        start = min((evaluate_chain(points, chain, sigma, clip) for chain in tried), key=_chi2)
        fit = fit_chain(points, start.chain, sigma, clip=clip, steps=40, tolerance=0.05)
        if best is None or fit.chi2 < best.chi2:
            best = fit
    return best


def hidden_straight(
    points: Floats, one: ChainFit, sigma: float, fall: float
) -> tuple[float, float]:
    """Return the longest straight in one bend that would not show, and the radius it adds.

    Two bends of one radius and plane with such a straight between are read as one bend whose
    radius is too large by so much. To first order, in the middle of the bend.

    Parameters
    ----------
    points : (n, 3) float
        The points of the bend and of both straights. [m]
    one : ChainFit
        The one bend, fitted.
    sigma : float
        Standard deviation of one coordinate. [m]
    fall : float
        Fall of chi-square from which two bends are read.

    Returns
    -------
    (float, float)
        Length and excess of the radius. [m] Infinite where the points do not tell.
    """
    state = evaluate(points, one.chain)
    alone, excess = _traces(points, one, state, _ways(points, state), 0.5, _TINY)
    trace = float(np.sqrt(alone @ alone))
    if not trace > 0.0:
        return np.inf, np.inf
    length = (sqrt(fall) + _CHANCE) * sigma / trace
    return length, abs(excess) * length


def _ways(points: Floats, state: State) -> tuple[Floats, Floats]:
    """Residuals that the unknowns of one bend can move (2n, k), and its radius by each (k,)."""
    slopes = jacobian(state).reshape(2 * points.shape[0], 10)
    ways, strengths, turns = np.linalg.svd(slopes, full_matrices=False)
    told = strengths > 1e-9 * strengths[0]
    return ways[:, told], turns[told, _RADIUS] / strengths[told]


def _traces(
    points: Floats,
    one: ChainFit,
    state: State,
    ways: tuple[Floats, Floats],
    share: float,
    step: float,
) -> tuple[Floats, float]:
    """Residuals that a straight in one bend leaves whatever the fit, and the radius it adds.

    Both by meter of the straight; the first bend has a share of the turn; the step is in radii.
    """
    radius = float(one.chain.radii_m[0])
    with_straight = evaluate(points, _like_start(points, one, share, step, 1.0)).residuals
    change = (with_straight - state.residuals).ravel() / (step * radius)
    taken = ways[0].T @ change
    return change - ways[0] @ taken, float(ways[1] @ taken)


def _chi2(fit: ChainFit) -> float:
    return fit.chi2


def _like_start(points: Floats, one: ChainFit, share: float, straight: float, part: float) -> Chain:
    """Return two like bends between the lines of one, the first with a share of its turn."""
    chain, f = one.chain, frames(one.chain)
    angle, radius = float(f.angle[0]), part * float(chain.radii_m[0])
    first, last = share * angle, (1.0 - share) * angle
    tangents = radius * (np.tan(first / 2.0) + np.tan(last / 2.0))
    # the leg between the corners sees the old corner under the two angles: law of sines
    per_sine = (tangents + straight * float(chain.radii_m[0])) / float(f.sin[0])
    start = chain.nodes_m[1] - per_sine * np.sin(last) * f.u1[0]
    stop = chain.nodes_m[1] + per_sine * np.sin(first) * f.u2[0]
    cut = int(((points - (start + stop) / 2.0) @ (stop - start) < 0.0).sum())
    return Chain(
        np.stack((chain.nodes_m[0], start, stop, chain.nodes_m[2])),
        np.array([radius, radius]),
        np.array([0, cut, points.shape[0]], dtype=np.intp),
        np.array([LIKE, FREE], dtype=np.intp),
        chain.bare_start,
        chain.bare_end,
        None,
        chain.lead_m,
        chain.tail_m,
    )
