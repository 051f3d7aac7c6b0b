"""`raceway boxes` as people type it: answer, exit codes, what-ifs, lesson, boxes file.

One long file, because all tests share the yard, its job and the ways of running made here.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest
from feeder_job import BAND, FEEDER_JOB, QUICK

from analyzer.cli.main import main
from analyzer.reports.analysis_file import analysis_schema
from analyzer.reports.boxes_file import boxes_schema
from analyzer.units import ft

YARD = "\n".join(
    ["x_ft,y_ft,z_ft", *(f"{20 * ((i + 1) // 2)},{20 * (i // 2)},10" for i in range(8))]
)
JOB = f'units = "us"\n{FEEDER_JOB}[pull]\n{BAND}[limits]\nsidewall_pressure = "500 lbf/ft"\n'


def files(tmp_path: Path, more: str = "", route: str = YARD) -> str:
    path = tmp_path / "yard.csv"
    path.write_text(route, encoding="utf-8")
    path.with_suffix(".toml").write_text(JOB + more, encoding="utf-8")
    return str(path)


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = main(["boxes", *args])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def test_answer_stands_first_with_its_place_and_the_cautions_last(tmp_path, capsys) -> None:
    code, out, _ = run(capsys, files(tmp_path))
    assert code == 0
    assert out.startswith("1 BOX")
    assert out.index("The fewest") < out.index("What boxes do") < out.index("Estimate for planning")
    assert max(len(line) for line in out.splitlines()) <= 100


def test_boxes_file_keeps_its_schema_and_the_contract(tmp_path, capsys) -> None:
    target = tmp_path / "boxes.json"
    code, _, _ = run(capsys, files(tmp_path), "--json", str(target))
    values = json.loads(target.read_text())
    jsonschema.validate(values, json.loads(boxes_schema()))
    assert code == 0
    assert (values["format"], values["version"], values["fewest"]) == ("raceway-boxes", 1, 1)
    none, one = values["trade_off"][:2]
    assert (none["count"], none["stations_m"], none["passes"]) == (0, [], False)
    assert (one["count"], one["passes"]) == (1, True)
    assert values["best_extra_m"] == one["stations_m"][0]
    assert values["blocked"] == []
    assert "first-end" in [finding["code"] for finding in values["findings"]]
    assert one["max_tension_n"] < none["max_tension_n"]
    assert one["bend_total_deg"] in (270.0, 360.0)
    assert one["share_of_limit"] < 1.0 < none["share_of_limit"]


def test_figures_of_the_boxes_file_are_those_of_checking_with_that_box(tmp_path, capsys) -> None:
    path = files(tmp_path)
    run(capsys, path, "--json", str(tmp_path / "boxes.json"))
    row = json.loads((tmp_path / "boxes.json").read_text())["trade_off"][1]
    box = f'[[fittings]]\nname = "B"\nkind = "pull box"\nat = "{row["stations_m"][0]!r} m"\n'
    Path(path).with_suffix(".toml").write_text(JOB + box + 'passage = "refeed"\n')
    main(["check", path, "--json", str(tmp_path / "check.json")])
    legs = json.loads((tmp_path / "check.json").read_text())["runs"][0]["legs"]
    better = [leg["reverse" if leg["better"] == "reverse" else "forward"] for leg in legs]
    assert max(
        max(way["high"]["max_tension_n"], way["braked_max_tension_n"]) for way in better
    ) == pytest.approx(row["max_tension_n"], rel=1e-9)
    assert max(way["share_of_limit"] for way in better) == pytest.approx(row["share_of_limit"])


def test_json_on_standard_output_moves_the_text_to_standard_error(tmp_path, capsys) -> None:
    _, out, err = run(capsys, files(tmp_path), "--json", "-")
    assert json.loads(out)["format"] == "raceway-boxes"
    assert "1 BOX" in err


def test_no_placement_exits_1_and_says_what_stands_in_the_way(tmp_path, capsys) -> None:
    more = 'length_between_pull_points = "30 ft"\n[boxes]\nkeep_out = [["0 ft", "200 ft"]]\n'
    code, out, _ = run(capsys, files(tmp_path, more), "--json", str(tmp_path / "boxes.json"))
    assert code == 1
    assert out.startswith("NO PLACEMENT")
    assert "Where no placement passes" in out
    values = json.loads((tmp_path / "boxes.json").read_text())
    jsonschema.validate(values, json.loads(boxes_schema()))
    assert values["fewest"] is None
    assert {item["code"] for item in values["blocked"]} >= {"leg-length", "bend-total"}


def test_run_that_passes_needs_no_box(tmp_path, capsys) -> None:
    code, out, _ = run(capsys, files(tmp_path, route="x_ft,y_ft,z_ft\n0,0,9\n20,0,9\n20,20,9\n"))
    assert code == 0
    assert out.startswith("NO BOX NEEDED")


def test_every_key_of_the_boxes_table_is_acted_on(tmp_path, capsys) -> None:
    more = (
        '[boxes]\nneed = "2 ft"\nspacing = "3 ft"\nkeep_out = [["30 ft", "32 ft"]]\n'
        'allowed = [["10 ft", "95 ft"]]\nat_corners = true\nmost = 2\ndirection = "reverse"\n'
        "cost_per_box = 450\ncost_per_setup = 1200\n"
    )
    _, out, _ = run(capsys, files(tmp_path, more), "--json", str(tmp_path / "boxes.json"))
    values = json.loads((tmp_path / "boxes.json").read_text())
    assert values["direction"] == "reverse"
    assert len(values["trade_off"]) <= 3
    places = [s for row in values["trade_off"] for s in row["stations_m"]]
    assert all(ft(10.0) <= s <= ft(95.0) for s in places)
    assert "at 450 each" in out
    assert "every leg pulled in reverse" in " ".join(out.split())
    assert "is taken to need" not in out


def test_what_if_shows_before_and_after_side_by_side(tmp_path, capsys) -> None:
    code, out, _ = run(capsys, files(tmp_path), "--add", "70 ft")
    assert code == 0
    assert out.startswith("WHAT IF")
    assert "before" in out.splitlines()[2] and "after" in out.splitlines()[2]
    assert "No longer fails" in out
    code, out, _ = run(capsys, files(tmp_path), "--add", "10 ft")
    assert code == 1
    assert "Still fails, with the figures after the change" in out


def test_moved_removed_and_passed_boxes(tmp_path, capsys) -> None:
    more = '[[fittings]]\nname = "Box B"\nkind = "pull box"\nat = "70 ft"\n'
    assert "Box B" in run(capsys, files(tmp_path, more), "--move", "Box B", "68 ft")[1]
    code, out, _ = run(capsys, files(tmp_path, more), "--remove", "box  b")
    assert (code, "Fails after the change" in out) == (1, True)
    code, out, _ = run(capsys, files(tmp_path, more), "--passage", "through")
    assert "WHAT IF" in out


def test_run_of_a_what_if_is_named_as_in_the_job(tmp_path, capsys) -> None:
    rows = [f"{name},{row}" for name in ("R1", "R2") for row in YARD.splitlines()[1:]]
    route = "\n".join(["run,x_ft,y_ft,z_ft", *rows])
    out = {}
    for run_name in ("R2", "r2"):
        path = files(
            tmp_path, f'[boxes]\nrun = "{run_name}"\nkeep_out = [["60 ft", "75 ft"]]\n', route
        )
        code, out[run_name], err = run(capsys, path, "--run", run_name, "--add", "70 ft")
        assert (code, err) == (0, "")
    assert out["r2"] == out["R2"]
    assert "stands in keep-out" in words(out["R2"])
    code, _, err = run(capsys, path, "--run", "R3", "--add", "70 ft")
    assert (code, "there is no run 'R3'; there is R1, R2" in err) == (2, True)


def words(text: str) -> str:
    return " ".join(text.split())


TWO_BOXES = """x_ft,y_ft,z_ft,fitting,label
0,0,10,panel,Panel A
40,0,10,,
40,20,10,pull box,Box 1
40,40,10,,
80,40,10,,
80,60,10,pull box,Box 2
80,80,10,,
120,80,10,panel,Panel B
"""
STATED = "".join(
    f'[[fittings]]\nname = "{name}"\npassage = "refeed"\n' for name in ("Box 1", "Box 2")
)
IF_TAKEN_OUT = "as long as conductors are taken out and fed again at Box 1, Box 2"
NOT_STATED = "Passage not stated at Box 1, Box 2: the legs count on conductors taken out"


def test_answer_that_counts_on_boxes_fed_again_says_so(tmp_path, capsys) -> None:
    target = tmp_path / "boxes.json"
    _, out, _ = run(capsys, files(tmp_path, route=TWO_BOXES), "--json", str(target))
    assert out.startswith("NO BOX NEEDED IF TAKEN OUT AT Box 1, Box 2  yard")
    assert IF_TAKEN_OUT in words(out.split("What boxes do")[0])
    assert NOT_STATED in words(out)
    values = json.loads(target.read_text())
    jsonschema.validate(values, json.loads(boxes_schema()))
    assert all(item["verdict"] == "caution" for item in values["caution_checks"])
    assert any(item["message"].startswith(NOT_STATED) for item in values["caution_checks"])
    _, out, _ = run(capsys, files(tmp_path, STATED, TWO_BOXES), "--json", str(target))
    assert out.startswith("NO BOX NEEDED  yard")
    assert "as long as" not in out and "not stated at" not in words(out)
    assert json.loads(target.read_text())["caution_checks"] == []


def test_boxes_added_leave_the_caution_on_passages_that_are_not_stated(tmp_path, capsys) -> None:
    route = TWO_BOXES.replace("40,20,10,pull box,Box 1\n", "")
    _, out, _ = run(capsys, files(tmp_path, route=route))
    assert out.startswith("1 BOX MORE (beside Box 2)  yard")
    stands = "as long as conductors are taken out and fed again at Box 2"
    assert (stands in words(out)) == ("Passage not stated at Box 2" in words(out))
    _, out, _ = run(capsys, files(tmp_path, route=TWO_BOXES), "--lesson")
    assert NOT_STATED in words(out)


def test_answer_counts_only_on_boxes_of_the_stretches_that_would_fail(tmp_path, capsys) -> None:
    """Pulled straight through Box 1 fails; through Box 3, on the straight behind Box 2, nothing."""
    route = TWO_BOXES.replace("120,80,10,panel", "100,80,10,pull box,Box 3\n120,80,10,panel")
    refed = '[[fittings]]\nname = "Box 2"\npassage = "refeed"\n'
    out = words(run(capsys, files(tmp_path, refed, route))[1])
    assert out.startswith("NO BOX NEEDED IF TAKEN OUT AT Box 1 yard")
    assert "as long as conductors are taken out and fed again at Box 1. " in out
    assert "Passage not stated at Box 1: the legs" in out
    assert "(feed at Panel A, pull at Box 2)" in out and "Box 3: the legs" not in out


def test_what_if_carries_the_cautions_of_the_checks_after_the_change(tmp_path, capsys) -> None:
    path = files(tmp_path, route=TWO_BOXES)
    out = words(run(capsys, path, "--remove", "Box 2")[1])
    assert "Passage not stated at Box 1: the legs count on conductors taken out" in out
    out = words(run(capsys, path, "--passage", "refeed")[1])
    assert "not stated at" not in out.split("Cautions")[-1]


def test_assumption_is_told_once_with_the_checks_it_touches(tmp_path, capsys) -> None:
    path = files(tmp_path)
    job = JOB.replace(BAND, "")
    Path(path).with_suffix(".toml").write_text(job, encoding="utf-8")
    _, out, _ = run(capsys, path)
    assert words(out).count("Friction assumed: state a band (touches ") == 1


def test_what_if_tells_the_verdict_as_check_does(tmp_path, capsys) -> None:
    path = files(tmp_path)
    _, out, _ = run(capsys, path, "--add", "70 ft")
    main(["check", path])
    told = capsys.readouterr().out.splitlines()[0]
    assert told.startswith("FAIL, 3 not checked")
    (row,) = (line.split() for line in out.splitlines() if line.strip().startswith("verdict"))
    assert " ".join(row) == "verdict fail, 3 not checked caution, 3 not checked"
    assert "Tension on the puller not checked (not stated)" in words(out.split("Not checked")[1])


def test_what_if_tells_bend_sums_as_check_does(tmp_path, capsys) -> None:
    path = files(tmp_path, route="x_ft,y_ft,z_ft\n0,0,9\n20,0,9\n40,7.31,9\n60,0,9\n80,40,9\n")
    _, out, _ = run(capsys, path, "--add", "70 ft")
    main(["check", path])
    told = capsys.readouterr().out.split("Leg 1  ")[1].split(", ")[2]
    (row,) = (line.split() for line in out.splitlines() if line.strip().startswith("bends"))
    assert row[1] == told and len(told) < len("100.25°")
    assert told in run(capsys, path)[1].split("Legs, in the direction")[1]


def test_bends_that_failed_before_neither_start_nor_stop_failing(tmp_path, capsys) -> None:
    code, out, _ = run(capsys, files(tmp_path), "--add", "2 ft")
    assert code == 1
    assert "No longer fails" not in out
    head, after = words(out).split("Still fails, with the figures after the change")
    assert "Fails after the change" not in head
    assert "bends add up to 540°" in after and "above the limit" in after


VEE = """x_ft,y_ft,z_ft
0,0,10
10,0,10
10,10,10
20,10,10
20,110,10
30,110,10
30,120,10
40,120,10
"""
LINE = '[pull]\nline_working_load = "230 lbf"\n'
"""Bends at both ends of 158 ft: from the middle outward the second box is a must."""


def vee(tmp_path: Path, more: str = "") -> str:
    path = files(tmp_path, route=VEE)
    job = JOB.replace("[pull]\n", LINE).replace("4/0", "2/0") + more
    Path(path).with_suffix(".toml").write_text(job, encoding="utf-8")
    return path


def test_an_answer_that_takes_a_joint_counts_it_and_says_what_does_without(
    tmp_path, capsys
) -> None:
    target = tmp_path / "boxes.json"
    code, out, _ = run(capsys, vee(tmp_path), "--json", str(target))
    assert code == 0
    assert out.startswith("1 BOX AND 1 JOINT, OR 2 BOXES  yard")
    told = words(out)
    assert "as long as conductors are cut and joined at New box 1. Place: " in told
    assert "Without a joint it reaches" in told
    assert "2 boxes, to the nearest place tried, pass without one: " in told
    assert "passes with 1 joint, without" in told
    assert "heads meet at New box 1: conductors are cut and joined there" in told
    assert "pulling toward New box 1 from both sides" in told.partition("Cautions")[2]
    values = json.loads(target.read_text())
    jsonschema.validate(values, json.loads(boxes_schema()))
    joints = values["trade_off"][1]["joints"]
    assert (joints["at"], joints["needed"], joints["whole"]["passes"]) == (
        ["New box 1"], True, False,
    )  # fmt: skip
    assert values["fewest_whole"]["count"] == 2
    assert values["caution_checks"][0]["code"] == "joint"
    assert "cut and joined there" in words(run(capsys, vee(tmp_path), "--lesson")[1])


def test_a_joint_at_a_box_that_stands_is_a_proviso_of_no_box_needed(tmp_path, capsys) -> None:
    box = '[[fittings]]\nname = "Box 1"\nkind = "pull box"\nat = "78 ft"\npassage = "refeed"\n'
    _, out, _ = run(capsys, vee(tmp_path, box))
    assert out.startswith("NO BOX NEEDED IF JOINED AT Box 1, OR 1 BOX MORE  yard")


def test_check_tells_the_joint_that_its_best_figures_take(tmp_path, capsys) -> None:
    """At the headline, beside each leg's own better end, as a caution, and in the file."""
    box = '[[fittings]]\nname = "Box 1"\nkind = "pull box"\nat = "78 ft"\npassage = "refeed"\n'
    target = tmp_path / "check.json"
    assert main(["check", vee(tmp_path, box), "--json", str(target)]) == 0
    out = words(capsys.readouterr().out)
    assert out.startswith("CAUTION")
    assert "Only with the conductors cut and joined at Box 1. Highest" in out
    better = out.partition("Run better from")[2]
    assert "of limit), with the conductors cut and joined at Box 1. Feeding places" in better
    assert "kept only by pulling toward Box 1 from both sides" in out.partition("Cautions")[2]
    values = json.loads(target.read_text())
    jsonschema.validate(values, json.loads(analysis_schema()))
    (joint,) = (item for item in values["runs"][0]["checks"] if item["code"] == "joint")
    assert (joint["verdict"], joint["value"], joint["limit"]) == ("caution", 1.0, None)


def test_the_cheapest_placement_tells_its_joints(tmp_path, capsys) -> None:
    costs = "[boxes]\ncost_per_box = 400\ncost_per_setup = 250\n"
    _, out, _ = run(capsys, vee(tmp_path, costs))
    assert "it takes 1 joint, not priced" in words(out)


def test_boxes_that_stand_are_named_beside_those_to_add(tmp_path, capsys) -> None:
    route = TWO_BOXES.replace("40,20,10,pull box,Box 1\n", "")
    _, out, _ = run(capsys, files(tmp_path, route=route))
    assert out.startswith("1 BOX MORE (beside Box 2)  yard")
    assert "added at station" in words(out)
    assert "With 1 box added: " in words(run(capsys, files(tmp_path), "--lesson")[1])


DROP = "x_ft,y_ft,z_ft\n0,0,90\n40,0,90\n40,0,10\n60,0,10\n60,20,10\n80,20,10\n80,40,10\n"


def test_legs_that_run_away_tell_the_brake_at_their_feed(tmp_path, capsys) -> None:
    more = '[boxes]\ndirection = "forward"\n'
    _, out, _ = run(capsys, files(tmp_path, more, DROP + "100,40,10\n"))
    legs = out.split("Legs, in the direction")[1].split("One box")[0]
    assert "brake at the" in legs
    (held,) = (line for line in legs.splitlines() if line.startswith("  Leg 1"))
    # w (80 - 0.2 x 40) = 1.81 lbf/ft x 72 ft at most, and less by what the bends rub
    assert 80.0 < float(re.findall(r"([\d.]+) lbf ", held)[-1]) < 131.0
    assert "brake" not in run(capsys, files(tmp_path))[1].split("Legs, in")[1].split("One box")[0]


def test_brake_is_told_of_the_leg_that_the_pull_starts_on_and_of_no_box_passed_through(
    tmp_path, capsys
) -> None:
    route = "x_ft,y_ft,z_ft\n0,0,20\n40,0,20\n40,0,0\n60,0,0\n"
    more = '[[fittings]]\nname = "Top box"\nkind = "pull box"\nat = "30 ft"\npassage = "through"\n'
    _, out, _ = run(capsys, files(tmp_path, more, route))
    first, second = (
        next(line for line in out.splitlines() if line.startswith(f"  Leg {number}"))
        for number in (1, 2)
    )
    assert "lbf/ft           14.2 lbf  1 %" in first
    assert re.search(r"lbf/ft +-  ", second)
    assert "27.1 lbf" not in out
    whole = ["--passage", "through"]
    changed = words(
        run(capsys, files(tmp_path, more.replace("through", "refeed"), route), *whole)[1]
    )
    assert "hold-back 0.0 lbf 14.2 lbf" in changed
    assert "hold-back 27.1 lbf 14.2 lbf at start" in changed


@pytest.mark.parametrize(
    ("args", "changes"),
    [
        (["--add", "70 ft"], "a box is added at 70.00 ft: passes"),
        (["--move", "box b", "68 ft"], "Box B moves from 70.00 ft to 68.00 ft: "),
        (["--remove", "Box B"], "Box B at 70.00 ft is left out: fails (bend total"),
        (["--passage", "through"], "conductors are passed through every box: "),
    ],
)
def test_what_if_starts_with_what_is_changed_and_how_it_comes_out(
    tmp_path, capsys, args, changes
) -> None:
    more = '[[fittings]]\nname = "Box B"\nkind = "pull box"\nat = "70 ft"\npassage = "refeed"\n'
    _, out, _ = run(capsys, files(tmp_path, "" if "--add" in args else more), *args)
    head = words(out.split("whole run")[0])
    assert head.startswith(f"WHAT IF {changes}")
    (row,) = (words(line) for line in out.splitlines() if "largest share" in line)
    percents = re.findall(r"[\d.,]+ %", row)
    assert f"{percents[1]} of limit" in head
    assert head.endswith("yard")


def test_what_if_tells_the_joint_that_its_share_takes_before_and_after(tmp_path, capsys) -> None:
    """From both ends to a box between; with a line of 900 lbf whole conductors pass too."""
    joined = "with the conductors cut and joined at New box 1 (whole conductors "
    path = vee(tmp_path)
    needed = words(run(capsys, path, "--add", "78 ft")[1])
    assert ": passes with cautions, " in needed
    assert f" % of limit {joined}" in needed.split("whole run")[0]
    assert "heads meet at none New box 1" in needed
    assert "After: pulled so, heads meet at New box 1: conductors are cut and joined " in needed
    job = Path(path).with_suffix(".toml")
    box = '[[fittings]]\nname = "Box 1"\nkind = "pull box"\nat = "78 ft"\npassage = "refeed"\n'
    job.write_text(job.read_text().replace("230 lbf", "900 lbf") + box)
    moved = words(run(capsys, path, "--move", "Box 1", "70 ft")[1])
    head = moved.split("whole run")[0]
    assert head.count("with the conductors cut and joined at Box 1 (whole conductors ") == 2
    assert "After: pulled so, heads meet at Box 1, where that needs conductors cut" in moved
    assert "Before: pulled so, heads meet at Box 1, where that needs conductors cut" in moved
    out = words(run(capsys, path, "--remove", "Box 1")[1])
    assert "After: pulled so" not in out
    told = out.split("whole run")[0]
    assert told.count("cut and joined at Box 1") == 1
    assert re.search(r"% of limit without a joint instead of \d+ % with the conductors cut", told)


BOXES = '[boxes]\nneed = "24 in"\nkeep_out = [["30 ft", "50 ft"]]\nallowed = [["5 ft", "90 ft"]]\n'


@pytest.mark.parametrize(
    ("args", "cautions"),
    [
        (["--add", "70 ft"], []),
        (["--add", "30 ft"], []),
        (
            ["--add", "32 ft"],
            ["New box 1, station 32.0 ft, stands in keep-out 30.0 ft to 50.0 ft of [boxes]"],
        ),
        (
            ["--add", "95 ft"],
            ["New box 1, station 95.0 ft, stands outside what [boxes] allows, 5.0 ft to 90.0 ft"],
        ),
        (
            ["--add", "19 ft"],
            [
                "New box 1, station 19.0 ft, needs 24 in of straight on either side of its middle "
                "by [boxes], has 2.5 in to a bend, an end or a fitting"
            ],
        ),
        (
            ["--add", "70 ft", "--add", "70.1 ft"],
            [
                "New box 1, station 70.0 ft, needs 24 in of straight on either side of its middle "
                "by [boxes], has 1.2 in",
                "New box 2, station 70.1 ft, needs 24 in of straight",
            ],
        ),
        (["--move", "Box B", "33 ft"], ["Box B, station 33.0 ft, stands in keep-out"]),
    ],
)
def test_what_if_keeps_to_where_the_job_lets_boxes_stand(tmp_path, capsys, args, cautions) -> None:
    more = '[[fittings]]\nname = "Box B"\nkind = "pull box"\nat = "85 ft"\npassage = "refeed"\n'
    _, out, _ = run(capsys, files(tmp_path, more + BOXES), *args)
    told = words(out)
    assert all(caution in told for caution in cautions)
    assert told.count("keep-out") + told.count("[boxes] allows") + told.count("needs 24 in") == len(
        cautions
    )


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (["--add", "20"], "has no unit"),
        (["--add", "900 ft"], "lies outside run yard"),
        (["--remove", "Box Q"], "has no pull point 'Box Q'"),
        (["--passage", "through"], "there is none to pass"),
        (["--add", "20 ft", "--lesson"], "leave them out"),
        (["--run", "other"], "there is no run 'other'"),
    ],
)
def test_wrong_use_exits_2_with_one_message(tmp_path, capsys, args, message) -> None:
    code, out, err = run(capsys, files(tmp_path), *args)
    assert (code, out) == (2, "")
    assert message in err


def test_route_that_cannot_be_read_exits_3(tmp_path, capsys) -> None:
    code, _, err = run(capsys, str(tmp_path / "none.csv"), *QUICK)
    assert code == 3
    assert "none.csv" in err


def several(tmp_path: Path, more: str = "", **routes: str) -> str:
    """A file of several runs, each a list of points in ft."""
    lines = ["run,x_ft,y_ft,z_ft"]
    lines += [f"{name},{point}" for name, route in routes.items() for point in route.split()]
    return files(tmp_path, more, "\n".join(lines) + "\n")


ZIGZAG = "0,0,10 30,0,10 30,30,10 60,30,10 60,60,10 90,60,10 90,90,10"
AWAY = ZIGZAG.replace(",10", ",40")
ALONG = ZIGZAG + " 120,90,10 120,120,10"
COSTS = "[boxes]\ncost_per_box = 400\ncost_per_setup = 250\n"


def test_several_runs_end_with_the_boxes_and_costs_of_all(tmp_path, capsys) -> None:
    path = several(tmp_path, COSTS, a=ZIGZAG, b=AWAY)
    _, out, _ = run(capsys, path)
    last = words(out).partition("In all, ")[2]
    counts = [int(line.split()[0]) for line in out.splitlines() if " BOX" in line[:8]]
    prices = [
        int(words(out).split("Cheapest that passes: ")[n].split()[0].replace(",", ""))
        for n in (1, 2)
    ]
    assert last.startswith(
        f"2 runs: {sum(counts)} boxes to add; the cheapest of each run cost {sum(prices):,} "
        "together."
    )
    assert "drawn too" not in last
    _, out, _ = run(capsys, path, "--run", "a")
    assert "In all" not in out


def test_boxes_on_a_stretch_of_two_runs_are_counted_for_each_and_that_is_said(
    tmp_path, capsys
) -> None:
    _, out, _ = run(capsys, several(tmp_path, a=ZIGZAG, b=ALONG, c=AWAY))
    last = words(out).partition("In all, ")[2]
    assert "Boxes of a and b go where another of these runs is drawn too: each run counts" in last


def test_a_run_without_a_placement_is_named_below_all(tmp_path, capsys) -> None:
    more = '[boxes]\nneed = "60 ft"\n'
    code, out, _ = run(capsys, several(tmp_path, more, a=ZIGZAG, b="0,0,40 90,0,40"))
    assert code == 1
    assert (
        words(out)
        .partition("In all, ")[2]
        .startswith("1 of 2 runs: 0 boxes to add. No placement passes for a.")
    )


def test_help_says_what_goes_without_a_what_if(capsys) -> None:
    with pytest.raises(SystemExit):
        main(["boxes", "--help"])
    assert "what if (before and after side by side, without --json and --lesson)" in " ".join(
        capsys.readouterr().out.split()
    )


def test_lesson_prints_the_trainers_sheet(tmp_path, capsys) -> None:
    code, out, _ = run(capsys, files(tmp_path), "--lesson")
    assert code == 0
    assert out.startswith("LESSON")
    assert "A refeed starts from nothing" in out
