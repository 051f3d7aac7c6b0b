"""Kinks that a coarse grid makes of straights, and jogs that it does not make."""

from __future__ import annotations

from math import degrees

import numpy as np
import pytest
from drawn_ways import CORNER_M, lines

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.chords.bent_straights import bent_straight_doubt
from analyzer.geometry.grid_kinks import grid_kinks
from analyzer.geometry.readings import ReadAs

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


@pytest.mark.parametrize(
    ("grid_m", "rows", "read_deg"),
    [
        (
            0.01,
            "0 0 0, 100 0 0, 200 0 0, 305 0 0, 375 71 0, 412 108 0, 481 181 0, 517 219 0, "
            "587 290 0, 624 327 0, 674 377 -70, 700 403 -107",
            (45.0, 2.0, 2.0, 45.0),
        ),
        (
            0.03048,
            "0 0 0, 28 17 0, 57 33 0, 87 50 0, 95 82 0, 99 99 0, 108 130 1, 116 162 2, "
            "125 195 3, 134 227 3, 142 259 3, 151 292 3, 157 314 27, 160 326 39",
            (45.0, 2.0, 45.0),
        ),
    ],
)
def test_sticks_with_a_small_jog_are_drawn_not_measured(grid_m, rows, read_deg) -> None:
    """A jog of 1.9 degrees between two bends of 45 degrees, on sticks of 1 m, as written.

    A tenth of a foot tells one bend of it.
    """
    places = grid_m * np.array([[float(v) for v in row.split()] for row in rows.split(",")])
    reading = read_bends(lines(places.tolist()), corner_radius_m=CORNER_M)
    turned = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turned == pytest.approx(read_deg, abs=1.5)
    assert {bend.read_as for bend in reading.bends} == {ReadAs.CORNERS}
    assert [one.code for one in reading.findings if one.severity is Severity.ERROR] == []


@pytest.mark.parametrize(
    ("grid_m", "rows"),
    [
        (INCH, "0 0 0, -96 70 18, -143 105 29, -239 176 48, -357 188 64"),
        (0.03048, "0 0 0, 31 31 -23, 63 63 -45, 82 82 -87, 100 100 -131, 100 100 -231"),
        (0.03048, "0 0 0, -60 -12 133, -80 -18 178, -101 -22 223, -128 140 224"),
        (
            0.03048,
            "0 0 0, -51 -19 -36, -192 -71 -125, -234 -86 -146, -251 -92 -155, -278 -103 -169",
        ),
    ],
)
def test_a_slight_bend_that_the_grid_hardly_explains_is_told(grid_m, rows) -> None:
    """Jogs of 1.9 and 2.9 degrees, kicks of 3 and 5 degrees, between bends, as written."""
    places = grid_m * np.array([[float(v) for v in row.split()] for row in rows.split(",")])
    reading = read_bends(lines(places.tolist()), corner_radius_m=CORNER_M)
    told = [one for one in reading.findings if one.severity is Severity.CAUTION]
    assert "ambiguous-chords" in [one.code for one in told]


def test_a_gentle_bend_in_chords_on_a_coarse_grid_is_no_jog_and_is_told() -> None:
    """Chords of 24 in that turn by 3 degrees in all, rounded to 1/4 in: no grid makes a curve."""
    angles = np.radians([0.0, 0.375, 1.125, 1.875, 2.625, 3.0])
    legs = np.array([240, 24, 24, 24, 24, 240])[:, None] * np.c_[np.cos(angles), np.sin(angles)]
    rows = np.vstack([[0.0, 0.0], np.cumsum(legs, axis=0)]) + np.array([11.3, 7.7])
    rows = np.c_[np.round(rows * 4.0) / 4.0, np.full(len(rows), 120.0)] * INCH
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    told = [one.code for one in reading.findings if one.severity is Severity.CAUTION]
    assert "ambiguous-chords" in told


@pytest.mark.parametrize("grid_m", [0.01, INCH, 0.03048])
def test_straights_of_sticks_are_hardly_ever_said_to_bend(grid_m: float) -> None:
    """Three to six sticks of 10 ft in any direction, rounded."""
    rng = np.random.default_rng(3)
    told = 0
    for _ in range(200):
        along = rng.normal(size=3)
        along *= 3.048 / np.linalg.norm(along)
        rows = rng.uniform(-9.0, 9.0, 3) + np.arange(rng.integers(4, 8))[:, None] * along
        rows = np.round(rows / grid_m) * grid_m
        told += bent_straight_doubt(rows, (), (), grid_m) is not None
    assert told <= 2


@pytest.mark.parametrize("level", [True, False])
def test_short_sticks_are_hardly_ever_said_to_bend_however_many(level: bool) -> None:
    """Three to ten vertices, sticks of 8 to 60 in of unlike lengths in any direction, rounded."""
    rng = np.random.default_rng(17)
    told = 0
    for _ in range(200):
        along = rng.normal(size=3) * (1.0, 1.0, not level)
        along /= np.linalg.norm(along)
        at = np.cumsum(30.0 * rng.choice([0.3, 0.5, 1.0, 2.0], size=rng.integers(3, 11)))
        rows = np.round(rng.uniform(0.0, 9.0, 3) + at[:, None] * along) * INCH
        told += bent_straight_doubt(rows, (), (), INCH) is not None
    assert told <= 7
