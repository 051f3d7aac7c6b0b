"""The analysis as CSV tables: the keys of the analysis file as columns, full precision.

Every column ends in its unit. Where the job shows US units, a second column in feet or pounds
stands behind each SI column, converted from it.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from typing import Any

from analyzer.units import to_ft, to_lbf, to_lbf_per_ft

__all__ = ["TABLE_NAMES", "csv_texts", "flat_tables", "shown_tables"]

TABLE_NAMES = (
    "runs", "legs", "pulls", "profiles", "bend_tensions", "bends", "features", "segments",
    "fittings", "checks", "findings",
)  # fmt: skip
"""The tables; each is a file NAME.csv, or a page of the workbook."""

_US: tuple[tuple[str, str, Callable[[float], float]], ...] = (
    ("_n_per_m", "_lbf_per_ft", to_lbf_per_ft),
    ("_n", "_lbf", to_lbf),
    ("_m", "_ft", to_ft),
)
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
        ``runs``, ``legs``, ``pulls``, ``profiles``, ``bend_tensions``, ``bends``,
        ``features``, ``segments``, ``fittings``, ``checks`` and ``findings``.
    """
    tables: dict[str, list[Row]] = {name: [] for name in TABLE_NAMES}
    tables["findings"] += [{"run": "", **item} for item in values["findings"]]
    for run in values["runs"]:
        name = {"run": run["name"]}
        tables["runs"].append(
            name
            | {key: run[key] for key in ("verdict", "length_m", "read_as", "deviation_m")}
            | _spread("start_m", run["start_m"])
            | _spread("end_m", run["end_m"])
        )
        for key in ("bends", "segments", "fittings", "checks", "findings"):
            tables[key] += [name | _flat(item) for item in run[key]]
        tables["features"] += [
            name | item | {"bends": " ".join(map(str, item["bends"]))} for item in run["features"]
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
            whole = name | {"leg": "whole run passed through"}
            _add_pull(tables, whole, direction, run["through"][direction])
    return tables


def _add_pull(tables: dict[str, list[Row]], head: Row, direction: str, pull: Row) -> None:
    head = head | {"direction": direction}
    tables["pulls"].append(head | _flat({k: v for k, v in pull.items() if k not in _SKIP}))
    profile = pull["profile"]
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


def _with_us(row: Row) -> Row:
    shown: Row = {}
    for key, value in row.items():
        shown[key] = value
        for ending, other, convert in _US:
            if key.endswith(ending):
                us = None if value is None else convert(value)
                shown[key.removesuffix(ending) + other] = us
                break
    return shown


def shown_tables(values: dict[str, Any]) -> dict[str, list[Row]]:
    """Return the tables that have rows, with US columns beside SI ones where the job shows US.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.
    """
    us = values["job"].get("units") == "us"
    return {
        name: [_with_us(row) if us else row for row in rows]
        for name, rows in flat_tables(values).items()
        if rows
    }


def csv_texts(values: dict[str, Any]) -> dict[str, str]:
    """Return file name to CSV text for every table that has rows.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.
    """
    texts = {}
    for name, rows in shown_tables(values).items():
        columns = list(dict.fromkeys(key for row in rows for key in row))
        stream = StringIO()
        writer = csv.DictWriter(stream, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        texts[f"{name}.csv"] = stream.getvalue()
    return texts
