"""A friction can be named: the band of the catalog, with its source and what is doubtful."""

from __future__ import annotations

import pytest
from feeder_job import FEEDER, FEEDER_JOB

from analyzer.catalog.frictions import find_friction, friction_names
from analyzer.errors import JobError
from analyzer.findings import Severity
from analyzer.job import job_from_options, job_text, parse_job


def job_with_friction(text: str):
    return parse_job(f"{FEEDER_JOB}[pull]\nfriction = {text}\n")


@pytest.mark.parametrize("name", friction_names())
def test_every_preset_of_the_catalog_can_be_named_and_written_again(name: str) -> None:
    job = job_with_friction(f'"{name}"')
    preset, friction = find_friction(name), job.pull.friction
    assert (friction.low, friction.expected, friction.high) == (
        preset.low,
        preset.expected,
        preset.high,
    )
    assert friction.stated
    assert parse_job(job_text(job)) == job


def test_preset_names_its_source_and_that_one_text_only_was_read() -> None:
    (finding,) = [f for f in job_with_friction('"pvc lubricated"').findings if "frict" in f.code]
    assert finding.severity is Severity.CAUTION
    assert "0.25 / 0.30 / 0.35" in finding.message
    assert "TES-P-104.05" in finding.message
    assert "one text only" in finding.message


@pytest.mark.parametrize("name", friction_names())
def test_every_preset_is_a_band(name: str) -> None:
    assert job_with_friction(f'"{name}"').pull.friction.is_band


def test_preset_of_one_published_value_says_that_its_band_is_our_choice() -> None:
    job = job_with_friction('"general"')
    (finding,) = [f for f in job.findings if "frict" in f.code]
    assert finding.severity is Severity.CAUTION
    assert "one published value" in finding.message
    assert "0.35 / 0.50 / 0.65" in finding.message
    assert "our choice or common practice: state what your pulls show" in finding.message
    assert not find_friction("general").confirmed


def test_unknown_preset_is_refused_with_the_nearest() -> None:
    with pytest.raises(JobError, match="no friction preset 'pvc-lubricate'; the nearest is pvc-l"):
        job_with_friction('"pvc-lubricate"')


def test_preset_as_an_option() -> None:
    job = job_from_options(raceway="EMT 2", conductor=[FEEDER], friction="polyethylene-dry")
    assert job.pull.friction.preset == "polyethylene-dry"
    with pytest.raises(JobError, match='--friction "abc"'):
        job_from_options(raceway="EMT 2", conductor=[FEEDER], friction="abc")
