"""Conductor supports in vertical raceways: the largest rise without a support.

NEC Table 300.19(A), by size and metal.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.conductor_sizes import size_rank
from analyzer.catalog.tables import read_table
from analyzer.errors import CatalogError
from analyzer.units import ft

__all__ = ["SupportSpacing", "find_support_spacing"]


@dataclass(frozen=True, slots=True)
class SupportSpacing:
    """Largest vertical rise that needs no support, and the spacing of supports. [m]"""

    spacing_m: float
    metal: str
    confirmed: bool


def find_support_spacing(size: str, metal: str) -> SupportSpacing:
    """Return the support spacing of a conductor by table size and metal.

    Raises
    ------
    CatalogError
        If the size is no table size, or the metal neither copper nor aluminum.

    Examples
    --------
    >>> from analyzer.units import to_ft
    >>> round(to_ft(find_support_spacing("4/0", "copper").spacing_m))
    80

    References
    ----------
    NFPA 70, *National Electrical Code*, 2020 and 2023, Table 300.19(A).
    """
    columns = {"copper": "copper", "aluminum": "aluminum_or_copper_clad"}
    if metal not in columns:
        raise CatalogError(f"no support spacing for {metal!r}: copper and aluminum are known")
    column = columns[metal]
    for row in read_table("conductor_supports").rows:
        if size_rank(size) <= size_rank(row["largest_size"]):
            return SupportSpacing(
                spacing_m=ft(float(row[f"{column}_ft"])),
                metal=metal,
                confirmed=row[f"{column}_confirmed"] == "yes",
            )
    raise CatalogError(f"no support spacing for {size} {metal}")
