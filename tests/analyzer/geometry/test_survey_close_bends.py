"""Bends close together with hardly a point between: saddles and rolled offsets, unevenly measured.

Each is seeded, with points 0.05 to 0.3 m apart, 2 mm off on a grid of 1 mm; what was drawn is the
answer.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from analyzer.findings import Severity
from analyzer.geometry.survey.findings import radius_findings
from analyzer.geometry.survey.reader import fit_survey
from analyzer.units import ft

X, Y, Z, DOWN = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
RADIUS_M = 0.41
SADDLE = (3.0, (22.5, Z), 0.25, (45.0, DOWN), 0.25, (22.5, Z), 4.0, (90.0, Y), 2.0)
STEEP_SADDLE = (3.0, (30.0, Z), 0.3, (60.0, DOWN), 0.3, (30.0, Z), 4.0, (90.0, Y), 2.0)
LONG_SADDLE = (3.0, (22.5, Z), 0.4, (45.0, DOWN), 0.4, (22.5, Z), 4.0, (90.0, Y), 2.0)
OFFSET = (3.0, (30.0, Z), 0.3, (30.0, X), 4.0, (90.0, Y), 2.0)
FOUR = (3.0, (30, Z), 0.1, (30, X), 0.5, (30, DOWN), 0.1, (30, X), 3.0, (90, Y), 2.0)


def measured(route, seed: int):
    """Points measured along straights (lengths) and bends (degrees, and what they turn toward)."""
    rng = np.random.default_rng(seed)
    at, along, run = np.zeros(3), np.array(X), 0.0
    parts = []
    for part in route:
        if isinstance(part, tuple):
            angle = np.radians(part[0])
            side = np.array(part[1]) - np.array(part[1]) @ along * along
            side = side / np.linalg.norm(side)
            parts.append((run, angle * RADIUS_M, at, along, side))
            at = at + RADIUS_M * (np.sin(angle) * along + (1.0 - np.cos(angle)) * side)
            along = np.cos(angle) * along + np.sin(angle) * side
            run += angle * RADIUS_M
        else:
            parts.append((run, part, at, along, None))
            at, run = at + part * along, run + part
    stations = [0.0]
    while stations[-1] < run:
        stations.append(stations[-1] + rng.uniform(0.05, 0.3))
    stations = np.array([*stations[:-1], run])
    line = np.empty((stations.size, 3))
    for start, length, origin, way, side in parts:
        on = (stations >= start - 1e-9) & (stations <= start + length + 1e-9)
        d = (stations[on] - start)[:, None]
        line[on] = origin + d * way
        if side is not None:
            turned = d / RADIUS_M
            line[on] = origin + RADIUS_M * (np.sin(turned) * way + (1.0 - np.cos(turned)) * side)
    return np.round(line + rng.normal(size=line.shape) * 0.002, 3)


def drawn(route) -> np.ndarray:
    return np.array([part[0] for part in route if isinstance(part, tuple)])


@cache
def read(route, seed: int):
    """The fit, its angles, and how many deviations each lies off what was drawn."""
    fit = fit_survey(measured(route, seed), 0.002)
    angles = np.degrees([bend.angle_rad for bend in fit.bends])
    assert angles.size == drawn(route).size
    return fit, angles, (angles - drawn(route)) / np.degrees([b.angle_sd_rad for b in fit.bends])


@pytest.mark.parametrize("route, seed", [(SADDLE, 9120), (STEEP_SADDLE, 9139), (LONG_SADDLE, 9133)])
def test_bends_of_a_saddle_leave_a_poor_share_of_their_turn_together(route, seed):
    # the least likely of the shares was taken for sure: 16.5° ± 0.3° for 22.5°
    _, angles, off = read(route, seed)
    assert np.abs(off).max() < 3.0
    assert np.abs(angles - drawn(route)).max() < 2.5


@pytest.mark.parametrize("route, seed", [(SADDLE, 9000), (STEEP_SADDLE, 519), (OFFSET, 9204)])
def test_deviations_of_close_bends_reach_the_angles_that_few_points_leave_open(route, seed):
    _, _, off = read(route, seed)
    assert np.abs(off).max() < 3.0


def test_close_bends_with_open_angles_are_named_with_what_they_may_turn():
    fit, _, _ = read(STEEP_SADDLE, 519)
    (said,) = [one for one in fit.findings if one.code == "survey-angles-open"]
    assert said.severity is Severity.CAUTION
    assert "from bend 1 to bend 3" in said.message
    assert "bend 2 56.2° to 58.9°" in said.message


def test_close_bends_that_their_points_tell_are_not_cautioned():
    fit, _, off = read(STEEP_SADDLE, 9102)
    assert np.abs(off).max() < 3.0
    assert "survey-angles-open" not in {one.code for one in fit.findings}


@pytest.mark.parametrize("seed", [501, 9310])
def test_two_corners_that_passed_each_other_are_no_hairpins(seed):
    # 170° and 173° explained the points as well; 176° and 180° a hundred meters away nearly so
    fit, angles, _ = read(FOUR, seed)
    assert angles.max() < 100.0
    assert angles.sum() == pytest.approx(210.0, abs=25.0)
    length_m = sum(segment.length_m for segment in fit.segments)
    assert length_m == pytest.approx(10.2, abs=ft(0.1))


def test_a_fold_of_unsure_angle_is_an_error_that_names_it():
    angles = [(np.radians(170.0), np.radians(29.0)), (np.radians(20.0), np.radians(29.0))]
    lost, vague = radius_findings(angles, [False, False], folds=[0])
    assert lost.code == "survey-bend-unknown" and lost.severity is Severity.ERROR
    assert "170°, which folds the path back between two points" in lost.text
    assert vague.code == "survey-radius-undetermined" and vague.bends == (1,)


def test_a_lost_bend_of_no_angle_is_told_in_words():
    # what the end of a run takes off may be more than the whole angle
    (lost,) = radius_findings([(np.radians(-69.0), np.pi), (np.radians(40.0), np.pi)], [False] * 2)
    assert "of bend {} (angle unknown), bend {} (40°):" in lost.text
