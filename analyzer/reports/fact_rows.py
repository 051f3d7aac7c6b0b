"""What all tables of one analysis rest on, as rows: route, conductors, friction, limits."""

from __future__ import annotations

from typing import Any

__all__ = ["fact_rows"]

Row = dict[str, Any]


def fact_rows(values: dict[str, Any]) -> list[Row]:
    """Return the inputs and assumptions of an analysis, one row a value.

    Parameters
    ----------
    values : dict
        What `analysis_values` returned.

    Returns
    -------
    list of dict
        ``fact``, ``value`` and ``unit``: SI, empty where a value has none.
    """
    job = values["job"]
    pull, limits, group = job["pull"], job["limits"], values["group"]
    friction = pull["friction"]
    rows = [
        *_files(values["inputs"]),
        ("title", job["title"], ""),
        ("job file", job["source"] or "options of the command line", ""),
        *_raceway(job["raceway"]),
        *(
            row
            for name in ("conductors", "existing_conductors")
            for line in job[name]
            for row in _conductor(line, name == "conductors")
        ),
        ("arrangement", group["description"], ""),
        ("arrangement from", group["arrangement_source"], ""),
        ("weight factor", group["weight_factor"], ""),
        ("weight factor from", group["weight_factor_source"], ""),
        ("weight factor in bends", pull["weight_factor_in_bends"], ""),
        ("sidewall rule", group["sidewall_rule"], ""),
        ("sidewall rule from", group["sidewall_source"], ""),
        ("friction low", friction["low"], ""),
        ("friction expected", friction["expected"], ""),
        ("friction high", friction["high"], ""),
        ("friction stated", friction["stated"], ""),
        *_pressed(pull["friction_by_sidewall"]),
        ("feed tension", pull["feed_tension_n"], "N"),
        *_own_feed_tensions(values["runs"]),
        ("lubricant reach", pull["lubricant_reach_m"], "m"),
        ("dry friction", pull["dry_friction"], ""),
        ("attachment", pull["attachment"], ""),
        ("line working load", pull["line_working_load_n"], "N"),
        ("line breaking strength", job["plan"]["line_breaking_strength_n"], "N"),
        *_line_limit(values["runs"]),
        ("puller capacity", pull["puller_capacity_n"], "N"),
        ("rule set", limits["rules"], ""),
        ("sidewall limit", limits["sidewall_pressure_n_per_m"], "N/m"),
        ("sidewall limit from", limits["sidewall_from"], ""),
    ]
    return [
        {"fact": fact, "value": value, "unit": unit}
        for fact, value, unit in rows
        if value not in (None, "")
    ]


def _files(inputs: list[Row]) -> list[tuple[str, Any, str]]:
    return [
        row
        for item in inputs
        for row in (
            ("route file", item["file"], ""),
            ("route sha256", item["sha256"], ""),
            ("route length unit", item["length_unit"], ""),
        )
    ]


def _raceway(raceway: Row) -> list[tuple[str, Any, str]]:
    if raceway["type"] is None:
        return [("raceway", "not given", "")]
    return [
        ("raceway", f"{raceway['type']} {raceway['trade_size']}", ""),
        ("raceway inside diameter", raceway["inside_diameter_m"], "m"),
        ("raceway bender", raceway["bender"], ""),
        ("bend radius stated", raceway["bend_radius_m"], "m"),
    ]


def _conductor(line: Row, is_pulled: bool) -> list[tuple[str, Any, str]]:
    name = "conductors" if is_pulled else "conductors already in the raceway, not pulled"
    rows = [
        (name, f"{line['count']} x {line['full_name']}", ""),
        ("conductor diameter", line["diameter_m"], "m"),
    ]
    if is_pulled:
        weight = line["pulling_weight_n_per_m"]
        rows.append(("conductor weight each, allowance included", weight, "N/m"))
    return rows


def _own_feed_tensions(runs: list[Row]) -> list[tuple[str, Any, str]]:
    return [
        (f"feed tension at {run['name']}, {item['name']}", item["feed_tension_n"], "N")
        for run in runs
        for item in run["fittings"]
        if item["feed_tension_n"] is not None
    ]


def _line_limit(runs: list[Row]) -> list[tuple[str, Any, str]]:
    """Return what the line was held against, stated or not: one limit for all pulls."""
    checks = (check for run in runs for check in run["checks"] if check["code"] == "line-tension")
    check = next(checks, None)
    if check is None or check["limit"] is None:
        return []
    return [("line limit", check["limit"], "N"), ("line limit from", check["source"], "")]


def _pressed(pressed: Row | None) -> list[tuple[str, Any, str]]:
    if pressed is None:
        return []
    return [
        ("friction by sidewall, above", pressed["above_n_per_m"], "N/m"),
        ("friction by sidewall, part that remains", pressed["part"], ""),
    ]
