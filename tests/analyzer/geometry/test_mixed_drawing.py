"""Stretches of different kinds in one path: points beside drawn arcs, chords beside arcs, boxes."""

from __future__ import annotations

from itertools import pairwise
from math import cos, degrees, radians, sin

import numpy as np
import pytest
import survey_routes

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.readings import ReadAs, Reading
from analyzer.geometry.segments import Arc, Straight

SD = 0.002
CORNER_M = 0.1
TURN = radians(60.0)


def lines(rows: np.ndarray) -> tuple[DrawnEdge, ...]:
    points = [tuple(float(v) for v in row) for row in rows]
    return tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(points))


def surveyed(seed: int, spread: float = SD) -> np.ndarray:
    """Points every 10 cm: 2 m straight, a bend of 60 degrees with R 0.8 m, 2 m straight."""
    bend = 0.8 * TURN
    rows = []
    for s in np.arange(0.0, 4.0 + bend, 0.1):
        turn = min(max(s - 2.0, 0.0) / 0.8, TURN)
        beyond = max(s - 2.0 - bend, 0.0)
        rows.append(
            (
                min(s, 2.0) + 0.8 * sin(turn) + beyond * cos(turn),
                0.8 * (1.0 - cos(turn)) + beyond * sin(turn),
                3.0,
            )
        )
    noise = np.random.default_rng(seed).normal(0.0, spread, (len(rows), 3))
    # the last point is drawn: the arc starts there
    noise[-1] = 0.0
    return np.array(rows) + noise


def points_then_arc(seed: int, *, drawn_straight: bool) -> DrawnPath:
    """Survey points, then a straight or none, a drawn arc of 90 degrees down, a straight."""
    rows = surveyed(seed)
    along = np.array([cos(TURN), sin(TURN), 0.0])
    if drawn_straight:
        rows = np.vstack([rows, rows[-1] + 1.5 * along])
    down = np.array([0.0, 0.0, -1.0])
    arc = Arc(
        tuple(map(float, rows[-1])),
        tuple(map(float, rows[-1] + 0.5 * down)),
        tuple(map(float, np.cross(along, down))),
        radians(90.0),
    )
    end = tuple(float(v) for v in np.add(arc.end_m, 2.0 * np.array(arc.end_tangent)))
    return DrawnPath(
        (*lines(rows), DrawnEdge(arc, DrawnAs.ARC), DrawnEdge(Straight(arc.end_m, end)))
    )


def reversed_path(path: DrawnPath) -> DrawnPath:
    return DrawnPath(
        tuple(DrawnEdge(e.segment.reversed(), e.drawn_as) for e in reversed(path.edges))
    )


@pytest.mark.parametrize("accuracy", [None, SD])
@pytest.mark.parametrize("drawn_straight", [False, True])
@pytest.mark.parametrize("backward", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_points_and_a_drawn_arc_in_one_polyline_are_each_read_as_what_they_are(
    seed: int, backward: bool, drawn_straight: bool, accuracy: float | None
) -> None:
    path = points_then_arc(seed, drawn_straight=drawn_straight)
    reading = read_bends(
        reversed_path(path) if backward else path, corner_radius_m=CORNER_M, accuracy_m=accuracy
    )
    measured, drawn = reading.bends[::-1] if backward else reading.bends
    assert reading.read_as is ReadAs.MIXED
    assert (measured.read_as, drawn.read_as) == (ReadAs.SURVEY, ReadAs.ARCS)
    assert measured.angle_sd_rad is not None
    assert measured.radius_sd_m is not None
    # four of its own deviations, and what laying the arc tangent to the fitted line may turn it
    assert abs(measured.angle_rad - TURN) < 4.0 * measured.angle_sd_rad + radians(0.05)
    assert abs(measured.radius_m - 0.8) < 4.0 * measured.radius_sd_m
    assert drawn.radius_m == pytest.approx(0.5, rel=1e-6)
    assert degrees(drawn.angle_rad) == pytest.approx(90.0, abs=0.1)
    assert drawn.angle_sd_rad is None
    assert "corner-too-short" not in {f.code for f in reading.findings}


def test_a_real_corner_between_points_and_a_drawn_arc_stays_a_corner() -> None:
    path = points_then_arc(1, drawn_straight=False)
    rows = np.array(path.vertices_m)[:-2]
    arc = Arc(
        tuple(map(float, rows[-1])),
        tuple(map(float, rows[-1] + np.array([0.0, 0.0, -0.5]))),
        (0.0, 1.0, 0.0),
        radians(90.0),
    )
    reading = read_bends(
        DrawnPath((*lines(rows), DrawnEdge(arc, DrawnAs.ARC))),
        corner_radius_m=CORNER_M,
        accuracy_m=SD,
    )
    assert [b.read_as for b in reading.bends] == [ReadAs.SURVEY, ReadAs.CORNERS, ReadAs.ARCS]
    assert degrees(reading.bends[1].angle_rad) == pytest.approx(60.0, abs=0.5)


# --- drawn corners and survey points in one polyline --------------------------------------------

DRAWN_PARTS = {
    "long legs": [(-60.0, -30.0, 3.0), (-30.0, -30.0, 3.0), (-30.0, 0.0, 3.0)],
    "short legs": [(-3.0, -2.0, 3.0), (-1.5, -2.0, 3.0), (-1.5, 0.0, 3.0)],
    "a drop": [(-1.5, 0.0, 7.0), (-1.5, 0.0, 3.0)],
}


@pytest.mark.parametrize("accuracy", [None, SD])
@pytest.mark.parametrize("part", sorted(DRAWN_PARTS))
@pytest.mark.parametrize("backward", [False, True])
def test_drawn_corners_and_survey_points_in_one_polyline_are_read_apart(
    part: str, backward: bool, accuracy: float | None
) -> None:
    drawn = DRAWN_PARTS[part]
    rows = np.vstack([drawn, surveyed(3)])
    path = DrawnPath(lines(rows))
    reading = read_bends(
        reversed_path(path) if backward else path, corner_radius_m=CORNER_M, accuracy_m=accuracy
    )
    bends = reading.bends[::-1] if backward else reading.bends
    corners = [ReadAs.CORNERS] * (len(drawn) - 1)
    assert [bend.read_as for bend in bends] == [*corners, ReadAs.SURVEY]
    for bend in bends[:-1]:
        # the last drawn leg ends at a noisy point where it meets the survey
        assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=0.3)
        assert bend.radius_m == pytest.approx(CORNER_M)
    assert bends[-1].angle_sd_rad is not None
    assert abs(bends[-1].angle_rad - TURN) < 4.0 * bends[-1].angle_sd_rad + radians(0.05)
    said = {f.code for f in reading.findings}
    assert ("read-as-survey" in said) is (accuracy is None)
    assert not said & {"survey-outliers", "survey-not-explained", "accuracy-not-used"}


def test_few_noisy_points_that_are_read_as_corners_are_called_in_question() -> None:
    rows = surveyed(6)[:9]
    reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=0.01)
    assert reading.read_as is ReadAs.CORNERS
    (said,) = [f for f in reading.findings if f.code == "ambiguous-chords"]
    assert said.severity is Severity.CAUTION
    assert "turn by less than 5°" in said.message
    assert 'read_as = "survey"' in said.message
    asked = read_bends(DrawnPath(lines(rows)), corner_radius_m=0.01, read_as=ReadAs.CHORDS)
    assert "chords of no one arc" in next(
        f.message for f in asked.findings if f.code == "ambiguous-chords"
    )
    sure = read_bends(DrawnPath(lines(rows)), corner_radius_m=0.01, read_as=ReadAs.CORNERS)
    assert "ambiguous-chords" not in {f.code for f in sure.findings}


@pytest.mark.parametrize("long_m", [2.0, 8.0, 60.0])
def test_survey_with_a_long_gap_keeps_its_bends_and_makes_none(long_m: float) -> None:
    first, second = surveyed(1), surveyed(2)
    along = np.array([cos(TURN), sin(TURN), 0.0])
    turn = np.array([[cos(TURN), -sin(TURN), 0.0], [sin(TURN), cos(TURN), 0.0], [0.0, 0.0, 1.0]])
    moved = (second - second[0]) @ turn.T + first[-1] + long_m * along
    for accuracy in (None, SD):
        reading = read_bends(
            DrawnPath(lines(np.vstack([first, moved]))),
            corner_radius_m=CORNER_M,
            accuracy_m=accuracy,
        )
        assert [bend.read_as for bend in reading.bends] == [ReadAs.SURVEY] * 2
        for bend in reading.bends:
            assert degrees(bend.angle_rad) == pytest.approx(60.0, abs=0.6)


def beyond(rows: np.ndarray, more: np.ndarray, leg_m: float) -> np.ndarray:
    """Put points that start along x behind others, so far on along their last straight."""
    along = np.array([cos(TURN), sin(TURN), 0.0])
    turn = np.array([[cos(TURN), -sin(TURN), 0.0], [sin(TURN), cos(TURN), 0.0], [0.0, 0.0, 1.0]])
    return np.vstack([rows, (more - more[0]) @ turn.T + rows[-1] + leg_m * along])


@pytest.mark.parametrize("accuracy", [None, SD])
def test_a_centerline_passes_the_ends_of_every_measured_part_beside_a_lone_shot(
    accuracy: float | None,
) -> None:
    # one shot between two dense parts, 2 m off the line of the first
    shot = np.array([[0.0, 0.0, 0.0], [6.0, 2.0, 0.0], [6.0, 9.0, 0.0]])
    tied = beyond(surveyed(1), shot, 0.1)
    direction = np.arctan2(*(tied[-1] - tied[-2])[1::-1])
    c, s = cos(direction), sin(direction)
    more = (surveyed(2) - surveyed(2)[0]) @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    rows = np.vstack([tied, more[1:] + tied[-1]])
    reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    assert reading.deviation_m < 4.0 * SD
    turned = [degrees(bend.angle_rad) for bend in reading.bends]
    assert turned[0] == pytest.approx(60.0, abs=0.6)
    assert turned[-1] == pytest.approx(60.0, abs=0.6)
    (said,) = [one for one in reading.findings if one.code == "survey-lone-points"]
    assert said.severity is Severity.CAUTION
    assert "(point 50, point 51)" in said.message
    assert 'where all points were measured, read_as = "survey"' in said.message


def at_random(seed: int) -> np.ndarray:
    """Shots anywhere along three bends and their straights, six and more on each, to 1.5 mm."""
    rng = np.random.default_rng(seed)
    angles, straights = np.radians([45.0, 90.0, 30.0]), np.array([4.0, 2.5, 3.0, 5.0])
    pieces = np.insert(0.45 * angles, [0, 1, 2, 3], straights)
    starts = np.cumsum(pieces) - pieces
    at = [
        start + piece * np.sort(rng.uniform(0.0, 1.0, max(6, int(piece / 0.3))))
        for start, piece in zip(starts, pieces, strict=True)
    ]
    stations = np.concatenate([[0.0], *at, [pieces.sum()]])
    drawn = survey_routes.build(rng, angles, np.full(3, 0.45), straights, stations, 0.0015)
    return np.round(drawn.points, 3)


@pytest.mark.parametrize("accuracy", [0.00075, 0.0015, 0.0045])
@pytest.mark.parametrize("seed", [7, 28])
def test_uneven_shots_that_one_survey_explains_are_not_torn_into_corners(
    seed: int, accuracy: float
) -> None:
    rows = at_random(seed)
    reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    assert reading.read_as is ReadAs.SURVEY
    assert [round(degrees(bend.angle_rad)) for bend in reading.bends] == [45, 90, 30]
    assert all(one.severity is not Severity.ERROR for one in reading.findings)


@pytest.mark.parametrize("accuracy", [None, SD])
@pytest.mark.parametrize("backward", [False, True])
def test_a_bend_told_by_one_far_shot_at_an_end_is_a_caution_unless_it_was_drawn(
    backward: bool, accuracy: float | None
) -> None:
    # a quarter bend beyond the last dense point was not measured, only a shot 4 m after it
    rows = beyond(surveyed(1), np.array([[0.0, 0.0, 0.0], [0.6, 4.0, 0.0]]), 0.1)
    corner = len(rows) - 2
    if backward:
        rows, corner = rows[::-1], 1
    free = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    (said,) = [one for one in free.findings if one.code == "survey-lone-points"]
    assert said.severity is Severity.CAUTION
    assert f"(point {corner + 1})" in said.message
    radii = tuple(0.6 if k == corner else None for k in range(len(rows)))
    drawn = read_bends(DrawnPath(lines(rows), radii), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    assert "survey-lone-points" not in {one.code for one in drawn.findings}


@pytest.mark.parametrize("accuracy", [None, SD])
@pytest.mark.parametrize(
    ("wrong", "off_m"), [((20,), 0.6), ((20,), 0.9), ((20,), 3.0), ((1,), 0.9), ((15, 17), 3.0)]
)
def test_wrong_shots_far_off_are_left_out_and_named_however_far_they_stand_off(
    wrong: tuple[int, ...], off_m: float, accuracy: float | None
) -> None:
    rows = surveyed(1)
    rows[list(wrong), 2] += off_m
    reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    assert reading.read_as is ReadAs.SURVEY
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(60.0, abs=0.6)
    (said,) = [one for one in reading.findings if one.code == "survey-outliers"]
    shown = ", ".join(f"point {k + 1}" for k in wrong)
    assert f": {shown}. " in said.message


@pytest.mark.parametrize("accuracy", [None, SD])
@pytest.mark.parametrize("spacing_m", [0.002, 0.004, 0.01])
def test_points_closer_together_than_they_are_exact_are_survey_points(
    spacing_m: float, accuracy: float | None
) -> None:
    line = read_bends(DrawnPath(lines(surveyed(0, spread=0.0))), corner_radius_m=CORNER_M)
    exact = line.centerline
    rows = exact.points_at(np.arange(0.0, exact.length_m, spacing_m))
    rows = rows + np.random.default_rng(9).normal(0.0, SD, rows.shape)
    reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    (bend,) = reading.bends
    assert bend.read_as is ReadAs.SURVEY
    assert bend.angle_sd_rad is not None
    assert abs(bend.angle_rad - TURN) < 4.0 * bend.angle_sd_rad


def test_points_on_a_grid_coarser_than_their_stated_accuracy_have_that_of_the_grid() -> None:
    # 1 mm over the root of 12: 0.29 mm
    rows = np.round(surveyed(0, spread=2e-5) @ _turned(0.4), 3)
    reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=2e-5)
    (bend,) = reading.bends
    assert bend.read_as is ReadAs.SURVEY
    assert bend.angle_sd_rad is not None
    assert abs(bend.angle_rad - TURN) < 4.0 * bend.angle_sd_rad
    (said,) = [f for f in reading.findings if f.code == "survey-grid"]
    assert "0.289 mm" in said.message
    assert "survey-not-explained" not in {f.code for f in reading.findings}


def _turned(angle: float) -> np.ndarray:
    c, s = cos(angle), sin(angle)
    return np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]]) @ np.array(
        [[1.0, 0.0, 0.0], [0.0, c, s], [0.0, -s, c]]
    )


def test_points_that_step_back_by_their_noise_are_no_turn_back() -> None:
    rows = surveyed(4)
    # a point measured twice, the second time 3 mm farther back along the straight
    rows = np.insert(rows, 11, rows[10] - np.array([0.003, 0.0, 0.0]), axis=0)
    for accuracy in (None, SD):
        reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=accuracy)
        (bend,) = reading.bends
        assert degrees(bend.angle_rad) == pytest.approx(60.0, abs=0.5)


def test_drawn_line_that_turns_back_is_an_error_however_short_the_way_back() -> None:
    rows = np.array([(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (2.99, 0.0, 0.0), (2.99, 2.0, 0.0)])
    with pytest.raises(RouteError, match="turns back on itself"):
        read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M)
    many = np.vstack([[(-k, 0.0, 0.5 * (k % 2)) for k in range(20, 0, -1)], rows])
    with pytest.raises(RouteError, match="turns back on itself"):
        read_bends(DrawnPath(lines(many)), corner_radius_m=CORNER_M)


def a_row(*order: int) -> np.ndarray:
    """Points every 10 cm along a line, those from the thirtieth on in another order."""
    rows = np.column_stack([np.arange(0.0, 6.0, 0.1), np.zeros(60), np.zeros(60)])
    rows[29 : 29 + len(order)] = rows[[29 + k for k in order]]
    return rows


def refused(rows: np.ndarray, accuracy: float | None = None) -> str:
    with pytest.raises(RouteError, match="turns back on itself") as raised:
        read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    return str(raised.value)


def test_many_points_that_step_back_by_little_are_told_which_accuracy_lets_them() -> None:
    rows = surveyed(4, spread=2e-5)
    rows = np.insert(rows, 11, rows[10] - np.array([0.04, 0.0, 0.0]), axis=0)
    said = refused(rows)
    assert "than 0.201 in (5.10 mm) a coordinate, state that as [drawing] accuracy" in said
    assert refused(rows[5:45]).endswith("split the run")
    # what it tells to state lets them
    reading = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=0.0051)
    assert [round(degrees(bend.angle_rad)) for bend in reading.bends] == [60]
    asked = ReadAs.CORNERS  # an accuracy changes nothing then
    with pytest.raises(RouteError, match=r"in the wrong order$"):
        read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, read_as=asked)


@pytest.mark.parametrize("accuracy", [None, 0.001])
def test_two_points_whose_exchange_mends_a_turn_back_are_named(accuracy: float | None) -> None:
    said = refused(a_row(1, 0), accuracy)
    assert said.endswith("split the run. Point 30 and point 31 may be in the wrong order")
    first = np.vstack([a_row()[[1, 0]], a_row()[2:]])
    assert refused(first, accuracy).endswith("Point 1 and point 2 may be in the wrong order")
    last = np.vstack([a_row()[:-2], a_row()[[-1, -2]]])
    assert refused(last, accuracy).endswith("Point 59 and point 60 may be in the wrong order")


@pytest.mark.parametrize("accuracy", [None, 0.001])
def test_a_point_far_ahead_is_named_as_wrong_or_out_of_order(accuracy: float | None) -> None:
    rows = a_row()
    rows[29, 0] += 0.35
    assert refused(rows, accuracy).endswith("Point 30 may be wrong or out of order")


def test_a_point_gone_to_and_back_from_exactly_is_no_exchange() -> None:
    rows = np.insert(a_row(), 30, [a_row()[28]], axis=0)
    assert "turns back on itself" in refused(rows, None)


# --- survey points that turn a corner inside a box ---------------------------------------------


def around_a_corner(seed: int, first_m: float, second_m: float, turn: float) -> np.ndarray:
    """Points every 8 cm of two straights; the nearest stand so far before and behind the corner."""
    along = np.arange(first_m, 3.0, 0.08)
    before = np.column_stack([-along[::-1], 0.0 * along, 0.0 * along])
    along = np.arange(second_m, 2.0, 0.08)
    after = np.outer(along, [cos(turn), sin(turn), 0.0])
    rows = np.vstack([before, after])
    return rows + np.random.default_rng(seed).normal(0.0, SD, rows.shape)


def nearest_to_origin(rows: np.ndarray) -> int:
    return int(np.argmin(np.linalg.norm(rows, axis=1)))


@pytest.mark.parametrize("beside", [(0.0, 0.08), (0.03, 0.05), (0.05, 0.03), (0.06, 0.08)])
@pytest.mark.parametrize("turn_deg", [20.0, 45.0, 90.0, 120.0])
def test_survey_corner_in_a_box_stands_where_the_lines_of_both_sides_meet(
    beside: tuple[float, float], turn_deg: float
) -> None:
    for seed in range(3):
        rows = around_a_corner(seed, *beside, radians(turn_deg))
        reading = read_bends(
            DrawnPath(lines(rows)),
            corner_radius_m=CORNER_M,
            accuracy_m=SD,
            kept_vertices=frozenset({nearest_to_origin(rows)}),
        )
        (corner,) = reading.bends
        assert corner.in_fitting
        # two lines through 25 and more points 2 mm off: 0.1 degree each
        assert degrees(corner.angle_rad) == pytest.approx(turn_deg, abs=0.45)
        place = reading.centerline.points_at([corner.station_m])[0]
        # a line's own end is known to about 1 mm; two that cross at an angle move the crossing by
        # that over its sine
        assert np.linalg.norm(place) < 0.005 / sin(radians(min(turn_deg, 90.0)))
        assert reading.read_as is ReadAs.SURVEY


@pytest.mark.parametrize("beyond", [1, 2, 5, 7])
def test_survey_corner_in_a_box_near_an_end_is_no_bend(beyond: int) -> None:
    rows = around_a_corner(1, 0.0, 0.08, radians(90.0))
    at = nearest_to_origin(rows)
    rows = rows[: at + 1 + beyond]
    for order, kept in ((rows, at), (rows[::-1], len(rows) - 1 - at)):
        reading = read_bends(
            DrawnPath(lines(order)),
            corner_radius_m=CORNER_M,
            accuracy_m=SD,
            kept_vertices=frozenset({kept}),
        )
        assert [bend.in_fitting for bend in reading.bends] == [True]
        assert reading.bends[0].angle_rad == pytest.approx(radians(90.0), abs=0.05)
        assert "survey-outliers" not in {one.code for one in reading.findings}


def test_a_box_beside_a_corner_on_a_straight_part_leaves_the_bend_as_it_was() -> None:
    rows = surveyed(5)
    free = read_bends(DrawnPath(lines(rows)), corner_radius_m=CORNER_M, accuracy_m=SD)
    kept = read_bends(
        DrawnPath(lines(rows)),
        corner_radius_m=CORNER_M,
        accuracy_m=SD,
        kept_vertices=frozenset({8}),
    )
    assert _bends(kept) == _bends(free)


def _bends(reading: Reading) -> list[tuple[float, float | None]]:
    return [(bend.angle_rad, bend.radius_m) for bend in reading.bends]


def test_findings_on_survey_points_count_the_bends_and_points_drawn_before_them() -> None:
    rows = surveyed(5)
    rows[12] += (0.0, 0.3, 0.3)
    # two corners drawn before the points, and the last drawn leg leads into them
    drawn = np.array([(-9.0, -5.0, 0.0), (-9.0, -5.0, 3.0), (-9.0, 0.0, 3.0)])
    path = DrawnPath(lines(np.vstack([drawn, rows])))
    read = read_bends(path, corner_radius_m=CORNER_M, accuracy_m=SD)
    (outliers,) = [one for one in read.findings if one.code == "survey-outliers"]
    assert ": point 16. " in outliers.message  # the thirteenth point, after three drawn ones


def test_a_numbered_finding_counts_on_from_what_comes_before() -> None:
    one = NumberedFinding("code", Severity.NOTE, "bends {} and {}, {}", (0, 2), (4,))
    assert one.numbered().message == "bends 1 and 3, point 5"
    assert one.after(3, 10).numbered().message == "bends 4 and 6, point 15"
    assert one.numbered(names=[f"row {k}" for k in range(2, 9)]).message.endswith(", row 6")
    # the first of four bends turned nothing in the end
    assert one.after(1, 0).numbered([1, 1, 2, 3]).message == "bends 1 and 3, point 5"
