"""Drawn lines read exactly: arcs drawn in chords, and corners that might be some."""

from __future__ import annotations

__all__: list[str] = []
