"""Groups that an entity of a file lacks beside others of it: points it counts, and some of its z.

The drawing library takes no notice of how many points an entity says it has, and reads a z that is
missing, or does not stand right behind its x and y, as zero. A z left out at every point of an
entity is sound: the entity is drawn in plan.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.importers.drawings.section_tags import COMMENT, POINT, SECOND, SectionRecord

__all__ = ["lost_coordinates", "lost_points", "lost_vertex_coordinates"]

_POINTS: dict[bytes, tuple[tuple[bytes, bytes, bytes], ...]] = {
    b"LINE": (POINT, SECOND),
    b"ELLIPSE": (POINT, SECOND),
    b"ARC": (POINT,),
    b"CIRCLE": (POINT,),
    b"INSERT": (POINT,),
    b"SPLINE": (),
    b"HELIX": (),
    b"LWPOLYLINE": (),
    b"POLYLINE": (),
}
"""Points that stand once in an entity, x, y and z (DXF reference, ENTITIES)."""

_NORMAL = [b"210", b"220", b"230"]
_IN_SPACE, _MESH = 8, 16 | 64  # flags of a POLYLINE


def lost_points(kind: bytes, codes: Sequence[bytes], values: Sequence[bytes]) -> str:
    """Say how many points an entity states and how many it holds; empty where these agree.

    Parameters
    ----------
    kind : bytes
        Type of the entity.
    codes, values : sequence of bytes
        Its groups, in the order of the file.
    """
    if kind == b"LWPOLYLINE":
        count, word, x, y = b"90", "vertices", b"10", b"20"
    elif kind == b"SPLINE" and b"10" not in codes:
        # lost control points leave knots that do not fit: such a spline is not read
        count, word, x, y = b"74", "fit points", b"11", b"21"
    else:
        return ""
    held = codes.count(x)
    stated = _number(count, codes, values)
    if stated is not None and stated != held:
        return f"group {count.decode()} states {stated} {word}, {_times(x, held)}"
    if codes.count(y) != held:
        return f"{_times(x, held)}, {_times(y, codes.count(y))}"
    return ""


def lost_coordinates(kind: bytes, codes: Sequence[bytes], is_recovered: bool) -> str:
    """Say which z an entity lacks beside others of it, or which number its normal lacks.

    Parameters
    ----------
    kind : bytes
        Type of the entity.
    codes : sequence of bytes
        Its group codes, in the order of the file.
    is_recovered : bool
        Whether the file was read through recovery, which puts the coordinates of a LINE in order.
    """
    points = _POINTS.get(kind)
    if points is None:
        return ""
    codes = _without_comments(codes)
    normal = [code for code in _NORMAL if code in codes]
    if normal:
        at = codes.index(normal[0])
        if codes[at : at + 3] != _NORMAL:
            return "groups 210, 220 and 230 of its normal do not stand together"
    if kind in (b"SPLINE", b"HELIX"):
        x, y, z = POINT if b"10" in codes else SECOND
        count = codes.count(x)
        heights = sum(a == x and b == z for a, b in zip(codes, codes[2:], strict=False))
        if heights == count or z not in codes:
            return ""
        return f"group {z.decode()} right behind {y.decode()} at {heights} of {count} points"
    if any(x not in codes or y not in codes for x, y, _ in points):
        return ""  # it is refused, which is told
    is_ordered = is_recovered and kind == b"LINE"
    lacking = [
        point
        for point in points
        if not (point[2] in codes if is_ordered else _has_height(codes, point))
    ]
    if not lacking or all(z not in codes for _, _, z in points):
        return ""
    _, y, z = lacking[0]
    return f"no group {z.decode()} right behind {y.decode()}"


def lost_vertex_coordinates(polyline: SectionRecord, vertices: Sequence[SectionRecord]) -> str:
    """Say which z a POLYLINE lacks beside others of its vertices.

    A flat one is read at its own z, its elevation; a mesh not at all, nor a vertex without a place.

    Parameters
    ----------
    polyline : SectionRecord
        The POLYLINE itself.
    vertices : sequence of SectionRecord
        What stands between it and its end mark.
    """
    _, codes, values = polyline
    placed = [vertex for vertex in vertices if b"10" in vertex[1]]
    lacking = [vertex for vertex in placed if not _has_height(_without_comments(vertex[1]), POINT)]
    flags = _number(b"70", codes, values) or 0
    if flags & _MESH or not any(b"30" in vertex[1] for vertex in placed):
        return ""
    if not flags & _IN_SPACE:
        lacks = b"10" in codes and not _has_height(_without_comments(codes), POINT)
        return "no group 30 right behind 20, but in its vertices" if lacks else ""
    if not lacking:
        return ""
    _, first_codes, first_values = lacking[0]
    handle = _value(b"5", first_codes, first_values)
    named = "without a handle" if handle is None else handle.decode("ascii", "replace")
    which = f"{len(lacking)} of {len(placed)} vertices, first in VERTEX {named}"
    return f"no group 30 right behind 20 in {which}"


def _has_height(codes: Sequence[bytes], point: tuple[bytes, bytes, bytes]) -> bool:
    """Whether z stands where the drawing library looks for it."""
    x, _, z = point
    at = codes.index(x) + 2
    return at < len(codes) and codes[at] == z


def _without_comments(codes: Sequence[bytes]) -> Sequence[bytes]:
    return [code for code in codes if code != COMMENT] if COMMENT in codes else codes


def _times(code: bytes, count: int) -> str:
    return f"group {code.decode()} stands {count} {'time' if count == 1 else 'times'}"


def _value(code: bytes, codes: Sequence[bytes], values: Sequence[bytes]) -> bytes | None:
    return values[codes.index(code)] if code in codes else None


def _number(code: bytes, codes: Sequence[bytes], values: Sequence[bytes]) -> int | None:
    """Return the value of a group; None without it, or where it is no whole number."""
    try:
        return int(_value(code, codes, values) or b"")
    except ValueError:
        return None
