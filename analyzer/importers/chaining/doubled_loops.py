"""Loops that are a route drawn twice: both its drawings leave its two ends the same way.

Opened anywhere, such a loop would be the route there and back.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import radians

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.segments import Vector
from analyzer.importers.chaining.drawn_curves import DrawnCurve, distance_m
from analyzer.importers.told_places import UnitText

__all__ = ["said_of_doubled"]

_ALIKE = radians(10.0)  # two drawings of one straight differ by less in direction


def said_of_doubled(loop: Sequence[DrawnCurve], text: UnitText) -> str | None:
    """Return what to say of pieces that close on themselves and look like one route drawn twice.

    None where they do not leave exactly two places the same way.

    Parameters
    ----------
    loop : sequence of DrawnCurve
        In the order in which they join; at least one.
    text : UnitText
        How places are written.
    """
    folds = _folds(loop) if len(loop) > 1 else []
    if len(folds) != 2:
        return None
    first, last = map(text.place, folds)
    layers = sorted({curve.layer for curve in loop})
    on = f" (layers {', '.join(layers)})" if len(layers) > 1 else ""
    return (
        f"pieces lead the same way from {first} and from {last}, and close on themselves: one "
        f"route seems to be drawn twice{on}. Delete the drawing of it that is not meant"
    )


def _folds(loop: Sequence[DrawnCurve]) -> list[Vector]:
    """Return the places where two curves that join there lead the same way. [m]"""
    used: set[tuple[int, int]] = set()
    places = []
    count = len(loop)
    for index in range(count):
        following = (index + 1) % count
        ends = [
            pair
            for pair in product(((index, 0), (index, 1)), ((following, 0), (following, 1)))
            if not used.intersection(pair)
        ]
        if not ends:
            return []
        pair = min(ends, key=lambda pair: distance_m(*(_end(loop, *end) for end in pair)))
        used.update(pair)
        if angle_between(*(_way(loop, *end) for end in pair)) < _ALIKE:
            places.append(_end(loop, *pair[0]))
    return places


def _end(loop: Sequence[DrawnCurve], index: int, which: int) -> Vector:
    return loop[index].end_m if which else loop[index].start_m


def _way(loop: Sequence[DrawnCurve], index: int, which: int) -> Vector:
    """Return the direction in which a curve leads away from one of its ends."""
    edges = loop[index].edges
    if not which:
        return edges[0].segment.start_tangent
    x, y, z = edges[-1].segment.end_tangent
    return (-x, -y, -z)
