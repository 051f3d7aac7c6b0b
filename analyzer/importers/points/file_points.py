"""Rows of a file of points with their numbers read: where each point is, and what its row says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.errors import RouteError
from analyzer.geometry.segments import Vector
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.tables import Row
from analyzer.job.settings import FittingKind

__all__ = ["Point", "points_of"]

_KIND_ALIASES = {
    "pb": FittingKind.PULL_BOX,
    "pull": FittingKind.PULL_BOX,
    "jb": FittingKind.JUNCTION_BOX,
    "junction": FittingKind.JUNCTION_BOX,
    "body": FittingKind.CONDUIT_BODY,
    "hh": FittingKind.HANDHOLE,
    "handholes": FittingKind.HANDHOLE,
    "mh": FittingKind.MANHOLE,
    "panelboard": FittingKind.PANEL,
    "equip": FittingKind.EQUIPMENT,
}


@dataclass(frozen=True, slots=True)
class Point:
    """One row read: where it is, and what else the row says."""

    row: int
    run: str
    position_m: Vector
    radius_m: float | None
    kind: FittingKind | None
    label: str


def points_of(
    rows: Sequence[Row],
    lengths: Sequence[Sequence[float | None]],
    layout: Layout,
    file: str,
) -> list[Point]:
    """Return the points of rows, axes turned to east, north and up.

    Parameters
    ----------
    rows : sequence of Row
        One cell a column.
    lengths : sequence of rows of float or None
        Coordinates, then the radius where there is such a column. [m]
    layout : Layout
        What the columns mean.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If a row names a kind of fitting that is not known.
    """
    points = []
    for row, values in zip(rows, lengths, strict=True):
        position = [0.0, 0.0, 0.0]
        for axis, value in zip(layout.axes, values, strict=False):
            # plus zero: a depth of 0 is an elevation of 0, not of -0
            position[axis.coordinate] = axis.sign * (value or 0.0) + 0.0
        points.append(
            Point(
                row=row.number,
                run=_text(row, layout, "run"),
                position_m=(position[0], position[1], position[2]),
                radius_m=values[3] if len(values) > 3 else None,
                kind=_kind(row, layout, file),
                label=_text(row, layout, "label"),
            )
        )
    return points


def _text(row: Row, layout: Layout, role: str) -> str:
    column = layout.extra.get(role)
    return "" if column is None else row.cells[column.index]


def _kind(row: Row, layout: Layout, file: str) -> FittingKind | None:
    text = _text(row, layout, "fitting")
    if not text:
        return None
    folded = "".join(letter for letter in text.casefold() if letter.isalnum())
    for kind in FittingKind:
        if folded == kind.value.replace(" ", ""):
            return kind
    if folded in _KIND_ALIASES:
        return _KIND_ALIASES[folded]
    known = ", ".join(kind.value for kind in FittingKind)
    column = layout.extra["fitting"]
    raise RouteError(
        f"{file}, row {row.number}, column {column.title}: {text!r} is no kind of fitting: write "
        f"one of {known}"
    )
