"""Point files whose columns runs of spaces divide: read where every row has as many cells."""

from __future__ import annotations

import io
import re

from analyzer.job.words import LENGTH_UNITS

__all__ = ["PLAIN_NUMBER", "spaced_rows"]

PLAIN_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")
"""A decimal number without separators, and nothing else."""


def spaced_rows(text: str) -> list[list[str]]:
    r"""Return the cells of each line of a text; no rows where spaces do not surely divide columns.

    They do where every row has as many cells, and every row but a header three plain numbers.
    A header may stand behind a comment sign; comments are one cell each.

    Parameters
    ----------
    text : str
        The whole file.

    Examples
    --------
    >>> spaced_rows("# x  y  z\n0 0 1.5\n")
    [['#x', 'y', 'z'], ['0', '0', '1.5']]
    >>> spaced_rows("x y z\n0 0 12 1/2\n")
    []
    """
    if '"' in text:
        return []
    lines = [line.strip() for line in io.StringIO(text, newline=None)]
    first = next((i for i, line in enumerate(lines) if _count_plain(line) >= 3), None)
    if first is None:
        return []
    count = len(lines[first].split())
    rows = []
    for number, line in enumerate(lines):
        is_comment = line.startswith(("#", "//"))
        cells = re.sub(r"^#\s+", "#", line).split()
        if is_comment and (number > first or len(cells) != count):
            cells = [line]
        elif cells and not is_comment and (len(cells) != count or not _fits(line, number, first)):
            return []
        rows.append(cells)
    return rows


def _fits(line: str, number: int, first: int) -> bool:
    """Whether a line of points has three numbers, or one above them no unit of its own."""
    if number >= first:
        return _count_plain(line) >= 3
    return not any(cell.strip("[]().").lower() in LENGTH_UNITS for cell in line.split())


def _count_plain(line: str) -> int:
    if line.startswith(("#", "//")):
        return 0
    return sum(PLAIN_NUMBER.fullmatch(cell) is not None for cell in line.split())
