"""Names of bends above a chart, in two rows, so that near bends are named too."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

__all__ = ["name_places"]


def name_places(
    wanted: Sequence[tuple[float, float, str]], gap: float, upper_from: float
) -> list[tuple[float, int, str]]:
    """Return where names stand: their middles, row 0 or 1 above the frame, and the names.

    A name gives way to the one before it by up to half its width; else it goes to the upper row;
    where that has no room either it is left out.

    Parameters
    ----------
    wanted : sequence of (float, float, str)
        Middle and width of each name, from left to right. [px]
    gap : float
        Room between two names of a row. [px]
    upper_from : float
        Where the upper row starts, right of a title. [px]

    Examples
    --------
    >>> name_places([(20.0, 12.0, "B1"), (30.0, 12.0, "B2"), (34.0, 12.0, "B3")], 2.0, 0.0)
    [(20.0, 0, 'B1'), (34.0, 0, 'B2'), (34.0, 1, 'B3')]
    """
    ends = [-inf, upper_from - gap]
    found = []
    for middle, width, name in wanted:
        at = max(middle, ends[0] + gap + width / 2)
        if at - middle <= width / 2:
            found.append((at, 0, name))
            ends[0] = at + width / 2
        elif middle - width / 2 >= ends[1] + gap:
            found.append((middle, 1, name))
            ends[1] = middle + width / 2
    return found
