"""Names as people write them: folded for comparison, and the nearest known one for a message."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["fold_name", "nearest_name", "nearest_words"]

_SLIP = 0.6  # likeness of two names from which one may be a slip of the other; half is chance


def fold_name(text: str) -> str:
    """Return a name without case, spaces, hyphens and the like, for comparison.

    Examples
    --------
    >>> fold_name("PVC Sch. 40")
    'pvcsch40'
    """
    return "".join(letter for letter in text.casefold() if letter.isalnum() or letter in "*/")


def nearest_name(wanted: str, known: Iterable[str]) -> str | None:
    """Return the known name that the wanted one is a slip of, of equals the first; None without.

    Examples
    --------
    >>> nearest_name("EMMT", ["RMC", "EMT"])
    'EMT'
    >>> nearest_name("high", ["airfield-single", "pvc-lubricated"])
    """
    from difflib import SequenceMatcher

    def likeness(name: str) -> float:
        return SequenceMatcher(None, fold_name(wanted), fold_name(name)).ratio()

    best = max(known, key=likeness, default=None)
    return best if best is not None and likeness(best) >= _SLIP else None


def nearest_words(name: str | None) -> str:
    """Return what a message adds of the nearest name; nothing where there is none.

    Examples
    --------
    >>> nearest_words("EMT")
    '; the nearest is EMT'
    """
    return "" if name is None else f"; the nearest is {name}"
