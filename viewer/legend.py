"""The legend: one bar, strictly linear in tension, with the limit marked on it always."""

from __future__ import annotations

import numpy as np

from analyzer.units import show_force
from viewer.canvas import Canvas
from viewer.palette import MAP_TOP
from viewer.scene import Scene
from viewer.wording import force_number, force_unit, friction_text

__all__ = ["LEGEND_HEIGHT", "LEGEND_WIDTH", "draw_legend", "legend_colors"]

LEGEND_WIDTH = 280.0
"""Width of the bar. [text unit]"""

LEGEND_HEIGHT = 64.0
"""Height of the whole legend. [text unit]"""

_BAR = 12.0


def legend_colors(scene: Scene, columns: int) -> np.ndarray:
    """Return the colors of the bar, left to right, shape (columns, 3)."""
    top = _top(scene)
    values = (np.arange(columns) + 0.5) / columns * top
    return scene.scale.colors(values)


def _top(scene: Scene) -> float:
    scale = scene.scale
    return scale.top_n if scale.limit_n is None else MAP_TOP * scale.limit_n


def draw_legend(
    canvas: Canvas, scene: Scene, right: float, top: float, width_units: float = LEGEND_WIDTH
) -> None:
    """Draw the legend with its upper right corner at a point."""
    u = canvas.text_unit
    width = width_units * u
    left = right - width
    units = scene.units
    muted = canvas.theme.muted
    line1, bar = top + 10 * u, top + 33 * u
    title = f"Pulling tension, {force_unit(units)}"
    canvas.text(left, line1, title, 8.4, bold=True)
    friction = friction_text(scene)
    both = canvas.text_size(title, 8.4, bold=True)[0] + canvas.text_size(friction, 7.0)[0]
    side_by_side = both + 8 * u <= width
    if side_by_side:
        canvas.text(right, line1, friction, 7.0, color=muted, align="right")
    colors = legend_colors(scene, max(2, round(width)))[None, :, :]
    canvas.picture(colors, (left, bar, right, bar + _BAR * u), layer=4)
    canvas.rectangle(
        left, bar, right, bar + _BAR * u, None, edge=canvas.theme.outline, width=0.7, layer=5
    )
    limit = scene.scale.limit_n
    base = bar + (_BAR + 11) * u
    if limit is None:
        canvas.text(right, bar - 4 * u, "limit not known", 7.5, bold=True, align="right")
        marks = [0.0, 0.5 * _top(scene), _top(scene)]
        for mark, align in zip(marks, ("left", "center", "right"), strict=True):
            x = left + mark / _top(scene) * width
            canvas.text(x, base, force_number(mark, units), 7.2, align=align)
        return
    at = left + width / MAP_TOP
    canvas.line([(at, bar - 3 * u), (at, bar + (_BAR + 3) * u)], 2.2, canvas.theme.ink, layer=7)
    canvas.text(
        at, bar - 7 * u, f"limit {show_force(limit, units)}", 7.8, bold=True, align="center"
    )
    small = "over limit: ringed" if side_by_side else friction
    canvas.text(right, bar - 7 * u, small, 7.0, color=muted, align="right")
    pitch = width / 30
    for index in range(1, 20):
        x = at + index * pitch
        if x < right - 1:
            canvas.line(
                [(x, bar), (x, bar + _BAR * u)], 1.5, canvas.theme.ring, layer=6, round_ends=False
            )
    for share in (0.0, 1 / 3, 2 / 3, 2.0, 3.0):
        align = "left" if share == 0 else "right" if share == MAP_TOP else "center"
        text = force_number(share * limit, units)
        canvas.text(left + share / MAP_TOP * width, base, text, 7.2, align=align)
