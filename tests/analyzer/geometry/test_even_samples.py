"""Points taken at one spacing along a centerline, and corners that are drawn like them."""

from __future__ import annotations

from math import cos, degrees, radians, sin

import numpy as np
import pytest
from drawn_ways import CORNER_M, codes, finding, lines

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.readings import ReadAs
from analyzer.units import LengthUnit

INCH_M, FOOT_M = float(LengthUnit.INCH.factor), float(LengthUnit.FOOT.factor)
TILT = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))[0]

Bends = list[tuple[float, float]]


def route_at(stations: np.ndarray, bends: Bends, straights: list[float]) -> np.ndarray:
    """Places on a route in one plane: bends of degrees and radius, left and right by turns."""
    place, heading, edge, rows = np.zeros(2), 0.3, 0.0, np.empty((len(stations), 2))
    pieces: list[tuple[float, float]] = [(straights[0], 0.0)]
    for side, ((angle, radius), straight) in enumerate(zip(bends, straights[1:], strict=True)):
        pieces += [(radians(angle) * radius, (-1) ** side / radius), (straight, 0.0)]
    for length, curvature in pieces:
        on = stations >= edge - 1e-12
        along = (stations[on] - edge)[:, None]
        turn = along * curvature / 2.0
        chord = along * np.sinc(turn / np.pi)
        rows[on] = place + chord * np.hstack((np.cos(heading + turn), np.sin(heading + turn)))
        turn_end = length * curvature / 2.0
        chord_end = length * np.sinc(turn_end / np.pi)
        place = place + chord_end * np.array((cos(heading + turn_end), sin(heading + turn_end)))
        heading, edge = heading + 2.0 * turn_end, edge + length
    return np.column_stack((rows, np.zeros(len(rows))))


def sampled(spacing: float, bends: Bends, straights: list[float], grid_m: float) -> DrawnPath:
    length = sum(straights) + sum(radians(angle) * radius for angle, radius in bends)
    points = route_at(np.arange(0.0, length, spacing), bends, straights) @ TILT.T
    return lines(np.round(points / grid_m) * grid_m)


def sticks(turns_deg: list[float], step_m: float, grid_m: float) -> DrawnPath:
    """A point at every stick's end, with a turn in the plane at each, zero for none."""
    place, heading, rows = np.zeros(3), 0.3, [np.zeros(3)]
    for turn in [*turns_deg, 0.0]:
        place = place + step_m * np.array((cos(heading), sin(heading), 0.0))
        heading += radians(turn)
        rows.append(place)
    points = np.array(rows) @ TILT.T
    return lines(np.round(points / grid_m) * grid_m)


@pytest.mark.parametrize(
    ("spacing", "radius", "grid_m"),
    [
        (0.2, 0.61, 1e-6),
        (0.3, 0.914, 1e-7),
        (0.1, 0.5, 1e-4 * INCH_M),
        (0.3, 0.5, 1e-3 * FOOT_M),
        (0.15, 0.914, 1e-3 * INCH_M),
    ],
)
def test_points_at_one_spacing_are_fitted_as_survey_points(
    spacing: float, radius: float, grid_m: float
) -> None:
    path = sampled(spacing, [(90.0, radius), (45.0, radius)], [2.07, 1.6, 2.4], grid_m)
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert reading.read_as is ReadAs.SURVEY
    assert [degrees(b.angle_rad) for b in reading.bends] == pytest.approx([90.0, 45.0], abs=0.1)
    assert [b.radius_m for b in reading.bends] == pytest.approx([radius] * 2, rel=0.01)
    told = finding(reading, "read-as-survey")
    assert told.severity is Severity.CAUTION
    assert "read_as" in told.message


def test_few_points_at_one_spacing_are_fitted_too() -> None:
    reading = read_bends(sampled(0.3, [(45.0, 0.4)], [1.99, 1.15], 1e-6), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(45.0, abs=0.01)
    assert bend.radius_m == pytest.approx(0.4, rel=1e-3)


def test_bend_tighter_than_the_spacing_never_passes_as_two_corners() -> None:
    path = sampled(0.15, [(60.0, 0.15)], [2.0, 2.03], 1e-6)
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert reading.read_as is ReadAs.SURVEY
    assert "read-as-survey" in codes(reading)
    assert reading.bends[0].radius_m < 0.2 or "survey-radius" in codes(reading)


@pytest.mark.parametrize("grid_m", [1e-7, 1e-3, 1e-3 * FOOT_M])
@pytest.mark.parametrize(
    "turns",
    [
        [22.5, -22.5],
        [15.0, 30.0],
        [90.0, 90.0],
        [90.0, -45.0],
        [45.0],
    ],
)
@pytest.mark.parametrize("step_m", [3.048, 0.6])
def test_corners_at_the_ends_of_equal_sticks_stay_corners(
    step_m: float, turns: list[float], grid_m: float
) -> None:
    path = sticks([0, 0, 0, *turns, 0, 0, 0, 0, 90.0, 0, 0, 0, 0], step_m, grid_m)
    reading = read_bends(path, corner_radius_m=0.05)
    assert reading.read_as is ReadAs.CORNERS
    read = [degrees(bend.angle_rad) for bend in reading.bends]
    assert read == pytest.approx([abs(turn) for turn in [*turns, 90.0]], abs=0.2)
    assert codes(reading) == []


@pytest.mark.parametrize(
    ("turn", "step_m", "at"), [(45.0, 1.5, 3), (30.0, 2.0, 3), (22.5, 10.0 * FOOT_M, 4)]
)
def test_equal_corners_at_the_ends_of_equal_sticks_stay_corners_to_a_hundredth_of_a_foot(
    turn: float, step_m: float, at: int
) -> None:
    path = sticks([*[0.0] * at, turn, turn, *[0.0] * 4], step_m, 0.01 * FOOT_M)
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert reading.read_as is ReadAs.CORNERS
    assert [degrees(bend.angle_rad) for bend in reading.bends] == pytest.approx([turn] * 2, abs=0.3)
    assert "read-as-survey" not in codes(reading)


@pytest.mark.parametrize(("step_m", "grid_m"), [(3.0, 0.01), (2.0, INCH_M / 4)])
def test_vertices_of_a_straight_that_a_coarse_grid_moved_are_no_bends(
    step_m: float, grid_m: float
) -> None:
    path = sticks([*[0.0] * 4, 45.0, *[0.0] * 3], step_m, grid_m)
    (bend,) = read_bends(path, corner_radius_m=CORNER_M).bends
    assert degrees(bend.angle_rad) == pytest.approx(45.0, abs=0.3)


@pytest.mark.parametrize("grid_m", [INCH_M, FOOT_M / 10.0, INCH_M / 2])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_equal_sticks_on_a_coarse_grid_keep_their_corners_only(grid_m: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    meant = [float(a) for a in rng.choice([90.0, 45.0, 22.5], 4)]
    turns: list[float] = []
    for angle in meant:
        turns += [*[0.0] * int(rng.integers(2, 5)), angle]
    reading = read_bends(sticks([*turns, 0.0, 0.0], 10.0 * FOOT_M, grid_m), corner_radius_m=0.3)
    angles = [degrees(bend.angle_rad) for bend in reading.bends]
    assert angles == pytest.approx(meant, abs=1.0)
    assert not {"read-as-survey", "ambiguous-chords", "self-crossing"} & set(codes(reading))


def test_slight_corner_among_sticks_on_a_coarse_grid_stays() -> None:
    turns = [0.0, 0.0, 0.0, 1.5, 0.0, 0.0, 0.0, 90.0, 0.0, 0.0]
    slight, quarter = read_bends(sticks(turns, 3.0, INCH_M), corner_radius_m=0.3).bends
    assert degrees(slight.angle_rad) == pytest.approx(1.5, abs=0.6)
    assert degrees(quarter.angle_rad) == pytest.approx(90.0, abs=0.6)


def test_offset_that_a_coarse_grid_may_have_made_is_a_caution() -> None:
    points = [(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (3.3, INCH_M, 0.0), (6.3, INCH_M, 0.0)]
    points += [(6.3, 2.0, 0.0), (6.3, 2.0, 1.7), (4.1, 2.0, 1.7)]
    path = lines(np.round(np.array(points) / INCH_M) * INCH_M)
    doubt = finding(read_bends(path, corner_radius_m=0.1), "ambiguous-chords")
    assert doubt.severity is Severity.CAUTION
    assert "rounded to 1.00 in" in doubt.message


def test_few_chords_of_a_quarter_on_a_coarse_grid_are_never_corners_in_silence() -> None:
    at, radius = np.radians([0.0, 30.0, 60.0, 90.0]), 1.056
    arc = np.column_stack((radius * np.sin(at), radius * (1.0 - np.cos(at)), np.zeros(4)))
    points = np.vstack(([-3.4, 0.0, 0.0], arc, arc[-1] + np.array((0.0, 0.7, 0.0))))
    points = (points + np.array((5.011, 2.003, 0.7))) @ TILT.T
    path = lines(np.round(points / (INCH_M / 4)) * (INCH_M / 4))
    doubt = finding(read_bends(path, corner_radius_m=0.1), "ambiguous-chords")
    assert doubt.severity is Severity.CAUTION
    assert "3 chords of one arc" in doubt.message


def test_slight_turns_one_way_that_leave_the_line_by_more_than_the_grid_stay() -> None:
    reading = read_bends(sticks([0.4] * 16, 2.0, 0.01), corner_radius_m=CORNER_M)
    total = sum(degrees(bend.angle_rad) for bend in reading.bends)
    assert total == pytest.approx(6.4, abs=1.0)


def test_kicks_a_hand_apart_beside_points_at_one_spacing_stay_corners() -> None:
    points = [(x, 0.0, 0.0) for x in range(6)]
    a = radians(30.0)
    high = (5.0 + 0.1 * cos(a), 0.1 * sin(a), 0.0)
    points += [high, *((high[0] + k, high[1], 0.0) for k in range(1, 7))]
    reading = read_bends(lines(np.round(np.array(points) @ TILT.T, 6)), corner_radius_m=0.05)
    assert [degrees(bend.angle_rad) for bend in reading.bends] == pytest.approx([30.0] * 2, abs=0.1)
    assert reading.read_as is ReadAs.CORNERS
    assert codes(reading) == []


def test_polygon_of_equal_sticks_stays_corners() -> None:
    path = sticks([0, 0, 0, 0, *[30.0] * 3, 0, 0, 0, 0, 0], 1.0, 1e-6)
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert reading.read_as is ReadAs.CORNERS
    assert [degrees(b.angle_rad) for b in reading.bends] == pytest.approx([30.0] * 3, abs=1e-3)


def test_arc_off_its_points_at_one_spacing_is_fitted_as_survey_points() -> None:
    a, grid_m, bends, straights = 2.09, INCH_M / 16, [(90.0, 0.5)], [2.03, 2.4]
    points = route_at(np.arange(0.0, 4.43 + radians(90.0) * 0.5, 0.1), bends, straights)
    level = points @ np.array([[cos(a), sin(a), 0.0], [-sin(a), cos(a), 0.0], [0.0, 0.0, 1.0]])
    path = lines(np.round(level / grid_m) * grid_m)
    reading = read_bends(path, corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(0.5, rel=0.01)
    assert "read-as-survey" in codes(reading)


def with_drawn_corners(
    spacing: float, n_first: float, grid_m: float, angle_deg: float = 45.0
) -> DrawnPath:
    """A drawn corner, points at one spacing round an arc, and two drawn corners."""
    radius, straight = 0.75, 2.03
    length = 2.0 * straight + radians(angle_deg) * radius
    stations = np.arange(n_first * spacing, length - 0.05, spacing)
    rows = route_at(np.array([0.0, *stations, length]), [(angle_deg, radius)], [straight, straight])
    ahead, up = rows[-1] - rows[-2], np.array((0.0, 0.0, 1.0))
    last = rows[-1] + 2.1 * np.cross(up, ahead / np.linalg.norm(ahead))
    rows = np.vstack((rows[0] - 1.7 * up, rows, last, last + 1.3 * up))
    points = rows @ TILT.T
    return lines(np.round(points / grid_m) * grid_m if grid_m else points)


@pytest.mark.parametrize("grid_m", [0.0, 1e-4, 1e-3])
@pytest.mark.parametrize("n_first", [0.3, 0.55, 0.8])
def test_arc_at_one_spacing_beside_drawn_corners_is_one_bend_and_told(
    n_first: float, grid_m: float
) -> None:
    path = with_drawn_corners(0.25, n_first, grid_m)
    reading = read_bends(path, corner_radius_m=CORNER_M)
    got = [degrees(bend.angle_rad) for bend in reading.bends]
    assert got == pytest.approx([90.0, 45.0, 90.0, 90.0], abs=0.2)
    assert reading.bends[1].radius_m == pytest.approx(0.75, rel=0.05 if grid_m else 1e-6)
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "read as one arc of 4" in told.message
    assert ("which rounding leaves open by up to" in told.message) == (grid_m > 0.0)
    assert "read_as" in told.message


def test_arc_at_one_spacing_is_settled_by_the_job() -> None:
    path = with_drawn_corners(0.25, 0.55, 0.0)
    as_arc = read_bends(path, corner_radius_m=CORNER_M, read_as=ReadAs.CHORDS)
    assert len(as_arc.bends) == 4
    assert "ambiguous-chords" not in codes(as_arc)
    as_corners = read_bends(path, corner_radius_m=0.02, read_as=ReadAs.CORNERS)
    assert len(as_corners.bends) > 5
    assert "ambiguous-chords" not in codes(as_corners)


def test_two_points_of_an_arc_at_one_spacing_stay_corners_and_are_told() -> None:
    path = with_drawn_corners(0.5, 1.0, 0.0, 30.0)
    reading = read_bends(path, corner_radius_m=0.05)
    assert len(reading.bends) == 5
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "30° and radius about 29.53 in (750.0 mm)" in told.message
    as_arc = read_bends(path, corner_radius_m=0.05, read_as=ReadAs.CHORDS)
    assert len(as_arc.bends) == 4
    assert as_arc.bends[1].radius_m == pytest.approx(0.75, rel=1e-6)


@pytest.mark.parametrize("with_points", [True, False])
def test_arc_on_a_coarse_grid_with_points_as_close_on_its_straights_is_told_to_be_open(
    with_points: bool,
) -> None:
    way, quarter = 50.0 * INCH_M, radians(90.0) * 36.0 * INCH_M
    stations = np.concatenate(
        (
            np.linspace(0.0, way, 6)[: None if with_points else 1],
            np.linspace(way, way + quarter, 7)[1 if with_points else 0 :],
            np.linspace(way + quarter, 2.0 * way + quarter, 6)[1 if with_points else 5 :],
        )
    )
    points = route_at(stations, [(90.0, 36.0 * INCH_M)], [way, way])
    grid_m = INCH_M / 8
    level = points @ np.array([[cos(0.3), -sin(0.3), 0.0], [sin(0.3), cos(0.3), 0.0], [0, 0, 1.0]])
    path = lines(np.round(level / grid_m) * grid_m)
    reading = read_bends(path, corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=0.01)
    told = [one for one in reading.findings if one.code == "ambiguous-chords"]
    assert len(told) == (1 if with_points else 0)
    for one in told:
        assert one.severity is Severity.CAUTION
        assert "leave open where it starts and ends, and so its radius" in one.message


def test_no_arc_is_told_whose_radius_would_be_negative() -> None:
    """Sticks of 2 ft to a tenth of a foot; the last bend stands an inch from a stick's end."""
    x = [0, 19, 39, 59, 78, 100, 117, 134, 151, 168, 185, 202, 203, 203, 203, 203, 203, 203]
    y = [*[0] * 6, 10, 20, 30, 39, 49, 59, *[60] * 6]
    z = [*[0] * 13, -19, -39, -59, -79, -100]
    rows = 0.1 * FOOT_M * np.column_stack((x, y, z))
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    assert [one.message for one in reading.findings if "radius about -" in one.message] == []
