"""Facts of the plan: one size up, lubricant."""

from __future__ import annotations

import re
from dataclasses import replace
from math import pi

import pytest
from plan_routes import bent_run, example, level_bent, three_like_job

from analyzer.analysis import Analysis, analyze
from analyzer.geometry.readings import RadiusFrom
from analyzer.reports.plan_content import plan_content
from analyzer.route.run import Run
from analyzer.studies.plan import plan_pull
from analyzer.units import UnitSystem, inches, to_ft, to_inches

EASIER = "One size up makes a hard pull easier"


def fact(analysis: Analysis, name: str) -> str:
    facts = plan_content(plan_pull(analysis)).runs[0].facts
    return next(item.text for item in facts if item.name == name)


def next_size_words(run: Run) -> str:
    return fact(analyze([run], three_like_job(feed_tension_n=300.0)), "One size up")


def from_table(run: Run) -> Run:
    bends = tuple(replace(bend, radius_from=RadiusFrom.TABLE) for bend in run.bends)
    return replace(run, bends=bends)


def test_one_size_up_names_bends_that_are_too_tight_for_it_and_is_not_called_easier() -> None:
    # EMT 2 to 2-1/2: 9.5 to 10.5 in
    tight = level_bent([9.0, (inches(10.0), pi / 2), 9.0, (inches(12.0), pi / 2), 9.0])
    words = next_size_words(bent_run(tight))
    assert "Its bends need R 10.5 in at least; bend 1 has less" in words
    assert EASIER not in words


def test_one_size_up_tells_the_radius_its_corners_get_and_the_share_of_limit() -> None:
    line = level_bent([9.0, (inches(9.5), pi / 2), 9.0, (inches(9.5), pi / 2), 9.0])
    words = next_size_words(from_table(bent_run(line)))
    assert "bends 1 and 2 at R 10.5 in by its table" in words
    assert "greatest share of limit (sidewall pressure)" in words
    assert EASIER in words


def test_one_size_up_is_judged_by_the_share_of_limit_not_by_tension_alone() -> None:
    words = fact(example("riser.csv"), "One size up")
    assert "greatest tension 137 lbf instead of 138 lbf" in words
    assert "32 % instead of 38 %" in words
    assert EASIER in words


def test_one_size_up_without_room_for_its_bends_tells_no_tension() -> None:
    line = level_bent([9.0, (inches(9.5), pi / 2), 0.01, (inches(9.5), pi / 2), 9.0])
    words = next_size_words(from_table(bent_run(line)))
    assert "Tension not computed: bends 1 and 2 have no room for the R 10.5 in that" in words
    assert "greatest tension" not in words
    assert "easier" not in words and "ease" not in words


@pytest.mark.parametrize(
    ("system", "unit", "decimals"), [(UnitSystem.US, "gal", 2), (UnitSystem.METRIC, "L", 1)]
)
@pytest.mark.parametrize("length_m", [12.0, 61.84, 158.3, 309.7])
def test_lubricant_is_what_its_formula_gives_and_twice_what_is_read(
    system: UnitSystem, unit: str, decimals: int, length_m: float
) -> None:
    """The source's 0.0015 gal is 0.000733 L; a hand with the page's formula gets its figure."""
    job = replace(three_like_job(), units=system)
    words = fact(analyze([bent_run(level_bent([length_m]))], job), "Lubricant")
    found = re.match(rf"([\d.]+) {unit} to ([\d.]+) {unit} in all: ([\d.]+) {unit} × ", words)
    assert found is not None, words
    once, twice, per = (float(number) for number in found.groups())
    assert job.raceway is not None
    inside_m = job.raceway.inside_diameter_m
    size = (to_ft(length_m) * to_inches(inside_m), length_m * inside_m * 1000.0)
    expected = per * size[system is UnitSystem.METRIC]
    assert once == pytest.approx(expected, abs=0.5 * 10.0**-decimals + 1e-3 * expected)
    assert twice == pytest.approx(2.0 * once)
    assert per == (0.0015 if system is UnitSystem.US else 0.000733)
