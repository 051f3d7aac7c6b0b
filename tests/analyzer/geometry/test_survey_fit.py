"""The joint fit: derivatives against differences, and the chain's own geometry."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import chi2, norm

from analyzer.geometry.survey.chain import (
    FREE,
    HALVES,
    LIKE,
    TOUCHING,
    Chain,
    angle_gradients,
    frames,
    turn_at,
)
from analyzer.geometry.survey.fit import evaluate_chain, fit_chain, normal_band
from analyzer.geometry.survey.outliers import find_outliers
from analyzer.geometry.survey.springs import end_gradient
from analyzer.geometry.survey.windows import chi2_limit, estimate_accuracy

NODES = np.array([[0, 0, 0], [2, 0.1, 0], [3, 2, 0.3], [2.5, 3.5, 2], [2.5, 4.0, 5]], dtype=float)
RADII = np.array([0.5, 0.6, 0.4])


def chain(joints=(FREE, FREE, FREE), count: int = 60) -> Chain:
    third = count // 3
    cuts = np.array([0, third, 2 * third, count])
    return Chain(NODES.copy(), RADII.copy(), cuts, np.array(joints))


def points(count: int = 60) -> np.ndarray:
    place = np.linspace(0.0, 4.0 - 1e-9, count)
    k = place.astype(int)
    line = NODES[k] + (place - k)[:, None] * (NODES[k + 1] - NODES[k])
    return line + 0.01 * np.random.default_rng(1).normal(size=(count, 3))


def moved(start: Chain, unknown: int, step: float) -> Chain:
    node, part = divmod(unknown, 4)
    nodes, radii = start.nodes_m.copy(), start.radii_m.copy()
    if part == 0:
        radii[node - 1] += step
    else:
        nodes[node, part - 1] += step
    return replace(start, nodes_m=nodes, radii_m=radii)


def on_curve(start: Chain, count: int = 60) -> tuple[np.ndarray, Chain]:
    """Points moved onto their own place of the chain, and the chain cut at them."""
    cloud = points(count)
    fit = evaluate_chain(cloud, evaluate_chain(cloud, start, 1.0).chain, 1.0)
    f = frames(fit.chain)
    owner = np.repeat(np.arange(3), np.diff(fit.chain.cuts))
    normal = np.where(fit.side[:, None] <= 0, f.n1[owner], f.n2[owner])
    radial = f.center[owner] - cloud
    radial -= (radial * f.axis[owner]).sum(axis=1)[:, None] * f.axis[owner]
    radial /= np.linalg.norm(radial, axis=1)[:, None]
    inward = np.where((fit.side == 0)[:, None], radial, normal)
    moved_to = cloud - fit.residuals_m[:, :1] * inward - fit.residuals_m[:, 1:] * f.axis[owner]
    return moved_to, fit.chain


def test_curvature_of_chi_square_matches_differences_at_the_optimum():
    # at residuals of zero half the second derivative of the sum of squares is the normal matrix
    cloud, start = on_curve(chain())
    assert evaluate_chain(cloud, start, 1.0).chi2 < 1e-24
    band = normal_band(cloud, start)
    step = 1e-5
    for unknown in range(5, 15):
        both = [evaluate_chain(cloud, moved(start, unknown, s), 1.0).chi2 for s in (step, -step)]
        # central differences, truncation of order step over the radius
        assert sum(both) / (2.0 * step**2) == pytest.approx(band[0, unknown], rel=1e-3)


def test_angle_gradients_match_differences():
    start = chain()
    gradients = angle_gradients(frames(start))
    for bend in range(3):
        for node in range(3):
            for part in range(3):
                unknown = 4 * (bend + node) + part + 1
                up = frames(moved(start, unknown, 1e-6)).angle[bend]
                down = frames(moved(start, unknown, -1e-6)).angle[bend]
                assert (up - down) / 2e-6 == pytest.approx(gradients[bend, node, part], abs=1e-8)


def test_turn_at_a_tangent_point_is_none_or_all():
    start = chain()
    f = frames(start)
    first = start.nodes_m[2] - f.tangent[1] * f.u1[1]
    last = start.nodes_m[2] + f.tangent[1] * f.u2[1]
    assert turn_at(first, start, 1)[0] == pytest.approx(0.0, abs=1e-12)
    assert turn_at(last, start, 1)[0] == pytest.approx(f.angle[1], abs=1e-12)


def test_touching_bends_end_where_the_next_begins():
    start = chain((TOUCHING, FREE, FREE), 90)
    f = frames(start)
    fill = f.l2[0] / (f.tangent[0] + f.tangent[1])
    radii = start.radii_m * np.array([fill, fill, 1.0])
    cloud, start = on_curve(replace(start, radii_m=radii), 90)
    cloud = cloud + 0.002 * np.random.default_rng(2).normal(size=cloud.shape)
    fit = fit_chain(cloud, start, 0.002, steps=100, tolerance=1e-6, firm=True)
    f = frames(fit.chain)
    assert f.l2[0] == pytest.approx(f.tangent[0] + f.tangent[1], abs=1e-7)
    assert fit.chi2 < chi2_limit(180, 4.0)


@pytest.mark.parametrize("bends", [1, 2, 3])
@pytest.mark.parametrize("end", [0, 1])
def test_slope_of_the_straight_at_an_end_matches_differences(bends, end):
    start = chain()
    cut = slice(None, bends + 2) if end == 0 else slice(3 - bends, None)
    start = Chain(NODES[cut].copy(), RADII[:bends].copy(), np.zeros(bends + 1), np.zeros(bends))

    def length(nodes, radii):
        f = frames(replace(start, nodes_m=nodes, radii_m=radii))
        return float((f.l1[0] - f.tangent[0], f.l2[-1] - f.tangent[-1])[end])

    row, column = end_gradient(start, frames(start), end)
    slopes = np.zeros(4 * (bends + 2) + 4)
    slopes[column : column + 16] = row
    for node in range(bends + 2):
        for axis in range(3):
            change = np.zeros_like(start.nodes_m)
            change[node, axis] = 1e-6
            up, down = (length(start.nodes_m + sign * change, start.radii_m) for sign in (1, -1))
            # central differences of a smooth function: error of the order of the step squared
            assert slopes[4 * node + 1 + axis] == pytest.approx((up - down) / 2e-6, abs=1e-7)
    for bend in range(bends):
        change = np.zeros(bends)
        change[bend] = 1e-6
        up, down = (length(start.nodes_m, start.radii_m + sign * change) for sign in (1, -1))
        assert slopes[4 * (bend + 1)] == pytest.approx((up - down) / 2e-6, abs=1e-7)
    assert not slopes[4 * (bends + 2) :].any()


def test_halves_of_an_arc_share_radius_plane_and_angle():
    angle = np.linspace(0.0, np.pi, 30)
    arc = np.stack((np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle), axis=1)
    before = np.stack((np.linspace(-3, -0.1, 30), np.zeros(30), np.zeros(30)), axis=1)
    after = before[::-1] + np.array([0.0, 2.0, 0.0])
    cloud = np.concatenate((before, arc, after))
    cloud = cloud + 0.001 * np.random.default_rng(0).normal(size=cloud.shape)
    nodes = np.array([[-3, 0, 0], [0.9, 0, 0], [1.1, 2.1, 0.1], [-3, 2, 0]], dtype=float)
    start = Chain(nodes, np.array([0.9, 1.1]), np.array([0, 45, 90]), np.array([HALVES, FREE]))
    near = fit_chain(cloud, start, 0.001, steps=100)
    fit = fit_chain(cloud, near.chain, 0.001, tolerance=1e-6, firm=True)
    f = frames(fit.chain)
    assert fit.chain.radii_m[0] == pytest.approx(fit.chain.radii_m[1], abs=1e-6)
    assert f.angle[0] == pytest.approx(f.angle[1], abs=1e-6)
    assert f.axis[0] == pytest.approx(f.axis[1], abs=1e-6)
    assert f.angle.sum() == pytest.approx(np.pi, abs=0.01)
    assert fit.chi2 < chi2_limit(180, 4.0)


def test_like_bends_share_radius_and_plane_and_keep_their_own_angles_and_straight():
    turns, radius, between = np.radians([30.0, 60.0]), 0.5, 0.2
    station = np.arange(0.0, 4.2 + radius * turns.sum() - 1e-9, 0.02)
    starts = np.array([2.0, 2.0 + between + radius * turns[0]])
    on_arcs = np.clip(station - starts[:, None], 0.0, radius * turns[:, None])
    heading = on_arcs.sum(axis=0) / radius
    # positions as the integral of the heading, midpoints of steps far below the noise
    fine = np.linspace(0.0, station[-1], 400 * station.size)
    ways = np.interp(fine, station, heading)
    cloud = np.zeros((station.size, 3))
    for axis, part in enumerate((np.cos(ways), np.sin(ways))):
        path = np.concatenate(([0.0], np.cumsum((part[1:] + part[:-1]) * np.diff(fine) / 2.0)))
        cloud[:, axis] = np.interp(station, fine, path)
    cloud += 0.0005 * np.random.default_rng(8).normal(size=cloud.shape)
    tangents = radius * np.tan(turns / 2.0)
    legs = np.array([2.0 + tangents[0], tangents.sum() + between, tangents[1] + 2.0])
    ways = np.array([0.0, turns[0], turns.sum()])
    steps = legs[:, None] * np.stack((np.cos(ways), np.sin(ways), 0.0 * ways), axis=1)
    nodes = np.concatenate((np.zeros((1, 3)), np.cumsum(steps, axis=0)))
    cut = int((station < starts[1] - between / 2.0).sum())
    joints = np.array([LIKE, FREE])
    start = Chain(nodes, np.array([0.4, 0.6]), np.array([0, cut, station.size]), joints)
    near = fit_chain(cloud, start, 0.0005, steps=100)
    fit = fit_chain(cloud, near.chain, 0.0005, tolerance=1e-6, firm=True)
    f = frames(fit.chain)
    assert fit.chain.radii_m[0] == pytest.approx(fit.chain.radii_m[1], abs=1e-6)
    assert f.axis[0] == pytest.approx(f.axis[1], abs=1e-6)
    # three deviations of this sampling are about 0.5 degrees, 3 mm and 10 mm
    assert np.degrees(f.angle) == pytest.approx([30.0, 60.0], abs=0.5)
    assert fit.chain.radii_m[0] == pytest.approx(0.5, abs=0.003)
    assert f.l2[0] - f.tangent.sum() == pytest.approx(0.2, abs=0.01)
    assert fit.chi2 < chi2_limit(2 * station.size, 4.0)


@pytest.mark.parametrize("freedom", [10, 30, 200])
@pytest.mark.parametrize("z", [1.6, 3.3, 4.0])
def test_chi_square_limit_stands_as_many_deviations_up_as_asked(freedom, z):
    # the cube-root approximation drifts by 0.06 deviations at ten degrees of freedom
    assert norm.isf(chi2.sf(chi2_limit(freedom, z), freedom)) == pytest.approx(z, abs=0.1)


@pytest.mark.parametrize("spread", ["even", "uneven"])
def test_accuracy_estimate_is_unbiased_on_straights_and_arcs(spread):
    rng = np.random.default_rng(6)
    angle = np.linspace(0.0, 2.0, 2000)
    if spread == "uneven":
        angle = np.sort(rng.uniform(0.0, 2.0, 2000))
    arc = 20.0 * np.stack((np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle), axis=1)
    # 2,000 overlapping windows, of which about 330 are independent: 3 deviations are 8 %
    assert estimate_accuracy(arc + 0.003 * rng.normal(size=arc.shape)) == pytest.approx(
        0.003, rel=0.08
    )


def test_a_sharp_corner_is_no_outlier():
    leg = np.linspace(0.0, 2.0, 30)[:, None]
    corner = np.concatenate((leg * [1.0, 0, 0], [2.0, 0, 0] + leg[1:] * [0, 1.0, 0]))
    noisy = corner + 0.001 * np.random.default_rng(3).normal(size=corner.shape)
    assert find_outliers(noisy, 0.001).size == 0
    noisy[40] += [0.05, 0.0, 0.0]
    assert find_outliers(noisy, 0.001).tolist() == [40]
