"""The window: the still picture come alive, with the same look, drawn by the same functions.

vtk draws the geometry; header, controls, labels and chart are one clear sheet laid over it.
While the run is turned the labels are away; they are placed anew when the turning ends. Every
control is a method, so that the window can be driven without a hand. The window calculates
nothing: another friction or a box switched off is analysed again by the analyzer.
Longer than most modules because one class holds all that changes while the window is open.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analyzer.analysis import Analysis, RunAnalysis, analyze
from analyzer.errors import InputError
from analyzer.job.settings import Friction
from analyzer.route.run import Run
from analyzer.units import show_force
from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.chart import ChartFrame, distance_title, draw_tension, tension_top
from viewer.controls import Control, draw_controls, sheet_actor
from viewer.floor import Floor
from viewer.graphics_probe import require_graphics
from viewer.head import Head, head_at_station
from viewer.image import camera_for, draw_footer, draw_header, layout_for, text_unit_for
from viewer.labels import Rect
from viewer.marks import draw_marks
from viewer.overlay import Chip, Marks, plan_marks
from viewer.palette import LIGHT, Theme
from viewer.render import add_solids, update_tube
from viewer.scene import Scene, build_scene, run_named
from viewer.solids import build_solids, drawn_radius

__all__ = ["VIEWS", "RunWindow", "show_window"]

VIEWS: dict[str, tuple[float, float] | None] = {
    "Best": None,
    "Iso": (-45.0, 35.264),
    "Plan": (-90.0, 89.9),
    "Front": (-90.0, 2.0),
    "Side": (0.0, 2.0),
}
"""Fixed views: azimuth and elevation; None is the searched one. [deg]"""

_CLICK_PX = 5.0
_TUBE_REACH_PX = 14.0
_FLOOR_DRIFT = 0.15
_MOST_BOXES = 6


class RunWindow:
    """A window on one run of an analysis.

    Parameters
    ----------
    analysis : Analysis
        As the analyzer gives it.
    run : str, optional
        Name of the run; the worst by default.
    direction : str
        ``forward``, ``reverse`` or ``better``.
    friction_name : str
        ``low``, ``expected`` or ``high``.
    theme : Theme
        Neutral colors.
    size : tuple of int
        Width and height. [px]
    off_screen : bool
        Draw without a window, to be looked at by `screenshot`.
    """

    def __init__(
        self,
        analysis: Analysis,
        run: str | None = None,
        direction: str = "better",
        friction_name: str = "expected",
        theme: Theme = LIGHT,
        size: tuple[int, int] = (1440, 900),
        off_screen: bool = False,
    ) -> None:
        require_graphics()
        import pyvista

        self.analysis = analysis
        self.whole = run_named(analysis, run)
        self.direction = direction
        self.friction_name = friction_name
        self.theme = theme
        self.off: set[str] = set()
        self.head: Head | None = None
        self.view = "Best"
        self._size = size
        self._judged: RunAnalysis = self.whole
        self._controls: tuple[Control, ...] = ()
        self._frame: ChartFrame | None = None
        self._pressed: tuple[int, int] | None = None
        self._walking = False
        self._turning = False
        self._tube: Any = None
        self._sheet: Any = None
        self._style: Any = None
        self._radius = 0.0
        self._marks: Marks | None = None
        self._floor: tuple[float, Floor | None] | None = None
        self._actors: list[Any] = []
        self.scene = self._new_scene()
        self.plotter = pyvista.Plotter(off_screen=off_screen, window_size=size, lighting="none")
        self.plotter.title = f"{self.whole.run.name}: pulling tension"
        self.plotter.set_background(theme.ground)
        self.camera = self._fitted()
        self._build()
        self._refresh()
        if not off_screen:
            self._listen()

    # what the controls do

    def set_direction(self, direction: str) -> None:
        """Show the legs pulled ``forward``, ``reverse`` or each its ``better`` way."""
        if direction not in ("forward", "reverse", "better"):
            raise InputError(f"no direction is called {direction!r}")
        self.direction = direction
        self._changed()

    def set_friction(self, friction_name: str) -> None:
        """Show the colors at ``low``, ``expected`` or ``high`` friction."""
        if friction_name not in ("low", "expected", "high"):
            raise InputError(f"no friction is called {friction_name!r}")
        self.friction_name = friction_name
        self._changed()

    def toggle_box(self, name: str) -> None:
        """Switch a box between pull point and plain raceway; everything follows at once."""
        if name not in self.boxes:
            raise InputError(f"no box is called {name!r}: there are {', '.join(self.boxes)}")
        self.off ^= {name}
        self._changed(judge=True)

    def set_view(self, view: str) -> None:
        """Look from one of `VIEWS`."""
        if view not in VIEWS:
            raise InputError(f"no view is called {view!r}")
        self.view = view
        self.camera = self._fitted()
        self._build()
        self._refresh()

    def set_head(self, station_m: float | None) -> None:
        """Put the pulling head at a station; None shows the whole pull."""
        self.head = None if station_m is None else head_at_station(self.scene, station_m)
        self._build()
        self._refresh()

    @property
    def boxes(self) -> tuple[str, ...]:
        """Names of the pull points between the ends, in order of station."""
        return tuple(f.name for f in self.whole.run.fittings[1:-1] if f.pull_point)

    @property
    def controls(self) -> tuple[Control, ...]:
        """The buttons as they are drawn now."""
        return self._controls

    def press(self, group: str, text: str) -> None:
        """Do what a button does."""
        actions: dict[str, Callable[[str], None]] = {
            "Pull": lambda name: self.set_direction(name.lower()),
            "Friction": lambda name: self.set_friction(name.lower()),
            "View": self.set_view,
            "Boxes": self.toggle_box,
            "Head": lambda _: self.set_head(None),
        }
        actions[group](text)

    def click(self, x: float, y: float) -> bool:
        """Act on a click at a window point (from the upper left); return whether it met a thing.

        A button does its work; a place in the chart or on the tube puts the head there.
        """
        for control in self._controls:
            left, top, right, bottom = control.rect
            if left <= x <= right and top <= y <= bottom:
                self.press(control.group, control.text)
                return True
        station = self.station_under(x, y)
        if station is None:
            return False
        self.set_head(station)
        return True

    def station_under(self, x: float, y: float) -> float | None:
        """Return the station under a window point, in the chart or on the tube; else None. [m]"""
        frame = self._frame
        if frame is not None and frame.left - 4 <= x <= frame.right + 4 and y >= frame.top:
            if y > frame.bottom + 22:
                return None
            share = min(max((x - frame.left) / (frame.right - frame.left), 0.0), 1.0)
            return (1.0 - share if frame.flipped else share) * frame.length_m
        left, top = self._origin()
        best: tuple[float, float] | None = None
        for leg in self.scene.legs:
            pixels = self.camera.pixels(leg.points_m) + np.array([left, top])
            gap = np.hypot(pixels[:, 0] - x, pixels[:, 1] - y)
            nearest = int(np.argmin(gap))
            if best is None or gap[nearest] < best[0]:
                best = (float(gap[nearest]), float(leg.station_m[nearest]))
        return best[1] if best is not None and best[0] <= _TUBE_REACH_PX else None

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

    # scene

    def _changed(self, judge: bool = False) -> None:
        if judge:
            self._judged = self._judge()
        station = None if self.head is None else self.head.station_m
        self.scene = self._new_scene()
        self.head = None if station is None else head_at_station(self.scene, station)
        # other words may take another number of lines
        left, top, right, bottom = (round(value) for value in self._view_rect())
        self.camera = replace(self.camera, width=right - left, height=bottom - top)
        self._build()
        self._refresh()

    def _judge(self) -> RunAnalysis:
        if not self.off:
            return self.whole
        return analyze([self._run()], self.analysis.job).runs[0]

    def _run(self) -> Run:
        run = self.whole.run
        fittings = tuple(
            replace(fitting, pull_point=False) if fitting.name in self.off else fitting
            for fitting in run.fittings
        )
        return replace(run, fittings=fittings)

    def _new_scene(self) -> Scene:
        job = self.analysis.job
        shown = None
        if self.friction_name != "expected":
            band = job.pull.friction
            value = band.low if self.friction_name == "low" else band.high
            pull = replace(job.pull, friction=Friction(value, value, value, band.stated))
            shown = analyze([self._judged.run], replace(job, pull=pull)).runs[0]
        count = len(self.analysis.runs)
        return build_scene(self._judged, job, self.direction, self.friction_name, shown, count)

    # drawing

    def _canvas(self) -> Canvas:
        width, height = self._size
        return Canvas(width, height, self.theme, max(width / 1280, 0.85), text_unit_for(width))

    def _view_rect(self) -> Rect:
        canvas = self._canvas()
        layout = layout_for(canvas, self.scene, strip=False)
        left, top, right, bottom = layout.view
        return (left, top + 30 * canvas.text_unit, right, bottom)

    def _origin(self) -> tuple[float, float]:
        left, top, _, _ = self._view_rect()
        return (round(left), round(top))

    def _fitted(self) -> Camera:
        left, top, right, bottom = (round(value) for value in self._view_rect())
        canvas = self._canvas()
        angles = VIEWS[self.view]
        return camera_for(self.scene, right - left, bottom - top, canvas, angles=angles)

    def _build(self) -> None:
        """Make the geometry anew."""
        canvas = self._canvas()
        for actor in self._actors:
            self.plotter.remove_actor(actor, render=False)
        radius = drawn_radius(self.scene, self.camera.m_per_px * canvas.unit)
        scale = self.camera.m_per_px * canvas.unit
        if self._floor is None or abs(scale / self._floor[0] - 1) > _FLOOR_DRIFT:
            self._floor = (scale, None)
        self._radius = radius
        solids = build_solids(
            self.scene, self.camera, canvas.unit, self.theme, self.head, radius, self._floor[1]
        )
        self._floor = (self._floor[0], solids.floor)
        self._tube, self._actors = add_solids(self.plotter, solids, canvas.unit, self.theme)
        self._aim()

    def _aim(self) -> None:
        """Give vtk our camera, its middle moved to the middle of the view."""
        view = self.plotter.camera
        width, height = self._size
        left, top, right, bottom = self._view_rect()
        focus = np.asarray(self.camera.focus_m)
        reach = 6.0 * self.camera.m_per_px * float(np.hypot(width, height))
        view.parallel_projection = True
        view.focal_point = tuple(focus)
        view.position = tuple(focus + reach * self.camera.toward)
        view.up = (0.0, 0.0, 1.0)
        view.parallel_scale = height / 2 * self.camera.m_per_px
        off_x = (width / 2 - (left + right) / 2) / (width / 2)
        off_y = ((top + bottom) / 2 - height / 2) / (height / 2)
        view.SetWindowCenter(off_x, off_y)
        self.plotter.renderer.ResetCameraClippingRange()

    def _read_camera(self) -> None:
        """Take over where vtk's camera was turned, moved or zoomed to."""
        view = self.plotter.camera
        focus = np.asarray(view.focal_point)
        toward = np.asarray(view.position) - focus
        toward /= np.linalg.norm(toward)
        elevation = float(np.degrees(np.arcsin(np.clip(toward[2], -1, 1))))
        azimuth = float(np.degrees(np.arctan2(toward[1], toward[0])))
        scale = view.parallel_scale * 2 / self._size[1]
        self.camera = replace(
            self.camera,
            azimuth_deg=azimuth,
            elevation_deg=min(max(elevation, -89.9), 89.9),
            focus_m=(float(focus[0]), float(focus[1]), float(focus[2])),
            m_per_px=float(scale),
        )

    def _refresh(self) -> None:
        """Draw the sheet of header, controls, labels and chart, and show everything."""
        canvas = self._canvas()
        u = canvas.text_unit
        layout = layout_for(canvas, self.scene, strip=False)
        ground = self.theme.ground
        canvas.rectangle(0, 0, canvas.width, layout.header[3], ground, layer=0.5)
        canvas.rectangle(0, layout.view[3], canvas.width, canvas.height, ground, layer=0.5)
        draw_header(canvas, self.scene, layout)
        self._controls = draw_controls(canvas, self._groups(), layout.header)
        if not self._turning:
            seconds = 0.4
            if self._walking and self._marks is not None:
                marks = self._walked_marks(self._marks)
            else:
                marks = plan_marks(canvas, self.scene, self.camera, seconds=seconds, head=self.head)
                self._marks = marks
            draw_marks(canvas, self.scene, self.camera, marks, self._origin())
        self._frame = None
        if layout.tension is not None:
            frame = ChartFrame(
                *layout.tension,
                self.scene.length_m,
                0.0,
                tension_top(self.scene),
                not self.scene.feed_left,
            )
            draw_tension(canvas, self.scene, frame, axis_text=True, head=self.head)
            canvas.text(
                frame.right,
                frame.bottom + 28 * u,
                f"{distance_title(self.scene)} · click here or on the run to move the head",
                7.2,
                color=self.theme.muted,
                align="right",
            )
            self._frame = frame
        draw_footer(canvas, layout)
        self._lay_over(canvas.overlay())

    def _walked_marks(self, placed: Marks) -> Marks:
        """Labels where they are, only the head moved: fast enough to follow a hand."""
        if self.head is None:
            return placed
        x, y = self.camera.pixels(self.scene.point_at(self.head.station_m))[0]
        title = show_force(self.head.tension_n, self.scene.units)
        chip = Chip("worst", "worst", title, "", (float(x), float(y)))
        return replace(
            placed,
            chips=(*(c for c in placed.chips if c.kind != "worst"), chip),
            placements=tuple(p for p in placed.placements if p.key != "worst"),
            head=self.head,
        )

    def _groups(self) -> list[tuple[str, list[tuple[str, bool]]]]:
        """Buttons to draw, by group."""
        ways = ("Better", "Forward", "Reverse")
        frictions = ("Low", "Expected", "High")
        groups = [
            ("View", [(name, name == self.view) for name in VIEWS]),
            ("Pull", [(name, name.lower() == self.direction) for name in ways]),
            ("Friction", [(name, name.lower() == self.friction_name) for name in frictions]),
        ]
        if self.boxes:
            shown = self.boxes[:_MOST_BOXES]
            groups.append(("Boxes", [(name, name not in self.off) for name in shown]))
        if self.head is not None:
            groups.append(("Head", [("Whole pull", False)]))
        return groups

    def _lay_over(self, image: NDArray[np.uint8]) -> None:
        """Show a clear sheet over the geometry."""
        import pyvista

        if self._sheet is not None:
            self.plotter.renderer.RemoveViewProp(self._sheet)
        self._sheet = sheet_actor(image)
        self.plotter.renderer.AddViewProp(self._sheet)
        if isinstance(self.plotter, pyvista.Plotter) and self.plotter.render_window is not None:
            self.plotter.render()

    # hands

    def _listen(self) -> None:
        """Follow mouse, keys and window.

        The style turns and moves the camera; its mouse events come here first, because it would
        keep them to itself while a button is down.
        """
        from vtkmodules.vtkInteractionStyle import vtkInteractorStyleTerrain

        raw = self.plotter.iren.interactor
        style = vtkInteractorStyleTerrain()
        style.SetDefaultRenderer(self.plotter.renderer)
        raw.SetInteractorStyle(style)
        self._style = style
        style.AddObserver("LeftButtonPressEvent", self._on_press)
        style.AddObserver("LeftButtonReleaseEvent", self._on_release)
        style.AddObserver("MouseMoveEvent", self._on_move)
        style.AddObserver("MouseWheelForwardEvent", lambda *_: self._zoom(1 / 1.15))
        style.AddObserver("MouseWheelBackwardEvent", lambda *_: self._zoom(1.15))
        style.AddObserver("InteractionEvent", self._on_turn)
        style.AddObserver("EndInteractionEvent", self._on_turned)
        raw.AddObserver("ConfigureEvent", self._on_resize)
        self.plotter.add_key_event("Escape", lambda: self.set_head(None))

    def _event_point(self) -> tuple[int, int]:
        x, y = self.plotter.iren.interactor.GetEventPosition()
        return int(x), self._size[1] - 1 - int(y)

    def _over_sheet(self, x: float, y: float) -> bool:
        """Whether a point lies on header, controls or chart, where the camera is not turned."""
        _, top, _, bottom = self._view_rect()
        return not top <= y <= bottom

    def _on_press(self, *_: Any) -> None:
        x, y = self._event_point()
        self._pressed = (x, y)
        if not self._over_sheet(x, y):
            self._style.OnLeftButtonDown()
            return
        frame = self._frame
        if frame is not None and frame.left <= x <= frame.right:
            self._walking = frame.top <= y <= frame.bottom

    def _on_move(self, *_: Any) -> None:
        if not self._walking:
            self._style.OnMouseMove()
            return
        x = self._event_point()[0]
        frame = self._frame
        if frame is not None:
            station = self.station_under(min(max(x, frame.left), frame.right), frame.top + 1)
            if station is not None:
                self.set_head(station)

    def _on_release(self, *_: Any) -> None:
        x, y = self._event_point()
        pressed, self._pressed = self._pressed, None
        walking, self._walking = self._walking, False
        self._style.OnLeftButtonUp()
        if pressed is None:
            return
        if np.hypot(x - pressed[0], y - pressed[1]) <= _CLICK_PX:
            self.click(*pressed)
        elif walking:
            self._build()
            self._refresh()

    def _on_turn(self, *_: Any) -> None:
        first, self._turning = not self._turning, True
        self._read_camera()
        update_tube(self._tube, self.scene, self.camera, self._radius, self.theme, self.head)
        if first:
            self._refresh()

    def _on_turned(self, *_: Any) -> None:
        if not self._turning:
            return
        self._turning = False
        self.view = ""
        self._read_camera()
        self._build()
        self._refresh()

    def _zoom(self, factor: float) -> None:
        self.view = ""
        self.camera = replace(self.camera, m_per_px=self.camera.m_per_px * factor)
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


def show_window(
    analysis: Analysis,
    run: str | None = None,
    direction: str = "better",
    friction_name: str = "expected",
    theme: Theme = LIGHT,
    size: tuple[int, int] = (1440, 900),
) -> None:
    """Open a window on a run and stay until it is closed.

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    RunWindow(analysis, run, direction, friction_name, theme, size).show()
