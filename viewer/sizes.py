"""Sizes of pictures and movies: the least and most drawn, and one with room for what it shows."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator

from analyzer.errors import InputError

__all__ = ["LEAST_RUN_UNITS", "LEAST_SIZE", "MOST_PIXELS", "no_room"]

LEAST_SIZE = (640, 400)
"""Smallest size drawn at all. [px]"""

MOST_PIXELS = 40_000_000
"""Most pixels of a picture."""

LEAST_RUN_UNITS = 50.0
"""Least height a still picture has for the run itself, between the margins of its labels. [unit]"""

_STEP = 1 / 16


def no_room(
    what: str, part: str, fits: Callable[[int, int], bool], width: int, height: int
) -> InputError:
    """Return the refusal of a size without room, naming one that has it.

    The smaller of the same shape and of greater height alone; where neither works within the most
    pixels, a narrower one.

    Parameters
    ----------
    what, part : str
        What is drawn, and which part of it finds no room: ``movie``, ``chart``.
    fits : callable
        Whether a width and height have room. [px]
    width, height : int
        The size refused. [px]
    """
    wide, high = max(width, LEAST_SIZE[0]), max(height, LEAST_SIZE[1])
    text = f"a {what} of {width}x{height} has no room for its {part}: "
    found = [
        size for widens in (True, False) if (size := _first(fits, wide, high, widens)) is not None
    ]
    while not found and wide > LEAST_SIZE[0]:
        wide = max(wide // 2, LEAST_SIZE[0])
        size = _first(fits, wide, high, widens=False)
        found = [] if size is None else [size]
    if not found:
        return InputError(f"{text}make it larger")
    across, down = min(found, key=lambda size: size[0] * size[1])
    return InputError(f"{text}give it --size {across}x{down}")


def _first(
    fits: Callable[[int, int], bool], wide: int, high: int, widens: bool
) -> tuple[int, int] | None:
    """Return the first size with room as the height grows, and where it widens the width too.

    Room once found is taken to last, so that few sizes have to be laid out; None where the largest
    has none.
    """
    sizes = list(_growing(wide, high, widens))
    if not sizes or not fits(*sizes[-1]):
        return None
    return sizes[bisect_left(sizes[:-1], True, key=lambda size: fits(*size))]


def _growing(wide: float, high: float, widens: bool) -> Iterator[tuple[int, int]]:
    while wide * high <= MOST_PIXELS:
        yield 2 * round(wide / 2), 2 * round(high / 2)
        wide *= 1 + _STEP * widens
        high *= 1 + _STEP
