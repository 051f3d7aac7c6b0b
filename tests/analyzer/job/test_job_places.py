"""A fault of the job that shows at the route only is told with file and line as well."""

from __future__ import annotations

from pathlib import Path

import pytest
from feeder_job import FEEDER_JOB

from analyzer.cli.main import main
from analyzer.job.options import job_from_options
from analyzer.job.reading import parse_job

LEVEL = "east_ft,north_ft,z_ft\n0,0,10\n20,0,10\n20,20,12\n"
OWN = '[[fittings]]\nname = "Box A"\nkind = "pull box"\nat = "5 ft"\n'


@pytest.mark.parametrize(
    ("command", "text", "told"),
    [
        ("check", '[drawing]\nstart = "Panel P9"\n', "line 10: start under [drawing] is"),
        ("check", '[drawing]\nread_as = { zz = "corners" }\n', "line 10: read_as under [drawing]"),
        (
            "check",
            '[drawing]\naxes = ["north", "east", "up"]\n',
            "line 10: feeder.csv, row 1: axes = ",
        ),
        ("check", f'{OWN}[[fittings]]\nname = "Box Q"\n', 'line 13: [[fittings]] "Box Q": no'),
        ("check", f'{OWN}run = "zz"\n', 'line 9: [[fittings]] "Box A" stands on run "zz"'),
        ("check", OWN.replace("5 ft", "99 ft"), 'line 9: [[fittings]] "Box A" stands at 99.0 ft'),
        ("check", f"{OWN}{OWN.replace('Box', 'box')}", 'line 13: [[fittings]] "box A" stands twi'),
        ("plan", '[plan]\nfeed_at = "zz"\n', "line 10: feed_at in [plan]"),
        ("plan", '[plan]\ncall_out_every = "1e-7 in"\n', "line 10: call_out_every in [plan]"),
        ("boxes", '[boxes]\nrun = "zz"\n', "line 10: [boxes] names run"),
        ("boxes", '[boxes]\ncandidates = ["99 ft"]\n', "line 10: boxes.candidates"),
        ("boxes", '[boxes]\nspacing = "0.001 in"\n', "line 10: a box every"),
    ],
)
def test_fault_that_the_route_shows_names_file_and_line(
    tmp_path: Path, capsys, command, text, told
) -> None:
    (tmp_path / "feeder.csv").write_text(LEVEL)
    (tmp_path / "job.toml").write_text(FEEDER_JOB + text)
    code = main([command, str(tmp_path / "feeder.csv"), "--job", str(tmp_path / "job.toml")])
    assert code == 2
    assert f"raceway: job.toml, {told}" in capsys.readouterr().err


def test_places_are_those_of_file_and_options_and_no_part_of_the_job(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(FEEDER_JOB)
    job = job_from_options(base=path, friction="0.3")
    assert job.at("raceway", "type") == "job.toml, line 2: "
    assert job.at("raceway", "bend_radius") == "job.toml, line 1: "
    assert job.at("pull", "friction") == '--friction "0.3": '
    assert job.at("plan", "feed_at") == "job.toml: "
    assert parse_job(FEEDER_JOB).at("plan", "feed_at") == ""
    assert parse_job(f"\n{FEEDER_JOB}") == parse_job(FEEDER_JOB)
