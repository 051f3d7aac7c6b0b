"""What sheet and plan ask of a printer: paper, sizes of type, and what stays on one page."""

from __future__ import annotations

import html
import re
from dataclasses import replace

import pytest
from plan_routes import example

from analyzer.analysis import Analysis, analyze
from analyzer.findings import Verdict
from analyzer.importers.reading import open_route
from analyzer.job.options import job_from_options
from analyzer.reports.content import content_of
from analyzer.reports.plan_content import plan_content
from analyzer.reports.plan_page import plan_html
from analyzer.reports.sheet import sheet_html
from analyzer.studies.plan import plan_pull
from analyzer.units import UnitSystem

LEAST_PT = 6.8  # the least type that reads well on paper, by the guide of the pictures


@pytest.fixture(scope="module")
def analysis(tmp_path_factory) -> Analysis:
    path = tmp_path_factory.mktemp("pages") / "feeder.csv"
    path.write_text("x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,20,10\n")
    job = job_from_options(raceway="EMT 2", conductor=["3 x 4/0 THHN copper"])
    route = open_route(path, job)
    return analyze(route.runs, job, route.findings)


def in_units(analysis: Analysis, system: UnitSystem) -> Analysis:
    return replace(analysis, job=replace(analysis.job, units=system))


def pages(analysis: Analysis) -> dict[str, str]:
    return {
        "sheet": sheet_html(analysis),
        "plan": plan_html(plan_content(plan_pull(analysis))),
    }


@pytest.mark.parametrize(
    ("system", "paper"), [(UnitSystem.US, "letter"), (UnitSystem.METRIC, "A4")]
)
def test_pages_print_on_the_paper_of_the_unit_system(analysis, system, paper) -> None:
    made = pages(in_units(analysis, system))
    assert f"@page {{ size: {paper} landscape;" in made["sheet"]
    assert f"@page {{ size: {paper} portrait;" in made["plan"]


def test_no_printed_type_is_too_small_to_read(analysis) -> None:
    for page in pages(analysis).values():
        printed = page.partition("@media print {")[2].partition("</style>")[0]
        sizes = [float(size) for size in re.findall(r"font-size: ([\d.]+)pt", printed)]
        assert min(sizes) >= LEAST_PT
        # what keeps its size of the screen: 0.75 pt a pixel
        sizes = [float(size) for size in re.findall(r"font(?:-size)?: ([\d.]+)px", page)]
        assert 0.75 * min(sizes) >= LEAST_PT


def test_signature_stays_with_the_cautions_and_headings_with_what_they_head(analysis) -> None:
    for name, page in pages(analysis).items():
        closing = page.partition('<div class="closing">')[2]
        assert "authority having jurisdiction" in closing, name
        assert '<div class="sign">' in closing, name
        kept = re.findall(r"([^{}]*)\{[^{}]*break-inside: avoid[^{}]*\}", page)
        assert any(".closing" in selectors for selectors in kept), name
        assert any("table.short" in selectors for selectors in kept), name
        assert re.search(r"tr:nth-last-child\(-n\+2\)[^{}]*\{ break-before: avoid", page), name
    sheet = pages(analysis)["sheet"]
    assert '<div class="block">\n<h3>Better end' in sheet
    assert re.search(r"h3[^{}]*\{ break-after: avoid", sheet)


def test_checks_of_a_direction_that_does_not_count_are_no_black_fail_on_the_sheet() -> None:
    analysis = example("riser.csv")
    (run,) = analysis.runs
    other = [c for c in run.checks if c.verdict is Verdict.FAIL and not c.counts]
    assert other
    assert not any(c.verdict is Verdict.FAIL and c.counts for c in run.checks)
    page = sheet_html(analysis)
    assert page.count(">fails this way, not counted</td>") == len(other)
    assert 'class="s v-fail"' not in page


def test_the_sheet_gives_each_clause_once_as_a_numbered_note(analysis) -> None:
    (run,) = content_of(analysis).runs
    sources = [check.source for check in analysis.runs[0].checks]
    clauses = list(dict.fromkeys(source for source in sources if source))
    assert "" in sources  # a check not made for want of a limit: it has no number
    assert len(run.checks.rows) > len(clauses) > 3
    assert run.checks.notes == tuple(
        f"{number}  {clause}" for number, clause in enumerate(clauses, start=1)
    )
    for row, source in zip(run.checks.rows, sources, strict=True):
        assert row[-1] == (str(clauses.index(source) + 1) if source else "")
    page = html.unescape(sheet_html(analysis))
    for note in run.checks.notes:
        assert page.count(f"<li>{note.split('  ', 1)[1]}</li>") == 1


def test_numbers_of_the_sheet_in_us_units_have_the_same_in_si_beside_them() -> None:
    """By definition: yard and pound agreement, 1959; standard gravity of the 3rd CGPM, 1901."""
    newtons = 0.45359237 * 9.80665
    exact = {
        ("ft", "m"): 0.3048,
        ("in", "mm"): 25.4,
        ("lbf", "N"): newtons,
        ("lbf", "kN"): newtons / 1000.0,
        ("lbf/ft", "kN/m"): newtons / 0.3048 / 1000.0,
    }
    analysis = example("riser.csv")
    pairs = re.findall(r">([^<>]+) <small>([^<>]+)</small></td>", sheet_html(analysis))
    seen = set()
    for shown, si in pairs:
        first, units = shown.split(", ")[-1].removeprefix("R ").split(" ")[-2:]
        second, si_units = si.removeprefix("R ").split(" ")
        factor = exact[units, si_units]
        digits = [10.0 ** -len(text.partition(".")[2]) for text in (first, second)]
        # each shows the same figure to half its last digit
        allowed = 0.5 * (digits[0] * factor + digits[1]) * (1.0 + 1e-6)
        value = float(first.replace(",", "")) * factor
        assert float(second.replace(",", "")) == pytest.approx(value, abs=allowed), (shown, si)
        seen.add((units, si_units))
    assert seen == set(exact)
    assert "<small>" not in sheet_html(in_units(analysis, UnitSystem.METRIC))
