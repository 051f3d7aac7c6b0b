"""Points of a survey that stand off: left out only where no bend explains them, and told."""

from __future__ import annotations

from math import pi, radians

import numpy as np
import pytest
import survey_routes

from analyzer.findings import Severity
from analyzer.geometry.survey import suspects
from analyzer.geometry.survey.chain import frames
from analyzer.geometry.survey.findings import block_findings
from analyzer.geometry.survey.passes import read_once
from analyzer.geometry.survey.reader import fit_survey
from analyzer.geometry.survey.suspect_places import blocks_of
from analyzer.geometry.survey.suspects import points_put_back

SIGMA = 0.002


def uneven_route(
    seed: int,
    angles: list[float],
    straights: list[float],
    turned: list[float],
    *,
    radius_m: float = 0.41,
    spacing_m: tuple[float, float] = (0.05, 0.3),
) -> survey_routes.Route:
    """Shots at uneven distances, rounded to 1 mm; `turned`: planes from bend to bend. [rad]"""
    rng = np.random.default_rng(seed)
    bends = np.radians(angles)
    length = float(bends.sum() * radius_m + sum(straights))
    stations = np.cumsum(rng.uniform(*spacing_m, int(length / spacing_m[0])))
    drawn = survey_routes.build(
        rng,
        bends,
        np.full(bends.size, radius_m),
        np.array(straights),
        stations[stations < length],
        SIGMA,
        rolls=np.array(turned),
    )
    drawn.points[:] = np.round(drawn.points, 3)
    return drawn


def saddle(seed: int, side: float = 22.5, between_m: float = 0.25) -> survey_routes.Route:
    """A saddle of three bends, then a bend of 90° on its side."""
    return uneven_route(
        seed,
        [side, 2.0 * side, side, 90.0],
        [3.0, between_m, between_m, 4.0, 2.0],
        [0.4, pi, pi, pi / 2],
    )


def one_bend(seed: int = 5, spacing_m: float = 0.1) -> np.ndarray:
    return survey_routes.build(
        np.random.default_rng(seed),
        np.array([pi / 2]),
        np.array([0.6]),
        np.array([4.0, 4.0]),
        spacing_m,
        SIGMA,
    ).points


def codes(fit) -> set[str]:
    return {one.code for one in fit.findings}


def assert_read(drawn: survey_routes.Route, fit) -> None:
    assert fit.outliers == ()
    assert len(fit.bends) == drawn.angles.size
    for bend, angle in zip(fit.bends, drawn.angles, strict=True):
        assert abs(bend.angle_rad - angle) < 4.5 * bend.angle_sd_rad


@pytest.mark.parametrize("side, seed", [(22.5, 1), (22.5, 4), (22.5, 7), (30.0, 0), (30.0, 4)])
def test_a_saddle_with_few_shots_keeps_its_three_bends(side, seed):
    drawn = saddle(seed, side)
    one = read_once(drawn.points - drawn.points.mean(axis=0), SIGMA)
    assert one.agrees(SIGMA)
    assert one.kept.size == drawn.points.shape[0]
    assert one.corners == 4
    # few shots tell each turn to some degrees only, but that it leads back to its line well
    up, over, down, turn = frames(one.fit.chain).angle
    assert up + down == pytest.approx(over, abs=radians(0.5))
    assert turn == pytest.approx(radians(90.0), abs=radians(0.5))


def test_a_saddle_with_few_shots_is_told_with_its_deviations():
    drawn = saddle(4)
    assert_read(drawn, fit_survey(drawn.points, SIGMA))


@pytest.mark.parametrize("seed", [3, 5, 14, 20])
def test_good_shots_at_uneven_distances_are_no_outliers(seed):
    drawn = uneven_route(
        seed, [45.0, 45.0, 90.0], [2.0, 0.6, 2.0, 2.0], [0.2, 0.0, 1.2], radius_m=0.24
    )
    assert_read(drawn, fit_survey(drawn.points, SIGMA))


@pytest.mark.parametrize("seed", [4, 8, 12, 17])
def test_an_offset_in_space_with_few_shots_keeps_its_angles(seed):
    drawn = uneven_route(seed, [30.0, 30.0, 90.0], [3.0, 0.3, 4.0, 2.0], [0.3, pi / 2, 0.8])
    assert_read(drawn, fit_survey(drawn.points, SIGMA))


def test_suspects_on_the_route_are_put_back_and_those_off_it_are_not():
    points = one_bend()
    points[20] += (0.03, 0.03, 0.03)
    kept = np.setdiff1d(np.arange(points.shape[0]), [10, 20, 43, 44])
    fit = read_once(points[kept], SIGMA).fit
    back = points_put_back(points, kept, fit, SIGMA)
    assert np.setdiff1d(np.arange(points.shape[0]), back).tolist() == [20]


@pytest.mark.parametrize("at", [43, 45])
def test_an_outlier_on_a_bend_stays_left_out(at):
    points = one_bend()
    points[at] += np.array([0.6, 0.5, 0.62]) * 0.06
    fit = fit_survey(points, SIGMA)
    assert fit.outliers == (at,)
    (bend,) = fit.bends
    assert abs(bend.angle_rad - radians(90.0)) < 4.5 * bend.angle_sd_rad


def test_three_points_in_a_row_to_one_side_left_out_are_a_lost_block():
    points = one_bend(spacing_m=0.1)
    normal = np.linalg.svd(points[:35] - points[:35].mean(axis=0))[2][2]
    points[20:23] += 0.06 * normal
    one = read_once(points, SIGMA)
    assert not {20, 21, 22} & set(one.kept)
    assert one.lost_block
    assert not one.agrees(SIGMA)


def test_a_pass_does_not_agree_with_its_accuracy_by_losing_a_block():
    points = one_bend()
    one = read_once(points, SIGMA)
    assert one.agrees(SIGMA)
    assert not one.lost_block
    kept = np.setdiff1d(np.arange(points.shape[0]), [42, 43, 44, 45])
    # an arc bulges to one side of its chord
    (block,) = blocks_of(points, kept)
    assert block.tolist() == [42, 43, 44, 45]


def test_points_to_both_sides_are_no_block():
    points = np.zeros((20, 3))
    points[:, 0] = 0.1 * np.arange(20)
    points[8:11, 2] = (0.05, -0.05, 0.05)
    kept = np.setdiff1d(np.arange(20), [8, 9, 10])
    assert blocks_of(points, kept) == ()
    points[9, 2] = 0.05
    assert [block.tolist() for block in blocks_of(points, kept)] == [[8, 9, 10]]


def test_a_block_left_out_is_an_error_that_names_its_points_and_how_far_off_they_are():
    points = np.zeros((20, 3))
    points[:, 0] = 0.1 * np.arange(20)
    points[8:11, 2] = (0.05, 0.12, 0.05)
    (one,) = (found.numbered() for found in block_findings([[8, 9, 10]], points))
    assert one.severity is Severity.ERROR
    assert one.code == "survey-block-left-out"
    assert "point 9 to point 11" in one.message
    assert "120.0 mm" in one.message
    assert block_findings([], points) == []


def last_leg_off(off_m: float, seed: int = 3) -> np.ndarray:
    points = one_bend(seed)
    along = points[-2] - points[-12]
    across = np.cross(along, (0.3, 0.5, 0.8))
    points[-1] += off_m * across / np.linalg.norm(across)
    return points


@pytest.mark.parametrize("turned", [False, True])
def test_a_bend_that_hangs_on_the_end_point_alone_is_told(turned):
    points = last_leg_off(0.02)[:: -1 if turned else 1]
    fit = fit_survey(points, SIGMA)
    assert len(fit.bends) == 2
    (one,) = (found for found in fit.findings if found.code == "survey-end-point")
    assert one.severity is Severity.CAUTION
    end = 1 if turned else points.shape[0]
    bend = 1 if turned else 2
    assert f"bend {bend} hangs on the {'first' if turned else 'last'} point" in one.message
    assert f"point {end}," in one.message


def test_an_end_point_far_off_is_left_out_without_its_neighbors():
    fit = fit_survey(last_leg_off(0.06), SIGMA)
    assert fit.outliers == (one_bend(3).shape[0] - 1,)
    assert len(fit.bends) == 1


@pytest.mark.parametrize("seed, left_out", [(4, (8, 10)), (6, (8, 10)), (17, ())])
def test_two_points_off_with_a_good_one_between_hide_no_route(seed, left_out):
    rng = np.random.default_rng(seed)
    stations = np.cumsum(rng.uniform(0.2, 0.6, 40))
    points = survey_routes.build(
        rng,
        np.radians([45.0, 45.0]),
        np.full(2, 0.9),
        np.full(3, 3.0),
        stations[stations < 10.4],
        SIGMA,
        rolls=np.array([0.4, 1.0]),
    ).points
    across = np.cross(points[9] - points[7], (0.3, 0.5, 0.8))
    across /= np.linalg.norm(across)
    points[8] += 0.04 * across
    points[10] -= 0.05 * across
    fit = fit_survey(points, SIGMA)
    assert fit.outliers == left_out
    angles = [float(np.degrees(bend.angle_rad)) for bend in fit.bends]
    assert angles == pytest.approx([45.0, 45.0], abs=0.3)
    assert any(one.severity is Severity.CAUTION for one in fit.findings)


def few_with_an_end_off(off_m: float, *, turned: bool) -> np.ndarray:
    """Some fifty shots on bends of 45°, 90° and 45°, 2 mm off, the last one to a side as well."""
    rng = np.random.default_rng(3)
    stations = np.cumsum(rng.uniform(0.1, 0.25, 60))
    points = survey_routes.build(
        rng,
        np.radians([45.0, 90.0, 45.0]),
        np.full(3, 0.4),
        np.array([1.5, 2.0, 2.0, 1.5]),
        stations[stations < 8.2],
        SIGMA,
        rolls=np.array([0.4, 1.0, 2.0]),
    ).points
    across = np.cross(points[-2] - points[-5], (0.3, 0.5, 0.8))
    points[-1] += off_m * across / np.linalg.norm(across)
    return points[:: -1 if turned else 1]


@pytest.mark.parametrize("turned", [False, True])
def test_an_end_point_off_to_a_side_is_left_out_and_bends_no_bend_to_it(turned):
    # twice the true accuracy explains no further bend there, and half a degree more of the last one
    fit = fit_survey(few_with_an_end_off(0.02, turned=turned), 2.0 * SIGMA)
    points = few_with_an_end_off(0.0, turned=turned)
    assert fit.outliers == ((0,) if turned else (points.shape[0] - 1,))
    angles = [float(np.degrees(bend.angle_rad)) for bend in fit.bends]
    assert angles == pytest.approx([45.0, 90.0, 45.0], abs=0.3)
    assert fit_survey(points, 2.0 * SIGMA).outliers == ()


def test_an_end_point_off_points_that_are_exact_is_no_error_of_reckoning():
    points = np.zeros((62, 3))
    points[:, 0] = 0.1 * np.arange(62)
    assert fit_survey(points, SIGMA).outliers == ()


@pytest.mark.parametrize("turned", [False, True])
def test_a_bend_that_hangs_on_the_end_of_a_leg_of_few_points_is_told(turned):
    # one bend of 15°, shots about 1 m apart, the first one 22 mm to a side
    points = np.array(
        [
            [-0.1525, 0.2297, 1.9214],
            [1.1208, 0.2111, 1.9282],
            [2.3737, 0.2082, 1.9295],
            [3.2177, 0.2099, 1.9292],
            [3.7255, 0.2104, 1.9303],
            [4.4235, 0.3884, 1.9504],
            [5.1840, 0.5890, 1.9747],
            [5.8277, 0.7612, 1.9948],
            [7.0851, 1.0956, 2.0339],
            [7.8037, 1.2869, 2.0567],
            [9.2427, 1.6717, 2.1020],
        ]
    )
    fit = fit_survey(points[:: -1 if turned else 1], 0.001)
    assert len(fit.bends) == 2
    (one,) = (found for found in fit.findings if found.code == "survey-end-point")
    assert ("point 11," if turned else "point 1,") in one.message


def test_a_bend_at_an_end_that_more_points_tell_says_nothing_of_the_last_one():
    drawn = survey_routes.build(
        np.random.default_rng(2),
        np.radians([90.0, 30.0]),
        np.full(2, 0.6),
        np.array([2.0, 3.0, 0.3]),
        0.1,
        SIGMA,
    )
    fit = fit_survey(drawn.points, SIGMA)
    assert len(fit.bends) == 2
    assert "survey-end-point" not in codes(fit)


def straight_with_a_row(row: slice, off_m: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    points = np.zeros((60, 3))
    points[:, 0] = 0.1 * np.arange(60)
    points += SIGMA * rng.normal(size=points.shape)
    points[row, 1] += off_m
    return np.round(points, 3)


@pytest.mark.parametrize("count, off_m, seed", [(3, 0.02, 0), (3, 0.05, 1), (4, 0.05, 2)])
def test_a_row_of_points_moved_to_one_side_makes_no_bends_and_is_named(count, off_m, seed):
    fit = fit_survey(straight_with_a_row(slice(30, 30 + count), off_m, seed), SIGMA)
    assert fit.bends == ()
    assert fit.outliers == tuple(range(30, 30 + count))
    (said,) = (one for one in fit.findings if one.code == "survey-block-left-out")
    assert said.severity is Severity.ERROR
    assert f"point 31 to point {30 + count}" in said.message


def few_shots_and_one_off(seed: int) -> tuple[np.ndarray, np.ndarray, int]:
    """Points, 3 mm, of bends of 30 and 45 degrees by three shots each, angles, the shot off."""
    rng, sigma = np.random.default_rng(seed), 0.003
    angles, radii, straights = np.radians([30.0, 45.0]), np.full(2, 0.4), np.array([2.3, 2.6, 2.4])
    ends = np.cumsum([0.0, 2.3, 0.4 * angles[0], 2.6, 0.4 * angles[1], 2.4])
    stations = [
        np.linspace(low, high, count + 2)[1:-1]
        for low, high, count in zip(ends, ends[1:], (3, 3, 6, 3, 6), strict=False)
    ]
    drawn = survey_routes.build(rng, angles, radii, straights, np.concatenate(stations), sigma)
    across = np.cross(drawn.clean[4] - drawn.clean[2], rng.normal(size=3))
    off = int(rng.integers(3, 6))
    drawn.points[off] += rng.uniform(0.03, 0.075) * across / np.linalg.norm(across)
    return drawn.points, angles, off


def test_a_bend_beside_an_end_straight_of_three_shots_stays_where_its_own_shot_is_off():
    points, angles, off = few_shots_and_one_off(99)
    fit = fit_survey(points, 0.003)
    assert fit.outliers == (off,)
    for bend, angle in zip(fit.bends, angles, strict=True):
        assert abs(bend.angle_rad - angle) < 4.5 * bend.angle_sd_rad


def test_a_short_straight_that_points_at_a_shot_off_does_not_explain_it():
    # two bends of 128° and 100° with hardly a straight between them fit as if it were explained
    points, angles, off = few_shots_and_one_off(5)
    fit = fit_survey(points, 0.003)
    is_right = fit.outliers == (off,) and len(fit.bends) == angles.size
    told = [one for one in fit.findings if one.code == "survey-not-explained"]
    assert is_right or [one.severity for one in told] == [Severity.ERROR]
    assert is_right or "short of a point laid to it" in told[0].message


@pytest.mark.parametrize("seed", [2, 4])
def test_a_row_moved_at_an_end_goes_whole(seed):
    fit = fit_survey(straight_with_a_row(slice(0, 3), 0.05, seed), SIGMA)
    assert fit.bends == ()
    assert fit.outliers == (0, 1, 2)
    assert "survey-block-left-out" in codes(fit)


def test_bends_that_pay_but_hang_on_a_row_are_told_with_it():
    # a saddle seen by five shots: so do five points moved together look
    rng = np.random.default_rng(3)
    along = np.array(
        [*np.arange(20) * 0.15, 3.1, 3.3, 3.5, 3.7, 3.9, *(4.15 + np.arange(20) * 0.15)]
    )
    points = np.zeros((along.size, 3))
    points[:, 0] = along
    points[20:25, 2] = (0.02, 0.11, 0.16, 0.11, 0.02)
    points = np.round(points + SIGMA * rng.normal(size=points.shape), 3)
    fit = fit_survey(points, SIGMA)
    assert len(fit.bends) == 3
    (said,) = (one for one in fit.findings if one.code == "survey-bends-on-a-row")
    assert said.severity is Severity.CAUTION
    assert "bends 1 to 3 hang on point 2" in said.message
    assert "without them the run has no bend" in said.message


def test_a_block_at_an_end_is_measured_from_the_line_that_goes_on():
    points = np.zeros((60, 3))
    points[:, 0] = 0.1 * np.arange(60)
    points[:3, 1] = 0.05
    for block, shown in (([0, 1, 2], points), ([57, 58, 59], points[::-1])):
        (one,) = (found.numbered() for found in block_findings([block], shown))
        assert "50.0 mm" in one.message


@pytest.mark.parametrize("spacing_m, searches", [(0.02, 0), (0.1, 1)])
def test_only_a_point_within_reach_of_its_bend_asks_for_other_bends(
    monkeypatch, spacing_m, searches
):
    """Shots 20 mm apart leave a path 1 mm of room there, shots 100 mm apart 20 mm."""
    points = one_bend(spacing_m=spacing_m)
    one = read_once(points, SIGMA)
    begin = int(np.flatnonzero(one.fit.side == 0)[0])
    points[begin] += 0.025 * one_bend_axis(points)
    kept = np.delete(np.arange(points.shape[0]), begin)
    fit = read_once(points[kept], SIGMA).fit
    asked = []
    search = suspects.choose_chain

    def noted(*args):
        asked.append(args[0].shape[0])
        return search(*args)

    monkeypatch.setattr(suspects, "choose_chain", noted)
    assert points_put_back(points, kept, fit, SIGMA).tolist() == kept.tolist()
    assert len(asked) == searches


def one_bend_axis(points: np.ndarray) -> np.ndarray:
    """Direction across the plane of a bend."""
    return np.linalg.svd(points - points.mean(axis=0))[2][2]
