"""Survey points read as the fewest straights and arcs that explain them, with deviations.

Noisy points in order along one raceway. The accuracy (standard deviation of one coordinate, equal
in all directions) is stated or estimated; everything else follows: straights are found from long
to short, a gap closes as soon as one tangent arc explains it, bends that are not needed are taken
out by penalized likelihood, and one joint maximum-likelihood fit of all segments gives the values
and their deviations. Noise that is not independent from point to point is noticed and said.

Assumes at least four points on each straight and two or more on each arc.
"""

from __future__ import annotations

from dataclasses import replace
from math import isfinite, log, sqrt

import numpy as np
from numpy.typing import ArrayLike

from analyzer.errors import InputError
from analyzer.findings import Finding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.answer import SurveyFit, answer_of, answer_of_too_few
from analyzer.geometry.survey.findings import far_away, overstated
from analyzer.geometry.survey.models import PLACE
from analyzer.geometry.survey.passes import Pass, read_once, read_passes
from analyzer.geometry.survey.windows import (
    accuracy_in_line,
    estimate_accuracy,
    straights_may_bear_out,
)

__all__ = ["fit_survey"]

_SCATTERED = 1.2
_CURVED = 4.0
"""Scatter of neighbors over the stated accuracy from which it is taken instead, and from which it
may come from bends: where points stand far apart, few neighbors lie on one straight."""

_SAFE = 2.0
"""Accuracy tried over that of straights, for too large a one does no harm."""

_UNLIKE = 1.25
"""Scatter over that of a fit with as many bends from which these are others."""

_OVERSTATED, _SURE, _SPREAD = 1.5, 3.0, 0.9
"""Stated accuracy over that of neighbors from which it is doubted, once the latter's own error is
allowed for: so many deviations of so much over the root of the number of points."""

_THINNED, _THINNED_MORE, _WIDENS, _BY_CHANCE, _BENDS = 2, 4, 1.15, 3.0, 1.9
"""Every so many points are taken alone, and then; how much more they scatter than all of them where
errors are alike from point to point: that, and so much over the root of the number of points; and
how much more again at most, for bends within the windows make it grow without end."""

_FLOOR_M = 1e-7
"""Finest accuracy that points are read with. [m] Own choice."""

_FINE_M = 1e-9
"""Spacing of double precision numbers above which it is said that digits are lost. [m] Own
choice."""

_COARSEST_M = 1e-5
"""Spacing above which points are refused. [m] Own choice."""


def fit_survey(
    points_m: ArrayLike,
    accuracy_m: float | None = None,
    *,
    station_m: float = 0.0,
    is_rounding: bool = False,
    grid_m: float = 0.0,
) -> SurveyFit:
    """Return the fewest straights and arcs that explain noisy points along a raceway.

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order. [m]
    accuracy_m : float, optional
        Standard deviation of one coordinate; estimated from the points when not given. [m]
    station_m : float
        Station of the first point, for the places that findings name. [m]
    is_rounding : bool
        Whether the accuracy is what rounding the points makes, and nobody stated it.
    grid_m : float
        Grid that the coordinates were rounded to: points are never taken for better. [m]

    Returns
    -------
    SurveyFit
        Segments, bends with deviations, outliers and findings.

    Raises
    ------
    InputError
        If a coordinate or the accuracy is no usable number, the points do not differ, or no
        chain of straights and arcs comes near them.

    Notes
    -----
    The accuracy used to find bends is the stated one, unless the points scatter by more than
    1.2 times it: too small a value breaks straights apart, a value some times too large does no
    harm. One many times too large merges bends: the points' own accuracy finds them where its
    errors look independent and more bends pay; deviations stay those of the stated one. Where
    neighbors scatter so because they stand far apart on bends, the stated accuracy is tried
    first, and kept where few bends explain the points.
    """
    points = _checked(points_m, accuracy_m)
    offset = points.mean(axis=0)
    local = points - offset
    if points.shape[0] < 6:
        return answer_of_too_few(points, accuracy_m)
    floor = max(_FLOOR_M, 8.0 * float(np.spacing(np.abs(points).max())))
    sigma, (best, inflation) = _read(local, accuracy_m, floor)
    doubted: tuple[Finding, ...] = ()
    if accuracy_m is not None and not is_rounding and sigma == max(accuracy_m, floor):
        own = _overstated(local, accuracy_m, max(floor, grid_m / sqrt(12.0)), best)
        if own is not None:
            sigma, best, doubted = own
            inflation = 1.0
    found_with = (sigma, floor, inflation)
    found = answer_of(
        local, offset, best, accuracy_m, found_with, station_m, is_rounding=is_rounding
    )
    found = replace(found, of_points=(*found.of_points, *doubted))
    coarse = float(np.spacing(np.abs(points).max()))
    if coarse > _FINE_M:
        found = replace(found, of_points=(*found.of_points, far_away(points, coarse)))
    return found


def _checked(points_m: ArrayLike, accuracy_m: float | None) -> Floats:
    points = np.asarray(points_m, dtype=float)
    if points.ndim != 2 or points.shape[1] != 3 or points.shape[0] < 2:
        raise InputError(f"survey points need the shape (n, 3) with n >= 2: got {points.shape}")
    bad = np.flatnonzero(~np.isfinite(points).all(axis=1))
    if bad.size:
        raise InputError(f"survey point {int(bad[0]) + 1} has a coordinate that is no number")
    if accuracy_m is not None and not (isfinite(accuracy_m) and accuracy_m > 0.0):
        raise InputError(f"the survey accuracy must be above zero: got {accuracy_m} m")
    if not np.ptp(points, axis=0).max() > 0.0:
        raise InputError("the survey points are all at one place")
    if np.spacing(np.abs(points).max()) > _COARSEST_M:
        raise InputError(
            f"survey coordinates up to {np.abs(points).max():.3g} m lose their last digits: "
            "move the origin near the route"
        )
    return points


def _read(points: Floats, stated_m: float | None, floor: float) -> tuple[float, tuple[Pass, float]]:
    """Return the accuracy that bends were found with and what came of it."""
    estimate = max(estimate_accuracy(points), floor)
    if stated_m is None:
        return _read_estimated(points, estimate, floor)
    stated = max(stated_m, floor)
    sigma = estimate if estimate > _SCATTERED * stated else stated
    if estimate <= _CURVED * stated or not straights_may_bear_out(points, stated):
        return sigma, read_passes(points, sigma, floor, stated=True)
    one = read_once(points, stated)
    if one.explains(stated):
        return stated, (read_passes(points, stated, floor, stated=True) if one.cut else (one, 1.0))
    # points off near each other make the scatter that hides them: more passes may leave them out
    fine = read_passes(points, stated, floor, stated=True)
    coarse = read_passes(points, sigma, floor, stated=True)
    leaves_out = fine[0].kept.size < points.shape[0]
    bears_out = fine[0].explains(stated) and not fine[0].cut
    if leaves_out and bears_out and fine[0].corners <= coarse[0].corners:
        return stated, fine
    return sigma, coarse


def _read_estimated(
    points: Floats, estimate: float, floor: float
) -> tuple[float, tuple[Pass, float]]:
    """Read with the scatter of neighbors, or with that of straights where it explains them better.

    Better: by the criterion of Schwarz for a scatter that is not known.
    """
    read = read_passes(points, estimate, floor, stated=False)
    tried = max(_SAFE * accuracy_in_line(points), floor)
    # an offset of few shots read as one straight scatters like a coarse survey
    if max(estimate, read[0].scatter) <= _CURVED * tried:
        return estimate, read
    one = read_once(points, tried)
    if one.cut or not one.explains(tried) or not _is_better(one, read[0]):
        return estimate, read
    return tried, (one, 1.0)


def _overstated(
    points: Floats, stated_m: float, least: float, best: Pass
) -> tuple[float, Pass, tuple[Finding, ...]] | None:
    """Return the reading with the points' own accuracy where the stated one merged bends.

    Neighbors that agree far better than stated may have been smoothed: what they leave about the
    fit is then alike from point to point, and the stated accuracy stays. Independent errors that
    more bends explain so much better bear their own accuracy out.
    """
    doubtful = _OVERSTATED * (1.0 + _SURE * _SPREAD / sqrt(points.shape[0]))
    estimate = max(estimate_accuracy(points), least)
    in_line = max(_SAFE * accuracy_in_line(points), least)
    doubts = [tried for tried in (estimate, in_line) if tried * doubtful < stated_m]
    if not doubts or _are_alike(points, estimate):
        return None
    for tried in doubts:
        one = read_once(points, tried)
        more = one.corners > best.corners
        other = one.corners == best.corners and _UNLIKE * one.scatter < best.scatter
        if (more or other) and not one.cut and one.explains(tried) and _is_better(one, best):
            counts = (best.corners, one.corners)
            return tried, one, (overstated(one.scatter, stated_m, counts),)
    return None


def _are_alike(points: Floats, estimate: float) -> bool:
    """Whether errors are alike from point to point, so that neighbors tell no accuracy of any.

    Every second point then scatters by more than all points do: with independent errors by as
    much. Where straights hold few points it does so too, and every fourth by far more still.
    """
    n = points.shape[0]
    if n < 6 * _THINNED_MORE:
        return False
    second, fourth = (
        sum(estimate_accuracy(points[first::step]) for first in range(step)) / step
        for step in (_THINNED, _THINNED_MORE)
    )
    widened = second > (_WIDENS + _BY_CHANCE / sqrt(n)) * estimate
    return widened and fourth < _BENDS * second


def _is_better(one: Pass, other: Pass) -> bool:
    """Whether one pass explains its points so much better than another that it pays its bends."""
    values = 2.0 * one.kept.size
    more = (values - one.freedom) - (2.0 * other.kept.size - other.freedom)
    gain = values * 2.0 * log(max(other.scatter, 1e-300) / max(one.scatter, 1e-300))
    return gain > more * log(values) + PLACE * max(more, 0.0) / 4.0
