"""What-ifs: changed runs, messages, and the legs that changed only."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from pathlib import Path

import pytest
from box_runs import box_job, level_run, run_of
from pull_routes import route

from analyzer.analysis import RunAnalysis, analyze
from analyzer.errors import InputError
from analyzer.findings import Severity
from analyzer.importers.reading import open_route
from analyzer.job import parse_job
from analyzer.job.settings import Job, Passage
from analyzer.studies.what_if import (
    Changes,
    add_box,
    change_run,
    move_box,
    remove_box,
    replace_bend,
    what_if,
)
from analyzer.studies.what_if_failing import compare_failing
from analyzer.units import ft, to_ft

JOB = box_job(0.35, max_tension_lbf=1e4)


def two_boxes():
    centerline = level_run([30.0] * 7).centerline
    return run_of(centerline, [(ft(50.0), Passage.REFEED), (ft(150.0), Passage.REFEED)])


def test_added_box_is_refed_and_changes_only_its_leg() -> None:
    found = what_if(two_boxes(), JOB, Changes(add=(ft(100.0),)))
    (change,) = found.changed
    assert (to_ft(change.from_m), to_ft(change.to_m)) == pytest.approx((50.0, 150.0))
    assert [len(change.before), len(change.after)] == [1, 2]
    assert change.after[0].leg.end.name == "New box 1"
    assert change.after[0].leg.end.passage is Passage.REFEED
    assert change.after[0].leg.end.passage_stated


@pytest.mark.parametrize("name", ["box 1", " Box  1"])
def test_removed_box_joins_two_legs(name) -> None:
    found = what_if(two_boxes(), JOB, Changes(remove=(name,)))
    (change,) = found.changed
    assert to_ft(change.to_m) == pytest.approx(150.0)
    assert [len(change.before), len(change.after)] == [2, 1]
    assert len(found.after.legs) == 2


def test_moved_box_changes_the_legs_on_both_sides() -> None:
    found = what_if(two_boxes(), JOB, Changes(move=(("Box 1", ft(80.0)),)))
    (change,) = found.changed
    assert [len(change.before), len(change.after)] == [2, 2]
    assert change.after[0].leg.end.name == "Box 1"
    assert to_ft(change.after[0].leg.length_m) == pytest.approx(80.0)


def test_boxes_passed_through_give_the_tension_of_no_box() -> None:
    run = two_boxes()
    found = what_if(run, JOB, Changes(passage=Passage.THROUGH))
    last = found.after.legs[-1].forward.high
    assert last.exit_tension_n == pytest.approx(found.after.through_forward.high.exit_tension_n)
    assert found.before.legs[-1].forward.high.exit_tension_n < last.exit_tension_n
    again = what_if(change_run(run, JOB, Changes(passage=Passage.THROUGH)), JOB, Changes())
    assert again.changed == ()


def test_after_the_change_stands_what_analysing_the_changed_run_says() -> None:
    changes = Changes(remove=("Box 2",), add=(ft(120.0),))
    found = what_if(two_boxes(), JOB, changes)
    assert found.after == analyze([change_run(two_boxes(), JOB, changes)], JOB).runs[0]
    assert found.before == analyze([two_boxes()], JOB).runs[0]


def test_box_in_place_of_a_bend_keeps_both_ends_and_takes_its_degrees() -> None:
    run = level_run([30.0, 40.0, 30.0])
    changed = replace_bend(run, 1)
    before, after = run.centerline, changed.centerline
    assert after.end_m == pytest.approx(before.end_m)
    shift = 2.0 * ft(1.0) - ft(1.0) * 0.5 * pi
    assert after.length_m == pytest.approx(before.length_m + shift)
    legs = analyze([changed], JOB).runs[0].legs
    assert [len(item.leg.bends) for item in legs] == [0, 1]
    assert to_ft(legs[0].leg.length_m) == pytest.approx(31.0)
    corner = next(bend for bend in changed.bends if bend.in_fitting)
    assert corner.station_m == changed.fittings[1].station_m
    assert changed.bends[1].station_m == pytest.approx(run.bends[1].station_m + shift)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda run: add_box(run, ft(500.0), JOB), r"station 500\.0 ft lies outside run Run 1"),
        (lambda run: add_box(run, 0.0, JOB), "lies outside"),
        (lambda run: add_box(run, ft(30.5), JOB), r"inside bend 1 \(30\.0 ft to 31\.6 ft\)"),
        (lambda run: add_box(run, ft(50.01), JOB), "is taken: Box 1 stands at 50.0 ft"),
        (lambda run: remove_box(run, "Box 9"), "it has Box 1, Box 2"),
        (lambda run: remove_box(run, "Bx 1"), "ends; the nearest is Box 1: it has Box 1, Box 2"),
        (lambda run: remove_box(run, "start"), "is an end of run Run 1"),
        (lambda run: move_box(run, "Box 1", ft(150.0), JOB), "is taken: Box 2"),
        (lambda run: replace_bend(run, 99), "bend 99 is no single arc"),
        (
            lambda run: change_run(level_run([30.0]), JOB, Changes(passage=Passage.THROUGH)),
            "there is none to pass",
        ),
    ],
)
def test_change_that_cannot_be_made_says_why(change, message) -> None:
    with pytest.raises(InputError, match=message):
        change(two_boxes())


def test_box_at_a_corner_of_the_run_stays() -> None:
    run = replace_bend(level_run([30.0, 40.0, 30.0]), 1, "Corner box")
    with pytest.raises(InputError, match="Corner box stands at a corner"):
        remove_box(run, "Corner box")
    with pytest.raises(InputError, match="Corner box stands at a corner"):
        move_box(run, "Corner box", ft(10.0), JOB)


def test_new_boxes_get_names_of_their_own() -> None:
    run = run_of(route((1.0, 0.0, 0.0), [ft(100.0)]))
    changed = change_run(run, JOB, Changes(add=(ft(60.0), ft(30.0))))
    assert [item.name for item in changed.fittings] == ["start", "New box 2", "New box 1", "end"]


def test_boxes_that_stay_are_not_held_against_the_room_the_job_asks() -> None:
    job = box_job(0.35, need_m=ft(3.0), keep_out_m=((ft(140.0), ft(160.0)),))
    assert what_if(two_boxes(), job, Changes(remove=("Box 1",))).places == ()
    found = what_if(two_boxes(), job, Changes(move=(("Box 2", ft(145.0)),))).places
    assert [item.code for item in found] == ["box-kept-out"]
    crowded = what_if(two_boxes(), job, Changes(add=(ft(52.0),))).places
    assert [item.code for item in crowded] == ["box-without-room"]


def test_stretches_of_another_run_are_left_out() -> None:
    job = box_job(0.35, keep_out_m=((ft(90.0), ft(110.0)),), run="Run 2")
    assert what_if(two_boxes(), job, Changes(add=(ft(100.0),))).places == ()
    own = replace(job, boxes=replace(job.boxes, run="Run 1"))
    assert len(what_if(two_boxes(), own, Changes(add=(ft(100.0),))).places) == 1


def test_checks_that_fail_are_matched_by_what_they_lie_on() -> None:
    run = run_of(level_run([30.0] * 7).centerline)  # six bends
    ahead = compare_failing(*_before_and_after(run, JOB, ft(2.0)))
    assert _sums(ahead) == (0, 1, 0)
    middle = compare_failing(*_before_and_after(run, JOB, ft(110.0)))
    assert _sums(middle) == (0, 0, 1)
    box = change_run(run, JOB, Changes(add=(ft(110.0),)))
    gone = what_if(box, JOB, Changes(remove=("New box 1",)))
    assert _sums(compare_failing(gone.before, gone.after)) == (1, 0, 0)


def _sums(found):
    """How many sums of bends fail newly, as before, and no longer."""
    return tuple(
        sum(check.code == "bend-total" for check in checks)
        for checks in (found.new, found.kept, found.mended)
    )


def test_bend_that_did_not_fail_before_fails_newly_whatever_else_failed() -> None:
    before, _ = _before_and_after(two_boxes(), box_job(0.35, max_tension_lbf=1.0), ft(100.0))
    check = next(item for item in before.checks if item.verdict.value == "fail" and item.counts)
    old = replace(before, checks=(replace(check, bends=(2,)),))
    more = compare_failing(old, replace(before, checks=(replace(check, bends=(3, 2)),)))
    assert (len(more.new), more.kept, more.mended) == (1, (), ())
    less = compare_failing(replace(before, checks=(replace(check, bends=(3, 2)),)), old)
    assert (less.new, len(less.kept), less.mended) == ((), 1, ())
    other = compare_failing(old, replace(before, checks=(replace(check, bends=(3,)),)))
    assert (len(other.new), other.kept, len(other.mended)) == (1, (), 1)


def _before_and_after(run, job, add_m):
    found = what_if(run, job, Changes(add=(add_m,)))
    return found.before, found.after


def test_passage_asked_for_counts_as_stated() -> None:
    run = two_boxes()
    unstated = replace(run, fittings=tuple(replace(f, passage_stated=False) for f in run.fittings))
    changed = change_run(unstated, JOB, Changes(passage=Passage.REFEED))
    assert all(item.passage_stated for item in changed.fittings[1:-1])


ELL = "x_ft,y_ft,z_ft\n0,0,10\n40,0,10\n40,30,10\n40,30,0\n80,30,0\n"
ELL_JOB = """
[raceway]
type = "EMT"
trade_size = "2"
bend_radius = "24 in"
[[conductors]]
count = 3
size = "4/0"
insulation = "THHN"
metal = "copper"
[pull]
friction = { low = 0.2, expected = 0.35, high = 0.5 }
[limits]
sidewall_pressure = "20 lbf/ft"
[boxes]
keep_out = [["10 ft", "20 ft"]]
"""
IN_BEND_FT, ON_STRAIGHT_FT = 39.5, 55.0


def box_at(station_ft: float, name: str = "Box A") -> str:
    return (
        f'[[fittings]]\nname = "{name}"\nkind = "pull box"\nat = "{station_ft} ft"\n'
        'passage = "refeed"\n'
    )


def checked(tmp_path: Path, fittings: str) -> tuple[RunAnalysis, Job]:
    """The route as `raceway check` would take it, with fittings of the job."""
    path = tmp_path / "ell.csv"
    path.write_text(ELL, encoding="utf-8")
    job = parse_job(ELL_JOB + fittings)
    route = open_route(path, job)
    return analyze(route.runs, job, route.findings).runs[0], job


def said(analyzed: RunAnalysis) -> list[tuple[str, str]]:
    """What makes or colors a verdict: checks with their figures, findings, and the verdict."""
    bends = [(f"bend {bend.number}", f"{bend.angle_rad:.9f}") for bend in analyzed.run.bends]
    checks = [(check.verdict.value, check.message) for check in analyzed.checks if check.counts]
    found = [
        (item.severity.value, item.message)
        for item in analyzed.findings
        if item.severity is not Severity.NOTE
    ]
    return [*bends, *sorted(checks), *sorted(found), ("verdict", analyzed.verdict.value)]


@pytest.mark.parametrize(
    ("before", "changes", "after"),
    [
        ("", Changes(add=(ft(ON_STRAIGHT_FT),)), box_at(ON_STRAIGHT_FT, "New box 1")),
        ("", Changes(add=(ft(12.0),)), box_at(12.0, "New box 1")),
        (box_at(ON_STRAIGHT_FT), Changes(remove=("Box A",)), ""),
        (box_at(IN_BEND_FT), Changes(remove=("Box A",)), ""),
        (box_at(IN_BEND_FT), Changes(move=(("Box A", ft(12.0)),)), box_at(12.0)),
        (
            box_at(IN_BEND_FT) + box_at(ON_STRAIGHT_FT, "Box B"),
            Changes(remove=("Box B",)),
            box_at(IN_BEND_FT),
        ),
    ],
)
def test_verdict_and_cautions_are_those_of_checking_the_changed_route(
    tmp_path: Path, before: str, changes: Changes, after: str
) -> None:
    analyzed, job = checked(tmp_path, before)
    found = what_if(analyzed.run, job, changes)
    assert said(found.after) == said(checked(tmp_path, after)[0])
    kept_out = any(station == ft(12.0) for station in (*changes.add, *(s for _, s in changes.move)))
    assert [note.code for note in found.places] == (["box-kept-out"] if kept_out else [])


def test_bend_behind_one_that_is_whole_again_fails_as_before_under_its_new_number(
    tmp_path: Path,
) -> None:
    analyzed, job = checked(tmp_path, box_at(IN_BEND_FT))
    found = what_if(analyzed.run, job, Changes(remove=("Box A",)))

    def failing(each: RunAnalysis, *bends: int) -> RunAnalysis:
        (check,) = (
            c
            for c in each.checks
            if c.code == "sidewall" and c.verdict.value == "fail" and c.counts
        )
        return replace(each, checks=(replace(check, bends=bends),))

    same = compare_failing(failing(found.before, 4), failing(found.after, 3))
    assert (same.new, len(same.kept), same.mended) == ((), 1, ())
    more = compare_failing(failing(found.before, 3), failing(found.after, 3))
    assert (len(more.new), more.kept, len(more.mended)) == (1, (), 1)


def test_box_whose_neighbor_is_listed_only_because_of_it_stays(tmp_path: Path) -> None:
    near = box_at(ON_STRAIGHT_FT) + box_at(ON_STRAIGHT_FT + 0.05, "Box B")
    analyzed, job = checked(tmp_path, near)
    with pytest.raises(InputError, match="Box B is listed only because it stands beside Box A"):
        what_if(analyzed.run, job, Changes(remove=("Box A",)))
