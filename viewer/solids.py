"""What a scene looks like from one camera, as plain surfaces and lines: still nothing drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.boxes import Box, boxes_of
from viewer.camera import Camera
from viewer.floor import Floor, bake_floor
from viewer.head import Head, colors_to_head, legs_to_head
from viewer.meshes import (
    SIDES,
    Surface,
    bake_tube,
    box_edges,
    box_surface,
    disc_surface,
    joined,
    tube_caps,
    tube_surface,
)
from viewer.palette import Theme, rgb
from viewer.scene import Scene, raceway_radius
from viewer.traces import LegTrace

__all__ = [
    "ARROW_UNITS",
    "Arrow",
    "Solids",
    "arrows_of",
    "as_drawn",
    "build_solids",
    "drawn_radius",
    "draws_true",
    "true_radius",
    "tube_of",
    "tube_radius",
]

Floats = NDArray[np.float64]

ARROW_UNITS = 60.0
"""Distance of arrowheads along the run. [unit]"""

_RADIUS_UNITS = 5.2
_LEAST_RADIUS_UNITS = 3.0
_RING_PITCH_UNITS = 11.0
_RING_UNITS = 2.0
_OUTLINE_UNITS = 1.15
_OUTLINE_SHARE = 0.5  # of the tube's radius at most, or a thin tube is all outline
_THINNEST_UNITS = 0.5  # radius below which no color can be told
_THIN_M = 0.03


@dataclass(frozen=True, slots=True)
class Arrow:
    """One arrowhead of the pull: its leg, station, place and unit direction. [m]

    `value` is the quantity in color there.
    """

    leg: str
    station_m: float
    point_m: Floats
    direction: Floats
    value: float


@dataclass(frozen=True, slots=True)
class Solids:
    """Everything a renderer needs.

    Attributes
    ----------
    tube, outline : Surface
        The run in its colors, and the larger dark tube seen behind it.
    rings : Surface or None
        Dark bands where tension is over the limit.
    boxes : Surface or None
        Fittings.
    edges : (n, 2, 3) float
        Their edges, as pairs of points. [m]
    drops : (n, 2, 3) float
        Drop lines. [m]
    dots : Surface or None
        Feet of the drop lines.
    floor : Floor
        Floor with grid and shadow.
    radius_m : float
        Drawn radius of the tube. [m]
    """

    tube: Surface
    outline: Surface
    rings: Surface | None
    boxes: Surface | None
    edges: Floats
    drops: Floats
    dots: Surface | None
    floor: Floor
    radius_m: float


def drawn_radius(scene: Scene, m_per_unit: float) -> float:
    """Return the drawn radius of the tube: wide enough to be seen, narrow enough to bend. [m]

    At most half the smallest bend radius, so that the inside of a bend does not fold over; on
    very long runs wide enough to show a color all the same. The raceway's own where that is at
    least as wide.
    """
    wanted = _RADIUS_UNITS * m_per_unit
    if scene.smallest_radius_m is not None:
        folding = 0.5 * scene.smallest_radius_m
        wanted = min(wanted, max(folding, _LEAST_RADIUS_UNITS * m_per_unit))
    return max(wanted, true_radius(scene)) if scene.job.raceway is not None else wanted


def draws_true(scene: Scene, m_per_unit: float) -> bool:
    """Return whether the tube is drawn at the raceway's own diameter, asked for or not."""
    if scene.job.raceway is None:
        return False
    return scene.true_diameter or true_radius(scene) >= drawn_radius(scene, m_per_unit)


def as_drawn(scene: Scene, m_per_unit: float) -> Scene:
    """Return the scene knowing how wide its tube comes out: true, or too thin to be so."""
    true = draws_true(scene, m_per_unit)
    thin = true and true_radius(scene) < _THINNEST_UNITS * m_per_unit
    return replace(scene, true_diameter=true, too_thin=thin)


def tube_radius(scene: Scene, m_per_unit: float, wide_m: float) -> float:
    """Return the radius of the tube where it would be drawn `wide_m` wide to be seen. [m]

    Where it is drawn at the raceway's own diameter, that, but never too thin to tell its color.
    """
    if not scene.true_diameter:
        return wide_m
    return min(
        max(true_radius(scene), _THINNEST_UNITS * m_per_unit), max(wide_m, true_radius(scene))
    )


def true_radius(scene: Scene) -> float:
    """Return the outside radius of the raceway; a tenth of a bend's where none is named. [m]"""
    radius = raceway_radius(scene.job)
    if radius is not None:
        return radius
    return 0.1 * scene.smallest_radius_m if scene.smallest_radius_m is not None else _THIN_M


def arrows_of(scene: Scene, camera: Camera, unit_px: float, radius_m: float) -> tuple[Arrow, ...]:
    """Return the arrowheads: along straights, clear of bends and boxes.

    Parameters
    ----------
    scene : Scene
        The run.
    camera : Camera
        How long a straight is seen tells how many it bears.
    unit_px : float
        Pixels of one drawing unit.
    radius_m : float
        Drawn radius of the tube. [m]
    """
    m_per_unit = camera.m_per_px * unit_px
    found = []
    for leg in scene.legs:
        clear = 5.5 * radius_m
        stops = [leg.start_m + clear, leg.end_m - clear]
        for bend in scene.bends:
            if leg.start_m < bend.end_station_m and bend.station_m < leg.end_m:
                stops += [bend.station_m - radius_m, bend.end_station_m + radius_m]
        stops.sort()
        for low, high in zip(stops[::2], stops[1::2], strict=False):
            found += _arrows_between(leg, low, high, camera, m_per_unit)
    return tuple(found)


def _arrows_between(
    leg: LegTrace, low: float, high: float, camera: Camera, m_per_unit: float
) -> list[Arrow]:
    if high <= low:
        return []
    middle = int(np.searchsorted(leg.station_m, (low + high) / 2))
    tangent = leg.tangents[min(middle, len(leg.tangents) - 1)]
    seen = float(np.hypot(tangent @ camera.right, tangent @ camera.up))
    apparent = (high - low) * seen / m_per_unit
    if apparent < 26:
        return []
    count = max(1, round(apparent / ARROW_UNITS))
    sign = 1.0 if leg.direction.value == "forward" else -1.0
    arrows = []
    for index in range(count):
        station = low + (high - low) * (index + 0.5) / count
        point = _at(np.array([station]), leg.station_m, leg.points_m)[0]
        value = float(np.interp(station, leg.station_m, leg.values))
        arrows.append(Arrow(leg.name, station, point, sign * tangent, value))
    return arrows


def build_solids(
    scene: Scene,
    camera: Camera,
    unit_px: float,
    theme: Theme,
    head: Head | None = None,
    radius_m: float | None = None,
    floor: Floor | None = None,
) -> Solids:
    """Return the surfaces of a scene as one camera sees them.

    Parameters
    ----------
    scene : Scene
        What to draw.
    camera : Camera
        Where it is seen from: widths on screen and baked shading hang on it.
    unit_px : float
        Pixels of one drawing unit.
    theme : Theme
        Neutral colors.
    head : Head, optional
        The pulling head: raceway it has not reached is neutral.
    radius_m : float, optional
        Radius of the tube; by default wide enough to be seen. [m]
    floor : Floor, optional
        A floor baked before for the same run and scale, used again.
    """
    m_per_unit = camera.m_per_px * unit_px
    radius = drawn_radius(scene, m_per_unit) if radius_m is None else radius_m
    tube_m = tube_radius(scene, m_per_unit, radius)
    rim = min(_OUTLINE_UNITS * m_per_unit, _OUTLINE_SHARE * tube_m)
    outlines = []
    for leg, _ in legs_to_head(scene, head):
        dark = np.tile(rgb(theme.outline), (len(leg.station_m), 1))
        wide = tube_m + rim
        ahead = _stretched(leg, 0.8 * rim)
        outlines.append(
            joined(
                (
                    tube_surface(ahead, leg.tangents, wide, dark),
                    tube_caps(ahead, leg.tangents, wide, dark),
                )
            )
        )
    boxes = boxes_of(scene, radius)
    feet = _drop_feet(scene, radius)
    tops = np.array(feet).reshape(-1, 3)
    bottoms = tops.copy()
    bottoms[:, 2] = scene.floor_m + 0.05 * radius
    sides = [
        box_surface(box.center_m, box.axes, box.size_m, rgb(theme.equipment), camera.toward)
        for box in boxes
    ]
    lifted = 0.15 * m_per_unit * camera.toward
    edges = [box_edges(b.center_m, b.axes, b.size_m * 1.004) + lifted for b in boxes]
    color = rgb(theme.drop_line)
    discs = [disc_surface(foot, 1.6 * m_per_unit, color) for foot in bottoms]
    if floor is None:
        floor = bake_floor(
            scene.points_m,
            tuple(_footprint(box) for box in boxes),
            radius,
            scene.floor_m,
            scene.grid_m,
            m_per_unit,
            theme,
        )
    return Solids(
        tube=tube_of(scene, camera, tube_m, theme, head),
        outline=joined(tuple(outlines)),
        rings=_rings(scene, camera, unit_px, tube_m, theme, head),
        boxes=joined(tuple(sides)) if sides else None,
        edges=np.concatenate(edges) if edges else np.empty((0, 2, 3)),
        drops=np.stack([tops, bottoms], axis=1),
        dots=joined(tuple(discs)) if discs else None,
        floor=floor,
        radius_m=radius,
    )


def tube_of(
    scene: Scene, camera: Camera, radius_m: float, theme: Theme, head: Head | None = None
) -> Surface:
    """Return the run's tube in its colors, shaded for one camera.

    Parameters
    ----------
    scene : Scene
        The run.
    camera : Camera
        Where it is seen from.
    radius_m : float
        Radius of the tube. [m]
    theme : Theme
        Neutral colors.
    head : Head, optional
        The pulling head: raceway it has not reached is neutral.
    """
    return joined(
        tuple(
            _leg_tube(leg, radius_m, colors_to_head(scene, leg, passed, theme), camera)
            for leg, passed in legs_to_head(scene, head)
        )
    )


def _leg_tube(leg: LegTrace, radius: float, colors: Floats, camera: Camera) -> Surface:
    body = tube_surface(leg.points_m, leg.tangents, radius, colors)
    body = bake_tube(body, np.repeat(leg.tangents, SIDES, axis=0), camera.toward, camera.up)
    caps = tube_caps(leg.points_m, leg.tangents, radius, colors * 0.86)
    return joined((body, caps))


def _stretched(leg: LegTrace, by_m: float) -> Floats:
    points = leg.points_m.copy()
    points[0] -= by_m * leg.tangents[0]
    points[-1] += by_m * leg.tangents[-1]
    return points


def _rings(
    scene: Scene,
    camera: Camera,
    unit_px: float,
    radius: float,
    theme: Theme,
    head: Head | None = None,
) -> Surface | None:
    """Dark bands on every stretch over the limit, each resampled so that none gets lost."""
    if scene.color_scale.limit is None:
        return None
    m_per_unit = camera.m_per_px * unit_px
    pitch, width = _RING_PITCH_UNITS * m_per_unit, _RING_UNITS * m_per_unit
    arrows = arrows_of(scene, camera, unit_px, radius)
    made = []
    for leg, passed in legs_to_head(scene, head):
        near = np.array([a.station_m for a in arrows if a.leg == leg.name])
        for low, high in _over(leg, scene, passed):
            middles = np.arange(low + width / 2, high - width / 2 + 1e-12, pitch)
            if not len(middles) and high > low:
                middles = np.array([(low + high) / 2])
            for middle in middles:
                if len(near) and np.abs(near - middle).min() < 0.75 * pitch:
                    continue
                made.append(_ring(leg, middle, width, radius * 1.03, theme))
    return joined(tuple(made)) if made else None


def _over(leg: LegTrace, scene: Scene, passed: NDArray[np.bool_]) -> list[tuple[float, float]]:
    """Stretches of a leg above the limit that the head has passed. [m]"""
    over = np.concatenate([[False], scene.color_scale.over(leg.values) & passed, [False]]).astype(
        int
    )
    starts, ends = np.flatnonzero(np.diff(over) == 1), np.flatnonzero(np.diff(over) == -1) - 1
    return [
        (float(leg.station_m[a]), float(leg.station_m[b]))
        for a, b in zip(starts, ends, strict=True)
    ]


def _ring(leg: LegTrace, middle: float, width: float, radius: float, theme: Theme) -> Surface:
    """One band round the tube of a leg, wherever that is drawn: in space, or unrolled."""
    reach = middle + width * np.linspace(-0.5, 0.5, 5)
    stations = np.clip(reach, leg.start_m, leg.end_m)
    points, tangents = (_at(stations, leg.station_m, rows) for rows in (leg.points_m, leg.tangents))
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    color = np.tile(rgb(theme.ring), (len(stations), 1))
    return tube_surface(points, tangents, radius, color)


def _at(stations: Floats, known_m: Floats, rows: Floats) -> Floats:
    """Rows of three numbers between samples, shape (n, 3)."""
    return np.stack([np.interp(stations, known_m, column) for column in rows.T], axis=-1)


def _footprint(box: Box) -> Floats:
    half = box.size_m / 2
    base = box.center_m - half[2] * box.axes[2]
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return np.array(
        [base + a * half[0] * box.axes[0] + b * half[1] * box.axes[1] for a, b in signs]
    )


def _drop_feet(scene: Scene, radius: float) -> list[Floats]:
    """Places that get a drop line: bends and boxes that have air below them."""
    inner = [mark for mark in scene.fittings if mark.outward is None]
    places = [bend.point_m for bend in scene.bends] + [mark.point_m for mark in inner]
    run = scene.points_m
    kept = []
    for place in places:
        below = run[run[:, 2] < place[2] - 0.5 * radius]
        aside = np.hypot(below[:, 0] - place[0], below[:, 1] - place[1])
        if len(aside) and aside.min() < 2.6 * radius:
            continue
        if place[2] - scene.floor_m > 3 * radius:
            kept.append(place)
    return kept
