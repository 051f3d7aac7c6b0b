"""Marks within the numbers of a file of points: decimal points and commas, and thousands.

What cannot be told for certain is an error, never a guess.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from analyzer.errors import InputError, RouteError
from analyzer.importers.points.tables import Cell

__all__ = ["find_decimal_mark", "grouping_doubt", "with_decimal_point"]

_TOKEN = re.compile(r"\d[\d.,]*|[.,]\d+")
_SPACED = re.compile(r"[+\-−]?\d{1,3}(?:[ \u00a0\u202f\u2009]\d{3})+(?:[.,]\d+)?")


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
        points = cell.text.count(".")
        if "," not in cell.text and (points == 0 or (points == 1 and "." in sure)):
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


def with_decimal_point(cell: Cell, mark: str) -> str:
    """Return the text of a cell, thousands separators taken out, with a decimal point.

    Parameters
    ----------
    cell : Cell
        A number, perhaps with its unit.
    mark : str
        Decimal mark of the file.

    Raises
    ------
    InputError
        If separators stand where no thousands are; the message names row and column.
    """
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
