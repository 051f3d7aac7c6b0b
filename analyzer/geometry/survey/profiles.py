"""Profile of the likelihood along one value of a chain: held at many values, all else fitted anew.

Source: own derivation; weights are those of a flat prior over the value.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import Chain
from analyzer.geometry.survey.fit import ChainFit

__all__ = ["OPEN", "OUT", "STEP", "FitAt", "refine", "walk", "weights_of"]

OUT = 16.0
"""Rise of chi-square (four deviations) beyond which a value is out of the question."""

OPEN = 4.0
"""Rise of chi-square up to which a value is not ruled out (two deviations)."""

STEP = 0.5
"""First step, in deviations."""

_GROWTH = 1.15
"""How the steps grow."""

_STEEP, _MORE = 2.0, 12
"""Change of chi-square from value to value that asks for one between, and most of those."""

FitAt = Callable[[Chain, float], ChainFit | None]
"""Fit with the value held, from a start; None where there is none."""


def walk(
    found: dict[float, ChainFit], fit_at: FitAt, step: float, ends: tuple[float, float]
) -> None:
    """Go on from the outermost values until they are out of the question.

    Parameters
    ----------
    found : dict of float to ChainFit
        Fits by their values, at least one; what is found is added.
    fit_at : function
        Fit at a value.
    step : float
        First step.
    ends : (float, float)
        Smallest and largest value there is.
    """
    for way, outermost, end in ((-1.0, min, ends[0]), (1.0, max, ends[1])):
        at, long = outermost(found), step
        now = found[at]
        while way * (end - at) > 0.0:
            if now.chi2 - min(fit.chi2 for fit in found.values()) > OUT:
                break
            at = at + way * long
            if way * (end - at) < 0.2 * long:
                at = end
            new = fit_at(now.chain, at)
            if new is None:
                break
            found[at] = now = new
            long *= _GROWTH


def refine(found: dict[float, ChainFit], fit_at: FitAt) -> None:
    """Fit again from the better neighbor, and between values where the profile is steep.

    Parameters
    ----------
    found : dict of float to ChainFit
        Fits by their values; better ones and new ones are put in.
    fit_at : function
        Fit at a value.
    """
    values = sorted(found)
    for order in (values, values[::-1]):
        for before, at in pairwise(order):
            other = fit_at(found[before].chain, at)
            if other is not None and other.chi2 < found[at].chi2:
                found[at] = other
    for _ in range(_MORE):
        values = sorted(found)
        rises = np.array([found[at].chi2 for at in values])
        rises -= rises.min()
        changes = np.where(np.minimum(rises[:-1], rises[1:]) < OPEN, np.abs(np.diff(rises)), 0.0)
        if not changes.size or not changes.max() > _STEEP:
            return
        steepest = int(np.argmax(changes))
        middle = 0.5 * (values[steepest] + values[steepest + 1])
        tried = [fit_at(found[at].chain, middle) for at in values[steepest : steepest + 2]]
        fits = [fit for fit in tried if fit is not None]
        if not fits:
            return
        found[middle] = min(fits, key=lambda fit: fit.chi2)


def weights_of(values: Floats, rises: Floats) -> Floats:
    """Return what each value weighs: likelihood by the reach of the value, not normalized.

    Parameters
    ----------
    values : (k,) float
        Rising values.
    rises : (k,) float
        Chi-square over the least.
    """
    steps = np.diff(values)
    reach = np.zeros(values.size)
    reach[:-1] += steps / 2.0
    reach[1:] += steps / 2.0
    return np.asarray(np.exp(-0.5 * rises) * reach)
