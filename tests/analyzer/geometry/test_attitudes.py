"""Attitude of bends, those of more than half a turn too, against their own highest places."""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest

from analyzer.geometry.attitudes import attitude_of, rotation_between
from analyzer.geometry.bends import read_bends
from analyzer.geometry.curves import arcs_along
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.readings import Attitude
from analyzer.geometry.segments import Arc, Floats, Straight


def attitude(slope_deg: float, angle_deg: float, *, downward: bool) -> Attitude:
    """As a reading says it of an arc in the plane of x and z, straights before and after it."""
    slope = radians(slope_deg)
    along = np.array([cos(slope), 0.0, sin(slope)])
    axis = np.array([0.0, 1.0 if downward else -1.0, 0.0])
    place, parts = np.zeros(3), []
    for _ in range(2):
        center = place + np.cross(axis, along)
        arc = Arc(_vector(place), _vector(center), _vector(axis), radians(angle_deg) / 2.0)
        place, along = np.array(arc.end_m), np.array(arc.end_tangent)
        parts.append(arc)
    before = _vector(np.subtract(parts[0].start_m, parts[0].start_tangent))
    edges = (
        DrawnEdge(Straight(before, parts[0].start_m)),
        *(DrawnEdge(part, DrawnAs.ARC) for part in parts),
        DrawnEdge(Straight(parts[1].end_m, _vector(place + along))),
    )
    (bend,) = read_bends(DrawnPath(edges), corner_radius_m=None).bends
    return bend.attitude


def _vector(row: np.ndarray) -> tuple[float, float, float]:
    return (float(row[0]), float(row[1]), float(row[2]))


@pytest.mark.parametrize("slope_deg", [-80, -45, -10, 10, 45, 80])
@pytest.mark.parametrize("angle_deg", [20, 70, 140, 185, 215, 260, 310])
@pytest.mark.parametrize("downward", [False, True])
def test_first_top_or_bottom_inside_a_bend_names_it(
    slope_deg: float, angle_deg: float, downward: bool
) -> None:
    turn = np.linspace(0.0, radians(angle_deg), 20_001)
    slope = np.sin(radians(slope_deg) + (-turn if downward else turn))
    places = np.flatnonzero(np.diff(np.sign(slope)) != 0.0)
    if places.size:
        first = int(places[0])
        expected = Attitude.CREST if slope[first] > slope[first + 1] else Attitude.SAG
    else:
        expected = Attitude.RISING if slope.sum() > 0.0 else Attitude.FALLING
    assert attitude(slope_deg, angle_deg, downward=downward) is expected


@pytest.mark.parametrize(
    ("slope_deg", "angle_deg", "downward", "expected"),
    [
        # a level start that turns up by more than half a turn goes over the top
        (0.0, 200.0, False, Attitude.CREST),
        (0.0, 200.0, True, Attitude.SAG),
        # up to the top and level there: no more than a rise
        (0.0, 180.0, False, Attitude.RISING),
        (0.0, 90.0, False, Attitude.RISING),
        (90.0, 90.0, True, Attitude.RISING),
        (90.0, 180.0, True, Attitude.CREST),
        # as good as level: measured points are not more exact
        (0.2, 90.0, True, Attitude.FALLING),
        (-0.2, 90.0, False, Attitude.RISING),
        (0.3, 90.0, True, Attitude.CREST),
        # a whole loop and more from a climb: over the top first, then through the bottom
        (10.0, 200.0, True, Attitude.CREST),
    ],
)
def test_bend_that_starts_or_ends_level(
    slope_deg: float, angle_deg: float, downward: bool, expected: Attitude
) -> None:
    assert attitude(slope_deg, angle_deg, downward=downward) is expected


def climbing(climb_deg: float, axis: str = "z") -> Attitude:
    """Of a helix of a whole turn about an axis, climbing along it by an angle."""
    order = [2, 0, 1] if axis == "x" else [0, 1, 2]
    climb = tan(radians(climb_deg))

    def point(t: Floats) -> Floats:
        return np.column_stack([np.cos(t), np.sin(t), climb * t])[:, order]

    def slope(t: Floats) -> Floats:
        return np.column_stack([-np.sin(t), np.cos(t), climb + 0.0 * t])[:, order]

    edges = tuple(
        DrawnEdge(one, DrawnAs.SPLINE, 0) for one in arcs_along(point, slope, [0.0, 2.0 * pi])
    )
    (bend,) = read_bends(DrawnPath(edges), corner_radius_m=None).bends
    return bend.attitude


@pytest.mark.parametrize(
    ("climb_deg", "expected"),
    [
        (0.0, Attitude.LEVEL),
        (0.5, Attitude.LEVEL),
        (2.0, Attitude.TILTED),
        (8.5, Attitude.TILTED),
        (-8.5, Attitude.TILTED),
    ],
)
def test_helix_that_climbs_by_more_than_a_degree_is_not_level(
    climb_deg: float, expected: Attitude
) -> None:
    assert climbing(climb_deg) is expected


@pytest.mark.parametrize(
    ("off_deg", "expected"),
    [
        (0.9, Attitude.LEVEL),
        (1.1, Attitude.TILTED),
        (88.9, Attitude.TILTED),
        (89.1, Attitude.RISING),
    ],
)
def test_plane_within_a_degree_of_level_or_vertical_counts_as_such(
    off_deg: float, expected: Attitude
) -> None:
    """A bend of 60 degrees toward a side that is tilted up out of the level."""
    off, turn = radians(off_deg), radians(60.0)
    axis = (0.0, -sin(off), cos(off))
    end = (cos(turn), sin(turn) * cos(off), sin(turn) * sin(off))
    assert attitude_of(axis, (1.0, 0.0, 0.0), end, turn, sin(turn) * sin(off)) is expected


@pytest.mark.parametrize(("climb_deg", "expected"), [(0.9, Attitude.LEVEL), (1.1, Attitude.TILTED)])
def test_curve_may_leave_its_plane_by_a_degree(climb_deg: float, expected: Attitude) -> None:
    assert climbing(climb_deg) is expected


@pytest.mark.parametrize(
    ("roll_deg", "told_deg"),
    [(-180.0, 180.0), (-179.99999, 180.0), (-179.9, -179.9), (180.0, 180.0), (-90.0, -90.0)],
)
def test_half_turn_of_the_bend_plane_is_told_as_plus_180(roll_deg: float, told_deg: float) -> None:
    """Rounding decides the sign of a half turn; the range of a rotation is (-180, 180]."""
    roll = radians(roll_deg)
    axis = (0.0, cos(roll), sin(roll))
    found = rotation_between((0.0, 1.0, 0.0), axis, (1.0, 0.0, 0.0))
    assert degrees(found) == pytest.approx(told_deg, abs=1e-9)


def test_helix_about_a_level_axis_is_no_crest() -> None:
    assert climbing(8.5, "x") is Attitude.TILTED
    assert climbing(0.5, "x") is Attitude.CREST
