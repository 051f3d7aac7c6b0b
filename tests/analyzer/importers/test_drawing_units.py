"""The unit of a drawing: looked for in the file itself, never guessed."""

from __future__ import annotations

import pytest
from dxf_samples import LengthUnit, codes, finding, job, length_m, read, save

from analyzer.errors import RouteError
from analyzer.findings import EVERY_RUN, Severity
from analyzer.importers.drawings.insunits import INSUNITS, named_unit_code
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.drawings.reader import read_drawing
from analyzer.job.options import job_from_options
from analyzer.job.settings import DrawingSettings
from analyzer.units import LengthUnit as Unit

HEADERLESS = (
    "  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n  8\nRUN\n 10\n0.0\n 20\n0.0\n 30\n0.0\n"
    " 11\n12.0\n 21\n0.0\n 31\n0.0\n  0\nENDSEC\n  0\nEOF\n"
)


def a_line(_, model):
    model.add_line((0, 0, 0), (12, 0, 0))


@pytest.mark.parametrize("binary", [False, True])
@pytest.mark.parametrize("code", [code for code, named in INSUNITS.items() if named.unit])
def test_every_unit_a_raceway_is_drawn_in_is_exact(tmp_path, code, binary):
    drawn = read(save(tmp_path, a_line, unit=code, binary=binary))
    unit = INSUNITS[code].unit
    assert drawn.length_unit == unit.value
    assert drawn.length_unit_from == "file"
    assert length_m(drawn.paths[0]) == pytest.approx(float(12 * unit.factor), rel=1e-15)


def test_codes_are_those_of_the_dxf_reference():
    # DXF reference, HEADER, $INSUNITS: 0 to 20, then the US survey units 21 to 24
    assert sorted(INSUNITS) == list(range(25))
    names = {1: "in", 2: "ft", 3: "mi", 4: "mm", 5: "cm", 6: "m", 7: "km", 10: "yd", 14: "dm"}
    assert {code: INSUNITS[code].unit.value for code in names} == names
    assert INSUNITS[21].unit is Unit.US_SURVEY_FOOT
    assert INSUNITS[19].name == "light years"


def test_unit_in_light_years_is_refused_with_what_to_do(tmp_path):
    with pytest.raises(RouteError, match=r"light years.*no raceway is drawn") as error:
        read(save(tmp_path, a_line, unit=19))
    assert "--units in" in str(error.value)
    drawn = read(save(tmp_path, a_line, unit=19), units=LengthUnit.FOOT)
    assert drawn.length_unit == "ft"
    assert "light years" in finding(drawn, "unit-unusable").message


def test_headerless_file_names_no_unit_although_the_library_says_meter(tmp_path):
    path = tmp_path / "headerless.dxf"
    path.write_text(HEADERLESS)
    with pytest.raises(RouteError, match="names no length unit") as error:
        read(path)
    message = str(error.value)
    assert 'units = "in" under [drawing] in the job, or --units in: 1 x 0 x 0 ft' in message
    assert 'units = "m"' in message
    assert "(12 x 0 x 0 m)" in message


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_missing_unit_stops_whatever_the_version(tmp_path, version):
    with pytest.raises(RouteError, match="names no length unit"):
        read(save(tmp_path, a_line, version=version, unit=None))


def test_unitless_drawing_is_no_unit(tmp_path):
    with pytest.raises(RouteError, match="names no length unit"):
        read(save(tmp_path, a_line, unit=0))


def test_job_speaks_where_the_file_does_not(tmp_path):
    path = save(tmp_path, a_line, unit=0)
    drawn = read(path, units=LengthUnit.MILLIMETER)
    assert (drawn.length_unit, drawn.length_unit_from) == ("mm", "job")
    option = read_drawing(path, job(source="", units=LengthUnit.MILLIMETER))
    assert option.length_unit_from == "option"
    assert "unit-differs" not in codes(drawn)


def test_file_wins_over_the_job_and_the_difference_is_said(tmp_path):
    drawn = read(save(tmp_path, a_line, unit=1), units=LengthUnit.FOOT)
    assert drawn.length_unit == "in"
    message = finding(drawn, "unit-differs").message
    assert "inches" in message
    assert "job says ft" in message
    same = read(save(tmp_path, a_line, unit=1), units=LengthUnit.INCH)
    assert "unit-differs" not in codes(same)


@pytest.mark.parametrize(("code", "unit"), [(2, "ft"), (4, "mm"), (6, "m")])
@pytest.mark.parametrize(("length_format", "name"), [(3, "engineering"), (4, "architectural")])
@pytest.mark.parametrize("binary", [False, True])
def test_lengths_shown_in_feet_and_inches_dispute_any_unit_but_the_inch(
    tmp_path, code, unit, length_format, name, binary
):
    """DXF reference, HEADER, $LUNITS: 3 engineering, 4 architectural."""

    def draw(document, model):
        a_line(document, model)
        document.header["$LUNITS"] = length_format

    path = save(tmp_path, draw, unit=code, binary=binary)
    drawn = read(path)
    assert drawn.length_unit == unit
    told = finding(drawn, "unit-differs")
    assert told.severity is Severity.CAUTION
    assert told.concern is EVERY_RUN
    assert f"{name} feet and inches ($LUNITS {length_format})" in told.message
    assert f'units = "{unit}" under [drawing]' in told.message
    assert told in survey_drawing(path).findings
    settled = LengthUnit(unit)
    assert "unit-differs" not in codes(read(path, units=settled))
    assert "unit-differs" not in [
        one.code for one in survey_drawing(path, DrawingSettings(units=settled)).findings
    ]


@pytest.mark.parametrize(("code", "length_format"), [(1, 3), (1, 4), (2, 1), (4, 2), (2, 5)])
def test_other_ways_to_show_lengths_dispute_no_unit(tmp_path, code, length_format):
    def draw(document, model):
        a_line(document, model)
        document.header["$LUNITS"] = length_format

    assert "unit-differs" not in codes(read(save(tmp_path, draw, unit=code)))


def test_unit_word_in_a_text_or_after_the_header_counts_for_nothing(tmp_path):
    text = HEADERLESS.replace(
        "  0\nENDSEC\n  0\nEOF", "  9\n$INSUNITS\n 70\n     1\n  0\nENDSEC\n  0\nEOF"
    )
    assert named_unit_code(text.encode()) is None
    assert named_unit_code(b"  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\n$INSUNITS\n") is None


def test_windows_line_ends_and_padding_are_read():
    tags = ["  0", "SECTION", "  2", "HEADER", "  9", "$INSUNITS", "    70", "     4", "  0"]
    header = "\r\n".join([*tags, "ENDSEC", ""]).encode()
    assert named_unit_code(header) == 4


def test_a_unit_given_as_an_option_over_a_job_file_is_not_the_job_s(tmp_path):
    text = (
        '[drawing]\nunits = "ft"\n[raceway]\ntype = "EMT"\ntrade_size = "2"\n[[conductors]]\n'
        'count = 3\nsize = "4/0"\ninsulation = "THHN"\nmetal = "copper"\n'
    )
    base = tmp_path / "feeder.toml"
    base.write_text(text)
    path = save(tmp_path, a_line, unit=1)
    for units, who in ((None, "job says ft"), ("mm", "option says mm")):
        settled = job_from_options(base=base, units=units)
        assert f"the {who}" in finding(read_drawing(path, settled), "unit-differs").message
    plain = save(tmp_path, a_line, unit=0)
    assert read_drawing(plain, job_from_options(base=base)).length_unit_from == "job"
    assert read_drawing(plain, job_from_options(base=base, units="mm")).length_unit_from == "option"


def test_what_turning_a_plane_leaves_of_zero_is_no_extent_in_an_error(tmp_path):
    def tilted(_, model):
        model.add_lwpolyline([(0, 0), (16, 0), (16, 9)], dxfattribs={"extrusion": (1e-16, 0, 1.0)})

    with pytest.raises(RouteError, match=r"--units ft: 16 x 9 x 0 ft \("):
        read(save(tmp_path, tilted, unit=0))


@pytest.mark.parametrize("ends", ["\n", "\r", "\r\n"])
@pytest.mark.parametrize("comment", ["", "999\nset by hand\n", "999\none\n999\ntwo\n"])
def test_the_unit_is_found_whatever_ends_the_lines_and_past_comments(ends, comment):
    text = f"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n{comment} 70\n     4\n0\nENDSEC\n0\nEOF\n"
    assert named_unit_code(text.replace("\n", ends).encode()) == 4


def test_a_unit_in_a_comment_or_behind_the_header_is_none():
    text = "0\nSECTION\n2\nHEADER\n9\n$X\n999\n$INSUNITS\n70\n4\n0\nENDSEC\n"
    assert named_unit_code(text.encode()) is None
    behind = "0\rSECTION\r2\rHEADER\r0\rENDSEC\r9\r$INSUNITS\r70\r4\r"
    assert named_unit_code(behind.encode()) is None
