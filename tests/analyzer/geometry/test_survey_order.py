"""Points that go back along the run: said, and refused where they cut it short."""

from __future__ import annotations

import numpy as np
import pytest
import survey_routes

from analyzer.errors import InputError
from analyzer.findings import Severity
from analyzer.geometry.survey.reader import fit_survey

SIGMA = 0.002


def two_bends(seed: int = 4) -> np.ndarray:
    return survey_routes.build(
        np.random.default_rng(seed),
        np.radians([90.0, 60.0]),
        np.full(2, 0.6),
        np.array([4.0, 4.0, 5.0]),
        0.15,
        SIGMA,
    ).points


def found(points: np.ndarray, accuracy_m: float | None = SIGMA):
    fit = fit_survey(points, accuracy_m)
    return [one for one in fit.findings if one.code == "survey-points-go-back"], fit


def test_points_in_order_say_nothing():
    assert found(two_bends())[0] == []
    assert found(two_bends()[::-1])[0] == []


@pytest.mark.parametrize("accuracy_m", [SIGMA, None])
@pytest.mark.parametrize("turned", [15, 24])
def test_an_end_in_reverse_order_cuts_the_run_short_and_is_an_error(turned, accuracy_m):
    points = two_bends()
    points[-turned:] = points[-turned:][::-1].copy()
    (one,), fit = found(points, accuracy_m)
    assert one.severity is Severity.ERROR
    lost = (turned - 1) * 0.15
    assert f"({lost:.1f}" in one.message
    whole = sum(segment.length_m for segment in fit_survey(two_bends(), SIGMA).segments)
    read = sum(segment.length_m for segment in fit.segments)
    assert read == pytest.approx(whole - lost, abs=0.02)


def test_a_block_in_the_wrong_place_is_named_by_its_points():
    points = two_bends()
    straight = points[-30:].copy()
    points[-30:] = np.concatenate((straight[:5], straight[13:21], straight[5:13], straight[21:]))
    (one,), _ = found(points)
    assert one.severity is Severity.CAUTION
    first = points.shape[0] - 30 + 5 + 8 + 1
    assert f"point {first} to point {first + 7} " in one.message


def test_points_left_out_keep_their_numbers():
    points = two_bends()
    points[10] += 0.08
    straight = points[-30:].copy()
    points[-30:] = np.concatenate((straight[:5], straight[13:21], straight[5:13], straight[21:]))
    (one,), fit = found(points)
    assert fit.outliers == (10,)
    first = points.shape[0] - 30 + 5 + 8 + 1
    assert f"point {first} to point {first + 7} " in one.message


def test_a_straight_measured_out_and_back_is_refused():
    x = np.concatenate((np.linspace(0.0, 3.0, 31), np.linspace(3.0, 0.0, 31)))
    points = np.column_stack((x, np.zeros((62, 2))))
    with pytest.raises(InputError, match="put them in the order of the route"):
        fit_survey(points, 0.001)


def test_points_closer_than_their_errors_may_go_back_by_them():
    rng = np.random.default_rng(7)
    points = np.column_stack((np.arange(0.0, 6.0, 0.02), np.zeros((300, 2))))
    assert found(points + 0.02 * rng.normal(size=points.shape), 0.02)[0] == []


@pytest.mark.parametrize("at_start", [True, False])
def test_two_points_exchanged_at_an_end_cost_length_and_are_said(at_start):
    points = two_bends()
    rows = [1, 0] if at_start else [-1, -2]
    points[sorted(rows, key=abs)] = points[sorted(rows, key=abs)[::-1]]
    (one,), _ = found(points)
    assert one.severity is Severity.CAUTION
    assert "are lost" in one.message
    # amid the run the same costs nothing
    points = two_bends()
    points[[10, 11]] = points[[11, 10]]
    assert found(points)[0] == []
