"""Legs priced all at once are the legs the solver pulls one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from box_runs import bends_of, box_job, random_run, run_of
from pull_routes import random_route

from analyzer.job.settings import BoxSettings, Job, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction
from analyzer.pulling.stretches import ArcShape, trace_arc
from analyzer.route.legs import split_into_legs
from analyzer.route.run import Fitting, Run
from analyzer.studies.boxes_arcs import pull_around
from analyzer.studies.boxes_costs import LegPricing
from analyzer.studies.boxes_placements import PlacedBox, place_boxes
from analyzer.studies.boxes_places import (
    Stop,
    corner_stops,
    find_rooms,
    first_stops,
    fixed_stops,
)

BOXES = ((0.3, Passage.REFEED), (0.7, Passage.THROUGH))
PULLS = {
    "fed slack": {},
    "fed with tension": {"feed_tension_n": 40.0},
    "lubricant ends": {"lubricant_reach_m": 25.0, "dry_friction": 0.7},
    "both": {"feed_tension_n": 15.0, "lubricant_reach_m": 9.0, "dry_friction": 0.9},
}


def stops_of(run: Run, job: Job) -> tuple[Stop, ...]:
    rooms = find_rooms(run, job)
    stops = (*fixed_stops(run, job), *first_stops(rooms, job))
    return tuple(sorted(stops, key=lambda stop: stop.station_m))


def with_boxes(run: Run, stations: list[float]) -> Run:
    """The run with refed boxes at stations, its own refed boxes left out elsewhere."""
    kept = [
        item
        for item in run.fittings
        if item in (run.fittings[0], run.fittings[-1])
        or item.passage is Passage.THROUGH
        or item.station_m in stations
    ]
    have = {item.station_m for item in kept}
    box = run.fittings[0]
    added = [
        replace(box, name=f"at {s}", station_m=s, feed_tension_n=None)
        for s in stations
        if s not in have
    ]
    fittings: list[Fitting] = sorted((*kept, *added), key=lambda item: item.station_m)
    return replace(run, fittings=tuple(fittings))


@pytest.mark.parametrize("pull", PULLS.values(), ids=PULLS)
@pytest.mark.parametrize("boxes", [(), BOXES], ids=["no boxes", "refed and passed boxes"])
@pytest.mark.parametrize("seed", range(4))
def test_legs_between_any_two_places_cost_what_the_solver_says(pull, boxes, seed) -> None:
    run = random_run(seed, 5, boxes)
    job = box_job((0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, pull=dict(pull))
    job = replace(
        job, boxes=replace(job.boxes, need_m=0.05, spacing_m=run.centerline.length_m / 30)
    )
    stops = stops_of(run, job)
    pricing = LegPricing(run, job)
    costs = pricing.price_in_detail(stops)
    assert np.allclose(pricing.price(stops).share, costs.share, rtol=1e-13, atol=0)
    degrees, lengths = pricing.degrees(stops), pricing.lengths_m(stops)
    rng, compared = np.random.default_rng(seed), 0
    while compared < 12:
        low, high = sorted(rng.choice(len(stops), 2, replace=False))
        if costs.share[low, high] == np.inf:
            continue
        compared += 1
        ends = [stops[low].station_m, stops[high].station_m]
        changed = with_boxes(run, ends)
        legs = split_into_legs(changed)
        inside = [
            i
            for i, leg in enumerate(legs)
            if ends[0] <= leg.start.station_m and leg.end.station_m <= ends[1]
        ]
        assert degrees[low, high] == pytest.approx(
            max(np.rad2deg(legs[i].bend_total_rad) for i in inside), abs=6e-4
        )
        assert lengths[low, high] == pytest.approx(max(legs[i].length_m for i in inside))
        for way, direction in enumerate(Direction):
            pulls = [pull_legs(changed, legs, job, direction)[i] for i in inside]
            figures = [
                (costs.pulled[way].greatest_n, [p.high.max_tension_n for p in pulls]),
                (costs.pulled[way].bearing_n_per_m, [p.high.max_sidewall_n_per_m for p in pulls]),
                (costs.held[way].greatest_n, [p.braked.max_tension_n for p in pulls]),
                (costs.held[way].bearing_n_per_m, [p.braked.max_sidewall_n_per_m for p in pulls]),
            ]
            scale = job.pulling_weight_n_per_m
            for matrix, values in figures:
                # the thirty published 3D paths support 1e-9 of the solver; here both are one law
                assert matrix[low, high] == pytest.approx(max(values), rel=1e-10, abs=1e-10 * scale)


@pytest.mark.parametrize("k", [0.5, 0.2, -0.2, 0.0])
@pytest.mark.parametrize("plane", ["level", "vertical", "tilted", "nearly vertical"])
def test_many_tensions_go_around_an_arc_as_one_by_one(k, plane) -> None:
    in_plane = {"level": 0.0, "vertical": 1.0, "tilted": 0.6, "nearly vertical": 0.9999}[plane]
    off = np.sqrt(1.0 - in_plane**2)
    for phase in (-2.5, -1.0, 0.2, 1.4, 3.0):
        shape = ArcShape(1.3, 0.4, phase, in_plane, float(off))
        tension = np.concatenate(
            [[0.0, 0.0], np.linspace(0.1, 60.0, 40), np.geomspace(60, 1e5, 80)]
        )
        out, greatest = pull_around(shape, 30.0, tension, k)
        traced = trace_arc(shape, 30.0, tension.tolist(), [k] * tension.size)
        ends = np.array([one[-1].exit_tension_n for one in traced])
        tops = np.array(
            [
                max(
                    max(part.entry_tension_n, part.exit_tension_n,
                        *(part.form.tension_at(x) for x in part.form.turning_places()), 0.0)
                    for part in one
                )
                for one in traced
            ]
        )  # fmt: skip
        assert np.allclose(out, ends, rtol=1e-12, atol=1e-11)
        assert np.allclose(greatest, tops, rtol=1e-12, atol=1e-11)


@pytest.mark.parametrize("seed", range(6))
def test_box_in_place_of_a_bend_costs_what_the_changed_run_does(seed) -> None:
    run = run_of(random_route(np.random.default_rng(seed), 3, radii=(0.2, 1.0)))
    job = box_job((0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, pull={"feed_tension_n": 20.0})
    corners = corner_stops(run, job)
    pricing = LegPricing(run, job)
    for corner in corners:
        first, last = fixed_stops(run, job)
        costs = pricing.price_in_detail([first, corner, last])
        number = int(corner.name.removeprefix("bend "))
        placed = place_boxes(run, job, [PlacedBox(corner.station_m, number)])
        for (row, column), item in zip(((0, 1), (1, 2)), placed.legs, strict=True):
            shares = max(share.share for share in item.pull.shares)
            assert costs.share[row, column] == pytest.approx(shares, rel=1e-9)
            lengths = pricing.lengths_m([first, corner, last])
            assert lengths[row, column] == pytest.approx(item.leg.length_m)
            assert item.max_tension_n == pytest.approx(costs.tension_n[row, column], rel=1e-9)


def test_every_bend_of_up_to_120_degrees_can_hold_a_box_when_asked() -> None:
    run = random_run(3, 4)
    job = replace(box_job(), boxes=BoxSettings(at_corners=True))
    angles = [np.rad2deg(bend.angle_rad) for bend in bends_of(run.centerline)]
    assert len(corner_stops(run, job)) == sum(angle <= 120.0 for angle in angles)
