"""Standard output that is full, closed or no longer read, and files written whole or not at all."""

from __future__ import annotations

import errno
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from feeder_job import QUICK

from analyzer.cli import output
from analyzer.cli.main import main

LEVEL = "x_ft,y_ft,z_ft\n0,0,10\n20,0,10\n20,20,12\n"
FAILING = "x_ft,y_ft,z_ft\n0,0,0\n40,0,0\n40,40,0\n80,40,0\n80,0,0\n120,0,0\n120,40,0\n160,40,0\n"


class Stream(io.StringIO):
    """A stream that fails when it is written to."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number

    def flush(self) -> None:
        raise OSError(self.number, os.strerror(self.number))


@pytest.fixture
def feeder(tmp_path: Path) -> str:
    path = tmp_path / "feeder.csv"
    path.write_text(LEVEL)
    return str(path)


@pytest.mark.parametrize(
    "words",
    [["check"], ["check", "--json", "-"], ["plan"], ["boxes"], ["catalog", "frictions"]],
    ids=" ".join,
)
@pytest.mark.parametrize("kind", ["full", "closed"])
def test_standard_output_that_takes_nothing_is_said_and_exits_2(
    feeder, capsys, monkeypatch, words, kind
) -> None:
    args = words if words[0] == "catalog" else [words[0], feeder, *words[1:], *QUICK]
    stream = None if kind == "closed" else Stream(errno.ENOSPC)
    monkeypatch.setattr(sys, "stdout", stream)
    code = main(args)
    err = capsys.readouterr().err
    assert code == 2
    reason = "it is closed" if kind == "closed" else "No space left on device"
    assert f"raceway: cannot write to standard output: {reason}\n" in err


def test_version_that_cannot_be_said_exits_2(monkeypatch, capsys) -> None:
    monkeypatch.setattr(sys, "stdout", Stream(errno.EIO))
    assert main(["--version"]) == 2
    assert "cannot write to standard output" in capsys.readouterr().err


def test_reader_that_has_had_enough_leaves_the_verdict(tmp_path, monkeypatch, capsys) -> None:
    path = tmp_path / "failing.csv"
    path.write_text(FAILING)
    monkeypatch.setattr(sys, "stdout", Stream(errno.EPIPE))
    assert main(["check", str(path), *QUICK]) == 1
    assert capsys.readouterr().err == ""


def test_errors_that_cannot_be_said_keep_their_exit_code(tmp_path, monkeypatch) -> None:
    for stream in (None, Stream(errno.EPIPE)):
        monkeypatch.setattr(sys, "stderr", stream)
        assert main(["check", str(tmp_path / "none.csv"), *QUICK]) == 3


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_full_device_leaves_no_second_message_at_the_end() -> None:
    command = [sys.executable, "-m", "analyzer.cli.main", "catalog", "limits"]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr == "raceway: cannot write to standard output: No space left on device\n"


def test_interrupted_writing_leaves_no_file_behind(tmp_path, monkeypatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        output.write_bytes(tmp_path / "sheet.html", b"text")
    assert list(tmp_path.iterdir()) == []


def test_name_as_long_as_may_be_is_written(tmp_path) -> None:
    path = tmp_path / ("n" * 250 + ".json")
    output.write_bytes(path, b"text")
    assert path.read_bytes() == b"text"


def test_control_characters_of_a_title_reach_neither_terminal_nor_page(tmp_path, capsys) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        'title = "a\\u0000b\\u001b[2Jc"\n[raceway]\ntype = "EMT"\ntrade_size = "2"\n'
        '[[conductors]]\ncount = 3\nsize = "4/0"\ninsulation = "THHN"\nmetal = "copper"\n'
    )
    route = tmp_path / "feeder.csv"
    route.write_text(LEVEL)
    sheet, plan = tmp_path / "sheet.html", tmp_path / "plan.html"
    common = [str(route), "--job", str(job)]
    assert main(["check", *common, "--sheet", str(sheet)]) == 0
    assert main(["plan", *common, "--html", str(plan)]) == 0
    for text in (capsys.readouterr().out, sheet.read_text("utf-8"), plan.read_text("utf-8")):
        assert "a\ufffdb\ufffd[2Jc" in text
        assert "\x00" not in text
        assert "\x1b" not in text
    assert main(["check", *common, "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["job"]["title"] == "a\0b\x1b[2Jc"
