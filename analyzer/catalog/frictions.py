"""Friction presets by raceway and jacket: range and source.

Every friction is an assumption until a pull confirms it. Where a source prints a range, expected
is its middle; where it prints one number, that is expected, and low and high lie 0.15 either way,
the spread of the default band, by our own choice: the note says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.nearest import fold_name, nearest_names, nearest_words
from analyzer.catalog.tables import Row, read_table
from analyzer.errors import CatalogError

__all__ = ["FrictionPreset", "find_friction", "friction_names"]


@dataclass(frozen=True, slots=True)
class FrictionPreset:
    """A friction band for a kind of raceway and jacket.

    Attributes
    ----------
    name : str
        Name that finds it, such as ``pvc-lubricated``.
    raceway, jacket, condition : str
        What it holds for.
    low, expected, high : float
        The band; where the source prints one number, 0.15 either way of it.
    source : str
        Document it was read in, or ``common practice``.
    confirmed : bool
        False where one text only was read.
    note : str
        What to know before using it.
    """

    name: str
    raceway: str
    jacket: str
    condition: str
    low: float
    expected: float
    high: float
    source: str
    confirmed: bool
    note: str = ""


def friction_names() -> tuple[str, ...]:
    """Return the names of the presets, the default band first."""
    return tuple(row["name"] for row in read_table("frictions").rows)


def find_friction(name: str) -> FrictionPreset:
    """Return a friction preset by name, in any case.

    Raises
    ------
    CatalogError
        If there is none of that name; the message names the nearest.

    Examples
    --------
    >>> find_friction("PVC lubricated").high
    0.35
    """
    table = read_table("frictions")
    for row in table.rows:
        if fold_name(row["name"]) == fold_name(name):
            return _preset(row, table.header)
    names = friction_names()
    raise CatalogError(
        f"no friction preset {name!r}{nearest_words(nearest_names(name, names))}. "
        f"There are {', '.join(names)}"
    )


def _preset(row: Row, header: tuple[str, ...]) -> FrictionPreset:
    titles = dict(line.split(": ", 1) for line in header if line[:1] == "F" and ": " in line[:5])
    source = "; ".join(titles.get(code, code) for code in row["source"].split(","))
    return FrictionPreset(
        name=row["name"],
        raceway=row["raceway"],
        jacket=row["jacket"],
        condition=row["condition"],
        low=float(row["low"]),
        expected=float(row["expected"]),
        high=float(row["high"]),
        source=source,
        confirmed=row["confirmed"] == "yes",
        note=row["note"],
    )
