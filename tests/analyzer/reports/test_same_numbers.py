"""JSON, terminal, CSV and sheet of every example show the same numbers, to the digits shown."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from analyzer.analysis import Analysis, analyze
from analyzer.importers.reading import open_route
from analyzer.job.options import job_from_options
from analyzer.job.reading import read_job
from analyzer.reports.analysis_file import analysis_schema, analysis_values
from analyzer.reports.cautions import SAID_WITH_LIMITS
from analyzer.reports.content import content_of
from analyzer.reports.csv_tables import csv_texts, flat_tables
from analyzer.reports.plan_content import plan_content
from analyzer.reports.plan_terminal import plan_text
from analyzer.reports.sheet import sheet_html
from analyzer.reports.table_columns import TABLE_COLUMNS
from analyzer.reports.terminal import terminal_text
from analyzer.studies.plan import plan_pull
from analyzer.units import show_force

EXAMPLES = Path(__file__).parents[3] / "example_paths"
ROUTES = sorted(p for p in EXAMPLES.iterdir() if p.suffix in (".csv", ".dxf"))

# Written out here on purpose: the factors of units.py are not used to check what it shows.
FOOT = 0.3048
POUND = 4.4482216152605


@cache
def analyzed(route: Path) -> Analysis:
    job = read_job(route.with_suffix(".toml"))
    found = open_route(route, job)
    return analyze(found.runs, job, found.findings)


@cache
def saved(route: Path) -> dict[str, Any]:
    return json.loads(json.dumps(analysis_values(analyzed(route)), allow_nan=False))


def half_last_digit(text: str) -> float:
    number = text.replace(",", "")
    decimals = len(number.partition(".")[2])
    return 0.5 * 10.0**-decimals * (1 + 1e-9)


def shown(text: str, value: float) -> bool:
    return abs(float(text.replace(",", "")) - value) <= half_last_digit(text)


def test_there_are_examples_of_every_kind() -> None:
    assert {p.suffix for p in ROUTES} == {".csv", ".dxf"}
    assert len(ROUTES) >= 5


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_analysis_file_fits_its_schema(route: Path) -> None:
    jsonschema.validate(saved(route), json.loads(analysis_schema()))


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_terminal_shows_the_figures_of_the_analysis_file(route: Path) -> None:
    text = terminal_text(content_of(analyzed(route)), width=160)
    number = r"(-?[\d,]+(?:\.\d+)?)"
    for run in saved(route)["runs"]:
        assert f"{run['length_m'] / FOOT:,.1f} ft" in text
        for leg in run["legs"]:
            head = re.search(
                rf"^{leg['name']}  {re.escape(leg['from'])} to {re.escape(leg['to'])}: "
                rf"{number} ft, "
                rf"(\d+) bends?, {number}°, rise {number} ft$",
                text,
                re.MULTILINE,
            )
            assert head is not None
            assert shown(head[1], leg["length_m"] / FOOT)
            assert int(head[2]) == leg["bend_count"]
            assert shown(head[3], leg["bend_total_deg"])
            assert shown(head[4], leg["rise_m"] / FOOT)
            for way in ("forward", "reverse"):
                pull = leg[way]
                row = re.search(
                    rf"feed {re.escape(pull['feed_at'])}, pull {re.escape(pull['pull_at'])} +"
                    rf"{number} lbf +{number} lbf +{number} lbf +{number} lbf/ft +{number} %",
                    text[head.end() :],
                )
                assert row is not None
                assert shown(row[1], pull["low"]["max_tension_n"] / POUND)
                assert shown(row[2], pull["max_tension_n"] / POUND)
                assert shown(row[3], pull["high"]["max_tension_n"] / POUND)
                assert shown(row[4], pull["high"]["max_sidewall_n_per_m"] / POUND * FOOT)
                assert shown(row[5], 100 * pull["share_of_limit"])


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_csv_holds_every_number_of_the_analysis_file(route: Path) -> None:
    texts = csv_texts(saved(route))
    tables = {name: list(csv.DictReader(io.StringIO(text))) for name, text in texts.items()}
    for run in saved(route)["runs"]:
        for kind in ("bends", "segments", "fittings", "checks"):
            rows = [row for row in tables[f"{kind}.csv"] if row["run"] == run["name"]]
            for row, item in zip(rows, run[kind], strict=True):
                for key, value in item.items():
                    if isinstance(value, float):
                        assert float(row[key]) == value
        for leg in run["legs"]:
            for way in ("forward", "reverse"):
                row = next(
                    row
                    for row in tables["pulls.csv"]
                    if (row["run"], row["leg"], row["direction"]) == (run["name"], leg["name"], way)
                )
                pull = leg[way]
                for key in ("exit_tension_n", "max_tension_n", "hold_back_n"):
                    assert float(row[key]) == pull[key]
                    assert float(row[key[:-2] + "_lbf"]) == pytest.approx(
                        pull[key] / POUND, rel=1e-12
                    )
                assert float(row["high_max_tension_n"]) == pull["high"]["max_tension_n"]


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_tables_have_fixed_columns_and_say_what_they_rest_on(route: Path) -> None:
    values = saved(route)
    for name, rows in flat_tables(values).items():
        for row in rows:
            assert set(row) <= set(TABLE_COLUMNS[name]), name
    texts = csv_texts(values)
    tables = {name: list(csv.DictReader(io.StringIO(text))) for name, text in texts.items()}
    facts = {row["fact"]: row for row in tables["facts.csv"]}
    friction = values["job"]["pull"]["friction"]
    assert float(facts["friction high"]["value"]) == friction["high"]
    assert float(facts["weight factor"]["value"]) == values["group"]["weight_factor"]
    assert facts["raceway"]["value"].startswith(values["job"]["raceway"]["type"])
    assert facts["route sha256"]["value"] == values["inputs"][0]["sha256"]
    assert {row["sha256"] for row in tables["runs.csv"]} == {values["inputs"][0]["sha256"]}
    assert {row["friction_level"] for row in tables["profiles.csv"]} == {"expected"}
    assert {row["friction_level"] for row in tables["bend_tensions.csv"]} == {"high"}
    assert [row["caution"] for row in tables["cautions.csv"]] == list(SAID_WITH_LIMITS)
    for row in tables["checks.csv"]:
        braked, pulled = "-braked" in row["code"], row["code"] in ("sidewall", "conductor-tension")
        if braked or pulled:
            assert row["friction_level"] == ("low" if braked else "high")
        ending, factor = UNITS[row["unit"]]
        is_of_both = factor == 1.0  # an angle, a share or a number: one unit for all
        assert row["unit_us"] == (row["unit"] if is_of_both else ending.strip())
        if row["value"]:
            assert float(row["value_us"]) == pytest.approx(float(row["value"]) / factor, rel=1e-12)


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_sheet_shows_the_figures_of_the_analysis_file(route: Path) -> None:
    page = sheet_html(analyzed(route))
    rows = [
        [html.unescape(cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)]
        for row in re.findall(r"<tr>(.*?)</tr>", page, re.DOTALL)
    ]
    for run in saved(route)["runs"]:
        for leg in run["legs"]:
            for way in ("forward", "reverse"):
                pull = leg[way]
                ends = [pull["feed_at"], pull["pull_at"]]
                row = next(r for r in rows if r[:1] == [leg["name"]] and r[2:4] == ends)
                figures = [cell.split(" ")[0] for cell in row[4:8]]
                assert shown(figures[0], pull["low"]["max_tension_n"] / POUND)
                assert shown(figures[1], pull["max_tension_n"] / POUND)
                assert shown(figures[2], pull["high"]["max_tension_n"] / POUND)
                assert shown(figures[3], pull["high"]["max_sidewall_n_per_m"] / POUND * FOOT)
        bends = [b for b in run["bends"] if not b["in_fitting"]]
        for bend in bends:
            row = next(r for r in rows if len(r) == 9 and r[0] == str(bend["number"]))
            assert shown(row[1].split(" ")[0], bend["station_m"] / FOOT)
            assert shown(row[2].rstrip("°"), bend["angle_deg"])
            assert float(row[3].split(" ")[0]) == pytest.approx(
                bend["radius_m"] / FOOT * 12, abs=0.005
            )


NUMBER = r"(-?[\d,]+(?:\.\d+)?)"


def pulls_of(run: dict[str, Any]) -> list[dict[str, Any]]:
    """Both pulls of every leg and, where there are several, of the whole run passed through."""
    found = [leg[way] for leg in run["legs"] for way in ("forward", "reverse")]
    if len(run["legs"]) > 1:
        found += [run["through"][way] for way in ("forward", "reverse")]
    return found


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_terminal_shows_every_pull_with_its_limit_and_brake(route: Path) -> None:
    text = terminal_text(content_of(analyzed(route)), width=400)
    for run in saved(route)["runs"]:
        at = 0
        for pull in pulls_of(run):
            head = f"feed {pull['feed_at']}, pull {pull['pull_at']} "
            at = text.index(head, at) + len(head)
            row, governed = text[at:].split("\n")[:2]
            figures = re.findall(rf"{NUMBER} (?:lbf/ft|lbf|%)", row)
            expected = [
                pull["low"]["max_tension_n"] / POUND,
                pull["max_tension_n"] / POUND,
                pull["high"]["max_tension_n"] / POUND,
                pull["high"]["max_sidewall_n_per_m"] / POUND * FOOT,
                100 * pull["share_of_limit"],
            ]
            for figure, value in zip(figures, expected, strict=True):
                assert shown(figure, value)
            brake = re.search(
                rf"brake at the feed {NUMBER} lbf, braked tension {NUMBER} lbf, {NUMBER} lbf/ft",
                governed,
            )
            assert (brake is not None) == (pull["hold_back_n"] / POUND >= 0.05)
            if brake is not None:
                assert shown(brake[1], pull["hold_back_n"] / POUND)
                assert shown(brake[2], pull["braked_max_tension_n"] / POUND)
                assert shown(brake[3], pull["braked_max_sidewall_n_per_m"] / POUND * FOOT)


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_csv_profiles_hold_every_point_of_the_analysis_file(route: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_texts(saved(route))["profiles.csv"])))
    keys = ("station_m", "tension_n", "sidewall_n_per_m")
    found = [tuple(float(row[key]) for key in keys) for row in rows]
    expected = [
        entry
        for run in saved(route)["runs"]
        for pull in (
            [leg[way] for leg in run["legs"] for way in ("forward", "reverse")]
            + [run["through"][way] for way in ("forward", "reverse")]
        )
        for entry in zip(*(pull["profile"][key] for key in keys), strict=True)
    ]
    assert found == expected


UNITS = {
    "deg": ("°", 1.0),
    "m": (" ft", FOOT),
    "N": (" lbf", POUND),
    "N/m": (" lbf/ft", POUND / FOOT),
    "percent": (" %", 1.0),
    "ratio": ("", 1.0),
    "count": ("", 1.0),
}


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_sheet_shows_every_check_of_the_analysis_file(route: Path) -> None:
    # without the figures in SI, which stand beside those in the units of the job
    page = re.sub(r" <small>.*?</small>", "", sheet_html(analyzed(route)))
    rows = [
        [html.unescape(cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)]
        for row in re.findall(r"<tr>(.*?)</tr>", page, re.DOTALL)
    ]
    for run in saved(route)["runs"]:
        for check in run["checks"]:
            (row,) = [r for r in rows if len(r) == 8 and r[6] == check["message"]][:1]
            assert row[1] == (check["leg"] or "run")
            said = {
                "fail": "fails this way, not counted",
                "caution": "caution this way, not counted",
            }
            is_idle = not check["counts"]
            assert row[3] == (said.get(check["verdict"], "pass") if is_idle else check["verdict"])
            for cell, value in ((row[4], check["value"]), (row[5], check["limit"])):
                if value is None:
                    assert cell == ""
                    continue
                ending, factor = UNITS[check["unit"]]
                if cell.endswith(" in"):
                    ending, factor = " in", FOOT / 12
                assert cell.endswith(ending)
                assert shown(cell.removesuffix(ending), value / factor)


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_hand_check_forms_give_the_tension_of_the_analysis(route: Path) -> None:
    """Where a closed form holds, it gives what the solver gives, to the digits shown."""
    from analyzer.reports.hand_check import hand_checks

    held = 0
    for run in analyzed(route).runs:
        for check in hand_checks(run, analyzed(route)):
            for *_, by_form, in_analysis in check.table.rows:
                if by_form:
                    assert by_form == in_analysis
                    held += 1
    assert held >= 3


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_equal_input_gives_equal_sheet(route: Path) -> None:
    assert sheet_html(analyzed(route)) == sheet_html(analyzed(route))


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_sheet_and_terminal_carry_the_cautions(route: Path) -> None:
    page = html.unescape(sheet_html(analyzed(route)))
    text = " ".join(terminal_text(content_of(analyzed(route))).split())
    for words in ("cable maker", "authority having jurisdiction", "lock out", "brake"):
        assert words in page
        assert words in text


def test_every_bend_above_the_limit_is_named_in_text_sheet_and_tables() -> None:
    # two bends of the yard press above 300 lbf/ft: the reference march gives 738 in the fifth
    route = EXAMPLES / "training_yard.csv"
    text = " ".join(terminal_text(content_of(analyzed(route)), width=400).split())
    page = html.unescape(sheet_html(analyzed(route)))
    for said in (text, page):
        assert "Above it: bends 6 (1,826 lbf/ft), 5 (738 lbf/ft)." in said
        # 3 ft of straight behind the sixth are all that its radius can take
        assert "no radius that fits at its corner passes (R 36 in at most)" in said
        assert "bend 5, 738 lbf/ft, needs R 23.35 in." in said
    (check,) = [
        check
        for check in saved(route)["runs"][0]["checks"]
        if (check["code"], check["direction"]) == ("sidewall", "forward")
    ]
    assert check["bends"] == [6, 5]
    rows = csv.DictReader(io.StringIO(csv_texts(saved(route))["bend_tensions.csv"]))
    needs = {
        int(row["number"]): float(row["needs_radius_ft"] or 0.0)
        for row in rows
        if row["direction"] == "forward"
    }
    assert [number for number, radius in needs.items() if radius] == [5]
    assert needs[5] * 12 > 9.5


def test_where_the_braked_state_governs_the_headlines_give_its_figures(tmp_path: Path) -> None:
    route = tmp_path / "riser.csv"
    route.write_text("x_ft,y_ft,z_ft\n0,0,110\n4,0,110\n4,0,5\n8,0,5\n")
    job = job_from_options(raceway="EMT 2", conductor=["3 x 1/0 THHN copper"])
    found = open_route(route, job)
    analysis = analyze(found.runs, job, found.findings)
    best = analysis.runs[0].legs[0].best
    assert best.governing is not None
    assert best.governing.code == "sidewall-braked"
    held, brake, pulled = (
        show_force(force, job.units)
        for force in (
            best.braked.max_tension_n, best.braked.hold_back_n, best.high.max_tension_n,
        )
    )  # fmt: skip
    said = f"brake at the feed {brake}; pulled, {pulled} at high friction."
    text = " ".join(terminal_text(content_of(analysis)).split())
    assert f"held back at low friction, greatest tension there {held}, {said}" in text
    assert f"{pulled} (held back {held}, " in text
    plan = " ".join(plan_text(plan_content(plan_pull(analysis))).split())
    assert f"held back at low friction, greatest tension {held}, {said}" in plan
