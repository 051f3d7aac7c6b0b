"""Columns of a point file that nothing is read from, and yet say something about its rows.

Numbers of points or stations that do not ascend say another order than the file's; a value that
stays the same over blocks of rows may tell runs apart.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import groupby, pairwise

from analyzer.findings import EVERY_RUN, Concern, Finding, Severity
from analyzer.importers.points.axis_columns import Column
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.row_words import note
from analyzer.importers.points.tables import Row

__all__ = ["block_cautions", "order_cautions"]

_COUNTED = ("point", "pt", "station", "sta", "shot", "vertex", "line", "row", "seq", "sequence")
_ENDINGS = ("", "id", "no", "nr", "num", "number")
_ORDER_NAMES = {word + ending for word in _COUNTED for ending in _ENDINGS} | {
    *("id", "no", "nr", "num", "number", "index", "idx", "order", "item", "step", "stationing"),
    *("chainage", "ch", "kp", "md", "measureddepth"),
}
_DESCRIBE = (
    *("type", "size", "material", "floor", "level", "storey", "date", "time", "height", "aff"),
    *("diameter", "color", "colour", "phase", "remark", "remarks", "note", "notes", "comment"),
    *("comments", "description", "rms", "accuracy", "quality"),
)
"""Endings of names of columns that tell something else of a point than its run."""

_NUMBERED = re.compile(r"(?P<before>\D*?)(?P<number>\d+(?:\+\d+)?(?:[.,]\d+)?)(?P<after>\D*)")
_PLAIN = re.compile(r"[+-]?\d+(?:\.\d+)?")


def order_cautions(rows: Sequence[Row], layout: Layout, file: str) -> list[Finding]:
    """Return what to say where numbers of points or stations are not those of the file's order.

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
    for column, plain in layout.unused:
        if plain in _ORDER_NAMES:
            found += _order(rows, column, layout, file)
    return found


def _order(rows: Sequence[Row], column: Column, layout: Layout, file: str) -> list[Finding]:
    falls: list[tuple[Row, Row]] = []
    rises = 0
    for run in _by_run(rows, layout):
        numbers = _numbers([row.cells[column.index] for row in run])
        pairs = zip(pairwise(run), pairwise(numbers), strict=True) if numbers else ()
        for (before, row), (first, second) in pairs:
            if second < first:
                falls.append((before, row))
            rises += second > first
    if not falls:
        return []
    before, row = falls[0]
    if not rises:
        text = f"the numbers of column {column.title} fall along the run: it is read as the rows go"
        return [note("rows-descend", text, file)]
    more = f", and so {len(falls) - 1} more times" if len(falls) > 1 else ""
    text = (
        f"the column {column.title} goes from {before.cells[column.index]!r} to "
        f"{row.cells[column.index]!r} at row {row.number}{more}: the rows are read in the order of "
        "the file, their numbers say another. "
    )
    seen = [other.cells[column.index] for other in rows]
    if len(set(seen)) < len(seen) and "run" not in layout.extra:
        text += "Numbers come again, as where another run begins: a column run tells runs apart"
    else:
        text += "Sort them by that column if it is the order of the points"
    where = f"{file}, row {row.number}"
    concern = Concern(entities=tuple(f"row {later.number}" for _, later in falls))
    return [Finding("rows-out-of-order", Severity.CAUTION, text, where, concern)]


def _by_run(rows: Sequence[Row], layout: Layout) -> list[list[Row]]:
    run = layout.extra.get("run")
    if run is None:
        return [list(rows)]
    runs: dict[str, list[Row]] = {}
    for row in rows:
        runs.setdefault(row.cells[run.index], []).append(row)
    return list(runs.values())


def _numbers(texts: Sequence[str]) -> list[float]:
    """Return the numbers of texts such as 7, P7 or 12+34.5; none unless all are written alike."""
    if all(text.isdecimal() or _PLAIN.fullmatch(text) for text in texts):
        return [float(text) for text in texts]
    matches = [match for match in map(_NUMBERED.fullmatch, texts) if match]
    if len(matches) < len(texts) or len({(m["before"], m["after"]) for m in matches}) > 1:
        return []
    whole = [re.sub(r",(?=\d{3}$)", "", match["number"]) for match in matches]
    return [float(text.replace("+", "").replace(",", ".")) for text in whole]


def block_cautions(rows: Sequence[Row], layout: Layout, file: str) -> list[Finding]:
    """Return a caution where a column may tell runs apart and no column is called run.

    Parameters
    ----------
    rows : sequence of Row
        One cell a column.
    layout : Layout
        What the columns mean.
    file : str
        Name of the file.
    """
    if "run" in layout.extra:
        return []
    columns = [
        column
        for column, plain in layout.unused
        if plain not in _ORDER_NAMES - {"id"} and not plain.endswith(_DESCRIBE)
    ]
    if "label" in layout.extra and "fitting" not in layout.extra:
        columns.append(layout.extra["label"])
    found = []
    for column in columns:
        blocks = [list(block) for _, block in groupby(rows, _text_of(column))]
        if len(blocks) < 2 or any(len(b) < 2 or not b[0].cells[column.index] for b in blocks):
            continue
        texts = [
            f"{b[0].cells[column.index]!r} in rows {b[0].number} to {b[-1].number}"
            for b in blocks[:2]
        ]
        more = f" and {len(blocks) - 2} more" if len(blocks) > 2 else ""
        text = (
            f"the column {column.title} stays the same over blocks of rows ({', '.join(texts)}"
            f"{more}), and all are read as one run. If it tells runs apart, call it run"
        )
        found.append(Finding("runs-may-differ", Severity.CAUTION, text, file, EVERY_RUN))
    return found


def _text_of(column: Column) -> Callable[[Row], str]:
    return lambda row: row.cells[column.index]
