"""Columns of a point file that are not used: told, and with a caution where one may be needed.

It may where its name is a slip of one that is read or tells of radii or bends, or where its cells
name kinds of fittings; not where another column gives the same already.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from analyzer.catalog.nearest import nearest_name
from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.points.fitting_kinds import names_kind
from analyzer.importers.points.headings import RADII, Heading
from analyzer.importers.points.radius_columns import has_colors, holds_radii
from analyzer.importers.points.tables import Row

__all__ = ["unused_findings"]

_PLAIN = {
    **dict.fromkeys(("radius", "bend radius"), "radius"),
    **dict.fromkeys(("fitting", "fitting kind"), "fitting"),
    "label": "label",
}
"""Names of which others may be a slip, and the role of each."""

_NO_RADIUS = (
    *("angle", "deg", "degree", "degrees", "no", "nr", "num", "number", "id", "type", "mark"),
    *("tag", "name", "count", "direction", "plane", "note", "notes", "remark", "remarks"),
)
"""Endings of names, and words in them, that tell something else of a bend than its radius."""

_NO_RADIUS_OF_BENDS = ("search", "accuracy", "error", "earth", "confidence", "tolerance", "buffer")
"""Words beside a radius that is none of a bend."""

_LENGTHS_OF_BENDS = (
    *("length", "len", "station", "sta", "chainage", "distance", "elev", "elevation", "height"),
    *("x", "y", "z", "east", "easting", "north", "northing", "depth", "offset", "allowance"),
    *("tangent", "deduct", "gain", "setback"),
)
"""Words beside a bend that tell another length of it than its radius."""

_WORDS = re.compile(r"[a-z]+|°")

_SMALL_PART = re.compile(r"[0-4][.,]\d*[1-9]\d*")
"""Below five and not whole: no angle that anybody bends (common practice), no count."""


def unused_findings(
    unused: Sequence[tuple[int, Heading]], roles: Collection[str], rows: Sequence[Row], place: str
) -> list[Finding]:
    """Return a caution for each column that may be needed, and a note that names all others.

    Parameters
    ----------
    unused : sequence of (int, Heading)
        Columns that nothing is read from, with their index.
    roles : collection of str
        What other columns give.
    rows : sequence of Row
        Rows below the header.
    place : str
        File and row of the header.
    """
    found, rest = [], []
    rows = [row for row in rows if not row.is_blank and not row.is_marked]
    colored = has_colors(heading for _, heading in unused)
    for index, heading in unused:
        cells = [row.cells[index] if index < len(row.cells) else "" for row in rows]
        doubt = "" if colored and heading.plain in RADII else _doubt(heading, cells, roles)
        if doubt:
            text = f"the column {heading.title} is not used, and {doubt}"
            found.append(Finding("column-like", Severity.CAUTION, text, place, EVERY_RUN))
        else:
            rest.append(heading.title)
    if rest:
        text = f"columns not used: {', '.join(rest)}"
        found.append(Finding("columns-unused", Severity.NOTE, text, place))
    return found


def _doubt(heading: Heading, cells: Sequence[str], roles: Collection[str]) -> str:
    """Return why a column may be needed and what to do; empty where nothing speaks for it."""
    near = nearest_name(heading.plain, _PLAIN)
    role = _PLAIN[near] if near is not None else None
    if role == "radius" and _tells_otherwise(heading):
        role = None
    if role is not None and role not in roles and _FITS[role](cells):
        return (
            f'its name is near one that is read: did you mean "{near}"? Call it that, or otherwise '
            "if it tells something else"
        )
    if "radius" not in roles and _may_be_radius(heading, cells) and holds_radii(cells):
        return (
            "may hold radii of bends: if it does, call it radius with its unit, such as radius_ft, "
            "else call it otherwise, such as remark"
        )
    if "fitting" not in roles and (kinds := _kinds(cells)):
        return (
            f"names kinds of fittings, such as {kinds[0]!r}: call it fitting if they stand there, "
            "else take the column out"
        )
    return ""


def _may_be_radius(heading: Heading, cells: Sequence[str]) -> bool:
    """Whether a column may be one of radii: it says so, or holds lengths and is called by bends."""
    if heading.plain in RADII:
        return True
    if _tells_otherwise(heading):
        return False
    if "radius" in heading.plain or "radii" in heading.plain:
        return True
    words = set(_words(heading))
    if "bend" not in heading.plain or set(_LENGTHS_OF_BENDS) & words:
        return False
    return heading.unit is not None or "size" in words or any(map(_SMALL_PART.fullmatch, cells))


def _tells_otherwise(heading: Heading) -> bool:
    """Whether a name that has to do with bends or radii tells of an angle, a number or the like."""
    words = {"°", *_NO_RADIUS} & set(_words(heading))
    others = any(word in heading.plain for word in _NO_RADIUS_OF_BENDS)
    return heading.plain.endswith(_NO_RADIUS) or bool(words) or others


def _words(heading: Heading) -> list[str]:
    return _WORDS.findall(heading.title.casefold())


def _kinds(cells: Sequence[str]) -> list[str]:
    """Return cells that name kinds of fittings, the ends of the file left out, where most do."""
    filled = [cell for cell in cells if cell]
    kinds = [cell for cell in filled if names_kind(cell)]
    inner = [cell for cell in cells[1:-1] if cell in kinds]
    return inner if 2 * len(kinds) > len(filled) else []


def _name_kinds(cells: Sequence[str]) -> bool:
    return any(map(names_kind, cells))


def _holds_words(cells: Sequence[str]) -> bool:
    return any(any(map(str.isalpha, cell)) for cell in cells)


_FITS = {"radius": holds_radii, "fitting": _name_kinds, "label": _holds_words}
"""Whether cells are such as a column of each role holds: settings are no slip of fittings."""
