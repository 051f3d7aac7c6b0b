"""Where weight factor, arrangement and sidewall form come from is told wherever they are."""

from __future__ import annotations

from math import pi

import pytest
from plan_routes import bent_run, level_bent
from pull_jobs import job_with, stated_conductor

from analyzer.analysis import Analysis, analyze
from analyzer.catalog.raceways import find_raceway
from analyzer.reports.analysis_file import analysis_values
from analyzer.reports.content import content_of
from analyzer.reports.fact_rows import fact_rows
from analyzer.reports.plan_content import plan_content
from analyzer.reports.plan_terminal import plan_text
from analyzer.reports.sheet import sheet_html
from analyzer.reports.terminal import terminal_text
from analyzer.studies.plan import plan_pull

RACEWAY = find_raceway("EMT", "2")
SECONDARY = "anonymous reference page (secondary)"
STANDARD = "transmission engineering standard, 2007"
DERIVED = "derived here, not published"


def analysis_of(count: int, ratio: float) -> Analysis:
    job = job_with(
        conductors=[(count, stated_conductor(2.0, RACEWAY.inside_diameter_m / ratio))],
        raceway=RACEWAY,
        friction=(0.2, 0.35, 0.5),
    )
    return analyze([bent_run(level_bent([6.0, (0.6, pi / 2), 14.0]))], job)


@pytest.mark.parametrize(
    ("count", "ratio", "factor_from", "sidewall_from"),
    [
        (1, 3.0, STANDARD, STANDARD),
        (2, 3.0, DERIVED, DERIVED),
        (3, 2.4, STANDARD, "from memory, derived here too"),
        (3, 2.7, SECONDARY, SECONDARY),
        (3, 3.5, SECONDARY, SECONDARY),
        (4, 3.0, DERIVED, DERIVED),
        (4, 4.5, f"as bunched, {SECONDARY}", "own choice, the safe side"),
        (6, 5.0, SECONDARY, "own choice, the safe side"),
    ],
)
def test_sources_of_a_group_are_told(count, ratio, factor_from, sidewall_from) -> None:
    analysis = analysis_of(count, ratio)
    values = analysis_values(analysis)
    assert values["group"]["weight_factor_source"] == factor_from
    assert values["group"]["sidewall_source"] == sidewall_from
    facts = {row["fact"]: row["value"] for row in fact_rows(values)}
    assert facts["weight factor from"] == factor_from
    assert facts["sidewall rule from"] == sidewall_from
    assert facts["arrangement from"] == values["group"]["arrangement_source"]
    content = content_of(analysis)
    assumed = {fact.name: fact.text for fact in content.assumptions}
    assert assumed["Weight factor"].endswith(f"; source: {factor_from}")
    assert assumed["Sidewall form"].endswith(f"; source: {sidewall_from}")
    assert f"; source: {factor_from}" in terminal_text(content, width=300)
    assert f"; source: {factor_from}" in sheet_html(analysis)


@pytest.mark.parametrize(
    ("ratio", "kinds"),
    [(2.4, "triangular"), (2.7, "triangular or cradled"), (3.5, "cradled")],
)
def test_arrangement_of_three_says_that_its_bands_are_from_memory(ratio, kinds) -> None:
    analysis = analysis_of(3, ratio)
    said = f"3 conductors, {kinds} (by D/d, bands from memory)"
    assert said in terminal_text(content_of(analysis), width=300)
    assert said in sheet_html(analysis)
    assert said in plan_text(plan_content(plan_pull(analysis)), width=300)
    assert analysis_values(analysis)["group"]["arrangement_source"] == "by D/d, bands from memory"
