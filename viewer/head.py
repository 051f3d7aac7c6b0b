"""The pulling head on its way: where it is, what it has passed, and what lies ahead of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analyzer.errors import InputError
from analyzer.pulling.results import Direction
from viewer.palette import Theme, rgb
from viewer.scene import Scene
from viewer.traces import LegTrace

__all__ = [
    "Head",
    "colors_to_head",
    "curve_at",
    "head_at",
    "head_at_station",
    "legs_to_head",
    "sidewall_at",
    "travel_order",
]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Head:
    """The pulling head at one moment.

    Attributes
    ----------
    leg : str
        Leg it is in; legs before it in order of travel are pulled, those after it are not.
    station_m : float
        Where it is. [m]
    tension_n : float
        Tension there. [N]
    walked_m : float
        Length pulled so far, all legs together. [m]
    """

    leg: str
    station_m: float
    tension_n: float
    walked_m: float


def travel_order(scene: Scene) -> tuple[LegTrace, ...]:
    """Return the legs in the order they are pulled in pictures: from the left of the chart."""
    return scene.legs if scene.feed_left else scene.legs[::-1]


def head_at(scene: Scene, walked_m: float) -> Head:
    """Return the head after a length pulled.

    Raises
    ------
    InputError
        If the length is not finite.
    """
    if not np.isfinite(walked_m):
        raise InputError(f"the head cannot be {walked_m} m along the run")
    rest = min(max(walked_m, 0.0), scene.length_m)
    done = 0.0
    legs = travel_order(scene)
    for leg in legs:
        size = leg.end_m - leg.start_m
        if rest <= done + size or leg is legs[-1]:
            into = min(rest - done, size)
            forward = leg.direction is Direction.FORWARD
            station = leg.start_m + into if forward else leg.end_m - into
            return Head(leg.name, station, _tension(leg, station), done + into)
        done += size
    raise InputError("a run without legs has no head")


def head_at_station(scene: Scene, station_m: float) -> Head:
    """Return the head when it stands at a station; at a box, on arriving there.

    Parameters
    ----------
    scene : Scene
        The run and the direction that it is pulled in.
    station_m : float
        Where the head stands. [m]

    Raises
    ------
    InputError
        If the station lies outside the run.
    """
    done = 0.0
    for leg in travel_order(scene):
        if leg.start_m <= station_m <= leg.end_m:
            forward = leg.direction is Direction.FORWARD
            into = station_m - leg.start_m if forward else leg.end_m - station_m
            return head_at(scene, done + into)
        done += leg.end_m - leg.start_m
    raise InputError(f"station {station_m:.6g} m lies outside the run")


def sidewall_at(scene: Scene, head: Head) -> float | None:
    """Return the sidewall pressure where the head stands in a bend, else None. [N/m]

    Looked up between the profile's entries inside that bend.
    """
    bend = next((b for b in scene.bends if b.station_m <= head.station_m <= b.end_station_m), None)
    if bend is None:
        return None
    item = next(item for item in scene.shown.legs if item.leg.name == head.leg)
    trace = next(leg for leg in scene.legs if leg.name == head.leg)
    forward = trace.direction is Direction.FORWARD
    profile = (item.forward if forward else item.reverse).profile
    pairs = sorted(
        (station, side)
        for station, side in zip(profile.station_m, profile.sidewall_n_per_m, strict=True)
        if bend.station_m - 1e-6 <= station <= bend.end_station_m + 1e-6 and side > 0
    )
    if not pairs:
        return None
    stations, sides = zip(*pairs, strict=True)
    return float(np.interp(head.station_m, stations, sides))


def curve_at(scene: Scene, head: Head) -> float:
    """Return what the chart draws where the head stands. [N] [N/m] [1]"""
    leg = next(leg for leg in scene.legs if leg.name == head.leg)
    return float(np.interp(head.station_m, leg.station_m, leg.curve(scene.quantity)))


def _tension(leg: LegTrace, station_m: float) -> float:
    return float(np.interp(station_m, leg.station_m, leg.tension_n))


def legs_to_head(scene: Scene, head: Head | None) -> tuple[tuple[LegTrace, Bools], ...]:
    """Return every leg, cut with a pair of samples at the head, and which samples it has passed.

    Without a head everything counts as passed.
    """
    if head is None:
        return tuple((leg, np.ones(len(leg.station_m), dtype=bool)) for leg in scene.legs)
    names = [leg.name for leg in travel_order(scene)]
    now = names.index(head.leg)
    found = []
    for leg in scene.legs:
        turn = names.index(leg.name)
        if turn != now:
            found.append((leg, np.full(len(leg.station_m), turn < now)))
            continue
        found.append(_cut(leg, head))
    return tuple(found)


def _cut(leg: LegTrace, head: Head) -> tuple[LegTrace, Bools]:
    at = int(np.searchsorted(leg.station_m, head.station_m, side="right"))
    at = min(max(at, 1), len(leg.station_m) - 1)
    low, high = leg.station_m[at - 1], leg.station_m[at]
    share = 0.0 if high <= low else (head.station_m - low) / (high - low)

    def paired(values: Floats) -> Floats:
        middle = values[at - 1] * (1 - share) + values[at] * share
        return np.insert(values, at, [middle, middle], axis=0)

    cut = leg.sampled(paired)
    unit = cut.tangents / np.linalg.norm(cut.tangents, axis=1)[:, None]
    cut = replace(cut, tangents=unit)
    forward = leg.direction is Direction.FORWARD
    passed = np.arange(len(cut.station_m)) <= at
    return cut, passed if forward else ~passed


def colors_to_head(scene: Scene, leg: LegTrace, passed: Bools, theme: Theme) -> Floats:
    """Return the colors of a leg's samples, neutral where the head has not been yet.

    Parameters
    ----------
    scene : Scene
        For its color scale.
    leg : LegTrace
        The leg, with n samples.
    passed : (n,) bool
        Which of them the head has passed.
    theme : Theme
        For the neutral color.

    Returns
    -------
    (n, 3) float
        From 0 to 1.
    """
    colors = scene.color_scale.colors(leg.values)
    return np.where(passed[:, None], colors, rgb(theme.not_reached))
