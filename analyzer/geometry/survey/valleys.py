"""Bends whose radius shrank to nothing in the fit, tried again from larger radii.

Where no point or one lies on an arc nothing pulls its radius up again: a corner is a valley of the
likelihood of its own, and a far better arc may lie beyond its rim. In a saddle, where the straights
between the bends hold few points too, the bends share their turn otherwise in each valley: none
leaves it without its neighbors, and they are tried together, as bends of one radius.

Source: own rule.
"""

from __future__ import annotations

from dataclasses import replace
from math import radians

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, Bools, Chain, frames
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey.models import Trial, piece_of, splice

__all__ = [
    "close_runs",
    "leave_valleys",
    "leave_valleys_together",
    "of_one_radius",
    "spacing_of",
    "turns_back",
]

_FEW_POINTS = 1
"""Points on an arc up to which its radius may be lost."""

_POINTS = (1.5, 3.0, 6.0, 12.0)
"""Spacings that the arcs tried in its place are long."""

_BACK_RAD = radians(90.0)
"""Angle above which a bend of less radius than the points are apart is no choice. [rad]"""

_FEW_BETWEEN = 8
"""Points from corner to corner below which bends may share their turn otherwise."""

_MOST_TOGETHER = 4
"""Bends that are tried together."""

_COMMON_POINTS = (0.5, 1.0, 1.5, 2.0, 3.0)
"""Spacings that the mean arc of bends tried together is long."""

_SPARE = 2.0
"""Work that must be left for bends tried together, over what they take."""

_ROOM, _ROOM_TOGETHER = 0.9, 0.45
"""Part of the shorter leg that the tangent of an arc tried may take: alone, and beside another."""

_STEPS = 12
"""Steps of a trial fit at most. Own choice."""

_BETTER = 1.0
"""Fall of chi-square that makes another radius the better one."""


def leave_valleys(trial: Trial, fit: ChainFit) -> ChainFit:
    """Return the joint fit with larger radii where they explain the points better.

    Parameters
    ----------
    trial : Trial
        Points and accuracy.
    fit : ChainFit
        The joint fit.
    """
    chain = fit.chain
    found = fit
    for k in range(chain.radii_m.size):
        on_arc = int((fit.side[chain.cuts[k] : chain.cuts[k + 1]] == 0).sum())
        alone = chain.joints[k] == FREE and (k == 0 or chain.joints[k - 1] == FREE)
        if on_arc <= _FEW_POINTS and alone:
            better = _larger(trial, found, k)
            if better is not None:
                found = evaluate_chain(trial.points, better, trial.sigma, trial.clip)
    if found is fit:
        return fit
    found = fit_chain(trial.points, found.chain, trial.sigma, clip=trial.clip, tolerance=1e-4)
    return found if found.chi2 < fit.chi2 else fit


def _larger(trial: Trial, fit: ChainFit, k: int) -> Chain | None:
    """Return the chain with a larger radius of a bend, where that is clearly better."""
    piece = piece_of(fit, k, k)
    local = trial.points[piece.low : piece.high]
    if not trial.effort.spend(_STEPS, local.shape[0]):
        return None
    spacing = spacing_of(local)
    if spacing <= 0.0:
        # too few places in the piece, or most of them measured again and again
        return None
    f = frames(piece.chain)
    angle = float(f.angle[0])
    longest = _ROOM * float(min(f.l1[0], f.l2[0])) / np.tan(angle / 2.0)
    now = fit_chain(local, piece.chain, trial.sigma, clip=trial.clip, tolerance=0.1)
    best = now
    for points in _POINTS:
        radius = points * spacing / angle
        if radius > longest:
            break
        start = replace(piece.chain, radii_m=np.array([radius]))
        fit_there = fit_chain(
            local, start, trial.sigma, clip=trial.clip, steps=_STEPS, tolerance=0.1
        )
        if fit_there.chi2 < best.chi2:
            best = fit_there
    return splice(fit.chain, piece, best.chain) if best.chi2 < now.chi2 - _BETTER else None


def leave_valleys_together(trial: Trial, fit: ChainFit) -> ChainFit:
    """Return the joint fit with other radii of bends close together where they explain it better.

    Parameters
    ----------
    trial : Trial
        Points and accuracy.
    fit : ChainFit
        The joint fit, every bend with a radius of its own.
    """
    found = fit
    for first, last in close_runs(fit):
        better = _all_larger(trial, found, first, last)
        if better is not None:
            found = evaluate_chain(trial.points, better, trial.sigma, trial.clip)
    if found is fit:
        return fit
    found = fit_chain(
        trial.points, found.chain, trial.sigma, clip=trial.clip, tolerance=1e-4, firm=True
    )
    return found if found.chi2 < fit.chi2 else fit


def close_runs(fit: ChainFit) -> list[tuple[int, int]]:
    """Return the first and last of neighboring bends between which hardly a point lies.

    The straights between them hold few points, and one arc at least holds one or none.

    Parameters
    ----------
    fit : ChainFit
        The joint fit.
    """
    chain, side = fit.chain, fit.side
    m = chain.radii_m.size
    on_arc = [int((side[chain.cuts[k] : chain.cuts[k + 1]] == 0).sum()) for k in range(m)]
    runs: list[tuple[int, int]] = []
    first = 0
    for k in range(m):
        together = k + 1 < m and chain.joints[k] == FREE and k + 1 - first < _MOST_TOGETHER
        if together and _between(fit, k) < _FEW_BETWEEN:
            continue
        alone = (first == 0 or chain.joints[first - 1] == FREE) and chain.joints[k] == FREE
        if alone and k > first and min(on_arc[first : k + 1]) <= _FEW_POINTS:
            runs.append((first, k))
        first = k + 1
    return runs


def _between(fit: ChainFit, k: int) -> int:
    """Return the points from about the middle of a bend to that of the next."""
    side, cuts = fit.side, fit.chain.cuts
    own, next_one = side[cuts[k] : cuts[k + 1]], side[cuts[k + 1] : cuts[k + 2]]
    on_arcs = int((own == 0).sum() + (next_one == 0).sum())
    return int((own > 0).sum() + (next_one < 0).sum()) + on_arcs // 2


def _all_larger(trial: Trial, fit: ChainFit, first: int, last: int) -> Chain | None:
    """Return the chain with one common radius of close bends to start from, where that is better.

    Every bend has a radius of its own in the fit.
    """
    piece = piece_of(fit, first, last)
    local = trial.points[piece.low : piece.high]
    spacing = spacing_of(local)
    steps = _STEPS * len(_COMMON_POINTS)
    if spacing <= 0.0 or trial.effort.left < _SPARE * steps:
        # the reading is whole without this: work that it lacks does not cut the search short
        return None
    trial.effort.spend(steps, local.shape[0])
    now = fit_chain(local, piece.chain, trial.sigma, clip=trial.clip, tolerance=0.1)
    best = now
    for start in of_one_radius(piece.chain, spacing):
        found = fit_chain(local, start, trial.sigma, clip=trial.clip, steps=_STEPS, tolerance=0.1)
        if found.chi2 < best.chi2:
            best = found
    return splice(fit.chain, piece, best.chain) if best.chi2 < now.chi2 - _BETTER else None


def of_one_radius(chain: Chain, spacing_m: float) -> list[Chain]:
    """Return chains with one radius for all bends, as far as their legs have room for it.

    Parameters
    ----------
    chain : Chain
        Bends close together.
    spacing_m : float
        Distance from point to point. [m]
    """
    f = frames(chain)
    room = _ROOM_TOGETHER * np.minimum(f.l1, f.l2) / np.tan(f.angle / 2.0)
    radii = [points * spacing_m / float(f.angle.mean()) for points in _COMMON_POINTS]
    return [replace(chain, radii_m=np.minimum(radius, room)) for radius in radii]


def turns_back(points: Floats, chain: Chain, above_rad: float = _BACK_RAD) -> Bools:
    """Return which bends turn by more than an angle within the spacing of the points.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    chain : Chain
        The bends.
    above_rad : float
        The angle; a quarter turn by default. [rad]
    """
    return (chain.radii_m < spacing_of(points)) & (frames(chain).angle > above_rad)


def spacing_of(points: Floats) -> float:
    """Return the median distance from point to point; 0 where there is one point or none. [m]"""
    return float(np.median(leg_lengths(points))) if points.shape[0] > 1 else 0.0
