"""Kinks that a coarse grid makes of straights, and jogs that it does not make."""

from __future__ import annotations

from math import degrees

import numpy as np
import pytest
from drawn_ways import CORNER_M, lines

from analyzer.geometry.bends import read_bends
from analyzer.geometry.grid_kinks import grid_kinks

INCH = 0.0254


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("grid_m", [INCH / 4, 0.01, INCH, 0.03048])
def test_rounding_alone_leaves_no_vertex_of_a_straight(grid_m: float, turned: bool) -> None:
    """Sticks of 5 ft in any direction, rounded, and turned since."""
    rng = np.random.default_rng(8)
    for _ in range(60):
        along = rng.normal(size=3)
        along /= np.linalg.norm(along)
        rows = rng.uniform(-9.0, 9.0, 3) + 60.0 * INCH * np.arange(12)[:, None] * along
        rows = np.round(rows / grid_m) * grid_m
        if turned:
            rows = rows @ np.linalg.qr(rng.normal(size=(3, 3)))[0].T
        assert grid_kinks(rows, grid_m) == frozenset(range(1, 11))


@pytest.mark.parametrize("run", [24, 60, 120])
@pytest.mark.parametrize("jog", [3, 4, 6])
def test_a_jog_of_some_grids_stays_an_offset(jog: int, run: int) -> None:
    """Sticks of 60 in on whole inches with a jog of 3 in and more, then a riser."""
    x = [0, 60, 120, 180, 180 + run, 240 + run, 300 + run]
    places = [(a, jog if a > 180 else 0, 120) for a in x]
    rows = np.array([*places, (x[-1], jog, 300)]) * INCH
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    turned = [degrees(bend.angle_rad) for bend in reading.bends]
    slope = degrees(np.arctan2(jog, run))
    assert turned == pytest.approx([slope, slope, 90.0], abs=1e-6)
