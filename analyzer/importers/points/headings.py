"""The cells of a header taken apart: which column each names, and the unit it is in."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyzer.errors import RouteError
from analyzer.importers.points.fitting_kinds import may_name_kinds
from analyzer.importers.points.spaced_rows import PLAIN_NUMBER
from analyzer.importers.points.tables import Row
from analyzer.job.words import LENGTH_UNITS
from analyzer.units import LengthUnit

__all__ = [
    "AXIS_SLOT",
    "RADII",
    "Heading",
    "headings_of",
    "length_unit",
    "refuse_glued_row",
    "refuse_unknown_suffix",
    "unknown_unit",
    "without_other_fittings",
]

_STRONG = {
    **dict.fromkeys(("x", "xcoord", "xcoordinate", "coordx", "posx", "positionx", "pointx"), "x"),
    **dict.fromkeys(("y", "ycoord", "ycoordinate", "coordy", "posy", "positiony", "pointy"), "y"),
    **dict.fromkeys(("z", "zcoord", "zcoordinate", "coordz", "posz", "positionz", "pointz"), "z"),
    **dict.fromkeys(("east", "easting", "eastings"), "east"),
    **dict.fromkeys(("north", "northing", "northings"), "north"),
    **dict.fromkeys(("elevation", "elev", "height", "altitude", "up"), "up"),
    **dict.fromkeys(("depth", "tvd", "trueverticaldepth", "verticaldepth", "down"), "depth"),
    **dict.fromkeys(("run", "runname", "raceway", "route"), "run"),
    **dict.fromkeys(("unit", "units", "lengthunit", "lengthunits"), "unit"),
    **dict.fromkeys(("radius", "bendradius", "cornerradius"), "radius"),
    **dict.fromkeys(("fitting", "fittingkind", "kind"), "fitting"),
    **dict.fromkeys(("label", "name", "fittingname", "tag"), "label"),
}
RADII = {
    *("r", "rad", "bendr", "bendrad", "clr", "centerlineradius", "centrelineradius"),
    *("radiusofbend", "radiusofcurve", "biegeradius", "rayon", "radio", "raggio"),
}
"""Other names of a radius, in letters and digits only; `r` and the like may mean something else."""

_WEAK = {
    "e": "east",
    "n": "north",
    "el": "up",
    **dict.fromkeys(("radii", "bendradii", "cornerradii"), "radius"),
    **dict.fromkeys(("fittings", "fittingkinds", "kinds"), "fitting"),
    **dict.fromkeys(("fittingtype", "fittingtypes", "typeoffitting", "kindoffitting"), "fitting"),
    **dict.fromkeys(("labels", "fittingnames", "fittinglabel", "fittinglabels"), "label"),
}
"""Names that count only where no column is called by a plain one of the same role; those of
fittings also tell numbers or types of them, and count only where kinds stand below."""

AXIS_SLOT = {"x": 0, "east": 0, "y": 1, "north": 1, "z": 2, "up": 2, "depth": 2}
"""Which of x, y, z (0, 1, 2) a column gives, by its role."""

_UNIT_SPELLINGS = {
    **LENGTH_UNITS,
    "'": "ft",
    '"': "in",
    "ins": "in",
    "fts": "ft",
    "usft": "us-ft",
    "ftus": "us-ft",
    "us ft": "us-ft",
    "us survey ft": "us-ft",
    "survey feet": "us-ft",
}
_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[\[(](?P<inner>[^\])]*)[\])]\s*$")
_SUFFIX = re.compile(r"^(?P<name>.+?)[\s_,:/.-]+(?P<unit>[^\s_,:/.]+)$")
_WORD_IN = re.compile(r"[\s_,:/.-]+in$", re.IGNORECASE)
"""The word before a unit, as in ``radius in ft``."""

_LEAST_GLUED = 2
"""Numbers among headings from which a row of points is glued to them: the first one may be part of
the last heading."""


@dataclass(frozen=True, slots=True)
class Heading:
    """One header cell taken apart.

    Attributes
    ----------
    title : str
        The cell in quotes, as messages name it.
    role : str
        What the column gives, such as ``x``, ``up``, ``run`` or ``radius``; empty if unknown.
    is_weak : bool
        Whether its name counts only where no other column serves.
    unit : LengthUnit or None
        Unit named in it.
    unknown_unit : str
        What stands in brackets and is no unit known.
    plain : str
        Letters and digits of its name in lower case, unit left out.
    """

    title: str
    role: str
    is_weak: bool
    unit: LengthUnit | None
    unknown_unit: str
    plain: str


def headings_of(row: Row) -> list[Heading]:
    """Return the cells of a header taken apart; a comment sign before the first is dropped."""
    cells = list(row.cells)
    if cells and cells[0] != "#":
        cells[0] = cells[0].removeprefix("#").strip()
    return [_take_apart(cell) for cell in cells]


def without_other_fittings(headings: Sequence[Heading], rows: Sequence[Row]) -> list[Heading]:
    """Return headings, those that may name fittings without a role where no kind stands below.

    Parameters
    ----------
    headings : sequence of Heading
        The header.
    rows : sequence of Row
        Rows below it.
    """
    return [
        replace(heading, role="")
        if heading.is_weak and heading.role == "fitting" and _holds_no_kind(rows, index)
        else heading
        for index, heading in enumerate(headings)
    ]


def _holds_no_kind(rows: Sequence[Row], index: int) -> bool:
    """Whether a column holds something, but no kind of fitting."""
    cells = [row.cells[index] for row in rows if index < len(row.cells) and not row.is_marked]
    return any(cells) and not may_name_kinds(cells)


def _take_apart(cell: str) -> Heading:
    name, unit, unknown = cell, None, ""
    brackets = _BRACKETS.match(cell)
    suffix = _SUFFIX.match(cell)
    if brackets is not None:
        name, inner = brackets["name"], brackets["inner"].strip()
        unit = length_unit(inner) or length_unit(inner.casefold().removeprefix("in "))
        if unit is None and _role(inner)[0] in AXIS_SLOT:
            name = inner
        elif unit is None:
            unknown = inner
    elif not _role(cell)[0] and suffix is not None and length_unit(suffix["unit"]) is not None:
        name, unit = suffix["name"], length_unit(suffix["unit"])
    if not _role(name)[0] and unit is None:
        for spelling in ("us survey feet", "us survey ft", "us survey foot", "us ft", "us-ft"):
            if cell.lower().endswith(spelling):
                name, unit = cell[: -len(spelling)].rstrip(" _,:/.-"), LengthUnit.US_SURVEY_FOOT
    if unit is not None and not _role(name)[0]:
        name = _WORD_IN.sub("", name)
    role, is_weak = _role(name)
    if role == "run" and unit is not None:
        role = ""
    plain = "no" if cell == "#" else _plain(name)
    if not role and unit is not None and plain in RADII:
        role = "radius"
    return Heading(f'"{cell}"', role, is_weak, unit, unknown, plain)


def _role(name: str) -> tuple[str, bool]:
    plain = _plain(name)
    if plain in _STRONG:
        return _STRONG[plain], False
    return _WEAK.get(plain, ""), plain in _WEAK


def _plain(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def length_unit(text: str) -> LengthUnit | None:
    """Return the unit that a text names, else None."""
    folded = " ".join(text.casefold().rstrip(".").split())
    word = _UNIT_SPELLINGS.get(folded)
    return None if word is None else LengthUnit(word)


def unknown_unit(place: str, title: str, unit: str) -> str:
    """Return what to say of a column in a unit that is not known."""
    known = ", ".join(unit.value for unit in LengthUnit)
    return (
        f"{place}: the column {title} has the unit {unit!r}, which is not known here. Known are "
        f"{known}: convert the numbers, or correct the name"
    )


def refuse_unknown_suffix(headings: Sequence[Heading], place: str) -> None:
    """Stop at a coordinate that is called by a unit nobody knows, such as x_furlong.

    Raises
    ------
    RouteError
        If there is one.
    """
    for heading in headings:
        suffix = None if heading.role else _SUFFIX.match(heading.title.strip('"'))
        if suffix is None or not suffix["unit"].isalpha():
            continue
        if _role(suffix["name"])[0] in AXIS_SLOT:
            raise RouteError(unknown_unit(place, heading.title, suffix["unit"]))


def refuse_glued_row(row: Row, below: Sequence[Row], place: str) -> None:
    """Stop at a header that the first row of points is glued to, for want of a line end.

    Parameters
    ----------
    row : Row
        The header.
    below : sequence of Row
        The rows below it.
    place : str
        File and row of the header, for the message.

    Raises
    ------
    RouteError
        If numbers stand among its headings above columns that hold nothing.
    """
    filled = max((i for other in below for i, cell in enumerate(other.cells) if cell), default=-1)
    numbers = [cell for cell in row.cells[filled + 1 :] if PLAIN_NUMBER.fullmatch(cell)]
    if len(numbers) >= _LEAST_GLUED:
        raise RouteError(
            f"{place}: the numbers {', '.join(numbers)} stand among the headings, above no cells: "
            "a row of points is glued to the header, with its first number in the last heading. "
            "Give it a row of its own"
        )
