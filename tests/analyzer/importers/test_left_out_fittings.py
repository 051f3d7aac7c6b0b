"""Fittings on lines of layers that the job leaves out are told once; others keep their caution."""

from __future__ import annotations

from dataclasses import replace

import pytest
from dxf_samples import job, save

from analyzer.errors import JobError
from analyzer.findings import Severity
from analyzer.importers.reading import open_route
from analyzer.job.settings import FittingEntry, FittingKind, Passage

BOXES = {"B-1": (120, 0), "B-2": (100, 200), "B-3": (140, 200), "B-4": (240, 260)}
"""B-1 on the run that is read, the others on the run of another layer. [in]"""


def floor(boxes=BOXES, *, other="E-2", **how):
    """A run on layer E-1 and, 200 in off, a polyline that bends up on another layer."""

    def draw(document, model):
        document.blocks.new("JB").add_attdef("TAG", (0, 0))
        document.layers.add(other)
        model.add_line((0, 0), (240, 0), dxfattribs={"layer": "E-1"})
        points = [(0, 200), (240, 200), (240, 320)]
        model.add_lwpolyline(points, dxfattribs={"layer": other, **how})
        for tag, at in boxes.items():
            model.add_blockref("JB", at).add_attrib("TAG", tag, at)

    return draw


def opened(tmp_path, draw, *entries, layers=("E-1",), **drawing):
    kinds = (("JB", FittingKind.JUNCTION_BOX),)
    asked = replace(job(layers=layers, fitting_kinds=kinds, **drawing), fittings=entries)
    return open_route(save(tmp_path, draw), asked)


def codes(route):
    found = [one.code for run in route.runs for one in run.findings]
    return [code for code in found if code.startswith("fitting-")]


def told(route):
    return [one for one in route.findings if one.code == "fitting-left-out"]


def test_fittings_on_a_line_of_a_layer_not_asked_for_are_one_note_with_their_names(tmp_path):
    route = opened(tmp_path, floor())
    assert [one.name for one in route.runs[0].fittings] == ["start", "B-1", "end"]
    assert codes(route) == []
    (note,) = told(route)
    assert note.severity is Severity.NOTE
    assert note.message.startswith(
        "3 fittings stand on lines left out by layers under [drawing], 60 in or more from every "
        "run that is read, and left out with them: "
        '"B-2", "B-3", "B-4"'
    )
    assert "layer E-2" in note.where


def test_a_job_may_set_what_is_left_out_with_its_line(tmp_path):
    setting = FittingEntry("b-2", passage=Passage.THROUGH)
    assert codes(opened(tmp_path, floor(), setting)) == []
    own = FittingEntry("B-2", FittingKind.PULL_BOX, at_m=1.0)
    route = opened(tmp_path, floor(), own)
    assert [one.name for one in route.runs[0].fittings] == ["start", "B-2", "B-1", "end"]
    with pytest.raises(JobError, match='"B-9": no fitting of that name'):
        opened(tmp_path, floor(), FittingEntry("B-9"))


@pytest.mark.parametrize(
    ("boxes", "why"),
    [
        ({"B-2": (100, 180)}, "on no line that is left out"),
        ({"B-2": (100, 200, 120)}, "above the line, not on it"),
    ],
)
def test_a_fitting_on_no_line_keeps_its_caution(tmp_path, boxes, why):
    route = opened(tmp_path, floor(boxes))
    assert (codes(route), told(route)) == (["fitting-far"], []), why


def test_a_fitting_beside_a_run_that_is_read_keeps_its_caution_though_on_a_wall(tmp_path):
    def draw(document, model):
        floor({"B-2": (100, 8), "B-3": (140, 8, 0)})(document, model)
        model.add_line((0, 8), (240, 8), dxfattribs={"layer": "WALL"})

    route = opened(tmp_path, draw)
    assert (codes(route), told(route)) == (["fitting-far"] * 2, [])


def test_a_fitting_below_a_run_that_is_read_keeps_its_caution_though_on_a_wall(tmp_path):
    def draw(document, model):
        document.blocks.new("JB").add_attdef("TAG", (0, 0))
        model.add_line((0, 0, 120), (240, 0, 120), dxfattribs={"layer": "E-1"})
        model.add_line((0, 0), (240, 0), dxfattribs={"layer": "WALL"})
        model.add_blockref("JB", (120, 0)).add_attrib("TAG", "B-1", (120, 0))

    route = opened(tmp_path, draw)
    assert (codes(route), told(route)) == (["fitting-far"], [])


@pytest.mark.parametrize("how", ["frozen", "invisible"])
def test_a_line_that_no_layer_pattern_leaves_out_takes_no_fitting_with_it(tmp_path, how):
    def draw(document, model):
        floor(invisible=int(how == "invisible"))(document, model)
        if how == "frozen":
            document.layers.get("E-2").freeze()

    route = opened(tmp_path, draw, layers=("E-*",))
    assert (codes(route), told(route)) == (["fitting-far"] * 3, [])


def test_a_box_on_a_riser_that_is_read_stands_on_it_though_on_a_wall(tmp_path):
    def draw(document, model):
        document.blocks.new("JB").add_attdef("TAG", (0, 0))
        model.add_line((0, 0, 0), (0, 0, 240), dxfattribs={"layer": "E-1"})
        model.add_line((-90, 0, 120), (90, 0, 120), dxfattribs={"layer": "WALL"})
        model.add_blockref("JB", (0, 0, 120)).add_attrib("TAG", "B-1", (0, 0))

    route = opened(tmp_path, draw)
    assert [one.name for one in route.runs[0].fittings] == ["start", "B-1", "end"]
    assert (codes(route), told(route)) == ([], [])
