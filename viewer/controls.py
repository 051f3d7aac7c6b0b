"""The window's buttons, and the clear sheet that everything flat is drawn on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.canvas import Canvas
from viewer.labels import Rect

__all__ = ["Control", "draw_controls", "sheet_actor"]


@dataclass(frozen=True, slots=True)
class Control:
    """One button: its group, its text, whether it is on, and its place in the window."""

    group: str
    text: str
    on: bool
    rect: Rect


def draw_controls(
    canvas: Canvas, groups: Sequence[tuple[str, Sequence[tuple[str, bool]]]], header: Rect
) -> tuple[Control, ...]:
    """Draw groups of buttons in a row below the header; return where each is.

    A group is its name and its buttons: text, and whether it is on.
    """
    u, theme = canvas.text_unit, canvas.theme
    x, top = header[0], header[3] + 3 * u
    made = []
    for group, texts in groups:
        canvas.text(x, top + 14 * u, group, 7.2, color=theme.muted, layer=20)
        x += canvas.text_size(group, 7.2)[0] + 6 * u
        for text, on in texts:
            width = canvas.text_size(text, 7.2, bold=on)[0] + 12 * u
            rect = (x, top, x + width, top + 20 * u)
            canvas.chip(
                rect,
                theme.inverted if on else theme.chip,
                theme.ink if on else theme.chip_border,
                layer=20,
            )
            canvas.text(
                x + width / 2,
                top + 14 * u,
                text,
                7.2,
                bold=on,
                color=theme.inverted_ink if on else theme.ink,
                align="center",
                layer=21,
            )
            made.append(Control(group, text, on, rect))
            x += width + 3 * u
        x += 12 * u
    return tuple(made)


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
