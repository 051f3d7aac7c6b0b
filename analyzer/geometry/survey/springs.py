"""Springs that hold what a chain is asked to keep: touching bends, halves, lengths and angles.

Each is a residual with its derivatives by the unknowns of up to four nodes. Overlap of neighboring
arcs is pushed apart by a spring of its own, one way only.

Source: own derivation; the derivatives are tested against differences.
"""

from __future__ import annotations

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import (
    FREE,
    HALVES,
    LIKE,
    TOUCHING,
    Chain,
    Frames,
    Ints,
    angle_gradients,
)

__all__ = ["end_gradient", "penalties", "penalty_cost", "slack_gradients"]

_SLACK = 0.05
"""Give of the springs that push overlapping arcs apart."""


def _joints_held(chain: Chain, f: Frames) -> tuple[Floats, Ints]:
    """Straight left between neighboring bends; the joints where it is held or overlaps."""
    if chain.radii_m.size < 2:
        return np.empty(0), np.empty(0, dtype=np.intp)
    slack = f.l2[:-1] - f.tangent[:-1] - f.tangent[1:]
    if chain.gaps_m is not None:
        slack = slack - chain.gaps_m
    joints = chain.joints[:-1]
    return slack, np.flatnonzero((slack < 0.0) | (joints == TOUCHING) | (joints == HALVES))


def penalty_cost(chain: Chain, f: Frames, tie: float) -> float:
    """Return the sum of squares of the penalties, without their derivatives. [m2]

    Parameters
    ----------
    chain : Chain
        The chain of m bends.
    f : Frames
        Its frames.
    tie : float
        Give of the springs that hold: a residual of its length over this.
    """
    slack, held = _joints_held(chain, f)
    held_too = (chain.lead_m, chain.tail_m, chain.turns_rad)
    if (chain.joints >= HALVES).any() or any(one is not None for one in held_too):
        extra = penalties(chain, f, tie)[0]
        return float(extra @ extra)
    if held.size == 0:
        return 0.0
    give = np.where(chain.joints[held] == FREE, _SLACK, tie)
    return float(((slack[held] / give) ** 2).sum())


def penalties(chain: Chain, f: Frames, tie: float) -> tuple[Floats, Floats, Ints]:
    """Return overlaps of neighboring tangents, and what is held: straights, likeness, angles.

    Parameters
    ----------
    chain : Chain
        The chain of m bends.
    f : Frames
        Its frames.
    tie : float
        Give of the springs that hold: a residual of its length over this.

    Returns
    -------
    (k,) float, (k, 16) float, (k,) int
        Residuals, gradients by the unknowns of four nodes, and the first unknown. [m]
    """
    slack, held = _joints_held(chain, f)
    alike = np.flatnonzero(chain.joints >= HALVES)
    ends = [
        (end, asked) for end, asked in enumerate((chain.lead_m, chain.tail_m)) if asked is not None
    ]
    turns = () if chain.turns_rad is None else np.flatnonzero(~np.isnan(chain.turns_rad))
    if held.size + alike.size + len(ends) + len(turns) == 0:
        return np.empty(0), np.empty((0, 16)), np.empty(0, dtype=np.intp)
    rows = slack_gradients(chain, f, held)
    joints = chain.joints[held]
    give = np.where((joints == FREE) | (joints == LIKE), _SLACK, tie)
    residuals, rows, first = slack[held] / give, rows / give[:, None], 4 * held
    m = chain.radii_m.size
    if alike.size:
        d_angle = angle_gradients(f)
        ties = [(tied, int(k)) for k in alike for tied in _ties(chain, f, d_angle, int(k))]
        residuals = np.concatenate((residuals, [value / tie for (value, _), _ in ties]))
        rows = np.concatenate((rows, [gradient / tie for (_, gradient), _ in ties]))
        first = np.concatenate((first, [4 * k for _, k in ties]))
    lengths = (f.l1[0] - f.tangent[0], f.l2[-1] - f.tangent[-1])
    for end, asked in ends:
        gradient, column = end_gradient(chain, f, end)
        residuals = np.append(residuals, (lengths[end] - asked) / tie)
        rows = np.concatenate((rows, gradient[None] / tie))
        first = np.append(first, column)
    for k in turns:
        value, gradient = _turn_held(chain, f, int(k))
        residuals = np.append(residuals, value / tie)
        rows = np.concatenate((rows, gradient[None] / tie))
        first = np.append(first, 4 * min(int(k), max(m - 2, 0)))
    return residuals, rows, first.astype(np.intp)


def _turn_held(chain: Chain, f: Frames, k: int) -> tuple[float, Floats]:
    """Arc by which a bend turns beyond the angle it is held at, and its derivatives (16,).

    The arc's radius is the longest leg of the chain: a bend of almost no radius is held too. It
    counts as fixed: its change is of second order where the angle is held.
    """
    assert chain.turns_rad is not None
    reach = float(max(f.l1.max(), f.l2[-1]))
    own = 4 * (k - min(k, max(chain.radii_m.size - 2, 0)))
    row = np.zeros(16)
    for node, slope in enumerate(angle_gradients(f)[k]):
        row[own + 4 * node + 1 : own + 4 * node + 4] = reach * slope
    return reach * float(f.angle[k] - chain.turns_rad[k]), row


def end_gradient(chain: Chain, f: Frames, end: int) -> tuple[Floats, int]:
    """Return the derivatives (16,) of the straight at the start (0) or end (1), and their column.

    Where there is one bend only the last four stand for nothing.
    """
    m = chain.radii_m.size
    k = 0 if end == 0 else m - 1
    column = 0 if end == 0 else 4 * max(m - 2, 0)
    half = np.tan(f.angle / 2.0)
    d_tangent = angle_gradients(f)[k] * (0.5 * chain.radii_m[k] * (1.0 + half[k] ** 2))
    row = np.zeros(16)
    own = 4 * k - column
    for node in range(3):
        row[own + 4 * node + 1 : own + 4 * node + 4] -= d_tangent[node]
    row[own + 4] -= half[k]
    near, far = (own + 5, own + 1) if end == 0 else (own + 5, own + 9)
    along = f.u1[0] if end == 0 else -f.u2[-1]
    row[near : near + 3] += along
    row[far : far + 3] -= along
    return row, column


def slack_gradients(chain: Chain, f: Frames, joints: Ints) -> Floats:
    """Return derivatives of the straights after some bends, (k, 16): by four nodes' unknowns."""
    half = np.tan(f.angle / 2.0)
    d_tangent = angle_gradients(f) * (0.5 * chain.radii_m * (1.0 + half**2))[:, None, None]
    rows = np.zeros((joints.size, 16))
    for offset in (0, 1):
        for node in range(3):
            at = 4 * (offset + node) + 1
            rows[:, at : at + 3] -= d_tangent[joints + offset, node]
        rows[:, 4 * (offset + 1)] -= half[joints + offset]
    rows[:, 5:8] -= f.u2[joints]
    rows[:, 9:12] += f.u2[joints]
    return rows


def _ties(chain: Chain, f: Frames, d_angle: Floats, k: int) -> list[tuple[float, Floats]]:
    """Equal radii, equal angles and one plane of the two halves of an arc."""
    radius = float(chain.radii_m[k])
    equal_r = np.zeros(16)
    equal_r[4], equal_r[8] = 1.0, -1.0
    equal_a = np.zeros(16)
    for node in range(3):
        equal_a[4 * node + 1 : 4 * node + 4] += radius * d_angle[k, node]
        equal_a[4 * node + 5 : 4 * node + 8] -= radius * d_angle[k + 1, node]
    # the last direction across the first plane, w·u3, with w = u1 x u2 / s
    u1, u2, u3 = f.u1[k], f.u2[k], f.u2[k + 1]
    s, w = f.sin[k], f.axis[k]
    value = float(w @ u3)
    in_w = (u3 - value * w) / s
    by_u1, by_u2 = np.cross(u2, in_w), np.cross(in_w, u1)
    g1 = (by_u1 - u1 * (u1 @ by_u1)) / f.l1[k]
    g2 = (by_u2 - u2 * (u2 @ by_u2)) / f.l2[k]
    g3 = (w - u3 * value) / f.l2[k + 1]
    plane = np.zeros(16)
    plane[1:4] -= radius * g1
    plane[5:8] += radius * (g1 - g2)
    plane[9:12] += radius * (g2 - g3)
    plane[13:16] += radius * g3
    difference = float(chain.radii_m[k] - chain.radii_m[k + 1])
    turn = radius * float(f.angle[k] - f.angle[k + 1])
    ties = [(difference, equal_r), (radius * value, plane)]
    return ties if chain.joints[k] == LIKE else [*ties, (turn, equal_a)]
