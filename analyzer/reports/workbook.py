"""The analysis as a workbook: one sheet a table, headings frozen."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from analyzer.reports.csv_tables import shown_tables

__all__ = ["workbook_bytes"]


def workbook_bytes(values: dict[str, Any]) -> bytes:
    """Return an .xlsx workbook of the tables of an analysis, a page each, cautions first.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    book.remove(book.active)
    for name, (columns, rows) in shown_tables(values).items():
        sheet = book.create_sheet(name)
        sheet.append(columns)
        for row in rows:
            sheet.append([_plain(row.get(column)) for column in columns])
        sheet.freeze_panes = "A2"
        for index, column in enumerate(columns, start=1):
            sheet.cell(1, index).font = Font(bold=True)
            sheet.column_dimensions[get_column_letter(index)].width = max(12, len(column) + 2)
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def _plain(value: Any) -> Any:
    """Return a cell that a spreadsheet never takes for a formula and can always store."""
    if not isinstance(value, str):
        return value
    text = "".join(char for char in value if char >= " " or char in "\n\t")
    return f" {text}" if text.startswith(("=", "+", "-", "@")) else text
