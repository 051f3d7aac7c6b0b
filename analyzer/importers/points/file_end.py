"""The end of a file of points: whether it was cut short inside its last row.

Many good files lack a line end behind their last row, so that alone says nothing. It does where
that row has fewer cells than a full one, unless others are as short and its last cell is whole, or
its last number fewer decimals than all others of a column that is written with zeros to one number
of decimals.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.points.fitting_kinds import fitting_kind
from analyzer.importers.points.tables import Row

__all__ = ["file_end_findings"]

_DECIMALS = re.compile(r"[+-]?\d+[.,](?P<decimals>\d+)")
_CUT = re.compile(r"[+-]?\d+(?:[.,](?P<decimals>\d*))?")
_FEWEST = 4
"""Numbers of a column that show how it is written."""


def file_end_findings(rows: Sequence[Row], width: int, file: str) -> list[Finding]:
    """Return a caution where a file without a line end at its end may have lost more.

    Parameters
    ----------
    rows : sequence of Row
        Rows of points, the last of which ends the file without a line end.
    width : int
        Cells of a full row.
    file : str
        Name of the file.
    """
    last = rows[-1]
    if len(last.cells) < width and not _is_trimmed(rows):
        seen = f"has {len(last.cells)} of {width} cells and no line end behind it"
    elif len(last.cells) >= width and _has_fewer_decimals(rows):
        seen = (
            f"ends in {last.cells[-1]!r}, with fewer decimals than all other rows, and no line end "
            "behind it"
        )
    else:
        return []
    text = (
        f"row {last.number}, the last, {seen}: the file may end early, its last number cut and "
        "rows lost. Get the file anew, or complete the row and end the line"
    )
    return [Finding("cut-short", Severity.CAUTION, text, f"{file}, row {last.number}", EVERY_RUN)]


def _is_trimmed(rows: Sequence[Row]) -> bool:
    """Whether other rows are as short as the last one, and its last cell is a whole one.

    A word is whole where it names a kind of fitting; a number where it has as many decimals as all
    others of its column, without any as many digits as one of the other short rows.
    """
    last = rows[-1]
    at = len(last.cells) - 1
    alike = [row for row in rows[:-1] if row.cells[-1] and len(row.cells) <= at + 1]
    if not alike or fitting_kind(last.cells[at]) is not None:
        return bool(alike)
    cut = _CUT.fullmatch(last.cells[at])
    column = [row.cells[at] for row in rows[:-1] if at < len(row.cells) and row.cells[at]]
    numbers = [_CUT.fullmatch(cell) for cell in column]
    counts = {len(number["decimals"] or "") for number in numbers if number is not None}
    if cut is None or not all(numbers) or counts != {len(cut["decimals"] or "")}:
        return False
    if cut["decimals"]:
        return True
    digits = [len(row.cells[at]) for row in alike if at < len(row.cells)]
    return bool(digits) and len(last.cells[at]) >= min(digits)


def _has_fewer_decimals(rows: Sequence[Row]) -> bool:
    at = len(rows[-1].cells) - 1
    others = [row.cells[at] for row in rows[:-1] if at < len(row.cells) and row.cells[at]]
    written = [_DECIMALS.fullmatch(cell) for cell in others]
    cut = _CUT.fullmatch(rows[-1].cells[at])
    if cut is None or len(others) < _FEWEST or not all(written):
        return False
    decimals = [match["decimals"] for match in written if match is not None]
    counts = {len(one) for one in decimals}
    with_zeros = any(one.endswith("0") for one in decimals)
    return len(counts) == 1 and with_zeros and len(cut["decimals"] or "") < counts.pop()
