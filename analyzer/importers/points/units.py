"""Units of a file of points: who names them, and what is said where none does or several do.

Never guessed: the header of a column holds, then the job; cells may name their own.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from analyzer.findings import EVERY_RUN, Concern, Finding, Severity
from analyzer.importers.extents import CANDIDATE_UNITS, drawn_size, extents_text
from analyzer.importers.points.axis_columns import Column
from analyzer.importers.points.cells import Length
from analyzer.importers.points.row_words import FAULTS_SHOWN
from analyzer.importers.points.tables import APOSTROPHES, Row
from analyzer.job.settings import Job
from analyzer.units import LengthUnit

__all__ = ["mixed_units", "no_unit_message", "other_cell_units", "unit_names", "unit_note"]

_FEET_OR_INCHES = (LengthUnit.FOOT, LengthUnit.INCH)
_LONE_MARK = re.compile(rf"""[^{APOSTROPHES}"”″]*(?:(?P<ft>[{APOSTROPHES}])|["”″])\s*""")
"""Text of a length with one mark at its end: feet alone, or inches alone."""


def no_unit_message(
    table: Sequence[Sequence[Length | None]],
    columns: Sequence[Column],
    bare: Sequence[int],
    file: str,
) -> str:
    """Return what to say where columns name no unit: the extents in each, and what to add.

    Parameters
    ----------
    table : sequence of rows of Length or None
        What was read, column by column.
    columns : sequence of Column
        Coordinates first, then the radius where there is one.
    bare : sequence of int
        Places of the columns without a unit.
    file : str
        Name of the file.
    """
    titles = ", ".join(columns[place].title for place in bare)
    if not all(place in bare or _is_unitless_zero(table, columns, place) for place in range(3)):
        plural = "s have" if len(bare) > 1 else " has"
        return (
            f"{file}: the column{plural} no unit of length: {titles}. Write it in the header, such "
            'as x_ft or "x [mm]", or add units = "ft" under [drawing] in the job, or --units ft'
        )
    lows, highs = [], []
    for place in range(3):
        values = [read[place].value for read in table if read[place] is not None]  # type: ignore[union-attr]
        lows.append(min(values))
        highs.append(max(values))
    size = drawn_size((lows[0], lows[1], lows[2]), (highs[0], highs[1], highs[2]))
    lines = [
        f"{file}: the points name no length unit, and none is guessed. Write it in the header, "
        "such as x_ft, or say which it is:"
    ]
    lines += [
        f'  units = "{unit.value}" under [drawing] in the job, or --units {unit.value}: '
        f"{extents_text(size, unit)}"
        for unit in CANDIDATE_UNITS
    ]
    return "\n".join(lines)


def _is_unitless_zero(
    table: Sequence[Sequence[Length | None]], columns: Sequence[Column], place: int
) -> bool:
    """Whether a column names no unit and needs none so far: all of it is zero."""
    cells = (read[place] for read in table)
    return columns[place].unit is None and all(c is None or c.value == 0.0 for c in cells)


def unit_note(columns: Sequence[Column], job: Job, file: str) -> list[Finding]:
    """Return a caution where the header names another unit than the job: the header holds."""
    asked = job.drawing.units
    other = [c for c in columns if c.unit is not None and asked is not None and c.unit is not asked]
    if not other or asked is None:
        return []
    titles = ", ".join(column.title for column in other)
    by = job.drawing_units_from
    text = (
        f"the header names its own unit ({titles}), the {by} says {asked.value}: the header is "
        f"followed, because the {by} speaks only where the file does not"
    )
    return [Finding("unit-differs", Severity.CAUTION, text, file, EVERY_RUN)]


def mixed_units(axes: Sequence[Column], job: Job, file: str) -> list[Finding]:
    """Return a caution where the coordinate columns have different units: more likely a slip."""
    units = [column.unit or job.drawing.units for column in axes]
    if None in units or len(set(units)) == 1:
        return []
    pairs = zip(axes, units, strict=True)
    texts = [f"{column.title} in {unit.value}" for column, unit in pairs if unit is not None]
    text = (
        f"the coordinates have different units: {', '.join(texts)}. Each column is read in its "
        "own; check that the header is right"
    )
    return [Finding("units-mixed", Severity.CAUTION, text, file, EVERY_RUN)]


def other_cell_units(
    table: Sequence[Sequence[Length | None]],
    rows: Sequence[Row],
    columns: Sequence[Column],
    by_row: Sequence[LengthUnit],
    job: Job,
    file: str,
) -> list[Finding]:
    """Return a caution where cells are written in another unit than is named for them.

    The job names the unit of bare numbers, so of a column that holds some. Feet and inches do not
    contradict a column of feet or of inches; feet alone, or inches alone, among bare numbers do.

    Parameters
    ----------
    table : sequence of rows of Length or None
        What was read, column by column.
    rows : sequence of Row
        The rows it was read from.
    columns : sequence of Column
        Coordinates first, then the radius where there is one.
    by_row : sequence of LengthUnit
        Units that rows name, if any do.
    job : Job
        Its unit holds where nothing else does.
    file : str
        Name of the file.
    """
    asked = job.drawing.units
    told: list[tuple[int, str]] = []
    for place, column in enumerate(columns):
        has_bare = any(_is_number(read[place]) for read in table)
        by = "column" if column.unit else "row" if by_row else job.drawing_units_from
        says = "says" if by in ("job", "option") else "in"
        for number, read in enumerate(table):
            length = read[place]
            if length is None or not length.written_in:
                continue
            unit = column.unit or (by_row[number] if by_row else asked if has_bare else None)
            cell = rows[number].cells[column.index]
            written = _written_in(cell, length, unit, has_bare=has_bare)
            if unit is None or written == unit.value:
                continue
            named = written if " " in written else f'"{written}"'
            told.append(
                (
                    number,
                    f"row {rows[number].number}, column {column.title}: {cell!r} is in {named}, "
                    f'the {by} {says} "{unit.value}"',
                )
            )
    if not told:
        return []
    told.sort(key=lambda one: one[0])
    left = len(told) - FAULTS_SHOWN
    more = f"; and {left} more" if left > 0 else ""
    shown = [text for _, text in told[:FAULTS_SHOWN]]
    text = (
        f"cells are written in another unit than is named for them, and read as written: "
        f"{'; '.join(shown)}{more}. Correct the cell, or what names the other unit, where one is "
        "wrong"
    )
    concern = Concern(entities=tuple(dict.fromkeys(f"row {rows[at].number}" for at, _ in told)))
    return [Finding("cell-unit-differs", Severity.CAUTION, text, file, concern)]


def _is_number(length: Length | None) -> bool:
    """Whether a cell is a number whose unit matters and does not stand in it."""
    return length is not None and not length.written_in and length.value != 0.0


def _written_in(cell: str, length: Length, unit: LengthUnit | None, *, has_bare: bool) -> str:
    """Return the unit that a cell is written in; that named for it where the two do not differ."""
    if length.written_in != "feet and inches" or unit not in _FEET_OR_INCHES:
        return length.written_in
    lone = _LONE_MARK.fullmatch(cell) if has_bare else None
    if lone is None:
        return unit.value
    return "ft" if lone["ft"] else "in"


def unit_names(
    columns: Sequence[Column], job: Job, by_row: Sequence[LengthUnit]
) -> tuple[str, str]:
    """Return the unit of the coordinates as the analysis names it, and who named it.

    Parameters
    ----------
    columns : sequence of Column
        Coordinates first.
    job : Job
        Its unit holds where nothing else does.
    by_row : sequence of LengthUnit
        Units that rows name.
    """
    units = [column.unit for column in columns[:3]]
    named_by_job = job.drawing_units_from
    if by_row and None in units:
        named = [unit for unit in units if unit is not None]
        return ", ".join(dict.fromkeys(unit.value for unit in (*by_row, *named))), "file"
    if all(unit is None for unit in units):
        if job.drawing.units is None:
            return "as written in each cell", "file"
        return job.drawing.units.value, named_by_job
    names = [(unit or job.drawing.units) for unit in units]
    texts = ["as written in each cell" if name is None else name.value for name in names]
    return ", ".join(dict.fromkeys(texts)), "header"
