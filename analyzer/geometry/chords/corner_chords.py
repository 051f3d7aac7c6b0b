"""Corners that may be chords of an arc: polygons round its outside, and corners that are equal.

Two equal corners in one plane are one chord of an arc as well, and more that are alike as far as
rounding tells may be a few short chords.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import degrees, inf, sin

import numpy as np

from analyzer.geometry.chords.chord_rows import arcs_in_rows
from analyzer.geometry.chords.circle_runs import MAX_CHORD_RAD
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.line_doubts import SURE_CHORDS, declined_doubt, run_doubt
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.outer_polygons import find_outer_polygons
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.segments import Floats
from analyzer.geometry.surveyed_stretches import FINE_TURN_RAD
from analyzer.geometry.vectors import to_vector
from analyzer.units import show_short

__all__ = ["HAND_APART", "outer_runs", "single_chords"]

HAND_APART = 8.0
"""Radii of a corner below which an arc in its place is as natural."""

_TILTED = 0.5
"""1 less the cosine between the axes of two corners beyond which they do not turn to one side."""

_ALIKE = 0.01  # share by which two turns may differ to be told by one number


def outer_runs(
    points_m: Floats,
    eps: float,
    free: Sequence[int],
    corner_radius_m: float | None,
    forced: bool,
) -> tuple[list[ChordRun], list[Doubt]]:
    """Return polygons drawn round the outside of an arc, where corners are less natural.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    eps : float
        Rounding of the coordinates. [m]
    free : sequence of int
        Vertices that no arc takes.
    corner_radius_m : float or None
        Radius a corner would get. [m]
    forced : bool
        Whether chords were asked for.

    Returns
    -------
    list of ChordRun, list of Doubt
        The arcs read, and what could be read another way.
    """
    runs, doubts = [], []
    for run in find_outer_polygons(points_m, eps, free):
        step = run.angle_rad / run.n_chords
        roomy = corner_radius_m is not None and corner_radius_m <= run.radius_m
        fine = step <= FINE_TURN_RAD and run.n_chords >= 4
        text = (
            f"{run.n_chords} corners of about {degrees(step):.4g}° touch one circle of radius "
            f"{show_short(run.radius_m)} from outside"
        )
        if forced or fine or not roomy:
            runs.append(run)
            if not forced:
                doubts.append(
                    Doubt(
                        run.first,
                        f"{text} and are read as one arc of {degrees(run.angle_rad):.4g}°: "
                        'read_as = "corners" in the job reads separate corners, '
                        'read_as = "chords" confirms the arc',
                        not fine or run.n_chords < SURE_CHORDS,
                    )
                )
        else:
            doubts.append(
                Doubt(
                    run.first,
                    f"{text}: they are read as separate corners; "
                    'read_as = "chords" in the job reads one arc, "corners" confirms',
                    run.radius_m < HAND_APART * corner_radius_m if corner_radius_m else True,
                )
            )
    return runs, doubts


def single_chords(
    points_m: Floats,
    eps: float,
    free: Sequence[int],
    corner_radius_m: float | None,
    forced: bool,
) -> tuple[list[ChordRun], list[Doubt]]:
    """Return arcs of one chord, and of a few where rounding lets their turns pass for equal.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    eps : float
        Rounding of the coordinates. [m]
    free : sequence of int
        Vertices that no arc takes, rising.
    corner_radius_m : float or None
        Radius a corner would get. [m]
    forced : bool
        Whether chords were asked for.

    Returns
    -------
    list of ChordRun, list of Doubt
        The arcs read, none unless chords were asked for, and what could be read another way.
    """
    if len(free) < 2:
        return [], []
    pairs = _alike_pairs(points_m, eps, free)
    arcs = arcs_in_rows(points_m, eps, _rows(pairs))
    taken = {vertex for arc in arcs for vertex in range(arc.first, arc.last + 1)}
    pairs = [pair for pair in pairs if taken.isdisjoint((pair.first, pair.first + 1))]
    if forced:
        runs = list(arcs)
        for pair in pairs:
            if pair.first not in taken:
                runs.append(_one_chord(points_m, pair))
                taken.add(pair.first + 1)
        runs.sort(key=lambda run: run.first)
        return runs, [run_doubt(run) for run in runs if run.doubt]
    longest_m = inf if corner_radius_m is None else HAND_APART * corner_radius_m
    legs = leg_lengths(points_m)
    doubts = [_row_doubt(arc, float(legs[arc.first : arc.last].min()) < longest_m) for arc in arcs]
    doubts += [_pair_doubt(pair, pair.leg_m < longest_m) for pair in pairs]
    return [], sorted(doubts, key=lambda doubt: doubt.vertex)


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two neighboring corners, equal as far as rounding tells, and the leg between them.

    `first` is the vertex of the first; `turn_rad` holds both turns, `axis` is that of the first.
    """

    first: int
    turn_rad: tuple[float, float]
    leg_m: float
    axis: Floats

    @property
    def angle_rad(self) -> float:
        """Turn of both, which is that of the arc. [rad]"""
        return sum(self.turn_rad)

    @property
    def radius_m(self) -> float:
        """Radius of the arc that has the leg for its one chord. [m]"""
        return self.leg_m / (2.0 * sin(self.angle_rad / 2.0))


def _alike_pairs(points_m: Floats, eps: float, free: Sequence[int]) -> list[_Pair]:
    """Neighbors among corners that turn alike, in one plane and to one side."""
    turn, axis = turns(points_m)
    legs = leg_lengths(points_m)
    found = []
    for first, second in pairwise(free):
        if second != first + 1:
            continue
        a, b = float(turn[first - 1]), float(turn[second - 1])
        shaky = 1e-7 + 9.0 * eps / float(legs[first])
        tilted = 1.0 - float(axis[first - 1] @ axis[second - 1])
        loose = (shaky / max(min(a, b), 1e-9)) ** 2 + 1e-12
        if abs(a - b) <= shaky and tilted <= min(loose, _TILTED) and a + b < MAX_CHORD_RAD:
            found.append(_Pair(first, (a, b), float(legs[first]), axis[first - 1]))
    return found


def _rows(pairs: Sequence[_Pair]) -> list[list[int]]:
    """Vertices of pairs that follow each other."""
    rows: list[list[int]] = []
    for pair in pairs:
        if rows and rows[-1][-1] == pair.first:
            rows[-1].append(pair.first + 1)
        else:
            rows.append([pair.first, pair.first + 1])
    return rows


def _row_doubt(arc: ChordRun, natural: bool) -> Doubt:
    why = arc.doubt or "the points, as they are rounded, leave that open"
    return replace(declined_doubt(replace(arc, doubt=why)), serious=natural)


def _pair_doubt(pair: _Pair, natural: bool) -> Doubt:
    angle = degrees(pair.angle_rad)
    text = (
        f"{_two_corners(*pair.turn_rad)}, {show_short(pair.leg_m)} apart, are read as two bends; "
        f"one chord of an arc of {angle:.4g}° and radius {show_short(pair.radius_m)} draws the same"
    )
    return Doubt(
        pair.first,
        f'{text}: read_as = "chords" in the job reads one arc, "corners" confirms two bends',
        natural,
        (pair.first, pair.first + 1, pair.angle_rad),
        f'{text}: read_as = "corners" in the job confirms two bends; to have the arc, draw it as '
        'an arc, for read_as = "chords" reads another arc there',
    )


def _two_corners(a: float, b: float) -> str:
    """Name two corners by their turns: equal ones, or what rounding lets pass for equal."""
    if abs(a - b) <= _ALIKE * max(a, b):
        return f"two equal corners of {degrees(a):.4g}°"
    return (
        f"two corners of {degrees(a):.4g}° and {degrees(b):.4g}°, equal within what the points tell"
    )


def _one_chord(points_m: Floats, pair: _Pair) -> ChordRun:
    first, axis, angle, radius = pair.first, pair.axis, pair.angle_rad, pair.radius_m
    before = points_m[first] - points_m[first - 1]
    after = points_m[first + 2] - points_m[first + 1]
    before, after = before / np.linalg.norm(before), after / np.linalg.norm(after)
    center = points_m[first] + radius * np.cross(axis, before)
    return ChordRun(
        first,
        first + 1,
        RunEnd(to_vector(points_m[first]), to_vector(before), Tangency.STRAIGHT),
        RunEnd(to_vector(points_m[first + 1]), to_vector(after), Tangency.STRAIGHT),
        angle,
        radius,
        to_vector(axis),
        to_vector(center),
        1,
    )
