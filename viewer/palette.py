"""Colors: the map of value over limit, the plain map without a limit, light and dark themes.

The map is a function of value over limit only, never of the range of the data, so that the same
color means the same share of the limit in every picture. It runs in two parts with a jump at the
limit: cool and falling in lightness up to it, warm above it. Both parts were chosen for even
steps and for readers with any kind of color vision; tests hold the distances.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "COOL",
    "DARK",
    "HOT",
    "LIGHT",
    "MAP_TOP",
    "PLAIN",
    "Theme",
    "hex_color",
    "lightness",
    "linear",
    "plain_colors",
    "rgb",
    "share_colors",
]

Rgb = NDArray[np.float64]

COOL = (
    "#9FD8D0", "#87C7D5", "#69B4D8", "#5A9EDC", "#5B85D5", "#646BC5", "#6A50B8", "#6935A0",
    "#641F80",
)  # fmt: skip
"""Stops from nothing to the limit."""

HOT = ("#FFB347", "#FD953A", "#F2762E", "#E05724", "#C93A1B")
"""Stops from just above the limit to three times the limit, where the map ends."""

PLAIN = ("#C9D6D5", "#A3B7BB", "#7D98A3", "#5A798B", "#3C5A72", "#233B56")
"""Stops of the plain map, used where no limit is known."""

MAP_TOP = 3.0
"""Value over limit above which the color stays the same."""


@dataclass(frozen=True, slots=True)
class Theme:
    """Neutral colors of a picture, as hex text."""

    name: str
    ground: str
    floor: str
    grid: str
    ink: str
    muted: str
    chip: str
    chip_border: str
    drop_line: str
    outline: str
    band: str
    equipment: str
    equipment_edge: str
    not_reached: str
    unchecked: str
    shadow: str
    shadow_strength: float
    inverted: str
    inverted_ink: str
    inverted_muted: str
    ring: str


LIGHT = Theme(
    name="light",
    ground="#FFFFFF",
    floor="#F3F5F7",
    grid="#DCE1E6",
    ink="#1B2229",
    muted="#5B6670",
    chip="#FFFFFF",
    chip_border="#B8C0C8",
    drop_line="#8A95A0",
    outline="#27313B",
    band="#E6EAEE",
    equipment="#EDF0F3",
    equipment_edge="#8A95A0",
    not_reached="#D5DAE0",
    unchecked="#989088",
    shadow="#3A4652",
    shadow_strength=0.42,
    inverted="#1B2229",
    inverted_ink="#FFFFFF",
    inverted_muted="#D5DAE0",
    ring="#1B2229",
)
"""White ground, for paper and screens."""

DARK = Theme(
    name="dark",
    ground="#11161C",
    floor="#1B232B",
    grid="#2B3640",
    ink="#F2F5F7",
    muted="#A9B4BE",
    chip="#1F2831",
    chip_border="#46525E",
    drop_line="#6B7783",
    outline="#DCE3E9",
    band="#232C35",
    equipment="#3A444F",
    equipment_edge="#A9B4BE",
    not_reached="#4A5561",
    unchecked="#989088",
    shadow="#000000",
    shadow_strength=0.75,
    inverted="#F2F5F7",
    inverted_ink="#11161C",
    inverted_muted="#3A4652",
    ring="#1B2229",
)
"""Dark ground, for screens and projectors."""


def rgb(color: str) -> Rgb:
    """Return a hex color as three numbers from 0 to 1, shape (3,)."""
    return np.array([int(color[i : i + 2], 16) / 255.0 for i in (1, 3, 5)])


def hex_color(color: ArrayLike) -> str:
    """Return three numbers from 0 to 1 as a hex color."""
    values = np.clip(np.round(np.asarray(color, dtype=float) * 255), 0, 255).astype(int)
    return "#{:02X}{:02X}{:02X}".format(*values)


def _along(stops: tuple[str, ...], position: Rgb) -> Rgb:
    table = np.array([rgb(stop) for stop in stops])
    at = np.linspace(0.0, 1.0, len(stops))
    return np.stack([np.interp(position, at, table[:, channel]) for channel in range(3)], axis=-1)


def share_colors(share: ArrayLike) -> Rgb:
    """Return the color of values over their limit.

    A value equal to the limit is still inside it; above three times the limit the color stays.

    Parameters
    ----------
    share : (n,) float
        Value over limit, zero or more.

    Returns
    -------
    (n, 3) float
        Red, green and blue from 0 to 1.
    """
    values = np.atleast_1d(np.asarray(share, dtype=float))
    cool = _along(COOL, np.clip(values, 0.0, 1.0))
    hot = _along(HOT, np.clip((values - 1.0) / (MAP_TOP - 1.0), 0.0, 1.0))
    return np.where((values > 1.0)[:, None], hot, cool)


def plain_colors(position: ArrayLike) -> Rgb:
    """Return the color of positions from 0 to 1 on the plain map, shape (n, 3)."""
    return _along(PLAIN, np.clip(np.atleast_1d(np.asarray(position, dtype=float)), 0.0, 1.0))


def linear(color: ArrayLike) -> Rgb:
    """Return sRGB colors from 0 to 1 as amounts of light, of the same shape."""
    values = np.asarray(color, dtype=float)
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def lightness(color: ArrayLike) -> NDArray[np.float64]:
    """Return L* (CIE 1976) of sRGB colors of shape (n, 3), from 0 to 100."""
    values = np.atleast_2d(np.asarray(color, dtype=float))
    y = linear(values) @ np.array([0.2126, 0.7152, 0.0722])
    result: NDArray[np.float64] = np.where(
        y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, (29 / 3) ** 3 * y
    )
    return result
