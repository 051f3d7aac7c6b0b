"""The end points of a survey: those that stand off the route, and bends that hang on one alone.

The last bend bows to an end point that stands off, as nothing on its far side speaks against it:
what is left of its distance is small, and only a fit without the point shows it. One point off the
route at the end of a run and the start of a bend there look the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log1p

import numpy as np
from numpy.typing import NDArray

from analyzer.findings import Severity
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, Chain
from analyzer.geometry.survey.fit import ChainFit, fit_chain, fit_line
from analyzer.geometry.survey.gaps import line_chi2
from analyzer.geometry.survey.models import SHARE, piece_of, reversed_chain
from analyzer.geometry.survey.suspects import price_of_a_point
from analyzer.geometry.survey.windows import chi2_limit

__all__ = ["end_point_findings", "less_ends", "without_ends_off"]

_MOST, _FEWEST, _STRAIGHT = 3, 4, 3.0
"""Points on and behind an end bend up to which the last may make it, points that tell a straight
without it, and normal deviations up to which they do."""

_SPARE, _AGREE = 4, 3.0
"""Coordinates beyond the unknowns that the points beside an end have at least, to speak against it;
and normal deviations up to which they agree. Own choice."""

_CLOSE = 0.1
"""How close chi-square is told. Own choice."""

_WITH = 3
"""Points in a row that are still there with the end. Own choice."""

_FAR = 3.5
"""Accuracies that an end stands off at least: more than the steps of rounded coordinates do. Own
choice."""


def without_ends_off(
    points: Floats, kept: NDArray[np.intp], fit: ChainFit | None, sigma: float
) -> NDArray[np.intp]:
    """Return the points kept less the first or last one where the others do better without it.

    That is: chi-square falls by what leaving out a point must earn, and the others agree, none of
    those next to it left out before. An accuracy may be too large by what the end itself adds to
    the scatter: the criterion of Schwarz for a scatter that is not known counts as well.

    Parameters
    ----------
    points : (n, 3) float
        All points, near the origin. [m]
    kept : (k,) int
        Those fitted, rising.
    fit : ChainFit or None
        Their fit; None for a straight.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    n = points.shape[0]
    price = price_of_a_point(n)
    # beside others left out it may be what is left of a bend
    whole = {0: kept[_WITH - 1] == _WITH - 1, -1: kept[-_WITH] == n - _WITH}
    used = points[kept]
    residuals = fit_line(used)[2] if fit is None else fit.residuals_m
    total = float((residuals**2).sum()) / sigma**2
    spare = 2 * kept.size - 4 * (1 if fit is None else fit.chain.radii_m.size + 1)
    off = []
    for end in (0, -1):
        fall = _fall_without(used, fit, end, sigma) if whole[end] else 0.0
        own = spare * log1p(fall / max(total - fall, 1e-9))
        if fall > price or (fall > _FAR**2 and own > price):
            off.append(end)
    return np.delete(kept, off) if off else kept


def less_ends(chain: Chain, kept: NDArray[np.intp], fewer: NDArray[np.intp]) -> Chain:
    """Return the chain through kept points over fewer of them: less the first, the last or both.

    Parameters
    ----------
    chain : Chain
        The chain through all `kept`.
    kept, fewer : (k,) int, (l,) int
        Places among all points, rising.
    """
    first = int(np.searchsorted(kept, fewer[0]))
    cuts = np.clip(chain.cuts - first, 0, fewer.size)
    return replace(chain, cuts=cuts.astype(np.intp))


def _fall_without(points: Floats, fit: ChainFit | None, end: int, sigma: float) -> float:
    """Return the fall of chi-square of the bend (or straight) at an end without the end point.

    Zero where the others are too few to speak against it, or do not agree.
    """
    if fit is None:
        near = points[:SHARE] if end == 0 else points[-SHARE:]
        rest = near[1:] if end == 0 else near[:-1]
        left, whole = line_chi2(rest, sigma, None), line_chi2(near, sigma, None)
        spare = 2 * rest.shape[0] - 4
    else:
        joints = fit.chain.joints
        first = last = 0 if end == 0 else joints.size - 1
        while end == 0 and joints[last] != FREE:
            last += 1
        while end != 0 and first > 0 and joints[first - 1] != FREE:
            first -= 1
        piece = piece_of(fit, first, last)
        near, chain = points[piece.low : piece.high], piece.chain
        places = np.arange(near.shape[0])
        less = places[1:] if end == 0 else places[:-1]
        spare = 2 * less.size - 4 * chain.radii_m.size - 4
        if spare < _SPARE:
            return 0.0
        fewer = less_ends(chain, places, less)
        left = fit_chain(near[less], fewer, sigma, tolerance=_CLOSE).chi2
        whole = fit_chain(near, chain, sigma, tolerance=_CLOSE).chi2
    agree = spare >= _SPARE and left <= chi2_limit(spare, _AGREE)
    return max(whole - left, 0.0) if agree else 0.0


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
        if not 0 < count <= _MOST:
            continue
        if others.shape[0] >= _FEWEST:
            limit = chi2_limit(2.0 * others.shape[0] - 4.0, _STRAIGHT)
            hangs = line_chi2(others, sigma, None) <= limit
        else:
            hangs = _next_bend_goes_on(points, fit, end, sigma)
        if hangs:
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


def _next_bend_goes_on(points: Floats, fit: ChainFit, end: int, sigma: float) -> bool:
    """Whether the bend next to that at an end, its straights run on, explains all but the end."""
    m = fit.chain.radii_m.size
    first = 0 if end == 0 else m - 2
    if m < 2 or fit.chain.joints[first] != FREE:
        return False
    piece = piece_of(fit, first, first + 1)
    near, chain = points[piece.low : piece.high], piece.chain
    if end != 0:
        near, chain = near[::-1], reversed_chain(chain)
    rest = near[1:]
    spare = 2 * rest.shape[0] - 8
    if spare < _SPARE:
        return False
    alone = Chain(
        chain.nodes_m[[0, 2, 3]],
        chain.radii_m[1:],
        np.array([0, rest.shape[0]], dtype=np.intp),
        chain.joints[1:],
        bare_end=chain.bare_end,
        tail_m=chain.tail_m,
    )
    return fit_chain(rest, alone, sigma, tolerance=_CLOSE).chi2 <= chi2_limit(spare, _AGREE)
