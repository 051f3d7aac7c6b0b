"""Corners too slight to be bent, straights that gaps leave, and radii that no corner has."""

from __future__ import annotations

from dataclasses import replace
from math import degrees

import numpy as np
import pytest
from drawn_ways import (
    CORNER_M,
    R,
    codes,
    finding,
    lines,
    noisy,
    with_arc,
)

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.readings import ReadAs, Reading


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
