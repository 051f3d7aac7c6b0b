"""Bends that could be two with a short straight between: seen, but not enough to be read so.

The search takes two bends in place of one only where that is sure, because a false bend is worse
than a radius a little off. What lies between sure and unseen is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees

import numpy as np

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import show_short
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey_chain import FREE, frames
from analyzer.geometry.survey_fit import ChainFit, fit_chain
from analyzer.geometry.survey_models import outer_lines, piece_of
from analyzer.geometry.survey_pairs import like_arcs, two_arcs
from analyzer.geometry.survey_traces import CLEAR_TRACE, seems_plain

__all__ = ["Split", "find_splits", "split_findings"]

_GAIN, _LIKE_GAIN = 14.0, 9.0
"""Falls of chi-square that are told: two bends of any kind, and two of one radius and plane.

One bend alone falls by so much about once in 200, and once in 400.
"""


@dataclass(frozen=True, slots=True)
class Split:
    """Two bends that could stand in place of one: the bend's index, their angles and radii."""

    bend: int
    angles_rad: tuple[float, float]
    radii_m: tuple[float, float]


def find_splits(
    points: Floats, fit: ChainFit, corners: Sequence[int], sigma: float, clip: float | None
) -> list[Split]:
    """Return the bends that two bends would explain better, but not so that it is sure.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The chosen chain, fitted.
    corners : sequence of int
        First corner of every bend.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    """
    joints = fit.chain.joints
    found = []
    for bend, k in enumerate(corners):
        if joints[k] != FREE or (k > 0 and joints[k - 1] != FREE):
            continue
        piece = piece_of(fit, k, k)
        local = points[piece.low : piece.high]
        now = fit_chain(local, piece.chain, sigma, clip=clip, tolerance=0.1)
        a, b, gap = outer_lines(local, now)
        if seems_plain(now, gap, sigma, clip):
            continue
        pair = like_arcs(local, now, sigma, clip)
        if pair is None or now.chi2 - pair.chi2 < _LIKE_GAIN:
            if seems_plain(now, gap, sigma, clip, most=CLEAR_TRACE):
                continue
            pair = two_arcs(local, a, b, gap, sigma, clip)
            if pair is None or now.chi2 - pair.chi2 < _GAIN:
                continue
        angles = frames(pair.chain).angle
        if np.all(pair.chain.radii_m > 0.0):
            found.append(
                Split(
                    bend,
                    (float(angles[0]), float(angles[-1])),
                    (float(pair.chain.radii_m[0]), float(pair.chain.radii_m[-1])),
                )
            )
    return found


def split_findings(splits: Sequence[Split], angles: Sequence[float]) -> list[NumberedFinding]:
    """Return what to know about bends that could be two.

    Parameters
    ----------
    splits : sequence of Split
        Those found.
    angles : sequence of float
        Angle of every bend as read. [rad]
    """
    return [
        NumberedFinding(
            "survey-one-or-two",
            Severity.CAUTION,
            f"bend {{}} ({degrees(angles[one.bend]):.1f}°) could be two with a short "
            f"straight between: {degrees(one.angles_rad[0]):.0f}° R {show_short(one.radii_m[0])} "
            f"and {degrees(one.angles_rad[1]):.0f}° R {show_short(one.radii_m[1])} explain the "
            "points better, but not so that it is sure. Where it is two, the radius read is too "
            "large. Measure more points there, or draw the bends.",
            (one.bend,),
        )
        for one in splits
    ]
