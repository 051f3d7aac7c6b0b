"""Many runs in one picture: every run, its color, the order of the list, and picking one."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import rink_analyses as rink
from feeder_job import FEEDER_JOB

from analyzer.analysis import analyze
from analyzer.findings import Verdict
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job
from analyzer.units import ft, lbf
from viewer.many import build_many, many_headline, many_subline, row_words
from viewer.many_list import _shortened
from viewer.many_picture import draw_many, plan_many
from viewer.many_solids import many_solids
from viewer.palette import LIGHT, rgb, share_colors
from viewer.scene import build_scene
from viewer.wording import failing


def shifted(corners, east_ft):
    return [(x + east_ft, *rest) for x, *rest in corners]


@pytest.fixture(scope="module")
def analysis():
    """Four runs: one over its limit, two within, one of which nothing could be checked."""
    made = [
        rink.overhead(name="within", limit=lbf(90000)),
        rink.analysis_of(name="over", corners=shifted(rink.FEEDER, 120)),
        rink.tiny(name="small", limit=lbf(9000)),
        rink.tiny(name="unknown", limit=None, corners=[(0, 60, 4), (30, 60, 4)]),
    ]
    return replace(made[0], runs=tuple(item.runs[0] for item in made))


def test_the_worst_stand_first_and_what_is_not_checked_before_what_passes(analysis):
    scene = build_many(analysis, "forward")
    order = [row.name for row in scene.rows]
    verdicts = [row.verdict for row in scene.rows]
    failed = verdicts.count(Verdict.FAIL)
    assert failed
    assert all(verdict is Verdict.FAIL for verdict in verdicts[:failed])
    assert order[failed] == "unknown"
    for part in (scene.rows[:failed], scene.rows[failed + 1 :]):
        shares = [row.share for row in part]
        assert shares == sorted(shares, reverse=True)


def test_every_run_is_drawn_in_the_color_of_its_share_of_limit(analysis):
    scene = build_many(analysis, "forward")
    for item in analysis.runs:
        row = next(row for row in scene.rows if row.name == item.run.name)
        share = max((leg.forward.share_of_limit or 0.0 for leg in item.legs), default=0.0)
        if row.share is None:
            assert share == 0.0
            assert np.array_equal(row.color(LIGHT), rgb(LIGHT.unchecked))
        else:
            assert row.share == share
            assert np.array_equal(row.color(LIGHT), share_colors([share])[0])
        ends = item.run.centerline.points_at([0.0, item.run.centerline.length_m])
        assert np.allclose(row.points_m[[0, -1]], ends)


def test_only_runs_over_their_limit_wear_rings(analysis):
    picture = plan_many(build_many(analysis, "forward"), 900, 600, effort=0.05)
    solids = many_solids(picture.scene, picture.camera, picture.canvas.unit, LIGHT)
    east = solids.rings.points_m[:, 0]
    assert east.min() > ft(118.0)
    calm = replace(picture.scene, rows=tuple(r for r in picture.scene.rows if r.name != "over"))
    assert many_solids(calm, picture.camera, picture.canvas.unit, LIGHT).rings is None


def test_the_words_count_every_run(analysis):
    scene = build_many(analysis)
    assert many_headline(scene).startswith("1 of 4 runs fails; the worst takes ")
    assert "4 runs" in many_subline(scene)
    assert "1 not checked" in many_subline(scene)
    unknown = next(row for row in scene.rows if row.name == "unknown")
    assert row_words(unknown)[0] == "not checked"


RISER = (
    "run,x_ft,y_ft,z_ft,fitting,label\nFLAT,0,10,0,panel,P\nFLAT,60,10,0,,\n"
    "FLAT,60,40,0,equipment,M\nUP,0,0,0,panel,Base\nUP,12,0,0,,\nUP,12,0,200,,\n"
    "UP,12,18,200,equipment,Roof\n"
)
"""A level run, and a riser that is over its limit pulled up and eased pulled down."""


@pytest.fixture(scope="module")
def riser(tmp_path_factory):
    route = tmp_path_factory.mktemp("many") / "riser.csv"
    route.write_text(RISER, encoding="utf-8")
    job = parse_job(f'{FEEDER_JOB}[limits]\nsidewall_pressure = "600 lbf/ft"\n')
    read = open_route(route, job)
    return analyze(read.runs, job, read.findings)


@pytest.mark.parametrize("direction", ["forward", "reverse", "better"])
def test_all_words_on_many_runs_tell_the_direction_shown(riser, direction):
    scene = build_many(riser, direction)
    first = scene.rows[0]
    words = {"forward": "Pulled forward, 1 of 2 runs fails; the worst takes ",
             "reverse": "Pulled in reverse, no run of 2 fails; the worst takes ",
             "better": "No run of 2 fails; the worst takes "}  # fmt: skip
    assert many_headline(scene).startswith(words[direction])
    foot = " ".join(plan_many(scene, 1280, 800, effort=0.05).foot_lines)
    if direction == "forward":
        assert first.name == "UP"
        assert first.share > 1.0
        assert first.verdict is Verdict.FAIL
        assert row_words(first)[1].startswith(f"fail: {first.fails[0]}")
        assert " times its limit" in many_headline(scene)
        assert "verdicts pulled forward: 1 caution, 1 fail" in many_subline(scene)
        assert "every leg pulled forward, from the first point of its run toward the last" in foot
        assert "each leg pulled its better way: 2 caution." in foot
    else:
        assert {row.verdict for row in scene.rows} == {Verdict.CAUTION}
        assert not any(row.fails for row in scene.rows)
    assert ("each leg in its better direction" in foot) is (direction == "better")


@pytest.mark.parametrize("direction", ["forward", "reverse"])
def test_a_run_fails_in_the_list_exactly_where_its_own_picture_says_so(riser, direction):
    scene = build_many(riser, direction)
    for item in riser.runs:
        row = next(row for row in scene.rows if row.name == item.run.name)
        assert list(row.fails) == failing(build_scene(item, riser.job, direction))
        assert (row.verdict is Verdict.FAIL) is bool(row.fails)


def test_names_in_the_picture_do_not_overlap(analysis):
    picture = plan_many(build_many(analysis), 1280, 800, effort=0.1)
    rects = [placement.rect for placement in picture.placements]
    assert len(rects) == 4
    for a, b in combinations(rects, 2):
        assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])


def test_a_name_points_away_from_where_another_run_branches_off():
    main = rink.tiny(name="main", limit=lbf(900), corners=[(0, 0, 4), (40, 0, 4)])
    branch = rink.tiny(name="branch", limit=lbf(900), corners=[(20, 0, 4), (20, 30, 4)])
    both = replace(main, runs=(main.runs[0], branch.runs[0]))
    picture = plan_many(build_many(both), 1280, 800, effort=0.1)
    tee = picture.camera.pixels(np.array([(ft(20), 0.0, ft(4))]))[0]
    assert len(picture.placements) == 2
    assert all(np.hypot(*(np.array(p.anchor) - tee)) > 24.0 for p in picture.placements)


def test_words_of_the_list_are_left_out_as_a_whole(analysis):
    scene = build_many(analysis, "forward")
    canvas = plan_many(scene, 1280, 800, effort=0.05).canvas
    text = "31.3 ft · caution, 3 not checked · nearest limit: conductor tension"
    whole = canvas.text_size(text, 6.8)[0]
    assert _shortened(canvas, text, 6.8, whole) == text
    assert _shortened(canvas, text, 6.8, whole - 1.0) == "31.3 ft · caution, 3 not checked"


@pytest.mark.picture
@pytest.mark.parametrize("size", [(1280, 800), (640, 480)])
def test_the_picture_is_drawn_in_the_size_asked(analysis, size):
    pixels = draw_many(plan_many(build_many(analysis), *size, effort=0.05))
    assert pixels.shape == (size[1], size[0], 3)


@pytest.mark.picture
def test_picking_a_row_or_a_run_in_the_window_opens_it(analysis):
    from viewer.many_window import ManyWindow

    window = ManyWindow(build_many(analysis), size=(1200, 800), off_screen=True)
    window.plotter.show(auto_close=False, interactive=False)
    row = window.rows[1]
    assert window.click((row.rect[0] + row.rect[2]) / 2, (row.rect[1] + row.rect[3]) / 2)
    assert window.picked == row.name
    wanted = next(item for item in window.scene.rows if item.name == "over")
    left, top = (round(value) for value in window.view_rects()[0][:2])
    x, y = window.camera.pixels(wanted.points_m[2:4].mean(axis=0))[0]
    assert window.click(left + x, top + y)
    assert window.picked == "over"
    window.set_view("Plan")
    assert window.camera.elevation_deg == pytest.approx(89.9)
    assert not window.scroll(0, 0, 1)
    window.close()
