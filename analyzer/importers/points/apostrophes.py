"""Apostrophes in the numbers of a file of points: feet, or a mark between thousands.

``5'000`` may be 5 ft 0 in or 5000. It is read as thousands only where the file shows it: by a
metric unit in the header of its column, or by a number that can be nothing else, such as
``2'600'000``, or ``5'250`` where nothing speaks of feet or inches. Whatever else holds an
apostrophe is feet and inches.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.errors import RouteError
from analyzer.findings import Finding
from analyzer.importers.points.axis_columns import Column
from analyzer.importers.points.headings import length_unit
from analyzer.importers.points.row_words import note
from analyzer.importers.points.tables import APOSTROPHES, Cell, Row
from analyzer.units import LengthUnit

__all__ = ["without_apostrophes"]

_APOSTROPHES = frozenset(APOSTROPHES)
_GROUPED = re.compile(
    r"(?P<number>[+\-−]?(?P<first>[1-9]\d{0,2})(?P<groups>(?:['’‘′]\d{3})+)(?:[.,]\d*)?)"
    r"\s*(?P<unit>[A-Za-z.\- ]*)"
)
_FEET_OR_INCHES = (LengthUnit.FOOT, LengthUnit.INCH, LengthUnit.US_SURVEY_FOOT)
_METRIC = (
    LengthUnit.MILLIMETER,
    LengthUnit.CENTIMETER,
    LengthUnit.DECIMETER,
    LengthUnit.METER,
    LengthUnit.KILOMETER,
)


@dataclass(frozen=True, slots=True)
class _Grouped:
    """A cell whose apostrophes may divide thousands; `plain` is its text without them."""

    cell: Cell
    plain: str
    is_sure: bool
    unit: LengthUnit | None


def without_apostrophes(
    rows: Sequence[Row], columns: Sequence[Column], asked: LengthUnit | None, file: str
) -> tuple[list[Row], list[Finding]]:
    """Return rows without apostrophes between thousands, and a note where there were any.

    Parameters
    ----------
    rows : sequence of Row
        One cell a column.
    columns : sequence of Column
        Those that hold lengths.
    asked : LengthUnit or None
        Unit of the job: where it is feet or inches, ``10'115`` may be a slip for them.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If an apostrophe before three digits may mean feet, or also does in another cell.
    """
    grouped: dict[tuple[int, int], _Grouped] = {}
    feet: Cell | None = None
    for place, row in enumerate(rows):
        for column in columns:
            text = row.cells[column.index]
            if _APOSTROPHES.isdisjoint(text):
                continue
            cell = Cell(text, row.number, column.title)
            found = _grouped(cell, column, asked)
            if found is not None:
                grouped[place, column.index] = found
            elif feet is None:
                feet = cell
    if not grouped:
        return list(rows), []
    sure = next((one for one in grouped.values() if one.is_sure), None)
    for one in grouped.values():
        _refuse_unsure(one, feet, sure, file)
    return _replaced(rows, grouped), [_told(next(iter(grouped.values())), sure, file)]


def _grouped(cell: Cell, column: Column, asked: LengthUnit | None) -> _Grouped | None:
    match = _GROUPED.fullmatch(cell.text)
    if match is None:
        return None
    unit = length_unit(match["unit"].strip())
    if unit is LengthUnit.INCH or (match["unit"].strip() and unit is None):
        return None
    groups = re.findall(r"\d{3}", match["groups"])
    no_inches = int(groups[0]) >= 12 and (column.unit or asked) not in _FEET_OR_INCHES
    is_sure = len(groups) > 1 or no_inches or unit is not None
    plain = re.sub(f"[{APOSTROPHES}]", "", match["number"]) + cell.text[match.end("number") :]
    return _Grouped(cell, plain, is_sure, column.unit)


def _refuse_unsure(one: _Grouped, feet: Cell | None, sure: _Grouped | None, file: str) -> None:
    """Stop at a number that may be feet and inches, or stands beside some."""
    if feet is None and (sure is not None or one.unit in _METRIC):
        return
    first, rest = re.split(f"[{APOSTROPHES}]", one.cell.text, maxsplit=1)
    rest = rest.replace(",", ".").lstrip("0").rstrip(".")
    rest = rest if rest[:1].isdigit() else f"0{rest}"
    other = "" if feet is None else f", as {feet.text!r} in {feet.place} is feet"
    raise RouteError(
        f"{file}, {one.cell.place}: {one.cell.text!r} may be {first} ft {rest} in"
        f"{other}, or the number {one.plain}: write feet and inches with an inch mark, as in "
        "5'-0\", and thousands without a mark, as in 5000"
    )


def _replaced(rows: Sequence[Row], grouped: dict[tuple[int, int], _Grouped]) -> list[Row]:
    plain = list(rows)
    for (place, index), one in grouped.items():
        cells = plain[place].cells
        plain[place] = Row(plain[place].number, (*cells[:index], one.plain, *cells[index + 1 :]))
    return plain


def _told(first: _Grouped, sure: _Grouped | None, file: str) -> Finding:
    if sure is not None:
        why = f"{sure.cell.text!r} in {sure.cell.place} can be nothing else"
    else:
        unit = first.unit or LengthUnit.METER
        why = f"the header names {unit.value}, and no cell has an inch mark"
    text = f"apostrophes divide thousands, {first.cell.text!r} is read as {first.plain}: {why}"
    return note("apostrophe-thousands", text, f"{file}, {first.cell.place}")
