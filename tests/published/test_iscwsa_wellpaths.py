"""Arc geometry against published well paths.

Source: ISCWSA standard set of wellpaths for clearance scenarios, as carried in the test data of an
Apache-2.0 project (licensed under the Apache License, Version 2.0; see iscwsa_wellpaths.json for
the notice). Positions are published to 0.01 m from angles published to 0.01°; minimum curvature is
one arc between neighboring stations. Tolerance 0.006 m: half the last printed digit of the
position, plus 0.001 m for the rounding of the angles carried along the path.
"""

from __future__ import annotations

import json
from itertools import pairwise
from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, cross, norm, unit

PATHS = json.loads((Path(__file__).parent / "iscwsa_wellpaths.json").read_text())["wells"]


def direction(inclination_deg: float, azimuth_deg: float) -> Vector:
    """East, north, up; inclination from straight down, azimuth from north."""
    i, a = radians(inclination_deg), radians(azimuth_deg)
    return (sin(i) * sin(a), sin(i) * cos(a), -cos(i))


def next_segment(at: Vector, before: Vector, after: Vector, length_m: float) -> Segment:
    angle = angle_between(before, after)
    if angle < 1e-9:
        return Straight(at, tuple(np.add(at, np.multiply(before, length_m))))
    radius = length_m / angle
    axis = unit(cross(before, after))
    normal = unit(cross(axis, before))
    return Arc(at, tuple(np.add(at, np.multiply(normal, radius))), axis, angle)


@pytest.mark.parametrize("name", sorted(PATHS))
def test_arcs_between_stations_reach_the_published_positions(name: str) -> None:
    well = PATHS[name]
    published = np.column_stack([well["E"], well["N"], np.negative(well["TVD"])])
    tangents = [
        direction(inc, azi) for inc, azi in zip(well["IncDeg"], well["AziDeg"], strict=True)
    ]
    at: Vector = tuple(published[0])
    worst = 0.0
    lengths = np.diff(well["MD"])
    for (before, after), length, expected in zip(
        pairwise(tangents), lengths, published[1:], strict=True
    ):
        segment = next_segment(at, before, after, float(length))
        assert norm(tuple(np.subtract(segment.end_tangent, after))) < 1e-9
        assert segment.length_m == pytest.approx(length, rel=1e-12)
        at = segment.end_m
        worst = max(worst, float(np.abs(np.subtract(at, expected)).max()))
    assert worst <= 0.006


def test_quarter_turn_of_radius_two_ends_at_two_two() -> None:
    """L = pi, R = 2: (2, 2, 0), the textbook check of an arc."""
    arc = Arc((0.0, 0.0, 0.0), (0.0, 2.0, 0.0), (0.0, 0.0, 1.0), np.pi / 2)
    assert arc.length_m == pytest.approx(np.pi, abs=1e-15)
    assert arc.end_m == pytest.approx((2.0, 2.0, 0.0), abs=1e-15)
