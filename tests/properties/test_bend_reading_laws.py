"""Laws of reading bends: direction, place and way of drawing change nothing."""

from __future__ import annotations

import itertools
from dataclasses import replace
from math import cos, pi, sin

import numpy as np
import pytest
from drawn_routes import Drawn, KnownRoute, Regime, draw_route, make_route
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.readings import Attitude, ReadAs, Reading
from analyzer.geometry.segments import Arc, Straight, Vector

SEEDS = st.integers(0, 2**32 - 1)
CORNER_M = 0.05
MIXED = Regime(corners=0.3, arcs=0.3, uneven=0.2)
FLIPPED = {Attitude.RISING: Attitude.FALLING, Attitude.FALLING: Attitude.RISING}


def route_of(seed: int, regime: Regime = MIXED) -> KnownRoute:
    return make_route(regime, np.random.default_rng(seed))


def read(path: DrawnPath) -> Reading:
    return read_bends(path, corner_radius_m=CORNER_M)


def moved(path: DrawnPath, turn: np.ndarray, shift: np.ndarray) -> DrawnPath:
    def at(place: Vector) -> Vector:
        x, y, z = turn @ np.array(place) + shift
        return (float(x), float(y), float(z))

    def axis(of: Vector) -> Vector:
        x, y, z = turn @ np.array(of)
        size = float(np.linalg.norm((x, y, z)))
        return (float(x / size), float(y / size), float(z / size))

    edges = []
    here = at(path.edges[0].segment.start_m)
    for edge in path.edges:
        segment = edge.segment
        if isinstance(segment, Arc):
            segment = Arc(here, at(segment.center_m), axis(segment.axis), segment.angle_rad)
        else:
            segment = Straight(here, at(segment.end_m))
        here = segment.end_m
        edges.append(DrawnEdge(segment, edge.drawn_as, edge.curve))
    return DrawnPath(tuple(edges))


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_reversed_path_gives_the_bends_in_reverse(seed: int) -> None:
    path = draw_route(route_of(seed))
    back = DrawnPath(
        tuple(replace(edge, segment=edge.segment.reversed()) for edge in reversed(path.edges))
    )
    forward, reverse = read(path), read(back)
    length = forward.centerline.length_m
    assert reverse.centerline.length_m == pytest.approx(length, rel=1e-9)
    assert len(reverse.bends) == len(forward.bends)
    for one, other in zip(forward.bends, reversed(reverse.bends), strict=True):
        assert other.angle_rad == pytest.approx(one.angle_rad, abs=1e-8)
        assert other.radius_m == pytest.approx(one.radius_m, rel=1e-6)
        assert other.station_m == pytest.approx(length - one.end_station_m, abs=1e-7)
        assert other.read_as is one.read_as
        assert other.attitude is FLIPPED.get(one.attitude, one.attitude)
    rotations = [bend.rotation_rad for bend in forward.bends[1:]]
    backward = [bend.rotation_rad for bend in reverse.bends[1:]][::-1]
    for one_rad, other_rad in zip(rotations, backward, strict=True):
        assert one_rad is not None
        assert other_rad is not None
        # one turn, seen from both ends: the same sense about either direction of travel
        gap = (one_rad - other_rad + pi) % (2 * pi) - pi
        assert gap == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.floats(-pi, pi), st.tuples(*[st.floats(-50, 50)] * 3))
def test_turning_about_z_and_moving_changes_nothing(
    seed: int, angle: float, shift: tuple[float, float, float]
) -> None:
    turn = np.array([[cos(angle), -sin(angle), 0], [sin(angle), cos(angle), 0], [0, 0, 1.0]])
    path = draw_route(route_of(seed))
    one, other = read(path), read(moved(path, turn, np.array(shift)))
    assert len(one.bends) == len(other.bends)
    for a, b in zip(one.bends, other.bends, strict=True):
        assert b.angle_rad == pytest.approx(a.angle_rad, abs=1e-8)
        assert b.radius_m == pytest.approx(a.radius_m, rel=1e-6)
        assert b.station_m == pytest.approx(a.station_m, abs=1e-7)
        assert b.attitude is a.attitude


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_a_route_drawn_as_arcs_and_as_chords_has_the_same_bends(seed: int) -> None:
    route = route_of(seed, Regime())
    as_arcs = replace(route, bends=tuple(replace(bend, drawn=Drawn.ARC) for bend in route.bends))
    exact, chords = read(draw_route(as_arcs)), read(draw_route(route))
    assert len(exact.bends) == len(chords.bends) == len(route.bends)
    assert chords.centerline.length_m == pytest.approx(exact.centerline.length_m, rel=1e-7)
    for known, a, b in zip(route.bends, exact.bends, chords.bends, strict=True):
        # 1e-6 degree
        assert a.angle_rad == pytest.approx(known.angle_rad, abs=1.7e-8)
        assert b.angle_rad == pytest.approx(known.angle_rad, abs=1.7e-8)
        assert a.radius_m == pytest.approx(known.radius_m, rel=1e-9)
        assert b.radius_m == pytest.approx(known.radius_m, rel=1e-6)
        assert b.station_m == pytest.approx(a.station_m, abs=1e-6)
        assert b.rotation_rad == pytest.approx(a.rotation_rad, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.sampled_from([(0.3, 1.0), (1.0, 5.0), (5.0, 22.5)]))
def test_chords_and_drawn_arcs_that_touch_keep_their_bends(
    seed: int, chord_deg: tuple[float, float]
) -> None:
    route = route_of(seed, Regime(arcs=0.5, touching=0.8, chord_deg=chord_deg, least_chords=5))
    reading = read(draw_route(route))
    assert len(reading.bends) == len(route.bends)
    for known, bend in zip(route.bends, reading.bends, strict=True):
        # 1e-6 degree
        assert bend.angle_rad == pytest.approx(known.angle_rad, abs=1.7e-8)
        assert bend.radius_m == pytest.approx(known.radius_m, rel=1e-6)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(SEEDS, st.sampled_from([20.0, 12.0]))
def test_a_route_given_by_survey_points_has_the_same_bends(
    seed: int, points_a_radius: float
) -> None:
    rng = np.random.default_rng(seed)
    regime = Regime(arcs=1.0, angles=(30.0, 45.0, 60.0, 90.0), legs_m=(2.5, 3.0, 4.0))
    route = make_route(regime, rng)
    exact = read(draw_route(route)).centerline
    radius = min(bend.radius_m for bend in route.bends)
    stations = np.append(np.arange(0.0, exact.length_m, radius / points_a_radius), exact.length_m)
    rows = exact.points_at(stations) + rng.normal(0.0, radius / 500.0, (len(stations), 3))
    edges = tuple(
        DrawnEdge(Straight(tuple(map(float, a)), tuple(map(float, b))))
        for a, b in itertools.pairwise(rows)
    )
    reading = read_bends(DrawnPath(edges), corner_radius_m=None, accuracy_m=radius / 500.0)
    assert len(reading.bends) == len(route.bends)
    for known, bend in zip(route.bends, reading.bends, strict=True):
        assert bend.angle_sd_rad is not None
        assert bend.radius_sd_m is not None
        # five of its own deviations: one in two million
        assert abs(bend.angle_rad - known.angle_rad) < 5.0 * bend.angle_sd_rad
        assert abs(bend.radius_m - known.radius_m) < 5.0 * bend.radius_sd_m
        assert bend.angle_sd_rad < 0.02


@settings(max_examples=15, deadline=None, derandomize=True)
@given(SEEDS, st.booleans())
def test_measured_points_are_known_without_being_called_so(seed: int, stated: bool) -> None:
    """Five to sixty points a radius, off by a hundredth of it or far less, some rounded."""
    rng = np.random.default_rng(seed)
    regime = Regime(arcs=1.0, angles=(22.5, 30.0, 45.0, 60.0, 90.0), legs_m=(1.5, 2.5, 3.0))
    route = make_route(regime, rng)
    exact = read(draw_route(route)).centerline
    radius = min(bend.radius_m for bend in route.bends)
    spacing = max(radius / float(np.exp(rng.uniform(np.log(5), np.log(60)))), exact.length_m / 2e3)
    deviation = radius / float(np.exp(rng.uniform(np.log(100), np.log(20_000))))
    stations = np.arange(0.0, exact.length_m, spacing)
    stations = stations + rng.uniform(-0.3, 0.3, stations.size) * spacing
    stations = np.clip(stations, 0.0, exact.length_m)
    rows = exact.points_at(stations) + rng.normal(0.0, deviation, (stations.size, 3))
    if rng.random() < 0.3:
        grid = float(rng.choice([1e-3, 1e-4, 0.0254 / 16]))
        rows = np.round(rows / grid) * grid
    edges = tuple(
        DrawnEdge(Straight(tuple(map(float, a)), tuple(map(float, b))))
        for a, b in itertools.pairwise(rows)
        if not np.array_equal(a, b)
    )
    accuracy_m = deviation if stated else None
    told = read_bends(
        DrawnPath(edges), corner_radius_m=CORNER_M, accuracy_m=accuracy_m, read_as=ReadAs.SURVEY
    )
    found = read_bends(DrawnPath(edges), corner_radius_m=CORNER_M, accuracy_m=accuracy_m)
    assert len(found.bends) == len(told.bends) == len(route.bends)
    for one, other in zip(found.bends, told.bends, strict=True):
        assert one.read_as is ReadAs.SURVEY
        # where the grid alone is the error, its own deviation is used instead of an estimate
        assert one.angle_rad == pytest.approx(
            other.angle_rad, abs=5.0 * (other.angle_sd_rad or 0.0)
        )


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_corners_with_their_own_radius_are_the_arcs_they_stand_for(seed: int) -> None:
    route = route_of(seed, Regime(legs_m=(4.0, 5.0)))
    as_arcs = replace(route, bends=tuple(replace(bend, drawn=Drawn.ARC) for bend in route.bends))
    exact = read(draw_route(as_arcs))
    corners = [tuple(exact.centerline.start_m)]
    for bend in exact.bends:
        tangent = exact.centerline.tangents_at([bend.station_m])[0]
        start = exact.centerline.points_at([bend.station_m])[0]
        reach = (bend.radius_m or 0.0) * np.tan(bend.angle_rad / 2)
        corners.append(tuple(float(v) for v in start + reach * tangent))
    corners.append(tuple(exact.centerline.end_m))
    radii = (None, *(bend.radius_m for bend in exact.bends), None)
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in itertools.pairwise(corners))
    again = read_bends(DrawnPath(edges, radii), corner_radius_m=None)
    assert len(again.bends) == len(exact.bends)
    for a, b in zip(exact.bends, again.bends, strict=True):
        assert b.angle_rad == pytest.approx(a.angle_rad, abs=1.7e-8)
        assert b.radius_m == pytest.approx(a.radius_m, rel=1e-9)
        assert b.station_m == pytest.approx(a.station_m, abs=1e-7)


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_centerline_is_tangent_throughout_and_bends_hold_all_its_turning(seed: int) -> None:
    reading = read(draw_route(route_of(seed, replace(MIXED, touching=0.4))))
    assert reading.centerline.corners() == ()
    arcs = [s for s in reading.centerline.segments if isinstance(s, Arc)]
    total = sum(arc.angle_rad for arc in arcs)
    assert sum(bend.angle_rad for bend in reading.bends) == pytest.approx(total, abs=1e-9)
    assert list(reading.vertex_station_m) == sorted(reading.vertex_station_m)
