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
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, frames
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey.like_pairs import hidden_straight, like_arcs
from analyzer.geometry.survey.models import outer_lines, piece_of, price_of_a_bend
from analyzer.geometry.survey.pairs import two_arcs
from analyzer.geometry.survey.traces import CLEAR_TRACE, seems_plain
from analyzer.units import show_short

__all__ = [
    "Hidden",
    "LoneBend",
    "Split",
    "find_hidden",
    "find_splits",
    "hidden_findings",
    "lone_bends",
    "split_findings",
]

_FEWEST_POINTS = 6
"""Points that a bend and its straights hold at least where anything is asked of them."""

_HIDEABLE = 0.5
"""Longest straight, over the radius, for which first order still tells."""

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


@dataclass(frozen=True, slots=True)
class LoneBend:
    """A bend that touches no other.

    Attributes
    ----------
    bend : int
        Its index.
    points_m : (n, 3) float
        Its points and those of its straights. [m]
    fit : ChainFit
        The bend by itself, as the joint fit has it.
    """

    bend: int
    points_m: Floats
    fit: ChainFit


def lone_bends(
    points: Floats, fit: ChainFit, corners: Sequence[int], sigma: float, clip: float | None
) -> list[LoneBend]:
    """Return the bends that touch no other and hold enough points to be asked anything.

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
        if local.shape[0] >= _FEWEST_POINTS:
            found.append(LoneBend(bend, local, evaluate_chain(local, piece.chain, sigma, clip)))
    return found


def find_splits(bends: Sequence[LoneBend], sigma: float, clip: float | None) -> list[Split]:
    """Return the bends that two bends would explain better, but not so that it is sure.

    Parameters
    ----------
    bends : sequence of LoneBend
        Those that touch no other.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    """
    found = []
    for one in bends:
        local = one.points_m
        a, b, gap = outer_lines(local, one.fit)
        if seems_plain(one.fit, gap, sigma, clip):
            continue
        now = fit_chain(local, one.fit.chain, sigma, clip=clip, tolerance=0.1)
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
                    one.bend,
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


@dataclass(frozen=True, slots=True)
class Hidden:
    """The longest straight in one bend that would not show: the bend's index, what it does."""

    bend: int
    radius_m: float
    length_m: float
    excess_m: float


def find_hidden(bends: Sequence[LoneBend], of_run: int, sigma: float) -> Hidden | None:
    """Return the longest straight that a bend could hide; None without such a bend.

    Parameters
    ----------
    bends : sequence of LoneBend
        The bends in question.
    of_run : int
        Points of the whole run.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    fall = price_of_a_bend(of_run) / 2.0
    found = [
        Hidden(
            one.bend,
            float(one.fit.chain.radii_m[0]),
            *hidden_straight(one.points_m, one.fit, sigma, fall),
        )
        for one in bends
    ]
    return max(found, key=lambda one: one.excess_m, default=None)


def hidden_findings(hidden: Hidden | None) -> list[NumberedFinding]:
    """Return what to know about straights too short to show."""
    if hidden is None:
        return []
    text = (
        "two bends of one radius and plane would be read as one where the straight between them "
        "is too short for these points to show: "
    )
    far = hidden.length_m > _HIDEABLE * hidden.radius_m
    if far:
        text += (
            "half the radius and more in bend {}. Its radius is right only if it is one bend. "
            "Measure more points there, or more accurately, to tell."
        )
    else:
        text += (
            f"up to about {show_short(hidden.length_m)} in bend {{}}. Its radius would then be "
            f"read up to about {show_short(hidden.excess_m)} too large, beyond its deviation."
        )
    return [NumberedFinding("survey-straight-hidden", Severity.NOTE, text, (hidden.bend,))]
