"""The plan's sentences: where to stop, what passes a stop value, what has to be held back."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from math import pi

import pytest
from plan_routes import bent_run, example, heavy_job
from pull_routes import route

from analyzer.analysis import analyze
from analyzer.findings import Finding, Severity, Verdict
from analyzer.geometry.readings import Attitude, Bend, ReadAs
from analyzer.job.options import job_from_options
from analyzer.job.reading import parse_job
from analyzer.job.settings import Job, Passage
from analyzer.reports.cautions import CAUTIONS
from analyzer.reports.plan_content import PlanContent, RunPlanContent, plan_content
from analyzer.reports.plan_csv import plan_csv
from analyzer.route.run import Run
from analyzer.studies.plan import plan_pull
from analyzer.units import lbf

DROP = route((1, 0, 0), [10.0, (0.5, pi / 2, (0, 0, -1)), 10.0, (0.5, pi / 2, (1, 0, 0)), 20.0])
BEND_THEN_STRAIGHT = route((1, 0, 0), [5.0, (0.5, pi / 2, (0, 1, 0)), 60.0])
ASSUMED = "Sidewall pressure limit assumed: state sidewall_pressure in [limits]"
GENTLE_FALL = route((0.999, 0, -0.0447), [30.0])


def said(line, friction: tuple[float, float, float], in_bend_lbf: float, **pull) -> RunPlanContent:
    """The plan of a run fed at its start, every bend of 0.5 m bearing a tension."""
    job = heavy_job(friction, **pull)
    limits = replace(job.limits, sidewall_pressure_n_per_m=lbf(in_bend_lbf) / 0.5)
    job = replace(job, limits=limits, plan=replace(job.plan, feed_at="start"))
    (run,) = plan_content(plan_pull(analyze([bent_run(line)], job))).runs
    return run


def test_headline_says_which_places_are_as_good() -> None:
    bend = (0.5, pi / 2, (0, 1, 0))

    def headline(last_m: float) -> str:
        run = bent_run(route((1, 0, 0), [10.0, bend, last_m]))
        return plan_content(plan_pull(analyze([run], heavy_job()))).runs[0].headline

    assert headline(10.0).startswith("Reels at start (as good as end, none is better), pull")
    assert headline(20.0).startswith("Reels at start (the best of all pull points), pull")


def _line_words(working_lbf: float | None, feed_lbf: float) -> str:
    working = None if working_lbf is None else lbf(working_lbf)
    run = said(
        GENTLE_FALL,
        (0.2, 0.35, 0.5),
        1e6,
        feed_tension_n=lbf(feed_lbf),
        line_working_load_n=working,
    )
    (words,) = [fact.text for fact in run.facts if fact.name == "Line"]
    return words


def test_line_that_does_not_carry_is_told_with_the_lightest_listed_that_would() -> None:
    words = _line_words(100.0, 700.0)
    assert "DOES NOT CARRY" in words
    assert "Lightest listed: flat woven polyester pulling tape (breaking 6,000 lbf" in words
    assert "or 5/8 in double-braided polyester" in words
    assert "Lightest listed" not in _line_words(2000.0, 700.0)


def test_pull_above_every_listed_line_is_said_to_have_none() -> None:
    none = "No listed tape or double-braided rope carries it."
    for working in (None, 400.0):
        words = _line_words(working, 6000.0)
        assert none in words
        assert "Lightest listed" not in words
    assert none not in _line_words(None, 4000.0)
    assert none not in _line_words(9000.0, 6000.0)


def test_one_stop_value_is_told_where_it_holds_all_along() -> None:
    run = said(DROP, (0.2, 0.35, 0.5), 600.0)
    # 600 lbf in bend 1 less 3 lbf/ft over 32.8 ft
    assert run.set_ups[0].stop == (
        "STOP above 501 lbf (sidewall pressure, bend 1, less the weight below it)"
    )


def test_stop_values_by_place_are_told_where_the_smallest_would_stop_a_pull_that_passes() -> None:
    run = said(DROP, (0.2, 0.2, 0.2), 600.0, feed_tension_n=lbf(376.0))
    assert not run.is_over
    assert [text.partition(" (touches")[0] for text in run.problems] == [
        "One friction number on a drop, where less friction means more to hold back: give a band",
        ASSUMED,
    ]
    # behind bend 2 its own 600 lbf, and 0.2 of 3 lbf/ft over 65.6 ft
    assert run.set_ups[0].stop == (
        "STOP above the value at each place: 501 lbf at the least (sidewall pressure, bend 1, less "
        "the weight below it), 639 lbf at end (sidewall pressure, bend 2, and what the way behind "
        "it adds)"
    )
    assert not any("!" in cell for row in run.set_ups[0].call_outs.rows for cell in row)


def test_stop_value_passed_by_high_friction_alone_is_a_problem_in_words() -> None:
    """High friction adds more behind the bend than low: the crew stops, though no limit fails."""
    run = said(BEND_THEN_STRAIGHT, (0.1, 0.3, 0.5), 150.0, feed_tension_n=lbf(20.0))
    assert not run.is_over
    row = run.set_ups[0].call_outs.rows[-1]
    # bend 1 at 150 lbf and 0.1 of 3 lbf/ft over 196.9 ft
    assert row[6] == "209 lbf"
    problem, assumed = run.problems
    assert assumed.startswith(ASSUMED)
    tension = row[5].removesuffix(" !")
    assert problem == (
        f"Set-up 1: at high friction the head feels {tension} at end (and at 3 other places), "
        "above the stop value of 209 lbf there, though no limit is passed. At low friction that "
        "much would mean sidewall pressure above its limit in bend 1: the crew has to stop there "
        "all the same."
    )


def test_weight_is_said_to_be_held_back_only_where_it_is_with_the_force() -> None:
    held = said(DROP, (0.2, 0.35, 0.5), 600.0)
    gentle = said(GENTLE_FALL, (0.2, 0.35, 0.5), 600.0)
    assert "must be held back: " in held.set_ups[0].why
    assert " at start, at low friction." in held.set_ups[0].why
    assert "held back" not in gentle.set_ups[0].why
    assert gentle.set_ups[0].why.endswith(
        "of weight helps this way; friction holds it, at low friction too."
    )


def test_numbers_of_set_ups_above_a_limit_read_as_a_sentence() -> None:
    from plan_routes import level_bent

    from analyzer.job.settings import Passage

    line = level_bent([30.0, (0.5, pi / 2), 30.0, 30.0, (0.5, pi / 2), 30.0])
    job = heavy_job((0.3, 0.4, 0.5))
    limits = replace(job.limits, sidewall_pressure_n_per_m=lbf(50.0) / 0.5)
    job = replace(job, limits=limits, plan=replace(job.plan, feed_at="start"))
    run = bent_run(line, [(60.0 + 0.25 * pi, Passage.REFEED)])
    (plan,) = plan_content(plan_pull(analyze([run], job))).runs
    assert plan.headline.startswith("DO NOT PULL AS PLANNED: set-ups 1 and 2 exceed a limit.")


BODY = route((1, 0, 0), [20.0, ("corner", (0, 1, 0)), 60.0])
CORNER = Bend(
    number=1, station_m=20.0, end_station_m=20.0, angle_rad=pi / 2, radius_m=None,
    radius_from=None, attitude=Attitude.LEVEL, rotation_rad=None, in_fitting=True,
    read_as=ReadAs.CORNERS,
)  # fmt: skip


def problems_fed_at(feed: str, run: Run, job: Job) -> tuple[str, ...]:
    job = replace(job, plan=replace(job.plan, feed_at=feed))
    (told,) = plan_content(plan_pull(analyze([run], job))).runs
    return told.problems


def test_plan_asks_for_the_radius_of_a_corner_only_where_it_passes_it() -> None:
    run = bent_run(BODY, [(20.0, Passage.THROUGH)])
    run = replace(run, bends=(CORNER,))
    name = run.fittings[1].name
    for feed in ("start", "end"):
        (problem,) = problems_fed_at(feed, run, heavy_job())
        assert problem.startswith(f"Sidewall pressure inside {name} not checked")
    assert problems_fed_at(name, run, heavy_job()) == ()


def test_plan_asks_for_a_passage_only_where_and_as_it_is_pulled() -> None:
    line = route((1, 0, 0), [20.0, (0.5, pi / 2, (0, 1, 0)), 60.0, (0.5, pi / 2, (1, 0, 0)), 30.0])
    run = bent_run(line, [(40.0, Passage.REFEED), (80.0, Passage.REFEED)])
    first, *inner, last = run.fittings
    run = replace(
        run, fittings=(first, *(replace(one, passage_stated=False) for one in inner), last)
    )
    names = [item.name for item in inner]

    def asked(feed: str, working_lbf: float = 300.0) -> list[tuple[str, str]]:
        job = heavy_job(line_working_load_n=lbf(working_lbf))
        texts = problems_fed_at(feed, run, job)
        return [
            (text.partition(":")[0].removeprefix("Passage not stated at "), text.partition("(")[2])
            for text in texts
            if text.startswith("Passage not stated")
        ]

    ((ahead, where),) = asked("start")
    assert ahead == ", ".join(names) and where.startswith("feed at start, pull at end)")
    ((back, where),) = asked("end")
    assert back == ", ".join(names) and where.startswith("feed at end, pull at start)")
    ((other, where),) = asked(names[0])
    assert other == names[1] and where.startswith(f"feed at {names[0]}, pull at end)")
    # with a stronger line only the whole run passed through is too much
    assert asked("start", 400.0) and not asked(names[0], 400.0)


def test_csv_says_all_that_the_page_says_about_failing_and_cautions() -> None:
    yard = plan_pull(example("training_yard.csv"))
    rows = list(csv.DictReader(io.StringIO(plan_csv(yard))))
    content = plan_content(yard)
    (told,) = content.runs
    texts = {
        item: [row["text"] for row in rows if row["item"] == item]
        for item in ("verdict", "headline", "problem", "given", "fact", "stop", "safety")
    }
    assert texts["verdict"] == ["fail"]
    assert texts["headline"] == [told.headline]
    assert told.headline.startswith("DO NOT PULL AS PLANNED")
    assert texts["problem"] == list(told.problems) and told.problems
    assert texts["given"] == [fact.text for fact in told.given]
    assert texts["fact"] == [fact.text for fact in told.facts]
    assert texts["stop"] == [item.stop for item in told.set_ups]
    assert texts["safety"] == list(CAUTIONS)
    assert not [row for row in rows if row["text"] and row["value"]]


def test_mark_of_a_row_not_confirmed_is_carried_into_the_plans_csv() -> None:
    job = job_from_options(raceway="ENT-2020 1", conductor=["3 x 8 THHN copper"])
    rows = csv.DictReader(io.StringIO(plan_csv(plan_pull(analyze([bent_run(DROP)], job)))))
    found = {(row["item"], row["place"]): row["text"] for row in rows if row["text"]}
    assert "(table row not confirmed)" in found["given", "Raceway"]
    assert "(assumed)" in found["given", "Friction"]
    assert "(table row not confirmed)" in found["fact", "One size up"]
    assert found["verdict", ""] == "caution"


@pytest.mark.parametrize(
    ("passage", "max_tension_lbf", "verdict"),
    [
        (Passage.REFEED, 1e6, Verdict.PASS),
        (Passage.THROUGH, 1e6, Verdict.NOT_CHECKED),
        (Passage.THROUGH, 10.0, Verdict.FAIL),
    ],
)
def test_verdict_of_a_plan_is_that_of_its_set_ups(
    passage: Passage, max_tension_lbf: float, verdict: Verdict
) -> None:
    run = replace(bent_run(BODY, [(20.0, passage)]), bends=(CORNER,))
    job = heavy_job(line_working_load_n=lbf(max_tension_lbf))
    job = replace(job, plan=replace(job.plan, feed_at="start"))
    (told,) = plan_content(plan_pull(analyze([run], job))).runs
    assert told.verdict is verdict, told.problems
    assert told.is_over is (verdict is Verdict.FAIL)


ROPE = "line working load not stated, 20 % of its breaking strength taken"


def _plan_with_assumed_line() -> PlanContent:
    run = bent_run(DROP)
    flat = Finding("all-level", Severity.CAUTION, "all points lie at one elevation", "")
    run = replace(run, findings=(*run.findings, flat))
    text = """
    [[conductors]]
    count = 3
    weight = "1 lbf/ft"
    diameter = "0.5 in"
    max_tension = "1000 lbf"
    [raceway]
    type = "EMT"
    trade_size = "2"
    [plan]
    line_breaking_strength = "9000 lbf"
    """
    return plan_content(plan_pull(analyze([run], parse_job(text))))


def test_assumption_told_beside_the_checks_it_touches_is_not_told_again() -> None:
    content = _plan_with_assumed_line()
    (told,) = content.runs
    assert [text for text in told.problems if text.lower().startswith(ROPE)]
    assert not [text for text in content.cautions if text.startswith(ROPE)]


def test_doubts_of_the_route_are_told_before_assumptions_of_its_checks() -> None:
    (told,) = _plan_with_assumed_line().runs
    firsts = [text.lower().partition(",")[0] for text in told.problems]
    flat = firsts.index("all points lie at one elevation")
    assert flat < firsts.index("line working load not stated"), told.problems


def test_assumption_on_a_limit_of_the_pull_is_told_with_what_it_touches() -> None:
    """Of the way the plan pulls, whatever way each leg would be better pulled."""
    run = bent_run(DROP)
    job = heavy_job((0.3, 0.3, 0.3))
    one_number = "One friction number on a drop"
    told = {
        feed: any(text.startswith(one_number) for text in problems_fed_at(feed, run, job))
        for feed in ("start", "end")
    }
    assert told == {"start": True, "end": False}
