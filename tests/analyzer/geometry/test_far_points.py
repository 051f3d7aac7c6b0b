"""What is said where the centerline leaves the points that were drawn."""

from __future__ import annotations

import pytest
from drawn_ways import lines

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import Asked, BendChain
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
