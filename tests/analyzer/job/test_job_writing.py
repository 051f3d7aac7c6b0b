"""A written job reads back to the same job; the echo holds every value."""

from __future__ import annotations

import json
import tomllib
from dataclasses import fields, replace

import pytest
from feeder_job import FEEDER_JOB
from hypothesis import given, settings
from hypothesis import strategies as st
from test_job_file import EVERY_KEY

from analyzer.errors import JobError
from analyzer.job import job_from_options, job_text, job_values, parse_job, read_job
from analyzer.job.settings import Job

STATED_ALUMINUM = """\
title = "quotes \\" and \\\\ and \\u007f and é"
[drawing]
start = ["0.1 m", "-3 yd", "7'-1/3\\""]
[[conductors]]
size = "4/0"
metal = "aluminum"
temper = "1/2 hard"
diameter = "17.123456789 mm"
weight = "0.123456 kg/m"
max_tension = "100.01 kgf"
[pull]
friction = 0.2
feed_tension = "1/3 lbf"
[[fittings]]
name = "Box \\"A\\""
"""
ASSUMED_ALUMINUM = FEEDER_JOB.replace("copper", "aluminum").replace("THHN", "XHHW-2")
CHOSEN_ALUMINUM = ASSUMED_ALUMINUM + 'stranding = "stranded"\ntemper = "soft"\n'


LENGTH_OF_THE_RULES = (
    FEEDER_JOB + '[limits]\nrules = "telecom"\nlength_between_pull_points = "100 ft"\n'
)


@pytest.mark.parametrize(
    "text",
    [
        FEEDER_JOB,
        EVERY_KEY,
        STATED_ALUMINUM,
        ASSUMED_ALUMINUM,
        CHOSEN_ALUMINUM,
        LENGTH_OF_THE_RULES,
    ],
    ids=["minimal", "every key", "stated", "assumed", "chosen", "length as in the rule set"],
)
def test_written_job_reads_back_to_an_equal_job(text, tmp_path):
    job = parse_job(text)
    path = tmp_path / "rink.toml"
    path.write_text(job_text(job), encoding="utf-8", newline="\n")
    assert read_job(path) == replace(job, source="rink.toml")


def test_job_from_options_is_written_in_full(tmp_path):
    job = job_from_options(raceway="PVC 40 2", conductor=["3 x 4/0 XHHW-2 aluminum"], metric=True)
    path = tmp_path / "rink.toml"
    path.write_text(job_text(job), encoding="utf-8", newline="\n")
    assert replace(read_job(path), source="") == job


def test_quantities_are_written_as_people_write_them():
    text = job_text(parse_job(EVERY_KEY))
    for line in (
        'bend_radius = "12 in"',
        'line_working_load = "900 lbf"',
        'lubricant_reach = "120 ft"',
        'weight = "0.32 lbf/ft"',
        'sidewall_pressure = "500 lbf/ft"',
        'accuracy = "0.125 in"',
    ):
        assert line in text.splitlines()


def test_what_was_assumed_stands_in_a_comment():
    text = job_text(parse_job(FEEDER_JOB))
    assert "# friction = { low = 0.2, expected = 0.35, high = 0.5 }" in text
    assert '# sidewall_pressure = "300 lbf/ft"' in text
    assert "friction" not in tomllib.loads(text)["pull"]


@settings(max_examples=60, deadline=None)
@given(
    radius=st.floats(1e-6, 1e6),
    tension=st.floats(0, 1e9),
    friction=st.tuples(st.floats(0, 2), *[st.floats(1e-6, 2)] * 2).map(sorted),
    place=st.tuples(*[st.floats(-1e6, 1e6)] * 3),
    title=st.text(st.characters(blacklist_categories=["Cs"])).map(str.strip),
)
def test_any_numbers_and_text_survive_writing(radius, tension, friction, place, title):
    base = parse_job(EVERY_KEY)
    low, expected, high = friction
    job = replace(
        base,
        title=title,
        bend_radius_m=radius,
        pull=replace(
            base.pull,
            feed_tension_n=tension,
            friction=replace(base.pull.friction, low=low, expected=expected, high=high),
        ),
        fittings=(replace(base.fittings[1], position_m=tuple(x + 0.0 for x in place)),),
        findings=(),
    )
    again = replace(parse_job(job_text(replace(job, findings=_findings_of(job)))), findings=())
    assert again == job


def _findings_of(job: Job):
    """Findings that a job read with these values has: only the friction may change them."""
    band = job.pull.friction
    text = f"[pull]\nfriction = {{ low = {band.low!r}, expected = {band.expected!r}, "
    text += f"high = {band.high!r} }}\n"
    head, tail = EVERY_KEY.split("[pull]\nfriction")
    return parse_job(head + text + tail.split("\n", 1)[1]).findings


def test_job_that_no_file_can_state_is_refused():
    job = parse_job(FEEDER_JOB)
    assert job.raceway is not None
    handmade = replace(job, raceway=replace(job.raceway, inside_diameter_m=0.1))
    with pytest.raises(JobError, match="cannot be written as a job file"):
        job_text(handmade)


# ------------------------------------------------------------------------------------ the echo


def test_echo_is_plain_json():
    for text in (FEEDER_JOB, EVERY_KEY, STATED_ALUMINUM):
        values = job_values(parse_job(text, "rink.toml"))
        assert json.loads(json.dumps(values, allow_nan=False)) == values


def test_echo_holds_every_part_of_the_job():
    job = parse_job(EVERY_KEY, "rink.toml")
    values = job_values(job)
    renamed = {"existing": "existing_conductors", "bender": "raceway", "bend_radius_m": "raceway"}
    names = {renamed.get(field.name, field.name) for field in fields(Job)} - {"findings", "places"}
    assert set(values) == names
    for part in ("pull", "limits"):
        assert set(values[part]) == {field.name for field in fields(getattr(job, part))}
    drawing = {field.name for field in fields(job.drawing)} - {"fitting_kinds"} | {"fittings"}
    assert set(values["drawing"]) == drawing


def test_echo_fills_in_defaults():
    values = job_values(parse_job(FEEDER_JOB))
    assert values["units"] == "us"
    assert values["pull"]["friction"] == {
        "low": 0.2,
        "expected": 0.35,
        "high": 0.5,
        "stated": False,
        "preset": "",
    }
    assert values["limits"]["sidewall_from"] == "assumed"
    assert values["drawing"]["snap_m"] == pytest.approx(0.1524, rel=1e-15)
    assert values["raceway"]["bender"] == "one-shot"
    assert values["raceway"]["table_bend_radius_m"]["one-shot"] == pytest.approx(0.2413, rel=1e-15)
    assert values["conductors"][0]["count"] == 3


def test_echo_of_a_job_without_raceway_says_so():
    assert job_values(parse_job(STATED_ALUMINUM))["raceway"]["type"] is None
