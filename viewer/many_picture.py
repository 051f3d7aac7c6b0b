"""The picture of many runs: all of them in color, the worst named, the list worst first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from analyzer.units import show_length
from viewer.camera import Camera, Margins, fit_camera
from viewer.canvas import Canvas
from viewer.furniture import (
    Ground,
    draw_scale_bar,
    draw_triad,
    flat_bar,
    floor_bar,
    triad_place,
)
from viewer.image import draw_foot, sheet_for
from viewer.labels import LabelRequest, Obstacles, Placement, Rect, place_labels
from viewer.legend import LEGEND_HEIGHT, LEGEND_WIDTH, draw_scale
from viewer.many import ManyScene, RunRow, many_headline, many_subline, way_words
from viewer.many_list import ListRow, draw_list
from viewer.many_solids import RADIUS_UNITS, many_solids
from viewer.palette import LIGHT, Theme
from viewer.render import render_solids
from viewer.sizes import LEAST_RUN_UNITS, no_room
from viewer.wording import CAUTION
from viewer.wrapping import balanced, wrapped

__all__ = [
    "ManyPicture",
    "draw_many",
    "draw_many_sheet",
    "many_camera",
    "plan_many",
    "require_many_room",
]

Floats = NDArray[np.float64]

_NAMED = 8
_AZIMUTHS = (-70.0, -110.0, -20.0, 20.0)
_ELEVATION = 42.0
_ALONG, _CLEAR_PX = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8), 24.0
"""Shares of a straight where its name may point, best first; how far other runs stay from there."""


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

    @property
    def left_out(self) -> tuple[str, ...]:
        """Names of the worst runs that found no room."""
        placed = {placement.key for placement in self.placements}
        return tuple(
            _chip_text(index, row)
            for index, row in enumerate(_named_rows(self.scene))
            if str(index) not in placed
            and _is_seen(self.camera, _anchor(self.camera, self.scene, row))
        )


def many_camera(
    scene: ManyScene, width: int, height: int, unit_px: float, angles: tuple[float, float] | None
) -> Camera:
    """Return the camera that shows all runs as large as may be, from the south where it can.

    Parameters
    ----------
    scene : ManyScene
        All runs.
    width, height : int
        Size of the view. [px]
    unit_px : float
        Pixels of one drawing unit, for the margins.
    angles : (float, float) or None
        Azimuth and elevation; None takes the best of some. [deg]
    """
    points = np.concatenate([row.points_m for row in scene.rows])
    shadow = points.copy()
    shadow[:, 2] = scene.floor_m
    seen = np.concatenate([points, shadow])
    margins = _margins(unit_px)
    choices = [(a, _ELEVATION) for a in _AZIMUTHS] if angles is None else [angles]
    cameras = [fit_camera(*choice, seen, width, height, margins) for choice in choices]
    return min(cameras, key=lambda camera: camera.m_per_px)


def _margins(unit_px: float) -> Margins:
    """Return the room kept round the runs for their names. [px]"""
    return Margins(46 * unit_px, 46 * unit_px, 40 * unit_px, 46 * unit_px)


def plan_many(
    scene: ManyScene,
    width: int = 1600,
    height: int = 1000,
    theme: Theme = LIGHT,
    effort: float = 0.4,
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
    effort : float
        How long places are sought for the labels, as in `place_labels`.
    unit_px : float, optional
        Pixels of one drawing unit; by default from the width.
    camera : Camera, optional
        Where the runs are seen from, where it is known.
    """
    canvas = sheet_for(width, height, theme, unit_px)
    lines, foot, view, listed = _laid_out(canvas, scene)
    bottom = view[3]
    if camera is None:
        camera = many_camera(scene, round(view[2]), round(bottom - view[1]), canvas.unit, None)
    placements = _placed(canvas, scene, camera, effort)
    return ManyPicture(scene, canvas, camera, view, listed, lines, foot, placements)


def _laid_out(
    canvas: Canvas, scene: ManyScene
) -> tuple[tuple[str, ...], tuple[str, ...], Rect, Rect]:
    """Return the lines of heading and foot, and where view and list stand. [px]"""
    u, side, width = canvas.text_unit, 0.04 * canvas.width, canvas.width
    legend = min(LEGEND_WIDTH, 0.36 * width / u)
    room = width - 2 * side - (legend + 26) * u
    lines = balanced(canvas, many_headline(scene), 15.0, room)
    count = len(lines)
    lines += wrapped(canvas, many_subline(scene), 8.6, room)
    header = max(
        14 * u + count * canvas.px(15.0) * 1.2 + (len(lines) - count) * canvas.px(8.6) * 1.4,
        (LEGEND_HEIGHT + 8) * u,
    )
    foot = wrapped(canvas, f"{_small_print(scene)} {CAUTION}", 6.8, width - 2 * side)
    bottom = canvas.height - len(foot) * canvas.px(6.8) * 1.3 - 12 * u
    list_width = min(max(0.28 * width, 250 * u), 0.46 * width)
    view = (0.0, header + 30 * u, width - side - list_width, bottom)
    listed = (width - side - list_width, header + 30 * u, width - side, bottom)
    return lines, foot, view, listed


def require_many_room(
    scene: ManyScene, width: int, height: int, theme: Theme = LIGHT, unit_px: float | None = None
) -> None:
    """Refuse a size that leaves the view of all runs too low to tell anything.

    Parameters
    ----------
    scene, width, height, theme, unit_px
        As for `plan_many`.

    Raises
    ------
    InputError
        If the view is too low; it names a size that works.
    """

    def fits(across: int, down: int) -> bool:
        canvas = sheet_for(across, down, theme, unit_px)
        view, kept = _laid_out(canvas, scene)[2], _margins(canvas.unit)
        return kept.free_height(view[3] - view[1]) >= LEAST_RUN_UNITS * canvas.text_unit

    if not fits(width, height):
        raise no_room("picture", "view", fits, width, height)


def _small_print(scene: ManyScene) -> str:
    band = scene.job.pull.friction
    way, better = way_words(scene)
    told = f"Shares are of the limit that governs each run, at high friction {band.high:g}, {way}."
    told += f"{' ' if better else ''}{better} Raceways drawn wider than true."
    if scene.floor_m != 0.0:
        told += f" Floor drawn at elevation {show_length(scene.floor_m, scene.job.units)}."
    return told


def _named_rows(scene: ManyScene) -> tuple[RunRow, ...]:
    """Return the runs that are named in the picture: the worst."""
    return scene.rows[:_NAMED] if len(scene.rows) > 1 else ()


def _placed(
    canvas: Canvas, scene: ManyScene, camera: Camera, effort: float
) -> tuple[Placement, ...]:
    """Places of the names of the worst runs."""
    requests = []
    for index, row in enumerate(_named_rows(scene)):
        x, y = _anchor(camera, scene, row)
        if not _is_seen(camera, (x, y)):
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
    mask = _tube_mask(canvas, scene, camera)
    obstacles = Obstacles(mask, np.zeros_like(mask))
    return place_labels(tuple(requests), obstacles, canvas.text_unit, effort=effort, restarts=3)


def _tube_mask(canvas: Canvas, scene: ManyScene, camera: Camera) -> NDArray[np.bool_]:
    tube = Image.new("L", (camera.width, camera.height), 0)
    draw = ImageDraw.Draw(tube)
    wide = max(1, round(2 * RADIUS_UNITS * canvas.unit))
    for row in scene.rows:
        draw.line([(float(x), float(y)) for x, y in camera.pixels(row.points_m)], 255, wide)
    return np.array(tube) > 0


def _anchor(camera: Camera, scene: ManyScene, row: RunRow) -> tuple[float, float]:
    """Return a place on the longest straight of a run, away from where another run meets it. [px]

    The middle where no other comes near.
    """
    steps = np.linalg.norm(np.diff(row.points_m, axis=0), axis=1)
    at = int(np.argmax(steps))
    shares = np.array(_ALONG)[:, None]
    places = camera.pixels(row.points_m[at] * (1.0 - shares) + row.points_m[at + 1] * shares)
    away = np.full(len(places), np.inf)
    for other in scene.rows:
        if other is not row:
            away = np.minimum(away, _distances_px(places, camera.pixels(other.points_m)))
    clear = np.flatnonzero(away > _CLEAR_PX)
    x, y = places[clear[0] if clear.size else int(np.argmax(away))]
    return float(x), float(y)


def _distances_px(places: Floats, line: Floats) -> Floats:
    """Distances of places from a line through points in the picture. [px]"""
    legs = np.diff(line, axis=0)
    arms = places[:, None, :] - line[:-1]
    along = np.sum(arms * legs, axis=2) / np.maximum(np.sum(legs**2, axis=1), 1e-12)
    off = arms - np.clip(along, 0.0, 1.0)[:, :, None] * legs
    return np.asarray(np.linalg.norm(off, axis=2).min(axis=1))


def _is_seen(camera: Camera, point: tuple[float, float]) -> bool:
    return 0 < point[0] < camera.width and 0 < point[1] < camera.height


def _chip_text(index: int, row: RunRow) -> str:
    return f"{index + 1}  {row.name}"


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
    # vtk's own smoothing of edges is enough for tubes this thin, at a third of the time
    view = render_solids(solids, picture.camera, canvas.unit, canvas.theme, 30 * canvas.unit, 1)
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
    text = " ".join(picture.foot_lines)
    draw_foot(canvas, (side, canvas.width - side), text, picture.left_out if labels else ())
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
    """Draw the scale and the directions, where no run is."""
    canvas, camera, scene = picture.canvas, picture.camera, picture.scene
    shift = np.array([round(picture.view[0]), round(picture.view[1])], dtype=float)
    taken = _tube_mask(canvas, scene, camera)
    for placement in picture.placements:
        a, b, c, d = (round(value) for value in placement.rect)
        taken[max(b, 0) : d, max(a, 0) : c] = True
    triad = triad_place(canvas, camera, taken)
    if triad is not None:
        draw_triad(canvas, camera, np.array(triad) + shift)
        reach = round(52 * canvas.text_unit)
        x, y = round(triad[0]), round(triad[1])
        taken[max(y - reach, 0) : y + reach, max(x - reach, 0) : x + reach] = True
    points = np.concatenate([row.points_m for row in scene.rows])
    ground = Ground(points, scene.floor_m, scene.grid_m, scene.job.units)
    bar = floor_bar(canvas, ground, camera, taken)
    bar = bar or flat_bar(canvas, scene.job.units, camera, taken)
    if bar is not None:
        draw_scale_bar(canvas, bar.moved(shift))
