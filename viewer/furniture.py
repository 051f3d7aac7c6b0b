"""Scale bar and triad of a view: where they stand on free ground, and how they are drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analyzer.units import UnitSystem, ft, inches
from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.ground import step_text
from viewer.labels import Rect

__all__ = [
    "Arm",
    "Ground",
    "ScaleBar",
    "bar_block",
    "draw_scale_bar",
    "draw_triad",
    "flat_bar",
    "floor_bar",
    "triad_arms",
    "triad_place",
]

Floats = NDArray[np.float64]

_LEAST_BAR = 26.0
_SLOPE = 0.05
_LABEL_ROOM = 110.0  # units a label takes up beside what it names
_CROWDED = 0.3


@dataclass(frozen=True, slots=True)
class Ground:
    """What a bar on the floor needs to know: samples of the run, the floor and its grid. [m]"""

    points_m: Floats
    floor_m: float
    grid_m: float
    units: UnitSystem


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """A bar of two equal parts: its three picture points, shape (3, 2), and their texts. [px]"""

    points: Floats
    half: str
    whole: str

    def moved(self, shift: Floats) -> ScaleBar:
        """Return the bar at another place."""
        return replace(self, points=self.points + shift)


def _free(mask: NDArray[np.bool_], rect: Rect) -> bool:
    left, top, right, bottom = (round(value) for value in rect)
    if left < 0 or top < 0 or right > mask.shape[1] or bottom > mask.shape[0]:
        return False
    return not mask[top:bottom, left:right].any()


def triad_place(
    canvas: Canvas, camera: Camera, taken: NDArray[np.bool_]
) -> tuple[float, float] | None:
    """Return the middle of the triad: lower left, else another corner that is free; else None."""
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


def floor_bar(
    canvas: Canvas,
    ground: Ground,
    camera: Camera,
    taken: NDArray[np.bool_],
    anchors: Floats | None = None,
) -> ScaleBar | None:
    """Return a bar lying on the floor in front of the run; None where no floor is free.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    ground : Ground
        The run, the floor under it and its grid.
    camera : Camera
        Where it is seen from; from nearly the height of the floor no bar lies on it.
    taken : (height, width) bool
        Pixels of the view where it must not lie.
    anchors : (n, 2) float, optional
        Points round which it leaves room for the labels that belong there. [px]
    """
    if abs(float(camera.toward[2])) < _SLOPE:
        return None
    step = ground.grid_m
    while step / camera.m_per_px < _LEAST_BAR * canvas.text_unit:
        step = 2 * step
    half, whole, grid = (step_text(m, ground.units) for m in (step, 2 * step, ground.grid_m))
    if half.split()[1] == whole.split()[1]:
        half = half.split()[0]
    bar = ScaleBar(np.empty((0, 2)), half, f"{whole}  (grid {grid})")
    east = np.array([1.0, 0.0, 0.0])
    axis = east if abs(camera.right[0]) >= 0.5 else np.array([0.0, 1.0, 0.0])
    axis = axis if axis @ camera.right > 0 else -axis
    shadow = ground.points_m.copy()
    shadow[:, 2] = ground.floor_m
    feet = camera.pixels(shadow)
    best: tuple[float, ScaleBar] | None = None
    for y in np.linspace(0.25, 0.95, 15) * camera.height:
        for x in np.linspace(0.08, 0.85, 24) * camera.width:
            start = camera.on_plane(x, y, ground.floor_m)
            pixels = camera.pixels(np.array([start, start + step * axis, start + 2 * step * axis]))
            here = replace(bar, points=pixels)
            if not _free(taken, bar_block(canvas, here)):
                continue
            away = float(np.linalg.norm(feet - pixels[1], axis=1).min())
            below = float(feet[:, 1].max() - pixels[1, 1]) / camera.height
            cost = away / camera.width + 0.6 * max(below, 0.0)
            cost += 0.25 * abs(float(pixels[1, 0]) / camera.width - 0.45)
            if anchors is not None and len(anchors):
                gap = _gap(bar_block(canvas, here), anchors) / (_LABEL_ROOM * canvas.text_unit)
                cost += _CROWDED * max(0.0, 1.0 - gap)
            if best is None or cost < best[0]:
                best = (cost, here)
    return None if best is None else best[1]


def _gap(rect: Rect, points: Floats) -> float:
    """Return the distance from a rectangle to the nearest of some points. [px]"""
    low, high = np.array(rect[:2]), np.array(rect[2:])
    return float(np.linalg.norm(points - np.clip(points, low, high), axis=1).min())


def flat_bar(
    canvas: Canvas, units: UnitSystem, camera: Camera, taken: NDArray[np.bool_]
) -> ScaleBar | None:
    """Return a bar true for lengths across the view; None where no room is for it.

    Parameters
    ----------
    canvas : Canvas
        Measures the letters.
    units : UnitSystem
        How its lengths are written.
    camera : Camera
        The view and its scale.
    taken : (height, width) bool
        Pixels of the view where it must not lie.
    """
    step, half, whole = _flat_step(45 * canvas.text_unit * camera.m_per_px, units)
    long = step / camera.m_per_px
    bar = ScaleBar(np.empty((0, 2)), half, f"{whole} across the view")
    for y in (0.94, 0.88, 0.8, 0.1, 0.2):
        for x in (0.68, 0.55, 0.4, 0.28, 0.14, 0.05):
            at = np.array([x * camera.width, y * camera.height])
            here = replace(bar, points=at + np.array([[0.0, 0.0], [long, 0.0], [2 * long, 0.0]]))
            if _free(taken, bar_block(canvas, here)):
                return here
    return None


def _flat_step(wanted_m: float, units: UnitSystem) -> tuple[float, str, str]:
    """Return a round length near the one wanted, and the texts of it and of twice as much. [m]"""
    tens = [s * 10.0**p for p in range(-2, 5) for s in (1, 2, 5)]
    if units is UnitSystem.US:
        small = (inches(1.0), "in", [0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2, 3, 6])
        large = (ft(1.0), "ft", [s for s in tens if s >= 1])
    else:
        small = (0.001, "mm", [s for s in tens if s < 1000])
        large = (1.0, "m", [s for s in tens if s >= 1])
    steps = [(size * unit, size, name) for unit, name, sizes in (small, large) for size in sizes]
    step, size, name = min(steps, key=lambda item: abs(np.log(item[0] / wanted_m)))
    return step, f"{size:g}", f"{2 * size:,g} {name}"


def bar_block(canvas: Canvas, bar: ScaleBar) -> Rect:
    """Return the rectangle that holds a scale bar and its letters. [px]"""
    u, pixels = canvas.text_unit, bar.points
    width, _ = canvas.text_size(bar.whole, 7.2)
    return (
        float(pixels[:, 0].min()) - 12 * u,
        float(pixels[:, 1].min()) - 10 * u,
        float(pixels[2, 0]) + width + 4 * u,
        float(pixels[:, 1].max()) + 20 * u,
    )


def draw_scale_bar(canvas: Canvas, bar: ScaleBar) -> None:
    """Draw a scale bar."""
    theme, u, pixels = canvas.theme, canvas.text_unit, bar.points
    canvas.line(pixels[[0, 2]], 4.2, theme.ink, layer=6, round_ends=False)
    canvas.line(
        np.array([pixels[1] * 0.985 + pixels[2] * 0.015, pixels[2] * 0.985 + pixels[1] * 0.015]),
        2.4,
        theme.ground,
        layer=6.1,
        round_ends=False,
    )
    for point, label in ((pixels[0], "0"), (pixels[1], bar.half)):
        canvas.text(
            point[0], point[1] + 14 * u, label, 7.2, color=theme.muted, align="center", layer=7
        )
    canvas.text(pixels[2, 0], pixels[2, 1] + 14 * u, bar.whole, 7.2, color=theme.muted, layer=7)


@dataclass(frozen=True, slots=True)
class Arm:
    """One arm of the triad: ends and middle of its letters, from the triad's middle. [px]"""

    name: str
    start: Floats
    end: Floats
    letters: Floats


_AXES = {"N": (0.0, 1.0, 0.0), "E": (1.0, 0.0, 0.0), "Up": (0.0, 0.0, 1.0)}
_ARM, _LEAST_ARM, _HEAD = 30.0, 5.0, 5.0  # units: length, least seen, arrowhead beyond the end
_TURNS = (0, 25, -25, 50, -50, 75, -75, 100, -100, 130, -130)  # degrees off the arm, for letters
_ASIDE = (0.0, -20.0, 20.0, -30.0, 30.0)  # units beside the level arms, for the upright one
_NEAR_ARM = np.cos(np.radians(25.0))


def triad_arms(
    camera: Camera, unit_px: float, sizes: Mapping[str, tuple[float, float]]
) -> list[Arm]:
    """Return the arms of north, east and up in their true lengths, no letters over one another.

    Letters stand at the end of their arm, or turned about it where an arm or other letters are
    in the way; up stands beside the level arms where it would lie along one of them. An arm seen
    end on is left out.

    Parameters
    ----------
    camera : Camera
        For the directions.
    unit_px : float
        Pixels of a unit of letters.
    sizes : mapping
        Width and height of the letters of each arm. [px]
    """
    u = unit_px
    offsets = {
        name: np.array([axis @ camera.right, -(axis @ camera.up)]) * _ARM * u
        for name, axis in ((name, np.array(axis)) for name, axis in _AXES.items())
    }
    offsets = {n: way for n, way in offsets.items() if np.linalg.norm(way) >= _LEAST_ARM * u}
    level = {name: (np.zeros(2), way) for name, way in offsets.items() if name != "Up"}
    found: list[Arm] = []
    for name, way in offsets.items():
        ahead = way / np.linalg.norm(way)
        along = any(
            ahead @ other[1] > _NEAR_ARM * np.linalg.norm(other[1]) for other in level.values()
        )
        shifts = (0.0,) if name in level else _ASIDE[1:] if along else _ASIDE
        arms = [
            Arm(name, start, start + way, start + way + _turned(ahead, turn) * far * u)
            for start in (np.array([shift * u, 0.0]) for shift in shifts)
            for turn in _TURNS
            for far in ((14.0,) if name == "N" else (10.0, 13.0))
        ]
        others = [line for key, line in level.items() if key != name]
        free = (arm for arm in arms if _stands_free(arm, found, others, sizes, u))
        found.append(next(free, arms[0]))
    return found


def _turned(way: Floats, degrees: float) -> Floats:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([c * way[0] - s * way[1], s * way[0] + c * way[1]])


def _stands_free(
    arm: Arm,
    placed: Sequence[Arm],
    lines: Sequence[tuple[Floats, Floats]],
    sizes: Mapping[str, tuple[float, float]],
    u: float,
) -> bool:
    """Whether letters and line of an arm keep clear of other letters and arms."""
    half = np.array(sizes[arm.name]) / 2 + 1.5 * u
    if any(_runs_through(line, arm.letters, half, u) for line in (*lines, (arm.start, arm.end))):
        return False
    for other in placed:
        room = np.array(sizes[other.name]) / 2 + 1.5 * u
        if (np.abs(arm.letters - other.letters) < half + room + u).all():
            return False
        if _runs_through((arm.start, arm.end), other.letters, room, u):
            return False
    return True


def _runs_through(line: tuple[Floats, Floats], middle: Floats, half: Floats, u: float) -> bool:
    """Whether an arm with its arrowhead meets a rectangle."""
    start, end = line
    way = end - start
    share = np.linspace(0.0, 1.0 + _HEAD * u / float(np.linalg.norm(way)), 40)
    points = start + share[:, None] * way
    return bool((np.abs(points - middle) < half).all(axis=1).any())


def draw_triad(canvas: Canvas, camera: Camera, middle: Floats) -> None:
    """Draw the directions of north, east and up round a point, in their true lengths."""
    theme, u = canvas.theme, canvas.text_unit
    sizes = {name: canvas.text_size(name, _points(name), name == "N") for name in _AXES}
    for arm in triad_arms(camera, u, sizes):
        strong = arm.name == "N"
        start, end, letters = (middle + place for place in (arm.start, arm.end, arm.letters))
        color = theme.ink if strong else theme.muted
        canvas.line([start, end], 2.0 if strong else 1.0, color, layer=7)
        if strong:
            ahead = (end - start) / np.linalg.norm(end - start)
            across = np.array([-ahead[1], ahead[0]])
            head = [
                end + _HEAD * u * ahead,
                end - 3 * u * ahead + 4 * u * across,
                end - 3 * u * ahead - 4 * u * across,
            ]
            canvas.polygon(head, color, layer=7)
        canvas.text(
            letters[0],
            letters[1],
            arm.name,
            _points(arm.name),
            bold=strong,
            color=color,
            align="center",
            upright="center",
            layer=7,
        )
    canvas.disc(middle[0], middle[1], 2.2, theme.ink, layer=7.1)


def _points(name: str) -> float:
    return 8.0 if name == "N" else 7.2
