"""Labels matched to runs one to one: as many as can be, and then the least total distance.

The cheapest augmenting paths are found by the method of Bellman and Ford (any textbook on network
flows); the answer hangs on distances only, not on the order in which labels or runs are given.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

__all__ = ["LabelMatch", "matched_labels"]

_SOURCE, _SINK = ("source", 0), ("sink", 0)
_Node = tuple[str, int]
_Arcs = dict[_Node, dict[_Node, float]]


@dataclass(frozen=True, slots=True)
class LabelMatch:
    """The run of a label, None where none is left for it.

    `excess_m` is by how much the total distance grows where the label does not have this run and
    as many labels have one; infinite where fewer would. [m]
    """

    run: int | None
    excess_m: float


def matched_labels(distances: Sequence[Mapping[int, float]]) -> list[LabelMatch]:
    """Return the run of each label.

    Parameters
    ----------
    distances : sequence of mappings
        For each label the runs it may name, and how far away they are. [m]

    Examples
    --------
    >>> [one.run for one in matched_labels([{0: 2.0, 1: 2.0}, {1: 2.0}])]
    [0, 1]
    """
    found = [LabelMatch(None, inf)] * len(distances)
    for labels in _together(distances):
        matched = _matched([distances[label] for label in labels])
        for label, match in zip(labels, matched, strict=True):
            found[label] = match
    return found


def _together(distances: Sequence[Mapping[int, float]]) -> list[list[int]]:
    """Group labels that may take runs from each other, by whatever chain of others."""
    labels_of: dict[int, list[int]] = defaultdict(list)
    for label, runs in enumerate(distances):
        for run in runs:
            labels_of[run].append(label)
    groups, seen = [], set[int]()
    for first in range(len(distances)):
        if first in seen:
            continue
        seen.add(first)
        group = [first]
        for label in group:
            for run in distances[label]:
                more = [other for other in labels_of[run] if other not in seen]
                seen.update(more)
                group += more
        groups.append(group)
    return groups


def _matched(distances: Sequence[Mapping[int, float]]) -> list[LabelMatch]:
    arcs: _Arcs = defaultdict(dict)
    for label, runs in enumerate(distances):
        arcs[_SOURCE]["label", label] = 0.0
        for run, away_m in runs.items():
            arcs["label", label]["run", run] = away_m
            arcs["run", run][_SINK] = 0.0
    while True:
        before, costs = _cheapest(arcs, _SOURCE)
        if _SINK not in costs:
            break
        node: _Node = _SINK
        while node != _SOURCE:
            came = before[node]
            arcs[node][came] = -arcs[came].pop(node)
            node = came
    found = []
    for label in range(len(distances)):
        own: _Node = ("label", label)
        taken = [run for kind, run in arcs if kind == "run" and own in arcs[kind, run]]
        if not taken:
            found.append(LabelMatch(None, inf))
            continue
        run = taken[0]
        back = arcs["run", run][own]
        _, costs = _cheapest(arcs, own)
        found.append(LabelMatch(run, costs.get(("run", run), inf) + back))
    return found


def _cheapest(arcs: _Arcs, start: _Node) -> tuple[dict[_Node, _Node], dict[_Node, float]]:
    """Return the node before each node on the cheapest way from a start, and what it costs.

    Costs that differ by rounding only are one, or ways could go round in circles.
    """
    costs: dict[_Node, float] = {start: 0.0}
    before: dict[_Node, _Node] = {}
    changed = [start]
    while changed:
        nodes, changed = dict.fromkeys(changed), []
        for node in nodes:
            for onward, cost in arcs[node].items():
                if costs[node] + cost < costs.get(onward, inf) - 1e-12:
                    costs[onward] = costs[node] + cost
                    before[onward] = node
                    changed.append(onward)
    return before, costs
