"""Straights so short that the points hardly tell how long they are: between bends and at the ends.

Each is neither taken as none nor as the most likely one but as its mean over the profile of the
likelihood; what all other lengths would move adds to the deviations of angles and radii. Two bends
of one plane are read at the mean share of their turn instead.

Source: own derivation; see `survey_straight_profiles` and `survey_shared_turns`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import (
    FREE,
    HALVES,
    TOUCHING,
    Chain,
    frames,
    turn_at,
)
from analyzer.geometry.survey.doubts import (
    Doubts,
    add_doubts,
    bare_ends,
    no_doubts,
)
from analyzer.geometry.survey.fit import (
    ChainFit,
    evaluate_chain,
    fit_chain,
)
from analyzer.geometry.survey.models import Piece, piece_of, reversed_chain, splice
from analyzer.geometry.survey.shared_turns import hold_turn, profile_shared_turn, turn_one_way
from analyzer.geometry.survey.straight_places import StraightPlace, longest_doubtful
from analyzer.geometry.survey.straight_profiles import fit_held, profile_straight

__all__ = ["settle_straights"]

_MOST_TIED = 3
"""Bends beyond the first that a piece holds."""

_REACH = 8
"""Bends on both sides of a changed piece that may have to follow it, where straights are short."""

_TAKEN_BACK = 25.0
"""Rise of chi-square over all points beyond which a straight or a share is not settled so."""

_FOLD = 1e-4
"""Overlap of neighboring arcs, over the radius, that is more than the springs leave."""


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
        if moved.chi2 > now_chi2 + _TAKEN_BACK:
            moved = _neighbors_follow(points, moved, piece, sigma, clip)
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


def _neighbors_follow(
    points: Floats, fit: ChainFit, piece: Piece, sigma: float, clip: float | None
) -> ChainFit:
    """Return the fit with the bends around a changed piece fitted to it.

    A short leg from a piece to the next bend lets the two disagree.
    """
    joints, m = fit.chain.joints, fit.chain.radii_m.size
    first, last = max(piece.first - _REACH, 0), min(piece.last + _REACH, m - 1)
    while first > 0 and joints[first - 1] == HALVES:
        first -= 1
    while last < m - 1 and joints[last] == HALVES:
        last += 1
    wide = piece_of(fit, first, last)
    now = fit_chain(points[wide.low : wide.high], wide.chain, sigma, clip=clip, tolerance=0.1)
    return evaluate_chain(points, splice(fit.chain, wide, now.chain), sigma, clip)


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
    profile = profile_straight(local, start, place, sigma, alone=alone)
    if profile is None:
        return None
    mean_m = profile.mean_m
    now = fit_held(local, profile.nearest(mean_m).chain, place, mean_m, sigma)
    profile.add_to(doubts, local, now, piece.first)
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
