"""A limit and what is left to it: no amount reads as none where the limit is passed."""

from __future__ import annotations

import pytest

from analyzer.pulling.results import Share
from analyzer.reports.leg_words import share_words, spare_words
from analyzer.reports.tables import governing_text
from analyzer.units import UnitSystem, lbf, lbf_per_ft

US, METRIC = UnitSystem.US, UnitSystem.METRIC


@pytest.mark.parametrize(
    ("over_lbf", "words"),
    [
        (0.01, "a hair over"),
        (0.3, "0.3 lbf over"),
        (80.0, "80.0 lbf over"),
        (-0.01, "0.0 lbf to spare"),
        # within the allowance that the check passes by
        (1e-5, "0.0 lbf to spare"),
    ],
)
def test_limit_passed_by_less_than_is_shown_is_passed_by_a_hair(
    over_lbf: float, words: str
) -> None:
    share = Share("line-tension", "line working load", lbf(289.0 + over_lbf), lbf(289.0), None)
    assert spare_words(share, US) == words
    assert governing_text(share, US) == f"line tension, limit 289 lbf, {words}"
    assert share_words(share, US).endswith(f", {words.replace('over', 'OVER')}.")


def test_sidewall_limit_passed_by_less_than_is_shown_is_passed_by_a_hair() -> None:
    share = Share("sidewall", "sidewall pressure", 4378.2, lbf_per_ft(300.0), 3.0)
    assert spare_words(share, METRIC) == "a hair over"
