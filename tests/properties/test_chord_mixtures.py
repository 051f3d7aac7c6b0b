"""Small seeded samples of the mixtures that the chord benchmark measures in full."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians

import numpy as np
import pytest
from bench_chords import CORNER_RADIUS_M, MIXTURES, is_right, measure
from drawn_routes import Drawn, KnownBend, KnownRoute, Regime, draw_route, make_route

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.chords.chord_runs import find_chord_runs
from analyzer.geometry.readings import ReadAs

ALWAYS_RIGHT = [
    "chords only",
    "corners only",
    "half and half",
    "half and half, one plane",
    "half and half, legs of 4 values",
    "arcs, corners, chords",
    "coarse chords 22.5-45",
    "two chords allowed",
    "uneven chords",
    "touching arcs",
    "touching, with corners and arcs",
    "touching, two chords allowed",
    "drawn outside",
    "rounded to 0.1 mm, 4 q",
    "rounded to 1 mm, 8 q",
    "rounded to 1 mm, 16 points a quarter",
    "rounded to 1 mm, 8 points a quarter",
]


@pytest.mark.parametrize("name", ALWAYS_RIGHT)
def test_sixty_routes_of_a_mixture_are_read_right(name: str) -> None:
    score = measure(MIXTURES[name], routes=60, seed=77)
    assert score.right == 60


def test_points_equally_spaced_on_straights_leave_rounded_arcs_readable() -> None:
    score = measure(MIXTURES["no corners, rounded to 1 mm, 16 points a quarter, spaced"], 40, 2026)
    assert (score.right, score.wrong_unflagged) == (40, 0)


@pytest.mark.parametrize(
    ("name", "number"),
    [
        # legs of a straight about as long as the chords beside them
        ("rounded to 1 mm, 16 points a quarter, spaced", 68),
        ("no corners, rounded to 1 mm, 16 points a quarter, spaced", 80),
        # tangent points that look straight beside a leg of a third of the chord
        ("no corners, rounded to 1 mm, 8 points a quarter, spaced", 93),
        # a short straight whose vertices rounding bends by a few grids
        ("no corners, rounded to 1 mm, 16 points a quarter, spaced", 86),
    ],
)
def test_legs_of_a_straight_as_long_as_chords_are_no_part_of_an_arc(name: str, number: int) -> None:
    regime, rng = MIXTURES[name], np.random.default_rng([2026, number])
    route = make_route(regime, rng)
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    reading = read_bends(draw_route(route, regime.rounding_m, turn), corner_radius_m=0.3)
    assert is_right(route, reading, regime.rounding_m)
    assert reading.findings == ()


def test_an_arc_that_may_as_well_be_longer_is_said_with_both_radii() -> None:
    # eight chords of 0.287 m on a quarter-inch grid: six of them fit a little better
    regime = MIXTURES["rounded to 1/4 in, 16 points a quarter"]
    rng = np.random.default_rng([2026, 10])
    route = make_route(regime, rng)
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    reading = read_bends(draw_route(route, regime.rounding_m, turn), corner_radius_m=0.05)
    said = [one for one in reading.findings if "about as well" in one.message]
    assert [(one.code, one.severity) for one in said] == [("ambiguous-chords", Severity.CAUTION)]
    assert route.bends[-1].radius_m == pytest.approx(0.287, abs=5e-4)
    assert "read as one arc of 44.75° and radius 8.65 in (219.7 mm)" in said[0].message
    assert "8 chords of 45.14° and radius 11.50 in (292.1 mm)" in said[0].message


@pytest.mark.parametrize(
    "name",
    [
        "corners, one plane, equal legs",
        "corners 15/30, one plane, equal legs",
        "corners 15/30, one plane, legs of 2 odd values",
        "corners 15/30, one plane, legs of 4 odd values",
    ],
)
def test_truly_ambiguous_routes_are_never_wrong_in_silence(name: str) -> None:
    assert measure(MIXTURES[name], routes=60, seed=77).wrong_unflagged == 0


def test_corners_that_obey_the_chord_law_beside_legs_like_theirs_are_flagged() -> None:
    """The four corners are exactly three chords of 30°; equal legs stand beside them.

    Those legs lie on a circle of their own, which no straight is tangent to: they are no arc.
    """
    turns_deg = (15.0, 30.0, 30.0, 15.0, 30.0, 30.0)
    a, b = 0.73129, 1.23371
    route = KnownRoute(
        tuple(KnownBend(radians(turn), 0.0, Drawn.CORNER) for turn in turns_deg),
        (b, a, a, a, b, b, b),
        (0.0, 0.0, 0.0, 0.0, pi, 0.0),
    )
    for backward in (False, True):
        path = draw_route(route)
        if backward:
            edges = tuple(
                replace(edge, segment=edge.segment.reversed()) for edge in reversed(path.edges)
            )
            path = replace(path, edges=edges)
        reading = read_bends(path, corner_radius_m=CORNER_RADIUS_M)
        assert "ambiguous-chords" in {one.code for one in reading.findings}


@pytest.mark.parametrize(
    "name", ["corners 15/30, one plane, equal legs", "corners 22.5, one plane, equal legs"]
)
def test_an_arc_that_reading_as_chords_is_said_to_give_is_given(name: str) -> None:
    regime, promised = MIXTURES[name], 0
    for number in range(30):
        rng = np.random.default_rng([7, number])
        path = draw_route(make_route(regime, rng))
        said = [one.message for one in read_bends(path, corner_radius_m=CORNER_RADIUS_M).findings]
        arcs = [text for text in said if 'read_as = "chords" in the job reads the arc' in text]
        if not arcs:
            continue
        forced = read_bends(path, corner_radius_m=CORNER_RADIUS_M, read_as=ReadAs.CHORDS)
        angles = [np.degrees(bend.angle_rad) for bend in forced.bends]
        for text in arcs:
            angle = float(text.split("one arc of ")[1].split("°")[0])
            assert min(abs(other - angle) for other in angles) < 0.01 * angle
            promised += 1
    assert promised > 0


def test_coarse_chords_are_rarely_called_ambiguous() -> None:
    # a study of such mixtures flagged 13 routes of 1000
    assert measure(MIXTURES["coarse chords 22.5-45"], routes=60, seed=77).flagged <= 1


def test_chords_between_two_lines_that_do_not_turn_are_no_arc() -> None:
    # survey points on a 5 mm grid: three of them lie on a circle, the lines beside are parallel
    points = np.array(
        [(8.895, -2.205, -3.060), (8.795, -2.190, -3.060), (8.695, -2.180, -3.060),
         (8.595, -2.165, -3.060), (8.495, -2.155, -3.060), (8.400, -2.140, -3.055),
         (8.300, -2.125, -3.055), (8.200, -2.115, -3.055), (8.100, -2.100, -3.055)]
    )  # fmt: skip
    assert find_chord_runs(points, 0.001, corner_radius_m=0.6) == ()


@pytest.mark.parametrize("inches", [1 / 16, 1 / 8, 1 / 4])
@pytest.mark.parametrize("corners", [0.3, 1.0])
def test_routes_on_a_grid_of_a_fraction_of_an_inch_are_never_wrong_in_silence(
    inches: float, corners: float
) -> None:
    grid = inches * 0.0254
    regime = Regime(
        corners=corners,
        angles=(22.5, 45.0, 90.0),
        chord_deg=(11.251, 11.251),
        rounding_m=grid,
        sagitta_in_roundings=1e-12,
        flat=True,
    )
    right = 0
    for number in range(60):
        route = make_route(regime, np.random.default_rng([91, number]))
        # along the axes, where coordinates in a drawing program snap
        reading = read_bends(draw_route(route, grid, np.eye(3)), corner_radius_m=0.02)
        told = {one.code for one in reading.findings if one.severity is not Severity.NOTE}
        counted = len(reading.bends) == len(route.bends)
        assert counted or told - {"all-level"}
        right += counted
    # the coarser the grid, the fewer chords it leaves to see
    assert right >= {1 / 16: 58, 1 / 8: 40, 1 / 4: 25}[inches]


@pytest.mark.parametrize("number", [41, 56, 214])
def test_corners_left_of_an_arc_that_a_coarse_grid_swallowed_are_said(number: int) -> None:
    # chords of 22.5 degrees on a quarter-inch grid: some of their vertices turn nothing on it
    grid = 0.25 * 0.0254
    regime = Regime(
        corners=0.3,
        angles=(22.5, 45.0, 90.0),
        chord_deg=(5.6256, 5.6256),
        rounding_m=grid,
        sagitta_in_roundings=1e-12,
    )
    rng = np.random.default_rng([77, number])
    route = make_route(regime, rng)
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    reading = read_bends(draw_route(route, grid, turn), corner_radius_m=CORNER_RADIUS_M)
    said = [one.message for one in reading.findings if one.code == "ambiguous-chords"]
    assert len(reading.bends) != len(route.bends)
    assert any("could make them: they may be chords of arcs" in text for text in said)
