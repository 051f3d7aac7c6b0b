"""Pricing every leg at once against solving every pair: ``python tests/benchmarks/bench_boxes.py``.

A 2,000 ft run with 40 bends, a place for a box every foot, both directions, pulled and held
back. The peer is the solver of single legs, `pull_legs`, timed on a sample of the pairs and
scaled to all of them; the same sample shows how far the two agree.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from math import pi
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "properties"))
from box_runs import box_job, run_of
from pull_routes import route

from analyzer.analysis import analyze
from analyzer.job.settings import FittingKind, Job, Limits, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction
from analyzer.route.legs import split_into_legs
from analyzer.route.run import Fitting, Run
from analyzer.studies.boxes import find_boxes
from analyzer.studies.boxes_choice import find_layers
from analyzer.studies.boxes_costs import LegCosts, LegPricing
from analyzer.studies.boxes_places import find_rooms, first_stops, fixed_stops
from analyzer.units import ft, lbf_per_ft

PLANES = ("level", "level and vertical", "tilted")


def long_run(plane: str, bends: int = 40, straight_ft: float = 47.6) -> Run:
    """A run of 45° and 90° bends on 1 ft, 48 ft apart."""
    rng = np.random.default_rng(4)
    tangent, up = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    parts: list = [ft(straight_ft)]
    for number in range(bends):
        angle = pi / 2 if number % 2 else pi / 4
        side = np.cross(up, tangent)
        toward = side if number % 3 else -side
        if plane == "level and vertical" and number % 4 > 1:
            # down a step of 45° and level again
            toward, angle = (-up if number % 4 == 2 else up), pi / 4
        if plane == "tilted":
            toward = rng.normal(size=3)
        toward = toward - (toward @ tangent) * tangent
        toward /= np.linalg.norm(toward)
        parts += [(ft(1.0), angle, tuple(toward.tolist())), ft(straight_ft)]
        tangent = np.cos(angle) * tangent + np.sin(angle) * toward
        if plane == "level and vertical" and number % 4 == 3:
            tangent[2] = 0.0 if abs(tangent[2]) < 1e-12 else tangent[2]
    return run_of(route((1.0, 0.0, 0.0), parts))


def best_of(action, rounds: int = 3) -> tuple[float, object]:
    """Least time of several goes, and what the last one returned. [s]"""
    times, result = [], None
    for _ in range(rounds):
        start = time.perf_counter()
        result = action()
        times.append(time.perf_counter() - start)
    return min(times), result


def by_pairs(run: Run, job: Job, costs: LegCosts, count: int) -> tuple[float, float]:
    """Seconds for one pair by the solver, and the greatest relative difference in share."""
    rng = np.random.default_rng(0)
    n = len(costs.stops)
    spent, worst = 0.0, 0.0
    for _ in range(count):
        low, high = sorted(rng.choice(n, 2, replace=False))
        ends = [costs.stops[i].station_m for i in (low, high)]
        boxes = [
            Fitting(
                "box", FittingKind.PULL_BOX, station, (0.0, 0.0, 0.0), True, Passage.REFEED, True
            )
            for station in ends
            if 0.0 < station < run.centerline.length_m
        ]
        fittings = sorted((*run.fittings, *boxes), key=lambda item: item.station_m)
        changed = replace(run, fittings=tuple(fittings))
        (leg,) = [item for item in split_into_legs(changed) if item.start.station_m == ends[0]]
        start = time.perf_counter()
        shares = [
            pull_legs(changed, [leg], job, direction)[0].share_of_limit for direction in Direction
        ]
        spent += time.perf_counter() - start
        share = costs.share[low, high]
        if np.isfinite(share) and share > 0.0:
            worst = max(worst, abs(min(shares) / share - 1.0))
    return spent / count, worst


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=60, help="pairs solved one by one")
    pairs = parser.parse_args().pairs
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(1000), sidewall_from="job")
    for plane in PLANES:
        run = long_run(plane)
        job = box_job(
            (0.15, 0.25, 0.3), weight_lbf_per_ft=1.5, max_tension_lbf=4000.0, limits=limits,
            need_m=ft(1.0), most=12,
        )  # fmt: skip
        pricing = LegPricing(run, job)
        rooms = find_rooms(run, job)
        places = (*fixed_stops(run, job), *first_stops(rooms, job))
        stops = sorted(places, key=lambda stop: stop.station_m)
        pricing_s, costs = best_of(lambda: pricing.price(stops))  # noqa: B023
        is_fixed = [stop.is_fixed for stop in stops]
        cost = np.where(costs.is_within, costs.share, np.inf)
        choosing_s, layers = best_of(lambda: find_layers(cost, is_fixed, 12))  # noqa: B023
        pair_s, worst = by_pairs(run, job, costs, pairs)
        count = len(stops) * (len(stops) - 1) // 2
        analysis = analyze([run], job)
        whole_s, result = best_of(lambda: find_boxes(analysis), 1)  # noqa: B023
        print(
            f"{plane}: {run.centerline.length_m / ft(1):.0f} ft, {len(run.bends)} bends, "
            f"{len(stops)} places, {count:,} legs both ways\n"
            f"  priced at once {pricing_s:.3f} s, chosen for 0 to 12 boxes {choosing_s:.3f} s\n"
            f"  solved one by one {pair_s * count:,.0f} s ({pair_s * 1000:.2f} ms a leg): "
            f"{pair_s * count / pricing_s:,.0f} times longer; shares differ by {worst:.0e}\n"
            f"  the whole study, refined, with {len(result.trade_off)} rows: {whole_s:.2f} s; "
            f"fewest {result.fewest}, on the grid "
            f"{next((c for c in range(13) if layers.best(c) <= 1.0), None)}"
        )


if __name__ == "__main__":
    main()
