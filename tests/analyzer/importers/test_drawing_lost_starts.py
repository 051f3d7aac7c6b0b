"""Entities whose start is lost: the first of a section, and in blocks; and whole files beside."""

from __future__ import annotations

import pytest
from dxf_samples import LengthUnit, codes, finding, read, save
from ezdxf.math import Vec2

from analyzer.findings import Severity


def route(_, model):
    layer = {"layer": "RACEWAY"}
    model.add_lwpolyline([(0, 0), (60, 0), (60, 80)], dxfattribs={**layer, "elevation": 96})
    model.add_line((60, 80, 96), (160, 80, 96), dxfattribs=layer)


def route_in_a_block(document, model):
    layer = {"layer": "RACEWAY"}
    for name, east in (("PIECE", 0), ("UNUSED", 900)):
        block = document.blocks.new(name)
        block.add_line((east, 0, 96), (east + 60, 0, 96), dxfattribs=layer)
        block.add_attdef("TAG", (east, 0))
        block.add_line((east + 60, 0, 96), (east + 60, 80, 96), dxfattribs=layer)
        block.add_line((east + 60, 80, 96), (east + 60, 80, 200), dxfattribs=layer)
    model.add_blockref("PIECE", (0, 0))
    model.add_line((60, 80, 200), (200, 80, 200), dxfattribs=layer)


def without_start(path, section, kind, number=0):
    """Delete the two lines that start an entity of a section."""
    lines = path.read_text().split("\n")
    first = lines.index(section)
    starts = [at for at in range(first, len(lines)) if lines[at - 1 : at + 1] == ["  0", kind]]
    del lines[starts[number] - 1 : starts[number] + 1]
    path.write_text("\n".join(lines))
    return path


@pytest.mark.parametrize("version", ["R2000", "R2018"])
def test_lost_start_of_the_first_entity_is_a_caution_where_its_layer_is_read(tmp_path, version):
    path = save(tmp_path, route, version=version)
    assert "entity-start-lost" not in codes(read(path))
    told = finding(read(without_start(path, "ENTITIES", "LWPOLYLINE")), "entity-start-lost")
    assert told.severity is Severity.CAUTION
    assert told.concern.is_every_run
    assert told.where.startswith("layer RACEWAY, entity ")
    assert told.where.endswith(", at the start of section ENTITIES")
    assert "the start of an entity is lost, which then is missing" in told.message


def test_lost_start_on_a_layer_that_is_not_read_is_none(tmp_path):
    def draw(document, model):
        model.add_line((0, 900), (0, 1000), dxfattribs={"layer": "NOTES"})
        route(document, model)

    path = without_start(save(tmp_path, draw), "ENTITIES", "LINE")
    assert "entity-start-lost" not in codes(read(path, layers=("RACEWAY",)))
    assert "entity-start-lost" in codes(read(path))


def test_comments_before_the_first_entity_are_no_lost_start(tmp_path):
    path = save(tmp_path, route)
    text = path.read_text()
    path.write_text(text.replace("\nENTITIES\n", "\nENTITIES\n999\nmade by hand\n"))
    assert path.read_text() != text
    assert not {"entity-start-lost", "group-repeated"} & set(codes(read(path)))


@pytest.mark.parametrize(
    ("kind", "number", "told"),
    [
        # three lines, and an attribute definition behind the first
        ("LINE", 0, "layer RACEWAY, BLOCK "),
        ("ATTDEF", 0, "layer RACEWAY, LINE "),
        ("LINE", 1, "layer 0, ATTDEF "),
        ("LINE", 2, "layer RACEWAY, LINE "),
    ],
)
@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_lost_start_in_a_block_that_draws_the_route_is_a_caution(
    tmp_path, version, kind, number, told
):
    path = save(tmp_path, route_in_a_block, version=version)
    assert "group-repeated" not in codes(read(path, units=LengthUnit.INCH))
    drawn = read(without_start(path, "BLOCKS", kind, number), units=LengthUnit.INCH)
    found = finding(drawn, "group-repeated")
    assert found.where.startswith(f"block PIECE, {told}")
    assert "group 5" in found.where
    assert found.concern.is_every_run


@pytest.mark.parametrize("kind", ["BLOCK", "ENDBLK"])
def test_lost_start_or_end_of_the_block_itself_is_a_caution(tmp_path, kind):
    path = save(tmp_path, route_in_a_block)
    without_start(path, "BLOCKS", kind, 2)  # after model space and paper space
    assert finding(read(path), "group-repeated").where.startswith("block PIECE, ")


def test_lost_start_in_a_block_that_nothing_refers_to_is_none(tmp_path):
    path = save(tmp_path, route_in_a_block)
    assert "group-repeated" not in codes(read(without_start(path, "BLOCKS", "LINE", 4)))


def test_lost_start_in_a_binary_drawing_is_a_caution(tmp_path):
    def lost(kind):
        path = save(tmp_path, route if kind == b"LWPOLYLINE" else route_in_a_block, binary=True)
        data = path.read_bytes()
        start = b"\x00\x00" + kind + b"\x00"
        at = data.index(start, data.index(b"BLOCKS\x00"))
        path.write_bytes(data[:at] + data[at + len(start) :])
        return read(path)

    assert "group-repeated" not in codes(read(save(tmp_path, route_in_a_block, binary=True)))
    assert finding(lost(b"LINE"), "group-repeated").where.startswith("block PIECE, layer RACEWAY")
    assert finding(lost(b"LWPOLYLINE"), "entity-start-lost").where.startswith("layer RACEWAY")


def test_names_in_the_code_page_of_the_file_are_found(tmp_path):
    def draw(document, model):
        layer = {"layer": "Trassé"}
        block = document.blocks.new("Stück")
        for start, end in (((0, 0), (60, 0)), ((60, 0), (60, 80))):
            block.add_line(start, end, dxfattribs=layer)
        model.add_blockref("Stück", (0, 0))

    path = save(tmp_path, draw, version="R2000")
    lines = path.read_bytes().split(b"\n")
    first = lines.index(b"LINE")
    path.write_bytes(b"\n".join([*lines[: first - 1], *lines[first + 1 :]]))
    found = finding(read(path, layers=("Trassé",)), "group-repeated")
    assert found.where.startswith("block Stück, layer Trassé, BLOCK ")


def full_drawing(document, model):
    """Everything the drawing library writes that may stand beside a route."""
    attributes = {"layer": "RACEWAY"}
    document.appids.add("TRADE")
    box = document.blocks.new("JB")
    box.add_polyline2d([(-4, -4), (4, -4), (4, 4), (-4, 4)], close=True)
    box.add_attdef("TAG", (0, 0), "JB", dxfattribs={"flags": 2})
    nested = document.blocks.new("NESTED")
    nested.add_blockref("JB", (0, 0)).add_attrib("MARK", "JB-2", (0, 0))
    nested.add_circle((0, 0), 3)
    reference = model.add_blockref("JB", (50, 0))
    reference.add_attrib("NO", "7", (50, 0))
    reference.set_xdata("TRADE", [(1000, "TAG"), (1000, "JB-7"), (1005, "0"), (1010, (1, 2, 3))])
    model.add_blockref("NESTED", (90, 0))
    line = model.add_line((0, 0), (200, 0), dxfattribs=attributes)
    line.set_xdata("TRADE", [(1002, "{"), (1000, "5"), (1003, "RACEWAY"), (1002, "}")])
    model.add_polyline2d([(0, 300), (50, 300, 0, 0, 0.5), (50, 320)], format="xyseb")
    model.add_polyline3d([(0, 400, 0), (50, 400, 0), (50, 400, 9)])
    model.add_arc((0, 500), 9, 0, 90)
    model.add_point((0, 0))
    model.add_solid([(0, 0), (1, 0), (0, 1)])
    model.add_3dface([(0, 0, 0), (1, 0, 0), (0, 1, 0)])
    model.add_text("NOTE", height=2)
    model.add_linear_dim(base=(0, 30), p1=(0, 0), p2=(200, 0)).render()
    model.add_angular_dim_cra((0, 700), 9, 0, 90, 3).render()
    if document.dxfversion > "AC1009":
        model.add_ellipse((0, 600), (9, 0), 0.5, 0, 2)
        model.add_spline([(0, 800), (50, 820), (90, 800)])
        hatch = model.add_hatch()
        edges = hatch.paths.add_edge_path()
        edges.add_line((0, 0), (9, 0))
        edges.add_arc((9, 5), 5, 270, 90)
        edges.add_line((9, 10), (0, 0))
        hatch.paths.add_polyline_path([(0, 0), (8, 0), (8, 8)], is_closed=True)
        if document.dxfversion > "AC1015":
            hatch.set_gradient()
        model.add_mtext("words\\Pmore {\\fArial;words} " * 40)
        model.add_leader([(0, 0), (9, 9)])
        model.add_mline([(0, 900), (9, 900), (9, 909)])
        image = document.add_image_def("sheet.png", (10, 10))
        model.add_image(image, (0, 0), (9, 9))
        model.add_wipeout([(0, 0), (9, 0), (9, 9)])
        document.layout("Layout1").add_viewport((0, 0), (9, 9), (0, 0), 9)
        document.layouts.new("Sheet 2").add_line((0, 0), (9, 0))
        builder = model.add_multileader_mtext("Standard")
        builder.set_content("C-8", char_height=3)
        builder.build(insert=Vec2(9, 9))
        tagged = model.add_blockref("JB", (120, 0))
        attribute = tagged.add_attrib("NOTE", "first", (0, 0))
        attribute.set_mtext(model.add_mtext("first\\Psecond"))


@pytest.mark.parametrize("binary", [False, True])
@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
def test_whole_drawings_of_every_version_lost_nothing(tmp_path, version, binary):
    path = save(tmp_path, full_drawing, version=version, binary=binary)
    drawn = read(path, units=LengthUnit.INCH, layouts=("Sheet 2",))
    lost = {"entity-start-lost", "group-repeated", "points-lost", "coordinate-lost"}
    assert not lost & set(codes(drawn))
