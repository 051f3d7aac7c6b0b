"""Which runs of a file the findings on it concern.

A caution on an entity, a layer or a place is one on the runs that are made of it or end there, one
on a fitting is one on the runs it stands on; a caution that may concern any run counts for all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.drawn_file import DrawnFile

__all__ = ["findings_by_run"]


def findings_by_run(
    drawn: DrawnFile, standing_m: Sequence[Sequence[Vector]] = ()
) -> tuple[list[tuple[Finding, ...]], tuple[Finding, ...]]:
    """Return the findings on a file that count for each of its runs, and those told of the file.

    Notes stay on the file. So do cautions and errors that concern no run, and, besides counting
    for each run, those that may concern any of several. What concerns fittings alone, none of which
    stands on a run, is left out: such a fitting is told to be left out itself.

    Parameters
    ----------
    drawn : DrawnFile
        Its paths are the runs.
    standing_m : sequence of sequence of (3,) float
        For each path, where the fittings are drawn that stand on it. [m]

    Returns
    -------
    list of tuple of Finding, tuple of Finding
        One tuple a path, and the rest.
    """
    paths = _Paths(drawn, standing_m)
    by_run: list[list[Finding]] = [[] for _ in drawn.paths]
    rest = []
    for finding in drawn.findings:
        concerned = [] if finding.severity is Severity.NOTE else paths.concerned(finding.concern)
        for index in concerned:
            by_run[index].append(finding)
        places = finding.concern.fittings_m
        if places and not concerned and finding.concern == Concern(fittings_m=places):
            continue
        if not concerned or (finding.concern.is_every_run and len(drawn.paths) > 1):
            rest.append(finding)
    return [tuple(found) for found in by_run], tuple(rest)


class _Paths:
    """The paths of a file by entity, layer and fitting, and their ends."""

    def __init__(self, drawn: DrawnFile, standing_m: Sequence[Sequence[Vector]]) -> None:
        self.count = len(drawn.paths)
        self.by_entity: dict[str, list[int]] = defaultdict(list)
        self.by_layer: dict[str, list[int]] = defaultdict(list)
        for index, source in enumerate(drawn.sources):
            for entity in source.entities:
                self.by_entity[entity].append(index)
            for layer in source.layers:
                self.by_layer[layer].append(index)
        self.by_fitting: dict[Vector, list[int]] = defaultdict(list)
        for index, places in enumerate(standing_m):
            for place in places:
                self.by_fitting[place].append(index)
        ends = [
            (path.edges[0].segment.start_m, path.edges[-1].segment.end_m) for path in drawn.paths
        ]
        self.ends_m: Floats = np.array(ends, dtype=float).reshape(-1, 2, 3)

    def concerned(self, concern: Concern) -> list[int]:
        """Return the indices of the paths that something concerns, in order."""
        if concern.is_every_run:
            return list(range(self.count))
        found = {index for name in concern.entities for index in self.by_entity.get(name, ())}
        found |= {index for name in concern.layers for index in self.by_layer.get(name, ())}
        found |= {index for at in concern.fittings_m for index in self.by_fitting.get(at, ())}
        for low, high in concern.boxes_m:
            beyond = np.maximum(np.array(low) - self.ends_m, self.ends_m - np.array(high))
            away = np.linalg.norm(np.maximum(beyond, 0.0), axis=2).min(axis=1)
            found |= set(np.flatnonzero(away <= concern.reach_m).tolist())
        return sorted(found)
