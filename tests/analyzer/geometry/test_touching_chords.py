"""Arcs that touch, of which one is drawn in two chords, and corners that look alike."""

from __future__ import annotations

from math import cos, degrees, radians, sin

import numpy as np
import pytest
from drawn_ways import CORNER_M, R, codes, lines

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.readings import ReadAs

Row = tuple[float, float, float]
TWO = "it has only two chords, so it could be three corners"


def touching(*arcs: tuple[float, int, float, float], digits: int = 12) -> list[Row]:
    """Vertices of a straight, arcs that touch, and a straight.

    Each arc has its turn, its chords, its radius and the turn of its plane from the one before, in
    degrees; one that turns nothing is a straight of that length.
    """
    place, along, normal = np.zeros(3), np.array([0.6, 0.8, 0.0]), np.array([-0.8, 0.6, 0.0])
    rows = [place, place := place + 2.0 * along]
    for turn_deg, chords, radius, roll_deg in arcs:
        if not turn_deg:
            rows.append(place := place + radius * along)
            continue
        roll = radians(roll_deg)
        normal = cos(roll) * normal + sin(roll) * np.cross(along, normal)
        for at in np.linspace(0.0, radians(turn_deg), chords + 1)[1:]:
            rows.append(place + radius * (sin(at) * along + (1.0 - cos(at)) * normal))
        place = rows[-1]
        along, normal = cos(at) * along + sin(at) * normal, cos(at) * normal - sin(at) * along
    rows.append(place + 2.0 * along)
    return [tuple(round(float(value), digits) for value in row) for row in rows]


def kicks(*turns_deg: float, legs_m: tuple[float, ...]) -> list[Row]:
    """Vertices of corners in one plane, to the left where they are positive."""
    way, place = 0.3, np.zeros(2)
    rows = [place]
    for turn, leg in zip((0.0, *turns_deg), legs_m, strict=True):
        way += radians(turn)
        place = place + leg * np.array([cos(way), sin(way)])
        rows.append(place)
    return [(float(x), float(y), 0.0) for x, y in rows]


@pytest.mark.parametrize("digits", [12, 4])
@pytest.mark.parametrize(
    "arcs",
    [
        [(45, 2, R, 0), (45, 2, R, 180)],
        [(20, 2, 0.9, 0), (20, 2, 0.9, 180)],
        [(45, 2, R, 0), (45, 2, R, 60)],
        [(30, 2, R, 0), (30, 2, R, 90)],
        [(30, 2, R, 0), (45, 3, R, 180)],
        [(45, 3, R, 0), (30, 2, 0.8, 180)],
        [(30, 2, R, 0), (60, 4, R, 70)],
        [(30, 2, R, 0), (30, 2, 0.8, 0)],
        [(45, 2, R, 0), (45, 2, R, 90), (45, 2, R, -70)],
        [(90, 8, R, 0), (30, 2, R, 180), (60, 4, R, 60)],
    ],
)
def test_touching_arcs_of_two_chords_are_one_bend_each(
    arcs: list[tuple[float, int, float, float]], digits: int
) -> None:
    reading = read_bends(lines(touching(*arcs, digits=digits)), corner_radius_m=CORNER_M)
    loose_deg = 1e-6 if digits == 12 else 0.1
    turns = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turns == pytest.approx([arc[0] for arc in arcs], abs=loose_deg)
    loose = 1e-6 if digits == 12 else 0.01
    assert [bend.radius_m for bend in reading.bends] == pytest.approx(
        [arc[2] for arc in arcs], rel=loose
    )
    # two chords are told with a caution wherever they stand
    short = [arc for arc in arcs if arc[1] == 2]
    said = [one for one in reading.findings if TWO in one.message]
    assert [one.severity for one in said] == [Severity.CAUTION] * len(short)
    assert all('read_as = "corners"' in one.message for one in said)
    assert not any("one chord of an arc" in one.message for one in reading.findings)


@pytest.mark.parametrize("off_m", [1e-8, 1e-6, 5e-5])
@pytest.mark.parametrize(
    "arcs", [[(45, 2, R, 0), (45, 2, R, 180)], [(30, 2, R, 0), (45, 3, R, 60)]]
)
def test_touching_arcs_of_two_chords_off_by_a_hair_on_no_grid_are_arcs(
    arcs: list[tuple[float, int, float, float]], off_m: float
) -> None:
    rng = np.random.default_rng(11)
    rows = np.array(touching(*arcs))
    reading = read_bends(
        lines(rows + rng.uniform(-off_m, off_m, rows.shape)), corner_radius_m=CORNER_M
    )
    turns = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turns == pytest.approx([arc[0] for arc in arcs], abs=0.2)
    assert "ambiguous-chords" in codes(reading)


@pytest.mark.parametrize(
    "arcs",
    [
        [(60, 2, 0.8, 0), (60, 2, 0.8, 180)],
        [(60, 2, 0.8, 0), (60, 2, 0.8, 90)],
        [(45, 2, 0.8, 0), (60, 2, 0.8, 180), (45, 2, 0.8, 180)],
        [(45, 4, 0.8, 0), (60, 2, 0.8, 180)],
    ],
)
def test_touching_arcs_whose_corners_have_room_are_told_each(
    arcs: list[tuple[float, int, float, float]],
) -> None:
    """As one such arc between straights is: read as corners, and each arc named."""
    reading = read_bends(lines(touching(*arcs)), corner_radius_m=0.24)
    assert {bend.read_as for bend in reading.bends} == {ReadAs.CORNERS}
    told = [one.message for one in reading.findings if one.code == "ambiguous-chords"]
    assert len(told) == len(arcs)
    for turn, chords, _, _ in arcs:
        named = f"{chords + 1} points are read as corners; they could be {chords} chords of one arc"
        assert any(f"{named} of {turn}° and radius" in one for one in told)
    assert not any("though :" in one for one in told)


def test_touching_arcs_that_overlap_by_no_more_than_their_grid_explains_are_no_error() -> None:
    """Two arcs of 45 degrees in two chords each, in whole millimeters."""
    rows = [(0, 0), (3200, 0), (3293, 18), (3371, 71), (3449, 123), (3542, 141), (8679, 141)]
    places = [(0.001 * x, 0.001 * y, 0.0) for x, y in rows]
    reading = read_bends(lines(places), corner_radius_m=CORNER_M)
    turns = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turns == pytest.approx([45.0, 45.0], abs=0.5)
    assert [bend.radius_m for bend in reading.bends] == pytest.approx([0.2413] * 2, rel=0.03)
    said = [one for one in reading.findings if one.code == "corner-too-short"]
    assert [one.severity for one in said] == [Severity.NOTE]
    assert "rounded to 0.039 in (1.00 mm) explain" in said[0].message


def test_touching_arcs_of_two_chords_asked_for_as_corners_are_corners() -> None:
    rows = touching((45, 2, R, 0), (45, 2, R, 180))
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M, read_as=ReadAs.CORNERS)
    turns = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turns == pytest.approx([11.25, 22.5, 22.5, 11.25], abs=1e-6)


@pytest.mark.parametrize(
    "turns_deg",
    [
        (22.5, 22.5, -22.5, -22.5),
        (22.5, -22.5),
        (22.5, -22.5, -22.5, 22.5),
        (11.25, 22.5, -22.5, -22.5),
        (15, 30, -15, -30),
    ],
)
@pytest.mark.parametrize("leg_m", [0.2, 0.6])
def test_corners_that_turn_to_both_sides_between_equal_legs_stay_corners(
    turns_deg: tuple[float, ...], leg_m: float
) -> None:
    rows = kicks(*turns_deg, legs_m=(2.0, *[leg_m] * (len(turns_deg) - 1), 2.0))
    reading = read_bends(lines(rows), corner_radius_m=0.02)
    assert [bend.read_as for bend in reading.bends] == [ReadAs.CORNERS] * len(turns_deg)
    assert [degrees(bend.angle_rad) for bend in reading.bends] == pytest.approx(
        [abs(turn) for turn in turns_deg], abs=1e-6
    )


def test_corners_that_draw_what_two_touching_arcs_draw_are_told_of() -> None:
    # a point half way between the two inner corners is what makes arcs of them
    legs = (2.0, 0.2, 0.2, 0.2, 0.2, 2.0)
    rows = kicks(11.25, 22.5, 0.0, -22.5, -11.25, legs_m=legs)
    reading = read_bends(lines(rows), corner_radius_m=0.02)
    assert [degrees(bend.angle_rad) for bend in reading.bends] == pytest.approx([45.0, 45.0])
    assert codes(reading) == ["ambiguous-chords"] * 2
    del rows[3]
    reading = read_bends(lines(rows), corner_radius_m=0.02)
    assert [bend.read_as for bend in reading.bends] == [ReadAs.CORNERS] * 4


def lacking(chords: int, angle_deg: float, radius: float, *, at_end: bool) -> list[Row]:
    """Vertices of an arc between two straights without its first or its last tangent vertex."""
    rows = touching((angle_deg, chords, radius, 0))
    del rows[-2 if at_end else 1]
    return rows


@pytest.mark.parametrize("at_end", [False, True])
@pytest.mark.parametrize(("chords", "angle_deg"), [(3, 45), (3, 60), (4, 90)])
def test_few_chords_that_lack_a_tangent_vertex_are_told_and_read_where_asked_for(
    chords: int, angle_deg: float, at_end: bool
) -> None:
    path = lines(lacking(chords, angle_deg, 1.5, at_end=at_end))
    reading = read_bends(path, corner_radius_m=CORNER_M)
    assert {bend.read_as for bend in reading.bends} == {ReadAs.CORNERS}
    (said,) = [one for one in reading.findings if "chords of one arc" in one.message]
    assert said.severity is Severity.CAUTION
    assert not any("one chord of an arc" in one.message for one in reading.findings)
    assert f"could be {chords - 1} chords of one arc of {angle_deg}°" in said.message
    assert 'read_as = "chords" in the job reads the arc' in said.message
    (bend,) = read_bends(path, corner_radius_m=CORNER_M, read_as=ReadAs.CHORDS).bends
    assert degrees(bend.angle_rad) == pytest.approx(angle_deg, abs=1e-6)
    assert bend.radius_m == pytest.approx(1.5, rel=1e-6)


@pytest.mark.parametrize("at_end", [False, True])
@pytest.mark.parametrize(("digits", "count"), [(12, 1), (6, 1), (4, 3)])
def test_few_chords_that_lack_a_tangent_vertex_are_an_arc_where_digits_tell_and_corners_lack_room(
    digits: int, count: int, at_end: bool
) -> None:
    rows = [tuple(round(v, digits) for v in row) for row in lacking(3, 60, 0.4, at_end=at_end)]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert len(reading.bends) == count
    if count == 1:
        assert degrees(reading.bends[0].angle_rad) == pytest.approx(60.0, abs=0.01)
        assert reading.bends[0].radius_m == pytest.approx(0.4, rel=1e-3)
    said = [one for one in reading.findings if "tangent point is not drawn" in one.message]
    assert [one.severity for one in said] == [Severity.CAUTION]


@pytest.mark.parametrize("roll_deg", [0.0, 50.0, 180.0])
def test_arcs_that_both_lack_the_tangent_vertex_between_them_are_told(roll_deg: float) -> None:
    rows = touching((22.5, 3, 0.4, 0), (0, 1, 1.0, 0), (30, 3, 0.6, roll_deg))
    reading = read_bends(lines([*rows[:4], *rows[6:]]), corner_radius_m=0.1)
    why = "tangent point is not drawn", TWO
    said = [one for one in reading.findings if any(text in one.message for text in why)]
    assert [one.severity for one in said] == [Severity.CAUTION] * len(said) != []


@pytest.mark.parametrize("roll_deg", [0.0, 50.0])
def test_arcs_that_each_lack_their_first_tangent_vertex_are_arcs(roll_deg: float) -> None:
    rows = touching((45, 3, 0.2, 0), (0, 1, 1.5, 0), (60, 3, 0.25, roll_deg))
    reading = read_bends(lines([rows[0], *rows[2:5], *rows[6:]]), corner_radius_m=CORNER_M)
    turns = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turns == pytest.approx([45.0, 60.0], abs=1e-6)
    assert [bend.radius_m for bend in reading.bends] == pytest.approx([0.2, 0.25], rel=1e-6)
    assert codes(reading) == ["ambiguous-chords"] * 2


@pytest.mark.parametrize("turns_deg", [(15, 30, 45), (10, 20, 30), (15, 30, 30), (22.5, 45, 60)])
@pytest.mark.parametrize("straight_m", [2.0, 30.0])
def test_corners_of_round_turns_that_obey_the_law_at_one_end_are_not_in_doubt(
    turns_deg: tuple[float, ...], straight_m: float
) -> None:
    rows = kicks(*turns_deg, legs_m=(straight_m, 0.1524, 0.1524, straight_m))
    reading = read_bends(lines(rows), corner_radius_m=0.15)
    assert [bend.read_as for bend in reading.bends] == [ReadAs.CORNERS] * 3
    assert not any("chords of one arc" in one.message for one in reading.findings)


def test_corners_that_a_grid_lets_pass_for_chords_stay_corners_with_a_caution() -> None:
    rows = np.round(np.array(kicks(15, 30, 45, legs_m=(20.0, 0.1524, 0.1524, 20.0))), 4)
    reading = read_bends(lines(rows), corner_radius_m=0.15)
    assert [bend.read_as for bend in reading.bends] == [ReadAs.CORNERS] * 3
    said = [one for one in reading.findings if "chords of one arc" in one.message]
    assert [one.severity for one in said] == [Severity.CAUTION]
    assert 'read_as = "chords"' in said[0].message
