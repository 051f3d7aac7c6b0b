"""A file of points, from text to runs; `reader` is the door."""

from __future__ import annotations

__all__: list[str] = []
