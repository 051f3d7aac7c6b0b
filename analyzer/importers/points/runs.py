"""Runs of a file of points: rows told apart by run, as paths with fittings on their vertices."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from analyzer.errors import RouteError
from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.segments import Straight, norm
from analyzer.importers.drawn_file import DrawnFile, DrawnFitting, PathSource
from analyzer.importers.places import FilePlaces, Mark, out_and_back
from analyzer.importers.points.columns import Layout
from analyzer.importers.points.file_points import Point
from analyzer.importers.points.fittings import fittings_of
from analyzer.importers.points.row_words import FAULTS_SHOWN, note, row_numbers
from analyzer.job.settings import FittingKind

__all__ = ["SAME_POINT_M", "drawn_runs"]

SAME_POINT_M = 1e-6
"""Neighboring points nearer than this are one point. [m]"""


def drawn_runs(
    points: Sequence[Point],
    layout: Layout,
    findings: Sequence[Finding],
    unit_names: tuple[str, str],
    file: str,
) -> DrawnFile:
    """Return the runs that points make, with their fittings and all findings.

    Parameters
    ----------
    points : sequence of Point
        In the order of the rows.
    layout : Layout
        Which columns there are.
    findings : sequence of Finding
        What was found while rows were read.
    unit_names : (str, str)
        Unit of the coordinates, and who named it.
    file : str
        Name of the file, for messages.

    Raises
    ------
    RouteError
        If a run has no length or no ends, or a row no run.
    """
    paths: list[DrawnPath] = []
    marks: list[tuple[Mark, ...]] = []
    fittings: list[DrawnFitting] = []
    found = list(findings)
    runs = _split_runs(points, layout, found, file)
    labels = {point.label for point in points if point.label}
    counts: dict[FittingKind, int] = {}
    for index, (name, members) in enumerate(runs):
        kept, repeated = _without_repeats(members)
        _refuse_lone_point(name, members, layout, file)
        _check_run(name, kept, members, FilePlaces(file, unit_names[0], _marks(kept)))
        if repeated:
            text = f"{row_numbers(repeated)}: the same point as in the row before, left out"
            found.append(note("repeated-point", text, f"{file}, {_span(members)}"))
        paths.append(_path(name, kept, members))
        marks.append(_marks(kept))
        fittings += fittings_of(index, kept, labels, counts, file)
        unused = [p.label for p in kept[1:-1] if p.label and p.kind is None]
        if unused:
            shown = ", ".join(unused[:FAULTS_SHOWN]) + (
                ", ..." if len(unused) > FAULTS_SHOWN else ""
            )
            text = f"labels without a kind of fitting are no fittings: {shown}"
            if "fitting" not in layout.extra:
                text += ". A column called fitting names their kind"
            found.append(note("label-without-fitting", text, f"{file}, {_span(members)}"))
    alike = Counter(one.numbered for one in fittings)
    fittings = [one if alike[one.numbered] > 1 else replace(one, numbered="") for one in fittings]
    found += _meeting_runs(runs, file)
    corners = [path.vertices_m for path in paths]
    low = tuple(float(min(v[:, k].min() for v in corners)) for k in range(3))
    high = tuple(float(max(v[:, k].max() for v in corners)) for k in range(3))
    return DrawnFile(
        reader="csv",
        length_unit=unit_names[0],
        length_unit_from=unit_names[1],
        extents_m=((low[0], low[1], low[2]), (high[0], high[1], high[2])),
        paths=tuple(paths),
        fittings=tuple(fittings),
        findings=tuple(found),
        ordered=(True,) * len(paths),
        marks=tuple(marks),
        sources=tuple(
            PathSource(frozenset(f"row {point.row}" for point in members)) for _, members in runs
        ),
    )


def _meeting_runs(runs: Sequence[tuple[str, list[Point]]], file: str) -> list[Finding]:
    """Return a caution where a run begins at the end of another, and no fitting stands there."""
    found = []
    for (name, one), (other_name, other) in pairwise(runs):
        a, b = one[-1], other[0]
        if _apart_m(a, b) > SAME_POINT_M or a.kind is not None or b.kind is not None:
            continue
        text = (
            f"run {other_name!r} begins where run {name!r} ends, and no fitting stands there: what "
            "they turn there counts in neither. If they are one run, give all rows one name; else "
            "name the box between them in a column called fitting"
        )
        concern = Concern(entities=(f"row {a.row}", f"row {b.row}"))
        found.append(Finding("runs-meet", Severity.CAUTION, text, f"{file}, row {b.row}", concern))
    return found


def _apart_m(one: Point, other: Point) -> float:
    a, b = one.position_m, other.position_m
    return norm((a[0] - b[0], a[1] - b[1], a[2] - b[2]))


def _split_runs(
    points: Sequence[Point], layout: Layout, findings: list[Finding], file: str
) -> list[tuple[str, list[Point]]]:
    """Points by run, in the order in which the runs first appear."""
    runs: dict[str, list[Point]] = {}
    apart: dict[str, int] = {}
    before = None
    for point in points:
        if point.run in runs and point.run != before:
            apart.setdefault(point.run, point.row)
        runs.setdefault(point.run, []).append(point)
        before = point.run
    if "" in runs and len(runs) > 1:
        rows = [point.row for point in runs[""]]
        raise RouteError(
            f"{file}, {row_numbers(rows)}: no name in the column {layout.extra['run'].title}, "
            "while other rows have one: fill it in for every row, or call the column otherwise if "
            "it names no runs"
        )
    _refuse_like_names(runs, layout, file)
    for name, row in apart.items():
        text = f"run {name!r} goes on at row {row} after rows of another run: check the order"
        place, concern = f"{file}, row {row}", Concern(entities=(f"row {row}",))
        findings.append(Finding("run-interleaved", Severity.CAUTION, text, place, concern))
    return list(runs.items())


def _refuse_like_names(runs: dict[str, list[Point]], layout: Layout, file: str) -> None:
    """Stop at two names that differ only in case, spaces or leading zeros: rather one run."""
    like: dict[str, str] = {}
    for name, points in runs.items():
        key = re.sub(r"(?<!\d)0+(?=\d)", "", "".join(name.split()).casefold())
        first = like.setdefault(key, name)
        if first != name:
            raise RouteError(
                f"{file}, row {points[0].row}: {name!r} in the column "
                f"{layout.extra['run'].title} differs from {first!r} in row {runs[first][0].row} "
                "only in capitals, spaces or leading zeros: write both alike if they are one run, "
                "else give the two runs names that differ by more"
            )


def _without_repeats(points: Sequence[Point]) -> tuple[list[Point], list[int]]:
    """Points without those that repeat the one before; what a repeated row says is kept."""
    kept = [points[0]]
    repeated = []
    for point in points[1:]:
        last = kept[-1]
        if _apart_m(point, last) > SAME_POINT_M:
            kept.append(point)
            continue
        repeated.append(point.row)
        kept[-1] = replace(
            last,
            radius_m=point.radius_m if last.radius_m is None else last.radius_m,
            kind=last.kind or point.kind,
            label=last.label or point.label,
        )
    return kept, repeated


def _marks(points: Sequence[Point]) -> tuple[Mark, ...]:
    return tuple((point.position_m, f"row {point.row}") for point in points)


def _refuse_lone_point(name: str, rows: Sequence[Point], layout: Layout, file: str) -> None:
    if len(rows) > 1:
        return
    what = f"run {name!r}" if name else "the file"
    by = f", as the column {layout.extra['run'].title} tells runs apart" if name else ""
    raise RouteError(
        f"{file}, row {rows[0].row}: {what} holds one point only{by}; a run needs two or more"
    )


def _check_run(name: str, kept: Sequence[Point], rows: Sequence[Point], places: FilePlaces) -> None:
    file = places.file
    what = f"run {name!r}" if name else "the file"
    if len(kept) == 1:
        raise RouteError(
            f"{file}, {_span(rows)}: all {len(rows)} points of {what} are equal: it has no length"
        )
    first, last = kept[0].position_m, kept[-1].position_m
    if norm((last[0] - first[0], last[1] - first[1], last[2] - first[2])) <= SAME_POINT_M:
        folded = out_and_back(_path(name, kept, rows).edges)
        if folded is not None and folded.place_m is not None:
            route = what if name else "the route"
            raise RouteError(f"{file}: {route} {folded.said_at(places.place(folded.place_m))}")
        raise RouteError(
            f"{file}, {_span(rows)}: {what} ends where it starts. A closed loop has no ends to "
            "feed and pull at: leave out the last point or split the run"
        )


def _span(points: Sequence[Point]) -> str:
    return f"rows {points[0].row} to {points[-1].row}"


def _path(name: str, kept: Sequence[Point], rows: Sequence[Point]) -> DrawnPath:
    edges = tuple(DrawnEdge(Straight(a.position_m, b.position_m)) for a, b in pairwise(kept))
    radii = tuple(point.radius_m for point in kept)
    stated = radii if any(radius is not None for radius in radii) else ()
    return DrawnPath(edges, stated, name, _span(rows), tuple(f"row {point.row}" for point in kept))
