"""`raceway plan` as a foreman types it: the page, its figures, and the words that must stand."""

from __future__ import annotations

import csv
import html
import io
import re
from pathlib import Path

import pytest
from feeder_job import QUICK

from analyzer.cli.main import main

EXAMPLES = Path(__file__).parents[3] / "example_paths"
FEEDER = str(EXAMPLES / "overhead_feeder.dxf")
YARD = str(EXAMPLES / "training_yard.csv")


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = main(list(args))
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def flat(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", text)).split())


def route(tmp_path: Path, text: str, name: str = "feeder.csv") -> str:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_plan_says_where_the_reels_stand_first(capsys) -> None:
    code, out, _ = run(capsys, "plan", FEEDER)
    assert code == 0
    assert out.startswith("PULL PLAN  Ice rink chiller feeder")
    assert out.index("Reels at") < out.index("STOP above") < out.index("Why:")


def test_failing_run_exits_0_and_says_not_to_pull(capsys) -> None:
    code, out, _ = run(capsys, "plan", YARD)
    assert code == 0
    assert "DO NOT PULL AS PLANNED" in out
    assert "540°" in out


@pytest.mark.parametrize("form", ["terminal", "page"])
def test_everything_a_crew_needs_is_said(form, tmp_path, capsys) -> None:
    page = tmp_path / "plan.html"
    _, out, _ = run(capsys, "plan", FEEDER, "--html", str(page))
    text = flat(out if form == "terminal" else page.read_text("utf-8"))
    for words in (
        "cut each to", "slack at each end", "Tape marks", "both ends", "labels after the pull",
        "Pulling eye", "Working load", "The line must break at", "gal in all", "Put on at",
        "Force screening, not what a crew can do", "Never fewer than two people", "ft/min",
        "runs away: brake at", "hangs between stations", "One size up", "jam ratio", "fill",
        "common practice", "Flat woven polyester tape", "Keep slack at the feed",
        "from trade size 1.5 up", "Where from", "cable maker", "authority having jurisdiction",
    ):  # fmt: skip
        assert words.lower() in text.lower(), words
    assert "lock out" in text.lower()


def test_page_and_terminal_show_the_same_call_outs(tmp_path, capsys) -> None:
    page = tmp_path / "plan.html"
    _, out, _ = run(capsys, "plan", FEEDER, "--html", str(page))
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", page.read_text("utf-8"), re.DOTALL)
    cells = [re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL) for row in rows]
    call_outs = [[html.unescape(c) for c in row] for row in cells if len(row) == 7]
    assert len(call_outs) >= 10
    for row in call_outs:
        assert re.search(r" +".join(re.escape(cell) for cell in row), out)


def test_csv_figures_are_those_of_the_terminal(tmp_path, capsys) -> None:
    _, out, err = run(capsys, "plan", FEEDER, "--csv", "-")
    rows = list(csv.DictReader(io.StringIO(out)))
    high = [row for row in rows if row["item"] == "call-out high"]
    assert len(high) >= 10
    for row in high:
        value = float(row["us_value"])
        shown = f"{value:,.0f} lbf" if value >= 99.95 else f"{value:,.1f} lbf"
        assert re.search(rf"{re.escape(row['place'])} .* {re.escape(shown)}", err)


def test_sensitivity_is_added_when_asked_for(tmp_path, capsys) -> None:
    _, plain, _ = run(capsys, "plan", FEEDER)
    page = tmp_path / "plan.html"
    _, out, _ = run(capsys, "plan", FEEDER, "--sensitivity", "--html", str(page))
    assert "What moves the answer most" not in plain
    assert "friction + 10 %" in out
    assert "friction + 10 %" in page.read_text("utf-8")


def test_equal_input_gives_equal_page(tmp_path, capsys) -> None:
    texts = []
    for name in ("a.html", "b.html"):
        run(capsys, "plan", FEEDER, "--html", str(tmp_path / name))
        texts.append((tmp_path / name).read_bytes())
    assert texts[0] == texts[1]


def test_names_from_files_are_escaped(tmp_path, capsys) -> None:
    text = "x_ft,y_ft,z_ft,fitting,label\n0,0,10,panel,<b>P1\n20,0,10,,\n20,20,12,,\n"
    page = tmp_path / "plan.html"
    run(capsys, "plan", route(tmp_path, text), *QUICK, "--html", str(page))
    assert "<b>P1" not in page.read_text("utf-8")
    assert "&lt;b&gt;P1" in page.read_text("utf-8")


def test_existing_conductors_bring_the_pull_by_rules(tmp_path, capsys) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n[[conductors]]\ncount = 3\nsize = "2"\n'
        'insulation = "THHN"\nmetal = "copper"\n[[existing_conductors]]\ncount = 2\nsize = "6"\n'
        'insulation = "THHN"\nmetal = "copper"\n'
    )
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,20,10\n")
    _, out, _ = run(capsys, "plan", path, "--job", str(job))
    words = flat(out)
    assert "2 conductors already in the raceway" in words
    assert "non-conducting rods" in words
    assert "a pull-by can damage them" in words
    _, out, _ = run(capsys, "plan", path, *QUICK)
    assert "Pull-by" not in out


def test_one_existing_conductor_is_told_in_the_singular(tmp_path, capsys) -> None:
    job = tmp_path / "job.toml"
    line = 'size = "2"\ninsulation = "THHN"\nmetal = "copper"\n'
    job.write_text(
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n'
        f"[[conductors]]\ncount = 3\n{line}[[existing_conductors]]\ncount = 1\n{line}"
    )
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,20,10\n")
    words = flat(run(capsys, "plan", path, "--job", str(job))[1])
    assert "1 existing conductor in the raceway: a pull-by can damage it and needs" in words
    assert "friction against the old one may be higher" in words


@pytest.mark.parametrize(
    ("more", "lubricant", "minutes"),
    [
        ([], "under 0.01 gal in all", "set-up 1 under 1 min."),
        (["--metric"], "under 0.1 L in all", "set-up 1 under 1 min."),
    ],
)
def test_plan_of_a_nipple_tells_no_amount_of_zero(
    more, lubricant, minutes, tmp_path, capsys
) -> None:
    path = route(tmp_path, "x_in,y_in,z_in\n0,0,10\n2,0,10\n")
    one = ["--raceway", "EMT 1/2", "--conductor", "1 x 12 THHN copper", "--friction", "0.5"]
    words = flat(run(capsys, "plan", path, *one, *more)[1])
    assert f"Lubricant {lubricant}:" in words
    assert minutes in words
    assert "A stop value follows from conductor tension alone. Not checked: grip" in words


@pytest.mark.parametrize(
    ("feet", "lubricant", "minutes"),
    [
        ("12", "up to 0.1 L in all", "set-up 1 about 1 min."),
        ("6", "under 0.1 L in all", "set-up 1 up to 1 min."),
        ("24", "0.1 L to 0.2 L in all", "set-up 1 about 2 min."),
        ("60", "0.2 L to 0.4 L in all", "set-up 1 4 to 6 min."),
    ],
)
def test_plan_of_a_short_run_tells_amounts_that_can_be_read(
    feet, lubricant, minutes, tmp_path, capsys
) -> None:
    path = route(tmp_path, f"x_ft,y_ft,z_ft\n0,0,10\n{feet},0,10\n")
    one = ["--raceway", "EMT 1/2", "--conductor", "1 x 12 THHN copper", "--friction", "0.5"]
    words = flat(run(capsys, "plan", path, *one, "--metric")[1])
    assert f"Lubricant {lubricant}" in words
    assert minutes in words


def test_metric_job_shows_metric_figures(tmp_path, capsys) -> None:
    path = route(tmp_path, "x_m,y_m,z_m\n0,0,3\n12,0,3\n12,9,3\n")
    _, out, _ = run(capsys, "plan", path, *QUICK, "--metric")
    assert re.search(r"\d k?N\b", out)
    assert " L to " in out
    assert "m/min" in out
    assert " lbf" not in out.partition("Cautions of the job")[0]


def test_no_limit_known_is_not_checked_and_never_a_share(tmp_path, capsys) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        '[[conductors]]\ndiameter = "1 in"\nweight = "2 lbf/ft"\n[pull]\nfriction = 0.3\n'
    )
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,0\n100,0,0\n")
    written = ("--csv", str(tmp_path / "p.csv"), "--sensitivity")
    code, out, _ = run(capsys, "plan", path, "--job", str(job), *written)
    assert code == 0
    assert "Conductor tension not checked" in out
    assert "No stop value: no limit of this pull is known" in out
    assert "% of limit" not in out
    table = out.partition("What moves the answer most")[2]
    assert table.count("not checked") == 2 * 3  # friction, weight, feed tension
    assert " 0 %" not in table
    assert "points" not in table
    rows = list(csv.DictReader(io.StringIO((tmp_path / "p.csv").read_text())))
    assert {r["value"] for r in rows if r["item"] in ("share of limit", "stop value")} == {
        "not checked"
    }


def test_line_too_weak_for_the_puller_stands_on_top(tmp_path, capsys) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n[[conductors]]\ncount = 3\nsize = "4/0"\n'
        'insulation = "THHN"\nmetal = "copper"\n[pull]\npuller_capacity = "2000 lbf"\n'
        '[plan]\nline_breaking_strength = "7000 lbf"\n'
    )
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,20,10\n")
    _, out, _ = run(capsys, "plan", path, "--job", str(job))
    assert "Line too weak for the puller" in out
    assert out.index("Line too weak") < out.index("STOP")


def line_job(tmp_path: Path, pull: str, breaking: str) -> str:
    job = tmp_path / "line.toml"
    job.write_text(
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n[[conductors]]\ncount = 3\nsize = "4/0"\n'
        'insulation = "THHN"\nmetal = "copper"\ninsulation_class = "600 V power"\n'
        f'[pull]\nfriction = 0.5\n{pull}[plan]\nline_breaking_strength = "{breaking}"\n'
    )
    return str(job)


def test_line_that_breaks_early_caps_the_stop_value(tmp_path, capsys) -> None:
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,40,10\n80,40,10\n")
    _, out, _ = run(capsys, "plan", path, "--job", line_job(tmp_path, "", "200 lbf"))
    words = flat(out)
    assert "DO NOT PULL AS PLANNED" in words
    assert "STOP above 40.0 lbf (20 % of the line's breaking strength)" in words
    assert "20 % of its breaking strength of 200 lbf (rope maker's page), 40.0 lbf, " in words
    assert "DOES NOT CARRY" in words
    assert "THE LINE BREAKS BELOW IT" in words
    assert "A line of 200 lbf suits a puller of 50.0 lbf at most" in words


def test_line_strong_enough_is_taken_at_a_fifth_in_words(tmp_path, capsys) -> None:
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,40,10\n80,40,10\n")
    job = line_job(tmp_path, "", "6000 lbf")
    words = flat(run(capsys, "plan", path, "--job", job)[1])
    assert "20 % of its breaking strength of 6,000 lbf (rope maker's page), 1,200 lbf, c" in words
    assert "DO NOT PULL" not in words
    assert "BREAKS BELOW" not in words
    code, out, _ = run(capsys, "check", path, "--job", job)
    assert "Line working load not stated, 20 % of its breaking strength taken" in flat(out)
    assert code == 0


def test_working_load_not_below_the_breaking_strength_is_a_job_error(tmp_path, capsys) -> None:
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,40,10\n80,40,10\n")
    job = line_job(tmp_path, 'line_working_load = "900 lbf"\n', "500 lbf")
    code, _, err = run(capsys, "plan", path, "--job", job)
    assert code == 2
    assert "line.toml, line 14, plan.line_breaking_strength" in err
    assert "500 lbf is not above line_working_load, 900 lbf" in err


def test_page_that_cannot_be_written_exits_2(tmp_path, capsys) -> None:
    code, _, err = run(capsys, "plan", FEEDER, "--html", str(tmp_path / "none" / "plan.html"))
    assert code == 2
    assert "cannot write" in err


def test_route_that_cannot_be_read_exits_3(tmp_path, capsys) -> None:
    code, _, err = run(capsys, "plan", str(tmp_path / "none.csv"), *QUICK)
    assert code == 3
    assert "none.csv" in err


@pytest.mark.parametrize("every", ["1e-7 in", "1 mm"])
def test_call_outs_closer_than_anyone_calls_them_are_refused(every, tmp_path, capsys) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n[[conductors]]\ncount = 3\nsize = "4/0"\n'
        f'insulation = "THHN"\nmetal = "copper"\n[plan]\ncall_out_every = "{every}"\n'
    )
    path = route(tmp_path, "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,40,10\n")
    code, out, err = run(capsys, "plan", path, "--job", str(job))
    assert (code, out) == (2, "")
    assert (
        "call_out_every in [plan] makes more than 1,000 call-outs on the way from start to" in err
    )
    assert "state a longer one, such as 0.8 ft for a hundred" in err
