"""Rows of a file of points before their numbers are read: uneven and blank ones."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.row_words import row_numbers
from analyzer.importers.points.tables import Row

__all__ = ["blank_rows", "even_rows"]


def even_rows(rows: Sequence[Row], layout: Layout) -> tuple[list[Row], list[str]]:
    """Return rows with one cell a column, and what is wrong with all other rows.

    Parameters
    ----------
    rows : sequence of Row
        Rows that hold something; cells missing at their end count as empty.
    layout : Layout
        Which columns are needed.
    """
    count = layout.column_count
    even, long, short = [], [], []
    for row in rows:
        cells = row.cells
        while len(cells) > count and not cells[-1]:
            cells = cells[:-1]
        if len(cells) > count:
            long.append(row.number)
            continue
        if not layout.holds_axes(row):
            short.append(row.number)
            continue
        even.append(Row(row.number, cells + ("",) * (count - len(cells))))
    faults = []
    if long:
        faults.append(
            f"{row_numbers(long)}: more cells than the {count} columns. Numbers with a "
            "decimal comma need quotes around them, or semicolons between columns"
        )
    if short:
        faults.append(
            f"{row_numbers(short)}: fewer cells than the {count} columns, and a coordinate is "
            f"missing: complete the row{'s' if len(short) > 1 else ''}"
        )
    return even, faults


def blank_rows(rows: Sequence[Row], layout: Layout, file: str) -> list[Finding]:
    """Return a caution for blank rows between points where nothing else tells the runs apart."""
    last = max(i for i, row in enumerate(rows) if not row.is_blank)
    blank = [row.number for row in rows[:last] if row.is_blank]
    if not blank or "run" in layout.extra:
        return []
    text = (
        f"blank {row_numbers(blank)}: the points above and below are read as one run. If they are "
        "two, add a column called run"
    )
    return [Finding("rows-blank", Severity.CAUTION, text, file, EVERY_RUN)]
