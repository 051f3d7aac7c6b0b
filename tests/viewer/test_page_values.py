"""What the page holds, before any browser: legs of every choice, escaping, equal bytes."""

from __future__ import annotations

import argparse
import json
import re
from dataclasses import replace
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest
import rink_analyses as rink

from analyzer import analyze, open_route, read_job
from analyzer.errors import InputError, OutputError
from analyzer.job.settings import Passage
from analyzer.pulling.results import Direction
from analyzer.reports.content import verdict_text
from analyzer.units import show_force, show_pressure
from viewer import page_data, page_legs
from viewer.cli import command
from viewer.page import data_block, page_html, write_page
from viewer.page_data import page_values
from viewer.page_legs import cells_of, stretch_keys
from viewer.palette import DARK, LIGHT
from viewer.wording import of_limit

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


def stretches_of(values, on):
    """The legs the page's script composes for a choice of boxes; here refed at each."""
    stops = [0, *(n + 1 for n, used in enumerate(on) if used), len(values["stops"]) - 1]
    keys = [f"{a}-{b}" for a, b in pairwise(stops)]
    return [leg for key in keys for leg in values["stretches"][key]["legs"]]


@pytest.fixture(scope="module")
def feeder():
    return example("overhead_feeder.dxf")


@pytest.fixture(scope="module")
def values(feeder):
    return page_values(feeder, LIGHT)


@pytest.mark.parametrize("on", list(product([True, False], repeat=2)))
def test_composed_legs_equal_a_fresh_analysis_both_ways(feeder, values, on):
    names = [stop["name"] for stop in values["stops"][1:-1]]
    off = [name for name, used in zip(names, on, strict=True) if not used]
    fresh = without(feeder, *off).runs[0]
    shown = stretches_of(values, on)
    assert len(shown) == len(fresh.legs)
    units = feeder.job.units
    limit = values["limits"]["tension"]["value"]
    for leg, own in zip(shown, fresh.legs, strict=True):
        for way in Direction:
            pull = own.forward if way is Direction.FORWARD else own.reverse
            part = leg[way.value]
            assert (part["feed"], part["pull"]) == (pull.feed_at, pull.pull_at)
            assert part["share"] == of_limit(pull.share_of_limit)
            failing = {
                c.code.replace("-", " ")
                for c in fresh.checks
                if c.verdict.value == "fail"
                and c.leg == own.leg.name
                and c.direction in (None, way.value)
            }
            found = {name.replace(" pressure", "") for name in part["fails"]}
            assert found == failing
            for name in ("low", "expected", "high"):
                figures = getattr(pull, name)
                told = part["at"][name]
                assert told["tension"]["text"] == show_force(figures.max_tension_n, units)
                assert told["exit"] == show_force(figures.exit_tension_n, units)
                assert told["tension"]["share"] * limit == pytest.approx(told["tension"]["value"])
                pressed = show_pressure(figures.max_sidewall_n_per_m, units)
                assert told["sidewall"]["text"] == pressed
                # curves are rounded to a hundredth of a lbf; here all maxima stand at joints
                greatest = max(told["curve"]["tension"])
                assert greatest == pytest.approx(told["tension"]["value"], abs=0.006)


@pytest.mark.parametrize("on", list(product([True, False], repeat=2)))
def test_every_choice_of_boxes_is_judged_as_a_fresh_analysis(feeder, values, on):
    names = [stop["name"] for stop in values["stops"][1:-1]]
    off = [name for name, used in zip(names, on, strict=True) if not used]
    choice = values["choices"]["".join("1" if used else "0" for used in on)]
    fresh = without(feeder, *off).runs[0]
    assert choice["text"] == verdict_text(fresh)
    assert choice["verdict"] == fresh.verdict.value


def test_a_curve_holds_the_profile_at_every_edge(feeder, values):
    leg = values["stretches"]["0-1"]["legs"][0]
    profile = feeder.runs[0].legs[0].forward.profile
    edges = np.array(values["edges"])
    low, high = leg["cells"]
    curve = np.array(leg["forward"]["at"]["expected"]["curve"]["tension"]).reshape(-1, 2)
    from analyzer.units import to_ft, to_lbf

    # a joint stands twice in the profile with one tension, so plain interpolation is the same
    told = np.interp(edges[low:high], to_ft(np.array(profile.station_m)), profile.tension_n)
    # rounded to 0.005 lbf, and the edge to 0.00005 ft
    assert curve[:, 0] == pytest.approx(np.array([to_lbf(v) for v in told]), abs=0.02)
    assert curve[1:, 0] == pytest.approx(curve[:-1, 1], abs=1e-9)


def test_sidewall_stands_in_bends_only_and_jumps_between_cells(values):
    curve = values["stretches"]["0-3"]["legs"][0]["forward"]["at"]["expected"]["curve"]
    pressed = np.array(curve["sidewall"]).reshape(-1, 2)
    edges = np.array(values["edges"])
    middle = (edges[1:] + edges[:-1]) / 2
    bends = np.array([bend["stations"] for bend in values["scene"]["bends"]])
    inside = ((middle[:, None] > bends[:, 0]) & (middle[:, None] < bends[:, 1])).any(axis=1)
    assert (pressed[~inside] == 0).all()
    assert (pressed[inside] > 0).all()


def test_cells_turn_at_most_five_degrees(feeder):
    run = feeder.runs[0].run
    edges = cells_of(run).edges_m
    tangents = run.centerline.tangents_at((edges[1:] + edges[:-1]) / 2)
    turn = np.degrees(np.arccos(np.clip((tangents[1:] * tangents[:-1]).sum(axis=1), -1, 1)))
    assert turn.max() <= 5.0 + 1e-6
    for fitting in run.fittings:
        assert np.abs(edges - fitting.station_m).min() < 1e-7


def test_a_box_passed_through_carries_its_tension_on(feeder):
    run = feeder.runs[0].run
    fittings = tuple(
        replace(item, passage=Passage.THROUGH) if item.name == "Box A" else item
        for item in run.fittings
    )
    through = analyze([replace(run, fittings=fittings)], feeder.job)
    values = page_values(through, LIGHT)
    assert set(values["stretches"]) == {"0-1-2", "0-2", "0-1-3", "0-3", "2-3"}
    legs = values["stretches"]["0-1-2"]["legs"]
    own = through.runs[0].legs
    for leg, fresh in zip(legs, own[:2], strict=True):
        for way, pull in (("forward", fresh.forward), ("reverse", fresh.reverse)):
            told = leg[way]["at"]["expected"]["tension"]["text"]
            assert told == show_force(pull.expected.max_tension_n, feeder.job.units)


def test_many_boxes_are_shown_but_not_switched(monkeypatch, feeder):
    monkeypatch.setattr(page_legs, "MOST_STRETCHES", 3)
    values = page_values(feeder, LIGHT)
    assert values["switched"] is False
    assert set(values["stretches"]) == {"0-1", "1-2", "2-3"}
    assert set(values["choices"]) == {"11"}


def test_boxes_beyond_the_judged_number_leave_other_choices_unjudged(monkeypatch, feeder):
    monkeypatch.setattr(page_data, "MOST_JUDGED", 1)
    values = page_values(feeder, LIGHT)
    assert values["switched"] is True
    assert set(values["choices"]) == {"11"}


def test_a_run_without_boxes_has_one_stretch():
    values = page_values(example("training_yard.csv"), LIGHT)
    assert set(values["stretches"]) == {"0-1"}
    assert values["switched"] is False


def test_stretches_join_every_pair_of_places_to_feed(feeder):
    stops = [item for item in feeder.runs[0].run.fittings if item.pull_point]
    assert set(stretch_keys(stops)) == {(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)}


def test_an_unknown_limit_says_so_and_colors_by_the_plain_map():
    analysis = rink.tiny()
    line = analysis.job.conductors[0]
    bare = replace(line, conductor=replace(line.conductor, max_tension_n=None))
    job = replace(analysis.job, conductors=(bare,))
    values = page_values(analyze([analysis.runs[0].run], job), LIGHT)
    assert values["limits"]["tension"] is None
    leg = values["stretches"]["0-1"]["legs"][0]
    assert leg["forward"]["at"]["expected"]["tension"]["of"] is None
    assert values["choices"][""]["verdict"] == "not checked"


def test_metric_jobs_are_shown_in_metric_units(feeder):
    from analyzer.units import UnitSystem

    job = replace(feeder.job, units=UnitSystem.METRIC)
    values = page_values(analyze([feeder.runs[0].run], job), LIGHT)
    assert values["length"] == pytest.approx(feeder.runs[0].run.centerline.length_m)
    assert values["limits"]["sidewall"]["text"].endswith("kN/m")
    assert "lbf" not in json.dumps(values["stretches"]) + json.dumps(values["limits"])


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
    assert '"opens":{"way":"reverse","friction":"high"}' in text
    assert 'data-theme="dark"' in text
    assert [item.name for item in tmp_path.iterdir()] == ["feeder.html"]


def test_a_page_in_a_missing_folder_is_refused(tmp_path, feeder):
    with pytest.raises(OutputError, match="no folder"):
        command.run(arguments("--page", str(tmp_path / "no" / "a.html"), analysis=feeder))


def test_a_run_that_is_not_there_is_named(feeder):
    with pytest.raises(InputError, match="no run is named"):
        page_html(feeder, run="roof")
