"""Files written by other people through the commands, and the published answers for well paths.

The folder is named by the environment variable RACEWAY_DXF_CORPUS. Every file of it, sound or
broken, ends in an exit code of the documented list and one clear message, never in a traceback.
Answers stand in its ANSWERS.json: turn, rate and radius from the published columns of measured
depth, inclination and azimuth of each station, which this reader does not use.
"""

from __future__ import annotations

import csv
import json
import os
from dataclasses import replace
from math import degrees, sqrt
from pathlib import Path

import pytest
from dxf_samples import LengthUnit, job

from analyzer.cli.main import main
from analyzer.errors import RouteError
from analyzer.geometry.bends import read_bends
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.importers.points.reader import read_points

FOLDER = Path(os.environ.get("RACEWAY_DXF_CORPUS", "missing"))
pytestmark = [
    pytest.mark.corpus,
    pytest.mark.skipif(
        not (FOLDER / "files").is_dir(), reason="RACEWAY_DXF_CORPUS names no folder of drawings"
    ),
]
FILES = sorted(
    path
    for part in ("files", "malformed")
    for path in (FOLDER / part).glob("*.*")
    if path.suffix in (".dxf", ".csv") and path.name != "MANIFEST.csv"
)
WELL_AXES = ("depth", "north", "east")


def said(capsys: pytest.CaptureFixture[str]) -> tuple[str, str]:
    taken = capsys.readouterr()
    return taken.out, taken.err


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_file_is_checked_or_refused_in_one_line(path, capsys):
    options = ["--raceway", "EMT 2", "--conductor", "3 x 4/0 THHN copper", "--units", "m"]
    code = main(["check", str(path), *options, "--friction", "0.2,0.35,0.5"])
    out, err = said(capsys)
    assert code in (0, 1, 3)
    assert "Traceback" not in out + err
    if code == 3:
        assert path.name in err
        assert len(err.splitlines()) == 1
        assert not out
    else:
        assert "Raceway pull" in out


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_layers_of_every_file_are_listed_or_it_is_refused_in_one_line(path, capsys):
    code = main(["layers", str(path)])
    out, err = said(capsys)
    assert "Traceback" not in out + err
    if code == 3:
        assert path.name in err
        assert len(err.splitlines()) == 1
    else:
        assert code == 0
        assert path.suffix == ".dxf"
        assert "Layers" in out


def settings(**more):
    base = job(units=LengthUnit.METER)
    return replace(base, drawing=replace(base.drawing, **more))


def test_well_path_is_two_bends_back_to_back_of_the_published_radii():
    sections = json.loads((FOLDER / "files" / "ANSWERS.json").read_text(encoding="utf-8"))
    first, between, second, after = sections["iscwsa_well_10.csv"]["sections"]
    path = FOLDER / "files" / "iscwsa_well_10.csv"
    (drawn,) = read_points(path, settings(axes=WELL_AXES)).paths
    reading = read_bends(drawn, corner_radius_m=1.0, radius_from=RadiusFrom.JOB, accuracy_m=0.01)
    assert reading.read_as is ReadAs.SURVEY
    one, two = reading.bends
    # stations do not fall on the ends of the arcs: the sections beside them belong to either bend
    assert first["turn_deg"] <= degrees(one.angle_rad) <= first["turn_deg"] + between["turn_deg"]
    whole = second["turn_deg"] + between["turn_deg"] + after["turn_deg"]
    assert second["turn_deg"] <= degrees(two.angle_rad) <= whole
    # a straight of L between two arcs leaves them by L^2 / (8 R): up to two of the stated accuracy
    # of 0.01 m it cannot be told from none
    hidden = sqrt(8.0 * first["radius_m"] * 0.02)
    assert 0.0 <= two.station_m - one.end_station_m < hidden
    (finding,) = [found for found in reading.findings if found.code == "survey-bends-touch"]
    assert "between bends 1 and 2 none to " in finding.message
    (finding,) = [found for found in reading.findings if found.code == "survey-ends-in-arc"]
    assert "before bend 1 none to " in finding.message
    # positions are given to 0.01 m over chords of 30 m
    assert one.radius_m == pytest.approx(first["radius_m"], rel=2.5e-3)
    assert two.radius_m == pytest.approx(second["radius_m"], rel=2.5e-3)
    # the first section starts at the first station, to the same: a straight before it leaves
    # the arc by L^2 / (2 R); the last straight is never bent
    assert 0.0 <= one.station_m < hidden / 2.0
    # measured depth along the whole path; the curve is longer than its chords
    span = sections["iscwsa_well_10.csv"]["md_span_m"]
    assert reading.centerline.length_m == pytest.approx(span, rel=1e-4)


def test_well_path_that_its_bends_do_not_explain_says_so():
    path = FOLDER / "files" / "iscwsa_well_10.csv"
    (drawn,) = read_points(path, settings(axes=WELL_AXES)).paths
    reading = read_bends(drawn, corner_radius_m=1.0, radius_from=RadiusFrom.JOB)
    assert "survey-not-explained" in {f.code for f in reading.findings}


def test_second_well_has_the_published_chord_length(tmp_path):
    answers = json.loads((FOLDER / "files" / "ANSWERS.json").read_text(encoding="utf-8"))
    assert "10889.4542" in answers["well_survey_with_answers.csv"]["note"]
    path = FOLDER / "files" / "well_survey_with_answers.csv"
    with pytest.raises(RouteError, match=r"no column for x and y among .*\"n_s_deviaition\""):
        read_points(path, settings(axes=WELL_AXES))
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    plain = tmp_path / "well.csv"
    text = "".join(f"{r['tvd']},{r['n_s_deviaition']},{r['e_w_deviation']}\n" for r in rows)
    plain.write_text("tvd,north,east\n" + text, encoding="utf-8")
    (drawn,) = read_points(plain, settings(axes=WELL_AXES)).paths
    length = sum(edge.segment.length_m for edge in drawn.edges)
    assert length == pytest.approx(10889.4542, abs=5e-5)
