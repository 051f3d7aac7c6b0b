"""Tables of text cells, and how a terminal draws them."""

from __future__ import annotations

from dataclasses import dataclass
from io import StringIO
from typing import Literal

__all__ = ["Column", "Table", "grid_text"]

_BETWEEN = 2  # columns of space between two columns of a table


@dataclass(frozen=True, slots=True)
class Column:
    """Heading of a column; numbers align to the right, names to be typed stay on one line."""

    header: str
    is_number: bool = False
    is_name: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table of text cells; every cell with a quantity carries its unit."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


def grid_text(table: Table, width: int) -> str:
    """Return a table drawn with little ink inside a width; long cells fold.

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

    grid = Grid(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)
    least = _least_widths(table, width - 2)
    for place, column in enumerate(table.columns):
        justify: Literal["left", "right"] = "right" if column.is_number else "left"
        grid.add_column(
            Text(column.header),
            justify=justify,
            overflow="fold",
            no_wrap=column.is_name,
            min_width=least[place],
        )
    for row in table.rows:
        grid.add_row(*(Text(cell) for cell in row))
    stream = StringIO()
    console = Console(file=stream, width=width - 2, color_system=None, highlight=False)
    console.print(grid)
    body = [f"  {line}".rstrip() for line in stream.getvalue().splitlines()]
    heading = [table.title] if table.title else []
    return "\n".join([*heading, *body])


def _least_widths(table: Table, width: int) -> list[int]:
    """Widths that keep the words of every column whole; narrower where all do not fit."""
    longest = []
    for place, column in enumerate(table.columns):
        cells = (column.header, *(row[place] for row in table.rows))
        words = cells if column.is_name else [word for cell in cells for word in cell.split()]
        longest.append(max((len(word) for word in words), default=1))
    for most in range(max(longest, default=1), 0, -1):
        least = [
            size if column.is_name else min(size, most)
            for size, column in zip(longest, table.columns, strict=True)
        ]
        if sum(least) + _BETWEEN * len(least) <= width:
            return least
    return [1] * len(longest)
