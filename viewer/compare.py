"""Cases of one route side by side: one camera, one color scale, one tension axis.

The small-multiples rule: the same design again and again, so that only the cases differ. Under
each stands its conclusion in one sentence.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.chart import ChartFrame, distance_title, draw_tension, tension_top
from viewer.compared_cases import Case, compare_headline, conclusion, one_scale
from viewer.head import Head
from viewer.image import BRIEF_BELOW_PX, camera_for, draw_foot, text_unit_for
from viewer.labels import Rect
from viewer.legend import LEGEND_HEIGHT, LEGEND_WIDTH, draw_legend
from viewer.marks import draw_marks
from viewer.overlay import Marks, plan_marks
from viewer.palette import LIGHT, Theme
from viewer.render import render_solids
from viewer.sizes import no_room
from viewer.solids import build_solids, draws_true
from viewer.wording import (
    CAUTION,
    LISTED,
    cautions_text,
    friction_text,
    left_out_text,
    notes,
    passage_text,
    size_text,
)
from viewer.wrapping import headline_lines, wrapped

__all__ = [
    "Comparison",
    "comparison_parts",
    "draw_comparison",
    "draw_comparison_sheet",
    "plan_comparison",
    "require_room",
]

_NARROWEST_FULL = 400.0  # text units of a view whose labels say all
_BRIEF_BELOW_PX = 800
_LEAST_VIEW_PX = 120


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two cases or more laid out, nothing drawn yet; views and charts are rectangles. [px]"""

    cases: tuple[Case, ...]
    canvas: Canvas
    camera: Camera
    marks: tuple[Marks, ...]
    views: tuple[Rect, ...]
    charts: tuple[Rect, ...]
    header_px: float


def plan_comparison(
    cases: tuple[Case, ...],
    width: int = 1600,
    height: int = 1000,
    theme: Theme = LIGHT,
    effort: float = 2.0,
    heads: tuple[Head | None, ...] | None = None,
    camera: Camera | None = None,
    unit_px: float | None = None,
    controls_units: float = 0.0,
    without: frozenset[str] = frozenset(),
) -> Comparison:
    """Return cases laid out side by side.

    Parameters
    ----------
    cases : tuple of Case
        Two or more cases of one route.
    width, height : int
        Size of the picture. [px]
    theme : Theme
        Neutral colors.
    effort : float
        How long places are sought for the labels of each case, as in `place_labels`.
    heads : tuple of Head or None, optional
        The pulling head of each case, where the pull is on its way.
    camera : Camera, optional
        Camera found before for the same cases and size.
    unit_px : float, optional
        Pixels of one drawing unit; by default from the width.
    controls_units : float
        Room kept below the heading for controls. [unit]
    without : frozenset of str
        Kinds of label to leave out besides those always left out here.
    """
    cases = one_scale(cases)
    heads = heads or (None,) * len(cases)
    canvas = _canvas(width, height, theme, unit_px)
    u = canvas.text_unit
    part, side = width / len(cases), 0.045 * width
    rooms = _rooms(canvas, len(cases))
    header, view_bottom, chart = _rows(canvas, cases, controls_units)
    views: list[Rect] = []
    charts: list[Rect] = []
    for index in range(len(cases)):
        left, right = index * part, (index + 1) * part
        views.append((left, header, right, view_bottom))
        charts.append(
            (
                left + (side + 30 * u if index == 0 else 56 * u),
                view_bottom + 34 * u,
                rooms[index][1],
                view_bottom + 34 * u + chart - 16 * u,
            )
        )
    view_w, view_h = round(part), round(view_bottom - header)
    if camera is None:
        # the case with more boxes needs more room; otherwise the first says where the feed stands
        fuller = max(cases, key=lambda case: len(case.scene.fittings))
        camera = camera_for(fuller.scene, view_w, view_h, canvas, brief=True)
    true = draws_true(cases[0].scene, camera.m_per_px * canvas.unit)
    cases = tuple(replace(c, scene=replace(c.scene, true_diameter=true)) for c in cases)
    marks = []
    for index, (case, head) in enumerate(zip(cases, heads, strict=True)):
        crowded = {"bend"} if len(case.scene.legs) > 1 else {"bend detail"}
        if view_w < _BRIEF_BELOW_PX:
            crowded |= {"leg detail"}
        marks.append(
            plan_marks(
                canvas,
                case.scene,
                camera,
                brief=view_w < _NARROWEST_FULL * u,
                effort=effort,
                furniture=index == 0,
                head=head,
                without=without | crowded,
            )
        )
    return Comparison(cases, canvas, camera, tuple(marks), tuple(views), tuple(charts), header)


def require_room(
    what: str,
    cases: tuple[Case, ...],
    width: int,
    height: int,
    theme: Theme = LIGHT,
    unit_px: float | None = None,
) -> None:
    """Refuse a size that leaves the views of a comparison too low to tell anything.

    Parameters
    ----------
    what : str
        What is drawn: ``comparison``, ``movie``.
    cases, width, height, theme, unit_px
        As for `plan_comparison`.

    Raises
    ------
    InputError
        If the views are too low; it names a size that works.
    """
    cases = one_scale(cases)

    def fits(across: int, down: int) -> bool:
        top, bottom, _ = _rows(_canvas(across, down, theme, unit_px), cases)
        return round(bottom - top) >= _LEAST_VIEW_PX

    if not fits(width, height):
        raise no_room(what, "views", fits, width, height)


def _canvas(width: int, height: int, theme: Theme, unit_px: float | None) -> Canvas:
    unit = 0.8 * unit_px if unit_px else max(0.8 * width / 1280, 0.85)
    return Canvas(width, height, theme, unit, unit_px or text_unit_for(width))


def _rows(
    canvas: Canvas, cases: tuple[Case, ...], controls_units: float = 0.0
) -> tuple[float, float, float]:
    """Return top and bottom of the views, and the height of the charts below. [px]"""
    u, height = canvas.text_unit, canvas.height
    heading = _heading(canvas, cases).height_units
    header = (max(LEGEND_HEIGHT + 44, heading + 30) + controls_units) * u
    footer = _footer_units(canvas, cases, _rooms(canvas, len(cases))) * u
    chart = min(max(0.26 * height, 120 * u), 0.3 * (height - header - footer))
    return header, height - footer - chart - 76 * u, chart


def draw_comparison(comparison: Comparison) -> NDArray[np.uint8]:
    """Return the pixels of a comparison, shape (height, width, 3).

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    canvas = comparison.canvas
    floor = None
    for index, case in enumerate(comparison.cases):
        view, marks = comparison.views[index], comparison.marks[index]
        solids = build_solids(
            case.scene, comparison.camera, canvas.unit, canvas.theme, marks.head, floor=floor
        )
        floor = solids.floor
        pixels = render_solids(
            solids, comparison.camera, canvas.unit, canvas.theme, 40 * canvas.unit
        )
        rect = (round(view[0]), round(view[1]), round(view[2]), round(view[3]))
        canvas.picture(pixels, rect, layer=1)
    draw_comparison_sheet(comparison)
    return canvas.pixels()


def comparison_parts(comparison: Comparison, marks: tuple[Marks, ...]) -> None:
    """Draw what stands still in a movie: heading, other labels in the views, titles and foot."""
    canvas = comparison.canvas
    _draw_heading(canvas, comparison.cases)
    for index, case in enumerate(comparison.cases):
        view = comparison.views[index]
        corner = (round(view[0]), round(view[1]))
        draw_marks(canvas, case.scene, comparison.camera, marks[index], corner)
    _draw_sentences(comparison)
    _draw_foot(canvas, comparison.cases, marks)


def draw_comparison_sheet(comparison: Comparison) -> None:
    """Draw all but the geometry: heading, labels, charts, conclusions and foot."""
    canvas, cases = comparison.canvas, comparison.cases
    _draw_heading(canvas, cases)
    top = max(tension_top(case.scene) for case in cases)
    for index, case in enumerate(cases):
        view, chart = comparison.views[index], comparison.charts[index]
        marks = comparison.marks[index]
        corner = (round(view[0]), round(view[1]))
        draw_marks(canvas, case.scene, comparison.camera, marks, corner)
        _draw_panel(canvas, case, index, chart, top, marks.head)
    _draw_sentences(comparison)
    _draw_foot(canvas, cases, comparison.marks)


@dataclass(frozen=True, slots=True)
class _Heading:
    """The lines of a heading, and how far they reach down from the top of the sheet."""

    headline_lines: tuple[str, ...]
    headline_points: float
    route_lines: tuple[str, ...]
    legend_units: float
    height_units: float


def _heading(canvas: Canvas, cases: tuple[Case, ...]) -> _Heading:
    """Return the heading broken into lines beside its legend; nothing of it is ever cut off."""
    u, side = canvas.text_unit, 0.045 * canvas.width
    legend = min(LEGEND_WIDTH, 0.36 * canvas.width / u)
    room = canvas.width - 2 * side - (legend + 26) * u
    lines, points = headline_lines(
        canvas, compare_headline(cases), room, 13.0, 13.0 if canvas.width < BRIEF_BELOW_PX else 16.0
    )
    route = wrapped(canvas, _route_line(cases), 9.0, room)
    height = len(lines) * canvas.px(points) * 1.2 + len(route) * canvas.px(9.0) * 1.35
    return _Heading(lines, points, route, legend, 15 + height / u)


def _draw_heading(canvas: Canvas, cases: tuple[Case, ...]) -> None:
    u, side = canvas.text_unit, 0.045 * canvas.width
    heading = _heading(canvas, cases)
    y = 12 * u
    for line in heading.headline_lines:
        y += canvas.px(heading.headline_points) * 1.2
        canvas.text(side, y, line, heading.headline_points, bold=True)
    y += 3 * u
    for line in heading.route_lines:
        y += canvas.px(9.0) * 1.35
        canvas.text(side, y, line, 9.0, color=canvas.theme.muted)
    draw_legend(canvas, cases[0].scene, canvas.width - side, 12 * u, heading.legend_units)


def _route_line(cases: tuple[Case, ...]) -> str:
    """Return what the cases share, and how the conductors pass the boxes of those with boxes."""
    scene = cases[0].scene
    passages = next((text for case in cases if (text := passage_text(case.scene))), "")
    return (
        f"{scene.job.title or scene.analysis.run.name}, {size_text(scene)} · "
        f"same conductors, {friction_text(scene)}, "
        "one color scale"
        f"{' · ' if passages else ''}{passages}"
    )


def _draw_panel(
    canvas: Canvas, case: Case, index: int, chart: Rect, top: float, head: Head | None
) -> None:
    u = canvas.text_unit
    scene = case.scene
    frame = ChartFrame(*chart, scene.length_m, 0.0, top, not scene.feed_left)
    title = None if index == 0 else ""
    draw_tension(canvas, scene, frame, axis_text=True, title=title, head=head)
    canvas.text(
        frame.right,
        frame.bottom + 28 * u,
        distance_title(scene),
        7.2,
        color=canvas.theme.muted,
        align="right",
    )


def _rooms(canvas: Canvas, count: int) -> list[tuple[float, float]]:
    """Return where the sentence under each panel starts and ends. [px]"""
    part, side, u = canvas.width / count, 0.045 * canvas.width, canvas.text_unit
    return [
        (
            index * part + (side if index == 0 else 26 * u),
            (index + 1) * part - (side if index == count - 1 else 24 * u),
        )
        for index in range(count)
    ]


def _conclusions(
    canvas: Canvas, cases: tuple[Case, ...], rooms: list[tuple[float, float]]
) -> tuple[float, list[tuple[str, ...]]]:
    """Return the conclusions broken into lines, all in one size, and that size in points."""

    def broken(points: float) -> list[tuple[str, ...]]:
        return [
            wrapped(canvas, conclusion(case), points, right - left, bold=True)
            for case, (left, right) in zip(cases, rooms, strict=True)
        ]

    points, lines = 9.0, broken(9.0)
    while max(map(len, lines)) > 2 and points > 7:
        points -= 0.25
        lines = broken(points)
    return points, lines


def _footer_units(
    canvas: Canvas, cases: tuple[Case, ...], rooms: list[tuple[float, float]]
) -> float:
    """Return the room under the charts' titles that conclusions and small print need together."""
    u = canvas.text_unit
    points, lines = _conclusions(canvas, cases, rooms)
    # small print grows by a sentence where a label finds no room
    width = rooms[-1][1] - rooms[0][0]
    text = f"{left_out_text((cases[0].title,))} {_small_print(cases)}"
    small = len(wrapped(canvas, text, 6.8, width))
    said = (max(map(len, lines)) - 1) * 1.25 * canvas.px(points)
    return max(48.0, 12 + ((small - 1) * 1.3 * canvas.px(6.8) + said) / u)


def _draw_sentences(comparison: Comparison) -> None:
    """Draw the title over every view and the conclusion under its chart."""
    canvas, u = comparison.canvas, comparison.canvas.text_unit
    rooms = _rooms(canvas, len(comparison.cases))
    points, lines = _conclusions(canvas, comparison.cases, rooms)
    titled = 11.5
    while titled > 7 and any(
        canvas.text_size(case.title, titled, bold=True)[0] > right - left
        for case, (left, right) in zip(comparison.cases, rooms, strict=True)
    ):
        titled -= 0.25
    for index, case in enumerate(comparison.cases):
        left, below = rooms[index][0], comparison.charts[index][3] + 46 * u
        canvas.text(left, comparison.views[index][1] - 8 * u, case.title, titled, bold=True)
        for row, line in enumerate(lines[index]):
            canvas.text(left, below + row * 1.25 * canvas.px(points), line, points, bold=True)


def _small_print(cases: tuple[Case, ...]) -> str:
    told = notes(cases[0].scene, judged=False)
    if any(cautions_text(case.scene) for case in cases):
        told += f" Cautions are {LISTED}."
    return f"{told} {CAUTION}"


def _draw_foot(canvas: Canvas, cases: tuple[Case, ...], marks: tuple[Marks, ...]) -> None:
    side = 0.045 * canvas.width
    left_out = [title for part in marks for title in part.left_out]
    draw_foot(canvas, (side, canvas.width - side), _small_print(cases), left_out)
