"""Rounded multipliers and shrink that bender charts print, by angle.

Only confirmed rows are used; the exact figures stand beside them wherever they are shown.
"""

from __future__ import annotations

from functools import cache

from analyzer.catalog.tables import read_table

__all__ = ["offset_chart", "saddle_chart"]


def offset_chart() -> dict[float, tuple[float, float]]:
    """Return multiplier and shrink per depth of an offset, by angle in degrees."""
    return dict(_chart("offset"))


def saddle_chart() -> dict[float, tuple[float, float]]:
    """Return multiplier and shrink per depth of a three-bend saddle, by outer angle in degrees."""
    return dict(_chart("three-point saddle"))


@cache
def _chart(bend: str) -> tuple[tuple[float, tuple[float, float]], ...]:
    return tuple(
        (
            float(row["angle_deg"]),
            (float(row["multiplier_table"]), float(row["shrink_table_in_per_in"])),
        )
        for row in read_table("offsets").rows
        if row["bend"].startswith(bend) and row["confirmed"] == "yes"
    )
