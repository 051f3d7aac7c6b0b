"""Fill: conductors against the room in the raceway, by count or by percentage."""

from __future__ import annotations

from dataclasses import replace

from analyzer.catalog.fill import (
    fill_limit_percent,
    fill_percent,
    is_nipple,
    max_conductor_count,
    nipple_fill_percent,
)
from analyzer.catalog.raceways import Raceway
from analyzer.checks.check import Check
from analyzer.checks.situation import Situation, at_most, settled, table_doubts
from analyzer.findings import Verdict
from analyzer.job.settings import ConductorLine, FittingKind
from analyzer.units import show_number

__all__ = ["check_fill"]

_ENCLOSURES = (FittingKind.PULL_BOX, FittingKind.JUNCTION_BOX, FittingKind.PANEL)
_OLDER_TABLE = "ENT"


def check_fill(situation: Situation) -> tuple[Check, ...]:
    """Return the fill check of the raceway, conductors already in it included.

    Equal conductors are held to the published count, which rounds up where the decimal is 0.8 or
    more; where that lets the percentage of Table 1 be passed, the message says so. Conductors of
    several sizes are held to the percentage. A run that is a nipple, no longer than Note 4 says
    and with a box, cabinet or similar enclosure named at both ends, is held to the percentage of
    a nipple instead.
    """
    job = situation.job
    lines = (*job.conductors, *job.existing)
    raceway = job.raceway
    edition = situation.rules.edition
    if raceway is None:
        return (
            Check(
                code="fill",
                leg=None,
                direction=None,
                verdict=Verdict.NOT_CHECKED,
                value=None,
                limit=None,
                unit="percent",
                where="whole run",
                station_m=None,
                source=f"NEC {edition} Chapter 9 Table 1",
                message="Fill not checked: name the raceway type and trade size.",
            ),
        )
    doubts = table_doubts(situation, existing=True)
    is_between = all(item.kind in _ENCLOSURES for item in situation.run.fittings)
    if is_between and is_nipple(situation.run.centerline.length_m):
        found = _in_nipple(raceway, lines, doubts, edition)
    elif len({line.conductor.area_in2 for line in lines}) == 1:
        found = _by_count(raceway, lines, doubts, edition)
    else:
        found = _by_percentage(raceway, lines, doubts, edition)
    if raceway.type == _OLDER_TABLE:
        note = (
            " Areas of the older table of ENT: that of later editions is larger, so this is the "
            "safe side."
        )
        found = replace(found, message=found.message + note)
    return (found,)


def _area_in2(lines: tuple[ConductorLine, ...]) -> float:
    return sum(line.count * line.conductor.area_in2 for line in lines)


def _by_count(
    raceway: Raceway, lines: tuple[ConductorLine, ...], doubts: tuple[str, ...], edition: str
) -> Check:
    count = sum(line.count for line in lines)
    conductor = lines[0].conductor
    allowed = max_conductor_count(raceway, conductor)
    percent = fill_percent(raceway, _area_in2(lines))
    limit_percent = fill_limit_percent(count)
    passes = count <= allowed
    relation = "within" if passes else "above"
    is_listed = "Table" in conductor.source
    published = "published count" if is_listed else "count, by the stated diameter,"
    message = (
        f"Fill: {count} × {conductor.full_name} in {raceway.type} {raceway.trade_size}: {relation} "
        f"the {published} of {allowed}; {show_number(percent, 1)} % of the inside area."
    )
    if passes and percent > limit_percent:
        message += (
            f" That is above the {limit_percent:.0f} % of Table 1: Note 7 rounds the count of "
            "equal conductors up where the decimal is 0.8 or more."
        )
    return _check(
        float(count), float(allowed), "count", settled(passes, doubts), message, doubts,
        f"NEC {edition} Chapter 9 Table 1 and Note 7, areas of Tables 4 and {_area_tables(lines)}",
    )  # fmt: skip


def _by_percentage(
    raceway: Raceway, lines: tuple[ConductorLine, ...], doubts: tuple[str, ...], edition: str
) -> Check:
    count = sum(line.count for line in lines)
    what = f"{count} conductors of several sizes in {raceway.type} {raceway.trade_size} take"
    clause = f"NEC {edition} Chapter 9 Table 1"
    return _of_area(raceway, lines, doubts, fill_limit_percent(count), what, clause)


def _in_nipple(
    raceway: Raceway, lines: tuple[ConductorLine, ...], doubts: tuple[str, ...], edition: str
) -> Check:
    name = f"{raceway.type} {raceway.trade_size}"
    what = f"a nipple of {name} between enclosures; the conductors take"
    clause = f"NEC {edition} Chapter 9 Note 4"
    return _of_area(raceway, lines, doubts, nipple_fill_percent(), what, clause)


def _of_area(
    raceway: Raceway,
    lines: tuple[ConductorLine, ...],
    doubts: tuple[str, ...],
    limit: float,
    what: str,
    clause: str,
) -> Check:
    """Hold the share of the inside area to a limit; more digits where the two are close."""
    percent = fill_percent(raceway, _area_in2(lines))
    passes = at_most(percent, limit)
    shown = show_number(percent, 1 if abs(percent - limit) >= 0.05 else 4)
    relation = "within" if passes else "above"
    message = f"Fill: {what} {shown} % of the inside area, {relation} the {limit:.0f} % allowed."
    return _check(
        percent, limit, "percent", settled(passes, doubts), message, doubts,
        f"{clause}, areas of Tables 4 and {_area_tables(lines)}",
    )  # fmt: skip


def _area_tables(lines: tuple[ConductorLine, ...]) -> str:
    """Tables the conductor areas come from; stated conductors by pi/4 d² (Note 5)."""
    tables = []
    for line in lines:
        source = line.conductor.source
        if "Table 5A" in source:
            tables.append("5A")
        elif "Table 5" in source:
            tables.append("5")
        elif "Table 8" in source:
            tables.append("8")
        else:
            tables.append("the stated diameters (Note 5)")
    return ", ".join(dict.fromkeys(tables)) + "; table values of NEC 2011"


def _check(
    value: float,
    limit: float,
    unit: str,
    verdict: Verdict,
    message: str,
    doubts: tuple[str, ...],
    source: str,
) -> Check:
    if verdict is Verdict.CAUTION:
        message += f" Caution: {'; '.join(doubts)}."
    return Check(
        code="fill",
        leg=None,
        direction=None,
        verdict=verdict,
        value=value,
        limit=limit,
        unit=unit,
        where="whole run",
        station_m=None,
        source=source,
        message=message,
        doubts=doubts if verdict is Verdict.CAUTION else (),
    )
