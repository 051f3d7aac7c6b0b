"""Entities that a file holds only in part, and what a job names that the drawing does not hold."""

from __future__ import annotations

import re
import struct

import pytest
from dxf_samples import codes, draw_and_read, finding, length_m, read, save

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.job.settings import FittingKind

INCH = 0.0254


def without_groups(path, kind: str, groups: set[int]) -> None:
    """Take group codes out of every entity of a kind in a text drawing."""
    lines = path.read_text().split("\n")
    kept, inside = [], False
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        if code.strip() == "0":
            inside = value.strip() == kind
        if not (inside and code.strip().isdigit() and int(code) in groups):
            kept += [code, value]
    path.write_text("\n".join(kept) + "\n")


@pytest.mark.parametrize(
    "kind, groups, words",
    [
        ("LINE", {11, 21, 31}, r"its end point \(group 11\)"),
        ("LINE", {10, 20, 30}, r"its start point \(group 10\)"),
        ("ARC", {40}, r"its radius \(group 40\)"),
        ("ARC", {50, 51}, r"its start angle \(group 50\), its end angle \(group 51\)"),
        ("CIRCLE", {40}, r"its radius \(group 40\)"),
        ("ELLIPSE", {11, 21, 31}, r"its major axis \(group 11\)"),
        ("VERTEX", {10, 20, 30}, r"its location \(group 10\)"),
        ("INSERT", {10, 20, 30}, r"its insertion point \(group 10\)"),
    ],
)
def test_an_entity_held_only_in_part_is_left_out_with_its_layer_and_handle(
    tmp_path, kind, groups, words
):
    handles = []

    def draw(document, model):
        model.add_lwpolyline([(0, 50), (100, 50)])
        if kind == "INSERT":
            document.blocks.new("PIECE").add_line((0, 0), (9, 0))
        for x in (20, 40):
            entity = {
                "LINE": lambda x=x: model.add_line((x, 0), (x + 9, 0)),
                "ARC": lambda x=x: model.add_arc((x, 0), 4, 10, 90),
                "CIRCLE": lambda x=x: model.add_circle((x, 0), 4),
                "ELLIPSE": lambda x=x: model.add_ellipse((x, 0), (4, 0), 0.5, 0, 1),
                "VERTEX": lambda x=x: model.add_polyline3d([(x, 0, 0), (x + 9, 0, 1)]),
                "INSERT": lambda x=x: model.add_blockref("PIECE", (x, 0)),
            }[kind]()
            entity.dxf.layer = "RUN"
            handles.append(entity.dxf.handle)

    path = save(tmp_path, draw)
    without_groups(path, kind, groups)
    drawn = read(path)
    assert [length_m(one) for one in drawn.paths] == pytest.approx([100 * INCH])
    found = [one for one in drawn.findings if one.code == "entity-unreadable"]
    assert [one.where for one in found] == [f"layer RUN, handle {h}" for h in handles]
    assert all(one.severity is Severity.CAUTION for one in found)
    assert all(re.search(words, one.message) for one in found)


def test_scale_zero_in_a_binary_drawing_is_reported_too(tmp_path):
    handles = []

    def draw(document, model):
        document.blocks.new("PIECE").add_line((0, 0), (4, 0))
        for z, scale in ((7, 7.25), (9, 2.0)):
            reference = model.add_blockref("PIECE", (0, 0, z), dxfattribs={"zscale": scale})
            handles.append(reference.dxf.handle)

    path = save(tmp_path, draw, binary=True)
    data = path.read_bytes()
    assert data.count(struct.pack("<d", 7.25)) == 1
    path.write_bytes(data.replace(struct.pack("<d", 7.25), struct.pack("<d", 0.0)))
    assert finding(read(path), "block-scale-zero").where == f"handles {handles[0]}"


def test_what_the_job_names_and_the_drawing_lacks_is_said(tmp_path):
    def draw(document, model):
        model.add_line((0, 0), (90, 0))

    for setting, where, severity in (
        ({"layouts": ("SHEET*",)}, "[drawing] layouts", Severity.CAUTION),
        ({"name_layers": ("NOTES",)}, "[drawing] name_layers", Severity.CAUTION),
        (
            {"fitting_kinds": (("XBOX*", FittingKind.PULL_BOX),)},
            "[drawing.fittings]",
            Severity.NOTE,
        ),
    ):
        found = finding(draw_and_read(tmp_path, draw, **setting), "pattern-unused")
        assert (found.where, found.severity) == (where, severity)
    assert "pattern-unused" not in codes(draw_and_read(tmp_path, draw, layouts=("Layout1",)))


def test_a_gap_of_just_the_distance_that_is_bridged_is_bridged(tmp_path):
    def draw(document, model):
        model.add_line((0, 0), (10, 0))
        model.add_line((10.0625, 0), (20, 0))

    drawn = draw_and_read(tmp_path, draw, join_m=0.0625 * INCH)
    assert len(drawn.paths) == 1
    assert "gap-bridged" in codes(drawn)


def test_texts_and_attributes_name_without_their_codes(tmp_path):
    def draw(document, model):
        model.add_line((0, 0), (90, 0))
        model.add_text("%%uFeeder 4%%u", height=2, dxfattribs={"layer": "NAMES"}).set_placement(
            (30, 1)
        )
        block = document.blocks.new("JB")
        block.add_attdef("TAG", (0, 0))
        model.add_blockref("JB", (90, 0)).add_auto_attribs({"TAG": "%%uBox 1"})

    drawn = draw_and_read(tmp_path, draw, name_layers=("NAMES",))
    assert [one.name for one in drawn.paths] == ["Feeder 4"]
    assert [one.name for one in drawn.fittings] == ["Box 1"]


def test_blocks_taken_as_fittings_are_named_where_nothing_else_is_left(tmp_path):
    def draw(document, model):
        document.blocks.new("FEEDER1").add_line((0, 0), (900, 0))
        model.add_blockref("FEEDER1", (0, 0), dxfattribs={"layer": "E-PANEL-FEEDERS"})

    words = "block 'FEEDER1' on layer E-PANEL-FEEDERS as panel by the name of its layer"
    with pytest.raises(RouteError, match=words) as caught:
        draw_and_read(tmp_path, draw)
    assert "must be exploded" in str(caught.value)
