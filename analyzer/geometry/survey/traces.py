"""What the residuals beside a fitted bend show of anything else.

The test of an explanation is strict: a false alarm costs a search and is undone by the comparison
of whole models, a false acceptance swallows a straight.
"""

from __future__ import annotations

from math import log, pi, sqrt

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import frames
from analyzer.geometry.survey.fit import ChainFit
from analyzer.geometry.survey.windows import chi2_limit

__all__ = ["ANY_TRACE", "CLEAR_TRACE", "explains", "seems_plain"]

ANY_TRACE = 10.0
"""Chi-square of five slow cosines from which two like bends are tried in place of one."""

CLEAR_TRACE = 14.0
"""Chi-square of five slow cosines from which any two bends are tried."""

_SCATTER, _BESIDE = 3.3, 8
"""Normal deviations up to which the residuals of one bend may scatter, all of them and those of its
gap with so many points more on each side. Own choice."""

_LARGEST_SUM, _SLOW = 22.0, 38.0
"""Largest chi-square of the mean of a window (two degrees of freedom) and of six slow cosines
(twelve) that one bend may leave. Own choice; without the second, two bends of 2° passed for one of
4°."""

_PLAIN_SCATTER, _PLAIN_BESIDE = 2.3, 2
"""Normal deviations up to which the residuals near a bend are plain, and points on each side of its
gap that the five cosines run over. Own choice."""

_PLAIN_SUM, _ONCE_IN, _PLAIN_SLOW = 15.0, 50.0, 24.0
"""Least bound on the mean of a window, one in how many searches goes beyond it by chance where that
asks for more, and the bound on six slow cosines, for residuals that are plain. Own choice."""


def explains(fit: ChainFit, gap: tuple[int, int], sigma: float, clip: float | None) -> bool:
    """Whether a fitted bend explains its points without a trace of anything else.

    Parameters
    ----------
    fit : ChainFit
        One bend, or the two halves of one, fitted to n points of its gap and both straights.
    gap : (int, int)
        First point between the straights, and the first behind them.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals longer than so many sigma count as so long; None where all count in full.
    """
    residual = _held(fit.residuals_m / sigma, clip)
    n = residual.shape[0]
    freedom = max(2.0 * n - 8.0, 4.0)
    if float((residual**2).sum()) > chi2_limit(freedom, _SCATTER):
        return False
    low, high = max(gap[0] - _BESIDE, 0), min(gap[1] + _BESIDE, n)
    near = residual[low:high]
    if float((near**2).sum()) > chi2_limit(2.0 * near.shape[0], _SCATTER):
        return False
    reach = max(gap[1] - gap[0], 4)
    low, high = max(gap[0] - reach, 0), min(gap[1] + reach, n)
    near = residual[low:high]
    if _largest_sum(near) > _LARGEST_SUM or _slow_cosines(near) > _SLOW:
        return False
    f = frames(fit.chain)
    return bool(f.tangent[0] <= f.l1[0] and f.tangent[-1] <= f.l2[-1])


def seems_plain(
    fit: ChainFit,
    gap: tuple[int, int],
    sigma: float,
    clip: float | None,
    *,
    most: float = ANY_TRACE,
) -> bool:
    """Whether the residuals near a bend give no reason to try two bends in its place.

    Weaker than `explains`: few plain bends fail, which costs a trial and no more.

    Parameters
    ----------
    fit : ChainFit
        One bend, or the two halves of one, fitted to n points.
    gap : (int, int)
        First point between the straights, and the first behind them.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals longer than so many sigma count as so long; None where all count in full.
    most : float
        Chi-square of five slow cosines in the plane of the bend that still passes.
    """
    residual = _held(fit.residuals_m / sigma, clip)
    n = residual.shape[0]
    reach = max(gap[1] - gap[0], 4)
    low, high = max(gap[0] - reach, 0), min(gap[1] + reach, n)
    near = residual[low:high]
    if float((near**2).sum()) > chi2_limit(2.0 * near.shape[0], _PLAIN_SCATTER):
        return False
    low, high = max(gap[0] - _PLAIN_BESIDE, 0), min(gap[1] + _PLAIN_BESIDE, n)
    if float((_cosines(residual[low:high, :1], 0, 5) ** 2).sum()) > most:
        # in its plane a straight between two bends of one sense leaves little else than this
        return False
    # one window in so many points: once in fifty by chance
    largest = max(_PLAIN_SUM, 2.0 * log(_ONCE_IN * near.shape[0]))
    return _largest_sum(near) < largest and _slow_cosines(near) < _PLAIN_SLOW


def _held(residual: Floats, clip: float | None) -> Floats:
    """Residuals in sigma, none longer than the clip."""
    if clip is None:
        return residual
    size = np.linalg.norm(residual, axis=1, keepdims=True)
    return np.asarray(residual * np.minimum(1.0, clip / np.maximum(size, 1e-12)))


def _largest_sum(residual: Floats) -> float:
    """Largest |sum|^2 / length over windows of lengths 2, 4, 8 ..."""
    total = np.concatenate((np.zeros((1, 2)), np.cumsum(residual, axis=0)))
    largest, span = 0.0, 2
    while span < total.shape[0]:
        step = total[span:] - total[:-span]
        largest = max(largest, float(np.einsum("ij,ij->i", step, step).max()) / span)
        span *= 2
    return largest


def _slow_cosines(residual: Floats) -> float:
    """Chi-square with 12 degrees of freedom of six slow cosines."""
    return float((_cosines(residual, 1, 7) ** 2).sum())


def _cosines(residual: Floats, first: int, stop: int) -> Floats:
    """Parts of residuals that run like slow cosines of so many half waves."""
    n = residual.shape[0]
    x = (np.arange(n) + 0.5) * (pi / n)
    waves = np.cos(np.arange(first, min(stop, n))[:, None] * x) * sqrt(2.0 / n)
    return np.asarray(waves @ residual)
