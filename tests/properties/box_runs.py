"""Runs and jobs of our own for the studies of boxes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import pi

import numpy as np
from pull_jobs import job_with, run_with, stated_conductor
from pull_routes import random_route, route

from analyzer.analysis import analyze
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Attitude, Bend, RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc
from analyzer.job.settings import BoxSettings, Job, Limits, Passage
from analyzer.route.run import Run
from analyzer.studies.boxes import BoxStudy, find_boxes
from analyzer.units import ft, lbf, lbf_per_ft


def bends_of(centerline: Centerline) -> tuple[Bend, ...]:
    """One bend for every arc."""
    found: list[Bend] = []
    stations = centerline.stations_m
    for start, end, segment in zip(stations, stations[1:], centerline.segments, strict=False):
        if isinstance(segment, Arc):
            found.append(
                Bend(
                    len(found) + 1, start, end, segment.angle_rad, segment.radius_m,
                    RadiusFrom.DRAWING, Attitude.TILTED, None, False, ReadAs.ARCS,
                )
            )  # fmt: skip
    return tuple(found)


def run_of(centerline: Centerline, boxes: Sequence[tuple[float, Passage]] = ()) -> Run:
    """A run with its bends, and boxes at stations in meters."""
    return replace(run_with(centerline, boxes), bends=bends_of(centerline))


def box_job(
    friction: tuple[float, float, float] | float = 0.35,
    limits: Limits | None = None,
    max_tension_lbf: float | None = 1000.0,
    weight_lbf_per_ft: float = 3.0,
    pull: dict[str, object] | None = None,
    **boxes: object,
) -> Job:
    """One cable of 3 lbf/ft and a tension limit; keys of BoxSettings, by default without need."""
    limit = None if max_tension_lbf is None else lbf(max_tension_lbf)
    cable = stated_conductor(lbf_per_ft(weight_lbf_per_ft), 0.012, max_tension_n=limit)
    job = job_with([(1, cable)], friction=friction, limits=limits, **(pull or {}))
    settings = BoxSettings(**{"need_m": 0.0, "need_from": "job", **boxes})
    return replace(job, boxes=settings)


def study(run: Run, job: Job) -> BoxStudy:
    """Where boxes go on a run."""
    return find_boxes(analyze([run], job))


def four_nineties(straights_ft: Sequence[float] = (40.0,) * 5) -> Run:
    """Level straights in feet with sharp 90° turns between, which have no weight."""
    parts: list[object] = []
    for index, length in enumerate(straights_ft):
        if index:
            parts.append(("corner", (0.0, 1.0, 0.0) if index % 2 else (1.0, 0.0, 0.0)))
        parts.append(ft(length))
    return run_with(route((1.0, 0.0, 0.0), parts))


def level_run(parts: Sequence[float], radius_ft: float = 1.0) -> Run:
    """Level straights in feet with quarter bends between, left and right in turn."""
    built: list[object] = []
    for index, length in enumerate(parts):
        if index:
            side = (0.0, 1.0, 0.0) if index % 2 else (1.0, 0.0, 0.0)
            built.append((ft(radius_ft), 0.5 * pi, side))
        built.append(ft(length))
    return run_of(route((1.0, 0.0, 0.0), built))


def random_run(seed: int, bends: int = 4, boxes: Sequence[tuple[float, Passage]] = ()) -> Run:
    """Any 3D run; boxes at parts of its length."""
    centerline = random_route(np.random.default_rng(seed), bends, radii=(0.2, 1.5))
    length = centerline.length_m
    return run_of(centerline, [(part * length, passage) for part, passage in boxes])
