"""Which points of a drawn path were measured, and which were drawn.

Measured points are dense, with small turns that no corner or arc explains. A path may hold both: a
designed part with long straights, then points along what was built.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians

import numpy as np
from numpy.typing import NDArray

from analyzer.geometry.corners import LEAST_BEND_RAD
from analyzer.geometry.grids import COARSEST_MEASURED_M
from analyzer.geometry.polyline import IN_LINE_ROUNDINGS, leg_lengths, offsets_from_neighbors, turns
from analyzer.geometry.segments import Floats
from analyzer.geometry.wrong_shots import legs_of_wrong_shots

__all__ = [
    "FINE_TURN_RAD",
    "ROUND_TURN_RAD",
    "SurveyedPart",
    "are_odd",
    "faint_corners",
    "has_faint_corner",
    "has_lone_vertex",
    "lone_vertices",
    "look_drawn",
    "looks_measured_throughout",
    "looks_surveyed",
    "slight_corners",
    "stand_evenly",
    "stand_like_few_measured",
    "surveyed_parts",
    "turned_by_grid",
]

FINE_TURN_RAD = radians(12.0)
"""Turn from chord to chord up to which chords look like an arc, and corners may be some. [rad]"""

ROUND_TURN_RAD = radians(0.5)
"""Turns of multiples of this are round angles, as designers mean. Common practice. [rad]"""

_FEWEST_DENSE = 12
"""Points, corners or legs in number from which their turns and spacing tell measured from drawn;
for fewer see `stand_like_few_measured`. Own choice."""

_FEWEST_ODD, _ODD_SHARE = 4, 0.05
"""Corners that nothing explains from which points may be measured, and their least share of all
points: fewer may be slips of the drawing. Own choice."""

_DIFFERENT_SHARE = 0.8
"""Share of the turns, sorted, that differ from the next from which each counts as another angle:
a designer repeats few. Own choice."""

_IN_LINE_SHARE = 0.25
"""Share of the vertices in line with their neighbors from which points stand along straights as
they do elsewhere. Own choice."""

_FEWEST_LIKE_MEASURED = 8
"""Points from which even spacing and turns that all differ tell measured points. Own choice."""

_EVEN_LEGS = 3.0
"""Times their median that legs are longer or shorter at most where points stand about evenly. Own
choice."""

_CORNER_SHARE = 0.8
"""Share of the inner vertices that are corners at least where nearly all turn. Own choice."""

_APART_RAD = 1e-4
"""Difference from which two turns of a few points are two angles. [rad] Own choice."""

_LIKE_LEGS = 4.0
"""Times their median that legs of like size are long at most; where one is shorter than it by as
much, points stand so close together that they turn by any angle. Own choice."""

_LONG_LEGS = 8.0
"""Times the median beyond which a leg is a long one, which measured points do not leave. Own
choice."""

_NO_GRID_TURN_RAD = radians(44.0)
"""Turn from which a corner is one however short its legs are for the grid. [rad] Own choice."""

_FEWEST_IN_A_ROW = 8
"""Corners in a row, turning as fine chords do, from which all count as slight: nobody bends so
many. Own choice."""

_DRAWN_TURN_RAD = radians(10.0)
"""Turn above which a vertex between two long legs may be a drawn corner. [rad] Own choice."""

_SMALL_TURN_RAD, _LARGE_TURN_RAD = radians(15.0), radians(60.0)
"""Median, and quantile of nine tenths, of turns up to which they are mostly slight and hardly ever
sharp. [rad] Own choice."""

_COARSE = 4.0
"""Times the stated accuracy above which a grid is coarser than anybody writes measured points to.
Own choice."""

_EXACT_RAD = 1e-6
"""How far off a round angle a turn may be and be one, however fine the grid. [rad] Own choice."""


@dataclass(frozen=True, slots=True)
class SurveyedPart:
    """Vertices of a stretch that look measured, while others were drawn.

    Attributes
    ----------
    first, last : int
        Its vertices, both included; they may be drawn ones.
    """

    first: int
    last: int


def looks_surveyed(
    points_m: Floats, corners: Sequence[int], rounding_m: float, *, excused_m: float = 0.0
) -> bool:
    """Return whether points look measured: dense, with small turns that nothing explains.

    Dense: half the length or more in legs of like size, so that straights hold points too; the way
    to a wrong shot and back does not count. The turns are all different, or too fine for the grid
    of the coordinates; a designer repeats few angles. Points closer together than they are exact
    turn by any angle, but not every so many.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    rounding_m : float
        Grid of the coordinates. [m]
    excused_m : float
        Grid up to which points may be measured because they were said to be no better. [m]
    """
    n = len(points_m)
    if n < _FEWEST_DENSE or len(corners) < max(_FEWEST_ODD, _ODD_SHARE * n):
        return False
    legs = leg_lengths(points_m)
    like = legs <= _LIKE_LEGS * np.median(legs)
    if legs[like].sum() < 0.5 * legs[~legs_of_wrong_shots(points_m, like)].sum():
        return False
    turn, _ = turns(points_m)
    marks = np.asarray(corners)
    left = turn[marks - 1]
    # where two points happen to stand close together, noise turns the way by any angle
    apart = np.minimum(legs[marks - 1], legs[marks]) > np.median(legs) / _LIKE_LEGS
    far = left[apart] if apart.sum() >= _FEWEST_ODD else left
    different = len(corners) >= _FEWEST_DENSE and bool(
        np.mean(np.diff(np.sort(left)) > 1e-7) > _DIFFERENT_SHARE
    )
    coarsest = max(COARSEST_MEASURED_M, excused_m)
    fine = rounding_m <= coarsest and _looks_fine(points_m, corners, rounding_m)
    # points as close together as they are exact turn by any angle; every so many do not
    return (different or fine) and (_turns_little(far) or _is_smooth_thinned(points_m))


def _turns_little(turn_rad: Floats) -> bool:
    """Whether turns are mostly slight and hardly any sharp."""
    return bool(
        np.median(turn_rad) <= _SMALL_TURN_RAD and np.quantile(turn_rad, 0.9) <= _LARGE_TURN_RAD
    )


def _is_smooth_thinned(points_m: Floats) -> bool:
    """Whether every second, fourth, ... point turn little: noise fades with the way, bends stay."""
    rows = points_m[::2]
    while len(rows) >= _FEWEST_DENSE:
        turn, _ = turns(rows)
        if _turns_little(turn):
            return True
        rows = rows[::2]
    return False


def _looks_fine(points_m: Floats, corners: Sequence[int], rounding_m: float) -> bool:
    """Whether the turns at corners are mostly too small for the grid of the coordinates.

    Chord times half its turn is then below four times the grid.
    """
    marks = np.asarray(corners)
    legs = leg_lengths(points_m)
    turn, _ = turns(points_m)
    short = np.minimum(legs[marks - 1], legs[marks])
    return bool(np.median(short * turn[marks - 1] / 2.0) < 4.0 * rounding_m)


def look_drawn(points_m: Floats, corners: Sequence[int], grid_m: float, accuracy_m: float) -> bool:
    """Return whether corners look drawn although an accuracy was stated for measured points.

    Their coordinates lie on a grid of round numbers, far coarser than that and than anybody writes
    measured points to, or all turn by halves of a degree and as much as somebody bends.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    grid_m : float
        Grid of the coordinates. [m]
    accuracy_m : float
        Stated accuracy. [m]
    """
    if not corners or grid_m > max(_COARSE * accuracy_m, COARSEST_MEASURED_M):
        return True
    marks = np.asarray(corners)
    legs = leg_lengths(points_m)
    turn = turns(points_m)[0][marks - 1]
    if turn.min() < LEAST_BEND_RAD:
        return False  # nobody means half a degree: noise turns by that as soon as by any other
    return not are_odd(turn, turned_by_grid(legs, marks, grid_m)).any()


def turned_by_grid(legs_m: Floats, vertices: NDArray[np.int64], grid_m: float) -> Floats:
    """Return by how much the grid of the coordinates may turn vertices, shape (n,). [rad]

    Parameters
    ----------
    legs_m : (m,) float
        Legs of the stretch. [m]
    vertices : (n,) int
        Inner vertices.
    grid_m : float
        Grid of the coordinates. [m]
    """
    turned: Floats = grid_m * (1.0 / legs_m[vertices - 1] + 1.0 / legs_m[vertices])
    return turned


def are_odd(
    turn_rad: Floats,
    by_grid_rad: Floats,
    step_rad: float = ROUND_TURN_RAD,
    most_off_rad: float = ROUND_TURN_RAD / 10.0,
) -> NDArray[np.bool_]:
    """Tell the turns that are no round angles, as far as the grid tells: no designer means them.

    Parameters
    ----------
    turn_rad, by_grid_rad : (n,) float
        The turns, and by how much the grid may have turned each. [rad]
    step_rad : float
        Round angles are multiples of this. [rad]
    most_off_rad : float
        Farthest that a turn may be off a round angle, however coarse the grid. [rad]
    """
    off = np.abs(turn_rad - step_rad * np.round(turn_rad / step_rad))
    odd: NDArray[np.bool_] = off > np.clip(by_grid_rad, _EXACT_RAD, most_off_rad)
    return odd


def stand_evenly(points_m: Floats, grid_m: float) -> bool:
    """Return whether points stand along the straights about as densely as elsewhere.

    A good part of them then lies in line with its neighbors, as far as the grid lets one tell;
    vertices of chords that a grid leaves readable never do.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    grid_m : float
        Grid of the coordinates. [m]
    """
    legs = leg_lengths(points_m)
    if len(legs) < _FEWEST_DENSE or legs.max() > _LONG_LEGS * np.median(legs):
        return False
    turn, _ = turns(points_m)
    in_line = offsets_from_neighbors(points_m, turn) <= IN_LINE_ROUNDINGS * grid_m
    return bool(np.mean(in_line) >= _IN_LINE_SHARE)


def stand_like_few_measured(points_m: Floats, corners: Sequence[int]) -> bool:
    """Return whether points stand about evenly and nearly all turn, each by another angle.

    So do measured points too few to look dense. A designer's legs differ, and his angles repeat.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    """
    n = len(points_m)
    if n < _FEWEST_LIKE_MEASURED or len(corners) < _CORNER_SHARE * (n - 2):
        return False
    legs = leg_lengths(points_m)
    middle = float(np.median(legs))
    if legs.max() > _EVEN_LEGS * middle or legs.min() < middle / _EVEN_LEGS:
        return False
    turn = np.sort(turns(points_m)[0][np.asarray(corners) - 1])
    return bool(np.mean(np.diff(turn) > _APART_RAD) > _DIFFERENT_SHARE)


def looks_measured_throughout(points_m: Floats, corners: Sequence[int], rounding_m: float) -> bool:
    """Return whether points look measured and stand along the straights as densely as in bends.

    Chords drawn for an arc never do: their straights have no points.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    rounding_m : float
        Grid of the coordinates; 0 where they have none. [m]
    """
    dense = _dense_legs(points_m, np.asarray(corners, dtype=np.int64))
    return dense is not None and bool(dense.all()) and looks_surveyed(points_m, corners, rounding_m)


def has_lone_vertex(points_m: Floats, corners: Sequence[int]) -> bool:
    """Return whether a vertex stands alone, far from the dense points that make up the rest.

    Two long legs meet there, or one begins or ends the stretch: it may have been drawn. A wrong
    shot was not.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    """
    return bool(lone_vertices(points_m, corners))


def lone_vertices(points_m: Floats, corners: Sequence[int]) -> tuple[int, ...]:
    """Return the vertices that stand alone, as `has_lone_vertex` tells, which takes the same."""
    dense = _dense_legs(points_m, np.asarray(corners, dtype=np.int64))
    return () if dense is None else tuple(np.flatnonzero(_lone(points_m, dense)).tolist())


def surveyed_parts(
    points_m: Floats, corners: Sequence[int], rounding_m: float
) -> tuple[SurveyedPart, ...]:
    """Return the parts of a stretch whose points look measured, in order, never overlapping.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    rounding_m : float
        Grid of the coordinates. [m]
    """
    found: list[SurveyedPart] = []
    left = np.asarray(corners, dtype=np.int64)
    while (dense := _dense_legs(points_m, left)) is not None:
        lone = _lone(points_m, dense)
        # a long leg between dense points on both sides may be a gap in the measuring
        bridged = dense | ~(lone[:-1] | lone[1:])
        more: list[SurveyedPart] = []
        for first, last in (*_stretches_of(bridged), *_stretches_of(dense)):
            part = _part(points_m, left, first, last, rounding_m)
            if part is not None and not any(
                part.first < one.last and one.first < part.last for one in (*found, *more)
            ):
                more.append(part)
        if not more:
            break
        found += more
        for part in more:
            left = left[(left <= part.first) | (left >= part.last)]
    return tuple(sorted(found, key=lambda part: part.first))


def faint_corners(points_m: Floats, corners: Sequence[int], grid_m: float) -> NDArray[np.bool_]:
    """Tell the corners that turn no more than the grid of the coordinates could make them.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    grid_m : float
        Grid of the coordinates. [m]
    """
    turn, _ = turns(points_m)
    legs = leg_lengths(points_m)
    marks = np.asarray(corners, dtype=np.int64)
    short = np.minimum(legs[marks - 1], legs[marks])
    faint: NDArray[np.bool_] = (short * turn[marks - 1] < 8.0 * grid_m) & (
        turn[marks - 1] < _NO_GRID_TURN_RAD
    )
    return faint


def has_faint_corner(points_m: Floats, corners: Sequence[int], grid_m: float) -> bool:
    """Return whether a corner turns less than anybody bends, or no more than the grid makes it.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    grid_m : float
        Grid of the coordinates; 0 where they have none. [m]
    """
    if not corners:
        return False
    turn, _ = turns(points_m)
    slight = any(turn[vertex - 1] < LEAST_BEND_RAD for vertex in corners)
    return slight or bool(faint_corners(points_m, corners, grid_m).any())


def slight_corners(
    points_m: Floats, corners: Sequence[int], parts: Sequence[SurveyedPart]
) -> tuple[int, ...]:
    """Return the corners that turn less than anybody bends, outside the parts that look measured.

    None where they are fewer than four: then they may be slips of the drawing. Eight in a row that
    turn like fine chords count too: nobody bends so many.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : sequence of int
        Vertices left as corners by the exact reading.
    parts : sequence of SurveyedPart
        What `surveyed_parts` found.
    """
    turn, _ = turns(points_m)
    left = [v for v in corners if not any(part.first < v < part.last for part in parts)]
    found = tuple(vertex for vertex in left if turn[vertex - 1] < LEAST_BEND_RAD)
    fine = [vertex for vertex in left if turn[vertex - 1] < FINE_TURN_RAD]
    row: list[int] = []
    for vertex in fine:
        row = [*row, vertex] if row and vertex == row[-1] + 1 else [vertex]
        if len(row) >= _FEWEST_IN_A_ROW:
            return tuple(sorted({*found, *fine}))
    return found if len(found) >= _FEWEST_ODD else ()


def _dense_legs(points_m: Floats, corners: np.ndarray) -> np.ndarray | None:
    """Tell the legs that are like those between corners in a row; None where these are few.

    The two legs of a wrong shot among dense points count as such.
    """
    between = corners[:-1][np.diff(corners) == 1]
    if between.size < _FEWEST_ODD:
        return None
    legs = leg_lengths(points_m)
    dense: np.ndarray = legs <= _LONG_LEGS * np.median(legs[between])
    return dense | legs_of_wrong_shots(points_m, dense)


def _lone(points_m: Floats, dense: np.ndarray) -> np.ndarray:
    """Tell the vertices that no dense leg meets: ends, and those that turn like a drawn corner."""
    lone: np.ndarray = ~(np.concatenate(([False], dense)) | np.concatenate((dense, [False])))
    turn, _ = turns(points_m)
    lone[1:-1] &= turn > _DRAWN_TURN_RAD
    return lone


def _stretches_of(dense: np.ndarray) -> list[tuple[int, int]]:
    """First and last vertex of each stretch of legs in a row that are dense."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], dense, [False])).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _part(
    points_m: Floats, corners: np.ndarray, first: int, last: int, rounding_m: float
) -> SurveyedPart | None:
    inside = [int(v) - first for v in corners[(corners > first) & (corners < last)]]
    rows = points_m[first : last + 1]
    return SurveyedPart(first, last) if looks_surveyed(rows, inside, rounding_m) else None
