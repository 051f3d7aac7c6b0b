"""A drawn path made ready: repeats dropped, an origin subtracted, its rounding found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from math import degrees

import numpy as np

from analyzer.errors import PlacedError, RouteError
from analyzer.findings import Severity
from analyzer.geometry.bend_chain import Asked, BendChain, Drawing, in_brackets, is_line
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.corners import LARGEST_TURN_RAD
from analyzer.geometry.drawn import DrawnEdge, DrawnPath, WrittenPlace
from analyzer.geometry.grid_kinks import end_straights
from analyzer.geometry.grids import COARSE_GRID_M, COARSEST_GRID_M
from analyzer.geometry.polyline import REPEAT_M, leg_lengths, turns
from analyzer.geometry.readings import ReadAs
from analyzer.geometry.repeated_shots import FOLD_RAD, step_of_folds, step_of_shots
from analyzer.geometry.roundings import (
    coordinate_precision,
    least_rounding,
    rounding_as_written,
)
from analyzer.geometry.segments import Arc, Floats, Segment, Straight, Vector, dot, unit
from analyzer.geometry.vectors import minus, plus, to_vector
from analyzer.units import show_number, show_short, show_station

__all__ = ["clean_drawing", "moved_segment", "refuse_turn_backs"]

_SHIFT_FROM_M = 1e4
"""Coordinate above which all are counted from the first point, for their digits. [m] Own choice."""

_FINE_PRECISION_M = 1e-9
"""Spacing of double precision numbers at the largest coordinate above which that is said. [m] Own
choice."""

_MANY_POINTS = 50
"""Points from which a refused turn back may be one of measured points, which is said. Own
choice."""

_NOISE_STEPS = 8.0
"""Stated accuracies that a step back by noise alone is long at most; where none is stated, the
usual leg is divided by it instead. Own choice."""

_SMALL_STEP = 0.5 * (1.0 + 1e-9)
"""Usual legs up to which a step back may be one of the points' errors; points in the wrong order
step back by about one. Own choice."""

_ROUNDED_UP = 1.02
"""Told accuracy over the least one that lets points step back, for it is told in three digits."""

_MANY_LEGS = 12
"""Lines from which their median length tells what is usual. Own choice."""


def clean_drawing(
    path: DrawnPath, kept_vertices: frozenset[int], asked: Asked, chain: BendChain
) -> Drawing:
    """Return a path without repeats, near its origin, with what was done noted in the chain.

    Parameters
    ----------
    path : DrawnPath
        The path as drawn.
    kept_vertices : frozenset of int
        Its vertices in fittings, where corners stay sharp.
    asked : Asked
        What was asked for: how to read, and where messages say the path is.
    chain : BendChain
        What was done is added to its findings.

    Raises
    ------
    RouteError
        If all points are one point.
    """
    raw = path.vertices_m
    floor = least_rounding(raw)
    precision = coordinate_precision(raw)
    shift = float(np.abs(raw).max()) > _SHIFT_FROM_M
    origin = to_vector(np.round(raw[0])) if shift else (0.0, 0.0, 0.0)
    if precision > _FINE_PRECISION_M:
        chain.find(
            "large-coordinates",
            Severity.CAUTION,
            f"coordinates reach {show_number(float(np.abs(raw).max()), 0)} m, where double "
            f"precision holds only {precision * 1000:.2g} mm: bends are read less exactly; move "
            "the drawing near its origin and export again",
            None,
        )
    edges, joint_of_vertex = [], [0]
    for edge in path.edges:
        keep = not isinstance(edge.segment, Straight) or edge.segment.length_m > REPEAT_M
        if keep:
            edges.append(_shifted(edge, origin) if shift else edge)
        joint_of_vertex.append(len(edges))
    dropped = len(path.edges) - len(edges)
    if dropped:
        chain.find(
            "repeated-point",
            Severity.NOTE,
            f"{dropped} repeated point{'s' if dropped > 1 else ''} dropped (closer than 0.001 mm "
            "to the point before)",
            None,
        )
    if not edges:
        raise RouteError(f"all points of the route are one point{in_brackets(asked.where)}")
    radii: list[float | None] = [None] * (len(edges) + 1)
    for vertex, radius in enumerate(path.corner_radius_m):
        if radius is not None:
            radii[joint_of_vertex[vertex]] = radius
    points = np.array([e.segment.start_m for e in edges] + [edges[-1].segment.end_m], dtype=float)
    drawing = Drawing(
        edges,
        points,
        joint_of_vertex,
        frozenset(joint_of_vertex[vertex] for vertex in kept_vertices),
        radii,
        rounding_as_written(_written_rows(path), floor),
        floor,
        origin,
        _joint_names(path, joint_of_vertex),
    )
    if COARSE_GRID_M < drawing.rounding_m <= COARSEST_GRID_M and asked.read_as in (
        None,
        ReadAs.CHORDS,
    ):
        drawing.straights.update(_straights_beside_arcs(drawing))
    return drawing


def _straights_beside_arcs(drawing: Drawing) -> dict[int, tuple[int, int]]:
    """First and last joint of the straight that each line beside an arc is a part of."""
    edges = drawing.edges
    found: dict[int, tuple[int, int]] = {}
    joint = 0
    for line, group in groupby(edges, is_line):
        first, joint = joint, joint + len(list(group))
        if not line or joint == first + 1:
            continue
        locked = [
            vertex - first
            for vertex in range(first, joint + 1)
            if vertex in drawing.kept or drawing.radii_m[vertex] is not None
        ]
        points = drawing.points_m[first : joint + 1]
        head, tail = end_straights(points, drawing.rounding_m, locked)
        if first > 0 and head > 1:
            found[first] = (first, first + head)
        if joint < len(edges) and first + tail < joint - 1:
            found[joint - 1] = (first + tail, joint)
    return found


def _joint_names(path: DrawnPath, joint_of_vertex: Sequence[int]) -> tuple[str, ...]:
    """Name every joint after the first of its vertices."""
    names: dict[int, str] = {}
    for vertex, joint in enumerate(joint_of_vertex):
        own = path.vertex_names[vertex] if path.vertex_names else f"point {vertex + 1}"
        names.setdefault(joint, own)
    return tuple(names[joint] for joint in sorted(names))


def _written_rows(path: DrawnPath) -> list[list[WrittenPlace]]:
    """Return the ends of drawn lines as the file has them, in rows of neighbors.

    Only they carry its grid. An end at an arc may have been put where that ends, off the grid: it
    tells nothing, unless there is no other.
    """
    lines = [is_line(edge) for edge in path.edges]
    among_lines: list[list[WrittenPlace]] = []
    for edge, own, before, after in zip(
        path.edges, lines, [True, *lines[:-1]], [*lines[1:], True], strict=True
    ):
        if own:
            start, end = edge.written_ends
            if start is not None and before:
                met = among_lines and among_lines[-1][-1:] == [start]
                among_lines += [] if met else [[start]]
            if end is not None and after:
                goes_on = start is not None and before
                among_lines += [] if goes_on else [[]]
                among_lines[-1].append(end)
    ends = [end for e, own in zip(path.edges, lines, strict=True) if own for end in e.written_ends]
    of_lines = [[end] for end in ends if end is not None]
    return among_lines or of_lines or [_ends_of_curves(path)]


def _ends_of_curves(path: DrawnPath) -> list[WrittenPlace]:
    """Return the vertices but those between two arcs that follow one spline."""
    of_curve = [edge.curve for edge in path.edges]
    inside = [before == after >= 0 for before, after in pairwise(of_curve)]
    rows = zip(path.vertices_m, [False, *inside, False], strict=True)
    return [WrittenPlace(to_vector(row)) for row, within in rows if not within]


def _shifted(edge: DrawnEdge, origin: Vector) -> DrawnEdge:
    return replace(edge, segment=moved_segment(edge.segment, origin, -1.0))


def moved_segment(segment: Segment, by: Vector, sign: float) -> Segment:
    """Return a segment moved by a vector, or by its opposite where the sign is -1. [m]"""
    if isinstance(segment, Straight):
        return Straight(plus(segment.start_m, by, sign), plus(segment.end_m, by, sign))
    start, center = plus(segment.start_m, by, sign), plus(segment.center_m, by, sign)
    # far from the origin, rounding of the two places tilts the plane a little
    arm = minus(start, center)
    tilt = dot(segment.axis, arm) / dot(arm, arm) if dot(arm, arm) > 0.0 else 0.0
    return Arc(start, center, unit(plus(segment.axis, arm, -tilt)), segment.angle_rad)


def refuse_turn_backs(drawing: Drawing, asked: Asked) -> None:
    """Stop at the first joint that turns by more than 179°.

    A step back that measured points may take by their noise alone is none: one within eight times
    the stated accuracy, an eighth of what is usual between many points, or what lies between
    several measurements of one place or makes many points fold back. Should the points be read as
    drawn after all, the reading stops at such a fold itself.

    Raises
    ------
    PlacedError
        With its place and how to mend it.
    """
    station = 0.0
    noise_m = _step_of_noise(drawing, asked)
    for joint, (before, after) in enumerate(pairwise(drawing.edges), start=1):
        station += before.segment.length_m
        turn = angle_between(before.segment.end_tangent, after.segment.start_tangent)
        short = min(before.segment.length_m, after.segment.length_m)
        lines = is_line(before) and is_line(after)
        if lines and short <= noise_m:
            continue
        if turn > LARGEST_TURN_RAD:
            why = _if_measured(drawing, asked, joint, short) if lines else ""
            raise PlacedError(
                f"the route turns back on itself by {degrees(turn):.4g}°",
                plus(after.segment.start_m, drawing.origin, 1.0),
                f", {show_station(station)} along the line{in_brackets(asked.where)}: no raceway "
                f"bends so; remove the point there or split the run{why}",
            )


def _if_measured(drawing: Drawing, asked: Asked, joint: int, step_m: float) -> str:
    """Words on what may be wrong where one of many points steps back; empty for few points."""
    if len(drawing.points_m) < _MANY_POINTS:
        return ""
    names = drawing.names
    small = step_m <= _SMALL_STEP * float(np.median(leg_lengths(drawing.points_m)))
    words = ""
    for first in (joint, joint - 1):
        if _exchange_mends(drawing.points_m, first):
            pair = f"{names[first]} and {names[first + 1]}"
            words = f". {pair[0].upper()}{pair[1:]} may be in the wrong order"
            break
    else:
        if not small:
            words = f". {names[joint][0].upper()}{names[joint][1:]} may be wrong or out of order"
    drawn = asked.read_as in (ReadAs.CORNERS, ReadAs.CHORDS)
    if small and asked.accuracy_m is None and not drawn:
        least = show_short(_ROUNDED_UP * step_m / _NOISE_STEPS)
        words += (
            f". Where the points were measured no better than {least} "
            "a coordinate, state that as [drawing] accuracy: they may step back so far by it"
        )
    return words


def _exchange_mends(points_m: Floats, first: int) -> bool:
    """Whether points around two neighbors go on once these are exchanged."""
    low = max(first - 2, 0)
    rows = points_m[low : first + 4].copy()
    at = first - low
    rows[[at, at + 1]] = rows[[at + 1, at]]
    # exchanged, two points of one place may be neighbors: they turn nowhere
    return bool(leg_lengths(rows).min() > 0.0 and turns(rows)[0].max() < FOLD_RAD)


def _step_of_noise(drawing: Drawing, asked: Asked) -> float:
    """Length that noise alone can make between two measured points; 0 where none are. [m]"""
    if asked.read_as in (ReadAs.CORNERS, ReadAs.CHORDS):
        return 0.0
    again = max(step_of_shots(drawing.points_m), step_of_folds(drawing.points_m))
    if asked.accuracy_m is not None:
        return max(_NOISE_STEPS * asked.accuracy_m, again)
    legs = [edge.segment.length_m for edge in drawing.edges if is_line(edge)]
    usual = float(np.median(legs)) / _NOISE_STEPS if len(legs) >= _MANY_LEGS else 0.0
    return max(usual, again)
