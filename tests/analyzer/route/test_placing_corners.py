"""Fittings beside corners: each at its own place, whatever corners others hold."""

from __future__ import annotations

from pathlib import Path

import pytest

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
