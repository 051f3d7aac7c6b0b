"""The pulled conductors as one limp, heavy string along any 3D centerline.

    dT/ds = w t_z + k |T kappa n - w z_perp|,   T >= 0                                  (1)

Station s grows in the pulling direction, t is the unit tangent, kappa n the curvature, z up,
z_perp = z - (z·t) t, w the weight per length of all conductors and k the effective friction.
The wall force per length is T kappa n - w z_perp turned round, friction is k times its size, the
weight along the axis is w t_z. Where (1) would give T < 0 the conductors run by themselves and
T stays 0, restarting where w t_z + k |w z_perp| > 0. A corner multiplies T by e^(k a) and has no
weight. No bending stiffness, no dynamic start, no jam.

Straights and arcs in level and vertical planes are exact, tilted arcs are integrated to about
1e-14; slack and the change of contact side are found, not stepped over. Going backwards over
the reversed pieces with -k gives the string held back by a brake (see `pulls`).

Source: the capstan equation with weight, derived for this program. In drilling the same law is
the soft-string torque-and-drag model of Johancsik, Friesen and Dawson, 1984.

Longer than most modules: pieces, the march over them and what is read off it share one convention
of place and direction, which no other module should have to know.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, ceil, exp, hypot, inf, isfinite, radians

import numpy as np
from numpy.typing import ArrayLike

from analyzer.errors import InputError, SolverError
from analyzer.geometry.centerline import CORNER_TOLERANCE_RAD, Centerline, angle_between
from analyzer.geometry.segments import Arc, Floats, Segment, Straight, cross
from analyzer.pulling.pressed_arc import trace_pressed_arc
from analyzer.pulling.stretches import (
    ArcShape,
    Slack,
    Stretch,
    trace_arc,
    trace_straight,
)
from analyzer.pulling.tilted_arc import MAX_PANEL_RAD

__all__ = [
    "ArcPiece",
    "ArcTension",
    "CornerPiece",
    "Piece",
    "PressedFriction",
    "ProfilePoint",
    "StraightPiece",
    "StringPull",
    "pieces_between",
    "pull_string",
    "reversed_pieces",
    "split_piece",
]

_PROFILE_STEP_RAD = radians(5.0)
_SHORTEST_M = 1e-9
_STATION_M = 1e-6
_TOO_LARGE = "the tension grows beyond any number: check friction, weight and the number of bends"


@dataclass(frozen=True, slots=True)
class StraightPiece:
    """A straight as the string meets it.

    Attributes
    ----------
    station_m, end_station_m : float
        Stations of the run where the string enters and leaves it. [m]
    length_m : float
        Its length. [m]
    up, across : float
        Vertical and horizontal part of the unit tangent, in the direction of the pull.
    """

    station_m: float
    end_station_m: float
    length_m: float
    up: float
    across: float

    def station_at(self, place: float) -> float:
        """Return the station at a distance from where the string enters. [m]"""
        return _between(self.station_m, self.end_station_m, place, self.length_m)

    def place_at(self, station_m: float) -> float:
        """Return the distance from where the string enters to a station. [m]"""
        return _between(0.0, self.length_m, station_m - self.station_m, _width(self))


@dataclass(frozen=True, slots=True)
class ArcPiece:
    """An arc as the string meets it: stations as for a straight, and its `shape`."""

    station_m: float
    end_station_m: float
    shape: ArcShape

    def station_at(self, place: float) -> float:
        """Return the station at an angle from where the string enters. [m]"""
        return _between(self.station_m, self.end_station_m, place, self.shape.angle_rad)

    def place_at(self, station_m: float) -> float:
        """Return the angle from where the string enters to a station. [rad]"""
        return _between(0.0, self.shape.angle_rad, station_m - self.station_m, _width(self))


@dataclass(frozen=True, slots=True)
class CornerPiece:
    """A corner passed through: its station [m] and angle [rad]; it has no length."""

    station_m: float
    angle_rad: float

    @property
    def end_station_m(self) -> float:
        """The same station. [m]"""
        return self.station_m


Piece = StraightPiece | ArcPiece | CornerPiece


@dataclass(frozen=True, slots=True)
class PressedFriction:
    """Friction of arcs where the conductors press harder than a threshold.

    Attributes
    ----------
    friction : (pieces, n) float
        Effective friction there for each result; not above the ordinary one.
    bearing_n_per_m : float
        T/R at the threshold. [N/m]
    """

    friction: Floats
    bearing_n_per_m: float


@dataclass(frozen=True, slots=True)
class ProfilePoint:
    """Tension at a station, and the bend radius there (None on a straight). [m] [N] [m]"""

    station_m: float
    tension_n: float
    radius_m: float | None


@dataclass(frozen=True, slots=True)
class ArcTension:
    """Greatest tension in one arc and its station, with middle and radius of the arc. [m] [N]"""

    middle_m: float
    radius_m: float
    tension_n: float
    station_m: float


@dataclass(frozen=True, slots=True)
class StringPull:
    """The string pulled through pieces at one friction.

    Attributes
    ----------
    pieces : tuple of Piece
        In the direction of the pull.
    feed_tension_n : float
        Tension where it enters the first piece. [N]
    exit_tension_n : float
        Tension where it leaves the last piece. [N]
    stretches : tuple of (int, Stretch)
        Index of the piece and stretch, in the direction of the pull; corners have none.
    corners : tuple of (float, float)
        Tension before and after each corner, in order. [N]
    """

    pieces: tuple[Piece, ...]
    feed_tension_n: float
    exit_tension_n: float
    stretches: tuple[tuple[int, Stretch], ...]
    corners: tuple[tuple[float, float], ...]

    def tensions_at(self, station_m: ArrayLike) -> tuple[float, ...]:
        """Return the tension at stations; at a corner, the one after it. [N]

        Raises
        ------
        InputError
            If a station lies outside the pieces.
        """
        return tuple(self._tension_at(float(s)) for s in np.atleast_1d(np.asarray(station_m)))

    def _tension_at(self, station_m: float) -> float:
        low, high = sorted((self.pieces[0].station_m, self.pieces[-1].end_station_m))
        if not low - _STATION_M <= station_m <= high + _STATION_M:
            raise InputError(f"station {station_m:.6g} m lies outside the pull")
        station_m = min(max(station_m, low), high)
        tension = self.feed_tension_n
        for index, stretch in self.stretches:
            piece = self.pieces[index]
            if isinstance(piece, CornerPiece) or not _holds(piece, station_m):
                continue
            place = piece.place_at(station_m)
            if stretch.start <= place:
                tension = stretch.form.tension_at(min(place, stretch.end))
        return max(tension, 0.0)

    def greatest(self, *, prefer_last: bool = False) -> tuple[float, float]:
        """Return the greatest tension [N] and its station [m]; of equals the first (or last)."""
        station = self.pieces[0].station_m if self.pieces else 0.0
        best, where = self.feed_tension_n, station
        for tension, station in self._candidates():
            if tension > best or (prefer_last and tension == best):
                best, where = tension, station
        return best, where

    def greatest_bearing(self, *, prefer_last: bool = False) -> tuple[float, float] | None:
        """Return the greatest T/R in arcs [N/m] and its station [m]; None without arcs."""
        best: tuple[float, float] | None = None
        for index, stretch in self.stretches:
            piece = self.pieces[index]
            if not isinstance(piece, ArcPiece):
                continue
            for tension, place in _extremes(stretch):
                value = tension / piece.shape.radius_m
                if best is None or value > best[0] or (prefer_last and value == best[0]):
                    best = (value, piece.station_at(place))
        return best

    def arc_tensions(self) -> tuple[ArcTension, ...]:
        """Return the greatest tension in each arc, in order of travel."""
        greatest: dict[int, ArcTension] = {}
        for index, stretch in self.stretches:
            piece = self.pieces[index]
            if not isinstance(piece, ArcPiece):
                continue
            tension, place = max(_extremes(stretch))
            if index not in greatest or tension > greatest[index].tension_n:
                middle = 0.5 * (piece.station_m + piece.end_station_m)
                greatest[index] = ArcTension(
                    middle, piece.shape.radius_m, tension, piece.station_at(place)
                )
        return tuple(greatest.values())

    def slack(self) -> tuple[tuple[float, float], ...]:
        """Return the stretches of slack as (lower, higher) station, in order of travel. [m]"""
        found: list[tuple[float, float]] = []
        for index, stretch in self.stretches:
            if not isinstance(stretch.form, Slack):
                continue
            piece = self.pieces[index]
            if isinstance(piece, CornerPiece):
                continue
            ends = sorted((piece.station_at(stretch.start), piece.station_at(stretch.end)))
            low, high = ends
            if found and abs(found[-1][1] - low) <= _SHORTEST_M:
                found[-1] = (found[-1][0], high)
            elif found and abs(found[-1][0] - high) <= _SHORTEST_M:
                found[-1] = (low, found[-1][1])
            else:
                found.append((low, high))
        return tuple(pair for pair in found if pair[1] > pair[0])

    def profile(self) -> tuple[ProfilePoint, ...]:
        """Return tension along the pull, in order of travel.

        Every straight and arc gives both its ends, so joints appear twice; also contact changes,
        start and end of slack, extremes inside, and at most 5° of bend between.
        """
        points: list[ProfilePoint] = []
        before, first = -1, 0
        for index, stretch in self.stretches:
            piece = self.pieces[index]
            if isinstance(piece, CornerPiece):
                continue
            radius = piece.shape.radius_m if isinstance(piece, ArcPiece) else None
            inside = {*stretch.form.turning_places(), *stretch.form.contact_places()}
            places = [stretch.start, *sorted(inside), stretch.end]
            if radius is not None:
                places = _refined(places, _PROFILE_STEP_RAD)
            if index != before:
                first = len(points)
            for place in places[1:] if index == before else places:
                if place == stretch.start:
                    tension = stretch.entry_tension_n
                elif place == stretch.end:
                    tension = stretch.exit_tension_n
                else:
                    tension = max(stretch.form.tension_at(place), 0.0)
                point = ProfilePoint(piece.station_at(place), tension, radius)
                last = points[-1].station_m if len(points) > first else inf
                if abs(last - point.station_m) <= _SHORTEST_M:
                    if len(points) > first + 1:  # both ends of a piece stay
                        points[-1] = point
                    continue
                points.append(point)
            before = index
        return tuple(points)

    def _candidates(self) -> Iterable[tuple[float, float]]:
        """Tension and station of every place that can be the greatest, in order of travel."""
        corner = iter(self.corners)
        stretches = iter((*self.stretches, (len(self.pieces), None)))
        index, stretch = next(stretches)
        for number, piece in enumerate(self.pieces):
            if isinstance(piece, CornerPiece):
                before, after = next(corner)
                yield before, piece.station_m
                yield after, piece.station_m
                continue
            while index == number and stretch is not None:
                for tension, place in _extremes(stretch):
                    yield tension, piece.station_at(place)
                index, stretch = next(stretches)


def pieces_between(centerline: Centerline, from_m: float, to_m: float) -> tuple[Piece, ...]:
    """Return the pieces between two stations, forward, corners at either end left out.

    Parameters
    ----------
    centerline : Centerline
        Straights and arcs.
    from_m, to_m : float
        Lower and upper station. [m]
    """
    pieces: list[Piece] = []
    stations = centerline.stations_m
    for index, segment in enumerate(centerline.segments):
        start, end = stations[index], stations[index + 1]
        if index and from_m + _STATION_M < start < to_m - _STATION_M:
            angle = angle_between(centerline.segments[index - 1].end_tangent, segment.start_tangent)
            if angle > CORNER_TOLERANCE_RAD:
                pieces.append(CornerPiece(start, angle))
        low, high = max(start, from_m), min(end, to_m)
        is_whole = low == start and high == end
        if is_whole or high - low > _SHORTEST_M:
            pieces.append(_piece(segment, start, end, low, high))
    return tuple(pieces)


def reversed_pieces(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Return the same pieces met from the other end."""
    return tuple(_reversed(piece) for piece in reversed(pieces))


def split_piece(piece: Piece, station_m: float) -> tuple[Piece, ...]:
    """Return a piece cut at a station; whole where the station is not inside it."""
    if isinstance(piece, CornerPiece):
        return (piece,)
    low, high = sorted((piece.station_m, piece.end_station_m))
    if not low + _SHORTEST_M < station_m < high - _SHORTEST_M:
        return (piece,)
    place = piece.place_at(station_m)
    if isinstance(piece, StraightPiece):
        rest = piece.length_m - place
        return (
            replace(piece, end_station_m=station_m, length_m=place),
            replace(piece, station_m=station_m, length_m=rest),
        )
    shape = piece.shape
    return (
        replace(piece, end_station_m=station_m, shape=replace(shape, angle_rad=place)),
        replace(
            piece,
            station_m=station_m,
            shape=replace(
                shape, angle_rad=shape.angle_rad - place, phase_rad=shape.phase_rad + place
            ),
        ),
    )


def pull_string(
    pieces: Sequence[Piece],
    weight_n_per_m: float,
    friction: ArrayLike,
    feed_tension_n: ArrayLike,
    max_panel_rad: float = MAX_PANEL_RAD,
    pressed: PressedFriction | None = None,
) -> tuple[StringPull, ...]:
    """Pull the string through pieces, at several frictions in one call.

    Parameters
    ----------
    pieces : sequence of Piece
        In the direction of the pull.
    weight_n_per_m : float
        Weight per length of all conductors, zero or more. [N/m]
    friction : (n,) or (pieces, n) float
        Effective friction k of each result, the same everywhere or for each piece.
    feed_tension_n : float or (n,) float
        Tension where the string enters, zero or more. [N]
    max_panel_rad : float
        Longest step of the integration on tilted arcs. [rad]
    pressed : PressedFriction, optional
        Smaller friction of arcs above a threshold of sidewall pressure. The pieces of a result
        are then cut where its tension passes the threshold.

    Returns
    -------
    tuple of StringPull
        One for each friction.

    Raises
    ------
    InputError
        If a number is negative or not finite, or the shapes do not fit.
    SolverError
        If the tension grows beyond any number.
    """
    k = np.asarray(friction, dtype=float)
    if k.ndim < 2:
        k = np.tile(np.atleast_1d(k), (len(pieces), 1))
    feed = np.asarray(feed_tension_n, dtype=float)
    count = k.shape[1]
    if k.shape[0] != len(pieces) or (feed.ndim and feed.shape != (count,)):
        raise InputError(f"friction of shape {k.shape} does not fit {len(pieces)} pieces")
    if not (np.isfinite(k).all() and np.isfinite(feed).all() and weight_n_per_m >= 0.0):
        raise InputError("friction and feed tension must be finite, weight zero or more")
    if feed.size and float(feed.min()) < 0.0:
        raise InputError("the feed tension is zero or more")
    start = np.broadcast_to(feed, (count,)).tolist()
    try:
        if pressed is None:
            pulls = _pull(tuple(pieces), weight_n_per_m, k, start, max_panel_rad)
        else:
            pulls = tuple(
                _pull_pressed(
                    tuple(pieces), weight_n_per_m, k[:, i], start[i], max_panel_rad,
                    pressed.friction[:, i], pressed.bearing_n_per_m,
                )
                for i in range(count)
            )  # fmt: skip
    except OverflowError as error:
        raise SolverError(_TOO_LARGE) from error
    if not all(isfinite(item.exit_tension_n) for item in pulls):
        raise SolverError(_TOO_LARGE)
    return pulls


def _pull(
    pieces: tuple[Piece, ...], weight: float, k: Floats, start: list[float], max_panel_rad: float
) -> tuple[StringPull, ...]:
    count = len(start)
    tension = list(start)
    stretches: list[list[tuple[int, Stretch]]] = [[] for _ in range(count)]
    corners: list[list[tuple[float, float]]] = [[] for _ in range(count)]
    for index, piece in enumerate(pieces):
        row = k[index].tolist()
        if isinstance(piece, CornerPiece):
            for i in range(count):
                after = tension[i] * exp(row[i] * piece.angle_rad)
                corners[i].append((tension[i], after))
                tension[i] = after
            continue
        if isinstance(piece, StraightPiece):
            traced = tuple(
                trace_straight(piece.length_m, piece.up, piece.across, weight, t, f)
                for t, f in zip(tension, row, strict=True)
            )
        else:
            traced = trace_arc(piece.shape, weight, tension, row, max_panel_rad)
        for i, found in enumerate(traced):
            stretches[i].extend((index, stretch) for stretch in found)
            tension[i] = found[-1].exit_tension_n
    return tuple(
        StringPull(pieces, start[i], tension[i], tuple(stretches[i]), tuple(corners[i]))
        for i in range(count)
    )


def _pull_pressed(
    pieces: tuple[Piece, ...],
    weight: float,
    k: Floats,
    start: float,
    max_panel_rad: float,
    pressed_k: Floats,
    bearing: float,
) -> StringPull:
    """Pull at one friction, arcs cut where the tension passes the threshold."""
    tension = start
    cut: list[Piece] = []
    stretches: list[tuple[int, Stretch]] = []
    corners: list[tuple[float, float]] = []
    for piece, friction, lower in zip(pieces, k.tolist(), pressed_k.tolist(), strict=True):
        if not isinstance(piece, ArcPiece) or lower >= friction:
            (pulled,) = _pull((piece,), weight, np.array([[friction]]), [tension], max_panel_rad)
            stretches += [(len(cut), stretch) for _, stretch in pulled.stretches]
            corners += pulled.corners
            cut.append(piece)
            tension = pulled.exit_tension_n
            continue
        shape = piece.shape
        parts = trace_pressed_arc(
            shape, weight, tension, friction, lower, bearing * shape.radius_m, max_panel_rad
        )
        for begin, end, found in parts:
            turned = replace(shape, angle_rad=end - begin, phase_rad=shape.phase_rad + begin)
            stretches += [(len(cut), stretch) for stretch in found]
            cut.append(ArcPiece(piece.station_at(begin), piece.station_at(end), turned))
            tension = found[-1].exit_tension_n
    return StringPull(tuple(cut), start, tension, tuple(stretches), tuple(corners))


def _piece(segment: Segment, start: float, end: float, low: float, high: float) -> Piece:
    if isinstance(segment, Straight):
        t = segment.start_tangent
        return StraightPiece(low, high, high - low, t[2], hypot(t[0], t[1]))
    shape = _shape(segment)
    if low == start and high == end:
        return ArcPiece(low, high, shape)
    before = (low - start) / shape.radius_m
    angle = (high - low) / shape.radius_m
    return ArcPiece(low, high, replace(shape, angle_rad=angle, phase_rad=shape.phase_rad + before))


def _shape(arc: Arc) -> ArcShape:
    t, n = arc.start_tangent, arc.start_normal
    off = abs(cross(t, n)[2])
    return ArcShape(arc.angle_rad, arc.radius_m, atan2(t[2], n[2]), hypot(t[2], n[2]), off)


def _reversed(piece: Piece) -> Piece:
    if isinstance(piece, CornerPiece):
        return piece
    ends = {"station_m": piece.end_station_m, "end_station_m": piece.station_m}
    if isinstance(piece, StraightPiece):
        return replace(piece, **ends, up=-piece.up)
    shape = piece.shape
    turned = replace(shape, phase_rad=-(shape.phase_rad + shape.angle_rad))
    return ArcPiece(piece.end_station_m, piece.station_m, turned)


def _between(first: float, last: float, place: float, whole: float) -> float:
    """Map a place from [0, whole] to [first, last], both ends exactly."""
    if place == whole:
        return last
    return first + (last - first) * (place / whole)


def _width(piece: StraightPiece | ArcPiece) -> float:
    return piece.end_station_m - piece.station_m


def _holds(piece: StraightPiece | ArcPiece, station_m: float) -> bool:
    low, high = sorted((piece.station_m, piece.end_station_m))
    return low <= station_m <= high


def _extremes(stretch: Stretch) -> Iterable[tuple[float, float]]:
    yield stretch.entry_tension_n, stretch.start
    for place in stretch.form.turning_places():
        yield stretch.form.tension_at(place), place
    yield stretch.exit_tension_n, stretch.end


def _refined(places: Sequence[float], step: float) -> list[float]:
    """Places with evenly spaced ones between, no two further apart than the step."""
    result = [places[0]]
    for low, high in pairwise(places):
        count = max(1, ceil((high - low) / step * (1.0 - 1e-9)))
        result.extend(low + (high - low) * i / count for i in range(1, count))
        result.append(high)
    return result
