"""The window on many runs: all of them in color, the list worst first; picking one opens it."""

from __future__ import annotations

from typing import Any

import numpy as np

from viewer.camera import Camera
from viewer.controls import Group
from viewer.labels import Rect
from viewer.many import ManyScene
from viewer.many_list import ListRow
from viewer.many_picture import ManyPicture, draw_many_sheet, many_camera, plan_many
from viewer.many_solids import many_solids, shaded_again
from viewer.palette import LIGHT, Theme
from viewer.render import add_solids, recolor
from viewer.sheet_window import VIEWS, SheetWindow
from viewer.solids import Solids

__all__ = ["ManyWindow"]

_REACH_PX = 9.0


class ManyWindow(SheetWindow):
    """A window on all runs of a route; `picked` is the name of the run to open next.

    Parameters
    ----------
    scene : ManyScene
        All runs, worst first.
    theme : Theme
        Neutral colors.
    size : tuple of int
        Width and height. [px]
    off_screen : bool
        Draw without a window, to be looked at by `screenshot`.
    """

    def __init__(
        self,
        scene: ManyScene,
        theme: Theme = LIGHT,
        size: tuple[int, int] = (1440, 900),
        off_screen: bool = False,
    ) -> None:
        self.scene = scene
        self.picked: str | None = None
        self.first = 0
        self._rows: tuple[ListRow, ...] = ()
        self._actors: list[Any] = []
        self._tube: Any = None
        self._solids: Solids | None = None
        self._picture: ManyPicture | None = None
        super().__init__(f"{len(scene.rows)} runs", theme, size, off_screen)
        self.camera = self._fitted()
        self._build()
        self._refresh()
        if not off_screen:
            self._listen()

    @property
    def rows(self) -> tuple[ListRow, ...]:
        """The rows of the list as they are drawn now."""
        return self._rows

    def pick(self, name: str) -> None:
        """Open a run: this window ends, and another one opens on it."""
        self.picked = name
        self.leave()

    def press(self, group: str, text: str) -> None:
        """Do what a button does."""
        if group == "View":
            self.set_view(text)
        else:
            page = max(len(self._rows) - 1, 1)
            self._turn(page if text == "›" else -page)

    def click(self, x: float, y: float) -> bool:
        """Act on a click: a control, a row of the list, or a run in the view."""
        if super().click(x, y):
            return True
        for row in self._rows:
            left, top, right, bottom = row.rect
            if left <= x <= right and top <= y <= bottom:
                self.pick(row.name)
                return True
        name = self.run_under(x, y)
        if name is None:
            return False
        self.pick(name)
        return True

    def run_under(self, x: float, y: float) -> str | None:
        """Return the name of the run drawn under a window point, the nearest to the viewer."""
        left, top, right, bottom = self.view_rects()[0]
        if not (left <= x <= right and top <= y <= bottom):
            return None
        at = np.array([x - round(left), y - round(top)])
        found: list[tuple[float, str]] = []
        for row in self.scene.rows:
            pixels = self.camera.pixels(row.points_m)
            start, step = pixels[:-1], np.diff(pixels, axis=0)
            size = np.maximum((step**2).sum(axis=1), 1e-9)
            share = np.clip(((at - start) * step).sum(axis=1) / size, 0.0, 1.0)
            gap = np.linalg.norm(start + share[:, None] * step - at, axis=1)
            nearest = int(np.argmin(gap))
            if gap[nearest] <= _REACH_PX:
                points = row.points_m
                place = points[nearest] + share[nearest] * (points[nearest + 1] - points[nearest])
                found.append((float(self.camera.depths(place)[0]), row.name))
        return max(found)[1] if found else None

    def scroll(self, x: float, y: float, steps: int) -> bool:
        """Scroll the list."""
        return self._turn(3 * steps)

    def _turn(self, steps: int) -> bool:
        last = max(len(self.scene.rows) - max(len(self._rows), 1), 0)
        first = min(max(self.first + steps, 0), last)
        if first == self.first:
            return False
        self.first = first
        self._refresh()
        return True

    def slide(self, group: str, share: float) -> None:
        """Do nothing: there is no slider here."""

    def groups(self) -> list[Group]:
        """Return the controls to draw, by group."""
        groups = [Group("View", tuple((text, text == self.view) for text in VIEWS))]
        if len(self.scene.rows) > max(len(self._rows), 1):
            groups.append(Group("List", (("‹", False), ("›", False))))
        return groups

    def view_rects(self) -> tuple[Rect, ...]:
        """Return the rectangle of the one view. [px]"""
        return (self._plan().view,)

    def _plan(self) -> ManyPicture:
        if self._picture is None or self._picture.canvas.width != self._size[0]:
            camera = getattr(self, "camera", None)
            self._picture = plan_many(self.scene, *self._size, self.theme, camera=camera)
        return self._picture

    def _fitted(self) -> Camera:
        self._picture = None
        left, top, right, bottom = (round(value) for value in self._plan().view)
        unit = self._measure().unit
        angles = VIEWS.get(self.view)
        return many_camera(self.scene, right - left, bottom - top, unit, angles)

    def _build(self) -> None:
        unit = self._measure().unit
        for actor in self._actors:
            self.plotter.remove_actor(actor, render=False)
        floor = None if self._solids is None else self._solids.floor
        self._solids = many_solids(self.scene, self.camera, unit, self.theme, floor)
        self._tube, self._actors = add_solids(self.plotter, self._solids, unit, self.theme)
        self._aim()

    def _shade(self) -> None:
        if self._solids is not None:
            recolor(
                self._tube, shaded_again(self._solids.tube, self.scene, self.camera, self.theme)
            )

    def _refresh(self) -> None:
        picture = plan_many(self.scene, *self._size, self.theme, effort=0.2, camera=self.camera)
        self._picture = picture
        canvas = picture.canvas
        self._cover(canvas)
        u = canvas.text_unit
        self._place(canvas, 0.04 * canvas.width, picture.view[2], picture.view[1] - 28 * u)
        self._draw_controls(canvas)
        self._rows = draw_many_sheet(picture, self.first, labels=not self._turning)
        self._lay_over(canvas.overlay())
