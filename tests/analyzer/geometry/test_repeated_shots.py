"""Places measured several times in a row: found, and read as survey points.

Errors come from the truth of seeded routes of our own; the counts of shots are drawn beside them.
"""

from __future__ import annotations

from itertools import pairwise
from math import pi

import numpy as np
import pytest
import survey_regimes
import survey_routes

from analyzer.errors import PlacedError
from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.readings import ReadAs
from analyzer.geometry.repeated_shots import places_of_shots, step_of_shots
from analyzer.geometry.segments import Straight
from analyzer.geometry.survey.outliers import find_outliers


def path(points) -> DrawnPath:
    rows = [tuple(map(float, row)) for row in points]
    return DrawnPath(tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(rows)))


def measured(counts, seed: int):
    """A route and its points, every place measured as often as `counts(rng, n)` says."""
    rng = np.random.default_rng([808, seed])
    route = survey_regimes.draw("survey", rng)
    clean = np.repeat(route.clean, counts(rng, len(route.clean)), axis=0)
    return route, np.round(clean + route.sigma * rng.normal(size=clean.shape), 4)


@pytest.mark.parametrize(
    "counts",
    [
        lambda _, n: np.full(n, 2),
        lambda _, n: np.full(n, 10),
        lambda rng, n: rng.choice([1, 5], n, p=[0.8, 0.2]),
        lambda _, n: np.where(np.arange(n) == n // 3, 20, 1),
    ],
    ids=["twice", "ten times", "some", "one place"],
)
@pytest.mark.parametrize("stated", [True, False])
def test_a_route_of_places_measured_again_is_read_as_measured(counts, stated):
    for seed in range(6):
        route, points = measured(counts, seed)
        accuracy = route.sigma if stated else None
        reading = read_bends(path(points), corner_radius_m=0.5, accuracy_m=accuracy)
        assert reading.read_as is ReadAs.SURVEY
        assert not [f.code for f in reading.findings if f.severity is Severity.ERROR]
        assert len(reading.bends) == route.angles.size
        for bend, angle in zip(reading.bends, route.angles, strict=True):
            # five deviations: none of a few hundred honest errors
            assert abs(bend.angle_rad - angle) < 5.0 * bend.angle_sd_rad


def close_on_bends(seed: int, shots: int, sigma: float):
    """A route with wide and close spacings, every place measured so often: no gap in the legs."""
    rng = np.random.default_rng([909, seed])
    angles, straights = np.radians(rng.choice([30.0, 60.0, 90.0], 3)), rng.uniform(1.0, 4.0, 4)
    route = survey_routes.build(rng, angles, np.full(3, 0.3), straights, 0.04, sigma)
    along = np.insert(np.cumsum(np.linalg.norm(np.diff(route.clean, axis=0), axis=1)), 0, 0.0)
    arcs = 0.3 * angles
    begin = np.cumsum(straights[:-1] + arcs) - arcs
    on_arc = ((along[:, None] > begin) & (along[:, None] < begin + arcs)).any(axis=1)
    keep = on_arc | (np.arange(len(along)) % 5 == 0)
    clean = np.repeat(route.clean[keep], shots, axis=0)
    return route, np.round(clean + sigma * rng.normal(size=clean.shape), 4)


@pytest.mark.parametrize("shots", [2, 3])
@pytest.mark.parametrize("stated", [True, False])
def test_places_that_stand_as_close_as_their_shots_are_read_as_measured(shots, stated):
    for seed in range(4):
        route, points = close_on_bends(seed, shots, 0.003)
        accuracy = 0.003 if stated else None
        reading = read_bends(path(points), corner_radius_m=0.3, accuracy_m=accuracy)
        assert reading.read_as is ReadAs.SURVEY
        assert len(reading.bends) == route.angles.size
        for bend, angle in zip(reading.bends, route.angles, strict=True):
            assert abs(bend.angle_rad - angle) < 5.0 * bend.angle_sd_rad


def test_shots_written_to_a_grid_as_coarse_as_their_errors_are_shots_all_the_same():
    """On such a grid they turn by few angles: straight back, square, by half of that."""
    for seed in range(6):
        rng = np.random.default_rng([71, seed])
        route = survey_routes.build(
            rng, np.radians([60.0, 90.0]), np.full(2, 0.4), np.array([2.0, 1.5, 2.0]), 0.1, 0.0005
        )
        clean = np.repeat(route.clean, 3, axis=0)
        points = np.round(clean + 0.0005 * rng.normal(size=clean.shape), 3)
        points = points[np.append(True, (np.diff(points, axis=0) != 0.0).any(axis=1))]
        reading = read_bends(path(points), corner_radius_m=0.4, accuracy_m=0.0005)
        assert (reading.read_as, len(reading.bends)) == (ReadAs.SURVEY, 2)


def test_places_measured_again_are_counted_and_stand_at_their_means():
    route, points = measured(lambda _, n: np.where(np.arange(n) == 7, 30, 1), 3)
    places, again = places_of_shots(points)
    assert again == 1
    assert len(places) == len(route.clean)
    np.testing.assert_allclose(places[7], points[7:37].mean(axis=0))
    reading = read_bends(path(points), corner_radius_m=0.5, accuracy_m=route.sigma)
    (note,) = [f for f in reading.findings if f.code == "measured-again"]
    assert note.message.startswith("1 place was measured several times")


def test_no_place_counts_as_measured_again_where_points_are_only_near_each_other():
    for regime in ("survey", "random", "jitter:0.4", "noise:0.05", "rounded:0.01"):
        for seed in range(20):
            points = survey_regimes.draw(regime, np.random.default_rng([17, seed])).points
            assert step_of_shots(points) == 0.0


def test_what_was_drawn_is_never_taken_for_shots():
    turn = np.linspace(0.0, pi / 2, 19)
    arc = 0.3 * np.stack((np.sin(turn), 1.0 - np.cos(turn), np.zeros(19)), axis=1)
    legs = [np.array([[-3.0, 0.0, 0.0]]), arc, np.array([[0.3, 4.0, 0.0]])]
    one = np.concatenate(legs)
    chords = np.concatenate([one + np.array([0.0, 8.0 * k, k]) for k in range(8)])
    assert step_of_shots(chords) == 0.0
    # a route round columns: short jogs between long legs, all at right angles
    jog = np.array([[0, 0, 0], [3, 0, 0], [3, 0.3, 0], [6, 0.3, 0], [6, 0, 0]], dtype=float)
    jogs = np.concatenate([jog + np.array([9.0 * k, 0, 0]) for k in range(8)])
    assert step_of_shots(jogs) == 0.0
    assert len(read_bends(path(jogs), corner_radius_m=0.1).bends) == 31
    # the same by hand: no two turns alike
    drift = np.random.default_rng(3).normal(scale=1e-3, size=jogs.shape)
    assert step_of_shots(jogs + drift) == 0.0
    assert step_of_shots(jogs[:2]) == 0.0


def test_a_fold_within_the_shots_of_one_place_is_no_turn_back():
    route, points = measured(lambda _, n: np.where(np.arange(n) == n // 2, 40, 1), 5)
    shot = len(route.clean) // 2 + 20
    # a step straight back on itself, as shots of one place may take
    points[shot + 1] = points[shot - 1] + 1e-3 * (points[shot] - points[shot - 1])
    assert read_bends(path(points), corner_radius_m=0.5).read_as is ReadAs.SURVEY
    with pytest.raises(PlacedError, match="turns back on itself"):
        read_bends(path(points), corner_radius_m=0.5, read_as=ReadAs.CORNERS)


@pytest.mark.parametrize("place", [1, 2, -2, -3], ids=["second", "third", "last but one", "next"])
@pytest.mark.parametrize("shots", [3, 5])
def test_a_place_measured_again_near_an_end_makes_no_outliers_and_the_run_keeps_its_end(
    place, shots
):
    called_off, cut_short = 0, 0
    for seed in range(6):
        rng = np.random.default_rng([88, seed])
        angles, straights = np.radians(rng.choice([45.0, 60.0, 90.0], 2)), rng.uniform(2, 3, 3)
        route = survey_routes.build(rng, angles, np.full(2, 0.9), straights, 0.3, 0.002)
        counts = np.ones(len(route.clean), dtype=int)
        counts[place] = shots
        clean = np.repeat(route.clean, counts, axis=0)
        points = np.round(clean + 0.002 * rng.normal(size=clean.shape), 3)
        reading = read_bends(path(points), corner_radius_m=0.5, accuracy_m=0.002)
        assert reading.read_as is ReadAs.SURVEY
        called_off += "survey-outliers" in [one.code for one in reading.findings]
        ends = reading.centerline.segments[0].start_m, reading.centerline.segments[-1].end_m
        away = np.linalg.norm(np.array(ends) - points[[0, -1]], axis=1)
        cut_short += bool(away.max() > 0.05)
    assert (called_off, cut_short) == (0, 0)


def test_a_far_shot_at_an_end_stays_an_outlier_beside_a_place_measured_again():
    rows = np.column_stack((0.3 * np.repeat(np.arange(20.0), [1, 4, *[1] * 18]), np.zeros((23, 2))))
    points = rows + 0.002 * np.random.default_rng(5).normal(size=rows.shape)
    points[0, 1] += 0.4
    assert find_outliers(points, 0.002).tolist() == [0]


def test_a_fold_offers_only_the_readings_that_were_tried_and_do():
    back = [(0, 0, 0), (2, 0, 0), (1.996, 0, 0), (4, 0, 0), (4, 3, 0)]
    with pytest.raises(PlacedError, match="no other reading does better: check the points") as one:
        read_bends(path(back), corner_radius_m=0.3, accuracy_m=0.001)
    assert "read_as" not in str(one.value)
    steps = [(x, 0, 0) for x in (0, 0.5, 1, 1.5, 2, 1.996, 2.5, 3, 4)]
    more = [*steps, *((4, y, 0) for y in (0.5, 1, 2, 3))]
    with pytest.raises(PlacedError, match='read_as = "survey" in the job reads them anew'):
        read_bends(path(more), corner_radius_m=0.3, accuracy_m=0.001)
    asked = read_bends(path(more), corner_radius_m=0.3, accuracy_m=0.001, read_as=ReadAs.SURVEY)
    assert asked.read_as is ReadAs.SURVEY
