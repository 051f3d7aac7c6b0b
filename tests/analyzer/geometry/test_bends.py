"""Reading a drawn path: corners and true arcs, how bends lie, and what is said about places."""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
from drawn_ways import (
    CORNER_M,
    Points,
    R,
    arc_points,
    codes,
    finding,
    lines,
    straight_after,
    with_arc,
)

from analyzer.errors import InputError, RouteError
from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.readings import Attitude, RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc, Straight
from analyzer.geometry.split_bends import join_bends, split_bend

# --- corners ----------------------------------------------------------------------------------


def test_sharp_corner_becomes_a_tangent_arc_of_the_table_radius() -> None:
    reading = read_bends(lines([(0, 0, 0), (2, 0, 0), (2, 3, 1)]), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.angle_rad == pytest.approx(pi / 2, abs=1e-12)
    assert bend.radius_m == pytest.approx(CORNER_M, abs=1e-12)
    assert bend.radius_from is RadiusFrom.TABLE
    assert bend.station_m == pytest.approx(2.0 - CORNER_M, abs=1e-12)
    assert bend.end_station_m - bend.station_m == pytest.approx(CORNER_M * pi / 2, abs=1e-12)
    assert reading.read_as is ReadAs.CORNERS
    assert reading.deviation_m == 0.0
    assert not reading.centerline.corners()


def test_radius_of_the_vertex_itself_goes_first() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2, 3, 1)], (None, 0.4, None))
    (bend,) = read_bends(path, corner_radius_m=CORNER_M, radius_from=RadiusFrom.JOB).bends
    assert bend.radius_m == pytest.approx(0.4, abs=1e-12)
    assert bend.radius_from is RadiusFrom.DRAWING


def test_corner_without_any_radius_stops_with_its_place() -> None:
    with pytest.raises(RouteError, match=r"no bend radius.*\(2, 0, 0\) m.*bend_radius"):
        read_bends(lines([(0, 0, 0), (2, 0, 0), (2, 3, 1)]), corner_radius_m=None, where="row 2")


def test_straight_path_needs_no_radius() -> None:
    reading = read_bends(lines([(0, 0, 0), (2, 0, 1), (4, 0, 2)]), corner_radius_m=None)
    assert reading.bends == ()
    assert len(reading.centerline.segments) == 1


def test_short_straight_reduces_both_radii_by_one_factor_and_names_what_is_missing() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2, 0.3, 0), (4, 0.3, 0)])
    reading = read_bends(path, corner_radius_m=CORNER_M)
    # two 90° tangents of 240 mm on 300 mm of straight: 180 mm are missing, factor 300/480
    assert [b.radius_m for b in reading.bends] == pytest.approx([0.15, 0.15], abs=1e-12)
    error = finding(reading, "corner-too-short")
    assert error.severity is Severity.ERROR
    assert "bends 1 and 2" in error.message
    assert "7.09 in (180.0 mm) is missing" in error.message
    assert "0.625" in error.message
    assert "station 6.07 ft (1.850 m)" in error.where
    assert not reading.centerline.corners()


def test_bends_linked_by_short_straights_share_one_factor_and_others_keep_theirs() -> None:
    path = lines(
        [(0, 0, 0), (2, 0, 0), (2, 0.4, 0), (2.3, 0.4, 0), (2.3, 2, 0), (4, 2, 1), (4, 4, 1)]
    )
    reading = read_bends(path, corner_radius_m=CORNER_M)
    factor = 0.3 / 0.48
    expected = [CORNER_M * factor] * 3 + [CORNER_M] * 2
    assert [b.radius_m for b in reading.bends] == pytest.approx(expected, rel=1e-9)
    assert codes(reading).count("corner-too-short") == 2


def test_bend_at_a_route_end_is_reduced_to_what_its_straight_holds() -> None:
    reading = read_bends(lines([(0, 0, 0), (0.1, 0, 0), (0.1, 2, 0)]), corner_radius_m=CORNER_M)
    assert reading.bends[0].radius_m == pytest.approx(0.1, abs=1e-12)
    assert "bend 1 needs" in finding(reading, "corner-too-short").message


def test_straight_that_just_holds_both_bends_is_no_error() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2, 2 * CORNER_M, 0), (4, 2 * CORNER_M, 1)])
    assert "corner-too-short" not in codes(read_bends(path, corner_radius_m=CORNER_M))


def test_corner_in_a_fitting_stays_sharp_and_uses_no_straight() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2, 0.25, 0), (2, 0.25, 2)])
    reading = read_bends(path, corner_radius_m=CORNER_M, kept_vertices=frozenset({1}))
    corner, bend = reading.bends
    assert corner.in_fitting
    assert corner.radius_m is None
    assert corner.radius_from is None
    assert corner.station_m == corner.end_station_m == pytest.approx(2.0, abs=1e-12)
    assert bend.radius_m == pytest.approx(CORNER_M, abs=1e-12)
    assert [c.station_m for c in reading.centerline.corners()] == pytest.approx([2.0])


@pytest.mark.parametrize("off_m", [1e-5, 1e-3])
def test_a_bend_that_takes_all_straight_up_to_a_box_leaves_it_its_place(off_m: float) -> None:
    """The box stands a hair off the line; the bend behind it would need 3 m of its 2 m."""
    path = lines([(0, 0, 0), (2, off_m, 0), (4, 0, 0), (4, 5, 0)])
    reading = read_bends(path, corner_radius_m=3.0, kept_vertices=frozenset({1}))
    assert reading.vertex_station_m[1] == pytest.approx(2.0, abs=off_m)
    assert reading.bends[-1].radius_m == pytest.approx(2.0, abs=2.0 * off_m)
    assert "corner-too-short" in codes(reading)


def test_turn_back_is_an_error_with_its_place() -> None:
    with pytest.raises(RouteError, match=r"turns back.*\(1, 0, 0\) m, 3.28 ft \(1.000 m\)"):
        read_bends(lines([(0, 0, 0), (1, 0, 0), (0.3, 0, 0)]), corner_radius_m=CORNER_M)


def test_repeated_point_is_dropped_and_said() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2, 0, 1e-8), (2, 2, 1)])
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert codes(reading) == ["repeated-point"]
    assert len(reading.bends) == 1
    assert len(reading.vertex_station_m) == 4


def test_all_points_one_point_is_an_error() -> None:
    with pytest.raises(RouteError, match="one point"):
        read_bends(lines([(0, 0, 0), (0, 0, 1e-8)]), corner_radius_m=CORNER_M)


@pytest.mark.parametrize("radius", [0.0, -1.0, float("nan"), float("inf")])
def test_radius_must_be_positive(radius: float) -> None:
    with pytest.raises(InputError, match="bend radius"):
        read_bends(lines([(0, 0, 0), (2, 0, 0)]), corner_radius_m=radius)


# --- true arcs --------------------------------------------------------------------------------


def test_true_arc_is_kept_as_drawn() -> None:
    path = with_arc((0.0, 0.0, 0.0), (2.5, 3.0, 0.0))
    reading = read_bends(path, corner_radius_m=None)
    assert reading.centerline.segments[1] is path.edges[1].segment
    assert reading.read_as is ReadAs.ARCS
    assert reading.bends[0].radius_from is RadiusFrom.DRAWING


def test_joined_arcs_of_one_circle_are_one_bend() -> None:
    first = Arc((2.0, 0.0, 0.0), (2.0, R, 0.0), (0.0, 0.0, 1.0), 0.9 * pi)
    second = Arc(first.end_m, (2.0, R, 0.0), (0.0, 0.0, 1.0), 0.5 * pi)
    path = DrawnPath(
        (
            DrawnEdge(Straight((0.0, 0.0, 0.0), (2.0, 0.0, 0.0))),
            DrawnEdge(first, DrawnAs.ARC),
            DrawnEdge(second, DrawnAs.ARC),
        )
    )
    (bend,) = read_bends(path, corner_radius_m=None).bends
    assert degrees(bend.angle_rad) == pytest.approx(252.0, abs=1e-9)
    assert bend.radius_m == pytest.approx(R, abs=1e-12)


def test_arc_that_misses_tangency_a_little_is_laid_tangent_and_said() -> None:
    slope = radians(0.1)
    path = with_arc((2 - 2 * cos(slope), -2 * sin(slope), 0.0), (2.5, 3.0, 0.0))
    reading = read_bends(path, corner_radius_m=None)
    note = finding(reading, "tangent-mismatch")
    assert note.severity is Severity.NOTE
    assert note.message.startswith(
        "1 place where drawn arcs and lines meet misses tangency, by at most 0.1°"
    )
    (bend,) = reading.bends
    # all of the turning is kept, and the radius is the drawn one
    assert degrees(bend.angle_rad) == pytest.approx(89.9, abs=1e-9)
    assert bend.radius_m == pytest.approx(R, abs=1e-12)
    assert not reading.centerline.corners()


def test_arc_that_misses_tangency_much_has_a_corner_there() -> None:
    path = with_arc((0.0, 1.0, 0.0), (2.5, 3.0, 0.0))
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert [b.read_as for b in reading.bends] == [ReadAs.CORNERS, ReadAs.ARCS]
    assert sum(b.angle_rad for b in reading.bends) == pytest.approx(
        np.arctan2(1, 2) + pi / 2, abs=1e-9
    )
    assert "corner-too-short" in codes(reading)


def test_spline_arcs_turning_one_way_are_one_bend_and_an_inflection_starts_another() -> None:
    edges = []
    here, along, side = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    for sign, radius, angle in ((1, 1.0, 0.3), (1, 0.6, 0.4), (1, 0.9, 0.2), (-1, 0.7, 0.5)):
        axis = (0.0, 0.0, float(sign))
        normal = np.cross(axis, along)
        center = tuple(float(v) for v in np.array(here) + radius * normal)
        arc = Arc(here, center, axis, angle)
        edges.append(DrawnEdge(arc, DrawnAs.SPLINE, 0))
        here, along = arc.end_m, arc.end_tangent
    assert side
    first, second = read_bends(DrawnPath(tuple(edges)), corner_radius_m=None).bends
    assert first.angle_rad == pytest.approx(0.9, abs=1e-12)
    assert first.radius_m == pytest.approx(0.6, abs=1e-12)
    assert second.angle_rad == pytest.approx(0.5, abs=1e-12)
    assert second.rotation_rad == pytest.approx(pi)
    assert first.read_as is second.read_as is ReadAs.SPLINE


# --- attitude, rotation, places ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([(0, 0, 0), (2, 0, 0), (2, 2, 0)], Attitude.LEVEL),
        ([(0, 0, 0), (2, 0, 0), (2, 0, 2)], Attitude.RISING),
        ([(0, 0, 0), (2, 0, 0), (2, 0, -2)], Attitude.FALLING),
        ([(0, 0, 0), (0, 0, 2), (2, 0, 2)], Attitude.RISING),
        ([(0, 0, 0), (2, 0, 2), (4, 0, 0)], Attitude.CREST),
        ([(0, 0, 2), (2, 0, 0), (4, 0, 2)], Attitude.SAG),
        ([(0, 0, 0), (2, 0, 0), (2, 2, 2)], Attitude.TILTED),
    ],
)
def test_attitude_of_a_bend(rows: Points, expected: Attitude) -> None:
    assert read_bends(lines(rows), corner_radius_m=CORNER_M).bends[0].attitude is expected


def test_rotation_is_right_handed_about_forward_travel() -> None:
    rows = [(0, 0, 0), (2, 0, 0), (2, 2, 0), (2, 2, 2), (4, 2, 2), (6, 2, 2)]
    bends = read_bends(lines(rows), corner_radius_m=CORNER_M).bends
    assert bends[0].rotation_rad is None
    # first bend turns left about +z; traveling +y, the second turns up about +x: +90° about +y
    assert degrees(bends[1].rotation_rad or 0.0) == pytest.approx(90.0)
    # third turns from +z to +x about +y: from +x to +y about +z is +90°
    assert degrees(bends[2].rotation_rad or 0.0) == pytest.approx(90.0)


def test_plain_offset_rotates_180_and_a_u_0() -> None:
    offset = read_bends(
        lines([(0, 0, 0), (2, 0, 0), (3, 1, 0), (5, 1, 0)]), corner_radius_m=CORNER_M
    )
    turn = read_bends(lines([(0, 0, 0), (2, 0, 0), (2, 2, 0), (0, 2, 0)]), corner_radius_m=CORNER_M)
    assert degrees(offset.bends[1].rotation_rad or 0.0) == pytest.approx(180.0)
    assert turn.bends[1].rotation_rad == pytest.approx(0.0, abs=1e-12)


def test_run_that_crosses_itself_is_a_caution_with_both_places() -> None:
    rows = [(0, 0, 0), (2, 0, 0), (2, 2, 0), (1, 2, 0), (1, -2, 0.005)]
    caution = finding(read_bends(lines(rows), corner_radius_m=CORNER_M), "self-crossing")
    assert caution.severity is Severity.CAUTION
    assert "(1.000 m)" in caution.message


def test_level_route_is_a_caution() -> None:
    reading = read_bends(lines([(0, 0, 3), (2, 0, 3), (2, 2, 3)]), corner_radius_m=CORNER_M)
    assert finding(reading, "all-level").severity is Severity.CAUTION


def test_large_coordinates_are_recentered_and_said() -> None:
    rows = np.add([(0, 0, 0), *arc_points(9), straight_after(pi / 2)], [4e7, 4e7, 100.0])
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    # doubles hold 7e-9 m there; over a 0.1 m chord that is 1e-7 of a turn and less after fitting
    assert bend.angle_rad == pytest.approx(pi / 2, abs=1e-6)
    assert bend.radius_m == pytest.approx(R, rel=1e-6)
    assert "large-coordinates" in codes(reading)
    assert reading.centerline.start_m[0] == pytest.approx(4e7)


def test_coordinates_of_a_site_grid_are_no_trouble() -> None:
    rows = np.add([(0, 0, 0), *arc_points(9), straight_after(pi / 2)], [4e4, 4e4, 100.0])
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    assert reading.bends[0].radius_m == pytest.approx(R, rel=1e-6)
    assert "large-coordinates" not in codes(reading)


def test_stations_of_vertices_follow_the_run_past_itself() -> None:
    rows = [(0, 0, 0), (2, 0, 0), (2, 2, 0), (1, 2, 0), (1, -2, 0.001)]
    stations = read_bends(lines(rows), corner_radius_m=CORNER_M).vertex_station_m
    assert list(stations) == sorted(stations)
    # a corner's nearest place is the middle of its bend
    cut = 2 * CORNER_M - CORNER_M * pi / 2
    assert stations[1] == pytest.approx(2.0 - CORNER_M + CORNER_M * pi / 4)
    assert stations[-1] == pytest.approx(2 + 2 + 1 + np.hypot(4, 0.001) - 3 * cut, abs=1e-3)


def test_bend_split_by_a_fitting_shares_its_angle() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2, 3, 1)])
    reading = read_bends(path, corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    at = bend.station_m + 0.25 * (bend.end_station_m - bend.station_m)
    first, second = split_bend(bend, at, reading.centerline)
    assert first.angle_rad == pytest.approx(pi / 8)
    assert second.angle_rad == pytest.approx(3 * pi / 8)
    assert first.end_station_m == second.station_m == at
    assert second.rotation_rad == 0.0
    with pytest.raises(InputError, match="not inside"):
        split_bend(bend, bend.station_m, reading.centerline)


@pytest.mark.parametrize(
    ("share", "attitudes"),
    [
        (0.5, (Attitude.RISING, Attitude.FALLING)),
        (0.25, (Attitude.RISING, Attitude.CREST)),
        (0.75, (Attitude.CREST, Attitude.FALLING)),
    ],
)
def test_a_crest_split_by_a_fitting_lies_as_its_parts_do(share, attitudes) -> None:
    reading = read_bends(lines([(0, 0, 0), (2, 0, 2), (4, 0, 0)]), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.attitude is Attitude.CREST
    at = bend.station_m + share * (bend.end_station_m - bend.station_m)
    parts = split_bend(bend, at, reading.centerline)
    assert tuple(part.attitude for part in parts) == attitudes
    assert join_bends(*parts, reading.centerline) == bend
    with pytest.raises(InputError, match="does not begin where"):
        join_bends(parts[1], parts[0], reading.centerline)


def test_nearly_straight_vertex_is_merged() -> None:
    path = lines([(0, 0, 0), (2, 1e-7, 0), (4, 0, 1e-9)])
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert reading.bends == ()
    assert reading.deviation_m == pytest.approx(1e-7, rel=0.01)


def test_corner_of_45_uses_its_tangent_length() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (4, 2, 0)])
    (bend,) = read_bends(path, corner_radius_m=CORNER_M).bends
    assert bend.station_m == pytest.approx(2.0 - CORNER_M * tan(pi / 8), abs=1e-12)


@pytest.mark.parametrize(("drop_first", "drop_last"), [(1, 0), (0, 1), (1, 1)])
def test_arcs_in_a_row_that_all_lack_tangent_vertices_are_read_right(
    drop_first: int, drop_last: int
) -> None:
    place, along, normal = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0])
    rows = [place]
    known = [(1.0, 0.5, pi / 2, 8, 0.0), (0.7, 0.6, pi / 3, 7, pi / 2), (1.2, 0.4, pi / 4, 6, 2.0)]
    for straight, radius, angle, chords, roll in known:
        normal = cos(roll) * normal + sin(roll) * np.cross(along, normal)
        place = place + straight * along
        at = np.linspace(0.0, angle, chords + 1)
        arc = [place + radius * (sin(t) * along + (1 - cos(t)) * normal) for t in at]
        rows += arc[drop_first : len(arc) - drop_last]
        place = arc[-1]
        along, normal = (
            cos(angle) * along + sin(angle) * normal,
            cos(angle) * normal - sin(angle) * along,
        )
    rows.append(place + along)
    reading = read_bends(lines([tuple(row) for row in rows]), corner_radius_m=CORNER_M)
    assert [b.angle_rad for b in reading.bends] == pytest.approx(
        [angle for _, _, angle, _, _ in known], abs=1e-7
    )
    assert [b.radius_m for b in reading.bends] == pytest.approx(
        [radius for _, radius, _, _, _ in known], rel=1e-6
    )
