"""Where boxes can stand: stretches of straights that can take one, stations named, bends.

A stop is a place where conductors are taken out and fed again: an end, a refed pull point of the
run, or a box that could be added. Places follow the job's `[boxes]` table.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, hypot, radians, tan

from analyzer.errors import InputError, JobError
from analyzer.findings import Finding, Severity
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Arc, Straight, Vector
from analyzer.job.settings import BoxSettings, Job, Passage
from analyzer.route.placing import NEAR_M
from analyzer.route.run import SAME_PLACE_M, Fitting, Run
from analyzer.units import show_length, show_radius

__all__ = [
    "MOST_STOPS",
    "Room",
    "Stop",
    "Way",
    "corner_stops",
    "find_rooms",
    "first_stops",
    "fixed_stops",
    "named_stops",
    "place_notes",
    "stop_in",
    "through_points",
]

MOST_STOPS = 4000
"""Most places tried together: every pair of them is computed."""

_MOST_CORNER_RAD = radians(120.0)


@dataclass(frozen=True, slots=True)
class Way:
    """Straight that a box at a corner adds on one side: length, and its unit tangent forward."""

    length_m: float = 0.0
    up: float = 0.0
    across: float = 1.0


@dataclass(frozen=True, slots=True)
class Room:
    """A stretch of a straight where the middle of a box may stand.

    Attributes
    ----------
    low_m, high_m : float
        Stations of its ends; equal where only one place fits. [m]
    middle_m : float
        Station of the middle of the straight. [m]
    """

    low_m: float
    high_m: float
    middle_m: float


@dataclass(frozen=True, slots=True)
class Stop:
    """A place where conductors are taken out and fed again.

    Attributes
    ----------
    station_m : float
        Its station; of a box at a corner the middle of the bend it replaces. [m]
    arrive_m, leave_m : float
        Where the leg below ends and the leg above begins. [m]
    room : int or None
        Index of the room it stands in; None for fixed stops and for places without play.
    is_fixed : bool
        An end or a refed pull point of the run.
    feed_tension_n : float
        Tension with which a leg fed here starts. [N]
    name : str
        Name of a fixed stop.
    away_m : float
        Distance from the middle of its straight. [m]
    way_in, way_out : Way
        Straight between the tangent points of a replaced bend and the box.
    """

    station_m: float
    arrive_m: float
    leave_m: float
    room: int | None
    is_fixed: bool
    feed_tension_n: float
    name: str = ""
    away_m: float = 0.0
    way_in: Way = Way()
    way_out: Way = Way()

    def reversed(self) -> Stop:
        """Return the stop as met from the other end."""
        if self.arrive_m == self.leave_m:
            return self

        def turned(way: Way) -> Way:
            return replace(way, up=-way.up)

        return replace(
            self,
            arrive_m=self.leave_m,
            leave_m=self.arrive_m,
            way_in=turned(self.way_out),
            way_out=turned(self.way_in),
        )


def fixed_stops(run: Run, job: Job) -> tuple[Stop, ...]:
    """Return both ends and the refed pull points of a run, in order of station."""
    last = len(run.fittings) - 1
    return tuple(
        Stop(
            station_m=fitting.station_m,
            arrive_m=fitting.station_m,
            leave_m=fitting.station_m,
            room=None,
            is_fixed=True,
            feed_tension_n=_feed_tension(fitting, job),
            name=fitting.name,
        )
        for index, fitting in enumerate(run.fittings)
        if index in (0, last) or (fitting.pull_point and fitting.passage is Passage.REFEED)
    )


def through_points(run: Run) -> tuple[float, ...]:
    """Return the stations of pull points that conductors pass through. [m]"""
    return tuple(
        fitting.station_m
        for fitting in run.fittings[1:-1]
        if fitting.pull_point and fitting.passage is Passage.THROUGH
    )


def find_rooms(run: Run, job: Job) -> tuple[Room, ...]:
    """Return where boxes may stand on the straights of a run, in order of station.

    Straights in line with each other count as one. The middle of a box keeps the job's `need`
    from bends, ends and fittings, and stays out of keep-out stretches.

    Raises
    ------
    JobError
        If a stretch or a candidate station of the job lies outside the run.
    """
    settings = job.boxes
    _check_stations(run, job)
    rooms: list[Room] = []
    for edges, inside in _edges(run):
        middle = 0.5 * (edges[0] + edges[-1])
        clear = [
            max(settings.need_m, NEAR_M) if edge in inside else settings.need_m for edge in edges
        ]
        parts = [
            (a + below, b - above)
            for (a, below), (b, above) in pairwise(zip(edges, clear, strict=True))
        ]
        for stretch in _allowed(parts, settings):
            rooms.append(Room(stretch[0], stretch[1], middle))
    return tuple(sorted(rooms, key=lambda room: room.low_m))


def place_notes(run: Run, fitting: Fitting, job: Job) -> tuple[Finding, ...]:
    """Return why the search for boxes would not stand one where it stands: `find_rooms`, one place.

    Parameters
    ----------
    run : Run
        The run with the box.
    fitting : Fitting
        The box, on a straight of the run.
    job : Job
        Its `boxes` say where boxes may stand; places of another run than this are left out.
    """
    settings, station = job.boxes, fitting.station_m
    found = []

    def say(code: str, text: str) -> None:
        message = f"{fitting.name}, station {show_length(station, job.units)}, {text}"
        found.append(Finding(code, Severity.NOTE, message, "boxes"))

    if settings.run in (None, run.name):
        for low, high in settings.keep_out_m:
            if low + SAME_PLACE_M < station < high - SAME_PLACE_M:
                say("box-kept-out", f"stands in keep-out {_stretch(low, high, job)} of [boxes]")
        allowed = settings.allowed_m
        if allowed and not any(
            low - SAME_PLACE_M <= station <= high + SAME_PLACE_M for low, high in allowed
        ):
            stretches = ", ".join(_stretch(low, high, job) for low, high in allowed)
            say("box-not-allowed", f"stands outside what [boxes] allows, {stretches}")
    others = replace(run, fittings=tuple(item for item in run.fittings if item is not fitting))
    for edges, _ in _edges(others):
        if not edges[0] - SAME_PLACE_M <= station <= edges[-1] + SAME_PLACE_M:
            continue
        has = min(abs(edge - station) for edge in edges)
        if has < settings.need_m - SAME_PLACE_M:
            by = "by [boxes]" if settings.need_from == "job" else "by common practice"
            say(
                "box-without-room",
                f"needs {show_radius(settings.need_m, job.units)} of straight on either side of "
                f"its middle {by}, has {show_radius(has, job.units)} to a bend, an end or a "
                "fitting",
            )
            break
    return tuple(found)


def _stretch(low_m: float, high_m: float, job: Job) -> str:
    return f"{show_length(low_m, job.units)} to {show_length(high_m, job.units)}"


def first_stops(rooms: Sequence[Room], job: Job) -> tuple[Stop, ...]:
    """Return the places tried first: ends and middle of each room, and every `spacing` between.

    Raises
    ------
    InputError
        If the spacing would give too many.
    """
    spacing = job.boxes.spacing_m
    counts = [max(1, ceil((room.high_m - room.low_m) / spacing - 1e-9)) for room in rooms]
    if sum(counts) > MOST_STOPS:
        raise InputError(
            f"{job.at('boxes', 'spacing')}"
            f"a box every {show_length(spacing, job.units)} makes {sum(counts):,} places, more "
            f"than {MOST_STOPS:,}: state a wider spacing in [boxes]; the answer is refined between "
            "the places anyway"
        )
    stops: list[Stop] = []
    for index, (room, count) in enumerate(zip(rooms, counts, strict=True)):
        width = room.high_m - room.low_m
        places = {room.low_m, room.high_m, min(max(room.middle_m, room.low_m), room.high_m)}
        places |= {room.low_m + width * i / count for i in range(count)}
        stops += [stop_in(rooms, index, place, job) for place in _apart(sorted(places))]
    return tuple(stops)


def named_stops(rooms: Sequence[Room], job: Job) -> tuple[tuple[Stop, ...], tuple[float, ...]]:
    """Return the candidate stations of the job that can take a box, and those that cannot. [m]"""
    stops, refused = [], []
    for station in sorted(set(job.boxes.candidates_m)):
        index = bisect_right([room.low_m - SAME_PLACE_M for room in rooms], station) - 1
        if index >= 0 and station <= rooms[index].high_m + SAME_PLACE_M:
            stops.append(stop_in(rooms, index, station, job))
        else:
            refused.append(station)
    return tuple(stops), tuple(refused)


def corner_stops(run: Run, job: Job) -> tuple[Stop, ...]:
    """Return boxes that could stand at the corner of a bend, instead of it.

    Only bends of one arc up to 120°, clear of fittings and of keep-out stretches.
    """
    stops = []
    stations = run.centerline.stations_m
    for index, segment in enumerate(run.centerline.segments):
        low, high = stations[index], stations[index + 1]
        bend = _whole_bend(run, low, high)
        if not isinstance(segment, Arc) or bend is None or bend.angle_rad > _MOST_CORNER_RAD:
            continue
        middle = 0.5 * (low + high)
        blocked = any(
            low - SAME_PLACE_M <= fitting.station_m <= high + SAME_PLACE_M
            for fitting in run.fittings
        )
        if blocked or not _allowed([(middle, middle)], job.boxes):
            continue
        length = segment.radius_m * tan(0.5 * segment.angle_rad)
        stops.append(
            Stop(
                station_m=middle,
                arrive_m=low,
                leave_m=high,
                room=None,
                is_fixed=False,
                feed_tension_n=job.pull.feed_tension_n,
                name=f"bend {bend.number}",
                way_in=_way(length, segment.start_tangent),
                way_out=_way(length, segment.end_tangent),
            )
        )
    return tuple(stops)


def stop_in(rooms: Sequence[Room], index: int, station_m: float, job: Job) -> Stop:
    """Return a box at a station of a room.

    Parameters
    ----------
    rooms : sequence of Room
        Stretches where boxes may stand.
    index : int
        Which of them.
    station_m : float
        Where in it. [m]
    job : Job
        For the feed tension.
    """
    return Stop(
        station_m=station_m,
        arrive_m=station_m,
        leave_m=station_m,
        room=index,
        is_fixed=False,
        feed_tension_n=job.pull.feed_tension_n,
        away_m=abs(station_m - rooms[index].middle_m),
    )


def _feed_tension(fitting: Fitting, job: Job) -> float:
    own = fitting.feed_tension_n
    return job.pull.feed_tension_n if own is None else own


def _straights(run: Run) -> list[tuple[float, float]]:
    """Stations of straights between bends; corners end them, joints in line do not."""
    corners = [corner.station_m for corner in run.centerline.corners()]
    stations = run.centerline.stations_m
    found: list[tuple[float, float]] = []
    for index, segment in enumerate(run.centerline.segments):
        if not isinstance(segment, Straight):
            continue
        low, high = stations[index], stations[index + 1]
        joins = bool(found) and abs(found[-1][1] - low) <= SAME_PLACE_M
        if joins and not any(abs(corner - low) <= SAME_PLACE_M for corner in corners):
            found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return found


def _edges(run: Run) -> list[tuple[list[float], list[float]]]:
    """Stations that boxes keep away from, straight by straight: its ends and its fittings.

    Beside all of them stand those that are fittings.
    """
    found = []
    for low, high in _straights(run):
        inside = [
            fitting.station_m
            for fitting in run.fittings
            if low - SAME_PLACE_M <= fitting.station_m <= high + SAME_PLACE_M
        ]
        found.append((sorted({low, high, *inside}), inside))
    return found


def _allowed(
    parts: Sequence[tuple[float, float]], settings: BoxSettings
) -> list[tuple[float, float]]:
    """Parts within the allowed stretches and outside the keep-out ones."""
    kept = [(a, b) for a, b in parts if b >= a - 1e-12]
    if settings.allowed_m:
        kept = [
            (max(a, low), min(b, high))
            for a, b in kept
            for low, high in settings.allowed_m
            if max(a, low) <= min(b, high)
        ]
    for low, high in settings.keep_out_m:
        cut: list[tuple[float, float]] = []
        for a, b in kept:
            if b <= low or a >= high:
                cut.append((a, b))
                continue
            cut += [(a, low)] if a <= low else []
            cut += [(high, b)] if b >= high else []
        kept = cut
    return [(a, max(a, b)) for a, b in kept]


def _apart(places: Sequence[float]) -> list[float]:
    """Places with those closer than a micrometer to the one before left out, ends kept."""
    kept = [places[0]]
    for place in places[1:]:
        if place - kept[-1] > SAME_PLACE_M:
            kept.append(place)
    if kept[-1] != places[-1] and len(kept) > 1:
        kept[-1] = places[-1]
    return kept


def _whole_bend(run: Run, low_m: float, high_m: float) -> Bend | None:
    for bend in run.bends:
        if (
            not bend.in_fitting
            and abs(bend.station_m - low_m) <= SAME_PLACE_M
            and abs(bend.end_station_m - high_m) <= SAME_PLACE_M
        ):
            return bend
    return None


def _way(length_m: float, tangent: Vector) -> Way:
    return Way(length_m, tangent[2], hypot(tangent[0], tangent[1]))


def _check_stations(run: Run, job: Job) -> None:
    """Raise where the job names a station beyond the end of the run."""
    settings, length = job.boxes, run.centerline.length_m
    named = {
        "candidates": settings.candidates_m,
        "keep_out": tuple(low for low, _ in settings.keep_out_m),
        "allowed": tuple(low for low, _ in settings.allowed_m),
    }
    for key, stations in named.items():
        for station in stations:
            if station > length + SAME_PLACE_M:
                raise JobError(
                    f"{job.at('boxes', key)}"
                    f"boxes.{key}: station {show_length(station, job.units)} lies beyond the end "
                    f"of run {run.name}, which is {show_length(length, job.units)} long"
                )
