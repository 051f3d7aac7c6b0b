"""Survey points read as the fewest straights and arcs that explain them, with deviations.

Noisy points in order along one raceway. The accuracy (standard deviation of one coordinate, equal
in all directions) is stated or estimated; everything else follows: straights are found from long
to short, a gap closes as soon as one tangent arc explains it, bends that are not needed are taken
out by penalized likelihood, and one joint maximum-likelihood fit of all segments gives the values
and their deviations. Noise that is not independent from point to point is noticed and said.

Assumes at least four points on each straight and two or more on each arc.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, isfinite, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analyzer.errors import InputError
from analyzer.findings import Finding, Severity
from analyzer.geometry.segments import Floats, Segment, Straight
from analyzer.geometry.survey_choice import choose_chain
from analyzer.geometry.survey_deviations import BendEstimate, chain_segments, estimate_bends
from analyzer.geometry.survey_fit import FREE, TOUCHING, ChainFit, fit_chain, fit_line
from analyzer.geometry.survey_gaps import sketch_straights
from analyzer.geometry.survey_windows import estimate_accuracy, find_outliers

__all__ = ["SurveyBend", "SurveyFit", "fit_survey"]

_CLIP = 3.5
_LOOSE = 5.0
_FLOOR_M = 1e-7
_HOPELESS = 5.0
"""Scatter over accuracy beyond which straights and arcs do not explain the points."""


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
        False where the deviation of the radius is above 0.3 of it, or would be if the radius
        were one and a half deviations smaller: short arcs make the estimate lopsided.
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
    findings : tuple of Finding
        What a person should know about the reading.
    """

    segments: tuple[Segment, ...]
    bends: tuple[SurveyBend, ...]
    accuracy_m: float
    accuracy_from: str
    outliers: tuple[int, ...]
    deviation_m: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Round:
    """One pass over the points: what was kept, the fit (None: a straight), what it says."""

    sigma: float
    kept: NDArray[np.intp]
    fit: ChainFit | None
    residuals: Floats
    scatter: float
    inflation: float


def fit_survey(points_m: ArrayLike, accuracy_m: float | None = None) -> SurveyFit:
    """Return the fewest straights and arcs that explain noisy points along a raceway.

    Parameters
    ----------
    points_m : (n, 3) float
        Points in order. [m]
    accuracy_m : float, optional
        Standard deviation of one coordinate; estimated from the points when not given. [m]

    Returns
    -------
    SurveyFit
        Segments, bends with deviations, outliers and findings.

    Raises
    ------
    InputError
        If a coordinate or the accuracy is no usable number, or the points do not differ.

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
    best = _read(local, sigma)
    inflation = 1.0
    for _ in range(3):
        if best.inflation < 1.05 * inflation and best.scatter < 1.25 * sigma:
            break
        if best.scatter > _HOPELESS * sigma:
            break
        inflation = max(best.inflation, inflation)
        wider = max(best.scatter, sigma if accuracy_m is not None else 0.0, floor)
        best = _read(local, wider * inflation)
    return _report(local, offset, best, accuracy_m, floor, inflation)


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
    if np.spacing(np.abs(points).max()) > 1e-8:
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


def _read(points: Floats, sigma: float) -> _Round:
    """One pass: outliers out, straights sketched, bends chosen, everything fitted together."""
    lost = find_outliers(points, sigma)
    kept = np.setdiff1d(np.arange(points.shape[0]), lost)
    clip = _CLIP if lost.size else None
    for again in (True, True, False):
        used = points[kept]
        sketch = sketch_straights(used, sigma, clip)
        fit = choose_chain(used, sketch, sigma, clip)
        residuals = fit_line(used)[2] if fit is None else fit.residuals_m
        loose = np.linalg.norm(residuals, axis=1) > _LOOSE * sigma
        crowd = np.convolve(loose, np.ones(5), mode="same")
        alone = loose & (crowd < 3)
        # more than one at an end may be the start of a bend
        alone[:4] &= loose[:4].sum() < 2
        alone[-4:] &= loose[-4:].sum() < 2
        if not again or not alone.any() or alone.sum() > 0.1 * kept.size:
            break
        kept = kept[~alone]
        clip = _CLIP
    if fit is not None and clip is not None:
        fit = fit_chain(points[kept], fit.chain, sigma, clip=clip, tolerance=1e-4, firm=True)
        residuals = fit.residuals_m
    unknowns = 4 if fit is None else _unknowns(fit)
    freedom = max(2 * kept.size - unknowns, 2)
    squares = float((residuals**2).sum())
    scatter = sqrt(squares / freedom)
    return _Round(sigma, kept, fit, residuals, scatter, _inflation(residuals, unknowns))


def _unknowns(fit: ChainFit) -> int:
    """Number of free unknowns of a chain."""
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
    for lag in range(1, min(40, n // 4)):
        rho = float((residuals[lag:] * residuals[:-lag]).sum()) / total
        # a fit with many unknowns takes the slow part of the noise with it
        rho += min(unknowns / (2.0 * n), 0.5) * 0.5
        if rho < (4.0 if lag == 1 else 1.5) * error:
            break
        added += rho
    return sqrt(1.0 + 2.0 * max(added, 0.0))


def _report(
    points: Floats,
    offset: Floats,
    best: _Round,
    accuracy_m: float | None,
    floor: float,
    inflation: float,
) -> SurveyFit:
    """Build the answer from the last pass."""
    findings: list[Finding] = []
    used = points[best.kept]
    sigma = best.scatter if accuracy_m is None else accuracy_m
    freedom = 2.0 * used.shape[0] - (4 if best.fit is None else _unknowns(best.fit))
    if accuracy_m is not None:
        limit = freedom + 4.0 * sqrt(2.0 * max(freedom, 1.0))
        if float((best.residuals**2).sum()) > limit * accuracy_m**2:
            sigma = best.scatter
            findings.append(_scatter_finding(best.scatter, accuracy_m))
    sigma = max(sigma, floor) * inflation
    lost = np.setdiff1d(np.arange(points.shape[0]), best.kept)
    if best.fit is None:
        segments: tuple[Segment, ...] = (_straight(used, offset),)
        estimates: list[BendEstimate] = []
        ranges: list[tuple[int, int]] = []
    else:
        estimates = estimate_bends(used, best.fit, sigma)
        segments, ranges = chain_segments(used, best.fit, offset)
    bends = tuple(
        SurveyBend(
            first,
            last,
            e.angle_rad,
            e.radius_m,
            e.angle_sd_rad,
            e.radius_sd_m,
            _is_determined(e),
        )
        for e, (first, last) in zip(estimates, ranges, strict=True)
    )
    findings += _findings(best, bends, lost, sigma, inflation, accuracy_m)
    return SurveyFit(
        segments,
        bends,
        sigma,
        "estimated" if accuracy_m is None else "stated",
        tuple(int(i) for i in lost),
        float(np.linalg.norm(best.residuals, axis=1).max()),
        tuple(findings),
    )


def _is_determined(bend: BendEstimate) -> bool:
    """Whether the radius is worth its digits.

    The deviation of a radius grows as 1/sqrt(R), so that R^1.5 is nearly normal; with f the
    deviation over R, f / (1 - 1.5 * 1.5 f) is what it would be 1.5 deviations lower.
    """
    f = bend.radius_sd_m / bend.radius_m
    return bool(f < 0.3 * (1.0 - 2.25 * f))


def _straight(points: Floats, offset: Floats) -> Straight:
    center, direction, _ = fit_line(points)
    ends = [center + ((p - center) @ direction) * direction + offset for p in points[[0, -1]]]
    start, end = ((float(p[0]), float(p[1]), float(p[2])) for p in ends)
    return Straight(start, end)


def _too_few(points: Floats, accuracy_m: float | None) -> SurveyFit:
    offset = points.mean(axis=0)
    residual = fit_line(points - offset)[2]
    worst = float(np.linalg.norm(residual, axis=1).max())
    finding = Finding(
        "survey-too-few-points",
        Severity.ERROR,
        f"{points.shape[0]} points are not readable as survey data: each straight needs at least "
        "4. Measure more points, or say how the route was drawn.",
    )
    return SurveyFit(
        (_straight(points - offset, offset),),
        (),
        accuracy_m or worst,
        "estimated" if accuracy_m is None else "stated",
        (),
        worst,
        (finding,),
    )


def _scatter_finding(scatter: float, accuracy_m: float) -> Finding:
    return Finding(
        "survey-scatter",
        Severity.CAUTION,
        f"the points scatter by {scatter * 1000:.3g} mm about the best straights and arcs, more "
        f"than the stated accuracy of {accuracy_m * 1000:.3g} mm; deviations use the scatter. "
        "Check the stated accuracy.",
    )


def _findings(
    best: _Round,
    bends: tuple[SurveyBend, ...],
    lost: NDArray[np.intp],
    sigma: float,
    inflation: float,
    accuracy_m: float | None,
) -> list[Finding]:
    found = []
    if best.scatter > 2.0 * best.sigma:
        found.append(
            Finding(
                "survey-not-explained",
                Severity.ERROR,
                f"straights and arcs do not explain the points: they scatter by "
                f"{best.scatter * 1000:.3g} mm, neighbours by {best.sigma * 1000:.3g} mm. Check "
                "the order of the points, or say how the route was drawn.",
            )
        )
    if accuracy_m is None:
        found.append(
            Finding(
                "survey-accuracy-estimated",
                Severity.NOTE,
                f"no survey accuracy stated: {sigma * 1000:.3g} mm a coordinate, estimated from "
                "the points.",
            )
        )
    if inflation > 1.0:
        found.append(
            Finding(
                "survey-noise-correlated",
                Severity.CAUTION,
                "the errors of neighbouring points are alike (drift, or smoothing by the "
                f"instrument): deviations are raised by {inflation:.2f}, and a gentle bend may be "
                "drift. Check against the site.",
            )
        )
    if lost.size:
        names = ", ".join(str(int(i) + 1) for i in lost[:20]) + (" ..." if lost.size > 20 else "")
        found.append(
            Finding(
                "survey-outliers",
                Severity.CAUTION,
                f"{lost.size} of {lost.size + best.kept.size} points stand off the route and are "
                f"left out: {names}",
            )
        )
    vague = [k + 1 for k, bend in enumerate(bends) if not bend.radius_determined]
    if vague:
        found.append(
            Finding(
                "survey-radius-undetermined",
                Severity.NOTE,
                "the points do not determine the radius of bend "
                f"{', '.join(str(k) for k in vague)} (deviation above 0.3 of it); angles are "
                "good: "
                + ", ".join(
                    f"{degrees(bends[k - 1].angle_rad):.2f}° ± "
                    f"{degrees(bends[k - 1].angle_sd_rad):.2f}°"
                    for k in vague
                ),
            )
        )
    return found + _joint_findings(best)


def _joint_findings(best: _Round) -> list[Finding]:
    """What the straights between bends say: none, or too few points."""
    if best.fit is None:
        return []
    found = []
    chain, side = best.fit.chain, best.fit.side
    m = chain.radii_m.size
    counts = []
    bend = 0
    for k in range(m):
        here = side[chain.cuts[k] : chain.cuts[k + 1]]
        before = int((here < 0).sum())
        if k > 0:
            before += int((side[chain.cuts[k - 1] : chain.cuts[k]] > 0).sum())
        if k == 0 or chain.joints[k - 1] == FREE:
            counts.append(before)
        if k > 0 and chain.joints[k - 1] == TOUCHING:
            found.append(
                Finding(
                    "survey-bends-touch",
                    Severity.CAUTION,
                    f"the points ask for no straight between bends {bend} and {bend + 1}: read "
                    "as touching, and their deviations hold for that. If a short straight stands "
                    "there, their angles are further off.",
                )
            )
        bend += int(chain.joints[k] <= TOUCHING)
    counts.append(int((side[chain.cuts[-2] :] > 0).sum()))
    if float(np.median(counts)) < 4.0:
        found.append(
            Finding(
                "survey-too-few-points",
                Severity.ERROR,
                f"half of the straights hold {int(np.median(counts))} points or fewer: not "
                "readable as survey data, which needs at least 4 a straight. Measure closer, or "
                "say how the route was drawn.",
            )
        )
    return found
