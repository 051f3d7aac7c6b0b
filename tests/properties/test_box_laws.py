"""Laws of boxes: a refed box never makes a pull harder, a raised limit never needs more boxes."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from box_runs import box_job, random_run, study
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from analyzer.errors import InputError
from analyzer.job.settings import Limits
from analyzer.studies.boxes_placements import place_boxes
from analyzer.studies.what_if import add_box
from analyzer.units import lbf

SEEDS = st.integers(0, 2**32 - 1)
PARTS = st.floats(0.02, 0.98)
LAW = settings(max_examples=25, deadline=None, derandomize=True)
SLOW_LAW = settings(max_examples=4, deadline=None, derandomize=True)


@LAW
@given(seed=SEEDS, parts=st.lists(PARTS, min_size=1, max_size=3), part=PARTS)
def test_one_refed_box_more_never_raises_the_greatest_tension(seed, parts, part) -> None:
    run = random_run(seed, 3)
    job = box_job((0.1, 0.3, 0.5), weight_lbf_per_ft=1.0)
    length = run.centerline.length_m
    try:
        for each in parts:
            run = add_box(run, each * length, job)
        more = add_box(run, part * length, job)
    except InputError:
        assume(False)
    before, after = place_boxes(run, job, ()), place_boxes(more, job, ())
    for direction in ("better", "forward", "reverse"):
        fixed = replace(job, boxes=replace(job.boxes, direction=direction))
        one, other = place_boxes(run, fixed, ()), place_boxes(more, fixed, ())
        assert other.share_of_limit <= one.share_of_limit * (1.0 + 1e-9)
        if direction != "better":
            assert other.max_tension_n <= one.max_tension_n * (1.0 + 1e-9)
    assert after.bend_total_deg <= before.bend_total_deg + 1e-9


@SLOW_LAW
@given(seed=SEEDS, limit=st.floats(50.0, 1500.0), factor=st.floats(1.0, 3.0))
def test_raised_limit_never_needs_more_boxes(seed, limit, factor) -> None:
    run = random_run(seed, 3)
    job = box_job(
        (0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, max_tension_lbf=limit, need_m=0.1, most=2,
        spacing_m=1.0, limits=Limits(sidewall_pressure_n_per_m=2000.0, sidewall_from="job"),
    )  # fmt: skip
    few = study(run, job).fewest
    line = job.conductors[0]
    stronger = replace(line.conductor, max_tension_n=lbf(limit * factor))
    raised = replace(
        job,
        conductors=(replace(line, conductor=stronger),),
        limits=replace(job.limits, sidewall_pressure_n_per_m=2000.0 * factor),
    )
    fewer = study(run, raised).fewest
    assert few is None or (fewer is not None and fewer <= few)


@SLOW_LAW
@given(seed=SEEDS)
def test_trade_off_never_gets_worse_with_a_box_more(seed) -> None:
    run = random_run(seed, 3)
    limits = Limits(degrees_between_pull_points=100000.0, degrees_from="job")
    job = box_job(
        (0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, limits=limits, need_m=0.1, most=2, spacing_m=1.0
    )
    shares = [row.share_of_limit for row in study(run, job).trade_off]
    assert all(b <= a * (1.0 + 3e-9) for a, b in pairwise(shares))


@SLOW_LAW
@given(seed=SEEDS)
def test_answer_does_not_hang_on_the_spacing(seed) -> None:
    run = random_run(seed, 3)
    job = box_job((0.1, 0.3, 0.5), weight_lbf_per_ft=1.0, need_m=0.1, most=2)
    rows = [
        study(run, replace(job, boxes=replace(job.boxes, spacing_m=spacing))).trade_off
        for spacing in (0.31, 2.7)
    ]
    shares = [[row.share_of_limit for row in each] for each in rows]
    assert np.allclose(shares[0], shares[1], rtol=5e-9)
