"""Corners that may be chords of an arc: polygons round its outside, and two equal corners."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import degrees, sin

import numpy as np

from analyzer.geometry.chords.circle_runs import MAX_CHORD_RAD
from analyzer.geometry.chords.doubts import Doubt
from analyzer.geometry.chords.line_doubts import SURE_CHORDS
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.outer_polygons import find_outer_polygons
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.polyline import turns
from analyzer.geometry.segments import Floats
from analyzer.geometry.surveyed_stretches import FINE_TURN_RAD
from analyzer.geometry.vectors import to_vector
from analyzer.units import show_short

__all__ = ["HAND_APART", "outer_runs", "single_chords"]

HAND_APART = 8.0
"""Radii of a corner below which an arc in its place is as natural."""

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
    """Return arcs of one chord: two equal corners in one plane, which one chord draws as well.

    Takes and returns what `outer_runs` does.
    """
    runs: list[ChordRun] = []
    doubts: list[Doubt] = []
    if len(free) < 2:
        return runs, doubts
    turn, axis = turns(points_m)
    last_used = -1
    for first, second in pairwise(free):
        if second != first + 1 or first <= last_used:
            continue
        a, b = float(turn[first - 1]), float(turn[second - 1])
        leg_vector = points_m[second] - points_m[first]
        leg = float(np.linalg.norm(leg_vector))
        shaky = 1e-7 + 9.0 * eps / leg
        same = (
            abs(a - b) <= shaky
            and 1.0 - float(axis[first - 1] @ axis[second - 1])
            <= (shaky / max(min(a, b), 1e-9)) ** 2 + 1e-12
        )
        if not same or a + b >= MAX_CHORD_RAD:
            continue
        radius = leg / (2.0 * sin((a + b) / 2.0))
        if forced:
            runs.append(_one_chord(points_m, first, a + b, radius, axis[first - 1]))
            last_used = second
            continue
        natural = corner_radius_m is None or leg < HAND_APART * corner_radius_m
        doubts.append(
            Doubt(
                first,
                f"{_two_corners(a, b)}, {show_short(leg)} apart, are read as two "
                f"bends; one chord of an arc of {degrees(a + b):.4g}° and radius "
                f"{show_short(radius)} draws the same: "
                'read_as = "chords" in the job reads one arc, "corners" confirms two bends',
                natural,
            )
        )
    return runs, doubts


def _two_corners(a: float, b: float) -> str:
    """Name two corners by their turns: equal ones, or what rounding lets pass for equal."""
    if abs(a - b) <= _ALIKE * max(a, b):
        return f"two equal corners of {degrees(a):.4g}°"
    return (
        f"two corners of {degrees(a):.4g}° and {degrees(b):.4g}°, equal within what the points tell"
    )


def _one_chord(points_m: Floats, first: int, angle: float, radius: float, axis: Floats) -> ChordRun:
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
