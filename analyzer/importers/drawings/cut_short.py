"""Text files that end inside their entities: the section closed behind the last whole entity.

The drawing library drops a section without its end, and with it every entity that was saved.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.findings import EVERY_RUN, Finding, Severity
from analyzer.importers.drawings.text_tags import entities_start, text_tags

__all__ = ["closed_behind_last_entity", "cut_short_finding", "cut_short_told"]

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
    begin = entities_start(data)
    if begin is None:
        return None
    starts: list[tuple[int, str]] = []
    last, end = "", begin
    for code, value, at, behind in text_tags(data, begin):
        if code == "0" and value == "ENDSEC":
            return None
        if code == "0" and (value not in _PARTS or not starts):
            starts.append((at, value))
        last, end = code, behind
    rest = data[end:].strip()
    is_whole = rest == b"0" and data[end:].endswith((b"\n", b"\r"))
    is_whole |= bool(starts) and not rest and last == _LAST_OF_A_LINE and starts[-1][1] == "LINE"
    count = len(starts) if is_whole else len(starts) - 1
    cut = end if is_whole else starts[-1][0] if starts else begin
    return data[:cut] + b"  0\nENDSEC\n  0\nEOF\n", max(count, 0)


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
    return Finding("cut-short", Severity.ERROR, message, file, EVERY_RUN)


def cut_short_told(findings: Sequence[Finding]) -> str | None:
    """Return how much of a file that was cut short was read, in few words; None of a whole file.

    Parameters
    ----------
    findings : sequence of Finding
        What opening the file found; it may lack its end mark only, then nothing is known of it.
    """
    codes = {one.code: one.message for one in findings}
    if "cut-short" in codes:
        return codes["cut-short"].partition("; ")[2].partition(",")[0]
    return "" if "no-end-mark" in codes else None
