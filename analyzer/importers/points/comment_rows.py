"""Rows of a point file that are comments: they begin with ``#`` or ``//``.

A comment between points may be a remark on a row, or the heading of another run. It is taken for a
heading where it names a run, or where the leg across it is one that no run has; nothing else tells
the two runs apart then, and they are read as one, which is a caution.
"""

from __future__ import annotations

import re
from bisect import bisect
from collections.abc import Sequence
from itertools import pairwise
from math import inf, radians

from analyzer.errors import RouteError
from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.segments import norm
from analyzer.geometry.vectors import minus
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.file_points import Point
from analyzer.importers.points.row_words import note, row_numbers
from analyzer.importers.points.tables import Row

__all__ = ["comments_left_out", "without_comments"]

_SHEET_ERROR = re.compile(r"#(?:\S*[!?]|N/A|NV)", re.IGNORECASE)
_TOO_NARROW = re.compile("##+")
_SHOWN = 3

_RUN = (
    r"(?:(?:the |a )?(?:start|begin|beginning|end|next|new|another|second|other)\s+(?:of\s+)?)?"
    r"(?:run|raceway|route|conduit|line|feeder|circuit|duct|pipe)"
)
_ID = r"(?:[a-z]{0,4}[ ._-]?\d[\w./-]*|[a-z])"
_NAMES_RUN = re.compile(
    rf"{_RUN}\s*(?:no\.?|nr\.?|number|id|name|tag|mark)?\s*[:#=\"'-]*\s*{_ID}[\"']?"
    r"\s*(?:$|[:;,()=-].*|\b(?:starts?|begins?|ends?|from|continue[sd]|here)\b.*)|"
    r"(?:the )?(?:next|new|another|second|other) (?:run|raceway|route|conduit|feeder|circuit)\W*",
    re.IGNORECASE,
)
"""A word for a run with what tells it from others, and nothing said of it without a mark between,
or that it starts, goes on or ends there; or another run."""

_BARE_ID = re.compile(_ID, re.IGNORECASE)
_FEWEST = 2
"""Points of a run."""

_FAR, _BACK_RAD = 3.0, radians(120.0)
"""A leg so many times as long as the longest other one, or at which the way turns back so far, is
no leg of a run."""


def without_comments(rows: Sequence[Row], layout: Layout, file: str) -> tuple[list[Row], list[Row]]:
    """Return rows that are no comments, and those that are.

    Errors that spreadsheets write, such as ``#REF!``, are no comments. Where the first column is
    no coordinate, names may begin with a number sign: then all of them have to.

    Parameters
    ----------
    rows : sequence of Row
        Rows below the header, blank ones too.
    layout : Layout
        What the columns mean.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If a row may be a point with such a name as well as a comment.
    """
    marked = [row for row in rows if row.is_marked and not _is_sheet_error(row)]
    if not marked:
        return list(rows), []
    if all(axis.column.index != 0 for axis in layout.axes):
        points = [row for row in marked if _holds_point(row, layout)]
        if points and len(points) == sum(_holds_point(row, layout) for row in rows):
            marked = [row for row in marked if not _holds_point(row, layout)]
        elif points:
            raise RouteError(
                f"{file}, {row_numbers([row.number for row in points])}: begins with "
                f"{points[0].cells[0][0]!r} and holds a point, so it may be a comment or a name: "
                "take the row out, or write the name otherwise"
            )
    if not marked:
        return list(rows), []
    left_out = {row.number for row in marked}
    return [row for row in rows if row.number not in left_out], marked


def comments_left_out(
    comments: Sequence[Row], points: Sequence[Point], layout: Layout, file: str
) -> list[Finding]:
    """Return a note that counts comments; a caution where one may head another run.

    Parameters
    ----------
    comments : sequence of Row
        What `without_comments` took out.
    points : sequence of Point
        Points of the file, in its order.
    layout : Layout
        What the columns mean.
    file : str
        Name of the file.
    """
    if not comments:
        return []
    numbers = [row.number for row in comments]
    shown = ", ".join(repr(", ".join(filter(None, row.cells))) for row in comments[:_SHOWN])
    count = f"{len(comments)} comments" if len(comments) > 1 else "a comment"
    more = ", ..." if len(comments) > _SHOWN else ""
    text = f"{row_numbers(numbers)}: {count} left out: {shown}{more}"
    between = any(points[0].row < number < points[-1].row for number in numbers)
    if not between or "run" in layout.extra:
        return [note("rows-comment", text, file)]
    why = _heading(comments, points)
    if why is None:
        text += ". The points above and below are one run; where they are two, add a column run"
        return [note("rows-comment", text, file)]
    text += (
        f". {why}, and the points above and below are read as one run. If they are two, add a "
        "column called run"
    )
    return [Finding("rows-comment", Severity.CAUTION, text, file, EVERY_RUN)]


def _heading(comments: Sequence[Row], points: Sequence[Point]) -> str | None:
    """Return why a comment between points may head another run; None where none looks so."""
    rows = [point.row for point in points]
    above = [bisect(rows, row.number) for row in comments]
    texts = [_said(row) for row in comments]
    inner = [k for k, at in enumerate(above) if 0 < at < len(points)]
    for k in inner:
        if _NAMES_RUN.fullmatch(texts[k]):
            return f"The comment in row {comments[k].number} names a run"
    heads = [k for k, text in enumerate(texts) if _BARE_ID.fullmatch(text) and k in {0, *inner}]
    places = [0, *(above[k] for k in heads if above[k]), len(points)]
    if len({texts[k] for k in heads}) > 1 and all(b - a >= _FEWEST for a, b in pairwise(places)):
        return "Comments stand between the points as names of runs do"
    parted = {above[k] for k in inner}
    legs = [minus(b.position_m, a.position_m) for a, b in pairwise(points)]
    sizes = [norm(leg) for leg in legs]
    longest = max((size for k, size in enumerate(sizes) if k + 1 not in parted), default=inf)
    for at in sorted(parted):
        leg, size = legs[at - 1], sizes[at - 1]
        if min(at, len(points) - at) < _FEWEST or size == 0.0:
            continue
        beside = [legs[k] for k in (at - 2, at) if sizes[k] > 0.0]
        back = any(angle_between(leg, other) > _BACK_RAD for other in beside)
        if back or size > _FAR * longest:
            return (
                f"The way from row {points[at - 1].row} to row {points[at].row}, across a comment, "
                "is unlike the way between two points of one run"
            )
    return None


def _said(row: Row) -> str:
    """Return the words of a comment without what marks it or sets it off."""
    return ", ".join(filter(None, row.cells)).strip("#/ \t=*-_<>[]:.!")


def _is_sheet_error(row: Row) -> bool:
    """Whether the first cell is an error of a spreadsheet, or stood in too narrow a column."""
    first, *rest = row.cells
    too_narrow = _TOO_NARROW.fullmatch(first) is not None and any(rest)
    return too_narrow or _SHEET_ERROR.fullmatch(first) is not None


def _holds_point(row: Row, layout: Layout) -> bool:
    """Whether a row has a number in every coordinate column."""
    indexes = [axis.column.index for axis in layout.axes]
    if len(row.cells) <= max(indexes):
        return False
    return all(any(map(str.isdigit, row.cells[index])) for index in indexes)
