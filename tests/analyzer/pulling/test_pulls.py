"""Legs and runs pulled both ways: carrying on, refeeding, reach of the lubricant, held back."""

from __future__ import annotations

from dataclasses import replace
from math import cos, cosh, exp, pi, radians, sin, sinh, sqrt

import numpy as np
import pytest
from pull_jobs import job_with, raceway_of, run_with, stated_conductor
from pull_routes import random_route, route

from analyzer.errors import JobError
from analyzer.geometry.centerline import Centerline
from analyzer.job.settings import Arrangement, Passage
from analyzer.pulling.closed_forms import all_bends_first_tension_n, all_bends_last_tension_n
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import Direction, Pull
from analyzer.route.legs import split_into_legs

FORWARD, REVERSE = Direction.FORWARD, Direction.REVERSE
REFEED, THROUGH = Passage.REFEED, Passage.THROUGH
DOWN, AHEAD = (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)


def level(*parts: float | str) -> Centerline:
    """A level route: lengths, and "90" for a sharp left turn passed through (no weight)."""
    heading, built = 0.0, []
    for part in parts:
        if part == "90":
            heading += pi / 2
            built.append(("corner", (cos(heading), sin(heading), 0.0)))
        else:
            built.append(float(part))
    return route(AHEAD, built)


def sharp(*parts: float | str) -> Centerline:
    """The same with bends of a micrometer, two of them side by side allowed."""
    heading, built = 0.0, []
    for part in parts:
        if part == "90":
            built.append((1e-6, pi / 2, (-sin(heading), cos(heading), 0.0)))
            heading += pi / 2
        else:
            built.append(float(part))
    return route(AHEAD, built)


def pulled(centerline, boxes=(), friction=0.35, direction=FORWARD, **settings) -> tuple[Pull, ...]:
    run, job = run_with(centerline, boxes), job_with(friction=friction, **settings)
    return pull_legs(run, split_into_legs(run), job, direction)


def through(centerline, friction=0.35, direction=FORWARD, **settings) -> Pull:
    return pull_through(run_with(centerline), job_with(friction=friction, **settings), direction)


def exits(pulls: tuple[Pull, ...]) -> list[float]:
    return [pull.expected.exit_tension_n for pull in pulls]


# Rehearsal facts of the project's mechanics (sharp bends without weight, 3 per length), printed
# to whole units or to two decimals; bends of a micrometer add less than 1e-4.
@pytest.mark.parametrize(("k", "ahead", "back"), [(0.35, 414.0, 658.0), (0.5, 855.0, 1587.0)])
def test_direction_matters(k: float, ahead: float, back: float) -> None:
    centerline = sharp(20.0, "90", "90", 150.0, "90", 30.0)
    assert through(centerline, k).expected.exit_tension_n == pytest.approx(ahead, abs=0.5)
    back_pull = through(centerline, k, REVERSE)
    assert back_pull.expected.exit_tension_n == pytest.approx(back, abs=0.5)


FOUR_BENDS = (40.0, "90", 40.0, "90", 40.0, "90", 40.0, "90", 40.0)


@pytest.mark.parametrize(
    ("k", "whole", "first", "second"),
    [(0.35, 838.16, 219.90, 177.84), (0.5, 2501.71, 450.23, 335.91)],
)
def test_box_in_the_middle_of_four_bends(k, whole, first, second) -> None:
    for centerline in (sharp(*FOUR_BENDS), level(*FOUR_BENDS)):
        assert through(centerline, k).expected.exit_tension_n == pytest.approx(whole, abs=0.006)
        refed = pulled(centerline, [(100.0, REFEED)], k)
        assert exits(refed) == pytest.approx([first, second], abs=0.006)
        back = pulled(centerline, [(100.0, REFEED)], k, REVERSE)
        # the route is the same from both ends
        assert exits(back) == pytest.approx([second, first], abs=0.006)
        passed = pulled(centerline, [(100.0, THROUGH)], k)
        assert exits(passed) == pytest.approx([first, whole], abs=0.006)


@pytest.mark.parametrize(("k", "place", "greatest"), [(0.35, 90.0, 209.40), (0.5, 86.9, 430.58)])
def test_best_box_for_legs_all_forward(k: float, place: float, greatest: float) -> None:
    centerline = level(*FOUR_BENDS)

    def worst(station: float) -> float:
        return max(exits(pulled(centerline, [(station, REFEED)], k)))

    # both legs are equal at the best place; printed to 0.1 ft, the tension grows by some 3 per ft
    assert worst(place) == pytest.approx(greatest, abs=0.35)
    assert worst(place - 1.0) > worst(place) - 0.35
    assert worst(place + 1.0) > worst(place)


def test_level_run_lies_between_its_bounds() -> None:
    total, k = 2.0 * pi, 0.35
    last = all_bends_last_tension_n(0.0, 3.0, 200.0, total, k)
    first = all_bends_first_tension_n(0.0, 3.0, 200.0, total, k)
    assert (last, first) == (pytest.approx(1894.0, abs=0.5), pytest.approx(210.0, rel=1e-12))
    bends_last = level(200.0 - 4e-4, *("90", 1e-4) * 4)
    assert through(bends_last).expected.exit_tension_n == pytest.approx(last, rel=1e-4)
    for centerline in (level(*FOUR_BENDS), sharp(*FOUR_BENDS)):
        assert first < through(centerline).expected.exit_tension_n < last


# legs A0-A1: 60, 90; A1-A2: 50, 90, 20; A2-A3: 80, 90, 90; A3-A4: 40, 90, 30
MIDDLE = ((60.0, "90"), (50.0, "90", 20.0), (80.0, "90", "90"), (40.0, "90", 30.0))


def test_feeding_from_the_middle() -> None:
    greatest = []
    for feed in range(5):
        before = [part for leg in MIDDLE[:feed] for part in leg]
        after = [part for leg in MIDDLE[feed:] for part in leg]
        halves = []
        if before:
            halves.append(through(sharp(*before), direction=REVERSE).expected.exit_tension_n)
        if after:
            halves.append(through(sharp(*after)).expected.exit_tension_n)
        greatest.append(max(halves))
    assert greatest == pytest.approx([2108.4, 1124.0, 541.4, 469.3, 1340.2], abs=0.05)


def test_refed_everywhere_no_leg_of_that_route_is_above_252() -> None:
    legs = [sharp(*leg) for leg in MIDDLE]
    ahead = [through(leg).expected.exit_tension_n for leg in legs]
    back = [through(leg, direction=REVERSE).expected.exit_tension_n for leg in legs]
    assert max(ahead) == pytest.approx(252.2, abs=0.05)
    assert max(map(min, zip(ahead, back, strict=True))) == pytest.approx(96.6, abs=0.05)


def test_corner_in_a_box_passed_through_counts_and_refed_does_not() -> None:
    centerline = level(20.0, "90", 30.0)
    first, second = pulled(centerline, [(20.0, THROUGH)])
    assert first.expected.exit_tension_n == pytest.approx(21.0)
    assert second.feed_tension_n == pytest.approx(21.0 * exp(0.35 * pi / 2))
    assert second.profile.station_m[0] == 20.0
    assert second.profile.tension_n[0] == second.feed_tension_n
    assert second.expected.exit_tension_n == pytest.approx(second.feed_tension_n + 31.5)
    refed = pulled(centerline, [(20.0, REFEED)])[1]
    assert refed.feed_tension_n == 0.0
    assert refed.expected.exit_tension_n == pytest.approx(31.5)
    # the whole run is passed through whatever the passages say
    whole = through(centerline)
    assert whole.expected.exit_tension_n == second.expected.exit_tension_n


def test_each_friction_carries_its_own_tension_through_a_box() -> None:
    centerline = level(20.0, "90", 30.0)
    band = (0.2, 0.35, 0.5)
    second = pulled(centerline, [(20.0, THROUGH)], band)[1]
    for k, figures in zip(band, (second.low, second.expected, second.high), strict=True):
        expected = 3.0 * k * 20.0 * exp(k * pi / 2) + 3.0 * k * 30.0
        assert figures.friction == k
        assert figures.exit_tension_n == pytest.approx(expected, rel=1e-14)


def test_feed_tension_of_job_and_of_fitting() -> None:
    centerline = level(20.0, 30.0)
    run = run_with(centerline, [(20.0, REFEED)], {"Box 1": 7.0})
    job = job_with(feed_tension_n=4.0)
    legs = split_into_legs(run)
    ahead, back = (pull_legs(run, legs, job, d) for d in (FORWARD, REVERSE))
    assert [pull.feed_tension_n for pull in ahead] == [4.0, 7.0]
    assert [pull.feed_tension_n for pull in back] == [7.0, 4.0]
    assert [pull.feed_at for pull in ahead] == ["start", "Box 1"]
    assert [pull.pull_at for pull in back] == ["start", "Box 1"]
    # passed through, the fitting's own feed tension is of no meaning
    passed = replace(run.fittings[1], passage=THROUGH)
    run = replace(run, fittings=(run.fittings[0], passed, run.fittings[2]))
    second = pull_legs(run, split_into_legs(run), job, FORWARD)[1]
    assert second.feed_tension_n == pytest.approx(4.0 + 21.0)


def test_one_friction_number_gives_equal_figures() -> None:
    rng = np.random.default_rng(1)
    pull = through(random_route(rng, 4), 0.3)
    assert pull.low == pull.expected == pull.high


def test_pulled_through_boxes_ends_as_the_whole_run() -> None:
    rng = np.random.default_rng(2)
    for _ in range(5):
        centerline = random_route(rng, 4)
        places = np.sort(rng.uniform(0.0, centerline.length_m, 3))
        boxes = [(float(place), THROUGH) for place in places]
        for direction in Direction:
            legs = pulled(centerline, boxes, (0.2, 0.35, 0.5), direction)
            last = legs[-1 if direction is FORWARD else 0]
            whole = through(centerline, (0.2, 0.35, 0.5), direction)
            scale = max(whole.high.max_tension_n, 3.0)
            for one, other in ((last.low, whole.low), (last.high, whole.high)):
                assert abs(one.exit_tension_n - other.exit_tension_n) <= 1e-12 * scale
            assert max(leg.high.max_tension_n for leg in legs) == pytest.approx(
                whole.high.max_tension_n, rel=1e-12
            )
            feed_leg = legs[0 if direction is FORWARD else -1]
            assert feed_leg.braked.hold_back_n == pytest.approx(
                whole.braked.hold_back_n, rel=1e-12, abs=1e-11 * scale
            )
            assert max(leg.braked.max_tension_n for leg in legs) == pytest.approx(
                whole.braked.max_tension_n, rel=1e-12
            )


# Braked state, check values of the project's mechanics: 20 level, 90 down R 2, 5, box passed
# through, 95 drop, 3 per length, k 0.2; printed to two decimals.
def drop_with_box() -> tuple[Centerline, float]:
    return route(AHEAD, [20.0, (2.0, pi / 2, DOWN), 5.0, 95.0]), 20.0 + pi + 5.0


def test_braked_state_belongs_to_the_stretch_from_refeed_to_refeed() -> None:
    centerline, box = drop_with_box()
    first, second = pulled(centerline, [(box, THROUGH)], (0.2, 0.35, 0.5))
    assert first.braked.max_tension_n == pytest.approx(300.0, abs=0.005)
    assert first.braked.max_tension_station_m == pytest.approx(20.0 + pi)
    assert first.braked.hold_back_n == pytest.approx(210.97, abs=0.005)
    assert second.braked.hold_back_n == pytest.approx(285.0, abs=0.005)
    assert second.braked.max_tension_n == pytest.approx(285.0, abs=0.005)
    assert first.braked.max_sidewall_n_per_m == pytest.approx(150.0, abs=0.005)
    assert second.braked.max_sidewall_station_m is None
    refed = pulled(centerline, [(box, REFEED)], (0.2, 0.35, 0.5))[0]
    assert refed.braked.hold_back_n < 20.0


def test_brake_stands_where_the_conductors_are_fed_not_at_a_box_they_pass_through() -> None:
    centerline, box = drop_with_box()
    first, second = pulled(centerline, [(box, THROUGH)], (0.2, 0.35, 0.5))
    assert first.braked.carried_from is None
    assert first.brake == second.brake == second.braked.carried_from
    assert first.brake.at == first.feed_at != second.feed_at
    assert second.brake.force_n == first.braked.hold_back_n
    refed = pulled(centerline, [(box, REFEED)], (0.2, 0.35, 0.5))[1]
    assert refed.braked.carried_from is None
    assert refed.brake.at == refed.feed_at
    assert refed.brake.force_n == pytest.approx(285.0, abs=0.005)


def test_corner_passed_through_divides_the_braked_tension() -> None:
    centerline = route(AHEAD, [20.0, ("corner", DOWN), 100.0])
    first, second = pulled(centerline, [(20.0, THROUGH)], 0.2)
    assert second.braked.hold_back_n == pytest.approx(300.0)
    assert first.braked.max_tension_n == pytest.approx(300.0 * exp(-0.2 * pi / 2))
    assert first.braked.hold_back_n == pytest.approx(207.12, abs=0.005)


def test_braked_state_takes_low_friction_without_weight_factor_or_dry_friction() -> None:
    centerline = route(AHEAD, [20.0, (2.0, pi / 2, DOWN), 100.0])
    job = job_with(
        conductors=[(3, stated_conductor(1.0, 0.010))],
        friction=(0.2, 0.35, 0.5),
        raceway=raceway_of(0.028),
        lubricant_reach_m=5.0,
        dry_friction=0.9,
    )
    pull = pull_through(run_with(centerline), job, FORWARD)
    assert pull.braked.hold_back_n == pytest.approx(210.97, abs=0.005)
    # its sidewall pressure has the arrangement's own form and true weight factor
    r2 = 1.0 / 1.8**2
    factor = (3.0 * (1.0 + 4.0 / 3.0 * r2) - 2.0) / 3.0
    assert pull.braked.max_sidewall_n_per_m == pytest.approx(factor * 150.0, rel=1e-12)


def test_braked_tension_of_the_wide_drop_in_us_units() -> None:
    # 100 ft drop at 3 lbf/ft on R 9.5 in: 300 lbf and 379 lbf/ft at the top bend
    centerline = route(AHEAD, [20.0, (9.5 / 12.0, pi / 2, DOWN), 100.0])
    pull = through(centerline, (0.2, 0.35, 0.5))
    assert pull.braked.max_tension_n == pytest.approx(300.0, abs=0.5)
    assert pull.braked.max_sidewall_n_per_m == pytest.approx(379.0, abs=0.5)
    # what the limits are held against, though the brake itself holds less and the pull presses less
    values = {share.code: share.value for share in pull.shares}
    assert values["tension-braked"] == pytest.approx(300.0, abs=0.5)
    assert values["sidewall-braked"] == pytest.approx(379.0, abs=0.5)
    assert pull.braked.hold_back_n < 250.0
    assert values["sidewall"] < 250.0


def test_string_that_never_runs_needs_no_brake() -> None:
    pull = through(level(20.0, "90", 30.0), (0.2, 0.35, 0.5))
    assert pull.braked.hold_back_n == 0.0
    assert pull.braked.max_tension_n == 0.0
    assert pull.braked.max_tension_station_m == 0.0


def test_slack_is_reported_lower_station_first_in_both_directions() -> None:
    down = route(AHEAD, [20.0, ("corner", DOWN), 100.0])
    ((low, high),) = through(down).slack
    assert low < high == 120.0
    up = route((0.0, 0.0, 1.0), [100.0, ("corner", AHEAD), 20.0])
    ((back_low, back_high),) = through(up, direction=REVERSE).slack
    assert (back_low, back_high) == (0.0, pytest.approx(120.0 - low))


# Reach of the lubricant.
def test_beyond_the_reach_the_larger_friction_counts() -> None:
    centerline = level(100.0)
    settings = {"lubricant_reach_m": 60.0, "dry_friction": 0.4}
    pull = through(centerline, (0.2, 0.35, 0.5), **settings)
    for figures, k in ((pull.low, 0.2), (pull.expected, 0.35), (pull.high, 0.5)):
        expected = 3.0 * (k * 60.0 + max(k, 0.4) * 40.0)
        assert figures.exit_tension_n == pytest.approx(expected, rel=1e-14)


def test_reach_counts_from_the_feed_in_the_direction_of_the_pull() -> None:
    up = route((0.0, 0.0, 1.0), [50.0, ("corner", AHEAD), 50.0])
    settings = {"lubricant_reach_m": 30.0, "dry_friction": 0.5}
    ahead = through(up, 0.2, **settings).expected.exit_tension_n
    assert ahead == pytest.approx(150.0 * exp(0.5 * pi / 2) + 3.0 * 0.5 * 50.0)
    back = through(up, 0.2, REVERSE, **settings)
    assert back.profile.tension_n[1] == pytest.approx(3.0 * 0.2 * 30.0)


def test_reach_goes_on_through_a_box_and_starts_again_at_a_refeed() -> None:
    centerline = level(50.0, 50.0)
    settings = {"lubricant_reach_m": 60.0, "dry_friction": 0.5}
    passed = pulled(centerline, [(50.0, THROUGH)], 0.2, **settings)
    assert exits(passed) == pytest.approx([30.0, 30.0 + 3.0 * (0.2 * 10.0 + 0.5 * 40.0)])
    refed = pulled(centerline, [(50.0, REFEED)], 0.2, **settings)
    assert exits(refed) == pytest.approx([30.0, 30.0])


def test_reach_is_counted_over_all_legs_passed_through() -> None:
    # 3 x 0.2 x 10 each; of the third leg 5 lie beyond the 25 that the lubricant reaches
    settings = {"lubricant_reach_m": 25.0, "dry_friction": 0.5}
    boxes = [(10.0, THROUGH), (20.0, THROUGH)]
    passed = pulled(level(10.0, 10.0, 10.0), boxes, 0.2, **settings)
    assert exits(passed) == pytest.approx([6.0, 12.0, 12.0 + 3.0 * (0.2 * 5.0 + 0.5 * 5.0)])


def test_reach_may_end_inside_a_bend() -> None:
    bend = route(AHEAD, [10.0, (4.0, 1.0, (0.0, 1.0, 0.0)), 10.0])
    settings = {"lubricant_reach_m": 12.0, "dry_friction": 0.5}
    pull = through(bend, 0.2, **settings)

    def turn(tension: float, k: float, angle: float) -> float:
        return tension * cosh(k * angle) + sqrt(tension**2 + 144.0) * sinh(k * angle)

    expected = turn(turn(6.0, 0.2, 0.5), 0.5, 0.5) + 15.0
    assert pull.expected.exit_tension_n == pytest.approx(expected, rel=1e-13)


def test_reach_without_dry_friction_is_refused() -> None:
    with pytest.raises(JobError, match="dry_friction"):
        through(level(10.0), lubricant_reach_m=5.0)


# Weight factor.
def three_in_raceway(**pull) -> object:
    return job_with(
        conductors=[(3, stated_conductor(1.0, 41.3e-3))], raceway=raceway_of(154e-3),
        friction=0.5, arrangement=Arrangement.TRIANGULAR, **pull,
    )  # fmt: skip


@pytest.mark.parametrize("in_bends", [True, False])
def test_weight_factor_in_bends_is_an_option(in_bends: bool) -> None:
    factor = 1.0747673130420374
    job = three_in_raceway(weight_factor_in_bends=in_bends)
    centerline = level(60.0, "90", 30.0)
    pull = pull_through(run_with(centerline), job, FORWARD)
    k, k_bend = 0.5 * factor, 0.5 * factor if in_bends else 0.5
    expected = 3.0 * k * 60.0 * exp(k_bend * pi / 2) + 3.0 * k * 30.0
    assert pull.expected.exit_tension_n == pytest.approx(expected, rel=1e-14)


def test_printed_route_of_three_cables_through_the_whole_door() -> None:
    # TES-P-104.05, 2007, par. 4.5.1, unrounded 13,509.0 N: 93.5361 N/m of all three cables
    centerline = route(
        AHEAD,
        [60.0, ("corner", (cos(pi / 4), sin(pi / 4), 0.0)), 20.0,
         ("corner", (cos(3 * pi / 4), sin(3 * pi / 4), 0.0)), 30.0],
    )  # fmt: skip
    job = job_with(
        conductors=[(3, stated_conductor(93.5361 / 3.0, 41.3e-3))], raceway=raceway_of(154e-3),
        friction=0.5, arrangement=Arrangement.TRIANGULAR, weight_factor_in_bends=False,
    )  # fmt: skip
    run = run_with(centerline)
    ahead, back = (pull_through(run, job, d).expected.exit_tension_n for d in (FORWARD, REVERSE))
    assert ahead == pytest.approx(13509.0, abs=0.05)
    assert back == pytest.approx(9402.8, abs=0.05)


def test_sidewall_pressure_stands_in_the_profile_on_bends_only() -> None:
    centerline = route(AHEAD, [10.0, (2.0, 1.0, (0.0, 1.0, 0.0)), 10.0])
    pull = through(centerline)
    profile = pull.profile
    pressed = [value > 0.0 for value in profile.sidewall_n_per_m]
    # both ends of the first straight, the bend, both ends of the last straight
    assert pressed == [False] * 2 + [True] * (len(pressed) - 4) + [False] * 2
    worst = max(profile.sidewall_n_per_m)
    assert worst == pull.expected.max_sidewall_n_per_m
    assert pull.expected.max_sidewall_station_m == pytest.approx(12.0)
    straight = through(level(10.0))
    assert straight.expected.max_sidewall_n_per_m == 0.0
    assert straight.expected.max_sidewall_station_m is None


def test_profile_of_a_reverse_pull_has_falling_stations() -> None:
    rng = np.random.default_rng(3)
    pull = through(random_route(rng, 3), direction=REVERSE)
    stations = pull.profile.station_m
    assert list(stations) == sorted(stations, reverse=True)
    assert stations[-1] == 0.0
    assert pull.profile.tension_n[-1] == pull.expected.exit_tension_n
    assert max(pull.profile.tension_n) == pull.expected.max_tension_n


def test_all_numbers_are_finite() -> None:
    rng = np.random.default_rng(4)
    for _ in range(5):
        centerline = random_route(rng, 5)
        for pull in pulled(centerline, [(centerline.length_m / 2, REFEED)], (0.0, 0.3, 2.0)):
            assert np.isfinite(pull.profile.tension_n).all()
            assert np.isfinite(pull.profile.sidewall_n_per_m).all()
            assert np.isfinite(pull.high.exit_tension_n)
            assert min(pull.profile.tension_n) >= 0.0


def test_shares_use_high_friction_and_name_the_largest() -> None:
    centerline = route(AHEAD, [100.0, (2.0, radians(90.0), (0.0, 1.0, 0.0)), 50.0])
    pull = through(centerline, (0.2, 0.35, 0.5))
    by_code = {share.code: share for share in pull.shares}
    assert set(by_code) == {"conductor-tension", "tension-braked", "sidewall", "sidewall-braked"}
    assert by_code["conductor-tension"].value == pull.high.max_tension_n
    assert by_code["sidewall"].value == pull.high.max_sidewall_n_per_m
    assert by_code["tension-braked"].value == pull.braked.max_tension_n
    assert pull.share_of_limit == max(share.share for share in pull.shares)
    assert pull.governing is not None
    assert pull.governing.share == pull.share_of_limit
