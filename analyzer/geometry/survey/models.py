"""Surgery on chains of bends, and the price of a model.

A bend with its straight pays 4 ln(2n) + 14 in chi-square (n points; four unknowns, and the choice
of their place); one that touches the bend before, or stands at an end of the points, pays ln(2n)
less because a length falls away, and one like the bend before it, of the same radius and in its
plane with a short straight between, pays half: two unknowns fall away. A corner that turns back
within the noise pays a hundred more: where points scatter more than they are apart, zigzags fit
them better than the straight they lie on.

Source: own criterion in the manner of Schwarz, "Estimating the dimension of a model", 1978.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, HALVES, LIKE, TOUCHING, Chain, frames
from analyzer.geometry.survey.fit import ChainFit
from analyzer.geometry.survey.gaps import Line

__all__ = [
    "PLACE",
    "SHARE",
    "Effort",
    "Piece",
    "Trial",
    "foot_on",
    "outer_lines",
    "piece_of",
    "price_of_a_bend",
    "reversed_chain",
    "splice",
]

SHARE = 150
"""Most points of a straight that decide about the bend beside it."""

_POINTS_A_UNIT = 700.0
"""Points that cost as much as a step of a fit does by itself."""


PLACE = 14.0
"""What a bend, or a point left out, pays in chi-square for the choice of its place. Own choice."""

_SHARP, _BACK_RAD, _BACK_PRICE = 2.0, 2.1, 100.0
"""A bend of a radius below so many sigma that turns so far back pays so much more."""


@dataclass(slots=True)
class Effort:
    """How much work comparisons of models may still cost; one unit is one step of a small fit.

    Points that are no straights and arcs at all would ask for trials without end.

    Attributes
    ----------
    left : float
        Units left; below zero when some trial was refused for want of them.
    """

    left: float

    @property
    def spent_out(self) -> bool:
        """Whether a trial was refused."""
        return self.left < 0.0

    def spend(self, steps: int, points: int) -> bool:
        """Count so many steps of a fit to so many points; False when too little is left."""
        if self.left >= 0.0:
            self.left -= steps * (1.0 + points / _POINTS_A_UNIT)
        return self.left >= 0.0

    def half(self) -> Effort:
        """Return half of what is left, taken off; `give_back` what is not used."""
        part = Effort(max(self.left, 0.0) / 2.0)
        self.left -= part.left
        return part

    def give_back(self, part: Effort) -> None:
        """Take back what a part has left."""
        self.left += max(part.left, 0.0)


@dataclass(frozen=True, slots=True)
class Trial:
    """What every comparison of models needs, and the work still allowed for it."""

    points: Floats
    sigma: float
    clip: float | None
    effort: Effort

    @property
    def log_points(self) -> float:
        """Price of one unknown."""
        return log(2.0 * self.points.shape[0])

    @property
    def a_bend(self) -> float:
        """Price of one bend."""
        return price_of_a_bend(self.points.shape[0])

    def price(self, chain: Chain) -> float:
        """Price of a chain's bends."""
        bends = chain.radii_m.size - int((chain.joints == HALVES).sum())
        alike = int((chain.joints == LIKE).sum())
        fewer = int((chain.joints == TOUCHING).sum()) + chain.bare_start + chain.bare_end
        # points that scatter more than they are apart go back and forth: no raceway does
        sharp = chain.radii_m < _SHARP * self.sigma
        back = int((frames(chain).angle[sharp] > _BACK_RAD).sum()) if sharp.any() else 0
        return (bends - alike / 2.0) * self.a_bend - fewer * self.log_points + back * _BACK_PRICE


@dataclass(frozen=True, slots=True)
class Piece:
    """Bends first..last of a chain with the points that decide about them."""

    first: int
    last: int
    low: int
    high: int
    chain: Chain


def price_of_a_bend(points: int) -> float:
    """Return the fall of chi-square that a bend must earn among so many points.

    Its four unknowns by the criterion of Schwarz, and 14 for the choice of its place.
    """
    return 4.0 * log(2.0 * points) + PLACE


def foot_on(point: Floats, line: Line) -> Floats:
    """Return the place on a line nearest to a point. [m]"""
    return np.asarray(line.point + ((point - line.point) @ line.direction) * line.direction)


def piece_of(fit: ChainFit, first: int, last: int) -> Piece:
    """Return bends first..last with the whole straights beside them (at most 150 points each).

    Parameters
    ----------
    fit : ChainFit
        The fit of all n points.
    first, last : int
        The bends, both included.

    Returns
    -------
    Piece
        Them as a chain of their own, with the range of their points.
    """
    chain, side = fit.chain, fit.side
    cuts = chain.cuts
    low, high = int(cuts[first]), int(cuts[last + 1])
    if first > 0:
        after = np.flatnonzero(side[cuts[first - 1] : low] == 1)
        low = int(cuts[first - 1] + after[0]) if after.size else low
    if last + 1 < chain.radii_m.size:
        before = np.flatnonzero(side[high : cuts[last + 2]] == -1)
        high = int(high + before[-1] + 1) if before.size else high
    bend = np.flatnonzero(side[cuts[first] : cuts[first + 1]] >= 0)
    if bend.size:
        low = max(low, int(cuts[first] + bend[0]) - SHARE)
    bend = np.flatnonzero(side[cuts[last] : cuts[last + 1]] <= 0)
    if bend.size:
        high = min(high, int(cuts[last] + bend[-1]) + 1 + SHARE)
    inner = np.clip(cuts[first + 1 : last + 1] - low, 0, high - low)
    joints = chain.joints[first : last + 1].copy()
    joints[-1] = FREE
    local = Chain(
        chain.nodes_m[first : last + 3],
        chain.radii_m[first : last + 1],
        np.concatenate(([0], inner, [high - low])).astype(np.intp),
        joints,
        first == 0 and chain.bare_start,
        last + 1 == chain.radii_m.size and chain.bare_end,
        None if chain.gaps_m is None else chain.gaps_m[first:last],
        chain.lead_m if first == 0 else None,
        chain.tail_m if last + 1 == chain.radii_m.size else None,
        None if chain.turns_rad is None else chain.turns_rad[first : last + 1],
    )
    return Piece(first, last, low, high, local)


def splice(chain: Chain, piece: Piece, new: Chain | None) -> Chain:
    """Return a chain with other bends in the place of a piece.

    Parameters
    ----------
    chain : Chain
        The whole chain of m bends.
    piece : Piece
        What `piece_of` told of it.
    new : Chain or None
        Bends fitted to the points of the piece; None where the straights beside it join.
    """
    first, last, m = piece.first, piece.last, chain.radii_m.size
    before, after = chain.cuts[: first + 1], chain.cuts[last + 1 :]
    joints_before = chain.joints[:first].copy()
    if new is None:
        nodes, radii = np.empty((0, 3)), np.empty(0)
        joints = np.empty(0, dtype=np.intp)
        middle = (chain.cuts[first] + chain.cuts[last + 1]) // 2
        before = before[:-1] if first > 0 else before
        after = after[1:] if last + 1 < m else after
        inner = [middle] if first > 0 and last + 1 < m else []
        cuts = np.array(inner, dtype=np.intp)
        if first > 0:
            joints_before[-1] = FREE
    else:
        nodes, radii, joints = new.nodes_m[1:-1], new.radii_m, new.joints.copy()
        joints[-1] = chain.joints[last]
        cuts = piece.low + new.cuts[1:-1]
    all_nodes = np.concatenate((chain.nodes_m[: first + 1], nodes, chain.nodes_m[last + 2 :]))
    if new is not None and first == 0:
        all_nodes[0] = new.nodes_m[0]
    if new is not None and last + 1 == m:
        all_nodes[-1] = new.nodes_m[-1]
    gaps = chain.gaps_m
    if new is not None and new.gaps_m is not None:
        gaps = np.zeros(m - 1) if gaps is None else gaps
        gaps = np.concatenate((gaps[:first], new.gaps_m, gaps[last:]))
    turns = chain.turns_rad
    if new is not None and new.turns_rad is not None:
        turns = np.full(m, np.nan) if turns is None else turns
        turns = np.concatenate((turns[:first], new.turns_rad, turns[last + 1 :]))
    return Chain(
        all_nodes,
        np.concatenate((chain.radii_m[:first], radii, chain.radii_m[last + 1 :])),
        np.maximum.accumulate(np.concatenate((before, cuts, after)).astype(np.intp)),
        np.concatenate((joints_before, joints, chain.joints[last + 1 :])),
        new is not None and new.bare_start if first == 0 else chain.bare_start,
        new is not None and new.bare_end if last + 1 == m else chain.bare_end,
        gaps,
        new.lead_m if new is not None and first == 0 else chain.lead_m,
        new.tail_m if new is not None and last + 1 == m else chain.tail_m,
        turns,
    )


def reversed_chain(chain: Chain) -> Chain:
    """Return the chain traveled the other way."""
    joints = np.append(chain.joints[:-1][::-1], FREE).astype(np.intp)
    cuts = chain.cuts[-1] - chain.cuts[::-1]
    return Chain(
        chain.nodes_m[::-1],
        chain.radii_m[::-1],
        cuts,
        joints,
        chain.bare_end,
        chain.bare_start,
        None if chain.gaps_m is None else chain.gaps_m[::-1],
        chain.tail_m,
        chain.lead_m,
        None if chain.turns_rad is None else chain.turns_rad[::-1],
    )


def outer_lines(local: Floats, fit: ChainFit) -> tuple[Line, Line, tuple[int, int]]:
    """Lines of the first and last leg of a piece, and the points between them."""
    nodes, cuts, side = fit.chain.nodes_m, fit.chain.cuts, fit.side
    first = np.flatnonzero(side[: cuts[1]] == -1)
    last = np.flatnonzero(side[cuts[-2] :] == 1)
    start = int(first[-1]) + 1 if first.size else 0
    stop = int(cuts[-2] + last[0]) if last.size else local.shape[0]
    u1, u2 = nodes[1] - nodes[0], nodes[-1] - nodes[-2]
    a = Line(nodes[1], u1 / np.linalg.norm(u1))
    b = Line(nodes[-2], u2 / np.linalg.norm(u2))
    return a, b, (start, max(stop, start))
