"""The plan for the crew: lengths, lubricant, people, line, drops, bounds, one size up."""

from __future__ import annotations

import re
from dataclasses import astuple, replace
from math import pi

import pytest
from feeder_job import FEEDER_JOB
from plan_routes import bent_run, example, heavy_job, level_bent, three_like_job
from pull_jobs import job_with, run_with, stated_conductor
from pull_routes import route

from analyzer.analysis import Analysis, analyze
from analyzer.catalog.practice import find_practice
from analyzer.catalog.pull_lines import list_pull_lines, weakest_line_for
from analyzer.catalog.raceways import find_raceway, trade_sizes
from analyzer.catalog.tables import read_table
from analyzer.errors import CatalogError, JobError
from analyzer.job import job_text, job_values, parse_job
from analyzer.job.settings import FittingKind, Job, Passage, PlanSettings
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.results import Direction
from analyzer.route.run import Run
from analyzer.studies.feeding import set_up_between
from analyzer.studies.level_bounds import LevelBounds, level_bounds
from analyzer.studies.plan import plan_pull
from analyzer.studies.plan_crew import people_for, plan_crew
from analyzer.studies.plan_drops import hanging_parts, plan_drop
from analyzer.studies.plan_lengths import cut_length_m, cut_lengths, slack_at_box_m
from analyzer.studies.plan_lines import plan_line
from analyzer.studies.plan_lubricant import lubricant_m3, plan_lubricant
from analyzer.studies.plan_next_size import plan_next_size
from analyzer.studies.ways import way_of_set_up
from analyzer.units import ft, inches, lbf, to_gallons, to_lbf

PLAN_JOB = f"""\
{FEEDER_JOB}[plan]
feed_at = "Box A"
slack_each_end = "6 ft"
slack_per_box = "3 ft"
slack_percent = 5
call_out_every = "25 ft"
line_breaking_strength = "6000 lbf"
"""
EXAMPLES = ("overhead_feeder.dxf", "riser.csv", "training_yard.csv", "training_yard_two_boxes.csv")


# the job keys


def test_plan_keys_are_read_written_and_echoed() -> None:
    job = parse_job(PLAN_JOB)
    wanted = ("Box A", ft(6.0), ft(3.0), 5.0, ft(25.0), lbf(6000.0))
    assert astuple(job.plan)[0] == wanted[0]
    assert astuple(job.plan)[1:] == pytest.approx(wanted[1:], rel=1e-15)
    assert parse_job(job_text(job)) == job
    assert job_values(job)["plan"]["slack_percent"] == 5.0


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("slack_percent", "slack_prcent", 'did you mean "slack_percent"'),
        ("= 5", "= 150", "from 0 to 100"),
        ('"25 ft"', "25", "needs text with a unit"),
        ('"25 ft"', '"0 ft"', "more than zero"),
    ],
)
def test_wrong_plan_keys_are_refused(old: str, new: str, message: str) -> None:
    with pytest.raises(JobError, match=message):
        parse_job(PLAN_JOB.replace(old, new))


def test_feeding_place_that_no_run_has_is_refused() -> None:
    analysis = example("training_yard_two_boxes.csv")
    job = replace(analysis.job, plan=PlanSettings(feed_at="Box Z"))
    with pytest.raises(JobError, match='no pull point "Box Z"; the pull points are Reel stand'):
        plan_pull(analyze([run.run for run in analysis.runs], job))


def test_feeding_place_of_the_job_is_used() -> None:
    analysis = example("training_yard_two_boxes.csv")
    job = replace(analysis.job, plan=PlanSettings(feed_at="Box A"))
    (plan,) = plan_pull(analyze([run.run for run in analysis.runs], job)).runs
    assert plan.feed_stated
    assert {item.set_up.feed.name for item in plan.set_ups} == {"Box A", "Box B"}
    assert plan.set_ups[0].set_up.pull_to.name == "Box B"


# lengths


def test_cut_length_of_two_hundred_feet() -> None:
    # MIL-HDBK-1012/3, 1996: 10 ft at each end, 10 percent on the total: (200 + 20) x 1.1
    assert cut_length_m(ft(200.0), (), PlanSettings()) == pytest.approx(ft(242.0))


def test_three_quarters_of_a_manhole_stay_in_it() -> None:
    # the same handbook: three quarters of the perimeter of each manhole
    box = run_with(level_bent([50.0]), [(20.0, Passage.REFEED)]).fittings[1]
    manhole = replace(box, kind=FittingKind.MANHOLE, size_m=(ft(6.0), ft(4.0), ft(6.0)))
    assert cut_length_m(ft(200.0), [manhole], PlanSettings()) == pytest.approx(
        ft((200 + 20 + 15) * 1.1)
    )


@pytest.mark.parametrize(("stated_ft", "left_ft"), [(20.0, 20.0), (5.0, 15.0)])
def test_slack_of_the_job_stays_where_it_is_more_than_the_perimeter_asks(
    stated_ft: float, left_ft: float
) -> None:
    box = run_with(level_bent([50.0]), [(20.0, Passage.REFEED)]).fittings[1]
    manhole = replace(box, kind=FittingKind.MANHOLE, size_m=(ft(6.0), ft(4.0), ft(6.0)))
    settings = PlanSettings(slack_per_box_m=ft(stated_ft))
    assert slack_at_box_m(manhole, settings) == pytest.approx(ft(left_ft))
    assert slack_at_box_m(box, settings) == pytest.approx(ft(stated_ft))


def test_every_kind_of_conductor_is_cut_to_the_length_of_the_whole_run() -> None:
    analysis = example("overhead_feeder.dxf")
    (length,) = cut_lengths(analysis.runs[0].run, analysis.job)
    assert length.each_m == pytest.approx((analysis.runs[0].run.centerline.length_m + ft(20)) * 1.1)
    assert length.total_m == pytest.approx(3 * length.each_m)


# lubricant


@pytest.mark.parametrize(
    ("length_ft", "inside_in", "gallons", "half"),
    [
        (1000.0, 1.25, 1.88, 0.0051),  # trade journal, 1996: 2 gal in practice; formula 1.875
        (170.0, 4.0, 1.02, 0.005),  # reported field use: nearly 2 gal
    ],
)
def test_lubricant_by_the_formula(length_ft, inside_in, gallons, half) -> None:
    found = to_gallons(lubricant_m3(ft(length_ft), inches(inside_in)))
    assert found == pytest.approx(gallons, abs=half)


def test_lubricant_formula_is_a_film_on_the_inside_wall() -> None:
    # 0.009 in thick, as its source says; 0.0015 is that rounded to two digits
    film = pi * inches(2.0) * inches(0.009) * ft(100.0)
    assert lubricant_m3(ft(100.0), inches(2.0)) == pytest.approx(film, rel=0.025)


def test_lubricant_in_metric_units() -> None:
    # the source's metric form: 0.00073 L per m and mm
    assert lubricant_m3(50.0, 0.1) * 1000 == pytest.approx(0.00073 * 50 * 100, abs=0.005 * 5)


def test_lubricant_goes_on_at_the_feed_and_every_box_passed_and_ends_where_the_job_says() -> None:
    run = bent_run(level_bent([60.0]), [(20.0, Passage.THROUGH)])
    job = three_like_job(lubricant_reach_m=40.0, dry_friction=0.5)
    set_up = set_up_between(run, job, run.fittings[-1], run.fittings[0])
    plan = plan_lubricant(job, set_up)
    assert [fitting.name for fitting in plan.apply_at] == ["end", "Box 1"]
    assert plan.ends_at_m == pytest.approx(20.0)
    assert plan.high_m3 == pytest.approx(2 * plan.low_m3)


def test_short_straight_pull_needs_no_lubricant() -> None:
    run, job = bent_run(level_bent([1.4])), three_like_job()
    assert not plan_lubricant(job, set_up_between(run, job, *run.fittings)).is_needed
    run = bent_run(level_bent([0.2, (0.2, pi / 2), 0.2]))
    assert plan_lubricant(job, set_up_between(run, job, *run.fittings)).is_needed


# people, line


def test_people_are_the_force_over_what_one_may_pull_and_never_fewer_than_two() -> None:
    # 200 lbf: 4 people at 50 lbf, 9 at 24 lbf
    assert people_for(lbf(200.0), lbf(50.0)) == 4
    assert people_for(lbf(200.0), lbf(24.0)) == 9
    crew = plan_crew(lbf(1.0), ft(100.0), passed=3)
    assert (crew.short, crew.sustained, crew.posts) == (2, 2, 5)
    assert (crew.fast_min, crew.slow_min) == pytest.approx((100 / 15, 10.0))
    hard = plan_crew(lbf(200.0), ft(100.0), passed=0)
    assert (hard.short, hard.sustained, hard.posts) == (4, 9, 2)


def test_line_breaks_at_four_times_the_puller() -> None:
    job = heavy_job(puller_capacity_n=lbf(2000.0))
    assert plan_line(job, lbf(300.0)).needed_strength_n == pytest.approx(lbf(8000.0))
    assert plan_line(heavy_job(), lbf(300.0)).needed_strength_n is None


@pytest.mark.parametrize(
    ("size", "twine", "tape"),
    [("1", True, False), ("1-1/4", False, False), ("1-1/2", False, False), ("2", False, True)],
)
def test_twine_up_to_one_inch_and_tape_from_two(size: str, twine: bool, tape: bool) -> None:
    job = three_like_job()
    assert job.raceway is not None
    plan = plan_line(replace(job, raceway=replace(job.raceway, trade_size=size)), 1.0)
    assert (plan.twine, plan.tape) == (twine, tape)


@pytest.mark.parametrize(
    ("size", "tension_lbf", "twine", "tape"),
    [
        ("1", 48.0, True, False),
        ("1", 49.0, False, False),
        ("4", 1200.0, False, True),
        ("4", 1201.0, False, False),
    ],
)
def test_twine_and_tape_are_named_only_where_a_listed_one_carries_the_pull(
    size: str, tension_lbf: float, twine: bool, tape: bool
) -> None:
    """The heaviest twine of the list works at 48 lbf, the strongest tape at 1,200 lbf."""
    job = three_like_job()
    assert job.raceway is not None
    job = replace(job, raceway=replace(job.raceway, trade_size=size))
    plan = plan_line(job, lbf(tension_lbf) * (1.0 - 1e-12))
    assert (plan.twine, plan.tape) == (twine, tape)


def test_listed_line_carries_the_tension_and_no_lighter_one_would() -> None:
    line = weakest_line_for("flat woven polyester", lbf(120.0))
    assert line is not None
    assert to_lbf(line.working_load_n) == pytest.approx(250.0)
    assert weakest_line_for("flat woven polyester", lbf(2000.0)) is None


def test_plan_names_a_tape_and_a_double_braided_rope() -> None:
    # of the list: tapes of 1,200 lbf and ropes of 2,780 lbf are the weakest that carry 700 lbf
    plan = plan_line(heavy_job(), lbf(700.0))
    assert plan.tape_line is not None and plan.rope_line is not None
    assert plan.tape_line.kind == "flat woven polyester pulling tape"
    assert to_lbf(plan.tape_line.working_load_n) == pytest.approx(1200.0)
    assert plan.rope_line.kind == "double-braided polyester pulling rope"
    assert to_lbf(plan.rope_line.working_load_n) == pytest.approx(2780.0)


def test_size_of_a_line_is_the_inches_of_its_list_as_a_length() -> None:
    sizes = {line.size: line.size_m for line in list_pull_lines()}
    assert sizes.pop("") is None  # tapes are named by their strength
    assert sizes["5/8"] == pytest.approx(inches(0.625))
    assert all(size is not None and 0.0 < size < inches(1.0) for size in sizes.values())


def test_working_loads_stay_below_breaking_strengths() -> None:
    for line in list_pull_lines():
        assert line.working_load_n <= 0.25 * line.breaking_strength_n
    assert not any(line.kind.startswith("rule") for line in list_pull_lines())


def test_rules_of_practice_name_their_source_or_say_common_practice() -> None:
    for row in read_table("practice").rows:
        rule = find_practice(row["rule"])
        assert rule.source and not re.search(r"\bS6\d", rule.source)
        assert (rule.source == "common practice") is (row["source"] == "common practice")
    with pytest.raises(CatalogError, match="table practice: no row with rule 'haste'"):
        find_practice("haste")


# drops


def drop_run() -> Run:
    """Level 20 ft, 90 down, 100 ft drop, sharp."""
    line = route((1, 0, 0), [ft(20.0), ("corner", (0, 0, -1)), ft(100.0)])
    return bent_run(line)


@pytest.mark.parametrize(("friction", "force"), [(0.2, 207.12), (0.35, 152.12), (0.5, 106.78)])
def test_brake_of_a_hundred_foot_drop(friction: float, force: float) -> None:
    run, job = drop_run(), heavy_job(friction)
    drop = plan_drop(run, job, set_up_between(run, job, *run.fittings))
    assert to_lbf(drop.hold_back_n) == pytest.approx(force, abs=0.005)
    assert drop.runs_away


def test_string_pulled_up_runs_back_if_let_go() -> None:
    run, job = drop_run(), heavy_job(0.2)
    top, foot = run.fittings
    up = plan_drop(run, job, set_up_between(run, job, foot, top))
    assert up.hold_back_n == 0.0
    assert to_lbf(up.run_back_n) == pytest.approx(207.12, abs=0.005)


def test_the_whole_weight_of_a_drop_hangs_after_the_pull() -> None:
    (part,) = hanging_parts(drop_run(), heavy_job())
    assert to_lbf(part.weight_n) == pytest.approx(300.0)


def test_level_run_has_nothing_to_hold() -> None:
    run, job = bent_run(level_bent([20.0, (0.5, 1.0), 20.0])), heavy_job()
    assert not plan_drop(run, job, set_up_between(run, job, *run.fittings)).runs_away
    assert hanging_parts(run, job) == ()


# bounds, one size up


def bounds_between(run, job, feed, pull_to) -> tuple[LevelBounds, ...]:
    set_up = set_up_between(run, job, feed, pull_to)
    return level_bounds(way_of_set_up(run, set_up, job, conductor_group(job)), set_up.pull)


def test_four_even_bends_lie_between_the_bounds_of_the_chart_equation() -> None:
    # IEEE Std 1185-2019, Annex C, Eq. C.1: 200 ft, 3 lbf/ft, 0.35, 360 degrees: 1,894 lbf; bends
    # first 210 lbf; four 90s at 40, 80, 120, 160 ft 838.16 lbf
    from plan_routes import level_sharp

    run = bent_run(level_sharp([40, "90", 40, "90", 40, "90", 40, "90", 40]))
    job = heavy_job(0.35)
    bound = bounds_between(run, job, *run.fittings)[-1]
    assert to_lbf(bound.lower_n) == pytest.approx(210.0, abs=0.5)
    assert to_lbf(bound.upper_n) == pytest.approx(1894.0, abs=0.5)
    assert to_lbf(bound.exit_n) == pytest.approx(838.16, abs=0.005)
    assert bound.hold


@pytest.mark.parametrize("in_bends", [True, False])
@pytest.mark.parametrize("feed", [0.0, 300.0])
def test_level_pulls_lie_between_their_bounds(in_bends: bool, feed: float) -> None:
    line = level_bent([12.0, (0.6, 1.2), 7.0, (0.4, 0.5), (0.7, 1.5), 22.0])
    job = three_like_job(weight_factor_in_bends=in_bends, feed_tension_n=feed)
    run = bent_run(line)
    for ends in (run.fittings, run.fittings[::-1]):
        bounds = bounds_between(run, job, *ends)
        assert len(bounds) == 3
        assert all(bound.hold for bound in bounds)


def test_bounds_are_for_level_pulls_with_one_friction_only() -> None:
    run = bent_run(route((1, 0, 0.1), [20.0]))
    job = three_like_job()
    assert bounds_between(run, job, *run.fittings) == ()
    dry = three_like_job(lubricant_reach_m=5.0, dry_friction=0.5)
    run = bent_run(level_bent([20.0]))
    assert bounds_between(run, dry, *run.fittings) == ()


def test_one_size_up_shows_fill_jam_ratio_and_tension() -> None:
    analysis = example("overhead_feeder.dxf")
    (plan,) = plan_pull(analysis).runs
    sizes = plan.next_size
    assert sizes is not None
    assert sizes.larger.raceway.trade_size == "2-1/2"
    fill = next(c for c in analysis.runs[0].checks if c.code == "fill")
    area = 3 * analysis.job.conductors[0].conductor.area_in2
    assert sizes.now.fill_percent == pytest.approx(100 * area / analysis.job.raceway.area_in2)
    assert fill.unit in ("count", "percent")
    assert sizes.larger.fill_percent < sizes.now.fill_percent
    assert sizes.now.tension_n == pytest.approx(plan.choice.greatest_tension_n)
    assert sizes.larger.tension_n < sizes.now.tension_n
    assert sizes.now.group.jam_ratio == analysis.group.jam_ratio


def test_existing_conductors_count_in_the_fill_of_the_next_size() -> None:
    # EMT 2 3.356 in², 2-1/2 5.858 in²; one of 1 in² to be pulled, two of 0.2 in² already there
    new, old = stated_conductor(area_in2=1.0), stated_conductor(area_in2=0.2)
    job = job_with([(1, new)], raceway=find_raceway("EMT", "2"), existing=[(2, old)])
    run = bent_run(level_bent([20.0]))
    sizes = plan_next_size(run, job, [set_up_between(run, job, *run.fittings)])
    assert sizes is not None
    assert sizes.now.fill_percent == pytest.approx(140.0 / 3.356, rel=1e-6)
    assert sizes.larger.fill_percent == pytest.approx(140.0 / 5.858, rel=1e-6)


def test_largest_trade_size_has_none_above_it() -> None:
    run, job = bent_run(level_bent([20.0])), three_like_job()
    largest = replace(job, raceway=find_raceway("EMT", trade_sizes("EMT")[-1]))
    assert plan_next_size(run, largest, [set_up_between(run, largest, *run.fittings)]) is None


# the plan and the analysis


def best_pulls(analysis: Analysis) -> dict[tuple[str, str], object]:
    return {
        (pull.feed_at, pull.pull_at): pull
        for run in analysis.runs
        for leg in run.legs
        for pull in (leg.forward, leg.reverse)
    }


@pytest.mark.parametrize("name", EXAMPLES)
def test_set_ups_are_pulls_of_the_analysis(name: str) -> None:
    analysis = example(name)
    pulls = best_pulls(analysis)
    for run in plan_pull(analysis).runs:
        for item in run.set_ups:
            pull = item.set_up.pull
            assert pull == pulls[pull.feed_at, pull.pull_at]
            assert item.call_outs[-1].tension.high_n == pytest.approx(pull.high.exit_tension_n)
            assert item.call_outs[-1].tension.low_n == pytest.approx(pull.low.exit_tension_n)


@pytest.mark.parametrize("name", EXAMPLES)
def test_conductors_of_a_plan_are_whole(name: str) -> None:
    """Set-ups lead outward from one place, each fed where the one before it ended or there."""
    for run in plan_pull(example(name)).runs:
        reached = {run.choice.feed.name}
        for item in run.set_ups:
            assert item.set_up.feed.name in reached
            reached.add(item.set_up.pull_to.name)
        ends = {run.analyzed.run.fittings[0].name, run.analyzed.run.fittings[-1].name}
        assert ends <= reached
        directions = {item.set_up.pull.direction for item in run.set_ups}
        assert directions <= set(Direction)


def test_settings_of_the_plan_move_no_figure_of_the_pull() -> None:
    analysis = example("riser.csv")
    other: Job = replace(analysis.job, plan=replace(analysis.job.plan, slack_each_end_m=0.0))
    again = analyze([run.run for run in analysis.runs], other)
    one, two = plan_pull(analysis).runs[0], plan_pull(again).runs[0]
    assert one.choice == two.choice
    assert one.lengths != two.lengths
