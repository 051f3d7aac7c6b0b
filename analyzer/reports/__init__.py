"""Writers: what is said about an analysis, as text, page, tables and analysis file."""

from __future__ import annotations

__all__: list[str] = []
