"""Kinds of survey routes, by name: `survey`, `short:0.1,0.25`, `short:0.5,1+noise:0.01`, ...

A name is one of the main regimes, or changes to the regime `survey` joined by `+`, each with its
numbers after a colon. All are drawn from a random generator, so a seed gives a route again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np
from survey_routes import ANGLES, Route, build, build_straight, correlated

Rng = np.random.Generator


@dataclass
class Plan:
    """What a route is built from; `noise` takes the route without noise and returns its points."""

    angles: np.ndarray
    radii: np.ndarray
    straights: np.ndarray
    spacing: float
    sigma: float
    rolls: np.ndarray | None = None
    stations: Callable[[Rng, float, float], np.ndarray] | None = None
    noise: Callable[[Rng, Route], np.ndarray] | None = None


def draw(regime: str, rng: Rng) -> Route:
    """Draw one route of a regime."""
    m = int(rng.integers(1, 9))
    angles = np.radians(rng.choice(ANGLES, m))
    if regime in MAIN:
        plan = MAIN[regime](rng, angles)
    else:
        plan = _survey(rng)
        for change in regime.split("+"):
            kind, _, value = change.partition(":")
            if kind not in CHANGES:
                raise SystemExit(f"no regime {regime}")
            CHANGES[kind](rng, plan, [float(v) for v in value.split(",")] if value else [])
    if plan.angles.size == 0:
        return build_straight(rng, plan.straights[0], plan.spacing, plan.sigma)
    spacing: float | np.ndarray = plan.spacing
    if plan.stations is not None:
        length = float((plan.radii * plan.angles).sum() + plan.straights.sum())
        spacing = plan.stations(rng, length, plan.spacing)
    route = build(
        rng, plan.angles, plan.radii, plan.straights, spacing, plan.sigma, rolls=plan.rolls
    )
    return route if plan.noise is None else replace(route, points=plan.noise(rng, route))


def _survey(rng: Rng) -> Plan:
    m = int(rng.integers(1, 9))
    radii = np.full(m, rng.choice([0.5, 0.6, 0.9]))
    spacing, sigma = float(rng.choice([0.05, 0.1])), float(rng.choice([0.001, 0.002]))
    straights = rng.uniform(1.5, 4.0, m + 1)
    return Plan(np.radians(rng.choice(ANGLES, m)), radii, straights, spacing, sigma)


def _survey_alone(rng: Rng, angles: np.ndarray) -> Plan:
    radii = rng.choice([0.5, 0.6, 0.9], angles.size)
    radii[:] = radii[0]
    spacing, sigma = float(rng.choice([0.05, 0.1])), float(rng.choice([0.001, 0.002]))
    return Plan(angles, radii, rng.uniform(1.5, 4.0, angles.size + 1), spacing, sigma)


def _wide(rng: Rng, angles: np.ndarray) -> Plan:
    radius = float(rng.uniform(0.2, 1.5))
    spacing = float(radius / np.exp(rng.uniform(np.log(5), np.log(20))))
    sigma = float(radius / np.exp(rng.uniform(np.log(250), np.log(1000))))
    straights = radius * rng.uniform(1.5, 8.0, angles.size + 1)
    return Plan(angles, np.full(angles.size, radius), straights, spacing, sigma)


def _edge(rng: Rng, angles: np.ndarray) -> Plan:
    straights = 0.5 * rng.uniform(1.5, 3.0, angles.size + 1)
    return Plan(angles, np.full(angles.size, 0.5), straights, 0.1, 0.002)


def _mixed(rng: Rng, angles: np.ndarray) -> Plan:
    radii = rng.choice([0.3, 0.5, 0.9], angles.size)
    return Plan(angles, radii, 0.9 * rng.uniform(1.5, 4.0, angles.size + 1), 0.06, 0.0012)


MAIN = {"survey": _survey_alone, "wide": _wide, "edge": _edge, "mixed": _mixed}


def _angle(rng: Rng, plan: Plan, numbers: list[float]) -> None:
    plan.angles = np.radians(rng.choice(numbers, plan.angles.size))


def _between(rng: Rng, plan: Plan, numbers: list[float]) -> None:
    plan.angles = np.radians(rng.uniform(numbers[0], numbers[1], plan.angles.size))


def _small(rng: Rng, plan: Plan, _: list[float]) -> None:
    plan.angles = np.radians(rng.uniform(5.0, 22.5, plan.angles.size))


def _short(rng: Rng, plan: Plan, numbers: list[float]) -> None:
    plan.straights = rng.uniform(numbers[0], numbers[1], plan.angles.size + 1)


def _noise(_: Rng, plan: Plan, numbers: list[float]) -> None:
    plan.sigma = numbers[0]


def _spacing(_: Rng, plan: Plan, numbers: list[float]) -> None:
    plan.spacing = numbers[0]


def _radii(rng: Rng, plan: Plan, numbers: list[float]) -> None:
    plan.radii = rng.choice(numbers, plan.angles.size)
    plan.straights = float(max(numbers)) * rng.uniform(1.5, 4.0, plan.angles.size + 1)
    plan.spacing = float(min(numbers)) / 8.0


def _corners(rng: Rng, plan: Plan, numbers: list[float]) -> None:
    """So many of all bends are sharp corners: arcs of a radius that no point tells."""
    sharp = rng.random(plan.angles.size) < (numbers[0] if numbers else 1.0)
    plan.radii = np.where(sharp, 1e-4, plan.radii)


def _none(rng: Rng, plan: Plan, _: list[float]) -> None:
    plan.angles, plan.radii, plan.straights = np.empty(0), np.empty(0), rng.uniform(1.5, 20.0, 1)


def _offset(rng: Rng, plan: Plan, _: list[float]) -> None:
    angle, r = np.radians(rng.uniform(10.0, 30.0)), float(plan.radii[0])
    plan.angles, plan.radii = np.full(2, angle), np.full(2, r)
    plan.straights = np.array([rng.uniform(1.5, 4.0), 0.5 * r, rng.uniform(1.5, 4.0)])
    plan.rolls = np.array([0.3, pi])


def _jitter(_: Rng, plan: Plan, numbers: list[float]) -> None:
    def stations(rng: Rng, length: float, spacing: float) -> np.ndarray:
        even = np.arange(0.5, int(length / spacing)) * spacing
        return np.asarray(even + spacing * rng.uniform(-numbers[0], numbers[0], even.size))

    plan.stations = stations


def _random(_: Rng, plan: Plan, __: list[float]) -> None:
    def stations(rng: Rng, length: float, spacing: float) -> np.ndarray:
        steps = rng.exponential(spacing, int(2 * length / spacing) + 20)
        at = np.cumsum(steps)
        return np.asarray(at[at <= length])

    plan.stations = stations


def _varied(_: Rng, plan: Plan, numbers: list[float]) -> None:
    """Spacing that grows from one end of the route to the other."""

    def stations(_rng: Rng, length: float, spacing: float) -> np.ndarray:
        n = int(length / spacing)
        steps = np.linspace(1.0, numbers[0], n)
        return np.asarray(np.cumsum(steps) * length / (steps.sum() * (1.0 + 0.5 / n)))

    plan.stations = stations


def _outliers(_: Rng, plan: Plan, numbers: list[float]) -> None:
    plan.noise = lambda rng, route: with_outliers(rng, route, numbers[0])


def with_outliers(rng: Rng, route: Route, share: float) -> np.ndarray:
    """Points of a route, a share of them off by twenty deviations more."""
    points = route.points.copy()
    hit = rng.random(points.shape[0]) < share
    points[hit] += rng.normal(size=(int(hit.sum()), 3)) * 20 * route.sigma
    return points


def _shots(_: Rng, plan: Plan, numbers: list[float]) -> None:
    """Every place measured so many times in a row."""

    def noise(rng: Rng, route: Route) -> np.ndarray:
        clean = np.repeat(route.clean, int(numbers[0]), axis=0)
        return np.asarray(clean + route.sigma * rng.normal(size=clean.shape))

    plan.noise = noise


def _correlated(_: Rng, plan: Plan, numbers: list[float]) -> None:
    def noise(rng: Rng, route: Route) -> np.ndarray:
        return route.clean + correlated(rng, route.points.shape, numbers[0]) * route.sigma

    plan.noise = noise


def _smoothed(_: Rng, plan: Plan, numbers: list[float]) -> None:
    width = int(numbers[0])

    def noise(rng: Rng, route: Route) -> np.ndarray:
        n = route.clean.shape[0]
        white = rng.normal(size=(n + width - 1, 3))
        return route.clean + route.sigma * sum(white[i : i + n] for i in range(width)) / sqrt(width)

    plan.noise = noise


def _rounded(_: Rng, plan: Plan, numbers: list[float]) -> None:
    grid = numbers[0]
    plan.sigma = grid / sqrt(12.0)
    plan.noise = lambda _rng, route: np.round(route.clean / grid) * grid


def _few(rng: Rng, plan: Plan, _: list[float]) -> None:
    """Bends of 30 degrees with two to five points on the arc."""
    m, radius = int(rng.integers(1, 5)), float(plan.radii[0])
    plan.angles, plan.radii = np.full(m, pi / 6), np.full(m, radius)
    plan.spacing = float(radius / np.exp(rng.uniform(np.log(2.5), np.log(8.0))))
    plan.sigma = float(radius / np.exp(rng.uniform(np.log(100.0), np.log(800.0))))
    plan.straights = rng.uniform(6.5, 12.0, m + 1) * plan.spacing


def _ends(rng: Rng, plan: Plan, _: list[float]) -> None:
    which = int(rng.integers(1, 4))
    if which & 1:
        plan.straights[0] = 0.0
    if which & 2:
        plan.straights[-1] = 0.0


def _tail(rng: Rng, plan: Plan, numbers: list[float]) -> None:
    """A last straight of so much length."""
    plan.straights[-1] = rng.uniform(numbers[0], numbers[1])


def _lone(_: Rng, plan: Plan, __: list[float]) -> None:
    plan.angles, plan.radii, plan.straights = plan.angles[:1], plan.radii[:1], np.zeros(2)


def _touch_many(rng: Rng, plan: Plan, numbers: list[float]) -> None:
    m = int(numbers[0])
    plan.angles, plan.radii = np.radians(rng.choice(ANGLES, m)), np.full(m, plan.radii[0])
    plan.straights = np.array([rng.uniform(1.5, 4), *np.zeros(m - 1), rng.uniform(1.5, 4)])
    plan.rolls = rng.choice([-1, 1], m) * rng.uniform(pi / 4, 3 * pi / 4, m)


def _gap(way: str) -> Callable[[Rng, Plan, list[float]], None]:
    """Two bends of one radius (two radii where unlike), a straight of so many radii between."""

    def change(rng: Rng, plan: Plan, numbers: list[float]) -> None:
        plan.angles = np.radians(rng.choice(ANGLES, 2))
        r = float(rng.choice([0.5, 0.6, 0.9]))
        plan.radii = np.array([r, r])
        if way == "unlike":
            plan.radii = rng.choice([0.5, 0.6, 0.9], 2, replace=False)
            r = float(plan.radii[0])
        plan.straights = np.array([rng.uniform(1.5, 4), numbers[0] * r, rng.uniform(1.5, 4)])
        rolled = rng.uniform(pi / 4, 3 * pi / 4)
        turned = {"same": 0.0, "unlike": 0.0, "reverse": pi, "rolled": rolled}
        plan.rolls = np.array([0.3, turned[way]])

    return change


def _touch(way: str) -> Callable[[Rng, Plan, list[float]], None]:
    """Two bends without a straight between; those of one plane and sense of other radii."""

    def change(rng: Rng, plan: Plan, _: list[float]) -> None:
        plan.angles = np.radians(rng.choice(ANGLES, 2))
        first = float(rng.choice([0.5, 0.6, 0.9]))
        plan.radii = np.array([first, first])
        if way == "same":
            radii = rng.permutation(rng.choice([0.5, 0.6, 0.9], 2, replace=False))
            plan.radii = radii if abs(radii[0] - radii[1]) > 0.2 else np.array([0.5, 0.9])
        plan.straights = np.array([rng.uniform(1.5, 4), 0.0, rng.uniform(1.5, 4)])
        rolled = float(rng.choice([-1, 1]) * rng.uniform(pi / 4, 3 * pi / 4))
        plan.rolls = np.array([0.3, {"same": 0.0, "reverse": pi, "rolled": rolled}[way]])

    return change


CHANGES: dict[str, Callable[[Rng, Plan, list[float]], None]] = {
    "angle": _angle,
    "between": _between,
    "small": _small,
    "short": _short,
    "noise": _noise,
    "spacing": _spacing,
    "radii": _radii,
    "corners": _corners,
    "none": _none,
    "offset": _offset,
    "jitter": _jitter,
    "random": _random,
    "varied": _varied,
    "outliers": _outliers,
    "shots": _shots,
    "correlated": _correlated,
    "smoothed": _smoothed,
    "rounded": _rounded,
    "few": _few,
    "ends": _ends,
    "tail": _tail,
    "lone": _lone,
    "touch-many": _touch_many,
    **{f"gap-{way}": _gap(way) for way in ("same", "unlike", "reverse", "rolled")},
    **{f"touch-{way}": _touch(way) for way in ("same", "reverse", "rolled")},
}
