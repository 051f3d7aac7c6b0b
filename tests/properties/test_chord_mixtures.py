"""Small seeded samples of the mixtures that the chord benchmark measures in full."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "benchmarks"))
from bench_chords import MIXTURES, measure

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


@pytest.mark.parametrize(
    "name",
    [
        "corners, one plane, equal legs",
        "corners 15/30, one plane, equal legs",
        "corners 15/30, one plane, legs of 2 odd values",
    ],
)
def test_truly_ambiguous_routes_are_never_wrong_in_silence(name: str) -> None:
    assert measure(MIXTURES[name], routes=60, seed=77).wrong_unflagged == 0


def test_coarse_chords_are_rarely_called_ambiguous() -> None:
    # a study of such mixtures flagged 13 routes of 1000
    assert measure(MIXTURES["coarse chords 22.5-45"], routes=60, seed=77).flagged <= 1
