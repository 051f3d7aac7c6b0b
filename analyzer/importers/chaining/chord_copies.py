"""Copies of one route that differ in the chords that bends are drawn in.

Chords of another step lie beside each other by up to the sagitta of the coarser ones, more than
two copies otherwise may. What shares both its ends within the joining distance cannot be two
raceways, so that much is allowed there, and the finer copy is the better one.
"""

from __future__ import annotations

from itertools import pairwise
from math import radians, tan

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.segments import Straight, cross, dot, norm
from analyzer.importers.chaining.drawn_curves import DrawnCurve, distance_m

__all__ = ["copy_reach", "sagitta_m", "share_ends"]

_LEAST_TURN = radians(0.1)
_LARGEST_STEP = radians(45.0)  # chords that turn more draw no bend
_ONE_PLANE = 0.9  # cosine between the axes of two turns of one bend
_ALLOWANCE = 1.25  # of the sagitta: vertices may stand a little off the bend


def share_ends(one: DrawnCurve, other: DrawnCurve, reach_m: float) -> bool:
    """Return whether two curves start and end at the same places, whichever way round."""
    ends = other.start_m, other.end_m
    return any(
        max(distance_m(one.start_m, start), distance_m(one.end_m, end)) <= reach_m
        for start, end in (ends, ends[::-1])
    )


def copy_reach(sagitta: float, reach_m: float) -> float:
    """Return how far apart copies in chords may lie, given the sagitta of the coarser. [m]"""
    return _ALLOWANCE * sagitta + reach_m


def sagitta_m(curve: DrawnCurve) -> float:
    """Return how far the chords of a curve stay off the bends they draw; zero without chords. [m]

    A chord is a line between two turns that go the same way. One of length c that turns by a at
    its ends stays c / 2 tan(a / 4) off its arc.
    """
    largest = 0.0
    turns = []
    for before, after in pairwise(edge.segment for edge in curve.edges):
        u, v = before.end_tangent, after.start_tangent
        is_drawn = isinstance(before, Straight) and isinstance(after, Straight)
        turn = angle_between(u, v) if is_drawn else 0.0
        turns.append((turn if _LEAST_TURN < turn <= _LARGEST_STEP else 0.0, cross(u, v)))
    for edge, (first, one), (last, other) in zip(
        curve.edges[1:-1], turns[:-1], turns[1:], strict=True
    ):
        if first and last and dot(one, other) >= _ONE_PLANE * norm(one) * norm(other):
            largest = max(largest, 0.5 * edge.segment.length_m * tan(0.25 * max(first, last)))
    return largest
