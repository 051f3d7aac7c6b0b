"""Straights that hold few points: whether the bends beside them are read right all the same.

A straight that holds fewer than four points tells little by itself. Where arcs hold points enough,
where the points scatter about the fit as stated and none was left out, and where a straight of half
a radius in one bend would show, the bends tell the straights between them; else nothing does.

Source: own criteria, by trial on drawn routes.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from analyzer.findings import Severity
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.survey.chain import FREE
from analyzer.geometry.survey.doubts import Doubts
from analyzer.geometry.survey.fit import ChainFit
from analyzer.geometry.survey.like_pairs import hidden_straight
from analyzer.geometry.survey.models import price_of_a_bend
from analyzer.geometry.survey.splits import LoneBend

__all__ = ["FEW", "FEWEST_ON_A_STRAIGHT", "TOO_FEW", "few_points_findings"]

FEW = "survey-few-points"

TOO_FEW = "survey-too-few-points"

FEWEST_ON_A_STRAIGHT = 4
"""Points on a straight that survey points are read from: of three, trials went astray."""

_FEWEST_ON_AN_ARC = 3
"""Points that half of the arcs hold at least where they make up for the straights."""

_HIDDEN = 0.5
"""Straight over the radius that may not hide in half of the bends where they make up for it."""


def few_points_findings(
    fit: ChainFit, doubts: Doubts, lone: Sequence[LoneBend], sigma: float, *, plain: bool
) -> list[NumberedFinding]:
    """Return what to know where half of the straights hold few points: an error or a caution.

    Parameters
    ----------
    fit : ChainFit
        The joint fit.
    doubts : Doubts
        What it leaves open.
    lone : sequence of LoneBend
        Bends that touch no other.
    sigma : float
        Standard deviation of one coordinate. [m]
    plain : bool
        Whether nothing else speaks against the fit: scatter, errors that are alike, outliers.
    """
    counts = _on_straights(fit, doubts)
    if not counts or float(np.median(counts)) >= FEWEST_ON_A_STRAIGHT:
        return []
    few = f"half of the straights hold {_few(int(np.median(counts)))}"
    if plain and _arcs_tell(fit, lone, sigma):
        return [
            NumberedFinding(
                FEW,
                Severity.CAUTION,
                f"{few}, where {FEWEST_ON_A_STRAIGHT} a straight are needed to tell by themselves. "
                "The bends are told by the points on the arcs, which hold enough for it. Measure "
                "closer to be sure, or say how the route was drawn.",
            )
        ]
    return [
        NumberedFinding(
            TOO_FEW,
            Severity.ERROR,
            f"{few}: not readable as survey data, which needs at least {FEWEST_ON_A_STRAIGHT} a "
            "straight. Measure closer, or say how the route was drawn.",
        )
    ]


def _on_straights(fit: ChainFit, doubts: Doubts) -> list[int]:
    """Return the points on each straight that is told."""
    chain, side = fit.chain, fit.side
    m = chain.radii_m.size
    counts = []
    if not chain.bare_start and chain.lead_m is None:
        counts.append(int((side[: chain.cuts[1]] < 0).sum()))
    for k in range(m - 1):
        after = int((side[chain.cuts[k] : chain.cuts[k + 1]] > 0).sum())
        before = int((side[chain.cuts[k + 1] : chain.cuts[k + 2]] < 0).sum())
        if chain.joints[k] == FREE and not doubts.open_m[k + 1, 1] > 0.0:
            counts.append(after + before)
    if not chain.bare_end and chain.tail_m is None:
        counts.append(int((side[chain.cuts[-2] :] > 0).sum()))
    return counts


def _arcs_tell(fit: ChainFit, lone: Sequence[LoneBend], sigma: float) -> bool:
    """Whether the points on the arcs make up for those that the straights do not hold."""
    cuts = fit.chain.cuts
    on_arcs = [int((fit.side[low:high] == 0).sum()) for low, high in pairwise(cuts)]
    if not lone or float(np.median(on_arcs)) < _FEWEST_ON_AN_ARC:
        return False
    fall = price_of_a_bend(fit.side.size) / 2.0
    hidden = [
        hidden_straight(one.points_m, one.fit, sigma, fall)[0] / float(one.fit.chain.radii_m[0])
        for one in lone
    ]
    return float(np.median(hidden)) <= _HIDDEN


def _few(points: int) -> str:
    if points == 0:
        return "no points"
    return "one point or none" if points == 1 else f"{points} points or fewer"
