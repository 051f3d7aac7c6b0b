"""The length unit a drawing names and how it shows lengths, looked for in the file itself.

A drawing library fills in a default where a variable is missing, so the bytes are searched.
Only the HEADER section counts. Codes: DXF reference, HEADER variables, `$INSUNITS`, `$LUNITS`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from analyzer.importers.drawings.text_tags import is_binary_file
from analyzer.units import LengthUnit

__all__ = ["INCH_FORMATS", "INSUNITS", "NamedUnit", "length_format_code", "named_unit_code"]


@dataclass(frozen=True, slots=True)
class NamedUnit:
    """One code of `$INSUNITS`; `unit` is None where no raceway is drawn in such a unit."""

    name: str
    unit: LengthUnit | None


INSUNITS: dict[int, NamedUnit] = {
    0: NamedUnit("no unit", None),
    1: NamedUnit("inches", LengthUnit.INCH),
    2: NamedUnit("feet", LengthUnit.FOOT),
    3: NamedUnit("miles", LengthUnit.MILE),
    4: NamedUnit("millimeters", LengthUnit.MILLIMETER),
    5: NamedUnit("centimeters", LengthUnit.CENTIMETER),
    6: NamedUnit("meters", LengthUnit.METER),
    7: NamedUnit("kilometers", LengthUnit.KILOMETER),
    8: NamedUnit("microinches", None),
    9: NamedUnit("mils", None),
    10: NamedUnit("yards", LengthUnit.YARD),
    11: NamedUnit("angstroms", None),
    12: NamedUnit("nanometers", None),
    13: NamedUnit("microns", None),
    14: NamedUnit("decimeters", LengthUnit.DECIMETER),
    15: NamedUnit("decameters", None),
    16: NamedUnit("hectometers", None),
    17: NamedUnit("gigameters", None),
    18: NamedUnit("astronomical units", None),
    19: NamedUnit("light years", None),
    20: NamedUnit("parsecs", None),
    21: NamedUnit("US survey feet", LengthUnit.US_SURVEY_FOOT),
    22: NamedUnit("US survey inches", None),
    23: NamedUnit("US survey yards", None),
    24: NamedUnit("US survey miles", None),
}
"""Every code of `$INSUNITS` and the unit it stands for."""

INCH_FORMATS: dict[int, str] = {3: "engineering", 4: "architectural"}
"""Codes of `$LUNITS` for feet and inches, which take a drawing unit for an inch."""

_NEXT = rb"[ \t]*(?:\r\n|\r|\n)(?:[ \t]*999[ \t]*(?:\r\n|\r|\n)[^\r\n]*(?:\r\n|\r|\n))*[ \t]*"
"""The end of a line, and any comments before the next pair of lines."""


def _text_variable(name: bytes) -> re.Pattern[bytes]:
    return re.compile(
        rb"(?:^|[\r\n])[ \t]*9[ \t]*(?:\r\n|\r|\n)[ \t]*"
        + re.escape(name)
        + _NEXT
        + rb"70[ \t]*(?:\r\n|\r|\n)[ \t]*([+-]?\d+)[ \t]*(?:[\r\n]|$)"
    )


_UNIT, _FORMAT = b"$INSUNITS", b"$LUNITS"
_IN_TEXT = {name: _text_variable(name) for name in (_UNIT, _FORMAT)}
_TEXT_END = re.compile(rb"[\r\n][ \t]*0[ \t]*(?:\r\n|\r|\n)[ \t]*ENDSEC\b")


def named_unit_code(data: bytes) -> int | None:
    r"""Return the `$INSUNITS` code that stands in the header of a DXF file, None without one.

    Parameters
    ----------
    data : bytes
        The file, ASCII or binary.

    Examples
    --------
    >>> named_unit_code(b"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n")
    1
    """
    return _header_code(data, _UNIT)


def length_format_code(data: bytes) -> int | None:
    """Return the `$LUNITS` code that stands in the header of a DXF file, None without one."""
    return _header_code(data, _FORMAT)


def _header_code(data: bytes, name: bytes) -> int | None:
    """Find a variable whose value is one whole number."""
    if is_binary_file(data):
        return _binary_code(data, name)
    start = data.find(b"HEADER")
    if start < 0:
        return None
    end = _TEXT_END.search(data, start)
    match = _IN_TEXT[name].search(data, start, end.start() + 1 if end else len(data))
    return int(match[1]) if match else None


def _binary_code(data: bytes, name: bytes) -> int | None:
    """Find the variable in a binary file; group codes take one byte in R12, two later."""
    start = data.find(b"HEADER\x00")
    if start < 0:
        return None
    end = data.find(b"ENDSEC\x00", start)
    at = data.find(name + b"\x00", start, end if end >= 0 else len(data))
    if at < 0:
        return None
    at += len(name) + 1
    for code in (b"\x46\x00", b"\x46"):
        if data[at : at + len(code)] == code and len(data) >= at + len(code) + 2:
            at += len(code)
            return int.from_bytes(data[at : at + 2], "little", signed=True)
    return None
