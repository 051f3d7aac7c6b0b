"""The list of many runs, worst first: one row a run, in its color."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.units import show_length
from viewer.canvas import Canvas
from viewer.labels import Rect
from viewer.many import ManyScene, RunRow, row_words
from viewer.palette import Theme, hex_color

__all__ = ["ListRow", "draw_list"]

_ROW = 17.0


@dataclass(frozen=True, slots=True)
class ListRow:
    """Where one run stands in the drawn list. [px]"""

    name: str
    rect: Rect


def draw_list(canvas: Canvas, scene: ManyScene, rect: Rect, first: int = 0) -> tuple[ListRow, ...]:
    """Draw the list of runs, worst first, from one row on; return where the rows stand.

    Parameters
    ----------
    canvas : Canvas
        Where it is drawn.
    scene : ManyScene
        All runs.
    rect : (float, float, float, float)
        Left, top, right, bottom of the list. [px]
    first : int
        Index of the row that stands at the top.
    """
    u, theme = canvas.text_unit, canvas.theme
    left, top, right, bottom = rect
    canvas.text(left, top + 2 * u, "Runs, worst first", 9, bold=True, layer=20)
    canvas.text(right, top + 2 * u, "share of limit", 7.2, color=theme.muted, align="right")
    y = top + 12 * u
    room = max(1, int((bottom - y - 16 * u) / (_ROW * 1.45 * u)))
    shown = scene.rows[first : first + room]
    made = []
    for index, row in enumerate(shown):
        high = _ROW * 1.45 * u
        box = (left, y, right, y + high)
        share, words = row_words(row)
        canvas.line([(left, y), (right, y)], 0.5, theme.grid, layer=19)
        canvas.rectangle(
            left, y + 3 * u, left + 5 * u, y + high - 3 * u, _hex(row, theme), layer=20
        )
        if row.share is not None and row.share > 1.0:
            for mark in (0.25, 0.5, 0.75):
                at = y + 3 * u + mark * (high - 6 * u)
                canvas.line(
                    [(left, at), (left + 5 * u, at)], 1.3, theme.ring, layer=20.5, round_ends=False
                )
        number = f"{first + index + 1}"
        canvas.text(left + 34 * u, y + 11 * u, number, 7.4, color=theme.muted, align="right")
        room_name = right - left - 100 * u
        name = _clipped(canvas, row.name, 8.0, room_name, bold=True)
        canvas.text(left + 41 * u, y + 11 * u, name, 8.0, bold=True, layer=20)
        canvas.text(right, y + 11 * u, share, 8.0, bold=True, align="right", layer=20)
        small = f"{show_length(row.length_m, scene.job.units)} · {words}"
        small = _shortened(canvas, small, 6.8, right - left - 45 * u)
        canvas.text(left + 41 * u, y + 21 * u, small, 6.8, color=theme.muted, layer=20)
        made.append(ListRow(row.name, box))
        y += high
    rest = len(scene.rows) - first - len(shown)
    if rest > 0:
        text = f"and {rest} more below; the last: {row_words(scene.rows[-1])[0]}"
        canvas.text(left, y + 11 * u, text, 7.2, color=theme.muted, layer=20)
    return tuple(made)


def _hex(row: RunRow, theme: Theme) -> str:
    return hex_color(row.color(theme))


def _shortened(canvas: Canvas, text: str, points: float, room: float) -> str:
    """Return a text without its last parts, where they find no room."""
    while " · " in text and canvas.text_size(text, points)[0] > room:
        text = text.rpartition(" · ")[0]
    return _clipped(canvas, text, points, room)


def _clipped(canvas: Canvas, text: str, points: float, room: float, bold: bool = False) -> str:
    """Return a text cut with dots where it finds no room."""
    if canvas.text_size(text, points, bold)[0] <= room:
        return text
    while len(text) > 1 and canvas.text_size(f"{text}…", points, bold)[0] > room:
        text = text[:-1]
    return f"{text.rstrip()}…"
