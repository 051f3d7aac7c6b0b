"""Whether coarse chords that obey the chord law may still be corners.

Three or more corners obey it by chance only where their legs are equal, and people draw equal legs
on a grid or by repeating lengths and turns. So the length is that of a straight too or a round
number, or straights or turns repeat in the run. Chords of an arc, 2 R sin(step / 2), are like
nothing else but by accident. Common practice.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import radians

from analyzer.units import ft, inches

__all__ = ["Elsewhere", "could_be_corner_legs", "elsewhere"]

_ROUND_LENGTHS_M = (0.001, 0.01, 0.05, inches(1 / 16), inches(1), ft(1))
"""Steps of lengths that somebody states. [m] Common practice."""

_ROUND_SHARE = 0.005
"""Share of such a step that what is left open must not be more than. Own choice."""

_EXACT = 1e-7
"""Share of a length, and turn [rad], within which two are one, before rounding is allowed for. Own
choice."""

_COARSE_RAD = radians(22.6)
"""Step of chords above which repeated turns and straights count too. [rad] Own choice."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What a stretch holds beside its chords, each rising: lengths of legs, turns of corners."""

    straights_m: tuple[float, ...]
    turns_rad: tuple[float, ...]


def elsewhere(
    legs_m: Sequence[float], turns_rad: Sequence[float], chords: Sequence[tuple[int, int]]
) -> Elsewhere:
    """Return the legs and turns of a stretch that are no chords.

    Parameters
    ----------
    legs_m : sequence of float, length n
        Lengths between neighboring vertices. [m]
    turns_rad : sequence of float, length n + 1
        Turn at each vertex. [rad]
    chords : sequence of (int, int)
        First and last vertex of each run of chords.
    """
    edges = {edge for first, last in chords for edge in range(first, last)}
    vertices = {vertex for first, last in chords for vertex in range(first, last + 1)}
    straights = (leg for edge, leg in enumerate(legs_m) if edge not in edges)
    turns = (turn for vertex, turn in enumerate(turns_rad) if vertex not in vertices)
    return Elsewhere(tuple(sorted(straights)), tuple(sorted(turns)))


def could_be_corner_legs(
    chords_m: Sequence[float],
    step_rad: float,
    beside_m: Sequence[float],
    other: Elsewhere,
    rounding_m: float,
) -> bool:
    """Return whether chords are equal, and their length, their turn or the straights repeat.

    Parameters
    ----------
    chords_m : sequence of float
        Lengths of the chords. [m]
    step_rad : float
        Angle of one chord; repeated turns and straights count from 22.6° on. [rad]
    beside_m : sequence of float
        Lengths of the straights they meet. [m]
    other : Elsewhere
        What the stretch holds beside its chords.
    rounding_m : float
        Rounding of the coordinates. [m]

    Examples
    --------
    >>> straights = elsewhere([1.7, 0.52, 0.52, 0.52, 2.1], [0.0] * 6, [(1, 4)])
    >>> could_be_corner_legs([0.52, 0.52, 0.52], 0.5, [1.7], straights, 1e-9)
    True
    >>> could_be_corner_legs([0.5176381] * 3, 0.5, [1.7], straights, 1e-9)
    False
    """
    loose = 2.0 * rounding_m + _EXACT * max(chords_m)
    if max(chords_m) - min(chords_m) > 2.0 * loose:
        return False
    mean = sum(chords_m) / len(chords_m)
    if _holds(other.straights_m, mean, loose) or _holds(sorted(beside_m), mean, loose):
        return True
    if any(
        loose <= _ROUND_SHARE * pitch and abs(mean - pitch * round(mean / pitch)) <= loose
        for pitch in _ROUND_LENGTHS_M
    ):
        return True
    if step_rad <= _COARSE_RAD:
        return False
    shaky = _EXACT + 4.0 * rounding_m / mean
    return any(_holds(other.turns_rad, turn, shaky) for turn in (step_rad, step_rad / 2.0)) or any(
        b - a <= loose for a, b in pairwise(other.straights_m)
    )


def _holds(rising: Sequence[float], value: float, loose: float) -> bool:
    """Whether one of some rising numbers is near a value."""
    near = bisect_left(rising, value - loose)
    return near < len(rising) and rising[near] <= value + loose
