"""Where block references put their blocks, and how large the symbol in a block is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from analyzer.errors import RouteError
from analyzer.geometry.segments import Vector
from analyzer.importers.drawings.edges import piece_points
from analyzer.importers.drawings.entities import CURVE_ENTITIES, read_entity
from analyzer.importers.drawings.placements import (
    Placement,
    object_placement,
    reference_placement,
    vector_of,
)
from analyzer.importers.drawings.whole_entities import is_place

__all__ = ["placements_of", "symbol_points"]

_MOST_PLACES = 5_000_000
_FILLS = frozenset({"SOLID", "TRACE", "3DFACE"})


def placements_of(insert: Any, block: Any, within: Placement) -> Iterator[Placement]:
    """Yield where a block reference puts its block: once, or at each place of an array.

    Parameters
    ----------
    insert, block : ezdxf entities
        The reference and the block it refers to.
    within : Placement
        Of the block the reference stands in.

    Raises
    ------
    RouteError
        If the array has more than five million places.
    """
    dxf = insert.dxf
    base = block.block.dxf.get("base_point", (0.0, 0.0, 0.0))
    rows, columns = max(int(dxf.get("row_count", 1)), 1), max(int(dxf.get("column_count", 1)), 1)
    row_step, column_step = float(dxf.get("row_spacing", 0)), float(dxf.get("column_spacing", 0))
    rows, columns = (rows if row_step else 1), (columns if column_step else 1)
    if rows * columns > _MOST_PLACES:
        raise RouteError(
            f"block reference {dxf.handle} is an array of {rows} by {columns}; "
            "export the raceway layers only"
        )
    for row in range(rows):
        for column in range(columns):
            yield reference_placement(
                vector_of(dxf.get("insert", (0.0, 0.0, 0.0))),
                (
                    float(dxf.get("xscale", 1.0)),
                    float(dxf.get("yscale", 1.0)),
                    float(dxf.get("zscale", 1.0)),
                ),
                float(dxf.get("rotation", 0.0)),
                vector_of(dxf.get("extrusion", (0.0, 0.0, 1.0))),
                vector_of(base),
                (column * column_step, row * row_step),
            ).within(within)


def symbol_points(block: Any, placement: Placement) -> list[Vector]:
    """Return points of the curves and fills drawn in a symbol, for its size.

    Nested blocks are passed over, and points that are no place.

    Parameters
    ----------
    block : ezdxf entity
        The block.
    placement : Placement
        Where a reference puts it.
    """
    points: list[Vector] = []
    for entity in block:
        fill = entity.dxftype() in _FILLS
        if not fill and entity.dxftype() not in CURVE_ENTITIES:
            continue
        try:
            if fill:
                points.extend(placement.point(corner) for corner in _fill_corners(entity))
                continue
            drawn = read_entity(entity, placement, "0", "")
        except (ValueError, ArithmeticError, LookupError, TypeError, AttributeError):
            continue
        for piece in drawn.pieces if drawn else ():
            points.extend(piece_points(piece, 16))
    return [point for point in points if is_place(point)]


def _fill_corners(entity: Any) -> list[Vector]:
    rows = [entity.dxf.get(f"vtx{number}") for number in range(4)]
    corners = [vector_of(row) for row in rows if row is not None]
    if entity.dxftype() == "3DFACE":
        return corners
    ocs = object_placement(vector_of(entity.dxf.get("extrusion", (0.0, 0.0, 1.0))))
    return [ocs.point(corner) for corner in corners]
