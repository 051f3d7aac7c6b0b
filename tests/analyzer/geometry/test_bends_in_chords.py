"""Bends drawn in chords, and corners that might be some."""

from __future__ import annotations

import re
from math import atan2, cos, degrees, pi, radians, sin

import numpy as np
import pytest
from drawn_ways import (
    CORNER_M,
    R,
    arc_points,
    codes,
    finding,
    lines,
    straight_after,
)

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.chords.line_doubts import gentle_doubts
from analyzer.geometry.readings import RadiusFrom, ReadAs


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


@pytest.mark.parametrize("way_deg", [0.0, 17.0, 200.0])
@pytest.mark.parametrize("angle_deg", [160.0, 180.0, 210.0, 330.0])
def test_every_point_of_a_u_bend_in_rounded_chords_is_found_on_it(
    angle_deg: float, way_deg: float
) -> None:
    angle, way = radians(angle_deg), radians(way_deg)
    ends = ((0.0, 0.0, 0.0), straight_after(angle, length=0.4))
    at = np.linspace(0.0, angle, 21)
    rows = [ends[0], *((2 + R * sin(t), R - R * cos(t), 0.0) for t in at), ends[1]]
    turned = [(x * cos(way) - y * sin(way), x * sin(way) + y * cos(way), z) for x, y, z in rows]
    rounded = [tuple(round(v, 5) for v in row) for row in turned]
    reading = read_bends(lines(rounded), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(angle_deg, abs=0.02)
    assert reading.deviation_m < 2e-5
    assert "off-the-drawing" not in codes(reading)


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


def test_coordinates_rounded_to_a_tenth_of_a_millimeter_still_give_the_arc() -> None:
    rows = np.round([(0, 0, 0), *arc_points(10), straight_after(pi / 2)], 4)
    (bend,) = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M).bends
    # ten roundings over the shortest straight or the radius, as published for this rule
    assert bend.angle_rad == pytest.approx(pi / 2, abs=10 * 1e-4 / R)
    assert bend.radius_m == pytest.approx(R, rel=0.005)


def test_fine_chords_rounded_to_a_millimeter_are_one_arc_without_a_doubt() -> None:
    rows = np.round([(0, 0, 0), *arc_points(16), straight_after(pi / 2)], 3)
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    # ends of straights off by half a millimeter each way: 1 mm over the shorter straight
    assert bend.angle_rad == pytest.approx(pi / 2, abs=2e-3 / R)
    assert bend.radius_m == pytest.approx(R, rel=0.01)
    assert codes(reading) == []


def test_hangers_in_three_equal_spacings_leave_the_arc_between_them_as_drawn() -> None:
    """A bend of 45 degrees and 0.2413 m in six chords, three legs of a meter on each side."""
    rows = [(0.369, 0.149), (-0.283, -0.609), (-0.935, -1.368), (-1.587, -2.126)]
    rows += [(-1.606, -2.151), (-1.622, -2.179), (-1.634, -2.208), (-1.641, -2.238)]
    rows += [(-1.645, -2.270), (-1.645, -2.301)]
    rows += [(-1.570, -3.298), (-1.495, -4.296), (-1.420, -5.293)]
    reading = read_bends(lines([(x, y, 7.319) for x, y in rows]), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    # straights of 3 m: their ends are off by half a millimeter each way
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
    # uneven chords on a centimeter grid: nothing proves one arc, and nothing proves corners
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


@pytest.mark.parametrize("uneven", [False, True])
@pytest.mark.parametrize("off_m", [1e-9, 1e-8, 1e-7, 1e-6, 1e-5])
def test_three_chords_off_by_a_hair_on_no_grid_are_one_arc(off_m: float, uneven: bool) -> None:
    """As drawings are that were written to some decimals and then moved, turned or scaled."""
    turned = [0.0, 0.4, 1.1, pi / 2] if uneven else [0.0, pi / 6, pi / 3, pi / 2]
    arc = [(2.0 + R * sin(a), R * (1.0 - cos(a)), 0.0) for a in turned]
    rows = np.array([(0, 0, 0), *arc, straight_after(pi / 2)])
    for seed in range(4):
        errors = np.random.default_rng(seed).uniform(-off_m, off_m, rows.shape)
        reading = read_bends(lines((rows + errors).tolist()), corner_radius_m=CORNER_M)
        (bend,) = reading.bends
        assert bend.read_as is ReadAs.CHORDS
        # the error of two points over the chord between them
        assert bend.angle_rad == pytest.approx(pi / 2, abs=4.0 * off_m)
        assert bend.radius_m == pytest.approx(R, rel=20.0 * off_m / R)


@pytest.mark.parametrize("off_m", [0.0, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5])
def test_corners_that_may_be_two_chords_are_told_however_they_are_written(off_m: float) -> None:
    arc = arc_points(3, radians(60.0))
    rows = np.array([(0, 0, 0), *arc, straight_after(radians(60.0))])
    errors = np.random.default_rng(12).uniform(-off_m, off_m, rows.shape)
    reading = read_bends(lines((rows + errors).tolist()), corner_radius_m=CORNER_M)
    assert finding(reading, "ambiguous-chords").severity is Severity.CAUTION


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


def test_an_offset_of_chords_as_fine_as_the_grid_keeps_its_angles_and_is_told() -> None:
    """An offset of 10° in two chords a bend, to the millimeter: vertices stand 1 to 4 mm off."""
    places = [(0, 0), (2462, 0), (2483, 0), (2504, 3), (2749, 46), (2770, 49), (2791, 50)]
    rows = [(x / 1000.0, 0.0, z / 1000.0) for x, z in [*places, (5223, 50)]]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    turned = [degrees(bend.angle_rad) for bend in reading.bends]
    # ends of straights are good to half a millimeter, of the middle one of 0.25 m too
    assert sum(turned) == pytest.approx(20.0, abs=0.5)
    assert finding(reading, "ambiguous-chords").severity is Severity.CAUTION
    corners = read_bends(lines(rows), corner_radius_m=CORNER_M, read_as=ReadAs.CORNERS)
    # up at (2483, 0) by atan2(46, 266), down at the three points after by their own directions
    up, near, far, level = (degrees(atan2(*d)) for d in ((46, 266), (3, 21), (1, 21), (0, 1)))
    turned = [up, up - near, near - far, far - level]
    assert [degrees(bend.angle_rad) for bend in corners.bends] == pytest.approx(turned, abs=1e-6)


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


def test_points_of_an_arc_too_fine_for_the_grid_between_short_straights_are_told():
    steps = [radians(15.0) * k / 3 for k in range(4)]
    bend = [(8.0 + 12.0 * sin(a), 12.0 - 12.0 * cos(a), 0.0) for a in steps]
    along = np.array([cos(steps[-1]), sin(steps[-1]), 0.0])
    end = np.array(bend[-1]) + 12.0 * along
    points = [(0.0, 0.0, 0.0), *bend, end, end + np.array([-40.0, 40.0, 0.0])]
    path = lines(list(np.round(np.array(points) * 16.0) * 0.0254 / 16.0))
    told = finding(read_bends(path, corner_radius_m=CORNER_M), "ambiguous-chords")
    assert "close together are read as one corner" in told.message


@pytest.mark.parametrize(
    ("radius", "angle_deg", "step_m", "rest_m", "grid_m"),
    [
        (0.61, 45.0, 0.1, 0.035, 1e-3),
        (0.241, 90.0, 0.05, 0.026, 1e-3),
        (0.5, 90.0, 0.1, 0.03, 1e-4),
    ],
)
def test_first_chord_shorter_than_the_others_belongs_to_the_arc(
    radius: float, angle_deg: float, step_m: float, rest_m: float, grid_m: float
) -> None:
    angle = radians(angle_deg)
    at = [0.0, *np.arange(rest_m, angle * radius - 0.005, step_m), angle * radius]
    points = [(2 + radius * sin(s / radius), radius - radius * cos(s / radius), 0.0) for s in at]
    rows = np.array([(0, 0, 0), *points, straight_after(angle, radius)])
    turned = rows @ np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0].T
    reading = read_bends(lines(np.round(turned / grid_m) * grid_m), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(angle_deg, abs=0.2)
    assert bend.radius_m == pytest.approx(radius, rel=0.02)


@pytest.mark.parametrize(("radius", "chords"), [(0.305, 6), (0.61, 14)])
def test_last_chord_shorter_than_the_others_belongs_to_the_arc_on_a_coarse_grid(
    radius: float, chords: int
) -> None:
    angle, grid_m = (chords * 0.05 + 0.03) / radius, 0.0254 / 16
    at = [*(0.05 * k / radius for k in range(chords + 1)), angle]
    points = [(2 + radius * sin(t), radius - radius * cos(t), 0.0) for t in at]
    rows = np.array([(0, 0, 0), *points, straight_after(angle, radius)])
    turned = rows @ np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0].T
    reading = read_bends(lines(np.round(turned / grid_m) * grid_m), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(degrees(angle), abs=0.5)
    assert bend.radius_m == pytest.approx(radius, rel=0.02)
    assert codes(reading) == []


def test_arc_without_points_at_its_tangent_points_takes_its_radius_from_its_points() -> None:
    radius, grid = 0.5, 0.0254 / 16
    at = np.arange(0.03, radius * pi / 2, 0.1) / radius
    points = [(2 + radius * sin(t), radius - radius * cos(t), 0.0) for t in at]
    rows = np.array([(0, 0, 0), *points, straight_after(pi / 2)])
    turned = rows @ np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0].T
    reading = read_bends(lines(np.round(turned / grid) * grid), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(radius, rel=0.02)
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert 'read_as = "survey"' in told.message


@pytest.mark.parametrize(
    ("step_deg", "radius"), [(17.0, 0.3), (17.5, 0.6), (22.0, 0.5), (29.5, 0.5)]
)
def test_a_last_chord_so_short_that_a_grid_lays_it_in_line_ends_its_arc_without_a_doubt(
    step_deg: float, radius: float
) -> None:
    at = np.radians([*np.arange(0.0, 90.0, step_deg), 90.0])
    points = [(2 + radius * sin(t), radius - radius * cos(t), 0.0) for t in at]
    rows = np.round([(0.0, 0.0, 0.0), *points, straight_after(pi / 2, radius)], 3)
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=0.01)
    assert bend.radius_m == pytest.approx(radius, abs=3e-4)
    assert codes(reading, but="all-level") == []


def test_a_polygon_off_by_more_than_its_digits_takes_its_tangent_vertex_for_no_corner() -> None:
    # eight corners of 5.6 degrees round an arc of 45, each off by up to a tenth of a millimeter
    rows = [
        (0.0, 0.0, 0.0),
        (2.817770, 0.000038, 0.0),
        (2.879120, -0.000028, 0.0),
        (3.001204, -0.011866, 0.0),
        (3.121398, -0.035671, 0.0),
        (3.238751, -0.071627, 0.0),
        (3.352049, -0.118402, 0.0),
        (3.460220, -0.176215, 0.0),
        (3.562153, -0.244216, 0.0),
        (3.656949, -0.322038, 0.0),
        (5.356937, -2.022274, 0.0),
    ]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.read_as is ReadAs.CHORDS
    assert degrees(bend.angle_rad) == pytest.approx(45.0, abs=0.01)
    assert "8 corners" in finding(reading, "ambiguous-chords").message


def test_no_arc_is_named_between_straights_that_run_one_way() -> None:
    """An offset of two grids in points close together, written to an inch and turned a hair."""
    y = [0.0, 0.0, 0.012, 0.025, 0.04, 0.05, 0.05 + 1e-12]
    points = np.column_stack(([0.0, 3.0, 3.2, 3.4, 3.6, 3.8, 7.0], y, [0.0] * 7))
    (doubt,) = gentle_doubts(points, (3,), (), 0.0254)
    assert "may be one straight, or an offset" in doubt.message
    assert "e-" not in doubt.message
