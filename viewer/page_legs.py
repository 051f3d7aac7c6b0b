"""Legs between every pair of pull points, pulled both ways at every friction, for the page.

The page composes them when a box is switched; nothing is calculated there. A stretch runs from
one place where the conductors are fed to the next; it holds one leg, or several where fittings
stated as passed through stay in use between. A box switched off is no pull point: the conductors
pass it and degrees count on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analyzer.checks.bend_total import check_bend_totals
from analyzer.checks.directions import better_way
from analyzer.checks.leg_length import check_leg_lengths
from analyzer.checks.sidewall import check_sidewalls
from analyzer.checks.situation import Situation
from analyzer.checks.tension import check_tensions
from analyzer.findings import Verdict
from analyzer.geometry.segments import Arc
from analyzer.job.settings import Friction, Job, Passage
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import Direction, Profile, Pull, PullFigures
from analyzer.reports.words import check_name
from analyzer.route.legs import Leg, split_into_legs
from analyzer.route.run import Fitting, Run
from analyzer.units import show_angle, show_force, show_length, show_pressure
from viewer.page_units import PageUnits
from viewer.traces import TensionScale
from viewer.wording import of_limit

__all__ = [
    "MOST_STRETCHES",
    "Cells",
    "cells_of",
    "friction_names",
    "job_at",
    "stretch_keys",
    "stretch_values",
    "with_stops",
]

Floats = NDArray[np.float64]
Stops = tuple[int, ...]

MOST_STRETCHES = 150
"""With more stretches than this boxes cannot be switched on the page: it would grow too large."""

_CELLS = 420
_ARC_STEP_RAD = np.radians(5.0)


@dataclass(frozen=True, slots=True)
class Cells:
    """The run cut into short cells, on which the page draws its values.

    Attributes
    ----------
    edges_m : (n + 1,) float
        Stations of their ends, joints and fittings included. [m]
    joints_m : tuple of float
        Stations of the joints of segments. [m]
    """

    edges_m: Floats
    joints_m: tuple[float, ...]

    def index(self, station_m: float) -> int:
        """Return the number of the edge at a station."""
        return int(np.argmin(np.abs(self.edges_m - station_m)))


def cells_of(run: Run) -> Cells:
    """Return the cells of a run: fine enough for color, at most 5° of bend each."""
    line = run.centerline
    step = line.length_m / _CELLS
    found = [np.array([fitting.station_m for fitting in run.fittings])]
    for start, segment in zip(line.stations_m[:-1], line.segments, strict=True):
        count = segment.length_m / step
        if isinstance(segment, Arc):
            count = max(count, segment.angle_rad / _ARC_STEP_RAD)
        found.append(start + np.linspace(0.0, segment.length_m, int(np.ceil(count)) + 1))
    edges = np.unique(np.concatenate(found))
    keep = np.concatenate([[True], np.diff(edges) > 1e-7])
    edges = np.clip(edges[keep], 0.0, line.length_m)
    return Cells(edges, tuple(line.stations_m))


def friction_names(job: Job) -> tuple[str, ...]:
    """Return the frictions that can be shown: one where one number was given."""
    return ("low", "expected", "high") if job.pull.friction.is_band else ("expected",)


def job_at(job: Job, name: str) -> Job:
    """Return the job with one friction of its band alone."""
    band = job.pull.friction
    value = float(getattr(band, name))
    return replace(job, pull=replace(job.pull, friction=Friction(value, value, value, band.stated)))


def stretch_keys(stops: Sequence[Fitting]) -> tuple[Stops, ...] | None:
    """Return every stretch that boxes switched on and off can make; None where they are too many.

    Parameters
    ----------
    stops : sequence of Fitting
        Pull points of the run in order, both ends included.
    """
    found: list[Stops] = []
    for keys in _every_stretch(stops):
        found.append(keys)
        if len(found) > MOST_STRETCHES:
            return None
    return tuple(found)


def _every_stretch(stops: Sequence[Fitting]) -> Iterator[Stops]:
    last = len(stops) - 1
    through = [index for index in range(1, last) if stops[index].passage is Passage.THROUGH]
    feeds = [index for index in range(last + 1) if index not in through]
    for start, end in combinations(feeds, 2):
        inner = [index for index in through if start < index < end]
        for count in range(len(inner) + 1):
            for chosen in combinations(inner, count):
                yield (start, *chosen, end)


def with_stops(run: Run, stops: Sequence[Fitting], used: Sequence[int]) -> Run:
    """Return the run with only some of its pull points in use; both ends always are."""
    left_out = {stop.station_m for index, stop in enumerate(stops) if index not in used}
    ends = (run.fittings[0].station_m, run.fittings[-1].station_m)
    return replace(
        run,
        fittings=tuple(
            replace(fitting, pull_point=False)
            if fitting.station_m in left_out and fitting.station_m not in ends
            else fitting
            for fitting in run.fittings
        ),
    )


def stretch_values(
    run: Run,
    stops: Sequence[Fitting],
    keys: Stops,
    job: Job,
    cells: Cells,
    scale: TensionScale,
    sidewall_limit: float | None,
    units: PageUnits,
) -> dict[str, Any]:
    """Return one stretch as plain values: its legs both ways, their texts and curves.

    Parameters
    ----------
    run : Run
        The run.
    stops : sequence of Fitting
        Its pull points.
    keys : tuple of int
        Numbers of the stops of this stretch.
    job : Job
        Conductors, friction, limits.
    cells : Cells
        Where curves are sampled.
    scale : TensionScale
        For the tension limit.
    sidewall_limit : float or None
        Limit of sidewall pressure. [N/m]
    units : PageUnits
        What people see.
    """
    changed = with_stops(run, stops, keys)
    inside = [stops[key].station_m for key in keys]
    legs = tuple(
        leg
        for leg in split_into_legs(changed)
        if inside[0] <= leg.start.station_m and leg.end.station_m <= inside[-1]
    )
    pulls = {way: pull_legs(changed, legs, job, way) for way in Direction}
    names = friction_names(job)
    curves = {
        way: {
            name: pull_legs(changed, legs, job_at(job, name), way) if len(names) > 1 else pulls[way]
            for name in names
        }
        for way in Direction
    }
    fails = _fails(changed, legs, pulls, job)
    forward, reverse = pulls[Direction.FORWARD], pulls[Direction.REVERSE]
    better = better_way(forward, reverse)
    return {
        "better": None if better is None else better.value,
        "legs": [
            {
                "stops": [keys[number], keys[number + 1]],
                "length": show_length(leg.length_m, job.units),
                "bends": len(leg.bends),
                "degrees": show_angle(leg.bend_total_rad),
                "cells": [cells.index(leg.start.station_m), cells.index(leg.end.station_m)],
                **{
                    way.value: {
                        **_pull_values(pulls[way][number], job, fails[leg.name, way]),
                        "at": {
                            name: _figures(
                                getattr(pulls[way][number], name),
                                curves[way][name][number].profile,
                                leg,
                                cells,
                                scale,
                                sidewall_limit,
                                job,
                                units,
                            )
                            for name in names
                        },
                    }
                    for way in Direction
                },
            }
            for number, leg in enumerate(legs)
        ],
    }


def _fails(
    run: Run, legs: tuple[Leg, ...], pulls: dict[Direction, tuple[Pull, ...]], job: Job
) -> dict[tuple[str, Direction], list[str]]:
    """Names of the checks that each leg fails in each direction."""
    through = (pull_through(run, job, Direction.FORWARD), pull_through(run, job, Direction.REVERSE))
    situation = Situation(
        run,
        legs,
        pulls[Direction.FORWARD],
        pulls[Direction.REVERSE],
        through,
        job,
        conductor_group(job),
    )
    checks = [
        check
        for family in (check_bend_totals, check_leg_lengths, check_tensions, check_sidewalls)
        for check in family(situation)
        if check.verdict is Verdict.FAIL
    ]
    return {
        (leg.name, way): list(
            dict.fromkeys(
                check_name(check.code)
                for check in checks
                if check.leg == leg.name and check.direction in (None, way.value)
            )
        )
        for leg in legs
        for way in Direction
    }


def _pull_values(pull: Pull, job: Job, fails: list[str]) -> dict[str, Any]:
    governing = pull.governing
    held = pull.braked.hold_back_n
    return {
        "feed": pull.feed_at,
        "pull": pull.pull_at,
        "feed_tension": show_force(pull.feed_tension_n, job.units),
        "share": None if governing is None else of_limit(governing.share),
        "over": governing is not None and governing.share > 1.0,
        "governed": None if governing is None else check_name(governing.code),
        "hold_back": show_force(held, job.units) if held > 0.0 else None,
        "fails": fails,
    }


def _figures(
    figures: PullFigures,
    profile: Profile,
    leg: Leg,
    cells: Cells,
    scale: TensionScale,
    sidewall_limit: float | None,
    job: Job,
    units: PageUnits,
) -> dict[str, Any]:
    """Figures at one friction: the texts people read, and both curves on the cells."""
    low, high = cells.index(leg.start.station_m), cells.index(leg.end.station_m)
    tension, sidewall = _on_cells(profile, cells.edges_m[low : high + 1])
    pressed = figures.max_sidewall_n_per_m
    at = figures.max_sidewall_station_m
    worst: dict[str, Any] = {
        "tension": {
            "value": units.force(figures.max_tension_n),
            "text": show_force(figures.max_tension_n, job.units),
            "station": units.length(figures.max_tension_station_m),
            "at": show_length(figures.max_tension_station_m, job.units),
            "of": None
            if scale.limit_n is None
            else of_limit(figures.max_tension_n / scale.limit_n),
            "share": None if scale.limit_n is None else figures.max_tension_n / scale.limit_n,
        },
        "sidewall": None
        if at is None
        else {
            "value": units.pressure(pressed),
            "text": show_pressure(pressed, job.units),
            "station": units.length(at),
            "at": show_length(at, job.units),
            "of": None if sidewall_limit is None else of_limit(pressed / sidewall_limit),
            "share": None if sidewall_limit is None else pressed / sidewall_limit,
        },
    }
    return {
        **worst,
        "exit": show_force(figures.exit_tension_n, job.units),
        "curve": {
            "tension": [round(units.force(value), 2) for value in tension.ravel().tolist()],
            "sidewall": [round(units.pressure(value), 4) for value in sidewall.ravel().tolist()],
        },
    }


def _on_cells(profile: Profile, edges: Floats) -> tuple[Floats, Floats]:
    """Tension and sidewall pressure at both ends of every cell, shape (n, 2) each.

    A profile gives joints twice; each part between such pairs is read by itself, so that a value
    that jumps at a joint jumps between two cells.
    """
    station = np.asarray(profile.station_m, dtype=float)
    tension = np.asarray(profile.tension_n, dtype=float)
    sidewall = np.asarray(profile.sidewall_n_per_m, dtype=float)
    if len(station) > 1 and station[-1] < station[0]:
        station, tension, sidewall = station[::-1], tension[::-1], sidewall[::-1]
    both = np.stack([edges[:-1], edges[1:]], axis=1)
    middle = both.mean(axis=1)
    found_t, found_p = np.zeros_like(both), np.zeros_like(both)
    parts = np.split(np.arange(len(station)), np.flatnonzero(np.diff(station) <= 1e-9) + 1)
    for part in parts:
        if len(part) < 2:
            continue
        own = (middle > station[part[0]]) & (middle < station[part[-1]])
        found_t[own] = np.interp(both[own], station[part], tension[part])
        found_p[own] = np.interp(both[own], station[part], sidewall[part])
    return found_t, found_p
