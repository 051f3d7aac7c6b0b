"""Legs as they are drawn: samples of place, direction and tension along each, and their colors."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analyzer.analysis import RunAnalysis
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc
from analyzer.pulling.results import Direction, Profile
from viewer.palette import MAP_TOP, plain_colors, share_colors
from viewer.quantities import ColorScale, Quantity

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

    @property
    def in_color(self) -> ColorScale:
        """The same scale as one of several quantities."""
        return ColorScale(Quantity.TENSION, self.limit_n, self.limit_of, 0.0, self.top_n)

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
    name, feed_at, pull_at : str
        Name of the leg, and of the fittings where conductors enter and where the head leaves.
    direction : Direction
        The way it is pulled in this picture.
    length_m, bend_total_rad : float
        Its length, and the sum of its bends. [m] [rad]
    max_tension_n, max_station_m, high_max_tension_n : float
        Greatest tension, its place, and the same at high friction. [N] [m]
    station_m, tension_n : (n,) float
        Samples; a station appears twice where tension or color jumps. [m] [N]
    points_m, tangents : (n, 3) float
        Place and unit tangent of each sample. [m]
    values : (n,) float
        The quantity shown in color. [N] [N/m] [1] [m]
    peak, peak_station_m, high_peak : float
        Greatest value of the quantity the chart draws, its place, and the same at high friction.
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
    values: Floats
    peak: float
    peak_station_m: float
    high_peak: float

    def sampled(self, change: Callable[[Floats], Floats]) -> LegTrace:
        """Return the leg with one change made to every array of samples."""
        return replace(
            self,
            station_m=change(self.station_m),
            points_m=change(self.points_m),
            tangents=change(self.tangents),
            tension_n=change(self.tension_n),
            values=change(self.values),
        )

    def curve(self, quantity: Quantity) -> Floats:
        """Return what the chart draws, shape (n,): the quantity shown, or tension."""
        return self.values if quantity.has_curve else self.tension_n

    @property
    def start_m(self) -> float:
        """Lower station. [m]"""
        return float(self.station_m[0])

    @property
    def end_m(self) -> float:
        """Higher station. [m]"""
        return float(self.station_m[-1])


def sampled_trace(
    run_analysis: RunAnalysis,
    trace: LegTrace,
    profile: Profile,
    scale: ColorScale,
    limits: tuple[float | None, float | None] = (None, None),
) -> LegTrace:
    """Return a leg with its samples: the profile's own entries and enough places between them.

    Parameters
    ----------
    run_analysis : RunAnalysis
        The run, for its centerline.
    trace : LegTrace
        The leg without samples.
    profile : Profile
        Its tension and sidewall pressure in order of travel.
    scale : ColorScale
        Colors to be shown: they decide how fine the samples lie.
    limits : two float or None
        Limits of tension and of sidewall pressure, for the share of limit. [N] [N/m]
    """
    centerline = run_analysis.run.centerline
    table = np.array([profile.station_m, profile.tension_n, profile.sidewall_n_per_m])
    if trace.direction is Direction.REVERSE:
        table = table[:, ::-1]
    low, high = float(table[0, 0]), float(table[0, -1])
    places = _places(run_analysis, low, high)
    found: list[Floats] = []
    for piece in _unbroken(table, scale.quantity):
        s = piece[0]
        sample = np.union1d(s, places[(places > s[0]) & (places < s[-1])])
        rows = _between(sample, piece)
        values = _values(rows, scale, limits, centerline)
        finer = _finer(sample, values, scale)
        if len(finer) > len(sample):
            rows = _between(finer, piece)
            values = _values(rows, scale, limits, centerline)
        found.append(_cut_at_limit(np.vstack([rows, values]), scale))
    station, tension, _, values = np.concatenate(found, axis=1)
    points = centerline.points_at(station)
    # a tangent just inside the leg, so that a corner in an end box does not turn the tube
    inner = np.clip(station, low + 1e-7, high - 1e-7)
    tangents = centerline.tangents_at(inner)
    if scale.quantity is Quantity.TENSION:
        tension = values
    return replace(
        trace,
        station_m=station,
        tension_n=tension,
        points_m=points,
        tangents=tangents,
        values=values,
    )


def _between(station: Floats, piece: Floats) -> Floats:
    """Station, tension and sidewall pressure at stations within an unbroken piece."""
    return np.array([station, *(np.interp(station, piece[0], row) for row in piece[1:])])


def _values(
    rows: Floats,
    scale: ColorScale,
    limits: tuple[float | None, float | None],
    centerline: Centerline,
) -> Floats:
    """Return the quantity of a scale at samples."""
    station, tension, side = rows
    known = scale.values(station, tension, side)
    if known is not None:
        return known
    if scale.quantity is Quantity.ELEVATION:
        return np.asarray(centerline.points_at(station)[:, 2])
    shares = [
        row / limit for row, limit in zip((tension, side), limits, strict=True) if limit is not None
    ]
    return np.max(shares, axis=0) if shares else np.zeros(len(station))


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


def _unbroken(table: Floats, quantity: Quantity) -> list[Floats]:
    """Split a profile where a value jumps at one station; drop entries that say nothing new.

    Sidewall pressure sets in at once where a bend begins: it splits where it is shown.
    """
    same = np.diff(table[0]) <= 0
    watched = [1, 2] if quantity in (Quantity.SIDEWALL, Quantity.SHARE) else [1]
    jump = np.zeros(len(same), dtype=bool)
    for row in watched:
        # however small beside the greatest value: that of another bend may be a million times it
        jump |= same & (np.diff(table[row]) != 0.0)
    edges = [0, *(np.flatnonzero(jump) + 1).tolist(), table.shape[1]]
    result = []
    for a, b in pairwise(edges):
        _, keep = np.unique(table[0, a:b], return_index=True)
        result.append(table[:, a:b][:, keep])
    return result


def _finer(station: Floats, values: Floats, scale: ColorScale) -> Floats:
    """Add stations so that color never steps by more than a hundredth of the map's unit."""
    if len(station) < 2:
        return station
    size = scale.limit if scale.limit is not None else scale.top - scale.low
    steps = np.ceil(np.abs(np.diff(values)) / (size * _SHARE_STEP))
    if scale.limit is not None:
        # beyond the end of the map color does not change
        steps[np.minimum(values[:-1], values[1:]) >= MAP_TOP * scale.limit] = 1
    steps = np.clip(steps, 1, 200).astype(int)
    extra = [
        np.linspace(a, b, n + 1)[1:-1]
        for a, b, n in zip(station[:-1], station[1:], steps, strict=True)
        if n > 1
    ]
    return np.union1d(station, np.concatenate(extra)) if extra else station


def _cut_at_limit(rows: Floats, scale: ColorScale) -> Floats:
    """Put a pair of samples where the last row crosses the limit, so that color steps there."""
    if scale.limit is None:
        return rows
    limit, values = scale.limit, rows[-1]
    over = values > limit
    at = np.flatnonzero(over[1:] != over[:-1])
    if not len(at):
        return rows
    beyond = float(np.nextafter(limit, np.inf))
    added, where = [], []
    for index in at:
        fraction = (limit - values[index]) / (values[index + 1] - values[index])
        column = rows[:, index] + fraction * (rows[:, index + 1] - rows[:, index])
        pair = (limit, beyond) if values[index + 1] > values[index] else (beyond, limit)
        added += [np.append(column[:-1], value) for value in pair]
        where += [index + 1, index + 1]
    return np.insert(rows, where, np.array(added).T, axis=1)
