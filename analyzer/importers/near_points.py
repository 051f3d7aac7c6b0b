"""Points near points and edges near points, through a hash grid: time near linear in their number.

Points are sorted by grid cell instead of compared in pairs. The grid is shifted by an odd
fraction of a cell, because drawn coordinates like round numbers.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.linked_groups import root_of
from analyzer.geometry.segments import Floats

__all__ = [
    "AMPLE",
    "COINCIDENT_M",
    "Integers",
    "cells_of",
    "coincident_groups",
    "near_pair_arrays",
    "near_pairs",
    "sorted_once",
    "within_boxes",
]

Integers = NDArray[np.int64]
"""An array of whole numbers."""

AMPLE = 1.001
"""Times a reach: what is so far off is measured too, so that rounding leaves none out."""

COINCIDENT_M = 1e-6
"""Ends nearer than this are one end. [m]"""

_SHIFT = np.array([0.381966, 0.723607, 0.532089])
_PRIMES = np.array([73856093, 19349663, 83492791], dtype=np.int64)


def cells_of(points: Floats, cell: float, reach: float) -> tuple[Integers, Integers]:
    """Return a hash key for every cell within `reach` of each point along the axes.

    Parameters
    ----------
    points : (n, 3) float
        Points.
    cell : float
        Size of a cell, at least twice the reach.
    reach : float
        How far around a point cells are named.

    Returns
    -------
    (k,) int, (k,) int
        Keys, and the index of the point each belongs to; one to eight a point.
    """
    low = np.floor((points - reach) / cell + _SHIFT).astype(np.int64)
    high = np.floor((points + reach) / cell + _SHIFT).astype(np.int64)
    keys, owners = [], []
    index = np.arange(len(points), dtype=np.int64)
    spans = high > low
    for bits in range(8):
        pick = np.array([bits & 1, bits & 2, bits & 4], dtype=bool)
        rows = np.all(spans | ~pick, axis=1)
        if rows.any():
            corner = np.where(pick, high[rows], low[rows])
            keys.append((corner * _PRIMES).sum(axis=1))
            owners.append(index[rows])
    return np.concatenate(keys), np.concatenate(owners)


def sorted_once(values: Integers) -> Integers:
    """Return (n,) whole numbers in ascending order, each once.

    What `np.unique` returns, but by sorting: of millions it takes a fiftieth of the time.
    """
    ascending = np.sort(values)
    is_first = np.ones(len(ascending), dtype=bool)
    is_first[1:] = ascending[1:] != ascending[:-1]
    once: Integers = ascending[is_first]
    return once


def within_boxes(places: Floats, low: Floats, high: Floats, reach: float) -> NDArray[np.bool_]:
    """Return whether places may be within reach of boxes along the axes: those are to be measured.

    Parameters
    ----------
    places, low, high : (..., 3) float
        Places, and the corners of the box of each; one place or one box stands for all.
    reach : float
        How far around a box.
    """
    room = AMPLE * reach
    inside: NDArray[np.bool_] = np.all((low - room <= places) & (places <= high + room), axis=-1)
    return inside


def near_pairs(points: Floats, radius: float) -> Iterator[tuple[int, int, float]]:
    """Yield every pair of points within a radius once: indices i < j and distance.

    Time is near linear while few points share a neighborhood.
    """
    one, other, away = near_pair_arrays(points, radius)
    yield from zip(one.tolist(), other.tolist(), away.tolist(), strict=True)


def near_pair_arrays(points: Floats, radius: float) -> tuple[Integers, Integers, Floats]:
    """Return every pair of points within a radius once.

    Parameters
    ----------
    points : (n, 3) float
        Points.
    radius : float
        How near they are at least.

    Returns
    -------
    (k,) int, (k,) int, (k,) float
        Indices i < j of each pair, and its distance.
    """
    none = np.empty(0, dtype=np.int64)
    if len(points) < 2:
        return none, none, np.empty(0)
    keys, owners = cells_of(points, 4.0 * radius, radius)
    order = np.argsort(keys, kind="stable")
    keys, owners = keys[order], owners[order]
    starts = np.flatnonzero(np.r_[True, keys[1:] != keys[:-1]])
    ends = np.r_[starts[1:], len(keys)]
    found: list[tuple[Integers, Integers, Floats]] = [(none, none, np.empty(0))]
    for a, b in zip(starts[ends - starts > 1], ends[ends - starts > 1], strict=True):
        members = sorted_once(owners[a:b])
        for position, i in enumerate(members[:-1]):
            others = members[position + 1 :]
            away = np.linalg.norm(points[others] - points[i], axis=1)
            near = away <= radius
            if near.any():
                others = others[near]
                found.append((np.full(len(others), i), others, away[near]))
    one, other, away = (np.concatenate(column) for column in zip(*found, strict=True))
    # pairs that share several cells count where they are first met
    _, first = np.unique(one * len(points) + other, return_index=True)
    first.sort()
    return one[first], other[first], away[first]


def coincident_groups(points: Floats, radius: float) -> Integers:
    """Return a group number for each point; points within the radius share one (transitively).

    Numbers run from 0 in order of first appearance.
    """
    rounded = np.round(points / (radius * 1e-3))
    _, first, inverse = np.unique(rounded, axis=0, return_index=True, return_inverse=True)
    inverse = inverse.reshape(-1)
    parent = list(range(len(first)))

    for i, j, _ in near_pairs(points[first], radius):
        a, b = root_of(i, parent), root_of(j, parent)
        if a != b:
            parent[max(a, b)] = min(a, b)
    roots = np.array([root_of(i, parent) for i in range(len(first))], dtype=np.int64)[inverse]
    _, appearance, groups = np.unique(roots, return_index=True, return_inverse=True)
    rank = np.empty(len(appearance), dtype=np.int64)
    rank[np.argsort(appearance, kind="stable")] = np.arange(len(appearance))
    return rank[groups.reshape(-1)]
