"""What people write into a file of points beside points: marks for nothing, remarks, headers again.

A mark such as ``-`` or ``n/a`` is read as an empty cell where a radius or a label is optional. A
remark behind the numbers and a header that comes again are refused in plain words, for they may
stand where another run begins.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import RouteError
from analyzer.findings import Finding
from analyzer.importers.points.cells import EMPTY_MARKS
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.headings import AXIS_SLOT, headings_of
from analyzer.importers.points.row_words import FAULTS_SHOWN, note, row_numbers
from analyzer.importers.points.tables import Row

__all__ = ["refuse_header_again", "refuse_remarks", "without_empty_marks"]

_REMARKS = ("#", "//")


def without_empty_marks(
    rows: Sequence[Row], layout: Layout, file: str
) -> tuple[list[Row], list[Finding]]:
    """Return rows with marks for nothing taken out of radius and label, and a note that says so.

    Parameters
    ----------
    rows : sequence of Row
        One cell a column.
    layout : Layout
        What the columns mean.
    file : str
        Name of the file, for the note.
    """
    found: list[Finding] = []
    left = list(rows)
    for role in ("radius", "label"):
        column = layout.extra.get(role)
        if column is None:
            continue
        marked = [row for row in left if row.cells[column.index].casefold() in EMPTY_MARKS]
        if not marked:
            continue
        written = ", ".join(dict.fromkeys(repr(row.cells[column.index]) for row in marked))
        numbers = [row.number for row in marked]
        text = f"{row_numbers(numbers)}, column {column.title}: {written} read as an empty cell"
        found.append(note("marks-empty", text, file))
        at, emptied = column.index, set(numbers)
        left = [
            Row(row.number, (*row.cells[:at], "", *row.cells[at + 1 :]))
            if row.number in emptied
            else row
            for row in left
        ]
    return left, found


def refuse_header_again(rows: Sequence[Row], file: str) -> None:
    """Stop at a row among the points that names the columns once more.

    Raises
    ------
    RouteError
        With the row, and what to do where it begins another run.
    """
    for row in rows:
        if row.is_marked or any(map(str.isdigit, row.cells[0])):
            continue
        roles = {heading.role for heading in headings_of(row)}
        if {AXIS_SLOT[role] for role in roles if role in AXIS_SLOT} == {0, 1, 2}:
            raise RouteError(
                f"{file}, row {row.number}: {', '.join(row.cells)!r} names the columns once more: "
                "take the row out. If another run begins there, add a column called run with a "
                "name in every row"
            )


def refuse_remarks(rows: Sequence[Row], layout: Layout, file: str) -> None:
    """Stop at remarks that stand behind the numbers of a point.

    Raises
    ------
    RouteError
        With the rows, and where remarks may stand.
    """
    axes = [axis.column.index for axis in layout.axes]
    found = []
    for row in rows:
        numbers = [row.cells[index] for index in axes if index < len(row.cells)]
        behind = row.cells[layout.column_count :]
        if any(f" {mark}" in cell for cell in numbers for mark in _REMARKS) or any(
            cell.startswith(_REMARKS) for cell in behind
        ):
            found.append(row)
    if found:
        shown = ", ".join(repr(", ".join(row.cells)) for row in found[:FAULTS_SHOWN])
        raise RouteError(
            f"{file}, {row_numbers([row.number for row in found])}: a remark stands behind the "
            f"numbers, {shown}: give it a row of its own that begins with #, or a column of its "
            "own with a header"
        )
