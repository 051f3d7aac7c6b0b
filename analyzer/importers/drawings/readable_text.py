"""Names and texts of a drawing as people can read them, whatever bytes the file holds.

The drawing library keeps a byte that is no text of the file's encoding as half of a surrogate
pair, which nothing can be written with.
"""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.findings import Finding

__all__ = ["is_readable", "readable", "readable_finding"]

_SURROGATE = re.compile("[\ud800-\udfff]")
_FIRST_BYTE = 0xDC00
_UNKNOWN = "\N{REPLACEMENT CHARACTER}"


def is_readable(text: str) -> bool:
    """Return whether a text holds no byte that is no text."""
    return _SURROGATE.search(text) is None


def readable(text: str) -> str:
    r"""Return a text with stray bytes read by the western code page, which they mostly come from.

    Examples
    --------
    >>> readable("Trass\udce9")
    'Trassé'
    """
    return text if is_readable(text) else _SURROGATE.sub(_read_byte, text)


def _read_byte(match: re.Match[str]) -> str:
    value = ord(match[0]) - _FIRST_BYTE
    if not 0x80 <= value <= 0xFF:
        return _UNKNOWN
    return bytes([value]).decode("cp1252", "replace")


def readable_finding(finding: Finding) -> Finding:
    """Return a finding that can be written."""
    message, where = readable(finding.message), readable(finding.where)
    if (message, where) == (finding.message, finding.where):
        return finding
    return replace(finding, message=message, where=where)
