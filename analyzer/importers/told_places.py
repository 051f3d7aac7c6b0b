"""Lengths and places of a drawing as text, in its own unit, and lists of places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.geometry.segments import Vector
from analyzer.units import LengthUnit

__all__ = ["UnitText", "place_list"]

_DUST_M = 1e-12


@dataclass(frozen=True, slots=True)
class UnitText:
    """Lengths and places as text in the unit of the drawing, where a person looks for them."""

    unit: LengthUnit

    def length(self, length_m: float) -> str:
        """Return a length as text, four digits."""
        return f"{_without_dust(length_m) / float(self.unit.factor):.4g} {self.unit.value}"

    def place(self, point_m: Vector) -> str:
        """Return a point as text, to a millionth of what is written."""
        factor = float(self.unit.factor)
        x, y, z = (f"{_without_dust(value) / factor:.10g}" for value in point_m)
        return f"({x}, {y}, {z}) {self.unit.value}"


def _without_dust(value_m: float) -> float:
    """Return a length, zero where it is only what doubles leave of zero. [m]"""
    return value_m if abs(value_m) > _DUST_M else 0.0


def place_list(places: Sequence[str], most: int = 10) -> str:
    """Return the first places of a list as text, and how many more there are."""
    text = "; ".join(places[:most])
    return text if len(places) <= most else f"{text}; and {len(places) - most} more"
