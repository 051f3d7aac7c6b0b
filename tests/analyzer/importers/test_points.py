"""CSV of points: what is read, what is asked for, and what each fault says.

One long file, because it is the table of what point files may hold.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from point_samples import JOB, codes, near, points

from analyzer.errors import JobError, RacewayError, RouteError
from analyzer.findings import Severity
from analyzer.importers.points.reader import read_points
from analyzer.job.settings import FittingKind
from analyzer.units import LengthUnit, ft, inches

# units


@pytest.mark.parametrize(
    "header",
    [
        "x_ft,y_ft,z_ft",
        "X [ft],Y [ft],Z [ft]",
        "x (feet),y (feet),z (feet)",
        "X_FT,Y_FT,Z_FT",
        "x ft,y ft,z ft",
        "x(ft.),y(ft.),z(ft.)",
        "Easting (ft),Northing (ft),Elevation (ft)",
        "x_coord_ft,y_coord_ft,z_coord_ft",
        "# x_ft,y_ft,z_ft",
    ],
)
def test_header_names_the_unit(read, header):
    drawn = read(f"{header}\n0,0,10\n10,5,10\n")
    assert points(drawn) == near([[0, 0, 3.048], [3.048, 1.524, 3.048]])
    assert (drawn.length_unit, drawn.length_unit_from, drawn.reader) == ("ft", "header", "csv")
    assert drawn.ordered == (True,)


@pytest.mark.parametrize(
    ("name", "meters"),
    [
        ("in", 0.0254),
        ("inches", 0.0254),
        ("mm", 0.001),
        ("cm", 0.01),
        ("m", 1.0),
        ("meters", 1.0),
        ("yd", 0.9144),
        ("us-ft", 1200 / 3937),
        ("US survey feet", 1200 / 3937),
    ],
)
def test_every_unit_in_a_header_is_exact(read, name, meters):
    drawn = read(f"x [{name}],y [{name}],z [{name}]\n0,0,0\n1,2,3\n")
    assert points(drawn)[1] == pytest.approx([meters, 2 * meters, 3 * meters], rel=1e-15)


def test_columns_may_have_different_units(read):
    drawn = read("x_ft,y_m,z_in\n0,0,0\n1,2,3\n")
    assert points(drawn)[1] == pytest.approx([0.3048, 2.0, 0.0762], abs=1e-15)
    assert drawn.length_unit == "ft, m, in"
    (said,) = [f for f in drawn.findings if f.code == "units-mixed"]
    assert said.severity is Severity.CAUTION
    assert '"x_ft" in ft, "y_m" in m, "z_in" in in' in said.message


def test_columns_of_one_unit_and_a_radius_of_another_are_no_slip(read):
    drawn = read("x_ft,y_ft,z_ft,radius_in\n0,0,0,\n1,2,3,9.5\n3,2,3,\n")
    assert "units-mixed" not in {f.code for f in drawn.findings}


def test_unit_of_the_job_beside_another_in_the_header_is_a_caution_too(read):
    drawn = read("x_ft,y_ft,z\n0,0,0\n1,2,3\n", units=LengthUnit.METER)
    (said,) = [f for f in drawn.findings if f.code == "units-mixed"]
    assert '"z" in m' in said.message


def test_job_names_the_unit_where_the_header_does_not(read):
    content = "x,y,z\n0,0,0\n1,2,3\n"
    by_option = read(content, units=LengthUnit.INCH)
    assert points(by_option)[1] == pytest.approx([0.0254, 0.0508, 0.0762], abs=1e-15)
    assert by_option.length_unit_from == "option"
    assert read(content, source="riser.toml", units=LengthUnit.INCH).length_unit_from == "job"


def test_header_wins_over_the_job_with_a_caution(read):
    drawn = read("x_ft,y_ft,z_ft\n0,0,0\n1,2,3\n", units=LengthUnit.METER)
    assert points(drawn)[1] == pytest.approx([0.3048, 0.6096, 0.9144], abs=1e-15)
    finding = next(f for f in drawn.findings if f.code == "unit-differs")
    assert finding.severity is Severity.CAUTION
    assert "says m" in finding.message


def test_no_unit_lists_the_extents_in_each_unit_and_what_to_add(read):
    with pytest.raises(RouteError) as caught:
        read("x,y,z\n0,0,0\n120,24,12\n")
    text = str(caught.value)
    assert 'units = "ft" under [drawing]' in text
    assert "--units in: 10 x 2 x 1 ft (3.048 x 0.6096 x 0.3048 m)" in text
    assert "--units ft: 120 x 24 x 12 ft" in text
    assert "--units mm:" in text


def test_one_column_without_unit_is_named(read):
    with pytest.raises(RouteError, match='no unit of length: "z"'):
        read("x_ft,y_ft,z\n0,0,0\n1,2,3\n")


def test_radius_without_unit_beside_named_units_is_asked_for(read):
    with pytest.raises(RouteError, match='no unit of length: "radius"'):
        read("x_ft,y_ft,z_ft,radius\n0,0,0,\n1,2,3,9.5\n2,2,9,\n")


def test_unknown_unit_in_a_header_is_refused(read):
    for header in (
        "x (furlong),y (ft),z (ft)",
        "x_furlong,y_ft,z_ft",
        "x_furlong,y_furlong,z_furlong",
        "easting_furlong,northing_ft,elevation_ft",
    ):
        with pytest.raises(
            RouteError, match=r"'furlong', which is not known here\. Known are in, ft"
        ):
            read(header + "\n0,0,0\n1,1,1\n")


def test_other_columns_may_be_called_like_an_axis(read):
    drawn = read("x_ft,y_ft,z_ft,x_error,z_note\n0,0,0,9,a\n1,1,1,9,b\n")
    assert points(drawn)[1] == pytest.approx([0.3048, 0.3048, 0.3048], abs=1e-15)


@pytest.mark.parametrize("header", ["north_ft;east_ft;up_ft", "north east up", "x|y|z"])
def test_header_divided_otherwise_than_its_points_is_refused(read, header):
    with pytest.raises(RouteError, match=r"row 1: .* divides them in another way"):
        read(header + "\n0,0,0\n1,2,3\n", units=LengthUnit.FOOT)
    with pytest.raises(RouteError, match=r"row 1: .* divides them in another way"):
        read("north_ft,east_ft,up_ft\n0;0;0\n1;2;3\n")


def test_long_and_short_rows_are_named_together(read):
    with pytest.raises(RouteError, match=r"row 4: more cells .*; row 3: fewer cells"):
        read("x_ft,y_ft,z_ft\n0,0,0\n3,0\n3,1,2,7\n3,1,5\n")


def test_bad_numbers_of_other_rows_are_named_with_uneven_rows(read):
    words = r"row 3: fewer cells .*; row 4, column .y_ft.: '4a' has .*; row 5, column .x_ft.: 'b'"
    with pytest.raises(RouteError, match=words):
        read("x_ft,y_ft,z_ft\n0,0,0\n3,0\n3,4a,0\nb,1,5\n")


def test_units_may_stand_in_a_row_of_their_own(read):
    drawn = read("x,y,z\n[ft],[ft],[in]\n0,0,0\n1,2,3\n")
    assert points(drawn)[1] == pytest.approx([0.3048, 0.6096, 0.0762], abs=1e-15)


def test_feet_and_inches_need_no_other_unit(read):
    drawn = read('x,y,z\n12\'-6 1/2",0,0\n0,1\',"3\'-0"""\n')
    assert points(drawn) == near([[150.5 * 0.0254, 0, 0], [0, 0.3048, 0.9144]])
    assert drawn.length_unit_from == "file"


def test_cell_with_its_own_unit_overrides_the_column(read):
    drawn = read("x_ft,y_ft,z_ft\n0,0,0\n10,6 in,1 m\n")
    assert points(drawn)[1] == pytest.approx([3.048, 0.1524, 1.0], abs=1e-15)


# delimiters and decimal marks


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_endings(read, delimiter, ending):
    rows = [["x_m", "y_m", "z_m", "label"], ["0", "0", "1.5", "a, b; c|d"], ["2", "3", "4.25", ""]]
    quoted = [[f'"{c}"' if set(c) & set(",;|") else c for c in row] for row in rows]
    drawn = read(ending.join(delimiter.join(row) for row in quoted))
    assert points(drawn) == near([[0, 0, 1.5], [2, 3, 4.25]])


def test_mixed_line_endings_are_read(read):
    drawn = read("x_m,y_m,z_m\r\n0,0,0\n1,0,0\r\n2,0,0\n")
    assert len(points(drawn)) == 3


@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_decimal_comma(read, delimiter):
    rows = ["x_m y_m z_m", "1,5 2,25 3", "4,125 0 -0,5"]
    drawn = read("\n".join(rows).replace(" ", delimiter))
    assert points(drawn) == near([[1.5, 2.25, 3], [4.125, 0, -0.5]])
    assert "decimal-comma" in codes(drawn)


def test_decimal_comma_without_header(read):
    drawn = read("1,5;2,5;3,5\n4,5;5,5;6,5\n", units=LengthUnit.METER)
    assert points(drawn) == near([[1.5, 2.5, 3.5], [4.5, 5.5, 6.5]])


def test_quoted_thousands_both_ways(read):
    us = read('x_mm,y_mm,z_mm\n"1,234",0,0\n"12,345.5",0,0\n')
    assert points(us) == near([[1.234, 0, 0], [12.3455, 0, 0]])
    other = read('x_mm,y_mm,z_mm\n"1.234,56",0,0\n"12.345,00","1.000",0\n')
    assert points(other) == near([[1.23456, 0, 0], [12.345, 1.0, 0]])


def test_spaces_may_divide_thousands(read):
    drawn = read("x_mm;y_mm;z_mm\n0;0;0\n12 345;1\u00a0000,5;0\n")
    assert points(drawn)[1] == pytest.approx([12.345, 1.0005, 0], abs=1e-15)


def test_a_comma_that_may_be_thousands_or_decimals_is_refused(read):
    with pytest.raises(RouteError, match="row 2, column \"x_m\": '1,500' may be read"):
        read("x_m;y_m;z_m\n1,500;2,500;0\n3,250;0;0\n")


def test_leading_zero_or_two_separators_tell_the_decimal_mark(read):
    zero = read("x_m;y_m;z_m\n0,500;1,500;0\n3,250;0;0\n")
    assert points(zero) == near([[0.5, 1.5, 0], [3.25, 0, 0]])
    grouped = read("x_mm;y_mm;z_mm\n1.234.567;0;0\n1.500;0;0\n")
    assert points(grouped) == near([[1234.567, 0, 0], [1.5, 0, 0]])


def test_both_decimal_marks_are_refused(read):
    with pytest.raises(RouteError, match="both decimal points"):
        read("x_m;y_m;z_m\n1.5;0;0\n2,5;0;0\n")


def test_byte_order_mark_and_missing_last_newline(read):
    drawn = read(b"\xef\xbb\xbfx_m,y_m,z_m\n0,0,0\n1,1,1")
    assert points(drawn) == near([[0, 0, 0], [1, 1, 1]])


def test_western_european_text_is_read_with_a_note(read):
    drawn = read("x_m,y_m,z_m,label\n0,0,0,Kältemaschine\n1,1,1,\n".encode("cp1252"))
    assert drawn.fittings[0].name == "Kältemaschine"
    assert "encoding" in codes(drawn)


# columns


def test_columns_in_any_order_and_columns_not_used_are_named(read):
    drawn = read("no,z_m,fitting,x_m,comment,y_m\n1,3,,1,a,2\n2,6,jb,4,b,5\n")
    assert points(drawn) == near([[1, 2, 3], [4, 5, 6]])
    finding = next(f for f in drawn.findings if f.code == "columns-unused")
    assert '"no", "comment"' in finding.message


def test_no_header_is_a_note(read):
    drawn = read("0,0,0\n1,2,3\n", units=LengthUnit.METER)
    assert points(drawn)[1] == [1, 2, 3]
    assert "no-header" in codes(drawn)


def test_more_than_three_columns_without_header_are_refused(read):
    with pytest.raises(RouteError, match="4 columns and no header"):
        read("0,0,0,1\n1,2,3,1\n", units=LengthUnit.METER)


def test_unknown_header_over_numbers_is_refused_not_guessed(read):
    with pytest.raises(RouteError, match="row 1: 'a, b, c' is neither"):
        read("a,b,c\n1,2,3\n4,5,6\n", units=LengthUnit.METER)


@pytest.mark.parametrize("header", ["x1,y1,z1", "P1x,P1y,P1z", "X_1 [m],Y_1 [m],Z_1 [m]"])
def test_a_header_that_is_not_understood_is_said_with_the_names_that_are(read, header):
    words = r"row 1: .* is neither a header with columns called x, y and z nor .* such as x_ft,y_ft"
    with pytest.raises(RouteError, match=words):
        read(f"{header}\n0,0,0\n1,2,3\n", units=LengthUnit.METER)


def test_header_is_not_looked_for_below_the_first_points(read):
    with pytest.raises(RouteError, match="row 2: 'x_m, y_m, z_m' names the columns, but stands"):
        read("0,0,0\nx_m,y_m,z_m\n1,2,3\n4,5,6\n")


def test_missing_elevation_is_never_taken_as_zero(read):
    with pytest.raises(RouteError, match="no column for z"):
        read("x_m,y_m,label\n0,0,a\n1,1,b\n")


def test_title_rows_before_the_header_are_left_out_with_a_note(read):
    drawn = read("Ice rink riser\n\nx_m,y_m,z_m\n0,0,0\n1,1,1\n")
    assert len(points(drawn)) == 2
    assert "rows-skipped" in codes(drawn)


@pytest.mark.parametrize("header", ["x_m,y_m,z_m,x", "x_m,y_m,z_m,easting", "x_m,X,y_m,z_m"])
def test_two_columns_for_one_axis_are_refused(read, header):
    with pytest.raises(RouteError, match="could both be x"):
        read(f"{header}\n0,0,0,0\n1,1,1,1\n")


def test_depth_stops_with_the_question_to_answer(read):
    with pytest.raises(RouteError, match=r'axes = \["north", "east", "depth"\]'):
        read("N,E,TVD\n0,0,0\n1,2,3\n", units=LengthUnit.METER)


def test_north_east_depth_by_option(read):
    drawn = read("N,E,TVD\n0,0,0\n1,2,3\n", units=LengthUnit.METER, axes=("north", "east", "depth"))
    assert points(drawn) == [[0, 0, 0], [2, 1, -3]]
    assert str(points(drawn)[0][2]) == "0.0"


def test_axes_give_meaning_to_plain_columns(read):
    for content in ("x,y,z\n0,0,0\n1,2,3\n", "0,0,0\n1,2,3\n"):
        drawn = read(content, units=LengthUnit.METER, axes=("south", "west", "up"))
        assert points(drawn)[1] == [-2, -1, 3]


def test_bracket_says_which_direction_a_column_is(read):
    drawn = read("x (northing),y (easting),z\n0,0,0\n1,2,3\n", units=LengthUnit.METER)
    assert points(drawn)[1] == [2, 1, 3]


def test_axes_that_contradict_the_header_are_refused(read):
    with pytest.raises(JobError, match='"N" is east'):
        read("N,E,TVD\n0,0,0\n1,2,3\n", units=LengthUnit.METER, axes=("east", "north", "depth"))


def test_axes_need_three_directions(read):
    with pytest.raises(JobError, match="one of east or west"):
        read("x,y,z\n0,0,0\n1,2,3\n", units=LengthUnit.METER, axes=("x", "y", "z"))


# runs, radii, fittings


def test_several_runs_in_one_file(read):
    drawn = read("x_m,y_m,z_m,run\n0,0,0,a\n1,0,0,a\n5,5,5,b\n6,5,5,b\n7,5,5,b\n")
    assert [path.name for path in drawn.paths] == ["a", "b"]
    assert [len(path.edges) for path in drawn.paths] == [1, 2]
    assert [path.where for path in drawn.paths] == ["rows 2 to 3", "rows 4 to 6"]
    assert drawn.extents_m == ((0, 0, 0), (7, 5, 5))


def test_run_that_goes_on_after_another_is_a_caution(read):
    drawn = read("x_m,y_m,z_m,run\n0,0,0,a\n1,0,0,a\n5,5,5,b\n6,5,5,b\n2,0,0,a\n")
    finding = next(f for f in drawn.findings if f.code == "run-interleaved")
    assert finding.severity is Severity.CAUTION
    assert "row 6" in finding.message


def test_row_without_run_name_among_named_ones_is_refused(read):
    with pytest.raises(RouteError, match="row 3: no name in the column"):
        read("x_m,y_m,z_m,run\n0,0,0,a\n1,0,0,\n2,0,0,a\n")


def test_blank_row_between_points_is_a_caution(read):
    drawn = read("x_m,y_m,z_m\n0,0,0\n1,0,0\n,,\n2,0,0\n3,0,0\n\n\n")
    finding = next(f for f in drawn.findings if f.code == "rows-blank")
    assert finding.severity is Severity.CAUTION
    assert "row 4:" in finding.message
    assert len(points(drawn)) == 4


def test_radius_column_belongs_to_its_vertex(read):
    drawn = read("x_ft,y_ft,z_ft,radius_in\n0,0,0,\n5,0,0,9.5\n5,5,0,\n")
    assert drawn.paths[0].corner_radius_m == (None, pytest.approx(inches(9.5)), None)


@pytest.mark.parametrize("cell", ["-2", "0"])
def test_radius_must_be_positive(read, cell):
    with pytest.raises(RouteError, match='row 3, column "radius_in"'):
        read(f"x_ft,y_ft,z_ft,radius_in\n0,0,0,\n5,0,0,{cell}\n5,5,0,\n")


@pytest.mark.parametrize(
    ("cell", "kind"),
    [
        ("pull box", FittingKind.PULL_BOX),
        ("Pull-Box", FittingKind.PULL_BOX),
        ("JB", FittingKind.JUNCTION_BOX),
        ("junction_box", FittingKind.JUNCTION_BOX),
        ("Conduit body", FittingKind.CONDUIT_BODY),
        ("HANDHOLE", FittingKind.HANDHOLE),
        ("MH", FittingKind.MANHOLE),
        ("panelboard", FittingKind.PANEL),
        ("equipment", FittingKind.EQUIPMENT),
    ],
)
def test_kinds_of_fitting(read, cell, kind):
    drawn = read(f"x_ft,y_ft,z_ft,fitting,label\n0,0,0,,\n5,0,0,{cell},A\n5,5,0,,\n")
    (fitting,) = drawn.fittings
    assert (fitting.kind, fitting.name) == (kind, "A")
    assert (fitting.path, fitting.vertex, fitting.where) == (0, 1, "row 3")
    assert fitting.position_m == (ft(5), 0, 0)


@pytest.mark.parametrize("cell", ["box", "valve"])
def test_unknown_or_ambiguous_kind_lists_the_known_ones(read, cell):
    with pytest.raises(RouteError, match=r"row 3, .*one of pull box, junction box"):
        read(f"x_ft,y_ft,z_ft,fitting\n0,0,0,\n5,0,0,{cell}\n5,5,0,\n")


def test_fittings_without_label_are_numbered_past_labels(read):
    drawn = read(
        "x_ft,y_ft,z_ft,fitting,label\n"
        "0,0,0,,\n1,0,0,pb,\n2,0,0,pb,Pull box 1\n3,0,0,pb,\n4,0,0,,\n"
    )
    assert [f.name for f in drawn.fittings] == ["Pull box 2", "Pull box 1", "Pull box 3"]
    assert [f.numbered for f in drawn.fittings] == ["Pull box", "", "Pull box"]
    lone = read("x_ft,y_ft,z_ft,fitting,label\n0,0,0,,\n1,0,0,pb,\n2,0,0,jb,A\n4,0,0,,\n")
    assert [f.numbered for f in lone.fittings] == ["", ""]


def test_label_names_an_end_and_is_no_fitting_inside(read):
    drawn = read("x_ft,y_ft,z_ft,fitting,label\n0,0,0,,A\n1,0,0,,P1\n2,0,0,panel,B\n")
    assert [(f.name, f.kind) for f in drawn.fittings] == [
        ("A", FittingKind.END),
        ("B", FittingKind.PANEL),
    ]
    assert "P1" in next(f for f in drawn.findings if f.code == "label-without-fitting").message


def test_newline_in_a_quoted_label_is_one_space(read):
    drawn = read('x_m,y_m,z_m,label\n0,0,0,"Panel\nP1"\n1,1,1,\n')
    assert drawn.fittings[0].name == "Panel P1"


def test_an_end_inside_its_run_is_refused_with_file_row_and_advice(read):
    words = r"riser.csv, row 3: the fitting is called an end .* such as pull box .* by a column run"
    with pytest.raises(RouteError, match=words):
        read("x_ft,y_ft,z_ft,fitting,label\n0,0,0,,\n5,0,0,end,A\n5,5,0,,\n")


def test_repeated_points_are_left_out_and_keep_what_they_say(read):
    drawn = read(
        "x_m,y_m,z_m,fitting,label\n0,0,0,,\n1,0,0,,\n1,0,0,pull box,Box A\n2,0,0,,\n2,0,0,,\n"
    )
    assert len(points(drawn)) == 3
    assert (drawn.fittings[0].name, drawn.fittings[0].vertex) == ("Box A", 1)
    assert "rows 4, 6" in next(f for f in drawn.findings if f.code == "repeated-point").message


# faults


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "is empty"),
        ("\n \n", "is empty"),
        (b"\xef\xbb\xbf", "is empty"),
        ("x_m,y_m,z_m\n", "a header and no points"),
        ("x_m,y_m,z_m\n,,\n", "a header and no points"),
        ("x_m,y_m,z_m\n0,0,0\n", "row 2: the file holds one point only"),
        ("x_m,y_m,z_m\n1,1,1\n1,1,1\n", "rows 2 to 3: all 2 points of the file are equal"),
        ("x_m,y_m,z_m\n0,0,0\n1,0,0\n0,0,0\n", "ends where it starts"),
        ("x_m,y_m,z_m,run\n0,0,0,a\n1,0,0,a\n2,2,2,b\n", "row 4: run 'b' holds one point only"),
        ("x_m,y_m,z_m\n0,0,0\n1,1.O2,0\n", r"'O2' \(a letter among the digits\?\)"),
        ("x_m,y_m,z_m\n0,0,0\n1,abc,0\n", "row 3, column \"y_m\": 'abc' is not a length"),
        ("x_m,y_m,z_m\n0,0,0\n1,,0\n", 'row 3, column "y_m" is empty'),
        ("x_m,y_m,z_m\n0,0,0\n1,nan,0\n", "row 3, column \"y_m\": 'nan' is no finite number"),
        ("x_m,y_m,z_m\n0,0,0\n1,-Infinity,0\n", "'-Infinity' is no finite number"),
        ("x_m,y_m,z_m\n0,0,0\n1,1e999,0\n", "'1e999' is no finite number"),
        ("x_m,y_m,z_m\n0,0,0\n1,1e-400,0\n", "column \"y_m\": '1e-400' is too small"),
        ("x_m,y_m,z_m\n0,0,0\n1,#REF!,0\n", "'#REF!' is no finite number"),
        ("x_ft,y_ft,z_ft\n0,0,0\n10'-14\",0,0\n", 'row 3, column "x_ft": .*12 inches or more'),
        ("x_m,y_m,z_m\n0,0,0\n1,2\n3\n", "rows 3, 4: fewer cells than the 3 columns"),
        ("x_m,y_m,z_m\n0,0,0\n1,5,2,5,3,5\n", "row 3: more cells than the 3 columns.*comma"),
        ('x_m,y_m,z_m\n0,0,0\n"1,0,0\n', "row 3: a quotation mark"),
        ("id,value,comment\n1,10\n2,20,ok\n", "neither a header"),
        ("0 0 0\n1 1\n", r"divided by comma, semicolon, tab or \|, or by spaces where every row"),
        (b"\xff\xfex\x00,\x00", "UTF-16"),
        ("x_m,y_m,z_m\n0,0,0".encode("utf-32"), "UTF-32"),
        (b"\x00\x00\xfe\xff" + "x_m".encode("utf-32-be"), "UTF-32"),
        ("x,y,z\n0,0,0\n120,12,0\n", r"--units in: 10 x 1 x 0 ft \(3.048 x 0.3048 x 0 m\)"),
        ("x,y,z_ft\n0,0,0\n120,12,0\n", "the columns have no unit of length: "),
        ("x_m,y_m,z_m\n0,0,0".encode("utf-16-le"), r"NUL bytes \(line 1\)"),
        (b"x_m,y_m,z_m\n0,0,0\n1,\x001,1\n", r"NUL bytes \(line 3\)"),
    ],
)
def test_bad_file_gives_one_clear_message(read, content, message):
    with pytest.raises(RouteError, match=message) as caught:
        read(content)
    assert str(caught.value).startswith("riser.csv")


def test_coordinates_that_are_no_place_on_earth_name_row_and_column(read):
    with pytest.raises(RouteError, match=r'row 3, column "y_km": \'4e6\' is 4e\+09 m, no place'):
        read("x_km,y_km,z_km\n0,0,0\n1,4e6,0\n")
    # grids on the earth reach 1e7 m
    assert read("x_m,y_m,z_m\n4e7,0,0\n4e7,9,0\n").paths


def test_many_faults_are_counted(read):
    rows = "".join(f"{i},bad,0\n" for i in range(9))
    with pytest.raises(RouteError, match="and 4 more"):
        read("x_m,y_m,z_m\n" + rows)


def test_short_rows_that_lack_no_number_are_a_note(read):
    drawn = read("x_m,y_m,z_m,fitting,label\n0,0,0\n1,0,0,pull box\n2,0,0\n")
    assert drawn.fittings[0].vertex == 1
    assert "rows 2, 3, 4" in next(f for f in drawn.findings if f.code == "rows-short").message


# files written by other people


def corpus_files() -> list[Path]:
    folder = os.environ.get("RACEWAY_DXF_CORPUS")
    return sorted(Path(folder).glob("malformed/*.csv")) if folder else []


@pytest.mark.corpus
@pytest.mark.parametrize("path", corpus_files() or [None], ids=lambda p: p.name if p else "none")
@pytest.mark.parametrize("units", [None, LengthUnit.METER])
def test_malformed_file_gives_a_known_error(path, units):
    if path is None:
        pytest.skip("RACEWAY_DXF_CORPUS names no folder with malformed/*.csv")
    job = replace(JOB, drawing=replace(JOB.drawing, units=units))
    with pytest.raises(RacewayError) as caught:
        read_points(path, job)
    assert path.name in str(caught.value)


@pytest.mark.corpus
def test_published_well_path_is_read_with_its_axes():
    folder = os.environ.get("RACEWAY_DXF_CORPUS")
    path = Path(folder or "missing") / "files" / "iscwsa_well_10.csv"
    if not path.is_file():
        pytest.skip("RACEWAY_DXF_CORPUS names no folder with files/iscwsa_well_10.csv")
    with pytest.raises(RouteError, match=r'axes = \["depth", "north", "east"\]'):
        read_points(path, JOB)
    settings = replace(JOB.drawing, units=LengthUnit.METER, axes=("depth", "north", "east"))
    drawn = read_points(path, replace(JOB, drawing=settings))
    length = sum(edge.segment.length_m for edge in drawn.paths[0].edges)
    # chord length 1529.8866 m: the folder's ANSWERS.json, half of its last digit
    assert length == pytest.approx(1529.8866, abs=5e-5)
    assert drawn.extents_m[0] == (-47.71, -929.68, -1900.48)


def test_points_that_could_group_thousands_between_semicolons_are_told(read):
    drawn = read("x_mm;y_mm;z_mm\n1.000;2.000;0\n5.250;2.000;0\n")
    assert points(drawn)[0] == pytest.approx([0.001, 0.002, 0.0])
    (found,) = [one for one in drawn.findings if one.code == "points-may-group"]
    assert found.severity is Severity.CAUTION
    assert "row 2" in found.where
    assert "1.000" in found.message
    for told in (
        "x_mm;y_mm;z_mm\n1.000;2.0;0\n5.250;2.000;0\n",  # 2.0 groups nothing
        "x_mm;y_mm;z_mm\n1.000;2.000,5;0\n5.250;2.000;0\n",  # a decimal comma
        "x_mm,y_mm,z_mm\n1.000,2.000,0\n5.250,2.000,0\n",  # commas divide the columns
        "x_mm;y_mm;z_mm\n1;2;0\n5;2;0\n",
    ):
        assert "points-may-group" not in [one.code for one in read(told).findings]
