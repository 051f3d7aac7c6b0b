"""Drawing the marks and labels of a view, where `viewer.overlay` has placed them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.chips import CHIP_POINTS, DOT_UNITS, Chip
from viewer.furniture import draw_scale_bar, draw_triad
from viewer.head import Head, legs_to_head
from viewer.labels import Placement
from viewer.overlay import Marks
from viewer.palette import lightness, rgb
from viewer.scene import Scene
from viewer.solids import Arrow, drawn_radius, tube_radius

__all__ = ["draw_marks"]

Floats = NDArray[np.float64]

_ARROW_UNITS = 3.9  # half the width of an arrowhead
_COLORED_UNITS = 4.3  # a dot that wears its bend's color: wide enough to tell it


def draw_marks(
    canvas: Canvas,
    scene: Scene,
    camera: Camera,
    marks: Marks,
    origin: tuple[float, float],
    radius_m: float | None = None,
) -> None:
    """Draw the marks and labels of a view.

    Parameters
    ----------
    canvas : Canvas
        Where they are drawn.
    scene, camera : Scene, Camera
        What is seen, from where.
    marks : Marks
        What `plan_marks` returned.
    origin : (float, float)
        Upper left corner of the view on the canvas. [px]
    radius_m : float, optional
        Radius of the tube where it is not drawn wide enough to be seen. [m]
    """
    shift = np.array(origin)
    for arrow in marks.arrows:
        _draw_arrow(canvas, scene, camera, arrow, shift, marks.head, radius_m)
    if marks.scale_bar is not None:
        draw_scale_bar(canvas, marks.scale_bar.moved(shift))
    if marks.triad is not None:
        draw_triad(canvas, camera, np.array(marks.triad) + shift)
    chips = {chip.key: chip for chip in marks.chips}
    placed = {placement.key for placement in marks.placements}
    for placement in marks.placements:
        _draw_leader(canvas, placement, shift)
    for chip in marks.chips:
        if chip.kind != "number" or chip.key in placed or chip.dot is not None:
            _draw_anchor(canvas, chip, np.array(chip.anchor) + shift)
    for placement in marks.placements:
        _draw_chip(canvas, chips[placement.key], placement, shift)


def _draw_arrow(
    canvas: Canvas,
    scene: Scene,
    camera: Camera,
    arrow: Arrow,
    shift: Floats,
    head: Head | None,
    radius_m: float | None,
) -> None:
    tip = camera.pixels(arrow.point_m)[0] + shift
    ahead = np.array([arrow.direction @ camera.right, -(arrow.direction @ camera.up)])
    size = float(np.linalg.norm(ahead))
    if size < 0.2:
        return
    ahead /= size
    across = np.array([-ahead[1], ahead[0]])
    m_per_unit = camera.m_per_px * canvas.unit
    radius = drawn_radius(scene, m_per_unit) if radius_m is None else radius_m
    u = canvas.unit * min(1.0, radius / (5.2 * m_per_unit))
    color = _color_under(canvas, scene, arrow, head)
    fill = "#1B2229" if lightness(color)[0] > 62 else "#FFFFFF"
    if tube_radius(scene, m_per_unit, radius) < _ARROW_UNITS * u / canvas.unit * m_per_unit:
        fill = canvas.theme.ink  # it stands out over both sides of a thin tube
    shape = [
        tip + 5.2 * u * ahead,
        tip - 4.6 * u * ahead + _ARROW_UNITS * u * across,
        tip - 2.2 * u * ahead,
        tip - 4.6 * u * ahead - _ARROW_UNITS * u * across,
    ]
    canvas.polygon(shape, fill, layer=6)


def _color_under(canvas: Canvas, scene: Scene, arrow: Arrow, head: Head | None) -> Floats:
    """Color of the tube under an arrowhead, shape (1, 3)."""
    for leg, passed in legs_to_head(scene, head):
        if leg.name == arrow.leg:
            index = min(int(np.searchsorted(leg.station_m, arrow.station_m)), len(passed) - 1)
            if not passed[index]:
                return rgb(canvas.theme.not_reached)[None, :]
    return scene.color_scale.colors([arrow.value])


def _draw_anchor(canvas: Canvas, chip: Chip, at: Floats) -> None:
    x, y = float(at[0]), float(at[1])
    if chip.kind in ("bend", "number"):
        if chip.over:
            canvas.disc(x, y, 7.8, "#FFFFFF", layer=8)
            canvas.disc(x, y, 6.9, None, edge="#1B2229", width=1.6, layer=8)
        wide = DOT_UNITS if chip.dot is None else _COLORED_UNITS
        canvas.disc(x, y, wide, chip.dot or "#FFFFFF", edge="#1B2229", width=1.2, layer=8)
    elif chip.kind == "leg":
        half = 3.0 * canvas.unit
        canvas.rectangle(
            x - half, y - half, x + half, y + half, "#FFFFFF", edge="#1B2229", width=1.2, layer=8
        )
    elif chip.kind == "worst":
        canvas.disc(x, y, 11.0, "#FFFFFF", layer=9)
        canvas.disc(x, y, 9.0, None, edge="#1B2229", width=2.2, layer=9.1)
        canvas.disc(x, y, 5.0, None, edge="#1B2229", width=1.2, layer=9.2)
        canvas.disc(x, y, 2.4, "#1B2229", layer=9.3)


def _draw_leader(canvas: Canvas, placement: Placement, shift: Floats) -> None:
    points = np.array([placement.anchor, placement.foot]) + shift
    canvas.line(points, 0.95, canvas.theme.ink, layer=7.8)


def _draw_chip(canvas: Canvas, chip: Chip, placement: Placement, shift: Floats) -> None:
    theme, u = canvas.theme, canvas.text_unit
    left, top, right, bottom = placement.rect
    rect = (left + shift[0], top + shift[1], right + shift[0], bottom + shift[1])
    worst = chip.kind == "worst"
    strong = chip.kind in ("end", "box")
    fill = theme.inverted if worst else theme.chip
    edge = None if worst else theme.ink if strong else theme.chip_border
    canvas.chip(rect, fill, edge, 1.2 if strong else 0.85, 1.0 if worst else 0.94)
    first, second = CHIP_POINTS.get(chip.kind, (8.0, 6.8))
    side, upright = (4.0, 2.5) if chip.kind == "number" else (9.0, 5.0)
    x = rect[0] + side * u
    if chip.color:
        canvas.rectangle(
            rect[0] + 2.5 * u,
            rect[1] + 3 * u,
            rect[0] + 6.5 * u,
            rect[3] - 3 * u,
            chip.color,
            layer=13,
        )
        x += 3 * u
    y = rect[1] + upright * u + canvas.px(first) * 0.90
    canvas.text(
        x,
        y,
        chip.title,
        first,
        bold=True,
        layer=14,
        color=theme.inverted_ink if worst else theme.ink,
    )
    if chip.detail:
        y += 2.5 * u + canvas.px(second) * 1.15
        canvas.text(
            x,
            y,
            chip.detail,
            second,
            layer=14,
            color=theme.inverted_muted if worst else theme.muted,
        )
