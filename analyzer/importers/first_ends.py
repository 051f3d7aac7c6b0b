"""Which end of a run is its first: forward, reverse and every station follow it.

The job names it, else the order of a file of points, else the one end with a panel or equipment,
else the smaller coordinates; what was chosen is a note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analyzer.catalog.nearest import nearest_name
from analyzer.errors import ElsewhereError, JobError
from analyzer.findings import Finding, Severity
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.segments import Vector, norm
from analyzer.geometry.vectors import minus
from analyzer.importers.drawn_file import DrawnFile
from analyzer.importers.points.runs import SAME_POINT_M
from analyzer.job.settings import FittingKind, Job
from analyzer.job.words import folded_name, sentence_list
from analyzer.route.numbered_fittings import number_caution
from analyzer.route.paths import Extents, extents_distance
from analyzer.units import UnitSystem, show_length

__all__ = ["with_first_ends"]

_SOURCES = (FittingKind.PANEL, FittingKind.EQUIPMENT)


def with_first_ends(drawn: DrawnFile, job: Job, findings: Sequence[list[Finding]]) -> DrawnFile:
    """Turn each path so that its first end comes first, and say how it was chosen.

    Parameters
    ----------
    drawn : DrawnFile
        Paths and fittings of a file.
    job : Job
        Its `start` may name the end.
    findings : sequence of list of Finding
        One list a path, to which the note on its first end is added.

    Raises
    ------
    JobError, ElsewhereError
        If `start` stands at both ends of a run, or at no end of any.
    """
    starts = _ends_called_start(drawn, job)
    numbered = _numbered_start(drawn, job)
    turned: list[int] = []
    for index, drawn_path in enumerate(drawn.paths):
        is_last, reason = _first_end(drawn, job, index, starts)
        if is_last:
            turned.append(index)
        vertices = drawn_path.vertices_m
        point = vertices[-1 if is_last else 0]
        first = (float(point[0]), float(point[1]), float(point[2]))
        text = f"forward starts at {_point(first, job.units)}: {reason}"
        where = f"run {drawn_path.name}"
        findings[index].append(Finding("first-end", Severity.NOTE, text, where))
        if index in starts and numbered:
            what = "start under [drawing] is a fitting"
            findings[index].append(number_caution(what, numbered, where, ", or a point"))
    paths = [
        _reversed(drawn_path) if index in turned else drawn_path
        for index, drawn_path in enumerate(drawn.paths)
    ]
    fittings = [
        replace(fitting, vertex=len(drawn.paths[fitting.path].edges) - fitting.vertex)
        if fitting.path in turned and fitting.path is not None and fitting.vertex is not None
        else fitting
        for fitting in drawn.fittings
    ]
    return replace(drawn, paths=tuple(paths), fittings=tuple(fittings))


def _reversed(drawn_path: DrawnPath) -> DrawnPath:
    edges = tuple(
        replace(edge, segment=edge.segment.reversed()) for edge in reversed(drawn_path.edges)
    )
    radii, names = drawn_path.corner_radius_m[::-1], drawn_path.vertex_names[::-1]
    return replace(drawn_path, edges=edges, corner_radius_m=radii, vertex_names=names)


def _first_end(drawn: DrawnFile, job: Job, index: int, starts: dict[int, int]) -> tuple[bool, str]:
    """Return whether the last point of a path comes first, and why."""
    if index in starts:
        start = job.drawing.start
        named = f'"{start}"' if isinstance(start, str) else "the point"
        return starts[index] == 1, f"{named} named by start under [drawing]"
    if drawn.ordered[index]:
        return False, "the order of the file"
    sources = [_sources_at(drawn, job, index, end) for end in (0, 1)]
    if bool(sources[0]) != bool(sources[1]):
        end = 0 if sources[0] else 1
        return end == 1, f"the end at {sources[end][0]}"
    both = (
        "both ends have a panel or equipment" if sources[0] else "no panel or equipment at an end"
    )
    first, last = _ends(drawn.paths[index])
    reason = f"the end with the smaller x, y, z, since {both}; start under [drawing] settles it"
    for a, b in zip(first, last, strict=True):
        if abs(a - b) > SAME_POINT_M:
            return b < a, reason
    return False, reason


def _ends(drawn_path: DrawnPath) -> tuple[Vector, Vector]:
    return drawn_path.edges[0].segment.start_m, drawn_path.edges[-1].segment.end_m


def _sources_at(drawn: DrawnFile, job: Job, index: int, end: int) -> list[str]:
    """Names of panels and equipment within snap of an end."""
    point = _ends(drawn.paths[index])[end]
    layout = drawn.sources[index].layout if drawn.sources else ""
    return [
        one.name
        for one in _candidates(drawn, job)
        if one.layout in (None, layout)
        and one.kind in _SOURCES
        and one.away_m(point) <= job.drawing.snap_m
    ]


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A fitting that may stand at an end, with its drawn symbol; in any layout where it is None."""

    name: str
    kind: FittingKind | None
    point_m: Vector
    extents_m: Extents | None = None
    layout: str | None = None

    def away_m(self, place_m: Vector) -> float:
        """Distance of a place from the insertion point or the symbol, whichever is nearer."""
        away = norm(minus(self.point_m, place_m))
        return min(away, extents_distance(place_m, self.extents_m)) if self.extents_m else away


def _candidates(drawn: DrawnFile, job: Job) -> list[_Candidate]:
    """Fittings that may stand at an end: drawn ones with the job's kinds, and those by point."""
    kinds = {folded_name(entry.name): entry.kind for entry in job.fittings if entry.kind}
    found = [
        _Candidate(
            f.name, kinds.get(folded_name(f.name), f.kind), f.position_m, f.extents_m, f.layout
        )
        for f in drawn.fittings
    ]
    placed = [entry for entry in job.fittings if entry.position_m is not None]
    return found + [_Candidate(e.name, e.kind, e.position_m) for e in placed if e.position_m]


def _ends_called_start(drawn: DrawnFile, job: Job) -> dict[int, int]:
    """Return the end (0 or 1) that `start` names, for each path where it names one."""
    start = job.drawing.start
    if start is None:
        return {}
    points = _named(drawn, job, start) if isinstance(start, str) else [_Candidate("", None, start)]
    named: dict[int, int] = {}
    layouts = drawn.layouts
    for index, drawn_path in enumerate(drawn.paths):
        near = [
            (point.away_m(end_point), end)
            for point in points
            if point.layout in (None, layouts[index])
            for end, end_point in enumerate(_ends(drawn_path))
            if point.away_m(end_point) <= job.drawing.snap_m
        ]
        if not near:
            continue
        if isinstance(start, str) and len({end for _, end in near}) == 2 and len(points) > 1:
            raise JobError(
                f'{job.at("drawing", "start")}start = "{start}" under [drawing] stands at both '
                f"ends of run {drawn_path.name}: give a point instead"
            )
        named[index] = min(near)[1]
    if not named:
        raise ElsewhereError(_no_such_start(drawn, job), job.drawing.start)
    return named


def _numbered_start(drawn: DrawnFile, job: Job) -> str | None:
    """Return the fitting that `start` names by its number, if it does."""
    start = job.drawing.start
    if not isinstance(start, str):
        return None
    names = (one.name for one in drawn.fittings if one.numbered)
    return next((name for name in names if folded_name(name) == folded_name(start)), None)


def _named(drawn: DrawnFile, job: Job, name: str) -> list[_Candidate]:
    return [one for one in _candidates(drawn, job) if folded_name(one.name) == folded_name(name)]


def _placed_by_at(drawn: DrawnFile, job: Job) -> str | None:
    """Return the fitting that `start` names where only `at` places it: that needs a start first."""
    start = job.drawing.start
    if not isinstance(start, str) or _named(drawn, job, start):
        return None
    placed = (entry.name for entry in job.fittings if entry.at_m is not None)
    return next((name for name in placed if folded_name(name) == folded_name(start)), None)


def _no_such_start(drawn: DrawnFile, job: Job) -> str:
    start = job.drawing.start
    ends = [
        f"{_point(point, job.units)} of run {drawn_path.name}"
        for drawn_path in drawn.paths
        for point in _ends(drawn_path)
    ]
    names = [
        one.name
        for one in _candidates(drawn, job)
        if any(one.away_m(end) <= job.drawing.snap_m for path in drawn.paths for end in _ends(path))
    ]
    shown = f'"{start}"' if isinstance(start, str) else _point(start or (0.0, 0.0, 0.0), job.units)
    close = nearest_name(start, names) if isinstance(start, str) else None
    at = f'Did you mean "{close}"? ' if close else ""
    at += f"Fittings at ends: {sentence_list(names)}. " if names else ""
    more = f" and {len(ends) - 6} more" if len(ends) > 6 else ""
    fault = "which stands at no end of a run"
    by_at = _placed_by_at(drawn, job)
    if by_at is not None:
        fault = (
            f'but "{by_at}" is placed by at, which is measured from the start and so cannot name '
            "it: give its position, or give start a point"
        )
    return (
        f"{job.at('drawing', 'start')}start under [drawing] is {shown}, {fault}. {at}Ends: "
        f"{'; '.join(ends[:6])}{more}"
    )


def _point(point_m: Vector, units: UnitSystem) -> str:
    return f"({', '.join(show_length(value, units) for value in point_m)})"
