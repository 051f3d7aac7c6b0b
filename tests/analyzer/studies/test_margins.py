"""Margins: at the friction and the radius found, the limit is just reached."""

from __future__ import annotations

import json
from dataclasses import replace
from math import pi
from pathlib import Path

import pytest
from plan_routes import at_corner, bent_run, heavy_job, level_bent, three_like_job
from pull_routes import route

from analyzer.job.settings import Friction, Job
from analyzer.pulling.groups import conductor_group
from analyzer.route.run import Run
from analyzer.studies.bend_radii import BendRadii
from analyzer.studies.call_outs import pulls_between
from analyzer.studies.feeding import SetUp, set_up_between
from analyzer.studies.margins import (
    GREATEST_FRICTION,
    Margins,
    highest_friction,
    margins_of,
)
from analyzer.studies.ways import Way, way_of_set_up
from analyzer.units import ft, lbf, lbf_per_ft

LINE = level_bent([20.0, (0.3, pi / 2), 20.0, (0.3, pi / 2), 5.0])


def way_of(run: Run, job: Job, set_up: SetUp) -> Way:
    return way_of_set_up(run, set_up, job, conductor_group(job))


def set_up_margins(run: Run, job: Job, set_up: SetUp) -> Margins:
    return margins_of(way_of(run, job, set_up), set_up.pull, set_up.bends)


def bend_pressures_n_per_m(run: Run, job: Job, set_up: SetUp, number: int) -> tuple[float, float]:
    """Greatest pressure in a bend, pulled and held back, by pulls of the whole changed run."""
    bend = next(item for item in run.bends if item.number == number)
    named = {fitting.name: fitting for fitting in run.fittings}
    feed, pull_to = named[set_up.feed.name], named[set_up.pull_to.name]
    ends = (bend.station_m, bend.end_station_m)
    middle = (bend.station_m + bend.end_station_m) / 2.0
    for pull in pulls_between(run, job, feed, pull_to, ends):
        low, high = sorted((pull.profile.station_m[0], pull.profile.station_m[-1]))
        if low <= middle <= high:
            return pull.high.max_sidewall_n_per_m, pull.braked.max_sidewall_n_per_m
    raise AssertionError("no pull holds the bend")


def test_at_the_highest_friction_a_limit_is_just_reached() -> None:
    run, job = bent_run(LINE), three_like_job()
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    friction = highest_friction(way_of(run, job, set_up))
    assert friction is not None
    band = replace(job.pull, friction=Friction(friction, friction, friction))
    again = set_up_between(run, replace(job, pull=band), set_up.feed, set_up.pull_to)
    shares = [s.share for s in again.pull.shares if "braked" not in s.code]
    assert max(shares) == pytest.approx(1.0, rel=1e-7)


def test_highest_friction_of_a_level_straight_is_limit_over_weight() -> None:
    run, job = bent_run(level_bent([200.0])), heavy_job()
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    by_hand = lbf(1000.0) / (job.pulling_weight_n_per_m * 200.0)
    assert highest_friction(way_of(run, job, set_up)) == pytest.approx(by_hand)


def test_no_friction_passes_where_the_weight_alone_is_too_much() -> None:
    run, job = bent_run(route((0, 0, 1), [150.0])), heavy_job()
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    assert job.pulling_weight_n_per_m * 150.0 > lbf(1000.0)
    assert highest_friction(way_of(run, job, set_up)) is None


def test_search_for_friction_ends_where_the_job_file_does() -> None:
    run, job = bent_run(level_bent([5.0])), heavy_job()
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    assert highest_friction(way_of(run, job, set_up)) == GREATEST_FRICTION


def test_at_the_smallest_radius_the_sidewall_limit_is_just_reached() -> None:
    run, job = bent_run(LINE), three_like_job()
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    margins = set_up_margins(run, job, set_up)
    assert margins.bend is not None
    assert margins.bend.number == 2
    assert margins.smallest_radius_m is not None
    changed = at_corner(run, margins.bend, margins.smallest_radius_m)
    pressed = max(bend_pressures_n_per_m(changed, job, set_up, 2))
    assert pressed == pytest.approx(job.limits.sidewall_pressure_n_per_m, rel=1e-6)


def test_published_radius_for_a_sidewall_limit() -> None:
    # General Cable, Maximum Sidewall Pressure, 2011: 600 lbf in a bend of 2 ft gives 300 lbf/ft
    data = json.loads((Path(__file__).parents[2] / "published" / "examples.json").read_text())
    example = next(i for i in data["scalar_examples"] if i["id"] == "GC-swp-example")
    printed = {float(v) for v in (*example["inputs"].values(), example["printed"])}
    assert printed == {600.0, 2.0, 300.0}
    tension, pressure = lbf(600.0), lbf_per_ft(300.0)
    # next to no weight and friction: the tension stays that of the feed
    run = bent_run(level_bent([1.0, (ft(5.0), pi / 2), 1.0]))
    job = heavy_job(0.001, feed_tension_n=tension)
    limits = replace(job.limits, sidewall_pressure_n_per_m=pressure)
    light = replace(job.conductors[0].conductor, weight_n_per_m=1e-6, max_tension_n=lbf(9000.0))
    line = replace(job.conductors[0], conductor=light)
    job = replace(job, limits=limits, conductors=(line,))
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    radius = BendRadii(way_of(run, job, set_up)).of(run.bends[0]).smallest_m
    # friction of 0.001 over 90 degrees raises the tension by 0.16 percent
    assert radius == pytest.approx(ft(2.0), rel=2e-3)


def test_spare_is_negative_where_a_limit_is_passed() -> None:
    run, job = bent_run(level_bent([400.0])), heavy_job()
    margins = set_up_margins(run, job, set_up_between(run, job, run.fittings[0], run.fittings[-1]))
    assert margins.spare is not None
    assert margins.spare < 0.0
    assert margins.bend is None


def test_every_bend_above_the_sidewall_limit_is_named_with_the_radius_it_needs() -> None:
    """At that radius each bend alone just reaches the limit, whatever the others do."""
    line = level_bent([20.0, (0.3, pi / 2), 20.0, (0.3, pi / 2), 20.0, (0.3, pi / 2), 5.0])
    run, job = bent_run(line), three_like_job()
    job = replace(job, limits=replace(job.limits, sidewall_pressure_n_per_m=lbf_per_ft(200.0)))
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    over = set_up_margins(run, job, set_up).over
    assert [item.bend.number for item in over] == [3, 2]
    assert over[0].n_per_m == pytest.approx(set_up.pull.high.max_sidewall_n_per_m)
    for item in over:
        assert item.radius_m is not None
        assert not item.is_braked
        pressed, _ = bend_pressures_n_per_m(run, job, set_up, item.bend.number)
        assert item.n_per_m == pytest.approx(pressed)
        wider = at_corner(run, item.bend, item.radius_m)
        named = {fitting.name: fitting for fitting in wider.fittings}
        again = set_up_between(wider, job, named[set_up.feed.name], named[set_up.pull_to.name])
        pressed, _ = bend_pressures_n_per_m(wider, job, again, item.bend.number)
        assert pressed == pytest.approx(lbf_per_ft(200.0))
