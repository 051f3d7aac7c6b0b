"""Cases side by side: one scale, one camera, true sentences."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import rink_analyses as rink
from feeder_job import FEEDER_JOB

from analyzer.analysis import analyze
from analyzer.errors import InputError
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job, read_job
from analyzer.job.settings import Passage
from analyzer.units import show_force
from viewer import compare
from viewer.compare import draw_comparison, draw_comparison_sheet, plan_comparison
from viewer.compared_cases import (
    Case,
    box_cases,
    cases_of,
    compare_headline,
    conclusion,
    direction_cases,
    one_scale,
)
from viewer.options import ViewOptions
from viewer.scene import build_scene
from viewer.wording import notes, passage_text

EXAMPLES = Path(__file__).parents[2] / "example_paths"
TWO_BOXES = (("Box A", 64.0), ("Box B", 130.0))


@pytest.fixture(scope="module")
def analysis():
    made = rink.analysis_of(boxes=TWO_BOXES)
    return analyze([made.runs[0].run], made.job)


def test_boxes_are_compared_with_a_fresh_analysis_without_them(analysis):
    without, with_boxes = box_cases(analysis, analysis.runs[0], "forward")
    run = analysis.runs[0].run
    bare = replace(run, fittings=(run.fittings[0], run.fittings[-1]))
    fresh = build_scene(analyze([bare], analysis.job).runs[0], analysis.job, "forward")
    assert np.array_equal(without.scene.legs[0].tension_n, fresh.legs[0].tension_n)
    assert len(with_boxes.scene.legs) == 3
    assert with_boxes.title == "With two boxes"
    assert [mark.name for mark in without.scene.fittings] == ["Panel MCC-1", "Chiller 2"]


def test_a_run_without_boxes_has_nothing_to_compare():
    made = rink.analysis_of()
    with pytest.raises(InputError, match="no box between its ends"):
        box_cases(made, made.runs[0])


def test_both_cases_share_one_scale(analysis):
    cases = one_scale(box_cases(analysis, analysis.runs[0]))
    assert cases[0].scene.scale == cases[1].scene.scale
    tension = np.linspace(0, 3000, 9)
    colors = [case.scene.scale.colors(tension) for case in cases]
    assert np.array_equal(*colors)


def test_one_case_without_a_limit_takes_the_limit_from_both(analysis):
    first, second = box_cases(analysis, analysis.runs[0])
    bare = replace(
        first, scene=replace(first.scene, scale=replace(first.scene.scale, limit_n=None))
    )
    cases = one_scale((bare, second))
    assert [case.scene.scale.limit_n for case in cases] == [None, None]


def test_headline_and_conclusions_hold_the_numbers_of_the_scenes(analysis):
    cases = box_cases(analysis, analysis.runs[0], "forward")
    text = compare_headline(cases)
    assert text.startswith("Two boxes cut the pull from ")
    for case in cases:
        assert conclusion(case).startswith("Highest ")
    ways = direction_cases(analysis, analysis.runs[0])
    assert compare_headline(ways).split(" the pull")[0] in {case.title for case in ways}


def test_headline_of_a_comparison_says_where_the_better_case_is_still_above_its_limit(analysis):
    band = analysis.job.pull.friction
    cases = box_cases(analysis, analysis.runs[0])
    with_boxes = cases[1].scene
    high = max(leg.high_peak for leg in with_boxes.legs)
    for limit_n, ending in (
        (2.0 * high, ""),
        (
            0.5 * (high + with_boxes.peak.peak),
            f"; still above its limit at high friction {band.high:g}",
        ),
        (0.5 * with_boxes.peak.peak, "; still above its limit"),
    ):
        limited = tuple(
            replace(
                case, scene=replace(case.scene, scale=replace(case.scene.scale, limit_n=limit_n))
            )
            for case in cases
        )
        text = compare_headline(limited)
        assert text.partition("; ")[1:] == (ending[:2], ending[2:])


def test_headline_of_a_comparison_names_other_checks_that_still_fail(analysis):
    """Within a limit raised in the picture alone, the checks of the run fail all the same."""
    case = box_cases(analysis, analysis.runs[0])[0]
    scale = replace(case.scene.scale, limit_n=1e9)
    cases = tuple(replace(one, scene=replace(case.scene, scale=scale)) for one in (case, case))
    assert compare_headline(cases).endswith(
        "; bend total, conductor tension and sidewall still fail"
    )


BODIES = (
    "x_ft,y_ft,z_ft,fitting,label\n0,0,10,equipment,Panel\n40,0,10,conduit body,LB1\n"
    "40,35,10,conduit body,LB2\n75,35,10,,\n75,35,2,equipment,Motor\n"
)
NEAR = (
    "x_ft,y_ft,z_ft,fitting,label\n0,0,10,equipment,Panel\n1199.5,0,10,pull box,JB\n"
    "1199.8,0,10,equipment,Motor\n"
)
BAND = "[pull]\nfriction = { low = 0.20, expected = 0.35, high = 0.50 }\n"
INSIDE = "sidewall pressure inside LB1 and LB2 not checked"


def read_cases(tmp_path, route, kind="boxes", quantity="tension", direction="better"):
    file = tmp_path / "route.csv"
    file.write_text(route, encoding="utf-8")
    job = parse_job(f'{FEEDER_JOB}{BAND}[limits]\nsidewall_pressure = "300 lbf/ft"\n')
    read = open_route(file, job)
    options = ViewOptions(None, direction, "high", quantity, None, False)
    return cases_of(analyze(read.runs, job, read.findings), options, kind)


@pytest.mark.parametrize("kind", ["boxes", "all"])
@pytest.mark.parametrize("quantity", ["sidewall", "share"])
def test_a_value_that_was_not_checked_is_never_compared(tmp_path, kind, quantity):
    *bare, with_boxes = cases = read_cases(tmp_path, BODIES, kind, quantity)
    text = compare_headline(cases)
    assert not any(word in text for word in ("cut the", "ease", "leave", "Either way"))
    assert "cannot be compared" in text
    for case in bare:
        assert f"{case.title[0].lower()}{case.title[1:]}" in text
        assert conclusion(case).startswith("Highest known ")
        assert INSIDE in conclusion(case)
    assert text.endswith(f": {INSIDE}")
    assert conclusion(with_boxes).startswith("Highest ")
    assert not conclusion(with_boxes).startswith("Highest known ")


def test_a_comparison_of_tension_names_the_case_that_was_not_checked(tmp_path):
    text = compare_headline(read_cases(tmp_path, BODIES))
    assert text.startswith("Two boxes cut the pull from ")
    assert text.endswith(f"; pulled without boxes: {INSIDE}")


def test_what_was_not_checked_in_any_case_is_named_once(tmp_path):
    ways = read_cases(tmp_path, BODIES, "boxes")[0].scene
    cases = (Case("Fed at Panel", ways), Case("Fed at Motor", ways))
    assert compare_headline(cases).count(INSIDE) == 1
    assert compare_headline(cases).endswith(f"; {INSIDE}")


def test_a_box_that_changes_no_figure_shown_cuts_nothing(tmp_path):
    text = compare_headline(read_cases(tmp_path, NEAR, direction="forward"))
    assert text.startswith("One box leaves the pull at 1,637 lbf")


def test_one_bend_is_told_as_one():
    corners = [(0, 0, 4), (18, 0, 4, 24), (18, 20, 4)]
    made = rink.analysis_of(corners=corners, ends=("Panel A", "Pump 1"))
    route = compare._route_line(direction_cases(made, made.runs[0]))
    assert "37.1 ft, 1 bend, 90° · same conductors" in route


@pytest.mark.parametrize("size", [(1600, 1000), (1280, 800)])
def test_labels_of_a_comparison_do_not_overlap(analysis, size):
    comparison = plan_comparison(box_cases(analysis, analysis.runs[0]), *size, effort=0.2)
    for marks in comparison.marks:
        for a, b in combinations([placement.rect for placement in marks.placements], 2):
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])
        assert len(marks.placements) == len(marks.chips)


@pytest.mark.picture
def test_a_comparison_is_drawn_in_the_size_asked(analysis):
    comparison = plan_comparison(box_cases(analysis, analysis.runs[0]), 1000, 700, effort=0.1)
    pixels = draw_comparison(comparison)
    assert pixels.shape == (700, 1000, 3)
    # both halves hold a picture, and not the same one
    assert (pixels[:, :500] != pixels[:, 500:]).any()


def test_three_cases_are_both_ways_without_boxes_and_then_with_them(analysis):
    options = ViewOptions(None, "better", "expected", "tension", None, False)
    cases = cases_of(analysis, options, "all")
    assert [case.title for case in cases] == [
        "Fed at Panel MCC-1, no boxes",
        "Fed at Chiller 2, no boxes",
        "With two boxes",
    ]
    bare = box_cases(analysis, analysis.runs[0])[0].scene.analysis
    for case, way in zip(cases, ("forward", "reverse"), strict=False):
        fresh = build_scene(bare, analysis.job, way)
        assert np.array_equal(case.scene.legs[0].tension_n, fresh.legs[0].tension_n)
    plan = plan_comparison(cases, 1500, 900, effort=0.1)
    assert len({case.scene.scale for case in plan.cases}) == 1
    for one, other in combinations(plan.views, 2):
        assert one[2] <= other[0] or other[2] <= one[0]
    easier = min(case.scene.peak.peak for case in cases[:2])
    assert show_force(easier, analysis.job.units) in compare_headline(cases)


@pytest.mark.picture
def test_three_cases_stand_in_one_window(analysis):
    from viewer.compare_window import CompareWindow

    options = ViewOptions(None, "better", "expected", "tension", None, False)
    made = CompareWindow(cases_of(analysis, options, "all"), size=(1500, 800), off_screen=True)
    made.slide("Head", 0.5)
    assert len(made.heads) == len(made.view_rects()) == 3
    assert all(head is not None for head in made.heads)
    pixels = made.screenshot()
    made.plotter.close()
    for left, top, right, bottom in made.view_rects():
        view = pixels[round(top) : round(bottom), round(left) : round(right)]
        assert len(np.unique(view.reshape(-1, 3), axis=0)) > 200


@pytest.mark.parametrize("kind", ["boxes", "directions", "all"])
@pytest.mark.parametrize("size", [(800, 608), (900, 1400), (1280, 720), (1600, 912)])
def test_no_words_of_the_sheet_stand_on_others(analysis, monkeypatch, kind, size):
    options = ViewOptions(None, "better", "expected", "tension", None, False)
    plan = plan_comparison(cases_of(analysis, options, kind), *size, effort=0.05)
    canvas, written = plan.canvas, []

    def note(self, x, y, text, points, bold=False, align="left", upright="baseline", **_):
        width, high = canvas.text_size(text, points, bold)
        left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[align] * width
        up = {"baseline": 0.75, "center": 0.4, "top": 0.0}[upright]
        # letters without the air above and below them
        written.append((text, left, y - up * high, left + width, y + (0.8 - up) * high))

    monkeypatch.setattr(compare, "draw_marks", lambda *_: None)
    monkeypatch.setattr(type(canvas), "text", note)
    compare.draw_comparison_sheet(plan)
    assert len(written) > 20
    for one, other in combinations([each for each in written if each[0]], 2):
        apart = one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] or other[4] <= one[2]
        assert apart, (one, other)
    for text, left, top, right, bottom in written:
        inside = left >= 0 and top >= 0 and right <= size[0] and bottom <= size[1]
        assert inside or not text, text


def test_the_charts_name_every_bend_of_the_riser(monkeypatch):
    from viewer import chart

    named = []
    place = chart.name_places

    def noted(wanted, gap, upper_from):
        named.append(place(wanted, gap, upper_from))
        return named[-1]

    monkeypatch.setattr(chart, "name_places", noted)
    file = EXAMPLES / "riser.csv"
    job = read_job(file.with_suffix(".toml"))
    made = analyze(open_route(file, job).runs, job)
    cases = direction_cases(made, made.runs[0])
    draw_comparison_sheet(plan_comparison(cases, 1600, 1000, effort=0.0))
    assert [sorted(name for _, _, name in names) for names in named] == [
        [f"B{number}" for number in range(1, 10)]
    ] * 2


def with_passages(analysis, *passages):
    """The analysis with the passages of its boxes: (passage, stated) each."""
    run = analysis.runs[0].run
    first, *inner, last = run.fittings
    boxes = [
        replace(box, passage=passage, passage_stated=stated)
        for box, (passage, stated) in zip(inner, passages, strict=True)
    ]
    return analyze([replace(run, fittings=(first, *boxes, last))], analysis.job)


def drawn_texts(comparison, monkeypatch):
    texts = []
    canvas = type(comparison.canvas)
    monkeypatch.setattr(canvas, "text", lambda self, x, y, text, *_, **__: texts.append(text))
    draw_comparison_sheet(comparison)
    return " ".join(texts)


@pytest.mark.parametrize("kind", ["boxes", "directions", "all"])
def test_comparison_says_how_the_conductors_pass_its_boxes(analysis, kind, monkeypatch):
    options = ViewOptions(None, "better", "expected", "tension", None, False)
    for stated, told in (
        (True, "conductors taken out and fed again at Box A and Box B"),
        (False, "conductors taken out and fed again at Box A and Box B (assumed)"),
    ):
        made = with_passages(analysis, *[(Passage.REFEED, stated)] * 2)
        for size in ((1600, 1000), (1000, 700)):
            comparison = plan_comparison(cases_of(made, options, kind), *size, effort=0.05)
            texts = drawn_texts(comparison, monkeypatch)
            assert told in texts
            assert ("(assumed)" in texts) == (not stated)


def test_small_print_of_one_run_says_how_the_conductors_pass_its_boxes(analysis):
    mixed = with_passages(analysis, (Passage.REFEED, False), (Passage.THROUGH, True))
    scene = build_scene(mixed.runs[0], mixed.job, "forward")
    assert notes(scene).startswith(
        "Conductors taken out and fed again at Box A (assumed), passed through Box B. "
    )
    bare = box_cases(analysis, analysis.runs[0])[0].scene
    assert "fed again" not in notes(bare) and "passed through" not in notes(bare)


def test_many_boxes_are_counted_in_the_small_print(analysis):
    made = with_passages(analysis, (Passage.REFEED, True), (Passage.REFEED, True))
    run = made.runs[0].run
    low, high = (box.station_m for box in run.fittings[1:3])
    places = [low + part * (high - low) for part in (0.0, 0.1, 0.2, 0.3, 1.0)]
    boxes = [replace(run.fittings[1], name=f"Box {s}", station_m=s) for s in places]
    many = replace(run, fittings=(run.fittings[0], *boxes, run.fittings[-1]))
    scene = build_scene(analyze([many], made.job).runs[0], made.job, "forward")
    assert passage_text(scene) == "conductors taken out and fed again at 5 boxes"


def test_every_label_of_a_small_comparison_finds_room(analysis):
    options = ViewOptions(None, "better", "expected", "tension", None, False)
    plan = plan_comparison(cases_of(analysis, options, "boxes"), 800, 600)
    assert [marks.left_out for marks in plan.marks] == [(), ()]
