"""What the labels of a view say, and what they point at; where they go is `viewer.overlay`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Straight
from analyzer.units import show_angle, show_force, show_pressure
from viewer.boxes import boxes_of
from viewer.camera import Camera
from viewer.head import Head, legs_to_head, sidewall_at
from viewer.palette import hex_color
from viewer.quantities import Quantity
from viewer.scene import BendMark, Scene
from viewer.shown_values import limit_name, of_limit, short_name, shown_length, value_text
from viewer.solids import drawn_radius
from viewer.traces import LegTrace

__all__ = [
    "CHIP_POINTS",
    "DOT_UNITS",
    "MOST_NAMED_BENDS",
    "Chip",
    "chips_of",
    "head_words",
    "named_bends",
]

Floats = NDArray[np.float64]

MOST_NAMED_BENDS = 12
"""Runs with more bends show their numbers only; with more boxes, their names in small."""

DOT_UNITS = 3.0
"""Radius of the dot on a bend. [unit]"""

_JOINT_M = 1e-7
_MOST_NUMBERED_BENDS = 60
_MOST_NAMED_LEGS = 8


@dataclass(frozen=True, slots=True)
class Chip:
    """One label: its texts and how it looks. `kind` is worst, end, box, leg, bend or number.

    `dot` is the color of a bend too small on screen to show it, `over` whether that bend is over
    its limit.
    """

    key: str
    kind: str
    title: str
    detail: str
    anchor: tuple[float, float]
    color: str | None = None
    own_px: float = 0.0
    away: tuple[float, float] | None = None
    dot: str | None = None
    over: bool = False


CHIP_POINTS = {"worst": (8.5, 7.0), "leg": (8.6, 7.0), "number": (7.0, 0.0)}
"""Sizes of the two lines of a label, by its kind; 8.0 and 6.8 for the others. [pt]"""


def chips_of(
    scene: Scene,
    camera: Camera,
    unit_px: float,
    brief: bool = False,
    head: Head | None = None,
    without: frozenset[str] = frozenset(),
) -> list[Chip]:
    """Return the labels of a view with their anchors.

    Parameters
    ----------
    scene : Scene
        What is shown.
    camera : Camera
        Where it is seen from.
    unit_px : float
        One drawing unit. [px]
    brief : bool
        Leave out second lines, and the legs.
    head : Head or None
        Where the conductors have come to; it takes the place of the worst mark.
    without : frozenset of str
        Kinds to leave out; ``bend detail`` and ``leg detail`` only their second lines.
    """
    chips: list[Chip] = []
    if head is not None:
        chips.append(_head_chip(scene, camera, head))
    elif "worst" not in without:
        chips.append(_worst_chip(scene, camera, brief))
    chips += _fitting_chips(scene, camera, unit_px)
    if "bend" not in without:
        many = len(scene.bends) > MOST_NAMED_BENDS or (brief and camera.width < 700)
        bends = _bend_chips(scene, camera, unit_px, head, many)
        short = brief or "bend detail" in without
        chips += [replace(chip, detail="") for chip in bends] if short else bends
    told = 1 < len(scene.legs) <= _MOST_NAMED_LEGS
    if told and not brief and "leg" not in without:
        legs = [_leg_chip(scene, leg, camera) for leg in scene.legs]
        short = "leg detail" in without
        chips += [replace(chip, detail="") for chip in legs] if short else legs
    return chips


def _fitting_chips(scene: Scene, camera: Camera, unit_px: float) -> list[Chip]:
    """Labels of ends, boxes and other fittings; of many boxes in small."""
    radius = drawn_radius(scene, camera.m_per_px * unit_px)
    boxes = {box.name: box for box in boxes_of(scene, radius)}
    crowded = len(scene.fittings) > MOST_NAMED_BENDS + 2
    chips = []
    for index, mark in enumerate(scene.fittings):
        box = boxes.get(mark.name)
        half_m = 0.0 if box is None else 0.5 * float(np.linalg.norm(box.size_m))
        name = short_name(mark.name)
        chips.append(
            Chip(
                f"fitting {index}",
                "end" if mark.outward is not None else "number" if crowded else "box",
                name if mark.role == "box" else f"{mark.role.capitalize()} · {name}",
                "",
                _pair(camera.pixels(mark.point_m if box is None else box.center_m)[0]),
                own_px=half_m / camera.m_per_px,
            )
        )
    return chips


def _bend_chips(
    scene: Scene, camera: Camera, unit_px: float, head: Head | None, many: bool
) -> list[Chip]:
    """Labels of bends; of many bends their numbers only."""
    walked = legs_to_head(scene, head)
    chips = []
    for bend in scene.bends[:: named_bends(scene)]:
        hidden = _hidden_value(scene, walked, bend, camera, unit_px)
        over = hidden is not None and bool(scene.color_scale.over(np.array([hidden]))[0])
        pixel = camera.pixels(bend.point_m)[0]
        away = camera.pixels(bend.point_m + bend.outward)[0] - pixel
        size = float(np.linalg.norm(away))
        chips.append(
            Chip(
                f"bend {bend.number}",
                "number" if many else "bend",
                bend.name if many else bend.title,
                "" if many else bend.detail,
                _pair(pixel),
                away=_pair(away / size) if size * camera.m_per_px > 0.2 else None,
                dot=None if hidden is None else hex_color(scene.color_scale.colors([hidden])[0]),
                over=over,
            )
        )
    return chips


def _hidden_value(
    scene: Scene,
    walked: Sequence[tuple[LegTrace, NDArray[np.bool_]]],
    bend: BendMark,
    camera: Camera,
    unit_px: float,
) -> float | None:
    """Return the greatest value in a bend whose arc in the picture is mostly under its dot.

    None for longer arcs, for raceway the head has not reached, and for quantities that beside a
    bend are what they are in it: sidewall pressure alone sets in where a bend begins.
    """
    if scene.quantity not in (Quantity.SIDEWALL, Quantity.SHARE):
        return None
    values, seen_px = [], 0.0
    for leg, passed in walked:
        # the last sample at the start of the bend and the first at its end: its own of each pair
        first = int(np.searchsorted(leg.station_m, bend.station_m + _JOINT_M, side="right")) - 1
        last = int(np.searchsorted(leg.station_m, bend.end_station_m - _JOINT_M, side="left"))
        own = slice(max(first, 0), last + 1)
        if leg.end_m <= bend.station_m + _JOINT_M or leg.start_m >= bend.end_station_m - _JOINT_M:
            continue
        if not passed[own].all():
            return None
        values.append(float(leg.values[own].max()))
        steps = np.diff(camera.pixels(leg.points_m[own]), axis=0)
        seen_px += float(np.linalg.norm(steps, axis=1).sum())
    if not values or seen_px > 4 * DOT_UNITS * unit_px:
        return None
    return max(values)


def named_bends(scene: Scene) -> int:
    """Return which bends are named in pictures: 1 every one, 5 every fifth from the first on."""
    return max(1, -(-len(scene.bends) // _MOST_NUMBERED_BENDS))


def _worst_chip(scene: Scene, camera: Camera, brief: bool) -> Chip:
    worst, scale = scene.peak, scene.chart_scale
    over = scale.limit is not None and worst.peak > scale.limit
    value = value_text(worst.peak, scale.quantity, scene.units)
    title = f"{'Worst' if over else 'Highest'}  {value}"
    detail = f"at {shown_length(worst.peak_station_m, scene.units)}"
    if scale.limit is None:
        detail = f"limit not known · {detail}"
    elif scale.quantity is not Quantity.SHARE:
        share = of_limit(worst.peak / scale.limit, limit_name(scale.quantity))
        detail = f"{share} · {detail}"
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
        limit = limit_name(scale.quantity)
        parts.append(of_limit(leg.peak / scale.limit, limit))
        if leg.high_peak > leg.peak:
            # high friction governs the checks: its share stands beside the one in color
            high = of_limit(leg.high_peak / scale.limit, limit)
            bare = high.removesuffix(f" of {limit}").removesuffix(f" {limit}")
            parts[-1] = f"{parts[-1]} (high: {bare})"
    title = f"{leg.name}   {value_text(leg.peak, scale.quantity, scene.units)}"
    color = None
    if scene.quantity.has_curve:
        color = hex_color(scene.color_scale.colors([leg.peak])[0])
    anchor = _pair(camera.pixels(scene.point_at(_straight_middle(scene, leg, camera)))[0])
    return Chip(leg.name, "leg", title, " · ".join(parts), anchor, color=color)


def _straight_middle(scene: Scene, leg: LegTrace, camera: Camera) -> float:
    """Station of the middle of the straight of a leg that is seen longest.

    Middles of legs fall into bends, and a straight seen end on is a point.
    """
    line = scene.analysis.run.centerline
    best, place = 0.0, (leg.start_m + leg.end_m) / 2
    for start, end, segment in zip(
        line.stations_m[:-1], line.stations_m[1:], line.segments, strict=True
    ):
        low, high = max(start, leg.start_m), min(end, leg.end_m)
        if not isinstance(segment, Straight) or high <= low:
            continue
        ends = camera.pixels(np.array([scene.point_at(low), scene.point_at(high)]))
        seen = float(np.linalg.norm(ends[1] - ends[0]))
        if seen > best:
            best, place = seen, (low + high) / 2
    return place


def _pair(values: Floats) -> tuple[float, float]:
    return (float(values[0]), float(values[1]))
