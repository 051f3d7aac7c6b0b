"""Groups that stand twice in an entity of a file and once at most in a sound one.

The drawing library keeps the last value without a word.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from analyzer.importers.drawings.section_tags import POINT, SECOND

__all__ = ["repeated_groups"]

_IN_ANY = frozenset({b"5", b"8"})
_ONCE: dict[bytes, frozenset[bytes]] = {
    b"LINE": _IN_ANY | {*POINT, *SECOND},
    b"CIRCLE": _IN_ANY | {*POINT, b"40"},
    b"ARC": _IN_ANY | {*POINT, b"40", b"50", b"51"},
    b"ELLIPSE": _IN_ANY | {*POINT, *SECOND, b"40", b"41", b"42"},
    b"VERTEX": _IN_ANY | {*POINT, b"42"},
    b"INSERT": _IN_ANY | {b"2", *POINT, b"41", b"42", b"43", b"50"},
    b"LWPOLYLINE": _IN_ANY | {b"38", b"90"},
    b"SPLINE": _IN_ANY | {b"71", b"72", b"73", b"74"},
    # the layer of a block may stand in both of its parts
    b"BLOCK": frozenset({b"2", b"5", *POINT}),
    b"ENDBLK": frozenset({b"5"}),
}
"""Groups that stand once at most in an entity, `_IN_ANY` in other types (DXF reference)."""


def repeated_groups(kind: bytes, codes: Sequence[bytes]) -> tuple[str, ...]:
    """Return the group codes that an entity holds more often than it may.

    Parameters
    ----------
    kind : bytes
        Type of the entity.
    codes : sequence of bytes
        Its group codes, in the order of the file.
    """
    once = _ONCE.get(kind, _IN_ANY)
    if len(once.intersection(codes)) == sum(code in once for code in codes):
        return ()
    counts = Counter(codes)
    return tuple(code.decode() for code in counts if code in once and counts[code] > 1)
