"""Bends drawn in chords, and corners that might be some."""

from __future__ import annotations

import re
from dataclasses import replace
from math import cos, degrees, pi, radians, sin

import numpy as np
import pytest
from drawn_ways import (
    CORNER_M,
    R,
    arc_points,
    codes,
    finding,
    lines,
    noisy,
    straight_after,
    with_arc,
)

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.chords import circle_runs
from analyzer.geometry.chords.line_doubts import gentle_doubts
from analyzer.geometry.circle_fit import fit_circle
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.readings import RadiusFrom, ReadAs, Reading


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
    # the two vertices of each bend that turn by 8° and 1.7° to 2°, and by 5.7° and 4.5°
    assert len(corners.bends) == 4
    assert sum(degrees(bend.angle_rad) for bend in corners.bends) == pytest.approx(20.0, abs=0.5)


def test_a_circle_is_fitted_once_however_many_tolerances_are_tried(monkeypatch) -> None:
    """Chords of 3° that are off by up to 0.05 mm on no grid: looser tolerances are tried."""
    fitted: list[bytes] = []

    def fit(points_m):
        fitted.append(points_m.tobytes())
        return fit_circle(points_m)

    monkeypatch.setattr(circle_runs, "fit_circle", fit)
    rows = np.array([(0, 0, 0), *arc_points(31), straight_after(pi / 2)])
    rows += np.random.default_rng(8).uniform(-5e-5, 5e-5, rows.shape)
    read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    assert len(fitted) > 50
    assert len(set(fitted)) == len(fitted)


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


@pytest.mark.parametrize("read_as", [None, ReadAs.CORNERS])
def test_a_vertex_a_hair_off_the_line_between_two_corners_is_no_bend(read_as) -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2.5, 0.5, 2e-6), (3, 1, 0), (3, 3, 0)])
    reading = read_bends(path, corner_radius_m=CORNER_M, read_as=read_as)
    turned = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turned == pytest.approx([45.0, 45.0], abs=1e-3)
    assert codes(reading) == []


def test_a_slight_corner_between_short_lines_is_told() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (2.5, 0.5, 2e-3), (3, 1, 0), (3, 3, 0)])
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert len(reading.bends) == 3
    assert finding(reading, "slight-corner").severity is Severity.NOTE


def test_a_slight_corner_with_a_radius_of_its_own_is_told() -> None:
    path = lines([(0, 0, 0), (2, 0, 0), (4, 0.005, 0)], (None, 0.3, None))
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert [bend.radius_m for bend in reading.bends] == pytest.approx([0.3])
    assert finding(reading, "slight-corner").severity is Severity.NOTE


def test_a_slight_corner_that_the_fit_beside_it_takes_up_is_not_told() -> None:
    """Two touching arcs of 22.5 degrees in 24 chords each to 0.1 mm: their shared vertex turns."""
    at = np.radians(22.5) * np.linspace(0.0, 1.0, 25)
    up = 0.762 * np.c_[np.sin(at), 1.0 - np.cos(at)]
    down = up[-1] * 2.0 - up[-2::-1]
    places = np.vstack([up, down]) + np.array([6.331, 0.762])
    places = np.vstack([[2.54, 0.762], places, places[-1] + [6.1595, 0.0]])
    rows = np.round(np.c_[places[:, 0], np.full(len(places), 5.08), places[:, 1]], 4)
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert "slight-corner" not in codes(reading)
    assert [bend.read_as for bend in reading.bends] == [ReadAs.SURVEY] * 2


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


def _two_chords_without_a_tangent_vertex(
    angle: float, radius: float, grid_m: float, lacks: int
) -> DrawnPath:
    points = [(0.0, 0.0, 0.0), *arc_points(3, angle, radius), straight_after(angle, radius)]
    del points[1 + lacks]
    if grid_m:
        points = [tuple(round(v / grid_m) * grid_m for v in point) for point in points]
    return lines(points)


@pytest.mark.parametrize("lacks", [0, 2])
@pytest.mark.parametrize("angle_deg", [22.5, 45.0, 60.0, 90.0])
def test_two_chords_without_a_tangent_vertex_are_told_and_read_where_asked(
    angle_deg: float, lacks: int
) -> None:
    angle = radians(angle_deg)
    path = _two_chords_without_a_tangent_vertex(angle, 0.9, 0.0, lacks)
    roomy = read_bends(path, corner_radius_m=0.05)
    assert len(roomy.bends) == (1 if angle_deg < 45.0 else 2)
    told = finding(roomy, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "tangent vertex is left out" in told.message
    assert 'read_as = "chords"' in told.message
    for reading in (
        read_bends(path, corner_radius_m=0.05, read_as=ReadAs.CHORDS),
        read_bends(path, corner_radius_m=0.5),
    ):
        (bend,) = reading.bends
        assert degrees(bend.angle_rad) == pytest.approx(angle_deg, abs=1e-6)
        assert bend.radius_m == pytest.approx(0.9, rel=1e-6)
    # the half turn before leaves 3a less what the straight of 2 m is tilted
    corners = read_bends(path, corner_radius_m=0.05, read_as=ReadAs.CORNERS)
    assert len(corners.bends) == 2
    assert not [code for code in codes(corners) if code == "ambiguous-chords"]


def test_two_chords_without_a_tangent_vertex_are_told_on_a_grid() -> None:
    path = _two_chords_without_a_tangent_vertex(radians(60.0), 0.9, 0.001, 0)
    reading = read_bends(path, corner_radius_m=0.1)
    assert len(reading.bends) == 2
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "two chords whose tangent vertex is left out" in told.message


def test_two_corners_of_trade_angles_are_no_chord_without_its_tangent_vertex() -> None:
    for first, second in ((45.0, 15.0), (67.5, 22.5), (30.0, 15.0), (45.0, 22.5)):
        a, b = radians(first), radians(second)
        after = (2.0 + 0.4 * cos(a), 0.4 * sin(a), 0.0)
        end = (after[0] + 2.0 * cos(a + b), after[1] + 2.0 * sin(a + b), 0.0)
        reading = read_bends(lines([(0, 0, 0), (2, 0, 0), after, end]), corner_radius_m=0.1)
        assert len(reading.bends) == 2
        assert codes(reading) == []


def _corners(
    first_m: float, *turned: tuple[float, float], heading_deg: float, grid_m: float
) -> DrawnPath:
    """A leg, then corners, each of an angle in degrees and the leg after it. [m]"""
    at, points = radians(heading_deg), [(0.0, 0.0, 0.0)]
    for angle_deg, leg_m in ((0.0, first_m), *turned):
        x, y, _ = points[-1]
        at += radians(angle_deg)
        points.append((x + leg_m * cos(at), y + leg_m * sin(at), 0.0))
    return lines([tuple(round(v / grid_m) * grid_m for v in point) for point in points])


@pytest.mark.parametrize(
    ("first_deg", "second_deg", "first_m", "heading_deg", "grid_m"),
    [
        (45.0, 22.5, 1.2192, 15.0, 0.0001),
        (45.0, 22.5, 1.2192, 30.0, 0.0015875),
        (37.5, 15.0, 2.4384, 0.0, 0.001),
        (56.25, 22.5, 2.4384, 10.0, 0.001),
    ],
)
def test_no_tangent_vertex_is_missing_where_it_falls_on_the_vertex_before(
    first_deg: float, second_deg: float, first_m: float, heading_deg: float, grid_m: float
) -> None:
    """Corners of 2a, a with equal legs, of 5a, 2a with one of two: no straight before an arc."""
    turned = (first_deg, 1.2192), (second_deg, 2.0)
    path = _corners(first_m, *turned, heading_deg=heading_deg, grid_m=grid_m)
    for read_as in (None, ReadAs.CHORDS):
        reading = read_bends(path, corner_radius_m=0.25, read_as=read_as)
        angles = [degrees(bend.angle_rad) for bend in reading.bends]
        assert angles == pytest.approx([first_deg, second_deg], abs=0.1)
        assert codes(reading) == []


@pytest.mark.parametrize(("heading_deg", "grid_m"), [(15.0, 0.0001), (5.0, 0.001)])
def test_a_corner_halfway_between_corners_is_no_chord_that_lacks_a_tangent_vertex(
    heading_deg: float, grid_m: float
) -> None:
    turned = (60.0, 1.524), (22.5, 1.524), (11.25, 2.0)
    path = _corners(1.5, *turned, heading_deg=heading_deg, grid_m=grid_m)
    reading = read_bends(path, corner_radius_m=0.25)
    assert len(reading.bends) == 3
    assert codes(reading) == []


def test_an_arc_that_was_asked_for_is_told_where_its_corners_stand_far_apart() -> None:
    path = _two_chords_without_a_tangent_vertex(radians(60.0), 0.9, 0.0, 0)
    near = read_bends(path, corner_radius_m=0.1, read_as=ReadAs.CHORDS)
    assert codes(near) == []
    far = read_bends(path, corner_radius_m=0.05, read_as=ReadAs.CHORDS)
    told = finding(far, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "are read as one arc of 60° and radius 35.43 in" in told.message
    # 60° less atan2(c sin 15°, 2 + c cos 15°), with the chord c = 1.8 sin 15°
    assert "two bends, which turn by 57.18°" in told.message
    assert 'read_as = "corners"' in told.message


MM, HUNDREDTH_FT = 0.001, 0.003048


def on_grid(grid_m: float, *rows: tuple[int, int]) -> DrawnPath:
    return lines([(x * grid_m, y * grid_m, 0.0) for x, y in rows])


@pytest.mark.parametrize(
    ("grid_m", "rows", "radius_m", "outside"),
    [
        (MM, [(0, 0), (550, 0), (602, 3), (654, 13), (3239, 706)], 0.4, ""),
        (
            HUNDREDTH_FT,
            [(0, 0), (397, 0), (436, 3), (474, 10), (1404, 258)],
            0.9,
            "3 corners round the outside of an arc of radius",
        ),
    ],
)
def test_short_chords_alike_for_rounding_are_one_arc_where_it_is_asked(
    grid_m: float, rows: list[tuple[int, int]], radius_m: float, outside: str
) -> None:
    path = on_grid(grid_m, *rows)
    reading = read_bends(path, corner_radius_m=0.61)
    told = finding(reading, "ambiguous-chords")
    assert "3 points are read as corners; they could be 2 chords of one arc of 1" in told.message
    asked = read_bends(path, corner_radius_m=0.61, read_as=ReadAs.CHORDS)
    (bend,) = asked.bends
    assert degrees(bend.angle_rad) == pytest.approx(15.0, abs=0.1)
    assert bend.radius_m == pytest.approx(radius_m, rel=0.03)
    # a rounding so coarse may leave the radius open: the finding names both
    if outside:
        assert outside in finding(asked, "ambiguous-chords").message
    else:
        assert "ambiguous-chords" not in codes(asked)


def test_the_advice_to_read_chords_names_an_arc_that_it_gives() -> None:
    # three equal corners and legs of 100 and 300 mm: the middle one is of one arc or the other
    at, points = 0.0, [(0.0, 0.0, 0.0)]
    for leg in (2.0, 0.1, 0.3, 2.0):
        x, y, _ = points[-1]
        points.append((x + leg * cos(at), y + leg * sin(at), 0.0))
        at += radians(15.0)
    told = [
        one.message
        for one in read_bends(lines(points), corner_radius_m=0.24).findings
        if one.code == "ambiguous-chords"
    ]
    assert ['read_as = "chords" in the job reads one arc' in text for text in told] == [True, False]
    assert 'read_as = "chords" reads another arc there' in told[1]
    asked = read_bends(lines(points), corner_radius_m=0.24, read_as=ReadAs.CHORDS)
    assert [round(degrees(bend.angle_rad), 6) for bend in asked.bends] == [30.0, 15.0]
    left = finding(asked, "ambiguous-chords")
    assert left.severity is Severity.CAUTION


def test_a_corner_beside_an_arc_of_one_chord_that_was_asked_for_keeps_its_caution() -> None:
    # three inner vertices of an arc in uneven chords, both tangent vertices left out
    path = on_grid(MM, (0, 0), (2174, 0), (2263, 17), (2421, 70), (4560, 1244))
    asked = read_bends(path, corner_radius_m=0.24, read_as=ReadAs.CHORDS)
    assert len(asked.bends) == 2
    assert finding(asked, "ambiguous-chords").severity is Severity.CAUTION


def test_offset_of_two_slight_kicks_on_a_grid_is_no_chord_of_an_arc() -> None:
    path = on_grid(MM, (0, 0), (2000, 0), (2050, 4), (4000, 4))
    assert "ambiguous-chords" not in codes(read_bends(path, corner_radius_m=0.24))
    asked = read_bends(path, corner_radius_m=0.24, read_as=ReadAs.CHORDS)
    assert len(asked.bends) == 2


def test_a_rounded_polygon_round_the_outside_of_an_arc_keeps_its_radius_and_is_told() -> None:
    # four corners of 11.25° round an arc of 0.594 m, to 0.01 ft
    rows = [(-10.21, -0.31, -4.24), (-9.99, -0.40, -3.93), (-9.73, -0.53, -3.68)]
    rows = [(-11.73, 0.10, -7.23), *rows, (-9.44, -0.70, -3.49), (-2.30, -5.16, -0.61)]
    path = lines([(0.3048 * x, 0.3048 * y, 0.3048 * z) for x, y, z in rows])
    reading = read_bends(path, corner_radius_m=0.61)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(45.0, abs=0.2)
    assert bend.radius_m == pytest.approx(0.594, rel=0.03)
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "4 corners round its outside" in told.message
    assert "as chords inside it, its radius would be 17.8" in told.message


@pytest.mark.parametrize("angle_deg", [36.8, 45.0])
def test_rounded_chords_inside_an_arc_are_not_told_as_a_polygon_round_it(angle_deg: float) -> None:
    angle = radians(angle_deg)
    points = [(0.0, 0.0, 0.0), *arc_points(4, angle, 0.74), straight_after(angle, 0.74)]
    path = lines([tuple(round(v / 0.003048) * 0.003048 for v in point) for point in points])
    reading = read_bends(path, corner_radius_m=0.61)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(0.740, rel=0.03)
    assert "ambiguous-chords" not in codes(reading)
