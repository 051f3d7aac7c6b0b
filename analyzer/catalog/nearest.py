"""Names as people write them: folded for comparison, and the nearest known one for a message."""

from __future__ import annotations

from collections.abc import Iterable
from re import findall

__all__ = ["fold_name", "nearest_name", "nearest_words"]

_SLIP, _SLIP_OF_KEY = 0.7, 0.5
"""Likeness of two names from which one may be a slip of the other, and of two keys."""


def fold_name(text: str) -> str:
    """Return a name without case, spaces, hyphens and the like, for comparison.

    Examples
    --------
    >>> fold_name("PVC Sch. 40")
    'pvcsch40'
    """
    return "".join(letter for letter in text.casefold() if letter.isalnum() or letter in "*/")


def nearest_name(wanted: str, known: Iterable[str], *, is_key: bool = False) -> str | None:
    """Return the known name that the wanted one is a slip of, of equals the first; None without.

    A suggestion must not change what is meant: numbers have to be the same, and a name has to be
    nearly spelled.

    Parameters
    ----------
    wanted : str
        What was written.
    known : iterable of str
        Names that may be meant.
    is_key : bool
        Whether they are keys, which only say a place: less like ones are suggested too.

    Examples
    --------
    >>> nearest_name("EMMT", ["RMC", "EMT"])
    'EMT'
    >>> nearest_name("high", ["airfield-single", "pvc-lubricated"])
    >>> nearest_name("600 V", ["300 V", "600 V control"])
    """
    from difflib import SequenceMatcher

    def likeness(name: str) -> float:
        return SequenceMatcher(None, fold_name(wanted), fold_name(name)).ratio()

    same = [name for name in known if _numbers(name) == _numbers(wanted)]
    best = max(same, key=likeness, default=None)
    least = _SLIP_OF_KEY if is_key else _SLIP
    return best if best is not None and likeness(best) >= least else None


def _numbers(text: str) -> list[str]:
    return findall(r"\d+", text)


def nearest_words(name: str | None) -> str:
    """Return what a message adds of the nearest name; nothing where there is none.

    Examples
    --------
    >>> nearest_words("EMT")
    '; the nearest is EMT'
    """
    return "" if name is None else f"; the nearest is {name}"
