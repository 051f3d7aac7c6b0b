"""Fill of a raceway: the largest number of equal conductors, and the percentage of mixed ones.

NEC Chapter 9 Table 1 and Note 7, with the published areas of Tables 4 and 5: areas computed from
diameters without rounding give other counts.
"""

from __future__ import annotations

from math import floor

from analyzer.catalog.conductors import Conductor
from analyzer.catalog.raceways import Raceway
from analyzer.catalog.tables import find_row
from analyzer.units import inches

__all__ = [
    "fill_limit_percent",
    "fill_percent",
    "is_nipple",
    "max_conductor_count",
    "nipple_fill_percent",
]


def fill_limit_percent(count: int) -> float:
    """Return the largest fill for a number of conductors or cables, in percent.

    Examples
    --------
    >>> fill_limit_percent(1), fill_limit_percent(2), fill_limit_percent(3)
    (53.0, 31.0, 40.0)
    """
    names = {1: "one conductor or cable", 2: "two conductors or cables"}
    return _value(names.get(count, "over two conductors or cables"))


def nipple_fill_percent() -> float:
    """Return the largest fill of a nipple between boxes, cabinets or the like, in percent."""
    return _value("nipple between boxes, cabinets or similar enclosures")


def is_nipple(length_m: float) -> bool:
    """Return whether a raceway is short enough for a nipple: 24 in or less.

    Examples
    --------
    >>> is_nipple(0.6096), is_nipple(0.62)
    (True, False)
    """
    return length_m <= inches(_value("nipple maximum length")) * (1.0 + 1e-9)


def fill_percent(raceway: Raceway, area_in2: float) -> float:
    """Return the percentage of a raceway's published inside area that an area takes."""
    return 100.0 * area_in2 / raceway.area_in2


def max_conductor_count(raceway: Raceway, conductor: Conductor) -> int:
    """Return the largest number of equal conductors a raceway may hold.

    The 40 percent area over the conductor's area, rounded up where the decimal is 0.8 or more;
    where that gives two or fewer, the 31 percent area for two and the 53 percent area for one,
    rounded the same way.

    Examples
    --------
    >>> from analyzer.catalog.conductors import find_conductor
    >>> from analyzer.catalog.raceways import find_raceway
    >>> max_conductor_count(find_raceway("EMT", "1/2"), find_conductor(12, "THHN", "copper"))
    9

    References
    ----------
    NFPA 70, *National Electrical Code*, 2020 and 2023, Chapter 9 Table 1 and Note 7; the counts
    are those of Annex C.
    """
    ratio = raceway.area_in2 / conductor.area_in2 / 100.0
    count = _rounded_count(fill_limit_percent(3) * ratio)
    if count > 2:
        return count
    for fewer in (2, 1):
        if _rounded_count(fill_limit_percent(fewer) * ratio) >= fewer:
            return fewer
    return 0


def _rounded_count(number: float) -> int:
    """Whole number, the next one where the decimal is 0.8 or more; 1e-9 for binary fractions."""
    whole = floor(number)
    cut = _value("round-up decimal for equal conductors") - 1e-9
    return whole + (number - whole >= cut)


def _value(rule: str) -> float:
    return float(find_row("fill_limits", rule=rule)["value"])
