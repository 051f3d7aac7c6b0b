"""The analysis as a workbook: one sheet a table, made to be read on a screen and printed.

Cells hold the values of the analysis file to 16 digits; what is shown of a number follows the
unit that its column names, or that stands beside it. What a row is about and the headings stay in
view.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from math import ceil
from typing import TYPE_CHECKING, Any

from analyzer.reports.csv_tables import shown_tables

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["workbook_bytes"]

_FORCE, _LENGTH, _SMALL_LENGTH, _ANGLE = "#,##0.0", "#,##0.000", "0.00000", "0.00"
_FORMATS = (
    (("radius_m", "radius_ft", "_sd_m", "_sd_ft", "deviation_m", "deviation_ft"), _SMALL_LENGTH),
    (("_n_per_m", "_lbf_per_ft", "_n", "_lbf"), _FORCE),
    (("_m", "_ft"), _LENGTH),
    (("_deg",), _ANGLE),
    (("share_of_limit",), "0.0%"),
    (("friction", "multiplier"), "0.000"),
)
"""What is shown of a number, by the ends of column names; the first that fits counts."""

_UNIT_FORMATS = {
    "N": _FORCE,
    "lbf": _FORCE,
    "N/m": "#,##0.000",  # of weights too
    "lbf/ft": "#,##0.000",
    "m": _SMALL_LENGTH,  # of diameters and clearances too
    "ft": _SMALL_LENGTH,
    "deg": _ANGLE,
    "percent": "0.0",
    "ratio": "0.000",
    "count": "0",
}
"""What is shown of a number whose unit stands beside it."""

_OTHER = "0.0000"
_TOLD = ("value", "limit")  # columns whose unit stands in the column `unit`
_KEYS = ("run", "leg", "direction", "fact", "code", "kind", "number", "name")
_MOST_FROZEN = 60  # characters that stay in view at most: the rest has to have room
_LEAST, _MOST = 8, 66  # characters; a sha256 of 64 is the longest word
_BUTTON = 3  # characters that a filter's button covers of a heading
_PAGE = 210  # characters across a page that leave type of 6.8 points and more
_PAPERS = {"us": 1, "metric": 9}  # letter and A4, ECMA-376 part 1, pageSetup


def workbook_bytes(values: dict[str, Any]) -> bytes:
    """Return an .xlsx workbook of the tables of an analysis, a page each, cautions first.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for name, (columns, rows) in shown_tables(values).items():
        sheet = book.create_sheet(name)
        sheet.append(columns)
        for row in rows:
            sheet.append([_plain(row.get(column)) for column in columns])
        widths = [
            _dress(sheet, place, column, rows) for place, column in enumerate(columns, start=1)
        ]
        if max(widths) > _MOST:
            _wrap(sheet, widths)
        _set_page(sheet, columns, [min(width, _MOST) for width in widths], values["job"]["units"])
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def _dress(sheet: Worksheet, place: int, column: str, rows: Sequence[dict[str, Any]]) -> int:
    """Format and size one column; return the characters it needs, which may be more than it has."""
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    sheet.cell(1, place).font = Font(bold=True)
    needed = len(column) + _BUTTON
    numbers, is_text = [], False
    for at, row in enumerate(rows, start=2):
        value = row.get(column)
        if isinstance(value, int | float) and not isinstance(value, bool):
            shown = _format(column, row, value)
            cell = sheet.cell(at, place)
            cell.number_format = shown
            numbers.append(cell)
            needed = max(needed, _shown_length(value, shown))
        elif value is not None:
            is_text = True
            needed = max(needed, len(str(value)))
    if is_text:  # among texts a number stands at the left as they do
        for cell in numbers:
            cell.alignment = Alignment(horizontal="left")
    needed = max(_LEAST, needed + 2)
    sheet.column_dimensions[get_column_letter(place)].width = min(needed, _MOST)
    return needed


def _wrap(sheet: Worksheet, widths: Sequence[int]) -> None:
    """Fold the texts that are longer than their column, all cells at the top of their row."""
    from openpyxl.styles import Alignment

    for cells in sheet.iter_rows(min_row=2):
        for cell, width in zip(cells, widths, strict=True):
            cell.alignment = Alignment(
                horizontal=cell.alignment.horizontal, vertical="top", wrap_text=width > _MOST
            )


def _format(column: str, row: dict[str, Any], value: float) -> str:
    stem = column.removesuffix("_us")
    if stem in _TOLD and "unit" in row:
        shown = _UNIT_FORMATS.get(row["unit" if stem == column else "unit_us"])
    else:
        shown = next((shown for ends, shown in _FORMATS if column.endswith(ends)), None)
    return shown or ("0" if isinstance(value, int) else _OTHER)


def _shown_length(value: float, shown: str) -> int:
    decimals = len(shown.removesuffix("%").partition(".")[2])
    percent = shown.endswith("%")
    return len(f"{value * 100.0 if percent else value:,.{decimals}f}") + percent


def _set_page(sheet: Worksheet, columns: list[str], widths: list[int], units: str) -> None:
    """Keep in view what rows are about, filter all rows, and print them large enough to read."""
    from openpyxl.utils import get_column_letter

    frozen = 0
    while columns[frozen : frozen + 1] and columns[frozen] in _KEYS:
        if sum(widths[: frozen + 1]) > _MOST_FROZEN:
            break
        frozen += 1
    sheet.freeze_panes = f"{get_column_letter(frozen + 1)}2"
    sheet.auto_filter.ref = sheet.dimensions
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = _PAPERS[units]
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToWidth = ceil(sum(widths) / _PAGE)
    sheet.page_setup.fitToHeight = 0  # as many pages as it takes
    sheet.print_title_rows = "1:1"
    if frozen:
        sheet.print_title_cols = f"A:{get_column_letter(frozen)}"
    sheet.page_margins.left = sheet.page_margins.right = 0.5
    sheet.oddFooter.center.text = "&A, page &P of &N"


def _plain(value: Any) -> Any:
    """Return a cell that a spreadsheet never takes for a formula and can always store."""
    if not isinstance(value, str):
        return value
    text = "".join(char for char in value if char >= " " or char in "\n\t")
    return f" {text}" if text.startswith(("=", "+", "-", "@")) else text
