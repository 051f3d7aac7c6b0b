"""The length unit of a drawing: the file's own, else the job's, else an error; never a guess."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from analyzer.errors import RouteError
from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.importers.drawings.edges import piece_points
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.insunits import (
    INCH_FORMATS,
    INSUNITS,
    NamedUnit,
    length_format_code,
    named_unit_code,
)
from analyzer.importers.extents import CANDIDATE_UNITS, drawn_size, extents_text
from analyzer.job.settings import Job
from analyzer.units import LengthUnit

__all__ = [
    "asked_or_named_unit",
    "drawn_extents",
    "settled_unit",
]


def settled_unit(
    path: Path, data: bytes, entities: Sequence[DrawnEntity], job: Job
) -> tuple[LengthUnit, str, list[Finding]]:
    """Return the unit of a drawing, who named it, and what a person should know.

    The file's own unit holds; the job speaks where the file does not.

    Parameters
    ----------
    path : Path
        The drawing.
    data : bytes
        The file, for the unit it names.
    entities : sequence of DrawnEntity
        What it draws, in drawing units: its extents are told where no unit is named.
    job : Job
        For the unit that it or an option names.

    Raises
    ------
    RouteError
        If neither says; the message lists the extents in each candidate unit.
    """
    code = named_unit_code(data)
    asked_from = job.drawing_units_from
    unit, unit_from, findings = asked_or_named_unit(path, data, job.drawing.units, asked_from)
    if unit is not None:
        return unit, unit_from, findings
    if code:
        raise RouteError(
            f"{path.name}: $INSUNITS names {_named(code)}, in which no raceway is drawn. Set the "
            "unit of the drawing and save it, or say what it is drawn in:\n"
            f"{_what_to_add(entities)}"
        )
    raise RouteError(
        f"{path.name}: the drawing names no length unit, and none is guessed. Say which it is:\n"
        f"{_what_to_add(entities)}"
    )


def asked_or_named_unit(
    path: Path, data: bytes, asked: LengthUnit | None, asked_from: str
) -> tuple[LengthUnit | None, str, list[Finding]]:
    """Return the unit of a drawing, who named it, and what a person should know.

    Parameters
    ----------
    path : Path
        The drawing.
    data : bytes
        The file: its `$INSUNITS` names the unit, its `$LUNITS` how it shows lengths.
    asked : LengthUnit or None
        Unit that the job or an option names.
    asked_from : str
        ``job`` or ``option``.

    Returns
    -------
    unit, unit_from, findings
        None and an empty text where neither names a unit that a raceway is drawn in.
    """
    code = named_unit_code(data)
    named = INSUNITS.get(code) if code else None
    if code and (named is None or named.unit is None):
        if asked is None:
            return None, "", []
        what = _named(code)
        message = (
            f"the drawing names {what} ($INSUNITS {code}); read as {asked.value}, as the "
            f"{asked_from} says"
        )
        finding = Finding("unit-unusable", Severity.CAUTION, message, path.name, EVERY_RUN)
        return asked, asked_from, [finding]
    if named is not None and named.unit is not None:
        if asked is None:
            return named.unit, "file", _format_findings(path, named, data)
        if asked is named.unit:
            return named.unit, "file", []
        message = (
            f"the drawing says it is drawn in {named.name} ($INSUNITS {code}), the {asked_from} "
            f"says {asked.value}: the drawing is followed, because the {asked_from} speaks only "
            "where the file does not. If the drawing is wrong, set its unit there"
        )
        finding = Finding("unit-differs", Severity.CAUTION, message, path.name, EVERY_RUN)
        return named.unit, "file", [finding]
    return asked, "" if asked is None else asked_from, []


def _format_findings(path: Path, named: NamedUnit, data: bytes) -> list[Finding]:
    """Say where lengths are shown in feet and inches in a drawing of another unit."""
    code = length_format_code(data)
    shown = INCH_FORMATS.get(code) if code else None
    if shown is None or named.unit is None or named.unit is LengthUnit.INCH:
        return []
    unit = named.unit.value
    message = (
        f"the drawing says it is drawn in {named.name} ($INSUNITS), but shows lengths in {shown} "
        f"feet and inches ($LUNITS {code}), which take a drawing unit for an inch: read as "
        f"{named.name}. If it is drawn in inches, set its unit there; if it is not, say so: "
        f'units = "{unit}" under [drawing] in the job, or --units {unit}'
    )
    return [Finding("unit-differs", Severity.CAUTION, message, path.name, EVERY_RUN)]


def _named(code: int) -> str:
    named = INSUNITS.get(code)
    return named.name if named else f"a unit of code {code}, which the file format does not know"


def _what_to_add(entities: Sequence[DrawnEntity]) -> str:
    size = drawn_size(*drawn_extents(entities))
    lines = [
        f'  units = "{unit.value}" under [drawing] in the job, or --units {unit.value}:'
        f" {extents_text(size, unit)}"
        for unit in CANDIDATE_UNITS
    ]
    return "\n".join(lines)


def drawn_extents(entities: Iterable[DrawnEntity]) -> tuple[Vector, Vector]:
    """Return the lower and upper corner of entities, in drawing units."""
    lows, highs = [float("inf")] * 3, [float("-inf")] * 3
    for entity in entities:
        for piece in entity.pieces:
            for point in piece_points(piece, 32):
                for axis in range(3):
                    lows[axis] = min(lows[axis], point[axis])
                    highs[axis] = max(highs[axis], point[axis])
    return (lows[0], lows[1], lows[2]), (highs[0], highs[1], highs[2])
