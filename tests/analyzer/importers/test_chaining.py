"""Loose lines and arcs joined end to end; what is joined, split and left out is said.

One long file, because all tests share the loose pieces made at its top.
"""

from __future__ import annotations

import cProfile
import gc
from dataclasses import replace
from itertools import pairwise
from math import cos, pi, radians, sin
from random import Random

import numpy as np
import pytest

from analyzer.findings import Severity
from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.segments import Arc, Straight, norm, unit
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.chains import Box
from analyzer.importers.chaining.drawn_curves import DrawnCurve, reversed_edges

JOIN_M = 0.0254 / 16
SNAP_M = 6 * 0.0254


def line(*points, layer="RUN", handle="1", kind=None):
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(points))
    kind = kind or ("LINE" if len(edges) == 1 else "LWPOLYLINE")
    return DrawnCurve(edges, kind, layer, handle)


def at(x, y, z=0.0):
    return (float(x), float(y), float(z))


def arc(center, radius, start_deg, sweep_deg, handle="A"):
    t = radians(start_deg)
    start = (center[0] + radius * np.cos(t), center[1] + radius * np.sin(t), center[2])
    start = tuple(float(v) for v in start)
    axis = (0.0, 0.0, 1.0 if sweep_deg > 0 else -1.0)
    sweep, parts = radians(abs(sweep_deg)), 1 if abs(sweep_deg) <= 180 else 2
    edges = [DrawnEdge(Arc(start, center, axis, sweep / parts), DrawnAs.ARC)]
    if parts == 2:
        edges.append(DrawnEdge(Arc(edges[0].segment.end_m, center, axis, sweep / 2), DrawnAs.ARC))
    return DrawnCurve(tuple(edges), "ARC", "RUN", handle)


def chain(curves, boxes=(), join_m=JOIN_M, snap_m=SNAP_M):
    return chain_curves(curves, join_m, snap_m, boxes)


def codes(chains):
    return [finding.code for finding in chains.findings]


def message(chains, code):
    found = [finding for finding in chains.findings if finding.code == code]
    assert len(found) == 1, codes(chains)
    return found[0].message


def random_route(random, pieces):
    """A route of straights and arcs in space, one curve each."""
    point = np.array([random.uniform(-5, 5) for _ in range(3)])
    way = np.array(unit(tuple(random.gauss(0, 1) for _ in range(3))))
    curves = []
    for index in range(pieces):
        start = tuple(float(v) for v in point)
        if index % 2 == 0:
            point = point + way * random.uniform(1, 4)
            segment = Straight(start, tuple(float(v) for v in point))
        else:
            axis = np.cross(way, [random.gauss(0, 1) for _ in range(3)])
            axis /= np.linalg.norm(axis)
            center = point + np.cross(axis, way) * random.uniform(0.3, 0.9)
            segment = Arc(
                start, tuple(map(float, center)), tuple(map(float, axis)), random.uniform(0.2, 1.6)
            )
            point, way = np.array(segment.end_m), np.array(segment.end_tangent)
        kind = DrawnAs.ARC if isinstance(segment, Arc) else DrawnAs.LINE
        curves.append(DrawnCurve((DrawnEdge(segment, kind),), "LINE", "RUN", str(index)))
    return curves


@pytest.mark.parametrize("seed", range(25))
def test_shuffled_and_turned_pieces_become_the_route_they_came_from(seed):
    random = Random(seed)
    route = random_route(random, random.randint(2, 30))
    loose = [
        DrawnCurve(reversed_edges(c.edges), c.kind, c.layer, c.handle)
        if random.random() < 0.5
        else c
        for c in route
    ]
    random.shuffle(loose)
    chains = chain(loose)
    (only,) = chains.chains
    expected = np.array([c.start_m for c in route] + [route[-1].end_m])
    got = only.path.vertices_m
    if np.linalg.norm(got[0] - expected[0]) > 1e-9:
        expected = expected[::-1]
    assert got == pytest.approx(expected, abs=1e-12)
    assert tuple(got[0]) <= tuple(got[-1])
    assert not chains.findings
    assert not only.is_ordered


def test_a_single_polyline_keeps_its_own_direction():
    (only,) = chain([line(at(9, 0), at(5, 0), at(0, 0))]).chains
    assert only.is_ordered
    assert only.path.vertices_m[0] == pytest.approx([9, 0, 0])


def test_file_order_decides_which_run_comes_first():
    first, second = line(at(50, 0), at(60, 0)), line(at(0, 0), at(9, 0))
    chains = chain([first, second]).chains
    assert [c.path.vertices_m[0][0] for c in chains] == [50, 0]


def test_gap_between_two_lines_is_closed_where_they_meet_and_reported():
    gap = JOIN_M / 2
    chains = chain([line(at(0, 0), at(5 - gap, 0)), line(at(5, gap / 2), at(5, 4), handle="2")])
    (only,) = chains.chains
    assert only.path.vertices_m == pytest.approx(np.array([at(0, 0), at(5, 0), at(5, 4)]))
    text = message(chains, "gap-bridged")
    assert "1 gap bridged" in text
    assert f"up to {JOIN_M:.4g} m" in text
    (found,) = chains.findings
    assert "layer RUN, LINE 1 and layer RUN, LINE 2" in found.where


@pytest.mark.parametrize("side", [5e-4, JOIN_M])
def test_lines_that_only_a_sideways_gap_makes_turn_are_one_straight(side):
    up = (2 + side * 0.5, 1 - side * 3**0.5 / 2)
    low, high = at(0, 1 - 2 / 3**0.5), at(4, 1 + 2 / 3**0.5)
    pieces = [(at(-3, low[1]), low), (low, at(2, 1)), (at(*up), high), (high, at(9, high[1]))]
    chains = chain([line(a, b, handle=str(i)) for i, (a, b) in enumerate(pieces)])
    (only,) = chains.chains
    assert only.path.vertices_m == pytest.approx(np.array([pieces[0][0], low, high, pieces[3][1]]))
    assert max(edge.bridged_m for edge in only.path.edges) == pytest.approx(side)
    text = message(chains, "gap-straightened")
    assert text.startswith("lines on both sides of 1 bridged gap are read as one straight")


def test_jogs_of_gaps_go_whatever_the_length_of_the_piece_between():
    for long_m in (0.1 * JOIN_M, 20 * JOIN_M, 100 * JOIN_M):
        middle = line(at(3, JOIN_M), at(3 + long_m, JOIN_M), handle="2")
        chains = chain([line(at(0, 0), at(3, 0)), middle, line(at(3 + long_m, 0), at(9, 0))])
        assert len(chains.chains[0].path.edges) == 1


def test_a_vertex_that_turns_nothing_goes_with_the_gap_beside_it():
    chains = chain([line(at(0, 0), at(2, 0), at(3, 0)), line(at(3, JOIN_M), at(9, JOIN_M))])
    assert len(chains.chains[0].path.edges) == 1


@pytest.mark.parametrize("turn", [0.02, 0.2])
def test_a_turn_that_was_drawn_stays_beside_a_gap(turn):
    end = at(3 + 0.05 * np.cos(turn), JOIN_M / 2 + 0.05 * np.sin(turn))
    chains = chain([line(at(2.95, 0), at(3, 0)), line(at(3, JOIN_M / 2), end, handle="2")])
    assert len(chains.chains[0].path.edges) == 2
    assert "gap-straightened" not in codes(chains)


def test_gap_beside_an_arc_moves_the_line_and_leaves_the_arc():
    bend = arc(at(5, 1), 1.0, 270, 90)
    chains = chain([line(at(0, 0), at(4.9992, 0.0004)), bend])
    (only,) = chains.chains
    assert only.path.edges[1].segment == bend.edges[0].segment
    assert only.path.edges[0].segment.end_m == bend.start_m


def test_gap_between_two_arcs_turns_one_a_little_and_keeps_both_arcs():
    a = arc(at(0, 1), 1.0, 270, 90, handle="1")
    b = arc(at(2.0005, 1.0003), 1.0, 180, -60, handle="2")
    (only,) = chain([a, b]).chains
    edges = only.path.edges
    assert [edge.drawn_as for edge in edges] == [DrawnAs.ARC, DrawnAs.ARC]
    assert norm(np.subtract(edges[0].segment.end_m, edges[1].segment.start_m)) < 1e-12
    assert edges[0].segment.angle_rad == pytest.approx(pi / 2)
    assert edges[1].segment.radius_m == pytest.approx(1.0, abs=1e-3)
    outer = (edges[0].segment.start_m, edges[1].segment.end_m)
    assert outer[0] == pytest.approx(a.start_m, abs=1e-12)
    assert outer[1] == pytest.approx(b.end_m, abs=1e-12)


def test_gap_beside_a_long_arc_moves_both_its_halves_as_one():
    long = arc(at(0, 0), 1.0, 0, 270)
    other = arc(at(0.0006, -2.0), 1.0, 90, -45, handle="2")
    (only,) = chain([long, other]).chains
    halves = [edge.segment for edge in only.path.edges if edge.segment.angle_rad > 2]
    assert len(halves) == 2
    assert halves[0].radius_m == pytest.approx(halves[1].radius_m, rel=1e-12)
    assert norm(np.subtract(halves[0].center_m, halves[1].center_m)) < 1e-12


def test_gap_wider_than_the_joining_distance_stays_and_is_a_caution():
    chains = chain([line(at(0, 0), at(5, 0)), line(at(5.01, 0), at(9, 0))])
    assert len(chains.chains) == 2
    assert "0.01 m apart, facing each other" in message(chains, "gap-not-bridged")


def test_ends_side_by_side_are_no_gap():
    chains = chain([line(at(0, 0), at(5, 0)), line(at(0, 0.1), at(5, 0.1))])
    assert len(chains.chains) == 2
    assert not chains.findings


def test_stated_joining_distance_is_the_limit():
    curves = [line(at(0, 0), at(5, 0)), line(at(5.01, 0), at(9, 0))]
    assert len(chain(curves, join_m=0.011).chains) == 1
    assert len(chain(curves, join_m=0.009).chains) == 2


def test_chords_shorter_than_the_joining_distance_are_not_swallowed():
    points = [at(0.0005 * i, 0.00001 * i * i) for i in range(40)]
    chords = [line(a, b, handle=str(i)) for i, (a, b) in enumerate(pairwise(points))]
    Random(1).shuffle(chords)
    chains = chain([*chords, line(points[-1], at(5, 5))])
    (only,) = chains.chains
    assert len(only.path.edges) == 40
    assert not chains.findings


def test_branch_splits_the_run_and_asks_for_a_fitting():
    curves = [
        line(at(0, 0), at(5, 0), handle="1"),
        line(at(5, 0), at(9, 0), handle="2"),
        line(at(5, 0), at(5, 4), handle="3"),
    ]
    chains = chain(curves)
    assert len(chains.chains) == 3
    text = message(chains, "branch")
    assert "3 pieces meet at (5, 0, 0) m" in text
    assert "Put a fitting there" in text
    at_box = chain(curves, [Box("Box A", at(4.9, -0.1), at(5.1, 0.1))])
    assert len(at_box.chains) == 3
    assert [(f.code, f.severity.value) for f in at_box.findings] == [("branch", "note")]


def test_third_end_across_a_gap_is_a_branch_too():
    chains = chain([
        line(at(0, 0), at(5, 0)), line(at(5, 0), at(9, 0)), line(at(5, 0.001), at(5, 4)),
    ])  # fmt: skip
    assert len(chains.chains) == 3
    assert "3 pieces meet" in message(chains, "branch")


def test_end_on_the_middle_of_a_line_or_an_arc_is_a_tee():
    on_line = chain([line(at(0, 0), at(9, 0)), line(at(4, 0), at(4, 5))])
    assert len(on_line.chains) == 2
    assert "an end touches the middle of a run at (4, 0, 0) m" in message(on_line, "branch-tee")
    bend = arc(at(0, 0), 3.0, 0, 90)
    tip = bend.edges[0].segment.points_at([2.0])[0]
    tip = tuple(float(v) for v in tip)
    on_arc = chain([bend, line(tip, at(9, 9, 1))])
    assert "branch-tee" in codes(on_arc)


@pytest.mark.parametrize(
    ("low", "high", "is_there"),
    [
        (at(3.9, -0.1), at(4.1, 0.1), True),
        (at(3.9, -0.1, 0.1), at(4.1, 0.1, 0.1), True),
        (at(3.9, -0.1, 0.4), at(4.1, 0.1, 0.4), False),
        (at(3.9, -0.35), at(4.1, -0.05), False),
    ],
    ids=["on it", "a little above", "at another height", "beside it, only its symbol near"],
)
def test_an_end_on_the_middle_of_a_run_at_a_box_is_a_branch_that_ends_there(low, high, is_there):
    chains = chain([line(at(0, 0), at(9, 0)), line(at(4, 0), at(4, 5))], [Box("Box A", low, high)])
    (tee,) = [f for f in chains.findings if f.code == "branch-tee"]
    assert tee.severity is (Severity.NOTE if is_there else Severity.CAUTION)
    assert ("put a fitting there" in tee.message) != is_there
    assert ("at (4, 0, 0) m, at Box A: a branch that ends" in tee.message) == is_there


@pytest.mark.parametrize(
    ("branch", "words"),
    [
        (line(at(4, 0.05), at(4, 5)), "0.05 m short of the middle of a run at (4, 0.05, 0) m"),
        (line(at(4, 5), at(4, -0.05)), "0.05 m past the middle of a run at (4, -0.05, 0) m"),
        (line(at(4, 0, 0.1), at(4, 0, 3)), "0.1 m short of"),
        (line(at(4, 0.05), at(8, 0.05)), ""),
        (line(at(4, 0.2), at(4, 5)), ""),
        (line(at(8.95, 0.1), at(8.95, 5)), ""),
        (line(at(4, -3, 0.05), at(4, 3, 0.05)), ""),
    ],
    ids=["short", "past", "drop", "side by side", "far", "at the end", "crossing over"],
)
def test_an_end_that_points_at_a_run_and_just_misses_it_is_a_caution(branch, words):
    chains = chain([line(at(0, 0), at(9, 0)), branch])
    found = [f.message for f in chains.findings if f.code == "tee-missed"]
    assert len(found) == bool(words)
    assert all(words in text and "draw it up to the run" in text for text in found)


def test_an_end_at_a_box_or_on_another_run_misses_none():
    run, branch = line(at(0, 0), at(9, 0)), line(at(5, 0.05), at(5, 5))
    at_box = chain([run, branch], [Box("Box A", at(4.9, -0.1), at(5.1, 0.1))])
    assert "tee-missed" not in codes(at_box)
    behind = chain([run, line(at(0, 0.05), at(9, 0.05)), branch])
    assert "tee-missed" not in codes(behind)
    assert codes(behind).count("branch-tee") == 1


def test_of_many_ends_that_miss_a_run_the_rest_is_counted():
    branches = [line(at(2 + k, 0.05), at(2 + k, 5)) for k in range(23)]
    found = [f.message for f in chain([line(at(0, 0), at(90, 0)), *branches]).findings]
    assert len(found) == 21
    assert found[-1] == "3 more ends nearly touch the middle of a run"


def test_crossing_runs_are_no_branch():
    chains = chain([line(at(0, 0), at(9, 0)), line(at(4, -5), at(4, 5))])
    assert len(chains.chains) == 2
    assert not chains.findings


@pytest.mark.parametrize("turned", [False, True])
def test_duplicates_are_left_out_by_layer_and_handle(turned):
    first = line(at(0, 0), at(5, 0), at(5, 5), layer="A", handle="10")
    second = line(at(0, 0), at(5, 0), at(5, 5), layer="B", handle="20")
    if turned:
        second = DrawnCurve(reversed_edges(second.edges), second.kind, "B", "20")
    chains = chain([first, second])
    assert len(chains.chains) == 1
    text = message(chains, "duplicate-entity")
    assert text == (
        "LWPOLYLINE 20 on layer B lies exactly on LWPOLYLINE 10 on layer A and was left out"
    )


def test_arcs_between_the_same_ends_are_no_duplicates():
    chains = chain([arc(at(0, 0), 1.0, 0, 180, "1"), arc(at(0, 0), 1.0, 0, -180, "2")])
    assert "duplicate-entity" not in codes(chains)
    assert len(chains.loops) == 1


def test_line_lying_on_a_polyline_is_left_out():
    chains = chain([line(at(0, 0), at(9, 0), at(9, 9)), line(at(2, 0), at(6, 0), handle="7")])
    (only,) = chains.chains
    assert len(only.path.edges) == 2
    assert "LINE 7 on layer RUN lies on LWPOLYLINE 1" in message(chains, "overlapping-entity")


def test_lines_that_overlap_are_joined_without_the_shared_part():
    chains = chain([line(at(0, 0), at(10, 0)), line(at(8, 0), at(15, 0), handle="2")])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(15.0)
    assert "over 2 m; the shared part was left out once" in message(chains, "overlapping-entity")


def test_many_overlapping_lines_become_one_run():
    random = Random(5)
    pieces = [line(at(i, 0), at(i + random.uniform(1.1, 2.5), 0), handle=str(i)) for i in range(20)]
    random.shuffle(pieces)
    chains = chain(pieces)
    (only,) = chains.chains
    assert only.length_m == pytest.approx(max(p.end_m[0] for p in pieces))


def test_arc_lying_on_a_longer_arc_is_left_out():
    chains = chain([arc(at(0, 0), 2.0, 0, 120, "1"), arc(at(0, 0), 2.0, 80, -60, "2")])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(2 * radians(120))
    assert "ARC 2" in message(chains, "overlapping-entity")


def test_polylines_that_overlap_in_part_are_left_alone_with_a_caution():
    a = line(at(0, 0), at(10, 0), at(10, 5), handle="1")
    b = line(at(8, 0), at(14, 0), at(14, 7), handle="2")
    chains = chain([a, b])
    text = message(chains, "overlapping-entity")
    assert "lie on each other over 2 m, from (8, 0, 0) m to (10, 0, 0) m" in text
    assert "both are read whole" in text
    assert len(chains.chains) == 2


def test_a_polyline_drawn_partly_over_lines_is_told_as_what_was_done():
    whole = [line(at(0, 0), at(9, 0)), line(at(9, 0), at(9, 7), handle="2")]
    chains = chain([*whole, line(at(5, 0), at(9, 0), at(9, 4), handle="3")])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(16.0)
    said = [one.message for one in chains.findings if one.code == "overlapping-entity"]
    assert len(said) == 2
    assert all("the shared part was left out once" in text for text in said)


@pytest.mark.parametrize("backward", [False, True])
@pytest.mark.parametrize("aside_m", [0.0, 0.001])
def test_polylines_that_lie_on_each_other_between_their_ends_are_told(backward, aside_m):
    a = line(at(0, -6), at(0, 0), at(10, 0), at(10, 5), handle="1")
    way = [at(2, 7), at(2, aside_m), at(8, aside_m), at(8, -9)]
    chains = chain([a, line(*(reversed(way) if backward else way), handle="2")])
    text = message(chains, "overlapping-entity")
    assert "lie on each other over 6 m" in text
    assert "from (2, 0, 0) m to (8, 0, 0) m" in text
    assert [c.length_m for c in chains.chains] == pytest.approx(
        [21.0, 22.0 - 2.0 * aside_m], abs=0.01
    )
    assert (
        next(f for f in chains.findings if f.code == "overlapping-entity").severity
        is Severity.CAUTION
    )


def test_a_vertex_inside_a_longer_line_tells_that_a_polyline_lies_on_it():
    chains = chain([line(at(0, 0), at(9, 0)), line(at(2, 4), at(2, 0), at(7, 0), at(7, -4))])
    assert "over 5 m, from (2, 0, 0) m to (7, 0, 0) m" in message(chains, "overlapping-entity")


def test_polylines_that_only_cross_or_touch_at_vertices_do_not_lie_on_each_other():
    a = line(at(0, 0), at(5, 0), at(10, 0), at(10, 5), handle="1")
    across = line(at(5, -5), at(5, 0), at(5, 5), handle="2")
    above = line(at(2, 4, 1), at(2, 0, 1), at(8, 0, 1), at(8, -4, 1), handle="3")
    corner = line(at(15, 3), at(10, 0), at(15, -3), handle="4")
    assert "overlapping-entity" not in codes(chain([a, across, above, corner]))


def test_short_chords_that_cross_at_a_small_angle_do_not_lie_on_each_other():
    a = line(*(at(0.002 * i, 0) for i in range(200)), handle="1")
    b = line(*(at(0.002 * i, 0.00034 * (i - 100)) for i in range(200)), handle="2")
    assert "overlapping-entity" not in codes(chain([a, b]))


def test_many_polylines_on_one_straight_are_summed_up_and_all_read_whole():
    ways = [[at(k, 9), at(k, 0), at(50 + k, 0), at(50 + k, -9)] for k in range(8)]
    chains = chain([line(*way, handle=str(k)) for k, way in enumerate(ways)])
    told = [f.message for f in chains.findings if f.code == "overlapping-entity"]
    assert len(told) == 21 and told[-1].startswith("8 more pairs lie on each other in part")
    assert len(chains.chains) == 8


@pytest.mark.parametrize("backward", [False, True])
def test_a_stretch_shared_by_two_polylines_is_told_once_and_is_no_branch(backward):
    """They share half a leg, a whole one and half of the next; a third run does branch off."""
    way = [at(0, 0), at(4, 0), at(4, 4), at(8, 4), at(8, 12)]
    other = [at(4, 2), *way[2:]]
    first = line(*way[:4], at(8, 8), handle="1")
    second = line(*(reversed(other) if backward else other), handle="2")
    chains = chain([first, second, line(at(6, 4), at(6, 9), handle="3")])
    text = message(chains, "overlapping-entity")
    assert (
        "LWPOLYLINE 1 on layer RUN and LWPOLYLINE 2 on layer RUN lie on each other over 10 m"
        in text
    )
    assert "from (4, 2, 0) m to (8, 8, 0) m" in text
    tees = [finding.where for finding in chains.findings if finding.code == "branch-tee"]
    assert tees
    assert all("LINE 3" in where for where in tees)


def test_closed_chains_are_listed_and_not_run():
    square = [at(0, 0), at(4, 0), at(4, 4), at(0, 4), at(0, 0)]
    pieces = [line(a, b, handle=str(i)) for i, (a, b) in enumerate(pairwise(square))]
    chains = chain([*pieces, line(at(10, 0), at(20, 0))])
    assert len(chains.chains) == 1
    assert len(chains.loops) == 1
    assert "4 pieces close on themselves (16 m around)" in message(chains, "closed-loop")


def test_loop_that_hangs_on_a_branch_is_a_loop():
    square = [at(5, 0), at(9, 0), at(9, 4), at(5, 0)]
    pieces = [line(a, b) for a, b in pairwise(square)]
    chains = chain([line(at(0, 0), at(5, 0)), *pieces])
    assert len(chains.chains) == 1
    assert len(chains.loops) == 1
    assert {"branch", "closed-loop"} <= set(codes(chains))


def test_stray_bits_are_listed_and_not_run():
    chains = chain([line(at(0, 0), at(50, 0)), line(at(7, 7), at(7.05, 7), handle="99")])
    assert len(chains.chains) == 1
    assert len(chains.strays) == 1
    (found,) = chains.findings
    assert "1 stray bit" in found.message
    assert "LINE 99 (0.05 m long)" in found.where


def test_short_run_among_short_ones_is_no_stray():
    assert len(chain([line(at(0, 0), at(1, 0)), line(at(7, 7), at(7.05, 7))]).chains) == 2


BOX = Box("Box A", at(4.9, -0.1), at(5.1, 0.1))


def test_run_that_stops_on_both_sides_of_a_box_goes_through_it():
    chains = chain([line(at(0, 0), at(4.9, 0)), line(at(9, 0), at(5.1, 0))], [BOX])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(9.0)
    text = message(chains, "gap-at-fitting")
    assert "Box A, 0.2 m apart" in text
    assert not only.is_ordered


@pytest.mark.parametrize(("stop", "severity"), [(4.8, Severity.NOTE), (1.0, Severity.CAUTION)])
def test_run_that_stops_far_from_a_box_by_a_wide_snap_is_a_caution(stop, severity):
    curves = [line(at(0, 0), at(stop, 0)), line(at(20, 0), at(5.1, 0))]
    chains = chain(curves, [BOX], snap_m=4.0)
    (found,) = [one for one in chains.findings if one.code == "gap-at-fitting"]
    assert found.severity is severity
    assert ("stops 3.9 m short of the box" in found.message) is (severity is Severity.CAUTION)


@pytest.mark.parametrize(
    ("point", "half", "severity"),
    [
        (None, 0.0, Severity.CAUTION),
        (at(5, 0), 4.0, Severity.NOTE),
        (at(5, 0), 3.0, Severity.CAUTION),
    ],
)
def test_a_gap_that_the_stated_size_of_its_box_spans_is_no_caution(point, half, severity):
    box = Box("Box A", at(5, 0), at(5, 0), point_m=point, half_size_m=half)
    curves = [line(at(0, 0), at(1.0, 0)), line(at(20, 0), at(9.0, 0))]
    chains = chain(curves, [box], snap_m=4.0)
    (found,) = [one for one in chains.findings if one.code == "gap-at-fitting"]
    assert found.severity is severity
    assert ("short of the box" in found.message) is (severity is Severity.CAUTION)


def test_run_that_turns_in_a_box_meets_in_one_corner():
    chains = chain([line(at(0, 0), at(4.9, 0)), line(at(5, 0.1), at(5, 6))], [BOX])
    (only,) = chains.chains
    assert at(5, 0) in {tuple(np.round(v, 12)) for v in only.path.vertices_m}
    assert only.length_m == pytest.approx(11.0)
    assert "turn 90°" in message(chains, "gap-at-fitting")


def test_arcs_beside_a_box_go_through_it_too():
    a = arc(at(4.9, 1), 1.0, 180, 90, "1")
    b = arc(at(5.1, 1), 1.0, 0, -90, "2")
    (only,) = chain([b, a], [BOX]).chains
    assert only.length_m == pytest.approx(pi + 0.2)


def test_runs_side_by_side_at_a_box_are_kept_apart():
    chains = chain([line(at(0, 0), at(4.9, 0)), line(at(0, 0.05), at(4.9, 0.05))], [BOX])
    assert len(chains.chains) == 2
    assert "side by side" in message(chains, "ends-at-fitting")
    assert chains.findings[0].severity is Severity.NOTE


def direction(turn_deg, reach=4.0):
    """From the origin toward a turn off the x axis."""
    return reach * cos(radians(turn_deg)), reach * sin(radians(turn_deg))


@pytest.mark.parametrize(("turn_deg", "runs"), [(99.0, 1), (101.0, 2), (117.0, 2)])
def test_run_turns_by_up_to_100_degrees_in_a_box(turn_deg, runs):
    dx, dy = direction(turn_deg)
    chains = chain([line(at(0, 0), at(4.9, 0)), line(at(5, 0.1), at(5 + dx, 0.1 + dy))], [BOX])
    assert len(chains.chains) == runs
    assert codes(chains) == ["gap-at-fitting" if runs == 1 else "ends-at-fitting"]


@pytest.mark.parametrize(("turn_deg", "severity"), [(99, Severity.CAUTION), (101, Severity.NOTE)])
def test_ends_at_a_box_may_be_one_run_up_to_a_turn_of_100_degrees(turn_deg, severity):
    dx, dy = direction(turn_deg)
    rack = [line(at(0, y), at(4.9, y)) for y in (-0.05, 0.05)]
    chains = chain([*rack, line(at(5, 0.1), at(5 + dx, 0.1 + dy))], [BOX])
    (told,) = chains.findings
    assert (len(chains.chains), told.severity) == (3, severity)


@pytest.mark.parametrize("end", [at(5.2, 6), at(8, 2)])
def test_end_carried_through_one_box_is_none_of_the_box_beside_it(end):
    """The run that starts at Box B's other side must not be tied to the far end of the first."""
    boxes = [BOX, Box("Box B", at(5.1, -0.1), at(5.3, 0.1))]
    whole = [line(at(0, 0), at(4.9, 0)), line(at(5.1, 0), at(9, 0))]
    own = line(at(5.2, 0.1), end)
    chains = chain([*whole, own], boxes, snap_m=0.02)
    assert [one.length_m for one in chains.chains] == pytest.approx([9.0, own.length_m])
    assert codes(chains) == ["gap-at-fitting"]


def test_three_ends_at_a_box_stay_three_runs():
    chains = chain(
        [line(at(0, 0), at(4.9, 0)), line(at(9, 0), at(5.1, 0)), line(at(5, 0.1), at(5, 6))], [BOX]
    )
    assert len(chains.chains) == 3
    assert "3 ends stop at Box A" in message(chains, "ends-at-fitting")
    assert chains.findings[0].severity is Severity.CAUTION


@pytest.mark.parametrize(
    ("other", "severity"),
    [
        (line(at(0, 0.02), at(4.9, 0.02)), Severity.NOTE),
        (line(at(4.9, 0.02), at(4.9, 0.02, 5)), Severity.CAUTION),
        (line(at(5.1, 0), at(9, 0)), Severity.CAUTION),
    ],
    ids=["alike", "square", "opposite"],
)
def test_ends_at_a_box_are_a_caution_where_two_of_them_may_be_one_run(other, severity):
    rack = [line(at(0, y), at(4.9, y)) for y in (0.05, 0.08)]
    turned = [line(at(4.9, -0.05), at(0, -0.05))]
    chains = chain([*rack, *turned, other], [BOX])
    assert len(chains.chains) == 4
    (told,) = chains.findings
    assert (told.code, told.severity) == ("ends-at-fitting", severity)
    assert ("side by side" in told.message) is (severity is Severity.NOTE)
    assert len(told.concern.entities) == (0 if severity is Severity.NOTE else 4)


def test_run_through_several_boxes_is_one():
    boxes = [Box(f"Box {x}", at(x - 0.1, -0.1), at(x + 0.1, 0.1)) for x in (5, 10, 15)]
    pieces = [line(at(a, 0), at(b, 0)) for a, b in ((15.1, 20), (4.9, 0), (9.9, 5.1), (10.1, 14.9))]
    (only,) = chain(pieces, boxes).chains
    assert only.length_m == pytest.approx(20.0)
    assert only.path.vertices_m[0] == pytest.approx([0, 0, 0])


def test_large_coordinates_join_as_well():
    shift = 4e7
    curves = [line(at(shift + i, shift, 3), at(shift + i + 1, shift, 3)) for i in range(5)]
    (only,) = chain(curves[::-1]).chains
    assert only.length_m == pytest.approx(5.0)


def test_nothing_gives_nothing():
    chains = chain([])
    assert (chains.chains, chains.loops, chains.strays) == ((), (), ())


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (line(at(5.0, 0.05), at(5.0, 4.0)), "0.05 m apart, at a turn of 90°"),
        (line(at(5.0, 0.0, 0.1), at(5.0, 4.0, 0.1)), "0.1 m apart, at a turn of 90°"),
        (line(at(4.95, -0.1), at(4.95, 4.0)), "at a turn of 90°"),
        (line(at(5.3, 0.3), at(5.3, 4.0)), "as if a bend of radius 0.3 m were missing"),
        (line(at(5.3, 0.3, 0.0), at(5.3, 0.3, 4.0)), ""),
        (line(at(5.3, 0.6), at(5.3, 4.0)), ""),
        (line(at(5.0, 0.05), at(1.0, 0.05)), ""),
        (line(at(5.0, 2.0), at(5.0, 4.0)), ""),
    ],
    ids=["corner", "step", "overshoot", "arc", "skew", "no arc", "side by side", "far"],
)
def test_ends_that_may_belong_together_are_a_caution_whatever_the_turn(other, words):
    """The arc of radius 0.3 m from (5, 0) up to (5.3, 0.3) is drawn nowhere."""
    chains = chain([line(at(0, 0), at(5, 0)), other])
    found = [f.message for f in chains.findings if f.code == "gap-not-bridged"]
    assert len(found) == bool(words)
    assert all(words in text for text in found)


@pytest.mark.parametrize(("turn_deg", "is_told"), [(119.0, True), (121.0, False), (134.0, False)])
def test_ends_that_nearly_meet_may_belong_together_up_to_a_turn_of_120_degrees(turn_deg, is_told):
    dx, dy = direction(turn_deg)
    other = line(at(5, 0.05), at(5 + dx, 0.05 + dy))
    found = codes(chain([line(at(0, 0), at(5, 0)), other]))
    assert found.count("gap-not-bridged") == is_told


@pytest.mark.parametrize(("turn_deg", "is_told"), [(119.0, True), (121.0, False), (134.0, False)])
def test_an_arc_of_up_to_120_degrees_may_be_missing(turn_deg, is_told):
    dx, dy = direction(turn_deg)
    x, y = 5.0 + 0.3 * sin(radians(turn_deg)), 0.3 - 0.3 * cos(radians(turn_deg))
    chains = chain([line(at(0, 0), at(5, 0)), line(at(x, y), at(x + dx, y + dy))])
    found = [one.message for one in chains.findings if one.code == "gap-not-bridged"]
    assert len(found) == is_told
    assert all("as if a bend of radius 0.3 m were missing" in text for text in found)


def facing(apart_m, *more, boxes=(), stops=(), off_m=0.0):
    curves = [line(at(0, 0), at(5, 0)), line(at(5 + apart_m, off_m), at(9, off_m)), *more]
    found = chain_curves(curves, JOIN_M, SNAP_M, boxes, stops=stops).findings
    return [finding.message for finding in found if finding.code == "gap-not-bridged"]


def outline(x, wide, z=0.0):
    half = wide / 2
    corners = [(x - half, -half), (x + half, -half), (x + half, half), (x - half, half)]
    points = [at(*corner, z) for corner in (*corners, corners[0])]
    return replace(line(*points, layer="E-EQPM", handle="7"), is_closed=True)


def test_ends_that_nearly_face_each_other_along_one_line_are_a_caution_up_to_ten_snaps():
    (text,) = facing(9.9 * SNAP_M, off_m=4.5 * JOIN_M)
    assert "facing each other along one line" in text
    assert not facing(10.1 * SNAP_M, off_m=4.5 * JOIN_M)
    assert len(facing(0.3, line(at(5, 0.02), at(5.3, 0.02)))) == 2
    beside = [line(at(0, 0), at(5, 0)), line(at(5.6, 0.03), at(9, 0.03))]
    assert not [f for f in chain(beside).findings if f.code == "gap-not-bridged"]


def test_a_closed_curve_between_two_ends_is_named_at_whatever_elevation():
    for z in (0.0, -2.0):
        (text,) = facing(0.3, outline(5.15, 0.3, z))
        assert "with a closed curve (layer E-EQPM, LWPOLYLINE 7) between them" in text
        assert "[drawing.fittings]" in text


def test_runs_that_end_at_two_things_facing_each_other_are_two_runs():
    apart_m = 1.2
    panels = [Box(n, at(x, -0.2), at(x + 0.1, 0.2)) for n, x in (("A", 4.9), ("B", 6.2))]
    assert facing(apart_m)
    assert not facing(apart_m, outline(5.1, 0.2), outline(6.1, 0.2))
    assert not facing(apart_m, stops=panels)
    assert not facing(0.3, stops=[Box("P", at(5.0, -0.2), at(5.3, 0.2))])


WIDE_M = 1.5
"""A snap that says how far fittings may stand off their line, not how large they are."""


@pytest.mark.parametrize(("off_m", "is_there"), [(0.0, True), (0.11, True), (0.6, False)])
@pytest.mark.parametrize("passes", [True, False], ids=["box", "panel"])
def test_a_wide_snap_keeps_no_more_ends_apart_than_a_fitting_holds(off_m, is_there, passes):
    """Three ends, of which two face each other beside the fitting."""
    one = Box("F", at(5.1, off_m), at(5.1, off_m))
    third = line(at(5.1, 1.2), at(5.1, 9))
    curves = [line(at(0, 0), at(5, 0)), line(at(5.2, 0), at(9, 0)), third]
    boxes, stops = ([one], []) if passes else ([], [one])
    found = chain_curves(curves, JOIN_M, WIDE_M, boxes, stops=stops).findings
    told = [f for f in found if f.code == "gap-not-bridged" and "0.2 m apart" in f.message]
    assert len(told) == (not is_there)


def test_ends_far_apart_are_kept_so_by_what_they_stand_at_not_by_a_wide_snap():
    def told(*stops, more=()):
        curves = [line(at(0, 0), at(5, 0)), line(at(7, 0), at(9, 0)), *more]
        found = chain_curves(curves, JOIN_M, WIDE_M, stops=stops).findings
        return [f for f in found if f.code == "gap-not-bridged"]

    assert told(Box("P", at(5, 1), at(5, 1)))
    assert not told(Box("P", at(5, 0.1), at(5, 0.1)))
    assert not told(Box("P", at(4.8, -0.2), at(5.6, 1)))
    assert not told(Box("P", at(5, 0.9), at(5, 0.9), half_size_m=1.0))
    assert told(Box("P", at(5, 1.2), at(5, 1.2), half_size_m=1.0))
    assert told(more=(outline(4.0, 0.4), outline(8.0, 0.4)))
    assert not told(more=(outline(5.1, 0.2), outline(6.9, 0.2)))


def test_a_branch_beside_a_box_stays_a_caution_whatever_the_snap():
    run = line(at(0, 0), at(5, 0), handle="1")
    pieces = [run, line(at(5, 0), at(9, 0), handle="2"), line(at(5, 0), at(5, 4), handle="3")]
    tee = [line(at(0, 0), at(9, 0)), line(at(5, 0), at(5, 4))]
    missed = [line(at(0, 0), at(9, 0)), line(at(5, 0.05), at(5, 4))]
    for curves, code in ((pieces, "branch"), (tee, "branch-tee"), (missed, "tee-missed")):
        for x, is_there in ((5.1, True), (6.0, False)):
            found = chain(curves, [Box("Box A", at(x, 0), at(x, 0))], snap_m=WIDE_M).findings
            cautions = {f.code for f in found if f.severity is Severity.CAUTION}
            assert (code in cautions) is (not is_there), (code, x)
        wide = Box("Box A", at(4.9, -0.1), at(5.9, 0.1))
        found = chain(curves, [wide], snap_m=WIDE_M).findings
        assert code not in {f.code for f in found if f.severity is Severity.CAUTION}


def test_of_many_ends_that_nearly_meet_the_nearest_are_told_and_the_rest_counted():
    curves = []
    for k in range(23):
        curves += [
            line(at(0, 2 * k), at(5, 2 * k)),
            line(at(5.01 + 0.001 * k, 2 * k), at(9, 2 * k)),
        ]
    found = [f.message for f in chain(curves).findings if f.code == "gap-not-bridged"]
    assert len(found) == 21
    assert "0.01 m apart" in found[0]
    assert found[-1] == "3 more pairs of ends nearly meet, farther apart"


def zigzags(runs, pieces):
    """Runs of lines side by side, each turning at every piece; shuffled and turned round."""
    random = Random(5)
    curves = []
    for run in range(runs):
        rows = [at(k, 3.0 * run + k % 2) for k in range(pieces + 1)]
        for a, b in pairwise(rows):
            curves.append(line(*((a, b) if random.random() < 0.5 else (b, a))))
    random.shuffle(curves)
    return curves


def test_work_grows_in_step_with_the_number_of_pieces():
    calls = []
    for runs in (20, 80):
        curves = zigzags(runs, 50)
        profile = cProfile.Profile()
        profile.enable()
        chains = chain(curves)
        profile.disable()
        assert len(chains.chains) == runs
        calls.append(sum(entry.callcount for entry in profile.getstats()))
    # four times the pieces: calls of a pairwise search would grow sixteenfold
    assert calls[1] < 4.2 * calls[0]


def test_garbage_collection_is_as_it_was_after_chaining():
    for enabled in (True, False):
        (gc.enable if enabled else gc.disable)()
        try:
            chain([line(at(0, 0), at(1, 0))])
            assert gc.isenabled() is enabled
        finally:
            gc.enable()
