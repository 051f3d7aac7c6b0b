"""Deviations of a fitted chain, and the chain as segments.

The covariance of the joint fit is sigma^2 (J^T J)^-1, solved for the gradient of each angle and
radius only. At an end without a straight the bend counts up to the foot of the end point.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from analyzer.geometry.segments import Arc, Floats, Segment, Straight, Vector
from analyzer.geometry.survey_chain import HALVES, Chain, angle_gradients, frames, turn_at
from analyzer.geometry.survey_choice import Doubt
from analyzer.geometry.survey_fit import ChainFit, normal_band, solve_band

__all__ = ["BendEstimate", "chain_segments", "estimate_bends"]

_SHORTEST_M = 1e-7
_WITHIN = 16.0
"""Chi-square (four deviations) up to which touching bends are still thought of."""


@dataclass(frozen=True, slots=True)
class BendEstimate:
    """One bend: its angle and radius with their standard deviations.

    Attributes
    ----------
    corner : int
        Number of its corner in the chain; a bend of two halves has the next one too.
    angle_rad, angle_sd_rad : float
        Turning. [rad]
    radius_m, radius_sd_m : float
        Radius. [m]
    """

    corner: int
    angle_rad: float
    angle_sd_rad: float
    radius_m: float
    radius_sd_m: float


def _whole_bends(chain: Chain) -> list[tuple[int, int]]:
    """First and last corner of every bend."""
    m = chain.radii_m.size
    starts = [k for k in range(m) if k == 0 or chain.joints[k - 1] != HALVES]
    return [(k, k + 1 if chain.joints[k] == HALVES else k) for k in starts]


def _trims(points: Floats, fit: ChainFit) -> tuple[bool, bool]:
    """Whether the first and the last bend have no points on their outer straight."""
    side, cuts = fit.side, fit.chain.cuts
    first, last = side[: cuts[1]], side[cuts[-2] :]
    return bool(first.size and not (first < 0).any()), bool(last.size and not (last > 0).any())


def estimate_bends(
    points: Floats, fit: ChainFit, sigma: float, doubts: tuple[Doubt, ...] = ()
) -> list[BendEstimate]:
    """Return every bend of a joint fit with its standard deviations.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    sigma : float
        Standard deviation of one coordinate. [m]
    doubts : tuple of Doubt
        Straights that might be none: the deviation of the bends beside them reaches at least
        as far as the likelihood does in that direction.
    """
    chain = fit.chain
    f = frames(chain)
    bends = _whole_bends(chain)
    count = len(bends)
    right = np.zeros((4 * chain.nodes_m.shape[0], 2 * count))
    gradients = angle_gradients(f)
    angles = np.zeros(count)
    extra = np.zeros(count)
    for i, (first, last) in enumerate(bends):
        for k in range(first, last + 1):
            angles[i] += f.angle[k]
            for node in range(3):
                at = 4 * (k + node) + 1
                right[at : at + 3, i] += gradients[k, node]
        right[4 * (first + 1), count + i] = 1.0
    for at_start, trimmed in zip((True, False), _trims(points, fit), strict=True):
        if trimmed:
            i = 0 if at_start else count - 1
            corner = 0 if at_start else chain.radii_m.size - 1
            lost, slopes = _lost_turn(points, chain, corner, at_start)
            angles[i] -= lost
            rows = 4 * corner + np.array([1, 2, 3, 4, 5, 6, 7, 9, 10, 11])
            right[rows, i] -= slopes
            extra[i] += (sigma / chain.radii_m[corner]) ** 2
    solved = solve_band(normal_band(points, chain), right)
    variance = np.full(2 * count, np.inf)
    if solved is not None:
        variance = sigma**2 * np.maximum((right * solved).sum(axis=0), 0.0)
    variance[:count] += extra
    sd = np.sqrt(variance)
    for doubt in doubts:
        if doubt.chi2 < _WITHIN:
            for corner, change in zip((0, 1), doubt.changes_rad, strict=True):
                i = sum(first <= doubt.corner + corner for first, _ in bends) - 1
                sd[i] = max(sd[i], abs(change) / np.sqrt(max(doubt.chi2, 1.0)))
    return [
        BendEstimate(
            first, float(angles[i]), float(sd[i]), float(chain.radii_m[first]), float(sd[count + i])
        )
        for i, (first, _) in enumerate(bends)
    ]


def _lost_turn(points: Floats, chain: Chain, corner: int, at_start: bool) -> tuple[float, Floats]:
    """Return how far an end arc turns beyond its end point, with its ten derivatives."""
    if at_start:
        return turn_at(points[0], chain, corner)
    turned, slopes = turn_at(points[-1], chain, corner)
    f = frames(chain)
    whole = angle_gradients(f)[corner]
    by_all = np.concatenate((whole[0], [0.0], whole[1], whole[2]))
    return float(f.angle[corner]) - turned, by_all - slopes


def chain_segments(
    points: Floats, fit: ChainFit, offset: Floats
) -> tuple[tuple[Segment, ...], list[tuple[int, int]]]:
    """Return a fitted chain as segments, and the first and last segment of every bend.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points; the segments end at the feet of the first and the last. [m]
    fit : ChainFit
        The joint fit.
    offset : (3,) float
        Added to every position. [m]
    """
    chain = fit.chain
    f = frames(chain)
    trim_start, trim_end = _trims(points, fit)
    first_foot = float((points[0] - chain.nodes_m[1]) @ f.u1[0])
    at = chain.nodes_m[1] + first_foot * f.u1[0] + offset
    place = _vector(at)
    segments: list[Segment] = []
    ranges: list[tuple[int, int]] = []
    for first, last in _whole_bends(chain):
        for k in range(first, last + 1):
            start = chain.nodes_m[k + 1] - f.tangent[k] * f.u1[k] + offset
            center = _vector(start + chain.radii_m[k] * f.n1[k])
            axis = f.axis[k] / np.linalg.norm(f.axis[k])
            angle = float(f.angle[k])
            if k == 0 and trim_start:
                turned = turn_at(points[0], chain, 0)[0]
                angle -= turned
                start = start + chain.radii_m[k] * (
                    np.sin(turned) * f.u1[k] + (1.0 - np.cos(turned)) * f.n1[k]
                )
                place = _vector(start)
            if k == chain.radii_m.size - 1 and trim_end:
                angle -= float(f.angle[k]) - turn_at(points[-1], chain, k)[0]
            gap = float(np.linalg.norm(np.subtract(start, place)))
            if gap > _SHORTEST_M:
                segments.append(Straight(place, _vector(start)))
                place = _vector(start)
            if k == first:
                ranges.append((len(segments), len(segments)))
            angle = max(angle, 1e-9)
            for _ in range(2 if angle > pi else 1):
                part = angle / 2.0 if angle > pi else angle
                arc = Arc(place, center, _vector(axis), part)
                segments.append(arc)
                place = arc.end_m
        ranges[-1] = (ranges[-1][0], len(segments) - 1)
    if not trim_end:
        reach = float((points[-1] - chain.nodes_m[-2]) @ f.u2[-1]) - float(f.tangent[-1])
        if reach > _SHORTEST_M:
            end = np.asarray(place) + reach * f.u2[-1]
            segments.append(Straight(place, _vector(end)))
    return tuple(segments), ranges


def _vector(row: Floats) -> Vector:
    return (float(row[0]), float(row[1]), float(row[2]))
