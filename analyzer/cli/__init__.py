"""The command `raceway`: parse, call one public function, write."""

from __future__ import annotations

__all__: list[str] = []
