"""Rows of a point file that lost something: short ones, a file cut short, a header glued to one."""

from __future__ import annotations

import pytest
from point_samples import codes, near, only, points

from analyzer.errors import RouteError
from analyzer.findings import Severity

WIDE = "x_ft,y_ft,z_ft,radius_ft,fitting,label\n"
NARROW = "x_ft,y_ft,z_ft,fitting,label\n"


@pytest.mark.parametrize("row", ["20,12,1.5,,", "20,0,12,"])
def test_a_short_row_that_ends_in_an_empty_cell_lost_one_and_is_refused(read, row):
    text = f"{WIDE}0,0,4,,panel,P1\n0,0,12,1.5,,\n{row}\n20,30,12,1.5,,\n20,30,30,,equipment,M1\n"
    with pytest.raises(RouteError, match=r"row 4: .* last of them is empty.*nothing tells which"):
        read(text)


@pytest.mark.parametrize("row", ["20,0,12", "20,0,12,pull box"])
@pytest.mark.parametrize("kept", ["0,0,12,,", "0,0,12,,C 7"])
def test_a_short_row_that_no_lost_cell_explains_is_trimmed_and_a_note(read, row, kept):
    """With a cell lost before them, its numbers would stand under a fitting, its words in z."""
    text = f"{NARROW}0,0,4,panel,P1\n{kept}\n{row}\n20,30,12,equipment,M1\n"
    found = only(read(text), "rows-short")
    assert found.severity is Severity.NOTE
    assert found.message.startswith("row 4: the last cells are missing")


@pytest.mark.parametrize("row", ["20,0,12,1.5", "20,0,12,,pull box", "20,12,0"])
def test_a_short_row_with_a_radius_is_whole_where_no_other_reading_fits(read, row):
    text = f"{WIDE}0,0,4,,panel,P1\n0,0,12,1.5,,\n{row}\n20,30,12,1.5,,\n20,30,30,,equipment,M1\n"
    assert only(read(text), "rows-short").severity is Severity.NOTE


def test_a_lone_short_row_that_ends_in_an_empty_cell_may_lack_a_radius_or_fitting(read):
    """Several alike are written so; what one alone lacks stood before its empty cell."""
    text = f"{WIDE}0,0,4,,panel,P1\n0,0,12,1.5,,\n20,0,12,1.5,\n20,30,12{{}}\n20,30,30,,panel,M1\n"
    found = only(read(text.format(",1.5,,")), "rows-short")
    assert found.severity is Severity.CAUTION
    assert found.message.startswith("row 4: fewer cells than headings, and the last is empty")
    assert found.concern.entities == ("row 4",)
    assert only(read(text.format(",1.5,")), "rows-short").severity is Severity.NOTE


@pytest.mark.parametrize(("row", "is_shifted"), [("20,12,2,EMT", True), ("20,0,12,2", False)])
def test_a_word_under_a_column_of_numbers_tells_of_a_lost_cell_in_any_style(read, row, is_shifted):
    text = f"x_ft,y_ft,z_ft,size,type\n0,0,4,2,EMT\n0,0,12,2,EMT\n{row}\n20,9,12,2,EMT\n"
    severity = Severity.CAUTION if is_shifted else Severity.NOTE
    assert only(read(text), "rows-short").severity is severity


def test_rows_of_one_run_written_otherwise_are_a_note(read):
    rows = "A,0,0,0,\nA,10,0,0,\nA,10,10,0,pull box\nB,0,50,0\nB,20,50,0\n"
    assert only(read(f"run,x_ft,y_ft,z_ft,fitting\n{rows}"), "rows-short").severity is Severity.NOTE


@pytest.mark.parametrize(("label", "severity"), [("p", Severity.NOTE), ("", Severity.CAUTION)])
def test_a_number_under_a_column_is_a_reading_where_others_stand_there(read, label, severity):
    full = "".join(f"{i},{i % 2},12,{label}{i}\n" for i in range(1, 8))
    drawn = read(f"x_ft,y_ft,z_ft,label\n0,0,12,A\n{full}20,9,12\n40,0,12,E\n")
    assert only(drawn, "rows-short").severity is severity


def test_a_short_row_among_rows_that_keep_their_empty_cells_is_a_caution(read):
    text = f"{WIDE}0,0,4,,panel,P1\n0,0,12,,,\n20,12,1.5\n20,30,12,,equipment,M1\n"
    found = only(read(text), "rows-short")
    assert found.severity is Severity.CAUTION
    assert found.message.startswith("row 4: fewer cells than headings, while others keep their")
    assert found.concern.entities == ("row 4",)


def test_rows_that_all_end_in_a_filled_cell_are_trimmed_and_a_note(read):
    text = f"{NARROW}0,0,4,panel,P1\n0,0,12\n20,0,12,pull box\n20,30,12,equipment,M1\n"
    found = only(read(text), "rows-short")
    assert found.severity is Severity.NOTE
    assert found.message.startswith("rows 3, 4: ")


def test_the_one_short_row_among_many_full_ones_is_a_caution(read):
    full = "".join(f"{i},{i % 2},12,1.5\n" for i in range(1, 7))
    text = "x_ft,y_ft,z_ft,radius_ft\n0,0,12\n{}20,12,1.5\n{}40,0,12\n"
    found = [one for one in read(text.format(full, "")).findings if one.code == "rows-short"]
    assert [(one.severity, one.message[:6]) for one in found] == [
        (Severity.CAUTION, "row 9:"),
        (Severity.NOTE, "rows 2"),
    ]
    trimmed = read(text.replace("20,12,1.5\n", "").format(full, ""))
    assert only(trimmed, "rows-short").severity is Severity.NOTE


def test_empty_columns_trimmed_from_blocks_of_sixteen_rows_are_a_note(read):
    """So spreadsheets write text: a column empty in all sixteen rows has no delimiters there."""
    rows = [f"{i},0,12,," for i in range(15)] + [f"{i},0,12," for i in range(15, 30)]
    rows[0], rows[-1] = "0,0,4,panel,P1", "30,0,12,pull box"
    assert only(read(NARROW + "\n".join(rows) + "\n"), "rows-short").severity is Severity.NOTE
    wide = [",".join((*row.split(",")[:3], "", *row.split(",")[3:])) for row in rows]
    wide[5] = "5,12,1.5,,"
    with pytest.raises(RouteError, match="row 7: fewer cells"):
        read(WIDE + "\n".join(wide) + "\n")


@pytest.mark.parametrize("end", ["", ","])
def test_a_comma_too_many_behind_the_header_makes_no_row_short(read, end):
    drawn = read(f"x_ft,y_ft,z_ft,\n0,0,0{end}\n5,0,0{end}\n")
    assert "rows-short" not in codes(drawn)


def test_a_short_last_row_without_a_line_end_may_be_cut(read):
    text = f"{NARROW}0,0,4,panel,P1\n0,0,12\n20,0,12\n120,0,1"
    found = only(read(text), "cut-short")
    assert found.severity is Severity.CAUTION
    assert found.message.startswith("row 5, the last, has 3 of 5 cells and no line end behind it")
    assert "the file may end early" in found.message
    assert found.concern.is_every_run
    assert "cut-short" not in codes(read(f"{text}\n"))
    assert "cut-short" not in codes(read(f"{text}2,equipment,M1"))


@pytest.mark.parametrize(
    ("heights", "last", "is_cut"),
    [
        (("4.00", "12.50", "12.50"), "12.50", False),
        (("4.00", "12.50", "12.50"), "12.5", True),
        (("4", "12", "12"), "12", False),
        (("4", "12", "12"), "1", True),
        (("4.5", "12.5", "12.0"), "7.5", False),
        (("4", "12.5", "12.50"), "12.50", True),
        (("4", "12", "12"), "1,panel", False),
        (("4", "12,,", "12"), "12", True),
    ],
)
def test_a_last_row_as_short_as_others_is_cut_only_where_its_last_cell_may_be(
    read, heights, last, is_cut
):
    first, short, box = heights
    rows = f"0,0,{first},panel,P1\n0,0,{short}\n20,9,{box},pull box,B1\n40,9,{last}"
    assert ("cut-short" in codes(read(f"{NARROW}{rows}"))) is is_cut


@pytest.mark.parametrize(("last", "is_cut"), [("12.", True), ("12", True), ("12.00", False)])
def test_a_last_number_with_fewer_decimals_than_all_others_may_be_cut(read, last, is_cut):
    rows = "0,0,4.00\n0,0,12.50\n20,0,12.50\n20,9,12.50\n"
    drawn = read(f"x_ft,y_ft,z_ft\n{rows}40,9,{last}")
    assert ("cut-short" in codes(drawn)) is is_cut
    assert "cut-short" not in codes(read(f"x_ft,y_ft,z_ft\n{rows}40,9,{last}\n"))
    other = rows.replace("12.50", "12.5").replace("4.00", "4")
    assert "cut-short" not in codes(read(f"x_ft,y_ft,z_ft\n{other}40,9,{last}"))


@pytest.mark.parametrize("padding", ["", ",,,,"])
def test_a_header_with_the_first_row_glued_to_it_is_refused(read, padding):
    head = "x_ft,y_ft,z_ft,fitting,label0,0,4,panel,P1\n"
    rows = f"0,0,12,,{padding}\n20,0,12,,{padding}\n20,30,12,equipment,M1{padding}\n"
    with pytest.raises(RouteError, match=r"row 1: the numbers 0, 4 stand among .* row of its own"):
        read(head + rows)


def test_numbers_above_columns_that_hold_something_are_headings(read):
    drawn = read("x_ft,y_ft,z_ft,1,2\n0,0,0,a,b\n5,0,0,a,b\n")
    assert points(drawn)[1] == near([[1.524, 0, 0]])[0]


def test_of_many_rows_before_the_header_the_first_are_named(read):
    text = "".join(f"remark {n}\n" for n in range(8)) + "x_ft,y_ft,z_ft\n0,0,4\n0,0,12\n"
    found = only(read(text), "rows-skipped")
    assert found.message == "rows 1, 2, 3, 4, 5 and 3 more before the header: left out"
