"""`raceway check` as people type it: exit codes, messages, outputs whole or not at all."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from feeder_job import QUICK

from analyzer.analysis import analyze
from analyzer.catalog.listing import CATALOG_PARTS
from analyzer.cli import output
from analyzer.cli.loading import said_of_routes
from analyzer.cli.main import main
from analyzer.cli.output import write_text
from analyzer.findings import Finding, Severity
from analyzer.geometry.survey import deviations
from analyzer.importers.reading import open_route
from analyzer.job.options import job_from_options
from analyzer.units import LengthUnit

LEVEL = "x_ft,y_ft,z_ft\n0,0,10\n20,0,10\n20,20,12\n"


def route(tmp_path: Path, text: str, name: str = "feeder.csv") -> str:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = main(list(args))
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def test_quick_options_need_no_job_file(tmp_path, capsys) -> None:
    code, out, _ = run(capsys, "check", route(tmp_path, LEVEL), *QUICK)
    assert code == 0
    assert out.startswith("CAUTION")  # the sidewall limit is assumed
    assert "options --raceway, --conductor, --friction" in out


def test_verdict_stands_first_and_cautions_last(tmp_path, capsys) -> None:
    _, out, _ = run(capsys, "check", route(tmp_path, LEVEL), *QUICK)
    assert out.index("CAUTION") < out.index("Leg 1") < out.index("Estimate for planning")


def test_failing_run_exits_1(tmp_path, capsys) -> None:
    points = "x_ft,y_ft,z_ft\n" + "\n".join(
        f"{20 * ((i + 1) // 2)},{20 * (i // 2)},10" for i in range(8)
    )
    code, out, _ = run(capsys, "check", route(tmp_path, points), *QUICK)
    assert code == 1
    assert out.startswith("FAIL")
    assert "540°" in out


def test_no_job_exits_2_and_says_what_to_add(tmp_path, capsys) -> None:
    code, out, err = run(capsys, "check", route(tmp_path, LEVEL))
    assert (code, out) == (2, "")
    assert "--raceway" in err
    assert "--conductor" in err


def test_option_given_twice_is_refused_and_named(tmp_path, capsys) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["check", route(tmp_path, LEVEL), *QUICK, "--friction", "0.3"])
    assert stop.value.code == 2
    assert "--friction is given twice: give it once" in capsys.readouterr().err


def test_conductors_and_layers_may_be_repeated(tmp_path, capsys) -> None:
    more = ["--conductor", "1 x 4 THHN copper"]
    code, out, _ = run(capsys, "check", route(tmp_path, LEVEL), *QUICK, *more)
    assert code == 0
    assert "1 × 4 AWG THHN" in out


def test_a_named_conductor_is_told_with_its_size_in_every_output(tmp_path, capsys) -> None:
    path = route(tmp_path, LEVEL.replace("20,20,12", "20,20,200"))
    (tmp_path / "feeder.toml").write_text(
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n'
        '[[conductors]]\ncount = 3\nname = "phase"\nsize = "4/0"\ninsulation = "THHN"\n'
        'metal = "aluminum"\n'
        '[[existing_conductors]]\nname = "ground"\nsize = "4"\ninsulation = "THHN"\n'
        'metal = "copper"\n',
        encoding="utf-8",
    )
    tables, sheet = tmp_path / "tables", tmp_path / "feeder.html"
    _, out, _ = run(capsys, "check", path, "--csv", str(tables), "--sheet", str(sheet))
    text = " ".join(out.split())
    phase, ground = "phase (4/0 AWG THHN compact aluminum)", "ground (4 AWG THHN copper)"
    assert f"3 × {phase}, diameter" in text
    assert f"not pulled: 1 × {ground}" in text
    for told in ("no temper given", "may hang without support"):
        assert re.search(rf"{re.escape(phase)}:? {told}", text)
    assert f"no count given for {ground}" in text
    assert f"3 × {phase}" in sheet.read_text(encoding="utf-8")
    facts = (tables / "facts.csv").read_text(encoding="utf-8")
    assert f"3 x {phase}" in facts
    assert f"1 x {ground}" in facts
    _, plan, _ = run(capsys, "plan", path)
    assert f"3 × {phase}: cut each" in " ".join(plan.split())


def test_a_line_limit_from_the_breaking_strength_is_told_where_its_check_fails(
    tmp_path, capsys
) -> None:
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,40,10\n80,40,10\n")
    job = tmp_path / "feeder.toml"
    text = (
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n[[conductors]]\ncount = 3\nsize = "4/0"\n'
        'insulation = "THHN"\nmetal = "copper"\n[pull]\nfriction = 0.5\n'
        '[plan]\nline_breaking_strength = "200 lbf"\n'
    )
    job.write_text(text, encoding="utf-8")
    tables = tmp_path / "tables"
    code, out, _ = run(capsys, "check", path, "--csv", str(tables))
    words = " ".join(out.split())
    assert code == 1
    assert "above the limit of 40.0 lbf" in words
    told = "ine working load not stated, 20 % of its breaking strength taken (rope maker's page)"
    assert words.count(f"{told}: 40.0 lbf of 200 lbf; state line_working_load in [pull]") == 1
    facts = (tables / "facts.csv").read_text(encoding="utf-8")
    for fact in ("line breaking strength,889.6", "line limit,177.9", "line limit from,rope maker"):
        assert fact in facts
    _, out, _ = run(capsys, "boxes", path)
    assert " ".join(out.split()).count(told) == 1
    job.write_text(text.replace("200 lbf", "20000 lbf"))
    _, out, _ = run(capsys, "check", path)  # now this check passes and names what it rests on
    assert " ".join(out.split()).count(told) == 1
    job.write_text(text.replace("[plan]", 'line_working_load = "150 lbf"\n[plan]'))
    code, out, _ = run(capsys, "check", path, "--csv", str(tables))
    assert "breaking strength" not in out
    assert "line limit,667.2" in (tables / "facts.csv").read_text(encoding="utf-8")


def test_job_beside_the_route_is_used_and_named(tmp_path, capsys) -> None:
    path = route(tmp_path, LEVEL)
    written = tmp_path / "feeder.toml"
    code, _, err = run(capsys, "check", path, *QUICK, "--write-job", str(written))
    assert err == f"Job file written: {written}.\n"
    assert code == 0
    code, out, _ = run(capsys, "check", path)
    assert code == 0
    assert "job file feeder.toml, found beside the route" in out


def test_written_job_gives_the_same_analysis(tmp_path, capsys) -> None:
    path, job = route(tmp_path, LEVEL), str(tmp_path / "other.toml")
    run(capsys, "check", path, *QUICK, "--write-job", job, "--json", str(tmp_path / "a.json"))
    run(capsys, "check", path, "--job", job, "--json", str(tmp_path / "b.json"))
    one, other = (json.loads((tmp_path / name).read_text()) for name in ("a.json", "b.json"))
    assert one["runs"] == other["runs"]


def test_json_on_standard_output_moves_the_text_to_standard_error(tmp_path, capsys) -> None:
    code, out, err = run(capsys, "check", route(tmp_path, LEVEL), *QUICK, "--json", "-")
    assert code == 0
    assert json.loads(out)["format"] == "raceway-analysis"
    assert err.startswith("CAUTION")


def test_a_broken_route_exits_3_after_the_others_are_done(tmp_path, capsys) -> None:
    good = route(tmp_path, LEVEL)
    code, out, err = run(capsys, "check", str(tmp_path / "gone.csv"), good, *QUICK)
    assert code == 3
    assert "gone.csv" in err
    assert "Leg 1" in out


@pytest.mark.parametrize("text", [None, "x_ft,y_ft,z_ft\n0,0,0\n1,oops,0\n"])
def test_a_file_that_was_lost_is_told_in_the_text_and_in_the_analysis_file(
    tmp_path, capsys, text
) -> None:
    lost = tmp_path / "lost.csv"
    if text is not None:
        lost.write_text(text)
    made = tmp_path / "made.json"
    good = route(tmp_path, LEVEL)
    code, out, err = run(capsys, "check", str(lost), good, *QUICK, "--json", str(made))
    assert code == 3
    assert "lost.csv" in err
    assert out.startswith("Errors on the job and the files\n  - ")
    assert ": 1 file not read; 1 run: " in out
    assert re.search(r"^  lost.csv +not read", out, re.MULTILINE)
    (told,) = [f for f in json.loads(made.read_text())["findings"] if f["code"] == "file-unread"]
    assert (told["severity"], told["where"]) == ("error", "lost.csv")
    assert "lost.csv" in told["message"]
    alone, out, _ = run(capsys, "check", good, *QUICK)
    assert alone == 0
    assert "not read" not in out


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["empty"]),
        ("x,y,z\n0,0,0\n1,0,0\n", ["unit", "--units"]),
        ("x_ft,y_ft,z_ft\n0,0,0\n1,ten,0\n", ["ten", "row 3"]),
        ("x_ft,y_ft,z_ft\n0,0,0\n1,nan,0\n", ["nan", "row 3"]),
        ("x_ft,y_ft,z_ft\n0,0,0\n1,inf,0\n", ["inf", "row 3"]),
        ("x_ft,y_ft,z_ft\n0,0,0\n", ["one point"]),
        ("x_ft,y_ft,z_ft\n1,1,1\n1,1,1\n1,1,1\n", ["equal"]),
    ],
    ids=["empty", "no unit", "text", "nan", "infinity", "one point", "all equal"],
)
def test_bad_route_exits_3_with_one_clear_message(tmp_path, capsys, text, words) -> None:
    code, out, err = run(capsys, "check", route(tmp_path, text), *QUICK)
    assert (code, out) == (3, "")
    assert "feeder.csv" in err
    for word in words:
        assert word in err


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("[pull]\nfriction = { low = 0.5, expected = 0.3, high = 0.6 }", ["friction", "line"]),
        ("[pull]\nfriction = 2.5", ["friction", "2"]),
        ("[pull]\nfrictoin = 0.3", ["frictoin", "friction"]),
        ('[raceway]\ntype = "EMT"\ntrade_size = "2"\nbend_radius = "-3 in"', ["bend_radius"]),
        ('[[conductors]]\ncount = 3\nsize = "5/0"\ninsulation = "THHN"\nmetal = "copper"', ["5/0"]),
        ("[pull]\nfeed_tension = 20", ["feed_tension", "unit"]),
        ("title = ", ["line 1"]),
    ],
    ids=["band", "range", "unknown key", "negative", "conductor", "no unit", "syntax"],
)
def test_bad_job_exits_2_with_line_and_key(tmp_path, capsys, line, words) -> None:
    job = tmp_path / "job.toml"
    job.write_text(line + "\n", encoding="utf-8")
    code, out, err = run(capsys, "check", route(tmp_path, LEVEL), "--job", str(job))
    assert (code, out) == (2, "")
    assert "job.toml" in err
    for word in words:
        assert word in err


def test_an_output_that_cannot_be_written_exits_2_and_leaves_nothing(tmp_path, capsys) -> None:
    target = tmp_path / "missing" / "a.json"
    code, _, err = run(capsys, "check", route(tmp_path, LEVEL), *QUICK, "--json", str(target))
    assert code == 2
    assert "cannot write" in err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["feeder.csv"]


@pytest.mark.parametrize("option", ["--xlsx", "--csv"])
def test_no_output_is_written_where_another_has_no_place(tmp_path, capsys, option) -> None:
    (tmp_path / "taken").write_text("")
    outputs = ["--json", str(tmp_path / "a.json"), option, str(tmp_path / "taken" / "x.xlsx")]
    code, _, err = run(capsys, "check", route(tmp_path, LEVEL), *QUICK, *outputs)
    assert code == 2
    assert err.count("cannot") == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["feeder.csv", "taken"]


def test_a_fitting_far_from_the_line_is_a_finding_with_its_distance(tmp_path, capsys) -> None:
    path = route(tmp_path, LEVEL)
    job = tmp_path / "feeder.toml"
    run(capsys, "check", path, *QUICK, "--write-job", str(job))
    text = job.read_text() + (
        '\n[[fittings]]\nname = "Box A"\nkind = "pull box"\nposition = ["10 ft", "5 ft", "10 ft"]\n'
    )
    job.write_text(text)
    _, out, _ = run(capsys, "check", path)
    assert "Box A" in out
    assert "60 in" in out  # 5 ft off the line


def test_csv_folder_and_workbook_are_written(tmp_path, capsys) -> None:
    import openpyxl

    folder, book = tmp_path / "tables", tmp_path / "book.xlsx"
    run(capsys, "check", route(tmp_path, LEVEL), *QUICK, "--csv", str(folder), "--xlsx", str(book))
    assert {"legs.csv", "pulls.csv", "bends.csv"} <= {p.name for p in folder.iterdir()}
    assert "pulls" in openpyxl.load_workbook(book).sheetnames


def test_csv_folder_written_again_holds_nothing_of_the_route_before(tmp_path, capsys) -> None:
    folder = tmp_path / "tables"
    out = ["--csv", str(folder)]
    run(capsys, "check", route(tmp_path, LEVEL), *QUICK, *out)
    first = {path.name: path.read_text().splitlines() for path in folder.iterdir()}
    assert len(first["bends.csv"]) == 2
    run(capsys, "check", route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n42,0,10\n"), *QUICK, *out)
    again = {path.name: path.read_text().splitlines() for path in folder.iterdir()}
    assert set(again) == set(first)
    for name in ("bends.csv", "features.csv", "bend_tensions.csv"):
        assert again[name] == first[name][:1]


def test_text_from_files_is_escaped_in_the_sheet(tmp_path, capsys) -> None:
    text = (
        "x_ft,y_ft,z_ft,fitting,label\n"
        "0,0,10,panel,<script>alert(1)</script>\n20,0,10,,\n20,20,12,panel,B&B\n"
    )
    sheet = tmp_path / "s.html"
    run(capsys, "check", route(tmp_path, text), *QUICK, "--sheet", str(sheet))
    page = sheet.read_text(encoding="utf-8")
    assert "<script" not in page
    assert "B&amp;B" in page


def test_catalog_lists_what_a_job_can_name(capsys) -> None:
    code, out, _ = run(capsys, "catalog", "conductors", "--find", "4/0")
    assert code == 0
    assert "0.642" in out  # NEC chapter 9 table 5, 4/0 THHN diameter in inches


@pytest.mark.parametrize("what", [[], *([part] for part in CATALOG_PARTS)], ids=" ".join)
def test_catalog_folds_to_a_narrow_terminal(what, capsys, monkeypatch) -> None:
    monkeypatch.setattr(output, "terminal_width", lambda: 40)
    find = ["--find", "4/0"] if what == ["conductors"] else []
    _, out, _ = run(capsys, "catalog", *what, *find)
    assert max(map(len, out.splitlines())) <= 40


def test_catalog_finds_a_row_by_words_that_stand_in_several_columns(capsys) -> None:
    _, out, _ = run(capsys, "catalog", "raceways", "--find", "emt 2")
    rows = [line.split()[:2] for line in out.splitlines() if line.lstrip().startswith("EMT")]
    assert rows == [["EMT", "2"]]
    _, out, _ = run(capsys, "catalog", "conductors", "--find", "xhhw alum 4/0")
    assert "aluminum" in out and "4/0" in out


def test_layers_shows_extents_in_each_unit_where_none_is_named(tmp_path, capsys) -> None:
    import ezdxf

    document = ezdxf.new("R2010", units=0)
    document.modelspace().add_line((0, 0, 0), (120, 0, 0))
    path = tmp_path / "bare.dxf"
    document.saveas(path)
    code, out, _ = run(capsys, "layers", str(path))
    assert code == 0
    assert "if in:" in out
    assert "if mm:" in out


def test_no_command_prints_help_and_exits_2(capsys) -> None:
    code, out, _ = run(capsys)
    assert code == 2
    assert "check" in out


def test_version_is_that_of_the_distribution(capsys) -> None:
    from importlib.metadata import version

    assert run(capsys, "--version")[1].strip() == version("raceway-path-analyzer")


@pytest.mark.parametrize("option", ["--json", "--csv", "--sheet", "--xlsx"])
def test_a_layer_name_with_bytes_that_are_no_text_stops_no_output(tmp_path, capsys, option) -> None:
    document = ezdxf.new()
    document.header["$INSUNITS"] = 1
    for layer, y in (("Trassé", 0), ("OTHER", 90)):
        document.modelspace().add_line((0, y), (200, y), dxfattribs={"layer": layer})
    path = tmp_path / "feeder.dxf"
    document.saveas(path)
    path.write_bytes(path.read_bytes().replace("é".encode(), b"\xe9"))
    code, out, _ = run(capsys, "check", str(path), *QUICK, option, str(tmp_path / "made"))
    assert code == 0
    assert "Trassé" in out


def test_a_text_that_no_encoding_holds_is_written_with_a_mark(tmp_path, capsys) -> None:
    write_text(tmp_path / "made.txt", "a\udce9b")
    assert (tmp_path / "made.txt").read_text("utf-8") == "a?b"
    write_text(Path("-"), "a\udce9b")
    assert capsys.readouterr().out == "a?b\n"


LOST = "run,x_ft,y_ft,z_ft\na,0,0,10\na,20,0,10\na,20,20,12\nb,0,0,0\nb,10,0,0\nb,5,0,0\n"


def test_a_run_that_was_lost_stands_before_the_verdicts_of_the_others(tmp_path, capsys) -> None:
    sheet = tmp_path / "sheet.html"
    code, out, _ = run(capsys, "check", route(tmp_path, LOST), *QUICK, "--sheet", str(sheet))
    assert code == 3
    assert out.startswith("Errors on the job and the files\n  - feeder.csv: the route turns back")
    assert out.index("2 runs: 1 not read, 1 with cautions") < out.index("\nCAUTION")
    assert re.search(r"^  b +not read", out, re.MULTILINE)
    assert out.count("turns back") == 1
    page = sheet.read_text()
    assert page.index("Errors on the job") < page.index("1 not read") < page.index("caution, ")


@pytest.mark.parametrize(
    ("words", "before"),
    [
        (("boxes",), "NO BOX NEEDED"),
        (("boxes", "--add", "5 ft"), "WHAT IF"),
        (("boxes", "--lesson"), "LESSON"),
        (("plan",), "PULL PLAN"),
    ],
)
def test_every_command_tells_what_was_lost_and_what_is_in_doubt(
    tmp_path, capsys, words, before
) -> None:
    name, *more = words
    path = route(tmp_path, LOST)
    code, out, _ = run(capsys, name, path, *more, *QUICK, "--units", "m")
    assert code == 3
    assert out.index("turns back on itself") < out.index(before)
    assert "he header names its own unit" in out.replace("\n    ", " ")


def test_the_unit_of_the_drawing_and_who_named_it_is_a_fact(tmp_path, capsys) -> None:
    _, out, _ = run(capsys, "check", route(tmp_path, LEVEL), *QUICK)
    assert re.search(r"^  Drawn in +ft, named by the header$", out, re.MULTILINE)


def test_commands_without_a_list_say_cautions_on_files_and_runs_beside_it(tmp_path) -> None:
    job = job_from_options(raceway="EMT 2", conductor=["3 x 4/0 THHN copper"])
    job = replace(job, drawing=replace(job.drawing, units=LengthUnit.METER))
    read = open_route(route(tmp_path, LEVEL), job)
    said = said_of_routes(analyze(read.runs, job, read.findings))
    assert [line.split(", ")[0] for line in said if "unit" in line] == [
        'caution on run feeder: the header names its own unit ("x_ft"'
    ]


def test_cautions_that_read_alike_are_said_once_and_counted_once(tmp_path) -> None:
    job = job_from_options(raceway="EMT 2", conductor=["3 x 4/0 THHN copper"])
    read = open_route(route(tmp_path, LEVEL), job)
    made = analyze(read.runs, job, read.findings)
    crossing = [
        Finding(
            "self-crossing", Severity.CAUTION, f"the run crosses itself at {at} m", f"row {row}"
        )
        for row, at in enumerate([1, 2, 2, *range(3, 26)])
    ]
    item = replace(made.runs[0], run=replace(made.runs[0].run, findings=tuple(crossing)))
    said = said_of_routes(replace(made, runs=(item,)))
    told = [line for line in said if "crosses itself" in line]
    assert len(told) == len(set(told))
    assert said[-1].startswith(f"{25 - len(told)} more cautions")


def test_a_radius_that_the_points_do_not_tell_has_no_deviation_in_any_output(
    tmp_path, capsys, monkeypatch
) -> None:
    monkeypatch.setattr(deviations, "solve_band", lambda *_: None)  # equations that tell nothing
    rng = np.random.default_rng(5)
    along = [(20.0 * i, 0.0) for i in range(6)] + [(112.0, 4.0), (119.0, 12.0)]
    along += [(120.0, 20.0 * i) for i in range(1, 7)]
    rows = [(*(round(v + rng.normal(0, 0.04), 3) for v in at), 1.0) for at in along]
    points = "x_in,y_in,z_in\n" + "\n".join(f"{x},{y},{z}" for x, y, z in rows)
    asked = (route(tmp_path, points), *QUICK)
    names = {name: str(tmp_path / f"out.{name}") for name in ("json", "csv", "xlsx", "sheet")}
    options = [word for name, path in names.items() for word in (f"--{name}", path)]
    run(capsys, "check", *asked, *options)
    bends = json.loads(Path(names["json"]).read_text())["runs"][0]["bends"]
    told = {tuple(bend[key] for key in ("radius_sd_m", "radius_determined")) for bend in bends}
    assert told == {(None, False)}
    assert {bend["angle_sd_deg"] for bend in bends} == {180.0}
    with (Path(names["csv"]) / "bends.csv").open() as table:
        assert {row["radius_sd_m"] for row in csv.DictReader(table)} == {""}
    for text in (*Path(names["csv"]).glob("*.csv"), Path(names["sheet"])):
        assert not re.search(r"\b(inf|nan)\b", text.read_text())
