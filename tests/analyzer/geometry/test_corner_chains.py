"""Chains of corner points: tangent lengths, groups that share short straights, arcs laid out."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.errors import RouteError
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.corners import Node, arc_nodes, fit_radii, lay_chain, meeting_point
from analyzer.geometry.segments import Arc


def chain(places: list[tuple[float, float, float]], radius: float) -> list[Node]:
    inner = [Node(place, radius, bend) for bend, place in enumerate(places[1:-1])]
    return [Node(places[0]), *inner, Node(places[-1])]


def stairs(legs: list[float]) -> list[tuple[float, float, float]]:
    """Corner points of a staircase of right angles."""
    x, y = 0.0, 0.0
    places = [(x, y, 0.0)]
    for index, leg in enumerate(legs):
        x, y = (x + leg, y) if index % 2 == 0 else (x, y + leg)
        places.append((x, y, 0.0))
    return places


def test_meeting_point_of_skew_lines_is_the_middle_of_their_closest_approach() -> None:
    place = meeting_point((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.0, -1.0, 0.2), (0.0, 1.0, 0.0))
    assert place == pytest.approx((2.0, 0.0, 0.1))


@pytest.mark.parametrize("angle", [0.5, 2.0, pi, 1.5 * pi, 1.95 * pi])
def test_arc_written_as_corners_comes_back(angle: float) -> None:
    nodes = arc_nodes((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.5, angle, 0)
    start = Node((-1.0, 0.0, 0.0))
    end = (0.5 * np.sin(angle) + np.cos(angle), 0.5 - 0.5 * np.cos(angle) + np.sin(angle), 0.0)
    whole = [start, *nodes, Node((float(end[0]), float(end[1]), 0.0))]
    factors, shortages = fit_radii(whole)
    laid = lay_chain(whole, factors)
    arcs = [s for s in laid.segments if isinstance(s, Arc)]
    assert shortages == ()
    assert sum(arc.angle_rad for arc in arcs) == pytest.approx(angle, abs=1e-9)
    assert {round(arc.radius_m, 9) for arc in arcs} == {0.5}


def test_turn_back_is_refused() -> None:
    with pytest.raises(RouteError, match="turns back"):
        fit_radii(chain([(0, 0, 0), (2, 0, 0), (0.5, 0, 0)], 0.1))


def test_arcs_that_overlap_are_refused_and_not_laid_backward() -> None:
    nodes = chain(stairs([2, 0.40, 2]), 0.24)
    with pytest.raises(RouteError, match="bends laid out overlap"):
        lay_chain(nodes, [1.0, 1.0, 1.0, 1.0])


def test_separate_groups_have_separate_factors() -> None:
    # R 0.24, right angles: two bends need 0.48; the lines of 0.40 and 0.30 are far apart
    nodes = chain(stairs([2, 0.40, 2, 0.30, 2]), 0.24)
    factors, shortages = fit_radii(nodes)
    assert factors[1:5] == pytest.approx([0.40 / 0.48] * 2 + [0.30 / 0.48] * 2)
    assert [(one.line, one.needed_m) for one in shortages] == [
        (1, pytest.approx(0.48)),
        (3, pytest.approx(0.48)),
    ]


def test_corners_of_one_bend_share_its_factor_though_only_one_line_is_short() -> None:
    # 200 degrees take two corners; the run begins 0.1 m before the bend and is cut to that
    turn = radians(200.0)
    bend = arc_nodes((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 1.0, turn, 0)
    end = (sin(turn) + 10.0 * cos(turn), 1.0 - cos(turn) + 10.0 * sin(turn), 0.0)
    whole = [Node((bend[0].place_m[0] - 0.1, 0.0, 0.0)), *bend, Node(end)]
    factors, shortages = fit_radii(whole)
    assert len(bend) == 2
    assert [one.line for one in shortages] == [0]
    assert factors[1:3] == pytest.approx([0.1 / tan(turn / 4.0)] * 2)
    arcs = [one for one in lay_chain(whole, factors).segments if isinstance(one, Arc)]
    assert len({round(arc.radius_m, 9) for arc in arcs}) == 1


@given(
    st.lists(st.floats(0.01, 1.0), min_size=2, max_size=9),
    st.lists(st.floats(0.02, 0.6), min_size=10, max_size=10),
)
def test_all_bends_fit_and_every_group_is_as_large_as_it_can_be(
    legs: list[float], radii: list[float]
) -> None:
    places = stairs(legs)
    nodes = [
        Node(place, radii[i] if 0 < i < len(places) - 1 else 0.0, i - 1)
        for i, place in enumerate(places)
    ]
    nodes[0], nodes[-1] = Node(places[0]), Node(places[-1])
    factors, shortages = fit_radii(nodes)
    reach = [n.radius_m * f * tan(pi / 4) for n, f in zip(nodes, factors, strict=True)]
    spare = [leg - a - b for leg, a, b in zip(legs, reach, reach[1:], strict=False)]
    assert min(spare) > -2e-8
    for factor in {f for f in factors if f < 1.0}:
        lines = [one.line for one in shortages if one.factor == factor]
        assert min(abs(spare[line]) for line in lines) < 1e-9
    assert all(0.0 < factor <= 1.0 for factor in factors)
    line = Centerline(lay_chain(nodes, factors).segments)
    assert line.corners() == ()


def test_reversed_chain_has_the_factors_reversed() -> None:
    nodes = chain(stairs([2, 0.40, 0.3, 0.45, 0.9, 0.2, 2]), 0.24)
    forward, _ = fit_radii(nodes)
    backward, _ = fit_radii(nodes[::-1])
    assert forward == pytest.approx(backward[::-1])
