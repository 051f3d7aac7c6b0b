"""Bends so near each other that the points hardly tell how long the straight between them is.

The longer that straight, the smaller the radii beside it, and the angles of the two move against
each other in a long, flat valley of the likelihood that ends where the bends touch. The straight is
therefore neither taken as none nor as the most likely one but as its mean over the profile of the
likelihood; what all other lengths would move adds to the deviations of angles and radii.

Source: own derivation; mean and variance under a flat prior over lengths, touching counted as much
as all lengths together that the points allow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey_chain import FREE, HALVES, TOUCHING, Chain, frames
from analyzer.geometry.survey_doubts import Doubts, no_doubts, reported_angles
from analyzer.geometry.survey_fit import (
    ChainFit,
    evaluate_chain,
    fit_chain,
    normal_band,
    slack_gradients,
    solve_band,
)
from analyzer.geometry.survey_models import piece_of, splice

__all__ = ["settle_straights"]

_SHORT = 0.7
"""Straight between two bends, over a radius of theirs, that might be none."""

_CLEAR = 16.0
"""Rise of chi-square (four deviations) beyond which a length is out of the question."""

_OPEN = 4.0
"""Rise of chi-square up to which a length is not ruled out (two deviations)."""

_STEP, _GROWTH = 0.5, 1.15
"""First step of the profile, in deviations, and how the steps grow."""

_FEWEST = 12
"""Steps over the longest length where the deviation is longer."""

_STEEP, _MORE = 2.0, 12
"""Change of chi-square from length to length that asks for one between, and most of those."""

_STEPS = 100


@dataclass(frozen=True, slots=True)
class _Profile:
    """Fits with the straight held at lengths around the most likely one, from none up."""

    lengths_m: Floats
    fits: tuple[ChainFit, ...]

    @property
    def rises(self) -> Floats:
        """Chi-square over the least."""
        costs = np.array([fit.chi2 for fit in self.fits])
        return np.asarray(costs - costs.min())

    @property
    def weights(self) -> Floats:
        """Weight of every length; touching counts beforehand as much as all likely lengths."""
        likely = np.exp(-0.5 * self.rises)
        steps = np.diff(self.lengths_m)
        shares = np.zeros(likely.size)
        shares[:-1] += steps / 2.0
        shares[1:] += steps / 2.0
        shares[0] += float(likely @ shares)
        return np.asarray(likely * shares / (likely * shares).sum())

    def nearest(self, length_m: float) -> ChainFit:
        """Return the fit whose length is nearest."""
        return self.fits[int(np.argmin(np.abs(self.lengths_m - length_m)))]


def settle_straights(
    points: Floats, fit: ChainFit, sigma: float, clip: float | None
) -> tuple[ChainFit, Doubts]:
    """Return the fit with every doubtful straight at its mean, and what that leaves open.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The chosen chain, fitted.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    """
    m = fit.chain.radii_m.size
    doubts = no_doubts(m)
    settled = False
    for k in range(m - 1):
        chain = fit.chain
        joints = chain.joints
        f = frames(chain)
        slack = float(f.l2[k] - f.tangent[k] - f.tangent[k + 1])
        limit = _SHORT * float(chain.radii_m[k : k + 2].max())
        if joints[k] == HALVES or (joints[k] == FREE and slack > limit):
            continue
        first = k - 1 if k > 0 and joints[k - 1] != FREE else k
        last = k + 2 if joints[k + 1] != FREE else k + 1
        piece = piece_of(fit, first, last)
        local = points[piece.low : piece.high]
        profile = _profile_of(local, piece.chain, k - first, sigma, limit)
        if profile is None:
            continue
        mean = float(profile.weights @ profile.lengths_m)
        now = _held_at(local, profile.nearest(mean).chain, k - first, mean, sigma)
        _add(doubts, local, profile, now, (first, last, k))
        fit = evaluate_chain(points, splice(chain, piece, now.chain), sigma, clip)
        settled = True
    if settled:
        fit = fit_chain(points, fit.chain, sigma, clip=clip, tolerance=1e-4, firm=True)
    return fit, doubts


def _held_at(local: Floats, chain: Chain, k: int, length_m: float, sigma: float) -> ChainFit:
    """Return the fit with the straight after bend k held at a length."""
    joints = chain.joints.copy()
    joints[k] = TOUCHING
    gaps = np.zeros(joints.size - 1) if chain.gaps_m is None else chain.gaps_m.copy()
    gaps[k] = length_m
    start = replace(chain, joints=joints, gaps_m=gaps)
    return fit_chain(local, start, sigma, tolerance=0.02, steps=_STEPS)


def _deviation(local: Floats, chain: Chain, k: int, sigma: float, limit: float) -> float:
    """Return the deviation of the straight after bend k where it is free; at most the limit."""
    joints = chain.joints.copy()
    joints[k] = FREE
    gaps = np.zeros(joints.size - 1) if chain.gaps_m is None else chain.gaps_m.copy()
    gaps[k] = -np.inf  # an overlap pushes nothing back here
    free = replace(chain, joints=joints, gaps_m=gaps)
    band = normal_band(local, free)
    gradient = np.zeros(band.shape[1])
    gradient[4 * k : 4 * k + 16] = slack_gradients(free, frames(free), np.array([k]))[0]
    solved = solve_band(band, gradient)
    variance = np.inf if solved is None else float(gradient @ solved)
    return min(sigma * float(np.sqrt(variance)), limit) if variance > 0.0 else limit


def _profile_of(local: Floats, chain: Chain, k: int, sigma: float, limit: float) -> _Profile | None:
    """Return the profile of the straight after bend k; None where it is clearly there."""
    f = frames(chain)
    likely = max(float(f.l2[k] - f.tangent[k] - f.tangent[k + 1]), 0.0)
    begin = _held_at(local, chain, k, likely, sigma)
    deviation = _deviation(local, begin.chain, k, sigma, limit)
    if likely > 0.0 and chain.joints[k] == FREE:
        none = _held_at(local, begin.chain, k, 0.0, sigma)
        if none.chi2 - begin.chi2 > _CLEAR:
            return None
    found = {likely: begin}
    for way, end in ((-1.0, 0.0), (1.0, limit)):
        step = min(_STEP * deviation, limit / _FEWEST)
        at, now = likely, begin
        while way * (end - at) > 0.0:
            at = at + way * step
            if way * (end - at) < 0.2 * step:
                at = end
            now = _held_at(local, now.chain, k, at, sigma)
            found[at] = now
            if now.chi2 - min(fit.chi2 for fit in found.values()) > _CLEAR:
                break
            step *= _GROWTH
    _refine(local, found, k, sigma)
    lengths = sorted(found)
    return _Profile(np.array(lengths), tuple(found[at] for at in lengths))


def _refine(local: Floats, found: dict[float, ChainFit], k: int, sigma: float) -> None:
    """Fit again from the better neighbor, and between lengths where the profile is steep."""
    lengths = sorted(found)
    for order in (lengths, lengths[::-1]):
        for before, at in pairwise(order):
            other = _held_at(local, found[before].chain, k, at, sigma)
            if other.chi2 < found[at].chi2:
                found[at] = other
    for _ in range(_MORE):
        lengths = sorted(found)
        rises = np.array([found[at].chi2 for at in lengths])
        rises -= rises.min()
        changes = np.where(np.minimum(rises[:-1], rises[1:]) < _OPEN, np.abs(np.diff(rises)), 0.0)
        steepest = int(np.argmax(changes))
        if not changes[steepest] > _STEEP:
            break
        low, high = lengths[steepest], lengths[steepest + 1]
        middle = 0.5 * (low + high)
        tried = [_held_at(local, found[at].chain, k, middle, sigma) for at in (low, high)]
        found[middle] = min(tried, key=lambda fit: fit.chi2)


def _add(
    doubts: Doubts, local: Floats, profile: _Profile, now: ChainFit, place: tuple[int, int, int]
) -> None:
    """Add what other lengths would move; place: the bends of the piece and the first of the two."""
    first, last, k = place
    angles = np.array([reported_angles(local, fit) for fit in profile.fits])
    angles -= reported_angles(local, now)
    radii = np.array([fit.chain.radii_m for fit in profile.fits]) - now.chain.radii_m
    doubts.angles_rad2[first : last + 1] += profile.weights @ angles**2
    doubts.radii_m2[first : last + 1] += profile.weights @ radii**2
    kept = np.flatnonzero(profile.rises <= _OPEN)
    doubts.open_m[k] = profile.lengths_m[kept[0]], profile.lengths_m[kept[-1]]
    doubts.open_rad[k] = np.abs(angles[kept][:, k - first : k - first + 2]).max()
