"""Opening a DXF file: any version, ASCII or binary, damaged ones through recovery.

Whatever goes wrong inside the drawing library becomes a `RouteError`; each repair is a finding.
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analyzer.errors import RouteError
from analyzer.findings import EVERY_RUN, Concern, Finding, Severity
from analyzer.importers.drawings.cut_short import closed_behind_last_entity, cut_short_finding
from analyzer.importers.drawings.repairs import (
    plain_fault,
    recovery_concern,
    repair_findings,
    without_joined_digits,
    without_misread_numbers,
)
from analyzer.importers.drawings.text_tags import is_binary_file

__all__ = ["OpenedDrawing", "guarded", "named_version", "open_drawing", "read_bytes"]

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_VERSION = re.compile(rb"(\$ACADVER[ \t]*\r?\n[ \t]*1[ \t]*\r?\n[ \t]*)([\w.]+)")
_BINARY_VERSION = re.compile(rb"(\$ACADVER\x00\x01\x00?)([\w.]+)")
_OLDER = re.compile(r"AC[12]\.\d+|AC100[0-8]")
_RELEASES = {"AC1002": "R2.5", "AC1003": "R2.6", "AC1004": "R9", "AC1006": "R10"}
_REFERENCE = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*INSERT[ \t]*\r?\n")
_RAISED = {"AC1012": "R13", "AC1014": "R14"}
"""Versions that the drawing library reads as R2000."""

_ZERO = re.compile(r"[+-]?0*\.?0*(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class OpenedDrawing:
    """An opened drawing.

    Attributes
    ----------
    document : ezdxf.document.Drawing
        The drawing.
    data : bytes
        The file as it stands on disk, without a byte-order mark.
    findings : tuple of Finding
        What was repaired while opening it.
    """

    document: Any
    data: bytes
    findings: tuple[Finding, ...]

    @property
    def is_recovered(self) -> bool:
        """Whether it was read through recovery, which puts the coordinates of lines in order."""
        lifted = ("lwpolyline-in-r12", Severity.NOTE)
        return any(
            one.code == "drawing-recovered" or (one.code, one.severity) == lifted
            for one in self.findings
        )


@contextmanager
def guarded(path: Path, doing: str) -> Iterator[None]:
    """Turn any fault of the drawing library into a `RouteError` that names the file.

    Parameters
    ----------
    path : Path
        The file.
    doing : str
        What is done meanwhile, as the subject of a sentence: ``reading the drawing``.

    Raises
    ------
    RouteError
        If anything fails within.
    """
    try:
        yield
    except RouteError as error:
        if path.name in str(error):
            raise
        raise RouteError(f"{path.name}: {error}") from error
    except RecursionError as error:
        raise RouteError(
            f"{path.name}: {doing} never ends: something in it holds itself. "
            "Save it anew in the drawing program, or export the raceway layers only"
        ) from error
    except Exception as error:
        reason = _reason(error)
        raise RouteError(
            f"{path.name}: {doing} failed ({reason}). The file is damaged; "
            "save it anew in the drawing program, or export the raceway layers only"
        ) from error


def _reason(error: Exception) -> str:
    """Return what a library says is wrong; in plain words where it says nothing."""
    told = " ".join(str(error).split())
    unsaid = "it ends too early" if isinstance(error, StopIteration) else "no reason is known"
    return told or unsaid


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a drawing file, without a byte-order mark, after a look at what it is.

    Raises
    ------
    RouteError
        If it is missing, a folder, empty or no DXF file.
    """
    if path.is_dir():
        raise RouteError(f"{path}: is a folder; name a DXF file in it")
    try:
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise RouteError(f"{path}: no such file") from error
    except OSError as error:
        raise RouteError(f"{path}: cannot be read ({error.strerror})") from error
    if not data.strip():
        raise RouteError(f"{path.name}: the file is empty")
    if re.match(rb"AC10\d\d|AC1\.\d", data) and b"\n" not in data[:8]:
        raise RouteError(
            f"{path.name}: this is a DWG file under another name; save it as DXF "
            "in the drawing program"
        )
    return data.removeprefix(_BYTE_ORDER_MARK)


def open_drawing(path: Path) -> OpenedDrawing:
    """Open a DXF file, through recovery where it is damaged.

    Raises
    ------
    RouteError
        If it cannot be opened at all.
    """
    data = read_bytes(path)
    with _quiet(), guarded(path, "reading the drawing"):
        document, findings = _load(path, data)
        lifted = _lift_version(document, data)
        if lifted is not None:
            document, more = lifted
            findings = [*findings, more]
        findings += _read_as_r12(path, data) + _zero_scales(data)
        if not any(one.code == "cut-short" for one in findings):
            findings += _without_end_mark(path, data)
    return OpenedDrawing(document, data, tuple(findings))


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the drawing library's log off the terminal."""
    log = logging.getLogger("ezdxf")
    level, propagate = log.level, log.propagate
    log.setLevel(logging.CRITICAL + 1)
    log.propagate = False
    try:
        yield
    finally:
        log.setLevel(level)
        log.propagate = propagate


def _load(path: Path, data: bytes) -> tuple[Any, list[Finding]]:
    """Read a drawing plainly, else through recovery, else as the version its content shows."""
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    joined: list[Finding] = []
    if not is_binary_file(data):
        data, joined = without_joined_digits(data, path.name)
    try:
        if not joined:
            return _read_plainly(path, data), []
        fault = "digits joined by an underscore are no number"
    except Exception as error:
        fault = _reason(error)
    if is_binary_file(data):
        raise RouteError(_binary_fault(path, data))
    if b"SECTION" not in data:
        raise RouteError(f"{path.name}: this is no DXF file")
    closed = closed_behind_last_entity(data)
    lost = [] if closed is None else [cut_short_finding(path.name, closed[1])]
    data = data if closed is None else closed[0]
    try:
        document, auditor = recover.read(io.BytesIO(data))
    except Exception as error:
        later = _later_version(data)
        if later is not None:
            return later, [*lost, _lifted()]
        if isinstance(error, DXFError) and _reason(error) != fault:
            fault = f"{fault.rstrip('.')}; then {_reason(error).rstrip('.')}"
        raise RouteError(
            f"{path.name}: the drawing is damaged beyond recovery ({fault}). "
            "Save it anew in the drawing program"
        ) from error
    emptied, refused = without_misread_numbers(data, auditor)
    if refused:
        document = recover.read(io.BytesIO(emptied))[0]
    return document, [
        *lost,
        Finding(
            "drawing-recovered",
            Severity.CAUTION,
            f"the drawing is damaged ({plain_fault(fault).rstrip('.')}) and was read through "
            "recovery; compare the route with the drawing",
            path.name,
            recovery_concern(fault),
        ),
        *joined,
        *repair_findings(path.name, auditor, refused),
    ]


def _read_plainly(path: Path, data: bytes) -> Any:
    """Read a drawing that needs no recovery; what stood behind a byte-order mark, as UTF-8."""
    import ezdxf

    with path.open("rb") as file:
        if file.read(len(_BYTE_ORDER_MARK)) != _BYTE_ORDER_MARK:
            return ezdxf.readfile(str(path))
    text = data.decode("utf-8", "surrogateescape")
    return ezdxf.read(io.StringIO(text, newline=None))


def _older_version(data: bytes) -> str | None:
    """Return the version that a file names where it is older than R12, for people; else None."""
    code = _version_code(data)
    if not _OLDER.fullmatch(code):
        return None
    return f"{_RELEASES[code]} ({code})" if code in _RELEASES else code


def named_version(data: bytes) -> str | None:
    """Return the version that a file names where the drawing library would call it another one.

    Parameters
    ----------
    data : bytes
        The file.
    """
    return _older_version(data) or _RAISED.get(_version_code(data))


def _version_code(data: bytes) -> str:
    match = (_BINARY_VERSION if is_binary_file(data) else _VERSION).search(data)
    return match[2].decode("ascii") if match else ""


def _read_as_r12(path: Path, data: bytes) -> list[Finding]:
    version = _older_version(data)
    if version is None:
        return []
    message = (
        f"the file names the version {version}, older than R12, and was read as R12; compare the "
        "route with the drawing"
    )
    return [Finding("version-older", Severity.CAUTION, message, path.name, EVERY_RUN)]


def _binary_fault(path: Path, data: bytes) -> str:
    """Say what is wrong with a binary file that cannot be read: recovery is for text files."""
    is_whole = data.rstrip(b"\x00\r\n\x1a").endswith(b"EOF")
    what = "damaged" if is_whole else "cut short: its end mark (EOF) is missing"
    return (
        f"{path.name}: the binary DXF file is {what}. Get it anew, or export it again from the "
        "drawing program, as a text DXF if it fails once more"
    )


def _lift_version(document: Any, data: bytes) -> tuple[Any, Finding] | None:
    """Read an R12 file that holds LWPOLYLINEs as R2000.

    LWPOLYLINE came after R12. Read by the R12 rules it loses its layer and its closed flag
    without a message; files without a header are taken for R12.
    """
    if document.dxfversion != "AC1009" or not any(
        entity.dxftype() == "LWPOLYLINE" for entity in document.entitydb.values()
    ):
        return None
    later = _later_version(data)
    if later is not None:
        return later, _lifted()
    return document, Finding(
        "lwpolyline-in-r12",
        Severity.CAUTION,
        "the file names no version after R12 but holds LWPOLYLINE entities: their layers and "
        "closed flags may be lost; save it as R2000 or later",
        "the LWPOLYLINE entities",
        EVERY_RUN,
    )


def _lifted() -> Finding:
    return Finding(
        "lwpolyline-in-r12",
        Severity.NOTE,
        "the file names no version after R12 but holds LWPOLYLINE entities: it was read as R2000, "
        "so that their layers and closed flags are kept",
        "the LWPOLYLINE entities",
    )


def _later_version(data: bytes) -> Any | None:
    """Return a text file that names R12 or no version as an R2000 document, None where it fails."""
    if is_binary_file(data) or b"LWPOLYLINE" not in data:
        return None
    from ezdxf import recover

    version = _VERSION.search(data)
    if version is not None and version[2] != b"AC1009":
        return None
    if version is not None:
        raised = data[: version.start(2)] + b"AC1015" + data[version.end(2) :]
    else:
        raised = b"  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1015\n  0\nENDSEC\n" + data
    try:
        return recover.read(io.BytesIO(raised))[0]
    except Exception:
        return None


def _zero_scales(data: bytes) -> list[Finding]:
    """Block references with a scale of zero, which the drawing library reads as one."""
    handles = []
    references = _binary_references if is_binary_file(data) else _text_references
    for tags in references(data):
        if any(code in (41, 42, 43) and _ZERO.fullmatch(value) for code, value in tags):
            handles.append(next((value for code, value in tags if code == 5), "none"))
    if not handles:
        return []
    message = (
        f"{len(handles)} block references have a scale of zero along an axis, which has no "
        "meaning; read with the scale one"
    )
    where = "handles " + ", ".join(handles[:10])
    concern = Concern(entities=tuple(handles))
    return [Finding("block-scale-zero", Severity.CAUTION, message, where, concern)]


def _text_references(data: bytes) -> Iterator[list[tuple[int, str]]]:
    """Group codes and values of every block reference of a text file."""
    for match in _REFERENCE.finditer(data):
        lines = data[match.end() : match.end() + 4096].split(b"\n")
        tags = []
        for code, value in zip(lines[::2], lines[1::2], strict=False):
            if not code.strip().isdigit() or int(code) == 0:
                break
            tags.append((int(code), value.strip().decode("ascii", "replace")))
        yield tags


def _binary_references(data: bytes) -> Iterator[list[tuple[int, str]]]:
    """Group codes and values of every block reference of a binary file."""
    if b"INSERT" not in data:
        return
    from ezdxf.lldxf.tagger import binary_tags_loader

    tags: list[tuple[int, str]] | None = None
    for code, value in binary_tags_loader(data):
        if code == 0:
            if tags is not None:
                yield tags
            tags = [] if value == "INSERT" else None
        elif tags is not None:
            tags.append((code, str(value)))


def _without_end_mark(path: Path, data: bytes) -> list[Finding]:
    """Report a text file that lacks its end mark: it may lack more than that."""
    if is_binary_file(data) or b"EOF" in data:
        return []
    message = (
        "the file does not end with its end mark (EOF): it may be cut short and lack part of the "
        "route; compare with the drawing"
    )
    return [Finding("no-end-mark", Severity.CAUTION, message, path.name, EVERY_RUN)]
