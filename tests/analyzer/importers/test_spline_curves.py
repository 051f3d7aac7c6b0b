"""Splines of a drawing: straight ones, pieces of one curve, and curves far from the origin."""

from __future__ import annotations

from itertools import pairwise
from math import cos, degrees, hypot, pi, radians, sin, tan

import numpy as np
import pytest

from analyzer.errors import RouteError
from analyzer.geometry.bends import read_bends
from analyzer.geometry.curves import arcs_along
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.segments import Arc, Straight, Vector
from analyzer.importers.drawings.edges import entity_edges
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.pieces import Piece, SplinePiece
from analyzer.importers.drawings.spline_curves import spline_segments

CLAMPED = (0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0)
SITE = (432_187_250.0, 4_876_543_500.0, 212_400.0)


def edges_of(*pieces: Piece, factor: float = 0.001) -> tuple[DrawnEdge, ...]:
    edges: list[DrawnEdge] = []
    for number, piece in enumerate(pieces):
        entity = DrawnEntity((piece,), "SPLINE", "E-RACEWAY", f"{number:X}")
        edges += entity_edges(entity, factor, 10 * number)
    return tuple(edges)


def straight_spline(start: Vector, end: Vector) -> SplinePiece:
    steps = [tuple(a + (b - a) * k / 3 for a, b in zip(start, end, strict=True)) for k in range(4)]
    return SplinePiece(3, CLAMPED, tuple(steps))


def sweep(count: int, turn_deg: float, radius: float) -> list[Vector]:
    """Chord points of an arc with a straight of 2 m before and after, in millimeters."""
    at = [radians(turn_deg) * k / count for k in range(count + 1)]
    rows = [(radius * sin(t), radius * (1.0 - cos(t)), 0.0) for t in at]
    x, y, _ = rows[-1]
    last = (x + 2000.0 * cos(at[-1]), y + 2000.0 * sin(at[-1]), 0.0)
    return [(-2000.0, 0.0, 0.0), *rows, last]


@pytest.mark.parametrize(("count", "turn"), [(250, 90.0), (20, 45.0)])
def test_sweep_of_straight_splines_is_one_bend_as_it_is_of_lines(count: int, turn: float) -> None:
    points = sweep(count, turn, 3000.0)
    edges = edges_of(*(straight_spline(a, b) for a, b in pairwise(points)))
    assert {(edge.drawn_as, edge.curve) for edge in edges} == {(DrawnAs.LINE, -1)}
    reading = read_bends(DrawnPath(edges), corner_radius_m=0.24)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(turn, abs=1e-6)
    assert bend.radius_m == pytest.approx(3.0, rel=1e-6)
    assert reading.deviation_m < 1e-9


def test_straight_pieces_of_one_spline_are_lines_too() -> None:
    points = sweep(50, 90.0, 3000.0)
    control = [points[0]]
    for a, b in pairwise(points):
        control += [tuple((x + y) / 2.0 for x, y in zip(a, b, strict=True)), b]
    last = len(points) - 1
    inner = [float(k) for k in range(1, last) for _ in range(2)]
    knots = (0.0, 0.0, 0.0, *inner, *(float(last),) * 3)
    edges = edges_of(SplinePiece(2, knots, tuple(control)))
    (bend,) = read_bends(DrawnPath(edges), corner_radius_m=0.24).bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=1e-6)


def test_elbow_of_two_spans_with_a_double_knot_is_one_bend() -> None:
    half, radius = radians(30.0), 300.0
    at = [k * half for k in range(5)]
    reach = [radius if k % 2 == 0 else radius / cos(half) for k in range(5)]
    control = tuple((r * cos(t), r * sin(t), 0.0) for r, t in zip(reach, at, strict=True))
    weights = (1.0, cos(half), 1.0, cos(half), 1.0)
    elbow = SplinePiece(2, (0.0, 0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 2.0), control, weights)
    edges = edges_of(elbow)
    assert {edge.curve for edge in edges} == {0}
    (bend,) = read_bends(DrawnPath(edges), corner_radius_m=None).bends
    assert degrees(bend.angle_rad) == pytest.approx(120.0, abs=1e-9)
    assert bend.radius_m == pytest.approx(0.3, rel=1e-9)


def test_cubic_elbow_of_two_spans_is_one_bend() -> None:
    quarter, radius = pi / 2.0, 300.0
    reach = 4.0 / 3.0 * tan(quarter / 8.0) * radius

    def place(t: float, ahead: float = 0.0) -> Vector:
        x, y = radius * sin(t) + ahead * cos(t), radius * (1.0 - cos(t)) + ahead * sin(t)
        return (x, y, 0.0)

    middle = quarter / 2.0
    control = (
        *(place(0.0), place(0.0, reach), place(middle, -reach), place(middle)),
        *(place(middle, reach), place(quarter, -reach), place(quarter)),
    )
    knots = (0.0,) * 4 + (1.0,) * 3 + (2.0,) * 4
    (bend,) = read_bends(
        DrawnPath(edges_of(SplinePiece(3, knots, control))), corner_radius_m=1
    ).bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=0.05)
    assert bend.radius_m == pytest.approx(0.3, rel=0.003)


@pytest.mark.parametrize("at", [(0.0, 0.0, 0.0), SITE])
@pytest.mark.parametrize("seed", range(6))
def test_straight_spline_is_one_straight_wherever_it_stands(at: Vector, seed: int) -> None:
    rng = np.random.default_rng(seed)
    start = tuple(a + float(x) for a, x in zip(at, rng.uniform(-500.0, 500.0, 3), strict=True))
    end = tuple(a + float(x) for a, x in zip(start, rng.normal(size=3) * 1000.0, strict=True))
    ((only,),) = spline_segments(straight_spline(start, end), 0.001)
    assert isinstance(only, Straight)


@pytest.mark.parametrize("at", [(0.0, 0.0, 0.0), (1e6, 1e6, 0.0), SITE])
def test_spline_is_followed_alike_wherever_it_stands(at: Vector) -> None:
    """Short pieces between close knots, where far away the digits of points do not reach."""
    rows = [(0, 0), (40, 0), (80, 10), (120, 40), (140, 90), (150, 130), (160, 170)]
    control = tuple((x + at[0], y + at[1], at[2]) for x, y in rows)
    knots = (0.0, 0.0, 0.0, 0.0, 1.0, 1.0 + 1e-5, 2.0, 4.0, 4.0, 4.0, 4.0)
    (found,) = spline_segments(SplinePiece(3, knots, control), 0.001)
    assert len(found) < 300
    turned = sum(degrees(one.angle_rad) for one in found if isinstance(one, Arc))
    # 75.9638° from its first to its last control leg, turning one way throughout
    assert turned == pytest.approx(degrees(np.arctan2(40.0, 10.0)), abs=0.05)
    reading = read_bends(
        DrawnPath(tuple(DrawnEdge(one, DrawnAs.SPLINE, 0) for one in found)), corner_radius_m=None
    )
    total = sum(degrees(bend.angle_rad) for bend in reading.bends)
    assert total == pytest.approx(turned, abs=0.05)


def test_curve_too_crooked_to_follow_is_refused_in_plain_words() -> None:
    def point(t: np.ndarray) -> np.ndarray:
        return np.column_stack([t, 1e-6 * np.sin(3e5 * t), 0.0 * t])

    def tangent(t: np.ndarray) -> np.ndarray:
        return np.column_stack([1.0 + 0.0 * t, 0.3 * np.cos(3e5 * t), 0.0 * t])

    with pytest.raises(RouteError, match="arcs between two of its knots"):
        arcs_along(point, tangent, [0.0, 1.0])


def test_length_of_a_straight_spline_is_that_between_its_ends() -> None:
    ((only,),) = spline_segments(
        straight_spline(SITE, (SITE[0] + 300.0, SITE[1] + 400.0, SITE[2])), 0.001
    )
    assert only.length_m == pytest.approx(hypot(0.3, 0.4), abs=2e-9)


# --- control points written with few decimals ---------------------------------------------------


def turned_and_rounded(rows: list[Vector], way: float, digits: int) -> tuple[Vector, ...]:
    """Rows turned in plan, moved off the origin, and rounded to decimals of an inch."""
    c, s = cos(way), sin(way)
    moved = ((x * c - y * s + 431.7, x * s + y * c + 77.3, z + 120.0) for x, y, z in rows)
    return tuple(tuple(round(v, digits) for v in row) for row in moved)


@pytest.mark.parametrize("digits", [2, 3, 4, 5])
@pytest.mark.parametrize("rises", [True, False])
def test_two_elbows_with_a_rounded_straight_between_are_two_bends(digits: int, rises: bool) -> None:
    turn = (59.5, 79.0, 9.5) if rises else (50.0, 79.0, 0.0)
    end = (59.5, 79.0, 70.0) if rises else (-10.0, 79.0, 0.0)
    middle = tuple((a + b) / 2.0 for a, b in zip(turn, end, strict=True))
    rows = [
        *((0.0, 0.0, 0.0), (25.0, 0.0, 0.0), (50.0, 0.0, 0.0), (59.5, 0.0, 0.0), (59.5, 9.5, 0.0)),
        *((59.5, 39.5, 0.0), (59.5, 69.5, 0.0), (59.5, 79.0, 0.0), turn, middle, end),
    ]
    weights = tuple(cos(pi / 4.0) if k in (3, 7) else 1.0 for k in range(len(rows)))
    knots = tuple(float(k) for k in (0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 5))
    for way in (0.3, 1.9, 4.4):
        spline = SplinePiece(2, knots, turned_and_rounded(rows, way, digits), weights)
        path = DrawnPath(edges_of(spline, factor=0.0254))
        bends = read_bends(path, corner_radius_m=0.2413).bends
        assert [degrees(bend.angle_rad) for bend in bends] == pytest.approx([90.0] * 2, abs=0.2)
        assert [bend.radius_m for bend in bends] == pytest.approx([0.2413] * 2, rel=0.003)


@pytest.mark.parametrize("digits", [3, 4])
@pytest.mark.parametrize("seed", range(4))
def test_rounded_straight_spline_is_one_straight(digits: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    way, length = rng.uniform(0.0, 2.0 * pi), rng.uniform(20.0, 200.0)
    rows = [(length * k / 3.0, 0.0, 0.0) for k in range(4)]
    spline = SplinePiece(3, CLAMPED, turned_and_rounded(rows, way, digits))
    ((only,),) = spline_segments(spline, 0.0254)
    assert isinstance(only, Straight)


def wide_sweep(turn: float, radius_m: float, spans: int, digits: int) -> SplinePiece:
    """A sweep of exact conics in rounded inches, which meet in double knots."""
    radius = radius_m / 0.0254
    part = turn / spans
    at = [k * part / 2.0 for k in range(2 * spans + 1)]
    reach = [radius / (cos(part / 2.0) if k % 2 else 1.0) for k in range(2 * spans + 1)]
    rows = [(r * sin(t), -r * cos(t) + radius, 0.0) for r, t in zip(reach, at, strict=True)]
    weights = tuple(cos(part / 2.0) if k % 2 else 1.0 for k in range(2 * spans + 1))
    inner = [float(k) for k in range(1, spans) for _ in range(2)]
    knots = (0.0, 0.0, 0.0, *inner, *(float(spans),) * 3)
    return SplinePiece(2, knots, turned_and_rounded(rows, 0.7, digits), weights)


@pytest.mark.parametrize("spans", [1, 10])
def test_wide_sweep_in_rounded_control_points_stays_a_sweep(spans: int) -> None:
    """A turn of 10° on a radius of 30 m, however short the spans: no straights, no corners."""
    spline = wide_sweep(radians(10.0), 30.0, spans, 3)
    (bend,) = read_bends(DrawnPath(edges_of(spline, factor=0.0254)), corner_radius_m=0.2413).bends
    assert degrees(bend.angle_rad) == pytest.approx(10.0, abs=0.05)
    assert bend.radius_m == pytest.approx(30.0, rel=0.1)  # smallest, of legs 0.26 m long to 0.03 mm


@pytest.mark.parametrize(
    ("turn", "radius", "spans", "digits"),
    [(10, 100, 40, 3), (5, 100, 5, 5), (20, 500, 5, 3), (5, 500, 20, 4), (20, 500, 5, 4)],
)
def test_arcs_of_a_rounded_sweep_meet_however_large_their_radius(
    turn: float, radius: float, spans: int, digits: int
) -> None:
    """The least angle over a radius of 100 m and more is a long way: they end where the curve does.

    Rounding turns the spans where they meet, and shortens the least radius; not the whole turn.
    """
    spline = wide_sweep(radians(turn), radius, spans, digits)
    edges = edges_of(spline, factor=0.0254)
    gaps = [
        np.subtract(after.segment.start_m, before.segment.end_m)
        for before, after in pairwise(edges)
    ]
    assert np.abs(gaps).max() < 1e-9
    reading = read_bends(DrawnPath(edges), corner_radius_m=0.2413)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(turn, abs=0.05)
    # conics of this turn whose ends are off by the grid in each coordinate
    length = radians(turn) * radius
    assert reading.centerline.length_m == pytest.approx(
        length, rel=1e-5, abs=2 * 0.0254 / 10**digits
    )
    for before, after in pairwise(reading.centerline.segments):
        assert np.subtract(after.start_tangent, before.end_tangent) == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize("digits", [2, 3])
def test_rounding_of_a_run_of_splines_alone_is_that_of_their_ends(digits: int) -> None:
    elbow = wide_sweep(radians(90.0), 0.2413, 1, digits)
    before, _, after = elbow.control
    start, end = turned_and_rounded([(-60.0, 0.0, 0.0), (9.5, 69.5, 0.0)], 0.7, digits)
    pieces = (straight_spline(start, before), elbow, straight_spline(after, end))
    for drawn in ((elbow,), pieces):
        reading = read_bends(DrawnPath(edges_of(*drawn, factor=0.0254)), corner_radius_m=0.2413)
        assert reading.rounding_m == pytest.approx(0.0254 / 10**digits, rel=1e-9)
