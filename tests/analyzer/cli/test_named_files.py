"""No output costs an input, no missing route hides behind the job, a job beside a route counts."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from feeder_job import QUICK

from analyzer.cli.main import main

LEVEL = "x_ft,y_ft,z_ft\n0,0,10\n20,0,10\n20,20,12\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> Path:
    """A folder with a route and its job beside it."""
    monkeypatch.chdir(tmp_path)
    Path("feeder.csv").write_text(LEVEL)
    assert main(["check", "feeder.csv", *QUICK, "--write-job", "feeder.toml"]) == 0
    capsys.readouterr()
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = main(list(args))
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("check", "--json feeder.csv"),
        ("check", "--json ./feeder.toml"),
        ("check", "--sheet link.html"),
        ("check", "--json same.json --sheet ./same.json"),
        ("check", "--xlsx a.csv"),
        ("check", "--sheet a.pdf"),
        ("check", "--xlsx -"),
        ("check", "--csv -"),
        ("check", "--csv feeder.csv"),
        ("check", "--sheet ."),
        ("check", "--write-job feeder.toml"),
        ("check", "--sheet - --json -"),
        ("check", "--csv out --json out"),
        ("plan", "--html - --csv -"),
        ("plan", "--csv feeder.csv"),
        ("plan", "--html feeder.csv"),
        ("plan", "--html p.html --csv p.html"),
        ("boxes", "--json feeder.toml"),
        ("view", "--image feeder.csv"),
        ("view", "--image a.png --page a.png"),
        ("view", "--image a.jpg"),
        ("view", "--image ."),
    ],
)
def test_unsafe_output_is_refused_and_nothing_is_written(folder, capsys, command, words) -> None:
    Path("link.html").symlink_to("feeder.csv")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    code, out, err = run(capsys, command, "feeder.csv", *words.split())
    assert (code, out) == (2, "")
    assert err.startswith("raceway: ")
    assert err.count("\n") == 1
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


LONG = "n" * 300


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["check", f"{LONG}.csv", *QUICK], 3),
        (["layers", f"{LONG}.dxf"], 3),
        (["plan", f"./{LONG}.csv"], 3),
        (["check", "feeder.csv", "--job", f"{LONG}.toml"], 2),
        (["check", "feeder.csv", "--json", f"{LONG}.json"], 2),
        (["check", "feeder.csv", "--csv", LONG], 2),
        (["plan", "feeder.csv", "--html", f"{LONG}.html"], 2),
    ],
    ids=lambda words: str(words[0])[:5] if isinstance(words, list) else None,
)
def test_name_that_is_too_long_is_a_message(folder, capsys, words, code) -> None:
    got, out, err = run(capsys, *words)
    assert (got, out) == (code, "")
    assert "File name too long" in err
    assert err.count("\n") == 1


def test_job_beside_a_route_whose_own_name_is_too_long_is_none(folder, capsys) -> None:
    name = "n" * 251 + ".csv"
    Path(name).write_text(LEVEL)
    assert run(capsys, "check", name, *QUICK)[0] == 0


def test_folder_that_may_not_be_looked_into_and_links_in_a_circle_are_messages(
    folder, capsys
) -> None:
    Path("loop.csv").symlink_to("loop.csv")
    code, _, err = run(capsys, "check", "loop.csv", *QUICK)
    assert code == 3
    assert "symbolic links" in err
    code, _, err = run(capsys, "check", "feeder.csv", "--json", "loop.csv")
    assert code == 2


def test_folder_of_tables_never_overwrites_a_route(folder, capsys) -> None:
    Path("runs.csv").write_text(LEVEL)
    code, _, err = run(capsys, "check", "runs.csv", "--job", "feeder.toml", "--csv", ".")
    assert code == 2
    assert "runs.csv" in err
    assert Path("runs.csv").read_text() == LEVEL


def test_link_stays_a_link_and_a_device_a_device(folder, capsys) -> None:
    Path("kept.json").write_text("")
    Path("latest.json").symlink_to("kept.json")
    assert run(capsys, "check", "feeder.csv", "--json", "latest.json")[0] == 0
    assert Path("latest.json").is_symlink()
    assert Path("kept.json").read_text().startswith("{")
    pipe = folder / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        assert run(capsys, "check", "feeder.csv", "--json", "pipe")[0] == 0
        assert pipe.is_fifo()
        assert os.read(reader, 1) == b"{"
    finally:
        os.close(reader)


@pytest.mark.parametrize("command", ["check", "plan", "boxes", "layers"])
@pytest.mark.parametrize(
    ("name", "words"), [("", "empty name"), ("nope.csv", "no such file"), ("part", "is a folder")]
)
def test_route_that_is_not_there_is_said_before_the_job_is_asked_for(
    folder, capsys, command, name, words
) -> None:
    Path("part").mkdir()
    code, out, err = run(capsys, command, name)
    assert (code, out) == (3, "")
    assert words in err


@pytest.mark.parametrize("name", ["", ".", "/", ".."])
def test_a_route_without_a_name_among_others_costs_only_itself(folder, capsys, name) -> None:
    assert run(capsys, "check", "feeder.csv", name)[0] == 2  # each has its own job, or none
    code, out, err = run(capsys, "check", "feeder.csv", name, "--job", "feeder.toml")
    assert code == 3
    assert "name a .dxf or .csv file" in err
    assert "feeder" in out


@pytest.mark.parametrize(
    ("command", "option"), [("check", "--csv"), ("check", "--job"), ("layers", "--job")]
)
def test_an_empty_name_of_a_folder_or_a_job_is_refused(folder, capsys, command, option) -> None:
    before = sorted(path.name for path in folder.iterdir())
    with pytest.raises(SystemExit) as stopped:
        main([command, "feeder.csv", option, ""])
    assert stopped.value.code == 2
    assert f"argument {option}: the name is empty" in capsys.readouterr().err
    assert sorted(path.name for path in folder.iterdir()) == before


def test_tables_go_into_this_folder_where_it_is_named(folder, capsys) -> None:
    assert run(capsys, "check", "feeder.csv", "--csv", ".")[0] == 0
    assert Path("runs.csv").is_file()


def test_picture_of_some_routes_says_that_others_were_not_read(folder, capsys) -> None:
    Path("bad.csv").write_text("x_ft,y_ft,z_ft\n0,0,0\n1,two,0\n")
    words = ["view", "bad.csv", "feeder.csv", "--job", "feeder.toml", "--glb", "model.glb"]
    code, _, err = run(capsys, *words)
    assert code == 3
    assert "bad.csv" in err
    assert Path("model.glb").is_file()


def test_option_goes_on_top_of_the_job_beside_the_route(folder, capsys) -> None:
    code, out, _ = run(capsys, "check", "feeder.csv", "--metric", "--friction", "0.3,0.4,0.5")
    assert code == 0
    assert "0.30 low, 0.40 expected" in out
    assert " m, 1 bend" in out
    assert "feeder.toml, found beside the route, with options --friction, --metric" in out


def test_raceway_and_conductors_given_stand_for_the_whole_job(folder, capsys) -> None:
    out = run(capsys, "check", "feeder.csv", *QUICK)[1]
    assert "feeder.toml beside the route was not used" in out


def test_several_routes_with_jobs_of_their_own_ask_for_one(folder, capsys) -> None:
    for name in ("riser.csv", "riser.toml"):
        Path(name).write_text(Path("feeder" + name[5:]).read_text())
    code, _, err = run(capsys, "check", "feeder.csv", "riser.csv")
    assert code == 2
    assert "2 routes share one job: name it with --job" in err


ENTRY = '\n[[fittings]]\nname = "Box Q"\nkind = "pull box"\nat = "10 ft"\nrun = "RUN"\n'


def test_job_of_several_routes_may_name_what_only_one_of_them_holds(folder, capsys) -> None:
    Path("riser.csv").write_text(LEVEL.replace("20,20", "40,20"))
    job = Path("feeder.toml").read_text()
    Path("both.toml").write_text(job + ENTRY.replace("RUN", "riser"))
    words = ["check", "feeder.csv", "riser.csv", "--job", "both.toml"]
    code, out, err = run(capsys, *words)
    assert (code, err) == (0, "")
    assert "start to Box Q: 10.0 ft" in out
    assert out.count("start to end:") == 1


def test_what_no_route_holds_stops_all_and_so_does_it_with_one_route(folder, capsys) -> None:
    Path("riser.csv").write_text(LEVEL)
    job = Path("feeder.toml").read_text()
    Path("both.toml").write_text(job + ENTRY.replace("RUN", "attic"))
    for routes in (["feeder.csv", "riser.csv"], ["feeder.csv"]):
        code, out, err = run(capsys, "check", *routes, "--job", "both.toml")
        assert (code, out) == (2, "")
        assert '"Box Q" stands on run "attic", which is none of' in err


def test_shared_start_holds_for_the_route_that_has_it(folder, capsys) -> None:
    rows = LEVEL.replace("z_ft\n", "z_ft,fitting,label\n").replace("20,20,12", "20,20,12,panel,P9")
    Path("riser.csv").write_text(rows)
    job = Path("feeder.toml").read_text()
    assert "[drawing]" not in job
    Path("both.toml").write_text(job + '\n[drawing]\nstart = "P9"\n')
    code, out, _ = run(capsys, "check", "feeder.csv", "riser.csv", "--job", "both.toml")
    assert code == 0
    assert "P9" in out
