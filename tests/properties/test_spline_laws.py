"""Laws of splines read as arcs: turning and length are those of the curve itself.

Checked by an integration of speed and curvature that knows nothing of arcs: Gauss-Legendre with
20 nodes on 64 parts of every knot span. Stated tolerance: 0.05 degree and 1e-5 of the length.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import degrees

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.polynomial.legendre import leggauss
from scipy.interpolate import BSpline

from analyzer.geometry.bends import read_bends
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.curves import arcs_along, smallest_radius
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.readings import ReadAs
from analyzer.geometry.segments import Arc, Floats

NODES, WEIGHTS = leggauss(20)


def integral(value: Callable[[Floats], Floats], knots: Floats) -> float:
    total = 0.0
    for low, high in pairwise(knots):
        for a, b in pairwise(np.linspace(low, high, 65)):
            half = (b - a) / 2.0
            total += half * float(WEIGHTS @ value((a + b) / 2.0 + half * NODES))
    return total


def random_spline(seed: int) -> BSpline:
    """A clamped spline of degree 2 to 5 through space: gentle or wild, 10 cm to 100 m long."""
    rng = np.random.default_rng(seed)
    degree = int(rng.integers(2, 6))
    count = int(rng.integers(degree + 1, degree + 10))
    steps = rng.normal(size=(count, 3)) * [1.0, 1.0, rng.choice([0.0, 0.3, 1.0])]
    if rng.random() < 0.7:
        steps = 0.5 * steps + [1.0, 0.0, 0.0]
    inner = np.arange(1.0, count - degree)
    if inner.size and rng.random() < 0.5:
        inner = np.sort(rng.uniform(0.2, count - degree - 0.2, inner.size))
    last = float(count - degree)
    knots = np.concatenate([np.zeros(degree + 1), inner, np.full(degree + 1, last)])
    return BSpline(knots, np.cumsum(steps, axis=0) * 10.0 ** rng.uniform(-1.0, 1.0), degree)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.integers(0, 2**32 - 1))
def test_turning_and_length_of_a_spline_are_those_of_the_curve(seed: int) -> None:
    spline = random_spline(seed)
    slope, second = spline.derivative(), spline.derivative(2)
    knots = np.unique(spline.t)

    def speed(t: Floats) -> Floats:
        return np.linalg.norm(slope(t), axis=1)

    def turning(t: Floats) -> Floats:
        return np.linalg.norm(np.cross(slope(t), second(t)), axis=1) / speed(t) ** 2

    length_m, turn = integral(speed, knots), integral(turning, knots)
    found = arcs_along(spline, slope, list(knots))
    assert abs(Centerline(found).length_m / length_m - 1.0) <= 1e-5
    arcs = [segment for segment in found if isinstance(segment, Arc)]
    assert abs(degrees(sum(arc.angle_rad for arc in arcs) - turn)) <= 0.05
    least = smallest_radius(found)
    assert least == min(arc.radius_m for arc in arcs)
    # the bends of the run hold the whole turning: the bend total is that of the curve
    path = DrawnPath(tuple(DrawnEdge(segment, DrawnAs.SPLINE, 0) for segment in found))
    reading = read_bends(path, corner_radius_m=None)
    assert abs(degrees(sum(bend.angle_rad for bend in reading.bends) - turn)) <= 0.05
    assert {bend.read_as for bend in reading.bends} == {ReadAs.SPLINE}
