"""Names of the runs of a file, told apart."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["distinct_names"]


def distinct_names(
    drawn: Sequence[str], stem: str, order: Sequence[int] | None = None
) -> list[str]:
    """Return a name of its own for every run: as drawn, else the file stem, numbered.

    Parameters
    ----------
    drawn : sequence of str
        Names in the file, empty where it has none.
    stem : str
        Name of the file.
    order : sequence of int, optional
        Indices of the runs in the order in which runs of one name are numbered; as given without.

    Examples
    --------
    >>> distinct_names(["", "Riser", ""], "floor")
    ['floor 1', 'Riser', 'floor 2']
    >>> distinct_names(["", "Riser", ""], "floor", order=[2, 1, 0])
    ['floor 2', 'Riser', 'floor 1']
    """
    names = [name.strip() or stem for name in drawn]
    used = {name.casefold() for name in names}
    repeated = {name for name in names if names.count(name) > 1}
    counts: dict[str, int] = {}
    found = list(names)
    for index in range(len(names)) if order is None else order:
        name = own = names[index]
        while name in repeated and (own == name or own.casefold() in used):
            counts[name] = counts.get(name, 0) + 1
            own = f"{name} {counts[name]}"
        used.add(own.casefold())
        found[index] = own
    return found
