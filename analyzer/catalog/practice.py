"""Rules and habits of the trade that the plan for the crew uses, each with its source.

Rows whose source is common practice have none: whoever shows them says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.tables import find_row

__all__ = ["PracticeRule", "find_practice"]

_SHORT_SOURCES = {
    "S60": "lubricant maker's newsletter",
    "S61": "trade journal, 1996, and reported field use",
    "S62": "IEEE 1185-1994",
    "S63": "military handbook, 1996",
    "S64": "trade journal, 2012",
    "S65": "ergonomic handbook, secondary copy",
    "S66": "ergonomics learning page",
    "S67": "electrician's handbook",
    "S68": "rope sellers' pages",
    "S69": "rope maker's page",
}


@dataclass(frozen=True, slots=True)
class PracticeRule:
    """One rule: its value in the unit named, its source in short, and what it means.

    Attributes
    ----------
    name : str
        Name that finds it, such as ``hand force short``.
    value : float
        In `unit`, as published.
    unit : str
        Unit in words.
    source : str
        Short kind of its source, or ``common practice``.
    confirmed : bool
        Whether a second text or a computation agrees.
    note : str
        What to know before using it.
    """

    name: str
    value: float
    unit: str
    source: str
    confirmed: bool
    note: str = ""


def find_practice(name: str) -> PracticeRule:
    """Return a rule of practice by name.

    Raises
    ------
    CatalogError
        If there is none of that name.

    Examples
    --------
    >>> find_practice("least people").value
    2.0
    """
    row = find_row("practice", rule=name)
    return PracticeRule(
        name=name,
        value=float(row["value"]),
        unit=row["unit"],
        source=", ".join(_SHORT_SOURCES.get(code, code) for code in row["source"].split(",")),
        confirmed=row["confirmed"] == "yes",
        note=row["note"],
    )
