"""Damaged, hostile and wrong files: a finding or one clear message, never a traceback."""

from __future__ import annotations

import contextlib
import logging
import re
from dataclasses import replace
from random import Random

import pytest
from dxf_samples import LengthUnit, codes, finding, job, length_m, read, save

from analyzer.errors import RacewayError, RouteError
from analyzer.findings import Severity
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.reading import open_route


def a_run(document, model):
    block = document.blocks.new("PART")
    block.add_arc((0, 0), 4, 0, 90)
    points = [(0, 0, 0), (10, 0, 0.4), (14, 4, 0), (14, 9, 0)]
    if document.dxfversion == "AC1009":
        model.add_polyline2d(points, format="xyb")
    else:
        model.add_lwpolyline(points, format="xyb")
        model.add_open_spline([(0, 90, 0), (10, 90, 0), (12, 98, 3), (20, 98, 9)])
    model.add_line((0, 50, 3), (60, 50, 3), dxfattribs={"layer": "RUN"})
    model.add_blockref("PART", (100, 0), dxfattribs={"rotation": 30})


def test_missing_empty_and_foreign_files_say_what_is_wrong(tmp_path):
    with pytest.raises(RouteError, match="no such file"):
        read(tmp_path / "none.dxf")
    with pytest.raises(RouteError, match="is a folder"):
        read(tmp_path)
    for text, words in (("", "is empty"), ("x,y,z\n1,2,3\n", "no DXF file")):
        path = tmp_path / "odd.dxf"
        path.write_text(text)
        with pytest.raises(RouteError, match=words):
            read(path)
    path.write_bytes(b"AC1032\x00\x00\x00\x00\x01\x02\x03")
    with pytest.raises(RouteError, match="DWG file"):
        read(path)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(200))
    with pytest.raises(RouteError, match="no DXF file"):
        read(path)


def test_text_where_a_number_should_be_is_recovered_and_reported(tmp_path):
    path = save(tmp_path, a_run)
    text = path.read_text()
    broken = text.replace("AcDbPolyline\n 90\n4\n", "AcDbPolyline\n 90\n4x\n", 1)
    assert broken != text
    path.write_text(broken)
    drawn = read(path)
    assert "drawing-recovered" in codes(drawn)
    assert "drawing-repair" in codes(drawn)


def test_cut_off_file_is_refused_or_cautioned(tmp_path):
    path = save(tmp_path, a_run)
    text = path.read_text()
    at = text.index("SPLINE")
    path.write_text(text[: at - 4])
    with pytest.raises(RouteError, match="damaged beyond recovery") as caught:
        read(path)
    # the library's own slips are no words for a reader
    assert "out of range" not in str(caught.value)
    assert str(caught.value).count("missing") <= 1
    path.write_text(text.replace("  0\nEOF\n", ""))
    assert "no-end-mark" in codes(read(path))


def test_lwpolyline_in_a_headerless_file_keeps_layer_and_closed_flag(tmp_path):
    head = "  0\nSECTION\n  2\nENTITIES\n"
    line = (
        "  0\nLWPOLYLINE\n  5\n{h}\n100\nAcDbEntity\n  8\nRACEWAY\n100\nAcDbPolyline\n 90\n3\n"
        " 70\n{closed}\n 10\n0.0\n 20\n{y}\n 10\n40.0\n 20\n{y}\n 10\n40.0\n 20\n9.0\n"
    )
    path = tmp_path / "headerless.dxf"
    body = line.format(h="A1", closed=0, y=0.0) + line.format(h="A2", closed=1, y=1.0)
    path.write_text(head + body + "  0\nENDSEC\n  0\nEOF\n")
    drawn = read(path, units=LengthUnit.INCH, layers=("RACEWAY",))
    assert len(drawn.paths) == 1
    assert drawn.paths[0].where == "layer RACEWAY, LWPOLYLINE A1"
    # it has a corner at the end of the other
    assert finding(drawn, "closed-curve-at-end").where == "layer RACEWAY, LWPOLYLINE A2"
    assert "read as R2000" in finding(drawn, "lwpolyline-in-r12").message


def test_lwpolyline_in_a_file_marked_r12_keeps_its_layer(tmp_path):
    def draw(_, model):
        model.add_lwpolyline([(0, 0), (9, 0)], dxfattribs={"layer": "RACEWAY"})

    path = save(tmp_path, draw, version="R2000")
    path.write_text(path.read_text().replace("AC1015", "AC1009", 1))
    drawn = read(path, layers=("RACEWAY",))
    assert length_m(drawn.paths[0]) == pytest.approx(9 * 0.0254)
    assert "lwpolyline-in-r12" in codes(drawn)


def test_the_library_s_log_stays_off_the_terminal(tmp_path, capfd, caplog):
    path = save(tmp_path, a_run)
    path.write_text(path.read_text().replace("AcDbPolyline", "AcDbPolyLine", 1))
    with caplog.at_level(logging.DEBUG), contextlib.suppress(RouteError):
        read(path)
    out, err = capfd.readouterr()
    assert out == ""
    assert err == ""


@pytest.mark.parametrize("seed", range(60))
def test_random_damage_gives_findings_or_one_message(tmp_path, seed):
    random = Random(seed)
    path = save(tmp_path, a_run, version=random.choice(["R12", "R2000", "R2018"]))
    lines = path.read_text(errors="surrogateescape").split("\n")
    start = lines.index("ENTITIES") if random.random() < 0.7 else 0
    for _ in range(random.choice([1, 1, 2, 5, 20])):
        at = random.randrange(start, len(lines))
        what = random.randrange(5)
        if what == 0:
            del lines[at]
        elif what == 1:
            lines[at] = random.choice(["", "-1", "1e999", "nan", "x", "0", "AcDbEntity", "70"])
        elif what == 2:
            lines.insert(at, lines[random.randrange(len(lines))])
        elif what == 3:
            lines[at] = lines[at][::-1]
        else:
            lines = lines[: max(at, start + 3)] if random.random() < 0.2 else lines
            start = min(start, len(lines) - 1)
    path.write_text("\n".join(lines), errors="surrogateescape")
    try:
        drawn = read(path, units=LengthUnit.INCH)
    except RacewayError as error:
        assert isinstance(error, RouteError)
        assert "\n" not in str(error) or "units =" in str(error)
    else:
        assert drawn.paths


@pytest.mark.parametrize("seed", range(20))
def test_random_damage_to_a_binary_file_gives_findings_or_one_message(tmp_path, seed):
    random = Random(seed)
    path = save(tmp_path, a_run, binary=True)
    data = bytearray(path.read_bytes())
    for _ in range(random.choice([1, 3, 30])):
        data[random.randrange(30, len(data))] = random.randrange(256)
    path.write_bytes(data[: len(data) if seed % 4 else random.randrange(30, len(data))])
    try:
        assert read(path, units=LengthUnit.INCH).paths
    except RouteError as error:
        assert str(error)


def test_entity_of_an_unknown_type_is_counted_and_passed_over(tmp_path):
    path = save(tmp_path, a_run)
    head, tail = path.read_text().split("ENTITIES\n", 1)
    strange = "  0\nSTRANGE_WALL\n  5\nFEED\n330\n17\n100\nAcDbEntity\n  8\nWALLS\n"
    path.write_text(f"{head}ENTITIES\n{strange}{tail}")
    drawn = read(path)
    assert "1 STRANGE_WALL" in finding(drawn, "entities-not-read").message


P = [(0, 0), (120, 0), (150, 0), (150, 80)]


def a_path(_, model):
    model.add_lwpolyline(P, dxfattribs={"layer": "RACEWAY"})


@pytest.mark.parametrize("bad", ["15O.0", "0x10", "-1.#IND", "4G"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_coordinate_that_is_no_number_is_never_read_as_part_of_it(tmp_path, bad, end):
    path = save(tmp_path, a_path)
    text = path.read_text().replace(" 10\n150.0", f" 10\n{bad}", 1)
    path.write_bytes(text.replace("\n", end).encode())
    with pytest.raises(RouteError, match="LWPOLYLINE 2F: a coordinate is not a") as caught:
        open_route(path, job())
    text = str(caught.value)
    assert "The drawing is damaged" in text
    assert f"{bad!r} near line" in text
    assert "is no number." in text
    # the coordinate beside it was read as it stands
    assert "'0.0'" not in text
    assert text.endswith("This may be the cause: mend the file, or get it anew")


def test_a_coordinate_with_bytes_that_are_no_text_is_refused_too(tmp_path):
    path = save(tmp_path, a_path)
    path.write_bytes(path.read_bytes().replace(b" 10\n150.0", b" 10\n15\xff0.0", 1))
    with pytest.raises(RouteError, match="LWPOLYLINE 2F: a coordinate is not a") as caught:
        open_route(path, job())
    assert "is no number" in str(caught.value)


def with_a_bad_number_on_notes(folder):
    """A drawing of a run, and a line of layer NOTES whose end is no number."""

    def draw(document, model):
        a_run(document, model)
        model.add_line((0, 0), (7.75, 7), dxfattribs={"layer": "NOTES"})

    path = save(folder, draw)
    path.write_text(path.read_text().replace("\n7.75\n", "\n7.7S5\n", 1))
    return path


def test_a_number_that_is_none_on_a_layer_left_out_stops_nothing(tmp_path):
    path = with_a_bad_number_on_notes(tmp_path)
    drawn = read(path, layers=("RUN",))
    assert len(drawn.paths) == 1
    messages = [one.message for one in drawn.findings if one.code == "drawing-repair"]
    assert any("'7.7S5' near line" in m and m.endswith("is no number") for m in messages)


def test_the_listing_of_layers_goes_on_beside_a_coordinate_that_is_no_number(tmp_path):
    path = with_a_bad_number_on_notes(tmp_path)
    contents = survey_drawing(path)
    (fault,) = [one for one in contents.findings if one.code == "entity-unreadable"]
    assert fault.severity is Severity.ERROR
    assert "a coordinate is not a finite number" in fault.message
    assert fault.where.startswith("layer NOTES, handle ")
    (raceway,) = [one for one in contents.layers if one.name == "RUN"]
    assert raceway.is_read


def test_a_damaged_drawing_without_unit_or_run_tells_its_repairs_too(tmp_path):
    path = save(tmp_path, a_path, unit=None)
    path.write_text(path.read_text().replace(" 10\n150.0", " 10\n15O.0", 1))
    with pytest.raises(RouteError, match=r"no length unit[\s\S]*\nThe drawing is damaged"):
        read(path)
    with pytest.raises(RouteError, match=r"no open path.*The drawing is damaged"):
        read(path, layers=("NONE",))


def test_a_whole_number_misread_is_told_as_what_it_was_read_as(tmp_path):
    path = save(tmp_path, a_run)
    path.write_text(path.read_text().replace("AcDbPolyline\n 90\n4\n", "AcDbPolyline\n 90\n4x\n"))
    messages = [one.message for one in read(path).findings if one.code == "drawing-repair"]
    assert any("'4x' near line" in m and m.endswith("was read as 4") for m in messages)
    assert not any("not repaired" in message for message in messages)


def test_a_version_older_than_r12_is_named(tmp_path):
    path = save(tmp_path, a_run, version="R12")
    path.write_text(path.read_text().replace("AC1009", "AC1003", 1))
    assert (
        "R2.6 (AC1003), older than R12"
        in finding(read(path, units=LengthUnit.INCH), "version-older").message
    )
    assert survey_drawing(path).version == "R2.6 (AC1003)"


@pytest.mark.parametrize(("code", "name"), [("AC1012", "R13"), ("AC1014", "R14")])
def test_the_listing_names_the_version_of_the_file(tmp_path, code, name):
    path = save(tmp_path, a_run, version="R2000")
    path.write_text(path.read_text().replace("AC1015", code, 1))
    assert survey_drawing(path).version == name
    assert not any(one.code == "version-older" for one in read(path).findings)


def test_empty_handles_tell_what_was_done_instead(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (9, 0))

    path = save(tmp_path, draw, version="R12")
    head, tail = path.read_text().split("\nENTITIES\n")
    path.write_text(head + "\nENTITIES\n" + re.sub(r"  5\n\w+\n", "  5\n\n", tail, count=1))
    message = finding(read(path, units=LengthUnit.INCH), "drawing-recovered").message
    assert "an empty handle: such entities were given new handles" in message


def test_a_binary_file_cut_short_or_damaged_says_so(tmp_path):
    path = save(tmp_path, a_run, binary=True)
    data = path.read_bytes()
    for size in (40, len(data) // 2, len(data) - 3):
        path.write_bytes(data[:size])
        with pytest.raises(RouteError, match="binary DXF file is cut short") as caught:
            read(path)
        assert "export it again" in str(caught.value)
    path.write_bytes(data[:22] + b"\xff" * 40 + data[62:])
    with pytest.raises(RouteError, match="binary DXF file is damaged"):
        read(path)


def test_a_byte_order_mark_is_no_damage(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (9, 0), dxfattribs={"layer": "Trüb"})

    path = save(tmp_path, draw)
    plain = read(path)
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert read(path) == plain


def test_a_handle_that_stands_for_two_entities_is_told(tmp_path):
    handles = []

    def draw(document, model):
        for y in (0, 50):
            handles.append(model.add_line((0, y), (10, y)).dxf.handle)

    path = save(tmp_path, draw)
    assert "handle-shared" not in codes(read(path))
    path.write_text(path.read_text().replace(f"  5\n{handles[1]}\n", f"  5\n{handles[0]}\n"))
    drawn = read(path)
    assert len(drawn.paths) == 2
    assert finding(drawn, "handle-shared").where == f"handle {handles[0]}"


def test_an_array_of_a_block_shares_no_handle(tmp_path):
    def draw(document, model):
        document.blocks.new("PIECE").add_line((0, 0), (9, 0))
        model.add_blockref("PIECE", (0, 0)).grid((3, 1), (5, 0))

    path = save(tmp_path, draw)
    assert "handle-shared" not in codes(read(path))


def test_bytes_after_the_end_mark_change_nothing(tmp_path):
    path = save(tmp_path, a_run)
    before = read(path)
    path.write_bytes(path.read_bytes() + b"left over\n\x00\x01 more\n")
    after = read(path)
    assert [length_m(one) for one in after.paths] == [length_m(one) for one in before.paths]


def test_tables_without_their_end_marks_change_nothing(tmp_path):
    path = save(tmp_path, a_run)
    before = read(path)
    text = path.read_text()
    assert text.count("  0\nENDTAB\n") > 3
    path.write_text(text.replace("  0\nENDTAB\n", ""))
    assert [length_m(one) for one in read(path).paths] == [length_m(one) for one in before.paths]


@pytest.mark.parametrize("flags", [4, 8, 12])
def test_a_reference_to_another_drawing_is_told(tmp_path, flags):
    def draw(document, model):
        model.add_line((0, 0), (10, 0))
        document.add_xref_def("other.dxf", "OTHER")
        document.blocks.get("OTHER").block.dxf.flags = flags
        model.add_blockref("OTHER", (0, 0))

    assert "bind it" in finding(read(save(tmp_path, draw)), "external-reference").message


def test_digits_joined_by_an_underscore_are_no_coordinate(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (1300, 40), dxfattribs={"layer": "1_300"})

    path = save(tmp_path, draw)
    assert len(read(path).paths) == 1
    text = path.read_text()
    path.write_text(text.replace(" 11\n1300.0\n", " 11\n1_300.0\n"))
    with pytest.raises(RouteError, match=r"layer 1_300, LINE .* not a finite number") as caught:
        read(path)
    assert "'1_300.0' near line" in str(caught.value)


def with_a_box(_, model):
    block = model.doc.blocks.new("PULL_BOX")
    block.add_line((-3, -3), (3, 3))
    a_path(_, model)
    model.add_blockref("PULL_BOX", (60, 0, 777), dxfattribs={"layer": "BOXES", "xscale": 1.25})
    model.add_point((30, 0, 555), dxfattribs={"layer": "PULL_BOX"})
    model.add_text("RUN 7", height=2).set_placement((20, 1, 333))


@pytest.mark.parametrize("bad", ["nan", "1e400", "1e300"])
@pytest.mark.parametrize(
    ("number", "what", "where"),
    [
        ("777.0", "reference to block 'PULL_BOX' cannot be read", "layer BOXES"),
        ("1.25", "reference to block 'PULL_BOX' cannot be read", "layer BOXES"),
        ("555.0", "POINT cannot be read", "layer PULL_BOX"),
        ("333.0", "TEXT cannot be read", "layer 0"),
    ],
)
def test_what_stands_at_no_place_is_left_out_with_a_caution(tmp_path, number, what, where, bad):
    def draw(document, model):
        with_a_box(document, model)
        document.blocks.get("PULL_BOX").block.dxf.base_point = (1, 0, 0)

    path = save(tmp_path, draw)
    text = path.read_text()
    assert f"\n{number}\n" in text
    path.write_text(text.replace(f"\n{number}\n", f"\n{bad}\n"))
    drawn = read(path, name_layers=("*",))
    told = finding(drawn, "entity-unreadable")
    assert told.severity is Severity.CAUTION
    assert what in told.message
    assert "is no place" in told.message
    assert told.where.startswith(where)
    assert "handle" in told.where
    assert len(drawn.fittings) == (1 if "block" in what or "POINT" in what else 2)
    settings = replace(job(name_layers=("*",)), bend_radius_m=0.3)
    assert len(open_route(path, settings).runs) == 1


def test_a_line_of_a_symbol_at_no_place_leaves_the_box_as_large_as_its_rest(tmp_path):
    def draw(document, model):
        with_a_box(document, model)
        document.blocks.get("PULL_BOX").add_line((0, 0), (0, 444))

    path = save(tmp_path, draw)
    path.write_text(path.read_text().replace("\n444.0\n", "\n1e400\n"))
    drawn = read(path)
    low, high = drawn.fittings[0].extents_m
    assert high[0] - low[0] == pytest.approx(6 * 1.25 * 0.0254)
    assert "fitting-symbol-large" not in codes(drawn)


def three_lines(_, model):
    layer = {"layer": "RACEWAY"}
    for start, end in (((0, 0), (200, 0)), ((200, 0), (200, 210)), ((200, 210), (500, 210))):
        model.add_line(start, end, dxfattribs=layer)
    model.add_line((0, 900), (0, 1000), dxfattribs={"layer": "NOTES"})


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (" 11\n500.0\n", " 11\n500.0\n 11\n350.0\n", "layer RACEWAY, LINE 31: group 11"),
        (" 20\n210.0\n", " 20\n210.0\n 20\n210.0\n", "layer RACEWAY, LINE 31: group 20"),
    ],
)
def test_group_that_stands_twice_is_a_caution(tmp_path, old, new, told):
    path = save(tmp_path, three_lines)
    text = path.read_text()
    assert text.count(old) == 1
    assert "group-repeated" not in codes(read(path, layers=("RACEWAY",)))
    path.write_text(text.replace(old, new))
    found = finding(read(path, layers=("RACEWAY",)), "group-repeated")
    assert found.severity is Severity.CAUTION
    assert found.concern.is_every_run
    assert found.message.startswith("1 entity holds a group twice that stands once: ")
    assert told in found.where


def test_lost_start_of_an_entity_is_a_caution_where_its_layer_is_read(tmp_path):
    path = save(tmp_path, three_lines)
    text = path.read_text()
    lost = text.replace("  0\nLINE\n  5\n31\n", "  5\n31\n")
    assert lost != text
    path.write_text(lost)
    found = finding(read(path, layers=("RACEWAY",)), "group-repeated")
    assert "LINE 30 and 31: group 5, 8, 10, 20, 30, 11, 21, 31" in found.where
    assert "group-repeated" not in codes(read(path, layers=("NOTES",)))
