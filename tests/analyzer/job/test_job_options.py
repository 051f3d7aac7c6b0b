"""Quick use: a job from options, alone or laid over a job file."""

from __future__ import annotations

import pytest
from feeder_job import BAND, FEEDER, FEEDER_JOB

from analyzer.errors import JobError
from analyzer.job import job_from_options, parse_job
from analyzer.job.settings import Friction
from analyzer.units import LengthUnit, UnitSystem, inches, lbf

FILE = """\
title = "Ice rink chiller feeder"
[raceway]
type = "EMT"
trade_size = "2"
bend_radius = "9-1/2 in"
[[conductors]]
count = 4
size = "500"
insulation = "THHN"
metal = "copper"
[pull]
friction = 0.3
feed_tension = "50 lbf"
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "rink.toml"
    path.write_text(FILE)
    return path


def message(**options):
    with pytest.raises(JobError) as caught:
        job_from_options(**options)
    return str(caught.value)


def test_options_alone_make_the_job_of_the_same_file():
    job = job_from_options(raceway="EMT 2", conductor=[FEEDER], friction="0.2,0.35,0.5", units="in")
    assert job == parse_job(f'[drawing]\nunits = "in"\n{FEEDER_JOB}[pull]\n{BAND}')


def test_every_option_lands_in_the_job():
    job = job_from_options(
        raceway="EMT 2",
        conductor=[FEEDER, "1 x 4 THHN copper"],
        friction="0.4",
        units="feet",
        feed_tension="50 lbf",
        bend_radius="12 in",
        rules="nec-2020",
        layers=["A*,B*", "C"],
        snap="3 in",
        accuracy="1/8 in",
        metric=True,
    )
    assert [line.count for line in job.conductors] == [3, 1]
    assert job.pull.friction == Friction(0.4, 0.4, 0.4)
    assert job.drawing.units is LengthUnit.FOOT
    assert job.pull.feed_tension_n == pytest.approx(lbf(50), rel=1e-15)
    assert job.bend_radius_m == pytest.approx(inches(12), rel=1e-15)
    assert job.limits.rules == "nec-2020"
    assert job.drawing.layers == ("A*", "B*", "C")
    assert job.drawing.snap_m == pytest.approx(inches(3), rel=1e-15)
    assert job.drawing.accuracy_m == pytest.approx(inches(1 / 8), rel=1e-15)
    assert job.units is UnitSystem.METRIC
    assert job.source == ""


@pytest.mark.parametrize(
    ("text", "type_name", "size"),
    [
        ("EMT 2", "EMT", "2"),
        ("EMT 1-1/2", "EMT", "1-1/2"),
        ("EMT 1 1/2", "EMT", "1-1/2"),
        ("PVC 40 1/2", "PVC-40", "1/2"),
        ("PVC 40 1 1/2", "PVC-40", "1-1/2"),
        ("PVC Schedule 80 2", "PVC-80", "2"),
        ('EMT 2"', "EMT", "2"),
        ("EMT 2 in", "EMT", "2"),
        ("rigid 3", "RMC", "3"),
    ],
)
def test_raceway_option_is_type_and_trade_size(text, type_name, size):
    raceway = job_from_options(raceway=text, conductor=[FEEDER]).raceway
    assert raceway is not None
    assert (raceway.type, raceway.trade_size) == (type_name, size)


@pytest.mark.parametrize(
    ("text", "count", "size", "insulation", "metal", "temper", "stranding"),
    [
        ("3 x 4/0 THHN copper", 3, "4/0", "THHN", "copper", None, "stranded"),
        ("3x4/0 AWG THHN Cu", 3, "4/0", "THHN", "copper", None, "stranded"),
        ("4 × 250 kcmil XHHW copper", 4, "250", "XHHW", "copper", None, "stranded"),
        (
            "3 X 250 XHHW-2 aluminum AA-8000 compact",
            3,
            "250",
            "XHHW-2",
            "aluminum",
            "AA-8000",
            "compact",
        ),
        ("2 x #12 THHN solid copper", 2, "12", "THHN", "copper", None, "solid"),
        ("1 x 4/0 XHHW stranded al 3/4 hard", 1, "4/0", "XHHW", "aluminum", "3/4 hard", "stranded"),
    ],
)
def test_conductor_option_is_read(text, count, size, insulation, metal, temper, stranding):
    (line,) = job_from_options(raceway="EMT 4", conductor=[text]).conductors
    conductor = line.conductor
    assert (line.count, conductor.size, conductor.insulation) == (count, size, insulation)
    assert (conductor.metal, conductor.temper, conductor.stranding) == (metal, temper, stranding)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"raceway": "EMTT 2"}, ['--raceway "EMTT 2"', "the nearest is EMT"]),
        ({"raceway": "EMT"}, ['--raceway "EMT"']),
        ({"raceway": "2"}, ['--raceway "2"']),
        ({"raceway": "EMT 7"}, ['--raceway "EMT 7"', "3-1/2"]),
        ({"raceway": ""}, ['--raceway ""', "is empty"]),
        ({"conductor": ["4/0 THHN copper"]}, ['--conductor "4/0 THHN copper"', '"3 x 4/0']),
        ({"conductor": ["3 x 4/0"]}, ['--conductor "3 x 4/0"', '"3 x 4/0 THHN copper"']),
        ({"conductor": ["0 x 4/0 THHN copper"]}, ["--conductor", "from 1 to"]),
        ({"conductor": ["3 x 4/0 THNN copper"]}, ["THNN copper", "the nearest is THHN"]),
        ({"conductor": ["3 x 4/0 THHN tin"]}, ["THHN tin", '"tin" is not understood']),
        ({"conductor": ["3 x 4/0 THHN stranded"]}, ["THHN stranded", '"metal"']),
        ({"conductor": ["3 x 4/0 AWG copper"]}, ['--conductor "3 x 4/0 AWG copper"']),
        ({"friction": "0.2,0.3"}, ['--friction "0.2,0.3"', "low, expected and high"]),
        ({"friction": "abc"}, ['--friction "abc"']),
        ({"friction": "0"}, ['--friction "0"', "needs more than zero: every pull rubs"]),
        ({"friction": "0,0,0.2"}, ["needs more than zero: every pull rubs"]),
        ({"friction": "0.5,0.3,0.2"}, ['--friction "0.5,0.3,0.2"', "low <= expected <= high"]),
        ({"friction": "nan"}, ['--friction "nan"', "from 0 to 2"]),
        ({"friction": "3"}, ['--friction "3"', "from 0 to 2"]),
        ({"units": "furlong"}, ['--units "furlong"', '"in", "ft"']),
        ({"feed_tension": "50"}, ['--feed-tension "50"', "no unit"]),
        ({"bend_radius": "-9 in"}, ['--bend-radius "-9 in"', "more than zero"]),
        ({"rules": "nec"}, ['--rules "nec"', "There are nec-2023, nec-2020"]),
        ({"snap": "3"}, ['--snap "3"', "no unit"]),
        ({"accuracy": "0 in"}, ['--accuracy "0 in"', "more than zero"]),
        ({"layers": ["A,,B"]}, ['--layers "A,,B"', "is empty"]),
    ],
)
def test_fault_quotes_the_option(options, words):
    text = message(**{"raceway": "EMT 2", "conductor": [FEEDER], **options})
    assert all(word in text for word in words), text
    assert len(text.splitlines()) == 1


def test_faults_of_several_options_come_together():
    text = message(raceway="EMT 9", conductor=["x"], friction="9")
    assert len(text.splitlines()) == 3


def test_options_win_over_the_file(file):
    job = job_from_options(base=file, conductor=[FEEDER], friction="0.1,0.2,0.3", raceway="EMT 3")
    assert [line.count for line in job.conductors] == [3]
    assert job.pull.friction == Friction(0.1, 0.2, 0.3)
    assert job.raceway is not None and job.raceway.trade_size == "3"


def test_what_no_option_names_stays_as_the_file_says(file):
    job = job_from_options(base=file, friction="0.4")
    assert job.title == "Ice rink chiller feeder"
    assert [line.count for line in job.conductors] == [4]
    assert job.bend_radius_m == pytest.approx(inches(9.5), rel=1e-15)
    assert job.pull.feed_tension_n == pytest.approx(lbf(50), rel=1e-15)
    assert job.source == "rink.toml"


def test_fault_of_the_file_keeps_its_line_beside_options(file):
    file.write_text(FILE.replace('feed_tension = "50 lbf"', "feed_tension = 50"))
    assert message(base=file, friction="0.4").startswith("rink.toml, line 13, pull.feed_tension")


def test_option_over_a_faulty_key_of_the_file_mends_it(file):
    file.write_text(FILE.replace("friction = 0.3", "friction = 3"))
    assert job_from_options(base=file, friction="0.4").pull.friction.high == 0.4


def test_table_written_wrong_in_the_file_is_said_although_an_option_names_it(file):
    file.write_text(FILE.replace("[pull]", "[[pull]]"))
    assert "single brackets" in message(base=file, friction="0.4")


def test_file_is_not_changed_by_options(file):
    job_from_options(base=file, friction="0.4")
    assert file.read_text() == FILE
