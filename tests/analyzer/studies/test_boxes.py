"""Where boxes go: check values, brute force by golden section, limits, reasons, costs.

Check values: four sharp bends without weight on a level 200 ft run, 3 lbf/ft, derived from the
capstan form T e^(k a) and w k L on straights, done anew by `by_hand` below.

One long file, because all tests share that run and its hand sums.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations, pairwise
from math import exp, inf, pi, sqrt

import numpy as np
import pytest
from box_runs import box_job, four_nineties, level_run, random_run, run_of, study
from pull_routes import route

from analyzer.analysis import analyze
from analyzer.errors import InputError, JobError
from analyzer.job.settings import Limits, Passage
from analyzer.studies.boxes import BoxStudy
from analyzer.studies.boxes_cost import cost_of
from analyzer.studies.boxes_costs import LegPricing
from analyzer.studies.boxes_placements import BOX_CHECKS, PlacedBox, place_boxes
from analyzer.studies.what_if import pulls_as_counted
from analyzer.units import ft, lbf, lbf_per_ft, to_ft, to_lbf

DOWN = (0.0, 0.0, -1.0)


def stations_ft(result: BoxStudy, count: int) -> list[float]:
    return [to_ft(box.station_m) for box in result.trade_off[count].boxes]


def tension_lbf(result: BoxStudy, count: int) -> float:
    return to_lbf(result.trade_off[count].max_tension_n)


# Check values of the project's mechanics are printed to 0.01 lbf.


@pytest.mark.parametrize(("k", "none", "one"), [(0.35, 838.16, 177.84), (0.5, 2501.71, 335.91)])
def test_single_box_in_the_middle_of_four_bends(k, none, one) -> None:
    result = study(four_nineties(), box_job(k, most=1))
    assert tension_lbf(result, 0) == pytest.approx(none, abs=0.005)
    assert tension_lbf(result, 1) == pytest.approx(one, abs=0.005)
    assert stations_ft(result, 1) == pytest.approx([100.0], abs=1e-6)


@pytest.mark.parametrize(("k", "place", "one"), [(0.35, 90.0, 209.40), (0.5, 86.9, 430.58)])
def test_single_box_with_all_legs_forward(k, place, one) -> None:
    run, job = four_nineties(), box_job(k, most=1, direction="forward")
    result = study(run, job)
    # the check value belongs to the place printed, rounded to 0.1 ft
    assert stations_ft(result, 1) == pytest.approx([place], abs=0.05)
    at_print = place_boxes(run, job, [PlacedBox(ft(place))])
    assert to_lbf(at_print.max_tension_n) == pytest.approx(one, abs=0.005)
    assert result.trade_off[1].max_tension_n <= at_print.max_tension_n
    assert {item.pull.direction.value for item in result.trade_off[1].legs} == {"forward"}


def test_middle_box_with_all_legs_forward_gives_both_printed_figures() -> None:
    job = box_job(0.35, direction="forward")
    placed = place_boxes(four_nineties(), job, [PlacedBox(ft(100.0))])
    tensions = [to_lbf(item.max_tension_n) for item in placed.legs]
    assert tensions == pytest.approx([219.90, 177.84], abs=0.005)


# Brute force: the capstan by hand, places by golden section.


def by_hand(straights: list[float], low: float, high: float, k: float, way: str) -> float:
    """Exit tension [lbf] of a level leg between two stations [ft], sharp 90° bends between."""

    def one_way(lengths: list[float]) -> float:
        tension = 0.0
        for index, length in enumerate(lengths):
            tension = tension * exp(k * pi / 2) if index else tension
            tension += 3.0 * k * length
        return tension

    parts, at = [], 0.0
    for length in straights:
        start, end = max(low, at), min(high, at + length)
        at += length
        if end > start:
            parts.append(end - start)
    forward, reverse = one_way(parts), one_way(parts[::-1])
    return {"better": min(forward, reverse), "forward": forward, "reverse": reverse}[way]


def golden(value: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """Place and value of the least value of a function with one valley."""
    ratio = (sqrt(5.0) - 1.0) / 2.0
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    fa, fb = value(a), value(b)
    while high - low > 1e-9:
        if fa <= fb:
            high, b, fb = b, a, fa
            a = high - ratio * (high - low)
            fa = value(a)
        else:
            low, a, fa = a, b, fb
            b = low + ratio * (high - low)
            fb = value(b)
    middle = 0.5 * (low + high)
    return middle, value(middle)


def golden_best(
    straights: list[float], k: float, count: int, way: str
) -> tuple[list[float], float]:
    """Best boxes by golden sections inside every choice of straights, 0.1 ft off their ends."""
    edges = np.concatenate(([0.0], np.cumsum(straights)))
    rooms = [(low + 0.1, high - 0.1) for low, high in pairwise(edges)]
    length = float(edges[-1])

    def worst(places: list[float]) -> float:
        ends = [0.0, *places, length]
        return max(by_hand(straights, a, b, k, way) for a, b in pairwise(ends))

    best: tuple[list[float], float] = ([], inf)
    if count == 1:
        for low, high in rooms:
            place, value = golden(lambda x: worst([x]), low, high)
            best = min(best, ([place], value), key=lambda pair: pair[1])
        return best
    for (low, high), (low2, high2) in combinations(rooms, 2):

        def second(x: float, low2: float = low2, high2: float = high2) -> tuple[float, float]:
            return golden(lambda y: worst([x, y]), low2, high2)

        first, value = golden(lambda x: second(x)[1], low, high)
        best = min(best, ([first, second(first)[0]], value), key=lambda pair: pair[1])
    return best


@pytest.mark.parametrize("way", ["better", "forward", "reverse"])
@pytest.mark.parametrize(
    "straights", [[40.0] * 5, [12.0, 55.0, 7.0, 31.0], [80.0, 3.0, 3.0, 20.0, 20.0]]
)
def test_single_box_is_where_golden_sections_put_it(straights, way) -> None:
    places, value = golden_best(straights, 0.4, 1, way)
    job = box_job(0.4, most=1, direction=way, need_m=ft(0.1))
    result = study(four_nineties(straights), job)
    assert tension_lbf(result, 1) == pytest.approx(value, rel=1e-8)
    assert stations_ft(result, 1) == pytest.approx(places, abs=1e-6)


@pytest.mark.parametrize(
    ("straights", "way"),
    [([40.0, 40.0, 40.0], "forward"), ([12.0, 55.0, 7.0, 31.0], "better")],
)
def test_two_boxes_are_where_golden_sections_put_them(straights, way) -> None:
    places, value = golden_best(straights, 0.4, 2, way)
    job = box_job(0.4, most=2, direction=way, need_m=ft(0.1))
    result = study(four_nineties(straights), job)
    # with both boxes in one straight golden sections do not look
    assert tension_lbf(result, 2) <= value * (1.0 + 1e-8)
    if {round(x) for x in places} == {round(x) for x in stations_ft(result, 2)}:
        assert stations_ft(result, 2) == pytest.approx(places, abs=1e-6)
        assert tension_lbf(result, 2) == pytest.approx(value, rel=1e-8)


def test_true_pair_beats_boxes_added_one_at_a_time() -> None:
    run, job = four_nineties(), box_job(0.35, most=2)
    pair = study(run, job).trade_off[2]
    first = study(run, job).trade_off[1].boxes[0]
    tried = [ft(x) for x in np.arange(0.5, 200.0, 0.25) if abs(ft(x) - first.station_m) > 1.0]
    seconds = [
        place_boxes(run, job, sorted([first, PlacedBox(s)], key=lambda b: b.station_m))
        for s in tried[::4]
    ]
    one_at_a_time = min(item.max_tension_n for item in seconds)
    assert to_lbf(one_at_a_time) == pytest.approx(177.84, abs=0.005)
    assert to_lbf(pair.max_tension_n) == pytest.approx(102.09, abs=0.005)
    assert pair.max_tension_n < 0.6 * one_at_a_time


@pytest.mark.parametrize("seed", range(3))
def test_no_placement_on_a_fine_grid_beats_the_refined_one(seed) -> None:
    run = random_run(seed, 3)
    job = box_job((0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, need_m=0.1, most=2)
    result = study(run, job)
    pricing = LegPricing(run, job)
    for count in (1, 2):
        row = result.trade_off[count]
        rng = np.random.default_rng(seed)
        length = run.centerline.length_m
        bends = [(bend.station_m - 0.1, bend.end_station_m + 0.1) for bend in run.bends]
        for _ in range(150):
            places = sorted(rng.uniform(0.1, length - 0.1, count))
            if any(a < s < b for s in places for a, b in bends):
                continue
            tried = place_boxes(run, job, [PlacedBox(float(s)) for s in places])
            assert row.share_of_limit <= tried.share_of_limit * (1.0 + 2e-9)
        assert row.proven_share == pytest.approx(row.share_of_limit, rel=1e-8)
        assert pricing.is_monotone


@pytest.mark.parametrize("seed", range(3))
def test_feed_tension_is_searched_too(seed) -> None:
    run = random_run(seed, 3)
    pull = {"feed_tension_n": 60.0}
    job = box_job((0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, need_m=0.1, most=1, pull=pull)
    row = study(run, job).trade_off[1]
    bends = [(bend.station_m - 0.1, bend.end_station_m + 0.1) for bend in run.bends]
    for station in np.linspace(0.11, run.centerline.length_m - 0.11, 300):
        if not any(a < station < b for a, b in bends):
            tried = place_boxes(run, job, [PlacedBox(float(station))])
            assert row.share_of_limit <= tried.share_of_limit * (1.0 + 2e-9)


# The figures are those of the analysis.


@pytest.mark.parametrize("seed", range(3))
def test_rows_say_what_checking_the_changed_run_says(seed) -> None:
    run = random_run(seed, 5, [(0.5, Passage.REFEED)])
    job = box_job((0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, need_m=0.1, most=2)
    for row in study(run, job).trade_off:
        analyzed = analyze([row.run], job).runs[0]
        pulls = pulls_as_counted(analyzed.legs)
        tensions = [max(p.high.max_tension_n, p.braked.max_tension_n) for p in pulls]
        assert row.max_tension_n == max(tensions)
        failing = {
            check.code
            for check in analyzed.checks
            if check.counts and check.verdict.value == "fail" and check.code in BOX_CHECKS
        }
        assert set(row.failing) == failing
        assert row.share_of_limit == max(p.share_of_limit for p in pulls)


# Limits that decide how many.


def test_degrees_alone_ask_for_boxes() -> None:
    result = study(level_run([30.0] * 7), box_job(0.2, most=4, max_tension_lbf=1e5))
    assert result.fewest == 1
    assert result.trade_off[0].failing == ("bend-total", "sidewall")
    assert result.best.bend_total_deg == 270.0


def test_four_quarter_bends_are_within_360_degrees() -> None:
    job = box_job(0.1, max_tension_lbf=1e5)
    assert study(level_run([5.0] * 5), job).fewest == 0
    assert study(level_run([5.0] * 6), job).fewest == 1


def test_length_that_only_one_place_satisfies_is_found_off_the_grid() -> None:
    limits = Limits(length_between_pull_points_m=ft(100.0))
    job = box_job(0.2, limits=limits, max_tension_lbf=1e5, spacing_m=ft(7.0))
    run = run_of(route((1.0, 0.0, 0.0), [ft(99.9), ft(100.1)]))
    result = study(run, job)
    assert result.fewest == 1
    # lengths are compared with a relative allowance of 1e-6
    assert stations_ft(result, 1) == pytest.approx([100.0], abs=2e-4)
    shorter = replace(job, limits=Limits(length_between_pull_points_m=ft(99.9)))
    assert study(run, shorter).fewest == 2


def test_string_held_back_on_a_drop_asks_for_a_box() -> None:
    run = run_of(route((1.0, 0.0, 0.0), [ft(20.0), (ft(2.0), 0.5 * pi, DOWN), ft(100.0)]))
    wide = Limits(sidewall_pressure_n_per_m=lbf_per_ft(1e4), sidewall_from="job")
    job = box_job((0.2, 0.35, 0.5), limits=wide, max_tension_lbf=214.0)
    result = study(run, job)
    # 300 lbf at the top of the drop hold the string; fed from below it is pulled up its weight
    assert result.trade_off[0].failing == ("tension-braked",)
    assert not result.trade_off[0].passes
    assert result.fewest == 1
    assert 20.0 < stations_ft(result, 1)[0] < 123.0
    assert result.best.governing.share <= 1.0


def test_existing_boxes_stay_and_legs_between_them_are_kept() -> None:
    run = level_run([30.0] * 7)
    length = run.centerline.length_m
    run = run_of(run.centerline, [(ft(10.0), Passage.REFEED)])
    result = study(run, box_job(0.2, most=2, max_tension_lbf=1e5))
    for row in result.trade_off:
        assert ft(10.0) in [item.leg.end.station_m for item in row.legs]
        assert row.legs[-1].leg.end.station_m == length


def test_box_passed_through_counts_degrees_but_not_tension() -> None:
    plain = level_run([30.0] * 7)
    middle = plain.centerline.length_m / 2.0
    through = run_of(plain.centerline, [(middle, Passage.THROUGH)])
    job = box_job(0.2, max_tension_lbf=1e5, most=1)
    with_box, without = study(through, job).trade_off[0], study(plain, job).trade_off[0]
    assert (with_box.bend_total_deg, without.bend_total_deg) == (270.0, 540.0)
    assert with_box.max_tension_n == pytest.approx(without.max_tension_n)


# Where boxes may stand.


def test_boxes_keep_what_they_need_from_bends_ends_and_fittings() -> None:
    run = run_of(level_run([20.0] * 4).centerline, [(ft(8.0), Passage.REFEED)])
    need = ft(3.0)
    rows = study(run, box_job(0.3, need_m=need, most=3)).trade_off
    assert [len(row.boxes) for row in rows] == [0, 1, 2, 3]
    for row in rows:
        places = [box.station_m for box in row.boxes]
        edges = [0.0, ft(8.0), run.centerline.length_m]
        edges += [s for bend in run.bends for s in (bend.station_m, bend.end_station_m)]
        assert all(abs(place - edge) >= need - 1e-9 for place in places for edge in edges)


def test_keep_out_and_allowed_stretches_are_kept() -> None:
    job = box_job(0.35, most=1, keep_out_m=((ft(60.0), ft(140.0)),))
    assert stations_ft(study(four_nineties(), job), 1)[0] in (
        pytest.approx(60.0), pytest.approx(140.0)
    )  # fmt: skip
    job = box_job(0.35, most=1, allowed_m=((ft(10.0), ft(30.0)), (ft(185.0), ft(190.0))))
    place = stations_ft(study(four_nineties(), job), 1)[0]
    assert place == pytest.approx(30.0)


def test_candidate_stations_are_the_only_places() -> None:
    job = box_job(0.35, most=2, need_m=ft(1.0), candidates_m=(ft(70.0), ft(120.2), ft(130.0)))
    result = study(four_nineties(), job)
    assert stations_ft(result, 1) in (pytest.approx([70.0]), pytest.approx([130.0]))
    assert stations_ft(result, 2) == pytest.approx([70.0, 130.0])
    assert "no box can stand at 120.2 ft" in result.cautions[0].message
    assert len(result.trade_off) == 3


def test_station_beyond_the_run_is_refused() -> None:
    with pytest.raises(JobError, match=r"boxes\.keep_out: station 300\.0 ft lies beyond the end"):
        study(four_nineties(), box_job(keep_out_m=((ft(300.0), ft(310.0)),)))


def test_too_many_places_ask_for_a_wider_spacing() -> None:
    with pytest.raises(InputError, match="state a wider spacing"):
        study(four_nineties(), box_job(spacing_m=0.001))


def test_box_at_a_corner_takes_the_bend_out() -> None:
    run = level_run([30.0, 2.0, 30.0])
    bends = tuple((bend.station_m, bend.end_station_m) for bend in run.bends)
    without = study(run, box_job(0.35, most=2, need_m=ft(1.0), allowed_m=bends))
    assert len(without.trade_off) == 1
    job = box_job(0.35, most=2, need_m=ft(1.0), allowed_m=bends, at_corners=True)
    result = study(run, job)
    one, both = result.trade_off[1], result.trade_off[2]
    assert one.bend_total_deg == 90.0
    assert [box.replaces_bend for box in both.boxes] == [1, 2]
    assert both.bend_total_deg == 0.0
    # two legs of 30 ft and the 1 ft from tangent point to corner, pulled straight
    assert to_lbf(both.max_tension_n) == pytest.approx(3.0 * 0.35 * 31.0)


# Ties: the middle of the straight.


def test_box_without_need_for_precision_stands_in_the_middle_of_its_straight() -> None:
    # the middle box is held to a place by nothing: the outer legs govern
    run = run_of(level_run([30.0] * 7).centerline, [(ft(80.0), Passage.REFEED)])
    job = box_job(0.35, most=1, max_tension_lbf=1e4)
    row = study(run, job).trade_off[1]
    room = row.boxes[0].station_m
    straight = next(
        (a.end_station_m, b.station_m)
        for a, b in zip(run.bends, run.bends[1:], strict=False)
        if a.end_station_m <= room <= b.station_m
    )
    assert room == pytest.approx(0.5 * sum(straight), abs=1e-6)
    for step in (-0.01, 0.01):
        moved = place_boxes(run, job, [PlacedBox(room + step)])
        assert moved.share_of_limit == pytest.approx(row.share_of_limit, rel=1e-12)


# Why not.


def test_straight_kept_out_is_named_with_its_length() -> None:
    limits = Limits(length_between_pull_points_m=ft(50.0))
    job = box_job(
        0.2, limits=limits, max_tension_lbf=1e5, most=4, keep_out_m=((ft(40.0), ft(120.0)),)
    )
    result = study(run_of(route((1.0, 0.0, 0.0), [ft(150.0)])), job)
    assert result.fewest is None
    (blocked,) = result.blocked
    assert (blocked.code, blocked.unit) == ("leg-length", "m")
    assert to_ft(blocked.from_m) == pytest.approx(40.0)
    assert to_ft(blocked.to_m) == pytest.approx(120.0)
    assert "80.0 ft between station 40.0 ft and station 120.0 ft" in blocked.message


def test_radius_too_small_is_named_with_its_bend() -> None:
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(20.0), sidewall_from="job")
    job = box_job(0.5, limits=limits, need_m=ft(5.0), max_tension_lbf=1e5, most=4)
    result = study(level_run([30.0, 30.0], radius_ft=0.5), job)
    assert result.fewest is None
    assert {item.code for item in result.blocked} == {"sidewall"}
    assert "the radius of 6 in of bend 1 is too small" in result.blocked[0].message


def test_bends_without_room_between_them_are_named() -> None:
    result = study(level_run([20.0, 1.0, 1.0, 1.0, 1.0, 20.0]), box_job(0.1, need_m=ft(1.0)))
    assert result.fewest is None
    (blocked,) = result.blocked
    assert blocked.code == "bend-total"
    assert blocked.value == 450.0


def test_too_few_boxes_allowed_says_how_many_would_do() -> None:
    limits = Limits(length_between_pull_points_m=ft(30.0))
    job = box_job(0.2, limits=limits, max_tension_lbf=1e5, most=2)
    result = study(run_of(route((1.0, 0.0, 0.0), [ft(150.0)])), job)
    assert (result.fewest, result.needed, result.blocked) == (None, 4, ())


def test_checks_that_no_box_changes_do_not_count() -> None:
    result = study(level_run([20.0, 20.0]), box_job(0.2))
    assert result.fewest == 0
    codes = {check.code for check in result.other_checks}
    assert "fill" in codes
    assert not codes & {"bend-total", "leg-length", "conductor-tension", "sidewall"}


def test_unknown_tension_limit_is_said_and_never_counted() -> None:
    result = study(level_run([20.0, 20.0]), box_job(0.2, max_tension_lbf=None))
    assert result.fewest == 0
    assert "conductor-tension" in {check.code for check in result.other_checks}
    assert result.best.governing.code == "sidewall"


# Existing boxes, costs.


def test_existing_box_missed_least_is_the_one_whose_loss_costs_least() -> None:
    centerline = level_run([30.0] * 7).centerline
    places = [ft(20.0), ft(100.0), ft(150.0)]
    run = run_of(centerline, [(place, Passage.REFEED) for place in places])
    job = box_job(0.35, max_tension_lbf=1e5, most=1)
    result = study(run, job)
    without = {}
    for left in range(3):
        kept = [(p, Passage.REFEED) for i, p in enumerate(places) if i != left]
        without[f"Box {left + 1}"] = study(run_of(centerline, kept), job).trade_off[0]
    best = min(without, key=lambda name: without[name].share_of_limit)
    assert result.left_out.name == best
    assert result.left_out.placement.max_tension_n == without[best].max_tension_n


@pytest.mark.parametrize(
    ("per_box", "per_setup", "most"),
    [
        (100.0, 900.0, 8), (900.0, 100.0, 8), (1.0, 0.0, 8), (100.0, 900.0, 4), (100.0, 900.0, 3),
    ],
)  # fmt: skip
def test_cheapest_placement_is_that_of_brute_force(per_box, per_setup, most) -> None:
    run = level_run([20.0] * 9)
    limits = Limits(length_between_pull_points_m=ft(70.0))
    places = tuple(ft(x) for x in (10.0, 33.0, 55.0, 77.0, 99.0, 120.0, 143.0, 165.0))
    job = box_job(
        0.12, limits=limits, max_tension_lbf=150.0, weight_lbf_per_ft=1.0, most=most,
        candidates_m=places, cost_per_box=per_box, cost_per_setup=per_setup,
    )  # fmt: skip
    result = study(run, job)
    cheapest = inf
    for refed in range(4):
        for boxes in range(refed, min(7, most + 1)):
            cost = boxes * per_box + (refed + 1) * per_setup
            if cost < cheapest and any(
                passes(run, job, some, through)
                for some in combinations(places, refed)
                for through in combinations([p for p in places if p not in some], boxes - refed)
            ):
                cheapest = cost
    assert result.cheapest.cost == pytest.approx(cheapest)
    found = result.cheapest
    assert found.count <= most
    assert passes(run, job, found.refed_m, found.passed_m)
    assert found.setups == len(found.refed_m) + 1


def passes(run, job, refed, through) -> bool:
    boxes = [(s, Passage.REFEED) for s in refed] + [(s, Passage.THROUGH) for s in through]
    return place_boxes(run_of(run.centerline, sorted(boxes, key=lambda b: b[0])), job, ()).passes


def test_cheapest_placement_keeps_to_the_boxes_allowed() -> None:
    limits = Limits(length_between_pull_points_m=ft(30.0))
    costs = {"cost_per_box": 1.0, "cost_per_setup": 50.0}
    run = run_of(route((1.0, 0.0, 0.0), [ft(100.0)]))
    job = box_job(0.2, limits=limits, max_tension_lbf=1e5, most=2, **costs)
    assert study(run, job).cheapest is None
    allowed = study(run, replace(job, boxes=replace(job.boxes, most=3))).cheapest
    # boxes that only end the count of length need no set-up of their own
    assert (allowed.setups, allowed.count, allowed.cost) == (1, 3, 53.0)


def test_cost_of_refed_boxes_counts_every_pull() -> None:
    job = box_job(cost_per_box=10.0, cost_per_setup=7.0)
    pricing = LegPricing(run_of(level_run([20.0] * 3).centerline, [(ft(8), Passage.REFEED)]), job)
    assert cost_of(pricing, 2) == 2 * 10.0 + 4 * 7.0
    assert cost_of(LegPricing(four_nineties(), box_job()), 2) is None


def test_run_has_to_be_named_where_there_are_several() -> None:
    from analyzer.studies.boxes import find_boxes

    runs = [replace(four_nineties(), name=name) for name in ("A", "B")]
    analysis = analyze(runs, box_job(most=1))
    with pytest.raises(InputError, match="there are 2 runs, name one: A, B"):
        find_boxes(analysis)
    with pytest.raises(InputError, match="there is no run 'C'; there is A, B"):
        find_boxes(analysis, "C")
    assert find_boxes(analysis, "B").analyzed.run.name == "B"
    assert find_boxes(analysis, "b").analyzed.run.name == "B"


def test_run_is_named_in_one_way_by_the_job_and_the_command() -> None:
    from analyzer.studies.boxes import find_boxes

    job = box_job(0.35, most=1, candidates_m=(ft(70.0),))
    for spelled, names in (("r  1", ("R 1", "R 2")), ("r1", ("r1", "R1"))):
        runs = [replace(four_nineties(), name=name) for name in names]
        analysis = analyze(runs, replace(job, boxes=replace(job.boxes, run=spelled)))
        at = [find_boxes(analysis, name).trade_off[1].boxes[0].station_m for name in names]
        assert [station == ft(70.0) for station in at] == [True, False]


def test_run_name_that_several_are_like_is_refused() -> None:
    from analyzer.studies.boxes import find_boxes

    runs = [replace(four_nineties(), name=name) for name in ("AB", "ab")]
    job = box_job(0.35, most=1)
    with pytest.raises(InputError, match='run "Ab" could be any of "AB", "ab": write'):
        find_boxes(analyze(runs, job), "Ab")
    analysis = analyze(runs, replace(job, boxes=replace(job.boxes, run="Ab")))
    with pytest.raises(JobError, match=r'\[boxes\] names run "Ab", which could be any of "AB"'):
        find_boxes(analysis, "AB")


def test_stations_of_one_run_are_not_used_on_another() -> None:
    from analyzer.studies.boxes import find_boxes

    runs = [replace(four_nineties(), name=name) for name in ("A", "B")]
    job = box_job(0.35, most=1, candidates_m=(ft(70.0),))
    with pytest.raises(InputError, match="say whose they are"):
        find_boxes(analyze(runs, job), "A")
    analysis = analyze(runs, replace(job, boxes=replace(job.boxes, run="A")))
    assert find_boxes(analysis, "A").trade_off[1].boxes[0].station_m == ft(70.0)
    other = find_boxes(analysis, "B").trade_off[1].boxes[0].station_m
    assert other == pytest.approx(ft(100.0), abs=1e-6)
    assert to_lbf(lbf(1.0)) == 1.0
