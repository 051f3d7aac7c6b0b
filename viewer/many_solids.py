"""All runs as plain surfaces, as one camera sees them: still nothing drawn."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viewer.camera import Camera
from viewer.floor import Floor, bake_floor
from viewer.many import ManyScene, RunRow
from viewer.meshes import Surface, bake_tube, band_surface, joined, tube_surface
from viewer.palette import Theme, rgb
from viewer.solids import Solids

__all__ = ["RADIUS_UNITS", "many_radius", "many_solids", "shaded_again"]

Floats = NDArray[np.float64]

RADIUS_UNITS = 2.6
"""Drawn radius of the tubes. [unit]"""

_SIDES = 8
_OUTLINE_UNITS = 0.9
_RING_PITCH_UNITS = 9.0
_RING_UNITS = 2.0


def many_radius(camera: Camera, unit_px: float) -> float:
    """Return the drawn radius of the tubes. [m]"""
    return RADIUS_UNITS * camera.m_per_px * unit_px


def many_solids(
    scene: ManyScene, camera: Camera, unit_px: float, theme: Theme, floor: Floor | None = None
) -> Solids:
    """Return the surfaces of all runs as one camera sees them.

    Parameters
    ----------
    scene : ManyScene
        All runs.
    camera : Camera
        Where they are seen from: widths on screen and baked shading hang on it.
    unit_px : float
        Pixels of one drawing unit.
    theme : Theme
        Neutral colors.
    floor : Floor, optional
        A floor baked before for the same runs and scale, used again.
    """
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
    """Return the colors of the tubes for another direction of view, shape (n, 3).

    Parameters
    ----------
    surface : Surface
        The tubes that `many_solids` made of the scene, n corners.
    scene : ManyScene
        All runs.
    camera : Camera
        The new direction.
    theme : Theme
        Neutral colors.
    """
    tangents = np.concatenate([np.repeat(row.tangents, _SIDES, axis=0) for row in scene.rows])
    flat = np.concatenate(
        [np.tile(row.color(theme), (len(row.points_m) * _SIDES, 1)) for row in scene.rows]
    )
    plain = Surface(surface.points_m, surface.triangles, surface.normals, flat)
    return bake_tube(plain, tangents, camera.toward, camera.up).colors
