"""Curves drawn twice, but a little apart or cut up otherwise: one of them is left out.

Two raceways cannot be nearer than they are wide, so curves that keep within the joining distance
of each other all along are one raceway drawn twice. A curve goes where every place of it is near
the other, and every place of the other beside it is near it. Copies in chords of two kinds may lie
farther apart (`chord_copies`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Floats
from analyzer.importers.chaining.chains import joining_reach
from analyzer.importers.chaining.chord_copies import copy_reach, sagitta_m, share_ends
from analyzer.importers.chaining.curve_touches import CurveTouches
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.chaining.overlaps import gathered
from analyzer.importers.chaining.shared_stretches import SAME_M
from analyzer.importers.edge_touches import (
    EdgeArrays,
    edge_arrays,
    nearest_stations,
)
from analyzer.importers.near_points import sorted_once
from analyzer.importers.told_places import UnitText
from analyzer.units import inches

__all__ = ["twin_reach", "without_twins"]

_WIDEST_M = inches(0.25)
"""No raceway is so narrow that the centerlines of two could be as near as this. [m]"""

_SHARE_APART = 0.25
"""A curve is no twin of what is farther off than this share of its length: it is a piece beside."""

_SHARE_ALIKE = 0.9
"""Share of its length that a curve must have along the other."""

_SAMPLES = np.array([0.0, 0.25, 0.5, 0.75])


def twin_reach(join_m: float) -> float:
    """Return how far apart one raceway drawn twice may be, given the joining distance. [m]"""
    return max(min(joining_reach(join_m), _WIDEST_M), 2.0 * SAME_M)


def without_twins(
    curves: Sequence[DrawnCurve], touching: CurveTouches | None, reach_m: float, text: UnitText
) -> tuple[list[DrawnCurve], list[Finding]]:
    """Leave out curves that lie along others all their length.

    The longer one stays; of two alike the one in finer chords, else the one of fewer edges, else
    the first.

    Parameters
    ----------
    curves : sequence of DrawnCurve
        Without duplicates.
    touching : CurveTouches or None
        Their ends on edges of others; None finds nothing.
    reach_m : float
        What `twin_reach` returns. [m]
    text : UnitText
        How lengths are written.

    Returns
    -------
    list of DrawnCurve, list of Finding
        What is left, in the same order, and what was left out.
    """
    if touching is None:
        return list(curves), []
    current: list[DrawnCurve | None] = list(curves)
    findings = []
    arrays: dict[int, EdgeArrays] = {}
    boxes: dict[int, tuple[Floats, Floats]] = {}
    for a, b in _candidates(curves, touching, reach_m):
        cover, lying = current[a], current[b]
        if cover is None or lying is None:
            continue
        for index in (a, b):
            if index not in arrays:
                arrays[index] = edge_arrays([edge.segment for edge in curves[index].edges])
                boxes[index] = arrays[index].boxes()
        allowed_m, coarser_m = reach_m, 0.0
        if share_ends(cover, lying, reach_m):
            sags = sagitta_m(cover), sagitta_m(lying)
            coarser_m = max(sags) if abs(sags[0] - sags[1]) > SAME_M else 0.0
            allowed_m = copy_reach(max(sags), reach_m)
            if coarser_m and sags[0] > sags[1]:
                a, b, cover, lying = b, a, lying, cover
        within_m = min(allowed_m, _SHARE_APART * lying.length_m)
        beside = _beside(arrays[a], boxes[a], boxes[b], within_m)
        away_m = None if beside is None else _farthest(beside, arrays[b], within_m)
        if away_m is None:
            continue
        current[a] = replace(cover, loose_m=max(cover.loose_m, lying.loose_m, min(away_m, reach_m)))
        current[b] = None
        is_whole = bool(coarser_m) or cover.length_m <= lying.length_m + 4.0 * reach_m
        how = "in coarser chords " if coarser_m else ""
        findings.append(_finding(cover, lying, away_m, is_whole, how, text))
    return [curve for curve in current if curve is not None], gathered(findings, "drawn twice")


def _finding(
    cover: DrawnCurve,
    lying: DrawnCurve,
    away_m: float,
    is_whole: bool,
    in_chords: str,
    text: UnitText,
) -> Finding:
    is_exact = away_m <= 2.0 * SAME_M
    how = "along" if not is_exact else "exactly on" if is_whole else "on"
    message = (
        f"{lying.kind} {lying.handle} on layer {lying.layer} lies {how} {cover.kind} "
        f"{cover.handle} on layer {cover.layer}"
    )
    if not is_exact:
        message += f", {in_chords}at most {text.length(away_m)} beside it,"
    message += " and was left out"
    if not is_exact:
        message += ": one raceway seems to be drawn twice. Delete the one that is not meant"
    code = "duplicate-entity" if is_whole else "overlapping-entity"
    severity = Severity.NOTE if is_exact and is_whole else Severity.CAUTION
    concern = Concern(entities=(cover.handle, lying.handle))
    return Finding(code, severity, message, lying.where, concern)


def _candidates(
    curves: Sequence[DrawnCurve], touching: CurveTouches, reach_m: float
) -> list[tuple[int, int]]:
    """Pairs of curves, where both ends of the second lie on the first."""
    count, touches = len(curves), touching.touches
    lengths = np.array([curve.length_m for curve in curves])
    cover, lying = touching.owner[touches.edge], touches.point // 2
    near = touches.away_m <= _SHARE_APART * lengths[lying]
    ends = sorted_once((cover[near] * count + lying[near]) * 2 + touches.point[near] % 2)
    pairs = ends[1:][ends[1:] // 2 == ends[:-1] // 2] // 2
    first, second = pairs // count, pairs % count
    longer = lengths[second] - lengths[first] > reach_m
    edges = touching.counts
    finer = np.sign(edges[first] - edges[second])
    order = np.lexsort((second, first, second < first, finer, longer))
    return [(int(first[k]), int(second[k])) for k in order]


def _beside(
    cover: EdgeArrays,
    cover_boxes: tuple[Floats, Floats],
    lying_boxes: tuple[Floats, Floats],
    within_m: float,
) -> EdgeArrays | None:
    """Return the edges of a curve from the first to the last that another may lie along."""
    low, high = lying_boxes[0].min(axis=0) - within_m, lying_boxes[1].max(axis=0) + within_m
    near = np.all((cover_boxes[0] <= high) & (cover_boxes[1] >= low), axis=1)
    rows = np.flatnonzero(near)
    return cover.part(int(rows[0]), int(rows[-1]) + 1) if rows.size else None


def _farthest(cover: EdgeArrays, lying: EdgeArrays, within_m: float) -> float | None:
    """How far a curve gets off another it lies along; None where it leaves it."""
    found = nearest_stations(cover, _samples(lying)[1], within_m)
    if found is None:
        return None
    stations, away = found
    low, high = sorted((float(stations[0]), float(stations[-1])))
    if high - low < _SHARE_ALIKE * float(lying.lengths.sum()):
        return None
    at, places = _samples(cover)
    beside = places[(at > low) & (at < high)]
    if not len(beside):
        return float(away.max())
    back = nearest_stations(lying, beside, within_m)
    return None if back is None else float(max(away.max(), back[1].max()))


def _samples(edges: EdgeArrays) -> tuple[Floats, Floats]:
    """Places along a curve, at its vertices and quarters between: distances along, points."""
    index = np.repeat(np.arange(len(edges.lengths)), len(_SAMPLES))
    share = np.tile(_SAMPLES, len(edges.lengths))
    before = np.cumsum(edges.lengths) - edges.lengths
    along = before[index] + share * edges.lengths[index]
    last = len(edges.lengths) - 1
    end = edges.points(np.array([last]), np.array([1.0]))
    return np.append(along, edges.lengths.sum()), np.concatenate([edges.points(index, share), end])
