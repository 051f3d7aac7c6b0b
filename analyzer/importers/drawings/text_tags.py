"""The lines of a text DXF file in pairs of group code and value, with where they stand.

For what the drawing library does not tell of a file: it stops at damage, and fills in what is
missing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

__all__ = ["entities_start", "is_binary_file", "section_start", "text_tags"]

_BINARY_SENTINEL = b"AutoCAD Binary DXF"

_SECTION = (
    rb"(?:^|[\r\n])[ \t]*0[ \t]*\r?[\r\n][ \t]*SECTION[ \t]*\r?[\r\n]"
    rb"[ \t]*2[ \t]*\r?[\r\n][ \t]*%s[ \t]*(?:\r\n|\r|\n)"
)


def is_binary_file(data: bytes) -> bool:
    """Return whether a file says in its first bytes that it is a binary one."""
    return data.startswith(_BINARY_SENTINEL)


def entities_start(data: bytes) -> int | None:
    """Return where the content of section ENTITIES starts; None without it.

    Parameters
    ----------
    data : bytes
        A text file.
    """
    return section_start(data, "ENTITIES")


def section_start(data: bytes, name: str) -> int | None:
    """Return where the content of a section starts, of several the last; None without it.

    Parameters
    ----------
    data : bytes
        A text file.
    name : str
        Of the section.
    """
    sections = list(re.finditer(_SECTION % name.encode(), data))
    return sections[-1].end() if sections else None


def text_tags(data: bytes, start: int) -> Iterator[tuple[str, str, int, int]]:
    """Yield group codes and values whose line is whole, and where each pair starts and ends.

    Parameters
    ----------
    data : bytes
        A text file.
    start : int
        Where to begin: at a group code.
    """
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
