"""Whether a file holds a whole entity, at a place that can be.

The drawing library fills in a value where the file has none: a line whose end is missing would run
to the origin without a word. It passes on numbers that are none, or larger than any place.
"""

from __future__ import annotations

from math import isfinite
from typing import Any

from analyzer.geometry.segments import Vector

__all__ = ["is_place", "require_place", "require_whole"]

_FARTHEST = 1e15  # drawing units: beyond the earth even in micrometers

_CANNOT_MISS = {
    "LINE": (("start", "start point", 10), ("end", "end point", 11)),
    "CIRCLE": (("center", "center", 10), ("radius", "radius", 40)),
    "ARC": (
        ("center", "center", 10),
        ("radius", "radius", 40),
        ("start_angle", "start angle", 50),
        ("end_angle", "end angle", 51),
    ),
    "ELLIPSE": (
        ("center", "center", 10),
        ("major_axis", "major axis", 11),
        ("ratio", "ratio of the axes", 40),
    ),
    "VERTEX": (("location", "location", 10),),
    "INSERT": (("insert", "insertion point", 10),),
}
"""What an entity cannot be read without: attribute, name, group code (DXF reference, ENTITIES)."""


def require_whole(entity: Any) -> None:
    """Refuse an entity that the file holds only in part.

    Parameters
    ----------
    entity : ezdxf entity
        Any.

    Raises
    ------
    ValueError
        If something is missing that has no default in the file format.
    """
    missing = [
        f"its {name} (group {code})"
        for attribute, name, code in _CANNOT_MISS.get(entity.dxftype(), ())
        if not entity.dxf.hasattr(attribute)
    ]
    if missing:
        raise ValueError(f"the file lacks {', '.join(missing)}")


def is_place(point: Vector) -> bool:
    """Whether a point in drawing units is three finite numbers, none beyond any place on earth."""
    return all(isfinite(value) and abs(value) <= _FARTHEST for value in point)


def require_place(point: Vector) -> None:
    """Refuse a point that is no place.

    Parameters
    ----------
    point : (3,) float
        In drawing units.

    Raises
    ------
    ValueError
        If a coordinate is not finite, or so large that no drawing unit makes a place of it.
    """
    if not is_place(point):
        shown = ", ".join(f"{value:.4g}" for value in point)
        raise ValueError(f"({shown}) is no place; check its numbers in the file or draw it anew")
