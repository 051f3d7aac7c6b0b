"""Rows of a point file that are comments: they begin with ``#`` or ``//``."""

from __future__ import annotations

import re
from collections.abc import Sequence

from analyzer.errors import RouteError
from analyzer.findings import Finding
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.rows import note, row_numbers
from analyzer.importers.points.tables import Row

__all__ = ["without_comments"]

_SHEET_ERROR = re.compile(r"#(?:\S*[!?]|N/A|NV)", re.IGNORECASE)
_TOO_NARROW = re.compile("##+")
_SHOWN = 3


def without_comments(
    rows: Sequence[Row], layout: Layout, file: str
) -> tuple[list[Row], list[Finding]]:
    """Return rows that are no comments, and a note that counts the others.

    Errors that spreadsheets write, such as ``#REF!``, are no comments. Where the first column is
    no coordinate, names may begin with a number sign: then all of them have to.

    Parameters
    ----------
    rows : sequence of Row
        Rows below the header, blank ones too.
    layout : Layout
        What the columns mean.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If a row may be a point with such a name as well as a comment.
    """
    marked = [row for row in rows if row.is_marked and not _is_sheet_error(row)]
    if not marked:
        return list(rows), []
    if all(axis.column.index != 0 for axis in layout.axes):
        points = [row for row in marked if _holds_point(row, layout)]
        if points and len(points) == sum(_holds_point(row, layout) for row in rows):
            marked = [row for row in marked if not _holds_point(row, layout)]
        elif points:
            raise RouteError(
                f"{file}, {row_numbers([row.number for row in points])}: begins with "
                f"{points[0].cells[0][0]!r} and holds a point, so it may be a comment or a name: "
                "take the row out, or write the name otherwise"
            )
    if not marked:
        return list(rows), []
    left_out = {row.number for row in marked}
    kept = [row for row in rows if row.number not in left_out]
    return kept, [_told(marked, kept, layout, file)]


def _is_sheet_error(row: Row) -> bool:
    """Whether the first cell is an error of a spreadsheet, or stood in too narrow a column."""
    first, *rest = row.cells
    too_narrow = _TOO_NARROW.fullmatch(first) is not None and any(rest)
    return too_narrow or _SHEET_ERROR.fullmatch(first) is not None


def _holds_point(row: Row, layout: Layout) -> bool:
    """Whether a row has a number in every coordinate column."""
    indexes = [axis.column.index for axis in layout.axes]
    if len(row.cells) <= max(indexes):
        return False
    return all(any(map(str.isdigit, row.cells[index])) for index in indexes)


def _told(marked: Sequence[Row], kept: Sequence[Row], layout: Layout, file: str) -> Finding:
    numbers = [row.number for row in marked]
    shown = ", ".join(repr(", ".join(filter(None, row.cells))) for row in marked[:_SHOWN])
    count = f"{len(marked)} comments" if len(marked) > 1 else "a comment"
    more = ", ..." if len(marked) > _SHOWN else ""
    text = f"{row_numbers(numbers)}: {count} left out: {shown}{more}"
    points = [row.number for row in kept if not row.is_blank]
    between = points and any(points[0] < number < points[-1] for number in numbers)
    if between and "run" not in layout.extra:
        text += ". The points above and below are one run; where they are two, add a column run"
    return note("rows-comment", text, file)
