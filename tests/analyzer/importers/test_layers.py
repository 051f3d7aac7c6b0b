"""The listing of a drawing: layers, paths, blocks, extents, and what would be read."""

from __future__ import annotations

import pytest
from dxf_samples import INCH, save

from analyzer.errors import RouteError
from analyzer.importers.layers import survey_drawing
from analyzer.job.settings import DrawingSettings, FittingKind
from analyzer.units import LengthUnit


def rink(document, model):
    document.layers.add("RACEWAY")
    document.layers.add("OLD").freeze()
    document.layers.add("EMPTY")
    document.blocks.new("JB").add_circle((0, 0), 2)
    document.blocks.new("PART").add_line((0, 0), (3, 0), dxfattribs={"layer": "RACEWAY"})
    model.add_line((0, 0), (100, 0), dxfattribs={"layer": "RACEWAY"})
    model.add_line((100, 0), (100, 60, 12), dxfattribs={"layer": "RACEWAY"})
    model.add_circle((50, 50), 10, dxfattribs={"layer": "RACEWAY"})
    model.add_line((0, 0), (7, 0), dxfattribs={"layer": "OLD"})
    model.add_text("note", dxfattribs={"layer": "NOTES"})
    model.add_blockref("JB", (50, 0), dxfattribs={"layer": "BOXES"})
    model.add_blockref("PART", (500, 0))
    document.layout("Layout1").add_line((0, 0), (1, 0))


def test_layers_are_listed_with_what_they_hold_and_why_they_are_read(tmp_path):
    contents = survey_drawing(save(tmp_path, rink))
    layers = {layer.name: layer for layer in contents.layers}
    raceway = layers["RACEWAY"]
    assert dict(raceway.entities) == {"LINE": 3, "CIRCLE": 1}
    assert (raceway.open_paths, raceway.closed_loops) == (2, 1)
    assert raceway.longest_path == pytest.approx(100 + (60**2 + 12**2) ** 0.5)
    assert raceway.is_read
    assert layers["OLD"].curve_length == pytest.approx(7)
    assert not layers["OLD"].is_read
    assert "frozen" in layers["OLD"].reason
    assert "no line" in layers["NOTES"].reason
    assert layers["EMPTY"].entities == ()


def test_blocks_are_listed_with_the_fitting_they_are_read_as(tmp_path):
    blocks = {block.name: block for block in survey_drawing(save(tmp_path, rink)).blocks}
    assert blocks["JB"].kind is FittingKind.JUNCTION_BOX
    assert blocks["JB"].reason == "by its name"
    assert blocks["PART"].kind is None
    settings = DrawingSettings(fitting_kinds=(("PART", FittingKind.MANHOLE),))
    again = {b.name: b for b in survey_drawing(save(tmp_path, rink), settings).blocks}
    assert again["PART"].kind is FittingKind.MANHOLE


def test_extents_stand_in_each_candidate_unit_where_the_file_names_none(tmp_path):
    contents = survey_drawing(save(tmp_path, rink, unit=0))
    assert contents.unit is None
    assert contents.unit_text == "none named ($INSUNITS 0)"
    assert [unit.value for unit, _ in contents.extents_in] == ["in", "ft", "mm", "cm", "m"]
    assert contents.extents_in[1][1].startswith("503 x 60 x 12 ft")
    named = survey_drawing(save(tmp_path, rink, unit=1))
    assert [unit for unit, _ in named.extents_in] == [LengthUnit.INCH]
    low, high = named.extents
    assert high[2] - low[2] == pytest.approx(12)
    assert float(LengthUnit.INCH.factor) == INCH


def test_patterns_and_paper_space_are_told(tmp_path):
    contents = survey_drawing(save(tmp_path, rink), DrawingSettings(layers=("*race*",)))
    reasons = {layer.name: layer.reason for layer in contents.layers}
    assert "a layer pattern" in reasons["RACEWAY"]
    assert "no layer pattern" in reasons["BOXES"]
    assert contents.paper_space == (("Layout1", 1),)
    assert contents.version == "R2018"
    assert not contents.is_binary


def test_a_file_that_is_no_drawing_is_a_route_error(tmp_path):
    path = tmp_path / "note.dxf"
    path.write_text("hello")
    with pytest.raises(RouteError, match="no DXF file"):
        survey_drawing(path)


@pytest.mark.parametrize("name", ["riser.csv", "RISER.TXT"])
def test_a_file_of_points_is_sent_to_the_command_that_reads_it(tmp_path, name):
    path = tmp_path / name
    path.write_text("x_ft,y_ft,z_ft\n0,0,0\n1,0,0\n")
    with pytest.raises(RouteError, match="holds no layers; raceway check reads its points"):
        survey_drawing(path)


def test_what_turning_a_plane_leaves_of_zero_is_no_extent(tmp_path):
    def tilted(document, model):
        model.add_lwpolyline([(0, 0), (16, 0), (16, 9)], dxfattribs={"extrusion": (1e-16, 0, 1.0)})

    contents = survey_drawing(save(tmp_path, tilted))
    assert "x 0 in" in contents.extents_in[0][1] or "x 0 ft" in contents.extents_in[0][1]


def test_blocks_without_lines_are_not_said_to_be_opened_for_them(tmp_path):
    def draw(document, model):
        document.blocks.new("NOTE").add_text("see plan")
        document.blocks.new("OUTER").add_blockref("INNER", (0, 0))
        document.blocks.new("INNER").add_line((0, 0), (9, 0))
        for name, other in (("ONE", "TWO"), ("TWO", "ONE")):
            document.blocks.new(name).add_blockref(other, (0, 0))
        for name in ("NOTE", "OUTER", "ONE"):
            model.add_blockref(name, (0, 0))

    reasons = {block.name: block.reason for block in survey_drawing(save(tmp_path, draw)).blocks}
    assert reasons["NOTE"] == reasons["ONE"] == "holds no lines or arcs"
    assert reasons["OUTER"] == reasons["INNER"] == "opened for its lines and arcs"
