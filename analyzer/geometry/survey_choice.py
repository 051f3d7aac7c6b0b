"""Fewest bends that explain the points: whole models compared by penalized likelihood.

A bend with its straight pays 4 ln(2n) + 14 in chi-square (n points; four unknowns, and the choice
of their place); one that touches the bend before, or stands at an end of the points, pays ln(2n)
less because a length falls away. Where another number of bends may do, both models are fitted to
the same points and the cheaper one stays: always a difference of models, never an absolute test.

Source: own criterion in the manner of Schwarz, "Estimating the dimension of a model", 1978.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, sqrt

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey_fit import (
    FREE,
    HALVES,
    TOUCHING,
    Chain,
    ChainFit,
    Frames,
    evaluate_chain,
    fit_chain,
    fit_line,
    frames,
)
from analyzer.geometry.survey_gaps import (
    Line,
    Sketch,
    half_arcs,
    line_chi2,
    one_arc,
    seems_plain,
)
from analyzer.geometry.survey_windows import chi2_limit
from analyzer.geometry.survey_pairs import end_arc, two_arcs

__all__ = ["choose_chain"]

_SHARE = 150
_LONGEST_RUN = 4
_DOUBT = 4.0
"""Chi-square a straight between two bends must earn beyond its length's own price."""


@dataclass(slots=True)
class _Trial:
    """What every comparison of models needs, and how many costly ones are still allowed.

    Points that are no straights and arcs at all would ask for trials without end.
    """

    points: Floats
    sigma: float
    clip: float | None
    left: int

    def spend(self) -> bool:
        """Count one costly trial; False when none is left."""
        self.left -= 1
        return self.left >= 0

    @property
    def log_points(self) -> float:
        return log(2.0 * self.points.shape[0])

    def price(self, chain: Chain, ends: int = 0) -> float:
        """Price of a chain's bends; `ends` of them stand at an end without a straight."""
        bends = chain.radii_m.size - int((chain.joints == HALVES).sum())
        fewer = int((chain.joints == TOUCHING).sum()) + ends
        return bends * (4.0 * self.log_points + 14.0) - fewer * self.log_points


@dataclass(frozen=True, slots=True)
class _Piece:
    """Bends first..last of a chain with the points that decide about them."""

    first: int
    last: int
    low: int
    high: int
    chain: Chain


def choose_chain(
    points: Floats, sketch: Sketch, sigma: float, clip: float | None
) -> ChainFit | None:
    """Return the cheapest chain of bends found from a sketch; None for a straight line.

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
    """
    trial = _Trial(points, sigma, clip, 30 + len(sketch.straights))
    chain = _chain_of(trial, sketch)
    fit = None if chain is None else _refit(trial, chain)
    fit = _improve_all(trial, fit)
    ended = _end_arcs(trial, fit)
    if ended is not fit:
        fit = _improve_all(trial, ended)
    if fit is None:
        return None
    fit = fit_chain(points, fit.chain, sigma, clip=clip, tolerance=1e-4)
    for _ in range(2):
        fit = _touch_all(trial, fit)
    return fit_chain(points, fit.chain, sigma, clip=clip, tolerance=1e-4, firm=True)


def _refit(trial: _Trial, chain: Chain, tolerance: float = 1.0) -> ChainFit:
    return fit_chain(trial.points, chain, trial.sigma, clip=trial.clip, tolerance=tolerance)


def _improve_all(trial: _Trial, fit: ChainFit | None) -> ChainFit | None:
    """Walk along the bends and take every cheaper model found."""
    if fit is None:
        return None
    f = frames(fit.chain)
    k = changes = 0
    while k < fit.chain.radii_m.size:
        better = _improve(trial, fit, f, k) if changes < 200 else None
        if better is None:
            k += 1
            continue
        changes += 1
        if better.radii_m.size == 0:
            return None
        fit = _refit(trial, better)
        f = frames(fit.chain)
        k = max(k - _LONGEST_RUN, 0)
    return fit


def _chain_of(trial: _Trial, sketch: Sketch) -> Chain | None:
    """First chain: corners between the straights of a sketch, and arcs at its ends."""
    straights, points = sketch.straights, trial.points
    if not straights:
        return None
    nodes, radii = [_foot(points[0], straights[0].line)], []
    cuts: list[int] = [0]
    joints: list[int] = []
    middles = [(s.start + s.stop) // 2 for s in straights]
    before = _sketch_end(trial, straights[0].start, straights[0].stop, straights[0].line, 1)
    if before is not None:
        nodes = [before.nodes_m[0], before.nodes_m[1]]
        radii, joints = [float(before.radii_m[0])], [FREE]
        cuts.append(middles[0])
    for k, (a, b, arc) in enumerate(zip(straights, straights[1:], sketch.arcs, strict=False)):
        low, high = max(a.start, a.stop - _SHARE), min(b.stop, b.start + _SHARE)
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
    after = _sketch_end(trial, n - last.stop, n - last.start, last.line, -1)
    if after is not None:
        nodes += [after.nodes_m[1], after.nodes_m[0]]
        radii.append(float(after.radii_m[0]))
        joints.append(FREE)
        cuts.append(n)
    else:
        nodes.append(_foot(points[-1], last.line))
    if not radii:
        return None
    cuts[-1] = n
    return Chain(
        np.array(nodes),
        np.array(radii),
        np.maximum.accumulate(np.array(cuts, dtype=np.intp)),
        np.array(joints, dtype=np.intp),
    )


def _sketch_end(trial: _Trial, start: int, stop: int, line: Line, way: int) -> Chain | None:
    """Return the arc that explains the points before the first straight (way -1: after the last).

    `start` and `stop` bound the straight, counted from that end.
    """
    if start < 2:
        return None
    local = trial.points[::way][: min(stop, start + _SHARE)]
    arc = end_arc(local, Line(line.point, way * line.direction), start, trial.sigma, trial.clip)
    if arc is None:
        return None
    now = line_chi2(local, trial.sigma, trial.clip)
    return arc.chain if arc.chi2 + trial.price(arc.chain, 1) < now else None


def _cheapest(
    trial: _Trial, local: Floats, a: Line, b: Line, gap: tuple[int, int]
) -> ChainFit | None:
    """Return the cheapest of one bend, one return bend and two bends between two lines."""
    best: tuple[float, ChainFit] | None = None
    for reader in (one_arc, half_arcs, two_arcs):
        if reader is half_arcs and float(a.direction @ b.direction) > -0.5:
            continue
        if reader is two_arcs and not trial.spend():
            continue
        fit = reader(local, a, b, gap, trial.sigma, trial.clip)
        if fit is not None:
            cost = fit.chi2 + trial.price(fit.chain)
            if best is None or cost < best[0]:
                best = (cost, fit)
    return None if best is None else best[1]


def _foot(point: Floats, line: Line) -> Floats:
    return np.asarray(line.point + ((point - line.point) @ line.direction) * line.direction)


def _piece(fit: ChainFit, first: int, last: int) -> _Piece:
    """Bends first..last with the whole straights beside them (at most 150 points each)."""
    chain, side = fit.chain, fit.side
    cuts = chain.cuts
    low, high = int(cuts[first]), int(cuts[last + 1])
    if first > 0:
        after = np.flatnonzero(side[cuts[first - 1] : low] == 1)
        low = int(cuts[first - 1] + after[0]) if after.size else low
    if last + 1 < chain.radii_m.size:
        before = np.flatnonzero(side[high : cuts[last + 2]] == -1)
        high = int(high + before[-1] + 1) if before.size else high
    bend = np.flatnonzero(side[cuts[first] : cuts[first + 1]] >= 0)
    if bend.size:
        low = max(low, int(cuts[first] + bend[0]) - _SHARE)
    bend = np.flatnonzero(side[cuts[last] : cuts[last + 1]] <= 0)
    if bend.size:
        high = min(high, int(cuts[last] + bend[-1]) + 1 + _SHARE)
    inner = np.clip(cuts[first + 1 : last + 1] - low, 0, high - low)
    joints = chain.joints[first : last + 1].copy()
    joints[-1] = FREE
    local = Chain(
        chain.nodes_m[first : last + 3],
        chain.radii_m[first : last + 1],
        np.concatenate(([0], inner, [high - low])).astype(np.intp),
        joints,
    )
    return _Piece(first, last, low, high, local)


def _splice(chain: Chain, piece: _Piece, new: Chain | None) -> Chain:
    """Put other bends in the place of a piece (none: the straights join)."""
    first, last, m = piece.first, piece.last, chain.radii_m.size
    before, after = chain.cuts[: first + 1], chain.cuts[last + 1 :]
    joints_before = chain.joints[:first].copy()
    if new is None:
        nodes, radii = np.empty((0, 3)), np.empty(0)
        joints = np.empty(0, dtype=np.intp)
        middle = (chain.cuts[first] + chain.cuts[last + 1]) // 2
        before = before[:-1] if first > 0 else before
        after = after[1:] if last + 1 < m else after
        inner = [middle] if first > 0 and last + 1 < m else []
        cuts = np.array(inner, dtype=np.intp)
        if first > 0:
            joints_before[-1] = FREE
    else:
        nodes, radii, joints = new.nodes_m[1:-1], new.radii_m, new.joints.copy()
        joints[-1] = chain.joints[last]
        cuts = piece.low + new.cuts[1:-1]
    all_nodes = np.concatenate((chain.nodes_m[: first + 1], nodes, chain.nodes_m[last + 2 :]))
    if new is not None and first == 0:
        all_nodes[0] = new.nodes_m[0]
    if new is not None and last + 1 == m:
        all_nodes[-1] = new.nodes_m[-1]
    return Chain(
        all_nodes,
        np.concatenate((chain.radii_m[:first], radii, chain.radii_m[last + 1 :])),
        np.maximum.accumulate(np.concatenate((before, cuts, after)).astype(np.intp)),
        np.concatenate((joints_before, joints, chain.joints[last + 1 :])),
    )


def _improve(trial: _Trial, fit: ChainFit, f: Frames, k: int) -> Chain | None:
    """Return a chain with a cheaper explanation of the bends from k on, if there is one."""
    chain = fit.chain
    m = chain.radii_m.size
    if k > 0 and chain.joints[k - 1] == HALVES:
        return None
    last = k + 1 if chain.joints[k] == HALVES else k
    piece = _piece(fit, k, last)
    local = trial.points[piece.low : piece.high]
    bend = evaluate_chain(local, piece.chain, trial.sigma, trial.clip)
    price = trial.price(piece.chain)
    if line_chi2(local, trial.sigma, trial.clip) < bend.chi2 + price:
        return _splice(chain, piece, None)
    a, b, gap = _outer_lines(local, bend)
    plain = last > k or seems_plain(bend, gap, trial.sigma, trial.clip)
    if not plain and trial.spend():
        found = _split(trial, piece, local, a, b, gap)
        if found is not None:
            return _splice(chain, piece, found)
    step = float(np.median(np.linalg.norm(np.diff(local, axis=0), axis=1)))
    for end in range(last + 1, min(k + _LONGEST_RUN, m)):
        if chain.joints[end] == HALVES:
            continue
        if not _may_be_one(chain, f, k, end, trial.sigma, step):
            break
        piece = _piece(fit, k, end)
        found = _fewer(trial, piece)
        if found is not None:
            return _splice(chain, piece, found)
    return None


def _may_be_one(chain: Chain, f: Frames, k: int, last: int, sigma: float, step: float) -> bool:
    """Whether the straights between bends k..last are short enough to be chords of one arc."""
    slack = f.l2[k:last] - f.tangent[k:last] - f.tangent[k + 1 : last + 1]
    turn = float(np.arccos(np.clip(f.u1[k] @ f.u2[last], -1.0, 1.0)))
    path = float((chain.radii_m[k : last + 1] * f.angle[k : last + 1]).sum() + slack.sum())
    radius = path / max(turn, 1e-3)
    return bool((slack < 1.5 * sqrt(20.0 * sigma * radius) + 3.0 * step).all())


def _split(
    trial: _Trial, piece: _Piece, local: Floats, a: Line, b: Line, gap: tuple[int, int]
) -> Chain | None:
    """Return two bends in place of one where that is cheaper."""
    now = fit_chain(local, piece.chain, trial.sigma, clip=trial.clip, tolerance=0.1)
    if seems_plain(now, gap, trial.sigma, trial.clip):
        return None
    pair = two_arcs(local, a, b, gap, trial.sigma, trial.clip)
    if pair is None:
        return None
    pair = _touch(trial, local, pair, 0)
    if pair.chi2 + trial.price(pair.chain) < now.chi2 + trial.price(now.chain):
        return pair.chain
    return None


def _fewer(trial: _Trial, piece: _Piece) -> Chain | None:
    """Return one bend, or two, in place of a piece where that is cheaper."""
    local = trial.points[piece.low : piece.high]
    sigma, clip = trial.sigma, trial.clip
    now = fit_chain(local, piece.chain, sigma, clip=clip, tolerance=0.1)
    cost = now.chi2 + trial.price(now.chain)
    a, b, gap = _outer_lines(local, now)
    found = [one_arc(local, a, b, gap, sigma, clip, chain=now.chain)]
    if float(a.direction @ b.direction) < -0.5:
        found.append(half_arcs(local, a, b, gap, sigma, clip))
    prices = [fit.chi2 + trial.price(fit.chain) for fit in found if fit is not None]
    bends = piece.chain.radii_m.size - int((piece.chain.joints == HALVES).sum())
    if bends > 2 and (not prices or min(prices) > cost) and trial.spend():
        found.append(two_arcs(local, a, b, gap, sigma, clip))
    best: Chain | None = None
    for fit in found:
        if fit is not None and fit.chi2 + trial.price(fit.chain) < cost:
            cost, best = fit.chi2 + trial.price(fit.chain), fit.chain
    return best


def _outer_lines(local: Floats, fit: ChainFit) -> tuple[Line, Line, tuple[int, int]]:
    """Lines of the first and last leg of a piece, and the points between them."""
    nodes, cuts, side = fit.chain.nodes_m, fit.chain.cuts, fit.side
    first = np.flatnonzero(side[: cuts[1]] == -1)
    last = np.flatnonzero(side[cuts[-2] :] == 1)
    start = int(first[-1]) + 1 if first.size else 0
    stop = int(cuts[-2] + last[0]) if last.size else local.shape[0]
    u1, u2 = nodes[1] - nodes[0], nodes[-1] - nodes[-2]
    a = Line(nodes[1], u1 / np.linalg.norm(u1))
    b = Line(nodes[-2], u2 / np.linalg.norm(u2))
    return a, b, (start, max(stop, start))


def _touch(trial: _Trial, local: Floats, fit: ChainFit, k: int) -> ChainFit:
    """Return the fit with bends k and k + 1 touching where their straight is not needed."""
    joints = fit.chain.joints.copy()
    joints[k] = TOUCHING
    chain = replace(fit.chain, joints=joints)
    # the split between two touching bends is a flat, curved valley: many short steps
    touching = fit_chain(
        local, chain, trial.sigma, clip=trial.clip, tolerance=0.02, steps=150
    )
    return touching if touching.chi2 < fit.chi2 + trial.log_points + _DOUBT else fit


def _touch_all(trial: _Trial, fit: ChainFit) -> ChainFit:
    """Return the joint fit with every straight left out that the points do not ask for."""
    chain = fit.chain
    m = chain.radii_m.size
    if m < 2:
        return fit
    f = frames(chain)
    slack = f.l2[:-1] - f.tangent[:-1] - f.tangent[1:]
    changed = False
    for k in np.flatnonzero((chain.joints[:-1] == FREE) & (slack < 0.7 * chain.radii_m[:-1])):
        joints = fit.chain.joints
        first = k - 1 if k > 0 and joints[k - 1] != FREE else k
        last = k + 2 if joints[k + 1] != FREE else k + 1
        piece = _piece(fit, int(first), int(last))
        local = trial.points[piece.low : piece.high]
        now = fit_chain(local, piece.chain, trial.sigma, clip=trial.clip, tolerance=0.02)
        touching = _touch(trial, local, now, int(k - first))
        if touching is not now:
            chain = _splice(fit.chain, piece, touching.chain)
            fit = evaluate_chain(trial.points, chain, trial.sigma, trial.clip)
            changed = True
    return _refit(trial, fit.chain, 1e-4) if changed else fit


def _end_arcs(trial: _Trial, fit: ChainFit | None) -> ChainFit | None:
    """Return the fit with arcs at the ends where short straights there are not needed."""
    for _ in range(2):
        fit = _start_arc(trial, fit)
        trial = replace(trial, points=trial.points[::-1])
        fit = (
            None
            if fit is None
            else evaluate_chain(trial.points, _reversed(fit.chain), trial.sigma, trial.clip)
        )
    return fit


def _reversed(chain: Chain) -> Chain:
    joints = np.append(chain.joints[:-1][::-1], FREE).astype(np.intp)
    cuts = chain.cuts[-1] - chain.cuts[::-1]
    return Chain(chain.nodes_m[::-1], chain.radii_m[::-1], cuts, joints)


def _start_arc(trial: _Trial, fit: ChainFit | None) -> ChainFit | None:
    """Return the fit with its first bends and straights read as one arc, where cheaper."""
    best: tuple[float, Chain] | None = None
    most = 0 if fit is None else min(3, fit.chain.radii_m.size)
    for q in range(most + 1):
        start, stop, line = _leg(trial, fit, q)
        if stop - start < 2:
            continue
        stop = min(stop, start + _SHARE)
        local = trial.points[:stop]
        now = _cost_before(trial, fit, q, local)
        if now is None:
            continue
        arc = end_arc(local, line, max(start, 3), trial.sigma, trial.clip)
        if arc is None or (arc.side >= 0).all() or int((arc.side == 0).sum()) < 2:
            continue
        bare = int(not (arc.side < 0).any())
        gain = arc.chi2 + trial.price(arc.chain, bare) - now
        if gain < 0.0 and (best is None or gain < best[0]):
            best = (gain, _begin_with(trial, fit, q, arc.chain, start, stop))
    return fit if best is None else _refit(trial, best[1])


def _leg(trial: _Trial, fit: ChainFit | None, q: int) -> tuple[int, int, Line]:
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


def _cost_before(trial: _Trial, fit: ChainFit | None, q: int, local: Floats) -> float | None:
    """Penalized chi-square of the first q bends as they are; None where no arc is in sight."""
    if q == 0:
        head = 8
        if fit is None:
            residual = fit_line(local)[2]
        else:
            residual = fit.residuals_m[: local.shape[0]]
        size = np.einsum("ij,ij->i", residual, residual) / trial.sigma**2
        if trial.clip is not None:
            size = np.minimum(size, trial.clip**2)
        if float(size[:head].sum()) < chi2_limit(2.0 * min(head, size.size), 2.5):
            return None
        return line_chi2(local, trial.sigma, trial.clip)
    assert fit is not None
    f = frames(fit.chain)
    first = float((fit.chain.nodes_m[1] - trial.points[0]) @ f.u1[0]) - float(f.tangent[0])
    slack = np.append(first, f.l2[: q - 1] - f.tangent[: q - 1] - f.tangent[1:q])
    arcs = fit.chain.radii_m[:q] * f.angle[:q]
    turn = float(np.arccos(np.clip(f.u1[0] @ f.u2[q - 1], -1.0, 1.0)))
    radius = float(arcs.sum() + slack.sum()) / max(turn, 1e-3)
    step = float(np.median(np.linalg.norm(np.diff(local, axis=0), axis=1)))
    if (slack > 1.5 * sqrt(20.0 * trial.sigma * abs(radius)) + 3.0 * step).any():
        return None
    chain = fit.chain
    piece = Chain(
        chain.nodes_m[: q + 2],
        chain.radii_m[:q],
        np.minimum(np.append(chain.cuts[:q], local.shape[0]), local.shape[0]),
        np.append(chain.joints[: q - 1], FREE).astype(np.intp),
    )
    now = fit_chain(local, piece, trial.sigma, clip=trial.clip, tolerance=0.1)
    bare = int(not (now.side[: now.chain.cuts[1]] < 0).any())
    return now.chi2 + trial.price(now.chain, bare)


def _begin_with(
    trial: _Trial, fit: ChainFit | None, q: int, arc: Chain, start: int, stop: int
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
    )
