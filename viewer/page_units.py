"""Numbers for the page in the units people see, and how the page's script writes them.

Texts come from the same functions as everywhere else. Only what is read off a curve on the way
(head, pointer) is written by the script, by the rules handed over here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analyzer.units import UnitSystem, ft, to_ft, to_lbf, to_lbf_per_ft

__all__ = ["PageUnits"]


@dataclass(frozen=True, slots=True)
class PageUnits:
    """Turns SI values into the numbers of the page: lbf, lbf/ft and ft, or N, kN/m and m."""

    system: UnitSystem

    @property
    def is_us(self) -> bool:
        """Whether US units are shown."""
        return self.system is UnitSystem.US

    def force(self, force_n: float) -> float:
        """Return a tension in lbf or N."""
        return to_lbf(force_n) if self.is_us else force_n

    def pressure(self, value_n_per_m: float) -> float:
        """Return a sidewall pressure in lbf/ft or kN/m."""
        return to_lbf_per_ft(value_n_per_m) if self.is_us else value_n_per_m / 1000

    def length(self, length_m: float) -> float:
        """Return a length in ft or m."""
        return to_ft(length_m) if self.is_us else length_m

    def rules(self) -> dict[str, Any]:
        """Return how the script writes numbers: steps of (from, factor, decimals, unit).

        `meters` is the length of one unit of length.
        """
        if self.is_us:
            force = [[99.95, 1, 0, "lbf"], [0, 1, 1, "lbf"]]
            pressure = [[99.95, 1, 0, "lbf/ft"], [0, 1, 1, "lbf/ft"]]
            length = [[0, 1, 1, "ft"]]
            return {"force": force, "pressure": pressure, "length": length, "meters": ft(1.0)}
        return {
            "force": [[999.5, 0.001, 2, "kN"], [0, 1, 0, "N"]],
            "pressure": [[0, 1, 2, "kN/m"]],
            "length": [[0, 1, 2, "m"]],
            "meters": 1.0,
        }
