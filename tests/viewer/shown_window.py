"""A window opened in a process of its own, that tells after every event what it shows.

Run as a script: what to open (``run``, ``compare`` or ``many``) and the file it tells into. While a
file of that name with the ending ``.slow`` stands beside it every drawing is slower by the seconds
it holds, as on a busy machine. It adds no timer: the window's own loop must see every event by
itself.

What costs time and is no part of what a hand does is kept small: labels take the first places
found, edges are not smoothed, and no child process asks whether anything can be drawn.
"""

from __future__ import annotations

import hashlib
import json
import sys
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import rink_analyses as rink

from analyzer.analysis import analyze
from viewer import compare, graphics_probe, sessions, sheet_window
from viewer import window as run_window
from viewer.many_window import ManyWindow
from viewer.options import PictureSize, ViewOptions
from viewer.sheet_window import SheetWindow

TWO_BOXES = (("Box A", 64.0), ("Box B", 130.0))
SIZE = (1100, 760)
RUNS = 24


def feeder():
    """The feeder with two boxes, through the analyzer itself."""
    made = rink.analysis_of(boxes=TWO_BOXES)
    return analyze([made.runs[0].run], made.job)


def yard():
    """Many short runs side by side on a yard, the feeder among them."""
    made = rink.analysis_of(boxes=TWO_BOXES)
    runs = [made.runs[0].run]
    for index in range(RUNS - 1):
        corners = [(160 + 14 * index, 0, 1.5), (160 + 14 * index, 60 + 2 * index, 1.5)]
        runs.append(rink.tiny(name=f"Branch {index + 1}", corners=corners).runs[0].run)
    return analyze(runs, made.job)


def digest(mesh: Any) -> str:
    """A short name for the points and colors of a tube as vtk holds them."""
    made = hashlib.sha256(np.ascontiguousarray(mesh.points).tobytes())
    made.update(np.ascontiguousarray(mesh.point_data["rgb"]).tobytes())
    return made.hexdigest()[:16]


drawn: list[list[str]] = []
"""Titles of the labels of every view that was drawn."""


def noting(draw: Any) -> Any:
    """Draw marks as before, and note what their labels say."""

    def noted(canvas: Any, scene: Any, camera: Any, marks: Any, corner: Any) -> None:
        placed = {place.key for place in marks.placements}
        drawn.append([chip.title for chip in marks.chips if chip.key in placed])
        draw(canvas, scene, camera, marks, corner)

    return noted


def quickly(plan: Any) -> Any:
    """Place labels as before, without the time for better places."""

    def placed(*words: Any, **options: Any) -> Any:
        return plan(*words, **{**options, "effort": 0.0})

    return placed


class Teller:
    """Counts what reaches a window and writes down what the window shows."""

    def __init__(self, told: Path) -> None:
        self.told = told
        self.counts: Counter[str] = Counter()
        self.opened = 0

    def listen(self, window: SheetWindow) -> None:
        """Follow a window: each watcher here comes after the window's own."""
        self.opened += 1
        style, raw = window._style, window.plotter.iren.interactor
        for event in (
            "LeftButtonPressEvent",
            "LeftButtonReleaseEvent",
            "MouseMoveEvent",
            "MouseWheelForwardEvent",
            "MouseWheelBackwardEvent",
            "EndInteractionEvent",
            "TimerEvent",
        ):
            style.AddObserver(event, lambda _, name: self.tell(window, name))
        for event in ("KeyPressEvent", "ExposeEvent", "ConfigureEvent"):
            raw.AddObserver(event, lambda _, name: self.tell(window, name), -1.0)

    def tell(self, window: SheetWindow, event: str) -> None:
        """Write the state after an event, whole or not at all."""
        self.counts[event] += 1
        x, y = window._event_point()
        found = {
            "window": type(window).__name__,
            "opened": self.opened,
            "counts": self.counts,
            "at": (x, y),
            "following": window._pending is None,
            "idle": window._pending is None and window._pressed is None and not window._turning,
            "handle": int(window.plotter.render_window.GetGenericWindowId().split("_")[1], 16),
            "controls": [(c.group, c.text, c.on, c.rect, c.share) for c in window.controls],
            "views": window.view_rects(),
            "view": window.view,
            "camera": (
                window.camera.azimuth_deg,
                window.camera.elevation_deg,
                window.camera.m_per_px,
            ),
            "seen_from": [r.GetActiveCamera().GetPosition() for r in window._renderers],
            **said(window),
        }
        part = self.told.with_suffix(".part")
        part.write_text(json.dumps(found))
        part.replace(self.told)


def said(window: SheetWindow) -> dict[str, Any]:
    """What a window of one kind shows besides what all windows have."""
    if isinstance(window, ManyWindow):
        left, top = (round(value) for value in window.view_rects()[0][:2])
        middles = {}
        for row in window.scene.rows:
            middle = window.camera.pixels(row.points_m.mean(axis=0))[0]
            middles[row.name] = (left + float(middle[0]), top + float(middle[1]))
        return {
            "rows": [(row.name, row.rect) for row in window.rows],
            "order": [row.name for row in window.scene.rows],
            "middles": middles,
            "first": window.first,
            "picked": window.picked,
            "tubes": [digest(window._tube)],
        }
    if hasattr(window, "heads"):
        return {
            "heads": [None if h is None else (h.station_m, h.tension_n) for h in window.heads],
            "labels": drawn[-len(window.heads) :],
            "tubes": [digest(tube) for tube in window._tubes],
        }
    frame, (left, top) = window._frame, window._origin()
    middle = window.camera.pixels(window.scene.point_at(14.0))[0]
    return {
        "run": window.scene.analysis.run.name,
        "direction": window.direction,
        "friction": window.scene.friction,
        "tension": [float(leg.max_tension_n) for leg in window.scene.legs],
        "head": None if window.head is None else (window.head.station_m, window.head.tension_n),
        "labels": drawn[-1],
        "chart": (frame.left, frame.top, frame.right, frame.bottom),
        "place": (left + float(middle[0]), top + float(middle[1])),
        "tubes": [digest(window._tube)],
    }


def open_window(kind: str, told: Path) -> None:
    """Open windows as the command does, and stay until they are closed."""
    teller, slow = Teller(told), told.with_suffix(".slow")
    listen, lay_over = SheetWindow._listen, SheetWindow._lay_over

    def listening(window: SheetWindow) -> None:
        listen(window)
        teller.listen(window)

    def slowly(window: SheetWindow, image: Any) -> None:
        if slow.exists():
            time.sleep(float(slow.read_text()))
        lay_over(window, image)

    for module in (run_window, compare):
        module.draw_marks = noting(module.draw_marks)  # type: ignore[attr-defined]
        module.plan_marks = quickly(module.plan_marks)  # type: ignore[attr-defined]
    sheet_window._SAMPLES = 0
    graphics_probe.graphics_fault = lambda: ""  # type: ignore[assignment]
    SheetWindow._listen = listening  # type: ignore[method-assign]
    SheetWindow._lay_over = slowly  # type: ignore[method-assign]
    options = ViewOptions(None, "forward", "expected", "tension", PictureSize(*SIZE), False)
    analysis = yard() if kind == "many" else feeder()
    if kind == "compare":
        options = replace(options, size=PictureSize(1380, 760))
        sessions.show_windows(analysis, options, "boxes")
    else:
        sessions.show_windows(analysis, options)


if __name__ == "__main__":
    open_window(sys.argv[1], Path(sys.argv[2]))
    print("closed")
