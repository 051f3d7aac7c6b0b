"""The movie: the head runs from feed to pull end, color fills in behind it, the chart draws along.

What stands still (header, legend, labels, cautions, the charts with and without their color) is
drawn once; each frame is the geometry rendered anew, the two charts joined at the head, and the
head's mark. Where the conductors are refed the tension starts anew, as the chart shows. Two cases
run side by side, each head after the same share of its run.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib import font_manager
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from analyzer.errors import InputError
from analyzer.pulling.results import Direction
from analyzer.units import show_force
from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.chart import ChartFrame, distance_title, draw_tension, tension_top
from viewer.chips import head_words
from viewer.compare import comparison_parts, plan_comparison, require_room
from viewer.compared_cases import Case
from viewer.floor import Floor
from viewer.fonts import font_family
from viewer.graphics_probe import prepare_off_screen, require_graphics
from viewer.head import Head, curve_at, head_at, legs_to_head
from viewer.image import camera_for, draw_footer, draw_header, layout_for, sheet_for
from viewer.labels import Rect
from viewer.marks import draw_marks
from viewer.overlay import Marks, plan_marks
from viewer.palette import Theme
from viewer.render import add_moving, add_solids, aim
from viewer.scene import Scene
from viewer.sizes import no_room
from viewer.solids import Solids, build_solids

__all__ = [
    "FRAMES",
    "Panel",
    "Stage",
    "case_stage",
    "film_stage",
    "pair_stage",
    "walked_shares",
]

FRAMES = 60
"""Frames of the way; the last one is held."""

_OVERSAMPLING = 2
_FADE_UNITS = 30.0
_LEAST_UNITS = 200.0
_QUIET = frozenset({"worst", "leg"})


@dataclass(frozen=True, slots=True)
class Panel:
    """One case in a movie: its scene, camera, view, chart, and the columns that are its own."""

    scene: Scene
    camera: Camera
    view: Rect
    frame: ChartFrame
    columns: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Stage:
    """All that stands still in a movie: labels on clear ground, charts colored and not yet."""

    canvas: Canvas
    panels: tuple[Panel, ...]
    labels: Image.Image
    drawn: NDArray[np.uint8]
    ahead: NDArray[np.uint8]


def walked_shares(frames: int = FRAMES) -> list[float]:
    """Return the share of the run pulled at each frame, from nothing to all.

    Raises
    ------
    InputError
        If fewer than two frames are asked for.
    """
    if frames < 2:
        raise InputError(f"a movie needs two frames or more: got {frames}")
    return [float(value) for value in np.linspace(0.0, 1.0, frames)]


def film_stage(stage: Stage, frames: int = FRAMES) -> Iterator[NDArray[np.uint8]]:
    """Yield the frames of a movie.

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    shares = walked_shares(frames)
    require_graphics()
    prepare_off_screen()
    cameras = [_Camera(stage, panel) for panel in stage.panels]
    try:
        for share in shares:
            heads = [head_at(p.scene, share * p.scene.length_m) for p in stage.panels]
            views = [camera.view(head) for camera, head in zip(cameras, heads, strict=True)]
            yield _composed(stage, heads, views)
    finally:
        for camera in cameras:
            camera.close()


class _Camera:
    """One panel's geometry in a plotter of its own; only what moves is made anew."""

    def __init__(self, stage: Stage, panel: Panel) -> None:
        import pyvista

        self.panel, self.unit, self.theme = panel, stage.canvas.unit, stage.canvas.theme
        size = (panel.camera.width * _OVERSAMPLING, panel.camera.height * _OVERSAMPLING)
        self.plotter = pyvista.Plotter(off_screen=True, window_size=size, lighting="none")
        # four pixels for each of the picture's smooth its edges; vtk's own would double the time
        self.plotter.render_window.SetMultiSamples(0)
        self.plotter.set_background(self.theme.ground)
        self.moving: list[Any] = []
        self.floor: Floor | None = None

    def view(self, head: Head) -> NDArray[np.uint8]:
        """Return the geometry with the head at a place."""
        panel = self.panel
        solids = build_solids(
            panel.scene, panel.camera, self.unit, self.theme, head, floor=self.floor
        )
        if self.floor is None:
            actors = add_solids(self.plotter, solids, self.unit * _OVERSAMPLING, self.theme)[1]
            self.moving = actors[: _moving_count(solids)]
            aim(self.plotter, panel.camera)
            self.floor = solids.floor
        else:
            for actor in self.moving:
                self.plotter.remove_actor(actor, render=False)
            self.moving = add_moving(self.plotter, solids)[1]
        self.plotter.render()
        return np.asarray(self.plotter.screenshot(None, return_img=True))[..., :3]

    def close(self) -> None:
        self.plotter.close()


def _moving_count(solids: Solids) -> int:
    """Actors of a scene that change with the head: they are added first."""
    return 1 if solids.rings is None else 2


def case_stage(scene: Scene, width: int, height: int, theme: Theme) -> Stage:
    """Return what stands still in a movie of one case.

    Parameters
    ----------
    scene : Scene
        The case.
    width, height : int
        Size of the movie. [px]
    theme : Theme
        Neutral colors.

    Raises
    ------
    InputError
        If the movie is too small for its chart.
    """
    canvas = sheet_for(width, height, theme)
    layout = layout_for(canvas, scene, strip=False, least_units=_LEAST_UNITS)
    if layout.tension is None:

        def fits(across: int, down: int) -> bool:
            other = sheet_for(across, down, theme)
            found = layout_for(other, scene, strip=False, least_units=_LEAST_UNITS)
            return found.tension is not None

        raise no_room("movie", "chart", fits, width, height)
    left, top, right, bottom = (round(value) for value in layout.view)
    camera = camera_for(scene, right - left, bottom - top, canvas, brief=True)
    frame = ChartFrame(
        *layout.tension, scene.length_m, 0.0, tension_top(scene), not scene.feed_left
    )
    marks = plan_marks(canvas, scene, camera, brief=width < 1100, without=_QUIET)
    view = (float(left), float(top), float(right), float(bottom))
    canvas.fade_edges(view, _FADE_UNITS)
    draw_marks(canvas, scene, camera, _without_arrows(marks), (left, top))
    draw_header(canvas, scene, layout)
    draw_footer(canvas, layout, marks.left_out)
    panel = Panel(scene, camera, view, frame, (0, width))
    return Stage(
        canvas=canvas,
        panels=(panel,),
        labels=Image.fromarray(canvas.overlay(), "RGBA"),
        drawn=_charts((panel,), canvas, begun=False),
        ahead=_charts((panel,), canvas, begun=True),
    )


def pair_stage(cases: tuple[Case, ...], width: int, height: int, theme: Theme) -> Stage:
    """Return what stands still in a movie of cases side by side.

    Parameters
    ----------
    cases : tuple of Case
        From left to right.
    width, height : int
        Size of the movie. [px]
    theme : Theme
        Neutral colors.

    Raises
    ------
    InputError
        If the movie is too small for its views.
    """
    require_room("movie", cases, width, height, theme)
    plan = plan_comparison(cases, width, height, theme, without=_QUIET)
    for rect in plan.views:
        plan.canvas.fade_edges(rect, _FADE_UNITS)
    quiet = tuple(_without_arrows(marks) for marks in plan.marks)
    comparison_parts(plan, quiet)
    top = max(tension_top(case.scene) for case in plan.cases)
    panels = []
    for index, case in enumerate(plan.cases):
        scene, view = case.scene, plan.views[index]
        frame = ChartFrame(*plan.charts[index], scene.length_m, 0.0, top, not scene.feed_left)
        columns = (index * width // len(cases), (index + 1) * width // len(cases))
        panels.append(Panel(scene, plan.camera, view, frame, columns))
    return Stage(
        canvas=plan.canvas,
        panels=tuple(panels),
        labels=Image.fromarray(plan.canvas.overlay(), "RGBA"),
        drawn=_charts(tuple(panels), plan.canvas, begun=False),
        ahead=_charts(tuple(panels), plan.canvas, begun=True),
    )


def _without_arrows(marks: Marks) -> Marks:
    return Marks(marks.chips, marks.placements, (), marks.scale_bar, marks.triad, marks.head)


def _charts(panels: tuple[Panel, ...], like: Canvas, begun: bool) -> NDArray[np.uint8]:
    """Draw the charts: all colored, or with the head at the start."""
    canvas = Canvas(like.width, like.height, like.theme, like.unit, like.text_unit)
    u = canvas.text_unit
    for index, panel in enumerate(panels):
        scene, frame = panel.scene, panel.frame
        head = head_at(scene, 0.0) if begun else None
        title = None if index == 0 else ""
        draw_tension(canvas, scene, frame, axis_text=True, title=title, head=head, mark=False)
        canvas.text(
            frame.right,
            frame.bottom + 28 * u,
            distance_title(scene),
            7.2,
            color=canvas.theme.muted,
            align="right",
        )
    return canvas.pixels()


def _composed(stage: Stage, heads: list[Head], views: list[NDArray[np.uint8]]) -> NDArray[np.uint8]:
    passed = np.ones(stage.canvas.width, dtype=bool)
    for panel, head in zip(stage.panels, heads, strict=True):
        low, high = panel.columns
        passed[low:high] = _columns_passed(panel, head, stage.canvas.width)[low:high]
    picture = Image.fromarray(np.where(passed[None, :, None], stage.drawn, stage.ahead))
    for panel, geometry in zip(stage.panels, views, strict=True):
        size = (panel.camera.width, panel.camera.height)
        small = Image.fromarray(geometry).resize(size, Image.Resampling.LANCZOS)
        picture.paste(small, (round(panel.view[0]), round(panel.view[1])))
    picture.paste(stage.labels, (0, 0), stage.labels)
    for panel, head in zip(stage.panels, heads, strict=True):
        _mark_head(stage.canvas, panel, head, picture)
    return np.asarray(picture)


def _columns_passed(panel: Panel, head: Head, width: int) -> NDArray[np.bool_]:
    """Columns of the chart that the head has passed; outside the frame the drawn chart stands."""
    frame = panel.frame
    columns = np.arange(width) + 0.5
    share = (columns - frame.left) / (frame.right - frame.left)
    share = 1.0 - share if frame.flipped else share
    station = share * frame.length_m
    passed = np.ones(len(columns), dtype=bool)
    for leg, samples in legs_to_head(panel.scene, head):
        inside = (station >= leg.start_m) & (station <= leg.end_m)
        if leg.name != head.leg:
            passed[inside] = bool(samples[0])
        elif leg.direction is Direction.FORWARD:
            passed[inside] = station[inside] <= head.station_m
        else:
            passed[inside] = station[inside] >= head.station_m
    return passed


def _mark_head(canvas: Canvas, panel: Panel, head: Head, picture: Image.Image) -> None:
    """Draw the head's ring in view and chart, and what it reads."""
    scene, frame, theme = panel.scene, panel.frame, canvas.theme
    draw = ImageDraw.Draw(picture)
    x = float(frame.x(np.array(head.station_m)))
    y = float(frame.y(np.array(curve_at(scene, head))))
    draw.line([(x, frame.top), (x, frame.bottom)], fill=theme.ink, width=1)
    _ring(picture, x, y, 8.5 * canvas.unit)
    at = panel.camera.pixels(scene.point_at(head.station_m))[0]
    _ring(picture, panel.view[0] + float(at[0]), panel.view[1] + float(at[1]), 10 * canvas.unit)
    text = f"Head {show_force(head.tension_n, scene.units)} · {head_words(scene, head)}"
    u = canvas.text_unit
    font = _font(canvas.px(8.4))
    draw.text((frame.right, frame.top - 21 * u), text, fill=theme.ink, font=font, anchor="rs")


def _ring(picture: Image.Image, x: float, y: float, radius: float) -> None:
    """Paste the double ring with a dot, drawn large and reduced so that its edges are smooth."""
    scale, size = 6, int(np.ceil(radius)) * 2 + 4
    big = Image.new("RGBA", (size * scale, size * scale), (255, 255, 255, 0))
    draw = ImageDraw.Draw(big)
    middle = size * scale / 2 + np.array([x - round(x), y - round(y)]) * scale
    for share, color in ((1.0, "#FFFFFF"), (0.82, "#1B2229"), (0.58, "#FFFFFF"), (0.30, "#1B2229")):
        reach = radius * share * scale
        box = (middle[0] - reach, middle[1] - reach, middle[0] + reach, middle[1] + reach)
        draw.ellipse(box, fill=color)
    small = big.resize((size, size), Image.Resampling.BOX)
    picture.paste(small, (round(x) - size // 2, round(y) - size // 2), small)


def _font(size_px: float) -> Any:
    path = font_manager.findfont(font_manager.FontProperties(family=font_family(), weight="bold"))
    return ImageFont.truetype(path, size_px)
