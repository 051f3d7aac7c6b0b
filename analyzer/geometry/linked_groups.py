"""Members linked pair by pair, and the group each is in by its links.

Every member points to one of its own group, and one of them, the root, to itself. Source: disjoint
sets with path halving, textbook algorithm.
"""

from __future__ import annotations

__all__ = ["root_of"]


def root_of(index: int, parent: list[int]) -> int:
    """Return the member that stands for the group of another, where each points to one of its own.

    Parameters
    ----------
    index : int
        The member.
    parent : list of int
        For each member one of its group; a root points to itself. Its ways are shortened in place.
    """
    while parent[index] != index:
        parent[index] = parent[parent[index]]
        index = parent[index]
    return index
