"""Call-outs: what the head feels at each place of a set-up, and where to stop.

The tension at a place is that of a pull that ends there, at low, expected and high friction. The
stop value at a place is the tension of the head there at which a limit can just be reached: of
grip, line and puller at the head, or of the conductors or the sidewall pressure anywhere behind
it. A limit behind is carried to the head at low friction without weight factor: the smallest
tension the head can have while the place behind it is at its limit. So the stop value falls as the
head goes down a drop, and rises again with what bends and level straights add at the least. Once
the head may feel nothing while a limit is passed, no stop value helps from there on. Figures are
those at the head; drag of the line itself is not in them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise
from math import ceil, radians

from analyzer.errors import InputError
from analyzer.geometry.readings import Bend
from analyzer.job.settings import FittingKind, Job, Passage
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.limits import sidewall_limit, tension_limits
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Pull
from analyzer.pulling.sections import least_frictions
from analyzer.pulling.string_model import (
    ArcPiece,
    CornerPiece,
    Piece,
    pieces_between,
    pull_string,
    reversed_pieces,
    split_piece,
)
from analyzer.route.legs import Leg
from analyzer.route.run import SAME_PLACE_M, Fitting, Run
from analyzer.units import show_length

__all__ = [
    "CallOut",
    "HeadTension",
    "PlaceKind",
    "StopValue",
    "call_outs",
    "head_tensions",
    "pulls_between",
    "stop_values",
]

_PAST_CORNER_M = 2e-5
_ONE_CALL_OUT_M = 0.05
_SAME_SHARE = 1e-12
_STEP_RAD = radians(5.0)
_MOST_STATIONS = 1000  # of one set-up, so far as straights add them; nobody calls out more


class PlaceKind(Enum):
    """What stands at the place of a call-out."""

    FEED = "feed"
    FITTING = "fitting"
    BEND = "bend"
    STATION = "station"
    GREATEST = "greatest"
    LOW_STOP = "low stop"
    PULL_END = "pull end"


@dataclass(frozen=True, slots=True)
class HeadTension:
    """Tension of the head at a station, at low, expected and high friction. [m] [N]"""

    station_m: float
    low_n: float
    expected_n: float
    high_n: float


@dataclass(frozen=True, slots=True)
class StopValue:
    """Tension of the head above which the pull is stopped, and which limit sets it.

    `stop_n` is None where no limit up to there could be checked, and 0 where none helps: the head
    may feel nothing while a limit is passed. `code` is the check of the limit, `limit_n` the
    tension allowed by it where it stands, at `limit_station_m`; `is_rubbed` tells that friction on
    the way between counts in what the head may feel. [N] [m]
    """

    stop_n: float | None
    code: str
    name: str
    limit_station_m: float | None
    limit_n: float | None
    is_rubbed: bool = False

    @property
    def is_lowered(self) -> bool:
        """Whether the head hangs below the place of the limit, and may feel less."""
        return self._beside(-1.0)

    @property
    def is_raised(self) -> bool:
        """Whether bends and straights behind the place of the limit add to it, and rises."""
        return self._beside(1.0)

    @property
    def is_carried(self) -> bool:
        """Whether what the head may feel differs from the limit."""
        return self.is_lowered or self.is_raised

    def _beside(self, sign: float) -> bool:
        if self.stop_n is None or self.limit_n is None:
            return False
        return sign * (self.stop_n - self.limit_n) > _SAME_SHARE * self.limit_n


@dataclass(frozen=True, slots=True)
class CallOut:
    """One row of the call-out table.

    Attributes
    ----------
    station_m, away_m : float
        Station of the run, and the way of the head from the feed. [m]
    kind : PlaceKind
        What stands there.
    name : str
        Name of the fitting, otherwise empty.
    bend : Bend or None
        The bend that the head has just left; at the place of the greatest tension, the one it is
        in; where the stop value is lowest between two places, the one it comes to or is in.
    tension : HeadTension
        What the head feels.
    stop : StopValue
        Where to stop.
    """

    station_m: float
    away_m: float
    kind: PlaceKind
    name: str
    bend: Bend | None
    tension: HeadTension
    stop: StopValue

    @property
    def exceeds_stop(self) -> bool:
        """Whether the head would be above the stop value at high friction, where one helps."""
        stop = self.stop.stop_n
        return stop is not None and stop > 0.0 and self.tension.high_n > stop * (1.0 + 1e-6)


def head_tensions(
    run: Run, job: Job, feed: Fitting, pull: Fitting, stations_m: Sequence[float]
) -> tuple[HeadTension, ...]:
    """Return the tension of the head at stations on the way from one fitting to another.

    Everything between is passed through; the lubricant starts at the feed.

    Parameters
    ----------
    run : Run
        The run.
    job : Job
        Conductors and friction.
    feed, pull : Fitting
        Where conductors are fed and where the head leaves.
    stations_m : sequence of float
        Stations between them, in order of travel. [m]
    """
    pulls = pulls_between(run, job, feed, pull, stations_m)
    is_forward = pull.station_m > feed.station_m
    ends = sorted((feed.station_m, pull.station_m))
    cuts = _inner(stations_m, feed, pull)
    places = [*cuts, ends[1]] if is_forward else [*reversed(cuts), ends[0]]
    found = {
        place: HeadTension(
            place, item.low.exit_tension_n, item.expected.exit_tension_n, item.high.exit_tension_n
        )
        for place, item in zip(places, pulls, strict=True)
    }
    own = feed.feed_tension_n
    start = job.pull.feed_tension_n if own is None else own
    entry = HeadTension(feed.station_m, start, start, start)
    return tuple(
        entry
        if abs(station - feed.station_m) <= SAME_PLACE_M
        else found[min(found, key=lambda place: abs(place - station))]
        for station in stations_m
    )


def pulls_between(
    run: Run, job: Job, feed: Fitting, pull: Fitting, stations_m: Sequence[float]
) -> tuple[Pull, ...]:
    """Return the pulls of the parts that stations cut a set-up into, in order of travel.

    Everything between feed and pull end is passed through.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    job : Job
        Conductors, frictions and limits.
    feed, pull : Fitting
        Where the conductors enter, and where the head leaves.
    stations_m : sequence of float
        Places between them. [m]
    """
    is_forward = pull.station_m > feed.station_m
    direction = Direction.FORWARD if is_forward else Direction.REVERSE
    first = replace(feed, passage=Passage.THROUGH)
    last = replace(pull, passage=Passage.THROUGH)
    marks = [_mark(run, station) for station in _inner(stations_m, feed, pull)]
    stops = [first, *marks, last] if is_forward else [last, *marks, first]
    legs = tuple(_bare_leg(start, end) for start, end in pairwise(stops))
    pulls = pull_legs(run, legs, job, direction)
    return pulls if is_forward else tuple(reversed(pulls))


def stop_values(
    run: Run,
    job: Job,
    group: ConductorGroup,
    feed: Fitting,
    pull: Fitting,
    stations_m: Sequence[float],
) -> tuple[StopValue, ...]:
    """Return where to stop at stations on the way from one fitting to another.

    Parameters
    ----------
    run : Run
        The run.
    job : Job
        Limits, conductors and friction.
    group : ConductorGroup
        For the form of its sidewall pressure.
    feed, pull : Fitting
        Where conductors are fed and where the head leaves.
    stations_m : sequence of float
        Stations between them, in order of travel. [m]
    """
    reached = _stops_reached(run, job, group, feed, pull, stations_m)
    sign = 1.0 if pull.station_m > feed.station_m else -1.0
    return tuple(
        [stop for place, stop in reached if sign * (place - station) <= SAME_PLACE_M][-1]
        for station in stations_m
    )


def _stops_reached(
    run: Run,
    job: Job,
    group: ConductorGroup,
    feed: Fitting,
    pull: Fitting,
    stations_m: Sequence[float],
) -> list[tuple[float, StopValue]]:
    """Stop values at the feed, the stations, and between them wherever they turn, by travel."""
    conductors, at_head = _tension_stops(job, group)
    wall = sidewall_limit(job)
    low, high = sorted((feed.station_m, pull.station_m))
    pieces: Sequence[Piece] = pieces_between(run.centerline, low, high)
    if pull.station_m < feed.station_m:
        pieces = reversed_pieces(pieces)
    carried = conductors
    reached = [(feed.station_m, _smaller(at_head, carried))]
    for piece in _cut_at(pieces, stations_m):
        borne = StopValue(None, wall.code, wall.name, piece.station_m, None)
        if isinstance(piece, ArcPiece) and wall.limit is not None and group.sidewall.factor > 0.0:
            allowed = wall.limit * piece.shape.radius_m / group.sidewall.factor
            borne = replace(borne, stop_n=allowed, limit_n=allowed)
        carried = _carry(_smaller(carried, borne), piece, job)
        carried = _smaller(_smaller(carried, borne), conductors)
        reached.append((piece.end_station_m, _smaller(at_head, carried)))
    return reached


def call_outs(
    run: Run,
    job: Job,
    group: ConductorGroup,
    feed: Fitting,
    pull: Fitting,
    bends: Sequence[Bend],
    greatest_m: float | None = None,
) -> tuple[CallOut, ...]:
    """Return the call-outs of one set-up: feed, fittings, bends, long straights, pull end.

    Parameters
    ----------
    run : Run
        The run.
    job : Job
        Its ``call_out_every`` says how far the head goes on a straight without one.
    group : ConductorGroup
        How the conductors lie.
    feed, pull : Fitting
        Where conductors are fed and where the head leaves.
    bends : sequence of Bend
        Bends between them, in order of travel.
    greatest_m : float, optional
        Station of the greatest tension at high friction: a call-out of its own where no other
        stands there, as inside a bend at the top of a drop. [m]

    Raises
    ------
    InputError
        If ``call_out_every`` makes more than a thousand.
    """
    sign = 1.0 if pull.station_m > feed.station_m else -1.0
    places = _places(run, job, feed, pull, bends, greatest_m)
    corners = [corner.station_m for corner in run.centerline.corners()]

    def measured(station: float) -> float:
        is_inside = (
            abs(station - feed.station_m) > SAME_PLACE_M
            and abs(station - pull.station_m) > SAME_PLACE_M
        )
        at_corner = any(abs(station - corner) <= SAME_PLACE_M for corner in corners)
        return station + sign * _PAST_CORNER_M if is_inside and at_corner else station

    stations = [measured(station) for station, _, _, _ in places]
    reached = _stops_reached(run, job, group, feed, pull, stations)
    low_stops = _low_stops(stations, reached, bends, sign)
    if low_stops:
        places = sorted([*places, *low_stops], key=lambda item: sign * item[0])
        stations = [measured(station) for station, _, _, _ in places]
    tensions = head_tensions(run, job, feed, pull, stations)
    stops = stop_values(run, job, group, feed, pull, stations)
    return tuple(
        CallOut(station, abs(station - feed.station_m), kind, name, bend, tension, stop)
        for (station, kind, name, bend), tension, stop in zip(places, tensions, stops, strict=True)
    )


def _tension_stops(job: Job, group: ConductorGroup) -> tuple[StopValue, StopValue]:
    """Return the limit of the conductors all along, and the smallest of those at the head."""
    stops = {
        limit.code: StopValue(limit.limit, limit.code, limit.name, None, limit.limit)
        for limit in tension_limits(job, group)
        if limit.limit is not None
    }
    unknown = StopValue(None, "", "", None, None)
    conductors = stops.pop("conductor-tension", unknown)
    at_head = min(stops.values(), key=lambda stop: stop.stop_n or 0.0, default=unknown)
    return conductors, at_head


def _inner(stations_m: Sequence[float], feed: Fitting, pull: Fitting) -> list[float]:
    """Stations between feed and pull end, each once, by station."""
    low, high = sorted((feed.station_m, pull.station_m))
    return sorted({s for s in stations_m if low + SAME_PLACE_M < s < high - SAME_PLACE_M})


Place = tuple[float, PlaceKind, str, Bend | None]


def _places(
    run: Run,
    job: Job,
    feed: Fitting,
    pull: Fitting,
    bends: Sequence[Bend],
    greatest_m: float | None,
) -> list[Place]:
    low, high = sorted((feed.station_m, pull.station_m))
    sign = 1.0 if pull.station_m > feed.station_m else -1.0
    inner: list[Place] = [
        (item.station_m, PlaceKind.FITTING, item.name, None)
        for item in run.fittings
        if low + _ONE_CALL_OUT_M < item.station_m < high - _ONE_CALL_OUT_M
    ]
    for bend in bends:
        place = bend.end_station_m if sign > 0 else bend.station_m
        taken = [feed.station_m, pull.station_m, *(item[0] for item in inner)]
        near = [i for i, item in enumerate(inner) if abs(item[0] - place) <= _ONE_CALL_OUT_M]
        if near:
            station, kind, name, _ = inner[near[0]]
            inner[near[0]] = (station, kind, name, bend)
        elif all(abs(place - other) > _ONE_CALL_OUT_M for other in taken):
            inner.append((place, PlaceKind.BEND, "", bend))
    taken = [feed.station_m, pull.station_m, *(item[0] for item in inner)]
    if greatest_m is not None and all(abs(greatest_m - p) > _ONE_CALL_OUT_M for p in taken):
        inside = [b for b in bends if b.station_m < greatest_m < b.end_station_m]
        inner.append((greatest_m, PlaceKind.GREATEST, "", inside[0] if inside else None))
    ends = [b for b in bends if _leaves_at(b, pull.station_m, sign)]
    places: list[Place] = [
        (feed.station_m, PlaceKind.FEED, feed.name, None),
        *sorted(inner, key=lambda item: sign * item[0]),
        (pull.station_m, PlaceKind.PULL_END, pull.name, ends[-1] if ends else None),
    ]
    return list(_filled(places, job))


def _low_stops(
    stations_m: Sequence[float],
    reached: Sequence[tuple[float, StopValue]],
    bends: Sequence[Bend],
    sign: float,
) -> list[Place]:
    """Places between two call-outs where the stop value is lower than at both, the lowest each."""
    found: list[Place] = []
    values = [(sign * place, stop.stop_n) for place, stop in reached if stop.stop_n is not None]
    for start, end in pairwise(sign * station for station in stations_m):
        inside = [(n, at) for at, n in values if start - SAME_PLACE_M <= at <= end + SAME_PLACE_M]
        lowest, at = min(inside, default=(0.0, start))
        if not start + _ONE_CALL_OUT_M < at < end - _ONE_CALL_OUT_M:
            continue
        if lowest < min(inside[0][0], inside[-1][0]) * (1.0 - 1e-9):
            near = [
                bend
                for bend in bends
                if bend.station_m - SAME_PLACE_M <= sign * at <= bend.end_station_m + SAME_PLACE_M
            ]
            found.append((sign * at, PlaceKind.LOW_STOP, "", near[-1] if near else None))
    return found


def _leaves_at(bend: Bend, station_m: float, sign: float) -> bool:
    place = bend.end_station_m if sign > 0 else bend.station_m
    return abs(place - station_m) <= _ONE_CALL_OUT_M


def _filled(places: Sequence[Place], job: Job) -> Iterable[Place]:
    """Places with stations between those that are far apart."""
    every_m = job.plan.call_out_every_m
    parts = [abs(after[0] - before[0]) / every_m for before, after in pairwise(places)]
    if sum(parts) > _MOST_STATIONS:
        # counted as a float: the quotient may be beyond any whole number
        raise InputError(
            f"{job.at('plan', 'call_out_every')}"
            f"call_out_every in [plan] makes more than {_MOST_STATIONS:,} call-outs on the way "
            f"from {places[0][2]} to {places[-1][2]}: state a longer one, such as "
            f"{show_length(sum(parts) * every_m / 100.0, job.units)} for a hundred"
        )
    yield places[0]
    for (before, after), part in zip(pairwise(places), parts, strict=True):
        number = ceil(part - 1e-9)
        for i in range(1, number):
            station = before[0] + (after[0] - before[0]) * i / number
            yield (station, PlaceKind.STATION, "", None)
        yield after


def _mark(run: Run, station_m: float) -> Fitting:
    """Return a place on the run that the head passes."""
    x, y, z = (float(value) for value in run.centerline.points_at([station_m])[0])
    return Fitting(
        "", FittingKind.END, station_m, (x, y, z), True, Passage.THROUGH, passage_stated=True
    )


def _bare_leg(start: Fitting, end: Fitting) -> Leg:
    rise = end.position_m[2] - start.position_m[2]
    return Leg("", start, end, end.station_m - start.station_m, rise, ())


def _cut_at(pieces: Sequence[Piece], stations_m: Sequence[float]) -> Iterable[Piece]:
    """Pieces cut at stations, and arcs into steps of at most five degrees."""
    for piece in pieces:
        places = list(stations_m)
        if isinstance(piece, ArcPiece):
            number = ceil(piece.shape.angle_rad / _STEP_RAD - 1e-9)
            length = piece.end_station_m - piece.station_m
            places += [piece.station_m + length * i / number for i in range(1, number)]
        low, high = sorted((piece.station_m, piece.end_station_m))
        inside = sorted({p for p in places if low < p < high}, reverse=piece.station_m > low)
        rest = piece
        for place in inside:
            *before, rest = split_piece(rest, place)
            yield from before
        yield rest


def _carry(stop: StopValue, piece: Piece, job: Job) -> StopValue:
    """Return the smallest tension behind a piece for a tension before it; 0 stays, none helps."""
    if not stop.stop_n or isinstance(piece, CornerPiece):
        return stop
    weight = job.pulling_weight_n_per_m
    (pulled,) = pull_string([piece], weight, least_frictions([piece], job), stop.stop_n)
    if pulled.slack():
        return replace(stop, stop_n=0.0)
    after, rubs = pulled.exit_tension_n, stop.is_rubbed
    if not rubs:
        (smooth,) = pull_string([piece], weight, [0.0], stop.stop_n)
        rubs = abs(smooth.exit_tension_n - after) > _SAME_SHARE * after
    return replace(stop, stop_n=after, is_rubbed=rubs)


def _smaller(one: StopValue, other: StopValue) -> StopValue:
    if one.stop_n is None or other.stop_n is None:
        return other if one.stop_n is None else one
    return other if other.stop_n < one.stop_n * (1.0 - 1e-9) else one
