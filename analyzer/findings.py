"""What a person should read, as data: findings of severity note, caution or error; verdicts."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["Finding", "Severity", "Verdict"]


class Severity(Enum):
    """How much a finding matters; an error on a run makes its verdict `fail`."""

    NOTE = "note"
    CAUTION = "caution"
    ERROR = "error"


class Verdict(Enum):
    """Outcome of a check, a leg or a run; missing data is `NOT_CHECKED`, never `PASS`."""

    PASS = "pass"
    CAUTION = "caution"
    FAIL = "fail"
    NOT_CHECKED = "not checked"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a person should know about the input or how it was read.

    Attributes
    ----------
    code : str
        Short stable name, words joined by hyphens, such as ``corner-too-short``.
    severity : Severity
        Note, caution or error.
    message : str
        What it is, with numbers and units, and what to do.
    where : str
        File, row, layer, handle, run or station; empty when it concerns the whole job.
    """

    code: str
    severity: Severity
    message: str
    where: str = ""
