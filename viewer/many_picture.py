"""The picture of many runs: all of them in color, the worst named, the list worst first."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from analyzer.units import UnitSystem, show_length, to_ft
from viewer.camera import Camera, Margins, fit_camera
from viewer.canvas import Canvas
from viewer.floor import Floor, bake_floor
from viewer.image import save_pixels, text_unit_for, wrapped
from viewer.labels import LabelRequest, Obstacles, Placement, Rect, place_labels
from viewer.legend import LEGEND_HEIGHT, LEGEND_WIDTH, draw_scale
from viewer.many import ManyScene, RunRow, many_headline, many_subline, row_words
from viewer.meshes import Surface, bake_tube, band_surface, joined, tube_surface
from viewer.palette import LIGHT, Theme, hex_color, rgb
from viewer.render import render_solids
from viewer.solids import Solids
from viewer.wording import CAUTION

__all__ = [
    "ListRow",
    "ManyPicture",
    "draw_list",
    "draw_many",
    "draw_many_sheet",
    "many_camera",
    "many_radius",
    "many_solids",
    "plan_many",
    "shaded_again",
    "write_many",
]

Floats = NDArray[np.float64]

_SIDES = 8
_RADIUS_UNITS = 2.6
_OUTLINE_UNITS = 0.9
_RING_PITCH_UNITS = 9.0
_RING_UNITS = 2.0
_NAMED = 8
_ROW = 17.0
_AZIMUTHS = (-70.0, -110.0, -20.0, 20.0)
_ELEVATION = 42.0


@dataclass(frozen=True, slots=True)
class ListRow:
    """Where one run stands in the drawn list. [px]"""

    name: str
    rect: Rect


@dataclass(frozen=True, slots=True)
class ManyPicture:
    """All runs laid out: nothing drawn yet. Rectangles are in pixels."""

    scene: ManyScene
    canvas: Canvas
    camera: Camera
    view: Rect
    listed: Rect
    headline_lines: tuple[str, ...]
    foot_lines: tuple[str, ...]
    placements: tuple[Placement, ...]


def many_camera(
    scene: ManyScene, width: int, height: int, unit_px: float, angles: tuple[float, float] | None
) -> Camera:
    """Return the camera that shows all runs as large as may be, from the south where it can."""
    points = np.concatenate([row.points_m for row in scene.rows])
    shadow = points.copy()
    shadow[:, 2] = scene.floor_m
    seen = np.concatenate([points, shadow])
    side = 46 * unit_px
    margins = Margins(side, side, 40 * unit_px, 46 * unit_px)
    choices = [(a, _ELEVATION) for a in _AZIMUTHS] if angles is None else [angles]
    cameras = [fit_camera(*choice, seen, width, height, margins) for choice in choices]
    return min(cameras, key=lambda camera: camera.m_per_px)


def many_radius(camera: Camera, unit_px: float) -> float:
    """Return the drawn radius of the tubes. [m]"""
    return _RADIUS_UNITS * camera.m_per_px * unit_px


def plan_many(
    scene: ManyScene,
    width: int = 1600,
    height: int = 1000,
    theme: Theme = LIGHT,
    seconds: float = 0.4,
    unit_px: float | None = None,
    camera: Camera | None = None,
) -> ManyPicture:
    """Return the picture of all runs laid out; no graphics library is used.

    Parameters
    ----------
    scene : ManyScene
        All runs.
    width, height : int
        Size of the picture. [px]
    theme : Theme
        Neutral colors.
    seconds : float
        Time given to the placing of labels.
    unit_px : float, optional
        Pixels of one drawing unit; by default from the width.
    camera : Camera, optional
        Where the runs are seen from, where it is known.
    """
    unit = unit_px or max(width / 1280, 0.85)
    canvas = Canvas(width, height, theme, unit, unit_px or text_unit_for(width))
    u, side = canvas.text_unit, 0.04 * width
    legend = min(LEGEND_WIDTH, 0.36 * width / u)
    room = width - 2 * side - (legend + 26) * u
    lines = wrapped(canvas, many_headline(scene), 15.0, room, bold=True)
    lines += wrapped(canvas, many_subline(scene), 8.6, room)
    count = len(wrapped(canvas, many_headline(scene), 15.0, room, bold=True))
    header = max(
        14 * u + count * canvas.px(15.0) * 1.2 + (len(lines) - count) * canvas.px(8.6) * 1.4,
        (LEGEND_HEIGHT + 8) * u,
    )
    foot = wrapped(canvas, f"{_small_print(scene)} {CAUTION}", 6.8, width - 2 * side)
    bottom = height - len(foot) * canvas.px(6.8) * 1.3 - 12 * u
    list_width = min(max(0.28 * width, 250 * u), 0.46 * width)
    view = (0.0, header + 30 * u, width - side - list_width, bottom)
    listed = (width - side - list_width, header + 30 * u, width - side, bottom)
    if camera is None:
        camera = many_camera(scene, round(view[2]), round(bottom - view[1]), unit, None)
    placements = _placed(canvas, scene, camera, seconds)
    return ManyPicture(scene, canvas, camera, view, listed, lines, foot, placements)


def _small_print(scene: ManyScene) -> str:
    band = scene.job.pull.friction
    told = f"Shares are of the limit that governs each run, at high friction {band.high:g}, each "
    told += "leg in its better direction. Raceways drawn wider than true."
    if scene.floor_m != 0.0:
        told += f" Floor drawn at elevation {show_length(scene.floor_m, scene.job.units)}."
    return told


def _placed(
    canvas: Canvas, scene: ManyScene, camera: Camera, seconds: float
) -> tuple[Placement, ...]:
    """Places of the names of the worst runs."""
    named = scene.rows[:_NAMED] if len(scene.rows) > 1 else ()
    tube = Image.new("L", (camera.width, camera.height), 0)
    draw = ImageDraw.Draw(tube)
    wide = max(1, round(2 * _RADIUS_UNITS * canvas.unit))
    for row in scene.rows:
        draw.line([(float(x), float(y)) for x, y in camera.pixels(row.points_m)], 255, wide)
    requests = []
    for index, row in enumerate(named):
        x, y = _anchor(camera, row)
        if not (0 < x < camera.width and 0 < y < camera.height):
            continue
        size = canvas.text_size(_chip_text(index, row), 7.4, bold=True)
        requests.append(
            LabelRequest(
                str(index),
                (x, y),
                (size[0] + 12 * canvas.text_unit, size[1] + 7 * canvas.text_unit),
                priority=index,
                reach=320.0,
                near=14.0,
            )
        )
    mask = np.asarray(tube) > 0
    obstacles = Obstacles(mask, np.zeros_like(mask))
    return place_labels(tuple(requests), obstacles, canvas.text_unit, seconds=seconds, restarts=3)


def _anchor(camera: Camera, row: RunRow) -> tuple[float, float]:
    steps = np.linalg.norm(np.diff(row.points_m, axis=0), axis=1)
    at = int(np.argmax(steps))
    x, y = camera.pixels((row.points_m[at] + row.points_m[at + 1]) / 2)[0]
    return float(x), float(y)


def _chip_text(index: int, row: RunRow) -> str:
    return f"{index + 1}  {row.name}"


def many_solids(
    scene: ManyScene, camera: Camera, unit_px: float, theme: Theme, floor: Floor | None = None
) -> Solids:
    """Return the surfaces of all runs as one camera sees them."""
    m_per_unit = camera.m_per_px * unit_px
    radius = many_radius(camera, unit_px)
    tubes, rings = [], []
    ring = rgb(theme.ring)
    for row in scene.rows:
        color = np.tile(row.color(theme), (len(row.points_m), 1))
        tubes.append(tube_surface(row.points_m, row.tangents, radius, color, _SIDES))
        if row.share is not None and row.share > 1.0:
            rings.append(_ring_places(row, _RING_PITCH_UNITS * m_per_unit))
    bands = None
    if rings:
        centers, tangents = (np.concatenate(part) for part in zip(*rings, strict=True))
        if len(centers):
            width = _RING_UNITS * m_per_unit
            bands = band_surface(centers, tangents, width, radius * 1.06, ring, _SIDES)
    if floor is None:
        floor = bake_floor(
            scene.points_m, (), radius, scene.floor_m, scene.grid_m, m_per_unit, theme, 0.9
        )
    empty = np.empty((0, 2, 3))
    plain = joined(tuple(tubes))
    outline = Surface(
        plain.points_m + _OUTLINE_UNITS * m_per_unit * plain.normals,
        plain.triangles,
        plain.normals,
        np.tile(rgb(theme.outline), (len(plain.points_m), 1)),
    )
    tangents = np.concatenate([np.repeat(row.tangents, _SIDES, axis=0) for row in scene.rows])
    return Solids(
        tube=bake_tube(plain, tangents, camera.toward, camera.up),
        outline=outline,
        rings=bands,
        boxes=None,
        edges=empty,
        drops=empty,
        dots=None,
        floor=floor,
        radius_m=radius,
    )


def _ring_places(row: RunRow, pitch_m: float) -> tuple[Floats, Floats]:
    """Middles and tangents of the bands of a run over its limit. [m]"""
    steps = np.diff(row.points_m, axis=0)
    size = np.linalg.norm(steps, axis=1)
    along = np.concatenate([[0.0], np.cumsum(size)])
    at = np.arange(pitch_m / 2, along[-1], pitch_m)
    index = np.clip(np.searchsorted(along, at, side="right") - 1, 0, len(size) - 1)
    unit = steps[index] / np.maximum(size[index], 1e-12)[:, None]
    return row.points_m[index] + (at - along[index])[:, None] * unit, unit


def shaded_again(surface: Surface, scene: ManyScene, camera: Camera, theme: Theme) -> Floats:
    """Return the colors of the tubes for another direction of view, shape (n, 3)."""
    tangents = np.concatenate([np.repeat(row.tangents, _SIDES, axis=0) for row in scene.rows])
    flat = np.concatenate(
        [np.tile(row.color(theme), (len(row.points_m) * _SIDES, 1)) for row in scene.rows]
    )
    plain = Surface(surface.points_m, surface.triangles, surface.normals, flat)
    return bake_tube(plain, tangents, camera.toward, camera.up).colors


def draw_many(picture: ManyPicture) -> NDArray[np.uint8]:
    """Return the pixels of the picture, shape (height, width, 3).

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    canvas = picture.canvas
    left, top, right, bottom = (round(value) for value in picture.view)
    solids = many_solids(picture.scene, picture.camera, canvas.unit, canvas.theme)
    view = render_solids(solids, picture.camera, canvas.unit, canvas.theme, 30 * canvas.unit)
    canvas.picture(view, (left, top, right, bottom), layer=1)
    draw_many_sheet(picture)
    return canvas.pixels()


def draw_many_sheet(
    picture: ManyPicture, first: int = 0, labels: bool = True
) -> tuple[ListRow, ...]:
    """Draw header, names, list from its row `first` on, and foot; return where the rows stand."""
    canvas, scene = picture.canvas, picture.scene
    u, theme, side = canvas.text_unit, canvas.theme, 0.04 * canvas.width
    y = 10 * u
    for index, line in enumerate(picture.headline_lines):
        bold = index == 0 or line in many_headline(scene)
        points = 15.0 if bold else 8.6
        y += canvas.px(points) * (1.2 if bold else 1.4)
        canvas.text(side, y, line, points, bold=bold, color=theme.ink if bold else theme.muted)
    note = f"high friction {scene.job.pull.friction.high:g}"
    width = min(LEGEND_WIDTH, 0.36 * canvas.width / u)
    units = scene.job.units
    draw_scale(canvas, scene.scale, units, note, canvas.width - side, 12 * u, width)
    if labels:
        _draw_names(picture)
        _draw_marks(picture)
    rows = draw_list(canvas, scene, picture.listed, first)
    step = canvas.px(6.8) * 1.3
    y = canvas.height - 8 * u - step * (len(picture.foot_lines) - 1)
    for line in picture.foot_lines:
        canvas.text(side, y, line, 6.8, color=theme.muted)
        y += step
    return rows


def _draw_names(picture: ManyPicture) -> None:
    canvas, theme, u = picture.canvas, picture.canvas.theme, picture.canvas.text_unit
    shift = np.array([round(picture.view[0]), round(picture.view[1])])
    for placement in picture.placements:
        index = int(placement.key)
        row = picture.scene.rows[index]
        points = np.array([placement.anchor, placement.foot]) + shift
        canvas.line(points, 0.95, theme.ink, layer=7.8)
        x, y = (float(value) for value in points[0])
        canvas.disc(x, y, 3.0, "#FFFFFF", edge="#1B2229", width=1.2, layer=8)
        a, b, c, d = placement.rect
        rect = (a + shift[0], b + shift[1], c + shift[0], d + shift[1])
        worst = index == 0
        canvas.chip(rect, theme.inverted if worst else theme.chip, None if worst else theme.ink)
        canvas.text(
            rect[0] + 6 * u,
            (rect[1] + rect[3]) / 2,
            _chip_text(index, row),
            7.4,
            bold=True,
            color=theme.inverted_ink if worst else theme.ink,
            upright="center_baseline",
            layer=14,
        )


def _draw_marks(picture: ManyPicture) -> None:
    """Draw the scale of the floor's grid and the direction of north."""
    canvas, camera, u = picture.canvas, picture.camera, picture.canvas.text_unit
    scene, theme = picture.scene, picture.canvas.theme
    left, _, _, bottom = picture.view
    us = scene.job.units is UnitSystem.US
    grid = round(to_ft(scene.grid_m) if us else scene.grid_m, 3)
    origin = np.array([left + 46 * u, bottom - 34 * u])
    ahead = np.array([camera.right[1], -camera.up[1]])
    ahead = ahead / max(float(np.linalg.norm(ahead)), 1e-9)
    across = np.array([-ahead[1], ahead[0]])
    tip = origin + 22 * u * ahead
    canvas.line([origin - 8 * u * ahead, tip], 2.0, theme.ink, layer=7)
    corners = [tip + 6 * u * ahead, tip - 3 * u * ahead + 4 * u * across]
    canvas.polygon([*corners, tip - 3 * u * ahead - 4 * u * across], theme.ink, layer=7)
    name = tip + 15 * u * ahead
    canvas.text(
        float(name[0]), float(name[1]), "N", 8, bold=True, align="center", upright="center", layer=7
    )
    unit = "ft" if us else "m"
    text = f"grid {grid:g} {unit}"
    canvas.text(left + 80 * u, bottom - 12 * u, text, 7.2, color=theme.muted, layer=7)


def draw_list(canvas: Canvas, scene: ManyScene, rect: Rect, first: int = 0) -> tuple[ListRow, ...]:
    """Draw the list of runs, worst first, from one row on; return where the rows stand."""
    u, theme = canvas.text_unit, canvas.theme
    left, top, right, bottom = rect
    canvas.text(left, top + 2 * u, "Runs, worst first", 9, bold=True, layer=20)
    canvas.text(right, top + 2 * u, "share of limit", 7.2, color=theme.muted, align="right")
    y = top + 12 * u
    room = max(1, int((bottom - y - 16 * u) / (_ROW * 1.45 * u)))
    shown = scene.rows[first : first + room]
    made = []
    for index, row in enumerate(shown):
        high = _ROW * 1.45 * u
        box = (left, y, right, y + high)
        share, words = row_words(row)
        canvas.line([(left, y), (right, y)], 0.5, theme.grid, layer=19)
        canvas.rectangle(
            left, y + 3 * u, left + 5 * u, y + high - 3 * u, _hex(row, theme), layer=20
        )
        if row.share is not None and row.share > 1.0:
            for mark in (0.25, 0.5, 0.75):
                at = y + 3 * u + mark * (high - 6 * u)
                canvas.line(
                    [(left, at), (left + 5 * u, at)], 1.3, theme.ring, layer=20.5, round_ends=False
                )
        number = f"{first + index + 1}"
        canvas.text(left + 34 * u, y + 11 * u, number, 7.4, color=theme.muted, align="right")
        room_name = right - left - 100 * u
        name = _clipped(canvas, row.name, 8.0, room_name, bold=True)
        canvas.text(left + 41 * u, y + 11 * u, name, 8.0, bold=True, layer=20)
        canvas.text(right, y + 11 * u, share, 8.0, bold=True, align="right", layer=20)
        small = f"{show_length(row.length_m, scene.job.units)} · {words}"
        small = _clipped(canvas, small, 6.8, right - left - 45 * u)
        canvas.text(left + 41 * u, y + 21 * u, small, 6.8, color=theme.muted, layer=20)
        made.append(ListRow(row.name, box))
        y += high
    rest = len(scene.rows) - first - len(shown)
    if rest > 0:
        text = f"and {rest} more below; the last: {row_words(scene.rows[-1])[0]}"
        canvas.text(left, y + 11 * u, text, 7.2, color=theme.muted, layer=20)
    return tuple(made)


def _hex(row: RunRow, theme: Theme) -> str:
    return hex_color(row.color(theme))


def _clipped(canvas: Canvas, text: str, points: float, room: float, bold: bool = False) -> str:
    """Return a text cut with dots where it finds no room."""
    if canvas.text_size(text, points, bold)[0] <= room:
        return text
    while len(text) > 1 and canvas.text_size(f"{text}…", points, bold)[0] > room:
        text = text[:-1]
    return f"{text.rstrip()}…"


def write_many(
    scene: ManyScene, file: Path, width: int = 1600, height: int = 1000, theme: Theme = LIGHT
) -> None:
    """Draw all runs and write the picture as PNG."""
    save_pixels(draw_many(plan_many(scene, width, height, theme)), file)
