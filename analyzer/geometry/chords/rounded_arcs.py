"""Arcs drawn in equal chords too fine for the grid of the coordinates, or on too coarse a grid.

Where chord times half its turn is only a few times the grid, single turns are noise and prove
nothing. What still shows is the whole: a row of equal chords between two straights, all vertices
within rounding of the one arc that is tangent to both straights and as long as its chords. Corners
would have to lie so by chance, each a kick of a few grid steps, so they are read as an arc; what
stays open is its extent, and on which side of its vertices it runs. Vertices in one line within
rounding are no arc.

A straight may hold vertices too, often equally spaced as hangers are: equal legs in one line are no
chords, and the direction of a straight is taken from all of it. Where legs of a straight are about
as long as the chords, the arc is the one that explains all vertices best (`arc_extents`).

Assumes vertices at both tangent points and a straight beside each. Cost is linear in vertices.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from itertools import pairwise, product
from math import inf, radians

import numpy as np

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.arc_extents import likeliest_extent
from analyzer.geometry.chords.measured_runs import ChordRun, run_between
from analyzer.geometry.chords.outside_rows import inside_or_outside
from analyzer.geometry.chords.tangencies import RunEnd, Tangency
from analyzer.geometry.chords.tangent_arcs import rounded_off
from analyzer.geometry.circle_fit import radius_from_chords
from analyzer.geometry.polyline import distances_to_line, leg_lengths, turns
from analyzer.geometry.segments import Floats, norm, unit
from analyzer.geometry.vectors import minus, to_vector

__all__ = ["find_rounded_arcs"]

_FEWEST_CHORDS = 3
"""Chords from which a row of equal ones may be one arc. Own choice."""

_FINE_GRIDS = 12.0
"""Chord times half its turn up to here: more, and a tangent point turns clearly even beside a leg a
fifth as long, where it stands off by a sixth of that, the two grids that count as straight."""

_LIKE_GRIDS, _LIKE_SHARE = 2.0, 0.02
"""Grids, and share of a length besides, by which legs of one length may differ. Own choice."""

_STRAIGHT_CHORDS, _SHORT_CHORDS = 1.5, 0.5
"""Chords that the straights beside an arc are long at least; the second where single turns stand
clear of the grid too (`coarser_too`). Own choice."""

_SHORTER = 0.98
"""First and last chords left over from the others are shorter than so many of them."""

_CORNER_RAD = radians(45.0)
"""Turn of one vertex above which it ends a row: no chords turn so. [rad] Own choice."""

_MOST_STEP_RAD, _COARSEST_STEP_RAD = radians(15.0), radians(23.0)
"""Turn from chord to chord below which a row may be an arc; the second where single turns stand
clear of the grid too. [rad] Own choice."""

_LEAST_RAD, _MOST_RAD = radians(3.0), radians(150.0)
"""Least and largest turn of an arc that is looked for. [rad] Own choice."""

_LEAST_RISE_GRIDS = 2.5
"""Grids that an arc stands off its chord at least, R a^2 / 8: less is a straight. Own choice."""

_LINE_GRIDS, _CLEAR_GRIDS = 1.5, 4.0
"""How far vertices of one straight stand off its line, and from where on a turn is no rounding."""

_FAR_LEGS, _OVER_LEGS = 32, 2
"""Legs of a straight that tell its direction; chords that may pass for legs of one."""

_LIKELY = ((0, 0), (1, 0), (0, 1), (1, 1))
"""Legs left out at the start and end of a row where these are a straight's by chance."""


def find_rounded_arcs(
    points_m: Floats, grid_m: float, locked: Collection[int] = (), *, coarser_too: bool = False
) -> tuple[ChordRun, ...]:
    """Return rows of equal chords that lie on one tangent arc within rounding, in order.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices as drawn, repeats dropped. [m]
    grid_m : float
        Grid that the coordinates lie on. [m]
    locked : collection of int
        Vertices that no arc may cross or end at.
    coarser_too : bool
        Whether chords whose single turns stand clear of the grid are wanted as well: where the
        grid is too coarse to be a tolerance, no other reader finds them.
    """
    if len(points_m) < _FEWEST_CHORDS + 3:
        return ()
    line = _Line(points_m, leg_lengths(points_m), turns(points_m)[0], grid_m, frozenset(locked))
    most_grids = inf if coarser_too else _FINE_GRIDS
    rows = _equal_rows(line)
    chords = {edge for row in rows for edge in range(*row)}
    for row in rows:
        chords -= _legs_in_line(line, *row)
    found: list[ChordRun] = []
    left, tried = rows, len(rows) + 1
    while len(left) < tried:  # an arc takes its straights for what they are, for its neighbors too
        tried = len(left)
        for row in list(left):
            arc = _arc_in_row(line, row, chords, most_grids)
            if arc is not None:
                found.append(arc)
                chords.difference_update(range(*row))
                chords.update(range(arc.first, arc.last))
                left = [one for one in left if one != row]
    arcs = [_inside_or_outside(line, arc) for arc in found]
    return tuple(sorted(arcs, key=lambda arc: arc.first))


@dataclass(frozen=True, slots=True)
class _Line:
    """Vertices with their legs and turns, the grid they lie on, and those that no arc crosses.

    What was asked of them before is kept: `far_ends` by vertex, step and most legs.
    """

    points_m: Floats
    lengths_m: Floats
    turn_rad: Floats
    grid_m: float
    locked: frozenset[int]
    far_ends: dict[tuple[int, int, int], int] = field(default_factory=dict)

    def far_end(self, vertex: int, step: int, most: int = _FAR_LEGS) -> int:
        """Return the far vertex of the straight that leaves a vertex one way."""
        asked = vertex, step, most
        if asked not in self.far_ends:
            self.far_ends[asked] = _far_end(self, *asked)
        return self.far_ends[asked]


def _arc_in_row(
    line: _Line, row: tuple[int, int], chords: Collection[int], most_grids: float
) -> ChordRun | None:
    """Return the arc that the legs of a row draw, legs on a straight at its ends left out.

    One leg at an end may be as long by chance; more lie in line, and the best fit tells how many.
    More at both ends are points at one spacing throughout, with none at the tangent points.
    """
    first, stop = row
    heads, tails = _legs_left_out(line, row, 1), _legs_left_out(line, row, -1)
    reach = _with_short_ends(line, row)
    heads += range(reach[0] - first, 0)
    tails += range(stop - reach[1], 0)

    def fit(head: int, tail: int) -> tuple[float, ChordRun] | None:
        a, b = first + head, stop - tail
        if b - a < _FEWEST_CHORDS or not 0 < a < b < len(line.lengths_m):
            return None
        beside = {edge for edge in (a - 1, b) if not first <= edge < stop}
        if not beside.isdisjoint(chords) or not line.locked.isdisjoint(range(a, b + 1)):
            return None
        return _arc_between(line, (a, b), (line.far_end(a, -1), line.far_end(b, 1)), most_grids)

    for head, tail in _LIKELY:
        one = fit(head, tail)
        if one is not None:
            return _best_extent(line, row, one[1], most_grids)
    pairs = [pair for pair in product(heads, tails) if min(pair) <= 1 and pair not in _LIKELY]
    rest = [fit(*pair) for pair in pairs]
    fits = [one for one in rest if one is not None]
    if not fits:
        return None
    return _best_extent(line, row, min(fits, key=lambda one: one[0])[1], most_grids)


def _best_extent(line: _Line, row: tuple[int, int], arc: ChordRun, most_grids: float) -> ChordRun:
    """Return the arc that explains all vertices best, of those one leg longer or shorter in a row.

    The ends of the row are tried too: a shorter chord left over may lie two beyond. Where another
    of them explains the vertices about as well, it has the doubt.
    """
    low, high = arc.first, arc.last
    reach = _with_short_ends(line, row)
    arcs: list[ChordRun] = []
    ends = zip((arc.first, arc.last), reach, strict=True)
    choices = [sorted({end - 1, end, end + 1, far}) for end, far in ends]
    for first, last in product(*choices):
        inside = max(reach[0], 1) <= first and last <= min(reach[1], len(line.lengths_m) - 1)
        if last - first < _FEWEST_CHORDS or not inside:
            continue
        if not line.locked.isdisjoint(range(first, last + 1)):
            continue
        far = line.far_end(first, -1), line.far_end(last, 1)
        one = _arc_between(line, (first, last), far, most_grids)
        if one is not None:
            arcs.append(one[1])
            low, high = min(low, far[0]), max(high, far[1])
    if len(arcs) < 2:
        return arc
    return likeliest_extent(line.points_m, (low, high), arcs, line.grid_m)


def _inside_or_outside(line: _Line, arc: ChordRun) -> ChordRun:
    """Read an arc as a polygon round its outside where that explains its vertices better."""
    span = line.far_end(arc.first, -1), line.far_end(arc.last, 1)
    return arc if arc.doubt else inside_or_outside(line.points_m, span, arc, line.grid_m)


def _with_short_ends(line: _Line, row: tuple[int, int]) -> tuple[int, int]:
    """Row with what is left of an arc at its first or last chord: a shorter leg beside it.

    Shorter legs of a straight come more than one in a row.
    """
    first, stop = row
    mean = float(np.mean(line.lengths_m[first:stop]))

    def is_left_over(edge: int, beyond: int) -> bool:
        if not 0 <= min(edge, beyond) <= max(edge, beyond) < len(line.lengths_m):
            return False
        length, next_length = line.lengths_m[[edge, beyond]]
        alike = abs(length - next_length) <= _LIKE_GRIDS * line.grid_m + _LIKE_SHARE * length
        return bool(length < _SHORTER * mean) and not alike

    before, after = is_left_over(first - 1, first - 2), is_left_over(stop, stop + 1)
    return first - int(before), stop + int(after)


def _legs_left_out(line: _Line, row: tuple[int, int], step: int) -> list[int]:
    """How many legs at one end of a row may be a straight's: none, one, or about all in line."""
    first, stop = row
    inside = stop - first
    end = first if step > 0 else stop
    most = abs(line.far_end(end, step, inside) - end)
    return sorted({0, 1, *(range(max(most - _OVER_LEGS, 0), most + 1))})


def _equal_rows(line: _Line) -> list[tuple[int, int]]:
    """First and stop edge of each row of edges of one length, three or more, without a corner."""
    rows: list[tuple[int, int]] = []
    first, n = 0, len(line.lengths_m)
    lengths = [float(length) for length in line.lengths_m]
    while first < n:
        stop, total = first + 1, lengths[first]
        while stop < n:
            mean = total / (stop - first)
            unlike = abs(lengths[stop] - mean) > _LIKE_GRIDS * line.grid_m + _LIKE_SHARE * mean
            if unlike or line.turn_rad[stop - 1] > _CORNER_RAD:
                break
            total += lengths[stop]
            stop += 1
        if stop - first >= _FEWEST_CHORDS:
            rows.append((first, stop))
        first = stop
    return rows


def _legs_in_line(line: _Line, first: int, stop: int) -> set[int]:
    """Edges of an equal row that lie on a straight with others, from one clear turn to the next."""
    inner = np.arange(first + 1, stop)
    offset = line.turn_rad[inner - 1] * line.lengths_m[inner] / 2.0
    clear = inner[offset > _CLEAR_GRIDS * line.grid_m]
    found: set[int] = set()
    for a, b in pairwise([first, *map(int, clear), stop]):
        if b - a > 1 and _in_line(line, a, b):
            found.update(range(a, b))
    return found


def _in_line(line: _Line, first: int, last: int) -> bool:
    """Whether vertices stand off the line through two of them by no more than rounding."""
    points = line.points_m[first : last + 1]
    off = distances_to_line(points[1:-1], points[0], points[-1])
    return float(off.max(initial=0.0)) <= _LINE_GRIDS * line.grid_m


def _far_end(line: _Line, vertex: int, step: int, most: int) -> int:
    """Return the far vertex of the straight that leaves a vertex one way."""
    far = min(max(vertex + step, 0), len(line.points_m) - 1)
    while far not in line.locked and 0 <= far + step < len(line.points_m):
        if abs(far - vertex) >= most or not _in_line(line, *sorted((vertex, far + step))):
            break
        far += step
    return far


def _arc_between(
    line: _Line,
    tangent_points: tuple[int, int],
    far_ends: tuple[int, int],
    most_grids: float,
) -> tuple[float, ChordRun] | None:
    """Return the arc tangent to the straights beside some chords, and how far it is off them. [m]

    None where it does not fit.
    """
    points_m, grid_m = line.points_m, line.grid_m
    (first, last), (before_first, after_last) = tangent_points, far_ends
    chords = [float(length) for length in line.lengths_m[first:last]]
    chord = sum(chords) / len(chords)
    start, end = to_vector(points_m[first]), to_vector(points_m[last])
    to_start = minus(start, to_vector(points_m[before_first]))
    from_end = minus(to_vector(points_m[after_last]), end)
    before, after = norm(to_start), norm(from_end)
    coarse = most_grids == inf
    if min(before, after) < (_SHORT_CHORDS if coarse else _STRAIGHT_CHORDS) * chord:
        return None
    into, out = unit(to_start), unit(from_end)
    angle = angle_between(into, out)
    step = angle / len(chords)
    most_step = _COARSEST_STEP_RAD if coarse else _MOST_STEP_RAD
    if not (_LEAST_RAD < angle < _MOST_RAD and step < most_step):
        return None
    if not chord * step / 2.0 < most_grids * grid_m:
        return None
    radius = radius_from_chords(chords, angle)
    if radius * angle**2 / 8.0 < _LEAST_RISE_GRIDS * grid_m or _in_line(line, first, last):
        return None
    meets = RunEnd(start, into, Tangency.STRAIGHT), RunEnd(end, out, Tangency.STRAIGHT)
    run, arc = run_between((first, last), *meets, angle, radius, len(chords))
    off = float(arc.off_m(points_m[first : last + 1], radius).max())
    if off > rounded_off(angle, radius, (before, after), grid_m):
        return None
    return off, run
