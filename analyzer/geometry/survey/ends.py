"""Runs that start or end in an arc.

At each end the first few bends and short straights (which may be chords) are tried as one arc that
begins at the end point; how long a straight may stand before it is settled later, with all short
straights. The run is turned around for the other end.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, Chain, frames, turn_at
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain, fit_line
from analyzer.geometry.survey.gaps import Line, line_chi2
from analyzer.geometry.survey.models import SHARE, Trial, reversed_chain
from analyzer.geometry.survey.pairs import end_arc
from analyzer.geometry.survey.windows import chi2_limit

__all__ = ["end_arcs", "sketch_end"]

_BARE = 2.0
"""Chi-square up to which the short straight at an end is read as none."""

_LEAST_BEND_RAD = 0.5 * pi / 180.0
"""Turn below which the end of a straight is no bend: rounded coordinates make such. [rad]"""


def _fewest(trial: Trial) -> int:
    """Fewest points of an end arc: where outliers are about, two or three may be such."""
    return 2 if trial.clip is None else 4


def sketch_end(trial: Trial, start: int, stop: int, line: Line, way: int) -> Chain | None:
    """Return the arc that explains the points before the first straight (way -1: after the last).

    None where those points are too few, no arc is near, or one does not pay its price.

    Parameters
    ----------
    trial : Trial
        The points, their accuracy and the work left.
    start, stop : int
        First point of that straight, counted from that end, and the first behind it.
    line : Line
        The straight, traveling forward.
    way : int
        1 for the start of the points, -1 for their end, which is read backward.
    """
    if start < _fewest(trial):
        return None
    local = trial.points[::way][: min(stop, start + SHARE)]
    arc = end_arc(local, Line(line.point, way * line.direction), start, trial.sigma, trial.clip)
    if arc is None:
        return None
    now = line_chi2(local, trial.sigma, trial.clip)
    return arc.chain if arc.chi2 + trial.price(arc.chain) < now else None


def end_arcs(trial: Trial, fit: ChainFit | None) -> ChainFit | None:
    """Return the fit with arcs at the ends where short straights there are not needed."""
    for _ in range(2):
        fit = _start_arc(trial, fit)
        trial = replace(trial, points=trial.points[::-1])
        fit = (
            None
            if fit is None
            else evaluate_chain(trial.points, reversed_chain(fit.chain), trial.sigma, trial.clip)
        )
    return fit


def _start_arc(trial: Trial, fit: ChainFit | None) -> ChainFit | None:
    """Return the fit with its first bends and straights read as one arc, where cheaper."""
    best: tuple[float, Chain] | None = None
    most = 0 if fit is None else min(3, fit.chain.radii_m.size)
    for q in range(most + 1):
        start, stop, line = _leg(trial, fit, q)
        if stop - start < 2:
            continue
        stop = min(stop, start + SHARE)
        local = trial.points[:stop]
        now = _cost_before(trial, fit, q, local)
        if now is None:
            continue
        arc = end_arc(local, line, max(start, 3), trial.sigma, trial.clip)
        if arc is None or not (arc.side > 0).any() or int((arc.side == 0).sum()) < _fewest(trial):
            continue
        whole = float(frames(arc.chain).angle[0])
        if q == 0 and whole - turn_at(local[0], arc.chain, 0)[0] < _LEAST_BEND_RAD:
            continue
        gain = arc.chi2 + trial.price(arc.chain) - now
        if q == 1:
            # the arc only does without its straight where the points hardly see one
            gain += trial.log_points - _BARE
        if gain < 0.0 and (best is None or gain < best[0]):
            best = (gain, _begin_with(trial, fit, q, arc.chain, start, stop))
    return (
        fit
        if best is None
        else fit_chain(trial.points, best[1], trial.sigma, clip=trial.clip, tolerance=1.0)
    )


def _leg(trial: Trial, fit: ChainFit | None, q: int) -> tuple[int, int, Line]:
    """First and last point of leg q, and its line."""
    n = trial.points.shape[0]
    if fit is None:
        center, direction, _ = fit_line(trial.points)
        return 0, n, Line(center, direction)
    chain, side = fit.chain, fit.side
    start, stop = 0, n
    if q > 0:
        after = np.flatnonzero(side[chain.cuts[q - 1] : chain.cuts[q]] == 1)
        start = int(chain.cuts[q - 1] + after[0]) if after.size else int(chain.cuts[q])
    if q < chain.radii_m.size:
        arc = np.flatnonzero(side[chain.cuts[q] : chain.cuts[q + 1]] >= 0)
        stop = int(chain.cuts[q] + arc[0]) if arc.size else int(chain.cuts[q + 1])
    leg = chain.nodes_m[q + 1] - chain.nodes_m[q]
    return start, stop, Line(chain.nodes_m[q], leg / np.linalg.norm(leg))


def _cost_before(trial: Trial, fit: ChainFit | None, q: int, local: Floats) -> float | None:
    """Penalized chi-square of the first q bends as they are; None where no arc is in sight."""
    if q == 0:
        head = 8
        residual = fit_line(local)[2] if fit is None else fit.residuals_m[: local.shape[0]]
        size = np.einsum("ij,ij->i", residual, residual) / trial.sigma**2
        if trial.clip is not None:
            size = np.minimum(size, trial.clip**2)
        if float(size[:head].sum()) < chi2_limit(2.0 * min(head, size.size), 2.5):
            return None
        return line_chi2(local, trial.sigma, trial.clip)
    assert fit is not None
    if fit.chain.bare_start and q == 1:
        return None
    f = frames(fit.chain)
    first = float((fit.chain.nodes_m[1] - trial.points[0]) @ f.u1[0]) - float(f.tangent[0])
    slack = np.append(first, f.l2[: q - 1] - f.tangent[: q - 1] - f.tangent[1:q])
    arcs = fit.chain.radii_m[:q] * f.angle[:q]
    turn = float(np.arccos(np.clip(f.u1[0] @ f.u2[q - 1], -1.0, 1.0)))
    radius = float(arcs.sum() + slack.sum()) / max(turn, 1e-3)
    step = float(np.median(leg_lengths(local)))
    if (slack > 1.5 * sqrt(20.0 * trial.sigma * abs(radius)) + 3.0 * step).any():
        return None
    chain = fit.chain
    piece = Chain(
        chain.nodes_m[: q + 2],
        chain.radii_m[:q],
        np.minimum(np.append(chain.cuts[:q], local.shape[0]), local.shape[0]),
        np.append(chain.joints[: q - 1], FREE).astype(np.intp),
        chain.bare_start,
    )
    now = fit_chain(local, piece, trial.sigma, clip=trial.clip, tolerance=0.1)
    return now.chi2 + trial.price(now.chain)


def _begin_with(
    trial: Trial, fit: ChainFit | None, q: int, arc: Chain, start: int, stop: int
) -> Chain:
    """Return the chain with one arc in place of its first q bends."""
    if fit is None:
        return replace(arc, cuts=np.array([0, trial.points.shape[0]], dtype=np.intp))
    chain = fit.chain
    m = chain.radii_m.size
    cuts = [0, (start + stop) // 2] if q < m else [0, trial.points.shape[0]]
    nodes = chain.nodes_m[q + 1 :] if q < m else arc.nodes_m[-1:]
    return Chain(
        np.concatenate((arc.nodes_m[:2], nodes)),
        np.concatenate((arc.radii_m, chain.radii_m[q:])),
        np.concatenate((cuts, chain.cuts[q + 1 :] if q < m else [])).astype(np.intp),
        np.concatenate(([FREE], chain.joints[q:])).astype(np.intp),
        True,
        q < m and chain.bare_end,
    )
