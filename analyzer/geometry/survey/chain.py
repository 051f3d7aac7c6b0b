"""A chain of straights and arcs as corner points and radii; distances of points and derivatives.

Corner points joined by legs, with one radius a bend: tangent-continuous by construction. Points
belong to the nearest bend by their order, cut at the middle of each straight, so that a run that
passes near itself does not mix. A return near 180° is written as two half arcs, because its corner
would lie at infinity.

Source: own derivation; the derivatives are tested against differences.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.segments import Floats

__all__ = [
    "FREE",
    "HALVES",
    "LIKE",
    "TOUCHING",
    "Bools",
    "Chain",
    "Frames",
    "Ints",
    "State",
    "along_legs",
    "angle_gradients",
    "evaluate",
    "frames",
    "jacobian",
    "move_cuts",
    "owner_of",
    "turn_at",
]

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

FREE = 0
TOUCHING = 1
HALVES = 2
LIKE = 3

_AHEAD, _BEHIND = np.array([1, 2, 0]), np.array([2, 0, 1])
"""Coordinates that follow x, y, z, and that go before, in a cross product."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Corner points, radii, and which points belong to which bend.

    Attributes
    ----------
    nodes_m : (m + 2, 3) float
        First end, m corners, last end. [m]
    radii_m : (m,) float
        Radius of each bend. [m]
    cuts : (m + 1,) int
        Point index ranges: bend k holds the points from cuts[k] to cuts[k + 1].
    joints : (m,) int
        What lies between a bend and the next: a straight (`FREE`), nothing or a straight of a
        length that is held (`TOUCHING`), nothing because both are halves of one arc (`HALVES`),
        or a straight between two bends of one radius and plane (`LIKE`). The last is `FREE`.
    bare_start, bare_end : bool
        True where the points begin or end in an arc, without a straight: the outer leg then
        holds no points.
    gaps_m : (m - 1,) float, optional
        Straight between bends that are held together; none by default. [m]
    lead_m, tail_m : float, optional
        Length at which the straight before the first and after the last bend is held, counted
        from the outer node; free by default. [m]
    turns_rad : (m,) float, optional
        Angle at which a bend is held, not-a-number where it is free; all free by default. [rad]
    """

    nodes_m: Floats
    radii_m: Floats
    cuts: Ints
    joints: Ints
    bare_start: bool = False
    bare_end: bool = False
    gaps_m: Floats | None = None
    lead_m: float | None = None
    tail_m: float | None = None
    turns_rad: Floats | None = None


@dataclass(frozen=True, slots=True)
class Frames:
    """Directions and lengths of every bend of a chain, arrays over bends."""

    u1: Floats
    u2: Floats
    l1: Floats
    l2: Floats
    cos: Floats
    sin: Floats
    angle: Floats
    axis: Floats
    n1: Floats
    n2: Floats
    q: Floats
    center: Floats
    tangent: Floats


def frames(chain: Chain) -> Frames:
    """Return the directions and lengths of every bend of a chain."""
    legs = chain.nodes_m[1:] - chain.nodes_m[:-1]
    lengths = np.sqrt(np.vecdot(legs, legs))
    u = legs / np.maximum(lengths, 1e-300)[:, None]
    u1, u2 = u[:-1], u[1:]
    cross = _cross(u1, u2)
    sin = np.sqrt(np.vecdot(cross, cross))
    cos = np.vecdot(u1, u2)
    if sin.min(initial=1.0) < 1e-9:
        for k in np.flatnonzero(sin < 1e-9):
            other = np.zeros(3)
            other[int(np.argmin(np.abs(u1[k])))] = 1.0
            cross[k] = _cross(u1[k : k + 1], other[None])[0]
            cross[k] *= 1e-9 / np.linalg.norm(cross[k])
        sin = np.maximum(sin, 1e-9)
    axis = cross / sin[:, None]
    angle = np.arctan2(sin, cos)
    n1 = _cross(axis, u1)
    q = (u2 - u1) / sin[:, None]
    return Frames(
        u1,
        u2,
        lengths[:-1],
        lengths[1:],
        cos,
        sin,
        angle,
        axis,
        n1,
        cos[:, None] * n1 - sin[:, None] * u1,
        q,
        chain.nodes_m[1:-1] + chain.radii_m[:, None] * q,
        chain.radii_m * np.tan(angle / 2.0),
    )


def _cross(a: Floats, b: Floats) -> Floats:
    return a[:, _AHEAD] * b[:, _BEHIND] - a[:, _BEHIND] * b[:, _AHEAD]


def owner_of(chain: Chain) -> Ints:
    """Return the bend that each point belongs to."""
    return np.repeat(np.arange(chain.radii_m.size), np.diff(chain.cuts))


@dataclass(frozen=True, slots=True)
class State:
    """Residuals and what the derivatives need, for one chain."""

    chain: Chain
    frames: Frames
    owner: Ints
    x: Floats
    y: Floats
    phi: Floats
    rho: Floats
    first: Bools
    last: Bools
    residuals: Floats


def evaluate(points: Floats, chain: Chain) -> State:
    """Residuals of every point to the bend it belongs to."""
    f = frames(chain)
    cuts = chain.cuts.tolist()
    placed = np.empty((points.shape[0], 3))
    for k, basis in enumerate(np.stack((f.u1, -f.n1, f.axis), axis=2)):
        rows = slice(cuts[k], cuts[k + 1])
        np.matmul(points[rows] - f.center[k], basis, out=placed[rows])
    x, y, out = placed.T
    owner = owner_of(chain)
    angle, radius = f.angle[owner], chain.radii_m[owner]
    half = angle / 2.0
    psi = np.arctan2(x, y) - half
    psi = np.where(psi < -np.pi, psi + 2.0 * np.pi, psi)
    first, last = psi < -half, psi > half
    if chain.bare_start:
        first[: chain.cuts[1]] = False
    if chain.bare_end:
        last[chain.cuts[-2] :] = False
    rho = np.hypot(x, y)
    # the normal of the second leg is the first one's, turned by the bend
    y2 = x * f.sin[owner] + y * f.cos[owner]
    residuals = np.empty((points.shape[0], 2))
    residuals[:, 0] = radius - np.where(first, y, np.where(last, y2, rho))
    residuals[:, 1] = out
    return State(chain, f, owner, x, y, psi + half, rho, first, last, residuals)


def along_legs(state: State) -> tuple[Floats, Floats]:
    """Return how far points stand behind their corner along the leg before, and after, (n,). [m]"""
    f, own = state.frames, state.owner
    # the corner lies a tangent before or after the foot of the center
    tangent = f.tangent[own]
    return state.x - tangent, state.x * f.cos[own] - state.y * f.sin[own] + tangent


def move_cuts(state: State) -> Ints:
    """Cut the points anew at the middle of each straight."""
    f, m = state.frames, state.chain.radii_m.size
    if m == 1:
        return state.chain.cuts
    start = np.full(m, -inf)
    end = np.full(m, inf)
    length = f.l2[:-1]
    end[:-1] = (length + f.tangent[:-1] - f.tangent[1:]) / 2.0
    start[1:] = end[:-1] - length
    own = state.owner
    t1, t2 = along_legs(state)
    new = own - (state.first & (t1 < start[own])) + (state.last & (t2 > end[own]))
    counts = np.bincount(new, minlength=m)
    return np.concatenate(([0], np.cumsum(counts)))


def jacobian(state: State) -> Floats:
    """Return derivatives of the residuals, (n, 2, 10): first node, radius, corner, last node."""
    f, own, chain = state.frames, state.owner, state.chain
    n = own.size
    radius, tangent, cos = chain.radii_m[own], f.tangent[own], f.cos[own]
    b = np.where(state.first, 0.0, radius * (1.0 - np.cos(state.phi)) / f.sin[own])
    a = radius * np.sin(state.phi) - tangent - b * cos
    a = np.where(state.first, state.x - tangent, a)
    x2 = state.x * cos - state.y * f.sin[own]
    shares = np.empty((n, 3, 1))
    shares[:, 0, 0] = np.where(state.last, 0.0, a) / -f.l1[own]
    shares[:, 2, 0] = np.where(state.last, x2 + tangent, b) / f.l2[own]
    shares[:, 1, 0] = 1.0 - shares[:, 0, 0] - shares[:, 2, 0]
    across = np.empty((n, 2, 1, 3))
    across[:, 0, 0] = np.where(state.first[:, None], -f.n1[own], -f.n2[own])
    across[:, 1, 0] = -f.axis[own]
    by_node = across * shares[:, None]
    jac = np.zeros((n, 2, 10))
    arc = np.flatnonzero(~(state.first | state.last))
    if arc.size:
        k = own[arc]
        e = (state.x[arc] / state.rho[arc])[:, None] * f.u1[k]
        e -= (state.y[arc] / state.rho[arc])[:, None] * f.n1[k]
        by_node[arc, 0] = _center_moves(f, chain.radii_m, e, k)
        jac[arc, 0, 3] = 1.0 + np.vecdot(e, f.q[k])
    jac[:, :, 0:3] = by_node[:, :, 0]
    jac[:, :, 4:10] = by_node[:, :, 1:].reshape(n, 2, 6)
    return jac


def _center_moves(f: Frames, radii: Floats, e: Floats, k: Ints) -> Floats:
    """How far along directions e the centers of arcs k move with their three nodes, (n, 3, 3)."""
    u1, u2, s, radius = f.u1[k], f.u2[k], f.sin[k, None], radii[k, None]
    bent = np.vecdot(e, u2 - u1)[:, None] * f.cos[k, None] / s**3
    by_u1, by_u2 = bent * u2 - e / s, bent * u1 + e / s
    moves = np.empty((k.size, 3, 3))
    moves[:, 0] = (np.vecdot(by_u1, u1)[:, None] * u1 - by_u1) * (radius / f.l1[k, None])
    moves[:, 2] = (by_u2 - np.vecdot(by_u2, u2)[:, None] * u2) * (radius / f.l2[k, None])
    moves[:, 1] = e - moves[:, 0] - moves[:, 2]
    return moves


def angle_gradients(f: Frames) -> Floats:
    """Return d(angle) of each bend by its three nodes, shape (m, 3, 3)."""
    d1 = -(f.u2 - f.cos[:, None] * f.u1) / f.sin[:, None]
    d2 = -(f.u1 - f.cos[:, None] * f.u2) / f.sin[:, None]
    first = -d1 / f.l1[:, None]
    last = d2 / f.l2[:, None]
    return np.stack((first, -first - last, last), axis=1)


def turn_at(point: Floats, chain: Chain, bend: int) -> tuple[float, Floats]:
    """Return how far a bend has turned at the foot of a point, and its ten derivatives. [rad]

    The derivatives are by the node before, the radius, the corner and the node after.
    """

    def turned(change: Floats) -> float:
        nodes = chain.nodes_m[bend : bend + 3] + change[[0, 1, 2, 4, 5, 6, 7, 8, 9]].reshape(3, 3)
        radii = chain.radii_m[bend : bend + 1] + change[3]
        one = Chain(nodes, radii, np.array([0, 1]), np.array([FREE]))
        return float(evaluate(point[None], one).phi[0])

    step = 1e-6 * float(chain.radii_m[bend])
    slopes = np.array([(turned(c) - turned(-c)) / (2.0 * step) for c in step * np.eye(10)])
    return turned(np.zeros(10)), slopes
