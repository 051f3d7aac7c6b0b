"""Tables of text cells, and how a terminal draws them."""

from __future__ import annotations

from dataclasses import dataclass
from io import StringIO
from typing import Literal

__all__ = ["Column", "Table", "grid_text"]


@dataclass(frozen=True, slots=True)
class Column:
    """Heading of a column; numbers align to the right."""

    header: str
    is_number: bool = False


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
    for column in table.columns:
        justify: Literal["left", "right"] = "right" if column.is_number else "left"
        grid.add_column(Text(column.header), justify=justify, overflow="fold")
    for row in table.rows:
        grid.add_row(*(Text(cell) for cell in row))
    stream = StringIO()
    console = Console(file=stream, width=width - 2, color_system=None, highlight=False)
    console.print(grid)
    body = [f"  {line}".rstrip() for line in stream.getvalue().splitlines()]
    heading = [table.title] if table.title else []
    return "\n".join([*heading, *body])
