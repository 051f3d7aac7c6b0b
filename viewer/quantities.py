"""What the colors of a picture can tell: tension, sidewall pressure, share of limit, place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analyzer.pulling.results import Pull, PullFigures
from viewer.palette import MAP_TOP, plain_colors, share_colors

__all__ = ["ColorScale", "Quantity", "color_scale_of", "limit_of_code", "peak_of"]

Floats = NDArray[np.float64]


class Quantity(Enum):
    """A quantity shown in color along a run."""

    TENSION = "tension"
    SIDEWALL = "sidewall"
    SHARE = "share"
    STATION = "station"
    ELEVATION = "elevation"

    @property
    def has_curve(self) -> bool:
        """Whether the chart draws it; beside station and elevation it draws tension."""
        return self in (Quantity.TENSION, Quantity.SIDEWALL, Quantity.SHARE)

    @property
    def title(self) -> str:
        """Name on legend and chart."""
        return _TITLES[self]


_TITLES = {
    Quantity.TENSION: "Pulling tension",
    Quantity.SIDEWALL: "Sidewall pressure",
    Quantity.SHARE: "Share of limit",
    Quantity.STATION: "Station",
    Quantity.ELEVATION: "Elevation",
}


@dataclass(frozen=True, slots=True)
class ColorScale:
    """How a quantity becomes color: by its limit where it has one, else from `low` to `top`.

    Attributes
    ----------
    quantity : Quantity
        What is colored.
    limit : float or None
        Its limit, in the SI unit of the quantity. [N] [N/m] [1]
    limit_of : str
        What that limit protects, such as ``conductors``.
    low, top : float
        Ends of the plain map where there is no limit. [N] [N/m] [m]
    """

    quantity: Quantity
    limit: float | None
    limit_of: str
    low: float
    top: float

    @property
    def ends(self) -> tuple[float, float]:
        """Values at both ends of the legend."""
        return (self.low, self.top) if self.limit is None else (0.0, MAP_TOP * self.limit)

    def colors(self, values: ArrayLike) -> Floats:
        """Return the colors of values, shape (n, 3): the one function all parts use."""
        table = np.atleast_1d(np.asarray(values, dtype=float))
        if self.limit is not None:
            return share_colors(table / self.limit)
        return plain_colors((table - self.low) / max(self.top - self.low, 1e-12))

    def over(self, values: Floats) -> NDArray[np.bool_]:
        """Return which values are over the limit; none where there is no limit."""
        if self.limit is None:
            return np.zeros(len(values), dtype=bool)
        return np.asarray(values > self.limit)

    def values(self, station_m: Floats, tension_n: Floats, sidewall: Floats) -> Floats | None:
        """Return the quantity where it follows from these; elevation does not. [m] [N] [N/m]"""
        if self.quantity is Quantity.TENSION:
            return tension_n
        if self.quantity is Quantity.SIDEWALL:
            return sidewall
        if self.quantity is Quantity.STATION:
            return station_m
        return None


def limit_of_code(pulls: Sequence[Pull], code: str) -> float | None:
    """Return the smallest limit of one check code among pulls, or None where none is known."""
    found = [share.limit for pull in pulls for share in pull.shares if share.code == code]
    return min(found, default=None)


def color_scale_of(
    quantity: Quantity,
    sidewall_limit: float | None,
    shown: Sequence[Pull],
    length_m: float,
    heights_m: tuple[float, float],
) -> ColorScale:
    """Return the scale of a quantity other than tension.

    Parameters
    ----------
    quantity : Quantity
        What is colored.
    sidewall_limit : float or None
        Limit of sidewall pressure, whether or not any bend of the run is pressed. [N/m]
    shown : sequence of Pull
        Pulls at the friction shown: they tell where a map without a limit ends.
    length_m : float
        Length of the run. [m]
    heights_m : (float, float)
        Lowest and highest elevation of the run. [m]
    """
    if quantity is Quantity.STATION:
        return ColorScale(quantity, None, "", 0.0, length_m)
    if quantity is Quantity.ELEVATION:
        low, high = heights_m
        return ColorScale(quantity, None, "", low, high if high - low > 1e-6 else low + 1.0)
    if quantity is Quantity.SHARE:
        return ColorScale(quantity, 1.0, "tension or sidewall", 0.0, 1.0)
    top = max((pull.expected.max_sidewall_n_per_m for pull in shown), default=0.0)
    return ColorScale(quantity, sidewall_limit, "conductors", 0.0, top if top > 0 else 1.0)


def peak_of(
    quantity: Quantity,
    figures: PullFigures,
    tension_limit_n: float | None,
    sidewall_limit: float | None,
) -> tuple[float, float]:
    """Return the greatest value of a curve by its figures, and its station. [N] [N/m] [1] [m]

    Where the quantity has no curve of its own, those of tension.

    Parameters
    ----------
    quantity : Quantity
        What the curve shows.
    figures : PullFigures
        Greatest tension and sidewall pressure of a pull, and where they are.
    tension_limit_n, sidewall_limit : float or None
        What shares are taken of; None where no limit is known. [N] [N/m]
    """
    tension = (figures.max_tension_n, figures.max_tension_station_m)
    if quantity not in (Quantity.SIDEWALL, Quantity.SHARE):
        return tension
    place = figures.max_sidewall_station_m
    side = (figures.max_sidewall_n_per_m, tension[1] if place is None else place)
    if quantity is Quantity.SIDEWALL:
        return side
    shares = []
    if tension_limit_n is not None:
        shares.append((tension[0] / tension_limit_n, tension[1]))
    if sidewall_limit is not None:
        shares.append((side[0] / sidewall_limit, side[1]))
    return max(shares, key=lambda item: item[0], default=(0.0, tension[1]))
