"""Friction that falls in hard pressing bends: what the job may say, and the mark it carries."""

from __future__ import annotations

from dataclasses import replace

import pytest
from feeder_job import FEEDER_JOB

from analyzer.errors import JobError
from analyzer.findings import Severity
from analyzer.job import job_text, job_values, parse_job
from analyzer.units import lbf_per_ft

BAND = "[pull]\nfriction = { low = 0.2, expected = 0.4, high = 0.5 }\n"
TABLE = '[pull.friction_by_sidewall]\nabove = "150 lbf/ft"\nfriction = 0.3\n'


def job_of(pull: str):
    return parse_job(FEEDER_JOB + pull)


def marks(job) -> list:
    return [f for f in job.findings if f.code == "friction-by-sidewall"]


def test_value_is_that_of_expected_friction_and_the_band_keeps_its_proportion() -> None:
    job = job_of(BAND + TABLE)
    setting = job.pull.friction_by_sidewall
    assert setting is not None
    assert setting.above_n_per_m == pytest.approx(lbf_per_ft(150.0), rel=1e-14)
    assert setting.part == pytest.approx(0.75, rel=1e-15)
    (finding,) = marks(job)
    assert "0.150 / 0.300 / 0.375" in finding.message
    assert "150 lbf/ft" in finding.message


def test_without_a_source_it_is_marked_as_from_memory() -> None:
    (finding,) = marks(job_of(BAND + TABLE))
    assert finding.severity is Severity.CAUTION
    assert "from memory, no source shown" in finding.message


def test_a_source_shown_takes_the_mark_away() -> None:
    job = job_of(BAND + TABLE + 'source = "our pull records of the rink"\n')
    (finding,) = marks(job)
    assert finding.severity is Severity.NOTE
    assert "from our pull records of the rink" in finding.message
    assert "memory" not in finding.message


@pytest.mark.parametrize("pull", [BAND + TABLE, BAND + TABLE + 'source = "records"\n'])
def test_it_is_written_again_and_stands_in_the_analysis_file(pull: str) -> None:
    job = job_of(pull)
    assert parse_job(job_text(job)) == replace(job, source="")
    values = job_values(job)["pull"]["friction_by_sidewall"]
    assert values["part"] == job.pull.friction_by_sidewall.part
    assert values["source"] == job.pull.friction_by_sidewall.source


def test_no_threshold_and_no_value_is_assumed() -> None:
    assert job_of(BAND).pull.friction_by_sidewall is None
    with pytest.raises(JobError, match=r'pull\.friction_by_sidewall: needs the key "above"'):
        job_of(BAND + "[pull.friction_by_sidewall]\nfriction = 0.3\n")
    with pytest.raises(JobError, match='needs the key "friction"'):
        job_of(BAND + '[pull.friction_by_sidewall]\nabove = "150 lbf/ft"\n')


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("friction = 0.3", "friction = 0.41"), "at most the expected friction, 0.4; got 0.41"),
        (("friction = 0.3", "friction = 0"), "more than zero"),
        (("150 lbf/ft", "0 lbf/ft"), "more than zero"),
        (("150 lbf/ft", "150"), "150"),
        (("above =", "over ="), "unknown key"),
        (("friction = 0.3", "fricton = 0.3"), 'did you mean "friction"'),
    ],
)
def test_what_cannot_be_is_refused_with_its_line(change: tuple[str, str], said: str) -> None:
    with pytest.raises(JobError) as caught:
        job_of(BAND + TABLE.replace(*change))
    assert said in str(caught.value)
    assert "friction_by_sidewall" in str(caught.value)


def test_a_number_in_place_of_the_table_is_refused() -> None:
    with pytest.raises(JobError, match="needs a table with above and friction"):
        job_of(BAND + "friction_by_sidewall = 0.3\n")
