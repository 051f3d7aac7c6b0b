"""Features as people and files see them: terminal, sheet, analysis file and tables."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from io import BytesIO, StringIO
from math import radians, sin, tan
from pathlib import Path

import jsonschema
import pytest
from openpyxl import load_workbook

from analyzer.analysis import Analysis, analyze
from analyzer.importers.reading import open_route
from analyzer.job.options import job_from_options
from analyzer.job.settings import Passage
from analyzer.reports.analysis_file import analysis_schema, analysis_values
from analyzer.reports.boxes_text import boxes_text
from analyzer.reports.boxes_what_if_text import what_if_text
from analyzer.reports.content import content_of
from analyzer.reports.csv_tables import csv_texts
from analyzer.reports.sheet import sheet_html
from analyzer.reports.terminal import terminal_text
from analyzer.reports.workbook import workbook_bytes
from analyzer.studies.boxes import find_boxes
from analyzer.studies.what_if import Changes, what_if
from analyzer.units import UnitSystem, ft


def analysis_of(tmp_path: Path, rows: str) -> Analysis:
    """Analysis of points in feet, `x,y,z` or `x,y,z,fitting,label`, by spaces (~ in a name)."""
    path = tmp_path / "route.csv"
    lines = [f"{row}{',' * (4 - row.count(','))}".replace("~", " ") for row in rows.split()]
    path.write_text("x_ft,y_ft,z_ft,fitting,label\n" + "\n".join(lines) + "\n")
    job = job_from_options(raceway="EMT 2", conductor=["3 x 4/0 THHN copper"])
    route = open_route(path, job)
    return analyze(route.runs, job, route.findings)


def terminal_of(analysis: Analysis) -> str:
    return " ".join(terminal_text(content_of(analysis)).split())


def test_drop_between_boxes_is_told_with_its_station_in_terminal_sheet_and_file(
    tmp_path: Path,
) -> None:
    analysis = analysis_of(tmp_path, "0,0,20 10,0,20,handhole,A 10,0,5,handhole,B 20,0,5")
    figures = "top elevation 20.0 ft; bottom elevation 5.0 ft; rise -15.0 ft; straight 15.0 ft"
    assert f"vertical drop at 10.0 ft: {figures}" in terminal_of(analysis)
    row = sheet_html(analysis).partition("vertical drop</td>")[2].partition("</tr>")[0]
    assert "10.0 ft <small>3.05 m</small></td>" in row
    assert figures in row
    values = analysis_values(analysis)
    jsonschema.validate(values, json.loads(analysis_schema()))
    (drop,) = values["runs"][0]["features"]
    assert (drop["bends"], drop["station_m"]) == ([], pytest.approx(ft(10.0)))
    assert drop["end_station_m"] == pytest.approx(ft(25.0))


def test_drop_of_two_touching_bends_says_that_there_is_no_straight(tmp_path: Path) -> None:
    low = 20.0 - 2.0 * 9.5 / 12.0
    analysis = analysis_of(tmp_path, f"0,0,20 10,0,20 10,0,{low} 10,10,{low}")
    assert "bottom elevation 18.4 ft; rise -1.6 ft; no straight" in terminal_of(analysis)


def test_terminal_lists_pairs_of_bends_under_features_but_no_single_kick(tmp_path: Path) -> None:
    pair = "0,0,10 20,0,10 30,4,10 60,4,14"
    text = terminal_of(analysis_of(tmp_path, pair))
    assert "Features - dog-leg, bends 1, 2: angle 21.8°; second angle" in text
    alone = terminal_of(analysis_of(tmp_path, "0,0,10 20,0,10 30,4,10"))
    assert "Features" not in alone


@pytest.mark.parametrize(("north", "side"), [(-1.0, "right"), (1.0, "left")])
def test_rolling_offset_tells_to_which_side_of_travel_it_rolls(
    tmp_path: Path, north: float, side: str
) -> None:
    """Traveling east, south is right: 12 in of roll and 8 in of rise at 30 degrees."""
    run = (12.0**2 + 8.0**2) ** 0.5 / 12.0 / tan(radians(30.0))
    z = 10.0 + 8.0 / 12.0
    told = terminal_of(
        analysis_of(tmp_path, f"0,0,10 20,0,10 {20 + run},{north},{z} {40 + run},{north},{z}")
    )
    assert f"rise 8 in; roll 12 in ({side})" in told


def test_centerline_of_the_sheet_falls_where_the_raceway_goes_down(tmp_path: Path) -> None:
    # 15 ft down less 9.5 in at each bend; it ends 9.5 in above 5 ft
    page = sheet_html(analysis_of(tmp_path, "0,0,20 10,0,20 10,0,5 20,0,5"))
    table = page.partition("Centerline")[2].partition("</table>")[0]
    (down,) = [row for row in table.split("<tr>") if "straight" in row and "-13.4 ft" in row]
    assert "5.8 ft" in down
    assert table.count("-0.8 ft") == 2


def test_features_are_a_table_with_a_column_a_figure(tmp_path: Path) -> None:
    # a three-bend saddle of 2 ft, 22.5 degrees; then down 10 ft between two boxes
    run = 2.0 / tan(radians(22.5))
    saddle = f"0,0,20 20,0,20 {20 + run},0,22 {20 + 2 * run},0,20"
    drop = "50,0,20,handhole,A 50,0,10,handhole,B 60,0,10"
    values = analysis_values(analysis_of(tmp_path, f"{saddle} {drop}"))
    rows = list(csv.DictReader(StringIO(csv_texts(values)["features.csv"])))
    assert [(row["run"], row["kind"], row["bends"]) for row in rows] == [
        ("route", "three-bend saddle", "1 2 3"),
        ("route", "vertical drop", ""),
    ]
    told, dropped = rows
    assert float(told["depth_m"]) == pytest.approx(0.6096)
    assert float(told["depth_ft"]) == pytest.approx(2.0)
    assert float(told["angle_deg"]) == pytest.approx(22.5)
    assert told["top_elevation_ft"] == ""
    assert float(dropped["top_elevation_ft"]) == pytest.approx(20.0)
    assert float(dropped["bottom_elevation_ft"]) == pytest.approx(10.0)
    assert float(dropped["rise_m"]) == pytest.approx(-3.048)
    assert dropped["depth_m"] == ""
    # the way of the saddle over its corner points, less R (2 tan(a/2) - a) at each, R 9.5 in
    along = 20.0 + 2.0 * 2.0 / sin(radians(22.5)) + 30.0 - 2.0 * run
    for angle in map(radians, (22.5, 45.0, 22.5)):
        along -= 9.5 / 12.0 * (2.0 * tan(angle / 2.0) - angle)
    assert float(dropped["station_ft"]) == pytest.approx(along)
    assert "bends_x" not in told


def test_workbook_has_a_page_of_features(tmp_path: Path) -> None:
    values = analysis_values(analysis_of(tmp_path, "0,0,20 10,0,20 10,0,5 20,0,5"))
    book = load_workbook(BytesIO(workbook_bytes(values)))
    page = [list(row) for row in book["features"].iter_rows(values_only=True)]
    assert page[0][:4] == ["run", "kind", "bends", "station_m"]
    assert [row[1] for row in page[1:]] == ["quarter bend", "vertical drop", "quarter bend"]
    assert page[2][2] == "1 2"


@pytest.mark.parametrize("corner", ["20,0,10 20,20,10", "20,20,10"])
def test_corner_passed_through_leads_headline_boxes_and_what_if(
    tmp_path: Path, corner: str
) -> None:
    """What could not be checked stands before the share of what could."""
    analysis = analysis_of(tmp_path, f"0,0,10 {corner},conduit~body,LB 60,20,10")
    job = replace(analysis.job, fittings=())
    run = analysis.runs[0].run
    passed = replace(run.fittings[1], passage=Passage.THROUGH, passage_stated=True)
    run = replace(run, fittings=(run.fittings[0], passed, run.fittings[-1]))
    analysis = analyze([run], job)
    text = terminal_of(analysis)
    assert text.startswith("NOT CHECKED, ")
    assert "Sidewall pressure inside LB not checked. Of what was checked, highest " in text
    assert analysis_values(analysis)["runs"][0]["verdict"] == "not checked"
    study = find_boxes(analysis)
    assert "Not checked: sidewall pressure inside LB." in " ".join(boxes_text(study).split())
    compared = what_if(run, job, Changes(passage=Passage.THROUGH))
    told = " ".join(what_if_text(compared, job).split())
    assert "every box: not checked (sidewall pressure inside LB), " in told
    refed = what_if_text(what_if(run, job, Changes(passage=Passage.REFEED)), job)
    assert ": passes" in refed


def test_corner_in_a_box_is_said_to_be_unchecked_wherever_the_run_is_passed_through(
    tmp_path: Path,
) -> None:
    """The box is refed by default, so no check names it; the whole run passed through does."""
    said = (
        "the conductors are not taken out at any box; sidewall pressure on the inside edge of A "
        "(90°) not checked, no inside radius known"
    )
    analysis = analysis_of(tmp_path, "0,0,10 60,0,10,pull~box,A 60,40,10")
    assert said in terminal_of(analysis)
    assert said in sheet_html(analysis)
    values = analysis_values(analysis)
    jsonschema.validate(values, json.loads(analysis_schema()))
    assert values["runs"][0]["through"]["corners_not_checked"] == ["A"]
    rows = csv.DictReader(StringIO(csv_texts(values)["pulls.csv"]))
    told = {row["leg"]: row["corners_not_checked"] for row in rows}
    assert told == {"Leg 1": "", "Leg 2": "", "whole run passed through": "A"}
    plain = analysis_of(tmp_path, "0,0,10 30,0,10,pull~box,A 60,0,10")
    assert "inside edge" not in terminal_of(plain)


def test_figures_of_a_feature_keep_one_unit_whatever_their_size(tmp_path: Path) -> None:
    """A vertical part in feet, like its elevations; what is bent in inches."""
    for height in (5.0, 40.0):
        told = terminal_of(
            analysis_of(tmp_path, f"0,0,50 10,0,50 10,0,{50 - height} 20,0,{50 - height}")
        )
        assert f"; rise -{height:.1f} ft; straight {height - 2 * 9.5 / 12:.1f} ft" in told
    shift = analysis_of(tmp_path, "0,0,10 20,0,10 40,12,10 60,12,10")
    assert "depth 144 in; spacing 279.89 in" in terminal_of(shift)


def test_conductors_that_stand_in_no_diamond_say_what_is_taken_instead(tmp_path: Path) -> None:
    path = tmp_path / "route.csv"
    path.write_text("x_ft,y_ft,z_ft\n0,0,10\n20,0,10\n20,20,10\n")
    job = job_from_options(raceway="EMT 2", conductor=["4 x 4 THHN copper"])
    found = open_route(path, job)
    said = terminal_of(analyze(found.runs, job, found.findings))
    taken = "weight factor 1.4, and all the pressure of a bend, T/R, on one conductor"
    assert f"diamond by rule (it cannot stand here: {taken})" in said
    assert "inside diameter 2.067 in" in said


def test_no_reason_names_two_equal_tensions(tmp_path: Path) -> None:
    """A route that climbs in one bend from its first point to its last: 100 N at either feed."""
    path = tmp_path / "route.csv"
    path.write_text("x_m,y_m,z_m,radius_m\n0,0,0,\n1.5,0,0,1.5\n1.5,0,1.5,\n")
    job = replace(
        job_from_options(raceway="EMT 2", conductor=["1 x 4/0 THHN copper"]),
        units=UnitSystem.METRIC,
    )
    job = replace(job, pull=replace(job.pull, feed_tension_n=100.0))
    found = open_route(path, job)
    said = terminal_of(analyze(found.runs, job, found.findings))
    assert "100 N instead of 100 N" not in said
