"""Several runs stand in one list first, worst first; one run stands alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from analyzer.analysis import Analysis, analyze
from analyzer.findings import Verdict
from analyzer.importers.reading import open_route
from analyzer.job.options import job_from_options
from analyzer.job.settings import Passage
from analyzer.reports.content import content_of
from analyzer.reports.overview import overview_table, worst_first
from analyzer.reports.sheet import sheet_html
from analyzer.reports.tables import bend_table
from analyzer.reports.terminal import terminal_text
from analyzer.studies.what_if import add_box
from analyzer.units import ft

ROWS = {
    "plain": "0,0,0 40,0,0",
    "one bend": "0,0,0 40,0,0 40,30,1",
    "six bends": "0,0,0 40,0,0 40,40,0 80,40,0 80,80,0 120,80,0 120,120,0 160,120,1",
}


def analysis_of(tmp_path: Path, *names: str) -> Analysis:
    lines = ["run,x_ft,y_ft,z_ft"]
    for name in names:
        lines += [f"{name},{point}" for point in ROWS[name].split()]
    path = tmp_path / "yard.csv"
    path.write_text("\n".join(lines) + "\n")
    job = job_from_options(raceway="EMT 2", conductor=["3 x 4/0 THHN copper"])
    route = open_route(path, job)
    return analyze(route.runs, job, route.findings)


@pytest.fixture
def three(tmp_path: Path) -> Analysis:
    return analysis_of(tmp_path, "plain", "one bend", "six bends")


def test_runs_stand_worst_first(three: Analysis) -> None:
    assert [item.run.name for item in worst_first(three)] == ["six bends", "one bend", "plain"]
    rows = overview_table(three).rows
    assert [row[0] for row in rows] == ["six bends", "one bend", "plain"]
    assert rows[0][1].startswith("fail")
    assert rows[0][-1].startswith("bend total")
    assert rows[1][-1] == rows[2][-1] == ""


def test_an_angle_that_is_not_told_at_all_shows_no_huge_deviation(three: Analysis) -> None:
    item = three.runs[1]
    bends = tuple(replace(bend, angle_sd_rad=5e3) for bend in item.run.bends)
    table = bend_table(replace(item, run=replace(item.run, bends=bends)), three.job)
    assert table.rows[0][2].endswith("± over 180°")


def test_row_tells_the_largest_share_of_the_better_ways(three: Analysis) -> None:
    for row in overview_table(three).rows:
        (analyzed,) = [item for item in three.runs if item.run.name == row[0]]
        share = max(leg.best.share_of_limit or 0.0 for leg in analyzed.legs)
        assert abs(float(row[2].removesuffix(" %").replace(",", "")) - 100 * share) <= 0.5
        assert row[5].startswith(f"{len(analyzed.run.bends)}, ")


def test_sentence_counts_every_run_once(three: Analysis) -> None:
    fails = sum(item.verdict is Verdict.FAIL for item in three.runs)
    text = content_of(three).overview_text
    assert text.startswith(f"3 runs: {fails} fail")
    assert sum(int(part.split()[0]) for part in text.split(": ")[1].split(", ")) == 3


def test_list_stands_before_the_runs_in_terminal_and_sheet(three: Analysis) -> None:
    for text in (terminal_text(content_of(three)), sheet_html(three)):
        assert text.index("worst first") < text.index("Raceway</dt>" if "<dt>" in text else "Leg 1")
    assert sheet_html(three).count('class="verdict') == 3


def test_list_tells_how_conductors_pass_the_boxes_where_there_are_any(three: Analysis) -> None:
    heads = [column.header for column in overview_table(three).columns]
    assert "Boxes" not in heads
    one = add_box(three.runs[0].run, ft(10.0), three.job)
    two = add_box(one, ft(20.0), three.job)
    last = two.fittings[2]
    mixed = replace(
        two, fittings=(*two.fittings[:2], replace(last, passage=Passage.THROUGH), *two.fittings[3:])
    )
    listed_only = replace(one, fittings=tuple(replace(f, pull_point=False) for f in one.fittings))
    runs = [
        replace(run, name=name)
        for name, run in zip("abcd", (one, mixed, listed_only, two), strict=True)
    ]
    table = overview_table(analyze([*runs, three.runs[1].run], three.job))
    assert [column.header for column in table.columns] == [*heads[:-1], "Boxes", heads[-1]]
    told = {row[0]: row[-2] for row in table.rows}
    assert told == {
        "a": "1 refed", "b": "1 refed, 1 through", "c": "", "d": "2 refed", "one bend": "",
    }  # fmt: skip
    assert all(len(row) == len(table.columns) for row in table.rows)


def test_one_run_has_no_list(tmp_path: Path) -> None:
    alone = analysis_of(tmp_path, "one bend")
    assert content_of(alone).overview is None
    assert "worst first" not in terminal_text(content_of(alone))
    assert sheet_html(alone).count('class="verdict') == 1


def test_terminal_lists_bends_and_drops_with_elevations(tmp_path: Path) -> None:
    path = tmp_path / "drop.csv"
    path.write_text("x_ft,y_ft,z_ft\n0,0,20\n10,0,20\n10,0,5\n20,0,5\n20,10,5\n")
    job = job_from_options(raceway="EMT 2", conductor=["3 x 4/0 THHN copper"])
    route = open_route(path, job)
    text = " ".join(terminal_text(content_of(analyze(route.runs, job, route.findings))).split())
    assert "B1 90° R 9.5 in falling at 9.2 ft; B2 90° R 9.5 in falling at" in text
    assert "vertical drop, bends 1, 2: top elevation 20.0 ft; bottom elevation 5.0 ft" in text
