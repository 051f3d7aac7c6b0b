"""Where points left out may belong to bends: near bends, or three and more in a row to one side.

A lone point off one straight is beyond doubt, and so is one farther from a bend than any path with
that bend comes between its neighbors. A path that turns one way stays inside the triangle of its
chord and its directions before and after; beyond that it has to turn away and back, and two bends
more cost more than a point does.

Source: plane geometry of convex curves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import tan

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import evaluate
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain
from analyzer.geometry.survey.models import SHARE, piece_of

__all__ = ["SuspectPlace", "blocks_of", "places_in_doubt", "runs_of", "stands_to_one_side"]

_BESIDE = 3
"""Points kept on either side of a suspect that show what stands there."""

_BLOCK = 3
"""Points in a row to one side that may be a saddle or an offset."""

_HALF_ROUND_RAD = 3.0
"""Turn between neighbors from which a bend may reach anywhere. [rad] Own choice."""


@dataclass(frozen=True, slots=True)
class SuspectPlace:
    """Points that decide about suspects near to each other, and what explains them by now.

    `base` holds the points kept there, `groups` the suspects by runs, `start` the chain.
    """

    base: NDArray[np.intp]
    groups: tuple[NDArray[np.intp], ...]
    start: ChainFit | None


def blocks_of(points: Floats, kept: NDArray[np.intp]) -> tuple[NDArray[np.intp], ...]:
    """Return the points left out three and more in a row to one side of others, or at an end.

    Parameters
    ----------
    points : (n, 3) float
        All points. [m]
    kept : (k,) int
        Those kept, rising.
    """
    lost = np.setdiff1d(np.arange(points.shape[0]), kept)
    return tuple(group for group in runs_of(lost) if stands_to_one_side(points, kept, group))


def runs_of(rows: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Return rows that follow each other, together."""
    return np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1) if rows.size else []


def stands_to_one_side(points: Floats, kept: NDArray[np.intp], group: NDArray[np.intp]) -> bool:
    """Return whether a row of points may be a saddle, an offset or the start of a bend.

    Parameters
    ----------
    points : (n, 3) float
        All points. [m]
    kept : (k,) int
        Those kept, rising.
    group : (l,) int
        A row of those left out.
    """
    if group.size < _BLOCK:
        return False
    at = int(np.searchsorted(kept, group[0]))
    if at == 0 or at == kept.size:
        return True
    before, after = points[kept[at - 1]], points[kept[at]]
    chord = after - before
    chord = chord / max(float(np.linalg.norm(chord)), 1e-300)
    off = points[group] - before
    off = off - (off @ chord)[:, None] * chord
    return bool((off @ off.mean(axis=0) > 0.0).all())


def places_in_doubt(
    points: Floats,
    kept: NDArray[np.intp],
    fit: ChainFit | None,
    off: NDArray[np.intp],
    beyond_m: Floats,
) -> Iterator[SuspectPlace]:
    """Return where suspects may belong to bends.

    Parameters
    ----------
    points : (n, 3) float
        All points. [m]
    kept : (k,) int
        Those kept, rising.
    fit : ChainFit or None
        Their fit; None for a straight.
    off : (l,) int
        The suspects, rising.
    beyond_m : (n,) float
        How much farther points stand off the fit than is worth their price. [m]
    """
    groups = runs_of(off)
    if fit is None:
        for group in groups:
            if stands_to_one_side(points, kept, group):
                at = int(np.searchsorted(kept, group[0]))
                yield SuspectPlace(kept[max(at - SHARE, 0) : at + SHARE], (group,), None)
        return
    state = evaluate(points[kept], fit.chain)
    bend_of = state.owner
    turned = np.clip(state.phi, 0.0, state.frames.angle[bend_of])
    leg_of = np.where(fit.side == 0, -1, bend_of + (fit.side == 1))
    doubtful: list[tuple[int, int, NDArray[np.intp]]] = []
    for group in groups:
        at = int(np.searchsorted(kept, group[0]))
        beside = slice(max(at - _BESIDE, 0), at + _BESIDE)
        legs, bends = leg_of[beside], bend_of[beside]
        sure = (legs >= 0).all() and (legs == legs[0]).all()
        if not sure and bends.size == 2 * _BESIDE and bends[0] == bends[-1]:
            reach = _reach(points[kept[at]] - points[kept[at - 1]], turned[beside])
            sure = _is_alone(group, off) and beyond_m[group[0]] > reach
        if not sure or stands_to_one_side(points, kept, group):
            doubtful.append((int(bends.min()), int(bends.max()), group))
    while doubtful:
        first, last, group = doubtful.pop(0)
        together = [group]
        while doubtful and doubtful[0][0] <= last:
            last = max(last, doubtful[0][1])
            together.append(doubtful.pop(0)[2])
        piece = piece_of(fit, first, last)
        base = kept[piece.low : piece.high]
        start = evaluate_chain(points[base], piece.chain, 1.0)
        yield SuspectPlace(base, tuple(together), start)


def _is_alone(group: NDArray[np.intp], off: NDArray[np.intp]) -> bool:
    """Whether a suspect has no other among the points that show what stands there."""
    low = np.searchsorted(off, group[0] - _BESIDE)
    high = np.searchsorted(off, group[0] + _BESIDE, side="right")
    return bool(high - low == 1)


def _reach(gap: Floats, turned: Floats) -> float:
    """How far from its bend a path comes in a gap, if it turns there all that is seen beside."""
    turn = float(turned[-1] - turned[0])
    return float(np.linalg.norm(gap)) / 2.0 * tan(turn / 2.0) if turn < _HALF_ROUND_RAD else np.inf
