"""The public door: what an analysis carries."""

from __future__ import annotations

from pathlib import Path

import pytest

from analyzer import analyze, open_route
from analyzer.findings import Verdict
from analyzer.job.reading import parse_job
from analyzer.pulling.pulls import pull_through
from analyzer.pulling.results import Direction
from analyzer.reports.analysis_file import analysis_values
from analyzer.reports.tables import better_text

ROUTE = "x_ft,y_ft,z_ft,fitting,label\n0,0,0,,\n40,0,0,conduit body,Body 1\n40,40,5,,\n"
JOB = """
[raceway]
type = "EMT"
trade_size = "2"
[[conductors]]
count = 1
name = "control cable"
diameter = "0.6 in"
weight = "1 lbf/ft"
max_tension = "500 lbf"
[pull]
friction = { low = 0.2, expected = 0.35, high = 0.5 }
[[fittings]]
name = "Body 1"
passage = "PASSAGE"
"""


@pytest.mark.parametrize(("passage", "count"), [("through", 1), ("refeed", 0)])
def test_turn_inside_a_fitting_passed_through_is_said_not_checked(
    tmp_path: Path, passage: str, count: int
) -> None:
    path = tmp_path / "feeder.csv"
    path.write_text(ROUTE)
    job = parse_job(JOB.replace("PASSAGE", passage))
    (run,) = analyze(open_route(path, job).runs, job).runs
    notes = [finding for finding in run.findings if finding.code == "fitting-corner"]
    assert len(notes) == count
    for note in notes:
        assert "Body 1" in note.message
        assert "turn 90° inside it" in note.message
        assert "not checked" in note.message


@pytest.mark.parametrize("passage", ["refeed", "through"])
def test_whole_run_passed_through_is_one_pull_over_all_fittings(
    tmp_path: Path, passage: str
) -> None:
    """With one leg it is that leg's pull; with two it is another where a box is refed."""
    path = tmp_path / "feeder.csv"
    for route, legs in ((ROUTE, 2), (ROUTE.replace("conduit body,Body 1", ","), 1)):
        path.write_text(route)
        text = JOB.replace("PASSAGE", passage)
        job = parse_job(text if legs == 2 else text.split("[[fittings]]")[0])
        (analyzed,) = analyze(open_route(path, job).runs, job).runs
        assert len(analyzed.legs) == legs
        for way, found in (
            (Direction.FORWARD, analyzed.through_forward),
            (Direction.REVERSE, analyzed.through_reverse),
        ):
            assert found == pull_through(analyzed.run, job, way)
        if legs == 1:
            assert analyzed.through_forward == analyzed.legs[0].forward


SYMMETRIC = (
    "x_ft,y_ft,z_ft,fitting,label\n0,0,0,panel,P1\n0,10,0,,\n10,10,0,,\n10,20,0,,\n"
    "100,20,0,pull box,Body 1\n190,20,0,,\n190,10,0,,\n200,10,0,,\n200,0,0,equipment,Fan\n"
)


@pytest.mark.parametrize("passage", ["refeed", "through"])
def test_legs_passed_through_are_pulled_one_way(tmp_path: Path, passage: str) -> None:
    """Each leg by itself is better pulled toward the middle: one string cannot go both ways."""
    path = tmp_path / "feeder.csv"
    path.write_text(SYMMETRIC)
    job = parse_job(JOB.replace("PASSAGE", passage).replace("500 lbf", "1000 lbf"))
    (run,) = analyze(open_route(path, job).runs, job).runs
    assert [leg.better for leg in run.legs] == ["forward", "reverse"]
    ways = [leg.best.direction for leg in run.legs]
    fails = [check for check in run.checks if check.counts and check.verdict is Verdict.FAIL]
    if passage == "refeed":
        assert ways == [Direction.FORWARD, Direction.REVERSE]
        assert [leg.pulled for leg in run.legs] == [None, None]
        assert not [check for check in fails if check.code == "conductor-tension"]
    else:
        assert ways == [Direction.FORWARD, Direction.FORWARD]
        (failing,) = [check for check in fails if check.code == "conductor-tension"]
        assert failing.leg == "Leg 2"
        assert "the other way" not in failing.message
        assert "in one pull" in better_text(run.legs[1])


def test_other_way_is_said_for_the_whole_stretch_passed_through(tmp_path: Path) -> None:
    """The bends stand near P1: fed there, they multiply little."""
    path = tmp_path / "feeder.csv"
    lines = SYMMETRIC.splitlines(keepends=True)
    path.write_text("".join([lines[0], *lines[1:6], "200,20,0,equipment,Fan\n"]))
    job = parse_job(JOB.replace("PASSAGE", "through").replace("500 lbf", "250 lbf"))
    (run,) = analyze(open_route(path, job).runs, job).runs
    said = {c.message for c in run.checks if "the other way" in c.message}
    assert said
    assert all(text.endswith("Pull it the other way: feed at P1, pull at Fan.") for text in said)


def test_analysis_file_names_the_one_way_of_legs_passed_through_and_what_counts(
    tmp_path: Path,
) -> None:
    path = tmp_path / "feeder.csv"
    path.write_text(SYMMETRIC)
    job = parse_job(JOB.replace("PASSAGE", "through").replace("500 lbf", "1000 lbf"))
    analysis = analyze(open_route(path, job).runs, job)
    (run,) = analysis_values(analysis)["runs"]
    assert [leg["better"] for leg in run["legs"]] == ["forward", "reverse"]
    assert [leg["pulled"] for leg in run["legs"]] == ["forward", "forward"]
    counted = [check for check in run["checks"] if check["counts"]]
    assert {check["direction"] for check in counted} == {None, "forward"}
    worst = "fail" if any(check["verdict"] == "fail" for check in counted) else "other"
    assert worst == run["verdict"]


def test_profile_goes_one_way_where_a_pull_falls_slack_in_a_riser_bend(tmp_path: Path) -> None:
    """Down 9 ft, a bend of 1 ft, along: at 28 lbf fed the string goes slack inside the bend."""
    path = tmp_path / "drop.csv"
    path.write_text("x_ft,y_ft,z_ft\n0,0,10\n0,0,0\n10,0,0\n")
    text = JOB.split("[[fittings]]")[0].replace('"1 lbf/ft"', '"3 lbf/ft"')
    text = text.replace('trade_size = "2"', 'trade_size = "2"\nbend_radius = "1 ft"')
    text = text.replace("{ low = 0.2, expected = 0.35, high = 0.5 }", "0.6")
    seen = 0
    for feed in range(20, 36):
        job = parse_job(text + f'feed_tension = "{feed} lbf"\n')
        (run,) = analyze(open_route(path, job).runs, job).runs
        pull = run.legs[0].forward
        seen += bool(pull.slack)
        stations = pull.profile.station_m
        assert list(stations) == sorted(stations)
        assert max(stations.count(station) for station in stations) <= 2
    assert seen
