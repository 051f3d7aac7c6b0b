"""Fittings beside corners: each at its own place, whatever corners others hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from analyzer.findings import Severity
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job
from analyzer.route.run import Run
from analyzer.units import ft

JOB = """
[raceway]
type = "RMC"
trade_size = "2"
bend_radius = "RADIUS"
[[conductors]]
count = 3
size = "4/0"
insulation = "THHN"
metal = "copper"
"""


def run_of(tmp_path: Path, rows: str, radius: str, **places: str) -> Run:
    path = tmp_path / "rink.csv"
    path.write_text("x_ft,y_ft,z_ft,fitting,label\n" + rows.replace(" ", "\n") + "\n")
    text = JOB.replace("RADIUS", radius)
    for name, place in places.items():
        text += f'[[fittings]]\nname = "{name}"\nkind = "pull box"\n{place}\n'
    (run,) = open_route(path, parse_job(text)).runs
    return run


def stations_ft(run: Run) -> dict[str, float]:
    return {fitting.name: fitting.station_m / ft(1.0) for fitting in run.fittings[1:-1]}


@pytest.mark.parametrize("over_ft", [1, 2])
def test_box_at_a_drawn_corner_stays_there_where_the_run_comes_by_again(tmp_path, over_ft) -> None:
    rows = f"0,0,0,, 20,0,0,manhole,A 20,20,0,, 0,20,{over_ft},, 40,-20,{over_ft},,"
    run = run_of(tmp_path, rows, "3 ft")
    assert stations_ft(run) == {"A": pytest.approx(20.0)}
    assert [bend.in_fitting for bend in run.bends] == [True, False, False]


@pytest.mark.parametrize("over_ft", [0.4, 2.0])
def test_box_placed_at_a_corner_by_the_job_stays_there_too(tmp_path, over_ft) -> None:
    rows = f"0,0,0,, 20,0,0,, 20,20,0,, 0,20,{over_ft},, 40,-20,{over_ft},,"
    run = run_of(tmp_path, rows, "3 ft", A='position = ["20 ft", "0 ft", "0 ft"]')
    assert stations_ft(run) == {"A": pytest.approx(20.0)}


@pytest.mark.parametrize("place", ['at = "29 ft"', 'position = ["19 ft", "10 ft", "0 ft"]'])
def test_station_counts_along_corners_that_boxes_before_it_hold(tmp_path, place) -> None:
    """The box stands 12 in before the corner at 30 ft: with a snap of 6 in the bend stays."""
    rows = "0,0,0,, 10,0,0,, 10,10,0,, 20,10,0,, 20,20,1,,"
    corners = {
        "C1": 'position = ["10 ft", "0 ft", "0 ft"]',
        "C2": 'position = ["10 ft", "10 ft", "0 ft"]',
    }
    run = run_of(tmp_path, rows, "9.5 in", **corners, B=place)
    assert stations_ft(run) == pytest.approx({"C1": 10.0, "C2": 20.0, "B": 29.0})
    assert [bend.in_fitting for bend in run.bends] == [True, True, False]


@pytest.mark.parametrize("place", ['at = "23 ft"', 'position = ["20 ft", "3 ft", "0.15 ft"]'])
def test_box_on_the_line_beside_a_corner_box_is_kept(tmp_path, place) -> None:
    """On the corner without a box a bend of 6 ft passes the place at 8 in."""
    rows = "0,0,0,, 20,0,0,, 20,20,1,,"
    corner = 'position = ["20 ft", "0 ft", "0 ft"]'
    run = run_of(tmp_path, rows, "6 ft", C1=corner, B=place)
    assert stations_ft(run) == pytest.approx({"C1": 20.0, "B": 23.0}, abs=0.01)
    assert not [finding for finding in run.findings if finding.code == "fitting-far"]


CORNERS = "0,0,4,, 0,0,12,, 30,0,12,, 30,32,12,, 60,32,12,, 60,60,12,,"
"""Four corners of 90°."""


@pytest.mark.parametrize("snap", ["6 in", "6 ft", "30 ft"])
def test_wider_snap_holds_no_more_corners(tmp_path, snap) -> None:
    """A snap says how far off the line a fitting may stand, not how large it is."""
    for box in ('position = ["30 ft", "5 ft", "12 ft"]', 'position = ["30.3 ft", "5 ft", "12 ft"]'):
        run = run_of(tmp_path, CORNERS, "9.5 in", A=f'{box}\n[drawing]\nsnap = "{snap}"')
        assert [bend.in_fitting for bend in run.bends] == [False] * 4
    off = 'position = ["50 ft", "16 ft", "12 ft"]\n[drawing]\nsnap = "30 ft"'
    run = run_of(tmp_path, CORNERS, "9.5 in", A=off)
    assert [bend.in_fitting for bend in run.bends] == [False] * 4


@pytest.mark.parametrize(("away_in", "is_held"), [(5.9, True), (6.1, False), (6.9, False)])
@pytest.mark.parametrize("snap", ["7 in", "6 ft"])
def test_fitting_without_a_size_holds_corners_within_six_inches(
    tmp_path, snap, away_in, is_held
) -> None:
    box = f'position = ["30 ft", "{away_in} in", "12 ft"]\n[drawing]\nsnap = "{snap}"'
    run = run_of(tmp_path, CORNERS, "2 in", A=box)
    assert [bend.in_fitting for bend in run.bends] == [False, is_held, False, False]


def test_narrower_snap_holds_fewer_corners(tmp_path) -> None:
    for snap, is_held in (("6 in", True), ("3 in", False)):
        box = f'position = ["30 ft", "0.4 ft", "12 ft"]\n[drawing]\nsnap = "{snap}"'
        run = run_of(tmp_path, CORNERS, "9.5 in", A=box)
        assert any(bend.in_fitting for bend in run.bends) is is_held


def doubt_of(run: Run) -> str:
    said = [finding for finding in run.findings if finding.code == "corner-in-doubt"]
    assert all(finding.severity is Severity.CAUTION for finding in said)
    return "".join(finding.message for finding in said)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ('"36 in", "36 in", "12 in"', []),
        ('"36 ft", "36 ft", "12 ft"', ["corners at 37.", "one corner as a rule", "36.0 ft"]),
        ('"30 ft", "3 ft", "3 ft"', []),
    ],
)
def test_size_in_a_wrong_unit_is_a_caution(tmp_path, size, words) -> None:
    box = f'position = ["30 ft", "16 ft", "12 ft"]\nsize = [{size}]'
    said = doubt_of(run_of(tmp_path, CORNERS, "9.5 in", A=box))
    assert bool(said) is bool(words)
    assert all(word in said for word in words)


def test_size_no_box_has_is_a_caution_though_it_holds_one_near_corner(tmp_path) -> None:
    for size, words in (("36 in", ""), ("36 ft", "36.0 ft, is more than the 6.0 ft")):
        box = f'position = ["30 ft", "1 ft", "12 ft"]\nsize = ["{size}"]'
        run = run_of(tmp_path, "0,0,12,, 30,0,12,, 30,32,12,,", "9.5 in", A=box)
        assert [bend.in_fitting for bend in run.bends] == [True]
        said = doubt_of(run)
        assert words in said and bool(said) is bool(words)


@pytest.mark.parametrize(("kind", "is_told"), [("pull box", True), ("manhole", False)])
def test_manhole_may_be_larger_than_a_box(tmp_path, kind, is_told) -> None:
    path = tmp_path / "rink.csv"
    path.write_text("x_ft,y_ft,z_ft\n0,0,12\n30,0,12\n30,32,12\n")
    text = JOB.replace("RADIUS", "9.5 in") + f'[[fittings]]\nname = "A"\nkind = "{kind}"\n'
    text += 'position = ["30 ft", "5 ft", "12 ft"]\nsize = ["12 ft", "12 ft", "8 ft"]'
    (run,) = open_route(path, parse_job(text)).runs
    assert [bend.in_fitting for bend in run.bends] == [True]
    assert bool(doubt_of(run)) is is_told


@pytest.mark.parametrize(("wide", "is_told"), [("12 in", True), ("24 in", False)])
def test_corner_that_only_the_longest_side_reaches_is_a_caution(tmp_path, wide, is_told) -> None:
    box = f'position = ["30 ft", "0.75 ft", "12 ft"]\nsize = ["24 in", "{wide}", "8 in"]'
    run = run_of(tmp_path, "0,0,12,, 30,0,12,, 30,32,12,,", "9.5 in", A=box)
    assert [bend.in_fitting for bend in run.bends] == [True]
    assert ("longest side, 24 in" in doubt_of(run)) is is_told


def test_two_corners_within_reach_of_one_box_are_a_caution(tmp_path) -> None:
    rows = "0,0,0,, 20,0,0,, 20,0.5,0,, 40,0.5,0,,"
    box = 'position = ["20 ft", "0.25 ft", "0 ft"]'
    run = run_of(tmp_path, rows, "3 in", A=box)
    assert [bend.in_fitting for bend in run.bends] == [True, True]
    assert "corners at 20.0 ft, 20.5 ft" in doubt_of(run)
