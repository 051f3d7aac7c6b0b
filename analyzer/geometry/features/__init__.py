"""What bends and vertical parts are called, with a bender's figures; `finder` is the door."""

from __future__ import annotations

__all__: list[str] = []
