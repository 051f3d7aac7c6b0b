"""Runs of one file that keep nearer to each other than their raceway is wide.

Two raceways cannot lie so: both edges of one were drawn, or one twice, a little apart. Without a
raceway in the job nothing is said.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from analyzer.findings import Finding, Severity
from analyzer.geometry.centerline import Centerline
from analyzer.importers.edge_touches import edge_arrays, edge_touches
from analyzer.job.settings import Job
from analyzer.units import show_length, show_radius

__all__ = ["near_run_findings"]

_SAMPLES = 200  # places along each run that are compared
_MOST = 0.5  # share of the shorter run's length that is too much
_LEAST = 4.0  # diameters: no farther along than this, ends that meet are near as well
_TOUCHING = 1.01  # diameters: edges drawn to a rounded width count as touching
_UNCONFIRMED = "a table value not confirmed; measure the raceway"


def near_run_findings(
    names: Sequence[str], centerlines: Sequence[Centerline], layouts: Sequence[str], job: Job
) -> list[tuple[tuple[int, int], Finding]]:
    """Return pairs of runs that are too near to each other, and the caution for both.

    Parameters
    ----------
    names : sequence of str
        Names of the runs.
    centerlines : sequence of Centerline
        Their centerlines.
    layouts : sequence of str
        The layout of the drawing that each is drawn in; no two of different ones are compared.
    job : Job
        Its raceway says how wide they are, its units how lengths are written.
    """
    diameter = job.raceway.outside_diameter_m if job.raceway is not None else None
    if job.raceway is None or diameter is None or len(centerlines) < 2:
        return []
    doubt = "" if job.raceway.outside_confirmed else f" ({_UNCONFIRMED})"
    shares = (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    places = np.concatenate([line.points_at(shares * line.length_m) for line in centerlines])
    owner = np.repeat(np.arange(len(centerlines)), [len(c.segments) for c in centerlines])
    edges = edge_arrays([segment for line in centerlines for segment in line.segments])
    touches = edge_touches(edges, places, _TOUCHING * diameter)
    if touches is None:
        return []
    nearest: dict[tuple[int, int], dict[int, float]] = defaultdict(dict)
    for edge, point, away in zip(
        touches.edge.tolist(), touches.point.tolist(), touches.away_m.tolist(), strict=True
    ):
        run, other = point // _SAMPLES, int(owner[edge])
        if run != other and layouts[run] == layouts[other]:
            known = nearest[(run, other)]
            known[point] = min(away, known.get(point, away))
    found = []
    for (run, other), away_m in sorted(nearest.items()):
        lengths = centerlines[run].length_m, centerlines[other].length_m
        is_shorter = (lengths[0], run) < (lengths[1], other)
        over_m = lengths[0] * len(away_m) / _SAMPLES
        if not is_shorter or over_m <= max(_MOST * lengths[0], _LEAST * diameter):
            continue
        first, second = sorted((run, other))
        apart_m = float(np.median(list(away_m.values())))
        apart, wide = show_radius(apart_m, job.units), show_radius(diameter, job.units)
        message = (
            f"runs {names[first]} and {names[second]} keep {apart} apart over "
            f"{show_length(over_m, job.units)}: no two raceways {job.raceway.type} "
            f"{job.raceway.trade_size} fit there, each {wide} wide outside{doubt}. If they are "
            "the two edges of one raceway, draw its centerline instead; if one is a copy, delete it"
        )
        where = f"run {names[first]}; run {names[second]}"
        found.append(((first, second), Finding("runs-too-near", Severity.CAUTION, message, where)))
    return found
