"""The listing of a drawing: layers, paths, blocks, extents, and what would be read."""

from __future__ import annotations

from collections import Counter

import pytest
from dxf_samples import INCH, save

from analyzer.errors import RouteError
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.job.settings import DrawingSettings, FittingKind
from analyzer.reports.drawing_contents import drawing_text
from analyzer.units import LengthUnit, UnitSystem


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


def test_a_layer_of_stray_bits_only_is_not_read(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (900, 0), dxfattribs={"layer": "RUN"})
        for x in range(5):
            model.add_line((50 * x, 900), (50 * x + 1, 900), dxfattribs={"layer": "STRAYS"})
        for x in (0, 900):  # joined to the long line, so no stray
            model.add_line((x, 0), (x, 1), dxfattribs={"layer": "STUBS"})

    layers = {one.name: one for one in survey_drawing(save(tmp_path, draw)).layers}
    bits = layers["STRAYS"]
    assert (bits.is_read, bits.open_paths, bits.stray_bits) == (False, 0, 5)
    assert "stray bits only" in bits.reason
    assert (layers["STUBS"].is_read, layers["STUBS"].open_paths) == (True, 2)
    assert layers["RUN"].is_read


def test_layers_are_listed_with_what_they_hold_and_why_they_are_read(tmp_path):
    contents = survey_drawing(save(tmp_path, rink))
    layers = {layer.name: layer for layer in contents.layers}
    raceway = layers["RACEWAY"]
    assert dict(raceway.entities) == {"LINE": 3, "CIRCLE": 1}
    assert (raceway.open_paths, raceway.closed_loops) == (2, 1)
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
    assert contents.extents_in[0][1].startswith("1.333 x 0.75 x 0 ft")


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


def meeting_badly(document, model):
    """A branch, an overlap, an end near another and a tee on one layer; as much on another."""
    for name, y in (("RACEWAY", 0.0), ("WALLS", 1000.0)):
        on = {"layer": name}
        model.add_line((0, y), (100, y), dxfattribs=on)
        model.add_line((100, y), (200, y), dxfattribs=on)
        model.add_line((100, y), (100, y + 80), dxfattribs=on)
        model.add_line((150, y), (260, y), dxfattribs=on)
        model.add_line((50, y), (50, y - 90), dxfattribs=on)
        model.add_line((260.5, y), (260.5, y - 70), dxfattribs=on)


def test_overlaps_branches_and_ends_that_nearly_meet_are_told_of_what_is_read(tmp_path):
    path = save(tmp_path, meeting_badly)
    contents = survey_drawing(path, DrawingSettings(layers=("RACEWAY",)))
    found = [f for f in contents.findings if f.code != "layers-left-out"]
    codes = Counter(finding.code for finding in found)
    assert codes == {"branch": 1, "overlapping-entity": 1, "gap-not-bridged": 1, "branch-tee": 1}
    assert not any("WALLS" in finding.where for finding in found)
    every = Counter(finding.code for finding in survey_drawing(path).findings)
    assert every == dict.fromkeys(codes, 2)


def test_nothing_is_said_of_joining_where_the_unit_is_not_known(tmp_path):
    assert survey_drawing(save(tmp_path, meeting_badly, unit=0)).findings == ()


def test_the_listing_tells_the_first_findings_of_a_kind_and_how_many_more_there_are(tmp_path):
    def draw(document, model):
        for k in range(11):
            model.add_line((0, 50 * k), (100, 50 * k))
            model.add_line((30, 50 * k), (30, 50 * k + 20))

    text = drawing_text(survey_drawing(save(tmp_path, draw)), 100, UnitSystem.US)
    assert text.count("an end touches the middle of a run") == 8
    assert "3 more of this kind (branch-tee): raceway check tells all" in text


@pytest.mark.parametrize("width", [40, 60, 100])
def test_the_listing_folds_to_its_width_and_loses_nothing(tmp_path, width):
    text = drawing_text(survey_drawing(save(tmp_path, rink, unit=0)), width, UnitSystem.US)
    assert max(map(len, text.splitlines())) <= width
    flat = " ".join(text.split())
    for told in (
        "the unit is not known: add --units",
        "if mm: 1.65 x",
        "RACEWAY",
        "frozen: name it",
    ):
        assert told in flat


def test_extents_stand_in_the_units_of_the_job_first(tmp_path):
    contents = survey_drawing(save(tmp_path, rink))
    for system, first in ((UnitSystem.US, " ft ("), (UnitSystem.METRIC, " m (")):
        assert first in drawing_text(contents, 100, system).splitlines()[2]


def findings_of(tmp_path, draw, **settings):
    contents = survey_drawing(save(tmp_path, draw), DrawingSettings(**settings))
    return contents, {finding.code: finding for finding in contents.findings}


def test_what_is_set_invisible_is_told_with_advice_that_works(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (9, 0))
        model.add_line((0, 5), (9, 5), dxfattribs={"invisible": 1})

    _, found = findings_of(tmp_path, draw)
    assert found["layers-left-out"].message == (
        "1 entity set invisible left out; make them visible in the drawing program to read them"
    )


def test_a_layer_that_is_read_in_part_says_so(tmp_path):
    def draw(document, model):
        document.layers.add("OLD").freeze()
        document.blocks.new("PART").add_line((0, 0), (9, 0), dxfattribs={"layer": "RUN"})
        model.add_blockref("PART", (0, 0), dxfattribs={"layer": "OLD"})
        model.add_blockref("PART", (0, 5))

    contents, _ = findings_of(tmp_path, draw)
    (run,) = (layer for layer in contents.layers if layer.name == "RUN")
    assert run.is_read
    assert run.reason.endswith("; 1 not read, inside references on a frozen layer")


def test_the_listing_tells_a_block_too_large_for_a_fitting(tmp_path):
    def draw(document, model):
        document.blocks.new("MOTOR_FEEDER").add_line((0, 0), (900, 0))
        model.add_blockref("MOTOR_FEEDER", (0, 0))
        model.add_line((0, 300), (90, 300))

    _, found = findings_of(tmp_path, draw)
    assert "900 in large" in found["fitting-symbol-large"].message
    assert "taken as equipment by its name" in found["fitting-kind-from-name"].message


BARE = """0
SECTION
2
HEADER
9
$INSUNITS
70
1
0
ENDSEC
0
SECTION
2
ENTITIES
0
LINE
8
RUN
10
0
20
0
30
0
11
90
21
0
31
0
0
ENDSEC
0
EOF
"""


def test_a_file_without_handles_says_that_its_numbers_are_given_on_reading(tmp_path):
    path = tmp_path / "bare.dxf"
    path.write_text(BARE)
    codes = Counter(finding.code for finding in survey_drawing(path).findings)
    assert codes["handles-missing"] == 1
    path.write_text(BARE.replace("LINE\n", "LINE\n5\nA1\n"))
    assert "handles-missing" not in {one.code for one in survey_drawing(path).findings}
    whole = save(tmp_path, rink)
    assert "handles-missing" not in {one.code for one in survey_drawing(whole).findings}


def test_an_array_too_large_to_open_is_told_with_its_file(tmp_path):
    def draw(document, model):
        document.blocks.new("PART").add_line((0, 0), (9, 0))
        many = {"row_count": 3000, "column_count": 3000, "row_spacing": 1, "column_spacing": 1}
        model.add_blockref("PART", (0, 0), dxfattribs=many)

    with pytest.raises(RouteError, match=r"^drawing\.dxf: block reference .* 3000 by 3000"):
        survey_drawing(save(tmp_path, draw))


def test_lines_set_invisible_are_told_of_their_layer(tmp_path):
    def draw(document, model):
        document.layers.add("HIDDEN").freeze()
        model.add_line((0, 0), (900, 0), dxfattribs={"layer": "RUN"})
        for layer in ("RUN", "PART", "HIDDEN", "UNLISTED"):
            model.add_line((0, 90), (300, 90), dxfattribs={"layer": layer, "invisible": 1})
        model.add_text("note", dxfattribs={"layer": "PART"})
        model.add_text("note", dxfattribs={"layer": "NOTES"})

    path = save(tmp_path, draw)
    for settings in (DrawingSettings(), DrawingSettings(layers=("*",))):
        reasons = {one.name: one.reason for one in survey_drawing(path, settings).layers}
        assert reasons["PART"] == "no visible line, arc or curve; 1 set invisible, not counted"
        assert reasons["UNLISTED"] == reasons["PART"]
        assert reasons["RUN"].endswith("; 1 set invisible, not counted")
        assert reasons["HIDDEN"].startswith("frozen: ")
        assert reasons["HIDDEN"].endswith("; 1 set invisible, not counted")
        assert reasons["NOTES"] == "no line, arc or curve"
