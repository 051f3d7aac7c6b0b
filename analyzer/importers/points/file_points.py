"""Rows of a file of points with their numbers read: where each point is, and what its row says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.errors import RouteError
from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.fitting_kinds import fitting_kind
from analyzer.importers.points.tables import Row
from analyzer.job.settings import FittingKind

__all__ = ["Point", "negative_depths", "points_of", "unsure_kinds"]


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


def negative_depths(
    lengths: Sequence[Sequence[float | None]], layout: Layout, file: str
) -> list[Finding]:
    """Return a caution where a column read as depth holds numbers below zero and none above.

    Parameters
    ----------
    lengths : sequence of rows of float or None
        Coordinates in the order of the axes. [m]
    layout : Layout
        What the columns mean.
    file : str
        Name of the file.
    """
    found = []
    for place, axis in enumerate(layout.axes):
        values = [read[place] or 0.0 for read in lengths]
        if axis.coordinate != 2 or axis.sign > 0 or max(values) > 0.0 or min(values) == 0.0:
            continue
        text = (
            f"the numbers of column {axis.column.title} are below zero and read as depth, positive "
            "down: what is farther below zero is read as higher, and a drop as a rise. If minus "
            "means below, call the column elevation, and say up in axes"
        )
        found.append(Finding("depth-negative", Severity.CAUTION, text, file))
    return found


def unsure_kinds(rows: Sequence[Row], layout: Layout, file: str) -> list[Finding]:
    """Return a caution for each kind of fitting that is written with a question mark.

    Parameters
    ----------
    rows : sequence of Row
        One cell a column.
    layout : Layout
        What the columns mean.
    file : str
        Name of the file.
    """
    found = []
    for row in rows:
        text = _text(row, layout, "fitting")
        kind = fitting_kind(text) if "?" in text else None
        if kind is None:
            continue
        message = (
            f"row {row.number}, column {layout.extra['fitting'].title}: {text!r} is read as "
            f"{kind.value}: find out whether it stands there, and take the question mark out"
        )
        place, concern = f"{file}, row {row.number}", Concern(entities=(f"row {row.number}",))
        found.append(Finding("fitting-unsure", Severity.CAUTION, message, place, concern))
    return found


def _text(row: Row, layout: Layout, role: str) -> str:
    column = layout.extra.get(role)
    return "" if column is None else row.cells[column.index]


def _kind(row: Row, layout: Layout, file: str) -> FittingKind | None:
    text = _text(row, layout, "fitting")
    if not text:
        return None
    kind = fitting_kind(text)
    if kind is not None:
        return kind
    known = ", ".join(kind.value for kind in FittingKind)
    column = layout.extra["fitting"]
    raise RouteError(
        f"{file}, row {row.number}, column {column.title}: {text!r} is no kind of fitting: write "
        f"one of {known}, or call the column otherwise if it tells something else"
    )
