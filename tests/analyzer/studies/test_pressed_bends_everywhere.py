"""Friction that falls in hard pressing bends: every study follows it, or refuses by name."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest
from plan_routes import bent_run, level_bent, three_like_job

from analyzer.analysis import analyze
from analyzer.errors import JobError
from analyzer.findings import Verdict
from analyzer.job.settings import Friction, Job, Limits, Passage, SidewallFriction
from analyzer.pulling.groups import conductor_group
from analyzer.reports.content import content_of
from analyzer.reports.hand_check import hand_checks
from analyzer.reports.sheet import sheet_html
from analyzer.reports.terminal import terminal_text
from analyzer.studies.boxes import find_boxes
from analyzer.studies.margins import highest_friction
from analyzer.studies.plan import plan_pull
from analyzer.studies.ways import way_of_set_up
from analyzer.units import lbf, lbf_per_ft

RUN = bent_run(
    level_bent([30.0, (0.4, pi / 2), 20.0, (0.3, pi / 2), 15.0]), [(40.0, Passage.THROUGH)]
)
SETTING = SidewallFriction(lbf_per_ft(150.0), 0.6)


def job_with_wall(source: str = "") -> Job:
    job = three_like_job(feed_tension_n=lbf(20.0))
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(4000.0), sidewall_from="job")
    pull = replace(job.pull, friction_by_sidewall=replace(SETTING, source=source))
    return replace(job, limits=limits, pull=pull, plan=replace(job.plan, feed_at="start"))


def test_plan_calls_out_the_tensions_of_the_analysis() -> None:
    job = job_with_wall()
    analysis = analyze([RUN], job)
    plan = plan_pull(analysis).runs[0]
    without = replace(job, pull=replace(job.pull, friction_by_sidewall=None))
    plain = plan_pull(analyze([RUN], without)).runs[0]
    for planned in plan.set_ups:
        figures = planned.set_up.pull.high
        assert planned.call_outs[-1].tension.high_n == pytest.approx(
            figures.exit_tension_n, rel=1e-10
        )
        assert planned.bounds == ()
    assert plan.choice.greatest_tension_n < plain.choice.greatest_tension_n


def test_highest_friction_keeps_the_part() -> None:
    job = job_with_wall()
    set_up = plan_pull(analyze([RUN], job)).runs[0].set_ups[0].set_up
    friction = highest_friction(way_of_set_up(RUN, set_up, job, conductor_group(job)))
    assert friction is not None
    at_it = replace(job, pull=replace(job.pull, friction=Friction(friction, friction, friction)))
    (other,) = analyze([RUN], at_it).runs
    pull = other.through_forward if set_up.feed.name == "start" else other.through_reverse
    shares = [s.share for s in pull.shares if "braked" not in s.code]
    assert max(shares) == pytest.approx(1.0, rel=1e-6)


def test_search_for_boxes_refuses() -> None:
    with pytest.raises(JobError, match="friction_by_sidewall in \\[pull\\]: the search for boxes"):
        find_boxes(analyze([RUN], job_with_wall()))


def test_hand_check_gives_no_rows() -> None:
    analysis = analyze([RUN], job_with_wall())
    assert hand_checks(analysis.runs[0], analysis) == ()
    assert "No hand check: friction changes along the way" in sheet_html(analysis)


@pytest.mark.parametrize("source", ["", "our pull records of the rink"])
def test_reports_carry_the_mark_until_a_source_is_shown(source: str) -> None:
    analysis = analyze([RUN], job_with_wall(source))
    text = " ".join(terminal_text(content_of(analysis)).split())
    sheet = sheet_html(analysis)
    shown = source or "from memory, no source shown"
    assert f"where a bend presses above 150 lbf/ft ({shown})" in text
    assert shown in sheet
    pulled = [
        c for c in analysis.runs[0].checks if c.code == "conductor-tension" and c.leg == "leg 2"
    ]
    expected = Verdict.PASS if source else Verdict.CAUTION
    assert {check.verdict for check in pulled} <= {expected, Verdict.FAIL}
    doubted = any("from memory" in doubt for c in analysis.runs[0].checks for doubt in c.doubts)
    assert doubted == (not source)
