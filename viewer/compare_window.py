"""The window on cases compared: views under one hand, in one scale, each with its conclusion."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from viewer.camera import Camera
from viewer.compare import Comparison, draw_comparison_sheet, plan_comparison
from viewer.compared_cases import Case
from viewer.controls import Group, Slider
from viewer.floor import Floor
from viewer.head import Head, head_at
from viewer.image import camera_for
from viewer.labels import Rect
from viewer.palette import LIGHT, Theme
from viewer.render import add_solids, update_tube
from viewer.scene import Scene
from viewer.sheet_window import VIEWS, SheetWindow
from viewer.solids import build_solids, drawn_radius

__all__ = ["CompareWindow"]

_CONTROLS = 22.0


class CompareWindow(SheetWindow):
    """A window on two or more cases of one route, with linked cameras and heads.

    Parameters
    ----------
    cases : tuple of Case
        As `viewer.compare` makes them.
    theme : Theme
        Neutral colors.
    size : tuple of int
        Width and height. [px]
    off_screen : bool
        Draw without a window, to be looked at by `screenshot`.
    """

    def __init__(
        self,
        cases: tuple[Case, ...],
        theme: Theme = LIGHT,
        size: tuple[int, int] = (1600, 900),
        off_screen: bool = False,
    ) -> None:
        self.cases = cases
        self.share: float | None = None
        self._plan: Comparison | None = None
        self._tubes: list[Any] = []
        self._actors: list[tuple[int, Any]] = []
        self._floor: Floor | None = None
        super().__init__("Cases compared", theme, size, off_screen, views=len(cases))
        self.camera = self._fitted()
        self._build()
        self._refresh()
        if not off_screen:
            self._listen()

    @property
    def heads(self) -> tuple[Head | None, ...]:
        """The heads of all cases, each after the same share of its run; None: all is pulled."""
        if self.share is None:
            return (None,) * len(self.cases)
        return tuple(head_at(s, self.share * s.length_m) for s in self.scenes)

    @property
    def scenes(self) -> tuple[Scene, ...]:
        """The scenes as they are drawn: in one scale."""
        cases = (self._comparison() if self._plan is None else self._plan).cases
        return tuple(case.scene for case in cases)

    def press(self, group: str, text: str) -> None:
        """Do what a button does."""
        if group == "View":
            self.set_view(text)
        else:
            self.share = None
            self._build()
            self._refresh()

    def slide(self, group: str, share: float) -> None:
        """Walk all heads."""
        self.share = share
        self._build()
        self._refresh()

    def groups(self) -> list[Group]:
        """Return the controls to draw, by group."""
        share = 1.0 if self.share is None else self.share
        text = "whole pull" if self.share is None else f"{100 * share:.0f} % of the run"
        items: tuple[tuple[str, bool] | Slider, ...] = (
            Slider(share, text, 170.0, reading="100 % of the run"),
        )
        if self.share is not None:
            items = (*items, ("Whole pull", False))
        views = tuple((name, name == self.view) for name in VIEWS)
        return [Group("View", views), Group("Head", items)]

    def view_rects(self) -> tuple[Rect, ...]:
        """Return the rectangles of all views. [px]"""
        return (self._plan or self._comparison()).views

    def _comparison(self) -> Comparison:
        camera = getattr(self, "camera", None)
        heads = None if self._plan is None else self.heads
        return plan_comparison(
            self.cases,
            *self._size,
            self.theme,
            effort=0.2,
            heads=heads,
            camera=camera,
            controls_units=_CONTROLS,
        )

    def _fitted(self) -> Camera:
        plan = plan_comparison(
            self.cases, *self._size, self.theme, effort=0.0, controls_units=_CONTROLS
        )
        self._plan = plan
        angles = VIEWS.get(self.view)
        if angles is None:
            return plan.camera
        fuller = max(plan.cases, key=lambda case: len(case.scene.fittings))
        width, height = plan.camera.width, plan.camera.height
        return camera_for(fuller.scene, width, height, plan.canvas, True, angles)

    def _build(self) -> None:
        plan = self._plan
        if plan is None:
            return
        for index, actor in self._actors:
            self.plotter.subplot(0, index)
            self.plotter.remove_actor(actor, render=False)
        self._actors, self._tubes = [], []
        for index, (case, head) in enumerate(zip(plan.cases, self.heads, strict=True)):
            self.plotter.subplot(0, index)
            unit = plan.canvas.unit
            solids = build_solids(
                case.scene, self.camera, unit, self.theme, head, floor=self._floor
            )
            self._floor = solids.floor
            tube, actors = add_solids(self.plotter, solids, unit, self.theme)
            self._tubes.append(tube)
            self._actors += [(index, actor) for actor in actors]
        self._aim()

    def _shade(self) -> None:
        if self._plan is None:
            return
        radius = drawn_radius(self.scenes[0], self.camera.m_per_px * self._plan.canvas.unit)
        for tube, scene, head in zip(self._tubes, self.scenes, self.heads, strict=True):
            update_tube(tube, scene, self.camera, radius, self.theme, head)

    def _refresh(self) -> None:
        self._plan = plan = self._comparison()
        canvas, u = plan.canvas, plan.canvas.text_unit
        self._cover(canvas)
        side = 0.045 * canvas.width
        self._place(canvas, side, canvas.width - side, plan.header_px - (_CONTROLS + 26) * u)
        self._draw_controls(canvas)
        if self._turning:
            bare = tuple(replace(m, chips=(), placements=(), arrows=()) for m in plan.marks)
            plan = replace(plan, marks=bare)
        draw_comparison_sheet(plan)
        self._lay_over(canvas.overlay())
