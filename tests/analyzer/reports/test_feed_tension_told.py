"""The tension at the feeds is told with that of each fitting that states its own."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest
from plan_routes import bent_run, level_bent, three_like_job

from analyzer.analysis import analyze
from analyzer.job.settings import Passage
from analyzer.reports.analysis_file import analysis_values
from analyzer.reports.content import content_of
from analyzer.reports.fact_rows import fact_rows
from analyzer.reports.plan_content import plan_content
from analyzer.reports.plan_terminal import plan_text
from analyzer.reports.words import feed_tension_text
from analyzer.route.run import Run
from analyzer.studies.plan import plan_pull
from analyzer.units import lbf

LINE = level_bent([6.0, (0.6, pi / 2), 14.0])


def run_with(name: str = "pull", **tensions_lbf: float) -> Run:
    run = bent_run(LINE, [(6.0 + 0.3 * pi + 4.0, Passage.REFEED)])
    fittings = tuple(
        replace(item, feed_tension_n=lbf(tensions_lbf[key])) if key in tensions_lbf else item
        for key, item in zip(("start", "box", "end"), run.fittings, strict=True)
    )
    return replace(run, name=name, fittings=fittings)


@pytest.mark.parametrize(
    ("job_lbf", "own", "told"),
    [
        (0.0, {}, "0.0 lbf where none is stated (reels that drag need more)"),
        (10.0, {}, "10.0 lbf"),
        (10.0, {"start": 400.0}, "10.0 lbf where the fitting states no other; at {0} 400 lbf"),
        (
            0.0,
            {"start": 50.0, "box": 0.0},
            "0.0 lbf where none is stated (reels that drag need more); at {0} 50.0 lbf; "
            "at {1} 0.0 lbf",
        ),
    ],
)
def test_feed_tension_names_the_fittings_that_state_their_own(job_lbf, own, told) -> None:
    run = run_with(**own)
    job = three_like_job((0.2, 0.35, 0.5), feed_tension_n=lbf(job_lbf))
    names = [item.name for item in run.fittings]
    assert feed_tension_text(job, [run]) == told.format(*names)


def test_of_several_runs_each_fitting_stands_with_its_run() -> None:
    job = three_like_job((0.2, 0.35, 0.5), feed_tension_n=lbf(10.0))
    runs = [run_with("one", end=7.0), run_with("two")]
    assert feed_tension_text(job, runs).endswith(f"; at one, {runs[0].fittings[-1].name} 7.0 lbf")


def test_check_sheet_plan_and_tables_tell_it() -> None:
    job = three_like_job((0.2, 0.35, 0.5), feed_tension_n=lbf(10.0))
    run = run_with(start=400.0)
    name = run.fittings[0].name
    analysis = analyze([run], job)
    facts = {fact.name: fact.text for fact in content_of(analysis).assumptions}
    assert facts["Feed tension"].endswith(f"at {name} 400 lbf")
    assert f"at {name} 400 lbf" in " ".join(plan_text(plan_content(plan_pull(analysis))).split())
    rows = {row["fact"]: row["value"] for row in fact_rows(analysis_values(analysis))}
    assert rows["feed tension"] == pytest.approx(lbf(10.0))
    assert rows[f"feed tension at pull, {name}"] == pytest.approx(lbf(400.0))
