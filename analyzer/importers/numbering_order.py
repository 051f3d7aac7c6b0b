"""In which order runs and fittings of one name are numbered: by where they stand.

The order of entities changes when a drawing is saved again, so a number must not hang on it, nor
on which end of a line was drawn first, nor on the last digits of coordinates.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.segments import Floats

__all__ = ["numbering_order", "order_by_place"]

_ALIKE_M = 1e-3  # rounding moves coordinates by less: three decimals of a meter, five of a foot


def numbering_order(paths: Sequence[DrawnPath]) -> list[int]:
    """Return the indices of paths by the end with the smaller x, then y, then z.

    Of equals by the other end, then by length, then by the place halfway along; coordinates about
    as large count as equal. Paths that are alike in all of it keep their order.

    Parameters
    ----------
    paths : sequence of DrawnPath
        The runs of a file.
    """
    return order_by_place([_row(path) for path in paths])


def order_by_place(rows: Sequence[Sequence[float]]) -> list[int]:
    """Return the indices of rows by their first value, of equals by the next, and so on.

    Values about as large count as equal. Rows that are alike in all of it keep their order.

    Parameters
    ----------
    rows : (n, k) sequence of float
        What tells places apart, each with as many values. [m]

    Examples
    --------
    >>> order_by_place([(5.0, 1.0), (2.0, 9.0), (5.0004, 0.0)])
    [1, 2, 0]
    """
    if len(rows) < 2:
        return list(range(len(rows)))
    ranks = [_ranks(column) for column in np.array(rows).T]
    return [int(index) for index in np.lexsort(ranks[::-1])]


def _row(path: DrawnPath) -> list[float]:
    """Both ends, the smaller first, length, and the place halfway. [m]"""
    first, last = path.edges[0].segment.start_m, path.edges[-1].segment.end_m
    apart = [(a, b) for a, b in zip(first, last, strict=True) if abs(a - b) > _ALIKE_M]
    if apart and apart[0][1] < apart[0][0]:
        first, last = last, first
    length = sum(edge.segment.length_m for edge in path.edges)
    return [*first, *last, length, *_halfway(path, length / 2.0)]


def _halfway(path: DrawnPath, left_m: float) -> list[float]:
    """Return the point so far along a path. [m]"""
    for edge in path.edges:
        segment = edge.segment
        if left_m <= segment.length_m:
            return [float(value) for value in segment.points_at([left_m])[0]]
        left_m -= segment.length_m
    return list(path.edges[-1].segment.end_m)


def _ranks(values: Floats) -> Floats:
    """Ranks of values, those equal that no step larger than rounding tells apart."""
    order = np.argsort(values, kind="stable")
    steps = np.diff(values[order]) > _ALIKE_M
    ranks = np.empty(len(values))
    ranks[order] = np.concatenate([[0], np.cumsum(steps)])
    return ranks
