"""Names in a drawing: upper and lower case alike, bytes that are no text, numbers."""

from __future__ import annotations

from dataclasses import replace

import pytest
from dxf_samples import INCH, codes, draw_and_read, finding, job, read, save

from analyzer.findings import Severity
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.drawings.readable_text import is_readable, readable
from analyzer.importers.reading import open_route
from analyzer.job.settings import FittingEntry, FittingKind, Passage


def draw_two_spellings(document, model):
    document.layers.add("RACEWAY")
    model.add_line((0, 0), (200, 0), dxfattribs={"layer": "raceway"})
    model.add_line((0, 90), (200, 90), dxfattribs={"layer": "RaceWay"})


def test_a_layer_is_listed_once_with_all_it_holds_however_it_is_spelled(tmp_path):
    contents = survey_drawing(save(tmp_path, draw_two_spellings))
    rows = {layer.name: layer for layer in contents.layers}
    assert set(rows) == {"0", "Defpoints", "RACEWAY"}
    assert rows["RACEWAY"].entities == (("LINE", 2),)
    assert (rows["RACEWAY"].open_paths, rows["RACEWAY"].curve_length) == (2, 400.0)


def test_layers_missing_from_the_table_are_alike_too(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (200, 0), dxfattribs={"layer": "Conduit"})
        model.add_line((0, 90), (200, 90), dxfattribs={"layer": "CONDUIT"})

    rows = {layer.name: layer for layer in survey_drawing(save(tmp_path, draw)).layers}
    assert rows["Conduit"].entities == (("LINE", 2),)
    assert "CONDUIT" not in rows


def test_runs_are_named_by_number_not_by_the_spelling_of_their_layer(tmp_path):
    drawn = draw_and_read(tmp_path, draw_two_spellings)
    assert [path.name for path in drawn.paths] == ["", ""]


def draw_accents(document, model):
    for layer, y in (("Trassé", 0), ("OTHER", 90)):
        document.layers.add(layer)
        model.add_line((0, y), (200, y), dxfattribs={"layer": layer})
    block = document.blocks.new("JBé")
    block.add_attdef("TAG", (0, 0))
    model.add_blockref("JBé", (100, 0)).add_attrib("TAG", "Boîte é", (100, 0))
    model.add_text("Départ", height=2, dxfattribs={"layer": "TAGS", "insert": (10, 92)})


def with_stray_bytes(path):
    data = path.read_bytes()
    for letter in "éî":
        data = data.replace(letter.encode(), letter.encode("cp1252"))
    path.write_bytes(data)
    return path


def test_bytes_that_are_no_text_are_read_by_the_western_code_page_and_said(tmp_path):
    path = with_stray_bytes(save(tmp_path, draw_accents))
    drawn = read(path, name_layers=("TAGS",), layers=("Trassé", "OTHER"), fitting_kinds=())
    assert [path.name for path in drawn.paths] == ["Trassé", "Départ"]
    told = [one.message for one in drawn.findings if one.code == "text-misread"]
    assert any(text.startswith("'Trassé' holds bytes that are no text") for text in told)
    assert all(is_readable(one.message + one.where) for one in drawn.findings)
    contents = survey_drawing(path)
    assert "Trassé" in [layer.name for layer in contents.layers]
    assert [block.name for block in contents.blocks] == ["JBé"]
    assert all(is_readable(one.message + one.where) for one in contents.findings)


def test_text_of_the_files_own_encoding_is_not_touched(tmp_path):
    drawn = draw_and_read(tmp_path, draw_accents)
    assert "Trassé" in [path.name for path in drawn.paths]
    assert "text-misread" not in codes(drawn)


def test_a_name_of_a_fitting_is_readable(tmp_path):
    def draw(document, model):
        document.blocks.new("JB").add_attdef("TAG", (0, 0))
        model.add_line((0, 0), (200, 0))
        model.add_blockref("JB", (100, 0)).add_attrib("TAG", "Boîte", (100, 0))

    drawn = read(with_stray_bytes(save(tmp_path, draw)))
    assert [fitting.name for fitting in drawn.fittings] == ["Boîte"]
    assert "'Boîte'" in finding(drawn, "text-misread").message


@pytest.mark.parametrize(
    ("text", "read_as"),
    [("plain é Ω", "plain é Ω"), ("a\udc80b", "a€b"), ("\udc81", "\ufffd"), ("\ud801x", "\ufffdx")],
)
def test_what_stands_for_a_byte_is_read_and_anything_else_is_marked(text, read_as):
    assert readable(text) == read_as


def test_the_note_on_texts_left_out_names_the_key_that_takes_run_names_from_them(tmp_path):
    def draw(document, model):
        model.add_line((0, 0), (200, 0))
        for layer, y in (("E-TEXT", 2), ("NOTES", 90)):
            text = {"layer": layer, "insert": (100, y)}
            model.add_text("FDR-7", height=2, dxfattribs=text)

    note = finding(draw_and_read(tmp_path, draw), "entities-not-read").message
    assert "2 TEXT; texts beside runs give them their names with [drawing] name_layers" in note
    assert 'name_layers = ["E-TEXT", "NOTES"]' in note
    contents = survey_drawing(save(tmp_path, draw))
    assert any("name_layers" in one.message for one in contents.findings)
    named = draw_and_read(tmp_path, draw, name_layers=("E-TEXT",))
    assert [path.name for path in named.paths] == ["FDR-7"]
    assert "name_layers" not in finding(named, "entities-not-read").message


# --- numbers of runs of one name ---------------------------------------------------------------

ROWS = [((0, 0), (200, 0)), ((0, 90), (210, 90)), ((30, 40), (220, 40)), ((0, 0, 9), (200, 0, 9))]
"""Four runs, the one at y = 40 with its ends farthest right."""
REDRAWN = [(order, turned, off) for order in ((0, 1, 2, 3), (3, 1, 0, 2), (2, 3, 1, 0))
           for turned, off in ((False, 0.0), (True, 0.0), (False, 1e-3))]  # fmt: skip


def draw_rows(order, turned, off, layers=("A",) * 4, text=""):
    def draw(_, model):
        for place, index in enumerate(order):
            ends = [(*end, 0.0)[:3] for end in ROWS[index]]
            ends = [(x + off * (-1) ** place, y - off * (-1) ** place, z) for x, y, z in ends]
            model.add_line(*(ends[::-1] if turned else ends), dxfattribs={"layer": layers[index]})
            (x, y, z) = ends[0]
            if text:
                at = {"layer": "TAGS", "insert": (x + 50, y + 1, z)}
                model.add_text(text, height=1, dxfattribs=at)

    return draw


def named_places(route):
    """Name of each run by the x and z of its far end, in inches."""
    found = {}
    for run in route.runs:
        ends = sorted([run.centerline.start_m, run.centerline.end_m])
        found[round(ends[1][0] / INCH), round(ends[1][2] / INCH)] = run.name
    return found


@pytest.mark.parametrize(("order", "turned", "off"), REDRAWN)
def test_number_of_a_run_hangs_on_its_place_not_on_the_order_of_the_file(
    tmp_path, order, turned, off
):
    names = {(200, 0): "1", (200, 9): "2", (210, 0): "3", (220, 0): "4"}
    route = open_route(save(tmp_path, draw_rows(order, turned, off)), job())
    assert named_places(route) == {place: f"drawing {n}" for place, n in names.items()}
    drawing = draw_rows(order, turned, off, text="FDR")
    route = open_route(save(tmp_path, drawing), job(name_layers=("TAGS",), snap_m=2 * INCH))
    assert named_places(route) == {place: f"FDR {n}" for place, n in names.items()}
    drawing = draw_rows(order, turned, off, layers=("B", "A", "A", "A"))
    names |= {(200, 0): "B", (200, 9): "A 1", (210, 0): "A 2", (220, 0): "A 3"}
    assert named_places(open_route(save(tmp_path, drawing), job())) == names


def test_a_name_that_texts_give_to_several_runs_is_told_with_their_numbers(tmp_path):
    path = save(tmp_path, draw_rows((0, 1, 2, 3), False, 0.0, text="FDR"))
    route = open_route(path, job(name_layers=("TAGS",), snap_m=2 * INCH))
    (note,) = [one for one in route.findings if one.code == "run-name-repeated"]
    assert note.severity is Severity.NOTE
    assert note.message.startswith(
        '4 runs are called "FDR": by where they stand they are now "FDR 1", "FDR 2", "FDR 3", '
        '"FDR 4", the one whose end has the smaller x, y, z first'
    )
    plain = open_route(path, job())
    assert not [one for one in plain.findings if one.code == "run-name-repeated"]


def test_a_number_that_the_job_goes_by_is_a_caution_on_that_run(tmp_path):
    path = save(tmp_path, draw_rows((0, 1, 2, 3), False, 0.0, layers=("B", "A", "A", "A")))
    entry = FittingEntry("Box", FittingKind.PULL_BOX, at_m=1.0, run="a 2")
    asked = replace(job(read_as=(("A 1", "corners"), ("B", "corners"))), fittings=(entry,))
    asked = replace(asked, boxes=replace(asked.boxes, run="A 3"))
    route = open_route(path, asked)
    told = {run.name: [f for f in run.findings if f.code == "run-number"] for run in route.runs}
    assert {name: len(found) for name, found in told.items()} == {
        "B": 0,
        "A 1": 1,
        "A 2": 1,
        "A 3": 0,
    }
    (one,) = told["A 2"]
    assert one.severity is Severity.CAUTION
    assert one.message.startswith('[[fittings]] "Box" is for the run "A 2", which is numbered by')
    assert "read_as under [drawing] is for" in told["A 1"][0].message
    (of_file,) = [f for f in route.findings if f.code == "run-number"]
    assert "[boxes] is for" in of_file.message


# --- numbers of fittings without a name of their own -------------------------------------------

BOXES = [(160, 0), (40, 90), (100, 0), (40, 0)]
"""Four boxes on two of the rows, none in the order of their coordinates."""
JUNCTIONS = (("XYZ7", FittingKind.JUNCTION_BOX),)


def draw_boxes(order, turned=False, off=0.0, label=""):
    def draw(document, model):
        block = document.blocks.new("XYZ7")
        block.add_lwpolyline([(-4, -4), (4, -4), (4, 4), (-4, 4)], close=True)
        if label:
            block.add_attdef("TAG", (0, 0), label, dxfattribs={"flags": 2})
        for ends in ROWS[:2]:
            model.add_line(*(ends[::-1] if turned else ends))
        for place, index in enumerate(order):
            x, y = BOXES[index]
            model.add_blockref("XYZ7", (x + off * (-1) ** place, y - off * (-1) ** place))

    return draw


@pytest.mark.parametrize(("order", "turned", "off"), REDRAWN)
@pytest.mark.parametrize(("label", "stem"), [("", "Junction box"), ("East", "East")])
def test_number_of_a_fitting_hangs_on_its_place_not_on_the_order_of_the_file(
    tmp_path, order, turned, off, label, stem
):
    drawn = read(save(tmp_path, draw_boxes(order, turned, off, label)), fitting_kinds=JUNCTIONS)
    places = [tuple(round(value / INCH) for value in one.position_m[:2]) for one in drawn.fittings]
    assert places == [BOXES[index] for index in order]
    names = dict(zip(places, (one.name for one in drawn.fittings), strict=True))
    in_order = [(40, 0), (40, 90), (100, 0), (160, 0)]
    assert [names[place] for place in in_order] == [f"{stem} {n}" for n in (1, 2, 3, 4)]


def set_boxes(tmp_path, *entries, order=(0, 1, 2, 3), label="", **settings):
    path = save(tmp_path, draw_boxes(order, label=label))
    asked = replace(job(fitting_kinds=JUNCTIONS, **settings), fittings=entries)
    route = open_route(path, asked)
    return [[f for f in run.findings if f.code == "fitting-number"] for run in route.runs]


def test_a_number_of_a_fitting_that_the_job_goes_by_is_a_caution(tmp_path):
    entry = FittingEntry("junction box 3", passage=Passage.THROUGH)
    (one,), other = set_boxes(tmp_path, entry)
    assert not other
    assert one.severity is Severity.CAUTION
    assert one.fittings == ("Junction box 3",)
    assert one.message.startswith(
        '[[fittings]] "junction box 3" is for a fitting that is numbered among others without a '
        "name of their own, Junction box 3: once one is added, moved or left out, another may"
    )
    assert "add run" not in one.message
    assert len(set_boxes(tmp_path, replace(entry, run="drawing 1"))[0]) == 1
    assert len(set_boxes(tmp_path, replace(entry, name="East 1"), label="East")[0]) == 1


def test_the_run_settles_which_fitting_is_meant_where_it_holds_one_of_them(tmp_path):
    entry = FittingEntry("Junction box 2", passage=Passage.THROUGH)
    _, (one,) = set_boxes(tmp_path, entry)
    assert 'or add run = "drawing 2" to the entry settles it' in one.message
    assert set_boxes(tmp_path, replace(entry, run="drawing 2")) == [[], []]
    alone = FittingEntry("Junction box 1", passage=Passage.THROUGH)
    assert set_boxes(tmp_path, alone, order=(0,)) == [[], []]


def test_start_by_the_number_of_a_fitting_is_a_caution(tmp_path):
    def draw(document, model):
        document.blocks.new("PANEL").add_circle((0, 0), 4)
        model.add_line((0, 0), (200, 0))
        for x in (200, 0):
            model.add_blockref("PANEL", (x, 0))

    (run,) = open_route(save(tmp_path, draw), job(start="panel 2")).runs
    assert run.centerline.start_m[0] == pytest.approx(200 * INCH)
    (told,) = [one for one in run.findings if one.code == "fitting-number"]
    assert told.message.startswith("start under [drawing] is a fitting that is numbered among")
    assert "column label), or a point settles it" in told.message
