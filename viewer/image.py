"""The still picture: headline, view, legend, charts and cautions on one sheet.

The sheet is laid out first (`plan_picture`, no graphics library needed), then the geometry is
rendered and everything else drawn over it (`draw_picture`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from analyzer.errors import OutputError
from viewer.boxes import boxes_of
from viewer.camera import Camera, Margins, best_angles, fit_camera
from viewer.canvas import Canvas
from viewer.chart import (
    ChartFrame,
    distance_title,
    draw_elevation,
    draw_tension,
    tension_top,
)
from viewer.chips import named_bends
from viewer.head import Head
from viewer.headlines import headline
from viewer.labels import Rect
from viewer.legend import LEGEND_HEIGHT, LEGEND_WIDTH, draw_legend
from viewer.marks import draw_marks
from viewer.overlay import Marks, plan_marks
from viewer.palette import LIGHT, Theme
from viewer.render import render_solids
from viewer.scene import Scene
from viewer.sizes import LEAST_RUN_UNITS, no_room
from viewer.solids import as_drawn, build_solids, drawn_radius
from viewer.wording import CAUTION, left_out_text, notes, subline, verdict_line, wordiest
from viewer.wrapping import flowed, headline_lines, wrapped

__all__ = [
    "BRIEF_BELOW_PX",
    "Layout",
    "Picture",
    "camera_for",
    "draw_charts",
    "draw_foot",
    "draw_footer",
    "draw_header",
    "draw_picture",
    "elevation_range",
    "heading_lines",
    "layout_for",
    "plan_picture",
    "save_pixels",
    "sheet_for",
    "text_unit_for",
]

_LEAST_LETTER_PX = 12.0
_SMALLEST_POINTS = 6.8
BRIEF_BELOW_PX = 801
"""Narrower pictures say less. [px]"""


@dataclass(frozen=True, slots=True)
class Layout:
    """Rectangles of a sheet, in pixels; a chart that finds no room is None."""

    header: Rect
    view: Rect
    tension: Rect | None
    elevation: Rect | None
    headline_lines: tuple[str, ...]
    headline_points: float
    subline_lines: tuple[str, ...]
    subline_points: float
    caution_lines: tuple[str, ...]
    legend_units: float


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture laid out: nothing drawn yet."""

    scene: Scene
    canvas: Canvas
    layout: Layout
    camera: Camera
    marks: Marks


def text_unit_for(width: int) -> float:
    """Return the pixels of a drawing unit for letters: the smallest letter keeps 12 pixels."""
    return max(width / 1280, _LEAST_LETTER_PX / (_SMALLEST_POINTS * 100 / 72))


def sheet_for(width: int, height: int, theme: Theme, unit_px: float | None = None) -> Canvas:
    """Return the empty sheet of a picture.

    Parameters
    ----------
    width, height : int
        Size of the picture. [px]
    theme : Theme
        Neutral colors.
    unit_px : float, optional
        Pixels of one drawing unit; by default from the width.
    """
    unit = unit_px or max(width / 1280, 0.85)
    return Canvas(width, height, theme, unit, unit_px or text_unit_for(width))


def layout_for(
    canvas: Canvas,
    scene: Scene,
    strip: bool = True,
    least_units: float = 385.0,
    least_header_px: float = 0.0,
) -> Layout:
    """Return where everything stands on a sheet of the canvas's size.

    Parameters
    ----------
    canvas : Canvas
        The sheet; measures the letters.
    scene : Scene
        For the words of header and footer.
    strip : bool
        Whether the elevation may have a chart of its own.
    least_units : float
        Height beside header and footer up to which no chart is drawn. [text unit]
    least_header_px : float
        Least height of the header. [px]
    """
    u, width, height = canvas.text_unit, canvas.width, canvas.height
    side = 0.045 * width if width >= BRIEF_BELOW_PX else 0.03 * width
    legend = min(LEGEND_WIDTH, 0.36 * width / u)
    room = width - 2 * side - legend * u - 26 * u
    brief = width < BRIEF_BELOW_PX
    sizes = (11.0, 13.0) if brief else (12.5, 16.0)
    lines, points = headline_lines(canvas, headline(scene), room, *sizes)
    small = 8.0 if brief else 9.0
    told = [subline(scene, brief), verdict_line(scene)]
    told = [" · ".join(told)] if brief else told
    below = heading_lines(canvas, told, small, (room, width - 2 * side), points * len(lines))
    high = 16 * u + len(lines) * canvas.px(points) * 1.2 + len(below) * canvas.px(small) * 1.35
    header = max(high + 4 * u, (LEGEND_HEIGHT + 14) * u, least_header_px)
    caution = _cautions(canvas, scene, (side, 0.0, width - side, 0.0))
    footer = len(caution) * canvas.px(6.8) * 1.3 + 12 * u
    rest = height - header - footer
    low = 118 * u if strip and rest > 560 * u else 0.0
    chart = 0.0
    if rest > least_units * u:
        chart = max(min(140 * u, 0.38 * rest), 0.27 * rest) + (0 if low else 26 * u)
    view = rest - low - chart
    left, right = side + 30 * u, width - side
    top = header + view
    tension = elevation = None
    if chart:
        end = top + chart - (6 * u if low else 34 * u)
        tension = (left, top + 30 * u, right, end)
    if low:
        start = top + chart
        elevation = (left, start + 22 * u, right, start + low - 34 * u)
    return Layout(
        header=(side, 0.0, right, header),
        view=(0.0, header, float(width), header + view),
        tension=tension,
        elevation=elevation,
        headline_lines=lines,
        headline_points=points,
        subline_lines=below,
        subline_points=small,
        caution_lines=caution,
        legend_units=legend,
    )


def heading_lines(
    canvas: Canvas,
    texts: Sequence[str],
    points: float,
    rooms: tuple[float, float],
    title_points: float,
) -> tuple[str, ...]:
    """Return the lines under a headline.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    texts : sequence of str
        Each begins a line of its own.
    points : float
        Size of their letters. [pt]
    rooms : (float, float)
        Their widths beside the legend and below it. [px]
    title_points : float
        Size of all lines of the headline together. [pt]
    """
    u = canvas.text_unit
    first = 15 * u + canvas.px(title_points) * 1.2
    return flowed(canvas, texts, points, rooms, first, (12 + LEGEND_HEIGHT) * u)


def _cautions(canvas: Canvas, scene: Scene, header: Rect) -> tuple[str, ...]:
    text, every = notes(scene), named_bends(scene)
    if every > 1:
        text += f" Of {len(scene.bends)} bends one in {every} is named."
    return wrapped(canvas, f"{text} {CAUTION}", 6.8, header[2] - header[0])


def _margins(canvas: Canvas, brief: bool) -> Margins:
    """Return the room kept round a run for its labels. [px]"""
    units = (60, 60, 30, 30) if brief else (104, 104, 52, 40)
    return Margins(*(value * canvas.text_unit for value in units))


def camera_for(
    scene: Scene,
    width: int,
    height: int,
    canvas: Canvas,
    brief: bool = False,
    angles: tuple[float, float] | None = None,
) -> Camera:
    """Return the camera of a view of that size: run, shadow and boxes within margins.

    Parameters
    ----------
    scene : Scene
        What is seen.
    width, height : int
        Size of the view. [px]
    canvas : Canvas
        For its drawing units.
    brief : bool
        Whether the labels, and so the margins for them, are small.
    angles : (float, float), optional
        Azimuth and elevation; by default the best found. [deg]
    """
    points = scene.points_m
    if angles is None:
        step = max(1, len(points) // 140)
        tangents = np.concatenate([leg.tangents for leg in scene.legs])
        stations = np.concatenate([leg.station_m for leg in scene.legs])
        bends = scene.bends[:: named_bends(scene)]
        anchors = [bend.point_m for bend in bends] + [points[0], points[-1]]
        turns = tuple((bend.before, bend.after) for bend in bends)
        angles = best_angles(
            points[::step],
            tangents[::step],
            stations[::step],
            np.array(anchors),
            turns,
            width / height,
            scene.feed_left,
        )
    margins = _margins(canvas, brief)
    shadow = points.copy()
    shadow[:, 2] = scene.floor_m
    seen = np.concatenate([points, shadow])
    camera = fit_camera(*angles, seen, width, height, margins)
    # once more with the boxes, whose size hangs on the scale
    for _ in range(2):
        radius = drawn_radius(scene, camera.m_per_px * canvas.unit)
        corners = [
            box.center_m + (np.array(signs) * box.size_m / 2) @ box.axes
            for box in boxes_of(scene, radius)
            for signs in ((-1, -1, -1), (1, 1, 1), (-1, 1, -1), (1, -1, 1), (1, 1, -1), (-1, -1, 1))
        ]
        if corners:
            every = np.concatenate([seen, np.array(corners)])
            camera = fit_camera(*angles, every, width, height, margins)
    return camera


def plan_picture(
    scene: Scene,
    width: int = 1600,
    height: int = 1000,
    theme: Theme = LIGHT,
    effort: float = 2.0,
    angles: tuple[float, float] | None = None,
    unit_px: float | None = None,
) -> Picture:
    """Return a picture laid out: sheet, camera, marks and labels; no graphics library is used.

    Parameters
    ----------
    scene : Scene
        What to show.
    width, height : int
        Size of the picture. [px]
    theme : Theme
        Neutral colors.
    effort : float
        How long places are sought for the labels, as in `place_labels`.
    angles : (float, float), optional
        Azimuth and elevation of the camera; by default the best found. [deg]
    unit_px : float, optional
        Pixels of one drawing unit; by default from the width.

    Raises
    ------
    InputError
        If the view is too low to tell anything; it names a size that works.
    """
    wordy = wordiest(scene)

    def fits(across: int, down: int) -> bool:
        sheet = sheet_for(across, down, theme, unit_px)
        view, kept = layout_for(sheet, wordy).view, _margins(sheet, across < BRIEF_BELOW_PX)
        return kept.free_height(view[3] - view[1]) >= LEAST_RUN_UNITS * sheet.text_unit

    if not fits(width, height):
        raise no_room("picture", "view", fits, width, height)
    canvas = sheet_for(width, height, theme, unit_px)
    layout = layout_for(canvas, wordy)
    brief = width < BRIEF_BELOW_PX
    left, top, right, bottom = (round(value) for value in layout.view)
    camera = camera_for(scene, right - left, bottom - top, canvas, brief, angles)
    scene = as_drawn(scene, camera.m_per_px * canvas.unit)
    layout = replace(layout, caution_lines=_cautions(canvas, scene, layout.header))
    marks = plan_marks(canvas, scene, camera, brief=brief, effort=effort)
    return Picture(scene, canvas, layout, camera, marks)


def draw_picture(picture: Picture) -> NDArray[np.uint8]:
    """Return the pixels of a picture, shape (height, width, 3).

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    canvas, scene, layout = picture.canvas, picture.scene, picture.layout
    left, top, right, bottom = (round(value) for value in layout.view)
    solids = build_solids(scene, picture.camera, canvas.unit, canvas.theme)
    view = render_solids(solids, picture.camera, canvas.unit, canvas.theme, 40 * canvas.unit)
    canvas.picture(view, (left, top, right, bottom), layer=1)
    draw_marks(canvas, scene, picture.camera, picture.marks, (left, top))
    draw_header(canvas, scene, layout)
    draw_charts(canvas, scene, layout)
    draw_footer(canvas, layout, picture.marks.left_out)
    return canvas.pixels()


def draw_header(canvas: Canvas, scene: Scene, layout: Layout) -> None:
    """Draw headline, the lines below it and the legend."""
    left, _, right, _ = layout.header
    y = 12 * canvas.text_unit
    for line in layout.headline_lines:
        y += canvas.px(layout.headline_points) * 1.2
        canvas.text(left, y, line, layout.headline_points, bold=True)
    y += 3 * canvas.text_unit
    for line in layout.subline_lines:
        y += canvas.px(layout.subline_points) * 1.35
        canvas.text(left, y, line, layout.subline_points, color=canvas.theme.muted)
    draw_legend(canvas, scene, right, 12 * canvas.text_unit, layout.legend_units)


def _frame(scene: Scene, rect: Rect, low: float, high: float) -> ChartFrame:
    return ChartFrame(*rect, scene.length_m, low, high, not scene.feed_left)


def elevation_range(scene: Scene) -> tuple[float, float]:
    """Return the range of the elevation axis: the run with air round it. [m]"""
    heights = scene.points_m[:, 2]
    low, high = float(heights.min()), float(heights.max())
    if scene.floor_m == 0.0:
        low = 0.0
    room = max(0.18 * (high - low), 0.15)
    return (low if scene.floor_m == 0.0 else low - room), high + room


def draw_charts(canvas: Canvas, scene: Scene, layout: Layout, head: Head | None = None) -> None:
    """Draw the charts that a layout has room for.

    Parameters
    ----------
    canvas : Canvas
        The sheet.
    scene : Scene
        The run.
    layout : Layout
        What `layout_for` returned.
    head : Head, optional
        The pulling head, as in `draw_tension` and `draw_elevation`.
    """
    u, muted = canvas.text_unit, canvas.theme.muted
    if layout.tension is not None:
        frame = _frame(scene, layout.tension, 0.0, tension_top(scene))
        draw_tension(canvas, scene, frame, axis_text=layout.elevation is None, head=head)
    if layout.elevation is not None:
        frame = _frame(scene, layout.elevation, *elevation_range(scene))
        draw_elevation(canvas, scene, frame, head)
    last = layout.elevation or layout.tension
    if last is not None:
        canvas.text(
            last[2], last[3] + 28 * u, distance_title(scene), 7.2, color=muted, align="right"
        )


def draw_footer(canvas: Canvas, layout: Layout, left_out: Sequence[str] = ()) -> None:
    """Draw notes and cautions at the foot, and which labels found no room."""
    text = " ".join(layout.caution_lines)
    draw_foot(canvas, (layout.header[0], layout.header[2]), text, left_out)


def draw_foot(
    canvas: Canvas, sides: tuple[float, float], text: str, left_out: Sequence[str] = ()
) -> None:
    """Draw small print at the foot of a sheet, between its sides; labels left out come first.

    Parameters
    ----------
    canvas : Canvas
        The sheet.
    sides : (float, float)
        Left and right side. [px]
    text : str
        The small print.
    left_out : sequence of str
        Titles of labels that found no room.
    """
    lines = wrapped(canvas, f"{left_out_text(left_out)} {text}".lstrip(), 6.8, sides[1] - sides[0])
    step = canvas.px(6.8) * 1.3
    y = canvas.height - 8 * canvas.text_unit - step * (len(lines) - 1)
    for line in lines:
        canvas.text(sides[0], y, line, 6.8, color=canvas.theme.muted)
        y += step


def save_pixels(pixels: NDArray[np.uint8], file: Path, dpi: int | None = None) -> None:
    """Write pixels as PNG, whole or not at all; `dpi` is written into it for printing.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    from PIL import Image

    part = file.with_name(file.name + ".part")
    try:
        options = {} if dpi is None else {"dpi": (dpi, dpi)}
        Image.fromarray(pixels).save(part, format="PNG", **options)
        part.replace(file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise OutputError(f"cannot write {file}: {error.strerror or error}") from error
