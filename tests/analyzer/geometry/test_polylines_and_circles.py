"""Cleaning of raw points, circles through points, and places where a run crosses itself."""

from __future__ import annotations

import itertools
from math import cos, pi, sin

import numpy as np
import pytest

from analyzer.errors import InputError
from analyzer.geometry.centerline import Centerline, nearest_on
from analyzer.geometry.circle_fit import fit_circle
from analyzer.geometry.crossings import crossing_places, is_all_level
from analyzer.geometry.polyline import drop_straight_vertices, turns
from analyzer.geometry.roundings import least_rounding, rounding
from analyzer.geometry.segments import Arc, Straight
from analyzer.units import ft, inches

RNG = np.random.default_rng(8)


@pytest.mark.parametrize(
    "grid", [1e-3, 1e-4, 1e-6, inches(1 / 16), ft(0.01), inches(1e-4), 0.01, ft(1e-6)]
)
def test_rounding_of_coordinates_is_found(grid: float) -> None:
    points = np.round(RNG.uniform(-20, 20, (40, 3)) / grid) * grid
    assert rounding(points) == pytest.approx(grid)


def test_full_precision_has_no_grid() -> None:
    points = RNG.uniform(-20, 20, (40, 3))
    assert rounding(points) == least_rounding(points)


@pytest.mark.parametrize("digit", [0.0001, 0.00001, 0.000001])
@pytest.mark.parametrize("grid", [0.0254 / 16, 0.0254 / 8, 0.0254 / 32, 0.005])
def test_a_grid_shows_through_the_digits_it_was_written_to_later(grid, digit):
    points = np.random.default_rng(4).uniform(-9.0, 9.0, (30, 3))
    points = np.round(np.round(points / grid) * grid / digit) * digit
    assert rounding(points) == pytest.approx(grid)


def test_a_grid_of_halves_of_a_foot_s_tenth_shows_through_its_digits():
    points = np.round(np.random.default_rng(4).uniform(-9.0, 9.0, (30, 3)) / ft(0.05)) * ft(0.05)
    assert rounding(points) == pytest.approx(ft(0.05))


def test_digits_alone_are_no_coarser_grid():
    for seed in range(20):
        points = np.round(np.random.default_rng(seed).uniform(-9.0, 9.0, (8, 3)), 4)
        assert rounding(points) == pytest.approx(1e-4)


def test_vertices_on_a_straight_go_unless_locked() -> None:
    points = np.array([[x, 0, 0] for x in range(6)] + [[5, 1, 0]], float)
    assert drop_straight_vertices(points, 1e-9) == [0, 5, 6]
    assert drop_straight_vertices(points, 1e-9, locked=[3]) == [0, 3, 5, 6]


def test_lone_vertex_without_turn_between_turning_ones_stays() -> None:
    points = np.array([[0, 0, 0], [1, 0, 0], [2, 1, 0], [3, 2, 0], [4, 2, 0]], float)
    assert drop_straight_vertices(points, 1e-9) == [0, 1, 2, 3, 4]


def test_slow_drift_is_no_straight() -> None:
    t = np.linspace(0.0, 0.2, 4000)
    points = 2.0 * np.column_stack([np.sin(t), 1 - np.cos(t), 0 * t])
    kept = drop_straight_vertices(points, 1e-6)
    # the arc's sagitta of 10 mm is kept to a fraction of a millimeter
    assert len(kept) > 5


def test_turns_of_a_right_angle() -> None:
    turn, axis = turns(np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0]], float))
    assert turn == pytest.approx([pi / 2])
    assert axis[0] == pytest.approx([0, 0, 1])


@pytest.mark.parametrize(("span", "tolerance"), [(0.05, 1e-9), (0.5, 1e-11), (3.0, 1e-12)])
def test_circle_through_exact_points_is_found(span: float, tolerance: float) -> None:
    frame = np.linalg.qr(RNG.normal(size=(3, 3)))[0]
    if np.linalg.det(frame) < 0:
        frame = -frame
    at = np.linspace(0.3, 0.3 + span, 7)
    center = np.array([10.0, -20.0, 5.0])
    points = center + 0.5 * (np.outer(np.cos(at), frame[:, 0]) + np.outer(np.sin(at), frame[:, 1]))
    found = fit_circle(points)
    assert found is not None
    # digits are lost with the square of the span
    assert found.radius_m == pytest.approx(0.5, rel=tolerance)
    assert found.axis == pytest.approx(tuple(frame[:, 2]), abs=1e-9)
    assert found.offset_m < 1e-13


def test_points_on_a_line_have_no_circle() -> None:
    assert fit_circle(np.array([[x, 2.0 * x, 0.0] for x in range(5)])) is None


def test_circle_needs_three_points() -> None:
    with pytest.raises(InputError, match="three"):
        fit_circle(np.zeros((2, 3)))


def test_offset_of_a_point_off_the_circle_is_reported() -> None:
    at = np.linspace(0.0, 2.0, 9)
    points = np.column_stack([np.cos(at), np.sin(at), 0 * at])
    points[4] *= 1.01
    found = fit_circle(points)
    assert found is not None
    assert 0.005 < found.offset_m < 0.01


def test_crossing_gives_both_stations() -> None:
    rows = [(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 2.0, 0.0), (1.0, 2.0, 0.0), (1.0, -2.0, 0.01)]
    line = Centerline(tuple(Straight(a, b) for a, b in itertools.pairwise(rows)))
    ((at, again),) = crossing_places(line)
    assert at == pytest.approx(1.0, abs=1e-3)
    assert again == pytest.approx(7.0, abs=1e-3)


def test_crossing_where_segments_meet_counts_once() -> None:
    rows = [
        (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 2.0, 0.0),
        (1.0, 2.0, 0.0), (1.0, 0.0, 0.01), (1.0, -2.0, 0.01),
    ]  # fmt: skip
    line = Centerline(tuple(Straight(a, b) for a, b in itertools.pairwise(rows)))
    ((at, again),) = crossing_places(line)
    assert at == pytest.approx(1.0, abs=1e-3)
    assert again == pytest.approx(7.0, abs=1e-3)


def test_half_an_inch_apart_is_no_crossing() -> None:
    rows = [(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 2.0, 0.0), (1.0, 2.0, 0.02), (1.0, -2.0, 0.02)]
    line = Centerline(tuple(Straight(a, b) for a, b in itertools.pairwise(rows)))
    assert crossing_places(line) == ()


def test_helix_does_not_cross_itself() -> None:
    at = np.linspace(0, 6 * pi, 200)
    rows = [(cos(t), sin(t), 0.05 * t) for t in at]
    line = Centerline(tuple(Straight(a, b) for a, b in itertools.pairwise(rows)))
    assert crossing_places(line) == ()


def test_level_within_a_tenth_of_a_millimeter() -> None:
    assert is_all_level(np.array([[0, 0, 1.0], [5, 0, 1.00005]]))
    assert not is_all_level(np.array([[0, 0, 1.0], [5, 0, 1.001]]))


@pytest.mark.parametrize("angle_deg", [5.0, 90.0, 150.0, 180.0])
def test_no_place_of_a_segment_is_nearer_than_the_nearest(angle_deg: float) -> None:
    arc = Arc((1.0, 0.0, 0.5), (0.0, 0.0, 0.5), (0.0, 0.0, 1.0), np.radians(angle_deg))
    for segment in (arc, Straight((1.0, 0.0, 0.5), (-0.5, 1.0, 0.5))):
        stations = np.linspace(0.0, segment.length_m, 2001)
        for place in RNG.uniform(-2.0, 2.0, (40, 3)):
            away = np.linalg.norm(segment.points_at(stations) - place, axis=1)
            at_m, away_m = nearest_on(segment, tuple(place.tolist()))
            assert away_m == pytest.approx(away.min(), abs=2e-3)
            assert away_m <= away.min() + 1e-12
            assert np.linalg.norm(segment.points_at(at_m)[0] - place) == pytest.approx(away_m)
