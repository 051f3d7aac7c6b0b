"""The column that names a unit row by row: every bare number of a row is in it."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import RouteError
from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.points.axis_columns import Column
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.headings import length_unit
from analyzer.importers.points.row_words import row_numbers
from analyzer.importers.points.tables import Row
from analyzer.job.settings import Job
from analyzer.units import LengthUnit

__all__ = ["find_row_units", "row_unit_findings"]


def find_row_units(rows: Sequence[Row], layout: Layout, file: str) -> tuple[LengthUnit, ...]:
    """Return the unit that each row names; nothing where no row does.

    Parameters
    ----------
    rows : sequence of Row
        One cell a column.
    layout : Layout
        What the columns mean; ``unit`` among its `extra` is the column looked at.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If a unit is not known, stands on some rows only, or contradicts the header of an axis.
    """
    column = layout.extra.get("unit")
    if column is None or not any(row.cells[column.index] for row in rows):
        return ()
    texts = {row.cells[column.index] for row in rows}
    known = {text: length_unit(text.strip("[]()")) for text in texts}
    units = []
    empty = [row.number for row in rows if not row.cells[column.index]]
    if empty:
        raise RouteError(
            f"{file}, {row_numbers(empty)}: no unit in the column {column.title}, while other rows "
            "have one: fill it in for every row"
        )
    for row in rows:
        text = row.cells[column.index]
        unit = known[text]
        if unit is None:
            names = ", ".join(one.value for one in LengthUnit)
            raise RouteError(
                f"{file}, row {row.number}, column {column.title}: {text!r} is no unit of length "
                f"known here. Known are {names}: correct it, or call the column otherwise if it "
                "means something else"
            )
        units.append(unit)
    _refuse_other_header(rows, units, column, layout, file)
    return tuple(units)


def _refuse_other_header(
    rows: Sequence[Row], units: Sequence[LengthUnit], column: Column, layout: Layout, file: str
) -> None:
    for axis in layout.axes:
        named = axis.column.unit
        if named is None:
            continue
        other = next((i for i, unit in enumerate(units) if unit is not named), None)
        if other is not None:
            raise RouteError(
                f"{file}, row {rows[other].number}: the column {column.title} says "
                f"{units[other].value}, the header {axis.column.title} says {named.value}: correct "
                "one of the two"
            )


def row_unit_findings(
    rows: Sequence[Row], units: Sequence[LengthUnit], layout: Layout, job: Job, file: str
) -> list[Finding]:
    """Return cautions where rows name several units, or another than the job.

    Parameters
    ----------
    rows : sequence of Row
        One cell a column.
    units : sequence of LengthUnit
        What `find_row_units` returned for them.
    layout : Layout
        What the columns mean.
    job : Job
        Its unit speaks only where the file does not.
    file : str
        Name of the file.
    """
    title = layout.extra["unit"].title if units else ""
    found = []
    several = list(dict.fromkeys(units))
    if len(several) > 1:
        own = {
            unit: [row.number for row, other in zip(rows, units, strict=True) if other is unit]
            for unit in several
        }
        texts = [f"{unit.value} in {row_numbers(numbers)}" for unit, numbers in own.items()]
        text = (
            f"the column {title} names several units: {'; '.join(texts)}. Each row is read in its "
            "own; check that the column is right"
        )
        found.append(Finding("units-mixed", Severity.CAUTION, text, file, EVERY_RUN))
    asked = job.drawing.units
    if several and asked is not None and several != [asked]:
        by = job.drawing_units_from
        text = (
            f"the column {title} names {', '.join(unit.value for unit in several)}, the {by} says "
            f"{asked.value}: the column is followed, because the {by} speaks only where the file "
            "does not"
        )
        found.append(Finding("unit-differs", Severity.CAUTION, text, file, EVERY_RUN))
    return found
