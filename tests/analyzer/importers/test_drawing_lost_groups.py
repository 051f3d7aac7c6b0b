"""Entities that lost points they count, or a coordinate beside others of their own."""

from __future__ import annotations

import struct

import pytest
from dxf_samples import LengthUnit, codes, finding, length_m, read, save

from analyzer.findings import Severity

INCH = 0.0254
RACEWAY = {"layer": "RACEWAY"}
LOST = {"points-lost", "coordinate-lost"}

IN_A_VERTEX = "POLYLINE {}: no group 30 right behind 20 in 1 of 4 vertices, first in VERTEX 34"
OF_A_NORMAL = "ARC {}: groups 210, 220 and 230 of its normal do not stand together"
AS_ELEVATION = "POLYLINE {}: no group 30 right behind 20, but in its vertices"


def flat(_, model):
    model.add_lwpolyline(
        [(0, 0), (90, 0), (90, 95), (190, 95)], dxfattribs={**RACEWAY, "elevation": 50}
    )
    model.add_line((0, 900), (0, 1000), dxfattribs={"layer": "NOTES"})


def riser(_, model):
    model.add_polyline3d([(9, 0, 20), (90, 0, 20), (90, 95, 20), (90, 95, 120)], dxfattribs=RACEWAY)


def without(path, kind, first, *, count=1, number=0, section="ENTITIES"):
    """Delete groups of a text drawing: the given occurrence of one in a kind, and the next ones."""
    lines = path.read_text().split("\n")
    inside = False
    found = []
    for at in range(lines.index(section) + 1, len(lines) - 1, 2):
        if lines[at].strip() == "0":
            inside = lines[at + 1].strip() == kind
        elif inside and lines[at].strip() == str(first):
            found.append(at)
    at = found[number]
    del lines[at : at + 2 * count]
    path.write_text("\n".join(lines))
    return path


@pytest.mark.parametrize(
    ("number", "count", "inches"),
    [(3, 2, 90 + 95), (1, 2, (90**2 + 95**2) ** 0.5 + 100), (3, 1, 90 + 95)],
)
def test_an_lwpolyline_that_lost_a_vertex_or_its_x_is_a_caution(tmp_path, number, count, inches):
    path = save(tmp_path, flat)
    assert not LOST & set(codes(read(path)))
    drawn = read(without(path, "LWPOLYLINE", 10, count=count, number=number))
    assert min(map(length_m, drawn.paths)) == pytest.approx(100 * INCH)
    assert max(map(length_m, drawn.paths)) == pytest.approx(inches * INCH)
    told = finding(drawn, "points-lost")
    assert told.severity is Severity.CAUTION
    assert told.concern.is_every_run
    assert told.where.startswith("layer RACEWAY, LWPOLYLINE ")
    assert told.where.endswith(": group 90 states 4 vertices, group 10 stands 3 times")
    assert told.message.startswith("1 entity holds another number of points than the file states: ")


def test_an_x_lost_where_the_count_is_lost_too_or_was_never_given_is_a_caution(tmp_path):
    path = without(save(tmp_path, flat), "LWPOLYLINE", 90)
    assert not LOST & set(codes(read(path)))
    told = finding(read(without(path, "LWPOLYLINE", 10, number=2)), "points-lost")
    assert told.where.endswith(": group 10 stands 3 times, group 20 stands 4 times")


def test_a_vertex_lost_on_a_layer_that_is_not_read_is_none(tmp_path):
    path = without(save(tmp_path, flat), "LWPOLYLINE", 10, count=2)
    assert "points-lost" not in codes(read(path, layers=("NOTES",)))


def test_a_vertex_lost_in_a_block_that_draws_the_route_is_a_caution(tmp_path):
    def draw(document, model):
        flat(document, document.blocks.new("PIECE"))
        flat(document, document.blocks.new("UNUSED"))
        model.add_blockref("PIECE", (0, 0))

    for number, told in ((0, True), (4, False)):
        path = save(tmp_path, draw)
        without(path, "LWPOLYLINE", 10, count=2, number=number, section="BLOCKS")
        found = [one.where for one in read(path).findings if one.code == "points-lost"]
        assert [one.startswith("block PIECE, layer RACEWAY, LWPOLYLINE ") for one in found] == [
            True
        ] * told


def test_a_fit_point_lost_of_a_spline_that_is_drawn_by_fit_points_is_a_caution(tmp_path):
    def draw(_, model):
        points = [(1, 0, 5), (50, 0, 5), (100, 50, 50), (100, 150, 90)]
        model.add_spline(points, dxfattribs=RACEWAY)

    path = save(tmp_path, draw)
    assert not LOST & set(codes(read(path)))
    told = finding(read(without(path, "SPLINE", 11, count=3, number=2)), "points-lost")
    assert told.where.endswith(": group 74 states 4 fit points, group 11 stands 3 times")


def line(_, model):
    model.add_line((10, 20, 30), (110, 220, 330), dxfattribs=RACEWAY)


def half_ellipse(_, model):
    upright = {**RACEWAY, "extrusion": (0, 1, 0)}
    model.add_ellipse((10, 20, 30), (25, 0, 60), 0.5, 0, 2, dxfattribs=upright)


def control_spline(_, model):
    points = [(1, 0, 5), (50, 0, 5), (100, 50, 50), (100, 150, 90), (120, 200, 100)]
    model.add_open_spline(points, dxfattribs=RACEWAY)


def fit_spline(_, model):
    model.add_spline([(1, 0, 5), (50, 0, 5), (100, 50, 50)], dxfattribs=RACEWAY)


def level_arc(_, model):
    model.add_arc((10, 20, 30), 9, 0, 90, dxfattribs=RACEWAY)


def tilted_arc(_, model):
    model.add_arc((10, 20, 30), 9, 0, 90, dxfattribs={**RACEWAY, "extrusion": (0, -0.8, 0.6)})


def flat_polyline(_, model):
    model.add_polyline2d(
        [(0, 0), (90, 0), (90, 95)], dxfattribs={**RACEWAY, "elevation": (0, 0, 7)}
    )


@pytest.mark.parametrize(
    ("draw", "kind", "group", "number", "told"),
    [
        (line, "LINE", 31, 0, "LINE {}: no group 31 right behind 21"),
        (line, "LINE", 30, 0, "LINE {}: no group 30 right behind 20"),
        (half_ellipse, "ELLIPSE", 31, 0, "ELLIPSE {}: no group 31 right behind 21"),
        (control_spline, "SPLINE", 30, 3, "SPLINE {}: group 30 right behind 20 at 4 of 5 points"),
        (fit_spline, "SPLINE", 31, 1, "SPLINE {}: group 31 right behind 21 at 2 of 3 points"),
        (riser, "VERTEX", 30, 3, IN_A_VERTEX),
        (flat_polyline, "POLYLINE", 30, 0, AS_ELEVATION),
        (tilted_arc, "ARC", 230, 0, OF_A_NORMAL),
        (tilted_arc, "ARC", 210, 0, OF_A_NORMAL),
    ],
)
def test_a_coordinate_lost_beside_others_of_an_entity_is_a_caution(
    tmp_path, draw, kind, group, number, told
):
    path = save(tmp_path, draw)
    drawn = read(path)
    assert not LOST & set(codes(drawn))
    handle = "".join(drawn.sources[0].entities)
    found = finding(read(without(path, kind, group, number=number)), "coordinate-lost")
    assert found.severity is Severity.CAUTION
    assert found.concern.is_every_run
    assert found.where == f"layer RACEWAY, {told.format(handle)}"
    assert "read as if it were zero" in found.message


@pytest.mark.parametrize("draw", [line, control_spline, fit_spline, riser, flat_polyline])
def test_a_z_left_out_at_every_point_is_a_drawing_in_plan(tmp_path, draw):
    path = save(tmp_path, draw)
    lines = path.read_text().split("\n")
    first = lines.index("ENTITIES") + 1
    kept = lines[:first]
    for code, value in zip(lines[first::2], lines[first + 1 :: 2], strict=False):
        if code.strip() not in ("30", "31"):
            kept += [code, value]
    assert len(kept) < len(lines) - 2
    path.write_text("\n".join(kept) + "\n")
    assert not LOST & set(codes(read(path)))


def test_a_z_lost_in_one_vertex_of_a_flat_polyline_changes_nothing(tmp_path):
    path = without(save(tmp_path, flat_polyline), "VERTEX", 30, number=1)
    assert "coordinate-lost" not in codes(read(path))


def test_a_z_lost_on_a_layer_that_is_not_read_is_none(tmp_path):
    def draw(document, model):
        riser(document, model)
        model.add_line((0, 900), (0, 1000), dxfattribs={"layer": "NOTES"})

    path = without(save(tmp_path, draw), "VERTEX", 30, number=3)
    assert "coordinate-lost" not in codes(read(path, layers=("NOTES",)))
    assert "coordinate-lost" in codes(read(path, layers=("RACEWAY",)))


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_a_z_lost_by_the_last_vertex_of_a_drawing_is_told(tmp_path, version):
    path = without(save(tmp_path, riser, version=version), "VERTEX", 30, number=3)
    assert "coordinate-lost" in codes(read(path, units=LengthUnit.INCH))


def test_what_a_binary_drawing_lost_is_a_caution_too(tmp_path):
    def draw(document, model):
        model.add_lwpolyline([(0, 0), (90, 0), (90, 95.25)], dxfattribs=RACEWAY)
        model.add_line((90, 95.25, 0), (90, 95.25, 77.25), dxfattribs=RACEWAY)

    path = save(tmp_path, draw, binary=True)
    data = path.read_bytes()
    assert not LOST & set(codes(read(path)))
    vertex = struct.pack("<hdhd", 10, 90, 20, 95.25)
    height = struct.pack("<hd", 31, 77.25)
    for lost, code in ((vertex, "points-lost"), (height, "coordinate-lost")):
        path.write_bytes(data.replace(lost, b"", 1))
        assert len(path.read_bytes()) < len(data)
        assert code in codes(read(path))


@pytest.mark.parametrize("draw", [flat, riser, line])
def test_an_entity_in_which_the_file_ends_is_told_as_that_only(tmp_path, draw):
    def after_another(document, model):
        model.add_line((0, 0, 500), (0, 90, 500), dxfattribs=RACEWAY)
        draw(document, model)

    path = save(tmp_path, after_another)
    text = path.read_text()
    last = {flat: " 10\n190.0\n", riser: " 30\n120.0\n", line: " 31\n330.0\n"}[draw]
    assert text.count(last) == 1
    path.write_text(text[: text.index(last)])
    found = codes(read(path))
    assert "cut-short" in found
    assert not LOST & set(found)


def test_a_line_that_lost_its_whole_end_is_told_as_left_out_only(tmp_path):
    def draw(document, model):
        flat(document, model)
        line(document, model)

    path = without(save(tmp_path, draw), "LINE", 11, count=3, number=1)
    found = codes(read(path))
    assert "entity-unreadable" in found
    assert not LOST & set(found)


@pytest.mark.parametrize(
    ("draw", "old", "new"),
    [
        (line, " 21\n220.0\n 31\n330.0\n", " 21\n220.0\n 39\n0.0\n 31\n330.0\n"),
        (line, " 30\n30.0\n 11\n110.0\n 21\n220.0\n", " 11\n110.0\n 21\n220.0\n 30\n30.0\n"),
        (riser, " 30\n120.0\n 70\n32\n", " 70\n32\n 30\n120.0\n"),
        (level_arc, " 30\n30.0\n 40\n9.0\n", " 40\n9.0\n 30\n30.0\n"),
    ],
    ids=["end", "both ends", "vertex", "arc"],
)
def test_a_z_apart_from_its_x_and_y_is_a_caution_because_it_is_read_as_zero(
    tmp_path, draw, old, new
):
    path = save(tmp_path, draw)
    text = path.read_text()
    assert text.count(old) == 1
    path.write_text(text.replace(old, new))
    drawn = read(path)
    assert min(one[2] for one in drawn.paths[0].vertices_m) == pytest.approx(0.0, abs=1e-12)
    assert "right behind" in finding(drawn, "coordinate-lost").where


def test_a_comment_between_coordinates_parts_nothing(tmp_path):
    path = save(tmp_path, line)
    text = path.read_text()
    path.write_text(text.replace(" 31\n330.0\n", "999\nby hand\n 31\n330.0\n"))
    assert path.read_text() != text
    drawn = read(path)
    assert drawn.extents_m[1][2] == pytest.approx(330 * INCH)
    assert "coordinate-lost" not in codes(drawn)


@pytest.mark.parametrize("lost", [False, True])
def test_coordinates_of_a_line_in_the_order_of_old_files_are_all_read(tmp_path, lost):
    path = save(tmp_path, line)
    text = path.read_text()
    new = " 10\n10.0\n 20\n20.0\n 30\n30.0\n 11\n110.0\n 21\n220.0\n 31\n330.0\n"
    assert text.count(new) == 1
    last = "" if lost else " 31\n330.0\n"
    old = " 10\n10.0\n 11\n110.0\n 20\n20.0\n 21\n220.0\n 30\n30.0\n" + last
    path.write_text(text.replace(new, old))
    drawn = read(path)
    assert drawn.extents_m[1][2] == pytest.approx((30 if lost else 330) * INCH)
    assert ("coordinate-lost" in codes(drawn)) == lost
