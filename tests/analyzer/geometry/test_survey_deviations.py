"""Deviations of bends from survey points: as large as the errors, in every kind of route.

Errors come from the truth of seeded routes. The root mean square of k errors over honest
deviations scatters about 1 by 1/sqrt(2 k); three such are allowed, upward only where other models
widen the deviations on purpose.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from math import pi, radians, sqrt

import numpy as np
import pytest
import survey_regimes
import survey_routes
from scipy.optimize import least_squares

from analyzer.findings import Severity
from analyzer.geometry.survey import answer as survey_answer
from analyzer.geometry.survey.chain import FREE, Chain, evaluate, frames
from analyzer.geometry.survey.deviations import estimate_bends
from analyzer.geometry.survey.doubts import no_doubts
from analyzer.geometry.survey.fit import fit_chain
from analyzer.geometry.survey.noise import Noise, noise_of
from analyzer.geometry.survey.radii import angle_spread, profile_deviation
from analyzer.geometry.survey.reader import fit_survey


def route(regime: str, seed: int):
    return survey_regimes.draw(regime, np.random.default_rng([4077, seed]))


def pulls(regime: str, routes: int, accuracy: str = "given"):
    """Errors over deviations of angles and of determined radii; deviations over radii."""
    angles, radii, parts = [], [], []
    for seed in range(routes):
        drawn = route(regime, seed)
        fit = fit_survey(drawn.points, drawn.sigma if accuracy == "given" else None)
        unreadable = any(finding.severity is Severity.ERROR for finding in fit.findings)
        if unreadable or len(fit.bends) != drawn.angles.size:
            continue
        for bend, angle, radius in zip(fit.bends, drawn.angles, drawn.radii, strict=True):
            angles.append((bend.angle_rad - angle) / bend.angle_sd_rad)
            part = bend.radius_sd_m / bend.radius_m
            assert bend.radius_determined == (part < 0.3)
            if bend.radius_determined:
                radii.append((bend.radius_m - radius) / bend.radius_sd_m)
                parts.append(part)
    return np.array(angles), np.array(radii), np.array(parts)


def rms(values) -> float:
    return float(np.sqrt(np.mean(values**2)))


def honest(values) -> bool:
    return abs(rms(values) - 1.0) < 3.0 / sqrt(2.0 * values.size)


def one_bend(angle_deg: float, radius_m: float, spacing_m: float, sigma_m: float, seed: int):
    """Noisy points of one bend, and its true chain."""
    drawn = survey_routes.build(
        np.random.default_rng(seed),
        np.radians([angle_deg]),
        np.array([radius_m]),
        np.array([1.5, 1.5]),
        spacing_m,
        sigma_m,
    )
    fit = fit_survey(drawn.points, sigma_m)
    first, _, last = fit.segments
    corner = np.array(first.end_m) + radius_m * np.tan(radians(angle_deg) / 2.0) * np.array(
        first.end_tangent
    )
    chain = Chain(
        np.array([first.start_m, corner, last.end_m]),
        np.array([fit.bends[0].radius_m]),
        np.array([0, drawn.points.shape[0]]),
        np.array([FREE]),
    )
    return drawn, fit_chain(drawn.points, chain, sigma_m, tolerance=1e-6, steps=100)


def test_radii_of_gentle_bends_are_determined_up_to_the_stated_limit_and_honest_there():
    angles, radii, parts = pulls("small", 50)
    assert honest(angles)
    # kept by their own estimate: the larger ones among many alike must not look the best known
    for low, high in ((0.0, 0.1), (0.1, 0.2), (0.2, 0.3)):
        among = radii[(parts >= low) & (parts < high)]
        assert among.size >= 15
        assert honest(among)


def test_bends_of_few_points_have_deviations_no_smaller_than_their_errors():
    _, radii, _ = pulls("few", 45)
    # a likelihood with two peaks gives errors of eight deviations where only its curvature counts
    assert radii.size > 70
    assert rms(radii) < 1.0 + 3.0 / sqrt(2.0 * radii.size)
    assert np.abs(radii).max() < 5.5


def test_deviation_of_a_radius_is_its_spread_under_the_profile_of_the_likelihood():
    drawn, fit = one_bend(30.0, 0.6, 0.16, 0.002, 5)
    radius = float(fit.chain.radii_m[0])

    def cost(value: float) -> float:
        def residuals(nodes):
            chain = replace(fit.chain, nodes_m=nodes.reshape(3, 3), radii_m=np.array([value]))
            return evaluate(drawn.points, chain).residuals.ravel() / 0.002

        return 2.0 * least_squares(residuals, fit.chain.nodes_m.ravel(), xtol=1e-8).cost

    values = np.linspace(0.03, 2.0, 80) * radius
    costs = np.array([cost(value) for value in values])
    weights = np.exp(-0.5 * (costs - costs.min())) / np.sqrt(values)
    spread = sqrt(float((weights * (values - radius) ** 2).sum() / weights.sum()))
    (bend,) = estimate_bends(drawn.points, fit, Noise(0.002, 0.0), no_doubts(1))
    # fifteen values stand for the whole profile
    assert bend.radius_sd_m == pytest.approx(spread, rel=0.08)


def test_deviation_of_a_well_known_radius_is_that_of_the_curvature():
    drawn, fit = one_bend(90.0, 0.6, 0.05, 0.001, 6)
    assert profile_deviation(drawn.points, fit, 0, 0.001, 0.002) == 0.002


@pytest.mark.parametrize("reach", [2.0, 5.0])
def test_likeness_of_neighboring_errors_is_found_although_the_fit_takes_part_of_it(reach):
    found = []
    for seed in range(6):
        drawn = route("survey", seed)
        noise = survey_routes.correlated(np.random.default_rng(seed), drawn.clean.shape, reach)
        points = drawn.clean + drawn.sigma * noise
        # the joint fit from the true chain: what is tested is the noise, not the search
        fit = fit_chain(points, _true_chain(drawn), drawn.sigma, steps=60, tolerance=1e-3)
        one = noise_of(points, fit, 4 * drawn.angles.size + 4)
        found.append((one.likeness, one.sigma_m / drawn.sigma))
    likeness, ratio = np.mean(found, axis=0)
    # about 1,400 points in all: three deviations of the correlation are 0.05
    assert likeness == pytest.approx(np.exp(-1.0 / reach), abs=0.05)
    assert ratio == pytest.approx(1.0, abs=0.1)


def _true_chain(drawn) -> Chain:
    """The chain nearest to the truth: that of points without noise."""
    fit = fit_survey(drawn.clean, None)
    nodes = [np.array(fit.segments[0].start_m)]
    for bend in fit.bends:
        arc = fit.segments[bend.first_segment]
        reach = arc.radius_m * np.tan(arc.angle_rad / 2.0)
        nodes.append(np.array(arc.start_m) + reach * np.array(arc.start_tangent))
    nodes.append(np.array(fit.segments[-1].end_m))
    away = [np.linalg.norm(drawn.clean - (a + b) / 2.0, axis=1) for a, b in pairwise(nodes[1:-1])]
    cuts = [0, *(int(np.argmin(d)) for d in away), drawn.clean.shape[0]]
    radii = np.array([bend.radius_m for bend in fit.bends])
    return Chain(np.array(nodes), radii, np.array(cuts), np.full(radii.size, FREE))


def test_independent_errors_are_not_taken_as_alike():
    for seed in range(25):
        drawn = route("survey", seed)
        codes = {f.code for f in fit_survey(drawn.points, drawn.sigma).findings}
        assert "survey-noise-correlated" not in codes


@pytest.mark.parametrize("regime", ["correlated:2", "correlated:5"])
def test_correlated_noise_raises_angles_and_radii_each_by_what_it_does_to_them(regime):
    angles, radii, _ = pulls(regime, 16)
    assert honest(angles)
    assert honest(radii)


def test_correlated_noise_is_said_with_its_strength():
    drawn = route("correlated:2", 3)
    fit = fit_survey(drawn.points, drawn.sigma)
    (finding,) = [f for f in fit.findings if f.code == "survey-noise-correlated"]
    stated = float(finding.message.split("correlation ")[1].split(" ")[0])
    # 200 points or more: three deviations of the correlation are 0.17
    assert stated == pytest.approx(np.exp(-0.5), abs=0.17)
    assert "raised" in finding.message


def test_a_run_of_one_arc_or_ending_in_one_allows_for_a_short_straight_there():
    for regime, routes in (("lone", 40), ("ends", 12)):
        angles, radii, _ = pulls(regime, routes)
        assert angles.size > 25
        assert rms(angles) < 1.0 + 3.0 / sqrt(2.0 * angles.size)
        assert rms(radii) < 1.0 + 3.0 / sqrt(2.0 * radii.size)
        assert rms(angles) > 0.5


def test_points_that_begin_or_end_in_an_arc_are_said_to_leave_a_straight_open():
    drawn = survey_routes.build(
        np.random.default_rng(8),
        np.radians([90.0, 60.0]),
        np.array([0.6, 0.6]),
        np.array([0.0, 2.0, 0.0]),
        0.06,
        0.001,
    )
    for points, words in (
        (drawn.points, r"are: before bend 1 none to [^;]*°; after bend 2 .*°\. Each"),
        (drawn.points[:40], r"is: before bend 1 none to [^;]*°\. It"),
    ):
        findings = fit_survey(points, 0.001).findings
        (finding,) = [f for f in findings if f.code == "survey-ends-in-arc"]
        assert re.search(words, finding.message)
        # up to four degrees are open there
        assert finding.severity is Severity.CAUTION


def test_a_short_straight_before_the_first_bend_leaves_its_angle_an_honest_deviation():
    pulls_there = []
    for seed in range(30):
        rng = np.random.default_rng([611, seed])
        radius = float(rng.choice([0.5, 0.6, 0.9]))
        straights = np.array([rng.uniform(0.1, 0.4) * radius, 2.0, rng.uniform(0.1, 0.4) * radius])
        angles = np.radians(rng.choice(survey_routes.ANGLES, 2))
        drawn = survey_routes.build(rng, angles, np.full(2, radius), straights, 0.05, 0.002)
        fit = fit_survey(drawn.points, 0.002)
        assert len(fit.bends) == 2
        for bend, angle in zip(fit.bends, drawn.angles, strict=True):
            pulls_there.append((bend.angle_rad - angle) / bend.angle_sd_rad)
    assert honest(np.array(pulls_there))


@pytest.mark.parametrize(
    "regime", ["touch-rolled", "touch-reverse", "touch-same", "gap-same:0.1", "gap-reverse:0.1"]
)
def test_bends_near_each_other_have_deviations_no_smaller_than_their_errors(regime):
    angles, radii, _ = pulls(regime, 30)
    assert angles.size >= 54
    # what one of the two has too much the other has too little: a pair counts as one
    assert rms(angles) < 1.0 + 3.0 / sqrt(angles.size)
    assert rms(radii) < 1.0 + 3.0 / sqrt(radii.size)


def offset_errors(routes: int):
    """Errors of the angles of offsets over the bound of one bend alone."""
    errors = []
    for seed in range(routes):
        drawn = route("offset+noise:0.002+spacing:0.1", seed)
        fit = fit_survey(drawn.points, drawn.sigma)
        assert len(fit.bends) == 2
        read = np.array([bend.angle_rad for bend in fit.bends])
        errors.append((read - drawn.angles) / drawn.bound_angle)
    return np.array(errors)


def test_angles_of_offsets_are_read_better_than_by_plain_maximum_likelihood(monkeypatch):
    errors = offset_errors(30)
    angles, _, _ = pulls("offset", 60)
    assert rms(angles) < 1.0 + 3.0 / sqrt(angles.size)

    def plain(points, fit, sigma, clip):
        joints = np.full_like(fit.chain.joints, FREE)
        chain = replace(fit.chain, joints=joints)
        free = fit_chain(points, chain, sigma, clip=clip, tolerance=1e-4, steps=100)
        return free, no_doubts(chain.radii_m.size)

    monkeypatch.setattr(survey_answer, "settle_straights", plain)
    # between small bends a short straight is common: with none counted as much as all lengths
    # together it is 0.76
    assert rms(errors) < 0.7 * rms(offset_errors(30))


def test_a_straight_hardly_told_is_said_with_the_lengths_that_may_stand_there():
    drawn = survey_routes.build(
        np.random.default_rng(4),
        np.radians([60.0, 60.0]),
        np.array([0.6, 0.6]),
        np.array([2.0, 0.06, 2.0]),
        0.05,
        0.002,
        rolls=np.array([0.3, np.pi]),
    )
    fit = fit_survey(drawn.points, 0.002)
    (finding,) = [f for f in fit.findings if f.code == "survey-bends-touch"]
    shown = r"bends 1 and 2 .* to [\d.]+ in \(([\d.]+) mm\), which moves .* to ([\d.]+)°"
    longest_mm, moved_deg = map(float, re.search(shown, finding.message).groups())
    # the straight that stands there is within what the finding names, and so is what it does
    assert longest_mm > 60.0
    for bend, angle in zip(fit.bends, drawn.angles, strict=True):
        assert np.degrees(abs(bend.angle_rad - angle)) < moved_deg + 0.5
        assert bend.angle_sd_rad > radians(0.2)


def test_outliers_left_out_leave_the_deviations_honest():
    angles, radii, _ = pulls("outliers:0.05", 20)
    assert honest(angles)
    assert honest(radii)


def test_points_rounded_to_a_centimeter_are_read_with_that_accuracy():
    angles, radii, _ = pulls("rounded:0.01", 25, "estimated")
    assert honest(angles)
    assert honest(radii)
    drawn = route("rounded:0.01", 1)
    assert fit_survey(drawn.points, None).accuracy_m == pytest.approx(0.01 / sqrt(12.0), rel=0.2)


def test_bends_without_points_of_their_own_break_nothing():
    nodes = np.array([[0, 0, 0], [1, 0, 0], [1.01, 0.01, 0], [1.02, 0.03, 0], [1, 1, 0], [0, 1, 0]])
    leg = np.linspace(0.0, 0.9, 15)[:, None]
    points = np.concatenate((leg * [1.0, 0, 0], [0.9, 1.0, 0] - leg * [1.0, 0, 0]))
    points = points + 0.001 * np.random.default_rng(0).normal(size=points.shape)
    chain = Chain(
        np.asarray(nodes, dtype=float),
        np.full(4, 0.005),
        np.array([0, 15, 15, 15, 30]),
        np.full(4, FREE),
    )
    fit = replace(fit_chain(points, chain, 0.001, steps=1), chain=chain)
    noise = noise_of(points, fit, 20)
    assert np.isfinite(noise.sigma_m)
    bends = estimate_bends(points, fit, Noise(0.001, 0.5), no_doubts(4), hopeless=True)
    assert len(bends) == frames(chain).angle.size
    assert all(bend.angle_sd_rad > 0.0 and bend.radius_sd_m > 0.0 for bend in bends)


@pytest.mark.parametrize("alone", [0, 1])
def test_a_bend_whose_neighbors_have_no_points_either_has_a_deviation_without_warnings(alone: int):
    nodes = [[0, 0, 0], [1, 0, 0], [1.05, 0.05, 0], [1.1, 0.15, 0], [1.1, 0.25, 0], [1.05, 0.35, 0]]
    nodes += [[0, 0.4, 0]]
    points = np.array([[x, 0, 0] for x in np.linspace(0, 0.9, 15)])
    points = np.concatenate((points, [[x, 0.4, 0] for x in np.linspace(0.9, 0, 15)]))
    chain = Chain(
        np.asarray(nodes, dtype=float),
        np.full(5, 0.005),
        np.array([0, 15 - alone, 15, 15, 15, 30]),
        np.full(5, FREE),
    )
    fit = replace(fit_chain(points, chain, 0.001, steps=1), chain=chain)
    assert 0.0 <= angle_spread(points, fit, 2, 0.001) < pi
    for bend in estimate_bends(points, fit, Noise(0.001, 0.0), no_doubts(5)):
        assert 0.0 < bend.angle_sd_rad <= pi


def test_a_deviation_of_an_angle_that_nothing_tells_is_half_a_turn_and_no_more():
    y = [0.796, 0.796, 5.418, 6.193, 6.315, 6.507, 6.871, 7.911, 8.052, 8.188, 8.317, 8.317, 8.392]
    y += [8.474, 8.544, 8.615, 8.668, 8.701, 8.735, 8.760, 8.766, 8.754, 8.734, 8.706, 7.937]
    z = [-1.527, 0.352, 0.352, 1.127, 1.231, 1.336, 1.408, 1.417, 1.446, 1.492, 1.555, 1.555, 1.604]
    z += [1.670, 1.742, 1.835, 1.924, 1.998, 2.1, 2.225, 2.362, 2.487, 2.574, 2.660, 4.013]
    fit = fit_survey(np.column_stack((np.full(25, 2.674), y, z)), None)
    assert max(bend.angle_sd_rad for bend in fit.bends) == pi
    assert min(bend.angle_sd_rad for bend in fit.bends) < 0.02
