"""Text files of points as rows of cells: encoding, delimiter, decimal mark, one length a cell.

Nothing here knows what a column means. What cannot be told for certain is an error, never a guess.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import isfinite

from analyzer.errors import InputError, RouteError
from analyzer.units import LengthUnit, parse_length

__all__ = [
    "Cell",
    "Length",
    "Row",
    "Table",
    "find_decimal_mark",
    "grouping_doubt",
    "read_cell",
    "read_table",
]

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
_SAMPLE_ROWS = 200
_NUMBERLIKE = re.compile(r"[+\-−]?[\d.,'’′\"”″½¼¾⅛⅜⅝⅞ /\-+\u00a0\u202f]*\d[^;\t,]*")
_TOKEN = re.compile(r"\d[\d.,]*|[.,]\d+")
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")
_SPACED = re.compile(r"[+\-−]?\d{1,3}(?:[ \u00a0\u202f\u2009]\d{3})+(?:[.,]\d+)?")
_NO_NUMBER = re.compile(r"[+-]?(?:nan|inf|infinity)|#.*|[+-]?∞", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Row:
    """One record of the file; `number` counts from 1 as a spreadsheet does, blank rows too."""

    number: int
    cells: tuple[str, ...]

    @property
    def is_blank(self) -> bool:
        """Whether no cell holds anything."""
        return not any(self.cells)


@dataclass(frozen=True, slots=True)
class Table:
    """All records of a file, cells stripped of outer spaces.

    Attributes
    ----------
    rows : tuple of Row
        Blank ones included.
    delimiter : str
        Comma, semicolon or tab.
    encoding : str
        ``utf-8``, or ``cp1252`` where the bytes are no UTF-8.
    """

    rows: tuple[Row, ...]
    delimiter: str
    encoding: str


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


@dataclass(frozen=True, slots=True)
class Length:
    """A length read from a cell: meters where it names its unit, else a bare number."""

    value: float
    is_bare: bool


def read_table(data: bytes, file: str) -> Table:
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
    return Table(rows, delimiter, encoding)


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
    return max(DELIMITERS, key=lambda delimiter: scores[delimiter])


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


def find_decimal_mark(cells: Iterable[Cell], file: str) -> str:
    """Return the decimal mark of a file, ``.`` or ``,``.

    A comma or point is thousands where groups of three follow it and something else in the file
    shows which is which.

    Raises
    ------
    RouteError
        If both marks are used, or 1,234 may be read both ways and nothing tells.
    """
    sure: dict[str, Cell] = {}
    unsure: Cell | None = None
    for cell in cells:
        if "," not in cell.text and "." not in cell.text:
            continue
        for token in _TOKEN.findall(cell.text):
            mark, certain = _mark_of(token)
            if mark and certain:
                sure.setdefault(mark, cell)
            elif mark == "," and unsure is None:
                unsure = cell
    if len(sure) == 2:
        raise RouteError(
            f"{file} uses both decimal points ({sure['.'].place}: {sure['.'].text}) and decimal "
            f"commas ({sure[','].place}: {sure[','].text}): use one of them"
        )
    if sure:
        return next(iter(sure))
    if unsure is not None:
        raise RouteError(
            f"{file}, {unsure.place}: {unsure.text!r} may be read with a decimal comma or as "
            "thousands, and no other number tells which: write the numbers with a decimal point "
            "and without thousands separators"
        )
    return "."


def grouping_doubt(cells: Iterable[Cell]) -> Cell | None:
    """Return a cell whose point could group thousands, where no other number rules that out.

    Parameters
    ----------
    cells : iterable of Cell
        Cells read with a decimal point.
    """
    first: Cell | None = None
    for cell in cells:
        for token in _TOKEN.findall(cell.text) if "." in cell.text else ():
            mark, certain = _mark_of(token)
            if mark and certain:
                return None
            if mark and first is None:
                first = cell
    return first


def _mark_of(token: str) -> tuple[str, bool]:
    """Return the decimal mark a number shows, empty for none, and whether that is certain."""
    points, commas = token.count("."), token.count(",")
    if points and commas:
        return ("." if token.rfind(".") > token.rfind(",") else ",", True)
    mark = "." if points else ","
    if points + commas == 0 or token.endswith(mark):
        return ("", False)
    if points + commas > 1:
        return (",", True) if mark == "." else (".", True)
    head, tail = token.split(mark)
    grouped = len(tail) == 3 and 1 <= len(head) <= 3 and not head.startswith("0")
    return (mark, not grouped)


def read_cell(cell: Cell, mark: str, unit: LengthUnit | None) -> Length:
    """Return the length in a cell.

    Parameters
    ----------
    cell : Cell
        Text such as ``12.5``, ``12'-6 1/2"`` or ``1.234,5 mm``.
    mark : str
        Decimal mark of the file.
    unit : LengthUnit or None
        Unit of a bare number; None leaves it bare.

    Raises
    ------
    InputError
        If the cell is empty, no length, or not finite; the message names row and column.
    """
    text = cell.text
    if not text:
        raise InputError(f"{cell.place} is empty: it needs a length")
    if mark == "," or _PLAIN.fullmatch(text) is None:
        if _NO_NUMBER.fullmatch(text):
            raise InputError(f"{cell.place}: {text!r} is no finite number")
        text = _with_decimal_point(cell, mark)
    if _PLAIN.fullmatch(text):
        value = float(Decimal(text) * _factor(unit))
        if not isfinite(value):
            raise InputError(f"{cell.place}: {cell.text!r} is no finite number")
        return Length(value, is_bare=unit is None and value != 0.0)
    try:
        return Length(parse_length(text), is_bare=False)
    except InputError as error:
        if unit is None and _is_fraction(text):
            return Length(parse_length(text, LengthUnit.METER), is_bare=True)
        if unit is not None and _is_fraction(text):
            return Length(parse_length(text, unit), is_bare=False)
        raise InputError(f"{cell.place}: {error}") from error


def _is_fraction(text: str) -> bool:
    """Whether the text is a bare number with a fraction such as ``6 1/2``."""
    try:
        parse_length(text, LengthUnit.METER)
    except InputError:
        return False
    return True


@cache
def _factor(unit: LengthUnit | None) -> Decimal:
    if unit is None:
        return Decimal(1)
    return Decimal(unit.factor.numerator) / Decimal(unit.factor.denominator)


def _with_decimal_point(cell: Cell, mark: str) -> str:
    """Return the text with thousands separators taken out and a decimal point."""
    text = cell.text
    if _SPACED.fullmatch(text):
        text = re.sub(r"[ \u00a0\u202f\u2009]", "", text)
    if mark == "." and "," not in text:
        return text

    def plain(match: re.Match[str]) -> str:
        token = match[0].rstrip(",.") if match[0][-1] in ",." else match[0]
        thousands = "." if mark == "," else ","
        whole, _, decimals = token.partition(mark)
        groups = whole.split(thousands)
        right = all(len(group) == 3 for group in groups[1:]) and 1 <= len(groups[0]) <= 3
        if thousands in decimals or mark in decimals or (len(groups) > 1 and not right):
            raise InputError(f"{cell.place}: {cell.text!r} is no number with a decimal {mark!r}")
        return "".join(groups) + ("." + decimals if decimals else "")

    return _TOKEN.sub(plain, text)
