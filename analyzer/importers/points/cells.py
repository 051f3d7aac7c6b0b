"""One length a cell of a file of points: plain numbers quickly, all other spellings exactly."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import isfinite

from analyzer.errors import InputError
from analyzer.importers.points.number_marks import with_decimal_point
from analyzer.importers.points.spaced_rows import PLAIN_NUMBER
from analyzer.importers.points.tables import Cell
from analyzer.units import LengthUnit, parse_length, written_unit

__all__ = ["EMPTY_MARKS", "Length", "read_cell"]

EMPTY_MARKS = frozenset(("-", "--", "---", "\u2013", "\u2014", "n/a", "n.a.", "na", "none", "nil"))
"""What people write in a cell that holds nothing, in small letters."""

_NO_NUMBER = re.compile(r"[+-]?(?:nan|inf|infinity)|#.*|[+-]?∞", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Length:
    """A length read from a cell: meters where it names its unit, else a bare number.

    Attributes
    ----------
    value : float
        Its size. [m, or the number as written]
    is_bare : bool
        Whether neither the cell nor anything else names a unit.
    written_in : str
        Unit written in the cell itself; empty for a number.
    """

    value: float
    is_bare: bool
    written_in: str = ""


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
    if mark == "," or PLAIN_NUMBER.fullmatch(text) is None:
        if _NO_NUMBER.fullmatch(text):
            raise InputError(f"{cell.place}: {text!r} is no finite number")
        text = with_decimal_point(cell, mark)
    if PLAIN_NUMBER.fullmatch(text):
        number = Decimal(text)
        value = float(number * _factor(unit))
        if value == 0.0 and number != 0:
            raise InputError(f"{cell.place}: {cell.text!r} is too small for a length")
        if not isfinite(value):
            raise InputError(f"{cell.place}: {cell.text!r} is no finite number")
        return Length(value, is_bare=unit is None and value != 0.0)
    try:
        return Length(parse_length(text), False, written_unit(text))
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
