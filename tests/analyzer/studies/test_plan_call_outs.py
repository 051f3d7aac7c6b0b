"""Call-outs are tensions of the analysis; the stop value is the smallest of the limits."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from plan_routes import bent_run, heavy_job, level_bent, three_like_job
from pull_routes import random_route, route

from analyzer.job.settings import Attachment, Friction, Job, Passage, PlanSettings
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.pulls import pull_through
from analyzer.pulling.results import Direction
from analyzer.studies.call_outs import (
    PlaceKind,
    call_outs,
    head_tensions,
    pulls_between,
    stop_values,
)
from analyzer.units import ft, lbf, lbf_per_ft

LEVEL = level_bent([10.0, (0.6, pi / 2), 20.0, (0.6, pi / 3), 15.0])


def profile_at(run, job, direction: Direction, friction: float, station: float) -> float:
    one = replace(job, pull=replace(job.pull, friction=Friction(friction, friction, friction)))
    profile = pull_through(run, one, direction).profile
    near = [
        tension
        for place, tension in zip(profile.station_m, profile.tension_n, strict=True)
        if abs(place - station) < 1e-9
    ]
    return near[0]


@pytest.mark.parametrize("direction", Direction)
def test_head_tensions_are_the_profile_of_the_whole_pull_at_each_friction(direction) -> None:
    rng = np.random.default_rng(7)
    for _ in range(10):
        run = bent_run(random_route(rng, 4))
        job = heavy_job((0.2, 0.3, 0.45), feed_tension_n=200.0)
        stations = list(run.centerline.stations_m[1:-1])
        ends = (run.fittings[0], run.fittings[-1])
        if direction is Direction.REVERSE:
            stations, ends = stations[::-1], ends[::-1]
        for found in head_tensions(run, job, *ends, stations):
            for friction, tension in (
                (0.2, found.low_n),
                (0.3, found.expected_n),
                (0.45, found.high_n),
            ):
                wanted = profile_at(run, job, direction, friction, found.station_m)
                assert tension == pytest.approx(wanted, rel=1e-9, abs=1e-6)


def test_call_outs_stand_at_feed_bends_boxes_and_pull_end() -> None:
    run, job = bent_run(LEVEL, [(20.0, Passage.THROUGH)]), three_like_job()
    rows = call_outs(run, job, conductor_group(job), run.fittings[0], run.fittings[-1], run.bends)
    kinds = [row.kind for row in rows]
    assert kinds == [
        PlaceKind.FEED, PlaceKind.BEND, PlaceKind.FITTING, PlaceKind.BEND, PlaceKind.PULL_END,
    ]  # fmt: skip
    assert [row.away_m for row in rows] == sorted(row.away_m for row in rows)
    assert rows[-1].tension.high_n == pull_through(run, job, Direction.FORWARD).high.exit_tension_n


def test_long_straights_get_stations_of_their_own() -> None:
    run = bent_run(level_bent([40.0]))
    job = replace(heavy_job(), plan=PlanSettings(call_out_every_m=10.0))
    rows = call_outs(run, job, conductor_group(job), run.fittings[0], run.fittings[-1], ())
    assert [row.away_m for row in rows] == pytest.approx([0.0, 10.0, 20.0, 30.0, 40.0])


def test_a_corner_passed_through_counts_in_the_call_out_of_its_box() -> None:
    line = route((1, 0, 0), [10.0, ("corner", (0, 1, 0)), 10.0])
    run, job = bent_run(line, [(10.0, Passage.THROUGH)]), heavy_job(0.35)
    rows = call_outs(run, job, conductor_group(job), run.fittings[0], run.fittings[-1], ())
    behind = 0.35 * job.pulling_weight_n_per_m * 10.0 * np.exp(0.35 * pi / 2)
    # the head is called out 2 mm past the corner
    assert rows[1].tension.high_n == pytest.approx(behind, rel=1e-3)


def test_stop_value_is_the_smallest_of_the_limits() -> None:
    job = three_like_job(
        attachment=Attachment.PULLING_EYE,
        line_working_load_n=lbf(1100.0),
        puller_capacity_n=lbf(2000.0),
    )
    run, group = bent_run(LEVEL), conductor_group(job)
    ends = (run.fittings[0], run.fittings[-1])
    end_of_bends = LEVEL.stations_m[4]
    before, behind, later = stop_values(run, job, group, *ends, [5.0, end_of_bends, 40.0])
    assert (before.code, before.stop_n) == ("line-tension", pytest.approx(lbf(1100.0)))
    in_bend = job.limits.sidewall_pressure_n_per_m * 0.6 / group.sidewall.factor
    assert lbf(1100.0) > in_bend
    assert behind.code == "sidewall"
    assert behind.stop_n == pytest.approx(in_bend)
    # level behind it, the head feels 0.2 of the weight more at the least
    level_m = 40.0 - end_of_bends
    added = 0.2 * job.pulling_weight_n_per_m * level_m
    assert later.stop_n == pytest.approx(in_bend + added)


def test_stop_value_below_a_drop_leaves_room_for_the_weight_above() -> None:
    line = route((1, 0, 0), [10.0, (0.5, pi / 2, (0, 0, -1)), 20.0])
    run = bent_run(line)
    job = heavy_job((0.2, 0.35, 0.5))
    job = replace(job, limits=replace(job.limits, sidewall_pressure_n_per_m=lbf_per_ft(5000.0)))
    group, ends = conductor_group(job), (run.fittings[0], run.fittings[-1])
    at_top, at_foot = stop_values(run, job, group, *ends, [9.0, line.length_m])
    weight = job.pulling_weight_n_per_m
    assert at_top.stop_n == pytest.approx(lbf(1000.0))
    assert at_foot.is_carried
    # the conductors are at their limit where they leave the bend, 20 m above the foot
    assert at_foot.stop_n == pytest.approx(lbf(1000.0) - weight * 20.0)


DROP = route((1, 0, 0), [10.0, (0.5, pi / 2, (0, 0, -1)), 10.0, (0.5, pi / 2, (1, 0, 0)), 20.0])
IN_BEND_N = lbf(600.0)


def drop_job(friction: tuple[float, float, float], **pull: object) -> Job:
    """One conductor of 3 lbf/ft; both bends of DROP bear 600 lbf."""
    job = heavy_job(friction, **pull)
    return replace(job, limits=replace(job.limits, sidewall_pressure_n_per_m=IN_BEND_N / 0.5))


def test_stop_value_rises_again_behind_a_bend_at_the_foot_of_a_drop() -> None:
    run, job = bent_run(DROP), drop_job((0.2, 0.35, 0.5))
    group, ends = conductor_group(job), (run.fittings[0], run.fittings[-1])
    foot = 20.0 + 0.25 * pi
    stops = stop_values(run, job, group, *ends, [foot, foot + 0.25 * pi, DROP.length_m])
    hanging = 10.0 * job.pulling_weight_n_per_m
    # At the foot bend 1 counts, less what hangs. The foot bend takes 502 lbf at 0.2 to
    # 502 e^(0.2 pi/2) = 687 lbf less 5 of weight: above 600, so behind it its own limit counts,
    # and friction of 20 m level at 0.2 adds 0.2 w 20 at least.
    assert [stop.stop_n for stop in stops] == pytest.approx(
        [IN_BEND_N - hanging, IN_BEND_N, IN_BEND_N + 0.4 * hanging]
    )
    at_foot, _, at_end = stops
    assert (at_foot.is_lowered, at_foot.is_raised) == (True, False)
    assert (at_end.is_lowered, at_end.is_raised) == (False, True)
    assert at_end.is_rubbed
    assert not at_foot.is_rubbed


def test_where_the_stop_value_is_lowest_between_places_there_is_a_call_out() -> None:
    run, job = bent_run(DROP), drop_job((0.2, 0.35, 0.5))
    rows = call_outs(run, job, conductor_group(job), run.fittings[0], run.fittings[-1], run.bends)
    (row,) = [row for row in rows if row.kind is PlaceKind.LOW_STOP]
    assert row.station_m == pytest.approx(20.0 + 0.25 * pi)
    assert row.stop.stop_n == pytest.approx(IN_BEND_N - 10.0 * job.pulling_weight_n_per_m)
    assert row.bend == run.bends[1]


def test_no_head_exceeds_the_stop_value_where_one_friction_passes_every_limit() -> None:
    """Fed so that bend 2 carries 99 % of its limit at the one friction of the band."""
    run, job = bent_run(DROP), drop_job((0.2, 0.2, 0.2), feed_tension_n=lbf(376.0))
    pull = pull_through(run, job, Direction.FORWARD)
    shares = {share.code: share.share for share in pull.shares}
    assert 0.98 < shares["sidewall"] < 1.0
    rows = call_outs(run, job, conductor_group(job), run.fittings[0], run.fittings[-1], run.bends)
    lowest = min(row.stop.stop_n or 0.0 for row in rows)
    assert rows[-1].tension.high_n > lowest
    assert not any(row.exceeds_stop for row in rows)


def test_a_stop_value_is_passed_just_where_a_limit_behind_is_at_the_low_friction() -> None:
    """At every place of random routes, at the low friction of the band and any feed tension."""
    rng = np.random.default_rng(5)
    tried = {True: 0, False: 0}
    for _ in range(40):
        run = bent_run(random_route(rng, 3, radii=(0.3, 2.0)))
        band = heavy_job((0.2, 0.35, 0.5))
        group, ends = conductor_group(band), (run.fittings[0], run.fittings[-1])
        job = heavy_job((0.2,) * 3, feed_tension_n=float(rng.uniform(0.0, lbf(900.0))))
        places = run.centerline.stations_m[1:]
        for place, stop in zip(places, stop_values(run, band, group, *ends, places), strict=True):
            behind = pulls_between(run, job, *ends, [place])[0]
            assert stop.stop_n is not None
            if stop.stop_n == 0.0:
                continue
            worst = max(s.share for s in behind.shares if "braked" not in s.code)
            if abs(worst - 1.0) > 2e-3:
                assert (behind.high.exit_tension_n > stop.stop_n) == (worst > 1.0)
                tried[worst > 1.0] += 1
    assert min(tried.values()) >= 20


def test_no_head_below_the_stop_value_leaves_a_limit_passed_behind_it() -> None:
    """Pull at any friction of the band and any feed tension: stopping keeps every limit."""
    rng = np.random.default_rng(3)
    tried = 0
    for _ in range(40):
        run = bent_run(random_route(rng, 3, radii=(0.3, 2.0)))
        friction, feed = float(rng.uniform(0.2, 0.5)), float(rng.uniform(0.0, lbf(900.0)))
        band = heavy_job((0.2, 0.35, 0.5))
        group, ends = conductor_group(band), (run.fittings[0], run.fittings[-1])
        job = heavy_job((friction,) * 3, feed_tension_n=feed)
        places = run.centerline.stations_m[1:]
        for place, stop in zip(places, stop_values(run, band, group, *ends, places), strict=True):
            pull = pulls_between(run, job, *ends, [place])[0]
            over = [s for s in pull.shares if s.share > 1.0 + 1e-6 and "braked" not in s.code]
            if over:
                tried += 1
                assert stop.stop_n is not None
                # a stop value of 0 says that the head may feel nothing while a limit is passed
                assert pull.high.exit_tension_n >= stop.stop_n * (1 - 1e-9)
    assert tried >= 40


def test_no_stop_value_helps_behind_a_drop_that_leaves_the_conductors_slack() -> None:
    line = route((1, 0, 0), [10.0, (0.5, pi / 2, (0, 0, -1)), 80.0, (0.5, pi / 2, (1, 0, 0)), 20.0])
    run, job = bent_run(line), drop_job((0.2, 0.35, 0.5))
    group, ends = conductor_group(job), (run.fittings[0], run.fittings[-1])
    # 80 m of 3 lbf/ft weigh 787 lbf: with bend 1 at its 600 lbf the foot feels nothing, and
    # what the head feels behind it comes from the last bend and straight alone
    (stop,) = stop_values(run, job, group, *ends, [line.length_m])
    assert stop.stop_n == 0.0
    rows = call_outs(run, job, group, *ends, run.bends)
    assert not any(row.exceeds_stop for row in rows if row.stop.stop_n == 0.0)


def test_without_any_limit_there_is_no_stop_value() -> None:
    from pull_jobs import job_with, stated_conductor

    job = job_with([(1, stated_conductor(max_tension_n=None))], 0.35)
    run = bent_run(level_bent([ft(50.0)]))
    ends = (run.fittings[0], run.fittings[-1])
    (stop,) = stop_values(run, job, conductor_group(job), *ends, [ft(50.0)])
    assert stop.stop_n is None


def test_greatest_tension_inside_a_bend_gets_a_call_out_of_its_own() -> None:
    # level to falling at 0.35, entered at half of w R: by scipy's DOP853 at 1e-13 the tension
    # peaks at 3.905188 / 6 of w R, 31.70636 degrees into the bend
    line = route((1, 0, 0), [1.0 / 0.35, (2.0, pi / 2, (0, 0, -1)), 20.0])
    run, job = bent_run(line), heavy_job(0.35)
    pull = pull_through(run, job, Direction.FORWARD)
    place = pull.high.max_tension_station_m
    ends = (run.fittings[0], run.fittings[-1])
    rows = call_outs(run, job, conductor_group(job), *ends, run.bends, place)
    (row,) = [row for row in rows if row.kind is PlaceKind.GREATEST]
    assert row.tension.high_n == pytest.approx(pull.high.max_tension_n)
    assert row.tension.high_n == max(other.tension.high_n for other in rows)
    assert row.bend == run.bends[0]
    peak = 3.905188 / 6.0 * 2.0 * job.pulling_weight_n_per_m
    assert row.tension.high_n == pytest.approx(peak, rel=2e-7)
    assert row.station_m - 1.0 / 0.35 == pytest.approx(2.0 * 31.70636 * pi / 180, abs=2e-7)
