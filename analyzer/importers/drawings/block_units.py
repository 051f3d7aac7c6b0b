"""Blocks that name another unit than the drawing they are inserted in.

A drawing program scales a block by the units of both as it inserts it, and keeps that in the scale
of the reference. At scale one nothing was scaled: one of the two units may be wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from analyzer.findings import Concern, Finding, Severity
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.insunits import INSUNITS
from analyzer.importers.drawings.units import drawn_extents
from analyzer.importers.extents import drawn_size
from analyzer.importers.told_places import UnitText
from analyzer.units import LengthUnit

__all__ = ["UnscaledBlock", "block_unit", "block_unit_findings", "is_unscaled"]


@dataclass(frozen=True, slots=True)
class UnscaledBlock:
    """A block that names a unit and is inserted at scale one.

    Attributes
    ----------
    name, where : str
        Its name, and layer and handle of a reference to it.
    code : int
        Code of its unit, as in `$INSUNITS`.
    first, last : int
        Which of the entities read are its own: from the first up to the last, not included.
    """

    name: str
    where: str
    code: int
    first: int
    last: int


def block_unit(block: Any) -> int:
    """Return the code of the unit that a block names; 0 for none."""
    record = getattr(block, "block_record", None)
    return 0 if record is None else int(record.dxf.get("units", 0))


def is_unscaled(insert: Any) -> bool:
    """Return whether a block reference leaves the size of its block as it is."""
    scales = (float(insert.dxf.get(f"{axis}scale", 1.0)) for axis in "xyz")
    return all(abs(abs(scale) - 1.0) <= 1e-9 for scale in scales)


def block_unit_findings(
    blocks: Sequence[UnscaledBlock], entities: Sequence[DrawnEntity], code: int | None
) -> list[Finding]:
    """Return a caution for every block whose unit is not that of the drawing.

    Parameters
    ----------
    blocks : sequence of UnscaledBlock
        Blocks that hold curves which are read.
    entities : sequence of DrawnEntity
        What is read, in drawing units.
    code : int or None
        `$INSUNITS` of the drawing; nothing is said where it names no unit.
    """
    named = INSUNITS.get(code) if code else None
    if named is None or named.unit is None:
        return []
    findings = []
    for block in blocks:
        own = INSUNITS.get(block.code)
        if own is None or own.unit is None or own.unit is named.unit:
            continue
        own_entities = entities[block.first : block.last]
        size = max(drawn_size(*drawn_extents(own_entities)))
        message = (
            f"block {block.name!r} names {own.name} as its unit, the drawing {named.name}, and it "
            f"is inserted at scale 1: it is read in {named.name}, {_size(size, named.unit)} large; "
            f"in {own.name} it would be {_size(size, own.unit)}. Check a length of it; if it is "
            f"wrong, scale the block by {float(own.unit.factor / named.unit.factor):.6g}"
        )
        concern = Concern(entities=tuple(entity.handle for entity in own_entities))
        findings.append(
            Finding("block-unit-differs", Severity.CAUTION, message, block.where, concern)
        )
    return findings


def _size(size: float, unit: LengthUnit) -> str:
    return (
        f"{UnitText(LengthUnit.FOOT).length(size * float(unit.factor))} ({size:.4g} {unit.value})"
    )
