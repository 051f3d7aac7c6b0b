"""Friction that falls where a bend presses hard: by hand, by small steps, and as a law."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cosh, exp, log, pi, sinh, sqrt

import numpy as np
import pytest
from pull_jobs import job_with, raceway_of, run_with, stated_conductor
from pull_routes import random_route, route

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc
from analyzer.job.settings import Arrangement, Friction, Job, Passage, SidewallFriction
from analyzer.pulling.pressed_arc import trace_pressed_arc
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import Direction, Pull
from analyzer.pulling.stretches import ArcShape
from analyzer.pulling.string_model import ArcPiece, pieces_between
from analyzer.route.legs import split_into_legs

AHEAD, LEFT, DOWN, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)
BY_WALL = SidewallFriction(20.0, 0.5)


def through(
    line: Centerline,
    setting: SidewallFriction | None = BY_WALL,
    direction: Direction = Direction.FORWARD,
    friction: tuple[float, float, float] | float = 0.4,
    **pull: object,
) -> Pull:
    job = job_with(friction=friction, friction_by_sidewall=setting, **pull)
    return pull_through(run_with(line), job, direction)


def turned(tension: float, k: float, angle: float, heavy: float) -> float:
    """Level bend, published form."""
    return tension * cosh(k * angle) + sqrt(tension**2 + heavy**2) * sinh(k * angle)


def test_level_bend_changes_friction_where_it_reaches_the_threshold() -> None:
    # weight 3, R 2: the threshold of 20 is a tension of 40; 20 straight bring 24 at k 0.4
    line = route(AHEAD, [20.0, (2.0, pi / 2, LEFT), 5.0])
    # asinh form of the level bend: T = wR sinh(asinh(T1/wR) + k a), solved for the angle by hand
    reached = (np.arcsinh(40.0 / 6.0) - np.arcsinh(24.0 / 6.0)) / 0.4
    assert 0.0 < reached < pi / 2
    by_hand = turned(40.0, 0.2, pi / 2 - reached, 6.0) + 3.0 * 0.4 * 5.0
    found = through(line)
    assert found.expected.exit_tension_n == pytest.approx(by_hand, rel=1e-13)
    # the profile has the place itself
    places = dict(zip(found.profile.station_m, found.profile.tension_n, strict=True))
    assert places[min(places, key=lambda s: abs(s - (20.0 + 2.0 * reached)))] == 40.0


def test_each_friction_of_the_band_keeps_its_part() -> None:
    line = route(AHEAD, [20.0, (2.0, pi / 2, LEFT), 5.0])
    band = through(line, friction=(0.2, 0.4, 0.6), feed_tension_n=30.0)
    for figures, friction in ((band.low, 0.2), (band.expected, 0.4), (band.high, 0.6)):
        alone = through(line, friction=friction, feed_tension_n=30.0).expected
        assert figures.exit_tension_n == alone.exit_tension_n
        assert figures.max_sidewall_n_per_m == alone.max_sidewall_n_per_m


def test_bend_that_presses_all_along_has_the_smaller_friction_alone() -> None:
    line = route(AHEAD, [(2.0, pi / 2, LEFT)])
    found = through(line, feed_tension_n=50.0)
    assert found.expected.exit_tension_n == pytest.approx(turned(50.0, 0.2, pi / 2, 6.0), rel=1e-14)


def test_below_the_threshold_nothing_changes() -> None:
    line = random_route(np.random.default_rng(5), 4)
    plain = through(line, None)
    same = through(line, SidewallFriction(1e9, 0.5))
    # tilted bends are integrated for three frictions at once or one by one: the sums may differ in
    # their last digits
    assert same.profile.station_m == plain.profile.station_m
    assert same.profile.tension_n == pytest.approx(plain.profile.tension_n, rel=1e-14, abs=1e-12)
    for one, other in (
        (same.low, plain.low),
        (same.expected, plain.expected),
        (same.high, plain.high),
    ):
        assert one.exit_tension_n == pytest.approx(other.exit_tension_n, rel=1e-14)
        assert one.max_sidewall_n_per_m == pytest.approx(other.max_sidewall_n_per_m, rel=1e-14)


def test_pressure_counts_as_reports_give_it() -> None:
    # three in a triangle: pressure wf T/(2R), so the threshold is reached at T = 2 R p / wf
    job = job_with(
        conductors=[(3, stated_conductor(1.0, 41.3e-3))],
        raceway=raceway_of(154e-3),
        friction=0.5,
        arrangement=Arrangement.TRIANGULAR,
        friction_by_sidewall=BY_WALL,
        feed_tension_n=20.0,
    )
    ratio = 41.3 / (154.0 - 41.3)
    factor = 1.0 / sqrt(1.0 - ratio**2)
    line = route(AHEAD, [(1.5, 2.0, LEFT)])
    found = pull_through(run_with(line), job, Direction.FORWARD).expected
    k, heavy = 0.5 * factor, 3.0 * 1.5
    limit = 2.0 * 1.5 * 20.0 / factor
    reached = (np.arcsinh(limit / heavy) - np.arcsinh(20.0 / heavy)) / k
    by_hand = turned(limit, k / 2.0, 2.0 - reached, heavy)
    assert found.exit_tension_n == pytest.approx(by_hand, rel=1e-13)


def test_straights_corners_and_dry_bends_keep_their_friction() -> None:
    straight = route(AHEAD, [100.0, ("corner", LEFT), 10.0])
    assert through(straight).expected == through(straight, None).expected
    bend = route(AHEAD, [50.0, (2.0, pi / 2, LEFT), 5.0])
    dry = {"lubricant_reach_m": 40.0, "dry_friction": 0.7}
    assert through(bend, **dry).expected == through(bend, None, **dry).expected


def test_held_back_every_bend_and_corner_has_the_smaller_friction() -> None:
    # 20 level, bend down R 2, 100 drop: hold-back at k 0.1 in the bend and 0.2 on the straight
    line = route(AHEAD, [20.0, (2.0, pi / 2, DOWN), 100.0])
    found = through(line, SidewallFriction(1e9, 0.5), friction=(0.2, 0.35, 0.5))
    # up the drop without friction 300; back through the top bend at k 0.1 by small steps
    tension, steps = 300.0, 200_000
    for i in range(steps):
        slope = pi / 2 * (1.0 - (i + 0.5) / steps)
        heavy = 6.0
        gain = heavy * np.sin(slope) - 0.1 * abs(tension + heavy * np.cos(slope))
        tension += gain * (pi / 2 / steps)
    assert found.braked.hold_back_n == pytest.approx(tension - 3.0 * 0.2 * 20.0, rel=1e-5)
    corner = route(AHEAD, [20.0, ("corner", DOWN), 100.0])
    held = through(corner, BY_WALL, friction=(0.2, 0.35, 0.5))
    by_hand = 300.0 * exp(-0.1 * pi / 2) - 3.0 * 0.2 * 20.0
    assert held.braked.hold_back_n == pytest.approx(by_hand, rel=1e-13)


def small_steps(arc: Arc, weight: float, tension: float, k: float, part: float, limit: float):
    """Exit tension by many small steps, the friction of each chosen by its own pressure."""
    steps = 40_000
    length = arc.length_m / steps
    stations = (np.arange(steps) + 0.5) * length
    tangents = np.asarray(arc.tangents_at(stations))
    normals = np.cross(np.array(arc.axis), tangents)
    up = np.array(UP)
    across = weight * (up - (tangents @ up)[:, None] * tangents)
    rows = zip(
        (weight * tangents[:, 2]).tolist(),
        (normals * across).sum(axis=1).tolist(),
        (across * across).sum(axis=1).tolist(),
        strict=True,
    )
    for along, inward, heavy in rows:
        thrust = tension / arc.radius_m
        pressing = sqrt(max(thrust * thrust - 2.0 * thrust * inward + heavy, 0.0))
        used = k * part if thrust > limit else k
        tension = max(tension + (along + used * pressing) * length, 0.0)
    return tension


@pytest.mark.parametrize("seed", range(12))
def test_any_arc_agrees_with_small_steps(seed: int) -> None:
    rng = np.random.default_rng(seed)
    line = random_route(rng, 1, radii=(0.5, 4.0))
    arc = next(s for s in line.segments if isinstance(s, Arc))
    alone = Centerline((arc,))
    limit = 20.0
    start = float(limit * arc.radius_m * rng.uniform(0.6, 1.5))
    found = through(alone, feed_tension_n=start, friction=0.4).expected.exit_tension_n
    stepped = small_steps(arc, 3.0, start, 0.4, 0.5, limit)
    # Euler steps of 1/40000 of the arc, and a friction that flips on every step while held
    assert found == pytest.approx(stepped, abs=2e-4 * max(found, start, 6.0))


def shape_going_down(angle: float) -> ArcShape:
    """A top bend from level to falling, in a vertical plane, radius 2."""
    (piece,) = pieces_between(route(AHEAD, [(2.0, angle, DOWN)]), 0.0, 2.0 * angle)
    assert isinstance(piece, ArcPiece)
    return piece.shape


def test_on_the_way_down_the_tension_may_stay_at_the_threshold() -> None:
    # w R = 60, k 0.4 / 0.1, threshold tension 80: k 0.4 lifts it, k 0.1 lets it fall, for a while
    parts = trace_pressed_arc(shape_going_down(pi / 2), 30.0, 80.0, 0.4, 0.1, 80.0)
    held = [part for part in parts if part[2][0].form.tension_at(0.1) == 80.0]
    assert len(held) == 1
    begin, end, _ = held[0]
    for place in np.linspace(begin + 1e-6, end - 1e-6, 50).tolist():
        falling, bearing = -60.0 * np.sin(place), 80.0 + 60.0 * np.cos(place)
        assert falling + 0.4 * bearing >= 0.0 >= falling + 0.1 * bearing
    assert [part[0] for part in parts[1:]] == [part[1] for part in parts[:-1]]
    assert parts[-1][2][-1].exit_tension_n < 80.0


def test_more_tension_going_in_never_gives_less_coming_out() -> None:
    rng = np.random.default_rng(11)
    for _ in range(20):
        line = random_route(rng, 2, radii=(0.5, 4.0))
        exits = [
            through(line, feed_tension_n=feed, friction=0.5).expected.exit_tension_n
            for feed in np.linspace(0.0, 120.0, 9).tolist()
        ]
        room = 1e-9 * max(*exits, 3.0)
        assert all(b >= a - room for a, b in pairwise(exits)), line
        assert all(
            through(line, None, feed_tension_n=feed, friction=0.5).expected.exit_tension_n
            >= value - room
            for feed, value in ((0.0, exits[0]), (120.0, exits[-1]))
        )


def test_legs_passed_through_give_the_whole_run() -> None:
    line = random_route(np.random.default_rng(3), 4, radii=(0.5, 3.0))
    job: Job = job_with(friction=0.4, friction_by_sidewall=BY_WALL)
    # a box in the middle of the second bend
    bends = [i for i, s in enumerate(line.segments) if isinstance(s, Arc)]
    middle = line.stations_m[bends[1]] + 0.5 * line.segments[bends[1]].length_m
    run = run_with(line, [(middle, Passage.THROUGH)])
    for direction in Direction:
        legs = pull_legs(run, split_into_legs(run), job, direction)
        whole = pull_through(run, job, direction)
        last = legs[-1] if direction is Direction.FORWARD else legs[0]
        assert last.expected.exit_tension_n == pytest.approx(
            whole.expected.exit_tension_n, rel=1e-10
        )


def test_weightless_bend_by_the_capstan_equation() -> None:
    job = job_with(
        conductors=[(1, stated_conductor(1e-12, 0.01))],
        friction=0.5,
        friction_by_sidewall=BY_WALL,
        feed_tension_n=10.0,
    )
    line = route(AHEAD, [(1.0, pi, LEFT)])
    found = pull_through(run_with(line), job, Direction.FORWARD).expected.exit_tension_n
    reached = log(20.0 / 10.0) / 0.5
    assert found == pytest.approx(20.0 * exp(0.25 * (pi - reached)), rel=1e-9)
    single = replace(job, pull=replace(job.pull, friction=Friction(0.1, 0.1, 0.1)))
    below = pull_through(run_with(line), single, Direction.FORWARD).expected.exit_tension_n
    assert below == pytest.approx(10.0 * exp(0.1 * pi), rel=1e-9)
