"""Bends that touch: whether the straight between two of them earns its place.

Source: own criterion; see `survey_models` for the price of a model.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, TOUCHING, frames
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey.models import Trial, piece_of, splice

__all__ = ["touch_all", "touch_wins", "touching"]

_PLAIN_GAP = 0.5
"""Straight between two bends, over the smaller radius, that is never read as none."""

_NEAR = 0.7
"""Straight after a bend, over its radius, up to which touching is tried."""

_TOUCH_STEPS = 50
"""Steps that a trial of touching bends takes, about."""

_DOUBT = 1.0
"""Chi-square a straight between two bends must earn beyond its length's own price."""


def touching(trial: Trial, local: Floats, fit: ChainFit, k: int) -> ChainFit:
    """Return the fit with bends k and k + 1 touching.

    Parameters
    ----------
    trial : Trial
        Accuracy and clip.
    local : (n, 3) float
        Points of the piece. [m]
    fit : ChainFit
        The piece, fitted.
    k : int
        The first of the two bends.
    """
    joints = fit.chain.joints.copy()
    joints[k] = TOUCHING
    chain = replace(fit.chain, joints=joints)
    # the split between two touching bends is a flat, curved valley: many short steps
    return fit_chain(local, chain, trial.sigma, clip=trial.clip, tolerance=0.02, steps=150)


def touch_wins(trial: Trial, fit: ChainFit, close: ChainFit, k: int) -> bool:
    """Whether the straight between bends k and k + 1 does not earn its place.

    The longer it would be, the less it must earn.

    Parameters
    ----------
    trial : Trial
        Accuracy, and the price of an unknown.
    fit, close : ChainFit
        The piece with the straight, and without.
    k : int
        The first of the two bends.
    """
    f = frames(fit.chain)
    slack = float(f.l2[k] - f.tangent[k] - f.tangent[k + 1])
    share = slack / (_PLAIN_GAP * float(min(fit.chain.radii_m[k], fit.chain.radii_m[k + 1])))
    allowed = (trial.log_points + _DOUBT) * max(1.0 - max(share, 0.0) ** 2, 0.0)
    return close.chi2 < fit.chi2 + allowed


def touch_all(trial: Trial, fit: ChainFit) -> ChainFit:
    """Return the joint fit without the straights that the points do not ask for.

    Parameters
    ----------
    trial : Trial
        Points, accuracy, and the work still allowed.
    fit : ChainFit
        The joint fit.
    """
    chain = fit.chain
    m = chain.radii_m.size
    if m < 2:
        return fit
    f = frames(chain)
    slack = f.l2[:-1] - f.tangent[:-1] - f.tangent[1:]
    changed = False
    for k in np.flatnonzero((chain.joints[:-1] == FREE) & (slack < _NEAR * chain.radii_m[:-1])):
        joints = fit.chain.joints
        first = k - 1 if k > 0 and joints[k - 1] != FREE else k
        last = k + 2 if joints[k + 1] != FREE else k + 1
        piece = piece_of(fit, int(first), int(last))
        local = trial.points[piece.low : piece.high]
        if not trial.effort.spend(_TOUCH_STEPS, local.shape[0]):
            break
        now = fit_chain(local, piece.chain, trial.sigma, clip=trial.clip, tolerance=0.02)
        close = touching(trial, local, now, int(k - first))
        if touch_wins(trial, now, close, int(k - first)):
            chain = splice(fit.chain, piece, close.chain)
            fit = evaluate_chain(trial.points, chain, trial.sigma, trial.clip)
            changed = True
    if not changed:
        return fit
    return fit_chain(trial.points, fit.chain, trial.sigma, clip=trial.clip, tolerance=1e-4)
