"""UFC 3-535-01, *Visual Air Navigation Facilities*, 17 November 2005, par. 12-4.6, Table 12-4
(p. 178): maximum pull of 2, 3 and 4 No. 6 AWG and of 6 No. 12 AWG.

The row for four counts all four; our default takes 80 % of more than three. The rows for No. 8
do not follow from any stress and are not used.
"""

from __future__ import annotations

import pytest
from published_routes import scalar_examples

from analyzer.catalog.conductors import find_conductor
from analyzer.pulling.limits import conductor_limit_n, sharing_fraction
from analyzer.units import to_lbf

ROWS = scalar_examples("UFC-2x6AWG", "UFC-3x6AWG", "UFC-4x6AWG", "UFC-6x12AWG")


def pounds(size: str, number: int) -> float:
    single = conductor_limit_n(find_conductor(size, "THHN", "copper"))
    assert single is not None
    return to_lbf(single) * number


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_printed_maximum_counts_every_conductor(row: dict) -> None:
    size = "6" if row["inputs"]["A"] == 26240 else "12"
    assert pounds(size, row["inputs"]["n"]) == pytest.approx(row["printed"], abs=row["tolerance"])


def test_default_share_of_four_gives_672() -> None:
    assert sharing_fraction(4) * pounds("6", 4) == pytest.approx(672.0, abs=0.5)


def test_up_to_three_share_in_full() -> None:
    assert [sharing_fraction(count) for count in (1, 2, 3, 4, 7)] == [1.0, 1.0, 1.0, 0.8, 0.8]
