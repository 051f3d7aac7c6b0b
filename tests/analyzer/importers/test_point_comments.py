"""Comment rows of a point file: left out and counted, never mixed up with points."""

from __future__ import annotations

import pytest
from point_samples import codes, near, only, points

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.units import LengthUnit


def test_comments_between_points_are_left_out_and_counted(read):
    drawn = read(
        "x_m,y_m,z_m\n0,0,0\n# middle, comment, here\n1,0,0\n// x\n#9,9,0\n2,0,0\n# end\n\n"
    )
    assert points(drawn) == near([[0, 0, 0], [1, 0, 0], [2, 0, 0]])
    found = only(drawn, "rows-comment")
    assert found.severity is Severity.NOTE
    assert found.message == (
        "rows 3, 5, 6, 8: 4 comments left out: '# middle, comment, here', '// x', '#9, 9, 0', ..."
        ". The points above and below are one run; where they are two, add a column run"
    )
    assert "rows-blank" not in codes(drawn)


def test_comments_below_all_points_or_beside_runs_say_no_more(read):
    assert only(read("x_m,y_m,z_m\n0,0,0\n1,0,0\n# end\n"), "rows-comment").message.endswith(
        "row 4: a comment left out: '# end'"
    )
    rows = "x_m,y_m,z_m,conduit tag\n0,0,0,A\n1,0,0,A\n# next\n0,5,0,B\n1,5,0,B\n"
    drawn = read(rows)
    assert [path.name for path in drawn.paths] == ["A", "B"]
    assert "one run" not in only(drawn, "rows-comment").message


@pytest.mark.parametrize("cell", ["#REF!", "#N/A", "#DIV/0!", "#NAME?", "####"])
def test_an_error_of_a_spreadsheet_is_no_comment(read, cell):
    with pytest.raises(RouteError, match=rf"row 3, column \"x_m\": '{cell[:4]}.*no finite number"):
        read(f"x_m,y_m,z_m\n0,0,0\n{cell},0,0\n1,0,0\n")


def test_names_that_begin_with_a_number_sign_are_no_comments(read):
    drawn = read("point,x_m,y_m,z_m\n#1,0,0,0\n#2,1,0,0\n# all measured twice\n#3,2,0,0\n")
    assert len(points(drawn)) == 3
    assert "# all" in only(drawn, "rows-comment").message


def test_a_row_that_may_be_a_comment_or_a_point_is_refused(read):
    with pytest.raises(RouteError, match="row 3: begins with '#' and holds a point, so it may be"):
        read("point,x_m,y_m,z_m\n1,0,0,0\n#2,1,0,0\n3,2,0,0\n")


def test_comments_stand_above_points_without_a_header(read):
    drawn = read("# job 12, north, wing 3\n#0,0,1\n0,0,0\n1,2,3\n", units=LengthUnit.METER)
    assert points(drawn) == [[0, 0, 0], [1, 2, 3]]
    assert read("# 1, 2, 3\nx_m,y_m,z_m\n0,0,0\n1,2,3\n").length_unit == "m"


def test_lines_of_number_signs_alone_are_comments(read):
    drawn = read("x_m,y_m,z_m\n#\n0,0,0\n####\n1,0,0\n")
    assert len(points(drawn)) == 2
    assert "rows 2, 4: 2 comments" in only(drawn, "rows-comment").message
    with pytest.raises(RouteError, match="'#REF!' is no finite number"):
        read("x_m,y_m,z_m\n0,0,0\n#REF!,,\n1,0,0\n")


@pytest.mark.parametrize(
    "comment",
    [
        "# Run B",
        "// feeder 2",
        "# conduit C-12: level 2",
        "# next run",
        "# start of run 2",
        "# LINE 7",
        "# run 2 starts here",
        "// Run B continues from the pull box",
        "# feeder 2 begins",
        "# conduit 12 from level 2",
        "# run 1 ends here",
    ],
)
def test_a_comment_between_points_that_names_a_run_is_a_caution(read, comment):
    found = only(read(f"x_m,y_m,z_m\n0,0,0\n6,0,0\n{comment}\n6,2,0\n9,2,0\n"), "rows-comment")
    assert found.severity is Severity.CAUTION
    assert found.concern.is_every_run
    assert "The comment in row 4 names a run" in found.message
    assert found.message.endswith("read as one run. If they are two, add a column called run")


def test_comments_that_are_bare_names_over_blocks_of_points_are_a_caution(read):
    rows = "x_m,y_m,z_m\n# A-1\n0,0,0\n6,0,0\n# A-2\n6,2,0\n9,2,0\n"
    found = only(read(rows), "rows-comment")
    assert found.severity is Severity.CAUTION
    assert "as names of runs do" in found.message


@pytest.mark.parametrize("start", ["0,2,0\n6,2,0\n8,2,0", "40,0,0\n43,0,0\n46,0,0"])
def test_a_comment_across_which_the_way_is_unlike_the_others_is_a_caution(read, start):
    found = only(read(f"x_m,y_m,z_m\n0,0,0\n3,0,0\n6,0,0\n# level 2\n{start}\n"), "rows-comment")
    assert found.severity is Severity.CAUTION
    assert "from row 4 to row 6, across a comment, is unlike the way between two" in found.message


@pytest.mark.parametrize(
    "comment",
    [
        "# run along the wall",
        "# pipe 3 crosses here",
        "# shot again",
        "# box at 3.2",
        "# A",
        "# photo 12\n6,3,0\n# photo 13",
        "# conduit",
    ],
)
def test_a_remark_on_a_row_stays_a_note(read, comment):
    rows = f"x_m,y_m,z_m\n0,0,0\n3,0,0\n6,0,0\n{comment}\n6,4,0\n9,4,0\n9,4,6\n"
    found = only(read(rows), "rows-comment")
    assert found.severity is Severity.NOTE
    assert found.message.endswith("are one run; where they are two, add a column run")
