"""Which end of a run is its first: forward, reverse and every station follow it.

The job names it, else the order of a file of points, else the one end with a panel or equipment,
else the smaller coordinates; what was chosen is a note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analyzer.catalog.nearest import nearest_name
from analyzer.errors import ElsewhereError, JobError
from analyzer.findings import Finding, Severity
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.segments import Vector, norm
from analyzer.geometry.vectors import minus
from analyzer.importers.drawn_file import DrawnFile
from analyzer.importers.near_points import within_boxes
from analyzer.importers.points.runs import SAME_POINT_M
from analyzer.job.settings import SOURCE_KINDS, FittingKind, Job
from analyzer.job.words import run_name_key, sentence_list
from analyzer.route.numbered_fittings import number_caution
from analyzer.route.paths import Extents, extents_distance
from analyzer.units import UnitSystem, show_length

__all__ = ["with_first_ends"]


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
    sources = _AtEnds([one for one in _candidates(drawn, job) if one.kind in SOURCE_KINDS], job)
    turned: set[int] = set()
    for index, drawn_path in enumerate(drawn.paths):
        is_last, reason = _first_end(drawn, job, index, starts, sources)
        if is_last:
            turned.add(index)
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


def _first_end(
    drawn: DrawnFile, job: Job, index: int, starts: dict[int, int], sources: _AtEnds
) -> tuple[bool, str]:
    """Return whether the last point of a path comes first, and why."""
    if index in starts:
        start = job.drawing.start
        named = f'"{start}"' if isinstance(start, str) else "the point"
        return starts[index] == 1, f"{named} named by start under [drawing]"
    if drawn.ordered[index]:
        return False, "the order of the file"
    layout = drawn.sources[index].layout if drawn.sources else ""
    first, last = _ends(drawn.paths[index])
    at_first, at_last = sources.near(first, layout), sources.near(last, layout)
    if bool(at_first) != bool(at_last):
        return bool(at_last), f"the end at {(at_first or at_last)[0].name}"
    both = "both ends have a panel or equipment" if at_first else "no panel or equipment at an end"
    reason = f"the end with the smaller x, y, z, since {both}; start under [drawing] settles it"
    for a, b in zip(first, last, strict=True):
        if abs(a - b) > SAME_POINT_M:
            return b < a, reason
    return False, reason


def _ends(drawn_path: DrawnPath) -> tuple[Vector, Vector]:
    return drawn_path.edges[0].segment.start_m, drawn_path.edges[-1].segment.end_m


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


class _AtEnds:
    """Fittings in one array, of which the few near an end are measured."""

    def __init__(self, candidates: Sequence[_Candidate], job: Job) -> None:
        self._candidates = candidates
        self._snap_m = job.drawing.snap_m
        corners = np.array(
            [(one.point_m, *(one.extents_m or (one.point_m, one.point_m))) for one in candidates]
        )
        corners = corners.reshape(-1, 3, 3)
        # a box around the insertion point and the symbol is no farther off than either of them
        self._low_m, self._high_m = corners.min(axis=1), corners.max(axis=1)

    def near(self, place_m: Vector, layout: str) -> list[_Candidate]:
        """Return the fittings of a layout within snap of a place, in their order."""
        near = within_boxes(np.array(place_m), self._low_m, self._high_m, self._snap_m)
        found = (self._candidates[at] for at in np.flatnonzero(near).tolist())
        return [
            one
            for one in found
            if one.layout in (None, layout) and one.away_m(place_m) <= self._snap_m
        ]


def _candidates(drawn: DrawnFile, job: Job) -> list[_Candidate]:
    """Fittings that may stand at an end: drawn ones with the job's kinds, and those by point."""
    kinds = {run_name_key(entry.name): entry.kind for entry in job.fittings if entry.kind}
    found = [
        _Candidate(
            f.name, kinds.get(run_name_key(f.name), f.kind), f.position_m, f.extents_m, f.layout
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
    at_ends = _AtEnds(points, job)
    named: dict[int, int] = {}
    layouts = drawn.layouts
    for index, drawn_path in enumerate(drawn.paths):
        near = [
            (point.away_m(end_point), end)
            for end, end_point in enumerate(_ends(drawn_path))
            for point in at_ends.near(end_point, layouts[index])
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
    return next((name for name in names if run_name_key(name) == run_name_key(start)), None)


def _named(drawn: DrawnFile, job: Job, name: str) -> list[_Candidate]:
    return [one for one in _candidates(drawn, job) if run_name_key(one.name) == run_name_key(name)]


def _placed_by_at(drawn: DrawnFile, job: Job) -> str | None:
    """Return the fitting that `start` names where only `at` places it: that needs a start first."""
    start = job.drawing.start
    if not isinstance(start, str) or _named(drawn, job, start):
        return None
    placed = (entry.name for entry in job.fittings if entry.at_m is not None)
    return next((name for name in placed if run_name_key(name) == run_name_key(start)), None)


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
