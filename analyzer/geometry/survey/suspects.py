"""Points suspected to stand off the route, put back where they belong to it.

How a point fits between its four neighbors only raises a suspicion: where points stand unevenly, or
few on a bend, good ones fit badly too. Models decide: a point left out costs its two coordinates
and the choice of it, as a bend more costs its unknowns, and where the points with it are explained
for less it is put back. A point alone off one straight is beyond doubt.

Three points and more in a row to one side may be a saddle or an offset: they are put back wherever
bends explain them, at any price, and told where nothing does.

Source: own criterion in the manner of Schwarz, "Estimating the dimension of a model", 1978.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.choice import choose_chain
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain, fit_line
from analyzer.geometry.survey.gaps import line_chi2, sketch_straights
from analyzer.geometry.survey.models import SHARE, Effort, Trial, piece_of

__all__ = ["blocks_of", "points_put_back", "price_of_a_point", "with_points"]

_PLACE = 14.0
"""Price of the choice of a point to leave out, as of that of a bend."""

_BESIDE = 3
"""Points kept on either side of a suspect that show what stands there."""

_BLOCK = 3
"""Points in a row to one side that may be a saddle or an offset."""

_EXPLAINED = 1.6
"""Chi-square over its freedom up to which bends explain a block."""

_EFFORT, _EFFORT_A_POINT = 400.0, 1.0
"""Work allowed to one trial, in steps of a small fit, and more for every point: with less a
saddle of few shots came back in part."""

_MOST_TRIALS = 40
"""Trials beyond which what is suspected stays left out."""


@dataclass(frozen=True, slots=True)
class _Place:
    """Points that decide about suspects near to each other, and what explains them by now.

    `base` holds the points kept there, `groups` the suspects by runs, `start` the chain.
    """

    base: NDArray[np.intp]
    groups: tuple[NDArray[np.intp], ...]
    start: ChainFit | None


def price_of_a_point(points: int) -> float:
    """Return the fall of chi-square that leaving out a point must earn among so many points."""
    return 2.0 * log(2.0 * points) + _PLACE


def blocks_of(points: Floats, kept: NDArray[np.intp]) -> tuple[NDArray[np.intp], ...]:
    """Return the points left out three and more in a row to one side of the points beside them.

    Parameters
    ----------
    points : (n, 3) float
        All points. [m]
    kept : (k,) int
        Those kept, rising.
    """
    lost = np.setdiff1d(np.arange(points.shape[0]), kept)
    return tuple(group for group in _runs(lost) if _stands_to_one_side(points, kept, group))


def _runs(rows: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Rows that follow each other, together."""
    return np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1) if rows.size else []


def _stands_to_one_side(points: Floats, kept: NDArray[np.intp], group: NDArray[np.intp]) -> bool:
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


def with_points(
    points: Floats, kept: NDArray[np.intp], fit: ChainFit, more: NDArray[np.intp]
) -> ChainFit:
    """Return a fit to kept points laid over more of them, nothing moved; its chi-square is unused.

    Parameters
    ----------
    points : (n, 3) float
        All points. [m]
    kept : (k,) int
        Those that were fitted, rising.
    fit : ChainFit
        Their fit.
    more : (l,) int
        Those to lay it over, rising, all of `kept` among them.
    """
    first = np.append(kept, points.shape[0])[fit.chain.cuts]
    cuts = np.searchsorted(more, first)
    cuts[0], cuts[-1] = 0, more.size
    chain = replace(fit.chain, cuts=cuts.astype(np.intp))
    return evaluate_chain(points[more], chain, 1.0)


def points_put_back(
    points: Floats, kept: NDArray[np.intp], fit: ChainFit | None, sigma: float
) -> NDArray[np.intp]:
    """Return the points kept with the suspects that belong to the route, rising.

    Parameters
    ----------
    points : (n, 3) float
        All points, near the origin. [m]
    kept : (k,) int
        Those kept, rising.
    fit : ChainFit or None
        Their fit; None for a straight.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    every = np.arange(points.shape[0])
    lost = np.setdiff1d(every, kept)
    price = price_of_a_point(points.shape[0])
    if fit is None:
        center, direction, _ = fit_line(points[kept])
        off = points - center
        off = off - (off @ direction)[:, None] * direction
    else:
        off = with_points(points, kept, fit, every).residuals_m
    near = np.vecdot(off, off) <= price * sigma**2
    found = np.union1d(kept, lost[near[lost]])
    trials = _MOST_TRIALS
    for place in _places(points, kept, fit, lost[~near[lost]]):
        back, done = _tried(points, place, sigma, price, trials)
        found = np.union1d(found, back)
        trials -= done
    return found


def _places(
    points: Floats, kept: NDArray[np.intp], fit: ChainFit | None, off: NDArray[np.intp]
) -> Iterator[_Place]:
    """Return where suspects may belong to bends."""
    groups = _runs(off)
    if fit is None:
        for group in groups:
            if _stands_to_one_side(points, kept, group):
                at = int(np.searchsorted(kept, group[0]))
                yield _Place(kept[max(at - SHARE, 0) : at + SHARE], (group,), None)
        return
    bend_of = np.searchsorted(fit.chain.cuts, np.arange(kept.size), side="right") - 1
    bend_of = np.minimum(bend_of, fit.chain.radii_m.size - 1)
    leg_of = np.where(fit.side == 0, -1, bend_of + (fit.side == 1))
    doubtful: list[tuple[int, int, NDArray[np.intp]]] = []
    for group in groups:
        at = int(np.searchsorted(kept, group[0]))
        beside = slice(max(at - _BESIDE, 0), at + _BESIDE)
        legs = leg_of[beside]
        sure = (legs >= 0).all() and (legs == legs[0]).all()
        if not sure or _stands_to_one_side(points, kept, group):
            doubtful.append((int(bend_of[beside].min()), int(bend_of[beside].max()), group))
    while doubtful:
        first, last, group = doubtful.pop(0)
        together = [group]
        while doubtful and doubtful[0][0] <= last:
            last = max(last, doubtful[0][1])
            together.append(doubtful.pop(0)[2])
        piece = piece_of(fit, first, last)
        base = kept[piece.low : piece.high]
        start = evaluate_chain(points[base], piece.chain, 1.0)
        yield _Place(base, tuple(together), start)


def _tried(
    points: Floats, place: _Place, sigma: float, price: float, trials: int
) -> tuple[NDArray[np.intp], int]:
    """Return the suspects of a place that belong to the route, and the number of trials."""
    base, start = place.base, place.start
    whole = np.concatenate(place.groups)
    parts = [whole] if len(place.groups) > 1 else []
    for group in place.groups:
        parts.append(group)
        parts += [group[k : k + 1] for k in range(group.size)] if group.size > 1 else []
    cost, _ = _explained(points, base, base, start, sigma)
    back = np.empty(0, dtype=np.intp)
    done = 0
    for part in parts:
        more = np.setdiff1d(part, back)
        if more.size == 0:
            continue
        if done == trials:
            break
        done += 1
        with_more = np.union1d(base, more)
        new, plain = _explained(points, base, with_more, start, sigma)
        is_block = plain and any(_stands_to_one_side(points, base, g) for g in _runs(more))
        if new <= cost + price * more.size or is_block:
            back, base, cost = np.union1d(back, more), with_more, new
            start = None
    return back, done


def _explained(
    points: Floats,
    base: NDArray[np.intp],
    used: NDArray[np.intp],
    start: ChainFit | None,
    sigma: float,
) -> tuple[float, bool]:
    """Return what the cheapest chain over some points costs, and whether it explains them.

    `start` explains those of `base` only; without more it is refined, else bends are sought anew.
    """
    local = points[used]
    effort = Effort(_EFFORT + _EFFORT_A_POINT * used.size)
    trial = Trial(local, sigma, None, effort)
    line = line_chi2(local, sigma, None)
    found: list[tuple[float, float, int]] = [(line, line, 0)]
    if start is not None:
        laid = with_points(points, base, start, used)
        fit = fit_chain(local, laid.chain, sigma, tolerance=0.1)
        found.append((fit.chi2 + trial.price(fit.chain), fit.chi2, fit.chain.radii_m.size))
    if start is None or used.size > base.size:
        chosen = choose_chain(local, sketch_straights(local, sigma, None), sigma, None, effort)
        if chosen is not None and not effort.spent_out:
            cost = chosen.chi2 + trial.price(chosen.chain)
            found.append((cost, chosen.chi2, chosen.chain.radii_m.size))
    cost, chi2, bends = min(found)
    freedom = max(2.0 * used.size - 4.0 - 4.0 * bends, 2.0)
    return cost, chi2 <= _EXPLAINED * freedom
