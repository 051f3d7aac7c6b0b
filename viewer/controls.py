"""The windows' buttons and sliders, and the clear sheet that everything flat is drawn on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.canvas import Canvas
from viewer.labels import Rect
from viewer.shown_values import short_name

__all__ = ["Control", "Group", "Slider", "draw_controls", "place_controls", "sheet_actor"]

_POINTS = 7.2
_HIGH = 20.0
_ROW = 26.0


@dataclass(frozen=True, slots=True)
class Slider:
    """A slider to draw: where its knob stands from 0 to 1, what it reads, and its length in units.

    Room is kept for `reading`, the widest text it will ever show.
    """

    share: float
    text: str
    units: float = 130.0
    reading: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Controls that belong together: a name, buttons (text, and whether on), and sliders."""

    name: str
    items: tuple[tuple[str, bool] | Slider, ...]


@dataclass(frozen=True, slots=True)
class Control:
    """One control as placed: its group, its text, whether it is on, and its place in the window.

    `share` is None for a button, else where a slider's knob stands; the rectangle of a slider is
    its track.
    """

    group: str
    text: str
    on: bool
    rect: Rect
    share: float | None = None
    name_at: tuple[float, float] | None = None

    def share_at(self, x: float) -> float:
        """Return where along a slider a window x lies, from 0 to 1."""
        left, _, right, _ = self.rect
        return min(max((x - left) / (right - left), 0.0), 1.0)


def place_controls(
    canvas: Canvas, groups: Sequence[Group], left: float, right: float, top: float
) -> tuple[tuple[Control, ...], float]:
    """Return the controls placed in rows, groups whole where they fit, and their height. [px]

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    groups : sequence of Group
        In the order in which they stand.
    left, right, top : float
        Between which sides, and from where down. [px]
    """
    u = canvas.text_unit
    x, y = left, top
    made: list[Control] = []
    for group in groups:
        sizes = [_width(canvas, item) for item in group.items]
        name = canvas.text_size(group.name, _POINTS)[0] + 6 * u
        if x > left and x + name + sum(sizes) + 3 * u * len(sizes) > right:
            x, y = left, y + _ROW * u
        name_at: tuple[float, float] | None = (x, y + 14 * u)
        x += name
        for item, width in zip(group.items, sizes, strict=True):
            if x > left + name and x + width > right:
                x, y = left + name, y + _ROW * u
            if isinstance(item, Slider):
                track = (x + 6 * u, y, x + 6 * u + item.units * u, y + _HIGH * u)
                made.append(Control(group.name, item.text, True, track, item.share, name_at))
            else:
                rect = (x, y, x + width, y + _HIGH * u)
                made.append(Control(group.name, item[0], item[1], rect, None, name_at))
            name_at = None
            x += width + 3 * u
        x += 12 * u
    return tuple(made), y + _ROW * u - top


def _width(canvas: Canvas, item: tuple[str, bool] | Slider) -> float:
    u = canvas.text_unit
    if isinstance(item, Slider):
        text = max(item.text, item.reading, key=len)
        return (item.units + 18) * u + canvas.text_size(text, _POINTS, bold=True)[0]
    return canvas.text_size(short_name(item[0]), _POINTS, bold=item[1])[0] + 12 * u


def draw_controls(canvas: Canvas, controls: Sequence[Control]) -> None:
    """Draw placed controls."""
    u, theme = canvas.text_unit, canvas.theme
    for control in controls:
        if control.name_at is not None:
            x, y = control.name_at
            canvas.text(x, y, control.group, _POINTS, color=theme.muted, layer=20)
        if control.share is not None:
            _draw_slider(canvas, control)
            continue
        on = control.on
        left, top, right, _ = control.rect
        canvas.chip(
            control.rect,
            theme.inverted if on else theme.chip,
            theme.ink if on else theme.chip_border,
            layer=20,
        )
        canvas.text(
            (left + right) / 2,
            top + 14 * u,
            short_name(control.text),
            _POINTS,
            bold=on,
            color=theme.inverted_ink if on else theme.ink,
            align="center",
            layer=21,
        )


def _draw_slider(canvas: Canvas, control: Control) -> None:
    u, theme = canvas.text_unit, canvas.theme
    left, top, right, bottom = control.rect
    middle = (top + bottom) / 2
    at = left + (control.share or 0.0) * (right - left)
    canvas.line([(left, middle), (right, middle)], 3.0, theme.chip_border, layer=20)
    canvas.line([(left, middle), (at, middle)], 3.0, theme.ink, layer=20.5)
    canvas.disc(at, middle, 7.0, theme.chip, edge=theme.ink, width=1.6, layer=21)
    canvas.text(right + 10 * u, top + 14 * u, control.text, _POINTS, bold=True, layer=21)


def sheet_actor(image: NDArray[np.uint8]) -> Any:
    """Return a picture with clear parts as a flat actor over the whole window."""
    import pyvista
    from vtkmodules.vtkRenderingCore import (
        vtkCoordinate,
        vtkPolyDataMapper2D,
        vtkTexturedActor2D,
    )

    height, width = image.shape[:2]
    corners = np.array([[0, 0, 0], [width, 0, 0], [width, height, 0], [0, height, 0]], float)
    mesh = pyvista.PolyData(corners, np.array([4, 0, 1, 2, 3]))
    mesh.active_texture_coordinates = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=float)
    place = vtkCoordinate()
    place.SetCoordinateSystemToDisplay()
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(mesh)
    mapper.SetTransformCoordinate(place)
    texture = pyvista.Texture(image)
    texture.interpolate = False
    actor = vtkTexturedActor2D()
    actor.SetMapper(mapper)
    actor.SetTexture(texture)
    return actor
