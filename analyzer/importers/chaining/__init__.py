"""Loose curves joined end to end; `chain_curves` is the door."""

from __future__ import annotations

__all__: list[str] = []
