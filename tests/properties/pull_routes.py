"""Routes of straights and arcs for tests of the pull, and an independent integration along them.

The reference knows nothing of phases or closed forms: it takes tangents and normals of the
segments, integrates with scipy's DOP853 at 1e-12 and stops at T = 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import pi, sqrt

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Segment, Straight

Turn = tuple[float, float, tuple[float, float, float]]


def route(
    direction: Sequence[float],
    parts: Sequence[float | Turn | tuple[str, tuple[float, float, float]]],
    start: Sequence[float] = (0.0, 0.0, 0.0),
) -> Centerline:
    """Parts: a length; (radius, angle, toward the center); ("corner", new direction)."""
    point, tangent = np.array(start, float), np.array(direction, float)
    tangent /= np.linalg.norm(tangent)
    segments: list[Segment] = []
    for part in parts:
        if isinstance(part, (int, float)):
            end = point + part * tangent
            segments.append(Straight(tuple(point.tolist()), tuple(end.tolist())))
            point = end
        elif part[0] == "corner":
            tangent = np.array(part[1], float) / np.linalg.norm(part[1])
        else:
            radius, angle, toward = part
            normal = np.array(toward, float)
            normal -= (normal @ tangent) * tangent
            normal /= np.linalg.norm(normal)
            axis = np.cross(tangent, normal)
            axis /= np.linalg.norm(axis)
            center = point + radius * normal
            arc = Arc(tuple(point.tolist()), tuple(center.tolist()), tuple(axis.tolist()), angle)
            segments.append(arc)
            point, tangent = np.array(arc.end_m), np.array(arc.end_tangent)
    return Centerline(tuple(segments))


def random_route(rng: np.random.Generator, bends: int, radii=(0.2, 20.0)) -> Centerline:
    """Straights and arcs in any direction; a third of these vertical, some others close to it."""
    direction = rng.normal(size=3)
    parts: list = [float(rng.uniform(0.5, 30.0))]
    tangent = direction / np.linalg.norm(direction)
    for _ in range(bends):
        toward = rng.normal(size=3)
        kind = rng.uniform()
        if kind < 0.5:
            # a vertical plane, or one near it: the center above or below, or nearly so
            aside = 0.0 if kind < 1.0 / 3.0 else 10.0 ** rng.uniform(-12, -1)
            toward = np.array([0.0, 0.0, rng.choice([-1.0, 1.0])]) + toward * aside
        toward = toward - (toward @ tangent) * tangent
        toward /= np.linalg.norm(toward)
        angle = float(rng.uniform(0.05, pi / 2 if rng.uniform() < 0.8 else pi))
        radius = float(np.exp(rng.uniform(*np.log(radii))))
        parts.append((radius, angle, tuple(toward.tolist())))
        parts.append(float(rng.uniform(0.2, 30.0)))
        tangent = np.cos(angle) * tangent + np.sin(angle) * toward
    return route(direction, parts)


def split_route(rng: np.random.Generator, centerline: Centerline, places: int) -> Centerline:
    """Every segment cut at random places."""
    segments: list[Segment] = []
    for segment in centerline.segments:
        cuts = np.sort(rng.uniform(0.0, segment.length_m, places)).tolist()
        edges = [0.0, *cuts, segment.length_m]
        for low, high in pairwise(edges):
            if high - low > 1e-6:
                segments.append(segment.part(low, high))
    return Centerline(tuple(segments))


def reference_ends(
    centerline: Centerline, weight: float, k: float, feed: float, *, steps: int = 40
) -> list[float]:
    """Tension at the end of every segment, forward, by scipy, in at least so many steps each."""
    tension, ends = feed, []
    for segment in centerline.segments:
        tension = _reference(segment, weight, k, tension, steps)
        ends.append(tension)
    return ends


def _reference(segment: Segment, weight: float, k: float, tension: float, steps: int) -> float:
    length = segment.length_m
    t0 = np.asarray(segment.start_tangent)
    n0 = np.asarray(segment.start_normal) if isinstance(segment, Arc) else np.zeros(3)
    radius = segment.radius_m if isinstance(segment, Arc) else np.inf
    up = np.array([0.0, 0.0, 1.0])

    def wall(s: float, value: float) -> tuple[float, float]:
        angle = s / radius
        t = np.cos(angle) * t0 + np.sin(angle) * n0
        n = np.cos(angle) * n0 - np.sin(angle) * t0
        push = value / radius * n - weight * (up - t[2] * t)
        return t[2], sqrt(float(push @ push))

    def rate(s: float, y: Sequence[float]) -> list[float]:
        t_z, push = wall(s, y[0])
        return [weight * t_z + k * push]

    def empty(s: float, y: Sequence[float]) -> float:
        return y[0]

    empty.terminal, empty.direction = True, -1
    at = 0.0
    scale = max(tension, weight)
    while at < length:
        if tension <= 0.0 and rate(at + 1e-9 * length, [0.0])[0] <= 0.0:
            grid = np.linspace(at, length, 4001)
            drive = [rate(s, [0.0])[0] for s in grid]
            later = next((i for i in range(1, len(grid)) if drive[i] > 0.0), None)
            if later is None:
                return 0.0
            low = grid[later - 1]
            at = (
                brentq(lambda s: rate(s, [0.0])[0], low, grid[later], xtol=1e-15)
                if (drive[later - 1] < 0.0)
                else low
            )
            tension = 0.0
        solved = solve_ivp(
            rate, (at, length), [max(tension, 0.0)], method="DOP853", rtol=1e-12,
            atol=1e-14 * scale, events=empty, max_step=length / steps,
        )  # fmt: skip
        at, tension = float(solved.t[-1]), float(solved.y[0, -1])
        if solved.t_events[0].size:
            tension = 0.0
            at += 1e-15 * length
    return max(tension, 0.0)
