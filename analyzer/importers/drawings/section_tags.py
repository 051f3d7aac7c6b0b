"""Group codes and values of one section of a file, text or binary, as they stand there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from analyzer.importers.drawings.text_tags import is_binary_file, section_start

__all__ = ["section_records"]

_END = re.compile(rb"[\r\n][ \t]*0[ \t]*\r?[\r\n][ \t]*ENDSEC[ \t]*[\r\n]")


def section_records(data: bytes, name: str) -> Iterator[tuple[bytes, list[bytes], list[bytes]]]:
    """Yield the type, group codes and values of every entity of a section.

    What stands before the first one has an empty type. Of a binary file the values are those of
    texts only, in UTF-8.

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
    return [line.strip() for line in lines[: 2 * len(values) : 2]], values


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
            is_text = isinstance(value, str)
            values.append(value.encode("utf-8", "surrogateescape") if is_text else b"")
        is_inside = is_inside or (code == 2 and value == name and before == "SECTION")
        before = value
    return codes, values
