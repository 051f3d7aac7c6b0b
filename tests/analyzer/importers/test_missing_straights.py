"""Ends far apart on one line with no straight drawn between them."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cos, pi, radians, sin

import pytest

from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.segments import Arc, Straight
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.chains import Box
from analyzer.importers.chaining.drawn_curves import DrawnCurve

JOIN_M = 0.0254 / 16
SNAP_M = 6 * 0.0254
STICK_M = 3.048


def path(*points, layer="RUN", handle="1"):
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(points))
    return DrawnCurve(edges, "LWPOLYLINE", layer, handle)


def at(x, y=0.0, z=0.0):
    return (float(x), float(y), float(z))


def bend(x, handle):
    """A bend of 0.3 m that leads into the line along x at its end."""
    arc = Arc(at(x - 0.3, -0.3), at(x, -0.3), (0.0, 0.0, -1.0), pi / 2)
    return DrawnCurve((DrawnEdge(arc, DrawnAs.ARC),), "ARC", "RUN", handle)


def told(*curves, stops=()):
    found = chain_curves(curves, JOIN_M, SNAP_M, stops=stops).findings
    return [one for one in found if one.code == "gap-not-bridged"]


def sticks(gap_m, *, off_m=0.0, layer="RUN"):
    """Two runs along one line, but for how far the second lies beside it."""
    first = path(at(0, 5), at(0), at(5), handle="A")
    second = path(at(5 + gap_m, off_m), at(9 + gap_m, off_m), at(9 + gap_m, 5), handle="B")
    return first, replace(second, layer=layer)


@pytest.mark.parametrize("gap_m", [STICK_M, 2 * STICK_M, 3 * STICK_M])
def test_a_stick_missing_from_a_run_is_a_caution_on_both_parts(gap_m):
    (one,) = told(*sticks(gap_m))
    assert f"{gap_m:.4g} m apart, facing each other along one line, as if a straight" in one.message
    assert one.severity.value == "caution"
    assert set(one.concern.entities) == {"A", "B"}


def test_nothing_is_missing_where_another_run_lies_between():
    first, second = sticks(STICK_M)
    other = path(at(4, 2), at(4.5), at(5 + STICK_M + 0.5), at(10, 2), handle="C")
    assert not [one for one in told(first, second, other) if "as if a straight" in one.message]
    short = path(at(4, 2), at(4.5), at(5 + STICK_M / 3), at(7, 2), handle="C")
    assert [one for one in told(first, second, short) if "as if a straight" in one.message]


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0, 137.0])
def test_the_line_may_lie_any_way(turn_deg):
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    ends = [(0, 4), (4 + STICK_M, 9)]
    curves = [path(*((1e5 + c * x, s * x, 0.6 * x) for x in pair)) for pair in ends]
    assert len(told(*curves)) == 1


def test_a_short_last_edge_may_point_off_the_line_by_rounding():
    first = path(at(0, 5), at(0), at(4.9), at(5, 0.5 * JOIN_M), handle="A")
    assert len(told(first, sticks(STICK_M)[1])) == 1
    aside = path(at(0, 5), at(0), at(4.9), at(5, 4.0 * JOIN_M), handle="A")
    assert not told(aside, sticks(STICK_M)[1])


@pytest.mark.parametrize(
    "curves",
    [
        sticks(3 * STICK_M + 0.1),
        sticks(STICK_M, layer="OTHER"),
        sticks(STICK_M, off_m=4.5 * JOIN_M),
        (path(at(0), at(5)), path(at(5 + STICK_M), at(12, 1.0))),
    ],
    ids=["far", "other layer", "beside", "no line"],
)
def test_two_runs_that_only_happen_to_end_so_are_two_runs(curves):
    assert not told(*curves)


def test_an_end_in_a_bend_misses_its_straight_however_long():
    (one,) = told(bend(5, "A"), path(at(45), at(50), at(50, 5), handle="B"))
    assert "40 m apart, facing each other along one line" in one.message


def test_runs_that_end_at_something_miss_no_straight():
    first, second = sticks(STICK_M)
    corners = [at(5, -0.2), at(5.3, -0.2), at(5.3, 0.2), at(5, 0.2), at(5, -0.2)]
    outline = replace(path(*corners), is_closed=True)
    assert not told(first, second, outline)
    assert not told(first, second, stops=[Box("P", at(4.9, -0.2), at(5.1, 0.2))])


def test_each_run_of_a_rack_faces_its_own_part():
    curves = []
    for k in range(40):
        first, second = sticks(STICK_M, off_m=0.0)
        for one, name in ((first, f"A{k}"), (second, f"B{k}")):
            edges = tuple(
                edge.moved_to(Straight(*(at(x, y, 0.08 * k) for x, y, _ in ends)))
                for edge in one.edges
                for ends in [(edge.segment.start_m, edge.segment.end_m)]
            )
            curves.append(replace(one, edges=edges, handle=name))
    found = told(*curves)
    for one in found[:-1]:
        first, second = sorted(one.concern.entities)
        assert first[1:] == second[1:]
    assert set().union(*(one.concern.entities for one in found)) == {c.handle for c in curves}
