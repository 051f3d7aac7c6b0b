"""Legs between neighboring pull points: their ends, lengths, rises and bends."""

from __future__ import annotations

from itertools import pairwise
from math import pi

import pytest

from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.readings import ReadAs
from analyzer.geometry.segments import Straight
from analyzer.job.settings import FittingKind, Passage
from analyzer.route.legs import split_into_legs
from analyzer.route.run import Fitting, Run, RunInput

SOURCE = RunInput("riser.csv", "0" * 64, "csv", "m", "header", ((0, 0, 0), (6, 4, 3)))
POINTS = [(0.0, 0.0, 0.0), (6.0, 0.0, 0.0), (6.0, 4.0, 0.0), (6.0, 4.0, 3.0)]


def run_with(*stations, kept=frozenset()):
    """The run of three straights, with pull points at stations between its ends."""
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in pairwise(POINTS))
    reading = read_bends(DrawnPath(edges), corner_radius_m=0.5, kept_vertices=kept)
    line = reading.centerline
    fittings = []
    for station, is_pull_point in [(0.0, True), *stations, (line.length_m, True)]:
        x, y, z = line.points_at([station])[0]
        fittings.append(
            Fitting(
                name=f"at {station:.1f}",
                kind=FittingKind.PULL_BOX,
                station_m=station,
                position_m=(float(x), float(y), float(z)),
                pull_point=is_pull_point,
                passage=Passage.REFEED,
                passage_stated=False,
            )
        )
    return Run("riser", SOURCE, line, reading.bends, tuple(fittings), ReadAs.CORNERS, 0.0)


def test_run_without_boxes_is_one_leg():
    run = run_with()
    (leg,) = split_into_legs(run)
    assert leg.name == "Leg 1"
    assert leg.length_m == run.centerline.length_m
    assert leg.rise_m == pytest.approx(3.0)
    assert leg.bends == run.bends
    assert leg.bend_total_rad == pytest.approx(pi)


def test_legs_meet_at_pull_points_and_share_the_bends():
    run = run_with((2.0, True), (8.0, True))
    legs = split_into_legs(run)
    assert [leg.name for leg in legs] == ["Leg 1", "Leg 2", "Leg 3"]
    assert [leg.length_m for leg in legs[:2]] == pytest.approx([2.0, 6.0])
    assert sum(leg.length_m for leg in legs) == pytest.approx(run.centerline.length_m)
    assert legs[0].end is legs[1].start
    assert [len(leg.bends) for leg in legs] == [0, 1, 1]


def test_fitting_that_is_no_pull_point_ends_no_leg():
    assert len(split_into_legs(run_with((2.0, False), (8.0, True)))) == 2


def test_corner_in_a_fitting_counts_in_no_leg():
    run = run_with((6.0, True), kept=frozenset({1}))
    legs = split_into_legs(run)
    assert [leg.bend_total_rad for leg in legs] == pytest.approx([0.0, pi / 2])
    assert len(run.bends) == 2
