"""Names as people write them: folded for comparison, and the nearest known for a message."""

from __future__ import annotations

from collections.abc import Iterable
from re import findall, split

__all__ = ["fold_name", "nearest_name", "nearest_names", "nearest_words"]

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

    A suggestion must not change what is meant: a name has to be nearly spelled, or its letters in
    another order, and numbers have to be the same. A number too many is left out only behind a name
    that is spelled right and that no known one has with a number.

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
    >>> nearest_name("THHN-2", ["THHN", "THWN-2"])
    'THHN'
    >>> nearest_name("high", ["airfield-single", "pvc-lubricated"])
    >>> nearest_name("600 V", ["300 V", "600 V control"])
    """
    from difflib import SequenceMatcher

    def likeness(name: str) -> float:
        one, other = fold_name(wanted), fold_name(name)
        if sorted(one) == sorted(other):
            return 1.0
        return SequenceMatcher(None, one, other).ratio()

    known = tuple(known)
    numbered = {_letters(name) for name in known if _numbers(name)}
    alike = [
        name
        for name in known
        if _numbers(name) == _numbers(wanted)
        or (fold_name(name) == _letters(wanted) and _letters(wanted) not in numbered)
    ]
    best = max(alike, key=likeness, default=None)
    least = _SLIP_OF_KEY if is_key else _SLIP
    return best if best is not None and likeness(best) >= least else None


def nearest_names(wanted: str, known: Iterable[str]) -> list[str]:
    """Return all known names that begin with the words written; without, that of `nearest_name`.

    Examples
    --------
    >>> nearest_names("nec", ["nec-2023", "nec-2020", "telecom"])
    ['nec-2023', 'nec-2020']
    >>> nearest_names("nec-2026", ["nec-2023", "nec-2020", "telecom"])
    []
    """
    known = tuple(known)
    words = _words(wanted)
    if words and (begun := [name for name in known if _words(name)[: len(words)] == words]):
        return begun
    near = nearest_name(wanted, known)
    return [] if near is None else [near]


def _words(text: str) -> list[str]:
    return [word for part in split(r"[\s_-]+", text) if (word := fold_name(part))]


def _numbers(text: str) -> list[str]:
    return findall(r"\d+(?:\.\d+)?", text)


def _letters(text: str) -> str:
    return "".join(letter for letter in fold_name(text) if not letter.isdigit())


def nearest_words(names: Iterable[str]) -> str:
    """Return what a message adds of the nearest names, each once; nothing where there are none.

    Examples
    --------
    >>> nearest_words(["EMT"])
    '; the nearest is EMT'
    >>> nearest_words(["FMC", "LFMC", "FMC"])
    '; the nearest are FMC and LFMC'
    """
    once = list(dict.fromkeys(names))
    if len(once) > 1:
        return f"; the nearest are {', '.join(once[:-1])} and {once[-1]}"
    return f"; the nearest is {once[0]}" if once else ""
