"""Wrong shots: single points far off a way that others follow densely.

The way goes out to such a point and back to beside where it left. Nobody draws a vertex so: no
raceway turns that far, and what stands on both sides are neighbors on the way.

Source: own rule.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.repeated_shots import FOLD_RAD
from analyzer.geometry.segments import Floats

__all__ = ["legs_of_wrong_shots"]

_APART = 2.0
"""Longest dense legs that the neighbors of a wrong shot stand apart at most: as a shot between them
in its place would part them. Own choice."""


def legs_of_wrong_shots(points_m: Floats, dense: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Tell the legs that lead to wrong shots and back, shape (n - 1,).

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order, neighbors different. [m]
    dense : (n - 1,) bool
        Legs as long as those between points that stand densely: a wrong shot has none.
    """
    found = np.zeros(len(points_m) - 1, dtype=np.bool_)
    if not dense.any():
        return found
    apart = np.linalg.norm(points_m[2:] - points_m[:-2], axis=1)
    out_and_back = ~(dense[:-1] | dense[1:]) & (turns(points_m)[0] > FOLD_RAD)
    wrong = out_and_back & (apart <= _APART * leg_lengths(points_m)[dense].max())
    found[:-1] |= wrong
    found[1:] |= wrong
    return found
