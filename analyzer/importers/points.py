"""CSV of points: one row a point, read as the vertices of one or several runs.

Units, directions and decimal marks come from the file or the job, never from a guess. Faults name
row and column. Rows count from 1 as a spreadsheet counts them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from analyzer.errors import InputError, RouteError
from analyzer.findings import Finding, Severity
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.segments import Straight, Vector, norm
from analyzer.importers.cells import (
    Cell,
    Length,
    Row,
    Table,
    find_decimal_mark,
    grouping_doubt,
    read_cell,
    read_table,
)
from analyzer.importers.columns import Column, Layout, find_layout
from analyzer.importers.drawn_file import FARTHEST_M, DrawnFile, DrawnFitting
from analyzer.importers.places import FilePlaces, Mark, out_and_back
from analyzer.importers.point_units import mixed_units, no_unit_message, unit_names, unit_note
from analyzer.job.settings import FittingKind, Job

__all__ = ["SAME_POINT_M", "read_points"]

SAME_POINT_M = 1e-6
"""Neighboring points nearer than this are one point. [m]"""

_FAULTS_SHOWN = 5
_KIND_ALIASES = {
    "pb": FittingKind.PULL_BOX,
    "pull": FittingKind.PULL_BOX,
    "jb": FittingKind.JUNCTION_BOX,
    "junction": FittingKind.JUNCTION_BOX,
    "body": FittingKind.CONDUIT_BODY,
    "hh": FittingKind.HANDHOLE,
    "handholes": FittingKind.HANDHOLE,
    "mh": FittingKind.MANHOLE,
    "panelboard": FittingKind.PANEL,
    "equip": FittingKind.EQUIPMENT,
}


@dataclass(frozen=True, slots=True)
class _Point:
    """One row read: where it is, and what else the row says."""

    row: int
    run: str
    position_m: Vector
    radius_m: float | None
    kind: FittingKind | None
    label: str


def read_points(path: Path, job: Job) -> DrawnFile:
    """Return the runs of a CSV of points.

    Parameters
    ----------
    path : Path
        The file: comma, semicolon or tab between columns.
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
    The unit of a cell is the one written in it, else that of its column's header, else the job's.
    """
    file = path.name
    table = read_table(path.read_bytes(), file)
    layout = find_layout(table.rows, job.drawing.axes, file)
    rows = [row for row in table.rows[layout.first_row :] if not row.is_blank]
    if not rows:
        raise RouteError(f"{file} holds a header and no points: add one row a point")
    findings = [*layout.findings, *_encoding_note(table, file)]
    columns = [axis.column for axis in layout.axes]
    if "radius" in layout.extra:
        columns.append(layout.extra["radius"])
    rows, ragged, uneven = _even_rows(rows, layout, file)
    if uneven:
        raise RouteError(f"{file}, {'; '.join([*uneven, *_bad_numbers(rows, columns, job, file)])}")
    findings += ragged
    findings += _blank_rows(table.rows[layout.first_row :], layout, file)
    cells = [_cell(row, column) for row in rows for column in columns]
    mark = find_decimal_mark(cells, file)
    if mark == ",":
        findings.append(_note("decimal-comma", "numbers are read with a decimal comma", file))
    elif table.delimiter == ";":
        findings += _grouping(cells, file)
    lengths = _read_lengths(rows, columns, mark, job, file)
    findings += unit_note(columns, job, file) + mixed_units(columns[:3], job, file)
    points = _points(rows, lengths, layout, file)
    return _drawn_file(points, layout, findings, unit_names(columns, job), file)


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
    return [Finding("points-may-group", Severity.CAUTION, message, where)]


def _note(code: str, message: str, where: str) -> Finding:
    return Finding(code, Severity.NOTE, message, where)


def _encoding_note(table: Table, file: str) -> list[Finding]:
    if table.encoding == "utf-8":
        return []
    text = "the text is no UTF-8 and is read as Western European (cp1252): check the names"
    return [_note("encoding", text, file)]


def _even_rows(
    rows: Sequence[Row], layout: Layout, file: str
) -> tuple[list[Row], list[Finding], list[str]]:
    """Rows with one cell a column, short ones filled up; and what is wrong with all others."""
    count = layout.column_count
    needed = max(axis.column.index for axis in layout.axes) + 1
    even, long, short, filled = [], [], [], []
    for row in rows:
        cells = row.cells
        while len(cells) > count and not cells[-1]:
            cells = cells[:-1]
        if len(cells) > count:
            long.append(row.number)
            continue
        if len(cells) < needed:
            short.append(row.number)
            continue
        if len(cells) < count:
            filled.append(row.number)
        even.append(Row(row.number, cells + ("",) * (count - len(cells))))
    faults = []
    if long:
        faults.append(
            f"{_numbers(long)}: more cells than the {count} columns. Numbers with a "
            "decimal comma need quotes around them, or semicolons between columns"
        )
    if short:
        faults.append(
            f"{_numbers(short)}: fewer cells than the {count} columns, and a coordinate is "
            f"missing: complete the row{'s' if len(short) > 1 else ''}"
        )
    if not filled:
        return even, [], faults
    text = f"{_numbers(filled)}: the last cells are missing and count as empty"
    return even, [_note("rows-short", text, file)], faults


def _bad_numbers(rows: Sequence[Row], columns: Sequence[Column], job: Job, file: str) -> list[str]:
    """Return what is wrong with the numbers of rows, as far as their decimal mark is plain."""
    try:
        mark = find_decimal_mark([_cell(row, column) for row in rows for column in columns], file)
    except RouteError:
        return []
    return _shown(_lengths_of(rows, columns, mark, job)[1])


def _shown(faults: Sequence[str]) -> list[str]:
    """Return the first faults, and how many more there are."""
    left = len(faults) - _FAULTS_SHOWN
    return [*faults[:_FAULTS_SHOWN], *([f"and {left} more"] if left > 0 else [])]


def _blank_rows(rows: Sequence[Row], layout: Layout, file: str) -> list[Finding]:
    """Return a caution for blank rows between points where nothing else tells the runs apart."""
    last = max(i for i, row in enumerate(rows) if not row.is_blank)
    blank = [row.number for row in rows[:last] if row.is_blank]
    if not blank or "run" in layout.extra:
        return []
    text = (
        f"blank {_numbers(blank)}: the points above and below are read as one run. If they are "
        "two, add a column called run"
    )
    return [Finding("rows-blank", Severity.CAUTION, text, file)]


def _numbers(rows: Sequence[int]) -> str:
    shown = ", ".join(map(str, rows[:_FAULTS_SHOWN]))
    more = f" and {len(rows) - _FAULTS_SHOWN} more" if len(rows) > _FAULTS_SHOWN else ""
    return f"row {shown}" if len(rows) == 1 else f"rows {shown}{more}"


def _cell(row: Row, column: Column) -> Cell:
    return Cell(row.cells[column.index], row.number, column.title)


def _read_lengths(
    rows: Sequence[Row], columns: Sequence[Column], mark: str, job: Job, file: str
) -> list[list[float | None]]:
    """Every coordinate and radius in meters, row by row; None for an empty radius."""
    table, faults = _lengths_of(rows, columns, mark, job)
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
    return [[None if length is None else length.value for length in read] for read in table]


def _lengths_of(
    rows: Sequence[Row], columns: Sequence[Column], mark: str, job: Job
) -> tuple[list[list[Length | None]], list[str]]:
    """Return the lengths that could be read, and what is wrong with all other cells."""
    units = [column.unit or job.drawing.units for column in columns]
    table: list[list[Length | None]] = []
    faults: list[str] = []
    for row in rows:
        read: list[Length | None] = []
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


def _points(
    rows: Sequence[Row],
    lengths: Sequence[Sequence[float | None]],
    layout: Layout,
    file: str,
) -> list[_Point]:
    points = []
    for row, values in zip(rows, lengths, strict=True):
        position = [0.0, 0.0, 0.0]
        for axis, value in zip(layout.axes, values, strict=False):
            # plus zero: a depth of 0 is an elevation of 0, not of -0
            position[axis.coordinate] = axis.sign * (value or 0.0) + 0.0
        points.append(
            _Point(
                row=row.number,
                run=_text(row, layout, "run"),
                position_m=(position[0], position[1], position[2]),
                radius_m=values[3] if len(values) > 3 else None,
                kind=_kind(row, layout, file),
                label=_text(row, layout, "label"),
            )
        )
    return points


def _text(row: Row, layout: Layout, role: str) -> str:
    column = layout.extra.get(role)
    return "" if column is None else row.cells[column.index]


def _kind(row: Row, layout: Layout, file: str) -> FittingKind | None:
    text = _text(row, layout, "fitting")
    if not text:
        return None
    folded = "".join(letter for letter in text.casefold() if letter.isalnum())
    for kind in FittingKind:
        if folded == kind.value.replace(" ", ""):
            return kind
    if folded in _KIND_ALIASES:
        return _KIND_ALIASES[folded]
    known = ", ".join(kind.value for kind in FittingKind)
    column = layout.extra["fitting"]
    raise RouteError(
        f"{file}, row {row.number}, column {column.title}: {text!r} is no kind of fitting: write "
        f"one of {known}"
    )


def _drawn_file(
    points: Sequence[_Point],
    layout: Layout,
    findings: Sequence[Finding],
    unit_names: tuple[str, str],
    file: str,
) -> DrawnFile:
    paths: list[DrawnPath] = []
    marks: list[tuple[Mark, ...]] = []
    fittings: list[DrawnFitting] = []
    found = list(findings)
    runs = _split_runs(points, layout, found, file)
    labels = {point.label for point in points if point.label}
    counts: dict[FittingKind, int] = {}
    for index, (name, members) in enumerate(runs):
        kept, repeated = _without_repeats(members)
        _check_run(name, kept, members, FilePlaces(file, unit_names[0], _marks(kept)))
        if repeated:
            text = f"{_numbers(repeated)}: the same point as in the row before, left out"
            found.append(_note("repeated-point", text, f"{file}, {_span(members)}"))
        paths.append(_path(name, kept, members))
        marks.append(_marks(kept))
        fittings += _fittings(index, kept, labels, counts)
        unused = [p.label for p in kept[1:-1] if p.label and p.kind is None]
        if unused and "fitting" in layout.extra:
            shown = ", ".join(unused[:_FAULTS_SHOWN]) + (
                ", ..." if len(unused) > _FAULTS_SHOWN else ""
            )
            text = f"labels without a kind of fitting are no fittings: {shown}"
            found.append(_note("label-without-fitting", text, f"{file}, {_span(members)}"))
    corners = [path.vertices_m for path in paths]
    low = tuple(float(min(v[:, k].min() for v in corners)) for k in range(3))
    high = tuple(float(max(v[:, k].max() for v in corners)) for k in range(3))
    return DrawnFile(
        reader="csv",
        length_unit=unit_names[0],
        length_unit_from=unit_names[1],
        extents_m=((low[0], low[1], low[2]), (high[0], high[1], high[2])),
        paths=tuple(paths),
        fittings=tuple(fittings),
        findings=tuple(found),
        ordered=(True,) * len(paths),
        marks=tuple(marks),
    )


def _split_runs(
    points: Sequence[_Point], layout: Layout, findings: list[Finding], file: str
) -> list[tuple[str, list[_Point]]]:
    """Points by run, in the order in which the runs first appear."""
    runs: dict[str, list[_Point]] = {}
    apart: dict[str, int] = {}
    before = None
    for point in points:
        if point.run in runs and point.run != before:
            apart.setdefault(point.run, point.row)
        runs.setdefault(point.run, []).append(point)
        before = point.run
    if "" in runs and len(runs) > 1:
        rows = [point.row for point in runs[""]]
        raise RouteError(
            f"{file}, {_numbers(rows)}: no name in the column {layout.extra['run'].title}, while "
            "other rows have one: fill it in for every row"
        )
    for name, row in apart.items():
        text = f"run {name!r} goes on at row {row} after rows of another run: check the order"
        findings.append(Finding("run-interleaved", Severity.CAUTION, text, f"{file}, row {row}"))
    return list(runs.items())


def _without_repeats(points: Sequence[_Point]) -> tuple[list[_Point], list[int]]:
    """Points without those that repeat the one before; what a repeated row says is kept."""
    kept = [points[0]]
    repeated = []
    for point in points[1:]:
        last = kept[-1]
        a, b = point.position_m, last.position_m
        if norm((a[0] - b[0], a[1] - b[1], a[2] - b[2])) > SAME_POINT_M:
            kept.append(point)
            continue
        repeated.append(point.row)
        kept[-1] = replace(
            last,
            radius_m=point.radius_m if last.radius_m is None else last.radius_m,
            kind=last.kind or point.kind,
            label=last.label or point.label,
        )
    return kept, repeated


def _marks(points: Sequence[_Point]) -> tuple[Mark, ...]:
    return tuple((point.position_m, f"row {point.row}") for point in points)


def _check_run(
    name: str, kept: Sequence[_Point], rows: Sequence[_Point], places: FilePlaces
) -> None:
    file = places.file
    what = f"run {name!r}" if name else "the file"
    if len(rows) == 1:
        raise RouteError(
            f"{file}, row {rows[0].row}: {what} holds one point only; a run needs two or more"
        )
    if len(kept) == 1:
        raise RouteError(
            f"{file}, {_span(rows)}: all {len(rows)} points of {what} are equal: it has no length"
        )
    first, last = kept[0].position_m, kept[-1].position_m
    if norm((last[0] - first[0], last[1] - first[1], last[2] - first[2])) <= SAME_POINT_M:
        folded = out_and_back(_path(name, kept, rows).edges)
        if folded is not None and folded.place_m is not None:
            route = what if name else "the route"
            raise RouteError(f"{file}: {route} {folded.said_at(places.place(folded.place_m))}")
        raise RouteError(
            f"{file}, {_span(rows)}: {what} ends where it starts. A closed loop has no ends to "
            "feed and pull at: leave out the last point or split the run"
        )


def _span(points: Sequence[_Point]) -> str:
    return f"rows {points[0].row} to {points[-1].row}"


def _path(name: str, kept: Sequence[_Point], rows: Sequence[_Point]) -> DrawnPath:
    edges = tuple(DrawnEdge(Straight(a.position_m, b.position_m)) for a, b in pairwise(kept))
    radii = tuple(point.radius_m for point in kept)
    stated = radii if any(radius is not None for radius in radii) else ()
    return DrawnPath(edges, stated, name, _span(rows))


def _fittings(
    path: int, kept: Sequence[_Point], labels: set[str], counts: dict[FittingKind, int]
) -> list[DrawnFitting]:
    """Fittings of a run: rows with a kind, and labeled ends."""
    found = []
    for vertex, point in enumerate(kept):
        kind = point.kind
        is_end = vertex in (0, len(kept) - 1)
        if kind is None and point.label and is_end:
            kind = FittingKind.END
        if kind is None:
            continue
        if kind is FittingKind.END and not is_end:
            raise RouteError(
                f"row {point.row}: the fitting is called an end but stands inside its run"
            )
        if kind is FittingKind.END and not point.label:
            continue
        name = point.label or _numbered(kind, labels, counts)
        found.append(DrawnFitting(name, kind, point.position_m, f"row {point.row}", path, vertex))
    return found


def _numbered(kind: FittingKind, labels: set[str], counts: dict[FittingKind, int]) -> str:
    while True:
        counts[kind] = counts.get(kind, 0) + 1
        name = f"{kind.value.capitalize()} {counts[kind]}"
        if name not in labels:
            return name
