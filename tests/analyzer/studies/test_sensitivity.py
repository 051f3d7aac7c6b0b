"""Sensitivity: each change does what the closed forms say, and the list is ranked."""

from __future__ import annotations

from math import exp, pi, radians
from pathlib import Path

import numpy as np
import pytest
from plan_routes import bent_run, heavy_job, level_bent
from pull_routes import random_route, route

from analyzer.geometry.segments import Arc
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job
from analyzer.job.settings import Passage
from analyzer.pulling.pulls import pull_through
from analyzer.pulling.results import Direction
from analyzer.studies.changed_routes import with_more_turning, with_radius
from analyzer.studies.feeding import set_up_between
from analyzer.studies.sensitivity import FEED_CHANGE_N, Quantity, study_sensitivity
from analyzer.units import deg, ft

SPLIT_BEND = """
[raceway]
type = "RMC"
trade_size = "2"
bend_radius = "4 ft"
[[conductors]]
count = 3
size = "4/0"
insulation = "THHN"
metal = "copper"
[[fittings]]
name = "Box A"
kind = "pull box"
at = "18 ft"
"""

LINE = level_bent([20.0, (0.6, pi / 2), 20.0, (0.6, pi / 4), 10.0])


def rows_of(run, job):
    set_up = set_up_between(run, job, run.fittings[0], run.fittings[-1])
    return study_sensitivity(run, job, (set_up,)), set_up


def test_every_quantity_and_bend_has_a_row_and_the_largest_change_comes_first() -> None:
    rows, _ = rows_of(bent_run(LINE), heavy_job())
    assert len(rows) == 3 + 2 * 2
    changes = [abs(row.share_change) for row in rows]
    assert changes == sorted(changes, reverse=True)


def test_weight_moves_a_pull_without_feed_tension_in_proportion() -> None:
    rows, set_up = rows_of(bent_run(LINE), heavy_job())
    row = next(row for row in rows if row.quantity is Quantity.WEIGHT)
    assert row.tension_change_n == pytest.approx(0.1 * set_up.greatest_tension_n)


def test_friction_and_feed_tension_move_a_level_straight_as_by_hand() -> None:
    job = heavy_job()
    rows, set_up = rows_of(bent_run(level_bent([50.0])), job)
    found = {row.quantity: row.tension_change_n for row in rows}
    assert found[Quantity.FRICTION] == pytest.approx(0.1 * set_up.greatest_tension_n)
    assert found[Quantity.FEED_TENSION] == pytest.approx(FEED_CHANGE_N)


def test_more_turning_multiplies_what_leaves_the_bend() -> None:
    run, job = bent_run(LINE), heavy_job()
    rows, set_up = rows_of(run, job)
    row = next(r for r in rows if r.quantity is Quantity.TURNING and r.bend.number == 2)
    straight = 0.35 * job.pulling_weight_n_per_m * 10.0
    before = set_up.greatest_tension_n - straight
    assert row.tension_n == pytest.approx(before * exp(0.35 * deg(5.0)) + straight)


def test_a_tighter_bend_raises_the_share_where_sidewall_pressure_governs() -> None:
    rows, _ = rows_of(bent_run(level_bent([60.0, (0.15, pi / 2), 1.0])), heavy_job())
    row = next(r for r in rows if r.quantity is Quantity.RADIUS)
    assert row.share_change > 0.05


def test_changed_radius_keeps_angles_straights_and_fittings_in_their_places() -> None:
    run = bent_run(LINE, [(30.0, Passage.REFEED)])
    changed = with_radius(run, run.bends[0], 0.5)
    shorter = 0.3 * pi / 2
    assert changed.centerline.length_m == pytest.approx(run.centerline.length_m - shorter)
    assert changed.fittings[1].station_m == pytest.approx(30.0 - shorter)
    assert changed.bends[0].radius_m == pytest.approx(0.3)
    assert [s.length_m for s in changed.centerline.segments[2:]] == pytest.approx(
        [s.length_m for s in run.centerline.segments[2:]]
    )


def test_more_turning_keeps_every_slope() -> None:
    rng = np.random.default_rng(11)
    turned = 0
    for _ in range(20):
        run = bent_run(random_route(rng, 3))
        for bend in run.bends:
            changed = with_more_turning(run, bend, deg(5.0))
            if changed is None:
                continue
            turned += 1
            rises = [s.end_m[2] - s.start_m[2] for s in run.centerline.segments]
            again = [
                s.end_m[2] - s.start_m[2] for s in changed.centerline.segments if s.length_m > 2e-5
            ]
            assert again == pytest.approx(rises, abs=1e-9)
            corners = changed.centerline.corners()
            total = sum(corner.angle_rad for corner in corners)
            assert total == pytest.approx(deg(5.0), rel=1e-6)
            assert len(corners) in (1, 2)
    assert turned > 50


@pytest.mark.parametrize("direction", Direction)
def test_a_bend_with_both_ends_vertical_turns_out_and_back(direction: Direction) -> None:
    # up 5, over the top R 1, down 5: 5 degrees more multiply what leaves the bend by e^(k 5 deg)
    line = route((0, 0, 1), [5.0, (1.0, pi, (1, 0, 0)), 5.0])
    run, job = bent_run(line), heavy_job(0.2, feed_tension_n=400.0)
    changed = with_more_turning(run, run.bends[0], deg(5.0))
    assert changed is not None
    plain, turned = (pull_through(item, job, direction) for item in (run, changed))
    weight = job.pulling_weight_n_per_m * 5.0
    if direction is Direction.FORWARD:
        leaving, after = plain.high.exit_tension_n + weight, -weight
        by_hand = leaving * exp(0.2 * deg(5.0)) + after
        assert turned.high.exit_tension_n == pytest.approx(by_hand, rel=1e-5)
    else:
        # met before the bend: it multiplies what arrives there
        assert turned.high.exit_tension_n > plain.high.exit_tension_n
    assert changed.centerline.length_m == pytest.approx(run.centerline.length_m, abs=2e-5)
    rows, _ = rows_of(run, job)
    (row,) = [row for row in rows if row.quantity is Quantity.TURNING]
    assert row.tension_change_n > 0.0


def test_a_bend_that_is_the_whole_run_has_no_row_for_its_angle() -> None:
    rows, _ = rows_of(bent_run(route((0, 0, 1), [(1.0, pi, (1, 0, 0))])), heavy_job())
    assert not [row for row in rows if row.quantity is Quantity.TURNING]
    assert [row for row in rows if row.quantity is Quantity.RADIUS]


def test_turning_nothing_else_changes_no_length() -> None:
    run = bent_run(LINE)
    changed = with_more_turning(run, run.bends[0], deg(5.0))
    assert changed is not None
    pull = pull_through(changed, heavy_job(), Direction.FORWARD)
    assert changed.centerline.length_m == pytest.approx(run.centerline.length_m)
    assert pull.high.exit_tension_n > 0.0


def test_a_bend_with_a_pull_point_in_it_is_two_bends_on_one_arc(tmp_path: Path) -> None:
    """Either changes the whole arc; each turns more at its own end of the arc only."""
    path = tmp_path / "rink.csv"
    path.write_text("x_ft,y_ft,z_ft\n0,0,0\n20,0,0\n20,20,3\n")
    job = parse_job(SPLIT_BEND)
    (run,) = open_route(path, job).runs
    first, second = run.bends
    assert first.end_station_m == pytest.approx(second.station_m) == pytest.approx(ft(18.0))
    for bend in (first, second):
        arc = with_radius(run, bend, 0.5).centerline.segments[1]
        assert isinstance(arc, Arc)
        assert arc.radius_m == pytest.approx(ft(2.0))
        turned = with_more_turning(run, bend, radians(5.0))
        assert turned is not None
        assert turned.centerline.length_m == pytest.approx(run.centerline.length_m)
