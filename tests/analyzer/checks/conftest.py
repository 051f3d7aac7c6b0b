"""Small runs and jobs for the checks, built without reading a file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import radians

import pytest

from analyzer.catalog.conductors import Conductor, find_conductor
from analyzer.catalog.raceways import find_raceway
from analyzer.checks.check import Check
from analyzer.checks.run_checks import run_checks, verdict_of
from analyzer.findings import Verdict
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Attitude, Bend, RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc, Segment, Straight, Vector, cross, unit
from analyzer.job.settings import (
    ConductorLine,
    DrawingSettings,
    FittingKind,
    Friction,
    Job,
    Limits,
    Passage,
    PullSettings,
)
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import Direction, Pull
from analyzer.route.legs import Leg, split_into_legs
from analyzer.route.run import Fitting, Run, RunInput
from analyzer.units import UnitSystem, ft, lbf, lbf_per_ft

Move = float | tuple[Vector, float]
"""A straight of so many feet, or a turn toward a direction on a radius in feet."""

BAND = Friction(0.20, 0.35, 0.50)
INPUT = RunInput("route.csv", "0" * 64, "csv", "ft", "header", ((0.0, 0.0, 0.0), (1.0, 1.0, 1.0)))


@dataclass(frozen=True)
class Box:
    """A fitting for `make_run`: station in feet."""

    name: str
    station_ft: float
    passage: Passage | None = None


def _segments(start: Vector, heading: Vector, moves: Sequence[Move]) -> list[Segment]:
    point, tangent = start, unit(heading)
    segments: list[Segment] = []
    for move in moves:
        if isinstance(move, tuple):
            toward, radius = move
            axis = unit(cross(tangent, toward))
            normal = cross(axis, tangent)
            center = tuple(p + ft(radius) * n for p, n in zip(point, normal, strict=True))
            segments.append(Arc(point, center, axis, radians(90.0)))  # type: ignore[arg-type]
        else:
            end = tuple(p + ft(move) * t for p, t in zip(point, tangent, strict=True))
            segments.append(Straight(point, end))  # type: ignore[arg-type]
        point, tangent = segments[-1].end_m, segments[-1].end_tangent
    return segments


def _bends(centerline: Centerline) -> tuple[Bend, ...]:
    bends: list[Bend] = []
    for (start, end), segment in zip(
        pairwise(centerline.stations_m), centerline.segments, strict=True
    ):
        if isinstance(segment, Arc):
            bends.append(
                Bend(
                    number=len(bends) + 1,
                    station_m=start,
                    end_station_m=end,
                    angle_rad=segment.angle_rad,
                    radius_m=segment.radius_m,
                    radius_from=RadiusFrom.DRAWING,
                    attitude=Attitude.LEVEL,
                    rotation_rad=None,
                    in_fitting=False,
                    read_as=ReadAs.ARCS,
                )
            )
    return tuple(bends)


def _make_run(
    moves: Sequence[Move],
    boxes: Sequence[Box] = (),
    start: Vector = (0.0, 0.0, 0.0),
    heading: Vector = (1.0, 0.0, 0.0),
) -> Run:
    centerline = Centerline(tuple(_segments(start, heading, moves)))

    def fitting(name: str, kind: FittingKind, station_m: float, passage: Passage | None) -> Fitting:
        place = centerline.points_at([station_m])[0]
        return Fitting(
            name=name,
            kind=kind,
            station_m=station_m,
            position_m=(float(place[0]), float(place[1]), float(place[2])),
            pull_point=True,
            passage=passage or Passage.REFEED,
            passage_stated=passage is not None,
        )

    inner = [fitting(b.name, FittingKind.PULL_BOX, ft(b.station_ft), b.passage) for b in boxes]
    return Run(
        name="run 1",
        input=INPUT,
        centerline=centerline,
        bends=_bends(centerline),
        fittings=(
            fitting("Panel P1", FittingKind.PANEL, 0.0, None),
            *inner,
            fitting("Chiller", FittingKind.EQUIPMENT, centerline.length_m, None),
        ),
        read_as=ReadAs.ARCS,
        deviation_m=0.0,
    )


def _cable(
    weight_lbf_per_ft: float, max_tension_lbf: float | None, diameter_in: float
) -> Conductor:
    return replace(
        find_conductor("4/0", "THHN", "copper"),
        name="control cable",
        size=None,
        insulation=None,
        metal=None,
        stranding=None,
        diameter_m=diameter_in * 0.0254,
        area_in2=0.7853981633974483 * diameter_in**2,
        weight_n_per_m=lbf_per_ft(weight_lbf_per_ft),
        weight_from="stated",
        metal_area_cmil=None,
        max_tension_n=None if max_tension_lbf is None else lbf(max_tension_lbf),
        source="job",
    )


def _make_job(
    conductors: Sequence[ConductorLine] | None = None,
    *,
    raceway: tuple[str, str] | None = ("EMT", "2"),
    friction: Friction = BAND,
    units: UnitSystem = UnitSystem.US,
    existing: Sequence[ConductorLine] = (),
    pull: PullSettings | None = None,
    limits: Limits | None = None,
    max_tension_lbf: float | None = 2000.0,
) -> Job:
    found = None if raceway is None else find_raceway(*raceway)
    lines = conductors or [ConductorLine(1, _cable(3.0, max_tension_lbf, 0.6))]
    return Job(
        title="Ice rink chiller feeder",
        units=units,
        drawing=DrawingSettings(),
        raceway=found,
        bender=None if found is None else found.default_bender,
        bend_radius_m=None,
        conductors=tuple(lines),
        existing=tuple(existing),
        pull=pull or PullSettings(friction=friction),
        limits=limits or Limits(sidewall_pressure_n_per_m=lbf_per_ft(1000.0), sidewall_from="job"),
        fittings=(),
    )


@dataclass(frozen=True)
class Result:
    """A run with its legs, pulls, checks and verdict."""

    legs: tuple[Leg, ...]
    forward: tuple[Pull, ...]
    reverse: tuple[Pull, ...]
    checks: tuple[Check, ...]
    verdict: Verdict

    def of(self, code: str) -> list[Check]:
        """Return the checks of a code."""
        return [check for check in self.checks if check.code == code]

    def one(self, code: str, leg: str | None = None, direction: str | None = None) -> Check:
        """Return the only check of a code, leg and direction."""
        found = [
            check
            for check in self.checks
            if (check.code, check.leg, check.direction) == (code, leg, direction)
        ]
        assert len(found) == 1, (code, leg, direction, found)
        return found[0]


def _check(run: Run, job: Job) -> Result:
    legs = split_into_legs(run)
    forward = pull_legs(run, legs, job, Direction.FORWARD)
    reverse = pull_legs(run, legs, job, Direction.REVERSE)
    through = (
        pull_through(run, job, Direction.FORWARD),
        pull_through(run, job, Direction.REVERSE),
    )
    checks = run_checks(run, legs, forward, reverse, through, job, conductor_group(job))
    return Result(
        legs, forward, reverse, checks, verdict_of(checks, job.findings, has_bends=bool(run.bends))
    )


@pytest.fixture
def make_run() -> Callable[..., Run]:
    """Return a run from moves in feet, bends of 90°, and boxes."""
    return _make_run


@pytest.fixture
def make_job() -> Callable[..., Job]:
    """Return a job: by default one cable of 3 lbf/ft and 2,000 lbf in EMT 2."""
    return _make_job


@pytest.fixture
def make_cable() -> Callable[..., Conductor]:
    """Return a stated cable."""
    return _cable


@pytest.fixture
def make_box() -> type[Box]:
    """Return the maker of boxes."""
    return Box


@pytest.fixture
def check() -> Callable[[Run, Job], Result]:
    """Return a run split, pulled both ways and checked under a job."""
    return _check
