"""Entities of a text drawing that hold a group twice which stands once in each.

A line of the file written twice, or the start of a record lost so that two entities run together:
the drawing library keeps the last value, or drops the height, without a word. Only what section
ENTITIES holds is looked at.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.drawings.text_tags import entities_start
from analyzer.importers.told_places import place_list

__all__ = ["repeated_group_findings"]

_BINARY_SENTINEL = b"AutoCAD Binary DXF"
_POINT, _SECOND = (b"10", b"20", b"30"), (b"11", b"21", b"31")
_ONCE: dict[bytes, frozenset[bytes]] = {
    b"LINE": frozenset({b"5", b"8", *_POINT, *_SECOND}),
    b"CIRCLE": frozenset({b"5", b"8", *_POINT, b"40"}),
    b"ARC": frozenset({b"5", b"8", *_POINT, b"40", b"50", b"51"}),
    b"ELLIPSE": frozenset({b"5", b"8", *_POINT, *_SECOND, b"40", b"41", b"42"}),
    b"VERTEX": frozenset({b"5", b"8", *_POINT, b"42"}),
    b"INSERT": frozenset({b"2", b"5", b"8", *_POINT, b"41", b"42", b"43", b"50"}),
    b"LWPOLYLINE": frozenset({b"5", b"8", b"38", b"90"}),
    b"SPLINE": frozenset({b"5", b"8", b"71", b"72", b"73", b"74"}),
}
"""Groups that stand once at most in an entity (DXF reference, ENTITIES)."""


def repeated_group_findings(data: bytes, is_wanted: Callable[[str], bool]) -> list[Finding]:
    """Return a caution on the entities of wanted layers that hold a group twice.

    Any run may lack what was lost.

    Parameters
    ----------
    data : bytes
        The file; of a binary file nothing is said.
    is_wanted : callable
        Whether a layer is read, by its name.
    """
    start = None if data.startswith(_BINARY_SENTINEL) else entities_start(data)
    if start is None:
        return []
    lines = data[start:].splitlines()
    codes = [line.strip() for line in lines[::2]]
    values = lines[1::2]
    marks = [index for index, code in enumerate(codes) if code == b"0"]
    places = []
    for first, end in zip(marks, [*marks[1:], len(values)], strict=True):
        kind = values[first].strip() if first < len(values) else b"ENDSEC"
        if kind == b"ENDSEC":
            break
        once = _ONCE.get(kind)
        if once is None:
            continue
        held = codes[first + 1 : end]
        if len(set(held) & once) == sum(code in once for code in held):
            continue
        twice = [c.decode() for c, number in Counter(held).items() if c in once and number > 1]
        record = list(zip(held, values[first + 1 : end], strict=False))
        layers = [_text(value) for code, value in record if code == b"8"] or ["0"]
        if any(layer == "0" or is_wanted(layer) for layer in layers):
            handles = [_text(value) for code, value in record if code == b"5"]
            what = f"{kind.decode()} {' and '.join(handles) or 'without a handle'}"
            places.append(f"layer {layers[0]}, {what}: group {', '.join(twice)}")
    if not places:
        return []
    text = (
        f"{len(places)} {'entity holds' if len(places) == 1 else 'entities hold'} a group twice "
        f"that stands once ({place_list(places)}): a line of the file stands twice, or the start "
        "of an entity is lost, which then is missing. What is drawn there may be read elsewhere: "
        "save the drawing anew, and compare the lengths"
    )
    return [Finding("group-repeated", Severity.CAUTION, text, place_list(places), EVERY_RUN)]


def _text(value: bytes) -> str:
    return value.decode("utf-8", "replace").strip()
