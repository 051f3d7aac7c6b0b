"""Arcs in chords of which rounding hides a vertex are read whole, or told."""

from __future__ import annotations

import re
from math import cos, degrees, radians, sin

import numpy as np
import pytest
from drawn_ways import codes, finding, lines

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.arc_extents import extent_misfit
from analyzer.geometry.chords.broken_arcs import broken_arcs
from analyzer.geometry.chords.exact_stretches import read_at
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.shot_doubts import shots_doubt
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.chords.tangent_arcs import tangent_arc
from analyzer.geometry.line_readings import Wanted
from analyzer.geometry.readings import ReadAs, Reading
from analyzer.geometry.vectors import to_vector

FOOT_M, INCH_M = 0.3048, 0.0254

# steps of the grid in the plane of the bend; truth is what they were rounded from
FOUR_CHORDS = (
    (
        (1123, -1263),
        (1123, -598),
        (1123, -583),
        (1126, -563),
        (1132, -538),
        (1138, -522),
        (1433, 190),
    ),
    0.01 * FOOT_M,
)  # 22.5° of 0.610 m
THREE_CHORDS = (
    ((69, 262), (69, 430), (71, 469), (75, 489), (91, 543), (325, 1107)),
    0.01 * FOOT_M,
)  # 22.5° of 0.900 m
TWO_CHORDS = (
    ((-1160, -2385), (-166, -2385), (-131, -2388), (-100, -2394), (1274, -2762)),
    INCH_M / 16.0,
)  # 15° of 0.400 m
FIVE_CHORDS = (
    (
        (673, -1043),
        (902, -1272),
        (927, -1295),
        (963, -1321),
        (1005, -1345),
        (1027, -1355),
        (1074, -1371),
        (1898, -1592),
    ),
    INCH_M / 16.0,
)  # 30° of 0.610 m, chords uneven
ARC_AND_CORNER = (
    ((909, 2424), (909, 4115), (913, 4171), (923, 4218), (942, 4271), (960, 4307), (1622, 5453)),
    INCH_M / 16.0,
)  # 30° of 0.610 m, chords uneven
ONE_CORNER = (((1176, -280), (1573, -280), (1591, -282), (1607, -287), (2227, -543)), 0.01 * FOOT_M)


def _read(drawn, read_as: ReadAs | None = None, corner_radius_m: float = 0.61) -> Reading:
    steps, grid = drawn
    rows = [(x * grid, 31 * grid, z * grid) for x, z in steps]
    return read_bends(lines(rows), corner_radius_m=corner_radius_m, read_as=read_as)


@pytest.mark.parametrize(
    ("drawn", "angle_deg", "radius_m"),
    [
        (FOUR_CHORDS, 22.5, 0.61),
        (THREE_CHORDS, 22.5, 0.9),
        (TWO_CHORDS, 15.0, 0.4),
        (ARC_AND_CORNER, 30.0, 0.61),
    ],
    ids=["four chords", "three chords", "two chords", "an arc and a corner"],
)
@pytest.mark.parametrize("read_as", [None, ReadAs.CHORDS])
def test_chords_of_which_some_pass_for_legs_of_a_straight_are_one_arc(
    drawn, angle_deg: float, radius_m: float, read_as: ReadAs | None
) -> None:
    reading = _read(drawn, read_as)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(angle_deg, abs=0.1)
    # points are good to half a grid, the arcs rise two to seven grids
    assert bend.radius_m == pytest.approx(radius_m, rel=0.03)
    if read_as is None:
        assert finding(reading, "ambiguous-chords").severity is Severity.CAUTION
    elif drawn is not TWO_CHORDS:  # which are three corners round an arc of 0.6 m as well
        assert codes(reading) == []


def _bend(way: str, n: int, angle_deg: float, radius_m: float, grid_m: float):
    """An arc between legs of 1.5 m: chords, one tangent point left out, or corners round it."""
    if way == "round it":
        turn = radians(angle_deg) * (np.arange(n) + 0.5) / n
        reach = radius_m / cos(radians(angle_deg) / (2.0 * n))
    else:
        turn = radians(angle_deg) * np.arange(1 if way == "one left out" else 0, n + 1) / n
        reach = radius_m
    end = np.array([radius_m * sin(radians(angle_deg)), radius_m * (1 - cos(radians(angle_deg)))])
    far = end + 1.5 * np.array([cos(radians(angle_deg)), sin(radians(angle_deg))])
    rows = [(-1.5, 0.0), *((reach * sin(t), radius_m - reach * cos(t)) for t in turn), far]
    return tuple((round(x / grid_m), round(z / grid_m)) for x, z in rows), grid_m


@pytest.mark.parametrize(
    ("way", "n", "angle_deg"),
    [
        ("round it", 4, 11.25),
        ("round it", 5, 22.5),
        ("round it", 6, 11.25),
        ("one left out", 4, 11.25),
        ("one left out", 5, 22.5),
    ],
)
def test_chords_asked_for_say_which_radius_their_points_leave_open(
    way: str, n: int, angle_deg: float
) -> None:
    """Their tangent points are a step apart more than drawn, and a coarse rounding hides it."""
    reading = _read(_bend(way, n, angle_deg, 0.33, INCH_M / 16.0), ReadAs.CHORDS)
    (bend,) = reading.bends
    assert bend.read_as is ReadAs.CHORDS
    assert degrees(bend.angle_rad) == pytest.approx(angle_deg, rel=0.02)
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    named = [float(number) / 1000.0 for number in re.findall(r"\(([\d.]+) mm\)", told.message)]
    # chords are good to half a grid each
    assert any(radius == pytest.approx(0.33, rel=0.06) for radius in named)


@pytest.mark.parametrize("read_as", [None, ReadAs.CHORDS])
@pytest.mark.parametrize("n", [3, 5])
def test_chords_whose_points_tell_the_radius_need_no_doubt(n: int, read_as: ReadAs | None) -> None:
    reading = _read(_bend("chords", n, 30.0, 0.41, 1e-4), read_as)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(0.41, rel=0.01)
    assert codes(reading) == []


def test_two_chords_that_three_corners_explain_as_well_name_both_radii() -> None:
    told = finding(_read(TWO_CHORDS, ReadAs.CHORDS), "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "radius 15.94 in (404.9 mm)" in told.message
    assert "3 corners round the outside of an arc of radius 23.88 in (606.6 mm)" in told.message


@pytest.mark.parametrize("missing", [(1, 0), (0, 1)])
def test_a_tangent_point_left_out_is_what_leaves_the_least(missing: tuple[int, int]) -> None:
    """An arc of 45° in four chords, rounded to 1 mm, without its first or last point."""
    (steps, grid) = _bend("one left out", 4, 45.0, 0.41, 1e-3)
    points = np.array([(x * grid, 0.0, z * grid) for x, z in steps])
    points = points if missing == (1, 0) else points[::-1]
    into, out = (to_vector(leg / np.linalg.norm(leg)) for leg in np.diff(points, axis=0)[[0, -1]])
    angle = angle_between(into, out)
    start, end = to_vector(points[1]), to_vector(points[-2])
    arc = tangent_arc(start, into, end, out, angle)
    ends = (RunEnd(start, into, Tangency.STRAIGHT), RunEnd(end, out, Tangency.STRAIGHT))
    center = to_vector(arc.center_m(0.41))
    run = ChordRun(1, 4, *ends, angle, 0.41, to_vector(arc.axis), center, 3)
    span = 0, len(points) - 1
    # degrees of freedom: six vertices twice less six
    assert extent_misfit(points, span, run, grid, missing) < 16.8  # chi-square, 1 %
    assert extent_misfit(points, span, run, grid) > 100.0
    assert extent_misfit(points, span, run, grid, missing[::-1]) > 100.0


def test_an_arc_that_starts_a_chord_too_late_is_read_whole() -> None:
    reading = _read(FIVE_CHORDS)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(30.0, abs=0.1)
    assert bend.radius_m == pytest.approx(0.61, rel=0.01)
    assert codes(reading) == []


@pytest.mark.parametrize("drawn", [TWO_CHORDS, ONE_CORNER], ids=["two chords", "a polygon"])
def test_corners_asked_for_take_every_vertex_that_turns_as_a_bend_does(drawn) -> None:
    assert len(_read(drawn, ReadAs.CORNERS, 0.1).bends) == 3


def test_one_corner_with_points_close_by_that_turn_says_how_to_read_the_arc() -> None:
    reading = _read(ONE_CORNER)
    (bend,) = reading.bends
    assert bend.read_as is ReadAs.CORNERS
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert 'read_as = "chords" in the job reads the arc' in told.message
    (arc,) = _read(ONE_CORNER, ReadAs.CHORDS).bends
    assert arc.read_as is ReadAs.CHORDS
    assert f"{degrees(arc.angle_rad):.4g}°" in told.message


def test_a_vertex_left_out_that_turns_as_a_bend_does_is_told() -> None:
    """A vertex turns by 6°, a corner of 36° close to it: no arc passes both."""
    steps = ((0, 0), (900, 0), (918, 2), (1500, 517))
    reading = _read((steps, 0.001), corner_radius_m=0.1)
    told = finding(reading, "ambiguous-chords")
    assert told.severity is Severity.CAUTION
    assert "turns by 6.3°" in told.message


def test_points_close_together_along_straights_are_no_bends() -> None:
    """Every 12 mm, rounded to 3 mm: vertices turn by up to 20°."""
    along = [(k * 0.012, 0.0) for k in range(40)]
    rows = [*along, *((0.48 + 0.6 * s, 0.8 * s) for s, _ in along)]
    steps = tuple((round(x / 0.003), round(z / 0.003)) for x, z in rows)
    (bend,) = _read((steps, 0.003), corner_radius_m=0.1).bends
    assert degrees(bend.angle_rad) == pytest.approx(53.13, abs=0.5)


def test_an_arc_and_a_corner_an_uneven_chord_beyond_are_told_for_what_they_are() -> None:
    """Read with one tolerance, before the arc is read whole."""
    steps, grid = ARC_AND_CORNER
    points = np.array([(x * grid, 0.0, z * grid) for x, z in steps])
    wanted = Wanted((), None, None, None, 0.61, None)
    reading = read_at(points, grid, 0.0, wanted)
    assert [(run.first, run.last) for run in reading.runs] == [(1, 4)]
    assert reading.corners == (5,)
    assert broken_arcs(points, reading.runs, reading.corners, grid) == (5,)
    doubt = shots_doubt(points, reading.corners, reading.runs, grid)
    assert doubt is not None
    assert "they are read as one arc in chords and one corner beside" in doubt.message


def _gentle_arc(angle_deg: float, radius_m: float, n_chords: int, grid_m: float) -> list:
    """An arc in many short chords between straights of 1.5 m, rounded to a grid."""
    angle = radians(angle_deg)
    at = [angle * k / n_chords for k in range(n_chords + 1)]
    arc = [(1.5 + radius_m * sin(t), radius_m - radius_m * cos(t)) for t in at]
    x, y = arc[-1]
    ends = (0.0, 0.0), (x + 1.5 * cos(angle), y + 1.5 * sin(angle))
    rows = [(x, 0.0, z) for x, z in (ends[0], *arc, ends[1])]
    return [tuple(round(v / grid_m) * grid_m for v in row) for row in rows]


@pytest.mark.parametrize("grid_m", [0.0015875, 0.001, 0.003048])
@pytest.mark.parametrize(
    ("angle_deg", "radius_m", "n_chords"),
    [(11.25, 0.2, 8), (15.0, 0.2, 10), (22.5, 0.2, 11), (11.25, 0.33, 6), (30.0, 0.33, 12)],
)
def test_corners_asked_for_turn_by_what_was_drawn_and_not_by_steps_of_the_grid(
    angle_deg: float, radius_m: float, n_chords: int, grid_m: float
) -> None:
    path = lines(_gentle_arc(angle_deg, radius_m, n_chords, grid_m))
    reading = read_bends(path, corner_radius_m=0.05, read_as=ReadAs.CORNERS)
    total_deg = sum(degrees(bend.angle_rad) for bend in reading.bends)
    assert total_deg == pytest.approx(angle_deg, abs=1.0)


def test_points_of_one_bend_are_told_once() -> None:
    """Steps of up to 30° among points that are told to be chords of a gentle arc, perhaps."""
    reading = read_bends(lines(_gentle_arc(15.0, 0.2, 10, 0.0015875)), corner_radius_m=0.61)
    (told,) = (one.message for one in reading.findings if one.code == "ambiguous-chords")
    assert "points close together are read as one corner of" in told
