"""Block references: opened exactly at any depth, or read as fittings.

One long file, because it is the table of what blocks may hold.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import pi

import numpy as np
import pytest
from dxf_samples import (
    INCH,
    away_from_path_m,
    codes,
    draw_and_read,
    finding,
    flattened_m,
    job,
    length_m,
    opened,
    read,
    save,
)

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnAs
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.drawings.reader import read_drawing
from analyzer.job.settings import DrawingSettings, FittingEntry, FittingKind
from analyzer.units import LengthUnit, parse_length


def bend_block(document, name="BEND", base=(0, 0)):
    block = document.blocks.new(name, base_point=base)
    block.add_line((0, 0), (6, 0))
    block.add_arc((6, 4), 4, 270, 360)
    block.add_lwpolyline([(10, 4, 0), (10, 8, -1.5), (13, 8, 0)], format="xyb")
    return block


def chords_of_a_bend():
    """A quarter bend of radius 18 in 12 chords, rounded to 0.01, with its straights."""
    steps = [pi / 2 * k / 12 for k in range(13)]
    bend = [(200.3 + 18 * np.sin(a), 5.7 + 18 - 18 * np.cos(a), 2.2) for a in steps]
    return np.round([(3.3, 5.7, 2.2), *bend, (218.3, 223.7, 2.2)], 2)


@pytest.mark.parametrize("scale", [1.0, 2.5])
@pytest.mark.parametrize("turn_deg", [11.3, 47.1, 201.9])
def test_an_elbow_at_full_digits_does_not_hide_the_rounding_of_the_lines(tmp_path, scale, turn_deg):
    turn, bend = np.radians(turn_deg), pi / 6

    def at(x, y):
        along, across = np.cos(turn), np.sin(turn)
        return np.round((1000 + x * along - y * across, 700 + x * across + y * along, 3.0), 2)

    def draw(document, space):
        steps = [bend * k / 6 for k in range(7)]
        document.blocks.new("ELBOW").add_lwpolyline(
            [(9.5 / scale * np.sin(a), 9.5 / scale * (1 - np.cos(a))) for a in steps]
        )
        parts = [0.0, 17.3, 41.9, 60.2, 75.1, 90.0]
        before = [at(x, 0.0) for x in parts]
        end = 90.0 + 9.5 * np.sin(bend), 9.5 * (1 - np.cos(bend))
        after = [at(end[0] + x * np.cos(bend), end[1] + x * np.sin(bend)) for x in parts]
        for line in (before, after):
            for a, b in pairwise(line):
                space.add_line(a, b)
        place = {"rotation": turn_deg, "xscale": scale, "yscale": scale, "zscale": scale}
        space.add_blockref("ELBOW", before[-1], dxfattribs=place)

    (path,) = draw_and_read(tmp_path, draw).paths
    (elbow,) = read_bends(path, corner_radius_m=9.5 * INCH).bends
    assert elbow.angle_rad == pytest.approx(bend, abs=2e-3)
    assert elbow.radius_m == pytest.approx(9.5 * INCH, rel=0.01)


@pytest.mark.parametrize("scale", [1.0, 0.75, -1.5])
@pytest.mark.parametrize("nested", [False, True])
def test_rounding_is_found_in_the_coordinates_of_the_block(tmp_path, scale, nested):
    def draw(document, space):
        document.blocks.new("RUN").add_polyline3d(chords_of_a_bend())
        place = {"rotation": 33, "xscale": scale, "yscale": scale, "zscale": scale}
        name = "RUN"
        if nested:
            outer = document.blocks.new("OUTER")
            outer.add_blockref("RUN", (0, 0), dxfattribs={"rotation": 21})
            name = "OUTER"
        space.add_blockref(name, (12.345678, 3), dxfattribs=place)

    (path,) = draw_and_read(tmp_path, draw).paths
    (bend,) = read_bends(path, corner_radius_m=0.24).bends
    assert bend.radius_m == pytest.approx(18 * INCH * abs(scale), rel=0.01)
    scales = [place.scale for edge in path.edges for place in edge.written_ends if place]
    assert scales == pytest.approx([abs(scale)] * len(scales))


PLACES = [
    {"rotation": 30},
    {"xscale": -1, "yscale": 1, "zscale": 1, "rotation": 90},
    {"xscale": 2, "yscale": -2, "zscale": 2, "rotation": 10},
    {"extrusion": (0, 0, -1), "rotation": 45},
    {"extrusion": (0.4, -0.2, 0.7), "rotation": 200, "xscale": 0.5, "yscale": 0.5, "zscale": 0.5},
    {"zscale": -3},
]


@pytest.mark.parametrize("place", PLACES)
def test_reference_is_opened_where_the_library_opens_it(tmp_path, place):
    made = []

    def draw(document, model):
        bend_block(document, base=(1, 2))
        made.append(model.add_blockref("BEND", (20, 30, 5), dxfattribs=place))

    (run,) = draw_and_read(tmp_path, draw).paths
    assert sum(edge.drawn_as is DrawnAs.ARC for edge in run.edges) == 3
    for entity in opened(made):
        for point in flattened_m(entity)[::5]:
            assert away_from_path_m(run, point) < 1e-9


def test_nested_references_are_opened_to_any_depth(tmp_path):
    made = []

    def draw(document, model):
        bend_block(document)
        for level in range(1, 12):
            inner = "BEND" if level == 1 else f"LEVEL{level - 1}"
            block = document.blocks.new(f"LEVEL{level}", base_point=(level, 0))
            block.add_blockref(inner, (1, level), dxfattribs={"rotation": 15 * level, "xscale": -1})
        made.append(model.add_blockref("LEVEL11", (3, 4, 5)))

    (run,) = draw_and_read(tmp_path, draw).paths
    for entity in opened(made):
        for point in flattened_m(entity)[::5]:
            assert away_from_path_m(run, point) < 1e-9


def test_array_draws_its_block_at_every_place_unscaled_steps(tmp_path):
    def draw(document, model):
        document.blocks.new("PIECE").add_line((0, 0), (4, 0))
        model.add_blockref(
            "PIECE",
            (100, 0),
            dxfattribs={
                "row_count": 2, "column_count": 3, "row_spacing": 50, "column_spacing": 40,
                "rotation": 90, "xscale": 2,
            },
        )  # fmt: skip

    drawn = draw_and_read(tmp_path, draw)
    starts = sorted(tuple(np.round(p.vertices_m[0] / INCH, 9)) for p in drawn.paths)
    # columns run along the turned x axis (up), rows along the turned y axis (to the left)
    assert starts == sorted(
        (100.0 - 50 * row, 40.0 * column, 0.0) for row in range(2) for column in range(3)
    )
    assert all(length_m(path) == pytest.approx(8 * INCH) for path in drawn.paths)


def test_unequal_scale_makes_arcs_elliptical_and_is_reported(tmp_path):
    def draw(document, model):
        document.blocks.new("QUARTER").add_arc((0, 0), 4, 0, 90)
        model.add_blockref("QUARTER", (0, 0), dxfattribs={"xscale": 2, "yscale": 1})

    drawn = draw_and_read(tmp_path, draw)
    (run,) = drawn.paths
    assert {edge.drawn_as for edge in run.edges} == {DrawnAs.SPLINE}
    assert "no longer circular" in finding(drawn, "not-circular").message
    ends = sorted(tuple(np.round(p / INCH, 9)) for p in run.vertices_m[[0, -1]])
    assert ends == [(0.0, 4.0, 0.0), (8.0, 0.0, 0.0)]


def test_unequal_scales_that_cancel_leave_a_true_arc(tmp_path):
    def draw(document, model):
        document.blocks.new("QUARTER").add_arc((0, 0), 4, 0, 90)
        document.blocks.new("WIDE").add_blockref(
            "QUARTER", (0, 0), dxfattribs={"xscale": 2, "yscale": 1}
        )
        model.add_blockref("WIDE", (0, 0), dxfattribs={"xscale": 1, "yscale": 2})

    (run,) = draw_and_read(tmp_path, draw).paths
    (edge,) = run.edges
    assert edge.drawn_as is DrawnAs.ARC
    assert edge.segment.length_m == pytest.approx(8 * pi / 2 * INCH, rel=1e-12)


def test_scale_zero_is_read_as_one_and_reported_with_its_handle(tmp_path):
    handles = []

    def draw(document, model):
        document.blocks.new("PIECE").add_lwpolyline([(0, 0), (4, 0), (4, 3)])
        for z in (7, 9):
            reference = model.add_blockref("PIECE", (0, 0, z), dxfattribs={"zscale": 0.125})
            handles.append(reference.dxf.handle)

    path = save(tmp_path, draw)
    path.write_text(path.read_text().replace(" 43\n0.125", " 43\n0.0", 1))
    drawn = read(path)
    assert [length_m(one) for one in drawn.paths] == pytest.approx([7 * INCH] * 2)
    assert finding(drawn, "block-scale-zero").where == f"handles {handles[0]}"


def test_blocks_that_insert_each_other_are_reported_not_followed(tmp_path):
    def draw(document, model):
        first, second = document.blocks.new("FIRST"), document.blocks.new("SECOND")
        first.add_line((0, 0), (5, 0))
        first.add_blockref("SECOND", (0, 10))
        second.add_blockref("FIRST", (0, 10))
        model.add_blockref("FIRST", (0, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.paths) == 1
    assert "FIRST > SECOND > FIRST" in finding(drawn, "block-inserts-itself").message


def test_reference_to_a_missing_block_is_reported(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (9, 0))
        model.add_blockref("NOWHERE", (0, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert "'NOWHERE'" in finding(drawn, "block-missing").message


def test_nested_arrays_that_explode_stop_with_a_message(tmp_path):
    grid = {"row_count": 3000, "column_count": 3000, "row_spacing": 1, "column_spacing": 1}

    def draw(document, model):
        document.blocks.new("DOT").add_line((0, 0), (0.1, 0))
        document.blocks.new("GRID").add_blockref("DOT", (0, 0), dxfattribs=grid)
        model.add_blockref("GRID", (0, 0), dxfattribs=grid)

    with pytest.raises(RouteError, match="array of 3000 by 3000"):
        draw_and_read(tmp_path, draw)


def box(document, name="JB-24", tags=("TAG",)):
    block = document.blocks.new(name)
    block.add_lwpolyline([(-4, -4), (4, -4), (4, 4), (-4, 4)], close=True)
    for tag in tags:
        block.add_attdef(tag, (0, 0))
    return block


def test_block_named_in_the_job_is_a_fitting_with_its_tag(tmp_path):
    def draw(document, model):
        box(document, "XYZ7", ("SIZE", "TAG"))
        model.add_line((0, 0, 8), (100, 0, 8))
        reference = model.add_blockref("XYZ7", (50, 0, 8), dxfattribs={"layer": "BOXES"})
        reference.add_auto_attribs({"TAG": "Box A", "SIZE": "24x12"})

    drawn = draw_and_read(
        tmp_path, draw, layers=("0",), fitting_kinds=(("xyz*", FittingKind.PULL_BOX),)
    )
    (fitting,) = drawn.fittings
    assert (fitting.name, fitting.kind) == ("Box A", FittingKind.PULL_BOX)
    assert fitting.position_m == pytest.approx((50 * INCH, 0, 8 * INCH))
    assert "layer BOXES" in fitting.where
    assert "fitting-kind-from-name" not in codes(drawn)
    assert len(drawn.paths) == 1


@pytest.mark.parametrize(
    ("block", "kind"),
    [
        ("JB-24", FittingKind.JUNCTION_BOX),
        ("E-PULL-BOX", FittingKind.PULL_BOX),
        ("pb 12", FittingKind.PULL_BOX),
        ("Handhole_17x30", FittingKind.HANDHOLE),
        ("MANHOLE", FittingKind.MANHOLE),
        ("CONDUIT BODY", FittingKind.CONDUIT_BODY),
        ("Panel LP1", FittingKind.PANEL),
        ("XFMR TRANSFORMER", FittingKind.EQUIPMENT),
    ],
)
def test_trade_word_in_the_block_name_tells_the_kind_and_is_said(tmp_path, block, kind):
    def draw(document, model):
        box(document, block, ())
        model.add_line((0, 0), (100, 0))
        model.add_blockref(block, (50, 0))

    drawn = draw_and_read(tmp_path, draw)
    (fitting,) = drawn.fittings
    assert fitting.kind is kind
    assert fitting.name == f"{kind.value.capitalize()} 1"
    message = finding(drawn, "fitting-kind-from-name").message
    assert f'"{block}" = "{kind.value}"' in message


@pytest.mark.parametrize("block", ["JBLOCK", "PBX", "HHALL", "LBRACKET", "BEND", "TITLE"])
def test_names_that_only_begin_alike_are_no_fittings(tmp_path, block):
    def draw(document, model):
        document.blocks.new(block).add_line((0, 0), (10, 0))
        model.add_blockref(block, (0, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert not drawn.fittings
    assert len(drawn.paths) == 1


def test_fitting_in_a_mirrored_turned_scaled_block_stands_where_the_library_puts_it(tmp_path):
    made = []

    def draw(document, model):
        box(document)
        run = document.blocks.new("RUN", base_point=(3, 3))
        run.add_line((0, 0, 0), (40, 0, 0))
        run.add_blockref("JB-24", (20, 0, 1), dxfattribs={"rotation": 20})
        made.append(
            model.add_blockref(
                "RUN", (10, 10, 10),
                dxfattribs={"xscale": -2, "yscale": 2, "zscale": 2, "rotation": 33,
                            "extrusion": (0, 1, 1)},
            )
        )  # fmt: skip

    (fitting,) = draw_and_read(tmp_path, draw).fittings
    inner = next(e for e in made[0].virtual_entities() if e.dxftype() == "INSERT")
    expected = inner.ocs().to_wcs(inner.dxf.insert)
    assert fitting.position_m == pytest.approx([x * INCH for x in expected], abs=1e-12)


def test_base_point_of_a_box_is_where_the_reference_is_put(tmp_path):
    def draw(document, model):
        document.blocks.new("JB", base_point=(4, 4)).add_line((0, 0), (8, 8))
        model.add_line((0, 0), (100, 0))
        model.add_blockref("JB", (50, 0))

    (fitting,) = draw_and_read(tmp_path, draw).fittings
    assert fitting.position_m == pytest.approx((50 * INCH, 0, 0))


def test_array_of_boxes_is_one_fitting_a_place(tmp_path):
    def draw(document, model):
        box(document)
        model.add_line((0, 0), (100, 0))
        model.add_blockref("JB-24", (10, 0), dxfattribs={"column_count": 3, "column_spacing": 40})

    drawn = draw_and_read(tmp_path, draw)
    places = [round(f.position_m[0] / INCH, 9) for f in drawn.fittings]
    assert places == [10.0, 50.0, 90.0]


@pytest.mark.parametrize(
    "tag",
    ["NAME", "BOX_LABEL", "DESIGNATION", "PANELID", "EQUIPIDENT", "BOXIDNO", "TAG2", "NAMEPLATE"],
)
def test_label_is_found_under_the_usual_tags(tmp_path, tag):
    def draw(document, model):
        box(document, "JB-24", (tag,))
        model.add_line((0, 0), (100, 0))
        model.add_blockref("JB-24", (50, 0)).add_auto_attribs({tag: "West box"})

    assert draw_and_read(tmp_path, draw).fittings[0].name == "West box"


@pytest.mark.parametrize(
    ("tag", "name"),
    [
        ("BOX_NAME", "12"),
        ("BOXNAME", "12"),
        ("IDENT", "12"),
        *(
            (tag, "Junction box 1")
            for tag in ("VOLTAGE", "STAGE", "REMARK", "REMARKS", "BENCHMARK")
        ),
        *((tag, "Junction box 1") for tag in ("WIDTH", "GRID", "VOID", "IDEA", "SIDE")),
    ],
)
def test_words_inside_other_words_are_no_tags_of_names(tmp_path, tag, name):
    def draw(document, model):
        box(document, "JB-24", (tag, "DEPTH"))
        model.add_line((0, 0), (100, 0))
        model.add_blockref("JB-24", (50, 0)).add_auto_attribs({tag: "12", "DEPTH": "8"})

    assert draw_and_read(tmp_path, draw).fittings[0].name == name


def with_constant_label(document, model, places, tag="TAG"):
    """A block that bears a constant attribute, at some places along a line."""
    block = box(document, "JB-24", ())
    block.add_attdef(tag, (0, 0), "East box", dxfattribs={"flags": 2})
    block.add_attdef("SIZE", (0, 0), "24 in", dxfattribs={"flags": 2})
    model.add_line((0, 0), (100, 0))
    for x in places:
        model.add_blockref("JB-24", (x, 0))


@pytest.mark.parametrize("tag", ["TAG", "BOX_ID", "MARK NO 2"])
def test_constant_attribute_of_its_block_names_a_fitting(tmp_path, tag):
    drawn = draw_and_read(tmp_path, lambda *two: with_constant_label(*two, [50], tag))
    assert [one.name for one in drawn.fittings] == ["East box"]


@pytest.mark.parametrize("tag", ["VOLTAGE", "REMARKS", "STAGE", "MARKET", "TAGGED_BY"])
def test_constant_attribute_under_another_tag_names_no_fitting(tmp_path, tag):
    drawn = draw_and_read(tmp_path, lambda *two: with_constant_label(*two, [50], tag))
    assert [one.name for one in drawn.fittings] == ["Junction box 1"]


def test_fittings_that_share_a_constant_attribute_are_numbered(tmp_path):
    drawn = draw_and_read(tmp_path, lambda *two: with_constant_label(*two, [20, 60]))
    assert [one.name for one in drawn.fittings] == ["East box 1", "East box 2"]
    assert "fitting-name-repeated" not in codes(drawn)


@pytest.mark.parametrize("taken", ["East box 1", "EAST BOX  1"])
def test_numbers_of_shared_labels_skip_names_that_are_taken(tmp_path, taken):
    def draw(document, model):
        with_constant_label(document, model, [20, 60])
        box(document, "PB-2")
        model.add_blockref("PB-2", (80, 0)).add_auto_attribs({"TAG": taken})
        box(document, "PB-3", ())
        model.add_blockref("PB-3", (90, 0))
        model.add_blockref("PB-2", (40, 0)).add_auto_attribs({"TAG": "Pull box 2"})
        model.add_blockref("PB-3", (95, 0))

    drawn = draw_and_read(tmp_path, draw)
    names = [one.name for one in drawn.fittings]
    assert names[:2] == ["East box 2", "East box 3"]
    assert names[2:] == [taken, "Pull box 3", "Pull box 2", "Pull box 4"]
    assert "fitting-name-repeated" not in codes(drawn)


@pytest.mark.parametrize(("side", "severity"), [("24 in", "note"), ("8 in", "caution")])
def test_a_gap_up_to_the_walls_of_a_box_of_stated_size_is_no_caution(tmp_path, side, severity):
    def draw(document, model):
        document.blocks.new("PULLBOX").add_circle((0, 0), 0.5)
        model.add_line((0, 0), (400, 0))
        model.add_line((424, 0), (800, 0))
        model.add_blockref("PULLBOX", (412, 0))

    size = (parse_length(side),) * 2
    path, told = save(tmp_path, draw), (FittingEntry("pull BOX 1", size_m=size),)
    drawn = read_drawing(path, replace(job(snap_m=12 * INCH), fittings=told))
    found = finding(drawn, "gap-at-fitting")
    assert found.severity.value == severity
    assert len(drawn.paths) == 1


def test_attribute_of_the_reference_goes_before_a_constant_one(tmp_path):
    def draw(document, model):
        with_constant_label(document, model, [50])
        (reference,) = model.query("INSERT")
        reference.add_attrib("NO", "JB-7", (0, 0))

    assert [one.name for one in draw_and_read(tmp_path, draw).fittings] == ["JB-7"]


@pytest.mark.parametrize("tag", ["WIDTH", "MAKER"])
def test_constant_attribute_under_another_tag_names_nothing(tmp_path, tag):
    drawn = draw_and_read(tmp_path, lambda *two: with_constant_label(*two, [50], tag))
    assert [one.name for one in drawn.fittings] == ["Junction box 1"]


def test_width_of_a_box_is_not_its_name(tmp_path):
    def draw(document, model):
        box(document, "JB-24", ("WIDTH", "DEPTH"))
        model.add_line((0, 0), (100, 0))
        model.add_blockref("JB-24", (50, 0)).add_auto_attribs({"WIDTH": "24", "DEPTH": "12"})

    assert draw_and_read(tmp_path, draw).fittings[0].name == "Junction box 1"


def test_extended_data_gives_the_label_where_no_attribute_does(tmp_path):
    def draw(document, model):
        document.appids.new("ROUTING")
        box(document, "JB-24", ())
        model.add_line((0, 0), (100, 0))
        model.add_blockref("JB-24", (50, 0)).set_xdata("ROUTING", [(1000, "Roof box")])

    assert draw_and_read(tmp_path, draw).fittings[0].name == "Roof box"


@pytest.mark.parametrize(
    "texts",
    [
        ("Roof box", "NAME"),
        ("SIZE", "24 in", "NAME", "Roof box"),
        ("Color=red", "Tag = Roof box"),
        ("label: Roof box", "ID: 7"),
        ("Roof box",),
    ],
)
def test_label_in_extended_data_stands_after_its_tag_where_there_is_one(tmp_path, texts):
    def draw(document, model):
        document.appids.new("ROUTING")
        box(document, "JB-24", ())
        model.add_line((0, 0), (100, 0))
        data = [(1000, text) for text in texts]
        model.add_blockref("JB-24", (50, 0)).set_xdata("ROUTING", data)

    assert draw_and_read(tmp_path, draw).fittings[0].name == "Roof box"


def test_two_fittings_of_one_name_are_a_caution(tmp_path):
    def draw(document, model):
        box(document)
        model.add_line((0, 0), (100, 0))
        for x in (20, 60):
            model.add_blockref("JB-24", (x, 0)).add_auto_attribs({"TAG": "Box"})

    assert "2 fittings" in finding(draw_and_read(tmp_path, draw), "fitting-name-repeated").message


def test_boxes_stacked_on_each_other_are_one_fitting(tmp_path):
    def draw(document, model):
        box(document)
        model.add_line((0, 0), (100, 0))
        for _ in range(3):
            model.add_blockref("JB-24", (50, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.fittings) == 1
    assert "2 block references" in finding(drawn, "duplicate-entity").message


def test_very_large_symbol_read_by_a_trade_word_is_a_caution(tmp_path):
    def draw(document, model):
        document.blocks.new("PANEL FEEDER").add_line((0, 0), (500, 0))
        model.add_line((0, 90), (100, 90))
        model.add_blockref("PANEL FEEDER", (0, 0))

    drawn = draw_and_read(tmp_path, draw)
    found = finding(drawn, "fitting-symbol-large")
    assert found.severity.value == "caution"
    assert "is 500 in large" in found.message
    named = draw_and_read(tmp_path, draw, fitting_kinds=(("PANEL*", FittingKind.PANEL),))
    assert "fitting-symbol-large" not in codes(named)


def test_symbol_of_a_box_is_no_route(tmp_path):
    def draw(document, model):
        document.blocks.new("PB").add_line((-40, -40), (40, 40))
        model.add_line((0, 0), (100, 0))
        model.add_blockref("PB", (50, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.paths) == 1
    assert length_m(drawn.paths[0]) == pytest.approx(100 * INCH)


def test_layer_zero_in_a_block_is_the_layer_of_the_reference(tmp_path):
    def draw(document, model):
        block = document.blocks.new("RUN")
        block.add_line((0, 0), (10, 0), dxfattribs={"layer": "0"})
        block.add_line((10, 0), (10, 10), dxfattribs={"layer": "OTHER"})
        model.add_blockref("RUN", (0, 0), dxfattribs={"layer": "E-RACEWAY"})

    (run,) = draw_and_read(tmp_path, draw, layers=("*raceway*",)).paths
    assert length_m(run) == pytest.approx(10 * INCH)


# --- pieces of the route that a trade word takes for fittings ----------------------------------


def elbows(layer="E-MOTOR-FEEDERS", block="EMT-ELBOW-90", last=True):
    """Lines joined by elbows drawn as blocks; with `last` a line goes on from the second one."""

    def draw(document, model):
        document.blocks.new(block).add_arc((0, 24), 24, 270, 360)
        on = {"layer": layer}
        model.add_line((0, 0, 9), (200, 0, 9), dxfattribs=on)
        model.add_blockref(block, (200, 0, 9), dxfattribs=on)
        model.add_line((224, 24, 9), (224, 300, 9), dxfattribs=on)
        model.add_blockref(block, (224, 300, 9), dxfattribs={**on, "rotation": 90})
        if last:
            model.add_line((200, 324, 9), (0, 324, 9), dxfattribs=on)

    return draw


@pytest.mark.parametrize(
    ("layer", "block"),
    [
        ("E-MOTOR-FEEDERS", "EMT-ELBOW-90"),
        ("E-PULLBOX-CONDUIT", "EMT-ELBOW-90"),
        ("E-FEEDERS", "PANEL FEEDER ELBOW"),
    ],
)
def test_an_open_curve_between_ends_of_the_route_is_a_piece_of_it(tmp_path, layer, block):
    drawn = draw_and_read(tmp_path, elbows(layer, block))
    (run,) = drawn.paths
    assert sum(edge.drawn_as is DrawnAs.ARC for edge in run.edges) == 2
    assert not drawn.fittings
    told = finding(drawn, "fitting-read-as-route")
    assert told.severity is Severity.NOTE
    assert f'"{block}" = "route"' in told.message
    contents = survey_drawing(save(tmp_path, elbows(layer, block)))
    assert [one.kind for one in contents.blocks] == [None]


def test_elbows_in_a_row_are_pieces_of_the_route(tmp_path):
    def draw(document, model):
        document.blocks.new("ELBOW").add_arc((0, 24), 24, 270, 360)
        on = {"layer": "E-MOTOR-FEEDERS"}
        model.add_line((0, 0), (200, 0), dxfattribs=on)
        model.add_blockref("ELBOW", (200, 0), dxfattribs=on)
        model.add_blockref("ELBOW", (224, 24), dxfattribs={**on, "rotation": 90})
        model.add_line((200, 48), (0, 48), dxfattribs=on)

    assert len(draw_and_read(tmp_path, draw).paths) == 1


def test_the_job_says_whether_a_block_is_a_fitting_or_raceway(tmp_path):
    as_route = draw_and_read(tmp_path, elbows(), fitting_kinds=(("EMT*", None),))
    assert len(as_route.paths) == 1
    assert not {"fitting-read-as-route", "pattern-unused"} & set(codes(as_route))
    kinds = (("EMT*", FittingKind.EQUIPMENT),)
    as_equipment = draw_and_read(tmp_path, elbows(), fitting_kinds=kinds)
    assert len(as_equipment.paths) == 3
    gaps = [one.message for one in as_equipment.findings if one.code == "gap-not-bridged"]
    assert len(gaps) == 2
    assert all("block 'EMT-ELBOW-90' stands there, taken as equipment by the job" in one
               for one in gaps)  # fmt: skip


@pytest.mark.parametrize(
    ("layer", "told"), [("E-MOTOR-FEEDERS", True), ("E-MOTORS", False)], ids=["own", "another"]
)
def test_an_elbow_drawn_by_its_outline_is_told_where_its_layer_draws_raceway(tmp_path, layer, told):
    """By the same word on a layer without raceway it is the motor that both runs end at."""

    def draw(document, model):
        outline = [(0, -1), (9, 0), (11, 10), (9, 10), (7, 2), (0, 1)]
        document.blocks.new("EMT-ELBOW-90").add_lwpolyline(outline, close=True)
        model.add_blockref("EMT-ELBOW-90", (200, 0), dxfattribs={"layer": layer})
        model.add_line((0, 0), (200, 0), dxfattribs={"layer": "E-MOTOR-FEEDERS"})
        model.add_line((210, 10), (210, 300), dxfattribs={"layer": "E-MOTOR-FEEDERS"})

    drawn = draw_and_read(tmp_path, draw, layers=("E-MOTOR-FEEDERS",))
    assert len(drawn.paths) == 2
    assert ("gap-not-bridged" in codes(drawn)) is told
    if told:
        assert "block 'EMT-ELBOW-90' stands there" in finding(drawn, "gap-not-bridged").message


def test_a_curve_that_goes_on_from_the_end_of_a_run_is_a_caution(tmp_path):
    drawn = draw_and_read(tmp_path, elbows(last=False))
    assert len(drawn.paths) == 1
    told = finding(drawn, "fitting-may-be-route")
    assert told.severity is Severity.CAUTION
    assert '"EMT-ELBOW-90" = "route"' in told.message


def test_a_body_by_its_own_name_is_a_fitting_however_it_is_drawn(tmp_path):
    drawn = draw_and_read(tmp_path, elbows("E-FEEDERS", "LB"))
    assert [fitting.kind for fitting in drawn.fittings] == [FittingKind.CONDUIT_BODY] * 2


def test_what_stands_along_the_raceway_of_a_layer_named_after_motors_is_no_motor(tmp_path):
    def draw(document, model):
        on = {"layer": "E-MOTOR-FEEDERS"}
        box(document, "HANGER", ())
        box(document, "M1", ())
        model.add_line((0, 0), (200, 0), dxfattribs=on)
        model.add_line((200, 0), (200, 300), dxfattribs=on)
        for x in (50, 100, 150):
            model.add_blockref("HANGER", (x, 0), dxfattribs=on)
        model.add_point((200, 0), dxfattribs=on)
        model.add_blockref("M1", (200, 302), dxfattribs=on)

    drawn = draw_and_read(tmp_path, draw)
    assert [fitting.kind for fitting in drawn.fittings] == [FittingKind.EQUIPMENT]
    assert drawn.fittings[0].position_m[1] == pytest.approx(302 * INCH)
    told = [one.message for one in drawn.findings if one.code == "layer-word-not-used"]
    assert len(told) == 2
    assert "block 'HANGER' (3 times) is no equipment" in told[0]
    kinds = (("HANGER", None), ("E-MOTOR*", FittingKind.EQUIPMENT))
    assert len(draw_and_read(tmp_path, draw, fitting_kinds=kinds).fittings) == 2


@pytest.mark.parametrize("layer", ["LL-POWER", "LR 2", "LB"])
def test_letters_of_bodies_in_the_name_of_a_layer_are_no_trade_word(tmp_path, layer):
    def draw(document, model):
        box(document, "HANGER", ())
        model.add_line((0, 0), (200, 0))
        model.add_blockref("HANGER", (50, 0), dxfattribs={"layer": layer})
        model.add_point((100, 0), dxfattribs={"layer": layer})

    assert not draw_and_read(tmp_path, draw).fittings


# --- points -----------------------------------------------------------------------------------


def points_on_layers(document, model):
    model.add_lwpolyline([(0, 0), (200, 0)], dxfattribs={"layer": "RACEWAY"})
    document.appids.add("DESIGN")
    tagged = model.add_point((50, 1, 0), dxfattribs={"layer": "E-PULL-BOX"})
    tagged.set_xdata("DESIGN", [(1000, "Box A")])
    model.add_point((100, 0, 0), dxfattribs={"layer": "SPLICE"})
    model.add_point((120, 0, 0), dxfattribs={"layer": "RACEWAY"})


def test_point_on_a_layer_of_a_trade_word_is_a_fitting_named_by_its_data(tmp_path):
    drawn = draw_and_read(tmp_path, points_on_layers)
    (fitting,) = drawn.fittings
    assert (fitting.name, fitting.kind) == ("Box A", FittingKind.PULL_BOX)
    assert fitting.position_m == pytest.approx((50 * INCH, INCH, 0))
    assert fitting.where.startswith("layer E-PULL-BOX, POINT, handle ")
    assert "E-PULL-BOX" in finding(drawn, "fitting-kind-from-name").message
    assert "2 POINT" in finding(drawn, "entities-not-read").message


def test_point_on_a_layer_the_job_names_is_that_fitting(tmp_path):
    kinds = (("SPLICE", FittingKind.JUNCTION_BOX),)
    drawn = draw_and_read(tmp_path, points_on_layers, fitting_kinds=kinds)
    assert [f.name for f in drawn.fittings] == ["Box A", "Junction box 1"]


def test_point_in_an_opened_block_stands_where_the_block_puts_it(tmp_path):
    def draw(document, model):
        model.add_lwpolyline([(0, 0), (200, 0)])
        block = document.blocks.new("SPAN")
        block.add_point((3, 4, 0), dxfattribs={"layer": "PULL BOX"})
        model.add_blockref("SPAN", (10, 0, 0), dxfattribs={"rotation": 90})

    (fitting,) = draw_and_read(tmp_path, draw).fittings
    assert fitting.position_m == pytest.approx((6 * INCH, 3 * INCH, 0))


def test_two_points_at_one_place_are_one_fitting(tmp_path):
    def draw(document, model):
        model.add_lwpolyline([(0, 0), (200, 0)])
        for _ in range(2):
            model.add_point((50, 0, 0), dxfattribs={"layer": "PULL BOX"})

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.fittings) == 1
    assert "duplicate-entity" in codes(drawn)


def test_fitting_carries_the_corners_of_its_symbol_fills_included(tmp_path):
    def draw(document, model):
        model.add_lwpolyline([(0, 0), (200, 0)])
        block = document.blocks.new("PB")
        block.add_line((0, 0), (2, 0))
        block.add_solid([(0, 0), (4, 0), (0, 3), (4, 3)])
        document.blocks.new("JB")
        model.add_blockref("PB", (10, -1, 0), dxfattribs={"rotation": 90, "xscale": 2})
        model.add_blockref("JB", (30, 0, 0))

    drawn = draw_and_read(tmp_path, draw)
    low, high = drawn.fittings[0].extents_m
    assert low == pytest.approx((7 * INCH, -1 * INCH, 0))
    assert high == pytest.approx((10 * INCH, 7 * INCH, 0))
    assert drawn.fittings[1].extents_m is None


def unit_findings(tmp_path, own, scale=1.0, unit=1, layer="0"):
    """Cautions on a block 2540 units long that names the unit `own`, inserted at a scale."""

    def draw(document, model):
        block = document.blocks.new("PART")
        block.units = own
        block.add_line((0, 0), (2540, 0), dxfattribs={"layer": layer})
        scales = {"xscale": scale, "yscale": -scale, "zscale": scale}
        model.add_blockref("PART", (0, 0), dxfattribs=scales)
        model.add_blockref("PART", (0, 90), dxfattribs=scales)
        model.add_line((0, 900), (90, 900), dxfattribs={"layer": "RUN"})

    path = save(tmp_path, draw, unit=unit)
    drawn = read(path, units=LengthUnit.INCH, layers=("RUN", "0"))
    found = [one for one in drawn.findings if one.code == "block-unit-differs"]
    listed = survey_drawing(path, DrawingSettings(layers=("RUN", "0"))).findings
    assert [one for one in listed if one.code == "block-unit-differs"] == found
    return found


def test_a_block_in_another_unit_that_was_not_scaled_is_a_caution(tmp_path):
    (found,) = unit_findings(tmp_path, own=4)
    assert found.severity is Severity.CAUTION
    assert found.message.startswith(
        "block 'PART' names millimeters as its unit, the drawing inches, and it is inserted at "
        "scale 1: it is read in inches, 211.7 ft (2540 in) large; in millimeters it would be "
        "8.333 ft (2540 mm)."
    )
    assert "scale the block by 0.0393701" in found.message


@pytest.mark.parametrize(
    "case",
    [
        {"own": 1},
        {"own": 0},
        {"own": 4, "scale": 1 / 25.4},
        {"own": 4, "unit": 0},
        {"own": 8},
        {"own": 4, "layer": "OTHER"},
    ],
    ids=["same", "none", "scaled", "no unit of the drawing", "no raceway's", "not read"],
)
def test_a_block_in_the_unit_of_the_drawing_or_scaled_to_it_is_none(tmp_path, case):
    assert not unit_findings(tmp_path, **case)
