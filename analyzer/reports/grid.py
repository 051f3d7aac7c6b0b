"""Tables of text cells, and how a terminal draws them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from io import StringIO
from textwrap import wrap
from typing import Literal

from analyzer.reports.folding import hung

__all__ = ["Column", "Table", "grid_text", "table_text"]

_INDENT = 2
_BETWEEN = 2  # columns of space between two columns of a table
_FIRM = "\N{NO-BREAK SPACE}"  # folding breaks no line at it
_LEAST_PIECE = 8  # a word is broken into pieces no shorter than this


@dataclass(frozen=True, slots=True)
class Column:
    """Heading of a column; numbers align to the right, names to be typed stay on one line."""

    header: str
    is_number: bool = False
    is_name: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table of text cells; every cell with a quantity carries its unit.

    Cells name `notes` by their numbers, from 1; a note begins with its own.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()


def grid_text(table: Table, width: int) -> str:
    """Return a table drawn with little ink inside a width; nothing of a cell is ever cut off.

    Long cells go on below, between words. Where that is not enough, numbers with their units go
    on below too, then long words are broken. A table that is too wide even so stands out over the
    width.

    Parameters
    ----------
    table : Table
        Its title stands above it where it has one.
    width : int
        Columns to stay within.
    """
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table as Grid
    from rich.text import Text

    widths = _widths(table, _room(table, width))
    grid = Grid(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)
    for column, size in zip(table.columns, widths, strict=True):
        justify: Literal["left", "right"] = "right" if column.is_number else "left"
        grid.add_column(Text(column.header), justify=justify, overflow="fold", width=size)
    for row in table.rows:
        grid.add_row(*(Text(cell) for cell in row))
    stream = StringIO()
    total = sum(widths) + _BETWEEN * len(widths)
    console = Console(file=stream, width=total, color_system=None, highlight=False)
    console.print(grid)
    body = [f"{'':{_INDENT}}{line}".rstrip() for line in stream.getvalue().splitlines()]
    return "\n".join([*wrap(table.title, width), *body])


def table_text(table: Table, width: int) -> str:
    """Return a table as a grid; row by row, each cell after its heading, where none fits.

    Told row by row, numbers stay on a line with their units.

    Parameters
    ----------
    table : Table
        Its title stands above it where it has one.
    width : int
        Columns to stay within.
    """
    room = _room(table, width)
    if sum(_widths(table, room)) <= room:
        return grid_text(table, width)
    lines = wrap(table.title, width)
    for row in table.rows:
        cells = []
        for column, cell in zip(table.columns, row, strict=True):
            told = cell.replace(" ", _FIRM) if column.is_number else ", ".join(cell.splitlines())
            cells.append(f"{column.header} {told}".strip() if cell else "")
        lines += hung(" " * _INDENT, cells[0], width)
        lines += hung(" " * 2 * _INDENT, "; ".join(cell for cell in cells[1:] if cell), width)
    return "\n".join(line.replace(_FIRM, " ") for line in lines)


def _room(table: Table, width: int) -> int:
    """Return the columns that the cells of a row have together."""
    return width - _INDENT - _BETWEEN * (len(table.columns) - 1)


def _widths(table: Table, room: int) -> list[int]:
    """Return the width of every column: as wide as its longest cell, narrower where room is short.

    The columns that give way are the widest ones, all to the same width, and none below what
    keeps its words whole.
    """
    longest = _longest(table, lambda cell, _: cell.split("\n"))
    wanted = [
        max(size, _cells(column.header))
        for size, column in zip(longest, table.columns, strict=True)
    ]
    if sum(wanted) <= room:
        return wanted
    least = _least_widths(table, room)
    low, high = 1, max(wanted)
    while low < high:
        middle = (low + high + 1) // 2
        if sum(_limited(wanted, least, middle)) <= room:
            low = middle
        else:
            high = middle - 1
    widths = _limited(wanted, least, low)
    spare = room - sum(widths)
    for place, size in enumerate(widths):  # what equal widths leave over
        if spare > 0 and low <= size < wanted[place]:
            widths[place] += 1
            spare -= 1
    return widths


def _limited(wanted: list[int], least: list[int], most: int) -> list[int]:
    return [max(low, min(size, most)) for size, low in zip(wanted, least, strict=True)]


def _least_widths(table: Table, room: int) -> list[int]:
    """Return the least widths that lose nothing: numbers and words whole as long as they fit."""
    whole = _longest(
        table,
        lambda cell, column: cell.split("\n" if column.is_number or column.is_name else None),
    )
    if sum(whole) <= room:
        return whole
    words = _longest(table, lambda cell, column: cell.split("\n" if column.is_name else None))
    is_fixed = [column.is_number or column.is_name for column in table.columns]
    # words of text are broken before numbers part from their units
    for sizes in (whole, words):
        for most in range(max(sizes), _LEAST_PIECE - 1, -1):
            least = [
                size if fixed else min(size, most)
                for size, fixed in zip(sizes, is_fixed, strict=True)
            ]
            if sum(least) <= room:
                return least
    return least


def _longest(table: Table, parts: Callable[[str, Column], list[str]]) -> list[int]:
    """Return, column by column, the longest part of its cells; a heading may fold at any word."""
    found = []
    for place, column in enumerate(table.columns):
        pieces = column.header.split()
        for row in table.rows:
            pieces += parts(row[place], column)
        found.append(max((_cells(piece) for piece in pieces), default=1))
    return found


def _cells(text: str) -> int:
    """Return the columns that a text takes on a terminal."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len

    return cell_len(text)
