"""Group codes and values of one section of a file, text or binary, as they stand there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import TypeAlias

from analyzer.importers.drawings.text_tags import is_binary_file, section_start

__all__ = ["COMMENT", "POINT", "SECOND", "SectionRecord", "section_records"]

SectionRecord: TypeAlias = tuple[bytes, list[bytes], list[bytes]]
"""Type of an entity, and its group codes and values in the order of the file."""

POINT = (b"10", b"20", b"30")
"""Group codes of the first point of an entity: x, y and z (DXF reference)."""

SECOND = (b"11", b"21", b"31")
"""Group codes of its second point."""

COMMENT = b"999"
"""Group code of a comment."""

_END = re.compile(rb"[\r\n][ \t]*0[ \t]*\r?[\r\n][ \t]*ENDSEC[ \t]*[\r\n]")


def section_records(data: bytes, name: str) -> Iterator[SectionRecord]:
    """Yield the type, group codes and values of every entity of a section.

    What stands before the first one has an empty type. The last one of a text file that ends inside
    the section is left out: it may be cut short. Of a binary file the values are those of
    texts, in UTF-8, and of whole numbers only.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Of the section; nothing is yielded where the file holds none.
    """
    tags = _binary_tags if is_binary_file(data) else _text_tags
    codes, values = tags(data, name)
    marks = [index for index, code in enumerate(codes) if code == b"0"]
    bounds = [*marks, len(codes)]
    if bounds[0]:
        yield b"", codes[: bounds[0]], values[: bounds[0]]
    for start, end in pairwise(bounds):
        kind = values[start]
        if kind == b"ENDSEC":
            return
        yield kind, codes[start + 1 : end], values[start + 1 : end]


def _text_tags(data: bytes, name: str) -> tuple[list[bytes], list[bytes]]:
    start = section_start(data, name)
    if start is None:
        return [], []
    end = _END.search(data, start - 1)
    lines = data[start : end.start() + 1 if end else len(data)].splitlines()
    values = [line.strip() for line in lines[1::2]]
    codes = [line.strip() for line in lines[: 2 * len(values) : 2]]
    if end is None and b"0" in codes:
        last = len(codes) - 1 - codes[::-1].index(b"0")
        return codes[:last], values[:last]
    return codes, values


def _binary_tags(data: bytes, name: str) -> tuple[list[bytes], list[bytes]]:
    from ezdxf.lldxf.tagger import binary_tags_loader

    codes: list[bytes] = []
    values: list[bytes] = []
    before: object = None
    is_inside = False
    for code, value in binary_tags_loader(data):
        if is_inside:
            if code == 0 and value == "ENDSEC":
                break
            codes.append(str(code).encode())
            is_told = isinstance(value, str | int)
            values.append(str(value).encode("utf-8", "surrogateescape") if is_told else b"")
        is_inside = is_inside or (code == 2 and value == name and before == "SECTION")
        before = value
    return codes, values
