"""Rows of a file of points with fewer cells than headings: trimmed at their end, or damaged.

Programs leave out empty cells at the end of a row: of every row, so that all end in a filled cell,
or of blocks of sixteen rows, as spreadsheets do where a column is empty in all of them. Whatever
else is short may have lost a cell before them, and its numbers stand under wrong headings: where
its cells can be read one column on as well. One alone that is short and ends in an empty cell
lacks one before that.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from analyzer.findings import Concern, Finding, Severity
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.row_words import note, row_numbers
from analyzer.importers.points.shifted_rows import fits_as_it_stands, may_be_shifted
from analyzer.importers.points.tables import Row

__all__ = ["short_row_findings"]

_BLOCK = 16
"""Rows over which spreadsheets leave out columns at the end alike (common practice)."""

_FULL_ROWS = 5
"""So many rows between the ends of a file have to be full for one short one to be conspicuous."""


def short_row_findings(
    rows: Sequence[Row], layout: Layout, file: str
) -> tuple[list[Finding], list[str]]:
    """Return what to say of short rows, and what is wrong with those that lost a cell for sure.

    Parameters
    ----------
    rows : sequence of Row
        Rows that hold something, as they stand in the file.
    layout : Layout
        How many columns have a name.
    file : str
        Name of the file, for findings.
    """
    width = layout.width
    rows = [Row(row.number, row.cells[:width]) for row in rows]
    short = [row for row in rows if layout.holds_axes(row) and len(row.cells) < width]
    if not short:
        return [], []
    in_blocks = _trimmed_in_blocks(rows)
    open_to_doubt = [row for row in short if row.number not in in_blocks]
    shifts = [row for row in open_to_doubt if may_be_shifted(row, rows, layout)]
    broken = [row for row in shifts if not row.cells[-1]]
    is_trimmed = all(row.cells[-1] for row in rows)
    alone = _alone(rows, width) if is_trimmed else None
    doubtful = [row for row in shifts if row.cells[-1] and (not is_trimmed or row is alone)]
    misfits = [
        row
        for row in shifts
        if row.cells[-1] and row not in doubtful and not fits_as_it_stands(row, rows, layout)
    ]
    lengths = Counter(len(row.cells) for row in rows)
    lacking = [
        row
        for row in open_to_doubt
        if not row.cells[-1] and row not in broken and lengths[len(row.cells)] == 1
    ]
    rest = "other rows have all of theirs" if is_trimmed else "others keep their empty cells"
    behind = "the numbers behind it stand under wrong headings"
    findings = [
        _caution(told, seen, file)
        for told, seen in (
            (
                doubtful,
                f"while {rest}; the last count as empty. Where a cell is missing before them, "
                f"{behind}",
            ),
            (
                misfits,
                "and they would fit the headings one column on better; the last count as empty. "
                f"Where a cell is missing before them, {behind}",
            ),
            (
                lacking,
                "and the last is empty: a cell before that may be missing, such as a radius or a "
                "fitting, and counts as empty",
            ),
        )
        if told
    ]
    told = {row.number for row in (*broken, *doubtful, *misfits, *lacking)}
    if trimmed := [row.number for row in short if row.number not in told]:
        text = f"{row_numbers(trimmed)}: the last cells are missing and count as empty"
        findings.append(note("rows-short", text, file))
    if not broken:
        return findings, []
    plural = "s" if len(broken) > 1 else ""
    fault = (
        f"{row_numbers([row.number for row in broken])}: fewer cells than the {width} headings, "
        "and the last of them is empty: a cell is missing and nothing tells which, so numbers may "
        f"stand under wrong headings: complete the row{plural}"
    )
    return findings, [fault]


def _caution(rows: Sequence[Row], seen: str, file: str) -> Finding:
    numbers = [row.number for row in rows]
    plural = "s" if len(numbers) > 1 else ""
    text = f"{row_numbers(numbers)}: fewer cells than headings, {seen}: complete the row{plural}"
    concern = Concern(entities=tuple(f"row {number}" for number in numbers))
    return Finding("rows-short", Severity.CAUTION, text, file, concern)


def _trimmed_in_blocks(rows: Sequence[Row]) -> set[int]:
    """Numbers of rows in blocks that are as long as their longest row needs; not the header's."""
    blocks: dict[int, list[Row]] = {}
    for row in rows:
        blocks.setdefault((row.number - 1) // _BLOCK, []).append(row)
    blocks.pop((rows[0].number - 1) // _BLOCK)
    return {
        row.number
        for block in blocks.values()
        if len(block) > 1
        and len({len(row.cells) for row in block}) == 1
        and any(row.cells[-1] for row in block)
        for row in block
    }


def _alone(rows: Sequence[Row], width: int) -> Row | None:
    """Return the one short row between the ends of a file where all others there are full."""
    inner = rows[1:-1]
    short = [row for row in inner if len(row.cells) < width]
    return short[0] if len(short) == 1 and len(inner) > _FULL_ROWS else None
