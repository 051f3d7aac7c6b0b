"""The same law in another trade: drilling's soft-string torque-and-drag.

C. A. Johancsik, D. B. Friesen and R. Dawson, *Journal of Petroleum Technology* 36 (1984) 987, as
the open library ``torque-drag`` 0.1.1 computes it (extra ``torque``). Pulling end = surface, feed
= bit, feed tension = force at the bit. The library steps from station to station with errors of
the first order, so two step widths are extrapolated to zero; then it agrees with the solver within
1e-3 on any path in space where the tension stays positive.
"""

from __future__ import annotations

from math import acos, atan2, ceil, degrees, pi

import numpy as np
import pytest
from pull_routes import random_route

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc
from analyzer.pulling.string_model import pieces_between, pull_string

torque_drag = pytest.importorskip("torque_drag", reason="needs the extra torque")

PIPE = {"od": 2.0, "id": 1.0}
DENSITY = 7.8
WEIGHT_N_PER_M = DENSITY * 1000 * 9.81 * pi * ((1 / 39.37) ** 2 - (0.5 / 39.37) ** 2)
STEEPEST = 0.2
"""Least sine of the inclination: at the vertical an azimuth means nothing."""


def stations(line: Centerline, step_deg: float) -> np.ndarray:
    """Every segment in equal steps, arcs of about the step, straights of a hundredth or so."""
    places = [0.0]
    for start, segment in zip(line.stations_m, line.segments, strict=False):
        if isinstance(segment, Arc):
            number = ceil(degrees(segment.angle_rad) / step_deg)
        else:
            number = ceil(100 / step_deg)
        places += [start + segment.length_m * i / number for i in range(1, number + 1)]
    return np.array(places)


def drilling_force(line: Centerline, friction: float, feed_n: float, step_deg: float) -> float:
    """Hook load by the library, the run's end as surface."""
    places = stations(line, step_deg)[::-1]
    tangents = -line.tangents_at(np.clip(places, 0, line.length_m))
    depth = line.length_m - places
    inclination = np.degrees([acos(min(1.0, max(-1.0, -t[2]))) for t in tangents])
    azimuth = np.degrees(np.unwrap([atan2(t[0], t[1]) for t in tangents]))
    points = [
        {
            "md": float(depth[i]),
            "inc": float(inclination[i]),
            "azi": float(azimuth[i]),
            "delta": {
                "md": float(depth[i] - depth[i - 1]) if i else 0.0,
                "inc": float(inclination[i] - inclination[i - 1]) if i else 0.0,
                "azi": float(azimuth[i] - azimuth[i - 1]) if i else 0.0,
            },
        }
        for i in range(len(places))
    ]
    found = torque_drag.calc(
        points,
        {"pipe": {**PIPE, "shoe": line.length_m + 1.0}, "odAnn": 5.0},
        densities={"rhof": 0.0, "rhod": DENSITY},
        case="hoisting",
        fric=[friction] * len(points),
        wob=feed_n / 1000,
    )
    return 1000.0 * found.force["hoisting"][0]


def is_far_from_vertical(line: Centerline) -> bool:
    tangents = line.tangents_at(np.linspace(0.0, line.length_m, 400))
    return bool(np.hypot(tangents[:, 0], tangents[:, 1]).min() > STEEPEST)


def test_random_paths_in_space_agree_within_a_thousandth() -> None:
    rng = np.random.default_rng(1984)
    tried, worst = 0, 0.0
    while tried < 25:
        line = random_route(rng, int(rng.integers(1, 5)), radii=(1.0, 20.0))
        if not is_far_from_vertical(line):
            continue
        friction = float(rng.uniform(0.1, 0.5))
        feed = WEIGHT_N_PER_M * float(rng.uniform(50.0, 200.0))
        pieces = pieces_between(line, 0.0, line.length_m)
        (pull,) = pull_string(pieces, WEIGHT_N_PER_M, [friction], feed)
        if min(stretch.exit_tension_n for _, stretch in pull.stretches) <= 0.0:
            continue
        tried += 1
        coarse, fine = (drilling_force(line, friction, feed, step) for step in (1.0, 0.5))
        extrapolated = 2.0 * fine - coarse
        worst = max(worst, abs(extrapolated / pull.exit_tension_n - 1.0))
    assert worst < 1e-3


def test_a_wrong_friction_would_be_found() -> None:
    rng = np.random.default_rng(5)
    line = next(
        found
        for found in (random_route(rng, 3, radii=(1.0, 20.0)) for _ in range(1000))
        if is_far_from_vertical(found)
    )
    feed = WEIGHT_N_PER_M * 200.0
    (pull,) = pull_string(pieces_between(line, 0.0, line.length_m), WEIGHT_N_PER_M, [0.3], feed)
    coarse, fine = (drilling_force(line, 0.31, feed, step) for step in (1.0, 0.5))
    assert abs((2.0 * fine - coarse) / pull.exit_tension_n - 1.0) > 1e-3
