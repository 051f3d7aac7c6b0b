"""Straight stretches in noisy points: accuracy from the points, windows, growth.

A window of neighboring points is straight when the residuals across its best line pass a
chi-square test and show no slow shape. The best window grows both ways by prediction.
Sums run over each window directly: running sums of squares lose all digits when the accuracy is
1e-5 of the extent.

Source: textbook statistics (Wilson and Hilferty, 1931, for the chi-square quantile).
"""

from __future__ import annotations

from functools import lru_cache
from math import copysign, log, sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.fit import fit_line

__all__ = [
    "OUTLIER",
    "SHORTEST",
    "accuracy_in_line",
    "accuracy_of_alike",
    "best_windows",
    "chi2_limit",
    "estimate_accuracy",
    "find_outliers",
    "grow_straight",
    "shape_basis",
    "some_stand_in_line",
    "straights_may_bear_out",
]

OUTLIER = 6.0
"""Misfit of a point between its neighbors, in deviations, above which it is left out."""

SHORTEST = 4
"""Fewest points in a straight window."""

_BESIDE, _STRAIGHT, _ON_LINE = 5, 2.0, 4.0
"""Points beside a group that tell a straight, their variance over the accuracy's up to which they
do, and the deviations within which it goes on."""

_OWN_PLACE, _SIDE_STEP = 12.0, 0.35
"""Accuracies from which shots stand in places of their own, and the side step of an end point over
the spacing of those beside it from which it counts."""

_FEW_THINNED, _ALIKE, _MOST_GROWTH, _LEVEL = 60, 1.15, 1.55, 1.3
"""Points left by thinning whose scatter tells; how much more than twice as many they scatter where
errors are alike from point to point, at least and at most; and below what they are so no more."""

_FINE_M = 1e-12
_IN_LINE, _SURE, _FEW, _MANY = 0.1, 2.5, 50, 1000
"""Part of the windows of four points that is on straights at least, normal deviations up to which
such a window may scatter, points up to which straights may hold too few for such a window, and
from which some stand in line by chance."""


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
    return bool((np.vecdot(off, off) / spread).min() < chi2_limit(2.0, 4.0) * sigma**2)


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


def find_outliers(points: Floats, sigma: float, limit: float = OUTLIER) -> NDArray[np.intp]:
    """Return the points that do not fit between their neighbors, in order.

    A point is taken out when it stands off the line or curve through its neighbors by more
    than `limit` deviations and, without it, those neighbors agree. Groups of two and three
    points are tried too. A sharp corner stays where its points lie on the straights beside it.
    """
    keep = np.arange(points.shape[0])
    for _ in range(6):
        score = _misfit(points[keep], sigma)
        peaks = np.flatnonzero(score > limit)
        if peaks.size == 0:
            break
        drop: set[int] = set()
        for peak in peaks[np.argsort(-score[peaks])]:
            peak = int(peak)
            if any(abs(peak - other) < 4 for other in drop):
                continue
            drop.update(_smallest_group(points[keep], peak, sigma, limit))
        if not drop:
            break
        keep = np.delete(keep, sorted(drop))
    return np.setdiff1d(np.arange(points.shape[0]), keep)


def _misfit(points: Floats, sigma: float) -> Floats:
    """Deviation of each point across the cubic through its two neighbors each side, in sigma."""
    n = points.shape[0]
    score = np.zeros(n)
    if n < 5:
        return score
    middle = np.arange(2, n - 2)
    # from the first of them on: shots of one place may stand so close that weights leave no whole
    first = points[middle - 2]
    near = points[middle[:, None] + np.array([-2, -1, 1, 2])] - first[:, None]
    chord = near[:, 3]
    chord = chord / np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-300)
    at = np.einsum("nij,nj->ni", near, chord)
    t = np.einsum("ni,ni->n", points[middle] - first, chord)
    weights = _weights(at, t)
    off = points[middle] - first - np.einsum("ni,nij->nj", weights, near)
    off -= np.einsum("ni,ni->n", off, chord)[:, None] * chord
    spread = sigma * np.sqrt(1.0 + (weights**2).sum(axis=1))
    score[2:-2] = np.linalg.norm(off, axis=1) / spread
    for end, inward in ((0, points[1:]), (1, points[2:])):
        score[end] = _end_misfit(points[end], inward, sigma)
        score[n - 1 - end] = _end_misfit(points[n - 1 - end], points[: n - 1 - end][::-1], sigma)
    return score


def _end_misfit(point: Floats, inward: Floats, sigma: float) -> float:
    """Deviation of an end point from the quadratic through the next three places, in sigma.

    Shots of one place tell neither direction nor spacing. An end may lie on a tight arc, so only
    a side step of a third of the spacing counts; zero below that.
    """
    near = _next_places(inward, _OWN_PLACE * sigma)
    if near.shape[0] < 3:
        return 0.0
    near, point = near - near[0], point - near[0]
    size = float(np.linalg.norm(near[2]))
    if not size > 0.0:
        return 0.0
    chord = near[2] / size
    weights = _weights((near @ chord)[None], np.array([point @ chord]))[0]
    off = point - weights @ near
    off = off - (off @ chord) * chord
    step = float(np.linalg.norm(off))
    spread = sigma * sqrt(1.0 + float(weights @ weights))
    return step / spread if step > _SIDE_STEP * size / 2.0 else 0.0


def _next_places(points: Floats, apart: float) -> Floats:
    """Return the first three points in places of their own, each so far from the one before."""
    found = [points[0]]
    for point in points[1:]:
        if float(np.linalg.norm(point - found[-1])) > apart:
            found.append(point)
        if len(found) == 3:
            break
    return np.array(found)


def _weights(at: Floats, t: Floats) -> Floats:
    """Weights of points at some places in the polynomial through them, taken at t (Lagrange)."""
    weights = np.ones(at.shape)
    for i in range(at.shape[1]):
        for j in range(at.shape[1]):
            if i != j:
                gap = at[:, i] - at[:, j]
                # shots side by side take opposite weights, which their spread makes nothing of
                gap = np.where(np.abs(gap) < _FINE_M, copysign(_FINE_M, i - j), gap)
                weights[:, i] *= (t - at[:, j]) / gap
    return weights


def _smallest_group(points: Floats, peak: int, sigma: float, limit: float) -> list[int]:
    """Return the smallest group of one to three points whose removal mends the neighborhood."""
    n = points.shape[0]
    for size in (1, 2, 3):
        best: tuple[float, list[int]] | None = None
        for first in range(peak - size - 1, peak + 3):
            group = [i for i in range(first, first + size) if 0 <= i < n]
            if len(group) != size or n - size < 8:
                continue
            if size > 1 and (first < 2 or first + size > n - 2):
                continue  # two or more at an end may be the start of a bend
            low, high = max(first - 5, 0), min(first + size + 5, n)
            rest = np.array([i for i in range(low, high) if i not in group])
            worst = float(_misfit(points[rest], sigma).max())
            mends = worst < limit * 0.75 and (best is None or worst < best[0])
            if mends and not _on_the_lines_beside(points, first, size, sigma):
                best = (worst, group)
        if best is not None:
            return best[1]
    return []


def _on_the_lines_beside(points: Floats, first: int, size: int, sigma: float) -> bool:
    """Whether points lie on the straight before them, running on, or on that after them."""
    group = points[first : first + size]
    nearest = np.full(size, np.inf)
    for beside in (points[max(first - _BESIDE, 0) : first], points[first + size :][:_BESIDE]):
        if beside.shape[0] < _BESIDE:
            return False
        center, direction, across = fit_line(beside)
        if float((across**2).sum()) > _STRAIGHT * sigma**2 * (2 * _BESIDE - 4):
            return False
        spread = float((((beside - center) @ direction) ** 2).sum())
        along = (group - center) @ direction
        off = np.linalg.norm(group - center - along[:, None] * direction, axis=1)
        own = np.sqrt(1.0 + 1.0 / _BESIDE + along**2 / max(spread, 1e-300))
        nearest = np.minimum(nearest, off / (sigma * own))
    return bool((nearest < _ON_LINE).all())


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
    """Return (score, start) of the straight windows of one width inside gaps, best first."""
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
    passes = total < chi2_limit(freedom, 4.0)
    passes &= contrast < 2.0 * log(8.0 * max(starts.size, 8) / 0.02)
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
    """Cheap first look at up to sixteen points of each window; lets every straight one through."""
    pick = np.unique(np.linspace(0, width - 1, min(width, 16)).round().astype(np.intp))
    k = max(1, pick.size // 4)
    local = points[starts[:, None] + pick]
    first, last = local[:, :k].mean(axis=1), local[:, -k:].mean(axis=1)
    chord = last - first
    length = np.linalg.norm(chord, axis=1)
    chord /= np.maximum(length, 1e-300)[:, None]
    d = local - first[:, None]
    along = np.einsum("nij,nj->ni", d, chord)
    off = np.sqrt(np.maximum(np.einsum("nij,nij->ni", d, d) - along**2, 0.0))
    allowed = 6.0 * sigma + 1e-9 * length
    if clip is None:
        return np.asarray(off.max(axis=1) < allowed)
    # outliers may stand in the sample: a quarter of it may be off
    return np.asarray(np.sort(off, axis=1)[:, int(0.7 * pick.size)] < allowed)


def grow_straight(
    points: Floats, start: int, stop: int, low: int, high: int, sigma: float, clip: float | None
) -> tuple[int, int]:
    """Return the range of a straight grown both ways inside low..high by prediction."""
    for _ in range(12):
        center, direction, _ = fit_line(points[start:stop])
        t = (points[start:stop] - center) @ direction
        spread = max(float(t @ t), 1e-300)
        count = stop - start
        chunk = max(8, count // 2)
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
        alone = z2 > 20.0
        bad = alone.copy()
        bad[:-1] &= alone[1:]
        bad[-1] = alone[-1]
    else:
        bad = z2 > 20.0
    for span in (2, 4, 8):
        if n < span:
            break
        total = np.cumsum(off, axis=0)
        total[span:] = total[span:] - total[:-span]
        mean = total[span - 1 :] / span
        weight = sigma**2 * (1.0 / span + line[span - 1 :])
        wide = np.einsum("ij,ij->i", mean, mean) / weight > 18.0
        # the mean fails with its last points: stop before the later half
        for at in np.flatnonzero(wide)[:1]:
            bad[at + span // 2] = True
    failed = np.flatnonzero(bad)
    return int(failed[0]) if failed.size else n
