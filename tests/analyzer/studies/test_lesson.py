"""The lesson: sums by hand equal the capstan form, and stand beside the solver's figures."""

from __future__ import annotations

from math import exp, pi

import pytest
from box_runs import box_job, four_nineties, level_run, run_of, study
from pull_routes import route

from analyzer.job.settings import Passage
from analyzer.reports.boxes_lesson_text import lesson_text
from analyzer.studies.lesson import make_lesson
from analyzer.units import ft, to_ft, to_lbf

# Check values of the project's mechanics: 838.16 to 177.84 lbf, 4.71 times; 2501.71 to 335.91,
# 7.45 times.


@pytest.mark.parametrize(
    ("k", "none", "one", "ratio"), [(0.35, 838.16, 177.84, 4.71), (0.5, 2501.71, 335.91, 7.45)]
)
def test_lesson_of_four_bends_shows_the_printed_ratio(k, none, one, ratio) -> None:
    lesson = make_lesson(study(four_nineties(), box_job(k, most=1)))
    first, second = lesson.rows
    assert to_lbf(first.refed_n) == pytest.approx(none, abs=0.005)
    assert to_lbf(second.refed_n) == pytest.approx(one, abs=0.005)
    assert second.ratio == pytest.approx(ratio, abs=0.005)
    assert to_lbf(second.through_n) == pytest.approx(none, abs=0.005)


def test_hand_sum_is_the_capstan_form_step_by_step() -> None:
    k = 0.35
    lesson = make_lesson(study(four_nineties(), box_job(k, most=1)))
    (leg,) = lesson.rows[0].legs
    tension = 0.0
    for index, step in enumerate(leg.steps):
        assert to_lbf(step.before_n) == pytest.approx(tension)
        tension = tension + 3.0 * k * 40.0 if index % 2 == 0 else tension * exp(k * pi / 2)
        assert to_lbf(step.after_n) == pytest.approx(tension)
    # corners have no weight: hand and solver agree
    assert leg.by_hand_n == pytest.approx(leg.by_solver_n)


def test_hand_sum_is_below_the_solver_by_the_weight_inside_bends() -> None:
    lesson = make_lesson(study(level_run([40.0] * 5), box_job(0.35, most=1)))
    (leg,) = lesson.rows[0].legs
    assert leg.by_hand_n < leg.by_solver_n < 1.05 * leg.by_hand_n
    assert sum(to_ft(step.length_m) for step in leg.steps) == pytest.approx(200.0)


def test_hand_sum_changes_its_friction_where_the_lubricant_ends() -> None:
    """100 ft of lubricant: two straights, a bend and half a straight; 0.6 beyond."""
    job = box_job(0.35, most=0, pull={"lubricant_reach_m": ft(100.0), "dry_friction": 0.6})
    (row,) = make_lesson(study(four_nineties(), job)).rows
    (leg,) = row.legs
    wet, dry = exp(0.35 * pi / 2), exp(0.6 * pi / 2)
    tension = ((42.0 * wet) + 42.0) * wet + 0.35 * 3.0 * 20.0
    tension = (tension + 0.6 * 3.0 * 20.0) * dry + 0.6 * 3.0 * 40.0
    tension = tension * dry + 0.6 * 3.0 * 40.0
    assert to_lbf(leg.by_hand_n) == pytest.approx(tension)
    # corners have no weight: hand and solver agree
    assert leg.by_hand_n == pytest.approx(leg.by_solver_n)
    assert [step.is_dry for step in leg.steps] == [False] * 5 + [True] * 5


def test_sheet_names_the_reach_and_marks_what_is_dry() -> None:
    job = box_job(0.35, most=1, pull={"lubricant_reach_m": ft(60.0), "dry_friction": 0.6})
    text = " ".join(lesson_text(make_lesson(study(four_nineties(), job))).split())
    assert "The lubricant reaches 60.0 ft from where the conductors are fed." in text
    assert "k = 0.6000, and a 90° bend multiplies by 2.566" in text
    assert "straight 20.0 ft 72.8 + 3.000 × 20.00 × 0.3500 = 93.8 lbf" in text
    assert "straight 20.0 ft dry 93.8 + 3.000 × 20.00 × 0.6000 = 129.8 lbf" in text
    assert "bend 90° dry 129.8 × 2.566 = 333.1 lbf" in text


def test_lubricant_carries_on_through_a_box_in_the_hand_sums() -> None:
    run = run_of(
        route((1.0, 0.0, 0.0), [ft(60.0), (ft(1.0), 0.5 * pi, (0, 1, 0)), ft(40.0)]),
        [(ft(30.0), Passage.THROUGH)],
    )
    pull = {"lubricant_reach_m": ft(50.0), "dry_friction": 0.6}
    (row,) = make_lesson(study(run, box_job(0.35, most=0, direction="forward", pull=pull))).rows
    _, second = row.legs
    lengths = [(round(to_ft(step.length_m), 6), step.is_dry) for step in second.steps[:2]]
    assert lengths == [(20.0, False), (10.0, True)]


@pytest.mark.parametrize("width", [40, 48, 100])
def test_sheet_stays_within_the_columns_of_the_terminal(width: int) -> None:
    pull = {"lubricant_reach_m": ft(60.0), "dry_friction": 0.6}
    run = run_of(route((1.0, 0.0, -0.1), [ft(39.5), (ft(1.0), 0.5 * pi, (0, 1, 0)), ft(80.0)]))
    text = lesson_text(make_lesson(study(run, box_job(0.35, most=1, pull=pull))), width=width)
    assert max(len(line) for line in text.splitlines()) <= width


def test_sums_begin_in_one_column() -> None:
    run = run_of(route((1.0, 0.0, -0.1), [ft(39.5), (ft(1.0), 0.5 * pi, (0, 1, 0)), ft(80.0)]))
    job = box_job(0.35, most=0, direction="forward")
    lines = lesson_text(make_lesson(study(run, job))).splitlines()
    rows = [line for line in lines if line.startswith(("    start ", "    straight ", "    bend "))]
    assert any("39.5 ft down" in line for line in rows)
    starts = {len(line) - len(line[4:].split("  ", 1)[1].lstrip()) for line in rows}
    assert len(starts) == 1


def test_sheet_names_boxes_ratio_and_every_step() -> None:
    text = lesson_text(make_lesson(study(four_nineties(), box_job(0.35, most=1))))
    assert "k = friction 0.35" in text
    assert "4.71 times less" in text
    assert "0.0 + 3.000 × 40.00 × 0.3500 = 42.0 lbf" in text
    assert "42.0 × 1.733 = 72.8 lbf" in text
    assert "Passed straight through, the boxes would leave 838.2 lbf" in text
    assert "Estimate for planning" in text
    assert max(len(line) for line in text.splitlines()) <= 100
