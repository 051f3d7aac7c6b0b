"""Texts broken into lines: at their middle dots first, never between a number and its unit."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from viewer.canvas import Canvas

__all__ = ["balanced", "flowed", "headline_lines", "wrapped"]

_DOT = " · "
_UNIT = re.compile(r"(?<=\d) (?=(?:lbf|lbf/ft|N|kN|N/m|kN/m|%|×|ft|in|m|mm)(?![\w/]))")
_HELD = "\N{NO-BREAK SPACE}"
_FINEST = 24  # steps of the search for a narrower room


def wrapped(
    canvas: Canvas, text: str, points: float, width: float, bold: bool = False
) -> tuple[str, ...]:
    """Return a text broken into lines that fit a width: at its middle dots, else at spaces.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    text : str
        The text.
    points : float
        Size of the letters. [pt]
    width : float
        Room for a line. [px]
    bold : bool
        Whether the letters are bold.
    """
    return _broken(canvas, text, points, lambda index: width, bold)


def balanced(canvas: Canvas, text: str, points: float, width: float) -> tuple[str, ...]:
    """Return a bold text in as few lines as fit a width, none of them much shorter than another.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    text : str
        The text.
    points : float
        Size of the letters. [pt]
    width : float
        Room for a line. [px]
    """
    lines = wrapped(canvas, text, points, width, bold=True)
    if len(lines) == 1:
        return lines
    for step in range(1, _FINEST):
        narrower = wrapped(canvas, text, points, width * (1 - step / _FINEST), bold=True)
        fits = all(canvas.text_size(line, points, True)[0] <= width for line in narrower)
        if len(narrower) > len(lines) or not fits:
            break
        lines = narrower
    return lines


def headline_lines(
    canvas: Canvas, text: str, width: float, least: float, most: float = 16.0
) -> tuple[tuple[str, ...], float]:
    """Return a headline in as few lines as can be, and the largest size that takes so few. [pt]

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    text : str
        The headline.
    width : float
        Room for a line. [px]
    least, most : float
        Smallest and largest size, tried by half points from the largest down. [pt]
    """
    sizes = [most - 0.5 * step for step in range(int((most - least) / 0.5) + 1)]
    tried = [(balanced(canvas, text, size, width), size) for size in sizes]
    return min(tried, key=lambda item: (len(item[0]), -item[1]))


def flowed(
    canvas: Canvas,
    texts: Sequence[str],
    points: float,
    rooms: tuple[float, float],
    first_px: float,
    beside_px: float,
) -> tuple[str, ...]:
    """Return texts broken into lines round something that stands at their upper right.

    At their middle dots, unless breaking them elsewhere saves a line.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    texts : sequence of str
        Each begins a line of its own.
    points : float
        Size of the letters. [pt]
    rooms : (float, float)
        Width beside that thing, and below it. [px]
    first_px, beside_px : float
        Where the first line begins, and down to where that thing reaches. [px]
    """
    step = canvas.px(points) * 1.35
    lines: list[str] = []
    for text in texts:
        done = len(lines)

        def room(index: int, done: int = done) -> float:
            return rooms[0] if first_px + (done + index) * step < beside_px else rooms[1]

        at_dots = _broken(canvas, text, points, room, bold=False)
        anywhere = _broken(canvas, text, points, room, bold=False, dots=False)
        lines += anywhere if len(anywhere) < len(at_dots) else at_dots
    return tuple(lines)


def _broken(
    canvas: Canvas,
    text: str,
    points: float,
    room: Callable[[int], float],
    bold: bool,
    dots: bool = True,
) -> tuple[str, ...]:
    """Break a text into lines, each with the room of its number; at its `dots` where that does."""
    parts, joint = text.split(_DOT), _DOT
    if not dots or any(canvas.text_size(part, points, bold)[0] > room(0) for part in parts):
        parts, joint = _UNIT.sub(_HELD, text).split(" "), " "
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]}{joint}{part}" if lines else part
        if lines and canvas.text_size(longer, points, bold)[0] <= room(len(lines) - 1):
            lines[-1] = longer
        else:
            lines.append(part)
    return tuple(line.removesuffix(" ·").removeprefix("· ").replace(_HELD, " ") for line in lines)
