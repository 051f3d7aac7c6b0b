"""Checks of tension and sidewall pressure, of directions, and of passages not stated.

Tensions follow by hand from T + k w L on level straights and T e^(k a) in sharp bends without
weight; the bends here have a radius of 0.001 ft, so values agree to the digits given.

One long file, because all tests share the turns and jobs made at its top.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.catalog.conductors import find_conductor
from analyzer.checks.directions import better_way
from analyzer.checks.run_checks import count_not_checked, needed_not_made, verdict_of
from analyzer.findings import Finding, Severity, Verdict
from analyzer.job.settings import (
    Attachment,
    ConductorLine,
    Friction,
    Limits,
    Passage,
    PullSettings,
)
from analyzer.pulling.results import Direction
from analyzer.units import lbf, lbf_per_ft, to_lbf, to_lbf_per_ft

SHARP = 1e-3
NORTH, EAST = ((0, 1, 0), SHARP), ((1, 0, 0), SHARP)
WEST, SOUTH = ((-1, 0, 0), SHARP), ((0, -1, 0), SHARP)
TWO_THEN_ONE = [20.0, NORTH, WEST, 150.0, NORTH, 30.0]
"""At k 0.35 and 3 lbf/ft: ((21 e^0.35π) + 157.5) e^0.175π + 31.5 = 414 lbf; reverse 658 lbf."""

FOUR_BENDS = [40.0, NORTH, 40.0, WEST, 40.0, NORTH, 40.0, WEST, 40.0]
"""200 ft with four bends, at k 0.35: 838.16 lbf through, 219.90 and 177.84 refed at 100 ft."""

ANY_SIDEWALL = Limits(sidewall_pressure_n_per_m=lbf_per_ft(1e9), sidewall_from="job")
K35 = Friction(0.35, 0.35, 0.35)


def _job(make_job, max_tension_lbf: float, friction: Friction = K35, **values):
    """A job in a raceway without a table radius, so that sharp bends fail nothing."""
    values.setdefault("limits", ANY_SIDEWALL)
    values.setdefault("raceway", ("HDPE", "5"))
    return make_job(max_tension_lbf=max_tension_lbf, friction=friction, **values)


def test_tension_of_both_directions_is_the_published_one(make_run, make_job, check) -> None:
    result = check(make_run(TWO_THEN_ONE), _job(make_job, 5000.0))
    forward = result.one("conductor-tension", "Leg 1", "forward")
    reverse = result.one("conductor-tension", "Leg 1", "reverse")
    assert to_lbf(forward.value) == pytest.approx(414, abs=0.5)
    assert to_lbf(reverse.value) == pytest.approx(658, abs=0.5)
    assert "feed at Panel P1, pull at Chiller: conductor tension 414 lbf" in forward.message
    assert "feed at Chiller, pull at Panel P1: conductor tension 658 lbf" in reverse.message


def test_verdict_counts_the_better_direction_and_shows_the_worse(make_run, make_job, check) -> None:
    result = check(make_run(TWO_THEN_ONE), _job(make_job, 500.0))
    forward = result.one("conductor-tension", "Leg 1", "forward")
    reverse = result.one("conductor-tension", "Leg 1", "reverse")
    assert (forward.verdict, forward.counts) == (Verdict.PASS, True)
    assert (reverse.verdict, reverse.counts) == (Verdict.FAIL, False)
    assert "Pull it the other way: feed at Panel P1, pull at Chiller." in reverse.message
    assert result.verdict is Verdict.PASS


def test_verdict_fails_where_neither_direction_passes(make_run, make_job, check) -> None:
    result = check(make_run(TWO_THEN_ONE), _job(make_job, 400.0))
    assert result.verdict is Verdict.FAIL
    failing = [c for c in result.checks if c.verdict is Verdict.FAIL]
    assert [c.direction for c in failing] == ["forward", "reverse"]
    assert not any("other way" in c.message for c in failing)


def test_equal_directions_count_forward(make_run, make_job, check) -> None:
    result = check(make_run([100.0]), _job(make_job, 500.0))
    assert result.one("conductor-tension", "Leg 1", "forward").counts
    assert not result.one("conductor-tension", "Leg 1", "reverse").counts


def test_legs_passed_through_are_judged_in_one_direction(
    make_run, make_job, make_box, check
) -> None:
    """A leg that passes forward beside one that passes in reverse is no way through for one pull.

    First leg: long, then bends: better in reverse. Second: bends, then long: better forward. Each
    alone passes 150 lbf its own way (refed); passed through, one direction holds for both.
    """
    moves = [60.0, NORTH, WEST, 20.0, NORTH, WEST, 60.0]
    refed = make_run(moves, [make_box("Box A", 70.0, Passage.REFEED)])
    through = make_run(moves, [make_box("Box A", 70.0, Passage.THROUGH)])
    job = _job(make_job, 150.0)
    assert check(refed, job).verdict is Verdict.PASS
    assert check(through, job).verdict is Verdict.FAIL
    counted = {c.leg: c.direction for c in check(through, job).of("conductor-tension") if c.counts}
    assert len(set(counted.values())) == 1
    refed_ways = {c.leg: c.direction for c in check(refed, job).of("conductor-tension") if c.counts}
    assert refed_ways == {"Leg 1": "reverse", "Leg 2": "forward"}


@pytest.mark.parametrize(
    ("allowed_lbf", "verdict"),
    [(105.0, Verdict.PASS), (105.0 * (1 - 0.9e-6), Verdict.PASS), (104.999, Verdict.FAIL)],
)
def test_tension_is_compared_with_a_relative_millionth(
    make_run, make_job, check, allowed_lbf: float, verdict: Verdict
) -> None:
    """100 ft level at 3 lbf/ft and friction 0.35: 105 lbf."""
    result = check(make_run([100.0]), _job(make_job, allowed_lbf))
    tension = result.one("conductor-tension", "Leg 1", "forward")
    assert tension.verdict is verdict
    assert tension.unit == "N"


def test_a_limit_passed_by_little_is_not_written_as_kept(make_run, make_job, check) -> None:
    result = check(make_run([100.0]), _job(make_job, 104.999))
    assert "just over 100 % of it" in result.one("conductor-tension", "Leg 1", "forward").message


def test_high_friction_governs_the_pull_and_low_friction_the_brake(
    make_run, make_job, check
) -> None:
    job = _job(make_job, 5000.0, Friction(0.20, 0.35, 0.50))
    result = check(make_run([20.0, ((0, 0, -1), SHARP), 100.0]), job)
    pulled = result.one("conductor-tension", "Leg 1", "reverse")
    assert to_lbf(pulled.value) == pytest.approx(688, abs=0.5)  # 300 e^(0.5 pi/2) + 30
    braked = result.one("tension-braked", "Leg 1", "forward")
    assert to_lbf(braked.value) == pytest.approx(300.0, abs=0.01)
    assert "held back at low friction, conductor tension 300 lbf" in braked.message


def test_braked_state_of_a_box_passed_through(make_run, make_job, make_box, check) -> None:
    """20 ft level, 90° down R 2 ft, 5 ft, box passed through, 95 ft drop, k 0.2: 300 lbf, 285.

    100 ft and 95 ft of drop hang at 3 lbf/ft.
    """
    moves = [20.0, ((0, 0, -1), 2.0), 100.0]
    box = make_box("Box A", 20.0 + 3.14159265358979 + 5.0, Passage.THROUGH)
    job = _job(make_job, 5000.0, Friction(0.2, 0.35, 0.5))
    result = check(make_run(moves, [box]), job)
    first = result.one("tension-braked", "Leg 1", "forward")
    second = result.one("tension-braked", "Leg 2", "forward")
    assert to_lbf(first.value) == pytest.approx(300.0, abs=0.005)
    assert to_lbf(second.value) == pytest.approx(285.0, abs=0.005)


def test_braked_state_can_fail_where_the_pull_passes(make_run, make_job, check) -> None:
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(350.0), sidewall_from="job")
    job = _job(make_job, 5000.0, Friction(0.2, 0.35, 0.5), limits=limits)
    result = check(make_run([20.0, ((0, 0, -1), 9.5 / 12), 100.0]), job)
    assert result.one("sidewall", "Leg 1", "forward").verdict is Verdict.PASS
    braked = result.one("sidewall-braked", "Leg 1", "forward")
    # 300 lbf over 9.5 in
    assert to_lbf_per_ft(braked.value) == pytest.approx(300 / (9.5 / 12), rel=2e-3)
    assert braked.verdict is Verdict.FAIL


def test_one_friction_number_on_a_drop_is_a_caution(make_run, make_job, check) -> None:
    drop = [20.0, ((0, 0, -1), 2.0), 100.0]
    result = check(make_run(drop), _job(make_job, 5000.0))
    braked = result.one("tension-braked", "Leg 1", "forward")
    assert braked.verdict is Verdict.CAUTION
    assert "give a band" in braked.message
    assert result.one("tension-braked", "Leg 1", "reverse").verdict is Verdict.PASS
    banded = check(make_run(drop), _job(make_job, 5000.0, Friction(0.2, 0.35, 0.5)))
    assert banded.one("tension-braked", "Leg 1", "forward").verdict is Verdict.PASS


def test_one_friction_number_on_a_slope_it_just_holds_is_a_caution(
    make_run, make_job, check
) -> None:
    """A slope of 0.3: friction 0.35 holds the string, 0.2 would not."""
    slope = make_run([100.0], heading=(1.0, 0.0, -0.3))
    braked = check(slope, _job(make_job, 500.0)).one("tension-braked", "Leg 1", "forward")
    assert braked.value == 0.0
    assert braked.verdict is Verdict.CAUTION
    flat = make_run([100.0], heading=(1.0, 0.0, -0.1))
    assert check(flat, _job(make_job, 500.0)).verdict is Verdict.PASS


def test_assumed_friction_is_a_caution_only_where_it_moves_a_figure(
    make_run, make_job, check
) -> None:
    job = _job(make_job, 5000.0, Friction(0.2, 0.35, 0.5, stated=False))
    result = check(make_run(TWO_THEN_ONE), job)
    assert result.one("conductor-tension", "Leg 1", "forward").verdict is Verdict.CAUTION
    assert result.one("tension-braked", "Leg 1", "forward").verdict is Verdict.PASS
    assert result.verdict is Verdict.CAUTION
    failing = check(make_run(TWO_THEN_ONE), replace_limit(job, 100.0))
    assert failing.one("conductor-tension", "Leg 1", "forward").verdict is Verdict.FAIL


def replace_limit(job, max_tension_lbf: float):
    """Return the job with another tension limit of its one conductor."""
    line = job.conductors[0]
    conductor = replace(line.conductor, max_tension_n=lbf(max_tension_lbf))
    return replace(job, conductors=(replace(line, conductor=conductor),))


def test_assumed_sidewall_limit_is_a_caution(make_run, make_job, check) -> None:
    limits = Limits()
    job = _job(make_job, 5000.0, Friction(0.2, 0.35, 0.5), limits=limits)
    result = check(make_run([10.0, ((0, 1, 0), 2.0), 10.0]), job)
    sidewall = result.one("sidewall", "Leg 1", "forward")
    assert sidewall.verdict is Verdict.CAUTION
    assert sidewall.limit == pytest.approx(lbf_per_ft(300))
    assert "sidewall pressure limit assumed" in sidewall.message
    assert result.verdict is Verdict.CAUTION


def test_unconfirmed_table_value_makes_a_pass_a_caution(make_run, make_job, check) -> None:
    """The published weight of 14 AWG XHHW-2 copper was read on one page only."""
    lines = [ConductorLine(3, find_conductor("14", "XHHW-2", "copper"))]
    result = check(make_run([100.0]), make_job(lines, limits=ANY_SIDEWALL))
    tension = result.one("conductor-tension", "Leg 1", "forward")
    assert tension.verdict is Verdict.CAUTION
    assert "a table value of 14 AWG XHHW-2 copper is not confirmed" in tension.message
    # nothing is held back on a level run, so no table value moves that figure
    assert result.one("tension-braked", "Leg 1", "forward").verdict is Verdict.PASS


def test_unconfirmed_inside_diameter_makes_a_clearance_a_caution(make_run, make_job, check) -> None:
    job = make_job(raceway=("IMC", "4"), limits=ANY_SIDEWALL)
    clearance = check(make_run([100.0]), job).one("clearance")
    assert clearance.verdict is Verdict.CAUTION
    assert "IMC 4 is not confirmed" in clearance.message


def test_leg_without_a_limit_leaves_the_better_way_to_the_others(
    make_run, make_job, make_box, check
) -> None:
    """Only sidewall pressure has a limit, and the straight leg passed through has none.

    Up 80 ft, two bends, 300 ft level: fed at the bottom the bends see less (about 720 against 945
    lbf), although the head leaves with more (about 1,035 against 705 lbf).
    """
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(1000.0), sidewall_from="job")
    moves = [80.0, ((1, 0, 0), 0.5), ((0, 1, 0), 0.5), 300.0]
    run = make_run(moves, [make_box("Box A", 200.0, Passage.THROUGH)], heading=(0, 0, 1))
    job = make_job(max_tension_lbf=None, friction=K35, limits=limits)
    result = check(run, job)
    assert result.forward[1].high.exit_tension_n > result.reverse[0].high.exit_tension_n
    ways = {c.leg: c.direction for c in result.of("sidewall") if c.counts}
    assert ways == {"Leg 1": "forward"}


def test_legs_pulled_in_one_go_without_a_limit_compare_the_tension_at_the_last_head(
    make_run, make_job, make_box, check
) -> None:
    """1 ft, a bend, 61 ft, in k w: 1 x 1.733 + 61 = 63 forward, 61 x 1.733 + 1 = 107 in reverse.

    At the box between them it is the other way round: 51 forward, 12 in reverse.
    """
    run = make_run([1.0, NORTH, 61.0], [make_box("Box A", 50.0, Passage.THROUGH)])
    result = check(run, _job(make_job, 5000.0))
    forward = [replace(pull, shares=()) for pull in result.forward]
    reverse = [replace(pull, shares=()) for pull in result.reverse]
    assert better_way(forward, reverse) is Direction.FORWARD


def test_leg_without_bends_has_no_sidewall_check(make_run, make_job, make_box, check) -> None:
    run = make_run([50.0, ((0, 1, 0), 2.0), 10.0], [make_box("Box A", 40.0, Passage.REFEED)])
    result = check(run, _job(make_job, 5000.0))
    assert {c.leg for c in result.of("sidewall")} == {"Leg 2"}
    assert {c.direction for c in result.of("sidewall")} == {"forward", "reverse"}


def test_grip_line_and_puller_are_checked_when_stated(make_run, make_job, check) -> None:
    pull = PullSettings(
        friction=K35,
        attachment=Attachment.BASKET_GRIP,
        line_working_load_n=lbf(90.0),
        puller_capacity_n=lbf(2000.0),
    )
    result = check(make_run([100.0]), _job(make_job, 5000.0, pull=pull))
    assert result.one("grip-tension", "Leg 1", "forward").limit == pytest.approx(lbf(1000.0))
    line = result.one("line-tension", "Leg 1", "forward")
    assert (line.verdict, line.source) == (Verdict.FAIL, "job: line_working_load")
    assert result.one("puller-tension", "Leg 1", "forward").verdict is Verdict.PASS
    assert result.verdict is Verdict.FAIL


def test_limits_not_stated_are_not_checked_and_say_what_to_add(make_run, make_job, check) -> None:
    result = check(make_run([100.0]), _job(make_job, 5000.0))
    for code, key in (
        ("grip-tension", "attachment"),
        ("line-tension", "line_working_load"),
        ("puller-tension", "puller_capacity"),
    ):
        found = result.one(code)
        assert found.verdict is Verdict.NOT_CHECKED
        assert f"add {key} to [pull]" in found.message
    assert result.verdict is Verdict.PASS
    assert count_not_checked(result.checks) == 4  # these three, and the jam ratio


def test_pulling_eye_leaves_no_grip_to_check(make_run, make_job, check) -> None:
    pull = PullSettings(friction=K35, attachment=Attachment.PULLING_EYE)
    assert check(make_run([100.0]), _job(make_job, 5000.0, pull=pull)).of("grip-tension") == []


def test_run_without_a_conductor_limit_is_not_checked(make_run, make_job, check) -> None:
    job = make_job(max_tension_lbf=None, friction=K35, limits=ANY_SIDEWALL)
    result = check(make_run([100.0]), job)
    tension = result.one("conductor-tension")
    assert tension.verdict is Verdict.NOT_CHECKED
    assert "state max_tension" in tension.message
    assert result.verdict is Verdict.NOT_CHECKED


@pytest.mark.parametrize(
    ("has_bend", "passage", "pull_point", "verdict"),
    [
        (True, Passage.THROUGH, True, Verdict.NOT_CHECKED),
        (False, Passage.THROUGH, True, Verdict.NOT_CHECKED),  # the corner is the only turn
        (False, Passage.REFEED, False, Verdict.NOT_CHECKED),  # listed only: passed all the same
        (True, Passage.REFEED, True, Verdict.PASS),
    ],
)
def test_corner_passed_through_leaves_the_run_not_checked(
    make_run, make_job, make_box, check, has_bend, passage, pull_point, verdict
) -> None:
    way = [20.0, NORTH, 20.0, EAST, 20.0] if has_bend else [20.0, NORTH, 20.0]
    corner_ft = 40.0 if has_bend else 20.0
    run = make_run(way, [make_box("LB", corner_ft, passage)])
    box = replace(run.fittings[1], pull_point=pull_point)
    corner = replace(run.bends[-1], in_fitting=True, radius_m=None, radius_from=None)
    corner = replace(corner, station_m=box.station_m, end_station_m=box.station_m)
    run = replace(
        run,
        bends=(*run.bends[:-1], corner),
        fittings=(run.fittings[0], box, run.fittings[-1]),
    )
    result = check(run, _job(make_job, 5000.0))
    assert result.verdict is verdict
    unmade = [c for c in result.of("sidewall") if c.verdict is Verdict.NOT_CHECKED]
    assert list(needed_not_made(result.checks)) == unmade
    for found in unmade:
        assert found.where == "LB"
        assert 'passage = "refeed"' in found.message
    # too much for the conductors stays a fail
    failing = check(run, _job(make_job, 1.0)).verdict
    assert failing is Verdict.FAIL


def test_failing_line_stands_above_a_conductor_not_checked(make_run, make_job, check) -> None:
    pull = PullSettings(friction=K35, line_working_load_n=lbf(90.0))
    job = make_job(max_tension_lbf=None, pull=pull, limits=ANY_SIDEWALL)
    assert check(make_run([100.0]), job).verdict is Verdict.FAIL


def test_unstated_passage_that_would_fail_through_is_a_caution(
    make_run, make_job, make_box, check
) -> None:
    run = make_run(FOUR_BENDS, [make_box("Box A", 100.0)])
    result = check(run, _job(make_job, 500.0))
    assert result.verdict is Verdict.CAUTION
    caution = result.one("conductor-tension", None, "forward")
    assert caution.verdict is Verdict.CAUTION
    assert to_lbf(caution.value) == pytest.approx(838.16, abs=0.5)
    assert "Passage not stated at Box A" in caution.message
    assert "would be 838 lbf, above the limit of 500 lbf (168 % of it)" in caution.message
    assert "Pulled straight through forward (feed at " in caution.message
    assert caution.message.count(f" {caution.way_words}. State the passage.") == 1
    refed = [to_lbf(c.value) for c in result.of("conductor-tension") if c.direction == "forward"][
        :2
    ]
    assert refed == pytest.approx([219.90, 177.84], abs=0.05)


def test_caution_on_an_unstated_passage_stands_at_the_way_that_fails(
    make_run, make_job, make_box, check
) -> None:
    """Pulled through, 414 lbf forward and 658 lbf in reverse, with 500 lbf allowed."""
    run = make_run(TWO_THEN_ONE, [make_box("Box A", 100.0)])
    result = check(run, _job(make_job, 500.0))
    (caution,) = [c for c in result.of("conductor-tension") if c.leg is None]
    assert caution.direction == "reverse"
    assert to_lbf(caution.value) == pytest.approx(658, abs=0.5)
    assert "straight through in reverse (feed at Chiller, pull at Panel P1)" in caution.message


def test_stated_or_harmless_passage_leaves_no_caution(make_run, make_job, make_box, check) -> None:
    stated = make_run(FOUR_BENDS, [make_box("Box A", 100.0, Passage.REFEED)])
    assert check(stated, _job(make_job, 500.0)).verdict is Verdict.PASS
    unstated = make_run(FOUR_BENDS, [make_box("Box A", 100.0)])
    assert check(unstated, _job(make_job, 900.0)).verdict is Verdict.PASS


def test_stated_through_counts_its_carried_tension(make_run, make_job, make_box, check) -> None:
    run = make_run(FOUR_BENDS, [make_box("Box A", 100.0, Passage.THROUGH)])
    result = check(run, _job(make_job, 500.0))
    assert result.verdict is Verdict.FAIL
    last = result.one("conductor-tension", "Leg 2", "forward")
    assert to_lbf(last.value) == pytest.approx(838.16, abs=0.5)


def test_refeed_stated_elsewhere_stays_when_an_unstated_box_is_passed(
    make_run, make_job, make_box, check
) -> None:
    """Box B is refed for sure, so only the two legs beside Box A are pulled in one go."""
    boxes = [make_box("Box A", 60.0), make_box("Box B", 100.0, Passage.REFEED)]
    result = check(make_run(FOUR_BENDS, boxes), _job(make_job, 500.0))
    assert result.verdict is Verdict.PASS  # 220 lbf at most, although 838 lbf all the way through
    tight = check(make_run(FOUR_BENDS, boxes), _job(make_job, 215.0))
    caution = tight.one("conductor-tension", None, "forward")
    assert to_lbf(caution.value) == pytest.approx(219.90, abs=0.05)
    assert "Passage not stated at Box A:" in caution.message


def test_caution_on_an_unstated_passage_names_the_stretch_that_holds_it(
    make_run, make_job, make_box, check
) -> None:
    """Panel P1 to Box B fails forward by itself; Box A behind it is in a stretch that passes."""
    refed = make_box("Box B", 100.0, Passage.REFEED)
    harmless = make_run(FOUR_BENDS, [refed, make_box("Box A", 150.0)])
    result = check(harmless, _job(make_job, 215.0))
    assert to_lbf(result.one("conductor-tension", "Leg 1", "forward").value) > 215.0
    (caution,) = [c for c in result.checks if "Passage not stated" in c.message]
    assert caution.direction == "reverse" and "(feed at Chiller, pull at Box B)" in caution.message

    boxes = [make_box("Box A", 60.0), refed, make_box("Box C", 140.0, Passage.THROUGH)]
    tight = check(make_run(FOUR_BENDS, [*boxes, make_box("Box D", 170.0)]), _job(make_job, 150.0))
    said = [c for c in tight.checks if "Passage not stated" in c.message]
    assert [(c.direction, c.fittings, c.where.split(",")[0]) for c in said] == [
        ("forward", ("Box A",), "Panel P1 to Box B"),
        ("forward", ("Box D",), "Box B to Chiller"),
        ("reverse", ("Box A",), "Panel P1 to Box B"),
        ("reverse", ("Box D",), "Box B to Chiller"),
    ]
    for caution, ends in zip(
        said,
        (
            "feed at Panel P1, pull at Box B",
            "feed at Box B, pull at Chiller",
            "feed at Box B, pull at Panel P1",
            "feed at Chiller, pull at Box B",
        ),
        strict=True,
    ):
        assert f"({ends})" in caution.message
        assert f"Passage not stated at {caution.fittings[0]}:" in caution.message
        assert "Box C" not in caution.message


def test_findings_enter_the_verdict(make_run, make_job, check) -> None:
    checks = check(make_run([100.0]), _job(make_job, 500.0)).checks

    def verdict(*severities: Severity) -> Verdict:
        return verdict_of(checks, [Finding("code", s, "message") for s in severities], False)

    assert verdict() is Verdict.PASS
    assert verdict(Severity.NOTE) is Verdict.PASS
    assert verdict(Severity.NOTE, Severity.CAUTION) is Verdict.CAUTION
    assert verdict(Severity.CAUTION, Severity.ERROR) is Verdict.FAIL


def test_no_checks_at_all_are_no_pass() -> None:
    assert verdict_of((), (), False) is Verdict.NOT_CHECKED


def test_every_check_is_complete(make_run, make_job, make_box, check) -> None:
    codes = {
        "bend-total", "leg-length", "bend-radius", "conductor-tension", "grip-tension",
        "line-tension", "puller-tension", "tension-braked", "sidewall", "sidewall-braked",
        "fill", "jam", "clearance", "conductor-support",
    }  # fmt: skip
    limits = replace(ANY_SIDEWALL, length_between_pull_points_m=100.0)
    run = make_run(FOUR_BENDS, [make_box("Box A", 100.0)])
    result = check(run, _job(make_job, 500.0, limits=limits))
    assert {c.code for c in result.checks} == codes
    made = {c.code for c in result.checks if c.verdict is not Verdict.NOT_CHECKED}
    assert codes - made == {
        "bend-radius", "grip-tension", "jam", "line-tension", "puller-tension"
    }  # fmt: skip
    for found in result.checks:
        assert found.message.endswith(".") and found.message[0].isupper()
        assert found.where
        assert found.unit in ("deg", "m", "N", "N/m", "ratio", "percent", "count")
        assert (found.value is not None) is (found.code in made)
    assert all(found.source for found in result.checks if found.code in made)


@pytest.mark.parametrize(
    ("insulation_class", "doubts"),
    [
        (
            "300 V",
            (
                "the job allows 700 lbf/ft, above the 500 lbf/ft of class 300 V in the table"
                " (not confirmed)",
            ),
        ),
        ("600 V power", ()),
        (None, ()),
    ],
)
def test_pressure_above_its_class_that_only_the_job_allows_is_a_caution(
    make_run, make_job, make_cable, check, insulation_class: str | None, doubts: tuple[str, ...]
) -> None:
    """Some 383 lbf leave the last bend, R 0.7 ft."""
    cable = replace(make_cable(3.0, 5000.0, 0.6), insulation_class=insulation_class)
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(700.0), sidewall_from="job")
    job = _job(make_job, 5000.0, conductors=[ConductorLine(1, cable)], limits=limits)
    moves = [20.0, ((0, 1, 0), 0.7), ((-1, 0, 0), 0.7), 150.0, ((0, 1, 0), 0.7), 30.0]
    found = check(make_run(moves), job).one("sidewall", "Leg 1", "forward")
    assert 500.0 < to_lbf_per_ft(found.value) < 700.0
    assert found.doubts == doubts
    assert found.verdict is (Verdict.CAUTION if doubts else Verdict.PASS)


def test_tension_above_that_of_the_metal_that_only_the_job_allows_is_a_caution(
    make_run, make_job, check
) -> None:
    """8 AWG copper by its metal: 0.008 lbf per circular mil, 16,510 of them, 132 lbf."""
    plain = find_conductor("8", "THHN", "copper")
    runs = [make_run([length]) for length in (2000.0, 8000.0)]
    for stated, told in ((lbf(250.0), True), (lbf(131.0), False)):
        lines = [ConductorLine(1, replace(plain, max_tension_n=stated))]
        job = _job(make_job, 5000.0, conductors=lines)
        short, long = (check(run, job).one("conductor-tension", "Leg 1", "forward") for run in runs)
        assert short.doubts == ()
        assert long.verdict is (Verdict.CAUTION if told else Verdict.FAIL)
        expected = ("the job allows 250 lbf, above the 132 lbf of the conductors' metal",)
        assert long.doubts == (expected if told else ())


def test_a_limit_by_a_metal_that_is_not_confirmed_is_told_as_such(
    make_run, make_job, check
) -> None:
    """6 AWG aluminum AA-8000: 157 lbf.

    0.006 lbf per circular mil (L1 of the table `pull_limits`, one text only) of the 26,240 that
    the table of conductor properties gives.
    """
    plain = find_conductor("6", "THHN", "aluminum")
    lines = [ConductorLine(1, replace(plain, max_tension_n=lbf(1000.0)))]
    found = check(make_run([12000.0]), _job(make_job, 5000.0, conductors=lines))
    told = "the job allows 1,000 lbf, above the 157 lbf of the conductors' metal (not confirmed)"
    assert told in found.one("conductor-tension", "Leg 1", "forward").doubts
