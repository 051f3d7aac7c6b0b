"""Handles that a file does not give, or gives twice: what messages can point at."""

from __future__ import annotations

from collections import Counter

from analyzer.findings import Finding, Severity
from analyzer.importers.drawings.opened_layout import OpenedLayout
from analyzer.importers.drawings.text_tags import entities_start, is_binary_file, text_tags
from analyzer.importers.told_places import place_list

__all__ = ["handle_findings"]

_LOOKED_AT = 100_000  # bytes: hundreds of entities, which have handles all or none


def handle_findings(held: OpenedLayout, data: bytes, file: str) -> list[Finding]:
    """Say where handles named in messages are not found in the drawing, or stand for several.

    Parameters
    ----------
    held : OpenedLayout
        What is read.
    data : bytes
        The file.
    file : str
        Its name.
    """
    if _lacks_handles(data):
        message = (
            "the file gives its entities no handles: those named here are numbers given on "
            "reading, in the order of the file. Save it anew in the drawing program to have "
            "handles that can be looked for"
        )
        return [Finding("handles-missing", Severity.NOTE, message, file)]
    return _shared_handles(held)


def _lacks_handles(data: bytes) -> bool:
    """Whether a text file holds entities, and the first hundreds have no handle."""
    start = None if is_binary_file(data) else entities_start(data)
    if start is None:
        return False
    has_entity = False
    for code, value, _, _ in text_tags(data[: start + _LOOKED_AT], start):
        if code == "0" and value == "ENDSEC":
            break
        has_entity = has_entity or code == "0"
        if code == "5":
            return False
    return has_entity


def _shared_handles(held: OpenedLayout) -> list[Finding]:
    """List handles that stand for more than one entity: nothing can be pointed at by them."""
    counts = Counter(one.handle for one in held.entities if " > " not in one.handle)
    shared = [handle for handle, count in counts.items() if count > 1 and handle != "none"]
    if not shared:
        return []
    message = (
        "the same handle stands for several entities, so that a handle named here may mean any of "
        "them; save the drawing anew in the drawing program"
    )
    where = place_list([f"handle {handle}" for handle in shared])
    return [Finding("handle-shared", Severity.CAUTION, message, where)]
