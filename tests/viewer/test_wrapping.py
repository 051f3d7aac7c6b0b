"""Lines of text: how headings and small print are broken, and what they leave to the view."""

from __future__ import annotations

import pytest
import rink_analyses as rink

from viewer.canvas import Canvas
from viewer.image import layout_for, sheet_for
from viewer.palette import LIGHT
from viewer.scene import build_scene
from viewer.wrapping import balanced, flowed, headline_lines, wrapped

LONG = "At high friction 0.5 the pull takes 3,150 lbf, over its limit of 2,534 lbf"


@pytest.fixture(scope="module")
def canvas():
    return Canvas(1280, 800, LIGHT, 1.0, 1.0)


@pytest.mark.parametrize("room", range(60, 420, 30))
def test_a_number_keeps_its_unit_on_its_line(canvas, room):
    lines = wrapped(canvas, f"{LONG}, 6.1 × limit, 38 % of 12 kN", 9.0, float(room))
    for line in lines:
        assert line.split()[0].rstrip(",") not in ("lbf", "×", "%", "kN")
    assert " ".join(lines) == f"{LONG}, 6.1 × limit, 38 % of 12 kN"


def test_no_line_of_a_headline_is_a_stray_word(canvas):
    width = canvas.text_size(LONG, 14.0, bold=True)[0]
    lines = balanced(canvas, LONG, 14.0, 0.97 * width)
    sizes = [canvas.text_size(line, 14.0, bold=True)[0] for line in lines]
    assert len(lines) == 2
    assert min(sizes) > 0.7 * max(sizes)


def test_a_headline_that_takes_two_lines_anyhow_is_as_large_as_they_allow(canvas):
    width = canvas.text_size(LONG, 16.0, bold=True)[0]
    assert headline_lines(canvas, LONG, 0.9 * width, 12.5)[1] == pytest.approx(14.0, abs=0.5)
    assert headline_lines(canvas, LONG, 0.7 * width, 12.5)[1] == 16.0


def test_lines_below_the_legend_are_as_wide_as_the_sheet(canvas):
    step = canvas.px(9.0) * 1.35
    lines = flowed(canvas, [LONG, LONG], 9.0, (150.0, 500.0), 0.0, 2.5 * step)
    sizes = [canvas.text_size(line, 9.0)[0] for line in lines]
    assert max(sizes[:3]) <= 150.0 < max(sizes[3:]) <= 500.0
    assert " ".join(lines) == f"{LONG} {LONG}"


@pytest.mark.parametrize("make", [rink.analysis_of, rink.riser, rink.tiny, rink.without_limit])
def test_two_lines_stand_under_the_headline_and_a_small_picture_keeps_its_view(make):
    analysis = make(boxes=(("Box A", 15.0),))
    shown = build_scene(analysis.runs[0], analysis.job)
    layout = layout_for(sheet_for(1600, 1000, LIGHT), shown)
    assert len(layout.subline_lines) == 2
    small = layout_for(sheet_for(640, 400, LIGHT), shown)
    assert small.view[3] - small.view[1] >= 0.4 * 400
