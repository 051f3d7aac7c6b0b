"""Ends that stand above each other with no riser drawn between them."""

from __future__ import annotations

from itertools import pairwise

import pytest

from analyzer.geometry.drawn import DrawnEdge
from analyzer.geometry.segments import Straight
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.chains import Box
from analyzer.importers.chaining.drawn_curves import DrawnCurve

JOIN_M = 0.0254 / 16
SNAP_M = 6 * 0.0254
WEST = ((0, 0), (5, 0))
EAST = ((5, 0), (9, 0))
NORTH = ((5, 0), (5, 4))


def run(plan, z, handle="1"):
    points = [(float(x), float(y), float(z)) for x, y in plan]
    return path(*points, handle=handle)


def path(*points, handle="1"):
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(points))
    return DrawnCurve(edges, "LWPOLYLINE", "RUN", handle)


def told(*curves, stops=(), snap_m=SNAP_M):
    found = chain_curves(curves, JOIN_M, snap_m, stops=stops).findings
    return [one for one in found if one.code == "gap-not-bridged"]


@pytest.mark.parametrize("up_m", [0.2, 0.3, 1.27, 2.7, 12.0])
@pytest.mark.parametrize("onward", [EAST, NORTH])
def test_ends_above_each_other_are_a_caution_whatever_their_heights(up_m, onward):
    (one,) = told(run(WEST, 0, "A"), run(onward, up_m, "B"))
    assert f"{up_m:g} m apart, one straight above the other, as if a riser were" in one.message
    assert one.message.endswith("If they are one run, draw the riser, or a box")
    assert set(one.concern.entities) == {"A", "B"}
    assert len(told(run(WEST, 0), run(onward, up_m), snap_m=JOIN_M)) == 1


def test_racks_above_each_other_that_end_together_miss_no_riser():
    assert not told(*(run(WEST, 0.3 * k) for k in range(6)))
    assert not told(run(WEST, 0), run(((0, 3), (5, 0)), 2.0))


def test_a_run_that_passes_above_an_end_misses_no_riser():
    assert not told(run(WEST, 0), run(((0, 0), (9, 0)), 2.0))
    assert not told(run(WEST, 0), run(((5, -3), (5, 0), (9, 0)), 2.0))
    assert not told(run(WEST, 0), run(((5.2, 0), (9, 0)), 2.0))


@pytest.mark.parametrize("off_m", [0.01, 0.1])
def test_a_foot_a_little_off_in_plan_is_told_where_no_other_end_is_near(off_m):
    foot = run(((5 + off_m, 0), (5 + off_m, 4)), 0.3, "B")
    (one,) = told(run(WEST, 3, "A"), foot)
    assert f"one above the other ({off_m:g} m off in plan), as if a riser" in one.message
    assert set(one.concern.entities) == {"A", "B"}
    assert not told(run(WEST, 3), foot, snap_m=JOIN_M)
    assert not told(run(WEST, 3), foot, run(((5.05, 0.05), (9, 0)), 1.5))
    assert not told(run(WEST, 3), run(((0, 0.1), (5 + off_m, 0.1)), 0.3))
    riser = path((5 + off_m, 0.0, -1.0), (5 + off_m, 0.0, 4.0))
    assert not told(run(WEST, 3), foot, riser)


def test_drops_from_above_and_below_to_places_side_by_side_miss_no_riser():
    above = path((0.0, 0.0, 3.0), (5.0, 0.0, 3.0), (5.0, 0.0, 1.2))
    below = path((5.1, 0.0, 0.4), (5.1, 0.0, -1.0), (9.0, 0.0, -1.0))
    assert not told(above, below)


def test_two_ends_of_one_run_miss_no_riser():
    around = [(0, 0, 0), (5, 0, 0), (5, 4, 0), (0, 4, 0), (0, 4, 2), (0, 2, 2), (0, 0, 2)]
    assert not told(path(*(tuple(map(float, p)) for p in around)))


def test_where_a_fitting_stands_runs_end_for_a_reason():
    low = Box("P", (4.9, -0.1, -0.1), (5.1, 0.1, 0.1))
    assert not told(run(WEST, 0), run(EAST, 2.0), stops=[low])
    assert told(run(WEST, 0), run(EAST, 2.0), stops=[Box("P", (7, 0, 0), (7, 0, 0))])


@pytest.mark.parametrize("height_m", [0.0, 1.4])
def test_a_flat_symbol_in_plan_keeps_runs_above_and_below_it_apart(height_m):
    flat = Box("P", (4.7, -0.1, height_m), (5.3, 0.1, height_m))
    above = path((0.0, 0.0, 3.0), (5.0, 0.0, 3.0), (5.0, 0.0, 1.8))
    below = path((5.0, 0.0, 0.9), (5.0, 0.0, -1.0), (5.0, 4.0, -1.0))
    assert len(told(above, below)) == 1
    assert not told(above, below, stops=[flat])
    beside = Box("P", (5.3, -0.1, height_m), (5.9, 0.1, height_m))
    assert len(told(above, below, stops=[beside])) == 1
    tall = Box("P", (4.7, -0.1, -0.5), (5.3, 0.1, 0.0))
    assert len(told(above, below, stops=[tall])) == 1


def test_a_closed_curve_that_may_mark_the_riser_is_named():
    corners = [(4.9, -0.1), (5.1, -0.1), (5.1, 0.1), (4.9, 0.1), (4.9, -0.1)]
    (one,) = told(run(WEST, 1), run(EAST, 3.0), run(corners, 0, "C"))
    assert "with a closed curve (layer RUN, LWPOLYLINE C) there" in one.message


def test_a_riser_that_is_drawn_is_not_missed():
    """Both runs end on it, which is told as such."""
    riser = path((5.0, 0.0, -1.0), (5.0, 0.0, 4.0))
    assert not told(run(WEST, 0), run(EAST, 2.0), riser)


def test_an_end_that_would_fold_back_is_none_of_a_riser():
    stub = path((5.0, 0.0, 2.0), (5.0, 0.0, 1.0), (9.0, 0.0, 1.0))
    assert not told(run(WEST, 0), stub)
    drop = path((5.0, 0.0, 2.0), (5.0, 0.0, 3.0), (9.0, 0.0, 3.0))
    assert len(told(run(WEST, 0), drop)) == 1


def test_each_end_of_two_racks_is_told_with_the_nearest_it_may_go_on_to():
    rack = [run(WEST, 0.0, "A"), run(WEST, 0.3, "B"), run(EAST, 3.0, "C"), run(EAST, 3.4, "D")]
    pairs = [set(one.concern.entities) for one in told(*rack)]
    assert pairs == [{"B", "C"}, {"A", "C"}, {"B", "D"}]
    west, east = [run(WEST, z) for z in (0, 1)], [run(EAST, z) for z in (0, 1)]
    assert not told(*west, *east)  # joined, each at its height


def test_ends_that_meet_at_a_branch_miss_no_riser():
    branch = [run(WEST, 0), run(EAST, 0), run(NORTH, 0)]
    assert not told(*branch, run(((5, -3), (5, 0)), 2.0))
