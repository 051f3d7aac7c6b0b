"""The window on one run: the still picture come alive, drawn by the same functions.

Every control is a method, so that the window can be driven without a hand. The window calculates
nothing: another friction or a box switched off is analyzed again by the analyzer.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from analyzer.analysis import Analysis, RunAnalysis, analyze
from analyzer.errors import InputError
from analyzer.route.run import Run
from analyzer.units import show_force
from viewer.boxes import boxes_of
from viewer.camera import Camera
from viewer.cases import friction_of, scene_at
from viewer.chart import ChartFrame, distance_title, draw_tension, tension_top
from viewer.controls import Group, Slider
from viewer.floor import Floor
from viewer.head import Head, head_at, head_at_station
from viewer.image import Layout, camera_for, draw_footer, draw_header, layout_for
from viewer.labels import Rect
from viewer.marks import draw_marks
from viewer.overlay import Marks, moved_marks, plan_marks
from viewer.palette import LIGHT, Theme
from viewer.quantities import Quantity
from viewer.render import add_solids, update_tube
from viewer.scene import Scene, run_named
from viewer.sheet_window import VIEWS, SheetWindow
from viewer.shown_values import shown_length
from viewer.solids import build_solids, drawn_radius, draws_true

__all__ = ["RunWindow"]

_TUBE_REACH_PX = 14.0
_FLOOR_DRIFT = 0.15
_MOST_BOXES = 6
_FRICTION_STEP = 0.005


class RunWindow(SheetWindow):
    """A window on one run of an analysis.

    Parameters
    ----------
    analysis : Analysis
        As the analyzer gives it.
    run : str, optional
        Name of the run; the worst by default.
    direction : str
        ``forward``, ``reverse`` or ``better``.
    friction : str or float
        ``low``, ``expected``, ``high`` or a number within the band.
    quantity : Quantity
        What the colors show.
    theme : Theme
        Neutral colors.
    size : tuple of int
        Width and height. [px]
    off_screen : bool
        Draw without a window, to be looked at by `screenshot`.
    from_list : bool
        Whether a list of runs stands behind this window, to go back to.
    """

    def __init__(
        self,
        analysis: Analysis,
        run: str | None = None,
        direction: str = "better",
        friction: str | float = "expected",
        quantity: Quantity = Quantity.TENSION,
        theme: Theme = LIGHT,
        size: tuple[int, int] = (1440, 900),
        off_screen: bool = False,
        from_list: bool = False,
    ) -> None:
        self.analysis = analysis
        self.whole = run_named(analysis, run)
        self.direction = direction
        self.friction: str | float = friction
        self.quantity = quantity
        self.off: set[str] = set()
        self.head: Head | None = None
        self.back = False
        self._from_list = from_list
        self._first_box = 0
        self._header = (0, 0.0)
        self._judged: RunAnalysis = self.whole
        self._frame: ChartFrame | None = None
        self._tube: Any = None
        self._radius = 0.0
        self._marks: Marks | None = None
        self._floor: tuple[float, Floor | None] | None = None
        self._actors: list[Any] = []
        self._fast = False
        self.scene = self._new_scene()
        super().__init__(f"Pull through {self.whole.run.name}", theme, size, off_screen)
        self.camera = self._fitted()
        self._build()
        self._refresh()
        if not off_screen:
            self._listen()
            self.plotter.add_key_event("Escape", lambda: self.set_head(None))

    # what the controls do

    def set_direction(self, direction: str) -> None:
        """Show the legs pulled ``forward``, ``reverse`` or each its ``better`` way."""
        if direction not in ("forward", "reverse", "better"):
            raise InputError(f"no direction is called {direction!r}")
        self.direction = direction
        self._changed()

    def set_friction(self, friction: str | float) -> None:
        """Show the colors at ``low``, ``expected`` or ``high`` friction, or at a number."""
        friction_of(self.analysis.job.pull.friction, friction)
        self.friction = friction
        self._changed()

    def set_quantity(self, quantity: Quantity) -> None:
        """Show another quantity in color."""
        before, self.quantity = self.quantity, quantity
        try:
            self._changed()
        except InputError:
            self.quantity = before
            raise

    def toggle_box(self, name: str) -> None:
        """Switch a box between pull point and plain raceway; everything follows at once."""
        if name not in self.boxes:
            raise InputError(f"no box is called {name!r}: there are {', '.join(self.boxes)}")
        self.off ^= {name}
        self._changed(judge=True)

    def set_head(self, station_m: float | None) -> None:
        """Put the pulling head at a station; None shows the whole pull."""
        self.head = None if station_m is None else head_at_station(self.scene, station_m)
        self._build()
        self._refresh()

    def walk_head(self, share: float) -> None:
        """Put the head where a share of the whole length is pulled."""
        self.head = head_at(self.scene, share * self.scene.length_m)
        self._build()
        self._refresh()

    @property
    def boxes(self) -> tuple[str, ...]:
        """Names of the pull points between the ends, in order of station."""
        return tuple(f.name for f in self.whole.run.fittings[1:-1] if f.pull_point)

    def press(self, group: str, text: str) -> None:
        """Do what a button does."""
        if group == "Pull":
            self.set_direction(text.lower())
        elif group == "Color":
            self.set_quantity(Quantity(text.lower()))
        elif group == "Friction":
            self.set_friction(text.lower())
        elif group == "View":
            self.set_view(text)
        elif group == "Boxes" and text in ("‹", "›"):
            self._turn_boxes(_MOST_BOXES if text == "›" else -_MOST_BOXES)
        elif group == "Boxes":
            self.toggle_box(text)
        elif group == "Head":
            self.set_head(None)
        elif group == "Runs":
            self.back = True
            self.leave()

    def slide(self, group: str, share: float) -> None:
        """Put a slider's knob at a place from 0 to 1."""
        self._fast = self._held is not None
        if group == "Head":
            self.walk_head(share)
        else:
            band = self.analysis.job.pull.friction
            value = band.low + share * (band.high - band.low)
            step = round(value / _FRICTION_STEP) * _FRICTION_STEP
            self.set_friction(round(min(max(step, band.low), band.high), 6))
        self._fast = False

    def click(self, x: float, y: float) -> bool:
        """Act on a click at a window point (from the upper left); return whether it met a thing.

        A control does its work; a place in the chart or on the tube puts the head there, which
        reads it.
        """
        if super().click(x, y):
            return True
        station = self.station_under(x, y)
        if station is None:
            return False
        self.set_head(station)
        return True

    def drag(self, x: float, y: float) -> bool:
        """Walk the head along the chart."""
        frame = self._frame
        if frame is None or self._pressed is None:
            return False
        if not (frame.left <= self._pressed[0] <= frame.right and self._pressed[1] >= frame.top):
            return False
        station = self.station_under(min(max(x, frame.left), frame.right), frame.top + 1)
        if station is not None:
            self._fast = True
            self.set_head(station)
            self._fast = False
        return station is not None

    def scroll(self, x: float, y: float, steps: int) -> bool:
        """Walk the head over the chart; turn the list of boxes over the controls."""
        if y < self._view_rect()[1]:
            return self._turn_boxes(steps)
        walked = 0.0 if self.head is None else self.head.walked_m
        self.walk_head(min(max(walked / self.scene.length_m + 0.01 * steps, 0.0), 1.0))
        return True

    def _turn_boxes(self, steps: int) -> bool:
        last = max(len(self.boxes) - _MOST_BOXES, 0)
        first = min(max(self._first_box + steps, 0), last)
        if first == self._first_box:
            return False
        self._first_box = first
        self._refresh()
        return True

    def station_under(self, x: float, y: float) -> float | None:
        """Return the station under a window point, in the chart or on the run; else None. [m]"""
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
        if best is not None and best[0] <= _TUBE_REACH_PX:
            return best[1]
        return self._box_under(x - left, y - top)

    def _box_under(self, x: float, y: float) -> float | None:
        marks = {mark.name: mark for mark in self.scene.fittings}
        for box in boxes_of(self.scene, self._radius):
            center = self.camera.pixels(box.center_m)[0]
            reach = 0.4 * float(np.linalg.norm(box.size_m)) / self.camera.m_per_px
            if np.hypot(center[0] - x, center[1] - y) <= reach:
                return marks[box.name].station_m
        return None

    # scene

    def _changed(self, judge: bool = False) -> None:
        if judge:
            self._judged = self._judge()
        station = None if self.head is None else self.head.station_m
        self.scene = self._new_scene()
        self.head = None if station is None else head_at_station(self.scene, station)
        # other words may take another number of lines
        self.camera = self._resized_camera()
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
        return scene_at(self.analysis, self._judged, self.direction, self.friction, self.quantity)

    # drawing

    def _layout(self) -> tuple[Layout, float]:
        """Return the layout of the sheet and the height of the controls below its header."""
        canvas = self._measure()
        # room for longer words from the start, so that no control moves away under the hand
        room = 24 * canvas.text_unit + 2 * 1.2 * canvas.px(12.5) + 2 * 1.35 * canvas.px(9.0)
        width, highest = self._header if self._header[0] == canvas.width else (canvas.width, room)
        layout = layout_for(canvas, self.scene, strip=False, least_header_px=highest)
        self._header = (width, layout.header[3])
        top = layout.header[3] + 3 * canvas.text_unit
        return layout, self._place(canvas, layout.header[0], layout.header[2], top)

    def _view_rect(self) -> Rect:
        layout, high = self._layout()
        left, top, right, bottom = layout.view
        return (left, top + high + 4, right, bottom)

    def view_rects(self) -> tuple[Rect, ...]:
        """Return the rectangle of the one view. [px]"""
        return (self._view_rect(),)

    def _origin(self) -> tuple[float, float]:
        left, top, _, _ = self._view_rect()
        return (round(left), round(top))

    def _fitted(self) -> Camera:
        left, top, right, bottom = (round(value) for value in self._view_rect())
        canvas = self._measure()
        angles = VIEWS.get(self.view)
        return camera_for(self.scene, right - left, bottom - top, canvas, angles=angles)

    def _build(self) -> None:
        """Make the geometry anew."""
        unit = self._measure().unit
        for actor in self._actors:
            self.plotter.remove_actor(actor, render=False)
        scale = self.camera.m_per_px * unit
        self._radius = drawn_radius(self.scene, scale)
        drawn_wide = replace(self.scene, true_diameter=False)
        self.scene = replace(drawn_wide, true_diameter=draws_true(drawn_wide, scale))
        if self._floor is None or abs(scale / self._floor[0] - 1) > _FLOOR_DRIFT:
            self._floor = (scale, None)
        solids = build_solids(
            self.scene, self.camera, unit, self.theme, self.head, self._radius, self._floor[1]
        )
        self._floor = (self._floor[0], solids.floor)
        self._tube, self._actors = add_solids(self.plotter, solids, unit, self.theme)
        self._aim()

    def _shade(self) -> None:
        update_tube(self._tube, self.scene, self.camera, self._radius, self.theme, self.head)

    def _refresh(self) -> None:
        """Draw the sheet of header, controls, labels and chart, and show everything."""
        canvas = self._canvas()
        u = canvas.text_unit
        layout, _ = self._layout()
        self._cover(canvas)
        draw_header(canvas, self.scene, layout)
        self._draw_controls(canvas)
        left_out: tuple[str, ...] = ()
        if not self._turning:
            if self._fast and self._marks is not None:
                marks = moved_marks(canvas, self.scene, self.camera, self._marks, self.head)
            else:
                marks = plan_marks(canvas, self.scene, self.camera, effort=0.4, head=self.head)
                self._marks = marks
            draw_marks(canvas, self.scene, self.camera, marks, self._origin())
            left_out = marks.left_out
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
                f"{distance_title(self.scene)} · click here or on the run to read a place",
                7.2,
                color=self.theme.muted,
                align="right",
            )
            self._frame = frame
        draw_footer(canvas, layout, left_out)
        self._lay_over(canvas.overlay())

    def groups(self) -> list[Group]:
        """Return the controls to draw, by group."""
        ways = ("Better", "Forward", "Reverse")
        band = self.analysis.job.pull.friction
        name, value = friction_of(band, self.friction)
        colors = [q for q in Quantity if q is not Quantity.SHARE or self._has_limit()]
        groups = [
            Group("View", tuple((text, text == self.view) for text in VIEWS)),
            Group("Pull", tuple((text, text.lower() == self.direction) for text in ways)),
            Group("Color", tuple((q.value.capitalize(), q is self.scene.quantity) for q in colors)),
        ]
        if band.is_band:
            names = tuple((text, text.lower() == name) for text in ("Low", "Expected", "High"))
            share = (value - band.low) / (band.high - band.low)
            slider = Slider(share, f"{value:.3g}", reading="0.000")
            groups.append(Group("Friction", (*names, slider)))
        walked = 1.0 if self.head is None else self.head.walked_m / self.scene.length_m
        text = "whole pull" if self.head is None else self._head_text(self.head)
        head: list[tuple[str, bool] | Slider] = [
            Slider(walked, text, 170.0, reading="00,000 lbf at 0,000.0 ft")
        ]
        if self.head is not None:
            head.append(("Whole pull", False))
        groups.append(Group("Head", tuple(head)))
        if self.boxes:
            groups.append(Group("Boxes", self._box_items()))
        if self._from_list:
            groups.append(Group("Runs", (("All runs", False),)))
        return groups

    def _box_items(self) -> tuple[tuple[str, bool], ...]:
        first, names = self._first_box, self.boxes
        shown = names[first : first + _MOST_BOXES]
        items = [(name, name not in self.off) for name in shown]
        if first > 0:
            items.insert(0, ("‹", False))
        if first + _MOST_BOXES < len(names):
            items.append(("›", False))
        return tuple(items)

    def _has_limit(self) -> bool:
        pulls = [pull for leg in self._judged.legs for pull in (leg.forward, leg.reverse)]
        return any(pull.shares for pull in pulls)

    def _head_text(self, head: Head) -> str:
        units = self.scene.units
        return f"{show_force(head.tension_n, units)} at {shown_length(head.station_m, units)}"
