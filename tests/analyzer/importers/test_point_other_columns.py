"""Columns of a point file that are not called by their plain names: runs, orders, labels."""

from __future__ import annotations

import pytest
from point_samples import codes, only

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.units import LengthUnit

TWO_RUNS = "x_ft,y_ft,z_ft,{}\n0,0,0,A\n10,0,0,A\n0,5,0,B\n0,9,0,B\n"


def names(drawn):
    return [path.name for path in drawn.paths]


OTHER_NAMES = (
    "Run ID,run no,Run Number,run no.,conduit_id,Raceway ID,line no,circuit no,Feeder Tag,Duct Mark"
)


@pytest.mark.parametrize("title", OTHER_NAMES.split(","))
def test_other_names_for_runs_tell_runs_apart_with_a_note(read, title):
    drawn = read(TWO_RUNS.format(title))
    assert names(drawn) == ["A", "B"]
    assert f'"{title}" tells the runs apart' in only(drawn, "run-column").message
    assert "columns-unused" not in codes(drawn)


@pytest.mark.parametrize("title", ["Conduit", "Line", "circuit", "Feeder", "Pipe"])
def test_a_bare_word_that_changes_may_be_a_size_and_is_asked_about(read, title):
    """Runs or sizes: read as runs it would cut one route, read as one it would join two."""
    words = f"row 1: the column \"{title}\" changes from 'A' to 'B', .* call the column run if"
    with pytest.raises(RouteError, match=words):
        read(TWO_RUNS.format(title))
    assert len(names(read(TWO_RUNS.replace("B", "A").format(title)))) == 1


def test_a_run_that_begins_where_another_ends_is_a_caution(read):
    text = "run,x_ft,y_ft,z_ft,fitting\nA,0,0,10,\nA,20,0,10,\nB,20,0,10,{}\nB,20,9,10,\n"
    found = only(read(text.format("")), "runs-meet")
    assert found.severity is Severity.CAUTION
    assert "run 'B' begins where run 'A' ends" in found.message
    assert "runs-meet" not in codes(read(text.format("pull box")))


def test_the_better_name_tells_runs_apart(read):
    text = "conduit tag,circuit no,x_m,y_m,z_m\nA,1,0,0,0\nA,2,1,0,0\nB,3,5,0,0\nB,4,6,0,0\n"
    assert names(read(text)) == ["A", "B"]
    assert names(read(text.replace("2,1,0", "1,1,0").replace("4,6", "3,6"))) == ["A", "B"]


def test_two_names_that_tell_rows_apart_in_two_ways_are_refused(read):
    text = "line no,circuit no,x_m,y_m,z_m\nA,1,0,0,0\nA,1,1,0,0\nB,1,5,0,0\nB,1,6,0,0\n"
    with pytest.raises(
        RouteError, match=r'"line no" and "circuit no" tell the rows apart in two ways'
    ):
        read(text)
    assert names(read(text.replace("B,1", "B,2"))) == ["A", "B"]


def test_numbers_that_differ_in_every_row_count_points_and_no_runs(read):
    drawn = read("line,x_m,y_m,z_m\n1,0,0,0\n2,1,0,0\n3,5,0,0\n4,6,0,0\n")
    assert names(drawn) == [""]
    assert '"line"' in only(drawn, "columns-unused").message


def test_a_size_in_inches_is_no_name_of_a_run(read):
    drawn = read("x_ft,y_ft,z_ft,conduit_in\n0,0,0,2\n10,0,0,2\n0,5,0,3\n0,9,0,3\n")
    assert names(drawn) == [""]


def test_names_missing_on_some_rows_are_refused_not_joined(read):
    with pytest.raises(RouteError, match=r'rows 3, 5: no name in the column "Conduit no"'):
        read("x_m,y_m,z_m,Conduit no\n0,0,0,A\n1,0,0,\n0,5,0,B\n0,9,0,\n")
    assert names(read("x_m,y_m,z_m,Conduit no\n0,0,0,A\n1,0,0,\n1,5,0,\n")) == [""]


@pytest.mark.parametrize("title", ["Segment", "name", "id"])
def test_values_constant_over_blocks_of_rows_are_a_caution(read, title):
    drawn = read(TWO_RUNS.format(title))
    found = only(drawn, "runs-may-differ")
    assert found.severity is Severity.CAUTION
    words = f'"{title}" stays the same over blocks of rows'
    assert f"{words} ('A' in rows 2 to 3, 'B' in rows 4 to 5)" in found.message
    assert found.message.endswith("If it tells runs apart, call it run")


@pytest.mark.parametrize("title", ["Floor", "Conduit type", "Date", "Trade Size", "HRMS"])
def test_what_describes_points_does_not_tell_runs_apart(read, title):
    assert "runs-may-differ" not in codes(read(TWO_RUNS.format(title)))


@pytest.mark.parametrize(
    "title", ["R (in)", "CLR [in]", "Centerline radius (in)", "Biegeradius in"]
)
def test_a_radius_may_be_called_otherwise_where_its_unit_stands_by_it(read, title):
    drawn = read(f"x_ft,y_ft,z_ft,{title}\n0,0,0,\n9,0,0,36\n9,9,0,\n")
    assert drawn.paths[0].corner_radius_m[1] == pytest.approx(36 * 0.0254)


@pytest.mark.parametrize("values", ["AAAA", "AABC", "AB B", "AA  "])
def test_values_that_tell_no_blocks_apart_say_nothing(read, values):
    rows = "".join(f"{i},0,0,{value.strip()}\n" for i, value in enumerate(values))
    assert "runs-may-differ" not in codes(read("x_m,y_m,z_m,note\n" + rows))


def test_blocks_within_named_runs_say_nothing(read):
    ends = ("A,1", "A,1", "A,2", "A,2", "B,1", "B,1")
    rows = "".join(f"{i},0,0,{end}\n" for i, end in enumerate(ends))
    assert "runs-may-differ" not in codes(read("x_m,y_m,z_m,run,floor\n" + rows))


@pytest.mark.parametrize(
    ("title", "values", "row"),
    [
        ("point", ["3", "1", "2", "4"], 3),
        ("Pt No", ["P1", "P2", "P10", "P9"], 5),
        ("station_ft", ["0+00", "0+50", "0+25", "1+00"], 4),
        ("Chainage (m)", ["0", "12.5", "7.25", "20"], 4),
        ("#", ["1", "2", "4", "3"], 5),
        ("id", ["1", "9", "8", "10"], 4),
    ],
)
def test_numbers_of_points_that_do_not_ascend_are_a_caution(read, title, values, row):
    rows = "".join(f"{value},{i},0,0\n" for i, value in enumerate(values))
    found = only(read(f"{title},x_m,y_m,z_m\n{rows}"), "rows-out-of-order")
    assert found.severity is Severity.CAUTION
    before, after = values[row - 3 : row - 1]
    assert f'the column "{title}" goes from {before!r} to {after!r} at row {row}:' in found.message


def test_order_is_asked_of_each_run(read):
    text = "no,x_m,y_m,z_m,run\n1,0,0,0,A\n2,1,0,0,A\n1,0,5,0,B\n2,0,6,0,B\n"
    assert "rows-out-of-order" not in codes(read(text))
    found = only(read(text.replace("1,0,5,0,B\n2", "2,0,5,0,B\n1")), "rows-out-of-order")
    assert "from '2' to '1' at row 5" in found.message


@pytest.mark.parametrize(
    "values", [["1", "2", "3"], ["9", "10", "10"], ["P9", "P10", "P11"], ["2", "A", "1"]]
)
def test_numbers_that_ascend_or_are_none_say_nothing(read, values):
    rows = "".join(f"{value},{i},0,0\n" for i, value in enumerate(values))
    found = codes(read(f"point,x_m,y_m,z_m\n{rows}"))
    assert not {"rows-out-of-order", "rows-descend"} & set(found)


def test_stations_that_fall_all_along_are_a_note(read):
    drawn = read("station,x_m,y_m,z_m\n3+00,0,0,0\n2+00,1,0,0\n1+00,5,0,0\n")
    assert only(drawn, "rows-descend").severity is Severity.NOTE


def test_labels_inside_a_run_without_a_column_of_fittings_are_a_note(read):
    drawn = read("x_ft,y_ft,z_ft,label\n0,0,0,P1\n10,0,0,Box B1\n10,10,0,\n10,10,20,E1\n")
    said = only(drawn, "label-without-fitting")
    assert said.severity is Severity.NOTE
    assert said.message.endswith("no fittings: Box B1. A column called fitting names their kind")


def test_a_run_of_one_point_names_the_column_that_made_it(read):
    words = "row 4: run '3' holds one point only, as the column \"Conduit no\" tells runs apart"
    with pytest.raises(RouteError, match=words):
        read("x_ft,y_ft,z_ft,Conduit no\n0,0,0,2\n10,0,0,2\n0,5,0,3\n")


@pytest.mark.parametrize("other", ["feeder 1", "Feeder1", "FEEDER 01"])
def test_names_that_differ_in_capitals_spaces_or_zeros_are_asked_about(read, other):
    rows = f"Feeder 1,0,0,10\nFeeder 1,20,0,10\n{other},20,0,25\n{other},45,0,25\n"
    with pytest.raises(RouteError, match=f"row 4: '{other}' .* 'Feeder 1' in row 2 only in"):
        read(f"run,x_ft,y_ft,z_ft\n{rows}")
    read(f"run,x_ft,y_ft,z_ft\n{rows.replace(other, 'Feeder 10')}")


@pytest.mark.parametrize("title", ["R", "RAD", "clr"])
def test_a_short_name_for_a_radius_of_bare_numbers_is_read_in_their_unit_or_asked_about(
    read, title
):
    text = f"x,y,z,{title}\n0,0,120,\n240,0,120,36\n240,180,120,-\n"
    drawn = read(text, units=LengthUnit.INCH)
    assert drawn.paths[0].corner_radius_m[1] == pytest.approx(36 * 0.0254)
    assert "radius-column" in codes(drawn)
    with pytest.raises(RouteError, match=f'no unit of length: "{title}"'):
        read(text.replace("x,y,z", "x_in,y_in,z_in"))


@pytest.mark.parametrize("columns", ["R,G,B\n0,0,0,8,8,8\n9,0,0,7,7,7", "R\n0,0,0,A\n9,0,0,C"])
def test_a_color_or_a_word_is_no_radius(read, columns):
    assert "radius-column" not in codes(read(f"x_m,y_m,z_m,{columns}\n"))


def test_marks_for_nothing_are_empty_cells_with_a_note(read):
    rows = "0,0,10,-,-\n20,0,10,24,\n20,15,10,N/A,--\n20,15,25,,-\n"
    drawn = read(f"x_ft,y_ft,z_ft,radius_in,label\n{rows}")
    assert drawn.paths[0].corner_radius_m == (None, pytest.approx(24 * 0.0254), None, None)
    assert drawn.fittings == ()
    said = [one.message for one in drawn.findings if one.code == "marks-empty"]
    assert said[0] == "rows 2, 4, column \"radius_in\": '-', 'N/A' read as an empty cell"


def test_depths_below_zero_are_asked_about_with_both_readings(read):
    text = "E_ft,N_ft,Depth_ft\n0,0,-3\n20,0,-3\n20,15,-8\n"
    with pytest.raises(RouteError, match=r"If minus means below.*call the column elevation.*axes"):
        read(text)
    found = only(read(text, axes=("east", "north", "depth")), "depth-negative")
    assert found.severity is Severity.CAUTION
    plain = read(text.replace("-", ""), axes=("east", "north", "depth"))
    assert "depth-negative" not in codes(plain)


@pytest.mark.parametrize("remark", [" # corner", ",# corner", ",// corner"])
def test_remarks_behind_numbers_are_refused_with_where_they_may_stand(read, remark):
    with pytest.raises(RouteError, match=r"row 3: a remark stands behind the numbers"):
        read(f"x_ft,y_ft,z_ft\n0,0,10\n20,0,10{remark}\n20,15,10\n")


def test_a_header_that_comes_again_is_refused_with_what_it_may_begin(read):
    with pytest.raises(RouteError, match=r"row 4: .* names the columns once more.*called run"):
        read("x_ft,y_ft,z_ft\n0,0,10\n20,0,10\nx_ft,y_ft,z_ft\n20,15,10\n20,15,20\n")


ROUTE = "0,0,4,{},P1\n0,0,12,{},\n20,0,12,{},B1\n20,30,12,{},M1\n"


@pytest.mark.parametrize(
    ("title", "cells", "words"),
    [
        ("raidus_ft", ("", "0.4", "0.4", ""), 'did you mean "radius"?'),
        ("Bend Raduis [in]", ("-", "36", "36", "-"), 'did you mean "bend radius"?'),
        ("outer radius (ft)", ("", "0.4", "0.4", ""), 'did you mean "radius"?'),
        ("bend_in", ("", "36", "36", ""), "radii of bends"),
        ("radius at each PI", ("", "2", "2", ""), "radii of bends"),
        ("radii used for bends", ("", "2", "2", ""), "radii of bends"),
        ("fiting", ("panel", "", "pull box", "equipment"), 'did you mean "fitting"?'),
        ("device", ("panel", "", "pull box", "equipment"), "names kinds of fittings"),
        ("code", ("", "MH", "hh", ""), "names kinds of fittings"),
        ("lable", ("P1", "", "Box B1", "M1"), 'did you mean "label"?'),
    ],
)
def test_a_column_not_used_that_looks_like_one_that_is_read_is_a_caution(read, title, cells, words):
    drawn = read(f"x_ft,y_ft,z_ft,{title},note\n" + ROUTE.format(*cells))
    found = only(drawn, "column-like")
    assert found.severity is Severity.CAUTION
    assert f'the column "{title}"' in found.message
    assert words in found.message
    assert found.concern.is_every_run
    assert title not in only(drawn, "columns-unused").message


ORDINARY = (
    "code,description,desc,point number,Pt,id,date,time,hz,vt,SD,remarks,note,type,size,material,"
    "level,floor,setting,layer,string,pdop,station,chainage,offset,azimuth,radian,radial,gradient,"
    "grading,round,king pin,find,table,cable,cell,bend angle,bend no,bend type,bends,turn,status,"
    "quality,accuracy,zone,color,circuit type,equipment list,box note,fit,rating"
)


ANGLES_OF_BENDS = (
    "Bend (deg),bend°,bend [°],degrees of bend,cumulative bend,bend total,total bend (deg),is_bend,"
    "bend?,bend #,bend sum,bend station,bend station_ft,bend length_ft,bend elev (ft),bend x_ft,"
    "bend allowance_in,bend pt,PI bend,bend,search radius,accuracy radius,error radius (ft),"
    "radius angle"
)


@pytest.mark.parametrize("titles", [ORDINARY, ANGLES_OF_BENDS])
@pytest.mark.parametrize("cells", [("1", "2", "3", "4"), ("A", "corner", "bend", "end")])
def test_columns_that_surveyors_write_are_none_of_those(read, cells, titles):
    head = f"x_ft,y_ft,z_ft,{titles}"
    titles = titles.split(",")
    rows = "".join(
        f"{i},{i % 2},0,{','.join([cell] * len(titles))}\n" for i, cell in enumerate(cells)
    )
    found = codes(read(f"{head}\n{rows}"))
    assert "column-like" not in found
    assert "columns-unused" in found


@pytest.mark.parametrize(
    ("title", "cell", "is_told"),
    [
        ("bend", "3.5", True),
        ("bend", "22.5", False),
        ("bend", "45", False),
        ("bend size", "18", True),
        ("bend station", "3.5", False),
        ("bend angle", "3.5", False),
    ],
)
def test_lengths_in_a_column_called_by_bends_may_be_radii(read, title, cell, is_told):
    drawn = read(f"x_ft,y_ft,z_ft,{title}\n0,0,0,\n9,0,0,{cell}\n9,9,0,\n")
    assert ("column-like" in codes(drawn)) == is_told


def test_a_column_that_looks_like_one_already_there_is_no_caution(read):
    rows = "0,0,0,,3,panel,panel\n9,0,0,2,3,pull box,pull box\n9,9,0,,3,,\n"
    drawn = read(f"x_ft,y_ft,z_ft,radius_ft,raidus_in,fitting,device\n{rows}")
    assert "column-like" not in codes(drawn)


def test_ends_alone_that_are_called_by_kinds_are_no_caution(read):
    drawn = read("x_ft,y_ft,z_ft,description\n0,0,0,panel\n9,0,0,\n9,9,0,equipment\n")
    assert "column-like" not in codes(drawn)


@pytest.mark.parametrize(
    ("titles", "radius_ft"),
    [
        ("radii_ft,fittings,labels", 2.0),
        ("radius in ft,Fitting type,label", 2.0),
        ("radius_in_in,fitting kinds,label", 1 / 6),
        ("Bend radius (in ft),type of fitting,labels", 2.0),
    ],
)
def test_plurals_and_units_with_a_word_before_them_are_read(read, titles, radius_ft):
    drawn = read(f"x_ft,y_in_ft,z_ft,{titles}\n0,0,0,,panel,P1\n9,0,0,2,pull box,B1\n9,9,0,,,\n")
    assert drawn.paths[0].corner_radius_m[1] == pytest.approx(radius_ft * 0.3048)
    assert [fitting.name for fitting in drawn.fittings] == ["P1", "B1"]
    assert not {"column-like", "columns-unused"} & set(codes(drawn))


@pytest.mark.parametrize("title", ["fittings", "fitting type", "kinds"])
@pytest.mark.parametrize(
    "cells",
    [("0", "1", "0"), ("start", "elbow", ""), ("", "90 elbow", "end"), ("", "coupling", "")],
)
def test_a_plural_that_holds_no_kind_is_another_column(read, title, cells):
    rows = "0,0,0,{}\n9,0,0,{}\n9,9,0,{}\n".format(*cells)
    drawn = read(f"x_ft,y_ft,z_ft,{title}\n{rows}")
    assert drawn.fittings == ()
    assert f'"{title}"' in only(drawn, "columns-unused").message
    with pytest.raises(RouteError, match=r"column \"fitting\": '.*' is no kind of fitting"):
        read(f"x_ft,y_ft,z_ft,fitting\n{rows.replace('end', '9')}")


@pytest.mark.parametrize("cells", [("pull box", "elbow"), ("pul box", ""), ("LB", "")])
def test_a_plural_that_holds_a_kind_or_nearly_one_is_asked_about(read, cells):
    rows = "0,0,0,\n9,0,0,{}\n9,9,0,{}\n".format(*cells)
    with pytest.raises(RouteError, match="is no kind of fitting"):
        read(f"x_ft,y_ft,z_ft,fittings\n{rows}")


def test_the_plain_name_is_read_before_its_plural_and_two_plurals_are_refused(read):
    drawn = read("x_ft,y_ft,z_ft,fittings,fitting\n0,0,0,LB,panel\n9,0,0,,\n9,9,0,,\n")
    assert len(drawn.fittings) == 1
    assert '"fittings"' in only(drawn, "columns-unused").message
    with pytest.raises(RouteError, match=r'"fittings" and "fitting type" could both be'):
        read("x_ft,y_ft,z_ft,fittings,fitting type\n0,0,0,,\n9,0,0,,\n")


def test_a_kind_of_fitting_with_a_question_mark_is_a_caution(read):
    drawn = read("x_ft,y_ft,z_ft,fitting\n0,0,0,\n9,0,0,pull box?\n9,9,0,\n")
    found = only(drawn, "fitting-unsure")
    assert found.severity is Severity.CAUTION
    assert "row 3, column \"fitting\": 'pull box?' is read as pull box" in found.message
    assert found.concern.entities == ("row 3",)
