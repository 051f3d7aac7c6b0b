"""Entities that are damaged in the file itself, which the drawing library reads without a word.

A line of the file written twice or lost, or the start of a record lost so that two entities run
together: the drawing library keeps the last value, drops the height, fills in zero, or drops what
stands before the first entity of a section. All of section ENTITIES is looked at, and in section
BLOCKS the blocks that are opened.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum
from itertools import chain

from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.drawings.lost_groups import (
    lost_coordinates,
    lost_points,
    lost_vertex_coordinates,
)
from analyzer.importers.drawings.readable_text import readable
from analyzer.importers.drawings.repeated_groups import repeated_groups
from analyzer.importers.drawings.section_tags import COMMENT, SectionRecord, section_records
from analyzer.importers.drawings.text_tags import is_binary_file
from analyzer.importers.told_places import place_list

__all__ = ["damaged_entity_findings"]

_BOUNDS = frozenset({b"", b"BLOCK", b"ENDBLK"})
_NO_RECORD: SectionRecord = (b"", [], [])


@dataclass(frozen=True, slots=True)
class _Text:
    """Reads the bytes of a file as the drawing library does."""

    encoding: str

    def of(self, value: bytes) -> str:
        from ezdxf.lldxf.encoding import decode_dxf_unicode

        text = value.decode(self.encoding, "surrogateescape")
        return readable(decode_dxf_unicode(text) if "\\U+" in text else text)


class _Fault(Enum):
    """What is wrong with an entity, as the code of its finding."""

    TWICE = "group-repeated"
    NO_START = "entity-start-lost"
    POINTS = "points-lost"
    COORDINATES = "coordinate-lost"


@dataclass(frozen=True, slots=True)
class _Damaged:
    """An entity with what is wrong with it, in words; without a type it stands before the first."""

    fault: _Fault
    what: str
    kind: str
    layers: tuple[str, ...]
    handles: tuple[str, ...]
    section: str
    block: str

    @property
    def place(self) -> str:
        """Block, layer, type and handles."""
        block = f"block {self.block}, " if self.block else ""
        handles = " and ".join(self.handles) or "without a handle"
        what = f"{self.kind} {handles}: {self.what}"
        if not self.kind:
            what = f"entity {handles}, at the start of section {self.section}"
        return f"{block}layer {self.layers[0]}, {what}"


def damaged_entity_findings(
    data: bytes,
    encoding: str,
    is_wanted: Callable[[str], bool],
    is_opened: Callable[[str], bool],
    is_recovered: bool = False,
) -> list[Finding]:
    """Return cautions on entities of wanted layers that are damaged in the file itself.

    They hold a group twice, lost their start, hold another number of points than they state, or
    lack a coordinate beside others.

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
    is_recovered : bool
        Whether the drawing library read it through recovery.
    """
    # what the loader of binary files decoded comes as UTF-8
    text = _Text("utf-8" if is_binary_file(data) else encoding)
    found = [
        one
        for one in chain.from_iterable(
            _damaged(data, section, text, is_recovered) for section in ("BLOCKS", "ENTITIES")
        )
        if any(layer == "0" or is_wanted(layer) for layer in one.layers)
        and (not one.block or is_opened(one.block))
    ]
    places = {fault: [one.place for one in found if one.fault is fault] for fault in _Fault}
    return [
        Finding(
            fault.value, Severity.CAUTION, _message(fault, len(told)), place_list(told), EVERY_RUN
        )
        for fault, told in places.items()
        if told
    ]


def _message(fault: _Fault, count: int) -> str:
    one = count == 1
    if fault is _Fault.TWICE:
        return (
            f"{count} {'entity holds' if one else 'entities hold'} a group twice that stands once: "
            "a line of the file stands twice, or the start of an entity is lost, which then is "
            "missing. What is drawn there may be read elsewhere: save the drawing anew, and "
            "compare the lengths"
        )
    if fault is _Fault.NO_START:
        return (
            "the start of an entity is lost, which then is missing: save the drawing anew, and "
            "compare the lengths"
        )
    if fault is _Fault.POINTS:
        return (
            f"{count} {'entity holds' if one else 'entities hold'} another number of points than "
            "the file states: where a point is lost, the run is read shorter, with a bend fewer or "
            "of another shape. Export the drawing anew from where it was drawn, and compare the "
            "points and the length of the run"
        )
    return (
        f"{count} {'entity lacks' if one else 'entities lack'} a coordinate where the file holds "
        f"others of {'it' if one else 'them'}, or {'holds' if one else 'hold'} it apart: read as "
        "if it were zero, and a normal as upright, which may lower a run, turn a riser into a drop "
        "or tilt a bend. Export the drawing anew from where it was drawn, and compare the "
        "elevations; where zero is meant, write it"
    )


def _damaged(data: bytes, section: str, text: _Text, is_recovered: bool) -> Iterator[_Damaged]:
    """Yield the entities of a section that are damaged, with the first thing that is wrong."""
    block = ""
    head, vertices = _NO_RECORD, list[SectionRecord]()
    for record in chain(section_records(data, section), [_NO_RECORD]):
        kind, codes, values = record
        if kind == b"VERTEX":
            vertices.append(record)
        else:
            # a POLYLINE ends with what is no vertex, whether or not that is its end mark
            lost = lost_vertex_coordinates(head, vertices) if vertices else ""
            if lost:
                yield _told(head, _Fault.COORDINATES, lost, section, block, text)
            head, vertices = (record if kind == b"POLYLINE" else _NO_RECORD), []
        if section == "BLOCKS" and kind in _BOUNDS:
            # what a lost start of a block left behind the end of another bears its name
            names = _texts(b"2", record, text)
            block = names[-1 if kind == b"ENDBLK" else 0] if names else block
        if not kind:
            if any(code != COMMENT for code in codes):
                yield _told(record, _Fault.NO_START, "", section, block, text)
        elif twice := repeated_groups(kind, codes):
            what = f"group {', '.join(twice)}"
            yield _told(record, _Fault.TWICE, what, section, block, text)
        elif lost := lost_points(kind, codes, values):
            yield _told(record, _Fault.POINTS, lost, section, block, text)
        elif lost := lost_coordinates(kind, codes, is_recovered):
            yield _told(record, _Fault.COORDINATES, lost, section, block, text)


def _told(
    record: SectionRecord, fault: _Fault, what: str, section: str, block: str, text: _Text
) -> _Damaged:
    layers = _texts(b"8", record, text) or ("0",)
    if record[0] == b"BLOCK":
        layers = layers[1:] or layers
    handles = _texts(b"5", record, text)
    return _Damaged(fault, what, text.of(record[0]), layers, handles, section, block)


def _texts(wanted: bytes, record: SectionRecord, text: _Text) -> tuple[str, ...]:
    """Return the values of a group."""
    _, codes, values = record
    pairs = zip(codes, values, strict=True)
    return tuple(text.of(value) for code, value in pairs if code == wanted)
