"""The analysis as CSV tables: the keys of the analysis file as columns, full precision.

Every column ends in its unit. Where the job shows US units, a second column in feet or pounds
stands behind each SI column, converted from it. Every table is made, its header at least, so that
a folder written again holds nothing of the run as it was before.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from typing import Any

from analyzer.reports.cautions import SAID_WITH_LIMITS
from analyzer.reports.fact_rows import fact_rows
from analyzer.reports.table_columns import TABLE_COLUMNS, TABLE_NAMES
from analyzer.units import to_ft, to_lbf, to_lbf_per_ft

__all__ = ["csv_texts", "flat_tables", "shown_tables"]

_US: tuple[tuple[str, str, Callable[[float], float]], ...] = (
    ("_n_per_m", "_lbf_per_ft", to_lbf_per_ft),
    ("_n", "_lbf", to_lbf),
    ("_m", "_ft", to_ft),
)
_US_UNITS: dict[str, tuple[str, Callable[[float], float]]] = {
    "N": ("lbf", to_lbf),
    "N/m": ("lbf/ft", to_lbf_per_ft),
    "m": ("ft", to_ft),
}
_TOLD_UNITS = {"checks": ("value", "limit"), "facts": ("value",)}
"""Columns whose unit stands in the column `unit`, by table."""

_SKIP = ("profile", "slack")

Row = dict[str, Any]


def flat_tables(values: dict[str, Any]) -> dict[str, list[Row]]:
    """Return the analysis file as flat tables: name to rows, each row a mapping of columns.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.

    Returns
    -------
    dict
        Every table of `TABLE_NAMES`, one without rows too.
    """
    tables: dict[str, list[Row]] = {name: [] for name in TABLE_NAMES}
    tables["cautions"] = [{"caution": line} for line in SAID_WITH_LIMITS]
    tables["facts"] = fact_rows(values)
    tables["findings"] += [{"run": "", **item} for item in values["findings"]]
    for run in values["runs"]:
        name = {"run": run["name"]}
        file = values["inputs"][run["input"]]
        tables["runs"].append(
            name
            | {key: file[key] for key in ("file", "sha256")}
            | {key: run[key] for key in ("verdict", "length_m", "read_as", "deviation_m")}
            | _spread("start_m", run["start_m"])
            | _spread("end_m", run["end_m"])
        )
        for key in ("bends", "segments", "fittings", "findings"):
            tables[key] += [name | _flat(item) for item in run[key]]
        for key in ("features", "checks"):
            tables[key] += [
                name | item | {"bends": " ".join(map(str, item["bends"]))} for item in run[key]
            ]
        for leg in run["legs"]:
            own = {key: value for key, value in leg.items() if not isinstance(value, dict)}
            tables["legs"].append(name | own)
            for direction in ("forward", "reverse"):
                head = name | {"leg": leg["name"]}
                margins = leg["margins"][direction]
                _add_pull(tables, head, direction, leg[direction] | _margins(margins))
                tables["bend_tensions"] += [
                    head | {"direction": direction} | item for item in margins["bends"]
                ]
        for leg in run["refed"] or ():
            again = name | {"leg": f"{leg['name']} fed again at every box"}
            for direction in ("forward", "reverse"):
                _add_pull(tables, again, direction, leg[direction])
        for direction in ("forward", "reverse"):
            corners = ", ".join(run["through"]["corners_not_checked"])
            whole = name | {"leg": "whole run passed through", "corners_not_checked": corners}
            _add_pull(tables, whole, direction, run["through"][direction])
    return tables


def _add_pull(tables: dict[str, list[Row]], head: Row, direction: str, pull: Row) -> None:
    head = head | {"direction": direction}
    corners = head.pop("corners_not_checked", "")
    tables["pulls"].append(
        head
        | _flat({k: v for k, v in pull.items() if k not in _SKIP})
        | {"corners_not_checked": corners}
    )
    profile = pull["profile"]
    head = head | {"friction_level": profile["friction_level"]}
    keys = ("station_m", "tension_n", "sidewall_n_per_m")
    tables["profiles"] += [
        head | dict(zip(keys, entry, strict=True))
        for entry in zip(*(profile[key] for key in keys), strict=True)
    ]


def _margins(margins: Row) -> Row:
    """Columns that stand beside a leg's pull; bounds at high friction, empty where none hold."""
    bounds = margins["level_bounds"][-1] if margins["level_bounds"] else {}
    return {
        "highest_friction": margins["highest_friction"],
        "pressed_bend": margins["pressed_bend"],
        "smallest_radius_m": margins["smallest_radius_m"],
        "bounds_friction_level": "high" if bounds else None,
        "lower_bound_n": bounds.get("lower_n"),
        "upper_bound_n": bounds.get("upper_n"),
    }


def _flat(item: Row) -> Row:
    """Nested mappings get dotted names, points one column an axis."""
    flat: Row = {}
    for key, value in item.items():
        if isinstance(value, dict):
            flat |= {f"{key}_{inner}": content for inner, content in value.items()}
        elif isinstance(value, list) and len(value) == 3:
            flat |= _spread(key, value)
        else:
            flat[key] = value
    return flat


def _spread(key: str, point: list[float]) -> Row:
    stem, _, unit = key.rpartition("_")
    if not stem or unit != "m":
        stem, unit = key, ""
    tail = f"_{unit}" if unit else ""
    return {f"{stem}_{axis}{tail}": value for axis, value in zip("xyz", point, strict=True)}


def _with_us(row: Row, told: tuple[str, ...]) -> Row:
    shown: Row = {}
    unit, convert = _US_UNITS.get(row.get("unit", ""), (row.get("unit", ""), float))
    for key, value in row.items():
        shown[key] = value
        if key in told:
            is_number = isinstance(value, int | float) and not isinstance(value, bool)
            shown[f"{key}_us"] = convert(value) if is_number else value
        if key == "unit" and told:
            shown["unit_us"] = unit
        for ending, other, to_us in _US:
            if key.endswith(ending):
                shown[key.removesuffix(ending) + other] = None if value is None else to_us(value)
                break
    return shown


def shown_tables(values: dict[str, Any]) -> dict[str, tuple[list[str], list[Row]]]:
    """Return the columns and rows of every table, US columns beside SI ones where the job shows US.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.

    Returns
    -------
    dict
        Name to (columns, rows), a table without rows too; a row may leave columns out.
    """
    is_us = values["job"].get("units") == "us"
    tables = {}
    for name, rows in flat_tables(values).items():
        told = _TOLD_UNITS.get(name, ())
        header: Row = dict.fromkeys(TABLE_COLUMNS[name])
        shown = [_with_us(row, told) for row in (header, *rows)] if is_us else [header, *rows]
        columns = list(dict.fromkeys(key for row in shown for key in row))
        tables[name] = (columns, shown[1:])
    return tables


def csv_texts(values: dict[str, Any]) -> dict[str, str]:
    """Return file name to CSV text for every table, its header at least.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.
    """
    texts = {}
    for name, (columns, rows) in shown_tables(values).items():
        stream = StringIO()
        writer = csv.DictWriter(stream, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        texts[f"{name}.csv"] = stream.getvalue()
    return texts
