"""The hand check says where each form comes from; the bounds under it are worked out by hand."""

from __future__ import annotations

from math import cos, exp, pi, radians, sin

from plan_routes import bent_run, heavy_job, level_bent, level_sharp, three_like_job
from pull_routes import route

from analyzer.analysis import analyze
from analyzer.geometry.centerline import Centerline
from analyzer.job.settings import Job
from analyzer.reports.hand_check import hand_checks
from analyzer.units import ft, to_lbf


def note_of(line: Centerline, job: Job) -> str:
    analysis = analyze([bent_run(line)], job)
    (check,) = hand_checks(analysis.runs[0], analysis)
    return check.note


def test_corner_in_a_fitting_counts_in_the_bounds_beside_the_analysis() -> None:
    # k w = 1.05 lbf/ft over 100 ft: 105 lbf; behind a quarter turn times exp(0.35 pi/2) = 1.733:
    # 182 lbf; fed where 40 ft lie before the corner 42 x 1.733 + 63 = 136 lbf
    note = note_of(level_sharp([40, "90", 60]), heavy_job(0.35))
    assert "at expected friction" in note
    assert "136 lbf" in note
    assert "105 lbf (all bends at the feed end" in note
    assert "182 lbf (all bends at the pull end" in note


def test_bounds_stand_where_friction_of_straights_and_bends_differs() -> None:
    # weight factor in straights only: bounds are those of k w L, times exp(friction pi/2) at most
    job = three_like_job((0.2, 0.35, 0.5), weight_factor_in_bends=False)
    line = level_sharp([40, "90", 60])
    analysis = analyze([bent_run(line)], job)
    k_w_l = 0.35 * analysis.group.weight_factor * job.pulling_weight_n_per_m * line.length_m
    note = note_of(line, job)
    assert f"{to_lbf(k_w_l):.1f} lbf (all bends at the feed end" in note
    assert f"{to_lbf(k_w_l * exp(0.35 * pi / 2)):.0f} lbf (all bends at the pull end" in note


def test_leg_that_rises_and_falls_a_little_has_no_bounds() -> None:
    # half a degree up and down again: ends at one height, no bend, yet the conductors are lifted
    along, up = cos(radians(0.5)), sin(radians(0.5))
    line = route((along, 0.0, up), [20.0, ("corner", (along, 0.0, -up)), 20.0])
    assert "not given here" in note_of(line, heavy_job(0.35))


def test_every_row_says_whether_its_form_is_published_or_derived() -> None:
    line = level_bent([20.0, (1.5, pi / 2), 20.0])
    analysis = analyze([bent_run(line)], heavy_job(0.35))
    (level,) = hand_checks(analysis.runs[0], analysis)
    assert [(row[2], row[3]) for row in level.table.rows] == [
        ("T1 + kwL", "published"),
        ("T1 cosh ka + √(T1² + (wR)²) sinh ka", "published"),
        ("T1 + kwL", "published"),
    ]
    up = (cos(radians(10.0)), 0.0, sin(radians(10.0)))
    rising = route((1.0, 0.0, 0.0), [20.0, ("corner", up), 10.0])
    analysis = analyze([bent_run(rising)], heavy_job(0.35))
    (risen,) = hand_checks(analysis.runs[0], analysis)
    assert ("T1 + wL(sin p + k cos p)", "from memory, derived here") in [
        (row[2], row[3]) for row in risen.table.rows
    ]
    assert "published" not in risen.table.title


def test_where_the_lubricant_ends_a_row_is_cut_and_its_form_holds() -> None:
    job = heavy_job(0.35, lubricant_reach_m=ft(30.0), dry_friction=0.6)
    for line in (level_sharp([40, "90", 60]), level_bent([10.0, (0.5, pi / 2), 8.0])):
        analysis = analyze([bent_run(line)], job)
        (check,) = hand_checks(analysis.runs[0], analysis)
        assert "k 0.3500; k 0.6000 where dry, beyond 30.0 ft from the feed" in check.table.title
        kinds = [row[0] for row in check.table.rows]
        assert "straight" in kinds
        assert "straight, dry" in kinds
        assert all(row[-2] == row[-1] for row in check.table.rows)
        assert "not given here" in check.note
