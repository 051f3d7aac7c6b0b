"""A run of vertices that is one arc, and its angle and radius.

The angle comes from the lines at both ends, the radius from angle and chords; the arc then has to
pass the vertices between. Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import pi

from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.circle_runs import CircleRun, Stretch
from analyzer.geometry.chords.laid_arcs import NO_TANGENT_VERTEX, fitting_radius_m
from analyzer.geometry.chords.tangencies import RunEnd, Tangency, angle_about, tangent_at
from analyzer.geometry.chords.tangent_arcs import TangentArc, tangent_arc
from analyzer.geometry.circle_fit import radius_from_chords
from analyzer.geometry.segments import Floats, Vector
from analyzer.geometry.vectors import to_vector

__all__ = ["ChordRun", "anchors_of", "measured_run", "run_between"]

_TANGENT_CHORDS = 4.5
"""A tangent shared with a touching arc is known as well as by a straight of one chord over this."""


@dataclass(frozen=True, slots=True)
class ChordRun:
    """Vertices read as one arc.

    Attributes
    ----------
    first, last : int
        Vertices it takes up, both included.
    start, end : RunEnd
        The lines it is tangent to.
    angle_rad, radius_m : float
        Total turn and radius. [rad] [m]
    axis : (3,) float
        Unit axis of the turn.
    center_m : (3,) float
        Center of its circle. [m]
    n_chords : int
        Chords drawn.
    doubt : str
        Why the reading is not certain; empty when it is.
    outside : bool
        The polygon was drawn round the outside of the arc.
    accepted : bool
        False where corners are the more natural reading: then only the doubt counts.
    tangent_vertices : bool
        False where an arc that starts and ends at its first and last vertex would pass the others
        by more than rounding makes, so that its radius is from the vertices, not the chords.
    """

    first: int
    last: int
    start: RunEnd
    end: RunEnd
    angle_rad: float
    radius_m: float
    axis: Vector
    center_m: Vector
    n_chords: int
    doubt: str = ""
    outside: bool = False
    accepted: bool = True
    tangent_vertices: bool = True

    @property
    def is_between_straights(self) -> bool:
        """Whether both ends meet straights at vertices."""
        return {self.start.tangency, self.end.tangency} == {Tangency.STRAIGHT}


def anchors_of(points_m: Floats, corners: Iterable[int], runs: Iterable[ChordRun]) -> set[int]:
    """Return the vertices that straights run between: ends, corners, and those of arcs.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices of the stretch. [m]
    corners : iterable of int
        Vertices left as corners.
    runs : iterable of ChordRun
        Arcs read.
    """
    inside = {vertex for run in runs for vertex in range(run.first, run.last + 1)}
    return {0, len(points_m) - 1, *corners, *inside}


def run_between(
    span: tuple[int, int],
    start: RunEnd,
    end: RunEnd,
    angle_rad: float,
    radius_m: float,
    n_chords: int,
) -> tuple[ChordRun, TangentArc]:
    """Return a run as the arc of a radius between the lines it meets, and where that arc lies.

    Parameters
    ----------
    span : (int, int)
        Vertices the arc takes up.
    start, end : RunEnd
        The lines it is tangent to.
    angle_rad, radius_m : float
        Turn from one to the other, and radius. [rad] [m]
    n_chords : int
        Chords drawn.
    """
    arc = tangent_arc(start.place_m, start.direction, end.place_m, end.direction, angle_rad)
    axis, center = to_vector(arc.axis), to_vector(arc.center_m(radius_m))
    return ChordRun(*span, start, end, angle_rad, radius_m, axis, center, n_chords), arc


def measured_run(
    stretch: Stretch,
    one: CircleRun,
    span: tuple[int, int],
    start: RunEnd,
    end: RunEnd,
    halves: list[float],
    doubt: str,
) -> ChordRun | None:
    """Return the arc of a run, None where the lines at its ends do not turn as its chords do.

    Parameters
    ----------
    stretch : Stretch
        The vertices.
    one : CircleRun
        Those on a circle.
    span : (int, int)
        Vertices the arc takes up, which may be one more at either end.
    start, end : RunEnd
        The lines it is tangent to.
    halves : list of float
        Half the turn of each chord. [rad]
    doubt : str
        Why the reading is not certain; empty when it is.
    """
    circle = one.circle
    first, last = stretch.rows[one.first], stretch.rows[one.last]
    drawn = 2.0 * sum(halves)
    head = angle_about(circle.axis, start.direction, tangent_at(circle, first))
    rest = angle_about(circle.axis, tangent_at(circle, last), end.direction)
    estimate = drawn + head + rest
    angle = angle_between(start.direction, end.direction)
    turns_round = 2.0 * pi * round((estimate - angle) / (2.0 * pi))
    mirror = 2.0 * pi * round((estimate + angle) / (2.0 * pi))
    near = min((angle + turns_round, mirror - angle), key=lambda value: abs(value - estimate))
    if near < 0.5 * drawn:
        return None
    chords = stretch.legs[one.first : one.last]
    tight = {start.tangency, end.tangency} <= {Tangency.STRAIGHT, Tangency.TOUCHING}
    radius = radius_from_chords(chords, near) if tight else circle.radius_m
    passing = _passing(stretch, one, start, end, near, radius) if tight else radius
    if passing is None:
        return None
    loose = passing != radius
    if loose:
        radius, doubt = passing, doubt or NO_TANGENT_VERTEX
    return ChordRun(
        span[0],
        span[1],
        start,
        end,
        near,
        radius,
        circle.axis,
        circle.center_m,
        len(chords),
        doubt,
        tangent_vertices=not loose,
    )


def _passing(
    stretch: Stretch, one: CircleRun, start: RunEnd, end: RunEnd, angle: float, radius: float
) -> float | None:
    """Return the radius of the arc between two straights that passes the vertices of a run. [m]

    The given one where that does, None where none does.
    """
    points = stretch.points_m[one.first : one.last + 1]
    sides = tuple(
        stretch.legs[edge]
        if held.tangency is Tangency.STRAIGHT and 0 <= edge < len(stretch.legs)
        else stretch.legs[chord] / _TANGENT_CHORDS
        for held, edge, chord in (
            (start, one.first - 1, one.first),
            (end, one.last, one.last - 1),
        )
    )
    straights = (sides[0], sides[1])
    return fitting_radius_m(points, start, end, angle, radius, straights, stretch.rounding_m)
