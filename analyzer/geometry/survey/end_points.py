"""Bends at an end of survey points that hang on the end point alone.

One point off the route at the end of a run and the start of a bend there look the same.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.findings import Severity
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.fit import ChainFit
from analyzer.geometry.survey.gaps import line_chi2
from analyzer.geometry.survey.windows import chi2_limit

__all__ = ["end_point_findings"]

_MOST, _FEWEST, _STRAIGHT = 3, 4, 3.0
"""Points on and behind an end bend up to which the last may make it, points that tell a straight
without it, and normal deviations up to which they do."""


def end_point_findings(
    points: Floats, fit: ChainFit, corners: Sequence[int], kept: Sequence[int], sigma: float
) -> list[NumberedFinding]:
    """Return the bends that an end point alone tells: without it the points run on straight.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    corners : sequence of int
        First corner of every bend.
    kept : sequence of int
        Place of every fitted point among all.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    if not corners:
        return []
    chain, side = fit.chain, fit.side
    first, last = int(chain.cuts[1]), int(chain.cuts[-2])
    ends = (
        ("first", 0, 0, points[1:first], int((side[:first] <= 0).sum())),
        ("last", len(corners) - 1, -1, points[last:-1], int((side[last:] >= 0).sum())),
    )
    found = []
    for which, bend, end, others, count in ends:
        if not 0 < count <= _MOST or others.shape[0] < _FEWEST:
            continue
        limit = chi2_limit(2.0 * others.shape[0] - 4.0, _STRAIGHT)
        if line_chi2(others, sigma, None) <= limit:
            text = (
                f"bend {{}} hangs on the {which} point, {{}}, alone: without it the points run on "
                "straight. Where that point stands off the route there is no bend. Check it, or "
                "measure more points there."
            )
            at = int(np.asarray(kept)[end])
            found.append(
                NumberedFinding("survey-end-point", Severity.CAUTION, text, (bend,), (at,))
            )
    return found
