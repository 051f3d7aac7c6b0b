"""DXF entities as exact pieces in world coordinates, still in drawing units.

Placements map pieces exactly; arcs are never flattened.
Turn of a bulge: 4 atan(bulge), also above 1 (DXF reference, LWPOLYLINE).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan, dist, hypot, pi, radians
from typing import Any

from analyzer.geometry.segments import Vector, cross, norm, unit
from analyzer.importers.drawings.pieces import EllipsePiece, LinePiece, Piece, SplinePiece
from analyzer.importers.drawings.placements import WORLD, Placement, object_placement, vector_of
from analyzer.importers.drawings.smoothed_polylines import frame_spline
from analyzer.importers.drawings.whole_entities import require_whole

__all__ = ["CURVE_ENTITIES", "DrawnEntity", "read_entity"]

CURVE_ENTITIES = frozenset(
    {"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE", "HELIX"}
)
"""Entity types a route can be drawn with."""

_OPEN_SHARE = 1e-3  # of its size: ends of a closed spline are nearer, drawn coarsely too
_FLAT_BULGE = 1e-7  # turns 4e-7 rad: its center is too far off to be of use


@dataclass(frozen=True, slots=True)
class DrawnEntity:
    """One entity in world coordinates.

    Attributes
    ----------
    pieces : tuple of Piece
        In drawing order, joined end to end.
    kind : str
        Entity type.
    layer, handle : str
        Where it stands; a part of a block carries the handles of its references.
    is_closed : bool
        Drawn closed.
    remarks : tuple of (code, text)
        What a person should know about how it was read.
    layout : str
        Paper space layout it stands in; empty in model space.
    """

    pieces: tuple[Piece, ...]
    kind: str
    layer: str
    handle: str
    is_closed: bool = False
    remarks: tuple[tuple[str, str], ...] = ()
    layout: str = ""


def read_entity(entity: Any, placement: Placement, layer: str, handle: str) -> DrawnEntity | None:
    """Return an entity as pieces in world coordinates, None where it draws no curve.

    Parameters
    ----------
    entity : ezdxf entity
        Of a type in `CURVE_ENTITIES`.
    placement : Placement
        Of the block it stands in.
    layer, handle : str
        Layer it counts for, and what a message should point at.

    Raises
    ------
    ValueError
        If the file lacks something the entity cannot be read without.
    """
    kind = entity.dxftype()
    require_whole(entity)
    remarks: tuple[tuple[str, str], ...] = ()
    closed = False
    pieces: list[Piece]
    if kind == "LINE":
        pieces = [LinePiece(vector_of(entity.dxf.start), vector_of(entity.dxf.end))]
    elif kind in ("ARC", "CIRCLE"):
        pieces, closed = _circle(entity, kind)
    elif kind == "ELLIPSE":
        pieces, closed = _ellipse(entity)
    elif kind in ("SPLINE", "HELIX"):
        pieces, closed, remarks = _spline(entity)
    elif kind == "LWPOLYLINE":
        points = [(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")]
        closed = bool(entity.closed)
        ocs = object_placement(vector_of(entity.dxf.extrusion))
        pieces = _bulged(points, float(entity.dxf.elevation), closed, ocs)
    elif kind == "POLYLINE":
        old = _polyline(entity)
        if old is None:
            return None
        pieces, closed, remarks = old
    else:
        return None
    owner = str(entity.dxf.get("owner", ""))
    placed = tuple(_placed(piece, placement, owner) for piece in pieces)
    return DrawnEntity(placed, kind, layer, handle, closed, remarks)


def _placed(piece: Piece, placement: Placement, frame: str) -> Piece:
    if placement is WORLD:
        return piece
    if isinstance(piece, LinePiece):
        written = piece.written or (piece.start, piece.end)
        scale = piece.scale * placement.stretch
        start, end = placement.point(piece.start), placement.point(piece.end)
        return LinePiece(start, end, written, scale, f"{frame} {piece.frame}")
    if isinstance(piece, EllipsePiece):
        return EllipsePiece(
            placement.point(piece.center),
            placement.direction(piece.u),
            placement.direction(piece.v),
            piece.start_rad,
            piece.sweep_rad,
        )
    control = tuple(placement.point(point) for point in piece.control)
    return SplinePiece(piece.degree, piece.knots, control, piece.weights)


def _circle(entity: Any, kind: str) -> tuple[list[Piece], bool]:
    radius = abs(float(entity.dxf.radius))
    start_deg, sweep_deg = 0.0, 360.0
    if kind == "ARC":
        start_deg = float(entity.dxf.start_angle)
        sweep_deg = (float(entity.dxf.end_angle) - start_deg) % 360.0 or 360.0
    if radius == 0.0:
        point = object_placement(vector_of(entity.dxf.extrusion)).point(
            vector_of(entity.dxf.center)
        )
        return [LinePiece(point, point)], False
    piece = EllipsePiece(
        vector_of(entity.dxf.center),
        (radius, 0.0, 0.0),
        (0.0, radius, 0.0),
        radians(start_deg),
        radians(sweep_deg),
    )
    ocs = object_placement(vector_of(entity.dxf.extrusion))
    return [_placed(piece, ocs, "")], sweep_deg == 360.0


def _ellipse(entity: Any) -> tuple[list[Piece], bool]:
    """Center and major axis of an ELLIPSE stand in world coordinates."""
    center, major = vector_of(entity.dxf.center), vector_of(entity.dxf.major_axis)
    ratio = float(entity.dxf.ratio)
    if norm(major) == 0.0 or ratio == 0.0:
        return [LinePiece(center, center)], False
    side = cross(unit(vector_of(entity.dxf.extrusion)), major)
    minor = (side[0] * ratio, side[1] * ratio, side[2] * ratio)
    start = float(entity.dxf.start_param)
    sweep = (float(entity.dxf.end_param) - start) % (2.0 * pi)
    closed = sweep < 1e-12 or sweep > 2.0 * pi - 1e-12
    return [EllipsePiece(center, major, minor, start, 2.0 * pi if closed else sweep)], closed


def _spline(entity: Any) -> tuple[list[Piece], bool, tuple[tuple[str, str], ...]]:
    tool = entity.construction_tool()
    knots = tuple(float(value) for value in tool.knots())
    control = tuple(vector_of(point) for point in tool.control_points)
    weights = tuple(float(value) for value in tool.weights())
    if all(value == 1.0 for value in weights):
        weights = ()
    if len(knots) != len(control) + tool.order:
        raise ValueError(f"SPLINE {entity.dxf.handle}: knots and control points do not fit")
    remarks: tuple[tuple[str, str], ...] = ()
    closed = bool(entity.closed)
    if closed and entity.control_point_count():
        ends = [vector_of(tool.point(knots[at])) for at in (tool.order - 1, len(control))]
        apart, size = dist(*ends), max(dist(control[0], point) for point in control)
        if apart > _OPEN_SHARE * size:
            closed = False
            text = (
                f"a SPLINE with the flag of a closed one whose ends are {apart:.4g} drawing units "
                "apart: read as open, as its control points draw it. If it is a loop, draw it anew"
            )
            remarks = (("closed-flag-open", text),)
    if tool.order == 2:
        lines: list[Piece] = [LinePiece(a, b) for a, b in pairwise(control)]
        return lines, closed, remarks
    return [SplinePiece(tool.order - 1, knots, control, weights)], closed, remarks


def _bulged(
    points: Sequence[tuple[float, float, float]], elevation: float, closed: bool, ocs: Placement
) -> list[Piece]:
    """Pieces of a flat polyline from (x, y, bulge) of its vertices."""
    pairs: Iterable[tuple[tuple[float, float, float], tuple[float, float, float]]]
    pairs = zip(points, [*points[1:], *points[:1]] if closed else points[1:], strict=False)
    pieces: list[Piece] = []
    for (x0, y0, bulge), (x1, y1, _) in pairs:
        dx, dy = x1 - x0, y1 - y0
        if not _is_bulge(bulge) or hypot(dx, dy) == 0.0:
            piece: Piece = LinePiece((x0, y0, elevation), (x1, y1, elevation))
        else:
            # center = middle of the chord + left normal x cot(turn / 2) / 2
            k = (1.0 - bulge) * (1.0 + bulge) / (4.0 * bulge)
            arm = (-dx / 2.0 + k * dy, -dy / 2.0 - k * dx, 0.0)
            center = (x0 - arm[0], y0 - arm[1], elevation)
            across = (-arm[1], arm[0], 0.0)
            piece = EllipsePiece(center, arm, across, 0.0, 4.0 * atan(bulge))
        pieces.append(_placed(piece, ocs, f"normal {ocs.z_axis}"))
    return pieces


def _polyline(
    entity: Any,
) -> tuple[list[Piece], bool, tuple[tuple[str, str], ...]] | None:
    """Old-style POLYLINE: a mesh draws no route, spline control points are not on the curve."""
    flags = int(entity.dxf.flags)
    if flags & (16 | 64):
        return None
    vertices = [v for v in entity.vertices if not int(v.dxf.flags) & 16]
    frame = [v for v in entity.vertices if int(v.dxf.flags) & 16]
    for vertex in vertices:
        require_whole(vertex)
    if frame and not vertices:
        raise ValueError(
            f"all its {len(frame)} vertices are control points of a spline, and the points of the "
            "curve are missing: draw it anew as a SPLINE"
        )
    closed = bool(flags & 1)
    is_flat = not flags & 8
    elevation = float(entity.dxf.elevation[2]) if entity.dxf.hasattr("elevation") else 0.0
    places = [vector_of(v.dxf.location) for v in vertices]
    bulges = [float(v.dxf.bulge) for v in vertices] if is_flat else []
    remarks: list[tuple[str, str]] = []
    if is_flat and any(place[2] not in (0.0, elevation) for place in places):
        remarks.append(_flat_heights(places, elevation))
    ocs = object_placement(vector_of(entity.dxf.extrusion)) if is_flat else WORLD
    if is_flat:
        places = [(x, y, elevation) for x, y, _ in places]
    if flags & 4 and not closed:
        whole = [v for v in frame if v.dxf.hasattr("location")]
        control = [vector_of(v.dxf.location) for v in whole] if len(whole) == len(frame) else []
        if is_flat:
            control = [(x, y, elevation) for x, y, _ in control]
        kind = int(entity.dxf.get("smooth_type", 0))
        spline, remark = frame_spline(control, places, kind, any(map(_is_bulge, bulges)))
        remarks.append(remark)
        if spline is not None:
            return [_placed(spline, ocs, "")], closed, tuple(remarks)
    if frame:
        text = (
            f"{len(frame)} control points of a spline frame left out; the curve's own points taken"
        )
        remarks.append(("spline-frame-skipped", text))
    if is_flat:
        points = [(x, y, bulge) for (x, y, _), bulge in zip(places, bulges, strict=True)]
        return _bulged(points, elevation, closed, ocs), closed, tuple(remarks)
    ends = [*places[1:], *places[:1]] if closed else places[1:]
    lines: list[Piece] = [LinePiece(a, b) for a, b in zip(places, ends, strict=False)]
    return lines, closed, tuple(remarks)


def _is_bulge(bulge: float) -> bool:
    return abs(bulge) >= _FLAT_BULGE


def _flat_heights(places: Sequence[Vector], elevation: float) -> tuple[str, str]:
    heights = [place[2] for place in places]
    low, high = min(heights), max(heights)
    span = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return (
        "flat-polyline-heights",
        f"a flat POLYLINE at elevation {elevation:g} whose vertices carry Z {span}: "
        "taken flat at its elevation, as the file format means it; "
        "if the heights are real, redraw it as a 3D polyline",
    )
