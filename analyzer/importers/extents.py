"""How large a route file would be in each unit it may be in: shown where it names none."""

from __future__ import annotations

from analyzer.geometry.segments import Vector
from analyzer.units import LengthUnit

__all__ = ["CANDIDATE_UNITS", "drawn_size", "extents_text"]

CANDIDATE_UNITS = (
    LengthUnit.INCH,
    LengthUnit.FOOT,
    LengthUnit.MILLIMETER,
    LengthUnit.CENTIMETER,
    LengthUnit.METER,
)
"""Units that raceway drawings are drawn in; offered where a drawing names none."""


def drawn_size(low: Vector, high: Vector) -> Vector:
    """Return the size between two corners, in drawing units.

    What doubles leave of a zero, turned out of a tilted plane or met at large coordinates, is no
    size.
    """
    least = 1e-12 * max(map(abs, (*low, *high)))
    x, y, z = (b - a if b - a > least else 0.0 for a, b in zip(low, high, strict=True))
    return x, y, z


def extents_text(size: Vector, unit: LengthUnit) -> str:
    """Return what a size in drawing units would be in a unit, in feet and meters.

    Examples
    --------
    >>> extents_text((120.0, 12.0, 0.0), LengthUnit.INCH)
    '10 x 1 x 0 ft (3.048 x 0.3048 x 0 m)'
    """
    meters = [value * float(unit.factor) for value in size]
    feet = [value / float(LengthUnit.FOOT.factor) for value in meters]
    in_feet = " x ".join(f"{value:,.4g}" if value < 1e4 else f"{value:,.0f}" for value in feet)
    in_meters = " x ".join(f"{value:,.4g}" if value < 1e4 else f"{value:,.0f}" for value in meters)
    return f"{in_feet} ft ({in_meters} m)"
