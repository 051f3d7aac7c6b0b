"""Laws that every pull obeys, on random routes of straights and arcs."""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi, sin

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pull_jobs import job_with, run_with
from pull_routes import random_route, route

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Segment, Straight
from analyzer.job.settings import Passage
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import Direction
from analyzer.pulling.string_model import StringPull, pieces_between, pull_string
from analyzer.route.legs import split_into_legs

SEEDS = st.integers(0, 2**32 - 1)
FRICTIONS = st.floats(0.0, 1.0)
FEEDS = st.one_of(st.just(0.0), st.floats(0.0, 500.0))
WEIGHTS = st.floats(0.5, 40.0)
LAW = settings(max_examples=40, deadline=None, derandomize=True)


def routes(seed: int, bends: int = 3) -> Centerline:
    return random_route(np.random.default_rng(seed), bends)


def pull(centerline: Centerline, weight: float, k: float, feed: float) -> StringPull:
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    return pull_string(pieces, weight, [k], feed)[0]


def scale_of(found: StringPull, weight: float) -> float:
    return max(found.greatest()[0], weight * 1.0)


def moved(centerline: Centerline, turn: float, shift: tuple[float, float, float]) -> Centerline:
    c, s = cos(turn), sin(turn)

    def spin(v):
        return (c * v[0] - s * v[1], s * v[0] + c * v[1], v[2])

    def place(p):
        return tuple(a + b for a, b in zip(spin(p), shift, strict=True))

    segments: list[Segment] = []
    for part in centerline.segments:
        if isinstance(part, Arc):
            segments.append(
                Arc(place(part.start_m), place(part.center_m), spin(part.axis), part.angle_rad)
            )
        else:
            segments.append(Straight(place(part.start_m), place(part.end_m)))
    return Centerline(tuple(segments))


@LAW
@given(SEEDS, WEIGHTS, FRICTIONS, FEEDS, st.floats(-pi, pi), st.floats(-50.0, 50.0))
def test_turning_about_z_and_moving_change_nothing(seed, w, k, feed, turn, shift) -> None:
    centerline = routes(seed)
    one = pull(centerline, w, k, feed)
    other = pull(moved(centerline, turn, (shift, -shift, 0.5 * shift)), w, k, feed)
    # moving rounds coordinates of 100 m to 1e-14 m, which a bend of 0.2 m sees as 1e-13 rad
    allowance = 1e-11 * scale_of(one, w)
    assert abs(one.exit_tension_n - other.exit_tension_n) <= allowance
    assert abs(one.greatest()[0] - other.greatest()[0]) <= allowance


@LAW
@given(SEEDS, WEIGHTS, FRICTIONS, FEEDS, st.floats(0.02, 0.98))
def test_splitting_a_segment_changes_nothing(seed, w, k, feed, part) -> None:
    centerline = routes(seed)
    cut: list[Segment] = []
    for segment in centerline.segments:
        middle = part * segment.length_m
        cut += [segment.part(0.0, middle), segment.part(middle, segment.length_m)]
    one, other = pull(centerline, w, k, feed), pull(Centerline(tuple(cut)), w, k, feed)
    allowance = 1e-11 * scale_of(one, w)
    assert abs(one.exit_tension_n - other.exit_tension_n) <= allowance
    assert abs(one.greatest()[0] - other.greatest()[0]) <= allowance


@LAW
@given(SEEDS, WEIGHTS, st.floats(0.0, 2000.0))
def test_zero_friction_carries_the_weight_alone(seed, w, feed) -> None:
    centerline = routes(seed)
    stations = np.linspace(0.0, centerline.length_m, 60)
    z = centerline.points_at(stations)[:, 2]
    expected = feed + w * (z - z[0])
    assume(expected.min() > 0.05 * w * centerline.length_m)
    found = np.array(pull(centerline, w, 0.0, feed).tensions_at(stations))
    assert np.abs(found - expected).max() <= 1e-11 * max(expected.max(), w)


@LAW
@given(SEEDS, WEIGHTS, st.lists(FRICTIONS, min_size=2, max_size=4), FEEDS)
def test_more_friction_never_lowers_tension_anywhere(seed, w, frictions, feed) -> None:
    centerline = routes(seed)
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    pulls = pull_string(pieces, w, sorted(frictions), feed)
    stations = np.linspace(0.0, centerline.length_m, 40)
    for less, more in pairwise(pulls):
        low, high = (np.array(item.tensions_at(stations)) for item in (less, more))
        assert (high - low >= -1e-12 * scale_of(more, w)).all()


@LAW
@given(SEEDS, WEIGHTS, FRICTIONS, st.lists(FEEDS, min_size=2, max_size=4))
def test_more_feed_tension_never_lowers_tension_anywhere(seed, w, k, feeds) -> None:
    centerline = routes(seed)
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    pulls = pull_string(pieces, w, [k] * len(feeds), sorted(feeds))
    stations = np.linspace(0.0, centerline.length_m, 40)
    for less, more in pairwise(pulls):
        low, high = (np.array(item.tensions_at(stations)) for item in (less, more))
        assert (high - low >= -1e-12 * scale_of(more, w)).all()


def climbing_route(seed: int) -> Centerline:
    """Level bends, level and rising straights (between corners): nothing falls."""
    rng = np.random.default_rng(seed)
    heading, parts = float(rng.uniform(0.0, 2.0 * pi)), []
    first = (cos(heading), sin(heading), 0.0)
    for _ in range(4):
        parts.append(float(rng.uniform(0.5, 20.0)))
        side, turn = float(rng.choice([-1.0, 1.0])), float(rng.uniform(0.1, pi / 2))
        toward = (-side * sin(heading), side * cos(heading), 0.0)
        parts.append((float(rng.uniform(0.2, 20.0)), turn, toward))
        heading += side * turn
        ahead, rise = (cos(heading), sin(heading)), float(rng.uniform(0.0, 3.0))
        parts += [2.0, ("corner", (*ahead, rise)), 3.0, ("corner", (*ahead, 0.0))]
    parts.append(float(rng.uniform(0.5, 20.0)))
    return route(first, parts)


@LAW
@given(SEEDS, FRICTIONS, FEEDS, st.lists(WEIGHTS, min_size=2, max_size=3))
def test_more_weight_never_lowers_tension_where_nothing_falls(seed, k, feed, weights) -> None:
    centerline = climbing_route(seed)
    stations = np.linspace(0.0, centerline.length_m, 40)
    rows = [np.array(pull(centerline, w, k, feed).tensions_at(stations)) for w in sorted(weights)]
    for low, high in pairwise(rows):
        assert (high - low >= -1e-12 * max(high.max(), 1.0)).all()


@LAW
@given(SEEDS, WEIGHTS, FRICTIONS, FEEDS)
def test_reversing_twice_is_identity(seed, w, k, feed) -> None:
    centerline = routes(seed)
    again = centerline.reversed().reversed()
    one, other = pull(centerline, w, k, feed), pull(again, w, k, feed)
    assert abs(one.exit_tension_n - other.exit_tension_n) <= 1e-11 * scale_of(one, w)


@LAW
@given(SEEDS, FRICTIONS, FEEDS)
def test_reverse_pull_is_the_forward_pull_of_the_reversed_run(seed, k, feed) -> None:
    centerline = routes(seed)
    length = centerline.length_m
    boxes = [(0.4 * length, Passage.THROUGH), (0.7 * length, Passage.REFEED)]
    turned = [(length - station, passage) for station, passage in reversed(boxes)]
    job = job_with(friction=(0.8 * k, k, k), feed_tension_n=feed)
    run, back = run_with(centerline, boxes), run_with(centerline.reversed(), turned)
    one = pull_legs(run, split_into_legs(run), job, Direction.REVERSE)
    other = pull_legs(back, split_into_legs(back), job, Direction.FORWARD)
    scale = max(3.0, *(leg.high.max_tension_n for leg in one))
    for mine, theirs in zip(one, reversed(other), strict=True):
        for name in ("exit_tension_n", "max_tension_n", "max_sidewall_n_per_m"):
            for figures in ("low", "expected", "high"):
                a, b = (getattr(getattr(pull, figures), name) for pull in (mine, theirs))
                assert abs(a - b) <= 1e-10 * scale
        assert abs(mine.braked.hold_back_n - theirs.braked.hold_back_n) <= 1e-11 * scale
        assert abs(mine.braked.max_tension_n - theirs.braked.max_tension_n) <= 1e-11 * scale


@LAW
@given(SEEDS, WEIGHTS, FEEDS)
def test_pulled_tension_is_never_negative_and_profile_holds_the_greatest(seed, w, feed) -> None:
    centerline = routes(seed)
    found = pull(centerline, w, 0.2, feed)
    tensions = [point.tension_n for point in found.profile()]
    assert min(tensions) >= 0.0
    assert max(tensions) == found.greatest()[0]


@LAW
@given(SEEDS, st.floats(0.0, 1.0))
def test_hold_back_only_where_the_string_would_run(seed, k) -> None:
    centerline = routes(seed)
    held = pull_through(run_with(centerline), job_with(friction=k), Direction.FORWARD).braked
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    # what the brake holds, fed in, keeps the string from running anywhere before the worst head
    assert held.hold_back_n >= 0.0
    assert held.max_tension_n >= held.hold_back_n
    (driven,) = pull_string(pieces, 3.0, [k], 0.0)
    if not driven.slack():
        assert held.hold_back_n == 0.0
