"""Corners in fittings among survey points, where one side holds too few points to be fitted.

Such a side is a straight if its points say so within their accuracy; then the corner is the shot
in the fitting, as far as it stands on the lines of both sides.

Source: own rule.
"""

from __future__ import annotations

from math import radians

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.segments import Floats, Straight
from analyzer.geometry.survey.answer import SurveyFit
from analyzer.geometry.survey.fit import fit_line
from analyzer.geometry.survey.windows import chi2_limit, estimate_accuracy
from analyzer.geometry.vectors import to_vector

__all__ = ["fit_straight_side", "is_corner_beside_few"]

_SURE = 3.3
"""Normal deviations up to which points beside a fitting may scatter and be straight. Own choice."""

_LEAST_TURN_RAD = radians(10.0)
"""Turn from which straights beside a shot in a fitting make a corner there. [rad] Own choice."""

_ON_A_LINE, _NEAR = 5.0, 4
"""Deviations within which the shot in a fitting stands on the line of the points beside it, and
how many of these tell that line."""


def fit_straight_side(points_m: Floats, accuracy_m: float) -> SurveyFit | None:
    """Return few points as the straight they stand on; None where they do not, or are fewer than 2.

    Parameters
    ----------
    points_m : (n, 3) float
        The points of one side, without the shot in the fitting. [m]
    accuracy_m : float
        Standard deviation of one coordinate. [m]
    """
    count = len(points_m)
    if count < 2:
        return None
    center, way, residuals = fit_line(points_m)
    off = float((residuals**2).sum()) / accuracy_m**2
    if count > 2 and off > chi2_limit(2.0 * (count - 2), _SURE):
        return None
    ends = [to_vector(center + ((p - center) @ way) * way) for p in (points_m[0], points_m[-1])]
    worst = float(np.linalg.norm(residuals, axis=1).max())
    line = Straight(ends[0], ends[1])
    return SurveyFit((line,), (), accuracy_m, "stated", (), worst, ())


def is_corner_beside_few(
    before_m: Floats, corner_m: Floats, after_m: Floats, accuracy_m: float | None, fewest: int
) -> bool:
    """Return whether a shot in a fitting is a corner, and the side with few points a straight.

    Parameters
    ----------
    before_m, after_m : (n, 3) float
        The points of both sides, in order. [m]
    corner_m : (3,) float
        The shot in the fitting. [m]
    accuracy_m : float or None
        Standard deviation of one coordinate; that of the side with more points by default. [m]
    fewest : int
        Points from which a side can be fitted.
    """
    sides = sorted((before_m, after_m), key=len)
    if not len(sides[0]) or len(sides[1]) < fewest:
        return False
    sigma = accuracy_m or estimate_accuracy(sides[1])
    if not sigma > 0.0 or (len(sides[0]) > 1 and fit_straight_side(sides[0], sigma) is None):
        return False
    ways = []
    for near, sense in ((before_m[-_NEAR:], -1.0), (after_m[:_NEAR], 1.0)):
        if len(near) == 1:
            ways.append(sense * (near[0] - corner_m))
            continue
        center, way, _ = fit_line(near)
        if fit_straight_side(near, sigma) is None:
            return False
        arm = corner_m - center
        length = float(np.linalg.norm(near[-1] - near[0]))
        away = float(np.linalg.norm(arm - (arm @ way) * way))
        reach = 1.0 + 2.0 * abs(float(arm @ way)) / max(length, 1e-9)
        if away > _ON_A_LINE * sigma * reach:
            return False
        ways.append(way if way @ (near[-1] - near[0]) > 0.0 else -way)
    units = [to_vector(way / np.linalg.norm(way)) for way in ways]
    return angle_between(units[0], units[1]) >= _LEAST_TURN_RAD
