"""Errors that are alike from point to point: how strongly, and what they do to deviations.

Drift and smoothing instruments leave errors whose correlation falls with the number of points
between. The fit takes the slow part of them with it, so that its residuals look less alike than
the errors are: the restricted likelihood of a first-order autoregression counts that in. A
deviation then follows from how the points act on the value, not from one factor: the slow angle
suffers more than the quick radius.

Source: restricted maximum likelihood (Patterson and Thompson, Biometrika 58, 1971); variance of a
least-squares estimate under correlated errors, any textbook of regression.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log, sqrt

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import Chain, Ints, State, evaluate, jacobian, owner_of
from analyzer.geometry.survey.fit import UNKNOWNS, ChainFit, normal_band

__all__ = ["Influence", "Noise", "influences", "noise_of"]

_LIKENESS = (-0.2, -0.1, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.86, 0.9, 0.93, 0.95, 0.97)
_FINER = 5
"""Correlations tried, and how often the space about the best is halved."""

_CLEAR = 10.0
"""Twice the gain in log-likelihood from which errors count as alike (three deviations)."""

_FORGOTTEN = 1e-3
_REACH = 4
"""Correlation that counts as none; bends to either side whose points act on a bend."""


@dataclass(frozen=True, slots=True)
class Noise:
    """Errors of survey points.

    Attributes
    ----------
    sigma_m : float
        Standard deviation of one coordinate. [m]
    likeness : float
        Correlation of the errors of neighboring points; 0 where they are independent.
    """

    sigma_m: float
    likeness: float

    @property
    def raise_of_slow(self) -> float:
        """Factor on the deviation of the mean of many points."""
        return sqrt((1.0 + self.likeness) / (1.0 - self.likeness))


def noise_of(points: Floats, fit: ChainFit, unknowns: int) -> Noise:
    """Return the noise that explains the residuals of a joint fit best.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    unknowns : int
        Its free unknowns.
    """
    state = evaluate(points, fit.chain)
    rows = _space_rows(state, jacobian(state))
    errors = _space(state, state.residuals)
    likelihood = _Likelihood(points, fit.chain, rows, errors, unknowns)
    tried = {a: likelihood.at(a) for a in _LIKENESS}
    for _ in range(_FINER):
        best = min(tried, key=lambda a: tried[a][0])
        below = max((a for a in tried if a < best), default=best)
        above = min((a for a in tried if a > best), default=best)
        for a in (0.5 * (below + best), 0.5 * (best + above)):
            tried.setdefault(a, likelihood.at(a))
    best = min(tried, key=lambda a: tried[a][0])
    alone = tried[0.0]
    if best <= 0.0 or not alone[0] - tried[best][0] > _CLEAR:
        return Noise(alone[1], 0.0)
    return Noise(tried[best][1], best)


class _Likelihood:
    """Restricted likelihood of a correlation, from sums that do not depend on it."""

    def __init__(
        self, points: Floats, chain: Chain, rows: Floats, errors: Floats, unknowns: int
    ) -> None:
        n, m = points.shape[0], chain.radii_m.size
        self.freedom = max(2.0 * n - unknowns, 2.0)
        columns = 4 * np.arange(m)[:, None] + UNKNOWNS
        own = columns[owner_of(chain)]
        self.held = normal_band(points, chain)
        size = self.held.shape[1]
        self.own_band = _band(rows, rows, own, own, self.held.shape)
        self.held = self.held - self.own_band
        self.next_band = _band(rows[1:], rows[:-1], own[1:], own[:-1], self.held.shape)
        ends = np.array([0, n - 1])
        of_ends = rows[ends]
        self.end_band = _band(of_ends, of_ends, own[ends], own[ends], self.held.shape)
        sides = np.einsum("nij,ni->nj", rows, errors)
        self.own_side = _vector(sides, own, size)
        self.end_side = _vector(sides[ends], own[ends], size)
        self.next_side = _vector(np.einsum("nij,ni->nj", rows[1:], errors[:-1]), own[1:], size)
        self.next_side += _vector(np.einsum("nij,ni->nj", rows[:-1], errors[1:]), own[:-1], size)
        self.own_square = float((errors**2).sum())
        self.end_square = float((errors[ends] ** 2).sum())
        self.next_square = 2.0 * float((errors[1:] * errors[:-1]).sum())

    def at(self, a: float) -> tuple[float, float]:
        """Return minus twice the log-likelihood, and the deviation of one coordinate. [m]"""
        from scipy.linalg import LinAlgError, cho_solve_banded, cholesky_banded

        square = (1.0 + a * a) * self.own_square - a * a * self.end_square - a * self.next_square
        side = (1.0 + a * a) * self.own_side - a * a * self.end_side - a * self.next_side
        band = (1.0 + a * a) * self.own_band - a * a * self.end_band - a * self.next_band
        try:
            root = cholesky_banded(band + self.held, lower=True, check_finite=False)
        except LinAlgError:
            return inf, sqrt(self.own_square / self.freedom)
        solved = cho_solve_banded((root, True), side, check_finite=False)
        left = max(square - float(side @ solved), 1e-300)
        volume = 2.0 * float(np.log(root[0]).sum())
        minus = self.freedom * log(left) - 2.0 * log(1.0 - a * a) + volume
        return minus, sqrt(left / ((1.0 - a * a) * self.freedom))


def _band(a: Floats, b: Floats, at_a: Ints, at_b: Ints, shape: tuple[int, ...]) -> Floats:
    """Return the sum of a_i^T b_i, made symmetric where a is not b, as a lower band."""
    band = np.zeros(shape)
    same = a is b
    blocks = np.einsum("nki,nkj->nij", a, b)
    rows = np.broadcast_to(at_a[:, :, None], blocks.shape)
    columns = np.broadcast_to(at_b[:, None, :], blocks.shape)
    for one, other in ((rows, columns),) if same else ((rows, columns), (columns, rows)):
        # bends without points stand between where the band does not reach
        low = (one >= other) & (one - other < shape[0])
        np.add.at(band, (one[low] - other[low], other[low]), blocks[low])
    return band


def _vector(values: Floats, at: Ints, size: int) -> Floats:
    return np.asarray(np.bincount(at.ravel(), values.ravel(), size), dtype=float)


def _space(state: State, residuals: Floats) -> Floats:
    """Return distances in and across the plane of the bends (n, 2) as vectors (n, 3)."""
    normals, axes = _directions(state)
    return residuals[:, 0, None] * normals + residuals[:, 1, None] * axes


def _space_rows(state: State, jac: Floats) -> Floats:
    """Return derivatives (n, 2, 10) as derivatives of vectors (n, 3, 10)."""
    normals, axes = _directions(state)
    return jac[:, None, 0] * normals[:, :, None] + jac[:, None, 1] * axes[:, :, None]


def _directions(state: State) -> tuple[Floats, Floats]:
    """Return the direction toward the center and across the plane at every point."""
    f, own = state.frames, state.owner
    rho = np.maximum(state.rho, 1e-300)[:, None]
    inward = (state.y[:, None] * f.n1[own] - state.x[:, None] * f.u1[own]) / rho
    inward = np.where(state.first[:, None], f.n1[own], inward)
    return np.where(state.last[:, None], f.n2[own], inward), f.axis[own]


@dataclass(frozen=True, slots=True)
class Influence:
    """How the error of every point acts on values of a fit.

    Attributes
    ----------
    rows : (n, 3, 10) float
        Derivatives of the error vectors by the ten unknowns of their bend.
    cuts : (m + 1,) int
        Points of every bend.
    """

    rows: Floats
    cuts: Ints

    def raised(self, corner: int, solved: Floats, likeness: float) -> Floats:
        """Return the variance of values at a corner over that under independent errors.

        Parameters
        ----------
        corner : int
            The corner about which the points act.
        solved : (unknowns, k) float
            The inverse normal matrix times the gradient of each value.
        likeness : float
            Correlation of the errors of neighboring points.
        """
        m = self.cuts.size - 1
        low, high = max(corner - _REACH, 0), min(corner + _REACH + 1, m)
        own = np.repeat(np.arange(low, high), np.diff(self.cuts[low : high + 1]))
        columns = 4 * own[:, None] + UNKNOWNS
        rows = self.rows[self.cuts[low] : self.cuts[high]]
        acts = np.einsum("nij,njk->nik", rows, solved[columns])
        alone = (acts**2).sum(axis=(0, 1))
        total = alone.copy()
        alike, lag = likeness, 1
        while alike > _FORGOTTEN and lag < acts.shape[0]:
            total += 2.0 * alike * (acts[lag:] * acts[:-lag]).sum(axis=(0, 1))
            alike, lag = alike * likeness, lag + 1
        ratio = np.where(alone > 0.0, total / np.maximum(alone, 1e-300), 1.0)
        # no value gains more from likeness than one that alternates from point to point
        return np.maximum(ratio, (1.0 - likeness) / (1.0 + likeness))


def influences(points: Floats, chain: Chain) -> Influence:
    """Return how the error of every point acts on a fitted chain.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    chain : Chain
        The fitted chain.
    """
    state = evaluate(points, chain)
    return Influence(_space_rows(state, jacobian(state)), chain.cuts)
