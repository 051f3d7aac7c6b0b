"""Marks and labels over the lit geometry: what there is to say, and where it goes.

Nothing is drawn here: `viewer.marks` does that. All places are picture points of the view.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from analyzer.geometry.segments import Straight
from analyzer.units import UnitSystem, show_angle, show_force, show_pressure, to_ft
from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.head import Head, sidewall_at
from viewer.labels import LabelRequest, Obstacles, Placement, Rect, place_labels
from viewer.palette import hex_color
from viewer.quantities import Quantity
from viewer.scene import Scene
from viewer.solids import Arrow, Box, arrows_of, boxes_of, drawn_radius
from viewer.traces import LegTrace
from viewer.wording import of_limit, shown_length, value_text

__all__ = [
    "CHIP_POINTS",
    "MOST_NAMED_BENDS",
    "Chip",
    "Marks",
    "chips_of",
    "head_words",
    "plan_marks",
]

Floats = NDArray[np.float64]

MOST_NAMED_BENDS = 12
"""Runs with more bends show their numbers only."""

_MOST_NAMED_LEGS = 8


@dataclass(frozen=True, slots=True)
class Chip:
    """One label: its texts and how it looks. `kind` is worst, end, box, leg, bend or number."""

    key: str
    kind: str
    title: str
    detail: str
    anchor: tuple[float, float]
    color: str | None = None
    own_px: float = 0.0
    away: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Marks:
    """All that is drawn over one view, in its own picture points."""

    chips: tuple[Chip, ...]
    placements: tuple[Placement, ...]
    arrows: tuple[Arrow, ...]
    scale_bar: tuple[Floats, str] | None
    triad: tuple[float, float] | None
    head: Head | None = None

    @property
    def left_out(self) -> tuple[str, ...]:
        """Titles of the labels that found no room."""
        placed = {placement.key for placement in self.placements}
        return tuple(chip.title for chip in self.chips if chip.key not in placed)


CHIP_POINTS = {"worst": (8.5, 7.0), "leg": (8.6, 7.0), "number": (7.0, 0.0)}
"""Sizes of the two lines of a label, by its kind; 8.0 and 6.8 for the others. [pt]"""

_PRIORITY = {"worst": 0, "end": 1, "box": 1, "bend": 2, "number": 2, "leg": 3}


def chips_of(
    scene: Scene,
    camera: Camera,
    unit_px: float,
    brief: bool = False,
    head: Head | None = None,
    without: frozenset[str] = frozenset(),
) -> list[Chip]:
    """Return the labels of a view with their anchors.

    `brief` leaves out second lines and legs; a head takes the place of the worst mark; `without`
    names kinds to leave out, ``bend detail`` only the second line of bends.
    """
    chips: list[Chip] = []
    radius = drawn_radius(scene, camera.m_per_px * unit_px)
    if head is not None:
        chips.append(_head_chip(scene, camera, head))
    elif "worst" not in without:
        chips.append(_worst_chip(scene, camera, brief))
    boxes = {box.name: box for box in boxes_of(scene, radius)}
    for index, mark in enumerate(scene.fittings):
        place = boxes[mark.name].center_m if mark.name in boxes else mark.point_m
        end = mark.outward is not None
        plain = mark.role == "box"
        title = mark.name if plain else f"{mark.role.capitalize()} · {mark.name}"
        anchor = _pair(camera.pixels(place)[0])
        own = 0.0
        if mark.name in boxes:
            box = boxes[mark.name]
            own = 0.5 * float(np.linalg.norm(box.size_m)) / camera.m_per_px
        kind = "end" if end else "box"
        chips.append(Chip(f"fitting {index}", kind, title, "", anchor, own_px=own))
    many = len(scene.bends) > MOST_NAMED_BENDS or (brief and camera.width < 700)
    for bend in scene.bends if "bend" not in without else ():
        pixel = camera.pixels(bend.point_m)[0]
        away = camera.pixels(bend.point_m + bend.outward)[0] - pixel
        size = float(np.linalg.norm(away))
        chips.append(
            Chip(
                f"bend {bend.number}",
                "number" if many else "bend",
                bend.name if many else bend.title,
                "" if brief or many or "bend detail" in without else bend.detail,
                _pair(pixel),
                away=_pair(away / size) if size * camera.m_per_px > 0.2 else None,
            )
        )
    told = 1 < len(scene.legs) <= _MOST_NAMED_LEGS
    if told and not brief and "leg" not in without:
        chips += [_leg_chip(scene, leg, camera) for leg in scene.legs]
    return chips


def _worst_chip(scene: Scene, camera: Camera, brief: bool) -> Chip:
    worst, scale = scene.peak, scene.chart_scale
    over = scale.limit is not None and worst.peak > scale.limit
    value = value_text(worst.peak, scale.quantity, scene.units)
    title = f"{'Worst' if over else 'Highest'}  {value}"
    detail = f"at {shown_length(worst.peak_station_m, scene.units)}"
    if scale.limit is None:
        detail = f"limit not known · {detail}"
    elif scale.quantity is not Quantity.SHARE:
        detail = f"{of_limit(worst.peak / scale.limit)} · {detail}"
    anchor = _pair(camera.pixels(scene.point_at(worst.peak_station_m))[0])
    return Chip("worst", "worst", title, "" if brief else detail, anchor)


def _head_chip(scene: Scene, camera: Camera, head: Head) -> Chip:
    anchor = _pair(camera.pixels(scene.point_at(head.station_m))[0])
    title = f"Head  {show_force(head.tension_n, scene.units)}"
    return Chip("worst", "worst", title, head_words(scene, head), anchor)


def head_words(scene: Scene, head: Head) -> str:
    """Return where the head is: its bend, box or leg, and station."""
    bend = next(
        (b.name for b in scene.bends if b.station_m <= head.station_m <= b.end_station_m), None
    )
    box = next((m.name for m in scene.fittings if abs(m.station_m - head.station_m) < 1e-3), None)
    text = f"{box or bend or head.leg} · at {shown_length(head.station_m, scene.units)}"
    side = sidewall_at(scene, head)
    return text if side is None else f"{text} · sidewall {show_pressure(side, scene.units)}"


def _leg_chip(scene: Scene, leg: LegTrace, camera: Camera) -> Chip:
    scale = scene.chart_scale
    parts = [shown_length(leg.length_m, scene.units), show_angle(leg.bend_total_rad)]
    if scale.limit is not None:
        parts.append(of_limit(leg.peak / scale.limit))
        if leg.high_peak > leg.peak:
            # high friction governs the checks: its share stands beside the one in color
            high = of_limit(leg.high_peak / scale.limit)
            parts[-1] = f"{parts[-1]} (high: {high.removesuffix(' of limit')})"
    title = f"{leg.name}   {value_text(leg.peak, scale.quantity, scene.units)}"
    color = None
    if scene.quantity.has_curve:
        color = hex_color(scene.color_scale.colors([leg.peak])[0])
    anchor = _pair(camera.pixels(scene.point_at(_straight_middle(scene, leg)))[0])
    return Chip(leg.name, "leg", title, " · ".join(parts), anchor, color=color)


def _straight_middle(scene: Scene, leg: LegTrace) -> float:
    """Station of the middle of a leg's longest straight; leg middles fall into bends."""
    line = scene.analysis.run.centerline
    best, place = 0.0, (leg.start_m + leg.end_m) / 2
    for start, end, segment in zip(
        line.stations_m[:-1], line.stations_m[1:], line.segments, strict=True
    ):
        low, high = max(start, leg.start_m), min(end, leg.end_m)
        if isinstance(segment, Straight) and high - low > best:
            best, place = high - low, (low + high) / 2
    return place


def _pair(values: Floats) -> tuple[float, float]:
    return (float(values[0]), float(values[1]))


def plan_marks(
    canvas: Canvas,
    scene: Scene,
    camera: Camera,
    brief: bool = False,
    seconds: float = 2.0,
    blocked: tuple[Rect, ...] = (),
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
    seconds : float
        Time after which no new start of the label search is made.
    blocked : tuple of Rect
        Parts of the view taken by something else. [px]
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
    forbidden = list(blocked)
    bar = triad = None
    if furniture:
        taken = _with_shadow(scene, camera, tube, radius, forbidden)
        triad = _triad_place(canvas, camera, taken)
        if triad is not None:
            reach = 52 * canvas.text_unit
            block = (triad[0] - reach, triad[1] - reach, triad[0] + reach, triad[1] + reach * 0.6)
            forbidden.append(block)
            taken = _with_shadow(scene, camera, tube, radius, forbidden)
        bar = _scale_bar(canvas, scene, camera, taken)
        if bar is not None:
            forbidden.append(_bar_block(canvas, bar[0], bar[1]))
    chips = chips_of(scene, camera, u, brief, head, without)
    requests = tuple(_request(canvas, chip, reach) for chip in chips)
    placements = place_labels(
        requests, Obstacles(tube, lines, tuple(forbidden)), canvas.text_unit, seconds=seconds
    )
    arrows = tuple(
        arrow
        for arrow in arrows_of(scene, camera, u, radius)
        if _in_view(camera, arrow, 24 * u)
        and not _hidden(scene, camera, arrow, radius)
        and not _marked(arrow, chips, camera, u)
    )
    return Marks(tuple(chips), placements, arrows, bar, triad, head)


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


def _free(mask: NDArray[np.bool_], rect: Rect) -> bool:
    left, top, right, bottom = (round(value) for value in rect)
    if left < 0 or top < 0 or right > mask.shape[1] or bottom > mask.shape[0]:
        return False
    return not mask[top:bottom, left:right].any()


def _triad_place(
    canvas: Canvas, camera: Camera, taken: NDArray[np.bool_]
) -> tuple[float, float] | None:
    """Middle of the triad: lower left, else another corner that is free."""
    u = canvas.text_unit
    side = 52 * u
    for x, y in (
        (side, camera.height - 0.7 * side),
        (camera.width - side, camera.height - 0.7 * side),
        (side, side),
        (camera.width - side, side),
    ):
        if _free(taken, (x - side, y - side, x + side, y + 0.65 * side)):
            return (x, y)
    return None


def _scale_bar(
    canvas: Canvas, scene: Scene, camera: Camera, taken: NDArray[np.bool_]
) -> tuple[Floats, str] | None:
    """Return a bar lying on the floor in front of the run: its three points and its text."""
    unit = "ft" if scene.units is UnitSystem.US else "m"
    step = scene.grid_m
    number = round(to_ft(step) if unit == "ft" else step, 3)
    while step / camera.m_per_px < 26 * canvas.text_unit:
        step, number = 2 * step, 2 * number
    grid = round(to_ft(scene.grid_m) if unit == "ft" else scene.grid_m, 3)
    text = f"{2 * number:g} {unit}  (grid {grid:g} {unit})"
    east = np.array([1.0, 0.0, 0.0])
    axis = east if abs(camera.right[0]) >= 0.5 else np.array([0.0, 1.0, 0.0])
    axis = axis if axis @ camera.right > 0 else -axis
    shadow = scene.points_m.copy()
    shadow[:, 2] = scene.floor_m
    feet = camera.pixels(shadow)
    best: tuple[float, Floats] | None = None
    for y in np.linspace(0.25, 0.95, 15) * camera.height:
        for x in np.linspace(0.08, 0.85, 24) * camera.width:
            start = camera.on_plane(x, y, scene.floor_m)
            line = np.array([start, start + step * axis, start + 2 * step * axis])
            pixels = camera.pixels(line)
            if not _free(taken, _bar_block(canvas, pixels, text)):
                continue
            away = float(np.linalg.norm(feet - pixels[1], axis=1).min())
            below = float(feet[:, 1].max() - pixels[1, 1]) / camera.height
            cost = away / camera.width + 0.6 * max(below, 0.0)
            cost += 0.25 * abs(float(pixels[1, 0]) / camera.width - 0.45)
            if best is None or cost < best[0]:
                best = (cost, pixels)
    return None if best is None else (best[1], text)


def _bar_block(canvas: Canvas, pixels: Floats, text: str) -> Rect:
    """Rectangle that holds a scale bar and its letters."""
    u = canvas.text_unit
    width, _ = canvas.text_size(text, 7.2)
    return (
        float(pixels[:, 0].min()) - 12 * u,
        float(pixels[:, 1].min()) - 10 * u,
        float(pixels[2, 0]) + width + 4 * u,
        float(pixels[:, 1].max()) + 20 * u,
    )


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
