"""The lesson: sums by hand equal the capstan form, and stand beside the solver's figures."""

from __future__ import annotations

from math import exp, pi

import pytest
from box_runs import box_job, four_nineties, level_run, study

from analyzer.reports.boxes_lesson_text import lesson_text
from analyzer.studies.lesson import make_lesson
from analyzer.units import to_ft, to_lbf

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


def test_sheet_names_boxes_ratio_and_every_step() -> None:
    text = lesson_text(make_lesson(study(four_nineties(), box_job(0.35, most=1))))
    assert "k = friction 0.35" in text
    assert "4.71 times less" in text
    assert "0.0 + 3.000 × 40.00 × 0.3500 = 42.0 lbf" in text
    assert "42.0 × 1.733 = 72.8 lbf" in text
    assert "Passed straight through, the boxes would leave 838.2 lbf" in text
    assert "Estimate for planning" in text
    assert max(len(line) for line in text.splitlines()) <= 100
