"""How long a pull takes against scipy's DOP853 at a relative tolerance of 1e-12; run by hand.

    python tests/benchmarks/bench_pull.py

Prints milliseconds and ratios for a level, a vertical and a tilted route of ten bends, and the
largest difference between both in units of the greatest tension.
"""

from __future__ import annotations

import sys
from math import cos, pi, sin
from pathlib import Path
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "properties"))

from pull_jobs import job_with, run_with
from pull_routes import random_route, reference_ends, route

from analyzer.geometry.centerline import Centerline
from analyzer.job.settings import Passage
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import Direction
from analyzer.pulling.string_model import pieces_between, pull_string
from analyzer.route.legs import split_into_legs

WEIGHT, FRICTIONS, FEED = 30.0, (0.2, 0.35, 0.5), 20.0


def level_route() -> Centerline:
    parts: list = []
    for number in range(10):
        heading = number * pi / 2
        parts += [10.0, (0.24, pi / 2, (-sin(heading), cos(heading), 0.0))]
    return route((1.0, 0.0, 0.0), [*parts, 10.0])


def vertical_route() -> Centerline:
    up, ahead = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
    parts: list = []
    for _ in range(5):
        parts += [5.0, (0.24, pi / 2, up), 3.0, (0.24, pi / 2, ahead)]
    return route(ahead, [*parts, 5.0])


def best_of(count: int, job) -> tuple[float, object]:
    times, result = [], None
    for _ in range(count):
        start = perf_counter()
        result = job()
        times.append(perf_counter() - start)
    return min(times) * 1e3, result


def main() -> None:
    """Print one line for each route."""
    tilted = random_route(np.random.default_rng(2), 10, radii=(0.2, 0.6))
    for name, centerline in (
        ("level", level_route()),
        ("vertical", vertical_route()),
        ("tilted", tilted),
    ):
        length = centerline.length_m
        pieces = pieces_between(centerline, 0.0, length)
        ours, pulls = best_of(5, lambda p=pieces: pull_string(p, WEIGHT, FRICTIONS, FEED))
        theirs, ends = best_of(
            1,
            lambda c=centerline: [
                reference_ends(c, WEIGHT, k, FEED, steps=1)[-1] for k in FRICTIONS
            ],
        )
        worst = max(
            abs(pull.exit_tension_n - end) / pull.greatest()[0]
            for pull, end in zip(pulls, ends, strict=True)
        )
        run = run_with(
            centerline, [(0.3 * length, Passage.REFEED), (0.6 * length, Passage.THROUGH)]
        )
        job, legs = job_with(friction=FRICTIONS), split_into_legs(run)

        def whole(run=run, job=job, legs=legs) -> None:
            for direction in Direction:
                pull_legs(run, legs, job, direction)
                pull_through(run, job, direction)

        all_pulls, _ = best_of(5, whole)
        sys.stdout.write(
            f"{name:9s} three frictions {ours:7.2f} ms, scipy {theirs:9.1f} ms, "
            f"{theirs / ours:6.0f} times; difference {worst:.1e}; "
            f"legs and run both ways {all_pulls:6.1f} ms\n"
        )


if __name__ == "__main__":
    main()
