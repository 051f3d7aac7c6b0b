"""The `[boxes]` table of a job: defaults, values, faults, and writing it back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.errors import JobError
from analyzer.job.echo import job_values
from analyzer.job.reading import parse_job
from analyzer.job.settings import BoxSettings
from analyzer.job.writing import job_text
from analyzer.units import ft, inches, parse_length

BASE = """
[[conductors]]
name = "control cable"
diameter = "0.61 in"
weight = "0.32 lbf/ft"
max_tension = "190 lbf"
"""


def test_defaults_are_a_foot_apart_and_a_foot_of_straight() -> None:
    boxes = parse_job(BASE).boxes
    assert boxes == BoxSettings()
    assert (boxes.spacing_m, boxes.need_m, boxes.need_from) == (ft(1), inches(12), "assumed")


def test_every_key_is_read() -> None:
    boxes = parse_job(
        BASE
        + """
[boxes]
run = "Feeder 1"
spacing = "2 ft"
need = "18 in"
keep_out = [["10 ft", "30 ft"], ["60 ft", "70 ft"]]
allowed = [["0 ft", "100 ft"]]
at_corners = true
most = 3
direction = "Forward"
cost_per_box = 450
cost_per_setup = 1200.5
"""
    ).boxes
    assert boxes == BoxSettings(
        run="Feeder 1", spacing_m=ft(2), need_m=inches(18),
        keep_out_m=((ft(10), ft(30)), (ft(60), parse_length("70 ft"))), allowed_m=((0.0, ft(100)),),
        at_corners=True, most=3, direction="forward", cost_per_box=450.0,
        cost_per_setup=1200.5, need_from="job",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('keepout = [["1 ft", "2 ft"]]', 'did you mean "keep_out"'),
        ('keep_out = [["3 ft", "2 ft"]]', "lower station first"),
        ('keep_out = ["3 ft", "4 ft"]', "needs a list of 2"),
        ("need = 12", 'such as "6 in"'),
        ('need = "-1 ft"', "cannot be negative"),
        ('spacing = "0 ft"', "needs more than zero"),
        ("most = 61", "from 0 to 60"),
        ("most = true", "from 0 to 60"),
        ('direction = "foward"', 'did you mean "forward"?'),
        ('direction = "backward"', 'not known; it can be "better", "forward", "reverse"'),
        ("at_corners = 1", "needs true or false"),
        ('cost_per_box = "450"', "number without quotes"),
        ("cost_per_box = -1", "from 0 to"),
        ("cost_per_box = 450", 'needs "cost_per_setup" beside it'),
        ("cost_per_setup = 450", 'needs "cost_per_box" beside it'),
        ('candidates = ["1 ft"]\nspacing = "1 ft"', 'leave out "spacing"'),
        ('candidates = ["1 ft"]\nallowed = [["1 ft", "2 ft"]]', 'leave out "allowed"'),
    ],
)
def test_fault_is_named_with_its_key(line, message) -> None:
    with pytest.raises(JobError, match="boxes") as raised:
        parse_job(BASE + "[boxes]\n" + line, "job.toml")
    assert message in str(raised.value)
    assert "job.toml, line" in str(raised.value)


def test_written_job_reads_back() -> None:
    job = parse_job(
        BASE
        + '[boxes]\ncandidates = ["40 ft", "12.5 m"]\nneed = "9 in"\nat_corners = true\n'
        + 'keep_out = [["1 ft", "2 ft"]]\nmost = 2\ndirection = "reverse"\nrun = "A"\n'
        + "cost_per_box = 1\ncost_per_setup = 2\n"
    )
    assert replace(parse_job(job_text(job)), source=job.source) == job


def test_echo_holds_the_table_in_si() -> None:
    values = job_values(parse_job(BASE + '[boxes]\nneed = "1 m"\n'))["boxes"]
    assert values["need_m"] == 1.0
    assert values["most"] == 8
