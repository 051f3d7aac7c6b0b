"""Texts of a drawing with the place they stand at, for the names of runs.

A text that is not left-aligned on its base line stands at its alignment point (group 11), whose
insertion point (group 10) means nothing then; both are in object coordinates. The insertion point
of an MTEXT is in world coordinates (DXF reference, TEXT and MTEXT). A multileader stands where its
arrow points, the first point of each of its leader lines, in world coordinates (DXF reference,
MLEADER); it names what it points at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analyzer.geometry.segments import Vector, norm
from analyzer.importers.drawings.placements import WORLD, Placement, object_placement, vector_of
from analyzer.importers.drawings.whole_entities import require_place

__all__ = ["TEXT_ENTITIES", "DrawnText", "drawn_texts"]

_LEADERS = frozenset({"MULTILEADER", "MLEADER"})  # two names of one type

TEXT_ENTITIES = frozenset({"TEXT", "MTEXT", "ATTRIB", *_LEADERS})
"""Entity types a run can be named by."""

_BETWEEN_BOTH = (3, 5)  # aligned, fit: the text stands between both points


@dataclass(frozen=True, slots=True)
class DrawnText:
    """A text, with the point it is placed by and its height in drawing units.

    `layout` is the paper space layout it stands in; empty in model space.
    """

    text: str
    position: Vector
    height: float
    layer: str
    handle: str
    layout: str = ""


def drawn_texts(
    entity: Any, placement: Placement, layer: str, handle: str
) -> tuple[DrawnText, ...]:
    """Return a text in world coordinates; nothing where it is empty.

    A multileader is one text at every place that it points at.

    Parameters
    ----------
    entity : ezdxf entity
        Of a type in `TEXT_ENTITIES`.
    placement : Placement
        Of the block it stands in.
    layer, handle : str
        Layer it counts for, and what a message should point at.

    Raises
    ------
    ValueError
        If it stands at no place.
    """
    kind = entity.dxftype()
    if kind == "ATTRIB" and entity.has_embedded_mtext_entity:
        entity, kind = entity.virtual_mtext_entity(), "MTEXT"
    words = " ".join((_leader_words(entity) if kind in _LEADERS else entity.plain_text()).split())
    if not words:
        return ()
    ocs = WORLD
    if kind in _LEADERS:
        places, height = _arrows(entity), entity.context.char_height
    elif kind == "MTEXT":
        places, height = [vector_of(entity.dxf.insert)], entity.dxf.get("char_height", 0.0)
    else:
        ocs = object_placement(vector_of(entity.dxf.get("extrusion", (0.0, 0.0, 1.0))))
        places, height = [_text_place(entity)], entity.dxf.get("height", 0.0)
    placed = ocs.within(placement)
    stands = [placed.point(at) for at in places]
    for point in stands:
        require_place(point)
    size = float(height) * norm(placed.direction((0.0, 1.0, 0.0)))
    return tuple(DrawnText(words, point, size, layer, handle) for point in stands)


def _leader_words(leader: Any) -> str:
    """Return the text of a multileader, or the attributes of the block it shows instead."""
    from ezdxf.tools.text import fast_plain_mtext

    if leader.has_mtext_content:
        return str(fast_plain_mtext(leader.get_mtext_content()))
    return " ".join(str(attribute.text) for attribute in leader.block_attribs)


def _arrows(leader: Any) -> list[Vector]:
    """Return where the arrows of a multileader point; where it has none, where it stands."""
    context = leader.context
    lines = [line for one in context.leaders for line in one.lines if line.vertices]
    if lines:
        return [vector_of(line.vertices[0]) for line in lines]
    content = context.mtext or context.block
    return [vector_of(content.insert)] if content else []


def _text_place(entity: Any) -> Vector:
    """Where a text stands in its object coordinates."""
    insert = vector_of(entity.dxf.insert)
    if not entity.dxf.hasattr("align_point"):
        return insert
    horizontal, vertical = int(entity.dxf.get("halign", 0)), int(entity.dxf.get("valign", 0))
    second = vector_of(entity.dxf.align_point)
    if horizontal in _BETWEEN_BOTH:
        a, b = insert, second
        return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0)
    return second if horizontal or vertical else insert
