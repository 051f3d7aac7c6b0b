"""Entities of a drawing that hold a group twice which stands once in each, or lost their start.

A line of the file written twice, or the start of a record lost so that two entities run together:
the drawing library keeps the last value, drops the height, or drops what stands before the first
entity of a section, without a word. All of section ENTITIES is looked at, and in section BLOCKS
the blocks that are opened.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.drawings.readable_text import readable
from analyzer.importers.drawings.section_tags import section_records
from analyzer.importers.drawings.text_tags import is_binary_file
from analyzer.importers.told_places import place_list

__all__ = ["repeated_group_findings"]

_POINT, _SECOND = (b"10", b"20", b"30"), (b"11", b"21", b"31")
_IN_ANY = frozenset({b"5", b"8"})
_ONCE: dict[bytes, frozenset[bytes]] = {
    b"LINE": _IN_ANY | {*_POINT, *_SECOND},
    b"CIRCLE": _IN_ANY | {*_POINT, b"40"},
    b"ARC": _IN_ANY | {*_POINT, b"40", b"50", b"51"},
    b"ELLIPSE": _IN_ANY | {*_POINT, *_SECOND, b"40", b"41", b"42"},
    b"VERTEX": _IN_ANY | {*_POINT, b"42"},
    b"INSERT": _IN_ANY | {b"2", *_POINT, b"41", b"42", b"43", b"50"},
    b"LWPOLYLINE": _IN_ANY | {b"38", b"90"},
    b"SPLINE": _IN_ANY | {b"71", b"72", b"73", b"74"},
    # the layer of a block may stand in both of its parts
    b"BLOCK": frozenset({b"2", b"5", *_POINT}),
    b"ENDBLK": frozenset({b"5"}),
}
"""Groups that stand once at most in an entity, `_IN_ANY` in other types (DXF reference)."""

_BOUNDS = frozenset({b"", b"BLOCK", b"ENDBLK"})
_COMMENT = b"999"


@dataclass(frozen=True, slots=True)
class _Text:
    """Reads the bytes of a file as the drawing library does."""

    encoding: str

    def of(self, value: bytes) -> str:
        from ezdxf.lldxf.encoding import decode_dxf_unicode

        text = value.decode(self.encoding, "surrogateescape")
        return readable(decode_dxf_unicode(text) if "\\U+" in text else text)


@dataclass(frozen=True, slots=True)
class _Record:
    """An entity as the file holds it; without a type what stands before the first of a section."""

    kind: str
    twice: tuple[str, ...]
    layers: tuple[str, ...]
    handles: tuple[str, ...]
    section: str
    block: str

    @property
    def place(self) -> str:
        """Block, layer, type and handles."""
        block = f"block {self.block}, " if self.block else ""
        handles = " and ".join(self.handles) or "without a handle"
        what = f"{self.kind} {handles}: group {', '.join(self.twice)}"
        if not self.kind:
            what = f"entity {handles}, at the start of section {self.section}"
        return f"{block}layer {self.layers[0]}, {what}"


def repeated_group_findings(
    data: bytes, encoding: str, is_wanted: Callable[[str], bool], is_opened: Callable[[str], bool]
) -> list[Finding]:
    """Return cautions on entities of wanted layers that hold a group twice or lost their start.

    Any run may lack what was lost.

    Parameters
    ----------
    data : bytes
        The file.
    encoding : str
        Of its text, as the drawing library read it.
    is_wanted : callable
        Whether a layer is read, by its name.
    is_opened : callable
        Whether a block is, by its name.
    """
    # what the loader of binary files decoded comes as UTF-8
    text = _Text("utf-8" if is_binary_file(data) else encoding)
    found = [
        one
        for one in (*_damaged(data, "BLOCKS", text), *_damaged(data, "ENTITIES", text))
        if any(layer == "0" or is_wanted(layer) for layer in one.layers)
        and (not one.block or is_opened(one.block))
    ]
    return [
        *_twice([one.place for one in found if one.kind]),
        *_without_start([one.place for one in found if not one.kind]),
    ]


def _twice(places: Sequence[str]) -> list[Finding]:
    if not places:
        return []
    text = (
        f"{len(places)} {'entity holds' if len(places) == 1 else 'entities hold'} a group twice "
        f"that stands once ({place_list(places)}): a line of the file stands twice, or the start "
        "of an entity is lost, which then is missing. What is drawn there may be read elsewhere: "
        "save the drawing anew, and compare the lengths"
    )
    return [Finding("group-repeated", Severity.CAUTION, text, place_list(places), EVERY_RUN)]


def _without_start(places: Sequence[str]) -> list[Finding]:
    if not places:
        return []
    text = (
        f"the start of an entity is lost, which then is missing ({place_list(places)}): save the "
        "drawing anew, and compare the lengths"
    )
    return [Finding("entity-start-lost", Severity.CAUTION, text, place_list(places), EVERY_RUN)]


def _damaged(data: bytes, section: str, text: _Text) -> Iterator[_Record]:
    """Yield the entities of a section that hold a group twice or have no start."""
    block = ""
    for kind, codes, values in section_records(data, section):
        if section == "BLOCKS" and kind in _BOUNDS:
            # what a lost start of a block left behind the end of another bears its name
            names = [value for code, value in zip(codes, values, strict=True) if code == b"2"]
            block = text.of(names[-1 if kind == b"ENDBLK" else 0]) if names else block
        if kind:
            once = _ONCE.get(kind, _IN_ANY)
            if len(once.intersection(codes)) == sum(code in once for code in codes):
                continue
            counts = Counter(codes)
            twice = tuple(c.decode() for c in counts if c in once and counts[c] > 1)
        elif all(code == _COMMENT for code in codes):
            continue
        else:
            twice = ()
        of = {
            wanted: tuple(text.of(v) for c, v in zip(codes, values, strict=True) if c == wanted)
            for wanted in (b"8", b"5")
        }
        layers = of[b"8"] or ("0",)
        if kind == b"BLOCK":
            layers = layers[1:] or layers
        yield _Record(text.of(kind), twice, layers, of[b"5"], section, block)
