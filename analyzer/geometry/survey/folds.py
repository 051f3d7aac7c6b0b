"""Bends that fold the path back on itself between two points: hairpins that nobody bends.

Where hardly a point lies between two corners, the fit may pass one beyond the other: the leg
between them then runs back, and both fold. With the corners in their order gentle bends often
explain the points as well, with fewer assumptions. Where they do not, the folds stay and are said.

Source: own rule.
"""

from __future__ import annotations

from dataclasses import replace
from math import radians

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, HALVES, frames, owner_of
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey.gaps import Line
from analyzer.geometry.survey.models import foot_on, piece_of, splice
from analyzer.geometry.survey.valleys import of_one_radius, spacing_of, turns_back

__all__ = ["folded_corners", "unfold"]

_FOLD_RAD = radians(150.0)
"""Angle above which a bend of less radius than the points are apart folds the path back. [rad]"""

_AS_WELL = 1.0
"""Rise of chi-square up to which gentle bends explain the points as well."""

_STEPS = 60
"""Steps of a fit at most. Own choice."""


def folded_corners(points: Floats, fit: ChainFit) -> list[int]:
    """Return the corners at which a chain folds back within the spacing of its points.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    """
    chain = fit.chain
    folded = turns_back(points, chain, _FOLD_RAD)
    halves = chain.joints == HALVES
    halves[1:] |= halves[:-1].copy()
    return [int(k) for k in np.flatnonzero(folded & ~halves)]


def unfold(points: Floats, fit: ChainFit, sigma: float, clip: float | None) -> ChainFit:
    """Return the fit with gentler bends in place of folds where they explain the points as well.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    """
    folded = folded_corners(points, fit)
    for corner in folded:
        pair_joined = corner + 1 in folded and fit.chain.joints[corner] == FREE
        if pair_joined and corner in folded_corners(points, fit):
            fit = _in_order(points, fit, corner, sigma, clip)
    return fit


def _in_order(
    points: Floats, fit: ChainFit, corner: int, sigma: float, clip: float | None
) -> ChainFit:
    """Return the fit with a corner and the next exchanged where that explains the points too."""
    joints, m = fit.chain.joints, fit.chain.radii_m.size
    first, last = max(corner - 1, 0), min(corner + 2, m - 1)
    while first > 0 and joints[first - 1] != FREE:
        first -= 1
    while last < m - 1 and joints[last] != FREE:
        last += 1
    piece = piece_of(fit, first, last)
    local = points[piece.low : piece.high]
    at = corner - first + 1
    pair = slice(at - 1, at + 1)
    nodes = _beside_points(local, evaluate_chain(local, piece.chain, sigma, clip), at - 1)
    if nodes is None:
        return fit
    chain = replace(piece.chain, nodes_m=nodes)
    best: ChainFit | None = None
    for start in of_one_radius(chain, spacing_of(local)):
        radii = np.minimum(chain.radii_m, start.radii_m)
        radii[pair] = start.radii_m[pair]
        started = replace(chain, radii_m=radii)
        found = fit_chain(local, started, sigma, clip=clip, tolerance=0.02, steps=_STEPS)
        if best is None or found.chi2 < best.chi2:
            best = found
    if best is None:
        return fit
    moved = splice(fit.chain, piece, best.chain)
    whole = fit_chain(points, moved, sigma, clip=clip, tolerance=1e-3, steps=_STEPS)
    whole = fit_chain(points, whole.chain, sigma, clip=clip, tolerance=1e-4, firm=True)
    before = evaluate_chain(points, fit.chain, sigma, clip).chi2
    turns = [float(frames(one.chain).angle.sum()) for one in (whole, fit)]
    return whole if whole.chi2 <= before + _AS_WELL and turns[0] < turns[1] else fit


def _beside_points(local: Floats, fit: ChainFit, bend: int) -> Floats | None:
    """Return the corners, a bend and the next at the points nearest to them on their outer legs.

    None where there are no such points.
    """
    nodes, side = fit.chain.nodes_m.copy(), fit.side
    owner = owner_of(fit.chain)
    on_before = ((owner == bend) & (side < 0)) | ((owner == bend - 1) & (side > 0))
    on_after = ((owner == bend + 1) & (side > 0)) | ((owner == bend + 2) & (side < 0))
    before, after = np.flatnonzero(on_before), np.flatnonzero(on_after)
    if not before.size or not after.size:
        return None
    u = frames(fit.chain)
    last, first = local[before[-1]], local[after[0]]
    into, out = Line(nodes[bend + 1], u.u1[bend]), Line(nodes[bend + 2], u.u2[bend + 1])
    nodes[bend + 1], nodes[bend + 2] = foot_on(last, into), foot_on(first, out)
    return nodes
