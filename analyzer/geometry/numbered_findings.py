"""Findings that name bends and points by number, while what comes before them is still open.

A fit counts the bends and points of its own stretch; the run counts on, and drops bends that turn
nothing in the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyzer.findings import Finding, Severity

__all__ = ["NumberedFinding"]


@dataclass(frozen=True, slots=True)
class NumberedFinding:
    """A finding that names bends or points by number.

    Attributes
    ----------
    code : str
        As of a `Finding`.
    severity : Severity
        As of a `Finding`.
    text : str
        The message with a ``{}`` for the number of every bend, then for the name of every point.
    bends, points : tuple of int
        The bends and the points named, from 0.
    """

    code: str
    severity: Severity
    text: str
    bends: tuple[int, ...] = ()
    points: tuple[int, ...] = ()

    def after(self, bends: int, points: int) -> NumberedFinding:
        """Return the finding where so many bends and points come before."""
        return replace(
            self,
            bends=tuple(bends + bend for bend in self.bends),
            points=tuple(points + point for point in self.points),
        )

    def numbered(self, numbers: Sequence[int] | None = None, names: Sequence[str] = ()) -> Finding:
        """Return the finding with its numbers, from 1.

        Parameters
        ----------
        numbers : sequence of int, optional
            Number of every bend; one more than its place by default.
        names : sequence of str, optional
            Name of every point, such as ``row 32``; ``point`` and its number by default.
        """
        shown: list[object] = [b + 1 if numbers is None else numbers[b] for b in self.bends]
        shown += [names[point] if names else f"point {point + 1}" for point in self.points]
        return Finding(self.code, self.severity, self.text.format(*shown))
