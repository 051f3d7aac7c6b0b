"""Raceway and conductors of a job: looked up in the catalog, or stated, or both.

Stated values override those of the catalog. What rests on one text only, on a computed weight or
on an assumed temper or limit is a finding.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from math import pi, sqrt

from analyzer.catalog.conductor_sizes import metal_area_cmil, parse_conductor_size
from analyzer.catalog.conductors import Conductor, find_conductor, metal_weight_n_per_m
from analyzer.catalog.raceways import Raceway, find_raceway, trade_sizes
from analyzer.catalog.tables import read_table
from analyzer.errors import CatalogError
from analyzer.findings import Finding, Severity
from analyzer.job.faults import Faults
from analyzer.job.key_lines import KeyPath, dotted
from analyzer.job.keys import ConductorTable, RacewayTable
from analyzer.job.settings import ConductorLine
from analyzer.units import (
    STANDARD_GRAVITY,
    UnitSystem,
    inches,
    lbf_per_ft,
    show_pressure,
    to_inches,
)

__all__ = ["settle_conductors", "settle_raceway", "sidewall_by_class", "sidewall_class_caution"]

_CLOSE = 0.01  # by which a rounded figure may miss that of the metal
_DENSITIES_KG_M3 = (300.0, 12_000.0)  # own estimates; lead is 11,340, from memory
_ASSUMED_CLASS = "older general rule"
_BUILDING_WIRE_TEMPER = "AA-8000"


def settle_raceway(
    table: RacewayTable | None, faults: Faults, findings: list[Finding]
) -> tuple[Raceway | None, str | None]:
    """Return the raceway and the bender its radius is taken for, both None where not named.

    Parameters
    ----------
    table : RacewayTable or None
        Keys of `[raceway]`; None where they are faulty.
    faults : Faults
        What is wrong is added here.
    findings : list of Finding
        What a person should know is added here.
    """
    if table is None:
        return None, None
    if table.type is None and table.trade_size is None:
        if table.bender is not None:
            faults.add(("raceway", "bender"), 'needs "type" and "trade_size" beside it')
        return None, None
    if table.type is None or table.trade_size is None:
        missing, given = "type", "trade_size"
        if table.type is not None:
            missing, given = given, missing
        faults.add(("raceway", given), f'needs "{missing}" beside it')
        return None, None
    try:
        trade_sizes(table.type)
    except CatalogError as error:
        faults.add(("raceway", "type"), str(error))
        return None, None
    try:
        raceway = find_raceway(table.type, table.trade_size)
    except CatalogError as error:
        faults.add(("raceway", "trade_size"), str(error))
        return None, None
    benders = [bender for bender, _ in raceway.bend_radius_m]
    if table.bender is not None and table.bender not in benders:
        faults.add(
            ("raceway", "bender"),
            f"{raceway.type} has its own table of bend radii: leave the bender out",
        )
    _table_findings(raceway, f"{raceway.type} {raceway.trade_size}", "raceway", findings)
    return raceway, table.bender or raceway.default_bender


def settle_conductors(
    tables: Sequence[ConductorTable | None], key: str, faults: Faults, findings: list[Finding]
) -> tuple[ConductorLine, ...]:
    """Return the conductors of `[[conductors]]` or `[[existing_conductors]]`.

    Parameters
    ----------
    tables : sequence of ConductorTable or None
        One for each entry; None for a faulty one.
    key : str
        ``conductors`` or ``existing_conductors``.
    faults : Faults
        What is wrong is added here.
    findings : list of Finding
        What a person should know is added here.
    """
    lines = []
    for index, table in enumerate(tables):
        if table is None:
            continue
        path: KeyPath = (key, index)
        chosen = _from_catalog(table, path, faults) if _names_a_row(table) else None
        if chosen is None and not _names_a_row(table):
            chosen = _stated(table, path, faults)
        if chosen is None:
            continue
        lines.append(ConductorLine(table.count, chosen, "count" in table.model_fields_set))
        where = dotted(path)
        if "count" not in table.model_fields_set:
            message = f"no count given for {chosen.full_name}: one is taken to be meant"
            findings.append(Finding("count-assumed", Severity.NOTE, message, where))
        _table_findings(chosen, chosen.full_name, where, findings)
        for sentence in chosen.assumptions:
            findings.append(Finding("conductor-assumed", Severity.CAUTION, sentence, where))
        findings += _metal_findings(chosen, where) or _density_findings(chosen, where)
        if key != "conductors":
            continue
        if _needs_temper(table, chosen):
            _temper_finding(chosen, where, findings)
        if chosen.weight_from == "computed":
            _weight_finding(chosen, where, findings)
    return tuple(lines)


def _metal_findings(chosen: Conductor, where: str) -> list[Finding]:
    """Return cautions where a conductor is stated thinner or lighter than the metal in it."""
    if chosen.metal_area_cmil is None or chosen.metal is None:
        return []
    said = []
    bare_m = inches(sqrt(chosen.metal_area_cmil) / 1000.0)
    if chosen.diameter_m < bare_m * (1.0 - _CLOSE):
        said.append(f"the diameter {to_inches(chosen.diameter_m):.3g} in is less")
    solid = metal_weight_n_per_m(chosen.metal_area_cmil, chosen.metal)
    if chosen.weight_n_per_m < solid * (1.0 - _CLOSE):
        said.append(f"the weight {chosen.weight_n_per_m / lbf_per_ft(1.0):.3g} lbf/ft is less")
    messages = [
        f"{chosen.full_name}: {words} than that of its metal alone; check what the job states"
        for words in said
    ]
    return [Finding("conductor-implausible", Severity.CAUTION, text, where) for text in messages]


def _density_findings(chosen: Conductor, where: str) -> list[Finding]:
    """Return a caution where no cable of the stated diameter weighs so little, or so much."""
    area_m2 = pi / 4.0 * chosen.diameter_m**2
    density = chosen.weight_n_per_m / (STANDARD_GRAVITY * area_m2)
    least, most = _DENSITIES_KG_M3
    if least <= density <= most:
        return []
    shown = f"{density / 1000.0:.2g}" if density < 1e5 else f"{density / 1000.0:,.0f}"
    weight = chosen.weight_n_per_m
    message = (
        f"{chosen.full_name}: {weight / lbf_per_ft(1.0):.3g} lbf/ft ({weight:.3g} N/m) at a "
        f"diameter of {to_inches(chosen.diameter_m):.3g} in ({chosen.diameter_m * 1000.0:.3g} mm) "
        f"is {shown} g/cm3, {'lighter' if density < least else 'heavier'} than any cable (water 1, "
        "copper 8.9): check weight and diameter and their units, such as lb/ft for lb/1000 ft or "
        "kg/m for kg/km"
    )
    return [Finding("conductor-implausible", Severity.CAUTION, message, where)]


def sidewall_by_class(
    conductors: Sequence[ConductorLine], findings: list[Finding], stated: float | None
) -> tuple[float, str]:
    """Return the sidewall pressure limit in N/m and where it comes from.

    Stated in the job; else the smallest among the conductors by insulation class; else, also where
    one conductor names no class, the older general rule, with a caution.

    Parameters
    ----------
    conductors : sequence of ConductorLine
        Those to be pulled.
    findings : list of Finding
        What a person should know is added here.
    stated : float or None
        Limit stated in the job. [N/m]
    """
    if stated is not None:
        return stated, "job"
    limits = {
        row["applies_to"]: row
        for row in read_table("pull_limits").rows
        if row["limit"] == "sidewall pressure"
    }
    classes = [line.conductor.insulation_class for line in conductors]
    named = [name for name in classes if name is not None]
    if named and len(named) == len(classes):
        rows = [limits[name] for name in named]
        row = min(rows, key=lambda row: float(row["value"]))
        if row["confirmed"] != "yes":
            findings.append(
                Finding(
                    "table-unconfirmed",
                    Severity.CAUTION,
                    sidewall_class_caution(row["applies_to"]),
                    "limits.sidewall_pressure",
                )
            )
        return lbf_per_ft(float(row["value"])), "insulation class"
    value = float(limits[_ASSUMED_CLASS]["value"])
    findings.append(
        Finding(
            "sidewall-assumed",
            Severity.CAUTION,
            f"no sidewall pressure limit given: {value:g} lbf/ft "
            f"({show_pressure(lbf_per_ft(value), UnitSystem.METRIC)}) assumed, the "
            f"{_ASSUMED_CLASS}; "
            "state the cable maker's value as sidewall_pressure in [limits], or name the "
            "insulation_class of every conductor",
            "limits.sidewall_pressure",
        )
    )
    return lbf_per_ft(value), "assumed"


def sidewall_class_caution(name: str) -> str:
    """Return what job and checks say of the limit of an insulation class read in one text only."""
    return (
        f"sidewall pressure limit of class {name} rests on one text only: compare it with the "
        "cable maker's value"
    )


def _names_a_row(table: ConductorTable) -> bool:
    """Whether a catalog row is meant; a size beside stated figures gives the metal area only."""
    if table.insulation is not None or table.stranding is not None:
        return True
    return table.size is not None and (table.diameter is None or table.weight is None)


def _needs_temper(table: ConductorTable, chosen: Conductor) -> bool:
    is_building_wire = _names_a_row(table) and chosen.metal == "aluminum"
    return is_building_wire and table.temper is None and table.max_tension is None


def _from_catalog(table: ConductorTable, path: KeyPath, faults: Faults) -> Conductor | None:
    missing = [key for key in ("size", "insulation", "metal") if getattr(table, key) is None]
    if missing:
        names = " and ".join(f'"{key}"' for key in missing)
        faults.add(path, f"a conductor from the catalog needs {names} too")
        return None
    assert table.size is not None and table.insulation is not None and table.metal is not None
    try:
        found = find_conductor(
            table.size, table.insulation, table.metal, table.temper, table.stranding
        )
    except CatalogError as error:
        faults.add((*path, _blamed_key(str(error))), str(error))
        return None
    doubts = found.doubt.split("; ") if found.doubt else []
    if table.name is not None:
        found = replace(found, name=table.name)
    if table.diameter is not None:
        found = replace(found, diameter_m=table.diameter, area_in2=_area_in2(table.diameter))
        doubts = [doubt for doubt in doubts if "diameter" not in doubt]
    if table.weight is not None:
        found = replace(
            found, weight_n_per_m=table.weight, weight_from="stated", weight_allowance=1.0
        )
        doubts = [doubt for doubt in doubts if "weight" not in doubt]
    return replace(
        found,
        max_tension_n=table.max_tension,
        insulation_class=table.insulation_class,
        confirmed=not doubts,
        doubt="; ".join(doubts),
    )


def _blamed_key(message: str) -> str:
    """Key whose line a message of the catalog points at."""
    keys = "insulation|metal|temper|stranding"
    found = re.match(rf"(?:no |a )?({keys})\b", message)
    return found[1] if found else "size"


def _stated(table: ConductorTable, path: KeyPath, faults: Faults) -> Conductor | None:
    before = len(faults.found)
    if table.diameter is None and table.weight is None:
        faults.add(
            path,
            "needs size, insulation and metal from the catalog, or a stated diameter and weight",
        )
    elif table.diameter is None or table.weight is None:
        missing = "diameter" if table.diameter is None else "weight"
        faults.add(path, f'a stated conductor needs "{missing}" too')
    if table.size is not None and table.metal is None:
        faults.add((*path, "size"), 'needs "metal" beside it: together they give the strength')
    if table.temper is not None and table.metal != "aluminum":
        faults.add((*path, "temper"), 'is for metal = "aluminum" only')
    size, area_cmil = None, None
    if table.size is not None:
        try:
            size = parse_conductor_size(table.size)
            area_cmil = metal_area_cmil(size)
        except CatalogError as error:
            faults.add((*path, "size"), str(error))
    if len(faults.found) > before or table.diameter is None or table.weight is None:
        return None
    what = "conductor" if path[0] == "conductors" else "existing conductor"
    return Conductor(
        name=table.name or f"{what} {int(path[1]) + 1}",
        size=size,
        insulation=None,
        metal=table.metal,
        temper=table.temper,
        stranding=None,
        diameter_m=table.diameter,
        area_in2=_area_in2(table.diameter),
        weight_n_per_m=table.weight,
        weight_from="stated",
        weight_allowance=1.0,
        metal_area_cmil=area_cmil,
        max_tension_n=table.max_tension,
        insulation_class=table.insulation_class,
        confirmed=True,
        source="job",
    )


def _area_in2(diameter_m: float) -> float:
    return pi / 4.0 * to_inches(diameter_m) ** 2


def _table_findings(
    row: Raceway | Conductor, name: str, where: str, findings: list[Finding]
) -> None:
    if not row.confirmed:
        doubt = f" ({row.doubt})" if row.doubt else ""
        findings.append(
            Finding(
                "table-unconfirmed",
                Severity.CAUTION,
                f"{name}: a table value is not confirmed{doubt}; compare it with the code book",
                where,
            )
        )
    if not row.inch_seen:
        findings.append(
            Finding(
                "inch-value-not-seen",
                Severity.NOTE,
                f"{name}: an inch figure of the tables was not read on a page; it agrees with "
                "the metric one, and its last digit can differ from print",
                where,
            )
        )


def _temper_finding(conductor: Conductor, where: str, findings: list[Finding]) -> None:
    findings.append(
        Finding(
            "temper-assumed",
            Severity.CAUTION,
            f"{conductor.full_name}: no temper given, {_BUILDING_WIRE_TEMPER} assumed for the "
            "tension limit; state temper",
            where,
        )
    )


def _weight_finding(conductor: Conductor, where: str, findings: list[Finding]) -> None:
    percent = (conductor.weight_allowance - 1.0) * 100.0
    doubt = conductor.weight_doubt
    why = (
        f", with {doubt} by common practice: no data sheet was there to compare"
        if doubt
        else ", because the model reads up to 5.6 % low against published weights"
    )
    findings.append(
        Finding(
            "weight-computed",
            Severity.CAUTION,
            f"{conductor.full_name}: weight computed from metal and insulation, raised by "
            f"{percent:.0f} % for every force{why}; state weight to use the maker's figure",
            where,
        )
    )
