"""Scenes by their arrays: what is drawn is what the analysis says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.errors import InputError
from analyzer.job.settings import Friction
from analyzer.pulling.results import Direction
from analyzer.units import UnitSystem, ft, lbf, to_ft
from viewer.boxes import boxes_of
from viewer.chips import chips_of
from viewer.ground import nice_step, step_text
from viewer.headlines import headline
from viewer.image import camera_for, sheet_for
from viewer.palette import LIGHT, MAP_TOP, share_colors
from viewer.scene import build_scene, run_named
from viewer.shown_values import elevation_text, of_limit
from viewer.solids import drawn_radius
from viewer.traces import TensionScale
from viewer.wording import subline, verdict_line

TWO_BOXES = (("Box A", 64.0), ("Box B", 130.0))


def scene(direction="forward", **options):
    analysis = rink.analysis_of(**options)
    return build_scene(analysis.runs[0], analysis.job, direction)


@pytest.mark.parametrize("direction", ["forward", "reverse"])
def test_tube_holds_every_entry_of_the_profile(direction):
    analysis = rink.analysis_of(boxes=TWO_BOXES)
    shown = build_scene(analysis.runs[0], analysis.job, direction)
    for leg, trace in zip(analysis.runs[0].legs, shown.legs, strict=True):
        profile = getattr(leg, direction).profile
        for station, tension in zip(profile.station_m, profile.tension_n, strict=True):
            at = np.flatnonzero(trace.station_m == station)
            assert len(at)
            assert np.isclose(trace.tension_n[at], tension, rtol=1e-12).any()


def test_tension_between_entries_is_interpolated_from_the_profile():
    analysis = rink.analysis_of()
    shown = build_scene(analysis.runs[0], analysis.job, "forward").legs[0]
    profile = analysis.runs[0].legs[0].forward.profile
    expected = np.interp(shown.station_m, profile.station_m, profile.tension_n)
    # the sample just over the limit is one step of a float above it
    assert np.allclose(shown.tension_n, expected, rtol=1e-9)


def test_tube_follows_the_centerline():
    shown = scene(boxes=TWO_BOXES)
    line = shown.analysis.run.centerline
    for leg in shown.legs:
        assert np.allclose(leg.points_m, line.points_at(leg.station_m))
        assert np.allclose(np.linalg.norm(leg.tangents, axis=1), 1.0)
        assert (np.diff(leg.station_m) >= 0).all()


def test_arcs_are_sampled_finely_enough_to_look_round():
    leg = scene().legs[0]
    turn = np.einsum("ij,ij->i", leg.tangents[:-1], leg.tangents[1:])
    assert np.degrees(np.arccos(np.clip(turn, -1, 1))).max() < 5.1


def test_color_steps_exactly_where_tension_crosses_the_limit():
    shown = scene()
    leg, limit = shown.legs[0], shown.scale.limit_n
    pair = np.flatnonzero((np.diff(leg.station_m) == 0) & (leg.tension_n[:-1] == limit))
    assert len(pair) == 1
    assert leg.tension_n[pair[0] + 1] > limit
    colors = shown.scale.colors(leg.tension_n[pair[0] : pair[0] + 2])
    assert np.array_equal(colors, share_colors([1.0, np.nextafter(1.0, 2.0)]))


def test_color_never_steps_far_between_samples():
    leg = scene().legs[0]
    share = np.minimum(leg.tension_n / lbf(900), MAP_TOP)  # where the map ends, color stands
    assert np.abs(np.diff(share)).max() < 0.0101


def test_tension_jumps_at_a_refed_box():
    first, second, _ = scene(boxes=TWO_BOXES).legs
    assert first.end_m == second.start_m == ft(64.0)
    assert first.tension_n[-1] > 100
    assert second.tension_n[0] == 0.0


def test_a_profile_with_two_entries_at_one_station_keeps_both():
    analysis = rink.analysis_of()
    run = analysis.runs[0]
    forward = run.legs[0].forward
    profile = forward.profile
    tension = [
        value + (50.0 if index >= 8 else 0.0) for index, value in enumerate(profile.tension_n)
    ]
    station = list(profile.station_m)
    station.insert(8, station[8])
    tension.insert(8, profile.tension_n[8])
    changed = replace(profile, station_m=tuple(station), tension_n=tuple(tension),
                      sidewall_n_per_m=(0.0,) * len(station))  # fmt: skip
    leg = replace(run.legs[0], forward=replace(forward, profile=changed))
    shown = build_scene(replace(run, legs=(leg,)), analysis.job, "forward").legs[0]
    at = np.flatnonzero(shown.station_m == station[8])
    assert set(shown.tension_n[at]) >= {profile.tension_n[8], profile.tension_n[8] + 50.0}


def test_scale_takes_the_smallest_tension_limit():
    analysis = rink.analysis_of()
    run = analysis.runs[0]
    pull = run.legs[0].forward
    line = replace(pull.shares[0], code="line-tension", limit=lbf(700))
    side = replace(pull.shares[0], code="sidewall", limit=1.0)
    leg = replace(run.legs[0], forward=replace(pull, shares=(*pull.shares, line, side)))
    shown = build_scene(replace(run, legs=(leg,)), analysis.job, "forward")
    assert shown.scale.limit_n == lbf(700)
    assert shown.scale.limit_of == "pulling line"


def test_better_shows_each_leg_its_own_way():
    analysis = rink.analysis_of(boxes=(("Box A", 64.0),))
    run = analysis.runs[0]
    legs = (replace(run.legs[0], better="reverse"), replace(run.legs[1], better="equal"))
    shown = build_scene(replace(run, legs=legs), analysis.job, "better")
    assert [leg.direction for leg in shown.legs] == [Direction.REVERSE, Direction.FORWARD]
    assert [mark.role for mark in shown.fittings] == ["pull", "feed", "pull"]


def test_charts_read_from_the_feed():
    assert scene("forward").feed_left
    assert not scene("reverse").feed_left


def test_no_limit_gives_the_plain_map_and_says_so():
    analysis = rink.without_limit()
    shown = build_scene(analysis.runs[0], analysis.job, "forward")
    assert shown.scale.limit_n is None
    assert shown.scale.shares([1.0]) is None
    assert "no tension limit is known" in headline(shown)
    assert "limit not known" in verdict_line(shown)


def test_headline_says_how_far_over_the_limit_and_how_far_at_high_friction():
    shown = scene()
    share = shown.worst.max_tension_n / lbf(900)
    high = shown.legs[0].high_max_tension_n / lbf(900)
    assert high > 1.5 * share
    assert (
        headline(shown)
        == f"The pull ends at {share:.1f} times its limit, {high:.1f} times at high friction"
    )


def test_headline_of_one_friction_tells_one_factor():
    shown = scene(friction=Friction(0.35, 0.35, 0.35))
    share = shown.worst.max_tension_n / lbf(900)
    assert headline(shown) == f"The pull ends at {share:.1f} times its limit"


def test_headline_names_the_leg_that_high_friction_makes_worst():
    shown = scene(boxes=TWO_BOXES, limit=lbf(10))
    first = max(shown.legs, key=lambda leg: leg.max_tension_n)
    other = next(leg for leg in shown.legs if leg is not first)
    worse = replace(other, high_max_tension_n=lbf(9000), high_peak=lbf(9000))
    legs = tuple(worse if leg is other else leg for leg in shown.legs)
    text = headline(replace(shown, legs=legs))
    assert text.startswith(f"The pull of {first.name} ")
    assert text.endswith(f", that of {other.name} 900.0 times at high friction")


def test_headline_and_labels_round_one_share_alike():
    shown = scene(boxes=TWO_BOXES)
    highest = max(shown.legs, key=lambda leg: leg.high_max_tension_n)
    share = highest.high_max_tension_n / lbf(900)
    assert share > shown.worst.max_tension_n / lbf(900)
    told = f"{100 * share:.0f} %"
    assert (
        headline(shown)
        == f"With two boxes the pull reaches {told} of the tension limit at high friction"
    )
    camera = camera_for(shown, 1200, 700, sheet_for(1200, 700, LIGHT))
    label = next(chip for chip in chips_of(shown, camera, 1.0) if chip.key == highest.name)
    assert f"(high: {told})" in label.detail


def test_headline_tells_of_the_high_friction_that_governs():
    analysis = rink.analysis_of(limit=lbf(9000))
    text = headline(build_scene(analysis.runs[0], analysis.job, "forward"))
    assert text.startswith("At high friction 0.5 the pull takes 13,3")
    assert text.endswith("over its limit of 9,000 lbf")


def test_headline_tells_of_another_check_that_fails():
    analysis = rink.analysis_of(limit=lbf(90000))
    text = headline(build_scene(analysis.runs[0], analysis.job, "forward"))
    assert text.startswith("Tension stays within its limit (")
    assert text.endswith(" % at high friction), but bend total fails")


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.346, "35 % of limit"),
        (0.998, "99.8 % of limit"),
        (0.9999, "99.9 % of limit"),
        (1.0, "100 % of limit"),
        (1.0004, "1.0004 × limit"),
        (1.04, "1.04 × limit"),
        (2.528, "2.5 × limit"),
        (980.25, "980.2 × limit"),
        (1000.0, "1,000.0 × limit"),
        (680274.4, "over 1,000 × limit"),
        (0.0123, "1.2 % of limit"),
        (0.0001, "under 0.1 % of limit"),
    ],
)
def test_shares_are_never_rounded_across_the_limit(share, text):
    assert of_limit(share) == text


def test_numbers_follow_the_units_of_the_job():
    analysis = rink.analysis_of(units=UnitSystem.METRIC)
    shown = build_scene(analysis.runs[0], analysis.job, "forward")
    assert "kN" in verdict_line(shown)
    assert subline(shown).endswith("59.50 m, 8 bends, 509.1°")
    assert shown.bends[0].detail == "R 610 mm · vertical"


@pytest.mark.parametrize("direction", ["forward", "reverse"])
def test_no_bend_says_falling_beside_arrows_that_rise(direction):
    details = " ".join(bend.detail for bend in scene(direction).bends)
    assert "vertical" in details
    assert "rising" not in details and "falling" not in details


def test_bend_marks_tell_angle_radius_and_attitude():
    first = scene().bends[0]
    assert (first.title, first.detail) == ("B1  90°", "R 24 in · vertical")


def test_a_corner_in_a_fitting_is_no_bend_of_the_picture():
    analysis = rink.analysis_of()
    run = analysis.runs[0].run
    bends = (replace(run.bends[0], in_fitting=True, radius_m=None), *run.bends[1:])
    changed = replace(analysis.runs[0], run=replace(run, bends=bends))
    assert [bend.number for bend in build_scene(changed, analysis.job).bends] == list(range(2, 9))


def test_floor_is_at_zero_under_a_run_near_it():
    assert scene().floor_m == 0.0


def test_floor_moves_up_with_a_run_drawn_at_site_elevation():
    corners = [(x, y, z + 640.0, *rest) for x, y, z, *rest in rink.FEEDER]
    floor = to_ft(scene(corners=corners).floor_m)
    assert 630 <= floor < 644


def test_floor_lies_below_a_buried_run():
    corners = [(x, y, z - 30.0, *rest) for x, y, z, *rest in rink.FEEDER]
    shown = scene(corners=corners)
    assert shown.floor_m < shown.points_m[:, 2].min()


def test_no_tube_is_drawn_sunk_into_the_floor():
    level = [(0, 0, 0), (40, 0, 0, 24), (40, 6, 0, 24), (0, 6, 0)]
    shown = scene(corners=level)
    camera = camera_for(shown, 1600, 560, sheet_for(1600, 1000, LIGHT))
    lowest = shown.points_m[:, 2].min() - drawn_radius(shown, camera.m_per_px * 1.25)
    assert shown.floor_m <= lowest


def test_what_stands_below_the_end_of_a_run_is_seen_above_the_floor():
    riser = [(0, 0, 0), (0, 0, 180, 24), (12, 0, 180, 24), (12, 8, 180)]
    shown = scene(corners=riser)
    camera = camera_for(shown, 1600, 560, sheet_for(1600, 1000, LIGHT))
    radius = drawn_radius(shown, camera.m_per_px * 1.25)
    panel = boxes_of(shown, radius)[0]
    assert panel.center_m[2] - panel.size_m[2] / 2 >= shown.floor_m - 1e-9
    assert panel.center_m[2] < 0.0 and panel.size_m[2] > 2 * radius


def test_grid_steps_are_round_feet_or_meters():
    assert to_ft(nice_step(ft(11.0), UnitSystem.US)) == pytest.approx(10.0)
    assert nice_step(3.7, UnitSystem.METRIC) == 5.0
    assert nice_step(0.03, UnitSystem.METRIC) == 0.1
    assert [step_text(ft(feet), UnitSystem.US) for feet in (0.5, 2000.0)] == ["6 in", "2,000 ft"]
    assert step_text(0.2, UnitSystem.METRIC) == "0.2 m"


@pytest.mark.parametrize(
    ("feet", "text"), [(16.4, "16'-5\""), (0.0, "0'-0\""), (11.99, "12'-0\""), (-2.5, "-2'-6\"")]
)
def test_elevations_are_written_in_feet_and_inches(feet, text):
    assert elevation_text(ft(feet), UnitSystem.US) == text


def test_an_unknown_run_is_refused_with_the_names_there_are():
    with pytest.raises(InputError, match="chiller feeder"):
        run_named(rink.analysis_of(), "pump")


def test_one_scale_colors_another_scene():
    shown = scene(boxes=TWO_BOXES)
    other = shown.with_scale(TensionScale(lbf(100), "conductors", 1.0))
    assert other.scale.limit_n == lbf(100)
    assert any((leg.tension_n == lbf(100)).any() for leg in other.legs)


def test_of_several_runs_the_worst_is_shown_and_named():
    calm = rink.analysis_of(boxes=TWO_BOXES, name="calm")
    bad = rink.analysis_of(name="bad")
    both = replace(calm, runs=(calm.runs[0], bad.runs[0]))
    worst = run_named(both, None)
    assert worst.run.name == "bad"
    text = subline(build_scene(worst, both.job, run_count=2))
    assert text.startswith("bad (one of 2 runs)")
    assert run_named(both, "calm").run.name == "calm"
