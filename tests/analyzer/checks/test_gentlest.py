"""Which way to pull is the gentlest: share, tension, the other set-ups, number, end, order."""

from __future__ import annotations

import pytest

from analyzer.checks.gentlest import Measure, equals_of, gentlest

BASE = Measure((1.79, 0.74), 100.0, True)


@pytest.mark.parametrize(
    ("other", "wins"),
    [
        (Measure((0.75, 1.78), 200.0, False), 1),
        (Measure((0.74, 1.79), 99.0, False), 1),
        (Measure((0.74, 1.79), 101.0, True), 0),
        (Measure((0.73, 1.79), 100.0, False), 1),
        (Measure((1.52, 1.79), 100.0, True), 0),
        (Measure((0.41, 1.79, 0.41), 100.0, False), 1),
        (Measure((0.74, 1.79, 0.0), 100.0, True), 0),
        (Measure((0.74, 1.79, None), 100.0, True), 0),
        (Measure((1.79,), 100.0, False), 1),
        (Measure((0.74, 1.79), 100.0, False), 0),
        (Measure((1.79 * (1.0 - 1e-12), 0.74), 100.0, True), 0),
    ],
)
def test_each_measure_decides_only_where_those_before_are_equal(other: Measure, wins: int) -> None:
    assert gentlest([BASE, other]) == wins


def test_of_ways_alike_in_all_the_first_is_taken() -> None:
    assert gentlest([Measure((2.0,), 1.0, True), BASE, BASE]) == 1


def test_ways_as_good_have_the_same_shares_tension_and_number_of_set_ups() -> None:
    measures = [
        BASE,
        Measure((0.74, 1.79 * (1.0 + 1e-12)), 100.0, False),
        Measure((0.75, 1.79), 100.0, True),
        Measure((1.79, 0.74), 101.0, True),
        Measure((1.79, 0.74, 0.0), 100.0, True),
    ]
    assert equals_of(BASE, measures) == (0, 1)
