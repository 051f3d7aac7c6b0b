"""Groups of conductors: arrangement, weight factor, clearance, jam ratio, what cannot be."""

from __future__ import annotations

from math import acos, cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from pull_jobs import job_with, raceway_of, stated_conductor
from scipy.optimize import brentq, minimize

from analyzer.errors import JobError
from analyzer.findings import Severity
from analyzer.job.settings import Arrangement, Job
from analyzer.pulling.groups import (
    DIAMOND_GREATEST_RATIO,
    conductor_group,
    weight_factor,
)
from analyzer.pulling.sidewall import sidewall_rule

D = 0.030


def group_job(count: int, ratio: float, arrangement: Arrangement | None = None, **more) -> Job:
    return job_with(
        conductors=[(count, stated_conductor(1.0, D / ratio))], raceway=raceway_of(D),
        arrangement=arrangement, **more,
    )  # fmt: skip


def group_of(count: int, ratio: float, arrangement: Arrangement | None = None, **more):
    return conductor_group(group_job(count, ratio, arrangement, **more))


@pytest.mark.parametrize(
    ("count", "ratio", "kinds"),
    [
        (1, 2.5, "single"),
        (2, 2.5, "pair"),
        (3, 2.2, "triangular"),
        (3, 2.499, "triangular"),
        (3, 2.501, "triangular cradled"),
        (3, 2.7, "triangular cradled"),
        (3, 2.999, "triangular cradled"),
        (3, 3.001, "cradled"),
        (4, 3.0, "diamond"),
        (5, 4.0, "bunched"),
        (9, 6.0, "bunched"),
    ],
)
def test_arrangement_follows_from_count_and_diameters(count, ratio, kinds) -> None:
    found = group_of(count, ratio)
    assert " ".join(item.value for item in found.arrangements) == kinds
    assert not found.arrangement_stated


def test_mixed_sizes_are_bunched() -> None:
    conductors = [(2, stated_conductor(1.0, 0.010)), (1, stated_conductor(1.0, 0.006))]
    found = conductor_group(job_with(conductors=conductors, raceway=raceway_of(D)))
    assert found.arrangements == (Arrangement.BUNCHED,)
    assert found.is_mixed
    assert (found.weight_factor, found.sidewall.factor) == (1.4, 1.0)
    assert found.diameter_ratio is None
    assert found.clearance_reason
    assert found.jam_ratio is None
    assert [item.code for item in found.findings] == ["arrangement-bunched"]


def test_like_conductors_of_two_entries_are_like() -> None:
    conductors = [(2, stated_conductor(1.0, 0.008)), (1, stated_conductor(2.0, 0.008))]
    found = conductor_group(job_with(conductors=conductors, raceway=raceway_of(D)))
    assert found.count == 3
    assert not found.is_mixed
    assert found.arrangements == (Arrangement.CRADLED,)


def test_uncertain_band_takes_the_worse_of_each_figure() -> None:
    found = group_of(3, 2.7)
    both = [weight_factor(a, 2.7) for a in (Arrangement.TRIANGULAR, Arrangement.CRADLED)]
    assert found.weight_factor == max(both)
    assert found.sidewall == sidewall_rule(Arrangement.CRADLED, both[1])
    assert [item.code for item in found.findings] == ["arrangement-uncertain"]
    assert [item.severity for item in found.findings] == [Severity.NOTE]


def test_weight_factors_of_the_formulas() -> None:
    # r = 1/2 at D/d 3: triangular 1/sqrt(3/4), cradled 4/3, diamond 3/2; r = 2/3 at D/d 2.5
    assert weight_factor(Arrangement.TRIANGULAR, 3.0) == pytest.approx(2.0 / sqrt(3.0))
    assert weight_factor(Arrangement.CRADLED, 3.0) == pytest.approx(4.0 / 3.0)
    assert weight_factor(Arrangement.DIAMOND, 3.0) == pytest.approx(1.5)
    assert weight_factor(Arrangement.PAIR, 2.5) == pytest.approx(1.0 / sqrt(1.0 - 4.0 / 9.0))
    assert weight_factor(Arrangement.SINGLE, None) == 1.0


# Statics of round conductors of weight 1 in a round raceway, no friction: wall forces by solving
# the equilibrium of every conductor, independent of the closed factors.
def wall_forces(centers: np.ndarray, pairs, walls) -> tuple[float, np.ndarray]:
    """Sum of the wall forces over the weight, and every contact force."""
    count = len(centers)
    columns = []
    for i, j in pairs:
        unit = (centers[j] - centers[i]) / np.linalg.norm(centers[j] - centers[i])
        column = np.zeros((count, 2))
        column[i], column[j] = -unit, unit
        columns.append(column.ravel())
    for i in walls:
        column = np.zeros((count, 2))
        column[i] = -centers[i] / np.linalg.norm(centers[i])
        columns.append(column.ravel())
    weight = np.tile([0.0, -1.0], count)
    forces, *_ = np.linalg.lstsq(np.array(columns).T, -weight, rcond=None)
    assert np.allclose(np.array(columns).T @ forces, -weight, atol=1e-9)
    return float(np.abs(forces[len(pairs) :]).sum()) / count, forces


def places(arrangement: Arrangement, ratio: float) -> tuple[np.ndarray, list, list]:
    d, rho = 1.0, (ratio - 1.0) / 2.0
    if arrangement is Arrangement.PAIR:
        h = sqrt(rho * rho - 0.25)
        return np.array([[-0.5, -h], [0.5, -h]]), [(0, 1)], [0, 1]
    if arrangement is Arrangement.TRIANGULAR:
        h = sqrt(rho * rho - 0.25)
        top = [0.0, -h + sqrt(0.75)]
        return np.array([[-0.5, -h], [0.5, -h], top]), [(0, 1), (0, 2), (1, 2)], [0, 1]
    turn = 2.0 * np.arcsin(d / (2.0 * rho))
    side = [rho * sin(turn), -rho * cos(turn)]
    low = [0.0, -rho]
    if arrangement is Arrangement.CRADLED:
        return np.array([low, side, [-side[0], side[1]]]), [(0, 1), (0, 2)], [0, 1, 2]
    top = [0.0, 2.0 * side[1] + rho]
    centers = np.array([low, side, [-side[0], side[1]], top])
    return centers, [(0, 1), (0, 2), (1, 3), (2, 3)], [0, 1, 2]


@pytest.mark.parametrize(
    ("arrangement", "ratios"),
    [
        (Arrangement.PAIR, (2.2, 2.7, 4.0)),
        (Arrangement.CRADLED, (2.5, 3.0, 4.5)),
        (Arrangement.DIAMOND, (2.5, 3.0, 3.8)),
    ],
)
def test_weight_factor_is_the_sum_of_wall_forces_over_the_weight(arrangement, ratios) -> None:
    for ratio in ratios:
        factor, _ = wall_forces(*places(arrangement, ratio))
        assert factor == pytest.approx(weight_factor(arrangement, ratio), rel=1e-9)


def test_triangular_factor_is_that_of_its_two_lower_conductors() -> None:
    # the upper one rests on both: each carries half of the weight of three
    for ratio in (2.3, 2.7, 3.7):
        rho = (ratio - 1.0) / 2.0
        lean = acos(sqrt(rho * rho - 0.25) / rho)
        assert 1.0 / cos(lean) == pytest.approx(weight_factor(Arrangement.TRIANGULAR, ratio))


def test_diamond_stands_up_to_3_83() -> None:
    # a contact force between lowest and side conductor turns into a pull beyond
    def least(ratio: float) -> float:
        return wall_forces(*places(Arrangement.DIAMOND, ratio))[1].min()

    assert brentq(least, 3.0, 4.5) == pytest.approx(DIAMOND_GREATEST_RATIO, rel=1e-9)
    assert pytest.approx(3.83, abs=0.005) == DIAMOND_GREATEST_RATIO


def test_four_beyond_the_diamond_take_the_larger_factor_and_all_pressure_on_one() -> None:
    inside, beyond = group_of(4, 3.82), group_of(4, 3.84)
    assert inside.weight_factor == pytest.approx(1.0 + 2.0 / 2.82**2)
    assert inside.sidewall.factor == 0.5
    assert (beyond.weight_factor, beyond.sidewall.factor) == (1.4, 1.0)
    assert [item.code for item in beyond.findings] == ["diamond-cannot-stand"]


# Pressure on the worst conductor with the weight left out: the bend presses every conductor with
# its own tension, T/n, toward the inner wall, as weight does.
@pytest.mark.parametrize(
    ("arrangement", "ratio"),
    [(Arrangement.PAIR, 2.6), (Arrangement.CRADLED, 2.9), (Arrangement.DIAMOND, 2.5),
     (Arrangement.DIAMOND, 3.5)],
)  # fmt: skip
def test_sidewall_factor_is_the_largest_wall_force_of_one_conductor(arrangement, ratio) -> None:
    centers, pairs, walls = places(arrangement, ratio)
    _, forces = wall_forces(centers, pairs, walls)
    worst = forces[len(pairs) :].max() / len(centers)
    rule = sidewall_rule(arrangement, weight_factor(arrangement, ratio))
    assert rule.factor == pytest.approx(worst, rel=1e-9)


def test_sidewall_rules() -> None:
    assert sidewall_rule(Arrangement.SINGLE, 1.0).factor == 1.0
    assert sidewall_rule(Arrangement.TRIANGULAR, 1.2).factor == 0.6
    assert sidewall_rule(Arrangement.CRADLED, 1.3).factor == pytest.approx(1.9 / 3.0)
    assert sidewall_rule(Arrangement.DIAMOND, 1.7).factor == pytest.approx(0.7)
    assert sidewall_rule(Arrangement.DIAMOND, 1.4).factor == 0.5
    assert sidewall_rule(Arrangement.BUNCHED, 1.4).factor == 1.0


# Clearance against geometry done by search.
def free_height(centers: np.ndarray, ratio: float) -> float:
    """Height of the raceway's crown over the highest point of the conductors."""
    return ratio / 2.0 - (centers[:, 1].max() + 0.5)


def test_clearances_are_those_of_the_geometry() -> None:
    for ratio in (2.6, 2.9, 3.4):
        d = D / ratio
        by_place = {
            kind: {item.where: item.clearance_m / d for item in group_of(n, ratio, kind).clearances}
            for kind, n in (
                (Arrangement.PAIR, 2),
                (Arrangement.CRADLED, 3),
                (Arrangement.DIAMOND, 4),
            )
        }
        for kind, found in by_place.items():
            centers = places(kind, ratio)[0]
            assert max(found.values()) == pytest.approx(free_height(centers, ratio))
            if kind is Arrangement.DIAMOND:
                continue
            x, y = max(centers.tolist())
            # straight above a conductor at x: where its twin lifted up touches the wall
            lifted = sqrt(((ratio - 1.0) / 2.0) ** 2 - x * x)
            assert min(found.values()) == pytest.approx(lifted - y)
            computed = group_of(len(centers), ratio, kind).clearances
            assert min(item.clearance_m for item in computed) == pytest.approx(
                min(found.values()) * d
            )


def test_triangular_clearance_of_the_standard_is_the_height_over_the_triangle() -> None:
    for ratio in (2.4, 2.9, 3.4):
        (item,) = group_of(3, ratio, Arrangement.TRIANGULAR).clearances
        centers = places(Arrangement.TRIANGULAR, ratio)[0]
        # 1.366 d stands for (1 + sqrt 3)/2 d = 1.36603 d
        assert item.clearance_m / (D / ratio) == pytest.approx(
            free_height(centers, ratio), abs=5e-5
        )


def test_single_clearance() -> None:
    (item,) = group_of(1, 2.0).clearances
    assert item.clearance_m == pytest.approx(D / 2.0)


def test_jam_ratio_is_for_three_like_conductors_alone() -> None:
    found = group_of(3, 2.9)
    assert found.jam_ratio == pytest.approx(2.9)
    assert group_of(4, 2.9).jam_ratio is None
    assert "three like" in group_of(4, 2.9).jam_reason
    existing = [(1, stated_conductor(1.0, 0.004))]
    assert group_of(3, 4.0, existing=existing).jam_ratio is None


def test_existing_conductors_raise_a_caution_and_no_weight() -> None:
    existing = [(2, stated_conductor(5.0, 0.004))]
    plain, beside = group_job(3, 4.0), group_job(3, 4.0, existing=existing)
    assert beside.pulling_weight_n_per_m == plain.pulling_weight_n_per_m
    found = conductor_group(beside)
    assert found.weight_factor == conductor_group(plain).weight_factor
    assert [(item.code, item.severity) for item in found.findings] == [
        ("pull-by", Severity.CAUTION)
    ]


@pytest.mark.parametrize(
    ("new", "old", "ratio"),
    [(1, 1, 2.0), (3, 2, 4.1547), (4, 3, 4.5689), (5, 5, 5.4028), (2, 7, 5.0), (1, 8, 6.0)],
)
def test_least_clearance_beside_existing_conductors_stacks_two_bundles(
    new: int, old: int, ratio: float
) -> None:
    """Circle around n like circles over the diameter of one: 1, 2, 2.155, 2.414, 2.701, 3, 3."""
    d = D / 8.0
    found = group_of(new, 8.0, existing=[(old, stated_conductor(5.0, d))])
    assert found.stacked_clearance is not None
    assert found.stacked_clearance.clearance_m == pytest.approx(D - ratio * d, abs=2e-4 * d)
    assert found.clearances == group_of(new, 8.0).clearances


def test_bundle_of_unequal_conductors_is_as_thick_as_if_all_were_like_the_largest() -> None:
    # eight lie within the second ring around the middle one: five diameters across
    existing = [(7, stated_conductor(5.0, D / 40.0)), (1, stated_conductor(5.0, D / 10.0))]
    found = group_of(1, 8.0, existing=existing)
    assert found.stacked_clearance is not None
    assert found.stacked_clearance.clearance_m == pytest.approx(D - D / 8.0 - 5.0 * D / 10.0)
    few = [(2, stated_conductor(5.0, D / 40.0)), (1, stated_conductor(5.0, D / 10.0))]
    found = group_of(1, 8.0, existing=few)
    assert found.stacked_clearance is not None
    around = 1.0 + 2.0 / sqrt(3.0)
    assert found.stacked_clearance.clearance_m == pytest.approx(D - D / 8.0 - around * D / 10.0)


def test_bundles_that_fill_the_raceway_leave_no_clearance() -> None:
    found = group_of(3, 4.0, existing=[(3, stated_conductor(5.0, D / 4.0))])
    assert found.stacked_clearance is not None
    assert found.stacked_clearance.clearance_m == 0.0


def test_three_like_conductors_beside_others_can_still_wedge() -> None:
    like, thin = stated_conductor(1.0, D / 2.9), stated_conductor(1.0, D / 9.0)
    assert group_of(3, 2.9, existing=[(1, thin)]).side_by_side_ratios == pytest.approx((2.9,))
    assert group_of(2, 2.9, existing=[(1, like), (1, thin)]).side_by_side_ratios
    assert not group_of(2, 2.9, existing=[(3, thin)]).side_by_side_ratios
    assert not group_of(3, 2.9).side_by_side_ratios


def test_jam_rule_counts_the_conductors_already_in_the_raceway() -> None:
    like = [(1, stated_conductor(1.0, D / 2.9))]
    assert group_of(2, 2.9, existing=like).jam_ratio == pytest.approx(2.9)
    assert group_of(3, 2.9, existing=like).jam_ratio is None
    assert group_of(2, 2.9).jam_ratio is None


@pytest.mark.parametrize(
    ("count", "ratio", "arrangement", "words"),
    [
        (2, 2.5, Arrangement.SINGLE, "for 1 conductor: here are 2"),
        (1, 2.5, Arrangement.BUNCHED, "two or more"),
        (3, 2.5, Arrangement.PAIR, "for 2 like conductors"),
        (4, 3.0, Arrangement.CRADLED, "for 3 like conductors"),
        (3, 3.0, Arrangement.DIAMOND, "for 4 like conductors"),
        (2, 1.99, None, "do not fit"),
        (3, 2.15, None, "do not fit"),
        (3, 2.15, Arrangement.CRADLED, "do not fit"),
        (4, 2.41, None, "do not fit"),
        (1, 1.0, None, "does not fit"),
        (6, 0.9, None, "does not fit"),
    ],
)
def test_what_cannot_be_is_an_error(count, ratio, arrangement, words: str) -> None:
    with pytest.raises(JobError, match=words):
        group_of(count, ratio, arrangement)


def test_stated_arrangement_of_like_conductors_refuses_mixed_sizes() -> None:
    conductors = [(2, stated_conductor(1.0, 0.008)), (1, stated_conductor(1.0, 0.007))]
    job = job_with(conductors=conductors, raceway=raceway_of(D), arrangement=Arrangement.TRIANGULAR)
    with pytest.raises(JobError, match="differ in diameter"):
        conductor_group(job)


def test_without_a_raceway_one_conductor_has_factor_one_and_more_are_refused() -> None:
    found = conductor_group(job_with())
    assert (found.weight_factor, found.sidewall.factor) == (1.0, 1.0)
    assert found.inside_diameter_m is None
    with pytest.raises(JobError, match="need a raceway"):
        conductor_group(job_with(conductors=[(2, stated_conductor())]))


def test_no_conductors_is_an_error() -> None:
    with pytest.raises(JobError, match="no conductors"):
        conductor_group(job_with(conductors=[]))


def test_stated_bunched_and_description() -> None:
    found = group_of(3, 4.0, Arrangement.BUNCHED)
    assert (found.weight_factor, found.arrangement_stated) == (1.4, True)
    assert found.description == "3 conductors, bunched, as stated"
    assert group_of(3, 2.7).description.endswith(
        "triangular or cradled (by D/d, bands from memory), the worse of both"
    )


def test_smallest_ratios_are_those_of_packed_circles() -> None:
    # three and four touching circles in the smallest circle around them
    def around(points: np.ndarray) -> float:
        def radius(center: np.ndarray) -> float:
            return max(hypot(*(p - center)) for p in points) + 0.5

        return float(minimize(radius, points.mean(axis=0), method="Nelder-Mead").fun) * 2.0

    three = np.array([[cos(a), sin(a)] for a in (0, 2 * pi / 3, 4 * pi / 3)]) / sqrt(3.0)
    four = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
    for points, ratio, count in ((three, 2.1547, 3), (four, 2.4142, 4)):
        assert around(points) == pytest.approx(ratio, abs=1e-3)
        assert group_of(count, ratio + 1e-3).count == count
