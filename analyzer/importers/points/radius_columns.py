"""Which column gives radii of bends, where none is plainly called radius and names its unit.

A short name such as R or RAD serves where what stands below it are numbers; beside G and B it is a
color. The unit of its numbers has to be settled as for any bare number.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from analyzer.importers.points.cells import EMPTY_MARKS
from analyzer.importers.points.headings import RADII, Heading
from analyzer.importers.points.tables import Row

__all__ = ["find_radius_column", "has_colors", "holds_radii"]

_COLORS = {"g", "b", "green", "blue"}


def find_radius_column(
    headings: Sequence[Heading], taken: Collection[int], rows: Sequence[Row]
) -> int | None:
    """Return the index of the one column that may give radii, or None.

    Parameters
    ----------
    headings : sequence of Heading
        The header.
    taken : collection of int
        Columns that are something else.
    rows : sequence of Row
        Rows below the header.
    """
    if has_colors(headings):
        return None
    called = [
        index
        for index, heading in enumerate(headings)
        if heading.plain in RADII and index not in taken and holds_radii(_cells(rows, index))
    ]
    return called[0] if len(called) == 1 else None


def has_colors(headings: Iterable[Heading]) -> bool:
    """Whether headings name green or blue, beside which R is red."""
    return any(heading.plain in _COLORS for heading in headings)


def holds_radii(cells: Sequence[str]) -> bool:
    """Whether the cells of a column hold numbers of more than zero, and no words."""
    numbers = [cell for cell in cells if any(map(str.isdigit, cell))]
    words = [cell for cell in cells if cell[:1].isalpha() and cell.casefold() not in EMPTY_MARKS]
    return any(cell.strip("0.,-+ ") for cell in numbers) and not words


def _cells(rows: Sequence[Row], index: int) -> list[str]:
    return [
        row.cells[index]
        for row in rows
        if index < len(row.cells) and not row.is_blank and not row.is_marked
    ]
