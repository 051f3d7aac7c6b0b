"""Sensitivity: each change does what the closed forms say, and the list is ranked."""

from __future__ import annotations

from collections.abc import Sequence
from math import cosh, exp, hypot, pi, radians, sinh
from pathlib import Path

import numpy as np
import pytest
from plan_routes import (
    bent_run,
    heavy_job,
    level_bent,
    three_like_job,
    without_tension_limit,
)
from pull_routes import random_route, route

from analyzer.errors import InputError
from analyzer.geometry.segments import Arc
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job
from analyzer.job.settings import Passage
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.pulls import pull_through
from analyzer.pulling.results import Direction
from analyzer.route.run import Run
from analyzer.studies.changed_routes import with_more_turning, with_radius
from analyzer.studies.feeding import SetUp, set_up_between
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


def test_a_change_has_no_share_where_no_limit_is_known() -> None:
    rows, set_up = rows_of(bent_run(level_bent([50.0])), without_tension_limit(heavy_job()))
    assert set_up.share_of_limit is None
    assert {(row.share_of_limit, row.share_change) for row in rows} == {(None, None)}
    changes = [abs(row.tension_change_n) for row in rows]
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


def test_friction_beyond_the_reach_of_the_lubricant_changes_with_the_friction() -> None:
    # 50 m, of which 20 m lie beyond the reach at 0.6: all of the tension is friction
    job = heavy_job(0.35, lubricant_reach_m=30.0, dry_friction=0.6)
    rows, set_up = rows_of(bent_run(level_bent([50.0])), job)
    weight = job.pulling_weight_n_per_m
    assert set_up.greatest_tension_n == pytest.approx(weight * (0.35 * 30.0 + 0.6 * 20.0))
    row = next(row for row in rows if row.quantity is Quantity.FRICTION)
    assert row.tension_change_n == pytest.approx(0.1 * set_up.greatest_tension_n)


def test_feed_tension_stated_at_a_fitting_changes_as_that_of_the_job_does() -> None:
    run, job = bent_run(level_bent([50.0]), feed_tension_n={"start": 500.0}), heavy_job()
    rows, set_up = rows_of(run, job)
    friction_n = 0.35 * job.pulling_weight_n_per_m * 50.0
    assert set_up.greatest_tension_n == pytest.approx(500.0 + friction_n)
    row = next(row for row in rows if row.quantity is Quantity.FEED_TENSION)
    assert row.tension_change_n == pytest.approx(FEED_CHANGE_N)


def test_more_turning_multiplies_what_leaves_the_bend() -> None:
    run, job = bent_run(LINE), heavy_job()
    rows, set_up = rows_of(run, job)
    row = next(r for r in rows if r.quantity is Quantity.TURNING and r.bend.number == 2)
    weight = job.pulling_weight_n_per_m
    straight = 0.35 * weight * 10.0
    before = set_up.greatest_tension_n - straight
    # the level bend with weight, closed form of a level arc: T cosh(k a) + sqrt(T^2 + (w R)^2) sinh
    k_a = 0.35 * deg(5.0)
    after = before * cosh(k_a) + hypot(before, weight * 0.6) * sinh(k_a)
    assert row.tension_n == pytest.approx(after + straight)


def test_a_tighter_bend_raises_the_share_where_sidewall_pressure_governs() -> None:
    rows, _ = rows_of(bent_run(level_bent([60.0, (0.15, pi / 2), 1.0])), heavy_job())
    row = next(r for r in rows if r.quantity is Quantity.RADIUS)
    assert row.share_change > 0.05


def test_changed_radius_keeps_its_corner_and_fittings_in_their_places() -> None:
    run = bent_run(LINE, [(30.0, Passage.REFEED)])
    changed = with_radius(run, run.bends[0], 0.5)
    # R tan(a/2) on both sides: 0.3 m more straight each, 0.3 pi/2 less arc
    longer = 0.6 - 0.3 * pi / 2
    assert changed.centerline.length_m == pytest.approx(run.centerline.length_m + longer)
    assert changed.fittings[1].station_m == pytest.approx(30.0 + longer)
    for old, new in zip(run.fittings, changed.fittings, strict=True):
        assert new.position_m == pytest.approx(old.position_m, abs=1e-9)
    assert changed.bends[0].radius_m == pytest.approx(0.3)
    assert changed.bends[0].station_m == pytest.approx(20.3)
    assert changed.bends[1].station_m == pytest.approx(run.bends[1].station_m + longer)
    # the straight behind it may be in two parts, at the box
    assert [s.length_m for s in changed.centerline.segments[-2:]] == pytest.approx(
        [s.length_m for s in run.centerline.segments[-2:]]
    )


def test_radius_without_room_between_its_neighbors_is_refused() -> None:
    run = bent_run(level_bent([3.0, (0.5, pi / 2), 1.0, (0.5, pi / 2), 3.0]))
    # 0.5 + 1.0 m of tangent at the most
    assert with_radius(run, run.bends[0], 3.0).bends[0].radius_m == pytest.approx(1.5)
    with pytest.raises(InputError, match="no room for a radius"):
        with_radius(run, run.bends[0], 3.01)


def test_radius_of_a_u_changes_with_its_straights_as_long_as_drawn() -> None:
    rows, _ = rows_of(bent_run(level_bent([20.0, (0.6, pi), 15.0])), heavy_job())
    row = next(r for r in rows if r.quantity is Quantity.RADIUS)
    assert row.keeps_straights
    again, _ = rows_of(bent_run(level_bent([20.0, (0.54, pi), 15.0])), heavy_job())
    base = again[0].tension_n - again[0].tension_change_n
    assert row.tension_n == pytest.approx(base)


RADII_M = (0.4, 0.4, 0.6, 0.6, 0.5, 0.4)
CORNERS_M = (
    (0.0, 0.0, 3.2), (12.4, 0.0, 3.2), (12.4, 9.7, 3.2), (25.3, 17.14, 3.2), (31.1, 17.14, 5.05),
    (44.2, 17.14, 5.05),
)  # fmt: skip


def points_file(path: Path, radii_m: Sequence[float]) -> Path:
    rows = ["x_m,y_m,z_m,radius_m,fitting,label", "0,0,0.9,,panel,P 1"]
    places = zip(CORNERS_M, radii_m, strict=True)
    rows += [f"{x},{y},{z},{radius:.12g},," for (x, y, z), radius in places]
    rows.insert(5, "18.9,13.448837209302,3.2,,pull box,Box 1")
    path.write_text("\n".join([*rows, "44.2,17.14,1.1,,equipment,Pump"]) + "\n")
    return path


def test_every_radius_row_is_the_route_read_again_with_that_radius(tmp_path: Path) -> None:
    """Level, vertical and tilted bends before and behind a box, drawn by their corners."""
    job = three_like_job((0.2, 0.35, 0.5), feed_tension_n=60.0)

    def set_ups_with(radii: Sequence[float]) -> tuple[Run, list[SetUp]]:
        (run,) = open_route(points_file(tmp_path / "route.csv", radii), job).runs
        first, box, last = run.fittings
        return run, [set_up_between(run, job, *pair) for pair in ((first, box), (last, box))]

    run, set_ups = set_ups_with(RADII_M)
    rows = study_sensitivity(run, job, set_ups)
    found = {row.bend.number: row for row in rows if row.quantity is Quantity.RADIUS}
    assert len(found) == len(RADII_M)
    for index in range(len(RADII_M)):
        radii = [radius * (0.9 if at == index else 1.0) for at, radius in enumerate(RADII_M)]
        _, again = set_ups_with(radii)
        row = found[index + 1]
        assert not row.keeps_straights
        assert row.tension_n == pytest.approx(max(i.greatest_tension_n for i in again), rel=1e-6)
        assert row.share_of_limit == pytest.approx(max(i.share_of_limit for i in again), rel=1e-6)


Step = float | tuple[float, float, float]


def frames_of(steps: list[Step], start: np.ndarray) -> tuple[list, np.ndarray]:
    """Parts of `route` for straights [m] and bends (radius [m], angle and roll [rad]).

    `start` has the first direction and a normal to it as its first two columns.
    """
    along, normal = start[:, 0], start[:, 1]
    parts: list = []
    for step in steps:
        if isinstance(step, float):
            parts.append(step)
            continue
        radius, angle, roll = step
        toward = normal * np.cos(roll) + np.cross(along, normal) * np.sin(roll)
        parts.append((radius, angle, tuple(toward.tolist())))
        along, normal = (
            along * np.cos(angle) + toward * np.sin(angle),
            toward * np.cos(angle) - along * np.sin(angle),
        )
    return parts, np.column_stack([along, normal, np.cross(along, normal)])


def drawn(steps: list[Step], start: np.ndarray):
    parts, _ = frames_of(steps, start)
    return bent_run(route(start[:, 0].tolist(), parts))


UP, RIGHT = 0.0, pi / 2
ROUTES: dict[str, list[Step]] = {
    "level": [9.0, (0.24, pi / 2, RIGHT), 12.0, (0.3, pi / 3, pi), 18.0, (0.24, 1.4, 0.0), 3.0],
    "vertical": [4.0, (0.24, pi / 2, UP), 9.0, (0.3, pi / 2, pi), 7.0, (0.6, 0.5, pi), 5.0],
    "rolled": [6.0, (0.3, 0.7, 0.8), 5.0, (0.24, 1.2, 2.1), 8.0, (0.5, pi / 2, -0.6), 2.0],
}


@pytest.mark.parametrize("name", ROUTES)
def test_more_turning_is_the_route_drawn_with_that_angle(name: str) -> None:
    """The bend drawn with 5 degrees more: sidewall pressure and tension, pulled and held back."""
    steps, job, more = ROUTES[name], three_like_job(feed_tension_n=300.0), deg(5.0)
    start = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    run = drawn(steps, start)
    _, end = frames_of(steps, start)
    places = [index for index, step in enumerate(steps) if isinstance(step, tuple)]
    for bend, place in zip(run.bends, places, strict=True):
        radius, angle, roll = steps[place]
        changed = [*steps[:place], (radius, angle + more, roll), *steps[place + 1 :]]
        rest = run.centerline.length_m - bend.end_station_m
        lay = start
        if rest > bend.station_m:  # the part before the bend turns, what is behind it stays
            _, there = frames_of(changed, start)
            lay = end @ there.T @ start
        again, by_study = drawn(changed, lay), with_more_turning(run, bend, more)
        for direction in Direction:
            one, other = (pull_through(item, job, direction) for item in (again, by_study))
            for got, expected in (
                (other.high.exit_tension_n, one.high.exit_tension_n),
                (other.high.max_tension_n, one.high.max_tension_n),
                (other.high.max_sidewall_n_per_m, one.high.max_sidewall_n_per_m),
                (other.braked.hold_back_n, one.braked.hold_back_n),
                (other.braked.max_sidewall_n_per_m, one.braked.max_sidewall_n_per_m),
            ):
                assert got == pytest.approx(expected, rel=1e-9, abs=1e-9)
        assert by_study.centerline.length_m == pytest.approx(again.centerline.length_m)
        assert by_study.bends[bend.number - 1].angle_rad == pytest.approx(angle + more)


def test_more_angle_raises_the_sidewall_pressure_of_its_own_bend() -> None:
    # one level quarter bend of EMT 2: 9.5 in, 30 ft before and 60 ft behind it
    line = level_bent([ft(30.0), (ft(9.5 / 12), pi / 2), ft(60.0)])
    job = three_like_job(feed_tension_n=445.0)
    rows, set_up = rows_of(bent_run(line), job)
    row = next(row for row in rows if row.quantity is Quantity.TURNING)
    assert set_up.pull.governing is not None
    assert set_up.pull.governing.code == "sidewall"
    k = set_up.pull.high.friction * conductor_group(job).weight_factor
    assert row.share_of_limit / set_up.share_of_limit == pytest.approx(exp(k * deg(5.0)), rel=1e-3)


def test_bends_in_space_and_of_half_a_turn_grow_by_what_is_asked() -> None:
    rng = np.random.default_rng(11)
    lines = [random_route(rng, 3) for _ in range(20)]
    lines.append(route((0, 0, 1), [5.0, (1.0, pi, (1, 0, 0)), 5.0]))
    for line in lines:
        run = bent_run(line)
        before = sum(s.angle_rad for s in line.segments if isinstance(s, Arc))
        for bend in run.bends:
            changed = with_more_turning(run, bend, deg(5.0))
            arcs = [s for s in changed.centerline.segments if isinstance(s, Arc)]
            assert sum(s.angle_rad for s in arcs) - before == pytest.approx(deg(5.0))
            assert not changed.centerline.corners()
            assert changed.centerline.length_m - line.length_m == pytest.approx(
                deg(5.0) * bend.radius_m
            )


def test_a_bend_that_is_the_whole_run_turns_more_too() -> None:
    rows, set_up = rows_of(
        bent_run(level_bent([(1.0, pi / 2)])), heavy_job(0.35, feed_tension_n=2000.0)
    )
    (row,) = [row for row in rows if row.quantity is Quantity.TURNING]
    times = row.tension_n / set_up.greatest_tension_n
    assert times == pytest.approx(exp(0.35 * deg(5.0)), rel=1e-3)


def test_a_bend_with_a_pull_point_in_it_is_two_bends_on_one_arc(tmp_path: Path) -> None:
    """Either changes the whole arc; each turns more in its own part, the box behind the first."""
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
        added = ft(4.0) * radians(5.0)
        assert turned.centerline.length_m == pytest.approx(run.centerline.length_m + added)
        box = turned.fittings[1].station_m
        assert box == pytest.approx(ft(18.0) + (added if bend is first else 0.0))
        assert turned.bends[0].end_station_m == pytest.approx(box)
