"""One pass over survey points after another, each with its own accuracy.

A pass leaves outliers out, sketches straights, chooses the bends and fits everything together. An
accuracy that its own scatter does not bear out asks for another.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import TOUCHING, frames
from analyzer.geometry.survey.choice import choose_chain
from analyzer.geometry.survey.end_points import less_ends, without_ends_off
from analyzer.geometry.survey.findings import HOPELESS
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain, fit_line
from analyzer.geometry.survey.gaps import line_chi2, sketch_straights
from analyzer.geometry.survey.models import Effort, Trial
from analyzer.geometry.survey.outliers import OUTLIER, find_outliers
from analyzer.geometry.survey.rows_aside import rows_aside
from analyzer.geometry.survey.suspect_places import blocks_of
from analyzer.geometry.survey.suspects import (
    distances,
    points_put_back,
    price_of_a_point,
)
from analyzer.geometry.survey.valleys import spacing_of
from analyzer.geometry.survey.windows import accuracy_of_alike

__all__ = ["CLIP", "Pass", "read_once", "read_passes", "unknowns_of"]

CLIP = 3.5
"""Residuals beyond so many sigma weigh less where outliers were left out."""

_DOUBTED, _HARDLY, _BESIDE = 4.0, 2.0, 3
"""Misfit of a point between its neighbors, in deviations, from which it is left out on trial: near
bends no longer than so many spacings, by so many points. Own estimates."""

_LOOSE = 5.0
"""Distance over the accuracy from which a point that stands alone is left out."""

_AGREES = 1.25
"""Scatter over the accuracy up to which the two agree."""

_AS_WELL = 1.1
"""Scatter over that of another fit up to which both explain the points."""

_ALIKE = 1.05
"""Factor for errors that are alike from point to point from which they count as alike."""

_EFFORT, _EFFORT_A_POINT = 1600.0, 0.2
"""Work allowed to comparisons of models, in steps of a small fit, and more for every point."""

_FAR_MORE = 4.0
"""Accuracy that errors alike from point to point call for over another from which it is tried
first: the doubling from below would take its time."""

_MORE_EFFORT = 2.5
"""How much more work is allowed where few bends explain the points but the search was cut."""

_MANY_BENDS = 20
"""Corners of a search cut short up to which more work is allowed."""

_MOST_TAKEN = 0.4
"""Greatest part of the noise that a fit is thought to take with it."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass over the points: what was kept, the fit (None: a straight), what it says.

    `cut` tells that the search for fewer bends ended before its time, `lost_block` that points in a
    row to one side were left out, where a saddle or an offset may stand.
    """

    kept: NDArray[np.intp]
    fit: ChainFit | None
    residuals: Floats
    freedom: float
    inflation: float
    cut: bool
    lost_block: bool = False

    @property
    def scatter(self) -> float:
        """Standard deviation of one coordinate about the fit. [m]

        Where neighbors err alike the fit takes more of the noise with it than its unknowns tell.
        """
        total = 2.0 * self.kept.size
        taken = min((total - self.freedom) * self.inflation**2, _MOST_TAKEN * total)
        freedom = min(max(total - taken, 2.0), self.freedom)
        return sqrt(float((self.residuals**2).sum()) / freedom)

    @property
    def corners(self) -> int:
        """Number of corners of the fit; 0 for a straight."""
        return 0 if self.fit is None else int(self.fit.chain.radii_m.size)

    def explains(self, sigma: float) -> bool:
        """Whether few bends explain the points with an accuracy, so that more work pays. [m]"""
        few = self.fit is not None and self.corners <= _MANY_BENDS
        return few and self.agrees(sigma) and self.inflation < _ALIKE

    def agrees(self, sigma: float) -> bool:
        """Whether the points agree with an accuracy, and no block of them had to go for it. [m]"""
        return self.bears_out(sigma) and not self.lost_block

    def bears_out(self, sigma: float) -> bool:
        """Whether the scatter of the points kept agrees with an accuracy. [m]"""
        return self.scatter <= _AGREES * sigma


def read_passes(points: Floats, sigma: float, floor: float, *, stated: bool) -> tuple[Pass, float]:
    """Return the last pass over points near the origin, and what noise that is alike calls for.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    sigma : float
        Accuracy to begin with. [m]
    floor : float
        Least accuracy that the coordinates can tell. [m]
    stated : bool
        Whether an accuracy was stated.

    Returns
    -------
    (Pass, float)
        The pass, and the factor on its accuracy for errors that are alike from point to point.
    """
    best, used = _first_consistent(points, sigma)
    effort = _effort(points)
    inflation = 1.0
    for _ in range(3):
        if best.inflation < _ALIKE * inflation and best.scatter < _AGREES * used:
            break
        if best.scatter > HOPELESS * used or best.cut:
            break
        inflation = max(best.inflation, inflation)
        wider = max(best.scatter, sigma if stated else 0.0, floor)
        again = _read(points, wider * inflation, effort)
        if again.scatter > 1.5 * best.scatter:
            # so wide an accuracy no longer sees the bends
            break
        best = again
    best = _without_doubted(points, used, best, effort)
    return best, max(inflation, best.inflation)


def _without_doubted(points: Floats, sigma: float, best: Pass, effort: Effort) -> Pass:
    """Leave out points that are off by less than is sure where each of them made a bend."""
    near = _beside_short_bends(points, best)
    if not near.size or not np.intersect1d(find_outliers(points, sigma, _DOUBTED), near).size:
        return best
    again = _read(points, sigma, effort, _DOUBTED)
    fewer = best.corners - again.corners
    more = int(best.kept.size - again.kept.size)
    return again if fewer >= max(more, 1) and again.scatter < _AS_WELL * best.scatter else best


def _beside_short_bends(points: Floats, one: Pass) -> NDArray[np.intp]:
    """Return the points kept beside bends that hardly a point lies on."""
    if one.fit is None:
        return np.empty(0, dtype=np.intp)
    chain = one.fit.chain
    used = points[one.kept]
    spacing = spacing_of(used)
    short = chain.radii_m * frames(chain).angle < _HARDLY * spacing
    corners = chain.nodes_m[1:-1][short]
    nearest = [int(np.argmin(np.linalg.norm(used - corner, axis=1))) for corner in corners]
    beside = {k + step for k in nearest for step in range(-_BESIDE, _BESIDE + 1)}
    return one.kept[[k for k in sorted(beside) if 0 <= k < one.kept.size]]


def read_once(points: Floats, sigma: float) -> Pass:
    """Return one pass with an accuracy that is tried only.

    Parameters
    ----------
    points : (n, 3) float
        Points in order, near the origin. [m]
    sigma : float
        Accuracy to try. [m]
    """
    return _read(points, sigma, _effort(points))


def _first_consistent(points: Floats, sigma: float) -> tuple[Pass, float]:
    """Return the first pass whose scatter agrees with its accuracy, and that accuracy.

    Noise that is alike from point to point makes neighbors look better than they are: an
    accuracy estimated from them is too small, and so small a value breaks straights apart. Where
    far points tell how much too small, one that allows for it is tried first.
    """
    allowing = accuracy_of_alike(points)
    if allowing > _FAR_MORE * sigma:
        wide = _read(points, allowing, _effort(points))
        if wide.fit is not None and wide.agrees(allowing) and not wide.cut:
            return wide, allowing
    effort = _effort(points)
    first = nearest = _read(points, sigma, effort)
    if first.cut and first.explains(sigma):
        first = nearest = _read(points, sigma, _effort(points, _MORE_EFFORT))
    explained = first.explains(sigma)
    # a row left out is told as it is: a wider accuracy would only blur it
    if not first.bears_out(sigma) or first.cut:
        for factor in (2.0, 4.0, 8.0, 16.0):
            again = _read(points, factor * sigma, effort)
            # what explains the points already is left only for what explains them as well
            swallows = explained and again.scatter > _AS_WELL * first.scatter
            if again.bears_out(factor * sigma) and not again.cut and not swallows:
                return again, factor * sigma
            if again.scatter < nearest.scatter:
                nearest = again
    return nearest if first.cut and not explained else first, sigma


def _effort(points: Floats, times: float = 1.0) -> Effort:
    return Effort(times * (_EFFORT + _EFFORT_A_POINT * points.shape[0]))


def _read(points: Floats, sigma: float, pool: Effort, limit: float = OUTLIER) -> Pass:
    """One pass: suspects out, bends chosen, suspects that belong to the route back, all fitted."""
    effort = pool.half()
    every = np.arange(points.shape[0])
    kept = np.setdiff1d(every, find_outliers(points, sigma, limit))
    kept, fit = _without_loose(points, kept, sigma, effort)
    if kept.size < every.size and not effort.spent_out:
        kept, fit = _with_suspects(points, kept, fit, sigma, effort)
    kept, fit = _without_rows_aside(points, kept, fit, sigma, effort)
    kept, fit = _without_ends_off(points, kept, fit, sigma, effort)
    residuals = fit_line(points[kept])[2] if fit is None else fit.residuals_m
    if fit is not None and kept.size < every.size:
        fit = fit_chain(points[kept], fit.chain, sigma, clip=CLIP, tolerance=1e-4, firm=True)
        residuals = fit.residuals_m
    unknowns = 4 if fit is None else unknowns_of(fit)
    freedom = max(2.0 * kept.size - unknowns, 2.0)
    inflation = _inflation(residuals, unknowns)
    pool.give_back(effort)
    block = bool(blocks_of(points, kept))
    return Pass(kept, fit, residuals, freedom, inflation, effort.spent_out, block)


def _chosen(
    points: Floats, kept: NDArray[np.intp], sigma: float, effort: Effort
) -> ChainFit | None:
    """Return the bends through the points kept; None for a straight."""
    clip = CLIP if kept.size < points.shape[0] else None
    used = points[kept]
    return choose_chain(used, sketch_straights(used, sigma, clip), sigma, clip, effort)


def _without_loose(
    points: Floats, kept: NDArray[np.intp], sigma: float, effort: Effort
) -> tuple[NDArray[np.intp], ChainFit | None]:
    """Leave out points that stand alone off the bends chosen, and choose anew.

    Those left out before count as loose too: a saddle is not to go one layer after another.
    """
    for again in (True, True, False):
        fit = _chosen(points, kept, sigma, effort)
        residuals = fit_line(points[kept])[2] if fit is None else fit.residuals_m
        loose = np.linalg.norm(residuals, axis=1) > _LOOSE * sigma
        gone = np.ones(points.shape[0], dtype=bool)
        gone[kept] = loose
        alone = loose & (np.convolve(gone, np.ones(5), mode="same")[kept] < 3)
        # more than one at an end may be the start of a bend
        alone[:4] &= loose[:4].sum() < 2
        alone[-4:] &= loose[-4:].sum() < 2
        few = alone.any() and alone.sum() <= 0.1 * kept.size
        if not again or not few or effort.spent_out:
            break
        kept = kept[~alone]
    return kept, fit


def _with_suspects(
    points: Floats,
    kept: NDArray[np.intp],
    fit: ChainFit | None,
    sigma: float,
    effort: Effort,
) -> tuple[NDArray[np.intp], ChainFit | None]:
    """Put back what was left out and belongs to the route, where all together costs no more."""
    more = points_put_back(points, kept, fit, sigma)
    if more.size == kept.size:
        return kept, fit
    again = _chosen(points, more, sigma, effort)
    if effort.spent_out:
        return kept, fit
    trial = Trial(points, sigma, None, effort)
    price = price_of_a_point(points.shape[0])
    now, new = _cost(points[kept], fit, trial), _cost(points[more], again, trial)
    fewer = len(blocks_of(points, more)) < len(blocks_of(points, kept))
    return (more, again) if fewer or new <= now + price * (more.size - kept.size) else (kept, fit)


def _without_rows_aside(
    points: Floats, kept: NDArray[np.intp], fit: ChainFit | None, sigma: float, effort: Effort
) -> tuple[NDArray[np.intp], ChainFit | None]:
    """Leave out rows to one side whose bends are guesses that cost more than the rows do."""
    asides = [] if effort.spent_out else rows_aside(points, kept, fit, sigma)
    before = len(blocks_of(points, kept))
    # only what is then told as a row left out may go
    rows = [
        one.rows
        for one in asides
        if one.is_none and len(blocks_of(points, np.setdiff1d(kept, kept[one.rows]))) > before
    ]
    if not rows:
        return kept, fit
    fewer = np.delete(kept, np.concatenate(rows))
    again = _chosen(points, fewer, sigma, effort)
    near = np.flatnonzero(distances(points, fewer, again) <= CLIP * sigma)
    more = np.union1d(fewer, np.setdiff1d(near, kept))
    if more.size > fewer.size:
        fewer, again = more, _chosen(points, more, sigma, effort)
    return (kept, fit) if effort.spent_out else (fewer, again)


def _without_ends_off(
    points: Floats, kept: NDArray[np.intp], fit: ChainFit | None, sigma: float, effort: Effort
) -> tuple[NDArray[np.intp], ChainFit | None]:
    """Leave out an end point that bends the fit to it, and choose anew where that is cheaper."""
    fewer = kept if effort.spent_out else without_ends_off(points, kept, fit, sigma)
    if fewer.size == kept.size:
        return kept, fit
    used, trial = points[fewer], Trial(points, sigma, CLIP, effort)
    stays = None if fit is None else fit_chain(used, less_ends(fit.chain, kept, fewer), sigma)
    again = _chosen(points, fewer, sigma, effort)
    if effort.spent_out:
        return kept, fit
    return fewer, again if _cost(used, again, trial) < _cost(used, stays, trial) else stays


def _cost(points: Floats, fit: ChainFit | None, trial: Trial) -> float:
    """Chi-square of points kept, with the price of their bends; a straight has none."""
    if fit is None:
        return line_chi2(points, trial.sigma, CLIP)
    return evaluate_chain(points, fit.chain, trial.sigma, CLIP).chi2 + trial.price(fit.chain)


def unknowns_of(fit: ChainFit) -> int:
    """Return the number of free unknowns of a chain."""
    bends = fit.chain.radii_m.size
    ties = int((fit.chain.joints == TOUCHING).sum())
    return 4 * bends + 4 - ties - 4 * int((fit.chain.joints > TOUCHING).sum())


def _inflation(residuals: Floats, unknowns: int) -> float:
    """Factor on the accuracy for noise that is correlated from point to point; 1 if it is not."""
    n = residuals.shape[0]
    total = float((residuals**2).sum())
    if n < 20 or total <= 0.0:
        return 1.0
    error = 1.0 / sqrt(2.0 * n)
    added = 0.0
    lags = 0
    for lag in range(1, min(40, n // 4)):
        rho = float((residuals[lag:] * residuals[:-lag]).sum()) / total
        # a fit with many unknowns takes the slow part of the noise with it
        rho += min(unknowns / (2.0 * n), 0.5) * 0.5
        if rho < (4.0 if lag == 1 else 1.5) * error:
            break
        added += rho
        lags += 1
    # the slow part that a fit takes is the larger the more alike the errors are
    inflation = sqrt(1.0 + 2.0 * max(added, 0.0))
    for _ in range(4):
        taken = min(unknowns * inflation**2 / (2.0 * n), _MOST_TAKEN)
        missing = lags * (taken - min(unknowns / (2.0 * n), 0.5) * 0.5)
        sum_of_lags = (added + max(missing, 0.0)) * (1.0 - taken)
        inflation = max(inflation, sqrt(1.0 + 2.0 * max(sum_of_lags, 0.0)))
    return inflation
