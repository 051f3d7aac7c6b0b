"""Pieces in drawing units become edges in meters: straights, arcs of at most half a turn.

Arcs are exact; only ellipses and splines are represented by arcs within a stated tolerance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite, pi, radians

from analyzer.errors import RouteError
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, WrittenEnds, WrittenPlace
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, cross, norm, unit
from analyzer.geometry.vectors import times
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.pieces import EllipsePiece, LinePiece, Piece, is_circular
from analyzer.importers.drawings.spline_curves import (
    ellipse_segments,
    spline_points,
    spline_segments,
)
from analyzer.importers.drawn_file import FARTHEST_M

__all__ = ["SHORTEST_M", "entity_edges", "piece_points"]

SHORTEST_M = 1e-9
"""Edges shorter than this have no length. [m]"""

CORNER_RAD = radians(0.5)
"""Parts of a spline that turn more where they meet have a corner there; less is rounding. [rad]"""


def entity_edges(entity: DrawnEntity, factor: float, curve: int) -> tuple[DrawnEdge, ...]:
    """Return the edges of an entity in drawing order; none where it has no length.

    Parameters
    ----------
    entity : DrawnEntity
        In drawing units.
    factor : float
        Meters in one drawing unit.
    curve : int
        Number that keeps the arcs of one ellipse or spline together; parts of a spline that meet
        in a corner take the numbers from here on. Straight curves are lines and take none.

    Raises
    ------
    RouteError
        If a coordinate is not finite, or farther off than any place on the earth.
    """
    edges: list[DrawnEdge] = []
    for piece in entity.pieces:
        try:
            own = tuple(_piece_edges(piece, factor, curve))
        except (ValueError, ArithmeticError) as error:
            raise RouteError(
                f"layer {entity.layer}, {entity.kind} {entity.handle}: {error}; "
                "delete it or draw it anew"
            ) from error
        edges += own
        curve = max([curve, *(edge.curve + 1 for edge in own)])
    return tuple(edges)


def _written(piece: LinePiece, factor: float) -> WrittenEnds | None:
    if piece.written is None:
        return None
    start, end = (
        WrittenPlace(times(place, factor), piece.scale, piece.frame) for place in piece.written
    )
    return start, end


def _piece_edges(piece: Piece, factor: float, curve: int) -> Iterable[DrawnEdge]:
    if isinstance(piece, LinePiece):
        start, end = times(piece.start, factor), times(piece.end, factor)
        _check_place(*start, *end)
        gap = (end[0] - start[0], end[1] - start[1], end[2] - start[2])
        if norm(gap) < SHORTEST_M:
            return ()
        return (DrawnEdge(Straight(start, end), written=_written(piece, factor)),)
    if isinstance(piece, EllipsePiece):
        _check_place(*times(piece.start, factor), *times(piece.end, factor))
        flat = norm(cross(piece.u, piece.v)) <= 1e-12 * max(norm(piece.u), norm(piece.v)) ** 2
        if not flat and is_circular(piece):
            return tuple(DrawnEdge(arc, DrawnAs.ARC) for arc in _arcs(piece, factor))
        return () if flat else _curve_edges([ellipse_segments(piece, factor)], curve)
    _check_place(*(x * factor for point in piece.control for x in point))
    return _curve_edges(spline_segments(piece, factor), curve)


def _curve_edges(parts: Sequence[Sequence[Segment]], curve: int) -> tuple[DrawnEdge, ...]:
    """Edges along the parts of a curve: arcs numbered anew after a corner, straight parts lines.

    What is straight throughout may stand for a chord, as a line may, however it was exported.
    """
    edges: list[DrawnEdge] = []
    before: Segment | None = None
    for part in parts:
        if before is not None:
            turn = angle_between(before.end_tangent, part[0].start_tangent)
            curve += turn > CORNER_RAD
        before = part[-1]
        if all(isinstance(segment, Straight) for segment in part):
            edges += [DrawnEdge(segment) for segment in part]
        else:
            edges += [DrawnEdge(segment, DrawnAs.SPLINE, curve) for segment in part]
    return tuple(edges)


def _check_place(*values_m: float) -> None:
    """Refuse what is no number, and places farther off than the earth is large."""
    if not all(isfinite(value) for value in values_m):
        raise RouteError("a coordinate is not a finite number")
    largest = max(abs(value) for value in values_m)
    if largest > FARTHEST_M:
        raise RouteError(f"a coordinate of {largest:.4g} m is no place for a raceway")


def _arcs(piece: EllipsePiece, factor: float) -> list[Arc]:
    """Arcs of a circular piece, each at most half a turn."""
    sign = 1.0 if piece.sweep_rad > 0.0 else -1.0
    axis = unit(cross(piece.u, piece.v))
    axis = (sign * axis[0], sign * axis[1], sign * axis[2])
    angle = abs(piece.sweep_rad)
    if angle * norm(piece.u) * factor < SHORTEST_M:
        return []
    parts = 1 if angle <= pi * (1.0 + 1e-12) else 2
    center = times(piece.center, factor)
    arcs = []
    for i in range(parts):
        t = piece.start_rad + sign * angle * i / parts
        arcs.append(Arc(times(piece.point(t), factor), center, axis, angle / parts))
    return arcs


def piece_points(piece: Piece, count: int) -> list[Vector]:
    """Return points along a piece in drawing units: both ends of a line, `count` + 1 on a curve."""
    if isinstance(piece, LinePiece):
        return [piece.start, piece.end]
    if isinstance(piece, EllipsePiece):
        step = piece.sweep_rad / count
        return [piece.point(piece.start_rad + step * i) for i in range(count + 1)]
    return [(float(x), float(y), float(z)) for x, y, z in spline_points(piece, count)]
