"""One straight that the points hardly tell: the profile of the likelihood along its length.

The longer such a straight, the smaller the radii beside it, and the angles move with it in a long,
flat valley of the likelihood. Its mean over the profile stands for it, its spread is the doubt.

Source: own derivation; mean and variance under a flat prior over lengths and a share of its own
for none: between bends that of a stretch of lengths short beside their arcs, since a straight
that short is a rare thing between the small bends of an offset; at an end as much as all lengths
together that the points allow. How rare none is nobody knows: deviations hold if it is four times
rarer or commoner.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import Chain, frames
from analyzer.geometry.survey.doubts import Doubts, reported_angles
from analyzer.geometry.survey.fit import ChainFit, deviation_of, fit_chain
from analyzer.geometry.survey.profiles import OPEN, OUT, STEP, refine, walk, weights_of
from analyzer.geometry.survey.straight_places import StraightPlace, longest_doubtful

__all__ = ["StraightProfile", "fit_held", "profile_straight"]

_FEWEST = 12
"""Steps over the longest length where the deviation is longer."""

_NONE_OF_ARC = 0.075
"""Lengths that no straight between two bends counts as, over the longer arc of the two."""

_RARER = 4.0
"""How many times rarer or commoner none may be there."""

_BEYOND = 2.0
"""Longest straight of a profile between two bends, over the longest that might be none."""

_BOTH_NONE = 1.0 + sqrt(2.0)
"""What none counts for either straight of a lone arc: then none at both counts as all the rest."""

_STEPS = 100
"""Steps of a fit at most. Own choice."""


@dataclass(frozen=True, slots=True)
class StraightProfile:
    """Fits with a straight held at lengths around the most likely one, from none up.

    Attributes
    ----------
    place : StraightPlace
        The straight.
    lengths_m : (k,) float
        Lengths at which it is held, rising. [m]
    fits : tuple of ChainFit
        The fit at each.
    none_m : float
        Stretch of lengths that none counts as much as. [m]
    rarer : float
        How many times rarer or commoner none may be.
    """

    place: StraightPlace
    lengths_m: Floats
    fits: tuple[ChainFit, ...]
    none_m: float
    rarer: float

    @property
    def rises(self) -> Floats:
        """Chi-square over the least."""
        costs = np.array([fit.chi2 for fit in self.fits])
        return np.asarray(costs - costs.min())

    @property
    def mean_m(self) -> float:
        """Mean length. [m]"""
        return float(self._weights(self.none_m) @ self.lengths_m)

    def nearest(self, length_m: float) -> ChainFit:
        """Return the fit whose length is nearest."""
        return self.fits[int(np.argmin(np.abs(self.lengths_m - length_m)))]

    def add_to(self, doubts: Doubts, local: Floats, now: ChainFit, first: int) -> None:
        """Add what other lengths would move beside a fit; the piece begins with bend `first`."""
        angles = np.array([reported_angles(local, fit) for fit in self.fits])
        angles -= reported_angles(local, now)
        radii = np.array([fit.chain.radii_m for fit in self.fits]) - now.chain.radii_m
        span = slice(first, first + now.chain.radii_m.size)
        doubts.angles_rad2[span] += self._spread(angles**2)
        doubts.radii_m2[span] += self._spread(radii**2)
        kept = np.flatnonzero(self.rises <= OPEN)
        before = first + self.place.before
        doubts.open_m[before] = self.lengths_m[kept[0]], self.lengths_m[kept[-1]]
        beside = slice(max(self.place.before - 1, 0), self.place.before + 1)
        doubts.open_rad[before] = np.abs(angles[kept][:, beside]).max()

    def _spread(self, squares: Floats) -> Floats:
        """Return the mean of squares (lengths, k), whether none is rarer or commoner."""
        by_rarity = [self._weights(self.none_m * times) for times in (self.rarer, 1 / self.rarer)]
        return np.asarray(np.max([weights @ squares for weights in by_rarity], axis=0))

    def _weights(self, none_m: float) -> Floats:
        weights = weights_of(self.lengths_m, self.rises)
        weights[0] += none_m * np.exp(-0.5 * self.rises[0])
        return np.asarray(weights / weights.sum())


def fit_held(
    local: Floats, chain: Chain, place: StraightPlace, length_m: float, sigma: float
) -> ChainFit:
    """Return the fit with a straight held at a length.

    Parameters
    ----------
    local : (n, 3) float
        Points of the piece. [m]
    chain : Chain
        Where to start.
    place : StraightPlace
        The straight.
    length_m : float
        Its length. [m]
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    return fit_chain(local, place.held(chain, length_m), sigma, tolerance=0.02, steps=_STEPS)


def profile_straight(
    local: Floats, chain: Chain, place: StraightPlace, sigma: float, *, alone: bool
) -> StraightProfile | None:
    """Return the profile of a straight; None where it is clearly there.

    Parameters
    ----------
    local : (n, 3) float
        Points of the piece. [m]
    chain : Chain
        The piece, begun and ended at the feet of its end points.
    place : StraightPlace
        The straight.
    sigma : float
        Standard deviation of one coordinate. [m]
    alone : bool
        Whether it stands beside a lone arc that is doubtful at both ends.
    """
    limit = longest_doubtful(chain, frames(chain), place.before)
    likely = min(max(place.length(chain), 0.0), limit)
    begin = fit_held(local, chain, place, likely, sigma)
    if likely > 0.0:
        none = fit_held(local, begin.chain, place, 0.0, sigma)
        if none.chi2 - begin.chi2 > OUT:
            return None
    step_m = min(STEP * _deviation(local, begin.chain, place, sigma), limit / _FEWEST)
    found = {likely: begin}

    def fit_at(start: Chain, length_m: float) -> ChainFit:
        return fit_held(local, start, place, length_m, sigma)

    between = not (place.at_start or place.at_end)
    walk(found, fit_at, step_m, (0.0, limit * (_BEYOND if between else 1.0)))
    refine(found, fit_at)
    lengths = np.array(sorted(found))
    fits = tuple(found[at] for at in sorted(found))
    if between:
        arcs = _arcs_beside(min(fits, key=lambda fit: fit.chi2).chain, place.before)
        return StraightProfile(place, lengths, fits, _NONE_OF_ARC * float(arcs.max()), _RARER)
    costs = np.array([fit.chi2 for fit in fits])
    all_m = float(weights_of(lengths, costs - costs.min()).sum())
    return StraightProfile(place, lengths, fits, (_BOTH_NONE if alone else 1.0) * all_m, 1.0)


def _arcs_beside(chain: Chain, before: int) -> Floats:
    """Return the lengths of the arcs before and after a straight between bends. [m]"""
    pair = slice(before - 1, before + 1)
    return np.asarray(chain.radii_m[pair] * frames(chain).angle[pair])


def _deviation(local: Floats, chain: Chain, place: StraightPlace, sigma: float) -> float:
    """Return the deviation of a straight where it is free. [m]"""
    free = place.held(chain, None)
    gradient = place.gradient(free, 4 * free.nodes_m.shape[0])
    return deviation_of(local, free, gradient, sigma)
