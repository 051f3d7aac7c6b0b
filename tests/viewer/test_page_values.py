"""What the page holds, before any browser: legs of every choice, escaping, equal bytes."""

from __future__ import annotations

import argparse
import html
import json
import re
from base64 import b64decode
from dataclasses import replace
from io import BytesIO
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest
import rink_analyses as rink
from openpyxl import load_workbook

from analyzer import analyze, open_route, read_job
from analyzer.errors import InputError, OutputError
from analyzer.findings import Finding, Severity, Verdict
from analyzer.job.settings import Friction, Passage
from analyzer.pulling.results import Direction
from analyzer.reports.analysis_file import analysis_values
from analyzer.reports.boxes_text import boxes_text
from analyzer.reports.boxes_what_if_text import what_if_text
from analyzer.reports.cautions import METHOD_LIMITS, SAID_WITH_LIMITS, SHORT_CAUTION
from analyzer.reports.check_words import verdict_text
from analyzer.reports.content import content_of
from analyzer.reports.csv_tables import csv_texts
from analyzer.reports.overview import overview_table, overview_text
from analyzer.reports.plan_content import plan_content
from analyzer.reports.plan_csv import plan_csv
from analyzer.reports.plan_page import plan_html
from analyzer.reports.plan_terminal import plan_text
from analyzer.reports.sheet import sheet_html
from analyzer.reports.terminal import terminal_text
from analyzer.reports.words import check_name
from analyzer.reports.workbook import workbook_bytes
from analyzer.studies.boxes import find_boxes
from analyzer.studies.plan import plan_pull
from analyzer.studies.what_if import Changes, what_if
from analyzer.units import (
    UnitSystem,
    ft,
    lbf,
    lbf_per_ft,
    show_force,
    show_length,
    show_pressure,
    to_ft,
    to_lbf,
    to_lbf_per_ft,
)
from viewer import page_data, page_legs
from viewer.cli import command
from viewer.page import data_block, page_html, write_page
from viewer.page_data import page_values
from viewer.page_legs import knots_of, leg_keys
from viewer.page_series import Series
from viewer.page_units import PageUnits
from viewer.palette import DARK, LIGHT
from viewer.shown_values import of_limit

EXAMPLES = Path(__file__).resolve().parents[2] / "example_paths"


def example(name):
    path = EXAMPLES / name
    job = read_job(path.with_suffix(".toml"))
    route = open_route(path, job)
    return analyze(route.runs, job, route.findings)


def without(analysis, *off):
    """A fresh analysis with some boxes taken out of the pull points."""
    run = analysis.runs[0].run
    fittings = tuple(
        replace(item, pull_point=False) if item.name in off else item for item in run.fittings
    )
    return analyze([replace(run, fittings=fittings)], analysis.job)


def legs_of(values, on):
    """The legs the page's script composes for a choice of boxes; here refed at each."""
    stops = [0, *(n + 1 for n, used in enumerate(on) if used), len(values["stops"]) - 1]
    return [values["legs"][f"{a}-{b}"] for a, b in pairwise(stops)]


def row(page, number):
    """A packed row of numbers."""
    return np.frombuffer(b64decode(page["series"][number]), dtype="<f4").astype(float)


@pytest.fixture(scope="module")
def feeder():
    return example("overhead_feeder.dxf")


@pytest.fixture(scope="module")
def page(feeder):
    return page_values(feeder, LIGHT)


@pytest.fixture(scope="module")
def values(page):
    return page["runs"][0]


@pytest.mark.parametrize("on", list(product([True, False], repeat=2)))
def test_composed_legs_equal_a_fresh_analysis_both_ways(feeder, page, values, on):
    names = [stop["name"] for stop in values["stops"][1:-1]]
    off = [name for name, used in zip(names, on, strict=True) if not used]
    fresh = without(feeder, *off).runs[0]
    shown = legs_of(values, on)
    assert len(shown) == len(fresh.legs)
    units = feeder.job.units
    limit = values["limits"]["tension"]["value"]
    steps = [step["name"] for step in page["frictions"]]
    for leg, own in zip(shown, fresh.legs, strict=True):
        for way in Direction:
            pull = own.forward if way is Direction.FORWARD else own.reverse
            part = leg[way.value]
            assert (part["feed"], part["pull"]) == (pull.feed_at, pull.pull_at)
            assert part["share"] == of_limit(pull.share_of_limit)
            failing = {
                check_name(c.code)
                for c in fresh.checks
                if c.verdict.value == "fail"
                and c.leg == own.leg.name
                and c.direction in (None, way.value)
            }
            assert set(part["fails"]) == failing
            for name in ("low", "expected", "high"):
                figures = getattr(pull, name)
                told = part["at"][steps.index(name)]
                assert told["tension"]["text"] == show_force(figures.max_tension_n, units)
                assert told["exit"] == show_force(figures.exit_tension_n, units)
                assert told["tension"]["share"] * limit == pytest.approx(told["tension"]["value"])
                pressed = show_pressure(figures.max_sidewall_n_per_m, units)
                assert told["sidewall"]["text"] == pressed
                # single precision keeps seven digits; here all maxima stand at joints
                greatest = row(page, told["curve"][1]).max()
                assert greatest == pytest.approx(told["tension"]["value"], rel=2e-7)


def test_every_step_of_friction_is_calculated_and_none_read_between(feeder, page, values):
    steps = page["frictions"]
    # two whole thousandths between each of 0.2, 0.35 and 0.5
    assert [step["value"] for step in steps] == [0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5]
    assert [step["name"] for step in steps] == ["low", "", "", "expected", "", "", "high"]
    for number, step in enumerate(steps):
        value = step["value"]
        band = Friction(value, value, value, True)
        job = replace(feeder.job, pull=replace(feeder.job.pull, friction=band))
        fresh = analyze([feeder.runs[0].run], job).runs[0]
        for leg, own in zip(legs_of(values, (True, True)), fresh.legs, strict=True):
            for way, pull in (("forward", own.forward), ("reverse", own.reverse)):
                told = leg[way]["at"][number]
                expected = show_force(pull.expected.max_tension_n, job.units)
                assert told["tension"]["text"] == expected
                own_curve = pull.profile.tension_n[:: 1 if way == "forward" else -1]
                assert row(page, told["curve"][1]) == pytest.approx(
                    np.array([to_lbf(value) for value in own_curve]), rel=2e-7
                )


def test_one_friction_number_gives_one_step(feeder):
    job = replace(feeder.job, pull=replace(feeder.job.pull, friction=Friction(0.4, 0.4, 0.4, True)))
    made = page_values(analyze([feeder.runs[0].run], job), LIGHT)
    assert [step["number"] for step in made["frictions"]] == ["0.4"]


def test_a_curve_is_the_profile_itself(feeder, page, values):
    leg = values["legs"]["0-1"]
    profile = feeder.runs[0].legs[0].forward.profile
    station, tension, sidewall = (
        row(page, number) for number in leg["forward"]["at"][3]["curve"]
    )  # fmt: skip
    assert station == pytest.approx(to_ft(np.array(profile.station_m)), rel=2e-7)
    assert tension == pytest.approx(np.array([to_lbf(v) for v in profile.tension_n]), rel=2e-7)
    pressed = np.array([to_lbf_per_ft(v) for v in profile.sidewall_n_per_m])
    assert sidewall == pytest.approx(pressed, rel=2e-7)


def test_knots_turn_at_most_five_degrees(feeder):
    run = feeder.runs[0].run
    knots = knots_of(run).stations_m
    tangents = run.centerline.tangents_at((knots[1:] + knots[:-1]) / 2)
    turn = np.degrees(np.arccos(np.clip((tangents[1:] * tangents[:-1]).sum(axis=1), -1, 1)))
    assert turn.max() <= 5.0 + 1e-6
    for fitting in run.fittings:
        assert np.abs(knots - fitting.station_m).min() < 1e-7


def changed(analysis, **passages):
    """The first run with other passages: name to (passage, whether it is stated)."""
    run = analysis.runs[0].run
    fittings = tuple(
        replace(item, passage=passages[item.name][0], passage_stated=passages[item.name][1])
        if item.name in passages
        else item
        for item in run.fittings
    )
    return replace(run, fittings=fittings)


def test_a_box_passed_through_carries_its_tension_on(feeder):
    run = changed(feeder, **{"Box A": (Passage.THROUGH, True)})
    through = analyze([run], feeder.job)
    values = page_values(through, LIGHT)["runs"][0]
    assert set(values["legs"]) == {
        "0-2", "0-0-1-2", "0-1-2-2", "0-3", "0-0-1-3", "0-1-3-3", "2-3",
    }  # fmt: skip
    own = through.runs[0].legs
    for key, fresh in (("0-0-1-2", own[0]), ("0-1-2-2", own[1]), ("2-3", own[2])):
        leg = values["legs"][key]
        for way, pull in (("forward", fresh.forward), ("reverse", fresh.reverse)):
            told = leg[way]["at"][3]["tension"]["text"]
            assert told == show_force(pull.expected.max_tension_n, feeder.job.units)


def boxes(count, passage=Passage.REFEED, stated=True):
    """Stops of a run with so many boxes."""
    stop = rink.analysis_of().runs[0].run.fittings[0]
    inner = replace(stop, passage=passage, passage_stated=stated)
    return [stop, *(replace(inner, station_m=float(n + 1)) for n in range(count)), stop]


def test_thirty_boxes_are_switched_and_thirty_one_are_not():
    # every pair of 32 stops is 32 x 31 / 2 legs
    assert len(leg_keys(boxes(30))) == 496
    assert leg_keys(boxes(31)) is None
    assert len(leg_keys(boxes(30, Passage.THROUGH))) == 496


def test_too_many_boxes_are_shown_but_not_switched(monkeypatch, feeder):
    monkeypatch.setattr(page_legs, "MOST_LEGS", 3)
    values = page_values(feeder, LIGHT)["runs"][0]
    assert values["switched"] is False
    assert "not switched" in values["switch_words"]
    assert set(values["legs"]) == {"0-1", "1-2", "2-3"}
    fixed = values["standing"]["fixed"]
    assert fixed["better"]["text"] == verdict_text(feeder.runs[0])
    for way in ("forward", "reverse"):
        fails = any(
            check.verdict is Verdict.FAIL and check.direction in (None, way)
            for check in feeder.runs[0].checks
        )
        assert (fixed[way]["verdict"] == "fail") is fails


def test_the_share_beside_a_figure_names_its_limit(feeder):
    legs = page_values(feeder, LIGHT)["runs"][0]["legs"].values()
    for figure in (at for leg in legs for at in leg["forward"]["at"]):
        assert re.fullmatch(r"[\d.]+ (% of|×) tension limit", figure["tension"]["of"])
        if figure["sidewall"] is not None:
            assert re.fullmatch(r"[\d.]+ (% of|×) sidewall limit", figure["sidewall"]["of"])


def test_a_run_without_boxes_has_one_stretch():
    values = page_values(example("training_yard.csv"), LIGHT)["runs"][0]
    assert set(values["legs"]) == {"0-1"}
    assert values["switched"] is False


def test_legs_join_every_pair_of_places_to_feed(feeder):
    stops = [item for item in feeder.runs[0].run.fittings if item.pull_point]
    pairs = {(key.start, key.end) for key in leg_keys(stops)}
    assert pairs == {(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)}


def test_an_unknown_limit_says_so_and_colors_by_the_plain_map():
    analysis = rink.tiny()
    line = analysis.job.conductors[0]
    bare = replace(line, conductor=replace(line.conductor, max_tension_n=None))
    job = replace(analysis.job, conductors=(bare,))
    values = page_values(analyze([analysis.runs[0].run], job), LIGHT)["runs"][0]
    assert values["limits"]["tension"] is None
    assert values["legs"]["0-1"]["forward"]["at"][0]["tension"]["of"] is None
    assert values["standing"]["needed"] is False


def test_metric_jobs_are_shown_in_metric_units(feeder):
    job = replace(feeder.job, units=UnitSystem.METRIC)
    values = page_values(analyze([feeder.runs[0].run], job), LIGHT)["runs"][0]
    assert values["length"] == pytest.approx(feeder.runs[0].run.centerline.length_m)
    assert values["limits"]["sidewall"]["text"].endswith("kN/m")
    assert "lbf" not in json.dumps(values["legs"]) + json.dumps(values["limits"])


def test_numbers_of_a_metric_page_are_newtons_kilonewtons_a_meter_and_meters():
    # 500 lbf/ft x 14.5939 N/m = 7,297 N/m
    metric, us = PageUnits(UnitSystem.METRIC), PageUnits(UnitSystem.US)
    assert metric.pressure(lbf_per_ft(500.0)) == pytest.approx(7.297, abs=5e-4)
    assert us.pressure(lbf_per_ft(500.0)) == pytest.approx(500.0)
    assert (metric.force(1234.0), us.force(lbf(1234.0))) == (1234.0, pytest.approx(1234.0))
    assert (metric.length(ft(10.0)), us.length(ft(10.0))) == pytest.approx((3.048, 10.0))


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize(
    "value", [0.0, 0.4, 9.96, 99.9, 99.96, 444.0, 445.0, 990.0, 999.4, 999.6, 4444.0, 25000.0]
)
def test_script_writes_numbers_as_they_stand_everywhere_else(system, value):
    """By its steps: the first whose start the number reaches."""
    units = PageUnits(system)

    def written(kind, number):
        steps = units.rules()[kind]
        _, factor, decimals, unit = next(step for step in steps if abs(number) >= step[0])
        return f"{number * factor:,.{decimals}f} {unit}"

    assert written("force", units.force(value)) == show_force(value, system)
    assert written("pressure", units.pressure(value)) == show_pressure(value, system)
    assert written("length", units.length(value)) == show_length(value, system)


HOSTILE = '</script><script>document.title="broken"</script><img src=x onerror=alert(1)>&"\'<!--'


def test_text_from_drawings_cannot_leave_its_place():
    analysis = rink.analysis_of(ends=(HOSTILE, "Chiller 2"), title=HOSTILE, boxes=((HOSTILE, 60),))
    page = page_html(analyze([analysis.runs[0].run], analysis.job))
    assert HOSTILE not in page
    assert "<img" not in page.split('<script type="application/json"')[0]
    block = re.search(r'<script type="application/json" id="page-data">(.*?)</script>', page, re.S)
    assert "<" not in block[1]
    assert json.loads(block[1])["title"] == HOSTILE


def test_the_data_block_reads_back():
    text = data_block({"a": "</script>&\u2028", "b": [1, 2.5, None]})
    assert not set("<>&\u2028") & set(text)
    assert json.loads(text) == {"a": "</script>&\u2028", "b": [1, 2.5, None]}


def test_equal_input_gives_equal_bytes(tmp_path):
    first, second = tmp_path / "a.html", tmp_path / "b.html"
    write_page(example("training_yard_two_boxes.csv"), first)
    write_page(example("training_yard_two_boxes.csv"), second)
    assert first.read_bytes() == second.read_bytes()
    assert 4_000_000 < first.stat().st_size < 6_500_000


def test_the_policy_allows_the_scripts_inside_and_no_request(feeder):
    page = page_html(feeder, theme=DARK)
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', page)[1]
    assert "default-src &#39;none&#39;" in policy
    assert "http" not in policy
    assert "unsafe-inline" not in policy.split("style-src")[0]
    head = page.split("<script")[0]
    assert not re.findall(r"(?:src|href)=\"(?!data:,)", head)


def arguments(*words, analysis):
    parser = argparse.ArgumentParser()
    command.add_arguments(parser)
    args = parser.parse_args(words)
    args.load_analysis = lambda: analysis
    return args


def test_the_command_writes_a_page_without_a_screen(monkeypatch, tmp_path, feeder):
    monkeypatch.delenv("DISPLAY", raising=False)
    file = tmp_path / "feeder.html"
    words = ("--page", str(file), "--direction", "reverse", "--at-friction", "high", "--dark")
    assert command.run(arguments(*words, analysis=feeder)) == 0
    text = file.read_text("utf-8")
    assert '"opens":{"way":"reverse","friction":6}' in text
    assert 'data-theme="dark"' in text
    assert [item.name for item in tmp_path.iterdir()] == ["feeder.html"]


def test_a_page_in_a_missing_folder_is_refused(tmp_path, feeder):
    with pytest.raises(OutputError, match="no folder"):
        command.run(arguments("--page", str(tmp_path / "no" / "a.html"), analysis=feeder))


def test_a_run_that_is_not_there_is_named(feeder):
    with pytest.raises(InputError, match="no run is named"):
        page_html(feeder, run="roof")


def several(count=4):
    """Runs of one route: feeders of different length, under one job."""
    made = rink.analysis_of(boxes=(("Box A", 60.0),))
    lines = [made.runs[0].run]
    for n in range(1, count):
        corners = [*rink.FEEDER[:-1], (96.5, 54.0 - 9 * n, 3.92)]
        run = rink.analysis_of(corners=corners, name=f"feeder {n}").runs[0].run
        lines.append(run)
    return analyze(lines, made.job)


def test_a_page_holds_all_runs_worst_first_as_the_overview_lists_them():
    analysis = several()
    made = page_values(analysis, LIGHT)
    table = overview_table(analysis)
    names = [cells[0] for cells in table.rows]
    assert [run["name"] for run in made["runs"]] == names
    assert len(set(names)) == 4
    for told, cells in zip(made["list"]["rows"], table.rows, strict=True):
        keys = ("name", "told", "share", "governs", "length", "bends", "boxes", "fails")
        assert tuple(told[key] for key in keys) == cells
        assert told["runs"] is True
    assert made["list"]["text"] == overview_text(analysis)


def test_a_run_that_could_not_be_read_leaves_the_list_to_the_others():
    lost = Finding("run-unread", Severity.ERROR, "run 'lost' turns back on itself", "lost")
    analysis = several(2)
    made = page_values(replace(analysis, findings=(*analysis.findings, lost)), LIGHT)
    assert [row["name"] for row in made["list"]["rows"]] == [run["name"] for run in made["runs"]]
    assert "1 not read" in made["list"]["text"]
    assert any(lost.message in told for told in made["findings"]["cautions"])


def test_one_run_or_one_asked_for_has_no_list(feeder):
    assert page_values(feeder, LIGHT)["list"] is None
    made = page_values(several(), LIGHT, run="feeder 2")
    assert made["list"] is None
    assert [run["name"] for run in made["runs"]] == ["feeder 2"]
    assert "one of 4 runs" in made["runs"][0]["subline"]


def test_beyond_its_size_a_page_holds_the_worst_runs_and_lists_the_others(monkeypatch):
    analysis = several()
    whole = page_values(analysis, LIGHT)
    one = len(json.dumps(whole["runs"][0])) + 1000
    monkeypatch.setattr(page_data, "MOST_BYTES", one)
    made = page_values(analysis, LIGHT)
    held = len(made["runs"])
    assert 1 <= held < 4
    assert [run["name"] for run in made["runs"]] == [run["name"] for run in whole["runs"][:held]]
    assert len(made["list"]["rows"]) == 4
    assert [row["runs"] for row in made["list"]["rows"]] == [n < held for n in range(4)]
    assert f"the worst {held} of 4 runs" in made["list"]["note"]


def test_a_page_of_many_legs_calculates_the_band_alone(monkeypatch, feeder):
    monkeypatch.setattr(page_data, "MOST_FINE_LEGS", 5)
    made = page_values(feeder, LIGHT)
    assert [step["name"] for step in made["frictions"]] == ["low", "expected", "high"]


def test_the_shape_stays_exact_far_from_the_origin_of_the_drawing():
    """Coordinates of a survey grid: a million meters away single precision would miss by 6 cm."""
    corners = [(x + 3_280_840.0, y + 1_640_420.0, *rest) for x, y, *rest in rink.FEEDER]
    near, far = rink.analysis_of(), rink.analysis_of(corners=corners)
    made = [
        page_values(analyze([item.runs[0].run], item.job), LIGHT) for item in (near, far)
    ]  # fmt: skip
    points = [row(page, page["runs"][0]["scene"]["points"]).reshape(-1, 3) for page in made]
    # the origin is a whole meter, so places differ by less than one; sizes do not
    gaps = [np.diff(item, axis=0) for item in points]
    assert np.abs(gaps[0] - gaps[1]).max() < 1e-5


def test_a_row_that_is_not_finite_is_refused():
    with pytest.raises(ValueError, match="not finite"):
        Series().add([1.0, float("nan")])


def test_equal_rows_are_held_once():
    series = Series()
    assert [series.add([1, 2]), series.add([3]), series.add([1.0, 2.0])] == [0, 1, 0]
    assert len(series.packed()) == 2


def test_what_the_method_leaves_out_stands_in_every_output():
    """In full where there is room, in one line on a terminal."""
    analysis = example("training_yard_two_boxes.csv")
    plan, values = plan_pull(analysis), analysis_values(analysis)
    book = load_workbook(BytesIO(workbook_bytes(values)))
    full = {
        "page": page_html(analysis),
        "sheet": sheet_html(analysis),
        "tables": csv_texts(values)["cautions.csv"],
        "workbook": "\n".join(str(row[0].value) for row in book["cautions"].iter_rows()),
        "plan page": plan_html(plan_content(plan)),
        "plan csv": plan_csv(plan),
    }
    for name, text in full.items():
        plain = html.unescape(text).replace('""', '"')
        for line in SAID_WITH_LIMITS:
            assert line in plain, (name, line)
    run, job = analysis.runs[0].run, analysis.job
    screens = {
        "check": terminal_text(content_of(analysis)),
        "plan": plan_text(plan_content(plan)),
        "boxes": boxes_text(find_boxes(analysis)),
        "what-if": what_if_text(what_if(run, job, Changes(passage=Passage.THROUGH)), job),
    }
    for name, text in screens.items():
        assert "".join(SHORT_CAUTION.split()) in "".join(text.split()), name
    for word in ("stiffness", "start", "jam", "dirt", "damage", "steady"):
        assert word in SHORT_CAUTION
        # the cautions speak of starting too: only what the method leaves out counts
        said = SAID_WITH_LIMITS if word == "steady" else METHOD_LIMITS
        assert any(word in line for line in said)
