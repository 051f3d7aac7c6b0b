"""Text files that end inside their entities: the section closed behind the last whole entity.

The drawing library drops a section without its end, and with it every entity that was saved.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from analyzer.findings import Finding, Severity

__all__ = ["closed_behind_last_entity", "cut_short_finding"]

_ENTITIES = re.compile(
    rb"(?:^|[\r\n])[ \t]*0[ \t]*\r?[\r\n][ \t]*SECTION[ \t]*\r?[\r\n]"
    rb"[ \t]*2[ \t]*\r?[\r\n][ \t]*ENTITIES[ \t]*(?:\r\n|\r|\n)"
)
_PARTS = frozenset({"VERTEX", "ATTRIB", "SEQEND"})
_LAST_OF_A_LINE = "31"  # Z of its end: what may follow does not move it


def closed_behind_last_entity(data: bytes) -> tuple[bytes, int] | None:
    """Return a file that ends inside section ENTITIES with an end put behind its last whole entity.

    Parameters
    ----------
    data : bytes
        A text file.

    Returns
    -------
    bytes, int, or None
        The file with the section closed, and the number of entities in it; None where the file
        does not end inside that section.
    """
    sections = list(_ENTITIES.finditer(data))
    if not sections:
        return None
    section = sections[-1]
    starts: list[tuple[int, str]] = []
    last, end = "", section.end()
    for code, value, at, behind in _tags(data, section.end()):
        if code == "0" and value == "ENDSEC":
            return None
        if code == "0" and (value not in _PARTS or not starts):
            starts.append((at, value))
        last, end = code, behind
    rest = data[end:].strip()
    is_whole = rest == b"0" and data[end:].endswith((b"\n", b"\r"))
    is_whole |= bool(starts) and not rest and last == _LAST_OF_A_LINE and starts[-1][1] == "LINE"
    count = len(starts) if is_whole else len(starts) - 1
    cut = end if is_whole else starts[-1][0] if starts else section.end()
    return data[:cut] + b"  0\nENDSEC\n  0\nEOF\n", max(count, 0)


def _tags(data: bytes, start: int) -> Iterator[tuple[str, str, int, int]]:
    """Group codes and values that end with their line, and where each pair starts and ends."""
    lines = data[start:].splitlines(keepends=True)
    at = start
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        end = at + len(code) + len(value)
        if not value.endswith((b"\n", b"\r")):
            return
        yield _text(code), _text(value), at, end
        at = end


def _text(line: bytes) -> str:
    return line.decode("ascii", "replace").strip()


def cut_short_finding(file: str, count: int) -> Finding:
    """Return what to say of a file that was closed.

    Parameters
    ----------
    file : str
        Its name.
    count : int
        How many whole entities it holds.
    """
    entities = "1 entity" if count == 1 else f"{count} entities"
    message = (
        f"the file ends inside section ENTITIES: it was cut short; {entities} read, what followed "
        "is lost, maybe part of a run. Get the file anew"
    )
    return Finding("cut-short", Severity.ERROR, message, file)
