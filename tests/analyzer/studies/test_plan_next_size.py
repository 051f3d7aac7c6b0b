"""One size up: what the same drawing gives when the job names the larger size."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from pathlib import Path

import pytest
from plan_routes import EXAMPLES, bent_run, level_bent, three_like_job

from analyzer.analysis import analyze
from analyzer.catalog.raceways import find_raceway
from analyzer.geometry.readings import RadiusFrom
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job, read_job
from analyzer.job.settings import Job
from analyzer.studies.feeding import set_up_between
from analyzer.studies.plan import plan_pull
from analyzer.studies.plan_next_size import NextSize, plan_next_size
from analyzer.units import inches

HEADINGS = "x_ft,y_ft,z_ft,radius_in,fitting,label"
CLOSE_CORNERS = "0,0,0\n20,0,0\n20,1.6,0\n40,1.6,0\n"
EMT_3 = """
[raceway]
type = "EMT"
trade_size = "3"
[[conductors]]
count = 3
size = "350"
insulation = "THHN"
metal = "copper"
[pull]
friction = { low = 0.15, expected = 0.3, high = 0.45 }
feed_tension = "15 lbf"
"""


def next_size(path: Path, job: Job) -> NextSize:
    plan = plan_pull(analyze(open_route(path, job).runs, job))
    found = plan.runs[0].next_size
    assert found is not None
    return found


@pytest.mark.parametrize("name", ["riser", "training_yard"])
def test_figures_are_those_of_the_drawing_read_again_with_the_larger_size(name: str) -> None:
    """Sharp corners take the table's radius of the larger size, as when the job names it."""
    path = EXAMPLES / f"{name}.csv"
    job = read_job(path.with_suffix(".toml"))
    found = next_size(path, job)
    assert found.redrawn and not found.without_room and not found.too_tight
    larger = replace(job, raceway=found.larger.raceway)
    assert found.smallest_radius_m == larger.table_radius_m
    (now,), (again,) = (open_route(path, each).runs for each in (job, larger))
    chosen = plan_pull(analyze([now], job)).runs[0].choice.set_ups
    named = {fitting.name: fitting for fitting in again.fittings}
    pulled = [
        set_up_between(again, larger, named[item.feed.name], named[item.pull_to.name])
        for item in chosen
    ]
    assert found.larger.tension_n == pytest.approx(max(i.greatest_tension_n for i in pulled))
    assert found.larger.governing is not None
    share = max(item.share_of_limit for item in pulled)
    assert found.larger.governing.share == pytest.approx(share, rel=1e-6)


def test_greatest_share_of_limit_counts_what_is_held_back(tmp_path: Path) -> None:
    path = tmp_path / "drop.csv"
    path.write_text(f"{HEADINGS}\n0,0,118,,,\n17,0,118,13,,\n17,0,9.5,13,,\n17,22,9.5,,,\n")
    job = replace(parse_job(EMT_3), plan=replace(parse_job(EMT_3).plan, feed_at="start"))
    found = next_size(path, job)
    for item in (found.now, found.larger):
        assert item.governing is not None
        assert item.governing.code == "sidewall-braked"


def test_drawn_radii_below_the_smallest_of_the_larger_size_stay_and_are_named() -> None:
    # EMT 2 needs 9.5 in, EMT 2-1/2 10.5 in
    line = level_bent([9.0, (inches(10.0), pi / 2), 9.0, (0.6, pi / 2), 9.0])
    run, job = bent_run(line), three_like_job()
    found = plan_next_size(run, job, [set_up_between(run, job, *run.fittings)])
    assert found is not None
    assert found.smallest_radius_m == pytest.approx(inches(10.5))
    assert (found.redrawn, found.too_tight) == ((), (1,))
    # the table's own radius is not below itself
    exact = bent_run(level_bent([9.0, (inches(10.5), pi / 2), 9.0]))
    again = plan_next_size(exact, job, [set_up_between(exact, job, *exact.fittings)])
    assert again is not None and again.too_tight == ()


def test_corners_without_room_for_the_larger_radius_give_no_tension(tmp_path: Path) -> None:
    # EMT 2: two bends of 9.5 in need 19 of 19.2 in, EMT 2-1/2: 21 in
    path = tmp_path / "close.csv"
    path.write_text(f"x_ft,y_ft,z_ft\n{CLOSE_CORNERS}")
    found = next_size(path, three_like_job())
    assert found.redrawn == (1, 2)
    assert found.without_room
    assert found.larger.tension_n is None and found.larger.governing is None
    assert found.now.tension_n is not None


def test_larger_size_without_a_bend_radius_in_the_tables_bends_no_corner() -> None:
    job = three_like_job()
    assert job.raceway is not None
    run = bent_run(level_bent([9.0, (0.3, pi / 2), 9.0]))
    table = tuple(replace(bend, radius_from=RadiusFrom.TABLE) for bend in run.bends)
    run = replace(run, bends=table)
    sized = replace(job, raceway=find_raceway("EMT", "2"), bender="none such")
    found = plan_next_size(run, sized, [set_up_between(run, sized, *run.fittings)])
    assert found is not None
    assert found.smallest_radius_m is None
    assert found.without_room == (1,)
    assert found.larger.tension_n is None
