"""Places that were measured several times in a row: shots of one place among shots apart.

Points whose errors are as large as the way between them fold back as much, measured again or not.

Source: own rule; the shots of one place turn by any angle, so that many of them fold back, which
neither chords nor drawn corners do. The legs within a place and those between places leave a gap
in length, unless places stand as close together as their shots do: those are not told apart.
"""

from __future__ import annotations

from math import radians

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats

__all__ = ["FOLD_RAD", "many_fold_back", "places_of_shots", "step_of_folds", "step_of_shots"]

_FEWEST_PLACES = 12
"""Legs between places from which a gap in the lengths tells shots of one place. Own choice."""

_FEWEST_SHORT = 4
"""Legs within places from which it does. Own choice."""

_GAP = 3.0
"""Shortest leg above the gap over the longest below it, at least. Own choice."""

FOLD_RAD = radians(120.0)
"""Turn beyond which no raceway is drawn. [rad] Own choice."""

_FOLD_SHARE, _FEWEST_FOLDS = 0.1, 8
"""Part of the shots of one place that turn so at least (of shots apart in any direction a quarter
do); and how many do where no gap tells the shots."""

_REACH = 2.5
"""Longest leg within a place over the middle one at a fold: that of errors in three directions."""


def step_of_shots(points_m: Floats) -> float:
    """Return the longest leg between shots of one place; 0 where every place was measured once.

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order, neighbors different. [m]
    """
    legs = leg_lengths(points_m)
    if legs.size < 2:
        return 0.0
    folds = _folds(points_m)
    step_m = _step_below_gap(legs)
    if step_m and folds[(legs[:-1] <= step_m) | (legs[1:] <= step_m)].mean() >= _FOLD_SHARE:
        return step_m
    return 0.0


def step_of_folds(points_m: Floats) -> float:
    """Return the longest step that errors make where many points fold back; 0 where few do. [m]

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order, neighbors different. [m]
    """
    if not many_fold_back(points_m):
        return 0.0
    legs = leg_lengths(points_m)
    return _REACH * float(np.median(np.minimum(legs[:-1], legs[1:])[_folds(points_m)]))


def many_fold_back(points_m: Floats) -> bool:
    """Return whether so many points all along fold back that they were measured: none is drawn so.

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order, neighbors different. [m]
    """
    if len(points_m) < _FEWEST_FOLDS:
        return False
    folds = _folds(points_m)
    return bool(folds.sum() >= _FEWEST_FOLDS and folds.mean() >= _FOLD_SHARE)


def _folds(points_m: Floats) -> NDArray[np.bool_]:
    turn, _ = turns(points_m)
    folds: NDArray[np.bool_] = turn > FOLD_RAD
    return folds


def _step_below_gap(legs: Floats) -> float:
    """Return the longest of the short legs that a gap parts from the long; 0 without a gap."""
    rising = np.sort(legs)
    low, high = _FEWEST_SHORT - 1, rising.size - _FEWEST_PLACES
    if high <= low:
        return 0.0
    # that many legs at least on either side of the gap
    ratios = rising[low + 1 : high + 1] / rising[low:high]
    at = int(ratios.argmax())
    return float(rising[low + at]) if ratios[at] >= _GAP else 0.0


def places_of_shots(points_m: Floats) -> tuple[Floats, int]:
    """Return every place once, at the mean of its shots, and how many were measured again.

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order, neighbors different. [m]
    """
    step_m = step_of_shots(points_m)
    if step_m == 0.0:
        return points_m, 0
    place = np.concatenate(([0], np.cumsum(leg_lengths(points_m) > step_m)))
    counts = np.bincount(place)
    sums = np.zeros((counts.size, 3))
    np.add.at(sums, place, points_m)
    return sums / counts[:, None], int((counts > 1).sum())
