"""Units that rows of a point file name: a row of units, a column of units, units in cells."""

from __future__ import annotations

import pytest

from analyzer.errors import RouteError


def test_a_row_of_units_that_contradicts_the_header_is_refused(read):
    words = 'riser.csv, row 2: the row of units says ft under the column "y_m", whose header says m'
    with pytest.raises(RouteError, match=words):
        read("x_m,y_m,z_m\nm,ft,m\n0,0,0\n10,0,0\n")
    with pytest.raises(RouteError, match='says in under the column "radius_ft"'):
        read("x_m,y_m,z_m,radius_ft\nm,m,m,in\n0,0,0,\n10,0,0,\n")
    assert read("x_m,y_m,z\nm,meters,m\n0,0,0\n10,0,0\n").length_unit == "m"
