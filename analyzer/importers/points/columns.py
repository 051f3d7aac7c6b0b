"""What the columns of a point file mean: axes, units, run, unit, radius, fitting, label.

A column that nobody can name for certain is left out and told; one that could be two things,
a depth or a missing elevation stop the reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.errors import RouteError
from analyzer.findings import Finding
from analyzer.importers.points.axis_columns import Axis, Column, axes_of, axis_of, check_axes
from analyzer.importers.points.headings import (
    AXIS_SLOT,
    Heading,
    headings_of,
    length_unit,
    refuse_glued_row,
    refuse_unknown_suffix,
    unknown_unit,
    without_other_fittings,
)
from analyzer.importers.points.like_columns import unused_findings
from analyzer.importers.points.radius_columns import find_radius_column
from analyzer.importers.points.row_words import note, row_numbers
from analyzer.importers.points.run_columns import find_run_column
from analyzer.importers.points.tables import Row
from analyzer.units import LengthUnit

__all__ = ["Layout", "find_layout"]

HEADER_EXAMPLE = "x_ft,y_ft,z_ft"
_HEADER_WITHIN = 30


@dataclass(frozen=True, slots=True)
class Layout:
    """Columns of a file and where its points begin.

    Attributes
    ----------
    axes : tuple of Axis
        Three, in the order of the columns x, y, z or as they stand in the file.
    extra : dict of str to Column
        ``run``, ``unit``, ``radius``, ``fitting`` and ``label`` where the file has them.
    column_count : int
        Cells in the header row, or in the first row of points.
    first_row : int
        Index of the first row of points.
    unused : tuple of (Column, str)
        Columns that nothing is read from, each with its plain name.
    findings : tuple of Finding
        Columns left out, rows before the header, a header that is not there.
    """

    axes: tuple[Axis, Axis, Axis]
    extra: dict[str, Column]
    column_count: int
    first_row: int
    findings: tuple[Finding, ...]
    unused: tuple[tuple[Column, str], ...] = ()

    @property
    def width(self) -> int:
        """Cells of a full row: up to the last column that has a name."""
        used = [*(axis.column for axis in self.axes), *self.extra.values()]
        return 1 + max(column.index for column in (*used, *(other for other, _ in self.unused)))

    def holds_axes(self, row: Row) -> bool:
        """Whether a row is long enough to hold all coordinates."""
        return len(row.cells) > max(axis.column.index for axis in self.axes)


def find_layout(rows: Sequence[Row], axes: tuple[str, str, str] | None, file: str) -> Layout:
    """Return what the columns of a file mean.

    Parameters
    ----------
    rows : sequence of Row
        All rows of the file.
    axes : three str or None
        Directions of the three coordinate columns, from the job: ``east``, ``west``, ``north``,
        ``south``, ``up`` or ``depth``.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If a coordinate is missing, stands twice, or counts depth and the job does not say so.
    JobError
        If `axes` are no three directions, or contradict the header.
    """
    if axes is not None:
        check_axes(axes)
    header = _find_header(rows)
    if header is None:
        return _without_header(rows, axes, file)
    return _with_header(rows, header, axes, file)


def _find_header(rows: Sequence[Row]) -> int | None:
    """Index of the first row that names every axis; else of the first that names one for sure.

    Looked for no farther than the first row of points.
    """
    best = None
    for index, row in enumerate(rows[:_HEADER_WITHIN]):
        headings = headings_of(row)
        slots = {AXIS_SLOT[h.role] for h in headings if h.role in AXIS_SLOT}
        if len(slots) == 3:
            return index
        if (
            best is None
            and not row.is_marked
            and any(h.role in AXIS_SLOT and not h.is_weak for h in headings)
        ):
            best = index
        if _is_point(row):
            break
    return best


def _is_point(row: Row) -> bool:
    """Whether a row holds three numbers or more; x1 is a name, not a number."""
    numbers = (any(map(str.isdigit, cell)) and not cell[0].isalpha() for cell in row.cells)
    return sum(numbers) >= 3 and not row.is_marked


def _with_header(
    rows: Sequence[Row], header: int, axes: tuple[str, str, str] | None, file: str
) -> Layout:
    row = rows[header]
    place = f"{file}, row {row.number}"
    headings = without_other_fittings(headings_of(row), rows[header + 1 :])
    refuse_glued_row(row, rows[header + 1 :], place)
    chosen = _choose(headings, place)
    findings = []
    skipped = [r.number for r in rows[:header] if not r.is_blank]
    if skipped:
        findings.append(
            note("rows-skipped", f"{row_numbers(skipped)} before the header: left out", file)
        )
    first_row = header + 1
    units = _unit_row(rows, first_row, chosen)
    if units:
        _refuse_other_units(rows[first_row], units, chosen, headings, file)
        first_row += 1
    if "run" not in chosen:
        index = find_run_column(headings, chosen.values(), rows[first_row:], place)
        if index is not None:
            chosen["run"] = index
            text = f"the column {headings[index].title} tells the runs apart"
            findings.append(note("run-column", text, place))
    if "radius" not in chosen:
        index = find_radius_column(headings, chosen.values(), rows[first_row:])
        if index is not None:
            chosen["radius"] = index
            text = (
                f"the column {headings[index].title} is read as the radius of bends: call it "
                "otherwise if it tells something else"
            )
            findings.append(note("radius-column", text, place))
    columns = {}
    for role, index in chosen.items():
        heading = headings[index]
        if heading.unknown_unit and (role in AXIS_SLOT or role == "radius"):
            raise RouteError(unknown_unit(place, heading.title, heading.unknown_unit))
        columns[role] = Column(index, heading.title, heading.unit or units.get(index))
    found, told = axes_of(columns, axes, rows[first_row:], place)
    findings += told
    unused = [
        (Column(i, h.title, h.unit), h.plain)
        for i, h in enumerate(headings)
        if i not in chosen.values() and h.title != '""'
    ]
    left = [(column.index, headings[column.index]) for column, _ in unused]
    findings += unused_findings(left, chosen, rows[first_row:], place)
    extra = {role: column for role, column in columns.items() if role not in AXIS_SLOT}
    return Layout(found, extra, len(row.cells), first_row, tuple(findings), tuple(unused))


def _choose(headings: Sequence[Heading], place: str) -> dict[str, int]:
    """Index of the column of each role; short names count only where nothing else serves."""
    chosen: dict[str, int] = {}
    taken: dict[int, str] = {}
    plainly: set[str] = set()
    for want_weak in (False, True):
        for index, heading in enumerate(headings):
            role = heading.role
            if not role or heading.is_weak is not want_weak:
                continue
            slot = AXIS_SLOT.get(role)
            if want_weak and (slot in taken or role in plainly):
                continue
            if role in chosen or (slot is not None and slot in taken):
                first = taken[slot] if slot is not None else headings[chosen[role]].title
                raise RouteError(
                    f"{place}: the columns {first} and {heading.title} could both be "
                    f"{'xyz'[slot] if slot is not None else 'the ' + role}: rename one of them"
                )
            chosen[role] = index
            if slot is not None:
                taken[slot] = heading.title
        plainly = set(chosen)
    missing = [letter for slot, letter in enumerate("xyz") if slot not in taken]
    if missing:
        refuse_unknown_suffix(headings, place)
        titles = ", ".join(heading.title for heading in headings)
        raise RouteError(
            f"{place}: no column for {' and '.join(missing)} among {titles}: name the columns, "
            f"such as {HEADER_EXAMPLE}; a run in space needs all three"
        )
    return chosen


def _unit_row(rows: Sequence[Row], index: int, chosen: dict[str, int]) -> dict[int, LengthUnit]:
    """Units of a row under the header that holds nothing but units, by column."""
    if index >= len(rows):
        return {}
    cells = rows[index].cells
    wanted = [i for role, i in chosen.items() if role in AXIS_SLOT]
    units = {i: length_unit(cell.strip("[]()")) for i, cell in enumerate(cells)}
    if any(units.get(i) is None for i in wanted):
        return {}
    return {i: unit for i, unit in units.items() if unit is not None}


def _refuse_other_units(
    row: Row,
    units: dict[int, LengthUnit],
    chosen: dict[str, int],
    headings: Sequence[Heading],
    file: str,
) -> None:
    """Stop at a row of units that says another unit than the header above it."""
    for index in sorted(chosen.values()):
        named, below = headings[index].unit, units.get(index)
        if named is not None and below is not None and named is not below:
            raise RouteError(
                f"{file}, row {row.number}: the row of units says {below.value} under the column "
                f"{headings[index].title}, whose header says {named.value}: correct one of the two"
            )


def _without_header(rows: Sequence[Row], axes: tuple[str, str, str] | None, file: str) -> Layout:
    index = next((i for i, row in enumerate(rows) if _is_point(row)), None)
    head = next(row for row in rows if not row.is_blank)
    skipped = [r for r in rows[: index or 0] if not r.is_blank]
    texts = [r for r in skipped if sum(map(bool, r.cells)) > 1 and not r.is_marked]
    if index is None or texts:
        row = texts[-1] if texts else head
        refuse_unknown_suffix(headings_of(row), f"{file}, row {row.number}")
        raise RouteError(
            f"{file}, row {row.number}: {', '.join(row.cells)!r} is neither a header with columns "
            f"called x, y and z nor three numbers: a header such as {HEADER_EXAMPLE} is needed, "
            "columns divided by comma, semicolon, tab or |, or by spaces where every row has as "
            "many cells"
        )
    for other in skipped:
        _refuse_other_delimiter(other, file)
    _refuse_late_header(rows, index, file)
    row = rows[index]
    cells = row.cells
    while cells and not cells[-1]:
        cells = cells[:-1]
    if len(cells) != 3:
        raise RouteError(
            f"{file}, row {row.number}: {len(cells)} columns and no header that says what they "
            f"are: add a header row such as {HEADER_EXAMPLE}. Numbers with a decimal comma need "
            "semicolons or tabs between columns"
        )
    words = axes or ("east", "north", "up")
    findings = [
        note(
            "no-header",
            f"no header: the three columns are taken as {', '.join(words)}"
            + (" as the job says" if axes else " (x, y, z)"),
            file,
        )
    ]
    if skipped:
        text = f"{row_numbers([r.number for r in skipped])} before the points: left out"
        findings.append(note("rows-skipped", text, file))
    first, second, third = (axis_of(Column(i, str(i + 1)), word) for i, word in enumerate(words))
    return Layout((first, second, third), {}, 3, index, tuple(findings))


def _refuse_late_header(rows: Sequence[Row], index: int, file: str) -> None:
    """Stop at a header that stands below numbers."""
    for row in rows[index : index + _HEADER_WITHIN]:
        if len({AXIS_SLOT[h.role] for h in headings_of(row) if h.role in AXIS_SLOT}) == 3:
            raise RouteError(
                f"{file}, row {row.number}: {', '.join(row.cells)!r} names the columns, but stands "
                f"below numbers in row {rows[index].number}: take what stands above it out"
            )


def _refuse_other_delimiter(row: Row, file: str) -> None:
    """Stop at a header whose columns are divided in another way than those of the points."""
    text = " ".join(row.cells)
    for cells in (text.split(";"), text.split(","), text.split("|"), text.split()):
        headings = headings_of(Row(row.number, tuple(cell.strip() for cell in cells)))
        if len({AXIS_SLOT[h.role] for h in headings if h.role in AXIS_SLOT}) == 3:
            raise RouteError(
                f"{file}, row {row.number}: {text!r} names the columns, but divides them in "
                "another way than the points below: use one comma, semicolon, tab or | throughout"
            )
