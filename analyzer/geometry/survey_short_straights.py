"""Straights so short that the points hardly tell how long they are: between bends and at the ends.

The longer such a straight, the smaller the radii beside it, and the angles move with it in a long,
flat valley of the likelihood that ends where the bends touch, or where the run begins in an arc.
The straight is therefore neither taken as none nor as the most likely one but as its mean over the
profile of the likelihood; what all other lengths would move adds to the deviations of angles and
radii. Two bends of one plane are read at the mean share of their turn instead.

Source: own derivation; mean and variance under a flat prior over lengths and a share of its own
for none: between bends that of a stretch of lengths short beside their arcs, since a straight
that short is a rare thing between the small bends of an offset; at an end as much as all lengths
together that the points allow. How rare none is nobody knows: deviations hold if it is four times
rarer or commoner.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey_chain import (
    FREE,
    HALVES,
    TOUCHING,
    Chain,
    frames,
    turn_at,
)
from analyzer.geometry.survey_doubts import (
    Doubts,
    add_doubts,
    bare_ends,
    no_doubts,
    reported_angles,
)
from analyzer.geometry.survey_fit import (
    ChainFit,
    deviation_of,
    evaluate_chain,
    fit_chain,
)
from analyzer.geometry.survey_models import Piece, piece_of, reversed_chain, splice
from analyzer.geometry.survey_profiles import OPEN, OUT, STEP, refine, walk, weights_of
from analyzer.geometry.survey_shared_turns import hold_turn, profile_shared_turn, turn_one_way
from analyzer.geometry.survey_straight_places import StraightPlace, longest_doubtful

__all__ = ["settle_straights"]

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

_MOST_TIED = 3
"""Bends beyond the first that a piece holds."""

_TAKEN_BACK = 25.0
"""Rise of chi-square over all points beyond which a straight or a share is not settled so."""

_FOLD = 1e-4
"""Overlap of neighboring arcs, over the radius, that is more than the springs leave."""

_STEPS = 100


@dataclass(frozen=True, slots=True)
class _Profile:
    """Fits with the straight held at lengths around the most likely one, from none up.

    None counts as much as `none_m` of lengths, or so many times rarer or commoner.
    """

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

    def spread(self, squares: Floats) -> Floats:
        """Return the mean of squares (lengths, k), whether none is rarer or commoner."""
        by_rarity = [self._weights(self.none_m * times) for times in (self.rarer, 1 / self.rarer)]
        return np.asarray(np.max([weights @ squares for weights in by_rarity], axis=0))

    def _weights(self, none_m: float) -> Floats:
        weights = weights_of(self.lengths_m, self.rises)
        weights[0] += none_m * np.exp(-0.5 * self.rises[0])
        return np.asarray(weights / weights.sum())

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
    chosen, settled = fit, 0
    # the search may have counted with another accuracy
    before_all = evaluate_chain(points, fit.chain, sigma, clip).chi2
    now_chi2 = before_all
    for before in range(m + 1):
        if not _is_doubtful(points, fit, before):
            continue
        piece = _piece_beside(points, fit, before)
        local = points[piece.low : piece.high]
        alone = m == 1 and _is_doubtful(points, fit, m - before)
        found = None
        if 0 < before < m and turn_one_way(fit.chain, before - 1):
            found = _share(local, piece, before, sigma, no_doubts(m))
        if found is None:
            found = _settle(local, piece, before, sigma, no_doubts(m), alone=alone)
        if found is None:
            continue
        now, more = found
        moved = evaluate_chain(points, splice(fit.chain, piece, now.chain), sigma, clip)
        if moved.chi2 <= now_chi2 + _TAKEN_BACK:
            fit, now_chi2 = moved, moved.chi2
            add_doubts(doubts, more)
            settled += 1
    if settled:
        fit = fit_chain(points, fit.chain, sigma, clip=clip, tolerance=1e-4, firm=True)
    # on a curve that is no chain of arcs the straights may have no room together
    lost = _folds(fit.chain) or fit.chi2 > before_all + settled * _TAKEN_BACK
    return (chosen if lost else fit), doubts


def _piece_beside(points: Floats, fit: ChainFit, before: int) -> Piece:
    """Return the bends beside a straight, and those that hang on them.

    A neighbor across another doubtful straight belongs to them: alone they would have too little
    of a leg on that side.
    """
    m = fit.chain.radii_m.size
    first, last = max(before - 1, 0), min(before, m - 1)
    while first > 0 and _hang_together(points, fit, first - 1, last - first):
        first -= 1
    while last < m - 1 and _hang_together(points, fit, last, last - first):
        last += 1
    return piece_of(fit, first, last)


def _hang_together(points: Floats, fit: ChainFit, k: int, bends: int) -> bool:
    """Whether bends k and k + 1 belong to one piece, where it has so many more than one."""
    joint = int(fit.chain.joints[k])
    near = joint != FREE or _is_doubtful(points, fit, k + 1)
    return joint == HALVES or (near and bends < _MOST_TIED)


def _share(
    local: Floats, piece: Piece, before: int, sigma: float, doubts: Doubts
) -> tuple[ChainFit, Doubts] | None:
    """Return the piece with the turn of two bends of one plane shared at its mean."""
    at = before - 1 - piece.first
    if (piece.chain.joints[at : at + 2] == HALVES).any():
        return None
    if at > 0 and piece.chain.joints[at - 1] == HALVES:
        return None
    shared = profile_shared_turn(local, piece.chain, at, sigma)
    if shared is None:
        return None
    now = hold_turn(local, shared, sigma)
    shared.add_to(doubts, local, now, piece.first)
    return now, doubts


def _settle(
    local: Floats, piece: Piece, before: int, sigma: float, doubts: Doubts, *, alone: bool
) -> tuple[ChainFit, Doubts] | None:
    """Return the piece with a straight at its mean; alone: one arc doubtful at both ends."""
    place = StraightPlace(before - piece.first, piece.last - piece.first + 1)
    start = _begun(local, piece.chain, place, sigma)
    if alone and place.at_start:
        # the longer the straight at one end of an arc, the longer that at the other
        start = _begun(local, start, StraightPlace(1, 1), sigma)
    profile = _profile_of(local, start, place, sigma, alone=alone)
    if profile is None:
        return None
    mean_m = profile.mean_m
    now = _fit_held(local, profile.nearest(mean_m).chain, place, mean_m, sigma)
    _add(doubts, local, profile, now, (piece.first, piece.last, before))
    return now, doubts


def _folds(chain: Chain) -> bool:
    """Whether neighboring arcs overlap."""
    f = frames(chain)
    slack = f.l2[:-1] - f.tangent[:-1] - f.tangent[1:]
    return bool((slack < -_FOLD * chain.radii_m[:-1]).any() or (chain.radii_m <= 0.0).any())


def _is_doubtful(points: Floats, fit: ChainFit, before: int) -> bool:
    """Whether the straight before a bend, or after the last, may be none or hardly told."""
    chain, f = fit.chain, frames(fit.chain)
    m = chain.radii_m.size
    if 0 < before < m:
        limit = longest_doubtful(chain, f, before)
        joint = int(chain.joints[before - 1])
        slack = float(f.l1[before] - f.tangent[before - 1] - f.tangent[before])
        return joint == TOUCHING or (joint == FREE and slack <= limit)
    k = 0 if before == 0 else m - 1
    if (chain.joints[0] if before == 0 else chain.joints[m - 2] if m > 1 else FREE) == HALVES:
        return False
    along = f.u1[0] if before == 0 else -f.u2[-1]
    outer = points[0] if before == 0 else points[-1]
    reach = float((chain.nodes_m[k + 1] - outer) @ along) - float(f.tangent[k])
    return bare_ends(fit)[0 if before == 0 else 1] or reach <= longest_doubtful(chain, f, before)


def _begun(local: Floats, chain: Chain, place: StraightPlace, sigma: float) -> Chain:
    """Return the chain with its outer node at the foot of the end point, where it is an end."""
    if place.at_start:
        return _from_foot(local, chain, sigma)
    if place.at_end:
        return reversed_chain(_from_foot(local[::-1], reversed_chain(chain), sigma))
    return chain


def _from_foot(local: Floats, chain: Chain, sigma: float) -> Chain:
    """Return the chain begun at the foot of its first point, an arc there cut at that foot."""
    fit = evaluate_chain(local, chain, sigma)
    f = frames(chain)
    if bare_ends(fit)[0]:
        return replace(_cut_at(chain, turn_at(local[0], chain, 0)[0]), bare_start=False)
    nodes = chain.nodes_m.copy()
    nodes[0] = nodes[1] - float((nodes[1] - local[0]) @ f.u1[0]) * f.u1[0]
    return replace(chain, nodes_m=nodes, bare_start=False)


def _cut_at(chain: Chain, turned: float) -> Chain:
    """Return a chain without the first part of its first arc."""
    f = frames(chain)
    tangent = float(chain.radii_m[0]) * np.tan((float(f.angle[0]) - turned) / 2.0)
    along = np.cos(turned) * f.u1[0] + np.sin(turned) * f.n1[0]
    corner = chain.nodes_m[1] + (f.tangent[0] - tangent) * f.u2[0]
    return replace(
        chain, nodes_m=np.concatenate(((corner - tangent * along, corner), chain.nodes_m[2:]))
    )


def _fit_held(
    local: Floats, chain: Chain, place: StraightPlace, length_m: float, sigma: float
) -> ChainFit:
    """Return the fit with a straight held at a length."""
    return fit_chain(local, place.held(chain, length_m), sigma, tolerance=0.02, steps=_STEPS)


def _deviation(local: Floats, chain: Chain, place: StraightPlace, sigma: float) -> float:
    """Return the deviation of a straight where it is free. [m]"""
    free = place.held(chain, None)
    gradient = place.gradient(free, 4 * free.nodes_m.shape[0])
    return deviation_of(local, free, gradient, sigma)


def _profile_of(
    local: Floats, chain: Chain, place: StraightPlace, sigma: float, *, alone: bool
) -> _Profile | None:
    """Return the profile of a straight; None where it is clearly there."""
    limit = longest_doubtful(chain, frames(chain), place.before)
    likely = min(max(place.length(chain), 0.0), limit)
    begin = _fit_held(local, chain, place, likely, sigma)
    if likely > 0.0:
        none = _fit_held(local, begin.chain, place, 0.0, sigma)
        if none.chi2 - begin.chi2 > OUT:
            return None
    step_m = min(STEP * _deviation(local, begin.chain, place, sigma), limit / _FEWEST)
    found = {likely: begin}

    def fit_at(start: Chain, length_m: float) -> ChainFit:
        return _fit_held(local, start, place, length_m, sigma)

    between = not (place.at_start or place.at_end)
    walk(found, fit_at, step_m, (0.0, limit * (_BEYOND if between else 1.0)))
    refine(found, fit_at)
    lengths = np.array(sorted(found))
    fits = tuple(found[at] for at in sorted(found))
    if between:
        arcs = _arcs_beside(min(fits, key=lambda fit: fit.chi2).chain, place.before)
        return _Profile(lengths, fits, _NONE_OF_ARC * float(arcs.max()), _RARER)
    costs = np.array([fit.chi2 for fit in fits])
    all_m = float(weights_of(lengths, costs - costs.min()).sum())
    return _Profile(lengths, fits, (_BOTH_NONE if alone else 1.0) * all_m, 1.0)


def _arcs_beside(chain: Chain, before: int) -> Floats:
    """Return the lengths of the arcs before and after a straight between bends. [m]"""
    pair = slice(before - 1, before + 1)
    return np.asarray(chain.radii_m[pair] * frames(chain).angle[pair])


def _add(
    doubts: Doubts, local: Floats, profile: _Profile, now: ChainFit, place: tuple[int, int, int]
) -> None:
    """Add what other lengths would move; place: bends of the piece, and that after the straight."""
    first, last, before = place
    angles = np.array([reported_angles(local, fit) for fit in profile.fits])
    angles -= reported_angles(local, now)
    radii = np.array([fit.chain.radii_m for fit in profile.fits]) - now.chain.radii_m
    doubts.angles_rad2[first : last + 1] += profile.spread(angles**2)
    doubts.radii_m2[first : last + 1] += profile.spread(radii**2)
    kept = np.flatnonzero(profile.rises <= OPEN)
    doubts.open_m[before] = profile.lengths_m[kept[0]], profile.lengths_m[kept[-1]]
    beside = slice(max(before - 1 - first, 0), before - first + 1)
    doubts.open_rad[before] = np.abs(angles[kept][:, beside]).max()
