"""Published tables: the only reader of the CSV files in `data`.

One file holds one published table, its values in the published unit. Lines starting with ``#`` on
top give title, edition, sources and who checked what; then come the column names. Reading checks
columns, positive numbers, order and repeats, once; a broken table is a defect of the package.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import isfinite

from analyzer.errors import CatalogError

__all__ = [
    "Row",
    "Table",
    "TableShape",
    "check_shape",
    "find_row",
    "parse_table",
    "read_table",
    "table_names",
]

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class TableShape:
    """What a table must look like.

    Attributes
    ----------
    key : tuple of str
        Columns that name a row: filled, and no two rows alike.
    positive : tuple of str
        Columns of numbers above zero in every row.
    optional : tuple of str
        Columns of numbers above zero where they are filled.
    rising : tuple of str
        Columns whose numbers do not fall from row to row within a group.
    group : tuple of str
        Columns that name the group `rising` holds in.
    """

    key: tuple[str, ...]
    positive: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    rising: tuple[str, ...] = ()
    group: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """One table as published: its header lines and its rows as text by column name."""

    name: str
    header: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def title(self) -> str:
        """First header line: what the table is, and its edition."""
        return self.header[0]


_SHAPES = {
    "raceways": TableShape(
        key=("type", "trade_size"),
        positive=("internal_diameter_in", "internal_diameter_mm", "total_area_in2"),
        optional=("outside_diameter_in", "wall_in", "weight_lb_per_100ft"),
        rising=("internal_diameter_in", "total_area_in2"),
        group=("type",),
    ),
    "bend_radius_table_2": TableShape(
        key=("trade_size",),
        positive=("one_shot_full_shoe_in", "other_bends_in"),
        rising=("one_shot_full_shoe_in", "other_bends_in"),
    ),
    "bend_radius_table_354_24": TableShape(
        key=("trade_size",), positive=("bend_radius_in",), rising=("bend_radius_in",)
    ),
    "bend_limits": TableShape(
        key=("type",), positive=("article", "limit_between_pull_points"), rising=("article",)
    ),
    "insulated_conductors": TableShape(
        key=("insulation", "size_awg_kcmil"),
        positive=("diameter_in", "area_in2", "diameter_mm", "area_mm2"),
        rising=("diameter_in", "area_in2"),
        group=("insulation",),
    ),
    "compact_conductors": TableShape(
        key=("size_awg_kcmil",),
        positive=("bare_diameter_in",),
        optional=(
            "thw_thhw_diameter_in",
            "thw_thhw_area_in2",
            "thhn_diameter_in",
            "thhn_area_in2",
            "xhhw_diameter_in",
            "xhhw_area_in2",
        ),
        rising=("bare_diameter_in",),
    ),
    "conductor_properties": TableShape(
        key=("size_awg_kcmil", "strands"),
        positive=("circular_mils", "overall_diameter_in", "overall_area_mm2"),
        rising=("circular_mils", "overall_diameter_in"),
    ),
    "conductor_weights": TableShape(
        key=("insulation", "metal", "stranding", "size_awg_kcmil"),
        positive=("weight_lb_per_1000ft",),
        optional=("sheet_diameter_in",),
        rising=("weight_lb_per_1000ft",),
        group=("insulation", "metal", "stranding"),
    ),
    "weight_model": TableShape(key=("part", "applies_to"), positive=("value",)),
    "conductor_supports": TableShape(
        key=("largest_size",), positive=("aluminum_or_copper_clad_ft", "copper_ft")
    ),
    "fill_limits": TableShape(key=("rule",)),
    "offsets": TableShape(key=("bend", "angle_deg"), positive=("angle_deg", "multiplier_exact")),
    "practice": TableShape(key=("rule",), positive=("value",)),
    "pull_lines": TableShape(
        key=("kind", "breaking_strength_lbf"),
        positive=("breaking_strength_lbf", "working_load_lbf"),
    ),
    "pull_limits": TableShape(key=("limit", "applies_to"), positive=("value",)),
    "frictions": TableShape(key=("name",), positive=("low", "expected", "high")),
    "rule_sets": TableShape(
        key=("name",),
        positive=("degrees_between_pull_points",),
        optional=("length_between_pull_points_ft",),
    ),
}


def table_names() -> tuple[str, ...]:
    """Return the names of all tables, sorted."""
    return tuple(sorted(_SHAPES))


@cache
def read_table(name: str) -> Table:
    """Return a table by name, checked; read once.

    Parameters
    ----------
    name : str
        File name in `data` without its ending, one of `table_names`.

    Raises
    ------
    CatalogError
        If there is no such table, or the file is not what its shape says.
    """
    if name not in _SHAPES:
        raise CatalogError(f"no table {name!r}; there are {', '.join(table_names())}")
    text = files("analyzer.catalog").joinpath("data", f"{name}.csv").read_text("utf-8")
    table = parse_table(name, text)
    check_shape(table, _SHAPES[name])
    return table


def find_row(name: str, **keys: str) -> Row:
    """Return the row of a table that has these values in these columns.

    Parameters
    ----------
    name : str
        The table, as in `read_table`.
    **keys : str
        Column and value of each key.

    Raises
    ------
    CatalogError
        If there is no such table, or no such row.

    Examples
    --------
    >>> find_row("bend_limits", type="EMT")["article"]
    '358'
    """
    for row in read_table(name).rows:
        if all(row[column] == value for column, value in keys.items()):
            return row
    wanted = ", ".join(f"{column} {value!r}" for column, value in keys.items())
    raise CatalogError(f"table {name}: no row with {wanted}")


def parse_table(name: str, text: str) -> Table:
    """Return the table that a text holds, unchecked.

    Raises
    ------
    CatalogError
        If the text has no header lines, no rows, or a row of the wrong width.
    """
    lines = text.splitlines()
    header = [line[1:].strip() for line in lines if line.startswith("#")]
    body = lines[len(header) :]
    if not header or any(line.startswith("#") for line in body):
        raise CatalogError(f"table {name}: its source lines belong on top, each starting with #")
    reader = csv.DictReader(body, strict=True)
    columns = tuple(reader.fieldnames or ())
    rows = []
    for row in reader:
        if None in row or None in row.values():
            raise CatalogError(f"table {name}: {_cells(row)!r} has not {len(columns)} cells")
        rows.append(row)
    if not rows:
        raise CatalogError(f"table {name}: no rows")
    return Table(name, tuple(header), columns, tuple(rows))


def check_shape(table: Table, shape: TableShape) -> None:
    """Check columns, numbers, order and repeats of a table.

    Raises
    ------
    CatalogError
        At the first thing that is wrong, with table, row and column.
    """
    needed = {*shape.key, *shape.positive, *shape.optional, *shape.rising, "source", "confirmed"}
    missing = sorted(needed - set(table.columns))
    if missing:
        raise CatalogError(f"table {table.name}: column {', '.join(missing)} is missing")
    seen = set()
    before: dict[tuple[str, ...], Row] = {}
    for row in table.rows:
        key = tuple(row[column] for column in shape.key)
        place = f"table {table.name}, row {' '.join(key)}"
        if "" in key or key in seen:
            raise CatalogError(f"{place}: the name of a row is filled and not repeated")
        if row["confirmed"] not in ("yes", "no") or not row["source"]:
            raise CatalogError(f"{place}: needs a source, and confirmed yes or no")
        seen.add(key)
        for column in (*shape.positive, *shape.optional):
            if row[column] or column in shape.positive:
                _positive(row[column], f"{place}, column {column}")
        group = tuple(row[column] for column in shape.group)
        for column in shape.rising:
            if group in before and float(row[column]) < float(before[group][column]):
                raise CatalogError(f"{place}: {column} falls from the row before")
        before[group] = row


def _positive(cell: str, place: str) -> None:
    try:
        value = float(cell)
    except ValueError:
        value = 0.0
    if not (isfinite(value) and value > 0.0):
        raise CatalogError(f"{place}: {cell!r} is no number above zero")


def _cells(row: Mapping[str | None, object]) -> str:
    return ",".join(str(cell) for cell in row.values())
