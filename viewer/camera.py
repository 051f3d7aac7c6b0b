"""The camera: parallel projection, searched so that the run is read best, fitted with margins.

Parallel projection keeps uprights upright and makes a scale on the floor true. World points go to
picture points by plain geometry here, which a test holds against the projection matrix of vtk.
Azimuth is where the camera stands, degrees counter-clockwise from east; elevation above level.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["PLAN", "Camera", "Margins", "best_angles", "fit_camera"]

_MOST_PAIRS = 400_000

PLAN = (-90.0, 90.0)
"""Azimuth and elevation of a plan, north up: straight down, so that uprights are points. [deg]"""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Margins:
    """Room kept round the run for labels, in pixels."""

    left: float
    right: float
    top: float
    bottom: float

    def free_height(self, height: float) -> float:
        """Return what they leave of a height. [px]"""
        return height - self.top - self.bottom


@dataclass(frozen=True, slots=True)
class Camera:
    """A parallel camera looking at a picture of `width` by `height` pixels.

    Attributes
    ----------
    azimuth_deg, elevation_deg : float
        Where it stands as seen from the run.
    focus_m : (3,) float
        World point in the middle of the picture. [m]
    m_per_px : float
        World length of one pixel, for lengths across the view. [m]
    width, height : int
        Size of the picture. [px]
    """

    azimuth_deg: float
    elevation_deg: float
    focus_m: tuple[float, float, float]
    m_per_px: float
    width: int
    height: int

    @property
    def toward(self) -> Floats:
        """Unit vector from the run to the camera."""
        return _basis(self.azimuth_deg, self.elevation_deg)[2]

    @property
    def up(self) -> Floats:
        """Unit vector that is up in the picture."""
        return _basis(self.azimuth_deg, self.elevation_deg)[1]

    @property
    def right(self) -> Floats:
        """Unit vector that is right in the picture."""
        return _basis(self.azimuth_deg, self.elevation_deg)[0]

    def pixels(self, points_m: ArrayLike) -> Floats:
        """Return picture points (x right, y down, from the top left) of world points.

        Parameters
        ----------
        points_m : (n, 3) float
            World points. [m]

        Returns
        -------
        (n, 2) float
            Picture points. [px]
        """
        offset = np.atleast_2d(np.asarray(points_m, dtype=float)) - np.asarray(self.focus_m)
        x = offset @ self.right / self.m_per_px + self.width / 2
        y = self.height / 2 - offset @ self.up / self.m_per_px
        return np.stack([x, y], axis=-1)

    def depths(self, points_m: ArrayLike) -> Floats:
        """Return how much nearer to the camera than the focus points are, shape (n,). [m]"""
        offset = np.atleast_2d(np.asarray(points_m, dtype=float)) - np.asarray(self.focus_m)
        return np.asarray(offset @ self.toward)

    def on_plane(self, x: float, y: float, elevation_m: float) -> Floats:
        """Return the world point at an elevation that is seen at a picture point, shape (3,)."""
        point = (
            np.asarray(self.focus_m)
            + (x - self.width / 2) * self.m_per_px * self.right
            + (self.height / 2 - y) * self.m_per_px * self.up
        )
        toward = self.toward
        return np.asarray(point + toward * (elevation_m - point[2]) / toward[2])


@lru_cache(maxsize=512)
def _basis(azimuth_deg: float, elevation_deg: float) -> tuple[Floats, Floats, Floats]:
    """Right, up and toward-the-camera of a direction of view; arrays that cannot be written."""
    a, e = radians(azimuth_deg), radians(elevation_deg)
    # straight down the azimuth says which way is up: the basis is that of the limit
    level = 0.0 if abs(elevation_deg) == 90.0 else cos(e)
    toward = np.array([level * cos(a), level * sin(a), sin(e)])
    right = np.array([-sin(a), cos(a), 0.0])
    basis = right, np.cross(toward, right), toward
    for vector in basis:
        vector.flags.writeable = False
    return basis


def fit_camera(
    azimuth_deg: float,
    elevation_deg: float,
    points_m: ArrayLike,
    width: int,
    height: int,
    margins: Margins,
    least_m_per_px: float = 1e-4,
) -> Camera:
    """Return the camera that shows all points within the margins, as large as they allow.

    Parameters
    ----------
    azimuth_deg, elevation_deg : float
        Direction of view.
    points_m : (n, 3) float
        What must be seen. [m]
    width, height : int
        Size of the picture. [px]
    margins : Margins
        Room kept free.
    least_m_per_px : float
        Never enlarge beyond this. [m]
    """
    right, up, _ = _basis(azimuth_deg, elevation_deg)
    points = np.atleast_2d(np.asarray(points_m, dtype=float))
    x, y = points @ right, points @ up
    free_x = max(width - margins.left - margins.right, 0.2 * width)
    free_y = max(height - margins.top - margins.bottom, 0.2 * height)
    scale = max(float(np.ptp(x)) / free_x, float(np.ptp(y)) / free_y, least_m_per_px)
    middle = points.mean(axis=0)
    shift_x = (x.max() + x.min()) / 2 - middle @ right - (margins.left - margins.right) / 2 * scale
    shift_y = (y.max() + y.min()) / 2 - middle @ up - (margins.bottom - margins.top) / 2 * scale
    focus = middle + shift_x * right + shift_y * up
    center = (float(focus[0]), float(focus[1]), float(focus[2]))
    return Camera(azimuth_deg, elevation_deg, center, float(scale), width, height)


def best_angles(
    points_m: Floats,
    tangents: Floats,
    station_m: Floats,
    anchors_m: Floats,
    turns: tuple[tuple[Floats, Floats], ...],
    aspect: float,
    travels_up: bool = True,
) -> tuple[float, float]:
    """Return azimuth and elevation from which the run is read best. [deg]

    Every 10° of azimuth at elevations 20, 25, 30 and 35 is scored without drawing: distance
    between anchors, apparent against true turns, foreshortening, nearness of far-apart pieces,
    drawn length; nearly equal views are settled by the feed standing at the left.

    Parameters
    ----------
    points_m, tangents : (n, 3) float
        Samples of the centerline and their unit tangents. [m]
    station_m : (n,) float
        Their stations. [m]
    anchors_m : (k, 3) float
        Points that carry labels: bends and ends. [m]
    turns : tuple of ((3,) float, (3,) float)
        Unit tangents before and after each bend.
    aspect : float
        Width over height of the picture.
    travels_up : bool
        Whether the feed is at the first sample.
    """
    angles = [
        (float(azimuth), elevation)
        for elevation in (30.0, 35.0, 25.0, 20.0)
        for azimuth in range(-180, 180, 10)
    ]
    views = np.stack([np.stack(_basis(*angle)[:2], axis=-1) for angle in angles])
    apart = np.abs(station_m[:, None] - station_m[None, :]) > 0.12 * max(np.ptp(station_m), 1e-9)
    scores = _scores(views, points_m, tangents, anchors_m, turns, apart, aspect)
    across = np.einsum("nk,vk->vn", points_m, views[:, :, 0])
    leftward = (across[:, -1] - across[:, 0]) * (1.0 if travels_up else -1.0)
    scores -= 0.40 * _squared_up(views[:, :, 0], tangents)
    spread = np.maximum(np.ptp(across, axis=1), 1e-9)
    scores += 0.20 * np.clip(leftward / spread, -1.0, 1.0)
    best = 0
    for index, score in enumerate(scores):
        if score > scores[best] + 1e-9:
            best = index
    return angles[best]


def _scores(
    views: Floats,
    points: Floats,
    tangents: Floats,
    anchors: Floats,
    turns: tuple[tuple[Floats, Floats], ...],
    apart: NDArray[np.bool_],
    aspect: float,
) -> Floats:
    """Scores of directions of view; `views` (v, 3, 2) holds right and up of each."""
    flat, marks = points @ views, anchors @ views
    size = np.ptp(flat, axis=1)
    width = np.maximum(np.maximum(size[:, 0], size[:, 1] * aspect), 1e-9)[:, None, None]
    flat, marks = flat / width, marks / width
    scores = np.minimum(_nearest(marks, ~np.eye(len(anchors), dtype=bool)) / 0.06, 1.0)
    scores += np.minimum(_least_turn(turns, views) / 0.45, 1.0)
    seen = np.linalg.norm(tangents @ views, axis=2)
    scores += np.minimum(np.quantile(seen, 0.05, axis=1) / 0.5, 1.0)
    scores += np.minimum(_nearest(flat, apart) / 0.04, 1.0)
    drawn = np.linalg.norm(np.diff(flat, axis=1), axis=2).sum(axis=1)
    return np.asarray(scores + 0.5 * drawn)


def _squared_up(right: Floats, tangents: Floats) -> Floats:
    """Part of the level run that lies straight across or straight along each view: it looks flat.

    `right` is (v, 3).
    """
    level = np.linalg.norm(tangents[:, :2], axis=1)
    cosine = np.abs(right @ tangents.T) / np.maximum(level, 1e-9)
    flat = (level > 0.5) & ((cosine > 0.985) | (cosine < 0.17))
    return np.asarray(flat.sum(axis=1) / len(tangents))


def _nearest(points: Floats, pairs: NDArray[np.bool_]) -> Floats:
    """Smallest distance between the points paired in each view; 1 where nothing is paired."""
    first, second = np.nonzero(np.triu(pairs))
    if not first.size:
        return np.ones(len(points))
    least = np.empty(len(points))
    step = max(1, _MOST_PAIRS // first.size)
    for low in range(0, len(points), step):
        part = points[low : low + step]
        x = part[:, first, 0] - part[:, second, 0]
        y = part[:, first, 1] - part[:, second, 1]
        least[low : low + step] = np.sqrt((x * x + y * y).min(axis=1))
    return least


def _least_turn(turns: tuple[tuple[Floats, Floats], ...], views: Floats) -> Floats:
    """Smallest apparent over true turn of all bends in each view; 1 without bends."""
    least = np.ones(len(views))
    for before, after in turns:
        true = float(np.arccos(np.clip(before @ after, -1.0, 1.0)))
        if true <= 1e-6:
            continue
        a, b = before @ views, after @ views
        size = np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1)
        cosine = np.clip((a * b).sum(axis=1) / np.maximum(size, 1e-9), -1.0, 1.0)
        seen = np.where(size > 1e-9, np.arccos(cosine), 0.0)
        least = np.minimum(least, seen / true)
    return least
