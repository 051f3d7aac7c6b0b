"""Survey points read as the fewest straights and arcs that explain them, with deviations.

Noisy points in order along one raceway. The accuracy (standard deviation of one coordinate, equal
in all directions) is stated or estimated; everything else follows: straights are found from long
to short, a gap closes as soon as one tangent arc explains it, bends that are not needed are taken
out by penalized likelihood, and one joint maximum-likelihood fit of all segments gives the values
and their deviations. Noise that is not independent from point to point is noticed and said.

Assumes at least four points on each straight and two or more on each arc.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analyzer.errors import InputError
from analyzer.findings import Finding
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats, Segment, Straight
from analyzer.geometry.survey_chain import TOUCHING
from analyzer.geometry.survey_choice import choose_chain
from analyzer.geometry.survey_deviations import BendEstimate, chain_segments, estimate_bends
from analyzer.geometry.survey_doubts import add_doubts_of_ends, no_doubts
from analyzer.geometry.survey_findings import (
    HOPELESS,
    accuracy_findings,
    far_away,
    joint_findings,
    not_explained,
    outlier_findings,
    radius_findings,
    too_few_points,
)
from analyzer.geometry.survey_fit import ChainFit, fit_chain, fit_line
from analyzer.geometry.survey_gaps import sketch_straights
from analyzer.geometry.survey_models import Effort
from analyzer.geometry.survey_near_bends import settle_straights
from analyzer.geometry.survey_noise import Noise, noise_of
from analyzer.geometry.survey_splits import find_splits, split_findings
from analyzer.geometry.survey_verdict import (
    reasons_against,
    show_stretches,
    unexplained_stretches,
)
from analyzer.geometry.survey_windows import estimate_accuracy, find_outliers

__all__ = ["SurveyBend", "SurveyFit", "fit_survey"]

_CLIP = 3.5
_DETERMINED = 0.3
_LOOSE = 5.0
_FLOOR_M = 1e-7
_LIKE = 1.25
_EFFORT = 1600.0
_EFFORT_A_POINT = 0.2
_MOST_TAKEN = 0.4
_MANY_BENDS = 20
_FINE_M = 1e-9
_COARSEST_M = 1e-5


@dataclass(frozen=True, slots=True)
class SurveyBend:
    """One bend read from survey points.

    Attributes
    ----------
    first_segment, last_segment : int
        Its arcs among the segments; two where it turns near 180 degrees.
    angle_rad : float
        Total turning; at an end without a straight, up to the foot of the end point. [rad]
    radius_m : float
        Most likely radius. [m]
    angle_sd_rad, radius_sd_m : float
        Standard deviations. [rad] [m]
    radius_determined : bool
        False where the deviation of the radius is above 0.3 of it.
    """

    first_segment: int
    last_segment: int
    angle_rad: float
    radius_m: float
    angle_sd_rad: float
    radius_sd_m: float
    radius_determined: bool


@dataclass(frozen=True, slots=True)
class SurveyFit:
    """Survey points read as straights and arcs.

    Attributes
    ----------
    segments : tuple of Segment
        Tangent-continuous; from the foot of the first point to the foot of the last. [m]
    bends : tuple of SurveyBend
        In order; empty for a straight run.
    accuracy_m : float
        Standard deviation of one coordinate behind the deviations. [m]
    accuracy_from : str
        ``stated`` or ``estimated``.
    outliers : tuple of int
        Points left out, by their place in the input.
    deviation_m : float
        Greatest distance of a point (outliers aside) from the segments. [m]
    of_points : tuple of Finding
        What a person should know that names neither bends nor points by number.
    numbered : tuple of NumberedFinding
        What a person should know about the reading.
    """

    segments: tuple[Segment, ...]
    bends: tuple[SurveyBend, ...]
    accuracy_m: float
    accuracy_from: str
    outliers: tuple[int, ...]
    deviation_m: float
    of_points: tuple[Finding, ...]
    numbered: tuple[NumberedFinding, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, bends and points numbered from 1."""
        return (*self.of_points, *(one.numbered() for one in self.numbered))


@dataclass(frozen=True, slots=True)
class _Round:
    """One pass over the points: what was kept, the fit (None: a straight), what it says.

    `cut` tells that the search for fewer bends ended before its time.
    """

    kept: NDArray[np.intp]
    fit: ChainFit | None
    residuals: Floats
    freedom: float
    inflation: float
    cut: bool

    @property
    def scatter(self) -> float:
        """Standard deviation of one coordinate about the fit. [m]

        Where neighbors err alike the fit takes more of the noise with it than its unknowns tell.
        """
        total = 2.0 * self.kept.size
        taken = min((total - self.freedom) * self.inflation**2, _MOST_TAKEN * total)
        freedom = min(max(total - taken, 2.0), self.freedom)
        return sqrt(float((self.residuals**2).sum()) / freedom)


def fit_survey(
    points_m: ArrayLike, accuracy_m: float | None = None, *, station_m: float = 0.0
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
    1.2 times it: too small a value breaks straights apart, too large a value does no harm.
    """
    points = _checked(points_m, accuracy_m)
    offset = points.mean(axis=0)
    local = points - offset
    if points.shape[0] < 6:
        return _too_few(points, accuracy_m)
    floor = max(_FLOOR_M, 8.0 * float(np.spacing(np.abs(points).max())))
    sigma = max(_detection_accuracy(local, accuracy_m), floor)
    effort = Effort(_EFFORT + _EFFORT_A_POINT * local.shape[0])
    best, used = _consistent(local, sigma, effort)
    inflation = 1.0
    for _ in range(3):
        if best.inflation < 1.05 * inflation and best.scatter < _LIKE * used:
            break
        if best.scatter > HOPELESS * used or best.cut:
            break
        inflation = max(best.inflation, inflation)
        wider = max(best.scatter, sigma if accuracy_m is not None else 0.0, floor)
        again = _read(local, wider * inflation, effort)
        if again.scatter > 1.5 * best.scatter:
            # so wide an accuracy no longer sees the bends
            break
        best = again
    inflation = max(inflation, best.inflation)
    found = _report(local, offset, best, accuracy_m, (sigma, floor, inflation), station_m)
    coarse = float(np.spacing(np.abs(points).max()))
    if coarse > _FINE_M:
        found = replace(found, of_points=(*found.of_points, far_away(points, coarse)))
    return found


def _consistent(points: Floats, sigma: float, effort: Effort) -> tuple[_Round, float]:
    """Return the first pass whose scatter agrees with its accuracy, and that accuracy.

    Noise that is alike from point to point makes neighbors look better than they are: an
    accuracy estimated from them is too small, and so small a value breaks straights apart.
    """
    first = nearest = _read(points, sigma, effort)
    if first.scatter > _LIKE * sigma or first.cut:
        for factor in (2.0, 4.0, 8.0, 16.0):
            again = _read(points, factor * sigma, effort)
            if again.scatter < _LIKE * factor * sigma and not again.cut:
                return again, factor * sigma
            if again.scatter < nearest.scatter:
                nearest = again
    return nearest if first.cut else first, sigma


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


def _detection_accuracy(points: Floats, accuracy_m: float | None) -> float:
    estimate = estimate_accuracy(points)
    if accuracy_m is None or estimate > 1.2 * accuracy_m:
        return estimate
    return accuracy_m


def _read(points: Floats, sigma: float, pool: Effort) -> _Round:
    """One pass: outliers out, straights sketched, bends chosen, everything fitted together."""
    effort = pool.half()
    lost = find_outliers(points, sigma)
    kept = np.setdiff1d(np.arange(points.shape[0]), lost)
    clip = _CLIP if lost.size else None
    for again in (True, True, False):
        used = points[kept]
        sketch = sketch_straights(used, sigma, clip)
        fit = choose_chain(used, sketch, sigma, clip, effort)
        residuals = fit_line(used)[2] if fit is None else fit.residuals_m
        loose = np.linalg.norm(residuals, axis=1) > _LOOSE * sigma
        crowd = np.convolve(loose, np.ones(5), mode="same")
        alone = loose & (crowd < 3)
        # more than one at an end may be the start of a bend
        alone[:4] &= loose[:4].sum() < 2
        alone[-4:] &= loose[-4:].sum() < 2
        few = alone.any() and alone.sum() <= 0.1 * kept.size
        if not again or not few or effort.spent_out:
            break
        kept = kept[~alone]
        clip = _CLIP
    if fit is not None and clip is not None:
        fit = fit_chain(points[kept], fit.chain, sigma, clip=clip, tolerance=1e-4, firm=True)
        residuals = fit.residuals_m
    unknowns = 4 if fit is None else _unknowns(fit)
    freedom = max(2.0 * kept.size - unknowns, 2.0)
    inflation = _inflation(residuals, unknowns)
    pool.give_back(effort)
    return _Round(kept, fit, residuals, freedom, inflation, effort.spent_out)


def _unknowns(fit: ChainFit) -> int:
    """Return the number of free unknowns of a chain."""
    bends = fit.chain.radii_m.size
    ties = int((fit.chain.joints == TOUCHING).sum())
    return 4 * bends + 4 - ties - 4 * int((fit.chain.joints > TOUCHING).sum())


def _inflation(residuals: Floats, unknowns: int) -> float:
    """Factor on the accuracy for noise that is correlated from point to point; 1 if it is not."""
    n = residuals.shape[0]
    total = float((residuals**2).sum())
    if n < 20 or total <= 0.0:
        return 1.0
    error = 1.0 / sqrt(2.0 * n)
    added = 0.0
    lags = 0
    for lag in range(1, min(40, n // 4)):
        rho = float((residuals[lag:] * residuals[:-lag]).sum()) / total
        # a fit with many unknowns takes the slow part of the noise with it
        rho += min(unknowns / (2.0 * n), 0.5) * 0.5
        if rho < (4.0 if lag == 1 else 1.5) * error:
            break
        added += rho
        lags += 1
    # the slow part that a fit takes is the larger the more alike the errors are
    inflation = sqrt(1.0 + 2.0 * max(added, 0.0))
    for _ in range(4):
        taken = min(unknowns * inflation**2 / (2.0 * n), _MOST_TAKEN)
        missing = lags * (taken - min(unknowns / (2.0 * n), 0.5) * 0.5)
        sum_of_lags = (added + max(missing, 0.0)) * (1.0 - taken)
        inflation = max(inflation, sqrt(1.0 + 2.0 * max(sum_of_lags, 0.0)))
    return inflation


def _report(
    points: Floats,
    offset: Floats,
    best: _Round,
    accuracy_m: float | None,
    found_with: tuple[float, float, float],
    station_m: float,
) -> SurveyFit:
    """Build the answer from the last pass; found_with: first accuracy, its floor, inflation."""
    start, floor, inflation = found_with
    used = points[best.kept]
    scatter = best.scatter
    limit = best.freedom + 4.0 * sqrt(2.0 * best.freedom)
    excess = accuracy_m is not None and scatter**2 * best.freedom > limit * accuracy_m**2
    stated = None if excess else accuracy_m
    sigma = max(scatter if stated is None else stated, floor) * inflation
    noise = _noise(used, best, stated, floor, inflation)
    lost = tuple(int(i) for i in np.setdiff1d(np.arange(points.shape[0]), best.kept))
    segments: tuple[Segment, ...] = (_straight(used, offset),)
    bends: tuple[SurveyBend, ...] = ()
    estimates: list[BendEstimate] = []
    hopeless = False
    fit = best.fit
    if fit is not None:
        many = fit.chain.radii_m.size > _MANY_BENDS
        hopeless = (best.cut and many) or scatter > HOPELESS * start
        doubts = no_doubts(fit.chain.radii_m.size)
        if not hopeless:
            wide = noise.sigma_m * noise.raise_of_slow
            fit, doubts = settle_straights(used, fit, wide, _CLIP if lost else None)
            add_doubts_of_ends(used, fit, wide, doubts)
            best = replace(best, fit=fit, residuals=fit.residuals_m)
        estimates = estimate_bends(used, fit, noise, doubts, hopeless=hopeless)
        try:
            segments, ranges = chain_segments(used, fit, offset)
        except InputError:
            raise InputError(
                not_explained(scatter, "anywhere", ["the fitted arcs fold back"]).message
            ) from None
        bends = tuple(_bend(e, r) for e, r in zip(estimates, ranges, strict=True))
    findings = accuracy_findings(scatter, noise, accuracy_m, excess)
    against = reasons_against(
        used,
        segments,
        fit,
        scatter_m=scatter,
        accuracy_m=sigma,
        found_with_m=start,
        stated_m=accuracy_m,
        uneven=excess or inflation > 1.0,
        cut=best.cut,
    )
    if against:
        ranges = [(b.first_segment, b.last_segment) for b in bends]
        stretches = unexplained_stretches(fit, ranges, start)
        where = show_stretches(stretches, segments, station_m)
        findings.insert(0, not_explained(scatter, where, against))
    numbered = outlier_findings(lost, points.shape[0])
    numbered += radius_findings(
        [(b.angle_rad, b.angle_sd_rad) for b in bends], [b.radius_determined for b in bends]
    )
    if fit is not None:
        numbered += joint_findings(fit, estimates)
        if not hopeless:
            corners = [estimate.corner for estimate in estimates]
            clip = _CLIP if lost else None
            splits = find_splits(used, fit, corners, sigma, clip)
            numbered += split_findings(splits, [bend.angle_rad for bend in bends])
    return SurveyFit(
        segments,
        bends,
        noise.sigma_m * noise.raise_of_slow,
        "estimated" if accuracy_m is None else "stated",
        lost,
        float(np.linalg.norm(best.residuals, axis=1).max()),
        tuple(findings),
        tuple(numbered),
    )


def _noise(
    used: Floats, best: _Round, stated_m: float | None, floor_m: float, inflation: float
) -> Noise:
    """Return the errors behind the deviations; inflation: what the search allowed for likeness."""
    found = Noise(best.scatter, (inflation**2 - 1.0) / (inflation**2 + 1.0))
    if best.cut:
        # what a search cut short leaves is alike because it misses the curve, not by its errors
        found = Noise(best.scatter, 0.0)
    elif best.fit is not None:
        likely = noise_of(used, best.fit, _unknowns(best.fit))
        if inflation > 1.0 or likely.likeness > 0.0:
            found = likely
    sigma = max(best.scatter, found.sigma_m) if stated_m is None else stated_m
    return replace(found, sigma_m=max(sigma, floor_m))


def _bend(estimate: BendEstimate, segments: tuple[int, int]) -> SurveyBend:
    return SurveyBend(
        *segments,
        estimate.angle_rad,
        estimate.radius_m,
        estimate.angle_sd_rad,
        estimate.radius_sd_m,
        estimate.radius_sd_m < _DETERMINED * estimate.radius_m,
    )


def _straight(points: Floats, offset: Floats) -> Straight:
    center, direction, _ = fit_line(points)
    ends = [center + ((p - center) @ direction) * direction + offset for p in points[[0, -1]]]
    start, end = ((float(p[0]), float(p[1]), float(p[2])) for p in ends)
    return Straight(start, end)


def _too_few(points: Floats, accuracy_m: float | None) -> SurveyFit:
    """Return a straight with the finding that there are too few points to say more."""
    offset = points.mean(axis=0)
    worst = float(np.linalg.norm(fit_line(points - offset)[2], axis=1).max())
    return SurveyFit(
        (_straight(points - offset, offset),),
        (),
        accuracy_m or worst,
        "estimated" if accuracy_m is None else "stated",
        (),
        worst,
        (too_few_points(points.shape[0]),),
    )
