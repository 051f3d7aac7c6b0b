"""Block references clipped to a window: what lies out of sight is read, and told."""

from __future__ import annotations

import re
from dataclasses import replace
from math import cos, radians

import pytest
from dxf_samples import INCH, codes, draw_and_read, finding, job, length_m, save
from ezdxf.xclip import XClip

from analyzer.findings import Severity
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.reading import open_route
from analyzer.job.settings import FittingKind

ROUTE = [(0, 0, 0), (50, 0, 0), (50, 40, 0), (50, 40, 9)]
WINDOW = [(-5, -5), (30, 20)]


def floor(document, name="FLOOR", base=(0, 0)):
    block = document.blocks.new(name, base_point=base)
    block.add_polyline3d(ROUTE, dxfattribs={"layer": "RW"})
    return block


def clipped(model, window=WINDOW, at=(0, 0), **attributes):
    insert = model.add_blockref("FLOOR", at, dxfattribs={"layer": "RW", **attributes})
    XClip(insert).set_block_clipping_path(window)
    return insert


def told_length(drawn):
    """Inches out of sight, as the one caution says."""
    return float(
        re.findall(r"([\d.]+) in of its lines", finding(drawn, "reference-clipped").message)[0]
    )


def test_what_a_clipped_reference_draws_out_of_sight_is_read_and_told(tmp_path):
    def draw(document, model):
        floor(document)
        clipped(model)

    drawn = draw_and_read(tmp_path, draw)
    assert length_m(drawn.paths[0]) == pytest.approx(99 * INCH)
    told = finding(drawn, "reference-clipped")
    assert told.severity is Severity.CAUTION
    assert told_length(drawn) == 69
    (curve,) = told.concern.entities
    assert curve in drawn.sources[0].entities
    assert "handle" in told.where


@pytest.mark.parametrize(
    ("window", "outside"),
    [
        ([(-5, -5), (60, 60)], None),  # all of it shows
        ([(0, 0), (50, 40)], None),  # on the edge
        ([(-5, -5), (30, -5), (30, 20), (60, 20), (60, 60), (-5, 60)], 20 + 20),  # an L
        ([(100, 100), (200, 200)], 99),
        ([(10, -5), (20, 60)], 89),  # cut twice
    ],
)
def test_only_what_leaves_the_window_is_told(tmp_path, window, outside):
    def draw(document, model):
        floor(document)
        clipped(model, window)

    drawn = draw_and_read(tmp_path, draw)
    if outside is None:
        assert "reference-clipped" not in codes(drawn)
    else:
        assert told_length(drawn) == outside


@pytest.mark.parametrize(
    "attributes",
    [
        {},
        {"rotation": 30, "xscale": 2, "yscale": 2, "zscale": 2, "at": (500, 700, 80)},
        {"rotation": 90, "xscale": -1, "at": (4e6, 3e6)},
        {"extrusion": (0, -1, 0)},
    ],
)
def test_the_window_goes_with_the_reference(tmp_path, attributes):
    def draw(document, model):
        floor(document, base=(7, 8))
        clipped(model, **attributes)

    height = attributes.get("zscale", 1) * 9
    scale = abs(attributes.get("xscale", 1))
    drawn = draw_and_read(tmp_path, draw)
    assert told_length(drawn) == pytest.approx(scale * 60 + height, rel=1e-3)


def test_a_window_in_the_coordinates_of_the_reference_is_taken_there(tmp_path):
    def draw(document, model):
        floor(document)
        insert = model.add_blockref("FLOOR", (500, 0), dxfattribs={"rotation": 30})
        clip = XClip(insert)
        clip.set_block_clipping_path([(495, -5), (530, 20)])
        to_block = insert.matrix44()
        to_block.inverse()
        clip.get_spatial_filter().set_inverse_insert_matrix(to_block)

    drawn = draw_and_read(tmp_path, draw)
    shown = 30 / cos(radians(30))
    assert told_length(drawn) == pytest.approx(99 - shown, rel=1e-3)


def test_each_place_of_an_array_is_compared_and_told_once(tmp_path):
    def draw(document, model):
        floor(document)
        clipped(model, row_count=3, row_spacing=400)

    assert told_length(draw_and_read(tmp_path, draw)) == 3 * 69


def test_a_clip_that_is_turned_off_hides_nothing(tmp_path):
    def draw(document, model):
        floor(document)
        XClip(clipped(model)).disable_clipping()

    assert "reference-clipped" not in codes(draw_and_read(tmp_path, draw))


def test_an_inverted_window_hides_what_lies_inside(tmp_path):
    def draw(document, model):
        floor(document)
        clip = XClip(clipped(model, [(-5, -5), (30, 20)]))
        clip.invert_clipping_path([(-100, -100), (200, 200)], ignore_acad_compatibility=True)

    assert told_length(draw_and_read(tmp_path, draw)) == 30


@pytest.mark.parametrize(
    "spoil",
    [
        lambda clip: clip.dxf.set("has_front_clipping_plane", 1),
        lambda clip: clip.dxf.set("extrusion", (0, -1, 0)),
        lambda clip: setattr(clip, "_boundary_vertices", ()),
        lambda clip: setattr(clip, "_boundary_vertices", clip.boundary_vertices[:1] * 4),
        lambda clip: clip.set_inverse_insert_matrix(clip.inverse_insert_matrix.scale(0, 1, 1)),
    ],
)
def test_a_clip_that_cannot_be_compared_is_told(tmp_path, spoil):
    def draw(document, model):
        floor(document)
        spoil(XClip(clipped(model)).get_spatial_filter())

    drawn = draw_and_read(tmp_path, draw)
    assert told_length(drawn) == 99
    assert "all of it is read," in finding(drawn, "reference-clipped").message


def test_odd_entries_in_the_place_of_a_clip_stop_nothing(tmp_path):
    def draw(document, model):
        floor(document)
        one = model.add_blockref("FLOOR", (0, 0))
        one.new_extension_dict().dictionary.add_dict_var("ACAD_FILTER", "odd")
        two = model.add_blockref("FLOOR", (0, 500))
        two.new_extension_dict().dictionary.get_required_dict("ACAD_FILTER").add_xrecord("SPATIAL")

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.paths) == 2
    assert "reference-clipped" not in codes(drawn)


def test_fittings_out_of_sight_are_told_with_their_names(tmp_path):
    def draw(document, model):
        block = floor(document)
        document.blocks.new("JB").add_circle((0, 0), 1)
        for x in (10, 50):
            block.add_blockref("JB", (x, 0))
        clipped(model, [(-5, -5), (60, 60)])
        clipped(model, [(-5, -5), (30, 20)], at=(0, 500))

    drawn = draw_and_read(tmp_path, draw, fitting_kinds=(("JB", FittingKind.JUNCTION_BOX),))
    told = finding(drawn, "reference-clipped")
    assert "1 fitting ('JB')" in told.message
    assert told.concern.fittings_m == ((pytest.approx(50 * INCH), pytest.approx(500 * INCH), 0.0),)


def box(document, name="JB"):
    document.blocks.new(name).add_lwpolyline([(-4, -4), (4, -4), (4, 4), (-4, 4)], close=True)
    return name


def test_a_fitting_left_out_is_not_told_as_read(tmp_path):
    def draw(document, model):
        model.add_lwpolyline([(0, 9000), (240, 9000)], dxfattribs={"layer": "RW"})
        block = document.blocks.new("FLOOR")
        block.add_line((900, 0), (1100, 0), dxfattribs={"layer": "OTHER"})
        block.add_blockref(box(document), (1000, 0))
        clipped(model)

    drawn = draw_and_read(tmp_path, draw, layers=("RW",))
    assert "fitting-left-out" in codes(drawn)
    assert "reference-clipped" not in codes(drawn)
    kept = draw_and_read(tmp_path, draw)
    assert "1 fitting ('JB')" in finding(kept, "reference-clipped").message


def floors(document, model):
    """One floor of two runs shown twice, the one run below and the other above."""
    block = document.blocks.new("FLOOR")
    for x in (0, 500):
        run = [(x, 0, 0), (x + 240, 0, 0), (x + 240, 200, 0)]
        block.add_polyline3d(run, dxfattribs={"layer": "RW"})
        block.add_blockref("JB", (x + 120, 0))
    clipped(model, [(-50, -50), (400, 500)])
    clipped(model, [(400, -50), (900, 500)], at=(0, 1000))


def cautioned(folder, draw):
    """Places where runs start, in inches, and whether a clip is a caution on them."""
    route = open_route(save(folder, draw), replace(job(), bend_radius_m=0.3))
    found = {}
    for run in route.runs:
        told = [one for one in run.findings if one.code == "reference-clipped"]
        found[tuple(round(value / INCH) for value in run.centerline.start_m[:2])] = len(told)
    return found, [one.code for one in route.findings].count("reference-clipped")


def test_fittings_out_of_sight_concern_the_runs_that_take_them(tmp_path):
    def draw(document, model):
        box(document)
        floors(document, model)

    expected = {(0, 0): 0, (500, 0): 1, (0, 1000): 1, (500, 1000): 0}
    assert cautioned(tmp_path, draw) == (expected, 0)


def test_a_box_out_of_sight_concerns_a_run_that_is_no_part_of_the_block(tmp_path):
    def draw(document, model):
        for y in (0, 800):
            model.add_lwpolyline([(0, y), (240, y)], dxfattribs={"layer": "RW"})
        document.blocks.new("FLOOR").add_blockref(box(document), (120, 0))
        clipped(model)

    assert cautioned(tmp_path, draw) == ({(0, 0): 1, (0, 800): 0}, 0)


def test_a_box_out_of_sight_too_far_from_its_run_is_not_told_as_read(tmp_path):
    def draw(document, model):
        model.add_lwpolyline([(0, 60), (240, 60)], dxfattribs={"layer": "RW"})
        document.blocks.new("FLOOR").add_blockref(box(document), (120, 0))
        clipped(model)

    route = open_route(save(tmp_path, draw), job())
    found = [one.code for one in (*route.findings, *route.runs[0].findings)]
    assert "fitting-far" in found
    assert "reference-clipped" not in found


def test_a_symbol_out_of_sight_that_is_read_as_raceway_concerns_its_run(tmp_path):
    def draw(document, model):
        elbow = document.blocks.new("PANEL ELBOW")
        elbow.add_line((0, 0), (20, 0))
        block = document.blocks.new("FLOOR")
        for x in (0, 120):
            block.add_line((x, 0), (x + 100, 0), dxfattribs={"layer": "RW"})
        block.add_blockref("PANEL ELBOW", (100, 0))
        clipped(model, [(-5, -5), (95, 20)])

    drawn = draw_and_read(tmp_path, draw)
    assert "fitting-read-as-route" in codes(drawn)
    assert "1 fitting ('PANEL ELBOW')" in finding(drawn, "reference-clipped").message
    told = set(finding(drawn, "reference-clipped").concern.entities)
    assert len(told & drawn.sources[0].entities) == 3


@pytest.mark.parametrize(
    ("windows", "outside"),
    [
        ([[(-5, -5), (30, 60)], [(30, -5), (60, 60)]], None),  # halves
        ([[(-5, -5), (30, 60)], [(-5, -5), (60, 60)]], None),
        ([[(-5, -5), (30, 60)], [(40, -5), (60, 60)]], 10),
        ([[(-5, -5), (30, 60)], None], None),  # not clipped
    ],
)
def test_what_one_of_several_references_at_a_place_shows_is_in_sight(tmp_path, windows, outside):
    def draw(document, model):
        block = floor(document)
        block.add_blockref(box(document), (50, 20))
        for window in windows:
            if window is None:
                model.add_blockref("FLOOR", (0, 0), dxfattribs={"layer": "RW"})
            else:
                clipped(model, window)

    drawn = draw_and_read(tmp_path, draw)
    assert length_m(drawn.paths[0]) == pytest.approx(99 * INCH)
    told = [one.message for one in drawn.findings if one.code == "reference-clipped"]
    assert len(told) == (0 if outside is None else 2)
    assert all(f" {outside} in of its lines" in text for text in told)
    assert not any("fitting" in text for text in told)


def test_what_a_reference_inside_another_shows_is_not_taken_for_in_sight(tmp_path):
    def draw(document, model):
        floor(document)
        document.blocks.new("SHEET").add_blockref("FLOOR", (0, 0), dxfattribs={"layer": "RW"})
        XClip(model.add_blockref("SHEET", (0, 0))).set_block_clipping_path([(90, 90), (99, 99)])
        clipped(model)

    route = open_route(save(tmp_path, draw), replace(job(), bend_radius_m=0.1))
    (run,) = route.runs
    found = [one.message for one in (*route.findings, *run.findings) if "clipped to" in one.message]
    assert [re.findall(r"\d+ in", one) for one in found] in (
        [["99 in"], ["69 in"]],
        [["69 in"], ["99 in"]],
    )


def test_references_at_other_places_hide_what_they_hide(tmp_path):
    def draw(document, model):
        floor(document)
        clipped(model, [(-5, -5), (30, 60)])
        clipped(model, [(30, -5), (60, 60)], at=(0, 500))

    told = [one for one in draw_and_read(tmp_path, draw).findings if one.code.endswith("-clipped")]
    assert [("69 in" in one.message, "30 in" in one.message) for one in told] == [
        (True, False),
        (False, True),
    ]


def test_layers_say_what_is_out_of_sight(tmp_path):
    def draw(document, model):
        floor(document)
        clipped(model)
        model.add_line((0, 900), (90, 900), dxfattribs={"layer": "OTHER"})

    contents = survey_drawing(save(tmp_path, draw))
    reasons = {layer.name: layer.reason for layer in contents.layers}
    assert reasons["RW"].endswith("; 1 leaves the window of a clipped reference")
    assert "clipped" not in reasons["OTHER"]
    assert "reference-clipped" in [one.code for one in contents.findings]


def test_places_that_are_none_in_a_clipped_block_stop_nothing(tmp_path):
    def draw(document, model):
        block = floor(document)
        block.add_line((0, 0), (1e300, 1e300), dxfattribs={"layer": "FAR"})
        block.add_spline().set_open_uniform([(0, 0, 0), (1e308, 0, 0), (-1e308, 1, 0), (0, 9, 0)])
        clipped(model)

    path = save(tmp_path, draw)
    assert "reference-clipped" in [one.code for one in survey_drawing(path).findings]
