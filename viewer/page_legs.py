"""Legs between every pair of pull points, pulled both ways at every friction, for the page.

The page composes them when a box is switched; nothing is calculated there. A stretch runs from
one place where the conductors are fed to the next; it holds one leg, or several where fittings
stated as passed through stay in use between. What a leg takes hangs on its own ends and on those
of its stretch alone: the pull comes from the feed, and is held back from the far end. A box
switched off is no pull point: the conductors pass it and degrees count on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analyzer.checks.directions import better_way
from analyzer.geometry.segments import Arc
from analyzer.job.settings import Friction, Job, Passage
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Profile, Pull, PullFigures
from analyzer.reports.words import check_name
from analyzer.route.legs import Leg, split_into_legs
from analyzer.route.run import Fitting, Run
from analyzer.units import show_angle, show_force, show_length, show_pressure
from viewer.page_checks import CheckWords, leg_checks, whole_values
from viewer.page_series import Series
from viewer.page_units import PageUnits
from viewer.quantities import Quantity
from viewer.shown_values import limit_name, of_limit
from viewer.wording import TENSION_CHECKS

__all__ = [
    "MOST_LEGS",
    "Basis",
    "FrictionStep",
    "Knots",
    "LegKey",
    "StretchPulls",
    "drawn_keys",
    "friction_steps",
    "job_at",
    "key_text",
    "keys_between",
    "knots_of",
    "leg_keys",
    "leg_values",
    "pulls_of",
    "with_stops",
]

Floats = NDArray[np.float64]

MOST_LEGS = 500
"""Beyond this many legs boxes cannot be switched: 30 boxes taken out and fed again make 496."""

_ARC_STEP_RAD = np.radians(5.0)
_FINE_STEPS = 3


@dataclass(frozen=True, slots=True)
class LegKey:
    """Which leg: numbers of the stops it lies between, and of those its stretch lies between."""

    feed: int
    start: int
    end: int
    far: int


@dataclass(frozen=True, slots=True)
class FrictionStep:
    """One friction that is calculated; `name` is its word in the band, empty between these."""

    value: float
    name: str


@dataclass(frozen=True, slots=True)
class Knots:
    """Stations where the page knows the run's place; between two it draws straight on.

    Attributes
    ----------
    stations_m : (n,) float
        Ends of segments, fittings, and every 5° of bend. [m]
    """

    stations_m: Floats

    def index(self, station_m: float) -> int:
        """Return the number of the knot at a station."""
        return int(np.argmin(np.abs(self.stations_m - station_m)))


@dataclass(frozen=True, slots=True)
class StretchPulls:
    """Legs pulled in one go, their pulls each way, and which leg of them is meant."""

    legs: tuple[Leg, ...]
    pulls: Mapping[Direction, tuple[Pull, ...]]
    wanted: int

    @property
    def leg(self) -> Leg:
        """The leg meant."""
        return self.legs[self.wanted]

    def pull(self, way: Direction) -> Pull:
        """Return its pull in one direction."""
        return self.pulls[way][self.wanted]


@dataclass(frozen=True, slots=True)
class Basis:
    """What the figures of every leg of a run rest on.

    Attributes
    ----------
    run, stops : Run, tuple of Fitting
        The run and its pull points in order, both ends included.
    job, group : Job, ConductorGroup
        Conductors, friction, limits.
    steps : tuple of FrictionStep
        Frictions shown.
    knots : Knots
        The run's knots.
    tension_limit_n, sidewall_limit : float or None
        Limits of the colors. [N] [N/m]
    units : PageUnits
        What people see.
    series : Series
        Takes the curves.
    words : CheckWords
        Takes the sentences that recur.
    """

    run: Run
    stops: tuple[Fitting, ...]
    job: Job
    group: ConductorGroup
    steps: tuple[FrictionStep, ...]
    knots: Knots
    tension_limit_n: float | None
    sidewall_limit: float | None
    units: PageUnits
    series: Series
    words: CheckWords


def knots_of(run: Run) -> Knots:
    """Return the knots of a run."""
    line = run.centerline
    found = [np.array([fitting.station_m for fitting in run.fittings])]
    for start, segment in zip(line.stations_m[:-1], line.segments, strict=True):
        count = 1
        if isinstance(segment, Arc):
            count = max(1, int(np.ceil(segment.angle_rad / _ARC_STEP_RAD - 1e-9)))
        found.append(start + np.linspace(0.0, segment.length_m, count + 1))
    stations = np.unique(np.concatenate(found))
    keep = np.concatenate([[True], np.diff(stations) > 1e-7])
    return Knots(np.clip(stations[keep], 0.0, line.length_m))


def friction_steps(job: Job, fine: bool) -> tuple[FrictionStep, ...]:
    """Return the frictions to calculate: those of the band, and where `fine` two between each.

    Parameters
    ----------
    job : Job
        For its band; one number gives one step.
    fine : bool
        Whether steps between low, expected and high are wanted.
    """
    band = job.pull.friction
    if not band.is_band:
        return (FrictionStep(band.expected, "expected"),)
    named = [
        FrictionStep(band.low, "low"),
        FrictionStep(band.expected, "expected"),
        FrictionStep(band.high, "high"),
    ]
    if not fine:
        return tuple(named)
    found = named[:1]
    for below, above in pairwise(named):
        between = np.linspace(below.value, above.value, _FINE_STEPS + 1)[1:-1].round(3).tolist()
        found += [FrictionStep(v, "") for v in between if below.value < v < above.value]
        found.append(above)
    return tuple(found)


def job_at(job: Job, friction: float) -> Job:
    """Return the job with one friction alone."""
    stated = job.pull.friction.stated
    alone = Friction(friction, friction, friction, stated)
    return replace(job, pull=replace(job.pull, friction=alone))


def leg_keys(stops: Sequence[Fitting]) -> tuple[LegKey, ...] | None:
    """Return every leg that boxes switched on and off can make; None where they are too many.

    Parameters
    ----------
    stops : sequence of Fitting
        Pull points of the run in order, both ends included.
    """
    last = len(stops) - 1
    passed = [i for i in range(1, last) if stops[i].passage is Passage.THROUGH]
    feeds = [i for i in range(last + 1) if i not in passed]
    return keys_between(feeds, passed)


def keys_between(feeds: Sequence[int], passed: Sequence[int]) -> tuple[LegKey, ...] | None:
    """Return the legs of every stretch between two feeds, cut at any of the stops passed."""
    found: list[LegKey] = []
    for feed, far in combinations(feeds, 2):
        places = [feed, *(stop for stop in passed if feed < stop < far), far]
        found += [LegKey(feed, start, end, far) for start, end in combinations(places, 2)]
        if len(found) > MOST_LEGS:
            return None
    return tuple(found)


def drawn_keys(stops: Sequence[Fitting]) -> tuple[LegKey, ...]:
    """Return the legs of the run as drawn, every stop in use."""
    last = len(stops) - 1
    feeds = [i for i in range(last + 1) if i in (0, last) or stops[i].passage is Passage.REFEED]
    return tuple(
        LegKey(feed, start, start + 1, far)
        for feed, far in pairwise(feeds)
        for start in range(feed, far)
    )


def key_text(key: LegKey) -> str:
    """Return a key as the page's script asks for it."""
    if (key.feed, key.far) == (key.start, key.end):
        return f"{key.start}-{key.end}"
    return f"{key.feed}-{key.start}-{key.end}-{key.far}"


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


def pulls_of(run: Run, stops: Sequence[Fitting], key: LegKey, job: Job) -> StretchPulls:
    """Return the legs of a stretch pulled both ways, and which of them is the one asked for.

    Parameters
    ----------
    run : Run
        The run.
    stops : sequence of Fitting
        Its pull points.
    key : LegKey
        Which leg.
    job : Job
        Conductors, friction, limits.
    """
    used = (key.feed, key.start, key.end, key.far)
    low, high = stops[key.feed].station_m, stops[key.far].station_m
    legs = tuple(
        leg
        for leg in split_into_legs(with_stops(run, stops, used))
        if low <= leg.start.station_m and leg.end.station_m <= high
    )
    return StretchPulls(
        legs,
        {way: pull_legs(run, legs, job, way) for way in Direction},
        [leg.start.station_m for leg in legs].index(stops[key.start].station_m),
    )


def leg_values(basis: Basis, key: LegKey) -> dict[str, Any]:
    """Return one leg as plain values: both ways, texts, curves and what its checks say.

    `better` is the better way of its stretch, None where both are equal.
    """
    job, knots = basis.job, basis.knots
    found = pulls_of(basis.run, basis.stops, key, job)
    leg = found.leg
    better = better_way(found.pulls[Direction.FORWARD], found.pulls[Direction.REVERSE])
    at_steps = [
        found
        if step.name == "expected"
        else pulls_of(basis.run, basis.stops, key, job_at(job, step.value))
        for step in basis.steps
    ]
    checks, fails = leg_checks(
        basis.run, found.legs, found.pulls, found.wanted, job, basis.group, basis.words
    )
    return {
        "stops": [key.start, key.end],
        "better": None if better is None else better.value,
        "length": show_length(leg.length_m, job.units),
        "bends": len(leg.bends),
        "degrees": show_angle(leg.bend_total_rad),
        "knots": [knots.index(leg.start.station_m), knots.index(leg.end.station_m)],
        "checks": checks,
        **{
            way.value: {
                **_pull_values(found.pull(way), job, fails[way]),
                **(
                    {"whole": whole_values(found.pull(way), job, basis.words)}
                    if (key.feed, key.far) == (key.start, key.end)
                    else {}
                ),
                "at": [
                    _figures(
                        basis,
                        getattr(found.pull(way), step.name)
                        if step.name
                        else alone.pull(way).expected,
                        alone.pull(way).profile,
                    )
                    for step, alone in zip(basis.steps, at_steps, strict=True)
                ],
            }
            for way in Direction
        },
    }


def _pull_values(pull: Pull, job: Job, fails: list[str]) -> dict[str, Any]:
    governing = pull.governing
    held = pull.braked.hold_back_n
    return {
        "feed": pull.feed_at,
        "pull": pull.pull_at,
        "share": None if governing is None else of_limit(governing.share),
        "over": governing is not None and governing.share > 1.0,
        "governed": None if governing is None else check_name(governing.code),
        "governed_by_tension": governing is not None and governing.code in TENSION_CHECKS,
        "share_value": None if governing is None else governing.share,
        "hold_back": show_force(held, job.units) if held > 0.0 else None,
        "fails": fails,
    }


def _figures(basis: Basis, figures: PullFigures, profile: Profile) -> dict[str, Any]:
    """Figures at one friction: the texts people read, and the curve along the leg."""
    units, system = basis.units, basis.job.units
    pressed, at = figures.max_sidewall_n_per_m, figures.max_sidewall_station_m
    return {
        "tension": {
            "value": units.force(figures.max_tension_n),
            "text": show_force(figures.max_tension_n, system),
            **_place(basis, figures.max_tension_station_m),
            **_share(figures.max_tension_n, basis.tension_limit_n, Quantity.TENSION),
        },
        "sidewall": None
        if at is None
        else {
            "value": units.pressure(pressed),
            "text": show_pressure(pressed, system),
            **_place(basis, at),
            **_share(pressed, basis.sidewall_limit, Quantity.SIDEWALL),
        },
        "exit": show_force(figures.exit_tension_n, system),
        "curve": _curve(basis, profile),
    }


def _place(basis: Basis, station_m: float) -> dict[str, Any]:
    return {
        "station": round(basis.units.length(station_m), 5),
        "at": show_length(station_m, basis.job.units),
    }


def _share(value: float, limit: float | None, quantity: Quantity) -> dict[str, Any]:
    if limit is None:
        return {"of": None, "share": None}
    return {"of": of_limit(value / limit, limit_name(quantity)), "share": value / limit}


def _curve(basis: Basis, profile: Profile) -> list[int]:
    """Numbers of three rows: stations upward, tension and sidewall pressure there."""
    rows = np.array([profile.station_m, profile.tension_n, profile.sidewall_n_per_m], dtype=float)
    if rows.shape[1] > 1 and rows[0, -1] < rows[0, 0]:
        rows = rows[:, ::-1]
    units = basis.units
    scales = (units.length(1.0), units.force(1.0), units.pressure(1.0))
    return [basis.series.add(row * scale) for row, scale in zip(rows, scales, strict=True)]
