"""Which layers are read, which runs get which names, and what is said about the rest."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from dxf_samples import INCH, codes, draw_and_read, finding, job, length_m, read, save

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.importers.drawings.layer_choice import matches
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.reading import open_route
from analyzer.job.settings import DrawingSettings, FittingKind

BOX = FittingKind.PULL_BOX


def three_layers(document, model):
    for row, name in enumerate(("E-RACEWAY-EMT", "E-Raceway-PVC", "A-WALL")):
        document.layers.add(name)
        model.add_line((0, 10 * row), (50 + row, 10 * row), dxfattribs={"layer": name})


def test_no_pattern_reads_every_visible_layer(tmp_path):
    drawn = draw_and_read(tmp_path, three_layers)
    assert [path.name for path in drawn.paths] == ["E-RACEWAY-EMT", "E-Raceway-PVC", "A-WALL"]


def test_patterns_choose_layers_upper_and_lower_case_alike(tmp_path):
    drawn = draw_and_read(tmp_path, three_layers, layers=("*raceway*",))
    assert [path.name for path in drawn.paths] == ["E-RACEWAY-EMT", "E-Raceway-PVC"]
    left = finding(drawn, "layers-left-out")
    assert "1 entity on a layer no pattern names" in left.message
    assert left.where == "layer A-WALL (1)"


def test_a_pattern_that_matches_nothing_is_a_caution(tmp_path):
    drawn = draw_and_read(tmp_path, three_layers, layers=("*EMT", "*FIBER*"))
    assert "'*FIBER*'" in finding(drawn, "layer-pattern-unused").message


def test_a_pattern_that_names_the_layer_of_fittings_that_are_read_is_used(tmp_path):
    def draw(document, model):
        document.blocks.new("JB-1").add_circle((0, 0), 1)
        model.add_line((0, 0), (50, 0), dxfattribs={"layer": "E-RUN"})
        model.add_blockref("JB-1", (20, 0), dxfattribs={"layer": "E-BOX"})
        model.add_point((30, 0), dxfattribs={"layer": "E-PULL-BOX"})
        model.add_text("no fitting", dxfattribs={"layer": "E-TEXT"})

    path = save(tmp_path, draw)
    layers = ("E-RUN", "e-box", "*pull-box", "E-TEXT")
    drawn = read(path, layers=layers)
    assert len(drawn.fittings) == 2
    unused = [one.message for one in drawn.findings if one.code == "layer-pattern-unused"]
    assert ["'E-TEXT'" in message for message in unused] == [True]
    assert "no layer with lines, arcs or fittings" in unused[0]
    listed = survey_drawing(path, DrawingSettings(layers=layers))
    assert [one.message for one in listed.findings if one.code == "layer-pattern-unused"] == unused


def test_patterns_that_leave_nothing_stop_with_what_there_is(tmp_path):
    with pytest.raises(RouteError, match="match no lines or arcs") as error:
        draw_and_read(tmp_path, three_layers, layers=("FIBER",))
    assert "layer A-WALL (1, on a layer no pattern names)" in str(error.value)


@pytest.mark.parametrize("state", ["off", "freeze"])
def test_hidden_layers_are_left_out_unless_named_outright(tmp_path, state):
    def draw(document, model):
        three_layers(document, model)
        getattr(document.layers.get("A-WALL"), state)()

    drawn = draw_and_read(tmp_path, draw, layers=("*",))
    assert len(drawn.paths) == 2
    message = finding(drawn, "layers-left-out").message
    assert ("off" if state == "off" else "frozen") in message
    named = draw_and_read(tmp_path, draw, layers=("a-wall",))
    assert length_m(named.paths[0]) == pytest.approx(52 * INCH)


def test_frozen_reference_hides_its_block_and_an_off_one_only_its_layer_zero(tmp_path):
    def draw(document, model):
        layer = document.layers.add("HIDDEN")
        block = document.blocks.new("RUN")
        block.add_line((0, 0), (10, 0), dxfattribs={"layer": "0"})
        block.add_line((0, 5), (20, 5), dxfattribs={"layer": "SHOWN"})
        model.add_blockref("RUN", (0, 0), dxfattribs={"layer": "HIDDEN"})
        model.add_line((0, 90), (30, 90))
        getattr(layer, state)()

    state = "freeze"
    assert [round(length_m(p) / INCH) for p in draw_and_read(tmp_path, draw).paths] == [30]
    state = "off"
    assert [round(length_m(p) / INCH) for p in draw_and_read(tmp_path, draw).paths] == [20, 30]


def test_invisible_entities_are_left_out(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (10, 0))
        model.add_line((0, 5), (10, 5), dxfattribs={"invisible": 1})

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.paths) == 1
    assert "set invisible" in finding(drawn, "layers-left-out").message


def test_paper_space_is_left_out_and_said(tmp_path):
    def draw(document, model):
        model.add_line((0, 0), (10, 0))
        document.layout("Layout1").add_line((0, 0), (500, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.paths) == 1
    left = finding(drawn, "paper-space-left-out")
    assert left.where == "Layout1 (1)"
    assert "under [drawing] layouts" in left.message
    asked = draw_and_read(tmp_path, draw, layouts=("layout*",))
    assert [round(length_m(p) / INCH) for p in asked.paths] == [10, 500]
    assert "paper-space-left-out" not in codes(asked)


def test_layouts_have_nothing_to_do_with_each_other(tmp_path):
    """Joints, twins, fittings and names: each within its own layout, whatever the coordinates."""
    settings = {"layouts": ("sheet*",), "name_layers": ("TAGS",), "fitting_kinds": (("TAP", BOX),)}

    def draw(document, model):
        document.blocks.new("TAP").add_circle((0, 0), 0.5)
        first, second = document.new_layout("Sheet 1"), document.new_layout("Sheet 2")
        for layout, points in (
            (model, [(0, 0), (200, 0), (200, 200)]),
            (first, [(200, 200), (300, 200), (300, 100)]),
            (second, [(0, 0), (200, 0), (200, 200)]),
        ):
            for a, b in pairwise(points):
                layout.add_line(a, b)
        first.add_blockref("TAP", (100, 0))
        second.add_blockref("TAP", (200, 200))
        second.add_text("P-1", height=4, dxfattribs={"layer": "TAGS", "insert": (100, 1)})
        first.add_text("P-2", height=4, dxfattribs={"layer": "TAGS", "insert": (100, 1)})

    path = save(tmp_path, draw)
    drawn = read(path, **settings)
    assert [round(length_m(one) / INCH) for one in drawn.paths] == [400, 200, 400]
    assert [one.name for one in drawn.paths] == ["", "", "P-1"]
    assert [source.layout for source in drawn.sources] == ["", "Sheet 1", "Sheet 2"]
    told = {one.code for one in drawn.findings if one.severity is not Severity.NOTE}
    assert not told
    bent = replace(job(**settings), bend_radius_m=10 * INCH)
    route = open_route(path, bent)
    names = [[one.name for one in run.fittings] for run in route.runs]
    assert names[0] == ["start", "end"]
    assert names[1] == ["start", "end"]
    assert "Pull box 2" in names[2]
    assert ["fitting-far" in {f.code for f in run.findings} for run in route.runs] == [
        False,
        True,
        False,
    ]
    assert not any(f.code == "runs-too-near" for run in route.runs for f in run.findings)


def test_fittings_in_a_layout_without_runs_are_told(tmp_path):
    def draw(document, model):
        document.blocks.new("TAP").add_circle((0, 0), 0.5)
        model.add_line((0, 0), (100, 0))
        document.layout("Layout1").add_blockref("TAP", (100, 0))

    drawn = draw_and_read(tmp_path, draw, layouts=("layout*",), fitting_kinds=(("TAP", BOX),))
    assert drawn.fittings == ()
    assert "Layout1" in finding(drawn, "fitting-without-run").where


def test_fittings_are_found_on_layers_no_pattern_names_but_not_on_hidden_ones(tmp_path):
    def draw(document, model):
        document.blocks.new("JB").add_circle((0, 0), 3)
        model.add_line((0, 0), (100, 0), dxfattribs={"layer": "RACEWAY"})
        document.layers.add("BOXES")
        document.layers.add("OLD").off()
        model.add_blockref("JB", (20, 0), dxfattribs={"layer": "BOXES"})
        model.add_blockref("JB", (60, 0), dxfattribs={"layer": "OLD"})

    drawn = draw_and_read(tmp_path, draw, layers=("RACEWAY",))
    assert [round(f.position_m[0] / INCH) for f in drawn.fittings] == [20]


def test_text_beside_a_line_names_the_run_where_a_layer_pattern_asks(tmp_path):
    def draw(_, model):
        for y, name in ((0, "FEEDER 1"), (100, "FEEDER 2")):
            model.add_line((0, y), (300, y))
            model.add_text(name, height=4, dxfattribs={"layer": "TAGS", "insert": (150, y + 6)})
        model.add_mtext("{\\fArial;ROOF\\Pnote}", dxfattribs={"layer": "TAGS", "insert": (0, 900),
                                                             "char_height": 4})  # fmt: skip
        model.add_text("not a name", dxfattribs={"layer": "NOTES", "insert": (150, 1)})

    drawn = draw_and_read(tmp_path, draw, name_layers=("tags",))
    assert [path.name for path in drawn.paths] == ["FEEDER 1", "FEEDER 2"]
    assert "'ROOF note'" in finding(drawn, "run-name-too-far").message
    assert codes(drawn).count("run-named-by-text") == 2
    assert [p.name for p in draw_and_read(tmp_path, draw).paths] == ["", ""]


def test_several_runs_on_a_layer_are_numbered_where_layers_name_runs(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (50, 0), dxfattribs={"layer": "A"})
        model.add_line((0, 90), (50, 90), dxfattribs={"layer": "A"})
        model.add_line((0, 190), (50, 190), dxfattribs={"layer": "B"})

    assert [p.name for p in draw_and_read(tmp_path, draw).paths] == ["A 1", "A 2", "B"]


def test_a_layer_name_with_brackets_matches_itself():
    assert matches("RUN [1]", ["run [1]"])
    assert matches("RUN 1", ["run [12]"])
    assert not matches("RUN 3", ["run [12]"])


def test_drawing_without_curves_says_what_it_holds(tmp_path):
    def draw(_, model):
        model.add_text("hello")
        model.add_point((0, 0))

    with pytest.raises(RouteError, match="no open path") as error:
        draw_and_read(tmp_path, draw)
    assert "1 TEXT, 1 POINT" in str(error.value)


def test_drawing_with_loops_only_says_so(tmp_path):
    def draw(_, model):
        model.add_circle((0, 0), 5, dxfattribs={"layer": "HOLES"})
        model.add_lwpolyline([(0, 0), (5, 0), (5, 5)], close=True)

    with pytest.raises(RouteError, match="2 closed loops") as error:
        draw_and_read(tmp_path, draw)
    assert "1 CIRCLE, 1 LWPOLYLINE on layer HOLES (1); layer 0 (1)" in str(error.value)


def test_a_drawing_with_one_route_drawn_twice_alone_says_so(tmp_path):
    def draw(_, model):
        model.add_lwpolyline([(0, 0), (90, 0), (90, 90)], dxfattribs={"layer": "A"})
        bent = [(0, 0, 0), (80, 0, 0.41421356), (90, 10, 0), (90, 90, 0)]
        model.add_lwpolyline(bent, format="xyb", dxfattribs={"layer": "B"})

    with pytest.raises(RouteError, match="no open path") as error:
        draw_and_read(tmp_path, draw)
    assert "from (0, 0, 0) in and from (90, 90, 0) in" in str(error.value)
    assert "one route seems to be drawn twice (layers A, B)" in str(error.value)
