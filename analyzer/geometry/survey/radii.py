"""Deviation of a radius that few points or a gentle turn leave lopsided.

The likelihood of a radius R is nearly normal in R^1.5, because the deviation of R grows as
1/sqrt(R); where an arc holds a point or two it may even have two peaks. The deviation is therefore
the root mean square distance from the most likely radius under the profile of the likelihood: the
radius held at values around it, everything else fitted anew. Each value weighs 1/sqrt(R): gentle
and sharp bends are about as frequent, so a radius is rather known badly than well, and among many
gentle bends those whose radius came out too large would otherwise look the best known.

Source: own derivation, after the information of a bend's radius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, HALVES, Chain, frames
from analyzer.geometry.survey.fit import ChainFit, fit_chain, normal_band, solve_band

__all__ = ["angle_spread", "profile_deviation"]

_PLAIN = 0.05
_VAGUE = 0.6
"""Deviation over radius up to which it is taken as it is, and from which it tells nothing."""

_FEW_POINTS = 4
"""Points on an arc up to which the likelihood may have two peaks."""

_REACH = 4.0
_STEP = 1.2
"""How far the profile goes either way, and its step, in deviations of R^1.5."""

_LEAST, _MOST = 0.03, 4.0
"""Smallest and greatest radius of the profile, over the most likely one."""

_OVER = 12.0
"""Rise of chi-square that ends the profile."""

_LOST = 3.0
"""Rise over that one from which a fit may have lost its way."""

_FAR = 3
"""Smaller radii at which a second peak is looked for: from the first on chi-square rises."""

_LONGEST_PIECE = 7
"""Bends held together that a profile is fitted over at most. Own choice."""

_SMALLEST, _VALUES = 1e-4, 20
"""Radii tried where no point lies on an arc: the smallest over the greatest, and the most."""


def profile_deviation(points: Floats, fit: ChainFit, k: int, sigma: float, sd_m: float) -> float:
    """Return the deviation of a radius from the profile of its likelihood. [m]

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    k : int
        The bend, by its corner.
    sigma : float
        Standard deviation of one coordinate. [m]
    sd_m : float
        Deviation from the curvature of the likelihood; it sets the width of the profile. [m]
    """
    radius = float(fit.chain.radii_m[k])
    ratio = sd_m / radius
    on_arc = int((fit.side[fit.chain.cuts[k] : fit.chain.cuts[k + 1]] == 0).sum())
    few = on_arc <= _FEW_POINTS
    if fit.chain.joints[k] == HALVES or not ratio < _VAGUE or (ratio < _PLAIN and not few):
        return sd_m
    chain, local, at = _piece(points, fit.chain, k)
    middle = 1.0 / (1.5 * ratio)
    down, up = _ratios(middle, few)
    values, costs = [1.0], [0.0]
    own = fit_chain(local, chain, sigma, steps=4, tolerance=0.05, held=at)
    first = _first_slope(local, own.chain, at)

    def rises(side: Sequence[float], whole: bool) -> list[float]:
        """Rises of chi-square at radii further and further off; `whole` goes to the last."""
        now, slope, found = own.chain, first, []
        for value in side:
            moved = _moved(now, slope, value * radius - float(now.radii_m[at]), at)
            other = fit_chain(local, moved, sigma, steps=12, tolerance=0.1, held=at)
            if not other.converged or other.chi2 - own.chi2 > _LOST * _OVER:
                # where points are few a slope may lead astray
                moved = _moved(now, None, value * radius - float(now.radii_m[at]), at)
                plain = fit_chain(local, moved, sigma, steps=12, tolerance=0.1, held=at)
                other = min(other, plain, key=lambda one: one.chi2)
            found.append(other.chi2 - own.chi2)
            if found[-1] > _OVER and not whole:
                break
            now, slope = other.chain, _slope_between(now, other.chain, at)
        return found

    if few and ratio < _PLAIN:
        far = np.geomspace(1.0 - _REACH * ratio, _LEAST, _FAR)
        if min(rises([float(value) for value in far], True)) > _OVER:
            return sd_m  # no second peak
    for side in (down, up):
        found = rises(side, few and side is down)
        values += side[: len(found)]
        costs += found
    return radius * _spread(np.array(values), np.array(costs))


def angle_spread(points: Floats, fit: ChainFit, k: int, sigma: float) -> float:
    """Return how far a bend's angle moves with its radius where no point lies on its arc. [rad]

    Such a radius has no slope: the curvature of the likelihood knows nothing of what a larger
    one, with points on its arc, does to the angle. Zero where a point lies on the arc.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    k : int
        The bend, by its corner.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    cuts = fit.chain.cuts
    if (fit.side[cuts[k] : cuts[k + 1]] == 0).any() or fit.chain.joints[k] == HALVES:
        return 0.0
    chain, local, at = _piece(points, fit.chain, k)
    now = fit_chain(local, chain, sigma, steps=4, tolerance=0.05, held=at)
    f = frames(now.chain)
    own = float(f.angle[at])
    longest = float(min(f.l1[at], f.l2[at]) / np.tan(own / 2.0))
    # a piece of a point or none has no spacing to tell which radii none would show
    spacing = float(np.median(leg_lengths(local))) if len(local) > 1 else 0.0
    least = max(float(now.chain.radii_m[at]), 0.25 * spacing, _SMALLEST * longest)
    if not least < longest:
        return 0.0
    values = np.geomspace(least, longest, _VALUES)
    costs, angles = [now.chi2], [own]
    for value in values[1:]:
        radii = now.chain.radii_m.copy()
        radii[at] = value
        start = replace(now.chain, radii_m=radii)
        now = fit_chain(local, start, sigma, steps=12, tolerance=0.1, held=at)
        costs.append(now.chi2)
        angles.append(float(frames(now.chain).angle[at]))
        if now.chi2 - min(costs) > _OVER:
            break
    reach = np.diff(values[: len(costs)], prepend=0.0)
    rises = np.array(costs) - min(costs)
    weights = np.exp(-0.5 * rises) * reach / np.sqrt(values[: len(costs)])
    return float(np.sqrt(weights @ (np.array(angles) - own) ** 2 / weights.sum()))


def _ratios(middle: float, few: bool) -> tuple[list[float], list[float]]:
    """Return the radii of a profile over the most likely one, downward and upward."""
    steps = np.arange(_STEP, _REACH + _STEP / 2.0, _STEP)
    low = np.maximum(1.0 - steps / middle, 0.0) ** (2.0 / 3.0)
    down = [float(v) for v in low if v > _LEAST]
    if few or len(down) < low.size:
        last = down[-1] if down else 1.0
        down += [float(v) for v in np.geomspace(last, _LEAST, 6)[1:]]
    high = (1.0 + steps / middle) ** (2.0 / 3.0)
    return down, [float(v) for v in high if v < _MOST]


def _first_slope(points: Floats, chain: Chain, at: int) -> Floats | None:
    """How all else moves with a radius at the best fit, by node, (m + 2, 4); None untold."""
    unit = np.zeros(4 * chain.nodes_m.shape[0])
    row = 4 * (at + 1)
    unit[row] = 1.0
    moves = solve_band(normal_band(points, chain), unit)
    if moves is None or not moves[row] > 0.0:
        return None
    return np.asarray((moves / moves[row]).reshape(-1, 4))


def _slope_between(a: Chain, b: Chain, at: int) -> Floats:
    """How all else moved with a radius from one fit to the next, as `_first_slope`."""
    by = float(b.radii_m[at] - a.radii_m[at])
    slope = np.zeros((b.nodes_m.shape[0], 4))
    slope[:, 1:] = (b.nodes_m - a.nodes_m) / by
    slope[1:-1, 0] = (b.radii_m - a.radii_m) / by
    return slope


def _moved(chain: Chain, slope: Floats | None, by: float, at: int) -> Chain:
    """Return a chain whose radius is greater by so much, all else moved along a slope."""
    radii = chain.radii_m.copy()
    if slope is None:
        radii[at] += by
        return replace(chain, radii_m=radii)
    radii = np.maximum(radii + by * slope[1:-1, 0], 0.5 * radii)
    radii[at] = chain.radii_m[at] + by
    return replace(chain, nodes_m=chain.nodes_m + by * slope[:, 1:], radii_m=radii)


def _piece(points: Floats, chain: Chain, k: int) -> tuple[Chain, Floats, int]:
    """Return a bend with its neighbors, their points, and its place among them."""
    m = chain.radii_m.size
    low, high = max(k - 1, 0), min(k + 2, m)
    while low > 0 and chain.joints[low - 1] != FREE and high - low < _LONGEST_PIECE:
        low -= 1
    while high < m and chain.joints[high - 1] != FREE and high - low < _LONGEST_PIECE:
        high += 1
    joints = chain.joints[low:high].copy()
    joints[-1] = FREE
    cuts = chain.cuts[low : high + 1]
    piece = Chain(
        chain.nodes_m[low : high + 2],
        chain.radii_m[low:high],
        cuts - cuts[0],
        joints,
        low == 0 and chain.bare_start,
        high == m and chain.bare_end,
        None if chain.gaps_m is None else chain.gaps_m[low : high - 1],
        chain.lead_m if low == 0 else None,
        chain.tail_m if high == m else None,
        None if chain.turns_rad is None else chain.turns_rad[low:high],
    )
    return piece, points[cuts[0] : cuts[-1]], k - low


def _spread(values: Floats, costs: Floats) -> float:
    """Return the root mean square distance from 1 under a profile of the likelihood."""
    order = np.argsort(values)
    x, cost = values[order] ** 1.5, np.maximum(costs[order], 0.0)
    fine = np.linspace(x[0], x[-1], 400)
    at = fine ** (2.0 / 3.0)
    # roots of chi-square run straight in R^1.5
    root = np.interp(fine, x, np.sqrt(cost))
    # 1/sqrt(R) by R is R^-1 by R^1.5
    weight = np.exp(-0.5 * root**2) / at
    return float(np.sqrt((weight * (at - 1.0) ** 2).sum() / weight.sum()))
