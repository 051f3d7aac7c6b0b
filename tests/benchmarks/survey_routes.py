"""Routes of known bends and their noisy points, with the bound of one bend.

The bound is that of Cramer and Rao for one isolated bend with its two straights, from the exact
5x5 in-plane information matrix at the very stations of the route.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin, sqrt, tan

import numpy as np

ANGLES = (30.0, 45.0, 60.0, 90.0)


@dataclass(frozen=True)
class Route:
    """A drawn route: truth and noisy points."""

    points: np.ndarray
    clean: np.ndarray
    sigma: float
    angles: np.ndarray
    radii: np.ndarray
    bound_angle: np.ndarray
    bound_radius: np.ndarray


def build(
    rng: np.random.Generator,
    angles: np.ndarray,
    radii: np.ndarray,
    straights: np.ndarray,
    spacing: float | np.ndarray,
    sigma: float,
    *,
    rolls: np.ndarray | None = None,
) -> Route:
    """Sample a route of straights and arcs; a straight of length zero is left out."""
    m = angles.size
    if rolls is None:
        rolls = rng.uniform(-pi, pi, m)
    ends = np.empty(2 * m + 1)
    ends[0::2] = straights
    ends[1::2] = angles * radii
    edges = np.concatenate(([0.0], np.cumsum(ends)))
    length = edges[-1]
    if isinstance(spacing, float):
        n = int(length / spacing)
        stations = rng.uniform(0, max(length - n * spacing, 1e-12)) + spacing * np.arange(n + 1)
        stations = stations[stations <= length]
    else:
        stations = spacing
    clean = np.empty((stations.size, 3))
    frame = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    u, v = frame[0], frame[1]
    at = rng.normal(size=3) * 3.0
    for k in range(2 * m + 1):
        rows = (stations >= edges[k]) & (stations <= edges[k + 1])
        s = stations[rows] - edges[k]
        if k % 2 == 0:
            clean[rows] = at + s[:, None] * u
            at = at + ends[k] * u
            if k < 2 * m:
                side = np.cross(u, v)
                turned = cos(rolls[k // 2]) * v + sin(rolls[k // 2]) * side
                v = turned / np.linalg.norm(turned)
        else:
            r, a = radii[k // 2], angles[k // 2]
            phi = (s / r)[:, None]
            clean[rows] = at + r * (np.sin(phi) * u + (1 - np.cos(phi)) * v)
            at = at + r * (sin(a) * u + (1 - cos(a)) * v)
            u, v = cos(a) * u + sin(a) * v, -sin(a) * u + cos(a) * v
    bounds = np.array([isolated_bound(stations, edges, angles, radii, k, sigma) for k in range(m)])
    noisy = clean + sigma * rng.normal(size=clean.shape)
    angles = angles.copy()
    if m and straights[0] == 0.0:
        angles[0] -= stations[0] / radii[0]
    if m and straights[-1] == 0.0:
        angles[-1] -= (length - stations[-1]) / radii[-1]
    return Route(noisy, clean, sigma, angles, radii, bounds[:, 0], bounds[:, 1])


def isolated_bound(
    stations: np.ndarray,
    edges: np.ndarray,
    angles: np.ndarray,
    radii: np.ndarray,
    k: int,
    sigma: float,
) -> tuple[float, float]:
    """Smallest deviation of angle and radius of one bend with its two straights.

    Columns of the information: corner x and y, turn of each leg about the corner, radius.
    """
    theta, radius = angles[k], radii[k]
    low, start, end, high = edges[2 * k], edges[2 * k + 1], edges[2 * k + 2], edges[2 * k + 3]
    s = stations[(stations >= low) & (stations <= high)]
    s = s - start
    arc = end - start
    t = radius * tan(theta / 2)
    rows = np.zeros((s.size, 5))
    n1, n2 = np.array([0.0, 1.0]), np.array([-sin(theta), cos(theta)])
    first, last = s < 0, s > arc
    rows[first, :2] = -n1
    rows[first, 2] = -(s[first] - t)
    rows[last, :2] = -n2
    rows[last, 3] = -(s[last] - arc + t)
    on = ~(first | last)
    phi = s[on] / radius
    e = np.stack((np.sin(phi), -np.cos(phi)), axis=1)
    # the center keeps its distance R from both legs: n1.dC = dR - T d1, n2.dC = dR + T d2
    legs = np.linalg.inv(np.stack((n1, n2)))
    rows[on, :2] = e
    rows[on, 2] = e @ legs @ np.array([-t, 0.0])
    rows[on, 3] = e @ legs @ np.array([0.0, t])
    rows[on, 4] = 1 + e @ legs @ np.array([1.0, 1.0])
    info = rows.T @ rows / sigma**2
    if np.linalg.cond(info) > 1e12:  # a bend without a straight has no bound of its own
        return float("nan"), float("nan")
    cov = np.linalg.inv(info)
    change = np.array([0, 0, -1.0, 1.0, 0])
    return sqrt(abs(float(change @ cov @ change))), sqrt(abs(float(cov[4, 4])))


def build_straight(rng: np.random.Generator, length: float, spacing: float, sigma: float) -> Route:
    """Sample a straight only."""
    u = rng.normal(size=3)
    u /= np.linalg.norm(u)
    clean = np.arange(0.0, length, spacing)[:, None] * u
    noisy = clean + sigma * rng.normal(size=clean.shape)
    empty = np.empty(0)
    return Route(noisy, clean, sigma, empty, empty, empty, empty)


def correlated(rng: np.random.Generator, shape: tuple[int, int], reach: float) -> np.ndarray:
    """Noise of unit deviation whose correlation falls as exp(-lag / reach)."""
    a = np.exp(-1.0 / reach)
    white = rng.normal(size=shape)
    out = np.empty(shape)
    out[0] = white[0]
    for i in range(1, shape[0]):
        out[i] = a * out[i - 1] + sqrt(1 - a * a) * white[i]
    return out


def long_route(rng: np.random.Generator, points: int, bends: int) -> Route:
    """A long route for timing: so many points and bends, 2 mm noise."""
    radii = np.full(bends, 0.5)
    angles = np.radians(rng.choice(ANGLES, bends))
    straights = rng.uniform(1.5, 4.0, bends + 1)
    length = float((radii * angles).sum() + straights.sum())
    return build(rng, angles, radii, straights, length / (points + 0.5), 0.001)
