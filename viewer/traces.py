"""Legs as they are drawn: samples of place, direction and tension along each, and their colors."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analyzer.analysis import RunAnalysis
from analyzer.geometry.segments import Arc
from analyzer.pulling.results import Direction, Profile
from viewer.palette import plain_colors, share_colors

__all__ = ["LegTrace", "TensionScale", "sampled_trace"]

Floats = NDArray[np.float64]

_ARC_STEP_M = 0.025
_STRAIGHT_STEP_M = 0.5
_SHARE_STEP = 0.01
_MOST_SAMPLES = 3000


@dataclass(frozen=True, slots=True)
class TensionScale:
    """How tension becomes color.

    Attributes
    ----------
    limit_n : float or None
        Smallest tension limit that could be checked; None where none is known. [N]
    limit_of : str
        What that limit protects, such as ``conductors``.
    top_n : float
        Where the plain map ends when no limit is known. [N]
    """

    limit_n: float | None
    limit_of: str
    top_n: float

    def shares(self, tension_n: ArrayLike) -> Floats | None:
        """Return tension over the limit, or None where no limit is known."""
        if self.limit_n is None:
            return None
        return np.atleast_1d(np.asarray(tension_n, dtype=float)) / self.limit_n

    def colors(self, tension_n: ArrayLike) -> Floats:
        """Return the color of tensions, shape (n, 3): the one function all parts use."""
        shares = self.shares(tension_n)
        if shares is not None:
            return share_colors(shares)
        values = np.atleast_1d(np.asarray(tension_n, dtype=float))
        return plain_colors(values / self.top_n)


@dataclass(frozen=True, slots=True)
class LegTrace:
    """One leg as drawn: samples by rising station, and its figures at the friction shown.

    Attributes
    ----------
    direction : Direction
        The way it is pulled in this picture.
    station_m, tension_n : (n,) float
        Samples; a station appears twice where tension or color jumps. [m] [N]
    points_m, tangents : (n, 3) float
        Place and unit tangent of each sample. [m]
    """

    name: str
    direction: Direction
    feed_at: str
    pull_at: str
    length_m: float
    bend_total_rad: float
    max_tension_n: float
    max_station_m: float
    high_max_tension_n: float
    station_m: Floats
    points_m: Floats
    tangents: Floats
    tension_n: Floats

    @property
    def start_m(self) -> float:
        """Lower station. [m]"""
        return float(self.station_m[0])

    @property
    def end_m(self) -> float:
        """Higher station. [m]"""
        return float(self.station_m[-1])


def sampled_trace(
    run_analysis: RunAnalysis, trace: LegTrace, profile: Profile, scale: TensionScale
) -> LegTrace:
    """Return a leg with its samples: the profile's own entries and enough places between them.

    Parameters
    ----------
    run_analysis : RunAnalysis
        The run, for its centerline.
    trace : LegTrace
        The leg without samples.
    profile : Profile
        Its tension in order of travel.
    scale : TensionScale
        Colors to be shown: they decide how fine the samples lie.
    """
    centerline = run_analysis.run.centerline
    stations = np.asarray(profile.station_m, dtype=float)
    tensions = np.asarray(profile.tension_n, dtype=float)
    if trace.direction is Direction.REVERSE:
        stations, tensions = stations[::-1], tensions[::-1]
    low, high = float(stations[0]), float(stations[-1])
    places = _places(run_analysis, low, high)
    found_s: list[Floats] = []
    found_t: list[Floats] = []
    for s, t in _unbroken(stations, tensions):
        within = places[(places > s[0]) & (places < s[-1])]
        sample = np.union1d(s, within)
        tension = np.interp(sample, s, t)
        sample, tension = _finer(sample, tension, scale)
        sample, tension = _cut_at_limit(sample, tension, scale)
        found_s.append(sample)
        found_t.append(tension)
    station = np.concatenate(found_s)
    points = centerline.points_at(station)
    # a tangent just inside the leg, so that a corner in an end box does not turn the tube
    inner = np.clip(station, low + 1e-7, high - 1e-7)
    tangents = centerline.tangents_at(inner)
    return replace(
        trace,
        station_m=station,
        tension_n=np.concatenate(found_t),
        points_m=points,
        tangents=tangents,
    )


def _places(run_analysis: RunAnalysis, low: float, high: float) -> Floats:
    """Stations at which the tube needs a ring of corners to look round."""
    step = max(_ARC_STEP_M, (high - low) / _MOST_SAMPLES)
    found = []
    joints = run_analysis.run.centerline.stations_m
    for (start, end), segment in zip(
        pairwise(joints), run_analysis.run.centerline.segments, strict=True
    ):
        if end <= low or start >= high:
            continue
        if isinstance(segment, Arc):
            # never coarser than 5 degrees, however long the run
            count = max((end - start) / step, np.degrees(segment.angle_rad) / 5.0)
        else:
            count = (end - start) / max(_STRAIGHT_STEP_M, (high - low) / 400)
        found.append(np.linspace(start, end, int(np.ceil(count)) + 1))
    return np.unique(np.concatenate(found))


def _unbroken(stations: Floats, tensions: Floats) -> list[tuple[Floats, Floats]]:
    """Split a profile where tension jumps at one station; drop entries that say nothing new."""
    pieces = []
    start = 0
    same = np.diff(stations) <= 0
    jump = same & (np.abs(np.diff(tensions)) > 1e-9 * max(float(tensions.max()), 1e-9))
    for index in np.flatnonzero(jump).tolist():
        pieces.append((start, index + 1))
        start = index + 1
    pieces.append((start, len(stations)))
    result = []
    for a, b in pieces:
        s, keep = np.unique(stations[a:b], return_index=True)
        result.append((s, tensions[a:b][keep]))
    return result


def _finer(station: Floats, tension: Floats, scale: TensionScale) -> tuple[Floats, Floats]:
    """Add samples so that color never steps by more than a hundredth of the map's unit."""
    if len(station) < 2:
        return station, tension
    size = scale.limit_n if scale.limit_n is not None else scale.top_n
    steps = np.ceil(np.abs(np.diff(tension)) / (size * _SHARE_STEP)).astype(int)
    steps = np.clip(steps, 1, 200)
    extra = [
        np.linspace(a, b, n + 1)[1:-1]
        for a, b, n in zip(station[:-1], station[1:], steps, strict=True)
        if n > 1
    ]
    if not extra:
        return station, tension
    finer = np.union1d(station, np.concatenate(extra))
    return finer, np.interp(finer, station, tension)


def _cut_at_limit(station: Floats, tension: Floats, scale: TensionScale) -> tuple[Floats, Floats]:
    """Put a pair of samples where tension crosses the limit, so that color steps there."""
    if scale.limit_n is None:
        return station, tension
    limit = scale.limit_n
    over = tension > limit
    at = np.flatnonzero(over[1:] != over[:-1])
    if not len(at):
        return station, tension
    new_s, new_t, where = [], [], []
    beyond = float(np.nextafter(limit, np.inf))
    for index in at:
        t0, t1 = tension[index], tension[index + 1]
        fraction = (limit - t0) / (t1 - t0)
        place = station[index] + fraction * (station[index + 1] - station[index])
        pair = [limit, beyond] if t1 > t0 else [beyond, limit]
        new_s += [place, place]
        new_t += pair
        where += [index + 1, index + 1]
    return np.insert(station, where, new_s), np.insert(tension, where, new_t)
