"""Units that rows of a point file name: a row of units, a column of units, units in cells."""

from __future__ import annotations

import pytest
from point_samples import codes, near, only, points

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.units import LengthUnit


def test_a_row_of_units_that_contradicts_the_header_is_refused(read):
    words = 'riser.csv, row 2: the row of units says ft under the column "y_m", whose header says m'
    with pytest.raises(RouteError, match=words):
        read("x_m,y_m,z_m\nm,ft,m\n0,0,0\n10,0,0\n")
    with pytest.raises(RouteError, match='says in under the column "radius_ft"'):
        read("x_m,y_m,z_m,radius_ft\nm,m,m,in\n0,0,0,\n10,0,0,\n")
    assert read("x_m,y_m,z\nm,meters,m\n0,0,0\n10,0,0\n").length_unit == "m"


@pytest.mark.parametrize("title", ["unit", "Units", "length unit"])
def test_a_column_of_units_holds_for_the_bare_numbers_of_its_rows(read, title):
    drawn = read(f"x,y,z,radius,{title}\n0,0,0,,ft\n10,1 m,0,2,ft\n10,10,5,,ft\n")
    assert points(drawn) == near([[0, 0, 0], [3.048, 1, 0], [3.048, 3.048, 1.524]])
    assert drawn.paths[0].corner_radius_m[1] == pytest.approx(0.6096)
    assert (drawn.length_unit, drawn.length_unit_from) == ("ft", "file")
    assert not {"units-mixed", "unit-differs", "columns-unused"} & set(codes(drawn))


def test_rows_of_different_units_are_read_each_in_its_own_with_a_caution(read):
    drawn = read("x,y,z,units\n0,0,0,ft\n10,0,0,ft\n10,10,5,m\n")
    assert points(drawn) == near([[0, 0, 0], [3.048, 0, 0], [10, 10, 5]])
    found = only(drawn, "units-mixed")
    assert found.severity is Severity.CAUTION
    assert '"units" names several units: ft in rows 2, 3; m in row 4' in found.message
    assert drawn.length_unit == "ft, m"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("x_m,y_m,z_m,unit\n0,0,0,m\n1,1,1,ft\n", 'row 3: .* says ft, the header "x_m" says m'),
        ("x,y,z,unit\n0,0,0,m\n1,1,1,\n", 'row 3: no unit in the column "unit", while other'),
        ("x,y,z,unit\n0,0,0,rod\n1,1,1,rod\n", "row 2, column .unit.: 'rod' is no unit of length"),
    ],
)
def test_a_column_of_units_that_cannot_be_followed_is_refused(read, content, words):
    with pytest.raises(RouteError, match=words):
        read(content)


def test_a_column_of_units_wins_over_the_job_with_a_caution(read):
    drawn = read("x,y,z,unit\n0,0,0,ft\n10,0,0,ft\n", units=LengthUnit.METER)
    assert points(drawn)[1] == pytest.approx([3.048, 0, 0], abs=1e-15)
    assert '"unit" names ft, the option says m' in only(drawn, "unit-differs").message


def test_a_column_of_units_agrees_with_the_header_and_leaves_a_radius_its_own(read):
    drawn = read("x_ft,y_ft,z_ft,radius_in,unit\n0,0,0,,ft\n10,0,0,12,ft\n10,9,0,,ft\n")
    assert drawn.paths[0].corner_radius_m[1] == pytest.approx(0.3048)
    assert drawn.length_unit_from == "header"


@pytest.mark.parametrize(
    ("header", "cell", "words"),
    [
        ("x_ft,y_ft,z_ft", "3 m", '\'3 m\' is in "m", the column in "ft"'),
        ("x_ft,y_ft,z_ft", "10 inches", '\'10 inches\' is in "in", the column in "ft"'),
        ("x_m,y_m,z_m", '10\'-1""', 'is in feet and inches, the column in "m"'),
        ("x [us-ft],y [us-ft],z [us-ft]", "10'", 'is in feet and inches, the column in "us-ft"'),
    ],
)
def test_a_cell_in_another_unit_than_its_column_is_a_caution(read, header, cell, words):
    drawn = read(f'{header}\n0,0,0\n5,0,0\n5,"{cell}",0\n')
    found = only(drawn, "cell-unit-differs")
    assert found.severity is Severity.CAUTION
    assert "row 4, column " in found.message
    assert words in found.message


def test_a_cell_in_another_unit_than_its_row_is_a_caution(read):
    drawn = read("x,y,z,unit\n0,0,0,ft\n5,3 m,0,ft\n")
    assert '\'3 m\' is in "m", the row in "ft"' in only(drawn, "cell-unit-differs").message


def test_many_cells_in_another_unit_are_counted(read):
    drawn = read("x_ft,y_ft,z_ft\n0,0,0\n" + "".join(f"{i} m,0,0\n" for i in range(1, 9)))
    assert "; and 3 more" in only(drawn, "cell-unit-differs").message


@pytest.mark.parametrize("unit", ["ft", "in"])
def test_feet_and_inches_do_not_contradict_feet_or_inches(read, unit):
    rows = f'0,5 {unit},0\n"10\'-1""","5\'","6"""\n10 ft 6 in,0,0\n9,0,0\n'
    assert "cell-unit-differs" not in codes(read(f"x_{unit},y_{unit},z_{unit}\n{rows}"))


def test_a_cell_in_another_unit_than_the_job_names_for_its_column_is_a_caution(read):
    text = "x,y,z\n0,0,48\n0,216,48\n303,500,48 ft\n"
    found = only(read(text, units=LengthUnit.INCH), "cell-unit-differs")
    assert 'row 4, column "z": \'48 ft\' is in "ft", the option says "in"' in found.message
    told = only(read(text, source="riser.toml", units=LengthUnit.INCH), "cell-unit-differs")
    assert 'the job says "in"' in told.message


def test_a_column_whose_cells_all_name_their_unit_needs_none_of_the_job(read):
    text = "x,y,z\n0,0,4 ft\n0,216,0\n303,500,48 ft\n"
    assert "cell-unit-differs" not in codes(read(text, units=LengthUnit.INCH))


@pytest.mark.parametrize(
    ("unit", "cell", "named"), [("in", "96'", "ft"), ("in", "96’", "ft"), ("ft", '"9"""', "in")]
)
def test_a_lone_mark_of_feet_or_inches_among_bare_numbers_is_a_caution(read, unit, cell, named):
    head, row = f"x_{unit},y_{unit},z_{unit}", f"303,-216,{cell}"
    found = only(read(f"{head}\n0,0,96\n0,-216,456\n{row}\n"), "cell-unit-differs")
    assert f'is in "{named}", the column in "{unit}"' in found.message
    both = '"10\'-1"""'
    for other in (f"{head}\n0,0,{both}\n{row}\n", f"{head}\n0,0,96\n0,1,{both}\n"):
        assert "cell-unit-differs" not in codes(read(other))
