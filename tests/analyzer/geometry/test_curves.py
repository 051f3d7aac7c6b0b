"""Smooth curves as arcs: turning, length, smallest radius against closed forms."""

from __future__ import annotations

from math import atan, degrees, hypot, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import BSpline
from scipy.special import ellipe

from analyzer.errors import InputError, RouteError
from analyzer.geometry.bends import read_bends
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.curves import arcs_along, smallest_radius
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.segments import Arc, Segment, Straight

TURNING_DEG = 0.05
LENGTH_RATIO = 1e-5
RADIUS_RATIO = 0.003


def turning_deg(segments: tuple[Segment, ...]) -> float:
    return degrees(sum(s.angle_rad for s in segments if isinstance(s, Arc)))


def columns(*parts: np.ndarray) -> np.ndarray:
    return np.column_stack([np.broadcast_to(p, parts[0].shape) for p in parts])


def test_quarter_ellipse() -> None:
    a, b = 2.0, 1.0
    found = arcs_along(
        lambda t: columns(a * np.cos(t), b * np.sin(t), 0 * t),
        lambda t: columns(-a * np.sin(t), b * np.cos(t), 0 * t),
        [0.0, pi / 2],
    )
    line = Centerline(found)
    assert line.length_m == pytest.approx(a * ellipe(1 - (b / a) ** 2), rel=LENGTH_RATIO)
    assert turning_deg(found) == pytest.approx(90.0, abs=TURNING_DEG)
    # sharpest at the end of the long axis: b²/a
    assert smallest_radius(found) == pytest.approx(b * b / a, rel=RADIUS_RATIO)
    assert line.corners() == ()


def test_helix_turns_by_its_curvature_times_length() -> None:
    a, c, end = 2.0, 0.5, 6.0
    found = arcs_along(
        lambda t: columns(a * np.cos(t), a * np.sin(t), c * t),
        lambda t: columns(-a * np.sin(t), a * np.cos(t), c + 0 * t),
        [0.0, end],
    )
    assert Centerline(found).length_m == pytest.approx(end * hypot(a, c), rel=LENGTH_RATIO)
    assert turning_deg(found) == pytest.approx(degrees(end * a / hypot(a, c)), abs=TURNING_DEG)
    assert smallest_radius(found) == pytest.approx((a * a + c * c) / a, rel=RADIUS_RATIO)


def test_wave_keeps_its_inflections_and_gives_a_bend_a_half_wave() -> None:
    h = 0.3
    found = arcs_along(
        lambda t: columns(t, h * np.sin(t), 0 * t),
        lambda t: columns(1 + 0 * t, h * np.cos(t), 0 * t),
        [0.0, 4 * pi],
    )
    length = quad(lambda t: hypot(1.0, h * np.cos(t)), 0.0, 4 * pi, limit=200)[0]
    assert Centerline(found).length_m == pytest.approx(length, rel=LENGTH_RATIO)
    assert turning_deg(found) == pytest.approx(degrees(8 * atan(h)), abs=TURNING_DEG)
    path = DrawnPath(tuple(DrawnEdge(one, DrawnAs.SPLINE, 0) for one in found))
    bends = read_bends(path, corner_radius_m=None).bends
    assert [degrees(b.angle_rad) for b in bends] == pytest.approx(
        [degrees(2 * atan(h))] * 4, abs=TURNING_DEG
    )


def test_circle_comes_back_as_one_arc_of_its_radius_across_knots() -> None:
    found = arcs_along(
        lambda t: columns(0.3 * np.cos(t), 0.3 * np.sin(t), 1 + 0 * t),
        lambda t: columns(-np.sin(t), np.cos(t), 0 * t),
        [0.0, 0.4, 1.0, 2.0],
    )
    (arc,) = found
    assert isinstance(arc, Arc)
    assert arc.radius_m == pytest.approx(0.3, rel=1e-9)
    assert arc.angle_rad == pytest.approx(2.0, abs=1e-9)


def test_rational_quarter_circle_comes_back_as_one_arc() -> None:
    w = sqrt(0.5)
    weighted = np.array([[1, 0, 0, 1], [w, w, 0, w], [0, 1, 0, 1]], dtype=float)
    spline = BSpline([0, 0, 0, 1, 1, 1], weighted, 2)
    slope = spline.derivative()

    def point(t: np.ndarray) -> np.ndarray:
        h = spline(t)
        return h[:, :3] / h[:, 3:]

    def tangent(t: np.ndarray) -> np.ndarray:
        h, d = spline(t), slope(t)
        return d[:, :3] * h[:, 3:] - h[:, :3] * d[:, 3:]

    (arc,) = arcs_along(point, tangent, [0.0, 1.0])
    assert isinstance(arc, Arc)
    assert arc.radius_m == pytest.approx(1.0, rel=1e-6)
    assert degrees(arc.angle_rad) == pytest.approx(90.0, abs=1e-6)


def test_whole_circle_is_two_half_arcs() -> None:
    found = arcs_along(
        lambda t: columns(np.cos(t), np.sin(t), 0 * t),
        lambda t: columns(-np.sin(t), np.cos(t), 0 * t),
        [0.0, 2 * pi],
    )
    assert [one.angle_rad for one in found if isinstance(one, Arc)] == pytest.approx([pi, pi])


def test_straight_curve_is_one_straight() -> None:
    found = arcs_along(
        lambda t: columns(t**2, 2 * t**2, 0 * t),
        lambda t: columns(1 + 0 * t, 2 + 0 * t, 0 * t),
        [0.0, 0.5, 1.0],
    )
    assert found == (Straight((0.0, 0.0, 0.0), (1.0, 2.0, 0.0)),)
    assert smallest_radius(found) is None


def test_free_spline_in_space_is_tangent_throughout() -> None:
    control = np.array([[0, 0, 0], [1, 0, 0], [2, 1, 0.5], [2, 2, 1], [3, 3, 1], [5, 3, 1]], float)
    spline = BSpline([0, 0, 0, 0, 1, 2, 3, 3, 3, 3], control, 3)
    slope, second = spline.derivative(), spline.derivative(2)
    found = arcs_along(spline, slope, [0.0, 1.0, 2.0, 3.0])
    line = Centerline(found)
    length = sum(quad(lambda t: np.linalg.norm(slope(t)), k, k + 1)[0] for k in range(3))

    def curvature(t: float) -> float:
        d, s = slope(t), second(t)
        return float(np.linalg.norm(np.cross(d, s)) / np.linalg.norm(d) ** 2)

    turning = sum(quad(curvature, k, k + 1)[0] for k in range(3))
    assert line.length_m == pytest.approx(length, rel=LENGTH_RATIO)
    assert turning_deg(found) == pytest.approx(degrees(turning), abs=TURNING_DEG)
    assert line.corners() == ()


@pytest.mark.parametrize("seed", range(12))
def test_spline_that_turns_both_ways_is_read_with_its_own_radii(seed: int) -> None:
    """Against curvature and length of scipy's spline at 100,001 parameters."""
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.uniform(0.3, 1.0, (6, 3)) * [1.0, 1.0, 0.3], axis=0)
    points[:, 1] = np.add([0.0, 0.0, 1.0, 0.0, 1.0, 1.0], rng.uniform(-0.3, 0.3, 6))
    points[:, 2] *= seed % 2
    knots = np.array([0.0, 0, 0, 0, 1, 2, 3, 3, 3, 3])
    curve = BSpline(knots, points, 3)
    first, second = curve.derivative(), curve.derivative(2)
    found = arcs_along(curve, first, [0.0, 1.0, 2.0, 3.0])
    t = np.linspace(0.0, 3.0, 100_001)
    speed = np.linalg.norm(first(t), axis=1)
    curvature = np.linalg.norm(np.cross(first(t), second(t)), axis=1) / speed**3
    path = DrawnPath(tuple(DrawnEdge(one, DrawnAs.SPLINE, 0) for one in found))
    reading = read_bends(path, corner_radius_m=None)
    # in its plane it has inflections; out of it the curvature is nowhere zero: one bend
    assert len(reading.bends) == 1 if seed % 2 else len(reading.bends) > 2
    assert not [one for one in reading.findings if one.code == "corner-too-short"]
    segments = reading.centerline.segments
    assert Centerline(segments).length_m == pytest.approx(np.trapezoid(speed, t), rel=LENGTH_RATIO)
    turned = sum(degrees(bend.angle_rad) for bend in reading.bends)
    assert turned == pytest.approx(degrees(np.trapezoid(curvature * speed, t)), abs=TURNING_DEG)
    least = min(bend.radius_m for bend in reading.bends)
    assert least == pytest.approx(1.0 / curvature.max(), rel=RADIUS_RATIO)


def test_cusp_is_an_error() -> None:
    with pytest.raises(RouteError, match="no direction"):
        arcs_along(
            lambda t: columns(t**2, t**3, 0 * t),
            lambda t: columns(2 * t, 3 * t**2, 0 * t),
            [-1.0, 1.0],
        )


@pytest.mark.parametrize("wide", [1e-6, 1e-4, 1e-3])
def test_curve_that_all_but_has_a_cusp_is_an_error(wide: float) -> None:
    """It turns by half a turn on a radius of some square of its width: no bend, and no joints."""
    with pytest.raises(RouteError, match=r"on a radius below 0\.01 mm .a cusp"):
        arcs_along(
            lambda t: columns(t**2, t**3 + wide * t, 0 * t),
            lambda t: columns(2 * t, 3 * t**2 + wide, 0 * t),
            [-1.0, 1.0],
        )


def test_curve_of_a_small_radius_is_followed() -> None:
    wide = 0.01
    segments = arcs_along(
        lambda t: columns(t**2, t**3 + wide * t, 0 * t),
        lambda t: columns(2 * t, 3 * t**2 + wide, 0 * t),
        [-1.0, 1.0],
    )
    assert smallest_radius(segments) == pytest.approx(wide**2 / 2.0, rel=0.02)


def test_parameters_must_rise() -> None:
    with pytest.raises(InputError, match="rising"):
        arcs_along(lambda t: columns(t, t, t), lambda t: columns(t, t, t), [1.0, 1.0])
