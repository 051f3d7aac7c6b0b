"""The run's shape for the page: points and frames of the tube, floor, boxes, marks, two cameras.

Everything is plain numbers, lengths from an origin near the run. The page's script builds surfaces
from them as wide as its window needs; plotly draws them without light, so that a color keeps its
meaning from every side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Straight
from viewer.boxes import Box, boxes_of
from viewer.camera import Camera, best_angles
from viewer.canvas import Canvas
from viewer.chips import MOST_NAMED_BENDS
from viewer.floor import Floor
from viewer.ground import step_text
from viewer.image import camera_for, text_unit_for
from viewer.meshes import box_surface, frames_along
from viewer.page_legs import Knots
from viewer.page_series import Series
from viewer.page_units import PageUnits
from viewer.palette import Theme
from viewer.scene import Scene
from viewer.solids import build_solids, drawn_radius, draws_true

__all__ = ["SIZES", "scene_values"]

Floats = NDArray[np.float64]

SIZES = {"wide": (1060, 560), "narrow": (390, 360)}
"""Sizes of the view the cameras are searched for; the page fits the nearer one to its window."""

_NARROW_PX = 700
_LEAST_BOX = 0.45


def scene_values(
    scene: Scene,
    knots: Knots,
    units: PageUnits,
    theme: Theme,
    series: Series,
    brief: bool = False,
) -> dict[str, Any]:
    """Return the shape of a scene as plain values, lengths of the shape in meters.

    Parameters
    ----------
    scene : Scene
        What is shown.
    knots : Knots
        The run's knots.
    units : PageUnits
        What people see; stations of marks are in its lengths.
    theme : Theme
        Neutral colors.
    series : Series
        Takes points and frames.
    brief : bool
        Search one camera for both sizes on few points: for pages with many runs.
    """
    line = scene.analysis.run.centerline
    stations = knots.stations_m
    inner = np.clip(stations, 1e-7, line.length_m - 1e-7)
    points, tangents = line.points_at(stations), line.tangents_at(inner)
    first, second = frames_along(tangents)
    origin = np.round([points[0, 0], points[0, 1], 0.0])
    angles = _angles(scene, points, tangents, stations) if brief else None
    views: dict[str, dict[str, Any]] = {}
    for name in SIZES:
        drops = views["wide"]["drops"] if brief and views else None
        views[name] = _view(scene, name, theme, origin, angles, drops)
    reach = _reach(views, points)
    return {
        "points": series.add(points - origin),
        "first": series.add(first),
        "second": series.add(second),
        "views": views,
        "narrow_below": _NARROW_PX,
        "floor": _floor(scene, points, max(view["m_per_px"] for view in views.values()), origin),
        "reach": reach,
        "grid": f"grid {step_text(scene.grid_m, scene.units)}",
        "bends": [
            {
                "name": bend.name,
                "title": bend.title,
                "detail": bend.detail,
                "point": _row(bend.point_m - origin, 4),
                "outward": _row(bend.outward, 3),
                "stations": _stations(bend.station_m, bend.end_station_m, units),
            }
            for bend in scene.bends
        ],
        "fittings": _rows(np.array([mark.point_m for mark in scene.fittings]) - origin, 4),
        "named_bends": len(scene.bends) <= MOST_NAMED_BENDS,
        "straights": _straights(scene, units, origin),
    }


def _angles(
    scene: Scene, points: Floats, tangents: Floats, stations: Floats
) -> tuple[float, float]:
    """Best angles searched on at most some fifty points of the run."""
    step = max(1, len(points) // 50)
    anchors = [bend.point_m for bend in scene.bends] + [points[0], points[-1]]
    turns = tuple((bend.before, bend.after) for bend in scene.bends)
    width, height = SIZES["wide"]
    return best_angles(
        points[::step], tangents[::step], stations[::step], np.array(anchors), turns,
        width / height, scene.feed_left,
    )  # fmt: skip


@lru_cache(maxsize=4)
def _canvas(name: str, theme: Theme) -> Canvas:
    width, height = SIZES[name]
    return Canvas(width, height, theme, _unit(name), text_unit_for(width))


def _unit(name: str) -> float:
    return max(SIZES[name][0] / 1280, 0.62)


def _stations(low_m: float, high_m: float, units: PageUnits) -> list[float]:
    return [round(units.length(low_m), 5), round(units.length(high_m), 5)]


def _row(values: Any, decimals: int) -> list[float]:
    return [round(float(value), decimals) + 0.0 for value in values]


def _rows(values: Floats, decimals: int) -> list[list[float]]:
    return [_row(row, decimals) for row in values]


def _view(
    scene: Scene,
    name: str,
    theme: Theme,
    origin: Floats,
    angles: tuple[float, float] | None,
    drops: list[list[list[float]]] | None,
) -> dict[str, Any]:
    """One camera with what hangs on its scale: radius of the tube, boxes, drop lines."""
    width, height = SIZES[name]
    unit, canvas = _unit(name), _canvas(name, theme)
    camera = camera_for(scene, width, height, canvas, brief=name == "narrow", angles=angles)
    radius = drawn_radius(scene, camera.m_per_px * unit)
    if drops is None:
        blank = Floor(np.zeros(2), np.ones(2), scene.floor_m, np.zeros((1, 1, 3), dtype=np.uint8))
        found = build_solids(scene, camera, unit, theme, None, radius, blank).drops
        drops = [_rows(drop - origin, 4) for drop in found]
    return {
        "width": width,
        "height": height,
        "azimuth": camera.azimuth_deg,
        "elevation": camera.elevation_deg,
        "focus": _row(np.array(camera.focus_m) - origin, 4),
        "m_per_px": camera.m_per_px,
        "radius": radius,
        "true": draws_true(scene, camera.m_per_px * unit),
        "boxes": [
            _box(scene, box, camera, origin) for box in _fitted(scene, boxes_of(scene, radius))
        ],
        "drops": drops,
    }


def _fitted(scene: Scene, boxes: Sequence[Box]) -> list[Box]:
    """Return the boxes, smaller where they stand so near one another that they hide the run."""
    stations = np.array([mark.station_m for mark in scene.fittings])
    gap = float(np.median(np.diff(stations)))
    found = []
    for box in boxes:
        part = min(1.0, max(0.4 * gap / float(np.max(box.size_m)), _LEAST_BOX))
        found.append(replace(box, size_m=box.size_m * part))
    return found


def _box(scene: Scene, box: Box, camera: Camera, origin: Floats) -> dict[str, Any]:
    # the shade alone: the page multiplies it by its theme's color
    surface = box_surface(box.center_m, box.axes, box.size_m, np.full(3, 0.5), camera.toward)
    names = [mark.name for mark in scene.fittings]
    return {
        "fitting": names.index(box.name),
        "center": _row(box.center_m - origin, 4),
        "half": _rows(box.axes * (box.size_m / 2)[:, None], 4),
        "points": _rows(surface.points_m - origin, 4),
        "triangles": surface.triangles.tolist(),
        "shades": _row(surface.colors[:, 0] / 0.5, 4),
    }


def _reach(views: dict[str, dict[str, Any]], points: Floats) -> float:
    """Half the size of the cube that holds everything drawn, round any of the focuses. [m]"""
    size = float(np.linalg.norm(np.ptp(points, axis=0)))
    across = max(view["m_per_px"] * view["width"] for view in views.values())
    return round(2.0 * (size + float(across)), 3)


def _floor(scene: Scene, points: Floats, m_per_px: float, origin: Floats) -> dict[str, Any]:
    """Return the floor's rectangle and where its grid lines run. [m]"""
    reach = max(120 * m_per_px, 2.0 * scene.grid_m)
    low, high = points[:, :2].min(axis=0) - reach, points[:, :2].max(axis=0) + reach
    lines = []
    for axis in (0, 1):
        first = np.ceil(low[axis] / scene.grid_m) * scene.grid_m
        for value in np.arange(first, high[axis], scene.grid_m):
            lines.append([axis, round(float(value - origin[axis]), 4)])
    return {
        "low": _row(low - origin[:2], 4),
        "high": _row(high - origin[:2], 4),
        "z": round(scene.floor_m, 4),
        "fade": round(0.75 * reach, 4),
        "step": round(scene.grid_m, 6),
        "lines": lines,
    }


def _straights(scene: Scene, units: PageUnits, origin: Floats) -> list[dict[str, Any]]:
    """Straights, which carry the arrowheads of the pull."""
    line = scene.analysis.run.centerline
    return [
        {
            "stations": _stations(start, start + segment.length_m, units),
            "from": _row(np.array(segment.start_m) - origin, 4),
            "to": _row(np.array(segment.end_m) - origin, 4),
        }
        for start, segment in zip(line.stations_m[:-1], line.segments, strict=True)
        if isinstance(segment, Straight)
    ]
