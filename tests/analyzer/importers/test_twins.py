"""One raceway drawn twice, a little apart or cut up otherwise, is read once and said."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cos, radians, sin
from random import Random

import numpy as np
import pytest

from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.segments import Arc, Straight
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.drawn_curves import DrawnCurve, reversed_edges
from analyzer.units import inches

JOIN_M = inches(1 / 16)
SNAP_M = inches(6)


def curve(*edges, handle="1", kind="LWPOLYLINE"):
    drawn = tuple(
        DrawnEdge(edge, DrawnAs.ARC if isinstance(edge, Arc) else DrawnAs.LINE) for edge in edges
    )
    return DrawnCurve(drawn, kind, "RUN", handle)


def line(*points, handle="1"):
    edges = [Straight(a, b) for a, b in pairwise(points)]
    return curve(*edges, handle=handle, kind="LINE" if len(edges) == 1 else "LWPOLYLINE")


def at(x, y, z=0.0):
    return (float(x), float(y), float(z))


def arc(start_deg, sweep_deg, handle="1", center=(0.0, 0.0, 0.0), radius=2.0):
    """An arc, in two halves where it turns by more than 180°, as a drawing's arcs are read."""
    parts = 1 if abs(sweep_deg) <= 180 else 2
    edges = []
    for k in range(parts):
        t = radians(start_deg + sweep_deg * k / parts)
        start = (center[0] + radius * cos(t), center[1] + radius * sin(t), center[2])
        axis = (0.0, 0.0, 1.0 if sweep_deg > 0 else -1.0)
        edges.append(Arc(start, center, axis, radians(abs(sweep_deg)) / parts))
    return curve(*edges, handle=handle, kind="ARC")


def chain(curves, join_m=JOIN_M):
    return chain_curves(curves, join_m, SNAP_M)


def codes(chains):
    return [(finding.code, finding.severity.value) for finding in chains.findings]


def bent(off_m=0.0, handle="1", more=()):
    """A line, a quarter bend of 0.6 m and a line, `off_m` beside the plain one."""
    o = off_m
    bend = Arc(at(3, o), at(3, 0.6), (0.0, 0.0, 1.0), radians(90))
    end = bend.end_m
    points = [at(0, o), *more, at(3, o)]
    legs = [Straight(a, b) for a, b in pairwise(points)]
    return curve(*legs, bend, Straight(end, (end[0], 4.0, 0.0)), handle=handle)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("off_m", [5e-6, 1e-4, 1.5e-3])
def test_a_route_drawn_twice_a_little_apart_is_one_run_and_a_caution(off_m, turned):
    second = bent(off_m, "2")
    if turned:
        second = replace(second, edges=reversed_edges(second.edges))
    chains = chain([bent(), second])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(bent().length_m)
    assert not chains.loops
    assert codes(chains) == [("duplicate-entity", "caution")]
    text = chains.findings[0].message
    assert text.startswith("LWPOLYLINE 2 on layer RUN lies along LWPOLYLINE 1 on layer RUN, at ")
    assert "Delete the one that is not meant" in text


def test_a_run_goes_on_from_a_twin_that_was_left_out():
    chains = chain([bent(), bent(1e-4, "2"), line(at(3.5999, 4), at(9, 4), handle="3")])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(bent().length_m + 5.4, abs=1e-3)


def test_a_run_goes_on_where_its_own_end_was_left_out_with_a_copy():
    """Of each piece another copy stays: their ends miss by the shift more than is bridged."""
    off = 0.8 * JOIN_M
    first = line(at(0, 0), at(3, 0), handle="1")
    copy = line(at(0, off), at(3, off), handle="2")
    last = line(at(3 + 0.9 * JOIN_M, off), at(9, off), handle="3")
    assert len(chain([first, last]).chains) == 2
    chains = chain([first, copy, last])
    (only,) = chains.chains
    assert len(only.path.edges) == 1
    (text,) = (one.message for one in chains.findings if one.code == "gap-bridged")
    assert "more where one of two copies was left out" in text


def test_two_copies_beside_the_one_left_out_between_them_make_no_loop():
    sides = [(0.8 * JOIN_M, "1"), (0.0, "2"), (-0.8 * JOIN_M, "3")]
    chains = chain([line(at(o, 0), at(3 + o, 0), at(3 + o, 3), handle=h) for o, h in sides])
    assert len(chains.chains) == 2
    assert not chains.loops


def test_one_more_vertex_on_a_straight_makes_no_other_route():
    chains = chain([bent(), bent(0.0, "2", more=[at(1, 0)])])
    assert len(chains.chains) == 1
    assert codes(chains) == [("duplicate-entity", "note")]
    assert "lies exactly on LWPOLYLINE 1" in chains.findings[0].message


def test_short_chords_along_a_bend_are_the_bend_drawn_twice():
    bend = arc(0, 90)
    places = bend.edges[0].segment.points_at(np.linspace(0, np.pi, 31)).tolist()
    chains = chain([line(*map(tuple, places), handle="2"), bend])
    (only,) = chains.chains
    assert only.path.edges == bend.edges
    assert codes(chains) == [("duplicate-entity", "caution")]


def test_a_piece_a_little_beside_a_longer_one_is_left_out():
    chains = chain([line(at(0, 0), at(9, 0)), line(at(2, 1e-4), at(5, 1e-4), handle="2")])
    assert [c.length_m for c in chains.chains] == [9.0]
    assert codes(chains) == [("overlapping-entity", "caution")]


def test_lines_that_overlap_a_little_apart_are_joined_without_the_shared_part():
    chains = chain([line(at(0, 0), at(5, 0)), line(at(4, 1e-4), at(12, 1e-4), handle="2")])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(12.0, abs=1e-6)
    assert codes(chains) == [
        ("overlapping-entity", "caution"),
        ("gap-bridged", "note"),
        ("gap-straightened", "note"),
    ]
    assert "over 1 m, 0.0001 m beside it; the shared part" in chains.findings[0].message


@pytest.mark.parametrize(
    ("one", "other", "degrees"),
    [
        (arc(0, 60), arc(30, 60, "2"), 90),
        (arc(0, 60), arc(90, -60, "2"), 90),
        (arc(60, -60), arc(30, 60, "2"), 90),
        (arc(300, 90), arc(20, 250, "2"), 330),
    ],
    ids=["same way", "turned", "both turned", "more than half a turn"],
)
def test_arcs_of_one_circle_that_overlap_are_joined_without_the_shared_part(one, other, degrees):
    chains = chain([one, other])
    (only,) = chains.chains
    assert only.length_m == pytest.approx(2.0 * radians(degrees))
    assert codes(chains) == [("overlapping-entity", "caution")]
    assert "the shared part was left out once" in chains.findings[0].message


def test_arcs_that_only_meet_on_one_circle_are_no_overlap():
    chains = chain([arc(0, 60), arc(60, 60, "2")])
    assert [c.length_m for c in chains.chains] == [pytest.approx(2.0 * radians(120))]
    assert not chains.findings


@pytest.mark.parametrize("join_m", [JOIN_M, inches(2)])
def test_raceways_side_by_side_are_two_however_far_gaps_are_bridged(join_m):
    apart = inches(0.706)  # the width of the narrowest tubing of the trade
    chains = chain([bent(), bent(apart, "2")], join_m=join_m)
    pieces = [len(one.curves) for one in chains.chains] + [len(loop) for loop in chains.loops]
    assert sum(pieces) == 2
    assert "duplicate-entity" not in [code for code, _ in codes(chains)]


def test_routes_that_part_and_meet_again_are_two():
    bowed = line(at(0, 0), at(4, 0.05), at(8, 0), handle="2")
    chains = chain([line(at(0, 0), at(8, 0)), bowed])
    assert "duplicate-entity" not in [code for code, _ in codes(chains)]


def cut_up(random, off_m, handle):
    """The bent route as loose lines and an arc, its straights cut at chance places."""
    pieces = []
    for edge in bent(off_m).edges:
        segment, at_m = edge.segment, 0.0
        cuts = sorted(random.uniform(0.1, segment.length_m) for _ in range(random.randint(0, 3)))
        for stop in [*[c for c in cuts if c < segment.length_m - 0.1], segment.length_m]:
            if stop - at_m > 0.05:
                pieces.append(curve(segment.part(at_m, stop), handle=handle, kind="LINE"))
                at_m = stop
    return pieces


@pytest.mark.parametrize("seed", range(60))
def test_two_drawings_of_a_route_cut_up_differently_are_one_run(seed):
    random = Random(seed)
    pieces = cut_up(random, 0.0, "1") + cut_up(random, random.choice([0.0, 1e-5, 5e-4]), "2")
    random.shuffle(pieces)
    chains = chain(pieces)
    assert not chains.loops
    (only,) = chains.chains
    assert only.length_m == pytest.approx(bent().length_m, abs=4e-3)


def test_pieces_a_little_beside_a_dense_route_are_left_out_one_by_one():
    places = [at(0.1 * k, 0.3 * sin(k / 50)) for k in range(121)]
    pieces = [
        line(*((x, y + 1e-4, z) for x, y, z in pair), handle=str(k))
        for k, pair in enumerate(pairwise(places))
    ]
    dense = line(*places, handle="all")
    (only,) = chain([dense, *pieces]).chains
    assert only.path.edges == dense.edges


def chords(step_deg, handle="1", *, radius=0.3, fraction=1.0, turned=False):
    """A quarter bend between two straights, drawn in chords; `fraction` of the second straight."""
    count = round(90 / step_deg)
    turns = [radians(90 * k / count) for k in range(count + 1)]
    bend = [at(3 + radius * sin(t), radius - radius * cos(t)) for t in turns]
    points = [at(0, 0), *bend, at(3 + radius, radius + 3 * fraction)]
    return line(*(reversed(points) if turned else points), handle=handle)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("radius", [0.24, 0.6, 0.92])
@pytest.mark.parametrize(("fine", "coarse"), [(7.5, 10), (10, 15), (5, 22.5), (10, 30)])
def test_of_a_route_drawn_in_two_kinds_of_chords_the_finer_stays(fine, coarse, radius, turned):
    first = chords(coarse, "coarse", radius=radius, turned=turned)
    chains = chain([first, chords(fine, "fine", radius=radius)])
    assert not chains.loops
    (only,) = chains.chains
    assert len(only.path.edges) == 2 + 90 / fine
    (told,) = (one for one in chains.findings if one.code == "duplicate-entity")
    assert told.severity.value == "caution"
    assert set(told.concern.entities) == {"fine", "coarse"}


def test_a_bend_of_true_arcs_stays_where_chords_copy_it():
    bend = Arc(at(3, 0), at(3, 0.6), (0.0, 0.0, 1.0), radians(90))
    exact = curve(Straight(at(0, 0), at(3, 0)), bend, Straight(bend.end_m, at(3.6, 3.6)))
    chains = chain([chords(22.5, "2", radius=0.6), exact])
    (only,) = chains.chains
    assert only.path.edges == exact.edges
    assert "in coarser chords" in message(chains, "duplicate-entity")


def test_a_run_goes_on_from_the_finer_of_two_copies_in_chords():
    more = line(at(3.3, 3.3), at(9, 3.3), handle="3")
    (only,) = chain([chords(22.5, "2"), chords(7.5), more]).chains
    assert len(only.path.edges) == 2 + 12 + 1


def message(chains, code):
    (text,) = (one.message for one in chains.findings if one.code == code)
    return text


def test_routes_that_share_their_ends_and_bend_elsewhere_are_no_copies():
    for other in (
        line(at(0, 0), at(3.3, 0), at(3.3, 3.3), handle="2"),
        chords(10, "2", radius=0.6, fraction=0.9),
    ):
        chains = chain([chords(10), other])
        assert "duplicate-entity" not in [code for code, _ in codes(chains)]


def test_a_loop_whose_halves_leave_both_ends_alike_is_said_to_be_a_route_drawn_twice():
    corner = line(at(0, 0), at(3.3, 0), at(3.3, 3.3), handle="2")
    chains = chain([chords(10), corner])
    text = message(chains, "closed-loop")
    assert "the same way from (0, 0, 0) m and from (3.3, 3.3, 0) m" in text
    assert "one route seems to be drawn twice" in text
    square = [line(at(0, 0), at(3, 0), at(3, 3)), line(at(0, 0), at(0, 3), at(3, 3), handle="2")]
    assert "Open it where the pull starts" in message(chain(square), "closed-loop")
