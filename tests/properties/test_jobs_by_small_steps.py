"""Whole random jobs against an integration of its own: groups, friction, reach, boxes, limits.

Nothing of the solver is used but points and tangents of segments: the weight factor and sidewall
form come from the table written out here, the tension from Heun steps along the centerline.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import acos, exp, sqrt

import numpy as np
import pytest
from pull_jobs import job_with, run_with, stated_conductor
from pull_routes import random_route

from analyzer.analysis import analyze
from analyzer.catalog.raceways import find_raceway
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc
from analyzer.job.settings import Attachment, Limits, Passage

POUND = 4.4482216152605
BEND_STEPS, STRAIGHT_STEPS = 4000, 600
# Heun steps change friction one step late where the lubricant ends: 2e-3 of a bend's tension
CLOSE = 2.5e-3


def factors(count: int, is_mixed: bool, ratio: float) -> tuple[float, float]:
    """Weight factor and sidewall factor of a group at D/d; of an uncertain band the worse."""
    r = 1.0 / (ratio - 1.0)
    wedged = 1.0 / sqrt(1.0 - r * r) if r < 1.0 else 0.0
    cradled = 1.0 + 4.0 / 3.0 * r * r
    if is_mixed or count > 4:
        return 1.4, 1.0
    if count == 1:
        return 1.0, 1.0
    if count == 2:
        return wedged, wedged / 2.0
    if count == 3:
        tri, cra = (wedged, wedged / 2.0), (cradled, (3.0 * cradled - 2.0) / 3.0)
        if ratio < 2.5:
            return tri
        return cra if ratio > 3.0 else (max(tri[0], cra[0]), max(tri[1], cra[1]))
    diamond = 1.0 + 2.0 * r * r
    return (diamond, max(diamond - 1.0, 0.5)) if ratio <= 3.83 else (max(diamond, 1.4), 1.0)


@dataclass
class Stepped:
    """Exit tension, greatest tension and greatest T/R of one stretch."""

    exit_n: float
    greatest_n: float
    bearing: float = 0.0


def step_along(
    line: Centerline,
    ends: tuple[float, float],
    weight: float,
    friction: Callable[[float, bool], float],
    start_n: float,
) -> Stepped:
    """Go from one station to the other; `friction` of a station, and whether on an arc."""
    low, high = sorted(ends)
    sign = 1.0 if ends[1] > ends[0] else -1.0
    stations, found, tension = line.stations_m, Stepped(start_n, start_n), start_n
    before = None
    order = range(len(line.segments))
    for index in order if sign > 0 else reversed(order):
        near, far = max(stations[index], low), min(stations[index + 1], high)
        if far - near < 1e-9:
            continue
        segment = line.segments[index]
        is_arc = isinstance(segment, Arc)
        number = BEND_STEPS if is_arc else STRAIGHT_STEPS
        first, last = (near, far) if sign > 0 else (far, near)
        places = np.linspace(first, last, number + 1)
        step = (far - near) / number
        tangents = sign * np.asarray(segment.tangents_at(places - stations[index]))
        if before is not None:
            turned = acos(min(1.0, max(-1.0, float(before @ tangents[0]))))
            if turned > 1e-6:
                tension *= exp(friction(first, True) * turned)
        before = tangents[-1]
        across = np.array([0.0, 0.0, 1.0]) - tangents[:, 2:3] * tangents
        curved = np.zeros_like(tangents)
        if is_arc:
            points = np.asarray(segment.points_at(places - stations[index]))
            curved = (np.array(segment.center_m) - points) / segment.radius_m**2
            found.bearing = max(found.bearing, tension / segment.radius_m)
        squared = float((curved[0] ** 2).sum())
        rows = list(
            zip(
                tangents[:, 2].tolist(),
                (curved * across).sum(axis=1).tolist(),
                (across**2).sum(axis=1).tolist(),
                strict=True,
            )
        )
        ks = [friction(s, is_arc) for s in ((places[:-1] + places[1:]) / 2).tolist()]

        def slope(t: float, row: tuple[float, float, float], k: float, kk: float = squared):
            up, inward, flat = row
            pressing = t * t * kk - 2.0 * t * weight * inward + weight * weight * flat
            return weight * up + k * sqrt(max(pressing, 0.0))

        for k, here, there in zip(ks, rows[:-1], rows[1:], strict=True):
            rate = slope(tension, here, k)
            ahead = slope(max(tension + rate * step, 0.0), there, k)
            tension = max(tension + (rate + ahead) / 2.0 * step, 0.0)
            found.greatest_n = max(found.greatest_n, tension)
            if is_arc:
                found.bearing = max(found.bearing, tension / segment.radius_m)
    found.exit_n = tension
    found.greatest_n = max(found.greatest_n, tension)
    return found


@dataclass
class Case:
    """One random job on a random run, with what the hand calculation needs."""

    seed: int

    def __post_init__(self) -> None:
        rng = np.random.default_rng(self.seed)
        size, ratio = float(rng.uniform(0.008, 0.02)), float(rng.uniform(2.2, 5.0))
        kind = self.seed % 6
        each, limit = float(rng.uniform(2.0, 12.0)), float(rng.uniform(500.0, 4000.0))
        one = stated_conductor(each, size, max_tension_n=limit)
        thin = stated_conductor(each, size * 0.6, max_tension_n=limit)
        small = stated_conductor(each / 3.0, size * 0.4, max_tension_n=0.3 * limit)
        lines = (
            [(kind + 1, one)] if kind < 4 else [(6, thin)] if kind == 4 else [(3, thin), (1, small)]
        )
        self.count = sum(number for number, _ in lines)
        self.factor, self.wall = factors(self.count, kind == 5, ratio)
        self.weight = sum(number * item.weight_n_per_m for number, item in lines)
        share = 1.0 if self.count <= 3 else 0.8
        weakest = min(item.max_tension_n for _, item in lines)
        self.limit = min(weakest * self.count * share, 10_000.0 * POUND)
        self.band = tuple(sorted(rng.uniform(0.1, 0.6, 3).tolist()))
        self.in_bends = bool(rng.uniform() < 0.5)
        self.reach = float(rng.uniform(5.0, 60.0)) if rng.uniform() < 0.5 else None
        self.dry = None if self.reach is None else float(rng.uniform(0.2, 0.7))
        self.feed = float(rng.uniform(0.0, 200.0))
        self.has_grip = bool(rng.uniform() < 0.5)
        self.job = job_with(
            lines,
            self.band,
            replace(find_raceway("EMT", "2"), inside_diameter_m=size * ratio),
            feed_tension_n=self.feed,
            weight_factor_in_bends=self.in_bends,
            lubricant_reach_m=self.reach,
            dry_friction=self.dry,
            attachment=Attachment.BASKET_GRIP if self.has_grip else Attachment.PULLING_EYE,
            limits=Limits(sidewall_pressure_n_per_m=5000.0, sidewall_from="job"),
        )
        self.line = random_route(rng, int(rng.integers(1, 4)), radii=(0.3, 3.0))
        ends = zip(self.line.stations_m, self.line.stations_m[1:], self.line.segments, strict=False)
        middles = [(a + b) / 2.0 for a, b, s in ends if not isinstance(s, Arc)]
        number = min(int(rng.integers(0, 3)), len(middles))
        places = sorted(rng.choice(middles, size=number, replace=False).tolist())
        passed = [Passage.REFEED if rng.uniform() < 0.5 else Passage.THROUGH for _ in places]
        self.own = {f"Box {i}": 17.0 * i for i in range(1, len(places) + 1) if rng.uniform() < 0.5}
        self.run = run_with(self.line, list(zip(places, passed, strict=True)), self.own)
        self.stops = [0.0, *places, self.line.length_m]
        self.passages = [Passage.REFEED, *passed, Passage.REFEED]

    def k(self, station: float, is_arc: bool, friction: float, fed_at: float) -> float:
        used = friction
        if self.reach is not None and abs(station - fed_at) > self.reach:
            used = max(friction, self.dry)
        return used * (self.factor if self.in_bends or not is_arc else 1.0)

    def fed(self, stop: int) -> float:
        return self.own.get(f"Box {stop}", self.feed)

    def ways(self, is_forward: bool) -> list[tuple[int, int, int]]:
        """Leg, stop it is fed at and stop it is pulled to, in order of the pull."""
        legs = range(len(self.stops) - 1)
        if is_forward:
            return [(leg, leg, leg + 1) for leg in legs]
        return [(leg, leg + 1, leg) for leg in reversed(legs)]


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("is_forward", [True, False])
def test_pulls_and_limits_of_a_random_job(seed: int, is_forward: bool) -> None:
    case = Case(seed)
    analyzed = analyze([case.run], case.job).runs[0]
    for column, friction in enumerate(case.band):
        tension, fed_at = 0.0, 0.0
        for number, (leg, start, end) in enumerate(case.ways(is_forward)):
            if number == 0 or case.passages[start] is Passage.REFEED:
                tension, fed_at = case.fed(start), case.stops[start]
            item = analyzed.legs[leg]
            pull = item.forward if is_forward else item.reverse
            figures = (pull.low, pull.expected, pull.high)[column]

            def k(station: float, is_arc: bool, f: float = friction, at: float = fed_at) -> float:
                return case.k(station, is_arc, f, at)

            ends = (case.stops[start], case.stops[end])
            stepped = step_along(case.line, ends, case.weight, k, tension)
            tension = stepped.exit_n
            room = CLOSE * max(stepped.greatest_n, case.weight)
            assert figures.exit_tension_n == pytest.approx(stepped.exit_n, abs=room)
            assert figures.max_tension_n == pytest.approx(stepped.greatest_n, abs=room)
            pressed = case.wall * stepped.bearing
            assert figures.max_sidewall_n_per_m == pytest.approx(pressed, rel=CLOSE, abs=0.5)
            limits = {share.code: share.limit for share in pull.shares}
            assert limits["conductor-tension"] == pytest.approx(case.limit, rel=1e-12)
            assert limits.get("grip-tension") == (
                pytest.approx(1000.0 * POUND) if case.has_grip else None
            )
            assert "line-tension" not in limits
            assert "puller-tension" not in limits


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("is_forward", [True, False])
def test_hold_back_of_a_random_job(seed: int, is_forward: bool) -> None:
    case = Case(seed)
    analyzed = analyze([case.run], case.job).runs[0]
    tension = 0.0
    for leg, start, end in reversed(case.ways(is_forward)):
        if case.passages[end] is Passage.REFEED:
            tension = 0.0
        ends = (case.stops[end], case.stops[start])
        stepped = step_along(case.line, ends, case.weight, lambda s, arc: -case.band[0], tension)
        tension = stepped.exit_n
        item = analyzed.legs[leg]
        braked = (item.forward if is_forward else item.reverse).braked
        room = CLOSE * max(stepped.greatest_n, case.weight)
        assert braked.hold_back_n == pytest.approx(stepped.exit_n, abs=room)
        assert braked.max_tension_n == pytest.approx(stepped.greatest_n, abs=room)
