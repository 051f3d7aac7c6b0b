"""The run's shape for the page: points and frames of the tube, floor, boxes, marks, two cameras.

Everything is plain numbers. The page's script builds surfaces from them as wide as its window
needs; plotly draws them without light, so that a color keeps its meaning from every side.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Straight
from analyzer.units import show_length
from viewer.camera import Camera
from viewer.canvas import Canvas
from viewer.floor import Floor
from viewer.image import camera_for, text_unit_for
from viewer.meshes import box_surface, frames_along
from viewer.overlay import MOST_NAMED_BENDS
from viewer.page_legs import Cells
from viewer.page_units import PageUnits
from viewer.palette import Theme, hex_color, rgb
from viewer.scene import Scene
from viewer.solids import Box, boxes_of, build_solids, drawn_radius

__all__ = ["SIZES", "scene_values"]

Floats = NDArray[np.float64]

SIZES = {"wide": (1060, 560), "narrow": (390, 360)}
"""Sizes of the view the cameras are searched for; the page fits the nearer one to its window."""

_NARROW_PX = 700


def scene_values(scene: Scene, cells: Cells, units: PageUnits, theme: Theme) -> dict[str, Any]:
    """Return the shape of a scene as plain values, lengths of the shape in metres.

    Parameters
    ----------
    scene : Scene
        What is shown.
    cells : Cells
        The run cut into cells.
    units : PageUnits
        What people see; stations of marks are in its lengths.
    theme : Theme
        Neutral colors.
    """
    line = scene.analysis.run.centerline
    edges = cells.edges_m
    inner = np.clip(edges, 1e-7, line.length_m - 1e-7)
    points, tangents = line.points_at(edges), line.tangents_at(inner)
    first, second = frames_along(tangents)
    views = {name: _view(scene, name, theme) for name in SIZES}
    reach = _reach(views, points)
    return {
        "points": _rows(points, 4),
        "first": _rows(first, 4),
        "second": _rows(second, 4),
        "views": views,
        "narrow_below": _NARROW_PX,
        "floor": _floor(scene, points, max(view["m_per_px"] for view in views.values())),
        "reach": reach,
        "grid": f"grid {show_length(scene.grid_m, scene.units).replace('.0 ', ' ')}",
        "bends": [
            {
                "name": bend.name,
                "title": bend.title,
                "detail": bend.detail,
                "point": _row(bend.point_m, 4),
                "outward": _row(bend.outward, 3),
                "stations": [units.length(bend.station_m), units.length(bend.end_station_m)],
            }
            for bend in scene.bends
        ],
        "named_bends": len(scene.bends) <= MOST_NAMED_BENDS,
        "straights": _straights(scene, units),
    }


def _row(values: Any, decimals: int) -> list[float]:
    return [round(float(value), decimals) + 0.0 for value in values]


def _rows(values: Floats, decimals: int) -> list[list[float]]:
    return [_row(row, decimals) for row in values]


def _view(scene: Scene, name: str, theme: Theme) -> dict[str, Any]:
    """One camera with what hangs on its scale: radius of the tube, boxes, drop lines."""
    width, height = SIZES[name]
    unit = max(width / 1280, 0.62)
    canvas = Canvas(width, height, theme, unit, text_unit_for(width))
    camera = camera_for(scene, width, height, canvas, brief=name == "narrow")
    radius = drawn_radius(scene, camera.m_per_px * unit)
    blank = Floor(np.zeros(2), np.ones(2), scene.floor_m, np.zeros((1, 1, 3), dtype=np.uint8))
    drops = build_solids(scene, camera, unit, theme, None, radius, blank).drops
    return {
        "width": width,
        "height": height,
        "azimuth": camera.azimuth_deg,
        "elevation": camera.elevation_deg,
        "focus": _row(camera.focus_m, 4),
        "m_per_px": camera.m_per_px,
        "radius": radius,
        "boxes": [_box(scene, box, camera, theme) for box in boxes_of(scene, radius)],
        "drops": [[_row(top, 4), _row(bottom, 4)] for top, bottom in drops],
    }


def _box(scene: Scene, box: Box, camera: Camera, theme: Theme) -> dict[str, Any]:
    surface = box_surface(box.center_m, box.axes, box.size_m, rgb(theme.equipment), camera.toward)
    names = [mark.name for mark in scene.fittings]
    return {
        "fitting": names.index(box.name),
        "center": _row(box.center_m, 4),
        "half": _rows(box.axes * (box.size_m / 2)[:, None], 4),
        "points": _rows(surface.points_m, 4),
        "triangles": surface.triangles.tolist(),
        "colors": [hex_color(color) for color in surface.colors],
    }


def _reach(views: dict[str, dict[str, Any]], points: Floats) -> float:
    """Half the size of the cube that holds everything drawn, round any of the focuses. [m]"""
    size = float(np.linalg.norm(np.ptp(points, axis=0)))
    across = max(view["m_per_px"] * view["width"] for view in views.values())
    return round(2.0 * (size + float(across)), 3)


def _floor(scene: Scene, points: Floats, m_per_px: float) -> dict[str, Any]:
    """Return the floor's rectangle and where its grid lines run. [m]"""
    reach = max(120 * m_per_px, 2.0 * scene.grid_m)
    low, high = points[:, :2].min(axis=0) - reach, points[:, :2].max(axis=0) + reach
    lines = []
    for axis in (0, 1):
        first = np.ceil(low[axis] / scene.grid_m) * scene.grid_m
        for value in np.arange(first, high[axis], scene.grid_m):
            lines.append([axis, round(float(value), 4)])
    return {
        "low": _row(low, 4),
        "high": _row(high, 4),
        "z": round(scene.floor_m, 4),
        "fade": round(0.75 * reach, 4),
        "step": round(scene.grid_m, 6),
        "lines": lines,
    }


def _straights(scene: Scene, units: PageUnits) -> list[dict[str, Any]]:
    """Straights, which carry the arrowheads of the pull."""
    line = scene.analysis.run.centerline
    return [
        {
            "stations": [units.length(start), units.length(start + segment.length_m)],
            "from": _row(segment.start_m, 4),
            "to": _row(segment.end_m, 4),
        }
        for start, segment in zip(line.stations_m[:-1], line.segments, strict=True)
        if isinstance(segment, Straight)
    ]
