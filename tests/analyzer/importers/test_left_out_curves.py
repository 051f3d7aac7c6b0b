"""What is left out by layer or visibility and joins two runs that were read is told."""

from __future__ import annotations

from math import nan

import pytest
from dxf_samples import INCH, draw_and_read

STICKS = [(0, 0), (120, 0), (240, 0), (240, 120)]
"""Ends of three sticks, a corner between the last two. [in]"""


def sticks(model, *layers, **how):
    """Draw the sticks, each on its layer."""
    for start, end, layer in zip(STICKS, STICKS[1:], layers, strict=False):
        model.add_line(start, end, dxfattribs={"layer": layer, **how})


def told(drawn):
    return [one for one in drawn.findings if one.code == "entity-may-be-route"]


def reading(folder, draw, **drawing):
    drawn = draw_and_read(folder, draw, **drawing)
    return drawn, told(drawn)


@pytest.mark.parametrize(
    ("how", "reason", "way"),
    [
        ("freeze", "on a frozen layer", "name OLD beside the other layers"),
        ("off", "on a layer that is off", "name OLD beside the other layers"),
        ("layers", "on a layer no pattern names", "name OLD beside the other layers"),
        ("invisible", "set invisible", "make it visible in the drawing program"),
    ],
)
def test_a_stick_left_out_between_two_runs_is_a_caution_at_both_ends(tmp_path, how, reason, way):
    def draw(document, model):
        document.layers.add("OLD")
        sticks(model, "RUN", "OLD", "RUN")
        if how == "invisible":
            model[1].dxf.invisible = 1
        elif how != "layers":
            getattr(document.layers.get("OLD"), how)()

    drawn, (one,) = reading(tmp_path, draw, layers=("RUN",) if how == "layers" else ())
    assert len(drawn.paths) == 2
    assert one.severity.value == "caution"
    assert f"a LINE {reason} (OLD) was left out, between" in one.message
    assert "(120, 0, 0) in" in one.message
    assert "(240, 0, 0) in" in one.message
    assert way in one.message
    assert one.where.startswith("layer OLD, LINE ")
    assert len(one.concern.boxes_m) == 2


def test_pieces_left_out_end_to_end_are_one_caution(tmp_path):
    def draw(_, model):
        model.add_line((0, 0), (120, 0), dxfattribs={"layer": "RUN"})
        model.add_line((240, 0), (120, 0), dxfattribs={"layer": "OLD"})
        model.add_arc((240, 10), 10, 270, 360, dxfattribs={"layer": "FITT"})
        model.add_line((250, 10), (250, 120), dxfattribs={"layer": "RUN"})

    _, (one,) = reading(tmp_path, draw, layers=("RUN",))
    assert "2 pieces end to end, on a layer no pattern names (OLD) and " in one.message
    assert "name OLD; FITT beside" in one.message


@pytest.mark.parametrize(
    "more",
    [
        [((120, 0), (240, 0)), ((120, 0), (120, 90))],
        [((120, 0), (180, 30)), ((180, 30), (240, 0)), ((180, 30), (180, 99))],
        [((120, 0), (239, 0))],
        [((120, 0), (240, 0)), ((240, 0), (120, 0))],
    ],
    ids=["beside a wall", "branches", "short of the end", "twice"],
)
def test_what_branches_or_ends_short_is_not_told(tmp_path, more):
    def draw(_, model):
        sticks(model, "RUN")
        model.add_line(*STICKS[2:], dxfattribs={"layer": "RUN"})
        for start, end in more:
            model.add_line(start, end, dxfattribs={"layer": "PLAN"})

    _, found = reading(tmp_path, draw, layers=("RUN",))
    assert len(found) == (((120, 0), (240, 0)) in more)


def test_an_older_route_left_out_along_runs_that_are_read_is_not_told(tmp_path):
    def draw(_, model):
        for layer in ("RUN", "OLD"):
            sticks(model, layer, layer, layer)
            model.add_line((120, 0), (120, 90), dxfattribs={"layer": layer})

    drawn, found = reading(tmp_path, draw, layers=("RUN",))
    assert len(drawn.paths) == 3
    assert not found


@pytest.mark.parametrize(("off", "snap"), [(0, 6), (0, 40), (30, 40)])
def test_a_raceway_left_out_between_two_boxes_is_not_told(tmp_path, off, snap):
    """Unless only a wide snap says that runs end at them."""

    def draw(document, model):
        block = document.blocks.new("JB-12")
        block.add_lwpolyline([(-1, -1), (1, -1), (1, 1), (-1, 1)], close=True)
        sticks(model, "RUN", "OLD", "RUN")
        model.add_blockref("JB-12", (120, off))
        model.add_blockref("JB-12", (240, -off))

    _, found = reading(tmp_path, draw, layers=("RUN",), snap_m=snap * INCH)
    assert len(found) == bool(off)


def test_damaged_and_closed_curves_left_out_stop_nothing(tmp_path):
    def draw(_, model):
        sticks(model, "RUN")
        model.add_line(*STICKS[2:], dxfattribs={"layer": "RUN"})
        line = model.add_line((120, 0), (240, 0), dxfattribs={"layer": "OLD"})
        line.dxf.end = (nan, 0, 0)
        model.add_circle((180, 0), 60, dxfattribs={"layer": "OLD"})
        model.add_lwpolyline([], dxfattribs={"layer": "OLD"})

    drawn, found = reading(tmp_path, draw, layers=("RUN",))
    assert len(drawn.paths) == 2
    assert not found
