"""Fittings of a file of points: rows with a kind, and labeled ends."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import RouteError
from analyzer.importers.drawn_file import DrawnFitting
from analyzer.importers.file_points import Point
from analyzer.job.settings import FittingKind

__all__ = ["fittings_of"]


def fittings_of(
    path: int, kept: Sequence[Point], labels: set[str], counts: dict[FittingKind, int]
) -> list[DrawnFitting]:
    """Fittings of a run: rows with a kind, and labeled ends."""
    found = []
    for vertex, point in enumerate(kept):
        kind = point.kind
        is_end = vertex in (0, len(kept) - 1)
        if kind is None and point.label and is_end:
            kind = FittingKind.END
        if kind is None:
            continue
        if kind is FittingKind.END and not is_end:
            raise RouteError(
                f"row {point.row}: the fitting is called an end but stands inside its run"
            )
        if kind is FittingKind.END and not point.label:
            continue
        name = point.label or _numbered(kind, labels, counts)
        found.append(DrawnFitting(name, kind, point.position_m, f"row {point.row}", path, vertex))
    return found


def _numbered(kind: FittingKind, labels: set[str], counts: dict[FittingKind, int]) -> str:
    while True:
        counts[kind] = counts.get(kind, 0) + 1
        name = f"{kind.value.capitalize()} {counts[kind]}"
        if name not in labels:
            return name
