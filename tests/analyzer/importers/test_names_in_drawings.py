"""Names in a drawing: upper and lower case alike, and bytes that are no text."""

from __future__ import annotations

import pytest
from dxf_samples import codes, draw_and_read, finding, read, save

from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.drawings.readable_text import is_readable, readable


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
