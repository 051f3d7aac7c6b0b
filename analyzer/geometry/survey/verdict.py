"""Whether straights and arcs explain survey points, and where they do not.

Own criteria. Points are not explained where they scatter far more about the fit than the stated
accuracy or than neighbors do about each other, where the scatter is a fair part of the route,
where they do not run in order along it or stand beyond the straights they are laid to, where the
search for fewer bends had to be cut short, and where bend touches bend and the points still keep to
one side of them: a curve that is no arc.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats, Segment
from analyzer.geometry.survey.chain import FREE, HALVES, TOUCHING, along_legs, evaluate
from analyzer.geometry.survey.findings import HOPELESS
from analyzer.geometry.survey.fit import ChainFit, fit_line
from analyzer.geometry.survey.traces import explains
from analyzer.geometry.survey.windows import accuracy_of_alike, shape_basis
from analyzer.units import show_number, show_short, to_ft

__all__ = ["most_touching", "reasons_against", "show_stretches", "unexplained_stretches"]

_STATED_PART = 0.1
_ESTIMATED_PART = 0.03
"""Accuracy over the extent of the points beyond which they show no route."""

_DETOUR = 10.0
"""Path from point to point over the length of the fit beyond which they are in no order."""

_FEW_ON_A_LINE, _CURVES = 20, 2
_SURE = 5.0
"""Points up to which a straight is asked whether they curve, by how many of the slow shapes, and
deviations that are sure."""

_BEYOND = 6.0
"""Accuracies that a point may stand beyond the end of its straight. Own choice."""

_CURVE_BENDS = 3
"""Bends without a straight between them that make a curve when the points disagree."""


def most_touching(fit: ChainFit | None) -> int:
    """Return the most bends that follow one another without a straight."""
    if fit is None:
        return 0
    most = count = 1
    for joint in fit.chain.joints[:-1]:
        count = 1 if joint == FREE else count + int(joint == TOUCHING)
        most = max(most, count)
    return most


def reasons_against(
    points: Floats,
    segments: Sequence[Segment],
    fit: ChainFit | None,
    *,
    scatter_m: float,
    accuracy_m: float,
    found_with_m: float,
    stated_m: float | None,
    is_rounding: bool,
    uneven: bool,
    cut: bool,
) -> list[str]:
    """Return why a fit does not explain its points, as clauses; empty where it does.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    segments : sequence of Segment
        The fit.
    fit : ChainFit or None
        The chain behind it; None for a straight.
    scatter_m : float
        Standard deviation of one coordinate about the fit. [m]
    accuracy_m : float
        Accuracy behind the deviations. [m]
    found_with_m : float
        Accuracy that the search began with. [m]
    stated_m : float or None
        Stated accuracy. [m]
    is_rounding : bool
        Whether that is what rounding makes, and nobody stated it.
    uneven : bool
        Whether neighboring points err alike, or scatter more than stated.
    cut : bool
        Whether the search for fewer bends ended before its time.
    """
    reasons = []
    extent = float(np.linalg.norm(np.ptp(points, axis=0)))
    part = _ESTIMATED_PART if stated_m is None else _STATED_PART
    if scatter_m > HOPELESS * found_with_m:
        alike = accuracy_of_alike(points) > 0.0
        reasons.append(
            "neighboring points agree far better than that with each other"
            + (", as where their errors are alike (drift, or a handheld scan)" if alike else "")
        )
    if stated_m is not None and scatter_m > HOPELESS * stated_m:
        least = "what their rounding makes" if is_rounding else "the stated accuracy"
        reasons.append(f"that is far more than {least}")
    if accuracy_m > part * extent:
        reasons.append("that is a fair part of the size of the route")
    path = float(leg_lengths(points).sum())
    if path > _DETOUR * sum(segment.length_m for segment in segments):
        reasons.append("the points do not run in order along it")
    if fit is None and points.shape[0] < _FEW_ON_A_LINE and _bends_off(points, found_with_m):
        reasons.append("read as one straight they lie on a curve, too few of them to show which")
    beyond = 0.0 if fit is None else _beyond_legs_m(points, fit)
    if beyond > _BEYOND * max(accuracy_m, found_with_m):
        reasons.append(
            f"a straight between bends ends {show_short(beyond)} short of a point laid to it"
        )
    if cut:
        reasons.append("ever more bends would be needed")
    if uneven and most_touching(fit) >= _CURVE_BENDS:
        reasons.append(
            f"{most_touching(fit)} bends follow one another without a straight, and the points "
            "still keep to one side of them"
        )
    return reasons


def _beyond_legs_m(points: Floats, fit: ChainFit) -> float:
    """How far points stand beyond the straights between bends that they are laid to, at most. [m]

    The fit asks how far a point is off the line of its straight, not where that ends: a short one
    that points at a wrong shot leaves nothing of its distance.
    """
    state = evaluate(points, fit.chain)
    f, own = state.frames, state.owner
    before, after = along_legs(state)
    before = -before - np.append(np.inf, f.l1[1:] - f.tangent[:-1])[own]
    after = after - np.append(f.l2[:-1] - f.tangent[1:], np.inf)[own]
    beyond = np.where(state.last, after, np.where(state.first, before, 0.0))
    return max(float(beyond.max()), 0.0)


def _bends_off(points: Floats, sigma_m: float) -> bool:
    """Whether points run along a parabola (one bend) or a cubic (an offset) about their line."""
    waves = shape_basis(points.shape[0])[:_CURVES]
    strongest = float(((waves @ fit_line(points)[2]) ** 2).sum(axis=1).max())
    return strongest > (_SURE * sigma_m) ** 2


def unexplained_stretches(
    fit: ChainFit | None, ranges: Sequence[tuple[int, int]], sigma_m: float
) -> list[tuple[int, int]]:
    """Return the first and last segment of the stretches that the fit explains worst.

    They are runs of bends whose points do not scatter as they should, or that touch.

    Parameters
    ----------
    fit : ChainFit or None
        The chain; None for a straight.
    ranges : sequence of (int, int)
        First and last segment of every bend.
    sigma_m : float
        Accuracy that the points should have. [m]
    """
    if fit is None:
        return []
    chain = fit.chain
    whole = [k for k in range(chain.radii_m.size) if k == 0 or chain.joints[k - 1] != HALVES]
    stops = [*whole[1:], chain.radii_m.size]
    found: list[tuple[int, int]] = []
    for i, (first, stop) in enumerate(zip(whole, stops, strict=True)):
        low, high = int(chain.cuts[first]), int(chain.cuts[stop])
        one = ChainFit(chain, fit.residuals_m[low:high], fit.side[low:high], fit.chi2, True)
        joined = (first > 0 and chain.joints[first - 1] == TOUCHING) or (
            chain.joints[stop - 1] == TOUCHING
        )
        if joined or (high > low and not explains(one, (0, high - low), sigma_m, None)):
            if found and found[-1][1] == ranges[i - 1][1]:
                found[-1] = (found[-1][0], ranges[i][1])
            else:
                found.append(ranges[i])
    return found


def show_stretches(
    stretches: Sequence[tuple[int, int]], segments: Sequence[Segment], station_m: float
) -> str:
    """Return stretches of segments as stations; the whole fit where none is named.

    Parameters
    ----------
    stretches : sequence of (int, int)
        First and last segment of each.
    segments : sequence of Segment
        The fit.
    station_m : float
        Station of its start. [m]
    """
    stations = list(accumulate((s.length_m for s in segments), initial=station_m))
    spans = [(stations[first], stations[last + 1]) for first, last in stretches[:4]]
    spans = spans or [(stations[0], stations[-1])]
    shown = [
        f"from {show_number(to_ft(low), 1)} ft to {show_number(to_ft(high), 1)} ft "
        f"({show_number(low, 2)} m to {show_number(high, 2)} m)"
        for low, high in spans
    ]
    return ", ".join(shown) + (" and further on" if len(stretches) > 4 else "")
