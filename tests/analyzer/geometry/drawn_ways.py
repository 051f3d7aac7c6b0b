"""Ways of drawing a path, and short looks at what reading it gives."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import cos, pi, sin

import numpy as np

from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.readings import Reading
from analyzer.geometry.segments import Arc, Straight

R = 0.5
CORNER_M = 0.24

Points = Sequence[tuple[float, float, float]]


def lines(points: Points, radii: tuple[float | None, ...] = ()) -> DrawnPath:
    rows = [tuple(float(v) for v in p) for p in points]
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in itertools.pairwise(rows))
    return DrawnPath(edges, radii)


def arc_points(n: int, angle: float = pi / 2, radius: float = R) -> list[tuple[float, ...]]:
    """Vertices on an arc that starts at (2, 0, 0) along x and turns left."""
    at = np.linspace(0.0, angle, n)
    return [(2 + radius * sin(t), radius - radius * cos(t), 0.0) for t in at]


def straight_after(angle: float, radius: float = R, length: float = 2.0) -> tuple[float, ...]:
    x, y = 2 + radius * sin(angle), radius - radius * cos(angle)
    return (x + length * cos(angle), y + length * sin(angle), 0.0)


def codes(reading: Reading, *, but: str = "all-level") -> list[str]:
    return [one.code for one in reading.findings if one.code != but]


def finding(reading: Reading, code: str):
    return next(one for one in reading.findings if one.code == code)


def with_arc(before: tuple[float, ...], after: tuple[float, ...]) -> DrawnPath:
    arc = Arc((2.0, 0.0, 0.0), (2.0, R, 0.0), (0.0, 0.0, 1.0), pi / 2)
    return DrawnPath(
        (
            DrawnEdge(Straight(before, arc.start_m)),
            DrawnEdge(arc, DrawnAs.ARC),
            DrawnEdge(Straight(arc.end_m, after)),
        )
    )


def noisy(seed: int = 3, sd: float = 0.002) -> np.ndarray:
    length = 4.0 + R * pi / 2
    rows = []
    for s in np.arange(0.0, length, 0.07):
        if s < 2.0:
            rows.append((s, 0.0, 0.0))
        elif s < 2.0 + R * pi / 2:
            t = (s - 2.0) / R
            rows.append((2 + R * sin(t), 0.0, R - R * cos(t)))
        else:
            rows.append((2 + R, 0.0, R + s - 2.0 - R * pi / 2))
    return np.array(rows) + np.random.default_rng(seed).normal(size=(len(rows), 3)) * sd
