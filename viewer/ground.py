"""The floor a run is drawn over: how high it lies, and round lengths for its grid and scales."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analyzer.units import UnitSystem, ft, to_ft

__all__ = ["floor_under", "nice_step", "step_text"]

Floats = NDArray[np.float64]

_CLEAR_LEVEL, _CLEAR_UPRIGHT = 0.007, 0.016
"""Radius of the tube as drawn, as a share of the run's width and height on a usual sheet."""
_BOX_BELOW = 3.0  # such radii, at least, for what stands below an end


def floor_under(
    points_m: Floats, units: UnitSystem, radius_m: float = 0.0, stands_below: bool = False
) -> tuple[float, float]:
    """Return the elevation of the drawn floor and the distance of its grid lines. [m]

    The floor is at elevation zero where the run is near above it, by more than its tube is drawn
    wide: none of it may sink in. Otherwise it is at a whole step below the run, which the picture
    then says.

    Parameters
    ----------
    points_m : (n, 3) float
        Places along the run or runs. [m]
    units : UnitSystem
        Decides what a whole step is.
    radius_m : float
        The raceway's own outside radius. [m]
    stands_below : bool
        Whether a panel or equipment stands below an end of the run.
    """
    low, high = points_m.min(axis=0), points_m.max(axis=0)
    across = max(float(np.max(high - low)), 0.5)
    grid = nice_step(across / 14, units)
    wide = float(np.hypot(*(high - low)[:2]))
    clear = _CLEAR_LEVEL * wide + _CLEAR_UPRIGHT * float(high[2] - low[2])
    clear = max(clear * (_BOX_BELOW if stands_below else 1.0), radius_m)
    if clear <= low[2] <= max(0.6 * wide, high[2] - low[2], 4.0):
        return 0.0, grid
    step = nice_step(across / 20, units)
    return float(np.floor((low[2] - clear) / step) * step), grid


def nice_step(length_m: float, units: UnitSystem) -> float:
    """Return a round length not much below the one given, half a foot or 0.1 m at least. [m]"""
    us = units is UnitSystem.US
    unit = ft(1.0) if us else 1.0
    steps = [0.5] if us else [0.1, 0.2, 0.5]
    steps += [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000]
    return float(min((s * unit for s in steps), key=lambda s: abs(np.log(s / length_m))))


def step_text(length_m: float, units: UnitSystem) -> str:
    """Return a round length as `nice_step` makes them: ``10 ft``, ``6 in`` or ``0.5 m``."""
    if units is UnitSystem.METRIC:
        return f"{round(length_m, 3):,g} m"
    feet = round(to_ft(length_m), 3)
    return f"{feet:,g} ft" if feet >= 1 else f"{12 * feet:g} in"
