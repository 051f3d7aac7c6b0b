"""Fewest bends that explain the points: whole models compared by penalized likelihood.

Where another number of bends may do, both models are fitted to the same points and the cheaper one
stays: always a difference of models, never an absolute test.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np

from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import (
    FREE,
    HALVES,
    LIKE,
    TOUCHING,
    Chain,
    Frames,
    frames,
)
from analyzer.geometry.survey.ends import end_arcs, sketch_end
from analyzer.geometry.survey.fit import ChainFit, evaluate_chain, fit_chain
from analyzer.geometry.survey.gaps import RETURN, Line, Sketch, half_arcs, line_chi2, one_arc
from analyzer.geometry.survey.like_pairs import like_arcs
from analyzer.geometry.survey.models import (
    SHARE,
    Effort,
    Piece,
    Trial,
    foot_on,
    outer_lines,
    piece_of,
    splice,
)
from analyzer.geometry.survey.pairs import two_arcs
from analyzer.geometry.survey.touching import touch_all, touch_wins, touching
from analyzer.geometry.survey.traces import CLEAR_TRACE, seems_plain
from analyzer.geometry.survey.triples import three_arcs
from analyzer.geometry.survey.valleys import leave_valleys, leave_valleys_together

__all__ = ["choose_chain"]

_LONGEST_RUN = 4
"""Most bends that are tried as one or two."""

_ONE_STEPS, _PAIR_STEPS, _TRIPLE_STEPS = 12, 30, 60
"""Steps of a fit that trying one bend, two or three takes, about."""

_ASTRAY = 9.0
"""Rise of the whole cost at which a fit of all lost its way after a piece had become cheaper."""

_ALIKE = 0.1
"""Moves below so many sigma make no bend worth another trial."""


def choose_chain(
    points: Floats, sketch: Sketch, sigma: float, clip: float | None, effort: Effort
) -> ChainFit | None:
    """Return the cheapest chain of bends found from a sketch, fitted; None for one straight.

    Parameters
    ----------
    points : (n, 3) float
        Points in order, near the origin. [m]
    sketch : Sketch
        Straights with the arcs between them.
    sigma : float
        Standard deviation of one coordinate. [m]
    clip : float or None
        Residuals beyond so many sigma weigh less.
    effort : Effort
        Work still allowed; without any left the chain stays as far as it has come.
    """
    trial = Trial(points, sigma, clip, effort)
    chain = _chain_of(trial, sketch)
    fit = None if chain is None else _refit(trial, chain)
    settled: set[bytes] = set()
    fit = _improve_all(trial, fit, settled)
    fit = _improve_all(trial, end_arcs(trial, fit), settled)
    if fit is None:
        return None
    fit = leave_valleys(trial, fit_chain(points, fit.chain, sigma, clip=clip, tolerance=1e-4))
    fit = touch_all(trial, fit)
    if (fit.chain.joints == TOUCHING).any():
        fit = touch_all(trial, fit)
    # likeness decides how many bends there are, not what they measure
    joints = np.where(fit.chain.joints == LIKE, FREE, fit.chain.joints)
    fit = fit_chain(
        points, replace(fit.chain, joints=joints), sigma, clip=clip, tolerance=1e-4, firm=True
    )
    return leave_valleys_together(trial, fit)


def _refit(trial: Trial, chain: Chain, tolerance: float = 1.0) -> ChainFit:
    return fit_chain(trial.points, chain, trial.sigma, clip=trial.clip, tolerance=tolerance)


def _improve_all(trial: Trial, fit: ChainFit | None, settled: set[bytes]) -> ChainFit | None:
    """Walk along the bends and take every cheaper model found.

    `settled` holds the places where there was none; it grows.
    """
    if fit is None:
        return None
    f = frames(fit.chain)
    k = 0
    while k < fit.chain.radii_m.size and not trial.effort.spent_out:
        place = _place(trial, fit.chain, k)
        better = None if place in settled else _improve(trial, fit, f, k)
        if better is not None:
            if better.radii_m.size == 0:
                return None
            new = _refit(trial, better)
            was = fit.chi2 + trial.price(fit.chain)
            if new.chi2 + trial.price(new.chain) <= was + _ASTRAY:
                fit, f = new, frames(new.chain)
                k = max(k - _LONGEST_RUN, 0)
                continue
        settled.add(place)
        k += 1
    return fit


def _place(trial: Trial, chain: Chain, k: int) -> bytes:
    """Return what tells a bend and those around it from any other, to a tenth of a deviation."""
    low, high = max(k - 1, 0), k + _LONGEST_RUN + 1
    around = np.concatenate((chain.nodes_m[low : high + 1].ravel(), chain.radii_m[low:high]))
    place = np.concatenate((np.rint(around / (_ALIKE * trial.sigma)), chain.joints[low:high]))
    return bytes([k - low]) + place.tobytes()


def _chain_of(trial: Trial, sketch: Sketch) -> Chain | None:
    """First chain: corners between the straights of a sketch, and arcs at its ends."""
    straights, points = sketch.straights, trial.points
    if not straights:
        return None
    nodes, radii = [foot_on(points[0], straights[0].line)], []
    cuts: list[int] = [0]
    joints: list[int] = []
    middles = [(s.start + s.stop) // 2 for s in straights]
    before = sketch_end(trial, straights[0].start, straights[0].stop, straights[0].line, 1)
    if before is not None:
        nodes = [before.nodes_m[0], before.nodes_m[1]]
        radii, joints = [float(before.radii_m[0])], [FREE]
        cuts.append(middles[0])
    for k, (a, b, arc) in enumerate(zip(straights, straights[1:], sketch.arcs, strict=False)):
        low, high = max(a.start, a.stop - SHARE), min(b.stop, b.start + SHARE)
        gap = (a.stop - low, b.start - low)
        found = arc or _cheapest(trial, points[low:high], a.line, b.line, gap)
        if found is None:
            middle = (a.stop + b.start) // 2
            nodes.append(points[min(middle, points.shape[0] - 1)])
            radii.append(0.1 * float(np.linalg.norm(points[b.start] - points[a.stop - 1])))
            joints.append(FREE)
        else:
            nodes.extend(found.chain.nodes_m[1:-1])
            radii.extend(found.chain.radii_m)
            joints.extend(found.chain.joints)
            cuts.extend(low + found.chain.cuts[1:-1])
        cuts.append(middles[k + 1])
    last = straights[-1]
    n = points.shape[0]
    after = sketch_end(trial, n - last.stop, n - last.start, last.line, -1)
    if after is not None:
        nodes += [after.nodes_m[1], after.nodes_m[0]]
        radii.append(float(after.radii_m[0]))
        joints.append(FREE)
        cuts.append(n)
    else:
        nodes.append(foot_on(points[-1], last.line))
    if not radii:
        return None
    cuts[-1] = n
    return Chain(
        np.array(nodes),
        np.array(radii),
        np.maximum.accumulate(np.array(cuts, dtype=np.intp)),
        np.array(joints, dtype=np.intp),
        before is not None,
        after is not None,
    )


def _cheapest(
    trial: Trial, local: Floats, a: Line, b: Line, gap: tuple[int, int]
) -> ChainFit | None:
    """Return the cheapest of one bend, one return bend and two bends between two lines.

    Three are tried where the points leave so much about those that a third may pay: a saddle
    whose short straights hold too few points to be found.
    """
    best: tuple[float, ChainFit] | None = None
    for reader, steps in ((one_arc, _ONE_STEPS), (half_arcs, _ONE_STEPS), (two_arcs, _PAIR_STEPS)):
        if reader is half_arcs and float(a.direction @ b.direction) > RETURN:
            continue
        if not trial.effort.spend(steps, local.shape[0]):
            break
        fit = reader(local, a, b, gap, trial.sigma, trial.clip)
        if fit is not None:
            cost = fit.chi2 + trial.price(fit.chain)
            if best is None or cost < best[0]:
                best = (cost, fit)
    worth = best is None or best[0] > 2.0 * local.shape[0] + 3.0 * trial.a_bend
    if worth and trial.effort.spend(_TRIPLE_STEPS, local.shape[0]):
        fit = three_arcs(local, a, b, gap, trial.sigma, trial.clip)
        if fit is not None and (best is None or fit.chi2 + trial.price(fit.chain) < best[0]):
            return fit
    return None if best is None else best[1]


def _improve(trial: Trial, fit: ChainFit, f: Frames, k: int) -> Chain | None:
    """Return a chain with a cheaper explanation of the bends from k on, if there is one."""
    chain = fit.chain
    m = chain.radii_m.size
    if k > 0 and chain.joints[k - 1] == HALVES:
        return None
    last = k + 1 if chain.joints[k] == HALVES else k
    piece = piece_of(fit, k, last)
    local = trial.points[piece.low : piece.high]
    bend = evaluate_chain(local, piece.chain, trial.sigma, trial.clip)
    price = trial.price(piece.chain)
    if line_chi2(local, trial.sigma, trial.clip) < bend.chi2 + price:
        return splice(chain, piece, None)
    a, b, gap = outer_lines(local, bend)
    plain = last > k or seems_plain(bend, gap, trial.sigma, trial.clip)
    if not plain and trial.effort.spend(_PAIR_STEPS, local.shape[0]):
        found = _split(trial, piece, local, a, b, gap)
        if found is not None:
            return splice(chain, piece, found)
    step = float(np.median(leg_lengths(local)))
    for end in range(last + 1, min(k + _LONGEST_RUN, m)):
        if chain.joints[end] == HALVES:
            continue
        if not _may_be_one(chain, f, k, end, trial.sigma, step):
            break
        piece = piece_of(fit, k, end)
        found = _fewer(trial, piece)
        if found is not None:
            return splice(chain, piece, found)
    return None


def _may_be_one(chain: Chain, f: Frames, k: int, last: int, sigma: float, step: float) -> bool:
    """Whether the straights between bends k..last are short enough to be chords of one arc."""
    slack = f.l2[k:last] - f.tangent[k:last] - f.tangent[k + 1 : last + 1]
    turn = float(np.arccos(np.clip(f.u1[k] @ f.u2[last], -1.0, 1.0)))
    path = float((chain.radii_m[k : last + 1] * f.angle[k : last + 1]).sum() + slack.sum())
    radius = max(path, 0.0) / max(turn, 1e-3)
    return bool((slack < 1.5 * sqrt(20.0 * sigma * radius) + 3.0 * step).all())


def _split(
    trial: Trial, piece: Piece, local: Floats, a: Line, b: Line, gap: tuple[int, int]
) -> Chain | None:
    """Return two bends in place of one where that is cheaper."""
    now = fit_chain(local, piece.chain, trial.sigma, clip=trial.clip, tolerance=0.1)
    if seems_plain(now, gap, trial.sigma, trial.clip):
        return None
    found = []
    if not seems_plain(now, gap, trial.sigma, trial.clip, most=CLEAR_TRACE):
        pair = two_arcs(local, a, b, gap, trial.sigma, trial.clip)
        if pair is not None:
            close = touching(trial, local, pair, 0)
            found.append(close if touch_wins(trial, pair, close, 0) else pair)
    if now.chain.radii_m.size == 1:
        alike = like_arcs(local, now, trial.sigma, trial.clip)
        found += [alike] if alike is not None else []
    costs = [fit.chi2 + trial.price(fit.chain) for fit in found]
    if costs and min(costs) < now.chi2 + trial.price(now.chain):
        return found[int(np.argmin(costs))].chain
    return None


def _fewer(trial: Trial, piece: Piece) -> Chain | None:
    """Return one bend, or two, in place of a piece where that is cheaper."""
    local = trial.points[piece.low : piece.high]
    sigma, clip = trial.sigma, trial.clip
    if not trial.effort.spend(_ONE_STEPS, local.shape[0]):
        return None
    now = fit_chain(local, piece.chain, sigma, clip=clip, tolerance=0.1)
    cost = now.chi2 + trial.price(now.chain)
    a, b, gap = outer_lines(local, now)
    found = [one_arc(local, a, b, gap, sigma, clip, chain=now.chain)]
    if float(a.direction @ b.direction) < RETURN:
        found.append(half_arcs(local, a, b, gap, sigma, clip))
    prices = [fit.chi2 + trial.price(fit.chain) for fit in found if fit is not None]
    bends = piece.chain.radii_m.size - int((piece.chain.joints == HALVES).sum())
    worth = bends > 2 and (not prices or min(prices) > cost)
    if worth and trial.effort.spend(_PAIR_STEPS, local.shape[0]):
        found.append(two_arcs(local, a, b, gap, sigma, clip))
    if piece.chain.joints.size == 2 and piece.chain.joints[0] == FREE:
        found.append(_alike(trial, local, now))
        if found[0] is not None:
            found.append(like_arcs(local, found[0], sigma, clip))
    best: Chain | None = None
    for fit in found:
        if fit is not None and fit.chi2 + trial.price(fit.chain) < cost:
            cost, best = fit.chi2 + trial.price(fit.chain), fit.chain
    return best


def _alike(trial: Trial, local: Floats, fit: ChainFit) -> ChainFit:
    """Return two bends with one radius and one plane."""
    joints = np.array([LIKE, FREE], dtype=np.intp)
    radii = np.full(2, fit.chain.radii_m.mean())
    chain = replace(fit.chain, joints=joints, radii_m=radii)
    return fit_chain(local, chain, trial.sigma, clip=trial.clip, tolerance=0.1)
