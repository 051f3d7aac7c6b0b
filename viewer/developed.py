"""The elevation developed along the run: plan distance across, true verticals up.

The run is unrolled onto an upright sheet and then seen by the same camera, labels and tube as in
any other picture. Heights may be drawn larger than distances: the picture says how much.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analyzer.units import UnitSystem, to_ft
from viewer.camera import Camera, Margins, fit_camera
from viewer.canvas import Canvas
from viewer.ground import nice_step
from viewer.image import BRIEF_BELOW_PX, draw_footer, draw_header, layout_for, sheet_for
from viewer.marks import draw_marks
from viewer.overlay import Marks, plan_marks
from viewer.palette import LIGHT, Theme, rgb
from viewer.render import render_solids
from viewer.scene import BendMark, FittingMark, Scene
from viewer.shown_values import elevation_text
from viewer.sizes import LEAST_RUN_UNITS, no_room
from viewer.solids import as_drawn, build_solids
from viewer.wording import wordiest

__all__ = ["Developed", "developed_scene", "draw_developed", "plan_developed"]

Floats = NDArray[np.float64]

_STEPS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0)
_FRONT = (-90.0, 0.0)
_LEVEL = 1e-3
_MARGINS = (84.0, 84.0, 70.0, 34.0)
_BRIEF_MARGINS = (64.0, 64.0, 30.0, 20.0)  # on narrow pictures, whose labels say less
_TURNS_BACK = 0.5  # length of the sum of the unit tangents: a turn of about 151 degrees


@dataclass(frozen=True, slots=True)
class Developed:
    """A developed elevation laid out: nothing drawn yet.

    `stretch` is how much larger heights are drawn than distances.
    """

    scene: Scene
    flat: Scene
    canvas: Canvas
    camera: Camera
    marks: Marks
    view: tuple[float, float, float, float]
    stretch: float


def developed_scene(scene: Scene, stretch: float = 1.0) -> Scene:
    """Return the scene unrolled: x is the distance in plan, z the elevation times `stretch`.

    Distance counts from the end that stands at the left in the charts. [m]
    """
    line = scene.analysis.run.centerline
    stations = np.unique(np.concatenate([leg.station_m for leg in scene.legs]))
    points = line.points_at(stations)
    steps = np.hypot(np.diff(points[:, 0]), np.diff(points[:, 1]))
    plan = np.concatenate([[0.0], np.cumsum(steps)])
    if not scene.feed_left:
        plan = plan[-1] - plan

    def flat(at: Floats) -> Floats:
        x = np.interp(at, stations, plan)
        z = np.interp(at, stations, points[:, 2]) * stretch
        return np.stack([x, np.zeros(len(x)), z], axis=-1)

    sign = 1.0 if scene.feed_left else -1.0
    legs = []
    for leg in scene.legs:
        level = sign * np.hypot(leg.tangents[:, 0], leg.tangents[:, 1])
        tangents = np.stack([level, np.zeros(len(level)), leg.tangents[:, 2] * stretch], axis=-1)
        tangents /= np.maximum(np.linalg.norm(tangents, axis=1), 1e-12)[:, None]
        legs.append(replace(leg, points_m=flat(leg.station_m), tangents=tangents))
    bends = tuple(_flat_bend(bend, flat, sign) for bend in scene.bends)
    fittings = tuple(_flat_fitting(mark, flat, sign) for mark in scene.fittings)
    floor = scene.floor_m * stretch
    return replace(scene, legs=tuple(legs), bends=bends, fittings=fittings, floor_m=floor)


def _turned(vector: Floats, sign: float) -> Floats:
    return np.array([sign * float(np.hypot(vector[0], vector[1])), 0.0, float(vector[2])])


def _flat_bend(bend: BendMark, flat: object, sign: float) -> BendMark:
    assert callable(flat)
    return replace(
        bend,
        point_m=flat(np.array([(bend.station_m + bend.end_station_m) / 2]))[0],
        outward=np.array([0.0, 0.0, float(np.sign(bend.outward[2] + 1e-9))]),
        before=_turned(bend.before, sign),
        after=_turned(bend.after, sign),
    )


def _flat_fitting(mark: FittingMark, flat: object, sign: float) -> FittingMark:
    assert callable(flat)
    tangent = _turned(mark.tangent, sign)
    outward = None
    if mark.outward is not None:
        outward = tangent if float(mark.outward @ mark.tangent) > 0 else -tangent
    return replace(
        mark, point_m=flat(np.array([mark.station_m]))[0], tangent=tangent, outward=outward
    )


def plan_developed(
    scene: Scene,
    width: int = 1600,
    height: int = 1000,
    theme: Theme = LIGHT,
    effort: float = 2.0,
    unit_px: float | None = None,
) -> Developed:
    """Return the developed elevation of a run laid out.

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
    unit_px : float, optional
        Pixels of one drawing unit; by default from the width.

    Raises
    ------
    InputError
        If the view is too low to tell anything; it names a size that works.
    """

    def fits(across: int, down: int) -> bool:
        sheet = sheet_for(across, down, theme, unit_px)
        rect, kept = _view(sheet, scene), _margins(sheet)
        return kept.free_height(rect[3] - rect[1]) >= LEAST_RUN_UNITS * sheet.text_unit

    if not fits(width, height):
        raise no_room("developed elevation", "view", fits, width, height)
    canvas = sheet_for(width, height, theme, unit_px)
    view = _view(canvas, scene)
    size = (round(view[2] - view[0]), round(view[3] - view[1]))
    brief = width < BRIEF_BELOW_PX
    margins = _margins(canvas)
    best: tuple[float, Scene, Camera] | None = None
    for stretch in _STEPS:
        flat = developed_scene(scene, stretch)
        points = flat.points_m
        shadow = points.copy()
        shadow[:, 2] = flat.floor_m
        camera = fit_camera(*_FRONT, np.concatenate([points, shadow]), *size, margins)
        # larger heights only as long as they take nothing from the distances
        if best is not None and camera.m_per_px > 1.001 * best[2].m_per_px:
            break
        best = (stretch, flat, camera)
    assert best is not None
    stretch, flat, camera = best
    told = tuple(
        replace(flat_bend, detail=_told(bend, scene))
        for flat_bend, bend in zip(flat.bends, scene.bends, strict=True)
    )
    flat = replace(flat, bends=told)
    flat = as_drawn(flat, camera.m_per_px * canvas.unit)
    scene = replace(scene, true_diameter=flat.true_diameter, too_thin=flat.too_thin)
    reach = 2.0 if len(scene.bends) > 8 else 1.0
    marks = plan_marks(canvas, flat, camera, brief, effort=effort, furniture=False, reach=reach)
    return Developed(scene, flat, canvas, camera, marks, view, stretch)


def _view(canvas: Canvas, scene: Scene) -> tuple[float, float, float, float]:
    """Return the rectangle of the view on a sheet. [px]"""
    u, side = canvas.text_unit, 0.045 * canvas.width
    layout = layout_for(canvas, wordiest(scene), strip=False, least_units=1e9)
    bottom = layout.view[3] - 44 * u
    return (side + 34 * u, layout.header[3] + 30 * u, canvas.width - side, bottom)


def _margins(canvas: Canvas) -> Margins:
    """Return the room kept round the run for its labels. [px]"""
    units = _BRIEF_MARGINS if canvas.width < BRIEF_BELOW_PX else _MARGINS
    return Margins(*(value * canvas.text_unit for value in units))


def _told(bend: BendMark, scene: Scene) -> str:
    """Return the radius of a bend and where it stands, as its straights are set out.

    That is the elevation of its corner; of its ends where the straights meet far off or nowhere.
    """
    radius = bend.detail.split(" · ")[0] if " · " in bend.detail else ""
    line = scene.analysis.run.centerline
    start, end = line.points_at([bend.station_m, bend.end_station_m])
    low, high = (elevation_text(float(point[2]), scene.units) for point in (start, end))
    meeting = float(np.linalg.norm(bend.before + bend.after))
    if low == high and abs(bend.before[2]) < _LEVEL:
        height = f"elevation {low}"
    elif meeting > _TURNS_BACK:
        cut = float(np.linalg.norm(end - start)) / meeting
        corner = (start[2] + cut * bend.before[2] + end[2] - cut * bend.after[2]) / 2
        height = f"corner elevation {elevation_text(float(corner), scene.units)}"
    else:
        height = f"elevation {low} to {high}"
    return f"{radius} · {height}" if radius else height


def draw_developed(sheet: Developed) -> NDArray[np.uint8]:
    """Return the pixels of the developed elevation, shape (height, width, 3).

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    canvas, flat, camera = sheet.canvas, sheet.flat, sheet.camera
    rect = tuple(round(value) for value in sheet.view)
    solids = build_solids(flat, camera, canvas.unit, canvas.theme)
    view = render_solids(solids, camera, canvas.unit, canvas.theme)
    ground = np.round(rgb(canvas.theme.ground) * 255)
    clear = np.abs(view - ground).max(axis=-1, keepdims=True) < 2
    sheet_px = np.concatenate([view, np.where(clear, 0, 255).astype(np.uint8)], axis=-1)
    place = (rect[0], rect[1], rect[0] + camera.width, rect[1] + camera.height)
    canvas.picture(sheet_px, place, layer=2)
    _draw_heights(sheet, rect[0], rect[1])
    draw_marks(canvas, flat, camera, sheet.marks, (rect[0], rect[1]))
    layout = layout_for(canvas, sheet.scene, strip=False, least_units=1e9)
    draw_header(canvas, sheet.scene, layout)
    draw_footer(canvas, layout, sheet.marks.left_out)
    return canvas.pixels()


def _draw_heights(sheet: Developed, left: float, top: float) -> None:
    """Draw lines of equal height, the floor, and both scales with what they mean."""
    canvas, camera, scene = sheet.canvas, sheet.camera, sheet.scene
    u, theme = canvas.text_unit, canvas.theme
    us = scene.units is UnitSystem.US
    scale = float(to_ft(1.0)) if us else 1.0
    right = left + camera.width
    heights = scene.points_m[:, 2]
    low, high = min(float(heights.min()), scene.floor_m), float(heights.max())
    step = nice_step(max((high - low) / 5, 0.3), scene.units)
    step = _apart(step, 13 * u * camera.m_per_px / sheet.stretch, scene.units)
    for number in range(int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9)) + 1):
        y = top + float(camera.pixels([[0.0, 0.0, number * step * sheet.stretch]])[0, 1])
        canvas.line([(left, y), (right, y)], 0.6, theme.grid, layer=1.5)
        text = elevation_text(number * step, scene.units)
        canvas.text(left - 6 * u, y, text, 7.2, align="right", upright="center", color=theme.muted)
    floor = top + float(camera.pixels([[0.0, 0.0, sheet.flat.floor_m]])[0, 1])
    canvas.line([(left, floor), (right, floor)], 1.6, theme.muted, layer=1.6)
    reach = float(sheet.flat.points_m[:, 0].max())
    across = _apart(nice_step(reach / 8, scene.units), 36 * u * camera.m_per_px, scene.units)
    for number in range(int(reach / across + 1e-9) + 1):
        x = left + float(camera.pixels([[number * across, 0.0, 0.0]])[0, 0])
        base = top + camera.height
        canvas.line([(x, base - 6 * u), (x, base)], 0.9, theme.muted, layer=1.6)
        text = f"{number * across * scale:,.6g}"
        canvas.text(x, base + 13 * u, text, 7.5, align="center")
    canvas.line([(left, top + camera.height), (right, top + camera.height)], 0.9, theme.muted)
    start = scene.fittings[0 if scene.feed_left else -1].name
    unit = "ft" if us else "m"
    text = f"distance in plan from {start}, {unit} · {_scales(sheet.stretch)}"
    canvas.text(right, top + camera.height + 30 * u, text, 7.5, align="right", color=theme.muted)
    canvas.text(left - 34 * u, top - 12 * u, "Elevation developed along the run", 9, bold=True)


def _apart(step_m: float, least_m: float, units: UnitSystem) -> float:
    """Return a round step no smaller than the numbers beside it need. [m]"""
    while step_m < least_m:
        step_m = nice_step(2 * step_m, units)
    return step_m


def _scales(stretch: float) -> str:
    text = "turns in plan are unrolled"
    if stretch == 1.0:
        return f"heights and distances to one scale, {text}"
    return f"heights drawn {stretch:g} times as large as distances, {text}"
