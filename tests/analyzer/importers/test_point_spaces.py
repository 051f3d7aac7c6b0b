"""Point files whose columns spaces divide: read only where that is plain."""

from __future__ import annotations

import pytest
from point_samples import codes, near, only, points

from analyzer.errors import RouteError
from analyzer.units import LengthUnit


@pytest.mark.parametrize(
    "content",
    [
        "x_m y_m z_m\n0 0 1.5\n2 3 -4e0\n",
        "  x_m    y_m  z_m \n\n   0   0  1.5\n2 3 -4 \n",
        "# job 12\n# x_m y_m z_m\r\n0 0 1.5\r\n# middle one here or\r\n2 3 -4\r\n",
    ],
)
def test_spaces_divide_where_every_row_has_as_many_cells(read, content):
    drawn = read(content)
    assert points(drawn) == near([[0, 0, 1.5], [2, 3, -4]])
    assert "spaces-divide" in codes(drawn)


def test_spaces_divide_without_header_and_beside_labels(read):
    assert len(points(read("0 0 0\n1 1 1\n", units=LengthUnit.METER))) == 2
    drawn = read("x_m y_m z_m label\n0 0 0 P1\n1 0 0 P2\n")
    assert [fitting.name for fitting in drawn.fittings] == ["P1", "P2"]


@pytest.mark.parametrize(
    "content",
    [
        "x_ft y_ft z_ft\n0 0 0\n10 6 1/2 0\n",
        "x_ft y_ft z_ft label\n0 0 0 P1\n1 0 0\n",
        "x_ft y_ft z_ft label\n0 0 0 P1\n1 0 0 Box A\n",
        'x_ft y_ft z_ft\n0 0 0\n1 0 1"\n',
        "x ft y ft z ft\n1 000 2 000 3 000\n1 500 2 000 3 000\n",
        "x [ft] y [ft] z [ft]\n1 000 2 000 3 000\n1 500 2 000 3 000\n",
        "x_ft y_ft z_ft\nft ft ft\n0 0 0\n1 0 0\n",
    ],
)
def test_spaces_that_may_stand_within_cells_are_refused(read, content):
    with pytest.raises(RouteError, match=r"by spaces where every row has as many cells"):
        read(content)


def test_a_coordinate_that_is_no_plain_number_is_refused_between_spaces(read):
    with pytest.raises(
        RouteError, match=r"""row 3, column "x_ft": "5'" is no plain number, and sp"""
    ):
        read("x_ft y_ft z_ft a b c\n0 0 0 1 1 1\n5' 0 0 1 1 1\n")


def test_pipes_divide_columns_with_decimal_commas_too(read):
    drawn = read("x_m|y_m|z_m\n0|1,5|0\n2,25|0|0\n")
    assert points(drawn) == near([[0, 1.5, 0], [2.25, 0, 0]])
    assert only(drawn, "decimal-comma")
