"""Fittings of a file of points: rows with a kind, and labeled ends."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import RouteError
from analyzer.importers.drawn_file import DrawnFitting
from analyzer.importers.points.file_points import Point
from analyzer.job.settings import FittingKind

__all__ = ["fittings_of"]


def fittings_of(
    path: int, kept: Sequence[Point], labels: set[str], counts: dict[FittingKind, int], file: str
) -> list[DrawnFitting]:
    """Return the fittings of a run: rows with a kind, and labeled ends; without a label numbered.

    Parameters
    ----------
    path : int
        Index of the run.
    kept : sequence of Point
        Its points, without those that repeat the one before.
    labels : set of str
        All labels of the file: numbered names keep clear of them.
    counts : dict of FittingKind to int
        How many of each kind were numbered so far; counted on.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If an end stands inside the run.
    """
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
                f"{file}, row {point.row}: the fitting is called an end but stands inside its run: "
                "call it what it is, such as pull box or junction box, leave the cell empty, or, "
                "where another run begins below, tell the two apart by a column run"
            )
        if kind is FittingKind.END and not point.label:
            continue
        name = point.label or _numbered(kind, labels, counts)
        numbered = "" if point.label else kind.value.capitalize()
        found.append(
            DrawnFitting(
                *(name, kind, point.position_m, f"row {point.row}", path, vertex),
                numbered=numbered,
            )
        )
    return found


def _numbered(kind: FittingKind, labels: set[str], counts: dict[FittingKind, int]) -> str:
    while True:
        counts[kind] = counts.get(kind, 0) + 1
        name = f"{kind.value.capitalize()} {counts[kind]}"
        if name not in labels:
            return name
