"""Which points lie on which edges, through a hash grid: time near linear in their number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from math import pi

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Arc, Floats, Segment
from analyzer.importers.near_points import AMPLE, Integers, cells_of, sorted_once

__all__ = ["EdgeArrays", "EdgeTouches", "edge_arrays", "edge_touches", "nearest_stations"]

_MAX_CANDIDATES = 30_000_000
_FEW_PAIRS = 20_000  # fewer are tried one by one


@dataclass(frozen=True, slots=True)
class EdgeTouches:
    """Points on edges: which edge, which point, how far along, how far off, each an array. [m]"""

    edge: Integers
    point: Integers
    along_m: Floats
    away_m: Floats

    def only(self, kept: NDArray[np.bool_]) -> EdgeTouches:
        """Return those that are kept."""
        return EdgeTouches(self.edge[kept], self.point[kept], self.along_m[kept], self.away_m[kept])


@dataclass(frozen=True, slots=True)
class EdgeArrays:
    """Segments as arrays: straights have a chord, arcs a tangent and a normal at their start."""

    starts: Floats
    lengths: Floats
    chords: Floats
    is_arc: NDArray[np.bool_]
    radii: Floats
    angles: Floats
    tangents: Floats
    normals: Floats

    def points(self, edge: Integers, share: Floats) -> Floats:
        """Points at shares of the length of edges."""
        result: Floats = self.starts[edge] + self.chords[edge] * share[:, None]
        arcs = np.flatnonzero(self.is_arc[edge])
        of = edge[arcs]
        result[arcs] = self.arc_points(of, share[arcs] * self.angles[of])
        return result

    def boxes(self) -> tuple[Floats, Floats]:
        """Lowest and highest corner of a box around each edge, (n, 3) each. [m]"""
        last = self.points(np.arange(len(self.lengths)), np.ones(len(self.lengths)))
        # no place of an arc lies farther from its nearer end than half its length
        room = np.where(self.is_arc, 0.5 * self.lengths, 0.0)[:, None]
        return np.minimum(self.starts, last) - room, np.maximum(self.starts, last) + room

    def part(self, first: int, stop: int) -> EdgeArrays:
        """Return some edges in a row."""
        rows = slice(first, stop)
        return EdgeArrays(*(getattr(self, field.name)[rows] for field in fields(self)))

    def arc_points(self, arc: Integers, angle: Floats) -> Floats:
        """Points of arcs at angles from their start."""
        a = angle[:, None]
        around: Floats = np.sin(a) * self.tangents[arc] + 2 * np.sin(a / 2) ** 2 * self.normals[arc]
        points: Floats = self.starts[arc] + self.radii[arc][:, None] * around
        return points


def edge_touches(edges: EdgeArrays, points: Floats, radius_m: float) -> EdgeTouches | None:
    """Return which points lie within a radius of which edges, their ends included.

    Parameters
    ----------
    edges : EdgeArrays
        Straights and arcs, one or more. [m]
    points : (n, 3) float
        Points, one or more. [m]
    radius_m : float
        How near counts. [m]

    Returns
    -------
    EdgeTouches or None
        By edge, then by point; None where everything is drawn so densely that pairs would have to
        be tried one by one.
    """
    lengths = edges.lengths
    cell = max(float(np.median(lengths)), float(lengths.sum()) / (2 * len(lengths)), 4 * radius_m)
    keys, owners = cells_of(points, cell, 0.45 * cell)
    order = np.argsort(keys, kind="stable")
    keys, owners = keys[order], owners[order]
    step = 0.5 * cell
    samples, edge_of = _samples(edges, step)
    sample_keys, _ = cells_of(samples, cell, 0.0)
    first = np.searchsorted(keys, sample_keys, side="left")
    count = np.searchsorted(keys, sample_keys, side="right") - first
    total = int(count.sum())
    if total > _MAX_CANDIDATES:
        return None
    within = np.arange(total) - np.repeat(np.cumsum(count) - count, count)
    point = owners[np.repeat(first, count) + within]
    sample = np.repeat(np.arange(len(samples)), count)
    # a place of an edge is no farther than half a step from one of its samples
    reach_m = (0.5 * step + radius_m) * AMPLE
    for axis in range(3):
        near = np.abs(points[point, axis] - samples[sample, axis]) <= reach_m
        point, sample = point[near], sample[near]
    pairs = sorted_once(edge_of[sample] * len(points) + point)
    return _touches(edges, points, pairs // len(points), pairs % len(points), radius_m)


def nearest_stations(
    edges: EdgeArrays, points: Floats, radius_m: float
) -> tuple[Floats, Floats] | None:
    """Return the places of a curve nearest to points, and how far off they are.

    Parameters
    ----------
    edges : EdgeArrays
        Edges of the curve in their order, joined end to end. [m]
    points : (n, 3) float
        Points. [m]
    radius_m : float
        How near every one of them must be. [m]

    Returns
    -------
    (n,) float, (n,) float, or None
        Distances along the curve, and distances off it; None where a point is farther off. [m]
    """
    if len(points) * len(edges.lengths) <= _FEW_PAIRS:
        rows, columns = np.indices((len(edges.lengths), len(points))).reshape(2, -1)
        touches: EdgeTouches | None = _touches(edges, points, rows, columns, radius_m)
    else:
        touches = edge_touches(edges, points, radius_m)
    if touches is None:
        return None
    order = np.lexsort((touches.away_m, touches.point))
    found, first = np.unique(touches.point[order], return_index=True)
    if len(found) < len(points):
        return None
    best = order[first]
    before = np.cumsum(edges.lengths) - edges.lengths
    return before[touches.edge[best]] + touches.along_m[best], touches.away_m[best]


def edge_arrays(segments: Sequence[Segment]) -> EdgeArrays:
    """Return segments as arrays. [m]"""
    n = len(segments)
    starts = np.array([segment.start_m for segment in segments])
    chords, arms, axes = np.zeros((n, 3)), np.zeros((n, 3)), np.zeros((n, 3))
    angles = np.zeros(n)
    is_arc = np.array([isinstance(segment, Arc) for segment in segments])
    for i, segment in enumerate(segments):
        if isinstance(segment, Arc):
            arms[i], axes[i], angles[i] = segment.center_m, segment.axis, segment.angle_rad
        else:
            chords[i] = segment.end_m
    chords[~is_arc] -= starts[~is_arc]
    arms[is_arc] -= starts[is_arc]
    radii = np.linalg.norm(arms, axis=1)
    normals = arms / np.where(radii > 0.0, radii, 1.0)[:, None]
    lengths = np.where(is_arc, radii * angles, np.linalg.norm(chords, axis=1))
    tangents = np.cross(normals, axes)
    return EdgeArrays(starts, lengths, chords, is_arc, radii, angles, tangents, normals)


def _samples(edges: EdgeArrays, step: float) -> tuple[Floats, Integers]:
    """Points along every edge at most a step apart, and the edge each is of."""
    counts = np.maximum(np.ceil(edges.lengths / step).astype(np.int64), 1) + 1
    edge_of = np.repeat(np.arange(len(counts)), counts)
    within = np.arange(len(edge_of)) - np.repeat(np.cumsum(counts) - counts, counts)
    return edges.points(edge_of, within / np.repeat(counts - 1, counts)), edge_of


def _touches(
    edges: EdgeArrays, points: Floats, edge: Integers, point: Integers, radius_m: float
) -> EdgeTouches:
    offset = points[point] - edges.starts[edge]
    arc = edges.is_arc[edge]
    along, feet = np.zeros(len(edge)), np.zeros((len(edge), 3))
    of = edge[~arc]
    if len(of):
        size = edges.lengths[of]
        way = edges.chords[of] / size[:, None]
        along[~arc] = np.clip((offset[~arc] * way).sum(axis=1), 0.0, size)
        feet[~arc] = edges.starts[of] + way * along[~arc][:, None]
    of = edge[arc]
    if len(of):
        x = (offset[arc] * edges.tangents[of]).sum(axis=1)
        y = edges.radii[of] - (offset[arc] * edges.normals[of]).sum(axis=1)
        angle = np.mod(np.arctan2(x, y), 2 * pi)
        past = angle - edges.angles[of]
        end = np.where(past < 2 * pi - angle, edges.angles[of], 0.0)
        angle = np.where(past > 0.0, end, angle)
        along[arc] = angle * edges.radii[of]
        feet[arc] = edges.arc_points(of, angle)
    away = np.linalg.norm(feet - points[point], axis=1)
    return EdgeTouches(edge, point, along, away).only(away <= radius_m)
