"""Deviations of a fitted chain, and the chain as segments.

The covariance of the joint fit is sigma^2 (J^T J)^-1, solved for the gradient of each angle and
radius only; errors that are alike from point to point raise it by how they act on each value. To
that comes what other models would change that explain the points about as well; the radius of a
short arc has the deviation of its profile. At an end without a straight the bend counts up to the
foot of the end point.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, pi, sqrt

import numpy as np

from analyzer.geometry.segments import Arc, Floats, Segment, Straight
from analyzer.geometry.survey.chain import FREE, HALVES, Chain, angle_gradients, frames, turn_at
from analyzer.geometry.survey.doubts import Doubts, bare_ends, reported_angles
from analyzer.geometry.survey.fit import UNKNOWNS, ChainFit, normal_band, solve_band
from analyzer.geometry.survey.noise import Noise, influences
from analyzer.geometry.survey.radii import angle_spread, profile_deviation
from analyzer.geometry.vectors import to_vector

__all__ = ["BendEstimate", "chain_segments", "estimate_bends"]

_SHORTEST_M = 1e-7
"""Length above which a straight is laid. [m] Own choice."""

_MOST_SD_RAD = pi
"""Greatest deviation of an angle: half a turn tells nothing of it, and more tells no less."""


@dataclass(frozen=True, slots=True)
class BendEstimate:
    """One bend: its angle and radius with their standard deviations.

    Attributes
    ----------
    corner : int
        Number of its corner in the chain; a bend of two halves has the next one too.
    angle_rad, angle_sd_rad : float
        Turning; its deviation is pi where nothing tells it. [rad]
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


def estimate_bends(
    points: Floats, fit: ChainFit, noise: Noise, doubts: Doubts, *, hopeless: bool = False
) -> list[BendEstimate]:
    """Return every bend of a joint fit with its standard deviations.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    noise : Noise
        Errors of the points.
    doubts : Doubts
        What other models add to the variances.
    hopeless : bool
        Whether the fit does not explain the points, so that weighing it against others is idle.
    """
    chain = fit.chain
    bends = _whole_bends(chain)
    right, extra = _gradients(points, fit, bends)
    plain, raised = _variances(points, chain, bends, right, noise)
    corner_angles = reported_angles(points, fit)
    sigma = noise.sigma_m
    found = []
    for i, (first, last) in enumerate(bends):
        angle, radius = raised[:, i] * plain[:, i]
        angle_sd = sigma * sqrt(angle + extra[i])
        # independent errors of this size would do the same to the radius
        alone = sigma * sqrt(raised[1, i])
        radius_sd = sigma * sqrt(radius)
        if not hopeless:
            radius_sd = profile_deviation(points, fit, first, alone, radius_sd)
            angle_sd = hypot(angle_sd, angle_spread(points, fit, first, alone))
        angle_sd = hypot(angle_sd, np.sqrt(doubts.angles_rad2[first : last + 1]).sum())
        found.append(
            BendEstimate(
                first,
                float(corner_angles[first : last + 1].sum()),
                min(angle_sd, _MOST_SD_RAD),
                float(chain.radii_m[first]),
                sqrt(radius_sd**2 + doubts.radii_m2[first]),
            )
        )
    return found


def _gradients(
    points: Floats, fit: ChainFit, bends: list[tuple[int, int]]
) -> tuple[Floats, Floats]:
    """Return the gradients of angles and radii (unknowns, 2, k), and what the ends add.

    The place of an end point along its arc is known no better than its own error: that adds to
    the variance of the angle, in units of that of one coordinate. [1/m2]
    """
    chain = fit.chain
    right = np.zeros((4 * chain.nodes_m.shape[0], 2, len(bends)))
    gradients = angle_gradients(frames(chain))
    extra = np.zeros(len(bends))
    for i, (first, last) in enumerate(bends):
        for k in range(first, last + 1):
            for node in range(3):
                at = 4 * (k + node) + 1
                right[at : at + 3, 0, i] += gradients[k, node]
        right[4 * (first + 1), 1, i] = 1.0
    for at_start, trimmed in zip((True, False), bare_ends(fit), strict=True):
        if trimmed:
            i = 0 if at_start else len(bends) - 1
            corner = 0 if at_start else chain.radii_m.size - 1
            rows = 4 * corner + UNKNOWNS
            right[rows, 0, i] -= _lost_turn(points, chain, corner, at_start)[1]
        if trimmed or (chain.lead_m if at_start else chain.tail_m) is not None:
            i, corner = (0, 0) if at_start else (len(bends) - 1, chain.radii_m.size - 1)
            extra[i] += 1.0 / chain.radii_m[corner] ** 2
    return right, extra


def _variances(
    points: Floats, chain: Chain, bends: list[tuple[int, int]], right: Floats, noise: Noise
) -> tuple[Floats, Floats]:
    """Return the variances of angles and radii under independent errors of unit deviation.

    The second array holds the factors for errors that are alike; both have the shape (2, k).
    """
    shape = right.shape[1:]
    band = normal_band(points, _without_walls(chain))
    solved = solve_band(band, right.reshape(right.shape[0], -1))
    if solved is None:
        return np.full(shape, np.inf), np.ones(shape)
    solved = solved.reshape(right.shape)
    plain = (right * solved).sum(axis=0)
    raised = np.ones(shape)
    if noise.likeness > 0.0:
        influence = influences(points, chain)
        for i, (first, _) in enumerate(bends):
            raised[:, i] = influence.raised(first, solved[:, :, i], noise.likeness)
    # below zero: nothing but the last digits of a value that the points do not tell
    return np.where(plain > 0.0, plain, np.inf), raised


def _without_walls(chain: Chain) -> Chain:
    """Return the chain with nothing that keeps neighboring arcs apart.

    An arc that grew until it meets the next is no better known for it.
    """
    if chain.radii_m.size < 2:
        return chain
    gaps = np.zeros(chain.radii_m.size - 1) if chain.gaps_m is None else chain.gaps_m
    return replace(chain, gaps_m=np.where(chain.joints[:-1] == FREE, -np.inf, gaps))


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
    trim_start, trim_end = bare_ends(fit)
    first_foot = float((points[0] - chain.nodes_m[1]) @ f.u1[0])
    at = chain.nodes_m[1] + first_foot * f.u1[0] + offset
    place = to_vector(at)
    segments: list[Segment] = []
    ranges: list[tuple[int, int]] = []
    for first, last in _whole_bends(chain):
        for k in range(first, last + 1):
            start = chain.nodes_m[k + 1] - f.tangent[k] * f.u1[k] + offset
            center = to_vector(start + chain.radii_m[k] * f.n1[k])
            axis = f.axis[k] / np.linalg.norm(f.axis[k])
            angle = float(f.angle[k])
            if k == 0 and trim_start:
                turned = turn_at(points[0], chain, 0)[0]
                angle -= turned
                start = start + chain.radii_m[k] * (
                    np.sin(turned) * f.u1[k] + (1.0 - np.cos(turned)) * f.n1[k]
                )
                place = to_vector(start)
            if k == chain.radii_m.size - 1 and trim_end:
                angle -= float(f.angle[k]) - turn_at(points[-1], chain, k)[0]
            gap = float(np.linalg.norm(np.subtract(start, place)))
            if gap > _SHORTEST_M:
                segments.append(Straight(place, to_vector(start)))
                place = to_vector(start)
            if k == first:
                ranges.append((len(segments), len(segments)))
            angle = max(angle, 1e-9)
            for _ in range(2 if angle > pi else 1):
                part = angle / 2.0 if angle > pi else angle
                arc = Arc(place, center, to_vector(axis), part)
                segments.append(arc)
                place = arc.end_m
        ranges[-1] = (ranges[-1][0], len(segments) - 1)
    if not trim_end:
        reach = float((points[-1] - chain.nodes_m[-2]) @ f.u2[-1]) - float(f.tangent[-1])
        if reach > _SHORTEST_M:
            end = np.asarray(place) + reach * f.u2[-1]
            segments.append(Straight(place, to_vector(end)))
    return tuple(segments), ranges
