"""Conductor sizes of the tables: spellings, order, metal area.

NEC Chapter 9 Table 8. AWG sizes up to 4/0, then kcmil from 250.
"""

from __future__ import annotations

from analyzer.catalog.nearest import nearest_name, nearest_words
from analyzer.catalog.tables import find_row, read_table
from analyzer.errors import CatalogError

__all__ = [
    "conductor_sizes",
    "metal_area_cmil",
    "parse_conductor_size",
    "size_name",
    "size_rank",
]

_THINNEST_GAUGE = 40
"""Number of the thinnest gauge; a larger one without its unit can only be kcmil."""


def conductor_sizes() -> tuple[str, ...]:
    """Return all sizes of the conductor tables, smallest first."""
    return tuple(
        dict.fromkeys(r["size_awg_kcmil"] for r in read_table("conductor_properties").rows)
    )


def size_rank(size: str) -> int:
    """Return the place of a table size among all sizes, smallest first, for comparing sizes.

    Raises
    ------
    CatalogError
        If it is no table size.
    """
    sizes = conductor_sizes()
    if size not in sizes:
        raise CatalogError(f"no conductor size {size!r}")
    return sizes.index(size)


def parse_conductor_size(size: str | int) -> str:
    """Return a table size from what people write.

    Parameters
    ----------
    size : str or int
        ``12``, ``"#12"``, ``"12 AWG"``, ``"No. 12"``, ``"0000"``, ``"4/0 AWG"``, ``"250 kcmil"``,
        ``"250 MCM"``.

    Raises
    ------
    CatalogError
        If the tables hold no such size; the message names the nearest.

    Examples
    --------
    >>> parse_conductor_size("0000"), parse_conductor_size("#12"), parse_conductor_size("250 MCM")
    ('4/0', '12', '250')
    """
    text = str(size).strip().casefold()
    folded = text.removeprefix("#").removeprefix("no.").removeprefix("no").strip()
    is_kcmil = any(word in folded for word in ("kcmil", "mcm"))
    is_awg = "awg" in folded
    for word in ("awg", "kcmil", "mcm"):
        folded = folded.replace(word, "")
    folded = folded.replace(" ", "").strip(".")
    folded = _counted_noughts(folded)
    sizes = conductor_sizes()
    wrong_unit = folded in sizes and (
        (is_kcmil and size_rank(folded) < size_rank("250"))
        or (is_awg and size_rank(folded) >= size_rank("250"))
    )
    if folded in sizes and not wrong_unit:
        return folded
    if wrong_unit:
        raise CatalogError(f"no conductor size {size!r}: write {size_name(folded)} if you mean it")
    nearest = _nearest_size(folded, is_kcmil, is_awg)
    words = nearest_words([] if nearest is None else [size_name(nearest)])
    raise CatalogError(
        f"no conductor size {size!r} in the tables{words}. There are {', '.join(sizes)}"
    )


def metal_area_cmil(size: str | int) -> float:
    """Return the metal area of a table size. [circular mils]

    Raises
    ------
    CatalogError
        If the tables hold no such size; the message names the nearest.

    Examples
    --------
    >>> metal_area_cmil("#6")
    26240.0
    """
    row = find_row("conductor_properties", size_awg_kcmil=parse_conductor_size(size))
    return float(row["circular_mils"])


def size_name(size: str) -> str:
    """Return a table size for people: ``4/0 AWG``, ``250 kcmil``."""
    return f"{size} kcmil" if size_rank(size) >= size_rank("250") else f"{size} AWG"


def _counted_noughts(text: str) -> str:
    """Write a row of noughts as the tables do: ``0000`` is ``4/0``."""
    return f"{len(text)}/0" if text and set(text) == {"0"} else text


def _nearest_size(folded: str, is_kcmil: bool, is_awg: bool) -> str | None:
    """Nearest by number: among kcmil sizes, gauges or gauges of noughts; else by `nearest_name`."""
    sizes = conductor_sizes()
    kcmil = [size for size in sizes if size_rank(size) >= size_rank("250")]
    noughts = [size for size in sizes if size.endswith("/0")]
    gauges = [size for size in sizes if size not in kcmil and size not in noughts]
    text = _counted_noughts(folded.replace("o", "0"))
    if text in sizes:
        return text
    number = text.removesuffix("/0")
    if not number.isdigit():
        return nearest_name(text, sizes)
    alike = noughts if number != text else gauges
    if is_kcmil or (int(number) > _THINNEST_GAUGE and not is_awg):
        alike = kcmil
    return min(alike, key=lambda size: abs(int(size.removesuffix("/0")) - int(number)))
