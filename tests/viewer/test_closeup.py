"""Close-ups of a run with many faults: every bend told once, figures apart, room for the views."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import rink_analyses as rink

from analyzer.analysis import analyze
from analyzer.checks.check import Check
from analyzer.errors import InputError
from analyzer.findings import Verdict
from analyzer.importers.reading import open_route
from analyzer.job.reading import read_job
from analyzer.units import UnitSystem, inches
from viewer import closeup
from viewer.closeup import plan_closeup
from viewer.scene import build_scene
from viewer.telling_places import telling_places, whole_leg_words

JOB = """
title = "Zigzag"
units = "{units}"
[raceway]
type = "EMT"
trade_size = "1"
[[conductors]]
count = 3
size = "1/0"
insulation = "THHN"
metal = "copper"
[pull]
friction = {{ low = 0.20, expected = 0.35, high = 0.50 }}
attachment = "basket grip"
[limits]
rules = "nec-2023"
sidewall_pressure = "300 lbf/ft"
"""
TURNS = [
    (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 0, 0), (0, -1, 0), (0, 0, 1), (1, 0, 0), (0, 1, 0),
    (0, 0, -1), (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 0, 0),
]  # fmt: skip
"""Twelve bends close together."""


@pytest.fixture(scope="module")
def zigzags(tmp_path_factory):
    """Scenes of a run that fails almost everywhere, in US and in metric units."""
    folder = tmp_path_factory.mktemp("zigzag")
    at, rows = [0.0, 0.0, 1.0], ["x_m,y_m,z_m", "0,0,1"]
    for turn in TURNS:
        at = [place + 0.55 * step for place, step in zip(at, turn, strict=True)]
        rows.append(",".join(f"{place:.3f}" for place in at))
    route, told = folder / "zigzag.csv", folder / "zigzag.toml"
    route.write_text("\n".join(rows) + "\n", encoding="utf-8")
    scenes = {}
    for units in ("us", "metric"):
        told.write_text(JOB.format(units=units), encoding="utf-8")
        job = read_job(told)
        read = open_route(route, job)
        analysis = analyze(read.runs, job, read.findings)
        scenes[units] = build_scene(analysis.runs[0], job, "better")
    return scenes


def test_each_failing_bend_is_told_once(zigzags):
    places = telling_places(zigzags["metric"])
    chosen = [bend.number for place in places for bend in place.chosen]
    assert len(places) > 2
    assert len(chosen) > 5
    assert sorted(set(chosen)) == sorted(chosen)
    for place in places:
        assert all(bend in place.bends for bend in place.chosen)
        assert [f"{bend.name}: " in place.reason for bend in place.chosen]


def clearance_of(units, value_m, limit_m):
    made = rink.analysis_of(units=units)
    shown = build_scene(made.runs[0], made.job, "forward")
    check = Check(
        code="clearance", leg=None, direction=None, verdict=Verdict.FAIL, value=value_m,
        limit=limit_m, unit="m", where="whole run", station_m=None, source="", message="",
    )  # fmt: skip
    return whole_leg_words(replace(shown, analysis=replace(shown.analysis, checks=(check,))))


@pytest.mark.parametrize(
    ("units", "value", "words"),
    [
        (UnitSystem.US, 0.37, "clearance 0.37 in, limit 0.50 in"),
        (UnitSystem.METRIC, 0.37, "clearance 9 mm, limit 13 mm"),
        (UnitSystem.US, 0.499, "clearance just under its limit 0.50 in"),
        (UnitSystem.METRIC, 0.499, "clearance just under its limit 13 mm"),
    ],
)
def test_a_clearance_and_its_limit_are_told_apart(units, value, words):
    said = clearance_of(units, inches(value), inches(0.5))
    assert said == (f"The run fails as a whole, at no one bend: {words}.",)


@pytest.mark.parametrize("size", [(800, 600), (1600, 1000)])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_heading_leaves_the_views_their_room(zigzags, units, size):
    scene = zigzags[units]
    sheet = plan_closeup(scene, *size, effort=0.0)
    assert sheet.heading.height <= 0.3 * size[1]
    assert sheet.views
    for view in sheet.views:
        assert view[3] - view[1] >= 150 * sheet.canvas.text_unit
    place = telling_places(scene)[0]
    said = " ".join(sheet.heading.lines)
    assert f"{place.chosen[0].name}: " in said
    assert "details: raceway check" in said


def test_a_heading_with_room_says_everything(zigzags):
    scene = zigzags["us"]
    said = " ".join(plan_closeup(scene, 1600, 2400, effort=0.0).heading.lines)
    assert "fail too" in said
    assert "at no one bend" in said
    assert "raceway check" not in said


def test_a_sheet_too_low_names_a_height_that_works(zigzags):
    for scene in zigzags.values():
        with pytest.raises(InputError, match="no room in 640x300 pixels") as refused:
            plan_closeup(scene, 640, 300, effort=0.0)
        width, height = map(int, re.search(r"--size (\d+)x(\d+)", str(refused.value)).groups())
        assert plan_closeup(scene, width, height, effort=0.0).canvas.height == height
        with pytest.raises(InputError):
            plan_closeup(scene, width, height - 20, effort=0.0)


def test_a_narrow_closeup_still_names_its_bends():
    made = rink.analysis_of()
    sheet = plan_closeup(build_scene(made.runs[0], made.job, "forward"), 640, 560, effort=0.1)
    assert [chip.kind for chip in sheet.marks[1].chips]
    assert sheet.marks[1].left_out == ()


def test_the_words_of_a_small_close_up_stay_on_the_sheet_and_its_plan_names_every_bend(
    zigzags, monkeypatch
):
    sheet = plan_closeup(zigzags["us"], 640, 640, effort=0.2)
    kinds = {chip.kind for chip in sheet.marks[0].chips}
    assert "number" in kinds and "bend" not in kinds
    canvas, written = sheet.canvas, []

    def note(self, x, y, text, points, bold=False, align="left", **_):
        width = canvas.text_size(text, points, bold)[0]
        written.append(x - {"left": 0.0, "center": 0.5, "right": 1.0}[align] * width + width)

    monkeypatch.setattr(type(canvas), "text", note)
    monkeypatch.setattr(closeup, "build_solids", lambda *_, **__: None)
    monkeypatch.setattr(closeup, "render_solids", lambda *_: None)
    monkeypatch.setattr(type(canvas), "picture", lambda *_, **__: None)
    monkeypatch.setattr(closeup, "draw_marks", lambda *_: None)
    monkeypatch.setattr(type(canvas), "pixels", lambda _: None)
    closeup.draw_closeup(sheet)
    assert len(written) > 8
    assert max(written) <= 640
