"""Which end, and from where: the worked route, and every choice against brute force."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from plan_routes import (
    JUST_PAST_FT,
    bent_run,
    heavy_job,
    level_bent,
    level_sharp,
    random_boxed_run,
    without_tension_limit,
)
from pull_jobs import run_with
from pull_routes import route

from analyzer.errors import InputError
from analyzer.job.settings import Job, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction
from analyzer.route.legs import split_into_legs
from analyzer.route.run import Run
from analyzer.studies.feeding import choice_from, set_up_between, study_feeding
from analyzer.studies.feeding_reasons import set_up_reason
from analyzer.units import ft, to_lbf

HALF = 0.05  # half of the last digit given


def four_leg_run(passage: Passage, *, stated: bool = True) -> Run:
    """60 ft, 90 | 50 ft, 90, 20 ft | 80 ft, 90, 90 | 40 ft, 90, 30 ft, sharp, level."""
    e = JUST_PAST_FT
    line = level_sharp([60, "90", e, 50, "90", 20, 80, "90", e, "90", e, 40, "90", 30])
    stations = (60 + e, 130 + e, 210 + 3 * e)
    run = run_with(line, [(ft(s), passage) for s in stations])
    return replace(run, fittings=tuple(replace(f, passage_stated=stated) for f in run.fittings))


def test_feeding_from_each_pull_point_of_a_run_passed_through() -> None:
    # derived from the string model with sharp bends; the larger of the two pulls
    places = study_feeding(four_leg_run(Passage.THROUGH), heavy_job()).places
    tensions = [to_lbf(choice.greatest_tension_n) for choice in places]
    assert tensions == pytest.approx([2108.4, 1124.0, 541.4, 469.3, 1340.2], abs=HALF)
    assert [len(choice.set_ups) for choice in places] == [1, 2, 2, 2, 1]


def test_where_no_limit_is_known_there_is_no_share_and_the_tension_decides() -> None:
    run = bent_run(level_bent([50.0]), [(20.0, Passage.REFEED)])
    study = study_feeding(run, without_tension_limit(heavy_job()))
    assert {choice.share_of_limit for choice in study.places} == {None}
    assert {item.share_of_limit for item in study.best.set_ups} == {None}
    least = min(choice.greatest_tension_n for choice in study.places)
    assert study.best.greatest_tension_n == pytest.approx(least)


def test_brake_of_a_feeding_place_is_the_greatest_of_its_set_ups() -> None:
    # 10 m level, a box, then 30 m straight down: w L, less 0.2 w for each meter of the level part
    line = route((1.0, 0.0, 0.0), [10.0, ("corner", (0.0, 0.0, -1.0)), 30.0])
    run, job = run_with(line, [(10.0, Passage.REFEED)]), heavy_job((0.2, 0.35, 0.5))
    weight = job.pulling_weight_n_per_m
    choice = choice_from(run, job, "start")
    brakes = [item.pull.braked.hold_back_n for item in choice.set_ups]
    assert brakes == pytest.approx([0.0, 30.0 * weight])
    assert choice.hold_back_n == pytest.approx(30.0 * weight)


def test_set_up_rises_in_the_direction_it_is_pulled() -> None:
    run = run_with(route((0.0, 0.0, 1.0), [12.0]))
    start, end = run.fittings
    assert set_up_between(run, heavy_job(), start, end).rise_m == pytest.approx(12.0)
    assert set_up_between(run, heavy_job(), end, start).rise_m == pytest.approx(-12.0)


def test_refed_at_every_box() -> None:
    study = study_feeding(four_leg_run(Passage.REFEED), heavy_job())
    assert to_lbf(study.places[0].greatest_tension_n) == pytest.approx(252.2, abs=HALF)
    each = max(item.greatest_tension_n for item in study.each_better)
    assert to_lbf(each) == pytest.approx(96.6, abs=HALF)
    assert len(study.fewest) == 1


def test_best_place_of_the_run_passed_through_is_the_third_box() -> None:
    study = study_feeding(four_leg_run(Passage.THROUGH), heavy_job())
    assert study.best.feed.name == "Box 3"
    back, ahead = study.best.lengths_m
    assert (back, ahead) == pytest.approx((ft(210), ft(70)), abs=ft(0.001))
    # the longer half comes off the reels first
    assert study.best.set_ups[0].pull_to.name == "start"


def test_of_places_with_the_same_worst_set_up_that_with_the_easier_others_is_best() -> None:
    """Leg 2 is the worst, from the box as from the start; leg 1 is easier from the box.

    At 3 lbf/ft and 0.35: leg 1 21 e^0.175π + 5.25 = 41.6 lbf, from the box 5.25 e^0.175π + 21 =
    30.1 lbf; leg 2 52.5 e^0.35π + 105 = 262.6 lbf.
    """
    line = level_sharp([20, "90", 5, 50, "90", JUST_PAST_FT, "90", 100])
    run = run_with(line, [(ft(25), Passage.REFEED)])
    study = study_feeding(run, heavy_job())
    worst = [to_lbf(choice.greatest_tension_n) for choice in study.places]
    assert worst[:2] == pytest.approx([262.6, 262.6], abs=HALF)
    assert worst[2] > worst[0]
    assert study.best.feed.name == "Box 1"
    shares = sorted(to_lbf(item.greatest_tension_n) for item in study.best.set_ups)
    assert shares == pytest.approx([30.1, 262.6], abs=HALF)
    assert study.as_good_as_best == ()


def test_places_that_only_custom_tells_apart_are_named() -> None:
    study = study_feeding(run_with(level_sharp([40, "90", 40])), heavy_job())
    assert (study.best.feed.name, study.as_good_as_best) == ("start", ("end",))


def test_one_box_more_fed_again_is_never_worse_on_level_ground() -> None:
    fewest = study_feeding(four_leg_run(Passage.REFEED, stated=False), heavy_job()).fewest
    assert [len(choice.set_ups) for choice in fewest] == [1, 2, 3, 4]
    tensions = [choice.greatest_tension_n for choice in fewest]
    assert tensions == sorted(tensions, reverse=True)
    # with two set-ups one may feed at an end and refeed once, or feed in the middle
    assert to_lbf(tensions[1]) < 469.3


def choices_by_brute_force(run: Run, job: Job) -> dict[int, tuple[float, float]]:
    """Least (share, tension) by number of set-ups: every feed, every passage left open.

    Through the legs of the run as the analysis pulls them, box by box, not through the study.
    """
    stops = [fitting for fitting in run.fittings if fitting.pull_point]
    best: dict[int, tuple[float, float]] = {}
    for feed in range(len(stops)):
        inner = [f for f in stops[1:-1] if f is not stops[feed]]
        options = [
            [fitting.passage] if fitting.passage_stated else list(Passage) for fitting in inner
        ]
        for passages in product(*options):
            chosen = dict(zip((f.name for f in inner), passages, strict=True))
            changed = replace(
                run,
                fittings=tuple(
                    replace(f, passage=chosen.get(f.name, Passage.REFEED)) for f in run.fittings
                ),
            )
            legs = split_into_legs(changed)
            pulls = [
                *pull_legs(changed, legs[:feed], job, Direction.REVERSE),
                *pull_legs(changed, legs[feed:], job, Direction.FORWARD),
            ]
            refed = sum(passage is Passage.REFEED for passage in passages)
            number = refed + (1 if feed in (0, len(stops) - 1) else 2)
            share = max(pull.share_of_limit or 0.0 for pull in pulls)
            tension = max(pull.high.max_tension_n for pull in pulls)
            key = (share, tension)
            old = best.get(number)
            if old is None or better(key, old):
                best[number] = key
    return best


def better(one: tuple[float, float], other: tuple[float, float]) -> bool:
    if abs(one[0] - other[0]) > 1e-9 * max(one[0], other[0]):
        return one[0] < other[0]
    return one[1] < other[1]


def test_best_choices_equal_brute_force_on_two_hundred_random_runs() -> None:
    rng = np.random.default_rng(20260401)
    for _ in range(200):
        run = random_boxed_run(rng)
        job = heavy_job((0.2, 0.35, float(rng.uniform(0.35, 0.6))))
        fewest = study_feeding(run, job).fewest
        brute = choices_by_brute_force(run, job)
        assert {len(choice.set_ups) for choice in fewest} == set(brute)
        for choice in fewest:
            share, tension = brute[len(choice.set_ups)]
            assert choice.share_of_limit == pytest.approx(share, rel=1e-8)
            assert choice.greatest_tension_n == pytest.approx(tension, rel=1e-8)


def test_a_set_up_of_one_leg_is_the_pull_of_the_analysis() -> None:
    run, job = four_leg_run(Passage.REFEED), heavy_job()
    for leg in split_into_legs(run):
        (pull,) = pull_legs(run, (leg,), job, Direction.REVERSE)
        assert set_up_between(run, job, leg.end, leg.start).pull == pull


def test_feeding_place_that_is_not_there_is_refused_with_those_that_are() -> None:
    with pytest.raises(InputError, match="no pull point 'Box 9': there are start, Box 1"):
        choice_from(four_leg_run(Passage.REFEED), heavy_job(), "Box 9")


def test_boxes_where_two_heads_meet_need_joined_conductors() -> None:
    # each leg with its bends at one end: better fed there, so both heads meet in the box
    line = route(
        (1.0, 0.0, 0.0),
        [2.0, (0.5, 1.5, (0, 1, 0)), 30.0, 30.0, (0.5, 1.5, (0, 0, 1)), 2.0],
    )
    box = 2.0 + 0.75 + 30.0
    study = study_feeding(bent_run(line, [(box, Passage.REFEED)]), heavy_job())
    assert study.joints == ("Box 1",)


def test_reason_names_the_bend_that_meets_less_this_way() -> None:
    line = route((1.0, 0.0, 0.0), [2.0, (0.5, 1.5, (0, 1, 0)), 50.0])
    run, job = bent_run(line), heavy_job()
    set_up = study_feeding(run, job).best.set_ups[0]
    reason = set_up_reason(run, job, set_up)
    assert set_up.feed.name == "start"
    (load,) = reason.bends
    weight = job.pulling_weight_n_per_m
    assert load.arriving_n == pytest.approx(0.35 * weight * 2.0)
    assert load.other_arriving_n == pytest.approx(0.35 * weight * 50.0)
    assert load.saved_n > 0.0
