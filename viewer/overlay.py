"""Marks and labels over the lit geometry: what there is to say, and where it goes.

Nothing is drawn here: `viewer.marks` does that. All places are picture points of the view.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from viewer.boxes import Box, boxes_of
from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.chips import CHIP_POINTS, Chip, chips_of
from viewer.furniture import Ground, ScaleBar, bar_block, flat_bar, floor_bar, triad_place
from viewer.head import Head
from viewer.labels import LabelRequest, Obstacles, Placement, Rect, place_labels
from viewer.scene import Scene
from viewer.solids import Arrow, arrows_of, drawn_radius

__all__ = ["Marks", "moved_marks", "plan_marks"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Marks:
    """All that is drawn over one view, in its own picture points."""

    chips: tuple[Chip, ...]
    placements: tuple[Placement, ...]
    arrows: tuple[Arrow, ...]
    scale_bar: ScaleBar | None
    triad: tuple[float, float] | None
    head: Head | None = None

    @property
    def left_out(self) -> tuple[str, ...]:
        """Titles of the labels that found no room."""
        placed = {placement.key for placement in self.placements}
        return tuple(chip.title for chip in self.chips if chip.key not in placed)


_PRIORITY = {"worst": 0, "end": 1, "box": 1, "bend": 2, "number": 2, "leg": 3}


def plan_marks(
    canvas: Canvas,
    scene: Scene,
    camera: Camera,
    brief: bool = False,
    effort: float = 2.0,
    furniture: bool = True,
    head: Head | None = None,
    without: frozenset[str] = frozenset(),
    radius_m: float | None = None,
    reach: float = 1.0,
) -> Marks:
    """Return where every mark and label of a view goes; nothing is drawn.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    scene, camera : Scene, Camera
        What is seen, from where.
    brief : bool
        Leave out second lines and leg labels.
    effort : float
        How long places are sought for the labels, as in `place_labels`.
    furniture : bool
        Whether scale bar and triad are wanted.
    head : Head, optional
        The pulling head, marked in place of the worst.
    without : frozenset of str
        Kinds of label to leave out, as `chips_of` takes them.
    radius_m : float, optional
        Radius of the tube where it is not drawn wide enough to be seen. [m]
    reach : float
        How much longer than usual leaders may be.
    """
    u = canvas.unit
    radius = drawn_radius(scene, camera.m_per_px * u) if radius_m is None else radius_m
    boxes = boxes_of(scene, radius)
    tube = _tube_mask(scene, camera, boxes, radius, u)
    lines = _line_mask(scene, camera, u)
    forbidden: list[Rect] = []
    bar = triad = None
    chips = chips_of(scene, camera, u, brief, head, without)
    if furniture:
        taken = _with_shadow(scene, camera, tube, radius, forbidden)
        triad = triad_place(canvas, camera, taken)
        if triad is not None:
            arm = 52 * canvas.text_unit
            block = (triad[0] - arm, triad[1] - arm, triad[0] + arm, triad[1] + 0.6 * arm)
            forbidden.append(block)
            taken = _with_shadow(scene, camera, tube, radius, forbidden)
        if radius_m is None:
            ground = Ground(scene.points_m, scene.floor_m, scene.grid_m, scene.units)
            anchors = np.array([chip.anchor for chip in chips]).reshape(-1, 2)
            bar = floor_bar(canvas, ground, camera, taken, anchors)
        bar = bar or flat_bar(canvas, scene.units, camera, taken)
        if bar is not None:
            forbidden.append(bar_block(canvas, bar))
    requests = tuple(_request(canvas, chip, reach) for chip in chips)
    placements = place_labels(
        requests, Obstacles(tube, lines, tuple(forbidden)), canvas.text_unit, effort=effort
    )
    arrows = tuple(
        arrow
        for arrow in arrows_of(scene, camera, u, radius)
        if _in_view(camera, arrow, 24 * u)
        and not _hidden(scene, camera, arrow, radius)
        and not _marked(arrow, chips, camera, u)
    )
    return Marks(tuple(chips), placements, arrows, bar, triad, head)


def moved_marks(
    canvas: Canvas, scene: Scene, camera: Camera, placed: Marks, head: Head | None
) -> Marks:
    """Return marks with the numbers of now: labels stay, only that of worst place or head moves.

    Fast enough to follow a hand.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    scene, camera : Scene, Camera
        What is seen, from where.
    placed : Marks
        Those placed before for the same view.
    head : Head or None
        The pulling head of now, marked in place of the worst.
    """
    u = canvas.unit
    radius = drawn_radius(scene, camera.m_per_px * u)
    chips = tuple(chips_of(scene, camera, u, head=head))
    keys = {chip.key for chip in chips} - {"worst"}
    kept = tuple(place for place in placed.placements if place.key in keys)
    tube = _tube_mask(scene, camera, boxes_of(scene, radius), radius, u)
    obstacles = Obstacles(
        tube,
        np.zeros_like(tube),
        tuple(place.rect for place in kept),
        tuple(place.anchor for place in kept),
    )
    moving = tuple(_request(canvas, chip, 1.0) for chip in chips if chip.key == "worst")
    found = place_labels(moving, obstacles, canvas.text_unit, effort=0.0, restarts=1)
    return replace(placed, chips=chips, placements=kept + found, head=head)


def _request(canvas: Canvas, chip: Chip, reach: float) -> LabelRequest:
    return LabelRequest(
        key=chip.key,
        anchor=chip.anchor,
        size=_chip_size(canvas, chip),
        away=chip.away,
        priority=_PRIORITY[chip.kind],
        reach=reach * {"leg": 300.0, "number": 90.0}.get(chip.kind, 230.0),
        own=max(12.0, chip.own_px / canvas.text_unit + 4.0),
        near=10.0 if chip.kind == "number" else 26.0 if chip.kind != "worst" else 24.0,
    )


def _chip_size(canvas: Canvas, chip: Chip) -> tuple[float, float]:
    u = canvas.text_unit
    first, second = CHIP_POINTS.get(chip.kind, (8.0, 6.8))
    side, upright = (4.0, 2.5) if chip.kind == "number" else (9.0, 5.0)
    width, height = canvas.text_size(chip.title, first, bold=True)
    if chip.detail:
        wide, high = canvas.text_size(chip.detail, second)
        width, height = max(width, wide), height + high + 2.5 * u
    return width + 2 * side * u + (3 * u if chip.color else 0), height + 2 * upright * u


def _tube_mask(
    scene: Scene, camera: Camera, boxes: tuple[Box, ...], radius: float, u: float
) -> NDArray[np.bool_]:
    image = Image.new("L", (camera.width, camera.height), 0)
    draw = ImageDraw.Draw(image)
    width = max(1, round(2 * radius / camera.m_per_px + 8 * u))
    for leg in scene.legs:
        _stroke(draw, camera.pixels(leg.points_m), width)
    for box in boxes:
        _stroke_box(draw, camera, box)
    return np.asarray(image) > 0


def _stroke(draw: ImageDraw.ImageDraw, pixels: Floats, width: float) -> None:
    points = [(float(x), float(y)) for x, y in pixels]
    draw.line(points, fill=255, width=max(1, round(width)), joint="curve")


def _stroke_box(draw: ImageDraw.ImageDraw, camera: Camera, box: Box) -> None:
    signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
    corners = camera.pixels(box.center_m + (signs * box.size_m / 2) @ box.axes)
    for face in (
        (0, 1, 3, 2),
        (4, 5, 7, 6),
        (0, 1, 5, 4),
        (2, 3, 7, 6),
        (0, 2, 6, 4),
        (1, 3, 7, 5),
    ):
        draw.polygon([(float(x), float(y)) for x, y in corners[list(face)]], fill=255)


def _line_mask(scene: Scene, camera: Camera, u: float) -> NDArray[np.bool_]:
    image = Image.new("L", (camera.width, camera.height), 0)
    draw = ImageDraw.Draw(image)
    inner = [mark.point_m for mark in scene.fittings if mark.outward is None]
    for place in [bend.point_m for bend in scene.bends] + inner:
        foot = np.array([place[0], place[1], scene.floor_m])
        _stroke(draw, camera.pixels(np.array([place, foot])), max(1, u))
    return np.asarray(image) > 0


def _with_shadow(
    scene: Scene,
    camera: Camera,
    tube: NDArray[np.bool_],
    radius: float,
    blocks: list[Rect],
) -> NDArray[np.bool_]:
    image = Image.fromarray((tube * 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    for leg in scene.legs:
        flat = leg.points_m.copy()
        flat[:, 2] = scene.floor_m
        _stroke(draw, camera.pixels(flat), 3 * radius / camera.m_per_px)
    for block in blocks:
        draw.rectangle(block, fill=255)
    return np.asarray(image) > 0


def _hidden(scene: Scene, camera: Camera, arrow: Arrow, radius: float) -> bool:
    """Whether another piece of the run stands before an arrowhead."""
    pixel, depth = camera.pixels(arrow.point_m)[0], camera.depths(arrow.point_m)[0]
    points = scene.points_m
    near = np.linalg.norm(camera.pixels(points) - pixel, axis=1) < 1.6 * radius / camera.m_per_px
    return bool((near & (camera.depths(points) > depth + 2 * radius)).any())


def _in_view(camera: Camera, arrow: Arrow, edge_px: float) -> bool:
    x, y = camera.pixels(arrow.point_m)[0]
    return bool(edge_px <= x <= camera.width - edge_px and edge_px <= y <= camera.height - edge_px)


def _marked(arrow: Arrow, chips: list[Chip], camera: Camera, u: float) -> bool:
    """Whether another mark stands where an arrowhead would."""
    pixel = camera.pixels(arrow.point_m)[0]
    return any(
        np.hypot(chip.anchor[0] - pixel[0], chip.anchor[1] - pixel[1])
        < (18 if chip.kind == "worst" else 10) * u
        for chip in chips
    )
