"""Random routes with known bends, drawn the ways people draw them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from math import asin, ceil, cos, radians, sin, tan

import numpy as np

from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.segments import Arc, Floats, Straight, Vector


class Drawn(Enum):
    """How one bend is drawn."""

    CORNER = "corner"
    CHORDS = "chords"
    ARC = "arc"


@dataclass(frozen=True)
class KnownBend:
    """A bend as it is, and how it is drawn."""

    angle_rad: float
    radius_m: float
    drawn: Drawn
    shares: tuple[float, ...] = ()
    outside: bool = False


@dataclass(frozen=True)
class KnownRoute:
    """Bends with the straights around them and the rolls between their planes."""

    bends: tuple[KnownBend, ...]
    straights_m: tuple[float, ...]
    rolls_rad: tuple[float, ...]
    touching: tuple[bool, ...] = ()
    between: tuple[int, ...] = ()
    """Vertices equally spaced on each straight, as hangers are."""


@dataclass(frozen=True)
class Regime:
    """What a mixture of routes is made of; angles in degrees."""

    corners: float = 0.0
    arcs: float = 0.0
    angles: tuple[float, ...] = ()
    chord_deg: tuple[float, float] = (2.0, 22.5)
    least_chords: int = 3
    uneven: float = 0.0
    touching: float = 0.0
    flat: bool = False
    legs_m: tuple[float, ...] = ()
    outside: bool = False
    rounding_m: float = 0.0
    sagitta_in_roundings: float = 4.0
    between: tuple[int, ...] = ()


def make_route(regime: Regime, rng: np.random.Generator) -> KnownRoute:
    """Return a random route of one to eight bends."""
    count = int(rng.integers(1, 9))
    bends, straights, rolls, touching = [], [], [], []
    for index in range(count):
        bends.append(_make_bend(regime, rng))
        straights.append(_make_straight(regime, rng))
        rolls.append(float(rng.choice([0.0, np.pi])) if regime.flat else _roll(rng))
        both = index > 0 and Drawn.CORNER not in (bends[-1].drawn, bends[-2].drawn)
        touching.append(bool(both and rng.random() < regime.touching))
    straights.append(_make_straight(regime, rng))
    between = tuple(int(rng.choice(regime.between)) for _ in straights if regime.between)
    route = KnownRoute(tuple(bends), tuple(straights), tuple(rolls), tuple(touching), between)
    return _separate_touching(route, rng)


def _roll(rng: np.random.Generator) -> float:
    choices = [0.0, np.pi, np.pi / 2, -np.pi / 2, rng.uniform(-np.pi, np.pi)]
    return float(rng.choice(choices))


def _make_straight(regime: Regime, rng: np.random.Generator) -> float:
    if regime.legs_m:
        return float(rng.choice(regime.legs_m))
    return float(np.exp(rng.uniform(np.log(0.3), np.log(4.0))))


def _make_bend(regime: Regime, rng: np.random.Generator) -> KnownBend:
    angles = regime.angles or (10.0, 15.0, 22.5, 30.0, 45.0, 60.0, 90.0, rng.uniform(10, 90))
    angle = radians(float(rng.choice(angles)))
    radius = float(rng.uniform(0.2, 1.5))
    kind = rng.random()
    if kind < regime.corners:
        return KnownBend(angle, 0.0, Drawn.CORNER)
    if kind < regime.corners + regime.arcs:
        return KnownBend(angle, radius, Drawn.ARC)
    low, high = regime.chord_deg
    while True:
        step = radians(float(rng.uniform(low, high)))
        chords = max(ceil(angle / step), regime.least_chords)
        if angle / chords >= radians(low) * 0.999 or regime.least_chords == chords:
            break
    if regime.rounding_m:
        # chord times half its turn = R step² / 2, kept at so many times the rounding
        needed = np.sqrt(2.0 * regime.sagitta_in_roundings * regime.rounding_m / radius)
        chords = max(regime.least_chords, min(chords, int(angle / needed)))
        radius = max(
            radius,
            2.02 * regime.sagitta_in_roundings * regime.rounding_m / (angle / chords) ** 2,
        )
    shares = 1.0 + regime.uneven * rng.uniform(-1.0, 1.0, chords)
    shares = shares / shares.sum()
    return KnownBend(angle, radius, Drawn.CHORDS, tuple(map(float, shares)), regime.outside)


def _separate_touching(route: KnownRoute, rng: np.random.Generator) -> KnownRoute:
    """Give touching bends another radius or plane: otherwise they are one bend."""
    bends = list(route.bends)
    for index, touches in enumerate(route.touching):
        same_plane = abs(route.rolls_rad[index]) < 0.2
        if touches and same_plane:
            ratio = float(rng.choice([0.6, 1.7]))
            bends[index] = replace(bends[index], radius_m=bends[index - 1].radius_m * ratio)
    return replace(route, bends=tuple(bends))


def draw_route(route: KnownRoute, rounding_m: float = 0.0, turn: Floats | None = None) -> DrawnPath:
    """Return the route as drawn: bends start and end straights, corners stand at their vertex."""
    frame = np.eye(3) if turn is None else turn
    place, along, normal = np.zeros(3), frame[:, 0], frame[:, 1]
    pieces: list[Arc | Floats] = [place]
    for index, bend in enumerate(route.bends):
        along = along / np.linalg.norm(along)
        normal = normal - (normal @ along) * along
        normal = normal / np.linalg.norm(normal)
        axis = np.cross(along, normal)
        roll = route.rolls_rad[index]
        normal = cos(roll) * normal + sin(roll) * axis
        axis = np.cross(along, normal)
        if not (route.touching and route.touching[index]):
            pieces += _on_straight(route, index, place, along)
            place = place + route.straights_m[index] * along
        if bend.drawn is Drawn.CORNER:
            pieces.append(place)
        elif bend.drawn is Drawn.ARC:
            center = place + bend.radius_m * normal
            arc = Arc(_vector(place), _vector(center), _vector(axis), bend.angle_rad)
            pieces.append(arc)
            place = np.array(arc.end_m)
        else:
            vertices = _chord_vertices(bend, place, along, normal)
            pieces += list(vertices[:-1] if bend.outside else vertices)
            place = vertices[-1]
        angle = bend.angle_rad
        along, normal = (
            cos(angle) * along + sin(angle) * normal,
            cos(angle) * normal - sin(angle) * along,
        )
    pieces += _on_straight(route, len(route.bends), place, along)
    pieces.append(place + route.straights_m[-1] * along)
    return _as_path(pieces, rounding_m)


def _on_straight(route: KnownRoute, index: int, place: Floats, along: Floats) -> list[Floats]:
    """Vertices within a straight, at equal spacings."""
    legs = route.between[index] + 1 if route.between else 1
    return [place + k / legs * route.straights_m[index] * along for k in range(1, legs)]


def _chord_vertices(bend: KnownBend, place: Floats, along: Floats, normal: Floats) -> Floats:
    at = np.concatenate([[0.0], np.cumsum(bend.shares)]) * bend.angle_rad
    radius = bend.radius_m
    if bend.outside:
        middle, step = (at[1:] + at[:-1]) / 2.0, np.diff(at)
        reach = radius / np.cos(step / 2.0)
        rows = [
            place + radius * normal + r * (np.sin(m) * along - np.cos(m) * normal)
            for m, r in zip(middle, reach, strict=True)
        ]
        end = place + radius * (sin(at[-1]) * along + (1.0 - cos(at[-1])) * normal)
        return np.array([*rows, end])
    return place + radius * (np.outer(np.sin(at), along) + np.outer(1.0 - np.cos(at), normal))


def _as_path(pieces: list[Arc | Floats], rounding_m: float) -> DrawnPath:
    edges: list[DrawnEdge] = []
    here: Vector | None = None
    for piece in pieces:
        if isinstance(piece, Arc):
            if here is not None and np.linalg.norm(np.subtract(here, piece.start_m)) > 1e-9:
                edges.append(DrawnEdge(Straight(here, piece.start_m)))
            edges.append(DrawnEdge(piece, DrawnAs.ARC))
            here = piece.end_m
            continue
        row = np.round(piece / rounding_m) * rounding_m if rounding_m else piece
        there = _vector(row)
        if here is not None and np.linalg.norm(np.subtract(here, there)) > 1e-9:
            edges.append(DrawnEdge(Straight(here, there)))
            here = there
        here = there if here is None else here
    return DrawnPath(tuple(edges))


def _vector(row: Floats) -> Vector:
    return (float(row[0]), float(row[1]), float(row[2]))


def corner_room(route: KnownRoute, radius_m: float) -> float:
    """Return the tangent length that the largest corner needs. [m]"""
    turns = [bend.angle_rad for bend in route.bends if bend.drawn is Drawn.CORNER]
    return max((radius_m * tan(turn / 2.0) for turn in turns), default=0.0)


def chord_step(bend: KnownBend) -> float:
    """Return the longest chord's step. [rad]"""
    return 2.0 * asin(sin(max(bend.shares) * bend.angle_rad / 2.0))
