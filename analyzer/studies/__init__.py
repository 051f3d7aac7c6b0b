"""Studies: what changes when boxes are added, moved or passed through."""

from __future__ import annotations

__all__: list[str] = []
