"""Groups that an entity of a file lacks beside others of it: points it counts, and some of its z.

The drawing library takes no notice of how many points an entity says it has, and reads a z that is
missing as zero. A z left out at every point of an entity is sound: the entity is drawn in plan.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.importers.drawings.section_tags import SectionRecord

__all__ = ["lost_coordinates", "lost_points", "lost_vertex_coordinates"]

_DRAWN_IN_SPACE = frozenset({b"LINE", b"ELLIPSE", b"SPLINE", b"HELIX"})
_DRAWN_ON_A_PLANE = frozenset({b"ARC", b"CIRCLE", b"INSERT", b"LWPOLYLINE", b"POLYLINE"})
"""Entities with a z at each of their points, and with one z at most (DXF reference, ENTITIES)."""

_TWO_POINTS = (b"10", b"20", b"11", b"21")
_NORMAL = (b"210", b"220", b"230")
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


def lost_coordinates(kind: bytes, codes: Sequence[bytes]) -> str:
    """Say which z an entity lacks beside others of it, or which number its normal lacks.

    Parameters
    ----------
    kind : bytes
        Type of the entity.
    codes : sequence of bytes
        Its group codes, in the order of the file.
    """
    if kind not in _DRAWN_IN_SPACE and kind not in _DRAWN_ON_A_PLANE:
        return ""
    lacking = [code.decode() for code in _NORMAL if code not in codes]
    if 0 < len(lacking) < len(_NORMAL):
        return f"no group {' and '.join(lacking)} in its normal"
    if kind in _DRAWN_ON_A_PLANE:
        return ""
    if kind in (b"LINE", b"ELLIPSE"):
        first, second = b"30" in codes, b"31" in codes
        # without a whole point it is refused, which is told
        if first == second or any(code not in codes for code in _TWO_POINTS):
            return ""
        return "no group 31 beside 30" if first else "no group 30 beside 31"
    x, z = (b"10", b"30") if b"10" in codes else (b"11", b"31")
    points, heights = codes.count(x), codes.count(z)
    return f"group {z.decode()} at {heights} of {points} points" if 0 < heights < points else ""


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
    lacking = [vertex for vertex in placed if b"30" not in vertex[1]]
    flags = _number(b"70", codes, values) or 0
    if flags & _MESH or len(lacking) == len(placed):
        return ""
    if not flags & _IN_SPACE:
        lacks = b"10" in codes and b"30" not in codes
        return "no group 30 beside 10, but in its vertices" if lacks else ""
    if not lacking:
        return ""
    _, first_codes, first_values = lacking[0]
    handle = _value(b"5", first_codes, first_values)
    named = "without a handle" if handle is None else handle.decode("ascii", "replace")
    return f"no group 30 in {len(lacking)} of {len(placed)} vertices, first in VERTEX {named}"


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
