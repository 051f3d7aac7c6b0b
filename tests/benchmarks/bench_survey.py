"""Monte Carlo of the reading of survey points against the Cramer-Rao bound.

Run on demand: ``python tests/benchmarks/bench_survey.py --routes 1000 --regime survey
--accuracy given``. The peer is the bound of one isolated bend with its two straights, from the
exact 5x5 in-plane information matrix at the very stations of the route.
"""

from __future__ import annotations

import argparse
import sys
import time
import warnings
from dataclasses import dataclass
from math import cos, pi, sin, sqrt, tan

import numpy as np

from analyzer.errors import InputError
from analyzer.geometry.survey import fit_survey
from analyzer.geometry.survey_answer import SurveyFit

ANGLES = (30.0, 45.0, 60.0, 90.0)
PARTS = (0.0, 0.1, 0.2)
"""Deviation of a radius over the radius, from which and 0.1 on its pulls are shown alone."""


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


def draw(regime: str, rng: np.random.Generator) -> Route:
    """Draw one route of a regime."""
    m = int(rng.integers(1, 9))
    angles = np.radians(rng.choice(ANGLES, m))
    if regime == "survey":
        radii = rng.choice([0.5, 0.6, 0.9], m)
        radii[:] = radii[0]
        spacing, sigma = rng.choice([0.05, 0.1]), rng.choice([0.001, 0.002])
        straights = rng.uniform(1.5, 4.0, m + 1)
    elif regime == "wide":
        radius = rng.uniform(0.2, 1.5)
        radii = np.full(m, radius)
        spacing = radius / np.exp(rng.uniform(np.log(5), np.log(20)))
        sigma = radius / np.exp(rng.uniform(np.log(250), np.log(1000)))
        straights = radius * rng.uniform(1.5, 8.0, m + 1)
    elif regime == "edge":
        radii = np.full(m, 0.5)
        spacing, sigma = 0.1, 0.002
        straights = 0.5 * rng.uniform(1.5, 3.0, m + 1)
    elif regime == "mixed":
        radii = rng.choice([0.3, 0.5, 0.9], m)
        spacing, sigma = 0.06, 0.0012
        straights = 0.9 * rng.uniform(1.5, 4.0, m + 1)
    else:
        return draw_hard(regime, rng)
    return build(rng, angles, radii, straights, float(spacing), float(sigma))


def draw_hard(regime: str, rng: np.random.Generator) -> Route:
    """Draw one route of a harder case."""
    m = int(rng.integers(1, 9))
    radii = np.full(m, rng.choice([0.5, 0.6, 0.9]))
    spacing, sigma = float(rng.choice([0.05, 0.1])), float(rng.choice([0.001, 0.002]))
    straights = rng.uniform(1.5, 4.0, m + 1)
    angles = np.radians(rng.choice(ANGLES, m))
    kind, _, value = regime.partition(":")
    numbers = [float(v) for v in value.split(",")] if value else []
    if kind == "angle":
        angles = np.radians(rng.choice(numbers, m))
    elif kind == "small":
        angles = np.radians(rng.uniform(5.0, 22.5, m))
    elif kind == "short":
        straights = rng.uniform(numbers[0], numbers[1], m + 1)
    elif kind == "noise":
        sigma = numbers[0]
    elif kind == "none":
        m = 0
        angles, radii, straights = np.empty(0), np.empty(0), rng.uniform(1.5, 20.0, 1)
        return build_straight(rng, straights[0], spacing, sigma)
    elif kind == "outliers":
        route = build(rng, angles, radii, straights, spacing, sigma)
        points = route.points.copy()
        hit = rng.random(points.shape[0]) < numbers[0]
        points[hit] += rng.normal(size=(int(hit.sum()), 3)) * 20 * sigma
        return Route(
            points, *[getattr(route, f) for f in Route.__dataclass_fields__ if f != "points"]
        )
    elif kind == "correlated":
        route = build(rng, angles, radii, straights, spacing, sigma)
        noise = correlated(rng, route.points.shape, numbers[0]) * sigma
        rest = [getattr(route, f) for f in Route.__dataclass_fields__ if f != "points"]
        return Route(route.clean + noise, *rest)
    elif kind == "smoothed":
        route = build(rng, angles, radii, straights, spacing, sigma)
        width = int(numbers[0])
        white = rng.normal(size=(route.clean.shape[0] + width - 1, 3))
        parts = [white[i : i + route.clean.shape[0]] for i in range(width)]
        rest = [getattr(route, f) for f in Route.__dataclass_fields__ if f != "points"]
        return Route(route.clean + sigma * sum(parts) / sqrt(width), *rest)
    elif kind == "rounded":
        grid = numbers[0]
        route = build(rng, angles, radii, straights, spacing, grid / sqrt(12.0))
        rest = [getattr(route, f) for f in Route.__dataclass_fields__ if f != "points"]
        return Route(np.round(route.clean / grid) * grid, *rest)
    elif kind == "few":
        # 30 degrees with two to five points on the arc
        m = int(rng.integers(1, 5))
        angles, radii = np.full(m, pi / 6), np.full(m, radii[0])
        spacing = float(radii[0] / np.exp(rng.uniform(np.log(2.5), np.log(8.0))))
        sigma = float(radii[0] / np.exp(rng.uniform(np.log(100.0), np.log(800.0))))
        straights = rng.uniform(6.5, 12.0, m + 1) * spacing
    elif kind == "ends":
        which = int(rng.integers(1, 4))
        if which & 1:
            straights[0] = 0.0
        if which & 2:
            straights[-1] = 0.0
    elif kind == "lone":
        angles, radii, straights = angles[:1], radii[:1], np.zeros(2)
    elif kind == "touch-many":
        m = int(numbers[0])
        angles, radii = np.radians(rng.choice(ANGLES, m)), np.full(m, radii[0])
        straights = np.array([rng.uniform(1.5, 4), *np.zeros(m - 1), rng.uniform(1.5, 4)])
        rolls = rng.choice([-1, 1], m) * rng.uniform(pi / 4, 3 * pi / 4, m)
        return build(rng, angles, radii, straights, spacing, sigma, rolls=rolls)
    elif kind in ("gap-same", "gap-reverse", "gap-rolled"):
        m = 2
        angles = np.radians(rng.choice(ANGLES, 2))
        r = float(rng.choice([0.5, 0.6, 0.9]))
        radii = np.array([r, r])
        straights = np.array([rng.uniform(1.5, 4), numbers[0] * r, rng.uniform(1.5, 4)])
        rolls = {"same": 0.0, "reverse": pi, "rolled": rng.uniform(pi / 4, 3 * pi / 4)}
        roll = rolls[kind.removeprefix("gap-")]
        return build(rng, angles, radii, straights, spacing, sigma, rolls=np.array([0.3, roll]))
    elif kind in ("touch-rolled", "touch-reverse", "touch-same"):
        angles = np.radians(rng.choice(ANGLES, 2))
        first = float(rng.choice([0.5, 0.6, 0.9]))
        radii = np.array([first, first])
        if kind == "touch-same":
            radii = rng.permutation(rng.choice([0.5, 0.6, 0.9], 2, replace=False))
            radii = radii if abs(radii[0] - radii[1]) > 0.2 else np.array([0.5, 0.9])
        straights = np.array([rng.uniform(1.5, 4), 0.0, rng.uniform(1.5, 4)])
        touch = {
            "touch-rolled": float(rng.choice([-1, 1]) * rng.uniform(pi / 4, 3 * pi / 4)),
            "touch-reverse": pi,
            "touch-same": 0.0,
        }[kind]
        return build(rng, angles, radii, straights, spacing, sigma, rolls=np.array([0.3, touch]))
    else:
        raise SystemExit(f"no regime {regime}")
    return build(rng, angles, radii, straights, spacing, sigma)


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


def measure(regime: str, accuracy: str, routes: int, seed: int) -> dict:
    """Run a Monte Carlo and return its figures."""
    right, seconds = 0, 0.0
    ratios: list[tuple[float, float, float, float]] = []
    undetermined = 0
    parts: list[float] = []
    wrong: list[tuple[int, int, int]] = []
    for i in range(routes):
        rng = np.random.default_rng([seed, i])
        route = draw(regime, rng)
        given = route.sigma if accuracy == "given" else None
        if accuracy.startswith("x"):
            given = route.sigma * float(accuracy[1:])
        begin = time.process_time()
        try:
            fit = fit_survey(route.points, given)
        except InputError:
            wrong.append((i, 0, int(route.angles.size)))
            continue
        seconds += time.process_time() - begin
        if len(fit.bends) != route.angles.size:
            wrong.append((i, len(fit.bends), int(route.angles.size)))
            continue
        right += 1
        rows, lost = compare(fit, route)
        ratios += rows
        undetermined += lost
        parts += [bend.radius_sd_m / bend.radius_m for bend in fit.bends]
    r = np.array(ratios).reshape(-1, 4)
    # radius figures are of the determined radii only; a bend without a straight has no bound
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        rms = [float(np.sqrt(np.nanmean(r[:, c] ** 2))) for c in range(4)]
        worst = float(np.nanmax(np.abs(r[:, 2]))) if r.size else float("nan")
        among = [(np.array(parts) >= low) & (np.array(parts) < low + 0.1) for low in PARTS]
        by_part = [(int(a.sum()), float(np.sqrt(np.mean(r[a, 3] ** 2)))) for a in among if r.size]
    return {
        "regime": regime,
        "accuracy": accuracy,
        "routes": routes,
        "right": right,
        "angle/bound": rms[0],
        "radius/bound": rms[1],
        "pull angle": rms[2],
        "pull radius": rms[3],
        "undetermined": undetermined,
        "bends": len(ratios),
        "ms/route": 1000 * seconds / routes,
        "by part": by_part,
        "wrong": wrong,
        "worst": worst,
    }


def compare(fit: SurveyFit, route: Route) -> tuple[list[tuple[float, float, float, float]], int]:
    """Errors over bounds and over reported deviations, one row a bend."""
    rows, lost = [], 0
    for k, bend in enumerate(fit.bends):
        a = bend.angle_rad - float(route.angles[k])
        r = bend.radius_m - float(route.radii[k])
        known = bend.radius_determined
        lost += not known
        rows.append(
            (
                a / route.bound_angle[k],
                r / route.bound_radius[k] if known else float("nan"),
                a / bend.angle_sd_rad,
                r / bend.radius_sd_m if known else float("nan"),
            )
        )
    return rows, lost


def main() -> None:
    """Print one line a regime."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--routes", type=int, default=1000)
    parser.add_argument("--regime", nargs="+", default=["survey"])
    parser.add_argument("--accuracy", default="given", help="given, estimated, or x2 for twice")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--long", action="store_true", help="time long routes instead")
    args = parser.parse_args()
    if args.long:
        for points, bends in ((10000, 12), (10000, 60), (10000, 300), (40000, 60), (40000, 300)):
            route = long_route(np.random.default_rng([args.seed, points, bends]), points, bends)
            begin = time.process_time()
            fit = fit_survey(route.points, route.sigma)
            took = time.process_time() - begin
            sys.stdout.write(
                f"{points} points {bends} bends: {len(fit.bends)} read, {took:.2f} s\n"
            )
        return
    for regime in args.regime:
        r = measure(regime, args.accuracy, args.routes, args.seed)
        by_part = list(zip(PARTS, r["by part"], strict=False))
        sys.stdout.write(
            f"{r['regime']:<22} {r['accuracy']:<9} right {r['right']}/{r['routes']}"
            f"  angle/bound {r['angle/bound']:.3f}  radius/bound {r['radius/bound']:.3f}"
            f"  pulls {r['pull angle']:.2f} {r['pull radius']:.2f}"
            f"  undetermined {r['undetermined']}/{r['bends']}"
            f"  pull radius by deviation "
            + ", ".join(f"{low}-{low + 0.1:.1f} R {p:.2f} ({n})" for low, (n, p) in by_part)
            + f"  {r['ms/route']:.0f} ms  worst pull {r['worst']:.1f}  wrong {r['wrong'][:12]}\n"
        )
        sys.stdout.flush()


if __name__ == "__main__":
    main()
