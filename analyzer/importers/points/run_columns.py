"""Which column tells the runs of a point file apart, where none is plainly called run.

Names such as run id, conduit tag or line no serve where no better one does and the rows bear it
out: what differs in every row counts points, and one name on some rows only tells nothing apart. A
bare word such as conduit may as well tell sizes or materials along one run: where it changes, the
person is asked.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from analyzer.errors import RouteError
from analyzer.importers.points.headings import Heading
from analyzer.importers.points.tables import Row

__all__ = ["find_run_column"]

_ENDINGS = ("", "id", "no", "nr", "num", "number", "name", "tag", "mark")
_WORDS = (("run",), ("raceway", "route", "conduit"), ("line", "feeder", "circuit", "duct", "pipe"))
_BARE = {word for words in _WORDS[1:] for word in words}
_NAMES = tuple({word + ending for word in words for ending in _ENDINGS} for words in _WORDS)


def find_run_column(
    headings: Sequence[Heading], taken: Collection[int], rows: Sequence[Row], place: str
) -> int | None:
    """Return the index of the column that tells runs apart, or None where there is none.

    Parameters
    ----------
    headings : sequence of Heading
        The header.
    taken : collection of int
        Columns that are something else.
    rows : sequence of Row
        Rows below the header.
    place : str
        File and row of the header, for messages.

    Raises
    ------
    RouteError
        If two columns of like names tell the rows apart in two ways, or a bare word changes.
    """
    for names in _NAMES:
        called = [
            index
            for index, heading in enumerate(headings)
            if heading.plain in names and heading.unit is None and index not in taken
        ]
        texts = {index: _texts(rows, index) for index in called}
        found = [index for index in called if _tells_apart(texts[index])]
        if len({_blocks(texts[index]) for index in found}) > 1:
            titles = " and ".join(headings[index].title for index in found)
            raise RouteError(
                f"{place}: the columns {titles} tell the rows apart in two ways: call the one that "
                "tells runs apart run"
            )
        if found:
            _refuse_bare_word(headings[found[0]], texts[found[0]], place)
            return found[0]
    return None


def _refuse_bare_word(heading: Heading, texts: Sequence[str], place: str) -> None:
    """Stop where a word that may tell runs apart, or sizes along one, changes."""
    said = list(dict.fromkeys(texts))
    if heading.plain not in _BARE or len(said) < 2:
        return
    raise RouteError(
        f"{place}: the column {heading.title} changes from {said[0]!r} to {said[1]!r}, which may "
        "be another run or only another size or material: call the column run if it tells runs "
        "apart, else call it otherwise, such as remark, and the points are one run"
    )


def _texts(rows: Sequence[Row], index: int) -> list[str]:
    """Return what a column says in the rows that hold something and are no comments."""
    return [
        row.cells[index] if index < len(row.cells) else ""
        for row in rows
        if not row.is_blank and not row.is_marked
    ]


def _tells_apart(texts: Sequence[str]) -> bool:
    names = {text for text in texts if text}
    if not names or (len(names) == 1 and "" in texts):
        return False
    return len(names) < len(texts)


def _blocks(texts: Sequence[str]) -> tuple[int, ...]:
    """Return the same numbers for columns that tell the same rows apart, whatever they say."""
    order: dict[str, int] = {}
    return tuple(order.setdefault(text, len(order)) for text in texts)
