"""Bends whose radius shrank to nothing in the fit, tried again from larger radii.

Where no point or one lies on an arc nothing pulls its radius up again: a corner is a valley of the
likelihood of its own, and a far better arc may lie beyond its rim.

Source: own rule.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.survey.chain import FREE, Chain, frames
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey.models import Trial, piece_of, splice

__all__ = ["leave_valleys"]

_FEW_POINTS = 1
"""Points on an arc up to which its radius may be lost."""

_POINTS = (1.5, 3.0, 6.0, 12.0)
"""Spacings that the arcs tried in its place are long."""

_ROOM = 0.9
"""Part of the shorter leg that the tangent of an arc tried may take."""

_STEPS = 12

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
    spacing = float(np.median(leg_lengths(local))) if local.shape[0] > 1 else 0.0
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
