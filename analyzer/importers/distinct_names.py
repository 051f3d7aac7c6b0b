"""Names of the runs of a file, told apart."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["distinct_names"]


def distinct_names(drawn: Sequence[str], stem: str) -> list[str]:
    """Return a name of its own for every run: as drawn, else the file stem, numbered.

    Examples
    --------
    >>> distinct_names(["", "Riser", ""], "floor")
    ['floor 1', 'Riser', 'floor 2']
    """
    names = [name.strip() or stem for name in drawn]
    used = {name.casefold() for name in names}
    repeated = {name for name in names if names.count(name) > 1}
    counts: dict[str, int] = {}
    found = []
    for name in names:
        own = name
        while name in repeated and (own == name or own.casefold() in used):
            counts[name] = counts.get(name, 0) + 1
            own = f"{name} {counts[name]}"
        used.add(own.casefold())
        found.append(own)
    return found
