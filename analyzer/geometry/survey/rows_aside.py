"""Bends that hang on a few points in a row: without those the run has fewer bends.

Points moved to one side together, as by a tripod that was knocked, look like a saddle or an offset
seen by few shots: as many bends as needed always explain them. Where bends have as many unknowns
as their points have coordinates nothing bears them out, and the two readings are compared: the
bends with all points, and fewer bends with the row left out, each at its price.

Source: own criterion in the manner of Schwarz, "Estimating the dimension of a model", 1978.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from analyzer.findings import Severity
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import owner_of
from analyzer.geometry.survey.choice import choose_chain
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain
from analyzer.geometry.survey.gaps import line_chi2, sketch_straights
from analyzer.geometry.survey.models import Trial, piece_of
from analyzer.geometry.survey.suspects import (
    distances,
    effort_of_a_trial,
    guesses,
    price_of_a_point,
    price_of_points,
)

__all__ = ["RowAside", "row_findings", "rows_aside"]

_MOST_BENDS, _POINTS_A_BEND, _MOST_A_BEND = 4, 2, 3
"""Most bends that may hang on a row, how many of its points a bend's four unknowns use up, and most
points a bend between the legs, for some may lie on the run. Own choice."""

_AT_AN_END, _MOST_AT_AN_END, _FEWEST = 3, 5, 4
"""Points up to which a row at an end counts, most with those on the run, and fewest beside it that
tell how the run goes on. Own choice."""

_FEWEST_NAMED = 2
"""Fewest points that make a row: one alone at an end is told as such."""

_NEAR = 3.5
"""Deviations off fewer bends up to which a point lies on them. Own choice."""

_MOST_TRIALS = 24
"""Rows tried in one pass at most. Own choice."""


@dataclass(frozen=True, slots=True)
class RowAside:
    """Bends that hang on a row of points.

    Attributes
    ----------
    rows : (k,) int
        The points, among those fitted, rising.
    named : (l,) int
        The same among all points, with those beside them that were left out before.
    first, last : int
        First and last corner that hangs on them.
    fewer : int
        Bends that the run has less without them.
    saved : float
        What leaving them out saves, in chi-square; below zero where the bends pay.
    guesses : int
        How many of the bends are no more than a guess.
    """

    rows: NDArray[np.intp]
    named: NDArray[np.intp]
    first: int
    last: int
    fewer: int
    saved: float
    guesses: int

    @property
    def is_none(self) -> bool:
        """Whether the bends are none: they cost more than the row, and one is a guess."""
        return self.saved > 0.0 and self.guesses > 0


def rows_aside(
    points: Floats, kept: NDArray[np.intp], fit: ChainFit | None, sigma: float
) -> list[RowAside]:
    """Return the bends that hang on rows of points, those that cost the most first.

    Parameters
    ----------
    points : (n, 3) float
        All points. [m]
    kept : (k,) int
        Those that were fitted, rising.
    fit : ChainFit or None
        Their fit; None for a straight.
    sigma : float
        Standard deviation of one coordinate. [m]
    """
    if fit is None:
        return []
    found: list[RowAside] = []
    for first, last, rows in islice(_candidates(fit), _MOST_TRIALS):
        one = _tried(points, kept, fit, (first, last), rows, sigma)
        if one is not None:
            found.append(one)
    found.sort(key=lambda one: -one.saved)
    apart: list[RowAside] = []
    for one in found:
        if all(one.first > other.last or one.last < other.first for other in apart):
            apart.append(one)
    return apart


def _candidates(fit: ChainFit) -> Iterator[tuple[int, int, NDArray[np.intp]]]:
    """Return runs of corners with so few points between their outer legs that nothing is left."""
    chain = fit.chain
    m = chain.radii_m.size
    bend_of = owner_of(chain)
    # legs are -1, 1, 3, ..., the arcs between them 0, 2, 4, ...
    place = 2 * bend_of + np.sign(fit.side)
    for first in range(m):
        for last in range(first, min(first + _MOST_BENDS, m)):
            low = int(np.searchsorted(place, 2 * first - 1, side="right"))
            high = int(np.searchsorted(place, 2 * last + 1, side="left"))
            if first == 0 and 0 < high <= _MOST_AT_AN_END:
                yield first, last, np.arange(high)
            elif last == m - 1 and 0 < place.size - low <= _MOST_AT_AN_END:
                yield first, last, np.arange(low, place.size)
            elif last > first and 0 < high - low <= _MOST_A_BEND * (last - first + 1):
                yield first, last, np.arange(low, high)


def _tried(
    points: Floats,
    kept: NDArray[np.intp],
    fit: ChainFit,
    run: tuple[int, int],
    rows: NDArray[np.intp],
    sigma: float,
) -> RowAside | None:
    """Return what leaving out a row does to the bends around it; None where it saves none."""
    m = fit.chain.radii_m.size
    first, last = run
    piece = piece_of(fit, max(first - 1, 0), min(last + 1, m - 1))
    local = points[kept[piece.low : piece.high]]
    here = rows - piece.low
    rest = np.setdiff1d(np.arange(local.shape[0]), here)
    if rest.size < _FEWEST:
        return None
    effort = effort_of_a_trial(rest.size)
    trial = Trial(local, sigma, None, effort)
    now = evaluate_chain(local, piece.chain, sigma)
    used = local[rest]
    other = choose_chain(used, sketch_straights(used, sigma, None), sigma, None, effort)
    if effort.spent_out:
        return None
    # those left out before, beside the row or in it
    before = kept[rows[0] - 1] if rows[0] > 0 else -1
    after = kept[rows[-1] + 1] if rows[-1] + 1 < kept.size else points.shape[0]
    lost = np.setdiff1d(np.arange(before + 1, after), kept)
    asked = np.concatenate((kept[rows], lost))
    if other is None:
        left, cost = 0, line_chi2(used, sigma, None)
    else:
        left, cost = other.chain.radii_m.size, other.chi2 + trial.price(other.chain)
    fewer = piece.chain.radii_m.size - left
    if fewer <= 0:
        return None
    off = distances(points, kept[piece.low : piece.high][rest], other)[asked] / sigma
    away = off > _NEAR
    bends, at_end = last - first + 1, rows[0] == 0 or rows[-1] == kept.size - 1
    most = _AT_AN_END if at_end else _POINTS_A_BEND * bends
    if not 0 < int(away[: rows.size].sum()) <= most:
        return None
    guessed = guesses(local, now, sigma, range(first - piece.first, last - piece.first + 1))
    if bends == 1 and not guessed:
        return None
    if at_end:
        # moved together they are one choice; in a run, bends that are there are not to go for it
        price = price_of_points(int(away.sum()), points.shape[0])
    else:
        price = int(away.sum()) * price_of_a_point(points.shape[0])
    cost += float((off[~away] ** 2).sum()) + price
    had = now.chi2 + trial.price(piece.chain) + lost.size * price_of_a_point(points.shape[0])
    return RowAside(
        rows[away[: rows.size]],
        np.sort(asked[away]),
        first,
        last,
        fewer,
        had - cost,
        guessed,
    )


def row_findings(asides: Sequence[RowAside], corners: Sequence[int]) -> list[NumberedFinding]:
    """Return the cautions that bends hang on rows of points.

    Parameters
    ----------
    asides : sequence of RowAside
        The rows.
    corners : sequence of int
        First corner of every bend.
    """
    found = []
    for one in asides:
        bends = [k for k, corner in enumerate(corners) if one.first <= corner <= one.last]
        left = len(corners) - one.fewer
        rows = one.named.tolist()
        if not bends or left < 0 or len(rows) < _FEWEST_NAMED:
            continue
        whose = "bend {} hangs" if len(bends) == 1 else "bends {} to {} hang"
        found.append(
            NumberedFinding(
                "survey-bends-on-a-row",
                Severity.CAUTION,
                f"{whose} on {{}} to {{}} alone, which stand to one side: without them the run has "
                f"{_bends(left)}. Points that were moved together, as by a knocked instrument, "
                "look so too. Check them, or measure more points there.",
                (bends[0],) if len(bends) == 1 else (bends[0], bends[-1]),
                (rows[0], rows[-1]),
            )
        )
    return found


def _bends(count: int) -> str:
    return "no bend" if count == 0 else f"{count} bend{'s' if count > 1 else ''}"
