"""Laws of the feeding study and of the stop value that hold on any run."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_routes import bent_run, heavy_job, random_boxed_run

from analyzer.pulling.groups import conductor_group
from analyzer.route.run import Run
from analyzer.studies.call_outs import call_outs, head_tensions
from analyzer.studies.feeding import FeedingChoice, study_feeding

SEEDS = st.integers(min_value=0, max_value=100_000)
FEW = settings(max_examples=25, deadline=None, derandomize=True)


def run_of(seed: int) -> Run:
    return random_boxed_run(np.random.default_rng(seed))


def reversed_run(run: Run) -> Run:
    """The same run read from its other end."""
    line = run.centerline.reversed()
    length = line.length_m
    fittings = tuple(replace(f, station_m=length - f.station_m) for f in reversed(run.fittings))
    return replace(bent_run(line), fittings=fittings)


def figures(choice: FeedingChoice) -> tuple[float, float, int]:
    return choice.share_of_limit, choice.greatest_tension_n, len(choice.set_ups)


@FEW
@given(SEEDS)
def test_a_run_read_from_its_other_end_has_the_same_choices(seed: int) -> None:
    run, job = run_of(seed), heavy_job((0.2, 0.35, 0.5))
    one, other = study_feeding(run, job), study_feeding(reversed_run(run), job)
    places = [figures(choice) for choice in reversed(other.places)]
    for mine, theirs in zip(one.places, places, strict=True):
        assert figures(mine) == pytest.approx(theirs, rel=1e-9, abs=1e-9)
    for mine, theirs in zip(one.fewest, other.fewest, strict=True):
        assert figures(mine) == pytest.approx(figures(theirs), rel=1e-8, abs=1e-9)


@FEW
@given(SEEDS)
def test_no_place_beats_the_best_for_its_number_of_set_ups(seed: int) -> None:
    run, job = run_of(seed), heavy_job((0.2, 0.35, 0.5))
    study = study_feeding(run, job)
    best = {len(choice.set_ups): choice for choice in study.fewest}
    for choice in study.places:
        known = best[len(choice.set_ups)]
        assert known.share_of_limit <= choice.share_of_limit * (1 + 1e-9)
        assert study.best.share_of_limit <= choice.share_of_limit * (1 + 1e-9)


@FEW
@given(SEEDS)
def test_set_ups_cover_the_run_once(seed: int) -> None:
    run, job = run_of(seed), heavy_job()
    study = study_feeding(run, job)
    for choice in (*study.places, *study.fewest):
        assert sum(item.length_m for item in choice.set_ups) == pytest.approx(
            run.centerline.length_m
        )
        spans = sorted(
            sorted((item.feed.station_m, item.pull_to.station_m)) for item in choice.set_ups
        )
        assert all(before[1] == after[0] for before, after in itertools.pairwise(spans))


@FEW
@given(SEEDS, st.floats(min_value=0.01, max_value=0.3))
def test_more_friction_eases_no_set_up(seed: int, more: float) -> None:
    run = run_of(seed)
    one, other = (
        study_feeding(run, heavy_job((0.2, 0.35, high))).places for high in (0.4, 0.4 + more)
    )
    for smooth, rough in zip(one, other, strict=True):
        assert rough.greatest_tension_n >= smooth.greatest_tension_n * (1 - 1e-9)


@FEW
@given(SEEDS)
def test_head_at_the_stop_value_pulled_on_at_low_friction_is_at_the_next_or_above(
    seed: int,
) -> None:
    run, job = run_of(seed), heavy_job((0.2, 0.35, 0.5))
    (first, *_, last) = run.fittings
    rows = call_outs(run, job, conductor_group(job), first, last, run.bends)
    assert all(row.stop.stop_n is not None for row in rows)
    for before, after in itertools.pairwise(rows):
        x, y, z = (float(value) for value in run.centerline.points_at([before.station_m])[0])
        head = replace(
            first,
            station_m=before.station_m,
            position_m=(x, y, z),
            feed_tension_n=before.stop.stop_n,
        )
        (pulled,) = head_tensions(run, job, head, last, [after.station_m])
        assert (after.stop.stop_n or 0.0) <= pulled.low_n * (1 + 1e-9) + 1e-9


@FEW
@given(SEEDS)
def test_head_tensions_rise_from_low_to_high_friction(seed: int) -> None:
    run, job = run_of(seed), heavy_job((0.2, 0.35, 0.5), feed_tension_n=20.0)
    (first, *_, last) = run.fittings
    for row in call_outs(run, job, conductor_group(job), first, last, run.bends):
        tension = row.tension
        assert tension.low_n <= tension.expected_n * (1 + 1e-9) + 1e-9
        assert tension.expected_n <= tension.high_n * (1 + 1e-9) + 1e-9
