"""How finely coordinates were rounded, and bends in chords read with what is found."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import cos, degrees, pi, radians, sin

import numpy as np
import pytest
from drawn_ways import CORNER_M, codes, finding, lines

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.chords.broken_arcs import broken_arcs
from analyzer.geometry.chords.chord_runs import find_chord_runs
from analyzer.geometry.drawn import (
    NOT_WRITTEN,
    DrawnAs,
    DrawnEdge,
    DrawnPath,
    WrittenPlace,
)
from analyzer.geometry.readings import ReadAs, Reading
from analyzer.geometry.roundings import (
    least_rounding,
    rounding,
    rounding_as_written,
    turned_rounding,
)
from analyzer.geometry.segments import Arc, Floats, Straight
from analyzer.geometry.vectors import to_vector
from analyzer.units import inches

INCH, FOOT = 0.0254, 0.3048
TILT = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))[0]
Writing = Callable[[Floats], Floats]


def single(points: Floats) -> Floats:
    return points.astype(np.float32).astype(float)


def single_text(points: Floats) -> Floats:
    return np.vectorize(lambda x: float(str(np.float32(x))))(points)


def digits(count: int) -> Writing:
    return np.vectorize(lambda x: float(f"{x:.{count}g}"))


def grid(step: float) -> Writing:
    return lambda points: np.round(points / step) * step


def turned(points: Floats) -> Floats:
    rng = np.random.default_rng(5)
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    return points @ turn + rng.uniform(-50.0, 50.0, 3)


def two_elbows(seed: int) -> tuple[Floats, list[tuple[float, float]]]:
    """Return a run of two bends in 12 chords each, in inches, and their angles and radii."""
    rng = np.random.default_rng(seed)
    frame, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    place, known, points = rng.uniform(30.0, 140.0, 3), [], []
    for _ in range(2):
        points.append(place)
        angle, radius = radians(rng.choice([30.0, 45.0, 60.0, 90.0])), rng.choice([12.0, 18.0])
        known.append((degrees(angle), radius))
        start = place + rng.uniform(30.0, 90.0) * frame[0]
        steps = [angle * k / 12 for k in range(13)]
        arc = [start + radius * (sin(a) * frame[0] + (1 - cos(a)) * frame[1]) for a in steps]
        points += arc[:-1]
        along = cos(angle) * frame[0] + sin(angle) * frame[1]
        across = np.cross(along, frame[2])
        roll = rng.uniform(0.0, 2.0 * pi)
        normal = cos(roll) * across + sin(roll) * frame[2]
        frame, place = np.array([along, normal, np.cross(along, normal)]), arc[-1]
    return np.array([*points, place, place + 60.0 * frame[0]]), known


def assert_read(reading: Reading, known: list[tuple[float, float]]) -> None:
    assert [degrees(b.angle_rad) for b in reading.bends] == pytest.approx(
        [angle for angle, _ in known], abs=0.1
    )
    radii = [(bend.radius_m or 0.0) / INCH for bend in reading.bends]
    assert radii == pytest.approx([radius for _, radius in known], abs=0.1)


@pytest.mark.parametrize(
    ("write", "step"),
    [
        (single, 2.0**-16),
        (single_text, 2.0**-16),
        (digits(6), 1e-3),
        (digits(8), 1e-5),
    ],
)
@pytest.mark.parametrize("unit", [1.0, 0.3048, INCH, 0.001])
def test_spacing_of_the_largest_numbers_is_the_rounding_of_floating_ones(write, step, unit):
    points = write(np.random.default_rng(3).uniform(3.0, 250.0, (30, 3)))
    assert rounding(points * unit) == pytest.approx(step * unit)


def test_a_grid_shows_through_significant_digits():
    points = grid(1 / 16)(np.random.default_rng(3).uniform(3.0, 250.0, (30, 3)))
    assert rounding(digits(6)(points) * INCH) == pytest.approx(INCH / 16)


def test_whole_numbers_beside_finer_ones_are_no_significant_digits():
    fine = np.round(np.random.default_rng(3).uniform(10.0, 99.0, (20, 3)), 3)
    whole = np.array([[240.0, 360.0, 480.0], [203.25, 120.0, 960.0]])
    assert rounding(np.concatenate((fine, whole))) == pytest.approx(1e-3)


def columns(*steps: float) -> Writing:
    """Write each column to a grid of its own."""
    return lambda points: np.column_stack(
        [grid(s)(v) for s, v in zip(steps, points.T, strict=True)]
    )


@pytest.mark.parametrize(
    ("steps", "told"),
    [
        ((1e-3, 1e-3, 1e-2), 1e-2),
        ((1e-2, 1e-2, 1e-3), 1e-2),
        ((1e-2, 1e-3, 1e-4), 1e-2),
        ((1e-3, 1e-3, 0.01 / INCH), 0.01 / INCH),  # elevations in meters
        ((0.01 * FOOT / INCH, 0.01 * FOOT / INCH, 1e-3), 0.01 * FOOT / INCH),
    ],
)
def test_axis_with_the_fewest_digits_tells_how_well_points_stand(steps, told) -> None:
    points = columns(*steps)(two_elbows(1)[0]) * INCH
    assert rounding(points) == pytest.approx(told * INCH)
    row = [WrittenPlace(to_vector(p)) for p in points]
    assert rounding_as_written([row], 1e-11) == pytest.approx(told * INCH)


def test_grid_of_one_axis_beside_full_precision_is_told() -> None:
    points = columns(1e-9, 1e-9, 1e-2)(two_elbows(1)[0])
    points[:, :2] = two_elbows(1)[0][:, :2]
    assert rounding(points) == pytest.approx(1e-2)


def test_three_computed_numbers_of_an_axis_tell_no_grid() -> None:
    points = columns(1e-3, 1e-3, 1e-2)(two_elbows(1)[0])
    assert rounding(points[:5]) == pytest.approx(1e-3)
    assert rounding(points[:8]) == pytest.approx(1e-2)
    points = columns(1e-6, 1e-6, 1e-2)(two_elbows(1)[0])  # where chance alone would allow it
    assert rounding(points[:5]) == pytest.approx(1e-6)


def test_numbers_that_lie_on_twice_the_grid_by_chance_tell_none() -> None:
    points = columns(1 / 32, 1 / 32, 1 / 16)(two_elbows(1)[0]) * INCH
    assert rounding(points[:12]) == pytest.approx(INCH / 32)
    assert rounding(points) == pytest.approx(INCH / 16)


def test_whole_inches_along_one_axis_are_places_meant() -> None:
    steps = np.random.default_rng(3).uniform((30.0, 10.0, 8.0), (40.0, 14.0, 16.0), (20, 3))
    points = np.cumsum(steps, axis=0)
    for own, told in ((0.5, 0.5), (1.0, 1e-3)):
        assert rounding(columns(1e-3, 1e-3, own)(points) * INCH) == pytest.approx(told * INCH)


def test_repeated_points_hide_no_grid_of_an_axis() -> None:
    points = columns(1e-3, 1e-3, 1e-2)(two_elbows(1)[0])
    assert rounding(np.repeat(points, 2, axis=0)) == pytest.approx(1e-2)


@pytest.mark.parametrize("seed", range(4))
def test_round_heights_of_level_bends_are_no_grid(seed: int) -> None:
    """Level bends in chords at eight heights, with straight drops or slopes between them."""
    rng = np.random.default_rng(seed)
    rows, place, way = [], rng.uniform(0.0, 9.0, 2), rng.uniform(0.0, 6.0)
    for height in np.round(rng.uniform(2.0, 9.0, 8), 2):
        for turn in np.full(6, radians(15.0)):
            rows.append([*place, height])
            way += turn
            place = place + 0.16 * np.array([cos(way), sin(way)])
        rows.append([*place, height])
        place = place + rng.integers(0, 2) * np.array([cos(way), sin(way)])
    points = columns(1e-4, 1e-4, 1e-2)(np.array(rows))
    assert rounding(points) == pytest.approx(1e-4)


def test_round_heights_of_corners_are_no_grid() -> None:
    rng = np.random.default_rng(3)
    ways = np.cumsum(radians(45.0) * rng.choice([-1.0, 1.0], 12)) + 0.3
    steps = 3.0 * np.column_stack((np.cos(ways), np.sin(ways), rng.uniform(-0.1, 0.1, 12)))
    points = columns(1e-4, 1e-4, 1e-2)(np.cumsum(steps, axis=0))
    assert rounding(points) == pytest.approx(1e-4)


def test_round_heights_of_an_exact_slope_are_no_grid() -> None:
    points = np.arange(1.0, 30.0)[:, None] * np.array([[cos(0.4), sin(0.4), 0.01]])
    assert rounding(columns(1e-6, 1e-6, 1e-2)(points)) == pytest.approx(1e-6)


@pytest.mark.parametrize(
    "steps",
    [
        (1e-3, 1e-3, 1e-2),
        (1e-4, 1e-4, 1e-2),
        (1e-2, 1e-2, 1e-3),
        (0.0001 * FOOT / INCH, 0.0001 * FOOT / INCH, 0.001 * FOOT / INCH),
        (0.001 * FOOT / INCH, 0.001 * FOOT / INCH, 0.001 / INCH),
    ],
)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_chords_are_read_where_columns_have_other_digits_or_units(steps, seed: int) -> None:
    points, known = two_elbows(seed)
    reading = read_bends(lines(list(columns(*steps)(points) * INCH)), corner_radius_m=CORNER_M)
    angles = [degrees(b.angle_rad) for b in reading.bends]
    assert angles == pytest.approx([angle for angle, _ in known], abs=0.3)
    radii = [(bend.radius_m or 0.0) / INCH for bend in reading.bends]
    assert radii == pytest.approx([radius for _, radius in known], rel=0.03)
    assert not [f for f in reading.findings if f.severity is not Severity.NOTE]


@pytest.mark.parametrize("steps", [(1e-3, 1e-3, 1e-2), (1e-2, 1e-2, 1e-3)])
def test_sloping_straights_whose_columns_have_other_digits_do_not_look_measured(steps) -> None:
    rng = np.random.default_rng(3)
    first, corner, last = np.array([(16.0, 23.0, 10.0), (46.0, 39.0, 14.0), (36.0, 66.0, 7.0)])
    shares = np.sort(rng.uniform(0.03, 0.97, (2, 12)))[:, :, None]
    before, after = first + shares[0] * (corner - first), corner + shares[1] * (last - corner)
    rows = np.vstack((first, before, corner, after, last))
    reading = read_bends(lines(list(columns(*steps)(rows) * FOOT)), corner_radius_m=CORNER_M)
    assert reading.read_as is ReadAs.CORNERS
    assert len(reading.bends) == 1


def test_halves_of_halves_are_no_single_precision():
    points = np.round(np.random.default_rng(3).uniform(0.0, 250.0, (20, 3)) * 128.0) / 128.0
    assert rounding(points * INCH) == pytest.approx(1e-7 * INCH)


def test_full_precision_stays_exact_whatever_its_unit():
    for unit in (1.0, INCH, 0.3048):
        points = np.random.default_rng(3).uniform(0.0, 250.0, (20, 3)) * unit
        assert rounding(points) == least_rounding(points)
        assert turned_rounding([points]) == 0.0


@pytest.mark.parametrize("step", [0.01, 0.001, 1 / 16])
def test_products_of_legs_show_the_grid_of_points_turned_since(step: float) -> None:
    points = turned(grid(step)(two_elbows(2)[0]))
    assert rounding(points) == least_rounding(points)
    assert turned_rounding([points * INCH]) == pytest.approx(step * INCH)


def test_few_legs_show_no_grid() -> None:
    points = turned(grid(0.01)(two_elbows(2)[0]))[:4]
    assert turned_rounding([points * INCH]) == 0.0


def test_coarsest_grid_of_several_scales_counts() -> None:
    rng = np.random.default_rng(3)
    coarse = np.round(rng.uniform(-5.0, 5.0, (12, 3)), 4)
    rows = [
        [WrittenPlace(to_vector(p), 2.0) for p in coarse],
        [WrittenPlace(to_vector(p)) for p in rng.uniform(-5.0, 5.0, (12, 3))],
        [WrittenPlace((1.0, 0.0, 0.0), 3.0)],
    ]
    assert rounding_as_written(rows, 1e-11) == pytest.approx(2e-4)


def test_a_block_at_full_digits_does_not_hide_the_grid_of_the_drawing() -> None:
    rng = np.random.default_rng(3)
    drawn = [WrittenPlace(to_vector(p)) for p in np.round(rng.uniform(-5.0, 5.0, (12, 3)), 4)]
    block = [WrittenPlace(to_vector(p), 1.0, "elbow") for p in rng.uniform(0.0, 0.3, (12, 3))]
    assert rounding_as_written([drawn, block], 1e-11) == pytest.approx(1e-4)
    assert rounding_as_written([drawn, block[:2]], 1e-11) == pytest.approx(1e-4)


def test_few_numbers_of_a_block_tell_no_grid_by_themselves() -> None:
    rng = np.random.default_rng(3)
    drawn = [WrittenPlace(to_vector(p)) for p in rng.uniform(-5.0, 5.0, (12, 3))]
    block = [WrittenPlace((0.0, 0.01 * k, 0.0), 1.0, "offset") for k in range(5)]
    assert rounding_as_written([drawn, block], 1e-11) == pytest.approx(1e-11)


@pytest.mark.parametrize(
    "write",
    [
        single,
        single_text,
        digits(6),
        digits(8),
        lambda points: turned(grid(0.01)(points)),
        lambda points: turned(grid(0.001)(points)),
        lambda points: turned(single(points)),
        lambda points: 1.0003 * turned(grid(0.001)(points)),
    ],
)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_chords_are_read_however_their_coordinates_were_rounded(write: Writing, seed: int) -> None:
    points, known = two_elbows(seed)
    reading = read_bends(lines(list(write(points) * INCH)), corner_radius_m=CORNER_M)
    assert_read(reading, known)
    assert not [f for f in reading.findings if f.severity is not Severity.NOTE]


def elbow_as_arc(points: Floats, known: list[tuple[float, float]]) -> DrawnPath:
    """Return two elbows of which the second is a true arc; coordinates rounded to 0.01 in."""
    exact, drawn = points * INCH, np.round(points, 2) * INCH
    edges = [DrawnEdge(Straight(to_vector(a), to_vector(b))) for a, b in pairwise(drawn[:14])]
    first, last = exact[14], exact[-2]
    into, radius = exact[14] - exact[13], inches(known[1][1])
    into = into / np.linalg.norm(into)
    bulge = (exact[20] - first) - into * ((exact[20] - first) @ into)
    center = first + radius * bulge / np.linalg.norm(bulge)
    axis = np.cross(into, bulge) / np.linalg.norm(bulge)
    arc = Arc(to_vector(first), to_vector(center), to_vector(axis), radians(known[1][0]))
    edges.append(DrawnEdge(Straight(to_vector(drawn[13]), to_vector(first))))
    edges.append(DrawnEdge(arc, DrawnAs.ARC))
    edges.append(DrawnEdge(Straight(to_vector(last), to_vector(drawn[-1]))))
    return DrawnPath(tuple(edges))


@pytest.mark.parametrize("seed", range(6))
def test_ends_at_an_arc_do_not_hide_the_rounding_of_the_chords(seed: int) -> None:
    points, known = two_elbows(seed)
    reading = read_bends(elbow_as_arc(points, known), corner_radius_m=CORNER_M)
    assert_read(reading, known)


def test_an_end_moved_over_a_gap_keeps_what_the_file_says() -> None:
    edge = DrawnEdge(Straight((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)))
    moved = edge.moved_to(Straight((0.0, 0.0, 0.0), (1.0003, 0.0, 0.0)))
    assert moved.written_ends == edge.written_ends
    assert moved.reversed().written_ends == edge.written_ends[::-1]
    bridge = DrawnEdge(Straight((1.0, 0.0, 0.0), (2.0, 0.0, 0.0)), written=NOT_WRITTEN)
    assert bridge.written_ends == (None, None)


def test_a_skew_straight_in_rounded_sticks_beside_an_arc_does_not_bend() -> None:
    along = np.array([cos(0.5), sin(0.5), 0.02])
    along /= np.linalg.norm(along)
    normal = np.cross(along, [0.0, 0.0, 1.0])
    normal /= np.linalg.norm(normal)
    sticks = grid(1 / 16)(np.array([120.0 * k * along for k in range(4)])) * INCH
    start = 360.0 * INCH * along
    center = start + 12.0 * INCH * np.cross(normal, along)
    arc = Arc(to_vector(start), to_vector(center), to_vector(normal), pi / 2)
    places = [to_vector(p) for p in [*sticks[:-1], start]]
    end = grid(1 / 16)((np.array(arc.end_m) + 3.0 * np.array(arc.end_tangent)) / INCH) * INCH
    edges = [DrawnEdge(Straight(a, b)) for a, b in pairwise(places)]
    edges.append(DrawnEdge(arc, DrawnAs.ARC))
    edges.append(DrawnEdge(Straight(arc.end_m, to_vector(end))))
    reading = read_bends(DrawnPath(tuple(edges)), corner_radius_m=CORNER_M)
    assert len(reading.bends) == 1


@pytest.mark.parametrize("seed", [0, 3, 5, 9])
def test_bends_that_noise_breaks_are_told(seed: int) -> None:
    points, known = two_elbows(seed)
    noise = np.random.default_rng(seed).normal(0.0, 0.002, points.shape)
    reading = read_bends(lines(list((points + noise) * INCH)), corner_radius_m=CORNER_M)
    assert len(reading.bends) != len(known)
    assert [f for f in reading.findings if f.severity is not Severity.NOTE]


def test_an_arc_that_goes_on_as_another_or_as_a_corner_is_broken() -> None:
    exact = two_elbows(1)[0] * INCH
    runs = [run for run in find_chord_runs(exact, 1e-9) if run.accepted]
    assert len(runs) == 2
    assert broken_arcs(exact, runs, (), 1e-9) == ()
    first = find_chord_runs(exact[:8], 1e-9)[:1]
    assert broken_arcs(exact, first, (first[0].last + 1,), 1e-9) == (first[0].last + 1,)
    assert broken_arcs(exact, first, (first[0].last + 4,), 1e-9) == ()


def like_elbows(nipple: float, roll_deg: float) -> Floats:
    """Return two 45 degree elbows of 9.5 in in 5 degree chords, the second rolled, in inches."""
    frame, place = np.eye(3), np.array([60.0, 0.0, 0.0])
    points = [np.zeros(3), place]
    for _ in range(2):
        steps = [radians(5.0 * k) for k in range(1, 10)]
        points += [place + 9.5 * (sin(a) * frame[0] + (1 - cos(a)) * frame[1]) for a in steps]
        along = (frame[0] + frame[1]) * sin(radians(45.0))
        across, roll = np.cross(frame[2], along), radians(roll_deg)
        normal = cos(roll) * across + sin(roll) * frame[2]
        frame, place = np.array([along, normal, np.cross(along, normal)]), points[-1]
        place = place + nipple * along
        points += [place] if nipple else []
    return np.array([*points, place + 60.0 * frame[0]])


@pytest.mark.parametrize(
    ("nipple", "roll_deg"), [(0.83, 0.0), (1.0, 0.0), (0.83, 10.0), (0.0, 10.0)]
)
def test_like_elbows_with_a_nipple_as_long_as_a_chord_are_no_broken_arc(
    nipple: float, roll_deg: float
) -> None:
    for points in (like_elbows(nipple, roll_deg), np.round(like_elbows(nipple, roll_deg), 4)):
        reading = read_bends(lines(list(points * INCH)), corner_radius_m=CORNER_M)
        assert_read(reading, [(45.0, 9.5), (45.0, 9.5)])
        assert "ambiguous-chords" not in codes(reading)


def test_like_elbows_whose_points_lie_off_by_more_than_their_digits_are_in_doubt() -> None:
    noise = np.random.default_rng(0).normal(0.0, 3e-4, (23, 3))
    points = np.round(like_elbows(0.83, 0.0) + noise, 5)
    reading = read_bends(lines(list(points * INCH)), corner_radius_m=CORNER_M)
    assert finding(reading, "ambiguous-chords").severity is Severity.CAUTION


def test_an_arc_that_comes_apart_into_touching_ones_is_read_in_one() -> None:
    points, known = two_elbows(35)
    noise = np.random.default_rng(35).normal(0.0, 1.0, points.shape) * 1e-4
    reading = read_bends(lines(list(np.round(points + noise, 4) * INCH)), corner_radius_m=CORNER_M)
    assert_read(reading, known)


def test_points_far_off_the_arc_read_from_them_are_a_caution(monkeypatch) -> None:
    points, _ = two_elbows(1)
    path = lines(list(np.round(points, 2) * INCH))
    assert "chords-off-arc" not in codes(read_bends(path, corner_radius_m=CORNER_M))
    monkeypatch.setattr("analyzer.geometry.chord_offsets._MOST_GRIDS", 0.5)
    told = finding(read_bends(path, corner_radius_m=CORNER_M), "chords-off-arc")
    assert told.severity is Severity.CAUTION


def test_what_doubles_leave_of_zero_hides_no_digits() -> None:
    rng = np.random.default_rng(5)
    points = np.array([[float(f"{x:.6g}") for x in row] for row in rng.uniform(0, 90, (20, 3))])
    told = rounding(points)
    points[3, 2], points[7, 1], points[9, 0] = 2e-313, 1.2e-16, 5e-14
    assert rounding(points) == told == pytest.approx(1e-4)


def kick(leg_m: float, angle_deg: float, grid_m: float, leads_m: float = 3.1) -> DrawnPath:
    """A kick and its return with one leg between, tilted off the lines of the grid."""
    turned = radians(angle_deg)
    steps = [(leads_m, 0.0), (leg_m, turned), (leads_m, 0.0), (2.3, radians(90.0)), (1.9, 0.0)]
    rows = np.cumsum([(0.0, 0.0), *((s * cos(a), s * sin(a)) for s, a in steps)], axis=0)
    points = np.column_stack((rows, np.zeros(len(rows)))) @ TILT.T
    return lines(np.round(points / grid_m) * grid_m)


def test_angle_that_rounding_leaves_open_is_told_with_by_how_much() -> None:
    reading = read_bends(kick(0.17, 22.5, INCH / 2.0), corner_radius_m=0.05)
    assert len(reading.bends) == 4
    told = next(f for f in reading.findings if "more or less" in f.message)
    assert told.severity is Severity.CAUTION
    assert "2 corners may turn by over 1° more or less than read" in told.message
    assert "the straights there are short for coordinates rounded to" in told.message
    assert "by about 3." in told.message
    assert "rounded to 0.50 in (12.7 mm)" in told.message
    worst = max(abs(degrees(bend.angle_rad) - 22.5) for bend in reading.bends[:2])
    assert 1.0 < worst < 3.6


@pytest.mark.parametrize("turned", [(0, 1, 2), (2, 0, 1)])
def test_offset_between_straights_along_an_axis_may_be_meant_as_typed(turned) -> None:
    """12 in over 21 in: 29.7 degrees, or 30 rounded to whole inches."""
    rows = np.array([(0, 0, 0), (100, 0, 0), (121, 12, 0), (300, 12, 0), (300, 200, 0)]) * INCH
    reading = read_bends(lines(rows[:, turned]), corner_radius_m=0.05)
    assert len(reading.bends) == 3
    told = next(f for f in reading.findings if "more or less" in f.message)
    assert told.severity is Severity.NOTE
    assert 'read_as = "corners" in the job confirms it' in told.message
    confirmed = read_bends(lines(rows[:, turned]), corner_radius_m=0.05, read_as=ReadAs.CORNERS)
    assert not any("more or less" in f.message for f in confirmed.findings)


@pytest.mark.parametrize("grid_m", [INCH / 16.0, 1e-3, 1e-4])
@pytest.mark.parametrize("angle_deg", [22.5, 30.0, 45.0])
def test_angles_of_legs_of_a_foot_are_not_doubted_on_a_fine_grid(
    angle_deg: float, grid_m: float
) -> None:
    path = kick(FOOT, angle_deg, grid_m, FOOT)
    reading = read_bends(path, corner_radius_m=0.05)
    assert len(reading.bends) == 4
    assert not any("more or less" in f.message for f in reading.findings)


def test_right_angles_drawn_on_a_coarse_grid_are_not_doubted() -> None:
    points = INCH * np.array([(0, 0, 0), (60, 0, 0), (60, 5, 0), (90, 5, 0), (90, 5, 44)])
    reading = read_bends(lines(points), corner_radius_m=0.05)
    assert len(reading.bends) == 3
    assert not any("more or less" in f.message for f in reading.findings)
