"""What a person should read, as data: findings of severity note, caution or error; verdicts.

A finding about a file also says what of the file it is about, so that it counts for the runs that
it concerns.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["EVERY_RUN", "NO_RUN", "Concern", "Finding", "Severity", "Verdict"]


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
class Concern:
    """What of a file a finding is about: the runs it concerns are found by it.

    Attributes
    ----------
    entities : tuple of str
        Handles of entities, or rows such as ``row 12``: it concerns the runs made of them.
    layers : tuple of str
        It concerns the runs that have an entity on one of them.
    boxes_m : tuple of two (3,) float
        Lower and upper corners, equal for a point: it concerns the runs that end at one. [m]
    reach_m : float
        How near such a box an end has to be. [m]
    fittings_m : tuple of (3,) float
        Where fittings are drawn: it concerns the runs on which one of them stands. [m]
    is_every_run : bool
        Whether it may concern any run of the file.
    """

    entities: tuple[str, ...] = ()
    layers: tuple[str, ...] = ()
    boxes_m: tuple[tuple[tuple[float, float, float], tuple[float, float, float]], ...] = ()
    reach_m: float = 0.0
    fittings_m: tuple[tuple[float, float, float], ...] = ()
    is_every_run: bool = False


NO_RUN = Concern()
"""Of a finding that changes nothing about any run, or that stands on its run already."""

EVERY_RUN = Concern(is_every_run=True)
"""Of a finding that may concern any run of its file."""


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
    concern : Concern
        What of its file a finding about a file is about.
    fittings : tuple of str
        Names of the fittings that it holds of as they stand: without one of them, or with it
        elsewhere, it holds no more.
    """

    code: str
    severity: Severity
    message: str
    where: str = ""
    concern: Concern = NO_RUN
    fittings: tuple[str, ...] = ()
