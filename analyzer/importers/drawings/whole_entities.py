"""Whether a file holds a whole entity: the drawing library fills in a value where it has none.

A line whose end is missing would run to the origin without a word.
"""

from __future__ import annotations

from typing import Any

__all__ = ["require_whole"]

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
