"""Sizes of pictures and movies: the least drawn, and one that has room for what it shows."""

from __future__ import annotations

from collections.abc import Callable

from analyzer.errors import InputError

__all__ = ["LEAST_SIZE", "no_room"]

LEAST_SIZE = (640, 400)
"""Smallest size drawn at all. [px]"""

_STEPS, _PART = 64, 16


def no_room(
    what: str, part: str, fits: Callable[[int, int], bool], width: int, height: int
) -> InputError:
    """Return the refusal of a size without room, naming one of the same shape that has it.

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
    for step in range(_STEPS + 1):
        across, down = (2 * round(side * (1 + step / _PART) / 2) for side in (wide, high))
        if fits(across, down):
            return InputError(f"{text}give it --size {across}x{down}")
    return InputError(f"{text}make it larger")
