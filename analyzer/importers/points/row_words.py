"""How messages on a file of points name its rows."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.findings import Finding, Severity

__all__ = ["FAULTS_SHOWN", "note", "row_numbers"]

FAULTS_SHOWN = 5
"""Rows or faults that a message names; the rest is counted."""


def row_numbers(rows: Sequence[int]) -> str:
    """Return row numbers as a message names them: the first ones, and how many more."""
    shown = ", ".join(map(str, rows[:FAULTS_SHOWN]))
    more = f" and {len(rows) - FAULTS_SHOWN} more" if len(rows) > FAULTS_SHOWN else ""
    return f"row {shown}" if len(rows) == 1 else f"rows {shown}{more}"


def note(code: str, message: str, where: str) -> Finding:
    """Return a finding of severity note."""
    return Finding(code, Severity.NOTE, message, where)
