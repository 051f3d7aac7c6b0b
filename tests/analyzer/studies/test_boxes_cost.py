"""The cheapest path with few boxes, against every path on small random tables."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import inf

import numpy as np
import pytest

from analyzer.studies.boxes_cost import _cheapest_with_few


def every_path(n: int):
    for size in range(n - 1):
        for inner in combinations(range(1, n - 1), size):
            yield [0, *inner, n - 1]


@pytest.mark.parametrize("seed", range(30))
def test_cheapest_path_with_few_boxes_is_that_of_all_paths(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n, most = 8, int(rng.integers(1, 6))
    added = rng.integers(0, 3, size=(n, n)).astype(float) + 1.0
    added[:, -1] -= 1.0
    cost = np.round(rng.uniform(1.0, 9.0, size=(n, n)), 2)
    cost[rng.random((n, n)) < 0.3] = inf

    def total(table, path):
        return sum(table[low, high] for low, high in pairwise(path))

    costs = [total(cost, p) for p in every_path(n) if total(added, p) <= most]
    least = min(costs, default=inf)
    path = _cheapest_with_few(cost, added, most)
    if least == inf:
        assert path is None
    else:
        assert path is not None
        assert total(added, path) <= most
        assert total(cost, path) == pytest.approx(least)
