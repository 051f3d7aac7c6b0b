"""Placements that pass only with a joint: what whole conductors need, against brute force."""

from __future__ import annotations

from itertools import combinations

import pytest
from box_runs import box_job, level_run, random_run, study

from analyzer.geometry.segments import Straight
from analyzer.job.settings import Job, Passage
from analyzer.reports.boxes_in_all_text import boxes_in_all_text
from analyzer.reports.boxes_text import boxes_text
from analyzer.route.run import Run
from analyzer.studies.boxes_costs import LegPricing
from analyzer.studies.boxes_placements import PlacedBox, Placement, place_boxes
from analyzer.studies.boxes_places import find_rooms, fixed_stops, named_stops
from analyzer.studies.boxes_whole import fewest_whole
from analyzer.units import ft, show_share, to_lbf


def vee() -> Run:
    """Three bends near either end of 163 ft: each half is easy toward the middle only."""
    return level_run([10.0, 1.0, 1.0, 136.0, 1.0, 1.0, 10.0], 2.0)


def passes_whole(placed: Placement) -> bool:
    return placed.passes and not placed.joint_count


def whole_share(placed: Placement) -> float | None:
    return placed.share_of_limit if placed.joints is None else placed.joints.whole.share_of_limit


def test_an_answer_with_a_joint_has_the_fewest_boxes_without_one_beside_it() -> None:
    """To the middle from both sides about 10.5 e^0.525π + 72 lbf; away from it thrice as much."""
    result = study(vee(), box_job(0.35, max_tension_lbf=150.0, spacing_m=ft(4.0)))
    assert (result.fewest, result.best.joint_count) == (1, 1)
    assert result.best.joints.places == ("New box 1",)
    assert not result.best.joints.whole.passes
    assert result.whole.count == 2
    assert passes_whole(result.whole)
    (caution,) = [check for check in result.caution_checks if check.code == "joint"]
    assert "toward New box 1 from both sides" in caution.message
    assert caution.message.endswith(" Plan the joint, or add 2 boxes instead of 1.")


def test_caution_of_a_joint_offers_no_box_where_none_does_without_it() -> None:
    job = box_job(0.35, max_tension_lbf=150.0, spacing_m=ft(4.0), most=1)
    result = study(vee(), job)
    assert (result.best.joint_count, result.whole) == (1, None)
    (caution,) = [check for check in result.caution_checks if check.code == "joint"]
    assert caution.message.endswith(
        " Plan the joint: no placement tried of up to 1 box does without."
    )


def test_as_many_boxes_elsewhere_may_do_without_a_joint() -> None:
    result = study(vee(), box_job(0.35, max_tension_lbf=200.0))
    assert (result.fewest, result.best.joint_count) == (1, 1)
    assert result.whole.count == 1
    assert passes_whole(result.whole)
    assert result.whole.share_of_limit > result.best.share_of_limit
    (caution,) = [check for check in result.caution_checks if check.code == "joint"]
    assert caution.message.endswith(" Plan the joint, or place the box elsewhere.")


def test_row_and_total_leave_out_a_joint_that_as_many_boxes_elsewhere_spare() -> None:
    """Toward the middle about 11 e^0.525π + 72 lbf at most; one way past it more, yet allowed."""
    spared = study(vee(), box_job(0.35, max_tension_lbf=200.0, spacing_m=ft(4.0)))
    needed = study(vee(), box_job(0.35, max_tension_lbf=150.0, spacing_m=ft(4.0)))
    share = show_share(whole_share(spared.whole))
    (row,) = [line for line in boxes_text(spared, width=200).splitlines() if "* 1" in line]
    assert row.endswith(f", elsewhere without {share}")
    assert "elsewhere without" not in boxes_text(needed, width=200)
    in_all = " ".join(boxes_in_all_text([spared, needed]).split())
    assert in_all.startswith("In all, 2 runs: 2 boxes to add and 1 joint to make. ")
    name = spared.analyzed.run.name
    assert f"The boxes of {name} are counted at places that take no joint." in in_all


def test_no_joint_is_counted_where_whole_conductors_pass_or_all_go_one_way() -> None:
    wide = study(vee(), box_job(0.35, max_tension_lbf=600.0, most=1))
    assert (wide.fewest, wide.best.joint_count, wide.whole) == (1, 0, None)
    assert wide.best.joints.whole.passes
    one_way = study(vee(), box_job(0.35, max_tension_lbf=200.0, most=3, direction="forward"))
    assert one_way.best.passes
    assert {row.joints for row in one_way.trade_off} == {None}


def by_brute_force(run: Run, job: Job) -> tuple[int, float] | None:
    """Fewest boxes of the candidates with which whole conductors pass, and their least share."""
    for count in range(job.boxes.most + 1):
        shares = []
        for stations in combinations(job.boxes.candidates_m, count):
            placed = place_boxes(run, job, [PlacedBox(station) for station in stations])
            if passes_whole(placed):
                shares.append(whole_share(placed))
        if shares:
            return count, min(shares)
    return None


def test_fewest_boxes_for_whole_conductors_are_those_of_brute_force() -> None:
    """Four places of a random run in 3D that has a box already, at several limits."""
    found = set()
    for seed, part in ((0, 0.6), (1, 0.6), (1, 0.8), (3, 0.3), (4, 0.2), (7, 0.45)):
        run = random_run(seed, bends=5, boxes=[(0.5, Passage.REFEED)] if seed % 2 else [])
        limit_n = part * place_boxes(run, box_job(), ()).max_tension_n
        places = first_places(run)
        job = box_job(max_tension_lbf=to_lbf(limit_n), candidates_m=places, most=3)
        pricing = LegPricing(run, job)
        named, _ = named_stops(find_rooms(run, job), job)
        stops = sorted((*fixed_stops(run, job), *named), key=lambda stop: stop.station_m)
        chosen = fewest_whole(pricing, pricing.price(stops), 0, 3)
        brute = by_brute_force(run, job)
        assert (chosen is None) == (brute is None)
        if chosen is None or brute is None:
            continue
        stations = [stop.station_m for stop in chosen if not stop.is_fixed]
        placed = place_boxes(run, job, [PlacedBox(station) for station in stations])
        assert passes_whole(placed)
        assert len(stations) == brute[0]
        assert whole_share(placed) == pytest.approx(brute[1], rel=1e-9)
        found.add(brute[0])
    assert found == {1, 2, 3}


def first_places(run: Run) -> tuple[float, ...]:
    """A place on each of the longest four straights, away from a box in the middle."""
    line = run.centerline
    ends = list(zip(line.stations_m[:-1], line.stations_m[1:], line.segments, strict=True))
    straights = sorted(
        (low - high, (2 * low + high) / 3) for low, high, part in ends if isinstance(part, Straight)
    )
    return tuple(sorted(place for _, place in straights[:4]))
