"""Bends close together that hardly a point tells apart: how else they may share their turn.

Where the straights between bends and the arcs themselves hold few points, as in a saddle, larger
radii, longer straights and other angles trade against each other: the curvature of the likelihood
at its peak tells next to nothing of how far they may go. Each angle is therefore held at others
around its own, all else fitted anew, and what the likelihood leaves of them is its deviation.

Source: own derivation; second moment about the likely angle under a flat prior over the angle.
Angles at which a bend folds the path back between two points are none that anybody bends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import degrees, radians, sqrt

import numpy as np

from analyzer.findings import Severity
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import Chain, angle_gradients, frames
from analyzer.geometry.survey.fit import ChainFit, deviation_of, fit_chain
from analyzer.geometry.survey.models import Piece, piece_of
from analyzer.geometry.survey.profiles import OPEN, weights_of
from analyzer.geometry.survey.valleys import close_runs, of_one_radius, spacing_of, turns_back

__all__ = ["OpenAngle", "angle_deviation", "open_angle_findings", "open_angles"]

_OUT = 9.0
"""Rise of chi-square (three deviations) beyond which an angle is out of the question."""

_STEP, _GROWTH = 0.7, 1.3
"""First step, in deviations, and how the steps grow."""

_LEAST_STEP_RAD, _PART_OF_TURN = radians(0.2), 0.1
"""Shortest first step, and the longest as a part of the angle. [rad]"""

_LEAST_RAD, _MOST_RAD = radians(0.5), radians(170.0)
"""Ends of a profile. [rad]"""

_ASTRAY_RAD = 1e-3
"""Angle off the one asked for at which a fit found no way there."""

_FEWEST = 3
"""Fewest angles that make a profile."""

_STEPS = 40
"""Steps of a fit at most. Own choice."""

_OPEN_TO_NEIGHBOR = 1.0
"""Rise of chi-square from an angle to the next from which that is fitted from there too."""

_WIDER = 1.5
_FAR_RAD = radians(1.0)
"""How many times its own deviation an angle must be open by, and how far, to be worth saying."""


@dataclass(frozen=True, slots=True)
class OpenAngle:
    """An angle that few points leave open by more than its deviation tells.

    Attributes
    ----------
    corner : int
        The corner of the chain.
    run : (int, int)
        First and last corner of the bends it shares its turn with.
    sd_rad : float
        Deviation that covers what is open. [rad]
    least_rad, most_rad : float
        Least and greatest angle that the points do not rule out. [rad]
    is_wide : bool
        Whether that is so much that it is worth saying.
    """

    corner: int
    run: tuple[int, int]
    sd_rad: float
    least_rad: float
    most_rad: float
    is_wide: bool


def open_angles(
    points: Floats,
    fit: ChainFit,
    sigma: float,
    clip: float | None,
    known_rad: Mapping[int, float],
) -> list[OpenAngle]:
    """Return the angles of close bends that are open by more than their deviations.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit
        The joint fit.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    known_rad : mapping of int to float
        Deviations of the angles so far, by the first corner of each bend. [rad]
    """
    found: list[OpenAngle] = []
    for run in close_runs(fit):
        piece = piece_of(fit, *run)
        local = points[piece.low : piece.high]
        peaks = _peaks(local, piece, sigma, clip)
        for bend in range(run[1] - run[0] + 1):
            read = float(frames(piece.chain).angle[bend])
            own = angle_deviation(local, peaks[0].chain, bend, sigma)
            turns, rises = _profile(local, peaks, bend, own, sigma, clip)
            if turns.size < _FEWEST:
                continue
            weights = weights_of(turns, rises)
            sd = sqrt(float(weights @ (turns - read) ** 2 / weights.sum()))
            known = known_rad[run[0] + bend]
            if sd <= known:
                continue
            kept = turns[rises <= OPEN]
            least, most = float(kept.min()), float(kept.max())
            is_wide = sd > _WIDER * known and max(read - least, most - read) > _FAR_RAD
            found.append(OpenAngle(run[0] + bend, run, sd, least, most, is_wide))
    return found


def open_angle_findings(
    opened: Sequence[OpenAngle], corners: Sequence[int]
) -> list[NumberedFinding]:
    """Return the cautions that few points leave angles of close bends wide open, one a run.

    Parameters
    ----------
    opened : sequence of OpenAngle
        The angles that are open.
    corners : sequence of int
        First corner of every bend.
    """
    found: list[NumberedFinding] = []
    for run in dict.fromkeys(one.run for one in opened if one.is_wide):
        of_run = [one for one in opened if one.run == run and one.is_wide]
        shown = ", ".join(
            f"bend {{}} {degrees(one.least_rad):.1f}° to {degrees(one.most_rad):.1f}°"
            for one in of_run
        )
        ends = tuple(corners.index(corner) for corner in run)
        found.append(
            NumberedFinding(
                "survey-angles-open",
                Severity.CAUTION,
                "hardly a point lies on the arcs and short straights from bend {} to bend {}, so "
                f"they may share their turn otherwise: {shown}. The most likely angles are read, "
                "and the deviations count the rest in. Measure more points there to tell.",
                (*ends, *(corners.index(one.corner) for one in of_run)),
            )
        )
    return found


def _peaks(local: Floats, piece: Piece, sigma: float, clip: float | None) -> list[ChainFit]:
    """Return fits of a piece from its own radii and from common ones, the likeliest first."""
    free = replace(piece.chain, turns_rad=None)
    starts = [free, *of_one_radius(free, spacing_of(local))]
    fits = [
        fit_chain(local, start, sigma, clip=clip, tolerance=0.02, steps=_STEPS) for start in starts
    ]
    fits.sort(key=lambda fit: fit.chi2)
    likely = [fit for fit in fits if fit.chi2 - fits[0].chi2 < _OUT]
    return [fit for fit in likely if not _folds(local, fit)] or likely[:1]


def _folds(local: Floats, fit: ChainFit) -> bool:
    """Whether a bend turns back within the spacing of the points."""
    return bool(turns_back(local, fit.chain).any())


def _profile(
    local: Floats,
    peaks: Sequence[ChainFit],
    bend: int,
    own_rad: float,
    sigma: float,
    clip: float | None,
) -> tuple[Floats, Floats]:
    """Return angles at which a bend is held, rising, and the rise of chi-square at each."""
    here = float(frames(peaks[0].chain).angle[bend])
    longest = max(_PART_OF_TURN * here, _LEAST_STEP_RAD)
    step = float(np.clip(_STEP * own_rad, _LEAST_STEP_RAD, longest))
    least = peaks[0].chi2
    found: dict[float, ChainFit] = {}
    for peak in peaks:
        angle = float(frames(peak.chain).angle[bend])
        if all(abs(angle - other) > step / 2.0 for other in found):
            found[angle] = peak
    # each peak reaches the next, and the outermost go on
    ends = [_LEAST_RAD, *sorted(found), _MOST_RAD]
    for k, start in enumerate(sorted(found), start=1):
        for way, end in ((-1.0, ends[k - 1]), (1.0, ends[k + 1])):
            at, long, now = start, step, found[start]
            while way * (end - at) > long:
                at += way * long
                held = _fit_held(local, now.chain, bend, at, sigma, clip)
                if held is None or _folds(local, held):
                    break
                found[at] = now = held
                if held.chi2 - least > _OUT:
                    break
                long *= _GROWTH
    if len(peaks) > 1:
        _from_neighbors(local, found, bend, sigma, clip)
    turns = np.array(sorted(found))
    rises = np.array([found[turn].chi2 for turn in turns])
    return turns, rises - rises.min()


def _from_neighbors(
    local: Floats, found: dict[float, ChainFit], bend: int, sigma: float, clip: float | None
) -> None:
    """Fit again from the neighbor in the profile where that is better by far; in place."""
    turns = sorted(found)
    for order in (turns, turns[::-1]):
        for before, at in pairwise(order):
            if found[at].chi2 > found[before].chi2 + _OPEN_TO_NEIGHBOR:
                held = _fit_held(local, found[before].chain, bend, at, sigma, clip)
                if held is not None and held.chi2 < found[at].chi2:
                    found[at] = held


def _fit_held(
    local: Floats, chain: Chain, bend: int, turn_rad: float, sigma: float, clip: float | None
) -> ChainFit | None:
    """Return the fit with an angle held; None where it went astray."""
    turns = np.full(chain.radii_m.size, np.nan)
    turns[bend] = turn_rad
    held = replace(chain, turns_rad=turns)
    fit = fit_chain(local, held, sigma, clip=clip, tolerance=0.02, steps=_STEPS)
    astray = abs(float(frames(fit.chain).angle[bend]) - turn_rad)
    return fit if astray < _ASTRAY_RAD else None


def angle_deviation(local: Floats, chain: Chain, bend: int, sigma: float) -> float:
    """Return the deviation of a bend's angle from the curvature of the likelihood. [rad]"""
    gradient = np.zeros(4 * chain.nodes_m.shape[0])
    for node, slope in enumerate(angle_gradients(frames(chain))[bend]):
        at = 4 * (bend + node) + 1
        gradient[at : at + 3] = slope
    return deviation_of(local, chain, gradient, sigma)
