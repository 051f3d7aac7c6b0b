"""The dynamic programming against brute force and a general graph library."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import inf

import numpy as np
import pytest
from box_runs import box_job, level_run

from analyzer.studies.boxes_choice import find_layers, least_counts, useful_stops
from analyzer.studies.boxes_costs import LegPricing
from analyzer.studies.boxes_places import find_rooms, first_stops, fixed_stops
from analyzer.units import ft


def random_costs(seed: int, n: int, fixed: int = 0, missing: float = 0.3) -> tuple:
    rng = np.random.default_rng(seed)
    cost = rng.uniform(0.0, 10.0, (n, n))
    cost[rng.uniform(size=(n, n)) < missing] = inf
    cost[np.tril_indices(n)] = inf
    is_fixed = np.zeros(n, dtype=bool)
    is_fixed[[0, -1]] = True
    is_fixed[rng.choice(np.arange(1, n - 1), fixed, replace=False)] = True
    for stop in np.flatnonzero(is_fixed):
        cost[:stop, stop + 1 :] = inf
    return cost, is_fixed


def all_paths(is_fixed: np.ndarray, count: int) -> list[tuple[int, ...]]:
    free, kept = np.flatnonzero(~is_fixed), np.flatnonzero(is_fixed)
    return [tuple(sorted((*kept, *some))) for some in combinations(free, count)]


def value_of(cost: np.ndarray, path: tuple[int, ...], sums: bool) -> float:
    legs = [cost[a, b] for a, b in pairwise(path)]
    return float(sum(legs)) if sums else float(max(legs))


@pytest.mark.parametrize("sums", [False, True], ids=["worst leg", "sum of legs"])
@pytest.mark.parametrize("fixed", [0, 1, 2])
@pytest.mark.parametrize("seed", range(5))
def test_best_path_is_that_of_brute_force(seed, fixed, sums) -> None:
    cost, is_fixed = random_costs(seed, 10, fixed)
    layers = find_layers(cost, is_fixed, 4, sums=sums)
    for count in range(5):
        best = min((value_of(cost, path, sums) for path in all_paths(is_fixed, count)), default=inf)
        assert layers.best(count) == pytest.approx(best)
        if best < inf:
            path = layers.path(count)
            assert len(path) == count + int(is_fixed.sum())
            assert value_of(cost, path, sums) == pytest.approx(best)
        else:
            assert layers.path(count) == ()


@pytest.mark.parametrize("seed", range(5))
def test_useful_stops_are_those_of_paths_within_the_limit(seed) -> None:
    cost, is_fixed = random_costs(seed, 9, 1)
    forward = find_layers(cost, is_fixed, 3)
    backward = find_layers(cost[::-1, ::-1].T, is_fixed[::-1], 3)
    for count in (1, 2, 3):
        for limit in (forward.best(count), 7.0, 9.0):
            paths = [p for p in all_paths(is_fixed, count) if value_of(cost, p, False) <= limit]
            expected = {stop for path in paths for stop in path}
            useful = useful_stops(forward, backward, count, limit)
            assert set(np.flatnonzero(useful).tolist()) == ({int(s) for s in expected})


def grid_costs() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A real run of 600 ft and 12 bends, a place every 2 ft."""
    run = level_run([46.0] * 13)
    job = box_job((0.2, 0.35, 0.5), spacing_m=ft(2.0), need_m=ft(1.0))
    rooms = find_rooms(run, job)
    stops = sorted(
        (*fixed_stops(run, job), *first_stops(rooms, job)), key=lambda stop: stop.station_m
    )
    costs = LegPricing(run, job).price(stops)
    return costs.share, costs.is_within, np.array([stop.is_fixed for stop in stops])


def test_fewest_boxes_on_a_large_run_are_those_of_a_graph_library() -> None:
    nx = pytest.importorskip("networkx", reason="needs the test extra")
    share, is_within, is_fixed = grid_costs()
    assert share.shape[0] > 300
    allowed = is_within & (share <= 1.0)
    graph = nx.DiGraph(list(zip(*np.nonzero(allowed), strict=True)))
    hops = nx.single_source_shortest_path_length(graph, 0)
    counts = least_counts(allowed, is_fixed)
    last = share.shape[0] - 1
    assert {int(i) for i in np.flatnonzero(counts >= 0)} == {int(i) for i in hops}
    # on a run without fixed boxes a leg more is a box more; the last stop is none
    assert counts[last] == hops[last] - 1
    assert all(counts[i] == hops[i] for i in hops if i != last)
    layers = find_layers(np.where(allowed, share, inf), is_fixed, int(counts[last]))
    assert layers.best(int(counts[last])) < inf
    assert layers.best(int(counts[last]) - 1) == inf


def test_least_greatest_share_on_a_large_run_is_that_of_a_graph_library() -> None:
    nx = pytest.importorskip("networkx", reason="needs the test extra")
    share, _, is_fixed = grid_costs()
    layers = find_layers(share, is_fixed, 4)
    last = share.shape[0] - 1
    for count in (1, 2, 3, 4):
        value = layers.best(count)
        for limit, is_enough in ((value, True), (np.nextafter(value, 0.0), False)):
            graph = nx.DiGraph()
            graph.add_nodes_from((0, last))
            graph.add_edges_from(zip(*np.nonzero(share <= limit), strict=True))
            # more boxes never cost more here, so the fewest within the limit decide
            is_there = nx.has_path(graph, 0, last)
            hops = nx.shortest_path_length(graph, 0, last) if is_there else inf
            assert (hops - 1 <= count) is is_enough


def test_least_sum_on_a_large_problem_is_that_of_a_graph_library() -> None:
    nx = pytest.importorskip("networkx", reason="needs the test extra")
    cost, is_fixed = random_costs(7, 150)
    layers = find_layers(cost, is_fixed, 5, sums=True)
    graph = nx.DiGraph()
    for low, high in zip(*np.nonzero(cost < inf), strict=True):
        for count in range(6):
            graph.add_edge((int(low), count), (int(high), count + 1), weight=cost[low, high])
    for count in range(6):
        assert layers.best(count) == pytest.approx(
            nx.dijkstra_path_length(graph, (0, 0), (149, count + 1))
            if nx.has_path(graph, (0, 0), (149, count + 1))
            else inf
        )
