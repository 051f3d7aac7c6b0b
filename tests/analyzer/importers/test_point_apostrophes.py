"""Apostrophes in numbers of a point file: thousands where the file shows it, never a guess."""

from __future__ import annotations

import pytest
from point_samples import codes, near, only, points

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.units import LengthUnit


@pytest.mark.parametrize("mark", ["'", "’"])
@pytest.mark.parametrize("unit", ["mm", "m"])
def test_a_metric_header_shows_that_apostrophes_divide_thousands(read, mark, unit):
    text = f"x_{unit};y_{unit};z_{unit}\n0;0;0\n5'000;-1'006.5;0\n5'010;8'000;3'000\n"
    drawn = read(text.replace("'", mark))
    factor = 0.001 if unit == "mm" else 1.0
    assert points(drawn) == near(
        [
            [0, 0, 0],
            [5000 * factor, -1006.5 * factor, 0],
            [5010 * factor, 8000 * factor, 3000 * factor],
        ]
    )
    found = only(drawn, "apostrophe-thousands")
    assert found.severity is Severity.NOTE
    assert f"is read as 5000: the header names {unit}" in found.message
    assert found.where == 'riser.csv, row 3, column "x_' + unit + '"'


@pytest.mark.parametrize("header", ["x_ft,y_ft,z_ft", "x_in,y_in,z_in", "x,y,z"])
def test_an_apostrophe_that_may_be_feet_is_refused_with_both_readings(read, header):
    words = r"""row 2, column "x.*": "1'010" may be 1 ft 10 in, or the number 1010"""
    with pytest.raises(RouteError, match=words):
        read(f"{header}\n1'010,2'000,0\n1'000,2'010,20.5\n")


def test_the_unit_of_the_job_shows_nothing(read):
    with pytest.raises(RouteError, match="or the number 5000"):
        read("x,y,z\n0,0,0\n5'000,0,0\n", units=LengthUnit.MILLIMETER)


@pytest.mark.parametrize("cell", ["2'600'000", "1'234'005.5", "5'000 ft"])
def test_a_number_that_cannot_be_feet_shows_thousands_everywhere(read, cell):
    drawn = read(f"x_ft;y_ft;z_ft\n1'000;0;0\n1'010;0;{cell}\n")
    number = float(cell.replace("'", "").removesuffix(" ft"))
    assert points(drawn) == near([[304.8, 0, 0], [1010 * 0.3048, 0, number * 0.3048]])
    assert "can be nothing else" in only(drawn, "apostrophe-thousands").message


def test_more_than_twelve_inches_show_thousands_where_nothing_speaks_of_feet(read):
    text = "x,y,z\n0,0,0\n5'000,8'250,0\n"
    assert points(read(text, units=LengthUnit.MILLIMETER))[1] == pytest.approx([5, 8.25, 0])
    for unit in (LengthUnit.FOOT, LengthUnit.INCH):
        with pytest.raises(RouteError, match="may be 5 ft 0 in, or the number 5000"):
            read(text, units=unit)
    with pytest.raises(RouteError, match="may be 10 ft 115 in, or the number 10115"):
        read("x_ft,y_ft,z_ft\n0,0,0\n10'115,5.5,0\n")


@pytest.mark.parametrize("cell", ["12'6", '12\'-6""', '12\'6""', '10\'11""', "5'", "5' 006"])
def test_feet_beside_apostrophes_that_may_be_thousands_are_refused(read, cell):
    with pytest.raises(RouteError, match=r"in row 3, column .x_mm. is feet, or the number 5000"):
        read(f'x_mm,y_mm,z_mm\n5\'000,0,0\n"{cell}",0,0\n')


@pytest.mark.parametrize(
    ("cell", "inches"),
    [("12'6", 150), ('12\'-6""', 150), ('12\'6""', 150), ('10\'11""', 131), ('5\'006""', 66)],
)
def test_feet_and_inches_stay_what_they_are(read, cell, inches):
    drawn = read(f'x_ft,y_ft,z_ft\n0,0,0\n"{cell}",0,0\n')
    assert points(drawn)[1] == pytest.approx([inches * 0.0254, 0, 0], abs=1e-15)
    assert "apostrophe-thousands" not in codes(drawn)


def test_decimal_commas_go_with_apostrophes(read):
    drawn = read("x_m;y_m;z_m\n0;0;0\n1'234,125;0;0\n")
    assert points(drawn)[1] == [1234.125, 0, 0]


def test_uneven_rows_do_not_make_thousands_faults(read):
    with pytest.raises(RouteError) as caught:
        read("x_mm;y_mm;z_mm\n5'000;0;0\n5'000;0\n")
    assert "thousands" not in str(caught.value)
