"""The head on its way, the movie of it, and the close-up of a place."""

from __future__ import annotations

import os
import re
import sys
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.analysis import analyze
from analyzer.checks.check import Check
from analyzer.errors import InputError, OutputError
from analyzer.findings import Verdict
from analyzer.importers.reading import open_route
from analyzer.job.reading import read_job
from analyzer.job.settings import Friction
from analyzer.units import ft, inches
from viewer.cases import scene_at
from viewer.chips import head_words
from viewer.closeup import draw_closeup, near_scene, plan_closeup
from viewer.encoder import check_movie, encode, find_encoder
from viewer.head import colors_to_head, head_at, head_at_station, legs_to_head, sidewall_at
from viewer.movie import case_stage, film_stage, pair_stage, walked_shares
from viewer.movie_files import write_movie, write_pair_movie
from viewer.palette import DARK, LIGHT, rgb
from viewer.scene import build_scene
from viewer.shown_values import of_limit
from viewer.telling_places import bend_shares, telling_places, whole_leg_words
from viewer.wording import failing_checks, governing_share

TWO_BOXES = (("Box A", 64.0), ("Box B", 130.0))


def scene(direction="forward", **options):
    analysis = rink.analysis_of(**options)
    return build_scene(analysis.runs[0], analysis.job, direction)


@pytest.mark.parametrize("direction", ["forward", "reverse"])
@pytest.mark.parametrize("station_ft", [10.0, 63.9, 100.0, 190.0])
def test_the_head_reads_the_profile_where_it_stands(direction, station_ft):
    shown = scene(direction, boxes=TWO_BOXES)
    head = head_at_station(shown, ft(station_ft))
    leg = next(leg for leg in shown.legs if leg.name == head.leg)
    assert head.station_m == pytest.approx(ft(station_ft))
    expected = np.interp(ft(station_ft), leg.station_m, leg.tension_n)
    assert head.tension_n == pytest.approx(expected)


def test_the_head_starts_at_the_feed_and_ends_at_the_pull():
    for direction, ends in (("forward", (0.0, 1.0)), ("reverse", (1.0, 0.0))):
        shown = scene(direction, boxes=TWO_BOXES)
        stations = [head_at(shown, part * shown.length_m).station_m for part in (0.0, 1.0)]
        assert stations == pytest.approx([end * shown.length_m for end in ends])


@pytest.mark.parametrize("direction", ["forward", "reverse"])
def test_only_raceway_behind_the_head_has_color(direction):
    shown = scene(direction, boxes=TWO_BOXES)
    head = head_at_station(shown, ft(100.0))
    for leg, passed in legs_to_head(shown, head):
        middle = (leg.station_m[:-1] + leg.station_m[1:]) / 2
        behind = middle < ft(100.0) if direction == "forward" else middle > ft(100.0)
        wide = np.diff(leg.station_m) > 1e-9
        assert np.array_equal((passed[:-1] & passed[1:])[wide], behind[wide])
        colors = colors_to_head(shown, leg, passed, LIGHT)
        assert np.allclose(colors[~passed], rgb(LIGHT.not_reached))
        assert np.allclose(colors[passed], shown.scale.colors(leg.tension_n[passed]))


def test_without_a_head_all_has_color():
    assert all(passed.all() for _, passed in legs_to_head(scene(), None))


def test_the_head_reads_the_sidewall_pressure_of_the_bend_it_is_in():
    made = rink.analysis_of()
    analysis = analyze([made.runs[0].run], made.job)
    shown = build_scene(analysis.runs[0], analysis.job, "forward")
    bend = shown.bends[2]
    profile = analysis.runs[0].legs[0].forward.profile
    inside = [
        (station, side)
        for station, side in zip(profile.station_m, profile.sidewall_n_per_m, strict=True)
        if bend.station_m < station < bend.end_station_m
    ]
    station, side = inside[len(inside) // 2]
    head = head_at_station(shown, station)
    assert sidewall_at(shown, head) == pytest.approx(side)
    assert "sidewall" in head_words(shown, head)
    assert sidewall_at(shown, head_at_station(shown, ft(20.0))) is None


def test_a_place_off_the_run_is_refused():
    with pytest.raises(InputError, match="outside the run"):
        head_at_station(scene(), 1e4)


def test_a_movie_walks_the_whole_run():
    shown = scene()
    shares = walked_shares(5)
    assert shares == [0.0, 0.25, 0.5, 0.75, 1.0]
    assert head_at(shown, shares[-1] * shown.length_m).walked_m == shown.length_m
    with pytest.raises(InputError, match="two frames"):
        walked_shares(1)


def test_a_movie_of_another_kind_is_refused(tmp_path):
    with pytest.raises(InputError, match="neither"):
        write_movie(scene(), tmp_path / "rink.avi")


@pytest.mark.picture
def test_color_fills_in_behind_the_head_frame_by_frame():
    shown = scene(boxes=(("Box A", 64.0),))
    frames = list(film_stage(case_stage(shown, 800, 608, DARK), frames=4))
    assert [frame.shape for frame in frames] == [(608, 800, 3)] * 4
    colors = shown.scale.colors(shown.legs[0].tension_n)[::10] * 255
    counts = []
    for frame in frames:
        pixels = frame[320:540].reshape(-1, 3).astype(float)
        near = np.zeros(len(pixels), dtype=bool)
        for color in colors:
            near |= np.abs(pixels - color).max(axis=1) < 6
        counts.append(int(near.sum()))
    assert counts == sorted(counts)
    assert counts[-1] > counts[0] + 100


@pytest.mark.picture
def test_a_gif_holds_its_frames(tmp_path):
    from PIL import Image

    file = tmp_path / "rink.gif"
    write_movie(scene(), file, 800, 608, LIGHT, frames=3)
    with Image.open(file) as image:
        assert image.n_frames == 3
        assert image.size == (800, 608)
        image.seek(2)
        ground = np.asarray(image.convert("RGB"))[2, 2]
    assert ground.tolist() == [255, 255, 255]
    assert [path.name for path in tmp_path.iterdir()] == ["rink.gif"]


EXAMPLES = Path(__file__).parents[2] / "example_paths"


def example(name, direction="better", friction="expected"):
    job = read_job((EXAMPLES / name).with_suffix(".toml"))
    made = analyze(open_route(EXAMPLES / name, job).runs, job)
    return scene_at(made, made.runs[0], direction, friction)


def over_the_sidewall_limit(name):
    """Numbers of the bends that press too hard, from the run analyzed at high friction alone."""
    shown = example(name, friction="high")
    found = set()
    for leg, item in zip(shown.legs, shown.shown.legs, strict=True):
        pull = item.forward if leg.direction.value == "forward" else item.reverse
        for bend in item.leg.bends:
            pressed = [
                side
                for at, side in zip(
                    pull.profile.station_m, pull.profile.sidewall_n_per_m, strict=True
                )
                if bend.station_m <= at <= bend.end_station_m
            ]
            if max(pressed) > shown.job.limits.sidewall_pressure_n_per_m:
                found.add(bend.number)
    return found


def test_each_bend_that_fails_has_a_closeup_worst_first():
    shown = example("training_yard.csv")
    places = telling_places(shown)
    assert all(place.fails for place in places)
    chosen = [bend.number for place in places for bend in place.chosen]
    assert set(chosen) == over_the_sidewall_limit("training_yard.csv") == {5, 6}
    shares = {number: max(s.share for s in found) for number, found in bend_shares(shown).items()}
    assert chosen == sorted(chosen, key=lambda number: -shares[number])
    assert places[0].title == "Where it fails: bend B6"
    assert "at high friction 0.5" in places[0].reason


def test_the_bend_that_is_bent_tightest_below_its_least_radius_comes_first():
    # EMT 2 needs 9.5 in: bends of 8 in and 6 in fall short 1.19 and 1.58 times
    shown = scene()
    bends = shown.analysis.run.bends
    leg = shown.analysis.legs[0].leg.name
    checks = tuple(
        Check(
            code="bend-radius", leg=leg, direction=None, verdict=Verdict.FAIL,
            value=inches(radius), limit=inches(9.5), unit="m", where="", station_m=bend.station_m,
            source="", message="",
        )
        for bend, radius in ((bends[1], 8.0), (bends[4], 6.0))
    )  # fmt: skip
    failing = replace(shown, analysis=replace(shown.analysis, checks=checks))
    places = telling_places(failing)
    chosen = [bend.number for place in places for bend in place.chosen]
    assert chosen[:1] == [bends[4].number]


def test_what_each_bend_takes_agrees_with_the_checks():
    for direction in ("forward", "reverse"):
        shown = example("riser.csv", direction)
        bends, compared = bend_shares(shown), 0
        for check in shown.analysis.checks:
            if check.code.startswith("sidewall") and check.direction == direction:
                leg = next(item.leg for item in shown.analysis.legs if item.leg.name == check.leg)
                most = max(
                    share.value
                    for bend in leg.bends
                    for share in bends[bend.number]
                    if share.code == check.code
                )
                assert most == pytest.approx(check.value)
                compared += 1
        assert compared == 4  # two legs, pulled and held back


def test_a_bend_total_is_no_place_but_is_said():
    shown = example("training_yard.csv")
    assert whole_leg_words(shown) == (
        "Leg 1 fails as a whole, at no one bend: bend total 540°, limit 360°.",
    )
    # where it pulls lightly nothing else fails
    job = replace(shown.job, pull=replace(shown.job.pull, friction=Friction(0.05, 0.1, 0.1)))
    light = build_scene(analyze([shown.analysis.run], job).runs[0], job)
    assert {check.code for check in failing_checks(light)} == {"bend-total"}
    (place,) = telling_places(light)
    assert not place.fails
    assert place.title.startswith("Where the pull is hardest at high friction 0.1: ")
    assert whole_leg_words(light) == whole_leg_words(shown)


def test_without_a_failing_bend_the_closeup_goes_where_the_run_is_governed():
    shown = example("riser.csv")
    (place,) = telling_places(shown)
    share = governing_share(shown)
    (bend,) = place.chosen
    assert bend.station_m - 1e-9 <= share.station_m <= bend.end_station_m + 1e-9
    assert not place.fails
    assert place.title == f"Where the pull is hardest at high friction 0.45: bend {bend.name}"
    assert of_limit(share.share) in place.reason


def test_the_closeup_tells_tension_into_and_out_of_each_bend():
    shown = scene()
    near = near_scene(shown, telling_places(shown)[0].bends, 1.5)
    leg = shown.legs[0]
    for bend in near.bends:
        low, high = np.interp([bend.station_m, bend.end_station_m], leg.station_m, leg.tension_n)
        from analyzer.units import show_force

        assert bend.detail.startswith(
            f"{show_force(low, shown.units)} in, {show_force(high, shown.units)} out"
        )


def test_a_run_without_bends_has_no_closeup():
    straight = scene(corners=[(0, 0, 5), (40, 0, 5)])
    with pytest.raises(InputError, match="without bends"):
        plan_closeup(straight)


def test_labels_of_plan_and_closeup_do_not_overlap():
    sheet = plan_closeup(scene(), 1600, 1000, effort=0.2)
    for marks in sheet.marks:
        assert len(marks.placements) == len(marks.chips)
        for a, b in combinations([placement.rect for placement in marks.placements], 2):
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])


@pytest.mark.picture
def test_plan_and_closeup_are_drawn():
    pixels = draw_closeup(plan_closeup(scene(), 900, 600, effort=0.1))
    assert pixels.shape == (600, 900, 3)


@pytest.mark.picture
def test_a_movie_of_two_cases_walks_both_heads(tmp_path):
    from PIL import Image

    from viewer.compared_cases import direction_cases
    from viewer.movie import film_stage, pair_stage

    made = rink.analysis_of(boxes=(("Box A", 64.0),))
    cases = direction_cases(made, made.runs[0])
    frames = list(film_stage(pair_stage(cases, 1280, 720, LIGHT), 2))
    assert [frame.shape for frame in frames] == [(720, 1280, 3)] * 2
    changed = (frames[0] != frames[1]).any(axis=(0, 2))
    assert changed[:640].any()
    assert changed[640:].any()
    file = tmp_path / "both.gif"
    write_pair_movie(cases, file, 1280, 720, LIGHT, frames=2)
    with Image.open(file) as image:
        assert image.n_frames == 2


@pytest.mark.picture
def test_an_mp4_is_written_where_the_encoder_is_found(tmp_path):
    if find_encoder() is None:
        pytest.skip("no MP4 encoder is found: neither ffmpeg nor imageio-ffmpeg is installed")
    file = tmp_path / "rink.mp4"
    write_movie(scene(), file, 800, 608, LIGHT, frames=3)
    assert file.read_bytes()[4:8] == b"ftyp"
    assert [item.name for item in tmp_path.iterdir()] == ["rink.mp4"]


def test_an_encoder_is_given_every_byte_of_every_frame(tmp_path, monkeypatch):
    stand_in = tmp_path / "ffmpeg"
    stand_in.write_text('#!/bin/sh\nfor last; do :; done\ncat > "$last"\n')
    stand_in.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    frames = [bytes([shade]) * (4 * 2 * 3) for shade in (1, 2, 3)]
    encode(iter(frames), tmp_path / "rink.mp4", 4, 2, 7.5)
    assert (tmp_path / "rink.mp4").read_bytes() == b"".join(frames)


def test_an_encoder_that_fails_is_quoted(tmp_path, monkeypatch):
    stand_in = tmp_path / "ffmpeg"
    stand_in.write_text("#!/bin/sh\necho 'Unknown encoder' >&2\nexit 1\n")
    stand_in.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    with pytest.raises(OutputError, match="Unknown encoder"):
        encode([b"x" * 24] * 3000, tmp_path / "rink.mp4", 4, 2, 7.5)


def test_an_mp4_without_an_encoder_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(InputError, match="imageio-ffmpeg"):
        write_movie(scene(), tmp_path / "rink.mp4", 800, 608, LIGHT, frames=2)
    assert list(tmp_path.iterdir()) == []


def test_an_mp4_with_an_odd_side_is_refused_before_any_work(tmp_path, monkeypatch):
    (tmp_path / "ffmpeg").write_text("#!/bin/sh\n")
    (tmp_path / "ffmpeg").chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(InputError, match="801x608 has an odd one"):
        check_movie(tmp_path / "rink.mp4", (801, 608))


@pytest.mark.parametrize("kind", ["one", "pair"])
def test_a_movie_too_small_is_refused_with_a_size_that_works(kind):
    from viewer.compared_cases import direction_cases

    def stage(width: int, height: int):
        if kind == "one":
            return case_stage(scene(), width, height, LIGHT)
        made = rink.analysis_of(boxes=(("Box A", 64.0),))
        return pair_stage(direction_cases(made, made.runs[0]), width, height, LIGHT)

    with pytest.raises(InputError, match="a movie of 640x400 has no room for its ") as refused:
        stage(640, 400)
    named = re.search(r"--size (\d+)x(\d+)$", str(refused.value))
    assert named is not None
    width, height = int(named[1]), int(named[2])
    assert width >= 640 and height >= 400 and width % 2 == 0 and height % 2 == 0
    stage(width, height)
