"""Names of runs from texts, wherever the file format puts the place of a text."""

from __future__ import annotations

import pytest
from dxf_samples import codes, draw_and_read, finding, save
from ezdxf.enums import TextEntityAlignment

from analyzer.importers.drawings.layers import survey_drawing
from analyzer.job.settings import DrawingSettings


def names_of_two(tmp_path, draw):
    """Names of the run along y = 0 and of the one along y = 100, texts on the layer TAGS."""

    def both(document, model):
        model.add_line((0, 0), (300, 0))
        model.add_line((0, 100), (300, 100))
        draw(document, model)

    drawn = draw_and_read(tmp_path, both, name_layers=("TAGS",))
    return [path.name for path in drawn.paths], drawn


def test_a_mirrored_text_names_the_run_it_is_seen_at(tmp_path):
    def draw(_, model):
        mirrored = {"layer": "TAGS", "insert": (-150, 98), "extrusion": (0, 0, -1)}
        model.add_text("HIGH", height=3, dxfattribs=mirrored)

    assert names_of_two(tmp_path, draw)[0] == ["", "HIGH"]


def test_the_extrusion_of_an_mtext_does_not_move_it(tmp_path):
    def draw(_, model):
        mirrored = {"layer": "TAGS", "insert": (150, 98), "extrusion": (0, 0, -1)}
        model.add_mtext("HIGH", dxfattribs={**mirrored, "char_height": 3})

    assert names_of_two(tmp_path, draw)[0] == ["", "HIGH"]


@pytest.mark.parametrize(
    "align",
    [
        TextEntityAlignment.MIDDLE_CENTER,
        TextEntityAlignment.RIGHT,
        TextEntityAlignment.TOP_LEFT,
        TextEntityAlignment.MIDDLE,
    ],
)
def test_a_text_placed_by_its_alignment_point_stands_there(tmp_path, align):
    def draw(_, model):
        text = model.add_text("HIGH", height=3, dxfattribs={"layer": "TAGS"})
        text.set_placement((150, 98), align=align)
        text.dxf.insert = (0, 0)

    assert names_of_two(tmp_path, draw)[0] == ["", "HIGH"]


def test_a_text_fitted_between_two_points_stands_in_their_middle(tmp_path):
    def draw(_, model):
        text = model.add_text("HIGH", height=3, dxfattribs={"layer": "TAGS"})
        text.set_placement((150, 40), (150, 160), align=TextEntityAlignment.FIT)

    assert names_of_two(tmp_path, draw)[0] == ["", "HIGH"]


def test_a_left_text_stands_at_its_insertion_point_whatever_else_it_carries(tmp_path):
    def draw(_, model):
        at = {"layer": "TAGS", "insert": (150, 98), "align_point": (0, 0)}
        model.add_text("HIGH", height=3, dxfattribs=at)

    assert names_of_two(tmp_path, draw)[0] == ["", "HIGH"]


def test_the_height_of_a_text_grows_with_its_block(tmp_path):
    def draw(document, model):
        block = document.blocks.new("LABEL")
        block.add_text("HIGH", height=3, dxfattribs={"layer": "TAGS"})
        model.add_blockref("LABEL", (150, 130), dxfattribs={"xscale": 4, "yscale": 4, "zscale": 4})

    names, drawn = names_of_two(tmp_path, draw)
    assert names == ["", "HIGH"]
    assert "30 in beside it" in finding(drawn, "run-named-by-text").message


def test_attributes_on_the_layer_of_names_name_runs(tmp_path):
    def draw(document, model):
        document.blocks.new("LABEL").add_attdef("NAME", (0, 0))
        for text, x, flags in (("HIGH", -150, 0), ("UNSEEN", -20, 1)):
            label = model.add_blockref("LABEL", (x, 0))
            mirrored = {"layer": "TAGS", "extrusion": (0, 0, -1), "flags": flags}
            label.add_attrib("NAME", text, (x, 98), dxfattribs=mirrored)

    names, drawn = names_of_two(tmp_path, draw)
    assert names == ["", "HIGH"]
    assert "run-name-unused" not in codes(drawn)


def test_of_two_texts_at_one_run_the_one_passed_over_is_told(tmp_path):
    def draw(_, model):
        for text, y in (("FAR", 6), ("NEAR", 2), ("FARTHEST", 9)):
            model.add_text(text, height=3, dxfattribs={"layer": "TAGS", "insert": (50, y)})

    names, drawn = names_of_two(tmp_path, draw)
    assert names == ["NEAR", ""]
    unused = [one.message for one in drawn.findings if one.code == "run-name-unused"]
    assert unused == [
        "the text 'FAR' names no run: 'NEAR' stands nearer to the same run",
        "the text 'FARTHEST' names no run: 'NEAR' stands nearer to the same run",
    ]


def test_the_listing_tells_the_texts_that_may_name_runs(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (300, 0), dxfattribs={"layer": "RUN"})
        model.add_text("HIGH", height=3, dxfattribs={"layer": "TAGS", "insert": (50, 2)})

    settings = DrawingSettings(layers=("RUN",), name_layers=("TAGS",))
    contents = survey_drawing(save(tmp_path, draw), settings)
    reasons = {layer.name: layer.reason for layer in contents.layers}
    assert reasons["TAGS"] == "no layer pattern names it; 1 text may name a run"
