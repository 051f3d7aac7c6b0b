"""A drawing, from its entities to runs, and its listing; `reader` is the door."""

from __future__ import annotations

__all__: list[str] = []
