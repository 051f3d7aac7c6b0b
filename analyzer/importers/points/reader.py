"""CSV of points: one row a point, read as the vertices of one or several runs.

Units, directions and decimal marks come from the file or the job, never from a guess. Faults name
row and column. Rows count from 1 as a spreadsheet counts them.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from analyzer.errors import InputError, JobError, RouteError
from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.drawn_file import FARTHEST_M, DrawnFile
from analyzer.importers.points.apostrophes import without_apostrophes
from analyzer.importers.points.axis_columns import Column
from analyzer.importers.points.cells import Length, read_cell
from analyzer.importers.points.columns import Layout, find_layout
from analyzer.importers.points.comment_rows import comments_left_out, without_comments
from analyzer.importers.points.file_end import file_end_findings
from analyzer.importers.points.file_points import negative_depths, points_of, unsure_kinds
from analyzer.importers.points.number_marks import find_decimal_mark, grouping_doubt
from analyzer.importers.points.row_units import find_row_units, row_unit_findings
from analyzer.importers.points.row_words import FAULTS_SHOWN, note
from analyzer.importers.points.rows import blank_rows, even_rows
from analyzer.importers.points.runs import drawn_runs
from analyzer.importers.points.short_rows import short_row_findings
from analyzer.importers.points.spaced_rows import PLAIN_NUMBER
from analyzer.importers.points.stray_rows import (
    refuse_header_again,
    refuse_remarks,
    without_empty_marks,
)
from analyzer.importers.points.tables import Cell, Row, Table, read_cells
from analyzer.importers.points.units import (
    mixed_units,
    no_unit_message,
    other_cell_units,
    unit_names,
    unit_note,
)
from analyzer.importers.points.unused_columns import block_cautions, order_cautions
from analyzer.job.settings import Job
from analyzer.units import LengthUnit

__all__ = ["read_points"]


def read_points(path: Path, job: Job) -> DrawnFile:
    """Return the runs of a CSV of points.

    Parameters
    ----------
    path : Path
        The file: comma, semicolon, tab, ``|`` or spaces between columns.
    job : Job
        `drawing.units` and `drawing.axes` hold where the file does not say.

    Returns
    -------
    DrawnFile
        One path a run, in the order of the rows; fittings stand on their vertices.

    Raises
    ------
    RouteError
        If the file cannot be read for certain; the message names row and column.
    JobError
        If `drawing.axes` contradicts the header.

    Notes
    -----
    The unit of a cell is the one written in it, else that of its column's header, else that of its
    row where a column names one, else the job's.
    """
    file = path.name
    table = read_cells(path.read_bytes(), file)
    try:
        layout = find_layout(table.rows, job.drawing.axes, file)
    except JobError as error:
        raise JobError(f"{job.at('drawing', 'axes')}{error}") from error
    below: Sequence[Row] = table.rows[layout.first_row :]
    comments: list[Row] = []
    if table.has_comments:
        below, comments = without_comments(below, layout, file)
    rows = [row for row in below if not row.is_blank]
    if not rows:
        raise RouteError(f"{file} holds a header and no points: add one row a point")
    findings = [*layout.findings, *_encoding_note(table, file)]
    columns = [axis.column for axis in layout.axes]
    if "radius" in layout.extra:
        columns.append(layout.extra["radius"])
    refuse_header_again(rows, file)
    refuse_remarks(rows, layout, file)
    findings += _file_end(table, rows, layout, file)
    ragged, lost = short_row_findings(rows, layout, file)
    rows, uneven = even_rows(rows, layout)
    uneven += lost
    if uneven:
        raise RouteError(f"{file}, {'; '.join([*uneven, *_bad_numbers(rows, columns, job, file)])}")
    rows, marks = without_empty_marks(rows, layout, file)
    findings += ragged + marks
    findings += order_cautions(rows, layout, file) + block_cautions(rows, layout, file)
    if table.delimiter == " ":
        findings.append(_spaces(rows, columns, file))
    if table.has_apostrophes:
        rows, thousands = without_apostrophes(rows, columns, job.drawing.units, file)
        findings += thousands
    findings += blank_rows(below, layout, file)
    cells = [_cell(row, column) for row in rows for column in columns]
    mark = find_decimal_mark(cells, file)
    if mark == ",":
        findings.append(note("decimal-comma", "numbers are read with a decimal comma", file))
    elif table.delimiter == ";":
        findings += _grouping(cells, file)
    by_row = find_row_units(rows, layout, file)
    lengths = _read_lengths(rows, columns, mark, job, by_row, file)
    findings += other_cell_units(lengths, rows, columns, by_row, job, file)
    if by_row:
        findings += row_unit_findings(rows, by_row, layout, job, file)
    else:
        findings += unit_note(columns, job, file) + mixed_units(columns[:3], job, file)
    values = [[None if one is None else one.value for one in read] for read in lengths]
    findings += negative_depths(values, layout, file)
    points = points_of(rows, values, layout, file)
    findings += unsure_kinds(rows, layout, file)
    findings += comments_left_out(comments, points, layout, file)
    return drawn_runs(points, layout, findings, unit_names(columns, job, by_row), file)


def _file_end(table: Table, rows: Sequence[Row], layout: Layout, file: str) -> list[Finding]:
    """Tell of a file that may have lost its end; a comment or a blank row there is its end."""
    if table.ends_in_line_end or table.rows[-1].number != rows[-1].number:
        return []
    return file_end_findings(rows, layout.width, file)


def _spaces(rows: Sequence[Row], columns: Sequence[Column], file: str) -> Finding:
    """Say that spaces divide the columns; stop at a length that is no plain number."""
    for row in rows:
        for column in columns:
            cell = _cell(row, column)
            if PLAIN_NUMBER.fullmatch(cell.text) is None:
                raise RouteError(
                    f"{file}, {cell.place}: {cell.text!r} is no plain number, and spaces divide "
                    "the columns: divide them by comma, semicolon, tab or |"
                )
    return note("spaces-divide", "spaces divide the columns", file)


def _grouping(cells: Sequence[Cell], file: str) -> list[Finding]:
    """Tell where columns divided by semicolons hold points that could group thousands."""
    doubt = grouping_doubt(cells)
    if doubt is None:
        return []
    message = (
        f"{doubt.text!r} is read with a decimal point, though semicolons divide the columns and "
        "every point of the file could group thousands: where it does, write the numbers without"
    )
    where = f"{file}, {doubt.place}"
    return [Finding("points-may-group", Severity.CAUTION, message, where, EVERY_RUN)]


def _encoding_note(table: Table, file: str) -> list[Finding]:
    if table.encoding == "utf-8":
        return []
    text = "the text is no UTF-8 and is read as Western European (cp1252): check the names"
    return [note("encoding", text, file)]


def _bad_numbers(rows: Sequence[Row], columns: Sequence[Column], job: Job, file: str) -> list[str]:
    """Return what is wrong with the numbers of rows, as far as their decimal mark is plain."""
    try:
        rows, _ = without_apostrophes(rows, columns, job.drawing.units, file)
        mark = find_decimal_mark([_cell(row, column) for row in rows for column in columns], file)
    except RouteError:
        return []
    return _shown(_lengths_of(rows, columns, mark, job)[1])


def _shown(faults: Sequence[str]) -> list[str]:
    """Return the first faults, and how many more there are."""
    left = len(faults) - FAULTS_SHOWN
    return [*faults[:FAULTS_SHOWN], *([f"and {left} more"] if left > 0 else [])]


def _cell(row: Row, column: Column) -> Cell:
    return Cell(row.cells[column.index], row.number, column.title)


def _read_lengths(
    rows: Sequence[Row],
    columns: Sequence[Column],
    mark: str,
    job: Job,
    by_row: Sequence[LengthUnit],
    file: str,
) -> list[list[Length | None]]:
    """Every coordinate and radius in meters, row by row; None for an empty radius."""
    table, faults = _lengths_of(rows, columns, mark, job, by_row)
    if faults:
        raise RouteError(f"{file}, {'; '.join(_shown(faults))}")
    bare = [
        place
        for place in range(len(columns))
        if any(read[place] is not None and read[place].is_bare for read in table)  # type: ignore[union-attr]
    ]
    if bare:
        raise RouteError(no_unit_message(table, columns, bare, file))
    _refuse_far(rows, columns, table, file)
    return table


def _lengths_of(
    rows: Sequence[Row],
    columns: Sequence[Column],
    mark: str,
    job: Job,
    by_row: Sequence[LengthUnit] = (),
) -> tuple[list[list[Length | None]], list[str]]:
    """Return the lengths that could be read, and what is wrong with all other cells."""
    units = [column.unit or job.drawing.units for column in columns]
    table: list[list[Length | None]] = []
    faults: list[str] = []
    for number, row in enumerate(rows):
        read: list[Length | None] = []
        if by_row:
            units = [column.unit or by_row[number] for column in columns]
        for place, (column, unit) in enumerate(zip(columns, units, strict=True)):
            cell = _cell(row, column)
            if place == 3 and not cell.text:
                read.append(None)
                continue
            try:
                length = read_cell(cell, mark, unit)
                if place == 3 and length.value <= 0.0:
                    raise InputError(
                        f"{cell.place}: {cell.text!r} is no radius of a bend: leave the cell empty "
                        "where none is stated"
                    )
                read.append(length)
            except InputError as error:
                faults.append(str(error))
        table.append(read)
    return table, faults


def _refuse_far(
    rows: Sequence[Row],
    columns: Sequence[Column],
    table: Sequence[Sequence[Length | None]],
    file: str,
) -> None:
    """Stop at a coordinate farther off than the earth is large: its unit cannot be right."""
    for row, read in zip(rows, table, strict=True):
        for column, length in zip(columns, read, strict=True):
            if length is not None and abs(length.value) > FARTHEST_M:
                cell = _cell(row, column)
                raise RouteError(
                    f"{file}, {cell.place}: {cell.text!r} is {length.value:.4g} m, no place for a "
                    "raceway: check the unit and the number"
                )
