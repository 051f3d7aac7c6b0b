"""Two bends of one plane and sense close to each other: how they share their turn.

What the two turn together is well told, how much of it each turns hardly: a longer straight
between them, smaller radii and a shift of the turn from one bend to the other trade against each
other in a curved valley of the likelihood, which ends where the bends touch and may hold two
peaks. The angle of the first bend is therefore its mean over the profile of the likelihood along
that very angle, all else fitted anew at every step.

Source: own derivation; mean and variance under a flat prior over the angle, touching counted as
much as all angles together that the points allow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, LIKE, TOUCHING, Chain, angle_gradients, frames
from analyzer.geometry.survey.doubts import Doubts, reported_angles
from analyzer.geometry.survey.fit import ChainFit, deviation_of, fit_chain
from analyzer.geometry.survey.profiles import OPEN, OUT, STEP, refine, walk, weights_of

__all__ = ["SharedTurn", "hold_turn", "profile_shared_turn", "turn_one_way"]

_ONE_WAY = 0.8
"""Cosine of the angle between two planes up to which bends share their turn."""

_NEAR, _NEAR_OF_ARC = 0.25, 1.5
"""Straight over the larger radius, and over the longer arc, from which the turn is shared plainly.

Where no straight at all is ruled out.
"""

_FEWEST = 12
"""Steps over the whole turn where the deviation is longer."""

_LEAST_ANGLES = 3
"""Fewest angles that make a profile."""

_LEAST_RAD = 0.01
"""Smallest angle of either bend."""

_ASTRAY_RAD = 1e-3
"""Angle off the one asked for at which a fit found no way there: a bend shrank to a corner."""

_TOUCHING_COUNTS = 0.5
"""What touching counts for all likely angles together."""

_SURE = 50.0
"""Logarithm of odds beyond which nothing changes any more."""

_STEPS = 100
"""Steps of a fit at most. Own choice."""


@dataclass(frozen=True, slots=True)
class SharedTurn:
    """Fits of a piece with the first bend's angle held at many values, and with no straight.

    Attributes
    ----------
    bend : int
        The first bend of the two, in the piece.
    turns_rad : (k,) float
        Angles at which it is held, rising. [rad]
    fits : tuple of ChainFit
        The fit at each.
    touching : ChainFit
        The fit without a straight between.
    touching_sd_rad : float
        Deviation of the angle there. [rad]
    """

    bend: int
    turns_rad: Floats
    fits: tuple[ChainFit, ...]
    touching: ChainFit
    touching_sd_rad: float

    @property
    def least(self) -> float:
        """Smallest chi-square of all."""
        return min(self.touching.chi2, *(fit.chi2 for fit in self.fits))

    @property
    def rises(self) -> Floats:
        """Chi-square over the least, of every angle."""
        return np.array([fit.chi2 for fit in self.fits]) - self.least

    @property
    def weights(self) -> Floats:
        """Weights of all angles and, last, of touching."""
        least = min(fit.chi2 for fit in self.fits)
        angles = weights_of(self.turns_rad, self.rises + (self.least - least))
        touch = np.exp(min(-0.5 * (self.touching.chi2 - least), _SURE))
        all_of = np.append(angles, _TOUCHING_COUNTS * touch * angles.sum())
        return np.asarray(all_of / all_of.sum())

    @property
    def mean_rad(self) -> float:
        """Mean of the angle of the first bend. [rad]"""
        touch = float(frames(self.touching.chain).angle[self.bend])
        return float(self.weights @ np.append(self.turns_rad, touch))

    def nearest(self, turn_rad: float) -> ChainFit:
        """Return the fit whose angle is nearest."""
        return self.fits[int(np.argmin(np.abs(self.turns_rad - turn_rad)))]

    def add_to(self, doubts: Doubts, local: Floats, now: ChainFit, first: int) -> None:
        """Add what other angles would move beside a fit; the piece begins with bend `first`."""
        fits = (*self.fits, self.touching)
        weights = self.weights
        angles = np.array([reported_angles(local, fit) for fit in fits])
        angles -= reported_angles(local, now)
        radii = np.array([fit.chain.radii_m for fit in fits]) - now.chain.radii_m
        span = slice(first, first + now.chain.radii_m.size)
        spread = weights @ angles**2
        own = slice(self.bend, self.bend + 2)
        spread[own] += weights[-1] * self.touching_sd_rad**2
        rises = np.append(self.rises, self.touching.chi2 - self.least)
        if OPEN < rises[-1] <= OUT:
            # touching is as many deviations off as its chi-square says, not more
            spread[own] = np.maximum(spread[own], angles[-1, own] ** 2 / rises[-1])
        doubts.angles_rad2[span] += spread
        doubts.radii_m2[span] += weights @ radii**2
        open_now = rises <= OPEN
        lengths = [0.0 if fit is self.touching else _straight(fit, self.bend) for fit in fits]
        kept = np.array(lengths)[open_now]
        before = first + self.bend + 1
        doubts.open_m[before] = max(float(kept.min()), 0.0), float(kept.max())
        beside = angles[open_now][:, own]
        doubts.open_rad[before] = np.abs(beside).max()
        turns = np.append(self.turns_rad, frames(self.touching.chain).angle[self.bend])[open_now]
        doubts.shared_rad[before] = turns.min(), turns.max()


def turn_one_way(chain: Chain, bend: int) -> bool:
    """Whether a bend and the next turn in about one plane and one sense.

    Parameters
    ----------
    chain : Chain
        A chain of at least two bends.
    bend : int
        The first of the two.
    """
    axis = frames(chain).axis
    return bool(float(axis[bend] @ axis[bend + 1]) > _ONE_WAY)


def profile_shared_turn(local: Floats, chain: Chain, bend: int, sigma: float) -> SharedTurn | None:
    """Return how a bend and the next may share their turn; None where it is told, or not found.

    Parameters
    ----------
    local : (n, 3) float
        Points of the piece. [m]
    chain : Chain
        The piece, fitted.
    bend : int
        The first of the two.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    free = _joined(chain, bend, FREE)
    begin = _fit(local, free, sigma)
    touching = _fit(local, _joined(begin.chain, bend, TOUCHING), sigma)
    pair = slice(bend, bend + 2)
    parts = np.minimum(_NEAR, _NEAR_OF_ARC * frames(chain).angle[pair])
    near_m = float((chain.radii_m[pair] * parts).max())
    if touching.chi2 - begin.chi2 > OUT and _straight(begin, bend) > near_m:
        return None
    alike = _fit(local, _joined(begin.chain, bend, LIKE), sigma)
    sd = _deviation(local, _joined(begin.chain, bend, FREE, -np.inf), bend, sigma)
    whole = float(frames(begin.chain).angle[bend : bend + 2].sum())

    def fit_at(start: Chain, turn_rad: float) -> ChainFit | None:
        return _fit_held(local, start, bend, turn_rad, sigma)

    found: dict[float, ChainFit] = {}
    for start in (begin, touching, alike):
        turn = float(frames(start.chain).angle[bend])
        fit = fit_at(start.chain, turn) if _LEAST_RAD < turn < whole - _LEAST_RAD else None
        if fit is not None:
            found[turn] = fit
    if not found:
        return None
    step_rad, ends = min(STEP * sd, whole / _FEWEST), (_LEAST_RAD, whole - _LEAST_RAD)
    walk(found, fit_at, step_rad, ends)
    refine(found, fit_at)
    walk(found, fit_at, step_rad, ends)
    turns = sorted(found)
    if len(turns) < _LEAST_ANGLES:
        return None
    return SharedTurn(
        bend,
        np.array(turns),
        tuple(found[turn] for turn in turns),
        touching,
        min(_deviation(local, touching.chain, bend, sigma), whole),
    )


def hold_turn(local: Floats, profile: SharedTurn, sigma: float) -> ChainFit:
    """Return the fit with the first bend's angle held at its mean.

    Parameters
    ----------
    local : (n, 3) float
        Points of the piece. [m]
    profile : SharedTurn
        Its profile.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    turn = profile.mean_rad
    near = profile.nearest(turn)
    return _fit_held(local, near.chain, profile.bend, turn, sigma) or near


def _straight(fit: ChainFit, bend: int) -> float:
    f = frames(fit.chain)
    return float(f.l2[bend] - f.tangent[bend] - f.tangent[bend + 1])


def _joined(chain: Chain, bend: int, joint: int, gap_m: float = 0.0) -> Chain:
    """Return the chain with another joint after a bend, and no angle of it held."""
    joints = chain.joints.copy()
    gaps = np.zeros(joints.size - 1) if chain.gaps_m is None else chain.gaps_m.copy()
    joints[bend], gaps[bend] = joint, gap_m
    turns = chain.turns_rad
    if turns is not None:
        turns = turns.copy()
        turns[bend] = np.nan
    return replace(chain, joints=joints, gaps_m=gaps, turns_rad=turns)


def _fit(local: Floats, chain: Chain, sigma: float) -> ChainFit:
    return fit_chain(local, chain, sigma, tolerance=0.02, steps=_STEPS)


def _fit_held(
    local: Floats, chain: Chain, bend: int, turn_rad: float, sigma: float
) -> ChainFit | None:
    """Return the fit with an angle held, the straight after it free; None where it went astray."""
    free = _joined(chain, bend, FREE)
    turns = np.full(free.radii_m.size, np.nan) if free.turns_rad is None else free.turns_rad.copy()
    turns[bend] = turn_rad
    fit = _fit(local, replace(free, turns_rad=turns), sigma)
    astray = abs(float(frames(fit.chain).angle[bend]) - turn_rad)
    return fit if astray < _ASTRAY_RAD else None


def _deviation(local: Floats, chain: Chain, bend: int, sigma: float) -> float:
    """Return the deviation of a bend's angle from the curvature of the likelihood. [rad]"""
    gradient = np.zeros(4 * chain.nodes_m.shape[0])
    for node, slope in enumerate(angle_gradients(frames(chain))[bend]):
        at = 4 * (bend + node) + 1
        gradient[at : at + 3] = slope
    return deviation_of(local, chain, gradient, sigma)
