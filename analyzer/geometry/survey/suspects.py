"""Points suspected to stand off the route, put back where they belong to it.

How a point fits between its four neighbors only raises a suspicion: where points stand unevenly, or
few on a bend, good ones fit badly too. Models decide: a point left out costs its two coordinates
and the choice of it, as a bend more costs its unknowns, and where the points with it are explained
for less it is put back.

Three points and more in a row to one side may be a saddle or an offset, or were moved together: a
row goes back whole or not at all, where its bends pay and none of them is a guess; else it is told.

Source: own criterion in the manner of Schwarz, "Estimating the dimension of a model", 1978.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, radians, sqrt

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.choice import choose_chain
from analyzer.geometry.survey.close_bends import angle_deviation
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain, fit_line
from analyzer.geometry.survey.gaps import line_chi2, sketch_straights
from analyzer.geometry.survey.models import PLACE, Effort, Trial
from analyzer.geometry.survey.suspect_places import (
    SuspectPlace,
    places_in_doubt,
    runs_of,
    stands_to_one_side,
)
from analyzer.geometry.survey.valleys import turns_back

__all__ = [
    "distances",
    "effort_of_a_trial",
    "guesses",
    "points_put_back",
    "price_of_a_point",
    "price_of_points",
    "with_points",
]

_VAGUE_RAD = radians(10.0)
"""Deviation of an angle above which a bend is no more than a guess. [rad] Own choice."""

_EFFORT, _EFFORT_A_POINT = 400.0, 1.0
"""Work allowed to one trial, in steps of a small fit, and more for every point: with less a
saddle of few shots came back in part."""

_MOST_TRIALS = 40
"""Trials beyond which what is suspected stays left out."""


def effort_of_a_trial(points: int) -> Effort:
    """Return the work allowed to one trial over so many points."""
    return Effort(_EFFORT + _EFFORT_A_POINT * points)


def price_of_a_point(points: int) -> float:
    """Return the fall of chi-square that leaving out a point must earn among so many points."""
    return price_of_points(1, points)


def price_of_points(together: int, points: int) -> float:
    """Return the same for points left out together: their coordinates, and one choice as a bend."""
    return together * 2.0 * log(2.0 * points) + PLACE


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


def distances(points: Floats, kept: NDArray[np.intp], fit: ChainFit | None) -> Floats:
    """Return how far all points stand off a fit to those kept, (n,). [m]

    Parameters
    ----------
    points : (n, 3) float
        All points. [m]
    kept : (k,) int
        Those that were fitted, rising.
    fit : ChainFit or None
        Their fit; None for a straight.
    """
    if fit is not None:
        off = with_points(points, kept, fit, np.arange(points.shape[0])).residuals_m
        return np.asarray(np.linalg.norm(off, axis=1))
    center, direction, _ = fit_line(points[kept])
    off = points - center
    return np.asarray(np.linalg.norm(off - (off @ direction)[:, None] * direction, axis=1))


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
    lost = np.setdiff1d(np.arange(points.shape[0]), kept)
    price = price_of_a_point(points.shape[0])
    beyond = distances(points, kept, fit) - sqrt(price) * sigma
    off = beyond[lost] > 0.0
    found = np.union1d(kept, lost[~off])
    trials = _MOST_TRIALS
    for place in places_in_doubt(points, kept, fit, lost[off], beyond):
        back, done = _tried(points, place, sigma, price, trials)
        found = np.union1d(found, back)
        trials -= done
    return found


def _tried(
    points: Floats, place: SuspectPlace, sigma: float, price: float, trials: int
) -> tuple[NDArray[np.intp], int]:
    """Return the suspects of a place that belong to the route, and the number of trials."""
    base, start = place.base, place.start
    whole = np.concatenate(place.groups)
    parts = [whole] if len(place.groups) > 1 else []
    for group in place.groups:
        parts.append(group)
        if group.size > 1 and not stands_to_one_side(points, base, group):
            parts += [group[k : k + 1] for k in range(group.size)]
    before = _explained(points, base, base, start, sigma)
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
        after = _explained(points, base, with_more, start, sigma)
        guessed = after.guesses > before.guesses and any(
            stands_to_one_side(points, base, group) for group in runs_of(more)
        )
        if after.cost <= before.cost + price * more.size and not guessed:
            back, base, before = np.union1d(back, more), with_more, after
            start = None
    return back, done


@dataclass(frozen=True, slots=True)
class _Reading:
    """What the cheapest chain over some points costs, and how many of its bends are guesses."""

    cost: float
    guesses: int


def _explained(
    points: Floats,
    base: NDArray[np.intp],
    used: NDArray[np.intp],
    start: ChainFit | None,
    sigma: float,
) -> _Reading:
    """Return the cheapest chain over some points.

    `start` explains those of `base` only; without more it is refined, else bends are sought anew.
    """
    local = points[used]
    effort = effort_of_a_trial(used.size)
    trial = Trial(local, sigma, None, effort)
    cost, best = line_chi2(local, sigma, None), None
    fits: list[ChainFit] = []
    if start is not None:
        laid = with_points(points, base, start, used)
        fits.append(fit_chain(local, laid.chain, sigma, tolerance=0.1))
    if start is None or used.size > base.size:
        chosen = choose_chain(local, sketch_straights(local, sigma, None), sigma, None, effort)
        if chosen is not None and not effort.spent_out:
            fits.append(chosen)
    for fit in fits:
        paid = fit.chi2 + trial.price(fit.chain)
        if paid < cost:
            cost, best = paid, fit
    return _Reading(cost, 0 if best is None else guesses(local, best, sigma))


def guesses(local: Floats, fit: ChainFit, sigma: float, of: range | None = None) -> int:
    """Return how many bends nobody would bend so, or the points tell next to nothing of.

    Parameters
    ----------
    local : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        Their fit.
    sigma : float
        Standard deviation of one coordinate. [m]
    of : range, optional
        The corners asked about; all of them by default.
    """
    chain = fit.chain
    folds = turns_back(local, chain)
    return sum(
        bool(folds[k]) or angle_deviation(local, chain, k, sigma) > _VAGUE_RAD
        for k in (range(chain.radii_m.size) if of is None else of)
    )
