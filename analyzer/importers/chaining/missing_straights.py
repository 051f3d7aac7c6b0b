"""Ends that face each other on one line, far apart, as if a straight between them were missing.

Nearer ends are told on less (`loose_ends`). Farther off, two runs may well end on one line by
design, so more has to speak for one run: they lie on one line within rounding and share a layer,
and a run that ends in a bend is on either side, because hardly any does by design (own estimate),
or at most three lengths of raceway fit between, of 10 ft each (common practice). Where runs lie
all along the way between, nothing is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from analyzer.geometry.segments import Arc, Floats, Vector
from analyzer.importers.chaining.chains import Chain
from analyzer.importers.edge_touches import edge_arrays, edge_touches
from analyzer.importers.near_points import Integers, coincident_groups
from analyzer.units import ft

__all__ = ["missing_straights"]

_LENGTHS_M = ft(30)  # between ends of straights
_MOST_AHEAD = 16  # ends looked at ahead of each on its line
_ALIKE = 1e-3  # directions that differ by less in each coordinate are looked at together
_NEARLY = 0.02  # the same for ends off a common line: a short last edge tells its direction so
_ON_THE_WAY = (0.25, 0.5, 0.75)  # shares of the way between two ends where runs are looked for
_ROUNDED = 16.0  # joining distances beside the line that rounding at a short last edge may leave


def missing_straights(
    chains: Sequence[Chain], tips_m: Floats, ways: Sequence[Vector], join_m: float, beyond_m: float
) -> dict[tuple[int, int], float]:
    """Return the pairs of ends that a missing straight would join, and how far apart they are.

    Time is near linear in the number of ends: each is compared with the next 16 on its line.

    Parameters
    ----------
    chains : sequence of Chain
        The runs; end 2 i is the start of run i, end 2 i + 1 its end.
    tips_m : (n, 3) float
        Their ends. [m]
    ways : sequence of (3,) float
        Unit vectors in which the runs would go on there.
    join_m : float
        Largest gap that is bridged: how far off its place rounding may put an end. [m]
    beyond_m : float
        Pairs no farther apart than this are left out. [m]
    """
    lasts = [chain.path.edges[at].segment for chain in chains for at in (0, -1)]
    lengths = np.array([segment.length_m for segment in lasts])
    layers = [{curve.layer for curve in chain.curves} for chain in chains]
    found = {}
    for i, j, gap_m in _facing(tips_m, np.array(ways), lengths, join_m):
        in_bend = isinstance(lasts[i], Arc) or isinstance(lasts[j], Arc)
        if (
            beyond_m < gap_m
            and (in_bend or gap_m <= _LENGTHS_M)
            and layers[i // 2] & layers[j // 2]
        ):
            found[(i, j)] = gap_m
    drawn = _drawn_between(list(found), chains, tips_m, _ROUNDED * join_m)
    return {pair: gap_m for pair, gap_m in found.items() if pair not in drawn}


def _drawn_between(
    pairs: Sequence[tuple[int, int]], chains: Sequence[Chain], tips_m: Floats, near_m: float
) -> set[tuple[int, int]]:
    """Return the pairs of ends with runs all along the way between.

    None where everything is drawn so densely that nobody can tell.
    """
    if not pairs:
        return set()
    one, other = tips_m[[i for i, _ in pairs]], tips_m[[j for _, j in pairs]]
    places = np.concatenate([one + share * (other - one) for share in _ON_THE_WAY])
    edges = edge_arrays([edge.segment for chain in chains for edge in chain.path.edges])
    touches = edge_touches(edges, places, near_m)
    if touches is None:
        return set()
    on_run = np.isin(np.arange(len(places)), touches.point)
    return {pair for at, pair in enumerate(pairs) if on_run[at :: len(pairs)].all()}


def _facing(
    tips_m: Floats, ways: Floats, lasts_m: Floats, join_m: float
) -> Iterator[tuple[int, int, float]]:
    """Yield the pairs of ends that face each other on one line within rounding, and how far apart.

    `lasts_m` are the lengths of the last edges: how well their directions are known. [m]
    """
    if len(tips_m) < 2:
        return
    centered = tips_m - tips_m.mean(axis=0)
    index = np.arange(len(tips_m))
    seen: set[tuple[int, int]] = set()
    # what one grid of directions cuts apart, the other of its size does not
    for size, shift in product((_ALIKE, _NEARLY), (0.0, 0.5)):
        cells = np.floor(np.concatenate([ways, -ways]) / size + shift)
        _, cell = np.unique(cells, axis=0, return_inverse=True)
        order = np.argsort(cell.reshape(-1), kind="stable")
        counts = np.bincount(cell.reshape(-1))
        for members in np.split(order, np.cumsum(counts)[:-1]):
            onward, backward = members[members < len(index)], members[members >= len(index)]
            if not len(onward) or not len(backward):
                continue
            rows = np.concatenate([onward, backward - len(index)])
            signs = np.concatenate([np.ones(len(onward)), -np.ones(len(backward))])
            spread = size if size == _ALIKE else 0.0
            for i, j in _on_lines(rows, signs, centered, ways, lasts_m, join_m, spread):
                pair = min(i, j), max(i, j)
                if pair not in seen:
                    seen.add(pair)
                    yield (*pair, float(np.linalg.norm(tips_m[j] - tips_m[i])))


def _on_lines(
    rows: Integers,
    signs: Floats,
    tips_m: Floats,
    ways: Floats,
    lasts_m: Floats,
    join_m: float,
    most_spread: float,
) -> Iterator[tuple[int, int]]:
    """Yield pairs of ends on one line; those of sign 1 point along it, those of sign -1 back.

    Lines are told apart along the middle one of the directions; up to `most_spread` the others
    are allowed for.
    """
    along = signs[:, None] * ways[rows]
    axis = np.median(along, axis=0)
    axis /= np.linalg.norm(axis)
    stations = tips_m[rows] @ axis
    groups = np.zeros(len(rows), dtype=np.int64)  # so few are all compared with each other
    if len(rows) > _MOST_AHEAD:
        spread = min(float(np.abs(along - axis).max()), most_spread)
        reach_m = _ROUNDED * join_m + spread * float(np.ptp(stations))
        groups = coincident_groups(tips_m[rows] - stations[:, None] * axis, reach_m)
    order = np.lexsort((stations, groups))
    for step in range(1, min(_MOST_AHEAD, len(order) - 1) + 1):
        low, high = order[:-step], order[step:]
        fits = (groups[low] == groups[high]) & (signs[low] > 0.0) & (signs[high] < 0.0)
        low, high = rows[low[fits]], rows[high[fits]]
        gaps = tips_m[high] - tips_m[low]
        sizes = np.linalg.norm(gaps, axis=1)
        near = sizes > 0.0
        for ends, sign in ((low, 1.0), (high, -1.0)):
            ahead = sign * np.einsum("ij,ij->i", gaps, ways[ends])
            off_m = np.sqrt(np.maximum(sizes**2 - ahead**2, 0.0))
            allowed_m = join_m * np.minimum(1.0 + sizes / lasts_m[ends], _ROUNDED)
            near &= (ahead > 0.0) & (off_m <= allowed_m)
        yield from zip(low[near].tolist(), high[near].tolist(), strict=True)
