"""Survey points read as straights and arcs with deviations; `reader` is the door."""

from __future__ import annotations

__all__: list[str] = []
