"""Surfaces as plain arrays: tube, rings, boxes, discs; and shading baked into their colors.

Nothing here knows a graphics library. A surface is points, faces and one color a point. The
shading of the tube hangs on the angle round its own axis only, so that the color seen along its
middle is the exact color of the map in every attitude.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, cos, sin, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "SIDES",
    "Surface",
    "bake_tube",
    "band_surface",
    "box_edges",
    "box_surface",
    "disc_surface",
    "frames_along",
    "joined",
    "tube_caps",
    "tube_surface",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SIDES = 28
"""Sides of a tube."""

_GLOSS = 0.38  # strength of the stripe of light


@dataclass(frozen=True, slots=True)
class Surface:
    """A surface of triangles.

    Attributes
    ----------
    points_m : (n, 3) float
        Corners. [m]
    triangles : (m, 3) int
        Indices of corners, seen counter-clockwise from outside.
    normals : (n, 3) float
        Unit normals of the corners.
    colors : (n, 3) float
        Red, green and blue from 0 to 1.
    """

    points_m: Floats
    triangles: Ints
    normals: Floats
    colors: Floats


def frames_along(tangents: Floats) -> tuple[Floats, Floats]:
    """Return two unit vectors across each tangent, carried along without twist.

    Parameters
    ----------
    tangents : (n, 3) float
        Unit tangents in order.

    Returns
    -------
    (n, 3) float, (n, 3) float
        First and second cross vector; with the tangent they make a right-handed frame.
    """
    first = np.empty_like(tangents)
    t = tangents[0]
    seed = np.array([0.0, 0.0, 1.0]) if abs(t[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    vector = np.cross(t, seed)
    u = tuple(float(value) for value in vector / np.linalg.norm(vector))
    rows = tangents.tolist()
    last = rows[0]
    for index, now in enumerate(rows):
        u = _carried(u, last, now)
        first[index] = u
        last = now
    return first, np.cross(tangents, first)


def _carried(
    u: tuple[float, ...], before: list[float], after: list[float]
) -> tuple[float, float, float]:
    """Turn u by the smallest rotation that takes one tangent to the next."""
    ax = before[1] * after[2] - before[2] * after[1]
    ay = before[2] * after[0] - before[0] * after[2]
    az = before[0] * after[1] - before[1] * after[0]
    size = sqrt(ax * ax + ay * ay + az * az)
    if size < 1e-12:
        return (u[0], u[1], u[2])
    turn = before[0] * after[0] + before[1] * after[1] + before[2] * after[2]
    angle = acos(max(-1.0, min(1.0, turn)))
    ax, ay, az = ax / size, ay / size, az / size
    c, s = cos(angle), sin(angle)
    along = (ax * u[0] + ay * u[1] + az * u[2]) * (1 - c)
    return (
        u[0] * c + (ay * u[2] - az * u[1]) * s + ax * along,
        u[1] * c + (az * u[0] - ax * u[2]) * s + ay * along,
        u[2] * c + (ax * u[1] - ay * u[0]) * s + az * along,
    )


def tube_surface(
    points_m: Floats, tangents: Floats, radius_m: float, colors: Floats, sides: int = SIDES
) -> Surface:
    """Return an open tube round a line of points.

    Parameters
    ----------
    points_m, tangents : (n, 3) float
        Samples of the axis and unit tangents; equal neighbors give a sharp change of color.
    radius_m : float
        Radius. [m]
    colors : (n, 3) float
        Color at each sample.
    sides : int
        Sides of the tube.
    """
    first, second = frames_along(tangents)
    angle = np.arange(sides) * (2 * np.pi / sides)
    normals = (
        np.cos(angle)[None, :, None] * first[:, None, :]
        + np.sin(angle)[None, :, None] * second[:, None, :]
    )
    points = (points_m[:, None, :] + radius_m * normals).reshape(-1, 3)
    count = len(points_m)
    ring = np.arange(count - 1)[:, None] * sides
    here = np.arange(sides)[None, :]
    ahead = (np.arange(sides) + 1)[None, :] % sides
    a, b, c, d = ring + here, ring + ahead, ring + sides + ahead, ring + sides + here
    triangles = np.concatenate(
        [np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([a, c, d], axis=-1).reshape(-1, 3)]
    )
    return Surface(points, triangles, normals.reshape(-1, 3), np.repeat(colors, sides, axis=0))


def band_surface(
    centers_m: Floats,
    tangents: Floats,
    width_m: float,
    radius_m: float,
    color: Floats,
    sides: int = SIDES,
) -> Surface:
    """Return many short bands round straight stretches as one surface.

    Parameters
    ----------
    centers_m, tangents : (n, 3) float
        Middles of the bands and unit tangents. [m]
    width_m, radius_m : float
        Length along the tangent and radius. [m]
    color : (3,) float
        Color of all.
    sides : int
        Sides of a band.
    """
    upright = np.abs(tangents[:, 2:]) >= 0.9
    seed = np.where(upright, np.array([[1.0, 0.0, 0.0]]), np.array([[0.0, 0.0, 1.0]]))
    first = np.cross(tangents, seed)
    first /= np.linalg.norm(first, axis=1)[:, None]
    second = np.cross(tangents, first)
    angle = np.arange(sides) * (2 * np.pi / sides)
    normals = (
        np.cos(angle)[None, :, None] * first[:, None, :]
        + np.sin(angle)[None, :, None] * second[:, None, :]
    )
    half = 0.5 * width_m * tangents[:, None, :]
    rims = [centers_m[:, None, :] + sign * half + radius_m * normals for sign in (-1.0, 1.0)]
    points = np.stack(rims, axis=1).reshape(-1, 3)
    base = np.arange(len(centers_m))[:, None] * 2 * sides
    here, ahead = np.arange(sides)[None, :], (np.arange(sides) + 1)[None, :] % sides
    a, b, c, d = base + here, base + ahead, base + sides + ahead, base + sides + here
    triangles = np.concatenate(
        [np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([a, c, d], axis=-1).reshape(-1, 3)]
    )
    every = np.repeat(normals[:, None], 2, axis=1).reshape(-1, 3)
    return Surface(points, triangles, every, np.tile(color, (len(points), 1)))


def tube_caps(points_m: Floats, tangents: Floats, radius_m: float, colors: Floats) -> Surface:
    """Return the two discs that close a tube.

    Parameters
    ----------
    points_m, tangents : (n, 3) float
        Samples of its axis and unit tangents. [m]
    radius_m : float
        Its radius. [m]
    colors : (n, 3) float
        Color at each sample, of which the first and the last are taken.
    """
    angle = np.arange(SIDES) * (2 * np.pi / SIDES)
    ends = []
    for index, outward in ((0, -1.0), (len(points_m) - 1, 1.0)):
        first, second = frames_along(tangents[index : index + 1])
        rim = points_m[index] + radius_m * (
            np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second
        )
        ends.append(_fan(points_m[index], rim, outward * tangents[index], colors[index]))
    return joined(tuple(ends))


def _fan(center: Floats, rim: Floats, normal: Floats, color: Floats) -> Surface:
    points = np.concatenate([center[None, :], rim])
    here = np.arange(len(rim)) + 1
    ahead = (np.arange(len(rim)) + 1) % len(rim) + 1
    triangles = np.stack([np.zeros(len(rim), dtype=np.int64), here, ahead], axis=-1)
    turn = np.cross(rim[0] - center, rim[1] - center) @ normal
    if turn < 0:
        triangles = triangles[:, [0, 2, 1]]
    count = len(points)
    return Surface(points, triangles, np.tile(normal, (count, 1)), np.tile(color, (count, 1)))


def joined(surfaces: tuple[Surface, ...]) -> Surface:
    """Return several surfaces as one."""
    offsets = np.cumsum([0, *(len(surface.points_m) for surface in surfaces[:-1])])
    return Surface(
        np.concatenate([surface.points_m for surface in surfaces]),
        np.concatenate([s.triangles + o for s, o in zip(surfaces, offsets, strict=True)]),
        np.concatenate([surface.normals for surface in surfaces]),
        np.concatenate([surface.colors for surface in surfaces]),
    )


def bake_tube(surface: Surface, tangents: Floats, toward: Floats, up: Floats) -> Surface:
    """Return a tube with light and shade in its colors, for one direction of view.

    The full color of the map stands where the surface faces the viewer; it darkens toward both
    edges, a little more on the lower one, and carries a soft stripe of gloss on the upper side.

    Parameters
    ----------
    surface : Surface
        Tube from `tube_surface` without caps, or rings of the same make.
    tangents : (n, 3) float
        Unit tangent of the axis at each corner of the surface.
    toward, up : (3,) float
        Unit vectors to the viewer and up in the picture.
    """
    along = tangents @ toward
    facing = toward[None, :] - along[:, None] * tangents
    size = np.linalg.norm(facing, axis=1)
    facing = np.where((size > 1e-6)[:, None], facing / np.maximum(size, 1e-6)[:, None], up)
    across = np.cross(tangents, facing)
    # the upper side in the picture; of an upright tube the left one
    lift = across @ up - 0.25 * (across @ np.cross(up, toward))
    across = across * np.where(lift < 0, -1.0, 1.0)[:, None]
    front = np.clip(np.einsum("ij,ij->i", surface.normals, facing), 0.0, 1.0)
    side = np.einsum("ij,ij->i", surface.normals, across)
    body = (0.60 + 0.40 * front**0.75) * (1.0 + 0.10 * side)
    colors = np.clip(surface.colors * body[:, None], 0.0, 1.0)
    stripe = _GLOSS * np.exp(-(((side - 0.42) / 0.13) ** 2)) * (front > 0)
    colors = colors + (1.0 - colors) * stripe[:, None]
    return Surface(surface.points_m, surface.triangles, surface.normals, colors)


_FACES = (
    ((1, 3, 7, 5), 0, 1.0),
    ((0, 4, 6, 2), 0, -1.0),
    ((2, 6, 7, 3), 1, 1.0),
    ((0, 1, 5, 4), 1, -1.0),
    ((4, 5, 7, 6), 2, 1.0),
    ((0, 2, 3, 1), 2, -1.0),
)
_EDGES = (
    (0, 1), (2, 3), (4, 5), (6, 7), (0, 2), (1, 3), (4, 6), (5, 7), (0, 4), (1, 5), (2, 6), (3, 7),
)  # fmt: skip


def _corners(center_m: Floats, axes: Floats, size_m: Floats) -> Floats:
    signs = np.array([[x, y, z] for z in (-1, 1) for y in (-1, 1) for x in (-1, 1)], dtype=float)
    return center_m + (signs * size_m / 2) @ axes


def box_surface(
    center_m: ArrayLike, axes: ArrayLike, size_m: ArrayLike, color: Floats, toward: Floats
) -> Surface:
    """Return a box with shade in its colors: its top lightest, its faces by how they are seen.

    Parameters
    ----------
    center_m : (3,) float
        Its middle. [m]
    axes : (3, 3) float
        Unit vectors along its length, width and height, one a row.
    size_m : (3,) float
        Length, width and height. [m]
    color : (3,) float
        Its own color.
    toward : (3,) float
        Unit vector to the viewer.
    """
    axes_ = np.asarray(axes, dtype=float)
    corners = _corners(np.asarray(center_m, dtype=float), axes_, np.asarray(size_m, dtype=float))
    faces = []
    light = toward + np.array([0.0, 0.0, 0.9])
    light /= np.linalg.norm(light)
    for order, axis, sign in _FACES:
        normal = sign * axes_[axis]
        shade = 0.84 + 0.18 * max(float(normal @ light), 0.0)
        points = corners[list(order)]
        faces.append(
            Surface(
                points,
                np.array([[0, 1, 2], [0, 2, 3]]),
                np.tile(normal, (4, 1)),
                np.tile(np.clip(color * shade, 0, 1), (4, 1)),
            )
        )
    return joined(tuple(faces))


def box_edges(center_m: ArrayLike, axes: ArrayLike, size_m: ArrayLike) -> Floats:
    """Return the 12 edges of a box as pairs of points, shape (12, 2, 3). [m]"""
    corners = _corners(
        np.asarray(center_m, dtype=float),
        np.asarray(axes, dtype=float),
        np.asarray(size_m, dtype=float),
    )
    return np.array([[corners[i], corners[j]] for i, j in _EDGES])


def disc_surface(center_m: ArrayLike, radius_m: float, color: Floats) -> Surface:
    """Return a level disc, seen from above."""
    center = np.asarray(center_m, dtype=float)
    angle = np.arange(SIDES) * (2 * np.pi / SIDES)
    rim = center + radius_m * np.stack([np.cos(angle), np.sin(angle), np.zeros(SIDES)], axis=-1)
    return _fan(center, rim, np.array([0.0, 0.0, 1.0]), color)
