"""What is said where the centerline leaves the points that were drawn."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import pytest
from drawn_ways import lines

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import Asked, BendChain
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawing_cleanup import clean_drawing
from analyzer.geometry.far_points import far_point_findings
from analyzer.geometry.readings import RadiusFrom


@pytest.mark.parametrize(
    ("away_m", "said"), [(0.002, []), (0.004, [Severity.CAUTION]), (0.020, [Severity.ERROR])]
)
def test_points_between_lines_are_passed_by_rounding_however_long_the_lines(away_m, said) -> None:
    """A vertex of a straight, half a degree off it, beside 2.5 m: written to the millimeter."""
    path = lines([(0.0, 0.0, 0.0), (2.461, 0.0, 1.003), (2.482, 0.0, 1.012), (5.017, 0.0, 2.057)])
    asked = Asked(0.24, RadiusFrom.TABLE, None, None, "")
    drawing = clean_drawing(path, frozenset(), asked, BendChain())
    assert drawing.rounding_m == pytest.approx(1e-3)
    away, stations = [0.0, away_m, 0.0, 0.0], [0.0, 2.66, 2.68, 5.4]
    found = far_point_findings(drawing, asked, 0.0, (), away, stations)
    assert [one.severity for one in found] == said


def sticks(grid_m: float, heading_deg: float) -> list[tuple[float, ...]]:
    """Three straights of four 10 ft sticks, 60 degrees apart and rising, written to a grid."""
    place, rows = np.zeros(3), [np.zeros(3)]
    for leg in range(3):
        heading, slope = radians(heading_deg + 60.0 * leg), radians(4.0)
        ahead = np.array([cos(heading) * cos(slope), sin(heading) * cos(slope), sin(slope)])
        for _ in range(4):
            place = place + 3.048 * ahead
            rows.append(place)
    return [tuple(row) for row in grid_m * np.round(np.array(rows) / grid_m)]


@pytest.mark.parametrize("heading_deg", [30.0, 72.0, 78.0])
def test_sticks_written_to_a_tenth_of_a_foot_are_not_said_to_be_left(heading_deg) -> None:
    reading = read_bends(lines(sticks(0.03048, heading_deg)), corner_radius_m=0.24)
    assert [one.angle_rad for one in reading.bends] == pytest.approx([radians(60.0)] * 2, abs=0.02)
    assert [one.code for one in reading.findings if one.severity is not Severity.NOTE] == []


def test_places_on_a_grid_too_coarse_for_a_rounding_are_passed_by_none() -> None:
    path = lines([(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (6.0, 0.1, 0.0), (9.0, 0.1, 0.0)])
    asked = Asked(0.24, RadiusFrom.TABLE, None, None, "")
    drawing = clean_drawing(path, frozenset(), asked, BendChain())
    assert drawing.rounding_m == pytest.approx(0.1)
    found = far_point_findings(drawing, asked, 0.0, (), [0.0, 0.01, 0.0, 0.0], [0.0, 3.0, 6.0, 9.0])
    assert [one.code for one in found] == ["off-the-drawing"]


@pytest.mark.parametrize(
    ("grid_m", "advised"), [(0.03048, "with more decimals"), (0.001, 'read_as = "corners"')]
)
def test_corners_are_not_advised_where_the_grid_alone_makes_them(grid_m, advised) -> None:
    path = lines(sticks(grid_m, 30.0))
    asked = Asked(0.24, RadiusFrom.TABLE, None, None, "")
    drawing = clean_drawing(path, frozenset(), asked, BendChain())
    count = len(drawing.points_m)
    away, stations = [0.0, 0.2, *[0.0] * (count - 2)], [3.0 * joint for joint in range(count)]
    (found,) = far_point_findings(drawing, asked, 0.0, (), away, stations)
    assert advised in found.message
    assert ("corners" in found.message) == ("corners" in advised)
