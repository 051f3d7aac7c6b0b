"""Which of east, north and up each coordinate column gives: by its header, or by the job's `axes`.

`axes` counts the coordinate columns as they stand in the file, whatever their headers call them.
A header that names a direction holds; letters such as x and y are what the job may say otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.errors import JobError, RouteError
from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.points.headings import AXIS_SLOT
from analyzer.importers.points.tables import Row
from analyzer.units import LengthUnit

__all__ = ["Axis", "Column", "axes_of", "axis_of", "check_axes"]

_MINUS = ("-", "\u2212", "(")
_DIRECTIONS = {
    "east": (0, 1),
    "west": (0, -1),
    "north": (1, 1),
    "south": (1, -1),
    "up": (2, 1),
    "depth": (2, -1),
}
_BY_LETTER = {"x": "east", "y": "north", "z": "up"}


@dataclass(frozen=True, slots=True)
class Column:
    """One column used.

    Attributes
    ----------
    index : int
        Its place in a row, from 0.
    title : str
        How messages name it: its header in quotes, or its number.
    unit : LengthUnit or None
        Unit named in the header.
    """

    index: int
    title: str
    unit: LengthUnit | None = None


@dataclass(frozen=True, slots=True)
class Axis:
    """A coordinate column: which of x, y, z it gives (0, 1, 2) and with which sign."""

    column: Column
    coordinate: int
    sign: int


def axis_of(column: Column, direction: str) -> Axis:
    """Return a column as the axis that counts in a direction, such as ``north`` or ``depth``."""
    return Axis(column, *_DIRECTIONS[direction])


def check_axes(axes: tuple[str, str, str]) -> None:
    """Refuse what is not one direction for each of the three axes.

    Raises
    ------
    JobError
        With what is needed.
    """
    known = [_DIRECTIONS[word][0] for word in axes if word in _DIRECTIONS]
    if sorted(known) != [0, 1, 2]:
        raise JobError(
            f"axes under [drawing] is {list(axes)}: it needs one of east or west, one of north or "
            'south, one of up or depth, in the order of the columns, such as ["north", "east", '
            '"depth"]'
        )


def axes_of(
    columns: dict[str, Column],
    axes: tuple[str, str, str] | None,
    rows: Sequence[Row],
    place: str,
) -> tuple[tuple[Axis, Axis, Axis], list[Finding]]:
    """Return the axes of the coordinate columns of a file, and what to know of them.

    Parameters
    ----------
    columns : dict of str to Column
        By role; one column for each of x, y and z, others are passed over.
    axes : three str or None
        Directions from the job, in the order of the columns.
    rows : sequence of Row
        The points.
    place : str
        File and row of the header, for messages.

    Returns
    -------
    tuple of Axis, list of Finding
        Those of x, y, z as headed. Where `axes` say more than the header, what each column was
        taken as: a note; a caution where the columns stand in another order than x, y, z and one
        is taken for another axis than its letter, since axes or header may be wrong then.

    Raises
    ------
    RouteError
        If a column counts depth and no axes are given.
    JobError
        If the axes contradict a column whose header names its direction.
    """
    roles = sorted((role for role in columns if role in AXIS_SLOT), key=AXIS_SLOT.__getitem__)
    in_file = sorted(roles, key=lambda role: columns[role].index)
    if axes is None:
        if "depth" in roles:
            _refuse_depth(columns["depth"], _line(in_file, ("east", "north", "up")), rows, place)
        meaning = {role: _BY_LETTER.get(role, role) for role in roles}
    else:
        meaning = dict(zip(in_file, axes, strict=True))
        wrong = [role for role in in_file if role in _DIRECTIONS and meaning[role] != role]
        if wrong:
            raise JobError(
                f"{place}: axes = {list(axes)} under [drawing] says that the column "
                f"{columns[wrong[0]].title} is {meaning[wrong[0]]}: correct one of the two. In the "
                f"order of the columns, the header says {_line(in_file, axes)}"
            )
    first, second, third = (axis_of(columns[role], meaning[role]) for role in roles)
    found = [] if axes is None else _taken_as(columns, roles, in_file, meaning, place)
    return (first, second, third), found


def _refuse_depth(depth: Column, line: str, rows: Sequence[Row], place: str) -> None:
    """Stop at a depth that the job does not speak of, with the line that does."""
    say = f"{line} under [drawing] in the job"
    if _are_negative(rows, depth.index):
        raise RouteError(
            f"{place}: the column {depth.title} is called a depth, and its numbers are below "
            "zero. If minus means below, they are elevations: call the column elevation. "
            f"If they count depth, positive down, they lie above zero: say {say}"
        )
    raise RouteError(
        f"{place}: the column {depth.title} counts depth, positive down. Say so with {say}, or "
        "name an elevation"
    )


def _line(in_file: Sequence[str], axes: tuple[str, str, str]) -> str:
    """Return the line of the job that gives columns the axes of their headers.

    Of a column headed by a letter, it takes the direction that `axes` name for that axis.
    """
    by_slot = {_DIRECTIONS[word][0]: word for word in axes}
    words = [role if role in _DIRECTIONS else by_slot[AXIS_SLOT[role]] for role in in_file]
    return "axes = [{}]".format(", ".join(f'"{word}"' for word in words))


def _taken_as(
    columns: dict[str, Column],
    roles: Sequence[str],
    in_file: Sequence[str],
    meaning: dict[str, str],
    place: str,
) -> list[Finding]:
    """Return what each column was taken as, where the job says more than the header."""
    letters = [role for role in in_file if role in _BY_LETTER]
    is_reordered = list(in_file) != list(roles)
    if not letters or not (is_reordered or any(meaning[r] != _BY_LETTER[r] for r in letters)):
        return []
    taken = ", ".join(f"{columns[role].title} as {meaning[role]}" for role in in_file)
    text = f"axes under [drawing] count the columns as they stand in the file: {taken}"
    against = [role for role in letters if _DIRECTIONS[meaning[role]][0] != AXIS_SLOT[role]]
    if not (is_reordered and against):
        return [Finding("axes-by-job", Severity.NOTE, text, place)]
    words = tuple(meaning[role] for role in in_file)
    line = _line(in_file, (words[0], words[1], words[2]))
    text += (
        f". The header calls them {', '.join(in_file)}: if that is right, the route is read "
        f"mirrored or turned; say {line}. If axes are right, call the columns by their directions"
    )
    return [Finding("axes-against-header", Severity.CAUTION, text, place, EVERY_RUN)]


def _are_negative(rows: Sequence[Row], index: int) -> bool:
    """Whether numbers of a column begin with a minus sign, and all others are zero."""
    cells = [row.cells[index] for row in rows if index < len(row.cells) and not row.is_marked]
    below = [cell for cell in cells if cell.startswith(_MINUS)]
    return bool(below) and all(
        cell in below or not any(digit in cell for digit in "123456789") for cell in cells
    )
