"""The floor: grid lines and a soft shadow of the run, baked into one picture.

The shadow falls straight down: sharp under low pieces, soft under high ones. That cue alone makes
the height of a run readable.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from viewer.palette import Theme, rgb

__all__ = ["Floor", "bake_floor", "edge_ramp"]

Floats = NDArray[np.float64]

_MOST_TEXELS = 2400
_BANDS = 4


@dataclass(frozen=True, slots=True)
class Floor:
    """A level rectangle with its picture.

    Attributes
    ----------
    low_m, high_m : (2,) float
        Its corners, east and north. [m]
    elevation_m : float
        Its height. [m]
    image : (rows, columns, 3) uint8
        Row 0 is the northern edge.
    """

    low_m: Floats
    high_m: Floats
    elevation_m: float
    image: NDArray[np.uint8]


def bake_floor(
    points_m: Floats,
    boxes_m: tuple[Floats, ...],
    radius_m: float,
    elevation_m: float,
    grid_m: float,
    m_per_unit: float,
    theme: Theme,
    texels_per_unit: float = 1.6,
) -> Floor:
    """Return the floor under a run.

    Parameters
    ----------
    points_m : (n, 3) float
        Samples of the run. [m]
    boxes_m : tuple of (4, 3) float
        Footprints of boxes at their lower face. [m]
    radius_m : float
        Drawn radius of the tube. [m]
    elevation_m, grid_m : float
        Height of the floor; distance of grid lines. [m]
    m_per_unit : float
        World length of one drawing unit. [m]
    theme : Theme
        Neutral colors.
    texels_per_unit : float
        Fineness of the picture.
    """
    reach = max(150 * m_per_unit, 2.0 * grid_m)
    fade = 0.75 * reach
    seen = np.concatenate([points_m[:, :2], *(box[:, :2] for box in boxes_m)])
    low, high = np.nanmin(seen, axis=0) - reach, np.nanmax(seen, axis=0) + reach
    per_m = min(texels_per_unit / m_per_unit, _MOST_TEXELS / float(np.max(high - low)))
    width, height = (int(np.ceil(value * per_m)) for value in high - low)
    high = low + np.array([width, height]) / per_m
    # single precision: a color needs 8 bits, and the picture has millions of texels
    color = np.empty((height, width, 3), dtype=np.float32)
    color[:] = rgb(theme.floor)
    _grid_lines(color, low, per_m, grid_m, m_per_unit, theme)
    dark = _shadow(points_m, boxes_m, radius_m, elevation_m, low, per_m, (width, height))
    strength = (theme.shadow_strength * dark)[..., None]
    color += (rgb(theme.shadow).astype(np.float32) - color) * strength
    ground = rgb(theme.ground).astype(np.float32)
    mask = _edge_fade(width, height, fade * per_m)[..., None].astype(np.float32)
    color = ground + (color - ground) * mask
    image = (color * 255 + 0.5).astype(np.uint8)
    return Floor(low, high, elevation_m, image)


def _grid_lines(
    color: NDArray[np.float32],
    low: Floats,
    per_m: float,
    grid_m: float,
    m_per_unit: float,
    theme: Theme,
) -> None:
    """Draw grid lines in place, a whole number of texels wide so that all look the same."""
    height, width = color.shape[:2]
    wide = max(1, round(0.9 * m_per_unit * per_m))
    for axis, count in ((0, width), (1, height)):
        first = np.ceil(low[axis] / grid_m) * grid_m
        for value in np.arange(first, low[axis] + count / per_m, grid_m):
            at = int((value - low[axis]) * per_m - wide / 2)
            if axis == 0:
                color[:, max(at, 0) : at + wide] = rgb(theme.grid)
            else:
                row = height - at - wide
                color[max(row, 0) : row + wide, :] = rgb(theme.grid)


def _shadow(
    points_m: Floats,
    boxes_m: tuple[Floats, ...],
    radius_m: float,
    elevation_m: float,
    low: Floats,
    per_m: float,
    size: tuple[int, int],
) -> NDArray[np.float32]:
    """Darkness from 0 to 1, blurred by height in four bands, shape (rows, columns)."""
    heights = points_m[:, 2] - elevation_m
    pixels = (points_m[:, :2] - low) * per_m
    pixels[:, 1] = size[1] - pixels[:, 1]
    edges = np.linspace(np.nanmin(heights), np.nanmax(heights) + 1e-6, _BANDS + 1)
    dark = np.zeros((size[1], size[0]), dtype=np.float32)
    shrink = max(1.0, per_m * radius_m / 3.0)
    for bottom, top in pairwise(edges.tolist()):
        inside = (heights >= bottom - 1e-9) & (heights <= top)
        image = Image.new("L", size, 0)
        draw = ImageDraw.Draw(image)
        _draw_line(draw, pixels, inside, 2 * radius_m * per_m)
        for box in boxes_m:
            if bottom <= max(float(box[0, 2]) - elevation_m, edges[0]) < top:
                corners = (box[:, :2] - low) * per_m
                draw.polygon([(x, size[1] - y) for x, y in corners], fill=255)
        if image.getbbox() is None:
            continue
        middle = max((bottom + top) / 2, 0.0)
        sigma = (0.35 * radius_m + 0.035 * middle) * per_m
        dark = np.maximum(dark, _blurred(image, sigma, shrink))
    return dark


def _draw_line(
    draw: ImageDraw.ImageDraw, pixels: Floats, inside: NDArray[np.bool_], width: float
) -> None:
    changes = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    for start, end in changes.reshape(-1, 2):
        first = start - 1 if start and np.isfinite(pixels[start - 1, 0]) else start
        stretch = [(float(x), float(y)) for x, y in pixels[first:end]]
        if len(stretch) > 1:
            draw.line(stretch, fill=255, width=max(1, round(width)), joint="curve")
        x, y = stretch[-1]
        draw.ellipse((x - width / 2, y - width / 2, x + width / 2, y + width / 2), fill=255)


def _blurred(image: Image.Image, sigma: float, shrink: float) -> NDArray[np.float32]:
    """Blur at a smaller size, then bring back: fast for wide blurs."""
    small = max(1, int(min(shrink, sigma / 2)))
    size = image.size
    if small > 1:
        image = image.resize(
            (max(1, size[0] // small), max(1, size[1] // small)), Image.Resampling.BOX
        )
    image = image.filter(ImageFilter.GaussianBlur(sigma / small))
    if small > 1:
        image = image.resize(size, Image.Resampling.BICUBIC)
    return np.asarray(image, dtype=np.float32) / np.float32(255.0)


def _edge_fade(width: int, height: int, fade: float) -> Floats:
    """Smooth step from 0 at the edge to 1 inside, shape (height, width)."""
    return np.asarray(edge_ramp(height, fade)[:, None] * edge_ramp(width, fade)[None, :])


def edge_ramp(count: int, fade: float) -> Floats:
    """Return a smooth step from 0 at both ends of a row of pixels to 1 inside.

    Parameters
    ----------
    count : int
        Pixels of the row.
    fade : float
        How far the step reaches from either end. [px]

    Returns
    -------
    (count,) float
        The step at the middle of each pixel.
    """
    place = np.arange(count) + 0.5
    t = np.clip(np.minimum(place, count - place) / fade, 0.0, 1.0)
    return np.asarray(t * t * (3 - 2 * t))
