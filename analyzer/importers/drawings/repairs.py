"""What recovery did to a damaged drawing: as findings in plain words, and beside an error.

The drawing library tells its repairs in words of its own; a person needs to know what was in the
file and what was made of it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from analyzer.errors import ElsewhereError, RouteError
from analyzer.findings import EVERY_RUN, NO_RUN, Concern, Finding, Severity
from analyzer.importers.drawings.entities import CURVE_ENTITIES

__all__ = [
    "LostRouteError",
    "damage_text",
    "plain_fault",
    "recovery_concern",
    "repair_findings",
    "telling_damage",
    "without_joined_digits",
    "without_misread_numbers",
]

_MAX_REPAIRS_LISTED = 50
_MAX_REPAIRS_TOLD = 3
_MISREAD = re.compile(
    r'recovered invalid (integer|floating point) value "(.*)" near line (\d+) as "(.*)"', re.DOTALL
)
_NEAR_LINES = 60
"""How far off the lines that the drawing library counts may be: it passes over comments."""

_JOINED = re.compile(rb"[0-9]_[0-9]")
_JOINED_NUMBER = re.compile(rb"[+-]?[0-9_.]*[0-9]_[0-9][0-9_.]*(?:[eE][+-]?[0-9_]+)?")
_NUMBER_CODES = (range(10, 60), range(140, 150), range(210, 240))
"""Group codes of numbers with a fraction (DXF reference, group code value types)."""

_DRAW_ROUTES = CURVE_ENTITIES | {"VERTEX", "INSERT", "BLOCK", "MLINE"}
_HARMLESS = frozenset(
    [
        "MISSING_REQUIRED_ROOT_DICT_ENTRY",
        "DUPLICATE_TABLE_ENTRY_NAME",
        "POINTER_TARGET_NOT_EXIST",
        "REMOVED_INVALID_DXF_OBJECT",
        "REMOVED_STANDALONE_ATTRIB_ENTITY",
        "MISPLACED_ROOT_DICT",
        "ROOT_DICT_NOT_FOUND",
        "ACTIVE_PAPERSPACE_LAYOUT_NOT_FOUND",
        "UNDEFINED_LINETYPE",
        "UNDEFINED_DIMENSION_STYLE",
        "UNDEFINED_TEXT_STYLE",
        "REMOVE_EMPTY_GROUP",
        "GROUP_ENTITIES_IN_DIFFERENT_LAYOUTS",
        "MISSING_REQUIRED_SEQEND",
        "INVALID_TABLE_HANDLE",
        "DECODING_ERROR",
        "CREATED_MISSING_OBJECT",
        "RESET_MLINE_STYLE",
        "INVALID_GROUP_ENTITIES",
        "MISSING_PERSISTENT_REACTOR",
        "INVALID_ENTITY_HANDLE",
        "INVALID_OWNER_HANDLE",
        "INVALID_COLOR_INDEX",
        "INVALID_LINEWEIGHT",
        "INVALID_MLINESTYLE_HANDLE",
        "INVALID_DIMSTYLE",
        "INVALID_DICTIONARY_ENTRY",
        "INVALID_CHARACTER",
        "INVALID_MLINESTYLE_ELEMENT_COUNT",
        "INVALID_DIMENSION_GEOMETRY_LOCATION",
        "INVALID_TRANSPARENCY",
        "INVALID_HATCH_BOUNDARY_PATH",
        "INVALID_MESH_DATA",
    ]
)
"""Names the drawing library gives to repairs that touch neither place nor shape of an entity."""

_HANDLE = re.compile(r"Invalid handle (.*)\.", re.DOTALL)


def plain_fault(fault: str) -> str:
    """Return why a drawing could not be read plainly, with what recovery makes of a bad handle.

    Parameters
    ----------
    fault : str
        Message of the drawing library.
    """
    match = _HANDLE.fullmatch(fault)
    if match is None:
        return fault
    what = f"no valid handle, {match[1]!r}" if match[1].strip() else "an empty handle"
    return f"an entity has {what}: such entities were given new handles"


def recovery_concern(fault: str) -> Concern:
    """Return what a recovered drawing concerns: any run, unless only handles were given anew.

    Parameters
    ----------
    fault : str
        Message of the drawing library.
    """
    return EVERY_RUN if _HANDLE.fullmatch(fault) is None else NO_RUN


def _repair_concern(entry: Any) -> Concern:
    """Return what a repair concerns: any run, where it took or changed what draws a route."""
    from ezdxf.audit import AuditError

    if entry.entity is not None and entry.entity.dxftype() not in _DRAW_ROUTES:
        return NO_RUN
    return NO_RUN if AuditError(entry.code).name in _HARMLESS else EVERY_RUN


def without_misread_numbers(data: bytes, auditor: Any) -> tuple[bytes, frozenset[str]]:
    """Return a text file with no number where recovery read one out of what is none.

    What needs such a number can then be refused, with its layer and handle.

    Parameters
    ----------
    data : bytes
        The file.
    auditor : ezdxf.audit.Auditor
        What the drawing library noted.

    Returns
    -------
    bytes, frozenset of str
        The file, and what the drawing library noted of those numbers; empty where it is as it was.
    """
    lines = data.splitlines(keepends=True)
    refused = set()
    for kind, text, line, read, note in _matches(auditor.errors):
        if kind == "integer":
            continue
        near = range(max(int(line) - _NEAR_LINES, 0), min(int(line) + _NEAR_LINES, len(lines)))
        found = [k for k in near if lines[k].decode("utf-8", "ignore").strip() == text.strip()]
        if _is_same(text, read):
            # a number beside the bad one, or one with bytes in it that are no text
            found = [k for k in found if not lines[k].isascii()]
        if found:
            at = min(found, key=lambda k: abs(k + 1 - int(line)))
            lines[at] = lines[at].replace(lines[at].strip(), b"nan", 1)
            refused.add(note)
    return b"".join(lines) if refused else data, frozenset(refused)


def without_joined_digits(data: bytes, file: str) -> tuple[bytes, list[Finding]]:
    """Return a text file with no number where digits are joined by an underscore, and what it was.

    The drawing library reads such a text as a number.

    Parameters
    ----------
    data : bytes
        The file.
    file : str
        Its name.
    """
    if _JOINED.search(data) is None:
        return data, []
    lines = data.splitlines(keepends=True)
    found = []
    for at in range(1, len(lines)):
        text, code = lines[at].strip(), lines[at - 1].strip()
        if not _JOINED_NUMBER.fullmatch(text) or not code.isdigit():
            continue
        if any(int(code) in codes for codes in _NUMBER_CODES):
            lines[at] = lines[at].replace(text, b"nan", 1)
            message = f"{text.decode()!r} near line {at + 1} is no number"
            found.append(Finding("drawing-repair", Severity.CAUTION, message, file, EVERY_RUN))
    return b"".join(lines) if found else data, found[:_MAX_REPAIRS_LISTED]


def _matches(errors: Sequence[Any]) -> list[tuple[str, ...]]:
    """Kind, text, line and value of what was read as something else, and the note of it."""
    notes = (str(entry.message).strip().rstrip(".") for entry in errors)
    return [(*match.groups(), note) for note in notes if (match := _MISREAD.fullmatch(note))]


def repair_findings(file: str, auditor: Any, refused: frozenset[str]) -> list[Finding]:
    """Return one finding for each thing that recovery read otherwise, changed or could not mend.

    Values that were read as something else come first, since a route may hang on them. Those that
    recovery looked at and left as they are make none.

    Parameters
    ----------
    file : str
        Name of the file.
    auditor : ezdxf.audit.Auditor
        What the drawing library noted.
    refused : frozenset of str
        What it noted of numbers that were left without a value.
    """
    misread, rest = _misread(file, auditor.errors, refused)
    entries = [("repaired", entry) for entry in auditor.fixes]
    entries += [("not repaired", entry) for entry in rest]
    found = misread[:_MAX_REPAIRS_LISTED]
    room = _MAX_REPAIRS_LISTED - len(found)
    for what, entry in entries[:room]:
        where = file if entry.entity is None else f"{file}, {entry.entity}"
        message = f"{what}: {str(entry.message).strip().rstrip('.')}"
        concern = _repair_concern(entry)
        found.append(Finding("drawing-repair", Severity.CAUTION, message, where, concern))
    counts = Counter(f"{what} (code {entry.code})" for what, entry in entries[room:])
    if len(misread) > _MAX_REPAIRS_LISTED:
        counts["values that are no numbers"] = len(misread) - _MAX_REPAIRS_LISTED
    if counts:
        text = ", ".join(f"{count} {name}" for name, count in counts.items())
        message = f"{counts.total()} more repairs of the same kinds: {text}"
        more = [_repair_concern(entry) for _, entry in entries[room:]]
        lost = EVERY_RUN in more or len(misread) > _MAX_REPAIRS_LISTED
        concern = EVERY_RUN if lost else NO_RUN
        found.append(Finding("drawing-repair", Severity.CAUTION, message, file, concern))
    return found


def _misread(
    file: str, errors: Sequence[Any], refused: frozenset[str]
) -> tuple[list[Finding], list[Any]]:
    """Return findings of values read as something else, and the entries that are none."""
    found, rest = [], []
    for entry in errors:
        note = str(entry.message).strip().rstrip(".")
        match = _MISREAD.fullmatch(note)
        if match is None:
            rest.append(entry)
            continue
        kind, text, line, read = match.groups()
        if note not in refused and _is_same(text, read):
            continue
        noun = "whole number" if kind == "integer" else "number"
        became = "" if note in refused else f" and was read as {read}"
        message = f"{text.strip()!r} near line {line} is no {noun}{became}"
        found.append(Finding("drawing-repair", Severity.CAUTION, message, file, EVERY_RUN))
    return found, rest


def _is_same(text: str, read: str) -> bool:
    try:
        return float(text) == float(read)
    except ValueError:
        return False


def damage_text(findings: Sequence[Finding]) -> str:
    """Return what an error has to say of damage that may be its cause; empty where none is.

    Parameters
    ----------
    findings : sequence of Finding
        What opening the file found.
    """
    repairs = [one for one in findings if one.code == "drawing-repair"]
    told = [
        one.message.partition("; compare")[0].partition(". Get the")[0]
        for one in findings
        if one.code in ("cut-short", "drawing-recovered", "no-end-mark")
    ]
    told += [one.message for one in repairs[:_MAX_REPAIRS_TOLD]]
    if not told:
        return ""
    more = len(repairs) - _MAX_REPAIRS_TOLD
    text = ". ".join(f"{one[:1].upper()}{one[1:]}" for one in told)
    return (
        f"{text}{f', and {more} more repairs' if more > 0 else ''}. This may be the cause: mend "
        "the file, or get it anew"
    )


class LostRouteError(RouteError):
    """A file cut short before its route: the message tells the damage itself."""


@contextmanager
def telling_damage(findings: Sequence[Finding]) -> Iterator[None]:
    """Add to any error about a route what recovery made of its drawing.

    Parameters
    ----------
    findings : sequence of Finding
        What opening the file found.

    Raises
    ------
    RouteError, ElsewhereError
        The one raised inside, with that added; a `LostRouteError` as it is.
    """
    try:
        yield
    except LostRouteError:
        raise
    except RouteError as error:
        text = damage_text(findings)
        if not text:
            raise
        raise RouteError(_added(str(error), text)) from error
    except ElsewhereError as error:
        text = damage_text(findings)
        if not text:
            raise
        raise ElsewhereError(_added(str(error), text), error.what) from error


def _added(message: str, damage: str) -> str:
    between = "\n" if "\n" in message else ". "
    return f"{message.rstrip('.')}{between}{damage}"
