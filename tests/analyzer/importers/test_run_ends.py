"""Runs whose ends meet at a panel or equipment stay two; one run drawn in pieces stays one."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cos, radians, sin

import pytest
from dxf_samples import INCH, codes, finding, job, length_m, save

from analyzer.findings import Severity
from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.segments import Arc, Straight
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.chains import Box
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.drawings.drawn_fittings import fitting_stops
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.drawings.reader import read_drawing
from analyzer.importers.drawn_file import DrawnFitting
from analyzer.job.settings import DrawingSettings, FittingEntry, FittingKind, Passage

JOIN_M = INCH / 16
SNAP_M = 6 * INCH
PANEL = Box("LP1", (-0.15, -0.15, 0.0), (0.15, 0.15, 0.0))


def line(*points, handle="1"):
    rows = [(float(x), float(y), 0.0) for x, y in points]
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(rows))
    return DrawnCurve(edges, "LINE" if len(edges) == 1 else "LWPOLYLINE", "RUN", handle)


def arc(x, y, radius, start_deg, sweep_deg):
    start = (x + radius * cos(radians(start_deg)), y + radius * sin(radians(start_deg)), 0.0)
    axis = (0.0, 0.0, 1.0 if sweep_deg > 0 else -1.0)
    edge = DrawnEdge(Arc(start, (x, y, 0.0), axis, radians(abs(sweep_deg))), DrawnAs.ARC)
    return DrawnCurve((edge,), "ARC", "RUN", "A")


def chained(*curves, source=PANEL, boxes=()):
    return chain_curves(curves, JOIN_M, SNAP_M, boxes, stops=[source, *boxes], sources=[source])


def lengths(chains):
    return sorted(round(chain.length_m, 6) for chain in chains.chains)


EAST, WEST, NORTH = line((0, 0), (9, 0)), line((-7, 0), (0, 0)), line((0, 0), (0, 5))


@pytest.mark.parametrize(
    ("other", "length"),
    [
        (WEST, 7.0),
        (NORTH, 5.0),
        (line((0, 0), (0, 4), (3, 4)), 7.0),
        (line((-0.001, 0), (-7, 0)), 6.999),
    ],
    ids=["opposite", "square", "polyline", "a hair apart"],
)
def test_two_runs_that_meet_at_a_panel_are_two(other, length):
    chains = chained(EAST, other)
    assert lengths(chains) == [length, 9.0]
    (told,) = chains.findings
    assert (told.code, told.severity) == ("branch", Severity.NOTE)
    assert "at LP1, where conductors end: each is a run of its own" in told.message
    assert 'name = "LP1" and its passage' in told.message


def test_three_runs_that_meet_at_a_panel_are_a_note_that_names_it():
    chains = chained(EAST, WEST, NORTH)
    assert lengths(chains) == [5.0, 7.0, 9.0]
    (told,) = chains.findings
    assert told.severity is Severity.NOTE
    assert told.message == (
        "3 pieces meet at (0, 0, 0) m, at LP1: each is a run of its own that ends there"
    )


def test_two_runs_between_the_same_two_panels_are_no_loop():
    other = Box("LP2", (9.0, 0.0, 0.0), (9.0, 0.0, 0.0))
    curves = [EAST, line((0, 0), (0, 5), (9, 5), (9, 0))]
    assert not chain_curves(curves, JOIN_M, SNAP_M, sources=[PANEL]).chains
    chains = chain_curves(curves, JOIN_M, SNAP_M, sources=[PANEL, other])
    assert lengths(chains) == [9.0, 19.0]
    assert not chains.loops


@pytest.mark.parametrize(
    "pieces",
    [
        (line((-7, 0), (-0.15, 0)), line((-0.15, 0), (0, 0))),
        (line((-7, 0), (-0.1, 0)), line((-0.1, 0), (0.28, 0))),
        (line((0, 3), (0, 0.1)), line((0, 0.1), (0.1, 0.1)), line((0.1, 0.1), (0.1, 0))),
        (line((-7, 0.1), (-0.1, 0.1)), arc(-0.1, 0.2, 0.1, -90, 90), line((0, 0.2), (0, 5))),
        (line((-7, 0.4), (0, 0.4)), line((0, 0.4), (7, 0.4))),
        (line((-7, 0), (0, 0), (7, 0)),),
        (line((-7, 0.1), (0.1, 0.1)), line((0.1, 0.1), (7, 0.1))),
        (line((-7, 0.15), (0.15, 0.15)), line((0.15, 0.15), (0.15, 7))),
        (line((-7, 0.1), (0.1, 0.1)), line((0.1, 0.1), (0.1, -7))),
    ],
    ids=[
        *("to the wall first", "past", "corners in it", "a bend", "beside", "one", "straight on"),
        *("a corner at its wall", "a corner inside"),
    ],
)
def test_one_run_drawn_in_pieces_at_a_panel_is_one(pieces):
    assert len(chained(*pieces).chains) == 1


def test_runs_that_reach_a_panel_in_pieces_are_parted_once_in_its_middle():
    pieces = [
        line((-7, 0), (-0.1, 0)),
        line((-0.1, 0), (0, 0)),
        line((0, 0), (0, 0.1)),
        line((0, 0.1), (0, 5)),
    ]
    chains = chained(*pieces)
    assert lengths(chains) == [5.0, 7.0]
    assert [told.code for told in chains.findings] == ["branch"]


def test_runs_in_one_line_are_two_at_the_insertion_point_wherever_that_is_in_the_symbol():
    pieces = line((-7, 0.15), (0.15, 0.15)), line((0.15, 0.15), (7, 0.15))
    corner = replace(PANEL, point_m=(0.15, 0.15, 0.0))
    assert [len(chained(*pieces, source=one).chains) for one in (PANEL, corner)] == [1, 2]


def test_a_panel_of_another_layout_ends_no_run():
    elsewhere = replace(PANEL, layout="Sheet 1")
    assert len(chained(EAST, WEST, source=elsewhere).chains) == 1


@pytest.mark.parametrize("at", [((0.15, 0), (9, 0)), ((0.06, 0), (9, 0))], ids=["walls", "inside"])
@pytest.mark.parametrize("passes", [False, True], ids=["panel", "box"])
def test_ends_at_one_fitting_lack_nothing_between_them(at, passes):
    """An arc of radius 5.9 in would join those at the walls, a corner those inside."""
    east, north = line(*at), line(*[(y, x) for x, y in at])
    third = line((-0.15, 0), (-9, 0))
    alone = chain_curves([east, north], JOIN_M, SNAP_M)
    assert [told.code for told in alone.findings] == ["gap-not-bridged"]
    chains = chained(east, north, third, boxes=[PANEL] if passes else ())
    assert [told.code for told in chains.findings] == ["ends-at-fitting"] * passes
    beside = replace(PANEL, low_m=(-0.15, -0.15, 1.0), high_m=(0.15, 0.15, 1.0))
    assert "gap-not-bridged" in [told.code for told in chained(east, north, source=beside).findings]


def test_stated_size_of_a_fitting_holds_ends_within_the_snap():
    """Two ends 20 in from a point without a symbol, whose longest side is 48 in."""
    panel = DrawnFitting("P", FittingKind.PANEL, (0.0, 0.5, 0.0), "handle 7")
    east, north = line((0.15, 0), (9, 0)), line((0, 0.15), (0, -9))
    size = FittingEntry("p", size_m=(0.3, 1.22))
    for entries, snap_m, is_told in (((), 0.6, True), ((size,), 0.6, False), ((size,), 0.4, True)):
        stops = fitting_stops([panel], entries)
        found = chain_curves([east, north], JOIN_M, snap_m, stops=stops).findings
        assert ("gap-not-bridged" in {one.code for one in found}) is is_told, (entries, snap_m)
    (placed,) = fitting_stops([], [replace(size, position_m=(1.0, 0.0, 0.0))])
    assert placed.half_size_m == 0.61


# --- in drawings -------------------------------------------------------------------------------


def home_runs(document, model, block="PANEL", layer="E-BOX"):
    """F1 and F2 from the insertion point of a block."""
    box = document.blocks.new(block)
    box.add_lwpolyline([(-6, -6), (6, -6), (6, 6), (-6, 6)], close=True)
    box.add_attdef("TAG", (0, 0))
    model.add_blockref(block, (0, 0), dxfattribs={"layer": layer}).add_attrib("TAG", "LP1", (0, 0))
    model.add_line((0, 0), (300, 0), dxfattribs={"layer": "E-RACE-1"})
    model.add_lwpolyline([(0, 0), (-200, 0), (-200, 90)], dxfattribs={"layer": "E-RACE-2"})
    model.add_text("F1", height=4, dxfattribs={"layer": "TAGS", "insert": (150, 2)})
    model.add_text("F2", height=4, dxfattribs={"layer": "TAGS", "insert": (-150, 2)})


def runs(folder, *, draw=home_runs, fittings=(), **drawing):
    asked = job(name_layers=("TAGS",), layers=("E-RACE*",), **drawing)
    drawn = read_drawing(save(folder, draw), replace(asked, fittings=fittings))
    return {path.name: round(length_m(path) / INCH, 6) for path in drawn.paths}, drawn


TWO = {"F1": 300.0, "F2": 290.0}


@pytest.mark.parametrize("kinds", [(), (("PANEL", FittingKind.EQUIPMENT),)])
def test_home_runs_from_the_point_of_their_panel_keep_their_names(tmp_path, kinds):
    named, drawn = runs(tmp_path, fitting_kinds=kinds)
    assert named == TWO
    assert finding(drawn, "branch").severity is Severity.NOTE
    assert "run-name-unused" not in codes(drawn)
    contents = survey_drawing(
        save(tmp_path, home_runs), DrawingSettings(layers=("E-RACE*",), fitting_kinds=kinds)
    )
    assert "branch" in [one.code for one in contents.findings]


@pytest.mark.parametrize(
    "entry",
    [
        FittingEntry("lp1", passage=Passage.THROUGH),
        FittingEntry("LP1", kind=FittingKind.PULL_BOX),
    ],
    ids=["passage", "kind"],
)
def test_where_the_job_says_that_conductors_pass_a_panel_the_run_goes_on(tmp_path, entry):
    named, drawn = runs(tmp_path, fittings=(entry,))
    assert list(named.values()) == [590.0]
    assert "branch" not in codes(drawn)


def test_where_the_job_says_that_a_box_is_a_panel_runs_end_there(tmp_path):
    def draw(document, model):
        home_runs(document, model, block="JBOX")

    assert len(runs(tmp_path, draw=draw)[0]) == 1
    entry = FittingEntry("LP1", kind=FittingKind.PANEL)
    assert runs(tmp_path, draw=draw, fittings=(entry,))[0] == TWO


def test_runs_end_at_a_panel_that_the_job_places_by_point(tmp_path):
    def draw(document, model):
        home_runs(document, model, block="SIGN")

    entry = FittingEntry("LP1", kind=FittingKind.PANEL, position_m=(0.0, 0.0, 0.0))
    assert runs(tmp_path, draw=draw, fittings=(entry,))[0] == TWO


def test_two_names_along_one_run_are_a_caution_that_says_both(tmp_path):
    def draw(document, model):
        home_runs(document, model, block="JBOX")

    named, drawn = runs(tmp_path, draw=draw)
    assert len(named) == 1
    told = finding(drawn, "run-name-unused")
    assert told.severity is Severity.CAUTION
    assert "If 'F1' and 'F2' are two runs" in told.message or "If 'F2' and 'F1'" in told.message
    assert "beside another piece of it 300 in from there" in told.message
    assert len(told.concern.entities) == 2


@pytest.mark.parametrize(
    ("words", "at"),
    [("4 NO. 2", (150, 8)), ("F1 EMT", (-150, 2)), ("NOTE 3", (60, 2))],
    ids=["below the name", "the name and more", "beside the same piece"],
)
def test_more_words_at_a_run_that_hardly_name_another_are_a_note(tmp_path, words, at):
    def draw(_, model):
        model.add_line((0, 0), (300, 0), dxfattribs={"layer": "E-RACE-1"})
        model.add_line((0, 0), (-200, 0), dxfattribs={"layer": "E-RACE-2"})
        for text, insert in (("F1", (150, 1)), (words, at)):
            model.add_text(text, height=4, dxfattribs={"layer": "TAGS", "insert": insert})

    _, drawn = runs(tmp_path, draw=draw)
    assert finding(drawn, "run-name-unused").severity is Severity.NOTE
