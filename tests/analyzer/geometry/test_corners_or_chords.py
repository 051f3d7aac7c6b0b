"""Corners that may be chords of an arc: what is told, and what reading them as chords gives."""

from __future__ import annotations

import re
from math import cos, degrees, radians, sin

import pytest
from drawn_ways import (
    CORNER_M,
    arc_points,
    codes,
    finding,
    lines,
    straight_after,
)

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.readings import ReadAs


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


def test_chords_asked_for_that_a_polygon_fits_better_name_its_radius() -> None:
    """Four corners of 12.97° round the outside of an arc of 0.363 m, on hundredths of a foot."""
    rows = [(0, 0), (162, -636), (174, -660), (192, -681), (214, -697), (814, -962)]
    asked = read_bends(
        on_grid(HUNDREDTH_FT, *rows), corner_radius_m=CORNER_M, read_as=ReadAs.CHORDS
    )
    (bend,) = asked.bends
    told = finding(asked, "ambiguous-chords").message
    assert told.startswith("3 chords are read as one arc of 51.88°")
    assert "fit 4 corners round the outside of an arc of radius" in told
    assert "better" in told
    named = float(re.findall(r"radius [\d.]+ in \(([\d.]+) mm\)", told)[1]) / 1000.0
    assert named == pytest.approx(0.363, rel=0.02)
    assert bend.radius_m < 0.8 * named
