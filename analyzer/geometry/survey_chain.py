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
    "angle_gradients",
    "evaluate",
    "frames",
    "jacobian",
    "move_cuts",
    "turn_at",
]

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

FREE = 0
TOUCHING = 1
HALVES = 2
LIKE = 3


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
    legs = np.diff(chain.nodes_m, axis=0)
    lengths = np.sqrt(np.einsum("ij,ij->i", legs, legs))
    u = legs / np.maximum(lengths, 1e-300)[:, None]
    u1, u2 = u[:-1], u[1:]
    cross = _cross(u1, u2)
    sin = np.sqrt(np.einsum("ij,ij->i", cross, cross))
    cos = np.einsum("ij,ij->i", u1, u2)
    flat = sin < 1e-9
    if flat.any():
        for k in np.flatnonzero(flat):
            other = np.zeros(3)
            other[int(np.argmin(np.abs(u1[k])))] = 1.0
            cross[k] = _cross(u1[k : k + 1], other[None])[0]
            cross[k] *= 1e-9 / np.linalg.norm(cross[k])
        sin = np.maximum(sin, 1e-9)
    axis = cross / sin[:, None]
    angle = np.arctan2(sin, cos)
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
        _cross(axis, u1),
        _cross(axis, u2),
        q,
        chain.nodes_m[1:-1] + chain.radii_m[:, None] * q,
        chain.radii_m * np.tan(angle / 2.0),
    )


def _cross(a: Floats, b: Floats) -> Floats:
    out = np.empty(np.broadcast(a, b).shape)
    out[:, 0] = a[:, 1] * b[:, 2] - a[:, 2] * b[:, 1]
    out[:, 1] = a[:, 2] * b[:, 0] - a[:, 0] * b[:, 2]
    out[:, 2] = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return out


def _owner(chain: Chain) -> Ints:
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
    owner = _owner(chain)
    d = points - f.center[owner]
    angle, radius = f.angle[owner], chain.radii_m[owner]
    x = np.einsum("ij,ij->i", d, f.u1[owner])
    y = -np.einsum("ij,ij->i", d, f.n1[owner])
    out = np.einsum("ij,ij->i", d, f.axis[owner])
    psi = np.arctan2(x, y) - angle / 2.0
    psi = np.where(psi < -np.pi, psi + 2.0 * np.pi, psi)
    first, last = psi < -angle / 2.0, psi > angle / 2.0
    if chain.bare_start:
        first[: chain.cuts[1]] = False
    if chain.bare_end:
        last[chain.cuts[-2] :] = False
    rho = np.hypot(x, y)
    y2 = -np.einsum("ij,ij->i", d, f.n2[owner])
    away = np.where(first, y, np.where(last, y2, rho))
    residuals = np.stack((radius - away, out), axis=1)
    return State(chain, f, owner, x, y, psi + angle / 2.0, rho, first, last, residuals)


def move_cuts(points: Floats, state: State) -> Ints:
    """Cut the points anew at the middle of each straight."""
    f, m = state.frames, state.chain.radii_m.size
    if m == 1:
        return state.chain.cuts
    start = np.full(m, -inf)
    end = np.full(m, inf)
    length = f.l2[:-1]
    end[:-1] = (length + f.tangent[:-1] - f.tangent[1:]) / 2.0
    start[1:] = end[:-1] - length
    d = points - state.chain.nodes_m[1:-1][state.owner]
    t1 = np.einsum("ij,ij->i", d, f.u1[state.owner])
    t2 = np.einsum("ij,ij->i", d, f.u2[state.owner])
    new = state.owner - (state.first & (t1 < start[state.owner]))
    new = new + (state.last & (t2 > end[state.owner]))
    counts = np.bincount(new, minlength=m)
    return np.concatenate(([0], np.cumsum(counts)))


def jacobian(points: Floats, state: State) -> Floats:
    """Return derivatives of the residuals, (n, 2, 10): first node, radius, corner, last node."""
    f, own, chain = state.frames, state.owner, state.chain
    a_in, b_in, v_in, row_r = _arc_matrices(f, chain.radii_m)
    radius, tangent = chain.radii_m[own], f.tangent[own]
    b = np.where(state.first, 0.0, radius * (1.0 - np.cos(state.phi)) / f.sin[own])
    a = radius * np.sin(state.phi) - tangent - b * f.cos[own]
    a = np.where(state.first, state.x - tangent, a)
    x2 = state.x * f.cos[own] - state.y * f.sin[own]
    a = np.where(state.last, 0.0, a)
    b = np.where(state.last, x2 + tangent, b)
    shares = np.empty((points.shape[0], 3))
    shares[:, 0] = -a / f.l1[own]
    shares[:, 2] = b / f.l2[own]
    shares[:, 1] = 1.0 - shares[:, 0] - shares[:, 2]
    jac = np.zeros((points.shape[0], 2, 10))
    axis = -f.axis[own]
    normal = np.where(state.first[:, None], -f.n1[own], -f.n2[own])
    for column, share in ((0, 0), (4, 1), (7, 2)):
        jac[:, 1, column : column + 3] = axis * shares[:, share, None]
        jac[:, 0, column : column + 3] = normal * shares[:, share, None]
    arc = np.flatnonzero(~(state.first | state.last))
    if arc.size:
        k = own[arc]
        e = (state.x[arc] / state.rho[arc])[:, None] * f.u1[k]
        e = e - (state.y[arc] / state.rho[arc])[:, None] * f.n1[k]
        for column, matrix in ((0, a_in), (4, v_in), (7, b_in)):
            jac[arc, 0, column : column + 3] = np.einsum("ni,nij->nj", e, matrix[k])
        jac[arc, 0, 3] = 1.0 + np.einsum("ni,ni->n", e, row_r[k])
    return jac


def _arc_matrices(f: Frames, radii: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """How an arc's center moves with its three nodes and with its radius."""
    eye = np.eye(3)
    s, c = f.sin[:, None, None], f.cos[:, None, None]
    chord = (f.u2 - f.u1)[:, :, None] * (c / s**3)
    dq1 = -eye / s + chord * f.u2[:, None, :]
    dq2 = eye / s + chord * f.u1[:, None, :]
    p1 = (eye - f.u1[:, :, None] * f.u1[:, None, :]) / f.l1[:, None, None]
    p2 = (eye - f.u2[:, :, None] * f.u2[:, None, :]) / f.l2[:, None, None]
    first = -radii[:, None, None] * (dq1 @ p1)
    last = radii[:, None, None] * (dq2 @ p2)
    return first, last, eye - first - last, f.q


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
