"""How two bends of one plane share their turn: held angles, the profile, and what is reported.

Checked against scipy's general least squares on the same residuals, and against the truth of
seeded routes.
"""

from __future__ import annotations

from dataclasses import replace
from math import radians

import numpy as np
import pytest
import survey_regimes
from scipy.optimize import least_squares

from analyzer.geometry.survey.chain import FREE, Chain, evaluate, frames
from analyzer.geometry.survey.fit import fit_chain
from analyzer.geometry.survey.reader import fit_survey
from analyzer.geometry.survey.shared_turns import hold_turn, profile_shared_turn, turn_one_way


def pair(seed: int, gap_m: float = 0.05, roll: float = 0.0):
    """Noisy points of 60 and 45 degrees of 0.5 m in one plane, and the true chain."""
    radii, angles = np.array([0.5, 0.5]), np.radians([60.0, 45.0])
    tangents = radii * np.tan(angles / 2.0)
    u1 = np.array([1.0, 0.0, 0.0])
    u2 = np.array([np.cos(angles[0]), np.sin(angles[0]), 0.0])
    side = np.array([-np.sin(angles[0]), np.cos(angles[0]), 0.0])
    side = np.cos(roll) * side + np.sin(roll) * np.array([0.0, 0.0, 1.0])
    u3 = np.cos(angles[1]) * u2 + np.sin(angles[1]) * side
    first = (1.5 + tangents[0]) * u1
    second = first + (tangents.sum() + gap_m) * u2
    nodes = np.array([np.zeros(3), first, second, second + (1.5 + tangents[1]) * u3])
    line = np.concatenate(
        [
            np.linspace(0.0, 1.5, 16)[:, None] * u1,
            *(
                nodes[k + 1]
                - tangents[k] * a
                + radii[k]
                * (np.sin(t)[:, None] * a + (1.0 - np.cos(t))[:, None] * n / np.linalg.norm(n))
                for k, (a, b) in enumerate(((u1, u2), (u2, u3)))
                for t, n in [
                    (np.linspace(0.1, angles[k] - 0.1, 6), b - (b @ a) * a),
                ]
            ),
            nodes[2] + np.linspace(tangents[1], 1.5 + tangents[1], 16)[:, None] * u3,
        ]
    )
    cloud = line + 0.002 * np.random.default_rng(seed).normal(size=line.shape)
    chain = Chain(nodes, radii, np.array([0, 22, line.shape[0]]), np.array([FREE, FREE]))
    return cloud, fit_chain(cloud, chain, 0.002, tolerance=1e-6, steps=100).chain


@pytest.mark.parametrize("bend", [0, 1])
def test_a_bend_held_at_an_angle_has_that_angle_and_the_least_chi_square_beside_it(bend):
    cloud, start = pair(3)
    asked = float(frames(start).angle[bend]) + radians(4.0)
    turns = np.full(2, np.nan)
    turns[bend] = asked
    held = fit_chain(cloud, replace(start, turns_rad=turns), 0.002, tolerance=1e-9, steps=200)
    assert frames(held.chain).angle[bend] == pytest.approx(asked, abs=1e-4)

    def residuals(unknowns):
        chain = replace(
            held.chain, nodes_m=unknowns[:12].reshape(4, 3), radii_m=unknowns[12:], turns_rad=None
        )
        f = frames(chain)
        gap = f.l2[0] - f.tangent[0] - f.tangent[1]
        own = np.array([(f.angle[bend] - asked) / 1e-6, min(gap, 0.0) / 1e-4])
        return np.concatenate((evaluate(cloud, chain).residuals.ravel() / 0.002, own))

    unknowns = np.concatenate((held.chain.nodes_m.ravel(), held.chain.radii_m))
    other = least_squares(residuals, unknowns, xtol=1e-12, ftol=1e-12, max_nfev=200)
    # the springs of the search give a thirtieth of a deviation
    assert held.chi2 == pytest.approx(2.0 * other.cost, abs=0.1)


def test_the_profile_holds_the_most_likely_angle_and_ends_where_none_is_left():
    cloud, start = pair(6)
    shared = profile_shared_turn(cloud, start, 0, 0.002)
    best = fit_chain(cloud, start, 0.002, tolerance=1e-6, steps=100)
    assert shared.least <= best.chi2 + 0.01
    assert (np.diff(shared.turns_rad) > 0.0).all()
    assert shared.rises.min() < 0.05
    assert shared.rises[0] > 9.0 and shared.rises[-1] > 9.0
    assert shared.weights.sum() == pytest.approx(1.0)
    held = hold_turn(cloud, shared, 0.002)
    assert frames(held.chain).angle[0] == pytest.approx(shared.mean_rad, abs=1e-3)


def test_what_two_bends_turn_together_is_better_known_than_what_each_turns():
    drawn = survey_regimes.draw("gap-same:0.1", np.random.default_rng([31, 105]))
    fit = fit_survey(drawn.points, drawn.sigma)
    first, second = fit.bends
    # the points prefer a share far from the truth: the deviations know of it
    assert abs(first.angle_rad - drawn.angles[0]) > radians(20.0)
    assert first.angle_sd_rad > radians(6.0)
    together = first.angle_rad + second.angle_rad
    assert together == pytest.approx(float(drawn.angles.sum()), abs=radians(1.0))
    assert "survey-turn-shared" in {finding.code for finding in fit.findings}


def test_touching_that_is_not_ruled_out_lies_no_more_deviations_off_than_its_chi_square_says():
    drawn = survey_regimes.draw("touch-same", np.random.default_rng([42, 11]))
    first, _ = fit_survey(drawn.points, drawn.sigma).bends
    # by the curvature of the likelihood the truth lay ten deviations off
    assert abs(first.angle_rad - drawn.angles[0]) < 5.0 * first.angle_sd_rad


@pytest.mark.parametrize("roll, one_way", [(0.0, True), (0.5, True), (0.8, False), (np.pi, False)])
def test_bends_share_their_turn_only_in_about_one_plane_and_sense(roll, one_way):
    assert turn_one_way(pair(1, 0.05, roll)[1], 0) == one_way


def test_a_straight_that_is_plainly_there_leaves_the_turns_as_they_are():
    cloud, start = pair(2, gap_m=0.4)
    assert profile_shared_turn(cloud, start, 0, 0.002) is None
