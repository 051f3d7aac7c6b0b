"""The legend: one bar, strictly linear in the value, with the limit marked on it always."""

from __future__ import annotations

import numpy as np

from analyzer.units import UnitSystem
from viewer.canvas import Canvas
from viewer.palette import MAP_TOP
from viewer.quantities import ColorScale
from viewer.scene import Scene
from viewer.shown_values import limit_text, scale_numbers, value_unit
from viewer.wording import friction_text

__all__ = ["LEGEND_HEIGHT", "LEGEND_WIDTH", "draw_legend", "draw_scale", "legend_colors"]

LEGEND_WIDTH = 280.0
"""Width of the bar. [text unit]"""

LEGEND_HEIGHT = 64.0
"""Height of the whole legend. [text unit]"""

_BAR = 12.0


def legend_colors(scale: ColorScale, columns: int) -> np.ndarray:
    """Return the colors of the bar, left to right, shape (columns, 3)."""
    low, top = scale.ends
    values = low + (np.arange(columns) + 0.5) / columns * (top - low)
    return scale.colors(values)


def draw_legend(
    canvas: Canvas, scene: Scene, right: float, top: float, width_units: float = LEGEND_WIDTH
) -> None:
    """Draw the legend of a scene.

    Station and elevation hang on no friction: that of the tensions stands below the headline and
    over the curve.

    Parameters
    ----------
    canvas : Canvas
        Where it is drawn.
    scene : Scene
        For its color scale, units and friction.
    right, top : float
        Its upper right corner. [px]
    width_units : float
        Its width. [text unit]
    """
    note = friction_text(scene) if scene.quantity.has_curve else ""
    draw_scale(canvas, scene.color_scale, scene.units, note, right, top, width_units)


def draw_scale(
    canvas: Canvas,
    scale: ColorScale,
    units: UnitSystem,
    note: str,
    right: float,
    top: float,
    width_units: float = LEGEND_WIDTH,
) -> None:
    """Draw one color scale.

    Parameters
    ----------
    canvas : Canvas
        Where it is drawn.
    scale : ColorScale
        Its quantity, colors and limit.
    units : UnitSystem
        How its numbers are written.
    note : str
        What stands beside it in small print.
    right, top : float
        Its upper right corner. [px]
    width_units : float
        Its width. [text unit]
    """
    u = canvas.text_unit
    width = width_units * u
    left = right - width
    muted = canvas.theme.muted
    line1, bar = top + 10 * u, top + 33 * u
    quantity = scale.quantity
    title = f"{quantity.title}, {value_unit(quantity, units)}"
    canvas.text(left, line1, title, 8.4, bold=True)
    both = canvas.text_size(title, 8.4, bold=True)[0] + canvas.text_size(note, 7.0)[0]
    side_by_side = both + 8 * u <= width
    if side_by_side:
        canvas.text(right, line1, note, 7.0, color=muted, align="right")
    colors = legend_colors(scale, max(2, round(width)))[None, :, :]
    canvas.picture(colors, (left, bar, right, bar + _BAR * u), layer=4)
    canvas.rectangle(
        left, bar, right, bar + _BAR * u, None, edge=canvas.theme.outline, width=0.7, layer=5
    )
    limit = scale.limit
    base = bar + (_BAR + 11) * u
    if limit is None:
        if quantity.has_curve:
            canvas.text(right, bar - 4 * u, "limit not known", 7.5, bold=True, align="right")
        low, top = scale.ends
        ends = (0.0, 0.5, 1.0)
        texts = scale_numbers([low + share * (top - low) for share in ends], quantity, units)
        for share, text, align in zip(ends, texts, ("left", "center", "right"), strict=True):
            canvas.text(left + share * width, base, text, 7.2, align=align)
        return
    at = left + width / MAP_TOP
    canvas.line([(at, bar - 3 * u), (at, bar + (_BAR + 3) * u)], 2.2, canvas.theme.ink, layer=7)
    text, small = f"limit {limit_text(scale, units)}", note
    if side_by_side:
        small = "over limit: ringed"
    wide = canvas.text_size(text, 7.8, bold=True)[0]
    free = right - canvas.text_size(small, 7.0)[0] - 4 * u
    end = min(at + wide / 2, max(free, left + wide))
    canvas.text(end, bar - 7 * u, text, 7.8, bold=True, align="right")
    if end <= free:
        canvas.text(right, bar - 7 * u, small, 7.0, color=muted, align="right")
    pitch = width / 30
    for index in range(1, 20):
        x = at + index * pitch
        if x < right - 1:
            canvas.line(
                [(x, bar), (x, bar + _BAR * u)], 1.5, canvas.theme.ring, layer=6, round_ends=False
            )
    taken = -np.inf
    shares = (0.0, 1 / 3, 2 / 3, 2.0, 3.0)
    texts = scale_numbers([share * limit for share in shares], quantity, units)
    for share, text in zip(shares, texts, strict=True):
        align = "left" if share == 0 else "right" if share == MAP_TOP else "center"
        wide, x = canvas.text_size(text, 7.2)[0], left + share / MAP_TOP * width
        start = x - {"left": 0.0, "center": wide / 2, "right": wide}[align]
        if share == 2 / 3 and start < taken + 4 * u:
            continue
        canvas.text(x, base, text, 7.2, align=align)
        taken = start + wide
