"""Points that do not fit between their neighbors: single ones, and groups of two or three.

Each point is held against the polynomial through its neighbors, with the deviation that its own
error and theirs give it. Assumes points in order with independent errors.

Source: textbook statistics (Lagrange interpolation, variance of a sum).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import copysign, sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.fit import fit_line

__all__ = ["OUTLIER", "find_outliers"]

OUTLIER = 6.0
"""Misfit of a point between its neighbors, in deviations, above which it is left out."""

_BESIDE, _STRAIGHT, _ON_LINE = 5, 2.0, 4.0
"""Points beside a group that tell a straight, their variance over the accuracy's up to which they
do, and the deviations within which it goes on."""

_OWN_PLACE, _SIDE_STEP = 12.0, 0.35
"""Accuracies from which shots stand in places of their own, and the side step of an end point over
the spacing of those beside it from which it counts."""

_ROUNDS, _APART = 6, 4
"""How often points are looked through at most, and places from one left out to the next in a round:
one that is off moves its neighbors too. Own choice."""

_FEWEST_KEPT, _NEAR, _MENDED = 8, 5, 0.75
"""Points that stay at least; those on each side of a group that have to agree without it; and the
share of the limit below which they do. Own choice."""

_IN_A_ROW, _AROUND = 5, (0, 1, 3, 4)
"""Points in a row of which the others tell the middle one, and those others."""

_FINE_M = 1e-12
"""Distance along the chord that two neighbors count as apart at least. [m] Own choice."""


def find_outliers(points: Floats, sigma: float, limit: float = OUTLIER) -> NDArray[np.intp]:
    """Return the points that do not fit between their neighbors, in order.

    A point is taken out when it stands off the line or curve through its neighbors by more
    than `limit` deviations and, without it, those neighbors agree. Groups of two and three
    points are tried too. A sharp corner stays where its points lie on the straights beside it.

    Parameters
    ----------
    points : (n, 3) float
        Points in order. [m]
    sigma : float
        Standard deviation of one coordinate. [m]
    limit : float
        Misfit above which a point is left out. [sigma]

    Returns
    -------
    (k,) int
        Places of those left out.
    """
    keep = np.arange(points.shape[0])
    for _ in range(_ROUNDS):
        score = _misfit(points[keep], sigma)
        peaks = np.flatnonzero(score > limit)
        if peaks.size == 0:
            break
        drop: set[int] = set()
        for peak in peaks[np.argsort(-score[peaks])]:
            peak = int(peak)
            if any(abs(peak - other) < _APART for other in drop):
                continue
            drop.update(_smallest_group(points[keep], peak, sigma, limit))
        if not drop:
            break
        keep = np.delete(keep, sorted(drop))
    return np.setdiff1d(np.arange(points.shape[0]), keep)


def _misfit(points: Floats, sigma: float) -> Floats:
    """Deviation of each point from the curve through its neighbors, in sigma, (n,)."""
    n = points.shape[0]
    score = np.zeros(n)
    if n < _IN_A_ROW:
        return score
    score[2:-2] = _middle_misfits(points[_rows_of_five(np.arange(n))], sigma)
    score[[0, 1, n - 1, n - 2]] = _end_misfits(points, sigma)
    return score


def _rows_of_five(places: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return every five places that follow each other, (n - 4, 5)."""
    rows = np.arange(places.size - _IN_A_ROW + 1)[:, None] + np.arange(_IN_A_ROW)
    return np.asarray(places[rows])


def _middle_misfits(fives: Floats, sigma: float) -> Floats:
    """Deviation of the middle of five points (k, 5, 3) across the cubic through the others."""
    # from the first of them on: shots of one place may stand so close that weights leave no whole
    own = fives[:, 2] - fives[:, 0]
    near = fives[:, _AROUND] - fives[:, :1]
    chord = near[:, 3]
    chord = chord / np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-300)
    at = np.einsum("nij,nj->ni", near, chord)
    weights = _weights(at, np.einsum("ni,ni->n", own, chord))
    off = own - np.einsum("ni,nij->nj", weights, near)
    off -= np.einsum("ni,ni->n", off, chord)[:, None] * chord
    spread = sigma * np.sqrt(1.0 + (weights**2).sum(axis=1))
    return np.asarray(np.linalg.norm(off, axis=1) / spread)


def _end_misfits(points: Floats, sigma: float) -> list[float]:
    """Deviations of the first point, the second, the last and the last but one."""
    return [
        _end_misfit(way[end], way[end + 1 :], sigma)
        for way in (points, points[::-1])
        for end in (0, 1)
    ]


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
        # two or more at an end may be the start of a bend
        inset = 0 if size == 1 else 2
        firsts = range(max(peak - size - 1, inset), min(peak + 3, n - size - inset + 1))
        if n - size < _FEWEST_KEPT or not firsts:
            continue
        best, mended = limit * _MENDED, -1
        for first, rest, inside in _without_each(points, firsts, size, sigma):
            if inside < best:
                # the ends take their time: only where the points between them agree
                worst = max(inside, *_end_misfits(points[rest], sigma))
                if worst < best and not _on_the_lines_beside(points, first, size, sigma):
                    best, mended = worst, first
        if mended >= 0:
            return list(range(mended, mended + size))
    return []


def _without_each(
    points: Floats, firsts: range, size: int, sigma: float
) -> Iterator[tuple[int, NDArray[np.intp], float]]:
    """Yield every group's first point, the points beside it, and the worst misfit inside those."""
    rests = [
        np.r_[max(first - _NEAR, 0) : first, first + size : min(first + size + _NEAR, len(points))]
        for first in firsts
    ]
    fives = [_rows_of_five(rest) for rest in rests]
    misfits = _middle_misfits(points[np.concatenate(fives)], sigma)
    begin = np.cumsum([0, *(len(rows) for rows in fives[:-1])])
    yield from zip(firsts, rests, np.maximum.reduceat(misfits, begin).tolist(), strict=True)


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
