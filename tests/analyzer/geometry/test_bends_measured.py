"""Measured points in a drawn path: which are read as such, and what is said of them."""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin

import numpy as np
import pytest
import survey_routes
from drawn_ways import (
    CORNER_M,
    R,
    codes,
    finding,
    lines,
    noisy,
)

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.geometry.survey.bend_shots import fit_bend_shots
from analyzer.geometry.surveyed_stretches import look_drawn


@pytest.mark.parametrize("accuracy", [None, 0.002])
def test_noisy_points_are_fitted(accuracy: float | None) -> None:
    reading = read_bends(lines(noisy().tolist()), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    (bend,) = reading.bends
    assert reading.read_as is ReadAs.SURVEY
    assert bend.angle_sd_rad is not None
    assert abs(bend.angle_rad - pi / 2) < 4 * bend.angle_sd_rad
    assert bend.radius_m == pytest.approx(R, abs=0.02)
    assert ("read-as-survey" in codes(reading)) is (accuracy is None)
    assert reading.deviation_m < 0.01


@pytest.mark.parametrize("sd", [0.0, 0.0001, 0.001, 0.002, 0.003, 0.006])
def test_points_written_to_the_millimeter_scatter_by_more_than_their_rounding(sd: float) -> None:
    for seed in range(4):
        rounded = np.round(noisy(seed, sd), 3)
        reading = read_bends(lines(rounded.tolist()), corner_radius_m=CORNER_M)
        (bend,) = reading.bends
        assert bend.angle_sd_rad is not None
        assert abs(bend.angle_rad - pi / 2) < 4 * bend.angle_sd_rad
        said = finding(reading, "read-as-survey").message
        assert ("taken from their rounding" in said) is (sd < 0.0005)
        assert "survey-accuracy-estimated" in codes(reading) or sd < 0.0005
        assert not any("stated accuracy" in one.message for one in reading.findings)
        assert all(one.severity is not Severity.ERROR for one in reading.findings)


def survey_corner() -> np.ndarray:
    """Noisy points along a right angle with its corner at (2, 0, 0), point 25."""
    s = np.arange(0.0, 2.0, 0.08)
    first = np.column_stack([s, 0 * s, 0 * s])
    second = np.column_stack([2 + 0 * s, s, 0 * s])
    rows = np.concatenate([first, second])
    return rows + np.random.default_rng(3).normal(size=rows.shape) * 0.002


def test_survey_corner_in_a_fitting_stays_sharp_where_the_fitted_straights_meet() -> None:
    reading = read_bends(
        lines(survey_corner().tolist()),
        corner_radius_m=CORNER_M,
        accuracy_m=0.002,
        kept_vertices=frozenset({25}),
    )
    (corner,) = reading.bends
    assert corner.in_fitting
    # two straights of 25 points with 2 mm each: better than 0.3°
    assert degrees(corner.angle_rad) == pytest.approx(90.0, abs=0.3)
    assert reading.read_as is ReadAs.SURVEY


def test_survey_corner_whose_radius_cannot_be_told_gets_the_radius_of_the_table() -> None:
    reading = read_bends(
        lines(survey_corner().tolist()), corner_radius_m=CORNER_M, accuracy_m=0.002
    )
    (bend,) = reading.bends
    assert bend.radius_determined is False
    assert bend.radius_m == pytest.approx(CORNER_M)
    assert bend.radius_from is RadiusFrom.TABLE
    told = finding(reading, "survey-radius").message
    # by its number: the bend table holds the angle, as it is laid
    assert told.startswith("the points do not tell the radius of bend 1: ")


def test_fitting_on_a_surveyed_straight_makes_no_corner() -> None:
    reading = read_bends(
        lines(noisy().tolist()),
        corner_radius_m=CORNER_M,
        accuracy_m=0.002,
        kept_vertices=frozenset({14}),
    )
    assert [b.in_fitting for b in reading.bends] == [False]


def test_noisy_points_on_a_millimeter_grid_are_not_taken_for_rounded_chords() -> None:
    rows = np.round(noisy(), 3).tolist()
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
    assert [b.read_as for b in reading.bends] == [ReadAs.SURVEY]


def few_measured(spacing: float) -> list[list[float]]:
    """Straights of 0.5 m, three bends of 0.6 m radius, 1 mm of noise."""
    drawn = survey_routes.build(
        np.random.default_rng(1),
        np.radians([90.0, 60.0, 90.0]),
        np.full(3, 0.6),
        np.full(4, 0.5),
        spacing,
        0.001,
    )
    return drawn.points.tolist()


def test_few_measured_points_are_survey_points_where_their_accuracy_is_stated() -> None:
    # read as corners they were fourteen bends in place of three
    reading = read_bends(lines(few_measured(0.3)), corner_radius_m=CORNER_M, accuracy_m=0.001)
    assert reading.read_as is ReadAs.SURVEY
    assert len(reading.bends) == 3
    assert codes(reading) == ["survey-few-points", "survey-straight-hidden"]


def test_few_points_that_stand_like_measured_ones_are_called_in_question() -> None:
    reading = read_bends(lines(few_measured(0.4)), corner_radius_m=CORNER_M)
    assert reading.read_as is ReadAs.CORNERS
    (said,) = [f for f in reading.findings if f.code == "ambiguous-chords"]
    assert said.severity is Severity.CAUTION
    assert "each by another angle, as measured points do" in said.message


def test_noise_that_a_coarse_grid_hides_in_part_is_told_by_the_exact_reading() -> None:
    # shots a meter apart to an eighth of an inch: most of what they scatter passes for its rounding
    inch = [
        (1.125, 1.625, 0.375),
        (40.375, 1.625, 0.5),
        (79.625, 1.625, 0.25),
        (119.25, 1.5, 0.5),
        (158.625, 1.5, 0.375),
        (198.0, 1.5, 0.375),
        (237.25, 1.5, 0.5),
        (276.625, 1.625, 0.5),
        (298.375, 29.0, 0.375),
        (293.375, 68.125, 0.375),
        (288.625, 107.375, 0.375),
        (284.125, 142.875, 0.375),
    ]
    reading = read_bends(lines(np.array(inch) * 0.0254), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert reading.read_as is ReadAs.SURVEY
    assert degrees(bend.angle_rad) == pytest.approx(97.1, abs=0.1)
    assert "read-as-survey" in codes(reading)


def test_even_legs_with_angles_that_repeat_are_drawn_corners() -> None:
    turned = np.radians(np.cumsum([0, 30, 45, -30, 60, 45, -30, 30, -45, 60]))
    legs = 0.5 * np.stack((np.cos(turned), np.sin(turned), np.zeros(turned.size)), axis=1)
    rows = np.concatenate((np.zeros((1, 3)), np.cumsum(legs, axis=0))).tolist()
    for accuracy in (None, 0.002):
        reading = read_bends(lines(rows), corner_radius_m=CORNER_M, accuracy_m=accuracy)
        assert reading.read_as is ReadAs.CORNERS
        assert len(reading.bends) == 9


def test_few_exact_corners_are_never_survey_points() -> None:
    rows = [(0, 0, 0), (2, 0, 0), (2, 3, 0), (4, 3, 0), (4, 4, 1), (4, 6, 1), (4, 6, 3)]
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M, accuracy_m=0.003)
    assert reading.read_as is ReadAs.CORNERS
    assert codes(reading) == ["accuracy-not-used"]


def bend_shots(
    seed: int,
    radius: float = 0.2,
    per_straight: int = 1,
    straight_m: float = 3.0,
    shots: int = 3,
) -> np.ndarray:
    """Quarter bends up and level, shot at start and end and between, measured to 2 mm."""
    rows, place, along, side = [np.zeros(3)], np.zeros(3), np.array([1.0, 0, 0]), np.eye(3)[1]
    for after in (np.eye(3)[2], -np.eye(3)[0], np.eye(3)[1]):
        for k in range(per_straight + 1):
            rows.append(place + along * straight_m * (k + 1) / (per_straight + 1))
        center = rows[-1] + radius * side
        for turn in np.linspace(0.0, pi / 2, shots)[1:]:
            rows.append(center + radius * (np.sin(turn) * along - np.cos(turn) * side))
        place, along, side = rows[-1], side, after
    rows += [place + along * straight_m / 2.0, place + along * straight_m]
    return np.array(rows) + np.random.default_rng(seed).normal(0.0, 0.002, (len(rows), 3))


@pytest.mark.parametrize("asked", [None, ReadAs.SURVEY])
@pytest.mark.parametrize(
    "radius, per_straight, shots",
    [(0.2, 1, 3), (0.9144, 0, 3), (0.61, 0, 4), (0.61, 1, 5), (0.61, 0, 7), (0.9144, 1, 12)],
)
def test_start_end_and_few_shots_between_of_every_bend_are_read_as_its_arc(
    radius, per_straight, shots, asked
):
    path = lines(bend_shots(1, radius, per_straight, shots=shots).tolist())
    reading = read_bends(path, corner_radius_m=CORNER_M, accuracy_m=0.002, read_as=asked)
    assert reading.read_as is ReadAs.SURVEY
    assert len(reading.bends) == 3
    for bend in reading.bends:
        assert abs(bend.angle_rad - pi / 2) < 4.0 * bend.angle_sd_rad
        assert abs(bend.radius_m - radius) < 4.0 * bend.radius_sd_m < 0.2 * radius
    said = {one.code: one.severity for one in reading.findings}
    # so many that a survey asked for finds the straights without, which few points are told of
    found_alone = asked is ReadAs.SURVEY and shots >= (5 if per_straight else 7)
    assert said.get("survey-bend-shots") is (None if found_alone else Severity.CAUTION)
    if shots == 5 and found_alone:
        assert said.get("survey-few-points") is Severity.CAUTION
    assert Severity.ERROR not in said.values()


def tangent_shots(seed: int, sd: float, digits: int) -> np.ndarray:
    """Start and end of three bends of 0.6 m radius and the ends of the run, measured to `sd`."""
    rows, along, side = [np.zeros(3)], np.array([1.0, 0, 0]), np.eye(3)[1]
    for turn, straight, up in ((45.0, 3.0, True), (90.0, 2.0, False), (30.0, 4.0, True)):
        rows.append(rows[-1] + straight * along)
        a = radians(turn)
        rows.append(rows[-1] + 0.6 * (sin(a) * along + (1.0 - cos(a)) * side))
        along, side = cos(a) * along + sin(a) * side, cos(a) * side - sin(a) * along
        side = np.cross(along, side) if up else side
    rows.append(rows[-1] + 2.5 * along)
    return np.round(np.array(rows) + np.random.default_rng(seed).normal(0.0, sd, (8, 3)), digits)


@pytest.mark.parametrize("accuracy", [0.0005, 0.001, 0.002, 0.005])
def test_start_and_end_of_bends_to_the_centimeter_do_not_look_drawn(accuracy: float) -> None:
    for seed in range(4):
        rows = tangent_shots(seed, accuracy, 2)
        reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M, accuracy_m=accuracy)
        said = finding(reading, "accuracy-not-used")
        assert said.severity is Severity.CAUTION
        assert "6 points that turn" in said.message


@pytest.mark.parametrize(
    ("sd", "digits"), [(0.0005, 2), (0.002, 2), (0.005, 2), (0.001, 4), (0.002, 4), (0.005, 4)]
)
def test_start_and_end_of_bends_without_an_accuracy_are_called_in_question(
    sd: float, digits: int
) -> None:
    for seed in range(6):
        rows = tangent_shots(seed, sd, digits).tolist()
        reading = read_bends(lines(rows), corner_radius_m=CORNER_M)
        assert len(reading.bends) == 6
        cautions = [one.message for one in reading.findings if one.severity is Severity.CAUTION]
        asked = [text for text in cautions if "as the start and the end of" in text]
        assert asked and all("state [drawing] accuracy" in text for text in asked)
        sure = read_bends(lines(rows), corner_radius_m=CORNER_M, read_as=ReadAs.CORNERS)
        assert codes(sure) == []


def test_start_middle_and_end_of_half_a_turn_are_called_in_question() -> None:
    rows = [(0.0, 0.0, 0.0), (0.609, 0.001, 0.015), (1.809, 1.202, 0.003), (0.611, 2.399, 0.006)]
    path = lines([*rows, (-1.026, 2.404, 0.009)])
    reading = read_bends(path, corner_radius_m=CORNER_M)
    said = finding(reading, "ambiguous-chords")
    assert said.severity is Severity.CAUTION
    assert "as shots measured on one bend do" in said.message


@pytest.mark.parametrize("digits", [3, 4, 9])
def test_drawn_pairs_of_corners_are_not_taken_for_start_and_end_of_bends(digits: int) -> None:
    # kicks of round angles and lengths, and of odd angles and any lengths
    for angles, short in (
        ([22.5, 22.5, 45.0, 45.0], [0.5, 1.0]),
        ([17.3, 18.4, 31.2, 29.9], [1.1, 0.6]),
    ):
        turned = np.radians(np.cumsum([0.0, *angles]))
        legs = np.array([3.0, short[0], 2.0, short[1], 4.0])[:, None]
        steps = legs * np.column_stack((np.cos(turned), np.sin(turned), 0.0 * turned))
        rows = np.round(np.vstack((np.zeros(3), np.cumsum(steps, axis=0))), digits)
        reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
        assert not any("as the start and the end of" in one.message for one in reading.findings)


def measured_corners(seed: int, count: int, senses: list[int]) -> np.ndarray:
    """Corners of round angles and any legs, measured to 2 mm."""
    rng = np.random.default_rng([8, seed])
    turns = np.radians(rng.choice([22.5, 30.0, 45.0], count)) * rng.choice(senses, count)
    turned = np.cumsum(turns)
    legs = np.stack((np.cos(turned), np.sin(turned), 0.1 * rng.normal(size=count)), axis=1)
    rows = np.cumsum(legs * rng.uniform(0.2, 3.0, count)[:, None], axis=0)
    return rows + rng.normal(0.0, 0.002, rows.shape)


def test_measured_corners_are_never_taken_for_few_shots_on_bends() -> None:
    for seed in range(20):
        rows = measured_corners(seed, 7, [-1, 1])
        reading = read_bends(lines(rows.tolist()), corner_radius_m=0.05, accuracy_m=0.002)
        assert reading.read_as is ReadAs.CORNERS
        assert finding(reading, "accuracy-not-used").severity is Severity.CAUTION
    for seed in range(60):
        assert fit_bend_shots(measured_corners(seed, 9, [1, 1, 1, -1]), 0.002) is None


def test_corners_that_turn_by_half_a_degree_do_not_look_drawn() -> None:
    slight = np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [6.0, 0.026, 0.0]])
    drawn = np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [5.0, 2.0, 0.0]])
    assert not look_drawn(slight, [1], 0.001, 0.002)
    assert look_drawn(drawn, [1], 0.001, 0.002)


@pytest.mark.parametrize("shots, radius", [(3, 0.61), (4, 0.61), (5, 0.5), (6, 0.9144)])
def test_shots_on_bends_without_an_accuracy_are_called_in_question(shots, radius) -> None:
    rows = np.round(bend_shots(3, radius, 0, shots=shots), 3)
    reading = read_bends(lines(rows.tolist()), corner_radius_m=0.05)
    assert reading.read_as is not ReadAs.SURVEY
    said = [one for one in reading.findings if "as shots measured on one bend do" in one.message]
    assert [one.severity for one in said] == [Severity.CAUTION]
    assert "state [drawing] accuracy" in said[0].message
    assert "1 more rows" not in said[0].message
    confirmed = read_bends(lines(rows.tolist()), corner_radius_m=0.05, read_as=ReadAs.CORNERS)
    assert not any("as shots measured" in one.message for one in confirmed.findings)


@pytest.mark.parametrize(
    "angles",
    [
        [30, 45, 22.5],
        [22.5] * 6,
        [15, 30, 45, 60],
        [10, 20, -20, -10],
        [18.43, -18.43, 18.43, 33.7],
    ],
)
@pytest.mark.parametrize("leg", [0.4, 1.3])
def test_drawn_corners_are_not_taken_for_shots_on_a_bend(angles, leg) -> None:
    turned = np.radians(np.cumsum([0.0, *angles]))
    legs = leg * np.stack((np.cos(turned), np.sin(turned), 0.0 * turned), axis=1)
    legs[1::2] *= 1.7
    for grid in (1e-9, 0.001):
        rows = np.round(np.concatenate((np.zeros((1, 3)), np.cumsum(legs, axis=0))) / grid) * grid
        reading = read_bends(lines(rows.tolist()), corner_radius_m=0.05)
        assert not any("as shots measured" in one.message for one in reading.findings)


@pytest.mark.parametrize(
    ("angles", "legs"),
    [
        ([17.3, 31.8, 12.6, 24.1], [4.1, 7.6, 2.9, 5.3, 8.2]),
        ([11.4, 26.3, 36.2, 18.7, 23.8], [5.5, 2.4, 6.8, 3.1, 8.7, 4.6]),
    ],
)
def test_corners_of_a_bent_corridor_that_no_circle_passes_are_not_called_shots(
    angles: list[float], legs: list[float]
) -> None:
    turned = np.radians(np.cumsum([0.0, *angles]))
    steps = np.array(legs)[:, None] * np.column_stack((np.cos(turned), np.sin(turned), 0 * turned))
    rows = np.round(np.vstack((np.zeros(3), np.cumsum(steps, axis=0))), 3)
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    assert [np.degrees(bend.angle_rad) for bend in reading.bends] == pytest.approx(angles, abs=0.1)
    assert not any("as shots measured" in one.message for one in reading.findings)


def test_a_small_drawn_curve_is_never_taken_for_few_shots_on_bends() -> None:
    half = np.radians([4.1, 6.2, 10.2, 17.8, 28.9, 30.9, 20.4])
    along = np.cumsum(np.concatenate(([0.0], half, -half[::-1])))
    side = np.array([25.0, 21.2, 17.0, 13.0, 9.8, 8.24, 9.22]) / 1000.0
    legs = np.concatenate((side, [0.0243], side[::-1]))
    steps = legs[:, None] * np.column_stack((np.cos(along), np.sin(along), 0.0 * along))
    rows = np.vstack((np.zeros(3), np.cumsum(steps, axis=0)))
    reading = read_bends(lines(rows.tolist()), corner_radius_m=0.01, accuracy_m=0.002)
    assert "survey-bend-shots" not in codes(reading)


def test_an_accuracy_that_few_points_leave_unused_is_a_caution_that_says_what_to_do() -> None:
    rows = bend_shots(2)[[0, 2, 4, 6, 7, 8, 11]]
    reading = read_bends(lines(rows.tolist()), corner_radius_m=0.05, accuracy_m=0.002)
    assert reading.read_as is ReadAs.CORNERS
    said = finding(reading, "accuracy-not-used")
    assert said.severity is Severity.CAUTION
    assert "the start, the middle and the end" in said.message


FIFTEEN_OF_THREE_BENDS = (
    (0.003, 0.0006, 0.0011),
    (1.0153, -0.0021, -0.0017),
    (2.0306, -0.0012, 0.0025),
    (2.1618, 0.0036, 0.017),
    (2.2826, -0.0018, 0.0654),
    (3.1995, 0.0006, 0.5947),
    (4.1153, 0.0007, 1.127),
    (4.2679, 0.0008, 1.258),
    (4.3522, 0.0018, 1.432),
    (4.7451, -0.0011, 2.8919),
    (5.1328, 0.0012, 4.3524),
    (5.1659, -0.013, 4.4766),
    (5.1986, -0.0662, 4.5973),
    (5.5393, -0.8255, 5.8654),
    (5.8773, -1.5853, 7.1386),
)
"""Bends of 30, 45 and 30 degrees with a radius of 0.5 m, measured to 2 mm. [m]"""


def test_an_accuracy_that_few_points_estimate_and_that_hides_bends_is_an_error() -> None:
    reading = read_bends(lines(FIFTEEN_OF_THREE_BENDS), corner_radius_m=CORNER_M)
    said = finding(reading, "survey-accuracy-unsure")
    assert said.severity is Severity.ERROR
    assert "15 points" in said.message


@pytest.mark.parametrize("count", [4, 5])
def test_too_few_points_for_a_survey_that_was_asked_for_are_refused(count: int) -> None:
    path = lines(bend_shots(1)[:count].tolist())
    reading = read_bends(path, corner_radius_m=CORNER_M, accuracy_m=0.002, read_as=ReadAs.SURVEY)
    assert finding(reading, "survey-too-few-points").severity is Severity.ERROR


@pytest.mark.parametrize("accuracy, kind", [(0.01524, ReadAs.SURVEY), (None, None)])
def test_points_on_a_grid_that_the_stated_accuracy_allows_are_survey_points(accuracy, kind):
    angles, radii = np.radians([30.0, 60.0]), np.array([0.5, 0.5])
    route = survey_routes.build(
        np.random.default_rng(2), angles, radii, np.array([2.0, 3.0, 2.0]), 0.12, 1e-9
    )
    grid = 0.1 * 0.3048
    rows = np.round(route.points / grid) * grid
    reading = read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M, accuracy_m=accuracy)
    if kind is None:
        assert len(reading.bends) > 8
        return
    assert reading.read_as is kind
    assert [round(degrees(b.angle_rad) / 5.0) for b in reading.bends] == [6, 12]


def test_many_equal_offsets_are_never_survey_points() -> None:
    rows, direction = [(0.0, 0.0, 0.0)], 0.0
    for k in range(30):
        direction += radians(10.0) * (1 if k % 2 else -1)
        x, y, z = rows[-1]
        rows.append((x + cos(direction), y + sin(direction), z))
    reading = read_bends(lines(rows), corner_radius_m=CORNER_M, accuracy_m=0.003)
    assert reading.read_as is ReadAs.CORNERS
    assert len(reading.bends) == 29
