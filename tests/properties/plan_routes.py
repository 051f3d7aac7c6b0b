"""Routes and jobs of our own that the tests of the plan share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import cos, pi, sin, tan
from pathlib import Path

import numpy as np
from pull_jobs import job_with, run_with, stated_conductor
from pull_routes import random_route, route

from analyzer.analysis import Analysis, analyze
from analyzer.catalog.raceways import find_raceway
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Attitude, Bend, RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc
from analyzer.importers.reading import open_route
from analyzer.job.reading import read_job
from analyzer.job.settings import Job, Passage
from analyzer.route.run import Run
from analyzer.units import ft, lbf, lbf_per_ft

EXAMPLES = Path(__file__).parents[2] / "example_paths"
JUST_PAST_FT = 1e-4


def example(name: str) -> Analysis:
    path = EXAMPLES / name
    job = read_job(path.with_suffix(".toml"))
    found = open_route(path, job)
    return analyze(found.runs, job, found.findings)


def level_sharp(parts_ft: Sequence[float | str]) -> Centerline:
    """Level straights in feet with sharp right-angle turns, written ``90``."""
    heading, parts = 0.0, []
    for part in parts_ft:
        if part == "90":
            heading += pi / 2
            parts.append(("corner", (cos(heading), sin(heading), 0.0)))
        else:
            parts.append(ft(float(part)))
    return route((1.0, 0.0, 0.0), parts)


def bends_of(centerline: Centerline) -> tuple[Bend, ...]:
    """One bend for each arc."""
    bends = []
    for start, segment in zip(centerline.stations_m, centerline.segments, strict=False):
        if isinstance(segment, Arc):
            bends.append(
                Bend(
                    number=len(bends) + 1, station_m=start, end_station_m=start + segment.length_m,
                    angle_rad=segment.angle_rad, radius_m=segment.radius_m,
                    radius_from=RadiusFrom.DRAWING, attitude=Attitude.TILTED, rotation_rad=None,
                    in_fitting=False, read_as=ReadAs.ARCS,
                )
            )  # fmt: skip
    return tuple(bends)


def bent_run(
    centerline: Centerline, boxes: Sequence[tuple[float, Passage]] = (), **changes: object
) -> Run:
    run = run_with(centerline, boxes, **changes)
    return replace(run, bends=bends_of(centerline))


def at_corner(run: Run, bend: Bend, radius_m: float) -> Run:
    """The run with a bend of one arc redrawn at its corner; arcs and boxes beyond stay in place.

    Laid out again from its lengths and turns, the straights beside the bend shorter by
    (R - R0) tan(a/2).
    """
    parts, index = [], 0
    shorter = (radius_m - (bend.radius_m or 0.0)) * tan(bend.angle_rad / 2.0)
    longer = (radius_m - (bend.radius_m or 0.0)) * bend.angle_rad - 2.0 * shorter
    for number, (start, segment) in enumerate(
        zip(run.centerline.stations_m, run.centerline.segments, strict=False)
    ):
        if not isinstance(segment, Arc):
            parts.append(segment.length_m)
            continue
        if abs(start - bend.station_m) < 1e-9:
            index = number
        parts.append((segment.radius_m, segment.angle_rad, segment.start_normal))
    parts[index] = (radius_m, *parts[index][1:])
    for beside in (index - 1, index + 1):
        parts[beside] -= shorter
        assert parts[beside] > 0.0
    first = run.centerline.segments[0]
    line = route(first.start_tangent, parts, first.start_m)

    def moved(station_m: float) -> float:
        return station_m if station_m <= bend.station_m else station_m + longer

    fittings = tuple(replace(item, station_m=moved(item.station_m)) for item in run.fittings)
    return replace(run, centerline=line, bends=bends_of(line), fittings=fittings)


def level_bent(
    parts: Sequence[float | tuple[float, float]], start: Sequence[float] = (0.0, 0.0, 0.0)
) -> Centerline:
    """Level straights in meters and (radius, angle) bends, all turned the same way."""
    heading, found = 0.0, []
    for part in parts:
        if isinstance(part, tuple):
            radius, angle = part
            toward = (cos(heading + pi / 2), sin(heading + pi / 2), 0.0)
            found.append((radius, angle, toward))
            heading += angle
        else:
            found.append(part)
    return route((1.0, 0.0, 0.0), found, start)


def heavy_job(friction: float | tuple[float, float, float] = 0.35, **pull: object) -> Job:
    """One stated conductor of 3 lbf/ft, limit 1000 lbf."""
    return job_with([(1, stated_conductor(lbf_per_ft(3.0)))], friction, **pull)


def three_like_job(friction: tuple[float, float, float] = (0.2, 0.35, 0.5), **pull: object) -> Job:
    conductor = stated_conductor(lbf_per_ft(0.7), 0.016, max_tension_n=lbf(1500.0))
    return job_with([(3, conductor)], friction, find_raceway("EMT", "2"), **pull)


def without_tension_limit(job: Job) -> Job:
    """The job with a conductor of which no limit is known."""
    (line,) = job.conductors
    unlimited = replace(line.conductor, max_tension_n=None)
    return replace(job, conductors=(replace(line, conductor=unlimited),))


def random_boxed_run(rng: np.random.Generator) -> Run:
    """A run in space with up to four boxes, some of them of stated passage."""
    centerline = random_route(rng, int(rng.integers(1, 6)), radii=(0.2, 2.0))
    number = int(rng.integers(0, 5))
    joints = centerline.stations_m[1:-1]
    straights = [
        (low + high) / 2
        for low, high, segment in zip(
            centerline.stations_m,
            (*joints, centerline.length_m),
            centerline.segments,
            strict=False,
        )
        if not isinstance(segment, Arc)
    ]
    places = sorted(rng.choice(straights, size=min(number, len(straights)), replace=False))
    passages = [Passage.REFEED if rng.uniform() < 0.7 else Passage.THROUGH for _ in places]
    run = bent_run(centerline, list(zip(map(float, places), passages, strict=True)))
    fittings = tuple(
        replace(
            fitting,
            passage_stated=bool(rng.uniform() < 0.4),
            feed_tension_n=float(rng.uniform(0, 200)) if rng.uniform() < 0.3 else None,
        )
        for fitting in run.fittings
    )
    return replace(run, fittings=fittings)
