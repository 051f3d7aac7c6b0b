"""Where conductors hang: which bends belong to a vertical part."""

from __future__ import annotations

from math import cos, radians

import pytest

from analyzer.checks.conductor_support import vertical_parts
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc


@pytest.mark.parametrize(("end_deg", "parts"), [(30.0, 0), (44.0, 0), (44.6, 1), (60.0, 1)])
@pytest.mark.parametrize("backward", [False, True])
def test_bend_that_stops_short_of_45_degrees_is_not_vertical(
    end_deg: float, parts: int, backward: bool
) -> None:
    """Half a degree short counts as 45, as in a drawing's straights."""
    line = Centerline((Arc((0.0, 0.0, 0.0), (0.0, 0.0, 2.0), (0.0, -1.0, 0.0), radians(end_deg)),))
    found = vertical_parts(line.reversed() if backward else line)
    rise = 2.0 * (1.0 - cos(radians(end_deg))) * (-1.0 if backward else 1.0)
    assert [part.rise_m for part in found] == pytest.approx([rise] * parts)
