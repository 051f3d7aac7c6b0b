"""What all windows share: one camera for one or two views, a flat sheet over them, and a hand.

vtk draws the geometry in one viewport a view; header, controls, labels and charts are one sheet
laid over the whole window, opaque outside the views. While a view is turned the labels are away;
they are placed anew when the turning ends.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.controls import Control, Group, draw_controls, place_controls, sheet_actor
from viewer.graphics_probe import require_graphics
from viewer.image import text_unit_for
from viewer.labels import Rect
from viewer.palette import Theme
from viewer.render import clear_of

__all__ = ["CLICK_PX", "VIEWS", "SheetWindow"]

VIEWS: dict[str, tuple[float, float] | None] = {
    "Best": None,
    "Iso": (-45.0, 35.264),
    "Plan": (-90.0, 89.9),
    "Front": (-90.0, 2.0),
    "Side": (0.0, 2.0),
}
"""Fixed views: azimuth and elevation; None is the searched one. [deg]

Turned by hand a camera keeps up as up, so that even the plan stays a hair off straight down.
"""

CLICK_PX = 5.0
"""How far the pointer may move between press and release of a click. [px]"""

_SAMPLES = 4
_FADE_UNITS = 40.0


class SheetWindow:
    """A window of one or more views side by side that share one camera.

    Parameters
    ----------
    title : str
        Title of the window.
    theme : Theme
        Neutral colors.
    size : tuple of int
        Width and height. [px]
    off_screen : bool
        Draw without a window, to be looked at by `screenshot`.
    views : int
        Number of views.
    """

    camera: Camera

    def __init__(
        self, title: str, theme: Theme, size: tuple[int, int], off_screen: bool, views: int = 1
    ) -> None:
        require_graphics()
        import pyvista
        from vtkmodules.vtkRenderingCore import vtkRenderer

        self.theme = theme
        self.view = "Best"
        self._size = size
        self._controls: tuple[Control, ...] = ()
        self._pressed: tuple[int, int] | None = None
        self._held: Control | None = None
        self._turning = False
        self._wheel = 0
        self._pending: Callable[[], object] | None = None
        self._measuring: Canvas | None = None
        self._sheet: Any = None
        self._style: Any = None
        self.plotter = pyvista.Plotter(
            off_screen=off_screen,
            window_size=size,
            lighting="none",
            shape=(1, views),
            border=False,
        )
        self.plotter.title = title
        for renderer in self._renderers:
            renderer.SetBackground(*(int(theme.ground[i : i + 2], 16) / 255 for i in (1, 3, 5)))
        first = self._renderers[0]
        for renderer in self._renderers[1:]:
            renderer.camera = first.camera
        self._over = vtkRenderer()
        self._over.SetLayer(1)
        self._over.InteractiveOff()
        self.plotter.render_window.SetNumberOfLayers(2)
        self.plotter.render_window.AddRenderer(self._over)

    # what a window of its own kind does

    def view_rects(self) -> tuple[Rect, ...]:
        """Return the rectangles of the views. [px]"""
        raise NotImplementedError

    def groups(self) -> list[Group]:
        """Return the controls to draw, by group."""
        raise NotImplementedError

    def press(self, group: str, text: str) -> None:
        """Do what a button does."""
        raise NotImplementedError

    def slide(self, group: str, share: float) -> None:
        """Do what a slider does when its knob is put at a place from 0 to 1."""
        raise NotImplementedError

    def click(self, x: float, y: float) -> bool:
        """Act on a click at a window point (from the upper left); return whether it met a thing."""
        control = self._control_at(x, y)
        if control is None:
            return False
        if control.share is None:
            self.press(control.group, control.text)
        else:
            self.slide(control.group, control.share_at(x))
        return True

    def scroll(self, x: float, y: float, steps: int) -> bool:
        """Act on the wheel over the sheet; return whether something moved."""
        return False

    def drag(self, x: float, y: float) -> bool:
        """Act on a drag that began on the sheet, off every slider; return whether it did."""
        return False

    def _fitted(self) -> Camera:
        raise NotImplementedError

    def _build(self) -> None:
        raise NotImplementedError

    def _shade(self) -> None:
        raise NotImplementedError

    def _refresh(self) -> None:
        raise NotImplementedError

    # shared

    @property
    def controls(self) -> tuple[Control, ...]:
        """The controls as they are drawn now."""
        return self._controls

    def screenshot(self) -> NDArray[np.uint8]:
        """Return what the window shows, shape (height, width, 3)."""
        image = self.plotter.screenshot(None, return_img=True)
        return np.asarray(image)[..., :3]

    def show(self) -> None:
        """Open the window and stay until it is closed."""
        self.plotter.show(auto_close=True)

    def close(self) -> None:
        """Close the window."""
        self.plotter.close()

    def leave(self) -> None:
        """End `show`, so that another window can follow."""
        if self.plotter.iren is not None:
            self.plotter.iren.terminate_app()

    def set_view(self, view: str) -> None:
        """Look from one of `VIEWS`."""
        from analyzer.errors import InputError

        if view not in VIEWS:
            raise InputError(f"no view is called {view!r}")
        self.view = view
        self.camera = self._fitted()
        self._build()
        self._refresh()

    @property
    def _renderers(self) -> list[Any]:
        return list(self.plotter.renderers)

    def _canvas(self, scale: float = 1.0) -> Canvas:
        width, height = self._size
        unit = max(scale * width / 1280, 0.85)
        return Canvas(width, height, self.theme, unit, text_unit_for(width))

    def _measure(self) -> Canvas:
        """Return a canvas of the window's size that nothing is drawn on."""
        if self._measuring is None or self._measuring.width != self._size[0]:
            self._measuring = self._canvas()
        return self._measuring

    def _control_at(self, x: float, y: float) -> Control | None:
        reach = 8.0
        for control in self._controls:
            left, top, right, bottom = control.rect
            wide = reach if control.share is not None else 0.0
            if left - wide <= x <= right + wide and top <= y <= bottom:
                return control
        return None

    def _place(self, canvas: Canvas, left: float, right: float, top: float) -> float:
        """Place the controls and return their height. [px]"""
        self._controls, height = place_controls(canvas, self.groups(), left, right, top)
        return height

    def _draw_controls(self, canvas: Canvas) -> None:
        draw_controls(canvas, self._controls)

    def _cover(self, canvas: Canvas) -> None:
        """Make the sheet opaque outside the views."""
        ground = self.theme.ground
        rects = self.view_rects()
        top, bottom = min(r[1] for r in rects), max(r[3] for r in rects)
        canvas.rectangle(0, 0, canvas.width, top, ground, layer=0.5)
        canvas.rectangle(0, bottom, canvas.width, canvas.height, ground, layer=0.5)
        edges = [0.0, *(x for r in rects for x in (r[0], r[2])), float(canvas.width)]
        for left, right in zip(edges[::2], edges[1::2], strict=True):
            if right > left:
                canvas.rectangle(left, top, right, bottom, ground, layer=0.5)
        for rect in rects:
            canvas.fade_edges(rect, _FADE_UNITS)

    def _aim(self) -> None:
        """Give vtk our camera and the viewports."""
        width, height = self._size
        for renderer, rect in zip(self._renderers, self.view_rects(), strict=True):
            left, top, right, bottom = (round(value) for value in rect)
            renderer.SetViewport(left / width, 1 - bottom / height, right / width, 1 - top / height)
        view = self._renderers[0].camera
        focus = np.asarray(self.camera.focus_m)
        sized = replace(self.camera, width=width, height=height)
        reach = clear_of(self._renderers[0], sized, 6.0 * self.camera.m_per_px)
        view.parallel_projection = True
        view.focal_point = tuple(focus)
        view.position = tuple(focus + reach * self.camera.toward)
        view.up = (0.0, 0.0, 1.0)
        view.parallel_scale = self.camera.height / 2 * self.camera.m_per_px
        for renderer in self._renderers:
            renderer.ResetCameraClippingRange()

    def _resized_camera(self) -> Camera:
        """Return the camera for the views as they are now."""
        left, top, right, bottom = (round(value) for value in self.view_rects()[0])
        return replace(self.camera, width=right - left, height=bottom - top)

    def _read_camera(self) -> None:
        """Take over where vtk's camera was turned, moved or zoomed to."""
        view = self._renderers[0].camera
        focus = np.asarray(view.focal_point)
        toward = np.asarray(view.position) - focus
        toward /= np.linalg.norm(toward)
        elevation = float(np.degrees(np.arcsin(np.clip(toward[2], -1, 1))))
        azimuth = float(np.degrees(np.arctan2(toward[1], toward[0])))
        scale = view.parallel_scale * 2 / self.camera.height
        self.camera = replace(
            self.camera,
            azimuth_deg=azimuth,
            elevation_deg=min(max(elevation, -89.9), 89.9),
            focus_m=(float(focus[0]), float(focus[1]), float(focus[2])),
            m_per_px=float(scale),
        )

    def _lay_over(self, image: NDArray[np.uint8]) -> None:
        """Show a sheet over the geometry."""
        if self._sheet is not None:
            self._over.RemoveViewProp(self._sheet)
        self._sheet = sheet_actor(image)
        self._over.AddViewProp(self._sheet)
        if self.plotter.render_window is not None:
            self.plotter.render()

    # hands

    def _listen(self) -> None:
        """Follow mouse, keys and window.

        The style turns and moves the camera; its mouse events come here first, because it would
        keep them to itself while a button is down.
        """
        from vtkmodules.vtkInteractionStyle import vtkInteractorStyleTerrain

        hand = self.plotter.iren
        style = vtkInteractorStyleTerrain()
        style.SetDefaultRenderer(self._renderers[0])
        # pyvista puts its own style back on showing unless it holds this one
        hand.style = style
        self._style = style
        # vtk's and pyvista's letter keys move the camera unseen by the labels
        style.AddObserver("CharEvent", lambda *_: None)
        hand.clear_key_event_callbacks()
        self.plotter.add_key_event("q", self.leave)
        style.AddObserver("LeftButtonPressEvent", self._on_press)
        style.AddObserver("LeftButtonReleaseEvent", self._on_release)
        style.AddObserver("MouseMoveEvent", self._on_move)
        style.AddObserver("MouseWheelForwardEvent", lambda *_: self._on_wheel(-1))
        style.AddObserver("MouseWheelBackwardEvent", lambda *_: self._on_wheel(1))
        style.AddObserver("InteractionEvent", lambda *_: self._soon(self._turned))
        style.AddObserver("EndInteractionEvent", self._on_turned)
        style.AddObserver("TimerEvent", lambda *_: self._do_pending())
        raw = hand.interactor
        raw.AddObserver("ConfigureEvent", self._on_resize)
        # drawing follows from here alone: once for all the moves that came while it was drawn
        raw.EnableRenderOff()
        raw.AddObserver("ExposeEvent", lambda *_: self.plotter.render())

    def _soon(self, act: Callable[[], object]) -> None:
        """Do something once the events at hand are through; of several, only the last."""
        waiting, self._pending = self._pending is not None, act
        if not waiting:
            self.plotter.iren.interactor.CreateOneShotTimer(1)

    def _do_pending(self) -> None:
        act, self._pending = self._pending, None
        if act is not None:
            act()
            # events that came while it was drawn wait unseen until something wakes the loop
            self.plotter.iren.interactor.CreateOneShotTimer(1)

    def _moving(self, moves: bool) -> None:
        """Draw faster and rougher while a hand moves something."""
        self.plotter.render_window.SetMultiSamples(0 if moves else _SAMPLES)

    def _event_point(self) -> tuple[int, int]:
        x, y = self.plotter.iren.interactor.GetEventPosition()
        return int(x), self._size[1] - 1 - int(y)

    def _over_sheet(self, x: float, y: float) -> bool:
        """Whether a point lies on header, controls or chart, where the camera is not turned."""
        return not any(a <= x <= c and b <= y <= d for a, b, c, d in self.view_rects())

    def _on_press(self, *_: Any) -> None:
        x, y = self._event_point()
        self._pressed = (x, y)
        if not self._over_sheet(x, y):
            self._style.OnLeftButtonDown()
            return
        control = self._control_at(x, y)
        self._held = control if control is not None and control.share is not None else None

    def _on_move(self, *_: Any) -> None:
        x, y = self._event_point()
        held = self._held
        if held is not None:
            self._soon(lambda: self._moved(lambda: self.slide(held.group, held.share_at(x))))
        elif self._pressed is None or not self._over_sheet(*self._pressed):
            self._style.OnMouseMove()
        else:
            self._soon(lambda: self._moved(lambda: self.drag(x, y)))

    def _moved(self, act: Callable[[], object]) -> None:
        """Follow a hand that is still down."""
        if self._pressed is not None:
            self._moving(True)
            act()

    def _on_release(self, *_: Any) -> None:
        x, y = self._event_point()
        pressed, self._pressed = self._pressed, None
        held, self._held = self._held, None
        self._style.OnLeftButtonUp()
        self._pending = None
        self._moving(False)
        if pressed is None:
            return
        if held is not None:
            self.slide(held.group, held.share_at(x))
        elif np.hypot(x - pressed[0], y - pressed[1]) <= CLICK_PX:
            self.click(*pressed)
        elif self._over_sheet(*pressed):
            self._build()
            self._refresh()

    def _on_wheel(self, steps: int) -> None:
        self._wheel += steps
        self._soon(self._wheeled)

    def _wheeled(self) -> None:
        x, y = self._event_point()
        steps, self._wheel = self._wheel, 0
        if self._over_sheet(x, y):
            self.scroll(x, y, steps)
            return
        self.view = ""
        scale = self.camera.m_per_px * 1.15**steps
        self.camera = replace(self.camera, m_per_px=scale)
        self._build()
        self._refresh()

    def _turned(self) -> None:
        """Follow the camera while it is turned, moved or zoomed by hand."""
        first, self._turning = not self._turning, True
        self._moving(True)
        self._read_camera()
        self._shade()
        if first:
            self._refresh()
        else:
            self.plotter.render()

    def _on_turned(self, *_: Any) -> None:
        if not self._turning and self._pending is None:
            return
        self._pending = None
        self._turning = False
        self._moving(False)
        self.view = ""
        self._read_camera()
        self._build()
        self._refresh()

    def _on_resize(self, *_: Any) -> None:
        width, height = self.plotter.render_window.GetSize()
        if (width, height) == self._size or width < 480 or height < 320:
            return
        self._size = (width, height)
        self.camera = self._fitted()
        self._build()
        self._refresh()
