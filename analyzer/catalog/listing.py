"""What the catalog holds, as plain rows for people, each with its source and whether it is sure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.catalog.conductors import Conductor, find_conductor
from analyzer.catalog.frictions import find_friction, friction_names
from analyzer.catalog.nearest import fold_name, nearest_names, nearest_words
from analyzer.catalog.pull_lines import list_pull_lines
from analyzer.catalog.raceways import find_raceway, raceway_types, trade_sizes
from analyzer.catalog.rules import find_rules, rule_set_names
from analyzer.catalog.tables import read_table
from analyzer.errors import CatalogError
from analyzer.units import show_number, to_ft, to_inches, to_lbf, to_lbf_per_ft

__all__ = ["CATALOG_PARTS", "CatalogListing", "catalog_part", "list_catalog"]

CATALOG_PARTS = ("raceways", "conductors", "rules", "frictions", "lines", "limits", "practice")
"""What can be listed, in order."""

_CODE = re.compile(r"[A-Z]\d+: ")  # of a source, in front of its title
_COLUMN_LINE = re.compile(r"[a-z_]+: ")  # says what a column of the file means


@dataclass(frozen=True, slots=True)
class CatalogListing:
    """One part of the catalog: a title, column names, rows of text, and where they come from."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    sources: tuple[str, ...]


def list_catalog(part: str) -> CatalogListing:
    """Return one part of the catalog as plain rows.

    Parameters
    ----------
    part : str
        One of `CATALOG_PARTS`, in any case.

    Raises
    ------
    CatalogError
        If there is no such part; the message names the nearest.
    """
    listings = {
        "raceways": _raceways,
        "conductors": _conductors,
        "rules": _rules,
        "frictions": _frictions,
        "lines": _lines,
        "limits": _limits,
        "practice": _practice,
    }
    return listings[catalog_part(part, CATALOG_PARTS)]()


def catalog_part(text: str, parts: Sequence[str]) -> str:
    """Return the part that a text names, in any case.

    Raises
    ------
    CatalogError
        If there is no such part; the message names the nearest.
    """
    for name in parts:
        if fold_name(name) == fold_name(text):
            return name
    raise CatalogError(
        f"no catalog part {text!r}{nearest_words(nearest_names(text, parts))}. "
        f"There are {', '.join(parts)}"
    )


def _raceways() -> CatalogListing:
    rows = []
    for type in raceway_types():
        for size in trade_sizes(type):
            raceway = find_raceway(type, size)
            radii = dict(raceway.bend_radius_m)
            radius = radii.get(raceway.default_bender)
            rows.append(
                (
                    type,
                    size,
                    show_number(to_inches(raceway.inside_diameter_m), 3),
                    show_number(raceway.area_in2, 3),
                    "" if radius is None else _plain(to_inches(radius)),
                    "" if radius is None else raceway.default_bender,
                    _mark(raceway.confirmed),
                    _mark(raceway.inch_seen),
                )
            )
    return CatalogListing(
        "Raceways",
        (
            "type",
            "trade size",
            "inside diameter in",
            "area in²",
            "bend radius in",
            "bender",
            "confirmed",
            "inch figure read",
        ),
        tuple(rows),
        (
            *_told(read_table("raceways").header),
            *_told(read_table("bend_radius_table_2").header[:1]),
            "inch figure read: no = inch diameter from memory, in agreement with the metric one",
        ),
    )


def _conductors() -> CatalogListing:
    table = read_table("insulated_conductors")
    rows = []
    for row in table.rows:
        types = row["types"].split("(")[0].strip()
        found = [
            find_conductor(row["size_awg_kcmil"], row["insulation"], "copper", None, "stranded")
        ]
        for metal in ("copper", "aluminum"):
            found += _compact(row["size_awg_kcmil"], row["insulation"], metal)
        rows += [_conductor_row(conductor, types) for conductor in found]
    return CatalogListing(
        "Conductors (aluminum may also be stranded, and sizes to 8 AWG solid)",
        (
            "size",
            "insulation",
            "metal",
            "diameter in",
            "area in²",
            "weight lbf/ft",
            "weight",
            "confirmed",
        ),
        tuple(rows),
        (
            *_told(table.header),
            *_told(read_table("compact_conductors").header[:1]),
            *_told(read_table("conductor_weights").header[:1]),
        ),
    )


def _compact(size: str, insulation: str, metal: str) -> list[Conductor]:
    try:
        return [find_conductor(size, insulation, metal, None, "compact")]
    except CatalogError:
        return []


def _conductor_row(conductor: Conductor, types: str) -> tuple[str, ...]:
    metal = conductor.metal if conductor.stranding == "stranded" else f"compact {conductor.metal}"
    return (
        str(conductor.size),
        types,
        str(metal),
        show_number(to_inches(conductor.diameter_m), 3),
        show_number(conductor.area_in2, 4),
        show_number(to_lbf_per_ft(conductor.weight_n_per_m), 3),
        conductor.weight_from,
        _mark(conductor.confirmed),
    )


def _rules() -> CatalogListing:
    rows = []
    for name in rule_set_names():
        rules = find_rules(name)
        length = rules.length_between_pull_points_m
        rows.append(
            (
                name,
                rules.title,
                _plain(rules.degrees_between_pull_points),
                "" if length is None else _plain(to_ft(length)),
                rules.source,
                _mark(rules.confirmed),
                rules.note,
            )
        )
    columns = ("name", "title", "degrees", "length ft", "source", "confirmed", "note")
    return CatalogListing("Rule sets", columns, tuple(rows), _told(read_table("rule_sets").header))


def _frictions() -> CatalogListing:
    rows = []
    for name in friction_names():
        preset = find_friction(name)
        rows.append(
            (
                name,
                preset.raceway,
                preset.jacket,
                preset.condition,
                show_number(preset.low, 2),
                show_number(preset.expected, 2),
                show_number(preset.high, 2),
                preset.source,
                _mark(preset.confirmed),
                preset.note,
            )
        )
    columns = (
        "name",
        "raceway",
        "jacket",
        "condition",
        "low",
        "expected",
        "high",
        "source",
        "confirmed",
        "note",
    )
    return CatalogListing("Frictions", columns, tuple(rows), _told(read_table("frictions").header))


def _lines() -> CatalogListing:
    table = read_table("pull_lines")
    rows = tuple(
        (
            line.kind,
            line.size,
            show_number(to_lbf(line.breaking_strength_n), 0),
            show_number(to_lbf(line.working_load_n), 0),
            line.basis,
            _source(line.source, table.header),
            _mark(line.confirmed),
        )
        for line in list_pull_lines()
    )
    columns = (
        "kind",
        "size in",
        "breaks at lbf",
        "working load lbf",
        "basis",
        "source",
        "confirmed",
    )
    title = "Pulling lines: ropes and tapes (the maker's value of the line in hand governs)"
    return CatalogListing(title, columns, rows, _told(table.header))


def _limits() -> CatalogListing:
    title = "Pulling limits (the cable maker's value governs wherever it is lower or different)"
    return _as_read("pull_limits", title, ("limit", "applies_to", "value", "unit"))


def _practice() -> CatalogListing:
    title = "Rules and habits that the plan uses"
    return _as_read("practice", title, ("rule", "value", "unit"))


def _as_read(name: str, title: str, keys: tuple[str, ...]) -> CatalogListing:
    """Return a table as it stands: its keys, then source, confirmed mark and note."""
    table = read_table(name)
    rows = tuple(
        (
            *(row[key] for key in keys),
            _source(row["source"], table.header),
            row["confirmed"],
            row["note"],
        )
        for row in table.rows
    )
    columns = (*(key.replace("_", " ") for key in keys), "source", "confirmed", "note")
    return CatalogListing(title, columns, rows, _told(table.header))


def _told(header: tuple[str, ...]) -> tuple[str, ...]:
    """Return the lines above a table as people read them: no codes, nothing on its columns."""
    lines = (line for line in header if not _COLUMN_LINE.match(line))
    return tuple(_CODE.sub("", line) for line in lines)


def _source(codes: str, header: tuple[str, ...]) -> str:
    """Return source codes of a row with what the header says they are."""
    titles = dict(line.split(": ", 1) for line in header if _CODE.match(line))
    return "; ".join(titles.get(code.strip(), code.strip()) for code in codes.split(","))


def _plain(value: float) -> str:
    return show_number(value, 2).rstrip("0").rstrip(".")


def _mark(yes: bool) -> str:
    return "yes" if yes else "no"
