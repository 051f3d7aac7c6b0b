"""A bend redrawn at its corner leaves everything beyond its straights where it is."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians, tan

import pytest
from plan_routes import bent_run, level_bent
from pull_routes import route

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import norm
from analyzer.geometry.vectors import minus
from analyzer.job.settings import Passage
from analyzer.route.run import Run
from analyzer.studies.redrawn_bends import RedrawnBend, bend_to_redraw

REFEED = Passage.REFEED


def ready(run: Run, bend: Bend) -> RedrawnBend:
    found = bend_to_redraw(run, bend)
    assert found is not None
    return found


def whole(run: Run) -> Bend:
    """All arcs of a run as one bend."""
    first, last = run.bends[0], run.bends[-1]
    angle = sum(bend.angle_rad for bend in run.bends)
    return replace(first, end_station_m=last.end_station_m, angle_rad=angle)


def chord(line: Centerline) -> tuple[float, float, float]:
    return minus(line.end_m, line.start_m)


@pytest.mark.parametrize("factor", [0.2, 0.9, 1.7])
@pytest.mark.parametrize(
    "parts",
    [
        [4.0, (0.5, pi / 2), 3.0],
        [9.0, (0.5, radians(140.0)), 9.0],
        # a curve that tightens: both arcs grow, about the corner of its ends
        [4.0, (0.9, 0.5), (0.4, 0.8), 3.0],
    ],
)
def test_the_far_ends_of_the_straights_stay(parts: list, factor: float) -> None:
    run = bent_run(level_bent(parts))
    drawn = ready(run, whole(run))
    line = drawn.line(factor)
    assert norm(minus(chord(line), chord(drawn.line(1.0)))) < 1e-9
    assert drawn.place(0.0, factor) == 0.0
    assert drawn.place(run.centerline.length_m, factor) == pytest.approx(line.length_m)


def test_straights_give_the_tangent_length() -> None:
    run = bent_run(level_bent([4.0, (0.5, 1.2), 3.0]))
    before, arc, after = ready(run, run.bends[0]).line(2.0).segments
    given = 0.5 * tan(0.6)
    assert before.length_m == pytest.approx(4.0 - given)
    assert arc.length_m == pytest.approx(2.0 * 0.5 * 1.2)
    assert after.length_m == pytest.approx(3.0 - given)


def test_room_ends_at_a_bend_a_fitting_and_an_end_of_the_run() -> None:
    line = level_bent([4.0, (0.5, pi / 2), 3.0, (0.5, pi / 2), 8.0])
    first_ends = 4.0 + 0.25 * pi
    bend, second = bent_run(line).bends
    free = ready(bent_run(line), bend)
    assert (free.from_m, free.to_m) == pytest.approx((0.0, first_ends + 3.0))
    assert free.largest_factor == pytest.approx((0.5 + 3.0) / 0.5)
    boxed = ready(bent_run(line, [(first_ends + 1.0, REFEED)]), bend)
    assert boxed.to_m == pytest.approx(first_ends + 1.0)
    assert boxed.largest_factor == pytest.approx((0.5 + 1.0) / 0.5)
    last = ready(bent_run(line), second)
    assert last.to_m == pytest.approx(line.length_m)


def test_straight_in_two_parts_is_one_room() -> None:
    run = bent_run(level_bent([2.0, 2.0, (0.5, pi / 2), 3.0]))
    assert ready(run, run.bends[0]).from_m == 0.0


def test_arc_divided_by_a_box_is_redrawn_as_one() -> None:
    box_m = 4.0 + 0.1 * pi
    run = bent_run(level_bent([4.0, (0.5, pi / 2), 3.0]), [(box_m, REFEED)])
    part = replace(run.bends[0], end_station_m=box_m, angle_rad=0.2 * pi)
    drawn = ready(run, part)
    assert (drawn.from_m, drawn.to_m) == pytest.approx((0.0, run.centerline.length_m))
    assert drawn.before_m == pytest.approx(0.5)
    assert drawn.place(box_m, 2.0) == pytest.approx(3.5 + 2.0 * 0.1 * pi)


def test_a_u_and_a_curve_out_of_its_plane_keep_their_straights() -> None:
    u_turn = bent_run(level_bent([4.0, (0.5, pi), 3.0]))
    twisted = bent_run(
        route((1, 0, 0), [4.0, (0.5, 0.8, (0, 1, 0)), (0.5, 0.8, (0, 0, 1)), 3.0]),
    )
    for run in (u_turn, twisted):
        drawn = ready(run, whole(run))
        assert not drawn.has_corner
        assert drawn.largest_factor is None
        before, *_, after = drawn.line(3.0).segments
        assert (before.length_m, after.length_m) == pytest.approx((4.0, 3.0))
