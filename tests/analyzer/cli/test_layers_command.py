"""`raceway layers` shows what `raceway check` would read with the same job."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest
from feeder_job import FEEDER, FEEDER_JOB

from analyzer.cli.main import main

JOB = f"""
[drawing]
units = "in"
layers = ["E-*"]
[drawing.fittings]
"STATION*" = "pull box"
{FEEDER_JOB}"""
QUICK = ["--raceway", "EMT 2", "--conductor", FEEDER]


@pytest.fixture
def drawing(tmp_path: Path) -> str:
    document = ezdxf.new("R2010", units=0)
    model = document.modelspace()
    document.blocks.new("STATION").add_circle((0, 0), 2)
    model.add_line((0, 0), (240, 0), dxfattribs={"layer": "E-RUN"})
    model.add_line((240, 0), (240, 240), dxfattribs={"layer": "E-RUN"})
    model.add_line((0, 50), (100, 50), dxfattribs={"layer": "WALLS"})
    model.add_blockref("STATION", (120, 0), dxfattribs={"layer": "MARKS"})
    path = tmp_path / "feeder.dxf"
    document.saveas(path)
    return str(path)


@pytest.fixture
def job(drawing: str) -> Path:
    path = Path(drawing).with_suffix(".toml")
    path.write_text(JOB)
    return path


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = main(list(args))
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, " ".join(out.split()), err


def test_job_beside_the_drawing_decides_as_it_does_for_check(job, drawing, capsys) -> None:
    code, out, _ = run(capsys, "layers", drawing)
    assert code == 0
    assert "E-RUN on 2 LINE 480.0 1 0 0 yes a layer pattern names it" in out
    assert "WALLS on 1 LINE 100.0 1 0 0 no no layer pattern names it" in out
    assert "STATION 1 pull box under [drawing.fittings]" in out
    assert "unit in, as the job says; file: none named" in out
    assert "--units" not in out
    source = "Job: job file feeder.toml, found beside the route."
    assert source in out
    checked = run(capsys, "check", drawing)[1]
    assert source in checked
    assert "2 legs" in checked  # the block is a pull box
    left_out = "1 entity on a layer no pattern names left out (layer WALLS (1))"
    assert left_out in out
    assert left_out in checked


def test_a_metric_job_is_told_meters_first(job, drawing, capsys) -> None:
    job.write_text('units = "metric"\n' + JOB)
    _, out, _ = run(capsys, "layers", drawing)
    assert "extents 6.096 x 6.096 x 0 m (20 x 20 x 0 ft)" in out


def test_without_a_job_every_layer_is_read_and_the_unit_asked_for(drawing, capsys) -> None:
    code, out, _ = run(capsys, "layers", drawing)
    assert code == 0
    assert "WALLS on 1 LINE 100.0 1 0 0 yes" in out
    assert "STATION 1 lines opened for its lines and arcs" in out
    assert "add --units" in out
    assert "Job: none named, and none beside the drawing." in out


def test_options_need_neither_job_nor_conductors(drawing, capsys) -> None:
    words = ["--units", "mm", "--layers", "WALLS", "--layers", "E-X,E-Y"]
    code, out, _ = run(capsys, "layers", drawing, *words)
    assert code == 0
    assert "unit mm, as the option says; file: none named" in out
    assert "E-RUN on 2 LINE 480.0 1 0 0 no" in out
    assert "WALLS on 1 LINE 100.0 1 0 0 yes" in out
    assert "the layer pattern 'E-Y' matches no layer" in out
    assert "Job: options --units, --layers." in out
    assert "the layer pattern 'E-Y' matches" in run(capsys, "check", drawing, *QUICK, *words)[1]


def test_options_go_on_top_of_the_job_beside_the_drawing(job, drawing, capsys) -> None:
    out = run(capsys, "layers", drawing, "--layers", "WALLS")[1]
    assert "WALLS on 1 LINE 100.0 1 0 0 yes" in out
    assert "E-RUN on 2 LINE 480.0 1 0 0 no" in out
    assert "feeder.toml, found beside the route, with options --layers" in out


def test_job_named_is_used_instead_of_that_beside(job, drawing, capsys, tmp_path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(JOB.replace("E-*", "WALLS").replace('"in"', '"ft"'))
    out = run(capsys, "layers", drawing, "--job", str(other))[1]
    assert "WALLS on 1 LINE 100.0 1 0 0 yes" in out
    assert "unit ft, as the job says" in out
    assert f"Job: job file {other}." in out


def test_unit_of_the_file_wins_and_the_difference_is_told_as_by_check(job, drawing, capsys) -> None:
    document = ezdxf.readfile(drawing)
    document.header["$INSUNITS"] = 4
    document.saveas(drawing)
    out = run(capsys, "layers", drawing)[1]
    assert "unit millimeters ($INSUNITS 4)" in out
    told = "the job says in: the drawing is followed"
    assert told in out
    assert told in run(capsys, "check", drawing)[1]


@pytest.mark.parametrize(
    ("words", "told"),
    [(["--units", "cubit"], '--units "cubit"'), (["--job", "none.toml"], "none.toml")],
)
def test_wrong_job_or_option_exits_2(drawing, capsys, words, told) -> None:
    code, out, err = run(capsys, "layers", drawing, *words)
    assert (code, out) == (2, "")
    assert told in err


def test_wrong_job_beside_exits_2_with_the_words_of_check(job, drawing, capsys) -> None:
    job.write_text(JOB.replace("units", "unitz"))
    code, out, err = run(capsys, "layers", drawing)
    assert (code, out) == (2, "")
    assert "feeder.toml, line 3" in err
    assert run(capsys, "check", drawing) == (2, "", err)


def test_line_without_length_is_described_alike(tmp_path, capsys) -> None:
    document = ezdxf.new("R2010", units=1)
    line = document.modelspace().add_line((5, 5), (5, 5), dxfattribs={"layer": "DOT"})
    path = tmp_path / "dot.dxf"
    document.saveas(path)
    told = f"1 entity without length left out; delete it (layer DOT, LINE {line.dxf.handle})"
    code, out, _ = run(capsys, "layers", str(path))
    assert code == 0
    assert "DOT on 1 LINE 0.0 0 0 0 no nothing with a length" in out
    assert told in out
    code, _, err = run(capsys, "check", str(path), *QUICK)
    assert code == 3
    assert told in err
    assert "nothing with a length" in err


def test_what_is_drawn_twice_or_inside_a_hidden_layer_is_told_as_by_check(drawing, capsys) -> None:
    document = ezdxf.readfile(drawing)
    model = document.modelspace()
    model.add_line((240, 0), (0, 0), dxfattribs={"layer": "E-RUN"})
    model.add_blockref("STATION", (120, 0), dxfattribs={"layer": "MARKS"})
    document.layers.add("OLD").freeze()
    document.blocks.new("PART").add_line((0, 0), (3, 0), dxfattribs={"layer": "INNER"})
    model.add_blockref("PART", (500, 0), dxfattribs={"layer": "OLD"})
    document.saveas(drawing)
    words = ["--units", "in"]
    out = run(capsys, "layers", drawing, *words)[1]
    checked = run(capsys, "check", drawing, *QUICK, *words)[1]
    for told in ("lies exactly on LINE", "1 entity on a frozen layer left out"):
        assert told in out
        assert told in checked
    assert "INNER on 1 LINE 3.0 1 0 0 no inside blocks on a hidden layer only" in out
    assert "PART 1 lines opened for its lines and arcs; left out, its layer is hidden" in out


def test_paper_space_that_the_job_names_is_listed_and_read(job, drawing, capsys) -> None:
    document = ezdxf.readfile(drawing)
    document.layout("Layout1").add_line((0, 0), (7, 0), dxfattribs={"layer": "E-PAPER"})
    document.saveas(drawing)
    assert "names it: Layout1 (1)" in run(capsys, "layers", drawing)[1]
    job.write_text(JOB.replace("[drawing]\n", '[drawing]\nlayouts = ["Layout*"]\n'))
    out = run(capsys, "layers", drawing)[1]
    assert "names it: Layout1 (1, read)" in out
    assert "E-PAPER on 1 LINE" in out


def test_names_of_the_job_that_match_nothing_are_told_as_by_check(job, drawing, capsys) -> None:
    job.write_text(JOB.replace("[drawing]\n", '[drawing]\nname_layers = ["NOTES"]\n'))
    told = "'NOTES' matches no layer with texts of the drawing"
    assert told in run(capsys, "layers", drawing)[1]
    assert told in run(capsys, "check", drawing)[1]
