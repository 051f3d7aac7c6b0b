"""One feature as data, and the trade figures a chart prints."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Feature", "TradeFigures"]


@dataclass(frozen=True, slots=True)
class Feature:
    """Bends that belong together, or a vertical part of the run.

    Attributes
    ----------
    kind : str
        ``kick``, ``offset``, ``rolling offset``, ``three-bend saddle``, ``four-bend saddle``,
        ``back-to-back``, ``U``, ``quarter bend``, ``vertical drop``, ``vertical rise``,
        ``dog-leg``, ``opposite kicks``, ``large bend``, ``twisted bend``.
    bends : tuple of int
        Numbers of its bends; none for a vertical part between corners in fittings or ends.
    station_m, end_station_m : float
        Where it starts and ends. [m]
    figures : tuple of (str, float)
        Named figures with their unit in the name, such as ``("depth_m", 0.3)``.
    """

    kind: str
    bends: tuple[int, ...]
    station_m: float
    end_station_m: float
    figures: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class TradeFigures:
    """Rounded figures a bender's chart prints for one angle.

    Attributes
    ----------
    multiplier : float
        Spacing between bend centers over depth.
    shrink : float
        Shrink over depth.
    """

    multiplier: float
    shrink: float
