"""What `axes` under [drawing] says of the columns of a point file, whichever order they have."""

from __future__ import annotations

import re
from itertools import permutations

import pytest
from point_samples import codes, near, only, points

from analyzer.errors import JobError, RouteError
from analyzer.findings import Severity

PLACES = [(0, 0, -3), (0, 40, -3), (20, 60, -8), (20, 90, -8), (20, 90, -1)]
TRIPLES = [("x", "y", "depth"), ("x", "y", "TVD"), ("E", "N", "depth"), ("x", "northing", "depth")]
HEADED = [order for names in TRIPLES for order in permutations(zip(names, range(3), strict=True))]


def table(order, sign_of_height):
    """A file in feet whose columns are named and filled in an order of (name, coordinate)."""
    signs = (1, 1, sign_of_height)
    rows = [",".join(f"{name}_ft" for name, _ in order)]
    rows += [",".join(str(signs[i] * place[i]) for _, i in order) for place in PLACES]
    return "\n".join(rows) + "\n"


def advised(message):
    """The directions of the line that a message says to write."""
    (line,) = re.findall(r"axes = \[(.*?)\]", message)
    return tuple(line.replace('"', "").split(", "))


@pytest.mark.parametrize("order", HEADED, ids=lambda order: "-".join(name for name, _ in order))
def test_the_line_advised_for_depths_reads_what_the_header_says(read, order):
    text = table(order, -1)
    with pytest.raises(RouteError, match="counts depth") as caught:
        read(text)
    drawn = read(text, axes=advised(str(caught.value)))
    elevations = table([("z" if i == 2 else name, i) for name, i in order], 1)
    assert (
        points(drawn) == points(read(elevations)) == near([[v * 0.3048 for v in p] for p in PLACES])
    )
    assert all(finding.severity is Severity.NOTE for finding in drawn.findings)


def test_axes_count_the_columns_as_they_stand_among_others(read):
    drawn = read("no,y_ft,x_ft,radius_ft,z_ft\n1,0,0,,0\n2,3,4,,5\n", axes=("north", "east", "up"))
    assert points(drawn)[1] == near([[4 * 0.3048, 3 * 0.3048, 5 * 0.3048]])[0]


def test_axes_say_what_each_column_out_of_order_was_taken_as(read):
    found = only(
        read("y_ft,x_ft,z_ft\n0,0,0\n3,4,5\n", axes=("north", "east", "up")), "axes-by-job"
    )
    assert found.severity is Severity.NOTE
    assert '"y_ft" as north, "x_ft" as east, "z_ft" as up' in found.message


def test_axes_against_the_letters_of_columns_out_of_order_are_a_caution(read):
    drawn = read("y_ft,x_ft,z_ft\n0,0,0\n3,4,5\n", axes=("east", "north", "up"))
    assert points(drawn)[1] == near([[3 * 0.3048, 4 * 0.3048, 5 * 0.3048]])[0]
    found = only(drawn, "axes-against-header")
    assert found.severity is Severity.CAUTION
    assert found.concern.is_every_run
    assert '"y_ft" as east, "x_ft" as north, "z_ft" as up' in found.message
    assert 'axes = ["north", "east", "up"]' in found.message


def test_axes_that_give_plain_columns_in_order_another_meaning_are_a_note(read):
    drawn = read("x_ft,y_ft,z_ft\n0,0,0\n3,4,5\n", axes=("north", "east", "up"))
    assert '"x_ft" as north' in only(drawn, "axes-by-job").message


def test_axes_that_repeat_the_header_say_nothing(read):
    drawn = read("x_ft,y_ft,z_ft\n0,0,0\n3,4,5\n", axes=("east", "north", "up"))
    assert not {"axes-by-job", "axes-against-header"} & set(codes(drawn))


def test_axes_refused_by_a_named_column_tell_the_line_that_fits(read):
    text = "N_ft,E_ft,z_ft\n0,0,0\n3,4,5\n"
    with pytest.raises(JobError, match=r'"N_ft" is east') as caught:
        read(text, axes=("east", "north", "depth"))
    drawn = read(text, axes=advised(str(caught.value).split("the header says")[1]))
    assert points(drawn)[1] == near([[4 * 0.3048, 3 * 0.3048, -5 * 0.3048]])[0]
