"""Names as people write them: folded for comparison, and the nearest known one for a message."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["fold_name", "nearest_name"]


def fold_name(text: str) -> str:
    """Return a name without case, spaces, hyphens and the like, for comparison.

    Examples
    --------
    >>> fold_name("PVC Sch. 40")
    'pvcsch40'
    """
    return "".join(letter for letter in text.casefold() if letter.isalnum() or letter in "*/")


def nearest_name(wanted: str, known: Iterable[str]) -> str:
    """Return the known name most like the wanted one; of equals the first."""
    from difflib import SequenceMatcher

    def likeness(name: str) -> float:
        return SequenceMatcher(None, fold_name(wanted), fold_name(name)).ratio()

    return max(known, key=likeness)
