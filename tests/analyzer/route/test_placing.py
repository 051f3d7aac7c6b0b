"""Fittings on runs: by point, vertex, station and name; corners, bends and ends they stand at.

One long file, because all tests share the small paths and readings made at its top.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.errors import JobError, RouteError
from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.readings import RadiusFrom
from analyzer.geometry.segments import Arc, Straight
from analyzer.geometry.vectors import to_vector
from analyzer.job.settings import (
    DrawingSettings,
    FittingEntry,
    FittingKind,
    Job,
    Limits,
    Passage,
    PullSettings,
)
from analyzer.route.paths import PathToPlace, Reach, extents_distance
from analyzer.route.placing import NEAR_M, place_fittings
from analyzer.units import UnitSystem, inches

RADIUS_M = inches(9.5)
TANGENT_M = RADIUS_M  # of a 90° corner
JOB = Job(
    title="",
    units=UnitSystem.US,
    drawing=DrawingSettings(),
    raceway=None,
    bender=None,
    bend_radius_m=None,
    conductors=(),
    existing=(),
    pull=PullSettings(),
    limits=Limits(),
    fittings=(),
)
ELL = [(0.0, 0.0, 3.0), (6.0, 0.0, 3.0), (6.0, 4.0, 3.0), (6.0, 4.0, 0.0)]
"""Level corner at 6 m, then a corner down at 10 m of drawn length."""
CORNER_LOSS_M = RADIUS_M * (2 - pi / 2)  # what a 90° bend saves against its corner


@dataclass(frozen=True)
class Drawn:
    name: str
    position_m: tuple[float, float, float]
    kind: FittingKind = FittingKind.PULL_BOX
    where: str = "layer BOX, handle 2F"
    path: int | None = None
    vertex: int | None = None
    extents_m: tuple[tuple[float, float, float], tuple[float, float, float]] | None = None
    layout: str = ""
    numbered: str = ""


def lines(points, name="feeder"):
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(points))
    return DrawnPath(edges, name=name)


def bent():
    start, end = (3.0, 0.0, 0.0), (3.5, 0.5, 0.0)
    arc = Arc(start, (3.0, 0.5, 0.0), (0.0, 0.0, 1.0), pi / 2)
    return DrawnPath(
        (
            DrawnEdge(Straight((0.0, 0.0, 0.0), start)),
            DrawnEdge(arc, DrawnAs.ARC),
            DrawnEdge(Straight(end, (3.5, 4.0, 0.0))),
        ),
        name="feeder",
    )


def to_place(path, radius_m=RADIUS_M):
    def read(kept):
        return read_bends(
            path, corner_radius_m=radius_m, radius_from=RadiusFrom.JOB, kept_vertices=kept
        )

    return PathToPlace(path.name, path, read)


def place(paths, found=(), entries=(), radius_m=RADIUS_M, **drawing):
    if isinstance(paths[0], tuple):
        paths = [lines(paths)]
    job = replace(JOB, fittings=tuple(entries), drawing=replace(JOB.drawing, **drawing))
    return place_fittings([to_place(path, radius_m) for path in paths], found, job)


def place_one(*args, **kwargs):
    (run,) = place(*args, **kwargs)
    return run


def stands(run):
    return [(f.name, pytest.approx(f.station_m, abs=1e-9), f.pull_point) for f in run.fittings]


def finding(run, code):
    (found,) = [f for f in run.findings if f.code == code]
    return found


def codes(run):
    return [f.code for f in run.findings]


LENGTH_M = 13.0 - 2 * CORNER_LOSS_M


def test_ends_are_pull_points_called_start_and_end():
    run = place_one(ELL)
    assert stands(run) == [("start", 0.0, True), ("end", LENGTH_M, True)]
    assert [f.kind for f in run.fittings] == [FittingKind.END, FittingKind.END]
    assert run.fittings[1].position_m == pytest.approx(ELL[-1])
    assert run.findings == ()


def test_fitting_near_the_line_snaps_to_it():
    run = place_one(ELL, [Drawn("Box A", (2.0, 0.1, 3.0))])
    box = run.fittings[1]
    assert stands(run)[1] == ("Box A", 2.0, True)
    assert box.position_m == pytest.approx((2.0, 0.0, 3.0))
    assert (box.passage, box.passage_stated) == (Passage.REFEED, False)


def test_fitting_too_far_off_is_a_caution_with_its_distance():
    run = place_one(ELL, [Drawn("Box A", (2.0, inches(7.25), 3.0))])
    assert [f.name for f in run.fittings] == ["start", "end"]
    far = finding(run, "fitting-far")
    assert far.severity is Severity.CAUTION
    assert "7.25 in from feeder at 6.6 ft" in far.message
    assert "snap under [drawing]" in far.message
    assert "handle 2F" in far.where


def test_copies_of_one_reference_that_stand_far_off_are_told_once():
    copies = [Drawn(f"Box {n}", (2.0, 0.25 * n, 3.0)) for n in range(40)]
    other = Drawn("Box B", (3.0, 0.5, 3.0), where="layer BOX, handle 30")
    run = place_one(ELL[:2], [*copies, other])
    assert [f.name for f in run.fittings] == ["start", "Box 0", "end"]
    many, one = [f for f in run.findings if f.code == "fitting-far"]
    assert many.message.startswith(
        "39 copies drawn by one block reference, Box 1 to Box 39, stand 9.84 in to 383.86 in from "
    )
    assert many.severity is Severity.CAUTION and many.where.endswith("handle 2F")
    assert one.message.startswith("Box B stands 19.69 in from feeder at 9.8 ft")


def test_larger_snap_reaches_it():
    run = place_one(ELL, [Drawn("Box A", (2.0, inches(7.25), 3.0))], snap_m=inches(8))
    assert [f.name for f in run.fittings] == ["start", "Box A", "end"]
    note = finding(run, "fitting-off-line")
    assert note.severity is Severity.NOTE
    assert note.message.startswith("Box A stands 7.25 in from feeder and is placed on it")
    near = place_one(ELL, [Drawn("Box A", (2.0, inches(5), 3.0))], snap_m=inches(8))
    assert "fitting-off-line" not in codes(near)


def test_fitting_goes_to_the_nearest_of_several_runs():
    far = [(x, y + 5.0, z) for x, y, z in ELL]
    one, other = place([lines(ELL, "a"), lines(far, "b")], [Drawn("Box", (2.0, 5.02, 3.0))])
    assert [f.name for f in one.fittings] == ["start", "end"]
    assert [f.name for f in other.fittings] == ["start", "Box", "end"]


def test_run_whose_extents_surround_a_fitting_does_not_take_it():
    around = [(0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (9.0, 9.0, 0.0), (0.0, 9.0, 0.0)]
    apart = [(-1.0, 4.0, 0.0), (3.9, 4.0, 0.0)]
    one, other = place([lines(around, "a"), lines(apart, "b")], [Drawn("Box", (4.0, 4.0, 0.0))])
    assert [f.name for f in one.fittings] == ["start", "end"]
    assert [f.name for f in other.fittings] == ["start", "Box"]


points = st.tuples(*[st.floats(-3.0, 9.0)] * 3)


@given(point=points, radius_m=st.floats(0.05, 1.0))
def test_quick_bound_is_never_above_the_distance(point, radius_m):
    for path in (lines(ELL), bent()):
        reach = Reach(path, to_place(path, radius_m).read(frozenset()))
        low, high = (to_vector(corner) for corner in reach.box_m)
        assert extents_distance(point, (low, high)) <= reach.distance_m(point) + 1e-12


@st.composite
def routes_with_fittings(draw):
    turns = draw(st.lists(st.sampled_from([-1, 1]), min_size=2, max_size=6))
    at, route = [0.0, 0.0, 0.0], [(0.0, 0.0, 0.0)]
    for index, turn in enumerate(turns):
        axis = index % 3
        at[axis] += turn * draw(st.floats(0.6, 4.0))
        route.append((at[0], at[1], at[2]))
    found = []
    for number in range(draw(st.integers(0, 5))):
        edge = draw(st.integers(0, len(turns) - 1))
        share = draw(st.sampled_from([0.0, 1.0]) | st.floats(0.0, 1.0))
        off = [draw(st.floats(-0.1, 0.1)) for _ in range(3)]
        place_m = [
            a + share * (b - a) + c
            for a, b, c in zip(route[edge], route[edge + 1], off, strict=True)
        ]
        at = (place_m[0], place_m[1], place_m[2])
        found.append(Drawn(f"Box {number}", at, where=f"layer BOX, handle {number}"))
    return route, found


@settings(max_examples=60, deadline=None)
@given(routes_with_fittings())
def test_fittings_stand_in_order_and_no_turning_is_lost(drawn):
    route, found = drawn
    run, plain = place_one(route, found), place_one(route)
    stations = [f.station_m for f in run.fittings]
    assert stations == sorted(stations)
    assert (stations[0], stations[-1]) == (0.0, run.reading.centerline.length_m)
    stops = [f.station_m for f in run.fittings if f.pull_point]
    assert all(b - a >= NEAR_M for a, b in pairwise(stops))
    far = sum(f.code == "fitting-far" for f in run.findings)
    ends = sum(f.kind is FittingKind.END for f in run.fittings)
    assert len(run.fittings) == len(found) - far + ends
    bends = run.reading.bends
    turning = sum(bend.angle_rad for bend in plain.reading.bends)
    assert sum(bend.angle_rad for bend in bends) == pytest.approx(turning, abs=1e-9)
    assert [bend.number for bend in bends] == list(range(1, len(bends) + 1))
    assert not any(b.station_m + 1e-6 < s < b.end_station_m - 1e-6 for b in bends for s in stops)


def holding(order, found, entries=()):
    """Which of the runs a, b hold a fitting between their ends, placed in some order."""
    both = [
        lines([(0.0, y, 3.0), (6.0, y, 3.0)], name) for name, y in (("a", 0.0), ("b", inches(4)))
    ]
    runs = place([both[i] for i in order], found, entries)
    held = [i for i, run in zip(order, runs, strict=True) if len(run.fittings) > 2]
    return "".join("ab"[i] for i in sorted(held)), runs


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
@pytest.mark.parametrize(("y_in", "on"), [(2.0, ""), (1.8, "a"), (1.5, "a"), (2.3, "b")])
def test_box_about_as_near_to_two_runs_is_a_caution_on_both(order, y_in, on):
    held, runs = holding(order, [Drawn("Box", (2.0, inches(y_in), 3.0))])
    assert held == on
    said = [f for run in runs for f in run.findings if f.code == "fitting-between"]
    assert len(said) == (0 if y_in == 1.5 else 2)
    assert all(f.severity is Severity.CAUTION for f in said)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_job_says_on_which_run_a_box_between_two_stands(order):
    box = [Drawn("Box", (2.0, inches(2), 3.0))]
    held, runs = holding(order, box, [FittingEntry("Box", run="b")])
    assert held == "b"
    assert not any("fitting-between" in codes(run) for run in runs)
    assert holding(order, box, [FittingEntry("Box", size_m=(0.3, 0.3, 0.3))])[0] == ""


def crossing(*order):
    runs = {
        "a": lines([(-6.0, 0.0, 3.0), (6.0, 0.0, 3.0)], "a"),
        "c": lines([(0.0, -6.0, 3.0), (0.0, 6.0, 3.0)], "c"),
        "b": lines([(0.0, 0.0, 3.0), (0.0, 0.0, 0.0)], "b"),
    }
    return [runs[name] for name in order]


@pytest.mark.parametrize("run", ["a", "c"])
def test_setting_for_one_run_takes_no_box_from_another_that_passes_through_it(run):
    entry = FittingEntry("Box", run=run, passage=Passage.THROUGH)
    runs = place(crossing("a", "c"), [Drawn("Box", (0.0, 0.0, 3.0))], [entry])
    assert [[f.name for f in placed.fittings] for placed in runs] == [["start", "Box", "end"]] * 2
    ways = {"a": Passage.REFEED, "c": Passage.REFEED, run: Passage.THROUGH}
    assert [placed.fittings[1].passage for placed in runs] == [ways["a"], ways["c"]]
    assert [codes(placed) for placed in runs] == [[], []]


def test_setting_for_a_run_that_ends_at_a_box_takes_it_from_none_that_passes():
    entry = FittingEntry("Box", run="b", passage=Passage.THROUGH)
    near = Drawn("Box", (0.0, 0.0, 3.0 - inches(0.5)))
    for box in (Drawn("Box", (0.0, 0.0, 3.0)), replace(near, position_m=(0.1, 0.0, 3.0))):
        plain = place(crossing("a", "c", "b"), [box])
        asked = place(crossing("a", "c", "b"), [box], [entry])
        for before, after in zip(plain, asked, strict=True):
            assert [f.name for f in before.fittings] == [f.name for f in after.fittings]
        assert asked[2].fittings[0].name == "Box"


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_symbol_drawn_midway_over_two_runs_is_a_caution_on_both(order):
    low, high = (2.0, -0.5, 2.9), (2.4, 0.5 + inches(4), 3.1)
    box = symbol("Box", (2.0, -0.5, 3.0), low, high)
    held, runs = holding(order, [box])
    assert held == ""
    assert all("fitting-between" in codes(run) for run in runs)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_box_where_a_run_branches_off_stands_on_the_run_that_goes_on(order):
    both = [lines([(0.0, 0.0, 3.0), (6.0, 0.0, 3.0)], "a"), lines([(2, 0, 3), (2, 4, 3)], "b")]
    runs = place([both[i] for i in order], [Drawn("Box", (2.0, 0.0, 3.0))])
    names = {i: [f.name for f in run.fittings] for i, run in zip(order, runs, strict=True)}
    assert names == {0: ["start", "Box", "end"], 1: ["Box", "end"]}


def test_run_that_passes_a_box_on_another_run_is_told():
    beside = [(x, y + inches(4), z) for x, y, z in ELL[:2]]
    one, other = place([lines(ELL[:2], "a"), lines(beside, "b")], [Drawn("Box", (2.0, 0.0, 3.0))])
    assert [f.name for f in one.fittings] == ["start", "Box", "end"]
    assert "4 in from this one" in finding(other, "fitting-beside").message
    both = place(
        [lines(ELL[:2], "a"), lines(beside, "b")],
        [Drawn("Box", (2.0, 0.0, 3.0))],
        [FittingEntry("Box", run="b")],
    )
    assert [f.name for f in both[1].fittings] == ["start", "Box", "end"]
    assert not any("fitting-beside" in codes(run) for run in both)


def test_run_beside_others_that_a_box_stands_between_is_not_told_that_it_stands_on_one():
    rows = [0.0, inches(4), inches(8), inches(-4)]
    paths = [lines([(0.0, y, 3.0), (6.0, y, 3.0)], f"r{n}") for n, y in enumerate(rows)]
    runs = place(paths, [Drawn("Box", (2.0, inches(2), 3.0))])
    assert [codes(run) for run in runs] == [["fitting-between"]] * 2 + [[]] * 2


def test_box_where_three_runs_end_names_all_their_ends():
    paths = [
        lines([(0.0, 0.0, 0.0), (5.0, 0.0, 0.0)], "a"),
        lines([(5.0, 0.0, 0.0), (5.0, 5.0, 0.0)], "b"),
        lines([(5.0, 0.0, 5.0), (5.0, 0.0, 0.0)], "c"),
    ]
    runs = place(paths, [Drawn("Box", (5.0, 0.02, 0.0))])
    assert [[f.name for f in run.fittings] for run in runs] == [
        ["start", "Box"],
        ["Box", "end"],
        ["start", "Box"],
    ]


def test_each_panel_of_a_rack_names_its_own_end():
    up = inches(4)
    paths = [lines(ELL[:2], "a"), lines([(x, y + up, z) for x, y, z in ELL[:2]], "b")]
    panels = [
        Drawn("P1", (0.0, 0.0, 3.0), FittingKind.PANEL),
        Drawn("P2", (0.0, up, 3.0), FittingKind.PANEL),
    ]
    one, other = place(paths, panels)
    assert (one.fittings[0].name, other.fittings[0].name) == ("P1", "P2")
    assert len(one.fittings) == len(other.fittings) == 2


# corners


@pytest.mark.parametrize("offset", [(0.0, 0.0, 0.0), (-0.1, 0.0, 0.0), (0.08, -0.08, 0.0)])
def test_corner_inside_a_fitting_is_no_bend(offset):
    position = tuple(a + b for a, b in zip(ELL[1], offset, strict=True))
    run = place_one(ELL, [Drawn("Box A", position)])
    assert stands(run)[1] == ("Box A", 6.0, True)
    assert run.fittings[1].position_m == pytest.approx(ELL[1])
    first, second = run.reading.bends
    assert (first.in_fitting, first.radius_m) == (True, None)
    assert first.angle_rad == pytest.approx(pi / 2)
    assert (second.in_fitting, second.number) == (False, 2)
    assert run.reading.centerline.length_m == pytest.approx(13.0 - CORNER_LOSS_M)
    note = finding(run, "corner-in-fitting")
    assert (note.severity, "90°" in note.message) == (Severity.NOTE, True)


def test_corner_is_reached_though_its_bend_cuts_far_from_it():
    # at R = 48 in the arc passes 20 in from the corner, more than the snap
    run = place_one(ELL, [Drawn("Box A", ELL[1])], radius_m=inches(48))
    assert stands(run)[1] == ("Box A", 6.0, True)
    assert run.reading.bends[0].in_fitting


def test_stated_size_covers_a_corner_beyond_the_snap():
    position = (6.0 - inches(8), 0.0, 3.0)
    small = place_one(ELL, [Drawn("Box A", position)])
    assert not small.reading.bends[0].in_fitting
    sized = FittingEntry("Box A", size_m=(inches(24), inches(12), inches(8)))
    large = place_one(ELL, [Drawn("Box A", position)], [sized])
    assert large.reading.bends[0].in_fitting
    assert stands(large)[1] == ("Box A", 6.0, True)
    assert large.fittings[1].size_m == sized.size_m


def test_stated_sizes_are_said_not_to_be_checked_once_a_run():
    sizes = {"Box A": (inches(24), inches(12), inches(8)), "Box B": (inches(6),)}
    found = [Drawn(name, (at_m, 0.0, 3.0)) for name, at_m in zip(sizes, (2.0, 4.0), strict=True)]
    entries = [FittingEntry(name, size_m=size) for name, size in sizes.items()]
    run = place_one(ELL, found, entries)
    told = finding(run, "size-not-checked")
    assert told.severity is Severity.NOTE
    assert told.message.startswith("the size of Box A, Box B is not checked (NEC 314.28")
    assert told.fittings == ("Box A", "Box B")
    assert "size-not-checked" not in codes(place_one(ELL, found))


def test_stated_size_reaches_from_the_middle_of_the_fitting():
    # 24 in long: half of it lies on either side, a corner 13 in away stays outside
    sized = FittingEntry("Box A", size_m=(inches(24), inches(12), inches(8)))
    run = place_one(ELL, [Drawn("Box A", (6.0 - inches(13), 0.0, 3.0))], [sized], radius_m=0.2)
    assert not run.reading.bends[0].in_fitting


def test_corner_belongs_to_the_nearer_of_two_fittings():
    near, far = Drawn("Near", (6.0, 0.02, 3.0)), Drawn("Far", (6.0 - inches(5), 0.0, 3.0))
    run = place_one(ELL, [far, near])
    assert stands(run)[1:3] == [("Far", 6.0 - inches(5), True), ("Near", 6.0, True)]


def test_csv_fitting_stands_on_its_vertex():
    run = place_one(ELL, [Drawn("Box A", ELL[1], path=0, vertex=1, where="row 3")])
    assert stands(run)[1] == ("Box A", 6.0, True)
    assert run.reading.bends[0].in_fitting


def test_station_near_a_corner_moves_to_it_with_a_note():
    run = place_one(ELL, entries=[FittingEntry("Box A", at_m=5.9, kind=FittingKind.PULL_BOX)])
    assert stands(run)[1] == ("Box A", 6.0, True)
    assert "19.4 ft" in finding(run, "fitting-moved").message
    assert run.reading.bends[0].in_fitting


def test_stations_count_with_the_corners_in_fittings_already_kept():
    # the corner at 6 m is kept, so the second station counts along the longer line
    entries = [FittingEntry("Box A", at_m=5.9), FittingEntry("Box B", at_m=8.0)]
    run = place_one(ELL, entries=entries)
    assert stands(run)[1:3] == [("Box A", 6.0, True), ("Box B", 8.0, True)]
    assert run.fittings[2].position_m == pytest.approx((6.0, 2.0, 3.0))


def test_no_radius_is_needed_where_all_corners_stand_in_fittings():
    boxes = [Drawn("A", ELL[1]), Drawn("B", ELL[2])]
    run = place_one(ELL, boxes, radius_m=None)
    assert [bend.in_fitting for bend in run.reading.bends] == [True, True]
    with pytest.raises(RouteError, match="no bend radius"):
        place_one(ELL, boxes[:1], radius_m=None)
    elsewhere = [replace(box, layout="Layout1") for box in boxes]
    with pytest.raises(RouteError, match="no bend radius"):
        place_one(ELL, elsewhere, radius_m=None)


def test_wider_snap_does_not_stand_for_a_radius():
    box = Drawn("A", (6.0, 1.0, 3.0))
    with pytest.raises(RouteError, match="no bend radius"):
        place_one(ELL[:3], [box], radius_m=None, snap_m=3.0)
    sized = FittingEntry("A", size_m=(2.5, 2.5, 1.0))
    run = place_one(ELL[:3], [box], [sized], radius_m=None)
    assert [bend.in_fitting for bend in run.reading.bends] == [True]


def test_box_at_a_corner_mends_a_leg_too_short_for_its_bends():
    short = [(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (3.0, 0.3, 0.0), (6.0, 0.3, 0.0)]
    assert "corner-too-short" in [f.code for f in place_one(short).reading.findings]
    run = place_one(short, [Drawn("Box A", short[1])])
    assert [f.code for f in run.reading.findings if f.severity is Severity.ERROR] == []


def test_vertex_of_a_chord_run_is_no_corner():
    angles = [radians(a) for a in range(0, 91, 15)]
    arc = [(3.0 + 0.5 * sin(a), 0.5 * (1.0 - cos(a)), 0.0) for a in angles]
    points = [(0.0, 0.0, 0.0), *arc, (3.5, 4.0, 0.0)]
    run = place_one(points, [Drawn("Box A", arc[3])])
    assert [bend.in_fitting for bend in run.reading.bends] == [False, False]
    assert sum(bend.angle_rad for bend in run.reading.bends) == pytest.approx(pi / 2)
    assert finding(run, "fitting-in-bend").severity is Severity.CAUTION


# bends


def test_fitting_in_a_true_arc_splits_the_bend_with_a_caution():
    middle = (3.0 + 0.5 / sqrt(2), 0.5 - 0.5 / sqrt(2), 0.0)
    run = place_one([bent()], [Drawn("Box A", middle)])
    assert stands(run)[1] == ("Box A", 3.0 + 0.5 * pi / 4, True)
    assert [bend.number for bend in run.reading.bends] == [1, 2]
    assert [bend.angle_rad for bend in run.reading.bends] == pytest.approx([pi / 4, pi / 4])
    assert run.reading.bends[0].end_station_m == pytest.approx(run.fittings[1].station_m)
    caution = finding(run, "fitting-in-bend")
    assert caution.severity is Severity.CAUTION
    assert "counted in two parts" in caution.message


def test_bend_is_whole_where_the_fitting_in_it_is_no_pull_point():
    middle = (3.0 + 0.5 / sqrt(2), 0.5 - 0.5 / sqrt(2), 0.0)
    entry = FittingEntry("Body", pull_point=False)
    run = place_one([bent()], [Drawn("Body", middle, FittingKind.CONDUIT_BODY)], [entry])
    assert len(run.reading.bends) == 1
    assert "fitting-in-bend" in codes(run)


def test_fitting_half_an_inch_into_a_bend_stands_at_its_end():
    run = place_one([bent()], entries=[FittingEntry("Box A", at_m=3.0 + inches(0.5))])
    assert stands(run)[1] == ("Box A", 3.0, True)
    assert len(run.reading.bends) == 1
    assert "0.5 in inside a bend" in finding(run, "fitting-moved").message
    # the arc ends a quarter of 0.5 m later; half an inch before that it stands at that end
    end_m = 3.0 + 0.25 * pi
    run = place_one([bent()], entries=[FittingEntry("Box A", at_m=end_m - inches(0.5))])
    assert stands(run)[1] == ("Box A", end_m, True)
    assert len(run.reading.bends) == 1


def test_fitting_beside_a_corner_but_not_on_it_splits_its_bend():
    at = (6.0 - inches(7), 0.0, 3.0)
    run = place_one(ELL, [Drawn("Box A", at)])
    assert len(run.reading.bends) == 3
    assert sum(bend.angle_rad for bend in run.reading.bends) == pytest.approx(pi)
    assert "state its size" in finding(run, "fitting-in-bend").message


# two near one place, ends


def test_second_of_two_fittings_near_one_station_is_no_pull_point():
    boxes = [Drawn("B", (2.0 + 0.9 * NEAR_M, 0.0, 3.0)), Drawn("A", (2.0, 0.0, 3.0))]
    run = place_one(ELL, boxes)
    assert [(f.name, f.pull_point) for f in run.fittings[1:3]] == [("A", True), ("B", False)]
    caution = finding(run, "fittings-near")
    assert caution.severity is Severity.CAUTION
    assert "0.9 in apart" in caution.message


def test_two_fittings_more_than_an_inch_apart_are_two_pull_points():
    boxes = [Drawn("B", (2.0 + 1.1 * NEAR_M, 0.0, 3.0)), Drawn("A", (2.0, 0.0, 3.0))]
    run = place_one(ELL, boxes)
    assert [f.pull_point for f in run.fittings] == [True] * 4
    assert codes(run) == []


def test_pull_point_is_kept_where_the_first_of_two_is_none():
    boxes = [Drawn("A", (2.0, 0.0, 3.0)), Drawn("B", (2.01, 0.0, 3.0))]
    run = place_one(ELL, boxes, [FittingEntry("A", pull_point=False)])
    assert [(f.name, f.pull_point) for f in run.fittings[1:3]] == [("A", False), ("B", True)]
    assert codes(run) == []


@pytest.mark.parametrize("away_m", [0.0, inches(5)])
def test_fitting_within_snap_of_an_end_names_it(away_m):
    panel = Drawn("Panel P1", (away_m, 0.0, 3.0), FittingKind.PANEL)
    run = place_one(ELL, [panel])
    assert stands(run) == [("Panel P1", 0.0, True), ("end", LENGTH_M, True)]
    assert run.fittings[0].kind is FittingKind.PANEL
    assert run.fittings[0].position_m == pytest.approx(ELL[0])


def test_nearer_of_two_at_an_end_names_it_and_the_other_is_listed():
    found = [Drawn("Box A", (inches(4), 0.0, 3.0)), Drawn("P1", (0.01, 0.0, 3.0))]
    run = place_one(ELL, found)
    assert stands(run)[:2] == [("P1", 0.0, True), ("Box A", inches(4), False)]
    assert finding(run, "fittings-near").severity is Severity.CAUTION
    asked = place_one(ELL, found, [FittingEntry("Box A", pull_point=True)])
    assert stands(asked)[1] == ("Box A", inches(4), True)


def test_no_leg_without_length_at_an_end_even_if_asked_for():
    found = [Drawn("Box A", ELL[-1]), Drawn("P1", ELL[-1], FittingKind.PANEL)]
    run = place_one(ELL, found, [FittingEntry("Box A", pull_point=True)])
    assert [(f.name, f.pull_point) for f in run.fittings] == [
        ("start", True),
        ("Box A", False),
        ("P1", True),
    ]


# names and the job


def test_fittings_of_one_name_are_numbered_along_the_run():
    found = [Drawn("JB", (4.0, 0.0, 3.0)), Drawn("JB", (2.0, 0.0, 3.0)), Drawn("JB 2", ELL[0])]
    run = place_one(ELL, found)
    assert [f.name for f in run.fittings] == ["JB 2", "JB 1", "JB 3", "end"]
    assert "2 fittings are called JB" in finding(run, "name-repeated").message
    with pytest.raises(JobError, match='could be any of "JB 1", "JB 3"'):
        place_one(ELL, found, [FittingEntry("JB", passage=Passage.THROUGH)])


def test_job_that_goes_by_a_number_along_the_run_is_a_caution():
    found = [Drawn("JB", (4.0, 0.0, 3.0)), Drawn("JB", (2.0, 0.0, 3.0)), Drawn("JB 2", ELL[0])]
    run = place_one(ELL, found, [FittingEntry("JB 1", passage=Passage.THROUGH)])
    assert finding(run, "fitting-number").fittings == ("JB 1",)
    own = place_one(ELL, found, [FittingEntry("JB 2", passage=Passage.THROUGH)])
    assert "fitting-number" not in {one.code for one in own.findings}


def test_job_sets_a_drawn_fitting_by_name():
    entry = FittingEntry(
        "box a",
        kind=FittingKind.JUNCTION_BOX,
        passage=Passage.THROUGH,
        pull_point=False,
        feed_tension_n=9.0,
        size_m=(0.3,),
    )
    box = place_one(ELL, [Drawn("Box A", (2.0, 0.0, 3.0))], [entry]).fittings[1]
    assert (box.name, box.kind, box.pull_point) == ("Box A", FittingKind.JUNCTION_BOX, False)
    assert (box.passage, box.passage_stated) == (Passage.THROUGH, True)
    assert (box.feed_tension_n, box.size_m) == (9.0, (0.3,))


def test_stated_refeed_counts_as_stated():
    entry = FittingEntry("Box A", passage=Passage.REFEED)
    box = place_one(ELL, [Drawn("Box A", (2.0, 0.0, 3.0))], [entry]).fittings[1]
    assert box.passage_stated


def test_job_places_by_station_and_by_point():
    entries = [
        FittingEntry("Box A", kind=FittingKind.HANDHOLE, at_m=2.0),
        FittingEntry("Box B", position_m=(4.0, 0.05, 3.0)),
    ]
    run = place_one(ELL, entries=entries)
    assert stands(run)[1:3] == [("Box A", 2.0, True), ("Box B", 4.0, True)]
    assert [f.kind for f in run.fittings[1:3]] == [FittingKind.HANDHOLE, FittingKind.PULL_BOX]
    assert "Box B has no kind" in finding(run, "kind-assumed").message


def test_unnamed_ends_can_be_set_by_the_job():
    entries = [
        FittingEntry("start", kind=FittingKind.PANEL, feed_tension_n=5.0),
        FittingEntry("end", pull_point=False),
    ]
    run = place_one(ELL, entries=entries)
    assert (run.fittings[0].kind, run.fittings[0].feed_tension_n) == (FittingKind.PANEL, 5.0)
    assert run.fittings[1].pull_point


@pytest.mark.parametrize("at_m", [0.0, 0.02])
def test_station_zero_names_the_start(at_m):
    run = place_one(ELL, entries=[FittingEntry("Panel P1", kind=FittingKind.PANEL, at_m=at_m)])
    assert stands(run)[0] == ("Panel P1", 0.0, True)
    assert len(run.fittings) == 2


@pytest.mark.parametrize("at_m", [-0.1, 13.5])
def test_station_outside_the_run_is_refused_with_its_length(at_m):
    with pytest.raises(JobError, match=r"outside feeder, which is 42\.\d ft long"):
        place_one(ELL, entries=[FittingEntry("Box A", at_m=at_m)])


def test_station_counts_on_the_run_as_it_is_read_in_the_end():
    # outside the run with two bends, inside the one with a box at its first corner
    at_m = LENGTH_M + CORNER_LOSS_M / 2
    run = place_one(ELL, [Drawn("Box A", ELL[1])], [FittingEntry("Box B", at_m=at_m)])
    assert stands(run)[2] == ("Box B", at_m, True)


def test_far_point_of_the_job_is_a_caution():
    run = place_one(ELL, entries=[FittingEntry("Box A", position_m=(2.0, 1.0, 3.0))])
    assert '[[fittings]] "Box A"' in finding(run, "fitting-far").where


def test_settings_for_a_fitting_left_out_as_too_far_are_no_second_fault():
    found = [Drawn("Box A", (2.0, 1.0, 3.0))]
    run = place_one(ELL, found, [FittingEntry("Box A", passage=Passage.THROUGH)])
    assert codes(run) == ["fitting-far"]


def test_place_in_the_job_mends_a_drawn_fitting_left_out_as_too_far():
    found = [Drawn("Box A", (2.0, 1.0, 3.0))]
    run = place_one(ELL, found, [FittingEntry("Box A", at_m=2.0)])
    assert stands(run)[1] == ("Box A", 2.0, True)


def two_runs():
    return [lines(ELL, "feeder 1"), lines([(x, y + 5, z) for x, y, z in ELL], "feeder 2")]


@pytest.mark.parametrize(
    ("entries", "message"),
    [
        ([FittingEntry("Bxo A")], 'Did you mean "Box A"'),
        ([FittingEntry("Box A", at_m=2.0)], "of that name is drawn .*handle 2F"),
        ([FittingEntry("New", at_m=2.0)], 'no run: add run, one of "feeder 1", "feeder 2"'),
        ([FittingEntry("New", at_m=2.0, run="fedder")], 'run "fedder", which is none of'),
        ([FittingEntry("New", at_m=2.0, position_m=ELL[0])], "both at and position"),
        ([FittingEntry("Box A"), FittingEntry("box  a")], "stands twice"),
        ([FittingEntry("New", kind=FittingKind.END, at_m=2.0, run="feeder 1")], "called an end"),
    ],
)
def test_entry_that_cannot_be_used_is_refused(entries, message):
    with pytest.raises(JobError, match=message):
        place(two_runs(), [Drawn("Box A", (2.0, 0.0, 3.0))], entries)


@pytest.mark.parametrize(
    "panel", [[Drawn("P1", ELL[0])], [FittingEntry("P1", at_m=0.0), FittingEntry("start")]]
)
def test_end_that_has_a_name_is_not_called_start(panel):
    found = [one for one in panel if isinstance(one, Drawn)]
    entries = [one for one in panel if isinstance(one, FittingEntry)] or [FittingEntry("start")]
    with pytest.raises(JobError, match='that end is called "P1"'):
        place_one(ELL, found, entries)


def test_entry_sets_like_fittings_on_all_runs_or_on_one():
    found = [Drawn("Box", (2.0, 0.0, 3.0)), Drawn("Box", (2.0, 5.0, 3.0))]
    both = place(two_runs(), found, [FittingEntry("Box", passage=Passage.THROUGH)])
    assert [run.fittings[1].passage for run in both] == [Passage.THROUGH, Passage.THROUGH]
    assert codes(both[0]) == ["entry-on-several-runs"]
    one = place(two_runs(), found, [FittingEntry("Box", run="Feeder 2", passage=Passage.THROUGH)])
    assert [run.fittings[1].passage for run in one] == [Passage.REFEED, Passage.THROUGH]


def spelled(*names):
    return [lines([(x, y + 5.0 * n, z) for x, y, z in ELL], one) for n, one in enumerate(names)]


@pytest.mark.parametrize(("run", "on"), [("FDR", 0), ("fdr", 1)])
def test_exact_name_of_a_run_means_it_beside_one_that_differs_in_capitals(run, on):
    entries = [FittingEntry("New", FittingKind.PULL_BOX, at_m=2.0, run=run)]
    runs = place(spelled("FDR", "fdr"), entries=entries)
    assert [len(placed.fittings) for placed in runs] == [2 + (on == 0), 2 + (on == 1)]
    both = [*entries, replace(entries[0], run={"FDR": "fdr", "fdr": "FDR"}[run])]
    runs = place(spelled("FDR", "fdr"), entries=both)
    assert [len(placed.fittings) for placed in runs] == [3, 3]
    drawn = [Drawn("Box", (2.0, 0.0, 3.0)), Drawn("Box", (2.0, 5.0, 3.0))]
    entry = FittingEntry("Box", run=run, passage=Passage.THROUGH)
    runs = place(spelled("FDR", "fdr"), drawn, [entry])
    ways = [placed.fittings[1].passage for placed in runs]
    assert [way is Passage.THROUGH for way in ways] == [on == 0, on == 1]


def test_name_of_a_run_that_several_are_like_is_refused():
    entry = FittingEntry("New", FittingKind.PULL_BOX, at_m=2.0, run="Fdr")
    with pytest.raises(JobError, match='run "Fdr", which could be any of "FDR", "fdr": write'):
        place(spelled("FDR", "fdr"), entries=[entry])
    assert len(place(spelled("FDR", "x"), entries=[entry])[0].fittings) == 3


def test_every_path_is_read_once_where_no_corner_is_held():
    calls = []
    path = lines(ELL)
    read = partial(read_bends, path, corner_radius_m=RADIUS_M)

    def counted(kept):
        calls.append(kept)
        return read(kept_vertices=kept)

    place_fittings([PathToPlace("a", path, counted)], [Drawn("A", (2.0, 0.0, 3.0))], JOB)
    assert calls == [frozenset()]


# --- by the drawn symbol ----------------------------------------------------------------------


def symbol(name, position, low, high, kind=FittingKind.PULL_BOX):
    return Drawn(name, position, kind, extents_m=(low, high))


STRAIGHT = [(0.0, 0.0, 0.0), (10.0, 0.0, 0.0)]


def test_box_inserted_off_the_line_but_drawn_across_it_stands_at_its_middle() -> None:
    box = symbol("Box A", (4.0, -0.3, 0.0), (4.0, -0.3, 0.0), (4.6, 0.3, 0.0))
    (run,) = place_fittings([to_place(lines(STRAIGHT))], [box], JOB)
    (fitting,) = [f for f in run.fittings if f.name == "Box A"]
    assert fitting.station_m == pytest.approx(4.3)
    (said,) = [f for f in run.findings if f.code == "fitting-by-symbol"]
    assert "11.81 in" in said.message
    assert "drawn on the line" in said.message
    assert "symbol was measured" in said.message


def test_box_whose_symbol_is_too_far_too_is_left_out_with_both_distances() -> None:
    box = symbol("Box A", (4.0, -0.9, 0.0), (4.0, -0.9, 0.0), (4.6, -0.3, 0.0))
    (run,) = place_fittings([to_place(lines(STRAIGHT))], [box], JOB)
    assert [f.name for f in run.fittings] == ["start", "end"]
    (said,) = [f for f in run.findings if f.code == "fitting-far"]
    assert "35.43 in (its symbol 11.81 in)" in said.message


def test_panel_drawn_up_to_an_end_names_that_end() -> None:
    panel = symbol(
        "Panel P1", (-1.0, -0.2, 0.0), (-1.0, -0.2, 0.0), (0.0, 0.2, 0.0), FittingKind.PANEL
    )
    (run,) = place_fittings([to_place(lines(STRAIGHT))], [panel], JOB)
    assert run.fittings[0].name == "Panel P1"
    assert run.fittings[0].kind is FittingKind.PANEL
    (said,) = [f for f in run.findings if f.code == "fitting-by-symbol"]
    assert "is the run's start" in said.message


def test_panel_inserted_on_the_line_with_its_symbol_over_the_end_names_that_end() -> None:
    panel = symbol(
        "Panel P1", (0.4, 0.0, 0.0), (-0.1, -0.2, 0.0), (0.9, 0.2, 0.0), FittingKind.PANEL
    )
    (run,) = place_fittings([to_place(lines(STRAIGHT))], [panel], JOB)
    assert [f.name for f in run.fittings] == ["Panel P1", "end"]
    assert "fitting-by-symbol" not in [f.code for f in run.findings]


def test_corner_under_a_drawn_symbol_is_inside_the_fitting() -> None:
    box = symbol("Box A", (5.7, -0.3, 3.0), (5.7, -0.3, 3.0), (6.3, 0.3, 3.0))
    (run,) = place_fittings([to_place(lines(ELL))], [box], JOB)
    assert [b.in_fitting for b in run.reading.bends] == [True, False]


def test_symbol_drawn_across_two_runs_stands_on_one_and_says_the_other() -> None:
    other = [(0.0, 0.5, 0.0), (10.0, 0.5, 0.0)]
    box = symbol("Box A", (4.0, -0.4, 0.0), (4.0, -0.4, 0.0), (4.4, 0.7, 0.0))
    runs = place_fittings([to_place(lines(STRAIGHT)), to_place(lines(other, "other"))], [box], JOB)
    assert ["Box A" in [f.name for f in run.fittings] for run in runs] == [True, False]
    (said,) = [f for f in runs[1].findings if f.code == "fitting-beside"]
    assert "drawn across this one too" in said.message


def test_two_runs_that_end_at_one_panel_symbol_both_name_it() -> None:
    other = [(0.0, 0.8, 0.0), (10.0, 0.8, 0.0)]
    panel = symbol(
        "Panel P1", (-0.1, 0.0, 0.0), (-0.1, 0.0, 0.0), (0.0, 1.0, 0.0), FittingKind.PANEL
    )
    runs = place_fittings(
        [to_place(lines(STRAIGHT)), to_place(lines(other, "other"))], [panel], JOB
    )
    assert [run.fittings[0].name for run in runs] == ["Panel P1", "Panel P1"]


@given(
    st.tuples(*[st.floats(-3, 3)] * 3),
    st.tuples(*[st.floats(0, 1)] * 3),
    st.sampled_from([0, 1]),
)
@settings(max_examples=60, deadline=None)
def test_distance_to_a_symbol_is_that_of_its_nearest_point(low, size, shape) -> None:
    path = [lines([(-2.0, -1.0, 0.5), (3.0, 1.0, -0.5)]), bent()][shape]
    reach = Reach(path, to_place(path).read(frozenset()))
    high = tuple(a + b for a, b in zip(low, size, strict=True))
    line = reach.centerline
    best = min(
        sqrt(sum(max(lo - p, 0.0, p - hi) ** 2 for lo, p, hi in zip(low, row, high, strict=True)))
        for row in line.points_at([line.length_m * k / 2000 for k in range(2001)])
    )
    # samples of the centerline stand up to 2.5 mm apart
    assert reach.symbol_distance_m((low, high)) == pytest.approx(best, abs=2.5e-3)


# --- survey points ----------------------------------------------------------------------------


def surveyed_corner(*, skip_corner):
    """Points every 3 in along a right angle with its corner at (3, 0, 0), 2 mm off either way."""
    along = np.arange(0.0, 3.0 + 1e-9, 0.075)
    if skip_corner:
        along = along[:-1] + 0.03
    legs = [np.column_stack([along, 0 * along, 0 * along])]
    legs.append(np.column_stack([3.0 + 0 * along, along + 0.075, 0 * along]))
    rows = np.concatenate(legs)
    return lines((rows + np.random.default_rng(8).normal(size=rows.shape) * 0.002).tolist())


@pytest.mark.parametrize("skip_corner", [False, True])
def test_surveyed_corner_at_a_box_is_no_bend_wherever_its_points_stand(skip_corner) -> None:
    path = surveyed_corner(skip_corner=skip_corner)
    read = partial(_read_survey, path)
    box = Drawn("Box A", (3.04, -0.03, 0.0))
    (run,) = place_fittings([PathToPlace("feeder", path, read)], [box], JOB)
    (fitting,) = [f for f in run.fittings if f.name == "Box A"]
    (corner,) = run.reading.bends
    assert corner.in_fitting
    assert corner.station_m == fitting.station_m
    # two straights of 40 points with 2 mm each: better than 0.2°
    assert corner.angle_rad == pytest.approx(pi / 2, abs=radians(0.2))
    # where the lines meet, which no point marks
    assert fitting.position_m == pytest.approx((3.0, 0.0, 0.0), abs=0.003)


@pytest.mark.parametrize("spacing_m", [0.3, 0.5])
def test_surveyed_corner_far_from_its_nearest_points_is_kept_at_a_box_too(spacing_m) -> None:
    along = np.arange(spacing_m / 2.0, 8.0, spacing_m)
    legs = [np.column_stack([3.0 - along[::-1], 0 * along, 0 * along])]
    legs.append(np.column_stack([3.0 + 0 * along, along, 0 * along]))
    rows = np.concatenate(legs)
    path = lines((rows + np.random.default_rng(2).normal(size=rows.shape) * 0.002).tolist())
    read = partial(_read_survey, path)
    box = Drawn("Box A", (3.02, -0.02, 0.0))
    (run,) = place_fittings([PathToPlace("feeder", path, read)], [box], JOB)
    (fitting,) = [f for f in run.fittings if f.name == "Box A"]
    (corner,) = run.reading.bends
    assert corner.in_fitting
    assert corner.station_m == fitting.station_m
    assert fitting.position_m == pytest.approx((3.0, 0.0, 0.0), abs=0.005)


def _read_survey(path, kept):
    return read_bends(path, corner_radius_m=RADIUS_M, kept_vertices=kept, accuracy_m=0.002)
