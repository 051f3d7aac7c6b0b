"""Findings tell lengths in both units, those of the job first."""

from __future__ import annotations

import pytest

from analyzer.importers.told_units import in_order_of
from analyzer.units import UnitSystem


@pytest.mark.parametrize(
    ("text", "turned"),
    [
        ("at 23.62 in (600.0 mm), once", "at 600.0 mm (23.62 in), once"),
        ("needs 288.00 in (7,315.2 mm).", "needs 7,315.2 mm (288.00 in)."),
        ("6.6 ft to 9.1 ft (2.00 m to 2.78 m)", "2.00 m to 2.78 m (6.6 ft to 9.1 ft)"),
        (
            "98.4 x 2e-05 x 72.2 ft (30 x 6e-06 x 22 m)",
            "30 x 6e-06 x 22 m (98.4 x 2e-05 x 72.2 ft)",
        ),
        ("row 3 (layer A), 5 in", "row 3 (layer A), 5 in"),
    ],
)
def test_lengths_in_both_units_stand_in_the_order_of_the_system(text, turned):
    assert in_order_of(UnitSystem.METRIC, text) == turned
    assert in_order_of(UnitSystem.US, text) == text
