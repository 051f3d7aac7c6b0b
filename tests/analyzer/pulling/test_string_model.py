"""The string model against pinned values, an independent integration, and itself.

One long file, because all tests share the ways of pulling made at its top.
"""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from math import atan, cos, degrees, hypot, pi, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest
from pull_routes import random_route, reference_ends, route, split_route

from analyzer.errors import InputError, SolverError
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, cross, unit
from analyzer.pulling.stretches import ArcShape, Slack, trace_arc
from analyzer.pulling.string_model import (
    StringPull,
    pieces_between,
    pull_string,
    reversed_pieces,
    split_piece,
)

# Pinned values of equation (1): w 3, k 0.35, R 2, T1 20 unless said; derived and verified by an
# independent integration when the mechanics of this project were written. Printed to 9 decimals.
W, K, R, T1 = 3.0, 0.35, 2.0, 20.0
PINNED = 6e-10
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
AHEAD = (1.0, 0.0, 0.0)


def pull(centerline: Centerline, feed: float = T1, k: float = K, w: float = W) -> StringPull:
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    return pull_string(pieces, w, [k], feed)[0]


def exit_of(direction, parts, feed: float = T1) -> float:
    return pull(route(direction, parts), feed).exit_tension_n


def slope(degree: float) -> tuple[float, float, float]:
    return (cos(radians(degree)), 0.0, sin(radians(degree)))


@pytest.mark.parametrize(
    ("direction", "length", "leaves"),
    [
        (AHEAD, 50.0, 72.5),
        (UP, 30.0, 110.0),
        (slope(30.0), 40.0, 116.373066959),
        (slope(-15.0), 40.0, 29.510599292),
    ],
)
def test_straight(direction, length: float, leaves: float) -> None:
    assert exit_of(direction, [length]) == pytest.approx(leaves, abs=PINNED)


def test_drop_falls_slack_where_its_weight_has_eaten_the_tension() -> None:
    found = pull(route(DOWN, [30.0]))
    assert found.exit_tension_n == 0.0
    assert found.slack() == ((20.0 / 3.0, 30.0),)


@pytest.mark.parametrize(
    ("turn", "leaves"), [(30.0, 24.184808500), (90.0, 35.166293076), (180.0, 61.232273599)]
)
def test_level_bend(turn: float, leaves: float) -> None:
    bend = (R, radians(turn), (0.0, 1.0, 0.0))
    assert exit_of(AHEAD, [bend]) == pytest.approx(leaves, abs=PINNED)


def test_level_bend_without_feed_tension() -> None:
    bend = (R, pi / 2, (0.0, 1.0, 0.0))
    assert exit_of(AHEAD, [bend], 0.0) == pytest.approx(3.467376063, abs=PINNED)


def test_of_equal_bearings_the_first_or_the_last_is_told() -> None:
    """Without weight and friction 100 N bear on both bends alike, from 2 m to 5 + π."""
    level = (1.0, pi / 2, (0.0, 1.0, 0.0)), (1.0, pi / 2, (1.0, 0.0, 0.0))
    found = pull(route(AHEAD, [2.0, level[0], 3.0, level[1], 1.0]), 100.0, 0.0, 0.0)
    assert found.greatest_bearing() == pytest.approx((100.0, 2.0))
    last = found.greatest_bearing(prefer_last=True)
    assert last == pytest.approx((100.0, 5.0 + pi))


def test_greatest_tension_inside_a_bend_is_found() -> None:
    found = pull(route(AHEAD, [(R, pi / 2, DOWN)]), 3.0)
    assert found.exit_tension_n == pytest.approx(0.812365, abs=5e-7)
    tension, station = found.greatest()
    assert tension == pytest.approx(3.905188, abs=5e-7)
    # printed 31.7066; at a flat maximum a tension good to 1e-11 fixes the angle to 3e-4 only.
    # the root of dT/ds lies at 31.70636
    assert degrees(station / R) == pytest.approx(31.7066, abs=3e-4)
    assert degrees(station / R) == pytest.approx(31.70636, abs=5e-6)
    bearing = found.greatest_bearing()
    assert bearing == (tension / R, station)


@pytest.mark.parametrize(
    ("direction", "radius", "turn", "toward", "feed", "leaves"),
    [
        (UP, R, 90.0, AHEAD, T1, 45.831601434),
        (AHEAD, R, 90.0, DOWN, T1, 30.271147116),
        (AHEAD, R, 90.0, UP, T1, 39.043633537),
        (AHEAD, 20.0, 90.0, UP, T1, 99.159829812),
        (DOWN, R, 90.0, AHEAD, 100.0, 162.112740525),
        (slope(-45.0), 20.0, 45.0, UP, 80.0, 67.238003095),
    ],
)
def test_vertical_bend(direction, radius, turn, toward, feed, leaves) -> None:
    bend = (radius, radians(turn), toward)
    assert exit_of(direction, [bend], feed) == pytest.approx(leaves, abs=PINNED)


def test_contact_side_changes_once_on_the_wide_bottom_bend() -> None:
    found = pull(route(AHEAD, [(20.0, pi / 2, UP)]))
    outer, inner = (stretch for _, stretch in found.stretches)
    place = outer.end
    assert outer.exit_tension_n == pytest.approx(W * 20.0 * cos(place), rel=1e-12)
    assert inner.entry_tension_n == outer.exit_tension_n


@pytest.mark.parametrize(("feed", "leaves"), [(0.0, 1.334), (0.5, 1.828)])
def test_bottom_bend_below_the_range_of_the_closed_form(feed: float, leaves: float) -> None:
    # in units of w R, printed to three decimals
    found = pull(route(AHEAD, [(1.0, pi / 2, UP)]), feed * W)
    assert found.exit_tension_n / W == pytest.approx(leaves, abs=5e-4)


@pytest.mark.parametrize("parts", [(60.0,), (25.0, 35.0)])
@pytest.mark.parametrize("turn", [0.0, 77.0])
def test_tilted_bend_whole_split_or_turned_about_z(parts, turn: float) -> None:
    c, s, q = cos(radians(turn)), sin(radians(turn)), sqrt(0.5)
    direction, toward = np.array([c, s, 0.0]), np.array([-s * q, c * q, q])
    bends = []
    for degree in parts:
        a = radians(degree)
        bends.append((R, a, tuple(toward)))
        direction, toward = (
            cos(a) * direction + sin(a) * toward,
            cos(a) * toward - sin(a) * direction,
        )
    assert exit_of((c, s, 0.0), bends) == pytest.approx(29.887850468, abs=PINNED)


def test_drop_between_two_levels() -> None:
    found = pull(route(DOWN, [10.0, (R, pi / 2, AHEAD), 30.0, (R, pi / 2, UP), 10.0]), 5.0)
    ends = {index: stretch.exit_tension_n for index, stretch in found.stretches}
    values = [0.0, 0.343220520, 31.843220520, 59.566389352, 89.566389352]
    assert [ends[index] for index in range(5)] == pytest.approx(values, abs=PINNED)
    ((low, high),) = found.slack()
    assert low == pytest.approx(5.0 / 3.0, rel=1e-15)
    # slack ends where the slope is as flat as the friction can hold
    assert high == pytest.approx(10.0 + R * (pi / 2 - atan(K)), rel=1e-14)


DERIVED = json.loads((Path(__file__).parents[2] / "published" / "examples.json").read_text())[
    "derived_benchmarks"
]


@pytest.mark.parametrize("case", DERIVED, ids=lambda case: case["id"])
def test_derived_benchmarks(case: dict) -> None:
    """Closed forms and an integration that lets the tension go negative, to six decimals."""
    given = case["inputs"]
    w, r, k, feed = given["W"], given["R"], given["k"], given["T_in"]
    if case["case"] == "horizontal":
        direction, toward, angle = AHEAD, (0.0, 1.0, 0.0), radians(given["angle_deg"])
    else:
        start, end = radians(given["phi_in_deg"]), radians(given["phi_out_deg"])
        sign = 1.0 if end > start else -1.0
        direction, angle = (cos(start), 0.0, sin(start)), abs(end - start)
        toward = (-sign * sin(start), 0.0, sign * cos(start))
    found = pull(route(direction, [(r, angle, toward)]), feed, k, w).exit_tension_n
    if case["integrated"] < 0.0:
        # it runs by itself; where the slope flattens at the end it takes up tension again
        held = case["id"].startswith("concave-down")
        assert (found > 0.0) == held
        assert found < w * r
    else:
        assert found == pytest.approx(case["integrated"], abs=6e-7)
    if case["expect"] == "agree":
        assert found == pytest.approx(case["closed_form"], abs=6e-7)


def both_ends(found: StringPull) -> list[float]:
    ends = {index: stretch.exit_tension_n for index, stretch in found.stretches}
    return [ends[index] for index in sorted(ends)]


@pytest.mark.parametrize("seed", range(24))
def test_any_route_agrees_with_an_independent_integration(seed: int) -> None:
    rng = np.random.default_rng(seed)
    centerline = random_route(rng, int(rng.integers(1, 4)))
    w, feed = float(rng.uniform(1.0, 50.0)), float(rng.choice([0.0, rng.uniform(0.0, 400.0)]))
    k = -0.3 * rng.uniform() if seed % 6 == 5 else float(rng.uniform(0.05, 1.0))
    found = pull(centerline, feed, k, w)
    scale = max(found.greatest()[0], w * 1.0)
    expected = reference_ends(centerline, w, k, feed)
    # the stated 1e-9; the reference itself is good to some 1e-11
    assert both_ends(found) == pytest.approx(expected, rel=0.0, abs=1e-10 * scale)


@pytest.mark.parametrize("seed", range(40))
def test_splitting_and_halving_move_nothing(seed: int) -> None:
    rng = np.random.default_rng(1000 + seed)
    centerline = random_route(rng, 4)
    w, feed = float(rng.uniform(1.0, 50.0)), float(rng.choice([0.0, rng.uniform(0.0, 400.0)]))
    k = float(rng.uniform(0.0, 1.0))
    found = pull(centerline, feed, k, w)
    scale = max(found.greatest()[0], w * 1.0)
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    (halved,) = pull_string(pieces, w, [k], feed, max_panel_rad=0.1)
    split = pull(split_route(rng, centerline, 7), feed, k, w)
    for other in (halved, split):
        assert abs(other.exit_tension_n - found.exit_tension_n) <= 1e-12 * scale
        assert abs(other.greatest()[0] - found.greatest()[0]) <= 1e-12 * scale
        assert abs(other.greatest_bearing()[0] - found.greatest_bearing()[0]) <= 1e-11 * scale / 0.2
    assert both_ends(halved) == pytest.approx(both_ends(found), rel=0.0, abs=1e-12 * scale)
    stations = np.linspace(0.0, centerline.length_m, 23)
    assert split.tensions_at(stations) == pytest.approx(
        found.tensions_at(stations), rel=0.0, abs=1e-11 * scale
    )


@pytest.mark.parametrize("tilt", [1e-3, 1e-6, 1e-8, 1e-9, 1.01e-10, 0.99e-10, 0.0])
@pytest.mark.parametrize("feed", [0.0, 0.5, 1.0, 1.7])
@pytest.mark.parametrize("phase", [-pi / 2, -0.7, 0.0, 0.3, pi])
def test_nearly_vertical_planes_run_into_the_vertical_one(tilt, feed, phase) -> None:
    across = sqrt(1.0 - tilt * tilt)
    near = trace_arc(ArcShape(1.4, 1.0, phase, across, tilt), 1.0, [feed], [0.4])[0][-1]
    exact = trace_arc(ArcShape(1.4, 1.0, phase, 1.0, 0.0), 1.0, [feed], [0.4])[0][-1]
    fine = trace_arc(ArcShape(1.4, 1.0, phase, across, tilt), 1.0, [feed], [0.4], 0.05)[0][-1]
    # a string without bearing over a level tangent moves by k b^1.5, elsewhere by b²
    assert abs(near.exit_tension_n - exact.exit_tension_n) <= 8.0 * tilt**1.5 + 2e-15
    assert abs(near.exit_tension_n - fine.exit_tension_n) <= 2e-14


@pytest.mark.parametrize("rise", [1e-3, 1e-8, 1e-14, 0.99e-15, 0.0])
def test_nearly_level_planes_run_into_the_level_one(rise: float) -> None:
    shape = ArcShape(1.4, 1.0, 0.2, rise, sqrt(1.0 - rise * rise))
    near = trace_arc(shape, 1.0, [0.5], [0.4])[0][-1].exit_tension_n
    level = trace_arc(ArcShape(1.4, 1.0, 0.2, 0.0, 1.0), 1.0, [0.5], [0.4])[0][-1].exit_tension_n
    assert abs(near - level) <= 3.0 * rise + 2e-15


@pytest.mark.parametrize("radius", [1e3, 1e5, 1e7])
@pytest.mark.parametrize("toward", [UP, DOWN, (0.0, 0.3, 1.0), (0.0, 1.0, 0.0)])
def test_flat_arcs_of_large_radius_keep_their_digits(radius: float, toward) -> None:
    # a flat arc is nearly a straight: T1 + w L (sin p + k cos p), p within L/R of level
    found = exit_of(AHEAD, [(radius, 30.0 / radius, toward)])
    rise = (0.5 * 30.0**2 / radius) * toward[2] / hypot(*toward)
    assert found == pytest.approx(T1 + W * (K * 30.0 + rise), abs=60.0 * (30.0 / radius) + 1e-9)
    shape = ArcShape(30.0 / radius, radius, 0.0, 1.0, 0.0)
    half = replace(shape, angle_rad=15.0 / radius)
    rest = replace(half, phase_rad=15.0 / radius)
    whole = trace_arc(shape, W, [T1], [K])[0][-1].exit_tension_n
    first = trace_arc(half, W, [T1], [K])[0][-1].exit_tension_n
    assert trace_arc(rest, W, [first], [K])[0][-1].exit_tension_n == pytest.approx(whole, rel=1e-13)


@pytest.mark.parametrize("toward", [UP, DOWN, (0.0, 1.0, 0.0), (0.0, 1.0, 1.0)])
def test_without_weight_every_bend_is_a_capstan(toward) -> None:
    found = pull(route(AHEAD, [5.0, (R, 1.2, toward), 5.0]), T1, K, 0.0)
    assert found.exit_tension_n == pytest.approx(T1 * np.exp(K * 1.2), rel=1e-14)
    assert found.slack() == ()


def test_corner_multiplies_and_has_no_weight() -> None:
    centerline = route(AHEAD, [10.0, ("corner", (0.0, 1.0, 0.0)), 10.0])
    found = pull(centerline)
    before = T1 + W * K * 10.0
    after = before * np.exp(K * pi / 2)
    assert found.corners == ((before, pytest.approx(after, rel=1e-15)),)
    assert found.exit_tension_n == pytest.approx(after + W * K * 10.0, rel=1e-15)
    profile = [(point.station_m, point.tension_n) for point in found.profile()]
    assert [station for station, _ in profile] == [0.0, 10.0, 10.0, 20.0]
    assert profile[1][1] == before
    assert profile[2][1] == pytest.approx(after)


def test_corners_at_the_ends_of_a_stretch_are_left_out() -> None:
    centerline = route(AHEAD, [10.0, ("corner", (0.0, 1.0, 0.0)), 10.0])
    assert len(pieces_between(centerline, 0.0, 10.0)) == 1
    assert len(pieces_between(centerline, 10.0, 20.0)) == 1
    assert len(pieces_between(centerline, 0.0, 20.0)) == 3


@pytest.mark.parametrize("seed", range(6))
def test_many_frictions_in_one_call_equal_single_calls(seed: int) -> None:
    rng = np.random.default_rng(2000 + seed)
    centerline = random_route(rng, 4)
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    k = np.linspace(0.0, 1.2, 9)
    feed = rng.uniform(0.0, 100.0, 9)
    together = pull_string(pieces, 7.0, k, feed)
    for index, found in enumerate(together):
        (alone,) = pull_string(pieces, 7.0, [k[index]], feed[index])
        scale = max(alone.greatest()[0], 7.0)
        assert abs(found.exit_tension_n - alone.exit_tension_n) <= 1e-13 * scale
        assert abs(found.greatest()[0] - alone.greatest()[0]) <= 1e-13 * scale


def test_friction_may_differ_from_piece_to_piece() -> None:
    pieces = pieces_between(route(AHEAD, [10.0, (R, 1.0, UP), 10.0]), 0.0, 20.0 + R)
    (mixed,) = pull_string(pieces, W, [[0.1], [0.2], [0.3]], T1)
    tension = T1
    for piece, k in zip(pieces, (0.1, 0.2, 0.3), strict=True):
        tension = pull_string([piece], W, [k], tension)[0].exit_tension_n
    assert mixed.exit_tension_n == tension


@pytest.mark.parametrize("seed", range(12))
def test_greatest_and_tensions_agree_with_fine_sampling(seed: int) -> None:
    rng = np.random.default_rng(3000 + seed)
    centerline = random_route(rng, 3)
    found = pull(centerline, float(rng.uniform(0.0, 60.0)), float(rng.uniform(0.0, 0.5)), 5.0)
    stations = np.linspace(0.0, centerline.length_m, 4001)
    sampled = np.array(found.tensions_at(stations))
    greatest, station = found.greatest()
    assert sampled.max() <= greatest * (1.0 + 1e-13) + 1e-13
    assert sampled.max() >= greatest - 5.0 * centerline.length_m / 4000 * 2.0 * (1 + greatest)
    assert found.tensions_at([station])[0] == pytest.approx(greatest, rel=1e-12, abs=1e-12)
    # between: the same as pulling only so far
    for place in rng.uniform(0.0, centerline.length_m, 4):
        part = pieces_between(centerline, 0.0, float(place))
        (short,) = pull_string(part, 5.0, [_k(found)], found.feed_tension_n)
        assert short.exit_tension_n == pytest.approx(
            found.tensions_at([place])[0], rel=1e-12, abs=1e-12 * max(greatest, 5.0)
        )


def _k(found: StringPull) -> float:
    """Friction of a pull, read back from its first straight."""
    _, first = found.stretches[0]
    piece = found.pieces[0]
    if isinstance(first.form, Slack):
        pytest.skip("starts slack")
    return (first.form.rate / 5.0 - piece.up) / piece.across


def test_profile_gives_both_ends_of_every_segment_and_at_most_five_degrees() -> None:
    centerline = route(AHEAD, [10.0, (R, pi / 2, UP), 5.0, (20.0, pi / 2, AHEAD), 5.0])
    found = pull(centerline, 0.0)
    points = found.profile()
    stations = [point.station_m for point in points]
    assert stations == sorted(stations)
    for joint in centerline.stations_m[1:-1]:
        assert stations.count(joint) == 2
    for before, after in pairwise(points):
        if before.radius_m is not None and before.radius_m == after.radius_m:
            turn = (after.station_m - before.station_m) / before.radius_m
            assert turn <= radians(5.0) * (1.0 + 1e-9)
    greatest, station = found.greatest()
    assert (station, greatest) in [(point.station_m, point.tension_n) for point in points]


def test_profile_holds_contact_change_interior_maximum_and_ends_of_slack() -> None:
    change = pull(route(AHEAD, [(20.0, pi / 2, UP)]))
    assert change.stretches[0][1].end * 20.0 in [p.station_m for p in change.profile()]
    inside = pull(route(AHEAD, [(R, pi / 2, DOWN)]), 3.0)
    tension, station = inside.greatest()
    assert (station, tension) in [(p.station_m, p.tension_n) for p in inside.profile()]
    slack = pull(route(DOWN, [10.0, (R, pi / 2, AHEAD), 5.0]), 5.0)
    stations = [p.station_m for p in slack.profile()]
    for end in slack.slack()[0]:
        assert end in stations


def test_reversed_pieces_twice_are_the_pieces() -> None:
    rng = np.random.default_rng(5)
    centerline = random_route(rng, 4)
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    again = reversed_pieces(reversed_pieces(pieces))
    for one, other in zip(pieces, again, strict=True):
        assert (one.station_m, one.end_station_m) == (other.station_m, other.end_station_m)
    (one,), (other,) = (pull_string(p, W, [K], T1) for p in (pieces, again))
    assert one.exit_tension_n == pytest.approx(other.exit_tension_n, rel=1e-14)


def test_reversed_pieces_are_those_of_the_reversed_centerline() -> None:
    rng = np.random.default_rng(6)
    for _ in range(10):
        centerline = random_route(rng, 4)
        whole = centerline.length_m
        (one,) = pull_string(reversed_pieces(pieces_between(centerline, 0.0, whole)), W, [K], T1)
        other = pull(centerline.reversed())
        scale = max(one.greatest()[0], W)
        assert abs(one.exit_tension_n - other.exit_tension_n) <= 1e-12 * scale
        assert one.greatest()[1] == pytest.approx(whole - other.greatest()[1], abs=1e-6)


def test_split_piece_goes_on_where_it_was_cut() -> None:
    rng = np.random.default_rng(7)
    centerline = random_route(rng, 3)
    for pieces in (
        pieces_between(centerline, 0.0, centerline.length_m),
        reversed_pieces(pieces_between(centerline, 0.0, centerline.length_m)),
    ):
        cut = []
        for piece in pieces:
            middle = 0.3 * piece.station_m + 0.7 * piece.end_station_m
            parts = split_piece(piece, middle)
            assert len(parts) == 2
            assert parts[0].end_station_m == parts[1].station_m == middle
            cut.extend(parts)
        (one,), (other,) = (pull_string(p, W, [K], T1) for p in (pieces, cut))
        assert one.exit_tension_n == pytest.approx(other.exit_tension_n, rel=1e-13)


@pytest.mark.parametrize(
    ("friction", "feed", "weight"),
    [([float("nan")], 1.0, 1.0), ([0.1], -1.0, 1.0), ([0.1], 1.0, -1.0), ([[0.1]], 1.0, 1.0)],
)
def test_impossible_numbers_are_refused(friction, feed: float, weight: float) -> None:
    pieces = pieces_between(route(AHEAD, [1.0, (R, 1.0, UP)]), 0.0, 1.0 + R)
    with pytest.raises(InputError):
        pull_string(pieces, weight, friction, feed)


def test_tension_beyond_any_number_is_an_error_of_ours() -> None:
    coil = [(R, pi, (0.0, 1.0, 0.0)), (R, pi, (0.0, -1.0, 0.0))] * 60
    with pytest.raises(SolverError, match="beyond any number"):
        pull(route(AHEAD, coil), T1, 2.0)
    with pytest.raises(SolverError, match="beyond any number"):
        pull(route(AHEAD, [1.0, ("corner", UP), 1.0]), T1, 1e4)


def test_station_outside_the_pull_is_refused() -> None:
    with pytest.raises(InputError, match="outside"):
        pull(route(AHEAD, [1.0])).tensions_at([2.0])


# The string held back: -k over the reversed pieces. Check values of the project's mechanics,
# printed to two decimals: level 20 ft, 90 down, 100 ft drop, 3 lbf/ft.
def held_back(parts, k: float) -> float:
    centerline = route(AHEAD, parts)
    pieces = reversed_pieces(pieces_between(centerline, 0.0, centerline.length_m))
    return pull_string(pieces, 3.0, [-k], 0.0)[0].exit_tension_n


@pytest.mark.parametrize(
    ("k", "sharp", "bend", "worst"),
    [(0.2, 207.12, 210.97, 214.61), (0.35, 152.12, 154.65, 157.16), (0.5, 106.78, 108.19, 109.93)],
)
def test_hold_back_of_a_drop(k: float, sharp: float, bend: float, worst: float) -> None:
    top, bottom = (2.0, pi / 2, DOWN), (2.0, pi / 2, AHEAD)
    assert held_back([20.0, ("corner", DOWN), 100.0], k) == pytest.approx(sharp, abs=0.005)
    assert held_back([20.0, top, 100.0], k) == pytest.approx(bend, abs=0.005)
    assert held_back([20.0, top, 100.0, bottom, 50.0], k) == pytest.approx(worst, abs=0.005)


@pytest.mark.parametrize("seed", range(8))
def test_farthest_head_gives_the_greatest_over_all_head_positions(seed: int) -> None:
    rng = np.random.default_rng(4000 + seed)
    centerline = random_route(rng, 4)
    whole, k = centerline.length_m, 0.2
    (all_heads,) = pull_string(
        reversed_pieces(pieces_between(centerline, 0.0, whole)), W, [-k], 0.0
    )
    stations = np.linspace(0.0, whole, 37)
    greatest = np.zeros(37)
    heads = np.unique(np.concatenate((np.linspace(0.01, whole, 150), centerline.stations_m[1:])))
    for head in heads:
        pieces = reversed_pieces(pieces_between(centerline, 0.0, float(head)))
        (held,) = pull_string(pieces, W, [-k], 0.0)
        inside = stations <= head
        greatest[inside] = np.maximum(greatest[inside], held.tensions_at(stations[inside]))
    envelope = np.array(all_heads.tensions_at(stations))
    scale = max(all_heads.greatest()[0], W)
    assert (greatest <= envelope + 1e-11 * scale).all()
    assert (greatest >= envelope - 1e-11 * scale).all()


def test_slack_string_without_friction_enters_a_tilted_bend_that_just_begins_to_fall() -> None:
    """The part left to resolve is a sliver of rounding: it must end, and change nothing."""
    axis = unit((0.3, -0.8, 0.5))
    start_tangent = unit(cross((0.0, 0.0, 1.0), axis))  # level at the start
    center = cross(axis, start_tangent)
    arc = Arc((0.0, 0.0, 0.0), center, axis, 1.2)
    for turned in (arc, arc.reversed()):
        pieces = pieces_between(Centerline((turned,)), 0.0, turned.length_m)
        for feed in (0.0, 1e-300, 1e-12):
            (pull,) = pull_string(pieces, 3.0, [0.0], feed)
            rise = turned.end_m[2] - turned.start_m[2]
            assert pull.exit_tension_n == pytest.approx(max(3.0 * rise + feed, 0.0), abs=1e-12)


@pytest.mark.parametrize("tension", [0.0, 1.724949557599783e-29, 1e-18])
def test_bend_held_back_that_starts_slack_but_for_rounding_stays_slack(tension: float) -> None:
    """Its tension is below the rounding of the series that follows: it has no place to end."""
    arc = ArcShape(
        angle_rad=0.24535810933602611,
        radius_m=0.04528052709386788,
        phase_rad=2.8800230010574768,
        in_plane=0.7583848062975485,
        off_plane=0.6518070923034129,
    )
    (stretches,) = trace_arc(arc, 31.347703509119274, [tension], [-0.2])
    places = np.linspace(0.0, arc.angle_rad, 20)
    held = [s.form.tension_at(x) for s in stretches for x in places if s.start <= x <= s.end]
    assert max(held) <= tension + 1e-15
    assert stretches[-1].exit_tension_n == 0.0
