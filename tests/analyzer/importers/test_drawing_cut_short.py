"""A text file that ends inside its entities: what is whole is read, and the run fails."""

from __future__ import annotations

from dataclasses import replace

import pytest
from dxf_samples import INCH, LengthUnit, codes, finding, job, length_m, read, save

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.reading import open_route

INCHES = LengthUnit.INCH
VERSIONS = ("R12", "R2000", "R2018")


def three_lines(_, model):
    for a, b in (((0, 0), (100, 0)), ((100, 0), (100, 50)), ((100, 50), (300, 50))):
        model.add_line(a, b)


def cut(path, marker, *, keep=b"", nth=-1):
    """Cut a file at the last `marker` of its entities, `keep` left in place."""
    data = path.read_bytes().replace(b"\r\n", b"\n")
    start = data.index(b"\nENTITIES\n")
    end = data.index(b"ENDSEC", start)
    places = [i for i in range(start, end) if data.startswith(marker, i)]
    path.write_bytes(data[: places[nth]] + keep)
    return path


@pytest.mark.parametrize("version", VERSIONS)
def test_entities_before_the_cut_are_read_and_the_loss_is_an_error(tmp_path, version):
    drawn = read(cut(save(tmp_path, three_lines, version=version), b" 11\n"), units=INCHES)
    (path,) = drawn.paths
    assert length_m(path) == pytest.approx(150 * INCH)
    found = finding(drawn, "cut-short")
    assert found.severity is Severity.ERROR
    assert "ends inside section ENTITIES: it was cut short; 2 entities read" in found.message
    assert "no-end-mark" not in codes(drawn)


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("behind", [b"  0\n", b""])
def test_a_last_entity_that_is_whole_is_read(tmp_path, version, behind):
    path = save(tmp_path, three_lines, version=version)
    data = path.read_bytes().replace(b"\r\n", b"\n")
    end = data.index(b"  0\nENDSEC", data.index(b"\nENTITIES\n"))
    path.write_bytes(data[:end] + behind)
    (only,) = read(path, units=INCHES).paths
    assert length_m(only) == pytest.approx(350 * INCH)


def test_a_number_cut_in_two_is_not_read(tmp_path):
    path = cut(save(tmp_path, three_lines), b"\n 11\n300.0", keep=b"\n 11\n30")
    assert length_m(read(path).paths[0]) == pytest.approx(150 * INCH)


def test_a_polyline_is_read_whole_or_not_at_all(tmp_path):
    def draw(_, model):
        model.add_line((0, 900), (100, 900))
        model.add_polyline2d([(0, 0), (100, 0), (100, 90), (300, 90)])

    path = cut(save(tmp_path, draw, version="R12"), b"  0\nVERTEX\n")
    assert [length_m(one) for one in read(path, units=INCHES).paths] == [pytest.approx(100 * INCH)]


def test_every_run_of_a_file_that_was_cut_short_carries_the_error(tmp_path):
    route = open_route(
        cut(save(tmp_path, three_lines), b" 11\n"), replace(job(), bend_radius_m=0.2)
    )
    assert [one.code for run in route.runs for one in run.findings].count("cut-short") == 1
    assert "cut-short" not in [one.code for one in route.findings]


def test_nothing_left_is_never_called_an_empty_model_space(tmp_path):
    path = cut(save(tmp_path, three_lines), b" 11\n", nth=0)
    with pytest.raises(RouteError, match="was cut short, and no line") as caught:
        read(path)
    assert "model space is empty" not in str(caught.value)
    assert "0 entities read" in str(caught.value)
    assert str(caught.value).count("cut short") == 1


def test_a_file_cut_before_its_entities_is_cut_short_not_empty(tmp_path):
    path = save(tmp_path, three_lines)
    data = path.read_bytes()
    path.write_bytes(data[: data.index(b"ENTITIES") - 20])
    with pytest.raises(RouteError) as caught:
        read(path)
    assert "model space is empty" not in str(caught.value)
    assert str(caught.value).count("cut short") == 1
    assert "Get the file anew" in str(caught.value)
    assert "damaged" not in str(caught.value)


def test_the_listing_tells_it_too(tmp_path):
    contents = survey_drawing(cut(save(tmp_path, three_lines), b" 11\n"))
    assert [one.code for one in contents.findings].count("cut-short") == 1
    assert {layer.name: dict(layer.entities) for layer in contents.layers}["0"] == {"LINE": 2}


def test_a_whole_file_without_its_end_mark_is_no_cut_in_the_entities(tmp_path):
    path = save(tmp_path, three_lines)
    data = path.read_bytes().rstrip()
    path.write_bytes(data.removesuffix(b"EOF").rstrip().removesuffix(b"0").rstrip() + b"\n")
    drawn = read(path)
    assert "cut-short" not in codes(drawn)
    assert "no-end-mark" in codes(drawn)


def test_the_listing_of_a_file_cut_in_its_header_says_so_in_words(tmp_path):
    path = save(tmp_path, three_lines)
    data = path.read_bytes().replace(b"\r\n", b"\n")
    path.write_bytes(data[: data.index(b"\n$UCSNAME\n") + 3])
    told = [one.message for one in survey_drawing(path).findings]
    (damaged,) = [message for message in told if "is damaged" in message]
    assert "damaged (it ends too early)" in damaged
