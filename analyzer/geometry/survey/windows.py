"""Straight stretches in noisy points: accuracy from the points, windows, growth.

A window of neighboring points is straight when the residuals across its best line pass a
chi-square test and show no slow shape. The best window grows both ways by prediction.
Sums run over each window directly: running sums of squares lose all digits when the accuracy is
1e-5 of the extent.

Source: textbook statistics (Wilson and Hilferty, 1931, for the chi-square quantile).
"""

from __future__ import annotations

from functools import lru_cache
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.fit import fit_line

__all__ = [
    "SHORTEST",
    "accuracy_in_line",
    "accuracy_of_alike",
    "best_windows",
    "chi2_limit",
    "estimate_accuracy",
    "grow_straight",
    "shape_basis",
    "some_stand_in_line",
    "straights_may_bear_out",
]

SHORTEST = 4
"""Fewest points in a straight window."""

_FEW_THINNED, _ALIKE, _MOST_GROWTH, _LEVEL = 60, 1.15, 1.55, 1.3
"""Points left by thinning whose scatter tells; how much more than twice as many they scatter where
errors are alike from point to point, at least and at most; and below what they are so no more."""

_IN_LINE, _SURE, _FEW, _MANY = 0.1, 2.5, 50, 1000
"""Part of the windows of four points that is on straights at least, normal deviations up to which
such a window may scatter, points up to which straights may hold too few for such a window, and
from which some stand in line by chance."""

_THREE_IN_LINE = 4.0
"""Normal deviations up to which three neighbors stand in line within an accuracy. Own choice."""

_SCATTER, _BY_CHANCE, _FEWEST_TRIED = 4.0, 0.02, 8
"""Normal deviations up to which residuals of a straight window may scatter, the chance that a slow
shape refuses any straight one of a width, and the windows tried that this counts at least: a short
hook at one end of a long window shows as a shape alone. Own choice."""

_SHAPES = 8.0
"""Slow shapes that a window is tried for (`shape_basis`)."""

_LOOK, _LOOK_SIGMA, _LOOK_DIGITS, _LOOK_SHARE = 16, 6.0, 1e-9, 0.7
"""Points looked at first of each window; the accuracies, and the share of its length besides, up to
which they may stand off its chord; and the share of them that must where some may be outliers. Own
choice."""

_GROWTHS, _FEWEST_AHEAD = 12, 8
"""How often a straight is grown and fitted anew at most, and points looked at each way at least,
where half of its own are fewer. Own choice."""

_POINT_OFF, _MEANS, _MEAN_OFF = 20.0, (2, 4, 8), 18.0
"""Chi-square (two degrees of freedom) of a next point above which a straight does not go on to it:
one in e^10 by chance; points in a row whose mean is held against the line too, and their bound: one
in e^9. Own choice."""


def chi2_limit(freedom: float, z: float) -> float:
    """Return the chi-square value z normal deviations up (Wilson-Hilferty).

    Examples
    --------
    >>> round(chi2_limit(10, 1.645), 1)
    18.3
    """
    a = 2.0 / (9.0 * freedom)
    return float(freedom * max(1.0 - a + z * sqrt(a), 0.0) ** 3)


def estimate_accuracy(points: Floats) -> float:
    """Return the standard deviation of one coordinate, estimated from the points. [m]

    Windows of six points, a quadratic in chord length; the part of its residual across the
    window's chord has six degrees of freedom, and 5.348 is the median of chi-square(6).

    Parameters
    ----------
    points : (n, 3) float
        At least six points in order. [m]
    """
    steps = leg_lengths(points)
    at = np.concatenate(([0.0], np.cumsum(steps)))
    windows = np.arange(points.shape[0] - 5)[:, None] + np.arange(6)
    t = at[windows]
    t = t - t.mean(axis=1, keepdims=True)
    t /= np.maximum(t[:, -1:] - t[:, :1], 1e-300)
    basis = np.stack((np.ones_like(t), t, t * t), axis=2)
    q, _ = np.linalg.qr(basis)
    local = points[windows]
    residual = local - q @ (np.swapaxes(q, 1, 2) @ local)
    chord = local[:, -1] - local[:, 0]
    chord /= np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-300)
    along = np.einsum("nij,nj->ni", residual, chord)
    squares = (residual**2).sum(axis=(1, 2)) - (along**2).sum(axis=1)
    return sqrt(max(float(np.median(squares)), 0.0) / 5.348)


def accuracy_of_alike(points: Floats) -> float:
    """Return an accuracy to search bends with where errors are alike from point to point. [m]

    Every second, fourth, ... point scatter ever more, by the root of two and then by less, until
    errors are independent; bends within the windows make it grow faster. From the deviation
    s there and that e of neighbors follows the correlation a of a first-order autoregression,
    e^2 = s^2 (1 - a), and the mean of many points is as uncertain as with independent errors of
    s^2 sqrt(2) / e. Half of that no longer breaks straights apart, and still sees every bend.
    Zero where neighbors tell the errors, or points are too few.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    """
    if points.shape[0] < 2 * _FEW_THINNED:
        return 0.0
    neighbors = far = estimate_accuracy(points)
    step, growth = 1, _MOST_GROWTH
    while growth > _LEVEL and points.shape[0] >= 2 * step * _FEW_THINNED and far > 0.0:
        wider = estimate_accuracy(points[:: 2 * step])
        if not _ALIKE * far < wider < _MOST_GROWTH * far:
            break
        step, growth, far = 2 * step, wider / far, wider
    return far**2 / (sqrt(2.0) * neighbors) if step > 1 else 0.0


def straights_may_bear_out(points: Floats, sigma: float) -> bool:
    """Whether some neighbors stand in line as well as an accuracy says, or are too few to tell.

    Parameters
    ----------
    points : (n, 3) float
        At least six points in order. [m]
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    if points.shape[0] < _FEW:
        return True
    return _best_in_line(points) < chi2_limit(4.0, _SURE) * sigma**2


def some_stand_in_line(points: Floats, sigma: float) -> bool:
    """Whether any three neighbors stand in line within an accuracy, as on every straight.

    Among many points some do by chance: a tenth of all fours must then.

    Parameters
    ----------
    points : (n, 3) float
        At least three points in order. [m]
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    if points.shape[0] >= _MANY:
        return straights_may_bear_out(points, sigma)
    reach = points[2:] - points[:-2]
    arm = points[1:-1] - points[:-2]
    squares = np.maximum(np.vecdot(reach, reach), 1e-300)
    share = np.vecdot(arm, reach) / squares
    off = arm - share[:, None] * reach
    # the middle one off the line of the others; each is off by its own error
    spread = 1.0 + share**2 + (1.0 - share) ** 2
    return bool((np.vecdot(off, off) / spread).min() < chi2_limit(2.0, _THREE_IN_LINE) * sigma**2)


def accuracy_in_line(points: Floats) -> float:
    """Return the standard deviation of one coordinate that neighbors best in line show. [m]

    That of straights, where points stand so far apart that most neighbors lie on bends; 1.064 is
    the tenth part of chi-square(4).

    Parameters
    ----------
    points : (n, 3) float
        At least six points in order. [m]
    """
    return sqrt(_best_in_line(points) / 1.064)


def _best_in_line(points: Floats) -> float:
    """Sum of squares across their line up to which a tenth of all windows of four points keep.

    Those on straights scatter by the accuracy alone.
    """
    local = points[np.arange(points.shape[0] - 3)[:, None] + np.arange(4)]
    local = local - local.mean(axis=1, keepdims=True)
    squares = (local**2).sum(axis=(1, 2))
    along = np.linalg.eigvalsh(np.swapaxes(local, 1, 2) @ local)[:, 2]
    return max(float(np.quantile(squares - along, _IN_LINE)), 0.0)


@lru_cache(maxsize=256)
def shape_basis(n: int) -> Floats:
    """Return up to eight slow shapes over n points, made free of lines and normalized, (k, n)."""
    x = np.linspace(-1.0, 1.0, n)
    shapes = [x**2, x**3, x**4]
    shapes += [np.maximum(x - h, 0.0) for h in (-0.75, -0.5, 0.0, 0.5, 0.75)]
    line = np.stack((np.ones(n) / sqrt(n), x / np.linalg.norm(x)))
    kept = []
    for shape in shapes:
        free = shape - line.T @ (line @ shape)
        size = float(np.linalg.norm(free))
        if size > 1e-6:
            kept.append(free / size)
    return np.array(kept)


def best_windows(
    points: Floats, gaps: list[tuple[int, int]], width: int, sigma: float, clip: float | None
) -> list[tuple[float, int]]:
    """Return (score, start) of the straight windows of one width inside gaps, best first.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    gaps : list of (int, int)
        First point of each gap, and the first behind it.
    width : int
        Points in a window, four or more.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals longer than so many sigma count as so long; None where all count in full.

    Returns
    -------
    list of (float, int)
        Normal deviations of the sum of squares from that expected, the smallest first, and the
        first point of the window.
    """
    starts = _starts(gaps, width)
    if starts.size == 0:
        return []
    starts = starts[_may_be_straight(points, starts, width, sigma, clip)]
    if starts.size == 0:
        return []
    windows = points[starts[:, None] + np.arange(width)]
    d = windows - windows.mean(axis=1, keepdims=True)
    _, vectors = np.linalg.eigh(np.swapaxes(d, 1, 2) @ d)
    residual = (d @ vectors[:, :, :2]) / sigma
    if clip is not None:
        size = np.linalg.norm(residual, axis=2, keepdims=True)
        residual = residual * np.minimum(1.0, clip / np.maximum(size, 1e-12))
    total = (residual**2).sum(axis=(1, 2))
    basis = shape_basis(width)
    contrast = ((basis @ residual) ** 2).sum(axis=2).max(axis=1)
    freedom = 2 * width - 4
    passes = total < chi2_limit(freedom, _SCATTER)
    passes &= contrast < 2.0 * log(_SHAPES * max(starts.size, _FEWEST_TRIED) / _BY_CHANCE)
    score = (total - freedom) / sqrt(2.0 * freedom)
    order = np.flatnonzero(passes)
    order = order[np.argsort(score[order], kind="stable")]
    return [(float(score[i]), int(starts[i])) for i in order]


def _starts(gaps: list[tuple[int, int]], width: int) -> NDArray[np.intp]:
    step = max(1, width // 8)
    pieces = []
    for low, high in gaps:
        if high - low >= width:
            piece = np.arange(low, high - width + 1, step)
            if piece[-1] != high - width:
                piece = np.append(piece, high - width)
            pieces.append(piece)
    return np.concatenate(pieces) if pieces else np.empty(0, dtype=np.intp)


def _may_be_straight(
    points: Floats, starts: NDArray[np.intp], width: int, sigma: float, clip: float | None
) -> NDArray[np.bool_]:
    """Cheap first look at some points of each window; lets every straight one through."""
    pick = np.unique(np.linspace(0, width - 1, min(width, _LOOK)).round().astype(np.intp))
    k = max(1, pick.size // 4)
    local = points[starts[:, None] + pick]
    first, last = local[:, :k].mean(axis=1), local[:, -k:].mean(axis=1)
    chord = last - first
    length = np.linalg.norm(chord, axis=1)
    chord /= np.maximum(length, 1e-300)[:, None]
    d = local - first[:, None]
    along = np.einsum("nij,nj->ni", d, chord)
    off = np.sqrt(np.maximum(np.einsum("nij,nij->ni", d, d) - along**2, 0.0))
    allowed = _LOOK_SIGMA * sigma + _LOOK_DIGITS * length
    if clip is None:
        return np.asarray(off.max(axis=1) < allowed)
    # outliers may stand in the sample: a quarter of it may be off
    return np.asarray(np.sort(off, axis=1)[:, int(_LOOK_SHARE * pick.size)] < allowed)


def grow_straight(
    points: Floats, start: int, stop: int, low: int, high: int, sigma: float, clip: float | None
) -> tuple[int, int]:
    """Return the range of a straight grown both ways by prediction.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    start, stop : int
        Its first point, and the first behind it.
    low, high : int
        First point that it may grow to, and the first behind the last.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals longer than so many sigma count as so long, and one point off the line alone does
        not stop it; None where all count in full.

    Returns
    -------
    int, int
        Its first point, and the first behind it.
    """
    for _ in range(_GROWTHS):
        center, direction, _ = fit_line(points[start:stop])
        t = (points[start:stop] - center) @ direction
        spread = max(float(t @ t), 1e-300)
        count = stop - start
        chunk = max(_FEWEST_AHEAD, count // 2)
        ahead = points[stop : min(stop + chunk, high)]
        behind = points[max(start - chunk, low) : start][::-1]
        more = _predicted(ahead - center, direction, count, spread, sigma, clip)
        before = _predicted(behind - center, direction, count, spread, sigma, clip)
        if more == 0 and before == 0:
            break
        start, stop = start - before, stop + more
    return start, stop


def _predicted(
    d: Floats, direction: Floats, count: int, spread: float, sigma: float, clip: float | None
) -> int:
    """How many of the next points the line predicts."""
    n = d.shape[0]
    if n == 0:
        return 0
    t = d @ direction
    off = d - t[:, None] * direction
    line = 1.0 / count + t * t / spread
    z2 = np.einsum("ij,ij->i", off, off) / (sigma**2 * (1.0 + line))
    if clip is not None:
        size = np.sqrt(np.maximum(z2, 1e-300))
        off = off * np.minimum(1.0, clip / size)[:, None]
        # a lone point may be an outlier; three in a row are not
        alone = z2 > _POINT_OFF
        bad = alone.copy()
        bad[:-1] &= alone[1:]
        bad[-1] = alone[-1]
    else:
        bad = z2 > _POINT_OFF
    for span in _MEANS:
        if n < span:
            break
        total = np.cumsum(off, axis=0)
        total[span:] = total[span:] - total[:-span]
        mean = total[span - 1 :] / span
        weight = sigma**2 * (1.0 / span + line[span - 1 :])
        wide = np.einsum("ij,ij->i", mean, mean) / weight > _MEAN_OFF
        # the mean fails with its last points: stop before the later half
        for at in np.flatnonzero(wide)[:1]:
            bad[at + span // 2] = True
    failed = np.flatnonzero(bad)
    return int(failed[0]) if failed.size else n
