"""Survey points as an answer: segments, bends with deviations, and what a person should know."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from analyzer.errors import InputError
from analyzer.findings import Finding
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats, Segment, Straight
from analyzer.geometry.survey.close_bends import OpenAngle, open_angle_findings, open_angles
from analyzer.geometry.survey.deviations import BendEstimate, chain_segments, estimate_bends
from analyzer.geometry.survey.doubts import Doubts, no_doubts
from analyzer.geometry.survey.end_points import end_point_findings
from analyzer.geometry.survey.few_points import TOO_FEW, few_points_findings
from analyzer.geometry.survey.findings import (
    HOPELESS,
    accuracy_findings,
    block_findings,
    not_explained,
    outlier_findings,
    radius_findings,
    straight_findings,
    too_few_points,
)
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_line
from analyzer.geometry.survey.folds import folded_corners, unfold
from analyzer.geometry.survey.noise import Noise, noise_of
from analyzer.geometry.survey.order import order_findings
from analyzer.geometry.survey.passes import CLIP, Pass, unknowns_of
from analyzer.geometry.survey.rows_aside import row_findings, rows_aside
from analyzer.geometry.survey.short_straights import settle_straights
from analyzer.geometry.survey.splits import (
    find_hidden,
    find_splits,
    hidden_findings,
    lone_bends,
    split_findings,
)
from analyzer.geometry.survey.suspect_places import blocks_of
from analyzer.geometry.survey.verdict import (
    reasons_against,
    show_stretches,
    unexplained_stretches,
)

__all__ = ["SurveyBend", "SurveyFit", "answer_of", "answer_of_too_few"]

_DETERMINED = 0.3
"""Deviation of a radius, over it, below which the points tell it: beyond, its errors are far from
normal. Own choice."""

_LEAST_RADIUS, _LEAST_OF_EPSILON = 0.1, 3e6
"""Smallest radius of a bend over the accuracy, and over the last digit of a coordinate."""


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
        Most likely radius, or its mean where a straight beside it or its share of a turn is hardly
        told; never quite zero. [m]
    angle_sd_rad, radius_sd_m : float
        Standard deviations; that of an angle is pi where nothing tells it. [rad] [m]
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


def answer_of(
    points: Floats,
    offset: Floats,
    best: Pass,
    accuracy_m: float | None,
    found_with: tuple[float, float, float],
    station_m: float,
    *,
    is_rounding: bool = False,
) -> SurveyFit:
    """Return the answer of the last pass.

    Parameters
    ----------
    points : (n, 3) float
        All points, less the offset. [m]
    offset : (3,) float
        Added to every position of the answer. [m]
    best : Pass
        The last pass.
    accuracy_m : float or None
        Stated accuracy. [m]
    found_with : (float, float, float)
        Accuracy that the search began with and its floor [m], and the factor for errors that are
        alike from point to point.
    station_m : float
        Station of the first point, for the places that findings name. [m]
    is_rounding : bool
        Whether the accuracy is what rounding the points makes, and nobody stated it.

    Raises
    ------
    InputError
        If the fitted arcs fold back.
    """
    start, floor, inflation = found_with
    used = points[best.kept]
    scatter = best.scatter
    limit = best.freedom + 4.0 * sqrt(2.0 * best.freedom)
    excess = accuracy_m is not None and scatter**2 * best.freedom > limit * accuracy_m**2
    stated = None if excess else accuracy_m
    sigma = max(scatter if stated is None else stated, floor) * inflation
    hopeless = best.cut or scatter > HOPELESS * start
    noise = _noise(used, best, stated, floor, inflation, hopeless=hopeless)
    lost = tuple(int(i) for i in np.setdiff1d(np.arange(points.shape[0]), best.kept))
    segments: tuple[Segment, ...] = (_straight(used, offset),)
    bends: tuple[SurveyBend, ...] = ()
    estimates: list[BendEstimate] = []
    opened: list[OpenAngle] = []
    doubts = no_doubts(0)
    fit = best.fit
    if fit is not None:
        doubts = no_doubts(fit.chain.radii_m.size)
        if not hopeless:
            wide = noise.sigma_m * noise.raise_of_slow
            fit, doubts = settle_straights(used, fit, wide, CLIP if lost else None)
            fit = unfold(used, fit, wide, CLIP if lost else None)
        fit = _with_arcs(used, offset, fit, sigma, CLIP if lost else None)
        best = replace(best, fit=fit, residuals=fit.residuals_m)
        estimates = estimate_bends(used, fit, noise, doubts, hopeless=hopeless)
        if not hopeless:
            known = {one.corner: one.angle_sd_rad for one in estimates}
            wide = noise.sigma_m * noise.raise_of_slow
            opened = open_angles(used, fit, wide, CLIP if lost else None, known)
            estimates = _with_open(estimates, opened)
        try:
            segments, ranges = chain_segments(used, fit, offset)
        except InputError:
            raise InputError(
                not_explained(scatter, "anywhere", ["the fitted arcs fold back"]).message
            ) from None
        bends = tuple(_bend(e, r) for e, r in zip(estimates, ranges, strict=True))
    findings = accuracy_findings(scatter, noise, accuracy_m, excess=excess, is_rounding=is_rounding)
    against = reasons_against(
        used,
        segments,
        fit,
        scatter_m=scatter,
        accuracy_m=sigma,
        found_with_m=start,
        stated_m=accuracy_m,
        is_rounding=is_rounding,
        uneven=excess or inflation > 1.0,
        cut=best.cut,
    )
    plain = not (excess or lost or noise.likeness > 0.0)
    numbered = outlier_findings(lost, points)
    blocks = [block.tolist() for block in blocks_of(points, best.kept)]
    numbered += block_findings(blocks, points)
    numbered += _numbered(
        used, fit, doubts, bends, estimates, sigma, lost, plain=plain, hopeless=hopeless
    )
    numbered += open_angle_findings(opened, [one.corner for one in estimates])
    if against:
        if any(one.code == TOO_FEW for one in numbered):
            against.append("half of the straights hold too few points to be read")
        ranges = [(b.first_segment, b.last_segment) for b in bends]
        stretches = unexplained_stretches(fit, ranges, start)
        where = show_stretches(stretches, segments, station_m)
        findings.insert(0, not_explained(scatter, where, against))
    if fit is not None:
        corners = [estimate.corner for estimate in estimates]
        numbered += end_point_findings(used, fit, corners, best.kept.tolist(), max(sigma, scatter))
        asides = [] if hopeless else rows_aside(points, best.kept, fit, sigma)
        numbered += row_findings(asides, corners)
    if not against:
        numbered += order_findings(used, fit, max(sigma, scatter), best.kept)
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


def _numbered(
    used: Floats,
    fit: ChainFit | None,
    doubts: Doubts,
    bends: Sequence[SurveyBend],
    estimates: Sequence[BendEstimate],
    sigma: float,
    lost: Sequence[int],
    *,
    plain: bool,
    hopeless: bool,
) -> list[NumberedFinding]:
    """Return what a person should know that names bends."""
    corners = [estimate.corner for estimate in estimates]
    folded = [] if fit is None else folded_corners(used, fit)
    found = radius_findings(
        [(b.angle_rad, b.angle_sd_rad) for b in bends],
        [b.radius_determined for b in bends],
        [k for k, corner in enumerate(corners) if corner in folded],
    )
    if fit is not None:
        found += straight_findings(fit, corners, doubts)
        clip = CLIP if lost else None
        lone = [] if hopeless else lone_bends(used, fit, corners, sigma, clip)
        found += few_points_findings(fit, doubts, lone, sigma, plain=plain)
        if not hopeless:
            found += split_findings(
                find_splits(lone, sigma, clip), [bend.angle_rad for bend in bends]
            )
            near = doubts.open_m[:, 1] > 0.0
            known = [
                one
                for one in lone
                if bends[one.bend].radius_determined
                and not near[corners[one.bend] : corners[one.bend] + 2].any()
            ]
            found += hidden_findings(find_hidden(known, used.shape[0], sigma))
    return found


def _noise(
    used: Floats,
    best: Pass,
    stated_m: float | None,
    floor_m: float,
    inflation: float,
    *,
    hopeless: bool,
) -> Noise:
    """Return the errors behind the deviations; inflation: what the search allowed for likeness."""
    found = Noise(best.scatter, (inflation**2 - 1.0) / (inflation**2 + 1.0))
    if hopeless:
        # what such a fit leaves is alike because it misses the curve, not by its errors
        found = Noise(best.scatter, 0.0)
    elif best.fit is not None:
        likely = noise_of(used, best.fit, unknowns_of(best.fit))
        if inflation > 1.0 or likely.likeness > 0.0:
            found = likely
    sigma = max(best.scatter, found.sigma_m) if stated_m is None else stated_m
    return replace(found, sigma_m=max(sigma, floor_m))


def _with_arcs(
    points: Floats, offset: Floats, fit: ChainFit, sigma: float, clip: float | None
) -> ChainFit:
    """Return the fit with a radius for every bend: a sharp corner's may shrink to nothing.

    Not so small that double precision loses the tangents of the arc where it really lies.
    """
    far = float(np.abs(points).max() + np.abs(offset).max())
    least = max(_LEAST_RADIUS * sigma, _LEAST_OF_EPSILON * float(np.spacing(far)))
    radii = fit.chain.radii_m
    if not (radii < least).any():
        return fit
    return evaluate_chain(points, replace(fit.chain, radii_m=np.maximum(radii, least)), sigma, clip)


def _with_open(
    estimates: Sequence[BendEstimate], opened: Sequence[OpenAngle]
) -> list[BendEstimate]:
    """Return the bends with the deviations of the angles that few points leave open."""
    sd_rad = {one.corner: one.sd_rad for one in opened}
    return [
        replace(one, angle_sd_rad=sd_rad.get(one.corner, one.angle_sd_rad)) for one in estimates
    ]


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
    if start == end:
        raise InputError(
            "the survey points lie on a straight and the last one where the first one does: put "
            "them in the order of the route, each place once"
        )
    return Straight(start, end)


def answer_of_too_few(points: Floats, accuracy_m: float | None) -> SurveyFit:
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
