"""Reading a drawn path: what each way of drawing gives, and what is said about it.

One long file, because all tests share the ways of drawing made at its top.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import replace
from math import cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
import survey_routes

from analyzer.errors import InputError, RouteError
from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.readings import Attitude, RadiusFrom, ReadAs, Reading
from analyzer.geometry.segments import Arc, Straight
from analyzer.geometry.split_bends import split_bend

R = 0.5
CORNER_M = 0.24

Points = Sequence[tuple[float, float, float]]


def lines(points: Points, radii: tuple[float | None, ...] = ()) -> DrawnPath:
    rows = [tuple(float(v) for v in p) for p in points]
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in itertools.pairwise(rows))
    return DrawnPath(edges, radii)


def arc_points(n: int, angle: float = pi / 2, radius: float = R) -> list[tuple[float, ...]]:
    """Vertices on an arc that starts at (2, 0, 0) along x and turns left."""
    at = np.linspace(0.0, angle, n)
    return [(2 + radius * sin(t), radius - radius * cos(t), 0.0) for t in at]


def straight_after(angle: float, radius: float = R, length: float = 2.0) -> tuple[float, ...]:
    x, y = 2 + radius * sin(angle), radius - radius * cos(angle)
    return (x + length * cos(angle), y + length * sin(angle), 0.0)


def codes(reading: Reading, *, but: str = "all-level") -> list[str]:
    return [one.code for one in reading.findings if one.code != but]


def finding(reading: Reading, code: str):
    return next(one for one in reading.findings if one.code == code)


def with_arc(before: tuple[float, ...], after: tuple[float, ...]) -> DrawnPath:
    arc = Arc((2.0, 0.0, 0.0), (2.0, R, 0.0), (0.0, 0.0, 1.0), pi / 2)
    return DrawnPath(
        (
            DrawnEdge(Straight(before, arc.start_m)),
            DrawnEdge(arc, DrawnAs.ARC),
            DrawnEdge(Straight(arc.end_m, after)),
        )
    )


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
    assert "0.1°" in note.message
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


# --- chords -----------------------------------------------------------------------------------


@pytest.mark.parametrize("step_deg", [2.0, 5.0, 11.25, 22.5, 30.0])
def test_chords_with_both_tangent_points_are_one_exact_arc(step_deg: float) -> None:
    count = round(90.0 / step_deg) + 1
    path = lines([(0, 0, 0), *arc_points(count), straight_after(pi / 2)])
    reading = read_bends(path, corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=1e-6)
    assert bend.radius_m == pytest.approx(R, rel=1e-6)
    assert bend.radius_from is RadiusFrom.FIT
    assert reading.read_as is ReadAs.CHORDS
    assert codes(reading) == []


@pytest.mark.parametrize(("drop_first", "drop_last"), [(1, 0), (0, 1), (1, 1)])
def test_missing_tangent_vertex_is_found_again(drop_first: int, drop_last: int) -> None:
    points = arc_points(9)[drop_first : 9 - drop_last]
    reading = read_bends(
        lines([(0, 0, 0), *points, straight_after(pi / 2)]), corner_radius_m=CORNER_M
    )
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=1e-6)
    assert bend.radius_m == pytest.approx(R, rel=1e-6)
    assert bend.station_m == pytest.approx(2.0, abs=1e-6)


@pytest.mark.parametrize("spacing", [0.013, 0.05, 0.07])
def test_exact_points_at_equal_spacing_are_one_arc(spacing: float) -> None:
    length = 4.0 + R * pi / 2
    rows = []
    for s in [*np.arange(0.0, length, spacing), length]:
        if s < 2.0:
            rows.append((s, 0.0, 0.0))
        elif s < 2.0 + R * pi / 2:
            t = (s - 2.0) / R
            rows.append((2 + R * sin(t), R - R * cos(t), 0.0))
        else:
            rows.append((2 + R, R + s - 2.0 - R * pi / 2, 0.0))
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=1e-6)
    assert bend.radius_m == pytest.approx(R, rel=1e-6)
    assert codes(reading) == []


def test_polygon_round_the_outside_is_one_arc_with_a_caution() -> None:
    step = pi / 2 / 9
    reach = R / cos(step / 2)
    middles = [(k + 0.5) * step for k in range(9)]
    points = [(2 + reach * sin(t), R - reach * cos(t), 0.0) for t in middles]
    reading = read_bends(
        lines([(0, 0, 0), *points, straight_after(pi / 2)]), corner_radius_m=CORNER_M
    )
    (bend,) = reading.bends
    assert bend.angle_rad == pytest.approx(pi / 2, abs=1e-8)
    assert bend.radius_m == pytest.approx(R, rel=1e-6)
    assert codes(reading) == ["ambiguous-chords"]


@pytest.mark.parametrize("angle_deg", [180.0, 270.0, 330.0])
def test_chords_of_half_a_turn_and_more_are_one_bend(angle_deg: float) -> None:
    angle = radians(angle_deg)
    at = np.linspace(0.0, angle, 31)
    rise = [0.02 * k for k in range(33)]
    points = [(2 + R * sin(t), R - R * cos(t), 0.0) for t in at]
    rows = [(0.0, 0.0, 0.0), *points, straight_after(angle, length=0.3)]
    assert len(rise) == len(rows)
    (bend,) = read_bends(lines(rows), corner_radius_m=CORNER_M).bends
    assert degrees(bend.angle_rad) == pytest.approx(angle_deg, abs=1e-6)
    assert bend.radius_m == pytest.approx(R, rel=1e-6)


def test_two_equal_kicks_a_hand_apart_are_two_bends_and_the_doubt_is_said() -> None:
    a = radians(15.0)
    d = 0.1
    rows = [(0, 0, 0), (2, 0, 0), (2 + d * cos(a), d * sin(a), 0)]
    x, y, _ = rows[-1]
    rows.append((x + 2 * cos(2 * a), y + 2 * sin(2 * a), 0))
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert [round(degrees(b.angle_rad), 6) for b in reading.bends] == [15.0, 15.0]
    caution = finding(reading, "ambiguous-chords")
    assert caution.severity is Severity.CAUTION
    assert 'read_as = "chords"' in caution.message
    settled = read_bends(lines(rows), corner_radius_m=CORNER_M, read_as=ReadAs.CHORDS)
    (bend,) = settled.bends
    # one chord of an arc: R = l / (2 sin a)
    assert bend.radius_m == pytest.approx(d / (2 * sin(a)), rel=1e-9)
    assert "ambiguous-chords" not in codes(settled)


def test_offset_of_two_equal_kicks_is_never_in_doubt() -> None:
    rows = [(0, 0, 0), (2, 0, 0), (2.2, 0.1, 0), (4, 0.1, 1e-9)]
    assert "ambiguous-chords" not in codes(read_bends(lines(rows), corner_radius_m=0.1))


def test_regular_corners_with_room_stay_corners_with_a_note() -> None:
    rows, direction = [(0.0, 0.0, 0.0)], 0.0
    for _ in range(4):
        x, y, _z = rows[-1]
        rows.append((x + 3.0 * cos(direction), y + 3.0 * sin(direction), 0.0))
        direction += radians(22.5)
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert [b.read_as for b in reading.bends] == [ReadAs.CORNERS] * 3
    assert "ambiguous-chords" in codes(reading)


def test_reading_forced_to_corners_keeps_every_vertex() -> None:
    path = lines([(0, 0, 0), *arc_points(4), straight_after(pi / 2)])
    reading = read_bends(path, corner_radius_m=0.05, read_as=ReadAs.CORNERS)
    assert [round(degrees(b.angle_rad), 6) for b in reading.bends] == [15.0, 30.0, 30.0, 15.0]


def test_chords_do_not_run_across_a_fitting() -> None:
    path = lines([(0, 0, 0), *arc_points(9), straight_after(pi / 2)])
    reading = read_bends(path, corner_radius_m=CORNER_M, kept_vertices=frozenset({5}))
    assert [round(degrees(b.angle_rad), 6) for b in reading.bends] == [45.0, 45.0]


def test_coordinates_rounded_to_a_tenth_of_a_millimetre_still_give_the_arc() -> None:
    rows = np.round([(0, 0, 0), *arc_points(10), straight_after(pi / 2)], 4)
    (bend,) = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M).bends
    # ten roundings over the shortest straight or the radius, as published for this rule
    assert bend.angle_rad == pytest.approx(pi / 2, abs=10 * 1e-4 / R)
    assert bend.radius_m == pytest.approx(R, rel=0.005)


def test_fine_chords_rounded_to_a_millimetre_are_one_arc_without_a_doubt() -> None:
    rows = np.round([(0, 0, 0), *arc_points(16), straight_after(pi / 2)], 3)
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    # ends of straights off by half a millimetre each way: 1 mm over the shorter straight
    assert bend.angle_rad == pytest.approx(pi / 2, abs=2e-3 / R)
    assert bend.radius_m == pytest.approx(R, rel=0.01)
    assert codes(reading) == []


def test_hangers_in_three_equal_spacings_leave_the_arc_between_them_as_drawn() -> None:
    """A bend of 45 degrees and 0.2413 m in six chords, three legs of a metre on each side."""
    rows = [(0.369, 0.149), (-0.283, -0.609), (-0.935, -1.368), (-1.587, -2.126)]
    rows += [(-1.606, -2.151), (-1.622, -2.179), (-1.634, -2.208), (-1.641, -2.238)]
    rows += [(-1.645, -2.270), (-1.645, -2.301)]
    rows += [(-1.570, -3.298), (-1.495, -4.296), (-1.420, -5.293)]
    reading = read_bends(lines([(x, y, 7.319) for x, y in rows]), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    # straights of 3 m: their ends are off by half a millimetre each way
    assert bend.angle_rad == pytest.approx(pi / 4, abs=2e-3 / 3.0)
    assert bend.radius_m == pytest.approx(0.2413, rel=0.01)
    assert codes(reading) == []


def test_a_vertex_that_a_coarse_grid_moved_off_its_straight_is_no_bend() -> None:
    """A quarter bend in 16 chords and a vertex within each straight, on a grid of 1/8 in."""
    turn = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))[0]
    after = straight_after(pi / 2)
    rows = [(0, 0, 0), (0.9, 0, 0), *arc_points(17), straight_after(pi / 2, length=0.7), after]
    eighth = 0.0254 / 8
    reading = read_bends(
        lines((np.round(rows @ turn / eighth) * eighth).tolist()), corner_radius_m=CORNER_M
    )
    (bend,) = reading.bends
    # straights of 2 m: their ends are off by half an eighth each way
    assert bend.angle_rad == pytest.approx(pi / 2, abs=2 * eighth / 2.0)
    assert bend.radius_m == pytest.approx(R, rel=0.02)


def test_corners_that_rounding_alone_could_make_are_said() -> None:
    # uneven chords on a centimetre grid: nothing proves one arc, and nothing proves corners
    angles = np.array([0.0, 4.0, 11.0, 15.0, 24.0, 28.0, 36.0, 45.0])
    arc = [(3 + 0.4 * np.sin(a), 0.4 * (1 - np.cos(a)), 0.0) for a in np.radians(angles)]
    x, y, _ = arc[-1]
    rows = np.round([(0, 0, 0), *arc, (x + 2.0, y + 2.0, 0)], 2)
    reading = read_bends(lines(rows.tolist()), corner_radius_m=0.02)
    said = [f.message for f in reading.findings if f.code == "ambiguous-chords"]
    assert any("rounded to" in text and "more digits" in text for text in said)


def test_hidden_rounding_of_a_turned_block_still_gives_the_arc() -> None:
    rows = np.round([(0, 0, 0), *arc_points(10), straight_after(pi / 2)], 6)
    turn = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))[0]
    reading = read_bends(lines((rows @ turn.T).tolist()), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(R, rel=1e-4)


def test_a_gentle_arc_of_chords_that_rounding_hides_is_a_corner_with_a_caution() -> None:
    """Ten degrees of 0.477 m in six chords of 14 mm, written to the millimeter."""
    turn, radius = radians(10.0), 0.477
    last = straight_after(turn, radius, 2.7)
    rows = [(0.0, 0.0, 0.0), *arc_points(7, turn, radius), last]
    frame = np.linalg.qr(np.random.default_rng(6).normal(size=(3, 3)))[0]
    path = lines(np.round(np.array(rows) @ frame, 3).tolist())
    reading = read_bends(path, corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.read_as is ReadAs.CORNERS
    caution = finding(reading, "ambiguous-chords")
    assert caution.severity is Severity.CAUTION
    said = re.search(r"corner of (\S+)°, .* about \S+ in \((\d+\.\d) mm\)", caution.message)
    assert said
    # both ends of the straights are good to half a millimeter, the chords to 14 mm in 83
    assert float(said[1]) == pytest.approx(10.0, abs=0.05)
    assert float(said[2]) == pytest.approx(477.0, rel=0.17)


def test_points_beside_a_sharp_corner_are_no_gentle_arc() -> None:
    """Supports 150 and 300 mm off a right angle, within a millimeter of its lines."""
    rows = [
        *((3.734, 0.641, 3.0), (9.883, 5.275, 3.0), (10.003, 5.366, 3.0), (10.123, 5.456, 3.0)),
        *((10.033, 5.576, 3.0), (9.942, 5.696, 3.0), (5.308, 11.845, 3.0), (5.308, 11.845, -1.0)),
    ]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert not any("close together" in one.message for one in reading.findings)


def test_a_doubt_about_one_corner_measures_the_straights_beside_it() -> None:
    """Arcs of 60°, 90° and 15°, eight chords each, written to 0.01 ft: the last is one corner."""
    foot, way, rows = 0.3048, 0.0, [np.zeros(2)]
    for length, sign, turn in ((8.63, -1, 60), (7.0, 1, 90), (6.5, -1, 15), (9.0, 1, 0)):
        start = rows[-1] + length * np.array([cos(way), sin(way)])
        turned = np.linspace(way, way + sign * radians(turn), 9 if turn else 1)
        arc = np.stack([np.sin(turned) - sin(way), cos(way) - np.cos(turned)], axis=1)
        rows += list(start + sign * 2.0 * arc)
        way = float(turned[-1])
    path = lines([(*(np.round(row, 2) * foot), 0.0) for row in rows])
    reading = read_bends(path, corner_radius_m=9.5 * 0.0254)
    (doubt,) = (one for one in reading.findings if "close together" in one.message)
    assert degrees(reading.bends[-1].angle_rad) == pytest.approx(15.0, abs=0.4)
    assert float(re.findall(r"([\d.]+)°", doubt.message)[0]) == pytest.approx(15.0, abs=0.4)


def test_two_corners_that_pass_for_equal_are_told_by_their_own_turns() -> None:
    inch = 0.0254
    rows = [(0, 0, 0), (100 * inch, 0.225 * inch, 0), (103 * inch, 0.225 * inch, 0)]
    reading = read_bends(lines([*rows, (300 * inch, 0, 0)]), corner_radius_m=9.5 * inch)
    text = finding(reading, "ambiguous-chords").message
    assert text.startswith("two corners of 0.1289° and 0.06544°, equal within what")


def bridged(path: DrawnPath, *gaps_m: float) -> DrawnPath:
    edges = zip(path.edges, gaps_m, strict=True)
    return replace(path, edges=tuple(replace(edge, bridged_m=gap) for edge, gap in edges))


def test_a_short_line_tilted_by_a_gap_is_no_corner_beside_its_arc() -> None:
    tilted = with_arc((1.9, -0.0015, 0), (2.5, 3.0, 0))
    assert len(read_bends(tilted, corner_radius_m=CORNER_M).bends) == 2
    loose = read_bends(bridged(tilted, 0.0015, 0.0, 0.0), corner_radius_m=CORNER_M)
    (bend,) = loose.bends
    assert bend.radius_m == pytest.approx(R)
    assert finding(loose, "tangent-mismatch").severity is Severity.NOTE


def test_a_straight_too_short_beside_a_bridged_gap_names_the_gap() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2.0512345, 0.0014321, 0), (2.0512345, 3, 0)])
    gap = bridged(path, 0.0015, 0.0015, 0.0)
    text = finding(read_bends(gap, corner_radius_m=CORNER_M), "corner-too-short").message
    assert "A gap of 0.059 in (1.50 mm) was bridged there" in text
    apart = bridged(lines([(0, 0, 0), (2, 0, 0), (2, 0.2, 0), (4, 0.2, 0)]), 0.0015, 0.0015, 0.0)
    text = finding(read_bends(apart, corner_radius_m=CORNER_M), "corner-too-short").message
    assert "bridged" not in text


def test_a_corner_too_slight_to_be_bent_is_spread_over_its_lines() -> None:
    """Two lines that miss each other's direction by 0.03 in over 200 in, then a right angle."""
    inch = 0.0254
    rows = [(0, 0, 0), (2400 * inch, 0, 0), (2600 * inch, 0.03 * inch, 0), (2600 * inch, 20, 0)]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    slight, right = reading.bends
    assert degrees(slight.angle_rad) == pytest.approx(degrees(0.03 / 200), rel=1e-3)
    assert slight.radius_m > 1000.0
    assert right.radius_m == pytest.approx(CORNER_M)
    assert finding(reading, "slight-corner").severity is Severity.NOTE
    # half a degree and more may be meant
    rows[2] = (2600 * inch, 2.0 * inch, 0)
    assert read_bends(lines(rows), corner_radius_m=CORNER_M).bends[0].radius_m == CORNER_M


def test_a_helix_of_chords_is_no_flat_arc() -> None:
    """One turn of 24 in that rises 12 in: sixty chords of 2 pi R by 12 in, its plain length."""
    inch = 0.0254
    t = np.linspace(0.0, 2.0 * pi, 61)
    rows = np.column_stack((24 * np.cos(t), 24 * np.sin(t), 12 * t / (2 * pi))) * inch
    start, end = rows[0] - [0.0, 2.0, 0.1], rows[-1] + [0.0, 2.0, 0.1]
    reading = read_bends(lines([start, *rows, end]), corner_radius_m=CORNER_M)
    assert reading.deviation_m < 0.01
    helix = reading.centerline.length_m - 2.0 * np.hypot(2.0, 0.1)
    assert helix == pytest.approx(np.hypot(2 * pi * 24, 12) * inch, rel=0.004)
    assert finding(reading, "ambiguous-chords").severity is Severity.CAUTION


def test_three_corners_that_may_be_chords_get_one_doubt() -> None:
    """Turns of 22.5, 45 and 22.5 degrees touch one circle from inside and one from outside."""
    rows = [(0, 0, 0), (10, 0, 0), (12, 0.828427, 0), (12.828427, 2.828427, 0), (12.828427, 12, 0)]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert codes(reading).count("ambiguous-chords") == 1
    assert "2 chords of one arc of 90°" in finding(reading, "ambiguous-chords").message


def unused(reading: Reading) -> list[tuple[Severity, str]]:
    found = [one for one in reading.findings if one.code == "radius-not-used"]
    return [(one.severity, one.message) for one in found]


def test_a_stated_radius_that_no_corner_has_is_said() -> None:
    """At an end and on a straight a note; where one radius fills the column nothing."""
    route = [(0, 0, 0), (1, 0, 0), (2, 0, 0), (2, 3, 0)]
    ((severity, said),) = unused(
        read_bends(lines(route, (0.3, 0.5, 0.4, None)), corner_radius_m=CORNER_M)
    )
    assert severity is Severity.NOTE
    assert "(300.0 mm) at point 1, " in said
    assert "(500.0 mm) at point 2)" in said
    assert not unused(read_bends(lines(route, (0.4,) * 4), corner_radius_m=CORNER_M))
    ((_, said),) = unused(
        read_bends(lines(route, (None, 0.4, None, None)), corner_radius_m=CORNER_M)
    )
    assert "(400.0 mm) at point 2)" in said
    assert unused(
        read_bends(
            lines([*route, (2, 3, 3)], (None, 0.4, None, 0.4, None)), corner_radius_m=CORNER_M
        )
    )


def test_a_stated_radius_of_measured_points_is_a_caution() -> None:
    rows = noisy().tolist()
    path = replace(lines(rows, (0.9,) * len(rows)), vertex_names=tuple(map(str, range(len(rows)))))
    caution, note = unused(read_bends(path, corner_radius_m=CORNER_M, accuracy_m=0.002))
    assert caution[0] is Severity.CAUTION
    assert "35.43 in (900.0 mm) at 29 to 39)" in caution[1]
    assert note[0] is Severity.NOTE


# --- survey points ----------------------------------------------------------------------------


def noisy(seed: int = 3, sd: float = 0.002) -> np.ndarray:
    length = 4.0 + R * pi / 2
    rows = []
    for s in np.arange(0.0, length, 0.07):
        if s < 2.0:
            rows.append((s, 0.0, 0.0))
        elif s < 2.0 + R * pi / 2:
            t = (s - 2.0) / R
            rows.append((2 + R * sin(t), 0.0, R - R * cos(t)))
        else:
            rows.append((2 + R, 0.0, R + s - 2.0 - R * pi / 2))
    return np.array(rows) + np.random.default_rng(seed).normal(size=(len(rows), 3)) * sd


@pytest.mark.parametrize("accuracy", [None, 0.002])
def test_noisy_points_are_fitted(accuracy: float | None) -> None:
    reading = read_bends(lines(noisy().tolist()), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    (bend,) = reading.bends
    assert reading.read_as is ReadAs.SURVEY
    assert bend.angle_sd_rad is not None
    assert abs(bend.angle_rad - pi / 2) < 4 * bend.angle_sd_rad
    assert bend.radius_m == pytest.approx(R, abs=0.02)
    assert ("read-as-survey" in codes(reading)) is (accuracy is None)
    assert reading.deviation_m < 0.01


@pytest.mark.parametrize("sd", [0.0, 0.0001, 0.001, 0.002, 0.003, 0.006])
def test_points_written_to_the_millimeter_scatter_by_more_than_their_rounding(sd: float) -> None:
    for seed in range(4):
        rounded = np.round(noisy(seed, sd), 3)
        reading = read_bends(lines(rounded.tolist()), corner_radius_m=CORNER_M)
        (bend,) = reading.bends
        assert bend.angle_sd_rad is not None
        assert abs(bend.angle_rad - pi / 2) < 4 * bend.angle_sd_rad
        said = finding(reading, "read-as-survey").message
        assert ("taken from their rounding" in said) is (sd < 0.0005)
        assert "survey-accuracy-estimated" in codes(reading) or sd < 0.0005
        assert not any("stated accuracy" in one.message for one in reading.findings)
        assert all(one.severity is not Severity.ERROR for one in reading.findings)


def survey_corner() -> np.ndarray:
    """Noisy points along a right angle with its corner at (2, 0, 0), point 25."""
    s = np.arange(0.0, 2.0, 0.08)
    first = np.column_stack([s, 0 * s, 0 * s])
    second = np.column_stack([2 + 0 * s, s, 0 * s])
    rows = np.concatenate([first, second])
    return rows + np.random.default_rng(3).normal(size=rows.shape) * 0.002


def test_survey_corner_in_a_fitting_stays_sharp_where_the_fitted_straights_meet() -> None:
    reading = read_bends(
        lines(survey_corner().tolist()),
        corner_radius_m=CORNER_M,
        accuracy_m=0.002,
        kept_vertices=frozenset({25}),
    )
    (corner,) = reading.bends
    assert corner.in_fitting
    # two straights of 25 points with 2 mm each: better than 0.3°
    assert degrees(corner.angle_rad) == pytest.approx(90.0, abs=0.3)
    assert reading.read_as is ReadAs.SURVEY


def test_survey_corner_whose_radius_cannot_be_told_gets_the_radius_of_the_table() -> None:
    reading = read_bends(
        lines(survey_corner().tolist()), corner_radius_m=CORNER_M, accuracy_m=0.002
    )
    (bend,) = reading.bends
    assert bend.radius_determined is False
    assert bend.radius_m == pytest.approx(CORNER_M)
    assert bend.radius_from is RadiusFrom.TABLE
    assert "survey-radius" in codes(reading)


def test_fitting_on_a_surveyed_straight_makes_no_corner() -> None:
    reading = read_bends(
        lines(noisy().tolist()),
        corner_radius_m=CORNER_M,
        accuracy_m=0.002,
        kept_vertices=frozenset({14}),
    )
    assert [b.in_fitting for b in reading.bends] == [False]


def test_noisy_points_on_a_millimetre_grid_are_not_taken_for_rounded_chords() -> None:
    rows = np.round(noisy(), 3).tolist()
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert [b.read_as for b in reading.bends] == [ReadAs.SURVEY]


def few_measured(spacing: float) -> list[list[float]]:
    """Straights of 0.5 m, three bends of 0.6 m radius, 1 mm of noise."""
    drawn = survey_routes.build(
        np.random.default_rng(1),
        np.radians([90.0, 60.0, 90.0]),
        np.full(3, 0.6),
        np.full(4, 0.5),
        spacing,
        0.001,
    )
    return drawn.points.tolist()


def test_few_measured_points_are_survey_points_where_their_accuracy_is_stated() -> None:
    # read as corners they were fourteen bends in place of three
    reading = read_bends(lines(few_measured(0.3)), corner_radius_m=CORNER_M, accuracy_m=0.001)
    assert reading.read_as is ReadAs.SURVEY
    assert len(reading.bends) == 3
    assert codes(reading) == ["survey-few-points", "survey-straight-hidden"]


def test_few_points_that_stand_like_measured_ones_are_called_in_question() -> None:
    reading = read_bends(lines(few_measured(0.4)), corner_radius_m=CORNER_M)
    assert reading.read_as is ReadAs.CORNERS
    (said,) = [f for f in reading.findings if f.code == "ambiguous-chords"]
    assert said.severity is Severity.CAUTION
    assert "each by another angle, as measured points do" in said.message


def test_even_legs_with_angles_that_repeat_are_drawn_corners() -> None:
    turned = np.radians(np.cumsum([0, 30, 45, -30, 60, 45, -30, 30, -45, 60]))
    legs = 0.5 * np.stack((np.cos(turned), np.sin(turned), np.zeros(turned.size)), axis=1)
    rows = np.concatenate((np.zeros((1, 3)), np.cumsum(legs, axis=0))).tolist()
    for accuracy in (None, 0.002):
        reading = read_bends(lines(rows), corner_radius_m=CORNER_M, accuracy_m=accuracy)
        assert reading.read_as is ReadAs.CORNERS
        assert len(reading.bends) == 9


def test_few_exact_corners_are_never_survey_points() -> None:
    rows = [(0, 0, 0), (2, 0, 0), (2, 3, 0), (4, 3, 0), (4, 4, 1), (4, 6, 1), (4, 6, 3)]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M, accuracy_m=0.003)
    assert reading.read_as is ReadAs.CORNERS
    assert codes(reading) == ["accuracy-not-used"]


def three_shots(
    seed: int, radius: float = 0.2, per_straight: int = 1, straight_m: float = 3.0
) -> np.ndarray:
    """Quarter bends up and level, each with its start, middle and end, measured to 2 mm."""
    rows, place, along, side = [np.zeros(3)], np.zeros(3), np.array([1.0, 0, 0]), np.eye(3)[1]
    for after in (np.eye(3)[2], -np.eye(3)[0], np.eye(3)[1]):
        for k in range(per_straight + 1):
            rows.append(place + along * straight_m * (k + 1) / (per_straight + 1))
        center = rows[-1] + radius * side
        rows += [center + radius * (along - side) / np.sqrt(2.0), center + radius * along]
        place, along, side = rows[-1], side, after
    rows += [place + along * straight_m / 2.0, place + along * straight_m]
    return np.array(rows) + np.random.default_rng(seed).normal(0.0, 0.002, (len(rows), 3))


@pytest.mark.parametrize("asked", [None, ReadAs.SURVEY])
@pytest.mark.parametrize("radius, per_straight", [(0.2, 1), (0.9144, 0)])
def test_start_middle_and_end_of_every_bend_are_read_as_its_arc(radius, per_straight, asked):
    path = lines(three_shots(1, radius, per_straight).tolist())
    reading = read_bends(path, corner_radius_m=CORNER_M, accuracy_m=0.002, read_as=asked)
    assert reading.read_as is ReadAs.SURVEY
    assert len(reading.bends) == 3
    for bend in reading.bends:
        assert abs(bend.angle_rad - pi / 2) < 4.0 * bend.angle_sd_rad
        assert abs(bend.radius_m - radius) < 4.0 * bend.radius_sd_m < 0.2 * radius
    said = {one.code: one.severity for one in reading.findings}
    assert said["survey-three-shots"] is Severity.CAUTION
    assert Severity.ERROR not in said.values()


def test_measured_corners_are_never_taken_for_three_shots_a_bend() -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        turned = np.cumsum(np.radians(rng.choice([22.5, 30.0, 45.0], 7)) * rng.choice([-1, 1], 7))
        legs = np.stack((np.cos(turned), np.sin(turned), 0.1 * rng.normal(size=7)), axis=1)
        rows = np.cumsum(legs * rng.uniform(0.2, 3.0, 7)[:, None], axis=0)
        rows += rng.normal(0.0, 0.002, rows.shape)
        reading = read_bends(lines(rows.tolist()), corner_radius_m=0.05, accuracy_m=0.002)
        assert reading.read_as is ReadAs.CORNERS
        assert finding(reading, "accuracy-not-used").severity is Severity.CAUTION


def test_a_small_drawn_curve_is_never_taken_for_three_shots_a_bend() -> None:
    half = np.radians([4.1, 6.2, 10.2, 17.8, 28.9, 30.9, 20.4])
    along = np.cumsum(np.concatenate(([0.0], half, -half[::-1])))
    side = np.array([25.0, 21.2, 17.0, 13.0, 9.8, 8.24, 9.22]) / 1000.0
    legs = np.concatenate((side, [0.0243], side[::-1]))
    steps = legs[:, None] * np.column_stack((np.cos(along), np.sin(along), 0.0 * along))
    rows = np.vstack((np.zeros(3), np.cumsum(steps, axis=0)))
    reading = read_bends(lines(rows.tolist()), corner_radius_m=0.01, accuracy_m=0.002)
    assert "survey-three-shots" not in codes(reading)


def test_an_accuracy_that_few_points_leave_unused_is_a_caution_that_says_what_to_do() -> None:
    rows = three_shots(2)[[0, 2, 4, 6, 7, 8, 11]]
    reading = read_bends(lines(rows.tolist()), corner_radius_m=0.05, accuracy_m=0.002)
    assert reading.read_as is ReadAs.CORNERS
    said = finding(reading, "accuracy-not-used")
    assert said.severity is Severity.CAUTION
    assert "the start, the middle and the end" in said.message


FIFTEEN_OF_THREE_BENDS = (
    (0.003, 0.0006, 0.0011),
    (1.0153, -0.0021, -0.0017),
    (2.0306, -0.0012, 0.0025),
    (2.1618, 0.0036, 0.017),
    (2.2826, -0.0018, 0.0654),
    (3.1995, 0.0006, 0.5947),
    (4.1153, 0.0007, 1.127),
    (4.2679, 0.0008, 1.258),
    (4.3522, 0.0018, 1.432),
    (4.7451, -0.0011, 2.8919),
    (5.1328, 0.0012, 4.3524),
    (5.1659, -0.013, 4.4766),
    (5.1986, -0.0662, 4.5973),
    (5.5393, -0.8255, 5.8654),
    (5.8773, -1.5853, 7.1386),
)
"""Bends of 30, 45 and 30 degrees with a radius of 0.5 m, measured to 2 mm. [m]"""


def test_an_accuracy_that_few_points_estimate_and_that_hides_bends_is_an_error() -> None:
    reading = read_bends(lines(FIFTEEN_OF_THREE_BENDS), corner_radius_m=CORNER_M)
    said = finding(reading, "survey-accuracy-unsure")
    assert said.severity is Severity.ERROR
    assert "15 points" in said.message


@pytest.mark.parametrize("count", [4, 5])
def test_too_few_points_for_a_survey_that_was_asked_for_are_refused(count: int) -> None:
    path = lines(three_shots(1)[:count].tolist())
    reading = read_bends(path, corner_radius_m=CORNER_M, accuracy_m=0.002, read_as=ReadAs.SURVEY)
    assert finding(reading, "survey-too-few-points").severity is Severity.ERROR


@pytest.mark.parametrize("accuracy, kind", [(0.01524, ReadAs.SURVEY), (None, None)])
def test_points_on_a_grid_that_the_stated_accuracy_allows_are_survey_points(accuracy, kind):
    angles, radii = np.radians([30.0, 60.0]), np.array([0.5, 0.5])
    route = survey_routes.build(
        np.random.default_rng(2), angles, radii, np.array([2.0, 3.0, 2.0]), 0.12, 1e-9
    )
    grid = 0.1 * 0.3048
    rows = np.round(route.points / grid) * grid
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    if kind is None:
        assert len(reading.bends) > 8
        return
    assert reading.read_as is kind
    assert [round(degrees(b.angle_rad) / 5.0) for b in reading.bends] == [6, 12]


def test_many_equal_offsets_are_never_survey_points() -> None:
    rows, direction = [(0.0, 0.0, 0.0)], 0.0
    for k in range(30):
        direction += radians(10.0) * (1 if k % 2 else -1)
        x, y, z = rows[-1]
        rows.append((x + cos(direction), y + sin(direction), z))
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M, accuracy_m=0.003)
    assert reading.read_as is ReadAs.CORNERS
    assert len(reading.bends) == 29


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
