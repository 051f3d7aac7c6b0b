"""Names of runs from texts, wherever the file format puts the place of a text."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from dxf_samples import INCH, codes, draw_and_read, finding, save
from ezdxf.enums import TextEntityAlignment
from ezdxf.math import Vec2, Vec3
from ezdxf.render.mleader import ConnectionSide

from analyzer.findings import Severity
from analyzer.importers.drawings.label_matches import matched_labels
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


def test_an_end_that_misses_a_run_and_a_gap_are_told_with_the_names_of_the_runs(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (300, 0))
        for x in (100, 200):
            model.add_line((x, 3), (x, 90))
        model.add_line((100, 92), (100, 190))

    drawn = draw_and_read(tmp_path, draw)
    missed = {one.message for one in drawn.findings if one.code == "tee-missed"}
    assert any("an end of drawing 4 stops 3 in short of the middle of drawing 1" in one for one in
               missed)  # fmt: skip
    assert "drawing 2 and drawing 3 end 2 in apart" in finding(drawn, "gap-not-bridged").message


# --- labels that may name several runs --------------------------------------------------------


def rack(tmp_path, runs, labels, *, backward=False):
    """Names by the y and z of each run, and the findings; labels are (words, y, z) at x = 100."""

    def draw(_, model):
        for y, z in runs[::-1] if backward else runs:
            model.add_line((0, y, z), (300, y, z))
        for words, y, z in labels[::-1] if backward else labels:
            at = {"layer": "TAGS", "insert": (100, y, z)}
            model.add_text(words, height=1.5, dxfattribs=at)

    drawn = draw_and_read(tmp_path, draw, name_layers=("TAGS",))
    names = {tuple(np.round(path.vertices_m[0][1:] / INCH, 6)): path.name for path in drawn.paths}
    return [names[place] for place in runs], drawn


@pytest.mark.parametrize("backward", [False, True])
def test_labels_midway_between_runs_are_matched_one_to_one_and_a_caution(tmp_path, backward):
    labels = [("R-1", 2, 120), ("R-2", 6, 120), ("R-3", 10, 120)]
    names, drawn = rack(tmp_path, [(0, 120), (4, 120), (8, 120)], labels, backward=backward)
    assert names == ["R-1", "R-2", "R-3"]
    told = {one.message for one in drawn.findings if one.code == "run-name-between"}
    assert len(told) == 2
    assert any("'R-1' after a text 2 in" in one and "2 in from R-2" in one for one in told)
    assert not any("nearer to the same run" in one.message for one in drawn.findings)


@pytest.mark.parametrize("backward", [False, True])
def test_a_label_that_could_name_two_runs_names_neither(tmp_path, backward):
    names, drawn = rack(tmp_path, [(0, 9), (4, 9)], [("R-1", 2, 9)], backward=backward)
    assert names == ["", ""]
    told = finding(drawn, "run-name-between")
    assert "2 in from drawing 1 and 2 in from drawing 2" in told.message
    assert told.severity is Severity.CAUTION


def test_a_label_a_little_nearer_to_one_run_names_it_with_a_caution(tmp_path):
    names, drawn = rack(tmp_path, [(0, 9), (4, 9)], [("R-1", 1.7, 9)])
    assert names == ["R-1", ""]
    assert "2.3 in from drawing" in finding(drawn, "run-name-between").message
    names, drawn = rack(tmp_path, [(0, 9), (4, 9)], [("R-1", 1.5, 9)])
    assert names == ["R-1", ""]
    assert "run-name-between" not in codes(drawn)


def test_a_name_said_again_between_two_runs_is_no_doubt(tmp_path):
    labels = [("R-1", 0.5, 9), ("R-1", 2, 9), ("R-2", 4.5, 9), ("NOTE 3", 2, 9)]
    names, drawn = rack(tmp_path, [(0, 9), (4, 9)], labels)
    assert names == ["R-1", "R-2"]
    assert "run-name-between" not in codes(drawn)
    unused = [one.message for one in drawn.findings if one.code == "run-name-unused"]
    between = 'the text \'NOTE 3\' names no run: "R-1", "R-2" name the runs it stands between'
    assert between in unused


def test_a_label_in_plan_beside_a_run_overhead_does_not_name_the_run_below(tmp_path):
    names, drawn = rack(tmp_path, [(0, 120), (-5, -2)], [("OH-1", 0.5, 0)])
    assert names == ["", ""]
    told = finding(drawn, "run-name-by-height").message
    assert "the nearest is drawing 1" in told
    assert "seen from above it stands 0.5 in from drawing 2 (120 in away in space)" in told


def test_a_label_below_two_runs_one_above_the_other_is_a_caution(tmp_path):
    names, drawn = rack(tmp_path, [(0, 120), (0, -2)], [("S-1", 0.5, 0)])
    assert names == ["", "S-1"]
    assert "by the height of the text alone" in finding(drawn, "run-name-by-height").message
    names, drawn = rack(tmp_path, [(0, 120), (0, 9)], [("S-1", 0.5, 120)])
    assert names == ["S-1", ""]
    assert "run-name-by-height" not in codes(drawn)


def test_runs_above_each_other_each_with_a_label_at_its_height_are_no_doubt(tmp_path):
    stack = [(0, 0), (0, 24), (0, 48)]
    names, drawn = rack(tmp_path, stack[:2], [("P-1", 3, 0), ("P-2", 3, 24)])
    assert names == ["P-1", "P-2"]
    assert "run-name-by-height" not in codes(drawn)
    _, drawn = rack(tmp_path, stack, [("P-1", 3, 0), ("P-2", 3, 24)])
    told = finding(drawn, "run-name-by-height").message
    assert (
        "If it names drawing, draw it at the height of that; if not, give that a text of its own"
        in told
    )
    _, drawn = rack(tmp_path, stack, [("P-1", 3, 0), ("P-2", 3, 24), ("P-3", 3, 48)])
    assert "run-name-by-height" not in codes(drawn)


def test_advice_on_a_label_that_stands_at_the_height_of_its_run_already_is_another(tmp_path):
    _, drawn = rack(tmp_path, [(0, 0), (-5, 40)], [("P-1", -4, 0)])
    told = finding(drawn, "run-name-by-height").message
    assert told.endswith("Move it nearer, or draw it at the height of drawing 1")
    _, drawn = rack(tmp_path, [(0, 0), (-5, 40)], [("P-1", -4, 0), ("P-2", -5, 40)])
    assert "run-name-by-height" not in codes(drawn)


def leader(model, *tips, content="C-8", layer="TAGS"):
    builder = model.add_multileader_mtext("Standard")
    builder.set_content(content, char_height=3)
    for tip in tips:
        builder.add_leader_line(ConnectionSide.left, [Vec2(tip)])
    builder.build(insert=Vec2(150, 50))
    for entity in model.query("MULTILEADER"):
        entity.dxf.layer = layer


def test_a_multileader_names_the_run_its_arrow_points_at(tmp_path):
    names, _ = names_of_two(tmp_path, lambda _, model: leader(model, (100, 100)))
    assert names == ["", "C-8"]

    def in_block(document, model):
        block = document.blocks.new("TAG")
        leader(block, (100, 0), content=r"{\fArial|b0;C-7}\P2%%c")
        model.add_blockref("TAG", (10, 100))

    names, drawn = names_of_two(tmp_path, in_block)
    assert names == ["", "C-7 2Ø"]
    assert "after the text 0 in beside it" in finding(drawn, "run-named-by-text").message


def test_a_multileader_with_an_arrow_at_each_of_two_runs_names_both(tmp_path):
    names, _ = names_of_two(tmp_path, lambda _, model: leader(model, (100, 0), (100, 100)))
    assert names == ["C-8", "C-8"]


def test_a_multileader_without_an_arrow_stands_where_its_text_does(tmp_path):
    def draw(_, model):
        leader(model)
        (entity,) = model.query("MULTILEADER")
        entity.context.mtext.insert = Vec3(150, 98, 0)

    assert names_of_two(tmp_path, draw)[0] == ["", "C-8"]


def test_a_multileader_that_shows_a_block_names_by_its_attributes(tmp_path):
    def draw(document, model):
        tag = document.blocks.new("TAG")
        tag.add_attdef("NO", (0, 0), dxfattribs={"height": 3})
        builder = model.add_multileader_block("Standard")
        builder.set_content(name="TAG")
        builder.set_attribute("NO", "C-8")
        builder.add_leader_line(ConnectionSide.left, [Vec2(100, 100)])
        builder.build(insert=Vec2(150, 50))
        for entity in model.query("MULTILEADER"):
            entity.dxf.layer = "TAGS"

    assert names_of_two(tmp_path, draw)[0] == ["", "C-8"]


def test_a_text_of_the_plan_names_the_only_run_above_it(tmp_path):
    names, drawn = rack(tmp_path, [(0, 120), (40, 120)], [("S-1", 39, 0)])
    assert names == ["", "S-1"]
    told = finding(drawn, "run-named-from-above")
    assert told.severity is Severity.NOTE
    assert told.message == (
        "a run is named 'S-1' after the text 1 in beside it seen from above: that stands at "
        "elevation 0 in, and in space the run is 120 in away"
    )


def test_a_text_at_another_height_than_its_run_or_zero_is_a_caution(tmp_path):
    names, drawn = rack(tmp_path, [(0, 120), (40, 120)], [("S-1", 39, 240)])
    assert names == ["", "S-1"]
    told = finding(drawn, "run-named-from-above")
    assert told.severity is Severity.CAUTION
    assert told.message.endswith("Check the name, and draw the text at the height of its run")


def test_a_text_of_the_plan_below_runs_above_each_other_names_none(tmp_path):
    names, drawn = rack(tmp_path, [(0, 120), (0, 180), (40, 120)], [("S-1", 2, 0)])
    assert names == ["", "", ""]
    told = finding(drawn, "run-name-between")
    assert told.severity is Severity.CAUTION
    assert "seen from above 2 in from drawing 1 and 2 in from drawing 2" in told.message
    assert "Draw it at the height of its run" in told.message
    assert "drawing 3" not in told.message


def test_a_text_near_a_run_in_space_goes_before_one_of_the_plan(tmp_path):
    names, drawn = rack(tmp_path, [(0, 120)], [("S-1", 1, 0), ("S-2", 4, 120)])
    assert names == ["S-2"]
    unused = finding(drawn, "run-name-unused").message
    assert unused == "the text 'S-1' names no run: 'S-2' stands nearer to the same run"


@pytest.mark.parametrize("backward", [False, True])
@pytest.mark.parametrize(("away", "against"), [(3, "3 in against 3 in"), (4, "3 in against 4 in")])
@pytest.mark.parametrize("z", [0, 120], ids=["plan", "space"])
def test_two_names_about_as_near_to_a_run_are_a_caution_with_both(
    tmp_path, z, away, against, backward
):
    labels = [('4"C', -3, z), ("F-1", away, z)]
    names, drawn = rack(tmp_path, [(0, 120), (40, 120)], labels, backward=backward)
    assert names == ['4"C', ""]
    told = finding(drawn, "run-name-unused")
    assert told.severity is Severity.CAUTION
    assert len(told.concern.entities) == 1
    first, second = ("32", "31") if backward else ("31", "32")
    assert told.message == (
        f"the text 'F-1' (handle {second}) names no run: '4\"C' (handle {first}) stands about as "
        f"near to the same run, {against}, and names it. Check the name: move the text that names "
        "the run nearer to it, and put one that names none on a layer that name_layers under "
        "[drawing] leaves out"
    )


@pytest.mark.parametrize(
    ("words", "severity"),
    [("F-1 EMT", Severity.NOTE), ("f-1", Severity.NOTE), ("F-10", Severity.CAUTION)],
)
def test_a_name_said_with_more_words_is_the_same_name(tmp_path, words, severity):
    names, drawn = rack(tmp_path, [(0, 9)], [("F-1", 2, 9), (words, -2, 9)])
    assert names[0] == "F-1"
    assert finding(drawn, "run-name-unused").severity is severity


def test_a_second_name_said_again_and_again_is_one_caution(tmp_path):
    labels = [("A", 2, 9), ("B", -2, 9), ("B", -2.5, 9), ("B", -2, 9)]
    _, drawn = rack(tmp_path, [(0, 9)], labels)
    told = [one.severity for one in drawn.findings if one.code == "run-name-unused"]
    assert (told.count(Severity.CAUTION), told.count(Severity.NOTE)) == (1, 2)


@pytest.mark.parametrize("backward", [False, True])
def test_two_names_about_as_near_between_two_runs_are_a_caution(tmp_path, backward):
    labels = [("R-1", 2, 9), ("R-2", 2.2, 9), ("R-3", 2.1, 9)]
    names, drawn = rack(tmp_path, [(0, 9), (4, 9)], labels, backward=backward)
    assert names == ["R-1", "R-2"]
    assert finding(drawn, "run-name-unused").severity is Severity.CAUTION


@pytest.mark.parametrize("backward", [False, True])
def test_of_two_texts_of_the_plan_the_nearer_names_the_run(tmp_path, backward):
    labels = [("EMT", 4, 0), ("S-1", 2, 0)]
    names, drawn = rack(tmp_path, [(0, 120)], labels, backward=backward)
    assert names == ["S-1"]
    unused = finding(drawn, "run-name-unused").message
    assert unused == "the text 'EMT' names no run: 'S-1' stands nearer to the same run"


@pytest.mark.parametrize(("away", "severity"), [(3, Severity.CAUTION), (3.1, Severity.NOTE)])
def test_a_name_up_to_half_as_far_again_is_about_as_near(tmp_path, away, severity):
    names, drawn = rack(tmp_path, [(0, 120)], [("EMT", away, 0), ("S-1", 2, 0)])
    assert names == ["S-1"]
    assert finding(drawn, "run-name-unused").severity is severity


def test_a_name_in_the_plan_said_again_below_several_runs_is_no_doubt(tmp_path):
    labels = [("S-1", -3, 0), ("S-1", 2, 0)]
    names, drawn = rack(tmp_path, [(0, 120), (4, 120)], labels)
    assert names == ["S-1", ""]
    assert "run-name-between" not in codes(drawn)
    labels = [("S-1", -3, 120), ("NOTE 3", 2, 0), ("S-2", 7, 120)]
    names, drawn = rack(tmp_path, [(0, 120), (4, 120)], labels)
    assert names == ["S-1", "S-2"]
    assert 'names no run: "S-1", "S-2" name the runs' in finding(drawn, "run-name-unused").message


def least_totals(distances):
    """The best assignment of every size, by trying all of them."""
    runs = sorted({run for label in distances for run in label})
    found = []
    for choice in product([None, *runs], repeat=len(distances)):
        used = [run for run in choice if run is not None]
        if len(set(used)) == len(used) and all(
            run is None or run in label for run, label in zip(choice, distances, strict=True)
        ):
            total = sum(
                label[run] for run, label in zip(choice, distances, strict=True) if run is not None
            )
            found.append((-len(used), total, choice))
    return sorted(found, key=lambda one: one[:2])


@pytest.mark.parametrize("seed", range(12))
def test_labels_are_matched_as_by_trying_all_assignments(seed):
    rng = np.random.default_rng(seed)
    distances = [
        {run: float(rng.integers(1, 9)) for run in range(4) if rng.random() < 0.6} for _ in range(4)
    ]
    tried = least_totals(distances)
    size, total, _ = tried[0]
    matches = matched_labels(distances)
    used = [match.run for match in matches if match.run is not None]
    assert -len(used) == size
    assert len(set(used)) == len(used)
    assert sum(
        label[match.run]
        for label, match in zip(distances, matches, strict=True)
        if match.run is not None
    ) == pytest.approx(total)
    for label, match in enumerate(matches):
        if match.run is not None:
            others = [one for one in tried if one[0] == size and one[2][label] != match.run]
            excess = others[0][1] - total if others else float("inf")
            assert match.excess_m == pytest.approx(excess)


def test_the_listing_tells_the_texts_that_may_name_runs(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (300, 0), dxfattribs={"layer": "RUN"})
        model.add_text("HIGH", height=3, dxfattribs={"layer": "TAGS", "insert": (50, 2)})

    settings = DrawingSettings(layers=("RUN",), name_layers=("TAGS",))
    contents = survey_drawing(save(tmp_path, draw), settings)
    reasons = {layer.name: layer.reason for layer in contents.layers}
    assert reasons["TAGS"] == "no layer pattern names it; 1 text may name a run"
