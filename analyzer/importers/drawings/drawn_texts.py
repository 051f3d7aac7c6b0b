"""Texts of a drawing with the place they stand at, for the names of runs.

A text that is not left-aligned on its base line stands at its alignment point (group 11), whose
insertion point (group 10) means nothing then; both are in object coordinates. The insertion point
of an MTEXT is in world coordinates (DXF reference, TEXT and MTEXT).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analyzer.geometry.segments import Vector, norm
from analyzer.importers.drawings.placements import WORLD, Placement, object_placement

__all__ = ["TEXT_ENTITIES", "DrawnText", "drawn_text"]

TEXT_ENTITIES = frozenset({"TEXT", "MTEXT", "ATTRIB"})
"""Entity types a run can be named by."""

_BETWEEN_BOTH = (3, 5)  # aligned, fit: the text stands between both points


@dataclass(frozen=True, slots=True)
class DrawnText:
    """A text, with the point it is placed by and its height in drawing units."""

    text: str
    position: Vector
    height: float
    layer: str
    handle: str


def drawn_text(entity: Any, placement: Placement, layer: str, handle: str) -> DrawnText | None:
    """Return a text in world coordinates; None where it is empty.

    Parameters
    ----------
    entity : ezdxf entity
        Of a type in `TEXT_ENTITIES`.
    placement : Placement
        Of the block it stands in.
    layer, handle : str
        Layer it counts for, and what a message should point at.
    """
    kind = entity.dxftype()
    if kind == "ATTRIB" and entity.has_embedded_mtext_entity:
        entity, kind = entity.virtual_mtext_entity(), "MTEXT"
    words = " ".join(str(entity.plain_text()).split())
    if not words:
        return None
    if kind == "MTEXT":
        ocs, at, height = WORLD, _floats(entity.dxf.insert), entity.dxf.get("char_height", 0.0)
    else:
        ocs = object_placement(_floats(entity.dxf.get("extrusion", (0.0, 0.0, 1.0))))
        at, height = _text_place(entity), entity.dxf.get("height", 0.0)
    placed = ocs.within(placement)
    scale = norm(placed.direction((0.0, 1.0, 0.0)))
    return DrawnText(words, placed.point(at), float(height) * scale, layer, handle)


def _text_place(entity: Any) -> Vector:
    """Where a text stands in its object coordinates."""
    insert = _floats(entity.dxf.insert)
    if not entity.dxf.hasattr("align_point"):
        return insert
    horizontal, vertical = int(entity.dxf.get("halign", 0)), int(entity.dxf.get("valign", 0))
    second = _floats(entity.dxf.align_point)
    if horizontal in _BETWEEN_BOTH:
        a, b = insert, second
        return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0)
    return second if horizontal or vertical else insert


def _floats(value: Any) -> Vector:
    x, y, z = value
    return (float(x), float(y), float(z))
