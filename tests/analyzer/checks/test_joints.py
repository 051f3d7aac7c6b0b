"""Boxes pulled to from both sides: said where whole conductors keep no limit.

Sums by hand: w k L on level straights, T e^(k a) in sharp bends, at 3 lbf/ft and friction 0.35.
"""

from __future__ import annotations

from itertools import product
from math import exp, pi

import numpy as np
import pytest

from analyzer.checks.directions import heads_meet_at
from analyzer.checks.joints import best_whole_pulling, joint_need
from analyzer.findings import Verdict
from analyzer.job.settings import Friction, Job, Limits, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction
from analyzer.route.legs import split_into_legs
from analyzer.route.run import Run
from analyzer.studies.feeding import study_feeding
from analyzer.units import lbf_per_ft, to_lbf

SHARP = 1e-3
NORTH, EAST = ((0, 1, 0), SHARP), ((1, 0, 0), SHARP)
WEST = ((-1, 0, 0), SHARP)
TOWARD = [10.0, NORTH, WEST, NORTH, 120.0, EAST, NORTH, EAST, 10.0]
"""Three bends at either end: fed there 10.5 e^0.525π + 63 = 118 lbf to the middle, the other way
63 e^0.525π + 10.5 = 338 lbf."""

EASY, HARD = 10.5 * exp(0.525 * pi) + 63.0, 63.0 * exp(0.525 * pi) + 10.5


def _job(make_job, max_tension_lbf: float | None) -> Job:
    return make_job(
        max_tension_lbf=max_tension_lbf,
        friction=Friction(0.35, 0.35, 0.35),
        limits=Limits(sidewall_pressure_n_per_m=lbf_per_ft(1e9), sidewall_from="job"),
        raceway=("HDPE", "5"),
    )


def test_limits_kept_only_with_a_joint_are_a_caution(make_run, make_job, make_box, check) -> None:
    """Fed at Panel P1 the second leg takes 60.9 e^0.525π + 10.5 lbf."""
    run = make_run(TOWARD, [make_box("Box A", 72.0, Passage.REFEED)])
    result = check(run, _job(make_job, 200.0))
    assert result.verdict is Verdict.CAUTION
    (joint,) = result.of("joint")
    assert (joint.verdict, joint.value, joint.unit) == (Verdict.CAUTION, 1.0, "count")
    assert joint.where == "Box A, station 72.0 ft"
    assert joint.message == (
        "The limits are kept only by pulling toward Box A from both sides, with the conductors cut "
        "and joined there. Whole conductors, at best fed at Panel P1, fail: conductor tension, 327 "
        "lbf of 200 lbf (164 %). Plan the joint, or add a box."
    )


@pytest.mark.parametrize(
    ("allowed_lbf", "verdict"), [(HARD + 0.5, Verdict.PASS), (EASY - 0.5, Verdict.FAIL)]
)
def test_no_caution_where_whole_conductors_pass_or_nothing_does(
    make_run, make_job, make_box, check, allowed_lbf: float, verdict: Verdict
) -> None:
    run = make_run(TOWARD, [make_box("Box A", 70.0, Passage.REFEED)])
    result = check(run, _job(make_job, allowed_lbf))
    assert (result.verdict, result.of("joint")) == (verdict, [])


def test_fed_from_a_box_both_ways_needs_no_joint(make_run, make_job, make_box, check) -> None:
    outward = [60.0, NORTH, WEST, 20.0, NORTH, WEST, 60.0]
    run = make_run(outward, [make_box("Box A", 70.0, Passage.REFEED)])
    result = check(run, _job(make_job, 150.0))
    assert (result.verdict, result.of("joint")) == (Verdict.PASS, [])


def test_every_box_pulled_to_from_both_sides_is_named(make_run, make_job, make_box, check) -> None:
    boxes = [make_box(n, at, Passage.REFEED) for n, at in (("A", 70.0), ("B", 140.0), ("C", 210.0))]
    run = make_run([*TOWARD, *TOWARD], boxes)
    (joint,) = check(run, _job(make_job, 200.0)).of("joint")
    assert joint.value == 2.0
    assert "toward A, C from both sides" in joint.message
    assert "cut and joined at each of them" in joint.message
    assert "Plan the joints" in joint.message


def test_reels_may_stand_at_a_box_that_is_passed_through(
    make_run, make_job, make_box, check
) -> None:
    moves = [10.0, NORTH, 40.0, WEST, NORTH, 40.0, EAST, 10.0]
    run = make_run(moves, [make_box("Box A", 70.0, Passage.THROUGH)])
    job = _job(make_job, 5000.0)
    whole = _whole(run, job)
    assert whole.feed_at == "Box A"
    study = study_feeding(run, job)
    assert whole.max_tension_n == pytest.approx(study.best.greatest_tension_n)


def _whole(run: Run, job: Job):
    legs = split_into_legs(run)
    ways = [pull_legs(run, legs, job, way) for way in Direction]
    return best_whole_pulling(run, legs, ways[0], ways[1], job)


def test_best_whole_pulling_is_that_of_the_plan(make_run, make_job, make_box) -> None:
    """Two ways to the same answer, over every passage of three boxes on random runs."""
    rng = np.random.default_rng(20261130)
    job = _job(make_job, 300.0)
    for passages in product(Passage, repeat=3):
        moves = [float(rng.uniform(5.0, 60.0))]
        for turn in range(4):
            moves += [(NORTH, EAST)[turn % 2], float(rng.uniform(5.0, 60.0))]
        length = sum(move for move in moves if isinstance(move, float))
        places = sorted(rng.uniform(0.1, 0.9, 3) * length)
        boxes = [
            make_box(name, float(at), passage)
            for name, at, passage in zip("ABC", places, passages, strict=True)
        ]
        run = make_run(moves, boxes)
        best, whole = study_feeding(run, job).best, _whole(run, job)
        assert whole.feed_at == best.feed.name
        assert whole.set_ups == len(best.set_ups)
        shares = sorted(item.share_of_limit for item in best.set_ups)
        assert sorted(whole.set_up_shares) == pytest.approx(shares, rel=1e-9)
        assert whole.max_tension_n == pytest.approx(best.greatest_tension_n, rel=1e-9)
        assert whole.governing.share == pytest.approx(best.share_of_limit, rel=1e-9)


@pytest.mark.parametrize(("second_ft", "is_gentler"), [(5.0, False), (17.0, False), (18.0, True)])
def test_joint_is_gentler_only_where_it_lowers_the_largest_share(
    make_run, make_job, make_box, second_ft: float, is_gentler: bool
) -> None:
    """Leg 1 takes 21 e^0.35π + 105 = 168 lbf with the joint and without it.

    Leg 2 is pulled toward the box with the joint, forward into its four bends without it: 162 lbf
    where it starts with 17 ft, 171 lbf with 18 ft.
    """
    moves = [20.0, NORTH, EAST, 100.0, second_ft, NORTH, EAST, NORTH, EAST, 1.0]
    run = make_run(moves, [make_box("Box A", 120.0, Passage.REFEED)])
    job, legs = _job(make_job, 1000.0), split_into_legs(run)
    ahead, back = (pull_legs(run, legs, job, way) for way in Direction)
    need = joint_need(run, legs, ahead, back, [Direction.FORWARD, Direction.REVERSE], job)
    assert need is not None
    first, second = ahead[0].share_of_limit, ahead[1].share_of_limit
    assert need.whole.share_of_limit == pytest.approx(max(first, second), rel=1e-12)
    assert first == pytest.approx((21.0 * exp(0.35 * pi) + 105.0) / 1000.0, rel=1e-3)
    assert back[1].share_of_limit < first
    assert need.is_gentler is is_gentler


def test_whole_conductors_are_fed_where_the_easier_legs_are_easiest_too(
    make_run, make_job, make_box
) -> None:
    """Leg 2 is the worst from the box as from Panel P1; leg 1 is easier from the box."""
    moves = [20.0, NORTH, 55.0, EAST, NORTH, 100.0]
    run, job = make_run(moves, [make_box("Box A", 25.0, Passage.REFEED)]), _job(make_job, 300.0)
    whole = _whole(run, job)
    assert whole.feed_at == study_feeding(run, job).best.feed.name == "Box A"
    # leg 1 5.25 e^0.175π + 21 lbf, leg 2 52.5 e^0.35π + 105 lbf, of 300 lbf
    pulls = (5.25 * exp(0.175 * pi) + 21.0, 52.5 * exp(0.35 * pi) + 105.0)
    assert whole.set_up_shares == pytest.approx([value / 300.0 for value in pulls], rel=1e-3)


def test_whole_conductors_have_no_share_where_no_limit_is_known(
    make_run, make_job, make_box
) -> None:
    run = make_run([50.0], [make_box("Box A", 20.0, Passage.REFEED)])
    whole = _whole(run, _job(make_job, None))
    assert whole.share_of_limit is None
    assert set(whole.set_up_shares) == {None}


def test_heads_meet_where_a_leg_pulled_forward_ends_beside_one_in_reverse(
    make_run, make_job, make_box
) -> None:
    run = make_run(TOWARD, [make_box("Box A", 70.0), make_box("Box B", 100.0)])
    legs, job = split_into_legs(run), _job(make_job, 200.0)
    pulls = {way: pull_legs(run, legs, job, way) for way in Direction}
    ahead, back = Direction.FORWARD, Direction.REVERSE

    def met(*ways: Direction) -> tuple[str, ...]:
        return heads_meet_at([pulls[way][index] for index, way in enumerate(ways)])

    assert met(ahead, ahead, ahead) == met(back, back, ahead) == met(back, ahead, ahead) == ()
    assert met(ahead, back, back) == met(ahead, back, ahead) == ("Box A",)
    assert met(ahead, ahead, back) == met(back, ahead, back) == ("Box B",)
    assert to_lbf(pulls[ahead][0].high.max_tension_n) == pytest.approx(EASY, abs=0.1)
