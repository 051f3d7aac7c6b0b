"""Text files of points as rows of cells: encoding, delimiter, and where a cell stands.

Nothing here knows what a column means. What cannot be told for certain is an error, never a guess.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from analyzer.errors import RouteError
from analyzer.importers.points.spaced_rows import spaced_rows

__all__ = ["APOSTROPHES", "Cell", "Row", "Table", "read_cells"]

APOSTROPHES = "'’‘′"
"""Signs that people type for an apostrophe or a foot mark."""

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "pipe"}
_SAMPLE_ROWS = 200
_NUMBERLIKE = re.compile(r"[+\-−]?[\d.,'’′\"”″½¼¾⅛⅜⅝⅞ /\-+\u00a0\u202f]*\d[^;\t,|]*")


@dataclass(frozen=True, slots=True)
class Row:
    """One record of the file; `number` counts from 1 as a spreadsheet does, blank rows too."""

    number: int
    cells: tuple[str, ...]

    @property
    def is_blank(self) -> bool:
        """Whether no cell holds anything."""
        return not any(self.cells)

    @property
    def is_marked(self) -> bool:
        """Whether the row begins as comments do: with a number sign or two slashes."""
        return bool(self.cells) and self.cells[0].startswith(("#", "//"))


@dataclass(frozen=True, slots=True)
class Table:
    """All records of a file, cells stripped of outer spaces.

    Attributes
    ----------
    rows : tuple of Row
        Blank ones included.
    delimiter : str
        Comma, semicolon, tab or pipe; a space where runs of spaces divide.
    encoding : str
        ``utf-8``, or ``cp1252`` where the bytes are no UTF-8.
    has_apostrophes, has_comments : bool
        Whether apostrophes, or signs that begin comments, stand anywhere in the file.
    ends_in_line_end : bool
        Whether a line end stands behind the last row.
    """

    rows: tuple[Row, ...]
    delimiter: str
    encoding: str
    has_apostrophes: bool
    has_comments: bool
    ends_in_line_end: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell with its place: row number and column name, for messages."""

    text: str
    row: int
    column: str

    @property
    def place(self) -> str:
        """Row and column as a message names them."""
        return f"row {self.row}, column {self.column}"


def read_cells(data: bytes, file: str) -> Table:
    """Return the rows of a text file of points.

    Parameters
    ----------
    data : bytes
        The whole file.
    file : str
        Its name, for messages.

    Raises
    ------
    RouteError
        If it is empty, UTF-16 or UTF-32, holds NUL bytes or an open quotation mark.
    """
    text, encoding = _decode(data, file)
    delimiter = _find_delimiter(text)
    try:
        rows = tuple(
            Row(number, tuple(" ".join(cell.split()) for cell in cells))
            for number, cells in enumerate(_records(text, delimiter), start=1)
        )
    except csv.Error as error:
        raise RouteError(_quote_message(text, delimiter, file)) from error
    has_apostrophes = any(mark in text for mark in APOSTROPHES)
    has_comments = "#" in text or "//" in text
    is_ended = text.endswith(("\n", "\r"))
    return Table(rows, delimiter, encoding, has_apostrophes, has_comments, is_ended)


def _decode(data: bytes, file: str) -> tuple[str, str]:
    if not data.strip():
        raise RouteError(f"{file} is empty: it needs a header such as x_ft,y_ft,z_ft and points")
    save = "save it as CSV in UTF-8 and try again"
    if data.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        raise RouteError(f"{file} begins with the mark of UTF-32, which is not read: {save}")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise RouteError(f"{file} begins with the mark of UTF-16, which is not read: {save}")
    if b"\x00" in data:
        line = data.count(b"\n", 0, data.index(b"\x00")) + 1
        raise RouteError(f"{file} holds NUL bytes (line {line}), so it is no plain text: {save}")
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not text.strip():
            raise RouteError(f"{file} is empty: it holds a byte-order mark and no points")
        return text, encoding.removesuffix("-sig")
    raise RouteError(f"{file} is neither UTF-8 nor Western European text: {save}")


def _records(text: str, delimiter: str) -> Iterator[list[str]]:
    if delimiter == " ":
        return iter(spaced_rows(text))
    return csv.reader(
        io.StringIO(text, newline=""), delimiter=delimiter, strict=True, skipinitialspace=True
    )


def _quote_message(text: str, delimiter: str, file: str) -> str:
    number = 0
    try:
        for _ in _records(text, delimiter):
            number += 1
    except csv.Error:
        pass
    return (
        f"{file}, row {number + 1}: a quotation mark opens a cell and does not close it rightly. "
        "Inside a quoted cell an inch mark is written twice, or write inches as 'in'"
    )


def _find_delimiter(text: str) -> str:
    """Return the delimiter under which most rows hold three numbers in equal columns."""
    scores = {delimiter: _score(text, delimiter) for delimiter in DELIMITERS}
    best = max(DELIMITERS, key=lambda delimiter: scores[delimiter])
    return " " if scores[best][0] == 0.0 and spaced_rows(text) else best


def _score(text: str, delimiter: str) -> tuple[float, float, int]:
    rows = []
    try:
        for cells in _records(text, delimiter):
            if any(cell.strip() for cell in cells):
                rows.append(cells)
            if len(rows) >= _SAMPLE_ROWS:
                break
    except csv.Error:
        pass
    if not rows:
        return (0.0, 0.0, 0)
    columns, count = Counter(len(row) for row in rows).most_common(1)[0]
    if columns < 2:
        return (0.0, 0.0, 0)
    numeric = sum(sum(map(_is_numberlike, row)) >= 3 for row in rows)
    return (numeric / len(rows), count / len(rows), columns)


def _is_numberlike(text: str) -> bool:
    return _NUMBERLIKE.fullmatch(text.strip()) is not None
