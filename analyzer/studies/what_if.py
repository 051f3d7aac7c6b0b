"""What if a box were added, left out, moved or passed through: the run before and after.

A changed run keeps its centerline; only a box that replaces a bend changes it. Nothing is placed
inside a bend, and a fitting that holds a corner of the run cannot be moved or left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import tan

from analyzer.analysis import LegAnalysis, RunAnalysis, analyze
from analyzer.catalog.nearest import nearest_name, nearest_words
from analyzer.checks.directions import counted_directions
from analyzer.errors import InputError
from analyzer.findings import Finding
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Arc, Segment, Straight, Vector
from analyzer.geometry.split_bends import join_bends
from analyzer.job.settings import FittingKind, Job, Passage
from analyzer.job.words import run_name_key
from analyzer.pulling.results import Direction, Pull
from analyzer.route.placing import NEAR_M
from analyzer.route.run import SAME_PLACE_M, Fitting, Run
from analyzer.studies.boxes_places import place_notes
from analyzer.units import show_length

__all__ = [
    "Changes",
    "LegChange",
    "WhatIf",
    "add_box",
    "change_run",
    "move_box",
    "pass_boxes",
    "pulls_as_counted",
    "remove_box",
    "replace_bend",
    "what_if",
]


@dataclass(frozen=True, slots=True)
class Changes:
    """What to change, in this order.

    Attributes
    ----------
    remove : tuple of str
        Names of pull points to leave out.
    move : tuple of (name, station)
        Pull points and where to move them. [m]
    add : tuple of float
        Stations of boxes to add. [m]
    passage : Passage or None
        How conductors pass every inner pull point, added ones included.
    """

    remove: tuple[str, ...] = ()
    move: tuple[tuple[str, float], ...] = ()
    add: tuple[float, ...] = ()
    passage: Passage | None = None


@dataclass(frozen=True, slots=True)
class LegChange:
    """A stretch of the run whose legs differ: those before, and those after."""

    from_m: float
    to_m: float
    before: tuple[LegAnalysis, ...]
    after: tuple[LegAnalysis, ...]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A run before and after a change.

    Attributes
    ----------
    before, after : RunAnalysis
        The run analyzed.
    changed : tuple of LegChange
        The legs that differ, in order of station.
    places : tuple of Finding
        Where the search for boxes would not put one that is added or moved. Checks do not ask
        where a box stands, so the verdict does not count them.
    changes : Changes
        What was changed.
    """

    before: RunAnalysis
    after: RunAnalysis
    changed: tuple[LegChange, ...]
    places: tuple[Finding, ...] = ()
    changes: Changes = field(default_factory=Changes)


def what_if(run: Run, job: Job, changes: Changes) -> WhatIf:
    """Return a run analyzed before and after a change.

    Parameters
    ----------
    run : Run
        The run as it is.
    job : Job
        Its job.
    changes : Changes
        What to change.

    Raises
    ------
    InputError
        If a change cannot be made; the message says why.
    """
    changed = change_run(run, job, changes)
    before, after = analyze([run, changed], job).runs
    stood = {(fitting.name, fitting.station_m) for fitting in run.fittings}
    places = tuple(
        note
        for fitting in changed.fittings[1:-1]
        if (fitting.name, fitting.station_m) not in stood
        for note in place_notes(changed, fitting, job)
    )
    return WhatIf(before, after, _changed_legs(before, after), places, changes)


def change_run(run: Run, job: Job, changes: Changes) -> Run:
    """Return a run with changes made.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    job : Job
        How near boxes may stand, and its entries.
    changes : Changes
        Boxes added, moved and left out, bends replaced.

    Raises
    ------
    InputError
        If a change cannot be made; the message says why.
    """
    for name in changes.remove:
        run = remove_box(run, name)
    for name, station in changes.move:
        run = move_box(run, name, station, job)
    for station in changes.add:
        run = add_box(run, station, job)
    if changes.passage is None:
        return run
    if not any(fitting.pull_point for fitting in run.fittings[1:-1]):
        raise InputError(f"run {run.name} has no box between its ends: there is none to pass")
    return pass_boxes(run, changes.passage)


def add_box(run: Run, station_m: float, job: Job, name: str | None = None) -> Run:
    """Return a run with one refed pull box more.

    Parameters
    ----------
    run : Run
        The run.
    station_m : float
        Where. [m]
    job : Job
        For the units of messages.
    name : str, optional
        Name of the box; ``New box 1`` and so on without one.

    Raises
    ------
    InputError
        If the station lies outside the run, inside a bend, or on a fitting.
    """
    _check_place(run, station_m, job)
    return _with_fittings(run, [*run.fittings, _box(run, station_m, name or _new_name(run))])


def remove_box(run: Run, name: str) -> Run:
    """Return a run without one of its inner pull points, and without what was said of it.

    A bend that it stood in is one bend again.

    Raises
    ------
    InputError
        If there is no such pull point, it is an end, it holds a corner, or another fitting is
        listed only because this one stands beside it.
    """
    found = _find(run, name)
    _check_no_corner(run, found, "left out")
    _check_none_beside(run, found)
    return replace(
        _with_fittings(run, [item for item in run.fittings if item is not found]),
        bends=_joined_bends(run, found),
        findings=tuple(item for item in run.findings if found.name not in item.fittings),
    )


def move_box(run: Run, name: str, station_m: float, job: Job) -> Run:
    """Return a run with one of its inner pull points moved to a station. [m]

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    name : str
        Name of the box, capitals and spaces aside.
    station_m : float
        Where it goes. [m]
    job : Job
        As for `add_box`.

    Raises
    ------
    InputError
        As for `remove_box` and `add_box`.
    """
    found = _find(run, name)
    without = remove_box(run, name)
    _check_place(without, station_m, job)
    moved = replace(found, station_m=station_m, position_m=_point(run.centerline, station_m))
    return _with_fittings(without, [*without.fittings, moved])


def pass_boxes(run: Run, passage: Passage) -> Run:
    """Return a run whose inner pull points are all passed in one way, and said so."""
    last = len(run.fittings) - 1
    fittings = [
        replace(
            item,
            passage=passage,
            passage_stated=True,
            feed_tension_n=item.feed_tension_n if item.passage is passage else None,
        )
        if 0 < index < last and item.pull_point
        else item
        for index, item in enumerate(run.fittings)
    ]
    return _with_fittings(run, fittings)


def replace_bend(run: Run, bend_number: int, name: str | None = None) -> Run:
    """Return a run with a refed box at the corner of a bend, instead of the bend.

    The straights on both sides reach to the corner, so stations beyond it grow.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    bend_number : int
        Number of the bend, from 1.
    name : str or None
        Of the box; None: ``New box`` with a number.

    Raises
    ------
    InputError
        If there is no such bend, or it is not one arc.
    """
    bend = next((item for item in run.bends if item.number == bend_number), None)
    stations = run.centerline.stations_m
    index = next(
        (
            i
            for i, segment in enumerate(run.centerline.segments)
            if bend is not None
            and isinstance(segment, Arc)
            and abs(stations[i] - bend.station_m) <= SAME_PLACE_M
            and abs(stations[i + 1] - bend.end_station_m) <= SAME_PLACE_M
        ),
        None,
    )
    if bend is None or index is None:
        raise InputError(f"bend {bend_number} is no single arc that a box could replace")
    arc = run.centerline.segments[index]
    assert isinstance(arc, Arc)
    reach = arc.radius_m * tan(0.5 * arc.angle_rad)
    corner = _along(arc.start_m, arc.start_tangent, reach)
    centerline = _with_corner(run.centerline, index, corner)
    shift = 2.0 * reach - arc.length_m

    def moved(station: float) -> float:
        return station + shift if station >= bend.end_station_m - SAME_PLACE_M else station

    at = bend.station_m + reach
    bends = tuple(
        _as_corner(item, at)
        if item is bend
        else replace(item, station_m=moved(item.station_m), end_station_m=moved(item.end_station_m))
        for item in run.bends
    )
    fittings = [replace(item, station_m=moved(item.station_m)) for item in run.fittings]
    changed = replace(run, centerline=centerline, bends=bends, fittings=tuple(fittings))
    box = _box(changed, at, name or _new_name(run))
    return _with_fittings(changed, [*fittings, box])


def pulls_as_counted(legs: Sequence[LegAnalysis]) -> tuple[Pull, ...]:
    """Return the pull of every leg in the direction its checks count in."""
    ways = counted_directions(
        [item.leg for item in legs],
        [item.forward for item in legs],
        [item.reverse for item in legs],
    )
    return tuple(
        item.forward if way is Direction.FORWARD else item.reverse
        for item, way in zip(legs, ways, strict=True)
    )


def _changed_legs(before: RunAnalysis, after: RunAnalysis) -> tuple[LegChange, ...]:
    """Stretches between the pull points that both have, where a leg or its figures differ."""
    ends_before = [item.leg.start.station_m for item in before.legs] + [
        before.legs[-1].leg.end.station_m
    ]
    ends_after = [item.leg.start.station_m for item in after.legs] + [
        after.legs[-1].leg.end.station_m
    ]
    shared = [a for a in ends_before if any(abs(a - b) <= SAME_PLACE_M for b in ends_after)]
    found = []
    for low, high in pairwise(shared):
        old, new = (_legs_within(each, low, high) for each in (before, after))
        if len(old) != len(new) or any(
            _figures(a) != _figures(b) for a, b in zip(old, new, strict=True)
        ):
            found.append(LegChange(low, high, old, new))
    return tuple(found)


def _legs_within(analyzed: RunAnalysis, low: float, high: float) -> tuple[LegAnalysis, ...]:
    return tuple(
        item
        for item in analyzed.legs
        if item.leg.start.station_m >= low - SAME_PLACE_M
        and item.leg.end.station_m <= high + SAME_PLACE_M
    )


def _figures(item: LegAnalysis) -> tuple[object, ...]:
    pulls = (item.forward, item.reverse)
    ends = (item.leg.start.name, item.leg.end.name)
    return (*ends, *((pull.low, pull.expected, pull.high, pull.braked) for pull in pulls))


def _find(run: Run, name: str) -> Fitting:
    inner = [item for item in run.fittings[1:-1] if item.pull_point]
    found = [item for item in inner if run_name_key(item.name) == run_name_key(name)]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError(f"run {run.name} has {len(found)} pull points named {name!r}: name them")
    ends = (run.fittings[0].name, run.fittings[-1].name)
    if run_name_key(name) in map(run_name_key, ends):
        raise InputError(f"{name!r} is an end of run {run.name}: it stays where it is")
    names = [item.name for item in inner]
    close = nearest_name(name, names)
    near = nearest_words([] if close is None else [close])
    raise InputError(
        f"run {run.name} has no pull point {name!r} between its ends{near}: it has "
        f"{', '.join(names) or 'none'}"
    )


def _check_no_corner(run: Run, fitting: Fitting, what: str) -> None:
    for bend in run.bends:
        if bend.in_fitting and abs(bend.station_m - fitting.station_m) <= NEAR_M:
            raise InputError(
                f"{fitting.name} stands at a corner of run {run.name}: it cannot be {what} or "
                "moved without a bend in its place; change the drawing"
            )


def _check_none_beside(run: Run, fitting: Fitting) -> None:
    for finding in run.findings:
        if finding.code == "fittings-near" and fitting.name in finding.fittings:
            (other,) = (name for name in finding.fittings if name != fitting.name)
            raise InputError(
                f"{other} is listed only because it stands beside {fitting.name}, and would be the "
                "pull point without it: leave one of them out of the drawing or the job, then ask "
                "again"
            )


def _joined_bends(run: Run, fitting: Fitting) -> tuple[Bend, ...]:
    """Return the bends, the two parts of one that a pull point stands in joined."""
    if not any(
        finding.code == "fitting-in-bend" and fitting.name in finding.fittings
        for finding in run.findings
    ):
        return run.bends
    bends = list(run.bends)
    index = next(i for i, bend in enumerate(bends) if bend.station_m == fitting.station_m)
    bends[index - 1 : index + 1] = [join_bends(bends[index - 1], bends[index], run.centerline)]
    return tuple(replace(bend, number=number) for number, bend in enumerate(bends, start=1))


def _check_place(run: Run, station_m: float, job: Job) -> None:
    words = show_length(station_m, job.units)
    length = run.centerline.length_m
    if not 0.0 < station_m < length:
        raise InputError(
            f"station {words} lies outside run {run.name}, which is "
            f"{show_length(length, job.units)} long"
        )
    for bend in run.bends:
        if bend.station_m + SAME_PLACE_M < station_m < bend.end_station_m - SAME_PLACE_M:
            ends = [show_length(s, job.units) for s in (bend.station_m, bend.end_station_m)]
            raise InputError(
                f"station {words} lies inside bend {bend.number} ({ends[0]} to {ends[1]}): choose "
                "a place on a straight"
            )
    for fitting in run.fittings:
        if abs(fitting.station_m - station_m) < NEAR_M - SAME_PLACE_M:
            at = show_length(fitting.station_m, job.units)
            raise InputError(f"station {words} is taken: {fitting.name} stands at {at}")


def _new_name(run: Run) -> str:
    names = {item.name for item in run.fittings}
    number = 1
    while f"New box {number}" in names:
        number += 1
    return f"New box {number}"


def _box(run: Run, station_m: float, name: str) -> Fitting:
    return Fitting(
        name=name,
        kind=FittingKind.PULL_BOX,
        station_m=station_m,
        position_m=_point(run.centerline, station_m),
        pull_point=True,
        passage=Passage.REFEED,
        passage_stated=True,
    )


def _with_fittings(run: Run, fittings: Sequence[Fitting]) -> Run:
    return replace(run, fittings=tuple(sorted(fittings, key=lambda item: item.station_m)))


def _point(centerline: Centerline, station_m: float) -> Vector:
    x, y, z = (float(value) for value in centerline.points_at([station_m])[0])
    return (x, y, z)


def _along(point: Vector, direction: Vector, length_m: float) -> Vector:
    x, y, z = (p + length_m * d for p, d in zip(point, direction, strict=True))
    return (x, y, z)


def _with_corner(centerline: Centerline, index: int, corner: Vector) -> Centerline:
    """Return the centerline with one arc replaced by straights to its corner."""
    arc = centerline.segments[index]
    before: list[Segment] = list(centerline.segments[:index])
    after: list[Segment] = list(centerline.segments[index + 1 :])
    start, end = arc.start_m, arc.end_m
    if before and isinstance(before[-1], Straight):
        start = before.pop().start_m
    if after and isinstance(after[0], Straight):
        end = after.pop(0).end_m
    return Centerline((*before, Straight(start, corner), Straight(corner, end), *after))


def _as_corner(bend: Bend, station_m: float) -> Bend:
    return replace(
        bend,
        station_m=station_m,
        end_station_m=station_m,
        radius_m=None,
        radius_from=None,
        in_fitting=True,
        angle_sd_rad=None,
        radius_sd_m=None,
        radius_determined=None,
    )
