"""Places that were measured several times in a row: shots of one place among shots apart.

Source: own rule; the legs within a place and those between places leave a gap in length, and the
shots of one place turn by any angle, which neither chords nor drawn corners do.
"""

from __future__ import annotations

from math import radians

import numpy as np

from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats

__all__ = ["places_of_shots", "step_of_shots"]

_FEWEST_PLACES = 12
_FEWEST_SHORT = 4
_GAP = 3.0
_ANY_ANGLE_RAD = radians(60.0)
_DIFFERENT_RAD, _DIFFERENT_SHARE = 1e-7, 0.8


def step_of_shots(points_m: Floats) -> float:
    """Return the longest leg between shots of one place; 0 where every place was measured once.

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order, neighbors different. [m]
    """
    legs = leg_lengths(points_m)
    rising = np.sort(legs)
    low, high = _FEWEST_SHORT - 1, rising.size - _FEWEST_PLACES
    if high <= low:
        return 0.0
    # that many legs at least on either side of the gap
    ratios = rising[low + 1 : high + 1] / rising[low:high]
    at = int(ratios.argmax())
    step_m = float(rising[low + at])
    if ratios[at] < _GAP:
        return 0.0
    turn, _ = turns(points_m)
    within = turn[(legs[:-1] <= step_m) | (legs[1:] <= step_m)]
    alike = np.diff(np.sort(within)) <= _DIFFERENT_RAD
    any_angle = np.median(within) > _ANY_ANGLE_RAD and alike.mean() < 1.0 - _DIFFERENT_SHARE
    return step_m if any_angle else 0.0


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
