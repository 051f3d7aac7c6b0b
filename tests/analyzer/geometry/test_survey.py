"""Survey points: bends counted right, values at the bound, deviations honest, traps noticed.

Expected figures come from the Cramer-Rao bound (exact information matrix of each bend, in the
benchmark) and from the truth of seeded routes; nothing here was stored from a run.

One long file, because it is the table of what measured points may be.
"""

from __future__ import annotations

import json
import re
from itertools import pairwise
from math import pi, radians
from pathlib import Path

import bench_survey
import numpy as np
import pytest
import survey_regimes
import survey_routes

from analyzer.errors import InputError
from analyzer.findings import Severity
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Straight
from analyzer.geometry.survey import reader
from analyzer.geometry.survey.models import Effort
from analyzer.geometry.survey.reader import fit_survey
from analyzer.geometry.survey.windows import straights_may_bear_out


def route(regime: str, seed: int):
    return survey_regimes.draw(regime, np.random.default_rng([2024, seed]))


def two_bends(sigma: float = 0.001, seed: int = 3):
    return survey_routes.build(
        np.random.default_rng(seed),
        np.radians([90.0, 45.0]),
        np.array([0.6, 0.6]),
        np.array([2.0, 1.5, 2.0]),
        0.06,
        sigma,
    )


def codes(fit) -> set[str]:
    return {finding.code for finding in fit.findings}


@pytest.mark.parametrize("accuracy", ["given", "estimated"])
@pytest.mark.parametrize("regime", ["survey", "wide", "edge", "mixed"])
def test_forty_routes_are_counted_right_at_the_bound_with_honest_deviations(regime, accuracy):
    found = bench_survey.measure(regime, accuracy, routes=40, seed=7)
    assert (found["right"], found["refused"]) == (40, 0)
    # about 180 bends: the root mean square of unit errors is within 0.16 of 1 (three deviations)
    assert found["angle/bound"] < 0.95
    assert found["radius/bound"] < 1.16
    assert found["pull angle"] == pytest.approx(1.0, abs=0.16)
    assert found["pull radius"] == pytest.approx(1.0, abs=0.16)


@pytest.mark.parametrize(
    ("regime", "routes"),
    [
        ("small", 15),
        ("angle:170,180", 15),
        ("outliers:0.05", 15),
        ("ends", 20),
        ("touch-rolled", 15),
        ("touch-reverse", 15),
        ("short:0.5,1", 10),
    ],
)
def test_hard_cases_keep_their_bends_and_their_deviations(regime, routes):
    found = bench_survey.measure(regime, "given", routes=routes, seed=11)
    assert found["right"] - found["refused"] >= routes - 1
    # at least thirty bends: three deviations of their root mean square are 0.4
    assert found["pull angle"] < 1.4


def test_segments_join_without_corners_and_carry_the_bends():
    fit = fit_survey(two_bends().points, 0.001)
    centerline = Centerline(fit.segments)
    assert centerline.corners() == ()
    assert [type(s) for s in fit.segments] == [Straight, Arc, Straight, Arc, Straight]
    assert [(b.first_segment, b.last_segment) for b in fit.bends] == [(1, 1), (3, 3)]
    for bend in fit.bends:
        arc = fit.segments[bend.first_segment]
        assert arc.angle_rad == pytest.approx(bend.angle_rad, abs=1e-12)
        assert arc.radius_m == pytest.approx(bend.radius_m, abs=1e-9)


@pytest.mark.parametrize("regime", ["touch-rolled", "touch-reverse", "ends", "angle:180", "mixed"])
def test_segments_of_every_kind_of_joint_meet_and_run_on_smoothly(regime):
    for seed in range(4):
        fit = fit_survey(route(regime, seed).points, None)
        for before, after in pairwise(fit.segments):
            assert after.start_m == pytest.approx(before.end_m, abs=1e-6)
        assert Centerline(fit.segments).corners() == ()
        for bend in fit.bends:
            arcs = fit.segments[bend.first_segment : bend.last_segment + 1]
            assert sum(arc.angle_rad for arc in arcs) == pytest.approx(bend.angle_rad, abs=1e-6)


def test_points_lie_as_near_to_the_segments_as_stated():
    drawn = two_bends()
    fit = fit_survey(drawn.points, 0.001)
    centerline = Centerline(fit.segments)
    away = [centerline.nearest_station(tuple(map(float, p)))[1] for p in drawn.points]
    assert max(away) == pytest.approx(fit.deviation_m, rel=1e-3)
    assert fit.outliers == ()


def test_a_straight_run_gives_no_bend():
    for seed in range(40):
        fit = fit_survey(route("none", seed).points, None)
        assert fit.bends == ()
        assert len(fit.segments) == 1


def test_exact_points_give_exact_bends():
    drawn = two_bends(sigma=1e-9)
    fit = fit_survey(drawn.clean, None)
    for bend, angle in zip(fit.bends, (90.0, 45.0), strict=True):
        assert bend.angle_rad == pytest.approx(radians(angle), abs=1e-6)
        assert bend.radius_m == pytest.approx(0.6, abs=1e-5)


def test_turning_moving_and_reversing_the_points_changes_no_bend():
    drawn = two_bends()
    turn = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))[0]
    first = fit_survey(drawn.points, 0.001)
    moved = fit_survey(drawn.points @ turn.T + np.array([4e5, 5e6, 100.0]), 0.001)
    back = fit_survey(drawn.points[::-1], 0.001)
    for bend, other, reverse in zip(first.bends, moved.bends, back.bends[::-1], strict=True):
        # coordinates of 5e6 m hold 1e-9 m; the fit stops within a thousandth of a deviation
        for value in (other, reverse):
            assert abs(value.angle_rad - bend.angle_rad) < 0.01 * bend.angle_sd_rad
            assert abs(value.radius_m - bend.radius_m) < 0.01 * bend.radius_sd_m


def test_angle_up_to_the_end_point_is_reported_where_a_run_starts_in_an_arc():
    drawn = survey_routes.build(
        np.random.default_rng(8),
        np.array([pi / 2]),
        np.array([0.6]),
        np.array([0.0, 2.0]),
        0.06,
        0.001,
    )
    fit = fit_survey(drawn.points, 0.001)
    (bend,) = fit.bends
    # a straight there that the points do not rule out has its mean: a few of their deviations
    assert sum(s.length_m for s in fit.segments[: bend.first_segment]) < 0.05
    assert abs(bend.angle_rad - drawn.angles[0]) < 4.0 * bend.angle_sd_rad
    # the place of the end point along the arc is known no better than its own error
    assert bend.angle_sd_rad > 0.001 / 0.6


def test_a_return_of_180_degrees_is_one_bend_of_two_arcs():
    drawn = survey_routes.build(
        np.random.default_rng(9), np.array([pi]), np.array([0.6]), np.array([2.0, 2.0]), 0.06, 0.001
    )
    fit = fit_survey(drawn.points, 0.001)
    (bend,) = fit.bends
    assert bend.last_segment == bend.first_segment + 1
    assert abs(bend.angle_rad - pi) < 4.0 * bend.angle_sd_rad
    assert abs(bend.radius_m - 0.6) < 4.0 * bend.radius_sd_m


def test_outliers_are_named_and_left_out():
    drawn = two_bends()
    points = drawn.points.copy()
    points[[20, 61]] += np.array([0.03, -0.02, 0.04])
    fit = fit_survey(points, 0.001)
    assert fit.outliers == (20, 61)
    assert "survey-outliers" in codes(fit)
    assert len(fit.bends) == 2


def test_correlated_noise_is_said_and_raises_the_deviations():
    drawn = two_bends()
    noise = survey_routes.correlated(np.random.default_rng(4), drawn.clean.shape, 3.0) * 0.001
    fit = fit_survey(drawn.clean + noise, 0.001)
    assert "survey-noise-correlated" in codes(fit)
    assert fit.accuracy_m > 0.0013
    assert "survey-noise-correlated" not in codes(fit_survey(drawn.points, 0.001))


def test_an_accuracy_stated_at_half_its_value_is_said_and_harmless():
    drawn = two_bends()
    fit = fit_survey(drawn.points, 0.0005)
    assert len(fit.bends) == 2
    assert "survey-scatter" in codes(fit)
    assert fit.accuracy_m == pytest.approx(0.001, rel=0.2)


def test_accuracy_not_given_is_estimated_and_said():
    fit = fit_survey(two_bends().points, None)
    assert fit.accuracy_from == "estimated"
    assert "survey-accuracy-estimated" in codes(fit)
    # about 260 squares: three deviations of the estimate are 13 %
    assert fit.accuracy_m == pytest.approx(0.001, rel=0.14)


def test_a_gentle_bend_keeps_its_angle_and_leaves_its_radius_open():
    drawn = survey_routes.build(
        np.random.default_rng(2),
        np.array([radians(5.0)]),
        np.array([0.5]),
        np.array([2.0, 2.0]),
        0.05,
        0.002,
    )
    fit = fit_survey(drawn.points, 0.002)
    (bend,) = fit.bends
    assert not bend.radius_determined
    assert "survey-radius-undetermined" in codes(fit)
    assert abs(bend.angle_rad - radians(5.0)) < 4.0 * bend.angle_sd_rad


@pytest.mark.parametrize("count", [3, 5])
def test_too_few_points_are_not_readable_as_survey_data(count):
    fit = fit_survey(two_bends().points[:: 130 // count][:count], 0.001)
    (finding,) = [f for f in fit.findings if f.code == "survey-too-few-points"]
    assert finding.severity is Severity.ERROR


def sparse(spacing: float, sigma: float = 0.001):
    """Straights of 0.5 m, three bends of 0.6 m radius."""
    return survey_routes.build(
        np.random.default_rng(1),
        np.radians([90.0, 60.0, 90.0]),
        np.full(3, 0.6),
        np.full(4, 0.5),
        spacing,
        sigma,
    )


@pytest.mark.parametrize("spacing, sigma", [(0.4, 0.001), (0.22, 0.004)])
def test_few_points_on_straights_and_arcs_or_points_that_scatter_are_an_error(spacing, sigma):
    fit = fit_survey(sparse(spacing, sigma).points, sigma)
    (finding,) = [f for f in fit.findings if f.severity is Severity.ERROR]
    assert finding.code == "survey-too-few-points"


def test_points_not_explained_for_want_of_points_are_told_so():
    drawn = survey_routes.build(
        np.random.default_rng(8),
        np.radians([45.0, 90.0, 30.0, 60.0]),
        np.full(4, 0.75),
        np.array([1.2, 0.9, 1.5, 0.8, 0.3]),
        0.35,
        0.0015,
    )
    (said,) = [f for f in fit_survey(drawn.points, 0.0015).findings if f.code.endswith("explained")]
    assert "half of the straights hold too few points to be read" in said.message


@pytest.mark.parametrize("spacing", [0.22, 0.3])
def test_points_on_the_arcs_make_up_for_few_on_the_straights_and_that_is_said(spacing):
    drawn = sparse(spacing)
    fit = fit_survey(drawn.points, 0.001)
    cautions = [f.code for f in fit.findings if f.severity is not Severity.NOTE]
    assert cautions == ["survey-few-points"]
    for bend, angle in zip(fit.bends, drawn.angles, strict=True):
        assert abs(bend.angle_rad - angle) < 3.5 * bend.angle_sd_rad


@pytest.mark.parametrize("seed", [140, 101])
def test_points_far_apart_are_read_with_the_accuracy_stated(seed):
    # few neighbors lie on one straight, and their scatter looked like 40 mm of noise: angles were
    # off by five deviations, or in error
    drawn = survey_regimes.draw("spacing:0.5", np.random.default_rng([43, seed]))
    fit = fit_survey(drawn.points, drawn.sigma)
    assert not {"survey-scatter", "survey-not-explained"} & codes(fit)
    for bend, angle in zip(fit.bends, drawn.angles, strict=True):
        assert abs(bend.angle_rad - angle) < 3.5 * bend.angle_sd_rad


def test_an_accuracy_stated_far_too_small_is_not_tried_where_no_neighbors_bear_it_out():
    points = two_bends().points
    assert straights_may_bear_out(points, 0.001)
    assert not straights_may_bear_out(points, 0.0002)
    assert straights_may_bear_out(points[:20], 0.0002)


def test_points_without_straights_and_arcs_are_an_error():
    points = np.cumsum(np.random.default_rng(0).normal(size=(60, 3)), axis=0)
    fit = fit_survey(points, None)
    assert "survey-not-explained" in codes(fit)


@pytest.mark.parametrize(
    ("points", "accuracy", "words"),
    [
        (np.zeros((10, 2)), 0.001, "shape"),
        (np.zeros((10, 3)), 0.001, "one place"),
        (np.eye(3)[[0, 1, 2, 0]] * np.nan, 0.001, "no number"),
        (np.eye(3), 0.0, "above zero"),
        (np.eye(3), float("nan"), "above zero"),
        (np.eye(3) * 1e12, 0.001, "origin"),
    ],
)
def test_bad_input_gets_one_clear_message(points, accuracy, words):
    with pytest.raises(InputError, match=words):
        fit_survey(points, accuracy)


def test_arguments_are_left_as_they_were():
    drawn = two_bends()
    before = drawn.points.copy()
    fit_survey(drawn.points, 0.001)
    assert (drawn.points == before).all()


def _curve(kind: str, count: int) -> np.ndarray:
    t = np.linspace(0.0, 20.0, count)
    if kind == "sine":
        return np.stack((t, 0.8 * np.sin(t), 0.0 * t), axis=1)
    if kind == "helix":
        return np.stack((np.cos(t), np.sin(t), 0.15 * t), axis=1)
    half = np.linspace(0.0, 10.0, count)
    turn = half**2 / 20.0
    step = half[1]
    return np.stack((np.cumsum(np.cos(turn)), np.cumsum(np.sin(turn)), 0.0 * turn), axis=1) * step


@pytest.mark.parametrize("kind", ["sine", "helix", "clothoid"])
def test_a_curve_that_is_no_chain_of_arcs_is_said_with_its_place_and_its_option(kind):
    points = _curve(kind, 200) + 0.002 * np.random.default_rng(1).normal(size=(200, 3))
    fit = fit_survey(points, 0.002, station_m=100.0)
    (finding,) = [f for f in fit.findings if f.code == "survey-not-explained"]
    assert finding.severity is Severity.ERROR
    places = re.findall(r"from \S+ ft to \S+ ft \((\S+) m to (\S+) m\)", finding.message)
    assert places
    length = sum(np.linalg.norm(b - a) for a, b in pairwise(_curve(kind, 200)))
    ends = [float(end) for place in places for end in place]
    assert ends == sorted(ends)
    assert ends[0] >= 100.0
    assert ends[-1] <= 100.0 + length + 0.02
    assert "accuracy" in finding.message
    assert "read_as" in finding.message


def test_work_on_points_that_nothing_explains_is_bounded():
    # the budget counts steps of fits, not seconds: the same on every machine
    pool = Effort(100.0)
    first, second = pool.half(), pool.half()
    assert (first.left, second.left, pool.left) == (50.0, 25.0, 25.0)
    assert first.spend(40, 0)
    assert not first.spend(20, 0)
    assert first.spent_out
    pool.give_back(first)
    pool.give_back(second)
    assert pool.left == 50.0


def test_points_in_no_order_are_no_straight_run():
    cloud = np.random.default_rng(0).normal(size=(200, 3))
    for accuracy in (None, 0.002):
        assert "survey-not-explained" in codes(fit_survey(cloud, accuracy))


def test_scatter_far_above_a_stated_accuracy_is_an_error():
    assert "survey-not-explained" in codes(fit_survey(two_bends().points, 0.0001))
    assert "survey-not-explained" not in codes(fit_survey(two_bends().points, 0.0005))


def test_a_well_path_without_an_accuracy_asks_for_one_and_is_no_straight():
    file = Path(__file__).parents[2] / "published" / "iscwsa_wellpaths.json"
    well = json.loads(file.read_text())["wells"]["10 - well"]
    points = np.column_stack([well["E"], well["N"], np.negative(well["TVD"])])
    fit = fit_survey(points, None)
    (finding,) = [f for f in fit.findings if f.code == "survey-not-explained"]
    assert "state the [drawing] accuracy" in finding.message
    # points published to 0.01 m, stations 30 m apart: nothing near a meter is an accuracy
    assert fit.accuracy_m < 0.1
    assert len(fit.bends) >= 2
    stated = fit_survey(points, 0.01)
    assert "survey-not-explained" not in codes(stated)
    # back to back, as the path was planned: the first builds from 0 to 39° and a little on
    assert len(stated.bends) == 2


@pytest.mark.parametrize("far_m", [1e6, 1e7, 1e8])
def test_large_coordinates_are_moved_near_the_origin_and_warned_of(far_m):
    drawn = two_bends()
    near = fit_survey(drawn.points, 0.001)
    far = fit_survey(drawn.points + np.array([far_m, -far_m, 0.0]), 0.001)
    # coordinates of 1e8 m hold 1.5e-8 m, 1.5e-5 of the accuracy
    for bend, other in zip(near.bends, far.bends, strict=True):
        assert abs(other.angle_rad - bend.angle_rad) < 0.01 * bend.angle_sd_rad
        assert abs(other.radius_m - bend.radius_m) < 0.01 * bend.radius_sd_m
    # double precision holds 1e-9 m up to about 8e6 m
    assert ("survey-large-coordinates" in codes(far)) == (far_m > 8e6)


def test_a_short_straight_before_an_end_arc_is_not_taken_into_the_arc():
    drawn = survey_routes.build(
        np.random.default_rng(12),
        np.radians([60.0, 90.0]),
        np.array([0.6, 0.6]),
        np.array([0.25, 2.0, 0.25]),
        0.05,
        0.001,
    )
    fit = fit_survey(drawn.points, 0.001)
    for bend, angle in zip(fit.bends, drawn.angles, strict=True):
        assert abs(bend.angle_rad - angle) < 4.0 * bend.angle_sd_rad
        # four or five points on the short straight: far better than a third of a radian
        assert bend.angle_sd_rad < radians(2.0)


def test_deviations_widen_with_the_correlation_of_the_noise():
    found = bench_survey.measure("correlated:2", "given", routes=15, seed=22)
    assert found["right"] == 15
    # about sixty angles: three deviations of their root mean square are 0.27
    assert found["pull angle"] == pytest.approx(1.0, abs=0.27)


@pytest.mark.parametrize(("regime", "least"), [("touch-many:3", 10), ("lone", 8)])
def test_touching_and_lone_arcs_are_counted_right_or_said_to_be_unreadable(regime, least):
    right = 0
    for seed in range(10):
        drawn = route(regime, seed)
        fit = fit_survey(drawn.points, drawn.sigma)
        said = any(finding.severity is Severity.ERROR for finding in fit.findings)
        assert said or len(fit.bends) == drawn.angles.size
        right += not said and len(fit.bends) == drawn.angles.size
    assert right >= least


def near_pair(sigma: float, seed: int):
    """Two bends of 45 degrees, a tenth of their radius apart: hardly told from one of 90."""
    return survey_routes.build(
        np.random.default_rng(seed),
        np.radians([45.0, 45.0]),
        np.array([0.5, 0.5]),
        np.array([2.0, 0.05, 2.0]),
        0.05,
        sigma,
        rolls=np.array([0.3, 0.0]),
    )


def test_two_bends_a_hand_apart_are_read_as_two_where_the_points_tell() -> None:
    for seed in range(12):
        found = fit_survey(near_pair(0.001, seed).points, 0.001)
        assert len(found.bends) == 2
        assert "survey-one-or-two" not in codes(found)


def test_two_bends_of_one_radius_and_plane_need_little_to_be_read_as_two() -> None:
    counts = [len(fit_survey(near_pair(0.0015, seed).points, 0.0015).bends) for seed in range(12)]
    # as bends of any radius and plane four of them would do: 13 to 34 in chi-square speak for two
    assert counts.count(2) >= 11


def test_two_bends_that_the_points_hardly_tell_from_one_are_said_to_be_possible() -> None:
    told = []
    for seed in range(12):
        found = fit_survey(near_pair(0.002, seed).points, 0.002)
        said = [f for f in found.findings if f.code == "survey-one-or-two"]
        if len(found.bends) == 1:
            told.append(len(said))
            assert found.bends[0].angle_rad == pytest.approx(pi / 2, abs=radians(0.5))
        for one in said:
            assert one.severity is Severity.CAUTION
            assert "bend 1" in one.message
    assert told, "some of them are read as one"
    assert sum(told) >= 0.6 * len(told)


@pytest.mark.parametrize("seed", [49, 97])
def test_few_points_on_a_lone_arc_are_never_a_straight_in_silence(seed) -> None:
    drawn = survey_regimes.draw("lone", np.random.default_rng([77120, seed]))
    found = fit_survey(drawn.points, drawn.sigma)
    errors = [one for one in found.findings if one.severity is Severity.ERROR]
    assert len(found.bends) == 1 or any("on a curve" in one.message for one in errors)


def test_six_points_on_a_lone_arc_are_read_and_fewer_are_said_to_be_too_few() -> None:
    read = 0
    for seed in range(14):
        drawn = survey_regimes.draw("lone", np.random.default_rng([77120, seed]))
        found = fit_survey(drawn.points, drawn.sigma)
        enough = len(drawn.points) >= 6
        assert ("survey-too-few-points" in codes(found)) is not enough
        assert len(found.bends) == enough
        read += enough
    assert read >= 10


def offset_of_few(seed: int) -> np.ndarray:
    """About ten shots on an offset of two bends of 15°, 3 mm off."""
    rng = np.random.default_rng(seed)
    stations = np.cumsum(rng.uniform(0.3, 0.6, 40))
    return survey_routes.build(
        rng,
        np.radians([15.0, 15.0]),
        np.full(2, 0.3),
        np.array([2.0, 0.5, 2.0]),
        stations[stations < 4.6],
        0.003,
        rolls=np.array([0.3, pi]),
    ).points


@pytest.mark.parametrize("seed", [7, 11])
@pytest.mark.parametrize("accuracy", [0.01, None])
def test_an_offset_of_few_points_is_never_a_straight_in_silence(seed, accuracy) -> None:
    # the points of an offset leave their line like an S, of which no parabola tells
    found = fit_survey(offset_of_few(seed), accuracy)
    errors = [one for one in found.findings if one.severity is Severity.ERROR]
    assert found.bends == ()
    assert any("on a curve" in one.message for one in errors)


def test_an_offset_of_few_points_that_scatters_as_one_straight_is_sought_more_finely() -> None:
    found = fit_survey(offset_of_few(6))
    assert len(found.bends) == 2


def test_few_points_on_a_straight_raise_no_such_error() -> None:
    for seed in range(40):
        rng = np.random.default_rng([8, seed])
        count = int(rng.integers(6, 20))
        points = rng.normal(size=(count, 3)) * 0.002
        points[:, 0] += np.linspace(0.0, 0.1 * count, count)
        for accuracy in (None, 0.002, 0.001):
            assert "survey-not-explained" not in codes(fit_survey(points, accuracy))


@pytest.mark.parametrize("seed", [103, 112])
def test_the_steps_of_rounded_coordinates_make_no_bend_at_the_end_of_a_straight(seed) -> None:
    # such steps leave the line by half the last digit in long waves: a bend of a fifth of a degree
    drawn = survey_regimes.draw("rounded:0.001", np.random.default_rng([20262, seed]))
    assert len(fit_survey(drawn.points, drawn.sigma).bends) == drawn.angles.size


def test_an_accuracy_stated_far_too_large_merges_no_bends_and_is_said():
    angles, radii = np.radians([15.0, 15.0, 22.5]), np.full(3, 0.4)
    straights = np.array([0.7, 0.6, 0.9, 0.8])
    drawn = survey_routes.build(np.random.default_rng(6), angles, radii, straights, 0.12, 0.002)
    fit = fit_survey(drawn.points, 15.0 * drawn.sigma)
    assert len(fit.bends) == 3
    for bend, angle in zip(fit.bends, angles, strict=True):
        assert abs(bend.angle_rad - angle) < 0.05
    (said,) = [one for one in fit.findings if one.code == "survey-accuracy-large"]
    assert said.severity is Severity.CAUTION


def test_errors_that_neighbors_share_never_count_as_an_accuracy_stated_too_large():
    rng = np.random.default_rng(6)
    angles, radii, straights = np.radians([90.0, 60.0]), np.full(2, 0.5), np.full(3, 2.0)
    drawn = survey_routes.build(rng, angles, radii, straights, 0.1, 1e-9)
    drift = 0.003 * survey_routes.correlated(rng, drawn.points.shape, 5.0)
    fit = fit_survey(drawn.points + drift, 0.009)
    assert len(fit.bends) == 2
    assert "survey-accuracy-large" not in {one.code for one in fit.findings}


def test_neighbors_that_share_their_errors_are_not_tried_as_an_accuracy(monkeypatch):
    def refuse(points, sigma):
        raise AssertionError(f"tried with {sigma} m")

    rng = np.random.default_rng(6)
    angles, radii, straights = np.radians([90.0, 60.0]), np.full(2, 0.5), np.full(3, 2.0)
    drawn = survey_routes.build(rng, angles, radii, straights, 0.02, 1e-9)
    drift = 0.003 * survey_routes.correlated(rng, drawn.points.shape, 5.0)
    monkeypatch.setattr(reader, "read_once", refuse)
    assert len(fit_survey(drawn.points + drift, 0.003).bends) == 2
    # independent errors are, however dense the points and few the straights' own
    for spacing in (0.02, 0.12):
        short = np.array([0.7, 0.6, 0.9, 0.8])
        angles, radii = np.radians([15.0, 15.0, 22.5]), np.full(3, 0.4)
        drawn = survey_routes.build(rng, angles, radii, short, spacing, 0.002)
        with pytest.raises(AssertionError, match="tried with"):
            fit_survey(drawn.points, 15.0 * drawn.sigma)
