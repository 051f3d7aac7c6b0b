"""Whether a short row of points can be read as one that lost a cell before its others as well.

Then the cells behind the lost one stand one column too far left. Numbers of points do not fit under
a fitting, words not under a coordinate: where no place of the lost cell lets all others be read,
nothing but cells at the end of the row is missing.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.importers.points.cells import EMPTY_MARKS
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.fitting_kinds import fitting_kind
from analyzer.importers.points.headings import length_unit
from analyzer.importers.points.radius_columns import holds_radii
from analyzer.importers.points.tables import Row

__all__ = ["fits_as_it_stands", "may_be_shifted"]


def may_be_shifted(row: Row, rows: Sequence[Row], layout: Layout) -> bool:
    """Whether a cell may be missing before others of a short row that hold something.

    Parameters
    ----------
    row : Row
        The short row.
    rows : sequence of Row
        All rows of points, which show what other columns hold.
    layout : Layout
        What the columns mean.
    """
    filled = [index for index, cell in enumerate(row.cells) if not _is_empty(cell)]
    if not filled or filled[-1] + 1 >= layout.width:
        return False
    roles = _roles(layout)
    for lost in reversed(range(filled[-1] + 1)):
        behind = row.cells[lost:]
        if all(
            _fits(cell, index, roles.get(index, ""), row, rows)
            for index, cell in enumerate(behind, start=lost + 1)
        ):
            return True
    return False


def fits_as_it_stands(row: Row, rows: Sequence[Row], layout: Layout) -> bool:
    """Whether the cells of a row fit the columns they stand in; parameters as above."""
    roles = _roles(layout)
    return all(
        _fits(cell, index, roles.get(index, ""), row, rows) for index, cell in enumerate(row.cells)
    )


def _roles(layout: Layout) -> dict[int, str]:
    roles = {column.index: role for role, column in layout.extra.items()}
    return roles | {axis.column.index: "axis" for axis in layout.axes}


def _fits(cell: str, index: int, role: str, row: Row, rows: Sequence[Row]) -> bool:
    """Whether a cell can stand in a column: by its role, else by what other rows hold there."""
    if role == "axis":
        return _is_number(cell)
    if _is_empty(cell):
        return True
    if role == "radius":
        return holds_radii([cell])
    if role == "fitting":
        return fitting_kind(cell) is not None
    if role == "unit":
        return length_unit(cell) is not None
    others = [
        other.cells[index]
        for other in rows
        if other is not row and index < len(other.cells) and not _is_empty(other.cells[index])
    ]
    if _is_number(cell):
        return any(map(_is_number, others))
    if others and all(map(_is_number, others)):
        return False
    return fitting_kind(cell) is None or any(fitting_kind(one) is not None for one in others)


def _is_empty(cell: str) -> bool:
    return not cell or cell.casefold() in EMPTY_MARKS


def _is_number(cell: str) -> bool:
    return any(map(str.isdigit, cell)) and not cell[0].isalpha()
